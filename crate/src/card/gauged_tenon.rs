//! The tenon from gauges: how wide the receiver is, how round, how tapered, and how the tenon is to be turned for it.

use serde::Serialize;

use crate::job::Job;
use crate::job::parameters::ValuesAre;
use crate::tables::fits::{CLOSEST, Class, FITS, Fit, SOURCE, SOURCE_SMALL};
use crate::units::MM_PER_INCH;

use super::card_file::{CardFile, Gauge, Reading, TenonFit};
use super::numbers::{Number, chosen, said_source};

/// Clearance of a tenon fitted by hand, on the diameter, mm (workshop practice, from memory): it turns and slides before the
/// clamp is tightened, without rock.
const BY_HAND_MM: (f64, f64) = (0.01, 0.03);
const BY_HAND: &str = "workshop practice: turns and slides by hand before the clamp is tightened, no rock (from memory)";
/// How well the tenon is turned, mm (common practice, no source).
const TURNED_MM: f64 = 0.01;
/// How far a receiver measured without gauges may be off, mm (common practice, no source: a calliper inside a bore).
const BY_CALLIPER_MM: f64 = 0.03;
/// How far a customer's receiver may lie from a starting value, mm (a guess: horns of one voice differ).
const UNMEASURED_MM: f64 = 0.5;
const GAUGED: &str = "Between the widest gauge that enters and the narrowest that does not, each off by gauge.gauge_off_mm at most";

/// A place in the receiver that was gauged.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Gauged {
    #[serde(serialize_with = "depth")]
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Number | null"))]
    pub depth_mm: Option<f64>,
    /// None of a full plug.
    #[serde(serialize_with = "angle")]
    #[cfg_attr(target_arch = "wasm32", tsify(type = "Number | null"))]
    pub angle_deg: Option<f64>,
    pub size: Number,
}

fn depth<S: serde::Serializer>(place: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
    chosen(place, "mm", to)
}

fn angle<S: serde::Serializer>(place: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
    chosen(place, "°", to)
}

/// A fit beside the one chosen.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct FitRow {
    pub name: &'static str,
    pub kind: &'static str,
    pub chosen: bool,
    pub clearance: Number,
    pub tenon: Number,
}

/// The receiver and the tenon for it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct GaugedTenon {
    pub places: Vec<Gauged>,
    /// Widest cylinder that enters.
    pub receiver: Number,
    pub receiver_inch: Number,
    /// How much wider it is at the deepest place than at its rim.
    pub taper: Number,
    /// Greatest difference of its diameters at one depth.
    pub out_of_round: Number,
    /// Finished outside diameter of the tenon.
    pub target: Number,
    pub target_inch: Number,
    /// What it is turned to before it is fitted by hand.
    pub turned_to: Number,
    /// Finished diameter of the job less the target.
    pub job_off: Number,
    pub fits: Vec<FitRow>,
    /// Readings that cannot all be true.
    pub contradictions: Vec<String>,
    pub words: Vec<String>,
}

/// What was seen at one place: the widest that enters, the narrowest that does not.
#[derive(Clone, Copy, Debug)]
struct Place {
    depth: Option<f64>,
    angle: Option<f64>,
    enters: f64,
    refused: f64,
}

impl Place {
    fn range(&self, off: f64) -> Option<(f64, f64)> {
        let range = (self.enters - off, self.refused + off);
        (range.0.is_finite() && range.1.is_finite()).then_some(range)
    }
}

fn places(readings: &[Reading]) -> Vec<Place> {
    let mut found: Vec<Place> = Vec::new();
    for reading in readings {
        let Some(size) = reading.size_mm() else { continue };
        let (depth, angle) = (reading.depth_mm, reading.angle_deg);
        let known = found.iter().position(|place| place.depth == depth && place.angle == angle);
        let index = known.unwrap_or_else(|| {
            found.push(Place { depth, angle, enters: f64::NEG_INFINITY, refused: f64::INFINITY });
            found.len() - 1
        });
        if let Some(place) = found.get_mut(index) {
            if reading.enters {
                place.enters = place.enters.max(size);
            } else {
                place.refused = place.refused.min(size);
            }
        }
    }
    found
}

