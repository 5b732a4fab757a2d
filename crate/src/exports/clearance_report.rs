//! The clearance list as `clearances.json` and as lines to read.

use std::fmt::Write;

use crate::checks::{
    ClearanceList, EXACT_TO, Finding, JointFinding, Pair, PairState, PairWaysOut, Pose, Relation,
};

/// The text of `clearances.json`.
pub fn clearances_json(list: &ClearanceList) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(list).map(|text| text + "\n")
}

/// The list as text, what fails first, then from the nearest row to the farthest; after it the
/// rows of the turned neck.
pub fn clearance_report(list: &ClearanceList) -> String {
    let mut out = String::new();
    let rows = list.pairs.iter().map(|pair| (pair, position(pair))).collect();
    section(&mut out, rows, list.failed, "rows");
    if let Some(turned) = &list.neck_turned {
        let rows = turned.pairs.iter().map(|row| {
            let key = position(&row.pair);
            (&row.pair, format!("{key}, horn at {:.1}°", row.horn_angle_deg))
        });
        out.push_str("\nWhile the neck is turned in the receiver ");
        let _ = writeln!(out, "by up to {}° to either side:", turned.neck_turn_deg);
        section(&mut out, rows.collect(), turned.failed, "rows with the neck turned");
    }
    if let Some(findings) = &list.findings {
        for (title, rows) in [
            ("The octave key", &findings.key),
            ("Running fits", &findings.running),
            ("Metal left", &findings.walls),
            ("Room for tools", &findings.access),
        ] {
            let _ = writeln!(out, "\n{title}:");
            for row in rows {
                let _ = writeln!(out, "{}", finding(row));
            }
        }
        for joint in findings.joints.iter().flatten() {
            let _ = writeln!(out, "\n{}:", joint_title(joint));
            for row in &joint.numbers {
                let _ = writeln!(out, "{}", finding(row));
            }
        }
        let _ = writeln!(out, "\n{} of these numbers are not as asked", findings.not_as_asked);
    }
    for pair in list.ways_out.iter().flat_map(|ways_out| &ways_out.pairs) {
        ways_out(&mut out, pair);
    }
    let left: Vec<String> = list
        .ways_out
        .iter()
        .flat_map(|ways_out| &ways_out.not_looked_into)
        .map(|pair| format!("{} and {}", pair.a, pair.b))
        .collect();
    if !left.is_empty() {
        let _ =
            writeln!(out, "\nSo much fails that no way out was looked for of {}", left.join("; "));
    }
    out
}

/// A row in words: what was measured, between what, what is asked, in which position.
#[must_use]
pub fn row_words(row: &Pair) -> String {
    format!("{}, {} to {}{}{}", measure(row), row.a, row.b, asked(row), position(row))
}

/// The ways out of one pair, a line each.
fn ways_out(out: &mut String, pair: &PairWaysOut) {
    let _ = writeln!(out, "\nWays out for {} and {}, one change each:", pair.a, pair.b);
    if pair.ways.is_empty() {
        out.push_str("none of the changes that were tried clears this\n");
    }
    for way in &pair.ways {
        let unit = if way.unit == "deg" { "°" } else { " mm" };
        let fields: Vec<String> =
            way.fields.iter().map(|field| format!("{} {}", field.path, field.to)).collect();
        let then = match &way.tightest {
            Some(row) => {
                let (a, b) = (&row.a, &row.b);
                format!("; tightest then {}, {a} to {b}{}", measure(row), position(row))
            }
            None => String::new(),
        };
        let caution = way.caution.map_or(String::new(), |caution| format!("; {caution}"));
        let all = if way.clears_all { "" } else { "; other rows still fail" };
        let _ = writeln!(
            out,
            "{} by {:.2}{unit} ({}){then}{all}{caution}",
            way.words,
            way.by,
            fields.join(", ")
        );
    }
}

