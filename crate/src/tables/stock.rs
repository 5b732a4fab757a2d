//! In what form a metal is sold, and how thick.

use super::metals::Metal;
use super::{Source, Status};

/// What a part is cut, turned or bent from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Sheet, strip or plate, by its thickness.
    Sheet,
    Rod,
    Tubing,
    /// Bought ready made.
    Bought,
}

/// Where the ranges come from, to be shown beside them: wide enough that what they refuse is hardly to be had anywhere.
pub const SOURCE: Source = Source {
    title: "what strip mills and metal merchants usually list; ask yours",
    status: Status::Memory,
};

/// Thinnest and thickest sheet, strip or plate a metal is sold in, mm; none for what is sold by other measures.
#[must_use]
pub fn sheet_mm(metal: Metal) -> Option<(f64, f64)> {
    match metal {
        Metal::C11000 | Metal::C12200 => Some((0.05, 25.0)),
        Metal::C22000 | Metal::C23000 => Some((0.1, 6.4)),
        Metal::C26000 => Some((0.05, 13.0)),
        Metal::C26800 | Metal::C27200 => Some((0.1, 13.0)),
        // Lead makes it crack under the rolls: it comes as rod and bar, the thinnest flat bar about this.
        Metal::C36000 => Some((3.0, 50.0)),
        Metal::C51000 | Metal::C52100 => Some((0.05, 6.4)),
        Metal::C75200 => Some((0.1, 6.4)),
        Metal::Silver925 => Some((0.1, 6.0)),
        Metal::StainlessSteel => Some((0.025, 25.0)),
        Metal::Cork | Metal::Felt => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::gauges::{THICKEST_GAUGE, THINNEST_GAUGE, thickness_mm};

    /// Each gauge a job may name is rolled of every sheet metal: ASTM B36 and B152 list them, from memory.
    #[test]
    fn every_gauge_is_sold_in_sheet_metals() {
        for metal in [Metal::C11000, Metal::C22000, Metal::C23000, Metal::C26000, Metal::C75200] {
            let (thinnest, thickest) = sheet_mm(metal).unwrap();
            assert!(thinnest < thickness_mm(THINNEST_GAUGE));
            assert!(thickest > thickness_mm(THICKEST_GAUGE));
        }
    }
}
