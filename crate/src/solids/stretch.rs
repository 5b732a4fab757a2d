//! How the parameters of a face are stretched so that one step of the chord tolerance has
//! length one.

use glam::{DVec2, DVec3};

use crate::geometry::curve::arc_steps;
use crate::geometry::surface::Surface;

/// How one parameter is stretched: knots of parameter against count of steps.
pub(super) struct Stretch {
    parameters: Vec<f64>,
    steps: Vec<f64>,
}

impl Stretch {
    /// The same length everywhere between two parameters.
    fn even(low: f64, high: f64, steps: f64) -> Self {
        Self { parameters: vec![low, high.max(low + 1e-12)], steps: vec![0.0, steps.max(1.0)] }
    }

    /// The same with every step halved that leaves the surface by more than the chord: steps are
    /// measured by the bend at each place, and one that reaches from a straight run into a sharp
    /// bend has most of it at one end.
    fn tightened(&self, chord: f64, departure: impl Fn(f64, f64) -> f64) -> Self {
        let count = self.total().ceil().clamp(1.0, 4000.0);
        let mut parameters = vec![self.parameter_at(0.0)];
        for k in 0..count as usize {
            let [a, b] =
                [k as f64, k as f64 + 1.0].map(|k| self.parameter_at(k / count * self.total()));
            halve(a, b, HALVINGS, &|a, b| departure(a, b) > chord, &mut parameters);
        }
        // Whole steps, so that a lattice has its lines just where they were looked at; a face that
        // needs no step keeps its small share of one.
        let step = self.total().min(1.0);
        let steps = (0..parameters.len()).map(|k| k as f64 * step).collect();
        Self { parameters, steps }
    }

    pub fn total(&self) -> f64 {
        self.steps.last().copied().unwrap_or(1.0)
    }

    pub fn step_at(&self, parameter: f64) -> f64 {
        interpolate(&self.parameters, &self.steps, parameter)
    }

    pub fn parameter_at(&self, step: f64) -> f64 {
        interpolate(&self.steps, &self.parameters, step)
    }
}

/// Times a step may be halved.
const HALVINGS: usize = 5;

/// Appends the ends of the pieces of `(a, b]`, halved while they are too long.
fn halve(a: f64, b: f64, left: usize, too_long: &impl Fn(f64, f64) -> bool, out: &mut Vec<f64>) {
    if left > 0 && too_long(a, b) {
        let middle = (a + b) / 2.0;
        halve(a, middle, left - 1, too_long, out);
        halve(middle, b, left - 1, too_long, out);
    } else {
        out.push(b);
    }
}

/// How far a line of the surface leaves its chord between two parameters, at most over five
/// places (`side` from 0 to 1) across.
fn departure(a: f64, b: f64, point: &dyn Fn(f64, f64) -> DVec3) -> f64 {
    [0.0, 0.25, 0.5, 0.75, 1.0]
        .into_iter()
        .flat_map(|side| {
            let (from, to) = (point(a, side), point(b, side));
            let along = (to - from).normalize_or_zero();
            [0.25, 0.5, 0.75].map(|share| {
                let way = point(a + (b - a) * share, side) - from;
                (way - along * along.dot(way)).length()
            })
        })
        .fold(0.0, f64::max)
}

/// Piecewise linear interpolation, straight on beyond the ends; `x` rises strictly.
fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    if xs.len() < 2 {
        return ys.first().copied().unwrap_or(0.0);
    }
    let next = xs.partition_point(|&value| value <= x).clamp(1, xs.len() - 1);
    let (x0, x1) = (xs[next - 1], xs[next]);
    ys[next - 1] + (ys[next] - ys[next - 1]) * (x - x0) / (x1 - x0)
}

/// The stretch of both parameters over a face.
pub(super) fn stretches(surface: &Surface, uvs: &[DVec2], chord: f64) -> [Stretch; 2] {
    let (low, high) = uvs
        .iter()
        .fold((DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY)), |(low, high), uv| {
            (low.min(*uv), high.max(*uv))
        });
    let turn = |radius: f64, range: f64| arc_steps(radius, range, chord) as f64;
    match surface {
        Surface::Plane { .. } => {
            [Stretch::even(low.x, high.x, 1.0), Stretch::even(low.y, high.y, 1.0)]
        }
        Surface::Cylinder { radius, .. } => [
            Stretch::even(low.x, high.x, turn(*radius, high.x - low.x)),
            Stretch::even(low.y, high.y, 1.0),
        ],
        Surface::Cone { radius, half_angle, .. } => {
            let widest = (radius + high.y * libm::tan(*half_angle)).abs().max(*radius);
            [
                Stretch::even(low.x, high.x, turn(widest, high.x - low.x)),
                Stretch::even(low.y, high.y, 1.0),
            ]
        }
        Surface::Torus { major, minor, .. } => [
            Stretch::even(low.x, high.x, turn(major + minor, high.x - low.x)),
            Stretch::even(low.y, high.y, turn(*minor, high.y - low.y)),
        ],
        Surface::Spline(spline) => {
            let along = |breaks: Vec<f64>, range: (f64, f64), point: &dyn Fn(f64, f64) -> DVec3| {
                let mut parameters = vec![range.0];
                let mut steps = vec![0.0];
                let pieces = if breaks.len() < 4 { 6 } else { 3 };
                let mut total = 0.0;
                for pair in breaks.windows(2) {
                    for k in 0..pieces {
                        let a = pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(pieces);
                        let b =
                            pair[0] + (pair[1] - pair[0]) * f64::from(k + 1) / f64::from(pieces);
                        if b <= range.0 || a >= range.1 {
                            continue;
                        }
                        let (a, b) = (a.max(range.0), b.min(range.1));
                        let bend = [0.0, 0.5, 1.0]
                            .map(|side| {
                                let (p, q, r) =
                                    (point(a, side), point((a + b) / 2.0, side), point(b, side));
                                (p - q * 2.0 + r).length()
                            })
                            .into_iter()
                            .fold(0.0, f64::max);
                        // The second difference over half steps is h^2 |S''| / 4. A little is
                        // always added: the stretch must rise.
                        total += (bend / (2.0 * chord)).sqrt() + 0.02;
                        parameters.push(b);
                        steps.push(total);
                    }
                }
                let even = Stretch { parameters, steps };
                even.tightened(chord, |a, b| departure(a, b, point))
            };
            let u = along(spline.u_knots.breaks(), (low.x, high.x), &|t, side| {
                spline.point(DVec2::new(t, low.y + (high.y - low.y) * side))
            });
            let v = along(spline.v_knots.breaks(), (low.y, high.y), &|t, side| {
                spline.point(DVec2::new(low.x + (high.x - low.x) * side, t))
            });
            [u, v]
        }
    }
}
