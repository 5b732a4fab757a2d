//! The structure of our STEP files, checked by rules of our own: other readers forgive much, so a
//! clean read is no proof. Every rule is shown to catch a file that breaks it.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on says so by panicking"
)]

#[path = "support/sample_parts.rs"]
mod sample_parts;
#[path = "support/step_reader.rs"]
mod step_reader;
#[path = "support/step_rules.rs"]
mod step_rules;

use neckwright::exports::step::{
    Protocol, StepError, StepHeader, StepMaterial, StepPart, write_assembly, write_part,
};
use neckwright::parts::{Part, build_from_text};
use neckwright::solids::brep::Solid;
use neckwright::solids::build;
use neckwright::solids::properties::properties;

const HEADER: StepHeader<'_> = StepHeader {
    file_name: "sample.step",
    description: "sample parts, not for sale: l'ébauche",
    time_stamp: "2026-01-31T12:00:00",
    author: "",
    organization: "",
    originating_system: "test",
    authorization: "",
    protocol: Protocol::Ap242,
    revision: "B",
};

const BRASS: StepMaterial<'_> = StepMaterial {
    designation: "C26000",
    description: "cartridge brass: Cu 68.5-71.5, Zn rest",
    density_g_cm3: 8.53,
};

/// A part of brass, but for those of which nothing is made.
fn written<'a>(id: &'a str, name: &'a str, solid: &'a Solid) -> StepPart<'a> {
    StepPart {
        id,
        name,
        description: "turned",
        solid,
        properties: properties(solid),
        material: (id != "rod").then_some(BRASS),
        colour_srgb: [0.8, 0.7, 0.4],
    }
}

fn samples() -> Vec<(&'static str, &'static str, Solid)> {
    [
        ("tube", "Tube Ø 12", sample_parts::tube()),
        ("saddle", "Saddle", sample_parts::saddle()),
        ("ring", "End ring", sample_parts::ring()),
        ("arm", "Key arm", sample_parts::arm()),
        ("rod", "Rod loop", sample_parts::rod()),
        ("post", "Player's post \\ left", sample_parts::post()),
    ]
    .map(|(id, name, shape)| {
        (id, name, build(&shape).unwrap_or_else(|error| panic!("{id}: {error}")))
    })
    .into()
}

fn parts<'a>(solids: &'a [(&'static str, &'static str, Solid)]) -> Vec<StepPart<'a>> {
    solids.iter().map(|(id, name, solid)| written(id, name, solid)).collect()
}

fn assembly() -> String {
    String::from_utf8(write_assembly(&HEADER, "Neck", &parts(&samples())).unwrap()).unwrap()
}

fn findings(text: &str) -> Vec<String> {
    match step_reader::read(text.as_bytes()) {
        Ok(file) => step_rules::findings(&file),
        Err(what) => vec![format!("grammar: {what}")],
    }
}

#[test]
fn an_assembly_keeps_every_rule() {
    assert_eq!(findings(&assembly()), [""; 0]);
}

#[test]
fn each_part_alone_keeps_every_rule() {
    for part in parts(&samples()) {
        let text = String::from_utf8(write_part(&HEADER, &part).unwrap()).unwrap();
        assert_eq!(findings(&text), [""; 0], "{}", part.id);
    }
}

/// Every part and keep-out of every example, alone, and the parts together.
#[test]
fn the_examples_keep_every_rule() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/jobs");
    let mut jobs: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    jobs.sort();
    assert!(!jobs.is_empty());
    for job in jobs {
        let name = job.display();
        let text = std::fs::read_to_string(&job).unwrap();
        let assembly = build_from_text(&text)
            .unwrap_or_else(|violations| panic!("{name}: {violations:?}"))
            .assembly;
        let solid = |part: &Part| {
            build(&part.shape).unwrap_or_else(|error| panic!("{name}: {}: {error}", part.id))
        };
        let solids: Vec<(&Part, Solid)> = assembly
            .parts
            .iter()
            .chain(&assembly.keepouts)
            .map(|part| (part, solid(part)))
            .collect();
        let parts: Vec<StepPart<'_>> =
            solids.iter().map(|(part, solid)| written(part.id, part.name, solid)).collect();
        for protocol in [Protocol::Ap242, Protocol::Ap214] {
            let header = StepHeader { protocol, ..HEADER };
            for part in &parts {
                let text = String::from_utf8(write_part(&header, part).unwrap()).unwrap();
                assert_eq!(findings(&text), [""; 0], "{name}: {}", part.id);
            }
            let text = write_assembly(&header, "Neck", &parts[..assembly.parts.len()]).unwrap();
            assert_eq!(findings(&String::from_utf8(text).unwrap()), [""; 0], "{name}");
        }
    }
}

