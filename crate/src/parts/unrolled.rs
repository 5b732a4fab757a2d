//! The outside of the tube laid flat: station along the centreline one way, azimuth round the tube the other, with the
//! place of every part on it. On paper an azimuth is as long as its arc on the tube's outside, so at every station the
//! sheet is as wide as the tube is round; along a bend the sheet is as long as the centreline, while the metal is longer
//! outside the bend and shorter inside.
//!
//! Outlines come from the parts' definitions, never from triangles. They are lines from point to point, and nowhere
//! farther than [`TOLERANCE`] from the true outline on the tube.

use std::f64::consts::TAU;

use glam::{DVec2, DVec3};
use serde::Serialize;

use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::geometry::shape::{Shape, Sweep};
use crate::job::Job;
use crate::job::parameters::BraceForm;
use crate::units::{deg_from_rad, rad_from_deg};

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
    /// upwards. Azimuths go on over 180 where the outline crosses the bottom of the tube. What is carried is outlined where
    /// it meets what carries it, and drawn on the tube right under that.
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
            let ring = |margin| round_outline(neck, neck.wall, &axis, radius + margin);
            vec![made(Stands::Through, ring(0.0), ring(SOLDER_MARGIN))]
        }
        ("post_left" | "post_right", _) => {
            let side = if part.id == "post_left" { 1.0 } else { -1.0 };
            let hinge = &places.hinge;
            let axis = hinge.at(hinge.origin + hinge.y * (side * posts::spread(job)));
            // On the saddle, whose outside the rules keep wide enough for them.
            let offset = neck.wall + places.gap + job.saddle.thickness_mm;
            let outline = round_outline(neck, offset, &axis, job.posts.diameter_mm / 2.0);
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
    // The azimuths of the sides, the right one first.
    let sides = |at: f64| {
        let grown = margin / neck.outside(at);
        (right.angle(neck, at).value - grown, left.angle(neck, at).value + grown)
    };
    // An end of the margin follows the end of the foot across the tube, from the right to the left.
    let end = |at: f64, way: f64| {
        let (right, left) = sides(at);
        let steps = if margin > 0.0 { ((left - right) / END_STEP).ceil().max(1.0) } else { 1.0 };
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let steps = steps as u32;
        (0..=steps)
            .map(move |i| {
                let azimuth = right + (left - right) * f64::from(i) / f64::from(steps);
                [along_outside(neck, at, way * margin, azimuth), deg_from_rad(azimuth)]
            })
            .collect::<Vec<_>>()
    };
    let all = stations(neck, from, to);
    let inner = all.get(1..all.len().saturating_sub(1)).unwrap_or_default();
    let (first, last) = (end(from, -1.0), end(to, 1.0));
    // Where there is a margin the sides begin and end at the foot's ends, and go straight on from there.
    let ends = if margin > 0.0 { [Some(from), Some(to)] } else { [None, None] };
    let along: Vec<f64> = ends[0].into_iter().chain(inner.iter().copied()).chain(ends[1]).collect();
    let side = |at: f64, azimuth: f64| [at, deg_from_rad(azimuth)];
    let there = along.iter().map(|&at| side(at, sides(at).0));
    let back = along.iter().rev().map(|&at| side(at, sides(at).1));
    there.chain(last).chain(back).chain(first.into_iter().rev()).collect()
}

/// Greatest step of azimuth along the end of a margin, radians: between such steps the way along the outside of a bend
/// differs from a straight line by a thousandth of itself.
const END_STEP: f64 = 0.15;

