//! The model of one job: every part's solid and measures, rebuilt only where a change touches it.

mod across;
mod built;
mod changes;
mod clearances;
mod files;
mod joints;
mod measuring;
mod round;
mod tried;
mod way_out;

use std::sync::{Arc, OnceLock};

use crate::checks::{ClearanceList, Findings, JointFinding, joint_finding};
use crate::job::{Job, Violation};
use crate::parts::{Assembly, Part, build_from_text};
use crate::solids::SolidError;
use crate::solids::mesh::SolidMesh;

use clearances::Pairs;
use joints::Joints;

pub use across::Across;
pub use built::{Built, Formed};
pub use changes::Change;
pub use files::{FileError, Files};
pub use measuring::Measuring;

/// A neck built from a job.
#[derive(Debug)]
pub struct Model {
    pub job: Job,
    pub assembly: Assembly,
    /// What the maker should know though the neck was built.
    pub warnings: Vec<Violation>,
    parts: Vec<Arc<Built>>,
    /// The tube before the vent's hole is drilled.
    undrilled: Arc<Built>,
    halves: Vec<Arc<Formed>>,
    tool_paths: Vec<Arc<Built>>,
    pairs: Pairs,
    joints: OnceLock<Arc<Joints>>,
    /// Joints of the neck before, kept to be taken over from.
    joints_before: Option<Arc<Joints>>,
    /// Ids of the parts and keep-outs that were built anew for this job.
    pub rebuilt: Vec<&'static str>,
}

impl Model {
    /// Reads a job and builds its neck, taking from `before` every part whose body is the same.
    ///
    /// # Errors
    ///
    /// Every violation at once, by parameter path. A body that cannot be made in spite of the
    /// rules is answered with a violation under the part's own name.
    pub fn build(text: &str, before: Option<&Self>) -> Result<Self, Vec<Violation>> {
        Measuring::begin(text, before)?.finish()
    }

    fn made(&self) -> Made<'_> {
        let Self { parts, undrilled, halves, tool_paths, .. } = self;
        Made { parts, undrilled, halves, tool_paths }
    }

    /// The clearance list, in every pose.
    pub fn clearances(&self) -> ClearanceList {
        self.gaps().with_findings(self.findings())
    }

    /// The clearance list alone, without what is to be known beside it.
    pub fn gaps(&self) -> ClearanceList {
        self.pairs.list(&self.job)
    }

    /// What is to be known beside the clearances, but for the joints.
    fn findings(&self) -> Findings {
        let paths = self.pairs.access(&self.tool_paths, &self.parts, &self.assembly);
        Findings::of(&self.job, &self.assembly, &paths)
    }

    /// All of `clearances.json`: the list with its joints, and the ways out of what fails.
    pub fn report(&self) -> ClearanceList {
        let findings = self.findings().with_joints(self.joint_findings());
        let list = self.pairs.list(&self.job).with_findings(findings);
        if list.all_failed() == 0 { list } else { list.with_ways_out(self.all_ways_out()) }
    }

    /// How every soldered or glued joint stands.
    pub fn joint_findings(&self) -> Vec<JointFinding> {
        let joints = self.joints().all();
        joints.map(|joint| joint_finding(&self.job, &self.assembly, joint)).collect()
    }

    /// The measured joints; measured when first asked for.
    fn joints(&self) -> &Joints {
        self.joints.get_or_init(|| {
            let before = self.joints_before.as_deref();
            Arc::new(Joints::measure(&self.parts, &self.assembly, &self.job, before))
        })
    }

    /// The clearance list with the key turned open by `angle` radians.
    ///
    /// # Errors
    ///
    /// A part whose own surface was not needed before, and cannot be divided.
    pub fn clearances_at(&self, angle: f64) -> Result<ClearanceList, FileError> {
        self.pairs.list_at(angle, &self.job)
    }

    /// Every built body: the parts, then the keep-outs.
    pub fn all(&self) -> &[Arc<Built>] {
        &self.parts
    }

    /// The parts that are made or bought, in the order of the list.
    pub fn parts(&self) -> &[Arc<Built>] {
        self.parts.get(..self.assembly.parts.len()).unwrap_or_default()
    }

    /// The rooms that must stay free.
    pub fn keepouts(&self) -> &[Arc<Built>] {
        let start = self.assembly.parts.len();
        self.parts.get(start..start + self.assembly.keepouts.len()).unwrap_or_default()
    }

    /// Left and right half of the tube, which stand in no list but have files of their own.
    pub fn halves(&self) -> &[Arc<Formed>] {
        &self.halves
    }

    /// The part or keep-out of this id; for the halves of the tube see [`Self::find`].
    pub fn part(&self, id: &str) -> Option<&Arc<Built>> {
        self.parts.iter().find(|built| built.part.id == id)
    }

    /// The part, keep-out or half of the tube of this id.
    ///
    /// # Errors
    ///
    /// An id of no part.
    pub fn find(&self, id: &str) -> Result<&Formed, FileError> {
        let listed = self.part(id).map(|built| &***built);
        let half = || self.halves.iter().find(|half| half.part.id == id).map(|half| &**half);
        listed.or_else(half).ok_or_else(|| FileError::UnknownPart(id.to_string()))
    }

    /// Triangles of a part, keep-out or half within `chord` millimetres of its surfaces, key closed.
    ///
    /// # Errors
    ///
    /// An id of no part, a chord out of range (0.002 to 1), a face that cannot be divided.
    pub fn mesh(&self, id: &str, chord: f64) -> Result<SolidMesh, FileError> {
        files::triangles(self.find(id)?, chord)
    }
}

