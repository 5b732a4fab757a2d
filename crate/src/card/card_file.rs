//! What the card needs and the job does not say: load, fillers, hammering, gauge readings.
//!
//! Every field may be left out; what then stands in its place is a value to start from, and the card says so.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::exports::paper::PaperSize;
use crate::job::{Violation, read_by_schema};
use crate::tables::fillers::Filler;
use crate::units::mm_from_inch;

/// What is asked of a card.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "Card file")]
pub struct CardFile {
    /// Kind and version of this file.
    pub format: CardFormat,
    /// Hand on the neck.
    pub load: Load,
    /// Hammering of the tube.
    pub hammering: Hammering,
    /// Fillers and their order.
    pub heat: Heat,
    /// Plug gauges in the horn's receiver.
    pub gauge: Gauge,
    /// Paper the card is printed on.
    pub paper: PaperSize,
}

/// Kind and version of a card file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum CardFormat {
    /// The first version.
    #[default]
    #[serde(rename = "neckwright-card/1")]
    NeckwrightCard1,
}

/// A hand's load at the mouthpiece. Starting values: a guess, nobody has measured it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Load {
    /// Force down, square to the mouthpiece, in the plane of the bend.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub down_n: f64,
    /// Force to the side, square to the plane of the bend.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub sideways_n: f64,
    /// How far before the cork end of the neck the hand presses on the mouthpiece.
    #[schemars(range(min = 0.0, max = 150.0))]
    pub beyond_cork_mm: f64,
}

impl Default for Load {
    fn default() -> Self {
        Self { down_n: 60.0, sideways_n: 30.0, beyond_cork_mm: 40.0 }
    }
}

/// How the tube is hammered. Starting values: common practice, no source, or a guess.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Hammering {
    /// How much of the wall the hammer takes, percent of its thickness.
    #[schemars(range(min = 0.0, max = 40.0))]
    pub thinning_percent: f64,
    /// Station the hammering begins at.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub from_station_mm: f64,
    /// Blows there are to be; null for the spacing instead.
    #[schemars(range(min = 100, max = 200_000))]
    pub blows: Option<u32>,
    /// Distance from blow to blow, where no number of blows is given.
    #[schemars(range(min = 0.3, max = 10.0))]
    pub spacing_mm: f64,
    /// Blows in a minute.
    #[schemars(range(min = 10.0, max = 400.0))]
    pub blows_per_minute: f64,
}

impl Default for Hammering {
    fn default() -> Self {
        Self {
            thinning_percent: 8.0,
            from_station_mm: 0.0,
            blows: Some(8000),
            spacing_mm: 1.0,
            blows_per_minute: 100.0,
        }
    }
}

/// Fillers, and what is asked of their order.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Heat {
    /// Filler and heat of each joint.
    pub joints: Joints,
    /// Says that fillers with cadmium are meant: they are refused otherwise.
    pub confirm_cadmium: bool,
    /// How far a later filler's liquidus must lie below an earlier one's solidus, kelvin (common practice, no source).
    #[schemars(range(min = 0.0, max = 100.0))]
    pub ladder_margin_k: f64,
    /// How far a filler's liquidus must lie below the solidus of its metals, kelvin (common practice, no source).
    #[schemars(range(min = 0.0, max = 300.0))]
    pub metal_margin_k: f64,
    /// How far along the tube from a silver-soldered joint the metal counts as annealed (a guess: the torch decides).
    #[schemars(range(min = 0.0, max = 100.0))]
    pub softened_mm: f64,
    /// Diameter of the filler wire.
    #[schemars(range(min = 0.2, max = 4.0))]
    pub wire_mm: f64,
}

impl Default for Heat {
    fn default() -> Self {
        Self {
            joints: Joints::default(),
            confirm_cadmium: false,
            ladder_margin_k: 10.0,
            metal_margin_k: 50.0,
            softened_mm: 15.0,
            wire_mm: 1.0,
        }
    }
}

/// Filler and heat of every joint. Joints of the same number are run in one heat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Joints {
    /// Seam of the two half shells.
    pub seam: Soldered,
    /// Tube in the tenon's socket.
    pub tenon: Soldered,
    /// Ring at the cork end.
    pub end_ring: Soldered,
    /// Octave vent in the wall.
    pub vent: Soldered,
    /// Brace on the tube.
    pub brace: Soldered,
    /// Saddle on the tube.
    pub saddle: Soldered,
    /// Both posts on the saddle.
    pub posts: Soldered,
    /// Key guide on the tube.
    pub guide: Soldered,
    /// Badge on the tube, if there is one.
    pub badge: Soldered,
    /// Hinge tube in the key arm.
    pub hinge_tube: Soldered,
    /// Pad cup on the key arm.
    pub pad_cup: Soldered,
    /// Rod loop on the key arm.
    pub rod_loop: Soldered,
}

