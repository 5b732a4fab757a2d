//! Heat in order: which filler each joint is run with, in which heat, and what of it cannot go well.

use serde::Serialize;

use crate::checks::JointFinding;
use crate::job::Job;
use crate::parts::Assembly;
use crate::tables::fillers::{APPROXIMATE_K, FEED, FEED_SOURCE, Filler, Kind};
use crate::tables::melting::melting;
use crate::tables::metals::Metal;

use super::card_file::{CardFile, Heat, Soldered};
use super::numbers::{Number, counted, said_source};

/// Which piece of work a joint is heated with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Work {
    Neck,
    Key,
}

/// A joint with its filler.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct JointHeat {
    pub joint: &'static str,
    pub name: &'static str,
    pub work: Work,
    #[serde(serialize_with = "counted")]
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Number"))]
    pub heat: u32,
    pub filler: &'static str,
    pub composition: &'static str,
    pub solidus: Number,
    pub liquidus: Number,
    /// Metals it joins.
    pub metals: Vec<&'static str>,
    /// From the filler's liquidus to where the first of its metals begins to melt.
    pub metal_margin: Number,
    pub area: Number,
    pub gap: Number,
    /// Filler to melt.
    pub volume: Number,
    /// The same as a length of wire.
    pub wire: Number,
}

/// What is wrong with a heat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Trouble {
    /// A later filler flows before an earlier one is safely solid.
    Ladder,
    /// A filler flows too near to where its metal melts.
    Metal,
    /// Where its metal melts is not on record.
    MetalNotKnown,
    Cadmium,
    /// Phosphorus on metal with nickel or iron.
    Phosphorus,
    /// Lead in filler or metal.
    Lead,
    /// The seam is not run before everything else on the neck.
    Seam,
}

/// One trouble, in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Flag {
    pub trouble: Trouble,
    pub joints: Vec<&'static str>,
    pub words: String,
}

/// A heat of the suggested order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct SuggestedHeat {
    pub work: Work,
    #[serde(serialize_with = "counted")]
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Number"))]
    pub heat: u32,
    pub filler: &'static str,
    pub joints: Vec<&'static str>,
}

/// The heats of a job.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct HeatOrder {
    pub joints: Vec<JointHeat>,
    pub flags: Vec<Flag>,
    /// An order that keeps earlier joints safe; empty for a work that has none.
    pub suggested: Vec<SuggestedHeat>,
    /// Why there is none.
    pub no_order: Vec<String>,
}

/// A joint as the ladder sees it.
#[derive(Clone, Debug)]
struct Step {
    joint: &'static str,
    name: &'static str,
    work: Work,
    soldered: Soldered,
    metals: Vec<Metal>,
    /// Pairs of the list of joints it is made of.
    pairs: Vec<(&'static str, &'static str)>,
}

fn steps(job: &Job, assembly: &Assembly, heat: &Heat) -> Vec<Step> {
    let joints = &heat.joints;
    let step = |joint, name, work, soldered, pairs: &[(&'static str, &'static str)]| {
        let ids = pairs.iter().flat_map(|(a, b)| [*a, *b]);
        let seam = (joint == "seam").then(|| job.tube.metal());
        let mut metals: Vec<Metal> = Vec::new();
        for metal in ids.filter_map(|id| assembly.part(id)?.metal).chain(seam) {
            if !metals.contains(&metal) {
                metals.push(metal);
            }
        }
        Step { joint, name, work, soldered, metals, pairs: pairs.to_vec() }
    };
    let mut all = vec![
        step("seam", "seam of the halves", Work::Neck, joints.seam, &[]),
        step("tenon", "tube in tenon", Work::Neck, joints.tenon, &[("tube", "tenon")]),
        step("end_ring", "end ring", Work::Neck, joints.end_ring, &[("tube", "end_ring")]),
        step("vent", "octave vent", Work::Neck, joints.vent, &[("tube", "vent")]),
        step("brace", "brace", Work::Neck, joints.brace, &[("tube", "brace")]),
        step("saddle", "saddle", Work::Neck, joints.saddle, &[("tube", "saddle")]),
        step(
            "posts",
            "posts on saddle",
            Work::Neck,
            joints.posts,
            &[("saddle", "post_left"), ("saddle", "post_right")],
        ),
        step("guide", "key guide", Work::Neck, joints.guide, &[("tube", "guide")]),
    ];
    if job.badge.is_some() {
        all.push(step("badge", "badge", Work::Neck, joints.badge, &[("tube", "badge")]));
    }
    all.extend([
        step(
            "hinge_tube",
            "hinge tube in arm",
            Work::Key,
            joints.hinge_tube,
            &[("key_arm", "hinge_tube")],
        ),
        step("pad_cup", "pad cup on arm", Work::Key, joints.pad_cup, &[("key_arm", "pad_cup")]),
        step("rod_loop", "rod loop on arm", Work::Key, joints.rod_loop, &[("key_arm", "rod_loop")]),
    ]);
    all
}

