//! The flat spring under the arm, and the screw that holds it.

use glam::DVec2;

use crate::geometry::frame::{Frame, unit};
use crate::geometry::outline::{Outline, Side};
use crate::geometry::shape::{EdgeHole, HoleEnd, Plate, Shape};
use crate::job::{Job, Violation};

use super::key_arm::SpringSeat;
use super::lathe::{at, turned};
use super::part::Part;
use super::places::{BEND_PLANE, Places, in_plane};
use super::smooth::{Stand, beside, chain, crossing, polyline, reversed};

/// Room all round the screw's thread in the spring's hole, mm (common practice, no source).
const HOLE_ROOM: f64 = 0.1;
/// By how much more than the least clearance the screw is drawn backed off, mm: a choice of the drawing, so that what
/// is measured does not stand on the limit.
const BACKED_OFF_MORE: f64 = 0.05;
/// Least metal left at each side of that hole, mm (common practice, no source).
pub const LEAST_SIDE: f64 = 0.3;
/// Length by which the screw ends short of the bottom of its hole, mm: what the tap cannot cut (common practice, no
/// source).
const SHORT_OF_BOTTOM: f64 = 0.5;
/// Flattest and steepest angle at which the spring's tip meets the tube, radians (common practice, no source).
const TIP_ANGLE: (f64, f64) = (0.07, 0.45);

/// The body of the spring, key closed: it lies flat under the arm, then bends down until its rounded tip touches the
/// top of the tube.
///
/// A strip held at one end and pressed at the other hangs by δ(u) = δ u² (3 − u) / 2 at the share u of its free length
/// (handbook beam under an end load), so at the tip it slants by 3 δ / 2 over the free length against its seat; the
/// tip is set against the tube at that slant, within the limits in which its round end bears and not its edge.
///
/// # Errors
///
/// A violation where a strip this thick cannot be bent so.
pub fn body(job: &Job, places: &Places, seat: &SpringSeat) -> Result<Plate, Box<Violation>> {
    let half = job.spring.thickness_mm / 2.0;
    let along = seat.middle.along;
    let under = |point: DVec2| point - along.perp() * (places.gap + half);
    let held = Stand::new(under(seat.ends[1]), along);

    let tip_station = tip_station(job);
    let surface = in_plane(places.neck.above(tip_station, 0.0));
    let skin = places.top_line_direction(tip_station);
    let centre = surface + skin.perp() * half;
    let drop = places.height(held.point).0 - half;
    let free = job.spring.reach_mm - job.spring.seat_length_mm / 2.0;
    let slant = (1.5 * drop / free).clamp(TIP_ANGLE.0, TIP_ANGLE.1);
    let tip = Stand::new(centre, unit(-slant).rotate(skin));

    let middle = chain(&[held, tip]);
    let wrong = |allowed: &str| {
        Box::new(Violation::error(
            "spring.reach_mm",
            job.spring.reach_mm,
            allowed,
            "The strip cannot be bent from its seat down to the tube in this length.",
        ))
    };
    let way = tip.point - held.point;
    if way.dot(held.along) < 2.0 * half + 0.5 || way.dot(tip.along) < 2.0 * half + 0.5 {
        return Err(wrong("a longer reach"));
    }
    let (Some(lower), Some(upper)) = (beside(&middle, -half), beside(&middle, half)) else {
        return Err(wrong("a longer reach, or a thinner strip"));
    };
    let seat_corner = |end: DVec2, side: f64| under(end) + along.perp() * (side * half);
    let [near, far] = seat.ends;
    let outline = Outline::new(vec![
        Side::line(seat_corner(near, -1.0), seat_corner(far, -1.0)),
        Side::cubic(lower),
        Side::Arc { from: tip.beside(-half).point, centre, sweep: std::f64::consts::PI },
        Side::cubic(reversed(&upper)),
        Side::line(seat_corner(far, 1.0), seat_corner(near, 1.0)),
        Side::line(seat_corner(near, 1.0), seat_corner(near, -1.0)),
    ]);
    if crossing(&polyline(&outline)).is_some() {
        return Err(wrong("another reach"));
    }
    let hole = EdgeHole {
        side: 0,
        entry: (seat_corner(near, -1.0) + seat_corner(far, -1.0)) / 2.0,
        radius: hole_radius(job),
        end: HoleEnd::Through(4),
    };
    Ok(Plate {
        frame: BEND_PLANE,
        outline,
        half_thickness: job.spring.width_mm / 2.0,
        holes: Vec::new(),
        edge_holes: vec![hole],
    })
}

