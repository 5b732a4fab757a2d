//! Why a STEP file could not be written.

use thiserror::Error;

/// What is wrong with one instance that was to be written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Fault {
    /// Readers hang on NaN and infinity, so neither ever reaches a file.
    #[error("{entity} holds a number that is not finite")]
    NotFinite { entity: &'static str },
    #[error("a direction has no length")]
    NoDirection,
    #[error("{what} must be greater than zero, not {value} mm")]
    NotPositive { what: &'static str, value: f64 },
    /// A torus whose tube reaches its own axis is another entity, and no part needs it.
    #[error("a torus of tube radius {minor} mm reaches its own axis at {major} mm")]
    SpindleTorus { major: f64, minor: f64 },
    #[error("the half angle of a cone must lie between 0 and 90 degrees, not at {radians} rad")]
    ConeAngle { radians: f64 },
    #[error("a B-spline has {found} control points where its knots ask for {wanted}")]
    ControlCount { found: usize, wanted: usize },
    #[error(
        "a B-spline control point has the weight {weight}; only weights greater than zero can be written"
    )]
    Weight { weight: f64 },
    #[error("a solid of {count} shells; only solids without cavities can be written")]
    Shells { count: usize },
    #[error("a face without boundary")]
    NoBoundary,
    #[error("a colour must lie between 0 and 1, not at {value}")]
    Colour { value: f64 },
}

/// Why a whole file could not be written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StepError {
    #[error("there is no part to write")]
    NoParts,
    #[error("two parts have the id {id}")]
    RepeatedPart { id: String },
    #[error(
        "the time stamp {given:?} is not of the form 2026-01-31T12:00:00, with Z or an offset such as +01:00 at its end or nothing"
    )]
    TimeStamp { given: String },
    #[error("part {part}: {fault}")]
    Part { part: String, fault: Fault },
    #[error(transparent)]
    Frame(#[from] Fault),
}
