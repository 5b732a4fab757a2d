//! A job that is only tried: a part is held somewhere else, and nothing is kept of it.

use crate::checks::Pair;
use crate::job::Violation;

use super::Model;

impl Model {
    /// Rows of the list that would fail with another job, those of the turned neck last. Parts whose bodies are the same
    /// are taken over, so a job that moves one part takes no longer than moving it.
    ///
    /// # Errors
    ///
    /// Every violation, as if the job had been given in earnest.
    pub fn failing_with(&self, text: &str) -> Result<Vec<Pair>, Vec<Violation>> {
        let model = Self::build(text, Some(self))?;
        let list = model.pairs.list(&model.job);
        Ok(list.rows().filter(|row| !row.ok).cloned().collect())
    }
}
