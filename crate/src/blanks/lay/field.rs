//! A distance known at the knots of a grid, and between them as it runs from knot to knot.

use glam::DVec2;

/// Values at the knots of an upright grid.
#[derive(Clone, Debug)]
pub struct Field {
    low: DVec2,
    /// Cells in a millimetre.
    per_cell: f64,
    /// Knots in a row.
    across: i32,
    /// The farthest knot, in cells from the first.
    end: DVec2,
    /// Row by row. Single precision is a ten-thousandth of a micrometre here, and half as much to fetch.
    values: Vec<f32>,
}

impl Field {
    /// A field over a box, its values asked for at knots `cell` apart.
    pub fn new((low, high): (DVec2, DVec2), cell: f64, value: impl Fn(DVec2) -> f64) -> Self {
        let size = ((high - low) / cell).ceil().max(DVec2::ZERO).as_ivec2() + 1;
        let knot = |i: i32, j: i32| low + DVec2::new(f64::from(i), f64::from(j)) * cell;
        let rows = (0..size.y).flat_map(|j| (0..size.x).map(move |i| (i, j)));
        let values = rows.map(|(i, j)| value(knot(i, j)) as f32).collect();
        Self { low, per_cell: 1.0 / cell, across: size.x, end: (size - 1).as_dvec2(), values }
    }

    /// Value at a point, and how it grows; `None` outside the box. Of a distance to straight lines it is exact but where it
    /// bends, and there it is too great by an eighth of the square of the cell over the distance, at most.
    #[inline]
    pub fn at(&self, point: DVec2) -> Option<(f64, DVec2)> {
        self.below(point, f64::INFINITY)
    }

    /// The same, and `None` where the value is not below a limit.
    #[inline]
    pub fn below(&self, point: DVec2, limit: f64) -> Option<(f64, DVec2)> {
        let place = (point - self.low) * self.per_cell;
        let end = self.end;
        if !(place.x >= 0.0 && place.y >= 0.0 && place.x < end.x && place.y < end.y) {
            return None;
        }
        // What is not negative is cut off as `floor` would, without the call.
        let (i, j) = (place.x as i32, place.y as i32);
        let (x, y) = (place.x - f64::from(i), place.y - f64::from(j));
        let below = (j * self.across + i) as usize;
        let [a, b] = self.pair(below)?;
        let [c, d] = self.pair(below + self.across as usize)?;
        let (bottom, top) = (a + (b - a) * x, c + (d - c) * x);
        let value = bottom + (top - bottom) * y;
        if value >= limit {
            return None;
        }
        let slope = DVec2::new((b - a) * (1.0 - y) + (d - c) * y, top - bottom) * self.per_cell;
        Some((value, slope))
    }

    /// A value and the one beside it.
    #[inline]
    fn pair(&self, knot: usize) -> Option<[f64; 2]> {
        let pair = self.values.get(knot..knot + 2)?;
        Some([f64::from(pair[0]), f64::from(pair[1])])
    }
}
