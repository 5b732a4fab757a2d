//! What came of an aim, in words.

use super::problem::{REACHED_CENTS, Sought, WITHIN_DEG};
use super::{Aimed, AimedNote};

pub(super) fn in_words(aimed: &Aimed, sought: &Sought) -> Vec<String> {
    let (off, most) = (sought.change.off, aimed.most_change_mm);
    let lost: Vec<&str> = aimed
        .notes
        .iter()
        .filter(|note| note.got_cents.is_none())
        .map(|note| note.written.as_str())
        .collect();
    let mut words = vec![if aimed.reached {
        format!(
            "The aim is reached within {off:.2} cents, with no diameter changed by more than {most:.2} mm."
        )
    } else if off <= REACHED_CENTS {
        format!(
            "The aim is not reached: the wanted notes would come within {off:.2} cents, but the bore cannot be made so."
        )
    } else if off.is_finite() {
        format!(
            "The aim is not reached: the wanted notes are still {off:.1} cents off in the mean square, with the diameters changed by up to {most:.2} mm."
        )
    } else {
        "The aim is not reached: a wanted note is lost.".to_owned()
    }];
    if !lost.is_empty() {
        words.push(format!("No peak is left for {}.", lost.join(", ")));
    }
    if sought.change.beyond_deg > WITHIN_DEG {
        words.push(format!(
            "Between its rows the new bore passes a limit of the half-angle by {:.3}°.",
            sought.change.beyond_deg
        ));
    }
    if sought.cut_short || !sought.change.settled {
        words.push(
            "The search could not be brought to its end: there may be a bore that comes nearer."
                .to_owned(),
        );
    }
    for broken in &aimed.broken {
        words.push(format!("The new bore cannot be made as this neck: {broken}"));
    }
    if !aimed.held_by.is_empty() {
        let names: Vec<&str> = aimed.held_by.iter().map(|name| limit_name(name)).collect();
        words.push(format!("The new bore stands at these limits: {}.", names.join(", ")));
    }
    words.extend(aimed.notes.iter().filter_map(of_note));
    for octave in &aimed.octaves_worse {
        let (written, before) = (&octave.written, octave.before_cents);
        words.push(match octave.after_cents {
            Some(after) => format!(
                "The octave over {written} comes out less true: {after:+.1} cents beyond 2, before {before:+.1}."
            ),
            None => format!("The octave over {written} is lost: no second peak is left."),
        });
    }
    words.push(crate::acoustics::comparison::CAUTION.to_owned());
    words
}

/// A note that was wanted or gets worse.
fn of_note(note: &AimedNote) -> Option<String> {
    let (cents, db) = note.got_cents.zip(note.height_change_db)?;
    let got = format!("{:+.1} cents, its peak {:+.1} dB", tenths(cents), tenths(db));
    match note.wanted_cents {
        Some(wanted) => Some(format!("{}: wanted {wanted:+.1} cents, moves {got}.", note.written)),
        None if note.gets_worse => Some(format!("{} was to stay and moves {got}.", note.written)),
        None => None,
    }
}

/// To a tenth, and never a nothing with a minus before it.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// What a limit is called.
fn limit_name(field: &str) -> &str {
    match field {
        "most_change_mm" => "most change of a diameter",
        "least_diameter_mm" => "least diameter",
        "greatest_diameter_mm" => "greatest diameter",
        "least_half_angle_deg" => "least half-angle",
        "greatest_half_angle_deg" => "greatest half-angle",
        "vent" => "room for the vent",
        other => other,
    }
}
