//! Parts that are bent or formed: how long they are cut, and at what heat they are annealed.

use serde::Serialize;

use crate::geometry::shape::{RodPiece, Shape};
use crate::model::Model;
use crate::shop::flat::{CuttingLimits, flat_part};
use crate::tables::bending::{self, neutral_share};
use crate::tables::forming::annealing;
use crate::tables::metals::Metal;

use super::numbers::{Number, said_source};

/// A part that is cut long and bent.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct BentPart {
    pub part: &'static str,
    pub name: &'static str,
    pub metal: &'static str,
    /// Developed length.
    pub length: Number,
    /// Developed width; none of a rod.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width: Option<Number>,
    /// Thickness of the sheet, or diameter of the rod.
    pub thickness: Number,
    /// Annealing heat.
    pub anneal: Number,
    pub words: Vec<String>,
}

/// How long the rod loop, guide, brace, saddle and badge are cut.
#[must_use]
pub fn bent_parts(model: &Model) -> Vec<BentPart> {
    let mut found = Vec::new();
    found.extend(rod_loop(model));
    for id in ["brace", "saddle", "guide", "badge"] {
        found.extend(sheet(model, id));
    }
    found
}

/// Heat a metal is annealed at.
#[must_use]
pub fn anneal(metal: Metal) -> Number {
    match annealing(metal) {
        Some(row) => Number::range(row.range_c, "°C", said_source(&row.source)),
        None => Number::not_known(
            "°C",
            format!("no annealing range of {} with a source is at hand", metal.name()),
            "tables of annealing",
        ),
    }
}

/// Length of the rod's middle line, and of its neutral line, mm.
fn rod_lengths(path: &[RodPiece], radius: f64) -> (f64, f64) {
    let (mut middle, mut neutral) = (0.0, 0.0);
    for piece in path {
        match piece {
            RodPiece::Line { from, to } => {
                middle += from.distance(*to);
                neutral += from.distance(*to);
            }
            RodPiece::Arc { from, centre, sweep, .. } => {
                let bend = from.distance(*centre);
                let inside = bend - radius;
                middle += bend * sweep.abs();
                let share = neutral_share(inside / (2.0 * radius));
                neutral += (inside + share * 2.0 * radius) * sweep.abs();
            }
        }
    }
    (middle, neutral)
}

fn rod_loop(model: &Model) -> Option<BentPart> {
    let part = &model.part("rod_loop")?.part;
    let metal = part.metal?;
    let Shape::Rod(rod) = &part.shape else { return None };
    let (middle, neutral) = rod_lengths(&rod.path, rod.radius);
    let mut words = vec![
        "Cut 10 mm longer, bend from the middle, trim both ends when it lies on the arm.".to_string(),
        "Anneal before bending, so that it can be set by hand; heat only until it glows faintly in shade, no longer: too much makes coarse grain.".to_string(),
    ];
    if matches!(metal, Metal::C26000 | Metal::C26800 | Metal::C27200) {
        words.push(
            "Do not overheat: zinc fume from overheated brass can cause metal-fume fever.".into(),
        );
    }
    Some(BentPart {
        part: part.id,
        name: part.name,
        metal: metal.id(),
        length: Number::between(
            middle,
            neutral.min(middle),
            middle,
            "mm",
            format!(
                "Middle line of the rod; the least by the neutral line of {}",
                said_source(&bending::SOURCE)
            ),
        ),
        width: None,
        thickness: Number::within(2.0 * rod.radius, 0.03, "mm", "Job, rod_loop.rod_diameter_mm"),
        anneal: anneal(metal),
        words,
    })
}

fn sheet(model: &Model, id: &str) -> Option<BentPart> {
    let limits = CuttingLimits::default();
    let flat = flat_part(model, id, &limits)?.ok()?;
    let first = flat.outlines.first()?;
    let (low, high) = first.bounds();
    let source = format!(
        "Laid flat at the neutral surface, {} of the thickness from the inside ({})",
        flat.neutral_share.map_or("half".into(), |share| format!("{share:.3}")),
        said_source(&bending::SOURCE)
    );
    Some(BentPart {
        part: flat.id,
        name: flat.name,
        metal: flat.metal.id(),
        length: Number::within(high.x - low.x, limits.profile_mm, "mm", source.clone()),
        width: Some(Number::within(high.y - low.y, limits.profile_mm, "mm", source)),
        thickness: Number::within(flat.thickness_mm, 0.03, "mm", "Job, thickness of the sheet"),
        anneal: anneal(flat.metal),
        words: flat.remarks.clone(),
    })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use glam::DVec3;

    use super::*;

    /// Truth: a quarter circle of 20 mm between two straights of 30 is 60 + 10 π long along its middle; at r / s of 9 the
    /// neutral line of DIN 6935 is the middle line; at r 4 for a rod of 2.8 mm it lies inside.
    #[test]
    fn a_bent_rod_is_as_long_as_its_middle_line() {
        let arc = |radius: f64| RodPiece::Arc {
            from: DVec3::X * radius,
            centre: DVec3::ZERO,
            axis: DVec3::Z,
            sweep: FRAC_PI_2,
        };
        let line = RodPiece::Line { from: DVec3::ZERO, to: DVec3::Y * 30.0 };
        let (middle, neutral) = rod_lengths(&[line, arc(20.0), line], 1.0);
        assert!((middle - 60.0 - 10.0 * std::f64::consts::PI).abs() < 1e-9);
        assert!((neutral - middle).abs() < 1e-9);
        let (middle, neutral) = rod_lengths(&[arc(4.0)], 1.4);
        let share = (0.65 + 0.5 * libm::log10(2.6 / 2.8)) / 2.0;
        assert!((neutral - (2.6 + share * 2.8) * FRAC_PI_2).abs() < 1e-9);
        assert!(neutral < middle);
    }
}
