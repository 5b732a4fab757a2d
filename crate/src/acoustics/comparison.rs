//! Two necks on one horn and one mouthpiece: what moves, by how much, and how sure that is.

use serde::Serialize;

use crate::job::{Job, Violation};
use crate::parts::build_from_text;

use super::disturbance::{Disturbance, Ends};
use super::horn::{Fingering, Horn, HornFile};
use super::impedance::{Peak, cents};
use super::missing_cone::{MissingCone, volume_per_pull};
use super::neck_on_horn::{Fingered, NeckBore, NeckVent};
use super::profile::{self, ProfilePlace, TenonStep};
use super::sensitivity::cents_per_mm;

/// How well a diameter is known, mm: what a careful maker gets from a bore with gauges.
pub const DIAMETER_WITHIN_MM: f64 = 0.1;
/// Distance of the stations whose diameters are taken to be wrong independently of each other, mm.
const KNOTS_MM: f64 = 20.0;
/// What a player is taken to notice just so: cents of pitch, and decibels of a peak. Common practice, no source.
const NOTICED_CENTS: f64 = 5.0;
const NOTICED_DB: f64 = 1.0;
/// Stations of the profile that is told, mm apart.
const TOLD_EVERY_MM: f64 = 5.0;
/// Cork that must stay in the shank when the mouthpiece is pulled, mm. Common practice, no source.
const LEAST_GRIP_MM: f64 = 12.0;

/// A neck to be compared.
#[derive(Clone, Debug)]
pub struct Contender {
    pub name: String,
    pub job: Job,
    pub bore: NeckBore,
}

impl Contender {
    /// The neck of a job file.
    ///
    /// # Errors
    ///
    /// Every violation of the job at once.
    pub fn read(name: &str, text: &str) -> Result<Self, Vec<Violation>> {
        let placed = build_from_text(text)?;
        let vent = NeckVent::of(&placed.job);
        let neck = placed.assembly.neck.clone();
        let ends = Ends::of(&placed.job, neck.centreline.length());
        let bore = NeckBore::new(neck, vent, ends);
        Ok(Self { name: name.to_owned(), job: placed.job, bore })
    }
}

/// What was found of two necks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Comparison {
    /// Kind and version of this list.
    pub format: &'static str,
    /// What it is worth.
    pub caution: String,
    /// What goes up, what goes down, in words; what a player would notice first.
    pub words: Vec<String>,
    pub horn: HornSaid,
    pub a: NeckSaid,
    pub b: NeckSaid,
    /// Every note, what a player would notice first.
    pub notes: Vec<NoteCompared>,
    /// How true each fingering's octave is.
    pub octaves: Vec<OctaveCompared>,
    /// What the neck's vent does to each fingering.
    pub vents: Vec<VentCompared>,
    /// Difference of the two bores.
    pub difference: Vec<DifferencePlace>,
}

/// Horn and air the necks were compared on.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct HornSaid {
    pub name: String,
    /// Whether a plain cone stands in for the body.
    pub stand_in: bool,
    pub mouthpiece_volume_mm3: f64,
    pub speed_of_sound_m_s: f64,
    pub density_kg_m3: f64,
    /// Notes of the upper register whose octave vent is one the horn's file does not have: they are told without any vent.
    pub without_vent: Vec<String>,
}

/// A neck by itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NeckSaid {
    pub name: String,
    pub length_mm: f64,
    pub volume_mm3: f64,
    /// The tip missing from its cone, by its mean taper; null where it does not widen.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "MissingCone | null"))]
    pub missing_cone: Option<MissingCone>,
    /// How its end meets the horn.
    pub tenon: TenonStep,
    /// Where the vent and the ends of the wall disturb the area, and how that is taken.
    pub disturbed: Vec<Disturbance>,
    /// Written note whose second resonance has its pressure node at the vent: the vent disturbs it least.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Suits | null"))]
    pub vent_suits: Option<Suits>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Pulling | null"))]
    pub pulling: Option<Pulling>,
    /// The bore at even steps, at the vent and at the ends of the wall.
    pub profile: Vec<ProfilePlace>,
}

