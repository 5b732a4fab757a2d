//! Between which heats the metals melt.

use super::metals::Metal;
use super::sources::{CDA, STAINLESS};
use super::{Source, Status};

/// Melting range of a metal, °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Melting {
    /// Melting begins here, least and greatest of the sources.
    pub solidus_c: (f64, f64),
    /// All is molten here, least and greatest of the sources.
    pub liquidus_c: (f64, f64),
    pub source: Source,
}

const DATA_SHEET: Source = Source {
    title: "strip mill's data sheet, datasheet or material database page of this UNS number",
    status: Status::Read,
};
const STERLING: Source = Source {
    title: "material page \"Silver - Sterling\" (788/891 °C; the page swaps the words solidus and liquidus), ASM Handbook, vol. 2 (802/899 °C, from memory)",
    status: Status::Read,
};

/// Melting range; `None` where no source is at hand.
#[must_use]
pub fn melting(metal: Metal) -> Option<Melting> {
    let one = |c: f64| (c, c);
    let row = |solidus_c, liquidus_c, source| Some(Melting { solidus_c, liquidus_c, source });
    match metal {
        Metal::C11000 => row(one(1065.0), one(1083.0), CDA),
        Metal::C12200 => row(one(1083.0), one(1083.0), CDA),
        Metal::C22000 => row(one(1020.0), one(1043.0), DATA_SHEET),
        Metal::C23000 => row(one(988.0), one(1027.0), DATA_SHEET),
        Metal::C26000 => row(one(916.0), one(954.0), DATA_SHEET),
        Metal::C26800 => row(one(904.0), one(932.0), CDA),
        Metal::C27200 => row((899.0, 901.0), (919.0, 921.0), CDA),
        Metal::C51000 => row(one(954.0), one(1049.0), CDA),
        Metal::C52100 => row(one(880.0), one(1030.0), DATA_SHEET),
        Metal::C75200 => row(one(1071.0), one(1110.0), CDA),
        Metal::Silver925 => row((788.0, 802.0), (891.0, 899.0), STERLING),
        Metal::StainlessSteel => row((1400.0, 1400.0), (1450.0, 1450.0), STAINLESS),
        Metal::C36000 | Metal::Cork | Metal::Felt => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: pure copper melts at 1083 °C and silver with copper no lower than its eutectic, 779 °C (both read); more zinc
    /// lowers the solidus of brass.
    #[test]
    fn metals_melt_in_the_order_of_their_alloying() {
        let solidus = |metal| melting(metal).expect("on record").solidus_c.0;
        let brasses = [
            Metal::C12200,
            Metal::C22000,
            Metal::C23000,
            Metal::C26000,
            Metal::C26800,
            Metal::C27200,
        ];
        assert!(brasses.windows(2).all(|pair| solidus(pair[0]) > solidus(pair[1])));
        assert_eq!(solidus(Metal::C12200), 1083.0);
        assert!(solidus(Metal::Silver925) > 779.0);
        assert_eq!(melting(Metal::C36000), None);
    }
}
