//! How every soldered and glued joint stands: gap over all of it, area, lap, and what heat does.

use std::f64::consts::PI;

use glam::{DVec2, DVec3};
use serde::Serialize;

use crate::checks::facing::{Cut, Facing, FacingPiece, facing};
use crate::checks::relations::JOINTS;
use crate::checks::surface_samples::SurfaceSamples;
use crate::geometry::centreline::Centreline;
use crate::geometry::distance::DistanceField;
use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::geometry::shape::Shape;
use crate::job::Job;
use crate::job::parameters::BraceForm;
use crate::parts::{Assembly, Part};
use crate::tables::physical::physical;

use super::{Finding, rounded};

/// Surfaces farther apart than this many times the greatest gap of a joint are no part of it:
/// solder does not bridge so far (common practice, no source).
const BRIDGED: f64 = 2.0;

/// Lap of a joint in thicknesses of its thinner member (AWS C3.1 of 1963, a round robin of some
/// 1200 specimens, as reported in "Braze joint design: how much overlap is enough", read).
const LAP_THICKNESSES: f64 = 3.0;

/// A joint smaller than this holds nothing, mm² (common practice, no source).
const LEAST_AREA: f64 = 1.0;

/// Temperature of the workshop, degrees Celsius.
const ROOM_C: f64 = 20.0;

/// Of a sleeve, only what faces across its axis counts as lap, not the bottom of a socket:
/// greatest cosine between normal and axis.
const ACROSS: f64 = 0.5;

/// Pieces of a strip this far apart along the tube belong to two feet, mm.
const BETWEEN_FEET: f64 = 0.1;

/// What a joint is like: decides its lap and how it opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// All round the tube.
    Sleeve,
    /// A patch on the tube.
    Patch,
    /// The brace, in contact throughout or by two feet.
    Brace,
    /// A turned part in a hole.
    Pin,
    /// A post on the saddle it is coped to.
    Coped,
    /// Laid on a face of the arm that it leaves towards its border.
    Laid,
    /// A round rod laid along a flat.
    Rod,
    /// Glued: no heat, no lap.
    Glued,
}

impl Form {
    /// By the id of the second part of the pair, as [`JOINTS`] names it.
    fn of(second: &str) -> Self {
        match second {
            "tenon" | "end_ring" => Self::Sleeve,
            "brace" => Self::Brace,
            "saddle" | "guide" | "badge" => Self::Patch,
            "vent" | "hinge_tube" => Self::Pin,
            "cork" | "pad" => Self::Glued,
            "rod_loop" => Self::Rod,
            "pad_cup" | "spring" => Self::Laid,
            _ => Self::Coped,
        }
    }
}

/// A part with what its joints are measured by.
#[derive(Clone, Copy, Debug)]
pub struct JointBody<'a> {
    pub part: &'a Part,
    pub field: &'a DistanceField,
    pub samples: &'a SurfaceSamples,
}

/// A measured joint, free of what is asked of it.
#[derive(Clone, Debug)]
pub struct Joint {
    a: &'static str,
    b: &'static str,
    form: Form,
    pieces: Vec<Piece>,
    laps: Vec<Lap>,
}

/// A piece of a joint: its middle, then its corners.
#[derive(Clone, Copy, Debug)]
struct Piece {
    area: f64,
    spots: [Spot; 4],
}

/// A point of a joint.
#[derive(Clone, Copy, Debug)]
struct Spot {
    place: DVec3,
    gap: f64,
    /// By how much the gap changes for a difference of strain of 1, mm: the radius the joint
    /// lies at, as far as the gap is square to the axis. 0 of a flat joint.
    opens: f64,
}

impl Spot {
    /// The gap while the outer part has grown by `strain` more than the inner one.
    fn at(&self, strain: f64) -> f64 {
        self.gap + self.opens * strain
    }
}

/// How far the parts overlap in a joint, or in one foot of it. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lap {
    /// First and last station; of a part that does not lie round the tube, lengths.
    from: f64,
    to: f64,
    /// Extent across; none of a sleeve, which is closed.
    across: Option<f64>,
}

