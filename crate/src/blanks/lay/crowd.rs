//! Laying pieces clear of each other: overlap is measured, and driven to nothing.
//!
//! What two pieces overlap by is the sum of the squares by which points along the outline of either come nearer to the
//! other than the spacing, from distance fields. A piece that overlaps is tried at many places and angles, by few of the
//! points: anywhere, near where it lies, and nested beside others. The best few places slide downhill on that measure by half
//! of them, the best of those by all, and it goes where it overlaps least; then all pieces part a little at once. Pairs that
//! stay in each other's way weigh more and more, so that a piece leaves a hollow that another needs (guided local search:
//! Voudouris & Tsang, European Journal of Operational Research 113, 1999; for nesting first in Egeblad, Nielsen & Odgaard,
//! the same journal 183, 2007).

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use super::ground::Ground;
use super::nests::Nests;
use super::shape::{ALL, FEW, HALF, Samples, Shape, apart};

/// Places a piece is tried at: all over the sheet, near where it lies, and nested beside others.
const ANYWHERE: usize = 20;
const NEARBY: usize = 20;
const BESIDE: usize = 30;

/// How far from where it lies a place is near: along each way, mm, and about its middle, radians.
const NEAR: (f64, f64) = (15.0, 0.3);

/// The best places of which a piece slides downhill, and steps of such a slide at most; then steps of the last, from the best.
/// More of any find better places, and cost more rounds than that is worth.
const SLIDING: usize = 3;
const QUICK: usize = 6;
const STEPS: usize = 10;

/// Steps in which all pieces part at once, and the first of them and the longest, mm for each mm² that a millimetre is worth.
const PARTING: usize = 20;
const FIRST: f64 = 0.05;
const LONGEST: f64 = 0.5;

/// A pair that overlaps gains weight: by the first at least, by the second if it overlaps most; one that does not loses some.
const GROWTH: (f64, f64) = (1.2, 2.0);
const FADING: f64 = 0.95;

/// An overlap below this is none, mm².
const NONE: f64 = 1e-4;

/// What outlines that cross are taken to be short by at least, mm.
const HAIR: f64 = 0.01;

/// By how much exact distances may fall short of the spacing and be mended by asking for more, mm.
const MENDED: f64 = 0.3;

/// Which angles pieces may lie at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turning {
    Any,
    /// Along the grain of the sheet: as drawn, or turned half round.
    Grain,
}

/// How pieces may be laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// Between pieces, mm.
    pub spacing: f64,
    /// To the border of the sheet, mm.
    pub margin: f64,
    pub turning: Turning,
}

/// What may be laid: every shape, and of each the one that is its mirror image, if the sheet may be turned over for it.
#[derive(Clone, Debug)]
pub struct Shapes {
    pub all: Vec<Shape>,
    pub mirrors: Vec<Option<usize>>,
}

/// Where a piece lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    pub shape: usize,
    /// Of the middle of the shape's box, mm.
    pub at: DVec2,
    /// Counter-clockwise, radians.
    pub angle: f64,
}

impl Place {
    pub(super) fn posed(&self) -> Posed {
        let (sin, cos) = libm::sincos(self.angle);
        Posed { at: self.at, turn: DVec2::new(cos, sin) }
    }

    /// Where a point of the shape lies.
    #[must_use]
    pub fn forth(&self, point: DVec2) -> DVec2 {
        self.posed().forth(point)
    }
}

/// A place with its turn worked out.
#[derive(Clone, Copy)]
pub(super) struct Posed {
    at: DVec2,
    turn: DVec2,
}

impl Posed {
    pub(super) fn forth(&self, point: DVec2) -> DVec2 {
        self.at + self.turn.rotate(point)
    }

    /// A point of the sheet as the piece that stands here sees it.
    pub(super) fn back(&self, point: DVec2) -> DVec2 {
        DVec2::new(self.turn.x, -self.turn.y).rotate(point - self.at)
    }

