//! The flat shape that forms into a surface with the least strain energy.
//!
//! The surface is laid out on a net of lines; the flat places of its knots are the unknowns, and between them
//! the flat place is quadratic both ways (nine-knot cells: with four, a cell cannot bend in its plane without
//! shear that is not there; Cook et al., "Concepts and Applications of Finite Element Analysis", 4th ed., section 3.6). Forming stretches a small piece of sheet by the principal factors λ₁ and λ₂; with the
//! logarithmic strains ε = ln λ and the volume of the metal kept, the square of the equivalent strain is
//! 4/3 (ε₁² + ε₁ε₂ + ε₂²) (von Mises; Hosford & Caddell, "Metal Forming", chapter 2). Half its integral over
//! the formed surface is the energy that is made least. It does not ask what the hardening is: that
//! would change how strain is shared out only where it is large.
//!
//! Solved by Gauss-Newton steps (Nocedal & Wright, "Numerical Optimization", 2nd ed., section 10.3): each cell's
//! strains are linearised at 3 × 3 Gauss points, the sum is a banded system. A step that does not lower the energy is halved.

use glam::DVec2;
use thiserror::Error;

use super::banded::Banded;
use super::surface::Formed;

/// Steps after which flattening is given up.
const MOST_STEPS: usize = 60;

/// Halvings of a step that does not lower the energy.
const HALVINGS: usize = 12;

/// The flat places are settled when no knot moves farther in a step, mm.
const SETTLED: f64 = 1e-5;

/// Abscissae and weights of the three-point Gauss rule on 0 to 1 (Abramowitz & Stegun, table 25.4).
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Why a surface could not be flattened.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum FlattenError {
    /// Fewer than three lines either way or an even number, or lines that do not rise.
    #[error("the net has cells without size")]
    Net,
    /// The surface has steps without length there.
    #[error("the surface has a place without extent")]
    Surface,
    /// The steps did not settle.
    #[error("no flat shape was found in {MOST_STEPS} steps")]
    Unsettled,
}

/// A net of lines on a surface: values of the first parameter, and of the second. Cells reach from every other line
/// to the next but one; the line between is in the middle.
#[derive(Clone, Debug, PartialEq)]
pub struct Net {
    pub first: Vec<f64>,
    pub second: Vec<f64>,
}

impl Net {
    /// Number of knots.
    #[must_use]
    pub fn knots(&self) -> usize {
        self.first.len() * self.second.len()
    }

    /// Place of a knot in the list: row by row of the first parameter.
    #[must_use]
    pub fn knot(&self, first: usize, second: usize) -> usize {
        first * self.second.len() + second
    }

    fn rises(&self) -> bool {
        [&self.first, &self.second].iter().all(|lines| {
            lines.len() >= 3
                && lines.len() % 2 == 1
                && lines.windows(2).all(|pair| pair[0] < pair[1])
        })
    }
}

/// Strain of the metal at a place: what forming does to the flat sheet there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strain {
    /// Logarithmic, along the first family of lines, along the second, and between the two (tensor).
    pub along: f64,
    pub round: f64,
    pub shear: f64,
}

impl Strain {
    /// The greater and the lesser principal strain.
    #[must_use]
    pub fn principal(&self) -> (f64, f64) {
        let mean = (self.along + self.round) / 2.0;
        let apart = libm::hypot((self.along - self.round) / 2.0, self.shear);
        (mean + apart, mean - apart)
    }

    /// Through the thickness, with the volume kept: negative where the sheet gets thinner.
    #[must_use]
    pub fn thickness(&self) -> f64 {
        -(self.along + self.round)
    }

    /// The equivalent strain of von Mises.
    #[must_use]
    pub fn equivalent(&self) -> f64 {
        (self.quadratic() * 4.0 / 3.0).sqrt()
    }

    fn quadratic(&self) -> f64 {
        let Self { along, round, shear } = self;
        along * along + along * round + round * round + shear * shear
    }
}

/// A flattened surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    pub net: Net,
    /// Flat place of each knot of the net, mm.
    pub places: Vec<DVec2>,
    /// Energy: half the square of the equivalent strain, summed over the formed surface, mm².
    pub energy: f64,
    /// Steps taken.
    pub steps: usize,
}

/// A place in a cell at which strain is taken, and how much of the surface it stands for.
#[derive(Clone, Copy, Debug)]
struct Point {
    knots: [usize; 9],
    /// Shares of the knots' places in the derivatives by length along and round.
    along: [f64; 9],
    round: [f64; 9],
    area: f64,
}

