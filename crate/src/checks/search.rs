//! The least signed distance from the surface of one body to another body.
//!
//! Branch and bound over the pieces of the surface, lowest bound first. Three bounds are used,
//! each where it is the best:
//!
//! * Distance never changes faster than the point moves: one value bounds a whole ball. This
//!   disposes of what is far, but near-parallel neighbours differ by less than any ball.
//! * As long as all of a piece is nearest to one smooth face of the other body, distance is a
//!   smooth function on it; values and slopes at the corners say how much it bends, and so how
//!   far it can fall between them. The other body's own statement that no other face comes
//!   nearer makes this a bound at any size of piece: a saddle on its tube is a few hundred
//!   questions.
//! * Across edges of the other body the same is done with the sign of the bending kept, on
//!   pieces below [`SMALL`] only.
//!
//! Pieces are halved on the true surface and along the true edges, so the chord of the
//! triangles does not matter. At last the best pieces are polished by Newton's method.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use glam::{DVec2, DVec3};

use crate::geometry::distance::{DistanceField, Near};
use crate::geometry::motion::Motion;
use crate::solids::mesh::EdgePiece;

use super::surface_samples::{Content, SurfaceSamples, split};

/// How far the reported least may lie over the true one before polishing, mm.
const TOLERANCE: f64 = 2e-4;

/// The same for depths of overlap.
const DEPTH_TOLERANCE: f64 = 4e-3;

/// Longest side of a piece on which bending is judged across edges of the other body, mm.
/// Parts have no detail finer than this that stands proud.
const SMALL: f64 = 0.4;

/// Pieces this small are not halved again, mm.
const SMALLEST: f64 = 1e-3;

/// Pieces polished at the end.
const POLISHED: usize = 3;

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
    /// Distances beyond this need not be exact.
    pub ceiling: f64,
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

/// Memory for searches, kept from one to the next.
#[derive(Debug, Default)]
pub struct Scratch {
    /// What is known at each site, and in which round it was asked.
    sites: Vec<(u32, Near)>,
    /// The spot of each corner, and in which round it was made.
    corners: Vec<(u32, u32)>,
    round: u32,
    spots: Vec<Spot>,
    cells: Vec<Cell>,
    heap: BinaryHeap<Entry>,
    /// Questions put to fields since the scratch was made.
    pub questions: u64,
}

/// A point of the surface with its distance. All in the field's frame but `uv`.
#[derive(Clone, Copy, Debug)]
struct Spot {
    place: DVec3,
    normal: DVec3,
    uv: DVec2,
    near: Near,
    /// Direction in which distance grows; zero where it is not known.
    slope: DVec3,
}

/// A piece of surface between spots.
#[derive(Clone, Copy, Debug)]
enum Cell {
    Triangle { face: u32, spots: [u32; 3], sides: [Option<EdgePiece>; 3] },
    /// With the curve's derivatives at both ends, times the piece's range.
    Arc { piece: EdgePiece, spots: [u32; 2], tangents: [DVec3; 2] },
}