/// Fillers and heats of a job, with the areas and gaps of its joints.
#[must_use]
pub fn heat_order(
    job: &Job,
    assembly: &Assembly,
    card: &CardFile,
    found: &[JointFinding],
) -> HeatOrder {
    let heat = &card.heat;
    let steps = steps(job, assembly, heat);
    let joints =
        steps.iter().map(|step| joint_heat(step, heat, size(step, job, assembly, found))).collect();
    let (suggested, no_order) = suggestion(&steps, heat);
    HeatOrder { joints, flags: flags(&steps, heat), suggested, no_order }
}

/// Area and mean gap of a joint, mm² and mm; or why they are not known.
fn size(
    step: &Step,
    job: &Job,
    assembly: &Assembly,
    found: &[JointFinding],
) -> Result<(f64, f64), String> {
    if step.joint == "seam" {
        let length =
            assembly.neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm
                + job.tenon.socket_depth_mm;
        // Butted over the wall, along top and bottom.
        return Ok((2.0 * job.tube.wall_mm() * length, job.limits.joint_gap_mm));
    }
    let (mut area, mut volume) = (0.0, 0.0);
    for (a, b) in &step.pairs {
        let row = found.iter().find(|row| row.a == *a && row.b == *b);
        let number =
            |id: &str| row.and_then(|row| row.numbers.iter().find(|one| one.id == id)?.value);
        match (number("area"), number("gap_mean")) {
            (Some(own), Some(gap)) => {
                area += own;
                volume += own * gap;
            }
            _ => return Err(format!("the joint of {a} and {b} was not measured, or is none")),
        }
    }
    if area > 0.0 { Ok((area, volume / area)) } else { Err("the joint has no area".into()) }
}

fn joint_heat(step: &Step, heat: &Heat, size: Result<(f64, f64), String>) -> JointHeat {
    let row = step.soldered.filler.row();
    let temperature = |range: (f64, f64)| {
        Number::between(
            f64::midpoint(range.0, range.1),
            range.0 - APPROXIMATE_K,
            range.1 + APPROXIMATE_K,
            "°C",
            format!("{}; ISO 17672 calls its own heats approximate", said_source(&row.source)),
        )
    };
    let margins: Result<Vec<(f64, f64)>, String> =
        step.metals.iter().map(|metal| metal_margin(*metal, step.soldered.filler)).collect();
    let rule = "Solidus of the metal less liquidus of the filler, the least of the joint's metals";
    let metal_margin = match margins {
        Ok(all) => match all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((least, greatest)) => {
                Number::between(least, least - APPROXIMATE_K, greatest + APPROXIMATE_K, "K", rule)
            }
            None => Number::not_known("K", "no metal of the joint is on record", rule),
        },
        Err(why) => Number::not_known("K", why, rule),
    };
    let measured = "Joint of the clearance list: area and mean gap over all of it, cold";
    let fed = format!("{FEED} x gap x area ({})", said_source(&FEED_SOURCE));
    let section = std::f64::consts::FRAC_PI_4 * heat.wire_mm * heat.wire_mm;
    let (area, gap, volume, wire) = match size {
        Ok((area, gap)) => {
            let volume = FEED * area * gap;
            (
                Number::within(area, 0.01 * area, "mm²", measured),
                Number::within(gap, 0.01, "mm", measured),
                // A third is how far the trade's own rule of thumb is from the joint's bare volume.
                Number::within(volume, volume / 3.0, "mm³", fed.clone()),
                Number::within(
                    volume / section,
                    volume / section / 3.0,
                    "mm",
                    format!("{fed}, as wire of {} mm", heat.wire_mm),
                ),
            )
        }
        Err(why) => {
            let none = |unit| Number::not_known(unit, why.clone(), measured);
            (none("mm²"), none("mm"), none("mm³"), none("mm"))
        }
    };
    JointHeat {
        joint: step.joint,
        name: step.name,
        work: step.work,
        heat: step.soldered.heat,
        filler: row.name,
        composition: row.composition,
        solidus: temperature(row.solidus_c),
        liquidus: temperature(row.liquidus_c),
        metals: step.metals.iter().map(|metal| metal.id()).collect(),
        metal_margin,
        area,
        gap,
        volume,
        wire,
    }
}