    /// The same place as seen from another one: turns and moves a point of this piece into the frame of that.
    pub(super) fn seen_from(&self, other: &Self) -> Self {
        let back = DVec2::new(other.turn.x, -other.turn.y);
        Self { at: other.back(self.at), turn: back.rotate(self.turn) }
    }

    /// Whether the upright box of a piece that stands here comes nearer than `room` to that of one at the origin (by the axes
    /// of both that could part them: Gottschalk, Lin & Manocha, "OBBTree", SIGGRAPH 1996). Boxes are given by half their sizes.
    pub(super) fn boxes_meet(&self, own: DVec2, other: DVec2, room: f64) -> bool {
        let turn = self.turn.abs();
        let across = |half: DVec2| {
            DVec2::new(turn.x * half.x + turn.y * half.y, turn.y * half.x + turn.x * half.y)
        };
        let here = self.at.abs();
        let there = DVec2::new(self.turn.dot(self.at), self.turn.perp_dot(self.at)).abs();
        here.cmple(other + across(own) + room).all()
            && there.cmple(own + across(other) + room).all()
    }
}

/// How an overlap changes with a piece's place (mm) and angle (radians).
#[derive(Clone, Copy, Default)]
struct Slope {
    at: DVec2,
    angle: f64,
}

impl Slope {
    /// A point of the piece, `arm` from its middle, is pulled.
    fn pull(&mut self, arm: DVec2, by: DVec2) {
        self.at += by;
        self.angle += arm.perp_dot(by);
    }
}

/// Pieces on a sheet, perhaps in each other's way.
#[derive(Clone, Debug)]
pub struct Crowd {
    pub ground: Ground,
    pub places: Vec<Place>,
    rules: Rules,
    /// Spacing and margin that are aimed at: a little more than asked for where fields say too much.
    aimed: (f64, f64),
    /// Of each piece with each other, and last with the border.
    weights: Vec<f64>,
    random: fastrand::Rng,
}

impl Crowd {
    /// Pieces at places to begin with.
    #[must_use]
    pub fn new(ground: Ground, rules: Rules, places: Vec<Place>, seed: u64) -> Self {
        let weights = vec![1.0; (places.len() + 1) * (places.len() + 1)];
        let aimed = (rules.spacing, rules.margin);
        Self { ground, places, rules, aimed, weights, random: fastrand::Rng::with_seed(seed) }
    }

    /// A place anywhere on a sheet.
    pub fn anywhere(
        shapes: &Shapes,
        ground: &Ground,
        turning: Turning,
        shape: usize,
        random: &mut fastrand::Rng,
    ) -> Place {
        let (low, high) = ground.bounds();
        let at = low + (high - low) * DVec2::new(random.f64(), random.f64());
        let mirror = shapes.mirrors.get(shape).copied().flatten();
        let shape = mirror.filter(|_| random.bool()).unwrap_or(shape);
        let angle = match turning {
            Turning::Any => random.f64() * TAU,
            Turning::Grain => PI * f64::from(u8::from(random.bool())),
        };
        Place { shape, at, angle }
    }

    /// One round: every piece that is in the way is moved once. Whether all lie clear after it, exactly.
    pub fn round(&mut self, shapes: &Shapes, nests: &Nests) -> bool {
        let mut crowded: Vec<usize> = self
            .overlaps(shapes)
            .iter()
            .flat_map(|&(one, other, _)| [one, other])
            .filter(|&piece| piece < self.places.len())
            .collect();
        crowded.sort_unstable();
        crowded.dedup();
        // Fisher & Yates. The generator's own numbers of the machine's width are others where that is 32 bits.
        for last in (1..crowded.len()).rev() {
            crowded.swap(last, below(&mut self.random, last + 1));
        }
        for piece in crowded {
            self.relocate(shapes, nests, piece);
        }
        self.part(shapes);
        let left = self.overlaps(shapes);
        self.weigh(&left);
        left.is_empty() && self.is_clear(shapes)
    }

