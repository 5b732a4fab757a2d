//! Distance to bodies swept along the tube.

use glam::{DVec2, DVec3};

use crate::geometry::cubic::Cubic;
use crate::geometry::frame::unit;
use crate::geometry::order::Order;
use crate::geometry::shape::{Azimuth, Link, Sweep};

use super::skin::{Edge, Reach, descend, end_face, marks};
use super::track::{Mark, Track};
use super::{CarriedOn, EDGE, Faces, Near};

/// A profile that moves by more than this per mm of station counts as steep: a foot may then
/// lie far from where the section plane passes the point, and every span is tried.
const STEEP: f64 = 0.2;

/// Longest span on which a corner is a cubic by station, mm: it leaves a corner at a constant
/// width round the taper by less than 1e-7 mm.
const SPAN: f64 = 6.0;

/// The same for corners that follow a table.
const TABLE_SPAN: f64 = 0.8;

/// A swept body: the union of its sections. The nearest point is sought over the station; for
/// each station the profile of lines and arcs answers in closed form. Exact inside and out.
#[derive(Clone, Debug)]
pub struct SweepField {
    track: Track,
    /// Corners of each span, one after the other: cubics by the length from its start.
    corners: Vec<Cubic<DVec2>>,
    links: Vec<Link>,
    /// For each link, the links that stand out before it carried on (straight, or round the
    /// centreline).
    stands_out: Vec<Vec<usize>>,
    /// For each corner, those that stand out before either of its links.
    at_corners: Vec<Vec<usize>>,
    /// For each link, links behind which, carried on, the whole body lies.
    covers: Vec<Option<Faces>>,
    steep: bool,
    /// No metal lies before the plane of an end nearer to it than this.
    behind_ends: f64,
    /// Share of the distance in the section that surely remains in space.
    slant: f64,
}

/// Foot of a shadow on one link.
#[derive(Clone, Copy)]
struct LinkFoot {
    square: f64,
    foot: DVec2,
    link: usize,
    place: Place,
}

#[derive(Clone, Copy, PartialEq)]
enum Place {
    /// Share of the way from the first corner to the second (straight links only).
    Within(f64),
    Start,
    End,
}

impl SweepField {
    pub(super) fn new(sweep: &Sweep) -> Self {
        let neck = &sweep.neck;
        let (breaks, _) = sweep.breaks();
        let stations = marks(neck, sweep.from, sweep.to, &breaks);
        let tables = sweep.points.iter().any(|point| {
            !point.radius.breaks().is_empty()
                || matches!(&point.azimuth, Azimuth::Arc { at, .. } if !at.breaks().is_empty())
        });
        let longest = if tables { TABLE_SPAN } else { SPAN };
        let track = Track::new(&neck.centreline, &stations, longest);
        let mut corners = Vec::with_capacity(track.span_count() * sweep.points.len());
        let mut steepest: f64 = 0.0;
        let mut reach: f64 = 0.0;
        for index in 0..track.span_count() {
            let (from, length) = track.span(index);
            for point in &sweep.points {
                let (p0, m0) = point.at(neck, from + 1e-9);
                let (p1, m1) = point.at(neck, from + length - 1e-9);
                steepest = steepest.greater(m0.length()).greater(m1.length());
                reach = reach.greater(p0.length()).greater(p1.length());
                corners.push(Cubic::between(p0, m0, p1, m1, length));
            }
        }
        // On the inside of a bend a station is worth less length than on the centreline.
        let slope = steepest / 0.5;
        let mut field = Self {
            behind_ends: track.behind_ends(reach),
            track,
            corners,
            stands_out: vec![Vec::new(); sweep.links.len()],
            at_corners: Vec::new(),
            covers: Vec::new(),
            links: sweep.links.clone(),
            steep: steepest > STEEP,
            slant: 0.98 / (1.0 + slope * slope).sqrt(),
        };
        field.compare_links();
        field
    }

