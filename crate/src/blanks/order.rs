//! A job's blanks on a sheet: what the maker asks, answered with blank, costs, gauges and lay, and their files.

use glam::DVec2;
use serde::Serialize;
use serde_json::Value;

use crate::exports::outline_file::{self, OutlineFile, Words};
use crate::exports::paper::{Drawing, PaperSize, Pen, pdf, tiled};
use crate::geometry::contour::Contour;
use crate::job::{Job, Violation};
use crate::parts::{Assembly, build_from_text};
use crate::tables::metals::Metal;
use crate::units::deg_from_rad;

use super::blank::{Blank, BlankError, tube};
use super::costs::Costs;
use super::flatten::Flat;
use super::gauges::{Gauge, profile, section};
use super::lay::{Aim, Ground, Lay, Laying, Place, Rules, Shape, Shapes};
use super::sheet_file::{Angles, SheetFile, TurnedOver, crossing};

/// Chord error of the outline that is laid, mm: true arcs stand out so far from it, so distances asked for are by so much
/// greater for each side.
const LAID: f64 = 0.01;

/// Height of words beside the outlines, and from line to line, mm.
const WORDS: (f64, f64) = (3.0, 5.0);

/// Room between gauges, and between sheets in the file of a lay, mm.
const ROOM: f64 = 15.0;

/// Directions in which it is tried whether a blank goes on the sheet at all.
const DIRECTIONS: u32 = 360;

/// Blanks of a job, ready to be laid on a sheet.
#[derive(Clone, Debug)]
pub struct BlankOrder {
    pub job: Job,
    pub metal: Metal,
    pub blank: Blank,
    pub costs: Costs,
    pub gauges: Vec<Gauge>,
    pub sheet: SheetFile,
    /// What the maker should know, a sentence each.
    pub notes: Vec<String>,
    aim: Aim,
    shapes: Shapes,
    /// The shape of each half shell asked for: a right half, a left one, and so on.
    pieces: Vec<usize>,
}

/// Where a blank lies: the blank's own drawing, mirrored across its y axis if so said, turned counter-clockwise, then moved.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Placement {
    /// Number of the sheet, from 0.
    pub sheet: u32,
    /// Number of the half shell, from 0: even ones are right halves, odd ones left.
    pub piece: u32,
    pub x_mm: f64,
    pub y_mm: f64,
    pub angle_deg: f64,
    pub mirrored: bool,
}

/// What `lay.json` says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LayReport {
    pub format: String,
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
    pub length_mm: Option<f64>,
    /// Area of one blank, mm².
    pub blank_area_mm2: f64,
    /// Area of the blanks over that of the metal they come from.
    #[serde(rename = "yield")]
    pub yielded: f64,
    /// Mass of the metal bought and of what is no blank, g.
    pub bought_g: f64,
    pub wasted_g: f64,
    /// Of the last sheet, what is left whole beyond the last blank and the margin, over the full width: its length, mm; null on a strip.
    pub off_cut_mm: Option<f64>,
    pub placements: Vec<Placement>,
    pub notes: Vec<String>,
}

impl BlankOrder {
    /// Lays a job's half shell flat and gets it ready for the sheet.
    ///
    /// # Errors
    ///
    /// Every violation at once: of the job, and of what the sheet cannot hold.
    pub fn of(job_text: &str, sheet: SheetFile) -> Result<Self, Vec<Violation>> {
        let read = build_from_text(job_text)?;
        Self::built(read.job, &read.assembly, sheet)
    }

