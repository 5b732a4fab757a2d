//! STEP files (ISO 10303-21, AP242 second edition, or AP214 on request): one part, or the whole assembly.
//!
//! Lengths are millimetres rounded to 1e-9, angles radians; parts lie in the frame of the neck.
//! Every product carries its volume, area and centroid, and every part its material, so that a reader
//! can verify what it received. The same input gives the same bytes: instances stand in the order of
//! first use, and the time stamp is passed in.

mod error;
mod geometry;
mod measured;
mod part21;
mod product;
mod topology;

pub use error::{Fault, StepError};
pub use measured::StepMaterial;
pub use part21::StepHeader;
pub use product::Protocol;

use crate::solids::brep::Solid;
use crate::solids::properties::{Properties, together};

use part21::{DataSection, Id};
use product::{Context, Named, PartShape, Product};

/// One part to write.
#[derive(Clone, Copy, Debug)]
pub struct StepPart<'a> {
    /// Unique in the file.
    pub id: &'a str,
    /// What readers show.
    pub name: &'a str,
    /// What else is to be known of it.
    pub description: &'a str,
    pub solid: &'a Solid,
    /// Of the solid as it stands in the file.
    pub properties: Properties,
    /// None for what is not made of anything.
    pub material: Option<StepMaterial<'a>>,
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
    let context = Context::new(&mut data, header.protocol, part.material.is_some())?;
    let written = write_shape(&mut data, &context, header, part)?;
    product::presentation(&mut data, &context, &[written.styled])?;
    data.finish(header)
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
    let densities = parts.iter().any(|part| part.material.is_some());
    let context = Context::new(&mut data, header.protocol, densities)?;
    let named = Named {
        id: assembly_name,
        name: assembly_name,
        description: header.description,
        revision: header.revision,
    };
    let root = Product::new(&mut data, &context, &named)?;
    let mut shapes = Vec::with_capacity(parts.len());
    let mut styled = Vec::with_capacity(parts.len());
    for part in parts {
        let written = write_shape(&mut data, &context, header, part)?;
        shapes.push((part.id, part.name, written.shape));
        styled.push(written.styled);
    }
    product::assemble(&mut data, &context, &root, &shapes)?;
    let whole = together(parts.iter().map(|part| part.properties));
    measured::validation(&mut data, &context, root.shape, &whole)?;
    product::presentation(&mut data, &context, &styled)?;
    data.finish(header)
}

struct Written {
    shape: PartShape,
    styled: Id,
}

fn write_shape(
    data: &mut DataSection,
    context: &Context,
    header: &StepHeader<'_>,
    part: &StepPart<'_>,
) -> Result<Written, StepError> {
    let mut write = || -> Result<Written, Fault> {
        let named = Named {
            id: part.id,
            name: part.name,
            description: part.description,
            revision: header.revision,
        };
        let product = Product::new(data, context, &named)?;
        let solid = topology::solid(data, part.name, part.solid)?;
        let shape = PartShape::new(data, context, product, solid)?;
        measured::validation(data, context, shape.product.shape, &part.properties)?;
        if let Some(material) = &part.material {
            measured::material(data, context, shape.product.definition, material)?;
        }
        let styled = product::styled(data, solid, part.colour_srgb)?;
        Ok(Written { shape, styled })
    };
    write().map_err(|fault| StepError::Part { part: part.id.to_owned(), fault })
}
