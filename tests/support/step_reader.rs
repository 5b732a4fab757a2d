//! A strict reader of ISO 10303-21 text, for tests. It takes only what the grammar allows and,
//! unlike the readers in use, forgives nothing: an integer for a real, `1.e-05`, lower-case
//! hexadecimal in an escape or a stray apostrophe are errors with their place.

use std::collections::BTreeMap;

/// One attribute.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// As spelt, without the outer apostrophes; escapes are checked, not resolved.
    Text(String),
    Real(f64),
    Integer(i64),
    /// An enumeration's word, without its points.
    Word(String),
    Reference(usize),
    Unset,
    Derived,
    List(Vec<Value>),
    Typed(String, Vec<Value>),
}

/// An entity's name and attributes.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    pub name: String,
    pub values: Vec<Value>,
}

/// One instance; more than one record where it is complex.
#[derive(Clone, Debug, PartialEq)]
pub struct Instance {
    pub records: Vec<Record>,
}

impl Instance {
    pub fn record(&self, name: &str) -> Option<&Record> {
        self.records.iter().find(|record| record.name == name)
    }

    /// Names of its records, joined by `+`.
    pub fn kind(&self) -> String {
        self.records.iter().map(|record| record.name.as_str()).collect::<Vec<_>>().join("+")
    }
}

/// A whole file.
#[derive(Clone, Debug, PartialEq)]
pub struct StepFile {
    pub header: Vec<Record>,
    pub data: BTreeMap<usize, Instance>,
}

