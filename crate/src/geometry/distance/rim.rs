//! Rims: closed curves where a round hole or post meets a swept surface or another cylinder.

use std::f64::consts::TAU;

use glam::DVec3;

use crate::geometry::cubic::Cubic;
use crate::geometry::frame::Frame;
use crate::geometry::order::Order;

use super::skin::Skin;
use super::track::Mark;

/// Cubics of one turn. A cubic over angle d leaves a circle of radius r by r d^4 / 384: at
/// 5 degrees and 3 mm, 4e-7 mm.
const CUBICS: usize = 72;

/// A closed curve of cubics.
#[derive(Clone, Debug)]
pub(super) struct Rim {
    /// Points and derivatives by angle.
    nodes: Vec<(DVec3, DVec3)>,
    /// Greatest distance between neighbouring nodes.
    spacing: f64,
    /// Greatest distance of a cubic from its chord.
    sag: f64,
}

impl Rim {
    /// Rim through the points and derivatives that `at` gives for angles of a whole turn.
    pub fn new(mut at: impl FnMut(f64) -> (DVec3, DVec3)) -> Self {
        let mut nodes: Vec<(DVec3, DVec3)> =
            (0..CUBICS).map(|i| at(TAU * i as f64 / CUBICS as f64)).collect();
        nodes.extend(nodes.first().copied());
        let spacing =
            nodes.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).fold(0.0, f64::greater);
        let step = TAU / CUBICS as f64;
        let sag = nodes
            .windows(2)
            .map(|pair| (pair[0].1 * step - (pair[1].0 - pair[0].0)).length() * 0.3)
            .fold(0.0, f64::greater);
        Self { nodes, spacing, sag }
    }

    /// Points of the rim, evenly by angle.
    pub fn nodes(&self) -> impl Iterator<Item = DVec3> + '_ {
        self.nodes.iter().map(|node| node.0)
    }

    /// Distance from a point to the farthest node.
    pub fn farthest(&self, point: DVec3) -> f64 {
        self.nodes.iter().map(|node| node.0.distance(point)).fold(0.0, f64::greater)
    }

    /// Nearest point of the rim.
    pub fn nearest(&self, point: DVec3) -> DVec3 {
        let mut squares = [f64::INFINITY; CUBICS + 1];
        let mut nearest = (f64::INFINITY, 0);
        for (index, (square, node)) in squares.iter_mut().zip(&self.nodes).enumerate() {
            *square = node.0.distance_squared(point);
            if *square < nearest.0 {
                nearest = (*square, index);
            }
        }
        // The cubics beside the nearest node first, then any other whose chord comes near enough.
        let start = nearest.1 % CUBICS;
        let mut best = (f64::INFINITY, point);
        for index in [start, (start + CUBICS - 1) % CUBICS] {
            let foot = self.foot_on(index, point);
            let square = foot.distance_squared(point);
            if square < best.0 {
                best = (square, foot);
            }
        }
        let least = best.0.sqrt();
        let limit = least + self.spacing / 2.0 + self.sag;
        let limit = limit * limit;
        for index in 0..CUBICS {
            if squares[index].lesser(squares[index + 1]) > limit || index == start {
                continue;
            }
            let (a, b) = (self.nodes[index].0, self.nodes[index + 1].0);
            let chord = b - a;
            let share =
                ((point - a).dot(chord) / chord.length_squared().greater(1e-300)).clamp(0.0, 1.0);
            if (a + chord * share).distance(point) < least + self.sag {
                let foot = self.foot_on(index, point);
                let square = foot.distance_squared(point);
                if square < best.0 {
                    best = (square, foot);
                }
            }
        }
        best.1
    }

    /// Nearest point of one cubic; its right angle is sought from the chord's.
    fn foot_on(&self, index: usize, point: DVec3) -> DVec3 {
        let step = TAU / CUBICS as f64;
        let ((p0, m0), (p1, m1)) = (self.nodes[index], self.nodes[index + 1]);
        // By the share of the way, so that steps are judged alike on rims of every size.
        let cubic = Cubic::between(p0, m0 * step, p1, m1 * step, 1.0);
        let chord = p1 - p0;
        let mut t =
            ((point - p0).dot(chord) / chord.length_squared().greater(1e-300)).clamp(0.0, 1.0);
        let mut place = p0;
        for _ in 0..6 {
            place = cubic.value(t);
            let (slope, bend) = (cubic.slope(t), cubic.bend(t));
            let miss = place - point;
            let square = slope.length_squared();
            let curve = (square + miss.dot(bend)).greater(0.1 * square).greater(1e-300);
            let next = (t - miss.dot(slope) / curve).clamp(0.0, 1.0);
            let moved = (next - t).abs();
            t = next;
            if moved < 1e-9 {
                break;
            }
            place = cubic.value(t);
        }
        place
    }
}

/// Where the line along the frame's z at `radius` and `angle` from it meets the surface
/// `offset` over the bore, with the derivative by angle. `height` is where to look first.
pub(super) fn pierce(
    skin: &Skin,
    offset: f64,
    frame: &Frame,
    radius: f64,
    angle: f64,
    height: f64,
) -> (DVec3, DVec3) {
    let (sin, cos) = libm::sincos(angle);
    let round = (frame.y * cos - frame.x * sin) * radius;
    let mut local = DVec3::new(cos * radius, sin * radius, height);
    let mut mark = Mark { span: 0, within: 0.0 };
    let mut nearest = f64::INFINITY;
    let start = frame.point(local);
    skin.track.feet(start, |foot| {
        let (foot, section, view) = skin.track.foot(start, foot);
        let distance = section.point(view.flat).distance(start) + view.flat.length();
        if distance < nearest {
            (nearest, mark) = (distance, foot);
        }
    });
    for _ in 0..20 {
        let (over, normal, foot) = skin.level(frame.point(local), mark, offset);
        mark = foot;
        let climb = normal.dot(frame.z);
        // Held to steps that stay on this side of the tube.
        let step = (over / climb.greater(0.1)).clamp(-1.0, 1.0);
        local.z -= step;
        if step.abs() < 1e-12 {
            break;
        }
    }
    let (_, normal, _) = skin.level(frame.point(local), mark, offset);
    let climb = normal.dot(frame.z).greater(0.1);
    (frame.point(local), round - frame.z * (normal.dot(round) / climb))
}