impl Lap {
    fn along(&self) -> f64 {
        self.to - self.from
    }

    fn longest(&self) -> f64 {
        self.across.map_or(self.along(), |across| across.max(self.along()))
    }

    fn least(&self) -> f64 {
        self.across.map_or(self.along(), |across| across.min(self.along()))
    }
}

/// Pairs that are soldered or glued, by their ids.
#[must_use]
pub fn joint_pairs() -> &'static [(&'static str, &'static str)] {
    &JOINTS
}

/// Surfaces up to this gap belong to a joint, by the job's limits, mm.
#[must_use]
pub fn bridged_gap(job: &Job) -> f64 {
    BRIDGED * job.limits.joint_gap_max_mm
}

impl Joint {
    /// Measures the joint of two parts in the order of [`joint_pairs`]; `reach` is the greatest
    /// gap that belongs to it.
    ///
    /// It is measured on the surface of the second part, the smaller one, whose edges are its
    /// border; only the hinge tube is longer than the hole it sits in.
    #[must_use]
    pub fn measure(a: &JointBody<'_>, b: &JointBody<'_>, neck: &Neck, reach: f64) -> Self {
        Self::measure_finely(a, b, neck, reach, &Cut::LIST)
    }

    fn measure_finely(
        a: &JointBody<'_>,
        b: &JointBody<'_>,
        neck: &Neck,
        reach: f64,
        cut: &Cut,
    ) -> Self {
        let form = Form::of(b.part.id);
        let (walked, asked) = if b.part.id == "hinge_tube" { (a, b) } else { (b, a) };
        let found = facing(walked.samples, asked.field, reach, cut);
        let about = About::of(form, &b.part.shape, &neck.centreline);
        let pieces = found.iter().map(|piece| Piece::of(piece, &about)).collect();
        let laps = match form {
            Form::Sleeve => sleeve_lap(&found, &about).into_iter().collect(),
            Form::Patch | Form::Brace => feet(&found, &about),
            Form::Pin => pin_lap(&found, &about).into_iter().collect(),
            Form::Coped | Form::Laid | Form::Rod => flat_laps(&found),
            Form::Glued => Vec::new(),
        };
        Self { a: a.part.id, b: b.part.id, form, pieces, laps }
    }

    /// mm²
    fn area(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.area).sum()
    }

    fn spots(&self) -> impl Iterator<Item = &Spot> {
        self.pieces.iter().flat_map(|piece| &piece.spots)
    }

    /// Mean over the area while the outer part has grown by `strain` more than the inner one.
    fn mean(&self, strain: f64) -> f64 {
        let gaps = self.pieces.iter().map(|piece| piece.mean(strain) * piece.area);
        gaps.sum::<f64>() / self.area()
    }

    fn least(&self, strain: f64) -> f64 {
        self.spots().map(|spot| spot.at(strain)).fold(f64::INFINITY, f64::min)
    }

    fn greatest(&self, strain: f64) -> f64 {
        self.spots().map(|spot| spot.at(strain)).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Area where the gap is not within limits, mm².
    fn area_outside(&self, least: f64, greatest: f64) -> f64 {
        let outside = |piece: &&Piece| !(least..=greatest).contains(&piece.mean(0.0));
        self.pieces.iter().filter(outside).map(|piece| piece.area).sum()
    }

    /// The place that is farthest outside of the limits, or nearest to leaving them.
    fn worst(&self, least: f64, greatest: f64) -> Option<DVec3> {
        let over = |spot: &Spot| (least - spot.gap).max(spot.gap - greatest);
        self.spots().max_by(|a, b| over(a).total_cmp(&over(b))).map(|spot| spot.place)
    }

    /// The heat's difference of strain: outer part less inner part, and half the spread of the
    /// sources.
    fn strain(&self, assembly: &Assembly, rise_k: f64) -> Option<(f64, f64)> {
        let of = |id| physical(assembly.part(id)?.metal?);
        let (a, b) = (of(self.a)?, of(self.b)?);
        // What is soldered on the tube lies outside of it; a pin is the inner one of the two.
        let (outer, inner) = if self.form == Form::Pin { (a, b) } else { (b, a) };
        let spread = |row: (f64, f64)| (row.1 - row.0) / 2.0 * 1e-6;
        let sources = spread(outer.expansion_um_m_k) + spread(inner.expansion_um_m_k);
        let difference = outer.expansion_per_k() - inner.expansion_per_k();
        Some((difference * rise_k, sources * rise_k))
    }
}

