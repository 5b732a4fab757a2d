//! The parameter set of one neck: plain data, as it stands in a job file.
//!
//! Every length is in millimetres and every angle in degrees, as the name says. The sentence above a field is also
//! its description in the schema and its help on the page; the range beside it is what the reader enforces. Ranges
//! are wide enough for a soprano's neck and a baritone's; what must hold between fields is not said here.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::tables::gauges;
use crate::tables::metals::Metal;
use crate::tables::threads::Thread;

/// Everything a maker chooses or measures for one neck.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Neck job")]
pub struct Job {
    /// Kind and version of this file; no other is read.
    pub format: Format,
    /// Whose neck this is, as it stands on the order.
    pub order: Order,
    /// Horn the neck is made for.
    pub horn_voice: Voice,
    /// Whether the numbers were measured on the customer's horn or are values to start from.
    pub values_are: ValuesAre,
    /// Line through the middle of the bore, from the cork end to the free end of the tenon.
    pub centreline: Centreline,
    /// Inside of the neck.
    pub bore: Bore,
    /// Tube the halves are formed into.
    pub tube: Tube,
    /// Turned sleeve that goes into the horn.
    pub tenon: Tenon,
    /// Turned ring at the cork end.
    pub end_ring: EndRing,
    /// Sleeve of cork the mouthpiece is pushed on.
    pub cork: Cork,
    /// Octave vent, or pip.
    pub vent: Vent,
    /// Strip under the bend that stiffens the tube.
    pub brace: Brace,
    /// Formed patch on top of the tube that carries the posts.
    pub saddle: Saddle,
    /// Two turned posts that hold the hinge of the octave key.
    pub posts: Posts,
    /// Hinge tube of the octave key and the screw through it.
    pub hinge: Hinge,
    /// Arm of the octave key, cut from plate.
    pub key: Key,
    /// Pad that closes the vent.
    pub pad: Pad,
    /// Cup that holds the pad.
    pub pad_cup: PadCup,
    /// Rod bent round the tenon end, moved by the horn's octave pin.
    pub rod_loop: RodLoop,
    /// Flat spring that closes the key.
    pub spring: Spring,
    /// Screw that holds the spring under the arm.
    pub spring_screw: SpringScrew,
    /// Fork that keeps the key in line, near the tenon.
    pub guide: Guide,
    /// Thin plate on the tube with a name or a mark; a neck may be without one.
    #[serde(default)]
    #[cfg_attr(target_arch = "wasm32", tsify(optional, type = "Badge | null"))]
    pub badge: Option<Badge>,
    /// Mouthpiece the cork is made for.
    pub mouthpiece: Mouthpiece,
    /// What the neck must fit into and clear on the horn.
    pub horn: Horn,
    /// Gaps the work is held to.
    pub limits: Limits,
    /// How well parts are placed by hand before they are soldered.
    pub placing: Placing,
}

/// Kind and version of a job file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub enum Format {
    /// The first version.
    #[serde(rename = "neckwright-job/1")]
    NeckwrightJob1,
}

/// What the maker writes on the order; none of it changes the shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Order number.
    #[schemars(length(max = 40))]
    pub number: String,
    /// Serial number, carried on the brace.
    #[schemars(length(max = 40))]
    pub serial: String,
    /// Revision of this job.
    #[schemars(length(max = 40))]
    pub revision: String,
    /// Anything the next person at the bench should know.
    #[schemars(length(max = 4000))]
    pub note: String,
}

/// Horn the neck is made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Voice {
    /// Soprano with a separate neck.
    Soprano,
    /// Alto.
    Alto,
    /// Tenor.
    Tenor,
    /// Baritone.
    Baritone,
}

/// How far the numbers of a job may be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum ValuesAre {
    /// Values to start from: measure the horn before cutting metal.
    StartingValues,
    /// Measured on the customer's horn.
    Measured,
}

/// Line through the middle of the bore: straight pieces and bends, or measured points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(untagged)]
pub enum Centreline {
    /// Straight pieces and bends, one after the other.
    Pieces(CentrelinePieces),
    /// Points measured between two straight ends.
    Points(CentrelinePoints),
}

/// Straight pieces and bends, one after the other, from the cork end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Straight pieces and bends")]
pub struct CentrelinePieces {
    /// The pieces in order from the cork end; the last one runs straight through the socket and the tenon.
    #[schemars(length(min = 1, max = 40))]
    pub pieces: Vec<Piece>,
}

