//! Towards an aim: the smallest smooth change of a bore that moves some notes by some cents.
//!
//! Unknown is a change of diameter at knots along the neck. The least is sought of
//!
//! Σ wᵢ (shiftᵢ − wantedᵢ)² + λ (Σ (second differences)² + ε Σ (changes)²)
//!
//! within limits on the change, on the diameter and on the half-angle, the end at the tenon held where it is. Shifts are
//! linear in the change by [`super::sensitivity`]; the model is then asked again and the step repeated from the new bore
//! (Gauss-Newton). λ is the greatest that still reaches the aim, so that no more is changed than it takes.

use serde::Serialize;
use serde_json::Value;

use crate::job::Violation;
use crate::units::{deg_from_rad, rad_from_deg};

use super::comparison::{Contender, on, seen};
use super::horn::{Fingering, Horn};
use super::impedance::{Peak, cents};
use super::least_squares::{Limit, Quadratic};
use super::neck_on_horn::NeckBore;
use super::profile::{Profile, ProfileRow};
use super::sensitivity::cents_per_mm;

/// Knots are about so far apart, mm: half the shortest wave that matters would be 80.
const KNOTS_MM: f64 = 12.0;
/// Weight of a note that is not named, which is to stay, beside one that is.
const STAYS: f64 = 0.2;
/// Reached is an aim when the wanted notes are within this, in the mean square, cents.
const REACHED_CENTS: f64 = 0.5;
/// Rounds of the solve; the shifts are so nearly linear that three do.
const ROUNDS: usize = 4;
/// λ from stiff to slack, cents² a mm² of second difference.
const STIFFEST: f64 = 1e7;
const SLACKEST: f64 = 1e-1;
/// ε: what a change by itself costs beside a bend of it.
const SIZE: f64 = 1e-2;

/// What may be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Makeable {
    /// Most a diameter may change, mm.
    pub most_change_mm: f64,
    /// Least and greatest diameter, mm.
    pub diameter_mm: (f64, f64),
    /// Least and greatest half-angle between knots, degrees.
    pub half_angle_deg: (f64, f64),
}

impl Default for Makeable {
    /// Invented: to be replaced by what mandrels and hammer allow.
    fn default() -> Self {
        Self { most_change_mm: 0.6, diameter_mm: (8.0, 40.0), half_angle_deg: (0.2, 4.0) }
    }
}

/// A wanted shift.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// A note of the horn, as it stands there.
    pub written: String,
    /// By how much it is to move, cents.
    pub cents: f64,
}

/// What came of an aim.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Aimed {
    /// Kind and version of this list.
    pub format: &'static str,
    /// Whether the wanted notes came within half a cent in the mean square.
    pub reached: bool,
    /// What was reached, and what gets worse, in words.
    pub words: Vec<String>,
    /// Every note: wanted, and what the model says of the new bore.
    pub notes: Vec<AimedNote>,
    pub most_change_mm: f64,
    pub least_half_angle_deg: f64,
    pub greatest_half_angle_deg: f64,
    /// The new bore: rows of the old one and of the knots.
    pub profile: Profile,
}

/// A note and its aim.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct AimedNote {
    pub written: String,
    /// Null for a note that was to stay.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub wanted_cents: Option<f64>,
    pub got_cents: f64,
    pub height_change_db: f64,
}

/// Seeks the change of a neck's bore.
///
/// # Errors
///
/// A wanted note that the horn does not have, stands twice, or moves by more than a semitone; nothing wanted; limits that
/// leave the bore as it is no room: all at once.
pub fn aim(
    neck: &Contender,
    horn: &Horn,
    wanted: &[Wanted],
    makeable: &Makeable,
) -> Result<Aimed, Vec<Violation>> {
    let refused = refusals(horn, wanted);
    if !refused.is_empty() {
        return Err(refused);
    }
    let length = neck.bore.length_mm();
    let count = (length / KNOTS_MM).round().max(2.0) as usize;
    let knots: Vec<f64> = (0..=count).map(|k| length * k as f64 / count as f64).collect();
    let start = peaks_of(horn, &neck.bore);
    let targets: Vec<(f64, f64)> = horn
        .fingerings
        .iter()
        .map(|fingering| match asked(wanted, fingering) {
            Some(cents) => (cents, 1.0),
            None => (0.0, STAYS * STAYS),
        })
        .collect();
    let problem = Problem { neck, horn, knots: &knots, start: &start, targets: &targets, makeable };

    let mut best: Option<(f64, Vec<f64>)> = None;
    let mut stiffness = STIFFEST;
    while stiffness >= SLACKEST {
        let Some(change) = problem.solve(stiffness) else {
            return Err(vec![Violation::error(
                "limits",
                Value::Null,
                "limits that the bore as it is keeps",
                "The bore already lies outside of what may be made, so no small change of it is within.",
            )]);
        };
        let off = problem.off(&change);
        // A slacker fit must be clearly nearer to be worth its larger change.
        if best.as_ref().is_none_or(|(before, _)| off < 0.9 * before) {
            best = Some((off, change));
        }
        if off <= REACHED_CENTS {
            break;
        }
        stiffness /= 10.0;
    }
    let (off, change) = best.unwrap_or((f64::INFINITY, vec![0.0; knots.len()]));
    Ok(problem.said(off, &change, wanted))
}

