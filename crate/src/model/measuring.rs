//! A neck while it is measured, for two cores that measure it together.
//!
//! The one that is to have the neck begins a job ([`Measuring::begin`]), which keeps all that stands of the neck before; the
//! other helps with the same job ([`Measuring::help`]) and keeps bodies alone. Each measures rows, in any order; what the helper
//! found goes over as numbers ([`Measuring::told`], [`Measuring::take`]). The neck that is then finished is the same, whoever
//! measured which row: what a pair measures depends on the job alone.

use std::sync::Arc;

use crate::checks::PairMeasured;
use crate::job::Violation;

use super::joints::Joints;
use super::round::Round;
use super::{Bodies, Model};

/// Numbers of one row: its place in the list, whether it was measured on the undrilled tube, and what was measured.
const NUMBERS: usize = 2 + PairMeasured::NUMBERS;

/// The bodies of a job, and their pairs as far as they are measured.
#[derive(Debug)]
pub struct Measuring {
    bodies: Bodies,
    round: Round,
    joints_before: Option<Arc<Joints>>,
}

impl Measuring {
    /// Builds the bodies of a job and keeps what stands of the neck before.
    ///
    /// # Errors
    ///
    /// As [`Model::build`].
    pub fn begin(text: &str, before: Option<&Model>) -> Result<Self, Vec<Violation>> {
        let bodies = Bodies::build(text, before.map(Model::made))?;
        Ok(Self::of(bodies, before))
    }

    /// Builds the bodies of a job for a neck that another core is to have, taking from those of a job before every one that is
    /// the same.
    ///
    /// # Errors
    ///
    /// As [`Model::build`].
    pub fn help(text: &str, before: Option<&Self>) -> Result<Self, Vec<Violation>> {
        let bodies = Bodies::build(text, before.map(|before| before.bodies.made()))?;
        Ok(Self::of(bodies, None))
    }

    /// The pairs of bodies are to be measured but for those that stand as they were before.
    pub(super) fn of(bodies: Bodies, before: Option<&Model>) -> Self {
        let joints_before =
            before.and_then(|model| model.joints.get().or(model.joints_before.as_ref())).cloned();
        let Bodies { parts, undrilled, assembly, job, .. } = &bodies;
        let round = Round::new(parts, undrilled, assembly, job, before.map(|model| &model.pairs));
        Self { bodies, round, joints_before }
    }

    /// Rows of the list that are still to be measured, in their order.
    pub fn open(&self) -> impl Iterator<Item = usize> {
        self.round.open()
    }

    /// Measures a row of the list; what is no row is let be.
    pub fn measure(&mut self, row: usize) {
        self.round.measure(row);
    }

    /// A measured row as numbers, for [`Self::take`]. None of a row that was not measured, and none where a surface was asked
    /// for that is not there: that the neck is to be told by its own core.
    #[must_use]
    pub fn told(&self, row: usize) -> Option<Vec<f64>> {
        if self.bodies.indivisible().next().is_some() {
            return None;
        }
        let (on_undrilled, found) = self.round.found(row)?;
        // A row is far below where whole numbers end.
        #[allow(clippy::cast_precision_loss)]
        let mut numbers = vec![row as f64, f64::from(u8::from(on_undrilled))];
        numbers.extend(found.to_numbers());
        Some(numbers)
    }

    /// Takes over rows that another core measured. Whether they were rows by their form; of others nothing is taken. That they are
    /// of the same job is for the caller to see to.
    pub fn take(&mut self, rows: &[f64]) -> bool {
        let read = |numbers: &[f64]| {
            let (head, found) = numbers.split_at_checked(2)?;
            let on_undrilled = match head[1] {
                0.0 => false,
                1.0 => true,
                _ => return None,
            };
            // Cut off where it is no whole number, which then is another's row: that of the number told is looked for.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let row = head[0] as usize;
            #[allow(clippy::cast_precision_loss)]
            let whole = row as f64 == head[0] && row < self.round.len();
            whole.then_some((row, on_undrilled, PairMeasured::from_numbers(found)?))
        };
        let chunks = rows.chunks_exact(NUMBERS);
        let whole = chunks.remainder().is_empty();
        let Some(read) = chunks.map(read).collect::<Option<Vec<_>>>().filter(|_| whole) else {
            return false;
        };
        for (row, on_undrilled, found) in read {
            self.round.take(row, on_undrilled, found);
        }
        true
    }

    /// The neck, rows that are still open measured now.
    ///
    /// # Errors
    ///
    /// A body whose own surface was needed to measure a pair, and cannot be divided.
    pub fn finish(self) -> Result<Model, Vec<Violation>> {
        let pairs = self.round.finish();
        let failed: Vec<_> = self.bodies.indivisible().collect();
        if !failed.is_empty() {
            return Err(failed);
        }
        Ok(self.bodies.with(pairs, self.joints_before))
    }
}
