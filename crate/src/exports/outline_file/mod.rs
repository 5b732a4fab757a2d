//! Flat outlines for a cutting shop, 1:1 in millimetres: what is cut, what is only marked, and what is said about it, each
//! on a layer of its own, as DXF and as SVG.

mod dxf;
mod svg;

use glam::DVec2;

use crate::exports::paper::text_width;
use crate::geometry::contour::Contour;

pub use dxf::dxf;
pub use svg::{svg, svg_origin};

/// Layers, in the order in which they are written.
pub const LAYERS: [&str; 3] = ["cut", "mark", "note"];

/// What stands in one outline file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OutlineFile {
    /// What the sheet is called where it is listed.
    pub title: String,
    /// Paths to be cut through, all closed.
    pub cut: Vec<Contour>,
    /// Lines to be engraved, scribed or stamped, never cut through.
    pub mark: Vec<Contour>,
    /// Lines that belong to the words.
    pub note: Vec<Contour>,
    pub words: Vec<Words>,
}

/// A line of words on the note layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// Start of the base line.
    pub at: DVec2,
    /// Height of the capitals, mm.
    pub height_mm: f64,
    pub text: String,
}

impl OutlineFile {
    /// Lines of a layer.
    fn lines(&self, layer: &str) -> &[Contour] {
        match layer {
            "cut" => &self.cut,
            "mark" => &self.mark,
            _ => &self.note,
        }
    }

    /// Least and greatest coordinates of everything, words by their usual width.
    fn bounds(&self) -> (DVec2, DVec2) {
        let none = (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY));
        let lines = [&self.cut, &self.mark, &self.note].into_iter().flatten();
        let boxes = lines.map(Contour::bounds).chain(self.words.iter().map(|words| {
            let size = words.height_mm / super::paper::CAPITALS;
            let width = text_width(&words.text, size);
            (words.at - DVec2::new(0.0, 0.3 * size), words.at + DVec2::new(width, size))
        }));
        let (low, high) = boxes.fold(none, |sum, one| (sum.0.min(one.0), sum.1.max(one.1)));
        if low.x <= high.x { (low, high) } else { (DVec2::ZERO, DVec2::ZERO) }
    }
}
