//! Signed distance to a plane outline, exact for lines, arcs and cubics.

use std::f64::consts::TAU;

use glam::DVec2;

use crate::geometry::cubic::Cubic;
use crate::geometry::frame::unit;
use crate::geometry::order::Order;
use crate::geometry::outline::{Node, Outline, Side};

use super::Faces;

/// Chord error of the polylines on which the nearest piece of a cubic is sought, mm. Only a
/// start: the foot itself is found on the cubic.
const SEARCH_CHORD: f64 = 2e-3;

/// Chords of a cubic chain that share one box.
const CHORDS_PER_BOX: usize = 8;

/// An outline made ready for questions of distance.
#[derive(Clone, Debug)]
pub(super) struct FlatField {
    sides: Vec<FlatSide>,
    /// Sides of the outline, those that do not count among them.
    count: usize,
}

/// Distance from a point of the plane to an outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct FlatNear {
    /// Negative inside.
    pub distance: f64,
    pub foot: DVec2,
    /// Index of the outline's side, or of a corner (see [`FlatField::corner_count`]).
    pub side: u32,
    /// What stands out before `side` carried on smoothly (before both sides of a corner) is at
    /// least this far away.
    pub others: f64,
}

#[derive(Clone, Debug)]
struct FlatSide {
    index: u32,
    form: Form,
    /// Sums of the unit tangents of this side and its neighbour at both ends: a point whose
    /// foot is a corner lies inside if it is left of this sum (the plane case of the
    /// angle-weighted normals of Baerentzen & Aanaes, "Signed distance computation using the
    /// angle weighted pseudonormal", 2005).
    corners: [DVec2; 2],
    /// Sides of the field some of which stands out before this one carried on straight (an arc:
    /// round); and with those before the neighbours at its start and at its end.
    stands_out: Vec<usize>,
    at_corners: [Vec<usize>; 2],
    /// Sides behind which, carried on, the whole outline lies, this one first.
    cover: Option<Faces>,
}

/// Points looked at on each side to tell whether it stands out before another.
const LOOKS: usize = 8;

/// Standing out by less than this is lying flush, mm.
const FLUSH: f64 = 1e-7;

#[derive(Clone, Debug)]
enum Form {
    Line {
        from: DVec2,
        along: DVec2,
        length: f64,
    },
    /// `from` and `to` are unit spokes.
    Arc {
        centre: DVec2,
        radius: f64,
        from: DVec2,
        to: DVec2,
        turn: f64,
    },
    Cubic(Chain),
}

/// A chain of cubics with a polyline beside it.
#[derive(Clone, Debug)]
struct Chain {
    /// By the share of the way along each.
    cubics: Vec<Cubic<DVec2>>,
    /// Point, index of its cubic and parameter there.
    flat: Vec<(DVec2, usize, f64)>,
    boxes: Vec<(DVec2, DVec2)>,
}

/// Nearest point of one side.
struct Foot {
    square: f64,
    point: DVec2,
    place: Place,
}

enum Place {
    /// Within the side, which runs in this direction there (any length).
    Within(DVec2),
    Start,
    End,
}

impl FlatField {
    /// Field of an outline; sides for which `counts` is false bound the metal but are no
    /// surface (a half-profile's side on the axis).
    pub fn new(outline: &Outline, counts: impl Fn(&Side) -> bool) -> Self {
        let mut field = Self::plain(outline, counts);
        field.compare_sides();
        field
    }

