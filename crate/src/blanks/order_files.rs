//! The files of blanks, gauges and their lay, for whoever cuts them and for the printer.

use glam::DVec2;
use serde::Serialize;

use crate::exports::outline_file::{self, OutlineFile, Words};
use crate::exports::paper::{Drawing, PaperSize, Pen, pdf, tiled};
use crate::geometry::contour::Contour;

use super::lay::{Ground, Lay, Laying, Place};
use super::order::{BlankOrder, Piece};
use super::share::{LAID, Share};
use super::sheet_file::SheetFile;
use super::strain_file::StrainReport;

/// Height of words beside the outlines, and from line to line, mm.
const WORDS: (f64, f64) = (3.0, 5.0);

/// Room between gauges, and between sheets in the file of a lay, mm.
const ROOM: f64 = 15.0;

impl BlankOrder {
    /// A line of the blank where it lies.
    fn laid(&self, place: &Place, line: &Contour) -> Contour {
        let middle = self.shapes.all[place.shape].middle;
        if place.shape % 2 == 1 {
            mirrored(line).moved(|at| place.forth(at - middle))
        } else {
            line.moved(|at| place.forth(at - middle))
        }
    }

    /// The files of blanks and gauges by name, and of the lay if one was started. Those of the second and later orders carry
    /// their number: `blank_2.dxf`.
    ///
    /// # Errors
    ///
    /// Text that cannot be written, which no order has.
    pub fn files(
        &self,
        laying: Option<&Laying>,
        seed: u32,
        paper: PaperSize,
    ) -> Result<Vec<(String, Vec<u8>)>, serde_json::Error> {
        let (mut files, mut printed) = (Vec::new(), Vec::new());
        for (place, share) in self.shares.iter().enumerate() {
            let number = if place == 0 { String::new() } else { format!("_{}", place + 1) };
            let drawn = [("blank", blank_file(share, &self.sheet)), ("gauges", gauge_file(share))];
            for (name, file) in drawn {
                files.push((format!("{name}{number}.dxf"), outline_file::dxf(&file)));
                files.push((format!("{name}{number}.svg"), outline_file::svg(&file)));
                printed.extend(tiled(&drawing(&file), paper));
            }
            files.push((format!("strain{number}.json"), json(&StrainReport::of(share))?));
        }
        if let Some(laying) = laying {
            let none = Lay { sheets: Vec::new(), length: None };
            let lay = laying.best().unwrap_or(&none);
            let sheets = self.lay_file(lay);
            files.push(("lay.dxf".to_owned(), outline_file::dxf(&sheets)));
            files.push(("lay.svg".to_owned(), outline_file::svg(&sheets)));
            files.push(("lay.json".to_owned(), json(&self.report(laying, seed))?));
            printed.extend(tiled(&drawing(&sheets), paper));
        }
        let title = format!("Blanks of order {}", self.first().job.order.number);
        files.push(("print.pdf".to_owned(), pdf(&title, &printed)));
        Ok(files)
    }

    /// The number of a half shell, from 1, and which half it is, written in the middle of its side line.
    fn number(&self, piece: usize, place: &Place, shift: DVec2) -> Option<Words> {
        let Piece { share, number } = *self.pieces.get(piece)?;
        let half = if place.shape % 2 == 1 { "L" } else { "R" };
        let order = if self.shares.len() > 1 { letter(share) } else { String::new() };
        let text = format!("{order}{} {half}", number + 1);
        let line = self.laid(place, &self.shares.get(share)?.blank.side_line);
        let corners = line.flattened(LAID);
        let middle = *corners.get(corners.len() / 2)?;
        // A letter is about as wide as two thirds of its height.
        let size = DVec2::new(text.len() as f64 * WORDS.0 * 0.65, WORDS.0);
        Some(Words { at: middle + shift - size / 2.0, height_mm: WORDS.0, text })
    }

