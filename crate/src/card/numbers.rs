//! A number a maker may act on: never without its unit, what it may be off by, and where it comes from.

use serde::Serialize;

use crate::tables::{Source, Status};

/// A tolerance wider than this share of the value makes it a range.
const WIDE: f64 = 0.15;

/// A value with its unit, tolerance and source; or the word that it is not known, and why.
///
/// Numbers stand rounded to a millionth, so that host and wasm write the same text.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Number {
    /// `null` if it is not known.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub value: Option<f64>,
    /// Empty of what is a plain share or ratio.
    pub unit: &'static str,
    /// How far the true value may lie below and above, in the same unit; `null` if the value is not known.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number] | null"))]
    pub tolerance: Option<[f64; 2]>,
    /// How it was worked out, and from what.
    pub source: String,
    /// Why there is no value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_known: Option<String>,
}

impl Number {
    /// A value between two others it may as well have.
    #[must_use]
    pub fn between(
        value: f64,
        least: f64,
        greatest: f64,
        unit: &'static str,
        source: impl Into<String>,
    ) -> Self {
        if !(value.is_finite() && least.is_finite() && greatest.is_finite()) {
            return Self::not_known(unit, "it cannot be worked out from these values", source);
        }
        let off = [rounded((least - value).min(0.0)), rounded((greatest - value).max(0.0))];
        Self {
            value: Some(rounded(value)),
            unit,
            tolerance: Some(off),
            source: source.into(),
            not_known: None,
        }
    }

    /// A value that may be off by so much to either side.
    #[must_use]
    pub fn within(value: f64, off: f64, unit: &'static str, source: impl Into<String>) -> Self {
        Self::between(value, value - off, value + off, unit, source)
    }

    /// The middle of a range.
    #[must_use]
    pub fn range(range: (f64, f64), unit: &'static str, source: impl Into<String>) -> Self {
        Self::between(f64::midpoint(range.0, range.1), range.0, range.1, unit, source)
    }

    /// What is counted, chosen or defined, and so not off by anything.
    #[must_use]
    pub fn exact(value: f64, unit: &'static str, source: impl Into<String>) -> Self {
        Self::within(value, 0.0, unit, source)
    }

    /// What is not known, and why.
    #[must_use]
    pub fn not_known(
        unit: &'static str,
        why: impl Into<String>,
        source: impl Into<String>,
    ) -> Self {
        Self {
            value: None,
            unit,
            tolerance: None,
            source: source.into(),
            not_known: Some(why.into()),
        }
    }

    /// Least and greatest value it may have.
    #[must_use]
    pub fn limits(&self) -> Option<(f64, f64)> {
        let (value, [below, above]) = (self.value?, self.tolerance?);
        Some((rounded(value + below), rounded(value + above)))
    }

    /// The value with its unit to so many decimals, and what it may be off by; or why it is not known.
    #[must_use]
    pub fn said(&self, decimals: usize) -> String {
        let (Some(value), Some([below, above])) = (self.value, self.tolerance) else {
            return format!("not known: {}", self.not_known.as_deref().unwrap_or_default());
        };
        let unit = self.spaced_unit();
        let (low, high) = (value + below, value + above);
        let plain = |value: f64| {
            let text = format!("{value:.decimals$}");
            // Rounded to nothing, a negative number keeps its sign.
            if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
                text.trim_start_matches('-').to_string()
            } else {
                text
            }
        };
        if plain(low) == plain(high) {
            format!("{}{unit}", plain(value))
        } else if (below + above).abs() < 1e-5 * (1.0 + above) && above > WIDE * value.abs() {
            format!("{} to {}{unit}", plain(low), plain(high))
        } else if (below + above).abs() < 1e-5 * (1.0 + above) {
            format!("{} \u{b1}{}{unit}", plain(value), plain(above))
        } else {
            format!("{} ({} to {}){unit}", plain(value), plain(low), plain(high))
        }
    }

    /// The value with its unit alone, where its tolerance stands elsewhere.
    #[must_use]
    pub fn short(&self, decimals: usize) -> String {
        match self.value {
            Some(value) => format!("{value:.decimals$}{}", self.spaced_unit()),
            None => "not known".into(),
        }
    }

    fn spaced_unit(&self) -> String {
        if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) }
    }
}

/// Writes a count as a [`Number`], for every number of a card has unit, tolerance and source.
pub(super) fn counted<S: serde::Serializer>(
    count: &(impl Copy + Into<u32>),
    to: S,
) -> Result<S::Ok, S::Error> {
    Number::exact(f64::from((*count).into()), "", "Counted, or chosen in the card file")
        .serialize(to)
}

/// Writes a place that was chosen as a [`Number`]; `null` where none was.
pub(super) fn chosen<S: serde::Serializer>(
    place: &Option<f64>,
    unit: &'static str,
    to: S,
) -> Result<S::Ok, S::Error> {
    let number = place.map(|place| Number::exact(place, unit, "Card file, gauge.readings"));
    number.serialize(to)
}

/// A source in words.
#[must_use]
pub fn said_source(source: &Source) -> String {
    match source.status {
        Status::Read => source.title.to_string(),
        Status::Memory => format!("{} (from memory: look it up)", source.title),
        Status::Invented => format!("{} (a guess)", source.title),
    }
}

/// Rounded to a millionth, and never a negative zero.
fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_never_written_without_unit_tolerance_and_source() {
        let number = Number::between(2.0, 1.5, 2.25, "mm", "a rule");
        let json = serde_json::to_value(&number).unwrap();
        assert_eq!(
            json,
            serde_json::json!({"value": 2.0, "unit": "mm", "tolerance": [-0.5, 0.25], "source": "a rule"})
        );
        assert_eq!(number.said(2), "2.00 (1.50 to 2.25) mm");
        assert_eq!(Number::within(1.0, 0.1, "mm", "").said(1), "1.0 \u{b1}0.1 mm");
        assert_eq!(Number::range((425.0, 750.0), "°C", "").said(0), "425 to 750 °C");
        assert_eq!(Number::exact(-0.001, "mm", "").said(1), "0.0 mm");
    }

    #[test]
    fn what_is_no_number_is_not_known_and_says_why() {
        let number = Number::within(f64::NAN, 0.1, "N", "a rule");
        assert_eq!(number.value, None);
        assert!(number.said(1).starts_with("not known: "));
        let json = serde_json::to_value(Number::not_known("N", "no row", "a table")).unwrap();
        assert_eq!(json["value"], serde_json::Value::Null);
        assert_eq!(json["not_known"], "no row");
    }
}
