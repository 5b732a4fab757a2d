//! The way out of a clash: the smallest single change of the job after which a failing row, and
//! if it can be the whole list, is as it should be. Every answer is a neck that was built and
//! checked.

use serde_json::Value;

use crate::checks::{ChangedField, ClearanceList, Pair, PairWaysOut, WayOut, WaysOut};
use crate::job::{Job, write_job};

use super::changes::{Change, changes_for};
use super::{Bodies, Model};

/// First change that is tried, mm or degrees.
const FIRST: f64 = 0.05;

/// Growth from one try to the next.
const GROWTH: f64 = 1.5;

/// Greatest change that is tried: farther off it is another neck.
const FARTHEST: f64 = 40.0;

/// Changes are told to this; what is told has been tried.
const STEP: f64 = 0.01;

impl Model {
    /// The changes worth trying for a pair, by the parts in it. Trying one takes up to half a
    /// second: a page asks for them one by one.
    #[must_use]
    pub fn changes(&self, a: &str, b: &str) -> Vec<&'static Change> {
        changes_for(a, b).filter(|change| self.values(change).is_some()).collect()
    }

    /// The least of one kind of change, in either direction, that clears the rows of a pair.
    #[must_use]
    pub fn way_out(&self, change: &'static Change, a: &str, b: &str) -> Option<WayOut> {
        self.least_of(change, &Goal { pair: (a, b), failing: &self.failing() })
    }

    /// Rows of the list that fail.
    fn failing(&self) -> Vec<Row> {
        failing(&self.pairs.list(&self.job))
    }

    fn least_of(&self, change: &'static Change, goal: &Goal<'_>) -> Option<WayOut> {
        let more = self.least_change(change, 1.0, FARTHEST, goal);
        // No use looking farther the other way than this way has come.
        let farthest = more.as_ref().map_or(FARTHEST, |way| way.by);
        let less = self.least_change(change, -1.0, farthest, goal);
        match (more, less) {
            (Some(more), Some(less)) if less.by < more.by => Some(less),
            (more, less) => more.or(less),
        }
    }

    /// Every way out of the failing rows of a pair, the whole list cleared first, then the least change first.
    #[must_use]
    pub fn ways_out(&self, a: &str, b: &str) -> Vec<WayOut> {
        self.ways_to(&Goal { pair: (a, b), failing: &self.failing() })
    }

    fn ways_to(&self, goal: &Goal<'_>) -> Vec<WayOut> {
        let tried = self.changes(goal.pair.0, goal.pair.1).into_iter();
        let mut ways: Vec<WayOut> =
            tried.filter_map(|change| self.least_of(change, goal)).collect();
        ways.sort_by(|a, b| {
            (!a.clears_all, a.by)
                .partial_cmp(&(!b.clears_all, b.by))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        ways
    }

    /// The ways out of every pair that fails.
    #[must_use]
    pub fn all_ways_out(&self) -> WaysOut {
        let failing = self.failing();
        let mut pairs: Vec<(String, String)> =
            failing.iter().map(|row| (row.0.clone(), row.1.clone())).collect();
        // Rows of one pair follow each other but for those of the turned neck.
        pairs.sort();
        pairs.dedup();
        let pairs = pairs
            .into_iter()
            .map(|(a, b)| {
                let ways = self.ways_to(&Goal { pair: (&a, &b), failing: &failing });
                PairWaysOut { a, b, ways }
            })
            .collect();
        WaysOut::new(pairs)
    }

    /// Present values of the fields of a change; none if the job has no such field.
    fn values(&self, change: &Change) -> Option<Vec<f64>> {
        let job = as_value(&self.job)?;
        change.fields.iter().map(|field| job.pointer(&pointer(field))?.as_f64()).collect()
    }

    fn least_change(
        &self,
        change: &'static Change,
        sign: f64,
        farthest: f64,
        goal: &Goal<'_>,
    ) -> Option<WayOut> {
        let (mut fails, mut by) = (0.0, FIRST);
        let mut found = loop {
            if by > farthest {
                return None;
            }
            match self.tried(change, sign * by, goal) {
                Some(way) => break way,
                None => (fails, by) = (by, by * GROWTH),
            }
        };
        // The least by halving, then told in whole steps, rounded away from where it fails.
        while found.by - fails > STEP {
            let middle = f64::midpoint(fails, found.by);
            match self.tried(change, sign * middle, goal) {
                Some(way) => found = way,
                None => fails = middle,
            }
        }
        let told = (found.by / STEP - 1e-6).ceil() * STEP;
        self.tried(change, sign * told, goal).or(Some(found))
    }

    /// The neck with a change, if that clears the row and breaks nothing.
    fn tried(&self, change: &'static Change, by: f64, goal: &Goal<'_>) -> Option<WayOut> {
        let mut job = as_value(&self.job)?;
        let mut fields = Vec::new();
        for field in change.fields {
            let place = job.pointer_mut(&pointer(field))?;
            let from = place.as_f64()?;
            // As a maker would write it.
            let to = ((from + by) * 1e4).round() / 1e4;
            *place = Value::from(to);
            fields.push(ChangedField { path: (*field).to_string(), from, to });
        }
        let bodies = Bodies::build(&job.to_string(), Some(self)).ok()?;
        // Most tries fail on the pair itself, which is soon measured.
        if !failing(&bodies.list_of(&[goal.pair.0, goal.pair.1])).is_empty() {
            return None;
        }
        let model = bodies.measured(Some(self));
        let list = model.pairs.list(&model.job);
        let now = failing(&list);
        if now.iter().any(|row| !goal.failing.contains(row)) {
            return None;
        }
        Some(WayOut {
            words: if by > 0.0 { change.more } else { change.less }.to_string(),
            by: by.abs(),
            unit: change.unit,
            fields,
            clears_all: now.is_empty(),
            tightest: tightest(&list),
        })
    }

    /// The text of the job with a way out taken.
    #[must_use]
    pub fn job_with(&self, way: &WayOut) -> Option<String> {
        let mut job = as_value(&self.job)?;
        for field in &way.fields {
            *job.pointer_mut(&pointer(&field.path))? = Value::from(field.to);
        }
        Some(job.to_string())
    }
}

/// What a change is tried for.
struct Goal<'a> {
    pair: (&'a str, &'a str),
    /// Rows that fail before.
    failing: &'a [Row],
}

