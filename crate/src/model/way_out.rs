//! The way out of a clash: the smallest single change of the job after which a failing row, and
//! if it can be the whole list, is as it should be. Every answer is a neck that was built and
//! checked.

use serde_json::Value;

use crate::checks::{
    ChangedField, ClearanceList, Pair, PairOf, PairWaysOut, WayOut, WaysOut, relation,
};
use crate::job::{Job, write_job};

use super::changes::{Change, changes_for};
use super::clearances::limits;
use super::{Bodies, Measuring, Model};

/// First change that is tried, mm or degrees.
const FIRST: f64 = 0.05;

/// Growth from one try to the next.
const GROWTH: f64 = 1.5;

/// Greatest change that is tried: farther off it is another neck.
const FARTHEST: f64 = 40.0;

/// Changes are told in whole steps, so many to a millimetre or degree; what is told has been tried.
const STEPS: f64 = 100.0;

/// Necks that are built at most to find the ways out of a whole list, but for those of the pair
/// that is then looked at. Counted, and not timed, so that the same job gives the same answer
/// everywhere; some ten seconds.
const MOST_TRIES: usize = 1500;

impl Model {
    /// The changes worth trying for a pair, by the parts in it. Trying one takes up to half a
    /// second: a page asks for them one by one.
    #[must_use]
    pub fn changes(&self, a: &str, b: &str) -> Vec<&'static Change> {
        let relation = relation(a, b, &limits(&self.job));
        changes_for(a, b, relation).filter(|change| self.values(change).is_some()).collect()
    }

    /// The least of one kind of change that was found, in either direction, to clear the rows of
    /// a pair and to leave right what was right.
    #[must_use]
    pub fn way_out(&self, change: &'static Change, a: &str, b: &str) -> Option<WayOut> {
        Seeker::new(self).least_of(change, (a, b))
    }

    /// Every way out of the failing rows of a pair that was found, the whole list cleared first,
    /// then the least change first.
    #[must_use]
    pub fn ways_out(&self, a: &str, b: &str) -> Vec<WayOut> {
        Seeker::new(self).ways_of((a, b))
    }

    /// The ways out of every pair that fails, those that are farthest from what is asked of them
    /// first; where very many fail not of all.
    #[must_use]
    pub fn all_ways_out(&self) -> WaysOut {
        let mut seeker = Seeker::new(self);
        let list = self.pairs.list(&self.job);
        let mut failing: Vec<&Pair> = list.rows().filter(|row| !row.ok).collect();
        failing.sort_by(|a, b| spare(a).total_cmp(&spare(b)));
        let mut pairs: Vec<PairOf> = Vec::new();
        for row in failing {
            if !pairs.iter().any(|pair| pair.a == row.a && pair.b == row.b) {
                pairs.push(PairOf { a: row.a.clone(), b: row.b.clone() });
            }
        }
        let mut looked_into = Vec::new();
        let mut not_looked_into = Vec::new();
        for PairOf { a, b } in pairs {
            if seeker.tries < MOST_TRIES {
                let ways = seeker.ways_of((&a, &b));
                looked_into.push(PairWaysOut { a, b, ways });
            } else {
                not_looked_into.push(PairOf { a, b });
            }
        }
        WaysOut::new(looked_into, not_looked_into)
    }

    /// Present values of the fields of a change; none if the job has no such field.
    fn values(&self, change: &Change) -> Option<Vec<f64>> {
        let job = as_value(&self.job)?;
        change.fields.iter().map(|field| job.pointer(&pointer(field))?.as_f64()).collect()
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

/// Looks for changes of one neck.
struct Seeker<'a> {
    model: &'a Model,
    before: Wrong,
    /// Necks that were built.
    tries: usize,
}

impl<'a> Seeker<'a> {
    fn new(model: &'a Model) -> Self {
        Self { model, before: Wrong::with(model, &model.pairs.list(&model.job)), tries: 0 }
    }

