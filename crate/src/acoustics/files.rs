//! A comparison as files: impedance as CSV, everything as JSON, a picture as SVG.

use std::fmt::Write;

use crate::exports::paper::escaped;

use super::comparison::{Comparison, spectrum, told};
use super::contender::Contender;
use super::horn::Horn;
use super::profile::{ProfilePlace, along};

/// Frequencies of the table: every hertz from here to there.
const FROM_HZ: u32 = 40;
const TO_HZ: u32 = 2000;

/// Frequencies of the table of impedances, Hz.
#[must_use]
pub fn frequencies() -> Vec<f64> {
    (FROM_HZ..=TO_HZ).map(f64::from).collect()
}

/// Impedance at the reed of every note on both necks, a row a note and frequency: size in MPa·s/m³, phase in degrees.
#[must_use]
pub fn impedance_csv(a: &Contender, b: &Contender, horn: &Horn) -> String {
    let frequencies = frequencies();
    let mut text =
        String::from("written,frequency_hz,a_mpa_s_m3,a_phase_deg,b_mpa_s_m3,b_phase_deg\n");
    for fingering in &horn.fingerings {
        let [one, other] = [a, b].map(|neck| spectrum(horn, &neck.bore, fingering, &frequencies));
        for ((hz, (size_a, phase_a)), (size_b, phase_b)) in frequencies.iter().zip(one).zip(other) {
            let deg = crate::units::deg_from_rad;
            // Writing to a string cannot fail.
            let _ = writeln!(
                text,
                "{},{hz},{:.6},{:.4},{:.6},{:.4}",
                fingering.note.name,
                size_a * 1e-6,
                deg(phase_a),
                size_b * 1e-6,
                deg(phase_b)
            );
        }
    }
    text
}

/// Both bores along their length, a row a station of either: what each is there, and the second less the first.
#[must_use]
pub fn profiles_csv(a: &Contender, b: &Contender) -> String {
    let mut text = String::from(
        "station_mm,a_diameter_mm,b_diameter_mm,difference_mm,a_half_angle_deg,b_half_angle_deg,a_open_area_mm2,b_open_area_mm2\n",
    );
    let mut stations: Vec<f64> = [a, b].into_iter().flat_map(|neck| told(&neck.bore)).collect();
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|one, other| (*one - *other).abs() < 1e-6);
    let [one, other] = [a, b].map(|neck| (along(&neck.bore, &stations), neck.bore.length_mm()));
    for (index, station) in stations.iter().enumerate() {
        // Beyond the end of the shorter there is nothing to tell of it.
        let of = |neck: &(Vec<ProfilePlace>, f64)| {
            neck.0.get(index).filter(|_| *station <= neck.1 + 1e-6).copied()
        };
        let (a, b) = (of(&one), of(&other));
        let cell = |value: Option<f64>, places: usize| {
            value.map(|value| format!("{value:.places$}")).unwrap_or_default()
        };
        let difference = a.zip(b).map(|(a, b)| b.diameter_mm - a.diameter_mm);
        let _ = writeln!(
            text,
            "{station:.3},{},{},{},{},{},{},{}",
            cell(a.map(|place| place.diameter_mm), 4),
            cell(b.map(|place| place.diameter_mm), 4),
            cell(difference, 4),
            cell(a.map(|place| place.half_angle_deg), 4),
            cell(b.map(|place| place.half_angle_deg), 4),
            cell(a.map(|place| place.open_area_mm2), 3),
            cell(b.map(|place| place.open_area_mm2), 3),
        );
    }
    text
}

/// The whole comparison as JSON, numbers as they are rounded for people: to a millionth.
///
/// # Errors
///
/// What the writer of JSON says; it has nothing to refuse here.
pub fn comparison_json(comparison: &Comparison) -> Result<String, serde_json::Error> {
    let mut value = serde_json::to_value(comparison)?;
    rounded(&mut value);
    Ok(serde_json::to_string_pretty(&value)? + "\n")
}

/// Rounds every number to a millionth: what lies beyond is noise.
pub fn rounded(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Number(number) => {
            if let Some(plain) = number.as_f64().filter(|_| number.is_f64()) {
                let round = (plain * 1e6).round() / 1e6;
                if let Some(number) = serde_json::Number::from_f64(round) {
                    *value = serde_json::Value::Number(number);
                }
            }
        }
        serde_json::Value::Array(list) => list.iter_mut().for_each(rounded),
        serde_json::Value::Object(map) => map.values_mut().for_each(rounded),
        _ => {}
    }
}

/// Width of the picture and of its plots, in its own units.
const WIDTH: f64 = 900.0;
const LEFT: f64 = 80.0;
const RIGHT: f64 = 870.0;

