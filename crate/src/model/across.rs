//! The neck across at one station: where a cut lies, and what is measured in it.

use serde::Serialize;

use crate::geometry::shape::Shape;

use super::Model;

/// The plane square to the centreline at a station, and tube and bore in it. From the definition of the neck, not from
/// triangles.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "camelCase")]
pub struct Across {
    pub station_mm: f64,
    /// Middle of the bore, mm.
    pub centre_mm: [f64; 3],
    /// Unit vector along the centreline, towards the tenon.
    pub towards_tenon: [f64; 3],
    pub bore_diameter_mm: f64,
    /// Wall of the tube; null beyond its end in the tenon's socket.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub wall_mm: Option<f64>,
    /// Outside of the tube; null beyond its end.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub outside_diameter_mm: Option<f64>,
    /// Length of the neck along its centreline: stations run from 0 to it.
    pub length_mm: f64,
}

impl Model {
    /// The neck across at a station; stations beyond its ends are taken at the end.
    pub fn across(&self, station: f64) -> Across {
        let neck = &self.assembly.neck;
        let length = neck.centreline.length();
        let station = station.clamp(0.0, length);
        let at = neck.at(station);
        let tube_end = self.assembly.parts.iter().find_map(|part| match &part.shape {
            Shape::Tube(tube) => Some(tube.to),
            _ => None,
        });
        let in_tube = tube_end.is_some_and(|end| station <= end);
        Across {
            station_mm: station,
            centre_mm: at.centre.to_array(),
            towards_tenon: at.tangent.to_array(),
            bore_diameter_mm: 2.0 * neck.bore.radius(station),
            wall_mm: in_tube.then_some(neck.wall),
            outside_diameter_mm: in_tube.then_some(2.0 * neck.outside(station)),
            length_mm: length,
        }
    }
}
