//! What a STEP file of ours must keep to, for tests: attribute types of every entity, and the rules
//! between entities that readers forgive.
//!
//! Source: the long-form EXPRESS schema of AP242 first edition (`ap242_managed_model_based_3d_engineering_mim_lf`),
//! whose entities of this subset the second edition keeps, as does AP214 third edition; clauses 4 and 5 of ISO 10303-42 for
//! geometry and topology; the CAx-IF recommended practices for validation properties and material.

use std::collections::{BTreeMap, BTreeSet};

use super::step_reader::{Instance, Record, StepFile, Value};

/// Attributes of each entity we write. One word an attribute: `text`, `real`, `int`, `bool`, `*`, `$`,
/// `.WORD.`, a typed real `=NAME`, a reference `#KIND`, and in brackets a list of one of them.
const ENTITIES: &[(&str, &str)] = &[
    ("ADVANCED_BREP_SHAPE_REPRESENTATION", "text [#REPRESENTATION_ITEM] #REPRESENTATION_CONTEXT"),
    ("ADVANCED_FACE", "text [#BOUND] #SURFACE bool"),
    ("APPLICATION_CONTEXT", "text"),
    ("APPLICATION_PROTOCOL_DEFINITION", "text text int #APPLICATION_CONTEXT"),
    ("AXIS2_PLACEMENT_3D", "text #CARTESIAN_POINT #DIRECTION #DIRECTION"),
    ("BOUNDED_CURVE", ""),
    ("BOUNDED_SURFACE", ""),
    ("B_SPLINE_CURVE", "int [#CARTESIAN_POINT] .UNSPECIFIED. bool bool"),
    ("B_SPLINE_SURFACE", "int int [[#CARTESIAN_POINT]] .UNSPECIFIED. bool bool bool"),
    ("CARTESIAN_POINT", "text [real]"),
    ("CIRCLE", "text #AXIS2_PLACEMENT_3D real"),
    ("CLOSED_SHELL", "text [#ADVANCED_FACE]"),
    ("COLOUR_RGB", "text real real real"),
    ("CONICAL_SURFACE", "text #AXIS2_PLACEMENT_3D real real"),
    (
        "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION",
        "#SHAPE_REPRESENTATION_RELATIONSHIP #PRODUCT_DEFINITION_SHAPE",
    ),
    ("CURVE", ""),
    ("CYLINDRICAL_SURFACE", "text #AXIS2_PLACEMENT_3D real"),
    ("DERIVED_UNIT", "[#DERIVED_UNIT_ELEMENT]"),
    ("DERIVED_UNIT_ELEMENT", "#NAMED_UNIT real"),
    ("DESCRIPTIVE_REPRESENTATION_ITEM", "text text"),
    ("DIRECTION", "text [real]"),
    ("EDGE_CURVE", "text #VERTEX_POINT #VERTEX_POINT #CURVE bool"),
    ("EDGE_LOOP", "text [#ORIENTED_EDGE]"),
    ("FACE_BOUND", "text #EDGE_LOOP bool"),
    ("FACE_OUTER_BOUND", "text #EDGE_LOOP bool"),
    ("FILL_AREA_STYLE", "text [#FILL_AREA_STYLE_COLOUR]"),
    ("FILL_AREA_STYLE_COLOUR", "text #COLOUR_RGB"),
    ("GEOMETRIC_REPRESENTATION_CONTEXT", "int"),
    ("GEOMETRIC_REPRESENTATION_ITEM", ""),
    ("GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT", "[#UNCERTAINTY_MEASURE_WITH_UNIT]"),
    ("GLOBAL_UNIT_ASSIGNED_CONTEXT", "[#NAMED_UNIT]"),
    ("ITEM_DEFINED_TRANSFORMATION", "text text #AXIS2_PLACEMENT_3D #AXIS2_PLACEMENT_3D"),
    ("LENGTH_UNIT", ""),
    ("LINE", "text #CARTESIAN_POINT #VECTOR"),
    ("MANIFOLD_SOLID_BREP", "text #CLOSED_SHELL"),
    ("MASS_UNIT", ""),
    (
        "MEASURE_REPRESENTATION_ITEM",
        "text =VOLUME_MEASURE|AREA_MEASURE|POSITIVE_RATIO_MEASURE #DERIVED_UNIT",
    ),
    (
        "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION",
        "text [#STYLED_ITEM] #REPRESENTATION_CONTEXT",
    ),
    ("NAMED_UNIT", "*"),
    ("NEXT_ASSEMBLY_USAGE_OCCURRENCE", "text text text #PRODUCT_DEFINITION #PRODUCT_DEFINITION $"),
    ("ORIENTED_EDGE", "text * * #EDGE_CURVE bool"),
    ("PLANE", "text #AXIS2_PLACEMENT_3D"),
    ("PLANE_ANGLE_UNIT", ""),
    ("PRESENTATION_STYLE_ASSIGNMENT", "[#SURFACE_STYLE_USAGE]"),
    ("PRODUCT", "text text text [#PRODUCT_CONTEXT]"),
    ("PRODUCT_CONTEXT", "text #APPLICATION_CONTEXT text"),
    ("PRODUCT_DEFINITION", "text text #PRODUCT_DEFINITION_FORMATION #PRODUCT_DEFINITION_CONTEXT"),
    ("PRODUCT_DEFINITION_CONTEXT", "text #APPLICATION_CONTEXT text"),
    ("PRODUCT_DEFINITION_FORMATION", "text text #PRODUCT"),
    ("PRODUCT_DEFINITION_SHAPE", "text text #CHARACTERIZED"),
    ("PRODUCT_RELATED_PRODUCT_CATEGORY", "text $ [#PRODUCT]"),
    ("PROPERTY_DEFINITION", "text text #MEASURED"),
    ("PROPERTY_DEFINITION_REPRESENTATION", "#PROPERTY_DEFINITION #REPRESENTATION"),
    ("RATIONAL_B_SPLINE_CURVE", "[real]"),
    ("RATIONAL_B_SPLINE_SURFACE", "[[real]]"),
    ("REPRESENTATION", "text [#REPRESENTATION_ITEM] #REPRESENTATION_CONTEXT"),
    ("REPRESENTATION_CONTEXT", "text text"),
    ("REPRESENTATION_ITEM", "text"),
    ("REPRESENTATION_RELATIONSHIP", "text text #SHAPE #SHAPE"),
    ("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION", "#ITEM_DEFINED_TRANSFORMATION"),
    ("SHAPE_DEFINITION_REPRESENTATION", "#PRODUCT_DEFINITION_SHAPE #SHAPE"),
    ("SHAPE_REPRESENTATION", "text [#REPRESENTATION_ITEM] #REPRESENTATION_CONTEXT"),
    ("SHAPE_REPRESENTATION_RELATIONSHIP", ""),
    ("SI_UNIT", "prefix .UNIT."),
    ("SOLID_ANGLE_UNIT", ""),
    ("STYLED_ITEM", "text [#PRESENTATION_STYLE_ASSIGNMENT] #MANIFOLD_SOLID_BREP"),
    ("SURFACE", ""),
    ("SURFACE_SIDE_STYLE", "text [#SURFACE_STYLE_FILL_AREA]"),
    ("SURFACE_STYLE_FILL_AREA", "#FILL_AREA_STYLE"),
    ("SURFACE_STYLE_USAGE", ".BOTH. #SURFACE_SIDE_STYLE"),
    ("TOROIDAL_SURFACE", "text #AXIS2_PLACEMENT_3D real real"),
    ("UNCERTAINTY_MEASURE_WITH_UNIT", "=LENGTH_MEASURE #LENGTH_UNIT text text"),
    ("VECTOR", "text #DIRECTION real"),
    ("VERTEX_POINT", "text #CARTESIAN_POINT"),
];

