//! The job card as sheets of paper: what goes round the shop with the neck.

mod flow;
mod measuring;
mod side_view;

use glam::DVec2;

use crate::exports::paper::{Anchor, Pen, pdf};
use crate::job::Voice;
use crate::job::parameters::ValuesAre;
use crate::model::Model;
use crate::solids::SolidError;

use super::card_file::CardFile;
use super::job_card::JobCard;
use super::numbers::Number;

use flow::{BODY, Flow, SMALL, blank, column};
use side_view::SideView;

pub use measuring::measuring_sheet;

/// Said where the numbers were not measured.
const STARTING: &str = "STARTING VALUES: the job's numbers are from memory or invented. Measure horn and mouthpiece, put them into the job and print this card again before any metal is cut.";

/// The card as a PDF file, to be printed at 100 %.
///
/// # Errors
///
/// A part that cannot be divided for the drawing.
pub fn card_pdf(model: &Model, file: &CardFile, card: &JobCard) -> Result<Vec<u8>, SolidError> {
    let mut flow = Flow::new(file.paper.upright());
    front(&mut flow, model, card)?;
    dimensions(&mut flow, card);
    stock(&mut flow, card);
    work(&mut flow, card);
    tenon(&mut flow, card);
    heat(&mut flow, card);
    holes(&mut flow, card);
    pull_down(&mut flow, card);
    tight(&mut flow, card);
    as_made(&mut flow);
    let foot = format!(
        "Job card: order {}, serial {}, revision {}. Numbers with their sources: card.json",
        card.order, card.serial, card.revision
    );
    let title = format!("Job card, order {}, serial {}", card.order, card.serial);
    Ok(pdf(&title, &flow.finished(&foot)))
}

fn voice(voice: Voice) -> &'static str {
    match voice {
        Voice::Soprano => "soprano",
        Voice::Alto => "alto",
        Voice::Tenor => "tenor",
        Voice::Baritone => "baritone",
    }
}

/// Whose neck it is, and the drawing.
fn front(flow: &mut Flow, model: &Model, card: &JobCard) -> Result<(), SolidError> {
    let low = flow.room(19.0);
    let width = flow.width();
    let sheet = flow.sheet();
    sheet.text(low + DVec2::new(0.0, 12.2), 8.0, "Job card", Anchor::Start);
    let metal = model.job.tube.metal();
    let fields = [
        ("order", card.order.clone(), 0.16),
        ("serial", card.serial.clone(), 0.14),
        ("revision", card.revision.clone(), 0.09),
        ("horn", voice(card.horn_voice).to_string(), 0.12),
        ("metal of the tube", format!("{} ({})", metal.name(), metal.id()), 0.29),
        ("begun / done", String::new(), 0.2),
    ];
    let mut x = low.x;
    for (name, words, share) in fields {
        let corner = DVec2::new(x, low.y);
        let size = DVec2::new(width * share, 9.5);
        sheet.frame(corner, corner + size, Pen::solid(0.2));
        sheet.text(corner + DVec2::new(1.0, 6.8), 2.1, name, Anchor::Start);
        // A long number is written smaller rather than over its neighbour.
        let room = size.x - 2.0;
        let wide = crate::exports::paper::text_width(&words, 3.6);
        let letters = if wide > room { 3.6 * room / wide } else { 3.6 };
        sheet.text(corner + DVec2::new(1.0, 2.0), letters, words, Anchor::Start);
        x += size.x;
    }
    flow.gap(2.5);
    if card.values_are == ValuesAre::StartingValues {
        flow.boxed(STARTING, BODY);
    }
    flow.caution(card.caution, 0.0);
    if !card.note.is_empty() {
        flow.gap(1.0);
        flow.words(&format!("Note: {}", card.note), SMALL, 0.0);
    }
    let view = SideView::of(model, DVec2::new(width, 150.0))?;
    flow.heading(&format!(
        "Cut in the plane of the bend, from the player's right, {} (stations in mm)",
        view.scale
    ));
    let corner = flow.room(view.size.y + 6.0);
    let middle = DVec2::new((width - view.size.x) / 2.0, 6.0);
    view.put(flow.sheet(), corner + middle);
    flow.sheet().check_bar(corner + DVec2::new(0.0, 0.8));
    flow.gap(2.0);
    Ok(())
}

