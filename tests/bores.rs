//! Two bores on one horn: whose horn it is, that nothing is left out, and that all which is wrong is told at once.

use std::f64::consts::PI;

use neckwright::acoustics::aim::{Aim, Aimed, aim, aim_of_text};
use neckwright::acoustics::comparison::{
    Looked, compare_looked, compare_texts, follow, on, paired, seen,
};
use neckwright::acoustics::contender::{Contender, read_both};
use neckwright::acoustics::disturbance::Lump;
use neckwright::acoustics::horn::HornFile;
use neckwright::acoustics::impedance::Peak;
use neckwright::acoustics::profile::{Profile, ProfileRow};
use neckwright::acoustics::rows::Rows;
use neckwright::job::Violation;
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const TIGHTER: &str = include_str!("../examples/bores/alto_tighter.json");
const MORE_OPEN: &str = include_str!("../examples/bores/alto_more_open.json");
const MEASURED: &str = include_str!("../examples/bores/horn_invented.json");

fn near(got: f64, wanted: f64, within: f64, what: &str) {
    assert!((got - wanted).abs() <= within, "{what}: {got}, wanted {wanted} within {within}");
}

fn paths(found: &[Violation]) -> Vec<&str> {
    found.iter().map(|violation| violation.path.as_str()).collect()
}

fn horns() -> [HornFile; 2] {
    [HornFile::stand_in("cone"), HornFile::read(MEASURED).expect("the example")]
}

/// A job with other numbers at some paths.
fn with(text: &str, changes: &[(&str, f64)]) -> String {
    let mut job: Value = serde_json::from_str(text).expect("a job");
    for (path, value) in changes {
        let place = format!("/{}", path.replace('.', "/"));
        *job.pointer_mut(&place).unwrap_or_else(|| panic!("no {path}")) = json!(value);
    }
    job.to_string()
}

/// The customer's horn and mouthpiece are those of the first job. A second job that says another of them is compared as if it
/// said the same, is told what was not asked of it, and changes nothing.
#[test]
fn both_necks_stand_on_the_horn_and_mouthpiece_of_the_first() {
    let changes = [
        ("mouthpiece.shank_bore_mm", 17.1),
        ("horn.receiver_depth_mm", 25.0),
        ("horn.rim_gap_mm", 0.4),
    ];
    let other = with(MORE_OPEN, &changes);
    for file in horns() {
        let (_, b, horn, told) =
            compare_texts(("a", ALTO), ("b", MORE_OPEN), &file).expect("compares");
        let (_, c, _, odd) = compare_texts(("a", ALTO), ("b", &other), &file).expect("compares");
        assert_eq!(odd.notes, told.notes);
        assert_eq!((&odd.b, &odd.octaves, &odd.vents), (&told.b, &told.octaves, &told.vents));
        assert_eq!(c.bore.ends, b.bore.ends);
        assert!(told.horn.not_used.is_empty());
        let said: Vec<(&str, f64)> =
            odd.horn.not_used.iter().map(|one| (one.path, one.says_mm)).collect();
        assert_eq!(said, changes);
        assert!(odd.words[0].contains("horn and mouthpiece of a’s job"), "{}", odd.words[0]);
        for (path, says) in changes {
            assert!(odd.words.iter().any(|word| word.contains(&format!("{path} of {says} mm"))));
        }
        // The mouthpiece of both holds what is missing of the first's cone: π r² x/3, x = r/slope by hand.
        assert_eq!(told.horn.of, "a");
        let (r, slope) = (6.15, libm::tan(1.6 * PI / 180.0));
        near(told.horn.mouthpiece_volume_mm3, PI * r * r * r / slope / 3.0, 1e-6, "mouthpiece");
        near(horn.mouthpiece.tube.expect("a tube") * 1e3, r, 1e-12, "as wide as the first's entry");
    }
    // Put by hand beside another first, the second is the same.
    let (a, b) = read_both(("a", ALTO), ("b", &other)).expect("both build");
    assert_eq!((b.customer, a.customer), (a.customer, a.customer));
    assert!(Contender::read("b", &other).expect("it builds").customer != a.customer);
}

