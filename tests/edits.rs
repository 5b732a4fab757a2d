//! A list after some changes of a job is the list of that job from nothing: what was measured of the neck before may
//! save time, and must not be seen; nor may it be seen which of two cores measured a row.

use neckwright::model::{Measuring, Model};
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

/// One core measures every third row of each changed neck, the other tells the rest, in no order; truth: the list of one core
/// from nothing.
#[test]
fn two_cores_make_the_list_of_one() {
    let mut job: Value = serde_json::from_str(ALTO).expect("the example is JSON");
    let mut kept = Model::build(ALTO, None).expect("builds");
    let mut helper: Option<Measuring> = None;
    let changes = [
        ("/vent/station_mm", json!(72.5)),
        ("/saddle/station_mm", json!(103.0)),
        ("/brace/from_station_mm", json!(73.0)),
        ("/key/lift_mm", json!(1.2)),
        ("/bore/entry_diameter_mm", json!(12.4)),
    ];
    for (path, value) in changes {
        *job.pointer_mut(path).expect("a field of the job") = value;
        let text = job.to_string();
        let mut begun = Measuring::begin(&text, Some(&kept)).expect("keeps every rule");
        let mut helping = Measuring::help(&text, helper.as_ref()).expect("keeps every rule");
        let open: Vec<usize> = begun.open().collect();
        assert!(open.len() > 5, "{path} concerns {} rows", open.len());
        let mut told = Vec::new();
        for &row in open.iter().rev().filter(|row| *row % 3 != 0) {
            helping.measure(row);
            told.extend(helping.told(row).expect("measured"));
        }
        assert!(begun.take(&told));
        let left: Vec<usize> = begun.open().collect();
        assert!(left.iter().all(|row| row % 3 == 0), "what was told is not open any more");
        left.iter().step_by(2).for_each(|&row| begun.measure(row));
        kept = begun.finish().expect("can be divided");
        helper = Some(helping);
        let anew = Model::build(&text, None).expect("keeps every rule");
        assert_eq!(kept.clearances(), anew.clearances(), "after {path}");
    }
}

/// Numbers that are no rows are refused whole, and rows that stand already are let be.
#[test]
fn what_is_no_row_is_not_taken() {
    let begin = || Measuring::begin(ALTO, None).expect("builds");
    let mut begun = begin();
    let row = begun.open().nth(3).expect("all are open");
    assert!(begun.told(row).is_none(), "not measured yet");
    begun.measure(row);
    let told = begun.told(row).expect("measured");
    let with = |place: usize, number: f64| {
        let mut numbers = told.clone();
        numbers[place] = number;
        numbers
    };
    let bad = [
        told[1..].to_vec(),
        [told.clone(), vec![1.0]].concat(),
        with(0, 1e9),
        with(0, -1.0),
        with(0, 2.5),
        with(0, f64::NAN),
        // the flag of the undrilled tube, and the state of the first clearance
        with(1, 0.5),
        with(2, 3.0),
        [told.clone(), with(0, 1e9)].concat(),
    ];
    for numbers in bad {
        let mut other = begin();
        assert!(!other.take(&numbers), "{:?}", &numbers[..4]);
        assert!(other.open().any(|open| open == row), "nothing is taken of what is refused");
    }
    let mut other = begin();
    assert!(other.take(&told) && other.take(&told) && other.take(&[]));
    assert!(!other.open().any(|open| open == row));
    begun.measure(usize::MAX);
}
