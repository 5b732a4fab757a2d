//! Hinge and tenon beside the fits of ISO 286.

use crate::job::Job;
use crate::tables::fits::FITS;

use super::Finding;

pub(super) fn findings(job: &Job) -> Vec<Finding> {
    let hinge = &job.hinge;
    let limits = &job.limits;
    let screw = 2.0 * hinge.radial_clearance_mm;
    let tenon = job.horn.receiver_bore_mm - job.tenon.outer_diameter_mm;
    vec![
        Finding::new(
            "hinge_clearance",
            "clearance of the hinge screw in hinge tube and clear post, on the diameter",
            screw,
            "mm",
            &format!(
                "{} A slop of 0.05 mm and more counts as worn (a repairer's figure, read).",
                beside(hinge.screw_diameter_mm, screw)
            ),
        )
        .at_least(2.0 * limits.running_min_mm)
        .at_most(2.0 * limits.running_max_mm),
        Finding::new(
            "end_play",
            "end play of the hinge tube between the posts, at each end",
            hinge.end_play_mm,
            "mm",
            "Against the limits of a running fit in the job.",
        )
        .at_least(limits.running_min_mm)
        .at_most(limits.running_max_mm),
        Finding::new(
            "tenon_clearance",
            "clearance of the tenon in the receiver, on the diameter, clamp loose",
            tenon,
            "mm",
            &format!(
                "{} By hand a tenon is fitted to 0.01 to 0.03 mm on the diameter (from memory).",
                beside(job.tenon.outer_diameter_mm, tenon)
            ),
        )
        .at_least(2.0 * limits.fit_min_mm)
        .at_most(2.0 * limits.fit_max_mm),
    ]
}

/// How a clearance stands beside the fits of ISO 286, in a sentence.
fn beside(nominal_mm: f64, clearance_mm: f64) -> String {
    let rows: Vec<String> = FITS
        .iter()
        .filter_map(|fit| {
            let (least, greatest) = fit.clearance_mm(nominal_mm)?;
            let place = if clearance_mm > greatest {
                "looser than"
            } else if clearance_mm < least {
                "tighter than"
            } else {
                "within"
            };
            Some(format!(
                "{place} {} {} ({:.0} to {:.0} µm)",
                fit.name,
                fit.kind,
                least * 1000.0,
                greatest * 1000.0
            ))
        })
        .collect();
    if rows.is_empty() {
        format!("ISO 286 is not on record here for {nominal_mm} mm.")
    } else {
        format!("ISO 286 at {nominal_mm} mm: {}.", rows.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: H7/g6 of 18 to 30 mm is 7 to 41 µm, H7/h6 0 to 34 and H8/f7 20 to 74 (worked out from printed limits).
    #[test]
    fn a_tenon_beside_the_fits() {
        let said = beside(24.5, 0.015);
        assert!(said.contains("tighter than H8/f7 close running (20 to 74 µm)"), "{said}");
        assert!(said.contains("within H7/g6 sliding (7 to 41 µm)"), "{said}");
        assert!(beside(24.5, 0.05).contains("looser than H7/h6 snug (0 to 34 µm)"));
        assert!(beside(45.0, 0.05).contains("not on record"));
    }
}