/// Flattens a surface on a net, from flat places to begin with.
///
/// # Errors
///
/// A net or a surface without extent; a surface so far from flat that no shape is found.
pub fn flatten(surface: &impl Formed, net: Net, begin: Vec<DVec2>) -> Result<Flat, FlattenError> {
    if !net.rises() || begin.len() != net.knots() {
        return Err(FlattenError::Net);
    }
    let points = points(surface, &net).ok_or(FlattenError::Surface)?;
    let mut places = begin;
    let mut now = energy(&points, &places).ok_or(FlattenError::Surface)?;
    for step in 1..=MOST_STEPS {
        let way = step_from(&points, &net, &places).ok_or(FlattenError::Unsettled)?;
        let mut share = 1.0;
        let mut taken = None;
        for _ in 0..HALVINGS {
            let tried: Vec<DVec2> =
                places.iter().zip(&way).map(|(place, way)| *place + *way * share).collect();
            if let Some(then) = energy(&points, &tried).filter(|&then| then <= now) {
                taken = Some((tried, then));
                break;
            }
            share /= 2.0;
        }
        let farthest = way.iter().map(|way| way.length()).fold(0.0, f64::max) * share;
        if let Some((tried, then)) = taken {
            (places, now) = (tried, then);
        }
        // Where even the shortest step lowers nothing, what is left is rounding.
        if farthest < SETTLED {
            return Ok(Flat { net, places, energy: now, steps: step });
        }
        if share < 1e-3 {
            break;
        }
    }
    Err(FlattenError::Unsettled)
}

impl Flat {
    /// Flat place of a point of the surface, mm: quadratic between the knots of its cell. Outside the net that of its border.
    #[must_use]
    pub fn place(&self, first: f64, second: f64) -> DVec2 {
        let (i, x) = within(&self.net.first, first);
        let (j, y) = within(&self.net.second, second);
        let (by_x, by_y) = (quadratic(x), quadratic(y));
        let mut sum = DVec2::ZERO;
        for (p, across) in by_x.iter().enumerate() {
            for (q, up) in by_y.iter().enumerate() {
                let place = self.places.get(self.net.knot(i + p, j + q)).copied();
                sum += place.unwrap_or_default() * across.0 * up.0;
            }
        }
        sum
    }

    /// Mean strain of each cell, row by row of the first parameter, with the values of its first lines
    /// and of those next but one.
    #[must_use]
    pub fn strains(&self, surface: &impl Formed) -> Vec<CellStrain> {
        let mean = |[i, j]: [usize; 2]| {
            let (mut sum, mut area) = ([0.0; 3], 0.0);
            for point in cell_points(surface, &self.net, [i, j])? {
                let strain = point.strain(&self.places)?;
                for (sum, own) in sum.iter_mut().zip([strain.along, strain.round, strain.shear]) {
                    *sum += own * point.area;
                }
                area += point.area;
            }
            let [along, round, shear] = sum.map(|sum| sum / area);
            Some(CellStrain {
                first: [self.net.first[i], self.net.first[i + 2]],
                second: [self.net.second[j], self.net.second[j + 2]],
                area,
                strain: Strain { along, round, shear },
            })
        };
        cells(&self.net).filter_map(mean).collect()
    }
}

/// Mean strain of a cell of the net.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellStrain {
    /// From and to, of the first and of the second parameter.
    pub first: [f64; 2],
    pub second: [f64; 2],
    /// Of the formed surface, mm².
    pub area: f64,
    pub strain: Strain,
}

/// The first line of the cell a value lies in, and its share of the cell.
fn within(lines: &[f64], value: f64) -> (usize, f64) {
    let last = lines.len().saturating_sub(3);
    let index = lines.partition_point(|line| *line <= value).saturating_sub(1).min(last) / 2 * 2;
    let (from, to) = (lines[index], lines[index + 2]);
    (index, ((value - from) / (to - from)).clamp(0.0, 1.0))
}

/// The first lines of every cell.
fn cells(net: &Net) -> impl Iterator<Item = [usize; 2]> {
    let across = net.second.len() - 1;
    let lines = (0..net.first.len() - 1).step_by(2);
    lines.flat_map(move |i| (0..across).step_by(2).map(move |j| [i, j]))
}

/// The Gauss points of all cells.
fn points(surface: &impl Formed, net: &Net) -> Option<Vec<Point>> {
    let mut all = Vec::with_capacity(net.knots() * 9 / 4);
    for cell in cells(net) {
        all.extend(cell_points(surface, net, cell)?);
    }
    Some(all)
}

