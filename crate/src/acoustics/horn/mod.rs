//! The horn file: the rest of the horn as it was measured, or what stands in for it, and the notes that are asked about.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::job::{Violation, read_by_schema};

use super::air::Breath;

mod ready;
mod rules;

pub use ready::{Fingering, Horn};

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
        rules::tell(text, &mut found);
        match file {
            Some(file) if !found.iter().any(Violation::is_error) => Ok(file),
            _ => Err(found),
        }
    }
}
