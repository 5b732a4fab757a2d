//! What a bore does beside another: two jobs and a horn go in, a comparison comes out.

use serde::Serialize;
use wasm_bindgen::prelude::*;

use crate::acoustics::aim::{Aim, Makeable, aim_of_text};
use crate::acoustics::comparison::{Looked, compare_looked, follow, on};
use crate::acoustics::contender::Contender;
use crate::acoustics::horn::HornFile;
use crate::acoustics::profile::{Bump, Profile};
use crate::acoustics::rows::Rows;
use crate::job::{Violation, schema_of};

use super::handing_over::{from_json, job_text, listed, refused, to_js};

/// Types of this boundary that are not results of the core.
#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** What became of something passed in: taken, or every reason why not (what stood before is kept). */
export type BoreTaken = { ok: true } | { ok: false; violations: Violation[] };

/** A comparison, or every reason why there is none. */
export type BoreCompared = { ok: true; comparison: Comparison } | { ok: false; violations: Violation[] };

/** What came of an aim, or every reason why none was sought. */
export type BoreAimed = { ok: true; aimed: Aimed } | { ok: false; violations: Violation[] };

/** A bore as a table, with the rules of the job that it breaks besides, or every reason why the text is none. */
export type BoreProfile =
    | { ok: true; profile: Profile; bumps: Bump[]; broken: Violation[] }
    | { ok: false; violations: Violation[] };

/** What the shifts come to while a bore is being changed, or every reason why not. */
export type BoreFollowed = { ok: true; followed: Followed } | { ok: false; violations: Violation[] };

/** A bore as CSV, or why there is none. */
export type BoreCsv = { ok: true; csv: string } | { ok: false; violations: Violation[] };

/** Size of the impedance at the reed at each frequency, Pa·s/m³, or every reason why not. */
export type BoreCurve = { ok: true; pa_s_m3: Float64Array } | { ok: false; violations: Violation[] };

/** Notes that should move and by how many cents, and what can be made (a limit that is left out has its usual value). */
export interface AimAsked { wanted: WantedShift[]; limits?: Partial<Makeable> }
"#;