/// A note a vent suits.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Suits {
    pub written: String,
    /// How far beyond the note the exact place is.
    pub cents_beyond: f64,
    /// Whether the exact place lies beyond all notes asked about, of which the nearest is named.
    pub outside: bool,
}

/// What pulling the mouthpiece does.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Pulling {
    /// How far it can be pulled from its deepest place with enough cork left in the shank.
    pub range_mm: f64,
    /// How far it would have to be pulled to hold as much as the missing cone, if what it is taken to hold is what it holds
    /// pushed on all the way; negative: it holds too much even there. Null where no cone is missing.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub for_the_cone_mm: Option<f64>,
    pub notes: Vec<PulledNote>,
}

/// What pulling does to a note.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PulledNote {
    pub written: String,
    pub cents_per_mm: f64,
}

/// How far one note moves from the first neck to the second.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NoteShift {
    pub written: String,
    /// 1 for the lower register, 2 for the upper: the resonance it is played on.
    pub register: u8,
    /// Where the peak is on the first neck, Hz.
    pub first_hz: f64,
    /// From the first neck to the second.
    pub shift_cents: f64,
    /// What a diameter wrong by 0.1 mm at each of some stations, on both necks, one independent of the other, does to the shift.
    pub uncertainty_cents: f64,
    /// What a gauge does to the shift that reads both necks 0.1 mm too wide everywhere.
    pub gauge_error_cents: f64,
    pub height_change_db: f64,
    /// Shift and height in terms of what a player is taken to notice just so; the order of the list.
    pub noticed: f64,
}

/// One note on both necks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NoteCompared {
    #[serde(flatten)]
    pub shift: NoteShift,
    pub vent_open: bool,
    /// Length of the cone that stands in for the body; null where the body was measured.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub cone_mm: Option<f64>,
    pub a: Peak,
    pub b: Peak,
    /// All peaks found, first neck.
    pub peaks_a: Vec<Peak>,
    /// All peaks found, second neck.
    pub peaks_b: Vec<Peak>,
}

/// Second resonance against first, vent shut.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct OctaveCompared {
    /// Written note of the fingering's lower register.
    pub written: String,
    pub ratio_a: f64,
    pub ratio_b: f64,
    /// Cents the ratio is above 2.
    pub wide_a_cents: f64,
    pub wide_b_cents: f64,
}

/// What opening the neck's vent does to one fingering.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct VentCompared {
    /// Written note of the upper register.
    pub written: String,
    pub a: Vec<VentOnPeak>,
    pub b: Vec<VentOnPeak>,
}

/// What opening the vent does to one peak.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct VentOnPeak {
    /// 1 for the first.
    pub peak: usize,
    /// Null where no peak is left.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub shift_cents: Option<f64>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub height_ratio: Option<f64>,
}

/// Second bore less first.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct DifferencePlace {
    pub station_mm: f64,
    pub diameter_mm: f64,
}

/// What it is worth.
pub const CAUTION: &str = "A comparison of resonances by a linear model, not a prediction of a player: no reed, no lips, no room. It says nothing about tone colour or metal.";

/// A neck by itself on a horn: what a comparison needs of each, and what stays while only the other is changed.
#[derive(Clone, Debug)]
pub struct Looked {
    /// The peaks of each fingering.
    seen: Vec<Seen>,
    /// How the peak each is played on moves with the diameter at each knot, cents a millimetre; nothing where there is none.
    slopes: Vec<Vec<f64>>,
    said: NeckSaid,
}

impl Looked {
    /// Looks at a neck.
    #[must_use]
    pub fn at(contender: &Contender, horn: &Horn) -> Self {
        let neck = &contender.bore;
        let seen: Vec<Seen> =
            horn.fingerings.iter().map(|fingering| seen(horn, neck, fingering)).collect();
        let slopes = horn
            .fingerings
            .iter()
            .zip(&seen)
            .map(|(fingering, seen)| slopes(horn, neck, fingering, seen.played))
            .collect();
        let said = said(horn, contender, &seen);
        Self { seen, slopes, said }
    }
}