impl Piece {
    fn of(piece: &FacingPiece, about: &About<'_>) -> Self {
        let spot = |facing: &Facing| {
            // The way across the gap; where the parts touch there is none.
            let way = (facing.foot - facing.place).try_normalize().unwrap_or(piece.normal);
            let opens = about.place(facing.place).opens(way);
            Spot { place: facing.place, gap: facing.gap, opens }
        };
        let [a, b, c] = &piece.corners;
        Self { area: piece.area, spots: [spot(&piece.middle), spot(a), spot(b), spot(c)] }
    }

    /// Mean gap: middle three quarters, corners the rest, exact for a gap of second degree.
    fn mean(&self, strain: f64) -> f64 {
        let [middle, a, b, c] = self.spots.map(|spot| spot.at(strain));
        0.75 * middle + 0.25 * (a + b + c) / 3.0
    }
}

/// What a joint lies round.
enum About<'a> {
    Tube(&'a Centreline),
    Axis(Frame),
    Nothing,
}

/// A point by the axis it lies round.
#[derive(Clone, Copy)]
struct Place {
    /// Station, or length along the axis.
    along: f64,
    axis: DVec3,
    /// From the axis to the point.
    spoke: DVec3,
    /// The spoke's part along two directions square to the axis.
    section: DVec2,
}

impl<'a> About<'a> {
    fn of(form: Form, second: &Shape, centreline: &'a Centreline) -> Self {
        match (form, second) {
            (Form::Sleeve | Form::Patch | Form::Brace, _) => Self::Tube(centreline),
            (Form::Pin, Shape::Turned(turned)) => Self::Axis(turned.axis),
            _ => Self::Nothing,
        }
    }

    fn place(&self, point: DVec3) -> Place {
        let (along, origin, axis, [x, y]) = match self {
            Self::Tube(centreline) => {
                let station = centreline.nearest_station(point);
                let at = centreline.at(station);
                (station, at.centre, at.tangent, [at.up, DVec3::Y])
            }
            Self::Axis(frame) => {
                ((point - frame.origin).dot(frame.z), frame.origin, frame.z, [frame.x, frame.y])
            }
            Self::Nothing => (0.0, point, DVec3::ZERO, [DVec3::ZERO; 2]),
        };
        let spoke = point - origin;
        let spoke = spoke - axis * spoke.dot(axis);
        Place { along, axis, spoke, section: DVec2::new(spoke.dot(x), spoke.dot(y)) }
    }
}

impl Place {
    /// How much a gap across this unit direction opens for a strain of 1.
    fn opens(&self, way: DVec3) -> f64 {
        self.spoke.dot(way).abs()
    }
}

/// Lap of a joint that is closed round its axis.
fn sleeve_lap(found: &[FacingPiece], about: &About<'_>) -> Option<Lap> {
    let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
    for piece in found {
        if about.place(piece.middle.place).axis.dot(piece.normal).abs() < ACROSS {
            for corner in &piece.corners {
                let along = about.place(corner.place).along;
                (from, to) = (from.min(along), to.max(along));
            }
        }
    }
    (to > from).then_some(Lap { from, to, across: None })
}

