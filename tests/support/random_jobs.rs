//! Random jobs over the whole stated ranges of the schema.
//!
//! A job starts from one of the examples, is scaled as a whole, takes one of the forms a job can be written in, and
//! then has single fields moved. What may be moved, and how far, is read off the schema: a field added there is moved
//! here without being named.

use std::fmt;

use neckwright::job::job_schema;
use neckwright::parts::build_from_text;
use neckwright::tables::gauges;
use neckwright::tables::threads::Thread;
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::{Value, json};

/// The examples jobs start from, smallest neck first.
pub const EXAMPLES: [(&str, &str); 4] = [
    ("smallest", include_str!("../../examples/jobs/smallest.json")),
    ("alto", include_str!("../../examples/jobs/alto.json")),
    ("tenor", include_str!("../../examples/jobs/tenor.json")),
    ("largest", include_str!("../../examples/jobs/largest.json")),
];

/// One of the examples as a value.
pub fn example(index: usize) -> Value {
    serde_json::from_str(EXAMPLES[index % EXAMPLES.len()].1).expect("the example is JSON")
}

/// A field that can be moved.
#[derive(Clone, Debug)]
pub struct Field {
    /// JSON pointer into the job.
    pub pointer: String,
    pub range: Range,
}

/// What may stand in a field.
#[derive(Clone, Debug)]
pub enum Range {
    Number { least: f64, most: f64, whole: bool },
    OneOf(Vec<Value>),
}

/// Every field of a job that has a range or a choice, in the order of the schema.
pub fn fields(job: &Value) -> Vec<Field> {
    let schema = job_schema();
    let mut found = Vec::new();
    walk(schema, schema, job, "", &mut found);
    found
}

fn resolve<'a>(root: &'a Value, schema: &'a Value) -> &'a Value {
    let reference = schema["$ref"].as_str().and_then(|path| path.strip_prefix('#'));
    reference.and_then(|path| root.pointer(path)).unwrap_or(schema)
}

/// Whether a value is written in the way this schema speaks of.
fn speaks_of(schema: &Value, value: &Value) -> bool {
    match (schema["properties"].as_object(), value.as_object()) {
        (Some(properties), Some(value)) => value.keys().all(|name| properties.contains_key(name)),
        (None, None) => value.is_null() == (schema["type"] == "null"),
        _ => false,
    }
}

fn choices(schema: &Value) -> Vec<Value> {
    let listed = schema["enum"].as_array().into_iter().flatten().cloned();
    let nested = schema["oneOf"].as_array().into_iter().flatten().flat_map(choices);
    listed.chain(schema.get("const").cloned()).chain(nested).collect()
}

fn walk(root: &Value, schema: &Value, value: &Value, pointer: &str, found: &mut Vec<Field>) {
    let schema = resolve(root, schema);
    if let Some(ways) = schema["anyOf"].as_array() {
        let way = ways.iter().map(|way| resolve(root, way)).find(|way| speaks_of(way, value));
        if let Some(way) = way {
            walk(root, way, value, pointer, found);
        }
        return;
    }
    let choices = choices(schema);
    if choices.len() > 1 {
        found.push(Field { pointer: pointer.to_owned(), range: Range::OneOf(choices) });
    }
    match schema["type"].as_str() {
        Some("object") => {
            for (name, inner) in schema["properties"].as_object().into_iter().flatten() {
                if let Some(value) = value.get(name) {
                    walk(root, inner, value, &format!("{pointer}/{name}"), found);
                }
            }
        }
        Some("array") => {
            for (index, row) in value.as_array().into_iter().flatten().enumerate() {
                walk(root, &schema["items"], row, &format!("{pointer}/{index}"), found);
            }
        }
        Some(kind @ ("number" | "integer")) => {
            if let (Some(least), Some(most)) =
                (schema["minimum"].as_f64(), schema["maximum"].as_f64())
            {
                let range = Range::Number { least, most, whole: kind == "integer" };
                found.push(Field { pointer: pointer.to_owned(), range });
            }
        }
        _ => {}
    }
}

/// Where a field is moved to.
#[derive(Clone, Copy, Debug)]
pub enum To {
    /// By a share of its own value.
    Near(f64),
    /// To a share of its range.
    Anywhere(f64),
    Least,
    Most,
}

