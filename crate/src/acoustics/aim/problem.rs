//! The least change for an aim, by steps of least squares about the bore as it is changed so far.

use crate::acoustics::comparison::{Seen, on, seen};
use crate::acoustics::contender::Contender;
use crate::acoustics::horn::Horn;
use crate::acoustics::impedance::{Peak, cents};
use crate::acoustics::least_squares::{Least, Quadratic, Unsolved};
use crate::acoustics::neck_on_horn::NeckBore;
use crate::acoustics::sensitivity::cents_per_mm;

use super::asked::Makeable;
use super::grid::Grid;

/// Rounds of the solve; the shifts are so nearly linear that three do.
const ROUNDS: usize = 4;
/// λ from stiff to slack, cents² a mm² of second difference.
const STIFFEST: f64 = 1e7;
const SLACKEST: f64 = 1e-1;
/// ε: what a change by itself costs beside a bend of it.
const SIZE: f64 = 1e-2;
/// A stiffer change that is off by so many times as much as the nearest is taken instead of it: what little is left is not worth a
/// larger change.
const NEARLY: f64 = 1.05;
/// Times that half-angles are held tighter where the smooth bore passes a limit between two rows.
const TIGHTENED: usize = 8;
/// By how little the smooth bore may pass a half-angle, degrees: far less than can be gauged.
pub(super) const WITHIN_DEG: f64 = 2e-3;
/// Reached is an aim when the wanted notes are within this, in the mean square, cents.
pub(super) const REACHED_CENTS: f64 = 0.5;

/// What is sought of a note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Target {
    /// Cents it should move by; none where it should stay.
    pub wanted: Option<f64>,
    pub weight: f64,
}

pub(super) struct Problem<'a> {
    pub neck: &'a Contender,
    pub horn: &'a Horn,
    pub grid: &'a Grid,
    /// The peak each note is played on before anything is changed.
    pub start: &'a [Peak],
    pub targets: &'a [Target],
    pub makeable: &'a Makeable,
}

/// A change at the knots, with what the whole model says of it.
#[derive(Clone, Debug)]
pub(super) struct Change {
    pub by_knot: Vec<f64>,
    /// How far the wanted notes are off, in the mean square, cents; infinite where one has no peak any more.
    pub off: f64,
    /// Every note on the changed neck.
    pub seen: Vec<Seen>,
    /// By how much the smooth bore passes a limit of the half-angle between two rows, degrees.
    pub beyond_deg: f64,
    /// Whether the solver came to rest.
    pub settled: bool,
}

/// What a search came to.
pub(super) struct Sought {
    pub change: Change,
    /// Whether it ended before it had tried everything, because a solve failed.
    pub cut_short: bool,
}

