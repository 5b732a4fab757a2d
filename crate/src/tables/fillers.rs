//! Brazing fillers and soft solders: what is in them, and between which heats they melt.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Source, Status};

/// Said wherever a filler with cadmium is named. Basis: a supplier's safety data sheet, read; OSHA 29 CFR 1910.1027, from memory.
const CADMIUM_WARNING: &str = "Holds cadmium: overheating gives cadmium oxide fume, which can kill. It is refused unless confirm_cadmium is true; choose BAg-7 or BAg-5 instead.";

/// A filler, by its name in AWS A5.8 or, of soft solder, by its composition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
pub enum Filler {
    /// Silver 45, with cadmium.
    #[serde(rename = "BAg-1")]
    #[schemars(extend("x-warning" = CADMIUM_WARNING))]
    BAg1,
    /// Silver 50, with cadmium.
    #[serde(rename = "BAg-1a")]
    #[schemars(extend("x-warning" = CADMIUM_WARNING))]
    BAg1a,
    /// Silver 50 with nickel, with cadmium.
    #[serde(rename = "BAg-3")]
    #[schemars(extend("x-warning" = CADMIUM_WARNING))]
    BAg3,
    /// Silver 45, copper, zinc.
    #[serde(rename = "BAg-5")]
    BAg5,
    /// Silver 56, copper, zinc, tin.
    #[serde(rename = "BAg-7")]
    BAg7,
    /// Silver 50, copper, zinc, nickel.
    #[serde(rename = "BAg-24")]
    BAg24,
    /// Silver 40, copper, zinc, tin.
    #[serde(rename = "BAg-28")]
    BAg28,
    /// Silver 45, copper, zinc, tin.
    #[serde(rename = "BAg-36")]
    BAg36,
    /// Silver 15, copper, phosphorus: for copper without nickel or iron.
    #[serde(rename = "BCuP-5")]
    BCuP5,
    /// Tin 96.5, silver 3.5: soft.
    #[serde(rename = "Sn96.5Ag3.5")]
    Sn965Ag35,
    /// Tin 96, silver 4: soft.
    #[serde(rename = "Sn96Ag4")]
    Sn96Ag4,
    /// Tin 95, silver 5: soft.
    #[serde(rename = "Sn95Ag5")]
    Sn95Ag5,
    /// Tin 63, lead 37: soft, with lead.
    #[serde(rename = "Sn63Pb37")]
    Sn63Pb37,
    /// Tin 60, lead 40: soft, with lead.
    #[serde(rename = "Sn60Pb40")]
    Sn60Pb40,
    /// Tin 50, lead 50: soft, with lead.
    #[serde(rename = "Sn50Pb50")]
    Sn50Pb50,
}

/// What kind of filler it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Flows at so much heat that the metal beside it is annealed.
    Silver,
    /// The same, with phosphorus.
    Phosphorus,
    /// Flows far below any annealing heat.
    Soft,
}

/// One row of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FillerRow {
    /// As written in a card file.
    pub name: &'static str,
    /// ISO 17672 code, from memory; empty of soft solder.
    pub iso: &'static str,
    /// Percent by mass.
    pub composition: &'static str,
    pub kind: Kind,
    /// Melting begins here, least and greatest of the sources, °C.
    pub solidus_c: (f64, f64),
    /// All is molten here, least and greatest of the sources, °C.
    pub liquidus_c: (f64, f64),
    pub cadmium: bool,
    pub lead: bool,
    pub source: Source,
}

/// ISO 17672:2024 calls its own melting temperatures "only approximate" (abstract, read): what is said of each heat, K.
pub const APPROXIMATE_K: f64 = 5.0;

/// Filler to be melted over what the joint's gap holds: fillets and what runs astray.
pub const FEED: f64 = 1.5;
/// Where that comes from.
pub const FEED_SOURCE: Source = Source {
    title: "trade article \"How much filler metal\": about 1.5 times the clearance volume",
    status: Status::Read,
};

