//! Writes the flat outlines of a job: `flat/PART.dxf` and `flat/PART.svg` of every part cut from sheet, and what the checks
//! before cutting say to standard output.
//!
//! `cargo run --release --example sheets -- JOB.json OUT_DIR`
//!
//! Exit 0 when everything was written, 2 when the job cannot be built or a file cannot be written.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::model::Model;
use neckwright::shop::flat::{CuttingLimits, flat_part};
use neckwright::shop::heading::Heading;

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
    let words: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [job, out] =
        <[PathBuf; 2]>::try_from(words).map_err(|_| "usage: sheets JOB.json OUT_DIR")?;
    let text = fs::read_to_string(&job).map_err(|error| format!("{}: {error}", job.display()))?;
    let model = Model::build(&text, None).map_err(|violations| {
        violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    })?;
    let heading = Heading::of(&model.job);
    for built in model.parts() {
        let id = built.part.id;
        let Some(flat) = flat_part(&model, id, &CuttingLimits::default()) else { continue };
        let flat = flat?;
        let size = flat.size_mm();
        println!(
            "{id}: {:.3} x {:.3} mm, area {:.4} mm2, volume / thickness {:.4} mm2, arcs within {:.4} mm",
            size.x,
            size.y,
            flat.area_mm2(),
            built.properties().volume / flat.thickness_mm,
            flat.fit_mm
        );
        for finding in &flat.findings {
            println!("  {finding}");
        }
        write(&out.join(format!("flat/{id}.dxf")), &flat.dxf(&heading))?;
        write(&out.join(format!("flat/{id}.svg")), &flat.svg(&heading))?;
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    fs::write(path, bytes).map_err(|error| format!("{}: {error}", path.display()).into())
}
