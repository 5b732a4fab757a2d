//! The dimensions a neck is worked to, with what they may be off by.

use serde::Serialize;

use crate::model::Model;

use super::gauged_tenon::GaugedTenon;
use super::numbers::Number;

/// General tolerance of work by hand on a tube, mm (common practice, no source).
const BY_HAND: f64 = 0.2;
/// General tolerance of turned work, mm: ISO 2768-1 fine up to 30 mm, from memory.
const TURNED: f64 = 0.1;
/// Distance of the stations the tube is measured at, mm.
const STEP: f64 = 20.0;

/// One dimension.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Dimension {
    pub part: &'static str,
    pub what: String,
    pub size: Number,
}

/// The tube at a station.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct StationRow {
    pub station: Number,
    pub inside: Number,
    pub outside: Number,
}

/// Dimensions of a neck.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Dimensions {
    pub list: Vec<Dimension>,
    pub stations: Vec<StationRow>,
}

/// The dimensions of a model.
#[must_use]
pub fn dimensions(model: &Model, tenon: &GaugedTenon) -> Dimensions {
    let job = &model.job;
    let neck = &model.assembly.neck;
    let length = neck.centreline.length();
    let hand = "Job; tolerance of work by hand (common practice, no source)";
    let lathe = "Job; ISO 2768-1 fine (from memory)";
    let placed = "Job; placing.along_mm";
    let mut list = Vec::new();
    let mut add = |part, what: &str, size| list.push(Dimension { part, what: what.into(), size });
    add("tube", "length, with the tenon", Number::within(length, 0.5, "mm", hand));
    add(
        "tube",
        "length, into the socket",
        Number::within(
            length - job.tenon.length_mm - job.tenon.collar_length_mm + job.tenon.socket_depth_mm,
            0.3,
            "mm",
            hand,
        ),
    );
    let turn = crate::units::deg_from_rad(neck.at(length).heading);
    add("tube", "net bend", Number::within(turn, 0.5, "°", hand));
    add(
        "tube",
        "inside at the cork end",
        Number::within(2.0 * neck.bore.radius(0.0), 0.1, "mm", hand),
    );
    add("tube", "wall", Number::within(neck.wall, 0.05, "mm", hand));
    add("tenon", "outside, finished", tenon.target.clone());
    add("tenon", "outside, as turned", tenon.turned_to.clone());
    add(
        "tenon",
        "length below the collar",
        Number::within(job.tenon.length_mm, TURNED, "mm", lathe),
    );
    add(
        "tenon",
        "collar, diameter",
        Number::within(job.tenon.collar_diameter_mm, TURNED, "mm", lathe),
    );
    add("tenon", "collar, length", Number::within(job.tenon.collar_length_mm, TURNED, "mm", lathe));
    add(
        "tenon",
        "bore at its free end",
        Number::within(2.0 * neck.bore.radius(length), 0.05, "mm", lathe),
    );
    add(
        "end_ring",
        "bead, diameter",
        Number::within(job.end_ring.bead_diameter_mm, TURNED, "mm", lathe),
    );
    add(
        "cork",
        "outside (shank of mouthpiece)",
        Number::within(
            job.mouthpiece.shank_bore_mm,
            0.1,
            "mm",
            "Job, mouthpiece.shank_bore_mm; sanded to the mouthpiece",
        ),
    );
    add("cork", "ends at station", Number::within(job.cork.to_station_mm, 0.5, "mm", hand));
    let along = job.placing.along_mm;
    add("vent", "station", Number::within(job.vent.station_mm, along, "mm", placed));
    add("vent", "stands above tube", Number::within(job.vent.stand_mm, 0.1, "mm", hand));
    add("brace", "from station", Number::within(job.brace.from_station_mm, along, "mm", placed));
    add("brace", "to station", Number::within(job.brace.to_station_mm, along, "mm", placed));
    add("saddle", "middle at station", Number::within(job.saddle.station_mm, along, "mm", placed));
    add(
        "posts",
        "hinge axis above tube",
        Number::within(
            job.posts.axis_height_mm,
            job.placing.height_mm,
            "mm",
            "Job; placing.height_mm",
        ),
    );
    add("guide", "middle at station", Number::within(job.guide.station_mm, along, "mm", placed));
    if let Some(badge) = &job.badge {
        add("badge", "middle at station", Number::within(badge.station_mm, along, "mm", placed));
    }
    add(
        "rod_loop",
        "above the collar's seat",
        Number::within(job.rod_loop.above_seat_mm, 0.3, "mm", hand),
    );
    add(
        "rod_loop",
        "reach to the player's side",
        Number::within(job.rod_loop.reach_player_mm, 0.2, "mm", hand),
    );
    add(
        "rod_loop",
        "reach to the bell",
        Number::within(job.rod_loop.reach_bell_mm, 0.2, "mm", hand),
    );
    add("key", "pad lift", Number::within(job.key.lift_mm, 0.1, "mm", hand));
    let end = length - job.tenon.length_mm - job.tenon.collar_length_mm;
    let mut places: Vec<f64> = Vec::new();
    let mut station = 0.0;
    while station < end - STEP / 2.0 {
        places.push(station);
        station += STEP;
    }
    places.push(end);
    let stations = places
        .into_iter()
        .map(|station| StationRow {
            station: Number::within(station, 0.5, "mm", "Along the centreline from the cork end"),
            inside: Number::within(2.0 * neck.bore.radius(station), 0.1, "mm", hand),
            outside: Number::within(2.0 * neck.outside(station), BY_HAND, "mm", hand),
        })
        .collect();
    Dimensions { list, stations }
}
