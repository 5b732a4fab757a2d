//! What leaves the shop: a job and a request go in, one archive comes out.

use serde::Serialize;
use tsify::Tsify;
use wasm_bindgen::prelude::*;

use crate::checks::ClearanceList;
use crate::job::{Violation, schema_of};
use crate::model::{Formed, Model};
use crate::parts::stock;
use crate::shop::checked;
use crate::shop::drawings::drawing;
use crate::shop::flat::{CuttingFinding, flat_part};
use crate::shop::heading::Heading;
use crate::shop::{PackageError, Request, order, package, preview, usual_temper};
use crate::tables::tempers::Temper;

use super::handing_over::{SetJob, from_json, listed, refused, to_js};

/// Types of this boundary that are not results of the core.
#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = r#"
/**
 * What became of a request: an archive with its packing list, or every reason why there is none. Where every violation has
 * the path "force", parts fail a check and nothing else is wrong: the same request with `force: true` sends them.
 */
export type PackageResult =
    | { ok: true; fileName: string; list: PackingList; zip: Uint8Array; warnings: Violation[] }
    | { ok: false; violations: Violation[] };
"#;

/// A part that can be sent out.
#[derive(Debug, Serialize, Tsify)]
#[serde(rename_all = "camelCase")]
pub struct ShopPart {
    /// Short name that stands in files and lists.
    id: String,
    /// Workshop name.
    name: String,
    /// Designation of the metal.
    #[tsify(type = "Metal | \"cork\" | \"felt\"")]
    metal: String,
    metal_name: String,
    made_by: String,
    /// Thickness of the sheet it is made from; null for what is not made from sheet.
    #[tsify(type = "number | null")]
    thickness_mm: Option<f64>,
    /// Whether a request may name another metal.
    metal_free: bool,
    /// Whether a request may name another thickness.
    thickness_free: bool,
    /// Temper it is usually ordered in.
    temper: Temper,
    /// Whether another temper makes a difference: not where the part, or the metal, comes as it is sold.
    temper_free: bool,
    mass_g: f64,
    /// Whether a flat outline goes with it.
    flat: bool,
    /// Whether a drawing goes with it.
    drawing: bool,
    /// Whether it is one of the neck's parts: the halves of the tube are not, they become the tube.
    on_the_neck: bool,
    /// Clearances of the part that fail, in words.
    fails: Vec<String>,
}

/// A flat outline to be looked at.
#[derive(Debug, Serialize, Tsify)]
pub struct FlatView {
    /// The outline as it goes into the package: SVG of its true size.
    svg: String,
    /// Where in it the places of the findings are counted from, millimetres from its upper left corner; y goes up.
    origin_mm: [f64; 2],
    /// Overall width and height of the outline, whose lower left corner is that origin.
    size_mm: [f64; 2],
    /// What the checks before cutting say, each with its place.
    findings: Vec<CuttingFinding>,
}

/// The files of one neck: holds the last job that could be built.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Shop {
    model: Option<Model>,
}

