//! A package: the files of an order with their packing list, in one archive.

use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::exports::archive::{ArchiveError, archive};
use crate::exports::stl::{StlError, write_stl};
use crate::exports::three_mf::{ThreeMfError, ThreeMfPart, write_three_mf};
use crate::job::Violation;
use crate::model::{FileError, Files, Formed, Model};

use super::checked;
use super::drawings::drawing;
use super::flat::flat_part;
use super::order::{Line, Order, order};
use super::packing_list::{PackedFile, PackingList};
use super::request::Request;

/// Field of a request by which a part that fails a check is sent all the same. A refusal whose every violation stands
/// there can be overcome by it.
pub const FORCE: &str = "force";

/// A package that can be sent.
#[derive(Debug)]
pub struct Package {
    /// Name for the archive.
    pub file_name: String,
    pub list: PackingList,
    /// The archive.
    pub zip: Vec<u8>,
}

/// Why there is no package.
#[derive(Debug, Error)]
pub enum PackageError {
    /// The request cannot be carried out, or a part fails a check: all reasons at once.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Refused(Vec<Violation>),
    #[error(transparent)]
    File(#[from] FileError),
    #[error(transparent)]
    Stl(#[from] StlError),
    #[error(transparent)]
    ThreeMf(#[from] ThreeMfError),
    #[error(transparent)]
    Archive(#[from] ArchiveError),
}

/// Makes a package. The same neck and request give the same bytes.
///
/// # Errors
///
/// Every violation of the request at once; else every check that fails, unless the request says that such parts are to
/// be sent all the same.
pub fn package(model: &Model, request: &Request) -> Result<Package, PackageError> {
    let settled = order(model, request).map_err(PackageError::Refused)?;
    let model = settled.changed.as_deref().unwrap_or(model);
    let clearances = model.clearances();
    let parts: Vec<Part<'_>> = settled
        .lines
        .iter()
        .map(|line| {
            let formed = model.find(line.part)?;
            let findings = checked::clearances(&clearances, line.part);
            let mut part = Part { line, formed, findings, notes: Vec::new(), sheets: Vec::new() };
            part.lay_flat(model, request);
            part.draw(model, request);
            Ok(part)
        })
        .collect::<Result<_, FileError>>()?;
    if !request.force {
        refuse_failing(&parts)?;
    }
    let mut package = Packed { files: Vec::new(), rows: Vec::new() };
    let files = Files::new(model, 0.0).with_protocol(request.step.into());
    let mut meshes = Vec::with_capacity(parts.len());
    for part in &parts {
        meshes.push(part.pack(&mut package, &files, &settled, request)?);
    }
    pack_together(&mut package, &parts, meshes, &files, &settled, request)?;
    let said = &model.job.order;
    let list = PackingList {
        order: said.number.clone(),
        serial: said.serial.clone(),
        revision: said.revision.clone(),
        necks: request.necks,
        files: package.rows,
    };
    let (csv, pdf) = (list.csv(), list.pdf());
    let mut files: Vec<(&str, &[u8])> =
        package.files.iter().map(|(name, bytes)| (name.as_str(), &bytes[..])).collect();
    files.push(("packing_list.csv", csv.as_bytes()));
    files.push(("packing_list.pdf", &pdf));
    let zip = archive(files)?;
    Ok(Package { file_name: format!("{}_shop_files.zip", settled.stem), list, zip })
}

fn refuse_failing(parts: &[Part<'_>]) -> Result<(), PackageError> {
    let fails = |part: &Part<'_>| {
        let name = part.formed.part.name;
        let say = move |finding: &String| {
            Violation::error(
                FORCE,
                false,
                "true",
                format!("The {name} fails a check: {finding}. It is sent only if you say so."),
            )
        };
        part.findings.iter().map(say).collect::<Vec<_>>()
    };
    let failing: Vec<Violation> = parts.iter().flat_map(fails).collect();
    if failing.is_empty() { Ok(()) } else { Err(PackageError::Refused(failing)) }
}

/// Files and rows under way.
struct Packed {
    files: Vec<(String, Vec<u8>)>,
    rows: Vec<PackedFile>,
}

impl Packed {
    fn add(&mut self, file: String, bytes: Vec<u8>, row: &PackedFile) {
        let sha256 = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        self.rows.push(PackedFile { file: file.clone(), sha256, ..row.clone() });
        self.files.push((file, bytes));
    }
}

/// A part of the order with what fails on it.
struct Part<'a> {
    line: &'a Line,
    formed: &'a Formed,
    findings: Vec<String>,
    notes: Vec<String>,
    /// Files that whoever cuts or turns it works from, beside its solid. Their names are part of the format.
    sheets: Vec<(String, Vec<u8>)>,
}

impl<'a> Part<'a> {
    /// Lays the part flat if it is cut from sheet, and asks whether it can be cut so.
    fn lay_flat(&mut self, model: &Model, request: &Request) {
        let id = self.line.part;
        match flat_part(model, id, &request.cutting) {
            None => {}
            Some(Err(error)) => self.findings.push(error.to_string()),
            Some(Ok(flat)) => {
                for finding in &flat.findings {
                    let [x, y] = finding.place_mm;
                    let words = format!("flat at x {x:.2}, y {y:.2} mm: {}", finding.words);
                    let list = if finding.fails { &mut self.findings } else { &mut self.notes };
                    list.push(words);
                }
                if let Some(serial) = flat.serial.as_ref().filter(|_| self.line.quantity > 1) {
                    self.notes.push(format!(
                        "all {} carry the serial number {serial}: send each neck's own with its own job, or leave the number to be marked by hand",
                        self.line.quantity
                    ));
                }
                let heading = self.line.heading(model);
                self.sheets.push((format!("flat/{id}.dxf"), flat.dxf(&heading)));
                self.sheets.push((format!("flat/{id}.svg"), flat.svg(&heading)));
            }
        }
    }

    /// Draws the part if it is turned.
    fn draw(&mut self, model: &Model, request: &Request) {
        let id = self.line.part;
        match drawing(model, id, &request.drawing, &self.line.heading(model)) {
            None => {}
            Some(Err(error)) => self.findings.push(error.to_string()),
            Some(Ok(drawing)) => {
                self.sheets.push((format!("drawings/{id}.pdf"), drawing.pdf()));
                self.sheets.push((format!("drawings/{id}.svg"), drawing.svg()));
            }
        }
    }

    /// Adds the part's own files, and gives its triangles for the files of several.
    fn pack(
        &self,
        package: &mut Packed,
        files: &Files<'_>,
        order: &Order,
        request: &Request,
    ) -> Result<ThreeMfPart<'a>, PackageError> {
        let (id, row, stem) = (self.line.part, self.row(), &order.stem);
        let step = format!("{stem}_{id}.step");
        let bytes = files.part_step_named(id, &step)?;
        package.add(format!("step/{step}"), bytes, &row);
        let (positions, triangles) = files.triangles(self.formed, request.chord_mm)?;
        let bytes = write_stl(id, request.chord_mm, &positions, &triangles)?;
        // The format knows no unit, so its name says it.
        package.add(format!("stl/{stem}_{id}_mm.stl"), bytes, &row);
        for (name, bytes) in &self.sheets {
            package.add(name.clone(), bytes.clone(), &row);
        }
        Ok(ThreeMfPart {
            id,
            name: self.formed.part.name,
            metal: self.formed.part.metal.map_or("", |metal| metal.name()),
            colour_srgb: self.formed.colour_srgb(),
            positions,
            triangles,
        })
    }

    fn row(&self) -> PackedFile {
        let (part, line) = (&self.formed.part, self.line);
        PackedFile {
            part: part.id.into(),
            name: part.name.into(),
            quantity: line.quantity,
            metal: part.metal.map(|metal| metal.id().into()).unwrap_or_default(),
            metal_name: part.metal.map(|metal| metal.name().into()).unwrap_or_default(),
            temper: line.temper.name().into(),
            thickness_mm: line.stock.thickness_mm,
            mass_g: self.formed.mass_g(),
            made_by: part.made_by.into(),
            file: String::new(),
            sha256: String::new(),
            findings: self.findings.clone(),
            notes: self.notes.clone(),
        }
    }
}

/// What fails on any of the parts, each thing once.
fn together(parts: &[Part<'_>]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for finding in parts.iter().flat_map(|part| &part.findings) {
        if !all.contains(finding) {
            all.push(finding.clone());
        }
    }
    all
}

/// Adds the files of all the order's parts in their places on the neck. Halves are left out: they would lie in the tube.
fn pack_together(
    package: &mut Packed,
    parts: &[Part<'_>],
    meshes: Vec<ThreeMfPart<'_>>,
    files: &Files<'_>,
    order: &Order,
    request: &Request,
) -> Result<(), PackageError> {
    let on_the_neck = |id: &str| !id.starts_with("half_");
    let placed: Vec<&Formed> =
        parts.iter().map(|part| part.formed).filter(|formed| on_the_neck(formed.part.id)).collect();
    if placed.is_empty() {
        return Ok(());
    }
    let whole = placed.len() == files.part_count();
    let name = if whole { files.neck_name() } else { format!("Parts of {}", files.neck_name()) };
    let row = PackedFile {
        part: "neck".into(),
        name: if whole { "whole neck".into() } else { "parts together".into() },
        quantity: request.necks,
        metal: String::new(),
        metal_name: String::new(),
        temper: String::new(),
        thickness_mm: None,
        mass_g: placed.iter().map(|formed| formed.mass_g()).sum(),
        made_by: "each part once, in its place on the neck".into(),
        file: String::new(),
        sha256: String::new(),
        findings: together(parts),
        notes: Vec::new(),
    };
    let stem = &order.stem;
    let step = format!("{stem}_assembly.step");
    package.add(step.clone(), files.step_of(&placed, &step, &name)?, &row);
    let meshes: Vec<ThreeMfPart<'_>> =
        meshes.into_iter().filter(|part| on_the_neck(part.id)).collect();
    package.add(format!("{stem}_neck.3mf"), write_three_mf(&name, &meshes)?, &row);
    Ok(())
}
