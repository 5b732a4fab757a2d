//! The core of the page: a job goes in; violations or a neck, its meshes, clearances and files come out.

use glam::DVec3;
use serde::Serialize;
use tsify::Tsify;
use wasm_bindgen::prelude::*;

use crate::checks::{ClearanceList, Pair};
use crate::exports::clearance_report::clearances_json;
use crate::job::{self, Violation, Voice};
use crate::model::{Built, Files, Measuring, Model};
use crate::parts::unrolled;
use crate::solids::SolidError;
use crate::units::{deg_from_rad, rad_from_deg};

use super::handing_over::{SetJob, from_json, job_text, listed, to_js};

/// Farthest turn of the key that is looked at, either way, in degrees: no octave key goes so far.
const WIDEST_DEG: f64 = 90.0;

/// Types of this boundary that are not results of the core.
#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** Triangles of one part, in millimetres, in the frame of the neck. */
export interface Mesh {
    /** x, y, z of each point. */
    positions: Float32Array;
    /** Unit normal of the true surface at each point, out of the metal. */
    normals: Float32Array;
    /** Three points a triangle, counter-clockwise seen from outside. */
    indices: Uint32Array;
}

/** What became of a job that was begun: the rows still to be measured, or every reason why it cannot be built. */
export type BegunJob =
    | { ok: true; open: number[] }
    | { ok: false; violations: Violation[] };

/** What would become of a job that is only tried: rows that would fail, or every reason why it cannot be built. */
export type TriedJob =
    | { ok: true; failing: Pair[] }
    | { ok: false; violations: Violation[] };
"#;

/// What a view needs of one part. Volumes and masses take integrals over every face, so they stand
/// in the summary, for whoever asks.
#[derive(Debug, Serialize, Tsify)]
#[serde(rename_all = "camelCase")]
pub struct PartInfo {
    /// Short name that stands in files and lists.
    id: String,
    /// Workshop name.
    name: String,
    /// Designation of the metal; null for a keep-out.
    #[tsify(type = "string | null")]
    metal: Option<String>,
    /// Name of the metal; null for a keep-out.
    #[tsify(type = "string | null")]
    metal_name: Option<String>,
    /// `#rrggbb`, the colour of the metal, sRGB.
    colour: String,
    made_by: String,
    moves_with_key: bool,
    /// A room that must stay free, not a part.
    keepout: bool,
    /// Least and greatest corner, mm.
    bbox_mm: [[f64; 3]; 2],
}

impl PartInfo {
    fn of(built: &Built) -> Result<Self, SolidError> {
        let part = &built.part;
        let (low, high) = built.bounds()?;
        Ok(Self {
            id: part.id.to_string(),
            name: part.name.to_string(),
            metal: part.metal.map(|metal| metal.id().to_string()),
            metal_name: part.metal.map(|metal| metal.name().to_string()),
            colour: {
                let [r, g, b] = built.colour_srgb();
                format!("#{r:02x}{g:02x}{b:02x}")
            },
            made_by: part.made_by.to_string(),
            moves_with_key: part.moves_with_key,
            keepout: part.keepout,
            bbox_mm: [low.to_array(), high.to_array()],
        })
    }
}

/// A line that parts turn about, by the right hand.
#[derive(Debug, Serialize, Tsify)]
#[serde(rename_all = "camelCase")]
pub struct Axis {
    /// A point of it, mm.
    point_mm: [f64; 3],
    /// Unit vector.
    direction: [f64; 3],
}

/// The two axes of a neck.
#[derive(Debug, Serialize, Tsify)]
pub struct Axes {
    /// The hinge: a positive turn opens the key.
    key: Axis,
    /// The tenon: receiver, clamp and octave pin turn about it when the player turns the neck, by
    /// the angle that the rows of the turned neck give.
    horn: Axis,
}

/// One neck: holds the last job that could be built.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Neck {
    model: Option<Model>,
    /// The clearance list as it was told last.
    told: Option<ClearanceList>,
    /// A job that was begun and is not finished.
    begun: Option<Measuring>,
}

#[wasm_bindgen]
impl Neck {
    /// A bench without a neck.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads a job (text or object) and builds its neck. A job with violations changes nothing.
    #[wasm_bindgen(js_name = setJob, unchecked_return_type = "SetJobResult")]
    pub fn set_job(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "Job | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        self.begun = None;
        to_js(&SetJob::run(&mut self.model, &job))
    }

