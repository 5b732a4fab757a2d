//! Bodies cut from plate or strip: a flat outline with a thickness.

use glam::DVec2;

use crate::geometry::frame::Frame;
use crate::geometry::outline::Outline;

/// An outline in the frame's x-y plane, thickened by `half_thickness` to both sides along z.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    pub frame: Frame,
    pub outline: Outline,
    pub half_thickness: f64,
    /// Round holes through the thickness.
    pub holes: Vec<PlateHole>,
    /// Round holes drilled into the plate from one of its straight edges.
    pub edge_holes: Vec<EdgeHole>,
}

/// A round hole through the thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateHole {
    pub centre: DVec2,
    pub radius: f64,
}

/// A round hole in the plate's middle plane, drilled square to a straight edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeHole {
    /// Index of the outline's side it enters; that side is a line.
    pub side: usize,
    /// Point of that side where the axis enters.
    pub entry: DVec2,
    pub radius: f64,
    pub end: HoleEnd,
}

/// How an edge hole ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleEnd {
    /// With a flat bottom at this depth, mm.
    Blind(f64),
    /// Through another straight side, parallel to the first: index of that side.
    Through(usize),
}

impl Plate {
    /// Unit direction of an edge hole into the plate, in the outline's plane.
    pub fn edge_hole_direction(&self, hole: &EdgeHole) -> DVec2 {
        self.outline
            .sides()
            .get(hole.side)
            .map_or(DVec2::Y, |side| (side.end() - side.start()).normalize_or_zero().perp())
    }
}