/// The feet of a strip, each with its lap.
fn feet(found: &[FacingPiece], about: &About<'_>) -> Vec<Lap> {
    let mut rows: Vec<([Place; 3], f64)> = found
        .iter()
        .map(|piece| (piece.corners.map(|corner| about.place(corner.place)), piece.area))
        .collect();
    let ends = |places: &[Place; 3]| {
        let along = places.map(|place| place.along);
        (along.into_iter().fold(f64::INFINITY, f64::min), along.into_iter().fold(0.0, f64::max))
    };
    rows.sort_by(|a, b| ends(&a.0).0.total_cmp(&ends(&b.0).0));
    let mut feet = Vec::new();
    let mut rest = rows.as_slice();
    while let Some((first, _)) = rest.first() {
        let (from, mut to) = ends(first);
        let mut count = 0;
        for (places, _) in rest {
            let (start, end) = ends(places);
            if start > to + BETWEEN_FEET {
                break;
            }
            to = to.max(end);
            count += 1;
        }
        let (foot, others) = rest.split_at(count);
        feet.push(Lap { from, to, across: Some(round_tube(foot)) });
        rest = others;
    }
    feet
}

/// Extent of a foot round the tube, mm: each point's angle times its own radius, for a strip of
/// one width takes less angle where the tube is wider.
fn round_tube(foot: &[([Place; 3], f64)]) -> f64 {
    let all =
        || foot.iter().flat_map(|(places, area)| places.iter().map(move |p| (p.section, *area)));
    // Angles are taken from the foot's middle, so that the cut of the full turn lies opposite.
    let middle = all().map(|(section, area)| section.normalize_or_zero() * area).sum::<DVec2>();
    let (low, high) = all()
        .map(|(section, _)| {
            libm::atan2(middle.perp_dot(section), middle.dot(section)) * section.length()
        })
        .fold((0.0_f64, 0.0_f64), |(low, high), arc| (low.min(arc), high.max(arc)));
    high - low
}

/// Mean length of a hole that is filled: area over circumference.
fn pin_lap(found: &[FacingPiece], about: &About<'_>) -> Option<Lap> {
    let area: f64 = found.iter().map(|piece| piece.area).sum();
    let radii =
        found.iter().map(|piece| about.place(piece.middle.place).spoke.length() * piece.area);
    let radius = radii.sum::<f64>() / area;
    (radius > 0.0).then(|| Lap { from: 0.0, to: area / (2.0 * PI * radius), across: None })
}

/// Laps of a flat joint: one for each side it lies on, for the rod's two ends lie on the two faces
/// of the arm.
fn flat_laps(found: &[FacingPiece]) -> Vec<Lap> {
    let Some(first) = found.first() else { return Vec::new() };
    let (one, other): (Vec<FacingPiece>, Vec<FacingPiece>) =
        found.iter().partition(|piece| piece.normal.dot(first.normal) > 0.0);
    [one, other].iter().filter_map(|side| flat_lap(side)).collect()
}

/// Extents of a flat joint along the main axes of its area.
fn flat_lap(found: &[FacingPiece]) -> Option<Lap> {
    let normal =
        found.iter().map(|piece| piece.normal * piece.area).sum::<DVec3>().try_normalize()?;
    let (x, y) = normal.any_orthonormal_pair();
    let flat = |place: DVec3| DVec2::new(place.dot(x), place.dot(y));
    let area: f64 = found.iter().map(|piece| piece.area).sum();
    let weighed = |piece: &FacingPiece| flat(piece.middle.place) * piece.area;
    let middle = found.iter().map(weighed).sum::<DVec2>() / area;
    let (mut both, mut difference) = (0.0, 0.0);
    for piece in found {
        let arm = flat(piece.middle.place) - middle;
        both += 2.0 * arm.x * arm.y * piece.area;
        difference += (arm.x * arm.x - arm.y * arm.y) * piece.area;
    }
    let turn = libm::atan2(both, difference) / 2.0;
    let (sin, cos) = libm::sincos(turn);
    let span = |direction: DVec2| {
        let spots = found.iter().flat_map(|piece| piece.corners);
        let (low, high) = spots
            .map(|spot| flat(spot.place).dot(direction))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |all, x| (all.0.min(x), all.1.max(x)));
        high - low
    };
    let (long, wide) = (span(DVec2::new(cos, sin)), span(DVec2::new(-sin, cos)));
    Some(Lap { from: 0.0, to: long, across: Some(wide) })
}

