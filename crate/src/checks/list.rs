//! The clearance list: every pair of parts and keep-outs, and whether it is as it should be.

use glam::DVec3;
use serde::Serialize;

use crate::units::deg_from_rad;

use super::clearance::{Body, Clearance, EXACT_TO, State};
use super::findings::Findings;
use super::mechanism::Mechanism;
use super::pair::PairMeasured;
use super::relations::{Limits, Relation, Required, relation};
use super::swing::{DEPTH_TOLERANCE, SwingLeast, TOLERANCE};
use super::ways_out::WaysOut;

/// Name and version of the list's format.
pub const FORMAT: &str = "neckwright-clearances/1";

/// The same of the rows of the turned neck.
pub const TURNED_FORMAT: &str = "neckwright-neck-turned/1";

/// Numbers in the list are rounded to this, mm or degrees.
const STEP: f64 = 1e-7;

/// The whole list, as `clearances.json` holds it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ClearanceList {
    pub format: &'static str,
    pub pairs: Vec<Pair>,
    /// How many rows of `pairs` are not ok.
    pub failed: usize,
    /// Parts against receiver, clamp and octave pin while the player turns the neck.
    /// Absent from a list at one angle of the key.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub neck_turned: Option<NeckTurned>,
    /// What is to be known beside the clearances. Absent like the rows of the turned neck.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub findings: Option<Findings>,
    /// Ways out of what fails. Absent when nothing fails, and where they were not asked for: they
    /// take some tenths of a second each.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ways_out: Option<WaysOut>,
}

/// The rows of the turned neck.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NeckTurned {
    pub format: &'static str,
    /// How far the neck is turned to either side.
    pub neck_turn_deg: f64,
    pub pairs: Vec<TurnedPair>,
    pub failed: usize,
}

/// One row: the least of a pair while key and neck turn as far as they do.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct TurnedPair {
    #[serde(flatten)]
    pub pair: Pair,
    /// Turn of the horn about the tenon, by the right hand from the collar to the tenon's end,
    /// at which it was measured.
    pub horn_angle_deg: f64,
}

/// What of a list is otherwise than in one before it, for whoever still has that one.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ListChanges {
    /// Rows of `pairs` that changed, each with its place in the list.
    pub pairs: Vec<(usize, Pair)>,
    pub failed: usize,
    /// The same of the rows of the turned neck.
    pub turned: Vec<(usize, TurnedPair)>,
    pub turned_failed: usize,
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
    /// The gap is a lower bound: 3 mm or more, but for two that slide along each other so closely
    /// that the least over a swing takes too many angles. Of an overlap: it may be there, and is no
    /// deeper.
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
    /// What is left of the gap, negative for an overlap, when both parts are soldered as far off
    /// their places as the job says hands are; for a whole swing the least of its ends and of the
    /// angle of the row. `null` for pairs that need not stay clear, that are placed as one, or that
    /// touch, and in rows of the turned neck or of a list at one angle. A lower bound from 3 mm on,
    /// and where the gap is one.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub by_hand_mm: Option<f64>,
    /// Whether that is still enough.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "boolean | null"))]
    pub by_hand_ok: Option<bool>,
    pub a_point_mm: [f64; 3],
    pub b_point_mm: [f64; 3],
}

/// How far two modelled surfaces together may depart from what they are defined by, mm.
const SURFACES: f64 = 0.002;

