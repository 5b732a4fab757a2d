//! Prints the clearance list of a job, what fails first.
//!
//! `cargo run --release --example check_job -- JOB.json [--json] [--key-angle-deg A]`
//!
//! Every pair is looked at with the key closed, open and through its whole swing, and against
//! receiver, clamp and pin while the neck is turned; with `--key-angle-deg` at that one angle.
//!
//! Exit 0 when all is within limits, 1 when something is not, 2 when the job cannot be read or
//! built (every violation on standard error, by parameter path).

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use neckwright::exports::clearance_report::{clearance_report, clearances_json};
use neckwright::model::Model;
use neckwright::units::rad_from_deg;

const USAGE: &str = "usage: check_job JOB.json [--json] [--key-angle-deg DEG]";

fn main() -> ExitCode {
    match run() {
        Ok(failed) => ExitCode::from(u8::from(failed > 0)),
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// Number of rows that fail.
fn run() -> Result<usize, String> {
    let (mut job, mut json, mut angle_deg) = (None, false, None);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        match word.to_str() {
            Some("--json") => json = true,
            Some("--key-angle-deg") => {
                let value = words.next().and_then(|value| value.to_str()?.parse::<f64>().ok());
                let value = value.filter(|angle| angle.is_finite());
                angle_deg = Some(value.ok_or(format!("--key-angle-deg needs a number\n{USAGE}"))?);
            }
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ if job.is_none() => job = Some(PathBuf::from(word)),
            _ => return Err(USAGE.to_string()),
        }
    }
    let job = job.ok_or(USAGE)?;
    let text =
        std::fs::read_to_string(&job).map_err(|error| format!("{}: {error}", job.display()))?;
    let model = Model::build(&text, None).map_err(|violations| {
        violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    })?;
    for warning in &model.warnings {
        eprintln!("{warning}");
    }
    let list = match angle_deg {
        Some(angle) => {
            model.clearances_at(rad_from_deg(angle)).map_err(|error| error.to_string())?
        }
        None => model.report(),
    };
    let out = if json {
        clearances_json(&list).map_err(|error| error.to_string())?
    } else {
        clearance_report(&list)
    };
    // A reader that stops early (a pager, `head`) is no failure: the exit code is the answer.
    let _ = std::io::stdout().write_all(out.as_bytes());
    Ok(list.all_failed())
}