/// Readings that cannot all be true. A gauge that went in went through everything above it; whatever is no wider goes there too.
fn contradictions(readings: &[Reading]) -> Vec<String> {
    let mut found = Vec::new();
    for yes in readings.iter().filter(|reading| reading.enters) {
        for no in readings.iter().filter(|reading| !reading.enters) {
            let (Some(went_in), Some(did_not)) = (yes.size_mm(), no.size_mm()) else { continue };
            let above = match (yes.depth_mm, no.depth_mm) {
                (Some(deep), Some(tried)) => tried <= deep,
                (None, None) => true,
                _ => false,
            };
            // A full plug measures across every direction, a two-point gauge across its own.
            let across = yes.angle_deg.is_none() || yes.angle_deg == no.angle_deg;
            let same_depth = yes.angle_deg.is_none() || yes.depth_mm == no.depth_mm;
            if above && across && same_depth && did_not <= went_in {
                found.push(format!(
                    "{} went in{}, but {} did not{}: gauge again, with gauge and receiver clean and the clamp loose",
                    size(went_in),
                    place(yes),
                    size(did_not),
                    place(no)
                ));
            }
        }
    }
    found
}

fn size(mm: f64) -> String {
    format!("{mm:.3} mm ({:.4} in)", mm / MM_PER_INCH)
}

fn place(reading: &Reading) -> String {
    let depth = reading.depth_mm.map_or(String::new(), |depth| format!(" at {depth} mm depth"));
    let angle = reading.angle_deg.map_or(String::new(), |angle| format!(" across {angle}°"));
    format!("{depth}{angle}")
}

