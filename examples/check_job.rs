//! Prints the clearance list of a job, what fails first.
//!
//! `cargo run --release --example check_job -- JOB.json [--json]`
//!
//! Exit 0 when all is within limits, 1 when something is not, 2 when the job cannot be read or
//! built (every violation on standard error, by parameter path).

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use neckwright::exports::clearance_report::{clearance_report, clearances_json};
use neckwright::model::Model;

const USAGE: &str = "usage: check_job JOB.json [--json]";

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
    let (mut job, mut json) = (None, false);
    for word in std::env::args_os().skip(1) {
        match word.to_str() {
            Some("--json") => json = true,
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
    let list = model.clearances();
    let out = if json {
        clearances_json(&list).map_err(|error| error.to_string())?
    } else {
        clearance_report(&list)
    };
    // A reader that stops early (a pager, `head`) is no failure: the exit code is the answer.
    let _ = std::io::stdout().write_all(out.as_bytes());
    Ok(list.failed)
}