const HANDBOOK: Source = Source {
    title: "Machinery's Handbook, 31st ed., Table 1a (AWS A5.8-1981), °F rounded to °C",
    status: Status::Read,
};
const AWS: Source = Source {
    title: "AWS A5.8, heats; composition as in Machinery's Handbook, 31st ed., Table 1a",
    status: Status::Memory,
};
const SUPPLIER: Source = Source {
    title: "supplier's table \"brazing alloys\"; AWS A5.8 1200/1310 °F, from memory",
    status: Status::Read,
};
const BAG_36: Source = Source {
    title: "supplier's table (640-680 °C, read); AWS A5.8 1195/1251 °F",
    status: Status::Memory,
};
const TABLES: Source =
    Source { title: "several printed tables of soft solders", status: Status::Read };
const B32: Source = Source { title: "ASTM B32", status: Status::Memory };

impl Filler {
    /// Every filler of the table, in its order.
    pub const ALL: [Self; 15] = [
        Self::BAg1,
        Self::BAg1a,
        Self::BAg3,
        Self::BAg5,
        Self::BAg7,
        Self::BAg24,
        Self::BAg28,
        Self::BAg36,
        Self::BCuP5,
        Self::Sn965Ag35,
        Self::Sn96Ag4,
        Self::Sn95Ag5,
        Self::Sn63Pb37,
        Self::Sn60Pb40,
        Self::Sn50Pb50,
    ];

    /// The row of the table.
    #[must_use]
    pub fn row(self) -> FillerRow {
        let one = |c: f64| (c, c);
        let hard = |name, iso, composition, solidus_c, liquidus_c, source| FillerRow {
            name,
            iso,
            composition,
            kind: Kind::Silver,
            solidus_c,
            liquidus_c,
            cadmium: false,
            lead: false,
            source,
        };
        let cadmium = |row: FillerRow| FillerRow { cadmium: true, ..row };
        let soft = |name, composition, solidus_c, liquidus_c, source| FillerRow {
            kind: Kind::Soft,
            ..hard(name, "", composition, solidus_c, liquidus_c, source)
        };
        let lead = |row: FillerRow| FillerRow { lead: true, ..row };
        match self {
            Self::BAg1 => cadmium(hard(
                "BAg-1",
                "Ag 345",
                "Ag 45, Cu 15, Zn 16, Cd 24",
                one(607.0),
                one(618.0),
                HANDBOOK,
            )),
            Self::BAg1a => cadmium(hard(
                "BAg-1a",
                "Ag 350",
                "Ag 50, Cu 15.5, Zn 16.5, Cd 18",
                one(627.0),
                one(635.0),
                AWS,
            )),
            Self::BAg3 => cadmium(hard(
                "BAg-3",
                "Ag 351",
                "Ag 50, Cu 15.5, Zn 15.5, Cd 16, Ni 3",
                one(632.0),
                one(688.0),
                HANDBOOK,
            )),
            Self::BAg5 => {
                hard("BAg-5", "Ag 245", "Ag 45, Cu 30, Zn 25", one(677.0), one(743.0), HANDBOOK)
            }
            Self::BAg7 => hard(
                "BAg-7",
                "Ag 156",
                "Ag 56, Cu 22, Zn 17, Sn 5",
                one(618.0),
                one(652.0),
                HANDBOOK,
            ),
            Self::BAg24 => hard(
                "BAg-24",
                "Ag 450",
                "Ag 50, Cu 20, Zn 28, Ni 2",
                one(660.0),
                one(707.0),
                HANDBOOK,
            ),
            Self::BAg28 => hard(
                "BAg-28",
                "Ag 140",
                "Ag 40, Cu 30, Zn 28, Sn 2",
                (649.0, 650.0),
                one(710.0),
                SUPPLIER,
            ),
            Self::BAg36 => hard(
                "BAg-36",
                "Ag 145",
                "Ag 45, Cu 27, Zn 25, Sn 3",
                (640.0, 646.0),
                (677.0, 680.0),
                BAG_36,
            ),
            Self::BCuP5 => FillerRow {
                kind: Kind::Phosphorus,
                ..hard("BCuP-5", "CuP 284", "Ag 15, Cu 80, P 5", one(643.0), one(802.0), HANDBOOK)
            },
            Self::Sn965Ag35 => {
                soft("Sn96.5Ag3.5", "Sn 96.5, Ag 3.5", (220.0, 221.0), (220.0, 221.0), B32)
            }
            Self::Sn96Ag4 => soft("Sn96Ag4", "Sn 96, Ag 4", one(221.0), one(229.0), B32),
            Self::Sn95Ag5 => soft("Sn95Ag5", "Sn 95, Ag 5", one(221.0), one(240.0), B32),
            Self::Sn63Pb37 => {
                lead(soft("Sn63Pb37", "Sn 63, Pb 37", one(183.0), one(183.0), TABLES))
            }
            Self::Sn60Pb40 => {
                lead(soft("Sn60Pb40", "Sn 60, Pb 40", one(183.0), (188.0, 190.0), TABLES))
            }
            Self::Sn50Pb50 => {
                lead(soft("Sn50Pb50", "Sn 50, Pb 50", one(183.0), (212.0, 216.0), TABLES))
            }
        }
    }

