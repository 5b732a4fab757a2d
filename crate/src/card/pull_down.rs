//! Will it pull down? What a hand's load at the mouthpiece does to the neck, for each metal, soft and worked.

use glam::DVec3;
use serde::Serialize;

use crate::job::Job;
use crate::job::parameters::BraceForm;
use crate::parts::Assembly;
use crate::tables::metals::Metal;
use crate::tables::physical::physical;
use crate::tables::strength::{REDUCTION_SOURCE, strengths, yield_after};

use super::beam::{Answer, Beam, Bridge, Strip};
use super::card_file::CardFile;
use super::hammering::rolled_alike;
use super::numbers::{Number, said_source};

/// How the beam is made, in a sentence.
const MODEL: &str = "Curved, tapering thin tube held at the tenon's collar, by virtual work; bends soften by ASME B31.3 k = 1.65/h (upper limit: no flattening, k = 1); small, elastic strains only";
/// The same of stress.
const STRESS: &str = "Bending, pull and twist together (von Mises), times ASME B31.3 i = 0.9/h^(2/3) in and 0.75/h^(2/3) out of the plane of the bend, none under 1; local stress in the flattening wall may be up to twice that (from memory)";
/// Distance of the stations the stress is told at, mm.
const ALONG_MM: f64 = 4.0;
/// Metals a tube is made of.
const METALS: [Metal; 11] = [
    Metal::C11000,
    Metal::C12200,
    Metal::C22000,
    Metal::C23000,
    Metal::C26000,
    Metal::C26800,
    Metal::C27200,
    Metal::C51000,
    Metal::C52100,
    Metal::C75200,
    Metal::Silver925,
];

/// What a load does to a tube of one metal.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct MetalRow {
    pub metal: &'static str,
    pub name: &'static str,
    /// Whether it is the job's metal.
    pub of_job: bool,
    /// How far the loaded point goes.
    pub moved: Number,
    /// Greatest stress of the tube.
    pub stress: Number,
    /// Where that is.
    pub station: Number,
    pub yield_soft: Number,
    pub yield_worked: Number,
    /// Yield over stress: under 1 it stays bent.
    pub margin_soft: Number,
    /// As if no joint had softened what the hammer hardened.
    pub margin_worked: Number,
    /// With the metal near each silver-soldered joint annealed.
    pub margin_as_soldered: Number,
    /// As if the whole tube were of one temper, for each that the tables have of the metal.
    pub tempers: Vec<TemperMargin>,
}

/// A tube that is of one temper all along.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct TemperMargin {
    pub temper: &'static str,
    #[serde(rename = "yield")]
    pub yields: Number,
    pub margin: Number,
}

/// One direction of the load.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Direction {
    pub id: &'static str,
    pub what: &'static str,
    pub load: Number,
    pub metals: Vec<MetalRow>,
    /// What the brace buys: the loaded point's way and the greatest stress without it, in the job's metal.
    pub moved_without_brace: Number,
    pub stress_without_brace: Number,
    /// Greatest stress of the brace itself.
    pub brace_stress: Number,
    /// Stress along the tube, job's metal: station and stress.
    pub along: Vec<StressAt>,
}

/// Stress at a station.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct StressAt {
    pub station: Number,
    pub stress: Number,
    /// Whether solder's heat has softened the metal there after it was hammered.
    pub softened: bool,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PullDown {
    pub directions: Vec<Direction>,
    /// Stretches of the tube that silver solder softens after hammering.
    pub softened: Vec<Softened>,
    /// Share of the free length that is softened.
    pub softened_share: Number,
    pub words: Vec<String>,
}

/// A stretch of the tube that a joint's heat softens.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Softened {
    pub joint: &'static str,
    pub from: Number,
    pub to: Number,
}

/// Station of the collar's upper face: the tube is held from there on.
fn held(job: &Job, assembly: &Assembly) -> f64 {
    assembly.neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm
}

fn strip(job: &Job) -> Option<Strip> {
    let brace = &job.brace;
    Some(Strip {
        from: brace.from_station_mm,
        to: brace.to_station_mm,
        width: brace.width_mm,
        thickness: brace.thickness_mm,
        gap: job.limits.joint_gap_mm,
        modulus: physical(brace.metal)?.modulus_mpa(),
        bridge: (brace.form == BraceForm::Bridge)
            .then_some(Bridge { foot: brace.foot_length_mm, height: brace.bridge_height_mm }),
    })
}

