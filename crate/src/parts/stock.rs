//! What each part is made from, and which fields of a job say so.

use crate::job::Job;
use crate::tables::stock::Form;
use crate::tables::tempers::Temper;

/// What one part is made from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    pub form: Form,
    /// Temper it is usually ordered in: soft for what is formed, half hard for what is turned or stays flat (common
    /// practice, no source).
    pub temper: Temper,
    /// Field of a job that names the metal; none where there is no choice.
    pub metal_field: Option<&'static str>,
    /// Field of a job that gives the thickness of the sheet; none for what is not of sheet.
    pub thickness_field: Option<&'static str>,
    /// That thickness.
    pub thickness_mm: Option<f64>,
}

/// What a part or half of the tube is made from; none for an id that is no part's.
#[must_use]
pub fn stock(id: &str, job: &Job) -> Option<Stock> {
    let sheet = |temper, metal_field, thickness_field, thickness_mm| Stock {
        form: Form::Sheet,
        temper,
        metal_field: Some(metal_field),
        thickness_field: Some(thickness_field),
        thickness_mm: Some(thickness_mm),
    };
    let other = |form, temper, metal_field| Stock {
        form,
        temper,
        metal_field,
        thickness_field: None,
        thickness_mm: None,
    };
    let turned = |field| other(Form::Rod, Temper::HalfHard, Some(field));
    let formed = Temper::Annealed;
    Some(match id {
        "tube" | "half_left" | "half_right" => {
            sheet(formed, "tube.metal", "tube.wall_mm", job.tube.wall_mm())
        }
        "tenon" => turned("tenon.metal"),
        "end_ring" => turned("end_ring.metal"),
        "vent" => turned("vent.metal"),
        "post_left" | "post_right" => turned("posts.metal"),
        "pad_cup" => turned("pad_cup.metal"),
        "hinge_tube" => other(Form::Tubing, Temper::HalfHard, Some("hinge.tube_metal")),
        "hinge_screw" => other(Form::Rod, Temper::AsSold, Some("hinge.screw_metal")),
        "rod_loop" => other(Form::Rod, formed, Some("rod_loop.metal")),
        "spring_screw" => other(Form::Bought, Temper::AsSold, Some("spring_screw.metal")),
        "cork" | "pad" => other(Form::Bought, Temper::AsSold, None),
        "brace" => sheet(formed, "brace.metal", "brace.thickness_mm", job.brace.thickness_mm),
        "saddle" => sheet(formed, "saddle.metal", "saddle.thickness_mm", job.saddle.thickness_mm),
        "guide" => {
            sheet(formed, "guide.metal", "guide.strip_thickness_mm", job.guide.strip_thickness_mm)
        }
        "badge" => {
            sheet(formed, "badge.metal", "badge.thickness_mm", job.badge.as_ref()?.thickness_mm)
        }
        "key_arm" => {
            sheet(Temper::HalfHard, "key.metal", "key.arm_thickness_mm", job.key.arm_thickness_mm)
        }
        "spring" => {
            sheet(Temper::Spring, "spring.metal", "spring.thickness_mm", job.spring.thickness_mm)
        }
        _ => return None,
    })
}