/// At the cork end the waves meet the step from the neck's bore to the mouthpiece's tube and no other: none on the first neck,
/// on the second that from its own entry to the first's (12.7 beside 12.3 mm).
#[test]
fn the_cork_end_is_the_step_that_is_in_the_bore() {
    let file = HornFile::stand_in("cone");
    let (a, b, horn, told) = compare_texts(("a", ALTO), ("b", MORE_OPEN), &file).expect("compares");
    let mouth = |neck: &Contender| {
        let fingering = horn.fingerings.first().expect("a note");
        on(&horn, &neck.bore, fingering, false).mouth()
    };
    near(mouth(&a).line, 0.0, 1e-9, "first");
    assert_eq!(mouth(&b), Lump::step(6.35e-3, 6.15e-3));
    for (neck, entry) in [(&told.a, 6.15), (&told.b, 6.35)] {
        let cork = &neck.disturbed[0];
        let step = Lump::step(entry * 1e-3, 6.15e-3).line * PI * entry * entry * 1e-3;
        near(cork.added_length_mm, step, 1e-12, "as much length");
        assert!(cork.added_length_mm <= cork.greatest_length_mm);
    }
    // A chamber without any length has no width to step to: there the wall ends in the shank.
    let mut chamber: Value = serde_json::to_value(&file).expect("a file");
    chamber["mouthpiece_as"] = json!("chamber");
    let file = HornFile::read(&chamber.to_string()).expect("a chamber");
    let horn = file.ready(a.job.horn_voice, &a.bore).expect("ready");
    let fingering = horn.fingerings.first().expect("a note");
    assert_eq!(on(&horn, &a.bore, fingering, false).mouth(), Lump::step(6.15e-3, 8.6e-3));
}

/// The quick answer and the whole comparison are of the same state, so their numbers are the same, to the last bit, however
/// far the bore was dragged.
#[test]
fn what_follows_the_hand_is_the_comparison() {
    for file in horns() {
        let (a, b) = read_both(("a", TIGHTER), ("b", MORE_OPEN)).expect("both build");
        let horn = file.ready(a.job.horn_voice, &a.bore).expect("ready");
        let looked = Looked::at(&a, &horn);
        let length = b.bore.length_mm();
        for more in [0.0, 0.01, -0.7, 2.5] {
            let mut profile = Profile::of("b", &b.bore.neck.bore, length, 10.0);
            for row in profile.rows.iter_mut().take(9) {
                row.diameter_mm += more;
            }
            let second = b.with_rows(&Rows::of(&profile)).expect("a bore");
            let whole = compare_looked(&looked, &second).expect("compares");
            let followed = follow(&looked, &second).expect("follows");
            let notes: Vec<_> = whole.notes.iter().map(|note| note.shift.clone()).collect();
            assert_eq!(followed.notes, notes, "{more}");
            assert_eq!(followed.octaves, whole.octaves, "{more}");
            assert_eq!(followed.missing_cone, whole.b.missing_cone, "{more}");
        }
    }
}

/// A body so short that its second resonance lies beyond where the upper register is looked for (an alto's neck with 5 mm of
/// body: c/2 over 0.42 m from the apex is 415 Hz, its octave 830 Hz; 4.6 times the fingering's 174.6 Hz of D5 are 803).
fn stub(notes: &[&str]) -> HornFile {
    let mut horn: Value = serde_json::from_str(MEASURED).expect("the example");
    horn["body"] = json!({ "bore": [{ "station_mm": 0.0, "diameter_mm": 23.1 }, { "station_mm": 5.0, "diameter_mm": 23.4 }], "holes": [] });
    let note = |written: &&str| json!({ "written": written });
    horn["notes"] = notes.iter().map(note).collect();
    HornFile::read(&horn.to_string()).expect("a horn")
}

