//! The page of a drawing: border, title block, projection symbol, scale bar and notes.

use glam::DVec2;

use crate::exports::paper::{Anchor, Dash, PaperSize, Sheet, text_width};
use crate::geometry::contour::Contour;
use crate::job::Job;
use crate::job::parameters::ValuesAre;
use crate::parts::Part;
use crate::shop::heading::Heading;
use crate::tables::metals::Metal;

use super::dimensions::{LETTERS, THICK, THIN};
use super::sizes::Units;
use super::{Drawing, DrawingStyle, Projection};

/// From the paper's edge to the border, mm.
const BORDER: f64 = 10.0;
/// Width and height of the title block, mm.
const TITLE: DVec2 = DVec2::new(150.0, 42.0);
/// Size of the notes' letters, and from one line of them to the next, mm.
const NOTES: f64 = 3.0;
const NOTE_LINE: f64 = 4.2;
/// Small words over the fields of the title block.
const SMALL: f64 = 2.2;
/// Room that is kept for notes and title block, mm above the border.
const FOOT: f64 = 47.0;
/// Scales of ISO 5455 that a small part is drawn at, largest first.
pub const SCALES: [f64; 6] = [20.0, 10.0, 5.0, 2.0, 1.0, 0.5];
/// General tolerance: ISO 2768-1, class f (from memory), by the greatest size it goes to, mm.
const GENERAL: [(f64, f64); 3] = [(6.0, 0.05), (30.0, 0.1), (120.0, 0.15)];

/// What a page is made for.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    pub job: &'a Job,
    pub part: &'a Part,
    pub metal: Metal,
    pub style: &'a DrawingStyle,
    pub heading: &'a Heading,
}

