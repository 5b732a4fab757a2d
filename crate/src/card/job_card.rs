//! Everything the card says of a job, as data: `card.json`.

use serde::Serialize;

use crate::checks::ClearanceList;
use crate::job::Voice;
use crate::job::parameters::ValuesAre;
use crate::model::Model;
use crate::parts::stock;
use crate::tables::stock::Form;

use super::bent_parts::{BentPart, bent_parts};
use super::card_file::CardFile;
use super::cautions;
use super::dimensions::{Dimensions, dimensions};
use super::gauged_tenon::{GaugedTenon, gauged_tenon};
use super::hammering::{Hammered, hammered};
use super::heat_order::{HeatOrder, heat_order};
use super::holes::{Holes, holes};
use super::masses::{Masses, masses};
use super::metal_table::{MetalSheet, metal_table};
use super::numbers::Number;
use super::order_of_work::{Step, order_of_work};
use super::pull_down::{PullDown, pull_down};
use super::tight_rows::{TightRow, tight_rows};
use super::vent_area::{VentArea, vent_area};
use super::wall::{Wall, wall};

/// Name and version of `card.json`.
pub const FORMAT: &str = "neckwright-job-card/1";

/// A part with what it is made from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct StockRow {
    pub part: &'static str,
    pub name: &'static str,
    pub metal: &'static str,
    pub temper: &'static str,
    pub made_by: &'static str,
    /// Thickness of sheet; not known of what is no sheet.
    pub thickness: Number,
    /// Size of the blank along and across; not known of what is no sheet.
    pub length: Number,
    pub width: Number,
    /// `cut`, `turned`, `bought`: where it comes from.
    pub from: &'static str,
}

/// The card of a job.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct JobCard {
    pub format: &'static str,
    pub order: String,
    pub serial: String,
    pub revision: String,
    pub note: String,
    pub horn_voice: Voice,
    pub values_are: ValuesAre,
    pub caution: &'static str,
    pub dimensions: Dimensions,
    pub stock: Vec<StockRow>,
    pub metals: Vec<MetalSheet>,
    pub tenon: GaugedTenon,
    pub wall: Wall,
    pub hammering: Hammered,
    pub pull_down: PullDown,
    pub heat: HeatOrder,
    pub holes: Holes,
    pub bent_parts: Vec<BentPart>,
    pub vent: VentArea,
    pub masses: Masses,
    pub tight_rows: Vec<TightRow>,
    /// Rows of the clearance list that fail.
    pub failed: Number,
    pub steps: Vec<Step>,
}

impl JobCard {
    /// The card of a model, with its clearance list.
    #[must_use]
    pub fn of(model: &Model, file: &CardFile, list: &ClearanceList) -> Self {
        let (job, assembly) = (&model.job, &model.assembly);
        let tenon = gauged_tenon(job, file);
        let mut card = Self {
            format: FORMAT,
            order: job.order.number.clone(),
            serial: job.order.serial.clone(),
            revision: job.order.revision.clone(),
            note: job.order.note.clone(),
            horn_voice: job.horn_voice,
            values_are: job.values_are,
            caution: cautions::FIRST,
            dimensions: dimensions(model, &tenon),
            stock: stock_rows(model),
            metals: metal_table(model),
            tenon,
            wall: wall(model, file),
            hammering: hammered(job, assembly, file),
            pull_down: pull_down(job, assembly, file),
            heat: heat_order(job, assembly, file, &model.joint_findings()),
            holes: holes(job),
            bent_parts: bent_parts(model),
            vent: vent_area(job),
            masses: masses(model),
            tight_rows: tight_rows(list),
            failed: Number::exact(list.all_failed() as f64, "rows", "Clearance list"),
            steps: Vec::new(),
        };
        card.steps = order_of_work(&card);
        card
    }

    /// The text of `card.json`.
    ///
    /// # Errors
    ///
    /// None in practice: the writer fails only on what this structure cannot hold.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

fn stock_rows(model: &Model) -> Vec<StockRow> {
    let bent = bent_parts(model);
    model
        .parts()
        .iter()
        .filter_map(|built| {
            let part = &built.part;
            let stock = stock(part.id, &model.job)?;
            let none = |why: &str| Number::not_known("mm", why, "Job");
            let found = bent.iter().find(|row| row.part == part.id);
            let size = |pick: fn(&BentPart) -> Option<Number>| {
                found.and_then(pick).unwrap_or_else(|| none("see its drawing or outline"))
            };
            Some(StockRow {
                part: part.id,
                name: part.name,
                metal: part.metal?.id(),
                temper: stock.temper.name(),
                made_by: part.made_by,
                thickness: stock.thickness_mm.map_or_else(
                    || none("not of sheet"),
                    |thickness| {
                        Number::within(thickness, 0.03, "mm", "Job, thickness of the sheet")
                    },
                ),
                length: size(|row| Some(row.length.clone())),
                width: size(|row| row.width.clone()),
                from: match stock.form {
                    Form::Sheet => "cut",
                    Form::Rod | Form::Tubing if part.id == "rod_loop" => "cut",
                    Form::Rod | Form::Tubing => "turned",
                    Form::Bought => "bought",
                },
            })
        })
        .collect()
}
