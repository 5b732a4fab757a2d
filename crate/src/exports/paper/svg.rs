//! A sheet as SVG: width and height in millimetres, coordinates in millimetres, no transforms of lines.

use std::fmt::Write;

use glam::DVec2;

use crate::geometry::contour::Contour;

use super::{Mark, Sheet, number, push_point, text_width};

/// The sheet as an SVG file of its true size. `title` is what it is called where it cannot be seen.
#[must_use]
pub fn svg(title: &str, sheet: &Sheet) -> Vec<u8> {
    let (width, height) = (number(sheet.size_mm.x), number(sheet.size_mm.y));
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" role=\"img\">\n<title>{}</title>\n<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n",
        escaped(title)
    );
    for mark in &sheet.marks {
        push_mark(&mut text, mark, sheet.size_mm.y);
    }
    text.push_str("</svg>\n");
    text.into_bytes()
}

/// Writing to a string cannot fail, so what `write!` says of it is not looked at.
fn push_mark(text: &mut String, mark: &Mark, top: f64) {
    match mark {
        Mark::Line { contour, pen } => {
            let _ = write!(text, "<path d=\"{}\" fill=\"none\"", path(contour, top));
            let _ = write!(text, " stroke=\"{}\"", grey_name(pen.grey));
            let _ = write!(text, " stroke-width=\"{}\"", number(pen.width_mm));
            let lengths: Vec<String> =
                pen.dash.lengths().iter().map(|length| number(*length)).collect();
            if !lengths.is_empty() {
                let _ = write!(text, " stroke-dasharray=\"{}\"", lengths.join(" "));
            }
            text.push_str("/>\n");
        }
        Mark::Fill { contours, grey } => {
            let paths: Vec<String> = contours.iter().map(|contour| path(contour, top)).collect();
            let _ = writeln!(
                text,
                "<path d=\"{}\" fill=\"{}\" fill-rule=\"evenodd\"/>",
                paths.join(" "),
                grey_name(*grey)
            );
        }
        Mark::Text(words) => {
            let at = words.start();
            let (x, y) = (number(at.x), number(top - at.y));
            let size = number(words.size_mm);
            // The length keeps the words in their room whatever letters the reader has.
            let length = number(text_width(&words.words, words.size_mm));
            let turn = if words.upwards {
                format!(" transform=\"rotate(-90 {x} {y})\"")
            } else {
                String::new()
            };
            let _ = writeln!(
                text,
                "<text x=\"{x}\" y=\"{y}\" font-family=\"Helvetica, Arial, sans-serif\" font-size=\"{size}\" textLength=\"{length}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\"{turn}>{}</text>",
                escaped(&words.words)
            );
        }
    }
}

/// A contour as the data of a path, on a sheet whose y points down from `top`.
pub(in crate::exports) fn path(contour: &Contour, top: f64) -> String {
    let flipped = |point: DVec2| DVec2::new(point.x, top - point.y);
    let mut text = String::new();
    let Some(first) = contour.vertices.first() else { return text };
    text.push('M');
    push_point(&mut text, flipped(first.at));
    let mut pieces = contour.pieces().peekable();
    while let Some(piece) = pieces.next() {
        match piece.arc() {
            Some(arc) => {
                let radius = number(arc.radius);
                // No piece turns by more than half a circle, so the large arc is never meant; counter-clockwise is
                // clockwise where y points down.
                let sweep = u8::from(arc.sweep < 0.0);
                let _ = write!(text, "A{radius} {radius} 0 0 {sweep} ");
                push_point(&mut text, flipped(piece.to));
            }
            // The closing line is drawn by closing.
            None if contour.closed && pieces.peek().is_none() => {}
            None => {
                text.push('L');
                push_point(&mut text, flipped(piece.to));
            }
        }
    }
    if contour.closed {
        text.push('Z');
    }
    text
}

fn grey_name(grey: f64) -> String {
    // Clamped to a byte.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let level = (grey.clamp(0.0, 1.0) * 255.0).round() as u8;
    format!("#{level:02x}{level:02x}{level:02x}")
}

/// Words that can stand in an SVG file; letters no XML may hold become spaces.
pub(crate) fn escaped(words: &str) -> String {
    words
        .chars()
        .map(|letter| match letter {
            '&' => "&amp;".into(),
            '<' => "&lt;".into(),
            '>' => "&gt;".into(),
            '"' => "&quot;".into(),
            '\u{FFFE}' | '\u{FFFF}' => " ".into(),
            letter if letter.is_control() => " ".into(),
            letter => letter.to_string(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exports::paper::{Anchor, Pen};

    #[test]
    fn a_sheet_has_its_size_in_millimetres_and_its_arcs_turned_over() {
        let mut sheet = Sheet::new(DVec2::new(60.0, 40.0));
        sheet.draw(Contour::circle(DVec2::new(10.0, 10.0), 5.0), Pen::solid(0.3));
        sheet.text(DVec2::new(5.0, 5.0), 3.0, "a < b & c", Anchor::Start);
        let text = String::from_utf8(svg("a part", &sheet)).expect("text");
        assert!(text.contains("width=\"60mm\" height=\"40mm\" viewBox=\"0 0 60 40\""));
        assert!(text.contains("M5 30A5 5 0 0 0 15 30A5 5 0 0 0 5 30Z"), "{text}");
        assert!(text.contains("a &lt; b &amp; c</text>"));
    }
}
