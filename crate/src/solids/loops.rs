//! A solid unpacked for computing: indexed edges, and faces with their boundary in (u, v).

use glam::{DVec2, DVec3};

use crate::geometry::curve::Curve;
use crate::geometry::surface::Surface;

use super::brep::Solid;

/// An edge used by a face: its index and whether the face runs along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgeUse {
    pub edge: usize,
    pub forward: bool,
}

/// A face: wires counter-clockwise about the surface's own normal (holes clockwise).
#[derive(Clone, Debug)]
pub struct FaceLoops {
    pub surface: Surface,
    /// Whether the surface's own normal points out of the metal.
    pub outward: bool,
    pub wires: Vec<Vec<EdgeUse>>,
}

/// Edges and faces of a solid's one shell.
#[derive(Clone, Debug)]
pub struct Unpacked {
    pub vertices: Vec<DVec3>,
    pub edges: Vec<Curve>,
    /// Vertices at the start and end of each edge.
    pub ends: Vec<(usize, usize)>,
    pub faces: Vec<FaceLoops>,
}

/// Unpacks a solid; edges and faces keep the order in which the builder laid them.
pub fn unpack(solid: &Solid) -> Unpacked {
    let mut out =
        Unpacked { vertices: Vec::new(), edges: Vec::new(), ends: Vec::new(), faces: Vec::new() };
    for shell in solid.compress().boundaries {
        let base = out.edges.len();
        let first = out.vertices.len();
        out.vertices.extend(shell.vertices);
        for edge in shell.edges {
            out.ends.push((first + edge.vertices.0, first + edge.vertices.1));
            out.edges.push(edge.curve);
        }
        out.faces.extend(shell.faces.into_iter().map(|face| {
            FaceLoops {
                surface: face.surface,
                outward: face.orientation,
                wires: face
                    .boundaries
                    .into_iter()
                    .map(|wire| {
                        wire.into_iter()
                            .map(|edge| EdgeUse {
                                edge: base + edge.index,
                                forward: edge.orientation,
                            })
                            .collect()
                    })
                    .collect(),
            }
        }));
    }
    out
}

/// Follows points of a boundary on a surface, so that angles never jump by a turn.
#[derive(Debug)]
pub struct Tracker<'a> {
    surface: &'a Surface,
    guess: Option<DVec2>,
}

impl<'a> Tracker<'a> {
    /// Starts a wire; `near` is a point of the face already placed, if there is one.
    pub fn new(surface: &'a Surface, near: Option<DVec2>) -> Self {
        // A free surface's first point is looked for afresh: its Newton steps need a near start.
        let guess = near.filter(|_| !matches!(surface, Surface::Spline(_)));
        Self { surface, guess }
    }

    /// Parameters of the next boundary point.
    pub fn parameters(&mut self, point: DVec3) -> DVec2 {
        let mut uv = self.surface.parameters(point, self.guess);
        if let Surface::Spline(surface) = self.surface {
            if surface.point(uv).distance_squared(point) > 1e-6 {
                uv = surface.nearest_from_grid(point);
            }
            uv.x = snapped(uv.x, surface.u_knots.range());
            uv.y = snapped(uv.y, surface.v_knots.range());
        }
        self.guess = Some(uv);
        uv
    }
}

/// A parameter that lies on the border but for rounding is put there.
fn snapped(value: f64, range: (f64, f64)) -> f64 {
    let slack = 1e-7 * (range.1 - range.0);
    if value - range.0 < slack {
        range.0
    } else if range.1 - value < slack {
        range.1
    } else {
        value
    }
}
