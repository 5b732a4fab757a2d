//! The outside of the tube laid flat: station along the centreline one way, azimuth round the tube the other, with the
//! place of every part on it. On paper an azimuth is as long as its arc on the tube's outside, so at every station the
//! sheet is as wide as the tube is round; along a bend the sheet is as long as the centreline, while the metal is longer
//! outside the bend and shorter inside.
//!
//! Outlines come from the parts' definitions, never from triangles. They are lines from point to point, and nowhere
//! farther than [`TOLERANCE`] from the true outline on the tube.

use std::f64::consts::TAU;

use glam::DVec3;
use serde::Serialize;

use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::geometry::shape::{Shape, Sweep};
use crate::job::Job;
use crate::job::parameters::BraceForm;
use crate::units::deg_from_rad;

use super::assembly::Assembly;
use super::part::Part;
use super::places::Places;
use super::posts;

/// Greatest distance of an outline's lines from the true outline, mm on the tube's outside.
pub const TOLERANCE: f64 = 0.01;

/// Width round a soldered foot that is cleaned and fluxed, and that the solder's fillet may take, mm (common practice,
/// no source).
pub const SOLDER_MARGIN: f64 = 1.0;

/// Greatest distance between two stations that are looked at, mm: azimuths of edges change by station as slowly as the
/// tube's radius does, so lines this long depart from them by far less than the tolerance.
const STEP: f64 = 1.0;

/// The outside of a neck laid flat.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Unrolled {
    /// The tube from the cork end to the tenon's free end, at stations close enough to be joined by straight lines.
    pub along: Vec<Along>,
    /// Azimuths of the seams, where the two half shells are soldered: they part in the plane of the bend.
    pub seams_deg: [f64; 2],
    /// What goes all round the tube.
    pub bands: Vec<Band>,
    /// Where parts stand on the tube, or pass over it.
    pub footprints: Vec<Footprint>,
    /// Width of the margin round each soldered foot.
    pub solder_margin_mm: f64,
    /// Station of the collar's seat on the receiver.
    pub seat_station_mm: f64,
}

/// The tube at one station.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Along {
    pub station_mm: f64,
    /// Of the tube's outside.
    pub radius_mm: f64,
    /// The centreline there; it lies in the plane y = 0.
    pub x_mm: f64,
    pub z_mm: f64,
    /// Its direction towards the tenon, a unit vector. The tube's top lies along (-dz, dx) from the centreline.
    pub dx: f64,
    pub dz: f64,
}

/// Something that goes all round the tube between two stations.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Band {
    /// Id of the part or keep-out.
    pub part: &'static str,
    pub name: &'static str,
    pub from_station_mm: f64,
    pub to_station_mm: f64,
    /// Of its own outside, or of its bore where it goes over the neck.
    pub diameter_mm: f64,
}

/// How a part meets the tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Stands {
    /// Soldered on its outside.
    Soldered,
    /// Through a hole drilled in its wall.
    Through,
    /// On another part that is soldered on it.
    Carried,
    /// It goes round the neck without touching it.
    Over,
}

/// The place of one part on the tube, or of one foot of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Footprint {
    /// Id of the part.
    pub part: &'static str,
    pub name: &'static str,
    pub stands: Stands,
    /// Closed line of `[station_mm, azimuth_deg]`, counter-clockwise with the station to the right and the azimuth
    /// upwards. Azimuths go on over 180 where the outline crosses the bottom of the tube.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number][]"))]
    pub outline_mm_deg: Vec<[f64; 2]>,
    /// The same with the solder's margin round it; empty for what is not soldered on the tube.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number][]"))]
    pub margin_mm_deg: Vec<[f64; 2]>,
}

/// The outside of a job's neck laid flat.
#[must_use]
pub fn unrolled(job: &Job, assembly: &Assembly) -> Unrolled {
    let places = Places::of(job);
    let neck = &*places.neck;
    let along = stations(neck, 0.0, places.length).into_iter().map(|station| {
        let at = neck.at(station);
        Along {
            station_mm: station,
            radius_mm: neck.outside(station),
            x_mm: at.centre.x,
            z_mm: at.centre.z,
            dx: at.tangent.x,
            dz: at.tangent.z,
        }
    });
    Unrolled {
        along: along.collect(),
        seams_deg: [0.0, 180.0],
        bands: bands(job, &places),
        footprints: assembly.parts.iter().flat_map(|part| footprints(part, job, &places)).collect(),
        solder_margin_mm: SOLDER_MARGIN,
        seat_station_mm: places.seat,
    }
}

