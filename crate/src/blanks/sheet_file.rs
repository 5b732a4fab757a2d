//! The sheet file: what metal is at hand, how many half shells are wanted of it, and how they may be laid.

use glam::DVec2;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::job::{Violation, read_by_schema};

use super::lay::{Aim, Ground, Rules, Turning};
use super::outline::Allowances;

/// Most half shells that are laid at once, of one order.
pub const MOST_HALVES: u32 = 200;

/// Sheet metal and what is wanted of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Sheet")]
pub struct SheetFile {
    /// Kind and version of this file; no other is read.
    pub format: SheetFormat,
    /// What the sheet is called.
    #[schemars(length(max = 80))]
    pub name: String,
    /// Sheet, off-cut or strip that is at hand.
    pub metal: SheetStock,
    /// What is wanted of it.
    pub wanted: WantedOfMetal,
    /// How many half shells are asked for; two make a neck.
    #[schemars(range(min = 1, max = MOST_HALVES))]
    pub halves: u32,
    /// Least distance between two blanks: for the blade or the jet. 0 lets them touch.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub spacing_mm: f64,
    /// Least distance of a blank from the border of the sheet and of its holes.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub margin_mm: f64,
    /// Whether blanks may lie at any angle or only along the grain of the sheet.
    pub angles: Angles,
    /// Whether a left blank may be cut as a right one and turned over, and the other way round.
    pub turned_over: TurnedOver,
    /// Metal left on beyond the finished edges.
    pub allowances: LeftOn,
    /// Stations at which half-round gauges are wanted.
    #[schemars(length(min = 0, max = 40), inner(range(min = 0.0, max = 2000.0)))]
    pub gauges_at_mm: Vec<f64>,
}

/// Kind and version of a sheet file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub enum SheetFormat {
    /// The first version.
    #[serde(rename = "neckwright-sheet/1")]
    NeckwrightSheet1,
}

/// What metal is at hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(untagged)]
pub enum SheetStock {
    /// A rectangular sheet.
    Sheet(Rectangular),
    /// An off-cut, drawn as a polygon.
    Offcut(Offcut),
    /// A strip as long as it takes.
    Strip(Strip),
}

/// A rectangular sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Sheet")]
pub struct Rectangular {
    /// Length of the sheet, along its grain.
    #[schemars(range(min = 10.0, max = 5000.0))]
    pub length_mm: f64,
    /// Width of the sheet.
    #[schemars(range(min = 10.0, max = 5000.0))]
    pub width_mm: f64,
}

/// An off-cut. Its grain runs along x.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Off-cut")]
pub struct Offcut {
    /// Corners of its border in order.
    #[schemars(length(min = 3, max = 500))]
    pub border: Vec<SheetPoint>,
    /// Holes in it, each by its corners in order.
    #[schemars(length(min = 0, max = 50))]
    pub holes: Vec<SheetHole>,
}

/// A hole in an off-cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct SheetHole {
    /// Corners in order.
    #[schemars(length(min = 3, max = 500))]
    pub corners: Vec<SheetPoint>,
}

/// A corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct SheetPoint {
    /// Along the grain.
    #[schemars(range(min = -5000.0, max = 5000.0))]
    pub x_mm: f64,
    /// Across it.
    #[schemars(range(min = -5000.0, max = 5000.0))]
    pub y_mm: f64,
}

/// A strip as long as it takes; its grain runs along it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Strip")]
pub struct Strip {
    /// Width of the strip.
    #[schemars(range(min = 10.0, max = 5000.0))]
    pub strip_width_mm: f64,
}

/// What is wanted of the metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum WantedOfMetal {
    /// As many of the half shells as go on one sheet.
    MostPieces,
    /// All of them, on as few sheets as can be.
    FewestSheets,
    /// All of them, from the shortest piece of strip.
    ShortestStrip,
}

/// At what angles blanks may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Angles {
    /// Any angle.
    Any,
    /// With the cork end towards either end of the grain.
    AlongGrain,
}

/// Whether pieces may be turned over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum TurnedOver {
    /// Sheet is alike on both sides: a left blank is a right one turned over.
    Allowed,
    /// One side of the sheet must come to lie outside.
    NotAllowed,
}

/// Metal left on a blank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct LeftOn {
    /// Along both seams, filed off when the halves are fitted.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub seam_mm: f64,
    /// At both ends, trimmed when the halves are soldered.
    #[schemars(range(min = 0.0, max = 30.0))]
    pub trim_mm: f64,
    /// At both ends besides, to hold the metal by while it is formed.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub clamping_mm: f64,
}

impl LeftOn {
    /// As the outline takes it.
    #[must_use]
    pub fn allowances(&self) -> Allowances {
        Allowances { seam: self.seam_mm, ends: [self.trim_mm + self.clamping_mm; 2] }
    }
}