/// The two entities whose attributes differ as a simple instance and as part of a complex one.
const SIMPLE_SPLINES: &[(&str, &str)] = &[
    (
        "B_SPLINE_CURVE_WITH_KNOTS",
        "text int [#CARTESIAN_POINT] .UNSPECIFIED. bool bool [int] [real] .UNSPECIFIED.",
    ),
    (
        "B_SPLINE_SURFACE_WITH_KNOTS",
        "text int int [[#CARTESIAN_POINT]] .UNSPECIFIED. bool bool bool [int] [int] [real] [real] .UNSPECIFIED.",
    ),
];
const COMPLEX_SPLINES: &[(&str, &str)] = &[
    ("B_SPLINE_CURVE_WITH_KNOTS", "[int] [real] .UNSPECIFIED."),
    ("B_SPLINE_SURFACE_WITH_KNOTS", "[int] [int] [real] [real] .UNSPECIFIED."),
];

/// Complete sets of partial records, in the order the standard wants: alphabetical.
const COMPLEX: &[&str] = &[
    "BOUNDED_CURVE+B_SPLINE_CURVE+B_SPLINE_CURVE_WITH_KNOTS+CURVE+GEOMETRIC_REPRESENTATION_ITEM+RATIONAL_B_SPLINE_CURVE+REPRESENTATION_ITEM",
    "BOUNDED_SURFACE+B_SPLINE_SURFACE+B_SPLINE_SURFACE_WITH_KNOTS+GEOMETRIC_REPRESENTATION_ITEM+RATIONAL_B_SPLINE_SURFACE+REPRESENTATION_ITEM+SURFACE",
    "GEOMETRIC_REPRESENTATION_CONTEXT+GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT+GLOBAL_UNIT_ASSIGNED_CONTEXT+REPRESENTATION_CONTEXT",
    "LENGTH_UNIT+NAMED_UNIT+SI_UNIT",
    "MASS_UNIT+NAMED_UNIT+SI_UNIT",
    "NAMED_UNIT+PLANE_ANGLE_UNIT+SI_UNIT",
    "NAMED_UNIT+SI_UNIT+SOLID_ANGLE_UNIT",
    "REPRESENTATION_RELATIONSHIP+REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION+SHAPE_REPRESENTATION_RELATIONSHIP",
];

/// What may be referred to where a supertype is asked for.
const SUPERTYPES: &[(&str, &[&str])] = &[
    ("BOUND", &["FACE_BOUND", "FACE_OUTER_BOUND"]),
    ("CHARACTERIZED", &["PRODUCT_DEFINITION", "NEXT_ASSEMBLY_USAGE_OCCURRENCE"]),
    ("CURVE", &["LINE", "CIRCLE", "B_SPLINE_CURVE_WITH_KNOTS"]),
    ("MEASURED", &["PRODUCT_DEFINITION", "PRODUCT_DEFINITION_SHAPE"]),
    (
        "REPRESENTATION_ITEM",
        &[
            "AXIS2_PLACEMENT_3D",
            "MANIFOLD_SOLID_BREP",
            "MEASURE_REPRESENTATION_ITEM",
            "DESCRIPTIVE_REPRESENTATION_ITEM",
            "CARTESIAN_POINT",
        ],
    ),
    ("SHAPE", &["SHAPE_REPRESENTATION", "ADVANCED_BREP_SHAPE_REPRESENTATION"]),
    (
        "SURFACE",
        &[
            "PLANE",
            "CYLINDRICAL_SURFACE",
            "CONICAL_SURFACE",
            "TOROIDAL_SURFACE",
            "B_SPLINE_SURFACE_WITH_KNOTS",
        ],
    ),
];

/// Entities to which nothing refers.
const ROOTS: &[&str] = &[
    "APPLICATION_PROTOCOL_DEFINITION",
    "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION",
    "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION",
    "PRODUCT_RELATED_PRODUCT_CATEGORY",
    "PROPERTY_DEFINITION_REPRESENTATION",
    "SHAPE_DEFINITION_REPRESENTATION",
];

/// What each protocol says of itself: schema with edition, application, name.
const PROTOCOLS: [[&str; 3]; 2] = [
    [
        "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 3 1 4 }",
        "managed model based 3d engineering",
        "ap242_managed_model_based_3d_engineering",
    ],
    [
        "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }",
        "core data for automotive mechanical design processes",
        "automotive_design",
    ],
];

