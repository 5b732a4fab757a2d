//! What must hold of every job within its stated ranges: it is answered without a panic, and a neck that
//! is built is sound throughout. `PROPTEST_CASES=1000` makes a longer run of new cases.

#[path = "support/genus.rs"]
mod genus;
#[path = "support/random_jobs.rs"]
mod random_jobs;

use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::sync::{Arc, OnceLock};

use genus::genus;
use glam::DVec3;
use neckwright::geometry::distance::DistanceField;
use neckwright::geometry::neck::Neck;
use neckwright::geometry::surface::Surface;
use neckwright::job::Violation;
use neckwright::job::parameters::Bore;
use neckwright::model::{Files, Formed, Model};
use neckwright::solids::loops::unpack;
use neckwright::solids::mesh::SolidMesh;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{FileFailurePersistence, RngSeed, TestCaseResult};
use random_jobs::{EXAMPLES, Field, Range, Recipe, To, fields, put, scattered, wandered, wild};
use serde_json::{Value, json};

/// Greatest distance of a modelled surface from its definition, mm.
const FIDELITY: f64 = 0.002;

/// Chord of the triangles that are looked at, mm.
const CHORD: f64 = 0.05;

/// Step off a surface by which air is told from metal, mm.
const HAIR: f64 = 0.01;

/// The same cases of a property every time, so that what fails fails for everyone; with
/// `PROPTEST_CASES` as many new ones as it says.
fn cases(usual: u32) -> ProptestConfig {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|count| count.parse().ok());
    ProptestConfig {
        cases: asked.unwrap_or(usual),
        rng_seed: if asked.is_some() { RngSeed::Random } else { RngSeed::Fixed(1) },
        max_shrink_time: 60_000,
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource(
            "proptest-regressions",
        ))),
        ..ProptestConfig::default()
    }
}

/// What comes of a job; its violations are held to be such that a maker can put the job right.
fn answered(text: &str, before: Option<&Model>) -> Result<Option<Model>, TestCaseError> {
    let answer = Model::build(text, before);
    let violations = match &answer {
        Ok(model) => &model.warnings,
        Err(violations) => violations,
    };
    prop_assert_eq!(answer.is_err(), violations.iter().any(Violation::is_error));
    for violation in violations {
        prop_assert!(
            !violation.allowed.is_empty() && violation.why.ends_with(['.', '?']),
            "{}",
            violation
        );
        // A body that cannot be made is named by its part, whose dimensions the rules should have refused.
        prop_assert!(
            !violation.why.contains("cannot be made with these dimensions"),
            "{}",
            violation
        );
    }
    Ok(answer.ok())
}

/// Holes through each body: what is a tube or a ring has one, the drilled tube one more, whatever a cross hole or the
/// hinge goes through has one; blind holes and cups have none.
fn holes_through(id: &str) -> i64 {
    match id {
        "tube" => 2,
        "tenon" | "end_ring" | "cork" | "vent" | "post_left" | "post_right" | "hinge_tube"
        | "key_arm" | "spring" | "mouthpiece" | "receiver" => 1,
        _ => 0,
    }
}

/// One closed body of the right kind, its triangles without gap, all of it where its definition is.
fn body_is_sound(built: &Formed) -> TestCaseResult {
    let id = built.part.id;
    prop_assert_eq!(genus(&unpack(&built.solid)), holes_through(id), "holes through the {}", id);
    let exact = built.properties();
    let numbers = [exact.volume, exact.area, built.mass_g()];
    let (low, high) =
        built.bounds().map_err(|error| TestCaseError::fail(format!("{id}: {error}")))?;
    let places = [exact.centroid, low, high];
    prop_assert!(numbers.iter().all(|number| number.is_finite()), "{}: {:?}", id, numbers);
    prop_assert!(places.iter().all(|place| place.is_finite()), "{}: {:?}", id, places);
    prop_assert!(exact.volume > 0.0 && exact.area > 0.0, "{}: {:?}", id, exact);
    // The coarsest that may be asked for, and one that shows every curve.
    for chord in [1.0, CHORD] {
        let mesh =
            built.mesh(chord).map_err(|error| TestCaseError::fail(format!("{id}: {error}")))?;
        let enclosed = enclosed_volume(id, &mesh)?;
        prop_assert!(
            (enclosed - exact.volume).abs() < exact.area * chord,
            "the triangles of the {} enclose {} for {}",
            id,
            enclosed,
            exact.volume
        );
        if chord == CHORD {
            surfaces_keep_to_definition(built, &mesh)?;
        }
    }
    Ok(())
}

