//! Distance to the neck's own tube.

use glam::DVec3;

use crate::geometry::frame::Frame;
use crate::geometry::order::Order;
use crate::geometry::shape::Tube;

use super::rim::{Rim, pierce};
use super::skin::{Edge, Reach, Skin, descend, end_face};
use super::track::Mark;
use super::{CarriedOn, EDGE, Faces, Near};

/// Face numbers.
const OUTSIDE: u32 = 0;
const BORE: u32 = 1;
const START: u32 = 2;
const END: u32 = 3;
const HOLE: u32 = 4;
const HOLE_RIMS: u32 = EDGE | 4;

/// Rims lie within this of the heights of their nodes, mm.
const SAG: f64 = 1e-3;

/// The tube with the vent's hole. Exact inside and out.
#[derive(Clone, Debug)]
pub struct TubeField {
    skin: Skin,
    wall: f64,
    hole: Option<Hole>,
    /// No metal lies before the plane of an end nearer to it than this.
    behind_ends: f64,
}

#[derive(Clone, Debug)]
struct Hole {
    /// z outward along the hole, origin on the centreline.
    frame: Frame,
    radius: f64,
    outer: Rim,
    inner: Rim,
    /// A ball round the hole's wall.
    middle: DVec3,
    reach: f64,
    /// Between these heights in the hole's frame there is wall all round.
    whole: (f64, f64),
}

impl TubeField {
    pub(super) fn new(tube: &Tube) -> Self {
        let neck = &tube.neck;
        let skin = Skin::new(neck, tube.from, tube.to);
        let hole = tube.hole.as_ref().map(|hole| {
            let at = neck.at(hole.station);
            let frame = Frame::from_zx(at.centre, at.up, at.tangent);
            let bore = neck.bore.radius(hole.station);
            let rim = |offset: f64| {
                Rim::new(|angle| pierce(&skin, offset, &frame, hole.radius, angle, bore + offset))
            };
            let (outer, inner) = (rim(neck.wall), rim(0.0));
            let middle = at.centre + at.up * (bore + neck.wall / 2.0);
            // The rims sag over the tube's curve.
            let reach = outer.farthest(middle).greater(inner.farthest(middle));
            let height = |point: DVec3| frame.local(point).z;
            let whole = (
                inner.nodes().map(height).fold(f64::NEG_INFINITY, f64::greater) + SAG,
                outer.nodes().map(height).fold(f64::INFINITY, f64::lesser) - SAG,
            );
            Hole { frame, radius: hole.radius, outer, inner, middle, reach, whole }
        });
        let widest = neck.outside(tube.from).greater(neck.outside(tube.to));
        let behind_ends = skin.track.behind_ends(widest);
        Self { skin, wall: neck.wall, hole, behind_ends }
    }

    /// Distance from a shadow to the ring between bore and outside.
    fn ring(&self, mark: Mark, flat: glam::DVec2) -> Edge {
        let outside = self.skin.circle(mark, flat, self.wall);
        if outside.distance > -self.wall / 2.0 {
            return outside;
        }
        self.bore(mark, flat)
    }

    fn bore(&self, mark: Mark, flat: glam::DVec2) -> Edge {
        let bore = self.skin.circle(mark, flat, 0.0);
        Edge { distance: -bore.distance, out: -bore.out, growth: -bore.growth, face: BORE, ..bore }
    }

    pub(super) fn hole(&self) -> Option<(DVec3, f64)> {
        self.hole.as_ref().map(|hole| (hole.middle, hole.reach))
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let Some(hole) = &self.hole else { return self.plain(point) };
        hole.wall_round(point).unwrap_or_else(|| self.drilled(point, self.plain(point), hole))
    }

