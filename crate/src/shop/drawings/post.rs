//! The drawing of a post: cut through in the plane across the neck, which shows its coped foot and its cross hole, and
//! seen from the side.

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;

use crate::exports::paper::{Dash, Sheet};
use crate::geometry::arc_fit::fitted;
use crate::geometry::contour::{Contour, Vertex};
use crate::geometry::shape::Post;
use crate::parts::{clear_hole, post_spread, tapped_hole};
use crate::tables::fits::Class;

use super::dimensions::{THICK, THIN, across, along, leader, width_of};
use super::page::{Page, SCALES};
use super::sizes::Size;
use super::turned_parts::limits_note;
use super::{Drawing, DrawingError, Projection};

/// Departure of drawn curves from the foot's edge, mm of the part.
const DRAWN: f64 = 0.002;
/// How far axes run out of a view, mm.
const AXIS_PAST: f64 = 4.0;
/// Room left and right of the section for its dimensions, mm.
const LEFT: f64 = 34.0;
const BETWEEN: f64 = 34.0;
/// Room under and over the views, mm.
const BELOW: f64 = 14.0;
const ABOVE: f64 = 16.0;

/// A post in its own plane: y outwards from the plane of the bend to the right, z up, the hinge axis at the origin.
struct Body {
    radius: f64,
    top: f64,
    chamfer: f64,
    hole: f64,
    /// Radius of the cope, and its axis.
    cope: f64,
    axis: DVec2,
}

impl Body {
    /// Height of the foot at a distance from the post's axis.
    fn foot(&self, y: f64) -> f64 {
        let off = y - self.axis.x;
        self.axis.y + (self.cope * self.cope - off * off).max(0.0).sqrt()
    }

    /// Slope of the foot there.
    fn foot_slope(&self, y: f64) -> f64 {
        let off = y - self.axis.x;
        -off / (self.cope * self.cope - off * off).max(1e-12).sqrt()
    }

    /// The piece of the section between two heights; none stands for the foot or the top.
    fn slab(&self, from: Option<f64>, to: Option<f64>) -> Contour {
        let (r, c) = (self.radius, self.chamfer);
        let at = |x: f64, y: f64, bulge: f64| Vertex { at: DVec2::new(x, y), bulge };
        let mut vertices = match from {
            Some(z) => vec![at(-r, z, 0.0), at(r, z, 0.0)],
            None => {
                let (left, right) = (DVec2::new(-r, self.foot(-r)), DVec2::new(r, self.foot(r)));
                // The cope bulges into the metal: clockwise over the tube's axis.
                let turned = |p: DVec2| libm::atan2(p.x - self.axis.x, p.y - self.axis.y);
                let bulge = -libm::tan((turned(right) - turned(left)) / 4.0);
                vec![Vertex { at: left, bulge }, Vertex { at: right, bulge: 0.0 }]
            }
        };
        match to {
            Some(z) => vertices.extend([at(r, z, 0.0), at(-r, z, 0.0)]),
            None => vertices.extend([
                at(r, self.top - c, 0.0),
                at(r - c, self.top, 0.0),
                at(c - r, self.top, 0.0),
                at(-r, self.top - c, 0.0),
            ]),
        }
        Contour { vertices, closed: true }
    }

    /// Edge of the foot on one side (1: outside, -1: towards the plane of the bend), seen from the side.
    fn foot_edge(&self, side: f64) -> Contour {
        let curve = |turn: f64| {
            let (sin, cos) = libm::sincos(turn);
            let y = side * self.radius * cos;
            let slope = self.foot_slope(y) * side * -self.radius * sin;
            (DVec2::new(self.radius * sin, self.foot(y)), DVec2::new(self.radius * cos, slope))
        };
        let (mut vertices, _) = fitted(&curve, -FRAC_PI_2, FRAC_PI_2, DRAWN);
        vertices.push(Vertex { at: curve(FRAC_PI_2).0, bulge: 0.0 });
        Contour { vertices, closed: false }
    }

    fn lowest(&self) -> f64 {
        self.foot(self.radius).min(self.foot(-self.radius))
    }
}

