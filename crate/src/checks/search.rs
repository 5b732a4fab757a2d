//! The least signed distance from the surface of one body to another body.
//!
//! Branch and bound over the triangles of the surface, lowest bound first. Bounds come from
//! what is known at a triangle's corners, each where it is the best:
//!
//! * Distance never changes faster than the point moves: a value bounds a ball, three values
//!   what lies between them. This disposes of what is far, but near-parallel neighbours differ
//!   by less than any ball.
//! * Distance to one smooth face, carried on beyond its edges, is a smooth function. Values and
//!   slopes at the corners give its second derivatives along the sides, and with them the least
//!   it can take, to third order. Where all metal lies behind one or another of a few faces
//!   carried on ([`DistanceField::cover`]), the least of these bounds the distance to the body,
//!   at any size of triangle and across its edges too: a cork on its tube takes a few hundred
//!   questions.
//! * Where no faces cover the body, the same holds for the face all corners look at, as far as
//!   no other metal is near (`Near::others`); or else, on triangles below [`SMALL`], slopes say
//!   how deep a valley between the corners can be.
//! * In the metal distance is lowest along ridges between two faces; there the mean of both
//!   bounds it.
//!
//! Triangles are halved on the true surface and along the true edges, so their chord does not
//! matter; a side on an edge is taken for the curve it is.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use glam::{DVec2, DVec3};

use crate::geometry::distance::{DistanceField, Faces, Near};
use crate::geometry::motion::Motion;
use crate::geometry::order::Order;
use crate::solids::mesh::EdgePiece;

use super::surface_samples::{
    Content, Corner, FARTHEST_FROM_CORNERS, SurfaceSamples, Triangle, apart_from, split,
};

/// A search that has asked so often settles for a coarser tolerance, mm, so that no shape can
/// hold up the list. The pairs of a neck take a few hundred questions, seldom two thousand. No coarser
/// than the tolerance of the least over a swing, which would otherwise never be known to be the least.
const PATIENCE: [(u32, f64); 2] = [(20_000, 1e-3), (100_000, 3e-3)];
const _: () = assert!(PATIENCE[1].1 < super::swing::TOLERANCE);

/// Longest side of a triangle on which a valley is judged across edges of the other body, mm.
/// Parts have no detail finer than this that stands proud.
const SMALL: f64 = 0.4;

/// How much the slope of distance along a side may change from corner to corner for distance to
/// be taken for a quadratic function.
const GENTLE: f64 = 0.35;

/// Triangles this small are not halved again, mm.
const SMALLEST: f64 = 1e-3;

/// Faces carried on are exact but for this, mm.
const UNSURE: f64 = 2e-6;

/// Triangles looked at for a better point at the end.
const POLISHED: usize = 4;

/// Distances below this do not give their direction, mm.
const TOUCHING: f64 = 1e-6;

/// A surface to walk over and a field to ask, each in its own frame.
#[derive(Clone, Copy)]
pub(super) struct Question<'a> {
    pub field: &'a DistanceField,
    /// Boxes round the field's body, in its frame.
    pub boxes: &'a [(DVec3, DVec3)],
    pub samples: &'a SurfaceSamples,
    /// From the frame of the samples to that of the field; none if they share it.
    pub motion: Option<&'a Motion>,
    /// Under what heading the scratch remembers field and samples.
    pub walk: Walk,
    /// A point of the surface, in the frame of the samples, that may be near the least: it is
    /// asked first, so that what is farther is put aside at once.
    pub seed: Option<DVec3>,
    /// Distances above this need not be exact.
    pub ceiling: f64,
    /// How far the reported least may lie over the true one, mm.
    pub gap_to: f64,
    /// How far a reported depth may fall short of the true one, mm.
    pub depth_to: f64,
    /// With a distance of less than this found, above or below 0, only a depth of more than
    /// this is searched for.
    pub touching: f64,
}

/// The least distance found. Points in the field's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct Least {
    /// Signed distance at `point`.
    pub distance: f64,
    /// Where on the surface.
    pub point: DVec3,
    /// The nearest point of the field's body.
    pub foot: DVec3,
    /// No point of the surface has a lower distance.
    pub bound: f64,
}

/// Whose surface is walked over, of the two bodies the scratch is turned to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Walk {
    /// The first one's, asking the second.
    First,
    Second,
    /// That of the one of the neck, asking for the room the one of the horn goes through.
    Room,
}

/// What was learned of a field and a surface in other poses. Distance never changes faster than the point moves, so a
/// distance at one place, in the frame of the field, bounds that at any other.
#[derive(Debug, Default)]
struct Learned {
    /// Distance at the centre of each ball, where it was asked last.
    balls: Vec<Known>,
    /// The same at each site.
    sites: Vec<Known>,
}

