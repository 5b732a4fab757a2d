//! The least clearance of a pair over a whole turn, and proof that nothing nearer was missed.
//!
//! The pair is measured at few angles; between them two bounds hold, for any two points p and q
//! of the bodies and so for the bodies themselves.
//!
//! * Turned about an axis at a distance of ρ, p moves by ρ for one radian: distance changes no
//!   faster.
//! * The square of the distance of p, turning at a distance of ρ from the axis, to q at a distance
//!   of σ from it, is a constant less 2 ρ σ cos(θ − φ): over a step h it sags below the straight
//!   line between its ends by no more than ρ σ s (h − s) at s. At the ends the two are no nearer
//!   than the bodies are there, so the square of the clearance keeps this too, as long as it stays
//!   above 0. Points that come within d of each other have σ ≤ ρ + d; d is the clearance at the
//!   nearer end, for what stays farther apart than that is not the least of the step.
//!
//! The second bound shrinks with the square of the step. Most pairs of an octave key come apart
//! or together all the way and are settled at the ends of its swing; two that slide along
//! each other at a few tenths of a millimetre take some tens of angles.

use super::clearance::{Clearance, TOUCHING};

/// How far the reported least may lie over the true one, mm.
pub(super) const TOLERANCE: f64 = 4e-3;

/// The same for depths of overlap, mm and as a share of the depth: a pair that touches or overlaps
/// and should not has to be moved, and how deep it is to a hair matters to nobody.
pub(super) const DEPTH_TOLERANCE: (f64, f64) = (0.05, 0.1);

/// Angles at which one pair is measured at most. Two that slide along each other at a twentieth of
/// a millimetre take some hundreds.
const MOST_ANGLES: usize = 2000;

/// Part of a step that a new angle keeps from both ends.
const APART: f64 = 0.12;

/// A step shorter than this has no length, radians: over it nothing moves by a millionth of a millimetre.
const NO_LENGTH: f64 = 1e-9;

/// The least of a pair over a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwingLeast {
    /// As measured at `angle`.
    pub least: Clearance,
    /// Radians.
    pub angle: f64,
    /// The pair is surely no nearer, or no deeper, than this signed distance at any angle, mm.
    pub bound: f64,
    /// Whether the bound is as near to the least as is promised: so it is but for pairs that would
    /// take too many angles, of which only the bound may be told.
    pub settled: bool,
}

impl SwingLeast {
    /// The least of a pair that the turn changes nothing between.
    #[must_use]
    pub fn unmoved(found: Clearance) -> Self {
        Self { least: found, angle: 0.0, bound: found.bound, settled: true }
    }
}

/// A step between two angles at which the pair is measured.
#[derive(Clone, Copy, Debug)]
struct Step {
    low: f64,
    high: f64,
    bound: f64,
    /// Where the bound would be reached.
    lowest: f64,
}

/// Finds the least clearance from angle 0 to `end`.
///
/// `reach` is the distance from the axis of the farthest point of either body, the lesser of the
/// two, mm. `known` are angles at which the pair is measured already. `measure` is asked for the
/// clearance at an angle, exact up to a gap, with the nearest angle measured so far.
pub(super) fn least_over(
    end: f64,
    reach: f64,
    wanted: Wanted,
    known: Vec<(f64, Clearance)>,
    measure: impl FnMut(f64, f64, Option<(f64, Clearance)>) -> Option<Clearance>,
) -> Option<SwingLeast> {
    let mut angles = Angles { reach, wanted, known, measure };
    let mut steps = vec![angles.step(0.0, end)?];
    // Each round measures at one new angle.
    let mut rounds = 0;
    let settled = loop {
        let next = steps.iter().enumerate().min_by(|(_, a), (_, b)| a.bound.total_cmp(&b.bound));
        let Some((index, step)) = next.map(|(index, step)| (index, *step)) else { break true };
        // A step of no length is measured.
        let settled = step.bound >= angles.target() || step.high - step.low < NO_LENGTH;
        if settled || rounds >= MOST_ANGLES {
            break settled;
        }
        rounds += 1;
        steps.swap_remove(index);
        steps.push(angles.step(step.low, step.lowest)?);
        steps.push(angles.step(step.lowest, step.high)?);
    };
    let (angle, mut least) = angles.least()?;
    let bound = steps.iter().map(|step| step.bound).fold(value(&least), f64::min);
    // So far apart the steps are only known to stay beyond what has to be exact, however exact the least angle is.
    if value(&least) >= angles.far() && bound < value(&least) - TOLERANCE {
        least = Clearance { gap: bound.max(0.0), bound, at_least: true, ..least };
    }
    Some(SwingLeast { least, angle, bound, settled })
}

