//! The packing list: every file of a package with what it is of, as a table and as sheets of paper.

use std::fmt::Write;

use glam::DVec2;
use serde::Serialize;

use crate::exports::paper::{Anchor, PaperSize, Pen, Sheet, pdf, text_width};

/// One file of a package, and the part it is of.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PackedFile {
    /// Short name of the part, or `neck` for a file of several.
    pub part: String,
    pub name: String,
    /// For the whole order.
    pub quantity: u32,
    /// Designation of the metal; empty for a file of several parts.
    pub metal: String,
    pub metal_name: String,
    pub temper: String,
    /// Of sheet; null for what is not made from sheet.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub thickness_mm: Option<f64>,
    /// Of one piece, by the metal's typical density.
    pub mass_g: f64,
    pub made_by: String,
    /// Name in the package, with its folder.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: String,
    /// Checks of the part that fail.
    pub findings: Vec<String>,
    /// What whoever makes it should know, though nothing fails.
    pub notes: Vec<String>,
}

/// Every file of a package but the list itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct PackingList {
    pub order: String,
    pub serial: String,
    pub revision: String,
    /// How many necks the order is for.
    pub necks: u32,
    pub files: Vec<PackedFile>,
}

/// Columns of the table.
const COLUMNS: [&str; 17] = [
    "part",
    "name",
    "quantity",
    "metal",
    "metal_name",
    "temper",
    "thickness_mm",
    "mass_g",
    "total_mass_g",
    "made_by",
    "file",
    "sha256",
    "order",
    "serial",
    "revision",
    "findings",
    "notes",
];

impl PackingList {
    /// The list as comma-separated text (RFC 4180), UTF-8, one row a file.
    #[must_use]
    pub fn csv(&self) -> String {
        let mut out = COLUMNS.join(",") + "\r\n";
        for row in &self.files {
            let thickness = row.thickness_mm.map(|mm| mm.to_string()).unwrap_or_default();
            let cells: [String; COLUMNS.len()] = [
                cell(&row.part),
                cell(&row.name),
                row.quantity.to_string(),
                cell(&row.metal),
                cell(&row.metal_name),
                cell(&row.temper),
                thickness,
                grams(row.mass_g),
                grams(row.mass_g * f64::from(row.quantity)),
                cell(&row.made_by),
                cell(&row.file),
                cell(&row.sha256),
                cell(&self.order),
                cell(&self.serial),
                cell(&self.revision),
                cell(&row.findings.join("; ")),
                cell(&row.notes.join("; ")),
            ];
            out.push_str(&cells.join(","));
            out.push_str("\r\n");
        }
        out
    }

    /// The list as a PDF file, to be laid into the parcel.
    #[must_use]
    pub fn pdf(&self) -> Vec<u8> {
        pdf(&format!("Packing list, {}", self.whose()), &self.sheets())
    }

    fn whose(&self) -> String {
        let necks = if self.necks == 1 { String::new() } else { format!(", {} necks", self.necks) };
        format!("order {} serial {} revision {}{necks}", self.order, self.serial, self.revision)
    }