/// A distance asked before.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    /// The pair it was asked of; of another it says nothing. 0 is no pair.
    pair: u64,
    place: DVec3,
    distance: f64,
}

impl Known {
    /// Between what values the distance at a place lies; `None` if it was not asked of this pair.
    fn at(&self, place: DVec3, pair: u64) -> Option<(f64, f64)> {
        let way = self.place.distance(place);
        (self.pair == pair && pair != 0).then_some((self.distance - way, self.distance + way))
    }
}

/// Memory for searches, kept from one to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    /// Counts the pairs of bodies it was turned to.
    pair: u64,
    /// What was learned of the pair, by [`Walk`].
    learned: [Learned; 3],
    /// What is known at each site, and in which round it was asked.
    sites: Vec<(u32, Near)>,
    /// The spot of each corner, and in which round it was made.
    corners: Vec<(u32, u32)>,
    round: u32,
    spots: Vec<Spot>,
    cells: Vec<Cell>,
    heap: BinaryHeap<Entry>,
    /// Of each ball among what is to be looked into: between what values the distance of its centre lies.
    centres: Vec<(f64, f64)>,
    /// Questions put to fields since the scratch was made.
    pub questions: u64,
    /// Whether the surface of an undrilled body was walked over, which is not that of the drilled body.
    pub walked_undrilled: bool,
}

impl Scratch {
    /// What was learned of the bodies so far is not held to be true of those that follow.
    pub(super) fn turn_to_other_bodies(&mut self) {
        self.pair += 1;
    }
}

/// A point of the surface with its distance. All in the field's frame but `uv`.
#[derive(Clone, Copy, Debug)]
struct Spot {
    place: DVec3,
    /// Derivatives of the surface by its parameters.
    sides: [DVec3; 2],
    uv: DVec2,
    near: Near,
    /// Direction in which distance grows; zero where it is not known.
    slope: DVec3,
}

/// A triangle between spots.
#[derive(Clone, Copy, Debug)]
struct Cell {
    face: u32,
    spots: [u32; 3],
    sides: [Option<EdgePiece>; 3],
    /// Where the least is expected, as shares of the corners, if within the triangle.
    lowest: Option<[f64; 3]>,
}

/// How a triangle between spots reaches from its corners.
struct Extent {
    /// Directions along each side from its first and from its second corner.
    ways: [[DVec3; 2]; 3],
    /// Squares of the chords of its sides.
    squares: [f64; 3],
    longest: f64,
    /// How far the surface leaves the flat triangle.
    bulge: f64,
    /// No point is farther from its nearest corner than this.
    cover: f64,
}

/// What is to be looked into, by its index.
#[derive(Clone, Copy, Debug)]
enum Task {
    Ball(u32),
    Cell(u32),
}

#[derive(Clone, Copy, Debug)]
struct Entry {
    bound: f64,
    rank: u32,
    task: Task,
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Entry {}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Entry {
    /// The lowest bound is the greatest entry; ties in the order they came.
    fn cmp(&self, other: &Self) -> Ordering {
        other.bound.total_cmp(&self.bound).then(other.rank.cmp(&self.rank))
    }
}

fn grow<T: Clone + Default>(list: &mut Vec<T>, size: usize) {
    if list.len() < size {
        list.resize(size, T::default());
    }
}

/// Finds the least distance of the samples' surface to the field's body; `None` if there is no
/// surface.
pub(super) fn least(question: &Question<'_>, scratch: &mut Scratch) -> Option<Least> {
    let mut search = Search::new(question, scratch);
    search.run();
    search.polish();
    search.answer()
}

struct Search<'a, 'b> {
    question: &'a Question<'a>,
    scratch: &'b mut Scratch,
    best: Option<u32>,
    least: f64,
    /// The least is surely no greater than this.
    upper: f64,
    /// Lowest bound of all that was put aside.
    floor: f64,
    rank: u32,
    /// Questions put so far.
    asked: u32,
}

impl<'a, 'b> Search<'a, 'b> {
    fn new(question: &'a Question<'a>, scratch: &'b mut Scratch) -> Self {
        scratch.round = scratch.round.wrapping_add(1);
        let blank = Near { distance: 0.0, foot: DVec3::ZERO, face: 0, others: 0.0 };
        if scratch.sites.len() < question.samples.sites {
            scratch.sites.resize(question.samples.sites, (0, blank));
        }
        if scratch.corners.len() < question.samples.corners.len() {
            scratch.corners.resize(question.samples.corners.len(), (0, 0));
        }
        let samples = question.samples;
        let learned = &mut scratch.learned[question.walk as usize];
        grow(&mut learned.balls, samples.balls.len());
        grow(&mut learned.sites, samples.sites);
        grow(&mut scratch.centres, samples.balls.len());
        scratch.spots.clear();
        scratch.cells.clear();
        scratch.heap.clear();
        Self {
            question,
            scratch,
            best: None,
            least: f64::INFINITY,
            upper: f64::INFINITY,
            floor: f64::INFINITY,
            rank: 0,
            asked: 0,
        }
    }

