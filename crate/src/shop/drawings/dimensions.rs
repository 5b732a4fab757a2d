//! Dimension lines, arrows and leaders on a sheet; all places are the sheet's own, mm.

use glam::DVec2;

use crate::exports::paper::{Anchor, CAPITALS, Pen, Sheet, text_width};
use crate::geometry::contour::Contour;

/// Edges that are seen (ISO 128: line group 0.5).
pub const THICK: Pen = Pen::solid(0.5);
/// Dimension lines, hatching, axes.
pub const THIN: Pen = Pen::solid(0.25);
/// Size of figures and words; their capitals are 2.5 mm high (ISO 3098).
pub const LETTERS: f64 = 2.5 / CAPITALS;

/// From a line down to the base line of words under it.
const UNDER: f64 = 3.5;
/// Length and half width of an arrow's head.
const ARROW: (f64, f64) = (2.5, 0.45);
/// Room between a part and the start of an extension line.
const GAP: f64 = 0.8;
/// How far an extension line runs past its dimension line.
const PAST: f64 = 1.5;
/// Room between a line and the words over it.
const OVER: f64 = 1.0;
/// Room on both sides of words that stand between arrows.
const ROOM: f64 = 2.0;
/// Radius of a balloon.
pub const BALLOON: f64 = 2.6;

/// An arrow's head with its point at a place, looking along a unit direction.
fn arrow(sheet: &mut Sheet, point: DVec2, along: DVec2) {
    let (length, half) = ARROW;
    let back = point - along * length;
    let side = along.perp() * half;
    sheet.fill(vec![Contour::through(&[point, back + side, back - side], true)], 0.0);
}

/// Width of words of one line or two.
pub fn width_of(words: &str) -> f64 {
    words.lines().map(|line| text_width(line, LETTERS)).fold(0.0, f64::max)
}

/// Words over a level line, the second line of them under it.
fn level_words(sheet: &mut Sheet, at: DVec2, words: &str, anchor: Anchor) {
    for (line, down) in words.lines().zip([OVER, -UNDER]) {
        sheet.text(at + DVec2::new(0.0, down), LETTERS, line, anchor);
    }
}

/// A level dimension line at height `y` between two places above or below it. Words too long for it stand to its right,
/// or, with `leftwards`, to its left.
pub fn along(sheet: &mut Sheet, one: DVec2, two: DVec2, y: f64, words: &str, leftwards: bool) {
    let (left, right) = if one.x <= two.x { (one, two) } else { (two, one) };
    for place in [left, right] {
        let way = (y - place.y).signum();
        let from = DVec2::new(place.x, place.y + way * GAP);
        sheet.line(from, DVec2::new(place.x, y + way * PAST), THIN);
    }
    let (a, b) = (DVec2::new(left.x, y), DVec2::new(right.x, y));
    let length = b.x - a.x;
    let inside = length >= 3.0 * ARROW.0;
    let tail = if inside { 0.0 } else { 2.5 * ARROW.0 };
    let reach = along_reach(length, words);
    let (back, ahead) = if leftwards { (reach.max(tail), tail) } else { (tail, reach.max(tail)) };
    sheet.line(a - DVec2::new(back, 0.0), b + DVec2::new(ahead, 0.0), THIN);
    let way = if inside { DVec2::X } else { DVec2::NEG_X };
    arrow(sheet, a, -way);
    arrow(sheet, b, way);
    if reach == 0.0 {
        level_words(sheet, (a + b) / 2.0, words, Anchor::Middle);
    } else if leftwards {
        level_words(sheet, a - DVec2::new(reach, 0.0), words, Anchor::Start);
    } else {
        level_words(sheet, b + DVec2::new(reach, 0.0), words, Anchor::End);
    }
}