/// How one joint stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct JointFinding {
    pub a: String,
    pub b: String,
    /// Where the gap is farthest outside of its limits, or nearest to leaving them; `null`
    /// where there is no joint.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "[number, number, number] | null"))]
    pub worst_point_mm: Option<[f64; 3]>,
    /// Gap, area, lap, and gap at brazing heat.
    pub numbers: Vec<Finding>,
}

/// What there is to say of a measured joint, by the limits and metals of the job.
#[must_use]
pub fn finding(job: &Job, assembly: &Assembly, joint: &Joint) -> JointFinding {
    let limits = &job.limits;
    let (least, greatest) = (limits.joint_gap_min_mm, limits.joint_gap_max_mm);
    let heat = (joint.form != Form::Glued)
        .then(|| joint.strain(assembly, limits.brazing_temperature_c - ROOM_C))
        .flatten();
    let opens = matches!(joint.form, Form::Sleeve | Form::Patch | Form::Brace | Form::Pin);
    let mut numbers = cold(joint, job, opens && heat.is_some());
    numbers.extend(laps(joint, job, &assembly.neck));
    numbers.extend(heat.into_iter().flat_map(|(strain, spread)| {
        if opens { hot(joint, job, strain, spread) } else { vec![slide(joint, job, strain)] }
    }));
    let worst = joint.worst(least, greatest).map(|place| place.to_array().map(rounded));
    JointFinding { a: joint.a.to_string(), b: joint.b.to_string(), worst_point_mm: worst, numbers }
}

/// Gap and area as the parts lie before heat.
fn cold(joint: &Joint, job: &Job, judged_hot: bool) -> Vec<Finding> {
    let (least, greatest) = (job.limits.joint_gap_min_mm, job.limits.joint_gap_max_mm);
    let area = Finding::new(
        "area",
        "area of the joint",
        joint.area(),
        "mm²",
        &format!(
            "All surface that faces the other part across no more than {} mm, twice the greatest gap: farther off solder does not bridge. No joint under 1 mm² holds (both common practice, no source).",
            rounded(bridged_gap(job))
        ),
    )
    .at_least(LEAST_AREA);
    if joint.pieces.is_empty() {
        let why = "Not known: nowhere are the two parts near enough.";
        return vec![area, Finding::unknown("gap_mean", "mean gap", "mm", why)];
    }
    let mut why = if judged_hot {
        "Cold, over the whole joint. Limits are meant at brazing heat, see there.".to_string()
    } else {
        "Over the whole joint, against the limits of a joint's gap in the job; heat does not open it.".to_string()
    };
    let judged = (!judged_hot).then(|| Upper::of(joint.form, job));
    why.push_str(judged.map_or("", Upper::reason));
    let [low, high, mean] = gaps(joint, job, 0.0, &COLD, judged, &why);
    let outside = Finding::new(
        "area_outside",
        "area where the gap is outside of its limits, cold",
        joint.area_outside(least, greatest),
        "mm²",
        "By the limits of a joint's gap in the job.",
    );
    vec![low, high, mean, area, outside]
}

/// Lap beside three times the thinner member.
fn laps(joint: &Joint, job: &Job, neck: &Neck) -> Vec<Finding> {
    let thin = second_thickness(joint.b, job, neck).map(|second| second.min(neck.wall));
    let one = |lap: &Lap| {
        let what = match (joint.form, lap.across) {
            (Form::Patch | Form::Brace, Some(round)) => format!(
                "lap at stations {:.1} to {:.1}: the lesser of {:.1} mm along the tube and {round:.1} mm round it",
                lap.from,
                lap.to,
                lap.along()
            ),
            (_, Some(across)) => {
                format!("lap: the lesser of {:.1} mm and {across:.1} mm across", lap.along())
            }
            (Form::Sleeve, None) => "lap along the tube".to_string(),
            (_, None) => "lap along the hole, mean".to_string(),
        };
        match thin {
            Some(thin) => Finding::new(
                "lap",
                &what,
                lap.least(),
                "mm",
                &format!(
                    "Three times the thinner member, here {thin:.2} mm (AWS C3.1 of 1963, as reported; read). Of a turned ring its thickest place is taken."
                ),
            )
            .at_least(LAP_THICKNESSES * thin),
            None => Finding::new(
                "lap",
                &what,
                lap.least(),
                "mm",
                "Parts like these cannot lap by three times their thickness: nothing is asked.",
            ),
        }
    };
    joint.laps.iter().map(one).collect()
}

