//! Rules between parameters: what single ranges cannot say. Every broken rule is named at once.
use crate::job::{Job, Violation};
use super::key::Key;
use super::places::Places;

/// Every broken rule of a job whose fields are read; fields named in `already` are passed over.
pub fn rules(job: &Job, already: &[Violation]) -> Vec<Violation> {
    examine(job, &Places::of(job), already).0
}

pub(super) fn examine(job: &Job, places: &Places, _already: &[Violation]) -> (Vec<Violation>, Option<Key>) {
    match Key::new(job, places) {
        Ok(key) => (Vec::new(), Some(key)),
        Err(found) => (found, None),
    }
}