    /// Finds out which links stand out before which, at the ends of every span.
    fn compare_links(&mut self) {
        let count = self.links.len();
        let mut sections = Vec::new();
        for span in 0..self.track.span_count() {
            for within in [0.0, self.track.span(span).1] {
                let mark = Mark { span, within };
                let corner = |link: usize| self.corner(mark, link);
                let looks: Vec<Vec<DVec2>> = (0..count)
                    .map(|link| self.links[link].looks(corner(link), corner(link + 1)))
                    .collect();
                for link in 0..count {
                    let (a, b) = (self.corner(mark, link), self.corner(mark, link + 1));
                    for (other, points) in looks.iter().enumerate() {
                        let out = points.iter().any(|&p| self.links[link].is_before(a, b, p));
                        if out && !self.stands_out[link].contains(&other) {
                            self.stands_out[link].push(other);
                        }
                    }
                }
                sections.push((mark, looks));
            }
        }
        self.covers = (0..count).map(|link| self.find_cover(link, &sections)).collect();
        self.at_corners = (0..count)
            .map(|corner| {
                let mut both = self.stands_out[corner].clone();
                both.extend(&self.stands_out[(corner + count - 1) % count]);
                both.sort_unstable();
                both.dedup();
                both
            })
            .collect();
    }

    /// One or two links that cover what stands out before `link` in every section.
    fn find_cover(&self, link: usize, sections: &[(Mark, Vec<Vec<DVec2>>)]) -> Option<Faces> {
        if self.steep {
            return None;
        }
        let is_before = |link: usize, mark: Mark, point: DVec2| {
            let (a, b) = (self.corner(mark, link), self.corner(mark, link + 1));
            self.links[link].is_before(a, b, point)
        };
        let before = |link: usize, points: &[(Mark, DVec2)]| -> Vec<(Mark, DVec2)> {
            points.iter().copied().filter(|(mark, point)| is_before(link, *mark, *point)).collect()
        };
        let all: Vec<(Mark, DVec2)> = sections
            .iter()
            .flat_map(|(mark, looks)| looks.iter().flatten().map(|point| (*mark, *point)))
            .collect();
        let out = before(link, &all);
        if out.is_empty() {
            return Some(Faces::new(&[link as u32]));
        }
        // The link itself must lie before those that cover, so that they tell something there.
        let faces_own = |other: usize| {
            sections.iter().all(|(mark, looks)| {
                let on = |point: &DVec2| self.carried_link(*mark, *point, other).distance;
                looks[link].iter().all(|point| on(point) > -FLUSH)
            })
        };
        // What is within a straight link or the outside of a ring stays so between two points.
        let solid: Vec<usize> = (0..self.links.len())
            .filter(|&other| self.links[other] != Link::Arc { growing: true } && faces_own(other))
            .collect();
        let mut pair = None;
        for &one in &solid {
            let left = before(one, &out);
            if left.is_empty() {
                return Some(Faces::new(&[link as u32, one as u32]));
            }
            if let (None, Some(other)) =
                (pair, solid.iter().find(|&&other| before(other, &left).is_empty()))
            {
                pair = Some(Faces::new(&[link as u32, one as u32, *other as u32]));
            }
        }
        pair
    }

    pub(super) fn cover(&self, face: u32) -> Option<Faces> {
        match self.covers.get(face as usize) {
            Some(cover) => *cover,
            None => self.behind_ends.is_infinite().then(|| Faces::new(&[face])),
        }
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        let links = self.links.len() as u32;
        let edge = edge & !EDGE;
        let (end, along) = (edge / (2 * links), edge % (2 * links));
        let corner = if end == 0 { Some(along) } else { along.checked_sub(links) };
        let faces = match corner {
            Some(corner) => Faces::new(&[(corner + links - 1) % links, corner % links]),
            None => Faces::new(&[along]),
        };
        if end > 0 { faces.and(links + end - 1) } else { faces }
    }

    fn corner(&self, mark: Mark, index: usize) -> DVec2 {
        self.cubic(mark, index).value(self.track.share(mark))
    }

    fn corner_slope(&self, mark: Mark, index: usize) -> DVec2 {
        self.cubic(mark, index).slope(self.track.share(mark))
    }

