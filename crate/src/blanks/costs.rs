//! What forming does to the metal: where it stretches, shrinks, gets thin and thick, and how often it must be annealed.
//!
//! All of it is an estimate: sheet is not formed in one even stroke, and the least strain there could be is less than what
//! hammer and former do on the way.

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;
use serde::Serialize;

use crate::geometry::neck::Neck;
use crate::tables::Source;
use crate::tables::forming::{annealing, forming};
use crate::tables::metals::Metal;
use crate::units::deg_from_rad;

use super::blank::Blank;
use super::flatten::{CellStrain, Strain};
use super::surface::MidWall;

/// Share of the strain a metal takes evenly that is used up before it is annealed. Common practice, no source: metal that is
/// hammered is not strained evenly.
pub const USED_UP: f64 = 0.5;

/// A greatest or least value and where it is: the mean over a place of about 5 mm by 15 degrees.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Extreme {
    pub value: f64,
    pub station_mm: f64,
    /// Round the tube from the top to the side of the half, degrees.
    pub azimuth_deg: f64,
    /// Place on the blank, mm.
    pub x_mm: f64,
    pub y_mm: f64,
}

/// One place of the map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct MapCell {
    /// From and to.
    pub station_mm: [f64; 2],
    pub azimuth_deg: [f64; 2],
    /// Middle of the place on the blank, mm.
    pub x_mm: f64,
    pub y_mm: f64,
    /// Logarithmic strain of forming along the tube and round it: positive where the sheet is stretched.
    pub along: f64,
    pub round: f64,
    /// Greatest and least strain in any direction of the sheet.
    pub stretch: f64,
    pub shrink: f64,
    /// Thickness after forming, mm.
    pub thickness_mm: f64,
}

/// How many rounds of forming, with an anneal between each and the next.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Rounds {
    /// Of forming; one less of annealing between. Null where the table has no figure for the metal.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub rounds: Option<u32>,
    /// True strain the annealed metal takes evenly: its hardening exponent, least and greatest of the sources.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number] | null"))]
    pub uniform_strain: Option<[f64; 2]>,
    /// Share of it that is used up before the metal is annealed.
    pub used_up: f64,
    /// Annealing range, degrees Celsius.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number] | null"))]
    pub anneal_c: Option<[f64; 2]>,
    /// Where the figures come from.
    pub sources: Vec<String>,
    /// Why there is no figure, where there is none.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "string | null"))]
    pub not_known: Option<String>,
    /// Said where somewhere more is asked of the metal than it takes evenly, even from soft.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "string | null"))]
    pub beyond: Option<String>,
}

/// What forming costs a half shell.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Costs {
    /// Strains are logarithmic: 0.03 is about 3 %.
    pub greatest_stretch: Extreme,
    pub greatest_shrink: Extreme,
    /// After forming, mm.
    pub thinnest_mm: Extreme,
    pub thickest_mm: Extreme,
    /// Equivalent strain (von Mises) at the face of the sheet, its curling into the half round taken in.
    pub hardest_worked: Extreme,
    /// Strain of the sheet's faces by curling alone: half the thickness over the radius, where the tube is narrowest.
    pub curl: f64,
    pub rounds: Rounds,
    pub map: Vec<MapCell>,
}

impl Costs {
    /// What forming a blank of a metal costs; `None` for a blank without cells.
    #[must_use]
    pub fn of(blank: &Blank, neck: &Neck, metal: Metal) -> Option<Self> {
        let wall = MidWall { neck };
        let cells = blank.flat.strains(&wall);
        let curl_at = |cell: &CellStrain| {
            let station = f64::midpoint(cell.first[0], cell.first[1]);
            blank.thickness_mm / 2.0 / wall.radius_slope(station).0
        };
        let worked = |cell: &CellStrain| {
            let curl = curl_at(cell);
            let face =
                |by: f64| Strain { round: cell.strain.round + by, ..cell.strain }.equivalent();
            face(curl).max(face(-curl))
        };
        let thick = |cell: &CellStrain| blank.thickness_mm * libm::exp(cell.strain.thickness());
        let extreme = |of: &dyn Fn(&CellStrain) -> f64, greatest: bool| {
            let sign = if greatest { 1.0 } else { -1.0 };
            let cell = cells.iter().max_by(|a, b| (sign * of(a)).total_cmp(&(sign * of(b))))?;
            let (station_mm, up, place) = middle(blank, cell);
            let azimuth_deg = deg_from_rad(FRAC_PI_2 - up);
            Some(Extreme { value: of(cell), station_mm, azimuth_deg, x_mm: place.x, y_mm: place.y })
        };
        let hardest_worked = extreme(&worked, true)?;
        let greatest_stretch = extreme(&|cell| cell.strain.principal().0, true)?;
        Some(Self {
            greatest_shrink: extreme(&|cell| cell.strain.principal().1, false)?,
            thinnest_mm: extreme(&thick, false)?,
            thickest_mm: extreme(&thick, true)?,
            curl: cells.iter().map(curl_at).fold(0.0, f64::max),
            rounds: rounds(&hardest_worked, &greatest_stretch, metal),
            map: cells.iter().map(|cell| map_cell(blank, cell, thick(cell))).collect(),
            greatest_stretch,
            hardest_worked,
        })
    }
}

fn middle(blank: &Blank, cell: &CellStrain) -> (f64, f64, DVec2) {
    let station = f64::midpoint(cell.first[0], cell.first[1]);
    let up = f64::midpoint(cell.second[0], cell.second[1]);
    (station, up, blank.flat.place(station, up))
}

fn map_cell(blank: &Blank, cell: &CellStrain, thickness_mm: f64) -> MapCell {
    let (_, _, place) = middle(blank, cell);
    let (stretch, shrink) = cell.strain.principal();
    let azimuth = |up: f64| deg_from_rad(FRAC_PI_2 - up);
    MapCell {
        station_mm: cell.first,
        azimuth_deg: [azimuth(cell.second[1]), azimuth(cell.second[0])],
        x_mm: place.x,
        y_mm: place.y,
        along: cell.strain.along,
        round: cell.strain.round,
        stretch,
        shrink,
        thickness_mm,
    }
}

fn rounds(worked: &Extreme, stretch: &Extreme, metal: Metal) -> Rounds {
    let (figures, anneal) = (forming(metal), annealing(metal));
    let said = |what: &str, source: &Source| format!("{what}: {}", source.title);
    let mut sources = Vec::new();
    sources.extend(figures.iter().map(|row| said("hardening exponent", &row.source)));
    sources.extend(anneal.iter().map(|row| said("annealing range", &row.source)));
    let count =
        figures.map(|row| (worked.value / (USED_UP * row.hardening.0)).ceil().max(1.0) as u32);
    let beyond = figures.filter(|row| stretch.value > row.hardening.0).map(|row| {
        format!(
            "At station {:.0} mm, azimuth {:.0} degrees, the sheet is stretched by a true strain of {:.2}: annealed {} stretches evenly to {:.2}. It tears there unless metal is drawn in from beside and it is annealed in between.",
            stretch.station_mm,
            stretch.azimuth_deg,
            stretch.value,
            metal.name(),
            row.hardening.0
        )
    });
    Rounds {
        rounds: count,
        uniform_strain: figures.map(|row| [row.hardening.0, row.hardening.1]),
        used_up: USED_UP,
        anneal_c: anneal.map(|row| [row.range_c.0, row.range_c.1]),
        sources,
        not_known: figures
            .is_none()
            .then(|| format!("no hardening exponent of {} with a source is at hand", metal.name())),
        beyond,
    }
}