/// Receiver and tenon by the readings of a card.
#[must_use]
pub fn gauged_tenon(job: &Job, card: &CardFile) -> GaugedTenon {
    let gauge = &card.gauge;
    let places = places(&gauge.readings);
    let contradictions = contradictions(&gauge.readings);
    let off = gauge.gauge_off_mm;
    let mut words = Vec::new();
    let receiver = receiver(&places, &contradictions, off);
    if !contradictions.is_empty() {
        words.push(
            "Readings contradict each other: do not turn the tenon before they are settled.".into(),
        );
    }
    let (bore, origin) = match receiver.limits() {
        Some((least, greatest)) => {
            (Some((f64::midpoint(least, greatest), (greatest - least) / 2.0)), GAUGED)
        }
        // What was read and is in doubt must not be replaced by what was never read.
        None if !gauge.readings.is_empty() => (None, GAUGED),
        None => {
            let (off, origin) = if job.values_are == ValuesAre::Measured {
                (
                    BY_CALLIPER_MM,
                    "Job, horn.receiver_bore_mm, by calliper to 0.03 mm (common practice, no source); no gauge readings in the card file",
                )
            } else {
                (
                    UNMEASURED_MM,
                    "Job, horn.receiver_bore_mm, a starting value: the horn's may be half a millimetre from it (a guess). GAUGE THE RECEIVER before the tenon is turned",
                )
            };
            words.push(format!("Nothing was gauged. {origin}."));
            (Some((job.horn.receiver_bore_mm, off)), origin)
        }
    };
    let why = receiver.not_known.clone().unwrap_or_default();
    let diameter = |clearance: (f64, f64), from: &str| match bore {
        Some((bore, unsure)) => Number::between(
            bore - f64::midpoint(clearance.0, clearance.1),
            bore - unsure - clearance.1,
            bore + unsure - clearance.0,
            "mm",
            format!("Receiver less clearance. {origin}; {from}"),
        ),
        None => Number::not_known("mm", why.clone(), origin),
    };
    let iso = [CLOSEST].into_iter().chain(FITS);
    let nominal = bore.map_or(job.horn.receiver_bore_mm, |bore| bore.0);
    let mut fits = vec![FitRow {
        name: "hand",
        kind: "fitted by hand",
        chosen: gauge.fit == TenonFit::Hand,
        clearance: Number::range(BY_HAND_MM, "mm", BY_HAND),
        tenon: diameter(BY_HAND_MM, BY_HAND),
    }];
    fits.extend(iso.map(|fit| fit_row(&fit, gauge.fit, nominal, &diameter)));
    let target = fits.iter().find(|row| row.chosen).map_or_else(
        || Number::not_known("mm", "no fit is chosen", origin),
        |row| row.tenon.clone(),
    );
    let turned_to = match target.value {
        Some(value) => Number::within(
            value + gauge.leave_mm,
            // Turned to a size that is not settled, it is settled no better.
            TURNED_MM
                + if gauge.readings.is_empty() { bore.map_or(0.0, |bore| bore.1) } else { 0.0 },
            "mm",
            "Finished diameter and gauge.leave_mm (common practice, no source), then lapped to the receiver",
        ),
        None => Number::not_known("mm", target.not_known.clone().unwrap_or_default(), origin),
    };
    let job_off = match target.limits() {
        Some((least, greatest)) => {
            let own = job.tenon.outer_diameter_mm;
            if !(least..=greatest).contains(&own) {
                words.push(format!(
                    "The job's tenon is {own:.3} mm; for the chosen fit it should be {least:.3} to {greatest:.3} mm. Change tenon.outer_diameter_mm."
                ));
            }
            let middle = f64::midpoint(least, greatest);
            Number::between(own - middle, own - greatest, own - least, "mm", "Job less target")
        }
        None => Number::not_known("mm", "the target is not known", origin),
    };
    words.push("The size is settled to one thousandth of an inch (common practice, no source); the last of it is always fitted to the receiver itself, by hand.".into());
    GaugedTenon {
        taper: taper(&places, off),
        out_of_round: out_of_round(&places, off),
        places: places
            .iter()
            .map(|place| Gauged {
                depth_mm: place.depth,
                angle_deg: place.angle,
                size: sized(place, gauge),
            })
            .collect(),
        receiver_inch: inches(&receiver),
        receiver,
        target_inch: inches(&target),
        target,
        turned_to,
        job_off,
        fits,
        contradictions,
        words,
    }
}

fn fit_row(
    fit: &Fit,
    chosen: TenonFit,
    nominal: f64,
    diameter: &dyn Fn((f64, f64), &str) -> Number,
) -> FitRow {
    let source = said_source(if fit.hole == Class::H6 { &SOURCE_SMALL } else { &SOURCE });
    let name = match chosen {
        TenonFit::Hand => "hand",
        TenonFit::H6g5 => "H6/g5",
        TenonFit::H7h6 => "H7/h6",
        TenonFit::H7g6 => "H7/g6",
        TenonFit::H8f7 => "H8/f7",
    };
    let (clearance, tenon) = match fit.clearance_mm(nominal) {
        Some(clearance) => {
            (Number::range(clearance, "mm", source.clone()), diameter(clearance, &source))
        }
        None => {
            let why =
                format!("the table of ISO 286 here ends at 30 mm, the receiver is {nominal:.2} mm");
            (
                Number::not_known("mm", why.clone(), source.clone()),
                Number::not_known("mm", why, source),
            )
        }
    };
    FitRow { name: fit.name, kind: fit.kind, chosen: fit.name == name, clearance, tenon }
}

fn sized(place: &Place, gauge: &Gauge) -> Number {
    let next = |tried: f64, wider: bool| match gauge.next_mm(tried, wider) {
        Some(mm) => format!("try {}", size(mm)),
        None => "the shop's list has none".to_string(),
    };
    let missing = if place.enters.is_finite() {
        format!(
            "no gauge was refused there: the next wider one is missing, {}",
            next(place.enters, true)
        )
    } else {
        format!("no gauge went in there: a narrower one is missing, {}", next(place.refused, false))
    };
    match place.range(gauge.gauge_off_mm) {
        Some(range) if range.0 <= range.1 => Number::range(range, "mm", GAUGED),
        Some(_) => Number::not_known("mm", "the readings there contradict each other", GAUGED),
        None => Number::not_known("mm", missing, GAUGED),
    }
}

