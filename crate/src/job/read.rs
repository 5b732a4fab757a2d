//! Reading a job file: every violation at once, each with its path, and a job to go on with if one can be had.
//!
//! The text is read as plain JSON and walked beside the schema, so that what the schema says and what the reader
//! enforces are one thing. The walk also mends: a field that is wrong takes the value it has in the starting job, so
//! that rules between fields can be put to the rest of the job in the same answer.

use glam::DVec2;
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::json::{self, field, row};
use super::parameters::{Bore, Centreline, CentrelinePoint, Job, Piece, Voice};
use super::schema::{WARNING_KEY, job_schema, schema_of, unit_of};
use super::starting::starting_value;
use super::violation::Violation;

/// Unknown fields that are named in one group: more help nobody.
const MOST_UNKNOWN: usize = 100;
/// Least distance between neighbouring rows of a table along the neck: nearer, a smooth curve through them says more
/// about the ruler than about the neck.
const LEAST_ROW_DISTANCE_MM: f64 = 0.1;
/// Least bend that is one: a smaller angle is a straight piece.
const LEAST_BEND_DEG: f64 = 0.01;

/// A job as read, with what the maker should know about it.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadJob {
    /// The job.
    pub job: Job,
    /// Violations of severity warning only.
    pub warnings: Vec<Violation>,
}

/// What could be made of a job file that may be wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Lenient {
    /// The job, wrong fields replaced by those of the starting job; none if the text is not even a group of fields.
    pub job: Option<Job>,
    /// Every violation found, errors and warnings, in the order of the file.
    pub violations: Vec<Violation>,
}

/// Reads a job file.
///
/// # Errors
///
/// Every violation at once, warnings among them, if any of them is an error.
pub fn read_job(text: &str) -> Result<ReadJob, Vec<Violation>> {
    match read_job_leniently(text) {
        Lenient { job: Some(job), violations } if !violations.iter().any(Violation::is_error) => {
            Ok(ReadJob { job, warnings: violations })
        }
        Lenient { violations, .. } => Err(violations),
    }
}

/// Reads a job file and mends what is wrong, so that rules between its fields can still be put to the rest.
///
/// The job is as written only if no violation is an error; never build from it otherwise.
#[must_use]
pub fn read_job_leniently(text: &str) -> Lenient {
    let (value, mut violations) = match json::parse(text) {
        Ok(read) => read,
        Err(violation) => {
            return Lenient { job: None, violations: vec![*violation] };
        }
    };
    let stand_in = stand_in_for(&value);
    let about = "A job file is one group of fields in braces.";
    let mut job: Option<Job> = walk(&value, job_schema(), about, stand_in, &mut violations);
    if let Some(job) = &mut job {
        mend_rows(job, stand_in, &mut violations);
    }
    Lenient { job, violations }
}