/// Station at which the tip bears on the tube.
pub fn tip_station(job: &Job) -> f64 {
    job.saddle.station_mm + job.spring.seat_from_hinge_mm + job.spring.reach_mm
}

/// Radius of the hole in the spring for its screw: room for the thread, and for the modelled shank to count as clear
/// as far as the strip's width allows.
pub fn hole_radius(job: &Job) -> f64 {
    let clear = shank_radius(job) + job.limits.least_clearance_mm + BACKED_OFF_MORE;
    clear.min(job.spring.width_mm / 2.0 - LEAST_SIDE).max(thread_room(job))
}

/// Least radius of that hole: the thread must pass.
pub fn thread_room(job: &Job) -> f64 {
    job.spring_screw.thread.major_diameter_mm() / 2.0 + HOLE_ROOM
}

/// Least depth of the hole in the arm: two turns of thread (common practice, no source), and what the tap cannot cut.
pub fn least_depth(job: &Job) -> f64 {
    2.0 * job.spring_screw.thread.pitch_mm() + SHORT_OF_BOTTOM
}

/// How far the screw is drawn backed off from its seat, mm: tightened, the head bears on the spring, but the two count
/// as free parts, which must show their least clearance. It keeps two turns in the arm.
pub fn backed_off(job: &Job) -> f64 {
    let free = job.spring_screw.depth_mm - least_depth(job);
    (job.limits.least_clearance_mm + BACKED_OFF_MORE).min(free).max(0.0)
}

/// Radius of the screw's shank, modelled 0.1 mm under the tap drill's diameter.
fn shank_radius(job: &Job) -> f64 {
    (job.spring_screw.thread.tap_drill_mm() - 0.1) / 2.0
}

/// The spring.
pub fn part(job: &Job, body: Plate) -> Part {
    Part::moving(
        "spring",
        "key spring",
        job.spring.metal,
        "cut from spring strip, bent",
        Shape::Plate(body),
    )
}

/// The screw, backed off from the underside of the spring by [`backed_off`]; its shank is modelled 0.1 mm under the tap
/// drill, so that thread is not overlap.
pub fn screw(job: &Job, places: &Places, seat: &SpringSeat) -> Part {
    let given = &job.spring_screw;
    let up = seat.middle.along.perp();
    let raise = |flat: DVec2| BEND_PLANE.direction(flat.extend(0.0));
    let axis = Frame::from_zx(
        BEND_PLANE.point(seat.middle.point.extend(0.0)),
        raise(up),
        raise(seat.middle.along),
    );
    let bearing = -(places.gap + job.spring.thickness_mm + backed_off(job));
    let head = given.head_diameter_mm / 2.0;
    let shank = shank_radius(job);
    let end = given.depth_mm - SHORT_OF_BOTTOM - backed_off(job);
    let (edge, point) = ((given.head_length_mm / 4.0).min(0.2), shank / 3.0);
    let body = turned(
        axis,
        &[
            at(bearing - given.head_length_mm, 0.0),
            at(end, 0.0),
            at(end, shank - point),
            at(end - point.min(end / 2.0), shank),
            at(bearing, shank),
            at(bearing, head),
            at(bearing - given.head_length_mm + edge, head),
            at(bearing - given.head_length_mm, head - edge),
        ],
    );
    Part::moving("spring_screw", "spring screw", given.metal, "bought screw", body)
}
