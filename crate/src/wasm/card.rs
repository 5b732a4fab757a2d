//! The job card: a job and a card file go in, the maker's numbers and their papers come out; and the neck as it was made.

use serde::Serialize;
use serde_json::Value;
use wasm_bindgen::prelude::*;

use crate::card::as_made::{MadeFile, NeckRecord, kept, record};
use crate::card::sheet::{card_pdf, card_svgs, measuring_sheet, workings};
use crate::card::{CardFile, JobCard};
use crate::checks::ClearanceList;
use crate::job::{Violation, schema_of};
use crate::model::Model;

use super::handing_over::{SetJob, from_json, job_text, listed, refused, to_js};

/// Types of this boundary that are not results of the core.
#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** The card of a job, or every reason why there is none. */
export type CardResult =
    | { ok: true; card: JobCard; warnings: Violation[] }
    | { ok: false; violations: Violation[] };

/** The record of a neck as made with the text of its file, or every reason why there is none. */
export type RecordResult =
    | { ok: true; record: NeckRecord; text: string; warnings: Violation[] }
    | { ok: false; violations: Violation[] };

/** The files of a card. */
export type CardFileName = "card.json" | "card.pdf" | "measuring_sheet.pdf" | "workings.pdf";

/** What a record keeps. */
export interface KeptRecord { job: unknown; card: unknown; made: unknown }
"#;

/// The card of one neck: holds the last job that could be built.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Cards {
    built: Option<Model>,
    /// Of the neck that is built; it takes longer than all that stands on the card.
    list: Option<ClearanceList>,
}

#[wasm_bindgen]
impl Cards {
    /// No neck yet.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads a job (text or object) and builds its neck. A job with violations changes nothing.
    #[wasm_bindgen(js_name = setJob, unchecked_return_type = "SetJobResult")]
    pub fn set_job(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "object | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        let result = SetJob::run(&mut self.built, &job);
        if matches!(result, SetJob::Built { .. }) {
            self.list = None;
        }
        to_js(&result)
    }

    /// Every number of the card, for a card file (text or object).
    #[wasm_bindgen(unchecked_return_type = "CardResult")]
    pub fn card(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "object | string")] card: JsValue,
    ) -> Result<JsValue, JsError> {
        match card_of(&card) {
            Err(violations) => refused(violations),
            Ok((file, warnings)) => {
                let (model, list) = self.standing()?;
                listed(&Worked { ok: true, card: JobCard::of(model, &file, list), warnings })
            }
        }
    }

    /// One of the card's files, the same bytes as by command.
    #[wasm_bindgen]
    pub fn file(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "CardFileName")] name: &str,
        #[wasm_bindgen(unchecked_param_type = "object | string")] card: JsValue,
    ) -> Result<Vec<u8>, JsError> {
        let file = sound_card(&card)?;
        let (model, list) = self.standing()?;
        let card = || JobCard::of(model, &file, list);
        match name {
            "card.json" => Ok(card().to_json()?.into_bytes()),
            "card.pdf" => Ok(card_pdf(model, &file, &card())?),
            "measuring_sheet.pdf" => Ok(measuring_sheet(model, &file)),
            "workings.pdf" => Ok(workings(&file, &card())),
            _ => Err(JsError::new(
                "the files are card.json, card.pdf, measuring_sheet.pdf and workings.pdf",
            )),
        }
    }

    /// The sheets of `card.pdf` as SVG, of their true size, to be shown and printed.
    #[wasm_bindgen]
    pub fn sheets(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "object | string")] card: JsValue,
    ) -> Result<Vec<String>, JsError> {
        let file = sound_card(&card)?;
        let (model, list) = self.standing()?;
        let sheets = card_svgs(model, &file, &JobCard::of(model, &file, list))?;
        Ok(sheets.into_iter().map(String::from_utf8).collect::<Result<_, _>>()?)
    }

    /// What was measured on the finished neck (text or object), put beside the job and checked again.
    #[wasm_bindgen(unchecked_return_type = "RecordResult")]
    pub fn record(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "object | string")] card: JsValue,
        #[wasm_bindgen(unchecked_param_type = "object | string")] made: JsValue,
    ) -> Result<JsValue, JsError> {
        let (read, measured) = (card_of(&card), made_of(&made));
        let (Ok((file, _)), Ok((measured, warnings))) = (&read, &measured) else {
            let wrong = [read.err(), measured.err()];
            return refused(wrong.into_iter().flatten().flatten().collect());
        };
        let (model, list) = self.standing()?;
        match record(model, file, measured, list) {
            Err(violations) => refused(violations),
            Ok(record) => {
                let text = record.to_json()?;
                listed(&Recorded { ok: true, record, text, warnings: warnings.clone() })
            }
        }
    }
}

impl Cards {
    fn standing(&mut self) -> Result<(&Model, &ClearanceList), JsError> {
        let model = self.built.as_ref().ok_or_else(|| JsError::new("no job has been set"))?;
        Ok((model, self.list.get_or_insert_with(|| model.report())))
    }
}

/// The JSON Schema of a card file.
#[wasm_bindgen(js_name = cardSchema, unchecked_return_type = "JsonSchema")]
pub fn card_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<CardFile>().to_string())
}

/// The JSON Schema of what is measured on a finished neck.
#[wasm_bindgen(js_name = madeSchema, unchecked_return_type = "JsonSchema")]
pub fn made_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<MadeFile>().to_string())
}

/// A card file with every starting value.
#[wasm_bindgen(js_name = usualCard, unchecked_return_type = "Record<string, unknown>")]
pub fn usual_card() -> Result<JsValue, JsError> {
    listed(&CardFile::default())
}

/// Job, card file and measured values of a text that is a record; undefined of any other.
#[wasm_bindgen(js_name = keptRecord, unchecked_return_type = "KeptRecord | undefined")]
pub fn kept_record(text: &str) -> Result<JsValue, JsError> {
    let Some(kept) = kept(text) else { return Ok(JsValue::UNDEFINED) };
    let [job, card, made]: [Value; 3] = [
        serde_json::from_str(&kept.job)?,
        serde_json::from_str(&kept.card)?,
        serde_json::from_str(&kept.made)?,
    ];
    listed(&serde_json::json!({ "job": job, "card": card, "made": made }))
}

/// What was read with what is to be known of it, or everything wrong with it.
type Read<T> = Result<(T, Vec<Violation>), Vec<Violation>>;

fn card_of(given: &JsValue) -> Read<CardFile> {
    sound(CardFile::read(&job_text(given)?))
}

/// A card file, or an error of everything wrong with it.
fn sound_card(given: &JsValue) -> Result<CardFile, JsError> {
    card_of(given).map(|(file, _)| file).map_err(|violations| {
        let why: Vec<String> = violations.iter().map(ToString::to_string).collect();
        JsError::new(&why.join("\n"))
    })
}

fn made_of(given: &JsValue) -> Read<MadeFile> {
    sound(MadeFile::read(&job_text(given)?))
}

fn sound<T>((read, violations): (Option<T>, Vec<Violation>)) -> Read<T> {
    match read {
        Some(read) if !violations.iter().any(Violation::is_error) => Ok((read, violations)),
        _ => Err(violations),
    }
}

#[derive(Serialize)]
struct Worked {
    ok: bool,
    card: JobCard,
    warnings: Vec<Violation>,
}

#[derive(Serialize)]
struct Recorded {
    ok: bool,
    record: NeckRecord,
    text: String,
    warnings: Vec<Violation>,
}