/// Text of a job file: every field in the order of the parameters, two spaces deep, ending in a newline.
///
/// Reading it back gives the same job, to the last bit of every number, if all its numbers are finite.
#[must_use]
pub fn write_job(job: &Job) -> String {
    // Fails only for maps whose keys are not text, and a job has no maps.
    let mut text = serde_json::to_string_pretty(job).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads another text of fields as a job file is read: by the schema of what it is to be, every violation at once.
///
/// Gives what could be made of it, wrong fields replaced by those of `stand_in`, and every violation. It is as written
/// only if no violation is an error.
pub fn read_by_schema<T: JsonSchema + DeserializeOwned>(
    text: &str,
    about: &str,
    stand_in: &Value,
) -> (Option<T>, Vec<Violation>) {
    let (value, mut violations) = match json::parse(text) {
        Ok(read) => read,
        Err(violation) => return (None, vec![*violation]),
    };
    let made = walk(&value, &schema_of::<T>(), about, Some(stand_in), &mut violations);
    (made, violations)
}

/// What stands in a text of fields, right or wrong, for rules that are put to the fields beside those that are wrong; none if it
/// is no such text.
#[must_use]
pub fn read_plainly(text: &str) -> Option<Value> {
    json::parse(text).ok().map(|(value, _)| value)
}

/// Walks a value beside its schema, notes what is wrong, and makes of it what can be made; fields that are wrong take their
/// value from `stand_in`.
fn walk<T: DeserializeOwned>(
    value: &Value,
    schema: &Value,
    about: &str,
    stand_in: Option<&Value>,
    violations: &mut Vec<Violation>,
) -> Option<T> {
    let mut reader = Reader { definitions: schema.get("$defs"), violations: Vec::new() };
    let whole = Field { path: String::new(), about };
    let mended = reader.read(&whole, schema, value, stand_in.filter(|_| value.is_object()));
    violations.append(&mut reader.violations);
    let made = mended.and_then(|value| serde_json::from_value(value).ok());
    if made.is_none() && !violations.iter().any(Violation::is_error) {
        // Reached only if schema and fields disagree, which the tests rule out; still an answer, not a panic.
        violations.push(Violation::error(
            "",
            Value::Null,
            "what the schema says",
            "The file fits the schema and yet cannot be read: please report it.",
        ));
    }
    made
}

/// The starting job whose values stand in for wrong ones: that of the voice, or the alto's.
fn stand_in_for(value: &Value) -> Option<&'static Value> {
    let voice = match value.get("horn_voice").and_then(Value::as_str) {
        Some("tenor" | "baritone") => Voice::Tenor,
        _ => Voice::Alto,
    };
    starting_value(voice)
}

/// Where a value stands and the sentence that explains it.
#[derive(Clone)]
struct Field<'a> {
    path: String,
    about: &'a str,
}

impl<'a> Field<'a> {
    fn wrong(&self, value: &Value, allowed: String, why: &str) -> Violation {
        let why = match (why.is_empty(), self.about.is_empty()) {
            (true, _) => self.about.to_owned(),
            (false, true) => why.to_owned(),
            (false, false) => format!("{why} {}", self.about),
        };
        Violation::error(self.path.clone(), value.clone(), allowed, why)
    }

    /// Name of the field itself, without its group and row.
    fn name(&self) -> &str {
        self.path.rsplit(['.', '[']).next().unwrap_or_default()
    }
}

/// The sentence that explains what this schema is about.
fn description(schema: &Value) -> &str {
    schema.get("description").and_then(Value::as_str).unwrap_or_default()
}

fn properties(schema: &Value) -> impl Iterator<Item = (&String, &Value)> {
    schema.get("properties").and_then(Value::as_object).into_iter().flatten()
}

fn is_required(schema: &Value, name: &str) -> bool {
    schema
        .get("required")
        .and_then(Value::as_array)
        .is_some_and(|names| names.iter().any(|required| required == name))
}

fn alternatives(schema: &Value) -> Option<&Vec<Value>> {
    schema.get("anyOf").and_then(Value::as_array)
}

fn is_null(schema: &Value) -> bool {
    schema.get("type").is_some_and(|kind| kind == "null")
}

/// What type of value a schema asks for, null apart.
fn kind(schema: &Value) -> Option<&str> {
    match schema.get("type")? {
        Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).find(|kind| *kind != "null"),
        kind => kind.as_str(),
    }
}

/// Whether null stands for a plain value that is not given.
fn may_be_null(schema: &Value) -> bool {
    let kinds = schema.get("type").and_then(Value::as_array);
    kinds.is_some_and(|kinds| kinds.iter().any(|kind| kind == "null"))
}

/// The values a field chooses from, each with the schema that speaks of it; empty if it does not choose.
fn choices(schema: &Value) -> Vec<(&Value, &Value)> {
    let listed = schema
        .get("enum")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .map(|choice| (choice, schema));
    let alone = schema.get("const").into_iter().map(|choice| (choice, schema));
    let nested =
        schema.get("oneOf").and_then(Value::as_array).into_iter().flatten().flat_map(choices);
    listed.chain(alone).chain(nested).collect()
}

struct Reader<'a> {
    definitions: Option<&'a Value>,
    violations: Vec<Violation>,
}

