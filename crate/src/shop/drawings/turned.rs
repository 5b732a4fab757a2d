//! The drawing of a turned part: laid out from a list of what is to be said of it.

use glam::DVec2;

use crate::exports::paper::{Dash, Sheet};
use crate::geometry::contour::{Contour, Piece, Vertex};

use super::dimensions::{
    BALLOON, LETTERS, THICK, THIN, across, across_reach, along, along_reach, balloon, leader,
    width_of,
};
use super::page::{Page, SCALES};
use super::sizes::Units;
use super::views::{Edge, Profile};
use super::{Drawing, DrawingError, Projection};

/// From a view to the first dimension line beside it, and from one to the next, mm; more where figures stand on two
/// lines.
const FIRST: f64 = 9.0;
const NEXT: f64 = 8.0;
const SECOND_LINE: f64 = 3.5;
/// How far axes run out of a view, mm.
const AXIS_PAST: f64 = 4.0;
/// Room between the dimensions of one view and the next view, mm.
const BETWEEN: f64 = 10.0;
/// Height of the first leader's shelf above the part, and from one to the next, mm.
const SHELF: f64 = 9.0;
const SHELVES: f64 = 6.0;
/// How far a leader runs sideways at most, mm: less than the first dimension line is off.
const LEADER_RUN: f64 = 4.0;
/// Lines nearer than this on paper would run into one, mm: only the outer one is drawn.
const CROWDED: f64 = 0.9;
/// Spacing of hatching, mm.
const HATCH: f64 = 1.6;

/// On which side of the side view a diameter is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Left,
    Right,
}

/// A diameter.
#[derive(Clone, Debug)]
pub struct Across {
    pub side: Side,
    /// Where along the axis it is taken.
    pub x: f64,
    pub radius: f64,
    /// Whether only the half in section shows it.
    pub half: bool,
    pub words: String,
}

/// A length along the axis, between two points of the half in section.
#[derive(Clone, Debug)]
pub struct Along {
    pub from: DVec2,
    pub to: DVec2,
    pub words: String,
}

/// What is to be drawn.
#[derive(Clone, Debug)]
pub struct Spec {
    pub profile: Profile,
    /// Whether the lower half is cut open.
    pub section: bool,
    /// Thread on the outside: from, to, and the radius of its root.
    pub thread: Option<(f64, f64, f64)>,
    /// Diameters, those nearest the part first.
    pub across: Vec<Across>,
    /// Lengths, those nearest the part first.
    pub along: Vec<Along>,
    /// Words with an arrow to a point of the upper half, from right to left.
    pub leaders: Vec<(DVec2, String)>,
    /// Letters beside points of the bore, explained in the notes.
    pub letters: Vec<(DVec2, char)>,
    pub notes: Vec<String>,
}

