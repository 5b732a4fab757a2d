//! The neck's tube, and the two halves it is formed from.

use std::f64::consts::PI;

use crate::geometry::shape::{Azimuth, Link, Radius, SectionPoint, Shape, Sweep, Tube, TubeHole};
use crate::job::Job;

use super::part::Part;
use super::places::Places;

/// The tube as soldered: from the cork end into the tenon's socket, drilled for the vent.
pub fn part(job: &Job, places: &Places) -> Part {
    let hole = TubeHole {
        station: job.vent.station_mm,
        radius: job.vent.outer_diameter_mm / 2.0 + places.gap,
    };
    tube(job, places, Some(hole))
}

/// The tube before it is drilled.
pub fn undrilled(job: &Job, places: &Places) -> Part {
    tube(job, places, None)
}

fn tube(job: &Job, places: &Places, hole: Option<TubeHole>) -> Part {
    let tube = Tube { neck: places.neck.clone(), from: 0.0, to: places.tube_end, hole };
    Part::fixed(
        "tube",
        "neck tube",
        job.tube.metal(),
        "two formed half shells, hard-soldered",
        Shape::Tube(tube),
    )
}

/// The halves as formed, parted in the plane of the bend, not yet drilled: left (towards +Y), then right.
pub fn halves(job: &Job, places: &Places) -> [Part; 2] {
    let half = |id, name, from: f64| {
        let shape = Shape::Sweep(patch(
            places,
            (0.0, places.tube_end),
            (from, from + PI),
            (0.0, places.neck.wall),
        ));
        Part::fixed(id, name, job.tube.metal(), "formed from sheet on the mandrel", shape)
    };
    [half("half_left", "left half", 0.0), half("half_right", "right half", -PI)]
}

/// A patch of even thickness: over stations, between two azimuths (at most half a turn, growing), between two offsets
/// from the bore.
pub fn patch(
    places: &Places,
    stations: (f64, f64),
    azimuths: (f64, f64),
    offsets: (f64, f64),
) -> Sweep {
    let corner = |azimuth: f64, offset: f64| SectionPoint {
        azimuth: Azimuth::Fixed(azimuth),
        radius: Radius::Bore(offset),
    };
    box_section(
        places,
        stations,
        [
            corner(azimuths.0, offsets.0),
            corner(azimuths.1, offsets.0),
            corner(azimuths.1, offsets.1),
            corner(azimuths.0, offsets.1),
        ],
    )
}

/// A swept body of four corners: inside with growing azimuth, then outside back.
pub fn box_section(places: &Places, stations: (f64, f64), corners: [SectionPoint; 4]) -> Sweep {
    Sweep {
        neck: places.neck.clone(),
        from: stations.0,
        to: stations.1,
        points: corners.into(),
        links: vec![
            Link::Arc { growing: true },
            Link::Straight,
            Link::Arc { growing: false },
            Link::Straight,
        ],
    }
}
