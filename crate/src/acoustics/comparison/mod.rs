//! Two necks on one horn and one mouthpiece: what moves, by how much, and how sure that is.

use crate::job::Violation;

mod neck;
mod peaks;
mod told;
mod words;

use super::contender::{Contender, read_both};
use super::horn::{Fingering, Horn, HornFile};
use super::impedance::{Peak, cents};
use super::missing_cone::MissingCone;
use neck::{every, said, vented};
use peaks::{Sight, look, slopes};

pub use neck::told;
pub use peaks::{Seen, on, paired, seen, spectrum, unvented};
pub use told::{
    Comparison, DifferencePlace, Followed, HornSaid, NeckSaid, NotUsed, NoteCompared, NoteShift,
    OctaveCompared, OctaveRatio, PeakPair, PulledNote, Pulling, Suits, VentCompared, VentOnPeak,
};

/// How well a diameter is known, mm: what a careful maker gets from a bore with gauges.
pub const DIAMETER_WITHIN_MM: f64 = 0.1;
/// What a player is taken to notice just so: cents of pitch, and decibels of a peak. Common practice, no source.
const NOTICED_CENTS: f64 = 5.0;
const NOTICED_DB: f64 = 1.0;

/// What it is worth.
pub const CAUTION: &str = "A comparison of resonances by a linear model, not a prediction of a player: no reed, no lips, no room. It says nothing about tone colour or metal.";

/// The first neck on a horn made ready for it: what a comparison needs of it, and what stays while only the second is changed.
#[derive(Clone, Debug)]
pub struct Looked {
    pub neck: Contender,
    pub horn: Horn,
    notes: Vec<NoteSeen>,
    said: NeckSaid,
}

/// What was seen of a note on a neck.
#[derive(Clone, Debug)]
struct NoteSeen {
    seen: Seen,
    /// How the peak it is played on moves with the diameter at each knot, cents a millimetre; nothing where there is none.
    slopes: Vec<f64>,
}

impl Looked {
    /// Looks at the first neck.
    #[must_use]
    pub fn at(neck: &Contender, horn: &Horn) -> Self {
        let notes = notes_seen(neck, horn, Sight::Whole);
        let said = said_of(neck, horn, &notes);
        Self { neck: neck.clone(), horn: horn.clone(), notes, said }
    }
}

/// Every note of a horn on a neck, in the horn's order.
fn notes_seen(neck: &Contender, horn: &Horn, sight: Sight) -> Vec<NoteSeen> {
    let note = |fingering: &Fingering| {
        let seen = look(horn, &neck.bore, fingering, sight);
        let slopes = slopes(horn, &neck.bore, fingering, seen.played);
        NoteSeen { seen, slopes }
    };
    horn.fingerings.iter().map(note).collect()
}

fn said_of(neck: &Contender, horn: &Horn, notes: &[NoteSeen]) -> NeckSaid {
    let seen: Vec<&Seen> = notes.iter().map(|note| &note.seen).collect();
    said(horn, neck, &seen)
}

/// Compares a second neck with a first on a horn made ready for the first.
///
/// # Errors
///
/// A note that has no peak where its register should be, on one of the necks: every such note at once.
pub fn compare(a: &Contender, b: &Contender, horn: &Horn) -> Result<Comparison, Vec<Violation>> {
    compare_looked(&Looked::at(a, horn), b)
}