/// A plot's own place and scale.
struct Plot {
    top: f64,
    bottom: f64,
    x: (f64, f64),
    y: (f64, f64),
}

impl Plot {
    fn x(&self, value: f64) -> f64 {
        LEFT + (value - self.x.0) / (self.x.1 - self.x.0) * (RIGHT - LEFT)
    }

    fn y(&self, value: f64) -> f64 {
        self.bottom - (value - self.y.0) / (self.y.1 - self.y.0) * (self.bottom - self.top)
    }

    fn line(&self, text: &mut String, points: impl Iterator<Item = (f64, f64)>, style: &str) {
        text.push_str("<polyline fill=\"none\" points=\"");
        for (x, y) in points {
            let _ = write!(text, "{:.2},{:.2} ", self.x(x), self.y(y));
        }
        let _ = writeln!(text, "\" {style}/>");
    }

    /// Frame, title and ticks.
    fn frame(&self, text: &mut String, title: &str, ticks_x: (f64, &str), ticks_y: (f64, &str)) {
        let _ = writeln!(
            text,
            "<rect x=\"{LEFT}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"none\" stroke=\"#777\"/>\n<text x=\"{LEFT}\" y=\"{:.1}\" font-weight=\"bold\">{}</text>",
            self.top,
            RIGHT - LEFT,
            self.bottom - self.top,
            self.top - 10.0,
            escaped(title)
        );
        let steps = |(from, to): (f64, f64), step: f64| {
            let first = (from / step).ceil() as i64;
            (first..)
                .take(200)
                .map(move |k| k as f64 * step)
                .take_while(move |value| *value <= to + 1e-9)
        };
        // A step without end gives no ticks: the notes stand there instead.
        for value in steps(self.x, ticks_x.0) {
            let x = self.x(value);
            let _ = writeln!(
                text,
                "<path d=\"M{x:.1} {:.1}v5\" stroke=\"#777\"/><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
                self.bottom,
                self.bottom + 18.0,
                plain(value)
            );
        }
        for value in steps(self.y, ticks_y.0) {
            let y = self.y(value);
            let _ = writeln!(
                text,
                "<path d=\"M{LEFT} {y:.1}h{:.1}\" stroke=\"#ddd\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                RIGHT - LEFT,
                LEFT - 6.0,
                y + 4.0,
                plain(value)
            );
        }
        let _ = writeln!(
            text,
            "<text x=\"{RIGHT}\" y=\"{:.1}\" text-anchor=\"end\">{}</text><text x=\"{RIGHT}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            self.bottom + 34.0,
            escaped(ticks_x.1),
            self.top - 10.0,
            escaped(ticks_y.1)
        );
    }
}

/// A tick without needless digits.
fn plain(value: f64) -> String {
    let round = (value * 1000.0).round() / 1000.0;
    format!("{}", if round == 0.0 { 0.0 } else { round })
}

/// A step of 1, 2 or 5 times a power of ten that cuts a width into no more than `most` parts.
fn tick(width: f64, most: f64) -> f64 {
    let rough = (width / most).max(1e-9);
    let power = libm::exp10(libm::floor(libm::log10(rough)));
    let times = [1.0, 2.0, 5.0].into_iter().find(|times| times * power >= rough);
    times.unwrap_or(10.0) * power
}

const FIRST: &str = "stroke=\"#1d4e89\" stroke-width=\"1.8\"";
const SECOND: &str = "stroke=\"#b3541e\" stroke-width=\"1.8\" stroke-dasharray=\"7 4\"";

/// The bores over each other, the shift of every note with what it may be off, and the impedance of the lowest note.
#[must_use]
pub fn comparison_svg(
    comparison: &Comparison,
    a: &Contender,
    b: &Contender,
    horn: &Horn,
) -> String {
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} 1120\" role=\"img\" font-family=\"sans-serif\" font-size=\"13\" fill=\"#222\">\n<title>{0} beside {1}</title>\n<desc>{2}</desc>\n<rect width=\"{WIDTH}\" height=\"1120\" fill=\"#fff\"/>\n<text x=\"{LEFT}\" y=\"28\" font-size=\"17\" font-weight=\"bold\">{0} beside {1}</text>\n<path d=\"M{LEFT} 46h40\" {FIRST}/><text x=\"126\" y=\"50\">{0}</text>\n<path d=\"M480 46h40\" {SECOND}/><text x=\"526\" y=\"50\">{1}</text>\n",
        escaped(&a.name),
        escaped(&b.name),
        escaped(&comparison.words.join(" "))
    );
    bores(&mut text, comparison);
    shifts(&mut text, comparison);
    impedances(&mut text, a, b, horn);
    let _ = writeln!(
        text,
        "<text x=\"{LEFT}\" y=\"1092\" font-size=\"12\">{}</text>\n</svg>",
        escaped(&comparison.caution)
    );
    text
}

