//! Works out the maker's numbers of a job and prints its card.
//!
//! `cargo run --release --example job_card -- JOB.json OUT_DIR [--card CARD.json]`
//!
//! Writes `card.json`, every number with its unit, tolerance and source.
//!
//! Exit 0 when it was written, 2 when job or card file cannot be used (every violation on standard error; nothing is written).

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::card::{CardFile, JobCard};
use neckwright::job::Violation;
use neckwright::model::Model;

const USAGE: &str = "usage: job_card JOB.json OUT_DIR [--card CARD.json]";

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), String> {
    let (mut places, mut card) = (Vec::new(), None);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        match word.to_str() {
            Some("--card") => {
                card = Some(PathBuf::from(
                    words.next().ok_or(format!("--card needs a file\n{USAGE}"))?,
                ));
            }
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ => places.push(PathBuf::from(word)),
        }
    }
    let [job, out] = places.as_slice() else { return Err(USAGE.to_owned()) };
    let mut wrong = Vec::new();
    let text = card.as_deref().map_or(Ok("{}".to_owned()), read)?;
    let (file, violations) = CardFile::read(&text);
    tell(&violations, &mut wrong);
    let model = match Model::build(&read(job)?, None) {
        Ok(model) => Some(model),
        Err(violations) => {
            tell(&violations, &mut wrong);
            None
        }
    };
    let (Some(model), Some(file)) = (model, file.filter(|_| wrong.is_empty())) else {
        return Err(wrong.join("\n"));
    };
    tell(&model.warnings, &mut wrong);
    let list = model.report();
    let made = JobCard::of(&model, &file, &list);
    let json = made.to_json().map_err(|error| error.to_string())?;
    std::fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
    let files: [(&str, Vec<u8>); 1] = [("card.json", json.into_bytes())];
    for (name, bytes) in files {
        let path = out.join(name);
        std::fs::write(&path, bytes).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    Ok(())
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

/// Warnings go to standard error at once, what is wrong is gathered.
fn tell(violations: &[Violation], wrong: &mut Vec<String>) {
    for violation in violations {
        if violation.is_error() {
            wrong.push(violation.to_string());
        } else {
            eprintln!("{violation}");
        }
    }
}