/// The bodies of a job's neck, not yet measured against each other.
#[derive(Debug)]
struct Bodies {
    job: Job,
    assembly: Assembly,
    warnings: Vec<Violation>,
    parts: Vec<Arc<Built>>,
    undrilled: Arc<Built>,
    halves: Vec<Arc<Formed>>,
    tool_paths: Vec<Arc<Built>>,
    rebuilt: Vec<&'static str>,
}

/// What was built for a job before, to be taken over where it is the same.
#[derive(Clone, Copy, Debug)]
struct Made<'a> {
    parts: &'a [Arc<Built>],
    undrilled: &'a Arc<Built>,
    halves: &'a [Arc<Formed>],
    tool_paths: &'a [Arc<Built>],
}

impl Bodies {
    fn build(text: &str, before: Option<Made<'_>>) -> Result<Self, Vec<Violation>> {
        let read = build_from_text(text)?;
        let mut rebuilt = Vec::new();
        let mut failed = Vec::new();
        let mut parts = Vec::new();
        let assembly = read.assembly;
        let mut make = |part: &Part, known: Option<&Arc<Built>>| {
            if let Some(kept) = known.filter(|built| built.part == *part) {
                return Some((kept.clone(), false));
            }
            let drilled = part.id == assembly.undrilled.id && *part != assembly.undrilled;
            let built = if drilled { Built::drilled } else { Built::new }(part.clone());
            match built {
                Ok(built) => Some((Arc::new(built), true)),
                Err(error) => {
                    // The tube stands for its undrilled form too: one of them is enough.
                    if failed.iter().all(|told: &Violation| told.path != part.id) {
                        failed.push(not_buildable(part, &error));
                    }
                    None
                }
            }
        };
        for part in assembly.parts.iter().chain(&assembly.keepouts) {
            let known =
                before.and_then(|made| made.parts.iter().find(|built| built.part.id == part.id));
            if let Some((built, anew)) = make(part, known) {
                rebuilt.extend(anew.then_some(part.id));
                parts.push(built);
            }
        }
        let undrilled = make(&assembly.undrilled, before.map(|made| made.undrilled));
        let mut tool_paths = Vec::new();
        for (index, tool) in assembly.tool_paths.iter().enumerate() {
            let known = before.and_then(|made| made.tool_paths.get(index));
            tool_paths.extend(make(&tool.path, known).map(|(built, _)| built));
        }
        let mut halves = Vec::new();
        for half in &assembly.halves {
            let kept = before.and_then(|made| made.halves.iter().find(|kept| kept.part == *half));
            match kept {
                Some(kept) => halves.push(kept.clone()),
                None => match Formed::new(half.clone()) {
                    Ok(formed) => halves.push(Arc::new(formed)),
                    Err(error) => failed.push(not_buildable(half, &error)),
                },
            }
        }
        let (job, warnings) = (read.job, read.warnings);
        match undrilled {
            Some((undrilled, _)) if failed.is_empty() => {
                Ok(Self { job, assembly, warnings, parts, undrilled, halves, tool_paths, rebuilt })
            }
            _ => Err(failed),
        }
    }

