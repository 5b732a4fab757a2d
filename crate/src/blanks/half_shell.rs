//! The blank of a half shell: its net of stations and azimuths, laid flat.

use std::f64::consts::PI;

use glam::DVec2;

use crate::geometry::neck::Neck;

use super::flatten::{Flat, FlattenError, Net, flatten};
use super::surface::MidWall;

/// Cells round the half shell.
pub const AROUND: usize = 12;

/// Longest cell along, mm.
pub const ALONG_MM: f64 = 5.0;

/// The net of a half shell between two stations: rows at every change of the tube's law.
#[must_use]
pub fn net(neck: &Neck, from: f64, to: f64, around: usize, longest: f64) -> Net {
    let breaks = neck.smooth_stretches(from, to);
    let mut first = Vec::new();
    for pair in breaks.windows(2) {
        // Two steps a cell.
        let count = 2 * ((pair[1] - pair[0]) / longest).ceil().max(1.0) as usize;
        first.extend((0..count).map(|k| pair[0] + (pair[1] - pair[0]) * k as f64 / count as f64));
    }
    first.extend(breaks.last());
    let second = (0..=2 * around).map(|k| PI * (k as f64 / (2 * around) as f64 - 0.5)).collect();
    Net { first, second }
}

/// The developed strip: lengths are true along the side of the tube and round it from there. A first guess of the
/// flat shape.
#[must_use]
pub fn strip(neck: &Neck, net: &Net) -> Vec<DVec2> {
    let wall = MidWall { neck };
    let mut places = Vec::with_capacity(net.knots());
    let start = net.first.first().copied().unwrap_or_default();
    let origin = neck.at(start);
    for &station in &net.first {
        let at = neck.at(station);
        let side = DVec2::new(at.centre.x - origin.centre.x, at.centre.z - origin.centre.z);
        let up = DVec2::new(at.up.x, at.up.z);
        let radius = wall.radius_slope(station).0;
        places.extend(net.second.iter().map(|angle| side + up * (radius * angle)));
    }
    places
}

/// The half shell between two stations, laid flat.
///
/// # Errors
///
/// As [`flatten`].
pub fn lay_flat(neck: &Neck, net: Net) -> Result<Flat, FlattenError> {
    let begin = strip(neck, &net);
    flatten(&MidWall { neck }, net, begin)
}
