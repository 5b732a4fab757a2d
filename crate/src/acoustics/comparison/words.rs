//! A comparison in words.

use crate::job::Violation;

use super::CAUTION;
use super::told::{HornSaid, NeckSaid, NoteCompared, OctaveCompared, OctaveRatio};

/// "goes up by 4.2 cents", "goes down by 0.3 cents", "stays".
fn moved(shift: f64) -> String {
    if shift.abs() < 0.05 {
        return "stays".to_owned();
    }
    let way = if shift > 0.0 { "up" } else { "down" };
    format!("goes {way} by {:.1} cents", shift.abs())
}

pub(super) fn in_words(
    a: &NeckSaid,
    b: &NeckSaid,
    notes: &[NoteCompared],
    octaves: &[OctaveCompared],
    horn: &HornSaid,
    broken: &[Violation],
) -> Vec<String> {
    let mut words = Vec::new();
    words.push(format!(
        "From {} to {}, both on the horn and mouthpiece of {}’s job:",
        a.name, b.name, horn.of
    ));
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
        let wide = |ratio: &Option<OctaveRatio>| match ratio {
            Some(ratio) => format!("{:.1} cents beyond the octave", ratio.wide_cents),
            None => "not to be found".to_owned(),
        };
        words.push(format!(
            "Over {}, vent shut, the second resonance is {} on the first neck, {} on the second.",
            octave.written,
            wide(&octave.a),
            wide(&octave.b)
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
    for neck in [a, b] {
        words.push(cone(neck, horn));
        words.extend(pulling(neck));
        words.push(format!(
            "At the tenon of {} the horn’s bore is {:+.2} mm wider and its half-angle {:+.2}° steeper.",
            neck.name, neck.tenon.step_mm, neck.tenon.angle_change_deg
        ));
    }
    let bare = &horn.without_vent;
    if !bare.is_empty() {
        words.push(format!(
            "{} {} played with an octave vent on the body, which is not in this horn: without it, the second resonance stands for {}.",
            bare.join(", "),
            if bare.len() == 1 { "is" } else { "are" },
            if bare.len() == 1 { "the note" } else { "them" },
        ));
    }
    for other in &horn.not_used {
        words.push(format!(
            "The job of {} has {} of {} mm; both necks stand on the first’s, {} mm.",
            b.name, other.path, other.says_mm, other.used_mm
        ));
    }
    for broken in broken {
        words.push(format!("{} cannot be made as its job stands: {broken}", b.name));
    }
    if horn.stand_in {
        words.push("The body of the horn is a plain cone that stands in for the real one: it has no holes and no bell. Differences between the necks are worth more than any number by itself.".to_owned());
    }
    words.push(CAUTION.to_owned());
    words
}

/// What the mouthpiece must hold in place of the missing cone.
fn cone(neck: &NeckSaid, horn: &HornSaid) -> String {
    match &neck.missing_cone {
        Some(cone) => format!(
            "{} is missing {:.1} mm of its cone, {:.2} cm³, which the mouthpiece must hold for the octaves to come true; it is taken to hold {:.2} cm³.",
            neck.name,
            cone.length_mm,
            cone.volume_mm3 * 1e-3,
            horn.mouthpiece_volume_mm3 * 1e-3
        ),
        None => format!("{} does not widen from end to end: no cone is missing.", neck.name),
    }
}

/// How far pulling tunes the notes.
fn pulling(neck: &NeckSaid) -> Option<String> {
    let pulling = neck.pulling.as_ref()?;
    let told: Vec<(&str, f64)> = pulling
        .notes
        .iter()
        .filter_map(|note| Some((note.written.as_str(), note.cents_per_mm? * pulling.range_mm)))
        .collect();
    let by = |(_, one): &&(&str, f64), (_, other): &&(&str, f64)| one.total_cmp(other);
    let (most, least) = (told.iter().min_by(by)?, told.iter().max_by(by)?);
    Some(format!(
        "On {} the mouthpiece can be pulled by {:.1} mm, which by its first millimetre moves {} by about {:+.0} cents and {} by {:+.0}.",
        neck.name, pulling.range_mm, least.0, least.1, most.0, most.1
    ))
}
