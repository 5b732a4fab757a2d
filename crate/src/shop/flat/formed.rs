//! Parts formed on the tube from a flat blank: saddle, brace, badge and guide.

use glam::DVec2;

use crate::geometry::arc_fit::fitted;
use crate::geometry::contour::{Contour, Vertex};
use crate::geometry::neck::Neck;
use crate::geometry::shape::{SectionPoint, Sweep};
use crate::job::Job;
use crate::job::parameters::BraceForm;
use crate::parts::{brace_rise, post_spread};

use super::developed::{Developed, FIT};
use super::findings::{CuttingFinding, Question};
use super::layout::{Layout, trimmed};
use super::limits::CuttingLimits;
use super::strokes::{lettering, width};

/// Length of the marks at an edge, mm.
const TICK: f64 = 1.0;
/// Room between the pieces of one part, mm.
const BETWEEN: f64 = 6.0;
/// Share of a strip's width that its letters take at most.
const LETTER_SHARE: f64 = 0.5;
/// Tallest letters, mm.
const TALLEST: f64 = 4.0;
/// Stretch below which the metal need not be told of.
const NO_STRETCH: f64 = 0.002;

/// The blank of a patch, with what must be said of every blank.
fn blank(flat: &Developed<'_>) -> Layout {
    let (outline, fit) = flat.outline();
    let (middle, edge) = flat.formed_lengths;
    let mut remarks = vec![
        "Seen from outside, the tenon to the right".into(),
        format!(
            "Bend allowance: laid flat at the neutral surface, {} of the thickness from the inside (DIN 6935, from memory)",
            trimmed(flat.share)
        ),
    ];
    let stretch = (edge - middle).abs() / flat.length();
    if stretch > NO_STRETCH {
        remarks.push(format!(
            "On the bend no blank is exact: formed, its middle is {middle:.2} mm long and its edges {edge:.2} mm ({:.1} %); the blank has the mean",
            stretch * 100.0
        ));
    }
    Layout {
        thickness: flat.thickness,
        outlines: vec![outline],
        neutral_share: Some(flat.share),
        fit,
        remarks,
        ..Layout::default()
    }
}

/// A cross at a place.
fn cross(at: DVec2) -> [Contour; 2] {
    [DVec2::new(TICK, 0.0), DVec2::new(0.0, TICK)].map(|way| Contour::line(at - way, at + way))
}

/// The middle of both ends, to lay the blank on the tube's middle line by.
fn middle_ticks(flat: &Developed<'_>) -> [Contour; 2] {
    let end = DVec2::new(flat.length(), 0.0);
    let way = DVec2::new(TICK, 0.0);
    [Contour::line(DVec2::ZERO, way), Contour::line(end - way, end)]
}

/// The saddle, with the places of the posts.
pub fn saddle(job: &Job, sweep: &Sweep) -> Option<Layout> {
    let flat = Developed::new(sweep)?;
    let mut layout = blank(&flat);
    layout.lines.extend(middle_ticks(&flat));
    // The posts' axes stand beside the plane of the bend, where they meet the saddle's outside.
    let station = job.saddle.station_mm;
    let outside = sweep.points.get(2)?.radius.at(&sweep.neck, station).value;
    let azimuth = libm::asin((post_spread(job) / outside).min(1.0));
    for side in [-1.0, 1.0] {
        layout.lines.extend(cross(flat.at(station, side * azimuth)));
    }
    layout.remarks.push("Crosses: the middle of each post's foot".into());
    Some(layout)
}

/// The badge.
pub fn badge(sweep: &Sweep) -> Option<Layout> {
    let flat = Developed::new(sweep)?;
    let mut layout = blank(&flat);
    layout.lines.extend(middle_ticks(&flat));
    Some(layout)
}

/// The brace, with its serial number.
pub fn brace(job: &Job, sweep: &Sweep, limits: &CuttingLimits) -> Option<Layout> {
    let flat = Developed::new(sweep)?;
    let mut layout = blank(&flat);
    layout.lines.extend(middle_ticks(&flat));
    let given = &job.brace;
    let mut room = (0.0, flat.length());
    if given.form == BraceForm::Bridge {
        let (foot, rise) = (given.foot_length_mm, brace_rise(job));
        let (from, to) = (given.from_station_mm, given.to_station_mm);
        for station in [from + foot, from + foot + rise, to - foot - rise, to - foot] {
            let (along, half) = (flat.along(station), flat.width(station) / 2.0);
            for side in [-1.0, 1.0] {
                let edge = DVec2::new(along, side * half);
                layout.lines.push(Contour::line(edge, edge - DVec2::new(0.0, side * TICK)));
            }
        }
        layout
            .remarks
            .push("Marks at the edges: where each foot ends and the bridge begins".into());
        room = (flat.along(from + foot + rise), flat.along(to - foot - rise));
    }
    let middle = f64::midpoint(room.0, room.1);
    serial(&mut layout, &job.order.serial, given.width_mm, middle, room.1 - room.0, limits);
    Some(layout)
}

