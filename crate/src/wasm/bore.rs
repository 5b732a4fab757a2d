//! What a bore does beside another: two jobs and a horn go in, a comparison comes out.

use serde::{Deserialize, Serialize};
use wasm_bindgen::prelude::*;

use crate::acoustics::aim::{Makeable, Wanted, aim};
use crate::acoustics::comparison::{Contender, compare};
use crate::acoustics::horn::{Horn, HornFile};
use crate::acoustics::profile::{Bump, Profile};
use crate::job::{Violation, schema_of};

use super::handing_over::{from_json, job_text, listed, to_js};

/// Types of this boundary that are not results of the core.
#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** A JSON Schema, draft 2020-12. */
export type JsonSchema = Record<string, unknown>;

/** What became of something passed in: taken, or every reason why not (what stood before is kept). */
export type BoreTaken = { ok: true } | { ok: false; violations: Violation[] };

/** A comparison, or every reason why there is none. */
export type BoreCompared = { ok: true; comparison: Comparison } | { ok: false; violations: Violation[] };

/** What came of an aim, or every reason why none was sought. */
export type BoreAimed = { ok: true; aimed: Aimed } | { ok: false; violations: Violation[] };

/** A bore as a table, or every reason why the text is none. */
export type BoreProfile =
    | { ok: true; profile: Profile; bumps: Bump[] }
    | { ok: false; violations: Violation[] };

/** A note by its written name, and by how many cents it is to move. */
export interface WantedShift { written: string; cents: number }
"#;

/// Two necks on one horn. Holds the last jobs and the last horn that could be used.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Bores {
    file: Option<HornFile>,
    necks: [Option<Contender>; 2],
    /// The horn made ready for the first neck; made anew when either changes.
    horn: Option<Horn>,
}

#[wasm_bindgen]
impl Bores {
    /// No necks yet, and a plain cone for the body of the horn.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes a horn file (text or object); undefined for the cone that stands in.
    #[wasm_bindgen(js_name = setHorn, unchecked_return_type = "BoreTaken")]
    pub fn set_horn(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "object | string | undefined")] horn: JsValue,
    ) -> Result<JsValue, JsError> {
        let read = if horn.is_undefined() {
            Ok(None)
        } else {
            job_text(&horn).and_then(|text| HornFile::read(&text)).map(Some)
        };
        taken(read.map(|file| {
            self.file = file;
            self.horn = None;
        }))
    }

    /// Takes the job of the first neck (0), for which the horn is made ready, or of the second (1).
    #[wasm_bindgen(js_name = setNeck, unchecked_return_type = "BoreTaken")]
    pub fn set_neck(
        &mut self,
        which: usize,
        name: &str,
        #[wasm_bindgen(unchecked_param_type = "object | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        taken(
            job_text(&job)
                .and_then(|text| Contender::read(name, &text))
                .map(|neck| self.put(which, neck)),
        )
    }

    /// Gives a neck another bore, from CSV of station and diameter; all else of its job stays.
    #[wasm_bindgen(js_name = setProfile, unchecked_return_type = "BoreTaken")]
    pub fn set_profile(&mut self, which: usize, csv: &str) -> Result<JsValue, JsError> {
        let neck = self.neck(which)?;
        let changed = bore_of(neck, csv)
            .map(|profile| Contender { bore: neck.bore.with_bore(profile.bore()), ..neck.clone() });
        taken(changed.map(|neck| self.put(which, neck)))
    }

    /// The bore of a neck as CSV, a row every so many millimetres, ends included.
    #[wasm_bindgen(js_name = profileCsv)]
    pub fn profile_csv(&self, which: usize, every_mm: f64) -> Result<String, JsError> {
        let neck = self.neck(which)?;
        let every = if every_mm.is_finite() { every_mm.max(1.0) } else { 10.0 };
        let length = neck.bore.length_mm();
        Ok(Profile::of(&neck.name, &neck.bore.neck.bore, length, every).to_csv())
    }

    /// The rows of a bore as CSV has them, with its bumps beyond the limit. Rows that are no bore of this neck are refused;
    /// nothing is changed either way.
    #[wasm_bindgen(js_name = readProfile, unchecked_return_type = "BoreProfile")]
    pub fn read_profile(&self, which: usize, csv: &str, limit_mm: f64) -> Result<JsValue, JsError> {
        match bore_of(self.neck(which)?, csv) {
            Err(violations) => to_js(&Refused { ok: false, violations }),
            Ok(profile) => {
                let bumps = profile.bumps(limit_mm);
                listed(&Faired { ok: true, profile, bumps })
            }
        }
    }

    /// A bore read from CSV and faired: the nearest that never narrows and has no bump beyond the limit. Rows that are no bore
    /// of this neck are refused, and nothing is changed.
    #[wasm_bindgen(unchecked_return_type = "BoreProfile")]
    pub fn fair(&self, which: usize, csv: &str, limit_mm: f64) -> Result<JsValue, JsError> {
        let neck = self.neck(which)?;
        match bore_of(neck, csv) {
            Err(violations) => to_js(&Refused { ok: false, violations }),
            Ok(profile) => {
                let bumps = profile.bumps(limit_mm);
                let profile = profile.faired(limit_mm).unwrap_or(profile);
                listed(&Faired { ok: true, profile, bumps })
            }
        }
    }

    /// Compares the second neck with the first.
    #[wasm_bindgen(unchecked_return_type = "BoreCompared")]
    pub fn compare(&mut self) -> Result<JsValue, JsError> {
        if let Err(violations) = self.ready()? {
            return to_js(&Refused { ok: false, violations });
        }
        let (a, b, horn) = (self.neck(0)?, self.neck(1)?, self.horn()?);
        match compare(a, b, horn) {
            Ok(comparison) => listed(&Compared { ok: true, comparison }),
            Err(violations) => to_js(&Refused { ok: false, violations }),
        }
    }

    /// Size of the impedance at the reed, Pa·s/m³, of a note on a neck at so many frequencies from one to another.
    pub fn impedance(
        &mut self,
        which: usize,
        written: &str,
        from_hz: f64,
        to_hz: f64,
        count: usize,
    ) -> Result<Vec<f64>, JsError> {
        if self.ready()?.is_err() {
            return Err(JsError::new("the horn cannot be made ready for this neck"));
        }
        let (neck, horn) = (self.neck(which)?, self.horn()?);
        let fingering = horn
            .fingerings
            .iter()
            .find(|fingering| fingering.note.name == written)
            .ok_or_else(|| JsError::new("the horn does not ask about this note"))?;
        if !(from_hz >= 1.0 && to_hz > from_hz && to_hz <= 20_000.0 && count <= 100_000) {
            return Err(JsError::new("frequencies from 1 to 20000 Hz, rising"));
        }
        let step = (to_hz - from_hz) / count.saturating_sub(1).max(1) as f64;
        let frequencies: Vec<f64> = (0..count).map(|k| from_hz + step * k as f64).collect();
        let fingered =
            crate::acoustics::comparison::on(horn, &neck.bore, fingering, fingering.vent_open);
        Ok(fingered.spectrum(&frequencies).iter().map(|z| z.norm_sqr().sqrt()).collect())
    }

    /// Seeks the smallest smooth change of the first neck's bore that moves notes by some cents.
    #[wasm_bindgen(unchecked_return_type = "BoreAimed")]
    pub fn aim(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "WantedShift[]")] wanted: JsValue,
    ) -> Result<JsValue, JsError> {
        if let Err(violations) = self.ready()? {
            return to_js(&Refused { ok: false, violations });
        }
        let wanted: Vec<Shift> = serde_wasm_bindgen::from_value(wanted)?;
        let wanted: Vec<Wanted> = wanted
            .into_iter()
            .map(|shift| Wanted { written: shift.written, cents: shift.cents })
            .collect();
        match aim(self.neck(0)?, self.horn()?, &wanted, &Makeable::default()) {
            Ok(aimed) => listed(&AimedOut { ok: true, aimed }),
            Err(violations) => to_js(&Refused { ok: false, violations }),
        }
    }
}

