//! A turned body as it is seen: its outside from the side, its section, its circles from an end.

use glam::DVec2;

use crate::geometry::arc_fit::contour_of;
use crate::geometry::contour::{Contour, Piece, Vertex};
use crate::geometry::outline::Outline;

use super::Projection;

/// Departure of drawn lines from the profile, mm of the part: no pen draws finer.
const DRAWN: f64 = 0.002;
/// Turn between two sides that is seen as an edge, radians.
const EDGE: f64 = 0.05;
/// Radii nearer than this are one, mm.
const SAME: f64 = 1e-6;

/// The profile of a turned body: x along the axis from its left end, y the radius.
#[derive(Clone, Debug)]
pub struct Profile {
    pub contour: Contour,
    pub length: f64,
    /// Greatest radius.
    pub radius: f64,
}

/// An edge that runs round the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    pub x: f64,
    pub radius: f64,
    /// Whether it lies on the outside.
    pub outside: bool,
}

impl Profile {
    /// Profile of an outline, moved so that it begins at 0, and by how much it was moved.
    pub fn of(outline: &Outline) -> (Self, f64) {
        let (contour, _) = contour_of(outline, DRAWN);
        let (low, _) = contour.bounds();
        let shifted = contour.moved(|point| point - DVec2::new(low.x, 0.0));
        let (_, high) = shifted.bounds();
        (Self { contour: shifted, length: high.x, radius: high.y }, -low.x)
    }

    /// The sides that are seen from outside, from the right end to the left.
    fn outside(&self) -> Vec<Piece> {
        let pieces: Vec<Piece> = self.contour.pieces().collect();
        let count = pieces.len();
        let at_right = |piece: &Piece| (piece.from.x - self.length).abs() < SAME;
        // Counter-clockwise the inside comes first: the outside begins at the innermost corner of the right end.
        let start = pieces
            .iter()
            .enumerate()
            .filter(|(_, piece)| at_right(piece))
            .min_by(|a, b| a.1.from.y.total_cmp(&b.1.from.y))
            .map_or(0, |(index, _)| index);
        let turned = pieces.iter().cycle().skip(start).take(count);
        let mut outside: Vec<Piece> = Vec::new();
        for piece in turned {
            outside.push(*piece);
            // The left end is reached at its outermost corner.
            if piece.to.x.abs() < SAME {
                break;
            }
        }
        outside
    }

    /// The outside as an open line.
    pub fn silhouette(&self) -> Contour {
        let outside = self.outside();
        let mut vertices: Vec<Vertex> =
            outside.iter().map(|piece| Vertex { at: piece.from, bulge: piece.bulge }).collect();
        vertices.extend(outside.last().map(|piece| Vertex { at: piece.to, bulge: 0.0 }));
        Contour { vertices, closed: false }
    }

    /// Every edge that runs round the body, inside and out.
    pub fn edges(&self) -> Vec<Edge> {
        let outer = self.outside();
        let on_outside = |point: DVec2| {
            outer
                .iter()
                .any(|piece| piece.from.distance(point) < SAME || piece.to.distance(point) < SAME)
        };
        let pieces: Vec<Piece> = self.contour.pieces().collect();
        pieces
            .iter()
            .zip(pieces.iter().cycle().skip(1))
            .filter(|(piece, _)| piece.to.y > SAME)
            .filter(|(piece, next)| {
                let (from, to) = (piece.direction(true), next.direction(false));
                libm::atan2(from.perp_dot(to), from.dot(to)).abs() > EDGE
            })
            .map(|(piece, _)| {
                // The innermost corner of each end belongs to the hole.
                let end = piece.to.x < SAME || piece.to.x > self.length - SAME;
                let inner = end
                    && self
                        .hole_at(piece.to.x)
                        .is_some_and(|hole| (hole - piece.to.y).abs() < SAME);
                Edge { x: piece.to.x, radius: piece.to.y, outside: on_outside(piece.to) && !inner }
            })
            .collect()
    }

