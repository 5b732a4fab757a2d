//! Ways out of a clash: each is taken, built and checked again, and a little less of it must fail.

use neckwright::checks::ClearanceList;
use neckwright::model::Model;
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const CLASH: &str = include_str!("../examples/jobs/alto_clash.json");

fn changed(text: &str, fields: &[(&str, Value)]) -> String {
    let mut job: Value = serde_json::from_str(text).expect("the example is JSON");
    for (path, value) in fields {
        *job.pointer_mut(path).expect("a field of the job") = value.clone();
    }
    job.to_string()
}

fn fails(list: &ClearanceList, a: &str, b: &str) -> bool {
    list.pairs.iter().any(|row| row.a == a && row.b == b && !row.ok)
}

/// A badge that lies on the saddle: moved off it, it comes clear where its edge is the least clearance off.
#[test]
fn a_way_out_clears_and_a_little_less_does_not() {
    let model = Model::build(CLASH, None).expect("a clash is no violation");
    let list = model.clearances();
    assert!(fails(&list, "saddle", "badge"));
    let ways = model.ways_out("saddle", "badge");
    assert!(!ways.is_empty());
    for way in &ways {
        let text = model.job_with(way).expect("the job can be written");
        let built = Model::build(&text, None).expect("a way out keeps every rule");
        assert!(built.warnings.len() <= model.warnings.len(), "{way:?}");
        let after = built.clearances();
        let wrong = |list: &ClearanceList| list.findings.as_ref().map(|all| all.not_as_asked);
        assert!(wrong(&after) <= wrong(&model.clearances()), "{way:?}");
        assert!(!fails(&after, "saddle", "badge"), "{way:?}");
        assert_eq!(way.clears_all, after.all_failed() == 0, "{way:?}");
        // Told to a hundredth, and found to a hundredth.
        let less = way.by - 0.021;
        let fields: Vec<(String, Value)> = way
            .fields
            .iter()
            .map(|field| {
                let to = field.from + (field.to - field.from) * less / way.by;
                (format!("/{}", field.path.replace('.', "/")), json!(to))
            })
            .collect();
        let fields: Vec<(&str, Value)> =
            fields.iter().map(|(path, value)| (path.as_str(), value.clone())).collect();
        let nearer = Model::build(&changed(CLASH, &fields), None).expect("builds").clearances();
        assert!(nearer.all_failed() > 0, "{} by {less} is enough", way.words);
    }
    // The badge slides along the tube's straight or bent top: its way is what its edges are off
    // the saddle's, by the job's own numbers, and the least clearance; on the outside of a bend
    // the gap is wider than the stations say, so a little less may do.
    let job: Value = serde_json::from_str(CLASH).expect("JSON");
    let number = |path: &str| job.pointer(path).and_then(Value::as_f64).expect("a number");
    let (saddle, badge) = (number("/saddle/station_mm"), number("/badge/station_mm"));
    let reach = (number("/saddle/length_mm") + number("/badge/length_mm")) / 2.0;
    let by_stations = saddle + reach + number("/limits/least_clearance_mm") - badge;
    let way = ways.iter().find(|way| way.words.contains("badge towards the tenon"));
    let by = way.expect("the badge can be moved").by;
    assert!(by <= by_stations + 0.02 && by > by_stations - 0.2, "{by} for {by_stations}");
}

/// Two clashes far from each other: what clears one leaves the other, and is said to.
#[test]
fn no_single_change_is_said_to_clear_two_clashes() {
    // A fork too narrow for the arm, and a badge on the saddle.
    let text = changed(CLASH, &[("/guide/side_clearance_mm", json!(0.1))]);
    let model = Model::build(&text, None).expect("builds");
    assert!(fails(&model.clearances(), "key_arm", "guide"));
    let report = model.report();
    let pairs = &report.ways_out.as_ref().expect("something fails").pairs;
    let of = |a: &str, b: &str| pairs.iter().find(|pair| pair.a == a && pair.b == b);
    let fork = of("key_arm", "guide").expect("it fails");
    assert!(fork.ways.iter().any(|way| way.words == "open the guide's fork"), "{fork:?}");
    assert!(pairs.iter().flat_map(|pair| &pair.ways).all(|way| !way.clears_all));
    // The fork is opened to the least clearance: by 0.2, from 0.1 to 0.3.
    let open = fork.ways.iter().find(|way| way.words == "open the guide's fork");
    assert!((open.expect("found").by - 0.2).abs() < 0.011);
}

#[test]
fn a_neck_that_fits_needs_no_way_out() {
    let model = Model::build(ALTO, None).expect("builds");
    assert_eq!(model.report().ways_out, None);
}

