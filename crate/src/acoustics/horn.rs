//! The horn file: the rest of the horn as it was measured, or what stands in for it, and the notes that are asked about.

use std::f64::consts::PI;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::geometry::bore::Table;
use crate::job::{Violation, Voice, read_by_schema};

use super::air::Breath;
use super::duct::{Duct, Piece};
use super::losses::Medium;
use super::neck_on_horn::{Body, Mouthpiece, NeckBore, cone_for};
use super::notes::Note;
use super::segment::Segment;
use super::vent::{Cover, SideHole};

/// Longest slice of a measured body, mm.
const SLICE_MM: f64 = 5.0;
/// Steepest a body may be between two measured rows, mm of diameter a mm: the rim of a bell is; steeper it is a step.
const STEEPEST: f64 = 3.0;
/// Least distance between measured rows, mm.
const LEAST_ROW_MM: f64 = 0.5;

/// How far from the tenon's free end the first row may be told, mm: to its rounding.
const FIRST_ROW_MM: f64 = 0.5;

/// The rest of a horn, and what is asked about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Horn")]
pub struct HornFile {
    /// Kind and version of this file; no other is read.
    pub format: HornFormat,
    /// What the horn is called.
    #[schemars(length(max = 80))]
    pub name: String,
    /// What A4 is tuned to.
    #[schemars(range(min = 400.0, max = 480.0))]
    pub tuning_hz: f64,
    /// Volume of the mouthpiece beyond the end of the neck, with what the reed gives; left empty (null), that of the cone missing from the first neck.
    #[serde(default)]
    #[schemars(range(min = 500.0, max = 60000.0))]
    pub mouthpiece_volume_mm3: Option<f64>,
    /// What the mouthpiece is taken for.
    #[serde(default)]
    pub mouthpiece_as: MouthpieceForm,
    /// Air in the horn.
    pub air: Breath,
    /// Body of the horn: measured, or a plain cone that stands in for it.
    pub body: HornBody,
    /// Notes that are asked about.
    #[schemars(length(min = 1, max = 60))]
    pub notes: Vec<HornNote>,
}

/// Kind and version of a horn file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum HornFormat {
    /// The first version.
    #[serde(rename = "neckwright-horn/1")]
    NeckwrightHorn1,
}

/// What a mouthpiece is taken for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MouthpieceForm {
    /// A tube as wide as the entry of the first neck: keeps the octaves of a cone truest, by G. P. Scavone (2002).
    #[default]
    Tube,
    /// A chamber without any length: true only for the lowest notes.
    Chamber,
}

/// Body of the horn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum HornBody {
    /// Measured bore and holes.
    Measured(MeasuredBody),
    /// A plain cone of the right length for each note.
    StandIn(StandIn),
}

/// A body as measured, from the tenon's free end on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Measured body")]
pub struct MeasuredBody {
    /// Diameters from the tenon's free end to the rim of the bell.
    #[schemars(length(min = 2, max = 400))]
    pub bore: Vec<HornRow>,
    /// Tone holes in order, from the neck down.
    #[schemars(length(min = 0, max = 40))]
    pub holes: Vec<HornHole>,
}

/// A measured diameter of the body.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HornRow {
    /// Distance along the bore from the tenon's free end.
    #[schemars(range(min = 0.0, max = 6000.0))]
    pub station_mm: f64,
    /// Inside diameter there.
    #[schemars(range(min = 5.0, max = 400.0))]
    pub diameter_mm: f64,
}

/// A tone hole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HornHole {
    /// What it is called where notes open it.
    #[schemars(length(min = 1, max = 30))]
    pub name: String,
    /// Distance along the bore from the tenon's free end.
    #[schemars(range(min = 0.0, max = 6000.0))]
    pub station_mm: f64,
    /// Inside diameter of the hole.
    #[schemars(range(min = 1.0, max = 90.0))]
    pub diameter_mm: f64,
    /// Height of its chimney, wall included.
    #[schemars(range(min = 0.3, max = 40.0))]
    pub height_mm: f64,
    /// Diameter of its pad.
    #[schemars(range(min = 1.0, max = 110.0))]
    pub pad_diameter_mm: f64,
    /// Height of the open pad above the hole.
    #[schemars(range(min = 0.3, max = 30.0))]
    pub pad_opens_mm: f64,
    /// Whether it is an octave vent of the body: notes of the upper register that open it are then looked for beside the peak they have without it.
    #[serde(default)]
    pub octave_vent: bool,
}