/// Compares a second neck with a first on a horn made ready for the first.
///
/// # Errors
///
/// A note that has no peak where its register should be, on one of the necks: every such note at once.
pub fn compare(a: &Contender, b: &Contender, horn: &Horn) -> Result<Comparison, Vec<Violation>> {
    compare_looked(a, &Looked::at(a, horn), b, horn)
}

/// The same for a first neck that was looked at before, on this horn.
///
/// # Errors
///
/// As [`compare`].
pub fn compare_looked(
    a: &Contender,
    looked: &Looked,
    b: &Contender,
    horn: &Horn,
) -> Result<Comparison, Vec<Violation>> {
    let other = Looked::at(b, horn);
    let mut notes = Vec::new();
    let mut refused = Vec::new();
    let (mut octaves, mut vents) = (Vec::new(), Vec::new());
    for (index, fingering) in horn.fingerings.iter().enumerate() {
        let [(one, slopes_one), (two, slopes_two)] =
            [looked, &other].map(|neck| (&neck.seen[index], &neck.slopes[index]));
        match (one.played, two.played) {
            (Some(peak_a), Some(peak_b)) => {
                let shift = shift_of(fingering, [peak_a, peak_b], [slopes_one, slopes_two]);
                notes.push(NoteCompared {
                    shift,
                    vent_open: fingering.vent_open,
                    cone_mm: fingering.cone_mm,
                    a: peak_a,
                    b: peak_b,
                    peaks_a: one.all().to_vec(),
                    peaks_b: two.all().to_vec(),
                });
            }
            _ => refused.push(no_peak(index, &fingering.note.name)),
        }
        if fingering.note.is_upper() {
            if ratio(&one.shut).is_some() && ratio(&two.shut).is_some() {
                vents.push(VentCompared {
                    written: fingering.note.name.clone(),
                    a: vented(horn, &a.bore, fingering, one),
                    b: vented(horn, &b.bore, fingering, two),
                });
            }
        } else {
            octaves.extend(octave_of(fingering, &one.shut, &two.shut));
        }
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    notes.sort_by(|one, other| other.shift.noticed.total_cmp(&one.shift.noticed));
    let (said_a, said_b) = (looked.said.clone(), other.said);
    let words = in_words(&said_a, &said_b, &notes, &octaves, horn);
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
        format: "neckwright-comparison/1",
        caution: CAUTION.to_owned(),
        words,
        horn: HornSaid {
            name: horn.name.clone(),
            stand_in: horn.stand_in,
            mouthpiece_volume_mm3: horn.mouthpiece.volume * 1e9,
            speed_of_sound_m_s: horn.medium.air.speed,
            density_kg_m3: horn.medium.air.density,
            without_vent: without_vent(horn),
        },
        a: said_a,
        b: said_b,
        notes,
        octaves,
        vents,
        difference,
    })
}

/// What is told while a bore is being changed: as [`compare_looked`] tells it, and nothing of what takes longer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Followed {
    /// Every note, what a player would notice first.
    pub notes: Vec<NoteShift>,
    pub octaves: Vec<OctaveCompared>,
    /// The tip missing from the second's cone.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "MissingCone | null"))]
    pub missing_cone: Option<MissingCone>,
}