impl SheetFile {
    /// Reads a sheet file.
    ///
    /// # Errors
    ///
    /// Every violation at once.
    pub fn read(text: &str) -> Result<Self, Vec<Violation>> {
        let about = "A sheet file is one group of fields in braces.";
        let (read, mut violations) = read_by_schema::<Self>(text, about, &Value::Null);
        if !violations.iter().any(Violation::is_error) {
            violations.extend(read.iter().flat_map(Self::violations));
        }
        match read {
            Some(read) if violations.is_empty() => Ok(read),
            _ => Err(violations),
        }
    }

    /// What must hold between fields.
    fn violations(&self) -> Vec<Violation> {
        let mut found = Vec::new();
        let strip = matches!(self.metal, SheetStock::Strip(_));
        if strip != (self.wanted == WantedOfMetal::ShortestStrip) {
            let (allowed, why) = if strip {
                (
                    "shortest_strip",
                    "A strip is as long as it takes: only its length can be asked for.",
                )
            } else {
                (
                    "most_pieces or fewest_sheets",
                    "The shortest strip is asked of a strip, by its width.",
                )
            };
            found.push(Violation::error(
                "wanted",
                serde_json::to_value(self.wanted).unwrap_or(Value::Null),
                allowed,
                why,
            ));
        }
        if let SheetStock::Offcut(offcut) = &self.metal {
            let border = points(&offcut.border);
            found.extend(crossing("metal.border", &border));
            for (index, hole) in offcut.holes.iter().enumerate() {
                let path = format!("metal.holes[{index}].corners");
                let hole = points(&hole.corners);
                found.extend(crossing(&path, &hole));
                if hole.iter().any(|&corner| super::lay::signed_distance(&border, corner) > 0.0) {
                    found.push(Violation::error(
                        path,
                        Value::Null,
                        "corners inside the border",
                        "A hole lies within the sheet.",
                    ));
                }
            }
        }
        found
    }

    /// How pieces may be laid.
    #[must_use]
    pub fn rules(&self) -> Rules {
        Rules {
            spacing: self.spacing_mm,
            margin: self.margin_mm,
            turning: match self.angles {
                Angles::Any => Turning::Any,
                Angles::AlongGrain => Turning::Grain,
            },
        }
    }

    /// What is asked of the metal, and the metal itself.
    #[must_use]
    pub fn aim(&self) -> Aim {
        let ground = match &self.metal {
            SheetStock::Sheet(sheet) => {
                Ground::Rectangle { size: DVec2::new(sheet.length_mm, sheet.width_mm) }
            }
            SheetStock::Offcut(offcut) => Ground::offcut(
                points(&offcut.border),
                offcut.holes.iter().map(|hole| points(&hole.corners)).collect(),
            ),
            SheetStock::Strip(strip) => return Aim::Shortest { width: strip.strip_width_mm },
        };
        match self.wanted {
            WantedOfMetal::FewestSheets => Aim::Fewest { ground },
            WantedOfMetal::MostPieces | WantedOfMetal::ShortestStrip => Aim::Most { ground },
        }
    }
}

fn points(corners: &[SheetPoint]) -> Vec<DVec2> {
    corners.iter().map(|corner| DVec2::new(corner.x_mm, corner.y_mm)).collect()
}

/// A border that crosses itself, or has corners that fall together.
pub(super) fn crossing(path: &str, ring: &[DVec2]) -> Option<Violation> {
    let count = ring.len();
    let side = |k: usize| (ring[k], ring[(k + 1) % count]);
    let wrong = |k: usize, why: String| {
        Violation::error(
            format!("{path}[{k}]"),
            Value::Null,
            "a border that does not cross itself",
            why,
        )
    };
    for i in 0..count {
        let (a, b) = side(i);
        if a.distance(b) < 1e-6 {
            return Some(wrong(i, "Two neighbouring corners fall together.".to_owned()));
        }
        for j in i + 1..count {
            let (p, q) = side(j);
            let neighbours = j == i + 1 || (i == 0 && j == count - 1);
            let sides = |o: DVec2, u: DVec2, v: DVec2| (u - o).perp_dot(v - o);
            let crosses =
                sides(a, b, p) * sides(a, b, q) <= 0.0 && sides(p, q, a) * sides(p, q, b) <= 0.0;
            let folded = neighbours && {
                let (far, near, shared) = if j == i + 1 { (q, a, b) } else { (p, b, a) };
                let (one, other) = (near - shared, far - shared);
                one.perp_dot(other) == 0.0 && one.dot(other) > 0.0
            };
            if (crosses && !neighbours) || folded {
                return Some(wrong(
                    i,
                    format!(
                        "The side from corner {} crosses or touches that from corner {}, counted from 1.",
                        i + 1,
                        j + 1
                    ),
                ));
            }
        }
    }
    None
}
