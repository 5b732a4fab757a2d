//! The tight rows of the clearance list: what fails, and what is nearest to failing.

use serde::Serialize;

use crate::checks::{ClearanceList, Pair, Relation};
use crate::exports::clearance_report::row_words;

use super::numbers::Number;

/// Rows that are shown.
const MOST: usize = 12;

/// A pair that is watched while the parts are placed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct TightRow {
    pub a: String,
    pub b: String,
    pub words: String,
    pub gap: Number,
    pub needs: Number,
    /// What hands leave of it.
    pub by_hand: Number,
    pub ok: bool,
}

fn spare(row: &Pair) -> f64 {
    row.gap_mm - row.overlap_mm - row.required_min_mm.unwrap_or_default()
}

/// What fails, then the nearest of what must stay clear, one row for each pair.
#[must_use]
pub fn tight_rows(list: &ClearanceList) -> Vec<TightRow> {
    let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs).map(|row| &row.pair);
    let mut rows: Vec<&Pair> = list
        .pairs
        .iter()
        .chain(turned)
        .filter(|row| !row.ok || (row.relation == Relation::Free && row.required_min_mm.is_some()))
        .collect();
    rows.sort_by(|a, b| a.ok.cmp(&b.ok).then(spare(a).total_cmp(&spare(b))));
    let mut kept: Vec<&Pair> = Vec::new();
    for row in rows {
        if kept.iter().all(|other| other.a != row.a || other.b != row.b) {
            kept.push(row);
        }
    }
    let failed = kept.iter().filter(|row| !row.ok).count();
    kept.truncate(MOST.max(failed));
    kept.into_iter()
        .map(|row| {
            let measured = "Clearance list: exact distance of the two solids";
            TightRow {
                a: row.a.clone(),
                b: row.b.clone(),
                words: row_words(row),
                gap: Number::within(row.gap_mm - row.overlap_mm, 0.005, "mm", measured),
                needs: match row.required_min_mm {
                    Some(least) => Number::exact(least, "mm", "Job, limits"),
                    None => Number::not_known("mm", "nothing is asked", "Job, limits"),
                },
                by_hand: match row.by_hand_mm {
                    Some(left) => Number::within(
                        left,
                        0.01,
                        "mm",
                        "Clearance list, both parts as far off as placing in the job",
                    ),
                    None => {
                        Number::not_known("mm", "not worked out for this row", "Clearance list")
                    }
                },
                ok: row.ok,
            }
        })
        .collect()
}
