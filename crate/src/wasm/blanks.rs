//! Blanks of one or several orders: jobs and a sheet go in; outlines, strains, gauges, lays and files come out.

use glam::{DVec2, DVec3};
use serde::Serialize;
use tsify::Tsify;
use wasm_bindgen::prelude::*;

use crate::blanks::costs::Costs;
use crate::blanks::lay::Laying;
use crate::blanks::lay_report::LayReport;
use crate::blanks::order::BlankOrder;
use crate::blanks::share::Share;
use crate::blanks::sheet_file::SheetFile;
use crate::exports::paper::PaperSize;
use crate::geometry::contour::Contour;
use crate::job::{Violation, schema_of};

use super::handing_over::{from_json, job_text, listed, refused, to_js};

/// Chord error of lines that are only looked at, mm.
const LOOKED_AT: f64 = 0.02;

#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/** A job and how many of its half shells are wanted. */
export interface WantedHalves { job: object | string; halves: number }

/**
 * What became of jobs and sheet: blanks, or every reason why there are none (those before are kept). Paths of the second and
 * later orders begin with `orders[1]` and so on; all others are of the sheet or of the first job.
 */
export type BlanksResult =
    | { ok: true; blanks: BlankView[]; notes: string[] }
    | { ok: false; violations: Violation[] };

/** A file to be handed out. */
export interface BlankFile { name: string; bytes: Uint8Array }
"#;

/// A line to be drawn: its corners, mm.
type Line = Vec<[f64; 2]>;

/// A station line of a blank.
#[derive(Debug, Serialize, Tsify)]
#[serde(rename_all = "camelCase")]
pub struct StationMark {
    station_mm: f64,
    line: Vec<[f64; 2]>,
}

/// A place of the strain map: where it lies on the blank and on the formed right half. What forming does there stands at
/// the same place of `costs.map`.
#[derive(Debug, Serialize, Tsify)]
pub struct StrainPlace {
    /// Its corners on the blank in order, mm.
    flat: [[f64; 2]; 4],
    /// The same corners on the half shell, in the frame of the neck, mm.
    formed: [[f64; 3]; 4],
}

/// A template to form by.
#[derive(Debug, Serialize, Tsify)]
pub struct GaugeView {
    words: String,
    outline: Vec<[f64; 2]>,
}

/// The blank of an order: the right half as seen from outside, the cork end to the left, the top of the neck up; mm.
#[derive(Debug, Serialize, Tsify)]
#[serde(rename_all = "camelCase")]
pub struct BlankView {
    /// Number of the order.
    order: String,
    metal: String,
    metal_name: String,
    thickness_mm: f64,
    area_mm2: f64,
    /// Length along x and y.
    size_mm: [f64; 2],
    outline: Vec<[f64; 2]>,
    /// Where the metal ends once seams are filed and ends trimmed: seam below, tenon end, seam above, cork end.
    finished: Vec<Vec<[f64; 2]>>,
    side_line: Vec<[f64; 2]>,
    stations: Vec<StationMark>,
    vent: Vec<Vec<[f64; 2]>>,
    costs: Costs,
    places: Vec<StrainPlace>,
    gauges: Vec<GaugeView>,
}

/// How far a lay has come.
#[derive(Debug, Serialize, Tsify)]
pub struct LayProgress {
    /// Rounds taken since the start.
    rounds: u32,
    /// Nothing better can be asked for.
    finished: bool,
    /// The best lay is another one than before these rounds.
    better: bool,
}

/// Blanks and their lay: holds the last orders and sheet that went together.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Blanks {
    order: Option<BlankOrder>,
    laying: Option<(Laying, u32)>,
}

#[wasm_bindgen]
impl Blanks {
    /// A table without sheet and orders.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads jobs and a sheet file (texts or objects) and lays the half shells flat. The first job's number of half shells
    /// is the sheet's `halves`, whatever is said with it. A lay in the making is let go.
    #[wasm_bindgen(js_name = setOrders, unchecked_return_type = "BlanksResult")]
    pub fn set_orders(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "WantedHalves[]")] orders: JsValue,
        #[wasm_bindgen(unchecked_param_type = "SheetFile | string")] sheet: JsValue,
    ) -> Result<JsValue, JsError> {
        match read(&orders, &sheet) {
            Ok(order) => {
                let blanks: Vec<BlankView> = order.shares.iter().map(blank_view).collect();
                let told = listed(&Laid { ok: true, blanks, notes: &order.notes });
                (self.order, self.laying) = (Some(order), None);
                told
            }
            Err(violations) => refused(violations),
        }
    }

    /// Starts to lay; the same seed and number of rounds give the same lay.
    pub fn start(&mut self, seed: u32) -> Result<(), JsError> {
        self.laying = Some((self.laid_flat()?.laying(seed), seed));
        Ok(())
    }

    /// Goes on laying for so many rounds.
    #[wasm_bindgen(unchecked_return_type = "LayProgress")]
    pub fn step(&mut self, rounds: u32) -> Result<JsValue, JsError> {
        let (laying, _) = self.laying.as_mut().ok_or_else(not_started)?;
        let mut better = false;
        for _ in 0..rounds {
            if laying.finished() {
                break;
            }
            better |= laying.step();
        }
        let rounds = u32::try_from(laying.steps()).unwrap_or(u32::MAX);
        to_js(&LayProgress { rounds, finished: laying.finished(), better })
    }

    /// The best lay so far: the content of `lay.json`.
    #[wasm_bindgen(unchecked_return_type = "LayReport")]
    pub fn best(&self) -> Result<JsValue, JsError> {
        let (laying, seed) = self.laying.as_ref().ok_or_else(not_started)?;
        let report: LayReport = self.laid_flat()?.report(laying, *seed);
        listed(&report)
    }

    /// All files by name: of the blanks and gauges, and of the lay where one was started. The same bytes as by command.
    #[wasm_bindgen(unchecked_return_type = "BlankFile[]")]
    pub fn files(
        &self,
        #[wasm_bindgen(unchecked_param_type = "\"a4\" | \"letter\"")] paper: &str,
    ) -> Result<JsValue, JsError> {
        let size = match paper {
            "a4" => PaperSize::A4,
            "letter" => PaperSize::Letter,
            _ => return Err(JsError::new("paper is \"a4\" or \"letter\"")),
        };
        let (laying, seed) = match &self.laying {
            Some((laying, seed)) => (Some(laying), *seed),
            None => (None, 0),
        };
        let all = js_sys::Array::new();
        for (name, bytes) in self.laid_flat()?.files(laying, seed, size)? {
            let file = js_sys::Object::new();
            let bytes = js_sys::Uint8Array::from(bytes.as_slice());
            js_sys::Reflect::set(&file, &"name".into(), &name.into())
                .and(js_sys::Reflect::set(&file, &"bytes".into(), &bytes.into()))
                .map_err(|_| JsError::new("a file could not be handed over"))?;
            all.push(&file);
        }
        Ok(all.into())
    }
}

