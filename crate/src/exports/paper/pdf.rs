//! Sheets as PDF 1.6, all in millimetres after one scaling, words in Helvetica, which every reader has.

use std::fmt::Write;

use crate::geometry::contour::Contour;

use super::letters::code;
use super::{Mark, Pen, Sheet, number, push_point};

/// Points (1/72 in) per millimetre.
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// Objects before the first page: catalogue, list of pages, font, description.
const FIRST_PAGE: usize = 5;
/// Arcs are drawn as cubics over an eighth of a turn at most, which depart from the circle by 4e-6 of the radius.
const EIGHTH: f64 = std::f64::consts::FRAC_PI_4;

/// The sheets as a PDF file, to be printed at 1:1: readers are asked not to fit it to the page.
#[must_use]
pub fn pdf(title: &str, sheets: &[Sheet]) -> Vec<u8> {
    let mut objects: Vec<Vec<u8>> = Vec::new();
    let kids: Vec<String> =
        (0..sheets.len()).map(|i| format!("{} 0 R", FIRST_PAGE + 2 * i)).collect();
    objects.push(
        b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>".to_vec(),
    );
    objects.push(
        format!("<< /Type /Pages /Kids [{}] /Count {} >>", kids.join(" "), sheets.len()).into(),
    );
    objects.push(
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"
            .to_vec(),
    );
    let mut description = b"<< /Title ".to_vec();
    push_string(&mut description, title);
    description.extend_from_slice(b" >>");
    objects.push(description);
    for (i, sheet) in sheets.iter().enumerate() {
        let size = sheet.size_mm * POINTS_PER_MM;
        objects.push(
            format!(
                "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {} {}] /Resources << /Font << /F1 3 0 R >> >> /Contents {} 0 R >>",
                number(size.x),
                number(size.y),
                FIRST_PAGE + 2 * i + 1
            )
            .into(),
        );
        let content = content(sheet);
        let mut stream = format!("<< /Length {} >>\nstream\n", content.len()).into_bytes();
        stream.extend_from_slice(&content);
        stream.extend_from_slice(b"\nendstream");
        objects.push(stream);
    }
    file(&objects)
}

/// The objects with their table of places.
fn file(objects: &[Vec<u8>]) -> Vec<u8> {
    // The comment's high bytes tell programs that carry files that this one is not text.
    let mut bytes = b"%PDF-1.6\n%\xE2\xE3\xCF\xD3\n".to_vec();
    let mut places = Vec::with_capacity(objects.len());
    for (i, object) in objects.iter().enumerate() {
        places.push(bytes.len());
        bytes.extend_from_slice(format!("{} 0 obj\n", i + 1).as_bytes());
        bytes.extend_from_slice(object);
        bytes.extend_from_slice(b"\nendobj\n");
    }
    let table = bytes.len();
    // Every row of the table is 20 bytes long.
    let mut end = format!("xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1);
    for place in places {
        let _ = writeln!(end, "{place:010} 00000 n ");
    }
    let _ = write!(
        end,
        "trailer\n<< /Size {} /Root 1 0 R /Info 4 0 R >>\nstartxref\n{table}\n%%EOF\n",
        objects.len() + 1
    );
    bytes.extend_from_slice(end.as_bytes());
    bytes
}

/// What is drawn on one sheet.
fn content(sheet: &Sheet) -> Vec<u8> {
    let mut bytes = Vec::new();
    // Butt ends, so that lines are as long as they say; mitred corners.
    bytes.extend_from_slice(b"2.83464567 0 0 2.83464567 0 0 cm\n0 J 0 j\n");
    let mut last: Option<Pen> = None;
    for mark in &sheet.marks {
        match mark {
            Mark::Line { contour, pen } => {
                let mut text = String::new();
                if last != Some(*pen) {
                    push_pen(&mut text, pen);
                    last = Some(*pen);
                }
                push_contour(&mut text, contour);
                text.push_str("S\n");
                bytes.extend_from_slice(text.as_bytes());
            }
            Mark::Fill { contours, grey } => {
                let mut text = format!("{} g\n", number(*grey));
                for contour in contours {
                    push_contour(&mut text, contour);
                }
                text.push_str("f*\n");
                bytes.extend_from_slice(text.as_bytes());
            }
            Mark::Text(text) => {
                let at = text.start();
                let turn = if text.upwards { "0 1 -1 0" } else { "1 0 0 1" };
                let begin = format!(
                    "0 g BT /F1 {} Tf {turn} {} {} Tm (",
                    number(text.size_mm),
                    number(at.x),
                    number(at.y)
                );
                bytes.extend_from_slice(begin.as_bytes());
                for letter in text.words.chars() {
                    push_escaped(&mut bytes, code(letter));
                }
                bytes.extend_from_slice(b") Tj ET\n");
            }
        }
    }
    bytes
}

fn push_pen(text: &mut String, pen: &Pen) {
    let lengths: Vec<String> = pen.dash.lengths().iter().map(|length| number(*length)).collect();
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "{} w {} G [{}] 0 d",
        number(pen.width_mm),
        number(pen.grey),
        lengths.join(" ")
    );
}

