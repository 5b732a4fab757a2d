//! Towards an aim: the smallest smooth change of a bore that moves some notes by some cents.
//!
//! Unknown is a change of diameter at knots along the neck. The least is sought of
//!
//! Σ wᵢ (shiftᵢ − wantedᵢ)² + λ (Σ (second differences)² + ε Σ (changes)²)
//!
//! within limits on the change, on the diameter at every row and on the half-angle from each to the next, the end at the tenon
//! held where it is and the vent left its room. Shifts are linear in the change by [`super::sensitivity`]; the model is then
//! asked again and the step repeated from the new bore (Gauss-Newton). λ is the greatest that still reaches the aim, so that no
//! more is changed than it takes. Whether it is reached, and what gets worse, the whole model says of the bore that is proposed.

mod asked;
mod grid;
mod problem;
mod words;

use serde::Serialize;
use serde_json::Value;

use crate::job::{Violation, read_plainly};
use crate::parts::least_bore_at_vent;

use super::comparison::{Seen, seen};
use super::contender::Contender;
use super::horn::Horn;
use super::impedance::{Peak, cents};
use super::least_squares::Unsolved;
use super::profile::Profile;
use asked::{add_untold, names_of, unheard};
use grid::Grid;
use problem::{Problem, REACHED_CENTS, Sought, Target, WITHIN_DEG};

pub use asked::{Aim, Makeable, WantedShift};

/// Weight of a note that is not named, which is to stay, beside one that is.
const STAYS: f64 = 0.2;
/// A note that was to stay gets worse by so many cents, an octave by so many more, a peak by so many decibels it loses.
const WORSE_CENTS: f64 = 1.0;
const WORSE_OCTAVE_CENTS: f64 = 2.0;
const WORSE_DB: f64 = 0.5;

/// What came of an aim.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Aimed {
    /// Kind and version of this list.
    pub format: &'static str,
    /// Whether the wanted notes came within half a cent in the mean square, within all limits and rules, as the whole model has it.
    pub reached: bool,
    /// What was reached, and what gets worse, in words.
    pub words: Vec<String>,
    /// Every note of the horn: wanted, and what the model says of it with the new bore.
    pub notes: Vec<AimedNote>,
    /// Octaves that come out less true than before, or are lost.
    pub octaves_worse: Vec<OctaveWorse>,
    pub most_change_mm: f64,
    /// The flattest and the steepest that the new bore is anywhere.
    pub least_half_angle_deg: f64,
    pub greatest_half_angle_deg: f64,
    /// Fields of the limits that the new bore stands at; `vent` where the vent would have no room if it were narrower.
    pub held_by: Vec<String>,
    /// Rules of the job that the new bore would break: with them it cannot be made.
    pub broken: Vec<Violation>,
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
    /// Null where it has no peak any more.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub got_cents: Option<f64>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub height_change_db: Option<f64>,
    /// Whether it was to stay and moves by a cent or more, its peak loses half a decibel or more, or it is lost.
    pub gets_worse: bool,
}

/// An octave that comes out less true, or is lost.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct OctaveWorse {
    /// Written note of the lower register.
    pub written: String,
    /// Cents that the second resonance is beyond the octave of the first, vent shut: before, and with the new bore; null where
    /// there is no second one any more.
    pub before_cents: f64,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub after_cents: Option<f64>,
}

/// Seeks the change of a neck's bore for an aim as it is written.
///
/// # Errors
///
/// All that is wrong with the text, and with it for this neck on this horn, at once.
pub fn aim_of_text(neck: &Contender, horn: &Horn, text: &str) -> Result<Aimed, Vec<Violation>> {
    let (asked, mut found) = Aim::read_leniently(text);
    let Some(asked) = asked else { return Err(found) };
    if !found.iter().any(Violation::is_error) {
        return aim(neck, horn, &asked);
    }
    let written = read_plainly(text).unwrap_or_default();
    let grid = grid_of(neck);
    add_untold(&mut found, unheard(&names_of(&written), horn));
    add_untold(&mut found, asked.limits.out_of_reach(&grid));
    Err(found)
}

/// Seeks the change of a neck's bore.
///
/// # Errors
///
/// A wanted note that the horn does not have or that stands twice; a note without a peak; limits that no change allowed brings
/// this bore within: all at once.
pub fn aim(neck: &Contender, horn: &Horn, asked: &Aim) -> Result<Aimed, Vec<Violation>> {
    let grid = grid_of(neck);
    let mut refused = unheard(&asked.names(), horn);
    refused.extend(asked.limits.out_of_reach(&grid));
    let before: Vec<_> =
        horn.fingerings.iter().map(|fingering| seen(horn, &neck.bore, fingering)).collect();
    let start: Vec<Peak> = before.iter().filter_map(|seen| seen.played).collect();
    let silent = horn.fingerings.iter().zip(&before).enumerate();
    refused.extend(silent.filter(|(_, (_, seen))| seen.played.is_none()).map(
        |(index, (fingering, _))| {
            Violation::error(
                format!("notes[{index}].written"),
                fingering.note.name.clone(),
                "a note the neck has a peak for",
                "There is no resonance of this register with this fingering to start from.",
            )
        },
    ));
    if !refused.is_empty() {
        return Err(refused);
    }
    let wish = |name: &str| asked.wanted.iter().find(|wanted| wanted.written == name);
    let targets: Vec<Target> = horn
        .fingerings
        .iter()
        .map(|fingering| match wish(&fingering.note.name) {
            Some(wanted) => Target { wanted: Some(wanted.cents), weight: 1.0 },
            None => Target { wanted: None, weight: STAYS * STAYS },
        })
        .collect();
    let makeable = &asked.limits;
    let problem = Problem { neck, horn, grid: &grid, start: &start, targets: &targets, makeable };
    let sought = problem.search().map_err(|why| vec![unsolved(why)])?;
    Ok(told(&problem, &before, &sought))
}

