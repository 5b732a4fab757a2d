//! A bore as a table that is edited: rows of station and diameter, in and out as CSV, checked, faired, looked at.

use std::f64::consts::PI;

use serde::Serialize;

use crate::geometry::bore::{Bore, Table};
use crate::job::Violation;
use crate::units::deg_from_rad;

use super::least_squares::{Limit, Quadratic};
use super::neck_on_horn::NeckBore;
use super::rows::Rows;

/// Steps of the integral of the volume between two rows.
const STEPS: usize = 16;

/// A named bore. Millimetres.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Profile {
    pub name: String,
    pub rows: Vec<ProfileRow>,
}

/// A row of a bore.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ProfileRow {
    pub station_mm: f64,
    pub diameter_mm: f64,
}

/// What a bore is at a station.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ProfilePlace {
    pub station_mm: f64,
    pub diameter_mm: f64,
    pub half_angle_deg: f64,
    /// Area of the bore less what the vent's end takes of it there.
    pub open_area_mm2: f64,
}

/// Where a bore leaves the straight line between its neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Bump {
    pub station_mm: f64,
    /// Diameter beyond that of the straight line between the row before and the row behind; negative for a hollow.
    pub beyond_mm: f64,
}

/// How the tenon meets the horn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct TenonStep {
    /// Diameter of the horn's bore less that of the neck's end.
    pub step_mm: f64,
    /// Half-angle of the horn's bore less that of the neck's end.
    pub angle_change_deg: f64,
}

impl Profile {
    /// Rows of a bore at every so many millimetres, ends included.
    #[must_use]
    pub fn of(name: &str, bore: &Bore, length_mm: f64, every_mm: f64) -> Self {
        let count = (length_mm / every_mm).round().max(1.0) as usize;
        let row = |k: usize| {
            let station_mm = length_mm * k as f64 / count as f64;
            ProfileRow { station_mm, diameter_mm: 2.0 * bore.radius(station_mm) }
        };
        Self { name: name.to_owned(), rows: (0..=count).map(row).collect() }
    }

    /// Reads CSV, as [`Rows::from_csv`] does.
    ///
    /// # Errors
    ///
    /// Every line that cannot be read, at once. Whether the rows make a bore, [`Self::violations`] says.
    pub fn from_csv(name: &str, text: &str) -> Result<Self, Vec<Violation>> {
        let read = Rows::from_csv(text);
        read.all().map(|rows| Self { name: name.to_owned(), rows })
    }

    /// CSV of the rows, to a thousandth of a millimetre.
    #[must_use]
    pub fn to_csv(&self) -> String {
        let row = |row: &ProfileRow| format!("{:.3},{:.3}\n", row.station_mm, row.diameter_mm);
        "station_mm,diameter_mm\n".to_owned() + &self.rows.iter().map(row).collect::<String>()
    }

    /// Everything that keeps the rows from being the bore of a neck of this length.
    #[must_use]
    pub fn violations(&self, length_mm: f64) -> Vec<Violation> {
        Rows::of(self).violations(length_mm)
    }

    /// The bore through the rows, monotone between them where they are.
    #[must_use]
    pub fn bore(&self) -> Bore {
        let points: Vec<(f64, f64)> =
            self.rows.iter().map(|row| (row.station_mm, row.diameter_mm / 2.0)).collect();
        Bore::Table(Table::new(&points))
    }

    /// Rows that leave the straight line between their neighbours by more than `limit_mm` of diameter.
    #[must_use]
    pub fn bumps(&self, limit_mm: f64) -> Vec<Bump> {
        self.rows
            .windows(3)
            .filter_map(|three| {
                let &[a, b, c] = three else { return None };
                let share = (b.station_mm - a.station_mm) / (c.station_mm - a.station_mm);
                let straight = a.diameter_mm + share * (c.diameter_mm - a.diameter_mm);
                let beyond_mm = b.diameter_mm - straight;
                (beyond_mm.abs() > limit_mm).then_some(Bump { station_mm: b.station_mm, beyond_mm })
            })
            .collect()
    }