#[wasm_bindgen]
impl Shop {
    /// A shop without a neck.
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
        to_js(&SetJob::run(&mut self.model, &job))
    }

    /// What can be sent out: every part, and the halves of the tube.
    #[wasm_bindgen(unchecked_return_type = "ShopPart[]")]
    pub fn parts(&self) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let parts = model.parts().iter().map(|built| (&***built, true));
        let halves = model.halves().iter().map(|half| (&**half, false));
        let list = model.clearances();
        let rows =
            parts.chain(halves).map(|(formed, whole)| shop_part(model, &list, formed, whole));
        listed(&rows.collect::<Vec<_>>())
    }

    /// The flat outline of a part as a request would send it, and what its checks say; undefined for a part that is not cut
    /// from sheet.
    #[wasm_bindgen(unchecked_return_type = "FlatView | undefined")]
    pub fn flat(
        &self,
        part: &str,
        #[wasm_bindgen(unchecked_param_type = "Request | string | undefined")] request: JsValue,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let request = style_of(&request);
        let seen = preview(model, &request, part, |model, heading| {
            let flat = flat_part(model, part, &request.cutting)?;
            Some(flat.map(|flat| {
                let [origin_mm, size_mm] =
                    [flat.svg_origin(heading), flat.size_mm()].map(|mm| mm.to_array());
                (flat.svg(heading), origin_mm, size_mm, flat.findings)
            }))
        });
        let Some(flat) = seen else { return Ok(JsValue::UNDEFINED) };
        let (svg, origin_mm, size_mm, findings) = flat?;
        listed(&FlatView { svg: String::from_utf8(svg)?, origin_mm, size_mm, findings })
    }

    /// The drawing of a part as a request would send it, as SVG; undefined for a part that is not turned.
    pub fn drawing(
        &self,
        part: &str,
        #[wasm_bindgen(unchecked_param_type = "Request | string | undefined")] request: JsValue,
    ) -> Result<Option<String>, JsError> {
        let model = self.built()?;
        let request = style_of(&request);
        let seen = preview(model, &request, part, |model, heading| {
            drawing(model, part, &request.drawing, heading)
                .map(|drawn| drawn.map(|drawn| drawn.svg()))
        });
        let Some(drawn) = seen else { return Ok(None) };
        Ok(Some(String::from_utf8(drawn?)?))
    }

    /// Everything wrong with a request, and what it should be known for; empty if it can be carried out, but for parts that
    /// fail a check.
    #[wasm_bindgen(unchecked_return_type = "Violation[]")]
    pub fn check(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Request | string | undefined")] request: JsValue,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let (request, mut found) = Request::read(&text_of(&request)?);
        if let Some(Err(more)) = request.map(|request| order(model, &request)) {
            found.extend(more);
        }
        listed(&found)
    }

    /// The package of a request (text or object). The same bytes as by command.
    #[wasm_bindgen(unchecked_return_type = "PackageResult")]
    pub fn package(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Request | string | undefined")] request: JsValue,
    ) -> Result<JsValue, JsError> {
        let model = self.built()?;
        let (request, found) = Request::read(&text_of(&request)?);
        let (mut violations, warnings): (Vec<_>, Vec<_>) =
            found.into_iter().partition(Violation::is_error);
        let packed = request.as_ref().map(|request| package(model, request));
        let packed = match packed {
            Some(Ok(packed)) if violations.is_empty() => packed,
            Some(Err(PackageError::Refused(more))) => {
                // That a part fails a check is no matter while the request itself is wrong.
                let matters = |found: &Violation| found.path != crate::shop::FORCE;
                let keep = violations.is_empty();
                violations.extend(more.into_iter().filter(|found| keep || matters(found)));
                return refused(violations);
            }
            Some(Err(error)) if violations.is_empty() => return Err(error.into()),
            _ => return refused(violations),
        };
        let out = js_sys::Object::new();
        let set = |name: &str, value: JsValue| js_sys::Reflect::set(&out, &name.into(), &value);
        let filled = set("ok", true.into())
            .and(set("fileName", packed.file_name.into()))
            .and(set("list", listed(&packed.list)?))
            .and(set("zip", js_sys::Uint8Array::from(packed.zip.as_slice()).into()))
            .and(set("warnings", listed(&warnings)?));
        filled.map(|_| out.into()).map_err(|_| JsError::new("the package could not be handed over"))
    }
}

impl Shop {
    fn built(&self) -> Result<&Model, JsError> {
        self.model.as_ref().ok_or_else(|| JsError::new("no job has been built yet"))
    }
}

/// The JSON Schema of a request, with a sentence for every field and a range for every number.
#[wasm_bindgen(js_name = requestSchema, unchecked_return_type = "JsonSchema")]
pub fn request_schema() -> Result<JsValue, JsError> {
    from_json(&schema_of::<Request>().to_string())
}

fn shop_part(model: &Model, list: &ClearanceList, formed: &Formed, on_the_neck: bool) -> ShopPart {
    let part = &formed.part;
    let stock = stock(part.id, &model.job);
    let temper = stock.map_or(Temper::AsSold, |stock| usual_temper(&stock, part.metal));
    ShopPart {
        id: part.id.to_string(),
        name: part.name.to_string(),
        metal: part.metal.map(|metal| metal.id().to_string()).unwrap_or_default(),
        metal_name: part.metal.map(|metal| metal.name().to_string()).unwrap_or_default(),
        made_by: part.made_by.to_string(),
        thickness_mm: stock.and_then(|stock| stock.thickness_mm),
        metal_free: stock.is_some_and(|stock| stock.metal_field.is_some()),
        thickness_free: stock.is_some_and(|stock| stock.thickness_field.is_some()),
        temper,
        temper_free: temper != Temper::AsSold,
        mass_g: formed.mass_g(),
        flat: flat_part(model, part.id, &Default::default()).is_some(),
        drawing: drawing(model, part.id, &Default::default(), &Heading::of(&model.job)).is_some(),
        on_the_neck,
        fails: checked::clearances(list, part.id),
    }
}

/// How a part is to be shown: a request as far as it can be read, since nothing leaves the shop by looking.
fn style_of(request: &JsValue) -> Request {
    request_text(request).and_then(|text| Request::read(&text).0).unwrap_or_default()
}

fn text_of(request: &JsValue) -> Result<String, JsError> {
    request_text(request).ok_or_else(|| JsError::new("the request cannot be written as JSON"))
}

/// A request passed as text or as an object.
fn request_text(request: &JsValue) -> Option<String> {
    if request.is_undefined() {
        return Some("{}".to_string());
    }
    request.as_string().or_else(|| js_sys::JSON::stringify(request).ok()?.as_string())
}
