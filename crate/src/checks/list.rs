//! The clearance list: every pair of parts and keep-outs, and whether it is as it should be.

use glam::DVec3;
use serde::Serialize;

use super::clearance::{Body, Clearance, State, clearance};
use super::relations::{Limits, Relation, Required, relation};
use super::search::Scratch;

/// Name and version of the list's format.
pub const FORMAT: &str = "neckwright-clearances/1";

/// Numbers in the list are rounded to this, mm.
const STEP: f64 = 1e-7;

/// The whole list, as `clearances.json` holds it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ClearanceList {
    pub format: &'static str,
    pub pairs: Vec<Pair>,
    /// How many pairs are not ok.
    pub failed: usize,
}

/// One row: a pair in one pose.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Pair {
    pub a: String,
    pub b: String,
    pub relation: Relation,
    pub pose: Pose,
    /// Turn of the key, 0 closed; `null` where the pair does not move against each other.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub key_angle_deg: Option<f64>,
    pub state: PairState,
    /// 0 unless clear.
    pub gap_mm: f64,
    /// The gap is a lower bound.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_least: Option<bool>,
    /// 0 unless overlapping.
    pub overlap_mm: f64,
    /// `null` between keep-outs, of which nothing is asked.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub required_min_mm: Option<f64>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub required_max_mm: Option<f64>,
    pub ok: bool,
    pub a_point_mm: [f64; 3],
    pub b_point_mm: [f64; 3],
}

/// In which position of the key a row was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Pose {
    /// The pair does not move against each other.
    Static,
    /// The pad on the vent.
    Closed,
}

/// How a pair stands, as the list spells it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum PairState {
    Clear,
    Touching,
    Overlapping,
}

impl From<State> for PairState {
    fn from(state: State) -> Self {
        match state {
            State::Clear => Self::Clear,
            State::Touching => Self::Touching,
            State::Overlapping => Self::Overlapping,
        }
    }
}

/// The list of all pairs of `bodies`, key closed, in the order of the bodies.
#[must_use]
pub fn clearance_list(bodies: &[Body<'_>], limits: &Limits) -> ClearanceList {
    let mut scratch = Scratch::default();
    let mut pairs = Vec::with_capacity(bodies.len() * bodies.len() / 2);
    for (index, a) in bodies.iter().enumerate() {
        for b in &bodies[index + 1..] {
            if let Some(found) = clearance(a, b, None, &mut scratch) {
                pairs.push(judge(a, b, &found, limits));
            }
        }
    }
    ClearanceList::new(pairs)
}

impl ClearanceList {
    /// A list of rows that are measured and judged.
    #[must_use]
    pub fn new(pairs: Vec<Pair>) -> Self {
        let failed = pairs.iter().filter(|pair| !pair.ok).count();
        Self { format: FORMAT, pairs, failed }
    }
}

/// Makes a row of a measured pair, key closed.
#[must_use]
pub fn judge(a: &Body<'_>, b: &Body<'_>, found: &Clearance, limits: &Limits) -> Pair {
    let relation = relation(a.id, b.id, limits);
    let required =
        if a.keepout && b.keepout { Required::NOTHING } else { relation.required(limits) };
    let pose = if a.moves_with_key == b.moves_with_key { Pose::Static } else { Pose::Closed };
    // Judged as printed, so that a row never contradicts its own numbers.
    let gap = rounded(found.gap);
    let overlap = rounded(found.overlap);
    let enough = required.least.is_none_or(|least| gap >= least);
    let close = required.greatest.is_none_or(|greatest| gap <= greatest);
    let asked = required.least.is_some() || required.greatest.is_some();
    Pair {
        a: a.id.to_string(),
        b: b.id.to_string(),
        relation,
        pose,
        key_angle_deg: (pose != Pose::Static).then_some(0.0),
        state: found.state.into(),
        gap_mm: gap,
        at_least: found.at_least.then_some(true),
        overlap_mm: overlap,
        required_min_mm: required.least,
        required_max_mm: required.greatest,
        ok: !asked || (found.state != State::Overlapping && enough && close),
        a_point_mm: point(found.a_point),
        b_point_mm: point(found.b_point),
    }
}

fn point(place: DVec3) -> [f64; 3] {
    place.to_array().map(rounded)
}

/// Rounded to [`STEP`], and never a negative zero.
fn rounded(value: f64) -> f64 {
    // Divided by a whole number: the nearest double to the decimal, which prints short.
    (value / STEP).round() / (1.0 / STEP).round() + 0.0
}
