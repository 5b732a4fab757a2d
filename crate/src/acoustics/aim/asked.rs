//! An aim as a person says it, and what is wrong with it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::acoustics::horn::Horn;
use crate::job::{Violation, read_by_schema, read_plainly};

use super::grid::{Grid, half_angle_deg};

/// An aim, as a person says it: what should move, and within what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Aim")]
pub struct Aim {
    /// Notes that should move. Every other note of the horn is asked to stay.
    #[schemars(length(min = 1, max = 60))]
    pub wanted: Vec<WantedShift>,
    /// What can be made.
    #[serde(default)]
    pub limits: Makeable,
}

/// What can be made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields, default)]
pub struct Makeable {
    /// Most a diameter may change.
    #[schemars(range(min = 0.01, max = 5.0))]
    pub most_change_mm: f64,
    /// Least diameter anywhere.
    #[schemars(range(min = 6.0, max = 60.0))]
    pub least_diameter_mm: f64,
    /// Greatest diameter anywhere.
    #[schemars(range(min = 6.0, max = 60.0))]
    pub greatest_diameter_mm: f64,
    /// Least half-angle anywhere; below nothing the bore narrows.
    #[schemars(range(min = -5.0, max = 10.0))]
    pub least_half_angle_deg: f64,
    /// Greatest half-angle anywhere.
    #[schemars(range(min = -5.0, max = 10.0))]
    pub greatest_half_angle_deg: f64,
}

impl Default for Makeable {
    /// Invented: to be replaced by what mandrels and hammer allow.
    fn default() -> Self {
        Self {
            most_change_mm: 0.6,
            least_diameter_mm: 8.0,
            greatest_diameter_mm: 40.0,
            least_half_angle_deg: 0.2,
            greatest_half_angle_deg: 4.0,
        }
    }
}

/// A wanted shift.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct WantedShift {
    /// A note of the horn, as it stands there.
    #[schemars(length(min = 2, max = 4))]
    pub written: String,
    /// By how many cents it is to move, minus for down; a neck's bore moves a note by cents, not by semitones.
    #[schemars(range(min = -100.0, max = 100.0))]
    pub cents: f64,
}

impl Aim {
    /// Reads an aim.
    ///
    /// # Errors
    ///
    /// Every violation at once.
    pub fn read(text: &str) -> Result<Self, Vec<Violation>> {
        match Self::read_leniently(text) {
            (Some(aim), found) if !found.iter().any(Violation::is_error) => Ok(aim),
            (_, found) => Err(found),
        }
    }

    /// All that is wrong with a text, as far as it can be told without a horn.
    #[must_use]
    pub fn faults(text: &str) -> Vec<Violation> {
        let (_, mut found) = Self::read_leniently(text);
        if let Some(written) = read_plainly(text) {
            add_untold(&mut found, twice(&names_of(&written)));
        }
        found
    }

    /// What can be made of a text, and all that is wrong with it.
    pub(super) fn read_leniently(text: &str) -> (Option<Self>, Vec<Violation>) {
        let plain = Self { wanted: Vec::new(), limits: Makeable::default() };
        let plain = serde_json::to_value(plain).unwrap_or(Value::Null);
        let about = "An aim is a list of notes with their cents, and limits.";
        let (aim, mut found): (Option<Self>, _) = read_by_schema(text, about, &plain);
        if let Some(aim) = &aim {
            add_untold(&mut found, aim.limits.crossed());
        }
        (aim, found)
    }

    /// Names of the notes that should move, as they are written.
    pub(super) fn names(&self) -> Vec<Option<&str>> {
        self.wanted.iter().map(|wanted| Some(wanted.written.as_str())).collect()
    }
}

/// The same of a text of which some rows cannot be read: the others are asked all the same.
pub(super) fn names_of(text: &Value) -> Vec<Option<&str>> {
    let rows = text.get("wanted").and_then(Value::as_array);
    rows.into_iter().flatten().map(|row| row.get("written")?.as_str()).collect()
}

/// Adds what is wrong with fields of which nothing is told yet: a field that was mended is not the one that was written.
pub(super) fn add_untold(found: &mut Vec<Violation>, more: Vec<Violation>) {
    let told: Vec<String> = found.iter().map(|violation| violation.path.clone()).collect();
    let untold = |violation: &Violation| {
        told.iter().all(|path| path.is_empty() || !violation.path.starts_with(path.as_str()))
    };
    found.extend(more.into_iter().filter(untold));
}

