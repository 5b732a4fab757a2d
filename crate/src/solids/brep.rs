//! The boundary representation: truck's topology over our own curves and surfaces.
//!
//! An edge's curve runs over [0, 1] from its first to its second vertex
//! (`edge.absolute_front()` to `edge.absolute_back()`). A face's `orientation()` says whether its outward
//! normal (out of the metal) is the surface's own `S_u × S_v`; `boundaries()` run
//! counter-clockwise seen against the outward normal, the outer wire first.

use glam::DVec3;

use crate::geometry::curve::Curve;
use crate::geometry::motion::Motion;
use crate::geometry::surface::Surface;

pub type Vertex = truck_topology::Vertex<DVec3>;
pub type Edge = truck_topology::Edge<DVec3, Curve>;
pub type Wire = truck_topology::Wire<DVec3, Curve>;
pub type Face = truck_topology::Face<DVec3, Curve, Surface>;
pub type Shell = truck_topology::Shell<DVec3, Curve, Surface>;
pub type Solid = truck_topology::Solid<DVec3, Curve, Surface>;

/// The solid after a rigid motion.
pub fn moved(solid: &Solid, motion: &Motion) -> Solid {
    solid.mapped(
        |point| motion.point(*point),
        |curve| curve.moved(motion),
        |surface| surface.moved(motion),
    )
}
