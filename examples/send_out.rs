//! Packs what leaves the shop: the files of some parts or of the whole neck with their packing list, in one zip.
//!
//! `cargo run --release --example send_out -- JOB.json OUT.zip [--parts PART[xN],...] [--step ap242|ap214] [--force]
//! [--necks N] [--name NAME] [--chord MM] [--metal PART=METAL] [--thickness PART=MM] [--temper PART=TEMPER]
//! [--projection first_angle|third_angle] [--units millimetres|inches|both] [--paper a4|letter]`
//!
//! Exit 0 when the package was written, 1 when a part fails a check and `--force` was not given, 2 when the job or the
//! request is wrong (every violation on standard error) or the file cannot be written. Nothing is ever left half
//! written: the archive is put in its place when it is complete.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use neckwright::job::Violation;
use neckwright::model::Model;
use neckwright::shop::{FORCE, PackageError, Request, file_name_fault, package};
use serde_json::{Map, Value, json};

const USAGE: &str = "usage: send_out JOB.json OUT.zip [--parts PART[xN],...] [--step ap242|ap214] [--force] \
    [--necks N] [--name NAME] [--chord MM] [--metal PART=METAL] [--thickness PART=MM] [--temper PART=TEMPER] \
    [--projection first_angle|third_angle] [--units millimetres|inches|both] [--paper a4|letter]";

struct Options {
    job: PathBuf,
    out: PathBuf,
    request: Value,
}

/// Why nothing was written.
enum Stop {
    /// Parts fail checks, and nothing else is wrong.
    Checks(String),
    Wrong(Box<dyn Error>),
}

impl<E: Into<Box<dyn Error>>> From<E> for Stop {
    fn from(error: E) -> Self {
        Self::Wrong(error.into())
    }
}