#[test]
fn faces_are_said_to_be_what_they_are() {
    let text = assembly();
    for surface in [
        "PLANE(",
        "CYLINDRICAL_SURFACE(",
        "CONICAL_SURFACE(",
        "TOROIDAL_SURFACE(",
        "RATIONAL_B_SPLINE_SURFACE(",
        "CIRCLE(",
        "LINE(",
        "B_SPLINE_CURVE_WITH_KNOTS(",
    ] {
        assert!(text.contains(surface), "{surface}");
    }
}

/// The two protocols differ in three strings and nothing else, as an open checker of both schemas found.
#[test]
fn ap214_differs_in_what_it_says_of_itself_alone() {
    let header = StepHeader { protocol: Protocol::Ap214, ..HEADER };
    let old = String::from_utf8(write_assembly(&header, "Neck", &parts(&samples())).unwrap());
    let (old, new) = (old.unwrap(), assembly());
    assert_eq!(findings(&old), [""; 0]);
    let differ: Vec<(&str, &str)> = old.lines().zip(new.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(old.lines().count(), new.lines().count());
    assert_eq!(differ.len(), 3, "{differ:?}");
    caught(&old, "10303 214 3", "10303 214 2", "header: ");
    caught(&old, "'automotive_design'", "'ap242'", "names another protocol");
}

#[test]
fn breaches_of_measures_and_material_are_caught() {
    let text = assembly();
    let end = |start: &str| {
        let line = text.lines().rfind(|line| line.contains(start)).unwrap();
        line.to_owned()
    };
    for (from, to, expected) in [
        ("'geometric validation property','volume'", "'','volume'", "validation properties are"),
        ("validation property','volume'", "validation property','mass'", "validation properties"),
        ("'surface area measure'", "'area measure'", "measured are"),
        ("AREA_MEASURE(", "VOLUME_MEASURE(", "measured are"),
        ("VOLUME_MEASURE(", "VOLUME_MEASURE(-", "measured are"),
        (",3.);\n", ",2.);\n", "measured are"),
        ("'centre point'", "''", "is no centre point"),
        ("'material property','density'", "'material property','weight'", "material properties"),
        ("RATIO_MEASURE(8.53)", "RATIO_MEASURE(8530.)", "the density is"),
        (",-3.);\n", ",3.);\n", "the density is"),
        ("ITEM('C26000'", "ITEM(''", "the material has no name"),
        ("REPRESENTATION('density'", "REPRESENTATION('mass'", "the property density is shown"),
        (
            "#1=",
            "#9999990=PROPERTY_DEFINITION('a','b',#9999991);\n#9999991=PRODUCT_DEFINITION_SHAPE('','',#1);\n#1=",
            "where a CHARACTERIZED belongs",
        ),
    ] {
        caught(&text, from, to, expected);
    }
    // The last volume of the file is the assembly's.
    let volume = end("VOLUME_MEASURE(");
    caught(
        &text,
        &volume,
        &volume.replace("VOLUME_MEASURE(", "VOLUME_MEASURE(1"),
        "the assembly measures",
    );
    let represented = end("PROPERTY_DEFINITION_REPRESENTATION(");
    caught(&text, &format!("{represented}\n"), "", "a property represented 0 times");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    assert_eq!(assembly(), assembly());
}

#[test]
fn what_cannot_be_written_is_refused() {
    let solids = samples();
    let parts = parts(&solids);
    assert_eq!(write_assembly(&HEADER, "Neck", &[]), Err(StepError::NoParts));
    let twice = [parts[0], parts[0]];
    assert_eq!(
        write_assembly(&HEADER, "Neck", &twice),
        Err(StepError::RepeatedPart { id: "tube".into() })
    );
    let header = StepHeader { time_stamp: "yesterday", ..HEADER };
    assert_eq!(
        write_part(&header, &parts[0]),
        Err(StepError::TimeStamp { given: "yesterday".into() })
    );
    for colour_srgb in [[204.0, 0.0, 0.0], [f64::NAN, 0.0, 0.0]] {
        let part = StepPart { colour_srgb, ..parts[0] };
        let message = write_part(&header, &part).unwrap_err().to_string();
        assert!(message.starts_with("part tube: a colour"), "{message}");
    }
    for vertex in parts[1].solid.vertex_iter().take(1) {
        vertex.set_point(glam::DVec3::new(f64::NAN, 0.0, 0.0));
    }
    let message = write_part(&HEADER, &parts[1]).unwrap_err().to_string();
    assert_eq!(message, "part saddle: CARTESIAN_POINT holds a number that is not finite");
}

/// Changes the first occurrence of `from` and expects a finding that holds `expected`.
#[track_caller]
fn caught(text: &str, from: &str, to: &str, expected: &str) {
    assert!(text.contains(from), "the sample holds no {from}");
    let found = findings(&text.replacen(from, to, 1));
    assert!(found.iter().any(|what| what.contains(expected)), "{from} -> {to}: {found:?}");
}

#[test]
fn breaches_of_the_grammar_are_caught() {
    let text = assembly();
    for (from, to) in [
        ("LENGTH_MEASURE(0.00001)", "LENGTH_MEASURE(1.e-05)"),
        ("LENGTH_MEASURE(0.00001)", "LENGTH_MEASURE(1E-05)"),
        ("LENGTH_MEASURE(0.00001)", "LENGTH_MEASURE(.00001)"),
        ("LENGTH_MEASURE(0.00001)", "LENGTH_MEASURE(NaN)"),
        ("LENGTH_MEASURE(0.00001)", "LENGTH_MEASURE(inf)"),
        ("\\X2\\00D8\\X0\\", "\\X2\\00d8\\X0\\"),
        ("\\X2\\00D8\\X0\\", "\\X2\\0D8\\X0\\"),
        ("\\X2\\00D8\\X0\\", "\\X2\\00D8"),
        ("\\X2\\00D8\\X0\\", "\\S\\X"),
        ("\\X2\\00D8\\X0\\", "Ø"),
        ("Player''s", "Player's"),
        ("\\\\ left", "\\ left"),
        ("Saddle'", "Saddle\n'"),
        ("PRODUCT(", "Product("),
        ("ENDSEC;\nDATA;", "DATA;"),
        ("END-ISO-10303-21;", ""),
        ("END-ISO-10303-21;", "END-ISO-10303-21;\n\0"),
        ("#1=", "#1 APPLICATION"),
        ("#2=", "#1="),
    ] {
        caught(&text, from, to, "grammar: ");
    }
}

#[test]
fn breaches_of_the_header_are_caught() {
    let text = assembly();
    for (from, to) in [
        ("'2;1'", "'4;1'"),
        ("2026-01-31T12:00:00", "31.1.2026"),
        ("(''),(''),'neck", "(),(''),'neck"),
        ("FILE_SCHEMA((", "FILE_SCHEMA2(("),
        ("442 3 1 4", "442 2 1 4"),
        ("442 3 1 4 }", "442 3 1 4 }','CONFIG_CONTROL_DESIGN"),
        ("FILE_DESCRIPTION(('", "FILE_DESCRIPTION(('a'),'2;1');\nFILE_DESCRIPTION(('"),
    ] {
        caught(&text, from, to, "header: ");
    }
}

#[test]
fn wrong_attributes_are_caught() {
    let text = assembly();
    for (from, to, expected) in [
        (
            "DIRECTION('',(0.,0.,1.))",
            "DIRECTION('',(0,0.,1.))",
            "DIRECTION: Integer(0) where real belongs",
        ),
        (
            "DIRECTION('',(0.,0.,1.))",
            "DIRECTION('',(0.,0.,1.),$)",
            "DIRECTION: 3 attributes instead of 2",
        ),
        ("MANIFOLD_SOLID_BREP('Tube", "MANIFOLD_SOLID_BREPS('Tube", "is not an entity we write"),
        ("PRODUCT_CONTEXT('',#1,", "PRODUCT_CONTEXT('',#99999999,", "#99999999 does not exist"),
        ("PRODUCT_CONTEXT('',#1,", "PRODUCT_CONTEXT('',#2,", "where a APPLICATION_CONTEXT belongs"),
        (
            "PRODUCT_CONTEXT('',#1,",
            "PRODUCT_CONTEXT($,#1,",
            "PRODUCT_CONTEXT: Unset where text belongs",
        ),
        ("ORIENTED_EDGE('',*,*,", "ORIENTED_EDGE('',$,$,", "ORIENTED_EDGE: Unset where * belongs"),
        (",.T.)", ",.U.)", "Word(\"U\") where bool belongs"),
        (
            "(LENGTH_UNIT()NAMED_UNIT(*)",
            "(NAMED_UNIT(*)LENGTH_UNIT()",
            "is no complete set in alphabetical order",
        ),
        ("(BOUNDED_SURFACE()", "(", "is no complete set in alphabetical order"),
        ("LENGTH_MEASURE(0.00001)", "0.00001", "where =LENGTH_MEASURE belongs"),
    ] {
        caught(&text, from, to, expected);
    }
}

#[test]
fn breaches_between_products_are_caught() {
    let text = assembly();
    let line = |start: &str| {
        text.lines()
            .find(|line| line.split('=').nth(1).is_some_and(|record| record.starts_with(start)))
            .unwrap()
    };
    let without = |start: &str| text.replacen(&format!("{}\n", line(start)), "", 1);
    for (changed, expected) in [
        (
            text.replacen("DATA;\n", "DATA;\n#9999999=CARTESIAN_POINT('',(0.,0.,0.));\n", 1),
            "nothing refers to this CARTESIAN_POINT",
        ),
        (
            without("APPLICATION_PROTOCOL_DEFINITION"),
            "context: 0 of APPLICATION_PROTOCOL_DEFINITION",
        ),
        (without("PRODUCT_RELATED_PRODUCT_CATEGORY"), "is in the category part 0 times"),
        (without("MECHANICAL_DESIGN"), "that no presentation lists"),
        (without("CONTEXT_DEPENDENT"), "this usage is placed 0 times"),
        (
            without("SHAPE_DEFINITION_REPRESENTATION"),
            "formations, definitions, shapes, representations",
        ),
    ] {
        assert_ne!(changed, text);
        let found = findings(&changed);
        assert!(found.iter().any(|what| what.contains(expected)), "{expected}: {found:?}");
    }
    let swap = |record: &str, from: usize| {
        // Attributes `from` and `from + 1` change places.
        let old = line(record);
        let (head, rest) = old.split_once(record).unwrap();
        let inner = rest.split_once('(').unwrap().1.split(')').next().unwrap();
        let mut attributes: Vec<&str> = inner.split(',').collect();
        attributes.swap(from, from + 1);
        (
            old.to_owned(),
            format!("{head}{record}{}", rest.replacen(inner, &attributes.join(","), 1)),
        )
    };
    let (from, to) = swap("ITEM_DEFINED_TRANSFORMATION", 2);
    caught(&text, &from, &to, "the transformation does not run");
    let (from, to) = swap("(REPRESENTATION_RELATIONSHIP", 2);
    caught(&text, &from, &to, "the relation does not run");
    let (from, to) = swap("NEXT_ASSEMBLY_USAGE_OCCURRENCE", 3);
    caught(&text, &from, &to, "the relation does not run");
    for (from, to, expected) in [
        ("'ap242_managed", "'AP242_managed", "names another protocol"),
        ("CONTEXT('managed", "CONTEXT('mis-managed", "names another application"),
        ("PRODUCT('saddle'", "PRODUCT('tube'", "product id \"tube\" is empty or taken"),
        ("OCCURRENCE('saddle'", "OCCURRENCE('tube'", "the usage's id is taken"),
        ("CATEGORY('part'", "CATEGORY('assembly'", "is in the category part 0 times"),
        (".MILLI.,.METRE.", ".CENTI.,.METRE.", "CENTI METRE is not what we measure in"),
        ("'distance_accuracy_value'", "''", "distance_accuracy_value"),
        ("COLOUR_RGB('',0.8,", "COLOUR_RGB('',204.,", "a colour outside 0 to 1"),
    ] {
        caught(&text, from, to, expected);
    }
    let units = line("(GEOMETRIC_REPRESENTATION_CONTEXT");
    let radian = line("(NAMED_UNIT(*)PLANE_ANGLE_UNIT").split('=').next().unwrap();
    caught(&text, units, &units.replacen(&format!("{radian},"), "", 1), "units are");
    let shape = line("ADVANCED_BREP_SHAPE_REPRESENTATION");
    caught(
        &text,
        shape,
        &shape.replacen('(', "(''", 1).replacen("''''", "''", 1).replacen("(#", "(#7,#", 1),
        "belongs",
    );
}

#[test]
fn breaches_of_geometry_and_topology_are_caught() {
    let solids = samples();
    let parts = parts(&solids);
    let part = |id: &str| {
        let part = parts.iter().find(|part| part.id == id).unwrap();
        String::from_utf8(write_part(&HEADER, part).unwrap()).unwrap()
    };
    let (ring, arm, tube) = (part("ring"), part("arm"), part("tube"));
    let line = |text: &str, start: &str| {
        text.lines()
            .find(|line| line.split('=').nth(1).is_some_and(|record| record.starts_with(start)))
            .unwrap()
            .to_owned()
    };
    // A plane's face with a hole in it.
    let flat = ring.lines().find(|line| line.contains("=FACE_BOUND(")).unwrap();
    caught(&ring, flat, &flat.replacen("FACE_BOUND", "FACE_OUTER_BOUND", 1), "2 outer bounds");
    caught(&ring, flat, &flat.replacen(".T.", ".F.", 1), "runs round the wrong way");
    let face = line(&arm, "ADVANCED_FACE");
    let planar = arm.lines().rfind(|line| line.contains("=ADVANCED_FACE(")).unwrap();
    caught(&arm, planar, &planar.replacen(".T.", ".F.", 1), "runs round the wrong way");
    let shell = line(&arm, "CLOSED_SHELL");
    let number = face.split('=').next().unwrap();
    caught(&arm, &shell, &shell.replacen(&format!("{number},"), "", 1), "instead of once each way");
    let oriented = line(&arm, "ORIENTED_EDGE");
    let turned = if oriented.contains(".T.") {
        oriented.replace(".T.", ".F.")
    } else {
        oriented.replace(".F.", ".T.")
    };
    caught(&arm, &oriented, &turned, "instead of once each way");
    caught(&arm, &oriented, &turned, "a loop that does not close");
    for (text, from, to, expected) in [
        (
            &tube,
            "B_SPLINE_CURVE_WITH_KNOTS('',3,",
            "B_SPLINE_CURVE_WITH_KNOTS('',2,",
            "control points of degree 2",
        ),
        (
            &tube,
            "RATIONAL_B_SPLINE_SURFACE(((1.,",
            "RATIONAL_B_SPLINE_SURFACE(((0.,",
            "not greater than zero",
        ),
        (
            &tube,
            "RATIONAL_B_SPLINE_SURFACE(((1.,",
            "RATIONAL_B_SPLINE_SURFACE(((",
            "not one for each control point",
        ),
        (&ring, "DIRECTION('',(1.,0.,0.))", "DIRECTION('',(0.9,0.,0.))", "a direction of length"),
        (&ring, ",7.5,0.5)", ",0.5,7.5)", "reaches its own axis"),
        (&ring, ",7.5,0.5)", ",7.5,0.)", "without a radius"),
        (
            &ring,
            "CARTESIAN_POINT('',(1.,7.,3.))",
            "CARTESIAN_POINT('',(1.,7.1,3.))",
            "off its edge's curve",
        ),
        (&ring, "CARTESIAN_POINT('',(1.,7.,3.))", "CARTESIAN_POINT('',(1.,7.))", "is not in space"),
    ] {
        caught(text, from, to, expected);
    }
    let cone = line(&ring, "CONICAL_SURFACE");
    let angle = cone.rsplit(',').next().unwrap();
    caught(&ring, &cone, &cone.replacen(angle, "11.3);", 1), "a cone of half angle 11.3");
    let place = line(&ring, "AXIS2_PLACEMENT_3D");
    let axes: Vec<&str> = place.rsplit(',').take(2).collect();
    caught(
        &ring,
        &place,
        &place.replacen(axes[0], &format!("{});", axes[1]), 1),
        "not square to each other",
    );
    let spline = line(&tube, "B_SPLINE_CURVE_WITH_KNOTS");
    let knots = spline.trim_end_matches("),.UNSPECIFIED.);");
    let (low, high) = (knots.rsplit(',').nth(1).unwrap(), knots.rsplit(',').next().unwrap());
    caught(&tube, &format!(",{low},{high})"), &format!(",{high},{low})"), "knots that do not rise");
    // An edge that takes a twin of its vertex instead of the shared one.
    let vertex = line(&ring, "VERTEX_POINT");
    let (id, record) = vertex.split_once('=').unwrap();
    let edge = line(&ring, "EDGE_CURVE");
    let twin = ring.replacen(
        &edge,
        &format!("#9999999={record}\n{}", edge.replacen(&format!("{id},"), "#9999999,", 1)),
        1,
    );
    let found = findings(&twin);
    assert!(found.iter().any(|what| what.contains("two vertices at")), "{found:?}");
}