    fn cubic(&self, mark: Mark, index: usize) -> Cubic<DVec2> {
        let count = self.links.len();
        self.corners.get(mark.span * count + index % count).copied().unwrap_or_default()
    }

    /// Distance from a shadow to the profile.
    fn profile(&self, mark: Mark, flat: DVec2) -> Edge {
        let mut best = LinkFoot { square: f64::INFINITY, foot: flat, link: 0, place: Place::Start };
        let first = self.corner(mark, 0);
        let mut a = first;
        let last = self.links.len() - 1;
        for (link, kind) in self.links.iter().enumerate() {
            let b = if link == last { first } else { self.corner(mark, link + 1) };
            let foot = kind.foot(a, b, flat, link);
            if foot.square < best.square {
                best = foot;
            }
            a = b;
        }
        let stands_out = match best.place {
            Place::Within(_) => &self.stands_out[best.link],
            Place::Start => &self.at_corners[best.link],
            Place::End => &self.at_corners[(best.link + 1) % self.links.len()],
        };
        if self.covers.get(best.link).is_some_and(Option::is_some) {
            let others = if stands_out.is_empty() { f64::INFINITY } else { 0.0 };
            return self.edge(mark, flat, &best, others);
        }
        let others = stands_out
            .iter()
            .map(|&link| {
                let (a, b) = (self.corner(mark, link), self.corner(mark, link + 1));
                self.links[link].foot(a, b, flat, link).square
            })
            .fold(f64::INFINITY, f64::lesser);
        self.edge(mark, flat, &best, others.sqrt())
    }

    /// Sign, outward direction and growth at the nearest foot.
    fn edge(&self, mark: Mark, flat: DVec2, foot: &LinkFoot, others: f64) -> Edge {
        let count = self.links.len();
        let off = flat - foot.foot;
        let distance = foot.square.sqrt();
        let (out, rate) = match foot.place {
            Place::Within(share) => {
                let along = self.direction(mark, foot.link, foot.foot);
                // The metal lies to the left.
                (-along.perp(), self.rate(mark, foot.link, foot.foot, share))
            }
            Place::Start | Place::End => {
                let corner = if foot.place == Place::Start { foot.link } else { foot.link + 1 };
                let before = (corner + count - 1) % count;
                let along = self.direction(mark, before, foot.foot)
                    + self.direction(mark, corner % count, foot.foot);
                let side = -along.perp();
                let out = if distance > 1e-9 {
                    off / distance * side.dot(off).signum()
                } else {
                    side.normalize_or_zero()
                };
                (out, self.corner_slope(mark, corner))
            }
        };
        let inside = out.dot(off) < 0.0;
        Edge {
            distance: if inside { -distance } else { distance },
            foot: foot.foot,
            out,
            growth: rate.dot(out),
            face: match foot.place {
                Place::Within(_) => foot.link as u32,
                Place::Start => EDGE | foot.link as u32,
                Place::End => EDGE | ((foot.link + 1) % count) as u32,
            },
            others,
        }
    }

    /// How fast a link moves at a point of it, per mm of station.
    fn rate(&self, mark: Mark, link: usize, at: DVec2, share: f64) -> DVec2 {
        let slope = self.corner_slope(mark, link);
        match self.links[link] {
            Link::Straight => slope.lerp(self.corner_slope(mark, link + 1), share),
            Link::Arc { .. } => {
                let corner = self.corner(mark, link);
                at.normalize_or_zero() * (corner.dot(slope) / corner.length().greater(1e-12))
            }
        }
    }