impl Blanks {
    fn laid_flat(&self) -> Result<&BlankOrder, JsError> {
        self.order.as_ref().ok_or_else(|| JsError::new("no blanks have been laid flat yet"))
    }
}

/// The JSON Schema of the sheet file, with a sentence for every field and a range for every number.
#[wasm_bindgen(js_name = sheetSchema, unchecked_return_type = "JsonSchema")]
pub fn sheet_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<SheetFile>().to_string())
}

#[derive(Serialize)]
struct Laid<'a> {
    ok: bool,
    blanks: Vec<BlankView>,
    notes: &'a [String],
}

fn not_started() -> JsError {
    JsError::new("no lay has been started yet")
}

fn read(orders: &JsValue, sheet: &JsValue) -> Result<BlankOrder, Vec<Violation>> {
    let mut jobs = Vec::new();
    for (place, order) in js_sys::Array::from(orders).iter().enumerate() {
        let field = |name: &str| js_sys::Reflect::get(&order, &name.into()).unwrap_or_default();
        // What is no number is none of the numbers that are allowed.
        let halves = field("halves").as_f64().unwrap_or_default() as u32;
        jobs.push((job_text(&field("job"))?, (place > 0).then_some(halves)));
    }
    let jobs: Vec<(&str, Option<u32>)> =
        jobs.iter().map(|(text, halves)| (text.as_str(), *halves)).collect();
    BlankOrder::read(&jobs, &job_text(sheet)?)
}

fn blank_view(share: &Share) -> BlankView {
    let blank = &share.blank;
    let (low, high) = blank.outline.bounds();
    BlankView {
        order: share.job.order.number.clone(),
        metal: share.metal.id().to_owned(),
        metal_name: share.metal.name().to_owned(),
        thickness_mm: blank.thickness_mm,
        area_mm2: blank.outline.area(),
        size_mm: (high - low).to_array(),
        outline: line(&blank.outline),
        finished: blank.finished.iter().map(line).collect(),
        side_line: line(&blank.side_line),
        stations: blank
            .stations
            .iter()
            .map(|mark| StationMark { station_mm: mark.station_mm, line: line(&mark.line) })
            .collect(),
        vent: blank.vent.iter().map(line).collect(),
        costs: share.costs.clone(),
        places: places(share),
        gauges: share
            .gauges
            .iter()
            .map(|gauge| GaugeView { words: gauge.words.clone(), outline: line(&gauge.outline) })
            .collect(),
    }
}

/// The cells of the net, in the order of the strain map: row by row, each two lines wide and two high.
fn places(share: &Share) -> Vec<StrainPlace> {
    let flat = &share.blank.flat;
    let net = &flat.net;
    let mut places = Vec::with_capacity(share.costs.map.len());
    for i in (0..net.first.len().saturating_sub(2)).step_by(2) {
        for j in (0..net.second.len().saturating_sub(2)).step_by(2) {
            let corners =
                [[i, j], [i + 2, j], [i + 2, j + 2], [i, j + 2]].map(|[i, j]| net.knot(i, j));
            let at = |knot: usize| flat.places.get(knot).copied().unwrap_or_default();
            let on = |knot: usize| share.formed.get(knot).copied().unwrap_or_default();
            places.push(StrainPlace {
                flat: corners.map(|knot| point(at(knot))),
                formed: corners.map(|knot| space(on(knot))),
            });
        }
    }
    places
}

fn line(contour: &Contour) -> Line {
    let mut points: Line = contour.flattened(LOOKED_AT).into_iter().map(point).collect();
    if contour.closed {
        points.extend(points.first().copied());
    }
    points
}

/// To a thousandth of a millimetre: more cannot be seen, and text is what goes over.
fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

fn point(at: DVec2) -> [f64; 2] {
    at.to_array().map(rounded)
}

fn space(at: DVec3) -> [f64; 3] {
    at.to_array().map(rounded)
}