/// Two necks on one horn. Holds the last jobs and the last horn that could be used.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Bores {
    file: Option<HornFile>,
    necks: [Option<Contender>; 2],
    /// The first neck looked at on the horn made ready for it; looked at anew when either changes.
    looked: Option<Looked>,
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
            self.looked = None;
        }))
    }

    /// Takes the job of the first neck (0), for which the horn is made ready, or of the second (1).
    #[wasm_bindgen(js_name = setNeck, unchecked_return_type = "BoreTaken")]
    pub fn set_neck(
        &mut self,
        which: f64,
        name: &str,
        #[wasm_bindgen(unchecked_param_type = "object | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        let read = job_text(&job).and_then(|text| Contender::read(name, &text));
        taken(both(place(which), read).map(|(which, neck)| self.put(which, neck)))
    }

    /// Gives a neck another bore, from CSV of station and diameter; all else of its job stays, and its rules are asked anew: the
    /// vent must still have its room, and so on.
    #[wasm_bindgen(js_name = setProfile, unchecked_return_type = "BoreTaken")]
    pub fn set_profile(&mut self, which: f64, csv: &str) -> Result<JsValue, JsError> {
        let changed = self
            .at(which)
            .and_then(|(which, neck)| Ok((which, neck.with_rows(&Rows::from_csv(csv))?)));
        taken(changed.map(|(which, neck)| self.put(which, neck)))
    }

    /// The bore of a neck as CSV, a row every so many millimetres, ends included.
    #[wasm_bindgen(js_name = profileCsv, unchecked_return_type = "BoreCsv")]
    pub fn profile_csv(&self, which: f64, every_mm: f64) -> Result<JsValue, JsError> {
        answer(both(self.at(which), steps(every_mm)).map(|((_, neck), every)| {
            let length = neck.bore.length_mm();
            let csv = Profile::of(&neck.name, &neck.bore.neck.bore, length, every).to_csv();
            Csv { ok: true, csv }
        }))
    }

    /// The rows of a bore as CSV has them, with its bumps beyond the limit. Rows that are no bore of this neck are refused;
    /// nothing is changed either way.
    #[wasm_bindgen(js_name = readProfile, unchecked_return_type = "BoreProfile")]
    pub fn read_profile(&self, which: f64, csv: &str, limit_mm: f64) -> Result<JsValue, JsError> {
        answer(self.rows(which, csv, limit_mm).map(|(profile, broken)| {
            let bumps = profile.bumps(limit_mm);
            Faired { ok: true, profile, bumps, broken }
        }))
    }

    /// A bore read from CSV and faired: the nearest that never narrows and has no bump beyond the limit. Rows that are no bore
    /// of this neck are refused, and nothing is changed.
    #[wasm_bindgen(unchecked_return_type = "BoreProfile")]
    pub fn fair(&self, which: f64, csv: &str, limit_mm: f64) -> Result<JsValue, JsError> {
        answer(self.rows(which, csv, limit_mm).and_then(|(profile, _)| {
            let bumps = profile.bumps(limit_mm);
            let profile = profile.faired(limit_mm).ok_or_else(|| {
                wrong(
                    "limit_mm",
                    limit_mm,
                    "another height of bumps",
                    "No bore near these rows was found that never narrows and has no bump beyond it.",
                )
            })?;
            let (_, neck) = self.at(which)?;
            let broken = neck.with_rows(&Rows::of(&profile))?.broken;
            Ok(Faired { ok: true, profile, bumps, broken })
        }))
    }

    /// Compares the second neck with the first, both on the horn and mouthpiece of the first's job.
    #[wasm_bindgen(unchecked_return_type = "BoreCompared")]
    pub fn compare(&mut self) -> Result<JsValue, JsError> {
        answer(self.ready().and_then(|(looked, second)| {
            let comparison = compare_looked(looked, second)?;
            Ok(Compared { ok: true, comparison })
        }))
    }

    /// The shifts alone, quickly, while the second neck's bore is being changed: they are those of `compare`.
    #[wasm_bindgen(unchecked_return_type = "BoreFollowed")]
    pub fn follow(&mut self) -> Result<JsValue, JsError> {
        answer(self.ready().and_then(|(looked, second)| {
            let followed = follow(looked, second)?;
            Ok(FollowedOut { ok: true, followed })
        }))
    }

    /// Size of the impedance at the reed of a note on a neck at so many frequencies from one to another.
    #[wasm_bindgen(unchecked_return_type = "BoreCurve")]
    pub fn impedance(
        &mut self,
        which: f64,
        written: &str,
        from_hz: f64,
        to_hz: f64,
        count: f64,
    ) -> Result<JsValue, JsError> {
        let frequencies = both(place(which), frequencies(from_hz, to_hz, count));
        let curve = both(frequencies, self.ready()).and_then(|((which, frequencies), laid)| {
            let (looked, second) = laid;
            let horn = &looked.horn;
            let beside;
            let neck = if which == 0 {
                &looked.neck
            } else {
                beside = second.beside(&looked.neck);
                &beside
            };
            let fingering = horn.fingerings.iter().find(|one| one.note.name == written);
            let fingering = fingering.ok_or_else(|| {
                let notes: Vec<&str> =
                    horn.fingerings.iter().map(|one| one.note.name.as_str()).collect();
                wrong(
                    "written",
                    written,
                    notes.join(", "),
                    "The horn does not ask about this note.",
                )
            })?;
            let fingered = on(horn, &neck.bore, fingering, fingering.vent_open);
            let sizes = fingered.spectrum(&frequencies);
            Ok(sizes.iter().map(|z| z.norm_sqr().sqrt()).collect::<Vec<f64>>())
        });
        match curve {
            Ok(sizes) => {
                let answer = to_js(&Taken { ok: true })?;
                let sizes = js_sys::Float64Array::from(sizes.as_slice());
                js_sys::Reflect::set(&answer, &"pa_s_m3".into(), &sizes)
                    .map_err(|_| JsError::new("a result could not be handed over"))?;
                Ok(answer)
            }
            Err(violations) => refused(violations),
        }
    }

    /// Seeks the smallest smooth change of the first neck's bore that moves notes by some cents.
    #[wasm_bindgen(unchecked_return_type = "BoreAimed")]
    pub fn aim(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "AimAsked | string")] asked: JsValue,
    ) -> Result<JsValue, JsError> {
        let text = job_text(&asked);
        // What is wrong with the aim by itself is told though there is no neck yet.
        let found = match (text, self.ready_first()) {
            (Ok(text), Ok(looked)) => aim_of_text(&looked.neck, &looked.horn, &text),
            (Ok(text), Err(mut found)) => {
                found.extend(Aim::faults(&text));
                Err(found)
            }
            (Err(found), _) => Err(found),
        };
        let found = found.map(|aimed| AimedOut { ok: true, aimed });
        answer(found)
    }
}

impl Bores {
    fn put(&mut self, which: usize, neck: Contender) {
        if which == 0 {
            self.looked = None;
        }
        if let Some(place) = self.necks.get_mut(which) {
            *place = Some(neck);
        }
    }

    /// A neck that was set.
    fn at(&self, which: f64) -> Result<(usize, &Contender), Vec<Violation>> {
        let which = place(which)?;
        let neck = self.necks.get(which).and_then(Option::as_ref);
        Ok((which, neck.ok_or_else(|| not_set(which))?))
    }

    /// The rows that a text makes the bore of a neck, and the rules of its job that they break besides.
    fn rows(
        &self,
        which: f64,
        csv: &str,
        limit_mm: f64,
    ) -> Result<(Profile, Vec<Violation>), Vec<Violation>> {
        let limit = (limit_mm.is_finite() && limit_mm >= 0.0).then_some(()).ok_or_else(|| {
            wrong(
                "limit_mm",
                limit_mm,
                "0 or more",
                "A bump is told by its height, in millimetres.",
            )
        });
        let ((_, neck), ()) = both(self.at(which), limit)?;
        let rows = Rows::from_csv(csv);
        let changed = neck.with_rows(&rows)?;
        let profile = rows.laid(&neck.name).ok_or_else(Vec::new)?;
        Ok((profile, changed.broken))
    }

