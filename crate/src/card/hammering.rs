//! Hammering: area, blows, time, what becomes of the wall, and how hard it gets. All of it is an estimate.

use std::f64::consts::TAU;

use serde::Serialize;

use crate::job::Job;
use crate::parts::Assembly;
use crate::tables::hardness::hardness_after;
use crate::tables::strength::{REDUCTION_SOURCE, yield_after};

use super::card_file::CardFile;
use super::numbers::{Number, said_source};

/// Blows of one neck: common practice, no source.
pub const USUAL_BLOWS: f64 = 8000.0;

/// What hammering takes and gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Hammered {
    pub area: Number,
    pub spacing: Number,
    pub blows: Number,
    pub minutes: Number,
    /// Spacing that the usual number of blows means on this neck.
    pub spacing_of_usual_blows: Number,
    pub wall_before: Number,
    pub wall_after: Number,
    /// Rolling that would harden as much.
    pub reduction: Number,
    pub yield_after: Number,
    pub hardness: Number,
    pub words: Vec<String>,
}

/// Share of thickness that rolling would take for the same strain as hammering takes by `thinning`.
///
/// Hammering spreads sheet both ways, so its equivalent strain (von Mises) is ln(t0 / t); rolling holds the width, so there it
/// is 2/√3 of that.
#[must_use]
pub fn rolled_alike(thinning: f64) -> f64 {
    1.0 - libm::pow(1.0 - thinning, 3.0_f64.sqrt() / 2.0)
}

/// Outside of the tube between two stations, mm²: circles of r(s) on the centreline, by Pappus whatever the bend, and a cone's
/// slant left out (under one part in a thousand).
fn outside_area(assembly: &Assembly, from: f64, to: f64) -> f64 {
    let steps = 400;
    let step = (to - from) / f64::from(steps);
    (0..steps).map(|k| TAU * assembly.neck.outside(from + step * (f64::from(k) + 0.5)) * step).sum()
}