fn bands(job: &Job, places: &Places) -> Vec<Band> {
    let band = |part, name, from_station_mm, to_station_mm, diameter_mm| Band {
        part,
        name,
        from_station_mm,
        to_station_mm,
        diameter_mm,
    };
    let (ring, collar, tenon) = (job.end_ring.length_mm, places.collar, &job.tenon);
    let rim = places.seat + job.horn.rim_gap_mm;
    vec![
        band("end_ring", "end ring", 0.0, ring, job.end_ring.bead_diameter_mm),
        band("cork", "cork", ring, job.cork.to_station_mm, job.mouthpiece.shank_bore_mm),
        band("tenon", "collar", collar, places.seat, tenon.collar_diameter_mm),
        band("tenon", "tenon", places.seat, places.length, tenon.outer_diameter_mm),
        band(
            "receiver",
            "receiver",
            rim,
            rim + job.horn.receiver_depth_mm,
            job.horn.receiver_bore_mm,
        ),
    ]
}

fn footprints(part: &Part, job: &Job, places: &Places) -> Vec<Footprint> {
    let neck = &*places.neck;
    let made = |stands, outline_mm_deg, margin_mm_deg| Footprint {
        part: part.id,
        name: part.name,
        stands,
        outline_mm_deg,
        margin_mm_deg,
    };
    match (part.id, &part.shape) {
        ("brace" | "saddle" | "guide" | "badge", Shape::Sweep(sweep)) => feet(part.id, job, sweep)
            .into_iter()
            .map(|(from, to)| {
                let foot = |margin| foot_outline(sweep, from, to, margin);
                made(Stands::Soldered, foot(0.0), foot(SOLDER_MARGIN))
            })
            .collect(),
        ("vent", _) => {
            let axis = neck.standing(job.vent.station_mm, 0.0);
            let radius = job.vent.outer_diameter_mm / 2.0;
            let ring = |margin| round_outline(neck, &axis, radius + margin);
            vec![made(Stands::Through, ring(0.0), ring(SOLDER_MARGIN))]
        }
        ("post_left" | "post_right", _) => {
            let side = if part.id == "post_left" { 1.0 } else { -1.0 };
            let hinge = &places.hinge;
            let axis = hinge.at(hinge.origin + hinge.y * (side * posts::spread(job)));
            let outline = round_outline(neck, &axis, job.posts.diameter_mm / 2.0);
            vec![made(Stands::Carried, outline, Vec::new())]
        }
        ("rod_loop", _) => {
            // All round, so that where it crosses the bottom it is cut as the sheet is.
            let middle = places.seat - job.rod_loop.above_seat_mm;
            let half = job.rod_loop.rod_diameter_mm / 2.0;
            let corners = [(-half, -180.0), (half, -180.0), (half, 180.0), (-half, 180.0)];
            let outline = corners.map(|(along, azimuth)| [middle + along, azimuth]);
            vec![made(Stands::Over, outline.into(), Vec::new())]
        }
        _ => Vec::new(),
    }
}

/// First and last station of each foot of a swept part.
fn feet(id: &str, job: &Job, sweep: &Sweep) -> Vec<(f64, f64)> {
    if id == "brace" && job.brace.form == BraceForm::Bridge {
        let foot = job.brace.foot_length_mm;
        return vec![(sweep.from, sweep.from + foot), (sweep.to - foot, sweep.to)];
    }
    vec![(sweep.from, sweep.to)]
}

/// Outline of a foot, which lies between the first two corners of the section, grown by a margin to all sides.
fn foot_outline(sweep: &Sweep, from: f64, to: f64, margin: f64) -> Vec<[f64; 2]> {
    let neck = &*sweep.neck;
    let [right, left, ..] = sweep.points.as_slice() else { return Vec::new() };
    let edge = |station: f64, left_side: bool| {
        // Beyond its ends the margin keeps the width that the foot has there.
        let at = station.clamp(from, to);
        let corner = if left_side { left } else { right };
        let grown = if left_side { margin } else { -margin } / neck.outside(at);
        [station, deg_from_rad(corner.angle(neck, at).value + grown)]
    };
    let all = stations(neck, from - margin, to + margin);
    let there = all.iter().map(|station| edge(*station, false));
    there.chain(all.iter().rev().map(|station| edge(*station, true))).collect()
}