/// Puts the serial number in the middle of a strip, as large as it can be read and still has its margin.
fn serial(
    layout: &mut Layout,
    words: &str,
    strip: f64,
    middle: f64,
    room: f64,
    limits: &CuttingLimits,
) {
    if words.trim().is_empty() {
        layout.remarks.push("No serial number is given: nothing is engraved".into());
        return;
    }
    let margin = limits.letter_margin_mm;
    let by_width = (strip * LETTER_SHARE).min(strip - 2.0 * margin).min(TALLEST);
    let by_length = (room - 2.0 * margin) / width(words, 1.0);
    let height = by_width.min(by_length).max(limits.least_letter_mm);
    let letters = lettering(words, height);
    let start = DVec2::new(middle - letters.width_mm / 2.0, -height / 2.0);
    layout.letters.extend(letters.strokes.iter().map(|stroke| stroke.moved(|point| point + start)));
    layout.serial = Some(words.trim().to_string());
    layout.remarks.push(format!(
        "Serial number {words}: letters {height:.2} mm high on the outer face, engraved in single lines or stamped"
    ));
    if !letters.missing.is_empty() {
        let missing: String = letters.missing.iter().collect();
        layout.findings.push(CuttingFinding {
            question: Question::Letters,
            place_mm: [middle, 0.0],
            found_mm: 0.0,
            wanted_mm: height,
            words: format!("there are no single-line letters for \"{missing}\": their room is left free, stamp them by hand"),
            fails: false,
        });
    }
}

/// The guide: its foot laid flat and its two prongs, which are flat already, side by side.
pub fn guide(job: &Job, sweep: &Sweep) -> Option<Layout> {
    let flat = Developed::new(sweep)?;
    let mut layout = blank(&flat);
    layout.lines.extend(middle_ticks(&flat));
    // Corners three and four: outer foot and top of the prong on the player's left.
    let (foot, top) = (sweep.points.get(3)?, sweep.points.get(4)?);
    let (prong, fit) = prong(sweep, foot, top);
    layout.fit = layout.fit.max(fit);
    let mut right = layout.outlines.first().map_or(0.0, |outline| outline.bounds().1.x);
    let bottom = layout.outlines.first().map_or(0.0, |outline| outline.bounds().0.y);
    for _ in 0..2 {
        let (low, high) = prong.bounds();
        let shift = DVec2::new(right + BETWEEN, bottom) - low;
        layout.outlines.push(prong.moved(|point| point + shift));
        right += BETWEEN + high.x - low.x;
    }
    layout.remarks.push(format!(
        "Three pieces: the foot, formed round the tube, and two prongs, which stand on it {} mm apart; file their lower ends to the foot's curve, solder them on",
        trimmed(job.key.arm_thickness_mm + 2.0 * job.guide.side_clearance_mm)
    ));
    Some(layout)
}

/// A prong: it stands in a plane beside that of the bend, between its outer lower edge, where the foot is lowest, and
/// its top. Both edges follow the neck.
fn prong(sweep: &Sweep, foot: &SectionPoint, top: &SectionPoint) -> (Contour, f64) {
    let neck = &*sweep.neck;
    let middle = neck.at(f64::midpoint(sweep.from, sweep.to));
    let seen = |point: glam::DVec3| {
        let from = point - middle.centre;
        DVec2::new(from.dot(middle.tangent), from.dot(middle.up))
    };
    let edge = |corner: &SectionPoint, station: f64| {
        let at = Neck::at(neck, station);
        let (place, slope) = corner.at(neck, station);
        let point = seen(at.centre + at.up * place.y);
        // The normal turns with the centreline, so higher up the neck is longer.
        let along = at.tangent * (1.0 + at.curvature * place.y) + at.up * slope.y;
        (point, DVec2::new(along.dot(middle.tangent), along.dot(middle.up)))
    };
    let low = |station: f64| edge(foot, station);
    let high = |back: f64| {
        let (point, slope) = edge(top, -back);
        (point, -slope)
    };
    let (from, to) = (sweep.from, sweep.to);
    let (mut vertices, one) = fitted(&low, from, to, FIT);
    vertices.push(Vertex { at: low(to).0, bulge: 0.0 });
    let (more, two) = fitted(&high, -to, -from, FIT);
    vertices.extend(more);
    vertices.push(Vertex { at: high(-from).0, bulge: 0.0 });
    (Contour { vertices, closed: true }, one.max(two))
}
