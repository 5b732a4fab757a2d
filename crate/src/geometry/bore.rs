//! The bore: radius against station.

use super::cubic::Cubic;

/// How the bore's radius runs along the centreline. Millimetres, radians.
#[derive(Clone, Debug, PartialEq)]
pub enum Bore {
    /// Straight taper from the cork end.
    Cone { entry_radius: f64, slope: f64 },
    /// Measured diameters, interpolated monotone and C1.
    Table(Table),
}

/// Monotone C1 cubic interpolation of a table: between neighbours that rise it never falls.
///
/// Slopes after Fritsch & Butland, "A method for constructing local monotone piecewise cubic
/// interpolants", SIAM J. Sci. Stat. Comput. 5 (1984): the weighted harmonic mean of the
/// neighbouring chords. Beyond its ends the table runs on straight.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    nodes: Vec<TableNode>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct TableNode {
    x: f64,
    y: f64,
    slope: f64,
}

impl Table {
    /// Table through the given points, sorted by x; needs two with different x.
    pub fn new(points: &[(f64, f64)]) -> Self {
        let chords: Vec<f64> = points
            .windows(2)
            .map(|pair| (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0))
            .collect();
        let nodes = points
            .iter()
            .enumerate()
            .map(|(i, &(x, y))| {
                let before = i.checked_sub(1).and_then(|k| chords.get(k)).copied();
                let after = chords.get(i).copied();
                let slope = match (before, after) {
                    (Some(a), Some(b)) if a * b > 0.0 => {
                        let h0 = x - points[i - 1].0;
                        let h1 = points[i + 1].0 - x;
                        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
                        (w0 + w1) / (w0 / a + w1 / b)
                    }
                    (Some(_), Some(_)) => 0.0,
                    (Some(a), None) | (None, Some(a)) => a,
                    (None, None) => 0.0,
                };
                TableNode { x, y, slope }
            })
            .collect();
        Self { nodes }
    }

    /// Value and slope at `x`.
    pub fn value_slope(&self, x: f64) -> (f64, f64) {
        let (Some(first), Some(last)) = (self.nodes.first(), self.nodes.last()) else {
            return (0.0, 0.0);
        };
        if x <= first.x {
            return (first.y + first.slope * (x - first.x), first.slope);
        }
        if x >= last.x {
            return (last.y + last.slope * (x - last.x), last.slope);
        }
        let next = self.nodes.partition_point(|node| node.x <= x).clamp(1, self.nodes.len() - 1);
        let (a, b) = (&self.nodes[next - 1], &self.nodes[next]);
        let length = b.x - a.x;
        let share = (x - a.x) / length;
        let cubic = Cubic::between(a.y, a.slope, b.y, b.slope, length);
        (cubic.value(share), cubic.slope(share))
    }

    /// The x of every point of the table.
    pub fn breaks(&self) -> impl Iterator<Item = f64> + '_ {
        self.nodes.iter().map(|node| node.x)
    }
}

impl Bore {
    /// Radius and its slope dr/ds at a station.
    pub fn radius_slope(&self, station: f64) -> (f64, f64) {
        match self {
            Self::Cone { entry_radius, slope } => (entry_radius + slope * station, *slope),
            Self::Table(table) => table.value_slope(station),
        }
    }

    /// Radius at a station, mm.
    pub fn radius(&self, station: f64) -> f64 {
        self.radius_slope(station).0
    }

    /// Whether the radius runs exactly straight between two stations.
    pub fn is_straight(&self) -> bool {
        matches!(self, Self::Cone { .. })
    }

    /// Stations where the third derivative jumps.
    pub fn breaks(&self) -> Vec<f64> {
        match self {
            Self::Cone { .. } => Vec::new(),
            Self::Table(table) => table.breaks().collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_of_a_straight_line_is_the_line() {
        let table = Table::new(&[(0.0, 6.0), (10.0, 6.5), (37.0, 7.85), (50.0, 8.5)]);
        for x in [-5.0, 0.0, 3.0, 10.0, 20.0, 45.0, 60.0] {
            let (value, slope) = table.value_slope(x);
            assert!((value - (6.0 + 0.05 * x)).abs() < 1e-12);
            assert!((slope - 0.05).abs() < 1e-12);
        }
    }

    #[test]
    fn rising_table_never_falls() {
        let table = Table::new(&[(0.0, 6.0), (1.0, 6.0), (2.0, 9.0), (10.0, 9.1), (11.0, 12.0)]);
        for i in 0..1100 {
            assert!(table.value_slope(f64::from(i) * 0.01).1 >= -1e-12);
        }
    }
}
