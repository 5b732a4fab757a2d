//! Why a solid could not be built.

use thiserror::Error;

/// The step that failed and why, in words for whoever mends the job or the builder.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{step}: {reason}")]
pub struct SolidError {
    /// What was being made, e.g. "vent hole, outer rim".
    pub step: &'static str,
    pub reason: String,
}

impl SolidError {
    pub fn new(step: &'static str, reason: impl ToString) -> Self {
        Self { step, reason: reason.to_string() }
    }
}
