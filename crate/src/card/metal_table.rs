//! The metals of a neck with every figure the tables have of them.

use serde::Serialize;

use crate::model::Model;
use crate::tables::melting::melting;
use crate::tables::metals::{ALL, Metal};
use crate::tables::physical::physical;
use crate::tables::strength::strengths;

use super::numbers::{Number, said_source};

/// Strength in one temper.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct TemperRow {
    pub temper: &'static str,
    #[serde(rename = "yield")]
    pub yields: Number,
    pub tensile: Number,
}

/// One metal.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct MetalSheet {
    pub metal: &'static str,
    pub name: &'static str,
    pub composition: &'static str,
    /// Parts made of it.
    pub parts: Vec<&'static str>,
    pub density: Number,
    pub stiffness: Number,
    pub expansion: Number,
    pub solidus: Number,
    pub liquidus: Number,
    pub anneal: Number,
    pub tempers: Vec<TemperRow>,
    pub words: Vec<&'static str>,
}

/// Every metal of the tables: those of a model in the order of its parts, then the others.
#[must_use]
pub fn metal_table(model: &Model) -> Vec<MetalSheet> {
    let mut found: Vec<(Metal, Vec<&'static str>)> = Vec::new();
    let no_metal = |metal: &Metal| matches!(metal, Metal::Cork | Metal::Felt);
    for built in model.parts() {
        let Some(metal) = built.part.metal.filter(|metal| !no_metal(metal)) else { continue };
        match found.iter_mut().find(|(known, _)| *known == metal) {
            Some((_, parts)) => parts.push(built.part.id),
            None => found.push((metal, vec![built.part.id])),
        }
    }
    for metal in ALL.into_iter().filter(|metal| !no_metal(metal)) {
        if found.iter().all(|(known, _)| *known != metal) {
            found.push((metal, Vec::new()));
        }
    }
    found.into_iter().map(|(metal, parts)| sheet(metal, parts)).collect()
}

fn sheet(metal: Metal, parts: Vec<&'static str>) -> MetalSheet {
    let row = metal.row();
    let missing = |unit, what: &str| {
        Number::not_known(
            unit,
            format!("no {what} of {} with a source is at hand", metal.name()),
            "tables of metals",
        )
    };
    let stiff = physical(metal);
    let melts = melting(metal);
    let words = match metal {
        Metal::C22000 => vec![
            "Called commercial bronze, but holds no tin: 90 copper, 10 zinc. Tin bronze is C51000 or C52100.",
        ],
        Metal::C51000 | Metal::C52100 => vec![
            "Tin bronze, deoxidised with phosphorus; hardens fast and needs more anneals than brass.",
        ],
        Metal::C11000 => {
            vec!["Holds oxygen: a hydrogen (reducing) flame makes it brittle. C12200 does not."]
        }
        Metal::C75200 => {
            vec!["Nickel silver holds nickel and no silver: no filler with phosphorus on it."]
        }
        Metal::C36000 => {
            vec!["Holds lead: no torch, no dry sanding, wash hands, not where a mouth may touch."]
        }
        _ => vec![],
    };
    MetalSheet {
        metal: metal.id(),
        name: metal.name(),
        composition: metal.composition(),
        parts,
        density: Number::range(row.density_range_g_cm3, "g/cm³", said_source(&row.source)),
        stiffness: match stiff {
            Some(stiff) => Number::range(stiff.modulus_gpa, "GPa", said_source(&stiff.source)),
            None => missing("GPa", "stiffness"),
        },
        expansion: match stiff {
            Some(stiff) => Number::range(
                stiff.expansion_um_m_k,
                "µm/(m K)",
                format!("{}; mean of 20 to 300 °C", said_source(&stiff.source)),
            ),
            None => missing("µm/(m K)", "expansion"),
        },
        solidus: match melts {
            Some(melts) => Number::range(melts.solidus_c, "°C", said_source(&melts.source)),
            None => missing("°C", "melting range"),
        },
        liquidus: match melts {
            Some(melts) => Number::range(melts.liquidus_c, "°C", said_source(&melts.source)),
            None => missing("°C", "melting range"),
        },
        anneal: super::bent_parts::anneal(metal),
        tempers: strengths(metal)
            .into_iter()
            .map(|row| TemperRow {
                temper: row.temper.name(),
                yields: Number::range(row.yield_mpa, "MPa", said_source(&row.source)),
                tensile: Number::range(row.tensile_mpa, "MPa", said_source(&row.source)),
            })
            .collect(),
        words,
    }
}
