//! Swept surfaces of revolution about the centreline: the bore, and what is offset from it.

use glam::{DVec2, DVec3};

use crate::geometry::cubic::Cubic;
use crate::geometry::neck::Neck;
use crate::geometry::order::Order;

use super::CarriedOn;
use super::track::{Mark, Section, Track, View};

/// Steps of a minimisation over the station before giving up; two or three are usual.
const STEPS: usize = 12;

/// A step of station below this ends a minimisation, mm: the distance is then right to the
/// step's square over twice the distance.
const STILL: f64 = 1e-8;

/// The bore radius along a track.
#[derive(Clone, Debug)]
pub(super) struct Skin {
    pub track: Track,
    /// The radius along each span.
    radius: Vec<Cubic<f64>>,
}

/// The shape of a section as the minimisation over the station needs it: distance from the
/// shadow of a point to the section's boundary.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    /// Negative inside.
    pub distance: f64,
    pub foot: DVec2,
    /// Unit direction in which the distance grows.
    pub out: DVec2,
    /// How fast the boundary moves along `out`, per mm of station.
    pub growth: f64,
    pub face: u32,
    /// What stands out before this part of the boundary carried on is, in this section, at
    /// least this far away.
    pub others: f64,
}

/// The nearest point over all stations.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub distance: f64,
    pub foot: DVec3,
    pub edge: Edge,
    pub mark: Mark,
    /// The foot lies inside an end face, not on its boundary.
    pub on_end: bool,
}

impl Reach {
    /// Distance and slope with the sign of the section's own distance.
    pub fn signed(&self, point: DVec3) -> CarriedOn {
        let sign = if self.edge.distance < 0.0 { -1.0 } else { 1.0 };
        // Without distance there is no direction; whoever asks does without.
        let slope = if self.distance > 1e-9 {
            (point - self.foot) * (sign / self.distance)
        } else {
            DVec3::ZERO
        };
        CarriedOn { distance: self.distance * sign, slope }
    }
}

/// Marks for the track of a body between two stations: every station where a law changes.
pub(super) fn marks(neck: &Neck, from: f64, to: f64, more: &[f64]) -> Vec<f64> {
    let (mut all, jumps) = neck.breaks(from, to);
    all.extend(jumps);
    all.extend(more.iter().filter(|s| **s > from && **s < to));
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    all
}

impl Skin {
    pub fn new(neck: &Neck, from: f64, to: f64) -> Self {
        let track = Track::new(&neck.centreline, &marks(neck, from, to, &[]), f64::INFINITY);
        let radius = (0..track.span_count())
            .map(|index| {
                let (start, length) = track.span(index);
                // A hair inside, so that the law of this span and not its neighbour's is read.
                let (r0, m0) = neck.bore.radius_slope(start + 1e-9);
                let (r1, m1) = neck.bore.radius_slope(start + length - 1e-9);
                Cubic::between(r0, m0, r1, m1, length)
            })
            .collect();
        Self { track, radius }
    }

    /// Bore radius and its slope.
    pub fn radius(&self, mark: Mark) -> (f64, f64) {
        let cubic = self.radius.get(mark.span).copied().unwrap_or_default();
        let share = self.track.share(mark);
        (cubic.value(share), cubic.slope(share))
    }

    /// Distance from a shadow to the circle of bore radius plus `offset`, positive outside it.
    pub fn circle(&self, mark: Mark, flat: DVec2, offset: f64) -> Edge {
        let (bore, slope) = self.radius(mark);
        let radius = bore + offset;
        let length = flat.length();
        let out = if length > 1e-12 { flat / length } else { DVec2::Y };
        Edge {
            distance: length - radius,
            foot: out * radius,
            out,
            growth: slope,
            face: 0,
            others: f64::INFINITY,
        }
    }