impl Pair {
    /// How far below and above the row's distance (its gap, or less than nothing by its overlap) the true one may lie, mm. A row
    /// that is the least of a motion may have missed it by the tolerance of the search; of a lower bound the true distance may be
    /// any that is greater, told here as far as gaps are exact.
    #[must_use]
    pub fn off_mm(&self, of_a_motion: bool) -> (f64, f64) {
        let distance = self.gap_mm - self.overlap_mm;
        if self.at_least.is_some() {
            let most = if self.overlap_mm > 0.0 { 0.0 } else { EXACT_TO };
            return (SURFACES, (most - distance).max(SURFACES));
        }
        let missed = if !of_a_motion && self.pose != Pose::Swing {
            0.0
        } else if self.overlap_mm > 0.0 {
            DEPTH_TOLERANCE.0 + DEPTH_TOLERANCE.1 * self.overlap_mm
        } else {
            TOLERANCE
        };
        (SURFACES + missed, SURFACES)
    }
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
    /// The pad lifted as far as the job asks.
    Open,
    /// The least over the whole swing, and the turn where it is.
    Swing,
    /// The key turned by a given angle: only in a list that was asked for at that angle.
    At,
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

impl ClearanceList {
    /// What changed since a list before; none where that one has other rows, as when a part has
    /// come or gone. Findings and ways out are left aside.
    pub fn changes_since(&self, before: &Self) -> Option<ListChanges> {
        let about =
            |now: &Pair, then: &Pair| now.a == then.a && now.b == then.b && now.pose == then.pose;
        let alike = self.pairs.len() == before.pairs.len()
            && self.pairs.iter().zip(&before.pairs).all(|(now, then)| about(now, then));
        let (now, then) = (turned_rows(self), turned_rows(before));
        let turned_alike = now.len() == then.len()
            && now.iter().zip(then).all(|(now, then)| about(&now.pair, &then.pair));
        (alike && turned_alike).then(|| ListChanges {
            pairs: changed(&self.pairs, &before.pairs),
            failed: self.failed,
            turned: changed(now, then),
            turned_failed: self.neck_turned.as_ref().map_or(0, |turned| turned.failed),
        })
    }

    /// The list of measured pairs, judged by the limits.
    #[must_use]
    pub fn new<'a>(
        measured: impl IntoIterator<Item = (Body<'a>, Body<'a>, PairMeasured)>,
        limits: &Limits,
        mechanism: &Mechanism,
    ) -> Self {
        let mut pairs = Vec::new();
        let mut turned = Vec::new();
        for (a, b, found) in measured {
            let judge = Judge::new(&a, &b, limits);
            match found.swing {
                None => {
                    let row = judge.row(Pose::Static, None, &found.rest);
                    pairs.push(judge.by_hand(row, found.by_hand.rest));
                }
                Some((open, least)) => {
                    // What is known of all angles is known of each.
                    let (rest, open) = (raised(&found.rest, &least), raised(&open, &least));
                    let row = judge.row(Pose::Closed, Some(0.0), &rest);
                    pairs.push(judge.by_hand(row, found.by_hand.rest));
                    let row = judge.row(Pose::Open, Some(mechanism.open_angle), &open);
                    pairs.push(judge.by_hand(row, found.by_hand.open));
                    pairs.push(judge.by_hand(judge.swing_row(&least), found.by_hand.swing));
                }
            }
            turned.extend(found.turned.map(|(least, horn)| judge.turned_row(&least, horn)));
        }
        Self::of(pairs, Some(turned), mechanism)
    }

    /// The list with the key turned by one angle, radians.
    #[must_use]
    pub fn at<'a>(
        angle: f64,
        measured: impl IntoIterator<Item = (Body<'a>, Body<'a>, Clearance)>,
        limits: &Limits,
        mechanism: &Mechanism,
    ) -> Self {
        let row = |(a, b, found): (Body<'a>, Body<'a>, Clearance)| {
            let judge = Judge::new(&a, &b, limits);
            if a.moves_with_key() == b.moves_with_key() {
                judge.row(Pose::Static, None, &found)
            } else {
                judge.row(Pose::At, Some(angle), &found)
            }
        };
        Self::of(measured.into_iter().map(row).collect(), None, mechanism)
    }

    fn of(pairs: Vec<Pair>, turned: Option<Vec<TurnedPair>>, mechanism: &Mechanism) -> Self {
        let failed = pairs.iter().filter(|pair| !pair.ok).count();
        let neck_turned = turned.map(|pairs| NeckTurned {
            format: TURNED_FORMAT,
            neck_turn_deg: rounded(deg_from_rad(mechanism.neck_turn)),
            failed: pairs.iter().filter(|row| !row.pair.ok).count(),
            pairs,
        });
        Self { format: FORMAT, pairs, failed, neck_turned, findings: None, ways_out: None }
    }

    /// The list with what is to be known beside it.
    #[must_use]
    pub fn with_findings(self, findings: Findings) -> Self {
        Self { findings: Some(findings), ..self }
    }

    /// The list with ways out of what fails.
    #[must_use]
    pub fn with_ways_out(self, ways_out: WaysOut) -> Self {
        Self { ways_out: Some(ways_out), ..self }
    }

    /// Every row, those of the turned neck last.
    pub fn rows(&self) -> impl Iterator<Item = &Pair> {
        let turned = self.neck_turned.iter().flat_map(|turned| &turned.pairs);
        self.pairs.iter().chain(turned.map(|row| &row.pair))
    }

    /// How many rows of any kind are not ok.
    #[must_use]
    pub fn all_failed(&self) -> usize {
        self.failed + self.neck_turned.as_ref().map_or(0, |turned| turned.failed)
    }
}

