//! The clear text of ISO 10303-21 (second edition): how values, instances and header are spelt.
//!
//! The grammar is that of clause 6 of the standard, as given in the public EXPRESS tool set
//! `stepcode`: a real needs its point and a capital `E`, a string holds printable ASCII only.

use std::fmt::Write;

use super::error::{Fault, StepError};
use super::product::Protocol;

/// Number of an instance in the data section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Id(usize);

/// One attribute of an instance.
#[derive(Clone, Copy, Debug)]
pub enum Value<'a> {
    Text(&'a str),
    Real(f64),
    Integer(usize),
    Logical(bool),
    /// An enumeration's word, without its points.
    Word(&'a str),
    Reference(Id),
    /// `$`: an optional attribute left out.
    Unset,
    /// `*`: an attribute the schema derives.
    Derived,
    Reals(&'a [f64]),
    Integers(&'a [usize]),
    References(&'a [Id]),
    List(&'a [Value<'a>]),
    /// A value of a select that must name its type.
    Typed(&'a str, &'a Value<'a>),
}

/// Header entries that the caller knows. Every string may hold any text: what is not printable
/// ASCII is escaped.
#[derive(Clone, Copy, Debug)]
pub struct StepHeader<'a> {
    pub file_name: &'a str,
    pub description: &'a str,
    /// ISO 8601, e.g. `2026-01-31T12:00:00` or `2026-01-31T12:00:00+01:00`. It is passed in, so
    /// that the same input gives the same bytes.
    pub time_stamp: &'a str,
    pub author: &'a str,
    pub organization: &'a str,
    pub originating_system: &'a str,
    pub authorization: &'a str,
    pub protocol: Protocol,
    /// Version of every product of the file.
    pub revision: &'a str,
}

/// The data section under way. An instance may only refer to those before it.
#[derive(Debug, Default)]
pub struct DataSection {
    text: String,
    count: usize,
}

impl DataSection {
    /// Adds an instance of one entity.
    pub fn add(&mut self, entity: &'static str, values: &[Value<'_>]) -> Result<Id, Fault> {
        let id = self.begin();
        self.record(entity, values)?;
        self.text.push_str(";\n");
        Ok(id)
    }

    /// Adds a complex instance: its partial records, which the standard wants in alphabetical
    /// order of their names, supertypes included.
    pub fn add_complex(&mut self, partial: &[(&'static str, &[Value<'_>])]) -> Result<Id, Fault> {
        let id = self.begin();
        self.text.push('(');
        for (entity, values) in partial {
            self.record(entity, values)?;
        }
        self.text.push_str(");\n");
        Ok(id)
    }

    /// The whole file.
    pub fn finish(self, header: &StepHeader<'_>) -> Result<Vec<u8>, StepError> {
        if !is_time_stamp(header.time_stamp) {
            return Err(StepError::TimeStamp { given: header.time_stamp.to_owned() });
        }
        let mut head = Self { text: String::from("ISO-10303-21;\nHEADER;\n"), count: 0 };
        // Implementation level 2;1: second edition, conformance class 1.
        head.header_entity(
            "FILE_DESCRIPTION",
            &[Value::List(&[Value::Text(header.description)]), Value::Text("2;1")],
        )?;
        head.header_entity(
            "FILE_NAME",
            &[
                Value::Text(header.file_name),
                Value::Text(header.time_stamp),
                Value::List(&[Value::Text(header.author)]),
                Value::List(&[Value::Text(header.organization)]),
                Value::Text(concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION"))),
                Value::Text(header.originating_system),
                Value::Text(header.authorization),
            ],
        )?;
        head.header_entity(
            "FILE_SCHEMA",
            &[Value::List(&[Value::Text(header.protocol.schema())])],
        )?;
        let mut file = head.text;
        file.reserve(self.text.len() + 64);
        file.push_str("ENDSEC;\nDATA;\n");
        file.push_str(&self.text);
        file.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
        Ok(file.into_bytes())
    }

    fn begin(&mut self) -> Id {
        self.count += 1;
        let number = self.count;
        self.push(format_args!("#{number}="));
        Id(number)
    }

    fn header_entity(&mut self, entity: &'static str, values: &[Value<'_>]) -> Result<(), Fault> {
        self.record(entity, values)?;
        self.text.push_str(";\n");
        Ok(())
    }

    fn record(&mut self, entity: &'static str, values: &[Value<'_>]) -> Result<(), Fault> {
        self.text.push_str(entity);
        self.list(values, |section, value| section.value(entity, value))
    }

    fn value(&mut self, entity: &'static str, value: &Value<'_>) -> Result<(), Fault> {
        match *value {
            Value::Text(text) => self.string(text),
            Value::Real(real) => self.real(entity, real)?,
            Value::Integer(integer) => self.push(format_args!("{integer}")),
            Value::Logical(yes) => self.text.push_str(if yes { ".T." } else { ".F." }),
            Value::Word(word) => self.push(format_args!(".{word}.")),
            Value::Reference(Id(number)) => self.push(format_args!("#{number}")),
            Value::Unset => self.text.push('$'),
            Value::Derived => self.text.push('*'),
            Value::Reals(reals) => self.list(reals, |section, &real| section.real(entity, real))?,
            Value::Integers(integers) => self.list(integers, |section, integer| {
                section.push(format_args!("{integer}"));
                Ok(())
            })?,
            Value::References(ids) => self.list(ids, |section, Id(number)| {
                section.push(format_args!("#{number}"));
                Ok(())
            })?,
            Value::List(values) => {
                self.list(values, |section, value| section.value(entity, value))?
            }
            Value::Typed(name, value) => {
                self.text.push_str(name);
                self.list(&[*value], |section, value| section.value(entity, value))?;
            }
        }
        Ok(())
    }

    fn list<T>(
        &mut self,
        items: &[T],
        mut each: impl FnMut(&mut Self, &T) -> Result<(), Fault>,
    ) -> Result<(), Fault> {
        self.text.push('(');
        for (index, item) in items.iter().enumerate() {
            if index > 0 {
                self.text.push(',');
            }
            each(self, item)?;
        }
        self.text.push(')');
        Ok(())
    }

    /// Rust prints a float without exponent, and without point when it is whole; Part 21 reads
    /// that as an integer, so the point is added.
    fn real(&mut self, entity: &'static str, real: f64) -> Result<(), Fault> {
        if !real.is_finite() {
            return Err(Fault::NotFinite { entity });
        }
        // Adding zero turns -0 into 0.
        let start = self.text.len();
        self.push(format_args!("{}", real + 0.0));
        if !self.text[start..].contains('.') {
            self.text.push('.');
        }
        Ok(())
    }

    /// Printable ASCII stands as it is, apostrophe and backslash doubled; runs of other characters
    /// stand between `\X2\` (or `\X4\` above U+FFFF) and `\X0\` in upper-case hexadecimal.
    fn string(&mut self, text: &str) {
        /// Which escape is open.
        #[derive(Clone, Copy, PartialEq)]
        enum Run {
            Plain,
            Four,
            Eight,
        }
        self.text.push('\'');
        let mut open = Run::Plain;
        for character in text.chars() {
            let run = match u32::from(character) {
                0x20..=0x7E => Run::Plain,
                0..=0xFFFF => Run::Four,
                _ => Run::Eight,
            };
            if run != open {
                if open != Run::Plain {
                    self.text.push_str("\\X0\\");
                }
                match run {
                    Run::Plain => {}
                    Run::Four => self.text.push_str("\\X2\\"),
                    Run::Eight => self.text.push_str("\\X4\\"),
                }
                open = run;
            }
            match (run, character) {
                (Run::Plain, '\'') => self.text.push_str("''"),
                (Run::Plain, '\\') => self.text.push_str("\\\\"),
                (Run::Plain, _) => self.text.push(character),
                (Run::Four, _) => self.push(format_args!("{:04X}", u32::from(character))),
                (Run::Eight, _) => self.push(format_args!("{:08X}", u32::from(character))),
            }
        }
        if open != Run::Plain {
            self.text.push_str("\\X0\\");
        }
        self.text.push('\'');
    }

    fn push(&mut self, text: std::fmt::Arguments<'_>) {
        // Writing into a String has no failure to report.
        let _ = self.text.write_fmt(text);
    }
}