/// The station that lies a way (signed, mm) along the tube's outside from another, at an azimuth.
///
/// Outside a bend a line along the tube is longer than the centreline, inside it is shorter: by `1 + κ R cos(azimuth)` with
/// the curvature κ positive where the neck turns down and the azimuth from the top.
fn along_outside(neck: &Neck, from: f64, way: f64, azimuth: f64) -> f64 {
    let side = way.signum();
    let mut left = way.abs();
    let stretch = |station: f64| {
        // No foot reaches the middle of a bend: the rules see to that.
        (1.0 + neck.at(station).curvature * neck.outside(station) * libm::cos(azimuth)).max(0.05)
    };
    let mut at = from;
    // The curvature may jump on the way.
    let far = from + side * 4.0 * left;
    let (breaks, _) = neck.breaks(from.min(far), from.max(far));
    let ordered: Vec<f64> = if side < 0.0 { breaks.into_iter().rev().collect() } else { breaks };
    for pair in ordered.windows(2) {
        let length = (pair[1] - pair[0]).abs();
        let share = stretch(pair[0] + side * (left / 2.0).min(length / 2.0));
        if length * share >= left {
            return pair[0] + side * left / share;
        }
        left -= length * share;
        at = pair[1];
    }
    at + side * left / stretch(at)
}

/// Outline that a round body of this radius about the frame's z axis cuts out of a surface around the tube, on the side
/// the axis points to. The surface lies by an offset outside the bore.
fn round_outline(neck: &Neck, offset: f64, axis: &Frame, radius: f64) -> Vec<[f64; 2]> {
    let at = |turn: f64| {
        let (sin, cos) = libm::sincos(turn);
        on_surface(neck, offset, axis, radius * cos, radius * sin)
    };
    let step = TAU / f64::from(ROUND_STEPS);
    let mut outline = Vec::new();
    for i in 0..ROUND_STEPS {
        let (from, to) = (step * f64::from(i), step * f64::from(i + 1));
        let ends = [at(from), at(to)];
        outline.push(ends[0]);
        let finer = Finer { at: &at, mm_per_deg: rad_from_deg(1.0) * neck.outside(ends[0][0]) };
        finer.between((from, ends[0]), (to, ends[1]), MOST_HALVINGS, &mut outline);
    }
    outline
}

/// Steps that a round outline is first cut into.
const ROUND_STEPS: u32 = 24;

/// Times a step of a round outline is halved at most: where it runs down the side of the tube, a twentieth of a degree of
/// its own turn is a hundredth of a millimetre.
const MOST_HALVINGS: u32 = 6;

/// Puts points between points of a curve until straight lines between them are within the tolerance on the tube.
struct Finer<'a, F> {
    at: &'a F,
    mm_per_deg: f64,
}

impl<F: Fn(f64) -> [f64; 2]> Finer<'_, F> {
    fn between(
        &self,
        from: (f64, [f64; 2]),
        to: (f64, [f64; 2]),
        halvings: u32,
        out: &mut Vec<[f64; 2]>,
    ) {
        let middle = f64::midpoint(from.0, to.0);
        let point = (self.at)(middle);
        let flat = |[station, azimuth]: [f64; 2]| DVec2::new(station, azimuth * self.mm_per_deg);
        let chord = flat(to.1) - flat(from.1);
        let bulge = (flat(point) - flat(from.1)).perp_dot(chord.normalize_or_zero()).abs();
        // Half the tolerance is left for where the curve bulges more than in its middle.
        if halvings == 0 || bulge <= TOLERANCE / 2.0 {
            return;
        }
        self.between(from, (middle, point), halvings - 1, out);
        out.push(point);
        self.between((middle, point), to, halvings - 1, out);
    }
}

