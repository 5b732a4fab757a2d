//! The rules being put to a job: what is written, what is found wrong, and the two questions most rules ask.

use serde_json::Value;

use crate::job::{Job, Violation, write_job};
use crate::parts::places::Places;

/// Greatest share of the bend's radius that a part on the inside of the bend may reach to (common practice, no source).
const FULLEST_INSIDE: f64 = 0.9;

/// The rules being put to a job.
pub(super) struct Book<'a> {
    pub(super) job: &'a Job,
    pub(super) places: &'a Places,
    /// The job as it is written, to look values up by their path.
    written: Value,
    /// Paths named by errors.
    wrong: Vec<String>,
    pub(super) found: Vec<Violation>,
}

/// Whether one path is the other or holds it.
fn touches(a: &str, b: &str) -> bool {
    let holds = |outer: &str, inner: &str| {
        inner
            .strip_prefix(outer)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    a.is_empty() || b.is_empty() || holds(a, b) || holds(b, a)
}

impl<'a> Book<'a> {
    /// A job whose fields named by an error in `already` are not to be judged.
    pub(super) fn new(job: &'a Job, places: &'a Places, already: &[Violation]) -> Self {
        Self {
            job,
            places,
            written: serde_json::from_str(&write_job(job)).unwrap_or_default(),
            wrong: paths_of_errors(already),
            found: Vec::new(),
        }
    }

    /// From here on rules that rest on a field already found wrong are passed over.
    pub(super) fn rest_on_what_was_found(&mut self) {
        let paths = paths_of_errors(&self.found);
        self.wrong.extend(paths);
    }

    /// Whether no error names any of these fields.
    pub(super) fn sound(&self, paths: &[&str]) -> bool {
        !self.wrong.iter().any(|wrong| paths.iter().any(|path| touches(path, wrong)))
    }

    /// What is written at a path.
    fn at(&self, path: &str) -> Value {
        let pointer: String =
            path.split(['.', '[']).flat_map(|step| ["/", step.trim_end_matches(']')]).collect();
        self.written.pointer(&pointer).cloned().unwrap_or_default()
    }

    pub(super) fn refuse(&mut self, path: &str, allowed: String, why: &str) {
        let value = self.at(path);
        self.found.push(Violation::error(path, value, allowed, why));
    }

    pub(super) fn warn(&mut self, path: &str, allowed: String, why: &str) {
        let value = self.at(path);
        self.found.push(Violation::warning(path, value, allowed, why));
    }

    /// The number at `path` must be `least` or more.
    pub(super) fn at_least(&mut self, path: &str, least: f64, rests_on: &[&str], why: &str) {
        let value = self.at(path).as_f64().unwrap_or(f64::INFINITY);
        if value < least - 1e-9 && self.sound(&[path]) && self.sound(rests_on) {
            let allowed =
                format!("at least {} {}", (least * 100.0 - 1e-6).ceil() / 100.0, unit(path));
            self.refuse(path, allowed, why);
        }
    }

    /// The number at `path` must be `most` or less.
    pub(super) fn at_most(&mut self, path: &str, most: f64, rests_on: &[&str], why: &str) {
        let value = self.at(path).as_f64().unwrap_or(f64::NEG_INFINITY);
        if value > most + 1e-9 && self.sound(&[path]) && self.sound(rests_on) {
            let allowed =
                format!("at most {} {}", (most * 100.0 + 1e-6).floor() / 100.0, unit(path));
            self.refuse(path, allowed, why);
        }
    }

    /// Greatest and least bore radius between two stations.
    pub(super) fn bore_between(&self, from: f64, to: f64) -> (f64, f64) {
        let count = ((to - from).abs() / 0.5).ceil().clamp(1.0, 2000.0) as usize;
        (0..=count)
            .map(|i| self.places.neck.bore.radius(from + (to - from) * i as f64 / count as f64))
            .fold((f64::NEG_INFINITY, f64::INFINITY), |(most, least), radius| {
                (most.max(radius), least.min(radius))
            })
    }

    /// Whether a part that stands `offset` off the tube comes too near the middle of a bend it lies inside of. `turn` is 1
    /// for a part under the tube, -1 for one on top, 0 for either. Not asked where the bend is too tight for the tube.
    pub(super) fn fills_bend(&self, from: f64, to: f64, offset: f64, turn: f64) -> bool {
        if self.found.iter().any(|violation| touches(&violation.path, "centreline")) {
            return false;
        }
        let count = ((to - from).abs() / 0.5).ceil().clamp(1.0, 2000.0) as usize;
        (0..=count)
            .map(|i| {
                let station = from + (to - from) * i as f64 / count as f64;
                let curvature = self.places.neck.at(station).curvature;
                let inside = if turn == 0.0 { curvature.abs() } else { curvature * turn };
                inside * (self.places.neck.outside(station) + offset)
            })
            .any(|share| share > FULLEST_INSIDE)
    }
}

fn paths_of_errors(violations: &[Violation]) -> Vec<String> {
    let errors = violations.iter().filter(|violation| violation.is_error());
    errors.map(|violation| violation.path.clone()).collect()
}

/// Unit a field is given in, as its name says.
fn unit(path: &str) -> &'static str {
    if path.ends_with("_deg") { "degrees" } else { "mm" }
}