    /// The same for whoever asks for distances alone: `others` and covers are not known.
    pub fn plain(outline: &Outline, counts: impl Fn(&Side) -> bool) -> Self {
        let all = outline.sides();
        let forms: Vec<Option<Form>> =
            all.iter().map(|side| counts(side).then(|| form(side)).flatten()).collect();
        let tangents: Vec<Option<[DVec2; 2]>> =
            forms.iter().map(|form| form.as_ref().map(Form::end_tangents)).collect();
        let count = all.len();
        let mut sides: Vec<FlatSide> = forms
            .into_iter()
            .enumerate()
            .filter_map(|(i, form)| {
                let own = tangents[i]?;
                let before = tangents[(i + count - 1) % count].map_or(DVec2::ZERO, |t| t[1]);
                let after = tangents[(i + 1) % count].map_or(DVec2::ZERO, |t| t[0]);
                let corners = [own[0] + before, own[1] + after];
                Some(FlatSide {
                    index: i as u32,
                    form: form?,
                    corners,
                    stands_out: Vec::new(),
                    at_corners: [Vec::new(), Vec::new()],
                    cover: None,
                })
            })
            .collect();
        // Chains are asked last, when there is a limit to keep them short.
        sides.sort_by_key(|side| (matches!(side.form, Form::Cubic(_)), side.index));
        Self { sides, count }
    }

    /// Finds out which sides stand out before which, and what covers each.
    fn compare_sides(&mut self) {
        let (sides, count) = (&mut self.sides, self.count);
        let points: Vec<[DVec2; LOOKS + 1]> = sides.iter().map(|side| side.form.looks()).collect();
        for side in sides.iter_mut() {
            side.stands_out = (0..points.len())
                .filter(|&other| points[other].iter().any(|point| side.form.is_before(*point)))
                .collect();
        }
        let before: Vec<(u32, Vec<usize>)> =
            sides.iter().map(|side| (side.index, side.stands_out.clone())).collect();
        for side in sides.iter_mut() {
            let index = side.index as usize;
            for (end, neighbour) in
                [(index + count - 1) % count, (index + 1) % count].into_iter().enumerate()
            {
                let mut both = side.stands_out.clone();
                if let Some((_, more)) = before.iter().find(|other| other.0 as usize == neighbour) {
                    both.extend(more.iter().filter(|other| !side.stands_out.contains(other)));
                }
                side.at_corners[end] = both;
            }
        }
        for index in 0..sides.len() {
            let before: Vec<DVec2> = points
                .iter()
                .flatten()
                .copied()
                .filter(|point| sides[index].form.is_before(*point))
                .collect();
            sides[index].cover = cover(sides, index, &points[index], &before);
        }
    }

    fn side(&self, index: u32) -> Option<&FlatSide> {
        self.sides.iter().find(|side| side.index == index)
    }

    /// Sides behind one or another of which, carried on, the whole outline lies.
    pub fn cover(&self, side: u32) -> Option<Faces> {
        self.side(side)?.cover
    }

    /// The sides that meet in a corner, those that do not count left out.
    pub fn sides_at(&self, corner: u32) -> Faces {
        let count = self.count as u32;
        let after = corner.saturating_sub(count);
        let both = [(after + count - 1) % count, after];
        let counted = both.into_iter().filter(|side| self.side(*side).is_some());
        counted.fold(Faces::new(&[]), Faces::and)
    }

    /// Signed distance of a point.
    pub fn near(&self, point: DVec2) -> FlatNear {
        let mut best: Option<(Foot, &FlatSide)> = None;
        let mut least = f64::INFINITY;
        for side in &self.sides {
            let Some(foot) = side.form.foot(point, least) else { continue };
            if foot.square < least {
                least = foot.square;
                best = Some((foot, side));
            }
        }
        let Some((foot, side)) = best else {
            return FlatNear {
                distance: f64::INFINITY,
                foot: point,
                side: 0,
                others: f64::INFINITY,
            };
        };
        let corner = |index: u32| (self.count as u32) + index % self.count as u32;
        let (along, index, stands_out) = match foot.place {
            Place::Within(along) => (along, side.index, &side.stands_out),
            Place::Start => (side.corners[0], corner(side.index), &side.at_corners[0]),
            Place::End => (side.corners[1], corner(side.index + 1), &side.at_corners[1]),
        };
        let inside = along.perp_dot(point - foot.point) > 0.0;
        let distance = least.sqrt();
        let others = if stands_out.is_empty() {
            f64::INFINITY
        } else if side.cover.is_some() {
            distance
        } else {
            stands_out
                .iter()
                .filter_map(|&other| self.sides[other].form.foot(point, f64::INFINITY))
                .fold(f64::INFINITY, |least, foot| least.lesser(foot.square))
                .sqrt()
        };
        FlatNear {
            distance: if inside { -distance } else { distance },
            foot: foot.point,
            side: index,
            others: others.greater(distance),
        }
    }

