//! Neckwright: a parametric model of hand-made saxophone necks.
//!
//! The rooms follow the data, and a module uses only those listed above it:
//! [`units`], [`tables`], [`job`] (the parameter set), [`geometry`] (exact curves, surfaces and
//! shapes), [`parts`] (dimensions and places), [`solids`] (B-rep, triangles), [`checks`]
//! (clearances), [`exports`] (bytes out), [`acoustics`] (what a bore does beside another), [`model`]
//! (one job's parts, kept and rebuilt), [`shop`] (what leaves the shop), [`blanks`] (the half shells
//! laid flat, and on a sheet), [`card`] (the maker's numbers and the job card), and the wasm boundary.

// The wasm boundary's generated glue needs unsafe; nothing of ours does.
#![cfg_attr(not(target_arch = "wasm32"), forbid(unsafe_code))]
// No panic is reachable from outside.
#![cfg_attr(not(test), warn(clippy::unwrap_used, clippy::expect_used, clippy::panic))]

pub mod units;

pub mod tables;

pub mod job;

pub mod geometry;

pub mod parts;

pub mod solids;

pub mod checks;

pub mod exports;

pub mod acoustics;

pub mod model;

pub mod shop;

pub mod blanks;

pub mod card;

#[cfg(target_arch = "wasm32")]
pub mod wasm;