/// Points closer than this are the same, mm: the builders' own tolerance.
const SAME: f64 = 1e-6;

type Point = [f64; 3];

/// Everything in which a file departs from the rules; empty for a good one.
pub fn findings(file: &StepFile) -> Vec<String> {
    let mut rules = Rules { file, found: Vec::new() };
    rules.header();
    rules.attributes();
    if rules.found.is_empty() {
        // The rules between entities take references and types for granted.
        rules.references();
        rules.context();
        rules.products();
        rules.assembly();
        rules.measures();
        rules.colours();
        rules.geometry();
        rules.topology();
    }
    rules.found
}

struct Rules<'a> {
    file: &'a StepFile,
    found: Vec<String>,
}

impl<'a> Rules<'a> {
    fn need(&mut self, holds: bool, what: impl Into<String>) {
        if !holds {
            self.found.push(what.into());
        }
    }

    /// Instances that hold a record of this name, with it.
    fn all(&self, name: &str) -> Vec<(usize, &'a Record)> {
        let file: &'a StepFile = self.file;
        file.data.iter().filter_map(|(&id, instance)| Some((id, instance.record(name)?))).collect()
    }

    fn get(&self, id: usize) -> &'a Instance {
        &self.file.data[&id]
    }

    /// The record of a name in the instance an attribute refers to.
    fn record(&self, value: &Value, name: &str) -> &'a Record {
        self.get(reference(value)).record(name).unwrap_or_else(|| panic!("{name} behind {value:?}"))
    }

    fn header(&mut self) {
        let shapes = ["[text] text", "text text [text] [text] text text text", "[text]"];
        let names = ["FILE_DESCRIPTION", "FILE_NAME", "FILE_SCHEMA"];
        let given: Vec<&str> = self.file.header.iter().map(|record| record.name.as_str()).collect();
        self.need(given == names, format!("header: holds {given:?} instead of {names:?}"));
        for (record, shape) in self.file.header.iter().zip(shapes) {
            if let Err(what) = matches_shape(self.file, &record.values, shape) {
                self.found.push(format!("header: {}: {what}", record.name));
            }
        }
        if !self.found.is_empty() {
            return;
        }
        let [description, name, schema] = self.file.header.as_slice() else { return };
        self.need(text(&description.values[1]) == "2;1", "header: implementation level is not 2;1");
        let stamp = text(&name.values[1]);
        let shape: String =
            stamp.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
        let full = [
            "0000-00-00T00:00:00",
            "0000-00-00T00:00:00Z",
            "0000-00-00T00:00:00+00:00",
            "0000-00-00T00:00:00-00:00",
        ];
        self.need(
            full.contains(&shape.as_str()),
            format!("header: time stamp {stamp} is not ISO 8601"),
        );
        self.need(
            protocol(schema).is_some(),
            "header: the schema is neither AP242 second nor AP214 third edition",
        );
    }

    fn attributes(&mut self) {
        for (id, instance) in &self.file.data {
            let complex = instance.records.len() > 1;
            if complex && !COMPLEX.contains(&instance.kind().as_str()) {
                self.found.push(format!(
                    "#{id}: {} is no complete set in alphabetical order",
                    instance.kind()
                ));
            }
            let splines = if complex { COMPLEX_SPLINES } else { SIMPLE_SPLINES };
            for record in &instance.records {
                let shape = ENTITIES.iter().chain(splines).find(|(name, _)| *name == record.name);
                let result = shape
                    .ok_or_else(|| "is not an entity we write".to_owned())
                    .and_then(|(_, shape)| matches_shape(self.file, &record.values, shape));
                if let Err(what) = result {
                    self.found.push(format!("#{id}: {}: {what}", record.name));
                }
            }
        }
    }

    fn references(&mut self) {
        let mut used = BTreeSet::new();
        for instance in self.file.data.values() {
            for record in &instance.records {
                record.values.iter().for_each(|value| collect_references(value, &mut used));
            }
        }
        for (id, instance) in &self.file.data {
            let root = ROOTS.contains(&instance.kind().as_str());
            self.need(
                root || used.contains(id),
                format!("#{id}: nothing refers to this {}", instance.kind()),
            );
        }
    }

    /// Exactly one context, protocol and set of units.
    fn context(&mut self) {
        for name in [
            "APPLICATION_CONTEXT",
            "APPLICATION_PROTOCOL_DEFINITION",
            "GEOMETRIC_REPRESENTATION_CONTEXT",
            "PLANE_ANGLE_UNIT",
            "SOLID_ANGLE_UNIT",
            "UNCERTAINTY_MEASURE_WITH_UNIT",
        ] {
            let count = self.all(name).len();
            self.need(count == 1, format!("context: {count} of {name} instead of one"));
        }
        let [_, application, protocol] =
            self.file.header.last().and_then(protocol).unwrap_or_default();
        for (_, record) in self.all("APPLICATION_PROTOCOL_DEFINITION") {
            let named = text(&record.values[1]) == protocol;
            self.need(named, "context: APPLICATION_PROTOCOL_DEFINITION names another protocol");
        }
        for (_, record) in self.all("APPLICATION_CONTEXT") {
            let named = text(&record.values[0]) == application;
            self.need(named, "context: APPLICATION_CONTEXT names another application");
        }
        for (id, record) in self.all("GLOBAL_UNIT_ASSIGNED_CONTEXT") {
            let kinds: Vec<String> =
                references(&record.values[0]).map(|unit| self.get(unit).kind()).collect();
            let count = |name: &str| kinds.iter().filter(|kind| kind.contains(name)).count();
            let once = ["LENGTH_UNIT", "PLANE_ANGLE_UNIT", "SOLID_ANGLE_UNIT"].map(count) == [1; 3];
            self.need(once && kinds.len() == 3, format!("#{id}: units are {kinds:?}"));
            for unit in references(&record.values[0]) {
                let known = ["MILLI METRE", " RADIAN", " STERADIAN"].contains(&&*self.si(unit));
                self.need(known, format!("context: {} is not what we measure in", self.si(unit)));
            }
        }
        for (id, record) in self.all("UNCERTAINTY_MEASURE_WITH_UNIT") {
            let named = text(&record.values[2]) == "distance_accuracy_value";
            self.need(
                named,
                format!("#{id}: the uncertainty is not called distance_accuracy_value"),
            );
        }
    }

    /// Each product in the category "part", with one definition and one shape.
    fn products(&mut self) {
        let mut ids = BTreeSet::new();
        for (id, product) in self.all("PRODUCT") {
            let own = text(&product.values[0]);
            self.need(
                !own.is_empty() && ids.insert(own),
                format!("#{id}: product id {own:?} is empty or taken"),
            );
            let in_category = self
                .all("PRODUCT_RELATED_PRODUCT_CATEGORY")
                .iter()
                .filter(|(_, record)| {
                    text(&record.values[0]) == "part"
                        && references(&record.values[2]).any(|p| p == id)
                })
                .count();
            self.need(
                in_category == 1,
                format!("#{id}: product {own} is in the category part {in_category} times"),
            );
            let formations = self.referring("PRODUCT_DEFINITION_FORMATION", 2, id);
            let definitions: Vec<usize> = formations
                .iter()
                .flat_map(|&f| self.referring("PRODUCT_DEFINITION", 2, f))
                .collect();
            let shapes: Vec<usize> = definitions
                .iter()
                .flat_map(|&d| self.referring("PRODUCT_DEFINITION_SHAPE", 2, d))
                .collect();
            let shown: Vec<usize> = shapes
                .iter()
                .flat_map(|&s| self.referring("SHAPE_DEFINITION_REPRESENTATION", 0, s))
                .collect();
            let counts = [formations.len(), definitions.len(), shapes.len(), shown.len()];
            self.need(
                counts == [1; 4],
                format!("#{id}: product {own} has {counts:?} formations, definitions, shapes, representations"),
            );
        }
        for (id, record) in self.all("ADVANCED_BREP_SHAPE_REPRESENTATION") {
            let kinds: Vec<String> =
                references(&record.values[1]).map(|item| self.get(item).kind()).collect();
            let solids = kinds.iter().filter(|kind| *kind == "MANIFOLD_SOLID_BREP").count();
            self.need(
                solids == 1 && kinds.len() == 2,
                format!("#{id}: the part's shape holds {kinds:?}"),
            );
        }
        for (id, record) in self.all("SHAPE_REPRESENTATION") {
            let placements = references(&record.values[1])
                .all(|item| self.get(item).kind() == "AXIS2_PLACEMENT_3D");
            self.need(
                placements,
                format!("#{id}: the assembly's shape holds more than placements"),
            );
        }
    }

    /// Instances of an entity whose attribute refers to `id`.
    fn referring(&self, name: &str, attribute: usize, id: usize) -> Vec<usize> {
        self.all(name)
            .into_iter()
            .filter(|(_, record)| record.values[attribute] == Value::Reference(id))
            .map(|(own, _)| own)
            .collect()
    }

    /// The representation that shows a product definition.
    fn shown(&self, definition: usize) -> Option<usize> {
        let shape = *self.referring("PRODUCT_DEFINITION_SHAPE", 2, definition).first()?;
        let link = *self.referring("SHAPE_DEFINITION_REPRESENTATION", 0, shape).first()?;
        let record = self.get(link).record("SHAPE_DEFINITION_REPRESENTATION")?;
        Some(reference(&record.values[1]))
    }

    /// Each part placed once: relation from part to assembly, transformation from an item of the
    /// part's shape to an item of the assembly's.
    fn assembly(&mut self) {
        let mut ids = BTreeSet::new();
        for (id, usage) in self.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE") {
            self.need(
                ids.insert(text(&usage.values[0])),
                format!("#{id}: the usage's id is taken"),
            );
            let placed: Vec<usize> = self
                .referring("PRODUCT_DEFINITION_SHAPE", 2, id)
                .into_iter()
                .flat_map(|shape| {
                    self.referring("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION", 1, shape)
                })
                .collect();
            let [placed] = placed.as_slice() else {
                self.found.push(format!("#{id}: this usage is placed {} times", placed.len()));
                continue;
            };
            let Some(link) = self.get(*placed).record("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION")
            else {
                continue;
            };
            let relation = self.record(&link.values[0], "REPRESENTATION_RELATIONSHIP");
            let (from, to) = (reference(&relation.values[2]), reference(&relation.values[3]));
            let (root, part) = (reference(&usage.values[3]), reference(&usage.values[4]));
            self.need(
                Some(from) == self.shown(part) && Some(to) == self.shown(root),
                format!("#{id}: the relation does not run from the part's shape to the assembly's"),
            );
            let with =
                self.record(&link.values[0], "REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION");
            let transformation = self.record(&with.values[0], "ITEM_DEFINED_TRANSFORMATION");
            let item = |attribute: usize, representation: usize| {
                let records = &self.get(representation).records;
                let wanted = reference(&transformation.values[attribute]);
                records
                    .iter()
                    .any(|record| references(&record.values[1]).any(|item| item == wanted))
            };
            self.need(
                item(2, from) && item(3, to),
                format!("#{id}: the transformation does not run from an item of the part to one of the assembly"),
            );
        }
    }

    /// Prefix and name of a unit, as in `MILLI METRE`.
    fn si(&self, unit: usize) -> String {
        let values = self.get(unit).record("SI_UNIT").map(|record| record.values.as_slice());
        let word = |value: &Value| {
            if let Value::Word(word) = value { word.clone() } else { String::new() }
        };
        values.map_or(String::new(), |values| values.iter().map(word).collect::<Vec<_>>().join(" "))
    }

    /// A derived unit, as in `GRAM^1 CENTI METRE^-3`.
    fn derived(&self, unit: usize) -> String {
        let record = self.get(unit).record("DERIVED_UNIT");
        let elements = record.map(|record| references(&record.values[0])).into_iter().flatten();
        let factor = |element: usize| {
            let values = self.get(element).record("DERIVED_UNIT_ELEMENT").map(|r| &r.values);
            values.map_or(String::new(), |values| {
                format!("{}^{}", self.si(reference(&values[0])).trim(), real(&values[1]))
            })
        };
        elements.map(factor).collect::<Vec<_>>().join(" ")
    }

    /// Name, description and the one item of every property of something; also whether each is represented once.
    fn properties_of(&mut self, about: usize) -> Vec<(&'a str, &'a str, usize)> {
        let mut found = Vec::new();
        for id in self.referring("PROPERTY_DEFINITION", 2, about) {
            let file: &'a StepFile = self.file;
            let Some(property) = file.data[&id].record("PROPERTY_DEFINITION") else { continue };
            let links = self.referring("PROPERTY_DEFINITION_REPRESENTATION", 0, id);
            let [link] = links.as_slice() else {
                self.need(false, format!("#{id}: a property represented {} times", links.len()));
                continue;
            };
            let Some(link) = self.get(*link).record("PROPERTY_DEFINITION_REPRESENTATION") else {
                continue;
            };
            let shown = self.record(&link.values[1], "REPRESENTATION");
            let (name, what) = (text(&property.values[0]), text(&property.values[1]));
            let items: Vec<usize> = references(&shown.values[1]).collect();
            self.need(
                items.len() == 1 && text(&shown.values[0]) == what,
                format!("#{id}: the property {what} is shown as {:?}", text(&shown.values[0])),
            );
            found.extend(items.first().map(|&item| (name, what, item)));
        }
        found
    }

    /// A measure's name, value and unit; what is no measure has the value NaN.
    fn measure(&self, item: usize) -> (&'a str, f64, String) {
        match self.get(item).record("MEASURE_REPRESENTATION_ITEM").map(|r| r.values.as_slice()) {
            Some([name, Value::Typed(kind, value), unit]) => {
                let value = value.first().map_or(f64::NAN, real);
                (text(name), value, format!("{kind} {}", self.derived(reference(unit))))
            }
            _ => ("", f64::NAN, String::new()),
        }
    }

    /// Volume, area and centroid of every product, those of the assembly being the sums of its parts'; a material's
    /// name and density together or not at all, and no other text beside the name.
    fn measures(&mut self) {
        let mut wholes = Vec::new();
        let mut parts = [0.0; 5];
        let placed: BTreeSet<usize> = self
            .all("NEXT_ASSEMBLY_USAGE_OCCURRENCE")
            .iter()
            .map(|(_, usage)| reference(&usage.values[4]))
            .collect();
        for (definition, _) in self.all("PRODUCT_DEFINITION") {
            for shape in self.referring("PRODUCT_DEFINITION_SHAPE", 2, definition) {
                if let Some(sums) = self.validation(shape) {
                    if placed.contains(&definition) {
                        parts = std::array::from_fn(|i| parts[i] + sums[i]);
                    } else {
                        wholes.push((shape, sums));
                    }
                }
            }
            self.material(definition);
        }
        for (shape, whole) in wholes {
            let close = |i: usize| (whole[i] - parts[i]).abs() <= 1e-6 * parts[i].abs().max(1.0);
            self.need(
                placed.is_empty() || (0..5).all(close),
                format!("#{shape}: the assembly measures {whole:?}, its parts {parts:?}"),
            );
        }
    }

    /// Area, volume and first moments of volume.
    fn validation(&mut self, shape: usize) -> Option<[f64; 5]> {
        let mut found = self.properties_of(shape);
        found.sort_by_key(|&(_, what, _)| what);
        let names: Vec<(&str, &str)> = found.iter().map(|&(name, what, _)| (name, what)).collect();
        let wanted = ["centroid", "surface area", "volume"]
            .map(|what| ("geometric validation property", what));
        self.need(names == wanted, format!("#{shape}: validation properties are {names:?}"));
        let [(_, _, centre), (_, _, area), (_, _, volume)] = found.as_slice() else { return None };
        let (area_name, area, area_unit) = self.measure(*area);
        let (volume_name, volume, volume_unit) = self.measure(*volume);
        let measured = area_name == "surface area measure"
            && area_unit == "AREA_MEASURE MILLI METRE^2"
            && volume_name == "volume measure"
            && volume_unit == "VOLUME_MEASURE MILLI METRE^3"
            && area > 0.0
            && volume > 0.0;
        self.need(
            measured,
            format!("#{shape}: measured are {area_name} {area} {area_unit} and {volume_name} {volume} {volume_unit}"),
        );
        let point = self.get(*centre).record("CARTESIAN_POINT");
        let named = point.is_some_and(|point| text(&point.values[0]) == "centre point");
        self.need(named, format!("#{shape}: the centroid is no centre point"));
        let centre = point.map(triple)?;
        Some([area, volume, centre[0] * volume, centre[1] * volume, centre[2] * volume])
    }

    fn material(&mut self, definition: usize) {
        let found = self.properties_of(definition);
        let names: Vec<(&str, &str)> = found.iter().map(|&(name, what, _)| (name, what)).collect();
        let wanted = ["density", "material name"].map(|what| ("material property", what));
        self.need(
            names.is_empty() || names == wanted,
            format!("#{definition}: material properties are {names:?}"),
        );
        if let [(_, _, density), (_, _, name)] = found.as_slice() {
            let (kind, value, unit) = self.measure(*density);
            self.need(
                kind == "density measure"
                    && unit == "POSITIVE_RATIO_MEASURE GRAM^1 CENTI METRE^-3"
                    && (0.1..25.0).contains(&value),
                format!("#{definition}: the density is {kind} {value} {unit}"),
            );
            let record = self.get(*name).record("DESCRIPTIVE_REPRESENTATION_ITEM");
            let said = record.is_some_and(|item| item.values.iter().all(|v| !text(v).is_empty()));
            self.need(said, format!("#{definition}: the material has no name"));
        }
    }

    fn colours(&mut self) {
        for (id, record) in self.all("COLOUR_RGB") {
            let inside = record.values[1..].iter().all(|part| (0.0..=1.0).contains(&real(part)));
            self.need(inside, format!("#{id}: a colour outside 0 to 1"));
        }
        let listed: Vec<usize> = self
            .all("MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION")
            .iter()
            .flat_map(|(_, record)| references(&record.values[1]))
            .collect();
        for (id, _) in self.all("MANIFOLD_SOLID_BREP") {
            let styles = self.referring("STYLED_ITEM", 2, id);
            let shown = styles.len() == 1 && styles.iter().all(|style| listed.contains(style));
            self.need(
                shown,
                format!(
                    "#{id}: the solid has {} colours, or one that no presentation lists",
                    styles.len()
                ),
            );
        }
        for (id, record) in self.all("STYLED_ITEM") {
            self.need(
                references(&record.values[1]).count() == 1,
                format!("#{id}: more than one style"),
            );
        }
    }

    fn geometry(&mut self) {
        for (name, count) in [("CARTESIAN_POINT", 3), ("DIRECTION", 3)] {
            for (id, record) in self.all(name) {
                self.need(
                    reals(&record.values[1]).len() == count,
                    format!("#{id}: {name} is not in space"),
                );
            }
        }
        for (id, record) in self.all("DIRECTION") {
            let length = dot(&triple(record), &triple(record)).sqrt();
            self.need(
                (length - 1.0).abs() < 1e-9,
                format!("#{id}: a direction of length {length}"),
            );
        }
        for (id, record) in self.all("AXIS2_PLACEMENT_3D") {
            let [z, x] =
                [2, 3].map(|attribute| triple(self.record(&record.values[attribute], "DIRECTION")));
            self.need(
                dot(&z, &x).abs() < 1e-9,
                format!("#{id}: axes that are not square to each other"),
            );
        }
        for (name, least) in [("CIRCLE", 2), ("CYLINDRICAL_SURFACE", 2), ("TOROIDAL_SURFACE", 3)] {
            for (id, record) in self.all(name) {
                self.need(
                    real(&record.values[least]) > 0.0,
                    format!("#{id}: {name} without a radius"),
                );
            }
        }
        for (id, record) in self.all("TOROIDAL_SURFACE") {
            let spindle = real(&record.values[2]) <= real(&record.values[3]);
            self.need(!spindle, format!("#{id}: a torus that reaches its own axis"));
        }
        for (id, record) in self.all("CONICAL_SURFACE") {
            let angle = real(&record.values[3]);
            self.need(
                angle > 0.0 && angle < std::f64::consts::FRAC_PI_2,
                format!("#{id}: a cone of half angle {angle} rad"),
            );
        }
        for (id, instance) in &self.file.data {
            for what in spline_faults(instance) {
                self.found.push(format!("#{id}: {what}"));
            }
        }
    }

    /// Loops closed, edges in exactly two loops of one shell with opposite senses, vertices shared
    /// and on their curves, bounds round the right way.
    fn topology(&mut self) {
        for (id, record) in self.all("EDGE_CURVE") {
            let miss = self.end_miss(record);
            self.need(
                miss < 5.0 * SAME,
                format!("#{id}: a vertex lies {miss} mm off its edge's curve"),
            );
        }
        let mut edge_shells: BTreeMap<usize, usize> = BTreeMap::new();
        for (shell_id, shell) in self.all("CLOSED_SHELL") {
            let mut senses: BTreeMap<usize, Vec<bool>> = BTreeMap::new();
            let mut vertices = BTreeSet::new();
            for face_id in references(&shell.values[1]) {
                let face = self.get(face_id).record("ADVANCED_FACE").map(|record| &record.values);
                let Some([_, bounds, surface, sense]) = face.map(Vec::as_slice) else { continue };
                let bounds: Vec<&Instance> =
                    references(bounds).map(|bound| self.get(bound)).collect();
                let outer =
                    bounds.iter().filter(|bound| bound.kind() == "FACE_OUTER_BOUND").count();
                self.need(outer == 1, format!("#{face_id}: {outer} outer bounds"));
                for bound in &bounds {
                    for oriented in self.oriented_edges(bound) {
                        let edge = reference(&oriented.values[3]);
                        senses.entry(edge).or_default().push(truth(&oriented.values[4]));
                        vertices.extend(self.ends(oriented));
                        let first = *edge_shells.entry(edge).or_insert(shell_id);
                        self.need(first == shell_id, format!("#{edge}: an edge of two shells"));
                    }
                    self.closed(face_id, bound);
                    self.round(face_id, bound, surface, truth(sense));
                }
            }
            for (edge, senses) in senses {
                let paired = senses == [true, false] || senses == [false, true];
                self.need(
                    paired,
                    format!("#{edge}: an edge used as {senses:?} instead of once each way"),
                );
            }
            let points: Vec<Point> = vertices.iter().map(|&vertex| self.vertex(vertex)).collect();
            for (index, a) in points.iter().enumerate() {
                let twins = points[..index].iter().filter(|b| distance(a, b) < SAME).count();
                self.need(twins == 0, format!("#{shell_id}: two vertices at {a:?}"));
            }
        }
    }

    fn oriented_edges(&self, bound: &Instance) -> Vec<&'a Record> {
        let edge_loop = self.record(&bound.records[0].values[1], "EDGE_LOOP");
        references(&edge_loop.values[1])
            .map(|edge| self.record(&Value::Reference(edge), "ORIENTED_EDGE"))
            .collect()
    }

    /// Vertices of an oriented edge, in its own sense.
    fn ends(&self, oriented: &Record) -> [usize; 2] {
        let edge = self.record(&oriented.values[3], "EDGE_CURVE");
        let [from, to] = [1, 2].map(|attribute| reference(&edge.values[attribute]));
        if truth(&oriented.values[4]) { [from, to] } else { [to, from] }
    }

    fn vertex(&self, id: usize) -> Point {
        triple(self.record(
            &self.record(&Value::Reference(id), "VERTEX_POINT").values[1],
            "CARTESIAN_POINT",
        ))
    }

    fn closed(&mut self, face: usize, bound: &Instance) {
        let ends: Vec<[usize; 2]> =
            self.oriented_edges(bound).into_iter().map(|edge| self.ends(edge)).collect();
        let joined = ends.iter().zip(ends.iter().cycle().skip(1)).all(|(a, b)| a[1] == b[0]);
        self.need(joined && !ends.is_empty(), format!("#{face}: a loop that does not close"));
    }

    /// On a plane: outer bound counter-clockwise seen against the face's normal, inner clockwise.
    fn round(&mut self, face: usize, bound: &Instance, surface: &Value, sense: bool) {
        let Some(plane) = self.get(reference(surface)).record("PLANE") else { return };
        let normal =
            triple(self.record(
                &self.record(&plane.values[1], "AXIS2_PLACEMENT_3D").values[2],
                "DIRECTION",
            ));
        let points: Vec<Point> =
            self.oriented_edges(bound).into_iter().flat_map(|edge| self.along(edge)).collect();
        let area: f64 = points
            .iter()
            .zip(points.iter().cycle().skip(1))
            .map(|(a, b)| dot(&normal, &cross(a, b)) / 2.0)
            .sum();
        let outer = bound.kind() == "FACE_OUTER_BOUND";
        let forward = truth(&bound.records[0].values[2]);
        self.need(
            (area > 0.0) == ((outer == sense) == forward),
            format!("#{face}: a bound that runs round the wrong way"),
        );
    }

    /// Some points along an oriented edge, its end left out. Control points stand in for a spline.
    fn along(&self, oriented: &Record) -> Vec<Point> {
        let edge = self.record(&oriented.values[3], "EDGE_CURVE");
        let [from, to] = self.ends(oriented).map(|vertex| self.vertex(vertex));
        let curve = self.get(reference(&edge.values[3]));
        if let Some(circle) = curve.record("CIRCLE") {
            let place = self.record(&circle.values[1], "AXIS2_PLACEMENT_3D");
            let origin = triple(self.record(&place.values[1], "CARTESIAN_POINT"));
            let [z, x] =
                [2, 3].map(|attribute| triple(self.record(&place.values[attribute], "DIRECTION")));
            let y = cross(&z, &x);
            let angle = |p: &Point| {
                let spoke: Point = std::array::from_fn(|i| p[i] - origin[i]);
                libm::atan2(dot(&spoke, &y), dot(&spoke, &x))
            };
            let turn = std::f64::consts::TAU;
            let forward = truth(&oriented.values[4]);
            let (start, mut sweep) = (angle(&from), angle(&to) - angle(&from));
            if forward && sweep <= 1e-9 {
                sweep += turn;
            }
            if !forward && sweep >= -1e-9 {
                sweep -= turn;
            }
            let radius = real(&circle.values[2]);
            return (0..32)
                .map(|k| {
                    let (sin, cos) = libm::sincos(start + sweep * f64::from(k) / 32.0);
                    std::array::from_fn(|i| origin[i] + radius * (x[i] * cos + y[i] * sin))
                })
                .collect();
        }
        match self.control_points(curve) {
            Some(mut points) => {
                if !truth(&oriented.values[4]) {
                    points.reverse();
                }
                points.pop();
                points
            }
            None => vec![from],
        }
    }

    fn control_points(&self, curve: &Instance) -> Option<Vec<Point>> {
        let (record, list) = match curve.record("B_SPLINE_CURVE") {
            Some(record) => (record, 1),
            None => (curve.record("B_SPLINE_CURVE_WITH_KNOTS")?, 2),
        };
        let point = |id| triple(self.record(&Value::Reference(id), "CARTESIAN_POINT"));
        Some(references(&record.values[list]).map(point).collect())
    }

    /// Greatest distance of an edge's vertices from the curve they should lie on, mm; for a spline,
    /// from its own ends.
    fn end_miss(&self, edge: &Record) -> f64 {
        let [from, to] = [1, 2].map(|attribute| self.vertex(reference(&edge.values[attribute])));
        let curve = self.get(reference(&edge.values[3]));
        if let Some(line) = curve.record("LINE") {
            let origin = triple(self.record(&line.values[1], "CARTESIAN_POINT"));
            let vector = self.record(&line.values[2], "VECTOR");
            let along = triple(self.record(&vector.values[1], "DIRECTION"));
            let backward = dot(&along, &from) >= dot(&along, &to);
            let off = [from, to].map(|p| {
                let spoke: Point = std::array::from_fn(|i| p[i] - origin[i]);
                let square = cross(&spoke, &along);
                dot(&square, &square).sqrt()
            });
            return if backward { f64::INFINITY } else { off[0].max(off[1]) };
        }
        if let Some(circle) = curve.record("CIRCLE") {
            let place = self.record(&circle.values[1], "AXIS2_PLACEMENT_3D");
            let origin = triple(self.record(&place.values[1], "CARTESIAN_POINT"));
            let z = triple(self.record(&place.values[2], "DIRECTION"));
            let off = [from, to].map(|p| {
                let spoke: Point = std::array::from_fn(|i| p[i] - origin[i]);
                let height = dot(&spoke, &z);
                let flat = (dot(&spoke, &spoke) - height * height).max(0.0).sqrt()
                    - real(&circle.values[2]);
                libm::hypot(height, flat)
            });
            return off[0].max(off[1]);
        }
        match self.control_points(curve).as_deref() {
            Some([first, .., last]) => distance(first, &from).max(distance(last, &to)),
            _ => f64::INFINITY,
        }
    }
}