    /// As written in a card file.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// Whether it flows below any annealing heat of the metals.
    #[must_use]
    pub fn is_soft(self) -> bool {
        self.row().kind == Kind::Soft
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(fahrenheit: f64) -> f64 {
        ((fahrenheit - 32.0) / 1.8).round()
    }

    /// Truth: the printed degrees Fahrenheit of Machinery's Handbook, 31st ed., Table 1a (read), and of AWS A5.8 (from
    /// memory) for BAg-1a, BAg-28 and BAg-36, turned into Celsius here.
    #[test]
    fn heats_are_the_printed_ones() {
        for (filler, solidus, liquidus) in [
            (Filler::BAg1, 1125.0, 1145.0),
            (Filler::BAg1a, 1160.0, 1175.0),
            (Filler::BAg3, 1170.0, 1270.0),
            (Filler::BAg5, 1250.0, 1370.0),
            (Filler::BAg7, 1145.0, 1205.0),
            (Filler::BAg24, 1220.0, 1305.0),
            (Filler::BAg28, 1200.0, 1310.0),
            (Filler::BAg36, 1195.0, 1251.0),
            (Filler::BCuP5, 1190.0, 1475.0),
        ] {
            let row = filler.row();
            let within = |range: (f64, f64), value: f64| (range.0..=range.1).contains(&value);
            assert!(within(row.solidus_c, celsius(solidus)), "{}", row.name);
            assert!(within(row.liquidus_c, celsius(liquidus)), "{}", row.name);
        }
    }

    /// Truth: shares of an alloy add up to a hundred, and no metal flows before it melts.
    #[test]
    fn shares_add_up_and_cadmium_is_marked() {
        for filler in Filler::ALL {
            let row = filler.row();
            let shares = row.composition.split(", ").map(|share| {
                share
                    .rsplit(' ')
                    .next()
                    .and_then(|share| share.parse::<f64>().ok())
                    .expect("a share")
            });
            assert!((shares.sum::<f64>() - 100.0).abs() < 1e-9, "{}", row.name);
            assert_eq!(row.cadmium, row.composition.contains("Cd"), "{}", row.name);
            assert_eq!(row.lead, row.composition.contains("Pb"), "{}", row.name);
            assert!(row.solidus_c.0 <= row.liquidus_c.0 && row.solidus_c.1 <= row.liquidus_c.1);
            assert_eq!(serde_json::to_value(filler).ok(), Some(row.name.into()));
        }
    }
}
