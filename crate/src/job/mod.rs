//! The job: what the maker chooses and measures for one neck, how it is written down, and what may stand in it.

pub mod parameters;
mod violation;

pub use parameters::{Job, Voice};
pub use violation::{Severity, Violation};
