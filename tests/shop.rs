//! Requests put to a neck: what is settled, what is refused, and in which words. What is in the files is judged by
//! others, in `tests/occt`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on says so by panicking"
)]

use neckwright::job::Violation;
use neckwright::model::Model;
use neckwright::parts::stock;
use neckwright::shop::{FORCE, PackageError, Request, order, package};
use neckwright::tables::stock::{Form, sheet_mm};
use neckwright::tables::tempers::Temper;

fn job(name: &str) -> serde_json::Value {
    let path = format!("{}/examples/jobs/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn neck(job: &serde_json::Value) -> Model {
    Model::build(&job.to_string(), None).unwrap_or_else(|found| panic!("{found:?}"))
}

fn request(text: &str) -> Request {
    let (request, found) = Request::read(text);
    assert!(!found.iter().any(Violation::is_error), "{found:?}");
    request.unwrap()
}

fn refused(model: &Model, text: &str) -> Vec<(String, String)> {
    let found = order(model, &request(text)).unwrap_err();
    found.into_iter().map(|violation| (violation.path, violation.allowed)).collect()
}

/// The fields a part's stock names are fields of the job, and hold what it says.
#[test]
fn stock_names_fields_of_the_job() {
    for name in ["alto", "tenor", "smallest", "largest", "alto_clash"] {
        let job = job(name);
        let model = neck(&job);
        let halves = model.halves().iter().map(|half| &half.part);
        for part in model.parts().iter().map(|built| &built.part).chain(halves) {
            let stock = stock(part.id, &model.job).unwrap();
            let at =
                |path: &str| &job[path.split('.').next().unwrap()][path.split('.').nth(1).unwrap()];
            if let Some(field) = stock.metal_field {
                assert_eq!(at(field), part.metal.unwrap().id(), "{name}: {}", part.id);
            }
            // A wall may be told by its gauge.
            if let Some(field) = stock.thickness_field.filter(|field| !at(field).is_null()) {
                assert_eq!(at(field).as_f64(), stock.thickness_mm, "{name}: {}", part.id);
            }
            assert_eq!(stock.form == Form::Sheet, stock.thickness_mm.is_some(), "{}", part.id);
            if let (Some(mm), Some(metal)) = (stock.thickness_mm, part.metal) {
                let (thinnest, thickest) = sheet_mm(metal).unwrap();
                assert!(
                    (thinnest..=thickest).contains(&mm),
                    "{name}: the {} can be bought",
                    part.id
                );
            }
        }
        for keepout in model.keepouts() {
            assert_eq!(stock(keepout.part.id, &model.job), None, "{}", keepout.part.id);
        }
    }
}

#[test]
fn an_order_is_one_of_every_part_unless_it_says_more() {
    let model = neck(&job("alto"));
    let settled = order(&model, &Request::default()).unwrap();
    assert_eq!(settled.stem, "DEMO-001_A-0001");
    assert!(settled.changed.is_none());
    let lines: Vec<&str> = settled.lines.iter().map(|line| line.part).collect();
    let parts: Vec<&str> = model.parts().iter().map(|built| built.part.id).collect();
    assert_eq!(lines, parts);
    assert!(settled.lines.iter().all(|line| line.quantity == 1));
    let text =
        r#"{"necks": 7, "parts": [{"part": "vent", "quantity": 3}, {"part": "hinge_screw"}]}"#;
    let settled = order(&model, &request(text)).unwrap();
    let counts: Vec<(u32, Temper)> =
        settled.lines.iter().map(|line| (line.quantity, line.temper)).collect();
    assert_eq!(counts, [(21, Temper::HalfHard), (7, Temper::AsSold)], "stainless is as it is sold");
}

/// Another thickness is another neck: rules and checks are put to it anew.
#[test]
fn metal_and_thickness_go_into_the_neck_itself() {
    let mut gauged = job("alto");
    gauged["tube"] = serde_json::json!({"wall_gauge": 21, "metal": "C26000"});
    let model = neck(&gauged);
    let text = r#"{"parts": [{"part": "tube", "thickness_mm": 0.8, "metal": "C23000"}]}"#;
    let settled = order(&model, &request(text)).unwrap();
    let changed = settled.changed.unwrap();
    assert_eq!((changed.job.tube.wall_mm(), changed.job.tube.metal().id()), (0.8, "C23000"));
    assert_eq!(settled.lines[0].stock.thickness_mm, Some(0.8));
    // What the job says already is no change.
    let same = r#"{"parts": [{"part": "saddle", "thickness_mm": 0.8, "metal": "C26000"}]}"#;
    assert!(order(&model, &request(same)).unwrap().changed.is_none());
    // Beyond the job's own range it is told where it was asked for.
    let thick = refused(&model, r#"{"parts": [{"part": "saddle", "thickness_mm": 3}]}"#);
    assert_eq!(thick, [("parts[0].thickness_mm".to_string(), "0.4 to 2 mm".to_string())]);
}

#[test]
fn everything_wrong_with_an_order_is_told_at_once() {
    let model = neck(&job("alto"));
    let text = r#"{"name": "con", "parts": [{"part": "badge"}, {"part": "mouthpiece"}, {"part": "vent"},
        {"part": "vent"}, {"part": "cork", "metal": "C26000"}, {"part": "pad_cup", "thickness_mm": 1},
        {"part": "brace", "metal": "C36000"}]}"#;
    let paths: Vec<String> = refused(&model, text).into_iter().map(|(path, _)| path).collect();
    assert_eq!(
        paths,
        [
            "name",
            "parts[0].part",
            "parts[1].part",
            "parts[3].part",
            "parts[4].metal",
            "parts[5].thickness_mm",
            "parts[6].metal",
        ]
    );
    let text = r#"{"parts": [{"part": "post_left", "metal": "C26000"}, {"part": "post_right", "metal": "C75200"}]}"#;
    assert_eq!(refused(&model, text)[0].0, "parts[1].metal");
}

#[test]
fn an_order_without_a_number_needs_a_name() {
    let mut nameless = job("alto");
    nameless["order"]["number"] = " ".into();
    nameless["order"]["serial"] = "".into();
    let model = neck(&nameless);
    assert_eq!(refused(&model, "{}")[0].0, "order.number");
    assert_eq!(order(&model, &request(r#"{"name": "spring"}"#)).unwrap().stem, "spring");
}

/// One finding for each pair that fails, on both its parts, and it can be overcome by `force` alone.
#[test]
fn a_part_that_fails_a_check_needs_a_word() {
    let model = neck(&job("alto_clash"));
    let failing = model.clearances().pairs.into_iter().filter(|row| !row.ok);
    let mut pairs: Vec<(String, String)> = failing.map(|row| (row.a, row.b)).collect();
    pairs.dedup();
    let Err(PackageError::Refused(found)) = package(&model, &Request::default()) else {
        panic!("it was sent");
    };
    assert!(found.iter().all(|violation| violation.path == FORCE));
    let clearances = found.iter().filter(|violation| violation.why.contains(" to "));
    assert_eq!(clearances.count(), 2 * pairs.len());
    let sent = package(&model, &request(r#"{"force": true}"#)).unwrap();
    for (a, b) in &pairs {
        for (part, other) in [(a, b), (b, a)] {
            let mut rows = sent.list.files.iter().filter(|file| file.part == *part);
            assert!(
                rows.all(|row| row.findings.iter().any(|finding| finding.contains(other.as_str())))
            );
        }
    }
    let tenon = request(r#"{"parts": [{"part": "tenon"}]}"#);
    assert!(package(&model, &tenon).is_ok());
}
