//! A piece as the lay sees it: its outline, points along it, and how far any point is from it.

use glam::DVec2;

use crate::geometry::outline::nearest_on_line;

use super::field::Field;

/// Longest way between two points of the outline that are asked for their distance, mm.
const POINTS_APART: f64 = 5.0;

/// Width of a cell of the distance field, mm.
const CELL: f64 = 1.0;

/// A corner that turns by more than this is asked for itself, radians.
const SHARP: f64 = 0.35;

/// Of so many points one is asked where all, half and few of them are looked at.
const EVERY: [usize; 3] = [1, 2, 4];
/// Their places in [`Shape::samples`].
pub const ALL: usize = 0;
pub const HALF: usize = 1;
pub const FEW: usize = 2;

/// So many points make a stretch that is passed over where it is far from what is looked at.
const STRETCH: usize = 8;

/// An outline with its distance field. Millimetres; the middle of its box is the origin.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Corners, counter-clockwise.
    pub outline: Vec<DVec2>,
    /// Points along the outline, its sharp corners among them: all of them, half, and few.
    pub samples: [Samples; 3],
    /// Half the size of its box, whose middle is the origin.
    pub half: DVec2,
    /// No point is farther from the origin.
    pub reach: f64,
    pub area: f64,
    /// The origin, in the frame the corners were given in.
    pub middle: DVec2,
    /// Signed distance near the outline, negative inside; `None` farther away than the room asked for.
    pub field: Field,
}

impl Shape {
    /// A shape from its corners, either way round, moved so that the middle of its box is the origin. Distances
    /// are known up to `room` from it.
    #[must_use]
    pub fn new(corners: &[DVec2], room: f64) -> Self {
        let (low, high) = bounds(corners);
        let middle = (low + high) / 2.0;
        let mut outline: Vec<DVec2> = corners.iter().map(|corner| *corner - middle).collect();
        let area = signed_area(&outline);
        if area < 0.0 {
            outline.reverse();
        }
        let points = points_along(&outline);
        let samples = EVERY.map(|every| Samples::of(&points, every));
        let reach = outline.iter().map(|corner| corner.length()).fold(0.0, f64::max);
        let room = DVec2::splat(room + 2.0 * CELL);
        let field = Field::new((low - middle - room, high - middle + room), CELL, |point| {
            signed_distance(&outline, point)
        });
        let half = (high - low) / 2.0;
        Self { outline, samples, half, reach, area: area.abs(), middle, field }
    }
}

impl Shape {
    /// Whether a point is surely farther from the outline than so much.
    #[must_use]
    pub fn is_farther(&self, point: DVec2, than: f64) -> bool {
        let beyond = (point.abs() - self.half).max(DVec2::ZERO);
        if beyond.length_squared() > than * than {
            return true;
        }
        // Between knots the field is the mean of distances that are off by a cell's diagonal at most.
        self.field.at(point).is_some_and(|(distance, _)| distance > than + 1.5 * CELL)
    }
}

/// Points along an outline, in stretches.
#[derive(Clone, Debug)]
pub struct Samples {
    pub stretches: Vec<Stretch>,
    /// How many of all points each stands for.
    pub share: f64,
}

/// Points that follow each other.
#[derive(Clone, Debug)]
pub struct Stretch {
    pub points: Vec<DVec2>,
    /// A circle round them.
    pub middle: DVec2,
    pub radius: f64,
}

impl Samples {
    fn of(points: &[DVec2], every: usize) -> Self {
        let chosen: Vec<DVec2> = points.iter().step_by(every).copied().collect();
        let share = points.len() as f64 / chosen.len().max(1) as f64;
        let stretches = chosen.chunks(STRETCH).map(|points| {
            let (low, high) = bounds(points);
            let middle = (low + high) / 2.0;
            let radius = points.iter().map(|point| point.distance(middle)).fold(0.0, f64::max);
            Stretch { points: points.to_vec(), middle, radius }
        });
        Self { stretches: stretches.collect(), share }
    }

    /// All of them.
    pub fn points(&self) -> impl Iterator<Item = DVec2> + '_ {
        self.stretches.iter().flat_map(|stretch| stretch.points.iter().copied())
    }
}