/// From a filler's liquidus to a metal's solidus, least and greatest of the sources, K.
fn metal_margin(metal: Metal, filler: Filler) -> Result<(f64, f64), String> {
    let row = filler.row();
    let melts = melting(metal)
        .ok_or_else(|| format!("no melting range of {} with a source is at hand", metal.name()))?;
    Ok((melts.solidus_c.0 - row.liquidus_c.1, melts.solidus_c.1 - row.liquidus_c.0))
}

/// How far a later filler's liquidus lies below an earlier one's solidus, at the least of the sources, K.
#[must_use]
pub fn rung(earlier: Filler, later: Filler) -> f64 {
    earlier.row().solidus_c.0 - later.row().liquidus_c.1
}

fn flags(steps: &[Step], heat: &Heat) -> Vec<Flag> {
    let mut found = Vec::new();
    let mut told: Vec<(Work, u32, Filler, u32, Filler)> = Vec::new();
    for earlier in steps {
        for later in steps {
            let (a, b) = (earlier.soldered, later.soldered);
            if earlier.work != later.work || a.heat >= b.heat {
                continue;
            }
            let gap = rung(a.filler, b.filler);
            let key = (earlier.work, a.heat, a.filler, b.heat, b.filler);
            if gap >= heat.ladder_margin_k || told.contains(&key) {
                continue;
            }
            told.push(key);
            let of = |soldered: Soldered| -> Vec<&'static str> {
                steps
                    .iter()
                    .filter(|step| step.work == earlier.work && step.soldered == soldered)
                    .map(|step| step.joint)
                    .collect()
            };
            found.push(Flag {
                trouble: Trouble::Ladder,
                joints: [of(a), of(b)].concat(),
                words: format!(
                    "Heat {} with {} flows at {:.0} °C; {} of heat {} begins to melt at {:.0} °C: {:.0} K between, {:.0} K are asked. Keep the earlier joints cool, or change a filler.",
                    b.heat,
                    b.filler.name(),
                    b.filler.row().liquidus_c.1,
                    a.filler.name(),
                    a.heat,
                    a.filler.row().solidus_c.0,
                    gap,
                    heat.ladder_margin_k
                ),
            });
        }
    }
    for step in steps {
        found.extend(own_flags(step, heat));
    }
    let seam = steps.iter().find(|step| step.joint == "seam");
    let first = |seam: &Step| {
        steps.iter().all(|step| {
            step.work != Work::Neck
                || step.joint == "seam"
                || step.soldered.heat > seam.soldered.heat
        })
    };
    if let Some(seam) = seam.filter(|seam| !first(seam)) {
        found.push(Flag {
            trouble: Trouble::Seam,
            joints: vec!["seam"],
            words: format!(
                "The seam is run in heat {}, but other joints of the neck are not later: there is no tube to put them on.",
                seam.soldered.heat
            ),
        });
    }
    found
}