    /// What of it may be taken over by another.
    fn made(&self) -> Made<'_> {
        let Self { parts, undrilled, halves, tool_paths, .. } = self;
        Made { parts, undrilled, halves, tool_paths }
    }

    /// Bodies whose own surface was asked for, and cannot be divided.
    fn indivisible(&self) -> impl Iterator<Item = Violation> {
        let parts = self.parts.iter();
        parts.filter_map(|built| Some(not_buildable(&built.part, built.indivisible()?)))
    }

    /// The model, its pairs measured.
    fn with(self, pairs: Pairs, joints_before: Option<Arc<Joints>>) -> Model {
        let Self { job, assembly, warnings, parts, undrilled, halves, tool_paths, rebuilt } = self;
        let joints = OnceLock::new();
        Model {
            job,
            assembly,
            warnings,
            parts,
            undrilled,
            halves,
            tool_paths,
            pairs,
            joints,
            joints_before,
            rebuilt,
        }
    }

    /// The list of the pairs of some bodies alone.
    fn list_of(&self, ids: &[&str]) -> ClearanceList {
        let chosen = |built: &&Arc<Built>| ids.contains(&built.part.id);
        let some: Vec<Arc<Built>> = self.parts.iter().filter(chosen).cloned().collect();
        Pairs::measure(&some, &self.undrilled, &self.assembly, &self.job).list(&self.job)
    }
}

fn not_buildable(part: &Part, error: &SolidError) -> Violation {
    Violation::error(
        part.id,
        serde_json::Value::Null,
        "dimensions of which a solid can be made",
        format!("The {} cannot be made with these dimensions ({error}).", part.name),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALTO: &str = include_str!("../../../examples/jobs/alto.json");

    /// The alto, its tube one that cannot be divided.
    fn with_an_indivisible_tube() -> Bodies {
        let mut bodies = Bodies::build(ALTO, None).expect("builds");
        let tube = &mut bodies.parts[0];
        assert_eq!(tube.part.id, "tube");
        *tube = Arc::new(Built::drilled_indivisible(tube.part.clone()).expect("builds"));
        bodies
    }

    /// A surface that is asked for and is not there takes the model with it: without it rows would be left out of the
    /// list, and it would read as one in which nothing fails.
    #[test]
    fn a_row_that_cannot_be_measured_is_not_left_out() {
        let bodies = with_an_indivisible_tube();
        assert_eq!(bodies.parts[0].samples().size(), 0);
        let told = Measuring::of(bodies, None).finish().expect_err("a surface is missing");
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].is_error() && told[0].path == "tube", "{told:?}");
    }

    /// Where the list does without the tube's own surface, the list at an angle does not, and says so.
    #[test]
    fn a_list_at_an_angle_is_whole_or_an_error() {
        let model =
            Measuring::of(with_an_indivisible_tube(), None).finish().expect("no pair needs it");
        let told = model.clearances_at(0.02).map(|list| list.pairs.len());
        assert!(matches!(told, Err(FileError::Solid { part: "tube", .. })), "{told:?}");
    }
}
