//! The neck's centreline: a plane curve by arc length, in the x-z plane.
//!
//! Heading `psi` is the angle by which the tangent has turned down from +x, so the tangent is
//! `(cos psi, -sin psi)` and the in-plane normal ("up", the top of the tube) `(sin psi, cos psi)`
//! in (x, z). Curvature is positive where the neck turns down.

use std::f64::consts::PI;

use glam::{DVec2, DVec3};

/// Place, direction and curvature of the centreline at one station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    pub station: f64,
    pub centre: DVec3,
    pub tangent: DVec3,
    pub up: DVec3,
    /// 1/mm, positive where the neck turns down.
    pub curvature: f64,
    /// Radians turned down from +x.
    pub heading: f64,
}

/// A piece of centreline as the maker gives it.
#[derive(Clone, Debug, PartialEq)]
pub enum Course {
    Straight {
        length: f64,
    },
    /// `bend` radians, positive down; `radius` of the centreline.
    Bend {
        bend: f64,
        radius: f64,
    },
    /// Measured points in the x-z plane from the end of the piece before, interpolated C2.
    Points(Vec<DVec2>),
}

/// The centreline, by station from the cork end. Runs on straight beyond both ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Centreline {
    pieces: Vec<Piece>,
    length: f64,
}

#[derive(Clone, Debug, PartialEq)]
struct Piece {
    from: f64,
    length: f64,
    start: DVec2,
    heading: f64,
    form: Form,
}

#[derive(Clone, Debug, PartialEq)]
enum Form {
    Line,
    Arc { curvature: f64 },
    Free(FreeCurve),
}

fn tangent(heading: f64) -> DVec2 {
    let (sin, cos) = libm::sincos(heading);
    DVec2::new(cos, -sin)
}

fn up(heading: f64) -> DVec2 {
    let (sin, cos) = libm::sincos(heading);
    DVec2::new(sin, cos)
}

impl Centreline {
    /// Joins the pieces end to end from the origin, heading +x. Pieces without length are left out.
    pub fn new(courses: &[Course]) -> Self {
        let mut pieces: Vec<Piece> = Vec::new();
        let (mut from, mut start, mut heading) = (0.0, DVec2::ZERO, 0.0);
        for course in courses {
            let (length, form) = match course {
                Course::Straight { length } => (*length, Form::Line),
                Course::Bend { bend, radius } => {
                    (bend.abs() * radius, Form::Arc { curvature: bend.signum() / radius })
                }
                Course::Points(points) => {
                    let curve = FreeCurve::through(start, heading, points);
                    (curve.length(), Form::Free(curve))
                }
            };
            // `>` also turns away what is not a number.
            if length > 0.0 {
                let piece = Piece { from, length, start, heading, form };
                let (point, turned, _) = piece.at(length);
                from += length;
                start = point;
                heading = turned;
                pieces.push(piece);
            }
        }
        if pieces.is_empty() {
            pieces.push(Piece {
                from: 0.0,
                length: 1.0,
                start: DVec2::ZERO,
                heading: 0.0,
                form: Form::Line,
            });
            from = 1.0;
        }
        Self { pieces, length: from }
    }

    /// Total length, mm: the station of the tenon's free end.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Place, direction and curvature at a station; straight on beyond both ends.
    pub fn at(&self, station: f64) -> Station {
        let index = self.pieces.partition_point(|piece| piece.from <= station).max(1) - 1;
        let piece = &self.pieces[index];
        let within = (station - piece.from).clamp(0.0, piece.length);
        let beyond = if station < 0.0 {
            station
        } else if station > self.length {
            station - self.length
        } else {
            0.0
        };
        let (point, heading, curvature) = piece.at(within);
        let t = tangent(heading);
        let n = up(heading);
        let place = point + t * beyond;
        Station {
            station,
            centre: lift(place),
            tangent: lift(t),
            up: lift(n),
            curvature: if beyond == 0.0 { curvature } else { 0.0 },
            heading,
        }
    }

