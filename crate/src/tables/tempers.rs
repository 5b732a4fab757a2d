//! How hard a metal is when it is ordered.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Temper of copper alloys, as ASTM B601 counts it (codes from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Temper {
    /// Soft, O60: for forming.
    Annealed,
    /// Quarter hard, H01.
    QuarterHard,
    /// Half hard, H02.
    HalfHard,
    /// Three-quarter hard, H03.
    ThreeQuarterHard,
    /// Hard, H04.
    Hard,
    /// Extra hard, H06.
    ExtraHard,
    /// Spring hard, H08.
    Spring,
    /// As it is sold.
    AsSold,
}

impl Temper {
    /// Words and code for an order.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Annealed => "annealed (O60)",
            Self::QuarterHard => "quarter hard (H01)",
            Self::HalfHard => "half hard (H02)",
            Self::ThreeQuarterHard => "three-quarter hard (H03)",
            Self::Hard => "hard (H04)",
            Self::ExtraHard => "extra hard (H06)",
            Self::Spring => "spring hard (H08)",
            Self::AsSold => "as sold",
        }
    }
}