    fn built(job: Job, assembly: &Assembly, sheet: SheetFile) -> Result<Self, Vec<Violation>> {
        let metal = job.tube.metal();
        let blank = Blank::of(&job, assembly, sheet.allowances.allowances()).map_err(unlaid)?;
        let (neck, from, to) = tube(assembly).map_err(unlaid)?;
        let Some(costs) = Costs::of(&blank, neck, metal) else {
            return Err(unlaid(BlankError::NoTube));
        };
        let corners = blank.outline.flattened(LAID);
        let mut wrong = Vec::new();
        if let Some(crossed) = crossing("allowances", &corners) {
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
        let aim = sheet.aim();
        wrong.extend(too_large(&corners, &sheet, &aim));
        for (index, &station) in sheet.gauges_at_mm.iter().enumerate() {
            if !(from..=to).contains(&station) {
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
        let mirrored: Vec<DVec2> = corners.iter().map(|at| DVec2::new(-at.x, at.y)).collect();
        let reach = sheet.spacing_mm.max(1.0) + 1.0;
        let all = vec![Shape::new(&corners, reach), Shape::new(&mirrored, reach)];
        let mirrors = match sheet.turned_over {
            TurnedOver::Allowed => vec![Some(1), Some(0)],
            TurnedOver::NotAllowed => vec![None, None],
        };
        let gauges = sheet.gauges_at_mm.iter().map(|&station| section(neck, station));
        let gauges = gauges.chain([profile(neck, from, to)]).collect();
        let pieces = (0..sheet.halves as usize).map(|piece| piece % 2).collect();
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
        notes.extend(costs.rounds.beyond.clone());
        let shapes = Shapes { all, mirrors };
        Ok(Self { job, metal, blank, costs, gauges, sheet, notes, aim, shapes, pieces })
    }

    /// Starts to lay the half shells asked for.
    #[must_use]
    pub fn laying(&self, seed: u32) -> Laying {
        let (shapes, pieces) = (self.shapes.clone(), self.pieces.clone());
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
        let area = self.blank.outline.area();
        let metal_area = match &self.aim {
            Aim::Most { ground } | Aim::Fewest { ground } => {
                ground.area() * lay.sheets.len() as f64
            }
            Aim::Shortest { width } => width * lay.length.unwrap_or_default(),
        };
        let used = area * pieces as f64;
        // mm³ to cm³.
        let grams =
            |area: f64| area * self.blank.thickness_mm * self.metal.density_g_cm3() / 1000.0;
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
            order: self.job.order.number.clone(),
            sheet: self.sheet.clone(),
            seed,
            rounds: u32::try_from(laying.steps()).unwrap_or(u32::MAX),
            asked: self.sheet.halves,
            pieces: pieces as u32,
            sheets: lay.sheets.len() as u32,
            length_mm: lay.length,
            blank_area_mm2: area,
            yielded: if metal_area > 0.0 { used / metal_area } else { 0.0 },
            bought_g: grams(metal_area),
            wasted_g: grams((metal_area - used).max(0.0)),
            off_cut_mm: self.off_cut(lay),
            placements: self.placements(lay),
            notes,
        }
    }

    fn off_cut(&self, lay: &Lay) -> Option<f64> {
        let right = self.aim.ground()?.bounds().1.x;
        let last = lay.sheets.last()?;
        let ends = last.iter().map(|(_, place)| {
            super::lay::laid(&self.shapes, place).iter().map(|at| at.x).fold(0.0, f64::max)
        });
        Some((right - ends.fold(0.0, f64::max) - self.sheet.margin_mm).max(0.0))
    }

    fn placements(&self, lay: &Lay) -> Vec<Placement> {
        let numbered = lay.sheets.iter().enumerate();
        let all =
            numbered.flat_map(|(sheet, pieces)| pieces.iter().map(move |piece| (sheet, piece)));
        all.map(|(sheet, (piece, place))| {
            let origin = self.origin(place);
            Placement {
                sheet: sheet as u32,
                piece: *piece as u32,
                x_mm: origin.x,
                y_mm: origin.y,
                angle_deg: deg_from_rad(place.angle).rem_euclid(360.0),
                mirrored: place.shape == 1,
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
        if place.shape == 1 {
            mirrored(line).moved(|at| place.forth(at - middle))
        } else {
            line.moved(|at| place.forth(at - middle))
        }
    }

    /// The files of blank, gauges and lay, by name.
    ///
    /// # Errors
    ///
    /// Text that cannot be written, which no order has.
    pub fn files(
        &self,
        laying: &Laying,
        seed: u32,
        paper: PaperSize,
    ) -> Result<Vec<(&'static str, Vec<u8>)>, serde_json::Error> {
        let none = Lay { sheets: Vec::new(), length: None };
        let lay = laying.best().unwrap_or(&none);
        let (blank, gauges, sheets) = (self.blank_file(), self.gauge_file(), self.lay_file(lay));
        let mut printed = Vec::new();
        for file in [&blank, &gauges, &sheets] {
            printed.extend(tiled(&drawing(file), paper));
        }
        Ok(vec![
            ("blank.dxf", outline_file::dxf(&blank)),
            ("blank.svg", outline_file::svg(&blank)),
            ("gauges.dxf", outline_file::dxf(&gauges)),
            ("gauges.svg", outline_file::svg(&gauges)),
            ("lay.dxf", outline_file::dxf(&sheets)),
            ("lay.svg", outline_file::svg(&sheets)),
            ("strain.json", json(&StrainReport::of(self))?),
            ("lay.json", json(&self.report(laying, seed))?),
            ("print.pdf", pdf(&format!("Blanks of order {}", self.job.order.number), &printed)),
        ])
    }

    fn blank_file(&self) -> OutlineFile {
        let (low, _) = self.blank.outline.bounds();
        let order = &self.job.order;
        let allowances = &self.sheet.allowances;
        let lines = [
            format!(
                "Half shell, right; the left one is this one turned over. Order {}, serial {}, revision {}",
                order.number, order.serial, order.revision
            ),
            format!(
                "{} {}, {} mm",
                self.metal.id(),
                self.metal.name(),
                trimmed(self.blank.thickness_mm)
            ),
            format!(
                "Left on: seams {} mm, ends {} mm. mm, 1:1. Cork end left; stations every 10 mm",
                trimmed(allowances.seam_mm),
                trimmed(allowances.trim_mm + allowances.clamping_mm)
            ),
        ];
        OutlineFile {
            title: format!("blank of order {}", order.number),
            cut: vec![self.blank.outline.clone()],
            mark: self.blank.marks().cloned().collect(),
            note: Vec::new(),
            words: words(&lines, low),
        }
    }

    fn gauge_file(&self) -> OutlineFile {
        let mut file = OutlineFile {
            title: format!("gauges of order {}", self.job.order.number),
            ..OutlineFile::default()
        };
        let mut next = 0.0;
        for gauge in &self.gauges {
            let (low, high) = gauge.outline.bounds();
            let shift = DVec2::new(-low.x, next - low.y);
            file.cut.push(gauge.outline.moved(|at| at + shift));
            let at = DVec2::new(0.0, next - WORDS.1);
            file.words.push(Words { at, height_mm: WORDS.0, text: gauge.words.clone() });
            next += high.y - low.y + ROOM;
        }
        file
    }

    fn lay_file(&self, lay: &Lay) -> OutlineFile {
        let order = &self.job.order;
        let mut file = OutlineFile {
            title: format!("blanks of order {} on {}", order.number, self.sheet.name),
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
                trimmed(self.blank.thickness_mm),
                trimmed(size.x),
                trimmed(size.y)
            );
            file.words.push(Words {
                at: shift - DVec2::new(0.0, WORDS.1),
                height_mm: WORDS.0,
                text,
            });
            for (_, place) in pieces {
                let lay = |line: &Contour| self.laid(place, line).moved(|at| at + shift);
                file.cut.push(lay(&self.blank.outline));
                file.mark.extend(self.blank.finished.iter().map(lay));
            }
        }
        file
    }
}

/// The net on which the half shell was laid flat, with the flat place of each knot, so that it can be reckoned again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetReport {
    pub station_mm: Vec<f64>,
    pub azimuth_deg: Vec<f64>,
    /// Of every station the knots at every azimuth.
    pub x_mm: Vec<Vec<f64>>,
    pub y_mm: Vec<Vec<f64>>,
}

impl NetReport {
    fn of(flat: &Flat) -> Self {
        let rows = || flat.places.chunks(flat.net.second.len());
        Self {
            station_mm: flat.net.first.clone(),
            azimuth_deg: flat.net.second.iter().map(|up| 90.0 - deg_from_rad(*up)).collect(),
            x_mm: rows().map(|row| row.iter().map(|at| at.x).collect()).collect(),
            y_mm: rows().map(|row| row.iter().map(|at| at.y).collect()).collect(),
        }
    }
}

/// What `strain.json` says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StrainReport {
    pub format: String,
    pub order: String,
    pub metal: String,
    pub sheet_thickness_mm: f64,
    /// Area of the finished half shell, in the middle of the wall, mm².
    pub formed_area_mm2: f64,
    pub net: NetReport,
    #[serde(flatten)]
    pub costs: Costs,
}

impl StrainReport {
    /// What forming the blanks of an order costs.
    #[must_use]
    pub fn of(order: &BlankOrder) -> Self {
        Self {
            format: "neckwright-strain/1".to_owned(),
            order: order.job.order.number.clone(),
            metal: order.metal.id().to_owned(),
            sheet_thickness_mm: order.blank.thickness_mm,
            formed_area_mm2: order.blank.formed_area_mm2,
            net: NetReport::of(&order.blank.flat),
            costs: order.costs.clone(),
        }
    }
}

fn json<T: Serialize>(value: &T) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(value)?;
    bytes.push(b'\n');
    Ok(bytes)
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
