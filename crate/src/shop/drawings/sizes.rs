//! Sizes in words: millimetres, inches or both, with the limits of a fit.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::tables::fits::{Class, deviations_um};
use crate::units::MM_PER_INCH;

/// Units of a drawing's figures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// Millimetres.
    #[default]
    Millimetres,
    /// Inches.
    Inches,
    /// Millimetres, with inches in brackets.
    Both,
}

/// A size as it stands on a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    pub mm: f64,
    /// What is written before the figure, as the sign of diameters.
    pub sign: &'static str,
    /// Name of the tolerance class.
    pub class: &'static str,
    /// Lower and upper limit, mm from the size.
    pub limits_mm: Option<(f64, f64)>,
    /// Whether a thousandth counts though no limits are given.
    pub fine: bool,
}

impl Size {
    /// A length.
    pub const fn length(mm: f64) -> Self {
        Self { mm, sign: "", class: "", limits_mm: None, fine: false }
    }

    /// A diameter.
    pub const fn diameter(mm: f64) -> Self {
        Self { sign: "\u{D8}", ..Self::length(mm) }
    }

    /// A radius.
    pub const fn radius(mm: f64) -> Self {
        Self { sign: "R", ..Self::length(mm) }
    }

    /// The same within a class of ISO 286; without limits where the table does not reach.
    pub fn of_class(self, class: Class) -> Self {
        let limits = deviations_um(class, self.mm);
        let name = match class {
            Class::H6 => "H6",
            Class::H7 => "H7",
            Class::H8 => "H8",
            Class::G5Shaft => "g5",
            Class::G6Shaft => "g6",
            Class::F7Shaft => "f7",
            Class::H6Shaft => "h6",
            Class::H7Shaft => "h7",
        };
        let limits_mm = limits.map(|(low, high)| (low / 1000.0, high / 1000.0));
        Self { class: if limits_mm.is_some() { name } else { "" }, limits_mm, ..self }
    }

    /// The same within limits that are no class.
    pub const fn within(self, low: f64, high: f64) -> Self {
        Self { limits_mm: Some((low, high)), ..self }
    }

    /// The same to a thousandth.
    pub const fn fine(self) -> Self {
        Self { fine: true, ..self }
    }

    /// Millimetres with two decimals at most, three where they count.
    fn mm(&self) -> String {
        let fine = self.fine || self.limits_mm.is_some();
        if fine { mm(self.mm) } else { trimmed(&format!("{:.2}", self.mm)) }
    }

    /// The size in words, in both units on two lines.
    pub fn words(&self, units: Units) -> String {
        self.followed_by("", units)
    }

    /// The same with something said after each figure.
    pub fn followed_by(&self, more: &str, units: Units) -> String {
        let class = if self.class.is_empty() { String::new() } else { format!(" {}", self.class) };
        let millimetres = || format!("{}{}{class}{}{more}", self.sign, self.mm(), self.limits(mm));
        match units {
            Units::Millimetres => millimetres(),
            Units::Inches => {
                format!("{}{}{class}{}{more}", self.sign, inch(self.mm), self.limits(inch_limit))
            }
            Units::Both => {
                format!("{}\n[{}{}]", millimetres(), inch(self.mm), self.limits(inch_limit))
            }
        }
    }

    fn limits(&self, figure: fn(f64) -> String) -> String {
        let Some((low, high)) = self.limits_mm else { return String::new() };
        let signed = |limit: f64| {
            let figure = figure(limit);
            if limit > 0.0 { format!("+{figure}") } else { figure }
        };
        if low == -high {
            return format!(" \u{B1}{}", figure(high));
        }
        format!(" ({}/{})", signed(high), signed(low))
    }
}

/// Millimetres with three decimals at most.
fn mm(value: f64) -> String {
    trimmed(&format!("{value:.3}"))
}

/// Inches with four decimals.
fn inch(value: f64) -> String {
    format!("{:.4}", value / MM_PER_INCH)
}

/// Limits in inches with five decimals at most: a micrometre is 0.00004 in.
fn inch_limit(value: f64) -> String {
    trimmed(&format!("{:.5}", value / MM_PER_INCH))
}

fn trimmed(text: &str) -> String {
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: ISO 286-2's table: h6 of 18 to 30 is 0 / -13 µm, H7 of 6 to 10 is +15 / 0, H8 of 3 to 6 is +18 / 0 (not the
    /// 19 one page prints); and 24.5 mm is 0.9646 in.
    #[test]
    fn limits_are_the_table_s() {
        let shaft = Size::diameter(24.5).of_class(Class::H6Shaft);
        assert_eq!(shaft.words(Units::Millimetres), "\u{D8}24.5 h6 (0/-0.013)");
        assert_eq!(shaft.words(Units::Inches), "\u{D8}0.9646 h6 (0/-0.00051)");
        let hole = Size::diameter(8.0).of_class(Class::H7);
        assert_eq!(hole.words(Units::Millimetres), "\u{D8}8 H7 (+0.015/0)");
        let vent = Size::diameter(4.0).of_class(Class::H8);
        assert_eq!(vent.words(Units::Millimetres), "\u{D8}4 H8 (+0.018/0)");
        assert_eq!(Size::diameter(40.0).of_class(Class::H7).words(Units::Millimetres), "\u{D8}40");
    }

    #[test]
    fn both_units_stand_under_each_other() {
        let size = Size::length(25.4).within(-0.1, 0.1);
        assert_eq!(size.words(Units::Both), "25.4 \u{B1}0.1\n[1.0000 \u{B1}0.00394]");
    }
}
