//! Metals, cork and felt: density, usual composition and a colour for the screen.
//!
//! Densities are typical values for estimating mass, never for accepting a delivery. Where the sources give a
//! range, its middle is used and the range is kept beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::sources::{CDA, STAINLESS, STERLING, STOCK_PAGE};
use super::{Source, Status};

/// Said wherever a job names a metal with lead in it. Basis: OSHA 1910.1025, from memory; follow the supplier's safety
/// data sheet.
const LEAD_WARNING: &str = "Holds lead: do not heat it with a torch, do not sand it dry, wash your hands after work, and use a lead-free metal wherever the mouth may touch.";

/// What a part is made of. Copper alloys carry their UNS number.
///
/// Cork and felt stand here too, so that every part of a neck has a material and a mass; a job cannot name them,
/// because the parts made of them are made of nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub enum Metal {
    /// Copper, electrolytic tough pitch: holds oxygen, so a hydrogen flame makes it brittle.
    C11000,
    /// Copper, deoxidised with phosphorus.
    C12200,
    /// Commercial bronze: 90 copper, 10 zinc, no tin.
    C22000,
    /// Red brass: 85 copper, 15 zinc.
    C23000,
    /// Cartridge brass: 70 copper, 30 zinc.
    C26000,
    /// Yellow brass: 66 copper, 34 zinc.
    C26800,
    /// Yellow brass: 63 copper, 37 zinc.
    C27200,
    /// Free-cutting brass with about 3 % lead: turns well, but lead must stay out of the flame and off the mouthpiece.
    #[schemars(extend("x-warning" = LEAD_WARNING))]
    C36000,
    /// Phosphor bronze with 5 % tin.
    C51000,
    /// Phosphor bronze with 8 % tin.
    C52100,
    /// Nickel silver: 65 copper, 18 nickel, 17 zinc; no silver in it.
    C75200,
    /// Sterling silver: 92.5 silver, 7.5 copper.
    #[serde(rename = "silver_925")]
    Silver925,
    /// Stainless steel, 18 chromium and 8 nickel, for screws and springs.
    #[serde(rename = "stainless_steel")]
    StainlessSteel,
    /// Sheet cork, for the sleeve the mouthpiece is pushed on.
    #[serde(rename = "cork", skip_deserializing)]
    Cork,
    /// Felt with card and skin, as a bought pad.
    #[serde(rename = "felt", skip_deserializing)]
    Felt,
}

/// One row of the table of metals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalRow {
    /// As written in a job file.
    pub id: &'static str,
    /// The trade's name.
    pub name: &'static str,
    /// Usual composition, percent by mass.
    pub composition: &'static str,
    /// Least and greatest density the sources give, g/cm3; equal where they give one.
    pub density_range_g_cm3: (f64, f64),
    /// Where composition and density come from.
    pub source: Source,
    /// What the metal looks like on the screen, 8-bit sRGB; chosen by eye, no measurement behind it.
    pub colour_srgb: [u8; 3],
}

const MILL_AND_DATA_SHEET: Source = Source {
    title: "strip mill's data sheet and material database page of this UNS number",
    status: Status::Read,
};
const COPPER_SHEET: Source =
    Source { title: "supplier's sheet \"C11000 technical data\"", status: Status::Read };
const DATA_SHEET: Source = Source { title: "data sheet \"UNS C23000\"", status: Status::Read };
const CORK: Source = Source {
    title: "handbook range for natural cork; varies with the piece",
    status: Status::Memory,
};
const FELT: Source = Source {
    title: "weigh your own pads: a guess for felt with card and skin",
    status: Status::Invented,
};