/// One piece of the centreline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(untagged)]
pub enum Piece {
    /// Runs straight on.
    Straight(StraightPiece),
    /// Bends on a circle.
    Bend(BendPiece),
}

/// A straight piece of the centreline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Straight piece")]
pub struct StraightPiece {
    /// Length of the straight piece.
    #[schemars(range(min = 0.5, max = 400.0))]
    pub straight_mm: f64,
}

/// A bend of the centreline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Bend")]
pub struct BendPiece {
    /// Angle of the bend: positive turns down, negative turns up; not zero.
    #[schemars(range(min = -150.0, max = 150.0))]
    pub bend_deg: f64,
    /// Radius of the bend, to the middle of the bore.
    #[schemars(range(min = 12.0, max = 1000.0))]
    pub radius_mm: f64,
}

/// Points measured along the bend, with a straight run before and after them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Measured points")]
pub struct CentrelinePoints {
    /// Length of the straight run from the cork end; the points begin after it.
    #[schemars(range(min = 5.0, max = 200.0))]
    pub straight_start_mm: f64,
    /// Points on the centreline after the straight start, the last where the straight end begins.
    #[schemars(length(min = 3, max = 200))]
    pub points: Vec<CentrelinePoint>,
    /// Length of the straight run from the last point through the socket and the tenon.
    #[schemars(range(min = 5.0, max = 200.0))]
    pub straight_end_mm: f64,
}

/// A measured point on the centreline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct CentrelinePoint {
    /// Distance from the cork end, along the first straight run produced.
    #[schemars(range(min = -500.0, max = 500.0))]
    pub x_mm: f64,
    /// Height above that line: upwards positive, so a neck that bends down has negative heights.
    #[schemars(range(min = -500.0, max = 500.0))]
    pub z_mm: f64,
}

/// Inside of the neck: a plain cone, or a table of measured diameters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(untagged)]
pub enum Bore {
    /// One cone from the cork end to the free end of the tenon.
    Cone(BoreCone),
    /// Diameters measured at stations.
    Table(BoreTable),
}

/// One cone from the cork end to the free end of the tenon.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Cone")]
pub struct BoreCone {
    /// Inside diameter at the cork end.
    #[schemars(range(min = 6.0, max = 22.0))]
    pub entry_diameter_mm: f64,
    /// Angle between the wall and the centreline: half of the whole cone.
    #[schemars(range(min = 0.5, max = 3.0))]
    pub half_angle_deg: f64,
}

/// Diameters measured at stations along the centreline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Table of diameters")]
pub struct BoreTable {
    /// Rows from the cork end to the free end of the tenon; a smooth bore is laid through them that rises and falls only where they do.
    #[schemars(length(min = 2, max = 200))]
    pub table: Vec<BoreRow>,
}

/// A measured diameter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct BoreRow {
    /// Distance along the centreline from the cork end.
    #[schemars(range(min = 0.0, max = 600.0))]
    pub station_mm: f64,
    /// Inside diameter there.
    #[schemars(range(min = 6.0, max = 60.0))]
    pub diameter_mm: f64,
}

/// Tube the halves are formed into; its wall as measured, or as a gauge of sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(untagged)]
pub enum Tube {
    /// Wall in millimetres.
    Wall(TubeByWall),
    /// Wall as a gauge number of sheet.
    Gauge(TubeByGauge),
}

impl Tube {
    /// Thickness of the wall.
    #[must_use]
    pub fn wall_mm(&self) -> f64 {
        match self {
            Self::Wall(tube) => tube.wall_mm,
            Self::Gauge(tube) => gauges::thickness_mm(tube.wall_gauge),
        }
    }

    /// Metal of the tube.
    #[must_use]
    pub fn metal(&self) -> Metal {
        match self {
            Self::Wall(tube) => tube.metal,
            Self::Gauge(tube) => tube.metal,
        }
    }
}

/// Tube with its wall in millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Wall in millimetres")]
pub struct TubeByWall {
    /// Thickness of the wall after forming.
    #[schemars(range(min = 0.3, max = 2.0))]
    pub wall_mm: f64,
    /// Sheet the halves are formed from.
    pub metal: Metal,
}