/// Volume inside the triangles, which must meet side to side.
fn enclosed_volume(id: &str, mesh: &SolidMesh) -> Result<f64, TestCaseError> {
    let bits = |p: DVec3| p.to_array().map(|x| (x + 0.0).to_bits());
    let near =
        mesh.faces.iter().find_map(|face| face.positions.first()).copied().unwrap_or_default();
    let mut sides: BTreeMap<_, i32> = BTreeMap::new();
    let mut volume = 0.0;
    for face in &mesh.faces {
        for triangle in &face.triangles {
            let [a, b, c] = triangle.map(|i| face.positions[i as usize]);
            volume += (a - near).dot((b - near).cross(c - near)) / 6.0;
            for (p, q) in [(a, b), (b, c), (c, a)] {
                let (p, q) = (bits(p), bits(q));
                *sides.entry(if p < q { (p, q) } else { (q, p) }).or_default() +=
                    if p < q { 1 } else { -1 };
            }
        }
    }
    prop_assert!(sides.values().all(|&uses| uses == 0), "the triangles of the {} leave a gap", id);
    Ok(volume)
}

/// Points of the triangles lie on the body as it is defined; a hair above them is air, a hair below is metal.
fn surfaces_keep_to_definition(built: &Formed, mesh: &SolidMesh) -> TestCaseResult {
    let id = built.part.id;
    let field = DistanceField::new(&built.part.shape);
    let off = |point: DVec3| field.near(point).distance;
    for face in &mesh.faces {
        for &point in face.positions.iter().step_by((face.positions.len() / 60).max(1)) {
            prop_assert!(
                off(point).abs() < FIDELITY,
                "the {} misses its definition by {} at {}",
                id,
                off(point),
                point
            );
        }
        // A triangle with a side on a round edge can lie beside the face, by the chord at most.
        let edge: BTreeSet<u32> = face.loops.iter().flatten().copied().collect();
        let inside = face
            .triangles
            .iter()
            .filter(|triangle| triangle.iter().filter(|i| edge.contains(i)).count() < 2);
        for triangle in inside.step_by((face.triangles.len() / 30).max(1)) {
            let [a, b, c] = triangle.map(|i| face.uvs[i as usize]);
            let (point, su, sv) = face.surface.point_slopes((a + b + c) / 3.0);
            prop_assert!(
                off(point).abs() < FIDELITY,
                "the {} misses its definition by {} at {}",
                id,
                off(point),
                point
            );
            let out = su.cross(sv).normalize_or_zero() * if face.outward { HAIR } else { -HAIR };
            prop_assert!(off(point + out) > 0.0, "metal outside the {} at {}", id, point);
            prop_assert!(off(point - out) < 0.0, "no metal in the {} at {}", id, point);
        }
        for triangle in face.triangles.iter().step_by((face.triangles.len() / 60).max(1)) {
            let [a, b, c] = triangle.map(|i| face.positions[i as usize]);
            for middle in [(a + b + c) / 3.0, (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0] {
                let miss = off(middle).abs();
                prop_assert!(
                    miss < mesh.chord + FIDELITY,
                    "the triangles leave the {} by {} at {}",
                    id,
                    miss,
                    middle
                );
            }
        }
    }
    Ok(())
}

/// Integral over a span of stations by Gauss's three-point rule on short steps between the breaks of the bore.
fn integral(neck: &Neck, from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (breaks, _) = neck.breaks(from, to);
    let reach = (0.6_f64).sqrt();
    breaks
        .windows(2)
        .flat_map(|pair| {
            (0..8).map(move |i| {
                (pair[0] + (pair[1] - pair[0]) * f64::from(i) / 8.0, (pair[1] - pair[0]) / 8.0)
            })
        })
        .map(|(start, step)| {
            let at = |share: f64| f(start + step * (1.0 + share) / 2.0);
            step * (5.0 * at(-reach) + 8.0 * at(0.0) + 5.0 * at(reach)) / 18.0
        })
        .sum()
}

/// The tube holds the wall and the bore of its definition, by Pappus: every section is centred on the centreline, so
/// bending changes no volume.
fn tube_is_as_defined(model: &Model) -> TestCaseResult {
    let neck = &model.assembly.neck;
    let job = &model.job;
    let end = neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm
        + job.tenon.socket_depth_mm;
    let ring = |s: f64| {
        let radius = neck.bore.radius(s);
        let outside = radius + job.tube.wall_mm();
        PI * (outside * outside - radius * radius)
    };
    let disc = |s: f64| PI * neck.bore.radius(s) * neck.bore.radius(s);
    let (wall, bore) = (integral(neck, 0.0, end, ring), integral(neck, 0.0, end, disc));
    if let Bore::Cone(cone) = &job.bore {
        // Frustum, in closed form.
        let a = cone.entry_diameter_mm / 2.0;
        let b = a + end * libm::tan(cone.half_angle_deg.to_radians());
        let frustum = PI / 3.0 * end * (a * a + a * b + b * b);
        prop_assert!((bore - frustum).abs() < 1e-9 * frustum);
    }
    let halves = model.halves();
    prop_assert_eq!(halves.len(), 2);
    for half in halves {
        body_is_sound(half)?;
    }
    let modelled = bore_volume(neck, halves, end)?;
    let slack = CHORD * bore * 2.0 / neck.bore.radius(0.0);
    prop_assert!(
        (modelled - bore).abs() < slack,
        "the halves leave a bore of {} for {}",
        modelled,
        bore
    );
    let found: f64 = halves.iter().map(|half| half.properties().volume).sum();
    prop_assert!((found - wall).abs() < 1e-4 * wall, "the halves hold {} for {}", found, wall);
    // The tube lacks what is drilled out for the vent: between a plug of the hole's size and one as long as the
    // hole's rim is out of flat.
    let tube = model.part("tube").map_or(0.0, |tube| tube.properties().volume);
    let hole = job.vent.outer_diameter_mm / 2.0 + job.limits.joint_gap_mm;
    let plug = PI * hole * hole * job.tube.wall_mm();
    prop_assert!(
        (0.9..1.4).contains(&((found - tube) / plug)),
        "{} drilled out for a plug of {}",
        found - tube,
        plug
    );
    Ok(())
}

/// Volume of air between the halves' inner faces and flat discs at both ends, by their triangles.
fn bore_volume(neck: &Neck, halves: &[Arc<Formed>], end: f64) -> Result<f64, TestCaseError> {
    let on_bore = |point: DVec3| {
        let station = neck.centreline.nearest_station(point);
        let radius = neck.at(station).centre.distance(point);
        (radius - neck.bore.radius(station)).abs() < FIDELITY
    };
    let mut volume = 0.0;
    for half in halves {
        let mesh = half.mesh(CHORD).map_err(|error| TestCaseError::fail(error.to_string()))?;
        for face in &mesh.faces {
            if matches!(face.surface, Surface::Plane { .. })
                || !face.positions.iter().all(|&point| on_bore(point))
            {
                continue;
            }
            // Out of the metal is into the air: the triangles are taken the other way round, from
            // a point in the first disc, so that only the other disc is left to add.
            let corner = |i: u32| face.positions[i as usize];
            for [a, b, c] in &face.triangles {
                volume -= corner(*a).dot(corner(*b).cross(corner(*c))) / 6.0;
            }
        }
    }
    let disc = neck.at(end);
    let radius = neck.bore.radius(end);
    Ok(volume + PI * radius * radius * disc.centre.dot(disc.tangent) / 3.0)
}

/// No wall is thinner than the job allows.
fn walls_are_kept(model: &Model) -> TestCaseResult {
    let job = &model.job;
    let neck = &model.assembly.neck;
    let length = neck.centreline.length();
    let sleeve = job.tenon.outer_diameter_mm / 2.0 - neck.bore.radius(length);
    prop_assert!(sleeve > job.tenon.least_wall_mm - 1e-6, "{} left in the sleeve", sleeve);
    // Along the whole tube, whatever the bend: both skins lie as far apart as the wall is thick.
    if let Some(tube) = model.part("tube") {
        let hole = job.vent.station_mm;
        for i in 0..=200 {
            let s =
                (length - job.tenon.length_mm - job.tenon.collar_length_mm) * f64::from(i) / 200.0;
            let at = neck.at(s);
            let middle = at.centre - at.up * (neck.bore.radius(s) + job.tube.wall_mm() / 2.0);
            let depth = -tube.field.near(middle).distance;
            // A wall on a cone is measured square to its slope.
            let slope = neck.bore.radius_slope(s).1;
            let least = job.tube.wall_mm() / 2.0 / (1.0 + slope * slope).sqrt();
            let ends = i == 0 || (s - hole).abs() < 1.0;
            prop_assert!(ends || depth > 0.9 * least, "{} of {} at station {}", depth, least, s);
        }
    }
    Ok(())
}

/// Every pair stands in the list once, and every row is judged by its own numbers.
fn list_is_whole(model: &Model) -> TestCaseResult {
    let count = model.all().len();
    let list = model.clearances();
    let pairs: BTreeSet<_> = list
        .pairs
        .iter()
        .map(|row| (row.a.as_str().min(&row.b), row.a.as_str().max(&row.b)))
        .collect();
    prop_assert_eq!(pairs.len(), count * (count - 1) / 2);
    prop_assert_eq!(list.failed, list.pairs.iter().filter(|row| !row.ok).count());
    for row in &list.pairs {
        let numbers =
            [row.gap_mm, row.overlap_mm].into_iter().chain(row.a_point_mm).chain(row.b_point_mm);
        prop_assert!(numbers.into_iter().all(f64::is_finite), "{:?}", row);
        prop_assert!(
            row.gap_mm >= 0.0 && row.overlap_mm >= 0.0 && row.gap_mm * row.overlap_mm == 0.0,
            "{:?}",
            row
        );
        prop_assert!(row.a != row.b);
        if row.overlap_mm > 0.0 && row.required_min_mm.is_some() {
            prop_assert!(!row.ok, "{:?}", row);
        }
    }
    Ok(())
}

/// Everything that must hold of a neck.
fn neck_is_sound(model: &Model) -> TestCaseResult {
    for built in model.all() {
        body_is_sound(built)?;
    }
    tube_is_as_defined(model)?;
    walls_are_kept(model)?;
    list_is_whole(model)
}

fn text(recipe: &Recipe) -> String {
    recipe.job().to_string()
}

/// All files of a model, key closed and open.
fn bytes(model: &Model) -> Result<Vec<Vec<u8>>, TestCaseError> {
    let failed = |error: &dyn std::fmt::Display| TestCaseError::fail(error.to_string());
    let mut all = Vec::new();
    for angle in [0.0, model.assembly.open_angle] {
        let files = Files::new(model, angle);
        all.push(files.assembly_step().map_err(|error| failed(&error))?);
        let summary = files.summary().map_err(|error| failed(&error))?;
        all.push(serde_json::to_vec(&summary).map_err(|error| failed(&error))?);
        for id in model.all().iter().map(|built| built.part.id).chain(["half_left", "half_right"]) {
            all.push(files.part_step(id).map_err(|error| failed(&error))?);
            all.push(files.part_stl(id, 0.1).map_err(|error| failed(&error))?);
        }
    }
    all.push(serde_json::to_vec(&model.clearances()).map_err(|error| failed(&error))?);
    Ok(all)
}

proptest! {
    #![proptest_config(cases(50))]

    #[test]
    fn scattered_jobs_are_answered_and_their_necks_sound(recipe in scattered()) {
        if let Some(model) = answered(&text(&recipe), None)? {
            neck_is_sound(&model)?;
        }
    }
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn necks_far_from_the_examples_are_sound(recipe in wandered(60)) {
        if let Some(model) = answered(&text(&recipe), None)? {
            neck_is_sound(&model)?;
        }
    }

    /// Nothing but the job goes into a file: not the clock, not what was built before.
    #[test]
    fn the_same_job_gives_the_same_bytes(recipe in scattered(), then in scattered()) {
        let first = answered(&text(&recipe), None)?;
        let fresh = answered(&text(&then), None)?;
        let after = answered(&text(&then), first.as_ref())?;
        if let (Some(fresh), Some(after)) = (fresh, after) {
            prop_assert!(bytes(&fresh)? == bytes(&after)?);
        }
    }
}

/// Fields that the maker moves a part by.
fn placing_fields(job: &Value) -> Vec<Field> {
    const PLACING: [&str; 8] =
        ["vent", "saddle", "posts", "key", "brace", "guide", "badge", "horn"];
    let mut fields = fields(job);
    fields.retain(|field| {
        let group = field.pointer.split('/').nth(1);
        matches!(field.range, Range::Number { .. }) && group.is_some_and(|it| PLACING.contains(&it))
    });
    fields
}

proptest! {
    #![proptest_config(cases(24))]

    /// Pairs that a change does not touch are not measured again; whatever came before, the list is to the last bit
    /// what the job alone gives.
    #[test]
    fn a_list_does_not_know_what_was_moved_before(
        example in 0..EXAMPLES.len(),
        moves in prop::collection::vec((any::<bool>(), any::<Index>(), -0.05_f64..0.05), 2..8),
    ) {
        let mut before = None;
        let mut job = random_jobs::example(example);
        for (anything, which, share) in moves {
            let fields = if anything { fields(&job) } else { placing_fields(&job) };
            let last = job.clone();
            put(&mut job, which.get(&fields), To::Near(share));
            let text = job.to_string();
            let (Some(after), Some(fresh)) =
                (answered(&text, before.as_ref())?, answered(&text, None)?)
            else {
                job = last;
                continue;
            };
            let bytes = |model: &Model| {
                serde_json::to_string(&model.clearances())
                    .map_err(|error| TestCaseError::fail(error.to_string()))
            };
            prop_assert_eq!(bytes(&after)?, bytes(&fresh)?);
            before = Some(after);
        }
    }
}

proptest! {
    #![proptest_config(cases(150))]

    #[test]
    fn two_fields_anywhere_in_their_ranges_leave_a_sound_neck(
        example in 0..EXAMPLES.len(),
        moves in prop::collection::vec((any::<Index>(), 0.0_f64..=1.0), 2),
    ) {
        let before = built_example(example);
        let mut job = random_jobs::example(example);
        let fields = fields(&job);
        for (which, share) in moves {
            put(&mut job, which.get(&fields), To::Anywhere(share));
        }
        if let Some(model) = answered(&job.to_string(), Some(before))? {
            what_changed_is_sound(&model)?;
        }
    }

    #[test]
    fn jobs_of_any_numbers_at_all_are_answered(recipe in wild()) {
        if let Some(model) = answered(&text(&recipe), None)? {
            neck_is_sound(&model)?;
        }
    }

    #[test]
    fn broken_jobs_are_answered(recipe in scattered(), blows in prop::collection::vec(any_blow(), 1..6)) {
        let mut job = recipe.job();
        for (place, blow) in &blows {
            strike(&mut job, *place, blow);
        }
        answered(&job.to_string(), None)?;
    }
}

/// The examples' models, built once.
fn built_example(index: usize) -> &'static Model {
    static MODELS: [OnceLock<Model>; EXAMPLES.len()] = [const { OnceLock::new() }; EXAMPLES.len()];
    MODELS[index]
        .get_or_init(|| Model::build(EXAMPLES[index].1, None).expect("an example is built"))
}

