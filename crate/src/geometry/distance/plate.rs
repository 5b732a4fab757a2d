//! Distance to plate parts.

use glam::{DVec2, DVec3};

use crate::geometry::frame::Frame;
use crate::geometry::order::Order;
use crate::geometry::outline::{Outline, Side};
use crate::geometry::shape::{EdgeHole, HoleEnd, Plate, PlateHole};

use super::flat::{FlatField, FlatNear};
use super::{CarriedOn, EDGE, Faces, Near, hypotenuse};

/// A plate with its holes. Exact inside and out, as long as holes keep clear of each other and
/// of the outline (which the job's rules ask for).
#[derive(Clone, Debug)]
pub struct PlateField {
    frame: Frame,
    half: f64,
    outline: FlatField,
    side_count: u32,
    holes: Vec<PlateHole>,
    drillings: Vec<Drilling>,
}

/// A hole from a straight edge.
#[derive(Clone, Debug)]
struct Drilling {
    entry: DVec2,
    inward: DVec2,
    radius: f64,
    depth: f64,
    blind: bool,
    side: u32,
    /// Side a through hole leaves by.
    exit: Option<u32>,
    /// The outline without the sides this hole opens.
    elsewhere: FlatField,
}

/// A point seen from a drilling: depth along its axis, distance from the axis.
struct Bearing {
    depth: f64,
    radius: f64,
    /// Unit spoke from the axis, in the plate's frame.
    spoke: DVec3,
}

impl PlateField {
    pub(super) fn new(plate: &Plate) -> Self {
        Self {
            frame: plate.frame,
            half: plate.half_thickness,
            outline: FlatField::new(&plate.outline, |_| true),
            side_count: plate.outline.sides().len() as u32,
            holes: plate.holes.clone(),
            drillings: plate.edge_holes.iter().filter_map(|hole| drilling(plate, hole)).collect(),
        }
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let local = self.frame.local(point);
        let mut near = self.drilled(local);
        near.foot = self.frame.point(near.foot);
        near
    }

    // Face numbers: the outline's sides and corners, the through holes, the flats, then wall and
    // bottom of each drilling. Edges along the flats are numbered after the wall they end.

    fn first_hole(&self) -> u32 {
        2 * self.side_count
    }

    fn flats_face(&self, z: f64) -> u32 {
        self.first_hole() + self.holes.len() as u32 + u32::from(z < 0.0)
    }

    fn drilling_face(&self, index: usize) -> u32 {
        self.first_hole() + (self.holes.len() + 2 + 2 * index) as u32
    }

    fn edge_bit(&self, side: u32) -> u32 {
        if side >= self.side_count && side < self.first_hole() { EDGE } else { 0 }
    }

    pub(super) fn cover(&self, face: u32) -> Option<Faces> {
        if face < self.side_count {
            return self.outline.cover(face);
        }
        let index = face.checked_sub(self.drilling_face(0));
        match index.and_then(|index| Some((index % 2, self.drillings.get(index as usize / 2)?))) {
            Some((0, drilling)) if drilling.blind => Some(Faces::new(&[face, face + 1])),
            Some((1, _)) => Some(Faces::new(&[face, face - 1])),
            _ => Some(Faces::new(&[face])),
        }
    }

    /// First number of edges along the flats.
    fn first_flat_edge(&self) -> u32 {
        self.drilling_face(self.drillings.len())
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        let edge = edge & !EDGE;
        let Some(flat_edge) = edge.checked_sub(2 * self.first_flat_edge()) else {
            if edge >= self.side_count && edge < self.first_hole() {
                return self.outline.sides_at(edge);
            }
            // Rim of a drilling: numbered as its side or its wall.
            return Faces::new(&[edge]);
        };
        let wall = flat_edge / 2;
        let flat = self.flats_face(if flat_edge % 2 == 0 { 1.0 } else { -1.0 });
        if wall >= self.side_count && wall < self.first_hole() {
            self.outline.sides_at(wall).and(flat)
        } else {
            Faces::new(&[wall, flat])
        }
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let local = self.frame.local(point);
        let place = local.truncate();
        let (distance, slope) = if face < self.side_count {
            let (distance, slope) = self.outline.carried_on(face, place)?;
            (distance, slope.extend(0.0))
        } else if let Some(hole) = self.holes.get(face.checked_sub(self.first_hole())? as usize) {
            let reach = place - hole.centre;
            let length = reach.length();
            if length < 1e-9 {
                return None;
            }
            (hole.radius - length, (-reach / length).extend(0.0))
        } else if face == self.flats_face(1.0) {
            (local.z - self.half, DVec3::Z)
        } else if face == self.flats_face(-1.0) {
            (-local.z - self.half, -DVec3::Z)
        } else {
            let index = face - self.drilling_face(0);
            let drilling = self.drillings.get(index as usize / 2)?;
            let bearing = drilling.bearing(local);
            if index.is_multiple_of(2) {
                (drilling.radius - bearing.radius, -bearing.spoke)
            } else {
                (drilling.depth - bearing.depth, (-drilling.inward).extend(0.0))
            }
        };
        Some(CarriedOn { distance, slope: self.frame.direction(slope) })
    }

