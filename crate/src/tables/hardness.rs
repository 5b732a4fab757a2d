//! Hardness of the metals by temper.

use super::metals::Metal;
use super::strength::reduction;
use super::tempers::Temper;
use super::{Source, Status};

/// Hardness on record for a metal: scale, and figures from soft to hard.
#[derive(Clone, Debug, PartialEq)]
pub struct Hardness {
    /// `HV` (Vickers) or `HRB` (Rockwell B).
    pub scale: &'static str,
    pub rows: Vec<(Temper, (f64, f64))>,
    pub source: Source,
}

/// Hardness by temper; `None` where no source is at hand.
#[must_use]
pub fn hardness(metal: Metal) -> Option<Hardness> {
    use Temper::{Annealed, ExtraHard, HalfHard, Hard, Spring};
    let one = |value: f64| (value, value);
    match metal {
        Metal::C26000 => Some(Hardness {
            scale: "HV",
            rows: vec![(Annealed, (55.0, 65.0)), (Hard, one(150.0)), (Spring, one(180.0))],
            source: Source { title: "usual figures for cartridge brass", status: Status::Memory },
        }),
        Metal::C51000 => Some(Hardness {
            scale: "HRB",
            rows: vec![
                (Annealed, one(28.0)),
                (HalfHard, one(78.0)),
                (Hard, one(87.0)),
                (ExtraHard, one(93.0)),
                (Spring, one(95.0)),
            ],
            source: Source {
                title: "Copper Development Association, C51000 (soft row: OS035)",
                status: Status::Read,
            },
        }),
        _ => None,
    }
}

/// Hardness after a reduction of thickness, as a share: scale, least and greatest, source. Straight between the neighbouring
/// tempers of the table.
///
/// # Errors
///
/// Why it is not known; nothing is carried on past the table.
pub fn hardness_after(
    metal: Metal,
    share: f64,
) -> Result<(&'static str, (f64, f64), Source), String> {
    let Some(found) = hardness(metal) else {
        return Err(format!("no hardness of {} with a source is at hand", metal.name()));
    };
    let known: Vec<(f64, (f64, f64))> = found
        .rows
        .iter()
        .filter_map(|(temper, value)| Some((reduction(*temper)?, *value)))
        .collect();
    for pair in known.windows(2) {
        let ((a, low), (b, high)) = (pair[0], pair[1]);
        if (a..=b).contains(&share) {
            let part = (share - a) / (b - a);
            let between = |low: f64, high: f64| low + (high - low) * part;
            let range = (between(low.0, high.0), between(low.1, high.1));
            return Ok((found.scale, range, found.source));
        }
    }
    Err(format!(
        "the hardness table of {} does not reach a reduction of {:.1} %",
        metal.name(),
        share * 100.0
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: C51000 half hard is printed as HRB 78 (CDA, read).
    #[test]
    fn figures_stand_at_their_tempers() {
        let half = reduction(Temper::HalfHard).expect("counted");
        let (scale, range, _) = hardness_after(Metal::C51000, half).expect("on record");
        assert_eq!((scale, range), ("HRB", (78.0, 78.0)));
        assert!(hardness_after(Metal::C51000, 0.7).is_err());
        assert!(hardness_after(Metal::C22000, 0.1).is_err());
        assert_eq!(hardness_after(Metal::C26000, 0.0).map(|found| found.1), Ok((55.0, 65.0)));
    }
}