/// Tube with its wall as a gauge number of sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
#[schemars(title = "Wall as sheet gauge")]
pub struct TubeByGauge {
    /// Gauge number of the sheet (ASTM B258, also AWG): 20 is 0.81 mm, 21 is 0.72 mm, 22 is 0.64 mm.
    #[schemars(range(min = gauges::THICKEST_GAUGE, max = gauges::THINNEST_GAUGE))]
    pub wall_gauge: u8,
    /// Sheet the halves are formed from.
    pub metal: Metal,
}

/// Turned sleeve at the large end; the tube ends in its socket, and its own bore carries the cone on to the free end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Tenon {
    /// Outside diameter of the part that goes into the horn, turned to the gauge size.
    #[schemars(range(min = 12.0, max = 45.0))]
    pub outer_diameter_mm: f64,
    /// Length of that part, from the collar's seat to the free end.
    #[schemars(range(min = 8.0, max = 45.0))]
    pub length_mm: f64,
    /// Outside diameter of the collar that stands on the receiver.
    #[schemars(range(min = 13.0, max = 50.0))]
    pub collar_diameter_mm: f64,
    /// Length of the collar.
    #[schemars(range(min = 2.0, max = 20.0))]
    pub collar_length_mm: f64,
    /// How deep the tube sits in the collar.
    #[schemars(range(min = 1.0, max = 15.0))]
    pub socket_depth_mm: f64,
    /// Least wall the sleeve may be left with at its free end, where the bore is widest.
    #[schemars(range(min = 0.2, max = 3.0))]
    pub least_wall_mm: f64,
    /// Chamfer at the outer edge of the free end.
    #[schemars(range(min = 0.0, max = 2.0))]
    pub chamfer_mm: f64,
    /// Metal the tenon is turned from.
    pub metal: Metal,
}

/// Turned ring with a rounded bead at the cork end, bored to the tube's taper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct EndRing {
    /// Length of the ring along the tube.
    #[schemars(range(min = 1.0, max = 12.0))]
    pub length_mm: f64,
    /// Greatest outside diameter of the bead.
    #[schemars(range(min = 8.0, max = 30.0))]
    pub bead_diameter_mm: f64,
    /// Radius the bead is rounded with.
    #[schemars(range(min = 0.1, max = 3.0))]
    pub bead_radius_mm: f64,
    /// Metal the ring is turned from.
    pub metal: Metal,
}

/// Sleeve of cork behind the end ring; its outside diameter is the bore of the mouthpiece's shank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Cork {
    /// Station where the cork ends, measured from the cork end of the tube.
    #[schemars(range(min = 8.0, max = 120.0))]
    pub to_station_mm: f64,
}

/// Turned tube through a drilled hole in the top of the wall, standing above it and reaching a little inside.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Vent {
    /// Station of the vent's axis.
    #[schemars(range(min = 15.0, max = 300.0))]
    pub station_mm: f64,
    /// Diameter of the hole through the vent.
    #[schemars(range(min = 0.8, max = 5.0))]
    pub bore_mm: f64,
    /// Outside diameter of the vent.
    #[schemars(range(min = 2.0, max = 10.0))]
    pub outer_diameter_mm: f64,
    /// Height the vent stands above the outside of the tube, where the pad rests on it.
    #[schemars(range(min = 1.0, max = 12.0))]
    pub stand_mm: f64,
    /// How far the vent reaches past the wall into the bore.
    #[schemars(range(min = 0.1, max = 4.0))]
    pub reach_inside_mm: f64,
    /// Chamfer at the outer edge of the top.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub chamfer_mm: f64,
    /// Metal the vent is turned from.
    pub metal: Metal,
}

/// Strip under the bend that stiffens the tube and carries the serial number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Brace {
    /// Whether the strip lies on the tube along its whole length, or stands off it between two feet.
    pub form: BraceForm,
    /// Station where the brace begins.
    #[schemars(range(min = 10.0, max = 500.0))]
    pub from_station_mm: f64,
    /// Station where the brace ends.
    #[schemars(range(min = 15.0, max = 550.0))]
    pub to_station_mm: f64,
    /// Width of the strip.
    #[schemars(range(min = 2.0, max = 20.0))]
    pub width_mm: f64,
    /// Thickness of the strip.
    #[schemars(range(min = 0.4, max = 4.0))]
    pub thickness_mm: f64,
    /// Length of each foot of a bridge along the tube; a brace in full contact has none and keeps the number.
    #[schemars(range(min = 2.0, max = 60.0))]
    pub foot_length_mm: f64,
    /// Height of a bridge's underside above the outside of the tube; a brace in full contact keeps the number.
    #[schemars(range(min = 0.5, max = 15.0))]
    pub bridge_height_mm: f64,
    /// Metal of the strip.
    pub metal: Metal,
}