    /// Distance to the plate with its edge holes, all in the plate's frame.
    fn drilled(&self, local: DVec3) -> Near {
        let plain = self.solid(local, self.region(local.truncate()));
        let mut near = plain;
        for (index, drilling) in self.drillings.iter().enumerate() {
            let bearing = drilling.bearing(local);
            let face = self.drilling_face(index);
            if drilling.is_void(&bearing) {
                return drilling.seen_within(local, &bearing, face);
            }
            if plain.distance > 0.0 {
                if drilling.opens(&plain, &bearing) {
                    return self.above_mouth(local, drilling, &bearing);
                }
                continue;
            }
            let wall = drilling.seen_from_metal(local, &bearing, face);
            if wall.distance > near.distance {
                near = wall;
            }
        }
        near
    }

    /// Distance in the outline's plane to the region left by the through holes.
    fn region(&self, flat: DVec2) -> FlatNear {
        let mut near = self.outline.near(flat);
        for (index, hole) in self.holes.iter().enumerate() {
            let reach = flat - hole.centre;
            let length = reach.length();
            let distance = hole.radius - length;
            if distance > near.distance {
                let spoke = if length > 1e-12 { reach / length } else { DVec2::X };
                near = FlatNear {
                    distance,
                    foot: hole.centre + spoke * hole.radius,
                    side: self.first_hole() + index as u32,
                    others: f64::INFINITY,
                };
            }
        }
        near
    }

    /// Distance to the flat region thickened to both sides.
    fn solid(&self, local: DVec3, flat: FlatNear) -> Near {
        let height = local.z.abs() - self.half;
        let level = self.half.copysign(local.z);
        let wall = |distance: f64| Near {
            distance,
            foot: flat.foot.extend(local.z),
            face: flat.side | self.edge_bit(flat.side),
            others: flat.others,
        };
        let flats = |distance: f64| Near {
            distance,
            foot: local.truncate().extend(level),
            face: self.flats_face(local.z),
            others: f64::INFINITY,
        };
        match (flat.distance > 0.0, height > 0.0) {
            (true, true) => {
                let distance = hypotenuse(flat.distance, height);
                let side = 2 * (self.first_flat_edge() + flat.side);
                Near {
                    distance,
                    foot: flat.foot.extend(level),
                    face: EDGE | (side + u32::from(local.z < 0.0)),
                    others: flat.others.greater(distance),
                }
            }
            (true, false) => wall(flat.distance),
            (false, true) => flats(height),
            (false, false) if flat.distance > height => wall(flat.distance),
            (false, false) => flats(height),
        }
    }

    /// The nearest plain point lies in the mouth of a drilling: the rim, or another side.
    fn above_mouth(&self, local: DVec3, drilling: &Drilling, bearing: &Bearing) -> Near {
        let rim = drilling.rim(local, bearing);
        // What is left of the outline is not closed, but the point is known to lie outside.
        let mut flat = drilling.elsewhere.near(local.truncate());
        flat.distance = flat.distance.abs();
        let other = self.solid(local, flat);
        let near = if other.distance < rim.distance { other } else { rim };
        Near { others: near.distance, ..near }
    }
}

fn drilling(plate: &Plate, hole: &EdgeHole) -> Option<Drilling> {
    let inward = plate.edge_hole_direction(hole);
    let sides = plate.outline.sides();
    let (depth, exit) = match hole.end {
        HoleEnd::Blind(depth) => (depth, None),
        HoleEnd::Through(exit) => {
            let far = sides.get(exit)?.start();
            ((far - hole.entry).dot(inward), Some(exit as u32))
        }
    };
    let opened = |side: &Side| {
        let is = |index: usize| sides.get(index).is_some_and(|own| std::ptr::eq(own, side));
        is(hole.side) || exit.is_some_and(|exit| is(exit as usize))
    };
    Some(Drilling {
        entry: hole.entry,
        inward,
        radius: hole.radius,
        depth,
        blind: exit.is_none(),
        side: hole.side as u32,
        exit,
        elsewhere: without(&plate.outline, opened),
    })
}

fn without(outline: &Outline, opened: impl Fn(&Side) -> bool) -> FlatField {
    FlatField::plain(outline, |side| !opened(side))
}

impl Drilling {
    fn bearing(&self, local: DVec3) -> Bearing {
        let reach = local.truncate() - self.entry;
        let depth = reach.dot(self.inward);
        let off = (reach - self.inward * depth).extend(local.z);
        let radius = off.length();
        let spoke = if radius > 1e-12 { off / radius } else { DVec3::Z };
        Bearing { depth, radius, spoke }
    }

    fn is_void(&self, bearing: &Bearing) -> bool {
        bearing.radius < self.radius && bearing.depth > 0.0 && bearing.depth < self.depth
    }