/// Moves one field; a choice is moved by the share as well.
pub fn put(job: &mut Value, field: &Field, to: To) {
    let Some(target) = job.pointer_mut(&field.pointer) else { return };
    match &field.range {
        Range::Number { least, most, whole } => {
            let now = target.as_f64().unwrap_or(*least);
            let new = match to {
                To::Near(share) => now + share * now.abs().max(0.02 * (most - least)),
                To::Anywhere(share) => least + (most - least) * share,
                To::Least => *least,
                To::Most => *most,
            };
            let new = new.clamp(*least, *most);
            *target = if *whole { json!(new.round() as i64) } else { json!(new) };
        }
        Range::OneOf(choices) => {
            let share = match to {
                To::Near(share) => (share.abs() * 7.0).fract(),
                To::Anywhere(share) => share,
                To::Least => 0.0,
                To::Most => 1.0,
            };
            let index = ((share * choices.len() as f64) as usize).min(choices.len() - 1);
            *target = choices[index].clone();
        }
    }
}

/// How a job is written down, where the schema leaves a choice between groups of fields.
#[derive(Clone, Debug)]
pub struct Forms {
    /// Pieces put into the centreline, each before the piece at its place.
    pub pieces: Vec<(Index, Value)>,
    /// The centreline as points at about these distances in turn, mm.
    pub points_mm: Option<Vec<f64>>,
    /// The bore as a table: rows at about these distances in turn, mm, each so far off the cone as a share.
    pub table: Option<Vec<(f64, f64)>>,
    /// The wall as a gauge.
    pub gauge: bool,
    /// A badge at this azimuth in degrees, or none.
    pub badge_deg: Option<f64>,
}

/// A job to be made, so written that a failing one can be simplified step by step.
#[derive(Clone)]
pub struct Recipe {
    pub example: usize,
    pub scale: f64,
    pub forms: Forms,
    pub moves: Vec<(Index, To)>,
    /// Whether a move that breaks a rule is taken back.
    pub keep_rules: bool,
}

impl fmt::Debug for Recipe {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} scaled by {}, {:?}; changed: ",
            EXAMPLES[self.example].0, self.scale, self.forms
        )?;
        let (start, job) = (self.start(), self.job());
        for field in fields(&job) {
            let (before, after) = (start.pointer(&field.pointer), job.pointer(&field.pointer));
            if before != after {
                write!(
                    f,
                    "{} {} -> {}; ",
                    field.pointer,
                    before.unwrap_or(&Value::Null),
                    after.unwrap_or(&Value::Null)
                )?;
            }
        }
        Ok(())
    }
}

impl Recipe {
    /// The job before single fields are moved.
    pub fn start(&self) -> Value {
        let mut job = scaled(example(self.example), self.scale);
        for (place, piece) in &self.forms.pieces {
            with_piece(&mut job, *place, piece);
        }
        if let Some(steps) = &self.forms.points_mm {
            with_points(&mut job, steps);
        }
        if let Some(rows) = &self.forms.table {
            with_table(&mut job, rows);
        }
        if self.forms.gauge {
            with_gauge(&mut job);
        }
        if let Some(azimuth) = self.forms.badge_deg {
            with_badge(&mut job, azimuth);
        }
        job
    }

    /// The job.
    pub fn job(&self) -> Value {
        let mut job = self.start();
        if self.keep_rules && build_from_text(&job.to_string()).is_err() {
            job = example(self.example);
        }
        for (which, to) in &self.moves {
            let fields = fields(&job);
            let mut moved = job.clone();
            put(&mut moved, which.get(&fields), *to);
            if !self.keep_rules || build_from_text(&moved.to_string()).is_ok() {
                job = moved;
            }
        }
        job
    }
}

