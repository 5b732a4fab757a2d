//! The job card as sheets of paper: what goes round the shop with the neck.

mod drawing;
mod flow;
mod measuring;
mod side_view;

use glam::DVec2;

use crate::exports::paper::{Anchor, Pen, Sheet, pdf, svg};
use crate::job::Voice;
use crate::job::parameters::ValuesAre;
use crate::model::Model;
use crate::solids::SolidError;

use super::card_file::CardFile;
use super::dimensions::StationRow;
use super::job_card::JobCard;
use super::numbers::Number;
use super::order_of_work::WIRE;

use flow::{BODY, Flow, SMALL, TICKED, blank, column};
use side_view::SideView;

pub use measuring::measuring_sheet;

/// Said where the numbers were not measured.
const STARTING: &str = "STARTING VALUES: the job's numbers are from memory or invented. Measure horn and mouthpiece, put them into the job and print this card again before any metal is cut.";

/// The card as a PDF file, to be printed at 100 %: the drawing with its dimensions, then the order of work and the lists in
/// two columns.
///
/// # Errors
///
/// A part that cannot be divided for the drawing.
pub fn card_pdf(model: &Model, file: &CardFile, card: &JobCard) -> Result<Vec<u8>, SolidError> {
    Ok(pdf(&title(card), &sheets(model, file, card)?))
}

/// The same sheets as SVG files of their true size, for a browser to show and to print.
///
/// # Errors
///
/// A part that cannot be divided for the drawing.
pub fn card_svgs(
    model: &Model,
    file: &CardFile,
    card: &JobCard,
) -> Result<Vec<Vec<u8>>, SolidError> {
    Ok(sheets(model, file, card)?.iter().map(|sheet| svg(&title(card), sheet)).collect())
}

fn title(card: &JobCard) -> String {
    format!("Job card, order {}, serial {}", card.order, card.serial)
}

fn sheets(model: &Model, file: &CardFile, card: &JobCard) -> Result<Vec<Sheet>, SolidError> {
    let mut flow = Flow::new(file.paper.upright());
    front(&mut flow, model, card)?;
    flow.columns(2);
    stock(&mut flow, card);
    work(&mut flow, card);
    for list in [holes, heat, tight, strength] {
        flow.together(|flow| list(flow, card));
    }
    flow.together(as_made);
    let foot = format!(
        "Order {}, serial {}, revision {}. Every number with its source: card.json",
        card.order, card.serial, card.revision
    );
    Ok(flow.finished("job card", &foot))
}

/// What stands behind the card, as a PDF file: the fits beside each other, and what the load does to each metal.
#[must_use]
pub fn workings(file: &CardFile, card: &JobCard) -> Vec<u8> {
    let mut flow = Flow::new(file.paper.upright());
    flow.words("Workings of the job card", 6.0, 0.0);
    tenon(&mut flow, card);
    pull_down(&mut flow, card);
    let foot = format!(
        "Order {}, serial {}. Every number with its source: card.json",
        card.order, card.serial
    );
    pdf(
        &format!("Workings, order {}, serial {}", card.order, card.serial),
        &flow.finished("workings", &foot),
    )
}