/// Reads a file, or says what breaks the grammar and at which byte.
pub fn read(bytes: &[u8]) -> Result<StepFile, String> {
    let mut reader = Reader { bytes, at: 0 };
    reader.file().map_err(|what| format!("byte {}: {what}", reader.at))
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn file(&mut self) -> Result<StepFile, String> {
        self.expect("ISO-10303-21;")?;
        self.expect("HEADER;")?;
        let mut header = Vec::new();
        while self.peek() != Some(b'E') {
            header.push(self.record()?);
            self.expect(";")?;
        }
        self.expect("ENDSEC;")?;
        self.expect("DATA;")?;
        let mut data = BTreeMap::new();
        while self.peek() == Some(b'#') {
            let id = self.reference()?;
            self.expect("=")?;
            let mut records = Vec::new();
            if self.peek() == Some(b'(') {
                self.expect("(")?;
                while self.peek() != Some(b')') {
                    records.push(self.record()?);
                }
                self.expect(")")?;
            } else {
                records.push(self.record()?);
            }
            self.expect(";")?;
            if data.insert(id, Instance { records }).is_some() {
                return Err(format!("instance #{id} stands twice"));
            }
        }
        self.expect("ENDSEC;")?;
        self.expect("END-ISO-10303-21;")?;
        match self.peek() {
            None => Ok(StepFile { header, data }),
            Some(_) => Err("text after the end of the file".into()),
        }
    }

    /// Next byte that is no blank.
    fn peek(&mut self) -> Option<u8> {
        while matches!(self.bytes.get(self.at), Some(b' ' | b'\n' | b'\r')) {
            self.at += 1;
        }
        self.bytes.get(self.at).copied()
    }

    fn expect(&mut self, text: &str) -> Result<(), String> {
        self.peek();
        if self.bytes[self.at..].starts_with(text.as_bytes()) {
            self.at += text.len();
            Ok(())
        } else {
            Err(format!("`{text}` expected"))
        }
    }

    /// Bytes that satisfy a condition, as text.
    fn run(&mut self, holds: impl Fn(u8) -> bool) -> String {
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|&byte| holds(byte)) {
            self.at += 1;
        }
        String::from_utf8_lossy(&self.bytes[start..self.at]).into_owned()
    }

    fn keyword(&mut self) -> Result<String, String> {
        self.peek();
        let word =
            self.run(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit() || byte == b'_');
        if word.starts_with(|c: char| c.is_ascii_uppercase()) {
            Ok(word)
        } else {
            Err("a keyword expected".into())
        }
    }

    fn record(&mut self) -> Result<Record, String> {
        Ok(Record { name: self.keyword()?, values: self.list()? })
    }

    fn list(&mut self) -> Result<Vec<Value>, String> {
        self.expect("(")?;
        let mut values = Vec::new();
        if self.peek() != Some(b')') {
            values.push(self.value()?);
            while self.peek() == Some(b',') {
                self.at += 1;
                values.push(self.value()?);
            }
        }
        self.expect(")")?;
        Ok(values)
    }

    fn value(&mut self) -> Result<Value, String> {
        match self.peek() {
            Some(b'\'') => self.string().map(Value::Text),
            Some(b'#') => self.reference().map(Value::Reference),
            Some(b'(') => self.list().map(Value::List),
            Some(b'.') => {
                self.at += 1;
                let word = self.keyword()?;
                self.expect(".")?;
                Ok(Value::Word(word))
            }
            Some(b'$') => {
                self.at += 1;
                Ok(Value::Unset)
            }
            Some(b'*') => {
                self.at += 1;
                Ok(Value::Derived)
            }
            Some(b'+' | b'-' | b'0'..=b'9') => self.number(),
            Some(b'A'..=b'Z') => {
                let name = self.keyword()?;
                Ok(Value::Typed(name, self.list()?))
            }
            _ => Err("no value begins like this".into()),
        }
    }

    fn reference(&mut self) -> Result<usize, String> {
        self.expect("#")?;
        let digits = self.run(|byte| byte.is_ascii_digit());
        digits.parse().map_err(|_| format!("`#{digits}` is no instance name"))
    }

    /// `[sign] digits` is an integer, `[sign] digits . [digits] [E [sign] digits]` a real.
    fn number(&mut self) -> Result<Value, String> {
        let text =
            self.run(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'+' | b'-' | b'.'));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let bare = text.trim_start_matches(['+', '-']);
        let wrong = || format!("`{text}` is neither an integer nor a real");
        if text.len() - bare.len() > 1 || !bare.starts_with(|c: char| c.is_ascii_digit()) {
            return Err(wrong());
        }
        let Some((whole, rest)) = bare.split_once('.') else {
            return if digits(bare) {
                text.parse().map(Value::Integer).map_err(|_| wrong())
            } else {
                Err(wrong())
            };
        };
        let (fraction, exponent) = rest.split_once('E').unwrap_or((rest, "0"));
        let exponent = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
        if digits(whole) && digits(fraction) && digits(exponent) && !exponent.is_empty() {
            text.parse().map(Value::Real).map_err(|_| wrong())
        } else {
            Err(wrong())
        }
    }

    fn string(&mut self) -> Result<String, String> {
        self.at += 1;
        let start = self.at;
        loop {
            match self.bytes.get(self.at) {
                Some(b'\'') if self.bytes.get(self.at + 1) == Some(&b'\'') => self.at += 2,
                Some(b'\'') => break,
                Some(b'\\') if self.bytes.get(self.at + 1) == Some(&b'\\') => self.at += 2,
                Some(b'\\') => self.escape()?,
                Some(0x20..=0x7E) => self.at += 1,
                Some(byte) => return Err(format!("raw byte {byte:#04X} in a string")),
                None => return Err("a string that does not end".into()),
            }
        }
        let text = String::from_utf8_lossy(&self.bytes[start..self.at]).into_owned();
        self.at += 1;
        Ok(text)
    }

    /// `\X2\` and groups of four, or `\X4\` and groups of eight upper-case digits, to `\X0\`.
    fn escape(&mut self) -> Result<(), String> {
        let rest = &self.bytes[self.at..];
        let group = match rest.get(..4) {
            Some(b"\\X2\\") => 4,
            Some(b"\\X4\\") => 8,
            _ => return Err("a backslash that begins no escape".into()),
        };
        self.at += 4;
        let digits = self.run(|byte| matches!(byte, b'0'..=b'9' | b'A'..=b'F'));
        if digits.is_empty()
            || !digits.len().is_multiple_of(group)
            || !self.bytes[self.at..].starts_with(b"\\X0\\")
        {
            return Err("an escape without upper-case digits in full groups and \\X0\\".into());
        }
        self.at += 4;
        Ok(())
    }
}
