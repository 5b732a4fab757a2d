//! What is asked for: which parts, how many, of what, and in which files.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::exports::step::Protocol;
use crate::job::{Violation, read_by_schema};
use crate::tables::metals::Metal;
use crate::tables::tempers::Temper;

use super::drawings::DrawingStyle;
use super::flat::CuttingLimits;

/// What is to leave the shop. Every field may be left out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "Request")]
pub struct Request {
    /// Parts that are wanted, each once; null for one of every part of the neck.
    #[schemars(length(min = 1, max = 100))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Wanted[] | null"))]
    pub parts: Option<Vec<Wanted>>,
    /// How many necks the order is for: the quantity of each part is that of one neck.
    #[schemars(range(min = 1, max = 1000))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional))]
    pub necks: u32,
    /// What file names begin with; null for order number and serial number.
    #[schemars(length(max = 80))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "string | null"))]
    pub name: Option<String>,
    /// Application protocol of the STEP files.
    #[cfg_attr(target_arch = "wasm32", tsify(optional))]
    pub step: StepProtocol,
    /// Greatest distance of the triangles in STL and 3MF from the true surface.
    #[schemars(range(min = 0.002, max = 1.0))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional))]
    pub chord_mm: f64,
    /// What the shop that cuts flat parts can cut.
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Partial<CuttingLimits>"))]
    pub cutting: CuttingLimits,
    /// How drawings of turned parts are made.
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Partial<DrawingStyle>"))]
    pub drawing: DrawingStyle,
    /// Whether a part that fails a check is sent all the same; the packing list then says what fails.
    #[cfg_attr(target_arch = "wasm32", tsify(optional))]
    pub force: bool,
}

impl Default for Request {
    fn default() -> Self {
        Self {
            parts: None,
            necks: 1,
            name: None,
            step: StepProtocol::default(),
            chord_mm: 0.01,
            cutting: CuttingLimits::default(),
            drawing: DrawingStyle::default(),
            force: false,
        }
    }
}

/// One part that is wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Wanted {
    /// Short name of the part, as in the list.
    #[schemars(length(max = 60))]
    pub part: String,
    /// How many for one neck.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 10_000))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional))]
    pub quantity: u32,
    /// Metal to be used instead of the job's; null for the job's.
    #[serde(default)]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Metal | null"))]
    pub metal: Option<Metal>,
    /// Thickness of the sheet instead of the job's; null for the job's.
    #[serde(default)]
    #[schemars(range(min = 0.025, max = 50.0))]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "number | null"))]
    pub thickness_mm: Option<f64>,
    /// Temper to be ordered instead of the usual; null for the usual.
    #[serde(default)]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Temper | null"))]
    pub temper: Option<Temper>,
}

fn one() -> u32 {
    1
}

/// Application protocol of a STEP file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum StepProtocol {
    /// ISO 10303-242, second edition.
    #[default]
    Ap242,
    /// ISO 10303-214, third edition, for readers that know no other.
    Ap214,
}

impl From<StepProtocol> for Protocol {
    fn from(step: StepProtocol) -> Self {
        match step {
            StepProtocol::Ap242 => Self::Ap242,
            StepProtocol::Ap214 => Self::Ap214,
        }
    }
}

impl Request {
    /// Reads a request from its JSON text: what could be made of it, and everything wrong with it.
    #[must_use]
    pub fn read(text: &str) -> (Option<Self>, Vec<Violation>) {
        let usual = serde_json::to_value(Self::default()).unwrap_or_default();
        read_by_schema(text, "A request is one group of fields in braces.", &usual)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_said_is_one_of_everything() {
        assert_eq!(Request::read("{}"), (Some(Request::default()), vec![]));
    }

    #[test]
    fn everything_wrong_is_told_at_once() {
        let (_, found) = Request::read(
            r#"{"parts": [{"part": "brace", "quantity": 0}, {"quantity": 1.5, "metal": "gold"}],
                "necks": 0, "step": "ap203", "chord_mm": null, "force": "yes", "colour": 1, "name": 7,
                "cutting": {"least_web_mm": -1}, "drawing": {"units": "ells"}}"#,
        );
        let mut paths: Vec<&str> = found.iter().map(|violation| violation.path.as_str()).collect();
        paths.sort_unstable();
        assert_eq!(
            paths,
            [
                "chord_mm",
                "colour",
                "cutting.least_web_mm",
                "drawing.units",
                "force",
                "name",
                "necks",
                "parts[0].quantity",
                "parts[1].metal",
                "parts[1].part",
                "parts[1].quantity",
                "step",
            ]
        );
    }
}
