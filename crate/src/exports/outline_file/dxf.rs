//! The outline as DXF of the year 2000 (AC1015): closed LWPOLYLINEs with bulges, a layer for each kind of work, millimetres
//! said in the header.
//!
//! Every section, table and owner the format asks for is written, though readers forgive their absence. Group codes and
//! their order are those of the published reference of the format.

use std::fmt::Write;

use glam::DVec2;

use crate::geometry::contour::Contour;

use super::{LAYERS, OutlineFile, Words};

/// Colour numbers of the layers: cut black or white, mark blue, note grey.
const COLOURS: [u8; 3] = [7, 5, 8];

/// Handles that others refer to. Those given out while writing begin after them.
const MODEL_SPACE: u32 = 0x10;
const PAPER_SPACE: u32 = 0x11;
const DICTIONARY: u32 = 0x12;
const GROUPS: u32 = 0x13;
const TABLES: u32 = 0x20;
const FIRST_FREE: u32 = 0x40;

/// The file as DXF.
#[must_use]
pub fn dxf(file: &OutlineFile) -> Vec<u8> {
    let mut out = Writer { text: String::new(), next: FIRST_FREE };
    // The body first: only then is the greatest handle known.
    out.classes();
    out.tables();
    out.blocks();
    out.entities(file);
    out.objects();
    let (body, next) = (out.text, out.next);
    let mut head = Writer { text: String::new(), next };
    head.header(file);
    head.text.push_str(&body);
    head.pair(0, "EOF");
    head.text.into_bytes()
}

struct Writer {
    text: String,
    next: u32,
}

impl Writer {
    fn pair(&mut self, code: u16, value: impl std::fmt::Display) {
        // Writing to a string cannot fail.
        let _ = write!(self.text, "{code:>3}\r\n{value}\r\n");
    }

    /// A number with up to ten decimals, always with a point: of a bulge they all count, of a length seven.
    fn real(&mut self, code: u16, value: f64) {
        let value = if value.is_finite() { value } else { 0.0 };
        let mut text = if code == 42 { format!("{value:.10}") } else { format!("{value:.7}") };
        while text.ends_with('0') && !text.ends_with(".0") {
            text.pop();
        }
        self.pair(code, if text == "-0.0" { "0.0" } else { &text });
    }

    fn point(&mut self, code: u16, point: DVec2) {
        self.real(code, point.x);
        self.real(code + 10, point.y);
    }

    fn handle(&mut self, code: u16, handle: u32) {
        self.pair(code, format_args!("{handle:X}"));
    }