impl Metal {
    /// The row of the table.
    #[must_use]
    pub fn row(self) -> MetalRow {
        let row = |id, name, composition, density_range_g_cm3, source, colour_srgb| MetalRow {
            id,
            name,
            composition,
            density_range_g_cm3,
            source,
            colour_srgb,
        };
        match self {
            Self::C11000 => row(
                "C11000",
                "copper",
                "Cu 99.90 or more, O 0.02-0.04",
                (8.89, 8.94),
                COPPER_SHEET,
                [0xC7, 0x7B, 0x58],
            ),
            Self::C12200 => row(
                "C12200",
                "deoxidised copper",
                "Cu 99.9 or more, P 0.015-0.040",
                (8.94, 8.94),
                CDA,
                [0xC4, 0x79, 0x57],
            ),
            Self::C22000 => row(
                "C22000",
                "commercial bronze",
                "Cu 89-91, Zn rest",
                (8.80, 8.80),
                MILL_AND_DATA_SHEET,
                [0xC9, 0x8F, 0x5A],
            ),
            Self::C23000 => row(
                "C23000",
                "red brass",
                "Cu 84-86, Zn rest",
                (8.75, 8.75),
                DATA_SHEET,
                [0xCE, 0x9A, 0x5C],
            ),
            Self::C26000 => row(
                "C26000",
                "cartridge brass",
                "Cu 68.5-71.5, Zn rest",
                (8.53, 8.53),
                MILL_AND_DATA_SHEET,
                [0xD9, 0xB6, 0x62],
            ),
            Self::C26800 => row(
                "C26800",
                "yellow brass 66/34",
                "Cu about 66, Zn 34",
                (8.47, 8.47),
                STOCK_PAGE,
                [0xDC, 0xBD, 0x66],
            ),
            Self::C27200 => row(
                "C27200",
                "yellow brass 63/37",
                "Cu 62-65, Zn rest",
                (8.44, 8.44),
                CDA,
                [0xDE, 0xC1, 0x6B],
            ),
            Self::C36000 => row(
                "C36000",
                "leaded free-cutting brass",
                "Cu 60-63, Pb 2.5-3.0, Zn rest",
                (8.50, 8.50),
                CDA,
                [0xD6, 0xBA, 0x70],
            ),
            Self::C51000 => row(
                "C51000",
                "phosphor bronze 5 %",
                "Sn 4.2-5.8, P 0.03-0.35, Cu rest",
                (8.86, 8.86),
                MILL_AND_DATA_SHEET,
                [0xC2, 0x8A, 0x60],
            ),
            Self::C52100 => row(
                "C52100",
                "phosphor bronze 8 %",
                "Sn 7-9, P 0.03-0.35, Cu rest",
                (8.80, 8.80),
                MILL_AND_DATA_SHEET,
                [0xC4, 0x91, 0x66],
            ),
            Self::C75200 => row(
                "C75200",
                "nickel silver 65-18",
                "Cu 63-66.5, Ni 16.5-19.5, Zn rest",
                (8.73, 8.73),
                CDA,
                [0xC3, 0xBE, 0xB0],
            ),
            Self::Silver925 => row(
                "silver_925",
                "sterling silver",
                "Ag 92.5, Cu 7.5",
                (10.36, 10.36),
                STERLING,
                [0xE4, 0xE3, 0xDF],
            ),
            Self::StainlessSteel => row(
                "stainless_steel",
                "stainless steel",
                "Cr 18, Ni 8, Fe rest",
                (7.9, 8.03),
                STAINLESS,
                [0xB4, 0xB7, 0xBB],
            ),
            Self::Cork => {
                row("cork", "cork", "natural cork sheet", (0.12, 0.25), CORK, [0xC6, 0x9C, 0x6D])
            }
            Self::Felt => {
                row("felt", "felt pad", "felt, card, skin", (0.2, 0.5), FELT, [0xA8, 0x6B, 0x4C])
            }
        }
    }

