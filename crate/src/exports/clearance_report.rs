//! The clearance list as `clearances.json` and as lines to read.

use std::fmt::Write;

use crate::checks::{ClearanceList, Pair, PairState};

/// The text of `clearances.json`.
pub fn clearances_json(list: &ClearanceList) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(list).map(|text| text + "\n")
}

/// The list as text, what fails first, then from the nearest pair to the farthest.
pub fn clearance_report(list: &ClearanceList) -> String {
    let mut rows: Vec<&Pair> = list.pairs.iter().collect();
    rows.sort_by(|a, b| {
        let key = |pair: &Pair| (pair.ok, pair.gap_mm - pair.overlap_mm);
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut out = String::new();
    for row in &rows {
        let mark = if row.ok { "ok   " } else { "FAILS" };
        let line = format!("{mark} {}, {} to {}{}", measure(row), row.a, row.b, asked(row));
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{line}");
    }
    let _ = writeln!(out, "{} of {} pairs fail", list.failed, list.pairs.len());
    out
}

/// What was measured, number first, to a hundredth of a millimetre; joints and fits, whose
/// limits are finer, to a thousandth.
fn measure(row: &Pair) -> String {
    match row.state {
        PairState::Clear if row.at_least == Some(true) => format!("at least {:.2} mm", row.gap_mm),
        PairState::Clear if row.required_max_mm.is_some() => format!("{:.3} mm", row.gap_mm),
        PairState::Clear => format!("{:.2} mm", row.gap_mm),
        PairState::Touching => "touching".to_string(),
        PairState::Overlapping => format!("overlapping by {:.2} mm", row.overlap_mm),
    }
}

fn asked(row: &Pair) -> String {
    match (row.required_min_mm, row.required_max_mm) {
        (Some(least), Some(greatest)) => format!(", needs {least} to {greatest} mm"),
        (Some(least), None) => format!(", needs {least} mm"),
        (None, Some(greatest)) => format!(", needs {greatest} mm or less"),
        (None, None) => String::new(),
    }
}