/// Everything that must hold of the parts that are not those of the job before.
fn what_changed_is_sound(model: &Model) -> TestCaseResult {
    for built in model.all().iter().filter(|built| model.rebuilt.contains(&built.part.id)) {
        body_is_sound(built)?;
    }
    if model.rebuilt.contains(&"tube") {
        tube_is_as_defined(model)?;
    }
    walls_are_kept(model)?;
    list_is_whole(model)
}

/// Every field in turn at its least, at its greatest, and between, the others as in the example.
#[test]
fn each_field_goes_from_its_least_to_its_greatest() {
    let long = std::env::var("PROPTEST_CASES").is_ok();
    let (examples, steps) = if long { (0..EXAMPLES.len(), 12) } else { (1..2, 3) };
    for index in examples {
        let before = built_example(index);
        let job = random_jobs::example(index);
        for field in fields(&job) {
            for step in 0..=steps {
                let mut moved = job.clone();
                put(&mut moved, &field, To::Anywhere(f64::from(step) / f64::from(steps)));
                let sound = answered(&moved.to_string(), Some(before))
                    .and_then(|model| model.as_ref().map_or(Ok(()), what_changed_is_sound));
                let value = moved.pointer(&field.pointer);
                assert!(
                    sound.is_ok(),
                    "{} with {} {value:?}: {sound:?}",
                    EXAMPLES[index].0,
                    field.pointer
                );
            }
        }
    }
}