fn dimensions(flow: &mut Flow, card: &JobCard) {
    flow.heading("Dimensions to work to");
    let cells: Vec<[String; 3]> = card
        .dimensions
        .list
        .iter()
        .map(|row| {
            let fine = row.part == "tenon" && row.what.starts_with("outside");
            let size = row.size.said(if fine { 3 } else { 2 });
            [format!("{}: {}", named(row.part), row.what), size, String::new()]
        })
        .collect();
    // Two columns, read down the left one first.
    let half = cells.len().div_ceil(2);
    let rows: Vec<Vec<String>> = cells
        .iter()
        .take(half)
        .enumerate()
        .map(|(index, left)| {
            let right = cells.get(half + index).cloned().unwrap_or_default();
            left.iter().cloned().chain(right).collect()
        })
        .collect();
    let side = [column("what", 3.3), column("size", 2.0), blank("measured", 1.3)];
    flow.table(&[side, side].concat(), &rows, SMALL);
    let rows: Vec<Vec<String>> = card
        .dimensions
        .stations
        .iter()
        .map(|row| {
            vec![
                row.station.short(1),
                row.inside.said(2),
                row.outside.said(2),
                String::new(),
                String::new(),
            ]
        })
        .collect();
    flow.table(
        &[
            column("station", 1.0),
            column("inside", 1.8),
            column("outside", 1.8),
            blank("measured inside", 1.5),
            blank("measured outside", 1.5),
        ],
        &rows,
        BODY,
    );
}

/// Short names of parts in words.
fn named(part: &str) -> String {
    part.replace('_', " ")
}

fn stock(flow: &mut Flow, card: &JobCard) {
    for (from, title) in [
        ("cut", "Cut list: sheet, strip and rod; flat parts to the cutting shop by send_out"),
        ("turned", "To turn, or to send to the machine shop by send_out"),
        ("bought", "Bought"),
    ] {
        let rows: Vec<Vec<String>> = card
            .stock
            .iter()
            .filter(|row| row.from == from)
            .map(|row| {
                let blank = match (row.length.value, row.width.value) {
                    (Some(length), Some(width)) => format!("{length:.1} x {width:.1} mm"),
                    (Some(length), None) => format!("{length:.1} mm long"),
                    _ if row.part == "tube" => "two half shells by lay_blanks".into(),
                    _ => String::new(),
                };
                let thick = row.thickness.value.map_or(String::new(), |mm| format!("{mm:.2} mm"));
                vec![
                    row.name.to_string(),
                    row.metal.to_string(),
                    row.temper.to_string(),
                    thick,
                    blank,
                    row.made_by.to_string(),
                ]
            })
            .collect();
        if rows.is_empty() {
            continue;
        }
        flow.heading(title);
        flow.table(
            &[
                column("part", 1.4),
                column("metal", 1.3),
                column("temper", 1.6),
                column("thick", 0.9),
                column("blank", 2.0),
                column("how", 2.4),
            ],
            &rows,
            SMALL,
        );
    }
    if let [first, second, ..] = card.wall.gauges.as_slice() {
        flow.words(
            &format!(
                "Sheet gauges (ASTM B258) beside the wall of {}: {} = {}, {} = {}.",
                card.wall.drawn.short(2),
                first.gauge,
                first.thickness.short(3),
                second.gauge,
                second.thickness.short(3)
            ),
            SMALL,
            0.0,
        );
    }
}

fn work(flow: &mut Flow, card: &JobCard) {
    flow.heading("Order of work");
    for (index, step) in card.steps.iter().enumerate() {
        // A step stays together on one sheet: about two lines a hundred and ten small letters long, and its cautions.
        let letters: usize =
            step.how.len() + step.cautions.iter().map(|words| words.len()).sum::<usize>();
        flow.need(26.0 + SMALL * 1.32 * (letters as f64 / 110.0));
        flow.gap(1.2);
        flow.tick(&format!("{}  {}", index + 1, step.title), 3.5);
        flow.words(&step.how, SMALL, 7.0);
        if !step.numbers.is_empty() {
            let numbers: Vec<String> = step
                .numbers
                .iter()
                .map(|row| format!("{} {}", row.what, row.number.said(row.decimals)))
                .collect();
            flow.words(&numbers.join(";  "), BODY, 7.0);
        }
        if !step.cautions.is_empty() {
            flow.caution(&step.cautions.join(" "), 7.0);
        }
        flow.measured(&step.measure, 7.0);
    }
}

