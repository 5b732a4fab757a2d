//! What fails on a part, in words.

use crate::checks::{ClearanceList, Pair};
use crate::exports::clearance_report::row_words;

/// The failing rows of the clearance list that a part stands in, one for each other part: the worst of its positions.
pub fn clearances(list: &ClearanceList, part: &str) -> Vec<String> {
    // Nothing is measured on the halves: they become the tube.
    let part = if part.starts_with("half_") { "tube" } else { part };
    let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs).map(|row| &row.pair);
    let mut worst: Vec<&Pair> = Vec::new();
    for row in list.pairs.iter().chain(turned) {
        if row.ok || (row.a != part && row.b != part) {
            continue;
        }
        let same = |other: &&mut &Pair| other.a == row.a && other.b == row.b;
        match worst.iter_mut().find(same) {
            Some(other) if left(row) < left(other) => *other = row,
            Some(_) => {}
            None => worst.push(row),
        }
    }
    worst.into_iter().map(row_words).collect()
}

fn left(row: &Pair) -> f64 {
    row.gap_mm - row.overlap_mm
}
