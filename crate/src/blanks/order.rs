//! The blanks of one or several orders on a sheet: what the maker asks, answered with blanks, costs, gauges and lay, and their files.

use glam::DVec2;
use serde::Serialize;
use serde_json::Value;

use crate::exports::outline_file::{self, OutlineFile, Words};
use crate::exports::paper::{Drawing, PaperSize, Pen, pdf, tiled};
use crate::geometry::contour::Contour;
use crate::job::Violation;
use crate::parts::build_from_text;
use crate::units::deg_from_rad;

use super::lay::{Aim, Ground, Lay, Laying, Place, Rules, Shape, Shapes};
use super::share::{LAID, Share};
use super::sheet_file::{SheetFile, TurnedOver};
use super::strain_file::StrainReport;

/// Height of words beside the outlines, and from line to line, mm.
const WORDS: (f64, f64) = (3.0, 5.0);

/// Room between gauges, and between sheets in the file of a lay, mm.
const ROOM: f64 = 15.0;

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
    aim: Aim,
    /// Of each order its right half and its left one.
    shapes: Shapes,
    pieces: Vec<Piece>,
}

/// A half shell that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Piece {
    /// Place of its order.
    share: usize,
    /// Of its order's half shells, from 0: a right half, a left one, and so on.
    number: u32,
}

impl Piece {
    fn shape(self) -> usize {
        2 * self.share + self.number as usize % 2
    }
}

/// What of an order was laid.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct LaidShare {
    pub order: String,
    /// Half shells asked for and laid.
    pub asked: u32,
    pub pieces: u32,
    /// Area of one blank, mm².
    pub blank_area_mm2: f64,
}

/// Where a blank lies: the blank's own drawing, mirrored across its y axis if so said, turned counter-clockwise, then moved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Placement {
    /// Number of the sheet, from 0.
    pub sheet: u32,
    /// Number of the order, from 0.
    pub order: u32,
    /// Number of the half shell among those of its order, from 0: even ones are right halves, odd ones left.
    pub piece: u32,
    pub x_mm: f64,
    pub y_mm: f64,
    pub angle_deg: f64,
    pub mirrored: bool,
}

