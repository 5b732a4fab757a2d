//! Words, tables and boxes one under the other, in one column or several, sheet after sheet.

use glam::DVec2;

use crate::exports::paper::{Anchor, Pen, Sheet, text_width};
use crate::geometry::contour::Contour;

/// Room left at the left (for a binder), at the right and at the top, mm.
const LEFT: f64 = 14.0;
const RIGHT: f64 = 9.0;
const TOP: f64 = 9.0;
/// Room left below, for the foot of the page.
const BOTTOM: f64 = 12.5;
/// Room between columns.
const BETWEEN: f64 = 5.0;

/// Sizes of words, mm: read at a bench, the smallest 7.5 points.
pub const BODY: f64 = 2.9;
pub const SMALL: f64 = 2.65;
pub const HEAD: f64 = 3.7;

/// Height of a sheet nothing is parted on, mm.
const ENDLESS: f64 = 1e5;

/// From base line to base line, in sizes.
const STEP: f64 = 1.17;
/// Room above and below the words of a table's row together, mm; more where what is measured is written into it by hand.
const ROW: f64 = 0.8;
const WRITTEN_ROW: f64 = 1.5;

/// Least room for a value written by hand, mm.
const WRITTEN: f64 = 15.0;
/// Where the words of a step begin beside its box to tick, mm.
pub const TICKED: f64 = 5.4;

/// How a line round a box, under a heading, in a table is drawn.
const THIN: Pen = Pen { grey: 0.55, ..Pen::solid(0.13) };
const FIRM: Pen = Pen::solid(0.3);

/// A column of a table.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    pub head: &'static str,
    /// Share of the width.
    pub share: f64,
    /// Whether it is left white for a measured value.
    pub blank: bool,
}

/// A column of words.
pub const fn column(head: &'static str, share: f64) -> Column {
    Column { head, share, blank: false }
}

/// A column to write into.
pub const fn blank(head: &'static str, share: f64) -> Column {
    Column { head, share, blank: true }
}

/// Sheets being filled.
#[derive(Debug)]
pub struct Flow {
    size: DVec2,
    sheets: Vec<Sheet>,
    sheet: Sheet,
    /// Upper end of the room that is left.
    y: f64,
    columns: u32,
    /// Which of them is being filled.
    column: u32,
    /// Where the columns of this sheet begin.
    top: f64,
}

impl Flow {
    pub fn new(size: DVec2) -> Self {
        let top = size.y - TOP;
        Self {
            size,
            sheets: Vec::new(),
            sheet: Sheet::new(size),
            y: top,
            columns: 1,
            column: 0,
            top,
        }
    }

    /// Width of a column.
    pub fn width(&self) -> f64 {
        let count = f64::from(self.columns);
        (self.size.x - LEFT - RIGHT - BETWEEN * (count - 1.0)) / count
    }

    fn left(&self) -> f64 {
        LEFT + f64::from(self.column) * (self.width() + BETWEEN)
    }

    /// Goes on in so many columns, on a sheet of its own.
    pub fn columns(&mut self, count: u32) {
        self.column = self.columns;
        self.turn_over();
        self.columns = count;
    }

    /// Goes on in the next column; after the last on the next sheet, unless nothing stands on this one.
    pub fn turn_over(&mut self) {
        if self.column + 1 < self.columns {
            self.column += 1;
            self.y = self.top;
            return;
        }
        if !self.sheet.marks.is_empty() {
            let full = std::mem::replace(&mut self.sheet, Sheet::new(self.size));
            self.sheets.push(full);
        }
        self.column = 0;
        self.top = self.size.y - TOP;
        self.y = self.top;
    }

    /// Sees to it that so much height is left.
    pub fn need(&mut self, height: f64) {
        if self.y - height < BOTTOM {
            self.turn_over();
        }
    }

    /// Writes what is not to be parted: it is written on a sheet without end first, to see how high it is.
    pub fn together(&mut self, write: impl Fn(&mut Self)) {
        self.need(self.height_of(&write));
        write(self);
    }