    /// Distance to the tube without its hole.
    fn plain(&self, point: DVec3) -> Near {
        let track = &self.skin.track;
        let mut best: Option<Reach> = None;
        let mut inside = false;
        track.feet(point, |mark| {
            if inside {
                return;
            }
            let (foot, _, view) = track.foot(point, mark);
            if view.height.abs() < 1e-9 && self.ring(foot, view.flat).distance < 0.0 {
                inside = true;
                let outside = descend(track, point, foot, true, |m, flat| {
                    self.skin.circle(m, flat, self.wall)
                });
                let bore = descend(track, point, foot, true, |m, flat| self.bore(m, flat));
                best = Some(if outside.distance < bore.distance { outside } else { bore });
                return;
            }
            let reach = descend(track, point, foot, false, |m, flat| self.ring(m, flat));
            if best.as_ref().is_none_or(|best| reach.distance < best.distance) {
                best = Some(reach);
            }
        });
        let (start, end) = (track.start(), track.end());
        if inside {
            for mark in [start, end] {
                let face = end_face(track, point, mark, |m, flat| self.ring(m, flat));
                if best.as_ref().is_none_or(|best| face.distance < best.distance) {
                    best = Some(face);
                }
            }
        }
        let Some(reach) = best else {
            return Near { distance: f64::INFINITY, foot: point, face: OUTSIDE, others: 0.0 };
        };
        // Seen from either skin all metal is behind it; seen from a flat end too, up to where
        // the neck may have bent back past its plane.
        let (face, others) = if reach.on_end {
            (if reach.mark == start { START } else { END }, reach.distance + self.behind_ends)
        } else if reach.mark == start || reach.mark == end {
            let rim = if reach.mark == start { reach.edge.face } else { 2 + reach.edge.face };
            (EDGE | rim, reach.distance + self.behind_ends)
        } else {
            (reach.edge.face, f64::INFINITY)
        };
        Near {
            distance: if inside { -reach.distance } else { reach.distance },
            foot: reach.foot,
            face,
            others,
        }
    }

    pub(super) fn cover(&self, face: u32) -> Option<Faces> {
        let alone = match face {
            OUTSIDE | BORE => true,
            START | END => self.behind_ends.is_infinite(),
            // From its side of the bore: see `covers_from`.
            HOLE => true,
            _ => false,
        };
        alone.then(|| Faces::new(&[face]))
    }

    /// All metal on the hole's side of the bore's middle lies round its cylinder. What of the far side lies in the cylinder
    /// is as far down as the rim at the bore is up: points farther up than the hole's radius r are no nearer to it than to
    /// the wall, nor than to that rim, which the wall's radius is off at most. (With both about h from the middle, the
    /// squares of the two ways differ by 4 z h, more than r² for a hole narrower than the bore.)
    pub(super) fn covers_from(&self, face: u32, point: DVec3) -> bool {
        let Some(hole) = self.hole.as_ref().filter(|_| face == HOLE) else { return true };
        hole.frame.local(point).z > hole.radius
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        match edge & !EDGE {
            rim @ 0..2 => Faces::new(&[rim, START]),
            rim @ 2..4 => Faces::new(&[rim - 2, END]),
            rim => Faces::new(&[rim - 4, HOLE]),
        }
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let track = &self.skin.track;
        let skin = |offset: f64| {
            let mut best: Option<CarriedOn> = None;
            track.feet(point, |mark| {
                let here = self.skin.carried_on(point, mark, offset);
                if best.as_ref().is_none_or(|best| here.distance < best.distance) {
                    best = Some(here);
                }
            });
            best
        };
        let plane = |mark: Mark, sign: f64| {
            let section = track.section(mark);
            let slope = section.direction(sign, glam::DVec2::ZERO);
            CarriedOn { distance: section.view(point).height * sign, slope }
        };
        match face {
            OUTSIDE => skin(self.wall),
            BORE => {
                skin(0.0).map(|bore| CarriedOn { distance: -bore.distance, slope: -bore.slope })
            }
            START => Some(plane(track.start(), -1.0)),
            END => Some(plane(track.end(), 1.0)),
            HOLE => {
                let hole = self.hole.as_ref()?;
                let local = hole.frame.local(point);
                let radius = (local.x * local.x + local.y * local.y).sqrt();
                (radius > 1e-9 && self.covers_from(face, point)).then(|| {
                    let spoke = DVec3::new(local.x, local.y, 0.0) / radius;
                    let slope = hole.frame.direction(-spoke);
                    CarriedOn { distance: hole.radius - radius, slope }
                })
            }
            _ => None,
        }
    }

