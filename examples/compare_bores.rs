//! Compares the bores of two necks on one horn and mouthpiece.
//!
//! `cargo run --release --example compare_bores -- JOB_A.json JOB_B.json OUT_DIR [--horn FILE] [--temperature C]
//! [--humidity PERCENT] [--carbon-dioxide PERCENT] [--aim NOTE=CENTS,...]`
//!
//! Writes `impedance.csv`, `comparison.json` and `comparison.svg`. With `--aim` it also seeks the smallest smooth change of
//! the first neck's bore that moves these notes so, and writes `aim.json` and `aim.csv`.
//!
//! Exit 0 when all is written, 1 when an aim is not reached, 2 when jobs, horn or aim cannot be used (every violation on
//! standard error; nothing is written).

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::acoustics::aim::{Makeable, Wanted, aim};
use neckwright::acoustics::comparison::compare_texts;
use neckwright::acoustics::files;
use neckwright::acoustics::horn::HornFile;
use neckwright::job::Violation;

const USAGE: &str = "usage: compare_bores JOB_A.json JOB_B.json OUT_DIR [--horn FILE] [--temperature C] [--humidity PERCENT] [--carbon-dioxide PERCENT] [--aim NOTE=CENTS,...]";

fn main() -> ExitCode {
    match run() {
        Ok(reached) => ExitCode::from(u8::from(!reached)),
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// Whether the aim, if there is one, is reached.
fn run() -> Result<bool, String> {
    let mut names = Vec::new();
    let (mut horn, mut wanted) = (None, None);
    let (mut celsius, mut humidity, mut carbon) = (None, None, None);
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        let mut next =
            |option: &str| words.next().ok_or(format!("{option} needs a value\n{USAGE}"));
        let mut number = |option: &str| {
            let value = next(option)?.to_str().and_then(|value| value.parse::<f64>().ok());
            value
                .filter(|value| value.is_finite())
                .ok_or(format!("{option} needs a number\n{USAGE}"))
        };
        match word.to_str() {
            Some("--temperature") => celsius = Some(number("--temperature")?),
            Some("--humidity") => humidity = Some(number("--humidity")?),
            Some("--carbon-dioxide") => carbon = Some(number("--carbon-dioxide")?),
            Some("--horn") => horn = Some(PathBuf::from(next("--horn")?)),
            Some("--aim") => wanted = Some(aims(&next("--aim")?.to_string_lossy())?),
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ => names.push(PathBuf::from(word)),
        }
    }
    let [job_a, job_b, out] = names.as_slice() else { return Err(USAGE.to_owned()) };
    let mut file = match &horn {
        Some(path) => HornFile::read(&read(path)?).map_err(|violations| said(&violations))?,
        None => HornFile::stand_in("stand-in"),
    };
    for (given, place) in [
        (celsius, &mut file.air.temperature_c),
        (humidity, &mut file.air.humidity_percent),
        (carbon, &mut file.air.carbon_dioxide_percent),
    ] {
        *place = given.unwrap_or(*place);
    }
    // The air of the options is held to the same ranges as that of a file.
    let written = serde_json::to_string(&file).map_err(|error| error.to_string())?;
    let file = HornFile::read(&written).map_err(|violations| said(&violations))?;

    let (text_a, text_b) = (read(job_a)?, read(job_b)?);
    let (name_a, name_b) = (name_of(job_a), name_of(job_b));
    let (a, b, horn, comparison) = compare_texts((&name_a, &text_a), (&name_b, &text_b), &file)
        .map_err(|violations| said(&violations))?;
    let aimed = wanted
        .map(|wanted| aim(&a, &horn, &wanted, &Makeable::default()))
        .transpose()
        .map_err(|violations| said(&violations))?;

    let mut written = vec![
        ("impedance.csv", files::impedance_csv(&a, &b, &horn)),
        (
            "comparison.json",
            files::comparison_json(&comparison).map_err(|error| error.to_string())?,
        ),
        ("comparison.svg", files::comparison_svg(&comparison, &a, &b, &horn)),
    ];
    let mut summary = comparison.words.join("\n") + "\n";
    if let Some(aimed) = &aimed {
        let mut value = serde_json::to_value(aimed).map_err(|error| error.to_string())?;
        files::rounded(&mut value);
        let text = serde_json::to_string_pretty(&value).map_err(|error| error.to_string())?;
        written.push(("aim.json", text + "\n"));
        written.push(("aim.csv", aimed.profile.to_csv()));
        summary += &(aimed.words.join("\n") + "\n");
    }
    std::fs::create_dir_all(out).map_err(|error| format!("{}: {error}", out.display()))?;
    for (name, text) in written {
        let path = out.join(name);
        std::fs::write(&path, text).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    // A reader that stops early (a pager, `head`) is no failure.
    let _ = std::io::stdout().write_all(summary.as_bytes());
    Ok(aimed.is_none_or(|aimed| aimed.reached))
}

/// `A5=-4,C#5=2`
fn aims(text: &str) -> Result<Vec<Wanted>, String> {
    text.split(',')
        .map(|one| {
            let (note, cents) = one.split_once('=').unwrap_or((one, ""));
            let cents = cents.trim().parse::<f64>().ok().filter(|cents| cents.is_finite());
            let cents =
                cents.ok_or(format!("--aim {one}: a note and its cents, as in A5=-4\n{USAGE}"))?;
            Ok(Wanted { written: note.trim().to_owned(), cents })
        })
        .collect()
}

/// What a neck is called: its file's name.
fn name_of(path: &Path) -> String {
    path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

fn said(violations: &[Violation]) -> String {
    violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