/// The rows and knots of a neck.
fn grid_of(neck: &Contender) -> Grid {
    Grid::of(&neck.bore, 2.0 * least_bore_at_vent(&neck.job))
}

fn unsolved(why: Unsolved) -> Violation {
    let (allowed, why) = match why {
        Unsolved::NoRoom => (
            "limits that leave the bore some room together",
            "No change was found that keeps all of the limits at once.",
        ),
        Unsolved::NotDefinite => (
            "limits and notes that can be reckoned with",
            "The least squares of this aim cannot be solved: its numbers are out of all proportion.",
        ),
    };
    Violation::error("limits", Value::Null, allowed, why)
}

/// What the whole model says of the bore that is proposed.
fn told(problem: &Problem, before: &[Seen], sought: &Sought) -> Aimed {
    let (change, grid) = (&sought.change, problem.grid);
    let profile = grid.profile(&format!("{}, towards the aim", problem.neck.name), &change.by_knot);
    let notes: Vec<AimedNote> = problem
        .horn
        .fingerings
        .iter()
        .zip(problem.start)
        .zip(problem.targets)
        .zip(&change.seen)
        .map(|(((fingering, start), target), seen)| {
            let got_cents = seen.played.map(|peak| cents(start.frequency_hz, peak.frequency_hz));
            let height_change_db = seen
                .played
                .map(|peak| 20.0 * libm::log10(peak.height_mpa_s_m3 / start.height_mpa_s_m3));
            let moves =
                target.wanted.is_none() && got_cents.is_none_or(|got| got.abs() >= WORSE_CENTS);
            let weaker = height_change_db.is_none_or(|change| change <= -WORSE_DB);
            AimedNote {
                written: fingering.note.name.clone(),
                wanted_cents: target.wanted,
                got_cents,
                height_change_db,
                gets_worse: moves || weaker,
            }
        })
        .collect();
    let octaves_worse = problem
        .horn
        .fingerings
        .iter()
        .zip(before)
        .zip(&change.seen)
        .filter(|((fingering, _), _)| !fingering.note.is_upper())
        .filter_map(|((fingering, before), after)| {
            let wide = |seen: &Seen| {
                let (first, second) = (seen.shut.first()?, seen.shut.get(1)?);
                Some(cents(2.0 * first.frequency_hz, second.frequency_hz))
            };
            let (before_cents, after_cents) = (wide(before)?, wide(after));
            let worse = after_cents
                .is_none_or(|after| after.abs() - before_cents.abs() >= WORSE_OCTAVE_CENTS);
            let written = fingering.note.name.clone();
            worse.then_some(OctaveWorse { written, before_cents, after_cents })
        })
        .collect();
    let angles = grid.angles(&profile);
    let broken = problem.neck.broken_by(&profile);
    let mut aimed = Aimed {
        format: "neckwright-aim/2",
        reached: change.off <= REACHED_CENTS
            && change.beyond_deg <= WITHIN_DEG
            && broken.is_empty(),
        words: Vec::new(),
        notes,
        octaves_worse,
        most_change_mm: change.by_knot.iter().fold(0.0_f64, |most, x| most.max(x.abs())),
        least_half_angle_deg: angles.iter().map(|range| range.0).fold(f64::INFINITY, f64::min),
        greatest_half_angle_deg: angles
            .iter()
            .map(|range| range.1)
            .fold(f64::NEG_INFINITY, f64::max),
        held_by: Vec::new(),
        broken,
        profile,
    };
    aimed.held_by = held_by(problem, &aimed, &change.by_knot);
    aimed.words = words::in_words(&aimed, sought);
    aimed
}

/// Which limits a change stands at.
fn held_by(problem: &Problem, aimed: &Aimed, change: &[f64]) -> Vec<String> {
    let (made, grid) = (problem.makeable, problem.grid);
    let close = |a: f64, b: f64| (a - b).abs() < 1e-3;
    // What must stay, at the tenon, stands at no limit of the maker's.
    let moved = grid.rows.iter().zip(&aimed.profile.rows);
    let moved: Vec<f64> = moved
        .filter(|(row, _)| grid.free_share(row) > 0.0)
        .map(|(_, row)| row.diameter_mm)
        .collect();
    let angle = |a: f64, b: f64| (a - b).abs() < 2.0 * WITHIN_DEG;
    [
        ("most_change_mm", change.iter().any(|x| close(x.abs(), made.most_change_mm))),
        ("least_diameter_mm", moved.iter().any(|d| close(*d, made.least_diameter_mm))),
        ("greatest_diameter_mm", moved.iter().any(|d| close(*d, made.greatest_diameter_mm))),
        ("least_half_angle_deg", angle(aimed.least_half_angle_deg, made.least_half_angle_deg)),
        (
            "greatest_half_angle_deg",
            angle(aimed.greatest_half_angle_deg, made.greatest_half_angle_deg),
        ),
        ("vent", grid.is_at_the_vent(change)),
    ]
    .into_iter()
    .filter(|(_, held)| *held)
    .map(|(name, _)| name.to_owned())
    .collect()
}
