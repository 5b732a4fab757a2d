//! Lift, travel, leverage, pad and spring of the octave key.

use crate::job::Job;
use crate::parts::{Action, NoLift};
use crate::units::deg_from_rad;

use super::Finding;

/// Greatest angle of the hinge off the rim's plane at which a pad still lands flat enough, degrees
/// (common practice, no source).
const FLAT_DEG: f64 = 10.0;

/// Why a pin lifts nothing.
const INWARD: &str = "None: where the pin meets it, the loop does not move outward as the key opens, so the pin would shut the key.";

pub(super) fn findings(job: &Job, action: &Action) -> Vec<Finding> {
    let lift = action.lift;
    let travel = Finding::new(
        "loop_travel",
        "way of the loop at the octave pin while the pad rises by the lift",
        action.loop_travel,
        "mm",
        "Outward from the tenon's axis, where the pin meets the loop: more than nothing, or the pin would not open the key, and no more than the pin's travel less its rest gap.",
    )
    .at_least(0.0)
    .at_most(action.pin_travel);
    // A loop that stays where it is lifts as little as one that moves inward.
    let travel =
        if action.leverage.is_none() { Finding { ok: Some(false), ..travel } } else { travel };
    let mut out = vec![
        Finding::new(
            "open_angle",
            "turn of the key from closed to open",
            deg_from_rad(action.open_angle),
            "°",
            "From the lift asked for and where hinge and vent stand.",
        ),
        Finding::new(
            "lift",
            "lift of the pad, asked for",
            lift,
            "mm",
            "At least a quarter of the vent's bore: the opening round the rim is then as large as the bore. A rule of thumb, not acoustics.",
        )
        .at_least(action.rule_of_thumb_lift),
        travel,
    ];
    let leverage = "rise of the pad for one millimetre of the pin";
    out.push(match action.leverage {
        Some(value) => {
            Finding::new("leverage", leverage, value, "mm/mm", "Lift over the loop's way.")
        }
        None => Finding::unknown("leverage", leverage, "mm/mm", INWARD),
    });
    let available = "lift that the pin's travel gives";
    let none = |why| Finding::failed("available_lift", available, "mm", why);
    out.push(match action.available_lift {
        Ok(available_lift) => Finding::new(
            "available_lift",
            available,
            available_lift,
            "mm",
            "From the pin's travel on the horn less its rest gap. No less than the lift asked for.",
        )
        .at_least(lift),
        Err(NoLift::PinStaysShort) => none(
            "None: the pin's travel is no more than its rest gap, so it does not reach the loop.",
        ),
        Err(NoLift::LoopMovesInward) => none(INWARD),
        Err(NoLift::LoopComesBack) => Finding::unknown(
            "available_lift",
            available,
            "mm",
            "Not known: however far the key turned, the loop would come back before it has moved by the pin's travel.",
        ),
    });
    out.push(
        Finding::new(
            "hinge_off_rim",
            "hinge off the plane of the vent's rim, as seen from the vent",
            deg_from_rad(action.hinge_off_rim),
            "°",
            "A pad lands on the whole rim at once only if the hinge lies in its plane. Up to 10° felt gives way (common practice, no source).",
        )
        .at_most(FLAT_DEG),
    );
    out.push(
        Finding::new(
            "rim_margin",
            "pad past the vent's rim all round",
            action.rim_margin,
            "mm",
            "Radius of the pad less radius of the vent. The margin asked for stands in the job.",
        )
        .at_least(job.pad.rim_margin_mm),
    );
    out.extend(spring(job, action));
    out
}

fn spring(job: &Job, action: &Action) -> [Finding; 2] {
    let (tip, pad) = ("force of the spring's tip on the tube", "force of the pad on the vent");
    match (action.tip_force, action.pad_force) {
        (Some(tip_force), Some(pad_force)) => [
            Finding::new(
                "tip_force",
                tip,
                tip_force,
                "N",
                "Strip held at its seat and bent at its tip by its set: F = 3 E I d / L³. An estimate: thickness enters with its third power, so 0.02 mm of it changes a tenth to a sixth.",
            ),
            Finding::new(
                "pad_force",
                pad,
                pad_force,
                "N",
                "The tip's force by its lever to the hinge over the pad's, key closed. The force asked for stands in the job; friction is left out.",
            )
            .at_least(job.spring.pad_force_n),
        ],
        _ => {
            let why = "Not known: there is no stiffness on record for the spring's material.";
            [
                Finding::unknown("tip_force", tip, "N", why),
                Finding::unknown("pad_force", pad, "N", why),
            ]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};
    use crate::parts::Assembly;

    /// A loop that stays where it is gives no lift: its way must not read as right beside a lift that fails.
    #[test]
    fn a_loop_that_does_not_move_fails_with_the_lift_it_does_not_give() {
        let job = starting_job(Voice::Alto).expect("alto");
        let usual = Assembly::build(&job).expect("keeps every rule").action;
        let still = Action {
            loop_travel: 0.0,
            leverage: None,
            available_lift: Err(NoLift::LoopMovesInward),
            ..usual
        };
        for (action, ok) in [(usual, true), (still, false)] {
            let found = findings(&job, &action);
            for id in ["loop_travel", "available_lift"] {
                let one = found.iter().find(|finding| finding.id == id).expect("is told");
                assert_eq!(one.ok, Some(ok), "{one:?}");
            }
        }
    }
}