/// Follows a second neck that is being changed: its peaks are looked for near those of the first.
///
/// # Errors
///
/// As [`compare`].
pub fn follow(looked: &Looked, b: &Contender, horn: &Horn) -> Result<Followed, Vec<Violation>> {
    let (mut notes, mut octaves, mut refused) = (Vec::new(), Vec::new(), Vec::new());
    for (index, fingering) in horn.fingerings.iter().enumerate() {
        let (one, slopes_one) = (&looked.seen[index], &looked.slopes[index]);
        let shut = |near: Option<&Peak>| {
            let near = near?.frequency_hz;
            unvented(horn, &b.bore, fingering, false).peak_near(near)
        };
        let vented = fingering.vent_open || fingering.unvented.is_some();
        let upper = fingering.note.is_upper();
        let first = if upper { None } else { shut(one.shut.first()) };
        let second = shut(one.shut.get(1));
        let played = match (upper, vented) {
            (false, false) => first,
            (false, true) => one.played.and_then(|peak| {
                on(horn, &b.bore, fingering, fingering.vent_open).peak_near(peak.frequency_hz)
            }),
            (true, false) => second,
            (true, true) => second.and_then(|peak| {
                on(horn, &b.bore, fingering, fingering.vent_open).peak_near(peak.frequency_hz)
            }),
        };
        match (one.played, played) {
            (Some(peak_a), Some(peak_b)) => {
                let slopes_two = slopes(horn, &b.bore, fingering, Some(peak_b));
                notes.push(shift_of(fingering, [peak_a, peak_b], [slopes_one, &slopes_two]));
            }
            _ => refused.push(no_peak(index, &fingering.note.name)),
        }
        if !upper {
            let two: Vec<Peak> = first.into_iter().chain(second).collect();
            octaves.extend(octave_of(fingering, &one.shut, &two));
        }
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    notes.sort_by(|one, other| other.noticed.total_cmp(&one.noticed));
    Ok(Followed { notes, octaves, missing_cone: MissingCone::of(&b.bore.neck) })
}

/// Notes that are played with an octave vent on the body which the horn's file does not have.
fn without_vent(horn: &Horn) -> Vec<String> {
    let lacks = |one: &&Fingering| one.note.is_upper() && !one.vent_open && one.unvented.is_none();
    horn.fingerings.iter().filter(lacks).map(|one| one.note.name.clone()).collect()
}

/// Reads two jobs.
///
/// # Errors
///
/// Every violation of both at once; paths begin with `a:` and `b:`.
pub fn read_both(
    (name_a, text_a): (&str, &str),
    (name_b, text_b): (&str, &str),
) -> Result<(Contender, Contender), Vec<Violation>> {
    let marked = |mark: &'static str| {
        move |found: Vec<Violation>| {
            let mark = move |violation: Violation| Violation {
                path: format!("{mark}: {}", violation.path),
                ..violation
            };
            found.into_iter().map(mark).collect::<Vec<_>>()
        }
    };
    match (Contender::read(name_a, text_a), Contender::read(name_b, text_b)) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (a, b) => {
            let mut found = a.err().map(marked("a")).unwrap_or_default();
            found.extend(b.err().map(marked("b")).unwrap_or_default());
            Err(found)
        }
    }
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

/// A neck on the horn, with a fingering.
#[must_use]
pub fn on<'a>(
    horn: &'a Horn,
    neck: &'a NeckBore,
    fingering: &'a Fingering,
    vent_open: bool,
) -> Fingered<'a> {
    Fingered {
        medium: &horn.medium,
        neck,
        body: &fingering.body,
        mouthpiece: horn.mouthpiece,
        vent_open,
    }
}

/// A neck on the horn, with a fingering and the octave vents of the body shut.
#[must_use]
pub fn unvented<'a>(
    horn: &'a Horn,
    neck: &'a NeckBore,
    fingering: &'a Fingering,
    vent_open: bool,
) -> Fingered<'a> {
    let body = fingering.unvented.as_ref().unwrap_or(&fingering.body);
    Fingered { body, ..on(horn, neck, fingering, vent_open) }
}

/// The peaks of a fingering on a neck.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Peaks with every octave vent shut.
    pub shut: Vec<Peak>,
    /// Peaks with its octave vent open; none where the note is played without one.
    pub open: Option<Vec<Peak>>,
    /// The peak the note is played on, if there is one.
    pub played: Option<Peak>,
}

