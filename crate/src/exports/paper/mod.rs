//! Sheets of paper at 1:1: lines, arcs, hatching and words in millimetres, printed as PDF or shown as SVG.
//!
//! Both files are made from the same marks, so what is printed is what was shown. The origin is the lower left corner
//! of the sheet, y points up.

mod hatching;
mod letters;
mod pdf;
mod svg;
mod tiles;

use std::fmt::Write;

use glam::DVec2;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::contour::Contour;

pub use hatching::hatching;
pub use letters::text_width;
pub use pdf::pdf;
pub use svg::svg;
pub use tiles::{Drawing, tiled};

// What other files in millimetres are written with.
pub(crate) use svg::escaped;
pub(in crate::exports) use svg::path;

/// Share of a text's size by which its capitals stand above the base line (Helvetica, Adobe font metrics, from memory).
pub const CAPITALS: f64 = 0.718;

/// Sizes a drawing is printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum PaperSize {
    /// ISO 216: 210 mm by 297 mm.
    #[default]
    A4,
    /// ANSI Y14.1: 8.5 in by 11 in.
    Letter,
}

impl PaperSize {
    /// Width and height standing upright, mm.
    #[must_use]
    pub fn upright(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(210.0, 297.0),
            Self::Letter => DVec2::new(215.9, 279.4),
        }
    }

    /// Width and height lying on its long side, mm.
    #[must_use]
    pub fn lying(self) -> DVec2 {
        let upright = self.upright();
        DVec2::new(upright.y, upright.x)
    }
}

/// How a line is interrupted (ISO 128-2, lengths for thin lines, from memory).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dash {
    #[default]
    Solid,
    /// Edges that are hidden.
    Dashed,
    /// Axes and planes of symmetry.
    Chain,
}

impl Dash {
    /// Lengths drawn and left out in turn, mm.
    fn lengths(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[2.0, 1.0],
            Self::Chain => &[6.0, 1.0, 0.6, 1.0],
        }
    }
}

/// What a line is drawn with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    pub width_mm: f64,
    pub dash: Dash,
    /// 0 is black, 1 is white.
    pub grey: f64,
}

impl Pen {
    /// A black unbroken line.
    #[must_use]
    pub const fn solid(width_mm: f64) -> Self {
        Self { width_mm, dash: Dash::Solid, grey: 0.0 }
    }

    /// The same line broken up.
    #[must_use]
    pub const fn dashed(self, dash: Dash) -> Self {
        Self { dash, ..self }
    }
}

/// Which point of its base line a text is put at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    #[default]
    Start,
    Middle,
    End,
}

/// Words on one line.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Place of the anchor on the base line.
    pub at: DVec2,
    /// Size of the letters from line to line, mm; capitals are [`CAPITALS`] of it high.
    pub size_mm: f64,
    pub words: String,
    pub anchor: Anchor,
    /// Whether the line runs up the sheet, read from its right side.
    pub upwards: bool,
}

/// One mark on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    Line {
        contour: Contour,
        pen: Pen,
    },
    /// The inside of closed contours, by the even-odd rule.
    Fill {
        contours: Vec<Contour>,
        grey: f64,
    },
    Text(Text),
}

/// One sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    pub size_mm: DVec2,
    pub marks: Vec<Mark>,
}

impl Sheet {
    #[must_use]
    pub const fn new(size_mm: DVec2) -> Self {
        Self { size_mm, marks: Vec::new() }
    }

    pub fn draw(&mut self, contour: Contour, pen: Pen) {
        self.marks.push(Mark::Line { contour, pen });
    }

    pub fn line(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.draw(Contour::line(from, to), pen);
    }

    /// Fills the inside of closed contours.
    pub fn fill(&mut self, contours: Vec<Contour>, grey: f64) {
        self.marks.push(Mark::Fill { contours, grey });
    }

    /// A rectangle between two corners.
    pub fn frame(&mut self, low: DVec2, high: DVec2, pen: Pen) {
        let corners = [low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)];
        self.draw(Contour::through(&corners, true), pen);
    }

    pub fn text(&mut self, at: DVec2, size_mm: f64, words: impl Into<String>, anchor: Anchor) {
        let words = words.into();
        self.marks.push(Mark::Text(Text { at, size_mm, words, anchor, upwards: false }));
    }

    /// Words that run up the sheet.
    pub fn text_upwards(
        &mut self,
        at: DVec2,
        size_mm: f64,
        words: impl Into<String>,
        anchor: Anchor,
    ) {
        let words = words.into();
        self.marks.push(Mark::Text(Text { at, size_mm, words, anchor, upwards: true }));
    }

    /// Hatches the inside of closed contours with lines at `angle` radians, `spacing` mm apart.
    pub fn hatch(&mut self, contours: &[Contour], angle: f64, spacing: f64, pen: Pen) {
        for (from, to) in hatching(contours, angle, spacing) {
            self.line(from, to, pen);
        }
    }

    /// A line of exactly 100 mm with ticks every 10, to be measured after printing: printers scale, files do not.
    pub fn check_bar(&mut self, at: DVec2) {
        let pen = Pen::solid(0.25);
        self.line(at, at + DVec2::new(100.0, 0.0), pen);
        for i in 0..=10_u32 {
            let tick = if i % 5 == 0 { 2.0 } else { 1.2 };
            let foot = at + DVec2::new(f64::from(i) * 10.0, 0.0);
            self.line(foot, foot + DVec2::new(0.0, tick), pen);
        }
        self.text(
            at + DVec2::new(102.0, 0.0),
            2.65,
            "100 mm: measure it, print at 100 %, not fitted to the page",
            Anchor::Start,
        );
    }
}

impl Text {
    /// Where the base line starts.
    fn start(&self) -> DVec2 {
        let width = text_width(&self.words, self.size_mm);
        let back = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        self.at - if self.upwards { DVec2::new(0.0, back) } else { DVec2::new(back, 0.0) }
    }
}

/// A number for a file: four decimals, which is 0.1 µm, no exponent, no trailing zeros, no minus before nothing.
pub(in crate::exports) fn number(value: f64) -> String {
    // What is no number cannot be drawn; it is left at the origin rather than spoiling the file.
    let value = if value.is_finite() { value } else { 0.0 };
    let mut text = format!("{value:.4}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".into() } else { text }
}

/// Appends the coordinates of a point.
fn push_point(text: &mut String, point: DVec2) {
    // Writing to a string cannot fail.
    let _ = write!(text, "{} {}", number(point.x), number(point.y));
}
