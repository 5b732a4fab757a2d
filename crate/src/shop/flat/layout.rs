//! A part laid out flat before it is checked.

use glam::DVec2;

use crate::geometry::contour::Contour;
use crate::parts::Part;
use crate::tables::metals::Metal;
use crate::tables::threads::Thread;

use super::FlatPart;
use super::checks;
use super::findings::CuttingFinding;
use super::limits::CuttingLimits;

/// Length of each arm of a centre mark, mm.
const MARK_ARM: f64 = 1.0;

/// What a hole is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleUse {
    /// Something goes through it with room.
    Clear,
    /// Something is fitted or soldered into it, with this least and greatest gap all round, mm.
    Fitted { gap_mm: (f64, f64) },
    /// It is tapped.
    Tapped(Thread),
}

/// A round hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    pub centre: DVec2,
    /// Finished, or as cut for the tap.
    pub diameter_mm: f64,
    pub used: HoleUse,
    /// Whether it is cut; else its centre is marked and it is drilled.
    pub cut: bool,
}

impl Hole {
    pub fn new(centre: DVec2, diameter_mm: f64, used: HoleUse) -> Self {
        Self { centre, diameter_mm, used, cut: true }
    }

    /// Its edge.
    #[must_use]
    pub fn circle(&self) -> Contour {
        Contour::circle(self.centre, self.diameter_mm / 2.0)
    }

    /// A cross at its centre, no wider than the hole.
    #[must_use]
    pub fn centre_mark(&self) -> [Contour; 2] {
        let arm = MARK_ARM.min(self.diameter_mm / 2.0);
        [DVec2::new(arm, 0.0), DVec2::new(0.0, arm)]
            .map(|way| Contour::line(self.centre - way, self.centre + way))
    }
}

/// What is cut and marked, in any place.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    pub thickness: f64,
    pub outlines: Vec<Contour>,
    pub holes: Vec<Hole>,
    /// Lines that are scribed to find places by; they may reach an edge.
    pub lines: Vec<Contour>,
    /// Letters, which must stay on the metal.
    pub letters: Vec<Contour>,
    /// The serial number that the letters say.
    pub serial: Option<String>,
    pub neutral_share: Option<f64>,
    pub fit: f64,
    pub remarks: Vec<String>,
    /// What was found while laying it out.
    pub findings: Vec<CuttingFinding>,
}

impl Layout {
    /// Moves everything so that the lower left corner of the outlines is the origin, and holds it against the limits.
    pub fn checked(mut self, part: &Part, metal: Metal, limits: &CuttingLimits) -> FlatPart {
        let (low, _) = bounds(&self.outlines);
        let there = |point: DVec2| point - low;
        let all = [&mut self.outlines, &mut self.lines, &mut self.letters];
        for contour in all.into_iter().flatten() {
            *contour = contour.moved(there);
        }
        for hole in &mut self.holes {
            hole.centre = there(hole.centre);
        }
        for finding in &mut self.findings {
            finding.place_mm = there(DVec2::from_array(finding.place_mm)).to_array();
        }
        let found = checks::all(&mut self, limits);
        self.findings.extend(found);
        let Self { thickness, outlines, holes, lines, letters, .. } = self;
        FlatPart {
            id: part.id,
            name: part.name,
            metal,
            thickness_mm: thickness,
            outlines,
            holes,
            marks: lines.into_iter().chain(letters).collect(),
            serial: self.serial,
            neutral_share: self.neutral_share,
            fit_mm: self.fit,
            findings: self.findings,
            remarks: self.remarks,
        }
    }
}

/// Least and greatest coordinates of some contours.
pub fn bounds(contours: &[Contour]) -> (DVec2, DVec2) {
    let none = (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY));
    let (low, high) = contours
        .iter()
        .map(Contour::bounds)
        .fold(none, |sum, one| (sum.0.min(one.0), sum.1.max(one.1)));
    if low.x <= high.x { (low, high) } else { (DVec2::ZERO, DVec2::ZERO) }
}

/// A length with three decimals at most.
pub fn trimmed(length: f64) -> String {
    let text = format!("{length:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}
