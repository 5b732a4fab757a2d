//! What is said of a lay: where every blank lies, what came of each order, metal bought and wasted.

use glam::DVec2;
use serde::Serialize;

use crate::units::deg_from_rad;

use super::lay::{Aim, Ground, Lay, Laying, Place};
use super::order::BlankOrder;
use super::sheet_file::SheetFile;

/// What of an order was laid.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct LaidShare {
    pub order: String,
    /// Half shells asked for and laid.
    pub asked: u32,
    pub pieces: u32,
    /// Area of one blank, mm².
    pub blank_area_mm2: f64,
}

/// Where a blank lies: the blank's own drawing, mirrored across its y axis if so said, turned counter-clockwise, then moved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Placement {
    /// Number of the sheet, from 0.
    pub sheet: u32,
    /// Number of the order, from 0.
    pub order: u32,
    /// Number of the half shell among those of its order, from 0: even ones are right halves, odd ones left.
    pub piece: u32,
    pub x_mm: f64,
    pub y_mm: f64,
    pub angle_deg: f64,
    pub mirrored: bool,
}

/// What `lay.json` says.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct LayReport {
    pub format: String,
    /// The first order.
    pub order: String,
    pub sheet: SheetFile,
    pub seed: u32,
    /// Rounds of the search: the same seed and as many rounds give the same lay.
    pub rounds: u32,
    /// Half shells asked for and laid.
    pub asked: u32,
    pub pieces: u32,
    pub sheets: u32,
    /// Length of strip, mm; null on sheets.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub length_mm: Option<f64>,
    /// Area of one blank, of the first order, mm².
    pub blank_area_mm2: f64,
    pub orders: Vec<LaidShare>,
    /// Area of the blanks over that of the metal they come from.
    #[serde(rename = "yield")]
    pub yielded: f64,
    /// Mass of the metal bought and of what is no blank, g.
    pub bought_g: f64,
    pub wasted_g: f64,
    /// Of the last sheet, what is left whole beyond the last blank and the margin, over the full width: its length, mm; null on
    /// a strip, and on an off-cut, whose width is not the same everywhere.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub off_cut_mm: Option<f64>,
    pub placements: Vec<Placement>,
    pub notes: Vec<String>,
}

impl BlankOrder {
    /// What is to be said of a lay.
    #[must_use]
    pub fn report(&self, laying: &Laying, seed: u32) -> LayReport {
        let none = Lay { sheets: Vec::new(), length: None };
        let lay = laying.best().unwrap_or(&none);
        let pieces: usize = lay.sheets.iter().map(Vec::len).sum();
        let orders = self.laid_shares(lay);
        let used: f64 =
            orders.iter().map(|order| order.blank_area_mm2 * f64::from(order.pieces)).sum();
        let metal_area = match &self.aim {
            Aim::Most { ground } | Aim::Fewest { ground } => {
                ground.area() * lay.sheets.len() as f64
            }
            Aim::Shortest { width } => width * lay.length.unwrap_or_default(),
        };
        let first = self.first();
        // mm³ to cm³.
        let grams =
            |area: f64| area * first.blank.thickness_mm * first.metal.density_g_cm3() / 1000.0;
        let mut notes = self.notes.clone();
        if pieces < self.pieces.len() {
            let (wanted, rounds) = (self.pieces.len(), laying.steps());
            notes.push(if laying.finished() {
                format!(
                    "{pieces} of {wanted} half shells were laid in {rounds} rounds; one more would be more metal than the sheet has."
                )
            } else {
                format!("{pieces} of {wanted} half shells were laid in {rounds} rounds; more rounds may lay more.")
            });
        }
        LayReport {
            format: "neckwright-lay/1".to_owned(),
            order: first.job.order.number.clone(),
            sheet: self.sheet.clone(),
            seed,
            rounds: u32::try_from(laying.steps()).unwrap_or(u32::MAX),
            asked: self.pieces.len() as u32,
            pieces: pieces as u32,
            sheets: lay.sheets.len() as u32,
            length_mm: lay.length,
            blank_area_mm2: first.blank.outline.area(),
            orders,
            yielded: if metal_area > 0.0 { used / metal_area } else { 0.0 },
            bought_g: grams(metal_area),
            wasted_g: grams((metal_area - used).max(0.0)),
            off_cut_mm: self.off_cut(lay),
            placements: self.placements(lay),
            notes,
        }
    }

    fn laid_shares(&self, lay: &Lay) -> Vec<LaidShare> {
        let laid = |share: usize| {
            let all = lay.sheets.iter().flatten();
            all.filter(|(piece, _)| self.pieces[*piece].share == share).count() as u32
        };
        let numbered = self.shares.iter().enumerate();
        numbered
            .map(|(place, share)| LaidShare {
                order: share.job.order.number.clone(),
                asked: share.halves,
                pieces: laid(place),
                blank_area_mm2: share.blank.outline.area(),
            })
            .collect()
    }

    fn off_cut(&self, lay: &Lay) -> Option<f64> {
        let Ground::Rectangle { size } = self.aim.ground()? else { return None };
        let last = lay.sheets.last()?;
        let ends = last.iter().map(|(_, place)| {
            super::lay::laid(&self.shapes, place).iter().map(|at| at.x).fold(0.0, f64::max)
        });
        Some((size.x - ends.fold(0.0, f64::max) - self.sheet.margin_mm).max(0.0))
    }

    fn placements(&self, lay: &Lay) -> Vec<Placement> {
        let numbered = lay.sheets.iter().enumerate();
        let all =
            numbered.flat_map(|(sheet, pieces)| pieces.iter().map(move |piece| (sheet, piece)));
        all.map(|(sheet, (piece, place))| {
            let origin = self.origin(place);
            Placement {
                sheet: sheet as u32,
                order: self.pieces[*piece].share as u32,
                piece: self.pieces[*piece].number,
                x_mm: origin.x,
                y_mm: origin.y,
                angle_deg: deg_from_rad(place.angle).rem_euclid(360.0),
                mirrored: place.shape % 2 == 1,
            }
        })
        .collect()
    }

    /// Where the origin of the blank's drawing lies.
    fn origin(&self, place: &Place) -> DVec2 {
        place.forth(-self.shapes.all[place.shape].middle)
    }
}