/// Thickness of what is soldered on the tube with a lap, mm: of a turned part where it is
/// thickest.
fn second_thickness(id: &str, job: &Job, neck: &Neck) -> Option<f64> {
    let over = |outside: f64, station: f64| {
        outside / 2.0 - neck.outside(station) - job.limits.joint_gap_mm
    };
    match id {
        "tenon" => {
            let collar = job.tenon.length_mm + job.tenon.collar_length_mm;
            Some(over(job.tenon.collar_diameter_mm, neck.centreline.length() - collar))
        }
        "end_ring" => Some(over(job.end_ring.bead_diameter_mm, 0.0)),
        "brace" => Some(job.brace.thickness_mm),
        "saddle" => Some(job.saddle.thickness_mm),
        "guide" => Some(job.guide.strip_thickness_mm),
        "badge" => job.badge.map(|badge| badge.thickness_mm),
        _ => None,
    }
}

/// The gap at brazing heat of a joint that lies round an axis.
fn hot(joint: &Joint, job: &Job, strain: f64, spread: f64) -> Vec<Finding> {
    let limits = &job.limits;
    if joint.pieces.is_empty() {
        return Vec::new();
    }
    let radius = joint.spots().map(|spot| spot.opens).fold(0.0, f64::max);
    let judged = Upper::of(joint.form, job);
    let why = format!(
        "At {} °C: cold gap and radius x difference of expansion x rise of temperature, up to {:+.3} mm here. An estimate: what the sources give for the metals differs by ±{:.3} mm, and expansion grows with heat.{}{}",
        limits.brazing_temperature_c,
        radius * strain,
        radius * spread,
        if matches!(joint.form, Form::Patch | Form::Brace) { HELD } else { "" },
        judged.reason(),
    );
    gaps(joint, job, strain, &HOT, Some(judged), &why).into()
}

/// Of what lies on one side of the tube only.
const HELD: &str = " The part is taken to stay where it was held about the tube's axis; one that is wired down follows the tube, and its gap stays nearer to the cold one.";

/// Ids and words of least, greatest and mean gap.
type Names = [(&'static str, &'static str); 3];

const COLD: Names = [
    ("gap_least", "least gap, cold"),
    ("gap_greatest", "greatest gap, cold"),
    ("gap_mean", "mean gap, cold"),
];
const HOT: Names = [
    ("hot_gap_least", "least gap at brazing heat"),
    ("hot_gap_greatest", "greatest gap at brazing heat"),
    ("hot_gap_mean", "mean gap at brazing heat"),
];

/// What of a joint's gap is held to the greatest that solder fills.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Upper {
    Greatest,
    /// The parts leave each other by and by, so at the border the gap is as wide as was looked.
    Mean,
    /// A round rod leaves a flat to both sides all along.
    Nothing,
}

impl Upper {
    fn of(form: Form, job: &Job) -> Self {
        match form {
            Form::Laid => Self::Mean,
            Form::Brace if job.brace.form == BraceForm::Bridge => Self::Mean,
            Form::Rod => Self::Nothing,
            _ => Self::Greatest,
        }
    }

    fn reason(self) -> &'static str {
        match self {
            Self::Greatest => "",
            Self::Mean => {
                " The parts leave each other by and by at the border, so of the upper limit the mean is asked."
            }
            Self::Nothing => {
                " A round rod leaves a flat to both sides, so no greatest gap is asked: the fillet fills it."
            }
        }
    }
}