/// A plain cone that goes on where the neck ends. It has no holes and no bell, so it tells how a neck differs from another, not how the horn plays.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Cone that stands in")]
pub struct StandIn {
    /// Diameter it begins with; null for that of the first neck's end.
    #[serde(default)]
    #[schemars(range(min = 8.0, max = 60.0))]
    pub entry_diameter_mm: Option<f64>,
    /// Its half-angle; null for the first neck's mean.
    #[serde(default)]
    #[schemars(range(min = 0.2, max = 4.0))]
    pub half_angle_deg: Option<f64>,
}

/// A note that is asked about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HornNote {
    /// As the player reads it, like C#5; A3 to C#6.
    #[schemars(length(min = 2, max = 4))]
    pub written: String,
    /// Names of the holes that are open; of no use where a cone stands in.
    #[serde(default)]
    #[schemars(length(min = 0, max = 40))]
    pub open: Vec<String>,
    /// Whether the vent on the neck is open; null for the usual: from written A5 on.
    #[serde(default)]
    pub neck_vent_open: Option<bool>,
}

/// One note on one horn, ready to be played on.
#[derive(Clone, Debug)]
pub struct Fingering {
    pub note: Note,
    /// What it should sound on its first resonance, Hz.
    pub fundamental_hz: f64,
    /// Whether the neck's vent is open.
    pub vent_open: bool,
    pub body: Body,
    /// The body with its own octave vents shut, where the note opens one.
    pub unvented: Option<Body>,
    /// Length of the cone that stands in for the body, mm.
    pub cone_mm: Option<f64>,
}

/// A horn with its notes made ready.
#[derive(Clone, Debug)]
pub struct Horn {
    pub name: String,
    pub medium: Medium,
    pub mouthpiece: Mouthpiece,
    /// Whether a plain cone stands in for the body.
    pub stand_in: bool,
    /// Diameter the body begins with, mm.
    pub entry_diameter_mm: f64,
    /// Half-angle it begins with, radians.
    pub entry_half_angle: f64,
    pub fingerings: Vec<Fingering>,
}

impl HornFile {
    /// A cone that stands in for the body, and notes over both registers.
    #[must_use]
    pub fn stand_in(name: &str) -> Self {
        let written =
            ["Bb3", "D4", "F4", "G4", "A4", "B4", "C#5", "D5", "F5", "G5", "A5", "B5", "C#6"];
        let note = |written: &str| HornNote {
            written: written.to_owned(),
            open: Vec::new(),
            neck_vent_open: None,
        };
        Self {
            format: HornFormat::NeckwrightHorn1,
            name: name.to_owned(),
            tuning_hz: 440.0,
            mouthpiece_volume_mm3: None,
            mouthpiece_as: MouthpieceForm::Tube,
            air: Breath::default(),
            body: HornBody::StandIn(StandIn { entry_diameter_mm: None, half_angle_deg: None }),
            notes: written.into_iter().map(note).collect(),
        }
    }

    /// Reads a horn file.
    ///
    /// # Errors
    ///
    /// Every violation at once.
    pub fn read(text: &str) -> Result<Self, Vec<Violation>> {
        let plain = serde_json::to_value(Self::stand_in("")).unwrap_or(Value::Null);
        let about = "A horn file is one group of fields in braces.";
        let (file, mut found): (Option<Self>, _) = read_by_schema(text, about, &plain);
        // Rules between fields are put to the numbers that are right, so that one answer holds all.
        if let Some(file) = &file {
            let told: Vec<String> = found.iter().map(|violation| violation.path.clone()).collect();
            // A body that was mended is not the one whose holes the notes open.
            let mended = told.iter().any(|path| path.starts_with("body"));
            let follows = |path: &str| path.starts_with("body") || path.contains(".open[");
            let is_told = |path: &String| told.contains(path) || (mended && follows(path));
            found.extend(file.rules().into_iter().filter(|rule| !is_told(&rule.path)));
        }
        match file {
            Some(file) if !found.iter().any(Violation::is_error) => Ok(file),
            _ => Err(found),
        }
    }