    /// Stations where one piece ends and the next begins, both ends of the neck included.
    pub fn breaks(&self) -> Vec<f64> {
        let mut breaks: Vec<f64> = self.pieces.iter().map(|piece| piece.from).collect();
        breaks.push(self.length);
        breaks
    }

    /// Stations inside measured pieces where the interpolation changes from cubic to cubic.
    pub fn inner_breaks(&self) -> Vec<f64> {
        self.pieces
            .iter()
            .filter_map(|piece| match &piece.form {
                Form::Free(curve) => Some(curve.knots.iter().map(|knot| piece.from + knot.1)),
                _ => None,
            })
            .flatten()
            .collect()
    }

    /// Greatest curvature magnitude over a span of stations, sampled every 0.5 mm, with its station.
    pub fn sharpest(&self, from: f64, to: f64) -> (f64, f64) {
        let count = ((to - from) / 0.5).ceil().clamp(1.0, 10_000.0) as usize;
        (0..=count)
            .map(|i| from + (to - from) * i as f64 / count as f64)
            .map(|station| (self.at(station).curvature.abs(), station))
            .fold((0.0, from), |best, here| if here.0 > best.0 { here } else { best })
    }

    /// Station whose centre is nearest to a point; for a point beside the neck the point lies in its section plane.
    pub fn nearest_station(&self, point: DVec3) -> f64 {
        let flat = DVec2::new(point.x, point.z);
        let mut nearest = (f64::INFINITY, 0.0);
        for piece in &self.pieces {
            let station = piece.from + piece.foot(flat).clamp(0.0, piece.length);
            let square = self.at(station).centre.distance_squared(point);
            if square < nearest.0 {
                nearest = (square, station);
            }
        }
        nearest.1
    }
}

/// A point of the x-z plane in space.
fn lift(flat: DVec2) -> DVec3 {
    DVec3::new(flat.x, 0.0, flat.y)
}

impl Piece {
    /// Point, heading and curvature at a length from the piece's start.
    fn at(&self, within: f64) -> (DVec2, f64, f64) {
        match &self.form {
            Form::Line => (self.start + tangent(self.heading) * within, self.heading, 0.0),
            Form::Arc { curvature } => {
                let heading = self.heading + curvature * within;
                ((up(heading) - up(self.heading)) / *curvature + self.start, heading, *curvature)
            }
            Form::Free(curve) => curve.at(within),
        }
    }

    /// Length from the piece's start to the foot of the perpendicular from `point`; lines run
    /// on beyond their ends, curves stop there.
    fn foot(&self, point: DVec2) -> f64 {
        match &self.form {
            Form::Line => (point - self.start).dot(tangent(self.heading)),
            Form::Arc { curvature } => {
                let centre = self.start - up(self.heading) / *curvature;
                let spoke = (point - centre) * curvature.signum();
                let heading = libm::atan2(spoke.x, spoke.y);
                let middle = self.heading + curvature * self.length / 2.0;
                let turned = heading - 2.0 * PI * ((heading - middle) / (2.0 * PI)).round();
                ((turned - self.heading) / curvature).clamp(0.0, self.length)
            }
            Form::Free(curve) => curve.foot(point),
        }
    }
}

/// C2 cubic interpolation of measured points, by arc length.
///
/// Parametrised by chord length. It leaves its first point in the given heading and has no
/// curvature at either end, so that straight pieces join it C2; one extra knot in the first
/// span makes room for the fourth end condition.
#[derive(Clone, Debug, PartialEq)]
struct FreeCurve {
    /// Parameter, arc length, point, second derivative at each knot.
    knots: Vec<(f64, f64, DVec2, DVec2)>,
    /// Arc length at evenly spaced parameters of each span: first guess for the inverse.
    marks: Vec<(f64, f64)>,
    /// Heading of the chord to the first point: heads are unwrapped from here.
    heading: f64,
}

/// Marks per span between knots.
const MARKS: usize = 8;

