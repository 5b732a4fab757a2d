//! What every sheet that leaves the shop says about whose work it is.

use crate::job::Job;

/// Order, serial and revision, and how many are wanted of what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    pub order: String,
    pub serial: String,
    pub revision: String,
    pub quantity: u32,
    /// The material as it is ordered, with its temper; without it the part's own metal is named.
    pub material: Option<String>,
}

impl Heading {
    /// Heading of a job's own sheets: one piece of the metal the job names.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self {
            order: job.order.number.clone(),
            serial: job.order.serial.clone(),
            revision: job.order.revision.clone(),
            quantity: 1,
            material: None,
        }
    }
}
