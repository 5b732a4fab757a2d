//! The brace: a strip under the bend that stiffens the tube.

use std::f64::consts::PI;

use crate::geometry::bore::Table;
use crate::geometry::shape::{Azimuth, Radius, SectionPoint, Shape};
use crate::job::Job;
use crate::job::parameters::BraceForm;

use super::part::Part;
use super::places::Places;
use super::tube::box_section;

/// Length along the tube over which a bridge rises from its foot: so long that the strip slants by less than 30 degrees
/// and can be bent over round bar (common practice, no source).
pub fn rise(job: &Job) -> f64 {
    3.0 * job.brace.bridge_height_mm + 2.0 * job.brace.thickness_mm
}

/// The strip, of one thickness and of one width measured along its middle.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.brace;
    let foot = places.neck.wall + places.gap;
    let offset = |through: f64| match given.form {
        BraceForm::Contact => Radius::Bore(foot + through),
        BraceForm::Bridge => {
            let (low, high) = (foot + through, places.neck.wall + given.bridge_height_mm + through);
            let (from, to) = (given.from_station_mm, given.to_station_mm);
            Radius::Profile(Table::new(&[
                (from, low),
                (from + given.foot_length_mm, low),
                (from + given.foot_length_mm + rise(job), high),
                (to - given.foot_length_mm - rise(job), high),
                (to - given.foot_length_mm, low),
                (to, low),
            ]))
        }
    };
    let corner = |side: f64, through: f64| SectionPoint {
        azimuth: Azimuth::Arc {
            centre: PI,
            arc: side * given.width_mm / 2.0,
            at: offset(given.thickness_mm / 2.0),
        },
        radius: offset(through),
    };
    let body = box_section(
        places,
        (given.from_station_mm, given.to_station_mm),
        [
            corner(-1.0, 0.0),
            corner(1.0, 0.0),
            corner(1.0, given.thickness_mm),
            corner(-1.0, given.thickness_mm),
        ],
    );
    Part::fixed("brace", "brace", given.metal, "cut from strip, formed", Shape::Sweep(body))
}