/// Station and azimuth at which the line through (x, y) of a frame, along its z axis, meets a surface that lies by an offset
/// outside the bore. The frame's z and x lie in the plane of the bend. A line that passes beside the surface is held to
/// its silhouette.
fn on_surface(neck: &Neck, offset: f64, axis: &Frame, x: f64, y: f64) -> [f64; 2] {
    let mut height = 0.0;
    let mut place = [0.0, 0.0];
    // How far the surface is beside the plane of the bend stays the same along the line, so each round finds its height
    // but for what taper and bend change over the way: a dozen bring that under a thousandth of the tolerance.
    for _ in 0..12 {
        let point = axis.point(DVec3::new(x, y, height));
        let station = neck.centreline.nearest_station(point);
        let at = neck.at(station);
        let radius = neck.bore.radius(station) + offset;
        let left = point.y.clamp(-radius, radius);
        let up = (radius * radius - left * left).sqrt();
        place = [station, deg_from_rad(libm::atan2(left, up))];
        let over = (point - at.centre).dot(at.up) - up;
        height -= over / at.up.dot(axis.z).max(0.5);
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
    use serde_json::{Value, json};

    use super::*;
    use crate::job::{Voice, starting_job};

    /// Radius of the tube's outside on the cylinder.
    const OUTSIDE: f64 = 7.7;

    fn laid(change: impl FnOnce(&mut Value)) -> (Job, Unrolled) {
        let mut job = serde_json::to_value(starting_job(Voice::Alto).expect("alto")).expect("json");
        change(&mut job);
        let job: Job = serde_json::from_value(job).expect("the alto's fields");
        let assembly = Assembly::build(&job).expect("keeps every rule");
        let laid = unrolled(&job, &assembly);
        (job, laid)
    }

    /// The alto with a bore that does not open and a long straight start: as far as behind the saddle its tube is a
    /// cylinder. The posts stand so far apart that their outer sides are farther out than the tube's.
    fn on_cylinder() -> (Job, Unrolled) {
        laid(|job| {
            job["centreline"]["pieces"][0]["straight_mm"] = 128.0.into();
            let row = |station: f64| json!({ "station_mm": station, "diameter_mm": 14.0 });
            job["bore"] = json!({ "table": [row(0.0), row(271.2)] });
            job["end_ring"]["bead_diameter_mm"] = 16.0.into();
            job["hinge"]["tube_length_mm"] = 7.0.into();
            job["saddle"]["half_wrap_deg"] = 75.0.into();
            job["badge"] = json!({
                "station_mm": 66.0, "azimuth_deg": 150.0, "length_mm": 10.0, "width_mm": 6.0,
                "thickness_mm": 0.8, "metal": "C26000"
            });
        })
    }

    fn of<'a>(laid: &'a Unrolled, part: &str) -> Vec<&'a Footprint> {
        laid.footprints.iter().filter(|footprint| footprint.part == part).collect()
    }

    fn the<'a>(laid: &'a Unrolled, part: &str) -> &'a Footprint {
        let all = of(laid, part);
        assert_eq!(all.len(), 1, "{part}");
        all[0]
    }

    /// Least and greatest station, and least and greatest azimuth.
    fn extent(outline: &[[f64; 2]]) -> [[f64; 2]; 2] {
        let of = |place: usize| {
            let all = outline.iter().map(|point| point[place]);
            [all.clone().fold(f64::MAX, f64::min), all.fold(f64::MIN, f64::max)]
        };
        [of(0), of(1)]
    }

    fn is_extent(outline: &[[f64; 2]], stations: [f64; 2], azimuths: [f64; 2]) {
        let found = extent(outline);
        let off = |found: [f64; 2], wanted: [f64; 2]| {
            (found[0] - wanted[0]).abs().max((found[1] - wanted[1]).abs())
        };
        let miss = off(found[0], stations).max(off(found[1], azimuths));
        assert!(miss < 1e-9, "{found:?} for {stations:?}, {azimuths:?}");
    }

    /// Greatest distance of a curve from the closed line of an outline, all laid on the tube's outside.
    fn off_lines(outline: &[[f64; 2]], outside: f64, curve: impl Fn(f64) -> [f64; 2]) -> f64 {
        let flat =
            |[station, azimuth]: [f64; 2]| DVec2::new(station, azimuth.to_radians() * outside);
        let mut worst: f64 = 0.0;
        for i in 0..5000 {
            let point = flat(curve(TAU * f64::from(i) / 5000.0));
            let mut nearest = f64::MAX;
            for (j, &from) in outline.iter().enumerate() {
                let (a, b) = (flat(from), flat(outline[(j + 1) % outline.len()]));
                let share = (point - a).dot(b - a) / (b - a).length_squared().max(1e-12);
                nearest = nearest.min(point.distance(a + (b - a) * share.clamp(0.0, 1.0)));
            }
            worst = worst.max(nearest);
        }
        worst
    }

    /// Two crossed cylinders: seen along the vent its outline is a circle, and y = R sin(azimuth).
    #[test]
    fn a_round_vent_on_a_cylinder_cuts_the_curve_of_two_crossed_cylinders() {
        let (_, laid) = on_cylinder();
        let vent = the(&laid, "vent");
        assert_eq!(vent.stands, Stands::Through);
        for (outline, radius) in [(&vent.outline_mm_deg, 2.25), (&vent.margin_mm_deg, 3.25)] {
            for [station, azimuth] in outline {
                let y = OUTSIDE * libm::sin(azimuth.to_radians());
                let off = ((station - 66.0) * (station - 66.0) + y * y).sqrt();
                assert!((off - radius).abs() < 1e-9, "{off} at {station}, {azimuth}");
            }
            let curve = |turn: f64| {
                let (sin, cos) = libm::sincos(turn);
                [66.0 + radius * cos, libm::asin(radius * sin / OUTSIDE).to_degrees()]
            };
            let off = off_lines(outline, OUTSIDE, curve);
            assert!(off < TOLERANCE, "{off}");
        }
    }

    /// The same of a post on the saddle, whose outside lies 0.08 + 0.8 over the tube's: out at 0.9 of its radius it runs
    /// down its side, where lines from step to step of the post would be far off. The tube itself it would miss.
    #[test]
    fn a_post_beyond_the_side_of_the_tube_is_outlined_on_the_saddle() {
        let (job, laid) = on_cylinder();
        let saddle = OUTSIDE + 0.08 + 0.8;
        let (spread, radius) = (3.5 + 0.05 + 2.1, 2.1);
        assert!(spread + radius > OUTSIDE && (job.posts.diameter_mm - 4.2).abs() < 1e-12);
        for (part, side) in [("post_left", 1.0), ("post_right", -1.0)] {
            let post = the(&laid, part);
            assert_eq!((post.stands, post.margin_mm_deg.len()), (Stands::Carried, 0));
            for [station, azimuth] in &post.outline_mm_deg {
                let y = saddle * libm::sin(azimuth.to_radians()) - side * spread;
                let off = ((station - 102.0) * (station - 102.0) + y * y).sqrt();
                assert!((off - radius).abs() < 1e-9, "{off} at {station}, {azimuth}");
            }
            let curve = |turn: f64| {
                let (sin, cos) = libm::sincos(turn);
                let y = side * spread + radius * sin;
                [102.0 + radius * cos, libm::asin(y / saddle).to_degrees()]
            };
            let off = off_lines(&post.outline_mm_deg, OUTSIDE, curve);
            assert!(off < TOLERANCE, "{off}");
        }
    }

    /// A line that passes beside a cylinder is held to its silhouette.
    #[test]
    fn what_is_wider_than_the_tube_is_held_to_its_side() {
        let (job, _) = on_cylinder();
        let neck = &*Places::of(&job).neck;
        let found = on_surface(neck, neck.wall, &neck.standing(60.0, 0.0), 1.5, OUTSIDE + 1.0);
        assert!((found[0] - 61.5).abs() < 1e-9 && (found[1] - 90.0).abs() < 1e-9, "{found:?}");
    }

    /// On the bend too, whatever post of the rules' own reach is outlined without a jump.
    #[test]
    fn a_post_on_the_bend_is_outlined_without_a_jump() {
        let (_, laid) = laid(|job| {
            job["hinge"]["tube_length_mm"] = 11.2.into();
            job["saddle"]["half_wrap_deg"] = 75.0.into();
        });
        let outline = &the(&laid, "post_left").outline_mm_deg;
        for (i, [station, azimuth]) in outline.iter().enumerate() {
            let [next, over] = outline[(i + 1) % outline.len()];
            let step = DVec2::new(next - station, (over - azimuth) * 0.17).length();
            assert!(step < 1.0, "{step} at {station}, {azimuth}");
            assert!((station - 102.0).abs() < 2.1 && *azimuth > 20.0 && *azimuth < 75.0);
        }
    }

    #[test]
    fn a_saddle_of_half_wrap_w_covers_arcs_of_r_w() {
        let (_, laid) = on_cylinder();
        let saddle = the(&laid, "saddle");
        assert_eq!(saddle.stands, Stands::Soldered);
        is_extent(&saddle.outline_mm_deg, [96.0, 108.0], [-75.0, 75.0]);
        for [_, azimuth] in &saddle.outline_mm_deg {
            assert!((azimuth.abs() - 75.0).abs() < 1e-9);
        }
        // A millimetre more all round, on the tube.
        let wide = 75.0 + (1.0 / OUTSIDE).to_degrees();
        is_extent(&saddle.margin_mm_deg, [95.0, 109.0], [-wide, wide]);
        for [station, azimuth] in &saddle.margin_mm_deg {
            let sides = [azimuth.abs() - wide, (station - 102.0).abs() - 7.0];
            assert!(sides.iter().any(|off| off.abs() < 1e-9), "{station}, {azimuth}");
        }
        assert_eq!(laid.solder_margin_mm, SOLDER_MARGIN);
    }

    /// On a bend the outside is longer than the stations say, by 1 + R cos(azimuth) / radius of the bend. The alto's brace
    /// ends under the bend of 48 mm and its saddle on top of it; both begin on that of 150 mm.
    #[test]
    fn a_margin_on_a_bend_is_as_wide_as_it_should_be() {
        let (job, laid) = laid(|_| ());
        let brace = &job.brace;
        for (part, from, to) in
            [("brace", brace.from_station_mm, brace.to_station_mm), ("saddle", 96.0, 108.0)]
        {
            let mut looked = 0;
            for [station, azimuth] in &the(&laid, part).margin_mm_deg {
                let (over, bend) = if *station < from - 1e-9 {
                    (from - station, 150.0)
                } else if *station > to + 1e-9 {
                    (station - to, 48.0)
                } else {
                    continue;
                };
                let outside = 6.15 + station * libm::tan(1.6_f64.to_radians()) + 0.7;
                let way = over * (1.0 + outside * libm::cos(azimuth.to_radians()) / bend);
                // But for the taper, whose slant is 1.0004 long, and the radius that changes on the way.
                assert!((way - 1.0).abs() < 1e-3, "{part}: {way} at {station}, {azimuth}");
                looked += 1;
            }
            assert!(looked >= 4, "{part}: {looked}");
        }
    }

    /// Its width is that of its middle, half its thickness over the foot; a bridge stands on two feet.
    #[test]
    fn a_strip_keeps_its_width_and_a_bridge_stands_on_two_feet() {
        let (strip, whole) = on_cylinder();
        let given = &strip.brace;
        let half = (3.0_f64 / (OUTSIDE + 0.08 + 0.5)).to_degrees();
        assert!((given.width_mm, given.thickness_mm) == (6.0, 1.0));
        let (from, to, foot) = (given.from_station_mm, given.to_station_mm, given.foot_length_mm);
        let azimuths = [180.0 - half, 180.0 + half];
        is_extent(&the(&whole, "brace").outline_mm_deg, [from, to], azimuths);
        let (_, bridge) = laid(|job| job["brace"]["form"] = "bridge".into());
        let spans = of(&bridge, "brace").into_iter().map(|foot| extent(&foot.outline_mm_deg)[0]);
        assert_eq!(spans.collect::<Vec<_>>(), [[from, from + foot], [to - foot, to]]);
    }

    #[test]
    fn guide_badge_and_loop_lie_where_the_job_puts_them() {
        let (job, laid) = on_cylinder();
        is_extent(&the(&laid, "guide").outline_mm_deg, [148.0, 152.0], [-25.0, 25.0]);
        // The badge's width is measured on its inner face, a joint's gap over the tube.
        let half = (3.0_f64 / (OUTSIDE + 0.08)).to_degrees();
        let badge = the(&laid, "badge");
        is_extent(&badge.outline_mm_deg, [61.0, 71.0], [150.0 - half, 150.0 + half]);
        // The rod goes all round, its middle 12 mm over the seat of a tenon 20 mm long.
        let seat = laid.along.last().expect("stations").station_mm - 20.0;
        assert!((laid.seat_station_mm - seat).abs() < 1e-9);
        let rod = the(&laid, "rod_loop");
        assert_eq!((rod.stands, rod.margin_mm_deg.len()), (Stands::Over, 0));
        let ends = [seat - 12.0 - 1.4, seat - 12.0 + 1.4];
        is_extent(&rod.outline_mm_deg, ends, [-180.0, 180.0]);
        assert!(job.rod_loop.above_seat_mm == 12.0 && job.tenon.length_mm == 20.0);
        // Every outline runs the same way round: its area is positive.
        for footprint in &laid.footprints {
            for outline in [&footprint.outline_mm_deg, &footprint.margin_mm_deg] {
                let corner = |i: usize| DVec2::from(outline[i % outline.len()]);
                let area: f64 = (0..outline.len()).map(|i| corner(i).perp_dot(corner(i + 1))).sum();
                assert!(area > 0.0 || outline.is_empty(), "{}", footprint.part);
            }
        }
    }

    /// Along the alto: 50 mm straight, 20 degrees of 150 mm, 75 degrees of 48 mm, 28 mm straight; 12.3 mm at the entry and
    /// opening by 1.6 degrees to either side.
    #[test]
    fn along_the_tube_stand_its_radius_its_place_and_its_direction() {
        let (_, laid) = laid(|_| ());
        let bends = [150.0 * 20f64.to_radians(), 48.0 * 75f64.to_radians()];
        let length = 50.0 + bends[0] + bends[1] + 28.0;
        let along = &laid.along;
        assert_eq!(along[0].station_mm, 0.0);
        assert!((along[along.len() - 1].station_mm - length).abs() < 1e-9);
        for pair in along.windows(2) {
            let step = pair[1].station_mm - pair[0].station_mm;
            assert!(step > 0.0 && step <= STEP + 1e-9);
        }
        for at in along {
            let radius = 6.15 + at.station_mm * libm::tan(1.6_f64.to_radians()) + 0.7;
            assert!((at.radius_mm - radius).abs() < 1e-9);
            if at.station_mm <= 50.0 {
                let place = [at.x_mm - at.station_mm, at.z_mm, at.dx - 1.0, at.dz];
                assert!(place.iter().all(|off| off.abs() < 1e-9), "{at:?}");
            }
        }
        // At its end it has turned down by 95 degrees.
        let end = along[along.len() - 1];
        let (sin, cos) = libm::sincos(95f64.to_radians());
        assert!((end.dx - cos).abs() < 1e-9 && (end.dz + sin).abs() < 1e-9, "{end:?}");
        let (s20, c20) = libm::sincos(20f64.to_radians());
        let x = 50.0 + 150.0 * s20 + 48.0 * (sin - s20) + 28.0 * cos;
        let z = -150.0 * (1.0 - c20) - 48.0 * (c20 - cos) - 28.0 * sin;
        assert!((end.x_mm - x).abs() < 1e-9 && (end.z_mm - z).abs() < 1e-9, "{end:?}");
        assert_eq!(laid.seams_deg, [0.0, 180.0]);
    }

    #[test]
    fn bands_have_the_job_s_own_numbers() {
        let (_, laid) = laid(|_| ());
        let seat = laid.seat_station_mm;
        let wanted = [
            ("end_ring", 0.0, 5.0, 15.2),
            ("cork", 5.0, 38.0, 17.2),
            ("tenon", seat - 6.0, seat, 27.5),
            ("tenon", seat, seat + 20.0, 24.5),
            ("receiver", seat + 0.2, seat + 24.2, 24.53),
        ];
        assert_eq!(laid.bands.len(), wanted.len());
        for (band, (part, from, to, diameter)) in laid.bands.iter().zip(wanted) {
            assert_eq!(band.part, part);
            let numbers = [band.from_station_mm - from, band.to_station_mm - to];
            assert!(numbers.iter().all(|off| off.abs() < 1e-9), "{band:?}");
            assert_eq!(band.diameter_mm, diameter);
        }
    }
}