    /// Begins a job that another core helps to measure: builds its bodies, and tells how many rows of the list are still to be
    /// measured, by their place in it. The neck stays as it is until `finishJob`. Nothing is begun where there are violations.
    #[wasm_bindgen(js_name = beginJob, unchecked_return_type = "BegunJob")]
    pub fn begin_job(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "Job | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        self.begun = None;
        let begun = job_text(&job).and_then(|text| Measuring::begin(&text, self.model.as_ref()));
        to_js(&match begun {
            Ok(begun) => {
                let open = begun.open().collect();
                self.begun = Some(begun);
                BeginJob::Begun { ok: true, open }
            }
            Err(violations) => BeginJob::Refused { ok: false, violations },
        })
    }

    /// Measures the first open row of the job that was begun; how many are open then.
    #[wasm_bindgen(js_name = measureNext)]
    pub fn measure_next(&mut self) -> usize {
        let Some(begun) = &mut self.begun else { return 0 };
        let next = begun.open().next();
        if let Some(row) = next {
            begun.measure(row);
        }
        begun.open().count()
    }

    /// Takes over rows of the job that was begun, as a `Helper` measured them. That it was given the same job is for the caller to see
    /// to: only the form of the numbers is checked.
    #[wasm_bindgen(js_name = takeMeasured)]
    pub fn take_measured(&mut self, rows: &[f64]) -> Result<(), JsError> {
        let begun = self.begun.as_mut().ok_or_else(|| JsError::new("no job was begun"))?;
        if begun.take(rows) {
            Ok(())
        } else {
            Err(JsError::new("these are no rows of the job that was begun"))
        }
    }

    /// Finishes the job that was begun: measures what is still open and keeps the neck, which is the same as by `setJob`.
    #[wasm_bindgen(js_name = finishJob, unchecked_return_type = "SetJobResult")]
    pub fn finish_job(&mut self) -> Result<JsValue, JsError> {
        let begun = self.begun.take().ok_or_else(|| JsError::new("no job was begun"))?;
        to_js(&SetJob::keep(&mut self.model, begun.finish()))
    }

    /// Which rows of the list would fail with another job; the neck stays as it is. Quick for a job
    /// in which one part stands somewhere else.
    #[wasm_bindgen(js_name = tryJob, unchecked_return_type = "TriedJob")]
    pub fn try_job(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Job | string")] job: JsValue,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let tried = job_text(&job).and_then(|text| model.failing_with(&text));
        to_js(&match tried {
            Ok(failing) => TryJob::Built { ok: true, failing },
            Err(violations) => TryJob::Refused { ok: false, violations },
        })
    }

    /// The outside of the tube laid flat, with the place of every part on it: outlines within 0.01
    /// mm as lines of `[station_mm, azimuth_deg]`, and the radius of the tube's outside along them.
    #[wasm_bindgen(unchecked_return_type = "Unrolled")]
    pub fn unrolled(&self) -> Result<JsValue, JsError> {
        let model = self.built()?;
        listed(&unrolled(&model.job, &model.assembly))
    }

    /// The last job that was built.
    #[wasm_bindgen(unchecked_return_type = "Job | undefined")]
    pub fn job(&self) -> Result<JsValue, JsError> {
        self.model
            .as_ref()
            .map_or(Ok(JsValue::UNDEFINED), |model| from_json(&job::write_job(&model.job)))
    }

    /// The last job that was built, as the text of a job file.
    #[wasm_bindgen(js_name = jobText)]
    pub fn job_text(&self) -> Option<String> {
        self.model.as_ref().map(|model| job::write_job(&model.job))
    }

    /// Every part and keep-out; none before the first job.
    #[wasm_bindgen(unchecked_return_type = "PartInfo[]")]
    pub fn parts(&self) -> Result<JsValue, JsError> {
        let all = self.model.iter().flat_map(|model| model.all());
        let rows: Vec<PartInfo> = all.map(|built| PartInfo::of(built)).collect::<Result<_, _>>()?;
        to_js(&rows)
    }