    /// What must hold between fields.
    fn rules(&self) -> Vec<Violation> {
        let mut found = Vec::new();
        let mut names: Vec<&str> = Vec::new();
        if let HornBody::Measured(body) = &self.body {
            let rows: Vec<(f64, f64)> =
                body.bore.iter().map(|row| (row.station_mm, row.diameter_mm)).collect();
            found.extend(rows_in_order("body.bore", &rows, LEAST_ROW_MM, STEEPEST));
            if let Some(&(first, _)) = rows.first().filter(|row| row.0.abs() > FIRST_ROW_MM) {
                found.push(Violation::error(
                    "body.bore[0].station_mm",
                    first,
                    "0",
                    "The bore is measured from the tenon's free end: what is missing there would raise every note.",
                ));
            }
            let end = rows.last().map_or(0.0, |row| row.0);
            let table = Table::new(&rows);
            let mut before = 0.0;
            for (index, hole) in body.holes.iter().enumerate() {
                let path = |field: &str| format!("body.holes[{index}].{field}");
                if names.contains(&hole.name.as_str()) {
                    found.push(Violation::error(
                        path("name"),
                        hole.name.clone(),
                        "a name no other hole has",
                        "Notes open holes by their names.",
                    ));
                }
                names.push(&hole.name);
                if hole.station_mm < before || hole.station_mm >= end {
                    found.push(Violation::error(
                        path("station_mm"),
                        hole.station_mm,
                        format!("from that of the hole before it to less than {end} mm"),
                        "Holes stand in their order along the measured bore.",
                    ));
                }
                before = hole.station_mm;
                let bore = table.value_slope(hole.station_mm).0;
                if hole.diameter_mm > bore {
                    found.push(Violation::error(
                        path("diameter_mm"),
                        hole.diameter_mm,
                        format!("at most {bore:.1} mm, the bore there"),
                        "A hole in the wall is no wider than the tube.",
                    ));
                }
            }
        }
        for (index, note) in self.notes.iter().enumerate() {
            if !Note::named(&note.written).is_some_and(|note| note.is_of_two_registers()) {
                found.push(Violation::error(
                    format!("notes[{index}].written"),
                    note.written.clone(),
                    "A3 to C#6, as in C#5 or Bb4",
                    "The model has two registers; what lies outside, or is no name of a note, it cannot sound.",
                ));
            }
            if self.notes.iter().take(index).any(|other| other.written == note.written) {
                found.push(Violation::error(
                    format!("notes[{index}].written"),
                    note.written.clone(),
                    "each note once",
                    "A note that stands twice would be told twice.",
                ));
            }
            let measured = matches!(self.body, HornBody::Measured(_));
            for (place, open) in note.open.iter().enumerate().filter(|_| measured) {
                if !names.contains(&open.as_str()) {
                    found.push(Violation::error(
                        format!("notes[{index}].open[{place}]"),
                        open.clone(),
                        "the name of a hole of the body",
                        "Only a hole that was measured can be open.",
                    ));
                }
            }
        }
        found
    }

    /// Makes the notes ready for a neck: the first of those that are compared.
    ///
    /// # Errors
    ///
    /// A neck that does not widen while nothing says what the mouthpiece holds; a note no length of the stand-in gives.
    pub fn ready(&self, voice: Voice, neck: &NeckBore) -> Result<Horn, Vec<Violation>> {
        let medium = Medium::new(super::air::Air::of(&self.air), super::losses::Walls::Smooth);
        let missing = super::missing_cone::MissingCone::of(&neck.neck);
        let volume = self.mouthpiece_volume_mm3.or(missing.map(|cone| cone.volume_mm3));
        let Some(volume) = volume else {
            return Err(vec![Violation::error(
                "mouthpiece_volume_mm3",
                Value::Null,
                "a volume",
                "The first neck does not widen from end to end, so no missing cone says what the mouthpiece holds.",
            )]);
        };
        let entry_radius = neck.neck.bore.radius(0.0) * 1e-3;
        let mouthpiece = Mouthpiece {
            volume: volume * 1e-9,
            tube: (self.mouthpiece_as == MouthpieceForm::Tube).then_some(entry_radius),
        };
        let end = neck.length_mm();
        let radius = neck.neck.bore.radius(end);
        let mean = (radius - neck.neck.bore.radius(0.0)) / end;
        let (entry, slope) = match &self.body {
            HornBody::Measured(body) => {
                let (radius, slope) = table_of(body).value_slope(0.0);
                (radius, slope)
            }
            HornBody::StandIn(cone) => (
                cone.entry_diameter_mm.map_or(radius, |diameter| diameter / 2.0),
                cone.half_angle_deg.map_or(mean, |deg| libm::tan(deg * PI / 180.0)),
            ),
        };
        let (mut fingerings, mut refused) = (Vec::new(), Vec::new());
        for (index, asked) in self.notes.iter().enumerate() {
            let Some(note) = Note::named(&asked.written) else { continue };
            let fundamental_hz = note.fundamental_hz(voice, self.tuning_hz);
            let mut unvented = None;
            let (body, cone_mm) = match &self.body {
                HornBody::Measured(body) => {
                    let is_vent = |name: &String| {
                        body.holes.iter().any(|hole| hole.octave_vent && hole.name == *name)
                    };
                    let (vents, others): (Vec<String>, Vec<String>) =
                        asked.open.iter().cloned().partition(is_vent);
                    unvented = (!vents.is_empty()).then(|| body_of(body, &others));
                    (body_of(body, &asked.open), None)
                }
                HornBody::StandIn(_) => {
                    match cone_for(&medium, neck, mouthpiece, (entry, slope), fundamental_hz) {
                        Some(length) => (Body::cone(length, entry, slope), Some(length)),
                        None => {
                            refused.push(Violation::error(
                                format!("notes[{index}].written"),
                                asked.written.clone(),
                                "a note the neck and a cone below it can sound",
                                "With this neck and mouthpiece no length of cone has its first resonance there.",
                            ));
                            continue;
                        }
                    }
                }
            };
            let vent_open = asked.neck_vent_open.unwrap_or(note.opens_neck_vent());
            fingerings.push(Fingering { note, fundamental_hz, vent_open, body, unvented, cone_mm });
        }
        if !refused.is_empty() {
            return Err(refused);
        }
        Ok(Horn {
            name: self.name.clone(),
            medium,
            mouthpiece,
            stand_in: matches!(self.body, HornBody::StandIn(_)),
            entry_diameter_mm: 2.0 * entry,
            entry_half_angle: libm::atan(slope),
            fingerings,
        })
    }
}

