//! Towards an aim: the smallest smooth change of a bore that moves some notes by some cents.
//!
//! Unknown is a change of diameter at knots along the neck. The least is sought of
//!
//! Σ wᵢ (shiftᵢ − wantedᵢ)² + λ (Σ (second differences)² + ε Σ (changes)²)
//!
//! within limits on the change, on the diameter and on the half-angle, the end at the tenon held where it is. Shifts are
//! linear in the change by [`super::sensitivity`]; the model is then asked again and the step repeated from the new bore
//! (Gauss-Newton). λ is the greatest that still reaches the aim, so that no more is changed than it takes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::job::{Violation, read_by_schema};
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
/// Rounding that a bore may lie outside of its limits by.
const WITHIN_MM: f64 = 1e-6;
const WITHIN_DEG: f64 = 1e-4;
/// ε: what a change by itself costs beside a bend of it.
const SIZE: f64 = 1e-2;

/// An aim, as a person says it: what should move, and within what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Aim")]
pub struct Aim {
    /// Notes that should move. Every other note of the horn is asked to stay.
    #[schemars(length(min = 1, max = 60))]
    pub wanted: Vec<WantedShift>,
    /// What can be made.
    #[serde(default)]
    pub limits: Makeable,
}

/// What can be made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields, default)]
pub struct Makeable {
    /// Most a diameter may change.
    #[schemars(range(min = 0.01, max = 5.0))]
    pub most_change_mm: f64,
    /// Least diameter anywhere.
    #[schemars(range(min = 6.0, max = 60.0))]
    pub least_diameter_mm: f64,
    /// Greatest diameter anywhere.
    #[schemars(range(min = 6.0, max = 60.0))]
    pub greatest_diameter_mm: f64,
    /// Least half-angle anywhere; below nothing the bore narrows.
    #[schemars(range(min = -5.0, max = 10.0))]
    pub least_half_angle_deg: f64,
    /// Greatest half-angle anywhere.
    #[schemars(range(min = -5.0, max = 10.0))]
    pub greatest_half_angle_deg: f64,
}

impl Default for Makeable {
    /// Invented: to be replaced by what mandrels and hammer allow.
    fn default() -> Self {
        Self {
            most_change_mm: 0.6,
            least_diameter_mm: 8.0,
            greatest_diameter_mm: 40.0,
            least_half_angle_deg: 0.2,
            greatest_half_angle_deg: 4.0,
        }
    }
}

/// A wanted shift.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct WantedShift {
    /// A note of the horn, as it stands there.
    #[schemars(length(min = 2, max = 4))]
    pub written: String,
    /// By how many cents it is to move, minus for down; a neck's bore moves a note by cents, not by semitones.
    #[schemars(range(min = -100.0, max = 100.0))]
    pub cents: f64,
}

impl Aim {
    /// Reads an aim.
    ///
    /// # Errors
    ///
    /// Every violation at once.
    pub fn read(text: &str) -> Result<Self, Vec<Violation>> {
        match Self::read_leniently(text) {
            (Some(aim), found) if !found.iter().any(Violation::is_error) => Ok(aim),
            (_, found) => Err(found),
        }
    }

    /// What can be made of a text, and all that is wrong with it.
    fn read_leniently(text: &str) -> (Option<Self>, Vec<Violation>) {
        let plain = Self { wanted: Vec::new(), limits: Makeable::default() };
        let plain = serde_json::to_value(plain).unwrap_or(Value::Null);
        let about = "An aim is a list of notes with their cents, and limits.";
        let (aim, mut found): (Option<Self>, _) = read_by_schema(text, about, &plain);
        if let Some(aim) = &aim {
            add_untold(&mut found, aim.limits.crossed());
        }
        (aim, found)
    }
}

/// Adds what is wrong with fields of which nothing is told yet: a field that was mended is not the one that was written.
fn add_untold(found: &mut Vec<Violation>, more: Vec<Violation>) {
    let told: Vec<String> = found.iter().map(|violation| violation.path.clone()).collect();
    let untold = |violation: &Violation| {
        told.iter().all(|path| path.is_empty() || !violation.path.starts_with(path.as_str()))
    };
    found.extend(more.into_iter().filter(untold));
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
    let more = refusals(neck, horn, &asked, &knots(neck));
    add_untold(&mut found, more);
    Err(found)
}

