//! The peaks of a fingering on a neck, and how the one it is played on moves with the bore.

use crate::acoustics::horn::{Fingering, Horn};
use crate::acoustics::impedance::Peak;
use crate::acoustics::neck_on_horn::{Fingered, NeckBore};
use crate::acoustics::sensitivity::cents_per_mm;

use super::told::PeakPair;

/// Distance of the stations whose diameters are taken to be wrong independently of each other, mm.
const KNOTS_MM: f64 = 20.0;
/// Peaks looked for of one fingering.
const MOST_PEAKS: usize = 4;
/// Peaks of two necks that are farther apart are not the same resonance, in the logarithm of their ratio: a quarter.
const PARTNERS: f64 = 0.22;

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
    look(horn, neck, fingering, Sight::Whole)
}

/// How much of a fingering is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sight {
    /// Every peak.
    Whole,
    /// The peak it is played on and the two of its octave, each found as when all are looked at, so that they are the same.
    Played,
}

pub(super) fn look(horn: &Horn, neck: &NeckBore, fingering: &Fingering, sight: Sight) -> Seen {
    let most = if sight == Sight::Whole { MOST_PEAKS } else { 2 };
    let upper = fingering.note.is_upper();
    let peaks = |fingered: Fingered, most| fingered.peaks(fingering.fundamental_hz, most);
    let shut = peaks(unvented(horn, neck, fingering, false), most);
    let vented = (fingering.vent_open || fingering.unvented.is_some())
        .then(|| on(horn, neck, fingering, fingering.vent_open));
    // Which of its peaks a vented note of the upper register is played on, its octave says.
    let wanted = sight == Sight::Whole || !upper;
    let open = vented.filter(|_| wanted).map(|vented| peaks(vented, most));
    let played = match (upper, vented) {
        (false, _) => open.as_deref().unwrap_or(&shut).first().copied(),
        (true, Some(vented)) => {
            shut.get(1).and_then(|second| vented.peak_near(second.frequency_hz))
        }
        (true, None) => shut.get(1).copied(),
    };
    Seen { played, open, shut }
}

/// The peaks of two necks beside each other: each with the nearest of the other, if that is within a quarter of it and has none
/// nearer.
#[must_use]
pub fn paired(a: &[Peak], b: &[Peak]) -> Vec<PeakPair> {
    let off =
        |one: &Peak, other: &Peak| libm::fabs(libm::log(other.frequency_hz / one.frequency_hz));
    let nearest = |one: &Peak, among: &[Peak]| {
        among.iter().copied().min_by(|x, y| off(one, x).total_cmp(&off(one, y)))
    };
    let partner = |one: &Peak| {
        let other = nearest(one, b).filter(|other| off(one, other) < PARTNERS)?;
        (nearest(&other, a).as_ref() == Some(one)).then_some(other)
    };
    let mut pairs: Vec<PeakPair> =
        a.iter().map(|one| PeakPair { a: Some(*one), b: partner(one) }).collect();
    let taken: Vec<Option<Peak>> = pairs.iter().map(|pair| pair.b).collect();
    let place = |pair: &PeakPair| pair.a.or(pair.b).map_or(0.0, |peak| peak.frequency_hz);
    for other in b.iter().filter(|other| !taken.contains(&Some(**other))) {
        let at = pairs.partition_point(|pair| place(pair) < other.frequency_hz);
        pairs.insert(at, PeakPair { a: None, b: Some(*other) });
    }
    pairs
}

/// Stations whose diameters are taken to be wrong independently of each other.
fn knots(neck: &NeckBore) -> Vec<f64> {
    let length = neck.length_mm();
    let count = (length / KNOTS_MM).round().max(1.0) as usize;
    (0..=count).map(|k| length * k as f64 / count as f64).collect()
}

/// How a peak of a neck moves with the diameter at each knot; nothing where there is no peak.
pub(super) fn slopes(
    horn: &Horn,
    neck: &NeckBore,
    fingering: &Fingering,
    peak: Option<Peak>,
) -> Vec<f64> {
    let fingered = on(horn, neck, fingering, fingering.vent_open);
    peak.map(|peak| cents_per_mm(&fingered, &knots(neck), peak.frequency_hz)).unwrap_or_default()
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