/// What names a row: its parts, and which of their rows it is.
type Row = (String, String, String);

fn failing(list: &ClearanceList) -> Vec<Row> {
    let name = |row: &Pair, kind: String| (row.a.clone(), row.b.clone(), kind);
    let pairs = list.pairs.iter().filter(|row| !row.ok);
    let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs);
    pairs
        .map(|row| name(row, format!("{:?}", row.pose)))
        .chain(turned.filter(|row| !row.pair.ok).map(|row| name(&row.pair, "turned".to_string())))
        .collect()
}

/// The judged row with the least to spare.
fn tightest(list: &ClearanceList) -> Option<Pair> {
    let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs).map(|row| &row.pair);
    let spare = |row: &&Pair| {
        row.gap_mm - row.overlap_mm - row.required_min_mm.unwrap_or(f64::NEG_INFINITY)
    };
    list.pairs
        .iter()
        .chain(turned)
        .filter(|row| row.required_min_mm.is_some() && row.required_max_mm.is_none())
        .min_by(|a, b| spare(a).total_cmp(&spare(b)))
        .cloned()
}

/// The job as its file holds it.
fn as_value(job: &Job) -> Option<Value> {
    serde_json::from_str(&write_job(job)).ok()
}

/// JSON pointer of a parameter path.
fn pointer(path: &str) -> String {
    format!("/{}", path.replace('.', "/"))
}
