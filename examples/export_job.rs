//! Writes the files of a job: STEP and STL of every part, the STEP assembly, the clearance list
//! and the summary.
//!
//! `cargo run --release --example export_job -- JOB.json OUT_DIR [--only PART,PART]
//! [--chord 0.01] [--key-angle-deg A]`
//!
//! Exit 0 when everything was written, 2 when the job cannot be read or built (every violation
//! on standard error, by parameter path) or a file cannot be written.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::exports::clearance_report::clearances_json;
use neckwright::model::{Files, Model};
use neckwright::units::rad_from_deg;

const USAGE: &str =
    "usage: export_job JOB.json OUT_DIR [--only PART,PART] [--chord MM] [--key-angle-deg DEG]";

/// Chord of the STL files unless another is asked for, mm.
const CHORD_MM: f64 = 0.01;

struct Options {
    job: PathBuf,
    out: PathBuf,
    only: Option<Vec<String>>,
    chord_mm: f64,
    key_angle_deg: f64,
}

fn main() -> ExitCode {
    match options().and_then(|options| run(&options)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn options() -> Result<Options, Box<dyn Error>> {
    let mut places = Vec::new();
    let (mut only, mut chord_mm, mut key_angle_deg) = (None, CHORD_MM, 0.0);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        let Some(option) = word.to_str().filter(|word| word.starts_with("--")) else {
            places.push(PathBuf::from(word));
            continue;
        };
        let value = words.next().and_then(|value| value.into_string().ok());
        let value = || value.clone().ok_or(format!("{option} needs a value\n{USAGE}"));
        match option {
            "--only" => only = Some(value()?.split(',').map(str::to_string).collect()),
            "--chord" => chord_mm = number(option, &value()?)?,
            "--key-angle-deg" => key_angle_deg = number(option, &value()?)?,
            _ => return Err(format!("there is no option {option}\n{USAGE}").into()),
        }
    }
    let [job, out] = <[PathBuf; 2]>::try_from(places).map_err(|_| USAGE)?;
    Ok(Options { job, out, only, chord_mm, key_angle_deg })
}

fn number(option: &str, word: &str) -> Result<f64, Box<dyn Error>> {
    match word.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(format!("{option} needs a number, not \"{word}\"\n{USAGE}").into()),
    }
}

fn run(options: &Options) -> Result<(), Box<dyn Error>> {
    let text = fs::read_to_string(&options.job)
        .map_err(|error| format!("{}: {error}", options.job.display()))?;
    let model = Model::build(&text, None).map_err(|violations| {
        violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    })?;
    for warning in &model.warnings {
        eprintln!("{warning}");
    }
    let files = Files::new(&model, rad_from_deg(options.key_angle_deg));
    // Everything is made before anything is written, so that a failure leaves no half set.
    let mut set: Vec<(String, Vec<u8>)> = vec![
        ("assembly.step".into(), files.assembly_step()?),
        ("clearances.json".into(), clearances_json(&model.report())?.into_bytes()),
        ("summary.json".into(), files.summary()?.to_json()?.into_bytes()),
    ];
    let halves = model.halves().iter().map(|half| half.part.id);
    let parts: Vec<&str> = model.parts().iter().map(|built| built.part.id).chain(halves).collect();
    let keepouts: Vec<&str> = model.keepouts().iter().map(|built| built.part.id).collect();
    if let Some(only) = &options.only {
        for id in only {
            if !parts.contains(&id.as_str()) && !keepouts.contains(&id.as_str()) {
                return Err(format!(
                    "there is no part \"{id}\"; the parts are {}",
                    [parts, keepouts].concat().join(", ")
                )
                .into());
            }
        }
    }
    let chosen = |id: &str| options.only.as_ref().is_none_or(|only| only.iter().any(|o| o == id));
    for id in parts.into_iter().filter(|id| chosen(id)) {
        set.push((format!("parts/{id}.step"), files.part_step(id)?));
        set.push((format!("parts/{id}.stl"), files.part_stl(id, options.chord_mm)?));
    }
    for id in keepouts {
        set.push((format!("keepouts/{id}.step"), files.part_step(id)?));
    }
    for (name, bytes) in &set {
        write(&options.out.join(name), bytes)?;
    }
    eprintln!("{} files in {}", set.len(), options.out.display());
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    fs::write(path, bytes).map_err(|error| format!("{}: {error}", path.display()).into())
}
