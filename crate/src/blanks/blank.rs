//! The blank of one half shell: what is cut, and what is marked on it lightly.

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;
use thiserror::Error;

use crate::geometry::contour::Contour;
use crate::geometry::neck::Neck;
use crate::geometry::shape::Shape;
use crate::job::Job;
use crate::parts::Assembly;

use super::flatten::{Flat, FlattenError};
use super::half_shell::{ALONG_MM, AROUND, lay_flat, net};
use super::outline::{Allowances, finished, line_across, line_along, outline};
use super::surface::MidWall;

/// Station lines are drawn at every multiple of this, mm.
pub const STATION_STEP_MM: f64 = 10.0;

/// Half the length of the cross at the vent's place, mm.
const CROSS: f64 = 3.0;

/// Why there is no blank.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum BlankError {
    /// The tube is no tube.
    #[error("the neck has no tube that could be laid flat")]
    NoTube,
    /// The half shell cannot be laid flat.
    #[error("the half shell cannot be laid flat: {0}")]
    Flatten(#[from] FlattenError),
}

/// A line across the blank with its station.
#[derive(Clone, Debug, PartialEq)]
pub struct StationLine {
    pub station_mm: f64,
    pub line: Contour,
}

/// The blank of a half shell, as seen from outside the right half: the cork end to the left, the top of the neck up. The
/// other half is its mirror image: the same piece turned over.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    /// Outline to be cut, counter-clockwise, mm.
    pub outline: Contour,
    /// Where the metal ends once seams are filed and ends trimmed: seam below, tenon end, seam above, cork end.
    pub finished: [Contour; 4],
    /// The line that comes to lie along the side of the tube.
    pub side_line: Contour,
    pub stations: Vec<StationLine>,
    /// A cross where the vent's hole is drilled once the halves are soldered: it lies on the seam above.
    pub vent: [Contour; 2],
    pub allowances: Allowances,
    /// Thickness of the sheet: the wall of the neck, mm.
    pub thickness_mm: f64,
    /// Area of the formed half shell in the middle of its wall, mm².
    pub formed_area_mm2: f64,
    /// Stations between which it lies, mm.
    pub stations_mm: [f64; 2],
    pub flat: Flat,
}

/// Neck and stations of the tube that the halves are formed into.
pub(super) fn tube(assembly: &Assembly) -> Result<(&Neck, f64, f64), BlankError> {
    match &assembly.undrilled.shape {
        Shape::Tube(tube) => Ok((&tube.neck, tube.from, tube.to)),
        _ => Err(BlankError::NoTube),
    }
}

impl Blank {
    /// Lays the half shell of a neck flat.
    ///
    /// # Errors
    ///
    /// A half shell that cannot be laid flat.
    pub fn of(job: &Job, assembly: &Assembly, allowances: Allowances) -> Result<Self, BlankError> {
        let (neck, from, to) = tube(assembly)?;
        let flat = lay_flat(neck, net(neck, from, to, AROUND, ALONG_MM))?;
        let first = (from / STATION_STEP_MM).floor() as i64 + 1;
        let last = (to / STATION_STEP_MM).ceil() as i64 - 1;
        let stations = (first..=last)
            .map(|step| step as f64 * STATION_STEP_MM)
            .map(|station_mm| StationLine { station_mm, line: line_across(&flat, station_mm) })
            .collect();
        let vent = job.vent.station_mm.clamp(from, to);
        let place = flat.place(vent, FRAC_PI_2);
        let along = (flat.place((vent + 1.0).min(to), FRAC_PI_2)
            - flat.place((vent - 1.0).max(from), FRAC_PI_2))
        .normalize_or_zero();
        let arm = |way: DVec2| Contour::line(place - way * CROSS, place + way * CROSS);
        Ok(Self {
            outline: outline(&flat, &allowances),
            finished: finished(&flat),
            side_line: line_along(&flat, 0.0),
            stations,
            vent: [arm(along), arm(along.perp())],
            allowances,
            thickness_mm: neck.wall,
            formed_area_mm2: flat.strains(&MidWall { neck }).iter().map(|cell| cell.area).sum(),
            stations_mm: [from, to],
            flat,
        })
    }

    /// All that is marked on it.
    pub fn marks(&self) -> impl Iterator<Item = &Contour> {
        let lines = self.stations.iter().map(|station| &station.line);
        self.finished.iter().chain([&self.side_line]).chain(lines).chain(&self.vent)
    }

    /// Overall length and width, mm.
    #[must_use]
    pub fn size_mm(&self) -> DVec2 {
        let (low, high) = self.outline.bounds();
        high - low
    }
}