impl FreeCurve {
    fn through(start: DVec2, heading: f64, points: &[DVec2]) -> Self {
        let mut values: Vec<Option<DVec2>> = vec![Some(start)];
        let mut parameters = vec![0.0];
        for (index, &point) in points.iter().enumerate() {
            let before = if index == 0 { start } else { points[index - 1] };
            let from = parameters.last().copied().unwrap_or(0.0);
            let chord = point.distance(before);
            if index == 0 {
                parameters.push(from + chord / 2.0);
                values.push(None);
            }
            parameters.push(from + chord);
            values.push(Some(point));
        }
        let (values, bends) = solve_spline(&parameters, &values, tangent(heading));
        let mut curve = Self {
            knots: parameters
                .iter()
                .zip(values)
                .zip(bends)
                .map(|((&t, value), bend)| (t, 0.0, value, bend))
                .collect(),
            marks: Vec::new(),
            heading,
        };
        let mut length = 0.0;
        curve.marks.push((0.0, 0.0));
        for span in 1..curve.knots.len() {
            let (a, b) = (curve.knots[span - 1].0, curve.knots[span].0);
            for k in 0..MARKS {
                let t0 = a + (b - a) * k as f64 / MARKS as f64;
                let t1 = a + (b - a) * (k + 1) as f64 / MARKS as f64;
                length += curve.arc(t0, t1);
                curve.marks.push((t1, length));
            }
            curve.knots[span].1 = length;
        }
        curve
    }

    fn length(&self) -> f64 {
        self.marks.last().map_or(0.0, |mark| mark.1)
    }

    /// Point and first two derivatives by parameter.
    fn derivatives(&self, t: f64) -> (DVec2, DVec2, DVec2) {
        let next = self.knots.partition_point(|knot| knot.0 <= t).clamp(1, self.knots.len() - 1);
        let (a, b) = (&self.knots[next - 1], &self.knots[next]);
        let h = b.0 - a.0;
        let (l, r) = (b.0 - t, t - a.0);
        let first = a.2 / h - a.3 * (h / 6.0);
        let second = b.2 / h - b.3 * (h / 6.0);
        (
            a.3 * (l * l * l / (6.0 * h)) + b.3 * (r * r * r / (6.0 * h)) + first * l + second * r,
            b.3 * (r * r / (2.0 * h)) - a.3 * (l * l / (2.0 * h)) + second - first,
            a.3 * (l / h) + b.3 * (r / h),
        )
    }