/// Stations of the joints that are run on the tube after it was hammered, silver-soldered ones alone, with the length to each
/// side that softens.
fn soft_stretches(job: &Job, card: &CardFile, held: f64) -> Vec<(&'static str, f64, f64)> {
    let joints = &card.heat.joints;
    let reach = card.heat.softened_mm;
    let brace = &job.brace;
    let (from, to) = (brace.from_station_mm, brace.to_station_mm);
    let mut found = Vec::new();
    let mut add = |name, filler: super::card_file::Soldered, from: f64, to: f64| {
        if !filler.filler.is_soft() {
            found.push((name, (from - reach).max(0.0), (to + reach).min(held)));
        }
    };
    let about = |station: f64, length: f64| (station - length / 2.0, station + length / 2.0);
    add("end_ring", joints.end_ring, 0.0, job.end_ring.length_mm);
    let (a, b) = about(job.vent.station_mm, job.vent.outer_diameter_mm);
    add("vent", joints.vent, a, b);
    match brace.form {
        BraceForm::Contact => add("brace", joints.brace, from, to),
        BraceForm::Bridge => {
            add("brace", joints.brace, from, from + brace.foot_length_mm);
            add("brace", joints.brace, to - brace.foot_length_mm, to);
        }
    }
    let (a, b) = about(job.saddle.station_mm, job.saddle.length_mm);
    add("saddle", joints.saddle, a, b);
    // Posts are soldered through the saddle: their heat softens the tube under it.
    add("posts", joints.posts, a, b);
    let (a, b) = about(job.guide.station_mm, job.guide.length_mm);
    add("guide", joints.guide, a, b);
    if let Some(badge) = &job.badge {
        let (a, b) = about(badge.station_mm, badge.length_mm);
        add("badge", joints.badge, a, b);
    }
    add("tenon", joints.tenon, held, held);
    found
}

/// What a load at the mouthpiece does.
#[must_use]
pub fn pull_down(job: &Job, assembly: &Assembly, card: &CardFile) -> PullDown {
    let held = held(job, assembly);
    let softened = soft_stretches(job, card, held);
    let is_soft =
        |station: f64| softened.iter().any(|(_, from, to)| (*from..=*to).contains(&station));
    let steps = 2000;
    let soft = (0..steps)
        .filter(|k| is_soft((f64::from(*k) + 0.5) * held / f64::from(steps)))
        .count() as f64
        / f64::from(steps);
    let rule = "Metal nearer to a silver-soldered joint than heat.softened_mm counts as annealed (a guess: the torch decides)";
    let directions = [
        (
            "down",
            "down, in the plane of the bend",
            DVec3::NEG_Z * card.load.down_n,
            card.load.down_n,
        ),
        ("sideways", "to the side", DVec3::Y * card.load.sideways_n, card.load.sideways_n),
    ]
    .map(|(id, what, force, newtons)| {
        let tube = Tube { job, assembly, card, held, force };
        tube.direction(id, what, newtons, &is_soft)
    });
    let mut words = vec![
        "Yield over stress under 1 means that the neck stays bent; leave room for what hands and falls do besides.".to_string(),
        "Pulling down begins when the whole wall yields; the first spot that yields does not yet bend the neck.".to_string(),
    ];
    if soft > 0.5 {
        words.push(format!(
            "Silver solder softens {:.0} % of the free length again: hammering buys little there. Soft solder on the brace, or hammering after the silver joints where the hammer can reach, keeps it.",
            soft * 100.0
        ));
    }
    if card.heat.joints.brace.filler.is_soft() {
        words.push("The brace counts as one with the tube; whether soft solder bears the shear between them is not worked out here.".to_string());
    }
    PullDown {
        directions: directions.into(),
        softened: softened
            .iter()
            .map(|(joint, from, to)| Softened {
                joint,
                from: Number::within(*from, 5.0, "mm", rule),
                to: Number::within(*to, 5.0, "mm", rule),
            })
            .collect(),
        softened_share: Number::within(soft * 100.0, 10.0, "%", rule),
        words,
    }
}

struct Tube<'a> {
    job: &'a Job,
    assembly: &'a Assembly,
    card: &'a CardFile,
    held: f64,
    force: DVec3,
}

