//! Rows of station and diameter as they were written, in a neck's table or in a horn's: what is wrong with their order.

use crate::job::Violation;
use crate::units::MM_PER_INCH;

use super::profile::{Profile, ProfileRow};

/// Least distance between rows, as in a job, mm.
const LEAST_ROW_MM: f64 = 0.1;
/// Widest a table may gape between rows before it has a hole, mm: over a tenth of the neck anything may hide.
const WIDEST_GAP_MM: f64 = 60.0;
/// Steepest a neck's bore may be, mm of diameter a mm (about 10 degrees half-angle).
const STEEPEST: f64 = 0.35;
/// What a diameter may be in a job, mm.
const DIAMETERS_MM: (f64, f64) = (6.0, 60.0);
/// Most rows a job holds.
const MOST_ROWS: usize = 200;

/// A row, of which a part may not have been readable.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WrittenRow {
    pub station: Option<f64>,
    pub diameter: Option<f64>,
}

impl WrittenRow {
    /// A row that could be read.
    #[must_use]
    pub fn new(station: f64, diameter: f64) -> Self {
        Self { station: Some(station), diameter: Some(diameter) }
    }

    /// The row, if both its numbers could be read.
    #[must_use]
    pub fn whole(&self) -> Option<ProfileRow> {
        let (station_mm, diameter_mm) = self.station.zip(self.diameter)?;
        Some(ProfileRow { station_mm, diameter_mm })
    }
}

/// What is wrong with rows beside each other: out of order, too near, diameters that are none, steps. What could not be read is
/// passed over, and its neighbours are held against each other.
#[must_use]
pub fn rows_in_order(
    path: &str,
    rows: &[WrittenRow],
    least_mm: f64,
    steepest: f64,
) -> Vec<Violation> {
    let mut found = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        if let Some(diameter) =
            row.diameter.filter(|diameter| diameter.is_nan() || *diameter <= 0.0)
        {
            found.push(Violation::error(
                format!("{path}[{index}].diameter_mm"),
                diameter,
                "more than 0",
                "A bore that is shut lets nothing through.",
            ));
        }
    }
    let mut before: Option<(f64, Option<f64>)> = None;
    for (index, row) in rows.iter().enumerate() {
        let Some(to) = row.station else { continue };
        let Some((from, narrow)) = before.replace((to, row.diameter)) else { continue };
        if to - from < least_mm {
            found.push(Violation::error(
                format!("{path}[{index}].station_mm"),
                to,
                format!("at least {} mm", from + least_mm),
                "Rows stand in the order of their stations, and nearer to each other they say more about the ruler than about the bore.",
            ));
            continue;
        }
        let Some((narrow, wide)) = narrow.zip(row.diameter) else { continue };
        if (wide - narrow).abs() > steepest * (to - from) {
            found.push(Violation::error(
                format!("{path}[{index}].diameter_mm"),
                wide,
                format!("within {:.2} mm of the row before it", steepest * (to - from)),
                "The bore jumps here: measure again, or put a row between.",
            ));
        }
    }
    found
}

/// Rows of a bore as they were written, of which some may be no rows at all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    written: Vec<WrittenRow>,
    /// What could not be read.
    unread: Vec<Violation>,
}

impl Rows {
    /// Those of a profile.
    #[must_use]
    pub fn of(profile: &Profile) -> Self {
        let written = |row: &ProfileRow| WrittenRow::new(row.station_mm, row.diameter_mm);
        Self { written: profile.rows.iter().map(written).collect(), unread: Vec::new() }
    }