/// The protocol that a FILE_SCHEMA record names.
fn protocol(schema: &Record) -> Option<[&'static str; 3]> {
    let named = |words: &&[&str; 3]| {
        schema.values.first() == Some(&Value::List(vec![Value::Text(words[0].into())]))
    };
    PROTOCOLS.iter().find(named).copied()
}

/// Whether attributes are of the types a shape of [`ENTITIES`] asks for.
fn matches_shape(file: &StepFile, values: &[Value], shape: &str) -> Result<(), String> {
    let wanted: Vec<&str> = shape.split_whitespace().collect();
    if wanted.len() != values.len() {
        return Err(format!("{} attributes instead of {}", values.len(), wanted.len()));
    }
    values.iter().zip(wanted).try_for_each(|(value, kind)| matches_kind(file, value, kind))
}

fn matches_kind(file: &StepFile, value: &Value, kind: &str) -> Result<(), String> {
    let holds = match (value, kind) {
        (Value::List(items), _) if kind.starts_with('[') => {
            let inner =
                kind.strip_prefix('[').and_then(|kind| kind.strip_suffix(']')).unwrap_or(kind);
            items.iter().try_for_each(|item| matches_kind(file, item, inner))?;
            !items.is_empty()
        }
        (Value::Text(_), "text")
        | (Value::Real(_), "real")
        | (Value::Integer(_), "int")
        | (Value::Derived, "*")
        | (Value::Unset, "$" | "prefix")
        | (Value::Word(_), "prefix" | ".UNIT.") => true,
        (Value::Word(word), "bool") => word == "T" || word == "F",
        (Value::Word(word), _) => kind == format!(".{word}."),
        (Value::Typed(name, inner), _) => {
            kind.strip_prefix('=').is_some_and(|kinds| kinds.split('|').any(|kind| kind == name))
                && matches!(inner.as_slice(), [Value::Real(_)])
        }
        (Value::Reference(id), _) => {
            let Some(wanted) = kind.strip_prefix('#') else {
                return Err(format!("#{id} where {kind} belongs"));
            };
            let Some(target) = file.data.get(id) else {
                return Err(format!("#{id} does not exist"));
            };
            let own = [wanted];
            let allowed = SUPERTYPES
                .iter()
                .find(|(name, _)| *name == wanted)
                .map_or(&own[..], |(_, subtypes)| subtypes);
            if !allowed.iter().any(|name| target.record(name).is_some()) {
                return Err(format!("#{id} is a {} where a {wanted} belongs", target.kind()));
            }
            true
        }
        _ => false,
    };
    if holds { Ok(()) } else { Err(format!("{value:?} where {kind} belongs")) }
}