/// A number outside its range, or no number at all, is refused under its own name.
#[test]
fn each_number_is_held_to_its_range() {
    let job = random_jobs::example(1);
    for field in fields(&job) {
        let Range::Number { least, most, .. } = field.range else { continue };
        let path = path_of(&field.pointer);
        for wrong in [
            json!(least - 0.001 * least.abs().max(1.0)),
            json!(most + 0.001 * most.abs().max(1.0)),
            json!(1e300),
            json!(-1e300),
            json!(u64::MAX),
            json!("NaN"),
            json!(null),
            json!([1]),
        ] {
            let mut changed = job.clone();
            *changed.pointer_mut(&field.pointer).expect("the field is there") = wrong.clone();
            let violations =
                Model::build(&changed.to_string(), None).expect_err("the number is wrong");
            let named =
                violations.iter().any(|violation| violation.is_error() && violation.path == path);
            assert!(named, "{path} {wrong}: {violations:?}");
        }
    }
}

/// A JSON pointer as violations write it: `/centreline/pieces/2/bend_deg` is `centreline.pieces[2].bend_deg`.
fn path_of(pointer: &str) -> String {
    pointer.split('/').skip(1).fold(String::new(), |path, step| match step.parse::<usize>() {
        Ok(row) => format!("{path}[{row}]"),
        Err(_) if path.is_empty() => step.to_owned(),
        Err(_) => format!("{path}.{step}"),
    })
}