fn cell_points(surface: &impl Formed, net: &Net, cell: [usize; 2]) -> Option<Vec<Point>> {
    let mut all = Vec::with_capacity(GAUSS.len() * GAUSS.len());
    for (x, by_x) in GAUSS {
        for (y, by_y) in GAUSS {
            let mut point = point(surface, net, cell, [x, y])?;
            point.area *= by_x * by_y;
            all.push(point);
        }
    }
    Some(all)
}

/// A place in a cell, by its shares of the cell's steps. Its area is that of the whole cell, as if all of it were alike.
fn point(surface: &impl Formed, net: &Net, [i, j]: [usize; 2], [x, y]: [f64; 2]) -> Option<Point> {
    let (from, to) = ([net.first[i], net.second[j]], [net.first[i + 2], net.second[j + 2]]);
    let steps = [to[0] - from[0], to[1] - from[1]];
    let lengths = surface.lengths(from[0] + x * steps[0], from[1] + y * steps[1]);
    let [along, round] = [lengths[0] * steps[0], lengths[1] * steps[1]];
    if !(along > 0.0 && round > 0.0 && along.is_finite() && round.is_finite()) {
        return None;
    }
    let (by_x, by_y) = (quadratic(x), quadratic(y));
    let mut point = Point { knots: [0; 9], along: [0.0; 9], round: [0.0; 9], area: along * round };
    for k in 0..9 {
        let (p, q) = (k / 3, k % 3);
        point.knots[k] = net.knot(i + p, j + q);
        point.along[k] = by_x[p].1 * by_y[q].0 / along;
        point.round[k] = by_x[p].0 * by_y[q].1 / round;
    }
    Some(point)
}

/// Shares of three values at 0, 1/2 and 1 in the parabola through them at `x`, and their slopes.
fn quadratic(x: f64) -> [(f64, f64); 3] {
    [
        ((1.0 - x) * (1.0 - 2.0 * x), 4.0 * x - 3.0),
        (4.0 * x * (1.0 - x), 4.0 - 8.0 * x),
        (x * (2.0 * x - 1.0), 4.0 * x - 1.0),
    ]
}

/// How flat lengths stand to formed ones: the derivatives of the flat place by formed length.
struct Stretch {
    along: DVec2,
    round: DVec2,
}

impl Point {
    fn stretch(&self, places: &[DVec2]) -> Stretch {
        let sum = |shares: &[f64; 9]| {
            self.knots.iter().zip(shares).map(|(&knot, &share)| places[knot] * share).sum()
        };
        Stretch { along: sum(&self.along), round: sum(&self.round) }
    }

    /// `None` where the flat sheet would lie turned over.
    fn strain(&self, places: &[DVec2]) -> Option<Strain> {
        let stretch = self.stretch(places);
        (stretch.along.perp_dot(stretch.round) > 0.0).then(|| stretch.logarithm().0)
    }
}

impl Stretch {
    /// The strain of forming, and its change with the three entries of the flat metric.
    ///
    /// The flat metric in directions that are of unit length on the formed surface is B; the strain is −½ ln B. The derivative of the
    /// logarithm of a symmetric matrix after Higham, "Functions of Matrices", theorem 3.11: divided differences
    /// between the eigenvalues.
    fn logarithm(&self) -> (Strain, [[f64; 3]; 3]) {
        let entries =
            [self.along.length_squared(), self.round.length_squared(), self.along.dot(self.round)];
        let mean = (entries[0] + entries[1]) / 2.0;
        let half = (entries[0] - entries[1]) / 2.0;
        let apart = libm::hypot(half, entries[2]);
        let determinant = self.along.perp_dot(self.round);
        let great = mean + apart;
        // The lesser one by the determinant, which loses no digits.
        let small = determinant * determinant / great;
        let (log_great, log_small) = (libm::log(great), libm::log(small));
        // Directions of the eigenvectors, as the cosine and sine of twice their angle.
        let (cos, sin) = if apart > 0.0 { (half / apart, entries[2] / apart) } else { (1.0, 0.0) };
        let (sum, difference) = ((log_great + log_small) / 2.0, (log_great - log_small) / 2.0);
        let strain = Strain {
            along: -(sum + difference * cos) / 2.0,
            round: -(sum - difference * cos) / 2.0,
            shear: -difference * sin / 2.0,
        };
        // d ln B = Q (Γ ∘ Qᵀ dB Q) Qᵀ. In terms of the mean m, half difference h and shear k of dB: turned into the
        // directions of the eigenvectors, m stays, h' = h c + k s, k' = k c − h s.
        let (of_great, of_small) = (1.0 / great, 1.0 / small);
        let between = if great - small > 1e-9 * great {
            (log_great - log_small) / (great - small)
        } else {
            2.0 / (great + small)
        };
        let change = |m: f64, h: f64, k: f64| {
            let (turned_h, turned_k) = (h * cos + k * sin, k * cos - h * sin);
            let (first, second) = ((m + turned_h) * of_great, (m - turned_h) * of_small);
            let (mean, half, shear) =
                ((first + second) / 2.0, (first - second) / 2.0, turned_k * between);
            let (half, shear) = (half * cos - shear * sin, half * sin + shear * cos);
            [-(mean + half) / 2.0, -(mean - half) / 2.0, -shear / 2.0]
        };
        (strain, [change(0.5, 0.5, 0.0), change(0.5, -0.5, 0.0), change(0.0, 0.0, 1.0)])
    }
}