impl<'a> Reader<'a> {
    /// The schema a reference points to, or the schema itself.
    fn resolve(&self, schema: &'a Value) -> &'a Value {
        schema
            .get("$ref")
            .and_then(Value::as_str)
            .and_then(|reference| reference.strip_prefix("#/$defs/"))
            .and_then(|name| self.definitions?.get(name))
            .unwrap_or(schema)
    }

    /// Reads one value: notes what is wrong and gives the value to go on with, if there is one.
    fn read(
        &mut self,
        at: &Field<'a>,
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let schema = self.resolve(schema);
        if let Some(options) = alternatives(schema) {
            if options.iter().any(is_null) {
                return match options.iter().find(|option| !is_null(option)) {
                    // What is wrong and need not be there is left out of the answer's further questions.
                    Some(inner) if !value.is_null() => {
                        self.read(at, inner, value, stand_in).or(Some(Value::Null))
                    }
                    _ => Some(Value::Null),
                };
            }
            let options: Vec<&Value> = options.iter().map(|option| self.resolve(option)).collect();
            return self.read_one_of(at, &options, value, stand_in);
        }
        let choices = choices(schema);
        if !choices.is_empty() {
            return self.read_choice(at, &choices, value, stand_in);
        }
        let plain = |reader: &mut Self| reader.read_plain(at, schema, value, stand_in);
        match may_be_null(schema) {
            true if value.is_null() => Some(Value::Null),
            true => plain(self).or(Some(Value::Null)),
            false => plain(self),
        }
    }

    /// Reads a value of one type.
    fn read_plain(
        &mut self,
        at: &Field<'a>,
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        match kind(schema) {
            Some("object") => self.read_group(at, &[schema], schema, value, stand_in),
            Some("array") => self.read_list(at, schema, value, stand_in),
            Some("number") => self.read_number(at, schema, value, stand_in, false),
            Some("integer") => self.read_number(at, schema, value, stand_in, true),
            Some("string") => self.read_text(at, schema, value, stand_in),
            Some("boolean") if !value.is_boolean() => {
                self.refuse(at.wrong(value, self.allowed(at.name(), schema), ""), stand_in)
            }
            _ => Some(value.clone()),
        }
    }

    fn refuse(&mut self, violation: Violation, stand_in: Option<&Value>) -> Option<Value> {
        self.violations.push(violation);
        stand_in.cloned()
    }

    /// What a schema allows, in the maker's words.
    fn allowed(&self, name: &str, schema: &'a Value) -> String {
        let schema = self.resolve(schema);
        if let Some(options) = alternatives(schema) {
            let options: Vec<String> =
                options
                    .iter()
                    .map(|option| {
                        if is_null(option) { "null".to_owned() } else { self.allowed(name, option) }
                    })
                    .collect();
            return options.join(", or ");
        }
        let choices = choices(schema);
        if !choices.is_empty() {
            let names: Vec<&str> =
                choices.iter().filter_map(|(choice, _)| choice.as_str()).collect();
            return names.join(", ");
        }
        let limit = |key: &str| schema.get(key).and_then(Value::as_f64);
        match kind(schema) {
            Some("object") => {
                let names: Vec<&str> = properties(schema).map(|(name, _)| name.as_str()).collect();
                format!("a group with {}", names.join(", "))
            }
            Some("array") => match (limit("minItems"), limit("maxItems")) {
                (Some(least), Some(most)) => format!("a list of {least} to {most} rows"),
                _ => "a list".to_owned(),
            },
            Some(kind @ ("number" | "integer")) => {
                let whole = if kind == "integer" { "whole number " } else { "" };
                let unit = match unit_of(name) {
                    "deg" => " degrees",
                    "mm" => " mm",
                    _ => "",
                };
                match (limit("minimum"), limit("maximum")) {
                    (Some(least), Some(greatest)) => format!("{whole}{least} to {greatest}{unit}"),
                    _ => format!("a {whole}number{unit}"),
                }
            }
            Some("boolean") => "true or false".to_owned(),
            Some("string") => match limit("maxLength") {
                Some(most) => format!("text of at most {most} characters"),
                None => "text".to_owned(),
            },
            _ => "anything".to_owned(),
        }
    }

    fn read_number(
        &mut self,
        at: &Field<'a>,
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
        whole: bool,
    ) -> Option<Value> {
        let allowed = self.allowed(at.name(), schema);
        let Some(number) = value.as_f64() else {
            let why = if value.is_string() {
                "A number is written without quotes."
            } else {
                "This must be a number."
            };
            return self.refuse(at.wrong(value, allowed, why), stand_in);
        };
        if whole && number.fract() != 0.0 {
            let stand_in = stand_in.or(schema.get("minimum"));
            return self.refuse(at.wrong(value, allowed, "This must be a whole number."), stand_in);
        }
        let limit =
            |key: &str, otherwise| schema.get(key).and_then(Value::as_f64).unwrap_or(otherwise);
        let (least, greatest) =
            (limit("minimum", f64::NEG_INFINITY), limit("maximum", f64::INFINITY));
        if !(least..=greatest).contains(&number) {
            // Without a value to stand in, as in a row of a list, the nearest allowed one keeps the list together.
            let nearest = if number < least { "minimum" } else { "maximum" };
            return self.refuse(at.wrong(value, allowed, ""), stand_in.or(schema.get(nearest)));
        }
        // JSON does not tell 20 from 20.0, the type behind the field does.
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a whole number within limits that fit"
        )]
        Some(if whole { Value::from(number as i64) } else { value.clone() })
    }

    fn read_text(
        &mut self,
        at: &Field<'a>,
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let allowed = self.allowed(at.name(), schema);
        let most = schema.get("maxLength").and_then(Value::as_u64).unwrap_or(u64::MAX);
        match value.as_str() {
            None => self.refuse(at.wrong(value, allowed, "This must be text in quotes."), stand_in),
            Some(text) if text.chars().count() as u64 > most => {
                self.refuse(at.wrong(value, allowed, "The text is too long."), stand_in)
            }
            Some(_) => Some(value.clone()),
        }
    }

    fn read_choice(
        &mut self,
        at: &Field<'a>,
        choices: &[(&'a Value, &'a Value)],
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let names: Vec<&str> = choices.iter().filter_map(|(choice, _)| choice.as_str()).collect();
        match choices.iter().find(|(choice, _)| *choice == value) {
            Some((_, schema)) => {
                if let Some(warning) = schema.get(WARNING_KEY).and_then(Value::as_str) {
                    let others: Vec<&str> = choices
                        .iter()
                        .filter(|(choice, _)| *choice != value)
                        .filter_map(|(choice, _)| choice.as_str())
                        .collect();
                    self.violations.push(Violation::warning(
                        at.path.clone(),
                        value.clone(),
                        others.join(", "),
                        warning,
                    ));
                }
                Some(value.clone())
            }
            None => {
                let why = value.as_str().and_then(|name| nearest_name(name, names.iter().copied()));
                let why = why.map_or(String::new(), |name| format!("Did you mean {name}?"));
                self.refuse(at.wrong(value, names.join(", "), &why), stand_in)
            }
        }
    }

    fn read_list(
        &mut self,
        at: &Field<'a>,
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let allowed = self.allowed(at.name(), schema);
        let Some(rows) = value.as_array() else {
            return self.refuse(
                at.wrong(value, allowed, "This must be a list in square brackets."),
                stand_in,
            );
        };
        let limit =
            |key: &str, otherwise| schema.get(key).and_then(Value::as_u64).unwrap_or(otherwise);
        let count = rows.len() as u64;
        if count < limit("minItems", 0) || count > limit("maxItems", u64::MAX) {
            // Rows of a list of this length are not looked at: there may be a hundred thousand of them.
            let violation = at.wrong(&Value::from(format!("{count} rows")), allowed, "");
            return self.refuse(violation, stand_in);
        }
        let Some(row_schema) = schema.get("items") else {
            return Some(value.clone());
        };
        let mut mended = Some(Vec::new());
        for (index, value) in rows.iter().enumerate() {
            let at =
                Field { path: row(&at.path, index), about: description(self.resolve(row_schema)) };
            let value = self.read(&at, row_schema, value, None);
            mended = mended.zip(value).map(|(mut rows, value)| {
                rows.push(value);
                rows
            });
        }
        mended.map(Value::from).or_else(|| stand_in.cloned())
    }

    /// Reads a group of fields that may be written in several ways, and settles which one is meant.
    fn read_one_of(
        &mut self,
        at: &Field<'a>,
        options: &[&'a Value],
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let Some(map) = value.as_object() else {
            let allowed: Vec<String> =
                options.iter().map(|option| self.allowed(at.name(), option)).collect();
            return self.refuse(
                at.wrong(value, allowed.join(", or "), "This must be a group of fields in braces."),
                stand_in,
            );
        };
        // The fields that only one way has: they tell which way is meant.
        let own = |option: &'a Value| -> Vec<&'a str> {
            properties(option)
                .map(|(name, _)| name.as_str())
                .filter(|name| {
                    !options.iter().all(|other| properties(other).any(|(known, _)| known == name))
                })
                .collect()
        };
        let given = |option: &'a Value| {
            own(option).into_iter().filter(|name| map.contains_key(*name)).collect::<Vec<_>>()
        };
        let ways = options
            .iter()
            .map(|option| own(option).join(" and "))
            .collect::<Vec<_>>()
            .join(", or ");
        let meant: Vec<&Value> =
            options.iter().copied().filter(|option| !given(option).is_empty()).collect();
        match meant.as_slice() {
            [] => {
                let violation = at.wrong(value, ways, "None of these is given.");
                self.violations.push(violation);
                self.read_given(at, options, map);
                stand_in.cloned()
            }
            [one] => self.read_group(at, options, one, value, stand_in),
            several => {
                for option in several {
                    for name in given(option) {
                        let at = Field { path: field(&at.path, name), about: "" };
                        let value = map.get(name).unwrap_or(&Value::Null);
                        self.violations.push(at.wrong(
                            value,
                            ways.clone(),
                            "Ways that exclude each other are given together; keep one.",
                        ));
                    }
                }
                self.read_given(at, options, map);
                stand_in.cloned()
            }
        }
    }

    /// Reads a group of fields written as `schema` says; `options` are the ways it may be written in, for names known.
    fn read_group(
        &mut self,
        at: &Field<'a>,
        options: &[&'a Value],
        schema: &'a Value,
        value: &Value,
        stand_in: Option<&Value>,
    ) -> Option<Value> {
        let Some(map) = value.as_object() else {
            let allowed = self.allowed(at.name(), schema);
            return self.refuse(
                at.wrong(value, allowed, "This must be a group of fields in braces."),
                stand_in,
            );
        };
        self.refuse_unknown(at, options, map);
        let mut mended = Some(Map::new());
        for (name, property) in properties(schema) {
            let at = self.inner(at, name, property);
            let stand_in = stand_in.and_then(|group| group.get(name));
            let value = match map.get(name) {
                Some(value) => self.read(&at, property, value, stand_in),
                None if is_required(schema, name) => {
                    let allowed = self.allowed(name, property);
                    self.refuse(at.wrong(&Value::Null, allowed, "It is missing."), stand_in)
                }
                None => continue,
            };
            mended = mended.zip(value).map(|(mut map, value)| {
                map.insert(name.clone(), value);
                map
            });
        }
        mended.map(Value::from).or_else(|| stand_in.cloned())
    }

    /// Looks at the fields that are given where it is not clear which way of writing the group is meant: each in the
    /// terms of the first way that knows it.
    fn read_given(&mut self, at: &Field<'a>, options: &[&'a Value], map: &Map<String, Value>) {
        self.refuse_unknown(at, options, map);
        for (name, value) in map {
            let known = options
                .iter()
                .flat_map(|option| properties(option))
                .find(|(known, _)| *known == name);
            if let Some((_, property)) = known {
                let at = self.inner(at, name, property);
                self.read(&at, property, value, None);
            }
        }
    }

    fn refuse_unknown(&mut self, at: &Field<'a>, options: &[&'a Value], map: &Map<String, Value>) {
        let mut known: Vec<&str> = Vec::new();
        for (name, _) in options.iter().flat_map(|option| properties(option)) {
            if !known.contains(&name.as_str()) {
                known.push(name);
            }
        }
        for (name, value) in
            map.iter().filter(|(name, _)| !known.contains(&name.as_str())).take(MOST_UNKNOWN)
        {
            let why = match nearest_name(name, known.iter().copied()) {
                Some(near) => format!("There is no such field. Did you mean {near}?"),
                None => "There is no such field.".to_owned(),
            };
            self.violations.push(Violation::error(
                field(&at.path, name),
                value.clone(),
                known.join(", "),
                why,
            ));
        }
    }

    /// A field of the group at `at`, explained by its own sentence or by that of what it holds.
    fn inner(&self, at: &Field<'a>, name: &str, property: &'a Value) -> Field<'a> {
        let own = description(property);
        let about = if own.is_empty() { description(self.resolve(property)) } else { own };
        Field { path: field(&at.path, name), about }
    }
}

