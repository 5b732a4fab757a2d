//! What must hold between the fields of a horn file, put to whatever of them can be read, so that one answer tells all.

use serde_json::Value;

use crate::acoustics::notes::Note;
use crate::acoustics::rows::{WrittenRow, rows_in_order};
use crate::geometry::bore::Table;
use crate::job::{Violation, read_plainly};

/// Steepest a body may be between two measured rows, mm of diameter a mm: the rim of a bell is; steeper it is a step.
const STEEPEST: f64 = 3.0;
/// Least distance between measured rows, mm.
const LEAST_ROW_MM: f64 = 0.5;
/// How far from the tenon's free end the first row may be told, mm: to its rounding.
const FIRST_ROW_MM: f64 = 0.5;

/// Adds every rule that the fields of a horn file break, beside what was found of each by itself: such a field is not asked.
pub(super) fn tell(text: &str, found: &mut Vec<Violation>) {
    let Some(file) = read_plainly(text) else { return };
    let told: Vec<String> = found.iter().map(|violation| violation.path.clone()).collect();
    let written = Written { file, told };
    let (holes, of_body) = written.body();
    found.extend(of_body);
    found.extend(written.notes(holes.as_deref()));
}

/// A horn file as it is written, and the fields of it that are known to be wrong.
struct Written {
    file: Value,
    told: Vec<String>,
}

impl Written {
    /// Whether nothing is known to be wrong with a field or with what it stands in.
    fn is_sound(&self, path: &str) -> bool {
        self.told.iter().all(|told| match path.strip_prefix(told.as_str()) {
            Some(rest) => !(told.is_empty() || rest.is_empty() || rest.starts_with(['.', '['])),
            None => true,
        })
    }

    fn list<'a>(&self, group: Option<&'a Value>, path: &str) -> &'a [Value] {
        let list = group.filter(|_| self.is_sound(path)).and_then(Value::as_array);
        list.map_or(&[], Vec::as_slice)
    }

    fn number(&self, row: &Value, path: &str, field: &str) -> Option<f64> {
        let value = row.get(field)?.as_f64()?;
        self.is_sound(&format!("{path}.{field}")).then_some(value)
    }

    fn text<'a>(&self, row: &'a Value, path: &str, field: &str) -> Option<&'a str> {
        let value = row.get(field)?.as_str()?;
        self.is_sound(&format!("{path}.{field}")).then_some(value)
    }

    /// What is wrong with a measured body, and the names of its holes; no names where a cone stands in or where one of them
    /// cannot be read.
    fn body(&self) -> (Option<Vec<&str>>, Vec<Violation>) {
        let body = self.file.get("body");
        let rows: Vec<WrittenRow> = self
            .list(body.and_then(|body| body.get("bore")), "body.bore")
            .iter()
            .enumerate()
            .map(|(index, row)| {
                let path = format!("body.bore[{index}]");
                WrittenRow {
                    station: self.number(row, &path, "station_mm"),
                    diameter: self.number(row, &path, "diameter_mm"),
                }
            })
            .collect();
        let mut found = rows_in_order("body.bore", &rows, LEAST_ROW_MM, STEEPEST);
        let first = rows.first().and_then(|row| row.station);
        if let Some(first) = first.filter(|station| station.abs() > FIRST_ROW_MM) {
            found.push(Violation::error(
                "body.bore[0].station_mm",
                first,
                "0",
                "The bore is measured from the tenon's free end: what is missing there would raise every note.",
            ));
        }
        let measured: Option<Vec<(f64, f64)>> = rows
            .iter()
            .map(|row| row.whole().map(|row| (row.station_mm, row.diameter_mm)))
            .collect();
        let table = measured.filter(|_| found.is_empty()).map(|rows| Table::new(&rows));
        let end = rows.last().and_then(|row| row.station);
        let list = body.and_then(|body| body.get("holes"));
        let holes = self.list(list, "body.holes");
        let (mut names, mut before, mut all) = (Vec::new(), 0.0, list.is_some());
        for (index, hole) in holes.iter().enumerate() {
            let path = format!("body.holes[{index}]");
            match self.text(hole, &path, "name") {
                Some(name) => {
                    if names.contains(&name) {
                        found.push(Violation::error(
                            format!("{path}.name"),
                            name,
                            "a name no other hole has",
                            "Notes open holes by their names.",
                        ));
                    }
                    names.push(name);
                }
                None => all = false,
            }
            let Some(station) = self.number(hole, &path, "station_mm") else { continue };
            if station < before || end.is_some_and(|end| station >= end) {
                let allowed = match end {
                    Some(end) => format!("from that of the hole before it to less than {end} mm"),
                    None => "from that of the hole before it on".to_owned(),
                };
                found.push(Violation::error(
                    format!("{path}.station_mm"),
                    station,
                    allowed,
                    "Holes stand in their order along the measured bore.",
                ));
            }
            before = station;
            let bore = table.as_ref().map(|table| table.value_slope(station).0);
            let diameter = self.number(hole, &path, "diameter_mm");
            if let Some((diameter, bore)) = diameter.zip(bore).filter(|(hole, bore)| hole > bore) {
                found.push(Violation::error(
                    format!("{path}.diameter_mm"),
                    diameter,
                    format!("at most {bore:.1} mm, the bore there"),
                    "A hole in the wall is no wider than the tube.",
                ));
            }
        }
        (all.then_some(names).filter(|_| self.is_sound("body.holes")), found)
    }

    /// What is wrong with the notes, beside the names of the holes they may open.
    fn notes(&self, holes: Option<&[&str]>) -> Vec<Violation> {
        let (mut found, mut seen) = (Vec::new(), Vec::new());
        for (index, note) in self.list(self.file.get("notes"), "notes").iter().enumerate() {
            let path = format!("notes[{index}]");
            if let Some(written) = self.text(note, &path, "written") {
                if !Note::named(written).is_some_and(|note| note.is_of_two_registers()) {
                    found.push(Violation::error(
                        format!("{path}.written"),
                        written,
                        "A3 to C#6, as in C#5 or Bb4",
                        "The model has two registers; what lies outside, or is no name of a note, it cannot sound.",
                    ));
                }
                if seen.contains(&written) {
                    found.push(Violation::error(
                        format!("{path}.written"),
                        written,
                        "each note once",
                        "A note that stands twice would be told twice.",
                    ));
                }
                seen.push(written);
            }
            let Some(holes) = holes else { continue };
            let open = self.list(note.get("open"), &format!("{path}.open"));
            for (place, name) in open.iter().enumerate() {
                let path = format!("{path}.open[{place}]");
                let strange = |name: &&str| self.is_sound(&path) && !holes.contains(name);
                if let Some(name) = name.as_str().filter(strange) {
                    found.push(Violation::error(
                        path.clone(),
                        name,
                        "the name of a hole of the body",
                        "Only a hole that was measured can be open.",
                    ));
                }
            }
        }
        found
    }
}
