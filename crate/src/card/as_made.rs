//! As made: what was measured on the finished neck, how far it is from the job, what that does to the clearances, and the record
//! that is kept with the job, so that the neck can be made again.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::checks::ClearanceList;
use crate::job::{Violation, read_by_schema};
use crate::model::Model;

use super::card_file::CardFile;
use super::masses::masses;
use super::means::{Means, SCALE, means};
use super::numbers::Number;
use super::tight_rows::{TightRow, tight_rows};

/// Name and version of a record.
pub const FORMAT: &str = "neckwright-record/1";

/// What was measured on the finished neck. Every field may be left out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
#[schemars(title = "Neck as made")]
pub struct MadeFile {
    /// Kind and version of this file.
    pub format: MadeFormat,
    /// When it was made, in the maker's own words.
    #[schemars(length(max = 40))]
    pub date: String,
    /// What was measured, by the path of the job's field.
    #[schemars(length(min = 0, max = 300))]
    pub measured: Vec<Measured>,
    /// Outside diameter of the tenon as it was fitted.
    #[schemars(range(min = 10.0, max = 50.0))]
    pub tenon_as_fitted_mm: Option<f64>,
    /// What the finished neck weighs, in grams.
    #[schemars(range(min = 5.0, max = 2000.0))]
    pub mass_g: Option<f64>,
    /// How it plays.
    #[schemars(length(max = 8000))]
    pub play_test: String,
    /// What to change next time.
    #[schemars(length(max = 8000))]
    pub next_time: String,
}

/// Kind and version of what was measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum MadeFormat {
    /// The first version.
    #[default]
    #[serde(rename = "neckwright-made/1")]
    NeckwrightMade1,
}

/// A measured field of the job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Path of the field, as in `vent.station_mm`.
    #[schemars(length(max = 120))]
    pub path: String,
    /// What was measured, in the unit of the field.
    #[schemars(range(min = -1000.0, max = 1000.0))]
    pub measured: f64,
}

/// A measured value beside what the job asks for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Difference {
    pub path: String,
    pub asked: Number,
    pub measured: Number,
    /// Measured less asked.
    pub difference: Number,
}

/// A neck as made, with all it takes to make it again.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct NeckRecord {
    pub format: &'static str,
    /// The job as it was worked from, to be built from again.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "unknown"))]
    pub job: Value,
    /// The card file it was worked with.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "unknown"))]
    pub card: CardFile,
    #[cfg_attr(target_arch = "wasm32", tsify(type = "unknown"))]
    pub made: MadeFile,
    pub differences: Vec<Difference>,
    /// Whether the neck could be built as measured, and its clearances measured again.
    pub rechecked: bool,
    /// Why not.
    pub not_rechecked: Vec<String>,
    /// Rows that fail by the job, and as made; not known where it was not checked again.
    pub failed_by_job: Number,
    pub failed_as_made: Number,
    /// What fails as made, and what is nearest to it.
    pub tight_rows: Vec<TightRow>,
}

/// What a record is made from again.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub job: String,
    pub card: String,
    pub made: String,
}

/// Groups of a job in which nothing is a size of the neck or of the horn.
const NOT_MEASURED: [&str; 2] = ["limits.", "placing."];

/// The job, card file and measured values of a text that is a record; none of any other text.
#[must_use]
pub fn kept(text: &str) -> Option<Kept> {
    let value: Value = serde_json::from_str(text).ok()?;
    if value.get("format")?.as_str()? != FORMAT {
        return None;
    }
    let part = |name: &str| value.get(name).map(ToString::to_string);
    Some(Kept { job: part("job")?, card: part("card")?, made: part("made")? })
}

impl MadeFile {
    /// Reads what was measured: what could be made of it, and everything wrong with it.
    #[must_use]
    pub fn read(text: &str) -> (Option<Self>, Vec<Violation>) {
        let usual = serde_json::to_value(Self::default()).unwrap_or_default();
        read_by_schema(text, "What was measured is one group of fields in braces.", &usual)
    }

    /// Every measured field, the tenon as fitted among them.
    fn fields(&self) -> Vec<(String, f64)> {
        let tenon = self.tenon_as_fitted_mm.map(|mm| ("tenon.outer_diameter_mm".to_string(), mm));
        self.measured.iter().map(|row| (row.path.clone(), row.measured)).chain(tenon).collect()
    }
}

/// A number of a job by its path, to be read or written.
fn field<'a>(job: &'a mut Value, path: &str) -> Option<&'a mut Value> {
    let mut place = job;
    for name in path.split('.') {
        let (name, rows) =
            name.split_once('[').map_or((name, None), |(name, rest)| (name, Some(rest)));
        place = place.get_mut(name)?;
        for row in rows.into_iter().flat_map(|rows| rows.split('[')) {
            let index: usize = row.strip_suffix(']')?.parse().ok()?;
            place = place.get_mut(index)?;
        }
    }
    place.is_number().then_some(place)
}

/// Unit of a field, as its name says.
fn unit(path: &str) -> &'static str {
    match path.rsplit('_').next() {
        Some("deg") => "°",
        Some("gauge") => "gauge",
        Some("n") => "N",
        Some("c") => "°C",
        _ => "mm",
    }
}

