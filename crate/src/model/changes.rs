//! Single changes a maker can make to a part that is in the way, or to the gap that parts are
//! fitted with.

use crate::checks::Relation;

/// A change of one or more fields by the same amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Parts that it moves or shapes.
    parts: &'static [&'static str],
    /// Parameter paths.
    pub fields: &'static [&'static str],
    pub unit: &'static str,
    /// What is done with more, and with less.
    pub more: &'static str,
    pub less: &'static str,
    /// What else it changes that no check can judge.
    pub caution: Option<&'static str>,
    /// What two parts must be to each other for it to be of use.
    between: &'static [Relation],
}

/// Parts that are not fitted to each other: where they stand decides.
const APART: &[Relation] = &[Relation::Free, Relation::Seat, Relation::Thread];

/// Of a vent that is moved.
const SOUND: &str = "where the vent stands decides how the upper register speaks";

const SADDLE: &[&str] = &[
    "saddle",
    "post_left",
    "post_right",
    "hinge_tube",
    "hinge_screw",
    "key_arm",
    "spring",
    "spring_screw",
    "screwdriver_path",
];
const POSTS: &[&str] = &["post_left", "post_right"];
const ARM: &[&str] = &["key_arm"];
const LIFTED: &[&str] = &[
    "post_left",
    "post_right",
    "hinge_tube",
    "hinge_screw",
    "key_arm",
    "pad_cup",
    "pad",
    "spring",
    "spring_screw",
    "screwdriver_path",
];

const fn mm(
    parts: &'static [&'static str],
    fields: &'static [&'static str],
    more: &'static str,
    less: &'static str,
) -> Change {
    Change { parts, fields, unit: "mm", more, less, caution: None, between: APART }
}

/// A change of the gap that parts are fitted with.
const fn fit(
    parts: &'static [&'static str],
    fields: &'static [&'static str],
    more: &'static str,
    less: &'static str,
    between: &'static [Relation],
) -> Change {
    Change { between, ..mm(parts, fields, more, less) }
}

const fn deg(
    parts: &'static [&'static str],
    fields: &'static [&'static str],
    more: &'static str,
    less: &'static str,
) -> Change {
    Change { unit: "deg", ..mm(parts, fields, more, less) }
}