fn tenon(flow: &mut Flow, card: &JobCard) {
    let tenon = &card.tenon;
    flow.heading("Tenon and receiver");
    for words in tenon.contradictions.iter().chain(&tenon.words) {
        flow.words(words, SMALL, 0.0);
    }
    let with_inches = |mm: &Number, inch: &Number| match mm.value {
        Some(_) => format!("{} = {}", mm.said(3), inch.said(4)),
        None => mm.said(3),
    };
    flow.words(
        &format!(
            "Receiver {}. Taper {}. Out of round {}.",
            with_inches(&tenon.receiver, &tenon.receiver_inch),
            tenon.taper.said(3),
            tenon.out_of_round.said(3)
        ),
        BODY,
        0.0,
    );
    flow.words(
        &format!(
            "Tenon finished {}; turned to {}.",
            with_inches(&tenon.target, &tenon.target_inch),
            tenon.turned_to.said(3)
        ),
        BODY,
        0.0,
    );
    flow.gap(1.0);
    let rows: Vec<Vec<String>> = tenon
        .fits
        .iter()
        .map(|row| {
            let chosen = if row.chosen { "  chosen" } else { "" };
            vec![
                format!("{} {}{chosen}", row.name, row.kind),
                row.clearance.said(3),
                row.tenon.said(3),
            ]
        })
        .collect();
    flow.table(
        &[column("fit", 1.6), column("clearance on the diameter", 1.5), column("tenon", 1.7)],
        &rows,
        SMALL,
    );
}

fn heat(flow: &mut Flow, card: &JobCard) {
    flow.heading("Heat in order");
    let rows: Vec<Vec<String>> = card
        .heat
        .joints
        .iter()
        .map(|row| {
            vec![
                format!(
                    "{} {}",
                    if row.work == super::heat_order::Work::Neck { "neck" } else { "key" },
                    row.heat
                ),
                row.name.to_string(),
                format!("{} ({})", row.filler, row.composition),
                format!("{} to {}", row.solidus.short(0), row.liquidus.short(0)),
                row.gap.short(2),
                row.area.short(0),
                row.wire.said(0),
                row.metal_margin.short(0),
            ]
        })
        .collect();
    flow.table(
        &[
            column("heat", 0.8),
            column("joint", 1.6),
            column("filler", 2.7),
            column("melts", 1.8),
            column("gap", 0.8),
            column("area", 0.9),
            column("wire to feed", 1.3),
            column("below metal", 1.0),
        ],
        &rows,
        SMALL,
    );
    for flag in &card.heat.flags {
        flow.caution(&flag.words, 0.0);
    }
    for words in &card.heat.no_order {
        flow.words(words, BODY, 0.0);
    }
    if card.heat.no_order.is_empty() {
        let heats: Vec<String> = card
            .heat
            .suggested
            .iter()
            .map(|heat| {
                let work = if heat.work == super::heat_order::Work::Neck { "neck" } else { "key" };
                format!("{work} {}: {} ({})", heat.heat, heat.joints.join(", "), heat.filler)
            })
            .collect();
        flow.words(
            &format!(
                "Order that keeps earlier joints safe: {}.",
                heats.join("; ").replace('_', " ")
            ),
            SMALL,
            0.0,
        );
    }
}

fn holes(flow: &mut Flow, card: &JobCard) {
    flow.heading("Holes and threads");
    let rows: Vec<Vec<String>> = card
        .holes
        .holes
        .iter()
        .map(|row| {
            let thread = row.thread.as_ref().map_or(String::new(), |cut| {
                format!(
                    "{}: {} thread, {} in the metal (asked {}), {}",
                    cut.tap,
                    cut.share.short(0),
                    cut.engagement.short(1),
                    cut.engagement_asked.short(1),
                    cut.turns.short(1)
                )
            });
            vec![named(row.part), row.what.clone(), row.drill.said(2), row.depth.short(1), thread]
        })
        .collect();
    flow.table(
        &[
            column("part", 1.1),
            column("what", 3.0),
            column("drill or ream", 1.9),
            column("deep", 0.9),
            column("thread", 2.6),
        ],
        &rows,
        SMALL,
    );
    flow.words(
        &format!(
            "Hinge screw {}: {} under the head, {} of it plain.",
            card.holes.screw_diameter.short(2),
            card.holes.screw_length.said(2),
            card.holes.screw_plain.short(2)
        ),
        SMALL,
        0.0,
    );
}

