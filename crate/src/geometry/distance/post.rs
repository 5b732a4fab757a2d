//! Distance to posts.

use glam::{DVec2, DVec3};

use crate::geometry::frame::Frame;
use crate::geometry::order::Order;
use crate::geometry::shape::Post;

use super::rim::{Rim, pierce};
use super::skin::{Skin, descend};
use super::track::Mark;
use super::{CarriedOn, EDGE, Faces, Near};

/// Face numbers.
const BARREL: u32 = 0;
const TOP: u32 = 1;
const FOOT: u32 = 3;
const HOLE: u32 = 4;
const FOOT_RIM: u32 = EDGE;
const MOUTHS: u32 = EDGE | 1;
const SHOULDERS: u32 = EDGE | 3;

/// A post with its coped foot and its hinge hole. Exact inside and out: the nearest point lies
/// within a face, where it is that face's own nearest point, or on a rim.
#[derive(Clone, Debug)]
pub struct PostField {
    frame: Frame,
    radius: f64,
    hole_radius: f64,
    /// Outline of the upper end: radius and height, from the barrel to the axis.
    upper: [DVec2; 3],
    skin: Skin,
    foot_offset: f64,
    /// The span of the track under the post's axis.
    under: Mark,
    foot: Rim,
    mouths: [Rim; 2],
}

impl PostField {
    pub(super) fn new(post: &Post) -> Self {
        let frame = post.frame;
        let centreline = &post.neck.centreline;
        let station = centreline.nearest_station(frame.origin);
        // The foot of a point of the barrel lies within the radius along the tube, a little
        // more where the tube bends away.
        let reach = 1.8 * post.radius + 1.0;
        let skin = Skin::new(&post.neck, station - reach, station + reach);
        let mut under = Mark { span: 0, within: 0.0 };
        let mut best = f64::INFINITY;
        for span in 0..skin.track.span_count() {
            let (from, length) = skin.track.span(span);
            let miss = (from + length / 2.0 - station).abs();
            if miss < best {
                (best, under) = (miss, Mark { span, within: length / 2.0 });
            }
        }
        let side = frame.origin.y;
        let surface = post.neck.bore.radius(station) + post.foot_offset;
        let foot_height = (surface * surface - side * side).greater(0.0).sqrt();
        let axis_height = (frame.origin - centreline.at(station).centre).dot(frame.z);
        let foot = Rim::new(|angle| {
            pierce(&skin, post.foot_offset, &frame, post.radius, angle, foot_height - axis_height)
        });
        let mouth = |sign: f64| {
            let (big, small) = (post.radius, post.hole_radius);
            Rim::new(|angle| {
                let (sin, cos) = libm::sincos(angle);
                let depth = (big * big - small * small * sin * sin).greater(0.0).sqrt();
                let point = DVec3::new(small * sin, sign * depth, small * cos);
                let fall = small * small * sin * cos / depth.greater(1e-9);
                let slope = DVec3::new(small * cos, -sign * fall, -small * sin);
                (frame.point(point), frame.direction(slope))
            })
        };
        Self {
            frame,
            radius: post.radius,
            hole_radius: post.hole_radius,
            upper: [
                DVec2::new(post.radius, post.top - post.chamfer),
                DVec2::new(post.radius - post.chamfer, post.top),
                DVec2::new(0.0, post.top),
            ],
            foot_offset: post.foot_offset,
            under,
            foot,
            mouths: [mouth(1.0), mouth(-1.0)],
            skin,
        }
    }

