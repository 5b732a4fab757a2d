//! The centreline made ready for questions of distance: short quintics by station.
//!
//! Evaluating the definition takes several sines and, on a measured centreline, an inversion
//! of arc length; a quintic through the exact place, tangent and curvature at both ends of a
//! span takes a dozen products. Over a span h of a bend of radius R it departs from the circle
//! by about h^6 / (46080 R^5); spans are chosen to keep that below [`FIDELITY`].

use glam::{DVec2, DVec3};

use crate::geometry::centreline::Centreline;
use crate::geometry::order::Order;

/// Greatest departure from a straight or a circular piece, mm.
const FIDELITY: f64 = 1e-8;

/// Longest span on a measured piece, mm.
const MEASURED_SPAN: f64 = 2.0;

/// Distance from a jump of curvature at which the curvature of its own side is read, mm.
const ASIDE: f64 = 1e-7;

/// A stretch of centreline.
#[derive(Clone, Debug)]
pub(super) struct Track {
    spans: Vec<Span>,
    /// The section planes at the spans' ends, one more than spans: tangent, and the height of
    /// the origin's plane over it.
    planes: Vec<(DVec2, f64)>,
}

#[derive(Clone, Debug)]
struct Span {
    from: f64,
    length: f64,
    /// Coefficients by the length from the span's start.
    place: [DVec2; 6],
}

/// A place on a track: span and length from its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mark {
    pub span: usize,
    pub within: f64,
}

/// The section plane at a mark.
#[derive(Clone, Copy, Debug)]
pub(super) struct Section {
    centre: DVec2,
    tangent: DVec2,
    up: DVec2,
    curvature: f64,
}

/// A point seen from a section plane.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Height above the plane, along the tangent.
    pub height: f64,
    /// The point's shadow in the plane: y to the player's left, and along the in-plane normal.
    pub flat: DVec2,
    /// How fast the plane passes the point, per mm of station: 1 + curvature × normal.
    pub stretch: f64,
    /// How fast the shadow moves along the normal, per mm of station.
    pub drift: f64,
}

impl Track {
    /// Track from the first to the last of `marks`, rising stations; none of its spans crosses
    /// a mark, so laws that change there stay smooth in each span, nor is longer than `longest`.
    pub fn new(centreline: &Centreline, marks: &[f64], longest: f64) -> Self {
        let mut spans = Vec::new();
        for pair in marks.windows(2) {
            let whole = pair[1] - pair[0];
            let count = (whole / span_length(centreline, pair[0], pair[1]).lesser(longest)).ceil();
            let count = count.clamp(1.0, 10_000.0) as usize;
            let length = whole / count as f64;
            for i in 0..count {
                let from = pair[0] + length * i as f64;
                spans.push(Span { from, length, place: quintic(centreline, from, length) });
            }
        }
        let ends = spans.iter().map(|span| span.from).chain(marks.last().copied());
        let planes = ends
            .map(|station| {
                let at = centreline.at(station);
                let tangent = flatten(at.tangent);
                (tangent, flatten(at.centre).dot(tangent))
            })
            .collect();
        Self { spans, planes }
    }

    pub fn span_count(&self) -> usize {
        self.spans.len()
    }

    /// Share of its span at which a mark lies.
    pub fn share(&self, mark: Mark) -> f64 {
        mark.within / self.span(mark.span).1
    }

    /// First station and length of a span.
    pub fn span(&self, index: usize) -> (f64, f64) {
        self.spans.get(index).map_or((0.0, 0.0), |span| (span.from, span.length))
    }

    pub fn station(&self, mark: Mark) -> f64 {
        self.span(mark.span).0 + mark.within
    }

    pub fn start(&self) -> Mark {
        Mark { span: 0, within: 0.0 }
    }

    pub fn end(&self) -> Mark {
        let span = self.spans.len().saturating_sub(1);
        Mark { span, within: self.span(span).1 }
    }

    /// The mark `step` millimetres on, held on the track.
    pub fn moved(&self, mark: Mark, step: f64) -> Mark {
        let Mark { mut span, mut within } = mark;
        within += step;
        loop {
            let length = self.span(span).1;
            if within > length && span + 1 < self.spans.len() {
                within -= length;
                span += 1;
            } else if within < 0.0 && span > 0 {
                span -= 1;
                within += self.span(span).1;
            } else {
                return Mark { span, within: within.clamp(0.0, length) };
            }
        }
    }

