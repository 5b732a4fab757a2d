//! Jobs to start from: the values of a usual neck, to be replaced by measurements of the horn.

use std::sync::OnceLock;

use serde_json::Value;

use super::parameters::{Job, Voice};

/// The shipped alto: the example file itself, so that page, examples and stand-in values cannot drift apart.
const ALTO: &str = include_str!("../../../examples/jobs/alto.json");
const TENOR: &str = include_str!("../../../examples/jobs/tenor.json");

/// Text of the job file to start from; none for a voice we have no values for.
#[must_use]
pub fn starting_text(voice: Voice) -> Option<&'static str> {
    match voice {
        Voice::Alto => Some(ALTO),
        Voice::Tenor => Some(TENOR),
        Voice::Soprano | Voice::Baritone => None,
    }
}

/// The job to start from; none for a voice we have no values for.
#[must_use]
pub fn starting_job(voice: Voice) -> Option<Job> {
    // By way of a value, as every job is read: one reader is enough.
    serde_json::from_value(starting_value(voice)?.clone()).ok()
}

/// The job file to start from, read once: every job that is read has it beside it.
pub(super) fn starting_value(voice: Voice) -> Option<&'static Value> {
    static VALUES: [OnceLock<Option<Value>>; 2] = [const { OnceLock::new() }; 2];
    let kept = match voice {
        Voice::Alto => &VALUES[0],
        Voice::Tenor => &VALUES[1],
        Voice::Soprano | Voice::Baritone => return None,
    };
    kept.get_or_init(|| serde_json::from_str(starting_text(voice)?).ok()).as_ref()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::parameters::ValuesAre;

    #[test]
    fn alto_and_tenor_have_starting_values_marked_as_such() {
        for voice in [Voice::Alto, Voice::Tenor] {
            let job = starting_job(voice);
            assert_eq!(
                job.as_ref().map(|job| (job.horn_voice, job.values_are)),
                Some((voice, ValuesAre::StartingValues))
            );
            assert!(job.is_some_and(|job| job.order.note.contains("invented")));
        }
    }

    #[test]
    fn other_voices_have_none() {
        assert_eq!(starting_job(Voice::Soprano), None);
        assert_eq!(starting_job(Voice::Baritone), None);
    }
}