fn energy(points: &[Point], places: &[DVec2]) -> Option<f64> {
    let mut sum = 0.0;
    for point in points {
        sum += point.area * point.strain(places)?.quadratic() * 2.0 / 3.0;
    }
    Some(sum)
}

/// The Gauss-Newton step of every knot.
fn step_from(points: &[Point], net: &Net, places: &[DVec2]) -> Option<Vec<DVec2>> {
    let across = net.second.len();
    let mut matrix = Banded::new(2 * places.len(), 2 * (2 * across + 2) + 1);
    let mut right = vec![0.0; 2 * places.len()];
    for point in points {
        let stretch = point.stretch(places);
        let (strain, changes) = stretch.logarithm();
        // The change of strain with each of the eighteen coordinates.
        let mut by = [[0.0; 3]; 18];
        for knot in 0..9 {
            let (a, r) = (point.along[knot], point.round[knot]);
            for axis in 0..2 {
                let metric = [
                    2.0 * stretch.along[axis] * a,
                    2.0 * stretch.round[axis] * r,
                    stretch.along[axis] * r + stretch.round[axis] * a,
                ];
                by[2 * knot + axis] =
                    [0, 1, 2].map(|k| (0..3).map(|entry| changes[entry][k] * metric[entry]).sum());
            }
        }
        // Stress over 4/3 the stiffness: what the quadratic form's derivative is.
        let weighted = |e: &[f64; 3]| [e[0] + e[1] / 2.0, e[1] + e[0] / 2.0, e[2]];
        let stress = weighted(&[strain.along, strain.round, strain.shear]);
        let scale = point.area * 4.0 / 3.0;
        let place = |k: usize| 2 * point.knots[k / 2] + k % 2;
        for i in 0..18 {
            let own = weighted(&by[i]);
            right[place(i)] -= scale * dot(&by[i], &stress);
            for (j, other) in by.iter().enumerate().take(i + 1) {
                matrix.add(place(i), place(j), scale * dot(&own, other));
            }
        }
    }
    // The flat shape may lie anywhere: one knot in the middle stays, and its neighbour along keeps
    // to its height.
    let middle = net.knot(net.first.len() / 2, across / 2);
    let beside = net.knot(net.first.len() / 2 - 1, across / 2);
    for held in [2 * middle, 2 * middle + 1, 2 * beside + 1] {
        matrix.hold(held);
        right[held] = 0.0;
    }
    let way = matrix.solve(right)?;
    let ways = way.chunks_exact(2).map(|pair| DVec2::new(pair[0], pair[1]));
    Some(ways.collect())
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The derivative of the strain against differences.
    #[test]
    fn strain_changes_as_its_derivative_says() {
        let at = |along: DVec2, round: DVec2| Stretch { along, round }.logarithm();
        let (along, round) = (DVec2::new(1.1, 0.2), DVec2::new(-0.15, 0.9));
        let (_, changes) = at(along, round);
        let step = 1e-6;
        for axis in 0..2 {
            for which in 0..2 {
                let mut off = [DVec2::ZERO; 2];
                off[which][axis] = step;
                let (high, low) =
                    (at(along + off[0], round + off[1]).0, at(along - off[0], round - off[1]).0);
                let (da, dr) = (off[0], off[1]);
                let metric =
                    [2.0 * along.dot(da), 2.0 * round.dot(dr), along.dot(dr) + round.dot(da)];
                let by =
                    |k: usize| (0..3).map(|entry| changes[entry][k] * metric[entry]).sum::<f64>();
                for (k, got) in
                    [high.along - low.along, high.round - low.round, high.shear - low.shear]
                        .into_iter()
                        .enumerate()
                {
                    assert!((got / 2.0 - by(k)).abs() < 1e-12, "{k} {got} {}", by(k));
                }
            }
        }
    }
}