    /// Whether the pieces lie clear once all have moved a little at once.
    pub fn parts(&mut self, shapes: &Shapes) -> bool {
        self.part(shapes);
        self.overlaps(shapes).is_empty() && self.is_clear(shapes)
    }

    /// Sum of what is left of overlaps, mm².
    #[must_use]
    pub fn crowding(&self, shapes: &Shapes) -> f64 {
        self.overlaps(shapes).iter().map(|overlap| overlap.2).sum()
    }

    fn weigh(&mut self, left: &[(usize, usize, f64)]) {
        let worst = left.iter().map(|overlap| overlap.2).fold(0.0, f64::max);
        let count = self.places.len() + 1;
        for weight in &mut self.weights {
            *weight = (*weight * FADING).max(1.0);
        }
        for &(one, other, overlap) in left {
            let growth = GROWTH.0 + (GROWTH.1 - GROWTH.0) * overlap / worst.max(NONE);
            for at in [one * count + other, other * count + one] {
                if let Some(weight) = self.weights.get_mut(at) {
                    *weight *= growth / FADING;
                }
            }
        }
    }

    /// Whether all pieces keep their distance, by their outlines and not by fields. Where a hair is missing, more is aimed at.
    fn is_clear(&mut self, shapes: &Shapes) -> bool {
        let rings: Vec<Vec<DVec2>> = self.places.iter().map(|place| laid(shapes, place)).collect();
        let mut short: (f64, f64) = (0.0, 0.0);
        for (i, ring) in rings.iter().enumerate() {
            for &corner in ring {
                short.1 = short.1.max(self.rules.margin - self.ground.exactly_inside(corner));
            }
            if let Ground::Offcut { border, holes, .. } = &self.ground {
                for edge in holes.iter().chain([border]) {
                    short.1 = short.1.max(missing(
                        self.rules.margin,
                        apart(ring, edge, self.rules.margin + HAIR),
                    ));
                }
            }
            for (j, other) in rings.iter().enumerate().skip(i + 1) {
                if self.near(shapes, i, j) {
                    short.0 = short.0.max(missing(
                        self.rules.spacing,
                        apart(ring, other, self.rules.spacing + HAIR),
                    ));
                }
            }
        }
        if short.0 <= 0.0 && short.1 <= 0.0 {
            return true;
        }
        let most = (self.rules.spacing + MENDED, self.rules.margin + MENDED);
        self.aimed.0 = (self.aimed.0 + short.0.max(0.0) * 1.2).min(most.0);
        self.aimed.1 = (self.aimed.1 + short.1.max(0.0) * 1.2).min(most.1);
        false
    }

    fn near(&self, shapes: &Shapes, one: usize, other: usize) -> bool {
        let (a, b) = (&self.places[one], &self.places[other]);
        let reach = shapes.all[a.shape].reach + shapes.all[b.shape].reach + self.aimed.0;
        a.at.distance_squared(b.at) < reach * reach
    }

    /// Every pair that is in each other's way, and every piece that is in the way of the border (its partner's number is
    /// that of pieces), with the overlap.
    fn overlaps(&self, shapes: &Shapes) -> Vec<(usize, usize, f64)> {
        let count = self.places.len();
        let mut all = Vec::new();
        for (i, own) in self.places.iter().enumerate() {
            let (shape, posed) = (&shapes.all[own.shape], own.posed());
            let out =
                |point: &DVec2| (self.aimed.1 - self.ground.inside(posed.forth(*point)).0).max(0.0);
            all.push((
                i,
                count,
                shape.samples[ALL]
                    .points()
                    .map(|point| out(&point))
                    .map(|short| short * short)
                    .sum(),
            ));
            for (j, there) in self.places.iter().enumerate().skip(i + 1) {
                let (beside, standing) = (&shapes.all[there.shape], there.posed());
                let into = posed.seen_from(&standing);
                if into.boxes_meet(shape.half, beside.half, self.aimed.0) {
                    let back = standing.seen_from(&posed);
                    let both = self.into(shape, &into, beside) + self.into(beside, &back, shape);
                    all.push((i, j, both));
                }
            }
        }
        all.retain(|overlap| overlap.2 > NONE);
        all
    }