impl Seen {
    /// Peaks as the note is played.
    #[must_use]
    pub fn all(&self) -> &[Peak] {
        self.open.as_deref().unwrap_or(&self.shut)
    }
}

/// Looks at a fingering on a neck.
#[must_use]
pub fn seen(horn: &Horn, neck: &NeckBore, fingering: &Fingering) -> Seen {
    let shut = unvented(horn, neck, fingering, false).peaks(fingering.fundamental_hz);
    let vented = (fingering.vent_open || fingering.unvented.is_some())
        .then(|| on(horn, neck, fingering, fingering.vent_open));
    let open = vented.map(|vented| vented.peaks(fingering.fundamental_hz));
    let all = open.as_deref().unwrap_or(&shut);
    let played = match (fingering.note.is_upper(), vented) {
        (false, _) => all.first().copied(),
        (true, Some(vented)) => {
            shut.get(1).and_then(|second| vented.peak_near(second.frequency_hz))
        }
        (true, None) => all.get(1).copied(),
    };
    Seen { played, open, shut }
}

/// Stations whose diameters are taken to be wrong independently of each other.
fn knots(neck: &NeckBore) -> Vec<f64> {
    let length = neck.length_mm();
    let count = (length / KNOTS_MM).round().max(1.0) as usize;
    (0..=count).map(|k| length * k as f64 / count as f64).collect()
}

