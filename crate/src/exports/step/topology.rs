//! From truck's topology to MANIFOLD_SOLID_BREP.

use std::collections::HashMap;

use glam::DVec3;
use truck_topology::{EdgeID, VertexID};

use crate::geometry::curve::Curve;
use crate::solids::brep::{Edge, Face, Solid, Vertex, Wire};

use super::error::Fault;
use super::geometry::{curve, point, surface};
use super::part21::Value::{Derived, Logical, Reference, References, Text};
use super::part21::{DataSection, Id};

/// Writes a solid of one shell; faces that share an edge share its EDGE_CURVE, and edges that
/// share a vertex its VERTEX_POINT.
pub fn solid(data: &mut DataSection, name: &str, solid: &Solid) -> Result<Id, Fault> {
    let [shell] = solid.boundaries().as_slice() else {
        return Err(Fault::Shells { count: solid.boundaries().len() });
    };
    let mut body = Body { data, vertices: HashMap::new(), edges: HashMap::new() };
    let faces = shell.face_iter().map(|face| body.face(face)).collect::<Result<Vec<_>, _>>()?;
    let shell = data.add("CLOSED_SHELL", &[Text(""), References(&faces)])?;
    data.add("MANIFOLD_SOLID_BREP", &[Text(name), Reference(shell)])
}

/// What of a solid is already written. The maps are only looked into, never run through, so the
/// order of the file is the order of first use.
struct Body<'a> {
    data: &'a mut DataSection,
    vertices: HashMap<VertexID<DVec3>, Id>,
    edges: HashMap<EdgeID<Curve>, Id>,
}

impl Body<'_> {
    /// A face's wires run counter-clockwise seen against its outward normal, which is what the
    /// standard asks of bounds written with orientation true.
    fn face(&mut self, face: &Face) -> Result<Id, Fault> {
        let wires = face.boundaries();
        if wires.is_empty() {
            return Err(Fault::NoBoundary);
        }
        let mut bounds = Vec::with_capacity(wires.len());
        for (index, wire) in wires.iter().enumerate() {
            let edge_loop = self.edge_loop(wire)?;
            let entity = if index == 0 { "FACE_OUTER_BOUND" } else { "FACE_BOUND" };
            bounds.push(self.data.add(entity, &[Text(""), Reference(edge_loop), Logical(true)])?);
        }
        let under = surface(self.data, &face.surface())?;
        self.data.add(
            "ADVANCED_FACE",
            &[Text(""), References(&bounds), Reference(under), Logical(face.orientation())],
        )
    }

    fn edge_loop(&mut self, wire: &Wire) -> Result<Id, Fault> {
        let mut edges = Vec::with_capacity(wire.len());
        for edge in wire {
            let written = self.edge(edge)?;
            edges.push(self.data.add(
                "ORIENTED_EDGE",
                &[Text(""), Derived, Derived, Reference(written), Logical(edge.orientation())],
            )?);
        }
        self.data.add("EDGE_LOOP", &[Text(""), References(&edges)])
    }

    fn edge(&mut self, edge: &Edge) -> Result<Id, Fault> {
        if let Some(&written) = self.edges.get(&edge.id()) {
            return Ok(written);
        }
        let front = self.vertex(edge.absolute_front())?;
        let back = self.vertex(edge.absolute_back())?;
        let under = curve(self.data, &edge.curve())?;
        let written = self.data.add(
            "EDGE_CURVE",
            &[Text(""), Reference(front), Reference(back), Reference(under), Logical(true)],
        )?;
        self.edges.insert(edge.id(), written);
        Ok(written)
    }

    fn vertex(&mut self, vertex: &Vertex) -> Result<Id, Fault> {
        if let Some(&written) = self.vertices.get(&vertex.id()) {
            return Ok(written);
        }
        let at = point(self.data, "", vertex.point())?;
        let written = self.data.add("VERTEX_POINT", &[Text(""), Reference(at)])?;
        self.vertices.insert(vertex.id(), written);
        Ok(written)
    }
}