/// The known name a mistyped one is nearest to, if it is near enough to be a slip.
fn nearest_name<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let slips = |known: &str| 1 + known.chars().count().min(12) / 4;
    known
        .filter(|known| {
            known.chars().count().abs_diff(name.chars().take(64).count()) <= slips(known)
        })
        .map(|known| (edits_between(name, known), known))
        .filter(|(edits, known)| *edits <= slips(known))
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, known)| known)
}

/// Letters to put in, take out or change to make one word the other (Levenshtein's distance), case aside.
fn edits_between(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.to_lowercase().chars().collect();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, in_a) in a.to_lowercase().chars().enumerate() {
        let mut left = i + 1;
        let mut line = vec![left];
        for (&in_b, pair) in b.iter().zip(above.windows(2)) {
            if let [diagonal, up] = *pair {
                left = (diagonal + usize::from(in_a != in_b)).min(up + 1).min(left + 1);
                line.push(left);
            }
        }
        above = line;
    }
    above.last().copied().unwrap_or_default()
}

/// What must hold between the rows of one list, which no schema says; a list that breaks it is replaced by the
/// starting job's.
fn mend_rows(job: &mut Job, stand_in: Option<&Value>, violations: &mut Vec<Violation>) {
    let in_centreline = check_centreline(&job.centreline);
    let in_bore = check_bore(&job.bore);
    if in_centreline.is_empty() && in_bore.is_empty() {
        return;
    }
    // A list that is only warned of is built as it stands.
    let broken = |found: &[Violation]| found.iter().any(Violation::is_error);
    if let Some(stand_in) =
        stand_in.and_then(|value| serde_json::from_value::<Job>(value.clone()).ok())
    {
        if broken(&in_centreline) {
            job.centreline = stand_in.centreline;
        }
        if broken(&in_bore) {
            job.bore = stand_in.bore;
        }
    }
    violations.extend(in_centreline);
    violations.extend(in_bore);
}

