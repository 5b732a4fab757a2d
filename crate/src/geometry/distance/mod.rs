//! How far a point is from a body: exact signed distance, from the body's definition.
//!
//! A [`DistanceField`] is made once from a [`Shape`] and then asked many thousand times; what
//! can be worked out beforehand is. Distances never fall or rise faster than the point moves
//! (they are 1-Lipschitz), so one value bounds the distance in a whole ball.

mod flat;
mod plate;
mod post;
mod rim;
mod rod;
mod skin;
mod sweep;
mod through;
mod track;
mod tube;
mod turned;

use glam::DVec3;

use super::shape::Shape;

pub use plate::PlateField;
pub use post::PostField;
pub use rod::RodField;
pub use sweep::SweepField;
pub use through::ThroughField;
pub use tube::TubeField;
pub use turned::TurnedField;

/// The answer to a question of distance. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Distance to the surface, negative inside the metal.
    pub distance: f64,
    /// The nearest point of the surface.
    pub foot: DVec3,
    /// Which smooth face `foot` lies on, or which edge (see [`Near::on_edge`]); numbers are the
    /// body's own.
    pub face: u32,
    /// All metal nearer to the point than this lies behind `face` carried on smoothly beyond its
    /// edges (of an edge: behind all faces that meet in it). A lower bound, at least
    /// `distance.abs()`, and just that where nothing better is known or
    /// [`DistanceField::cover`] knows better.
    pub others: f64,
}

/// Face numbers with this bit are edges.
const EDGE: u32 = 1 << 31;

impl Near {
    /// Whether the nearest point lies on an edge, where two faces meet.
    #[must_use]
    pub fn on_edge(&self) -> bool {
        self.face & EDGE != 0
    }
}

/// Up to three faces: no more than two meet beside an end, and one at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Faces {
    faces: [u32; 3],
    count: usize,
}

impl Faces {
    /// The given faces, three at most.
    fn new(faces: &[u32]) -> Self {
        debug_assert!(faces.len() <= 3, "faces would be lost: {faces:?}");
        let mut all = Self { faces: [0; 3], count: faces.len().min(3) };
        for (place, face) in all.faces.iter_mut().zip(faces) {
            *place = *face;
        }
        all
    }

    /// These faces and one more, of three at most.
    fn and(mut self, face: u32) -> Self {
        debug_assert!(self.count < self.faces.len(), "{face} would be lost beside {self:?}");
        if let Some(place) = self.faces.get_mut(self.count) {
            *place = face;
            self.count += 1;
        }
        self
    }

    #[must_use]
    pub fn as_slice(&self) -> &[u32] {
        self.faces.get(..self.count).unwrap_or_default()
    }
}

impl From<u32> for Faces {
    fn from(face: u32) -> Self {
        Self::new(&[face])
    }
}

/// Distance to a face carried on smoothly beyond its edges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarriedOn {
    /// Negative behind it, where the metal is.
    pub distance: f64,
    /// Unit direction in which the distance grows.
    pub slope: DVec3,
}

/// Exact signed distance to one body.
///
/// Outside and inside, every kind of body answers with the distance to its true surface within
/// 1e-6 mm: plane outlines, cylinders, cones and tori in closed form, swept surfaces by a
/// minimisation over the station, rims between two surfaces on cubic chains through exact points.
#[derive(Clone, Debug)]
pub enum DistanceField {
    Tube(TubeField),
    Turned(TurnedField),
    Sweep(SweepField),
    Plate(PlateField),
    Rod(RodField),
    Post(Box<PostField>),
    Through(Box<ThroughField>),
}

impl DistanceField {
    /// Prepares the field of a body.
    #[must_use]
    pub fn new(shape: &Shape) -> Self {
        match shape {
            Shape::Tube(body) => Self::Tube(TubeField::new(body)),
            Shape::Turned(body) => Self::Turned(TurnedField::new(body)),
            Shape::Sweep(body) => Self::Sweep(SweepField::new(body)),
            Shape::Plate(body) => Self::Plate(PlateField::new(body)),
            Shape::Rod(body) => Self::Rod(RodField::new(body)),
            Shape::Post(body) => Self::Post(Box::new(PostField::new(body))),
        }
    }