    /// Numbers of corners start here.
    pub fn corner_count(&self) -> u32 {
        self.count as u32
    }

    /// Signed distance to one side carried on straight (an arc: round), and its slope.
    pub fn carried_on(&self, side: u32, point: DVec2) -> Option<(f64, DVec2)> {
        self.side(side)?.form.carried_on(point)
    }
}

/// One or two sides that cover the points which lie before side `index`, if there are any. That
/// side itself (`own` are points of it) lies before those, so that they tell something there.
fn cover(sides: &[FlatSide], index: usize, own: &[DVec2], before: &[DVec2]) -> Option<Faces> {
    let number = sides[index].index;
    if before.is_empty() {
        return Some(Faces::new(&[number]));
    }
    let faces_own = |side: &FlatSide| {
        own.iter().all(|point| side.form.carried_on(*point).is_some_and(|on| on.0 > -FLUSH))
    };
    // Only what is behind a straight side stays behind it between two points.
    let straight: Vec<&FlatSide> = sides
        .iter()
        .filter(|side| !matches!(side.form, Form::Arc { .. }) && faces_own(side))
        .collect();
    let mut pair = None;
    for one in &straight {
        let left: Vec<DVec2> =
            before.iter().copied().filter(|point| one.form.is_before(*point)).collect();
        if left.is_empty() {
            return Some(Faces::new(&[number, one.index]));
        }
        let covers = |other: &&&FlatSide| !left.iter().any(|point| other.form.is_before(*point));
        if let (None, Some(other)) = (pair, straight.iter().find(covers)) {
            pair = Some(Faces::new(&[number, one.index, other.index]));
        }
    }
    pair
}

fn form(side: &Side) -> Option<Form> {
    match side {
        Side::Line { from, to } => {
            let along = *to - *from;
            let length = along.length();
            (length > 0.0).then(|| Form::Line { from: *from, along: along / length, length })
        }
        Side::Arc { from, centre, sweep } => {
            let spoke = *from - *centre;
            let radius = spoke.length();
            (radius > 0.0).then(|| {
                let start = spoke / radius;
                let to = unit(*sweep).rotate(start);
                Form::Arc { centre: *centre, radius, from: start, to, turn: sweep.signum() }
            })
        }
        Side::Cubic { nodes, .. } => (nodes.len() >= 2).then(|| Form::Cubic(Chain::new(nodes))),
    }
}

impl Form {
    fn end_tangents(&self) -> [DVec2; 2] {
        match self {
            Self::Line { along, .. } => [*along; 2],
            Self::Arc { from, to, turn, .. } => [from.perp() * *turn, to.perp() * *turn],
            Self::Cubic(chain) => chain.end_tangents(),
        }
    }

    /// Points all along the side, ends included.
    fn looks(&self) -> [DVec2; LOOKS + 1] {
        std::array::from_fn(|i| {
            let share = i as f64 / LOOKS as f64;
            match self {
                Self::Line { from, along, length } => *from + *along * (*length * share),
                Self::Arc { centre, radius, from, to, turn } => {
                    let round = libm::atan2(from.perp_dot(*to), from.dot(*to)) * turn;
                    let sweep = if round < 0.0 { round + TAU } else { round };
                    *centre + unit(sweep * share * turn).rotate(*from) * *radius
                }
                Self::Cubic(chain) => {
                    let last = chain.flat.len().saturating_sub(1);
                    chain.flat.get((last as f64 * share) as usize).map_or(DVec2::ZERO, |p| p.0)
                }
            }
        })
    }