/// Rows of the clearance list on the card, and whatever fails.
const TIGHT_ROWS: usize = 10;
/// Room under the drawing for the bar that is measured, mm.
const BAR: f64 = 5.0;
/// Room for a heading, mm.
const TITLE: f64 = 9.0;

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
    let low = flow.room(9.5);
    let titled = 31.0;
    let width = flow.width() - titled;
    let sheet = flow.sheet();
    sheet.text(low + DVec2::new(0.0, 2.0), 7.0, "Job card", Anchor::Start);
    let metal = model.job.tube.metal();
    let fields = [
        ("order", card.order.clone(), 0.16),
        ("serial", card.serial.clone(), 0.14),
        ("revision", card.revision.clone(), 0.11),
        ("horn", voice(card.horn_voice).to_string(), 0.12),
        ("metal of the tube", format!("{} ({})", metal.name(), metal.id()), 0.27),
        ("begun / done", String::new(), 0.2),
    ];
    let mut x = low.x + titled;
    for (name, words, share) in fields {
        let corner = DVec2::new(x, low.y);
        let size = DVec2::new(width * share, 9.5);
        sheet.frame(corner, corner + size, Pen::solid(0.2));
        sheet.text(corner + DVec2::new(1.0, 6.5), SMALL, name, Anchor::Start);
        // A long number is written smaller rather than over its neighbour.
        let room = size.x - 2.0;
        let wide = crate::exports::paper::text_width(&words, 3.6);
        let letters = if wide > room { 3.6 * room / wide } else { 3.6 };
        sheet.text(corner + DVec2::new(1.0, 2.0), letters, words, Anchor::Start);
        x += size.x;
    }
    flow.gap(1.8);
    if card.values_are == ValuesAre::StartingValues {
        flow.boxed(STARTING, SMALL);
    }
    flow.caution(card.caution, 0.0);
    if !card.note.is_empty() {
        flow.gap(0.6);
        flow.words(&format!("Note: {}", card.note), SMALL, 0.0);
    }
    // The drawing is as large as the dimensions under it leave room for.
    let under = |flow: &mut Flow| {
        dimensions(flow, card);
        stations(flow, card);
    };
    let below = flow.height_of(under);
    let room = DVec2::new(flow.width(), flow.left_over() - below - BAR - TITLE);
    let view = SideView::of(model, card, room)?;
    flow.heading(&format!(
        "Cut in the plane of the bend, from the player's right, {}; mm, stations along the centreline",
        view.scale
    ));
    let spare = (room.y - view.size.y).max(0.0);
    let corner = flow.room(view.size.y + spare + BAR);
    let middle = DVec2::new((flow.width() - view.size.x) / 2.0, BAR + spare / 2.0);
    view.put(flow.sheet(), corner + middle);
    flow.sheet().check_bar(corner + DVec2::new(0.0, 0.8));
    under(flow);
    Ok(())
}

/// Every dimension with a place for the measured one, in two columns that are read down the left one first.
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
    let side = [column("what", 3.4), column("size", 1.9), blank("measured", 1.2)];
    flow.table(&[side, side].concat(), &rows, SMALL);
}

/// The tube at its stations, side by side.
fn stations(flow: &mut Flow, card: &JobCard) {
    let rows = &card.dimensions.stations;
    let off = rows.first().map(|row| {
        let off = |number: &Number| {
            number.tolerance.map_or(String::new(), |[_, off]| format!("±{off:.1}"))
        };
        format!(", mm: inside {}, outside {}", off(&row.inside), off(&row.outside))
    });
    flow.heading(&format!("Tube at its stations{}", off.unwrap_or_default()));
    let line = |name: &str, pick: fn(&StationRow) -> &Number, decimals: usize| -> Vec<String> {
        let cells = rows
            .iter()
            .map(|row| pick(row).value.map_or("not known".into(), |mm| format!("{mm:.decimals$}")));
        std::iter::once(name.to_string()).chain(cells).collect()
    };
    let white = |name: &str| -> Vec<String> {
        std::iter::once(name.to_string()).chain(rows.iter().map(|_| String::new())).collect()
    };
    let mut columns = vec![column("", 1.5)];
    columns.extend(rows.iter().map(|_| column("", 1.0)));
    let told = [
        line("station", |row| &row.station, 1),
        line("inside", |row| &row.inside, 2),
        line("outside", |row| &row.outside, 2),
    ];
    flow.rows(&columns, &told, SMALL);
    for column in columns.iter_mut().skip(1) {
        column.blank = true;
    }
    flow.rows(&columns, &[white("is inside"), white("is outside")], SMALL);
}

/// Short names of parts in words.
fn named(part: &str) -> String {
    part.replace('_', " ")
}