fn receiver(places: &[Place], contradictions: &[String], off: f64) -> Number {
    if places.is_empty() {
        return Number::not_known("mm", "nothing was gauged", GAUGED);
    }
    if !contradictions.is_empty() {
        return Number::not_known("mm", "readings contradict each other", GAUGED);
    }
    let known: Vec<(f64, f64)> = places.iter().filter_map(|place| place.range(off)).collect();
    let least = known.iter().map(|range| range.0).reduce(f64::min);
    let greatest = known.iter().map(|range| range.1).reduce(f64::min);
    // A place that no gauge went into may be the narrowest of all, by nobody knows how much.
    let narrower = places.iter().find(|place| {
        !place.enters.is_finite() && greatest.is_none_or(|greatest| place.refused + off < greatest)
    });
    if let Some(place) = narrower {
        return Number::not_known(
            "mm",
            format!(
                "at one place no gauge went in, and {} was refused: try narrower ones there",
                size(place.refused)
            ),
            GAUGED,
        );
    }
    match (least, greatest) {
        (Some(least), Some(greatest)) => Number::range(
            (least, greatest),
            "mm",
            format!("{GAUGED}; of several places the narrowest, for the tenon must pass it"),
        ),
        _ => Number::not_known(
            "mm",
            "at no place did one gauge enter and a wider one not: try the next one up or down",
            GAUGED,
        ),
    }
}

/// Mean of the places at each depth, with what it may be off by.
fn by_depth(places: &[Place], off: f64) -> Vec<(f64, f64, f64)> {
    let mut depths: Vec<f64> = places.iter().filter_map(|place| place.depth).collect();
    depths.sort_by(f64::total_cmp);
    depths.dedup();
    depths
        .into_iter()
        .filter_map(|depth| {
            let own: Vec<(f64, f64)> = places
                .iter()
                .filter(|place| place.depth == Some(depth))
                .filter_map(|place| place.range(off))
                .collect();
            let count = own.len() as f64;
            let middle =
                own.iter().map(|range| f64::midpoint(range.0, range.1)).sum::<f64>() / count;
            let half = own.iter().map(|range| (range.1 - range.0) / 2.0).sum::<f64>() / count;
            (count > 0.0).then_some((depth, middle, half))
        })
        .collect()
}

fn taper(places: &[Place], off: f64) -> Number {
    let rule =
        "Diameter at the deepest place less that at the shallowest; wider inside is positive";
    let depths = by_depth(places, off);
    match (depths.first(), depths.last()) {
        (Some(first), Some(last)) if depths.len() > 1 => {
            Number::within(last.1 - first.1, first.2 + last.2, "mm", rule)
        }
        _ => Number::not_known("mm", "it takes readings at two depths", rule),
    }
}

fn out_of_round(places: &[Place], off: f64) -> Number {
    let rule = "Greatest less least diameter at one depth, by a gauge that touches at two points";
    let mut worst: Option<(f64, f64)> = None;
    for place in places.iter().filter(|place| place.angle.is_some()) {
        for other in places.iter().filter(|other| other.angle.is_some()) {
            if let (true, Some(a), Some(b)) = (
                place.depth == other.depth && place.angle != other.angle,
                place.range(off),
                other.range(off),
            ) {
                let apart = f64::midpoint(a.0, a.1) - f64::midpoint(b.0, b.1);
                let unsure = (a.1 - a.0 + b.1 - b.0) / 2.0;
                if apart >= 0.0 && worst.is_none_or(|worst| apart > worst.0) {
                    worst = Some((apart, unsure));
                }
            }
        }
    }
    match worst {
        Some((apart, unsure)) => {
            Number::between(apart, (apart - unsure).max(0.0), apart + unsure, "mm", rule)
        }
        None => {
            Number::not_known("mm", "it takes readings across two directions at one depth", rule)
        }
    }
}

