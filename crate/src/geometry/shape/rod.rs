//! Round rod bent along lines and arcs, its ends turned to points.

use glam::DVec3;

/// Rod of one radius along a smooth path. Its first and last piece are straight and longer
/// than `point_length`, over which the radius falls from `radius` to `tip_radius`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rod {
    /// Pieces joined end to end with common tangents.
    pub path: Vec<RodPiece>,
    pub radius: f64,
    pub point_length: f64,
    pub tip_radius: f64,
}

/// One piece of the rod's centre line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RodPiece {
    Line {
        from: DVec3,
        to: DVec3,
    },
    /// Arc about `centre` from `from`, turning by `sweep` radians (0 < sweep < pi) about the
    /// unit `axis` by the right-hand rule.
    Arc {
        from: DVec3,
        centre: DVec3,
        axis: DVec3,
        sweep: f64,
    },
}