    /// What has a bound above this cannot matter.
    fn limit(&self) -> f64 {
        if self.least.abs() < self.question.touching {
            return -self.question.touching;
        }
        let best = self.least.lesser(self.upper);
        let usual = if best < 0.0 { self.question.depth_to } else { self.question.gap_to };
        let tolerance = PATIENCE
            .iter()
            .filter(|step| self.asked > step.0)
            .fold(usual, |tolerance, step| tolerance.greater(step.1));
        (best - tolerance).lesser(self.question.ceiling)
    }

    fn run(&mut self) {
        if let Some(seed) = self.question.seed {
            self.look(seed);
        }
        let Some(root) = self.question.samples.balls.first() else { return };
        let place = self.moved(root.centre);
        let apart = self.boxes_apart(place) - root.radius;
        if apart > 0.0 && apart >= self.question.ceiling {
            self.floor = apart;
            return;
        }
        let (low, high) = self.remembered(0, place).unwrap_or_else(|| {
            let value = self.ask_ball(0, place);
            (value, value)
        });
        self.push_ball(0, low - root.radius, (low, high));
        while let Some(entry) = self.scratch.heap.pop() {
            if entry.bound >= self.limit() {
                self.floor = self.floor.lesser(entry.bound);
                self.scratch.heap.push(entry);
                return;
            }
            match entry.task {
                Task::Ball(index) => self.open(index),
                Task::Cell(index) => {
                    if self.try_lowest(index) && entry.bound >= self.limit() {
                        self.scratch.heap.push(entry);
                    } else {
                        self.halve(index);
                    }
                }
            }
        }
    }

    fn push(&mut self, bound: f64, task: Task) {
        self.scratch.heap.push(Entry { bound, rank: self.rank, task });
        self.rank += 1;
    }

    fn push_ball(&mut self, index: u32, bound: f64, centre: (f64, f64)) {
        self.scratch.centres[index as usize] = centre;
        self.push(bound, Task::Ball(index));
    }

    fn moved(&self, point: DVec3) -> DVec3 {
        self.question.motion.map_or(point, |motion| motion.point(point))
    }

    fn turned(&self, direction: DVec3) -> DVec3 {
        self.question.motion.map_or(direction, |motion| motion.direction(direction))
    }

    fn ask(&mut self, place: DVec3) -> Near {
        self.scratch.questions += 1;
        self.asked += 1;
        self.question.field.near(place)
    }

    fn learned(&mut self) -> &mut Learned {
        &mut self.scratch.learned[self.question.walk as usize]
    }

    /// The distance at the centre of a ball, which is at a place.
    fn ask_ball(&mut self, index: u32, place: DVec3) -> f64 {
        let distance = self.ask(place).distance;
        let pair = self.scratch.pair;
        self.learned().balls[index as usize] = Known { pair, place, distance };
        distance
    }

    /// Between what values the distance at the centre of a ball lies, from what was learned in other poses.
    fn remembered(&self, ball: u32, place: DVec3) -> Option<(f64, f64)> {
        let learned = &self.scratch.learned[self.question.walk as usize];
        learned.balls[ball as usize].at(place, self.scratch.pair)
    }

    /// Takes up a triangle of the samples, unless what is known of its corners puts it aside.
    fn open_triangle(&mut self, triangle: &Triangle) {
        let bound = self.remembered_lowest(triangle) - triangle.cover;
        // Until a point of the surface is known, something must be asked.
        if bound >= self.limit() && self.best.is_some() {
            self.floor = self.floor.lesser(bound);
            return;
        }
        let spots = triangle.corners.map(|corner| self.corner_spot(corner));
        let value = spots.map(|spot| self.spot(spot).near.distance);
        let bound = value[0].lesser(value[1]).lesser(value[2]) - triangle.cover;
        if bound >= self.limit() {
            self.floor = self.floor.lesser(bound);
        } else {
            self.add_cell(triangle.face, spots, triangle.sides);
        }
    }

    /// No corner of a triangle is nearer than this, from what was learned in other poses.
    fn remembered_lowest(&self, triangle: &Triangle) -> f64 {
        let learned = &self.scratch.learned[self.question.walk as usize];
        let mut lowest = f64::INFINITY;
        for corner in triangle.corners {
            let own = &self.question.samples.corners[corner as usize];
            let known = &learned.sites[own.site as usize];
            match known.at(self.moved(own.position), self.scratch.pair) {
                Some((low, _)) => lowest = lowest.lesser(low),
                None => return f64::NEG_INFINITY,
            }
        }
        lowest
    }

