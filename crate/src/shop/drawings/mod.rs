//! Drawings of turned parts for a machine shop: one page each, with a side view half in section, an end view, dimensions
//! with the limits that matter, thread and tap drill, metal, general tolerance and a title block.
//!
//! Views, lines and hatching follow ISO 128, the placing of the end view ISO 5456-2 or ASME Y14.3 (from memory).

mod dimensions;
mod page;
mod post;
mod sizes;
mod turned;
mod turned_parts;
mod views;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::exports::paper::{self, PaperSize, Sheet};
use crate::geometry::shape::Shape;
use crate::model::Model;

use super::heading::Heading;

pub use sizes::Units;

/// How the views of a drawing lie beside each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(rename_all = "snake_case")]
pub enum Projection {
    /// The view on the right is seen from the left.
    #[default]
    FirstAngle,
    /// The view on the right is seen from the right.
    ThirdAngle,
}

/// How drawings are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
#[serde(default, deny_unknown_fields)]
pub struct DrawingStyle {
    /// How the views lie beside each other.
    pub projection: Projection,
    /// Units of the figures.
    pub units: Units,
    /// Size of the sheet.
    pub paper: PaperSize,
}

/// Why a turned part has no drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum DrawingError {
    /// Its body is not the one its drawing is laid out for.
    #[error("the {0} has a form that no drawing is laid out for")]
    Form(&'static str),
    /// It fits on the sheet at no scale.
    #[error("the {0} does not fit on the sheet")]
    TooLarge(&'static str),
}

/// One drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub id: &'static str,
    /// Name of the part and order.
    pub title: String,
    /// How many times its true size the part is drawn.
    pub scale: f64,
    sheet: Sheet,
}

impl Drawing {
    /// The page as SVG.
    #[must_use]
    pub fn svg(&self) -> Vec<u8> {
        paper::svg(&self.title, &self.sheet)
    }

    /// The page as PDF.
    #[must_use]
    pub fn pdf(&self) -> Vec<u8> {
        paper::pdf(&self.title, std::slice::from_ref(&self.sheet))
    }

    /// The page itself, to be bound with others.
    #[must_use]
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }
}

/// The drawing of a part; none for one that is not turned, or bought.
///
/// # Errors
///
/// A body that no drawing is laid out for, or too large for the sheet.
pub fn drawing(
    model: &Model,
    part_id: &str,
    style: &DrawingStyle,
    heading: &Heading,
) -> Option<Result<Drawing, DrawingError>> {
    let part = &model.part(part_id)?.part;
    let metal = part.metal?;
    let page = page::Page { job: &model.job, part, metal, style, heading };
    Some(match (part.id, &part.shape) {
        ("post_left" | "post_right", Shape::Post(body)) => post::draw(&page, body),
        (_, Shape::Turned(body)) => match turned_parts::spec(&page, body)? {
            Ok(spec) => turned::draw(&page, &spec),
            Err(error) => Err(error),
        },
        _ => return None,
    })
}