    /// The nearest rows, in the sum of squares, that never narrow and have no bump beyond `limit_mm`; none if the rows are
    /// not in order or no such rows were found.
    #[must_use]
    pub fn faired(&self, limit_mm: f64) -> Option<Self> {
        let rows = &self.rows;
        if rows.windows(2).any(|pair| pair[1].station_mm <= pair[0].station_mm) {
            return None;
        }
        let count = rows.len();
        let mut limits: Vec<Limit> = (1..count)
            .map(|k| Limit { terms: vec![(k - 1, 1.0), (k, -1.0)], bound: 0.0 })
            .collect();
        for (k, three) in rows.windows(3).enumerate() {
            let &[a, b, c] = three else { continue };
            let share = (b.station_mm - a.station_mm) / (c.station_mm - a.station_mm);
            for sign in [1.0, -1.0] {
                limits.push(Limit {
                    terms: vec![(k, -sign * (1.0 - share)), (k + 1, sign), (k + 2, -sign * share)],
                    bound: limit_mm.max(0.0),
                });
            }
        }
        let one = |i: usize| (0..count).map(|j| if i == j { 1.0 } else { 0.0 }).collect();
        let nearest = Quadratic {
            matrix: (0..count).map(one).collect(),
            linear: rows.iter().map(|row| row.diameter_mm).collect(),
            limits,
        };
        let diameters = nearest.least().ok()?.x;
        let row = |(row, diameter_mm): (&ProfileRow, f64)| ProfileRow { diameter_mm, ..*row };
        Some(Self { name: self.name.clone(), rows: rows.iter().zip(diameters).map(row).collect() })
    }
}

/// Diameter, half-angle and open area of a neck's bore at each station.
#[must_use]
pub fn along(neck: &NeckBore, stations_mm: &[f64]) -> Vec<ProfilePlace> {
    let place = |&station_mm: &f64| {
        let (radius, slope) = neck.neck.bore.radius_slope(station_mm);
        let from_vent = (station_mm - neck.vent.station) * 1e-3;
        ProfilePlace {
            station_mm,
            diameter_mm: 2.0 * radius,
            half_angle_deg: deg_from_rad(libm::atan(slope)),
            open_area_mm2: PI * radius * radius
                - 1e6 * neck.ends.vent.area(radius * 1e-3, from_vent),
        }
    };
    stations_mm.iter().map(place).collect()
}

/// Volume of a bore from the cork end to `length_mm`, mm³: by Simpson's rule between the places where its law changes, which
/// is exact for a cone.
#[must_use]
pub fn volume_mm3(bore: &Bore, length_mm: f64) -> f64 {
    let mut stops: Vec<f64> = bore
        .breaks()
        .into_iter()
        .filter(|station| *station > 0.0 && *station < length_mm)
        .chain([0.0, length_mm])
        .collect();
    stops.sort_by(f64::total_cmp);
    let area = |station: f64| {
        let radius = bore.radius(station);
        PI * radius * radius
    };
    stops
        .windows(2)
        .map(|pair| {
            let step = (pair[1] - pair[0]) / STEPS as f64;
            (0..STEPS)
                .map(|k| {
                    let from = pair[0] + step * k as f64;
                    (area(from) + 4.0 * area(from + step / 2.0) + area(from + step)) * step / 6.0
                })
                .sum::<f64>()
        })
        .sum()
}

/// Step and change of angle from the neck's end to the horn's own bore, given as diameter and half-angle (radians).
#[must_use]
pub fn tenon_step(bore: &Bore, length_mm: f64, horn: (f64, f64)) -> TenonStep {
    let (radius, slope) = bore.radius_slope(length_mm);
    TenonStep {
        step_mm: horn.0 - 2.0 * radius,
        angle_change_deg: deg_from_rad(horn.1 - libm::atan(slope)),
    }
}