impl Default for Joints {
    fn default() -> Self {
        let joint = |filler, heat| Soldered { filler, heat };
        let after_seam = joint(Filler::BAg7, 2);
        Self {
            seam: joint(Filler::BAg5, 1),
            tenon: after_seam,
            end_ring: after_seam,
            vent: after_seam,
            brace: after_seam,
            saddle: after_seam,
            posts: after_seam,
            guide: after_seam,
            badge: joint(Filler::Sn96Ag4, 3),
            hinge_tube: joint(Filler::BAg7, 1),
            pad_cup: joint(Filler::BAg7, 1),
            rod_loop: joint(Filler::BAg7, 1),
        }
    }
}

/// How one joint is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Soldered {
    /// Filler of the joint.
    pub filler: Filler,
    /// Number of the heat it is run in, counted for the neck and for the key by themselves.
    #[schemars(range(min = 1, max = 20))]
    pub heat: u32,
}

/// What the gauges said, and what fit is wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Gauge {
    /// Sizes of the shop's plug gauges in inches; empty of a set in steps of a thousandth.
    #[schemars(length(min = 0, max = 500), inner(range(min = 0.4, max = 1.9)))]
    pub plugs_in: Vec<f64>,
    /// What each gauge did in the receiver, clamp loose; empty while nothing was gauged.
    #[schemars(length(min = 0, max = 200))]
    pub readings: Vec<Reading>,
    /// How far a gauge itself may be off its size (a guess: see its certificate).
    #[schemars(range(min = 0.0, max = 0.05))]
    pub gauge_off_mm: f64,
    /// Fit the tenon is to have.
    pub fit: TenonFit,
    /// Metal left on the diameter when the tenon is turned, for fitting by hand (common practice, no source).
    #[schemars(range(min = 0.0, max = 0.5))]
    pub leave_mm: f64,
}

impl Default for Gauge {
    fn default() -> Self {
        Self {
            plugs_in: Vec::new(),
            readings: Vec::new(),
            gauge_off_mm: 0.0025,
            fit: TenonFit::default(),
            leave_mm: 0.03,
        }
    }
}

/// One gauge tried in the receiver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Size of the gauge in inches; give this or millimetres.
    #[serde(default)]
    #[schemars(range(min = 0.4, max = 1.9))]
    pub gauge_in: Option<f64>,
    /// Size of the gauge in millimetres; give this or inches.
    #[serde(default)]
    #[schemars(range(min = 10.0, max = 48.0))]
    pub gauge_mm: Option<f64>,
    /// Whether it went in.
    pub enters: bool,
    /// How deep it was tried, from the receiver's rim.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 60.0))]
    pub depth_mm: Option<f64>,
    /// Direction it was measured across, for a gauge that touches at two points; null for a full plug.
    #[serde(default)]
    #[schemars(range(min = -180.0, max = 180.0))]
    pub angle_deg: Option<f64>,
}

impl Reading {
    /// Size of the gauge, mm.
    #[must_use]
    pub fn size_mm(&self) -> Option<f64> {
        match (self.gauge_in, self.gauge_mm) {
            (Some(inch), None) => Some(mm_from_inch(inch)),
            (None, Some(mm)) => Some(mm),
            _ => None,
        }
    }
}

/// Fit of tenon and receiver.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum TenonFit {
    /// By hand: turns and slides before the clamp is tightened, without rock.
    #[default]
    #[serde(rename = "hand")]
    Hand,
    /// ISO 286 H6/g5.
    #[serde(rename = "H6/g5")]
    H6g5,
    /// ISO 286 H7/h6.
    #[serde(rename = "H7/h6")]
    H7h6,
    /// ISO 286 H7/g6.
    #[serde(rename = "H7/g6")]
    H7g6,
    /// ISO 286 H8/f7.
    #[serde(rename = "H8/f7")]
    H8f7,
}

/// From one gauge of a set to the next, inches (common practice, no source).
const GAUGE_STEP_IN: f64 = 0.001;

impl Gauge {
    /// The gauge to try after one of such a size, mm: the next wider, or the next narrower; none where the shop has none.
    #[must_use]
    pub fn next_mm(&self, size_mm: f64, wider: bool) -> Option<f64> {
        // A size in millimetres need not be that of a gauge to the last digit.
        let off = mm_from_inch(GAUGE_STEP_IN) / 10.0;
        if self.plugs_in.is_empty() {
            let step = mm_from_inch(GAUGE_STEP_IN);
            return Some(if wider { size_mm + step } else { size_mm - step });
        }
        let sizes = self.plugs_in.iter().map(|inch| mm_from_inch(*inch));
        if wider {
            sizes.filter(|mm| *mm > size_mm + off).reduce(f64::min)
        } else {
            sizes.filter(|mm| *mm < size_mm - off).reduce(f64::max)
        }
    }
}

