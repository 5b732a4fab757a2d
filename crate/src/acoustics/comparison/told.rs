//! What is told of two necks on one horn.

use serde::Serialize;

use crate::acoustics::disturbance::Disturbance;
use crate::acoustics::impedance::Peak;
use crate::acoustics::missing_cone::MissingCone;
use crate::acoustics::profile::{ProfilePlace, TenonStep};
use crate::job::Violation;

/// What was found of two necks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Comparison {
    /// Kind and version of this list.
    pub format: &'static str,
    /// What it is worth.
    pub caution: String,
    /// What goes up, what goes down, in words; what a player would notice first.
    pub words: Vec<String>,
    pub horn: HornSaid,
    pub a: NeckSaid,
    pub b: NeckSaid,
    /// Rules of the second's job that its bore, set by hand, breaks: it cannot be made as the job stands.
    pub broken: Vec<Violation>,
    /// Every note, what a player would notice first.
    pub notes: Vec<NoteCompared>,
    /// How true each fingering's octave is.
    pub octaves: Vec<OctaveCompared>,
    /// What the neck's vent does to each fingering.
    pub vents: Vec<VentCompared>,
    /// Difference of the two bores.
    pub difference: Vec<DifferencePlace>,
}

/// Horn and air the necks were compared on.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct HornSaid {
    pub name: String,
    /// The neck whose job says what horn and mouthpiece are, for both: the first.
    pub of: String,
    /// Inside diameter of the mouthpiece's shank and of the horn's receiver, by that job.
    pub shank_bore_mm: f64,
    pub receiver_bore_mm: f64,
    /// What the second's job says of horn and mouthpiece otherwise, and is not asked.
    pub not_used: Vec<NotUsed>,
    /// Whether a plain cone stands in for the body.
    pub stand_in: bool,
    pub mouthpiece_volume_mm3: f64,
    pub speed_of_sound_m_s: f64,
    pub density_kg_m3: f64,
    /// Notes of the upper register whose octave vent is one the horn's file does not have: they are told without any vent.
    pub without_vent: Vec<String>,
}

/// What the second's job says of horn or mouthpiece, beside what the first's says and is used.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NotUsed {
    /// As it is called in a job.
    pub path: &'static str,
    pub says_mm: f64,
    pub used_mm: f64,
}

/// A neck by itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NeckSaid {
    pub name: String,
    pub length_mm: f64,
    pub volume_mm3: f64,
    /// The tip missing from its cone, by its mean taper; null where it does not widen.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "MissingCone | null"))]
    pub missing_cone: Option<MissingCone>,
    /// How its end meets the horn.
    pub tenon: TenonStep,
    /// Where the vent and the ends of the wall disturb the area, and how that is taken.
    pub disturbed: Vec<Disturbance>,
    /// Written note whose second resonance has its pressure node at the vent: the vent disturbs it least.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Suits | null"))]
    pub vent_suits: Option<Suits>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Pulling | null"))]
    pub pulling: Option<Pulling>,
    /// The bore at even steps, at the vent and at the ends of the wall.
    pub profile: Vec<ProfilePlace>,
}

/// A note a vent suits.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Suits {
    pub written: String,
    /// How far beyond the note the exact place is.
    pub cents_beyond: f64,
    /// Whether the exact place lies beyond all notes asked about, of which the nearest is named.
    pub outside: bool,
}

/// What pulling the mouthpiece does.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Pulling {
    /// How far it can be pulled from its deepest place with enough cork left in the shank.
    pub range_mm: f64,
    /// How far it would have to be pulled to hold as much as the missing cone, if what it is taken to hold is what it holds
    /// pushed on all the way; negative: it holds too much even there. Null where no cone is missing.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub for_the_cone_mm: Option<f64>,
    pub notes: Vec<PulledNote>,
}

/// What pulling does to a note.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PulledNote {
    pub written: String,
    /// Null where its peak is lost within half a millimetre.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub cents_per_mm: Option<f64>,
}

/// How far one note moves from the first neck to the second.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NoteShift {
    pub written: String,
    /// 1 for the lower register, 2 for the upper: the resonance it is played on.
    pub register: u8,
    /// Where the peak is on the first neck, Hz.
    pub first_hz: f64,
    /// From the first neck to the second.
    pub shift_cents: f64,
    /// What a diameter wrong by 0.1 mm at each of some stations, on both necks, one independent of the other, does to the shift.
    pub uncertainty_cents: f64,
    /// What a gauge does to the shift that reads both necks 0.1 mm too wide everywhere.
    pub gauge_error_cents: f64,
    pub height_change_db: f64,
    /// Shift and height in terms of what a player is taken to notice just so; the order of the list.
    pub noticed: f64,
}

/// One note on both necks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NoteCompared {
    #[serde(flatten)]
    pub shift: NoteShift,
    pub vent_open: bool,
    /// Length of the cone that stands in for the body; null where the body was measured.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub cone_mm: Option<f64>,
    pub a: Peak,
    pub b: Peak,
    /// All peaks found of either, from the lowest.
    pub peaks: Vec<PeakPair>,
}

/// A peak of the first neck beside the one of the second that it has become.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PeakPair {
    /// Null where only the second neck has it.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Peak | null"))]
    pub a: Option<Peak>,
    /// Null where only the first neck has it.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Peak | null"))]
    pub b: Option<Peak>,
}

/// Second resonance against first, vent shut.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct OctaveCompared {
    /// Written note of the fingering's lower register.
    pub written: String,
    /// The first neck's; null where it has no second peak.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "OctaveRatio | null"))]
    pub a: Option<OctaveRatio>,
    /// The second neck's.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "OctaveRatio | null"))]
    pub b: Option<OctaveRatio>,
}

/// Second resonance over first.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct OctaveRatio {
    pub ratio: f64,
    /// Cents it is above 2.
    pub wide_cents: f64,
}

/// What opening the neck's vent does to one fingering.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct VentCompared {
    /// Written note of the upper register.
    pub written: String,
    /// The first peaks of the first neck.
    pub a: Vec<VentOnPeak>,
    /// As many of the second.
    pub b: Vec<VentOnPeak>,
}

/// What opening the vent does to one peak.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct VentOnPeak {
    /// 1 for the first.
    pub peak: usize,
    /// Whether the neck has this peak while the vent is shut.
    pub is_there: bool,
    /// Null where no peak is left.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub shift_cents: Option<f64>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub height_ratio: Option<f64>,
}

/// Second bore less first.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct DifferencePlace {
    pub station_mm: f64,
    pub diameter_mm: f64,
}

/// What is told while a bore is being changed: as [`compare_looked`] tells it, and nothing of what takes longer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Followed {
    /// Every note, what a player would notice first.
    pub notes: Vec<NoteShift>,
    pub octaves: Vec<OctaveCompared>,
    /// The tip missing from the second's cone.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "MissingCone | null"))]
    pub missing_cone: Option<MissingCone>,
}