    /// Distance from a point to the nearest of the boxes round the field's body.
    fn boxes_apart(&self, place: DVec3) -> f64 {
        apart_from(self.question.boxes, place)
    }

    fn open(&mut self, index: u32) {
        let (low, high) = self.scratch.centres[index as usize];
        let samples = self.question.samples;
        let ball = samples.balls[index as usize];
        match ball.content {
            Content::Balls(inner) => {
                for index in inner {
                    let child = samples.balls[index as usize];
                    let step = child.centre.distance(ball.centre);
                    let (mut low, mut high) = (low - step, high + step);
                    let mut bound = low - child.radius;
                    if bound < self.limit() {
                        let place = self.moved(child.centre);
                        if let Some(known) = self.remembered(index, place) {
                            (low, high) = (low.greater(known.0), high.lesser(known.1));
                            bound = bound.greater(low - child.radius);
                            self.upper = self.upper.lesser(high + child.radius);
                        }
                        let limit = self.limit();
                        if bound < limit {
                            let apart = self.boxes_apart(place) - child.radius;
                            if apart > 0.0 {
                                bound = bound.greater(apart);
                            }
                        }
                        // No use asking about what is too near to be put aside anyway.
                        let hopeless = high - child.radius < limit && self.least.is_finite();
                        if bound < limit && !hopeless {
                            low = self.ask_ball(index, place);
                            high = low;
                            bound = bound.greater(low - child.radius);
                            self.upper = self.upper.lesser(low + child.radius);
                        }
                    }
                    if bound < self.limit() {
                        self.push_ball(index, bound, (low, high));
                    } else {
                        self.floor = self.floor.lesser(bound);
                    }
                }
            }
            Content::Triangles(from, to) => {
                for &index in &samples.order[from as usize..to as usize] {
                    let triangle = samples.triangles[index as usize];
                    self.open_triangle(&triangle);
                }
            }
        }
    }

    /// The spot of a corner of the samples.
    fn corner_spot(&mut self, corner: u32) -> u32 {
        let round = self.scratch.round;
        let known = self.scratch.corners[corner as usize];
        if known.0 == round {
            return known.1;
        }
        let own = self.question.samples.corners[corner as usize];
        let place = self.moved(own.position);
        let site = own.site as usize;
        let near = if self.scratch.sites[site].0 == round {
            self.scratch.sites[site].1
        } else {
            let near = self.ask(place);
            self.scratch.sites[site] = (round, near);
            let pair = self.scratch.pair;
            self.learned().sites[site] = Known { pair, place, distance: near.distance };
            near
        };
        let spot = self.add_spot(place, own.slopes.map(|slope| self.turned(slope)), own.uv, near);
        self.scratch.corners[corner as usize] = (round, spot);
        spot
    }

    fn add_spot(&mut self, place: DVec3, sides: [DVec3; 2], uv: DVec2, near: Near) -> u32 {
        let slope = self.slope(place, sides, &near);
        let index = self.scratch.spots.len() as u32;
        self.scratch.spots.push(Spot { place, sides, uv, near, slope });
        if near.distance < self.least {
            self.least = near.distance;
            self.best = Some(index);
        }
        index
    }

    /// A spot at a point of the samples.
    fn new_spot(&mut self, corner: &Corner) -> u32 {
        let place = self.moved(corner.position);
        let near = self.ask(place);
        self.add_spot(place, corner.slopes.map(|slope| self.turned(slope)), corner.uv, near)
    }

    /// Direction in which distance grows at a point.
    fn slope(&mut self, place: DVec3, sides: [DVec3; 2], near: &Near) -> DVec3 {
        if near.distance.abs() > TOUCHING {
            return (place - near.foot) / near.distance;
        }
        // On the surface itself: look from a little off it.
        let normal = sides[0].cross(sides[1]).normalize_or_zero();
        let side = sides[0].normalize_or_zero();
        for way in [normal, side, normal.cross(side)] {
            let aside = place + way * 1e-4;
            let near = self.ask(aside);
            if near.distance.abs() > 2e-5 {
                return (aside - near.foot) / near.distance;
            }
        }
        DVec3::ZERO
    }

    fn spot(&self, index: u32) -> &Spot {
        &self.scratch.spots[index as usize]
    }

    /// Puts a triangle among what is to be looked into, if it may matter.
    fn add_cell(&mut self, face: u32, spots: [u32; 3], sides: [Option<EdgePiece>; 3]) {
        let extent = self.extent(spots, &sides);
        let (bound, lowest) = self.judge(spots, &extent);
        // What only the tolerance rules out may still be looked at in the end.
        if bound >= self.least.lesser(self.question.ceiling) {
            self.floor = self.floor.lesser(bound);
            return;
        }
        let index = self.scratch.cells.len() as u32;
        self.scratch.cells.push(Cell { face, spots, sides, lowest });
        self.push(bound, Task::Cell(index));
    }

