//! How two pieces lie into each other's hollows: places of one beside the other at which least metal between them is lost.

use std::f64::consts::TAU;

use glam::DVec2;

use super::crowd::{Place, Rules, Shapes, Turning, below};
use super::shape::{ALL, FEW, Shape};

/// Turns of one piece against the other, and directions it is brought up from, that are tried all round.
const TURNS: u32 = 24;
const WAYS: u32 = 32;

/// How near it is brought step by step, mm, and how often the last step is halved.
const NEARER: f64 = 4.0;
const HALVED: usize = 6;

/// Nests keep so much more than the spacing, mm: between the points that are asked an outline comes nearer by nearly that.
pub(super) const SPARE: f64 = 0.1;

/// So many places are kept, the best; two of them are as good as one if nearer than this, mm and radians.
const KEPT: usize = 40;
const ALIKE: (f64, f64) = (8.0, 0.2);

/// With more shapes than this only nests of a shape beside itself and its mirror image are looked for: each takes a while.
const ALL_WITH_ALL: usize = 8;

/// Nests of shapes beside each other.
#[derive(Clone, Debug)]
pub struct Nests {
    /// Places of the second as seen from the first, by first and second.
    all: Vec<Vec<Place>>,
    count: usize,
}

impl Nests {
    /// Nests of these shapes, at the distance asked for.
    #[must_use]
    pub fn of(shapes: &Shapes, rules: Rules) -> Self {
        let count = shapes.all.len();
        let mut all = Vec::with_capacity(count * count);
        for (own, first) in shapes.all.iter().enumerate() {
            let mirror = shapes.mirrors.get(own).copied().flatten();
            for (number, second) in shapes.all.iter().enumerate() {
                let wanted = count <= ALL_WITH_ALL || number == own || mirror == Some(number);
                all.push(if wanted { nests(first, second, number, rules) } else { Vec::new() });
            }
        }
        Self { all, count }
    }

    /// All places of a shape beside a piece.
    pub(super) fn all_beside(&self, there: &Place, shape: usize) -> impl Iterator<Item = Place> {
        let nests = self.all.get(there.shape * self.count + shape).into_iter().flatten();
        nests.map(|nest| beside(there, nest))
    }

    /// A place of a shape beside a piece, better ones sooner.
    pub(super) fn beside(
        &self,
        there: &Place,
        shape: usize,
        random: &mut fastrand::Rng,
    ) -> Option<Place> {
        let nests = self.all.get(there.shape * self.count + shape)?;
        let upto = below(random, nests.len().max(1)) + 1;
        let nest = nests.get(below(random, upto))?;
        Some(beside(there, nest))
    }
}

/// The place that is a nest beside a piece.
fn beside(there: &Place, nest: &Place) -> Place {
    Place { shape: nest.shape, at: there.forth(nest.at), angle: there.angle + nest.angle }
}

fn nests(first: &Shape, second: &Shape, number: usize, rules: Rules) -> Vec<Place> {
    let turns = match rules.turning {
        Turning::Any => TURNS,
        Turning::Grain => 2,
    };
    let mut found = Vec::new();
    for turn in 0..turns {
        let angle = TAU * f64::from(turn) / f64::from(turns);
        for way in 0..WAYS {
            let (sin, cos) = libm::sincos(TAU * f64::from(way) / f64::from(WAYS));
            let at = brought_up(
                first,
                second,
                number,
                angle,
                DVec2::new(cos, sin),
                rules.spacing + SPARE,
            );
            found.push((lost(first, second, &at), at));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<Place> = Vec::with_capacity(KEPT);
    for (_, place) in found {
        let alike = |other: &Place| {
            let turn = (other.angle - place.angle).rem_euclid(TAU);
            other.at.distance(place.at) < ALIKE.0 && turn.min(TAU - turn) < ALIKE.1
        };
        if kept.len() < KEPT && !kept.iter().any(alike) {
            kept.push(place);
        }
    }
    kept
}

/// The second piece brought up to the first from one side, until it would come too near.
fn brought_up(
    first: &Shape,
    second: &Shape,
    shape: usize,
    angle: f64,
    way: DVec2,
    spacing: f64,
) -> Place {
    let place = |far: f64| Place { shape, at: way * far, angle };
    let mut far = first.reach + second.reach + spacing;
    while far > NEARER && is_clear(first, second, &place(far - NEARER), spacing) {
        far -= NEARER;
    }
    let mut step = NEARER / 2.0;
    for _ in 0..HALVED {
        if is_clear(first, second, &place(far - step), spacing) {
            far -= step;
        }
        step /= 2.0;
    }
    place(far)
}

/// Whether the second piece keeps its distance from the first, by the points along them.
fn is_clear(first: &Shape, second: &Shape, place: &Place, spacing: f64) -> bool {
    let is_far = |shape: &Shape, point: DVec2| shape.field.below(point, spacing).is_none();
    let posed = place.posed();
    second.samples[ALL].points().all(|point| is_far(first, posed.forth(point)))
        && first.samples[ALL].points().all(|point| is_far(second, posed.back(point)))
}

/// Area that a band drawn tight round both holds, mm²: what neither fills is lost.
fn lost(first: &Shape, second: &Shape, place: &Place) -> f64 {
    let posed = place.posed();
    let there = second.samples[FEW].points().map(|point| posed.forth(point));
    banded(first.samples[FEW].points().chain(there).collect())
}

/// Area of the convex band round points (Andrew, Information Processing Letters 9, 1979), mm².
fn banded(mut points: Vec<DVec2>) -> f64 {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = &DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for &point in points {
            while let [.., a, b] = chain[..]
                && (b - a).perp_dot(point - a) <= 0.0
            {
                chain.pop();
            }
            chain.push(point);
        }
        let area: f64 = chain.windows(2).map(|pair| pair[0].perp_dot(pair[1])).sum();
        area / 2.0
    };
    chain(&mut points.iter()) + chain(&mut points.iter().rev())
}
