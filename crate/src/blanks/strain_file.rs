//! The strain file: what forming a half shell costs, with the net it was reckoned on.

use serde::Serialize;

use crate::units::deg_from_rad;

use super::costs::Costs;
use super::flatten::Flat;
use super::share::Share;

/// The net on which the half shell was laid flat, with the flat place of each knot, so that it can be reckoned again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetReport {
    pub station_mm: Vec<f64>,
    pub azimuth_deg: Vec<f64>,
    /// Of every station the knots at every azimuth.
    pub x_mm: Vec<Vec<f64>>,
    pub y_mm: Vec<Vec<f64>>,
}

impl NetReport {
    fn of(flat: &Flat) -> Self {
        let rows = || flat.places.chunks(flat.net.second.len());
        Self {
            station_mm: flat.net.first.clone(),
            azimuth_deg: flat.net.second.iter().map(|up| 90.0 - deg_from_rad(*up)).collect(),
            x_mm: rows().map(|row| row.iter().map(|at| at.x).collect()).collect(),
            y_mm: rows().map(|row| row.iter().map(|at| at.y).collect()).collect(),
        }
    }
}

/// What `strain.json` says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StrainReport {
    pub format: String,
    pub order: String,
    pub metal: String,
    pub sheet_thickness_mm: f64,
    /// Area of the finished half shell, in the middle of the wall, mm².
    pub formed_area_mm2: f64,
    pub net: NetReport,
    #[serde(flatten)]
    pub costs: Costs,
}

impl StrainReport {
    /// What forming the half shells of an order costs.
    #[must_use]
    pub fn of(share: &Share) -> Self {
        Self {
            format: "neckwright-strain/1".to_owned(),
            order: share.job.order.number.clone(),
            metal: share.metal.id().to_owned(),
            sheet_thickness_mm: share.blank.thickness_mm,
            formed_area_mm2: share.blank.formed_area_mm2,
            net: NetReport::of(&share.blank.flat),
            costs: share.costs.clone(),
        }
    }
}