/// Draws a part.
pub fn draw(page: &Page<'_>, spec: &Spec) -> Result<Drawing, DrawingError> {
    let profile = &spec.profile;
    let notes: Vec<String> = spec.notes.iter().cloned().chain(page.common_notes()).collect();
    let more = if page.style.units == Units::Both { SECOND_LINE } else { 0.0 };
    let (next, shelves) = (NEXT + more, SHELVES + more);
    let count = |side: Side| spec.across.iter().filter(|across| across.side == side).count() as f64;
    let beside = |side: Side| {
        let count = count(side);
        if count > 0.0 { FIRST + next * (count - 1.0) + 3.0 + more } else { AXIS_PAST }
    };
    let (columns_left, right) = (beside(Side::Left) + LETTERS, beside(Side::Right));
    let below = FIRST + next * (spec.along.len() as f64 - 1.0).max(0.0) + 3.0 + more;
    let (low, high) = page.room(&notes);
    let room = high - low;
    let fits = |scale: f64| {
        let (long, wide) = (profile.length * scale, 2.0 * profile.radius * scale);
        let leaders = spec
            .leaders
            .iter()
            .map(|(at, words)| width_of(words) + at.x * scale + 8.0 - long)
            .fold(0.0, f64::max);
        // Words of lengths that do not fit between their arrows.
        let (mut left, mut ahead) = (columns_left, 0.0_f64);
        for length in &spec.along {
            let (from, to) = (length.from.x.min(length.to.x), length.from.x.max(length.to.x));
            let reach = along_reach((to - from) * scale, &length.words);
            if leftwards(length, profile.length) {
                left = left.max(reach - from * scale);
            } else {
                ahead = ahead.max(reach - (profile.length - to) * scale);
            }
        }
        let side = right.max(leaders).max(ahead);
        let width = left + long + side + BETWEEN + wide + 2.0 * AXIS_PAST;
        let up = spec.across.iter().map(|across| over(across, wide / 2.0, scale));
        let shelf = shelf(spec, wide / 2.0, scale);
        let up = up.fold(shelf + shelves * spec.leaders.len() as f64 + more, f64::max);
        let height = below + wide + up;
        (width <= room.x && height <= room.y).then_some((width, height, left, side))
    };
    let Some((scale, (width, height, left, side))) =
        SCALES.into_iter().find_map(|scale| Some((scale, fits(scale)?)))
    else {
        return Err(DrawingError::TooLarge(page.part.name));
    };
    let mut sheet = Sheet::new(page.size());
    let (long, half) = (profile.length * scale, profile.radius * scale);
    let corner = low + (room - DVec2::new(width, height)) / 2.0;
    let origin = corner + DVec2::new(left, below + half);
    let at = |point: DVec2| origin + point * scale;

    side_view(&mut sheet, spec, &at, scale);
    let axis = THIN.dashed(Dash::Chain);
    let past = DVec2::new(AXIS_PAST, 0.0);
    sheet.line(origin - past, origin + DVec2::new(long, 0.0) + past, axis);

    let middle = origin + DVec2::new(long + side + BETWEEN + half + AXIS_PAST, 0.0);
    let mut last = f64::INFINITY;
    for radius in profile.circles(page.style.projection) {
        if (last - radius) * scale > CROWDED {
            sheet.draw(Contour::circle(middle, radius * scale), THICK);
            last = radius;
        }
    }
    if let (Some((_, _, root)), Projection::ThirdAngle) = (spec.thread, page.style.projection) {
        // Three quarters of a circle stand for the root of a thread (ISO 6410).
        sheet.draw(Contour::arc(middle, root * scale, 1.7, 6.4), THIN);
    }
    for way in [DVec2::X, DVec2::Y] {
        let reach = way * (half + AXIS_PAST);
        sheet.line(middle - reach, middle + reach, axis);
    }

    let mut columns = [0.0, 0.0];
    // Words that run up past the view stand outermost, or the lines to others would cross them.
    let mut in_order: Vec<&Across> = spec.across.iter().collect();
    in_order.sort_by_key(|across| over(across, half, scale) > 0.0);
    for given in in_order {
        let (column, edge, way) = match given.side {
            Side::Left => (0, origin.x, -1.0),
            Side::Right => (1, origin.x + long, 1.0),
        };
        let Some(used) = columns.get_mut(column) else { continue };
        let x = edge + way * (FIRST + next * *used);
        *used += 1.0;
        let place = |y: f64| at(DVec2::new(given.x, y));
        let upper = if given.half { place(0.0) } else { place(given.radius) };
        across(&mut sheet, place(-given.radius), upper, x, &given.words, given.half);
    }
    for (i, along_) in spec.along.iter().enumerate() {
        let y = origin.y - half - FIRST - next * i as f64;
        along(
            &mut sheet,
            at(mirrored(along_.from)),
            at(mirrored(along_.to)),
            y,
            &along_.words,
            leftwards(along_, profile.length),
        );
    }
    for (i, (point, words)) in spec.leaders.iter().enumerate() {
        let place = at(*point);
        let y = origin.y + half + shelf(spec, half, scale) + shelves * i as f64;
        // Steep, or a high one would run through the words beside the view.
        let elbow = DVec2::new(place.x + ((y - place.y) * 0.35).min(LEADER_RUN), y);
        leader(&mut sheet, place, elbow, words, false);
    }
    for (point, letter) in &spec.letters {
        let place = at(mirrored(*point));
        let centre = place + DVec2::new(0.0, (3.0 + BALLOON).min(point.y * scale - BALLOON));
        balloon(&mut sheet, place, centre, *letter);
    }
    Ok(page.finished(sheet, scale, &notes))
}

/// How far a diameter's words run up past the upper edge of a view whose half height on paper is given.
fn over(given: &Across, half: f64, scale: f64) -> f64 {
    let radius = given.radius * scale;
    let length = if given.half { radius } else { 2.0 * radius };
    across_reach(length, &given.words, given.half) - (half - radius)
}