    /// How high it is, mm.
    pub fn height_of(&self, write: impl Fn(&mut Self)) -> f64 {
        let mut trial = Self::new(DVec2::new(self.size.x, ENDLESS));
        trial.columns = self.columns;
        // It stands under something.
        trial.top = ENDLESS;
        let from = trial.y;
        write(&mut trial);
        from - trial.y
    }

    /// Height that is left of this column, mm.
    pub fn left_over(&self) -> f64 {
        self.y - BOTTOM
    }

    /// Whether this is the upper end of a column.
    pub fn is_at_top(&self) -> bool {
        self.y >= self.top
    }

    pub fn gap(&mut self, height: f64) {
        self.y -= height;
    }

    /// Takes a room of its own height off the sheet: its lower left corner.
    pub fn room(&mut self, height: f64) -> DVec2 {
        self.need(height);
        self.y -= height;
        DVec2::new(self.left(), self.y)
    }

    pub fn sheet(&mut self) -> &mut Sheet {
        &mut self.sheet
    }

    /// A heading with a line under it, kept together with what follows.
    pub fn heading(&mut self, words: &str) {
        self.need(28.0);
        self.y -= if self.is_at_top() { HEAD } else { HEAD * 1.6 };
        for line in wrapped(words, HEAD, self.width()) {
            let at = DVec2::new(self.left(), self.y);
            self.sheet.text(at, HEAD, line, Anchor::Start);
            self.y -= HEAD * STEP;
        }
        self.y += HEAD * STEP;
        let at = DVec2::new(self.left(), self.y - 1.2);
        self.sheet.line(at, at + DVec2::new(self.width(), 0.0), FIRM);
        self.y -= 2.0;
    }

    /// Words over the width, from an indent.
    pub fn words(&mut self, words: &str, size: f64, indent: f64) {
        for line in wrapped(words, size, self.width() - indent) {
            self.need(size * STEP);
            self.y -= size * STEP;
            self.sheet.text(DVec2::new(self.left() + indent, self.y), size, line, Anchor::Start);
        }
    }

    /// Words in a frame.
    pub fn boxed(&mut self, words: &str, size: f64) {
        let lines = wrapped(words, size, self.width() - 6.0);
        let height = lines.len() as f64 * size * STEP + 3.0;
        let low = self.room(height);
        let high = low + DVec2::new(self.width(), height);
        self.sheet.frame(low, high, FIRM);
        for (index, line) in lines.into_iter().enumerate() {
            let down = size * STEP * (index as f64 + 1.0) + 0.7;
            self.sheet.text(DVec2::new(low.x + 3.0, high.y - down), size, line, Anchor::Start);
        }
        self.y -= 2.0;
    }

    /// A caution: a triangle with a mark in it, and small words.
    pub fn caution(&mut self, words: &str, indent: f64) {
        let lines = wrapped(words, SMALL, self.width() - indent - 4.4);
        self.need(lines.len() as f64 * SMALL * STEP);
        for (index, line) in lines.into_iter().enumerate() {
            self.y -= SMALL * STEP;
            let at = DVec2::new(self.left() + indent, self.y);
            if index == 0 {
                let corners = [DVec2::new(0.0, -0.3), DVec2::new(3.0, -0.3), DVec2::new(1.5, 2.3)];
                self.sheet.draw(Contour::through(&corners.map(|c| c + at), true), Pen::solid(0.2));
                self.sheet.line(
                    at + DVec2::new(1.5, 0.55),
                    at + DVec2::new(1.5, 1.5),
                    Pen::solid(0.35),
                );
                self.sheet.line(
                    at + DVec2::new(1.5, 0.0),
                    at + DVec2::new(1.5, 0.25),
                    Pen::solid(0.35),
                );
            }
            self.sheet.text(at + DVec2::new(4.4, 0.0), SMALL, line, Anchor::Start);
        }
    }

    /// A box to tick before a line of words.
    pub fn tick(&mut self, words: &str, size: f64) {
        let lines = wrapped(words, size, self.width() - TICKED);
        self.need(lines.len() as f64 * size * STEP + 8.0);
        for (index, line) in lines.into_iter().enumerate() {
            self.y -= size * STEP;
            let at = DVec2::new(self.left(), self.y);
            if index == 0 {
                let low = at - DVec2::new(0.0, 0.9);
                self.sheet.frame(low, low + DVec2::splat(3.6), FIRM);
            }
            self.sheet.text(at + DVec2::new(TICKED, 0.0), size, line, Anchor::Start);
        }
    }