/// What is wrong with a joint by itself.
fn own_flags(step: &Step, heat: &Heat) -> Vec<Flag> {
    let row = step.soldered.filler.row();
    let flag = |trouble, words| Flag { trouble, joints: vec![step.joint], words };
    let mut found = Vec::new();
    for metal in &step.metals {
        match metal_margin(*metal, step.soldered.filler) {
            Ok((least, _)) if least < heat.metal_margin_k => found.push(flag(
                Trouble::Metal,
                format!(
                    "{}: {} flows only {least:.0} K below where {} begins to melt; {:.0} K are asked. Choose a filler that flows earlier.",
                    step.name,
                    row.name,
                    metal.name(),
                    heat.metal_margin_k
                ),
            )),
            Ok(_) => {}
            Err(why) => found.push(flag(
                Trouble::MetalNotKnown,
                format!("{}: {why}: whether {} is safe on it is not known.", step.name, row.name),
            )),
        }
        if row.kind == Kind::Phosphorus && matches!(metal, Metal::C75200 | Metal::StainlessSteel) {
            found.push(flag(
                Trouble::Phosphorus,
                format!(
                    "{}: {} holds phosphorus, which makes a brittle joint on {} (nickel or iron): choose a filler without it.",
                    step.name,
                    row.name,
                    metal.name()
                ),
            ));
        }
        if *metal == Metal::C36000 && row.kind != Kind::Soft {
            found.push(flag(
                Trouble::Lead,
                format!(
                    "{}: {} holds lead, which fumes and spoils the joint at brazing heat: turn the part from lead-free metal.",
                    step.name,
                    metal.name()
                ),
            ));
        }
    }
    if row.cadmium {
        found.push(flag(
            Trouble::Cadmium,
            format!(
                "{}: {} holds cadmium. Overheating gives cadmium oxide fume, which can kill. It was confirmed in the card file; a filler without cadmium does the same work.",
                step.name, row.name
            ),
        ));
    }
    if row.lead {
        found.push(flag(
            Trouble::Lead,
            format!(
                "{}: {} holds lead: not where a mouth may touch; wash hands; choose a tin-silver solder.",
                step.name, row.name
            ),
        ));
    }
    found
}