/// What `lay.json` says.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct LayReport {
    pub format: String,
    /// The first order.
    pub order: String,
    pub sheet: SheetFile,
    pub seed: u32,
    /// Rounds of the search: the same seed and as many rounds give the same lay.
    pub rounds: u32,
    /// Half shells asked for and laid.
    pub asked: u32,
    pub pieces: u32,
    pub sheets: u32,
    /// Length of strip, mm; null on sheets.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub length_mm: Option<f64>,
    /// Area of one blank, of the first order, mm².
    pub blank_area_mm2: f64,
    pub orders: Vec<LaidShare>,
    /// Area of the blanks over that of the metal they come from.
    #[serde(rename = "yield")]
    pub yielded: f64,
    /// Mass of the metal bought and of what is no blank, g.
    pub bought_g: f64,
    pub wasted_g: f64,
    /// Of the last sheet, what is left whole beyond the last blank and the margin, over the full width: its length, mm; null on
    /// a strip, and on an off-cut, whose width is not the same everywhere.
    #[cfg_attr(target_arch = "wasm32", tsify(type = "number | null"))]
    pub off_cut_mm: Option<f64>,
    pub placements: Vec<Placement>,
    pub notes: Vec<String>,
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

    /// What is to be said of a lay.
    #[must_use]
    pub fn report(&self, laying: &Laying, seed: u32) -> LayReport {
        let none = Lay { sheets: Vec::new(), length: None };
        let lay = laying.best().unwrap_or(&none);
        let pieces: usize = lay.sheets.iter().map(Vec::len).sum();
        let orders = self.laid_shares(lay);
        let used: f64 =
            orders.iter().map(|order| order.blank_area_mm2 * f64::from(order.pieces)).sum();
        let metal_area = match &self.aim {
            Aim::Most { ground } | Aim::Fewest { ground } => {
                ground.area() * lay.sheets.len() as f64
            }
            Aim::Shortest { width } => width * lay.length.unwrap_or_default(),
        };
        let first = self.first();
        // mm³ to cm³.
        let grams =
            |area: f64| area * first.blank.thickness_mm * first.metal.density_g_cm3() / 1000.0;
        let mut notes = self.notes.clone();
        if pieces < self.pieces.len() {
            notes.push(format!(
                "{pieces} of {} half shells were laid in {} rounds; more rounds may lay more.",
                self.pieces.len(),
                laying.steps()
            ));
        }
        LayReport {
            format: "neckwright-lay/1".to_owned(),
            order: first.job.order.number.clone(),
            sheet: self.sheet.clone(),
            seed,
            rounds: u32::try_from(laying.steps()).unwrap_or(u32::MAX),
            asked: self.pieces.len() as u32,
            pieces: pieces as u32,
            sheets: lay.sheets.len() as u32,
            length_mm: lay.length,
            blank_area_mm2: first.blank.outline.area(),
            orders,
            yielded: if metal_area > 0.0 { used / metal_area } else { 0.0 },
            bought_g: grams(metal_area),
            wasted_g: grams((metal_area - used).max(0.0)),
            off_cut_mm: self.off_cut(lay),
            placements: self.placements(lay),
            notes,
        }
    }

    /// The first order, after which files are called.
    fn first(&self) -> &Share {
        &self.shares[0]
    }

    fn laid_shares(&self, lay: &Lay) -> Vec<LaidShare> {
        let laid = |share: usize| {
            let all = lay.sheets.iter().flatten();
            all.filter(|(piece, _)| self.pieces[*piece].share == share).count() as u32
        };
        let numbered = self.shares.iter().enumerate();
        numbered
            .map(|(place, share)| LaidShare {
                order: share.job.order.number.clone(),
                asked: share.halves,
                pieces: laid(place),
                blank_area_mm2: share.blank.outline.area(),
            })
            .collect()
    }

    fn off_cut(&self, lay: &Lay) -> Option<f64> {
        let Ground::Rectangle { size } = self.aim.ground()? else { return None };
        let last = lay.sheets.last()?;
        let ends = last.iter().map(|(_, place)| {
            super::lay::laid(&self.shapes, place).iter().map(|at| at.x).fold(0.0, f64::max)
        });
        Some((size.x - ends.fold(0.0, f64::max) - self.sheet.margin_mm).max(0.0))
    }

    fn placements(&self, lay: &Lay) -> Vec<Placement> {
        let numbered = lay.sheets.iter().enumerate();
        let all =
            numbered.flat_map(|(sheet, pieces)| pieces.iter().map(move |piece| (sheet, piece)));
        all.map(|(sheet, (piece, place))| {
            let origin = self.origin(place);
            Placement {
                sheet: sheet as u32,
                order: self.pieces[*piece].share as u32,
                piece: self.pieces[*piece].number,
                x_mm: origin.x,
                y_mm: origin.y,
                angle_deg: deg_from_rad(place.angle).rem_euclid(360.0),
                mirrored: place.shape % 2 == 1,
            }
        })
        .collect()
    }

    /// Where the origin of the blank's drawing lies.
    fn origin(&self, place: &Place) -> DVec2 {
        place.forth(-self.shapes.all[place.shape].middle)
    }

    /// A line of the blank where it lies.
    fn laid(&self, place: &Place, line: &Contour) -> Contour {
        let middle = self.shapes.all[place.shape].middle;
        if place.shape % 2 == 1 {
            mirrored(line).moved(|at| place.forth(at - middle))
        } else {
            line.moved(|at| place.forth(at - middle))
        }
    }

    /// The files of blanks and gauges by name, and of the lay if one was started. Those of the second and later orders carry
    /// their number: `blank_2.dxf`.
    ///
    /// # Errors
    ///
    /// Text that cannot be written, which no order has.
    pub fn files(
        &self,
        laying: Option<&Laying>,
        seed: u32,
        paper: PaperSize,
    ) -> Result<Vec<(String, Vec<u8>)>, serde_json::Error> {
        let (mut files, mut printed) = (Vec::new(), Vec::new());
        for (place, share) in self.shares.iter().enumerate() {
            let number = if place == 0 { String::new() } else { format!("_{}", place + 1) };
            let drawn = [("blank", blank_file(share, &self.sheet)), ("gauges", gauge_file(share))];
            for (name, file) in drawn {
                files.push((format!("{name}{number}.dxf"), outline_file::dxf(&file)));
                files.push((format!("{name}{number}.svg"), outline_file::svg(&file)));
                printed.extend(tiled(&drawing(&file), paper));
            }
            files.push((format!("strain{number}.json"), json(&StrainReport::of(share))?));
        }
        if let Some(laying) = laying {
            let none = Lay { sheets: Vec::new(), length: None };
            let lay = laying.best().unwrap_or(&none);
            let sheets = self.lay_file(lay);
            files.push(("lay.dxf".to_owned(), outline_file::dxf(&sheets)));
            files.push(("lay.svg".to_owned(), outline_file::svg(&sheets)));
            files.push(("lay.json".to_owned(), json(&self.report(laying, seed))?));
            printed.extend(tiled(&drawing(&sheets), paper));
        }
        let title = format!("Blanks of order {}", self.first().job.order.number);
        files.push(("print.pdf".to_owned(), pdf(&title, &printed)));
        Ok(files)
    }

    /// The number of a half shell, from 1, and which half it is, written in the middle of its side line.
    fn number(&self, piece: usize, place: &Place, shift: DVec2) -> Option<Words> {
        let Piece { share, number } = *self.pieces.get(piece)?;
        let half = if place.shape % 2 == 1 { "L" } else { "R" };
        let order = if self.shares.len() > 1 { letter(share) } else { String::new() };
        let text = format!("{order}{} {half}", number + 1);
        let line = self.laid(place, &self.shares.get(share)?.blank.side_line);
        let corners = line.flattened(LAID);
        let middle = *corners.get(corners.len() / 2)?;
        // A letter is about as wide as two thirds of its height.
        let size = DVec2::new(text.len() as f64 * WORDS.0 * 0.65, WORDS.0);
        Some(Words { at: middle + shift - size / 2.0, height_mm: WORDS.0, text })
    }

    fn lay_file(&self, lay: &Lay) -> OutlineFile {
        let first = self.first();
        let mut file = OutlineFile {
            title: format!("blanks of order {} on {}", first.job.order.number, self.sheet.name),
            ..OutlineFile::default()
        };
        let size = self.aim.size(lay.length.unwrap_or_default());
        for (number, pieces) in lay.sheets.iter().enumerate() {
            let shift = DVec2::new(0.0, -(number as f64) * (size.y + 2.0 * ROOM));
            match self.aim.ground() {
                Some(Ground::Offcut { border, holes, .. }) => {
                    for ring in holes.iter().chain([border]) {
                        file.note.push(Contour::through(ring, true).moved(|at| at + shift));
                    }
                }
                _ => {
                    let corners =
                        [DVec2::ZERO, DVec2::new(size.x, 0.0), size, DVec2::new(0.0, size.y)];
                    file.note.push(Contour::through(&corners, true).moved(|at| at + shift));
                }
            }
            let text = format!(
                "{}, sheet {} of {}: {} blanks, {} mm, {} x {} mm",
                self.sheet.name,
                number + 1,
                lay.sheets.len(),
                pieces.len(),
                trimmed(first.blank.thickness_mm),
                trimmed(size.x),
                trimmed(size.y)
            );
            file.words.push(Words {
                at: shift - DVec2::new(0.0, WORDS.1),
                height_mm: WORDS.0,
                text,
            });
            for (piece, place) in pieces {
                let lay = |line: &Contour| self.laid(place, line).moved(|at| at + shift);
                let blank = &self.shares[place.shape / 2].blank;
                file.cut.push(lay(&blank.outline));
                file.mark.extend(blank.finished.iter().map(lay));
                file.words.extend(self.number(*piece, place, shift));
            }
        }
        file
    }
}

