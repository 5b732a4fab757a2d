//! What the octave key does: what the horn's pin moves, how far the pad rises, how it lands, and
//! what the spring presses it down with.

use glam::DVec3;

use crate::job::Job;
use crate::tables::physical::physical;

use super::places::{Places, in_plane};
use super::rod_loop::Bend;
use super::spring;
use super::swing::{Swing, leads_along, turn_for};

/// Millimetres, radians, newtons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Action {
    /// Turn of the key from closed to open.
    pub open_angle: f64,
    /// Rise of the pad's middle along the vent's axis, as the job asks.
    pub lift: f64,
    /// A rule of thumb for the least lift: the opening round the rim, π d h, is then as large as the
    /// bore, π d² / 4, so h is a quarter of the bore's diameter.
    pub rule_of_thumb_lift: f64,
    /// How far the loop moves outward at the octave pin while the pad rises by the lift.
    pub loop_travel: f64,
    /// What is left of the pin's travel after the rest gap.
    pub pin_travel: f64,
    /// Rise of the pad for one millimetre of the pin, over the whole lift; none if the loop does not
    /// move outward.
    pub leverage: Option<f64>,
    /// Rise of the pad that the pin's travel gives, or why there is none.
    pub available_lift: Result<f64, NoLift>,
    /// Angle between the rim's plane and the line from the middle of the rim to the hinge: the pad meets
    /// the rim all round at once only if it is 0.
    pub hinge_off_rim: f64,
    /// How far the pad reaches past the vent's rim all round.
    pub rim_margin: f64,
    /// Force of the spring's tip on the tube, key closed; none for a strip of no known stiffness.
    pub tip_force: Option<f64>,
    /// Force of the pad on the vent that this gives.
    pub pad_force: Option<f64>,
}

/// Why the pin's travel lifts no pad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoLift {
    /// The travel does not reach past the gap between pin and loop.
    PinStaysShort,
    /// Where the pin meets it, the loop moves inward as the key opens: the pin would shut the key.
    LoopMovesInward,
    /// However far the key turned, the loop would come back before it has moved outward by the travel.
    LoopComesBack,
}

impl Action {
    pub(super) fn of(job: &Job, places: &Places, swing: &Swing, bend: &Bend) -> Self {
        let outward = -places.tenon_axis.x;
        let touched = loop_point(job, places, bend);
        let travel = |angle: f64| {
            let flat = swing.turned(in_plane(touched), angle) - in_plane(touched);
            flat.dot(in_plane(outward))
        };
        let loop_travel = travel(swing.open_angle);
        let pin_travel = job.horn.pin.travel_mm - job.horn.pin.rest_gap_mm;
        let up = in_plane(places.vent_seat.z);
        let seat = in_plane(places.vent_seat.origin);
        let rise = |angle: f64| (swing.turned(seat, angle) - seat).dot(up);
        let to_hinge = swing.hinge - seat;
        let flat = to_hinge.perp_dot(up).abs();
        let tip_force = tip_force(job);
        let arm = in_plane(touched) - swing.hinge;
        let available_lift = if pin_travel <= 0.0 {
            Err(NoLift::PinStaysShort)
        } else if loop_travel <= 0.0 || !leads_along(arm, in_plane(outward)) {
            Err(NoLift::LoopMovesInward)
        } else {
            let turn = turn_for(arm, in_plane(outward), pin_travel);
            turn.map(rise).ok_or(NoLift::LoopComesBack)
        };
        Self {
            open_angle: swing.open_angle,
            lift: job.key.lift_mm,
            rule_of_thumb_lift: job.vent.bore_mm / 4.0,
            loop_travel,
            pin_travel,
            leverage: (loop_travel > 0.0).then(|| job.key.lift_mm / loop_travel),
            available_lift,
            hinge_off_rim: libm::atan2(to_hinge.dot(up).abs(), flat),
            rim_margin: (job.pad.diameter_mm - job.vent.outer_diameter_mm) / 2.0,
            tip_force,
            pad_force: tip_force.map(|force| force * tip_arm(job, places, swing) / flat),
        }
    }
}

/// Where the octave pin meets the loop: inside of the rod, on the player's side.
fn loop_point(job: &Job, places: &Places, bend: &Bend) -> DVec3 {
    let inside = places.tenon_axis.x * (job.rod_loop.rod_diameter_mm / 2.0);
    bend.middle - bend.to_bell * bend.player + inside
}

/// Force with which the spring's tip presses on the tube: a strip held at its seat and bent at its tip by its set,
/// F = 3 E I δ / L³ with I = b t³ / 12 (handbook cantilever under an end load).
fn tip_force(job: &Job) -> Option<f64> {
    let given = &job.spring;
    let modulus = physical(given.metal)?.modulus_mpa();
    let free = given.reach_mm - given.seat_length_mm / 2.0;
    let t = given.thickness_mm;
    let stiffness = 3.0 * modulus * given.width_mm * t * t * t / 12.0 / (free * free * free);
    (stiffness.is_finite() && stiffness > 0.0).then_some(stiffness * given.set_mm)
}

/// Lever of the tip's force about the hinge: it acts square to the top of the tube.
fn tip_arm(job: &Job, places: &Places, swing: &Swing) -> f64 {
    let station = spring::tip_station(job);
    let tip = in_plane(places.neck.above(station, 0.0)) - swing.hinge;
    tip.dot(places.top_line_direction(station)).abs()
}