/// Points along an outline, evenly between its sharp corners.
fn points_along(outline: &[DVec2]) -> Vec<DVec2> {
    let count = outline.len();
    let at = |k: usize| outline[k % count];
    let sharp = |k: usize| {
        let (before, after) = (at(k) - at(k + count - 1), at(k + 1) - at(k));
        libm::atan2(before.perp_dot(after), before.dot(after)).abs() > SHARP
    };
    let corners: Vec<usize> = (0..count).filter(|&k| sharp(k)).collect();
    let Some(&first) = corners.first() else { return outline.to_vec() };
    let ends = corners.iter().skip(1).copied().chain([first + count]);
    let mut points = Vec::new();
    for (from, to) in corners.iter().copied().zip(ends) {
        let length: f64 = (from..to).map(|k| at(k).distance(at(k + 1))).sum();
        let step = length / (length / POINTS_APART).ceil().max(1.0);
        let mut next = 0.0;
        let mut gone = 0.0;
        for k in from..to {
            let side = at(k).distance(at(k + 1));
            while next < gone + side && next < length - step / 2.0 {
                points
                    .push(at(k).lerp(at(k + 1), ((next - gone) / side.max(1e-12)).clamp(0.0, 1.0)));
                next += step;
            }
            gone += side;
        }
    }
    points
}

/// Corners of the box round points.
pub fn bounds(points: &[DVec2]) -> (DVec2, DVec2) {
    points.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), point| {
        (low.min(*point), high.max(*point))
    })
}

/// The sides of a closed outline.
pub fn sides(outline: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

/// Area of a closed outline, positive counter-clockwise (Green), mm².
pub fn signed_area(outline: &[DVec2]) -> f64 {
    sides(outline).map(|(a, b)| a.perp_dot(b)).sum::<f64>() / 2.0
}

/// Exact signed distance of a point to a closed outline, negative inside, mm.
pub fn signed_distance(outline: &[DVec2], point: DVec2) -> f64 {
    let mut square = f64::INFINITY;
    let mut inside = false;
    for (a, b) in sides(outline) {
        square = square.min(point.distance_squared(nearest_on_line(a, b, point)));
        if (a.y <= point.y) != (b.y <= point.y)
            && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
        {
            inside = !inside;
        }
    }
    if inside { -square.sqrt() } else { square.sqrt() }
}

/// Exact least distance of two closed outlines that do not cross, 0 where they do, and `limit` where they are farther apart, mm.
pub fn apart(one: &[DVec2], other: &[DVec2], limit: f64) -> f64 {
    let mut least = limit * limit;
    let [one, other] = [one, other].map(runs);
    for run in &one {
        for beside in &other {
            if run.gap_squared(beside) > least {
                continue;
            }
            for &(a, b) in &run.sides {
                for &(p, q) in &beside.sides {
                    let [side, beside] = [b - a, q - p];
                    let across = side.perp_dot(beside);
                    if across != 0.0 {
                        let (s, t) =
                            ((p - a).perp_dot(beside) / across, (p - a).perp_dot(side) / across);
                        if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
                            return 0.0;
                        }
                    }
                    for (point, from, to) in [(a, p, q), (b, p, q), (p, a, b), (q, a, b)] {
                        least = least.min(point.distance_squared(nearest_on_line(from, to, point)));
                    }
                }
            }
        }
    }
    least.sqrt()
}

/// Sides of an outline that follow each other, and the box round them.
struct Run {
    sides: Vec<(DVec2, DVec2)>,
    low: DVec2,
    high: DVec2,
}

impl Run {
    /// Square of how far the boxes of two are apart.
    fn gap_squared(&self, other: &Self) -> f64 {
        (other.low - self.high).max(self.low - other.high).max(DVec2::ZERO).length_squared()
    }
}

fn runs(outline: &[DVec2]) -> Vec<Run> {
    let sides: Vec<(DVec2, DVec2)> = sides(outline).collect();
    let run = |sides: &[(DVec2, DVec2)]| {
        let ends: Vec<DVec2> = sides.iter().flat_map(|&(a, b)| [a, b]).collect();
        let (low, high) = bounds(&ends);
        Run { sides: sides.to_vec(), low, high }
    };
    sides.chunks(STRETCH).map(run).collect()
}
