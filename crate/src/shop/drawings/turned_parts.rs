//! What is to be said of each turned part.

use glam::DVec2;

use crate::geometry::shape::Turned;
use crate::parts::clear_hole;
use crate::tables::fits::Class;
use crate::units::deg_from_rad;

use super::DrawingError;
use super::page::Page;
use super::sizes::{Size, Units};
use super::turned::{Across, Along, Side, Spec};
use super::views::Profile;

/// Radii of a bore by a table are given that far apart at most, mm.
const TABLE_STEP: f64 = 5.0;
/// Departure from a straight line above which a bore is given by a table, mm.
const STRAIGHT: f64 = 0.002;

/// Slot of a screw's head: width as a share of the shank's diameter, depth as a share of the head's length (common practice,
/// no source).
const SLOT_WIDE: f64 = 0.25;
const SLOT_DEEP: f64 = 0.5;

/// What limits mean that come from ISO 286, and how far they may be trusted.
pub fn limits_note(nominal_mm: f64) -> String {
    if nominal_mm <= 3.0 {
        "Limits: ISO 286-2, for sizes up to 3 mm from memory: check them in your table".into()
    } else {
        "Limits: ISO 286-2".into()
    }
}

/// The list for a part; none for one that is bought or not turned.
pub fn spec(page: &Page<'_>, body: &Turned) -> Option<Result<Spec, DrawingError>> {
    let (profile, shift) = Profile::of(&body.profile);
    let made = match page.part.id {
        "tenon" => tenon(page, profile, shift),
        "end_ring" => end_ring(page, profile),
        "vent" => vent(page, profile),
        "pad_cup" => pad_cup(page, profile),
        "hinge_tube" => hinge_tube(page, profile),
        "hinge_screw" => hinge_screw(page, profile),
        _ => return None,
    };
    Some(made.ok_or(DrawingError::Form(page.part.name)))
}

impl Page<'_> {
    fn words(&self, size: Size) -> String {
        size.words(self.style.units)
    }

    /// A size within a sentence: in one unit, the one that counts.
    pub fn said(&self, size: Size) -> String {
        match self.style.units {
            Units::Inches => size.words(Units::Inches),
            Units::Millimetres | Units::Both => size.words(Units::Millimetres),
        }
    }

    /// A chamfer of 45 degrees.
    pub fn chamfer(&self, width: f64, more: &str) -> String {
        Size::length(width).followed_by(&format!(" \u{D7} 45\u{B0}{more}"), self.style.units)
    }

    /// Limits on the diameter of a hole that something is soldered into, from the least and greatest joint gap.
    fn soldered(&self, diameter: f64) -> Size {
        let limits = &self.job.limits;
        let gap = limits.joint_gap_mm;
        Size::diameter(diameter)
            .within(2.0 * (limits.joint_gap_min_mm - gap), 2.0 * (limits.joint_gap_max_mm - gap))
    }
}

fn empty(profile: Profile) -> Spec {
    Spec {
        profile,
        section: true,
        thread: None,
        across: Vec::new(),
        along: Vec::new(),
        leaders: Vec::new(),
        letters: Vec::new(),
        notes: Vec::new(),
    }
}

fn full(side: Side, x: f64, radius: f64, words: String) -> Across {
    Across { side, x, radius, half: false, words }
}

fn half(side: Side, x: f64, radius: f64, words: String) -> Across {
    Across { side, x, radius, half: true, words }
}

fn lengths(from: DVec2, to: DVec2, words: String) -> Along {
    Along { from, to, words }
}

/// What a bore is between two places: a cone, or a table of diameters.
fn bore(page: &Page<'_>, profile: &Profile, from: f64, to: f64) -> Option<String> {
    let (a, b) = (profile.bore_at(from, true)?, profile.bore_at(to, false)?);
    let straight = |x: f64| a + (b - a) * (x - from) / (to - from);
    let steps = ((to - from) / TABLE_STEP).ceil().clamp(2.0, 40.0);
    // Between 2 and 40.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let rows: Vec<(f64, f64)> = (0..=steps as u32)
        .filter_map(|i| {
            let x = from + (to - from) * f64::from(i) / steps;
            Some((x, profile.bore_at(x, i == 0)?))
        })
        .collect();
    let diameter = |radius: f64| page.said(Size::diameter(2.0 * radius).fine());
    if rows.iter().all(|(x, radius)| (radius - straight(*x)).abs() < STRAIGHT) {
        let half_angle = deg_from_rad(libm::atan2(b - a, to - from));
        if half_angle.abs() < 1e-4 {
            return Some(format!("straight, {}", diameter(a)));
        }
        return Some(format!(
            "cone from {} to {} over {}, half-angle {half_angle:.3}\u{B0}",
            diameter(a),
            diameter(b),
            page.said(Size::length(to - from))
        ));
    }
    let list: Vec<String> = rows
        .iter()
        .map(|(x, radius)| {
            format!("{} at {}", diameter(*radius), page.said(Size::length(x - from)))
        })
        .collect();
    Some(format!("smooth bore through {}", list.join(", ")))
}

