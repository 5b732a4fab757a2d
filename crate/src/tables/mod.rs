//! What the handbooks say, each row with its source.
//!
//! A figure is marked `read` where the named page was seen, `memory` where it was written down from memory of
//! the named book, and `computed` where it follows from a formula. A figure from memory must be looked up
//! before work depends on it.

pub mod gauges;
pub mod metals;
pub mod threads;

/// How far a figure in these tables may be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// The named source, or a page that quotes it, was read.
    Read,
    /// Written down from memory of the named source: look it up before relying on it.
    Memory,
    /// Worked out from the formula named as the source.
    Computed,
    /// Chosen by us for the screen; not a property anyone has measured.
    Invented,
}

/// Where a figure comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// Book, standard or page.
    pub title: &'static str,
    /// How it got here.
    pub status: Status,
}
