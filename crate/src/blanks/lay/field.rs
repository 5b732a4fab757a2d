//! A distance known at the knots of a grid, and between them as it runs from knot to knot.

use glam::{DVec2, IVec2};

/// Values at the knots of an upright grid.
#[derive(Clone, Debug)]
pub struct Field {
    low: DVec2,
    cell: f64,
    size: IVec2,
    /// Row by row.
    values: Vec<f64>,
}

impl Field {
    /// A field over a box, its values asked for at knots `cell` apart.
    pub fn new((low, high): (DVec2, DVec2), cell: f64, value: impl Fn(DVec2) -> f64) -> Self {
        let size = ((high - low) / cell).ceil().max(DVec2::ZERO).as_ivec2() + 1;
        let knot = |i: i32, j: i32| low + DVec2::new(f64::from(i), f64::from(j)) * cell;
        let rows = (0..size.y).flat_map(|j| (0..size.x).map(move |i| (i, j)));
        let values = rows.map(|(i, j)| value(knot(i, j))).collect();
        Self { low, cell, size, values }
    }

    /// Value at a point, and how it grows; `None` outside the box. Of a distance to straight lines it is exact but where it
    /// bends, and there it is too great by an eighth of the square of the cell over the distance, at most.
    pub fn at(&self, point: DVec2) -> Option<(f64, DVec2)> {
        let place = (point - self.low) / self.cell;
        let corner = place.floor();
        let (i, j) = (corner.x as i32, corner.y as i32);
        if !(place.x >= 0.0 && place.y >= 0.0 && i + 1 < self.size.x && j + 1 < self.size.y) {
            return None;
        }
        let (x, y) = (place.x - corner.x, place.y - corner.y);
        let below = (j * self.size.x + i) as usize;
        let above = below + self.size.x as usize;
        let (a, b) = (*self.values.get(below)?, *self.values.get(below + 1)?);
        let (c, d) = (*self.values.get(above)?, *self.values.get(above + 1)?);
        let (bottom, top) = (a + (b - a) * x, c + (d - c) * x);
        let slope = DVec2::new((b - a) * (1.0 - y) + (d - c) * y, top - bottom) / self.cell;
        Some((bottom + (top - bottom) * y, slope))
    }
}
