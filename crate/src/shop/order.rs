//! A request put to a neck: every line settled, or every reason why it cannot be.

use crate::job::{Job, Violation, write_job};
use crate::model::{Formed, Model};
use crate::parts::{Stock, stock};
use crate::tables::metals::Metal;
use crate::tables::stock::{Form, sheet_mm};
use crate::tables::tempers::Temper;

use super::file_name::{file_name_fault, file_stem};
use super::heading::Heading;
use super::request::{Request, Wanted};

/// One part of a settled order.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    pub part: &'static str,
    /// For the whole order.
    pub quantity: u32,
    pub stock: Stock,
    pub temper: Temper,
}

impl Line {
    /// What the sheets of the part say: how many, and of what metal in which temper.
    #[must_use]
    pub fn heading(&self, model: &Model) -> Heading {
        let metal = model.find(self.part).ok().and_then(|formed| formed.part.metal);
        let material = metal.map(|metal| format!("{}, {}", metal.in_full(), self.temper.name()));
        Heading { quantity: self.quantity, material, ..Heading::of(&model.job) }
    }
}

/// A request that can be carried out, but for what its parts' checks may say.
#[derive(Debug)]
pub struct Order {
    /// What file names begin with.
    pub stem: String,
    pub lines: Vec<Line>,
    /// The neck with other metals or thicknesses than its job's, where the request names some.
    pub changed: Option<Box<Model>>,
}

/// Settles a request.
///
/// # Errors
///
/// Every violation at once: a name that is no file name, a part that is none or is named twice, a metal or thickness
/// that a part has no choice of, a neck that cannot be built of them, a sheet in which the metal is not sold.
pub fn order(model: &Model, request: &Request) -> Result<Order, Vec<Violation>> {
    let mut found = Vec::new();
    let stem = stem(model, request, &mut found);
    let wanted = match &request.parts {
        Some(wanted) => wanted.clone(),
        None => model.parts().iter().map(|built| Wanted::one_of(built.part.id)).collect(),
    };
    let chosen = chosen(model, &wanted, &mut found);
    let changed = match changed_job(&model.job, &wanted, &chosen, &mut found) {
        Some(ChangedJob { text, asked }) => match Model::build(&text, Some(model)) {
            Ok(model) => Some(Box::new(model)),
            Err(violations) => {
                let errors = violations.into_iter().filter(Violation::is_error);
                found.extend(errors.map(|violation| at_request(violation, &asked)));
                None
            }
        },
        None => None,
    };
    let model = changed.as_deref().unwrap_or(model);
    let mut lines = Vec::new();
    for (index, part) in chosen {
        let (Some(wanted), Ok(formed)) = (wanted.get(index), model.find(part)) else { continue };
        let Some(stock) = stock(part, &model.job) else { continue };
        found.extend(not_sold(index, formed, &stock, request));
        lines.push(Line {
            part,
            quantity: wanted.quantity.saturating_mul(request.necks),
            stock,
            temper: wanted.temper.unwrap_or_else(|| usual_temper(&stock, formed.part.metal)),
        });
    }
    if found.is_empty() { Ok(Order { stem, lines, changed }) } else { Err(found) }
}

impl Wanted {
    /// One of a part, as the job has it.
    #[must_use]
    pub fn one_of(part: &str) -> Self {
        Self { part: part.to_string(), quantity: 1, metal: None, thickness_mm: None, temper: None }
    }
}

fn stem(model: &Model, request: &Request, found: &mut Vec<Violation>) -> String {
    let order = &model.job.order;
    let (path, stem) = match &request.name {
        Some(name) => ("name", name.clone()),
        None => ("order.number", file_stem(order)),
    };
    if let Some(fault) = file_name_fault(&stem) {
        let which = if request.name.is_some() {
            String::new()
        } else {
            " File names begin with order number and serial number, unless another name is given."
                .to_string()
        };
        found.push(Violation::error(
            path,
            stem.clone(),
            "a name every system takes for a file's",
            format!("{fault}{which}"),
        ));
    }
    stem
}