/// Radius of a measured body against station, mm.
fn table_of(body: &MeasuredBody) -> Table {
    let rows: Vec<(f64, f64)> =
        body.bore.iter().map(|row| (row.station_mm, row.diameter_mm / 2.0)).collect();
    Table::new(&rows)
}

/// A measured body with some of its holes open.
fn body_of(body: &MeasuredBody, open: &[String]) -> Body {
    let table = table_of(body);
    let ends = body.bore.first().zip(body.bore.last());
    let (from, to) = ends.map_or((0.0, 1.0), |(a, b)| (a.station_mm, b.station_mm));
    let radius = |station: f64| table.value_slope(station).0;
    let mut stops: Vec<f64> = body.bore.iter().map(|row| row.station_mm).collect();
    stops.extend(body.holes.iter().map(|hole| hole.station_mm));
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    let mut pieces = Vec::new();
    let mut holes = body.holes.iter().peekable();
    for pair in stops.windows(2) {
        let &[start, end] = pair else { continue };
        while let Some(hole) = holes.next_if(|hole| hole.station_mm <= start) {
            let cover = if open.contains(&hole.name) {
                Cover::UnderPad {
                    radius: hole.pad_diameter_mm * 0.5e-3,
                    height: hole.pad_opens_mm * 1e-3,
                }
            } else {
                Cover::Shut
            };
            pieces.push(Piece::Hole(SideHole {
                radius: hole.diameter_mm * 0.5e-3,
                length: hole.height_mm * 1e-3,
                bore: radius(start) * 1e-3,
                cover,
            }));
        }
        if start >= from && end <= to {
            let count = ((end - start) / SLICE_MM).ceil().max(1.0) as usize;
            let at = |k: usize| start + (end - start) * k as f64 / count as f64;
            pieces.extend((0..count).map(|k| {
                let (a, b) = (at(k), at(k + 1));
                Piece::Segment(Segment::cone(b - a, radius(a), radius(b)))
            }));
        }
    }
    Body { duct: Duct { pieces }, entry: radius(from) * 1e-3, end: radius(to) * 1e-3 }
}

/// What is wrong with rows of (station, diameter): out of order, too near, diameters that are none, steps.
pub fn rows_in_order(
    path: &str,
    rows: &[(f64, f64)],
    least_mm: f64,
    steepest: f64,
) -> Vec<Violation> {
    let mut found = Vec::new();
    for (index, &(_, diameter)) in rows.iter().enumerate() {
        if diameter.is_nan() || diameter <= 0.0 {
            found.push(Violation::error(
                format!("{path}[{index}].diameter_mm"),
                diameter,
                "more than 0",
                "A bore that is shut lets nothing through.",
            ));
        }
    }
    for (index, pair) in rows.windows(2).enumerate() {
        let &[(from, narrow), (to, wide)] = pair else { continue };
        let next = index + 1;
        if to - from < least_mm {
            found.push(Violation::error(
                format!("{path}[{next}].station_mm"),
                to,
                format!("at least {} mm", from + least_mm),
                "Rows stand in the order of their stations, and nearer to each other they say more about the ruler than about the bore.",
            ));
        } else if (wide - narrow).abs() > steepest * (to - from) {
            found.push(Violation::error(
                format!("{path}[{next}].diameter_mm"),
                wide,
                format!("within {:.2} mm of the row before it", steepest * (to - from)),
                "The bore jumps here: measure again, or put a row between.",
            ));
        }
    }
    found
}