/// What order a half shell is of, where there are several: A, B and so on.
fn letter(share: usize) -> String {
    u8::try_from(share)
        .ok()
        .filter(|share| *share < 26)
        .map_or_else(|| format!("{} ", share + 1), |share| format!("{} ", char::from(b'A' + share)))
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

/// The blank of an order as a file for whoever cuts it.
fn blank_file(share: &Share, sheet: &SheetFile) -> OutlineFile {
    let (low, _) = share.blank.outline.bounds();
    let order = &share.job.order;
    let allowances = &sheet.allowances;
    let lines = [
        format!(
            "Half shell, right; the left one is this one turned over. Order {}, serial {}, revision {}",
            order.number, order.serial, order.revision
        ),
        format!(
            "{} {}, {} mm",
            share.metal.id(),
            share.metal.name(),
            trimmed(share.blank.thickness_mm)
        ),
        format!(
            "Left on: seams {} mm, ends {} mm. mm, 1:1. Cork end left; stations every 10 mm",
            trimmed(allowances.seam_mm),
            trimmed(allowances.trim_mm + allowances.clamping_mm)
        ),
    ];
    OutlineFile {
        title: format!("blank of order {}", order.number),
        cut: vec![share.blank.outline.clone()],
        mark: share.blank.marks().cloned().collect(),
        note: Vec::new(),
        words: words(&lines, low),
    }
}

fn gauge_file(share: &Share) -> OutlineFile {
    let mut file = OutlineFile {
        title: format!("gauges of order {}", share.job.order.number),
        ..OutlineFile::default()
    };
    let mut next = 0.0;
    for gauge in &share.gauges {
        let (low, high) = gauge.outline.bounds();
        let shift = DVec2::new(-low.x, next - low.y);
        file.cut.push(gauge.outline.moved(|at| at + shift));
        let at = DVec2::new(0.0, next - WORDS.1);
        file.words.push(Words { at, height_mm: WORDS.0, text: gauge.words.clone() });
        next += high.y - low.y + ROOM;
    }
    file
}

fn json<T: Serialize>(value: &T) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(value)?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn words(lines: &[String], low: DVec2) -> Vec<Words> {
    let at = |line: usize| low - DVec2::new(0.0, WORDS.1 * (line as f64 + 1.5));
    let numbered = lines.iter().enumerate();
    numbered
        .map(|(line, text)| Words { at: at(line), height_mm: WORDS.0, text: text.clone() })
        .collect()
}

/// A contour mirrored across the y axis: arcs bend the other way.
fn mirrored(line: &Contour) -> Contour {
    let mut line = line.clone();
    for vertex in &mut line.vertices {
        vertex.at.x = -vertex.at.x;
        vertex.bulge = -vertex.bulge;
    }
    line
}

/// A length without needless zeros.
fn trimmed(length: f64) -> String {
    let text = format!("{length:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The file as it is printed: cut lines bold, marks thin.
fn drawing(file: &OutlineFile) -> Drawing {
    let pens = [
        (&file.cut, Pen::solid(0.35)),
        (&file.mark, Pen::solid(0.13)),
        (&file.note, Pen::solid(0.18)),
    ];
    let lines = pens
        .into_iter()
        .flat_map(|(lines, pen)| lines.iter().cloned().map(move |line| (line, pen)));
    let words = file.words.iter().map(|words| (words.at, words.height_mm, words.text.clone()));
    Drawing { title: file.title.clone(), lines: lines.collect(), words: words.collect() }
}