/// Place in the request and id of every part that is there.
fn chosen(
    model: &Model,
    wanted: &[Wanted],
    found: &mut Vec<Violation>,
) -> Vec<(usize, &'static str)> {
    let halves = model.halves().iter().map(|half| half.part.id);
    let parts: Vec<&'static str> =
        model.parts().iter().map(|built| built.part.id).chain(halves).collect();
    let mut chosen: Vec<(usize, &'static str)> = Vec::new();
    for (index, Wanted { part: id, .. }) in wanted.iter().enumerate() {
        let mut refuse = |allowed: String, why: &str| {
            found.push(Violation::error(format!("parts[{index}].part"), id.as_str(), allowed, why));
        };
        if let Some((first, _)) = chosen.iter().find(|(_, part)| part == id) {
            let why = format!("It is asked for in parts[{first}] already; ask for more there.");
            refuse("each part once".into(), &why);
        } else if let Some(part) = parts.iter().find(|part| *part == id) {
            chosen.push((index, part));
        } else if model.part(id).is_some() {
            refuse(parts.join(", "), "This is not made, only cleared.");
        } else {
            refuse(parts.join(", "), "There is no such part on this neck.");
        }
    }
    chosen
}

/// A job with other metals or thicknesses than the one on the bench.
struct ChangedJob {
    text: String,
    /// Each field that was changed, and the path in the request that asked for it.
    asked: Vec<(&'static str, String)>,
}

/// A violation of a changed job, told where the request asked for the change.
fn at_request(violation: Violation, asked: &[(&'static str, String)]) -> Violation {
    match asked.iter().find(|(field, _)| *field == violation.path) {
        Some((_, path)) => Violation { path: path.clone(), ..violation },
        None => violation,
    }
}

/// The job with the metals and thicknesses that are asked for; none if none differ from the job's.
fn changed_job(
    job: &Job,
    wanted: &[Wanted],
    chosen: &[(usize, &'static str)],
    found: &mut Vec<Violation>,
) -> Option<ChangedJob> {
    // Field, value, and where it was asked for.
    let mut changes: Vec<(&'static str, serde_json::Value, String)> = Vec::new();
    for &(index, part) in chosen {
        let (Some(wanted), Some(stock)) = (wanted.get(index), stock(part, job)) else { continue };
        let metal = wanted.metal.map(|metal| metal.id().into());
        let thickness = wanted.thickness_mm.map(serde_json::Value::from);
        for (what, field, value) in [
            ("metal", stock.metal_field, metal),
            ("thickness_mm", stock.thickness_field, thickness),
        ] {
            let Some(value) = value else { continue };
            let path = format!("parts[{index}].{what}");
            let Some(field) = field else {
                let why = match what {
                    "metal" => format!("What the {part} is made of is no choice."),
                    _ => format!("The {part} is not made from sheet."),
                };
                found.push(Violation::error(path, value, "null", why));
                continue;
            };
            match changes.iter().find(|(other, ..)| *other == field) {
                Some((_, other, first)) if *other != value => found.push(Violation::error(
                    path,
                    value,
                    other.to_string(),
                    format!("{field} of the job says it for both, and {first} asks for another."),
                )),
                Some(_) => {}
                None => changes.push((field, value, path)),
            }
        }
    }
    let mut text: serde_json::Value = serde_json::from_str(&write_job(job)).ok()?;
    let before = text.clone();
    let mut asked = Vec::new();
    for (field, value, path) in changes {
        asked.push((field, path));
        let (group, name) = field.split_once('.')?;
        let group = text.get_mut(group)?.as_object_mut()?;
        if name == "wall_mm" {
            // A wall is said in one way only.
            group.remove("wall_gauge");
        }
        group.insert(name.to_string(), value);
    }
    (text != before).then(|| ChangedJob { text: text.to_string(), asked })
}

/// A sheet part of a metal that is not sold as sheet of its thickness.
fn not_sold(index: usize, formed: &Formed, stock: &Stock, request: &Request) -> Option<Violation> {
    let (metal, thickness) = (formed.part.metal?, stock.thickness_mm?);
    if stock.form != Form::Sheet {
        return None;
    }
    let sold = sheet_mm(metal);
    if sold.is_some_and(|(thinnest, thickest)| (thinnest..=thickest).contains(&thickness)) {
        return None;
    }
    let allowed = match sold {
        Some((thinnest, thickest)) => format!("sheet of {thinnest} to {thickest} mm"),
        None => "a metal that is sold as sheet".into(),
    };
    let asked = request.parts.as_ref().and_then(|parts| parts.get(index));
    let (path, value) = match asked {
        Some(wanted) if wanted.thickness_mm.is_some() => {
            (format!("parts[{index}].thickness_mm"), thickness.into())
        }
        Some(wanted) if wanted.metal.is_some() => {
            (format!("parts[{index}].metal"), serde_json::Value::from(metal.id()))
        }
        _ => (stock.thickness_field.unwrap_or_default().to_string(), thickness.into()),
    };
    Some(Violation::error(
        path,
        value,
        allowed,
        format!(
            "The {} would be of {} ({}) {thickness} mm thick, which is not sold ({}).",
            formed.part.name,
            metal.id(),
            metal.name(),
            crate::tables::stock::SOURCE.title,
        ),
    ))
}

/// Screws and springs of stainless steel, and what is no metal, come as they are sold.
#[must_use]
pub fn usual_temper(stock: &Stock, metal: Option<Metal>) -> Temper {
    match metal {
        Some(Metal::StainlessSteel | Metal::Cork | Metal::Felt) | None => Temper::AsSold,
        Some(_) => stock.temper,
    }
}
