//! The guide: a small fork on top of the tube that keeps the key in line.

use crate::geometry::shape::{Azimuth, Link, Radius, SectionPoint, Shape, Sweep};
use crate::job::{Job, Violation};
use crate::units::rad_from_deg;

use super::key_arm::Arm;
use super::part::Part;
use super::places::Places;

/// First and last station of the guide.
pub fn stations(job: &Job) -> (f64, f64) {
    let half = job.guide.length_mm / 2.0;
    (job.guide.station_mm - half, job.guide.station_mm + half)
}

/// Distances of a prong's inner and outer side from the plane of the bend.
pub fn prong(job: &Job) -> (f64, f64) {
    let inner = job.key.arm_thickness_mm / 2.0 + job.guide.side_clearance_mm;
    (inner, inner + job.guide.strip_thickness_mm)
}

/// Height of the prongs' ends above the centreline.
///
/// # Errors
///
/// A violation where the arm does not pass over the guide, or where the prongs would meet in the inside of a bend.
pub fn top(job: &Job, places: &Places, arm: &Arm) -> Result<f64, Box<Violation>> {
    let (from, to) = stations(job);
    let Some(over) = arm.top_over(places, from, to) else {
        return Err(Box::new(Violation::error(
            "guide.station_mm",
            job.guide.station_mm,
            "a station over which the arm passes",
            "The arm does not reach over the guide, so there is nothing to keep in line.",
        )));
    };
    let top = over + job.guide.prong_above_arm_mm;
    let (sharpest, _) = places.neck.centreline.sharpest(from, to);
    let turns_up =
        (0..=4).any(|i| places.neck.at(from + (to - from) * f64::from(i) / 4.0).curvature < 0.0);
    if turns_up && sharpest * top > 0.9 {
        return Err(Box::new(Violation::error(
            "guide.station_mm",
            job.guide.station_mm,
            "a station where the neck does not turn up so sharply",
            "Prongs this high would meet over the inside of the bend.",
        )));
    }
    Ok(top)
}

/// The fork: a foot over the top of the tube and two upright prongs, one on each side of the arm.
pub fn part(job: &Job, places: &Places, top: f64) -> Part {
    let given = &job.guide;
    let (from, to) = stations(job);
    let wrap = rad_from_deg(given.half_wrap_deg);
    let foot = places.neck.wall + places.gap;
    let (inner, outer) = (Radius::Bore(foot), Radius::Bore(foot + given.strip_thickness_mm));
    let (near, far) = prong(job);
    let round = |azimuth: f64, radius: &Radius| SectionPoint {
        azimuth: Azimuth::Fixed(azimuth),
        radius: radius.clone(),
    };
    let low = |y: f64| SectionPoint { azimuth: Azimuth::AtY(y), radius: outer.clone() };
    let high = |y: f64| SectionPoint { azimuth: Azimuth::Upright(y), radius: Radius::Fixed(top) };
    let (along, back, straight) =
        (Link::Arc { growing: true }, Link::Arc { growing: false }, Link::Straight);
    let (points, links) = [
        (round(-wrap, &inner), along),
        (round(wrap, &inner), straight),
        (round(wrap, &outer), back),
        (low(far), straight),
        (high(far), straight),
        (high(near), straight),
        (low(near), back),
        (low(-near), straight),
        (high(-near), straight),
        (high(-far), straight),
        (low(-far), back),
        (round(-wrap, &outer), straight),
    ]
    .into_iter()
    .unzip();
    let body = Sweep { neck: places.neck.clone(), from, to, points, links };
    Part::fixed("guide", "key guide", given.metal, "bent from strip", Shape::Sweep(body))
}