/// Draws a post.
pub fn draw(page: &Page<'_>, post: &Post) -> Result<Drawing, DrawingError> {
    let job = page.job;
    let at_hinge = post.neck.at(job.saddle.station_mm);
    let height = (post.frame.origin - at_hinge.centre).dot(post.frame.z);
    let body = Body {
        radius: post.radius,
        top: post.top,
        chamfer: post.chamfer,
        hole: post.hole_radius,
        cope: post.neck.bore.radius(job.saddle.station_mm) + post.foot_offset,
        axis: DVec2::new(-post_spread(job), -height),
    };
    let tapped =
        (post.hole_radius - tapped_hole(job)).abs() < (post.hole_radius - clear_hole(job)).abs();
    let notes = notes(page, &body, tapped);
    let length = body.top - body.lowest();
    let (low, high) = page.room(&notes);
    let room = high - low;
    let hole_words = hole_words(page, tapped);
    let reach = width_of(&hole_words) + 12.0;
    let extent = |scale: f64| {
        let wide = 2.0 * body.radius * scale;
        DVec2::new(LEFT + wide + BETWEEN + wide + reach, BELOW + length * scale + ABOVE)
    };
    let fits = |scale: &f64| extent(*scale).cmple(room).all();
    let Some(scale) = SCALES.into_iter().find(fits) else {
        return Err(DrawingError::TooLarge(page.part.name));
    };
    let mut sheet = Sheet::new(page.size());
    let corner = low + (room - extent(scale)) / 2.0;
    let wide = 2.0 * body.radius * scale;
    let origin = corner + DVec2::new(LEFT + wide / 2.0, BELOW - body.lowest() * scale);
    let side = origin + DVec2::new(wide + BETWEEN, 0.0);
    section(&mut sheet, page, &body, tapped, origin, scale);
    from_the_side(&mut sheet, page, &body, tapped, side, scale);

    // Dimensions of the section.
    let at = |x: f64, y: f64| origin + DVec2::new(x, y) * scale;
    let (r, c) = (body.radius, body.chamfer);
    let words = |size: Size| size.words(page.style.units);
    let x = origin.x - wide / 2.0;
    across(
        &mut sheet,
        at(-r, 0.0),
        at(-r + c, body.top),
        x - 9.0,
        &words(Size::length(body.top)),
        false,
    );
    let inner = body.foot(-r);
    across(&mut sheet, at(-r, inner), at(-r, 0.0), x - 17.0, &words(Size::length(-inner)), false);
    let outer = body.foot(r);
    across(
        &mut sheet,
        at(r, outer),
        at(r, 0.0),
        origin.x + wide / 2.0 + 9.0,
        &words(Size::length(-outer)),
        false,
    );
    let y = origin.y + body.lowest() * scale - 9.0;
    along(&mut sheet, at(-r, inner), at(r, outer), y, &words(Size::diameter(2.0 * r)), true);
    let edge = at(r - c / 2.0, body.top - c / 2.0);
    let chamfer = page.chamfer(c, "");
    leader(&mut sheet, edge, edge + DVec2::new(4.0, 8.0), &chamfer, false);
    let slant = body.hole * std::f64::consts::FRAC_1_SQRT_2;
    let rim = side + DVec2::new(slant, slant) * scale;
    let elbow = DVec2::new(side.x + wide / 2.0 + 6.0, rim.y + 8.0);
    leader(&mut sheet, rim, elbow, &hole_words, false);

    Ok(page.finished(sheet, scale, &notes))
}

fn notes(page: &Page<'_>, body: &Body, tapped: bool) -> Vec<String> {
    let mut notes = vec![
        format!(
            "Foot coped to the saddle: {}, its axis square to the section, {} under the hinge axis and {} beside the post's axis, on the side of the shorter wall",
            page.said(Size::radius(body.cope)),
            page.said(Size::length(-body.axis.y)),
            page.said(Size::length(-body.axis.x))
        ),
        "The neck tapers and bends a little under the foot: finish the cope on the saddle itself, keep the height of the hinge axis".into(),
    ];
    if tapped {
        let thread = page.job.hinge.thread;
        notes.push(format!(
            "Tap drill {} ({})",
            page.said(Size::diameter(thread.tap_drill_mm())),
            thread.drill_source().title
        ));
    } else {
        notes.push(limits_note(2.0 * body.hole));
    }
    notes.push("Drill both posts in line".into());
    notes.extend(page.common_notes());
    notes
}