    /// Radius of the hole at an end; none where the body is solid to its axis.
    pub fn hole_at(&self, x: f64) -> Option<f64> {
        let least = self
            .contour
            .vertices
            .iter()
            .filter(|vertex| (vertex.at.x - x).abs() < SAME)
            .map(|vertex| vertex.at.y)
            .fold(f64::INFINITY, f64::min);
        (least > SAME && least.is_finite()).then_some(least)
    }

    /// Places along the axis where the bore steps.
    pub fn steps(&self) -> Vec<f64> {
        let inner = |edge: &Edge| !edge.outside && edge.x > SAME && edge.x < self.length - SAME;
        let mut steps: Vec<f64> =
            self.edges().iter().filter(|edge| inner(edge)).map(|edge| edge.x).collect();
        steps.sort_by(f64::total_cmp);
        steps.dedup_by(|a, b| (*a - *b).abs() < SAME);
        steps
    }

    /// Radius of the bore at a place along the axis: at a step, on its right side with `right`, else on its left.
    pub fn bore_at(&self, x: f64, right: bool) -> Option<f64> {
        let probe = x + if right { SAME } else { -SAME };
        let inner = self.contour.pieces().filter(|piece| piece.from.x < piece.to.x);
        let piece = inner.into_iter().find(|piece| piece.from.x <= probe && probe <= piece.to.x)?;
        // The bore grows steadily along x, so the place is found by halving.
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if piece.point(middle).x < x { low = middle } else { high = middle }
        }
        Some(piece.point(f64::midpoint(low, high)).y)
    }

    /// Radii of the circles that are seen in the end view on the right, largest outside first.
    pub fn circles(&self, projection: Projection) -> Vec<f64> {
        let mut edges = self.edges();
        // From the eye away: in first angle it looks from the left.
        edges.sort_by(|a, b| match projection {
            Projection::FirstAngle => a.x.total_cmp(&b.x),
            Projection::ThirdAngle => b.x.total_cmp(&a.x),
        });
        // Seen against each other at one depth, nothing hides anything.
        let mut seen: Vec<f64> = Vec::new();
        let (mut widest, mut narrowest) = (0.0_f64, f64::INFINITY);
        let mut rest = edges.as_slice();
        while let Some(first) = rest.first() {
            let depth = rest.iter().take_while(|edge| (edge.x - first.x).abs() < SAME).count();
            let (here, further) = rest.split_at(depth);
            for edge in here {
                let visible = if edge.outside {
                    edge.radius > widest + SAME
                } else {
                    edge.radius < narrowest - SAME
                };
                if visible {
                    seen.push(edge.radius);
                }
            }
            for edge in here {
                if edge.outside {
                    widest = widest.max(edge.radius);
                } else {
                    narrowest = narrowest.min(edge.radius);
                }
            }
            rest = further;
        }
        seen.sort_by(|a, b| b.total_cmp(a));
        seen.dedup_by(|a, b| (*a - *b).abs() < SAME);
        seen
    }
}

/// The threaded end of a screw as it is modelled: where it begins, its radius, and where its point begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScrewEnd {
    pub start: f64,
    pub radius: f64,
    pub point: f64,
}

impl Profile {
    /// The last edge round the outside at a radius; the right end of what is so thick.
    pub fn last_outside_edge(&self, radius: f64) -> f64 {
        let edges = self.edges();
        let there = edges.iter().filter(|edge| edge.outside && (edge.radius - radius).abs() < SAME);
        there.map(|edge| edge.x).fold(0.0, f64::max)
    }

    /// The last cylinder before the pointed right end.
    pub fn screw_end(&self) -> Option<ScrewEnd> {
        let level =
            |piece: &&Piece| (piece.from.y - piece.to.y).abs() < SAME && piece.from.y > SAME;
        let outside = self.outside();
        let last = outside.iter().find(level)?;
        Some(ScrewEnd { start: last.to.x, radius: last.to.y, point: last.from.x })
    }
}
