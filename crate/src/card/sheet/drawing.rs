//! Lines, dimension lines and words of a drawing, laid so that no words lie on anything.

use glam::DVec2;

use crate::exports::paper::{Anchor, CAPITALS, Mark, Pen, Text, text_width};
use crate::geometry::clip::shares_inside;
use crate::geometry::contour::Contour;

use super::flow::SMALL;

/// Share of a text's size by which letters hang under the base line (Helvetica, Adobe font metrics, from memory).
const DESCENT: f64 = 0.207;
const THIN: Pen = Pen::solid(0.13);
/// Length and half width of an arrow's head, mm.
const ARROW: (f64, f64) = (2.2, 0.4);
/// Room between what is measured and its extension line, and how far that runs past the dimension line, mm.
const GAP: f64 = 0.7;
const PAST: f64 = 1.2;
/// Room between a line and the words beside it, mm.
const OVER: f64 = 0.8;
/// Nearest that words come to anything else, mm.
const CLEAR: f64 = 0.5;
/// Steps that words are led out by, mm, and how many of them at most.
const FARTHER: f64 = 1.5;
const FARTHEST: u32 = 20;
/// How far words are led aside, mm.
const SHIFTS: [f64; 9] = [0.0, 3.0, -3.0, 6.0, -6.0, 9.0, -9.0, 12.0, -12.0];
/// What it costs words not to lean as they are asked to, mm.
const AGAINST: f64 = 4.0;
/// Sine of the slant up to which a line counts as level or upright.
const LEVEL: f64 = 0.02;

/// A drawing in millimetres of paper.
#[derive(Debug, Default)]
pub struct Drawing {
    lines: Vec<(DVec2, DVec2, Pen)>,
    others: Vec<Mark>,
    words: Vec<Text>,
    /// Lines that lead to words: they do not cross.
    leaders: Vec<(DVec2, DVec2)>,
}