fn main() -> ExitCode {
    match options().map_err(Stop::Wrong).and_then(|options| run(&options)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(Stop::Checks(words)) => {
            eprintln!(
                "{words}\n--force sends them all the same, and the packing list says what fails."
            );
            ExitCode::FAILURE
        }
        Err(Stop::Wrong(error)) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn options() -> Result<Options, Box<dyn Error>> {
    let mut places = Vec::new();
    let mut request = Map::new();
    let mut parts: Option<Vec<Value>> = None;
    let mut drawing = Map::new();
    let mut changes: Vec<(&str, String, Value)> = Vec::new();
    let mut words = std::env::args_os().skip(1);
    while let Some(word) = words.next() {
        let Some(option) = word.to_str().filter(|word| word.starts_with("--")) else {
            places.push(PathBuf::from(word));
            continue;
        };
        if option == "--force" {
            request.insert("force".into(), true.into());
            continue;
        }
        let value = words.next().and_then(|value| value.into_string().ok());
        let value = || value.clone().ok_or(format!("{option} needs a value\n{USAGE}"));
        match option {
            "--parts" => parts = Some(value()?.split(',').map(wanted).collect()),
            "--step" => drop(request.insert("step".into(), value()?.into())),
            "--name" => drop(request.insert("name".into(), value()?.into())),
            "--necks" => drop(request.insert("necks".into(), number(&value()?))),
            "--chord" => drop(request.insert("chord_mm".into(), number(&value()?))),
            "--projection" | "--units" | "--paper" => {
                let field = option.trim_start_matches('-');
                drop(drawing.insert(field.into(), value()?.into()));
            }
            "--metal" | "--thickness" | "--temper" => {
                let text = value()?;
                let (part, to) =
                    text.split_once('=').ok_or(format!("{option} needs PART=VALUE\n{USAGE}"))?;
                let change = match option {
                    "--metal" => ("metal", part.into(), to.into()),
                    "--thickness" => ("thickness_mm", part.into(), number(to)),
                    _ => ("temper", part.into(), to.into()),
                };
                changes.push(change);
            }
            _ => return Err(format!("there is no option {option}\n{USAGE}").into()),
        }
    }
    if !changes.is_empty() {
        let parts =
            parts.as_mut().ok_or("name the parts with --parts to change what they are of")?;
        for (field, part, to) in changes {
            let row = parts.iter_mut().find(|row| row["part"] == *part);
            row.ok_or(format!("{part} is not among the parts of --parts"))?[field] = to;
        }
    }
    if !drawing.is_empty() {
        request.insert("drawing".into(), drawing.into());
    }
    if let Some(parts) = parts {
        request.insert("parts".into(), parts.into());
    }
    let [job, out] = <[PathBuf; 2]>::try_from(places).map_err(|_| USAGE)?;
    Ok(Options { job, out, request: request.into() })
}

/// `brace` or `bracex4` as a row of a request. What stands after the last `x` is judged as a quantity if it begins like a
/// number, so that 0 and -1 are answered as quantities.
fn wanted(word: &str) -> Value {
    match word.rsplit_once(['x', 'X']) {
        Some((part, count))
            if count.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) =>
        {
            json!({"part": part.trim(), "quantity": number(count)})
        }
        _ => json!({"part": word.trim()}),
    }
}

/// A number, or the text that is none, for the reader of the request to refuse.
fn number(text: &str) -> Value {
    match (text.trim().parse::<i64>(), text.trim().parse::<f64>()) {
        (Ok(whole), _) => whole.into(),
        (_, Ok(number)) if number.is_finite() => number.into(),
        _ => text.into(),
    }
}

fn run(options: &Options) -> Result<(), Stop> {
    let mut wrong: Vec<String> = Vec::new();
    let name = options.out.file_name().map(|name| name.to_string_lossy().into_owned());
    if let Some(fault) = file_name_fault(name.as_deref().unwrap_or_default()) {
        wrong.push(format!("{} is no name for the archive: {fault}", options.out.display()));
    } else if options.out.is_dir() {
        wrong.push(format!("{} is a folder; name a file", options.out.display()));
    }
    let (request, violations) = Request::read(&options.request.to_string());
    for violation in violations {
        if violation.is_error() {
            wrong.push(violation.to_string());
        } else {
            eprintln!("{violation}");
        }
    }
    let text = fs::read_to_string(&options.job)
        .map_err(|error| format!("{}: {error}", options.job.display()))?;
    let model = match Model::build(&text, None) {
        Ok(model) => model,
        Err(violations) => {
            wrong.extend(violations.iter().map(ToString::to_string));
            return Err(wrong.join("\n").into());
        }
    };
    for warning in &model.warnings {
        eprintln!("{warning}");
    }
    // A request that was mended is put to the neck all the same, for what else is wrong with it.
    let request = request.ok_or_else(|| wrong.join("\n"))?;
    let packed = package(&model, &request);
    match packed {
        Ok(packed) if wrong.is_empty() => {
            put(&options.out, &packed.zip)?;
            let count = packed.list.files.len() + 2;
            eprintln!("{count} files in {}", options.out.display());
            Ok(())
        }
        Err(PackageError::Refused(violations))
            if wrong.is_empty() && violations.iter().all(|violation| violation.path == FORCE) =>
        {
            Err(Stop::Checks(lines(&violations)))
        }
        Err(PackageError::Refused(violations)) => {
            wrong.push(lines(&violations));
            Err(wrong.join("\n").into())
        }
        Err(error) if wrong.is_empty() => Err(error.into()),
        _ => Err(wrong.join("\n").into()),
    }
}

fn lines(violations: &[Violation]) -> String {
    violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Writes beside the place and then moves into it, so that there is never half a file under its name.
fn put(out: &Path, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    let name = out.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let half = out.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let done = fs::write(&half, bytes).and_then(|()| fs::rename(&half, out));
    done.map_err(|error| {
        let _ = fs::remove_file(&half);
        format!("{}: {error}", out.display()).into()
    })
}