fn pull_down(flow: &mut Flow, card: &JobCard) {
    flow.heading("Will it pull down?");
    for words in &card.pull_down.words {
        flow.words(words, SMALL, 0.0);
    }
    let margin = |number: &Number| match number.limits() {
        Some((low, high)) if (high - low) < 0.05 => format!("{low:.1}"),
        Some((low, high)) => format!("{low:.1} to {high:.1}"),
        None => "not known".into(),
    };
    for direction in &card.pull_down.directions {
        flow.words(
            &format!(
                "{} {} on the mouthpiece (a load to start from, a guess). Without the brace the hand goes {}, greatest stress {}; the brace itself bears {}.",
                direction.load.short(0),
                direction.what,
                direction.moved_without_brace.said(2),
                direction.stress_without_brace.said(0),
                direction.brace_stress.said(0)
            ),
            SMALL,
            0.0,
        );
    }
    flow.gap(0.8);
    let [down, sideways] = card.pull_down.directions.as_slice() else { return };
    let rows: Vec<Vec<String>> = down
        .metals
        .iter()
        .zip(&sideways.metals)
        .map(|(row, other)| {
            let own = if row.of_job { "THIS NECK: " } else { "" };
            let moved = match (row.moved.value, row.margin_as_soldered.value) {
                (Some(_), _) => row.moved.short(2),
                (None, Some(_)) => "stays bent".into(),
                (None, None) => "not known".into(),
            };
            vec![
                format!("{own}{} {}", row.name, row.metal),
                row.yield_soft.short(0),
                row.yield_worked.short(0),
                moved,
                format!("{} at {}", row.stress.short(0), row.station.short(0)),
                margin(&row.margin_soft),
                margin(&row.margin_worked),
                margin(&row.margin_as_soldered),
                format!("{} / {}", margin(&other.margin_soft), margin(&other.margin_as_soldered)),
            ]
        })
        .collect();
    flow.words("Yield over stress, least to greatest of the sources:", SMALL, 0.0);
    flow.table(
        &[
            column("metal of the tube", 2.6),
            column("yields soft", 1.1),
            column("yields hammered", 1.2),
            column("down: goes", 1.1),
            column("greatest stress", 1.8),
            column("soft", 1.1),
            column("hammered", 1.1),
            column("as soldered", 1.1),
            column("sideways: soft / as soldered", 1.9),
        ],
        &rows,
        SMALL,
    );
}

fn tight(flow: &mut Flow, card: &JobCard) {
    flow.heading("Tight rows of the clearance list");
    let rows: Vec<Vec<String>> = card
        .tight_rows
        .iter()
        .map(|row| {
            vec![
                if row.ok { String::new() } else { "FAILS".into() },
                row.gap.short(2),
                named(
                    &row.words
                        .split_once(", ")
                        .map_or(row.words.clone(), |(_, rest)| rest.to_string()),
                ),
                row.by_hand.value.map_or(String::new(), |left| format!("{left:.2} mm")),
                String::new(),
            ]
        })
        .collect();
    flow.table(
        &[
            column("", 0.7),
            column("gap", 0.9),
            column("between", 4.4),
            column("left by hands", 1.1),
            blank("measured", 1.4),
        ],
        &rows,
        BODY,
    );
}

/// What is written down of the finished neck.
fn as_made(flow: &mut Flow) {
    flow.need(70.0);
    flow.heading(
        "As made: put it into the record (job_card --made), so that the neck can be made again",
    );
    let fields = ["tenon as fitted", "mass", "wall at the bend", "pad lift", "date"];
    flow.measured(&fields.map(str::to_string)[..3], 0.0);
    flow.measured(&fields.map(str::to_string)[3..], 0.0);
    flow.gap(2.0);
    flow.words("Play test, and what to change next time:", BODY, 0.0);
    flow.lines(4);
}