    /// Distance from a shadow to one link carried on straight, or round the centreline.
    fn carried_link(&self, mark: Mark, flat: DVec2, link: usize) -> Edge {
        let (a, b) = (self.corner(mark, link), self.corner(mark, link + 1));
        let (foot, share) = match self.links[link] {
            Link::Straight => {
                let along = b - a;
                let share = (flat - a).dot(along) / along.length_squared().greater(1e-300);
                (a + along * share, share)
            }
            Link::Arc { .. } => (flat.normalize_or_zero() * a.length(), 0.0),
        };
        let out = -self.direction(mark, link, foot).perp();
        Edge {
            distance: out.dot(flat - foot),
            foot,
            out,
            growth: self.rate(mark, link, foot, share).dot(out),
            face: link as u32,
            others: f64::INFINITY,
        }
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let links = self.links.len();
        let link = face as usize;
        if link >= links {
            let (mark, sign) =
                if link == links { (self.track.start(), -1.0) } else { (self.track.end(), 1.0) };
            let section = self.track.section(mark);
            let slope = section.direction(sign, DVec2::ZERO);
            return Some(CarriedOn { distance: section.view(point).height * sign, slope });
        }
        if self.steep {
            return None;
        }
        let mut best: Option<CarriedOn> = None;
        self.track.feet(point, |mark| {
            let (mark, section, view) = self.track.foot(point, mark);
            let here = if view.height.abs() > 1e-9 {
                // Straight on beyond the ends.
                let edge = self.carried_link(mark, view.flat, link);
                let cosine = 1.0 / (1.0 + edge.growth * edge.growth).sqrt();
                CarriedOn {
                    distance: (edge.distance - edge.growth * view.height) * cosine,
                    slope: section.direction(-edge.growth * cosine, edge.out * cosine),
                }
            } else {
                let reach = descend(&self.track, point, mark, true, |mark, flat| {
                    self.carried_link(mark, flat, link)
                });
                reach.signed(point)
            };
            if best.as_ref().is_none_or(|best| here.distance < best.distance) {
                best = Some(here);
            }
        });
        best
    }

    /// Unit direction in which a link runs at a point of it.
    fn direction(&self, mark: Mark, link: usize, at: DVec2) -> DVec2 {
        let link = link % self.links.len();
        match self.links[link] {
            Link::Straight => {
                (self.corner(mark, link + 1) - self.corner(mark, link)).normalize_or_zero()
            }
            // Azimuth grows from the normal towards +y: clockwise in the (y, normal) plane.
            Link::Arc { growing } => {
                let round = at.normalize_or_zero().perp();
                if growing { -round } else { round }
            }
        }
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let mut best: Option<Reach> = None;
        let mut inside = false;
        self.track.feet(point, |mark| {
            if inside {
                return;
            }
            let (foot, _, view) = self.track.foot(point, mark);
            let crossed = view.height.abs() < 1e-9;
            if crossed && self.profile(foot, view.flat).distance < 0.0 {
                inside = true;
                best = Some(self.reach(point, foot, true));
                return;
            }
            self.keep_nearer(&mut best, self.reach(point, foot, false));
        });
        if self.steep {
            self.try_every_span(point, inside, &mut best);
        }
        if inside {
            for mark in [self.track.start(), self.track.end()] {
                let face = end_face(&self.track, point, mark, |m, flat| self.profile(m, flat));
                self.keep_nearer(&mut best, face);
            }
        }
        match best {
            Some(reach) => self.answer(&reach, inside),
            None => Near { distance: f64::INFINITY, foot: point, face: 0, others: 0.0 },
        }
    }

    fn reach(&self, point: DVec3, mark: Mark, inside: bool) -> Reach {
        descend(&self.track, point, mark, inside, |m, flat| self.profile(m, flat))
    }

    fn keep_nearer(&self, best: &mut Option<Reach>, reach: Reach) {
        if best.as_ref().is_none_or(|best| reach.distance < best.distance) {
            *best = Some(reach);
        }
    }

    /// Starts again from the middle of every span whose sections can be nearer than the best.
    fn try_every_span(&self, point: DVec3, inside: bool, best: &mut Option<Reach>) {
        for span in 0..self.track.span_count() {
            let mark = Mark { span, within: self.track.span(span).1 / 2.0 };
            let view = self.track.section(mark).view(point);
            let least = view.height.abs() - 0.5 * self.track.span(span).1;
            if best.as_ref().is_none_or(|best| least < best.distance) {
                self.keep_nearer(best, self.reach(point, mark, inside));
            }
        }
    }