    /// Arc length between two parameters of one span, by five-point Gauss quadrature.
    fn arc(&self, t0: f64, t1: f64) -> f64 {
        const NODES: [(f64, f64); 5] = [
            (0.0, 0.568_888_888_888_888_9),
            (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
            (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
            (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
            (0.906_179_845_938_664, 0.236_926_885_056_189_08),
        ];
        let (middle, half) = ((t0 + t1) / 2.0, (t1 - t0) / 2.0);
        NODES.iter().map(|(x, w)| w * self.derivatives(middle + half * x).1.length()).sum::<f64>()
            * half
    }

    /// Parameter at an arc length: Newton from the nearest mark below.
    fn parameter(&self, length: f64) -> f64 {
        let index = self.marks.partition_point(|mark| mark.1 <= length).max(1) - 1;
        let (t0, s0) = self.marks[index];
        let end = self.marks.last().map_or(t0, |mark| mark.0);
        let mut t = t0;
        for _ in 0..6 {
            let speed = self.derivatives(t).1.length();
            let step = (length - s0 - self.arc(t0, t)) / speed.max(1e-9);
            t = (t + step).clamp(0.0, end);
            if step.abs() < 1e-12 {
                break;
            }
        }
        t
    }

    fn at(&self, length: f64) -> (DVec2, f64, f64) {
        let (point, slope, bend) = self.derivatives(self.parameter(length));
        let heading = libm::atan2(-slope.y, slope.x);
        let turned = heading - 2.0 * PI * ((heading - self.heading) / (2.0 * PI)).round();
        let speed = slope.length().max(1e-12);
        // A curve that turns down (towards -z) has a clockwise second derivative.
        (point, turned, -slope.perp_dot(bend) / (speed * speed * speed))
    }

    /// Arc length of the point nearest to `point`: best mark, then Newton on the right angle.
    fn foot(&self, point: DVec2) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for &(t, _) in &self.marks {
            let square = self.derivatives(t).0.distance_squared(point);
            if square < best.0 {
                best = (square, t);
            }
        }
        let end = self.marks.last().map_or(0.0, |mark| mark.0);
        let mut t = best.1;
        for _ in 0..12 {
            let (place, slope, bend) = self.derivatives(t);
            let miss = place - point;
            let curve = slope.length_squared() + miss.dot(bend);
            let step = miss.dot(slope) / curve.abs().max(1e-12);
            t = (t - step).clamp(0.0, end);
            if step.abs() < 1e-12 {
                break;
            }
        }
        let index = self.marks.partition_point(|mark| mark.0 <= t).max(1) - 1;
        let (t0, s0) = self.marks[index];
        s0 + self.arc(t0, t)
    }
}

/// Values and second derivatives of the C2 cubic at every knot.
///
/// Unknown are the second derivatives and the values marked `None`; known are continuity of
/// the slope at the inner knots, the slope at the start, and no bend at either end.
fn solve_spline(
    parameters: &[f64],
    values: &[Option<DVec2>],
    start_slope: DVec2,
) -> (Vec<DVec2>, Vec<DVec2>) {
    let count = parameters.len();
    let free: Vec<usize> = (0..count).filter(|&i| values[i].is_none()).collect();
    let size = count + free.len();
    let mut rows: Vec<(Vec<f64>, DVec2)> = Vec::with_capacity(size);
    // Adds `weight * value[knot]` to a row, on the known side if it is known.
    let add_value = |row: &mut (Vec<f64>, DVec2), knot: usize, weight: f64| match values[knot] {
        Some(value) => row.1 -= value * weight,
        None => {
            if let Some(place) = free.iter().position(|&i| i == knot) {
                row.0[count + place] += weight;
            }
        }
    };
    let h = |i: usize| parameters[i + 1] - parameters[i];
    let mut unit_row = |knot: usize| {
        let mut row = (vec![0.0; size], DVec2::ZERO);
        row.0[knot] = 1.0;
        rows.push(row);
    };
    unit_row(0);
    unit_row(count - 1);
    let mut start = (vec![0.0; size], start_slope);
    add_value(&mut start, 1, 1.0 / h(0));
    add_value(&mut start, 0, -1.0 / h(0));
    start.0[0] -= h(0) / 3.0;
    start.0[1] -= h(0) / 6.0;
    rows.push(start);
    for i in 1..count - 1 {
        let mut row = (vec![0.0; size], DVec2::ZERO);
        add_value(&mut row, i, 1.0 / h(i - 1) + 1.0 / h(i));
        add_value(&mut row, i - 1, -1.0 / h(i - 1));
        add_value(&mut row, i + 1, -1.0 / h(i));
        row.0[i - 1] += h(i - 1) / 6.0;
        row.0[i] += (h(i - 1) + h(i)) / 3.0;
        row.0[i + 1] += h(i) / 6.0;
        rows.push(row);
    }
    let solution = solve_dense(rows);
    let all = (0..count)
        .map(|i| match values[i] {
            Some(value) => value,
            None => {
                let place = free.iter().position(|&k| k == i).unwrap_or(0);
                solution[count + place]
            }
        })
        .collect();
    (all, solution[..count].to_vec())
}

/// Gaussian elimination with row pivoting; the systems here have at most a few hundred rows.
fn solve_dense(mut rows: Vec<(Vec<f64>, DVec2)>) -> Vec<DVec2> {
    let size = rows.len();
    for column in 0..size {
        let pivot = (column..size)
            .max_by(|&a, &b| rows[a].0[column].abs().total_cmp(&rows[b].0[column].abs()))
            .unwrap_or(column);
        rows.swap(column, pivot);
        let (head, tail) = rows.split_at_mut(column + 1);
        let base = &head[column];
        for row in tail {
            let factor = row.0[column] / base.0[column];
            if factor == 0.0 {
                continue;
            }
            for k in column..size {
                row.0[k] -= factor * base.0[k];
            }
            row.1 -= base.1 * factor;
        }
    }
    let mut solution = vec![DVec2::ZERO; size];
    for i in (0..size).rev() {
        let known: DVec2 = (i + 1..size).map(|k| solution[k] * rows[i].0[k]).sum();
        solution[i] = (rows[i].1 - known) / rows[i].0[i];
    }
    solution
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alto() -> Centreline {
        Centreline::new(&[
            Course::Straight { length: 50.0 },
            Course::Bend { bend: 20f64.to_radians(), radius: 150.0 },
            Course::Bend { bend: 75f64.to_radians(), radius: 48.0 },
            Course::Straight { length: 28.0 },
        ])
    }

    #[test]
    fn length_and_net_bend_add_up() {
        let line = alto();
        let expected = 50.0 + 150.0 * 20f64.to_radians() + 48.0 * 75f64.to_radians() + 28.0;
        assert!((line.length() - expected).abs() < 1e-12);
        assert!((line.at(line.length()).heading - 95f64.to_radians()).abs() < 1e-12);
    }

    #[test]
    fn quarter_circle_ends_where_it_must() {
        let line = Centreline::new(&[Course::Bend { bend: PI / 2.0, radius: 40.0 }]);
        let end = line.at(line.length());
        assert!(end.centre.distance(DVec3::new(40.0, 0.0, -40.0)) < 1e-12);
        assert!(end.tangent.distance(DVec3::NEG_Z) < 1e-12);
        assert!(end.up.distance(DVec3::X) < 1e-12);
    }

    #[test]
    fn the_nearest_station_is_the_one_a_point_was_lifted_from() {
        let line = alto();
        for k in 0..190 {
            let station = f64::from(k) + 0.37;
            let at = line.at(station);
            for height in [-8.0, 0.5, 14.0] {
                let found = line.nearest_station(at.centre + at.up * height);
                assert!((found - station).abs() < 1e-9, "{found} for {station}, height {height}");
            }
        }
    }

    #[test]
    fn measured_points_of_a_circle_give_back_the_circle() {
        // Points on a circle of 60 mm entered from a straight: between the ends the C2 curve
        // has the circle's curvature; the expected heading at each point is the circle's.
        let radius = 60.0;
        let points: Vec<DVec2> = (1..=24)
            .map(|i| f64::from(i) * 4f64.to_radians())
            .map(|a| DVec2::new(20.0 + radius * libm::sin(a), radius * (libm::cos(a) - 1.0)))
            .collect();
        let line = Centreline::new(&[
            Course::Straight { length: 20.0 },
            Course::Points(points.clone()),
            Course::Straight { length: 10.0 },
        ]);
        let middle = line.at(20.0 + radius * 48f64.to_radians());
        assert!((middle.curvature - 1.0 / radius).abs() < 2e-4, "{}", middle.curvature);
        for point in &points {
            let found = line.nearest_station(lift(*point));
            let miss = line.at(found).centre.distance(lift(*point));
            assert!(miss < 1e-9, "{miss}");
        }
        // Arc length by its own definition: a step of ds moves by ds.
        let (a, b) = (line.at(60.0), line.at(60.001));
        assert!((a.centre.distance(b.centre) - 0.001).abs() < 1e-9);
        // No jump of heading or curvature where the straights join.
        for join in [20.0, line.length() - 10.0] {
            let (before, after) = (line.at(join - 1e-7), line.at(join + 1e-7));
            assert!((before.heading - after.heading).abs() < 1e-6);
            assert!((before.curvature - after.curvature).abs() < 1e-6);
        }
    }
}
