//! A neck to be compared, and what of a job is the customer's: horn and mouthpiece.

use crate::job::parameters::{Bore, BoreRow, BoreTable, Horn, Mouthpiece};
use crate::job::{Job, Violation};
use crate::parts::{build_from_text, rules};

use super::disturbance::Ends;
use super::neck_on_horn::{NeckBore, NeckVent};
use super::profile::{Profile, ProfileRow};
use super::rows::Rows;

/// Horn and mouthpiece of the first job: both necks stand on them, whatever the second's job says of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Customer {
    pub horn: Horn,
    pub mouthpiece: Mouthpiece,
}

impl Customer {
    /// What a job says of horn and mouthpiece.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self { horn: job.horn, mouthpiece: job.mouthpiece }
    }
}

/// A neck to be compared.
#[derive(Clone, Debug)]
pub struct Contender {
    pub name: String,
    pub job: Job,
    pub bore: NeckBore,
    /// Whose horn and mouthpiece it stands on.
    pub customer: Customer,
    /// Rules of its job that a bore set by hand breaks: it can be compared, and not made as the job stands.
    pub broken: Vec<Violation>,
}

impl Contender {
    /// The neck of a job file, on the horn and mouthpiece of that job.
    ///
    /// # Errors
    ///
    /// Every violation of the job at once.
    pub fn read(name: &str, text: &str) -> Result<Self, Vec<Violation>> {
        let placed = build_from_text(text)?;
        let vent = NeckVent::of(&placed.job);
        let neck = placed.assembly.neck.clone();
        let customer = Customer::of(&placed.job);
        let ends = Ends::of(&placed.job, &customer, neck.centreline.length());
        let bore = NeckBore::new(neck, vent, ends);
        Ok(Self { name: name.to_owned(), job: placed.job, bore, customer, broken: Vec::new() })
    }

    /// The same neck on the horn and in the mouthpiece another stands on.
    #[must_use]
    pub fn beside(&self, first: &Self) -> Self {
        let ends = Ends::of(&self.job, &first.customer, self.bore.length_mm());
        let bore = NeckBore::new(self.bore.neck.clone(), self.bore.vent, ends);
        Self { bore, customer: first.customer, ..self.clone() }
    }

    /// The same neck with the bore that rows make of it.
    ///
    /// # Errors
    ///
    /// Everything that keeps the rows from being its bore, and a vent that would have no room in it, at once.
    pub fn with_rows(&self, rows: &Rows) -> Result<Self, Vec<Violation>> {
        let mut found = rows.violations(self.bore.length_mm());
        let Some(profile) = rows.laid(&self.name) else { return Err(found) };
        // Without room the vent is none that could be reckoned with; what else breaks is for the bench to put right.
        let of_bore =
            |one: &Violation| one.path.starts_with("rows") || one.path.starts_with("vent.");
        let (refused, broken): (Vec<_>, Vec<_>) =
            self.broken_by(&profile).into_iter().partition(of_bore);
        // A row that is wrong by itself is told once.
        let told: Vec<String> = found.iter().map(|one| one.path.clone()).collect();
        found.extend(refused.into_iter().filter(|one| !told.contains(&one.path)));
        if !found.is_empty() {
            return Err(found);
        }
        let (bore, job) = (self.bore.with_bore(profile.bore()), self.job_with(&profile));
        Ok(Self { bore, job, broken, ..self.clone() })
    }

    /// Rules of the job that another bore would break. Its rows are named as those of the profile.
    #[must_use]
    pub fn broken_by(&self, profile: &Profile) -> Vec<Violation> {
        let broken = rules(&self.job_with(profile), &[]);
        broken.into_iter().filter(Violation::is_error).map(in_rows).collect()
    }

    fn job_with(&self, profile: &Profile) -> Job {
        let row =
            |row: &ProfileRow| BoreRow { station_mm: row.station_mm, diameter_mm: row.diameter_mm };
        let table = profile.rows.iter().map(row).collect();
        Job { bore: Bore::Table(BoreTable { table }), ..self.job.clone() }
    }
}

/// A violation of the job's table of the bore as one of the profile's rows.
fn in_rows(violation: Violation) -> Violation {
    match violation.path.strip_prefix("bore.table") {
        Some(row) => Violation { path: format!("rows{row}"), ..violation },
        None => violation,
    }
}

/// Reads two jobs; both necks stand on the horn and in the mouthpiece of the first.
///
/// # Errors
///
/// Every violation of both at once; paths begin with `a:` and `b:`.
pub fn read_both(
    (name_a, text_a): (&str, &str),
    (name_b, text_b): (&str, &str),
) -> Result<(Contender, Contender), Vec<Violation>> {
    let marked = |mark: &'static str| {
        move |found: Vec<Violation>| {
            let mark = move |violation: Violation| Violation {
                path: format!("{mark}: {}", violation.path),
                ..violation
            };
            found.into_iter().map(mark).collect::<Vec<_>>()
        }
    };
    match (Contender::read(name_a, text_a), Contender::read(name_b, text_b)) {
        (Ok(a), Ok(b)) => {
            let b = b.beside(&a);
            Ok((a, b))
        }
        (a, b) => {
            let mut found = a.err().map(marked("a")).unwrap_or_default();
            found.extend(b.err().map(marked("b")).unwrap_or_default());
            Err(found)
        }
    }
}