    fn answer(&self, reach: &Reach, inside: bool) -> Near {
        let links = self.links.len() as u32;
        let at_start = reach.mark == self.track.start();
        let behind_end = reach.distance + self.behind_ends;
        let beside = reach.edge.others * self.slant;
        let (face, others) = if reach.on_end {
            (if at_start { links } else { links + 1 }, behind_end)
        } else if at_start || reach.mark == self.track.end() {
            // Edges of the ends are numbered after those along the stations.
            let end = if at_start { 1 } else { 2 };
            let corner = if reach.edge.face & EDGE == 0 { 0 } else { links };
            let edge = EDGE | (2 * links * end + corner + (reach.edge.face & !EDGE));
            (edge, beside.lesser(behind_end))
        } else {
            (reach.edge.face, beside)
        };
        let others = if self.steep && !reach.on_end { reach.distance } else { others };
        Near {
            distance: if inside { -reach.distance } else { reach.distance },
            foot: reach.foot,
            face,
            others: others.greater(reach.distance),
        }
    }
}

/// Points looked at on a link to tell whether it stands out before another.
const LOOKS: usize = 6;

/// Standing out by less than this is lying flush, mm.
const FLUSH: f64 = 1e-7;

impl Link {
    /// The foot of a shadow on this link between two corners.
    fn foot(self, a: DVec2, b: DVec2, flat: DVec2, link: usize) -> LinkFoot {
        match self {
            Self::Straight => straight(a, b, flat, link),
            Self::Arc { growing } => arc(a, b, growing, flat, link),
        }
    }

    /// Points all along this link.
    fn looks(self, a: DVec2, b: DVec2) -> Vec<DVec2> {
        let share = |i: usize| i as f64 / LOOKS as f64;
        match self {
            Self::Straight => (0..=LOOKS).map(|i| a.lerp(b, share(i))).collect(),
            Self::Arc { growing } => {
                let turn = if growing { -1.0 } else { 1.0 };
                let mut sweep = libm::atan2(a.perp_dot(b), a.dot(b)) * turn;
                if sweep <= 0.0 {
                    sweep += std::f64::consts::TAU;
                }
                (0..=LOOKS).map(|i| unit(sweep * share(i) * turn).rotate(a)).collect()
            }
        }
    }

    /// Whether a point lies before this link carried on: not behind it, where the metal is.
    fn is_before(self, a: DVec2, b: DVec2, point: DVec2) -> bool {
        match self {
            Self::Straight => (b - a).normalize_or_zero().perp_dot(point - a) < -FLUSH,
            Self::Arc { growing: true } => point.length() < a.length() - FLUSH,
            Self::Arc { growing: false } => point.length() > a.length() + FLUSH,
        }
    }
}

fn straight(a: DVec2, b: DVec2, flat: DVec2, link: usize) -> LinkFoot {
    let along = b - a;
    let share = (flat - a).dot(along) / along.length_squared().greater(1e-300);
    let (foot, place) = if share <= 0.0 {
        (a, Place::Start)
    } else if share >= 1.0 {
        (b, Place::End)
    } else {
        (a + along * share, Place::Within(share))
    };
    LinkFoot { square: foot.distance_squared(flat), foot, link, place }
}

/// Foot on an arc about the centreline of at most half a turn.
fn arc(a: DVec2, b: DVec2, growing: bool, flat: DVec2, link: usize) -> LinkFoot {
    // Growing azimuth is clockwise here.
    let turn = if growing { -1.0 } else { 1.0 };
    if a.perp_dot(flat) * turn >= 0.0 && flat.perp_dot(b) * turn >= 0.0 {
        let radius = a.length();
        let length = flat.length();
        let foot = if length > 1e-12 { flat * (radius / length) } else { a };
        let gap = length - radius;
        return LinkFoot { square: gap * gap, foot, link, place: Place::Within(0.0) };
    }
    let (to_a, to_b) = (a.distance_squared(flat), b.distance_squared(flat));
    if to_a <= to_b {
        LinkFoot { square: to_a, foot: a, link, place: Place::Start }
    } else {
        LinkFoot { square: to_b, foot: b, link, place: Place::End }
    }
}
