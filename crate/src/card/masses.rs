//! What the parts and the neck weigh, and where it balances.

use glam::DVec3;
use serde::Serialize;

use crate::model::Model;

use super::numbers::{Number, said_source};

/// Mass of one part.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PartMass {
    pub part: &'static str,
    pub name: &'static str,
    pub metal: &'static str,
    pub density: Number,
    pub mass: Number,
}

/// Masses of a neck.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Masses {
    pub parts: Vec<PartMass>,
    pub whole: Number,
    /// Station of the centreline nearest to the balance point.
    pub balance_station: Number,
    /// How far the balance point lies above the centreline there; negative below.
    pub balance_above: Number,
    /// Balance point in the frame of the neck.
    pub balance_x: Number,
    pub balance_y: Number,
    pub balance_z: Number,
}

/// Share by which a formed and filed part differs from its drawing (a guess).
const WORKMANSHIP: f64 = 0.03;

/// Masses of a model's parts.
#[must_use]
pub fn masses(model: &Model) -> Masses {
    let mut parts = Vec::new();
    let (mut sum, mut least, mut greatest, mut moment) = (0.0, 0.0, 0.0, DVec3::ZERO);
    for built in model.parts() {
        let Some(metal) = built.part.metal else { continue };
        let range = metal.row().density_range_g_cm3;
        let volume = built.properties().volume / 1000.0;
        let mass = built.mass_g();
        let (low, high) =
            (volume * range.0 * (1.0 - WORKMANSHIP), volume * range.1 * (1.0 + WORKMANSHIP));
        sum += mass;
        least += low;
        greatest += high;
        moment += built.properties().centroid * mass;
        let source = said_source(&metal.source());
        parts.push(PartMass {
            part: built.part.id,
            name: built.part.name,
            metal: metal.id(),
            density: Number::range(range, "g/cm³", source.clone()),
            mass: Number::between(
                mass,
                low,
                high,
                "g",
                format!("Volume by exact faces x density ({source}); 3 % for the work (a guess)"),
            ),
        });
    }
    let balance = moment / sum;
    let neck = &model.assembly.neck;
    let station = neck.centreline.nearest_station(balance);
    let at = neck.at(station);
    let rule = "Sum of mass x centroid over all parts, solder left out";
    let off = 1.0;
    Masses {
        parts,
        whole: Number::between(
            sum,
            least,
            greatest,
            "g",
            "Sum of the parts; solder adds a few tenths of a gram",
        ),
        balance_station: Number::within(station, off, "mm", rule),
        balance_above: Number::within((balance - at.centre).dot(at.up), off, "mm", rule),
        balance_x: Number::within(balance.x, off, "mm", rule),
        balance_y: Number::within(balance.y, off, "mm", rule),
        balance_z: Number::within(balance.z, off, "mm", rule),
    }
}
