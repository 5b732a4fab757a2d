//! The blanks of one or several orders on a sheet: read, checked, and ready to be laid.

use glam::DVec2;
use serde_json::Value;

use crate::job::Violation;
use crate::parts::build_from_text;

use super::lay::{Aim, Laying, Rules, Shape, Shapes};
use super::order_files::trimmed;
use super::share::{LAID, Share};
use super::sheet_file::{SheetFile, TurnedOver};

/// Half shells of several orders that are laid together at most: a round looks at every two of them.
const MOST_TOGETHER: u64 = 400;

/// Blanks of one or several orders, ready to be laid on a sheet.
#[derive(Clone, Debug)]
pub struct BlankOrder {
    /// At least one; all of the same metal and thickness.
    pub shares: Vec<Share>,
    pub sheet: SheetFile,
    /// What the maker should know, a sentence each.
    pub notes: Vec<String>,
    pub(super) aim: Aim,
    /// Of each order its right half and its left one.
    pub(super) shapes: Shapes,
    pub(super) pieces: Vec<Piece>,
}

/// A half shell that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Piece {
    /// Place of its order.
    pub(super) share: usize,
    /// Of its order's half shells, from 0: a right half, a left one, and so on.
    pub(super) number: u32,
}

impl Piece {
    fn shape(self) -> usize {
        2 * self.share + self.number as usize % 2
    }
}

impl BlankOrder {
    /// Lays a job's half shell flat and gets it ready for the sheet, as many as the sheet file asks for.
    ///
    /// # Errors
    ///
    /// Every violation at once: of the job, and of what the sheet cannot hold.
    pub fn of(job_text: &str, sheet: SheetFile) -> Result<Self, Vec<Violation>> {
        let read = build_from_text(job_text)?;
        let share = Share::of(read.job, &read.assembly, sheet.halves, &sheet)?;
        Self::together(vec![share], sheet)
    }

    /// The half shells of several jobs on the same sheet, each with how many are wanted.
    ///
    /// # Errors
    ///
    /// Every violation at once; those of the second and later jobs have paths that begin with `orders[1]`, and so on.
    pub fn of_several(jobs: &[(&str, u32)], sheet: SheetFile) -> Result<Self, Vec<Violation>> {
        let (mut shares, mut wrong, mut failed) = (Vec::new(), Vec::new(), false);
        for (place, (text, halves)) in jobs.iter().enumerate() {
            let share = build_from_text(text)
                .and_then(|read| Share::of(read.job, &read.assembly, *halves, &sheet));
            let found = match share {
                Ok(share) => {
                    let found = share.wrong_with(&sheet);
                    shares.push(share);
                    found
                }
                Err(found) => {
                    failed = true;
                    found
                }
            };
            wrong.extend(found.into_iter().map(|one| of_order(one, place)));
        }
        if failed { Err(wrong) } else { Self::together(shares, sheet) }
    }

    /// Jobs, each with how many of its half shells are wanted (else as many as the sheet file says), and the text of a sheet file.
    ///
    /// # Errors
    ///
    /// Every violation at once, of the sheet and of all jobs.
    pub fn read(jobs: &[(&str, Option<u32>)], sheet: &str) -> Result<Self, Vec<Violation>> {
        match SheetFile::read(sheet) {
            Ok(sheet) => {
                let halves = sheet.halves;
                let jobs: Vec<(&str, u32)> =
                    jobs.iter().map(|(job, wanted)| (*job, wanted.unwrap_or(halves))).collect();
                Self::of_several(&jobs, sheet)
            }
            Err(mut wrong) => {
                for (place, (job, _)) in jobs.iter().enumerate() {
                    let found = build_from_text(job).err().into_iter().flatten();
                    wrong.extend(found.map(|one| of_order(one, place)));
                }
                Err(wrong)
            }
        }
    }