    /// As written in a job file.
    #[must_use]
    pub fn id(self) -> &'static str {
        self.row().id
    }

    /// The trade's name.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// Name on a sheet for a shop: with the UNS number, where it has one.
    #[must_use]
    pub fn in_full(self) -> String {
        let number = self.id();
        if number.starts_with('C') {
            format!("{} ({number})", self.name())
        } else {
            self.name().to_string()
        }
    }

    /// Usual composition, percent by mass.
    #[must_use]
    pub fn composition(self) -> &'static str {
        self.row().composition
    }

    /// Where composition and density come from, to be shown beside them.
    #[must_use]
    pub fn source(self) -> Source {
        self.row().source
    }

    /// Density for estimating mass, g/cm3: the middle of the range the sources give.
    #[must_use]
    pub fn density_g_cm3(self) -> f64 {
        let (least, greatest) = self.row().density_range_g_cm3;
        f64::midpoint(least, greatest)
    }

    /// Colour for the screen, 8-bit sRGB.
    #[must_use]
    pub fn colour_srgb(self) -> [u8; 3] {
        self.row().colour_srgb
    }
}

/// Every material, in the order of the table.
pub const ALL: [Metal; 15] = [
    Metal::C11000,
    Metal::C12200,
    Metal::C22000,
    Metal::C23000,
    Metal::C26000,
    Metal::C26800,
    Metal::C27200,
    Metal::C36000,
    Metal::C51000,
    Metal::C52100,
    Metal::C75200,
    Metal::Silver925,
    Metal::StainlessSteel,
    Metal::Cork,
    Metal::Felt,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Densities of the elements, g/cm3. Copper, zinc, tin, silver, lead, iron and chromium: printed tables of the
    /// density of metals, read. Nickel: handbook value, from memory.
    const CU: f64 = 8.96;
    const ZN: f64 = 7.135;
    const SN: f64 = 7.28;
    const AG: f64 = 10.49;
    const PB: f64 = 11.34;
    const FE: f64 = 7.87;
    const CR: f64 = 7.19;
    const NI: f64 = 8.90;

    /// Truth: the mixture of an alloy's metals by volume. Alloys are denser than it, as their metals draw together,
    /// brass most: by up to 3 %. Each is mixed here by the middle of its range of composition.
    #[test]
    fn alloys_lie_near_the_mixture_of_their_metals() {
        let mixed: [(Metal, &[(f64, f64)]); 13] = [
            (Metal::C11000, &[(1.0, CU)]),
            (Metal::C12200, &[(1.0, CU)]),
            (Metal::C22000, &[(0.90, CU), (0.10, ZN)]),
            (Metal::C23000, &[(0.85, CU), (0.15, ZN)]),
            (Metal::C26000, &[(0.70, CU), (0.30, ZN)]),
            (Metal::C26800, &[(0.66, CU), (0.34, ZN)]),
            (Metal::C27200, &[(0.635, CU), (0.365, ZN)]),
            (Metal::C36000, &[(0.615, CU), (0.0275, PB), (0.3575, ZN)]),
            (Metal::C51000, &[(0.95, CU), (0.05, SN)]),
            (Metal::C52100, &[(0.92, CU), (0.08, SN)]),
            (Metal::C75200, &[(0.6475, CU), (0.18, NI), (0.1725, ZN)]),
            (Metal::Silver925, &[(0.925, AG), (0.075, CU)]),
            (Metal::StainlessSteel, &[(0.74, FE), (0.18, CR), (0.08, NI)]),
        ];
        for (metal, shares) in mixed {
            let mixture = 1.0 / shares.iter().map(|(share, density)| share / density).sum::<f64>();
            let ratio = metal.density_g_cm3() / mixture;
            assert!((0.993..1.035).contains(&ratio), "{}: {ratio}", metal.name());
        }
    }

    #[test]
    fn the_name_in_a_job_file_is_the_id() {
        for metal in ALL {
            assert_eq!(serde_json::to_value(metal).ok(), Some(metal.id().into()));
        }
    }

    #[test]
    fn a_job_cannot_ask_for_a_part_of_cork() {
        assert!(serde_json::from_value::<Metal>("cork".into()).is_err());
        assert!(serde_json::from_value::<Metal>("C26000".into()).is_ok());
    }
}