/// Makes the rows of one pair.
struct Judge<'a> {
    a: &'a Body<'a>,
    b: &'a Body<'a>,
    relation: Relation,
    limits: &'a Limits,
}

impl<'a> Judge<'a> {
    fn new(a: &'a Body<'a>, b: &'a Body<'a>, limits: &'a Limits) -> Self {
        Self { a, b, relation: relation(a.id, b.id, limits), limits }
    }

    fn required(&self, pose: Pose, key_angle: Option<f64>) -> Required {
        if self.a.keepout && self.b.keepout {
            return Required::NOTHING;
        }
        let is = |one: &str, other: &str| {
            (self.a.id, self.b.id) == (one, other) || (self.b.id, self.a.id) == (one, other)
        };
        match (self.relation, pose) {
            // What seats with the key closed need not do so open.
            (Relation::Seat, Pose::Open | Pose::At) if key_angle != Some(0.0) => Required::NOTHING,
            // The spring is drawn stiff; in truth it bends, and its tip slides on the tube.
            (Relation::Seat, Pose::Swing) if is("spring", "tube") => Required::NOTHING,
            (relation, _) => relation.required(self.limits),
        }
    }

    fn row(&self, pose: Pose, key_angle: Option<f64>, found: &Clearance) -> Pair {
        let required = self.required(pose, key_angle);
        // Judged as printed, so that a row never contradicts its own numbers.
        let gap = rounded(found.gap);
        let overlap = rounded(found.overlap);
        let enough = required.least.is_none_or(|least| gap >= least);
        let close = required.greatest.is_none_or(|greatest| gap <= greatest);
        let asked = required.least.is_some() || required.greatest.is_some();
        Pair {
            a: self.a.id.to_string(),
            b: self.b.id.to_string(),
            relation: self.relation,
            pose,
            key_angle_deg: key_angle.map(|angle| rounded(deg_from_rad(angle))),
            state: found.state.into(),
            gap_mm: gap,
            at_least: found.at_least.then_some(true),
            overlap_mm: overlap,
            required_min_mm: required.least,
            required_max_mm: required.greatest,
            ok: !asked || (found.state != State::Overlapping && enough && close),
            by_hand_mm: None,
            by_hand_ok: None,
            a_point_mm: point(found.a_point),
            b_point_mm: point(found.b_point),
        }
    }

    /// The row with what hands leave of it. Joints, fits and seats are brought together when they
    /// are made, so only what has to stay clear is judged.
    fn by_hand(&self, row: Pair, worst: Option<f64>) -> Pair {
        let Some(least) = row.required_min_mm.filter(|_| self.relation == Relation::Free) else {
            return row;
        };
        let worst = worst.map(rounded);
        Pair { by_hand_mm: worst, by_hand_ok: worst.map(|worst| worst >= least), ..row }
    }

    fn swing_row(&self, least: &SwingLeast) -> Pair {
        self.row(Pose::Swing, Some(least.angle), &throughout(least))
    }

