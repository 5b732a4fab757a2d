//! One part of a request, to be looked at before anything is sent.

use crate::model::Model;

use super::heading::Heading;
use super::order::order;
use super::request::{Request, Wanted};

/// Looks at a part on the neck that a request leads to, under the heading its sheets would have in the package.
///
/// Nothing leaves the shop by looking, so what is wrong elsewhere in the request is no matter; where the part itself cannot
/// be had as it is asked for, it is looked at as the job has it.
pub fn preview<Seen>(
    model: &Model,
    request: &Request,
    part: &str,
    look: impl FnOnce(&Model, &Heading) -> Seen,
) -> Seen {
    let named = |parts| Request { parts, name: Some(part.to_string()), ..request.clone() };
    let alone = || {
        let wanted = request.parts.iter().flatten().find(|wanted| wanted.part == part).cloned();
        named(Some(vec![wanted.unwrap_or_else(|| Wanted::one_of(part))]))
    };
    let settled =
        order(model, &named(request.parts.clone())).or_else(|_| order(model, &alone())).ok();
    let changed = settled.as_ref().and_then(|order| order.changed.as_deref());
    let model = changed.unwrap_or(model);
    let line = settled.as_ref().and_then(|order| order.lines.iter().find(|line| line.part == part));
    let heading = line.map_or_else(|| Heading::of(&model.job), |line| line.heading(model));
    look(model, &heading)
}
