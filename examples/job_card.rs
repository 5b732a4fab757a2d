//! Works out the maker's numbers of a job and prints its card.
//!
//! `cargo run --release --example job_card -- JOB.json OUT_DIR [--card CARD.json] [--made MADE.json]`
//!
//! Writes `card.pdf`, which goes round the shop with the neck, `card.json`, every number with its unit, tolerance and source,
//! `workings.pdf`, the fits and metals beside each other, and `measuring_sheet.pdf` for a customer far away.
//!
//! With `--made`, what was measured on the finished neck, also `record.json`: the differences, the clearances checked again with
//! them, and all it takes to make the neck again. Such a record may stand in the place of the job.
//!
//! Exit 0 when it was written, 2 when job or card file cannot be used (every violation on standard error; nothing is written).

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::card::as_made::{MadeFile, kept, record};
use neckwright::card::sheet::{card_pdf, measuring_sheet, workings};
use neckwright::card::{CardFile, JobCard};
use neckwright::job::Violation;
use neckwright::model::Model;

const USAGE: &str = "usage: job_card JOB.json OUT_DIR [--card CARD.json] [--made MADE.json]";

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
    let (mut places, mut card, mut made) = (Vec::new(), None, None);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        match word.to_str() {
            Some(option @ ("--card" | "--made")) => {
                let file = words.next().map(PathBuf::from);
                let file = file.ok_or(format!("{option} needs a file\n{USAGE}"))?;
                *(if option == "--card" { &mut card } else { &mut made }) = Some(file);
            }
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ => places.push(PathBuf::from(word)),
        }
    }
    let [job, out] = places.as_slice() else { return Err(USAGE.to_owned()) };
    let given = read(job)?;
    let kept = kept(&given);
    let mut wrong = Vec::new();
    // What is given by itself stands before what a record keeps.
    let card = card.as_deref().map(read).transpose()?;
    let card = card.or(kept.as_ref().map(|kept| kept.card.clone()));
    let (file, violations) = CardFile::read(card.as_deref().unwrap_or("{}"));
    tell(&violations, &mut wrong);
    let made = made.as_deref().map(read).transpose()?;
    let made = made.or(kept.as_ref().map(|kept| kept.made.clone()));
    let measured = made.as_deref().and_then(|text| {
        let (measured, violations) = MadeFile::read(text);
        tell(&violations, &mut wrong);
        measured
    });
    let model = match Model::build(kept.as_ref().map_or(&given, |kept| &kept.job), None) {
        Ok(model) => Some(model),
        Err(violations) => {
            tell(&violations, &mut wrong);
            None
        }
    };
    let (Some(model), Some(file)) = (model, file) else { return Err(wrong.join("\n")) };
    let list = model.report();
    // Measured values are put to the job even if something else is wrong, for what is wrong with them.
    let record = measured.and_then(|measured| {
        record(&model, &file, &measured, &list)
            .map_err(|violations| tell(&violations, &mut wrong))
            .ok()
    });
    if !wrong.is_empty() {
        return Err(wrong.join("\n"));
    }
    tell(&model.warnings, &mut wrong);
    let made = JobCard::of(&model, &file, &list);
    let json = made.to_json().map_err(|error| error.to_string())?;
    let pdf = card_pdf(&model, &file, &made).map_err(|error| error.to_string())?;
    let mut files = vec![
        ("card.json", json.into_bytes()),
        ("card.pdf", pdf),
        ("measuring_sheet.pdf", measuring_sheet(&model, &file)),
        ("workings.pdf", workings(&file, &made)),
    ];
    if let Some(record) = record {
        let text = record.to_json().map_err(|error| error.to_string())?;
        files.push(("record.json", text.into_bytes()));
    }
    std::fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
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