/// Counts of knots, control points and weights that must agree.
fn spline_faults(instance: &Instance) -> Vec<String> {
    let values = |name: &str| instance.record(name).map(|record| record.values.as_slice());
    let mut faults = Vec::new();
    let mut knots = |degree: &Value, points: usize, counts: &Value, values: &Value| {
        let (Value::Integer(degree), Value::List(counts)) = (degree, counts) else { return };
        let values = reals(values);
        let total: i64 = counts
            .iter()
            .map(|count| if let Value::Integer(count) = count { *count } else { 0 })
            .sum();
        if total != points as i64 + degree + 1 || counts.len() != values.len() {
            faults.push(format!("{total} knots for {points} control points of degree {degree}"));
        }
        if values.windows(2).any(|pair| pair[0] >= pair[1]) {
            faults.push("knots that do not rise".to_owned());
        }
    };
    let (curve, surface) = (values("B_SPLINE_CURVE"), values("B_SPLINE_SURFACE"));
    match (curve, values("B_SPLINE_CURVE_WITH_KNOTS")) {
        (Some([degree, points, ..]), Some([counts, at, _])) => {
            knots(degree, list(points).len(), counts, at)
        }
        (None, Some([_, degree, points, _, _, _, counts, at, _])) => {
            knots(degree, list(points).len(), counts, at)
        }
        _ => {}
    }
    match (surface, values("B_SPLINE_SURFACE_WITH_KNOTS")) {
        (Some([u, v, rows, ..]), Some([u_counts, v_counts, u_at, v_at, _]))
        | (None, Some([_, u, v, rows, _, _, _, _, u_counts, v_counts, u_at, v_at, _])) => {
            knots(u, list(rows).len(), u_counts, u_at);
            let columns: BTreeSet<usize> = list(rows).iter().map(|row| list(row).len()).collect();
            if columns.len() == 1 {
                columns.iter().for_each(|&columns| knots(v, columns, v_counts, v_at));
            } else {
                faults.push("rows of different length".to_owned());
            }
        }
        _ => {}
    }
    let sizes = |rows: &Value| list(rows).iter().map(|row| list(row).len()).collect::<Vec<_>>();
    let weights = match (
        curve,
        surface,
        values("RATIONAL_B_SPLINE_CURVE"),
        values("RATIONAL_B_SPLINE_SURFACE"),
    ) {
        (Some([_, points, ..]), _, Some([weights]), _)
            if list(points).len() == list(weights).len() =>
        {
            reals(weights)
        }
        (_, Some([_, _, rows, ..]), _, Some([weights])) if sizes(rows) == sizes(weights) => {
            list(weights).iter().flat_map(reals).collect()
        }
        (None, None, None, None) => return faults,
        _ => {
            faults.push("weights that are not one for each control point".to_owned());
            return faults;
        }
    };
    if weights.iter().any(|&weight| weight <= 0.0) {
        faults.push("a weight that is not greater than zero".to_owned());
    }
    faults
}