    /// How far points of one piece go into another, from whose frame it is seen.
    fn into(&self, from: &Shape, seen: &Posed, to: &Shape) -> f64 {
        let mut sum = 0.0;
        self.each_short(&from.samples[ALL], seen, to, |_, short, _| sum += short * short);
        sum
    }

    /// What a piece at a place is in the way by, weighted: of all that it has been looked into once it is more than
    /// `enough`. `level` says how many of the points are asked.
    fn overlap(
        &self,
        shapes: &Shapes,
        piece: usize,
        place: &Place,
        level: usize,
        enough: f64,
        mut slope: Option<&mut Slope>,
    ) -> f64 {
        let (shape, posed) = (&shapes.all[place.shape], place.posed());
        let count = self.places.len();
        let own = &shape.samples[level];
        let weight_with =
            |other: usize| self.weights.get(piece * (count + 1) + other).copied().unwrap_or(1.0);
        let mut sum = 0.0;
        let weight = weight_with(count) * own.share;
        for point in own.points() {
            let arm = posed.turn.rotate(point);
            let (inside, grows) = self.ground.inside(posed.at + arm);
            let short = self.aimed.1 - inside;
            if short > 0.0 {
                sum += weight * short * short;
                if let Some(slope) = slope.as_deref_mut() {
                    slope.pull(arm, grows * (-2.0 * weight * short));
                }
            }
        }
        for (other, there) in self.places.iter().enumerate() {
            if sum > enough {
                break;
            }
            let beside = &shapes.all[there.shape];
            let reach = shape.reach + beside.reach + self.aimed.0;
            if other == piece || there.at.distance_squared(place.at) > reach * reach {
                continue;
            }
            let standing = there.posed();
            let into = posed.seen_from(&standing);
            if !into.boxes_meet(shape.half, beside.half, self.aimed.0) {
                continue;
            }
            let back = standing.seen_from(&posed);
            let weight = weight_with(other);
            let each = weight * own.share;
            self.each_short(own, &into, beside, |point, short, grows| {
                sum += each * short * short;
                if let Some(slope) = slope.as_deref_mut() {
                    let arm = posed.turn.rotate(point);
                    slope.pull(arm, standing.turn.rotate(grows) * (-2.0 * each * short));
                }
            });
            let theirs = &beside.samples[level];
            let each = weight * theirs.share;
            self.each_short(theirs, &back, shape, |point, short, grows| {
                sum += each * short * short;
                if let Some(slope) = slope.as_deref_mut() {
                    let pull = posed.turn.rotate(grows) * (2.0 * each * short);
                    slope.pull(standing.forth(point) - posed.at, pull);
                }
            });
        }
        sum
    }

    /// Asks points of one piece, which stands so as seen from another, for how much they come too near to that: of those
    /// that do, the point, by how much, and how its distance grows, each in its own piece's frame.
    #[inline]
    fn each_short(
        &self,
        from: &Samples,
        seen: &Posed,
        to: &Shape,
        mut found: impl FnMut(DVec2, f64, DVec2),
    ) {
        for stretch in &from.stretches {
            if to.is_farther(seen.forth(stretch.middle), stretch.radius + self.aimed.0) {
                continue;
            }
            for &point in &stretch.points {
                if let Some((distance, grows)) = to.field.below(seen.forth(point), self.aimed.0) {
                    found(point, self.aimed.0 - distance, grows);
                }
            }
        }
    }