fn tenon(page: &Page<'_>, profile: Profile, seat: f64) -> Option<Spec> {
    let given = &page.job.tenon;
    let (collar, sleeve) = (given.collar_diameter_mm / 2.0, given.outer_diameter_mm / 2.0);
    let bottom = *profile.steps().first()?;
    let (mouth, free) = (profile.hole_at(0.0)?, profile.hole_at(profile.length)?);
    let deep = profile.bore_at(bottom, false)?;
    let end = profile.length;
    let edge = profile
        .edges()
        .iter()
        .filter(|edge| edge.outside && (edge.radius - collar).abs() < 1e-6)
        .map(|edge| edge.x)
        .fold(seat, f64::min);
    let socket = bore(page, &profile, 0.0, bottom)?;
    let own = bore(page, &profile, bottom, end)?;
    let middle = |from: f64, to: f64| {
        let x = f64::midpoint(from, to);
        Some(DVec2::new(x, profile.bore_at(x, true)?))
    };
    let letters = vec![(middle(0.0, bottom)?, 'A'), (middle(bottom, end)?, 'B')];
    let length = |mm: f64| page.words(Size::length(mm));
    let mut spec = empty(profile.clone());
    spec.letters = letters;
    spec.across = vec![
        half(Side::Left, 0.0, mouth, page.words(page.soldered(2.0 * mouth))),
        full(Side::Left, edge, collar, page.words(Size::diameter(2.0 * collar))),
        half(Side::Right, end, free, page.words(Size::diameter(2.0 * free))),
        full(
            Side::Right,
            end - given.chamfer_mm,
            sleeve,
            page.words(Size::diameter(2.0 * sleeve).of_class(Class::H6Shaft)),
        ),
    ];
    spec.along = vec![
        lengths(DVec2::new(0.0, mouth), DVec2::new(bottom, deep), length(bottom)),
        lengths(DVec2::new(edge, collar), DVec2::new(seat, collar), length(seat)),
        lengths(DVec2::new(seat, collar), DVec2::new(end, sleeve), length(given.length_mm)),
    ];
    // The collar's length is that of its faces, not from its chamfer.
    if let Some(collar_length) = spec.along.get_mut(1) {
        collar_length.from = DVec2::new(0.0, collar - edge);
    }
    if given.chamfer_mm > 0.0 {
        let at = DVec2::new(end - given.chamfer_mm / 2.0, sleeve - given.chamfer_mm / 2.0);
        spec.leaders.push((at, page.chamfer(given.chamfer_mm, "")));
    }
    if edge > 0.0 {
        let at = DVec2::new(seat - edge / 2.0, collar - edge / 2.0);
        spec.leaders.push((at, page.chamfer(edge, " (2x)")));
    }
    spec.notes = vec![
        format!("A: socket for the tube: {socket}; a soldering gap all round is in it"),
        format!("B: bore: {own}"),
        format!(
            "Fit the sleeve to the measured receiver (bore {} by the order): it turns and slides by hand, without rock, clamp open",
            page.said(Size::diameter(page.job.horn.receiver_bore_mm))
        ),
        limits_note(given.outer_diameter_mm),
    ];
    Some(spec)
}

