//! Flat outlines of what is cut from sheet, plate or strip: developed where it is formed afterwards, checked against what
//! the jet can cut, and written for the shop.
//!
//! Outlines are of finished size; kerf is left to the shop. Curves are arcs and lines within [`developed::FIT`] of
//! the exact outline.

mod checks;
mod developed;
mod findings;
mod formed;
mod layout;
mod limits;
mod plates;
mod strokes;

use glam::DVec2;
use thiserror::Error;

use crate::exports::outline_file::{self, OutlineFile, Words};
use crate::geometry::contour::Contour;
use crate::geometry::shape::Shape;
use crate::model::Model;
use crate::tables::metals::Metal;

use super::heading::Heading;

pub use developed::FIT;
pub use findings::{CuttingFinding, Question};
pub use layout::{Hole, HoleUse};
pub use limits::CuttingLimits;

/// Height of the capitals of what is said beside the outline, mm.
const NOTE_HEIGHT: f64 = 2.5;
/// From one line of it to the next, mm.
const NOTE_STEP: f64 = 4.5;
/// Room between the outline and the words, mm.
const NOTE_ROOM: f64 = 6.0;
/// Length of the line to measure the file's scale by, mm.
const SCALE_LINE: f64 = 50.0;

/// Why there is no flat outline of a part that is cut from sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum FlatError {
    /// Its body is not one that can be laid flat.
    #[error("the {0} has a form that cannot be laid flat")]
    Form(&'static str),
}

/// One part laid flat, its lower left corner at the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatPart {
    pub id: &'static str,
    pub name: &'static str,
    pub metal: Metal,
    pub thickness_mm: f64,
    /// Outlines to be cut: one for each piece, counter-clockwise.
    pub outlines: Vec<Contour>,
    /// Holes, cut or left to the drill.
    pub holes: Vec<Hole>,
    /// Lines to be engraved, scribed or stamped.
    pub marks: Vec<Contour>,
    /// The serial number among the marks: only one of such a part is of the neck that bears it.
    pub serial: Option<String>,
    /// Where the neutral line lies in what is formed, from the inside, as a share of the thickness.
    pub neutral_share: Option<f64>,
    /// How far the exact outline was found to be from the arcs.
    pub fit_mm: f64,
    /// What the checks have to say.
    pub findings: Vec<CuttingFinding>,
    /// What must be said besides, a sentence each.
    pub remarks: Vec<String>,
}

/// The flat outline of a part; none for one that is not cut from sheet, plate or strip.
///
/// # Errors
///
/// A body of a form that cannot be laid flat.
pub fn flat_part(
    model: &Model,
    part_id: &str,
    limits: &CuttingLimits,
) -> Option<Result<FlatPart, FlatError>> {
    let part = &model.part(part_id)?.part;
    let metal = part.metal?;
    let job = &model.job;
    let layout = match (part.id, &part.shape) {
        ("key_arm", Shape::Plate(plate)) => Some(plates::key_arm(job, plate)),
        ("spring", Shape::Plate(plate)) => plates::spring(job, plate),
        ("saddle", Shape::Sweep(sweep)) => formed::saddle(job, sweep),
        ("brace", Shape::Sweep(sweep)) => formed::brace(job, sweep, limits),
        ("badge", Shape::Sweep(sweep)) => formed::badge(sweep),
        ("guide", Shape::Sweep(sweep)) => formed::guide(job, sweep),
        _ => return None,
    };
    Some(layout.map(|layout| layout.checked(part, metal, limits)).ok_or(FlatError::Form(part.name)))
}

impl FlatPart {
    /// Whether a check failed: it can be cut all the same, but only by saying so.
    #[must_use]
    pub fn fails(&self) -> bool {
        self.findings.iter().any(|finding| finding.fails)
    }

    /// Everything that is cut through.
    pub fn cut(&self) -> Vec<Contour> {
        let holes = self.holes.iter().filter(|hole| hole.cut);
        self.outlines.iter().cloned().chain(holes.map(Hole::circle)).collect()
    }

    /// Area of the metal that is left, mm²: the outlines less the holes that are cut.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        let holes = self.holes.iter().filter(|hole| hole.cut).map(|hole| hole.circle().area());
        self.outlines.iter().map(Contour::area).sum::<f64>() - holes.sum::<f64>()
    }

    /// Overall width and height, mm.
    #[must_use]
    pub fn size_mm(&self) -> DVec2 {
        let (low, high) = layout::bounds(&self.outlines);
        high - low
    }

    /// The outline as DXF: layers `cut`, `mark` and `note`, millimetres.
    #[must_use]
    pub fn dxf(&self, heading: &Heading) -> Vec<u8> {
        outline_file::dxf(&self.file(heading))
    }

    /// The outline as SVG of its true size.
    #[must_use]
    pub fn svg(&self, heading: &Heading) -> Vec<u8> {
        outline_file::svg(&self.file(heading))
    }

    /// Where the outline's origin, from which findings have their places, lies in that SVG: from its upper left corner, mm.
    #[must_use]
    pub fn svg_origin(&self, heading: &Heading) -> DVec2 {
        outline_file::svg_origin(&self.file(heading))
    }

    fn file(&self, heading: &Heading) -> OutlineFile {
        let (_, high) = layout::bounds(&self.outlines);
        let lines = self.lines_of_note(heading);
        let mut at = DVec2::new(0.0, high.y + NOTE_ROOM + NOTE_STEP * (lines.len() as f64 - 1.0));
        let scale = at + DVec2::new(0.0, NOTE_STEP + 1.0);
        let tick = |x: f64| Contour::line(scale + DVec2::new(x, -1.0), scale + DVec2::new(x, 1.0));
        let mut words = vec![Words {
            at: scale + DVec2::new(SCALE_LINE + 2.0, -1.0),
            height_mm: NOTE_HEIGHT,
            text: format!("{SCALE_LINE} mm: measure it before cutting"),
        }];
        for text in lines {
            words.push(Words { at, height_mm: NOTE_HEIGHT, text });
            at.y -= NOTE_STEP;
        }
        let marks = self.holes.iter().filter(|hole| !hole.cut).flat_map(Hole::centre_mark);
        OutlineFile {
            title: format!("{}, order {}, revision {}", self.name, heading.order, heading.revision),
            cut: self.cut(),
            mark: self.marks.iter().cloned().chain(marks).collect(),
            note: vec![
                Contour::line(scale, scale + DVec2::new(SCALE_LINE, 0.0)),
                tick(0.0),
                tick(SCALE_LINE),
            ],
            words,
        }
    }

    fn lines_of_note(&self, heading: &Heading) -> Vec<String> {
        let material = heading.material.clone().unwrap_or_else(|| self.metal.in_full());
        let size = self.size_mm();
        let mut lines = vec![
            format!(
                "{} ({}), order {}, serial {}, revision {}",
                self.name, self.id, heading.order, heading.serial, heading.revision
            ),
            format!(
                "{} off, {material}, {} mm thick",
                heading.quantity,
                layout::trimmed(self.thickness_mm)
            ),
            format!("Overall {:.2} x {:.2} mm, 1:1, millimetres", size.x, size.y),
            "Finished size: kerf, lead-ins and tabs are left to the shop".into(),
            "Layers: cut = cut through, mark = engrave or scribe, note = not for the machine"
                .into(),
        ];
        lines.extend(self.remarks.iter().cloned());
        lines.extend(self.findings.iter().map(ToString::to_string));
        lines
    }
}