/// Every note without a peak is told, and on which neck; an octave without one is told as such and not left out.
#[test]
fn notes_and_octaves_without_a_peak_are_told() {
    let told = compare_texts(("a", ALTO), ("b", MORE_OPEN), &stub(&["Bb3", "D5", "C4", "D#5"]))
        .expect_err("two notes cannot be sounded");
    assert_eq!(paths(&told), ["notes[1].written", "notes[3].written"]);
    assert!(told.iter().all(|one| one.why.ends_with("a and b.")), "{told:?}");
    let file = stub(&["Bb3", "C4"]);
    let (a, _, horn, found) =
        compare_texts(("a", ALTO), ("b", MORE_OPEN), &file).expect("compares");
    let octaves: Vec<&str> = found.octaves.iter().map(|one| one.written.as_str()).collect();
    assert_eq!(octaves, ["Bb3", "C4"]);
    assert!(found.octaves.iter().all(|one| one.a.is_none() && one.b.is_none()));
    let words = found.words.iter().filter(|words| words.contains("not to be found"));
    assert_eq!(words.count(), 2);
    assert_eq!(found.a.pulling.as_ref().map(|pulling| pulling.notes.len()), Some(2));
    // An aim on such a horn is refused for what cannot be sounded, with all else.
    let horn_of_four = stub(&["Bb3", "D5", "C4", "D#5"]).ready(a.job.horn_voice, &a.bore);
    let asked = Aim::read(&json!({ "wanted": [{ "written": "H4", "cents": 1 }] }).to_string());
    let refused = aim(&a, &horn_of_four.expect("ready"), &asked.expect("an aim"));
    let refused = refused.expect_err("three things are wrong");
    assert_eq!(paths(&refused), ["wanted[0].written", "notes[1].written", "notes[3].written"]);
    assert_eq!(horn.fingerings.len(), 2);
}

/// Peaks stand beside those they have become, by their pitch and not by their number; one that has no partner stands alone.
#[test]
fn peaks_are_paired_by_pitch() {
    let peaks = |all: &[f64]| -> Vec<Peak> {
        let peak = |hz: &f64| Peak { frequency_hz: *hz, height_mpa_s_m3: 50.0, q: 30.0 };
        all.iter().map(peak).collect()
    };
    let pairs = |a: &[f64], b: &[f64]| -> Vec<(Option<f64>, Option<f64>)> {
        let hz = |peak: Option<Peak>| peak.map(|peak| peak.frequency_hz);
        paired(&peaks(a), &peaks(b)).iter().map(|pair| (hz(pair.a), hz(pair.b))).collect()
    };
    let lost = pairs(&[140.0, 281.0, 425.0, 570.0], &[283.0, 430.0]);
    let alone = |hz| (Some(hz), None);
    assert_eq!(
        lost,
        [alone(140.0), (Some(281.0), Some(283.0)), (Some(425.0), Some(430.0)), alone(570.0)]
    );
    assert_eq!(pairs(&[], &[200.0]), [(None, Some(200.0))]);
    assert_eq!(pairs(&[], &[]), []);
    // Two of one neck near one of the other: the nearer has it.
    assert_eq!(pairs(&[280.0, 300.0], &[298.0]), [alone(280.0), (Some(300.0), Some(298.0))]);
}