/// The same number in inches.
fn inches(number: &Number) -> Number {
    match (number.value, number.limits()) {
        (Some(value), Some((least, greatest))) => Number::between(
            value / MM_PER_INCH,
            least / MM_PER_INCH,
            greatest / MM_PER_INCH,
            "in",
            number.source.clone(),
        ),
        _ => Number { unit: "in", ..number.clone() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};

    fn found(readings: &str, fit: &str) -> GaugedTenon {
        let text = format!(
            r#"{{"gauge": {{"readings": {readings}, "fit": "{fit}", "gauge_off_mm": 0}}}}"#
        );
        let (card, wrong) = CardFile::read(&text);
        assert!(wrong.is_empty(), "{wrong:?}");
        gauged_tenon(&starting_job(Voice::Alto).unwrap(), &card.unwrap())
    }

    /// Truth: 0.965 in enters and 0.966 in does not: 24.511 to 24.5364 mm (1 in = 25.4 mm). By hand the tenon is 0.01 to
    /// 0.03 mm less than that.
    #[test]
    fn two_gauges_a_thousandth_apart_settle_the_size() {
        let found = found(
            r#"[{"gauge_in": 0.965, "enters": true}, {"gauge_in": 0.966, "enters": false}]"#,
            "hand",
        );
        assert_eq!(found.receiver.limits(), Some((24.511, 24.5364)));
        let (least, greatest) = found.target.limits().unwrap();
        assert!((least - 24.481).abs() < 1e-6 && (greatest - 24.5264).abs() < 1e-6);
        assert!((found.target.value.unwrap() - 24.5037).abs() < 1e-6);
        assert!((found.receiver_inch.value.unwrap() - 0.9655).abs() < 1e-6);
        assert!((found.turned_to.value.unwrap() - 24.5337).abs() < 1e-6);
    }

    /// Truth: clearances of 18 to 30 mm by ISO 286: H7/g6 7 to 41 µm, H6/g5 7 to 29.
    #[test]
    fn iso_fits_stand_beside_the_hand_s() {
        let found = found("[]", "H7/g6");
        let row = |name: &str| found.fits.iter().find(|row| row.name == name).unwrap();
        assert_eq!(row("H7/g6").clearance.limits(), Some((0.007, 0.041)));
        assert_eq!(row("H6/g5").clearance.limits(), Some((0.007, 0.029)));
        assert!(row("H7/g6").chosen && !row("hand").chosen);
        let (least, greatest) = found.target.limits().unwrap();
        // The alto's receiver of 24.53 mm is a starting value: half a millimetre more or less.
        assert!(
            (least - (24.03 - 0.041)).abs() < 1e-6 && (greatest - (25.03 - 0.007)).abs() < 1e-6
        );
        assert!(found.words[0].contains("GAUGE THE RECEIVER"), "{:?}", found.words);
    }

    /// A size that nobody measured is told by nobody to a hundredth: only gauges settle it.
    #[test]
    fn a_tenon_from_a_starting_value_is_not_told_as_if_it_were_gauged() {
        let mut job = starting_job(Voice::Alto).unwrap();
        let off = |job: &Job| {
            let found = gauged_tenon(job, &CardFile::default());
            let off = |number: &Number| number.tolerance.unwrap()[1];
            (off(&found.target), off(&found.turned_to))
        };
        let unmeasured = off(&job);
        job.values_are = ValuesAre::Measured;
        let measured = off(&job);
        // 0.01 is half of the hand's clearance, and what it is turned to.
        assert!((unmeasured.0 - 0.51).abs() < 1e-9 && (unmeasured.1 - 0.51).abs() < 1e-9);
        assert!((measured.0 - 0.04).abs() < 1e-9 && (measured.1 - 0.04).abs() < 1e-9);
    }

    #[test]
    fn taper_and_roundness_show_only_where_they_were_gauged() {
        let plugs = r#"[{"gauge_mm": 24.50, "enters": true, "depth_mm": 5}, {"gauge_mm": 24.52, "enters": false, "depth_mm": 5},
            {"gauge_mm": 24.44, "enters": true, "depth_mm": 18}, {"gauge_mm": 24.46, "enters": false, "depth_mm": 18}]"#;
        let tapered = found(plugs, "hand");
        assert!((tapered.taper.value.unwrap() + 0.06).abs() < 1e-9);
        assert_eq!(tapered.taper.tolerance, Some([-0.02, 0.02]));
        assert_eq!(tapered.out_of_round.value, None);
        // The narrowest place is what the tenon must pass.
        assert_eq!(tapered.receiver.limits(), Some((24.44, 24.46)));
        let across = r#"[{"gauge_mm": 24.50, "enters": true, "depth_mm": 5, "angle_deg": 0}, {"gauge_mm": 24.51, "enters": false, "depth_mm": 5, "angle_deg": 0},
            {"gauge_mm": 24.56, "enters": true, "depth_mm": 5, "angle_deg": 90}, {"gauge_mm": 24.57, "enters": false, "depth_mm": 5, "angle_deg": 90}]"#;
        let oval = found(across, "hand");
        assert!((oval.out_of_round.value.unwrap() - 0.06).abs() < 1e-9);
        assert_eq!(oval.taper.value, None);
    }

    #[test]
    fn contradictions_leave_everything_unknown() {
        for readings in [
            r#"[{"gauge_in": 0.966, "enters": true}, {"gauge_in": 0.965, "enters": false}]"#,
            // A plug went in 15 mm deep, and a narrower one not even 5.
            r#"[{"gauge_mm": 24.5, "enters": true, "depth_mm": 15}, {"gauge_mm": 24.48, "enters": false, "depth_mm": 5}]"#,
            // A full plug went in where a narrower two-point gauge did not.
            r#"[{"gauge_mm": 24.5, "enters": true, "depth_mm": 15}, {"gauge_mm": 24.48, "enters": false, "depth_mm": 15, "angle_deg": 30}]"#,
        ] {
            let found = found(readings, "hand");
            assert_eq!(found.contradictions.len(), 1, "{readings}");
            assert_eq!((found.receiver.value, found.target.value), (None, None));
            assert_eq!((found.turned_to.value, found.job_off.value), (None, None));
        }
        let fine = found(
            r#"[{"gauge_mm": 24.5, "enters": true, "depth_mm": 5}, {"gauge_mm": 24.48, "enters": false, "depth_mm": 15}]"#,
            "hand",
        );
        assert_eq!(fine.contradictions.len(), 0);
        // At 18 mm the receiver is narrower than 24.44, by nobody knows how much: the size at 5 mm would not pass.
        let narrow = found(
            r#"[{"gauge_mm": 24.5, "enters": true, "depth_mm": 5}, {"gauge_mm": 24.52, "enters": false, "depth_mm": 5},
                {"gauge_mm": 24.44, "enters": false, "depth_mm": 18}]"#,
            "hand",
        );
        assert_eq!(narrow.contradictions.len(), 0);
        assert_eq!((narrow.receiver.value, narrow.target.value), (None, None));
        // Refused by more than is known of the other place, it says nothing.
        let wide = found(
            r#"[{"gauge_mm": 24.5, "enters": true, "depth_mm": 5}, {"gauge_mm": 24.52, "enters": false, "depth_mm": 5},
                {"gauge_mm": 24.6, "enters": false, "depth_mm": 18}]"#,
            "hand",
        );
        assert_eq!(wide.receiver.limits(), Some((24.5, 24.52)));
        let half = found(r#"[{"gauge_mm": 24.5, "enters": true}]"#, "hand");
        assert!(half.places[0].size.not_known.as_ref().unwrap().contains("next wider"));
        assert_eq!(half.receiver.value, None);
    }
}