fn asked(wanted: &[Wanted], fingering: &Fingering) -> Option<f64> {
    wanted.iter().find(|wanted| wanted.written == fingering.note.name).map(|wanted| wanted.cents)
}

fn refusals(horn: &Horn, wanted: &[Wanted]) -> Vec<Violation> {
    let mut found = Vec::new();
    if wanted.is_empty() {
        found.push(Violation::error(
            "aim",
            Value::Null,
            "a note and its cents, as in A5=-4",
            "Nothing is wanted, so nothing is to be sought.",
        ));
    }
    for (index, aim) in wanted.iter().enumerate() {
        let path = || format!("aim[{index}]");
        if !horn.fingerings.iter().any(|fingering| fingering.note.name == aim.written) {
            let names: Vec<&str> =
                horn.fingerings.iter().map(|fingering| fingering.note.name.as_str()).collect();
            found.push(Violation::error(
                path(),
                aim.written.clone(),
                names.join(", "),
                "The horn file does not ask about this note.",
            ));
        }
        if wanted.iter().take(index).any(|other| other.written == aim.written) {
            found.push(Violation::error(
                path(),
                aim.written.clone(),
                "each note once",
                "A note cannot move by two amounts.",
            ));
        }
        if aim.cents.is_nan() || aim.cents.abs() > 100.0 {
            found.push(Violation::error(
                path(),
                aim.cents,
                "-100 to 100 cents",
                "A neck's bore moves a note by cents, not by semitones.",
            ));
        }
    }
    found
}

/// The peak each note is played on.
fn peaks_of(horn: &Horn, neck: &NeckBore) -> Vec<Option<Peak>> {
    horn.fingerings.iter().map(|fingering| seen(horn, neck, fingering).played).collect()
}

struct Problem<'a> {
    neck: &'a Contender,
    horn: &'a Horn,
    knots: &'a [f64],
    start: &'a [Option<Peak>],
    /// Wanted shift and weight of each note.
    targets: &'a [(f64, f64)],
    makeable: &'a Makeable,
}