    /// Moves one piece to where it is least in the way.
    fn relocate(&mut self, shapes: &Shapes, nests: &Nests, piece: usize) {
        let Some(&here) = self.places.get(piece) else { return };
        let mut best: Vec<(f64, Place)> = Vec::with_capacity(SLIDING + 1);
        let mut enough = f64::INFINITY;
        for k in 0..ANYWHERE + NEARBY + BESIDE {
            let place = if k < ANYWHERE {
                Self::anywhere(
                    shapes,
                    &self.ground,
                    self.rules.turning,
                    here.shape,
                    &mut self.random,
                )
            } else if k >= ANYWHERE + NEARBY {
                let other = below(&mut self.random, self.places.len());
                let mirror = shapes.mirrors.get(here.shape).copied().flatten();
                let shape = mirror.filter(|_| self.random.bool()).unwrap_or(here.shape);
                let there = self.places[other];
                match nests.beside(&there, shape, &mut self.random) {
                    Some(place) if other != piece => place,
                    _ => continue,
                }
            } else {
                let mut off = || 2.0 * self.random.f64() - 1.0;
                let at = here.at + DVec2::new(off(), off()) * NEAR.0;
                let turn = off() * NEAR.1;
                let angle = match self.rules.turning {
                    Turning::Any => here.angle + turn,
                    Turning::Grain => here.angle,
                };
                Place { at, angle, ..here }
            };
            let overlap = self.overlap(shapes, piece, &place, FEW, enough, None);
            if overlap < enough {
                let rank = best.partition_point(|better| better.0 <= overlap);
                best.insert(rank, (overlap, place));
                best.truncate(SLIDING);
                if let (SLIDING, Some(last)) = (best.len(), best.last()) {
                    enough = last.0;
                }
            }
        }
        let start = |place: &Place| self.overlap(shapes, piece, place, ALL, f64::INFINITY, None);
        let tried = best.iter().map(|tried| tried.1).chain([here]);
        let slid = tried.map(|place| self.slide(shapes, piece, place, HALF, QUICK));
        let Some((_, best)) = slid.min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
        let found = self.slide(shapes, piece, best, ALL, STEPS);
        if found.0 < start(&here) {
            self.places[piece] = found.1;
        }
    }

    /// Moves all pieces at once to lie less in each other's way, as far as they come without leaving their hollows: steps down the
    /// slope of what is left, as long as the last step's change of slope says (Barzilai & Borwein, IMA Journal of Numerical
    /// Analysis 8, 1988), the best of them kept.
    fn part(&mut self, shapes: &Shapes) {
        let (start, mut slopes) = self.descent(shapes, &self.places);
        let mut best = start;
        let (mut places, mut step) = (self.places.clone(), FIRST);
        for _ in 0..PARTING {
            if best < NONE {
                break;
            }
            let moved: Vec<[f64; 3]> =
                slopes.iter().map(|slope| slope.map(|by| -step * by)).collect();
            for (place, by) in places.iter_mut().zip(&moved) {
                place.at += DVec2::new(by[0], by[1]);
                place.angle += by[2] / Self::arm(&shapes.all[place.shape]);
            }
            let (now, then) = self.descent(shapes, &places);
            let (mut square, mut change) = (0.0, 0.0);
            for ((by, slope), before) in moved.iter().zip(&then).zip(&slopes) {
                for k in 0..3 {
                    square += by[k] * by[k];
                    change += by[k] * (slope[k] - before[k]);
                }
            }
            if now < best {
                best = now;
                self.places.clone_from(&places);
            }
            step = if change > 1e-12 { (square / change).min(LONGEST) } else { LONGEST };
            slopes = then;
        }
    }

    /// Angles count by how far they move the ends of a piece: the arm they do it by, mm.
    fn arm(shape: &Shape) -> f64 {
        shape.reach.max(1.0) * 0.6
    }