/// How the brace meets the tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum BraceForm {
    /// Soldered to the tube along its whole length.
    Contact,
    /// Soldered at two feet, clear of the tube between them.
    Bridge,
}

/// Formed patch of sheet on top of the tube that carries the posts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Saddle {
    /// Station of the saddle's middle, which is also the station of the hinge.
    #[schemars(range(min = 20.0, max = 450.0))]
    pub station_mm: f64,
    /// Length of the saddle along the tube.
    #[schemars(range(min = 4.0, max = 40.0))]
    pub length_mm: f64,
    /// How far the saddle wraps round the tube to each side of the top.
    #[schemars(range(min = 20.0, max = 85.0))]
    pub half_wrap_deg: f64,
    /// Thickness of the sheet.
    #[schemars(range(min = 0.4, max = 2.0))]
    pub thickness_mm: f64,
    /// Metal of the sheet.
    pub metal: Metal,
}

/// Two turned posts, coped to the saddle, with a cross hole on the hinge axis.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Posts {
    /// Diameter of each post.
    #[schemars(range(min = 2.5, max = 8.0))]
    pub diameter_mm: f64,
    /// Height of the hinge axis above the outside of the tube.
    #[schemars(range(min = 3.0, max = 20.0))]
    pub axis_height_mm: f64,
    /// Height of the post's top above the hinge axis.
    #[schemars(range(min = 1.0, max = 8.0))]
    pub top_above_axis_mm: f64,
    /// Chamfer round the top of each post.
    #[schemars(range(min = 0.0, max = 1.5))]
    pub chamfer_mm: f64,
    /// Side the hinge screw goes in from, seen by the player; that post is drilled clear, the other is tapped.
    pub screw_head_side: Side,
    /// Metal the posts are turned from.
    pub metal: Metal,
}

/// Side of the neck as the player sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The player's left.
    Left,
    /// The player's right.
    Right,
}

/// Hinge tube of the octave key between the posts, and the screw it turns on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Hinge {
    /// Outside diameter of the hinge tube.
    #[schemars(range(min = 2.0, max = 8.0))]
    pub tube_outer_diameter_mm: f64,
    /// Length of the hinge tube.
    #[schemars(range(min = 4.0, max = 30.0))]
    pub tube_length_mm: f64,
    /// Gap between each end of the hinge tube and its post.
    #[schemars(range(min = 0.01, max = 0.5))]
    pub end_play_mm: f64,
    /// Diameter of the screw where the hinge tube turns on it.
    #[schemars(range(min = 1.0, max = 5.0))]
    pub screw_diameter_mm: f64,
    /// Gap between screw and hinge tube all round, half the difference of the diameters.
    #[schemars(range(min = 0.005, max = 0.2))]
    pub radial_clearance_mm: f64,
    /// Thread at the end of the screw and in the tapped post.
    pub thread: Thread,
    /// Diameter of the screw's head.
    #[schemars(range(min = 1.5, max = 8.0))]
    pub head_diameter_mm: f64,
    /// Length of the screw's head.
    #[schemars(range(min = 0.4, max = 5.0))]
    pub head_length_mm: f64,
    /// Metal of the hinge tube.
    pub tube_metal: Metal,
    /// Metal of the screw.
    pub screw_metal: Metal,
}

/// Flat arm of the octave key, cut from plate, lying in the plane of the bend.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// How far the pad rises from the vent when the key is open.
    #[schemars(range(min = 0.2, max = 6.0))]
    pub lift_mm: f64,
    /// Thickness of the plate the arm is cut from.
    #[schemars(range(min = 1.0, max = 6.0))]
    pub arm_thickness_mm: f64,
    /// Height of the arm, from its lower edge to its upper edge.
    #[schemars(range(min = 1.5, max = 12.0))]
    pub arm_height_mm: f64,
    /// Gap under the arm at the hinge; towards the loop it grows with the arm's own travel.
    #[schemars(range(min = 0.2, max = 6.0))]
    pub gap_at_hinge_mm: f64,
    /// Metal left above the hinge tube where the arm goes round it.
    #[schemars(range(min = 0.3, max = 5.0))]
    pub boss_land_mm: f64,
    /// Metal of the plate.
    pub metal: Metal,
}

