//! How far annealed sheet can be formed before it must be annealed again, and at what heat that is done.

use super::metals::Metal;
use super::{Source, Status};

/// How a metal takes cold forming.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forming {
    /// Hardening exponent n of the annealed metal (stress K εⁿ), least and greatest of the sources. Under a pull, metal
    /// stretches evenly up to a true strain of n (Considère); beyond, it necks and tears.
    pub hardening: (f64, f64),
    pub source: Source,
}

/// Annealing range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Annealing {
    /// Degrees Celsius.
    pub range_c: (f64, f64),
    pub source: Source,
}

const COPPER: Source = Source {
    title: "Callister, Materials Science and Engineering (2005), p. 199, as quoted by an encyclopedia's table",
    status: Status::Read,
};
const BRASS: Source =
    Source { title: "encyclopedia's table of hardening exponents", status: Status::Read };
const BRONZE: Source = Source { title: "table of hardening exponents", status: Status::Memory };
const HANDBOOK: Source = Source {
    title: "ASM Handbook, vol. 2; Copper Development Association, alloy pages",
    status: Status::Memory,
};
const DATA_SHEET: Source = Source {
    title: "data sheet of this UNS number and mill's or tube maker's page",
    status: Status::Read,
};

/// How a metal takes forming; `None` where no source is at hand.
#[must_use]
pub fn forming(metal: Metal) -> Option<Forming> {
    let row = |least, greatest, source| Some(Forming { hardening: (least, greatest), source });
    match metal {
        Metal::C11000 | Metal::C12200 => row(0.44, 0.54, COPPER),
        Metal::C26000 => row(0.49, 0.49, BRASS),
        Metal::C51000 => row(0.46, 0.46, BRONZE),
        _ => None,
    }
}

/// Heat at which a metal is annealed; `None` where no source is at hand.
#[must_use]
pub fn annealing(metal: Metal) -> Option<Annealing> {
    let row = |least, greatest, source| Some(Annealing { range_c: (least, greatest), source });
    match metal {
        Metal::C11000 | Metal::C12200 => row(375.0, 650.0, HANDBOOK),
        Metal::C22000 => row(427.0, 788.0, DATA_SHEET),
        Metal::C23000 => row(425.0, 725.0, DATA_SHEET),
        Metal::C26000 => row(425.0, 750.0, HANDBOOK),
        Metal::C26800 => row(425.0, 700.0, HANDBOOK),
        Metal::C27200 => row(425.0, 650.0, HANDBOOK),
        Metal::C51000 | Metal::C52100 => row(475.0, 675.0, HANDBOOK),
        Metal::C75200 => row(600.0, 815.0, HANDBOOK),
        Metal::Silver925 => row(600.0, 650.0, HANDBOOK),
        _ => None,
    }
}
