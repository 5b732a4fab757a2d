//! Products, their contexts and units, and how an assembly holds its parts.

use glam::DVec3;

use crate::geometry::frame::Frame;

use super::error::Fault;
use super::geometry::placement;
use super::part21::Value::{
    Derived, Integer, List, Real, Reference, References, Text, Typed, Unset, Word,
};
use super::part21::{DataSection, Id};

/// What the application protocol wants said of itself.
pub struct Protocol {
    /// For FILE_SCHEMA, with the object identifier that tells the edition.
    pub schema: &'static str,
    application: &'static str,
    definition: &'static str,
    year: usize,
}

/// AP242 second edition.
pub const AP242: Protocol = Protocol {
    schema: "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }",
    application: "managed model based 3d engineering",
    definition: "ap242_managed_model_based_3d_engineering",
    year: 2020,
};

/// Distance within which points count as the same, mm.
const UNCERTAINTY: f64 = 1e-5;

/// The parts' own frame, which is that of the neck.
const NECK: Frame = Frame { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Y, z: DVec3::Z };

/// What every product of a file shares.
pub struct Context {
    product: Id,
    definition: Id,
    /// Units and uncertainty of every representation.
    pub geometric: Id,
}

impl Context {
    pub fn new(data: &mut DataSection, protocol: &Protocol) -> Result<Self, Fault> {
        let application = data.add("APPLICATION_CONTEXT", &[Text(protocol.application)])?;
        data.add(
            "APPLICATION_PROTOCOL_DEFINITION",
            &[
                Text("international standard"),
                Text(protocol.definition),
                Integer(protocol.year),
                Reference(application),
            ],
        )?;
        let product =
            data.add("PRODUCT_CONTEXT", &[Text(""), Reference(application), Text("mechanical")])?;
        let definition = data.add(
            "PRODUCT_DEFINITION_CONTEXT",
            &[Text("part definition"), Reference(application), Text("design")],
        )?;
        Ok(Self { product, definition, geometric: geometric_context(data)? })
    }
}

/// Millimetre, radian, steradian.
fn geometric_context(data: &mut DataSection) -> Result<Id, Fault> {
    let millimetre = data.add_complex(&[
        ("LENGTH_UNIT", &[]),
        ("NAMED_UNIT", &[Derived]),
        ("SI_UNIT", &[Word("MILLI"), Word("METRE")]),
    ])?;
    let radian = data.add_complex(&[
        ("NAMED_UNIT", &[Derived]),
        ("PLANE_ANGLE_UNIT", &[]),
        ("SI_UNIT", &[Unset, Word("RADIAN")]),
    ])?;
    let steradian = data.add_complex(&[
        ("NAMED_UNIT", &[Derived]),
        ("SI_UNIT", &[Unset, Word("STERADIAN")]),
        ("SOLID_ANGLE_UNIT", &[]),
    ])?;
    let uncertainty = data.add(
        "UNCERTAINTY_MEASURE_WITH_UNIT",
        &[
            Typed("LENGTH_MEASURE", &Real(UNCERTAINTY)),
            Reference(millimetre),
            Text("distance_accuracy_value"),
            Text(""),
        ],
    )?;
    data.add_complex(&[
        ("GEOMETRIC_REPRESENTATION_CONTEXT", &[Integer(3)]),
        ("GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT", &[References(&[uncertainty])]),
        ("GLOBAL_UNIT_ASSIGNED_CONTEXT", &[References(&[millimetre, radian, steradian])]),
        ("REPRESENTATION_CONTEXT", &[Text(""), Text("3D")]),
    ])
}

/// A product and the definition others refer to.
pub struct Product {
    definition: Id,
    shape: Id,
}

impl Product {
    /// Readers show the product's name, or its id where the name is empty.
    pub fn new(
        data: &mut DataSection,
        context: &Context,
        id: &str,
        name: &str,
    ) -> Result<Self, Fault> {
        let product =
            data.add("PRODUCT", &[Text(id), Text(name), Text(""), References(&[context.product])])?;
        data.add(
            "PRODUCT_RELATED_PRODUCT_CATEGORY",
            &[Text("part"), Unset, References(&[product])],
        )?;
        let formation =
            data.add("PRODUCT_DEFINITION_FORMATION", &[Text(""), Text(""), Reference(product)])?;
        let definition = data.add(
            "PRODUCT_DEFINITION",
            &[Text("design"), Text(""), Reference(formation), Reference(context.definition)],
        )?;
        let shape =
            data.add("PRODUCT_DEFINITION_SHAPE", &[Text(""), Text(""), Reference(definition)])?;
        Ok(Self { definition, shape })
    }

