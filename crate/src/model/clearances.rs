//! The clearance list of a model; pairs of which neither body changed are not measured again.

use std::sync::Arc;

use crate::checks::{Body, Clearance, ClearanceList, Limits, Scratch, clearance, judge};
use crate::job::Job;
use crate::job::parameters::Side;

use super::Built;

/// A measured pair, with the bodies it was measured on.
#[derive(Debug)]
pub(super) struct Measured {
    a: Arc<Built>,
    b: Arc<Built>,
    found: Option<Clearance>,
}

/// Measures every unordered pair of bodies, in their order, key closed.
pub(super) fn measure(bodies: &[Arc<Built>], before: &[Measured]) -> Vec<Measured> {
    let mut scratch = Scratch::default();
    let mut out = Vec::with_capacity(bodies.len() * bodies.len() / 2);
    // Both lists run in the same order of bodies, so the place after the last one found is
    // where the next is looked for first.
    let mut place = 0;
    for (index, a) in bodies.iter().enumerate() {
        for b in bodies.iter().skip(index + 1) {
            let same = |pair: &&Measured| Arc::ptr_eq(&pair.a, a) && Arc::ptr_eq(&pair.b, b);
            let kept = before.get(place).filter(same).or_else(|| before.iter().find(same));
            let found = match kept {
                Some(pair) => pair.found,
                None => clearance(&body(a), &body(b), None, &mut scratch),
            };
            place += 1;
            out.push(Measured { a: a.clone(), b: b.clone(), found });
        }
    }
    out
}

/// Judges measured pairs by the limits of a job.
pub(super) fn list(pairs: &[Measured], job: &Job) -> ClearanceList {
    let limits = limits(job);
    let rows = pairs
        .iter()
        .filter_map(|pair| {
            Some(judge(&body(&pair.a), &body(&pair.b), pair.found.as_ref()?, &limits))
        })
        .collect();
    ClearanceList::new(rows)
}

fn body(built: &Built) -> Body<'_> {
    Body {
        id: built.part.id,
        field: &built.field,
        samples: &built.samples,
        moves_with_key: built.part.moves_with_key,
        keepout: built.part.keepout,
    }
}

fn limits(job: &Job) -> Limits {
    let limits = &job.limits;
    Limits {
        joint_gap_min_mm: limits.joint_gap_min_mm,
        joint_gap_max_mm: limits.joint_gap_max_mm,
        least_clearance_mm: limits.least_clearance_mm,
        running_min_mm: limits.running_min_mm,
        running_max_mm: limits.running_max_mm,
        fit_min_mm: limits.fit_min_mm,
        fit_max_mm: limits.fit_max_mm,
        left_post_is_tapped: job.posts.screw_head_side == Side::Right,
    }
}