    /// The first neck on the horn, made ready and looked at if it is not.
    fn ready_first(&mut self) -> Result<&Looked, Vec<Violation>> {
        let (_, neck) = self.at(0.0)?;
        if self.looked.is_none() {
            let plain = HornFile::stand_in("");
            let file = self.file.as_ref().unwrap_or(&plain);
            let horn = file.ready(neck.job.horn_voice, &neck.bore)?;
            self.looked = Some(Looked::at(neck, &horn));
        }
        self.looked.as_ref().ok_or_else(|| not_set(0))
    }

    /// The first neck looked at, and the second.
    fn ready(&mut self) -> Result<(&Looked, &Contender), Vec<Violation>> {
        both(self.at(0.0).map(|_| ()), self.at(1.0).map(|_| ()))?;
        self.ready_first()?;
        match (&self.looked, &self.necks) {
            (Some(looked), [_, Some(second)]) => Ok((looked, second)),
            _ => Err(not_set(1)),
        }
    }
}

/// Two things that are both wanted, or all that is wrong with either.
fn both<A, B>(
    a: Result<A, Vec<Violation>>,
    b: Result<B, Vec<Violation>>,
) -> Result<(A, B), Vec<Violation>> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (a, b) => {
            let mut found = a.err().unwrap_or_default();
            found.extend(b.err().unwrap_or_default());
            Err(found)
        }
    }
}

fn wrong(
    path: &str,
    value: impl Into<serde_json::Value>,
    allowed: impl Into<String>,
    why: &str,
) -> Vec<Violation> {
    vec![Violation::error(path, value, allowed, why)]
}

/// Which of the two necks is meant.
fn place(which: f64) -> Result<usize, Vec<Violation>> {
    match which {
        0.0 => Ok(0),
        1.0 => Ok(1),
        other => Err(wrong(
            "which",
            other,
            "0 or 1",
            "There are two necks: the first is 0, the second 1.",
        )),
    }
}

fn not_set(which: usize) -> Vec<Violation> {
    let path = if which == 0 { "first" } else { "second" };
    wrong(path, serde_json::Value::Null, "the job of a neck", "This neck has not been set.")
}

/// Steps of a table, mm.
fn steps(every_mm: f64) -> Result<f64, Vec<Violation>> {
    (1.0..=1000.0).contains(&every_mm).then_some(every_mm).ok_or_else(|| {
        wrong("every_mm", every_mm, "1 to 1000", "Rows stand so many millimetres from each other.")
    })
}

/// Even steps of frequency.
fn frequencies(from_hz: f64, to_hz: f64, count: f64) -> Result<Vec<f64>, Vec<Violation>> {
    let mut found = Vec::new();
    let mut hold = |right: bool, path: &str, value: f64, allowed: &str| {
        if !right {
            found.extend(wrong(path, value, allowed, "Frequencies rise from one to another."));
        }
    };
    hold((1.0..20_000.0).contains(&from_hz), "from_hz", from_hz, "1 to 20000");
    hold(to_hz > from_hz && to_hz <= 20_000.0, "to_hz", to_hz, "more than from_hz, up to 20000");
    hold((1.0..=100_000.0).contains(&count), "count", count, "1 to 100000");
    if !found.is_empty() {
        return Err(found);
    }
    let count = count as usize;
    let step = (to_hz - from_hz) / count.saturating_sub(1).max(1) as f64;
    Ok((0..count).map(|k| from_hz + step * k as f64).collect())
}

/// What can be made unless the maker says otherwise.
#[wasm_bindgen(js_name = usualLimits, unchecked_return_type = "Makeable")]
pub fn usual_limits() -> Result<JsValue, JsError> {
    to_js(&Makeable::default())
}

/// The JSON Schema of a horn file.
#[wasm_bindgen(js_name = hornSchema, unchecked_return_type = "JsonSchema")]
pub fn horn_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<HornFile>().to_string())
}

#[derive(Serialize)]
struct Compared {
    ok: bool,
    comparison: crate::acoustics::comparison::Comparison,
}

#[derive(Serialize)]
struct FollowedOut {
    ok: bool,
    followed: crate::acoustics::comparison::Followed,
}

#[derive(Serialize)]
struct Csv {
    ok: bool,
    csv: String,
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
    broken: Vec<Violation>,
}

#[derive(Serialize)]
struct Taken {
    ok: bool,
}

/// A list of what was found, or of all that is wrong.
fn answer(result: Result<impl Serialize, Vec<Violation>>) -> Result<JsValue, JsError> {
    match result {
        Ok(found) => listed(&found),
        Err(violations) => refused(violations),
    }
}

fn taken(result: Result<(), Vec<Violation>>) -> Result<JsValue, JsError> {
    match result {
        Ok(()) => to_js(&Taken { ok: true }),
        Err(violations) => refused(violations),
    }
}
