//! An order's share of a sheet: its blank, what forming costs it, templates to form by, and how many half shells are wanted.

use glam::{DVec2, DVec3};
use serde_json::Value;

use crate::geometry::neck::Neck;
use crate::job::{Job, Violation};
use crate::parts::Assembly;
use crate::tables::metals::Metal;

use super::blank::{Blank, BlankError, tube};
use super::costs::Costs;
use super::flatten::Net;
use super::gauges::{Gauge, profile, section};
use super::lay::Aim;
use super::sheet_file::{Angles, MOST_HALVES, SheetFile, crossing};
use super::surface::MidWall;

/// Chord error of the outline that is laid, mm: true arcs stand out so far from it, so distances asked for are by so much
/// greater for each side.
pub(super) const LAID: f64 = 0.01;

/// Directions in which it is tried whether a blank goes on the sheet at all.
const DIRECTIONS: u32 = 360;

/// The half shells of one order.
#[derive(Clone, Debug)]
pub struct Share {
    pub job: Job,
    pub metal: Metal,
    pub blank: Blank,
    pub costs: Costs,
    /// Half-round gauges at those of the stations asked for that lie on this neck, and the side view.
    pub gauges: Vec<Gauge>,
    /// How many half shells are wanted; two make a neck.
    pub halves: u32,
    /// Where each knot of the blank's net lies on the formed right half, in the middle of its wall: in the frame of the neck, mm.
    pub formed: Vec<DVec3>,
    /// The outline as it is laid, mm.
    pub(super) corners: Vec<DVec2>,
}

impl Share {
    /// Lays the half shell of an order flat, for a sheet.
    ///
    /// # Errors
    ///
    /// A neck that cannot be laid flat. Whether the sheet holds it is asked when all orders come together.
    pub fn of(
        job: Job,
        assembly: &Assembly,
        halves: u32,
        sheet: &SheetFile,
    ) -> Result<Self, Vec<Violation>> {
        let metal = job.tube.metal();
        let blank = Blank::of(&job, assembly, sheet.allowances.allowances()).map_err(unlaid)?;
        let (neck, from, to) = tube(assembly).map_err(unlaid)?;
        let Some(costs) = Costs::of(&blank, neck, metal) else {
            return Err(unlaid(BlankError::NoTube));
        };
        let corners = blank.outline.flattened(LAID);
        let own = sheet.gauges_at_mm.iter().filter(|station| (from..=to).contains(*station));
        let gauges =
            own.map(|&station| section(neck, station)).chain([profile(neck, from, to)]).collect();
        let formed = formed(neck, &blank.flat.net);
        Ok(Self { job, metal, blank, costs, gauges, halves, formed, corners })
    }

    /// What the sheet cannot hold, or has no room for.
    pub(super) fn wrong_with(&self, sheet: &SheetFile) -> Vec<Violation> {
        let mut wrong = Vec::new();
        if !(1..=MOST_HALVES).contains(&self.halves) {
            wrong.push(Violation::error(
                "halves",
                self.halves,
                format!("1 to {MOST_HALVES}"),
                "Two half shells make a neck.",
            ));
        }
        if let Some(crossed) = crossing("allowances", &self.corners) {
            wrong.push(Violation::error(
                "allowances",
                serde_json::to_value(sheet.allowances).unwrap_or(Value::Null),
                "less than the inside of the bend leaves room for",
                format!(
                    "With so much left on, the outline of the blank crosses itself. {}",
                    crossed.why
                ),
            ));
        }
        wrong.extend(too_large(&self.corners, sheet, &sheet.aim()));
        wrong
    }
}

/// Places of the knots of a net on the formed right half. The player's right is towards -Y.
fn formed(neck: &Neck, net: &Net) -> Vec<DVec3> {
    let wall = MidWall { neck };
    let rows = net.first.iter().map(|&station| {
        let at = neck.at(station);
        let radius = wall.radius_slope(station).0;
        net.second.iter().map(move |&up| {
            let (sin, cos) = libm::sincos(up);
            at.centre + radius * (at.up * sin - DVec3::Y * cos)
        })
    });
    rows.flatten().collect()
}

fn unlaid(error: BlankError) -> Vec<Violation> {
    vec![Violation::error(
        "centreline",
        Value::Null,
        "a tube that can be laid flat",
        format!("No blank can be drawn of this neck: {error}."),
    )]
}

/// A sheet that a blank does not go on, whichever way it is turned.
fn too_large(corners: &[DVec2], sheet: &SheetFile, aim: &Aim) -> Option<Violation> {
    let extent = |angle: f64| {
        let (sin, cos) = libm::sincos(angle);
        let turned: Vec<DVec2> =
            corners.iter().map(|at| DVec2::new(cos, sin).rotate(*at)).collect();
        let (low, high) = super::lay::bounds(&turned);
        high - low + 2.0 * sheet.margin_mm
    };
    let directions = match sheet.angles {
        Angles::Any => DIRECTIONS,
        Angles::AlongGrain => 1,
    };
    let sizes: Vec<DVec2> = (0..directions)
        .map(|k| extent(std::f64::consts::PI * f64::from(k) / f64::from(DIRECTIONS)))
        .collect();
    let room = aim.size(f64::INFINITY);
    if sizes.iter().any(|size| size.cmple(room).all()) {
        return None;
    }
    let narrowest = sizes.iter().min_by(|a, b| a.y.total_cmp(&b.y))?;
    let flat = extent(0.0);
    Some(Violation::error(
        "metal",
        serde_json::to_value(&sheet.metal).unwrap_or(Value::Null),
        format!(
            "{:.0} by {:.0} mm at least with its margins, or {:.0} by {:.0} mm",
            flat.x, flat.y, narrowest.x, narrowest.y
        ),
        "The blank does not go on this sheet, whichever way it is turned.",
    ))
}