    /// Whether the foot of a point outside the plain plate lies in a mouth of this hole.
    fn opens(&self, plain: &Near, bearing: &Bearing) -> bool {
        bearing.radius < self.radius
            && if bearing.depth <= 0.0 {
                plain.face == self.side
            } else {
                Some(plain.face) == self.exit
            }
    }

    /// A point in the hole: its wall or its bottom.
    fn seen_within(&self, local: DVec3, bearing: &Bearing, face: u32) -> Near {
        let wall = self.radius - bearing.radius;
        let below = self.depth - bearing.depth;
        if self.blind && below < wall {
            let foot = local + (self.inward * below).extend(0.0);
            return Near { distance: below, foot, face: face + 1, others: wall };
        }
        let others = if self.blind { below } else { f64::INFINITY };
        Near { distance: wall, foot: local + bearing.spoke * wall, face, others }
    }

    /// A point in the metal: distance to the hole, negative.
    fn seen_from_metal(&self, local: DVec3, bearing: &Bearing, face: u32) -> Near {
        let beyond = bearing.depth - bearing.depth.clamp(0.0, self.depth);
        let out = bearing.radius - self.radius;
        let to_level = (self.inward * -beyond).extend(0.0);
        if out <= 0.0 {
            let others = hypotenuse(out, beyond);
            return Near {
                distance: -beyond.abs(),
                foot: local + to_level,
                face: face + 1,
                others,
            };
        }
        if beyond == 0.0 {
            let below = self.depth - bearing.depth;
            let others = if self.blind { hypotenuse(out, below) } else { f64::INFINITY };
            return Near { distance: -out, foot: local - bearing.spoke * out, face, others };
        }
        let distance = hypotenuse(out, beyond);
        let foot = local + to_level - bearing.spoke * out;
        Near { distance: -distance, foot, face: EDGE | face, others: distance }
    }

    /// Nearest point of the rim a point stands above.
    fn rim(&self, local: DVec3, bearing: &Bearing) -> Near {
        let level = if bearing.depth <= 0.0 { 0.0 } else { self.depth };
        let climb = level - bearing.depth;
        let wall = self.radius - bearing.radius;
        let foot = local + (self.inward * climb).extend(0.0) + bearing.spoke * wall;
        let distance = hypotenuse(climb, wall);
        Near { distance, foot, face: EDGE | self.side, others: distance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block() -> Plate {
        let p = |x: f64, y: f64| DVec2::new(x, y);
        Plate {
            frame: Frame { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Y, z: DVec3::Z },
            outline: Outline::new(vec![
                Side::line(p(0.0, 0.0), p(20.0, 0.0)),
                Side::line(p(20.0, 0.0), p(20.0, 8.0)),
                Side::line(p(20.0, 8.0), p(0.0, 8.0)),
                Side::line(p(0.0, 8.0), p(0.0, 0.0)),
            ]),
            half_thickness: 1.5,
            holes: vec![PlateHole { centre: p(15.0, 4.0), radius: 2.0 }],
            edge_holes: vec![EdgeHole {
                side: 0,
                entry: p(5.0, 0.0),
                radius: 0.6,
                end: HoleEnd::Blind(4.0),
            }],
        }
    }

    #[test]
    fn distances_that_can_be_checked_by_hand() {
        let field = PlateField::new(&block());
        for (point, expected) in [
            // Off a corner of the block, off a flat, off a side.
            (DVec3::new(-3.0, -4.0, 13.5), 13.0),
            (DVec3::new(10.0, 4.0, 2.0), 0.5),
            (DVec3::new(10.0, -1.0, 1.0), 1.0),
            // In the through hole, and above it.
            (DVec3::new(15.5, 4.0, 0.0), 1.5),
            (DVec3::new(15.0, 4.0, 1.5 + 1.5), 2.5),
            // In the blind hole: wall, bottom; above its mouth: rim.
            (DVec3::new(5.1, 2.0, 0.0), 0.5),
            (DVec3::new(5.0, 3.8, 0.0), 0.2),
            (DVec3::new(5.0, -0.8, 0.0), 1.0),
            // In the metal, by the blind hole's wall, bottom and bottom edge.
            (DVec3::new(5.9, 2.0, 0.0), -0.3),
            (DVec3::new(5.0, 4.3, 0.0), -0.3),
            (DVec3::new(5.0 + 0.6 + 0.3, 4.4, 0.0), -0.5),
            // By a flat and by the through hole.
            (DVec3::new(10.0, 4.0, 1.4), -0.1),
            (DVec3::new(12.9, 4.0, 0.0), -0.1),
        ] {
            let near = field.near(point);
            assert!((near.distance - expected).abs() < 1e-12, "{point}: {near:?}");
            assert!((near.foot.distance(point) - expected.abs()).abs() < 1e-12, "{point}");
            assert!(field.near(near.foot).distance.abs() < 1e-12, "{point}");
        }
    }
}