/// Pad that closes the vent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Pad {
    /// Diameter of the pad.
    #[schemars(range(min = 4.0, max = 20.0))]
    pub diameter_mm: f64,
    /// Thickness of the pad.
    #[schemars(range(min = 1.0, max = 6.0))]
    pub thickness_mm: f64,
    /// How far the pad stands out of its cup.
    #[schemars(range(min = 0.1, max = 4.0))]
    pub stand_out_mm: f64,
    /// How far the pad must reach past the vent's rim all round (starting value: common practice, no source).
    #[schemars(range(min = 0.0, max = 6.0))]
    pub rim_margin_mm: f64,
}

/// Turned cup that holds the pad.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct PadCup {
    /// Thickness of the cup's side.
    #[schemars(range(min = 0.3, max = 2.0))]
    pub wall_mm: f64,
    /// Thickness of the cup's roof.
    #[schemars(range(min = 0.4, max = 3.0))]
    pub roof_mm: f64,
    /// Metal the cup is turned from.
    pub metal: Metal,
}

/// Round rod bent into a loop round the tenon end, its two ends laid along the arm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct RodLoop {
    /// Diameter of the rod.
    #[schemars(range(min = 1.2, max = 6.0))]
    pub rod_diameter_mm: f64,
    /// Height of the loop's plane above the collar's seat on the receiver.
    #[schemars(range(min = 3.0, max = 40.0))]
    pub above_seat_mm: f64,
    /// Inside reach of the loop on the player's side, where the octave pin stands.
    #[schemars(range(min = 8.0, max = 45.0))]
    pub reach_player_mm: f64,
    /// Inside reach of the loop on the side of the bell.
    #[schemars(range(min = 8.0, max = 45.0))]
    pub reach_bell_mm: f64,
    /// Length of each rod end laid along the arm.
    #[schemars(range(min = 3.0, max = 40.0))]
    pub lap_mm: f64,
    /// Radius the rod is bent with where it leaves the arm, to the middle of the rod.
    #[schemars(range(min = 1.5, max = 30.0))]
    pub bend_radius_mm: f64,
    /// Radius of the loop's corners, to the middle of the rod.
    #[schemars(range(min = 2.0, max = 45.0))]
    pub corner_radius_mm: f64,
    /// Tilt of the loop's plane: positive lowers the player's side; zero is square to the tenon.
    #[schemars(range(min = -30.0, max = 30.0))]
    pub tilt_deg: f64,
    /// Length of the point each rod end is turned to.
    #[schemars(range(min = 0.5, max = 20.0))]
    pub point_length_mm: f64,
    /// Metal of the rod.
    pub metal: Metal,
}

/// Flat spring under the arm on the loop side of the hinge, its tip on the tube.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Spring {
    /// Thickness of the strip.
    #[schemars(range(min = 0.1, max = 1.2))]
    pub thickness_mm: f64,
    /// Width of the strip.
    #[schemars(range(min = 1.0, max = 6.0))]
    pub width_mm: f64,
    /// Distance along the arm from the hinge axis to the middle of the spring's seat, where its screw is.
    #[schemars(range(min = 3.0, max = 80.0))]
    pub seat_from_hinge_mm: f64,
    /// Length of the spring that lies flat under the arm.
    #[schemars(range(min = 2.0, max = 20.0))]
    pub seat_length_mm: f64,
    /// Distance along the arm from the middle of the seat to the tip that bears on the tube.
    #[schemars(range(min = 4.0, max = 80.0))]
    pub reach_mm: f64,
    /// How far the free spring's tip would stand below where the tube holds it, key closed: the bend it is given more.
    #[schemars(range(min = 0.0, max = 15.0))]
    pub set_mm: f64,
    /// Force with which the pad is to be pressed on the vent, newtons (starting value: common practice, no source).
    #[schemars(range(min = 0.05, max = 5.0))]
    pub pad_force_n: f64,
    /// Metal of the strip.
    pub metal: Metal,
}