fn end_ring(page: &Page<'_>, profile: Profile) -> Option<Spec> {
    let given = &page.job.end_ring;
    let (end, outside) = (profile.length, given.bead_diameter_mm / 2.0);
    let (front, back) = (profile.hole_at(0.0)?, profile.hole_at(end)?);
    // The rounding, as long as the bead leaves it, and the edge towards the cork.
    let arc = profile.contour.pieces().filter_map(|piece| Some((piece, piece.arc()?))).last()?;
    let edge = profile.last_outside_edge(outside);
    let mut spec = empty(profile.clone());
    let inside = bore(page, &profile, 0.0, end)?;
    spec.letters = vec![(DVec2::new(end / 2.0, profile.bore_at(end / 2.0, true)?), 'A')];
    spec.across = vec![
        half(Side::Left, 0.0, front, page.words(page.soldered(2.0 * front))),
        half(Side::Right, end, back, page.words(page.soldered(2.0 * back))),
        full(Side::Right, edge, outside, page.words(Size::diameter(2.0 * outside))),
    ];
    spec.along =
        vec![lengths(DVec2::new(0.0, front), DVec2::new(end, back), page.words(Size::length(end)))];
    if end - edge > 1e-6 {
        let at = DVec2::new(f64::midpoint(edge, end), outside - (end - edge) / 2.0);
        spec.leaders.push((at, page.chamfer(end - edge, "")));
    }
    spec.leaders.push((arc.0.point(0.5), page.words(Size::radius(arc.1.radius))));
    spec.notes = vec![
        format!("A: bore to the tube's taper: {inside}; a soldering gap all round is in it"),
        "The rounded end is the cork end of the neck".into(),
    ];
    Some(spec)
}

fn vent(page: &Page<'_>, profile: Profile) -> Option<Spec> {
    let given = &page.job.vent;
    let (end, outside, inside) =
        (profile.length, given.outer_diameter_mm / 2.0, given.bore_mm / 2.0);
    let mut spec = empty(profile);
    spec.across = vec![
        full(Side::Left, 0.0, outside, page.words(Size::diameter(2.0 * outside))),
        half(
            Side::Right,
            end,
            inside,
            page.words(Size::diameter(2.0 * inside).of_class(Class::H8)),
        ),
    ];
    spec.along = vec![lengths(
        DVec2::new(0.0, outside),
        DVec2::new(end, outside - given.chamfer_mm),
        page.words(Size::length(end)),
    )];
    if given.chamfer_mm > 0.0 {
        let half = given.chamfer_mm / 2.0;
        spec.leaders.push((DVec2::new(end - half, outside - half), page.chamfer(2.0 * half, "")));
    }
    spec.notes = vec![
        "The chamfered end is the pad's seat: face it square and smooth, no burr in the bore"
            .into(),
        format!(
            "It is soldered through a hole of {} in the tube",
            page.said(Size::diameter(2.0 * (outside + page.job.limits.joint_gap_mm)))
        ),
        limits_note(given.bore_mm),
    ];
    Some(spec)
}

fn pad_cup(page: &Page<'_>, profile: Profile) -> Option<Spec> {
    let end = profile.length;
    let inside = profile.hole_at(0.0)?;
    let outside = profile.radius;
    let depth = profile
        .edges()
        .iter()
        .filter(|edge| !edge.outside && edge.x > 1e-6)
        .map(|edge| edge.x)
        .fold(0.0, f64::max);
    let edge = profile.last_outside_edge(outside);
    let length = |mm: f64| page.words(Size::length(mm));
    let mut spec = empty(profile);
    spec.across = vec![
        half(Side::Left, 0.0, inside, page.words(Size::diameter(2.0 * inside))),
        full(Side::Right, edge, outside, page.words(Size::diameter(2.0 * outside))),
    ];
    spec.along = vec![
        lengths(DVec2::new(0.0, inside), DVec2::new(depth, inside), length(depth)),
        lengths(DVec2::new(0.0, outside), DVec2::new(end, outside - (end - edge)), length(end)),
    ];
    if end - edge > 1e-6 {
        let at = DVec2::new(f64::midpoint(edge, end), outside - (end - edge) / 2.0);
        spec.leaders.push((at, page.chamfer(end - edge, "")));
    }
    spec.notes = vec![format!(
        "Takes a pad {} thick and {} wide, with room for what it is set with",
        page.said(Size::length(page.job.pad.thickness_mm)),
        page.said(Size::diameter(page.job.pad.diameter_mm))
    )];
    Some(spec)
}

fn hinge_tube(page: &Page<'_>, profile: Profile) -> Option<Spec> {
    let given = &page.job.hinge;
    let (end, outside) = (profile.length, given.tube_outer_diameter_mm / 2.0);
    let inside = clear_hole(page.job);
    let bored = Size::diameter(2.0 * inside).of_class(Class::H7);
    let mut spec = empty(profile);
    spec.across = vec![
        half(Side::Left, 0.0, inside, page.words(bored)),
        full(Side::Right, end, outside, page.words(Size::diameter(2.0 * outside))),
    ];
    spec.along = vec![lengths(
        DVec2::new(0.0, outside),
        DVec2::new(end, outside),
        page.words(Size::length(end).of_class(Class::H7Shaft)),
    )];
    let play = page.said(Size::length(given.end_play_mm));
    spec.notes = vec![
        "From tubing or bar; ream the bore, face both ends square to it".into(),
        format!(
            "Runs on the hinge screw, {} h6; {play} of end play at each end",
            page.said(Size::diameter(given.screw_diameter_mm))
        ),
        limits_note(2.0 * inside),
    ];
    Some(spec)
}