impl Problem<'_> {
    /// The neck with the change at the knots.
    fn changed(&self, change: &[f64]) -> NeckBore {
        self.neck.bore.with_bore(self.profile(change).bore())
    }

    /// Rows of the old bore and of the knots, with the change.
    fn profile(&self, change: &[f64]) -> Profile {
        let bore = &self.neck.bore.neck.bore;
        let length = self.neck.bore.length_mm();
        let mut stations: Vec<f64> = self.knots.to_vec();
        let far = |station: &f64| self.knots.iter().all(|knot| (knot - station).abs() > 1.0);
        let kept = bore.breaks().into_iter().filter(|s| *s > 0.0 && *s < length);
        stations.extend(kept.filter(far));
        stations.sort_by(f64::total_cmp);
        let row = |station_mm: f64| ProfileRow {
            station_mm,
            diameter_mm: 2.0 * bore.radius(station_mm) + between(self.knots, change, station_mm),
        };
        Profile {
            name: format!("{}, towards the aim", self.neck.name),
            rows: stations.into_iter().map(row).collect(),
        }
    }

    /// Shift of each note, cents; nothing where a note has no peak.
    fn shifts(&self, neck: &NeckBore) -> Vec<Option<(Peak, f64)>> {
        let shift = |(peak, before): (Option<Peak>, &Option<Peak>)| {
            let (peak, before) = (peak?, (*before)?);
            Some((peak, cents(before.frequency_hz, peak.frequency_hz)))
        };
        peaks_of(self.horn, neck).into_iter().zip(self.start).map(shift).collect()
    }

    /// How far the wanted notes are off, in the mean square, cents.
    fn off(&self, change: &[f64]) -> f64 {
        let shifts = self.shifts(&self.changed(change));
        let squares: Vec<f64> = shifts
            .iter()
            .zip(self.targets)
            .filter(|(_, (_, weight))| *weight == 1.0)
            .map(|(shift, (wanted, _))| match shift {
                Some((_, got)) => (got - wanted) * (got - wanted),
                None => f64::INFINITY,
            })
            .collect();
        (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
    }

    /// The change at one stiffness; none where the limits leave no room.
    fn solve(&self, stiffness: f64) -> Option<Vec<f64>> {
        let mut change = vec![0.0; self.knots.len()];
        for _ in 0..ROUNDS {
            let next = self.step(stiffness, &change)?;
            let moved = next.iter().zip(&change).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            change = next;
            if moved < 1e-4 {
                break;
            }
        }
        Some(change)
    }

    /// One linear solve about a change.
    fn step(&self, stiffness: f64, change: &[f64]) -> Option<Vec<f64>> {
        let count = self.knots.len();
        let neck = self.changed(change);
        let mut matrix = vec![vec![0.0; count]; count];
        let mut linear = vec![0.0; count];
        let rows = self.shifts(&neck).into_iter().zip(self.targets).zip(&self.horn.fingerings);
        for ((shift, (wanted, weight)), fingering) in rows {
            let Some((peak, got)) = shift else { continue };
            let fingered = on(self.horn, &neck, fingering, fingering.vent_open);
            let slopes = cents_per_mm(&fingered, self.knots, peak.frequency_hz);
            let here: f64 = slopes.iter().zip(change).map(|(slope, x)| slope * x).sum();
            add(&mut matrix, &mut linear, &slopes, wanted - got + here, *weight);
        }
        for k in 1..count - 1 {
            let mut bend = vec![0.0; count];
            (bend[k - 1], bend[k], bend[k + 1]) = (1.0, -2.0, 1.0);
            add(&mut matrix, &mut linear, &bend, 0.0, stiffness);
        }
        for (k, row) in matrix.iter_mut().enumerate() {
            row[k] += stiffness * SIZE;
        }
        Quadratic { matrix, linear, limits: self.limits() }.least()
    }

    fn limits(&self) -> Vec<Limit> {
        let bore = &self.neck.bore.neck.bore;
        let made = self.makeable;
        let diameter = |k: usize| 2.0 * bore.radius(self.knots[k]);
        let last = self.knots.len() - 1;
        let mut limits = Vec::new();
        for k in 0..=last {
            // The end at the tenon meets the horn where it met it before.
            let most = if k == last { 0.0 } else { made.most_change_mm };
            let (least_d, most_d) = made.diameter_mm;
            limits.push(Limit { terms: vec![(k, 1.0)], bound: most.min(most_d - diameter(k)) });
            limits.push(Limit { terms: vec![(k, -1.0)], bound: most.min(diameter(k) - least_d) });
        }
        for k in 0..last {
            let run = self.knots[k + 1] - self.knots[k];
            let rise = |deg: f64| 2.0 * run * libm::tan(rad_from_deg(deg));
            let now = diameter(k + 1) - diameter(k);
            let (least, most) = made.half_angle_deg;
            limits.push(Limit { terms: vec![(k + 1, 1.0), (k, -1.0)], bound: rise(most) - now });
            limits.push(Limit { terms: vec![(k + 1, -1.0), (k, 1.0)], bound: now - rise(least) });
        }
        limits
    }

    fn said(&self, off: f64, change: &[f64], wanted: &[Wanted]) -> Aimed {
        let shifts = self.shifts(&self.changed(change));
        let profile = self.profile(change);
        let notes: Vec<AimedNote> = shifts
            .iter()
            .zip(self.start)
            .zip(&self.horn.fingerings)
            .filter_map(|((shift, before), fingering)| {
                let ((peak, got), before) = ((*shift)?, (*before)?);
                Some(AimedNote {
                    written: fingering.note.name.clone(),
                    wanted_cents: asked(wanted, fingering),
                    got_cents: got,
                    height_change_db: 20.0
                        * libm::log10(peak.height_mpa_s_m3 / before.height_mpa_s_m3),
                })
            })
            .collect();
        let angles: Vec<f64> = profile
            .rows
            .windows(2)
            .map(|pair| {
                let rise = (pair[1].diameter_mm - pair[0].diameter_mm) / 2.0;
                deg_from_rad(libm::atan(rise / (pair[1].station_mm - pair[0].station_mm)))
            })
            .collect();
        let most_change_mm = change.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        let reached = off <= REACHED_CENTS;
        Aimed {
            format: "neckwright-aim/1",
            reached,
            words: in_words(reached, off, most_change_mm, &notes),
            notes,
            most_change_mm,
            least_half_angle_deg: angles.iter().copied().fold(f64::INFINITY, f64::min),
            greatest_half_angle_deg: angles.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            profile,
        }
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

/// The change between knots, straight from one to the next.
fn between(knots: &[f64], change: &[f64], station: f64) -> f64 {
    let next = knots.partition_point(|knot| *knot < station).clamp(1, knots.len() - 1);
    let share = (station - knots[next - 1]) / (knots[next] - knots[next - 1]);
    change[next - 1] + (change[next] - change[next - 1]) * share
}

fn in_words(reached: bool, off: f64, most: f64, notes: &[AimedNote]) -> Vec<String> {
    let mut words = vec![if reached {
        format!(
            "The aim is reached within {off:.2} cents, with no diameter changed by more than {most:.2} mm."
        )
    } else {
        format!(
            "The aim is not reached: the wanted notes are still {off:.1} cents off in the mean square, with the diameters changed by up to {most:.2} mm."
        )
    }];
    for note in notes {
        let got =
            format!("{:+.1} cents, its peak {:+.1} dB", note.got_cents, note.height_change_db);
        match note.wanted_cents {
            Some(wanted) => {
                words.push(format!("{}: wanted {wanted:+.1} cents, moves {got}.", note.written));
            }
            None if note.got_cents.abs() >= 1.0 => {
                words.push(format!("{} was to stay and moves {got}.", note.written));
            }
            None => {}
        }
    }
    words.push(super::comparison::CAUTION.to_owned());
    words
}