fn hole_words(page: &Page<'_>, tapped: bool) -> String {
    let units = page.style.units;
    if tapped {
        let thread = page.job.hinge.thread;
        let class = if thread.name().starts_with('M') { "6H" } else { "2B" };
        let drill = Size::diameter(thread.tap_drill_mm()).followed_by(" drill", units);
        let name = if class == "6H" {
            thread.name().to_string()
        } else {
            format!("{} UNC", thread.name())
        };
        format!("{name}-{class} through, {drill}")
    } else {
        let size = Size::diameter(2.0 * clear_hole(page.job)).of_class(Class::H7);
        size.followed_by(" through", units)
    }
}

/// The cut through the post's axis and the hinge axis, seen from the tenon.
fn section(
    sheet: &mut Sheet,
    page: &Page<'_>,
    body: &Body,
    tapped: bool,
    origin: DVec2,
    scale: f64,
) {
    // The right post is the left one's mirror image: its outside is drawn on the right all the same, seen from the cork.
    let placed = |contour: Contour| contour.moved_and_scaled(origin, scale);
    let cut = [placed(body.slab(None, Some(-body.hole))), placed(body.slab(Some(body.hole), None))];
    sheet.hatch(&cut, std::f64::consts::FRAC_PI_4, 1.6, THIN);
    for contour in cut {
        sheet.draw(contour, THICK);
    }
    let at = |x: f64, y: f64| origin + DVec2::new(x, y) * scale;
    // The hole's walls beyond the cut, at its two mouths.
    for x in [-body.radius, body.radius] {
        sheet.line(at(x, -body.hole), at(x, body.hole), THICK);
    }
    if tapped {
        let major = page.job.hinge.thread.major_diameter_mm() / 2.0;
        for z in [-major, major] {
            sheet.line(at(-body.radius, z), at(body.radius, z), THIN);
        }
    }
    let axis = THIN.dashed(Dash::Chain);
    let past = DVec2::new(AXIS_PAST, 0.0);
    sheet.line(at(-body.radius, 0.0) - past, at(body.radius, 0.0) + past, axis);
    let up = DVec2::new(0.0, AXIS_PAST);
    sheet.line(at(0.0, body.foot(0.0)) - up, at(0.0, body.top) + up, axis);
}

/// The post as seen along the hinge axis, placed on the right: from its outside in third angle, from the other post in
/// first angle.
fn from_the_side(
    sheet: &mut Sheet,
    page: &Page<'_>,
    body: &Body,
    tapped: bool,
    origin: DVec2,
    scale: f64,
) {
    let (r, c, top) = (body.radius, body.chamfer, body.top);
    let at = |x: f64, y: f64| origin + DVec2::new(x, y) * scale;
    let foot = body.foot(0.0);
    let walls = [(-r, foot), (-r, top - c), (c - r, top), (r - c, top), (r, top - c), (r, foot)];
    let points: Vec<DVec2> = walls.iter().map(|(x, y)| at(*x, *y)).collect();
    sheet.draw(Contour::through(&points, false), THICK);
    sheet.line(at(-r, top - c), at(r, top - c), THICK);
    let from_outside = page.style.projection == Projection::ThirdAngle;
    for edge in [1.0, -1.0] {
        // The outer edge hangs lower: from outside it hides the inner one, from inside both are seen.
        let hidden = from_outside && edge < 0.0;
        let pen = if hidden { THIN.dashed(Dash::Dashed) } else { THICK };
        sheet.draw(body.foot_edge(edge).moved_and_scaled(origin, scale), pen);
    }
    sheet.draw(Contour::circle(origin, body.hole * scale), THICK);
    if tapped {
        let major = page.job.hinge.thread.major_diameter_mm() / 2.0 * scale;
        // Three quarters of a circle stand for a thread (ISO 6410).
        sheet.draw(Contour::arc(origin, major, FRAC_PI_2 * 1.1, FRAC_PI_2 * 4.1), THIN);
    }
    let axis = THIN.dashed(Dash::Chain);
    let (past, up) = (DVec2::new(AXIS_PAST, 0.0), DVec2::new(0.0, AXIS_PAST));
    sheet.line(at(-r, 0.0) - past, at(r, 0.0) + past, axis);
    sheet.line(at(0.0, body.lowest()) - up, at(0.0, top) + up, axis);
}