    /// Places for measured values, each with what is measured, as many side by side as there is room for.
    pub fn measured(&mut self, names: &[String], indent: f64) {
        let room = self.width() - indent;
        let wide = |name: &String| text_width(&format!("{name}:"), SMALL) + 1.0 + WRITTEN;
        let mut names = names;
        while !names.is_empty() {
            let fits = |count: usize| {
                names.iter().take(count).all(|name| wide(name) <= room / count as f64)
            };
            let count = (1..=names.len()).rev().find(|count| fits(*count)).unwrap_or(1);
            let (row, rest) = names.split_at(count);
            self.need(5.1);
            self.y -= 4.7;
            let share = room / count.max(2) as f64;
            for (index, name) in row.iter().enumerate() {
                let at = DVec2::new(self.left() + indent + share * index as f64, self.y);
                let words = format!("{name}:");
                let from = text_width(&words, SMALL) + 1.0;
                self.sheet.text(at, SMALL, words, Anchor::Start);
                let end = at + DVec2::new((share - 2.0).max(from + WRITTEN - 2.0), -0.5);
                self.sheet.line(DVec2::new(at.x + from, end.y), end, THIN);
            }
            self.y -= 0.4;
            names = rest;
        }
    }

    /// A table; its head is said again on every sheet it goes on on.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>], size: f64) {
        let whole: f64 = columns.iter().map(|column| column.share).sum();
        let widths: Vec<f64> =
            columns.iter().map(|column| column.share / whole * self.width()).collect();
        let head: Vec<String> = columns.iter().map(|column| column.head.to_string()).collect();
        self.need(size * STEP * 4.0 + 6.0);
        let pad = padding(columns);
        self.row(columns, &widths, &head, size.min(SMALL), true);
        for row in rows {
            let lines =
                widths.iter().zip(row).map(|(width, cell)| wrapped(cell, size, width - 2.0).len());
            let height = lines.max().unwrap_or(1) as f64 * size * STEP + pad;
            if self.y - height < BOTTOM {
                self.turn_over();
                self.row(columns, &widths, &head, size.min(SMALL), true);
            }
            self.row(columns, &widths, row, size, false);
        }
        self.y -= 1.5;
    }

    /// Rows without a head.
    pub fn rows(&mut self, columns: &[Column], rows: &[Vec<String>], size: f64) {
        let whole: f64 = columns.iter().map(|column| column.share).sum();
        let widths: Vec<f64> =
            columns.iter().map(|column| column.share / whole * self.width()).collect();
        for row in rows {
            self.need(size * STEP + WRITTEN_ROW);
            self.row(columns, &widths, row, size, false);
        }
    }

    fn row(&mut self, columns: &[Column], widths: &[f64], cells: &[String], size: f64, head: bool) {
        let lines: Vec<Vec<String>> = widths
            .iter()
            .zip(cells)
            .map(|(width, cell)| wrapped(cell, size, width - 2.0))
            .collect();
        let count = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let height = count as f64 * size * STEP + padding(columns);
        let top = self.y;
        self.y -= height;
        let mut x = self.left();
        for ((column, width), lines) in columns.iter().zip(widths).zip(&lines) {
            if head {
                let corners = [
                    DVec2::new(x, self.y),
                    DVec2::new(x + width, self.y),
                    DVec2::new(x + width, top),
                    DVec2::new(x, top),
                ];
                self.sheet.fill(vec![Contour::through(&corners, true)], 0.9);
            } else if column.blank && lines.iter().all(String::is_empty) {
                self.sheet.frame(
                    DVec2::new(x + 0.6, self.y + 0.5),
                    DVec2::new(x + width - 0.6, top - 0.5),
                    THIN,
                );
            }
            for (index, line) in lines.iter().enumerate() {
                let down = size * STEP * (index as f64 + 1.0) + (padding(columns) - ROW) / 2.0;
                self.sheet.text(DVec2::new(x + 1.0, top - down), size, line.clone(), Anchor::Start);
            }
            x += width;
        }
        self.sheet.line(
            DVec2::new(self.left(), self.y),
            DVec2::new(self.left() + self.width(), self.y),
            THIN,
        );
    }

    /// Lines to write on.
    pub fn lines(&mut self, count: usize) {
        for _ in 0..count {
            let at = self.room(7.5);
            self.sheet.line(at, at + DVec2::new(self.width(), 0.0), THIN);
        }
    }

    /// A line over the width of the column.
    pub fn rule(&mut self) {
        self.y -= 1.1;
        let at = DVec2::new(self.left(), self.y);
        self.sheet.line(at, at + DVec2::new(self.width(), 0.0), THIN);
    }

    /// The sheets, each with its foot: whose they are, what paper it is, and which sheet of how many.
    pub fn finished(mut self, paper: &str, foot: &str) -> Vec<Sheet> {
        self.column = self.columns;
        self.turn_over();
        let count = self.sheets.len();
        for (index, sheet) in self.sheets.iter_mut().enumerate() {
            let at = DVec2::new(LEFT, 7.0);
            let end = DVec2::new(self.size.x - RIGHT, 7.0);
            sheet.line(at + DVec2::new(0.0, 3.6), end + DVec2::new(0.0, 3.6), THIN);
            sheet.text(at, SMALL, foot, Anchor::Start);
            sheet.text(end, SMALL, format!("{paper}, sheet {} of {count}", index + 1), Anchor::End);
        }
        self.sheets
    }
}