    pub fn section(&self, mark: Mark) -> Section {
        let Some(span) = self.spans.get(mark.span) else {
            return Section {
                centre: DVec2::ZERO,
                tangent: DVec2::X,
                up: DVec2::Y,
                curvature: 0.0,
            };
        };
        let x = mark.within;
        let c = &span.place;
        let centre = c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + x * c[5]))));
        let slope =
            c[1] + x * (2.0 * c[2] + x * (3.0 * c[3] + x * (4.0 * c[4] + x * (5.0 * c[5]))));
        let bend = 2.0 * c[2] + x * (6.0 * c[3] + x * (12.0 * c[4] + x * (20.0 * c[5])));
        // By arc length, so the slope is the unit tangent to within the quintic's error.
        let tangent = slope * (1.5 - 0.5 * slope.length_squared());
        let up = tangent.perp();
        Section { centre, tangent, up, curvature: -bend.dot(up) }
    }

    /// How near to the planes of its ends a body of this reach about the track can come back
    /// in front of them; infinite if it never does.
    pub fn behind_ends(&self, reach: f64) -> f64 {
        let mut least = f64::INFINITY;
        for (end, sign) in [(self.start(), 1.0), (self.end(), -1.0)] {
            let own = self.section(end);
            for span in 0..self.spans.len() {
                for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
                    let within = self.span(span).1 * share;
                    let other = self.section(Mark { span, within });
                    let reach_along = (other.centre - own.centre).dot(own.tangent) * sign;
                    let apart = other.centre.distance(own.centre);
                    // A section leans over its centre by its reach times the sine of the turn.
                    let lean = reach * own.tangent.perp_dot(other.tangent).abs();
                    if reach_along < lean - 1e-9 && apart > 1e-9 {
                        least = least.lesser(apart - reach);
                    }
                }
            }
        }
        least.greater(0.0)
    }

    /// Calls `visit` near every station whose section plane holds `point` and towards both
    /// sides of which the centreline leads away from it; also at an end the point lies beyond.
    pub fn feet(&self, point: DVec3, mut visit: impl FnMut(Mark)) {
        let flat = flatten(point);
        let mut before = f64::NEG_INFINITY;
        for (index, (tangent, level)) in self.planes.iter().enumerate() {
            let height = flat.dot(*tangent) - level;
            if before >= 0.0 && height < 0.0 {
                let (_, length) = self.span(index - 1);
                visit(Mark { span: index - 1, within: length * before / (before - height) });
            } else if index == 0 && height < 0.0 {
                visit(self.start());
            }
            before = height;
        }
        if before >= 0.0 {
            visit(self.end());
        }
    }

    /// The station near `mark` whose section plane holds `point`, with the point seen from it;
    /// held on the track.
    pub fn foot(&self, point: DVec3, mark: Mark) -> (Mark, Section, View) {
        let mut mark = mark;
        let mut section = self.section(mark);
        let mut view = section.view(point);
        for _ in 0..6 {
            let step = view.height / view.stretch.greater(0.05);
            if step.abs() < 1e-11 {
                break;
            }
            let next = self.moved(mark, step);
            if next == mark {
                break;
            }
            mark = next;
            section = self.section(mark);
            view = section.view(point);
        }
        (mark, section, view)
    }
}

impl Section {
    pub fn view(&self, point: DVec3) -> View {
        let reach = flatten(point) - self.centre;
        let (height, normal) = (reach.dot(self.tangent), reach.dot(self.up));
        View {
            height,
            flat: DVec2::new(point.y, normal),
            stretch: 1.0 + self.curvature * normal,
            drift: self.curvature * height,
        }
    }

    /// A point of the section plane in space.
    pub fn point(&self, flat: DVec2) -> DVec3 {
        let place = self.centre + self.up * flat.y;
        DVec3::new(place.x, flat.x, place.y)
    }