/// The alto's vent is 4.5 mm wide and its joint 0.08 mm: its hole takes up to 0.6 of the bore's radius there, so the bore must be
/// wider than 2 (2.25 + 0.08)/0.6 = 7.77 mm at station 66. A bore set from a table is held to it like one of a job.
#[test]
fn a_bore_that_is_set_leaves_the_vent_its_room() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let gap = neck.job.limits.joint_gap_mm;
    let least = 2.0 * (neck.job.vent.outer_diameter_mm / 2.0 + gap) / 0.6;
    let station = neck.job.vent.station_mm;
    let table = |at_vent: f64| {
        format!("0,11.9\n20,11.9\n{station},{at_vent}\n110,17.9\n150,20.6\n193.2,23.09\n")
    };
    let room = |csv: &str| neck.with_rows(&Rows::from_csv(csv)).map(|_| ());
    assert_eq!(room(&table(least + 0.01)), Ok(()));
    let told = room(&table(least - 0.01)).expect_err("no room");
    assert_eq!(paths(&told), ["vent.outer_diameter_mm"]);
    assert!(told[0].why.contains("vent"), "{told:?}");
    // With what else is wrong with the rows: a jump and a hole beside it.
    let wrong = format!("0,11.9\n20,11.9\n{station},{}\n70,17.9\n193.2,23.09\n", least - 0.01);
    let told = room(&wrong).expect_err("three things are wrong");
    assert_eq!(
        paths(&told)[..3],
        ["rows[3].diameter_mm", "rows[4].station_mm", "vent.outer_diameter_mm"]
    );
    // The same table in a job is refused for the same reason.
    let mut job: Value = serde_json::from_str(ALTO).expect("a job");
    let rows = Profile::from_csv("x", &table(least - 0.01)).expect("rows").rows;
    let row =
        |row: &ProfileRow| json!({ "station_mm": row.station_mm, "diameter_mm": row.diameter_mm });
    job["bore"] = json!({ "table": rows.iter().map(row).collect::<Vec<_>>() });
    let told = Contender::read("x", &job.to_string()).expect_err("no room");
    assert!(paths(&told).contains(&"vent.outer_diameter_mm"), "{told:?}");
}

/// A table that is wrong in every way is answered with all of it: what cannot be read keeps its place, and its neighbours are
/// held against each other.
#[test]
fn every_fault_of_a_table_is_told_at_once() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let csv = "0.5,12.3\n10,none\n20,13.4\n15,14\n30,0\n40,70\n110,17\n111,25\n190,23\n";
    let told = neck.with_rows(&Rows::from_csv(csv)).expect_err("wrong");
    for path in [
        "line 2",
        "rows[0].station_mm",
        "rows[3].station_mm",
        "rows[4].diameter_mm",
        "rows[5].diameter_mm",
        "rows[6].station_mm",
        "rows[7].diameter_mm",
        "rows[8].station_mm",
        "the last row.station_mm",
    ] {
        assert!(paths(&told).contains(&path), "{path} not in {:?}", paths(&told));
    }
    let none = neck.with_rows(&Rows::from_csv("")).expect_err("empty");
    assert_eq!(paths(&none), ["rows"]);
}

/// The same of a horn: rows that cannot be read, rows out of order, holes, notes and the names they open, in one answer.
#[test]
fn every_fault_of_a_horn_is_told_at_once() {
    let mut horn: Value = serde_json::from_str(MEASURED).expect("the example");
    horn["air"]["humidity_percent"] = json!(400);
    horn["body"]["bore"][2]["diameter_mm"] = json!("wide");
    horn["body"]["bore"][3]["diameter_mm"] = json!(0);
    horn["body"]["bore"][6]["station_mm"] = json!(450);
    horn["body"]["holes"][1]["station_mm"] = json!(20);
    horn["body"]["holes"][2]["diameter_mm"] = json!(0.2);
    horn["body"]["holes"][3]["name"] = horn["body"]["holes"][2]["name"].clone();
    horn["notes"][0]["written"] = json!("D9");
    horn["notes"][1]["open"] = json!(["no_such"]);
    horn["notes"][2]["written"] = horn["notes"][3]["written"].clone();
    let told = HornFile::read(&horn.to_string()).expect_err("wrong");
    for path in [
        "air.humidity_percent",
        "body.bore[2].diameter_mm",
        "body.bore[3].diameter_mm",
        "body.bore[6].station_mm",
        "body.holes[1].station_mm",
        "body.holes[2].diameter_mm",
        "body.holes[3].name",
        "notes[0].written",
        "notes[1].open[0]",
        "notes[3].written",
    ] {
        assert!(paths(&told).contains(&path), "{path} not in {:?}", paths(&told));
    }
    let twice: Vec<&str> = paths(&told);
    for path in &twice {
        assert_eq!(twice.iter().filter(|other| other == &path).count(), 1, "{path} is told twice");
    }
}