    /// Height of a point over the foot's surface, in its own section.
    fn over_foot(&self, point: DVec3) -> f64 {
        self.skin.level(point, self.under, self.foot_offset).0
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let frame = &self.frame;
        let local = frame.local(point);
        let off = DVec2::new(local.x, local.y);
        let radius = off.length();
        let spoke = if radius > 1e-12 { off / radius } else { DVec2::X };
        let mut near =
            Near { distance: f64::INFINITY, foot: point, face: FOOT_RIM, others: f64::INFINITY };
        let mut offer = |distance: f64, foot: DVec3, face: u32| {
            if distance < near.distance {
                // A post is what lies behind all of its faces carried on.
                near = Near { distance, foot, face, others: f64::INFINITY };
            }
        };

        let profile = DVec2::new(radius, local.z);
        for (face, pair) in (TOP..).zip(self.upper.windows(2)) {
            let along = pair[1] - pair[0];
            let square = along.length_squared();
            if square == 0.0 {
                continue;
            }
            let share = (profile - pair[0]).dot(along) / square;
            if (0.0..=1.0).contains(&share) {
                let foot = pair[0] + along * share;
                let place = frame.point((spoke * foot.x).extend(foot.y));
                offer(foot.distance(profile), place, face);
            }
        }
        for (edge, corner) in (SHOULDERS..).zip(&self.upper[..2]) {
            let place = frame.point((spoke * corner.x).extend(corner.y));
            offer(corner.distance(profile), place, edge);
        }
        let barrel = (spoke * self.radius).extend(local.z);
        let barrel_place = frame.point(barrel);
        if local.z <= self.upper[0].y
            && !self.in_hole(barrel)
            && self.over_foot(barrel_place) >= 0.0
        {
            offer((radius - self.radius).abs(), barrel_place, BARREL);
        }
        let across = DVec2::new(local.x, local.z);
        let clear = across.length();
        let ray = if clear > 1e-12 { across / clear } else { DVec2::Y } * self.hole_radius;
        if ray.x * ray.x + local.y * local.y <= self.radius * self.radius {
            let wall = frame.point(DVec3::new(ray.x, local.y, ray.y));
            offer((clear - self.hole_radius).abs(), wall, HOLE);
        }
        let over = self.over_foot(point);
        let under = descend(&self.skin.track, point, self.under, true, |mark, flat| {
            self.skin.circle(mark, flat, self.foot_offset)
        });
        let under_local = frame.local(under.foot);
        if under_local.x * under_local.x + under_local.y * under_local.y
            <= self.radius * self.radius
        {
            offer(under.distance, under.foot, FOOT);
        }
        let rims =
            [(FOOT_RIM, &self.foot), (MOUTHS, &self.mouths[0]), (MOUTHS + 1, &self.mouths[1])];
        for (edge, rim) in rims {
            let foot = rim.nearest(point);
            offer(foot.distance(point), foot, edge);
        }

        let chamfer = self.upper[0].x - (local.z - self.upper[0].y).greater(0.0);
        let inside =
            radius < chamfer && local.z < self.upper[1].y && over > 0.0 && !self.in_hole(local);
        if inside {
            near.distance = -near.distance;
        }
        near
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        match edge {
            FOOT_RIM => Faces::new(&[BARREL, FOOT]),
            SHOULDERS => Faces::new(&[BARREL, TOP]),
            edge if edge > SHOULDERS => Faces::new(&[TOP, TOP + 1]),
            _ => Faces::new(&[BARREL, HOLE]),
        }
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let frame = &self.frame;
        let local = frame.local(point);
        let off = DVec2::new(local.x, local.y);
        let radius = off.length();
        if face == FOOT {
            let under = self.skin.carried_on(point, self.under, self.foot_offset);
            return Some(CarriedOn { distance: -under.distance, slope: -under.slope });
        }
        if face == HOLE {
            let across = DVec2::new(local.x, local.z);
            let clear = across.length();
            let spoke = across.try_normalize()?;
            let slope = frame.direction(-DVec3::new(spoke.x, 0.0, spoke.y));
            return Some(CarriedOn { distance: self.hole_radius - clear, slope });
        }
        let spoke = off.try_normalize()?;
        let profile = DVec2::new(radius, local.z);
        let (from, out) = if face == BARREL {
            (self.upper[0], DVec2::X)
        } else {
            let (from, to) = (
                self.upper.get((face - TOP) as usize)?,
                self.upper.get((face - TOP) as usize + 1)?,
            );
            // From the barrel to the axis the metal lies to the left.
            (*from, -(*to - *from).try_normalize()?.perp())
        };
        let slope = frame.direction((spoke * out.x).extend(out.y));
        Some(CarriedOn { distance: out.dot(profile - from), slope })
    }

    /// Whether a point (in the post's frame) is in the cylinder of the hinge hole.
    fn in_hole(&self, local: DVec3) -> bool {
        local.x * local.x + local.z * local.z < self.hole_radius * self.hole_radius
    }
}