/// What is done to a place of a job.
#[derive(Clone, Debug)]
enum Blow {
    Put(Value),
    Remove,
    /// The list made longer by its own rows.
    Repeat(usize),
    Reverse,
    /// What stands in another place.
    Copy(Index),
}

fn any_blow() -> impl Strategy<Value = (Index, Blow)> {
    let value = prop_oneof![
        any::<f64>().prop_map(Value::from),
        (-1000.0_f64..1000.0).prop_map(Value::from),
        prop::sample::select(vec![
            json!(null),
            json!(true),
            json!("NaN"),
            json!("-inf"),
            json!(""),
            json!([]),
            json!({})
        ]),
        prop::sample::select(vec![
            json!(0),
            json!(-0.0),
            json!(1e308),
            json!(-1e308),
            json!(5e-324),
            json!(u64::MAX)
        ]),
    ];
    let blow = prop_oneof![
        4 => value.prop_map(Blow::Put),
        1 => Just(Blow::Remove),
        1 => (1_usize..100).prop_map(Blow::Repeat),
        1 => Just(Blow::Reverse),
        2 => any::<Index>().prop_map(Blow::Copy),
    ];
    (any::<Index>(), blow)
}

/// Pointers to every place of a job below its root.
fn places(value: &Value, pointer: &str, found: &mut Vec<String>) {
    let inner: Vec<(String, &Value)> = match value {
        Value::Object(map) => {
            map.iter().map(|(name, value)| (format!("{pointer}/{name}"), value)).collect()
        }
        Value::Array(rows) => {
            rows.iter().enumerate().map(|(i, value)| (format!("{pointer}/{i}"), value)).collect()
        }
        _ => Vec::new(),
    };
    for (pointer, value) in inner {
        places(value, &pointer, found);
        found.push(pointer);
    }
}

fn strike(job: &mut Value, place: Index, blow: &Blow) {
    let mut all = Vec::new();
    places(job, "", &mut all);
    if all.is_empty() {
        return;
    }
    let pointer = place.get(&all);
    let copied = match blow {
        Blow::Copy(from) => job.pointer(from.get::<String>(&all)).cloned(),
        _ => None,
    };
    let Some(target) = job.pointer_mut(pointer) else { return };
    match (blow, target) {
        (Blow::Put(value), target) => *target = value.clone(),
        (Blow::Copy(_), target) => *target = copied.unwrap_or_default(),
        (Blow::Repeat(times), Value::Array(rows)) => {
            let own = rows.clone();
            rows.extend(own.iter().cycle().take(own.len() * times).cloned());
        }
        (Blow::Reverse, Value::Array(rows)) => rows.reverse(),
        (Blow::Remove, _) => {
            if let Some((group, name)) = pointer.rsplit_once('/')
                && let Some(Value::Object(map)) = job.pointer_mut(group)
            {
                map.shift_remove(name);
            }
        }
        _ => {}
    }
}