/// Every length of a neck but the limits of its gaps grown by one factor; the threads follow their screws. Screws and
/// what they hold do not shrink: there are no smaller threads.
fn scaled(mut job: Value, factor: f64) -> Value {
    for field in fields(&job) {
        let (Range::Number { least, most, .. }, Some(target)) =
            (&field.range, job.pointer_mut(&field.pointer))
        else {
            continue;
        };
        let small = [
            "/hinge/s",
            "/hinge/h",
            "/hinge/tube_o",
            "/posts/d",
            "/posts/t",
            "/spring/w",
            "/spring_screw",
        ]
        .iter()
        .any(|group| field.pointer.starts_with(group));
        let factor = if small { factor.max(1.0) } else { factor };
        if field.pointer.ends_with("_mm") && !field.pointer.starts_with("/limits") {
            *target = json!((target.as_f64().unwrap_or(*least) * factor).clamp(*least, *most));
        }
    }
    let room = job.pointer("/hinge/screw_diameter_mm").and_then(Value::as_f64).unwrap_or(0.0);
    job["hinge"]["thread"] = largest_thread(room);
    let room = job.pointer("/key/arm_thickness_mm").and_then(Value::as_f64).unwrap_or(0.0);
    job["spring_screw"]["thread"] = largest_thread(room / 2.0);
    job
}

/// The largest metric thread not larger than this, or the smallest there is.
fn largest_thread(diameter_mm: f64) -> Value {
    let all = ["M1.6", "M1.8", "M2", "M2.2", "M2.5", "M3", "M3.5", "M4"];
    let fits = |name: &&&str| {
        let thread: Thread = serde_json::from_value(json!(name)).expect("a thread");
        thread.major_diameter_mm() <= diameter_mm
    };
    json!(all.iter().rev().find(fits).unwrap_or(&"M1.6"))
}

/// One more piece between the straight ends of the centreline, as far as it is given in pieces.
fn with_piece(job: &mut Value, place: Index, piece: &Value) {
    if let Some(pieces) = job.pointer_mut("/centreline/pieces").and_then(Value::as_array_mut) {
        let at = 1 + place.index(pieces.len() - 1);
        pieces.insert(at, piece.clone());
    }
}

/// Straight run at both ends, and points between them, in place of pieces.
fn with_points(job: &mut Value, steps: &[f64]) {
    let Some(pieces) = job.pointer("/centreline/pieces").and_then(Value::as_array).cloned() else {
        return;
    };
    let number = |piece: &Value, name: &str| piece.get(name).and_then(Value::as_f64);
    let (Some(start), Some(end)) = (
        pieces.first().and_then(|piece| number(piece, "straight_mm")),
        pieces.last().and_then(|piece| number(piece, "straight_mm")),
    ) else {
        return;
    };
    let (mut x, mut z, mut heading) = (start, 0.0, 0.0_f64);
    let mut points = Vec::new();
    let mut steps = steps.iter().copied().cycle();
    for piece in &pieces[1..pieces.len() - 1] {
        let radius = number(piece, "radius_mm").unwrap_or(f64::INFINITY);
        let turn = number(piece, "bend_deg").unwrap_or(0.0).to_radians();
        let length = number(piece, "straight_mm").unwrap_or(turn.abs() * radius);
        let mut left = length;
        while left > 0.0 {
            let step = steps.next().unwrap_or(5.0);
            // The last point of a piece stands at its end, and no step is left too short.
            let part = if left < 1.5 * step { left } else { step };
            left -= part;
            let half = turn * part / length / 2.0;
            // The chord of an arc lies along its middle heading, shorter than the arc by sin(t/2) / (t/2).
            let chord = if half == 0.0 { part } else { part * libm::sin(half) / half };
            heading += half;
            x += chord * libm::cos(heading);
            z -= chord * libm::sin(heading);
            heading += half;
            points.push(json!({"x_mm": x, "z_mm": z}));
        }
    }
    if points.len() >= 3 {
        job["centreline"] =
            json!({"straight_start_mm": start, "points": points, "straight_end_mm": end});
    }
}

/// Rows over the first 300 mm in place of a cone; a wavy bore, as measuring gives it.
fn with_table(job: &mut Value, rows: &[(f64, f64)]) {
    let bore = &job["bore"];
    let (Some(entry), Some(angle)) =
        (bore["entry_diameter_mm"].as_f64(), bore["half_angle_deg"].as_f64())
    else {
        return;
    };
    let slope = 2.0 * libm::tan(angle.to_radians());
    let mut table = Vec::new();
    let mut station = 0.0;
    for (step, off) in rows.iter().cycle().take(200) {
        let diameter = (entry + slope * station) * (1.0 + off);
        table.push(json!({"station_mm": station, "diameter_mm": diameter.clamp(6.0, 60.0)}));
        station += step;
        if station > 300.0 {
            break;
        }
    }
    job["bore"] = json!({"table": table});
}

