//! The job: what the maker chooses and measures for one neck, how it is written down, and what may stand in it.

mod json;
pub mod parameters;
mod read;
mod schema;
mod starting;
mod violation;

pub use parameters::{Job, Voice};
pub use read::{
    Lenient, ReadJob, read_by_schema, read_job, read_job_leniently, read_plainly, write_job,
};
pub use schema::{UNIT_KEY, WARNING_KEY, job_schema, schema_of, unit_of};
pub use starting::{starting_job, starting_text};
pub use violation::{Severity, Violation};