/// ISO 8601 extended, to the second: `YYYY-MM-DDThh:mm:ss`, then nothing, `Z` or `±hh:mm`.
fn is_time_stamp(text: &str) -> bool {
    let matches = |text: &str, shape: &str| {
        text.len() == shape.len()
            && text.bytes().zip(shape.bytes()).all(|(byte, shape)| match shape {
                b'0' => byte.is_ascii_digit(),
                other => byte == other,
            })
    };
    let number = |range: std::ops::Range<usize>| {
        text.get(range).and_then(|digits| digits.parse::<u32>().ok())
    };
    let within = |range: std::ops::Range<usize>, least: u32, greatest: u32| {
        number(range).is_some_and(|value| (least..=greatest).contains(&value))
    };
    let (Some(moment), Some(zone)) = (text.get(..19), text.get(19..)) else { return false };
    matches(moment, "0000-00-00T00:00:00")
        && within(5..7, 1, 12)
        && within(8..10, 1, 31)
        && within(11..13, 0, 23)
        && within(14..16, 0, 59)
        && within(17..19, 0, 59)
        && (matches!(zone, "" | "Z")
            || (matches(&zone.replace('-', "+"), "+00:00")
                && within(20..22, 0, 23)
                && within(23..25, 0, 59)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(value: Value<'_>) -> String {
        let mut section = DataSection::default();
        match section.add("X", &[value]) {
            Ok(_) => section.text,
            Err(fault) => fault.to_string(),
        }
    }

    /// The four forms of the grammar's real that matter here; `30` or `1e-5` would be another
    /// type or a syntax error.
    #[test]
    fn reals_have_a_point_and_no_exponent() {
        for (real, text) in [
            (30.0, "#1=X(30.);\n"),
            (-0.0, "#1=X(0.);\n"),
            (1e-7, "#1=X(0.0000001);\n"),
            (-1e16, "#1=X(-10000000000000000.);\n"),
            (0.8, "#1=X(0.8);\n"),
        ] {
            assert_eq!(written(Value::Real(real)), text);
        }
    }

    #[test]
    fn numbers_that_are_not_finite_are_refused() {
        for real in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(written(Value::Reals(&[1.0, real])), "X holds a number that is not finite");
        }
    }

    /// Escapes as given in clause 6.3.3 of the standard.
    #[test]
    fn strings_are_escaped() {
        for (text, escaped) in [
            ("it's", "'it''s'"),
            ("a\\b", "'a\\\\b'"),
            ("Ø é", "'\\X2\\00D8\\X0\\ \\X2\\00E9\\X0\\'"),
            ("♯♭", "'\\X2\\266F266D\\X0\\'"),
            ("𝄞Ø", "'\\X4\\0001D11E\\X0\\\\X2\\00D8\\X0\\'"),
            ("a\tb\n", "'a\\X2\\0009\\X0\\b\\X2\\000A\\X0\\'"),
            ("\u{7f}", "'\\X2\\007F\\X0\\'"),
        ] {
            assert_eq!(written(Value::Text(text)), format!("#1=X({escaped});\n"));
        }
    }

    #[test]
    fn time_stamps_are_iso_8601() {
        for good in ["2026-01-31T12:00:00", "2026-01-31T12:00:00Z", "2026-01-31T23:59:59-05:30"] {
            assert!(is_time_stamp(good), "{good}");
        }
        for bad in [
            "",
            "2026-01-31",
            "2026-13-31T12:00:00",
            "2026-01-31 12:00:00",
            "2026-01-31T24:00:00",
            "2026-01-31T12:00:00+1:00",
            "2026-01-31T12:00:00.5",
            "2026-01-31T12:00:0é",
        ] {
            assert!(!is_time_stamp(bad), "{bad}");
        }
    }
}
