//! Compares the bores of two necks on one horn and mouthpiece: those of JOB_A, whatever JOB_B says of its own.
//!
//! `cargo run --release --example compare_bores -- JOB_A.json JOB_B.json OUT_DIR [--horn FILE] [--temperature C]
//! [--humidity PERCENT] [--carbon-dioxide PERCENT] [--mouthpiece MM3] [--aim NOTE=CENTS,... [--most-change MM]
//! [--least-diameter MM] [--greatest-diameter MM] [--least-half-angle DEG] [--greatest-half-angle DEG]]`
//!
//! Writes `impedance.csv`, `profiles.csv`, `comparison.json` and `comparison.svg`. With `--aim` it also seeks the smallest
//! smooth change of the first neck's bore that moves these notes so within the limits, and writes `aim.json` and `aim.csv`.
//!
//! Exit 0 when all is written, 1 when an aim is not reached, 2 when jobs, horn or aim cannot be used (every violation on
//! standard error; nothing is written).

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::acoustics::aim::{Aim, aim_of_text};
use neckwright::acoustics::comparison::compare;
use neckwright::acoustics::contender::read_both;
use neckwright::acoustics::files;
use neckwright::acoustics::horn::HornFile;
use neckwright::job::Violation;

const USAGE: &str = "usage: compare_bores JOB_A.json JOB_B.json OUT_DIR [--horn FILE] [--temperature C] [--humidity PERCENT] [--carbon-dioxide PERCENT] [--mouthpiece MM3] [--aim NOTE=CENTS,... [--most-change MM] [--least-diameter MM] [--greatest-diameter MM] [--least-half-angle DEG] [--greatest-half-angle DEG]]";

/// Options that stand for a field of the horn's file.
const HORN: [(&str, &str); 4] = [
    ("--temperature", "air.temperature_c"),
    ("--humidity", "air.humidity_percent"),
    ("--carbon-dioxide", "air.carbon_dioxide_percent"),
    ("--mouthpiece", "mouthpiece_volume_mm3"),
];

/// Options that stand for a limit of the aim.
const LIMITS: [(&str, &str); 5] = [
    ("--most-change", "most_change_mm"),
    ("--least-diameter", "least_diameter_mm"),
    ("--greatest-diameter", "greatest_diameter_mm"),
    ("--least-half-angle", "least_half_angle_deg"),
    ("--greatest-half-angle", "greatest_half_angle_deg"),
];

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
    let (mut set, mut limits) = (Vec::new(), serde_json::Map::new());
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        let mut next =
            |option: &str| words.next().ok_or(format!("{option} needs a value\n{USAGE}"));
        // What is no number goes on as it was written: it is told with all else that is wrong.
        let mut number =
            |option: &str| next(option).map(|word| number_or_word(&word.to_string_lossy()));
        match word.to_str() {
            Some(option) if HORN.iter().any(|(name, _)| *name == option) => {
                let path = HORN.iter().find(|(name, _)| *name == option).map_or("", |row| row.1);
                set.push((path, number(option)?));
            }
            Some(option) if LIMITS.iter().any(|(name, _)| *name == option) => {
                let path = LIMITS.iter().find(|(name, _)| *name == option).map_or("", |row| row.1);
                limits.insert(path.to_owned(), number(option)?);
            }
            Some("--horn") => horn = Some(PathBuf::from(next("--horn")?)),
            Some("--aim") => wanted = Some(aims(&next("--aim")?.to_string_lossy())),
            Some(option) if option.starts_with("--") => {
                return Err(format!("there is no option {option}\n{USAGE}"));
            }
            _ => names.push(PathBuf::from(word)),
        }
    }
    let [job_a, job_b, out] = names.as_slice() else { return Err(USAGE.to_owned()) };
    if wanted.is_none() && !limits.is_empty() {
        return Err(format!("limits belong to an --aim\n{USAGE}"));
    }
    let text = match &horn {
        Some(path) => read(path)?,
        None => serde_json::to_string(&HornFile::stand_in("stand-in"))
            .map_err(|error| error.to_string())?,
    };
    // What the options say is held to the same ranges as what a file says.
    let file = match serde_json::from_str::<serde_json::Value>(&text) {
        Ok(mut horn) if horn.is_object() => {
            for (path, value) in set {
                if let Some(place) = place_of(&mut horn, path) {
                    *place = value;
                }
            }
            HornFile::read(&horn.to_string())
        }
        // What is no JSON is told with its line.
        _ => HornFile::read(&text),
    };
    let asked =
        wanted.map(|wanted| serde_json::json!({ "wanted": wanted, "limits": limits }).to_string());

    let (text_a, text_b) = (read(job_a)?, read(job_b)?);
    let (name_a, name_b) = (name_of(job_a), name_of(job_b));
    let necks = read_both((&name_a, &text_a), (&name_b, &text_b));
    let (file, a, b) = match (file, necks) {
        (Ok(file), Ok((a, b))) => (file, a, b),
        (file, necks) => {
            let mut found = file.err().unwrap_or_default();
            found.extend(necks.err().unwrap_or_default());
            found.extend(asked.map(|text| Aim::faults(&text)).unwrap_or_default());
            return Err(said(&found));
        }
    };
    let horn = match file.ready(a.job.horn_voice, &a.bore) {
        Ok(horn) => horn,
        Err(mut found) => {
            found.extend(asked.map(|text| Aim::faults(&text)).unwrap_or_default());
            return Err(said(&found));
        }
    };
    let aimed = asked.map(|text| aim_of_text(&a, &horn, &text)).transpose();
    let (comparison, aimed) = match (compare(&a, &b, &horn), aimed) {
        (Ok(comparison), Ok(aimed)) => (comparison, aimed),
        (comparison, aimed) => {
            let mut found = comparison.err().unwrap_or_default();
            found.extend(aimed.err().unwrap_or_default());
            return Err(said(&found));
        }
    };

    let mut written = vec![
        ("impedance.csv", files::impedance_csv(&a, &b, &horn)),
        ("profiles.csv", files::profiles_csv(&a, &b)),
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

/// A place in the horn's file by its path; none where the path leads through what is no group.
fn place_of<'a>(horn: &'a mut serde_json::Value, path: &str) -> Option<&'a mut serde_json::Value> {
    path.split('.').try_fold(horn, |place, name| {
        place.as_object_mut().map(|group| group.entry(name).or_insert(serde_json::Value::Null))
    })
}

/// `A5=-4,C#5=2`
fn aims(text: &str) -> Vec<serde_json::Value> {
    text.split(',')
        .map(|one| {
            let (note, cents) = one.split_once('=').unwrap_or((one, ""));
            serde_json::json!({ "written": note.trim(), "cents": number_or_word(cents.trim()) })
        })
        .collect()
}

/// A number, or the word that is none.
fn number_or_word(text: &str) -> serde_json::Value {
    match text.parse::<f64>().ok().filter(|number| number.is_finite()) {
        Some(number) => number.into(),
        None => text.into(),
    }
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