    fn represented_by(&self, data: &mut DataSection, representation: Id) -> Result<(), Fault> {
        data.add(
            "SHAPE_DEFINITION_REPRESENTATION",
            &[Reference(self.shape), Reference(representation)],
        )?;
        Ok(())
    }
}

/// A part's product with its shape.
pub struct PartShape {
    product: Product,
    axis: Id,
    representation: Id,
}

impl PartShape {
    /// Ties a solid to its product.
    pub fn new(
        data: &mut DataSection,
        context: &Context,
        product: Product,
        solid: Id,
    ) -> Result<Self, Fault> {
        let axis = placement(data, &NECK)?;
        let representation = data.add(
            "ADVANCED_BREP_SHAPE_REPRESENTATION",
            &[Text(""), References(&[axis, solid]), Reference(context.geometric)],
        )?;
        product.represented_by(data, representation)?;
        Ok(Self { product, axis, representation })
    }
}

/// Places each part once in the assembly. All are modelled in the frame of the neck, so every
/// placement is the identity.
pub fn assemble(
    data: &mut DataSection,
    context: &Context,
    root: &Product,
    parts: &[(&str, &str, PartShape)],
) -> Result<(), Fault> {
    let origin = placement(data, &NECK)?;
    let targets = parts.iter().map(|_| placement(data, &NECK)).collect::<Result<Vec<_>, _>>()?;
    let representation = data.add(
        "SHAPE_REPRESENTATION",
        &[Text(""), References(&[&[origin], &targets[..]].concat()), Reference(context.geometric)],
    )?;
    root.represented_by(data, representation)?;
    for ((id, name, part), &target) in parts.iter().zip(&targets) {
        let usage = data.add(
            "NEXT_ASSEMBLY_USAGE_OCCURRENCE",
            &[
                Text(id),
                Text(name),
                Text(""),
                Reference(root.definition),
                Reference(part.product.definition),
                Unset,
            ],
        )?;
        let placed =
            data.add("PRODUCT_DEFINITION_SHAPE", &[Text(""), Text(""), Reference(usage)])?;
        let transformation = data.add(
            "ITEM_DEFINED_TRANSFORMATION",
            &[Text(""), Text(""), Reference(part.axis), Reference(target)],
        )?;
        let relation = data.add_complex(&[
            (
                "REPRESENTATION_RELATIONSHIP",
                &[Text(""), Text(""), Reference(part.representation), Reference(representation)],
            ),
            ("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION", &[Reference(transformation)]),
            ("SHAPE_REPRESENTATION_RELATIONSHIP", &[]),
        ])?;
        data.add(
            "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION",
            &[Reference(relation), Reference(placed)],
        )?;
    }
    Ok(())
}

/// Gives a solid its colour, sRGB 0 to 1.
pub fn styled(data: &mut DataSection, solid: Id, srgb: [f64; 3]) -> Result<Id, Fault> {
    if let Some(&value) = srgb.iter().find(|part| !(0.0..=1.0).contains(*part)) {
        return Err(Fault::Colour { value });
    }
    // Six digits tell all 256 steps of a screen apart.
    let [red, green, blue] = srgb.map(|part| (part * 1e6).round() / 1e6);
    let colour = data.add("COLOUR_RGB", &[Text(""), Real(red), Real(green), Real(blue)])?;
    let fill = data.add("FILL_AREA_STYLE_COLOUR", &[Text(""), Reference(colour)])?;
    let area = data.add("FILL_AREA_STYLE", &[Text(""), References(&[fill])])?;
    let surface_fill = data.add("SURFACE_STYLE_FILL_AREA", &[Reference(area)])?;
    let side = data.add("SURFACE_SIDE_STYLE", &[Text(""), References(&[surface_fill])])?;
    let usage = data.add("SURFACE_STYLE_USAGE", &[Word("BOTH"), Reference(side)])?;
    let style = data.add("PRESENTATION_STYLE_ASSIGNMENT", &[References(&[usage])])?;
    data.add("STYLED_ITEM", &[Text("colour"), List(&[Reference(style)]), Reference(solid)])
}

/// Lists the styled items, without which readers need not honour them.
pub fn presentation(data: &mut DataSection, context: &Context, styled: &[Id]) -> Result<(), Fault> {
    data.add(
        "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION",
        &[Text(""), References(styled), Reference(context.geometric)],
    )?;
    Ok(())
}