    /// The field of all places a cylinder goes through when it is turned about the line through
    /// `point` along the unit `axis` by up to `half_turn` radians to either side. `None` for any
    /// body but a cylinder along the axis, or square to it and beside it.
    #[must_use]
    pub fn through(shape: &Shape, point: DVec3, axis: DVec3, half_turn: f64) -> Option<Self> {
        let Shape::Turned(turned) = shape else { return None };
        let field = ThroughField::new(turned, point, axis, half_turn)?;
        Some(Self::Through(Box::new(field)))
    }

    /// Signed distance of a point, and where the surface is nearest.
    #[must_use]
    pub fn near(&self, point: DVec3) -> Near {
        match self {
            Self::Tube(field) => field.near(point),
            Self::Turned(field) => field.near(point),
            Self::Sweep(field) => field.near(point),
            Self::Plate(field) => field.near(point),
            Self::Rod(field) => field.near(point),
            Self::Post(field) => field.near(point),
            Self::Through(field) => field.near(point),
        }
    }

    /// Faces such that all metal lies behind one or another of them carried on, the given face
    /// among them: the distance to the body is never less than the least of the distances to
    /// these. A convex body's faces each cover it alone; from inside a cup it takes wall and
    /// bottom. `None` where no few faces do.
    #[must_use]
    pub fn cover(&self, face: u32) -> Option<Faces> {
        match self {
            Self::Tube(field) => field.cover(face),
            Self::Turned(field) => field.cover(face),
            Self::Sweep(field) => field.cover(face),
            Self::Plate(field) => field.cover(face),
            Self::Rod(_) => None,
            Self::Through(field) => field.cover(face),
            Self::Post(_) => Some(Faces::new(&[face])),
        }
    }

    /// The faces that meet in an edge.
    #[must_use]
    pub fn faces_at(&self, edge: u32) -> Faces {
        match self {
            Self::Tube(field) => field.faces_at(edge),
            Self::Turned(field) => field.faces_at(edge),
            Self::Sweep(field) => field.faces_at(edge),
            Self::Plate(field) => field.faces_at(edge),
            Self::Rod(field) => field.faces_at(edge),
            Self::Post(field) => field.faces_at(edge),
            Self::Through(field) => field.faces_at(edge),
        }
    }

    /// Whether a face covers the body, with the others of its cover, as seen from a point. A hole drilled into a hollow
    /// body has its wall round only what lies on its own side of the hollow.
    #[must_use]
    pub fn covers_from(&self, face: u32, point: DVec3) -> bool {
        match self {
            Self::Tube(field) => field.covers_from(face, point),
            _ => true,
        }
    }

    /// Distance to one face (not edge) carried on smoothly beyond its edges; `None` where that
    /// has no clear meaning.
    #[must_use]
    pub fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        match self {
            Self::Tube(field) => field.carried_on(face, point),
            Self::Turned(field) => field.carried_on(face, point),
            Self::Sweep(field) => field.carried_on(face, point),
            Self::Plate(field) => field.carried_on(face, point),
            Self::Rod(field) => field.carried_on(face, point),
            Self::Post(field) => field.carried_on(face, point),
            Self::Through(field) => field.carried_on(face, point),
        }
    }

    /// A ball round the hole of a drilled tube, and the rims and walls of it: centre and radius.
    #[must_use]
    pub fn hole(&self) -> Option<(DVec3, f64)> {
        match self {
            Self::Tube(field) => field.hole(),
            _ => None,
        }
    }

    /// Price of one question beside that of a turned body: decides which body of a pair is
    /// asked and which is walked over.
    #[must_use]
    pub fn price(&self) -> f64 {
        match self {
            Self::Turned(_) | Self::Rod(_) => 1.0,
            Self::Plate(_) => 1.5,
            Self::Tube(_) | Self::Sweep(_) => 2.5,
            Self::Post(_) | Self::Through(_) => 8.0,
        }
    }
}

/// Root of the sum of squares; `f64::hypot` is not the same on every machine.
fn hypotenuse(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}