    fn ways_of(&mut self, pair: (&str, &str)) -> Vec<WayOut> {
        let changes = self.model.changes(pair.0, pair.1).into_iter();
        let mut ways: Vec<WayOut> =
            changes.filter_map(|change| self.least_of(change, pair)).collect();
        ways.sort_by(|a, b| {
            (!a.clears_all, a.by)
                .partial_cmp(&(!b.clears_all, b.by))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        ways
    }

    fn least_of(&mut self, change: &'static Change, pair: (&str, &str)) -> Option<WayOut> {
        let more = self.least_one_way(change, 1.0, FARTHEST, pair);
        // No use looking farther the other way than this way has come.
        let farthest = more.as_ref().map_or(FARTHEST, |way| way.by);
        let less = self.least_one_way(change, -1.0, farthest, pair);
        match (more, less) {
            (Some(more), Some(less)) if less.by < more.by => Some(less),
            (more, less) => more.or(less),
        }
    }

    fn least_one_way(
        &mut self,
        change: &'static Change,
        sign: f64,
        farthest: f64,
        pair: (&str, &str),
    ) -> Option<WayOut> {
        let (mut fails, mut by) = (0.0, FIRST.min(farthest));
        let mut found = loop {
            match self.tried(change, sign * by, pair) {
                Some(way) => break way,
                None if by >= farthest => return None,
                None => (fails, by) = (by, (by * GROWTH).min(farthest)),
            }
        };
        // The least by halving, then told in whole steps, rounded away from where it fails.
        while found.by - fails > 1.0 / STEPS {
            let middle = f64::midpoint(fails, found.by);
            match self.tried(change, sign * middle, pair) {
                Some(way) => found = way,
                None => fails = middle,
            }
        }
        let told = (found.by * STEPS - 1e-6).ceil();
        // Where the next whole step is too far already, the one before may do. A way out that no whole step meets is none
        // for a maker.
        [told, told - 1.0]
            .map(|steps| steps / STEPS)
            .into_iter()
            .filter(|by| *by > fails)
            .find_map(|by| self.tried(change, sign * by, pair))
    }

    /// The neck with a change, if that clears the rows of the pair and breaks nothing.
    fn tried(&mut self, change: &'static Change, by: f64, pair: (&str, &str)) -> Option<WayOut> {
        self.tries += 1;
        let mut job = as_value(&self.model.job)?;
        let mut fields = Vec::new();
        for field in change.fields {
            let place = job.pointer_mut(&pointer(field))?;
            let from = place.as_f64()?;
            // As a maker would write it.
            let to = ((from + by) * 1e4).round() / 1e4;
            *place = Value::from(to);
            fields.push(ChangedField { path: (*field).to_string(), from, to });
        }
        let bodies = Bodies::build(&job.to_string(), Some(self.model.made())).ok()?;
        // Most tries fail on the pair itself, which is soon measured.
        if bodies.list_of(&[pair.0, pair.1]).all_failed() > 0 {
            return None;
        }
        let model = Measuring::of(bodies, Some(self.model)).finish().ok()?;
        let list = model.pairs.list(&model.job);
        if !Wrong::with(&model, &list).all_in(&self.before) {
            return None;
        }
        Some(WayOut {
            words: if by > 0.0 { change.more } else { change.less }.to_string(),
            by: by.abs(),
            unit: change.unit,
            caution: change.caution,
            fields,
            clears_all: list.all_failed() == 0,
            tightest: tightest(&list),
        })
    }
}

/// What is not as it should be with a neck, by names that outlast a change. Joints are left out:
/// they take longer than all the rest, and keep their gap wherever a part goes.
struct Wrong {
    /// Parts and position.
    rows: Vec<(String, String, String)>,
    /// Parameter paths with what stands there, and why that is wrong. (What may stand there is told in numbers that
    /// change.) A value that is warned of and goes on to be so elsewhere may be worse: nobody here can tell.
    warnings: Vec<(String, Value, String)>,
    /// Name and words of a number.
    findings: Vec<(&'static str, String)>,
}

impl Wrong {
    fn with(model: &Model, list: &ClearanceList) -> Self {
        let name = |row: &Pair, kind: String| (row.a.clone(), row.b.clone(), kind);
        let straight = list.pairs.iter().filter(|row| !row.ok);
        let turned = list.neck_turned.iter().flat_map(|turned| &turned.pairs);
        let turned = turned.map(|row| &row.pair).filter(|row| !row.ok);
        let findings = model.findings();
        let warnings = model.warnings.iter();
        Self {
            rows: straight
                .map(|row| name(row, format!("{:?}", row.pose)))
                .chain(turned.map(|row| name(row, "turned".to_string())))
                .collect(),
            warnings: warnings
                .map(|told| (told.path.clone(), told.value.clone(), told.why.clone()))
                .collect(),
            findings: findings
                .all()
                .filter(|finding| finding.ok == Some(false))
                .map(|finding| (finding.id, finding.what.clone()))
                .collect(),
        }
    }

    /// Whether all of this was wrong there too.
    fn all_in(&self, before: &Self) -> bool {
        self.rows.iter().all(|row| before.rows.contains(row))
            && self.warnings.iter().all(|told| before.warnings.contains(told))
            && self.findings.iter().all(|finding| before.findings.contains(finding))
    }
}

/// What a row has to spare, mm: negative if it fails.
fn spare(row: &Pair) -> f64 {
    let distance = row.gap_mm - row.overlap_mm;
    let above = row.required_min_mm.map_or(f64::INFINITY, |least| distance - least);
    let below = row.required_max_mm.map_or(f64::INFINITY, |greatest| greatest - distance);
    above.min(below)
}

/// The row that only has to stay clear with the least to spare.
fn tightest(list: &ClearanceList) -> Option<Pair> {
    list.rows()
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
