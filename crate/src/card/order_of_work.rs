//! The order of work: every step with its numbers, what to measure, and its cautions.

use serde::Serialize;

use crate::job::parameters::ValuesAre;

use super::cautions::Caution;
use super::heat_order::{JointHeat, Work};
use super::job_card::JobCard;
use super::numbers::Number;

/// What the names of wire to feed begin with.
pub const WIRE: &str = "wire, ";

/// A number of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct StepNumber {
    pub what: String,
    pub number: Number,
    /// Decimals it is shown with.
    #[serde(skip)]
    pub decimals: usize,
}

/// One step, with a box to tick.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Step {
    pub title: String,
    pub how: String,
    pub numbers: Vec<StepNumber>,
    /// What is measured and written down.
    pub measure: Vec<String>,
    pub cautions: Vec<&'static str>,
}

fn number(what: impl Into<String>, number: &Number, decimals: usize) -> StepNumber {
    StepNumber { what: what.into(), number: number.clone(), decimals }
}

fn step(
    title: impl Into<String>,
    how: impl Into<String>,
    numbers: Vec<StepNumber>,
    measure: &[&str],
    cautions: &[Caution],
) -> Step {
    Step {
        title: title.into(),
        how: how.into(),
        numbers,
        measure: measure.iter().map(ToString::to_string).collect(),
        cautions: cautions.iter().map(|caution| caution.words()).collect(),
    }
}

