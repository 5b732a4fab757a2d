//! What a reader can hold its own copy against: validation properties, and what a part is made of.
//!
//! The names are those of the CAx-IF recommended practices, "Geometric and Assembly Validation Properties" and
//! "Material Identification and Density", as an open file checker spells them. Values come from integrals over the
//! exact faces, never from triangles: readers recompute them from the same faces.

use crate::solids::properties::Properties;

use super::error::Fault;
use super::geometry::point;
use super::part21::Value::{Real, Reference, References, Text, Typed};
use super::part21::{DataSection, Id};
use super::product::Context;

/// What a part is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepMaterial<'a> {
    /// Designation, as on the order for the metal.
    pub designation: &'a str,
    /// Name and composition.
    pub description: &'a str,
    pub density_g_cm3: f64,
}

/// A measure to 1e-7 of its unit, as in the summary.
fn measure(value: f64) -> f64 {
    (value * 1e7).round() / 1e7
}

/// Hangs volume, area and centroid on a product's shape.
pub fn validation(
    data: &mut DataSection,
    context: &Context,
    shape: Id,
    properties: &Properties,
) -> Result<(), Fault> {
    let units = &context.measures;
    let volume = measure_item(
        data,
        "volume measure",
        ("VOLUME_MEASURE", measure(properties.volume)),
        units.cubic_millimetre,
    )?;
    let area = measure_item(
        data,
        "surface area measure",
        ("AREA_MEASURE", measure(properties.area)),
        units.square_millimetre,
    )?;
    let centroid = point(data, "centre point", properties.centroid)?;
    for (what, item) in [("volume", volume), ("surface area", area), ("centroid", centroid)] {
        property(data, context, ("geometric validation property", what, shape), (what, item))?;
    }
    Ok(())
}

/// Hangs the material on a product's definition. A later property with text in it on the same definition would hide the
/// name from a widely used reader, so there must be none.
pub fn material(
    data: &mut DataSection,
    context: &Context,
    definition: Id,
    material: &StepMaterial<'_>,
) -> Result<(), Fault> {
    if let Some(unit) = context.measures.density {
        // The recommended practice asks for this measure, though the schema's own rule would have a ratio without unit.
        let density = measure_item(
            data,
            "density measure",
            ("POSITIVE_RATIO_MEASURE", measure(material.density_g_cm3)),
            unit,
        )?;
        let about = ("material property", "density", definition);
        property(data, context, about, ("density", density))?;
    }
    let name = data.add(
        "DESCRIPTIVE_REPRESENTATION_ITEM",
        &[Text(material.designation), Text(material.description)],
    )?;
    let about = ("material property", "material name", definition);
    property(data, context, about, ("material name", name))
}

fn measure_item(
    data: &mut DataSection,
    name: &str,
    (kind, value): (&str, f64),
    unit: Id,
) -> Result<Id, Fault> {
    data.add(
        "MEASURE_REPRESENTATION_ITEM",
        &[Text(name), Typed(kind, &Real(value)), Reference(unit)],
    )
}

/// A property of name and description about something, represented by one item.
fn property(
    data: &mut DataSection,
    context: &Context,
    (name, description, about): (&str, &str, Id),
    (representation, item): (&str, Id),
) -> Result<(), Fault> {
    let property =
        data.add("PROPERTY_DEFINITION", &[Text(name), Text(description), Reference(about)])?;
    let representation = data.add(
        "REPRESENTATION",
        &[Text(representation), References(&[item]), Reference(context.geometric)],
    )?;
    data.add(
        "PROPERTY_DEFINITION_REPRESENTATION",
        &[Reference(property), Reference(representation)],
    )?;
    Ok(())
}