    fn carried_on(&self, point: DVec2) -> Option<(f64, DVec2)> {
        let line = |from: DVec2, along: DVec2| (-along.perp_dot(point - from), -along.perp());
        match self {
            Self::Line { from, along, .. } => Some(line(*from, *along)),
            Self::Arc { centre, radius, turn, .. } => {
                let reach = point - *centre;
                let length = reach.length();
                (length > 1e-9).then(|| ((length - radius) * turn, reach / length * *turn))
            }
            Self::Cubic(chain) => {
                let [start, end] = chain.end_tangents();
                let (first, last) = (chain.flat.first()?.0, chain.flat.last()?.0);
                if (point - first).dot(start) < 0.0 {
                    return Some(line(first, start));
                }
                if (point - last).dot(end) > 0.0 {
                    return Some(line(last, end));
                }
                let foot = chain.foot(point, f64::INFINITY)?;
                let along = match foot.place {
                    Place::Within(along) => along.normalize_or_zero(),
                    Place::Start => start,
                    Place::End => end,
                };
                Some(line(foot.point, along))
            }
        }
    }

    /// Whether a point lies before this side carried on: not behind it, where the metal is.
    fn is_before(&self, point: DVec2) -> bool {
        match self {
            Self::Line { from, along, .. } => along.perp_dot(point - *from) < -FLUSH,
            // Metal within the circle has the rest of the body outside it.
            Self::Arc { turn, .. } if *turn > 0.0 => true,
            Self::Arc { centre, radius, .. } => point.distance(*centre) < radius - FLUSH,
            Self::Cubic(chain) => {
                let [start, end] = chain.end_tangents();
                let last = chain.flat.len().saturating_sub(1);
                let (Some(first), Some(last)) = (chain.flat.first(), chain.flat.get(last)) else {
                    return true;
                };
                if (point - first.0).dot(start) < 0.0 {
                    return start.perp_dot(point - first.0) < -FLUSH;
                }
                if (point - last.0).dot(end) > 0.0 {
                    return end.perp_dot(point - last.0) < -FLUSH;
                }
                match chain.foot(point, f64::INFINITY) {
                    Some(Foot { point: foot, place: Place::Within(along), .. }) => {
                        along.normalize_or_zero().perp_dot(point - foot) < -FLUSH
                    }
                    _ => false,
                }
            }
        }
    }

    /// Nearest point, or `None` if nothing of the side is nearer than the square root of `limit`.
    fn foot(&self, point: DVec2, limit: f64) -> Option<Foot> {
        match self {
            Self::Line { from, along, length } => {
                let reach = point - *from;
                let at = reach.dot(*along);
                let (foot, place) = if at <= 0.0 {
                    (*from, Place::Start)
                } else if at >= *length {
                    (*from + *along * *length, Place::End)
                } else {
                    (*from + *along * at, Place::Within(*along))
                };
                Some(Foot { square: foot.distance_squared(point), point: foot, place })
            }
            Self::Arc { centre, radius, from, to, turn } => {
                let reach = point - *centre;
                let length = reach.length();
                if from.perp_dot(reach) * turn >= 0.0 && reach.perp_dot(*to) * turn >= 0.0 {
                    // At the centre every point of the arc is as near as any other.
                    let spoke = if length > 1e-12 { reach / length } else { *from };
                    let gap = length - radius;
                    return Some(Foot {
                        square: gap * gap,
                        point: *centre + spoke * *radius,
                        place: Place::Within(spoke.perp() * *turn),
                    });
                }
                let (a, b) = (*centre + *from * *radius, *centre + *to * *radius);
                let (to_a, to_b) = (a.distance_squared(point), b.distance_squared(point));
                Some(if to_a <= to_b {
                    Foot { square: to_a, point: a, place: Place::Start }
                } else {
                    Foot { square: to_b, point: b, place: Place::End }
                })
            }
            Self::Cubic(chain) => chain.foot(point, limit),
        }
    }
}

