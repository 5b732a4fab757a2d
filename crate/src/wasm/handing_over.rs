//! How jobs come over the boundary, and results go.

use serde::Serialize;
use wasm_bindgen::prelude::*;

use crate::job::Violation;
#[cfg(any(feature = "shop", not(feature = "bore")))]
use crate::model::Model;

#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** A JSON Schema, draft 2020-12. */
export type JsonSchema = Record<string, unknown>;
"#;

#[cfg(any(feature = "shop", not(feature = "bore")))]
#[wasm_bindgen(typescript_custom_section)]
const JOB_TYPES: &str = r#"
/** What became of a job: built, or every reason why not (the neck before it is kept). */
export type SetJobResult =
    | { ok: true; rebuilt: string[]; warnings: Violation[] }
    | { ok: false; violations: Violation[] };
"#;

/// What became of a job.
#[cfg(any(feature = "shop", not(feature = "bore")))]
#[derive(Serialize)]
#[serde(untagged)]
pub enum SetJob {
    Built { ok: bool, rebuilt: Vec<&'static str>, warnings: Vec<Violation> },
    Refused { ok: bool, violations: Vec<Violation> },
}

#[cfg(any(feature = "shop", not(feature = "bore")))]
impl SetJob {
    /// Builds the neck of a job (text or object) and keeps it, if it can be built.
    pub fn run(kept: &mut Option<Model>, job: &JsValue) -> Self {
        let built = job_text(job).and_then(|text| Model::build(&text, kept.as_ref()));
        Self::keep(kept, built)
    }

    /// Keeps a neck, if it could be built.
    pub fn keep(kept: &mut Option<Model>, built: Result<Model, Vec<Violation>>) -> Self {
        match built {
            Ok(model) => {
                let (rebuilt, warnings) = (model.rebuilt.clone(), model.warnings.clone());
                *kept = Some(model);
                Self::Built { ok: true, rebuilt, warnings }
            }
            Err(violations) => Self::Refused { ok: false, violations },
        }
    }
}

/// What was asked cannot be answered, and everything that is in the way.
#[cfg(any(feature = "shop", feature = "bore", feature = "card"))]
pub fn refused(violations: Vec<Violation>) -> Result<JsValue, JsError> {
    #[derive(Serialize)]
    struct Refused {
        ok: bool,
        violations: Vec<Violation>,
    }
    to_js(&Refused { ok: false, violations })
}

/// The text of a job passed as text or as an object.
pub fn job_text(job: &JsValue) -> Result<String, Vec<Violation>> {
    if let Some(text) = job.as_string() {
        return Ok(text);
    }
    let text = js_sys::JSON::stringify(job).ok().and_then(|text| text.as_string());
    text.ok_or_else(|| {
        vec![Violation::error(
            "",
            serde_json::Value::Null,
            "the text of a job file, or its object",
            "What was passed in cannot be written as JSON.",
        )]
    })
}

/// Long lists go over as text: one string is read by the engine many times faster than thousands
/// of objects are put together from outside.
pub fn listed(value: &impl Serialize) -> Result<JsValue, JsError> {
    from_json(&serde_json::to_string(value)?)
}

pub fn from_json(text: &str) -> Result<JsValue, JsError> {
    js_sys::JSON::parse(text).map_err(|_| JsError::new("a result could not be handed over"))
}

pub fn to_js(value: &impl Serialize) -> Result<JsValue, JsError> {
    Ok(value.serialize(&serde_wasm_bindgen::Serializer::json_compatible())?)
}