/// Screw that holds the spring under the arm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct SpringScrew {
    /// Thread of the screw and of the hole in the arm.
    pub thread: Thread,
    /// Diameter of the head.
    #[schemars(range(min = 1.5, max = 6.0))]
    pub head_diameter_mm: f64,
    /// Height of the head.
    #[schemars(range(min = 0.3, max = 3.0))]
    pub head_length_mm: f64,
    /// Depth of the tapped hole in the arm.
    #[schemars(range(min = 0.8, max = 8.0))]
    pub depth_mm: f64,
    /// Metal of the screw.
    pub metal: Metal,
}

/// Small fork on top of the tube that keeps the key in line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Guide {
    /// Station of the guide's middle.
    #[schemars(range(min = 25.0, max = 500.0))]
    pub station_mm: f64,
    /// Length of the guide along the tube.
    #[schemars(range(min = 1.0, max = 20.0))]
    pub length_mm: f64,
    /// Thickness of the strip the guide is bent from.
    #[schemars(range(min = 0.4, max = 3.0))]
    pub strip_thickness_mm: f64,
    /// How far the guide's foot wraps round the tube to each side of the top.
    #[schemars(range(min = 5.0, max = 60.0))]
    pub half_wrap_deg: f64,
    /// Gap between the arm and each prong.
    #[schemars(range(min = 0.05, max = 2.0))]
    pub side_clearance_mm: f64,
    /// Height of the prongs above the arm's upper edge when the key is closed.
    #[schemars(range(min = 0.0, max = 6.0))]
    pub prong_above_arm_mm: f64,
    /// Metal of the strip.
    pub metal: Metal,
}

/// Thin plate on the tube with a name or a mark.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Badge {
    /// Station of the badge's middle.
    #[schemars(range(min = 10.0, max = 500.0))]
    pub station_mm: f64,
    /// Angle of the badge's middle round the tube: 0 on top, positive to the player's left.
    #[schemars(range(min = -180.0, max = 180.0))]
    pub azimuth_deg: f64,
    /// Length of the badge along the tube.
    #[schemars(range(min = 2.0, max = 60.0))]
    pub length_mm: f64,
    /// Width of the badge round the tube, measured along its inner face.
    #[schemars(range(min = 2.0, max = 40.0))]
    pub width_mm: f64,
    /// Thickness of the badge.
    #[schemars(range(min = 0.2, max = 3.0))]
    pub thickness_mm: f64,
    /// Metal of the badge.
    pub metal: Metal,
}

/// Mouthpiece the cork is made for; its shank is kept clear.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Mouthpiece {
    /// Inside diameter of the shank, which is also the outside diameter of the cork.
    #[schemars(range(min = 9.0, max = 30.0))]
    pub shank_bore_mm: f64,
    /// Outside diameter of the shank.
    #[schemars(range(min = 12.0, max = 45.0))]
    pub shank_diameter_mm: f64,
    /// Length of the shank that is kept clear.
    #[schemars(range(min = 5.0, max = 120.0))]
    pub shank_length_mm: f64,
    /// Station the end of the shank reaches when it is pushed on as far as it goes.
    #[schemars(range(min = 5.0, max = 120.0))]
    pub deepest_push_mm: f64,
}

/// What the neck must fit into and clear on the horn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Horn {
    /// Inside diameter of the receiver with the clamp loose.
    #[schemars(range(min = 12.0, max = 46.0))]
    pub receiver_bore_mm: f64,
    /// Outside diameter of the receiver.
    #[schemars(range(min = 13.0, max = 55.0))]
    pub receiver_diameter_mm: f64,
    /// Depth of the receiver from its rim.
    #[schemars(range(min = 8.0, max = 60.0))]
    pub receiver_depth_mm: f64,
    /// Gap between the receiver's rim and the collar's seat.
    #[schemars(range(min = 0.0, max = 3.0))]
    pub rim_gap_mm: f64,
    /// Screw that closes the receiver on the tenon.
    pub clamp: Clamp,
    /// Pin of the horn that moves the loop.
    pub pin: OctavePin,
    /// Straight path to the hinge screw that must stay free.
    pub screwdriver: Screwdriver,
    /// How far the player turns the neck in the receiver to either side of straight.
    #[schemars(range(min = 0.0, max = 45.0))]
    pub neck_turn_deg: f64,
}