/// And of an aim: a row that cannot be read hides neither the others nor the limits.
#[test]
fn every_fault_of_an_aim_is_told_at_once() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let horn = HornFile::stand_in("cone").ready(neck.job.horn_voice, &neck.bore).expect("ready");
    let asked = json!({
        "wanted": [
            { "written": "A4", "cents": "much" },
            { "written": "H4", "cents": 400.0 },
            { "written": "B4", "cents": 1.0 },
            { "written": "B4", "cents": 2.0 },
        ],
        "limits": { "most_change_mm": 90.0, "least_diameter_mm": 20.0, "greatest_half_angle_deg": 0.1 },
    });
    let told = aim_of_text(&neck, &horn, &asked.to_string()).expect_err("wrong");
    for path in [
        "wanted[0].cents",
        "wanted[1].cents",
        "wanted[1].written",
        "wanted[3].written",
        "limits.most_change_mm",
        "limits.least_diameter_mm",
        "limits.greatest_half_angle_deg",
    ] {
        assert!(paths(&told).contains(&path), "{path} not in {:?}", paths(&told));
    }
}

fn sought(neck: &Contender, file: &HornFile, asked: Value) -> Result<Aimed, Vec<Violation>> {
    let horn = file.ready(neck.job.horn_voice, &neck.bore).expect("ready");
    aim(neck, &horn, &Aim::read(&asked.to_string()).expect("an aim"))
}

/// What is told of an aim is what the whole comparison says of the proposed bore beside the old one, laid in the job as a table
/// and read from there; every row, and the smooth bore between them, keeps the limits.
#[test]
fn an_aim_is_what_the_comparison_says_of_the_proposed_bore() {
    for (text, file) in [TIGHTER, ALTO].into_iter().zip(horns()) {
        let neck = Contender::read("old", text).expect("it builds");
        let limits = json!({ "most_change_mm": 0.5, "least_diameter_mm": 11.7, "greatest_diameter_mm": 24.0, "least_half_angle_deg": 1.3, "greatest_half_angle_deg": 2.0 });
        let asked = json!({ "wanted": [{ "written": "A4", "cents": -3.0 }, { "written": "C#5", "cents": -4.0 }], "limits": limits });
        let aimed = sought(&neck, &file, asked).expect("sought");
        assert!(aimed.reached, "{:?}", aimed.words);
        let mut job: Value = serde_json::from_str(text).expect("a job");
        job["bore"] = json!({ "table": aimed.profile.rows });
        let (old, new, horn, told) =
            compare_texts(("old", text), ("new", &job.to_string()), &file).expect("compares");
        assert_eq!(aimed.notes.len(), horn.fingerings.len(), "every note is told");
        for note in &aimed.notes {
            let other = told.notes.iter().find(|one| one.shift.written == note.written);
            let other = &other.expect("told").shift;
            near(note.got_cents.expect("a peak"), other.shift_cents, 1e-6, &note.written);
            near(note.height_change_db.expect("a peak"), other.height_change_db, 1e-6, "height");
            let moves = note.wanted_cents.is_none() && other.shift_cents.abs() >= 1.0;
            assert_eq!(note.gets_worse, moves || other.height_change_db <= -0.5);
            let said = aimed.words.iter().any(|words| words.starts_with(&note.written));
            assert!(said || !note.gets_worse, "{} is not told", note.written);
        }
        let (before, after) = (&old.bore.neck.bore, &new.bore.neck.bore);
        for row in &aimed.profile.rows {
            let change = row.diameter_mm - 2.0 * before.radius(row.station_mm);
            assert!(change.abs() <= 0.5 + 1e-6, "{row:?}");
            assert!((11.7 - 1e-6..=24.0 + 1e-6).contains(&row.diameter_mm), "{row:?}");
        }
        for k in 0..=2000 {
            let station = old.bore.length_mm() * f64::from(k) / 2000.0;
            let angle = libm::atan(after.radius_slope(station).1) * 180.0 / PI;
            assert!((1.3 - 3e-3..=2.0 + 3e-3).contains(&angle), "{station}: {angle}");
            let told = aimed.least_half_angle_deg - 1e-3..=aimed.greatest_half_angle_deg + 1e-3;
            assert!(told.contains(&angle), "{station}: {angle}");
        }
    }
}