    /// Distance to the surface `offset` over the bore, carried on as a straight cone beyond both
    /// ends of the track; positive outside it.
    pub fn carried_on(&self, point: DVec3, near: Mark, offset: f64) -> CarriedOn {
        let (mark, section, view) = self.track.foot(point, near);
        if view.height.abs() > 1e-9 {
            let edge = self.circle(mark, view.flat, offset);
            let cosine = 1.0 / (1.0 + edge.growth * edge.growth).sqrt();
            return CarriedOn {
                distance: (edge.distance - edge.growth * view.height) * cosine,
                slope: section.direction(-edge.growth * cosine, edge.out * cosine),
            };
        }
        descend(&self.track, point, mark, true, |mark, flat| self.circle(mark, flat, offset))
            .signed(point)
    }

    /// Height of a point over the surface in its own section, with the direction in which it
    /// grows fastest (not of unit length), for points beside the track.
    pub fn level(&self, point: DVec3, mark: Mark, offset: f64) -> (f64, DVec3, Mark) {
        let (mark, section, view) = self.track.foot(point, mark);
        let edge = self.circle(mark, view.flat, offset);
        let along = -edge.growth / view.stretch.greater(0.05);
        (edge.distance, section.direction(along, edge.out), mark)
    }
}

/// Least distance from a point to the boundaries of a body's sections, over the stations.
///
/// At a station the squared distance is height over the plane squared plus distance in the
/// plane squared. Gauss-Newton on both from `start`; the radius' slope moves the station a
/// little off the foot on the centreline, bends and joints do the rest. With `inside` the
/// point is in the metal and its distance to the boundary counts; else being within the
/// section counts as no distance, so that the flat ends are found too.
pub(super) fn descend(
    track: &Track,
    point: DVec3,
    start: Mark,
    inside: bool,
    measure: impl Fn(Mark, DVec2) -> Edge,
) -> Reach {
    let mut mark = start;
    let mut best: Option<Reach> = None;
    for _ in 0..STEPS {
        let section = track.section(mark);
        let view = section.view(point);
        let edge = measure(mark, view.flat);
        let gap = if inside { edge.distance } else { edge.distance.greater(0.0) };
        let reach = reach(&section, view, edge, mark, gap, !inside && edge.distance <= 0.0);
        let better = best.as_ref().is_none_or(|best| reach.distance < best.distance);
        if better {
            best = Some(reach);
        }
        let fall = if gap == 0.0 { 0.0 } else { edge.out.y * view.drift - edge.growth };
        let curve = view.stretch * view.stretch + fall * fall;
        let step = (view.height * view.stretch - gap * fall) / curve.greater(0.01);
        if step.abs() < if better { STILL } else { 1e-5 } {
            break;
        }
        let next = track.moved(mark, step);
        if next == mark {
            break;
        }
        // Past the best: halve the way back rather than run round in a ring.
        mark = match &best {
            Some(best) if !better => {
                track.moved(best.mark, (track.station(mark) - track.station(best.mark)) / 2.0)
            }
            _ => next,
        };
    }
    best.unwrap_or_else(|| {
        let section = track.section(start);
        let view = section.view(point);
        let edge = measure(start, view.flat);
        reach(&section, view, edge, start, edge.distance, false)
    })
}

fn reach(section: &Section, view: View, edge: Edge, mark: Mark, gap: f64, on_end: bool) -> Reach {
    Reach {
        distance: (view.height * view.height + gap * gap).sqrt(),
        foot: section.point(if on_end { view.flat } else { edge.foot }),
        edge,
        mark,
        on_end,
    }
}

/// Distance from a point to a flat end face.
pub(super) fn end_face(
    track: &Track,
    point: DVec3,
    mark: Mark,
    measure: impl Fn(Mark, DVec2) -> Edge,
) -> Reach {
    let section = track.section(mark);
    let view = section.view(point);
    let edge = measure(mark, view.flat);
    reach(&section, view, edge, mark, edge.distance.greater(0.0), edge.distance <= 0.0)
}