/// The steps of a card.
#[must_use]
pub fn order_of_work(card: &JobCard) -> Vec<Step> {
    use Caution::{
        Buffing, Cadmium, Dust, Edges, Flux, Hearing, HotMetal, Lead, Pickle, Pitch, Solvents,
        Torch, Zinc,
    };
    let heats = [Torch, Flux, Cadmium, Zinc, Pickle];
    let mut steps = Vec::new();
    let measured = if card.values_are == ValuesAre::Measured {
        "Check what was measured on the horn."
    } else {
        "The job holds STARTING VALUES: measure horn and mouthpiece and put them into the job before any metal is cut."
    };
    steps.push(step(
        "Measure and gauge",
        format!(
            "{measured} Plug gauges a thousandth of an inch apart, receiver clean, clamp loose."
        ),
        vec![
            number("receiver", &card.tenon.receiver, 3),
            number("tenon, finished", &card.tenon.target, 3),
        ],
        &["receiver", "shank bore"],
        &[],
    ));
    steps.push(step(
        "Cut two half-shell blanks",
        "From the blank's template (lay_blanks); grain alike in both, deburr.",
        vec![number("sheet", &card.wall.drawn, 2)],
        &["sheet"],
        &[Edges],
    ));
    steps.push(step(
        "Anneal and form the halves",
        "Over the former; anneal again when it springs back. Check by the half-round gauges.",
        vec![
            number("anneal", &card.wall.anneal, 0),
            number("rounds of forming", &card.wall.rounds, 0),
            number("thinnest then", &card.wall.thinnest_formed, 2),
        ],
        &["thinnest wall"],
        &[HotMetal, Pickle, Torch],
    ));
    // What the card file puts into the seam's heat is soldered with it.
    let seams = card.heat.joints.iter().find(|joint| joint.joint == "seam");
    let seams = seams.map_or(1, |joint| joint.heat);
    steps.push(joint_step(
        card,
        Work::Neck,
        seams,
        "File the seams to a close butt, wire the halves together",
        &heats,
    ));
    steps.push(step(
        "Hammer the tube on the mandrel",
        "Even blows from end to end; planish, round it, check the bend. A tube bent or hammered on pitch is filled and emptied by the rule below.",
        vec![
            number("area", &card.hammering.area, 0),
            number("blows", &card.hammering.blows, 0),
            number("blow to blow", &card.hammering.spacing, 2),
            number("time", &card.hammering.minutes, 0),
            number("wall then", &card.hammering.wall_after, 2),
        ],
        &["wall", "outside at collar"],
        &[Hearing, Pitch],
    ));
    steps.push(step(
        "Trim both ends, measure the tube",
        "Square to the centreline; diameters as in the table of stations.",
        card.dimensions
            .list
            .iter()
            .skip(1)
            .take(1)
            .map(|row| number("length", &row.size, 1))
            .collect(),
        &["length", "inside at cork end"],
        &[Edges],
    ));
    steps.push(step(
        "Turn tenon, ring, vent, posts and cup",
        "By their drawings (send_out). Leave the tenon over size.",
        vec![number("tenon as turned", &card.tenon.turned_to, 3)],
        &["tenon", "socket", "vent bore"],
        &[Lead, Dust],
    ));
    let hole = |id: &str| card.holes.holes.iter().find(|hole| hole.id == id);
    steps.push(step(
        "Drill the vent's hole",
        "Square to the tube at its top; on a close mandrel, deburr inside.",
        hole("vent_hole")
            .map(|hole| {
                vec![number("hole", &hole.drill, 2), number("at station", &card.vent.station, 1)]
            })
            .unwrap_or_default(),
        &["hole", "station"],
        &[Edges],
    ));
    steps.push(step(
        "Anneal and form saddle, brace, guide; bend the loop",
        "Cope and file each to the tube: light must not show through a joint.",
        card.bent_parts
            .iter()
            .map(|part| number(format!("{} cut to", part.name), &part.length, 1))
            .chain(
                card.bent_parts
                    .iter()
                    .find(|part| part.part == "rod_loop")
                    .map(|part| number("loop's anneal", &part.anneal, 0)),
            )
            .collect(),
        &["reach of the loop"],
        &[HotMetal, Torch, Zinc],
    ));
    let mut later: Vec<u32> = card
        .heat
        .joints
        .iter()
        .filter(|joint| joint.work == Work::Neck && joint.heat != seams)
        .map(|joint| joint.heat)
        .collect();
    later.sort_unstable();
    later.dedup();
    for heat in later {
        steps.push(joint_step(
            card,
            Work::Neck,
            heat,
            "Jig every part on its station; a dummy rod of the screw's size through BOTH POSTS while they are soldered, oiled or blackened so that solder does not take",
            &heats,
        ));
    }
    let mut keys: Vec<u32> = card
        .heat
        .joints
        .iter()
        .filter(|joint| joint.work == Work::Key)
        .map(|joint| joint.heat)
        .collect();
    keys.sort_unstable();
    keys.dedup();
    for heat in keys {
        steps.push(joint_step(
            card,
            Work::Key,
            heat,
            "The key on a flat block, hinge tube on a dummy rod",
            &heats,
        ));
    }
    steps.push(step(
        "Ream posts and hinge tube in line, chase the thread",
        "After all heat: ream through both posts, tap or chase, fit the screw, face the hinge tube.",
        [
            hole("post_clear").map(|hole| number("ream", &hole.drill, 2)),
            hole("post_tapped").map(|hole| number("tap drill", &hole.drill, 2)),
            Some(number("screw under head", &card.holes.screw_length, 2)),
        ]
        .into_iter()
        .flatten()
        .collect(),
        &["screw play", "end play"],
        &[],
    ));
    steps.push(step(
        "Leak test",
        "Close the vent and one end by hand, draw with the mouth or a gauge of breath pressure; smoke or soapy water shows where. Clean and rinsed metal only: no flux, no acid left.",
        vec![],
        &["holds for (s)"],
        &[],
    ));
    steps.push(step(
        "Finish",
        "The finish takes or adds thickness: measure tenon, posts and hinge before and after, and keep fits masked.",
        vec![],
        &["tenon before", "tenon after"],
        &[Buffing, Dust],
    ));
    steps.push(step(
        "Fit the tenon to the receiver",
        "Lap until it turns and slides by hand before the clamp is tightened, no rock. Little by little: it cannot be put back.",
        vec![number("tenon", &card.tenon.target, 3)],
        &["tenon as fitted"],
        &[Dust],
    ));
    steps.push(step(
        "Cork, pad, spring, key",
        "Cork glued and sanded to the shank; pad seated on the whole rim; spring set.",
        vec![number(
            "opening at full lift",
            &card
                .vent
                .openings
                .last()
                .map_or_else(|| card.vent.bore_area.clone(), |row| row.area.clone()),
            1,
        )],
        &["cork", "pad lift"],
        &[Solvents],
    ));
    steps.push(step(
        "Check the tight rows, closed and open",
        "Feeler gauges; every row of the list on this card.",
        card.tight_rows
            .iter()
            .take(3)
            .map(|row| number(format!("{} to {}", row.a, row.b).replace('_', " "), &row.gap, 2))
            .collect(),
        &["tightest"],
        &[],
    ));
    steps.push(step(
        "Weigh, play, write down",
        "As made: tenon as fitted, mass, notes of the play test, what to change next time.",
        vec![
            number("mass", &card.masses.whole, 1),
            number("balance at station", &card.masses.balance_station, 0),
        ],
        &["mass"],
        &[],
    ));
    steps
}

