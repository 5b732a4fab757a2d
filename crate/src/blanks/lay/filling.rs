//! Pieces put on a sheet one by one, each where it touches most of what lies there already.
//!
//! A piece is tried beside every piece that lies, as two of them nest, and along the walls. Of the places where it is clear it
//! takes the one with most of its outline near others or the border (the touching perimeter of Lodi, Martello & Vigo, INFORMS
//! Journal on Computing 11, 1999), as far as the lay gets no longer by it. That is a lay at once, if none of the best.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use super::crowd::{Place, Posed, Rules, Shapes, Turning, laid as laid_out};
use super::ground::Ground;
use super::nests::Nests;
use super::shape::{ALL, HALF, Shape, bounds};

/// A point touches what is at most so much farther than asked, mm.
const TOUCH: f64 = 2.5;

/// Angles a piece is tried at along the walls, and steps in which it is brought up from the right: the first, mm, and how often it
/// is halved.
const ANGLES: usize = 6;
const NEARER: f64 = 16.0;
const HALVED: usize = 5;

/// By how much of its outline's points chance makes a place better than it is, at most.
const CHANCE: f64 = 0.25;

/// What keeps a piece at a wall clear of it though its corners are rounded, mm.
const ROUNDING: f64 = 1e-6;

/// A piece is tried beside so many of those put in last, so that many pieces take no longer each than few.
const LAST: usize = 24;

/// What pieces are put on.
#[derive(Clone, Copy, Debug)]
pub struct Filling<'a> {
    pub shapes: &'a Shapes,
    pub nests: &'a Nests,
    pub ground: &'a Ground,
    pub rules: Rules,
    /// How long the lay should be at most, mm.
    pub length: f64,
}

/// A piece that lies, as others see it.
struct Standing<'a> {
    shape: &'a Shape,
    posed: Posed,
}

impl Filling<'_> {
    /// Puts in one piece after the other; whether all found a place. The first that finds none ends it.
    pub fn put_in(
        &self,
        laid: &mut Vec<Place>,
        pieces: &[usize],
        random: &mut fastrand::Rng,
    ) -> bool {
        for &shape in pieces {
            let Some(place) = self.best_place(laid, shape, random) else { return false };
            laid.push(place);
        }
        true
    }

    /// The best of the places tried for a shape or its mirror image.
    fn best_place(
        &self,
        laid: &[Place],
        shape: usize,
        random: &mut fastrand::Rng,
    ) -> Option<Place> {
        let standing: Vec<Standing> = laid
            .iter()
            .map(|place| Standing { shape: &self.shapes.all[place.shape], posed: place.posed() })
            .collect();
        let mirror = self.shapes.mirrors.get(shape).copied().flatten();
        let mut best: Option<(f64, Place)> = None;
        for shape in [Some(shape), mirror].into_iter().flatten() {
            let points = self.shapes.all[shape].samples[HALF].points().count() as f64;
            let mut weigh = |place: Place, random: &mut fastrand::Rng| {
                let Some(touching) = self.touching(&standing, &place, HALF) else { return };
                let end = bounds(&laid_out(self.shapes, &place)).1.x + self.rules.margin;
                let beyond = (end - self.length).max(0.0);
                let score = touching / points + CHANCE * random.f64()
                    - beyond / self.shapes.all[shape].reach;
                if best.is_none_or(|(most, _)| score > most)
                    && self.touching(&standing, &place, ALL).is_some()
                {
                    best = Some((score, place));
                }
            };
            for there in laid.iter().rev().take(LAST) {
                for place in self.nests.all_beside(there, shape) {
                    weigh(place, random);
                }
            }
            for _ in 0..ANGLES {
                for place in self.along_walls(&standing, shape, random) {
                    weigh(place, random);
                }
            }
        }
        best.map(|(_, place)| place)
    }

    /// Places along the lower and upper border at some angle, brought up from the right until they touch.
    fn along_walls(
        &self,
        standing: &[Standing],
        shape: usize,
        random: &mut fastrand::Rng,
    ) -> Vec<Place> {
        let angle = match self.rules.turning {
            Turning::Any => random.f64() * TAU,
            Turning::Grain => PI * f64::from(u8::from(random.bool())),
        };
        let place = Place { shape, at: DVec2::ZERO, angle };
        let (low, high) = bounds(&laid_out(self.shapes, &place));
        let (from, to) = self.ground.bounds();
        let margin = self.rules.margin + ROUNDING;
        let (least, most) = (from + margin - low, to - margin - high);
        if most.x < least.x || most.y < least.y {
            return Vec::new();
        }
        let start =
            standing.iter().map(|piece| piece.posed.forth(DVec2::ZERO).x + piece.shape.reach);
        let start = start.fold(from.x, f64::max) + self.rules.spacing - low.x;
        let start = start.clamp(least.x, most.x);
        let mut found = Vec::with_capacity(2);
        for y in [least.y, most.y] {
            let at = |x: f64| Place { at: DVec2::new(x.max(least.x), y), ..place };
            let is_clear = |x: f64| self.touching(standing, &at(x), HALF).is_some();
            let mut x = start;
            if !is_clear(x) {
                continue;
            }
            while x > least.x && is_clear(x - NEARER) {
                x -= NEARER;
            }
            let mut step = NEARER / 2.0;
            for _ in 0..HALVED {
                if x > least.x && is_clear(x - step) {
                    x -= step;
                }
                step /= 2.0;
            }
            found.push(at(x));
        }
        found
    }

    /// How many points of a piece touch others and the border; `None` where it is not clear of them.
    fn touching(&self, standing: &[Standing], place: &Place, level: usize) -> Option<f64> {
        let shape = &self.shapes.all[place.shape];
        let posed = place.posed();
        let own = &shape.samples[level];
        let (spacing, margin) = (self.rules.spacing, self.rules.margin);
        let mut touching = 0.0;
        for point in own.points() {
            let inside = self.ground.inside(posed.forth(point)).0;
            if inside < margin {
                return None;
            }
            if inside < margin + TOUCH {
                touching += 1.0;
            }
        }
        let room = spacing + TOUCH;
        for other in standing {
            let into = posed.seen_from(&other.posed);
            if !into.boxes_meet(shape.half, other.shape.half, room) {
                continue;
            }
            let back = other.posed.seen_from(&posed);
            let theirs = &other.shape.samples[level];
            for (from, seen, to) in [(own, into, other.shape), (theirs, back, shape)] {
                for stretch in &from.stretches {
                    if to.is_farther(seen.forth(stretch.middle), stretch.radius + room) {
                        continue;
                    }
                    for &point in &stretch.points {
                        if let Some((distance, _)) = to.field.below(seen.forth(point), room) {
                            if distance < spacing {
                                return None;
                            }
                            touching += 0.5;
                        }
                    }
                }
            }
        }
        Some(touching)
    }
}
