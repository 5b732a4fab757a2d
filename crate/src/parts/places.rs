//! Where things stand: the neck of a job, and the stations and frames that several parts share.

use std::sync::Arc;

use glam::{DVec2, DVec3};

use crate::geometry::bore::{Bore, Table};
use crate::geometry::centreline::{Centreline, Course};
use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::job::Job;
use crate::job::parameters as given;
use crate::units::rad_from_deg;

/// The plane of the bend: outlines of plate parts have world x and z as their first and second coordinate.
pub const BEND_PLANE: Frame =
    Frame { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Z, z: DVec3::NEG_Y };

/// A point or direction of the plane of the bend by its coordinates there.
pub fn in_plane(place: DVec3) -> DVec2 {
    DVec2::new(place.x, place.z)
}

/// The neck's tube and the places that follow from the job's first pages. Millimetres.
#[derive(Clone, Debug)]
pub struct Places {
    pub neck: Arc<Neck>,
    /// Joint gap.
    pub gap: f64,
    /// Station of the tenon's free end.
    pub length: f64,
    /// Station of the collar's seat on the receiver.
    pub seat: f64,
    /// Station where the collar begins.
    pub collar: f64,
    /// Station where the tube ends, inside the collar's socket.
    pub tube_end: f64,
    /// Axis of the tenon: origin at the collar's seat, z towards the free end, x to the bell.
    pub tenon_axis: Frame,
    /// Middle of the vent's seat, z along the vent's axis.
    pub vent_seat: Frame,
    /// Middle of the hinge: z up the posts, x along the tube, y along the hinge axis.
    pub hinge: Frame,
}

impl Places {
    /// Places of a job whose numbers are within their ranges; rules between them need not hold.
    pub fn of(job: &Job) -> Self {
        let neck = Arc::new(neck_of(job));
        let length = neck.centreline.length();
        let seat = length - job.tenon.length_mm;
        let collar = seat - job.tenon.collar_length_mm;
        let end = neck.along(length);
        Self {
            gap: job.limits.joint_gap_mm,
            length,
            seat,
            collar,
            tube_end: collar + job.tenon.socket_depth_mm,
            tenon_axis: end.at(end.origin - end.z * job.tenon.length_mm),
            vent_seat: neck.standing(job.vent.station_mm, job.vent.stand_mm),
            hinge: neck.standing(job.saddle.station_mm, job.posts.axis_height_mm),
            neck,
        }
    }

    /// Height of a point of the plane of the bend above the outside of the tube, measured along the normal of the
    /// nearest station, and that station. Negative under the tube's top.
    pub fn height(&self, point: DVec2) -> (f64, f64) {
        let place = DVec3::new(point.x, 0.0, point.y);
        let station = self.neck.centreline.nearest_station(place);
        let at = self.neck.at(station);
        ((place - at.centre).dot(at.up) - self.neck.outside(station), station)
    }

    /// Tangent, in the plane of the bend, of the line along the top of the tube's outside at a station.
    ///
    /// With centre C, unit tangent T and normal N, the top line is C + N R; its derivative by station is
    /// T (1 + curvature R) + N dR/ds.
    pub fn top_line_direction(&self, station: f64) -> DVec2 {
        let at = self.neck.at(station);
        let (radius, slope) = self.neck.bore.radius_slope(station);
        in_plane(at.tangent * (1.0 + at.curvature * (radius + self.neck.wall)) + at.up * slope)
            .normalize_or_zero()
    }
}

fn neck_of(job: &Job) -> Neck {
    Neck {
        centreline: Centreline::new(&courses(&job.centreline)),
        bore: bore_of(&job.bore),
        wall: job.tube.wall_mm(),
    }
}

fn courses(centreline: &given::Centreline) -> Vec<Course> {
    match centreline {
        given::Centreline::Pieces(line) => line
            .pieces
            .iter()
            .map(|piece| match piece {
                given::Piece::Straight(straight) => {
                    Course::Straight { length: straight.straight_mm }
                }
                given::Piece::Bend(bend) => {
                    Course::Bend { bend: rad_from_deg(bend.bend_deg), radius: bend.radius_mm }
                }
            })
            .collect(),
        given::Centreline::Points(line) => vec![
            Course::Straight { length: line.straight_start_mm },
            Course::Points(
                line.points.iter().map(|point| DVec2::new(point.x_mm, point.z_mm)).collect(),
            ),
            Course::Straight { length: line.straight_end_mm },
        ],
    }
}

fn bore_of(bore: &given::Bore) -> Bore {
    match bore {
        given::Bore::Cone(cone) => Bore::Cone {
            entry_radius: cone.entry_diameter_mm / 2.0,
            slope: libm::tan(rad_from_deg(cone.half_angle_deg)),
        },
        given::Bore::Table(bore) => {
            let rows: Vec<(f64, f64)> =
                bore.table.iter().map(|row| (row.station_mm, row.diameter_mm / 2.0)).collect();
            Bore::Table(Table::new(&rows))
        }
    }
}