impl CardFile {
    /// Reads a card file: what could be made of it, and everything wrong with it.
    #[must_use]
    pub fn read(text: &str) -> (Option<Self>, Vec<Violation>) {
        let usual = serde_json::to_value(Self::default()).unwrap_or_default();
        let (card, mut found): (Option<Self>, _) =
            read_by_schema(text, "A card file is one group of fields in braces.", &usual);
        found.extend(card.iter().flat_map(Self::broken));
        (card, found)
    }

    /// Every rule between its fields that is broken.
    #[must_use]
    pub fn broken(&self) -> Vec<Violation> {
        let mut found = Vec::new();
        for (index, reading) in self.gauge.readings.iter().enumerate() {
            if reading.size_mm().is_none() {
                found.push(Violation::error(
                    format!("gauge.readings[{index}]"),
                    serde_json::Value::Null,
                    "gauge_in or gauge_mm, one of them",
                    "The size of a gauge is given once.",
                ));
            }
        }
        if !self.heat.confirm_cadmium {
            for (name, joint) in self.heat.joints.all() {
                if joint.filler.row().cadmium {
                    found.push(Violation::error(
                        format!("heat.joints.{name}.filler"),
                        joint.filler.name(),
                        "a filler without cadmium, or heat.confirm_cadmium true",
                        "It holds cadmium: overheating gives cadmium oxide fume, which can kill.",
                    ));
                }
            }
        }
        found
    }
}

impl Joints {
    /// Every joint by its name in the file.
    #[must_use]
    pub fn all(&self) -> [(&'static str, Soldered); 12] {
        [
            ("seam", self.seam),
            ("tenon", self.tenon),
            ("end_ring", self.end_ring),
            ("vent", self.vent),
            ("brace", self.brace),
            ("saddle", self.saddle),
            ("posts", self.posts),
            ("guide", self.guide),
            ("badge", self.badge),
            ("hinge_tube", self.hinge_tube),
            ("pad_cup", self.pad_cup),
            ("rod_loop", self.rod_loop),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_said_is_all_starting_values_and_they_break_no_rule() {
        assert_eq!(CardFile::read("{}"), (Some(CardFile::default()), vec![]));
    }

    /// Truth: 1 in = 25.4 mm; of gauges of 0.960, 0.965 and 0.966 in, 0.965 is followed by 0.966 and stands after 0.960.
    #[test]
    fn the_next_gauge_is_one_of_the_shop_s() {
        let shop = Gauge { plugs_in: vec![0.966, 0.960, 0.965], ..Gauge::default() };
        let size = mm_from_inch(0.965);
        assert_eq!(shop.next_mm(size, true), Some(mm_from_inch(0.966)));
        assert_eq!(shop.next_mm(size, false), Some(mm_from_inch(0.960)));
        assert_eq!(shop.next_mm(mm_from_inch(0.966), true), None);
        let step = Gauge::default().next_mm(size, true).map(|mm| mm - size);
        assert!(step.is_some_and(|step| (step - 0.0254).abs() < 1e-9));
    }

    #[test]
    fn everything_wrong_is_told_at_once_and_cadmium_is_refused_unless_confirmed() {
        let (_, found) = CardFile::read(
            r#"{"load": {"down_n": 900}, "heat": {"joints": {"seam": {"filler": "BAg-1", "heat": 1}}, "wire_mm": "thin"},
                "gauge": {"readings": [{"enters": true}, {"gauge_in": 0.965, "gauge_mm": 24.5, "enters": false}]}, "colour": 1}"#,
        );
        let paths: Vec<&str> =
            found.iter().filter(|one| one.is_error()).map(|one| one.path.as_str()).collect();
        for path in [
            "load.down_n",
            "heat.wire_mm",
            "colour",
            "heat.joints.seam.filler",
            "gauge.readings[0]",
            "gauge.readings[1]",
        ] {
            assert!(paths.contains(&path), "{path}: {paths:?}");
        }
        let (card, found) = CardFile::read(
            r#"{"heat": {"confirm_cadmium": true, "joints": {"seam": {"filler": "BAg-1", "heat": 1}}}}"#,
        );
        assert!(found.iter().all(|one| !one.is_error()), "{found:?}");
        assert!(!found.is_empty(), "it is warned of all the same");
        assert_eq!(card.map(|card| card.heat.joints.seam.filler), Some(Filler::BAg1));
    }
}