/// The same for a first neck that was looked at before. The second stands on its horn and in its mouthpiece.
///
/// # Errors
///
/// As [`compare`].
pub fn compare_looked(looked: &Looked, second: &Contender) -> Result<Comparison, Vec<Violation>> {
    let (a, horn) = (&looked.neck, &looked.horn);
    let b = second.beside(a);
    let others = notes_seen(&b, horn, Sight::Whole);
    let shifts = shifts(looked, &b, &others)?;
    let notes: Vec<NoteCompared> = most_noticed(&shifts)
        .into_iter()
        .map(|both| NoteCompared {
            shift: both.shift.clone(),
            vent_open: both.fingering.vent_open,
            cone_mm: both.fingering.cone_mm,
            a: both.played[0],
            b: both.played[1],
            peaks: paired(both.one.all(), both.two.all()),
        })
        .collect();
    let octaves = octaves_of(&shifts);
    let upper = shifts.iter().filter(|both| both.fingering.note.is_upper());
    let vents = upper
        .map(|both| VentCompared {
            written: both.fingering.note.name.clone(),
            a: vented(horn, &a.bore, both.fingering, both.one),
            b: vented(horn, &b.bore, both.fingering, both.two),
        })
        .collect();
    let (said_a, said_b) = (looked.said.clone(), said_of(&b, horn, &others));
    let horn_said = HornSaid {
        name: horn.name.clone(),
        of: a.name.clone(),
        shank_bore_mm: a.customer.mouthpiece.shank_bore_mm,
        receiver_bore_mm: a.customer.horn.receiver_bore_mm,
        not_used: not_used(&b),
        stand_in: horn.stand_in,
        mouthpiece_volume_mm3: horn.mouthpiece.volume * 1e9,
        speed_of_sound_m_s: horn.medium.air.speed,
        density_kg_m3: horn.medium.air.density,
        without_vent: without_vent(horn),
    };
    let words = words::in_words(&said_a, &said_b, &notes, &octaves, &horn_said, &b.broken);
    let length = a.bore.length_mm().min(b.bore.length_mm());
    let difference = every(length)
        .into_iter()
        .map(|station_mm| DifferencePlace {
            station_mm,
            diameter_mm: 2.0
                * (b.bore.neck.bore.radius(station_mm) - a.bore.neck.bore.radius(station_mm)),
        })
        .collect();
    Ok(Comparison {
        format: "neckwright-comparison/2",
        caution: CAUTION.to_owned(),
        words,
        horn: horn_said,
        a: said_a,
        b: said_b,
        broken: b.broken,
        notes,
        octaves,
        vents,
        difference,
    })
}

/// Follows a second neck that is being changed: its shifts and octaves are those of [`compare_looked`], to the last bit.
///
/// # Errors
///
/// As [`compare`].
pub fn follow(looked: &Looked, second: &Contender) -> Result<Followed, Vec<Violation>> {
    let b = second.beside(&looked.neck);
    let others = notes_seen(&b, &looked.horn, Sight::Played);
    let shifts = shifts(looked, &b, &others)?;
    let notes = most_noticed(&shifts).into_iter().map(|both| both.shift.clone()).collect();
    let octaves = octaves_of(&shifts);
    Ok(Followed { notes, octaves, missing_cone: MissingCone::of(&b.bore.neck) })
}

/// A note on both necks.
struct Both<'a> {
    fingering: &'a Fingering,
    one: &'a Seen,
    two: &'a Seen,
    played: [Peak; 2],
    shift: NoteShift,
}

/// How every note moves from the first neck to the second.
fn shifts<'a>(
    looked: &'a Looked,
    second: &Contender,
    others: &'a [NoteSeen],
) -> Result<Vec<Both<'a>>, Vec<Violation>> {
    let (mut found, mut refused) = (Vec::new(), Vec::new());
    let notes = looked.horn.fingerings.iter().zip(&looked.notes).zip(others);
    for (index, ((fingering, one), two)) in notes.enumerate() {
        match (one.seen.played, two.seen.played) {
            (Some(peak_a), Some(peak_b)) => found.push(Both {
                fingering,
                one: &one.seen,
                two: &two.seen,
                played: [peak_a, peak_b],
                shift: shift_of(fingering, [peak_a, peak_b], [&one.slopes, &two.slopes]),
            }),
            (first, other) => {
                let names = [(first, &looked.neck.name), (other, &second.name)];
                let silent = names.iter().filter(|(peak, _)| peak.is_none());
                let silent: Vec<&str> = silent.map(|(_, name)| name.as_str()).collect();
                refused.push(no_peak(index, &fingering.note.name, &silent));
            }
        }
    }
    if refused.is_empty() { Ok(found) } else { Err(refused) }
}

/// Notes that are played with an octave vent on the body which the horn's file does not have.
fn without_vent(horn: &Horn) -> Vec<String> {
    let lacks = |one: &&Fingering| one.note.is_upper() && !one.vent_open && one.unvented.is_none();
    horn.fingerings.iter().filter(lacks).map(|one| one.note.name.clone()).collect()
}