impl Makeable {
    /// Limits that leave nothing between them.
    fn crossed(&self) -> Vec<Violation> {
        let pairs = [
            ("diameter_mm", " mm", self.least_diameter_mm, self.greatest_diameter_mm),
            ("half_angle_deg", "°", self.least_half_angle_deg, self.greatest_half_angle_deg),
        ];
        let crossed = |&(name, unit, least, greatest): &(&str, &str, f64, f64)| {
            (least >= greatest).then(|| {
                Violation::error(
                    format!("limits.greatest_{name}"),
                    greatest,
                    format!("more than the least, {least}{unit}"),
                    "Between the least and the greatest there must be room.",
                )
            })
        };
        pairs.iter().filter_map(crossed).collect()
    }

    /// Limits that no change allowed here brings a bore within: diameters (mm) at knots, the last of which must stay.
    fn out_of_reach(&self, knots: &[f64], diameters: &[f64]) -> Vec<Violation> {
        let last = knots.len().saturating_sub(1);
        let change = |k: usize| if k == last { 0.0 } else { self.most_change_mm };
        let mut found: Vec<Violation> = Vec::new();
        let mut tell = |field: &str, value: f64, allowed: String, why: String| {
            let path = format!("limits.{field}");
            // The first place along the neck tells of the others.
            if found.iter().all(|violation| violation.path != path) {
                found.push(Violation::error(path, value, allowed, why));
            }
        };
        let range: Vec<(f64, f64)> = diameters
            .iter()
            .enumerate()
            .map(|(k, diameter)| (diameter - change(k), diameter + change(k)))
            .collect();
        for (k, (least, most)) in range.iter().enumerate() {
            let why = || {
                format!(
                    "At station {:.0} mm the bore is {:.2} mm, and may change by {:.2} mm at most.",
                    knots[k],
                    diameters[k],
                    change(k)
                )
            };
            let (low, high) = (self.least_diameter_mm, self.greatest_diameter_mm);
            if *most < low - WITHIN_MM {
                tell("least_diameter_mm", low, format!("at most {most:.2} mm"), why());
            }
            if *least > high + WITHIN_MM {
                tell("greatest_diameter_mm", high, format!("at least {least:.2} mm"), why());
            }
        }
        for (i, (least_a, most_a)) in range.iter().enumerate() {
            for (j, (least_b, most_b)) in range.iter().enumerate().skip(i + 1) {
                let run = knots[j] - knots[i];
                let angle = |rise: f64| deg_from_rad(libm::atan(rise / (2.0 * run)));
                let (flattest, steepest) = (angle(least_b - most_a), angle(most_b - least_a));
                let why = || {
                    format!(
                        "From station {:.0} to {:.0} mm no change that is allowed makes it so.",
                        knots[i], knots[j]
                    )
                };
                let (low, high) = (self.least_half_angle_deg, self.greatest_half_angle_deg);
                if steepest < low - WITHIN_DEG {
                    tell("least_half_angle_deg", low, format!("at most {steepest:.2}°"), why());
                }
                if flattest > high + WITHIN_DEG {
                    tell(
                        "greatest_half_angle_deg",
                        high,
                        format!("at least {flattest:.2}°"),
                        why(),
                    );
                }
            }
        }
        found
    }
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
    /// Fields of the limits that the new bore stands at.
    pub held_by: Vec<String>,
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
/// A wanted note that the horn does not have or that stands twice; limits that no change allowed brings this bore within: all
/// at once.
pub fn aim(neck: &Contender, horn: &Horn, asked: &Aim) -> Result<Aimed, Vec<Violation>> {
    let (wanted, makeable) = (asked.wanted.as_slice(), &asked.limits);
    let knots = knots(neck);
    let refused = refusals(neck, horn, asked, &knots);
    if !refused.is_empty() {
        return Err(refused);
    }
    let start = peaks_of(horn, &neck.bore);
    let targets: Vec<(f64, f64)> = horn
        .fingerings
        .iter()
        .map(|fingering| match wish(wanted, fingering) {
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
                "limits that leave the bore some room together",
                "No change keeps all of the limits at once.",
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

fn wish(wanted: &[WantedShift], fingering: &Fingering) -> Option<f64> {
    wanted.iter().find(|wanted| wanted.written == fingering.note.name).map(|wanted| wanted.cents)
}

/// Stations at which the bore is changed, ends included, mm.
fn knots(neck: &Contender) -> Vec<f64> {
    let length = neck.bore.length_mm();
    let count = (length / KNOTS_MM).round().max(2.0) as usize;
    (0..=count).map(|k| length * k as f64 / count as f64).collect()
}

/// What keeps an aim from being sought on this neck and horn.
fn refusals(neck: &Contender, horn: &Horn, asked: &Aim, knots: &[f64]) -> Vec<Violation> {
    let mut found = Vec::new();
    let wanted = &asked.wanted;
    for (index, aim) in wanted.iter().enumerate() {
        let path = || format!("wanted[{index}].written");
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
    }
    let diameters: Vec<f64> =
        knots.iter().map(|knot| 2.0 * neck.bore.neck.bore.radius(*knot)).collect();
    found.extend(asked.limits.out_of_reach(knots, &diameters));
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
    /// WantedShift shift and weight of each note.
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
            let (least_d, most_d) = (made.least_diameter_mm, made.greatest_diameter_mm);
            limits.push(Limit { terms: vec![(k, 1.0)], bound: most.min(most_d - diameter(k)) });
            limits.push(Limit { terms: vec![(k, -1.0)], bound: most.min(diameter(k) - least_d) });
        }
        for k in 0..last {
            let run = self.knots[k + 1] - self.knots[k];
            let rise = |deg: f64| 2.0 * run * libm::tan(rad_from_deg(deg));
            let now = diameter(k + 1) - diameter(k);
            let (least, most) = (made.least_half_angle_deg, made.greatest_half_angle_deg);
            limits.push(Limit { terms: vec![(k + 1, 1.0), (k, -1.0)], bound: rise(most) - now });
            limits.push(Limit { terms: vec![(k + 1, -1.0), (k, 1.0)], bound: now - rise(least) });
        }
        limits
    }

    /// Which limits a change stands at.
    fn held_by(&self, change: &[f64]) -> Vec<String> {
        let made = self.makeable;
        let last = self.knots.len() - 1;
        let bore = &self.neck.bore.neck.bore;
        let now: Vec<f64> =
            self.knots.iter().zip(change).map(|(knot, x)| 2.0 * bore.radius(*knot) + x).collect();
        let angles: Vec<f64> = now
            .windows(2)
            .zip(self.knots.windows(2))
            .map(|(d, x)| deg_from_rad(libm::atan((d[1] - d[0]) / 2.0 / (x[1] - x[0]))))
            .collect();
        // What must stay, at the tenon, stands at no limit of the maker's.
        let moved = &now[..last];
        let close = |a: f64, b: f64| (a - b).abs() < 1e-3;
        [
            ("most_change_mm", change.iter().any(|x| close(x.abs(), made.most_change_mm))),
            ("least_diameter_mm", moved.iter().any(|d| close(*d, made.least_diameter_mm))),
            ("greatest_diameter_mm", moved.iter().any(|d| close(*d, made.greatest_diameter_mm))),
            ("least_half_angle_deg", angles.iter().any(|a| close(*a, made.least_half_angle_deg))),
            (
                "greatest_half_angle_deg",
                angles.iter().any(|a| close(*a, made.greatest_half_angle_deg)),
            ),
        ]
        .into_iter()
        .filter(|(_, held)| *held)
        .map(|(name, _)| name.to_owned())
        .collect()
    }

    fn said(&self, off: f64, change: &[f64], wanted: &[WantedShift]) -> Aimed {
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
                    wanted_cents: wish(wanted, fingering),
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
        let held = self.held_by(change);
        Aimed {
            format: "neckwright-aim/1",
            reached,
            words: in_words(reached, off, most_change_mm, &notes, &held),
            held_by: held,
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

fn in_words(
    reached: bool,
    off: f64,
    most: f64,
    notes: &[AimedNote],
    held: &[String],
) -> Vec<String> {
    let mut words = vec![if reached {
        format!(
            "The aim is reached within {off:.2} cents, with no diameter changed by more than {most:.2} mm."
        )
    } else {
        format!(
            "The aim is not reached: the wanted notes are still {off:.1} cents off in the mean square, with the diameters changed by up to {most:.2} mm."
        )
    }];
    if !held.is_empty() {
        let names: Vec<&str> = held.iter().map(|name| limit_name(name)).collect();
        words.push(format!("The new bore stands at these limits: {}.", names.join(", ")));
    }
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

/// What a limit is called.
fn limit_name(field: &str) -> &str {
    match field {
        "most_change_mm" => "most change of a diameter",
        "least_diameter_mm" => "least diameter",
        "greatest_diameter_mm" => "greatest diameter",
        "least_half_angle_deg" => "least half-angle",
        "greatest_half_angle_deg" => "greatest half-angle",
        other => other,
    }
}
