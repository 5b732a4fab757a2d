//! The joints of a model; those of which neither part changed are not measured again.

use std::sync::Arc;

use crate::checks::findings::joints::{Joint, JointBody, bridged_gap, joint_pairs};
use crate::job::Job;
use crate::parts::Assembly;

use super::Built;

/// A measured joint, with the bodies it was measured on.
#[derive(Debug)]
struct Measured {
    a: Arc<Built>,
    b: Arc<Built>,
    joint: Arc<Joint>,
}

/// All measured joints, and the greatest gap that was counted to them.
#[derive(Debug)]
pub(super) struct Joints {
    reach: f64,
    rows: Vec<Measured>,
}

impl Joints {
    /// Measures every joint of which both parts are there.
    ///
    /// A joint on the tube is measured by the tube's centreline too: if that changes, so does the tube.
    pub fn measure(
        bodies: &[Arc<Built>],
        assembly: &Assembly,
        job: &Job,
        before: Option<&Self>,
    ) -> Self {
        let reach = bridged_gap(job);
        let known = before.filter(|joints| joints.reach.to_bits() == reach.to_bits());
        let known = known.map_or(&[][..], |joints| joints.rows.as_slice());
        let find = |id: &str| bodies.iter().find(|body| body.part.id == id);
        let rows = joint_pairs().iter().filter_map(|(a, b)| {
            let (a, b) = (find(a)?, find(b)?);
            let same = |row: &&Measured| Arc::ptr_eq(&row.a, a) && Arc::ptr_eq(&row.b, b);
            let joint = match known.iter().find(same) {
                Some(row) => row.joint.clone(),
                None => Arc::new(Joint::measure(&body(a), &body(b), &assembly.neck, reach)),
            };
            Some(Measured { a: a.clone(), b: b.clone(), joint })
        });
        Self { reach, rows: rows.collect() }
    }

    pub fn all(&self) -> impl Iterator<Item = &Joint> {
        self.rows.iter().map(|row| &*row.joint)
    }
}

fn body(built: &Built) -> JointBody<'_> {
    JointBody { part: &built.part, field: &built.field, samples: built.samples() }
}