    /// Reads CSV: two columns, station and diameter, with a comma, a semicolon or a tab between; a first line of names
    /// (`station_mm,diameter_mm`, or `_in` for inches) is read, lines that are empty or begin with `#` are passed over. With
    /// semicolons or tabs a comma may stand for the point. A line that cannot be read keeps its place among the rows.
    #[must_use]
    pub fn from_csv(text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (mut found, mut unit, mut first) = (Self::default(), 1.0, true);
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let between = [';', '\t', ','].into_iter().find(|sign| line.contains(*sign));
            let cells: Vec<String> = line
                .split(between.unwrap_or(','))
                .map(|cell| {
                    let cell = cell.trim().trim_matches('"');
                    if between == Some(',') { cell.to_owned() } else { cell.replace(',', ".") }
                })
                .collect();
            let names = std::mem::take(&mut first)
                && cells.iter().all(|cell| cell.starts_with(char::is_alphabetic));
            if names {
                if cells.iter().all(|cell| cell.ends_with("_in")) {
                    unit = MM_PER_INCH;
                }
                continue;
            }
            let number = |cell: &String| {
                cell.parse().ok().filter(|value: &f64| value.is_finite()).map(|value| value * unit)
            };
            let row = match cells.as_slice() {
                [station, diameter] => {
                    WrittenRow { station: number(station), diameter: number(diameter) }
                }
                _ => WrittenRow::default(),
            };
            if row.whole().is_none() {
                found.unread.push(Violation::error(
                    format!("line {}", index + 1),
                    line.chars().take(60).collect::<String>(),
                    "two numbers: station and diameter",
                    "Each line of the table is one measured place.",
                ));
            }
            found.written.push(row);
        }
        found
    }

    /// The rows, if every one could be read.
    ///
    /// # Errors
    ///
    /// Every line that could not.
    pub fn all(self) -> Result<Vec<ProfileRow>, Vec<Violation>> {
        if !self.unread.is_empty() {
            return Err(self.unread);
        }
        Ok(self.written.iter().filter_map(WrittenRow::whole).collect())
    }

    /// Everything that keeps them from being the bore of a neck of this length.
    #[must_use]
    pub fn violations(&self, length_mm: f64) -> Vec<Violation> {
        let rows = &self.written;
        let mut found = self.unread.clone();
        found.extend(rows_in_order("rows", rows, LEAST_ROW_MM, STEEPEST));
        if !(2..=MOST_ROWS).contains(&rows.len()) {
            found.push(Violation::error(
                "rows",
                rows.len(),
                format!("2 to {MOST_ROWS} rows"),
                "A bore needs both its ends, and a job holds no more.",
            ));
        }
        for (index, row) in rows.iter().enumerate() {
            let unheard = |diameter: &f64| {
                *diameter > 0.0 && !(DIAMETERS_MM.0..=DIAMETERS_MM.1).contains(diameter)
            };
            if let Some(diameter) = row.diameter.filter(unheard) {
                found.push(Violation::error(
                    format!("rows[{index}].diameter_mm"),
                    diameter,
                    format!("{} to {} mm", DIAMETERS_MM.0, DIAMETERS_MM.1),
                    "No neck is so narrow or so wide.",
                ));
            }
            let before = index.checked_sub(1).and_then(|before| rows.get(before)?.station);
            let Some((before, station)) = before.zip(row.station) else { continue };
            if station - before > WIDEST_GAP_MM {
                found.push(Violation::error(
                    format!("rows[{index}].station_mm"),
                    station,
                    format!("at most {WIDEST_GAP_MM} mm beyond the row before it"),
                    "The table has a hole here: what the bore does in it is not known.",
                ));
            }
        }
        let ends = [
            ("rows[0]", rows.first(), 0.0, 0.0, "0 mm".to_owned()),
            (
                "the last row",
                rows.last(),
                length_mm,
                1.0,
                format!("{length_mm:.1} mm, within 1 mm"),
            ),
        ];
        for (path, row, wanted, within, allowed) in ends {
            let off = |station: &f64| (station - wanted).abs() > within;
            if let Some(station) = row.and_then(|row| row.station).filter(off) {
                found.push(Violation::error(
                    format!("{path}.station_mm"),
                    station,
                    allowed,
                    "The table runs from the cork end to the tenon's free end.",
                ));
            }
        }
        found
    }

    /// The bore through all of them, if one can be laid: every row read, in order, and as wide as a bore may be.
    #[must_use]
    pub fn laid(&self, name: &str) -> Option<Profile> {
        let rows: Option<Vec<ProfileRow>> = self.written.iter().map(WrittenRow::whole).collect();
        let rows = rows.filter(|rows| (2..=MOST_ROWS).contains(&rows.len()))?;
        let wide =
            rows.iter().all(|row| (DIAMETERS_MM.0..=DIAMETERS_MM.1).contains(&row.diameter_mm));
        let in_order = rows.iter().zip(rows.iter().skip(1));
        let apart = in_order.clone().all(|(a, b)| b.station_mm - a.station_mm >= LEAST_ROW_MM);
        (wide && apart).then(|| Profile { name: name.to_owned(), rows })
    }
}
