//! A bore as a table that is edited: rows of station and diameter, in and out as CSV, checked, faired, looked at.

use std::f64::consts::PI;

use serde::Serialize;

use crate::geometry::bore::{Bore, Table};
use crate::job::Violation;
use crate::units::{MM_PER_INCH, deg_from_rad};

use super::horn::rows_in_order;
use super::least_squares::{Limit, Quadratic};
use super::neck_on_horn::NeckBore;

/// Least distance between rows, as in a job, mm.
const LEAST_ROW_MM: f64 = 0.1;
/// Widest a table may gape between rows before it has a hole, mm: over a tenth of the neck anything may hide.
const WIDEST_GAP_MM: f64 = 60.0;
/// Steepest a neck's bore may be, mm of diameter a mm (about 10 degrees half-angle).
const STEEPEST: f64 = 0.35;
/// What a diameter may be in a job, mm.
const DIAMETERS_MM: (f64, f64) = (6.0, 60.0);
/// Most rows a job holds.
const MOST_ROWS: usize = 200;
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

    /// Reads CSV: two columns, station and diameter, with a comma, a semicolon or a tab between; a first line of names
    /// (`station_mm,diameter_mm`, or `_in` for inches) is read, lines that are empty or begin with `#` are passed over. With
    /// semicolons or tabs a comma may stand for the point.
    ///
    /// # Errors
    ///
    /// Every row that cannot be read, at once. Whether the rows make a bore, [`Self::violations`] says.
    pub fn from_csv(name: &str, text: &str) -> Result<Self, Vec<Violation>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (mut rows, mut found, mut unit, mut first) = (Vec::new(), Vec::new(), 1.0, true);
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let between = [';', '\t', ','].into_iter().find(|sign| line.contains(*sign));
            let cells: Vec<String> = line
                .split(between.unwrap_or(','))
                .map(|cell| {
                    let cell = cell.trim().trim_matches('"');
                    if between == Some(',') { cell.to_owned() } else { cell.replace(',', ".") }
                })
                .collect();
            let names = std::mem::take(&mut first)
                && cells.iter().all(|cell| cell.starts_with(char::is_alphabetic));
            if names {
                if cells.iter().all(|cell| cell.ends_with("_in")) {
                    unit = MM_PER_INCH;
                }
                continue;
            }
            let numbers: Vec<f64> = cells
                .iter()
                .filter_map(|cell| cell.parse().ok().filter(|value: &f64| value.is_finite()))
                .collect();
            match (numbers.as_slice(), cells.len()) {
                (&[station, diameter], 2) => rows
                    .push(ProfileRow { station_mm: station * unit, diameter_mm: diameter * unit }),
                _ => found.push(Violation::error(
                    format!("line {}", index + 1),
                    line.chars().take(60).collect::<String>(),
                    "two numbers: station and diameter",
                    "Each line of the table is one measured place.",
                )),
            }
        }
        if found.is_empty() { Ok(Self { name: name.to_owned(), rows }) } else { Err(found) }
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
        let rows: Vec<(f64, f64)> =
            self.rows.iter().map(|row| (row.station_mm, row.diameter_mm)).collect();
        let mut found = rows_in_order("rows", &rows, LEAST_ROW_MM, STEEPEST);
        if !(2..=MOST_ROWS).contains(&rows.len()) {
            found.push(Violation::error(
                "rows",
                rows.len(),
                format!("2 to {MOST_ROWS} rows"),
                "A bore needs both its ends, and a job holds no more.",
            ));
        }
        for (index, &(station, diameter)) in rows.iter().enumerate() {
            if diameter > 0.0 && !(DIAMETERS_MM.0..=DIAMETERS_MM.1).contains(&diameter) {
                found.push(Violation::error(
                    format!("rows[{index}].diameter_mm"),
                    diameter,
                    format!("{} to {} mm", DIAMETERS_MM.0, DIAMETERS_MM.1),
                    "No neck is so narrow or so wide.",
                ));
            }
            let before = index.checked_sub(1).and_then(|before| rows.get(before)).map(|row| row.0);
            if before.is_some_and(|before| station - before > WIDEST_GAP_MM) {
                found.push(Violation::error(
                    format!("rows[{index}].station_mm"),
                    station,
                    format!("at most {WIDEST_GAP_MM} mm beyond the row before it"),
                    "The table has a hole here: what the bore does in it is not known.",
                ));
            }
        }
        if let (Some(first), Some(last)) = (rows.first(), rows.last()) {
            let ends = [("rows[0]", first.0, 0.0), ("the last row", last.0, length_mm)];
            for (path, station, wanted) in ends {
                if (station - wanted).abs() > 1.0 {
                    found.push(Violation::error(
                        format!("{path}.station_mm"),
                        station,
                        format!("{wanted:.1} mm, within 1 mm"),
                        "The table runs from the cork end to the tenon's free end.",
                    ));
                }
            }
        }
        found
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
    /// not in order.
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
        let diameters = nearest.least()?;
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