    /// How a triangle reaches from its corners.
    fn extent(&self, spots: [u32; 3], sides: &[Option<EdgePiece>; 3]) -> Extent {
        let s = spots.map(|spot| self.spot(spot));
        let mut ways = [[DVec3::ZERO; 2]; 3];
        let mut squares = [0.0; 3];
        let mut bulge: f64 = 0.0;
        for (i, way) in ways.iter_mut().enumerate() {
            let (a, b) = (s[i], s[(i + 1) % 3]);
            let chord = b.place - a.place;
            squares[i] = chord.length_squared();
            match &sides[i] {
                Some(piece) => {
                    let span = piece.range[1] - piece.range[0];
                    let curve = &self.question.samples.curves[piece.edge as usize];
                    *way = piece.range.map(|t| self.turned(curve.point_slope(t).1 * span));
                    way[1] = -way[1];
                }
                None => {
                    let step = b.uv - a.uv;
                    *way = [
                        a.sides[0] * step.x + a.sides[1] * step.y,
                        b.sides[0] * -step.x - b.sides[1] * step.y,
                    ];
                }
            }
            let off = (way[0] - chord).length_squared();
            bulge = bulge.greater(off).greater((way[1] + chord).length_squared());
        }
        let longest = squares[0].greater(squares[1]).greater(squares[2]).sqrt();
        // On a parabola the tangent leaves the chord by four times its height.
        let bulge = 0.3 * bulge.sqrt();
        let cover = longest * FARTHEST_FROM_CORNERS + bulge;
        Extent { ways, squares, longest, bulge, cover }
    }

    /// A value below which distance does not fall on a triangle, and where it is expected to
    /// be lowest (if not at a corner).
    fn judge(&self, spots: [u32; 3], extent: &Extent) -> (f64, Option<[f64; 3]>) {
        let &Extent { ways, squares, longest, bulge, cover } = extent;
        let s = spots.map(|spot| self.spot(spot));
        let value = s.map(|spot| spot.near.distance);
        let lowest = value[0].lesser(value[1]).lesser(value[2]);
        // No point is on average farther from all three corners than two thirds of the longest side.
        let mean = (value[0] + value[1] + value[2]) / 3.0;
        let mut coarse = (lowest - cover).greater(mean - longest / 1.5 - bulge);
        if lowest > 0.0 {
            coarse = coarse.greater(empty_balls(&value, &squares) - bulge);
        }
        if coarse >= self.limit() || s.iter().any(|spot| spot.slope == DVec3::ZERO) {
            return (coarse, None);
        }
        let slopes = s.map(|spot| spot.slope);
        let bend = Bend::new(&value, &slopes, &ways);
        let valley = bend.valley(&value);
        let mut fine = if longest < SMALL { valley } else { f64::NEG_INFINITY };
        let mut at = None;
        let face = s[0].near.face;
        let one_face = s.iter().all(|spot| spot.near.face == face);
        if lowest > 0.0 && bend.is_gentle(&squares) {
            at = bend.parabola(&value).1;
        }
        // Inside the metal another face coming nearer only makes distance less negative.
        if one_face && s.iter().all(|spot| spot.near.distance < -cover) {
            return (coarse.greater(valley), at);
        }
        if lowest < 0.0 && !one_face {
            fine = fine.greater(self.ridge_bound(&s, &ways, &squares));
        }
        if lowest > 0.0 {
            fine = fine.greater(self.wedge_bound(&s, &value, &slopes, &ways, &squares));
            if coarse.greater(fine) >= self.limit() {
                return (coarse.greater(fine), at);
            }
        }
        // Faces that cover the body, from what the corners look at.
        let mut tried = [u32::MAX; 9];
        let mut count = 0;
        for spot in &s {
            let looked_at = if spot.near.on_edge() {
                self.question.field.faces_at(spot.near.face)
            } else {
                Faces::from(spot.near.face)
            };
            for &face in looked_at.as_slice() {
                if coarse.greater(fine) >= self.limit() {
                    return (coarse.greater(fine), at);
                }
                if tried[..count].contains(&face) {
                    continue;
                }
                tried[count] = face;
                count += 1;
                if let Some(cover) = self.question.field.cover(face) {
                    let least = cover
                        .as_slice()
                        .iter()
                        .map(|&face| self.carried_bound(&s, face, &ways, &squares))
                        .fold(f64::INFINITY, f64::lesser);
                    fine = fine.greater(least - UNSURE);
                }
            }
        }
        // Without such faces: as far as no other metal is near. An edge may come out of sight of
        // the corners, but not into the empty balls.
        if one_face && (!s[0].near.on_edge() || longest < lowest) {
            let others = empty_balls(&s.map(|spot| spot.near.others), &squares) - bulge;
            let smooth =
                if lowest > 0.0 { smooth_bound(&value, &slopes, &ways, &squares) } else { valley };
            fine = fine.greater(smooth.lesser(others));
        }
        (coarse.greater(fine), at)
    }