/// Outline that a round body of this radius about the frame's z axis cuts out of the tube's outside, on the side the
/// axis points to.
fn round_outline(neck: &Neck, axis: &Frame, radius: f64) -> Vec<[f64; 2]> {
    // A circle departs from its chord by radius (1 - cos(half the step)), nearly radius step² / 8. Half the tolerance is
    // left for what the tube's curve does to it.
    let count = (TAU / (4.0 * TOLERANCE / radius).sqrt()).ceil().max(24.0);
    // Truncation cannot happen: a radius of a metre needs some thousand points.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = count as u32;
    (0..count)
        .map(|i| {
            let (sin, cos) = libm::sincos(TAU * f64::from(i) / f64::from(count));
            on_outside(neck, axis, radius * cos, radius * sin)
        })
        .collect()
}

/// Station and azimuth at which the line through (x, y) of a frame, along its z axis, meets the tube's outside.
fn on_outside(neck: &Neck, axis: &Frame, x: f64, y: f64) -> [f64; 2] {
    let mut height = 0.0;
    let mut place = [0.0, 0.0];
    // Each round takes off the error along the line; a dozen bring it under a thousandth of the tolerance even where
    // the line meets the tube as aslant as 45 degrees.
    for _ in 0..12 {
        let point = axis.point(DVec3::new(x, y, height));
        let station = neck.centreline.nearest_station(point);
        let at = neck.at(station);
        let from_centre = point - at.centre;
        let (up, left) = (from_centre.dot(at.up), from_centre.y);
        let off = (up * up + left * left).sqrt();
        place = [station, deg_from_rad(libm::atan2(left, up))];
        let out = (at.up * up + DVec3::Y * left) / off.max(1e-9);
        let slant = out.dot(axis.z).max(0.3);
        height -= (off - neck.outside(station)) / slant;
    }
    place
}