/// Every change, each part's placing before its shape.
const CHANGES: [Change; 36] = [
    mm(
        &["brace"],
        &["brace.from_station_mm", "brace.to_station_mm"],
        "move the brace towards the tenon",
        "move the brace towards the cork",
    ),
    mm(&["brace"], &["brace.from_station_mm"], "begin the brace later", "begin the brace earlier"),
    mm(&["brace"], &["brace.to_station_mm"], "end the brace later", "end the brace earlier"),
    mm(&["brace"], &["brace.thickness_mm"], "make the brace thicker", "make the brace thinner"),
    mm(&["brace"], &["brace.width_mm"], "make the brace wider", "make the brace narrower"),
    mm(
        &["brace"],
        &["brace.bridge_height_mm"],
        "raise the brace's bridge",
        "lower the brace's bridge",
    ),
    mm(
        SADDLE,
        &["saddle.station_mm"],
        "move the saddle with posts and key towards the tenon",
        "move the saddle with posts and key towards the cork",
    ),
    mm(LIFTED, &["posts.axis_height_mm"], "raise the hinge", "lower the hinge"),
    mm(&["saddle"], &["saddle.length_mm"], "make the saddle longer", "make the saddle shorter"),
    deg(
        &["saddle"],
        &["saddle.half_wrap_deg"],
        "wrap the saddle farther round",
        "wrap the saddle less far round",
    ),
    mm(POSTS, &["posts.diameter_mm"], "make the posts thicker", "make the posts thinner"),
    mm(
        &["post_left", "post_right", "hinge_tube", "key_arm"],
        &["hinge.tube_length_mm"],
        "set the posts farther apart",
        "set the posts nearer together",
    ),
    mm(ARM, &["key.arm_height_mm"], "make the arm higher", "make the arm lower"),
    mm(ARM, &["key.arm_thickness_mm"], "make the arm thicker", "make the arm thinner"),
    mm(ARM, &["key.gap_at_hinge_mm"], "leave more under the arm", "leave less under the arm"),
    Change {
        caution: Some(SOUND),
        ..mm(
            &["vent", "pad", "pad_cup"],
            &["vent.station_mm"],
            "move the vent towards the tenon",
            "move the vent towards the cork",
        )
    },
    mm(
        &["vent", "pad", "pad_cup", "key_arm"],
        &["vent.stand_mm"],
        "make the vent stand higher",
        "make the vent stand lower",
    ),
    mm(&["pad", "pad_cup"], &["pad.diameter_mm"], "take a larger pad", "take a smaller pad"),
    mm(
        &["pad", "pad_cup"],
        &["pad.stand_out_mm"],
        "let the pad stand out more",
        "let the pad stand out less",
    ),
    mm(
        &["pad_cup"],
        &["pad_cup.wall_mm"],
        "make the cup's side thicker",
        "make the cup's side thinner",
    ),
    mm(
        &["rod_loop"],
        &["rod_loop.reach_player_mm"],
        "open the loop towards the player",
        "close the loop on the player's side",
    ),
    mm(
        &["rod_loop"],
        &["rod_loop.reach_bell_mm"],
        "open the loop towards the bell",
        "close the loop on the bell's side",
    ),
    mm(
        &["rod_loop"],
        &["rod_loop.above_seat_mm"],
        "raise the loop over the collar's seat",
        "lower the loop over the collar's seat",
    ),
    mm(&["rod_loop"], &["rod_loop.rod_diameter_mm"], "take thicker rod", "take thinner rod"),
    mm(
        &["guide"],
        &["guide.station_mm"],
        "move the guide towards the tenon",
        "move the guide towards the cork",
    ),
    mm(&["guide"], &["guide.side_clearance_mm"], "open the guide's fork", "close the guide's fork"),
    mm(
        &["guide"],
        &["guide.prong_above_arm_mm"],
        "make the guide's prongs longer",
        "make the guide's prongs shorter",
    ),
    mm(
        &["badge"],
        &["badge.station_mm"],
        "move the badge towards the tenon",
        "move the badge towards the cork",
    ),
    deg(
        &["badge"],
        &["badge.azimuth_deg"],
        "turn the badge round the tube to the player's left",
        "turn the badge round the tube to the player's right",
    ),
    mm(&["badge"], &["badge.length_mm"], "make the badge longer", "make the badge shorter"),
    mm(&["cork"], &["cork.to_station_mm"], "end the cork later", "end the cork earlier"),
    mm(
        &["spring"],
        &["spring.seat_from_hinge_mm"],
        "seat the spring farther from the hinge",
        "seat the spring nearer to the hinge",
    ),
    fit(
        &["tube", "saddle", "key_arm", "pad_cup"],
        &["limits.joint_gap_mm"],
        "leave more room for solder and glue in all joints",
        "leave less room for solder and glue in all joints",
        &[Relation::Joint],
    ),
    fit(
        &["hinge_screw"],
        &["hinge.radial_clearance_mm"],
        "give the hinge screw more play",
        "give the hinge screw less play",
        &[Relation::Running],
    ),
    fit(
        &["hinge_tube"],
        &["hinge.end_play_mm"],
        "leave more play at the ends of the hinge tube",
        "leave less play at the ends of the hinge tube",
        &[Relation::Running],
    ),
    fit(
        &["tenon"],
        &["tenon.outer_diameter_mm"],
        "turn the tenon thicker",
        "turn the tenon thinner",
        &[Relation::Fit],
    ),
];

/// The changes that may help two parts that are this to each other.
pub(super) fn changes_for<'a>(
    a: &'a str,
    b: &'a str,
    relation: Relation,
) -> impl Iterator<Item = &'static Change> + 'a {
    CHANGES.iter().filter(move |change| {
        let concerned = change.parts.iter().any(|part| *part == a || *part == b);
        concerned && change.between.contains(&relation)
    })
}
