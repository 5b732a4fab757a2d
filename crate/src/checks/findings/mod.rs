//! What is to be known of a neck beside its clearances: what the key does, how the joints stand,
//! how things run on each other, and what metal is left.

mod access;
pub mod joints;
mod key;
mod running;
mod walls;

pub use access::Access;

use serde::Serialize;

use crate::job::Job;
use crate::parts::Assembly;

use joints::JointFinding;

/// Name and version of this block of the list.
pub const FORMAT: &str = "neckwright-findings/1";

/// One number with what is asked of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Finding {
    /// Short name that stays the same from version to version.
    pub id: &'static str,
    /// What it is, in the maker's words.
    pub what: String,
    /// `null` if it cannot be worked out; `why` then says why.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub value: Option<f64>,
    pub unit: &'static str,
    /// `null` where nothing is asked.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub asked_min: Option<f64>,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub asked_max: Option<f64>,
    /// Whether it is as asked; `null` where nothing is asked. Where there is no number, `false` says
    /// that there should be.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "boolean | null"))]
    pub ok: Option<bool>,
    /// How it was worked out, and where what is asked comes from.
    pub why: String,
}

impl Finding {
    fn new(id: &'static str, what: &str, value: f64, unit: &'static str, why: &str) -> Self {
        let value = value.is_finite().then(|| rounded(value));
        Self {
            id,
            what: what.to_string(),
            value,
            unit,
            asked_min: None,
            asked_max: None,
            ok: None,
            why: why.to_string(),
        }
    }

    fn unknown(id: &'static str, what: &str, unit: &'static str, why: &str) -> Self {
        Self::new(id, what, f64::NAN, unit, why)
    }

    /// What there should be and is not.
    fn failed(id: &'static str, what: &str, unit: &'static str, why: &str) -> Self {
        Self { ok: Some(false), ..Self::unknown(id, what, unit, why) }
    }

    fn at_least(self, least: f64) -> Self {
        Self { asked_min: Some(rounded(least)), ..self }.judged()
    }

    fn at_most(self, greatest: f64) -> Self {
        Self { asked_max: Some(rounded(greatest)), ..self }.judged()
    }

    fn judged(mut self) -> Self {
        self.ok = self.value.map(|value| {
            self.asked_min.is_none_or(|least| value >= least)
                && self.asked_max.is_none_or(|greatest| value <= greatest)
        });
        self
    }
}

/// Rounded to a millionth, and never a negative zero.
fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

/// All numbers of a neck, by what they are about.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Findings {
    pub format: &'static str,
    /// Lift, travel, leverage, pad and spring of the octave key.
    pub key: Vec<Finding>,
    /// Hinge and tenon against the fits of ISO 286.
    pub running: Vec<Finding>,
    /// Metal left beside holes, thread, and what stands into the bore.
    pub walls: Vec<Finding>,
    /// Room for drill, reamer and tap.
    pub access: Vec<Finding>,
    /// Every soldered or glued joint: gap, area, lap, and what heat does to it. Absent where they
    /// were not asked for: they take longer than all the rest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joints: Option<Vec<JointFinding>>,
    /// How many are not as asked.
    pub not_as_asked: usize,
}

impl Findings {
    /// All findings of a neck but those of its joints.
    #[must_use]
    pub fn of(job: &Job, assembly: &Assembly, paths: &[Access<'_>]) -> Self {
        let (key, running, walls) =
            (key::findings(job, &assembly.action), running::findings(job), walls::findings(job));
        let access = access::findings(paths, job.limits.least_clearance_mm);
        let found =
            Self { format: FORMAT, key, running, walls, access, joints: None, not_as_asked: 0 };
        let not_as_asked = found.all().filter(|finding| finding.ok == Some(false)).count();
        Self { not_as_asked, ..found }
    }

    /// Every number but those of the joints.
    pub fn all(&self) -> impl Iterator<Item = &Finding> {
        self.key.iter().chain(&self.running).chain(&self.walls).chain(&self.access)
    }

    /// The findings with those of the joints among them.
    #[must_use]
    pub fn with_joints(self, joints: Vec<JointFinding>) -> Self {
        let numbers = joints.iter().flat_map(|joint| &joint.numbers);
        let not_as_asked =
            self.not_as_asked + numbers.filter(|finding| finding.ok == Some(false)).count();
        Self { joints: Some(joints), not_as_asked, ..self }
    }
}