fn collect_references(value: &Value, into: &mut BTreeSet<usize>) {
    match value {
        Value::Reference(id) => {
            into.insert(*id);
        }
        Value::List(items) | Value::Typed(_, items) => {
            items.iter().for_each(|item| collect_references(item, into))
        }
        _ => {}
    }
}

// The types are checked by `attributes` before any of these is called.

fn list(value: &Value) -> &[Value] {
    if let Value::List(items) = value { items } else { &[] }
}

fn references(value: &Value) -> impl Iterator<Item = usize> {
    list(value).iter().map(reference)
}

fn reals(value: &Value) -> Vec<f64> {
    list(value).iter().map(real).collect()
}

fn reference(value: &Value) -> usize {
    if let Value::Reference(id) = value { *id } else { 0 }
}

fn real(value: &Value) -> f64 {
    if let Value::Real(real) = value { *real } else { f64::NAN }
}

fn text(value: &Value) -> &str {
    if let Value::Text(text) = value { text } else { "" }
}

fn truth(value: &Value) -> bool {
    *value == Value::Word("T".into())
}

/// Coordinates of a point or direction.
fn triple(record: &Record) -> Point {
    let numbers = reals(&record.values[1]);
    std::array::from_fn(|i| numbers.get(i).copied().unwrap_or(f64::NAN))
}

fn dot(a: &Point, b: &Point) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn cross(a: &Point, b: &Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn distance(a: &Point, b: &Point) -> f64 {
    let apart: Point = std::array::from_fn(|i| a[i] - b[i]);
    dot(&apart, &apart).sqrt()
}
