//! What two parts are to each other, and what gap that asks for.

use serde::Serialize;

/// Greatest gap at which two parts that should seat on each other still do, mm.
const SEATED: f64 = 0.005;

/// Greatest gap left between a screw's modelled core and its thread, mm: the core is drawn a
/// little under the tap drill.
const THREAD_ROOM: f64 = 0.2;

/// The relation of a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Relation {
    /// Soldered or glued, with the joint's gap between them.
    Joint,
    /// Not to touch.
    Free,
    /// Moving on each other with little play.
    Running,
    /// Lying against each other.
    Seat,
    /// Screwed into each other.
    Thread,
    /// Tenon in receiver.
    Fit,
}

/// Limits of the gaps, mm, as the job gives them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    pub joint_gap_min_mm: f64,
    pub joint_gap_max_mm: f64,
    pub least_clearance_mm: f64,
    pub running_min_mm: f64,
    pub running_max_mm: f64,
    pub fit_min_mm: f64,
    pub fit_max_mm: f64,
    /// The post with the thread is the left one: the screw's head is at the right one.
    pub left_post_is_tapped: bool,
}

/// The gap a pair must keep, mm. `None` where nothing is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Required {
    pub least: Option<f64>,
    pub greatest: Option<f64>,
}

/// Pairs that are soldered or glued: first what carries, then what is put on it.
pub(super) const JOINTS: [(&str, &str); 15] = [
    ("tube", "tenon"),
    ("tube", "end_ring"),
    ("tube", "vent"),
    ("tube", "brace"),
    ("tube", "saddle"),
    ("tube", "guide"),
    ("tube", "badge"),
    ("tube", "cork"),
    ("saddle", "post_left"),
    ("saddle", "post_right"),
    ("key_arm", "hinge_tube"),
    ("key_arm", "pad_cup"),
    ("key_arm", "rod_loop"),
    ("key_arm", "spring"),
    ("pad_cup", "pad"),
];

/// Pairs that move on each other, the posts with their screw apart.
const RUNNING: [(&str, &str); 3] =
    [("hinge_tube", "hinge_screw"), ("hinge_tube", "post_left"), ("hinge_tube", "post_right")];

/// Pairs that lie against each other.
const SEATS: [(&str, &str); 3] = [("pad", "vent"), ("spring", "tube"), ("cork", "mouthpiece")];

/// What two parts are to each other, by their ids in either order.
#[must_use]
pub fn relation(a: &str, b: &str, limits: &Limits) -> Relation {
    let is = |pair: &(&str, &str)| (a, b) == *pair || (b, a) == *pair;
    let (tapped, clear) = if limits.left_post_is_tapped {
        ("post_left", "post_right")
    } else {
        ("post_right", "post_left")
    };
    if JOINTS.iter().any(is) {
        Relation::Joint
    } else if RUNNING.iter().any(is) || is(&(clear, "hinge_screw")) {
        Relation::Running
    } else if is(&(tapped, "hinge_screw")) || is(&("key_arm", "spring_screw")) {
        Relation::Thread
    } else if SEATS.iter().any(is) {
        Relation::Seat
    } else if is(&("tenon", "receiver")) {
        Relation::Fit
    } else {
        Relation::Free
    }
}

impl Relation {
    /// What gap the relation asks for.
    #[must_use]
    pub fn required(self, limits: &Limits) -> Required {
        let between = |least, greatest| Required { least: Some(least), greatest: Some(greatest) };
        match self {
            Self::Joint => between(limits.joint_gap_min_mm, limits.joint_gap_max_mm),
            Self::Free => Required { least: Some(limits.least_clearance_mm), greatest: None },
            Self::Running => between(limits.running_min_mm, limits.running_max_mm),
            Self::Seat => between(0.0, SEATED),
            Self::Thread => between(0.0, THREAD_ROOM),
            Self::Fit => between(limits.fit_min_mm, limits.fit_max_mm),
        }
    }
}

impl Required {
    /// Nothing is asked of two keep-outs: where the horn stands to the mouthpiece is not the
    /// neck's doing.
    pub const NOTHING: Self = Self { least: None, greatest: None };
}
