//! Parts whose outline lies in one plane: the arm, cut from plate as it is, and the spring, cut from strip and bent.

use glam::DVec2;

use crate::geometry::arc_fit::contour_of;
use crate::geometry::contour::Contour;
use crate::geometry::outline::Outline;
use crate::geometry::shape::{HoleEnd, Plate};
use crate::job::Job;
use crate::tables::bending::neutral_share;

use super::developed::FIT;
use super::layout::{Hole, HoleUse, Layout, trimmed};

/// Length of the line that shows where a hole is drilled into the edge, mm.
const EDGE_MARK: f64 = 2.0;
/// Departure to which the side of a bent strip is followed to measure its length, mm.
const FINE: f64 = 1e-4;

/// The arm: its own outline and the hole the hinge tube is soldered into.
pub fn key_arm(job: &Job, plate: &Plate) -> Layout {
    let (outline, fit) = contour_of(&plate.outline, FIT);
    let limits = &job.limits;
    let gap_mm = (limits.joint_gap_min_mm, limits.joint_gap_max_mm);
    let holes = plate
        .holes
        .iter()
        .map(|hole| Hole::new(hole.centre, 2.0 * hole.radius, HoleUse::Fitted { gap_mm }))
        .collect();
    let (mut lines, mut remarks) = (Vec::new(), Vec::new());
    for hole in &plate.edge_holes {
        let HoleEnd::Blind(depth) = hole.end else { continue };
        let inward = plate.edge_hole_direction(hole);
        lines.push(Contour::line(hole.entry, hole.entry + inward * EDGE_MARK));
        let thread = job.spring_screw.thread;
        remarks.push(format!(
            "After cutting, in the middle of the edge at the marked line: drill {} mm, {} mm deep, tap {}",
            trimmed(thread.tap_drill_mm()),
            trimmed(depth),
            thread.name()
        ));
    }
    Layout {
        thickness: 2.0 * plate.half_thickness,
        outlines: vec![outline],
        holes,
        lines,
        fit,
        remarks,
        ..Layout::default()
    }
}

/// The spring: a strip as long as its neutral line, with the hole for its screw. Its rounded tip is filed afterwards.
pub fn spring(job: &Job, plate: &Plate) -> Option<Layout> {
    let hole = plate.edge_holes.first()?;
    let HoleEnd::Through(opposite) = hole.end else { return None };
    // The lower side of the strip, from its seat to the rounded tip.
    let sides = plate.outline.sides().get(hole.side..opposite.checked_sub(2)?)?.to_vec();
    let start = sides.first()?.start();
    let (lower, _) = contour_of(&Outline::new(sides), FINE);
    let tip = plate.outline.sides().get(opposite.checked_sub(2)?)?.start();
    let thickness = job.spring.thickness_mm;
    let (mut length, mut share) = (0.0, 0.5_f64);
    // The contour of the side alone closes from the tip to the seat; that closing piece is none of the strip's.
    let open = Contour { closed: false, ..ended(lower, tip) };
    for piece in open.pieces() {
        length += match piece.arc() {
            Some(arc) => {
                // The metal lies to the left: turning left, this is the outside of the bend.
                let inside = if arc.sweep > 0.0 { arc.radius - thickness } else { arc.radius };
                let there = neutral_share(inside / thickness);
                share = share.min(there);
                arc.sweep.abs() * (inside + there * thickness)
            }
            None => piece.length(),
        };
    }
    let (length, width) = (length + thickness / 2.0, 2.0 * plate.half_thickness);
    let corners =
        [DVec2::ZERO, DVec2::new(length, 0.0), DVec2::new(length, width), DVec2::new(0.0, width)];
    let centre = DVec2::new(start.distance(hole.entry), width / 2.0);
    Some(Layout {
        thickness,
        outlines: vec![Contour::through(&corners, true)],
        holes: vec![Hole::new(centre, 2.0 * hole.radius, HoleUse::Clear)],
        neutral_share: Some(share),
        remarks: vec![
            format!(
                "Flat length along the neutral line, {} of the thickness from the inside of each bend (DIN 6935, from memory)",
                trimmed(share)
            ),
            "Cut along the rolling direction; round the tip over its thickness after cutting"
                .into(),
        ],
        ..Layout::default()
    })
}

/// A contour with its end added.
fn ended(mut contour: Contour, end: DVec2) -> Contour {
    contour.vertices.push(crate::geometry::contour::Vertex { at: end, bulge: 0.0 });
    contour
}