    fn sheets(&self) -> Vec<Sheet> {
        let mut pages: Vec<Vec<(f64, Row<'_>)>> = vec![Vec::new()];
        let mut y = TOP;
        for rows in self.groups() {
            // A part's rows stand together, unless they are more than a page.
            let height: f64 = rows.iter().map(Row::height).sum();
            let mut fits = y - height >= BOTTOM || height > TOP - BOTTOM;
            for row in rows {
                if !fits || y - row.height() < BOTTOM {
                    pages.push(Vec::new());
                    y = TOP;
                    fits = true;
                }
                y -= row.height();
                if let Some(page) = pages.last_mut() {
                    page.push((y, row));
                }
            }
        }
        let count = pages.len();
        pages.iter().enumerate().map(|(index, rows)| self.sheet(rows, index + 1, count)).collect()
    }

    /// The rows of each part, one after the other.
    fn groups(&self) -> Vec<Vec<Row<'_>>> {
        let mut groups: Vec<(&str, Vec<Row<'_>>)> = Vec::new();
        for file in &self.files {
            if groups.last().is_none_or(|(part, _)| *part != file.part) {
                let mut rows = vec![Row::Part(file)];
                let fails = file.findings.iter().map(|words| format!("FAILS A CHECK: {words}"));
                let notes = file.notes.iter().map(|words| format!("Note: {words}"));
                for words in fails.chain(notes) {
                    let lines = wrapped(&words, SMALL, RIGHT - INDENT);
                    rows.extend(lines.into_iter().map(Row::Words));
                }
                groups.push((&file.part, rows));
            }
            if let Some((_, rows)) = groups.last_mut() {
                rows.push(Row::File(file));
            }
        }
        groups.into_iter().map(|(_, rows)| rows).collect()
    }

    fn sheet(&self, rows: &[(f64, Row<'_>)], page: usize, pages: usize) -> Sheet {
        let mut sheet = Sheet::new(PaperSize::A4.upright());
        let thin = Pen::solid(0.18);
        sheet.text(DVec2::new(LEFT, 280.0), 5.0, "Packing list", Anchor::Start);
        fitted(&mut sheet, DVec2::new(LEFT, 273.5), 3.5, &self.whose(), RIGHT - LEFT);
        let of = format!("page {page} of {pages}");
        sheet.text(DVec2::new(RIGHT, 280.0), 3.0, of, Anchor::End);
        for (x, words) in [
            (LEFT, "quantity"),
            (INDENT, "part"),
            (METAL, "metal"),
            (TEMPER, "temper"),
            (THICKNESS, "thickness"),
        ] {
            sheet.text(DVec2::new(x, TOP + 1.5), SMALL, words, Anchor::Start);
        }
        sheet.text(DVec2::new(RIGHT, TOP + 1.5), SMALL, "mass each, all", Anchor::End);
        sheet.line(DVec2::new(LEFT, TOP), DVec2::new(RIGHT, TOP), thin);
        for (y, row) in rows {
            let at = |x: f64| DVec2::new(x, y + 1.2);
            match row {
                Row::Part(file) => part_row(&mut sheet, *y, file),
                Row::Words(words) => {
                    sheet.text(at(INDENT), SMALL, words.as_str(), Anchor::Start);
                }
                Row::File(file) => {
                    fitted(&mut sheet, at(INDENT), SMALL, &file.file, HASH - INDENT - 2.0);
                    sheet.text(at(HASH), HASH_SIZE, file.sha256.as_str(), Anchor::Start);
                }
            }
        }
        let foot = "Lengths in millimetres. Masses are estimates by typical densities. Long numbers: SHA-256 of the file.";
        sheet.text(DVec2::new(LEFT, 10.0), SMALL, foot, Anchor::Start);
        sheet
    }
}

fn part_row(sheet: &mut Sheet, y: f64, file: &PackedFile) {
    let thin = Pen::solid(0.1);
    sheet.line(DVec2::new(LEFT, y + 5.6), DVec2::new(RIGHT, y + 5.6), thin);
    let mut put = |x: f64, words: &str, width: f64| {
        fitted(sheet, DVec2::new(x, y + 1.6), LARGE, words, width);
    };
    put(LEFT, &file.quantity.to_string(), INDENT - LEFT - 2.0);
    put(INDENT, &file.name, METAL - INDENT - 2.0);
    // Copper alloys are ordered by number; others have no designation but their name.
    let numbered =
        file.metal.ends_with(|c: char| c.is_ascii_digit()) && file.metal.starts_with('C');
    let metal = if numbered {
        format!("{} {}", file.metal, file.metal_name)
    } else {
        file.metal_name.clone()
    };
    put(METAL, &metal, TEMPER - METAL - 2.0);
    put(TEMPER, &file.temper, THICKNESS - TEMPER - 2.0);
    if let Some(mm) = file.thickness_mm {
        put(THICKNESS, &format!("{:.2} mm", mm), 18.0);
    }
    let all = file.mass_g * f64::from(file.quantity);
    let mass = format!("{:.2} g, {all:.2} g", file.mass_g);
    sheet.text(DVec2::new(RIGHT, y + 1.6), LARGE, mass, Anchor::End);
}

/// Edges of the list and its columns on the sheet, mm.
const LEFT: f64 = 15.0;
const INDENT: f64 = 28.0;
const METAL: f64 = 62.0;
const TEMPER: f64 = 105.0;
const THICKNESS: f64 = 142.0;
const RIGHT: f64 = 195.0;
const TOP: f64 = 264.0;
const BOTTOM: f64 = 16.0;
const HASH: f64 = 122.0;
/// Sizes of letters, mm.
const LARGE: f64 = 3.2;
const SMALL: f64 = 2.6;
const HASH_SIZE: f64 = 2.0;

/// One row on paper.
enum Row<'a> {
    Part(&'a PackedFile),
    Words(String),
    File(&'a PackedFile),
}

impl Row<'_> {
    fn height(&self) -> f64 {
        match self {
            Self::Part(_) => 6.6,
            Self::Words(_) | Self::File(_) => 4.0,
        }
    }
}

/// Puts words on a line, smaller where they would be wider than there is room.
fn fitted(sheet: &mut Sheet, at: DVec2, size: f64, words: &str, room: f64) {
    let width = text_width(words, size);
    let size = if width > room { size * room / width } else { size };
    sheet.text(at, size, words, Anchor::Start);
}

/// Words broken into lines of a width.
fn wrapped(words: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if line.is_empty() || text_width(&longer, size) <= room {
            *line = longer;
        } else {
            lines.push(word.to_string());
        }
    }
    lines
}

/// Grams to a tenth of a milligram.
fn grams(mass: f64) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write!(text, "{mass:.4}");
    text
}

/// A text as a cell. One that a spreadsheet would take for a formula is made a text to it by an apostrophe.
fn cell(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let text = if formula { format!("'{text}") } else { text.to_string() };
    if text.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn brace() -> PackedFile {
        PackedFile {
            part: "brace".into(),
            name: "brace".into(),
            quantity: 3,
            metal: "C26000".into(),
            metal_name: "cartridge brass".into(),
            temper: "annealed (O60)".into(),
            thickness_mm: Some(1.0),
            mass_g: 4.125,
            made_by: "cut from strip, formed".into(),
            file: "flat/brace.dxf".into(),
            sha256: "ab".repeat(32),
            findings: vec!["0.10 mm, badge to brace".into(), "web of 0.4 mm".into()],
            notes: vec!["drill".into()],
        }
    }

    fn list(files: Vec<PackedFile>) -> PackingList {
        let text = str::to_string;
        PackingList {
            order: text("=A1"),
            serial: text("S\"1"),
            revision: text("2"),
            necks: 3,
            files,
        }
    }

    /// Quoting by RFC 4180, section 2.
    #[test]
    fn cells_are_quoted_and_no_formula_gets_through() {
        let text = list(vec![brace()]).csv();
        let rows: Vec<&str> = text.split("\r\n").collect();
        assert_eq!(rows[0].split(',').count(), 17);
        assert_eq!(
            rows[1],
            format!(
                "brace,brace,3,C26000,cartridge brass,annealed (O60),1,4.1250,12.3750,\"cut from strip, formed\",\
                 flat/brace.dxf,{},'=A1,\"S\"\"1\",2,\"0.10 mm, badge to brace; web of 0.4 mm\",drill",
                "ab".repeat(32)
            )
        );
        assert_eq!(rows.len(), 3, "a line break after the last row and none else");
    }

    #[test]
    fn a_long_list_goes_on_over_the_page() {
        let part = |index: usize| PackedFile { part: format!("part {index}"), ..brace() };
        assert_eq!(list((0..10).map(part).collect()).sheets().len(), 1);
        // A part with one line of each kind takes 6.6 + 4 x 4.0 = 22.6 mm; a page has room for ten in its 248 mm.
        assert_eq!(list((0..40).map(part).collect()).sheets().len(), 4);
    }
}