fn bores(text: &mut String, comparison: &Comparison) {
    let rows = [&comparison.a.profile, &comparison.b.profile];
    let all = || rows.iter().flat_map(|rows| rows.iter());
    let least = all().map(|row| row.diameter_mm).fold(f64::INFINITY, f64::min).floor() - 1.0;
    let most = all().map(|row| row.diameter_mm).fold(0.0, f64::max).ceil();
    let length = all().map(|row| row.station_mm).fold(1.0, f64::max);
    let plot = Plot { top: 90.0, bottom: 300.0, x: (0.0, length), y: (least, most) };
    plot.frame(text, "Bore", (20.0, "station, mm"), (2.0, "diameter, mm"));
    for (rows, style) in rows.iter().zip([FIRST, SECOND]) {
        plot.line(text, rows.iter().map(|row| (row.station_mm, row.diameter_mm)), style);
    }
    let wide =
        comparison.difference.iter().map(|place| place.diameter_mm.abs()).fold(0.05, f64::max);
    let plot = Plot { top: 360.0, bottom: 440.0, x: (0.0, length), y: (-wide, wide) };
    plot.frame(
        text,
        "Second bore less the first",
        (20.0, "station, mm"),
        (tick(2.0 * wide, 5.0), "mm of diameter"),
    );
    let points = comparison.difference.iter().map(|place| (place.station_mm, place.diameter_mm));
    plot.line(text, points, "stroke=\"#222\" stroke-width=\"1.8\"");
}

fn shifts(text: &mut String, comparison: &Comparison) {
    let notes = &comparison.notes;
    let reach = notes
        .iter()
        .map(|note| note.shift.shift_cents.abs() + note.shift.uncertainty_cents)
        .fold(1.0, f64::max);
    let count = notes.len() as f64;
    let plot = Plot { top: 510.0, bottom: 720.0, x: (0.0, count), y: (-reach, reach) };
    let title = "Shift of each note from the first neck to the second, most noticed first; bars: diameters known to 0.1 mm";
    plot.frame(text, title, (f64::INFINITY, ""), (tick(2.0 * reach, 8.0), "cents"));
    for (index, note) in notes.iter().map(|note| &note.shift).enumerate() {
        let x = plot.x(index as f64 + 0.5);
        let (zero, top) = (plot.y(0.0), plot.y(note.shift_cents));
        let (high, low) = (
            plot.y(note.shift_cents + note.uncertainty_cents),
            plot.y(note.shift_cents - note.uncertainty_cents),
        );
        let _ = writeln!(
            text,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"22\" height=\"{:.1}\" fill=\"#8aa39b\"/><path d=\"M{x:.1} {high:.1}V{low:.1}M{:.1} {high:.1}h10M{:.1} {low:.1}h10\" stroke=\"#222\"/><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"11\">{:+.1}</text>",
            x - 11.0,
            zero.min(top),
            (zero - top).abs(),
            x - 5.0,
            x - 5.0,
            plot.bottom + 18.0,
            escaped(&note.written),
            plot.bottom + 33.0,
            note.shift_cents
        );
    }
    let zero = plot.y(0.0);
    let _ = writeln!(text, "<path d=\"M{LEFT} {zero:.1}H{RIGHT}\" stroke=\"#222\"/>");
}

fn impedances(text: &mut String, a: &Contender, b: &Contender, horn: &Horn) {
    let lowest = horn
        .fingerings
        .iter()
        .min_by(|one, other| one.fundamental_hz.total_cmp(&other.fundamental_hz));
    let Some(fingering) = lowest else { return };
    let frequencies: Vec<f64> = (20..=750).map(|k| f64::from(k) * 2.0).collect();
    let spectra = [a, b].map(|neck| {
        let sizes = spectrum(horn, &neck.bore, fingering, &frequencies);
        sizes.into_iter().map(|(size, _)| libm::log10(size * 1e-6)).collect::<Vec<_>>()
    });
    let all = || spectra.iter().flatten().copied();
    let y = (
        all().fold(f64::INFINITY, f64::min).floor(),
        all().fold(f64::NEG_INFINITY, f64::max).ceil(),
    );
    let plot = Plot { top: 810.0, bottom: 1020.0, x: (0.0, 1500.0), y };
    let title = format!("Input impedance at the reed, fingering of {}", fingering.note.name);
    plot.frame(text, &title, (100.0, "Hz"), (1.0, "power of ten of MPa s/m3"));
    for (sizes, style) in spectra.iter().zip([FIRST, SECOND]) {
        plot.line(text, frequencies.iter().copied().zip(sizes.iter().copied()), style);
    }
}