fn check_centreline(centreline: &Centreline) -> Vec<Violation> {
    match centreline {
        Centreline::Pieces(line) => line
            .pieces
            .iter()
            .enumerate()
            .filter_map(|(index, piece)| match piece {
                Piece::Bend(bend) if bend.bend_deg.abs() < LEAST_BEND_DEG => {
                    Some(Violation::error(
                        format!("centreline.pieces[{index}].bend_deg"),
                        bend.bend_deg,
                        format!("at least {LEAST_BEND_DEG} degrees, down or up"),
                        "A piece that does not bend is a straight piece.",
                    ))
                }
                _ => None,
            })
            .collect(),
        Centreline::Points(line) => {
            // The end of the straight start is the point before the first.
            let start = CentrelinePoint { x_mm: line.straight_start_mm, z_mm: 0.0 };
            std::iter::once(&start)
                .chain(&line.points)
                .zip(&line.points)
                .enumerate()
                .filter(|(_, (before, here))| distance(before, here) < LEAST_ROW_DISTANCE_MM)
                .map(|(index, (_, here))| {
                    Violation::error(
                        format!("centreline.points[{index}]"),
                        serde_json::json!({"x_mm": here.x_mm, "z_mm": here.z_mm}),
                        format!("at least {LEAST_ROW_DISTANCE_MM} mm from the point before"),
                        "No line can be laid through two points in one place; the first point comes after the end of \
                         the straight start.",
                    )
                })
                .collect()
        }
    }
}