fn push_contour(text: &mut String, contour: &Contour) {
    let Some(first) = contour.vertices.first() else { return };
    push_point(text, first.at);
    text.push_str(" m\n");
    for piece in contour.pieces() {
        let Some(arc) = piece.arc() else {
            push_point(text, piece.to);
            text.push_str(" l\n");
            continue;
        };
        let parts = (arc.sweep.abs() / EIGHTH - 1e-9).ceil().clamp(1.0, 8.0);
        let step = arc.sweep / parts;
        // A cubic whose handles are this share of the radius meets the arc at its ends and its middle.
        let handle = 4.0 / 3.0 * libm::tan(step / 4.0);
        // Between 1 and 8.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        for i in 0..parts as u32 {
            let spoke = |share: f64| piece.point(share) - arc.centre;
            let (from, to) = (spoke(f64::from(i) / parts), spoke(f64::from(i + 1) / parts));
            let to_place = if f64::from(i + 1) == parts { piece.to } else { arc.centre + to };
            for point in [from + from.perp() * handle, to - to.perp() * handle] {
                push_point(text, arc.centre + point);
                text.push(' ');
            }
            push_point(text, to_place);
            text.push_str(" c\n");
        }
    }
    if contour.closed {
        text.push_str("h\n");
    }
}

fn push_escaped(bytes: &mut Vec<u8>, code: u8) {
    match code {
        b'(' | b')' | b'\\' => bytes.extend_from_slice(&[b'\\', code]),
        b' '..=b'~' => bytes.push(code),
        // Octal, so that the file survives programs that take it for text.
        _ => bytes.extend_from_slice(format!("\\{code:03o}").as_bytes()),
    }
}

/// A string of the description: plain where it can be, else UTF-16 with its mark.
fn push_string(bytes: &mut Vec<u8>, words: &str) {
    bytes.push(b'(');
    if words.chars().all(|letter| matches!(letter, ' '..='~')) {
        words.bytes().for_each(|code| push_escaped(bytes, code));
    } else {
        for unit in std::iter::once(0xFEFF).chain(words.encode_utf16()) {
            for code in unit.to_be_bytes() {
                bytes.extend_from_slice(format!("\\{code:03o}").as_bytes());
            }
        }
    }
    bytes.push(b')');
}

#[cfg(test)]
mod tests {
    use glam::DVec2;

    use super::*;

    fn sample() -> Vec<u8> {
        let mut sheet = Sheet::new(DVec2::new(210.0, 297.0));
        sheet.line(DVec2::new(10.0, 10.0), DVec2::new(110.0, 10.0), Pen::solid(0.25));
        sheet.draw(Contour::circle(DVec2::new(50.0, 50.0), 20.0), Pen::solid(0.5));
        sheet.text(DVec2::new(20.0, 100.0), 5.0, "(\u{D8} 4)", super::super::Anchor::Start);
        pdf("one \u{E9} sheet", &[sheet.clone(), sheet])
    }

    /// The bytes with one letter each, so that places in the text are places in the file.
    fn ascii(bytes: &[u8]) -> String {
        bytes.iter().map(|&byte| if byte.is_ascii() { char::from(byte) } else { '?' }).collect()
    }

    /// The table of places must point at the objects, byte for byte: readers that forgive a wrong one are no check.
    #[test]
    fn every_place_in_the_table_is_an_object() {
        let bytes = sample();
        let text = ascii(&bytes);
        let table = text.rfind("\nxref\n").expect("a table") + 1;
        let rows: Vec<&str> = text[table..].split('\n').skip(2).take(9).collect();
        for (i, row) in rows.iter().enumerate() {
            assert_eq!(row.len(), 19, "{row}");
            if i > 0 {
                let place: usize = row[..10].parse().expect("a place");
                assert!(text[place..].starts_with(&format!("{i} 0 obj\n")), "{i}");
            }
        }
        assert!(text.contains(&format!("startxref\n{table}\n")));
    }

    #[test]
    fn streams_are_as_long_as_they_say_and_letters_are_escaped() {
        let bytes = sample();
        let text = ascii(&bytes);
        let length = text.split("/Length ").nth(1).and_then(|rest| rest.split(' ').next());
        let length: usize = length.expect("a length").parse().expect("a number");
        let start = text.find("stream\n").expect("a stream") + 7;
        assert!(text[start + length..].starts_with("\nendstream"));
        assert!(text.contains("(\\(\\330 4\\)) Tj"));
        assert!(text.contains("/MediaBox [0 0 595.2756 841.8898]"));
        // A number with an exponent is drawn wrong by some readers.
        assert!(!text[start..start + length].contains('e'));
    }
}
