//! The tight rows of the clearance list: what fails, and what is nearest to failing.

use serde::Serialize;

use crate::checks::{ClearanceList, Pair, Pose, Relation};
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
    let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs);
    // With each row whether it is the least of the turning neck.
    let mut rows: Vec<(&Pair, bool)> = list
        .pairs
        .iter()
        .map(|row| (row, false))
        .chain(turned.map(|row| (&row.pair, true)))
        .filter(|(row, _)| {
            !row.ok || (row.relation == Relation::Free && row.required_min_mm.is_some())
        })
        .collect();
    rows.sort_by(|(a, _), (b, _)| a.ok.cmp(&b.ok).then(spare(a).total_cmp(&spare(b))));
    let mut kept: Vec<(&Pair, bool)> = Vec::new();
    for (row, turned) in rows {
        if kept.iter().all(|(other, _)| other.a != row.a || other.b != row.b) {
            kept.push((row, turned));
        }
    }
    let failed = kept.iter().filter(|(row, _)| !row.ok).count();
    kept.truncate(MOST.max(failed));
    kept.into_iter()
        .map(|(row, turned)| {
            let measured = if row.at_least.is_some() {
                "Clearance list: a lower bound, the distance may be greater"
            } else if turned || row.pose == Pose::Swing {
                "Clearance list: least of the two solids' distance over the motion, which may be missed by the tolerance of its search"
            } else {
                "Clearance list: exact distance of the two solids; modelled surfaces depart by so much"
            };
            let distance = row.gap_mm - row.overlap_mm;
            let (below, above) = row.off_mm(turned);
            TightRow {
                a: row.a.clone(),
                b: row.b.clone(),
                words: row_words(row),
                gap: Number::between(distance, distance - below, distance + above, "mm", measured),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_text};
    use crate::model::Model;

    /// Truth: the list finds the least over a swing to 0.004 mm and a depth to 0.05 mm and a tenth (`checks/swing.rs`), and two
    /// modelled surfaces depart by 0.002 mm.
    #[test]
    fn a_row_over_the_swing_may_be_nearer_by_what_its_search_may_miss() {
        let model = Model::build(starting_text(Voice::Alto).unwrap(), None).unwrap();
        let mut list = model.clearances();
        list.neck_turned = None;
        let below = |list: &ClearanceList| tight_rows(list)[0].gap.tolerance.unwrap();
        let mut row = list.pairs.iter().find(|row| row.pose == Pose::Swing).unwrap().clone();
        row.at_least = None;
        (row.relation, row.ok) = (Relation::Free, false);
        (row.gap_mm, row.overlap_mm, row.required_min_mm) = (0.5, 0.0, Some(0.3));
        let mut told = |change: fn(&mut Pair)| {
            let mut changed = row.clone();
            change(&mut changed);
            list.pairs = vec![changed];
            below(&list)
        };
        assert_eq!(told(|_| ()), [-0.006, 0.002]);
        assert_eq!(told(|row| row.pose = Pose::Closed), [-0.002, 0.002]);
        assert_eq!(told(|row| (row.gap_mm, row.overlap_mm) = (0.0, 1.0)), [-0.152, 0.002]);
        assert_eq!(told(|row| row.at_least = Some(true)), [-0.002, 2.5]);
    }
}
