//! A drawing larger than the paper, printed at 1:1 on several sheets with marks to join them by.

use glam::DVec2;

use crate::geometry::clip::shares_inside;
use crate::geometry::contour::Contour;

use super::{Anchor, PaperSize, Pen, Sheet};

/// Paper that printers leave white, with room for a line of words below, mm.
const BORDER: f64 = 12.0;

/// Width that neighbouring sheets show both, mm.
const SHARED: f64 = 10.0;

/// Length of a mark to join by, mm.
const JOIN: f64 = 5.0;

/// A drawing in its own millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    pub title: String,
    pub lines: Vec<(Contour, Pen)>,
    /// Words by the start of their base line, with their size, mm.
    pub words: Vec<(DVec2, f64, String)>,
}

impl Drawing {
    fn bounds(&self) -> (DVec2, DVec2) {
        let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let lines = self.lines.iter().map(|(contour, _)| contour.bounds());
        let words = self.words.iter().map(|(at, size, words)| {
            (*at, *at + DVec2::new(super::text_width(words, *size), *size))
        });
        lines.chain(words).fold(none, |sum, own| (sum.0.min(own.0), sum.1.max(own.1)))
    }
}

/// Lays a drawing out on as many sheets as it takes, row by row from the top left. Every sheet shows its share of the drawing at its
/// true size, a frame whose corners meet those of its neighbours, its place among them, and a bar of 100 mm.
#[must_use]
pub fn tiled(drawing: &Drawing, paper: PaperSize) -> Vec<Sheet> {
    let (low, high) = drawing.bounds();
    if !(low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let size = high - low;
    // Whichever way round needs fewer sheets.
    let count = |paper: DVec2| {
        let room = paper - 2.0 * BORDER - SHARED;
        ((size - SHARED).max(DVec2::ONE) / room).ceil().max(DVec2::ONE)
    };
    let (upright, lying) = (paper.upright(), paper.lying());
    let needs = |paper: DVec2| count(paper).x * count(paper).y;
    let paper = if needs(lying) < needs(upright) { lying } else { upright };
    let (grid, room) = (count(paper), paper - 2.0 * BORDER);
    // What the sheets show more than the drawing is left round it.
    let spare = (grid * (room - SHARED) + SHARED - size) / 2.0;
    let (columns, rows) = (grid.x as usize, grid.y as usize);
    let mut sheets = Vec::with_capacity(columns * rows);
    for row in 0..rows {
        for column in 0..columns {
            let step = room - SHARED;
            // The top row first.
            let corner = DVec2::new(
                low.x - spare.x + column as f64 * step.x,
                high.y + spare.y - room.y - row as f64 * step.y,
            );
            sheets.push(tile(drawing, paper, corner, (row, column), (rows, columns)));
        }
    }
    sheets
}

fn tile(
    drawing: &Drawing,
    paper: DVec2,
    corner: DVec2,
    (row, column): (usize, usize),
    (rows, columns): (usize, usize),
) -> Sheet {
    let mut sheet = Sheet::new(paper);
    let (low, high) = (DVec2::splat(BORDER), paper - BORDER);
    let shift = low - corner;
    for (contour, pen) in &drawing.lines {
        for piece in clipped(&contour.moved(|point| point + shift), low, high) {
            sheet.line(piece.0, piece.1, *pen);
        }
    }
    for (at, size, words) in &drawing.words {
        let at = *at + shift;
        let end = at + DVec2::new(super::text_width(words, *size), *size);
        // Words are not cut: they stand on the sheet that holds them whole.
        if at.cmpge(low).all() && end.cmple(high).all() {
            sheet.text(at, *size, words.clone(), Anchor::Start);
        }
    }
    let thin = Pen::solid(0.13);
    sheet.frame(low, high, thin);
    // Where the neighbour's frame runs, so that sheets can be laid on each other before they are glued.
    for (x, y) in [(low.x, low.y), (high.x, low.y), (low.x, high.y), (high.x, high.y)] {
        let out =
            DVec2::new(if x == low.x { -1.0 } else { 1.0 }, if y == low.y { -1.0 } else { 1.0 });
        let at = DVec2::new(x, y);
        sheet.line(at, at + DVec2::new(out.x * JOIN, 0.0), thin);
        sheet.line(at, at + DVec2::new(0.0, out.y * JOIN), thin);
    }
    let place = if rows * columns == 1 {
        String::from("one sheet")
    } else {
        format!(
            "row {} of {rows}, column {} of {columns}: neighbours overlap by {SHARED} mm, frame on frame line",
            row + 1,
            column + 1
        )
    };
    sheet.text(
        DVec2::new(low.x, paper.y - 8.0),
        3.0,
        format!("{}; {place}", drawing.title),
        Anchor::Start,
    );
    sheet.check_bar(DVec2::new(low.x, 5.0));
    for line in [SHARED, -SHARED] {
        // The frame of the neighbour on each side there is one.
        let x = if line > 0.0 {
            (column > 0).then_some(low.x + line)
        } else {
            (column + 1 < columns).then_some(high.x + line)
        };
        if let Some(x) = x {
            sheet.line(DVec2::new(x, low.y), DVec2::new(x, low.y + JOIN), thin);
            sheet.line(DVec2::new(x, high.y - JOIN), DVec2::new(x, high.y), thin);
        }
        let y = if line > 0.0 {
            (row + 1 < rows).then_some(low.y + line)
        } else {
            (row > 0).then_some(high.y + line)
        };
        if let Some(y) = y {
            sheet.line(DVec2::new(low.x, y), DVec2::new(low.x + JOIN, y), thin);
            sheet.line(DVec2::new(high.x - JOIN, y), DVec2::new(high.x, y), thin);
        }
    }
    sheet
}

/// Chord error of arcs on paper, mm: a fifth of the thinnest line.
const ON_PAPER: f64 = 0.02;

/// The straight pieces of a contour inside a rectangle.
fn clipped(contour: &Contour, low: DVec2, high: DVec2) -> Vec<(DVec2, DVec2)> {
    let points = contour.flattened(ON_PAPER);
    let closing = contour.closed.then(|| Some((*points.last()?, *points.first()?))).flatten();
    let sides = points.windows(2).map(|pair| (pair[0], pair[1])).chain(closing);
    sides
        .filter_map(|(a, b)| {
            let (from, to) = shares_inside(a, b, (low, high))?;
            (from < to).then(|| (a + (b - a) * from, a + (b - a) * to))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::Mark;
    use super::*;

    /// A line of 500 mm on paper 186 mm wide inside its frame: every sheet shows its share, what neighbours share twice,
    /// so lengths add up to the line's and to the shared width at every join.
    #[test]
    fn sheets_show_all_of_a_line_and_share_what_they_should() {
        let pen = Pen::solid(0.4);
        let lines = vec![(Contour::line(DVec2::ZERO, DVec2::new(500.0, 0.0)), pen)];
        let drawing = Drawing { title: "line".to_owned(), lines, words: Vec::new() };
        let sheets = tiled(&drawing, PaperSize::A4);
        let shown: f64 = sheets
            .iter()
            .flat_map(|sheet| &sheet.marks)
            .map(|mark| match mark {
                Mark::Line { contour, pen: own } if *own == pen => contour.length(),
                _ => 0.0,
            })
            .sum();
        assert!(sheets.len() > 1);
        let want = 500.0 + SHARED * (sheets.len() - 1) as f64;
        assert!((shown - want).abs() < 1e-9, "{shown} {want}");
    }
}