/// Writes rows with the position they were measured in. Writing to a string cannot fail.
fn section(out: &mut String, mut rows: Vec<(&Pair, String)>, failed: usize, what: &str) {
    rows.sort_by(|(a, _), (b, _)| {
        let key = |pair: &Pair| (pair.ok, pair.gap_mm - pair.overlap_mm);
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    // What hands may bring too near is told, however far it is drawn.
    let apart = |row: &Pair| row.at_least == Some(true) && row.gap_mm >= EXACT_TO;
    let far = |row: &Pair| row.ok && apart(row) && row.by_hand_ok != Some(false);
    for (row, position) in rows.iter().filter(|(row, _)| !far(row)) {
        let mark = if row.ok { "ok   " } else { "FAILS" };
        let line = format!("{mark} {}, {} to {}", measure(row), row.a, row.b);
        let _ = writeln!(out, "{line}{}{position}{}", asked(row), by_hand(row));
    }
    let count = rows.iter().filter(|(row, _)| far(row)).count();
    let _ = writeln!(out, "ok    {count} more are at least {EXACT_TO} mm apart");
    let _ = writeln!(out, "{failed} of {} {what} fail", rows.len());
}

/// What hands leave of a gap, where that is too little.
fn by_hand(row: &Pair) -> String {
    match (row.by_hand_ok, row.by_hand_mm) {
        (Some(false), Some(left)) if left < 0.0 => {
            format!("; placed by hand they may overlap by {:.2} mm", -left)
        }
        (Some(false), Some(left)) => format!("; placed by hand {left:.2} mm may be left"),
        _ => String::new(),
    }
}

/// A joint by its parts, and where to look.
fn joint_title(joint: &JointFinding) -> String {
    let place = joint.worst_point_mm.map_or(String::new(), |[x, y, z]| {
        format!(" (worst gap at x {x:.1}, y {y:.1}, z {z:.1} mm)")
    });
    format!("Joint of {} and {}{place}", joint.a, joint.b)
}

/// A finding as a line: number first, then what is asked.
fn finding(row: &Finding) -> String {
    let mark = match row.ok {
        Some(true) => "ok   ",
        Some(false) => "LOOK ",
        None => "     ",
    };
    let value = match row.value {
        Some(value) => format!("{value:.3} {}", row.unit),
        None if row.ok == Some(false) => "none".to_string(),
        None => "not known".to_string(),
    };
    let asked = match (row.asked_min, row.asked_max) {
        (Some(least), Some(greatest)) => format!(", asked {least} to {greatest}"),
        (Some(least), None) => format!(", asked at least {least}"),
        (None, Some(greatest)) => format!(", asked at most {greatest}"),
        (None, None) => String::new(),
    };
    format!("{mark} {value}, {}{asked}", row.what)
}

/// In which position of the key a row was measured.
fn position(row: &Pair) -> String {
    let angle = row.key_angle_deg.unwrap_or(0.0);
    match row.pose {
        Pose::Static => String::new(),
        Pose::Closed => ", key closed".to_string(),
        Pose::Open => ", key open".to_string(),
        Pose::Swing => format!(", least over the swing, at {angle:.2}°"),
        Pose::At => format!(", key at {angle:.2}°"),
    }
}

/// What was measured, number first, to a hundredth of a millimetre; joints and fits, whose
/// limits are finer, to a thousandth.
fn measure(row: &Pair) -> String {
    match row.state {
        PairState::Clear if row.at_least == Some(true) => format!("at least {:.2} mm", row.gap_mm),
        PairState::Clear if row.required_max_mm.is_some() => format!("{:.3} mm", row.gap_mm),
        PairState::Clear => format!("{:.2} mm", row.gap_mm),
        PairState::Touching => "touching".to_string(),
        PairState::Overlapping if row.at_least == Some(true) => {
            format!("not known to be apart, overlapping by {:.2} mm at most", row.overlap_mm)
        }
        PairState::Overlapping => format!("overlapping by {:.2} mm", row.overlap_mm),
    }
}

fn asked(row: &Pair) -> String {
    match (row.required_min_mm, row.required_max_mm) {
        (Some(least), Some(greatest)) => format!(", needs {least} to {greatest} mm"),
        (Some(least), None) => format!(", needs {least} mm"),
        (None, Some(greatest)) => format!(", needs {greatest} mm or less"),
        (None, None) if row.relation == Relation::Seat && row.state == PairState::Overlapping => {
            " (drawn stiff: in truth it bends, and slides on the other)".to_string()
        }
        (None, None) => String::new(),
    }
}