impl Tube<'_> {
    fn answer(&self, modulus: f64, strip: Option<Strip>, flattens: bool) -> Answer {
        let beam = Beam {
            neck: &self.assembly.neck,
            held: self.held,
            beyond: self.card.load.beyond_cork_mm,
            modulus,
            strip,
            flattens,
        };
        beam.under(self.force)
    }

    fn way(&self, answer: &Answer) -> f64 {
        answer.moved.dot(self.force.normalize_or_zero())
    }

    fn direction(
        &self,
        id: &'static str,
        what: &'static str,
        newtons: f64,
        is_soft: &dyn Fn(f64) -> bool,
    ) -> Direction {
        let own = self.job.tube.metal();
        let metals = METALS.iter().map(|metal| self.row(*metal, *metal == own, is_soft)).collect();
        let load = Number::exact(
            newtons,
            "N",
            "card file, load (the starting value is a guess: nobody has measured it)",
        );
        let Some(stiffness) = physical(own) else {
            let why = format!("there is no stiffness of {} on record", own.name());
            let none = |unit| Number::not_known(unit, why.clone(), MODEL);
            return Direction {
                id,
                what,
                load,
                metals,
                moved_without_brace: none("mm"),
                stress_without_brace: none("MPa"),
                brace_stress: none("MPa"),
                along: Vec::new(),
            };
        };
        let modulus = stiffness.modulus_mpa();
        let with = self.answer(modulus, strip(self.job), true);
        let without = self.answer(modulus, None, true);
        let stiff = self.answer(modulus, None, false);
        let bare = without.greatest().map_or(f64::NAN, |found| found.1);
        // Without the brace the neck is judged as if it were soft all along: on the safe side.
        let soft_margin = match yield_after(own, 0.0) {
            Ok((range, _)) => over(range, bare),
            Err(why) => Number::not_known("", why, MARGIN),
        };
        let brace = match with.strip {
            Some((_, stress)) => Number::within(stress, 0.1 * stress, "MPa", STRESS),
            None => {
                Number::not_known("MPa", "the brace's metal has no stiffness on record", STRESS)
            }
        };
        // Near enough to see where the brace's ends raise it.
        let mut along: Vec<StressAt> = Vec::new();
        for (station, stress) in &with.tube {
            if *station + 0.25 >= along.len() as f64 * ALONG_MM {
                along.push(StressAt {
                    station: Number::within(*station, 0.5, "mm", "Place along the centreline"),
                    stress: Number::within(*stress, 0.1 * stress, "MPa", STRESS),
                    softened: is_soft(*station),
                });
            }
        }
        Direction {
            id,
            what,
            load,
            metals,
            moved_without_brace: self.moved_unless_bent(
                &soft_margin,
                &soft_margin,
                self.moved(&without, &stiff, stiffness.modulus_gpa),
            ),
            stress_without_brace: Number::within(bare, 0.1 * bare, "MPa", STRESS),
            brace_stress: brace,
            along,
        }
    }

    /// The loaded point's way, with what the sources of stiffness and the flattening leave open.
    fn moved(&self, answer: &Answer, stiff: &Answer, gpa: (f64, f64)) -> Number {
        let (way, least) = (self.way(answer), self.way(stiff));
        let middle = f64::midpoint(gpa.0, gpa.1);
        Number::between(way, least * middle / gpa.1, way * middle / gpa.0, "mm", MODEL)
    }

    /// An elastic way, unless the metal yields, or may yield for all that is known of it.
    fn moved_unless_bent(&self, as_soldered: &Number, soft: &Number, way: Number) -> Number {
        let why = match as_soldered.limits().or(soft.limits()) {
            Some((least, _)) if least >= 1.0 => return way,
            Some(_) => {
                "the metal yields under this load: it goes farther than an elastic beam, and stays bent"
            }
            None => "no yield of this metal is on record: whether it stays bent is not known",
        };
        Number::not_known("mm", why, MODEL)
    }

    fn row(&self, metal: Metal, of_job: bool, is_soft: &dyn Fn(f64) -> bool) -> MetalRow {
        let (id, name) = (metal.id(), metal.name());
        let Some(stiffness) = physical(metal) else {
            let why = format!("there is no stiffness of {name} on record");
            let none = |unit| Number::not_known(unit, why.clone(), MODEL);
            return MetalRow {
                metal: id,
                name,
                of_job,
                moved: none("mm"),
                stress: none("MPa"),
                station: none("mm"),
                yield_soft: none("MPa"),
                yield_worked: none("MPa"),
                margin_soft: none(""),
                margin_worked: none(""),
                margin_as_soldered: none(""),
                tempers: Vec::new(),
            };
        };
        let modulus = stiffness.modulus_mpa();
        let strip = strip(self.job);
        let answer = self.answer(modulus, strip, true);
        let stiff = self.answer(modulus, strip, false);
        let (station, stress) = answer.greatest().unwrap_or((f64::NAN, f64::NAN));
        let share = rolled_alike(self.card.hammering.thinning_percent / 100.0);
        let (soft, worked) = (yield_after(metal, 0.0), yield_after(metal, share));
        let said = |found: &Result<((f64, f64), crate::tables::Source), String>| match found {
            Ok((range, source)) => Number::range(
                *range,
                "MPa",
                format!("{}; {}", said_source(source), REDUCTION_SOURCE.title),
            ),
            Err(why) => Number::not_known("MPa", why.clone(), "tables of temper"),
        };
        let margin = |found: &Result<((f64, f64), crate::tables::Source), String>, stress: f64| {
            match found {
                Ok((range, _)) => over(*range, stress),
                Err(why) => Number::not_known("", why.clone(), MARGIN),
            }
        };
        // The least over the tube, each place by its own state.
        let by_state = |answer: &Answer, is_soft: &dyn Fn(f64) -> bool| match (&soft, &worked) {
            (Ok((soft, _)), Ok((worked, _))) => {
                let least = |pick: fn(&(f64, f64)) -> f64| {
                    answer
                        .tube
                        .iter()
                        .map(|(at, stress)| {
                            let range = if is_soft(*at) { soft } else { worked };
                            pick(range) / stress
                        })
                        .fold(f64::INFINITY, f64::min)
                };
                margin_of(least(|range| range.0), least(|range| range.1))
            }
            (Err(why), _) | (_, Err(why)) => Number::not_known("", why.clone(), MARGIN),
        };
        // What is not hammered is soft whatever the solder does.
        let bare = |at: f64| at < self.card.hammering.from_station_mm;
        let as_soldered = by_state(&answer, &|at| bare(at) || is_soft(at));
        let moved = self.moved_unless_bent(
            &as_soldered,
            &margin(&soft, stress),
            self.moved(&answer, &stiff, stiffness.modulus_gpa),
        );
        MetalRow {
            metal: id,
            name,
            of_job,
            moved,
            stress: Number::within(stress, 0.1 * stress, "MPa", STRESS),
            station: Number::within(station, 0.5, "mm", "Where the stress is greatest"),
            margin_soft: margin(&soft, stress),
            margin_worked: by_state(&answer, &bare),
            yield_soft: said(&soft),
            yield_worked: said(&worked),
            margin_as_soldered: as_soldered,
            tempers: strengths(metal)
                .into_iter()
                .map(|row| TemperMargin {
                    temper: row.temper.name(),
                    yields: Number::range(row.yield_mpa, "MPa", said_source(&row.source)),
                    margin: over(row.yield_mpa, stress),
                })
                .collect(),
        }
    }
}

