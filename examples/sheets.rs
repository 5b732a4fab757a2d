//! Writes what goes on paper and on sheet metal: `flat/PART.dxf` and `flat/PART.svg` of every part cut from sheet, and
//! `drawings/PART.pdf` and `drawings/PART.svg` of every turned one. What the checks before cutting say goes to standard
//! output.
//!
//! `cargo run --release --example sheets -- JOB.json OUT_DIR [--third-angle] [--inches | --both-units] [--letter]`
//!
//! Exit 0 when everything was written, 2 when the job cannot be built or a file cannot be written.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::exports::paper::PaperSize;
use neckwright::model::Model;
use neckwright::shop::drawings::{DrawingStyle, Projection, Units, drawing};
use neckwright::shop::flat::{CuttingLimits, flat_part};
use neckwright::shop::heading::Heading;

const USAGE: &str =
    "usage: sheets JOB.json OUT_DIR [--third-angle] [--inches | --both-units] [--letter]";

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), Box<dyn Error>> {
    let mut places = Vec::new();
    let mut style = DrawingStyle::default();
    for word in std::env::args_os().skip(1) {
        match word.to_str() {
            Some("--third-angle") => style.projection = Projection::ThirdAngle,
            Some("--inches") => style.units = Units::Inches,
            Some("--both-units") => style.units = Units::Both,
            Some("--letter") => style.paper = PaperSize::Letter,
            Some(option) if option.starts_with("--") => return Err(USAGE.into()),
            _ => places.push(PathBuf::from(word)),
        }
    }
    let [job, out] = <[PathBuf; 2]>::try_from(places).map_err(|_| USAGE)?;
    let text = fs::read_to_string(&job).map_err(|error| format!("{}: {error}", job.display()))?;
    let model = Model::build(&text, None).map_err(|violations| {
        violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    })?;
    let heading = Heading::of(&model.job);
    for built in model.parts() {
        let id = built.part.id;
        if let Some(drawing) = drawing(&model, id, &style) {
            let drawing = drawing?;
            println!("{id}: drawn {} times its size", drawing.scale);
            write(&out.join(format!("drawings/{id}.pdf")), &drawing.pdf())?;
            write(&out.join(format!("drawings/{id}.svg")), &drawing.svg())?;
        }
        if let Some(flat) = flat_part(&model, id, &CuttingLimits::default()) {
            let flat = flat?;
            let size = flat.size_mm();
            println!("{id}: {:.3} x {:.3} mm, {:.3} mm2", size.x, size.y, flat.area_mm2());
            for finding in &flat.findings {
                println!("  {finding}");
            }
            write(&out.join(format!("flat/{id}.dxf")), &flat.dxf(&heading))?;
            write(&out.join(format!("flat/{id}.svg")), &flat.svg(&heading))?;
        }
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    fs::write(path, bytes).map_err(|error| format!("{}: {error}", path.display()).into())
}