fn with_gauge(job: &mut Value) {
    let Some(wall) = job.pointer("/tube/wall_mm").and_then(Value::as_f64) else { return };
    let miss = |gauge: &u8| (gauges::thickness_mm(*gauge) - wall).abs();
    let gauge = (16_u8..=26).min_by(|a, b| miss(a).total_cmp(&miss(b))).unwrap_or(21);
    job["tube"] = json!({"wall_gauge": gauge, "metal": job["tube"]["metal"]});
}

/// A badge half-way between vent and saddle.
fn with_badge(job: &mut Value, azimuth_deg: f64) {
    let at = |pointer: &str| job.pointer(pointer).and_then(Value::as_f64).unwrap_or(80.0);
    let station = (at("/vent/station_mm") + at("/saddle/station_mm")) / 2.0;
    job["badge"] = json!({
        "station_mm": station, "azimuth_deg": azimuth_deg, "length_mm": 12.0, "width_mm": 8.0, "thickness_mm": 0.5,
        "metal": "silver_925",
    });
}

fn any_piece() -> impl Strategy<Value = Value> {
    prop_oneof![
        (0.5_f64..20.0).prop_map(|length| json!({"straight_mm": length})),
        (-30.0_f64..30.0, 12.0_f64..200.0)
            .prop_map(|(bend, radius)| json!({"bend_deg": bend, "radius_mm": radius})),
        (0.01_f64..0.5, 12.0_f64..1000.0)
            .prop_map(|(bend, radius)| json!({"bend_deg": bend, "radius_mm": radius})),
    ]
}

fn any_forms() -> impl Strategy<Value = Forms> {
    let step = prop_oneof![3 => 3.0_f64..12.0, 1 => 0.5_f64..3.0];
    let row = (prop_oneof![4 => 5.0_f64..40.0, 1 => 0.1_f64..5.0], -0.006_f64..0.006);
    (
        prop::collection::vec((any::<Index>(), any_piece()), 0..3),
        prop::option::weighted(0.3, prop::collection::vec(step, 1..6)),
        prop::option::weighted(0.3, prop::collection::vec(row, 2..12)),
        any::<bool>(),
        prop::option::weighted(0.3, -180.0_f64..=180.0),
    )
        .prop_map(|(pieces, points_mm, table, gauge, badge_deg)| Forms {
            pieces,
            points_mm,
            table,
            gauge,
            badge_deg,
        })
}

fn any_move(near: u32) -> impl Strategy<Value = (Index, To)> {
    let to = prop_oneof![
        near => (-0.15_f64..0.15).prop_map(To::Near),
        4 => (0.0_f64..=1.0).prop_map(To::Anywhere),
        1 => Just(To::Least),
        1 => Just(To::Most),
    ];
    (any::<Index>(), to)
}

fn any_start() -> impl Strategy<Value = (usize, f64, Forms)> {
    (0..EXAMPLES.len(), 0.8_f64..1.25, any_forms())
}

/// Jobs with a few fields moved, whatever the rules say.
pub fn scattered() -> impl Strategy<Value = Recipe> {
    (any_start(), prop::collection::vec(any_move(40), 0..8)).prop_map(
        |((example, scale, forms), moves)| Recipe {
            example,
            scale,
            forms,
            moves,
            keep_rules: false,
        },
    )
}

/// Jobs that have gone far from the examples in small and great steps, no step of which broke a rule.
pub fn wandered(steps: usize) -> impl Strategy<Value = Recipe> {
    (any_start(), prop::collection::vec(any_move(4), 1..steps)).prop_map(
        |((example, scale, forms), moves)| Recipe {
            example,
            scale,
            forms,
            moves,
            keep_rules: true,
        },
    )
}

/// Jobs with every field anywhere in its range.
pub fn wild() -> impl Strategy<Value = Recipe> {
    let anywhere = (any::<Index>(), (0.0_f64..=1.0).prop_map(To::Anywhere));
    (any_start(), prop::collection::vec(anywhere, 100..400)).prop_map(
        |((example, scale, forms), moves)| Recipe {
            example,
            scale,
            forms,
            moves,
            keep_rules: false,
        },
    )
}
