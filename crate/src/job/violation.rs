//! A parameter that is not as it must be.

use std::fmt;

use serde::{Deserialize, Serialize};
use serde_json::Value;

/// One thing wrong with a job, said so that the maker can put it right.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Violation {
    /// Where it stands, as in `centreline.pieces[2].radius_mm`; empty for the file as a whole.
    pub path: String,
    /// What stands there; null if nothing does.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "unknown"))]
    pub value: Value,
    /// What may stand there, as in `0.3 to 2 mm`.
    pub allowed: String,
    /// Why, in a sentence.
    pub why: String,
    /// Whether the job can be used all the same.
    pub severity: Severity,
}

/// Whether a job with this finding can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The neck cannot be built like this.
    Error,
    /// The neck can be built, but the maker should know.
    Warning,
}

impl Violation {
    /// Something that keeps the neck from being built.
    pub fn error(
        path: impl Into<String>,
        value: impl Into<Value>,
        allowed: impl Into<String>,
        why: impl Into<String>,
    ) -> Self {
        Self {
            path: path.into(),
            value: value.into(),
            allowed: allowed.into(),
            why: why.into(),
            severity: Severity::Error,
        }
    }

    /// Something the maker should know.
    pub fn warning(
        path: impl Into<String>,
        value: impl Into<Value>,
        allowed: impl Into<String>,
        why: impl Into<String>,
    ) -> Self {
        Self { severity: Severity::Warning, ..Self::error(path, value, allowed, why) }
    }

    /// Whether it keeps the neck from being built.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// `tube.wall_mm is 9; allowed: 0.3 to 2 mm. Thickness of the wall after forming.`
impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = if self.path.is_empty() { "the file" } else { &self.path };
        match &self.value {
            Value::Null => write!(f, "{path}")?,
            Value::Array(_) => write!(f, "{path} is a list")?,
            Value::Object(_) => write!(f, "{path} is a group of fields")?,
            value => write!(f, "{path} is {value}")?,
        }
        write!(f, "; allowed: {}. {}", self.allowed, self.why)
    }
}