    fn lay_file(&self, lay: &Lay) -> OutlineFile {
        let first = self.first();
        let mut file = OutlineFile {
            title: format!("blanks of order {} on {}", first.job.order.number, self.sheet.name),
            ..OutlineFile::default()
        };
        let size = self.aim.size(lay.length.unwrap_or_default());
        for (number, pieces) in lay.sheets.iter().enumerate() {
            let shift = DVec2::new(0.0, -(number as f64) * (size.y + 2.0 * ROOM));
            match self.aim.ground() {
                Some(Ground::Offcut { border, holes, .. }) => {
                    for ring in holes.iter().chain([border]) {
                        file.note.push(Contour::through(ring, true).moved(|at| at + shift));
                    }
                }
                _ => {
                    let corners =
                        [DVec2::ZERO, DVec2::new(size.x, 0.0), size, DVec2::new(0.0, size.y)];
                    file.note.push(Contour::through(&corners, true).moved(|at| at + shift));
                }
            }
            let text = format!(
                "{}, sheet {} of {}: {} blanks, {} mm, {} x {} mm",
                self.sheet.name,
                number + 1,
                lay.sheets.len(),
                pieces.len(),
                trimmed(first.blank.thickness_mm),
                trimmed(size.x),
                trimmed(size.y)
            );
            file.words.push(Words {
                at: shift - DVec2::new(0.0, WORDS.1),
                height_mm: WORDS.0,
                text,
            });
            for (piece, place) in pieces {
                let lay = |line: &Contour| self.laid(place, line).moved(|at| at + shift);
                let blank = &self.shares[place.shape / 2].blank;
                file.cut.push(lay(&blank.outline));
                file.mark.extend(blank.finished.iter().map(lay));
                file.words.extend(self.number(*piece, place, shift));
            }
        }
        file
    }
}

/// What order a half shell is of, where there are several: A, B and so on.
fn letter(share: usize) -> String {
    u8::try_from(share)
        .ok()
        .filter(|share| *share < 26)
        .map_or_else(|| format!("{} ", share + 1), |share| format!("{} ", char::from(b'A' + share)))
}

/// The blank of an order as a file for whoever cuts it.
fn blank_file(share: &Share, sheet: &SheetFile) -> OutlineFile {
    let (low, _) = share.blank.outline.bounds();
    let order = &share.job.order;
    let allowances = &sheet.allowances;
    let lines = [
        format!(
            "Half shell, right; the left one is this one turned over. Order {}, serial {}, revision {}",
            order.number, order.serial, order.revision
        ),
        format!(
            "{} {}, {} mm",
            share.metal.id(),
            share.metal.name(),
            trimmed(share.blank.thickness_mm)
        ),
        format!(
            "Left on: seams {} mm, ends {} mm. mm, 1:1. Cork end left; stations every 10 mm",
            trimmed(allowances.seam_mm),
            trimmed(allowances.trim_mm + allowances.clamping_mm)
        ),
    ];
    OutlineFile {
        title: format!("blank of order {}", order.number),
        cut: vec![share.blank.outline.clone()],
        mark: share.blank.marks().cloned().collect(),
        note: Vec::new(),
        words: words(&lines, low),
    }
}

fn gauge_file(share: &Share) -> OutlineFile {
    let mut file = OutlineFile {
        title: format!("gauges of order {}", share.job.order.number),
        ..OutlineFile::default()
    };
    let mut next = 0.0;
    for gauge in &share.gauges {
        let (low, high) = gauge.outline.bounds();
        let shift = DVec2::new(-low.x, next - low.y);
        file.cut.push(gauge.outline.moved(|at| at + shift));
        let at = DVec2::new(0.0, next - WORDS.1);
        file.words.push(Words { at, height_mm: WORDS.0, text: gauge.words.clone() });
        next += high.y - low.y + ROOM;
    }
    file
}

fn json<T: Serialize>(value: &T) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(value)?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn words(lines: &[String], low: DVec2) -> Vec<Words> {
    let at = |line: usize| low - DVec2::new(0.0, WORDS.1 * (line as f64 + 1.5));
    let numbered = lines.iter().enumerate();
    numbered
        .map(|(line, text)| Words { at: at(line), height_mm: WORDS.0, text: text.clone() })
        .collect()
}

/// A contour mirrored across the y axis: arcs bend the other way.
fn mirrored(line: &Contour) -> Contour {
    let mut line = line.clone();
    for vertex in &mut line.vertices {
        vertex.at.x = -vertex.at.x;
        vertex.bulge = -vertex.bulge;
    }
    line
}

/// A length without needless zeros.
pub(super) fn trimmed(length: f64) -> String {
    let text = format!("{length:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The file as it is printed: cut lines bold, marks thin.
fn drawing(file: &OutlineFile) -> Drawing {
    let pens = [
        (&file.cut, Pen::solid(0.35)),
        (&file.mark, Pen::solid(0.13)),
        (&file.note, Pen::solid(0.18)),
    ];
    let lines = pens
        .into_iter()
        .flat_map(|(lines, pen)| lines.iter().cloned().map(move |line| (line, pen)));
    let words = file.words.iter().map(|words| (words.at, words.height_mm, words.text.clone()));
    Drawing { title: file.title.clone(), lines: lines.collect(), words: words.collect() }
}