    /// A value below which the distance to a face, carried on, does not fall on a triangle.
    fn carried_bound(
        &self,
        s: &[&Spot; 3],
        face: u32,
        ways: &[[DVec3; 2]; 3],
        squares: &[f64; 3],
    ) -> f64 {
        match self.carried(s, face) {
            Some((value, slopes)) => smooth_bound(&value, &slopes, ways, squares),
            None => f64::NEG_INFINITY,
        }
    }

    /// A value below which distance does not fall on a triangle whose corners look at an edge or at
    /// one of the two faces that meet in it. All metal lies behind both faces, carried on, or
    /// behind another face of their covers, as seen from where both cover the body; distance to what
    /// lies behind both is the distance the corners see, and has no kinks outside it.
    fn wedge_bound(
        &self,
        s: &[&Spot; 3],
        value: &[f64; 3],
        slopes: &[DVec3; 3],
        ways: &[[DVec3; 2]; 3],
        squares: &[f64; 3],
    ) -> f64 {
        let Some(edge) = s.iter().map(|spot| spot.near).find(Near::on_edge) else {
            return f64::NEG_INFINITY;
        };
        let field = self.question.field;
        let faces = field.faces_at(edge.face);
        let &[one, other] = faces.as_slice() else { return f64::NEG_INFINITY };
        let sees = |face: u32| face == edge.face || face == one || face == other;
        if !s.iter().all(|spot| sees(spot.near.face)) {
            return f64::NEG_INFINITY;
        }
        let covers = |face: u32| s.iter().all(|spot| field.covers_from(face, spot.place));
        let (Some(first), Some(second)) = (field.cover(one), field.cover(other)) else {
            return f64::NEG_INFINITY;
        };
        if !covers(one) || !covers(other) {
            return f64::NEG_INFINITY;
        }
        let mut least = smooth_bound(value, slopes, ways, squares);
        for &face in first.as_slice().iter().chain(second.as_slice()) {
            if face != one && face != other && least > f64::NEG_INFINITY {
                least = least.lesser(self.carried_bound(s, face, ways, squares));
            }
        }
        least - UNSURE
    }

    /// Distance to a face, carried on, and its slope at the corners.
    fn carried(&self, s: &[&Spot; 3], face: u32) -> Option<([f64; 3], [DVec3; 3])> {
        let mut value = [0.0; 3];
        let mut slopes = [DVec3::ZERO; 3];
        for (i, spot) in s.iter().enumerate() {
            if spot.near.face == face {
                (value[i], slopes[i]) = (spot.near.distance, spot.slope);
            } else {
                let carried = self.question.field.carried_on(face, spot.place)?;
                if carried.slope == DVec3::ZERO {
                    return None;
                }
                (value[i], slopes[i]) = (carried.distance, carried.slope);
            }
        }
        Some((value, slopes))
    }

    /// A value below which distance does not fall on a triangle in the metal whose corners look
    /// at two faces. Distance is never less there than that to either face, nor than the mean
    /// of both; along the ridge between the faces, where it is lowest, the mean hardly changes.
    fn ridge_bound(&self, s: &[&Spot; 3], ways: &[[DVec3; 2]; 3], squares: &[f64; 3]) -> f64 {
        let first = s[0].near.face;
        let Some(other) = s.iter().map(|spot| spot.near.face).find(|face| *face != first) else {
            return f64::NEG_INFINITY;
        };
        let two = s.iter().all(|spot| {
            spot.near.distance < 0.0
                && !spot.near.on_edge()
                && (spot.near.face == first || spot.near.face == other)
        });
        if !two {
            return f64::NEG_INFINITY;
        }
        let (Some(one), Some(two)) = (self.carried(s, first), self.carried(s, other)) else {
            return f64::NEG_INFINITY;
        };
        let value = [0, 1, 2].map(|i| (one.0[i] + two.0[i]) / 2.0);
        let slopes = [0, 1, 2].map(|i| (one.1[i] + two.1[i]) / 2.0);
        // Outside the metal distance is positive; the bound speaks of the metal alone.
        smooth_bound(&value, &slopes, ways, squares).lesser(0.0)
    }