/// Height of the first shelf over the view: over the words on its right, past which the leaders run.
fn shelf(spec: &Spec, half: f64, scale: f64) -> f64 {
    let right = spec.across.iter().filter(|given| given.side == Side::Right);
    SHELF + right.map(|given| over(given, half, scale)).fold(0.0, f64::max)
}

/// Whether the words of a length that are too long for it stand on its left, where it is nearer the left end.
fn leftwards(length: &Along, whole: f64) -> bool {
    f64::midpoint(length.from.x, length.to.x) < whole / 2.0
}

/// A point of the profile in the lower half.
fn mirrored(point: DVec2) -> DVec2 {
    DVec2::new(point.x, -point.y)
}

/// The body from the side, its lower half in section.
fn side_view(sheet: &mut Sheet, spec: &Spec, at: &dyn Fn(DVec2) -> DVec2, scale: f64) {
    let profile = &spec.profile;
    let scaled = |contour: &Contour, lower: bool| {
        let mut moved = contour.clone();
        for vertex in &mut moved.vertices {
            vertex.at = at(if lower { mirrored(vertex.at) } else { vertex.at });
            if lower {
                vertex.bulge = -vertex.bulge;
            }
        }
        moved
    };
    let silhouette = profile.silhouette();
    let halves: &[f64] = if spec.section { &[1.0] } else { &[1.0, -1.0] };
    for &half in halves {
        sheet.draw(scaled(&silhouette, half < 0.0), THICK);
        for edge in clear_edges(profile, scale) {
            let x = |y: f64| at(DVec2::new(edge.x, y * half));
            sheet.line(x(0.0), x(edge.radius), THICK);
        }
        if let Some((from, to, root)) = spec.thread {
            let place = |x: f64| at(DVec2::new(x, root * half));
            sheet.line(place(from), place(to), THIN);
        }
    }
    // The left end's face of a body that is solid there, and the right end's, are edges as well.
    for x in [0.0, profile.length] {
        let top = silhouette_radius(&silhouette, x);
        for &half in halves {
            sheet.line(at(DVec2::new(x, 0.0)), at(DVec2::new(x, top * half)), THICK);
        }
    }
    if spec.section {
        let cut = [scaled(&profile.contour, true)];
        sheet.hatch(&cut, std::f64::consts::FRAC_PI_4, HATCH, THIN);
        // A body solid to its axis has a side there that is no edge.
        let on_axis = |piece: &Piece| piece.from.y == 0.0 && piece.to.y == 0.0;
        for piece in profile.contour.pieces().filter(|piece| !on_axis(piece)) {
            let ends = [
                Vertex { at: piece.from, bulge: piece.bulge },
                Vertex { at: piece.to, bulge: 0.0 },
            ];
            let side = Contour { vertices: ends.into(), closed: false };
            sheet.draw(scaled(&side, true), THICK);
        }
        // Edges of the bore behind the section.
        for edge in profile.edges().iter().filter(|edge| !edge.outside) {
            sheet.line(at(DVec2::new(edge.x, 0.0)), at(DVec2::new(edge.x, -edge.radius)), THICK);
        }
    }
}

/// Edges of the outside that are far enough from the ends, and from each other, to be told apart; of two that are not,
/// the one of greater radius.
fn clear_edges(profile: &Profile, scale: f64) -> Vec<Edge> {
    let mut edges: Vec<Edge> = profile.edges().into_iter().filter(|edge| edge.outside).collect();
    edges.sort_by(|a, b| b.radius.total_cmp(&a.radius).then(a.x.total_cmp(&b.x)));
    let mut kept: Vec<Edge> = Vec::new();
    for edge in edges {
        let apart = |x: f64| (edge.x - x).abs() * scale > CROWDED;
        if apart(0.0) && apart(profile.length) && kept.iter().all(|other| apart(other.x)) {
            kept.push(edge);
        }
    }
    kept
}

/// Greatest radius of the outside at an end.
fn silhouette_radius(silhouette: &Contour, x: f64) -> f64 {
    silhouette
        .vertices
        .iter()
        .filter(|vertex| (vertex.at.x - x).abs() < 1e-6)
        .map(|vertex| vertex.at.y)
        .fold(0.0, f64::max)
}