    /// A handle of its own.
    fn own(&mut self, code: u16) -> u32 {
        let handle = self.next;
        self.next += 1;
        self.handle(code, handle);
        handle
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn end_section(&mut self) {
        self.pair(0, "ENDSEC");
    }

    fn header(&mut self, file: &OutlineFile) {
        let (low, high) = file.bounds();
        self.section("HEADER");
        for (name, code, value) in [
            ("$ACADVER", 1, "AC1015"),
            ("$DWGCODEPAGE", 3, "ANSI_1252"),
            // Millimetres; metric patterns; decimal lengths.
            ("$INSUNITS", 70, "4"),
            ("$MEASUREMENT", 70, "1"),
            ("$LUNITS", 70, "2"),
        ] {
            self.pair(9, name);
            self.pair(code, value);
        }
        for (name, corner) in [("$EXTMIN", low), ("$EXTMAX", high)] {
            self.pair(9, name);
            self.point(10, corner);
            self.real(30, 0.0);
        }
        self.pair(9, "$HANDSEED");
        self.handle(5, self.next);
        self.end_section();
    }

    fn classes(&mut self) {
        self.section("CLASSES");
        self.end_section();
    }

    fn tables(&mut self) {
        self.section("TABLES");
        let mut table = TABLES;
        let mut begin = |out: &mut Self, name: &str, count: usize| {
            out.pair(0, "TABLE");
            out.pair(2, name);
            out.handle(5, table);
            out.pair(330, 0);
            out.pair(100, "AcDbSymbolTable");
            out.pair(70, count);
            table += 1;
            table - 1
        };
        let vport = begin(self, "VPORT", 1);
        self.record("VPORT", vport, "AcDbViewportTableRecord", "*Active");
        self.pair(70, 0);
        self.point(10, DVec2::ZERO);
        self.point(11, DVec2::ONE);
        self.point(12, DVec2::new(100.0, 50.0));
        self.real(40, 200.0);
        self.real(41, 1.5);
        self.pair(0, "ENDTAB");

        let linetypes = begin(self, "LTYPE", 3);
        for name in ["ByBlock", "ByLayer", "Continuous"] {
            self.record("LTYPE", linetypes, "AcDbLinetypeTableRecord", name);
            self.pair(70, 0);
            self.pair(3, if name == "Continuous" { "Solid line" } else { "" });
            self.pair(72, 65);
            self.pair(73, 0);
            self.real(40, 0.0);
        }
        self.pair(0, "ENDTAB");

        let layers = begin(self, "LAYER", 1 + LAYERS.len());
        for (name, colour) in [("0", 7)].into_iter().chain(LAYERS.into_iter().zip(COLOURS)) {
            self.record("LAYER", layers, "AcDbLayerTableRecord", name);
            self.pair(70, 0);
            self.pair(62, colour);
            self.pair(6, "Continuous");
        }
        self.pair(0, "ENDTAB");

        let styles = begin(self, "STYLE", 1);
        self.record("STYLE", styles, "AcDbTextStyleTableRecord", "Standard");
        self.pair(70, 0);
        self.real(40, 0.0);
        self.real(41, 1.0);
        self.real(50, 0.0);
        self.pair(71, 0);
        self.real(42, 2.5);
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");

        for name in ["VIEW", "UCS"] {
            begin(self, name, 0);
            self.pair(0, "ENDTAB");
        }

        let applications = begin(self, "APPID", 1);
        self.record("APPID", applications, "AcDbRegAppTableRecord", "ACAD");
        self.pair(70, 0);
        self.pair(0, "ENDTAB");

        let dimensions = begin(self, "DIMSTYLE", 1);
        self.pair(100, "AcDbDimStyleTable");
        self.pair(0, "DIMSTYLE");
        self.own(105);
        self.handle(330, dimensions);
        self.pair(100, "AcDbSymbolTableRecord");
        self.pair(100, "AcDbDimStyleTableRecord");
        self.pair(2, "Standard");
        self.pair(70, 0);
        self.pair(0, "ENDTAB");

        let blocks = begin(self, "BLOCK_RECORD", 2);
        for (name, handle) in [("*Model_Space", MODEL_SPACE), ("*Paper_Space", PAPER_SPACE)] {
            self.pair(0, "BLOCK_RECORD");
            self.handle(5, handle);
            self.handle(330, blocks);
            self.pair(100, "AcDbSymbolTableRecord");
            self.pair(100, "AcDbBlockTableRecord");
            self.pair(2, name);
        }
        self.pair(0, "ENDTAB");
        self.end_section();
    }

    /// Begins a record of a table.
    fn record(&mut self, kind: &str, table: u32, class: &str, name: &str) {
        self.pair(0, kind);
        self.own(5);
        self.handle(330, table);
        self.pair(100, "AcDbSymbolTableRecord");
        self.pair(100, class);
        self.pair(2, name);
    }

    fn blocks(&mut self) {
        self.section("BLOCKS");
        for (name, space) in [("*Model_Space", MODEL_SPACE), ("*Paper_Space", PAPER_SPACE)] {
            self.pair(0, "BLOCK");
            self.own(5);
            self.handle(330, space);
            self.pair(100, "AcDbEntity");
            self.pair(8, "0");
            self.pair(100, "AcDbBlockBegin");
            self.pair(2, name);
            self.pair(70, 0);
            self.point(10, DVec2::ZERO);
            self.real(30, 0.0);
            self.pair(3, name);
            self.pair(1, "");
            self.pair(0, "ENDBLK");
            self.own(5);
            self.handle(330, space);
            self.pair(100, "AcDbEntity");
            self.pair(8, "0");
            self.pair(100, "AcDbBlockEnd");
        }
        self.end_section();
    }

    fn entities(&mut self, file: &OutlineFile) {
        self.section("ENTITIES");
        for layer in LAYERS {
            for contour in file.lines(layer) {
                self.polyline(layer, contour);
            }
        }
        for words in &file.words {
            self.words(words);
        }
        self.end_section();
    }

    fn entity(&mut self, kind: &str, layer: &str) {
        self.pair(0, kind);
        self.own(5);
        self.handle(330, MODEL_SPACE);
        self.pair(100, "AcDbEntity");
        self.pair(8, layer);
    }

    fn polyline(&mut self, layer: &str, contour: &Contour) {
        self.entity("LWPOLYLINE", layer);
        self.pair(100, "AcDbPolyline");
        self.pair(90, contour.vertices.len());
        self.pair(70, u8::from(contour.closed));
        self.real(43, 0.0);
        for vertex in &contour.vertices {
            self.point(10, vertex.at);
            if vertex.bulge != 0.0 {
                self.real(42, vertex.bulge);
            }
        }
    }

    fn words(&mut self, words: &Words) {
        self.entity("TEXT", "note");
        self.pair(100, "AcDbText");
        self.point(10, words.at);
        self.real(30, 0.0);
        self.real(40, words.height_mm);
        self.pair(1, coded(&words.text));
        self.pair(7, "Standard");
        self.pair(100, "AcDbText");
    }

    fn objects(&mut self) {
        self.section("OBJECTS");
        self.pair(0, "DICTIONARY");
        self.handle(5, DICTIONARY);
        self.pair(330, 0);
        self.pair(100, "AcDbDictionary");
        self.pair(281, 1);
        self.pair(3, "ACAD_GROUP");
        self.handle(350, GROUPS);
        self.pair(0, "DICTIONARY");
        self.handle(5, GROUPS);
        self.handle(330, DICTIONARY);
        self.pair(100, "AcDbDictionary");
        self.pair(281, 1);
        self.end_section();
    }
}

/// Words in ASCII: what is beyond it by its number, the sign of diameters and the caret in the format's own way. A line
/// must not break, so what breaks it is left out.
fn coded(words: &str) -> String {
    let mut text = String::new();
    for letter in words.chars() {
        match letter {
            'Ø' | '\u{2300}' => text.push_str("%%c"),
            '±' => text.push_str("%%p"),
            '°' => text.push_str("%%d"),
            // Doubled, so that no pair of them begins a sign.
            '%' => text.push_str("%%%"),
            '^' => text.push_str("^ "),
            ' '..='~' => text.push(letter),
            letter if letter.is_control() => text.push(' '),
            letter => {
                let mut units = [0; 2];
                for unit in letter.encode_utf16(&mut units) {
                    let _ = write!(text, "\\U+{unit:04X}");
                }
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::contour::Vertex;

    fn pairs(bytes: &[u8]) -> Vec<(u16, String)> {
        let text = std::str::from_utf8(bytes).expect("ASCII");
        let lines: Vec<&str> = text.split("\r\n").collect();
        lines
            .chunks_exact(2)
            .map(|pair| (pair[0].trim().parse().expect("a code"), pair[1].to_string()))
            .collect()
    }

    fn sample() -> Vec<(u16, String)> {
        let square = Contour {
            vertices: vec![
                Vertex { at: DVec2::ZERO, bulge: 0.0 },
                Vertex { at: DVec2::new(10.0, 0.0), bulge: 1.0 },
                Vertex { at: DVec2::new(10.0, 4.0), bulge: 0.0 },
                Vertex { at: DVec2::new(0.0, 4.0), bulge: 0.0 },
            ],
            closed: true,
        };
        pairs(&dxf(&OutlineFile {
            title: "a plate".into(),
            cut: vec![square.clone()],
            mark: vec![Contour::line(DVec2::ONE, DVec2::new(2.0, 1.0))],
            note: Vec::new(),
            words: vec![Words { at: DVec2::ZERO, height_mm: 3.0, text: "Ø 4 ♯".into() }],
        }))
    }

    /// Readers forgive a missing section, a repeated handle or one above the seed; so they are looked for here.
    #[test]
    fn sections_handles_and_owners_are_complete() {
        let pairs = sample();
        let named = |code: u16| {
            pairs
                .windows(2)
                .filter(move |two| two[0] == (0, "SECTION".into()) && two[1].0 == code)
                .map(|two| two[1].1.as_str())
                .collect::<Vec<_>>()
        };
        assert_eq!(named(2), ["HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS"]);
        let number = |text: &str| u32::from_str_radix(text, 16).expect("hexadecimal");
        let seed = pairs.iter().position(|pair| pair.1 == "$HANDSEED").expect("a seed");
        let seed_value = number(&pairs[seed + 1].1);
        let mut handles: Vec<u32> = pairs
            .iter()
            .enumerate()
            .filter(|(i, pair)| (pair.0 == 5 || pair.0 == 105) && *i != seed + 1)
            .map(|(_, pair)| number(&pair.1))
            .collect();
        assert!(handles.iter().all(|handle| *handle < seed_value));
        let count = handles.len();
        handles.sort_unstable();
        handles.dedup();
        assert_eq!(handles.len(), count, "a handle is used twice");
        for owner in pairs.iter().filter(|pair| pair.0 == 330 || pair.0 == 350) {
            let owner = number(&owner.1);
            assert!(owner == 0 || handles.contains(&owner), "{owner:X}");
        }
    }

    #[test]
    fn a_closed_path_keeps_its_arc_and_words_are_coded() {
        let pairs = sample();
        let start = pairs.iter().position(|pair| pair.1 == "LWPOLYLINE").expect("a path");
        let path: Vec<&(u16, String)> =
            pairs[start + 1..].iter().take_while(|pair| pair.0 != 0).collect();
        let of = |code: u16| {
            path.iter()
                .filter(move |pair| pair.0 == code)
                .map(|pair| pair.1.as_str())
                .collect::<Vec<_>>()
        };
        assert_eq!(
            (of(8), of(90), of(70), of(42)),
            (vec!["cut"], vec!["4"], vec!["1"], vec!["1.0"])
        );
        assert!(pairs.contains(&(1, "%%c 4 \\U+266F".into())));
        assert!(pairs.windows(2).any(|two| two[0].1 == "$INSUNITS" && two[1] == (70, "4".into())));
    }
}