    /// Half shells that were laid flat for this sheet.
    ///
    /// # Errors
    ///
    /// Every violation at once: no order, orders that are not of one metal and thickness, allowances that a bend has no room
    /// for, blanks that do not go on the sheet, gauges that lie on none of the necks.
    pub fn together(shares: Vec<Share>, sheet: SheetFile) -> Result<Self, Vec<Violation>> {
        let Some(first) = shares.first() else {
            return Err(vec![Violation::error(
                "orders",
                Value::Null,
                "one at least",
                "There is nothing to lay on the sheet.",
            )]);
        };
        let mut wrong = Vec::new();
        let halves: u64 = shares.iter().map(|share| u64::from(share.halves)).sum();
        if shares.len() > 1 && halves > MOST_TOGETHER {
            wrong.push(Violation::error(
                "orders",
                halves,
                format!("at most {MOST_TOGETHER} half shells of all orders together"),
                "A lay of more takes longer than anybody waits.",
            ));
        }
        for (place, share) in shares.iter().enumerate() {
            let found = share.wrong_with(&sheet).into_iter().chain(other_sheet(first, share));
            wrong.extend(found.map(|one| of_order(one, place)));
        }
        for (index, &station) in sheet.gauges_at_mm.iter().enumerate() {
            let on = |share: &Share| {
                let [from, to] = share.blank.stations_mm;
                (from..=to).contains(&station)
            };
            if !shares.iter().any(on) {
                let [from, to] = first.blank.stations_mm;
                wrong.push(Violation::error(
                    format!("gauges_at_mm[{index}]"),
                    station,
                    format!("{from} to {to:.1} mm"),
                    "The half shell ends there.",
                ));
            }
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let reach = sheet.spacing_mm.max(1.0) + 1.0;
        let (mut all, mut mirrors) = (Vec::new(), Vec::new());
        for share in &shares {
            let left: Vec<DVec2> = share.corners.iter().map(|at| DVec2::new(-at.x, at.y)).collect();
            let right = all.len();
            all.extend([Shape::new(&share.corners, reach), Shape::new(&left, reach)]);
            mirrors.extend(match sheet.turned_over {
                TurnedOver::Allowed => [Some(right + 1), Some(right)],
                TurnedOver::NotAllowed => [None, None],
            });
        }
        let notes = notes(&shares, &sheet);
        let (pieces, aim) = (taking_turns(&shares), sheet.aim());
        Ok(Self { shares, sheet, notes, aim, shapes: Shapes { all, mirrors }, pieces })
    }

    /// Starts to lay the half shells asked for.
    #[must_use]
    pub fn laying(&self, seed: u32) -> Laying {
        let shapes = self.shapes.clone();
        let pieces = self.pieces.iter().map(|piece| piece.shape()).collect();
        let asked = self.sheet.rules();
        let rules =
            Rules { spacing: asked.spacing + 2.0 * LAID, margin: asked.margin + LAID, ..asked };
        Laying::new(shapes, pieces, rules, self.aim.clone(), u64::from(seed))
    }

    /// The first order, after which files are called.
    pub(super) fn first(&self) -> &Share {
        &self.shares[0]
    }
}

/// Half shells of several orders in the order in which room is looked for them: each order's share of the first few is about
/// its share of all, so that sheets laid alike hold all of them.
fn taking_turns(shares: &[Share]) -> Vec<Piece> {
    let mut pieces: Vec<(f64, Piece)> = Vec::new();
    for (share, of) in shares.iter().enumerate() {
        // By pairs, which make a neck.
        let when = |number: u32| f64::from(number / 2 * 2 + 1) / f64::from(of.halves + 1);
        pieces.extend((0..of.halves).map(|number| (when(number), Piece { share, number })));
    }
    pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
    pieces.into_iter().map(|(_, piece)| piece).collect()
}

fn notes(shares: &[Share], sheet: &SheetFile) -> Vec<String> {
    let mut notes = vec![
        "The outline is of finished size with the allowances given; kerf is left to who cuts it.".to_owned(),
        "Strains are those of the gentlest forming there could be: an estimate. Try one pair before cutting a sheet.".to_owned(),
    ];
    if sheet.spacing_mm == 0.0 {
        notes.push(
            "Spacing is 0: blanks may touch, and whatever cuts them takes metal from both."
                .to_owned(),
        );
    }
    notes.extend(shares.iter().filter_map(|share| share.costs.rounds.beyond.clone()));
    notes
}

/// A violation of one of several orders. The first is meant where none is named.
fn of_order(found: Violation, place: usize) -> Violation {
    if place == 0 {
        return found;
    }
    let dot = if found.path.is_empty() { "" } else { "." };
    Violation { path: format!("orders[{place}]{dot}{}", found.path), ..found }
}

/// An order that is not to be cut from the metal of the first one.
fn other_sheet(first: &Share, share: &Share) -> Option<Violation> {
    let stock =
        |share: &Share| format!("{}, {} mm", share.metal.id(), trimmed(share.blank.thickness_mm));
    (stock(first) != stock(share)).then(|| {
        Violation::error(
            "tube",
            stock(share),
            stock(first),
            "All blanks of a sheet are of its metal and its thickness.",
        )
    })
}
