//! Stiffness and expansion of the metals, ranges where sources differ.

use super::metals::Metal;
use super::sources::{CDA, STAINLESS};
use super::{Source, Status};

/// Stiffness and expansion of a metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Physical {
    /// Young's modulus, least and greatest of the sources, GPa.
    pub modulus_gpa: (f64, f64),
    /// Mean expansion from 20 to 300 degrees Celsius, least and greatest, 1e-6 per kelvin. Up to a
    /// brazing heat it grows by some 10 % more (from memory): what is worked out with it there is an
    /// estimate.
    pub expansion_um_m_k: (f64, f64),
    pub source: Source,
}

impl Physical {
    /// Middle of the range, MPa (N/mm²).
    #[must_use]
    pub fn modulus_mpa(&self) -> f64 {
        f64::midpoint(self.modulus_gpa.0, self.modulus_gpa.1) * 1000.0
    }

    /// Middle of the range, per kelvin.
    #[must_use]
    pub fn expansion_per_k(&self) -> f64 {
        f64::midpoint(self.expansion_um_m_k.0, self.expansion_um_m_k.1) * 1e-6
    }
}

const DATA_SHEETS: Source = Source {
    title: "strip mill's data sheet, supplier's sheet or stock page of this UNS number",
    status: Status::Read,
};
const ASM: Source = Source { title: "ASM Handbook, vol. 2", status: Status::Memory };

/// Stiffness and expansion; `None` for cork and felt, of which no figure is of use.
#[must_use]
pub fn physical(metal: Metal) -> Option<Physical> {
    let row = |modulus_gpa, expansion_um_m_k, source| {
        Some(Physical { modulus_gpa, expansion_um_m_k, source })
    };
    match metal {
        Metal::C11000 => row((115.0, 117.0), (16.9, 17.7), CDA),
        Metal::C12200 => row((117.0, 117.0), (17.7, 17.7), CDA),
        Metal::C22000 => row((110.0, 117.0), (18.4, 18.4), DATA_SHEETS),
        Metal::C23000 => row((110.0, 117.0), (18.7, 18.7), DATA_SHEETS),
        Metal::C26000 => row((110.0, 112.0), (19.1, 19.9), DATA_SHEETS),
        Metal::C26800 => row((103.0, 105.0), (20.3, 20.3), DATA_SHEETS),
        Metal::C27200 => row((105.0, 105.0), (20.5, 20.5), CDA),
        Metal::C36000 => row((97.0, 97.0), (20.5, 20.5), CDA),
        Metal::C51000 => row((110.0, 110.0), (17.8, 17.8), DATA_SHEETS),
        Metal::C52100 => row((110.0, 110.0), (18.2, 18.2), DATA_SHEETS),
        Metal::C75200 => row((125.0, 125.0), (16.2, 16.2), CDA),
        Metal::Silver925 => row((71.0, 76.0), (19.0, 19.0), ASM),
        Metal::StainlessSteel => row((193.0, 193.0), (17.3, 17.3), STAINLESS),
        Metal::Cork | Metal::Felt => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: Grüneisen's rule of a near constant product of expansion and melting temperature, with the solidus of
    /// each metal (Copper Development Association and ASM, as printed on the alloys' pages): for copper alloys
    /// 20 to 25 e-6/K at 1000 K, so a row that is off by a digit shows.
    #[test]
    fn expansion_falls_as_melting_rises() {
        for (metal, solidus_c) in [
            (Metal::C11000, 1065.0),
            (Metal::C22000, 1020.0),
            (Metal::C23000, 988.0),
            (Metal::C26000, 916.0),
            (Metal::C26800, 904.0),
            (Metal::C51000, 954.0),
            (Metal::C75200, 1071.0),
        ] {
            let row = physical(metal).expect("a metal");
            let product = row.expansion_per_k() * 1e6 * (solidus_c + 273.0) / 1000.0;
            assert!((20.0..25.0).contains(&product), "{}: {product}", metal.name());
        }
        assert_eq!(physical(Metal::Felt), None);
    }
}
