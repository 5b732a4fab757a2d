//! STEP files (ISO 10303-21, AP242 second edition): one part, or the whole assembly.
//!
//! Lengths are millimetres rounded to 1e-9, angles radians; parts lie in the frame of the neck.
//! The same input gives the same bytes: instances stand in the order of first use, and the time
//! stamp is passed in.

mod error;
mod geometry;
mod part21;
mod product;
mod topology;

pub use error::{Fault, StepError};
pub use part21::StepHeader;

use crate::solids::brep::Solid;

use part21::{DataSection, Id};
use product::{AP242, Context, PartShape, Product};

/// One part to write.
#[derive(Clone, Copy, Debug)]
pub struct StepPart<'a> {
    /// Unique in the file.
    pub id: &'a str,
    /// What readers show.
    pub name: &'a str,
    pub solid: &'a Solid,
    /// Red, green, blue, each 0 to 1, sRGB.
    pub colour_srgb: [f64; 3],
}

/// A file with one part.
///
/// # Errors
///
/// A time stamp that is none, or a part of which something cannot be written: a number that is not
/// finite, a colour outside 0 to 1, a surface the standard has no such entity for.
pub fn write_part(header: &StepHeader<'_>, part: &StepPart<'_>) -> Result<Vec<u8>, StepError> {
    let mut data = DataSection::default();
    let context = Context::new(&mut data, &AP242)?;
    let written = write_shape(&mut data, &context, part)?;
    product::presentation(&mut data, &context, &[written.styled])?;
    data.finish(header, AP242.schema)
}

/// A file with a product for the assembly and one for each part, placed where they are modelled.
///
/// # Errors
///
/// As [`write_part`]; and no part at all, or two of the same id.
pub fn write_assembly(
    header: &StepHeader<'_>,
    assembly_name: &str,
    parts: &[StepPart<'_>],
) -> Result<Vec<u8>, StepError> {
    if parts.is_empty() {
        return Err(StepError::NoParts);
    }
    for (index, part) in parts.iter().enumerate() {
        if parts.iter().take(index).any(|earlier| earlier.id == part.id) {
            return Err(StepError::RepeatedPart { id: part.id.to_owned() });
        }
    }
    let mut data = DataSection::default();
    let context = Context::new(&mut data, &AP242)?;
    let root = Product::new(&mut data, &context, assembly_name, assembly_name)?;
    let mut shapes = Vec::with_capacity(parts.len());
    let mut styled = Vec::with_capacity(parts.len());
    for part in parts {
        let written = write_shape(&mut data, &context, part)?;
        shapes.push((part.id, part.name, written.shape));
        styled.push(written.styled);
    }
    product::assemble(&mut data, &context, &root, &shapes)?;
    product::presentation(&mut data, &context, &styled)?;
    data.finish(header, AP242.schema)
}

struct Written {
    shape: PartShape,
    styled: Id,
}

fn write_shape(
    data: &mut DataSection,
    context: &Context,
    part: &StepPart<'_>,
) -> Result<Written, StepError> {
    let mut write = || -> Result<Written, Fault> {
        let product = Product::new(data, context, part.id, part.name)?;
        let solid = topology::solid(data, part.name, part.solid)?;
        let shape = PartShape::new(data, context, product, solid)?;
        let styled = product::styled(data, solid, part.colour_srgb)?;
        Ok(Written { shape, styled })
    };
    write().map_err(|fault| StepError::Part { part: part.id.to_owned(), fault })
}