/// The record of a neck: its job, what was measured, and the clearances of the neck as it is.
///
/// # Errors
///
/// Every path of no number of the job.
pub fn record(
    model: &Model,
    card: &CardFile,
    made: &MadeFile,
    list: &ClearanceList,
) -> Result<NeckRecord, Vec<Violation>> {
    let job = serde_json::to_value(&model.job).unwrap_or_default();
    let mut as_made = job.clone();
    let (mut differences, mut wrong) = (Vec::new(), Vec::new());
    let fields = made.fields();
    for (index, (path, measured)) in fields.iter().enumerate() {
        let (path, measured) = (path.clone(), *measured);
        if fields.iter().take(index).any(|(before, _)| *before == path) {
            wrong.push(Violation::error(
                path,
                measured,
                "each path once (the tenon as fitted is tenon.outer_diameter_mm)",
                "Which of the two was measured cannot be told.",
            ));
            continue;
        }
        if NOT_MEASURED.iter().any(|group| path.starts_with(group)) {
            wrong.push(Violation::error(
                path,
                measured,
                "a size of the neck or of the horn",
                "Limits are asked for, not measured: other ones would clear what does not clear.",
            ));
            continue;
        }
        let Some(place) = field(&mut as_made, &path) else {
            wrong.push(Violation::error(
                path,
                measured,
                "the path of a number of the job, as in vent.station_mm",
                "There is no such number in this job.",
            ));
            continue;
        };
        let asked = place.as_f64().unwrap_or_default();
        *place = Value::from(measured);
        differences.push(difference(&path, unit(&path), asked, measured, means(&path)));
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    if let (Some(mass), Some(asked)) = (made.mass_g, masses(model).whole.value) {
        differences.push(difference("mass", "g", asked, mass, SCALE));
    }
    let failed_by_job =
        Number::exact(list.all_failed() as f64, "rows", "Clearance list of the job");
    let again = Model::build(&as_made.to_string(), Some(model));
    let (rechecked, not_rechecked, failed_as_made, tight) = match again {
        Ok(again) => {
            let list = again.clearances();
            let failed = list.all_failed() as f64;
            let failed = Number::exact(failed, "rows", "Clearance list of the neck as measured");
            (true, Vec::new(), failed, tight_rows(&list))
        }
        Err(violations) => {
            let why: Vec<String> = violations.iter().map(ToString::to_string).collect();
            let none = Number::not_known(
                "rows",
                "a neck of the measured values breaks rules of the job, see not_rechecked",
                "Clearance list of the neck as measured",
            );
            (false, why, none, Vec::new())
        }
    };
    Ok(NeckRecord {
        format: FORMAT,
        job,
        card: card.clone(),
        made: made.clone(),
        differences,
        rechecked,
        not_rechecked,
        failed_by_job,
        failed_as_made,
        tight_rows: tight,
    })
}

fn difference(path: &str, unit: &'static str, asked: f64, measured: f64, by: Means) -> Difference {
    let said = |what: &str| format!("{what}; {}", by.source);
    Difference {
        path: path.to_string(),
        asked: Number::exact(asked, unit, "The job"),
        measured: Number::within(
            measured,
            by.off,
            unit,
            said("Measured on the finished neck, by the made file"),
        ),
        difference: Number::within(measured - asked, by.off, unit, said("Measured less asked")),
    }
}

impl NeckRecord {
    /// The text of `record.json`.
    ///
    /// # Errors
    ///
    /// None in practice: the writer fails only on what this structure cannot hold.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_text};

    fn made(text: &str) -> Result<NeckRecord, Vec<Violation>> {
        let model = Model::build(starting_text(Voice::Alto).unwrap(), None).unwrap();
        let (made, wrong) = MadeFile::read(text);
        assert!(wrong.is_empty(), "{wrong:?}");
        record(&model, &CardFile::default(), &made.unwrap(), &model.clearances())
    }

    /// A guide that slid 2 mm towards the brace's end, and a bend that was met a degree short: the clearances are measured again.
    #[test]
    fn what_was_measured_is_put_beside_the_job_and_checked_again() {
        let found = made(
            r#"{"measured": [{"path": "centreline.pieces[2].bend_deg", "measured": 74.5}], "tenon_as_fitted_mm": 24.52, "mass_g": 110}"#,
        )
        .unwrap();
        let off: Vec<f64> =
            found.differences.iter().filter_map(|row| row.difference.value).collect();
        assert!((off[0] + 0.5).abs() < 1e-9 && (off[1] - 0.02).abs() < 1e-9, "{off:?}");
        assert_eq!(found.differences[0].asked.unit, "°");
        assert_eq!(found.differences[2].path, "mass");
        assert!(found.rechecked && !found.tight_rows.is_empty());
        let kept = kept(&found.to_json().unwrap()).unwrap();
        assert_eq!(
            Model::build(&kept.job, None).unwrap().job,
            Model::build(starting_text(Voice::Alto).unwrap(), None).unwrap().job
        );
    }

    #[test]
    fn a_tenon_that_came_out_tight_fails_its_fit_and_an_impossible_neck_says_why() {
        let tight = made(r#"{"tenon_as_fitted_mm": 24.529}"#).unwrap();
        assert!(tight.failed_as_made.value > tight.failed_by_job.value);
        let never =
            made(r#"{"measured": [{"path": "brace.to_station_mm", "measured": 30}]}"#).unwrap();
        assert!(!never.rechecked && !never.not_rechecked.is_empty());
        assert_eq!(never.failed_as_made.value, None);
        let wrong = made(
            r#"{"measured": [{"path": "nowhere", "measured": 1}, {"path": "centreline.pieces[9].bend_deg", "measured": 1}, {"path": "tube.metal", "measured": 1}]}"#,
        );
        assert_eq!(wrong.unwrap_err().len(), 3);
        // Twice the same, and a limit, which nobody measures.
        let wrong = made(
            r#"{"measured": [{"path": "tenon.outer_diameter_mm", "measured": 24.5}, {"path": "limits.least_clearance_mm", "measured": 0.02}], "tenon_as_fitted_mm": 24.52}"#,
        );
        assert_eq!(wrong.unwrap_err().len(), 2);
        assert_eq!(kept("{}"), None);
    }
}
