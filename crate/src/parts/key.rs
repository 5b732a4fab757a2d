//! The octave key as a whole: what of it can only be shaped once its neighbours are.

use crate::geometry::shape::Plate;
use crate::job::{Job, Violation};

use super::key_arm::Arm;
use super::places::Places;
use super::rod_loop::Bend;
use super::swing::Swing;
use super::{guide, spring};

/// The key's motion and the bodies that follow from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Key {
    pub swing: Swing,
    pub bend: Bend,
    pub arm: Arm,
    pub spring: Plate,
    /// Height of the guide's prongs above the centreline.
    pub guide_top: f64,
}

impl Key {
    /// Shapes the key of a job that keeps every other rule.
    ///
    /// # Errors
    ///
    /// Violations where arm, spring or guide cannot be made.
    pub fn new(job: &Job, places: &Places) -> Result<Self, Vec<Violation>> {
        let swing = Swing::new(job, places).map_err(|violation| vec![*violation])?;
        let bend = Bend::of(job, places);
        let arm = Arm::new(job, places, &swing, &bend)?;
        match (spring::body(job, places, &arm.spring_seat), guide::top(job, places, &arm)) {
            (Ok(spring), Ok(guide_top)) => Ok(Self { swing, bend, arm, spring, guide_top }),
            (spring, guide) => Err([spring.err(), guide.err()]
                .into_iter()
                .flatten()
                .map(|violation| *violation)
                .collect()),
        }
    }
}