impl Bores {
    fn put(&mut self, which: usize, neck: Contender) {
        if which == 0 {
            self.horn = None;
        }
        if let Some(place) = self.necks.get_mut(which) {
            *place = Some(neck);
        }
    }

    fn neck(&self, which: usize) -> Result<&Contender, JsError> {
        self.necks
            .get(which)
            .and_then(Option::as_ref)
            .ok_or_else(|| JsError::new("this neck has not been set"))
    }

    fn horn(&self) -> Result<&Horn, JsError> {
        self.horn.as_ref().ok_or_else(|| JsError::new("the horn has not been made ready"))
    }

    /// Makes the horn ready for the first neck, if it is not.
    fn ready(&mut self) -> Result<Result<(), Vec<Violation>>, JsError> {
        if self.horn.is_none() {
            let neck = self.neck(0)?;
            let plain = HornFile::stand_in("");
            let file = self.file.as_ref().unwrap_or(&plain);
            match file.ready(neck.job.horn_voice, &neck.bore) {
                Ok(horn) => self.horn = Some(horn),
                Err(violations) => return Ok(Err(violations)),
            }
        }
        Ok(Ok(()))
    }
}

/// The bore that CSV makes of a neck, or every row that keeps it from being one.
fn bore_of(neck: &Contender, csv: &str) -> Result<Profile, Vec<Violation>> {
    let profile = Profile::from_csv(&neck.name, csv)?;
    let violations = profile.violations(neck.bore.length_mm());
    if violations.is_empty() { Ok(profile) } else { Err(violations) }
}

/// The JSON Schema of a horn file.
#[wasm_bindgen(js_name = hornSchema, unchecked_return_type = "JsonSchema")]
pub fn horn_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<HornFile>().to_string())
}

#[derive(Deserialize)]
struct Shift {
    written: String,
    cents: f64,
}

#[derive(Serialize)]
struct Refused {
    ok: bool,
    violations: Vec<Violation>,
}

#[derive(Serialize)]
struct Compared {
    ok: bool,
    comparison: crate::acoustics::comparison::Comparison,
}

#[derive(Serialize)]
struct AimedOut {
    ok: bool,
    aimed: crate::acoustics::aim::Aimed,
}

#[derive(Serialize)]
struct Faired {
    ok: bool,
    profile: Profile,
    bumps: Vec<Bump>,
}

#[derive(Serialize)]
struct Taken {
    ok: bool,
}

fn taken(result: Result<(), Vec<Violation>>) -> Result<JsValue, JsError> {
    match result {
        Ok(()) => to_js(&Taken { ok: true }),
        Err(violations) => to_js(&Refused { ok: false, violations }),
    }
}
