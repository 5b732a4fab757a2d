//! Room for drill, reamer and tap, judged at the moment they are used.

use crate::checks::clearance::{Aim, Body, Posed, clearance};
use crate::checks::search::Scratch;

use super::Finding;

/// A tool's path with the parts that are on the neck while it is used.
#[derive(Clone, Debug)]
pub struct Access<'a> {
    pub id: &'static str,
    pub name: &'static str,
    pub path: Body<'a>,
    pub beside: Vec<(Body<'a>, &'static str)>,
}

/// The least room beside each path, against the least clearance.
pub(super) fn findings(paths: &[Access<'_>], least_clearance_mm: f64) -> Vec<Finding> {
    let mut scratch = Scratch::default();
    paths.iter().map(|access| finding(access, least_clearance_mm, &mut scratch)).collect()
}

fn finding(access: &Access<'_>, least_clearance_mm: f64, scratch: &mut Scratch) -> Finding {
    let path = Posed::at_rest(&access.path);
    let what = format!("room beside the {}", access.name);
    let mut nearest: Option<(f64, bool, &str)> = None;
    for (body, name) in &access.beside {
        let Some(found) = clearance(&path, &Posed::at_rest(body), &Aim::LIST, scratch) else {
            let why = format!("None: the surface of the {name} cannot be divided.");
            return Finding::failed(access.id, &what, "mm", &why);
        };
        let gap = if found.at_least { found.bound } else { found.distance };
        if nearest.is_none_or(|nearest| gap < nearest.0) {
            nearest = Some((gap, found.at_least, name));
        }
    }
    match nearest {
        Some((gap, at_least, name)) => {
            let least = if at_least { " The gap is a lower bound." } else { "" };
            let why = format!(
                "Nearest is the {name}.{least} A straight path of 60 mm, looked at with what is on the neck at that moment; negative where it is barred."
            );
            Finding::new(access.id, &what, gap, "mm", &why).at_least(least_clearance_mm)
        }
        None => Finding::unknown(access.id, &what, "mm", "Not known: nothing stands beside it."),
    }
}
