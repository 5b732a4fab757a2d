//! Rules between parameters: what the range of a single one cannot say. Every broken rule is named at once.
//!
//! A rule keeps a part from being impossible to make or to model. Parts that run into each other are no broken rule
//! but a finding of the clearance list, which can show by how much. The allowances that stand as bare numbers in a rule
//! (least metal left, margins, shares of a bore) are common practice, no source.

mod book;
mod ends;
mod hinge;
mod horn;
mod key;
mod mounts;
mod tube;
mod vent;

use crate::job::{Job, Violation};

use super::key::Key;
use super::places::Places;

use book::Book;

pub use vent::least_bore_at_vent;

/// What every rule about the tube rests on.
const TUBE: &[&str] = &["centreline", "bore", "tube"];

/// Every broken rule of a job, errors and warnings.
///
/// A rule that rests on a field named by an error in `already` is passed over: that field does not hold what the maker
/// wrote.
pub fn rules(job: &Job, already: &[Violation]) -> Vec<Violation> {
    examine(job, &Places::of(job), already).0
}

/// Every broken rule, and the key if it can be shaped.
pub(super) fn examine(
    job: &Job,
    places: &Places,
    already: &[Violation],
) -> (Vec<Violation>, Option<Key>) {
    let mut book = Book::new(job, places, already);
    book.centreline();
    book.bore();
    book.tenon();
    book.cork_end();
    book.vent_and_pad();
    book.brace();
    book.saddle_and_posts();
    book.hinge();
    book.rod_loop();
    book.spring();
    book.guide();
    book.badge();
    book.horn();
    book.limits();
    // What follows is shaped from these numbers, not only measured against them.
    book.rest_on_what_was_found();
    let key = book.key();
    (book.found, key)
}
