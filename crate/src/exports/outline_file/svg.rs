//! The outline as SVG: its true size in millimetres, a path per contour, a group per layer, no transforms.

use std::fmt::Write;

use glam::DVec2;

use crate::exports::paper::{CAPITALS, escaped, number, path};

use super::{LAYERS, OutlineFile};

/// Paper left free round everything, mm.
const MARGIN: f64 = 5.0;

/// Where the origin of the outlines lies in the picture, from its upper left corner, mm.
#[must_use]
pub fn svg_origin(file: &OutlineFile) -> DVec2 {
    let (low, high) = file.bounds();
    DVec2::new(MARGIN - low.x, high.y + MARGIN)
}

/// The file as SVG.
#[must_use]
pub fn svg(file: &OutlineFile) -> Vec<u8> {
    let (low, high) = file.bounds();
    let size = high - low + DVec2::splat(2.0 * MARGIN);
    let shift = DVec2::splat(MARGIN) - low;
    let (width, height) = (number(size.x), number(size.y));
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n<title>{}</title>\n",
        escaped(&file.title)
    );
    for (layer, style) in LAYERS.into_iter().zip([
        "fill=\"none\" stroke=\"#000\" stroke-width=\"0.1\"",
        "fill=\"none\" stroke=\"#00f\" stroke-width=\"0.1\"",
        "fill=\"none\" stroke=\"#777\" stroke-width=\"0.1\"",
    ]) {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "<g id=\"{layer}\" {style}>");
        for contour in file.lines(layer) {
            let moved = contour.moved(|point| point + shift);
            let _ = writeln!(text, "<path d=\"{}\"/>", path(&moved, size.y));
        }
        if layer == "note" {
            for words in &file.words {
                let at = words.at + shift;
                let _ = writeln!(
                    text,
                    "<text x=\"{}\" y=\"{}\" font-family=\"Helvetica, Arial, sans-serif\" font-size=\"{}\" fill=\"#555\" stroke=\"none\">{}</text>",
                    number(at.x),
                    number(size.y - at.y),
                    number(words.height_mm / CAPITALS),
                    escaped(&words.text)
                );
            }
        }
        text.push_str("</g>\n");
    }
    text.push_str("</svg>\n");
    text.into_bytes()
}
