//! A list after some changes of a job is the list of that job from nothing: what was measured of the neck before may
//! save time, and must not be seen.

use neckwright::model::Model;
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const TENOR: &str = include_str!("../examples/jobs/tenor.json");

/// A job's list after each of some changes, each made on top of those before, is the one from nothing.
fn is_the_list_from_nothing(text: &str, changes: &[(&str, Value)]) {
    let mut job: Value = serde_json::from_str(text).expect("the example is JSON");
    let mut kept = Model::build(text, None).expect("builds");
    for (path, value) in changes {
        *job.pointer_mut(path).expect("a field of the job") = value.clone();
        let text = job.to_string();
        kept = Model::build(&text, Some(&kept)).expect("keeps every rule");
        let anew = Model::build(&text, None).expect("keeps every rule");
        let (kept, anew) = (kept.clearances(), anew.clearances());
        for (one, other) in kept.rows().zip(anew.rows()) {
            assert_eq!(one, other, "after {path} = {value}");
        }
        assert_eq!(kept, anew, "after {path} = {value}");
    }
}

/// The key opens less far, turns about another line, and stands elsewhere: pairs of its own parts, which its swing
/// moves alike, are taken over, and so are those that stand still.
#[test]
fn a_list_after_edits_is_the_list_from_nothing() {
    let edits = [
        ("/key/lift_mm", json!(1.1)),
        ("/posts/axis_height_mm", json!(6.6)),
        ("/key/lift_mm", json!(1.6)),
        ("/horn/neck_turn_deg", json!(8.0)),
        ("/saddle/station_mm", json!(103.0)),
        ("/placing/along_mm", json!(0.1)),
        ("/vent/station_mm", json!(65.0)),
        ("/vent/station_mm", json!(78.0)),
    ];
    is_the_list_from_nothing(ALTO, &edits);
    is_the_list_from_nothing(TENOR, &[("/key/lift_mm", json!(1.4)), ("/key/lift_mm", json!(1.9))]);
}
