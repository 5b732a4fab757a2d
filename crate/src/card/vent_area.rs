//! The octave vent: its opening against the lift of the pad, and where it stands. Guidance, no more.

use std::f64::consts::PI;

use serde::Serialize;

use crate::job::{Job, Voice};

use super::numbers::Number;

/// Opening at one lift.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Opening {
    pub lift: Number,
    /// Round the rim, under the pad.
    pub area: Number,
    /// Over the area of the bore.
    pub share: Number,
}

/// What there is to say of the vent.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct VentArea {
    pub bore_area: Number,
    pub openings: Vec<Opening>,
    /// Lift at which the opening is as large as the bore.
    pub lift_of_equal_area: Number,
    pub station: Number,
    /// Stations vents usually stand at on this voice.
    pub usual_station: Number,
    pub words: Vec<String>,
}

/// Opening and place of a job's vent.
#[must_use]
pub fn vent_area(job: &Job) -> VentArea {
    let bore = job.vent.bore_mm;
    let area = PI * bore * bore / 4.0;
    let rule = "Round the rim: π d h, with the vent's bore d and the pad's rise h; a tilted pad opens alike in the mean";
    let opening = |lift: f64| Opening {
        lift: Number::exact(lift, "mm", "Chosen, up to the job's key.lift_mm"),
        area: Number::within(PI * bore * lift, 0.05 * PI * bore * lift, "mm²", rule),
        share: Number::within(4.0 * lift / bore, 0.2 * lift / bore, "", rule),
    };
    let lift = job.key.lift_mm;
    // Wide marks for what an alto and a tenor usually have; from memory, unsure even of the range.
    let usual = match job.horn_voice {
        Voice::Alto => Some((58.0, 78.0)),
        Voice::Tenor => Some((80.0, 115.0)),
        Voice::Soprano | Voice::Baritone => None,
    };
    let source = "necks of this voice, from memory, unsure: measure the horn's own neck";
    let usual_station = match usual {
        Some(range) => Number::range(range, "mm", source),
        None => {
            Number::not_known("mm", "no usual stations of this voice are on record here", source)
        }
    };
    let mut words = vec![
        "Guidance, no acoustics: each of the two register vents is at the ideal spot for one note only; too large a hole hisses, a small one fails at the ends of the range.".to_string(),
    ];
    if usual.is_some_and(|(low, high)| !(low..=high).contains(&job.vent.station_mm)) {
        words.push(format!(
            "The vent at station {:.1} mm stands outside of the usual range.",
            job.vent.station_mm
        ));
    }
    VentArea {
        bore_area: Number::within(area, 0.02 * area, "mm²", "π d² / 4 of the vent's bore"),
        openings: [0.25, 0.5, 0.75, 1.0].map(|share| opening(share * lift)).into(),
        lift_of_equal_area: Number::within(bore / 4.0, 0.01, "mm", "A quarter of the bore"),
        station: Number::within(
            job.vent.station_mm,
            job.placing.along_mm,
            "mm",
            "Job, vent.station_mm and placing.along_mm",
        ),
        usual_station,
        words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::starting_job;

    /// Truth: a cylinder's side, π 2.2 x 1.5 = 10.367 mm², against the bore's 3.801 mm²; equal at a lift of 0.55 mm.
    #[test]
    fn the_alto_s_vent_opens_wider_than_its_bore() {
        let found = vent_area(&starting_job(Voice::Alto).unwrap());
        let full = found.openings.last().unwrap();
        assert!((full.area.value.unwrap() - 10.367).abs() < 1e-3);
        assert!((found.bore_area.value.unwrap() - 3.801).abs() < 1e-3);
        assert!((found.lift_of_equal_area.value.unwrap() - 0.55).abs() < 1e-9);
        assert_eq!(found.words.len(), 1);
        let mut job = starting_job(Voice::Alto).unwrap();
        job.vent.station_mm = 40.0;
        assert_eq!(vent_area(&job).words.len(), 2);
        job.horn_voice = Voice::Baritone;
        assert_eq!(vent_area(&job).usual_station.value, None);
    }
}