fn padding(columns: &[Column]) -> f64 {
    if columns.iter().any(|column| column.blank) { WRITTEN_ROW } else { ROW }
}

/// Words as lines of a width. A word that is wider by itself is cut.
fn wrapped(words: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words.split_whitespace() {
        let mut rest = word;
        loop {
            let joined = if line.is_empty() { rest.to_string() } else { format!("{line} {rest}") };
            if text_width(&joined, size) <= width {
                line = joined;
                break;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                continue;
            }
            // As many letters as go on a line, one at least.
            let fits = rest
                .char_indices()
                .map(|(at, letter)| at + letter.len_utf8())
                .take_while(|end| text_width(rest.get(..*end).unwrap_or(rest), size) <= width)
                .last();
            let first = rest.chars().next().map_or(rest.len(), char::len_utf8);
            let (here, there) = rest.split_at(fits.unwrap_or(first));
            lines.push(here.to_string());
            rest = there;
            if rest.is_empty() {
                break;
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: Helvetica's digits are 0.556 of the size wide, a space 0.278.
    #[test]
    fn no_line_is_wider_than_its_room_and_no_word_is_lost() {
        let words = "1234 5678 9012 345678901234567890 é";
        let lines = wrapped(words, 1.0, 5.0);
        assert!(lines.iter().all(|line| text_width(line, 1.0) <= 5.0), "{lines:?}");
        let all: String = lines.concat().chars().filter(|c| *c != ' ').collect();
        let given: String = words.chars().filter(|c| *c != ' ').collect();
        assert_eq!(all, given);
        assert_eq!(lines[0], "1234 5678");
    }

    #[test]
    fn a_table_longer_than_a_sheet_goes_on_with_its_head() {
        let mut flow = Flow::new(DVec2::new(210.0, 297.0));
        let rows: Vec<Vec<String>> =
            (0..150).map(|i| vec![format!("row {i}"), String::new()]).collect();
        flow.table(&[column("what", 1.0), blank("measured", 1.0)], &rows, BODY);
        let sheets = flow.finished("card", "order 1");
        assert!(sheets.len() > 1);
        let texts = |sheet: &Sheet| -> Vec<String> {
            sheet
                .marks
                .iter()
                .filter_map(|mark| match mark {
                    crate::exports::paper::Mark::Text(text) => {
                        assert!(text.at.y >= 7.0 && text.at.y < 297.0);
                        Some(text.words.clone())
                    }
                    _ => None,
                })
                .collect()
        };
        let all: Vec<String> = sheets
            .iter()
            .flat_map(|sheet| {
                let texts = texts(sheet);
                assert!(texts.contains(&"measured".to_string()));
                texts
            })
            .collect();
        assert!((0..150).all(|i| all.contains(&format!("row {i}"))));
    }
}