impl Chain {
    fn new(nodes: &[Node]) -> Self {
        let mut cubics = Vec::with_capacity(nodes.len());
        let mut flat = Vec::new();
        for pair in nodes.windows(2) {
            let (from, to) = (&pair[0], &pair[1]);
            let span = to.t - from.t;
            let cubic =
                Cubic::between(from.point, from.slope * span, to.point, to.slope * span, 1.0);
            let bend = cubic.bend(0.0).length().greater(cubic.bend(1.0).length());
            let count = (bend / (8.0 * SEARCH_CHORD)).sqrt().ceil().clamp(1.0, 64.0) as usize;
            for i in 0..count {
                let t = i as f64 / count as f64;
                flat.push((cubic.value(t), cubics.len(), t));
            }
            cubics.push(cubic);
        }
        if let Some(last) = nodes.last().filter(|_| !cubics.is_empty()) {
            flat.push((last.point, cubics.len() - 1, 1.0));
        }
        let chords = flat.len().saturating_sub(1);
        let boxes = (0..chords)
            .step_by(CHORDS_PER_BOX)
            .map(|start| {
                let end = (start + CHORDS_PER_BOX).min(chords);
                let (low, high) = flat[start..=end].iter().fold(
                    (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY)),
                    |sum, place| (sum.0.min(place.0), sum.1.max(place.0)),
                );
                // Room for the cubic beside its chords.
                (low - 2.0 * SEARCH_CHORD, high + 2.0 * SEARCH_CHORD)
            })
            .collect();
        Self { cubics, flat, boxes }
    }

    fn end_tangents(&self) -> [DVec2; 2] {
        let at = |cubic: Option<&Cubic<DVec2>>, t: f64| {
            cubic.map_or(DVec2::X, |cubic| cubic.slope(t).normalize_or_zero())
        };
        [at(self.cubics.first(), 0.0), at(self.cubics.last(), 1.0)]
    }

    /// Keeps the chord of a box nearest to a point, with the share of the way along it, if it is
    /// nearer than the best so far.
    fn nearest_chord(&self, block: usize, point: DVec2, best: &mut (f64, Option<(usize, f64)>)) {
        let start = block * CHORDS_PER_BOX;
        let end = (start + CHORDS_PER_BOX + 1).min(self.flat.len());
        for (k, pair) in self.flat[start..end].windows(2).enumerate() {
            let along = pair[1].0 - pair[0].0;
            let square = along.length_squared();
            let t = ((point - pair[0].0).dot(along) / square.greater(1e-300)).clamp(0.0, 1.0);
            let gap = (pair[0].0 + along * t).distance_squared(point);
            if gap < best.0 {
                *best = (gap, Some((start + k, t)));
            }
        }
    }

    fn foot(&self, point: DVec2, limit: f64) -> Option<Foot> {
        let apart = |bounds: &(DVec2, DVec2)| {
            (bounds.0 - point).max(point - bounds.1).max(DVec2::ZERO).length_squared()
        };
        // The nearest box first: it makes most others superfluous.
        let mut nearest = (limit, None);
        for (block, bounds) in self.boxes.iter().enumerate() {
            let square = apart(bounds);
            if square < nearest.0 {
                nearest = (square, Some(block));
            }
        }
        let first = nearest.1?;
        let mut best = (limit, None);
        self.nearest_chord(first, point, &mut best);
        for (block, bounds) in self.boxes.iter().enumerate() {
            if block != first && apart(bounds) < best.0 {
                self.nearest_chord(block, point, &mut best);
            }
        }
        let (chord, within) = best.1?;
        let (a, b) = (self.flat[chord], self.flat[chord + 1]);
        let index = a.1;
        let end = if b.1 == index { b.2 } else { 1.0 };
        let cubic = &self.cubics[index];
        let mut t = a.2 + (end - a.2) * within;
        let (mut place, mut slope) = (cubic.value(t), cubic.slope(t));
        for _ in 0..6 {
            let bend = cubic.bend(t);
            let miss = place - point;
            let curve = slope.length_squared() + miss.dot(bend);
            // Where the curve bends away faster than the point is far, plain Gauss-Newton.
            let curve =
                if curve > 0.1 * slope.length_squared() { curve } else { slope.length_squared() };
            let next = (t - miss.dot(slope) / curve.greater(1e-300)).clamp(0.0, 1.0);
            let moved = next - t;
            t = next;
            (place, slope) = (cubic.value(t), cubic.slope(t));
            if moved.abs() < 1e-9 {
                break;
            }
        }
        let last = self.cubics.len() - 1;
        let position = if index == 0 && t <= 0.0 {
            Place::Start
        } else if index == last && t >= 1.0 {
            Place::End
        } else {
            Place::Within(slope)
        };
        Some(Foot { square: place.distance_squared(point), point: place, place: position })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn p(x: f64, y: f64) -> DVec2 {
        DVec2::new(x, y)
    }

    #[test]
    fn stadium_is_the_distance_to_its_spine_less_the_radius() {
        let outline = Outline::new(vec![
            Side::line(p(-2.0, -1.0), p(2.0, -1.0)),
            Side::Arc { from: p(2.0, -1.0), centre: p(2.0, 0.0), sweep: PI },
            Side::line(p(2.0, 1.0), p(-2.0, 1.0)),
            Side::Arc { from: p(-2.0, 1.0), centre: p(-2.0, 0.0), sweep: PI },
        ]);
        let field = FlatField::new(&outline, |_| true);
        for i in -40..=40 {
            for j in -30..=30 {
                let point = p(f64::from(i) * 0.1 + 0.003, f64::from(j) * 0.07 + 0.001);
                let expected = point.distance(p(point.x.clamp(-2.0, 2.0), 0.0)) - 1.0;
                let near = field.near(point);
                assert!((near.distance - expected).abs() < 1e-12, "{point}");
                assert!((near.foot.distance(point) - expected.abs()).abs() < 1e-12);
                assert!(near.others >= near.distance.abs());
            }
        }
    }

    #[test]
    fn notch_corners_and_their_signs() {
        let outline = Outline::new(vec![
            Side::line(p(0.0, 0.0), p(4.0, 0.0)),
            Side::line(p(4.0, 0.0), p(4.0, 4.0)),
            Side::line(p(4.0, 4.0), p(3.0, 4.0)),
            Side::Arc { from: p(3.0, 4.0), centre: p(2.0, 4.0), sweep: -PI },
            Side::line(p(1.0, 4.0), p(0.0, 4.0)),
            Side::line(p(0.0, 4.0), p(0.0, 0.0)),
        ]);
        let field = FlatField::new(&outline, |_| true);
        for (point, expected) in [
            (p(2.0, 3.5), 0.5),
            (p(2.0, 2.8), -0.2),
            (p(2.3, 3.6), 0.5),
            (p(0.5, 3.9), -0.1),
            (p(2.0, 5.0), 2f64.sqrt()),
            (p(-3.0, -4.0), 5.0),
            (p(0.9, 4.05), 0.05),
        ] {
            assert!((field.near(point).distance - expected).abs() < 1e-12, "{point}");
        }
    }

    #[test]
    fn cubic_foot_is_on_the_cubic_not_on_its_chords() {
        // Parabola y = x^2 is a cubic; foot of (0, 2) by hand: x^2 = 3/2, distance sqrt(7)/2.
        let node = |t: f64| Node { t, point: p(t, t * t), slope: p(1.0, 2.0 * t) };
        let outline = Outline::new(vec![
            Side::cubic(vec![node(-3.0), node(0.4), node(3.0)]),
            Side::line(p(3.0, 9.0), p(-3.0, 9.0)),
        ]);
        let field = FlatField::new(&outline, |_| true);
        let near = field.near(p(0.0, 2.0));
        assert!((near.distance + 7f64.sqrt() / 2.0).abs() < 1e-9, "{near:?}");
        let below = field.near(p(0.0, -1.0));
        assert!((below.distance - 1.0).abs() < 1e-9, "{below:?}");
    }
}