impl Page<'_> {
    /// Size of the paper, lying.
    pub fn size(&self) -> DVec2 {
        self.style.paper.lying()
    }

    /// Lower left and upper right corner of the room for views, over the title block and the notes.
    pub fn room(&self, notes: &[String]) -> (DVec2, DVec2) {
        let foot = FOOT.max(16.0 + NOTE_LINE * self.lines(notes).len() as f64);
        let low = DVec2::new(BORDER + 4.0, BORDER + foot);
        (low, self.size() - DVec2::splat(BORDER + 4.0))
    }

    /// The page with its views, ready to leave.
    pub fn finished(&self, mut sheet: Sheet, scale: f64, notes: &[String]) -> Drawing {
        sheet.frame(DVec2::splat(BORDER), self.size() - DVec2::splat(BORDER), THICK);
        self.title_block(&mut sheet, scale);
        self.notes(&mut sheet, notes);
        self.scale_bar(&mut sheet, scale);
        let title = format!("{}, order {}", self.part.name, self.heading.order);
        Drawing { id: self.part.id, title, scale, sheet }
    }

    /// The notes, numbered, in lines as wide as the room beside the title block.
    fn lines(&self, notes: &[String]) -> Vec<String> {
        let room = self.size().x - 2.0 * BORDER - TITLE.x - 8.0;
        let numbered = notes.iter().enumerate().map(|(i, note)| format!("{}. {note}", i + 1));
        numbered.flat_map(|note| wrapped(&note, room)).collect()
    }

    fn notes(&self, sheet: &mut Sheet, notes: &[String]) {
        // Over the scale bar, the last line lowest.
        for (i, line) in self.lines(notes).into_iter().rev().enumerate() {
            let at = DVec2::new(BORDER + 4.0, BORDER + 12.0 + NOTE_LINE * i as f64);
            sheet.text(at, NOTES, line, Anchor::Start);
        }
    }

    /// A bar as long as a round length of the part is drawn.
    fn scale_bar(&self, sheet: &mut Sheet, scale: f64) {
        let inches = self.style.units == Units::Inches;
        let unit = if inches { 25.4 } else { 1.0 };
        let length = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1]
            .into_iter()
            .find(|length| length * unit * scale <= 60.0)
            .unwrap_or(0.1);
        let on_paper = length * unit * scale;
        let at = DVec2::new(BORDER + 4.0, BORDER + 4.0);
        sheet.line(at, at + DVec2::new(on_paper, 0.0), THICK);
        for i in 0..=10_u32 {
            let foot = at + DVec2::new(on_paper * f64::from(i) / 10.0, 0.0);
            let tick = if i % 5 == 0 { 2.0 } else { 1.0 };
            sheet.line(foot, foot + DVec2::new(0.0, tick), THIN);
        }
        let name = if inches { "in" } else { "mm" };
        sheet.text(
            at + DVec2::new(on_paper + 2.0, 0.0),
            NOTES,
            format!("{length} {name} of the part ({on_paper:.1} mm on paper)"),
            Anchor::Start,
        );
    }

    fn title_block(&self, sheet: &mut Sheet, scale: f64) {
        let right = self.size().x - BORDER;
        let low = DVec2::new(right - TITLE.x, BORDER);
        sheet.frame(low, low + TITLE, THICK);
        let rows = [0.0, 8.0, 16.0, 24.0, 32.0];
        for row in rows.into_iter().skip(1) {
            let left = low + DVec2::new(0.0, row);
            sheet.line(left, left + DVec2::new(TITLE.x, 0.0), THIN);
        }
        let mut field = |row: usize, from: f64, to: f64, name: &str, words: &str| {
            let y = rows.get(row).copied().unwrap_or_default();
            let at = low + DVec2::new(from, y);
            if from > 0.0 {
                sheet.line(at, at + DVec2::new(0.0, 8.0), THIN);
            }
            sheet.text(at + DVec2::new(1.2, 5.4), SMALL, name, Anchor::Start);
            let size = fitting(words, LETTERS, to - from - 2.4);
            sheet.text(at + DVec2::new(1.2, 1.6), size, words, Anchor::Start);
        };
        let order = self.heading;
        field(0, 0.0, 42.0, "scale", &scale_words(scale));
        let (units, exact) = match self.style.units {
            Units::Millimetres => ("millimetres", ""),
            Units::Inches => ("inches", ""),
            Units::Both => ("mm [inches]", ", mm count"),
        };
        field(0, 42.0, 92.0, "units", &format!("{units}{exact}"));
        field(
            0,
            92.0,
            150.0,
            "projection",
            match self.style.projection {
                Projection::FirstAngle => "first angle",
                Projection::ThirdAngle => "third angle",
            },
        );
        field(1, 0.0, 150.0, "general tolerance, sizes without limits", &self.general_tolerance());
        field(2, 0.0, 60.0, "order", &order.order);
        field(2, 60.0, 120.0, "serial", &order.serial);
        field(2, 120.0, 150.0, "revision", &order.revision);
        let metal = order.material.clone().unwrap_or_else(|| self.metal.in_full());
        field(3, 0.0, 80.0, "material", &metal);
        field(3, 80.0, 130.0, "made by", self.part.made_by);
        field(3, 130.0, 150.0, "pieces", &order.quantity.to_string());
        sheet.text(low + DVec2::new(1.2, 35.0), 5.6, self.part.name, Anchor::Start);
        let paper = match self.style.paper {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "Letter",
        };
        let sheet_words = format!("{}, sheet 1 of 1, {paper}", self.part.id);
        let corner = low + DVec2::new(TITLE.x - 1.5, 35.0);
        sheet.text(corner, LETTERS, sheet_words, Anchor::End);
        self.symbol(sheet, low + DVec2::new(137.0, 4.0));
    }

    /// The symbol of the projection: a cut cone and its end view. The view from the left sees both ends of a cone that
    /// is narrow on the left; first angle puts it on the right, third angle on the left.
    fn symbol(&self, sheet: &mut Sheet, middle: DVec2) {
        let (side, ends) = match self.style.projection {
            Projection::FirstAngle => (-5.0, 5.0),
            Projection::ThirdAngle => (5.0, -5.0),
        };
        let at = |x: f64, y: f64| middle + DVec2::new(x, y);
        let (narrow, wide, half) = (1.25, 2.5, 3.0);
        let cone = [
            at(side - half, -narrow),
            at(side + half, -wide),
            at(side + half, wide),
            at(side - half, narrow),
        ];
        sheet.draw(Contour::through(&cone, true), THIN);
        for radius in [narrow, wide] {
            sheet.draw(Contour::circle(at(ends, 0.0), radius), THIN);
        }
        let axis = THIN.dashed(Dash::Chain);
        sheet.line(at(side - half - 1.0, 0.0), at(side + half + 1.0, 0.0), axis);
        sheet.line(at(ends - wide - 1.0, 0.0), at(ends + wide + 1.0, 0.0), axis);
        sheet.line(at(ends, -wide - 1.0), at(ends, wide + 1.0), axis);
    }

    fn general_tolerance(&self) -> String {
        let inches = self.style.units == Units::Inches;
        let list: Vec<String> = GENERAL
            .iter()
            .map(|(to, plus)| {
                if inches {
                    format!("\u{B1}{:.3} to {:.2}", plus / 25.4, to / 25.4)
                } else {
                    format!("\u{B1}{plus} to {to}")
                }
            })
            .collect();
        format!("ISO 2768-f ({})", list.join(", "))
    }

    /// What is said on every drawing.
    pub fn common_notes(&self) -> Vec<String> {
        let edges = match self.style.units {
            Units::Millimetres => "0.1 mm",
            Units::Inches => "0.004 in",
            Units::Both => "0.1 mm (0.004 in)",
        };
        let mut notes = vec![format!("Break sharp edges {edges}; free of burrs")];
        if self.job.values_are == ValuesAre::StartingValues {
            notes.push("Drawn from values to start from, not measured on the horn: ask before cutting metal".into());
        }
        notes
    }
}

/// A scale as it is written.
fn scale_words(scale: f64) -> String {
    if scale >= 1.0 { format!("{scale}:1") } else { format!("1:{}", 1.0 / scale) }
}

/// A size of letters at which words are no wider than their room.
fn fitting(words: &str, size: f64, room: f64) -> f64 {
    let width = text_width(words, size);
    if width <= room { size } else { size * room / width }
}

/// Words in lines no wider than a room, in the notes' letters.
fn wrapped(words: &str, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), NOTES) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) => lines.push(format!("    {word}")),
            None => lines.push(word.into()),
        }
    }
    lines
}