/// Whether two lines cross.
fn meet((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> bool {
    let side = |from: DVec2, to: DVec2, at: DVec2| (to - from).perp_dot(at - from) > 0.0;
    side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

fn box_of(text: &Text) -> (DVec2, DVec2) {
    let wide = text_width(&text.words, text.size_mm);
    let high = text.size_mm * CAPITALS;
    let back = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => wide / 2.0,
        Anchor::End => wide,
    };
    let under = text.size_mm * DESCENT;
    if text.upwards {
        (text.at - DVec2::new(high, back), text.at + DVec2::new(under, wide - back))
    } else {
        let low = text.at - DVec2::new(back, under);
        (low, low + DVec2::new(wide, high + under))
    }
}

/// Whether a line comes into a box.
fn crosses(from: DVec2, to: DVec2, room: (DVec2, DVec2)) -> bool {
    shares_inside(from, to, room).is_some()
}

impl Drawing {
    pub fn line(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.lines.push((from, to, pen));
    }

    pub fn circle(&mut self, centre: DVec2, radius: f64) {
        self.others.push(Mark::Line { contour: Contour::circle(centre, radius), pen: THIN });
    }

    pub fn words(&mut self, at: DVec2, words: String, anchor: Anchor) {
        self.words.push(Text { at, size_mm: SMALL, words, anchor, upwards: false });
    }

    /// An arrow's head with its point at a place, looking along a unit direction.
    pub fn arrow(&mut self, point: DVec2, along: DVec2) {
        let back = point - along * ARROW.0;
        let side = along.perp() * ARROW.1;
        let contour = Contour::through(&[point, back + side, back - side], true);
        self.others.push(Mark::Fill { contours: vec![contour], grey: 0.0 });
    }

    /// A dimension between two places, its line off from them by `off`, square to the way between them.
    pub fn dimension(&mut self, one: DVec2, two: DVec2, off: DVec2, words: String) {
        let way = (two - one).normalize_or_zero();
        let out = (off - way * off.dot(way)).normalize_or_zero();
        let (a, b) = (one + out * off.dot(out), two + out * off.dot(out));
        for (place, end) in [(one, a), (two, b)] {
            self.line(place + out * GAP, end + out * PAST, THIN);
        }
        let inside = a.distance(b) >= 3.0 * ARROW.0;
        let tail = if inside { 0.0 } else { 2.0 * ARROW.0 };
        self.line(a - way * tail, b + way * tail, THIN);
        let look = if inside { way } else { -way };
        self.arrow(a, -look);
        self.arrow(b, look);
        let wide = text_width(&words, SMALL);
        let half = DVec2::new(0.0, SMALL * CAPITALS / 2.0);
        if way.y.abs() < LEVEL && 2.0 * wide < a.distance(b) {
            self.words((a + b) / 2.0 + DVec2::new(0.0, OVER), words, Anchor::Middle);
        } else if way.x.abs() > way.y.abs() {
            // Beside a line that is short, or slants a little, at its right end.
            let end = if a.x > b.x { a } else { b };
            self.words(end + DVec2::new(tail + 3.5 * OVER, 0.0) - half, words, Anchor::Start);
        } else if way.x.abs() > LEVEL {
            let anchor = if out.x < 0.0 { Anchor::End } else { Anchor::Start };
            let beside = DVec2::new(out.x.signum() * (OVER + way.x.abs() * 1.5), 0.0) - half;
            self.words((a + b) / 2.0 + beside, words, anchor);
        } else {
            // Up the sheet along an upright line, or over its upper end where there is no room along it.
            let fits = wide + 2.0 * OVER < a.distance(b);
            let top = a.y.max(b.y) + tail + OVER;
            if !fits {
                self.line(DVec2::new(a.x, top - OVER), DVec2::new(a.x, top + wide), THIN);
            }
            let (y, anchor) =
                if fits { ((a.y + b.y) / 2.0, Anchor::Middle) } else { (top, Anchor::Start) };
            let at = DVec2::new(a.x - OVER, y);
            self.words.push(Text { at, size_mm: SMALL, words, anchor, upwards: true });
        }
    }

    /// Words at the end of a line out from a place, as near to it as they lie on nothing. They lean to the left of `way` with a
    /// positive `lean`, to its right with a negative one, as far as that is as good.
    pub fn led_out(&mut self, place: DVec2, way: DVec2, words: &str, lean: f64) {
        let mut ends: Vec<(f64, f64)> = (1..=FARTHEST)
            .flat_map(|k| SHIFTS.map(|shift| (f64::from(k) * FARTHER, shift)))
            .collect();
        let cost = |(reach, shift): &(f64, f64)| {
            reach + shift.abs() + if lean != 0.0 && shift * lean <= 0.0 { AGAINST } else { 0.0 }
        };
        ends.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
        let anchors: &[Anchor] = if way.x < -0.5 {
            &[Anchor::End]
        } else if way.x > 0.5 {
            &[Anchor::Start]
        } else if (way.perp() * lean).x > 0.5 {
            &[Anchor::Start, Anchor::Middle]
        } else if (way.perp() * lean).x < -0.5 {
            &[Anchor::End, Anchor::Middle]
        } else {
            &[Anchor::Middle, Anchor::Start, Anchor::End]
        };
        let text = |end: DVec2, anchor: Anchor| {
            let high = SMALL * CAPITALS;
            let way = (end - place).normalize_or_zero();
            let down = match anchor {
                Anchor::Middle if way.y < 0.0 => high,
                Anchor::Middle => 0.0,
                Anchor::Start | Anchor::End => high / 2.0,
            };
            let at = end + way * OVER - DVec2::new(0.0, down);
            Text { at, size_mm: SMALL, words: words.to_string(), anchor, upwards: false }
        };
        let is_apart = |text: &Text| {
            let (low, high) = box_of(text);
            self.words.iter().all(|other| {
                let (l, h) = box_of(other);
                l.x > high.x + CLEAR
                    || h.x < low.x - CLEAR
                    || l.y > high.y + CLEAR
                    || h.y < low.y - CLEAR
            })
        };
        let is_free = |end: DVec2, text: &Text| {
            let (low, high) = box_of(text);
            let room = (low - CLEAR, high + CLEAR);
            let passes = |other: &Text| {
                let (l, h) = box_of(other);
                !crosses(place, end, (l - CLEAR, h + CLEAR))
            };
            is_apart(text)
                && self.words.iter().all(passes)
                && self.lines.iter().all(|(from, to, _)| !crosses(*from, *to, room))
                && self.leaders.iter().all(|(from, to)| !meet((*from, *to), (place, end)))
        };
        let places = ends.iter().flat_map(|(reach, shift)| {
            let end = place + way * *reach + way.perp() * *shift;
            anchors.iter().map(move |anchor| (end, text(end, *anchor)))
        });
        let places: Vec<(DVec2, Text)> = places.collect();
        let lies_on_none = |text: &Text| {
            let (low, high) = box_of(text);
            let room = (low - CLEAR, high + CLEAR);
            is_apart(text) && self.lines.iter().all(|(from, to, _)| !crosses(*from, *to, room))
        };
        // Where nothing is free, lines that lead to words may cross, then words may lie on lines, but never on words.
        let free = places.iter().find(|(end, text)| is_free(*end, text));
        let free = free.or_else(|| places.iter().find(|(_, text)| lies_on_none(text)));
        let found = free.or_else(|| places.iter().find(|(_, text)| is_apart(text)));
        let Some((end, text)) = found.or(places.first()).cloned() else { return };
        self.leaders.push((place, end));
        self.line(place, end, THIN);
        self.words.push(text);
    }

    /// Lower left and upper right corner of all of it.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let ends = self.lines.iter().flat_map(|(from, to, _)| [*from, *to]);
        let corners = self.words.iter().flat_map(|text| {
            let (low, high) = box_of(text);
            [low, high]
        });
        ends.chain(corners).fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |sum, point| {
            (sum.0.min(point), sum.1.max(point))
        })
    }

    pub fn shift(&mut self, by: DVec2) {
        for (from, to, _) in &mut self.lines {
            *from += by;
            *to += by;
        }
        for text in &mut self.words {
            text.at += by;
        }
        for mark in &mut self.others {
            match mark {
                Mark::Line { contour, .. } => *contour = contour.moved(|place| place + by),
                Mark::Fill { contours, .. } => {
                    for contour in contours {
                        *contour = contour.moved(|place| place + by);
                    }
                }
                Mark::Text(text) => text.at += by,
            }
        }
    }

    pub fn into_marks(self) -> impl Iterator<Item = Mark> {
        let line = |(from, to, pen)| Mark::Line { contour: Contour::line(from, to), pen };
        let words = self.words.into_iter().map(Mark::Text);
        self.lines.into_iter().map(line).chain(self.others).chain(words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: a dimension of 20 mm runs between arrows 20 mm apart, 5 mm beside what is measured.
    #[test]
    fn a_dimension_s_arrows_stand_as_far_apart_as_what_is_measured() {
        let mut drawing = Drawing::default();
        let (one, two) = (DVec2::new(0.0, 0.0), DVec2::new(12.0, 16.0));
        drawing.dimension(one, two, DVec2::new(4.0, -3.0), "20".into());
        let tips: Vec<DVec2> = drawing
            .others
            .iter()
            .filter_map(|mark| match mark {
                Mark::Fill { contours, .. } => Some(contours[0].vertices[0].at),
                _ => None,
            })
            .collect();
        assert!((tips[0].distance(tips[1]) - 20.0).abs() < 1e-12);
        assert!((tips[0].distance(one) - 5.0).abs() < 1e-12);
        assert!((tips[1].distance(two) - 5.0).abs() < 1e-12);
    }

    #[test]
    fn words_are_led_out_until_they_lie_on_nothing() {
        let mut drawing = Drawing::default();
        drawing.led_out(DVec2::ZERO, DVec2::Y, "the first", 0.0);
        drawing.led_out(DVec2::new(3.0, 0.0), DVec2::Y, "the second", 0.0);
        drawing.led_out(DVec2::new(6.0, 0.0), DVec2::Y, "the third", 0.0);
        let boxes: Vec<_> = drawing.words.iter().map(box_of).collect();
        for (index, a) in boxes.iter().enumerate() {
            for b in &boxes[index + 1..] {
                assert!(a.1.y < b.0.y || b.1.y < a.0.y || a.1.x < b.0.x || b.1.x < a.0.x);
            }
        }
        assert!(crosses(DVec2::new(-1.0, 0.5), DVec2::new(2.0, 0.5), (DVec2::ZERO, DVec2::ONE)));
        assert!(!crosses(DVec2::new(-1.0, 2.0), DVec2::new(2.0, 2.0), (DVec2::ZERO, DVec2::ONE)));
    }
}