/// Clamp of the receiver with its screw.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Clamp {
    /// Angle of the clamp round the tenon: 0 on the bell's side, positive to the player's left, 180 at the player.
    #[schemars(range(min = -180.0, max = 180.0))]
    pub azimuth_deg: f64,
    /// Distance of the screw's axis below the collar's seat.
    #[schemars(range(min = 1.0, max = 40.0))]
    pub below_seat_mm: f64,
    /// Distance of the screw's axis from the axis of the tenon.
    #[schemars(range(min = 8.0, max = 45.0))]
    pub offset_mm: f64,
    /// Diameter that is kept clear round the screw's axis.
    #[schemars(range(min = 2.0, max = 15.0))]
    pub screw_diameter_mm: f64,
    /// Length of the screw from end to end, thumb piece included.
    #[schemars(range(min = 5.0, max = 60.0))]
    pub length_mm: f64,
}

/// The horn's octave pin, which stands inside the loop on the player's side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct OctavePin {
    /// Distance of the pin's axis from the axis of the tenon, at rest.
    #[schemars(range(min = 8.0, max = 40.0))]
    pub circle_radius_mm: f64,
    /// Diameter of the pin.
    #[schemars(range(min = 1.5, max = 10.0))]
    pub diameter_mm: f64,
    /// Height of the pin's top above the collar's seat.
    #[schemars(range(min = 2.0, max = 50.0))]
    pub height_mm: f64,
    /// How far the pin moves outward when the octave key is pressed.
    #[schemars(range(min = 0.5, max = 15.0))]
    pub travel_mm: f64,
    /// Gap between pin and loop at rest.
    #[schemars(range(min = 0.1, max = 3.0))]
    pub rest_gap_mm: f64,
}

/// Straight path along the hinge axis for the screwdriver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Screwdriver {
    /// Diameter of the blade.
    #[schemars(range(min = 1.0, max = 8.0))]
    pub diameter_mm: f64,
    /// Length of the path that is kept clear.
    #[schemars(range(min = 10.0, max = 150.0))]
    pub length_mm: f64,
    /// Distance from the screw's head to the start of the path.
    #[schemars(range(min = 0.1, max = 5.0))]
    pub stand_off_mm: f64,
}

/// Gaps the work is held to. The starting values are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Gap left between soldered or glued parts, square to the joint.
    #[schemars(range(min = 0.01, max = 0.3))]
    pub joint_gap_mm: f64,
    /// Least gap that solder still runs into.
    #[schemars(range(min = 0.0, max = 0.3))]
    pub joint_gap_min_mm: f64,
    /// Greatest gap that solder still fills.
    #[schemars(range(min = 0.01, max = 0.5))]
    pub joint_gap_max_mm: f64,
    /// Least clearance between parts that must not touch.
    #[schemars(range(min = 0.02, max = 3.0))]
    pub least_clearance_mm: f64,
    /// Least gap of a running fit.
    #[schemars(range(min = 0.0, max = 0.2))]
    pub running_min_mm: f64,
    /// Greatest gap of a running fit.
    #[schemars(range(min = 0.005, max = 0.5))]
    pub running_max_mm: f64,
    /// Least gap between tenon and receiver, on the radius, with the clamp loose.
    #[schemars(range(min = 0.0, max = 0.1))]
    pub fit_min_mm: f64,
    /// Greatest gap between tenon and receiver, on the radius, with the clamp loose.
    #[schemars(range(min = 0.002, max = 0.3))]
    pub fit_max_mm: f64,
    /// Temperature at which the filler flows and the joints' gaps matter, degrees Celsius.
    #[schemars(range(min = 150.0, max = 900.0))]
    pub brazing_temperature_c: f64,
}

/// How far a part may stand off its drawn place when it is soldered, to either side. The starting values are common
/// practice, no source: measure what your own hands and jigs hold to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(deny_unknown_fields)]
pub struct Placing {
    /// Off its place along the tube.
    #[schemars(range(min = 0.0, max = 3.0))]
    pub along_mm: f64,
    /// Off its place round the tube, measured on the tube's outside.
    #[schemars(range(min = 0.0, max = 3.0))]
    pub round_mm: f64,
    /// Off its height over the tube.
    #[schemars(range(min = 0.0, max = 2.0))]
    pub height_mm: f64,
}