    fn turned_row(&self, least: &SwingLeast, horn: f64) -> TurnedPair {
        let moves = self.a.moves_with_key() != self.b.moves_with_key();
        let (pose, key) =
            if moves { (Pose::Swing, Some(least.angle)) } else { (Pose::Static, None) };
        TurnedPair {
            pair: self.row(pose, key, &throughout(least)),
            horn_angle_deg: rounded(deg_from_rad(horn)),
        }
    }
}

/// A lower bound of one angle, no less than that of all.
fn raised(found: &Clearance, least: &SwingLeast) -> Clearance {
    let gap = if found.at_least { found.gap.max(least.bound) } else { found.gap };
    Clearance { gap, ..*found }
}

/// The least of a motion as a clearance: where only a bound is known, the bound of all of it. Two that may overlap for
/// all that is known are told to.
fn throughout(least: &SwingLeast) -> Clearance {
    let known = least.least;
    if known.state == State::Overlapping || !known.at_least && least.settled {
        return known;
    }
    let state = State::of(least.bound);
    let only = |of: State, mm: f64| if state == of { mm } else { 0.0 };
    let (gap, overlap) = (only(State::Clear, least.bound), only(State::Overlapping, -least.bound));
    Clearance { state, gap, overlap, at_least: true, ..known }
}

fn point(place: DVec3) -> [f64; 3] {
    place.to_array().map(rounded)
}

/// Rounded to [`STEP`], and never a negative zero.
fn rounded(value: f64) -> f64 {
    // Divided by a whole number: the nearest double to the decimal, which prints short.
    (value / STEP).round() / (1.0 / STEP).round() + 0.0
}

/// Rows of the turned neck; none in a list at one angle.
fn turned_rows(list: &ClearanceList) -> &[TurnedPair] {
    list.neck_turned.as_ref().map_or(&[], |turned| &turned.pairs)
}

/// Rows that are otherwise than those at the same places before.
fn changed<Row: Clone + PartialEq>(now: &[Row], before: &[Row]) -> Vec<(usize, Row)> {
    let places = now.iter().zip(before).enumerate();
    places.filter(|(_, (now, then))| now != then).map(|(at, (now, _))| (at, now.clone())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::clearance::TOUCHING;
    use super::*;

    /// Two that were found this far apart, and are surely no nearer than the bound.
    fn over_a_swing(distance: f64, bound: f64, settled: bool) -> SwingLeast {
        let (state, at_least) = (State::of(distance), false);
        let gap = if state == State::Clear { distance } else { 0.0 };
        let [a_point, b_point] = [DVec3::ZERO, DVec3::X * distance];
        let least =
            Clearance { state, gap, overlap: 0.0, at_least, a_point, b_point, distance, bound };
        SwingLeast { least, angle: 0.1, bound, settled }
    }

    /// What took too many angles is told by its bound alone, and where that is no gap it is told as an overlap: a clear or
    /// touching row would be right for a seat.
    #[test]
    fn what_is_not_settled_is_told_by_its_bound() {
        let told = |least: &SwingLeast| {
            let found = throughout(least);
            (found.state, found.gap, found.overlap, found.at_least)
        };
        let clear = over_a_swing(0.5, 0.4, false);
        assert_eq!(told(&clear), (State::Clear, 0.4, 0.0, true));
        let may_overlap = over_a_swing(0.5, -0.2, false);
        assert_eq!(told(&may_overlap), (State::Overlapping, 0.0, 0.2, true));
        let touching = over_a_swing(0.001, -0.2, false);
        assert_eq!(told(&touching), (State::Overlapping, 0.0, 0.2, true));
        let seated = over_a_swing(0.001, -TOUCHING / 2.0, false);
        assert_eq!(told(&seated), (State::Touching, 0.0, 0.0, true));
        let may_touch = over_a_swing(0.5, -TOUCHING / 2.0, false);
        assert_eq!(told(&may_touch), (State::Touching, 0.0, 0.0, true));
        let settled = over_a_swing(0.5, 0.497, true);
        assert_eq!(told(&settled), (State::Clear, 0.5, 0.0, false));
    }
}
