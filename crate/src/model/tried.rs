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
        let turned = list.neck_turned.into_iter().flat_map(|turned| turned.pairs);
        let turned = turned.map(|row| row.pair);
        Ok(list.pairs.into_iter().chain(turned).filter(|row| !row.ok).collect())
    }
}
