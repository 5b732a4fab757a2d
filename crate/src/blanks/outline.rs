//! The outline of a blank: the border of the flat half shell, with what is left on for seam and ends.

use glam::DVec2;

use crate::geometry::arc_fit::fitted;
use crate::geometry::contour::{Contour, Vertex};

use super::flatten::Flat;

/// How far lines and arcs may leave the border, mm.
pub const TOLERANCE_MM: f64 = 0.05;

/// What is left on beyond the finished edges, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Allowances {
    /// Along both seams: filed off when the halves are fitted.
    pub seam: f64,
    /// At the cork end and at the tenon end: trimmed after the halves are soldered, or held by while forming.
    pub ends: [f64; 2],
}

/// A smooth line through knots, each two a parameter of one apart, by the slopes of the parabolas through neighbours
/// (Bessel; de Boor, "A Practical Guide to Splines", chapter 4).
struct Side {
    knots: Vec<DVec2>,
    slopes: Vec<DVec2>,
    /// How far it is moved out, to its right.
    out: f64,
}

impl Side {
    fn new(knots: Vec<DVec2>, out: f64) -> Self {
        let last = knots.len() - 1;
        // Knots lie about evenly, so the chord between the neighbours is the parabola's slope but for their uneven lengths.
        let slope = |i: usize| {
            let (a, b) =
                (i.saturating_sub(1).min(last - 2), (i.saturating_sub(1).min(last - 2)) + 2);
            let [p, q, r] = [knots[a], knots[a + 1], knots[b]];
            let (h, k) = (p.distance(q), q.distance(r));
            let (first, second) = ((q - p) / h, (r - q) / k);
            let bend = (second - first) / (h + k);
            let at = match i - a {
                0 => first - bend * h,
                1 => first + bend * h,
                _ => second + bend * k,
            };
            at.normalize_or_zero()
        };
        let slopes = (0..=last).map(slope).collect();
        Self { knots, slopes, out }
    }

    fn end(&self) -> f64 {
        (self.knots.len() - 1) as f64
    }

    /// Point and direction at a parameter.
    fn at(&self, t: f64) -> (DVec2, DVec2) {
        let i = (t.max(0.0) as usize).min(self.knots.len() - 2);
        let s = t - i as f64;
        let (p, q) = (self.knots[i], self.knots[i + 1]);
        let length = p.distance(q);
        let (a, b) = (self.slopes[i] * length, self.slopes[i + 1] * length);
        let (c, d) = (3.0 * (q - p) - 2.0 * a - b, 2.0 * (p - q) + a + b);
        let point = p + (a + (c + d * s) * s) * s;
        let way = (a + (2.0 * c + 3.0 * d * s) * s).normalize_or_zero();
        (point - way.perp() * self.out, way)
    }

    /// Lines and arcs along it, its last point left out.
    fn arcs(&self) -> Vec<Vertex> {
        // By pieces, so that no bend is overlooked between the places that are held against the arcs.
        let count = (self.knots.len() - 1).div_ceil(8);
        let end = self.end();
        (0..count)
            .flat_map(|k| {
                let at = |k: usize| end * k as f64 / count as f64;
                fitted(&|t| self.at(t), at(k), at(k + 1), TOLERANCE_MM).0
            })
            .collect()
    }

    fn open(&self) -> Contour {
        let mut vertices = self.arcs();
        vertices.push(Vertex { at: self.at(self.end()).0, bulge: 0.0 });
        Contour { vertices, closed: false }
    }
}

/// The four borders in turn, counter-clockwise from the seam below: seam below, tenon end, seam above, cork end.
fn borders(flat: &Flat) -> [Vec<DVec2>; 4] {
    let (rows, across) = (flat.net.first.len(), flat.net.second.len());
    let at = |i: usize, j: usize| flat.places[flat.net.knot(i, j)];
    [
        (0..rows).map(|i| at(i, 0)).collect(),
        (0..across).map(|j| at(rows - 1, j)).collect(),
        (0..rows).rev().map(|i| at(i, across - 1)).collect(),
        (0..across).rev().map(|j| at(0, j)).collect(),
    ]
}

/// The outline to cut, counter-clockwise. At the corners the borders run on straight till they meet.
#[must_use]
pub fn outline(flat: &Flat, allowances: &Allowances) -> Contour {
    let [cork, tenon] = allowances.ends;
    let [below, exit, above, entry] = borders(flat);
    let sides = [
        Side::new(below, allowances.seam),
        Side::new(exit, tenon),
        Side::new(above, allowances.seam),
        Side::new(entry, cork),
    ];
    let mut vertices: Vec<Vertex> = Vec::new();
    for (k, side) in sides.iter().enumerate() {
        vertices.extend(side.arcs());
        let (last, way) = side.at(side.end());
        vertices.push(Vertex { at: last, bulge: 0.0 });
        let (first, next) = sides[(k + 1) % 4].at(0.0);
        let across = way.perp_dot(next);
        if across.abs() > 1e-9 {
            let share = (first - last).perp_dot(next) / across;
            vertices.push(Vertex { at: last + way * share, bulge: 0.0 });
        }
    }
    // Without an allowance the corners fall together.
    let mut kept: Vec<Vertex> = Vec::with_capacity(vertices.len());
    for vertex in vertices {
        match kept.last_mut() {
            Some(last) if last.at.distance(vertex.at) < 1e-6 => *last = vertex,
            _ => kept.push(vertex),
        }
    }
    if let (Some(first), Some(last)) = (kept.first(), kept.last())
        && kept.len() > 1
        && first.at.distance(last.at) < 1e-6
    {
        kept.pop();
    }
    Contour { vertices: kept, closed: true }
}

/// The finished edges, where the metal ends when seams are filed and ends trimmed.
#[must_use]
pub fn finished(flat: &Flat) -> [Contour; 4] {
    borders(flat).map(|knots| Side::new(knots, 0.0).open())
}

/// The line on the flat sheet of all points at one value of the second parameter.
#[must_use]
pub fn line_along(flat: &Flat, second: f64) -> Contour {
    let knots = flat.net.first.iter().map(|&first| flat.place(first, second)).collect();
    Side::new(knots, 0.0).open()
}

/// The line of all points at one value of the first parameter.
#[must_use]
pub fn line_across(flat: &Flat, first: f64) -> Contour {
    let knots = flat.net.second.iter().map(|&second| flat.place(first, second)).collect();
    Side::new(knots, 0.0).open()
}
