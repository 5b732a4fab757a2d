//! What the handbooks say, each row with its source.
//!
//! A figure is marked `Read` where the named page was seen, `Memory` where it was written down from memory of
//! the named book, and `Invented` where it is a guess. A figure from memory must be looked up before work depends
//! on it.

pub mod bending;
pub mod fillers;
pub mod fits;
pub mod forming;
pub mod gauges;
pub mod hardness;
pub mod melting;
pub mod metals;
pub mod physical;
mod sources;
pub mod stock;
pub mod strength;
pub mod tempers;
pub mod threads;

/// How far a figure in these tables may be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// The named source, or a page that quotes it, was read.
    Read,
    /// Written down from memory of the named source: look it up before relying on it.
    Memory,
    /// A guess of ours; nobody has measured it.
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