/// Stations from one to another, no farther apart than a step, with those between them at which the tube changes its law.
fn stations(neck: &Neck, from: f64, to: f64) -> Vec<f64> {
    let (breaks, _) = neck.breaks(from, to);
    let mut all = Vec::new();
    for pair in breaks.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let steps = ((to - from) / STEP).ceil().clamp(1.0, 1e4) as u32;
        all.extend((0..steps).map(|i| from + (to - from) * f64::from(i) / f64::from(steps)));
    }
    all.extend(breaks.last());
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::parameters::Job;
    use crate::job::{Voice, starting_job};

    /// The alto with a vent and a saddle on its straight start, and as good as no taper: there the tube is a cylinder.
    fn on_cylinder(change: impl FnOnce(&mut serde_json::Value)) -> Job {
        let mut job = serde_json::to_value(starting_job(Voice::Alto).expect("alto")).expect("json");
        change(&mut job);
        serde_json::from_value(job).expect("the alto's fields")
    }

    fn laid(job: &Job) -> Unrolled {
        let places = Places::of(job);
        let neck = places.neck.clone();
        let parts = [
            super::super::vent::part(job, &places),
            super::super::saddle::part(job, &places),
            super::super::brace::part(job, &places),
        ];
        let footprints = parts.iter().flat_map(|part| footprints(part, job, &places)).collect();
        let radius_mm = neck.outside(30.0);
        let at = Along { station_mm: 30.0, radius_mm, x_mm: 0.0, z_mm: 0.0, dx: 1.0, dz: 0.0 };
        Unrolled {
            along: vec![at],
            seams_deg: [0.0, 180.0],
            bands: bands(job, &places),
            footprints,
            solder_margin_mm: SOLDER_MARGIN,
            seat_station_mm: places.seat,
        }
    }

    fn of<'a>(laid: &'a Unrolled, part: &str) -> Vec<&'a Footprint> {
        laid.footprints.iter().filter(|footprint| footprint.part == part).collect()
    }

    #[test]
    fn a_round_vent_on_a_cylinder_cuts_the_curve_of_two_crossed_cylinders() {
        let job = on_cylinder(|job| {
            job["bore"] = serde_json::json!({ "entry_diameter_mm": 12.0, "half_angle_deg": 0.0 });
            job["vent"]["station_mm"] = 30.0.into();
            job["vent"]["outer_diameter_mm"] = 4.5.into();
        });
        let laid = laid(&job);
        let (radius, outside) = (2.25, 6.0 + job.tube.wall_mm());
        let outline = &of(&laid, "vent")[0].outline_mm_deg;
        for [station, azimuth] in outline {
            // Seen along the vent's axis it is a circle: y = R sin(azimuth).
            let y = outside * libm::sin(azimuth.to_radians());
            let off = ((station - 30.0) * (station - 30.0) + y * y).sqrt();
            assert!((off - radius).abs() < 1e-6, "{off} at {station}, {azimuth}");
        }
        // The chords between the points, laid on the tube, are within the tolerance.
        for (i, [station, azimuth]) in outline.iter().enumerate() {
            let [next_station, next_azimuth] = outline[(i + 1) % outline.len()];
            let middle = f64::midpoint(*station, next_station) - 30.0;
            let y = outside * libm::sin(f64::midpoint(*azimuth, next_azimuth).to_radians());
            assert!((radius - (middle * middle + y * y).sqrt()).abs() < TOLERANCE);
        }
        // Laid flat it is as wide as the arc: 2 R asin(r / R), and as long as the vent is thick.
        let widest = outline.iter().map(|point| point[1]).fold(f64::MIN, f64::max).to_radians();
        assert!((widest * outside - outside * libm::asin(radius / outside)).abs() < TOLERANCE);
        let longest = outline.iter().map(|point| point[0]).fold(f64::MIN, f64::max);
        assert!((longest - 32.25).abs() < TOLERANCE);
    }

    #[test]
    fn a_saddle_of_half_wrap_w_covers_arcs_of_r_w() {
        let job = on_cylinder(|job| {
            job["bore"] = serde_json::json!({ "entry_diameter_mm": 12.0, "half_angle_deg": 1.6 });
            job["saddle"]["station_mm"] = 30.0.into();
        });
        let laid = laid(&job);
        let saddle = of(&laid, "saddle")[0];
        let wrap = job.saddle.half_wrap_deg;
        let half = job.saddle.length_mm / 2.0;
        for [station, azimuth] in &saddle.outline_mm_deg {
            assert!((azimuth.abs() - wrap).abs() < 1e-9);
            assert!(*station >= 30.0 - half - 1e-9 && *station <= 30.0 + half + 1e-9);
        }
        // Its margin is as wide as it should be on the cone's outside, R = 6 + s tan(1.6°) + wall.
        for [station, azimuth] in &saddle.margin_mm_deg {
            let at = station.clamp(30.0 - half, 30.0 + half);
            let outside = 6.0 + at * libm::tan(1.6_f64.to_radians()) + job.tube.wall_mm();
            let arc = (azimuth.abs() - wrap).to_radians() * outside;
            assert!((arc - SOLDER_MARGIN).abs() < 1e-9, "{arc} at {station}");
        }
        let ends = saddle.margin_mm_deg.iter().map(|point| point[0]);
        assert!((ends.fold(f64::MAX, f64::min) - (30.0 - half - SOLDER_MARGIN)).abs() < 1e-9);
    }

    #[test]
    fn a_strip_keeps_its_width_and_a_bridge_stands_on_two_feet() {
        let strip = on_cylinder(|_| ());
        let (whole, given) = (laid(&strip), &strip.brace);
        let brace = of(&whole, "brace");
        assert_eq!(brace.len(), 1);
        let foot = strip.tube.wall_mm() + strip.limits.joint_gap_mm + given.thickness_mm / 2.0;
        for [station, azimuth] in &brace[0].outline_mm_deg {
            // Its width is that of its middle, half its thickness over the foot.
            let middle = 6.15 + station * libm::tan(1.6_f64.to_radians()) + foot;
            let arc = (azimuth - 180.0).abs().to_radians() * middle;
            assert!((arc - given.width_mm / 2.0).abs() < 1e-9, "{arc} at {station}");
        }
        let bridge = on_cylinder(|job| job["brace"]["form"] = "bridge".into());
        let bridge_laid = laid(&bridge);
        let spans: Vec<(f64, f64)> = of(&bridge_laid, "brace")
            .iter()
            .map(|foot| {
                let along = foot.outline_mm_deg.iter().map(|point| point[0]);
                (along.clone().fold(f64::MAX, f64::min), along.fold(f64::MIN, f64::max))
            })
            .collect();
        let (from, to, foot) = (given.from_station_mm, given.to_station_mm, given.foot_length_mm);
        assert_eq!(spans, [(from, from + foot), (to - foot, to)]);
    }
}
