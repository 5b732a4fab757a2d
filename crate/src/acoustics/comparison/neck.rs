//! What is told of a neck by itself on a horn.

use crate::acoustics::contender::Contender;
use crate::acoustics::horn::{Fingering, Horn};
use crate::acoustics::impedance::cents;
use crate::acoustics::missing_cone::{MissingCone, volume_per_pull};
use crate::acoustics::neck_on_horn::NeckBore;
use crate::acoustics::notes::name_of;
use crate::acoustics::profile::{along, tenon_step, volume_mm3};

use super::peaks::{Seen, on, unvented};
use super::told::{NeckSaid, PulledNote, Pulling, Suits, VentOnPeak};

/// Stations of the profile that is told, mm apart.
const TOLD_EVERY_MM: f64 = 5.0;
/// Cork that must stay in the shank when the mouthpiece is pulled, mm. Common practice, no source.
const LEAST_GRIP_MM: f64 = 12.0;
/// Peaks of which it is told what the vent does to them.
const VENTED_PEAKS: usize = 3;

/// What opening the neck's vent does to the first three peaks.
pub(super) fn vented(
    horn: &Horn,
    neck: &NeckBore,
    fingering: &Fingering,
    seen: &Seen,
) -> Vec<VentOnPeak> {
    let open = unvented(horn, neck, fingering, true);
    // The first peak moves far: what is left of it is looked for up to the second.
    let before = if fingering.unvented.is_none() { seen.open.clone() } else { None };
    let peaks = before.unwrap_or_else(|| open.peaks(fingering.fundamental_hz, 1));
    let below = seen.shut.get(1).map_or(f64::MAX, |second| 0.9 * second.frequency_hz);
    let first = peaks.first().filter(|first| first.frequency_hz < below);
    (0..VENTED_PEAKS)
        .map(|index| {
            let before = seen.shut.get(index);
            let after = before.and_then(|peak| match index {
                0 => first.copied(),
                _ => open.peak_near(peak.frequency_hz),
            });
            let both = before.zip(after);
            VentOnPeak {
                peak: index + 1,
                is_there: before.is_some(),
                shift_cents: both.map(|(one, other)| cents(one.frequency_hz, other.frequency_hz)),
                height_ratio: both.map(|(one, other)| other.height_mpa_s_m3 / one.height_mpa_s_m3),
            }
        })
        .collect()
}

pub(super) fn said(horn: &Horn, contender: &Contender, seen: &[&Seen]) -> NeckSaid {
    let neck = &contender.bore;
    let (bore, length) = (&neck.neck.bore, neck.length_mm());
    let ends = &neck.ends;
    NeckSaid {
        name: contender.name.clone(),
        length_mm: length,
        volume_mm3: volume_mm3(bore, length),
        missing_cone: MissingCone::of(&neck.neck),
        tenon: tenon_step(bore, length, (horn.entry_diameter_mm, horn.entry_half_angle)),
        disturbed: ends.along(
            bore,
            (length, neck.vent.station),
            (&horn.mouthpiece, horn.entry_diameter_mm / 2.0),
        ),
        vent_suits: vent_suits(horn, neck, seen),
        pulling: pulling(horn, contender, seen),
        profile: along(neck, &told(neck)),
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

pub(super) fn every(length: f64) -> Vec<f64> {
    let count = (length / TOLD_EVERY_MM).floor() as usize;
    let mut stations: Vec<f64> = (0..=count).map(|k| k as f64 * TOLD_EVERY_MM).collect();
    if stations.last().is_some_and(|last| length - last > 1e-6) {
        stations.push(length);
    }
    stations
}

/// The note whose second resonance has no pressure at the vent: between two notes asked about the pressure changes its sign,
/// and the place between is taken in proportion.
fn vent_suits(horn: &Horn, neck: &NeckBore, seen: &[&Seen]) -> Option<Suits> {
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
            written: name_of(nearest as i32),
            cents_beyond: 100.0 * (exact - nearest),
            outside: false,
        })
    });
    // The node moves towards the cork end as notes rise: pressure not yet turned round means a higher note.
    between.or_else(|| {
        let (first, last) = (places.first()?, places.last()?);
        let nearest = if last.1 > 0.0 { last } else { first };
        let written = name_of(nearest.0);
        Some(Suits { written, cents_beyond: 0.0, outside: true })
    })
}

/// What pulling the mouthpiece does, from half a millimetre each way.
fn pulling(horn: &Horn, contender: &Contender, seen: &[&Seen]) -> Option<Pulling> {
    let mouthpiece = &contender.customer.mouthpiece;
    let by_pull = volume_per_pull(mouthpiece.shank_bore_mm);
    let half = 0.5e-9 * by_pull;
    let missing = MissingCone::of(&contender.bore.neck);
    let volumes = [horn.mouthpiece.volume - half, horn.mouthpiece.volume + half];
    let notes: Vec<PulledNote> = horn
        .fingerings
        .iter()
        .zip(seen)
        .map(|(fingering, seen)| {
            let here = on(horn, &contender.bore, fingering, fingering.vent_open);
            let found =
                seen.played.map(|peak| here.peaks_with_volumes(peak.frequency_hz, &volumes));
            let cents_per_mm = match found.as_deref() {
                Some(&[Some(pushed), Some(pulled)]) => Some(cents(pushed, pulled)),
                _ => None,
            };
            PulledNote { written: fingering.note.name.clone(), cents_per_mm }
        })
        .collect();
    let range_mm = (mouthpiece.deepest_push_mm - LEAST_GRIP_MM).max(0.0);
    let for_the_cone_mm =
        missing.map(|cone| (cone.volume_mm3 - horn.mouthpiece.volume * 1e9) / by_pull);
    (!notes.is_empty()).then_some(Pulling { range_mm, for_the_cone_mm, notes })
}