fn distance(a: &CentrelinePoint, b: &CentrelinePoint) -> f64 {
    DVec2::new(a.x_mm, a.z_mm).distance(DVec2::new(b.x_mm, b.z_mm))
}

fn check_bore(bore: &Bore) -> Vec<Violation> {
    let Bore::Table(bore) = bore else {
        return Vec::new();
    };
    let mut violations = Vec::new();
    if let Some(first) = bore.table.first().filter(|first| first.station_mm != 0.0) {
        violations.push(Violation::error(
            "bore.table[0].station_mm",
            first.station_mm,
            "0 mm",
            "The table begins at the cork end: what lies before its first row is not known.",
        ));
    }
    for (index, pair) in bore.table.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        let least = a.station_mm + LEAST_ROW_DISTANCE_MM;
        if b.station_mm < least {
            violations.push(Violation::error(
                format!("bore.table[{}].station_mm", index + 1),
                b.station_mm,
                format!("{least} mm or more"),
                "Stations rise from row to row.",
            ));
        }
        if b.diameter_mm < a.diameter_mm {
            // Some necks are made so on purpose: said, not refused.
            violations.push(Violation::warning(
                format!("bore.table[{}].diameter_mm", index + 1),
                b.diameter_mm,
                format!("usually {} mm or more", a.diameter_mm),
                "The bore shrinks towards the tenon here: a mandrel would not come out at that end.",
            ));
        }
    }
    violations
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every keyword the walk understands; a new one in the schema must be taught to the reader first, or it would be
    /// printed and not enforced.
    #[test]
    fn the_reader_enforces_every_keyword_of_the_schema() {
        const ENFORCED: [&str; 15] = [
            "$ref",
            "type",
            "properties",
            "required",
            "additionalProperties",
            "items",
            "minItems",
            "maxItems",
            "minimum",
            "maximum",
            "maxLength",
            "const",
            "enum",
            "oneOf",
            "anyOf",
        ];
        const SAID_ONLY: [&str; 8] = [
            "$schema",
            "$defs",
            "title",
            "description",
            "default",
            "format",
            "x-unit",
            "x-warning",
        ];
        fn keywords(schema: &Value, seen: &mut Vec<String>) {
            for (keyword, value) in schema.as_object().into_iter().flatten() {
                seen.push(keyword.clone());
                match (keyword.as_str(), value) {
                    ("properties" | "$defs", Value::Object(map)) => {
                        map.values().for_each(|inner| keywords(inner, seen))
                    }
                    ("oneOf" | "anyOf", Value::Array(list)) => {
                        list.iter().for_each(|inner| keywords(inner, seen))
                    }
                    ("items", inner) => keywords(inner, seen),
                    ("additionalProperties", open) => assert_eq!(open, false),
                    ("default", default) => assert!(default.is_null()),
                    _ => {}
                }
            }
        }
        let mut seen = Vec::new();
        keywords(job_schema(), &mut seen);
        for keyword in seen {
            assert!(
                ENFORCED.contains(&keyword.as_str()) || SAID_ONLY.contains(&keyword.as_str()),
                "{keyword}"
            );
        }
    }

    #[test]
    fn edits_are_counted_as_in_the_textbook() {
        assert_eq!(edits_between("kitten", "sitting"), 3);
        assert_eq!(edits_between("", "abc"), 3);
        assert_eq!(edits_between("Wall_MM", "wall_mm"), 0);
    }

    #[test]
    fn only_a_slip_is_taken_for_a_known_name() {
        let known = ["bore_mm", "stand_mm", "station_mm"];
        assert_eq!(nearest_name("staton_mm", known.into_iter()), Some("station_mm"));
        assert_eq!(nearest_name("colour", known.into_iter()), None);
        assert_eq!(nearest_name(&"x".repeat(1 << 20), known.into_iter()), None);
    }
}