/// What is asked of the least over a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wanted {
    /// Gaps up to this are exact; beyond, a lower bound is enough, mm.
    pub exact_to: f64,
    /// Of a pair that overlaps, how deep it goes is only looked into if this is set; if not, the
    /// two may touch, and that they do no more is looked into closely.
    pub depths: bool,
}

struct Angles<M> {
    reach: f64,
    wanted: Wanted,
    known: Vec<(f64, Clearance)>,
    measure: M,
}

impl<M: FnMut(f64, f64, Option<(f64, Clearance)>) -> Option<Clearance>> Angles<M> {
    /// The least measured, and where; of angles that are alike the one nearest to rest.
    fn least(&self) -> Option<(f64, Clearance)> {
        let least = self.best();
        self.known
            .iter()
            .filter(|found| value(&found.1) <= least + 1e-9)
            .min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
            .copied()
    }

    fn best(&self) -> f64 {
        self.known.iter().map(|found| value(&found.1)).fold(f64::INFINITY, f64::min)
    }

    /// Where bounds stop being of interest.
    fn target(&self) -> f64 {
        let best = self.best();
        if best >= self.far() {
            self.wanted.exact_to
        } else if best >= TOUCHING {
            best - TOLERANCE
        } else if self.wanted.depths {
            // Of what touches no more is known than that it is no deeper than this.
            let best = best.min(-TOUCHING);
            best - DEPTH_TOLERANCE.0 - DEPTH_TOLERANCE.1 * -best
        } else if best > -TOUCHING {
            -TOUCHING - TOLERANCE
        } else {
            f64::NEG_INFINITY
        }
    }

    /// From here on a bound will do. By the tolerance more than what has to be exact, so that steps
    /// between angles that are just so far need not be endlessly small.
    fn far(&self) -> f64 {
        self.wanted.exact_to + TOLERANCE
    }

    /// The clearance at an angle, exact up to a gap.
    fn at(&mut self, angle: f64, exact_to: f64) -> Option<Clearance> {
        let enough = |found: &&(f64, Clearance)| {
            found.0 == angle && (!found.1.at_least || found.1.bound >= exact_to)
        };
        if let Some(found) = self.known.iter().find(enough) {
            return Some(found.1);
        }
        let away = |found: &(f64, Clearance)| (found.0 - angle).abs();
        let exact = self.known.iter().filter(|found| !found.1.at_least);
        let nearest = exact.min_by(|a, b| away(a).total_cmp(&away(b))).copied();
        let found = (self.measure)(angle, exact_to, nearest)?;
        match self.known.iter_mut().find(|known| known.0 == angle) {
            // Less was asked of it before.
            Some(known) => known.1 = found,
            None => self.known.push((angle, found)),
        }
        Some(found)
    }

    /// A step with its bound.
    fn step(&mut self, low: f64, high: f64) -> Option<Step> {
        let reach = self.reach;
        let sag = |apart: f64| reach * (reach + apart) * square(high - low) / 4.0;
        // Beyond this gap nothing in the step can matter any more.
        let best = self.best().clamp(TOUCHING, self.far());
        let worth = (square(best) + sag(best)).sqrt();
        let (a, b) = (self.at(low, worth)?.bound, self.at(high, worth)?.bound);
        let sag = sag(a.min(b));
        let way = reach * (high - low);
        let mut bound = (a + b - way) / 2.0;
        let mut share = 0.5;
        if a > 0.0 && b > 0.0 {
            let (least, at) = sagging(square(a), square(b), sag);
            if least > square(bound.max(0.0)) {
                (bound, share) = (least.sqrt(), at);
            }
        }
        // Where one end is nearer than the bound lets the other be, that end is the least.
        let bound = bound.min(a).min(b);
        let lowest = low + (high - low) * share.clamp(APART, 1.0 - APART);
        Some(Step { low, high, bound, lowest })
    }
}

/// Signed distance, or what it is surely not below.
fn value(found: &Clearance) -> f64 {
    if found.at_least { found.bound } else { found.distance }
}

fn square(x: f64) -> f64 {
    x * x
}