    /// Triangles of a part or keep-out, within `chordMm` of its surfaces (0.002 to 1).
    #[wasm_bindgen(unchecked_return_type = "Mesh")]
    pub fn mesh(
        &self,
        id: &str,
        #[wasm_bindgen(js_name = chordMm)] chord_mm: f64,
    ) -> Result<JsValue, JsError> {
        let mesh = self.built()?.mesh(id, chord_mm)?;
        let flat = |vectors: &mut dyn Iterator<Item = DVec3>| -> Vec<f32> {
            vectors.flat_map(|vector| vector.as_vec3().to_array()).collect()
        };
        let positions = flat(&mut mesh.positions());
        let normals = flat(&mut mesh.normals());
        let indices: Vec<u32> = mesh.triangles().flatten().collect();
        let out = js_sys::Object::new();
        let set = |name: &str, value: JsValue| js_sys::Reflect::set(&out, &name.into(), &value);
        let filled = set("positions", js_sys::Float32Array::from(positions.as_slice()).into())
            .and(set("normals", js_sys::Float32Array::from(normals.as_slice()).into()))
            .and(set("indices", js_sys::Uint32Array::from(indices.as_slice()).into()));
        match filled {
            Ok(_) => Ok(out.into()),
            Err(_) => Err(JsError::new("the mesh could not be handed over")),
        }
    }

    /// The clearance list: the content of `clearances.json`.
    #[wasm_bindgen(unchecked_return_type = "ClearanceList")]
    pub fn clearances(&mut self) -> Result<JsValue, JsError> {
        let list = self.built()?.clearances();
        let told = listed(&list);
        self.told = Some(list);
        told
    }

    /// What of the clearance list is otherwise than it was told last, by this or by `clearances`:
    /// while a part is moved that is a small piece of it. `undefined` where the list has other rows
    /// or was not told yet: then `clearances` tells it whole. Findings are left aside.
    #[wasm_bindgen(js_name = clearanceChanges, unchecked_return_type = "ListChanges | undefined")]
    pub fn clearance_changes(&mut self) -> Result<JsValue, JsError> {
        let text = self.clearance_changes_text()?;
        text.map_or(Ok(JsValue::UNDEFINED), |text| from_json(&text))
    }

    /// The same as the text of its JSON, which is handed on to another thread several times faster than objects are.
    #[wasm_bindgen(js_name = clearanceChangesText)]
    pub fn clearance_changes_text(&mut self) -> Result<Option<String>, JsError> {
        let list = self.built()?.gaps();
        let Some(changes) = self.told.as_ref().and_then(|told| list.changes_since(told)) else {
            return Ok(None);
        };
        let text = serde_json::to_string(&changes)?;
        self.told = Some(list);
        Ok(Some(text))
    }

    /// The clearance list with the key turned open by `keyAngleDeg` (-90 to 90, 0 closed). Pairs
    /// that the key moves against each other are measured there, with pose `at`; the rows of the
    /// turned neck and the findings, which are about no single angle, are left out.
    #[wasm_bindgen(js_name = clearancesAt, unchecked_return_type = "ClearanceList")]
    pub fn clearances_at(
        &self,
        #[wasm_bindgen(js_name = keyAngleDeg)] key_angle_deg: f64,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        // Also refuses what is not a number, which is nowhere in the range.
        if !(-WIDEST_DEG..=WIDEST_DEG).contains(&key_angle_deg) {
            return Err(JsError::new("the key turns by an angle from -90 to 90 degrees"));
        }
        listed(&model.clearances_at(rad_from_deg(key_angle_deg))?)
    }

    /// Turn of the key from closed to open, in degrees: there the pad is lifted as the job asks.
    #[wasm_bindgen(js_name = openAngleDeg)]
    pub fn open_angle_deg(&self) -> Result<f64, JsError> {
        Ok(deg_from_rad(self.built()?.assembly.open_angle))
    }

    /// What turns, and about what: a view turns its meshes about these axes.
    #[wasm_bindgen(unchecked_return_type = "Axes")]
    pub fn axes(&self) -> Result<JsValue, JsError> {
        let assembly = &self.built()?.assembly;
        let axis = |point: DVec3, direction: DVec3| Axis {
            point_mm: point.to_array(),
            direction: direction.to_array(),
        };
        to_js(&Axes {
            key: axis(assembly.hinge.point, assembly.hinge.direction),
            horn: axis(assembly.tenon_axis.origin, assembly.tenon_axis.z),
        })
    }