/// What the second's job says of horn and mouthpiece otherwise than the first's.
fn not_used(second: &Contender) -> Vec<NotUsed> {
    let (own, used) = (&second.job, &second.customer);
    let (mouthpiece, horn) = (&used.mouthpiece, &used.horn);
    [
        ("mouthpiece.shank_bore_mm", own.mouthpiece.shank_bore_mm, mouthpiece.shank_bore_mm),
        ("mouthpiece.deepest_push_mm", own.mouthpiece.deepest_push_mm, mouthpiece.deepest_push_mm),
        ("horn.receiver_bore_mm", own.horn.receiver_bore_mm, horn.receiver_bore_mm),
        ("horn.receiver_depth_mm", own.horn.receiver_depth_mm, horn.receiver_depth_mm),
        ("horn.rim_gap_mm", own.horn.rim_gap_mm, horn.rim_gap_mm),
    ]
    .into_iter()
    .filter(|(_, says, used)| says != used)
    .map(|(path, says_mm, used_mm)| NotUsed { path, says_mm, used_mm })
    .collect()
}

/// Reads two jobs, makes a horn ready for the first, and compares.
///
/// # Errors
///
/// As [`read_both`]; what the horn cannot be made ready for; notes that cannot be compared.
pub fn compare_texts(
    a: (&str, &str),
    b: (&str, &str),
    file: &HornFile,
) -> Result<(Contender, Contender, Horn, Comparison), Vec<Violation>> {
    let (a, b) = read_both(a, b)?;
    let horn = file.ready(a.job.horn_voice, &a.bore)?;
    let comparison = compare(&a, &b, &horn)?;
    Ok((a, b, horn, comparison))
}

fn shift_of(fingering: &Fingering, [a, b]: [Peak; 2], slopes: [&Vec<f64>; 2]) -> NoteShift {
    let squares: f64 = slopes.iter().copied().flatten().map(|slope| slope * slope).sum();
    let [sum_a, sum_b] = slopes.map(|slopes| slopes.iter().sum::<f64>());
    let shift_cents = cents(a.frequency_hz, b.frequency_hz);
    let height_change_db = 20.0 * libm::log10(b.height_mpa_s_m3 / a.height_mpa_s_m3);
    NoteShift {
        written: fingering.note.name.clone(),
        register: if fingering.note.is_upper() { 2 } else { 1 },
        first_hz: a.frequency_hz,
        shift_cents,
        uncertainty_cents: DIAMETER_WITHIN_MM * squares.sqrt(),
        gauge_error_cents: DIAMETER_WITHIN_MM * (sum_b - sum_a).abs(),
        height_change_db,
        noticed: (shift_cents.abs() / NOTICED_CENTS).max(height_change_db.abs() / NOTICED_DB),
    }
}

/// What a player would notice first, first.
fn most_noticed<'a>(shifts: &'a [Both<'a>]) -> Vec<&'a Both<'a>> {
    let mut sorted: Vec<&Both> = shifts.iter().collect();
    sorted.sort_by(|one, other| other.shift.noticed.total_cmp(&one.shift.noticed));
    sorted
}

/// The octaves of the lower register, in the horn's order.
fn octaves_of(shifts: &[Both]) -> Vec<OctaveCompared> {
    let lower = shifts.iter().filter(|both| !both.fingering.note.is_upper());
    lower.map(|both| octave_of(both.fingering, both.one, both.two)).collect()
}

fn octave_of(fingering: &Fingering, a: &Seen, b: &Seen) -> OctaveCompared {
    let ratio = |seen: &Seen| {
        let ratio = seen.shut.get(1)?.frequency_hz / seen.shut.first()?.frequency_hz;
        Some(OctaveRatio { ratio, wide_cents: cents(2.0, ratio) })
    };
    OctaveCompared { written: fingering.note.name.clone(), a: ratio(a), b: ratio(b) }
}

fn no_peak(index: usize, written: &str, silent: &[&str]) -> Violation {
    Violation::error(
        format!("notes[{index}].written"),
        written,
        "a note both necks have a peak for",
        format!(
            "There is no resonance of this register with this fingering on {}.",
            silent.join(" and ")
        ),
    )
}