/// The joints of one heat.
fn joint_step(card: &JobCard, work: Work, heat: u32, how: &str, cautions: &[Caution]) -> Step {
    let own: Vec<&JointHeat> =
        card.heat.joints.iter().filter(|joint| joint.work == work && joint.heat == heat).collect();
    let names: Vec<&str> = own.iter().map(|joint| joint.name).collect();
    let (what, of) = match work {
        Work::Neck => ("Heat", "on the neck"),
        Work::Key => ("Heat", "on the key"),
    };
    let mut fillers: Vec<&str> = Vec::new();
    for joint in &own {
        if !fillers.contains(&joint.filler) {
            fillers.push(joint.filler);
        }
    }
    let mut numbers: Vec<StepNumber> =
        own.iter().map(|joint| number(format!("{WIRE}{}", joint.name), &joint.wire, 0)).collect();
    if let Some(first) = own.first() {
        numbers.insert(0, number(format!("{} flows at", first.filler), &first.liquidus, 0));
    }
    let flags = card
        .heat
        .flags
        .iter()
        .filter(|flag| own.iter().any(|joint| flag.joints.contains(&joint.joint)));
    let flagged: Vec<&str> = flags.map(|flag| flag.words.as_str()).collect();
    let warned = if flagged.is_empty() {
        String::new()
    } else {
        format!(" LOOK OUT: {}", flagged.join(" "))
    };
    step(
        format!("{what} {heat} {of}: {} with {}", names.join(", "), fillers.join(", ")),
        format!("{how}. Clean, flux, heat the heavier part first; pickle, rinse.{warned}"),
        numbers,
        &["gaps before"],
        cautions,
    )
}

#[cfg(test)]
mod tests {
    use super::super::CardFile;
    use super::*;
    use crate::job::{Voice, starting_text};
    use crate::model::Model;

    /// Whatever heats the card file gives, every joint stands in one step, and in one only.
    #[test]
    fn every_joint_is_soldered_once() {
        let model = Model::build(starting_text(Voice::Alto).unwrap(), None).unwrap();
        let list = model.clearances();
        for (seam, vent) in [(1, 3), (2, 3), (1, 1), (5, 2)] {
            let mut file = CardFile::default();
            file.heat.joints.seam.heat = seam;
            file.heat.joints.vent.heat = vent;
            let card = JobCard::of(&model, &file, &list);
            let titles: Vec<String> =
                order_of_work(&card).into_iter().map(|step| step.title).collect();
            let heats: Vec<&String> =
                titles.iter().filter(|title| title.starts_with("Heat ")).collect();
            let named: Vec<&str> = heats
                .iter()
                .filter_map(|title| title.split_once(": ")?.1.rsplit_once(" with "))
                .flat_map(|(joints, _)| joints.split(", "))
                .collect();
            for joint in &card.heat.joints {
                let times = named.iter().filter(|name| **name == joint.name).count();
                assert_eq!(times, 1, "{} with seam {seam}, vent {vent}: {heats:?}", joint.name);
            }
        }
    }
}