    /// Asks where a cell is expected to be lowest; whether that was possible.
    fn try_lowest(&mut self, index: u32) -> bool {
        let cell = self.scratch.cells[index as usize];
        let Some(shares) = cell.lowest else { return false };
        self.scratch.cells[index as usize].lowest = None;
        // On a side that is a piece of edge: on the edge.
        for (i, side) in cell.sides.iter().enumerate() {
            let Some(piece) = side else { continue };
            if shares[(i + 2) % 3] > 0.0 {
                // Inside, but an edge bulges: the point may not be on the face.
                return false;
            }
            let curve = &self.question.samples.curves[piece.edge as usize];
            let share = shares[(i + 1) % 3];
            let at = piece.range[0] + (piece.range[1] - piece.range[0]) * share;
            self.look(curve.point(at));
            return true;
        }
        let [a, b, c] = cell.spots.map(|spot| self.spot(spot).uv);
        let uv = a * shares[0] + b * shares[1] + c * shares[2];
        let surface = &self.question.samples.surfaces[cell.face as usize];
        self.look(surface.point(uv));
        true
    }

    /// Asks at a point of the surface that no triangle will have as a corner.
    fn look(&mut self, position: DVec3) {
        let corner = Corner { position, slopes: [DVec3::ZERO; 2], uv: DVec2::ZERO, site: 0 };
        self.new_spot(&corner);
    }

    fn halve(&mut self, index: u32) {
        let Cell { face, spots, sides, .. } = self.scratch.cells[index as usize];
        let samples = self.question.samples;
        let corners = spots.map(|spot| *self.spot(spot));
        let length = |i: usize| corners[i].place.distance(corners[(i + 1) % 3].place);
        let longest = (0..3).fold(0, |k, i| if length(i) > length(k) { i } else { k });
        if length(longest) < SMALLEST {
            let lowest = corners.map(|corner| corner.near.distance);
            self.floor = lowest.into_iter().fold(self.floor, f64::lesser);
            return;
        }
        let mut first = longest;
        if sides.iter().any(Option::is_some) {
            let surface = &samples.surfaces[face as usize];
            let own = corners.map(|corner| surface.point(corner.uv));
            first = samples.first_side(own, &sides).unwrap_or(longest);
        }
        let turned = |i: usize| (i + first) % 3;
        let [a, b, c] = [0, 1, 2].map(|i| spots[turned(i)]);
        let [ab, bc, ca] = [0, 1, 2].map(|i| sides[turned(i)]);
        let (uv_a, uv_b) = (corners[turned(0)].uv, corners[turned(1)].uv);
        let middle = self.new_spot(&samples.halfway(face, uv_a, uv_b, ab));
        let halves = ab.map(|piece| split(&piece));
        self.add_cell(face, [a, middle, c], [halves.map(|h| h[0]), None, ca]);
        self.add_cell(face, [middle, b, c], [halves.map(|h| h[1]), bc, None]);
    }

    /// Looks once where the cells left over may be a little lower than the least found.
    fn polish(&mut self) {
        if self.least >= self.question.ceiling || self.least < self.question.touching {
            return;
        }
        let least = self.least;
        let mut left: Vec<Entry> =
            self.scratch.heap.drain().filter(|entry| entry.bound < least).collect();
        left.sort_unstable_by(|a, b| b.cmp(a));
        for entry in left.iter().take(POLISHED) {
            if let Task::Cell(index) = entry.task {
                self.try_lowest(index);
            }
        }
    }

    fn answer(&mut self) -> Option<Least> {
        if self.best.is_none() {
            // Put aside unseen: any point of the surface stands for it.
            let point = self.question.samples.any_point()?;
            self.look(point);
        }
        let spot = *self.spot(self.best?);
        let bound = self.floor.lesser(spot.near.distance);
        Some(Least { distance: spot.near.distance, point: spot.place, foot: spot.near.foot, bound })
    }
}

/// A value below which a smooth function with these values and slopes at the corners does not
/// fall on a triangle.
fn smooth_bound(
    value: &[f64; 3],
    slopes: &[DVec3; 3],
    ways: &[[DVec3; 2]; 3],
    squares: &[f64; 3],
) -> f64 {
    let bend = Bend::new(value, slopes, ways);
    let valley = bend.valley(value);
    if bend.is_gentle(squares) { valley.greater(bend.parabola(value).0) } else { valley }
}

/// How distance on a triangle departs from being flat.
struct Bend {
    /// For each side, by how much the value at its second corner lies over what slope and value
    /// at the first foretell, and the other way round: half the second derivative along the
    /// side.
    misses: [[f64; 2]; 3],
    /// For each corner, the lowest value its slope foretells on the triangle.
    planes: [f64; 3],
}

impl Bend {
    /// Of a function with these values and slopes at the corners; `ways` lead along each side
    /// from its first and from its second corner.
    fn new(value: &[f64; 3], slopes: &[DVec3; 3], ways: &[[DVec3; 2]; 3]) -> Self {
        let mut bend = Self { misses: [[0.0; 2]; 3], planes: *value };
        for (i, way) in ways.iter().enumerate() {
            let j = (i + 1) % 3;
            let from_i = value[i] + slopes[i].dot(way[0]);
            let from_j = value[j] + slopes[j].dot(way[1]);
            bend.misses[i] = [value[j] - from_i, value[i] - from_j];
            bend.planes[i] = bend.planes[i].lesser(from_i);
            bend.planes[j] = bend.planes[j].lesser(from_j);
        }
        bend
    }

