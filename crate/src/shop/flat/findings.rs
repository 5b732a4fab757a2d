//! What the checks before cutting have to say, each with its place.

use std::fmt;

use serde::Serialize;

/// What was asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Question {
    /// Does every path close?
    OpenPath,
    /// Does a path cross itself or another?
    Crossing,
    /// Can the jet get into every inside corner?
    InsideCorner,
    /// Can every hole be pierced?
    SmallHole,
    /// Is there metal enough beside every cut?
    ThinWeb,
    /// Is a hole that is tapped left smaller than its drill?
    TappedHole,
    /// Does a hole that something fits into need the reamer?
    FittedHole,
    /// Do the letters lie on the metal, and can they be read?
    Letters,
}

/// One answer that the maker or the shop must know.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct CuttingFinding {
    pub question: Question,
    /// Place on the flat outline, mm from its lower left corner.
    pub place_mm: [f64; 2],
    /// What was found there, mm, and what it should be.
    pub found_mm: f64,
    pub wanted_mm: f64,
    /// What is the matter and what is done about it.
    pub words: String,
    /// Whether the part should not be cut like this: it leaves the shop only by saying so.
    pub fails: bool,
}

impl fmt::Display for CuttingFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y] = self.place_mm;
        let weight = if self.fails { "CHECK" } else { "Note" };
        write!(f, "{weight} at x {x:.2}, y {y:.2}: {}", self.words)
    }
}
