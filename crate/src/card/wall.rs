//! Which sheet the tube is formed from, and what forming and hammering leave of it.

use serde::Serialize;

use crate::blanks::blank::Blank;
use crate::blanks::costs::Costs;
use crate::blanks::outline::Allowances;
use crate::model::Model;
use crate::tables::gauges::{self, THICKEST_GAUGE, THINNEST_GAUGE, thickness_mm};

use super::card_file::CardFile;
use super::numbers::{Number, counted, said_source};

/// A gauge of sheet beside the wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct GaugeRow {
    #[serde(serialize_with = "counted")]
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Number"))]
    pub gauge: u8,
    pub thickness: Number,
}

/// Sheet and wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Wall {
    pub drawn: Number,
    /// The nearest gauges on both sides of it.
    pub gauges: Vec<GaugeRow>,
    /// Where forming stretches it most.
    pub thinnest_formed: Number,
    pub thinnest_station: Number,
    pub thickest_formed: Number,
    /// After hammering too.
    pub thinnest_hammered: Number,
    pub rounds: Number,
    pub anneal: Number,
    pub words: Vec<String>,
}

/// Sheet and wall of a job's tube.
#[must_use]
pub fn wall(model: &Model, card: &CardFile) -> Wall {
    let drawn = model.assembly.neck.wall;
    let metal = model.job.tube.metal();
    let mut rows: Vec<GaugeRow> = (THICKEST_GAUGE..=THINNEST_GAUGE)
        .map(|gauge| GaugeRow {
            gauge,
            thickness: Number::within(
                thickness_mm(gauge),
                0.03,
                "mm",
                format!(
                    "{}; a mill's own tolerance on it is a guess here",
                    said_source(&gauges::SOURCE)
                ),
            ),
        })
        .collect();
    rows.sort_by(|a, b| {
        let off = |row: &GaugeRow| (thickness_mm(row.gauge) - drawn).abs();
        off(a).total_cmp(&off(b))
    });
    rows.truncate(2);
    rows.sort_by_key(|row| row.gauge);
    let rule = "Half shell laid flat with the least strain: an estimate, hammer and former do more on the way";
    let costs = Blank::of(&model.job, &model.assembly, Allowances::default())
        .map_err(|error| error.to_string())
        .and_then(|blank| {
            Costs::of(&blank, &model.assembly.neck, metal)
                .ok_or("the blank has no cells".to_string())
        });
    let thinning = card.hammering.thinning_percent / 100.0;
    let (thin, station, thick, hammered, rounds) = match &costs {
        Ok(costs) => {
            let (thin, thick) = (costs.thinnest_mm.value, costs.thickest_mm.value);
            let off = 0.03 * drawn;
            let rounds = match costs.rounds.rounds {
                Some(rounds) => Number::within(f64::from(rounds), 1.0, "rounds", rule),
                None => Number::not_known(
                    "rounds",
                    costs.rounds.not_known.clone().unwrap_or_default(),
                    rule,
                ),
            };
            (
                Number::within(thin, off, "mm", rule),
                Number::within(costs.thinnest_mm.station_mm, 5.0, "mm", rule),
                Number::within(thick, off, "mm", rule),
                Number::within(
                    thin * (1.0 - thinning),
                    off + 0.5 * thin * thinning,
                    "mm",
                    "Thinnest after forming, less hammering.thinning_percent: an estimate, measure it",
                ),
                rounds,
            )
        }
        Err(why) => {
            let none = |unit| Number::not_known(unit, why.clone(), rule);
            (none("mm"), none("mm"), none("mm"), none("mm"), none("rounds"))
        }
    };
    Wall {
        drawn: Number::within(drawn, 0.03, "mm", "Job: wall of the tube"),
        gauges: rows,
        thinnest_formed: thin,
        thinnest_station: station,
        thickest_formed: thick,
        thinnest_hammered: hammered,
        rounds,
        anneal: super::bent_parts::anneal(metal),
        words: costs.ok().and_then(|costs| costs.rounds.beyond).into_iter().collect(),
    }
}
