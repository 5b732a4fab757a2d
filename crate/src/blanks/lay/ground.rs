//! The sheet that pieces are laid on.

use glam::DVec2;

use super::field::Field;
use super::shape::{bounds, signed_distance};

/// Width of a cell of the distance field of a sheet that is no rectangle, mm.
const CELL: f64 = 2.0;

/// A sheet. Millimetres.
#[derive(Clone, Debug)]
pub enum Ground {
    /// Upright, from the origin.
    Rectangle { size: DVec2 },
    /// An off-cut: its border, and holes in it.
    Offcut { border: Vec<DVec2>, holes: Vec<Vec<DVec2>>, field: Field },
}

impl Ground {
    /// An off-cut from its border and the holes in it.
    #[must_use]
    pub fn offcut(border: Vec<DVec2>, holes: Vec<Vec<DVec2>>) -> Self {
        let (low, high) = bounds(&border);
        let room = DVec2::splat(2.0 * CELL);
        let field =
            Field::new((low - room, high + room), CELL, |point| inside(&border, &holes, point));
        Self::Offcut { border, holes, field }
    }

    /// How far a point lies inside the sheet, negative outside, and how that grows. Far outside, how far it is from the box.
    #[must_use]
    pub fn inside(&self, point: DVec2) -> (f64, DVec2) {
        match self {
            Self::Rectangle { size } => in_box((DVec2::ZERO, *size), point),
            Self::Offcut { border, field, .. } => {
                field.at(point).unwrap_or_else(|| in_box(bounds(border), point))
            }
        }
    }

    /// The same, exact.
    #[must_use]
    pub fn exactly_inside(&self, point: DVec2) -> f64 {
        match self {
            Self::Rectangle { .. } => self.inside(point).0,
            Self::Offcut { border, holes, .. } => inside(border, holes, point),
        }
    }

    /// Corners of the box round it.
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        match self {
            Self::Rectangle { size } => (DVec2::ZERO, *size),
            Self::Offcut { border, .. } => bounds(border),
        }
    }

    /// mm²
    #[must_use]
    pub fn area(&self) -> f64 {
        match self {
            Self::Rectangle { size } => size.x * size.y,
            Self::Offcut { border, holes, .. } => {
                let area = |ring: &[DVec2]| super::shape::signed_area(ring).abs();
                area(border) - holes.iter().map(|hole| area(hole)).sum::<f64>()
            }
        }
    }
}

fn in_box((low, high): (DVec2, DVec2), point: DVec2) -> (f64, DVec2) {
    let walls = [
        (point.x - low.x, DVec2::X),
        (point.y - low.y, DVec2::Y),
        (high.x - point.x, DVec2::NEG_X),
        (high.y - point.y, DVec2::NEG_Y),
    ];
    walls.into_iter().fold((f64::INFINITY, DVec2::ZERO), |least, wall| {
        if wall.0 < least.0 { wall } else { least }
    })
}

fn inside(border: &[DVec2], holes: &[Vec<DVec2>], point: DVec2) -> f64 {
    holes
        .iter()
        .map(|hole| signed_distance(hole, point))
        .fold(-signed_distance(border, point), f64::min)
}
