//! JSON text to a value, refusing what plain parsing would let pass: text beyond all reason, and a field given twice.

use std::fmt;

use serde::de::{DeserializeSeed, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

use super::violation::Violation;

/// Greatest size of a job file in bytes; an ordinary one has five thousand.
const MOST_BYTES: usize = 1 << 20;
/// Fields given twice that are named; a file with more was not written by hand.
const MOST_GIVEN_TWICE: usize = 100;
/// Characters of an unknown field's name that are repeated in a path.
const MOST_NAME: usize = 60;

/// Reads JSON text.
///
/// Gives the value and a violation for every field given twice (the later value is kept), or the one violation that
/// keeps the text from being read: too long, nested too deeply, a number too large to hold, or not JSON.
pub(super) fn parse(text: &str) -> Result<(Value, Vec<Violation>), Box<Violation>> {
    if text.len() > MOST_BYTES {
        return Err(unreadable(
            format!("{} bytes", text.len()).into(),
            format!("at most {MOST_BYTES} bytes"),
            "A job file has a few thousand bytes; this is something else.".to_owned(),
        ));
    }
    // Some editors put a byte order mark first; it says nothing.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut given_twice = Vec::new();
    let mut deserializer = serde_json::Deserializer::from_str(text);
    let value = At { path: String::new(), given_twice: &mut given_twice }
        .deserialize(&mut deserializer)
        .and_then(|value| deserializer.end().map(|()| value))
        .map_err(|error| {
            unreadable(
                Value::Null,
                "JSON text".to_owned(),
                format!("The text cannot be read as JSON: {error}."),
            )
        })?;
    Ok((value, given_twice))
}

fn unreadable(value: Value, allowed: String, why: String) -> Box<Violation> {
    Box::new(Violation::error("", value, allowed, why))
}

/// Path of a field inside the thing at `path`; a name that is not plain is put in brackets and quotes, and one longer
/// than any of ours is cut short.
pub(super) fn field(path: &str, name: &str) -> String {
    if let Some((end, _)) = name.char_indices().nth(MOST_NAME) {
        return format!("{path}[{}]", Value::from(format!("{}...", &name[..end])));
    }
    let plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    match (plain, path.is_empty()) {
        (true, true) => name.to_owned(),
        (true, false) => format!("{path}.{name}"),
        (false, _) => format!("{path}[{}]", Value::from(name)),
    }
}

/// Path of a row of the list at `path`.
pub(super) fn row(path: &str, index: usize) -> String {
    format!("{path}[{index}]")
}

/// A value at a known path, about to be read.
struct At<'a> {
    path: String,
    given_twice: &'a mut Vec<Violation>,
}

impl<'de> DeserializeSeed<'de> for At<'_> {
    type Value = Value;

    fn deserialize<D: serde::Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for At<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut rows: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(value) = rows.next_element_seed(At {
            path: row(&self.path, list.len()),
            given_twice: self.given_twice,
        })? {
            list.push(value);
        }
        Ok(list.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(name) = fields.next_key::<String>()? {
            let path = field(&self.path, &name);
            let value =
                fields.next_value_seed(At { path: path.clone(), given_twice: self.given_twice })?;
            if map.contains_key(&name) && self.given_twice.len() < MOST_GIVEN_TWICE {
                self.given_twice.push(Violation::error(
                    path,
                    value.clone(),
                    "once",
                    "The field is given twice; keep one.",
                ));
            }
            map.insert(name, value);
        }
        Ok(map.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn refused(text: &str) -> String {
        match parse(text) {
            Ok((value, _)) => panic!("{value} was read"),
            Err(violation) => {
                assert_eq!(violation.path, "");
                violation.why
            }
        }
    }

    #[test]
    fn broken_text_is_answered_with_line_and_column() {
        assert!(refused("{\n  \"a\": 1,\n  b\n}").contains("line 3 column 3"));
        assert!(refused("").contains("line 1 column 0"));
        assert!(refused("{} {}").contains("column 4"));
    }

    #[test]
    fn numbers_that_cannot_be_held_are_refused() {
        assert!(refused("[1e999]").contains("number out of range"));
        assert!(refused("[NaN]").contains("line 1"));
    }

    #[test]
    fn deep_nesting_is_refused_and_does_not_exhaust_the_stack() {
        assert!(refused(&"[".repeat(100_000)).contains("recursion limit"));
    }

    #[test]
    fn text_beyond_all_reason_is_not_even_parsed() {
        assert!(refused(&" ".repeat(MOST_BYTES + 1)).contains("something else"));
    }

    #[test]
    fn a_field_given_twice_is_named() {
        let (value, twice) = parse(r#"{"a":[{"b":1,"b":2}],"a b":0}"#).unwrap_or_default();
        assert_eq!(value, json!({"a": [{"b": 2}], "a b": 0}));
        assert_eq!(twice.iter().map(|v| v.path.as_str()).collect::<Vec<_>>(), ["a[0].b"]);
    }

    #[test]
    fn a_byte_order_mark_is_passed_over() {
        assert!(parse("\u{feff}{}").is_ok());
    }

    #[test]
    fn odd_names_are_quoted_in_a_path() {
        assert_eq!(field("tube", "wall mm"), "tube[\"wall mm\"]");
        assert_eq!(field("", ""), "[\"\"]");
        assert_eq!(field("", &"ä".repeat(70)).chars().filter(|&c| c == 'ä').count(), MOST_NAME);
    }
}