    /// Takes the hole into account.
    fn drilled(&self, point: DVec3, plain: Near, hole: &Hole) -> Near {
        if plain.foot.distance(hole.middle) > hole.reach
            && point.distance(hole.middle) - hole.reach > plain.distance.abs()
        {
            return plain;
        }
        let local = hole.frame.local(point);
        let foot_in_hole = hole.holds(hole.frame.local(plain.foot));
        if plain.distance > 0.0 && !foot_in_hole {
            return plain;
        }
        let radius = (local.x * local.x + local.y * local.y).sqrt();
        let wall = hole.wall(local, radius).filter(|wall| self.within_wall(wall.foot));
        if let Some(wall) = wall.filter(|_| hole.holds(local)) {
            return wall;
        }
        // Outside the metal but not between the rims: the rim on that side. Within: what
        // remains of the plain surface, the hole's wall, and its rims.
        let void = plain.distance > 0.0 || hole.holds(local);
        let mut near = Near { distance: plain.distance.abs(), ..plain };
        if foot_in_hole {
            near.distance = f64::INFINITY;
        }
        if let Some(wall) = wall.filter(|wall| !void && wall.distance < near.distance) {
            near = wall;
        }
        for (index, rim) in [&hole.outer, &hole.inner].into_iter().enumerate() {
            if void && plain.face & 1 != index as u32 {
                continue;
            }
            let foot = rim.nearest(point);
            let distance = foot.distance(point);
            if distance < near.distance {
                let face = HOLE_RIMS + index as u32;
                near = Near { distance, foot, face, others: local.z.greater(distance) };
            }
        }
        if !void {
            near.distance = -near.distance;
        }
        near
    }

    /// Whether a point of the hole's cylinder lies between bore and outside.
    fn within_wall(&self, point: DVec3) -> bool {
        let mut within = false;
        self.skin.track.feet(point, |mark| {
            let (mark, _, view) = self.skin.track.foot(point, mark);
            within |= self.ring(mark, view.flat).distance <= 0.0;
        });
        within
    }
}

impl Hole {
    /// The wall seen from a point at this place and radius in the hole's frame, were it there all
    /// along; none on the axis.
    fn wall(&self, local: DVec3, radius: f64) -> Option<Near> {
        (radius > 1e-12).then(|| {
            let scale = self.radius / radius;
            let foot = self.frame.point(DVec3::new(local.x * scale, local.y * scale, local.z));
            let distance = (radius - self.radius).abs();
            // The hole's cylinder is empty down to the bore's far side.
            Near { distance, foot, face: HOLE, others: local.z.greater(distance) }
        })
    }

    /// The answer to a point in the hole with wall all round it: nothing of the tube is in the
    /// cylinder, so nothing can be nearer.
    fn wall_round(&self, point: DVec3) -> Option<Near> {
        let local = self.frame.local(point);
        if !self.holds(local) || local.z <= self.whole.0 || local.z >= self.whole.1 {
            return None;
        }
        let radius = (local.x * local.x + local.y * local.y).sqrt();
        self.wall(local, radius)
    }

    /// Whether a point (in the hole's frame) is in the hole's cylinder, on the side it opens to.
    fn holds(&self, local: DVec3) -> bool {
        local.z > 0.0 && local.x * local.x + local.y * local.y < self.radius * self.radius
    }
}