#[derive(Clone, Copy, Debug)]
enum Task {
    /// A ball, and between what values the distance of its centre lies.
    Ball { index: u32, low: f64, high: f64 },
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
        }
    }

    /// What has a bound above this cannot matter.
    fn limit(&self) -> f64 {
        let best = self.least.min(self.upper);
        let tolerance = if best < 0.0 { DEPTH_TOLERANCE } else { TOLERANCE };
        (best - tolerance).min(self.question.ceiling)
    }

    fn run(&mut self) {
        let Some(root) = self.question.samples.balls.first() else { return };
        let apart = self.boxes_apart(self.moved(root.centre)) - root.radius;
        if apart >= self.question.ceiling {
            self.floor = apart;
            return;
        }
        let value = self.ask(self.moved(root.centre)).distance;
        let task = Task::Ball { index: 0, low: value, high: value };
        self.push(value - root.radius, task);
        while let Some(entry) = self.scratch.heap.pop() {
            if entry.bound >= self.limit() {
                self.floor = self.floor.min(entry.bound);
                self.scratch.heap.push(entry);
                return;
            }
            match entry.task {
                Task::Ball { index, low, high } => self.open(index, low, high),
                Task::Cell(index) => self.halve(index),
            }
        }
    }

    fn push(&mut self, bound: f64, task: Task) {
        if bound >= self.limit() && !matches!(task, Task::Cell(_)) {
            self.floor = self.floor.min(bound);
            return;
        }
        self.scratch.heap.push(Entry { bound, rank: self.rank, task });
        self.rank += 1;
    }

    fn moved(&self, point: DVec3) -> DVec3 {
        self.question.motion.map_or(point, |motion| motion.point(point))
    }

    fn turned(&self, direction: DVec3) -> DVec3 {
        self.question.motion.map_or(direction, |motion| motion.direction(direction))
    }

    fn ask(&mut self, place: DVec3) -> Near {
        self.scratch.questions += 1;
        self.question.field.near(place)
    }

    /// Distance from a point to the nearest of the boxes round the field's body.
    fn boxes_apart(&self, place: DVec3) -> f64 {
        let square = self
            .question
            .boxes
            .iter()
            .map(|(low, high)| (*low - place).max(place - *high).max(DVec3::ZERO).length_squared())
            .fold(f64::INFINITY, f64::min);
        square.sqrt()
    }

    /// Looks into a ball, whose centre's distance lies between `low` and `high`.
    fn open(&mut self, index: u32, low: f64, high: f64) {
        let samples = self.question.samples;
        let ball = samples.balls[index as usize];
        match ball.content {
            Content::Balls(inner) => {
                for index in inner {
                    let child = samples.balls[index as usize];
                    let step = child.centre.distance(ball.centre);
                    let (mut low, mut high) = (low - step, high + step);
                    let mut bound = low - child.radius;
                    let limit = self.limit();
                    if bound < limit {
                        let place = self.moved(child.centre);
                        bound = bound.max(self.boxes_apart(place) - child.radius);
                        // No use asking about what is too near to be put aside anyway.
                        let hopeless = high - child.radius < limit && self.least.is_finite();
                        if bound < limit && !hopeless {
                            low = self.ask(place).distance;
                            high = low;
                            bound = bound.max(low - child.radius);
                            self.upper = self.upper.min(low + child.radius);
                        }
                    }
                    self.push(bound, Task::Ball { index, low, high });
                }
            }
            Content::Pieces(from, to) => {
                for &piece in &samples.order[from as usize..to as usize] {
                    self.start_piece(piece);
                }
            }
        }
    }

    fn start_piece(&mut self, piece: u32) {
        let samples = self.question.samples;
        match samples.triangles.get(piece as usize) {
            Some(triangle) => {
                let spots = triangle.corners.map(|corner| self.corner_spot(corner));
                self.add_triangle(triangle.face, spots, triangle.sides);
            }
            None => {
                let arc = samples.arcs[piece as usize - samples.triangles.len()];
                let spots = arc.corners.map(|corner| self.corner_spot(corner));
                self.add_arc(arc.piece, spots);
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
            near
        };
        let spot = self.add_spot(place, self.turned(own.normal), own.uv, near);
        self.scratch.corners[corner as usize] = (round, spot);
        spot
    }

    fn add_spot(&mut self, place: DVec3, normal: DVec3, uv: DVec2, near: Near) -> u32 {
        let slope = self.slope(place, normal, &near);
        let index = self.scratch.spots.len() as u32;
        self.scratch.spots.push(Spot { place, normal, uv, near, slope });
        if near.distance < self.least {
            self.least = near.distance;
            self.best = Some(index);
        }
        index
    }

    /// Direction in which distance grows at a point.
    fn slope(&mut self, place: DVec3, normal: DVec3, near: &Near) -> DVec3 {
        if near.distance.abs() > TOUCHING {
            return (place - near.foot) / near.distance;
        }
        // On the surface itself: look from a little off it.
        let side = normal.any_orthogonal_vector().normalize_or_zero();
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

    fn add_triangle(&mut self, face: u32, spots: [u32; 3], sides: [Option<EdgePiece>; 3]) {
        let bound = self.triangle_bound(spots);
        self.add_cell(bound, Cell::Triangle { face, spots, sides });
    }

    fn add_arc(&mut self, piece: EdgePiece, spots: [u32; 2]) {
        let span = piece.range[1] - piece.range[0];
        let curve = &self.question.samples.curves[piece.edge as usize];
        let tangents = piece.range.map(|t| self.turned(curve.point_slope(t).1 * span));
        let bound = self.arc_bound(spots, tangents);
        self.add_cell(bound, Cell::Arc { piece, spots, tangents });
    }

    fn add_cell(&mut self, bound: f64, cell: Cell) {
        // What only the tolerance rules out may still be polished.
        if bound >= self.least.min(self.question.ceiling) {
            self.floor = self.floor.min(bound);
            return;
        }
        let index = self.scratch.cells.len() as u32;
        self.scratch.cells.push(cell);
        self.push(bound, Task::Cell(index));
    }

    /// A value below which distance does not fall on a triangle.
    fn triangle_bound(&self, spots: [u32; 3]) -> f64 {
        let s = spots.map(|spot| self.spot(spot));
        let value = s.map(|spot| spot.near.distance);
        let lowest = value[0].min(value[1]).min(value[2]);
        let mut longest: f64 = 0.0;
        let mut bulge: f64 = 0.0;
        for (a, b) in [(0, 1), (1, 2), (2, 0)] {
            let chord = s[a].place.distance(s[b].place);
            longest = longest.max(chord);
            bulge = bulge.max(chord * turn_between(s[a], s[b]) * (1.5 / 8.0));
        }
        // No point of a triangle is farther from its nearest corner than this (worst: all
        // sides alike), nor on average from all three than two thirds of the longest side.
        let cover = longest * 0.577_351 + bulge;
        let mean = (value[0] + value[1] + value[2]) / 3.0;
        let coarse = (lowest - cover).max(mean - longest / 1.5 - bulge);
        if coarse >= self.limit() || s.iter().any(|spot| spot.slope == DVec3::ZERO) {
            return coarse;
        }
        let mut bend = Bend::default();
        let mut planes = f64::NEG_INFINITY;
        for i in 0..3 {
            let along = s[i].slope - s[i].normal * s[i].slope.dot(s[i].normal);
            let mut plane = value[i];
            for j in 0..3 {
                if i != j {
                    let expected = value[i] + along.dot(s[j].place - s[i].place);
                    bend.add(value[j] - expected);
                    plane = plane.min(expected);
                }
            }
            planes = planes.max(plane);
        }
        let fine = bend.lowest(lowest, planes);
        coarse.max(self.trusted(fine, &s, longest, cover))
    }

    /// A value below which distance does not fall on a piece of edge.
    fn arc_bound(&self, spots: [u32; 2], tangents: [DVec3; 2]) -> f64 {
        let s = spots.map(|spot| self.spot(spot));
        let [f0, f1] = s.map(|spot| spot.near.distance);
        let length = 0.525 * (tangents[0].length() + tangents[1].length());
        let coarse = (f0 + f1 - length) / 2.0;
        if coarse >= self.limit() || s.iter().any(|spot| spot.slope == DVec3::ZERO) {
            return coarse;
        }
        let from_0 = f0 + s[0].slope.dot(tangents[0]);
        let from_1 = f1 - s[1].slope.dot(tangents[1]);
        let mut bend = Bend::default();
        bend.add(f1 - from_0);
        bend.add(f0 - from_1);
        let planes = f0.min(from_0).max(f1.min(from_1));
        let fine = bend.lowest(f0.min(f1), planes);
        coarse.max(self.trusted(fine, &s, length, length / 2.0))
    }

    /// As much of a bound from bending as may be relied on.
    fn trusted(&self, fine: f64, spots: &[&Spot], longest: f64, cover: f64) -> f64 {
        if longest < SMALL {
            return fine;
        }
        let face = spots[0].near.face;
        if spots.iter().any(|spot| spot.near.face != face) {
            return f64::NEG_INFINITY;
        }
        // Inside the metal another face coming nearer only makes the distance less negative.
        if spots.iter().all(|spot| spot.near.distance < -cover) {
            return fine;
        }
        let others = spots.iter().map(|spot| spot.near.others).fold(f64::INFINITY, f64::min);
        fine.min(others - cover)
    }

    fn halve(&mut self, index: u32) {
        match self.scratch.cells[index as usize] {
            Cell::Triangle { face, spots, sides } => {
                let length = |i: usize| {
                    self.spot(spots[i]).place.distance(self.spot(spots[(i + 1) % 3]).place)
                };
                let longest = (0..3).fold(0, |k, i| if length(i) > length(k) { i } else { k });
                if length(longest) < SMALLEST {
                    let lowest = spots.map(|spot| self.spot(spot).near.distance);
                    self.floor = lowest.into_iter().fold(self.floor, f64::min);
                    return;
                }
                let turned = |i: usize| (i + longest) % 3;
                let [a, b, c] = [0, 1, 2].map(|i| spots[turned(i)]);
                let [ab, bc, ca] = [0, 1, 2].map(|i| sides[turned(i)]);
                let (uv_a, uv_b) = (self.spot(a).uv, self.spot(b).uv);
                let (place, normal, uv) = self.question.samples.halfway(face, uv_a, uv_b, ab);
                let middle = self.new_spot(place, normal, uv);
                let halves = ab.map(|piece| split(&piece));
                self.add_triangle(face, [a, middle, c], [halves.map(|h| h[0]), None, ca]);
                self.add_triangle(face, [middle, b, c], [halves.map(|h| h[1]), bc, None]);
            }
            Cell::Arc { piece, spots: [a, b], tangents } => {
                if tangents[0].length() < SMALLEST {
                    let (fa, fb) = (self.spot(a).near.distance, self.spot(b).near.distance);
                    self.floor = self.floor.min(fa).min(fb);
                    return;
                }
                let [first, second] = split(&piece);
                let curve = &self.question.samples.curves[piece.edge as usize];
                let (place, slope) = curve.point_slope(first.range[1]);
                let normal = slope.any_orthogonal_vector().normalize_or_zero();
                let middle = self.new_spot(place, normal, DVec2::ZERO);
                self.add_arc(first, [a, middle]);
                self.add_arc(second, [middle, b]);
            }
        }
    }

    /// A spot at a point given in the samples' frame.
    fn new_spot(&mut self, position: DVec3, normal: DVec3, uv: DVec2) -> u32 {
        let place = self.moved(position);
        let near = self.ask(place);
        self.add_spot(place, self.turned(normal), uv, near)
    }

    /// Newton steps on the pieces that may hold the least.
    fn polish(&mut self) {
        if self.least > self.question.ceiling || self.least < 0.0 {
            return;
        }
        let least = self.least;
        let mut left: Vec<Entry> =
            self.scratch.heap.drain().filter(|entry| entry.bound < least).collect();
        left.sort_unstable_by(|a, b| b.cmp(a));
        for entry in left.iter().take(POLISHED) {
            if let Task::Cell(index) = entry.task {
                match self.scratch.cells[index as usize] {
                    Cell::Triangle { face, spots, .. } => self.polish_triangle(face, spots),
                    Cell::Arc { piece, spots, .. } => self.polish_arc(piece, spots),
                }
            }
        }
    }

    /// Newton's method in the plane of a triangle's parameters, held inside the triangle.
    fn polish_triangle(&mut self, face: u32, spots: [u32; 3]) {
        let [a, b, c] = spots.map(|spot| self.spot(spot).uv);
        let (e1, e2) = (b - a, c - a);
        let mut at = DVec2::splat(1.0 / 3.0);
        for _ in 0..4 {
            let here = self.gradient(face, a, e1, e2, at);
            let aside = 0.02;
            let right = self.gradient(face, a, e1, e2, at + DVec2::X * aside);
            let up = self.gradient(face, a, e1, e2, at + DVec2::Y * aside);
            let (xx, yy) = ((right.x - here.x) / aside, (up.y - here.y) / aside);
            let xy = ((right.y - here.y) + (up.x - here.x)) / (2.0 * aside);
            let determinant = xx * yy - xy * xy;
            if determinant <= 0.0 || xx + yy <= 0.0 {
                return;
            }
            let step = DVec2::new(xy * here.y - yy * here.x, xy * here.x - xx * here.y) / determinant;
            let next = inside(at, step);
            let moved = next.distance(at);
            at = next;
            if moved < 1e-4 {
                break;
            }
        }
        self.gradient(face, a, e1, e2, at);
    }

    /// Slope of the distance by the two sides of a triangle; makes a spot there.
    fn gradient(&mut self, face: u32, a: DVec2, e1: DVec2, e2: DVec2, at: DVec2) -> DVec2 {
        let uv = a + e1 * at.x + e2 * at.y;
        let surface = &self.question.samples.surfaces[face as usize];
        let (place, su, sv) = surface.point_slopes(uv);
        let normal = su.cross(sv).normalize_or_zero();
        let spot = self.new_spot(place, normal, uv);
        let slope = self.spot(spot).slope;
        let by_uv = DVec2::new(slope.dot(self.turned(su)), slope.dot(self.turned(sv)));
        DVec2::new(by_uv.dot(e1), by_uv.dot(e2))
    }

    /// Secant steps along a piece of edge.
    fn polish_arc(&mut self, piece: EdgePiece, _spots: [u32; 2]) {
        let span = piece.range[1] - piece.range[0];
        let (mut low, mut high) = (0.0, 1.0);
        let (mut at_low, mut at_high) = (self.rise(piece, 0.0, span), self.rise(piece, 1.0, span));
        if at_low >= 0.0 || at_high <= 0.0 {
            return;
        }
        for _ in 0..8 {
            let middle = low + (high - low) * (at_low / (at_low - at_high)).clamp(0.05, 0.95);
            let slope = self.rise(piece, middle, span);
            if slope.abs() < 1e-9 {
                return;
            }
            if slope < 0.0 {
                (low, at_low) = (middle, slope);
            } else {
                (high, at_high) = (middle, slope);
            }
        }
    }

    /// Slope of the distance along a piece of edge; makes a spot there.
    fn rise(&mut self, piece: EdgePiece, share: f64, span: f64) -> f64 {
        let curve = &self.question.samples.curves[piece.edge as usize];
        let (place, slope) = curve.point_slope(piece.range[0] + span * share);
        let normal = slope.any_orthogonal_vector().normalize_or_zero();
        let spot = self.new_spot(place, normal, DVec2::ZERO);
        self.spot(spot).slope.dot(self.turned(slope)) * span
    }

    fn answer(&mut self) -> Option<Least> {
        if self.best.is_none() {
            // Put aside unseen: any point of the surface stands for it.
            let point = self.question.samples.any_point()?;
            self.new_spot(point, DVec3::ZERO, DVec2::ZERO);
        }
        let spot = *self.spot(self.best?);
        let bound = self.floor.min(spot.near.distance);
        Some(Least { distance: spot.near.distance, point: spot.place, foot: spot.near.foot, bound })
    }
}

/// How far distance departs from a plane through one corner at the others.
#[derive(Default)]
struct Bend {
    up: f64,
    down: f64,
}

impl Bend {
    fn add(&mut self, miss: f64) {
        self.up = self.up.max(miss);
        self.down = self.down.max(-miss);
    }

    /// Lowest value the function can take, given the lowest corner and the best of the corners'
    /// own planes.
    ///
    /// Over a piece of side L a second derivative M misses the corners' planes by M L²/2. It
    /// lets the function fall below the corners by at most M L²/6 where it curves up (a half
    /// of the miss is three halves of that), and below a corner's plane by the miss itself
    /// where it curves down.
    fn lowest(&self, corner: f64, planes: f64) -> f64 {
        (corner - 0.5 * self.up).max(planes - self.down)
    }
}

/// Length of the difference of two unit normals; one where the surface degenerates.
fn turn_between(a: &Spot, b: &Spot) -> f64 {
    if a.normal == DVec3::ZERO || b.normal == DVec3::ZERO {
        1.0
    } else {
        a.normal.distance(b.normal)
    }
}

/// As much of a step as stays inside the triangle x, y >= 0, x + y <= 1.
fn inside(at: DVec2, step: DVec2) -> DVec2 {
    let mut share: f64 = 1.0;
    for (value, change) in [(at.x, step.x), (at.y, step.y), (1.0 - at.x - at.y, -step.x - step.y)] {
        if change < 0.0 {
            share = share.min(value / -change);
        }
    }
    at + step * share.max(0.0)
}
