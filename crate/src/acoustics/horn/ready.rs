//! A horn made ready for a neck: each note with the body below it.

use std::f64::consts::PI;

use serde_json::Value;

use crate::acoustics::air::Air;
use crate::acoustics::duct::{Duct, Piece};
use crate::acoustics::losses::{Medium, Walls};
use crate::acoustics::missing_cone::MissingCone;
use crate::acoustics::neck_on_horn::{Body, Mouthpiece, NeckBore, cone_for};
use crate::acoustics::notes::Note;
use crate::acoustics::segment::Segment;
use crate::acoustics::vent::{Cover, SideHole};
use crate::geometry::bore::Table;
use crate::job::{Violation, Voice};

use super::{HornBody, HornFile, MeasuredBody, MouthpieceForm};

/// Longest slice of a measured body, mm.
const SLICE_MM: f64 = 5.0;

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
    /// Makes the notes ready for a neck: the first of those that are compared.
    ///
    /// # Errors
    ///
    /// A neck that does not widen while nothing says what the mouthpiece holds; a note no length of the stand-in gives.
    pub fn ready(&self, voice: Voice, neck: &NeckBore) -> Result<Horn, Vec<Violation>> {
        let medium = Medium::new(Air::of(&self.air), Walls::Smooth);
        let missing = MissingCone::of(&neck.neck);
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
            let Some(note) = Note::named(&asked.written) else {
                refused.push(Violation::error(
                    format!("notes[{index}].written"),
                    asked.written.clone(),
                    "A3 to C#6, as in C#5 or Bb4",
                    "What is no name of a note cannot be sounded.",
                ));
                continue;
            };
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