fn hinge_screw(page: &Page<'_>, mut profile: Profile) -> Option<Spec> {
    let given = &page.job.hinge;
    let thread = given.thread;
    // The body is modelled under the tap drill, so that thread is no overlap; drawn is the thread's own diameter.
    let modelled = profile.screw_end()?;
    let major = thread.major_diameter_mm() / 2.0;
    for vertex in &mut profile.contour.vertices {
        if vertex.at.x >= modelled.start - 1e-6 && vertex.at.y > 0.0 {
            let grown = vertex.at.y + major - modelled.radius;
            if (vertex.at.y - given.screw_diameter_mm / 2.0).abs() > 1e-9 {
                vertex.at.y = grown;
            }
        }
    }
    let (end, head) = (profile.length, given.head_diameter_mm / 2.0);
    let bearing = given.head_length_mm;
    let plain = given.screw_diameter_mm / 2.0;
    let start = modelled.start;
    // ISO 724, ASME B1.1: the root of an external thread, basic, 1.0825 pitches under the major diameter.
    let root = major - 1.082_5 / 2.0 * thread.pitch_mm();
    let length = |mm: f64| page.words(Size::length(mm));
    let head_edge = profile
        .edges()
        .iter()
        .filter(|edge| (edge.radius - head).abs() < 1e-6)
        .map(|edge| edge.x)
        .fold(bearing, f64::min);
    let at_end = profile.contour.vertices.iter().filter(|vertex| (vertex.at.x - end).abs() < 1e-6);
    let tip = at_end.map(|vertex| vertex.at.y).fold(0.0, f64::max);
    let point = if end - modelled.point > 1e-6 {
        format!(
            "; point a cone {} long to {}",
            page.said(Size::length(end - modelled.point)),
            page.said(Size::diameter(2.0 * tip))
        )
    } else {
        String::new()
    };
    let tenth = |mm: f64| Size::length((10.0 * mm).round() / 10.0);
    let mut spec = empty(profile);
    spec.section = false;
    spec.thread = Some((start, modelled.point, root));
    spec.across = vec![full(Side::Left, head_edge, head, page.words(Size::diameter(2.0 * head)))];
    spec.along = vec![
        lengths(DVec2::new(0.0, head - head_edge), DVec2::new(bearing, head), length(bearing)),
        lengths(DVec2::new(start, major), DVec2::new(end, major), length(end - start)),
        lengths(DVec2::new(bearing, head), DVec2::new(end, major), length(end - bearing)),
    ];
    spec.leaders = vec![
        (
            DVec2::new(f64::midpoint(start, modelled.point), major),
            thread_words(thread.name(), thread.pitch_mm()),
        ),
        (
            DVec2::new(f64::midpoint(bearing, start), plain),
            page.words(Size::diameter(2.0 * plain).of_class(Class::H6Shaft)),
        ),
    ];
    if head_edge > 1e-6 {
        let half = head_edge / 2.0;
        spec.leaders.push((DVec2::new(half, head - half), page.chamfer(head_edge, "")));
    }
    spec.notes = vec![
        format!(
            "Thread {}: major diameter {}, pitch {}{point}",
            thread.name(),
            page.said(Size::diameter(2.0 * major)),
            page.said(Size::length(thread.pitch_mm()).fine())
        ),
        format!(
            "Slot across the head, {} wide and {} deep, unless the maker names a screwdriver",
            page.said(tenth(SLOT_WIDE * given.screw_diameter_mm)),
            page.said(tenth(SLOT_DEEP * given.head_length_mm))
        ),
        limits_note(2.0 * plain),
    ];
    Some(spec)
}

/// A thread as it stands at its leader.
pub fn thread_words(name: &str, pitch_mm: f64) -> String {
    if name.starts_with('M') {
        format!("{name} \u{D7} {pitch_mm} - 6g")
    } else {
        format!("{name} UNC-2A")
    }
}