/// How a margin is worked out.
const MARGIN: &str = "Yield over greatest stress; least and greatest yield of the sources";

fn over(range: (f64, f64), stress: f64) -> Number {
    margin_of(range.0 / stress, range.1 / stress)
}

fn margin_of(least: f64, greatest: f64) -> Number {
    if least.is_finite() {
        // The cautious end leads.
        Number::between(least, least, greatest, "", MARGIN)
    } else {
        Number::not_known("", "nothing pulls on it", MARGIN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};
    use crate::tables::fillers::Filler;

    fn alto() -> (Job, Assembly) {
        let job = starting_job(Voice::Alto).unwrap();
        let assembly = Assembly::build(&job).unwrap();
        (job, assembly)
    }

    fn brass(found: &PullDown) -> MetalRow {
        found.directions[0].metals.iter().find(|row| row.of_job).unwrap().clone()
    }

    /// Truth: yields of the tables, C26000 145 MPa soft (mill); the beam is linear, so half the load has twice the margin.
    #[test]
    fn margin_is_yield_over_stress_and_halves_with_twice_the_load() {
        let (job, assembly) = alto();
        let card = CardFile::default();
        let row = brass(&pull_down(&job, &assembly, &card));
        let (stress, margin) = (row.stress.value.unwrap(), row.margin_soft.value.unwrap());
        assert!((margin * stress - 145.0).abs() < 1e-3, "{margin} {stress}");
        let mut light = card.clone();
        light.load.down_n /= 2.0;
        let half = brass(&pull_down(&job, &assembly, &light));
        assert!((half.margin_soft.value.unwrap() / margin - 2.0).abs() < 1e-5);
    }

    /// Truth: temper table of C26000 (mill and CDA): 145 MPa annealed, 345 to 350 half hard.
    #[test]
    fn each_temper_of_the_tables_has_its_margin() {
        let (job, assembly) = alto();
        let row = brass(&pull_down(&job, &assembly, &CardFile::default()));
        let stress = row.stress.value.unwrap();
        let of = |name: &str| {
            let found = row.tempers.iter().find(|one| one.temper.starts_with(name)).unwrap();
            found.margin.limits().unwrap()
        };
        assert!((of("annealed").0 * stress - 145.0).abs() < 1e-3);
        let half = of("half hard");
        assert!((half.0 * stress - 345.0).abs() < 1e-3 && (half.1 * stress - 350.0).abs() < 1e-3);
        assert_eq!(row.margin_soft.limits(), Some(of("annealed")));
    }

    /// What lies before the first hammered station is soft: with nothing hammered both margins are the soft one.
    #[test]
    fn only_what_is_hammered_is_hard() {
        let (job, assembly) = alto();
        let mut card = CardFile::default();
        card.hammering.from_station_mm = 190.0;
        let row = brass(&pull_down(&job, &assembly, &card));
        assert_eq!(row.margin_worked.limits(), row.margin_soft.limits());
        assert_eq!(row.margin_as_soldered.limits(), row.margin_soft.limits());
    }

    /// Bent for good under the load, or maybe so: no way of it is told, with the brace or without.
    #[test]
    fn no_elastic_way_is_told_of_what_yields() {
        let (job, assembly) = alto();
        let mut card = CardFile::default();
        card.load.down_n = 500.0;
        let found = pull_down(&job, &assembly, &card);
        assert_eq!(found.directions[0].moved_without_brace.value, None);
        for row in &found.directions[0].metals {
            assert_eq!(row.moved.value, None, "{}", row.name);
        }
    }

    /// Hammering is worth nothing where silver solder softens the metal again, all of it where every joint is soft-soldered.
    #[test]
    fn soft_solder_keeps_what_the_hammer_gave() {
        let (job, assembly) = alto();
        let mut card = CardFile::default();
        let silver = brass(&pull_down(&job, &assembly, &card));
        assert!(silver.margin_worked.value > silver.margin_soft.value);
        assert!(silver.margin_as_soldered.value < silver.margin_worked.value);
        let soft = super::super::card_file::Soldered { filler: Filler::Sn96Ag4, heat: 2 };
        let joints = &mut card.heat.joints;
        for joint in [
            &mut joints.tenon,
            &mut joints.end_ring,
            &mut joints.vent,
            &mut joints.brace,
            &mut joints.saddle,
            &mut joints.posts,
            &mut joints.guide,
        ] {
            *joint = soft;
        }
        let found = pull_down(&job, &assembly, &card);
        assert!(found.softened.is_empty());
        let kept = brass(&found);
        assert_eq!(kept.margin_as_soldered.value, kept.margin_worked.value);
    }

    #[test]
    fn what_no_table_has_is_not_known_and_says_why() {
        let (job, assembly) = alto();
        let mut card = CardFile::default();
        let found = pull_down(&job, &assembly, &card);
        let row = |found: &PullDown, id: &str| {
            found.directions[0].metals.iter().find(|row| row.metal == id).unwrap().clone()
        };
        assert_eq!(row(&found, "C27200").margin_soft.value, None);
        assert!(row(&found, "silver_925").margin_soft.value.is_some());
        assert!(row(&found, "silver_925").margin_worked.not_known.unwrap().contains("table"));
        card.load.down_n = 500.0;
        let heavy = pull_down(&job, &assembly, &card);
        let copper = row(&heavy, "C12200");
        assert!(copper.margin_as_soldered.value.unwrap() < 1.0);
        assert!(copper.moved.not_known.unwrap().contains("yields"));
        card.load.down_n = 0.0;
        assert_eq!(row(&pull_down(&job, &assembly, &card), "C26000").margin_soft.value, None);
    }
}
