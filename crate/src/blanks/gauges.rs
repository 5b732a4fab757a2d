//! Templates to form by, flat and of true size: half circles to hold against the half shell, and the side view of the bend.

use glam::DVec2;

use crate::geometry::arc_fit::fitted;
use crate::geometry::contour::{Contour, Vertex};
use crate::geometry::neck::Neck;

use super::outline::TOLERANCE_MM;

/// Metal left round the half circle, mm.
const RIM: f64 = 8.0;

/// A template to cut from card or sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// What to write on it.
    pub words: String,
    pub outline: Contour,
}

/// A plate with a half-round notch of the tube's outside at a station: held square to the tube, it touches all round.
#[must_use]
pub fn section(neck: &Neck, station: f64) -> Gauge {
    let radius = neck.outside(station);
    let half = radius + RIM;
    let corner = |x: f64, y: f64, bulge: f64| Vertex { at: DVec2::new(x, y), bulge };
    let vertices = vec![
        corner(-half, -half, 0.0),
        corner(half, -half, 0.0),
        corner(half, 0.0, 0.0),
        // Clockwise through the bottom: the notch is open above.
        corner(radius, 0.0, -1.0),
        corner(-radius, 0.0, 0.0),
        corner(-half, 0.0, 0.0),
    ];
    Gauge {
        words: format!("station {station:.1} mm, outside radius {radius:.2} mm"),
        outline: Contour { vertices, closed: true },
    }
}

/// The side view of the tube between two stations: its outside at top and bottom, and both ends. The cork end lies to the
/// left.
#[must_use]
pub fn profile(neck: &Neck, from: f64, to: f64) -> Gauge {
    let edge = |side: f64| {
        move |station: f64| {
            let at = neck.at(station);
            let (centre, up) = (DVec2::new(at.centre.x, at.centre.z), DVec2::new(at.up.x, at.up.z));
            let tangent = DVec2::new(at.tangent.x, at.tangent.z);
            let (radius, slope) = (neck.outside(station), neck.bore.radius_slope(station).1);
            let way = tangent * (1.0 + side * at.curvature * radius) + up * (side * slope);
            (centre + up * (side * radius), way)
        }
    };
    let stops = neck.smooth_stretches(from, to);
    let mut vertices = Vec::new();
    for pair in stops.windows(2) {
        vertices.extend(fitted(&edge(-1.0), pair[0], pair[1], TOLERANCE_MM).0);
    }
    vertices.push(Vertex { at: edge(-1.0)(to).0, bulge: 0.0 });
    for pair in stops.windows(2).rev() {
        let above = edge(1.0);
        let back = |t: f64| {
            let (point, way) = above(pair[0] + pair[1] - t);
            (point, -way)
        };
        vertices.extend(fitted(&back, pair[0], pair[1], TOLERANCE_MM).0);
    }
    vertices.push(Vertex { at: edge(1.0)(from).0, bulge: 0.0 });
    Gauge {
        words: format!("side of the tube, stations {from:.1} to {to:.1} mm"),
        outline: Contour { vertices, closed: true },
    }
}