/// What keeps these notes from being sought on a horn.
pub(super) fn unheard(names: &[Option<&str>], horn: &Horn) -> Vec<Violation> {
    let mut found = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let Some(name) = *name else { continue };
        let path = || format!("wanted[{index}].written");
        if !horn.fingerings.iter().any(|fingering| fingering.note.name == name) {
            let known: Vec<&str> =
                horn.fingerings.iter().map(|fingering| fingering.note.name.as_str()).collect();
            found.push(Violation::error(
                path(),
                name,
                known.join(", "),
                "The horn file does not ask about this note.",
            ));
        }
    }
    found.extend(twice(names));
    found
}

/// Notes that are named more than once.
fn twice(names: &[Option<&str>]) -> Vec<Violation> {
    let again = |(index, name): (usize, &Option<&str>)| {
        let name = (*name).filter(|name| names.iter().take(index).any(|one| *one == Some(name)))?;
        Some(Violation::error(
            format!("wanted[{index}].written"),
            name,
            "each note once",
            "A note cannot move by two amounts.",
        ))
    };
    names.iter().enumerate().filter_map(again).collect()
}

/// Rounding that a bore may lie outside of its limits by.
const WITHIN_MM: f64 = 1e-6;
const WITHIN_DEG: f64 = 1e-4;

impl Makeable {
    /// Limits that leave nothing between them.
    fn crossed(&self) -> Vec<Violation> {
        let pairs = [
            ("diameter_mm", " mm", self.least_diameter_mm, self.greatest_diameter_mm),
            ("half_angle_deg", "°", self.least_half_angle_deg, self.greatest_half_angle_deg),
        ];
        let crossed = |&(name, unit, least, greatest): &(&str, &str, f64, f64)| {
            (least >= greatest).then(|| {
                Violation::error(
                    format!("limits.greatest_{name}"),
                    greatest,
                    format!("more than the least, {least}{unit}"),
                    "Between the least and the greatest there must be room.",
                )
            })
        };
        pairs.iter().filter_map(crossed).collect()
    }

    /// Limits that no change allowed here brings the rows of a bore within.
    pub(super) fn out_of_reach(&self, grid: &Grid) -> Vec<Violation> {
        let mut found: Vec<Violation> = Vec::new();
        let mut tell = |field: &str, value: f64, allowed: String, why: String| {
            let path = format!("limits.{field}");
            // The first place along the neck tells of the others.
            if found.iter().all(|violation| violation.path != path) {
                found.push(Violation::error(path, value, allowed, why));
            }
        };
        let range: Vec<(f64, f64, f64)> = grid
            .rows
            .iter()
            .map(|row| {
                let change = self.most_change_mm * grid.free_share(row);
                (row.station, row.diameter - change, row.diameter + change)
            })
            .collect();
        for (row, (station, least, most)) in grid.rows.iter().zip(&range) {
            let why = || {
                format!(
                    "At station {station:.0} mm the bore is {:.2} mm, and may change by {:.2} mm at most.",
                    row.diameter,
                    (most - least) / 2.0
                )
            };
            let (low, high) = (self.least_diameter_mm, self.greatest_diameter_mm);
            if *most < low - WITHIN_MM {
                tell("least_diameter_mm", low, format!("at most {most:.2} mm"), why());
            }
            if *least > high + WITHIN_MM {
                tell("greatest_diameter_mm", high, format!("at least {least:.2} mm"), why());
            }
        }
        for (i, (from, least_a, most_a)) in range.iter().enumerate() {
            for (to, least_b, most_b) in range.iter().skip(i + 1) {
                let angle = |rise: f64| half_angle_deg(rise, to - from);
                let (flattest, steepest) = (angle(least_b - most_a), angle(most_b - least_a));
                let why = || {
                    format!(
                        "From station {from:.0} to {to:.0} mm no change that is allowed makes it so."
                    )
                };
                let (low, high) = (self.least_half_angle_deg, self.greatest_half_angle_deg);
                if steepest < low - WITHIN_DEG {
                    tell("least_half_angle_deg", low, format!("at most {steepest:.2}°"), why());
                }
                if flattest > high + WITHIN_DEG {
                    let allowed = format!("at least {flattest:.2}°");
                    tell("greatest_half_angle_deg", high, allowed, why());
                }
            }
        }
        found
    }
}
