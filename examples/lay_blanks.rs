//! Lays the half shells of a job flat and puts them on a sheet.
//!
//! `cargo run --release --example lay_blanks -- JOB.json SHEET.json OUT_DIR [--seconds N] [--rounds N] [--seed N] [--letter]
//! [--also JOB.json[=HALVES]]...`
//!
//! Writes `blank.dxf`, `blank.svg`, `gauges.dxf`, `gauges.svg`, `strain.json`, `lay.dxf`, `lay.svg`, `lay.json`, and
//! `print.pdf`: all of them at true size on A4 (or Letter) sheets.
//!
//! `--also` lays half shells of another order on the same sheet, as many as are said or as the sheet file says. Its blank, gauges
//! and strains stand in `blank_2.dxf` and so on.
//!
//! The search goes on for so many seconds (10) or, with `--rounds`, for so many rounds, which gives the same lay every time.
//!
//! Exit 0 when all that was asked for is laid, 1 when less is, 2 when job or sheet cannot be used (every violation on
//! standard error; nothing is written).

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::{Duration, Instant};

use neckwright::blanks::lay_report::LayReport;
use neckwright::blanks::order::BlankOrder;
use neckwright::exports::paper::PaperSize;
use neckwright::job::Violation;

const USAGE: &str = "usage: lay_blanks JOB.json SHEET.json OUT_DIR [--seconds N] [--rounds N] [--seed N] [--letter] [--also JOB.json[=HALVES]]...";

fn main() -> ExitCode {
    match run() {
        Ok(all) => ExitCode::from(u8::from(!all)),
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// Whether all was laid.
fn run() -> Result<bool, String> {
    let (mut names, mut others) = (Vec::new(), Vec::new());
    let (mut seconds, mut rounds, mut seed, mut paper) = (10.0, None, 0, PaperSize::A4);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        let mut number = |option: &str| {
            let value = words.next().and_then(|value| value.to_str()?.parse::<f64>().ok());
            value
                .filter(|value| value.is_finite() && *value >= 0.0)
                .ok_or(format!("{option} needs a number\n{USAGE}"))
        };
        match word.to_str() {
            Some("--seconds") => seconds = number("--seconds")?,
            Some("--rounds") => rounds = Some(number("--rounds")? as u64),
            Some("--seed") => seed = number("--seed")? as u32,
            Some("--also") => {
                let other = words.next().ok_or(format!("--also needs a job file\n{USAGE}"))?;
                others.push(other.to_string_lossy().into_owned());
            }
            Some("--letter") => paper = PaperSize::Letter,
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ => names.push(PathBuf::from(word)),
        }
    }
    let [job, sheet, out] = names.as_slice() else { return Err(USAGE.to_owned()) };
    let mut wanted = vec![(job.clone(), None)];
    for other in &others {
        let (path, halves) = match other.rsplit_once('=') {
            Some((path, halves)) => {
                let count = halves.parse().map_err(|_| {
                    format!("--also {other}: {halves} is no number of half shells\n{USAGE}")
                })?;
                (path, Some(count))
            }
            None => (other.as_str(), None),
        };
        wanted.push((PathBuf::from(path), halves));
    }
    let texts = wanted.iter().map(|(path, _)| path).chain([sheet]).map(|path| read(path));
    let (texts, unread): (Vec<_>, Vec<_>) = texts.partition(Result::is_ok);
    if !unread.is_empty() {
        return Err(unread.into_iter().filter_map(Result::err).collect::<Vec<_>>().join("\n"));
    }
    let texts: Vec<String> = texts.into_iter().flatten().collect();
    let Some((sheet, jobs)) = texts.split_last() else { return Err(USAGE.to_owned()) };
    let halves = wanted.iter().map(|(_, halves)| *halves);
    let jobs: Vec<(&str, Option<u32>)> = jobs.iter().map(String::as_str).zip(halves).collect();
    let order = BlankOrder::read(&jobs, sheet).map_err(|violations| said(&violations))?;

    let mut laying = order.laying(seed);
    let (start, limit) = (Instant::now(), Duration::from_secs_f64(seconds));
    let goes_on = |steps: u64| match rounds {
        Some(rounds) => steps < rounds,
        None => start.elapsed() < limit,
    };
    while !laying.finished() && goes_on(laying.steps()) {
        laying.step();
    }
    let report = order.report(&laying, seed);
    let files = order.files(Some(&laying), seed, paper).map_err(|error| error.to_string())?;
    std::fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
    for (name, bytes) in files {
        let path = out.join(name);
        std::fs::write(&path, bytes).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    // A reader that stops early (a pager, `head`) is no failure.
    let _ = std::io::stdout().write_all(summary(&order, &report).as_bytes());
    Ok(report.pieces == report.asked)
}

/// What was found, in a few lines.
fn summary(order: &BlankOrder, report: &LayReport) -> String {
    let mut lines = Vec::new();
    for share in &order.shares {
        let costs = &share.costs;
        lines.push(format!(
            "order {}: greatest stretch {:.1} % at station {:.0} mm, greatest shrink {:.1} % at station {:.0} mm, {:.2} to {:.2} mm thick after forming (estimates)",
            share.job.order.number,
            (libm::exp(costs.greatest_stretch.value) - 1.0) * 100.0,
            costs.greatest_stretch.station_mm,
            (1.0 - libm::exp(costs.greatest_shrink.value)) * 100.0,
            costs.greatest_shrink.station_mm,
            costs.thinnest_mm.value,
            costs.thickest_mm.value,
        ));
        match (costs.rounds.rounds, &costs.rounds.not_known) {
            (Some(1), _) => {
                lines.push("one round of forming from soft sheet (estimate)".to_owned())
            }
            (Some(rounds), _) => {
                lines.push(format!("rounds of forming: {rounds}, annealed between (estimate)"))
            }
            (None, Some(why)) => lines.push(format!("rounds of forming: not known, {why}")),
            (None, None) => {}
        }
    }
    let length = report.length_mm.map(|length| format!(", {length:.1} mm of strip"));
    lines.push(format!(
        "{} of {} half shells on {} sheet(s){}, yield {:.1} %, {} rounds",
        report.pieces,
        report.asked,
        report.sheets,
        length.unwrap_or_default(),
        report.yielded * 100.0,
        report.rounds,
    ));
    if report.orders.len() > 1 {
        for laid in &report.orders {
            lines.push(format!(
                "order {}: {} of {} half shells",
                laid.order, laid.pieces, laid.asked
            ));
        }
    }
    lines.extend(report.notes.clone());
    lines.join("\n") + "\n"
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

fn said(violations: &[Violation]) -> String {
    violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