/// Least, greatest and mean gap while the outer part has grown by `strain` more than the inner.
fn gaps(
    joint: &Joint,
    job: &Job,
    strain: f64,
    names: &Names,
    judged: Option<Upper>,
    why: &str,
) -> [Finding; 3] {
    let (least, greatest) = (job.limits.joint_gap_min_mm, job.limits.joint_gap_max_mm);
    let values = [joint.least(strain), joint.greatest(strain), joint.mean(strain)];
    let row = |i: usize| Finding::new(names[i].0, names[i].1, values[i], "mm", why);
    let [low, high, mean] = [row(0), row(1), row(2)];
    match judged {
        None => [low, high, mean],
        Some(Upper::Greatest) => [low.at_least(least), high.at_most(greatest), mean],
        Some(Upper::Mean) => [low.at_least(least), high, mean.at_most(greatest)],
        Some(Upper::Nothing) => [low.at_least(least), high, mean],
    }
}

/// How far flat parts slide on each other while they are heated.
fn slide(joint: &Joint, job: &Job, strain: f64) -> Finding {
    let length = joint.laps.iter().map(Lap::longest).fold(0.0, f64::max);
    Finding::new(
        "slide",
        "slide of the two parts on each other up to brazing heat",
        length * strain.abs(),
        "mm",
        &format!(
            "Over the joint's whole length of {length:.1} mm, up to {} °C: length x difference of expansion x rise of temperature. A flat joint does not open by it.",
            job.limits.brazing_temperature_c
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::build_from_text;
    use crate::solids::build;
    use crate::solids::mesh::mesh;

    const ALTO: &str = include_str!("../../../../examples/jobs/alto.json");

    /// Every joint of the alto, cut as given.
    fn joints(cut: &Cut) -> Vec<Joint> {
        let placed = build_from_text(ALTO).expect("the alto builds");
        let bodies: Vec<(&Part, DistanceField, SurfaceSamples)> = placed
            .assembly
            .parts
            .iter()
            .map(|part| {
                let solid = build(&part.shape).expect("a solid");
                let first = mesh(&solid, 0.1).expect("triangles");
                let samples = SurfaceSamples::new(&solid, &first).expect("samples");
                (part, DistanceField::new(&part.shape), samples)
            })
            .collect();
        let find = |id: &str| {
            let (part, field, samples) = bodies.iter().find(|(part, ..)| part.id == id)?;
            Some(JointBody { part, field, samples })
        };
        let reach = bridged_gap(&placed.job);
        joint_pairs()
            .iter()
            .filter_map(|(a, b)| {
                let neck = &placed.assembly.neck;
                Some(Joint::measure_finely(&find(a)?, &find(b)?, neck, reach, cut))
            })
            .collect()
    }

    /// The sampling is fine enough: half of it finds the same area and mean gap within 1 %, and
    /// the same lap within 0.05 mm.
    #[test]
    fn half_the_sampling_finds_the_same() {
        let Cut { coarse, fine, bend } = Cut::LIST;
        let half = Cut { coarse: coarse / 2.0, fine: fine / 2.0, bend: bend / 2.0 };
        let (rough, finer) = (joints(&Cut::LIST), joints(&half));
        assert!(rough.len() >= 13, "{}", rough.len());
        for (rough, finer) in rough.iter().zip(&finer) {
            let name = format!("{} and {}", rough.a, rough.b);
            assert!((rough.area() / finer.area() - 1.0).abs() < 0.01, "{name}");
            assert!((rough.mean(0.0) / finer.mean(0.0) - 1.0).abs() < 0.01, "{name}");
            assert_eq!(rough.laps.len(), finer.laps.len(), "{name}");
            for (a, b) in rough.laps.iter().zip(&finer.laps) {
                assert!((a.least() - b.least()).abs() < 0.05, "{name}: {a:?}, {b:?}");
            }
        }
    }
}