/// The one order of these fillers that keeps earlier joints safe, or why there is none. Joints of one filler are one heat; a
/// filler that must come before another flows at more heat, so the order by liquidus is the only one that can do.
fn suggestion(steps: &[Step], heat: &Heat) -> (Vec<SuggestedHeat>, Vec<String>) {
    let (mut suggested, mut none) = (Vec::new(), Vec::new());
    for work in [Work::Neck, Work::Key] {
        let own: Vec<&Step> = steps.iter().filter(|step| step.work == work).collect();
        let mut fillers: Vec<Filler> = Vec::new();
        for step in &own {
            if !fillers.contains(&step.soldered.filler) {
                fillers.push(step.soldered.filler);
            }
        }
        fillers.sort_by(|a, b| b.row().liquidus_c.1.total_cmp(&a.row().liquidus_c.1));
        let mut why = Vec::new();
        for (place, later) in fillers.iter().enumerate() {
            for earlier in fillers.iter().take(place) {
                let gap = rung(*earlier, *later);
                if gap < heat.ladder_margin_k {
                    why.push(format!(
                        "{} flows at {:.0} °C and {} begins to melt at {:.0} °C: {gap:.0} K between",
                        later.name(),
                        later.row().liquidus_c.1,
                        earlier.name(),
                        earlier.row().solidus_c.0
                    ));
                }
            }
        }
        if let (Work::Neck, Some(first)) = (work, fillers.first()) {
            let in_first = own.iter().filter(|step| step.soldered.filler == *first);
            let seam_first =
                own.iter().any(|step| step.joint == "seam" && step.soldered.filler == *first);
            if !seam_first {
                why.push(format!(
                    "the seam has to come first, but {} flows at more heat than its filler",
                    first.name()
                ));
            } else if in_first.count() > 1 {
                why.push(format!(
                    "the seam has to come first, by itself, and other joints are of its filler {} too",
                    first.name()
                ));
            }
        }
        if why.is_empty() {
            suggested.extend((1..).zip(&fillers).map(|(number, filler)| {
                SuggestedHeat {
                    work,
                    heat: number,
                    filler: filler.name(),
                    joints: own
                        .iter()
                        .filter(|step| step.soldered.filler == *filler)
                        .map(|step| step.joint)
                        .collect(),
                }
            }));
        } else {
            let work = if work == Work::Neck { "neck" } else { "key" };
            none.push(format!(
                "There is no order of these fillers that keeps every earlier joint of the {work} safe: {}.",
                why.join("; ")
            ));
        }
    }
    (suggested, none)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};

    fn order(change: impl Fn(&mut CardFile, &mut Job)) -> HeatOrder {
        let mut job = starting_job(Voice::Alto).unwrap();
        let mut card = CardFile::default();
        change(&mut card, &mut job);
        let assembly = Assembly::build(&job).unwrap();
        heat_order(&job, &assembly, &card, &[])
    }

    fn troubles(found: &HeatOrder) -> Vec<Trouble> {
        found.flags.iter().map(|flag| flag.trouble).collect()
    }

    /// Truth: worked rows: BAg-5 (677) or BAg-24 (660), then BAg-7 (652) leave 25 and 8 K; BAg-28 (649), then BAg-7: -3 K.
    #[test]
    fn rungs_are_the_worked_ones() {
        assert_eq!(rung(Filler::BAg5, Filler::BAg7), 25.0);
        assert_eq!(rung(Filler::BAg24, Filler::BAg7), 8.0);
        assert_eq!(rung(Filler::BAg28, Filler::BAg7), -3.0);
    }

    /// Truth: C26000 solidus 916 less BAg-5's 743 is 173 K; silver 925, 788 less 743, 45 K, and less BAg-7's 652, 136 K.
    #[test]
    fn margins_of_the_metals_are_the_worked_ones() {
        let least = |metal, filler| metal_margin(metal, filler).unwrap().0;
        assert_eq!(least(Metal::C26000, Filler::BAg5), 173.0);
        assert_eq!(least(Metal::Silver925, Filler::BAg5), 45.0);
        assert_eq!(least(Metal::Silver925, Filler::BAg7), 136.0);
        let found = order(|_, job| {
            job.tube = serde_json::from_str(r#"{"wall_mm": 0.7, "metal": "silver_925"}"#).unwrap();
        });
        assert!(troubles(&found).contains(&Trouble::Metal));
    }

    /// Saddle and posts are named twice by their two joints, and their metals once.
    #[test]
    fn no_metal_of_a_joint_is_named_twice() {
        let found = order(|_, job| {
            job.saddle.metal = serde_json::from_str("\"C26000\"").unwrap();
            job.posts.metal = serde_json::from_str("\"C75200\"").unwrap();
        });
        for joint in &found.joints {
            let mut metals = joint.metals.clone();
            metals.sort_unstable();
            metals.dedup();
            assert_eq!(metals.len(), joint.metals.len(), "{}", joint.joint);
        }
    }

    #[test]
    fn starting_fillers_raise_no_flag_and_their_order_is_suggested() {
        let found = order(|_, _| {});
        assert_eq!(troubles(&found), []);
        assert!(found.no_order.is_empty());
        let neck: Vec<_> = found.suggested.iter().filter(|heat| heat.work == Work::Neck).collect();
        assert_eq!((neck[0].filler, neck[0].joints.as_slice()), ("BAg-5", &["seam"][..]));
        assert_eq!(neck[1].filler, "BAg-7");
        assert!(found.joints.iter().all(|joint| !joint.filler.contains("BAg-1")));
    }

    #[test]
    fn a_rung_that_is_too_small_is_flagged_and_has_no_order() {
        let found = order(|card, _| card.heat.joints.seam.filler = Filler::BAg24);
        assert_eq!(troubles(&found), [Trouble::Ladder]);
        assert!(found.flags[0].words.contains("8 K between"), "{}", found.flags[0].words);
        assert!(found.no_order[0].contains("neck"), "{:?}", found.no_order);
        assert!(found.suggested.iter().all(|heat| heat.work == Work::Key));
        let narrow = order(|card, _| {
            card.heat.joints.seam.filler = Filler::BAg24;
            card.heat.ladder_margin_k = 5.0;
        });
        assert_eq!(troubles(&narrow), []);
    }

    #[test]
    fn phosphorus_on_nickel_and_cadmium_and_a_late_seam_are_flagged() {
        let found = order(|card, _| card.heat.joints.posts.filler = Filler::BCuP5);
        assert!(troubles(&found).contains(&Trouble::Phosphorus));
        let brass = order(|card, job| {
            card.heat.joints.posts.filler = Filler::BCuP5;
            job.posts.metal = Metal::C26000;
        });
        assert!(!troubles(&brass).contains(&Trouble::Phosphorus));
        let found = order(|card, _| card.heat.joints.seam.filler = Filler::BAg3);
        assert!(troubles(&found).contains(&Trouble::Cadmium));
        let found = order(|card, _| card.heat.joints.seam.heat = 2);
        assert_eq!(troubles(&found), [Trouble::Seam]);
    }

    #[test]
    fn a_joint_that_was_not_measured_has_no_volume_and_says_so() {
        let found = order(|_, _| {});
        let brace = found.joints.iter().find(|joint| joint.joint == "brace").unwrap();
        assert!(brace.volume.not_known.is_some());
        // The seam needs no measuring: 1.5 x 0.08 x 2 x 0.7 x 172.2 mm.
        let seam = found.joints[0].volume.value.unwrap();
        assert!((seam - 1.5 * 0.08 * 1.4 * 172.2).abs() < 0.05, "{seam}");
    }
}
