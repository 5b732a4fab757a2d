//! A measuring sheet for a customer far away: what to measure on the horn, how, and how well.

use crate::exports::paper::pdf;
use crate::model::Model;

use super::super::card_file::CardFile;
use super::flow::{BODY, Flow, blank, column};

/// What, how, how well.
const ROWS: [(&str, &str, &str); 21] = [
    (
        "Receiver, inside, near the rim",
        "clamp loose, wiped clean; plug gauge or inside micrometer, across two directions a quarter turn apart",
        "0.01 mm (0.0005 in)",
    ),
    (
        "Receiver, inside, near the bottom",
        "the same, as deep as the tenon reaches",
        "0.01 mm (0.0005 in)",
    ),
    ("Receiver, outside", "calliper, beside the clamp", "0.1 mm"),
    ("Receiver, depth", "depth rod of the calliper, rim to the step inside", "0.2 mm"),
    (
        "Clamp screw, where",
        "how far below the rim its middle is, and on which side, seen by the player",
        "0.5 mm, 5 degrees",
    ),
    (
        "Clamp screw, how far out",
        "middle of the screw to the middle of the receiver; its length with the thumb piece",
        "0.5 mm",
    ),
    (
        "Octave pin, how far out",
        "outside of the pin to the outside of the receiver opposite, at rest; say so",
        "0.1 mm",
    ),
    ("Octave pin, diameter", "calliper", "0.05 mm"),
    ("Octave pin, height", "top of the pin above the receiver's rim", "0.2 mm"),
    (
        "Octave pin, travel",
        "how far it moves outward when the octave key is pressed fully, G fingered not",
        "0.1 mm",
    ),
    (
        "Old neck: tenon, outside",
        "micrometer, across two directions, near the end and near the collar",
        "0.01 mm (0.0005 in)",
    ),
    ("Old neck: tenon, length", "end to the collar's seat", "0.1 mm"),
    ("Old neck: inside at the cork end", "calliper, bare metal without cork", "0.05 mm"),
    (
        "Old neck: length",
        "a strip of paper laid along the outside of the bend and one along the inside, cork end to collar: both",
        "1 mm",
    ),
    (
        "Old neck: octave vent",
        "cork end to the middle of the vent, by a strip of paper along the top",
        "0.5 mm",
    ),
    (
        "Old neck: side view",
        "photo square from the side, from at least two metres, a ruler lying in the plane of the neck",
        "ruler in the picture",
    ),
    ("Mouthpiece: shank, inside", "calliper at the end, and 20 mm in", "0.05 mm"),
    ("Mouthpiece: shank, outside", "calliper at the end", "0.1 mm"),
    (
        "Mouthpiece: how far on",
        "end of the shank to the cork end of the neck, in tune; and pushed on as far as it goes",
        "0.5 mm",
    ),
    ("Pitch and warmth", "tuning note and room temperature when it was in tune", "1 Hz, 1 °C"),
    (
        "How far the neck is turned",
        "to which side of straight, and how far, when it is played",
        "5 degrees",
    ),
];

/// The sheet as a PDF file.
#[must_use]
pub fn measuring_sheet(model: &Model, file: &CardFile) -> Vec<u8> {
    let order = &model.job.order;
    let mut flow = Flow::new(file.paper.upright());
    flow.heading(&format!(
        "Measuring your horn for a neck: order {}, serial {}",
        order.number, order.serial
    ));
    flow.words(
        "Measure everything twice, on two days if you can, and write both down: a difference tells how well it went. Say which unit. Metal at room temperature, clean and dry. Where you have no such tool, leave the field empty rather than guess, or ask a repairer: a receiver that is off by a hundredth of a millimetre decides whether the neck leaks.",
        BODY,
        0.0,
    );
    flow.gap(1.5);
    let rows: Vec<Vec<String>> = ROWS
        .iter()
        .map(|(what, how, well)| {
            vec![what.to_string(), how.to_string(), well.to_string(), String::new(), String::new()]
        })
        .collect();
    flow.table(
        &[
            column("what", 2.1),
            column("how", 3.6),
            column("how well", 1.4),
            blank("first", 1.1),
            blank("second", 1.1),
        ],
        &rows,
        BODY,
    );
    flow.words("Tools used, with their makers' stated accuracy; your name, the date:", BODY, 0.0);
    flow.lines(2);
    let low = flow.room(8.0);
    flow.sheet().check_bar(low);
    pdf(
        &format!("Measuring sheet, order {}", order.number),
        &flow.finished(
            "measuring sheet",
            &format!("Order {}, serial {}", order.number, order.serial),
        ),
    )
}
