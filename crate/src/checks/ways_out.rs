//! Ways out of what fails, as the list carries them: single changes of the job that were tried.

use serde::Serialize;

use super::list::Pair;

/// Name and version of this block of the list.
const FORMAT: &str = "neckwright-ways-out/1";

/// One change that clears a row.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct WayOut {
    /// What to do, in the maker's words.
    pub words: String,
    /// By how much, always positive: the least that was found, to a hundredth.
    pub by: f64,
    /// `mm` or `deg`.
    pub unit: &'static str,
    /// The fields of the job with the values they would have.
    pub fields: Vec<ChangedField>,
    /// What else it changes that no check here can judge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub caution: Option<&'static str>,
    /// Nothing fails any more. If not: the rows of this pair are cleared, and other rows that failed
    /// before still do, maybe by more.
    pub clears_all: bool,
    /// The row that then has the least to spare.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Pair | null"))]
    pub tightest: Option<Pair>,
}

/// The ways out of the rows that fail.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct WaysOut {
    pub format: &'static str,
    /// The pair that is farthest from what is asked of it first.
    pub pairs: Vec<PairWaysOut>,
    /// Pairs that fail and were not looked into, because so many fail.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_looked_into: Vec<PairOf>,
}

/// A pair by its parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PairOf {
    pub a: String,
    pub b: String,
}

/// The ways out of a pair's failing rows; none if none of the changes that were tried clears them
/// and leaves right what was right: rows, warnings, and numbers beside those of the joints.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PairWaysOut {
    pub a: String,
    pub b: String,
    /// What clears the whole list first, then the least change first.
    pub ways: Vec<WayOut>,
}

/// A field of the job before and after.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ChangedField {
    pub path: String,
    pub from: f64,
    pub to: f64,
}

impl WaysOut {
    /// The ways out of the pairs that fail.
    #[must_use]
    pub fn new(pairs: Vec<PairWaysOut>, not_looked_into: Vec<PairOf>) -> Self {
        Self { format: FORMAT, pairs, not_looked_into }
    }
}