    /// Lowest value where the slope may jump between the corners.
    ///
    /// Upwards (a valley between them) it falls below the lowest corner by at most half the
    /// misses in a valley of straight walls, two thirds in a funnel. Downwards (a ridge) it
    /// stays above each corner's plane but for the misses.
    fn valley(&self, value: &[f64; 3]) -> f64 {
        let (mut up, mut down): (f64, f64) = (0.0, 0.0);
        for miss in self.misses.iter().flatten() {
            up = up.greater(*miss);
            down = down.greater(-miss);
        }
        let lowest = value[0].lesser(value[1]).lesser(value[2]);
        let plane = self.planes.iter().copied().fold(f64::NEG_INFINITY, f64::greater);
        (lowest - 0.7 * up).greater(plane - down)
    }

    /// Whether slopes turn so little between the corners that the function can be taken for a
    /// quadratic. On both sides of a thin rod they are opposite, though both look at one face.
    fn is_gentle(&self, squares: &[f64; 3]) -> bool {
        self.misses.iter().zip(squares).all(|(miss, square)| {
            let steepest = GENTLE * GENTLE * square;
            miss.iter().all(|miss| miss * miss < steepest)
        })
    }

    /// Lowest value of the quadratic function with these corners and second derivatives, less
    /// what the third derivatives may add; and where it is, as shares of the corners, if not at
    /// a corner.
    fn parabola(&self, value: &[f64; 3]) -> (f64, Option<[f64; 3]>) {
        // A third derivative makes the two misses of a side differ by a sixth of itself times
        // the length cubed, and moves the function by less than a tenth of that; what is even
        // in higher derivatives shows in neither and gets a share of the bend. Both grow
        // towards the middle of the side like the bend itself.
        let bends = self.misses.map(|[a, b]| {
            let even = (a + b) / 2.0;
            even + 2.0 * (a - b).abs() + 0.1 * even.abs()
        });
        lowest_of_quadratic(value, &bends)
    }
}

/// A distance below which no point of a triangle can be from something that keeps outside
/// balls of these radii about its corners, given the squares of its sides.
///
/// For a point with shares `l` of the corners and any other point, the mean square distance of
/// the corners from the other is the square of the distance asked for plus `sum l_i l_j d_ij²`.
fn empty_balls(radii: &[f64; 3], squares: &[f64; 3]) -> f64 {
    let least = radii.iter().copied().fold(f64::INFINITY, f64::lesser);
    if radii.iter().any(|radius| radius.is_infinite()) {
        let longest = squares.iter().copied().fold(0.0, f64::greater).sqrt();
        return least - longest;
    }
    let square = lowest_of_quadratic(&radii.map(|radius| radius * radius), squares).0;
    // The triangle itself may go through what keeps outside the balls.
    if square > 0.0 { square.sqrt() } else { f64::NEG_INFINITY }
}

/// Lowest value over a triangle of `sum l_i f_i - sum l_i l_j m_ij`, `l` being shares of the
/// corners, and where it is if not at a corner. Sides in the order 01, 12, 20.
///
/// This is any quadratic function, `m` being half its second derivative along a side times
/// the side's length squared.
fn lowest_of_quadratic(value: &[f64; 3], m: &[f64; 3]) -> (f64, Option<[f64; 3]>) {
    let mut least = value[0].lesser(value[1]).lesser(value[2]);
    let mut at = None;
    for i in 0..3 {
        let j = (i + 1) % 3;
        let rise = value[j] - value[i];
        if rise.abs() >= m[i] {
            continue;
        }
        let share = 0.5 - rise / (2.0 * m[i]);
        let here = value[i] + rise * share - share * (1.0 - share) * m[i];
        if here < least {
            least = here;
            let mut shares = [0.0; 3];
            (shares[i], shares[j]) = (1.0 - share, share);
            at = Some(shares);
        }
    }
    let cross = m[0] + m[2] - m[1];
    let determinant = 4.0 * m[0] * m[2] - cross * cross;
    if determinant > 0.0 && m[0] > 0.0 {
        let (p, q) = (m[0] - (value[1] - value[0]), m[2] - (value[2] - value[0]));
        let x = (2.0 * m[2] * p - cross * q) / determinant;
        let y = (2.0 * m[0] * q - cross * p) / determinant;
        let z = 1.0 - x - y;
        if x > 0.0 && y > 0.0 && z > 0.0 {
            let flat = z * value[0] + x * value[1] + y * value[2];
            let here = flat - z * x * m[0] - x * y * m[1] - y * z * m[2];
            if here < least {
                least = here;
                at = Some([z, x, y]);
            }
        }
    }
    (least, at)
}