    /// The neck across at a station along the centreline, mm: where the cut lies, and the tube and the bore in it.
    /// Stations beyond the ends of the neck are taken at its end.
    #[wasm_bindgen(unchecked_return_type = "Across")]
    pub fn across(
        &self,
        #[wasm_bindgen(js_name = stationMm)] station_mm: f64,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        if !station_mm.is_finite() {
            return Err(JsError::new("a station is a length in millimetres"));
        }
        listed(&model.across(station_mm))
    }

    /// How every soldered or glued joint stands. Takes longer than the list: ask when there is time.
    #[wasm_bindgen(unchecked_return_type = "JointFinding[]")]
    pub fn joints(&self) -> Result<JsValue, JsError> {
        listed(&self.built()?.joint_findings())
    }

    /// The changes that may bring a failing pair apart, in words, for `wayOut` to try one by one.
    pub fn changes(&self, a: &str, b: &str) -> Result<Vec<String>, JsError> {
        let changes = self.built()?.changes(a, b);
        Ok(changes.iter().map(|change| format!("{} / {}", change.more, change.less)).collect())
    }

    /// The least of the change of this place in `changes` that clears the rows of a pair and breaks
    /// nothing; undefined if none does. Takes some tenths of a second.
    #[wasm_bindgen(js_name = wayOut, unchecked_return_type = "WayOut | undefined")]
    pub fn way_out(&self, a: &str, b: &str, change: usize) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let changes = model.changes(a, b);
        let change = changes
            .get(change)
            .ok_or_else(|| JsError::new("there is no such change for this pair"))?;
        model.way_out(change, a, b).map_or(Ok(JsValue::UNDEFINED), |way| listed(&way))
    }

    /// The text of `clearances.json`: the list with its joints, and the ways out of what fails.
    /// Takes some seconds where something fails.
    #[wasm_bindgen(js_name = clearancesText)]
    pub fn clearances_text(&self) -> Result<String, JsError> {
        Ok(clearances_json(&self.built()?.report())?)
    }

    /// The whole neck as a STEP assembly.
    #[wasm_bindgen(js_name = assemblyStep)]
    pub fn assembly_step(&self) -> Result<Vec<u8>, JsError> {
        Ok(Files::new(self.built()?, 0.0).assembly_step()?)
    }

    /// One part, keep-out or half of the tube as a STEP file.
    #[wasm_bindgen(js_name = partStep)]
    pub fn part_step(&self, id: &str) -> Result<Vec<u8>, JsError> {
        Ok(Files::new(self.built()?, 0.0).part_step(id)?)
    }

    /// One part, keep-out or half of the tube as a binary STL file.
    #[wasm_bindgen(js_name = partStl)]
    pub fn part_stl(
        &self,
        id: &str,
        #[wasm_bindgen(js_name = chordMm)] chord_mm: f64,
    ) -> Result<Vec<u8>, JsError> {
        Ok(Files::new(self.built()?, 0.0).part_stl(id, chord_mm)?)
    }

    /// The content of `summary.json`: volume, area, mass, centroid and box of every part.
    #[wasm_bindgen(unchecked_return_type = "Summary")]
    pub fn summary(&self) -> Result<JsValue, JsError> {
        listed(&Files::new(self.built()?, 0.0).summary()?)
    }

    /// The text of `summary.json`.
    #[wasm_bindgen(js_name = summaryText)]
    pub fn summary_text(&self) -> Result<String, JsError> {
        Ok(Files::new(self.built()?, 0.0).summary()?.to_json()?)
    }
}

impl Neck {
    fn built(&self) -> Result<&Model, JsError> {
        self.model.as_ref().ok_or_else(|| JsError::new("no job has been built yet"))
    }
}

/// The JSON Schema of the job file.
#[wasm_bindgen(js_name = jobSchema, unchecked_return_type = "JsonSchema")]
pub fn job_schema() -> Result<JsValue, JsError> {
    from_json(&job::job_schema().to_string())
}

/// Starting values for an alto or a tenor, to be replaced by what is measured on the horn.
#[wasm_bindgen(js_name = startingJob, unchecked_return_type = "Job")]
pub fn starting_job(
    #[wasm_bindgen(unchecked_param_type = "\"alto\" | \"tenor\"")] voice: &str,
) -> Result<JsValue, JsError> {
    let known = match voice {
        "alto" => job::starting_text(Voice::Alto),
        "tenor" => job::starting_text(Voice::Tenor),
        _ => None,
    };
    match known {
        Some(text) => from_json(text),
        None => Err(JsError::new("there are starting values for \"alto\" and \"tenor\"")),
    }
}

#[derive(Serialize)]
#[serde(untagged)]
enum BeginJob {
    Begun { ok: bool, open: Vec<usize> },
    Refused { ok: bool, violations: Vec<Violation> },
}

#[derive(Serialize)]
#[serde(untagged)]
enum TryJob {
    Built { ok: bool, failing: Vec<Pair> },
    Refused { ok: bool, violations: Vec<Violation> },
}
