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
//!   above 0. Points that come within d of each other have σ ≤ ρ + d.
//!
//! The second bound shrinks with the square of the step. Most pairs of an octave key come apart
//! or together all the way and are settled at the ends of its swing; two that slide along
//! each other at a few tenths of a millimetre take some tens of angles.

use super::clearance::{Clearance, EXACT_TO, TOUCHING};

/// How far the reported least may lie over the true one, mm.
const TOLERANCE: f64 = 4e-3;

/// The same for depths of overlap, mm and as a share of the depth: a pair that overlaps has to be
/// moved, and how deep it is to a hair matters to nobody.
const DEPTH_TOLERANCE: (f64, f64) = (0.05, 0.1);

/// Angles at which one pair is measured at most. What is not settled then has its bound said.
const MOST_ANGLES: usize = 400;

/// Part of a step that a new angle keeps from both ends.
const APART: f64 = 0.12;

/// The least of a pair over a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwingLeast {
    /// As measured at `angle`.
    pub least: Clearance,
    /// Radians.
    pub angle: f64,
    /// The pair is surely no nearer, or no deeper, than this signed distance at any angle, mm.
    pub bound: f64,
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
/// clearance at an angle, exact up to a gap, with the nearest angle measured so far. Of a pair that
/// overlaps, how deep it goes is only looked into if `depths` matter.
pub(super) fn least_over(
    end: f64,
    reach: f64,
    depths: bool,
    known: Vec<(f64, Clearance)>,
    measure: impl FnMut(f64, f64, Option<(f64, Clearance)>) -> Option<Clearance>,
) -> Option<SwingLeast> {
    let mut angles = Angles { reach, depths, known, measure };
    let mut steps = vec![angles.step(0.0, end)?];
    loop {
        let next = steps.iter().enumerate().min_by(|(_, a), (_, b)| a.bound.total_cmp(&b.bound));
        let Some((index, step)) = next.map(|(index, step)| (index, *step)) else { break };
        let settled = step.bound >= angles.target();
        if settled || angles.known.len() >= MOST_ANGLES || step.low >= step.high {
            break;
        }
        steps.swap_remove(index);
        steps.push(angles.step(step.low, step.lowest)?);
        steps.push(angles.step(step.lowest, step.high)?);
    }
    let (angle, least) = angles.least()?;
    let bound = steps.iter().map(|step| step.bound).fold(least.distance, f64::min);
    Some(SwingLeast { least, angle, bound })
}

struct Angles<M> {
    reach: f64,
    depths: bool,
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
        if best >= EXACT_TO + TOLERANCE {
            EXACT_TO
        } else if best > -TOUCHING {
            best - TOLERANCE
        } else if !self.depths {
            f64::NEG_INFINITY
        } else {
            best - DEPTH_TOLERANCE.0 - DEPTH_TOLERANCE.1 * -best
        }
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
        self.known.push((angle, found));
        Some(found)
    }

    /// A step with its bound.
    fn step(&mut self, low: f64, high: f64) -> Option<Step> {
        let sag = self.reach * (self.reach + EXACT_TO) * square(high - low) / 4.0;
        // Beyond this gap nothing in the step can matter any more.
        let best = self.best().min(EXACT_TO);
        let worth = (square(best.max(TOUCHING)) + sag).sqrt();
        let (a, b) = (value(&self.at(low, worth)?), value(&self.at(high, worth)?));
        let way = self.reach * (high - low);
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
    use super::*;

    #[test]
    fn a_sagging_line_is_lowest_where_its_slope_is_level() {
        // 1 + 0.4 s − 4·0.2 s(1 − s) has the slope 0.4 − 0.8 + 1.6 s: level at s = 0.25, there 0.95.
        let (least, at) = sagging(1.0, 1.4, 0.2);
        assert!((least - 0.95).abs() < 1e-12 && (at - 0.25).abs() < 1e-12);
        assert_eq!(sagging(1.0, 3.0, 0.2), (1.0, 0.0), "steeper than it sags");
        assert_eq!(sagging(2.0, 1.5, 0.0), (1.5, 1.0));
    }
}