    /// Direction in space with components along the tangent and in the plane.
    pub fn direction(&self, along: f64, flat: DVec2) -> DVec3 {
        let turned = self.tangent * along + self.up * flat.y;
        DVec3::new(turned.x, flat.x, turned.y)
    }
}

fn flatten(point: DVec3) -> DVec2 {
    DVec2::new(point.x, point.z)
}

/// Length of spans between two marks that keeps to the fidelity.
fn span_length(centreline: &Centreline, from: f64, to: f64) -> f64 {
    let looks = [0.1, 0.5, 0.9].map(|share| centreline.at(from + (to - from) * share).curvature);
    let curvature = looks[1].abs();
    if looks.iter().any(|look| (look - looks[1]).abs() > 1e-12) {
        return MEASURED_SPAN;
    }
    if curvature < 1e-9 {
        return f64::INFINITY;
    }
    let turn = FIDELITY * 46080.0 / libm::pow(curvature, 5.0);
    libm::cbrt(turn.sqrt())
}

/// Coefficients of the quintic with the centreline's place, tangent and curvature at both ends.
fn quintic(centreline: &Centreline, from: f64, length: f64) -> [DVec2; 6] {
    let (start, end) = (centreline.at(from), centreline.at(from + length));
    let bend = |station: f64, up: DVec3| flatten(up) * -centreline.at(station).curvature;
    let h = length;
    let aside = ASIDE.lesser(h / 4.0);
    let (p0, v0, a0) =
        (flatten(start.centre), flatten(start.tangent), bend(from + aside, start.up));
    let (p1, v1, a1) = (flatten(end.centre), flatten(end.tangent), bend(from + h - aside, end.up));
    let place = p1 - p0 - v0 * h - a0 * (h * h / 2.0);
    let slope = v1 - v0 - a0 * h;
    let curve = a1 - a0;
    [
        p0,
        v0,
        a0 / 2.0,
        (place * 10.0 - slope * (4.0 * h) + curve * (h * h / 2.0)) / (h * h * h),
        (place * -15.0 + slope * (7.0 * h) - curve * (h * h)) / (h * h * h * h),
        (place * 6.0 - slope * (3.0 * h) + curve * (h * h / 2.0)) / (h * h * h * h * h),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::centreline::Course;

    #[test]
    fn quintics_follow_the_centreline() {
        let points: Vec<DVec2> = (1..=12)
            .map(|i| f64::from(i) * 8f64.to_radians())
            .map(|a| DVec2::new(20.0 + 55.0 * libm::sin(a), 55.0 * (libm::cos(a) - 1.0)))
            .collect();
        for courses in [
            vec![
                Course::Straight { length: 30.0 },
                Course::Bend { bend: -0.2, radius: 150.0 },
                Course::Bend { bend: 1.3, radius: 25.0 },
                Course::Straight { length: 20.0 },
            ],
            vec![
                Course::Straight { length: 20.0 },
                Course::Points(points),
                Course::Straight { length: 10.0 },
            ],
        ] {
            let line = Centreline::new(&courses);
            let mut marks = line.breaks();
            marks.extend(line.inner_breaks());
            marks.sort_by(f64::total_cmp);
            marks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
            let track = Track::new(&line, &marks, f64::INFINITY);
            let mut mark = track.start();
            for i in 0..2000 {
                let station = line.length() * f64::from(i) / 2000.0;
                mark = track.moved(mark, station - track.station(mark));
                let (section, truth) = (track.section(mark), line.at(station));
                let miss = section.point(DVec2::ZERO).distance(truth.centre);
                assert!(miss < 2e-7, "{station}: {miss}");
                assert!(section.direction(1.0, DVec2::ZERO).distance(truth.tangent) < 1e-6);
                let lifted = truth.centre + truth.up * 9.0;
                let mut miss = f64::INFINITY;
                track.feet(lifted, |foot| {
                    let (foot, _, view) = track.foot(lifted, foot);
                    if (track.station(foot) - station).abs() < miss.abs() {
                        miss = track.station(foot) - station;
                        assert!(view.height.abs() < 1e-9 || station < 1e-6);
                    }
                });
                assert!(miss.abs() < 1e-5, "{station}: {miss}");
            }
        }
    }
}