/// Gaps for solder outside of their own limits: every joint fails, and one change mends them all.
#[test]
fn one_change_mends_every_joint() {
    let text = changed(ALTO, &[("/limits/joint_gap_mm", json!(0.2))]);
    let model = Model::build(&text, None).expect("builds");
    assert!(fails(&model.clearances(), "tube", "saddle"));
    let ways = model.ways_out("tube", "saddle");
    assert_eq!(ways.len(), 1, "{ways:?}");
    assert!(ways[0].clears_all);
    assert_eq!(ways[0].words, "leave less room for solder and glue in all joints");
    // From 0.2 to the greatest that is allowed, 0.13, in whole hundredths; a hundredth more where a
    // tapering joint is a hair wider at one end.
    assert!((ways[0].by - 0.07).abs() < 0.011, "{ways:?}");
}

/// A vent that has to move is said to change the sound.
#[test]
fn a_moved_vent_is_told_with_what_it_changes() {
    let badge = json!({
        "station_mm": 66.0, "azimuth_deg": 0.0, "length_mm": 8.0, "width_mm": 6.0,
        "thickness_mm": 0.6, "metal": "C26000"
    });
    let mut job: Value = serde_json::from_str(ALTO).expect("JSON");
    let vent = job.pointer("/vent/station_mm").and_then(Value::as_f64).expect("a number");
    job["badge"] = badge;
    job["badge"]["station_mm"] = json!(vent - 6.4);
    let model = Model::build(&job.to_string(), None).expect("builds");
    let list = model.clearances();
    assert!(fails(&list, "vent", "badge") || fails(&list, "pad", "badge"), "{:?}", list.failed);
    let pair = if fails(&list, "vent", "badge") { "vent" } else { "pad" };
    let changes = model.changes(pair, "badge");
    let vent = changes.iter().find(|change| change.fields == ["vent.station_mm"]);
    let way = model.way_out(vent.expect("tried"), pair, "badge").expect("there is room");
    assert!(way.caution.is_some_and(|caution| caution.contains("register")), "{way:?}");
}

/// A clearance asked for that nothing can meet: the search ends, and says what it left out.
#[test]
fn where_very_much_fails_not_all_is_looked_into() {
    let text = changed(ALTO, &[("/limits/least_clearance_mm", json!(2.5))]);
    let model = Model::build(&text, None).expect("builds");
    let list = model.clearances();
    let ways = model.all_ways_out();
    let named = |a: &str, b: &str| {
        ways.pairs.iter().any(|pair| pair.a == a && pair.b == b)
            || ways.not_looked_into.iter().any(|pair| pair.a == a && pair.b == b)
    };
    assert!(!ways.pairs.is_empty() && !ways.not_looked_into.is_empty(), "{}", ways.pairs.len());
    for row in list.pairs.iter().filter(|row| !row.ok) {
        assert!(named(&row.a, &row.b), "{} and {} are left out in silence", row.a, row.b);
    }
}

/// Both ways off the saddle are nearly as long, and the shorter one lies beyond the last whole growth of what is tried
/// before the longer: it must be found all the same. By stations it is half of both lengths and the least clearance.
#[test]
fn the_shorter_of_two_ways_that_are_nearly_alike_is_found() {
    let text = changed(CLASH, &[("/badge/station_mm", json!(101.8))]);
    let model = Model::build(&text, None).expect("builds");
    let changes = model.changes("saddle", "badge");
    let slide = changes.iter().find(|change| change.fields == ["badge.station_mm"]);
    let way = model.way_out(slide.expect("tried"), "saddle", "badge").expect("there is room");
    let towards_cork = 6.0 + 8.0 + 0.3 - 0.2;
    assert!(way.words.contains("towards the cork"), "{way:?}");
    assert!((way.by - towards_cork).abs() < 0.1, "{way:?} for {towards_cork}");
}

/// Every way out is told in whole hundredths, which are what was tried.
#[test]
fn ways_out_are_whole_hundredths() {
    let model = Model::build(CLASH, None).expect("builds");
    for way in model.ways_out("saddle", "badge") {
        let steps = way.by * 100.0;
        assert!((steps - steps.round()).abs() < 1e-9, "{way:?}");
    }
}

/// A loop too near the pin and too small for its rest gap is warned of as well. Opened until it is just clear of the pin it
/// is still warned of, at another value: that is no way out, only the loop that stands off as it should is.
#[test]
fn a_way_out_leaves_no_other_value_to_be_warned_of() {
    let text = changed(ALTO, &[("/rod_loop/reach_player_mm", json!(18.7))]);
    let model = Model::build(&text, None).expect("builds");
    assert!(model.warnings.iter().any(|told| told.path == "rod_loop.reach_player_mm"));
    let list = model.clearances();
    assert!(fails(&list, "rod_loop", "octave_pin"), "{:?}", list.failed);
    let changes = model.changes("rod_loop", "octave_pin");
    let open = changes.iter().find(|change| change.fields == ["rod_loop.reach_player_mm"]);
    let way = model.way_out(open.expect("tried"), "rod_loop", "octave_pin").expect("it opens");
    // Warned of within 0.1 mm of 19.2: pin circle 16.5, half the pin, and the rest gap of 0.7.
    assert!(way.by >= 0.4 - 1e-9 && way.by <= 0.6, "{way:?}");
}