/// What cannot be reached is come as near to as can be, and told: nearer than by doing nothing, which is off by all that is wanted.
#[test]
fn what_cannot_be_reached_is_come_near_to() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let file = HornFile::stand_in("cone");
    let wanted = json!([{ "written": "A4", "cents": -30.0 }, { "written": "C#5", "cents": -30.0 }]);
    let limits = json!({ "most_change_mm": 0.3 });
    let aimed =
        sought(&neck, &file, json!({ "wanted": wanted, "limits": limits })).expect("sought");
    assert!(!aimed.reached && aimed.words[0].contains("not reached"), "{:?}", aimed.words);
    let off = |note: &&neckwright::acoustics::aim::AimedNote| note.wanted_cents.is_some();
    for note in aimed.notes.iter().filter(off) {
        let got = note.got_cents.expect("a peak");
        assert!((-30.0..-1.0).contains(&got), "{note:?}");
    }
    assert!(aimed.held_by.contains(&"most_change_mm".to_owned()), "{:?}", aimed.held_by);
}

/// A bump between two knots cannot be taken away by a change that runs straight between them: within tight half-angles there is
/// no such bore, and that is said.
#[test]
fn where_no_bore_is_found_it_is_said() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let length = neck.bore.length_mm();
    // Knots stand 12 mm apart: sixteenths of the neck. Rows at every half of that.
    let mut profile = Profile::of("bumpy", &neck.bore.neck.bore, length, length / 32.0);
    profile.rows[17].diameter_mm += 0.5;
    let bumpy = neck.with_rows(&Rows::of(&profile)).expect("it can be made");
    let file = HornFile::stand_in("cone");
    let wanted = json!([{ "written": "A4", "cents": -3.0 }]);
    let limits = json!({ "least_half_angle_deg": 1.0, "greatest_half_angle_deg": 2.2 });
    let told = sought(&bumpy, &file, json!({ "wanted": wanted, "limits": limits }));
    let told = told.expect_err("there is none");
    assert_eq!(paths(&told), ["limits"]);
    assert!(told[0].why.contains("No change was found that keeps all of the limits"), "{told:?}");
}

/// However much may be changed, what is proposed leaves the vent its room, or is said not to be makeable and not reached.
#[test]
fn a_proposed_bore_is_one_that_can_be_made() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let file = HornFile::stand_in("cone");
    let limits = json!({ "most_change_mm": 5.0, "least_diameter_mm": 6.0, "least_half_angle_deg": -5.0, "greatest_half_angle_deg": 10.0 });
    let asked = json!({ "wanted": [{ "written": "A5", "cents": 100.0 }, { "written": "Bb3", "cents": 100.0 }], "limits": limits });
    let aimed = sought(&neck, &file, asked).expect("sought");
    let made = neck.with_rows(&Rows::of(&aimed.profile)).expect("the vent has its room");
    assert_eq!(made.broken, aimed.broken);
    assert!(aimed.broken.is_empty() || !aimed.reached);
    let room = aimed.profile.bore().radius(neck.job.vent.station_mm);
    assert!(
        room >= (neck.job.vent.outer_diameter_mm / 2.0 + neck.job.limits.joint_gap_mm) / 0.6 - 0.02
    );
    let horn = file.ready(neck.job.horn_voice, &neck.bore).expect("ready");
    assert!(horn.fingerings.iter().all(|one| seen(&horn, &neck.bore, one).played.is_some()));
}