/// How a peak of a neck moves with the diameter at each knot; nothing where there is no peak.
fn slopes(horn: &Horn, neck: &NeckBore, fingering: &Fingering, peak: Option<Peak>) -> Vec<f64> {
    let fingered = on(horn, neck, fingering, fingering.vent_open);
    peak.map(|peak| cents_per_mm(&fingered, &knots(neck), peak.frequency_hz)).unwrap_or_default()
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

fn octave_of(fingering: &Fingering, a: &[Peak], b: &[Peak]) -> Option<OctaveCompared> {
    let (ratio_a, ratio_b) = (ratio(a)?, ratio(b)?);
    Some(OctaveCompared {
        written: fingering.note.name.clone(),
        ratio_a,
        ratio_b,
        wide_a_cents: cents(2.0, ratio_a),
        wide_b_cents: cents(2.0, ratio_b),
    })
}

fn ratio(peaks: &[Peak]) -> Option<f64> {
    Some(peaks.get(1)?.frequency_hz / peaks.first()?.frequency_hz)
}

/// What opening the neck's vent does to the first three peaks.
fn vented(horn: &Horn, neck: &NeckBore, fingering: &Fingering, seen: &Seen) -> Vec<VentOnPeak> {
    let open = unvented(horn, neck, fingering, true);
    // The first peak moves far: what is left of it is looked for up to the second.
    let before = if fingering.unvented.is_none() { seen.open.clone() } else { None };
    let peaks = before.unwrap_or_else(|| open.peaks(fingering.fundamental_hz));
    let below = seen.shut.get(1).map_or(f64::MAX, |second| 0.9 * second.frequency_hz);
    let first = peaks.first().filter(|first| first.frequency_hz < below);
    seen.shut
        .iter()
        .take(3)
        .enumerate()
        .map(|(index, peak)| {
            let after = match index {
                0 => first.copied(),
                _ => open.peak_near(peak.frequency_hz),
            };
            VentOnPeak {
                peak: index + 1,
                shift_cents: after.map(|after| cents(peak.frequency_hz, after.frequency_hz)),
                height_ratio: after.map(|after| after.height_mpa_s_m3 / peak.height_mpa_s_m3),
            }
        })
        .collect()
}

fn said(horn: &Horn, contender: &Contender, seen: &[Seen]) -> NeckSaid {
    let neck = &contender.bore;
    let (bore, length) = (&neck.neck.bore, neck.length_mm());
    let ends = &neck.ends;
    NeckSaid {
        name: contender.name.clone(),
        length_mm: length,
        volume_mm3: profile::volume_mm3(bore, length),
        missing_cone: MissingCone::of(&neck.neck),
        tenon: profile::tenon_step(bore, length, (horn.entry_diameter_mm, horn.entry_half_angle)),
        disturbed: ends.along(bore, (length, neck.vent.station), horn.entry_diameter_mm / 2.0),
        vent_suits: vent_suits(horn, neck, seen),
        pulling: pulling(horn, contender, seen),
        profile: profile::along(neck, &told(neck)),
    }
}

/// Stations of the profile that is told: even steps, both sides and the middle of the vent's end, the end of the tube.
#[must_use]
pub fn told(neck: &NeckBore) -> Vec<f64> {
    let (length, vent, outer) = (neck.length_mm(), neck.vent.station, neck.ends.vent.outer * 1e3);
    let mut stations = every(length);
    let more = [vent - outer, vent, vent + outer, neck.ends.tube_end_mm];
    stations.extend(more.into_iter().filter(|station| (0.0..=length).contains(station)));
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    stations
}

fn every(length: f64) -> Vec<f64> {
    let count = (length / TOLD_EVERY_MM).floor() as usize;
    let mut stations: Vec<f64> = (0..=count).map(|k| k as f64 * TOLD_EVERY_MM).collect();
    if stations.last().is_some_and(|last| length - last > 1e-6) {
        stations.push(length);
    }
    stations
}

/// The note whose second resonance has no pressure at the vent: between two notes asked about the pressure changes its sign,
/// and the place between is taken in proportion.
fn vent_suits(horn: &Horn, neck: &NeckBore, seen: &[Seen]) -> Option<Suits> {
    let mut places: Vec<(i32, f64)> = Vec::new();
    for (fingering, seen) in horn.fingerings.iter().zip(seen) {
        let Some(second) = seen.shut.get(1) else { continue };
        let octave = if fingering.note.is_upper() { 0 } else { 12 };
        let semitone = fingering.note.semitone + octave;
        if places.iter().all(|(other, _)| *other != semitone) {
            let shut = unvented(horn, neck, fingering, false);
            places.push((semitone, shut.pressure_at(neck.vent.station, second.frequency_hz).re));
        }
    }
    places.sort_by_key(|place| place.0);
    let between = places.windows(2).find_map(|pair| {
        let &[(low, before), (high, after)] = pair else { return None };
        if before * after > 0.0 || before == after {
            return None;
        }
        let exact = f64::from(low) + f64::from(high - low) * before / (before - after);
        let nearest = exact.round();
        Some(Suits {
            written: super::notes::name_of(nearest as i32),
            cents_beyond: 100.0 * (exact - nearest),
            outside: false,
        })
    });
    // The node moves towards the cork end as notes rise: pressure not yet turned round means a higher note.
    between.or_else(|| {
        let (first, last) = (places.first()?, places.last()?);
        let nearest = if last.1 > 0.0 { last } else { first };
        let written = super::notes::name_of(nearest.0);
        Some(Suits { written, cents_beyond: 0.0, outside: true })
    })
}

/// What pulling the mouthpiece does, from half a millimetre each way.
fn pulling(horn: &Horn, contender: &Contender, seen: &[Seen]) -> Option<Pulling> {
    let job = &contender.job;
    let by_pull = volume_per_pull(job.mouthpiece.shank_bore_mm);
    let half = 0.5e-9 * by_pull;
    let missing = MissingCone::of(&contender.bore.neck);
    let volumes = [horn.mouthpiece.volume - half, horn.mouthpiece.volume + half];
    let notes: Vec<PulledNote> = horn
        .fingerings
        .iter()
        .zip(seen)
        .filter_map(|(fingering, seen)| {
            let here = on(horn, &contender.bore, fingering, fingering.vent_open);
            let found = here.peaks_with_volumes(seen.played?.frequency_hz, &volumes);
            let &[Some(pushed), Some(pulled)] = found.as_slice() else { return None };
            Some(PulledNote {
                written: fingering.note.name.clone(),
                cents_per_mm: cents(pushed, pulled),
            })
        })
        .collect();
    let range_mm = (job.mouthpiece.deepest_push_mm - LEAST_GRIP_MM).max(0.0);
    let for_the_cone_mm =
        missing.map(|cone| (cone.volume_mm3 - horn.mouthpiece.volume * 1e9) / by_pull);
    (!notes.is_empty()).then_some(Pulling { range_mm, for_the_cone_mm, notes })
}

fn no_peak(index: usize, written: &str) -> Violation {
    Violation::error(
        format!("notes[{index}].written"),
        written,
        "a note both necks have a peak for",
        "One of the necks has no resonance of this register with this fingering.",
    )
}

/// "goes up by 4.2 cents", "goes down by 0.3 cents", "stays".
fn moved(shift: f64) -> String {
    if shift.abs() < 0.05 {
        return "stays".to_owned();
    }
    let way = if shift > 0.0 { "up" } else { "down" };
    format!("goes {way} by {:.1} cents", shift.abs())
}

fn in_words(
    a: &NeckSaid,
    b: &NeckSaid,
    notes: &[NoteCompared],
    octaves: &[OctaveCompared],
    horn: &Horn,
) -> Vec<String> {
    let mut words = Vec::new();
    words.push(format!("From {} to {}, on the same horn and mouthpiece:", a.name, b.name));
    for note in notes.iter().map(|note| &note.shift) {
        let shifted = note.shift_cents.abs() >= 0.05;
        let sure = if shifted && note.shift_cents.abs() <= note.uncertainty_cents {
            ", less than the diameters are known for"
        } else {
            ""
        };
        let height = if note.height_change_db.abs() < 0.05 {
            "its peak as high".to_owned()
        } else {
            let way = if note.height_change_db > 0.0 { "higher" } else { "lower" };
            format!("its peak {:.1} dB {way}", note.height_change_db.abs())
        };
        words.push(format!(
            "{} {} (give or take {:.1}){sure}; {height}.",
            note.written,
            moved(note.shift_cents),
            note.uncertainty_cents
        ));
    }
    for octave in octaves {
        words.push(format!(
            "Over {}, vent shut, the second resonance is {:.1} cents beyond the octave on the first neck, {:.1} on the second.",
            octave.written, octave.wide_a_cents, octave.wide_b_cents
        ));
    }
    for neck in [a, b] {
        words.push(match &neck.vent_suits {
            Some(suits) if suits.outside => format!(
                "The vent of {} suits a note beyond {}, the nearest of those asked about.",
                neck.name, suits.written
            ),
            Some(suits) => format!(
                "The vent of {} stands where it disturbs {} least ({:+.0} cents).",
                neck.name, suits.written, suits.cents_beyond
            ),
            None => format!("No note asked about has an octave for the vent of {}.", neck.name),
        });
    }
    let bare = without_vent(horn);
    if !bare.is_empty() {
        words.push(format!(
            "{} {} played with an octave vent on the body, which is not in this horn: without it, the second resonance stands for {}.",
            bare.join(", "),
            if bare.len() == 1 { "is" } else { "are" },
            if bare.len() == 1 { "the note" } else { "them" },
        ));
    }
    if horn.stand_in {
        words.push("The body of the horn is a plain cone that stands in for the real one: it has no holes and no bell. Differences between the necks are worth more than any number by itself.".to_owned());
    }
    words.push(CAUTION.to_owned());
    words
}

/// Impedance at the reed of a fingering at each frequency, Pa·s/m³: size and phase (radians).
#[must_use]
pub fn spectrum(
    horn: &Horn,
    neck: &NeckBore,
    fingering: &Fingering,
    frequencies_hz: &[f64],
) -> Vec<(f64, f64)> {
    let fingered = on(horn, neck, fingering, fingering.vent_open);
    let spectrum = fingered.spectrum(frequencies_hz);
    spectrum.iter().map(|z| (z.norm_sqr().sqrt(), libm::atan2(z.im, z.re))).collect()
}