/// What hammering a job's tube takes and gives.
#[must_use]
pub fn hammered(job: &Job, assembly: &Assembly, card: &CardFile) -> Hammered {
    let asked = &card.hammering;
    let end = assembly.neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm;
    let from = asked.from_station_mm;
    let estimate = "Estimate: blows on a square grid over the tube's outside, from hammering.from_station_mm to the collar";
    let hammer = "card file, hammering (starting values: common practice, no source, or a guess)";
    let area = if from < end {
        let area = outside_area(assembly, from, end);
        Number::within(area, 0.02 * area, "mm²", estimate)
    } else {
        let why = format!(
            "hammering begins at station {from:.1} mm, where the collar ({end:.1} mm) begins or later"
        );
        Number::not_known("mm²", why, estimate)
    };
    let from_area = |of: &dyn Fn(f64) -> f64, off: f64, unit| match area.value {
        Some(area) => Number::within(of(area), off * of(area), unit, estimate),
        None => Number::not_known(unit, area.not_known.clone().unwrap_or_default(), estimate),
    };
    let spacing = match asked.blows {
        Some(blows) => from_area(&|area| (area / f64::from(blows)).sqrt(), 0.05, "mm"),
        None => Number::exact(asked.spacing_mm, "mm", hammer),
    };
    let blows = match asked.blows {
        Some(blows) => Number::exact(f64::from(blows), "", hammer),
        None => from_area(&|area| (area / (asked.spacing_mm * asked.spacing_mm)).ceil(), 0.1, ""),
    };
    let minutes = match blows.value {
        Some(count) => {
            let minutes = count / asked.blows_per_minute;
            Number::within(
                minutes,
                0.3 * minutes,
                "min",
                format!("{hammer}; blows over pace, rests left out"),
            )
        }
        None => Number::not_known("min", blows.not_known.clone().unwrap_or_default(), hammer),
    };
    let thinning = asked.thinning_percent / 100.0;
    let share = rolled_alike(thinning);
    let metal = job.tube.metal();
    let wall = job.tube.wall_mm();
    let yield_after = match yield_after(metal, share) {
        Ok((range, source)) => Number::range(
            range,
            "MPa",
            format!("{}; {}", said_source(&source), REDUCTION_SOURCE.title),
        ),
        Err(why) => Number::not_known("MPa", why, "tables of temper"),
    };
    let hardness = match hardness_after(metal, share) {
        Ok((scale, range, source)) => Number::range(range, scale, said_source(&source)),
        Err(why) => Number::not_known("HV", why, "tables of hardness"),
    };
    Hammered {
        spacing,
        blows,
        minutes,
        spacing_of_usual_blows: from_area(&|area| (area / USUAL_BLOWS).sqrt(), 0.05, "mm"),
        wall_before: Number::within(wall, 0.03, "mm", "Job: wall of the tube; sheet and forming differ by so much (a guess)"),
        wall_after: Number::within(
            wall * (1.0 - thinning),
            0.03 + 0.5 * wall * thinning,
            "mm",
            "Wall less hammering.thinning_percent of it, an estimate: measure it",
        ),
        reduction: Number::within(
            share * 100.0,
            share * 50.0,
            "%",
            "Rolling of the same equivalent strain (von Mises): 1 - (1 - thinning)^(√3/2); an estimate",
        ),
        yield_after,
        hardness,
        area,
        words: vec![
            "All of this is an estimate: no two hammers work alike. Wear hearing protection: hammering can exceed 85 dBA.".to_string(),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};

    /// Truth: frustum, lateral area π (r1 + r2) s; the alto's cone from its job: entry 12.3 mm, 1.6 degrees, wall 0.7, to the
    /// collar at 193.2 - 26 = 167.2 mm; 8,000 blows over it are one each 1.1 mm.
    #[test]
    fn the_alto_s_eight_thousand_blows_are_a_millimetre_apart() {
        let job = starting_job(Voice::Alto).unwrap();
        let assembly = Assembly::build(&job).unwrap();
        let found = hammered(&job, &assembly, &CardFile::default());
        let length = assembly.neck.centreline.length() - 26.0;
        let (r1, slope) = (6.15 + 0.7, libm::tan(1.6_f64.to_radians()));
        let r2 = r1 + slope * length;
        let slant = (length * length + (r2 - r1) * (r2 - r1)).sqrt();
        let frustum = std::f64::consts::PI * (r1 + r2) * slant;
        let area = found.area.value.unwrap();
        assert!((area / frustum - 1.0).abs() < 1e-3, "{area} {frustum}");
        let spacing = found.spacing_of_usual_blows.value.unwrap();
        assert!((spacing - (frustum / 8000.0).sqrt()).abs() < 1e-3, "{spacing}");
        assert!((1.05..1.15).contains(&spacing), "{spacing}");
    }

    /// Truth: equal strain, 2/√3 ln(1 / (1 - rolled)) = ln(1 / (1 - hammered)).
    #[test]
    fn hammering_hardens_a_little_less_than_rolling_by_as_much() {
        for thinning in [0.02, 0.1, 0.3] {
            let rolled = rolled_alike(thinning);
            assert!(rolled < thinning);
            let strain = 2.0 / 3.0_f64.sqrt() * -libm::log(1.0 - rolled);
            assert!((strain + libm::log(1.0 - thinning)).abs() < 1e-12);
        }
        assert_eq!(rolled_alike(0.0), 0.0);
    }

    #[test]
    fn what_cannot_be_is_not_known() {
        let job = starting_job(Voice::Alto).unwrap();
        let assembly = Assembly::build(&job).unwrap();
        let mut card = CardFile::default();
        card.hammering.from_station_mm = 190.0;
        card.hammering.blows = None;
        let found = hammered(&job, &assembly, &card);
        assert_eq!((found.area.value, found.blows.value, found.minutes.value), (None, None, None));
        assert!(found.minutes.not_known.unwrap().contains("collar"));
    }
}
