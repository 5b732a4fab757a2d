//! What is not made but must stay clear: the mouthpiece, and the horn's receiver, clamp, pin and screwdriver path.

use glam::DVec3;

use crate::geometry::frame::Frame;
use crate::job::Job;
use crate::units::rad_from_deg;

use super::lathe::{at, cylinder, turned};
use super::part::Part;
use super::places::Places;
use super::{hinge, posts};

/// Chamfer at the inside of the receiver's rim, mm (common practice, no source).
const RIM_EDGE: f64 = 0.3;
/// Height above the receiver's rim at which the pin begins, mm: a choice of the drawing, for what is below
/// belongs to the horn.
const PIN_FOOT: f64 = 0.1;

/// Length of a straight path that a drill, reamer or tap with its holder needs, mm (common practice, no source).
const TOOL_LENGTH: f64 = 60.0;

/// A straight path for a tool, kept free only while it is used.
#[derive(Clone, Debug, PartialEq)]
pub struct ToolPath {
    /// The path as a body; its name says what goes along it.
    pub path: Part,
    /// Parts that are on the neck by then, and not what is drilled.
    pub beside: &'static [&'static str],
}

/// Paths of the tools: along the hinge axis from either side, once the posts are soldered and before there is a key;
/// and along the vent's axis, before there is anything of the key's.
pub(super) fn tool_paths(job: &Job, places: &Places) -> [ToolPath; 3] {
    const SOLDERED: &[&str] =
        &["tube", "tenon", "end_ring", "vent", "brace", "saddle", "guide", "badge"];
    const BEFORE_VENT: &[&str] = &["tenon", "end_ring", "brace", "badge"];
    let outside = posts::spread(job) + job.posts.diameter_mm / 2.0;
    let hinge = |id, name, y: f64| {
        let axis = Frame::from_zx(places.hinge.origin, places.hinge.y * y, places.hinge.z);
        let path = cylinder(axis, outside, outside + TOOL_LENGTH, posts::clear_hole(job));
        ToolPath { path: Part::keepout(id, name, path), beside: SOLDERED }
    };
    let hole = job.vent.outer_diameter_mm / 2.0 + places.gap;
    let vent = cylinder(places.vent_seat, 0.0, TOOL_LENGTH, hole);
    [
        hinge("tool_path_left", "drill, reamer and tap from the left", 1.0),
        hinge("tool_path_right", "drill, reamer and tap from the right", -1.0),
        ToolPath {
            path: Part::keepout("tool_path_vent", "drill for the vent", vent),
            beside: BEFORE_VENT,
        },
    ]
}

/// Every keep-out, in the order of the list.
pub fn parts(job: &Job, places: &Places) -> Vec<Part> {
    vec![
        mouthpiece(job, places),
        receiver(job, places),
        clamp_screw(job, places),
        octave_pin(job, places),
        screwdriver_path(job, places),
    ]
}

fn mouthpiece(job: &Job, places: &Places) -> Part {
    let given = &job.mouthpiece;
    let (inside, outside) = (given.shank_bore_mm / 2.0, given.shank_diameter_mm / 2.0);
    let (from, to) = (given.deepest_push_mm - given.shank_length_mm, given.deepest_push_mm);
    let body = turned(
        places.neck.along(0.0),
        &[at(from, inside), at(to, inside), at(to, outside), at(from, outside)],
    );
    Part::keepout("mouthpiece", "mouthpiece shank", body)
}

fn receiver(job: &Job, places: &Places) -> Part {
    let given = &job.horn;
    let (inside, outside) = (given.receiver_bore_mm / 2.0, given.receiver_diameter_mm / 2.0);
    let (rim, bottom) = (given.rim_gap_mm, given.rim_gap_mm + given.receiver_depth_mm);
    let edge = RIM_EDGE.min((outside - inside) / 3.0);
    let body = turned(
        places.tenon_axis,
        &[
            at(rim + edge, inside),
            at(bottom, inside),
            at(bottom, outside),
            at(rim, outside),
            at(rim, inside + edge),
        ],
    );
    Part::keepout("receiver", "receiver", body)
}

/// Unit direction square to the tenon's axis: 0 to the bell, growing to the player's left.
fn round_tenon(places: &Places, angle_deg: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(rad_from_deg(angle_deg));
    places.tenon_axis.x * cos + DVec3::Y * sin
}

fn clamp_screw(job: &Job, places: &Places) -> Part {
    let given = &job.horn.clamp;
    let tenon = &places.tenon_axis;
    let outward = round_tenon(places, given.azimuth_deg);
    let origin = tenon.origin + tenon.z * given.below_seat_mm + outward * given.offset_mm;
    let axis = Frame::from_zx(origin, tenon.z.cross(outward), outward);
    let half = given.length_mm / 2.0;
    Part::keepout(
        "clamp_screw",
        "clamp screw",
        cylinder(axis, -half, half, given.screw_diameter_mm / 2.0),
    )
}

/// Height above the collar's seat at which the pin begins; negative below it.
pub fn pin_foot(job: &Job) -> f64 {
    PIN_FOOT - job.horn.rim_gap_mm
}

fn octave_pin(job: &Job, places: &Places) -> Part {
    let given = &job.horn.pin;
    let tenon = &places.tenon_axis;
    let outward = round_tenon(places, 180.0);
    let axis = Frame::from_zx(tenon.origin + outward * given.circle_radius_mm, -tenon.z, outward);
    Part::keepout(
        "octave_pin",
        "octave pin",
        cylinder(axis, pin_foot(job), given.height_mm, given.diameter_mm / 2.0),
    )
}

fn screwdriver_path(job: &Job, places: &Places) -> Part {
    let given = &job.horn.screwdriver;
    let start = hinge::head_end(job) + given.stand_off_mm;
    let body = cylinder(
        hinge::axis(job, places),
        -(start + given.length_mm),
        -start,
        given.diameter_mm / 2.0,
    );
    Part::keepout("screwdriver_path", "screwdriver path", body)
}