/// How far the words of a level dimension reach out of it; nothing where they fit between its arrows.
pub fn along_reach(length: f64, words: &str) -> f64 {
    let width = width_of(words);
    let arrows = if length >= 3.0 * ARROW.0 { 2.0 * ARROW.0 } else { 0.0 };
    if arrows > 0.0 && width + ROOM <= length { 0.0 } else { 1.6 * ARROW.0 + width }
}

/// An upright dimension line at `x` from a lower to an upper place, read from the right. With `half` there is no upper
/// place: the line runs past the axis at `high.y`, as beside a view half in section, as far as its words need.
pub fn across(sheet: &mut Sheet, low: DVec2, high: DVec2, x: f64, words: &str, half: bool) {
    let ends = if half { vec![low] } else { vec![low, high] };
    for place in ends {
        let way = (x - place.x).signum();
        let from = DVec2::new(place.x + way * GAP, place.y);
        sheet.line(from, DVec2::new(x + way * PAST, place.y), THIN);
    }
    let width = width_of(words);
    let end = if half { (high.y + 3.0).max(low.y + width + 2.0 * ROOM) } else { high.y };
    let (a, b) = (DVec2::new(x, low.y), DVec2::new(x, end));
    let length = b.y - a.y;
    let fits = width + 2.0 * ROOM <= length + 1e-9;
    let inside = length >= 3.0 * ARROW.0;
    let way = if inside { DVec2::Y } else { DVec2::NEG_Y };
    arrow(sheet, a, -way);
    if !half {
        arrow(sheet, b, way);
    }
    let tail = if inside { 0.0 } else { 2.5 * ARROW.0 };
    let top = if fits { b.y + tail } else { b.y + tail.max(ROOM) + width };
    sheet.line(a - DVec2::new(0.0, tail), DVec2::new(x, top), THIN);
    let (text, anchor) = if fits {
        ((a + b) / 2.0, Anchor::Middle)
    } else {
        (DVec2::new(x, b.y + tail.max(ROOM)), Anchor::Start)
    };
    for (line, right) in words.lines().zip([-OVER, UNDER]) {
        sheet.text_upwards(text + DVec2::new(right, 0.0), LETTERS, line, anchor);
    }
}

/// How far an upright dimension reaches over the upper edge of what is as high as it, or twice as high with `half`.
pub fn across_reach(length: f64, words: &str, half: bool) -> f64 {
    let width = width_of(words);
    if half {
        return width + 2.0 * ROOM - 2.0 * length;
    }
    let tail = if length >= 3.0 * ARROW.0 { 0.0 } else { 2.5 * ARROW.0 };
    if width + 2.0 * ROOM <= length { tail } else { tail.max(ROOM) + width }
}

/// Words with an arrow to a place: up or down a slant, then along a shelf that starts at `elbow`, to the right or, with
/// `leftwards`, to the left.
pub fn leader(sheet: &mut Sheet, place: DVec2, elbow: DVec2, words: &str, leftwards: bool) {
    let width = width_of(words) + ROOM;
    let end = elbow + DVec2::new(if leftwards { -width } else { width }, 0.0);
    sheet.line(place, elbow, THIN);
    sheet.line(elbow, end, THIN);
    arrow(sheet, place, (place - elbow).normalize_or_zero());
    let start = if leftwards { end } else { elbow + DVec2::new(ROOM, 0.0) };
    level_words(sheet, start, words, Anchor::Start);
}

/// A letter in a circle, with a line to a place: what is said of it stands among the notes.
pub fn balloon(sheet: &mut Sheet, place: DVec2, centre: DVec2, letter: char) {
    let way = (place - centre).normalize_or_zero();
    sheet.line(place, centre + way * BALLOON, THIN);
    arrow(sheet, place, way);
    sheet.draw(Contour::circle(centre, BALLOON), THIN);
    let base = centre - DVec2::new(0.0, LETTERS * CAPITALS / 2.0);
    sheet.text(base, LETTERS, letter.to_string(), Anchor::Middle);
}
