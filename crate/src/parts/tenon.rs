//! The tenon: sleeve that goes into the horn, collar, and the socket the tube is soldered into.

use glam::DVec2;

use crate::geometry::outline::{Node, Side};
use crate::job::Job;

use super::lathe::{at, sides, with_sides};
use super::part::Part;
use super::places::Places;

/// Chamfer at the edges of the collar, mm (common practice, no source).
const COLLAR_EDGE: f64 = 0.2;

/// The tenon. Along its axis the origin is the collar's seat.
///
/// The socket is the tube's outside and one joint gap, and leaves a joint gap beyond the tube's end; from its shoulder
/// the tenon's own bore runs on as the neck's.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.tenon;
    let bottom = places.tube_end + places.gap;
    let (sleeve, collar) = (given.outer_diameter_mm / 2.0, given.collar_diameter_mm / 2.0);
    let edge = COLLAR_EDGE.min(given.collar_length_mm / 4.0).min((collar - sleeve) / 3.0);
    let (front, end) = (-given.collar_length_mm, given.length_mm);
    let mut all =
        along_bore(places, places.seat, (places.collar, bottom), places.neck.wall + places.gap);
    let own_bore = along_bore(places, places.seat, (bottom, places.length), 0.0);
    let joint = |from: &[Side], to: &[Side]| {
        let ends = [
            from.last().map_or(DVec2::ZERO, Side::end),
            to.first().map_or(DVec2::ZERO, Side::start),
        ];
        sides(&ends)
    };
    let shoulder = joint(&all, &own_bore);
    all.extend(shoulder);
    all.extend(own_bore);
    let (mouth, free) =
        (all.first().map_or(DVec2::ZERO, Side::start), all.last().map_or(DVec2::ZERO, Side::end));
    all.extend(sides(&[
        free,
        at(end, sleeve - given.chamfer_mm),
        at(end - given.chamfer_mm, sleeve),
        at(0.0, sleeve),
        at(0.0, collar - edge),
        at(-edge, collar),
        at(front + edge, collar),
        at(front, collar - edge),
        mouth,
    ]));
    Part::fixed("tenon", "tenon", given.metal, "turned", with_sides(places.tenon_axis, all))
}

/// Profile side that follows the bore at an offset between two stations; along the axis, `origin` is the station at 0.
pub fn along_bore(places: &Places, origin: f64, stations: (f64, f64), offset: f64) -> Vec<Side> {
    let bore = &places.neck.bore;
    let (from, to) = stations;
    let place = |station: f64| at(station - origin, bore.radius(station) + offset);
    if bore.is_straight() {
        return sides(&[place(from), place(to)]);
    }
    // The table is a cubic between its rows, so a chain with their stations as nodes is the bore itself.
    let mut stations: Vec<f64> =
        bore.breaks().into_iter().filter(|s| *s > from + 1e-3 && *s < to - 1e-3).collect();
    stations.insert(0, from);
    stations.push(to);
    let nodes = stations
        .into_iter()
        .map(|station| {
            let slope = DVec2::new(1.0, bore.radius_slope(station).1);
            Node { t: station, point: place(station), slope }
        })
        .collect();
    vec![Side::cubic(nodes)]
}
