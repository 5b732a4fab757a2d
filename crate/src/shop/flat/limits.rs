//! What a jet of water with abrasive can cut, with the pages the figures were read on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::tables::{Source, Status};

/// Limits of the shop that cuts; every shop has its own, so they can be changed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields, default)]
pub struct CuttingLimits {
    /// Smallest radius of an inside corner, mm.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub inside_radius_mm: f64,
    /// Smallest hole that is pierced and cut, mm of diameter.
    #[schemars(range(min = 0.1, max = 20.0))]
    pub least_hole_mm: f64,
    /// The same as a share of the thickness; the greater of both counts.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub least_hole_thicknesses: f64,
    /// Least metal left beside a hole or between two edges, mm.
    #[schemars(range(min = 0.0, max = 20.0))]
    pub least_web_mm: f64,
    /// Metal the shop should be told of though it can be cut, as a share of the thickness.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub safe_web_thicknesses: f64,
    /// How true a profile comes off the table, mm to either side.
    #[schemars(range(min = 0.0, max = 2.0))]
    pub profile_mm: f64,
    /// How much a hole that is tapped afterwards must be smaller than its drill, mm of diameter.
    #[schemars(range(min = 0.0, max = 2.0))]
    pub tapped_under_mm: f64,
    /// Least metal round engraved or stamped letters, mm.
    #[schemars(range(min = 0.0, max = 20.0))]
    pub letter_margin_mm: f64,
    /// Smallest capitals that can still be read, mm.
    #[schemars(range(min = 0.1, max = 20.0))]
    pub least_letter_mm: f64,
}

impl Default for CuttingLimits {
    fn default() -> Self {
        Self {
            inside_radius_mm: 0.5,
            least_hole_mm: 1.8,
            least_hole_thicknesses: 1.0,
            least_web_mm: 1.0,
            safe_web_thicknesses: 1.0,
            profile_mm: 0.13,
            tapped_under_mm: 0.25,
            letter_margin_mm: 0.3,
            least_letter_mm: 1.2,
        }
    }
}

impl CuttingLimits {
    /// Where each limit's starting value comes from, by its field.
    pub const SOURCES: [(&'static str, Source); 9] = [
        (
            "inside_radius_mm",
            read(
                "\"Design for Waterjet\": a jet leaves about 0.38 mm; \"Waterjet Cutting Design Guidelines\": draw no radius under 0.5 mm",
            ),
        ),
        (
            "least_hole_mm",
            read(
                "\"Waterjet Cutting Design Guidelines\": 1.8 mm in stock of 1.6 mm, as an example of one shop",
            ),
        ),
        ("least_hole_thicknesses", MEMORY),
        ("least_web_mm", MEMORY),
        ("safe_web_thicknesses", MEMORY),
        ("profile_mm", read("\"Design for Waterjet\": 0.13 mm attainable, 0.25 mm guaranteed")),
        (
            "tapped_under_mm",
            read(
                "\"Design for Waterjet\": cut tapped and fitted holes undersize; by as much as the guaranteed profile",
            ),
        ),
        ("letter_margin_mm", PRACTICE),
        ("least_letter_mm", PRACTICE),
    ];

    /// Smallest hole in a sheet of this thickness, mm of diameter.
    #[must_use]
    pub fn least_hole(&self, thickness_mm: f64) -> f64 {
        self.least_hole_mm.max(self.least_hole_thicknesses * thickness_mm)
    }
}

const fn read(title: &'static str) -> Source {
    Source { title, status: Status::Read }
}

const MEMORY: Source = Source {
    title: "rule of thumb of waterjet shops: holes and webs of about the thickness, webs of 1 mm",
    status: Status::Memory,
};
const PRACTICE: Source = Source { title: "common practice, no source", status: Status::Invented };
