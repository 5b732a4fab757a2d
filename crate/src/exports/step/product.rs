//! Products, their contexts and units, and how an assembly holds its parts.

use glam::DVec3;

use crate::geometry::frame::Frame;

use super::error::Fault;
use super::geometry::placement;
use super::part21::Value::{
    Derived, Integer, List, Real, Reference, References, Text, Typed, Unset, Word,
};
use super::part21::{DataSection, Id};

/// The application protocol a file keeps to. The two differ in what they say of themselves alone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Protocol {
    /// AP242 second edition (2020).
    #[default]
    Ap242,
    /// AP214 third edition (2010), for readers that know no other.
    Ap214,
}

impl Protocol {
    /// For FILE_SCHEMA, with the object identifier that tells the edition.
    pub(super) fn schema(self) -> &'static str {
        match self {
            Self::Ap242 => {
                "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }"
            }
            Self::Ap214 => "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }",
        }
    }

    /// What APPLICATION_CONTEXT and APPLICATION_PROTOCOL_DEFINITION are to say, and the year of the latter.
    fn words(self) -> (&'static str, &'static str, usize) {
        match self {
            Self::Ap242 => (
                "managed model based 3d engineering",
                "ap242_managed_model_based_3d_engineering",
                2020,
            ),
            Self::Ap214 => {
                ("core data for automotive mechanical design processes", "automotive_design", 2010)
            }
        }
    }
}

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
    pub measures: MeasureUnits,
}

/// Units of what is measured on a solid, which the geometry has no need of.
pub struct MeasureUnits {
    pub square_millimetre: Id,
    pub cubic_millimetre: Id,
    /// Grams per cubic centimetre; absent from a file in which nothing has a density.
    pub density: Option<Id>,
}

impl Context {
    pub fn new(data: &mut DataSection, protocol: Protocol, densities: bool) -> Result<Self, Fault> {
        let (application, definition, year) = protocol.words();
        let application = data.add("APPLICATION_CONTEXT", &[Text(application)])?;
        data.add(
            "APPLICATION_PROTOCOL_DEFINITION",
            &[
                Text("international standard"),
                Text(definition),
                Integer(year),
                Reference(application),
            ],
        )?;
        let product =
            data.add("PRODUCT_CONTEXT", &[Text(""), Reference(application), Text("mechanical")])?;
        let definition = data.add(
            "PRODUCT_DEFINITION_CONTEXT",
            &[Text("part definition"), Reference(application), Text("design")],
        )?;
        let millimetre = length_unit(data, "MILLI")?;
        let geometric = geometric_context(data, millimetre)?;
        let measures = MeasureUnits {
            square_millimetre: power(data, &[(millimetre, 2.0)])?,
            cubic_millimetre: power(data, &[(millimetre, 3.0)])?,
            density: if densities { Some(gram_per_cubic_centimetre(data)?) } else { None },
        };
        Ok(Self { product, definition, geometric, measures })
    }
}

fn length_unit(data: &mut DataSection, prefix: &str) -> Result<Id, Fault> {
    data.add_complex(&[
        ("LENGTH_UNIT", &[]),
        ("NAMED_UNIT", &[Derived]),
        ("SI_UNIT", &[Word(prefix), Word("METRE")]),
    ])
}

/// A unit that is a product of powers of others.
fn power(data: &mut DataSection, factors: &[(Id, f64)]) -> Result<Id, Fault> {
    let elements = factors
        .iter()
        .map(|&(unit, exponent)| {
            data.add("DERIVED_UNIT_ELEMENT", &[Reference(unit), Real(exponent)])
        })
        .collect::<Result<Vec<_>, _>>()?;
    data.add("DERIVED_UNIT", &[References(&elements)])
}

/// Gram and centimetre, not kilogram and metre: a widely used reader passes over the kilogram's prefix and then shows a
/// thousandth of the density.
fn gram_per_cubic_centimetre(data: &mut DataSection) -> Result<Id, Fault> {
    let gram = data.add_complex(&[
        ("MASS_UNIT", &[]),
        ("NAMED_UNIT", &[Derived]),
        ("SI_UNIT", &[Unset, Word("GRAM")]),
    ])?;
    let centimetre = length_unit(data, "CENTI")?;
    power(data, &[(gram, 1.0), (centimetre, -3.0)])
}

/// Millimetre, radian, steradian.
fn geometric_context(data: &mut DataSection, millimetre: Id) -> Result<Id, Fault> {
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

/// What a product says of itself.
pub struct Named<'a> {
    pub id: &'a str,
    /// Readers show this, or the id where it is empty.
    pub name: &'a str,
    pub description: &'a str,
    /// Version of the product.
    pub revision: &'a str,
}

/// A product and the definition others refer to.
pub struct Product {
    pub definition: Id,
    pub shape: Id,
}

impl Product {
    pub fn new(
        data: &mut DataSection,
        context: &Context,
        named: &Named<'_>,
    ) -> Result<Self, Fault> {
        let product = data.add(
            "PRODUCT",
            &[
                Text(named.id),
                Text(named.name),
                Text(named.description),
                References(&[context.product]),
            ],
        )?;
        data.add(
            "PRODUCT_RELATED_PRODUCT_CATEGORY",
            &[Text("part"), Unset, References(&[product])],
        )?;
        let formation = data.add(
            "PRODUCT_DEFINITION_FORMATION",
            &[Text(named.revision), Text(""), Reference(product)],
        )?;
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
    pub product: Product,
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