impl Problem<'_> {
    /// The stiffest change that reaches the aim, or that comes nearly as near as any.
    ///
    /// # Errors
    ///
    /// The first solve failed: nothing is known.
    pub fn search(&self) -> Result<Sought, Unsolved> {
        let mut tried: Vec<Change> = Vec::new();
        let mut stiffness = STIFFEST;
        let mut cut_short = false;
        while stiffness >= SLACKEST && !cut_short {
            match self.solve(stiffness) {
                Ok(change) => {
                    let done = change.off <= REACHED_CENTS;
                    tried.push(change);
                    if done {
                        break;
                    }
                }
                Err(why) if tried.is_empty() => return Err(why),
                Err(_) => cut_short = true,
            }
            stiffness /= 10.0;
        }
        let nearest = tried.iter().map(|change| change.off).fold(f64::INFINITY, f64::min);
        let enough = if nearest <= REACHED_CENTS { nearest } else { NEARLY * nearest };
        let stiffest = tried.into_iter().find(|change| change.off <= enough);
        stiffest.map(|change| Sought { change, cut_short }).ok_or(Unsolved::NoRoom)
    }

    /// The change at one stiffness. Where the smooth bore passes a limit of the half-angle between its rows, they are held tighter
    /// and the solve is made again.
    fn solve(&self, stiffness: f64) -> Result<Change, Unsolved> {
        let (low, high) =
            (self.makeable.least_half_angle_deg, self.makeable.greatest_half_angle_deg);
        let mut spare = vec![(0.0, 0.0); self.grid.rows.len().saturating_sub(1)];
        let mut found = self.converge(stiffness, &spare)?;
        for _ in 0..TIGHTENED {
            let angles = self.grid.angles(&self.grid.profile("", &found.0));
            let mut held = true;
            for (spare, (least, greatest)) in spare.iter_mut().zip(angles) {
                let (under, over) = (low - least, greatest - high);
                if under > WITHIN_DEG {
                    (spare.0, held) = (spare.0 + under, false);
                }
                if over > WITHIN_DEG {
                    (spare.1, held) = (spare.1 + over, false);
                }
            }
            if held {
                break;
            }
            // Held so tight there may be no room: then what passes the limits is told.
            let Ok(tighter) = self.converge(stiffness, &spare) else { break };
            found = tighter;
        }
        let (by_knot, settled) = found;
        let angles = self.grid.angles(&self.grid.profile("", &by_knot));
        let beyond_deg = angles
            .iter()
            .fold(0.0_f64, |most, (least, greatest)| most.max(low - least).max(greatest - high));
        let seen = self.seen(&self.changed(&by_knot));
        Ok(Change { off: self.off(&seen), by_knot, seen, beyond_deg, settled })
    }

    /// Steps until nothing moves; with it, whether the last of them came to rest.
    fn converge(&self, stiffness: f64, spare: &[(f64, f64)]) -> Result<(Vec<f64>, bool), Unsolved> {
        let mut change = vec![0.0; self.grid.knots.len()];
        let mut settled = true;
        for _ in 0..ROUNDS {
            let least = self.step(stiffness, &change, spare)?;
            let moved = least.x.iter().zip(&change).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            (change, settled) = (least.x, least.settled);
            if moved < 1e-4 {
                break;
            }
        }
        Ok((change, settled))
    }

    /// One linear solve about a change.
    fn step(
        &self,
        stiffness: f64,
        change: &[f64],
        spare: &[(f64, f64)],
    ) -> Result<Least, Unsolved> {
        let count = self.grid.knots.len();
        let neck = self.changed(change);
        let mut matrix = vec![vec![0.0; count]; count];
        let mut linear = vec![0.0; count];
        let notes = self.horn.fingerings.iter().zip(self.start).zip(self.targets);
        for ((fingering, before), target) in notes {
            // A note whose peak is lost on the way has no slope; that it is lost is told in the end.
            let Some(peak) = seen(self.horn, &neck, fingering).played else { continue };
            let got = cents(before.frequency_hz, peak.frequency_hz);
            let fingered = on(self.horn, &neck, fingering, fingering.vent_open);
            let slopes = cents_per_mm(&fingered, &self.grid.knots, peak.frequency_hz);
            let here: f64 = slopes.iter().zip(change).map(|(slope, x)| slope * x).sum();
            let right = target.wanted.unwrap_or_default() - got + here;
            add(&mut matrix, &mut linear, &slopes, right, target.weight);
        }
        let mut bend = vec![0.0; count];
        for k in 0..count.saturating_sub(2) {
            bend.fill(0.0);
            for (cell, value) in bend.iter_mut().skip(k).zip([1.0, -2.0, 1.0]) {
                *cell = value;
            }
            add(&mut matrix, &mut linear, &bend, 0.0, stiffness);
        }
        for (k, row) in matrix.iter_mut().enumerate() {
            if let Some(cell) = row.get_mut(k) {
                *cell += stiffness * SIZE;
            }
        }
        let limits = self.grid.limits(self.makeable, spare);
        Quadratic { matrix, linear, limits }.least()
    }

    /// The neck with the change at the knots.
    fn changed(&self, change: &[f64]) -> NeckBore {
        self.neck.bore.with_bore(self.grid.profile("", change).bore())
    }

    fn seen(&self, neck: &NeckBore) -> Vec<Seen> {
        self.horn.fingerings.iter().map(|fingering| seen(self.horn, neck, fingering)).collect()
    }

    /// How far the wanted notes are off, in the mean square.
    fn off(&self, seen: &[Seen]) -> f64 {
        let squares: Vec<f64> = seen
            .iter()
            .zip(self.start)
            .zip(self.targets)
            .filter_map(|((seen, before), target)| {
                let wanted = target.wanted?;
                Some(seen.played.map_or(f64::INFINITY, |peak| {
                    let off = cents(before.frequency_hz, peak.frequency_hz) - wanted;
                    off * off
                }))
            })
            .collect();
        (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
    }
}

/// Adds weight · (row·x − right)² to the quadratic.
fn add(matrix: &mut [Vec<f64>], linear: &mut [f64], row: &[f64], right: f64, weight: f64) {
    for ((line, place), a) in matrix.iter_mut().zip(linear.iter_mut()).zip(row) {
        *place += weight * a * right;
        for (cell, b) in line.iter_mut().zip(row) {
            *cell += weight * a * b;
        }
    }
}
