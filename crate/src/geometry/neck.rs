//! The neck's tube as a field: bore and wall swept along the centreline.

use glam::DVec3;

use super::bore::Bore;
use super::centreline::{Centreline, Station};
use super::frame::Frame;

/// Centreline, bore and wall: everything a part needs to find its place on the tube.
#[derive(Clone, Debug, PartialEq)]
pub struct Neck {
    pub centreline: Centreline,
    pub bore: Bore,
    /// Wall thickness in the section, mm.
    pub wall: f64,
}

impl Neck {
    /// Place and direction at a station.
    pub fn at(&self, station: f64) -> Station {
        self.centreline.at(station)
    }

    /// Radius of the tube's outside at a station.
    pub fn outside(&self, station: f64) -> f64 {
        self.bore.radius(station) + self.wall
    }

    /// Point on the in-plane normal, `height` above the outside of the tube's top.
    pub fn above(&self, station: f64, height: f64) -> DVec3 {
        let at = self.at(station);
        at.centre + at.up * (self.outside(station) + height)
    }

    /// Frame standing on the tube's top at a station: z up along the in-plane normal,
    /// x along the tangent, y to the player's left; origin `height` above the outside.
    pub fn standing(&self, station: f64, height: f64) -> Frame {
        let at = self.at(station);
        // z × x = up × tangent = +Y.
        Frame::from_zx(self.above(station, height), at.up, at.tangent)
    }

    /// Frame along the tube at a station: z along the tangent, x up; y completes it (the
    /// player's right).
    pub fn along(&self, station: f64) -> Frame {
        let at = self.at(station);
        Frame::from_zx(at.centre, at.tangent, at.up)
    }

    /// Stations where the swept surface changes its law, between `from` and `to`, ends included.
    /// The second list marks those at which the curvature jumps.
    pub fn breaks(&self, from: f64, to: f64) -> (Vec<f64>, Vec<f64>) {
        let inside = |s: &f64| *s > from + 1e-6 && *s < to - 1e-6;
        let jumps: Vec<f64> = self.centreline.breaks().into_iter().filter(inside).collect();
        let mut all: Vec<f64> = self
            .centreline
            .inner_breaks()
            .into_iter()
            .chain(self.bore.breaks())
            .filter(inside)
            .chain([from, to])
            .collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        (all, jumps)
    }

    /// All of [`Self::breaks`] in one list: between two of them everything about the tube is smooth.
    pub fn smooth_stretches(&self, from: f64, to: f64) -> Vec<f64> {
        let (mut all, jumps) = self.breaks(from, to);
        all.extend(jumps);
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        all
    }
}