fn stock(flow: &mut Flow, card: &JobCard) {
    for (from, title) in [
        ("cut", "Cut list; flat parts go to the cutting shop (send_out)"),
        ("turned", "To turn, or for the machine shop (send_out)"),
        ("bought", "Bought"),
    ] {
        let mut rows: Vec<Vec<String>> = Vec::new();
        for row in card.stock.iter().filter(|row| row.from == from) {
            let blank = match (row.length.value, row.width.value) {
                (Some(length), Some(width)) => format!("{length:.1} x {width:.1}"),
                (Some(length), None) => format!("{length:.1} long"),
                _ if row.part == "tube" => "two halves by lay_blanks".into(),
                _ => String::new(),
            };
            let thick = row.thickness.value.map_or(String::new(), |mm| format!("{mm:.2} x "));
            let sized = format!("{thick}{blank}");
            let made = match from {
                "cut" if !sized.is_empty() => sized.trim_end_matches(" x ").to_string(),
                _ => row.made_by.to_string(),
            };
            let metal = format!("{}, {}", named(row.metal), row.temper);
            // What is made alike stands in one row, unless it is a size.
            let alike = rows.iter_mut().find(|known| {
                from != "cut" && known.get(1) == Some(&metal) && known.get(2) == Some(&made)
            });
            match alike.and_then(|known| known.first_mut()) {
                Some(names) => {
                    names.push_str(", ");
                    names.push_str(row.name);
                }
                None => rows.push(vec![row.name.to_string(), metal, made]),
            }
        }
        if rows.is_empty() {
            continue;
        }
        let sized = if from == "cut" { "thickness and blank, mm" } else { "how" };
        flow.heading(title);
        flow.table(
            &[column("part", 1.1), column("metal, temper", 1.8), column(sized, 1.8)],
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
        flow.together(|flow| {
            if index > 0 && !flow.is_at_top() {
                flow.rule();
            }
            flow.gap(0.7);
            flow.tick(&format!("{}  {}", index + 1, step.title), BODY);
            flow.words(&step.how, SMALL, TICKED);
            let mut numbers: Vec<String> = step
                .numbers
                .iter()
                .filter(|row| !row.what.starts_with(WIRE))
                .map(|row| format!("{} {}", row.what, row.number.said(row.decimals)))
                .collect();
            if numbers.len() < step.numbers.len() {
                numbers.push("wire to feed: table Heat in order".into());
            }
            if !numbers.is_empty() {
                flow.words(&numbers.join(";  "), BODY, TICKED);
            }
            if !step.cautions.is_empty() {
                flow.caution(&step.cautions.join(" "), TICKED);
            }
            flow.measured(&step.measure, TICKED);
        });
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
            let chosen = if row.chosen { " (chosen)" } else { "" };
            vec![
                format!("{}: {}{chosen}", row.name, row.kind),
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
            let work = if row.work == super::heat_order::Work::Neck { "neck" } else { "key" };
            vec![
                format!("{work} {}", row.heat),
                row.name.to_string(),
                row.filler.to_string(),
                row.gap.value.map_or("not known".into(), |mm| format!("{mm:.2}")),
                bare(&row.area),
                row.wire.said(0),
            ]
        })
        .collect();
    flow.table(
        &[
            column("heat", 1.0),
            column("joint", 2.2),
            column("filler", 1.3),
            column("gap, mm", 1.1),
            column("mm²", 0.8),
            column("wire", 1.6),
        ],
        &rows,
        SMALL,
    );
    let mut fillers: Vec<&str> = Vec::new();
    for joint in &card.heat.joints {
        if !fillers.contains(&joint.filler) {
            fillers.push(joint.filler);
            let melts = format!("{} to {}", bare(&joint.solidus), joint.liquidus.short(0));
            let words = format!("{} ({}) melts at {melts}.", joint.filler, joint.composition);
            flow.words(&words, SMALL, 0.0);
        }
    }
    for flag in &card.heat.flags {
        flow.caution(&flag.words, 0.0);
    }
    for words in &card.heat.no_order {
        flow.words(words, BODY, 0.0);
    }
    // The order stands above already, unless another one is better.
    if card.heat.no_order.is_empty() && !card.heat.flags.is_empty() {
        let heats: Vec<String> = card
            .heat
            .suggested
            .iter()
            .map(|heat| {
                let work = if heat.work == super::heat_order::Work::Neck { "neck" } else { "key" };
                format!("{work} {}: {} ({})", heat.heat, heat.joints.join(", "), heat.filler)
            })
            .collect();
        let words = heats.join("; ").replace('_', " ");
        flow.words(&format!("Order that keeps earlier joints safe: {words}."), SMALL, 0.0);
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
                    ": tap {}, {} thread, {} in the metal of {} asked",
                    cut.tap,
                    cut.share.short(0),
                    cut.engagement.short(1),
                    cut.engagement_asked.short(1)
                )
            });
            vec![format!("{}{thread}", row.what), row.drill.said(2), row.depth.short(1)]
        })
        .collect();
    flow.table(
        &[column("hole", 2.8), column("drill or ream", 2.0), column("deep", 0.8)],
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

/// What the load does to this neck, in a few words.
fn strength(flow: &mut Flow, card: &JobCard) {
    flow.heading("Will it pull down?");
    for direction in &card.pull_down.directions {
        let Some(own) = direction.metals.iter().find(|row| row.of_job) else { continue };
        flow.words(
            &format!(
                "{} {} (a guess to start from): greatest stress {} at station {}. Yield over stress: soft {}, hammered {}, as soldered {}; under 1 it stays bent.",
                direction.load.short(0),
                direction.what,
                own.stress.short(0),
                own.station.short(0),
                margin(&own.margin_soft),
                margin(&own.margin_worked),
                margin(&own.margin_as_soldered)
            ),
            SMALL,
            0.0,
        );
    }
}

/// A margin, least to greatest.
fn margin(number: &Number) -> String {
    match number.limits() {
        Some((low, high)) if (high - low) < 0.05 => format!("{low:.1}"),
        Some((low, high)) => format!("{low:.1} to {high:.1}"),
        None => "not known".into(),
    }
}

/// A value to no decimals, without its unit.
fn bare(number: &Number) -> String {
    number.value.map_or("not known".into(), |value| format!("{value:.0}"))
}

fn pull_down(flow: &mut Flow, card: &JobCard) {
    flow.heading("Will it pull down?");
    for words in &card.pull_down.words {
        flow.words(words, SMALL, 0.0);
    }
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
    flow.gap(1.2);
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
        .enumerate()
        .filter(|(index, row)| *index < TIGHT_ROWS || !row.ok)
        .map(|(_, row)| {
            let words = row.words.split_once(", ").map_or(row.words.as_str(), |(_, rest)| rest);
            // What it needs has a column of its own.
            let needs = row.needs.value.map_or(String::new(), |mm| format!("{mm:.2}"));
            let words: Vec<&str> =
                words.split(", ").filter(|part| !part.starts_with("needs ")).collect();
            let fails = if row.ok { "" } else { "FAILS: " };
            vec![
                row.gap.value.map_or("not known".into(), |mm| format!("{fails}{mm:.2}")),
                needs,
                named(&words.join(", ")),
                row.by_hand.value.map_or(String::new(), |left| format!("{left:.2}")),
                String::new(),
            ]
        })
        .collect();
    flow.table(
        &[
            column("gap", 0.7),
            column("needs", 0.7),
            column("between", 3.5),
            column("by hand", 0.9),
            blank("is", 0.9),
        ],
        &rows,
        SMALL,
    );
    flow.words(
        "In mm. By hand: what is left with both parts as far off as placing in the job allows.",
        SMALL,
        0.0,
    );
}

/// What is written down of the finished neck.
fn as_made(flow: &mut Flow) {
    flow.heading("As made");
    let fields = ["tenon as fitted", "mass", "wall at the bend", "pad lift", "date"];
    flow.measured(&fields.map(str::to_string), 0.0);
    flow.gap(1.5);
    flow.words(
        "Play test, and what to change next time (into the record, job_card --made):",
        SMALL,
        0.0,
    );
    flow.lines(3);
}