/// Least of a line from `a` to `b` less a parabola that hangs by `sag` in its middle, and where.
fn sagging(a: f64, b: f64, sag: f64) -> (f64, f64) {
    if sag <= 0.0 {
        return if a <= b { (a, 0.0) } else { (b, 1.0) };
    }
    let rise = b - a;
    let at = (0.5 - rise / (8.0 * sag)).clamp(0.0, 1.0);
    (a + rise * at - 4.0 * sag * at * (1.0 - at), at)
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::super::clearance::State;
    use super::*;

    #[test]
    fn a_sagging_line_is_lowest_where_its_slope_is_level() {
        // 1 + 0.4 s − 4·0.2 s(1 − s) has the slope 0.4 − 0.8 + 1.6 s: level at s = 0.25, there 0.95.
        let (least, at) = sagging(1.0, 1.4, 0.2);
        assert!((least - 0.95).abs() < 1e-12 && (at - 0.25).abs() < 1e-12);
        assert_eq!(sagging(1.0, 3.0, 0.2), (1.0, 0.0), "steeper than it sags");
        assert_eq!(sagging(2.0, 1.5, 0.0), (1.5, 1.0));
    }

    /// A clearance of two points, of which only the bound is told from `exact_to` on.
    fn two_points(distance: f64, exact_to: f64) -> Clearance {
        let at_least = distance > exact_to;
        Clearance {
            state: State::Clear,
            gap: distance,
            overlap: 0.0,
            at_least,
            a_point: DVec3::ZERO,
            b_point: DVec3::X * distance,
            distance,
            bound: distance,
        }
    }

    const USUAL: Wanted = Wanted { exact_to: 3.0, depths: true };

    /// Two points at 5 and 25 mm from the axis pass in one line with it, 20 mm apart, by the law
    /// of cosines: farther than is looked at closely, and the bound must be below it all the same.
    #[test]
    fn the_bound_holds_for_points_that_stay_far_apart() {
        let (inner, outer, end, passing) = (5.0f64, 25.0, 0.3, 0.15);
        let least = least_over(end, inner, USUAL, Vec::new(), |angle, exact_to, _| {
            let product = 2.0 * inner * outer * libm::cos(angle - passing);
            Some(two_points((inner * inner + outer * outer - product).sqrt(), exact_to))
        });
        let least = least.expect("measured");
        assert!(least.bound <= 20.0 && least.bound >= 3.0, "{least:?}");
        assert!(least.settled);
    }

    /// A pair that keeps its gap all the way, far from the axis: more angles than are measured
    /// would be needed to prove it, and that is said.
    #[test]
    fn what_takes_too_many_angles_is_not_called_settled() {
        let same = |_, exact_to, _| Some(two_points(0.01, exact_to));
        let least = least_over(0.5, 2000.0, USUAL, Vec::new(), same).expect("measured");
        assert!(!least.settled && least.bound < 0.01 - TOLERANCE, "{least:?}");
        let near = least_over(0.5, 20.0, USUAL, Vec::new(), same).expect("measured");
        assert!(near.settled && near.bound >= 0.01 - TOLERANCE, "{near:?}");
    }

    /// A dip to a point, and measures whose bound stays farther under the distance than is promised: steps at the dip grow
    /// ever shorter, and the search ends all the same.
    #[test]
    fn measures_that_are_too_coarse_come_to_an_end() {
        let mut asked = 0;
        let coarse = |angle: f64, _, _| {
            asked += 1;
            let found = two_points(1.0 + 20.0 * (angle - 0.1).abs(), f64::INFINITY);
            Some(Clearance { bound: found.distance - 1.5 * TOLERANCE, ..found })
        };
        let least = least_over(0.3, 20.0, USUAL, Vec::new(), coarse).expect("measured");
        assert!((least.least.distance - 1.0).abs() < 1e-6 && least.bound < 1.0, "{least:?}");
        assert!(asked < MOST_ANGLES, "{asked} angles were measured");
    }

    /// An angle that was measured loosely is forgotten when it is measured closely.
    #[test]
    fn a_bound_does_not_stand_beside_the_measure_of_its_angle() {
        let loose = Clearance { at_least: true, bound: 3.0, gap: 3.0, ..two_points(3.5, 9.0) };
        let known = vec![(0.0, loose), (0.1, loose)];
        let exact = |_, exact_to, _| Some(two_points(3.5, exact_to));
        let wanted = Wanted { exact_to: 4.0, ..USUAL };
        let least = least_over(0.1, 10.0, wanted, known, exact).expect("measured");
        assert!(!least.least.at_least && least.bound > 3.5 - TOLERANCE, "{least:?}");
    }
}