    /// What all pieces are in each other's way by, and how that grows with each one's place along x and y and with its
    /// angle times its arm.
    fn descent(&self, shapes: &Shapes, places: &[Place]) -> (f64, Vec<[f64; 3]>) {
        let mut sum = 0.0;
        let mut slopes = vec![Slope::default(); places.len()];
        let posed: Vec<Posed> = places.iter().map(Place::posed).collect();
        for (i, own) in places.iter().enumerate() {
            let shape = &shapes.all[own.shape];
            for point in shape.samples[ALL].points() {
                let arm = posed[i].turn.rotate(point);
                let (inside, grows) = self.ground.inside(posed[i].at + arm);
                let short = self.aimed.1 - inside;
                if short > 0.0 {
                    sum += short * short;
                    slopes[i].pull(arm, grows * (-2.0 * short));
                }
            }
            for (j, there) in places.iter().enumerate().skip(i + 1) {
                let beside = &shapes.all[there.shape];
                let into = posed[i].seen_from(&posed[j]);
                if !into.boxes_meet(shape.half, beside.half, self.aimed.0) {
                    continue;
                }
                let back = posed[j].seen_from(&posed[i]);
                for (from, seen, one, other) in [(shape, into, i, j), (beside, back, j, i)] {
                    let to = if one == i { beside } else { shape };
                    self.each_short(&from.samples[ALL], &seen, to, |point, short, grows| {
                        sum += short * short;
                        let arm = posed[one].turn.rotate(point);
                        let pull = posed[other].turn.rotate(grows) * (2.0 * short);
                        slopes[one].pull(arm, -pull);
                        slopes[other].pull(posed[one].at + arm - posed[other].at, pull);
                    });
                }
            }
        }
        let turns = |slope: &Slope, place: &Place| match self.rules.turning {
            Turning::Any => slope.angle / Self::arm(&shapes.all[place.shape]),
            Turning::Grain => 0.0,
        };
        let slopes = slopes.iter().zip(places);
        let slopes =
            slopes.map(|(slope, place)| [slope.at.x, slope.at.y, turns(slope, place)]).collect();
        (sum, slopes)
    }

    /// Slides a piece downhill: what it is in the way by then, and where it lies.
    fn slide(
        &self,
        shapes: &Shapes,
        piece: usize,
        mut place: Place,
        level: usize,
        steps: usize,
    ) -> (f64, Place) {
        let arm = Self::arm(&shapes.all[place.shape]);
        let full = |place: &Place, slope: &mut Slope| {
            *slope = Slope::default();
            self.overlap(shapes, piece, place, level, f64::INFINITY, Some(slope))
        };
        let mut slope = Slope::default();
        let mut now = full(&place, &mut slope);
        let mut step = 1.0;
        for _ in 0..steps {
            let turn = match self.rules.turning {
                Turning::Any => slope.angle / arm,
                Turning::Grain => 0.0,
            };
            let steepness = slope.at.length_squared() + turn * turn;
            if now < NONE || steepness < 1e-18 || step < 1e-3 {
                break;
            }
            let scale = step / steepness.sqrt();
            let tried = Place {
                at: place.at - slope.at * scale,
                angle: place.angle - turn * scale / arm,
                ..place
            };
            let mut then_slope = Slope::default();
            let then = full(&tried, &mut then_slope);
            if then < now {
                (place, now, slope) = (tried, then, then_slope);
                step *= 1.6;
            } else {
                step *= 0.4;
            }
        }
        (now, place)
    }
}

/// A number below `end`, which is not nothing: the same on machines of any width.
pub(super) fn below(random: &mut fastrand::Rng, end: usize) -> usize {
    random.u64(0..end as u64) as usize
}

/// What a distance is short of what is asked. Outlines that cross or touch are 0 apart, and even where nothing is asked
/// they must not: they count as short by a hair.
fn missing(asked: f64, apart: f64) -> f64 {
    (asked - apart).max(if apart > 0.0 { 0.0 } else { HAIR })
}

/// The outline of a piece where it lies.
#[must_use]
pub fn laid(shapes: &Shapes, place: &Place) -> Vec<DVec2> {
    let posed = place.posed();
    shapes.all[place.shape].outline.iter().map(|&corner| posed.forth(corner)).collect()
}
