//! Jobs to start from: the values of a usual neck, to be replaced by measurements of the horn.

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
    let value = serde_json::from_str::<serde_json::Value>(starting_text(voice)?).ok()?;
    serde_json::from_value(value).ok()
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
