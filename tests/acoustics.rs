//! What a bore does: closed forms, published tables, and the tables in `tests/tables/acoustics.json`, which
//! `tests/occt/acoustic_tables.py` works out from the named papers with numpy and scipy and without any of this code;
//! `tests/occt/test_acoustic_tables.py` asks of every number there whether it still comes out.

use std::f64::consts::{PI, TAU};

use neckwright::acoustics::aim::{Aim, aim, aim_of_text};
use neckwright::acoustics::air::{Air, Breath, speed_of_sound};
use neckwright::acoustics::comparison::{Looked, compare_texts, follow, on, seen, unvented};
use neckwright::acoustics::contender::Contender;
use neckwright::acoustics::disturbance::{DisturbedAt, Intrusion, Lump};
use neckwright::acoustics::duct::{Duct, Piece};
use neckwright::acoustics::horn::HornFile;
use neckwright::acoustics::impedance::{Peak, cents, peak_near, peaks};
use neckwright::acoustics::losses::{Medium, Walls, wall_share};
use neckwright::acoustics::profile::{Profile, tenon_step, volume_mm3};
use neckwright::acoustics::radiation::{open_end, reflection};
use neckwright::acoustics::segment::{Segment, State, bend_factor};
use neckwright::acoustics::sensitivity::cents_per_mm;
use neckwright::acoustics::vent::{Cover, SideHole};
use neckwright::geometry::bore::{Bore, Table};
use num_complex::Complex64 as Complex;
use serde_json::Value;

/// A table of `tests/occt/acoustic_tables.py`.
fn table(name: &str) -> Value {
    let all: Value = serde_json::from_str(include_str!("tables/acoustics.json")).expect("tables");
    all.get(name).unwrap_or_else(|| panic!("no table {name}")).clone()
}

/// The rows of a table.
fn rows(name: &str) -> Vec<Value> {
    let rows = table(name).as_array().expect("rows").clone();
    assert!(!rows.is_empty());
    rows
}

fn number(row: &Value, name: &str) -> f64 {
    row[name].as_f64().unwrap_or_else(|| panic!("no number {name} in {row}"))
}

fn numbers(list: &Value) -> Vec<f64> {
    let list = list.as_array().unwrap_or_else(|| panic!("no list: {list}"));
    assert!(!list.is_empty());
    list.iter().map(|value| value.as_f64().expect("a number")).collect()
}

fn near(got: f64, wanted: f64, within: f64, what: &str) {
    assert!((got - wanted).abs() <= within, "{what}: {got}, wanted {wanted} within {within}");
}

fn close(got: Complex, wanted: Complex, within: f64, what: &str) {
    assert!((got - wanted).norm_sqr().sqrt() <= within, "{what}: {got}, wanted {wanted}");
}

fn smooth(celsius: f64) -> Medium {
    Medium::new(Air::dry(celsius), Walls::Smooth)
}

/// Air of a given speed whose walls take nothing.
fn ideal(speed: f64) -> Medium {
    Medium::new(Air { speed, ..Air::dry(26.85) }, Walls::Ideal)
}

/// Peaks of a duct that ends without pressure, with a cavity (m³) at its inlet.
fn peaks_of(medium: &Medium, duct: &Duct, cavity: f64, count: usize) -> Vec<Peak> {
    let admittance = |omega: f64| {
        let stiffness = medium.air.density * medium.air.speed * medium.air.speed;
        duct.carry(medium, omega, State::released()).admittance()
            + Complex::new(0.0, omega * cavity / stiffness)
    };
    peaks(&admittance, 20.0, 3000.0, count)
}

/// Maxima without losses are poles: where the flow at the inlet, which is imaginary then, goes through nothing.
fn poles(flow: impl Fn(f64) -> f64, from: f64, to: f64, count: usize) -> Vec<f64> {
    let mut found = Vec::new();
    let step = 0.5;
    let mut hz = from;
    while hz < to && found.len() < count {
        let (mut low, mut high) = (hz, hz + step);
        if flow(low) * flow(high) < 0.0 {
            for _ in 0..60 {
                let middle = (low + high) / 2.0;
                if flow(low) * flow(middle) <= 0.0 { high = middle } else { low = middle }
            }
            found.push((low + high) / 2.0);
        }
        hz += step;
    }
    found
}

/// Poles of a duct without losses that ends without pressure.
fn ideal_poles(medium: &Medium, duct: &Duct, cavity: f64, count: usize) -> Vec<f64> {
    let stiffness = medium.air.density * medium.air.speed * medium.air.speed;
    let flow = |hz: f64| {
        let state = duct.carry(medium, TAU * hz, State::released());
        let with = state.before_branch(Complex::new(0.0, TAU * hz * cavity / stiffness));
        // The end's flow is real, so the pressure at the inlet is imaginary and the flow real.
        assert!(with.flow.im.abs() <= 1e-9 * with.flow.re.abs().max(1e-3));
        with.flow.re
    };
    poles(flow, 20.0, 2000.0, count)
}

/// The cone of the tables: entry radius 6.2 mm, half-angle 1.6°, 1 m long.
fn cone_a(pieces: usize) -> Duct {
    Duct::cone(1000.0, 6.2, 6.2 + 1000.0 * slope_a(), pieces)
}

fn slope_a() -> f64 {
    libm::tan(1.6 * PI / 180.0)
}

/// Volume of the cone missing from it, m³: π r² x₁ / 3 with x₁ = r/tan α.
fn missing_a() -> f64 {
    PI * 6.2 * 6.2 * (6.2 / slope_a()) / 3.0 * 1e-9
}

/// O. Cramer, J. Acoust. Soc. Am. 93 (1993) 2510, equation 15 (table `speed_of_sound`); dry air at 0 °C is published as
/// 331.46 m/s, and dry air at 21 °C as 344 m/s.
#[test]
fn speed_of_sound_is_cramers() {
    let at = |temperature_c: f64, humidity_percent: f64, carbon_dioxide_percent: f64| {
        speed_of_sound(&Breath {
            temperature_c,
            humidity_percent,
            carbon_dioxide_percent,
            pressure_kpa: 101.325,
        })
    };
    for row in rows("speed_of_sound") {
        let got = at(number(&row, "celsius"), number(&row, "humidity"), number(&row, "carbon"));
        near(got, number(&row, "speed"), 0.0006, "speed");
    }
    near(at(0.0, 0.0, 0.0314), 331.46, 0.01, "dry air at 0 °C, published");
    near(at(21.0, 0.0, 0.04), 344.0, 0.1, "dry air at 21 °C, published");
}

/// Small and large Stokes numbers have closed forms: F = 1 + z²/8 and F = 2/(jz).
#[test]
fn the_share_of_the_wall_has_both_its_limits() {
    let small = 0.02_f64;
    close(wall_share(small), Complex::new(1.0, -small * small / 8.0), 1e-8, "small");
    let large = 3000.0_f64;
    let half = std::f64::consts::FRAC_1_SQRT_2;
    close(
        wall_share(large),
        Complex::new(half, -half) * (2.0 / large),
        2.0 / (large * large),
        "large",
    );
    // Poiseuille: the resistance of a thin tube a unit length is 8η/(πa⁴), so jωρ/(1−F)/S → 8η/(a²S).
    let medium = smooth(20.0);
    let factors = medium.factors(1.0 / small);
    close(
        factors.inertia * Complex::new(0.0, small * small),
        Complex::new(8.0, 0.0),
        1e-3,
        "Poiseuille",
    );
    // And heat keeps pace: the compression is at one temperature, so the compliance is γ times as great.
    near(factors.compliance.re, medium.air.heat_ratio, 1e-4, "isothermal");
}

/// The series that serve large tubes against the Bessel functions.
#[test]
fn the_series_of_the_wall_are_the_bessel_functions() {
    let medium = smooth(26.85);
    for stokes in [20.1, 25.0, 35.0, 80.0, 250.0] {
        let (quick, exact) = (medium.factors(1.0 / stokes), medium.exact_factors(stokes));
        close(quick.inertia, exact.inertia, 3e-9, "inertia");
        close(quick.compliance, exact.compliance, 3e-9, "compliance");
    }
}

/// The slope against differences.
#[test]
fn factors_change_with_the_radius_as_differences_say() {
    let medium = smooth(26.85);
    for stokes in [5.0_f64, 15.0, 40.0, 100.0] {
        let step = 1e-5;
        let at = |sign: f64| medium.exact_factors(stokes * libm::exp(sign * step));
        let (more, less, slope) = (at(1.0), at(-1.0), medium.factor_slopes(1.0 / stokes));
        close(slope.inertia, (more.inertia - less.inertia) / (2.0 * step), 1e-7, "inertia");
        close(
            slope.compliance,
            (more.compliance - less.compliance) / (2.0 * step),
            1e-7,
            "compliance",
        );
    }
}

/// Published: a pipe of 7.8 mm bore at 200 Hz takes 0.11 a metre (1.0 dB) and has 8.5 MPa·s/m³ (J. Wolfe and others, "How the
/// saxophone measurements were made", University of New South Wales). Table `lines`: Zwikker & Kosten by Bessel functions.
#[test]
fn lines_are_the_published_ones() {
    let medium = smooth(26.85);
    let (propagation, impedance) = medium.line(0.0039, TAU * 200.0);
    near(propagation.re, 0.11, 0.005, "attenuation, published");
    near(propagation.re * 20.0 * libm::log10(std::f64::consts::E), 1.0, 0.05, "decibels a metre");
    near(impedance.re * 1e-6, 8.5, 0.2, "impedance, published");
    for row in rows("lines") {
        let (radius, omega) = (number(&row, "radius_mm") * 1e-3, TAU * number(&row, "hz"));
        let (propagation, impedance) = medium.line(radius, omega);
        near(propagation.re, number(&row, "attenuation"), 6e-6, "attenuation");
        near(omega / propagation.im, number(&row, "velocity"), 6e-4, "phase velocity");
        let plain = medium.air.impedance(radius);
        near(plain, number(&row, "plain"), 6e2, "impedance without losses");
        near(impedance.re / plain, number(&row, "re"), 6e-6, "Re Zc");
        near(impedance.im / plain, number(&row, "im"), 6e-6, "Im Zc");
        // The large-tube forms of Keefe, J. Acoust. Soc. Am. 75 (1984) 58, stated within 1 %.
        let rv = radius / medium.layer(omega);
        let keefe = medium.air.wave_number(omega)
            * (1.045 / rv + 1.080 / (rv * rv) + 0.750 / (rv * rv * rv));
        near(propagation.re / keefe, 1.0, 0.01, "Keefe's large tube");
    }
}

/// |R| 0.89, 0.69, 0.35 as a published code has it; table `ends`: the integrals of Levine & Schwinger (1948); at low frequency
/// the end correction 0.6133 and the resistance (ka)²/4 of an end with a thin wall.
#[test]
fn open_ends_radiate_as_published() {
    for (ka, published) in [(0.5, 0.89), (1.0, 0.69), (2.0, 0.35)] {
        near(reflection(ka).0, published, 0.01, "published |R|");
    }
    for row in rows("ends") {
        let ka = number(&row, "ka");
        let (got, length) = reflection(ka);
        near(got, number(&row, "reflection"), 0.005, "|R|");
        let within = if ka > 1.5 { 0.015 } else { 0.002 };
        near(length, number(&row, "correction"), within, "end correction");
    }
    let (air, ka) = (Air::dry(26.85), 0.01);
    let end = open_end(&air, 0.01, ka / 0.01 * air.speed) / air.impedance(0.01);
    near(end.im / ka, 0.6133, 2e-4, "end correction at low frequency");
    near(end.re / (ka * ka) * 4.0, 1.0, 0.02, "radiation resistance");
}

/// cos, sin and 1: a cylinder of any length, cut or whole; and cones, shut and open, by the textbook's formulas.
#[test]
fn cylinder_and_cone_are_the_closed_forms() {
    let medium = ideal(345.0);
    let (r1, r2, length) = (6.2, 6.2 + 1000.0 * slope_a(), 1.0);
    let (x1, x2) = (6.2e-3 / slope_a(), 6.2e-3 / slope_a() + length);
    for hz in [10.0, 123.4, 444.0, 1700.0, 5000.0] {
        let omega = TAU * hz;
        let k = omega / 345.0;
        let (sin, cos) = libm::sincos(k * length);
        for pieces in [1, 7, 100] {
            let tube = Duct::cone(1000.0, 8.0, 8.0, pieces).matrix(&medium, omega);
            let impedance = medium.air.impedance(0.008);
            close(tube.a, Complex::new(cos, 0.0), 1e-9, "cylinder A");
            close(tube.b / impedance, Complex::new(0.0, sin), 1e-9, "cylinder B");
            close(tube.c * impedance, Complex::new(0.0, sin), 1e-9, "cylinder C");
            close(tube.d, Complex::new(cos, 0.0), 1e-9, "cylinder D");

            let cone = Duct::cone(1000.0, r1, r2, pieces).matrix(&medium, omega);
            let across = medium.air.density * 345.0 / (PI * r1 * r2 * 1e-6);
            close(cone.a, Complex::new(x2 / x1 * cos - sin / (k * x1), 0.0), 1e-8, "cone A");
            close(cone.b / across, Complex::new(0.0, sin), 1e-9, "cone B");
            let c = sin * (1.0 + 1.0 / (k * k * x1 * x2)) - cos * (1.0 / (k * x1) - 1.0 / (k * x2));
            close(cone.c * across, Complex::new(0.0, c), 1e-8, "cone C");
            close(cone.d, Complex::new(x1 / x2 * cos + sin / (k * x2), 0.0), 1e-8, "cone D");
            let impedance = cone.b / cone.d;
            let plain = medium.air.impedance(r1 * 1e-3);
            let closed = Complex::new(0.0, plain) / (cos / sin + 1.0 / (k * x1));
            close(
                impedance / plain,
                closed / plain,
                1e-6 * (1.0 + (closed / plain).im.abs().powi_2()),
                "Z",
            );
        }
    }
}

/// A square with a name, since powers are not to be had here.
trait Squared {
    fn powi_2(self) -> f64;
}

impl Squared for f64 {
    fn powi_2(self) -> f64 {
        self * self
    }
}

/// Every lossless matrix has determinant one and is the same from both ends; so has every lossy one.
#[test]
fn determinants_are_one_and_tubes_alike_from_both_ends() {
    for medium in [ideal(345.0), smooth(26.85)] {
        for (r1, r2) in [(6.0, 6.0), (6.0, 9.0), (9.0, 6.0), (0.5, 20.0)] {
            for length in [0.5, 5.0, 50.0, 700.0] {
                for hz in [20.0, 200.0, 1000.0, 3000.0] {
                    let matrix = Segment::cone(length, r1, r2).bent(0.02).matrix(&medium, TAU * hz);
                    let size = (matrix.a * matrix.d).norm_sqr().sqrt().max(1.0);
                    close(
                        matrix.determinant() / size,
                        Complex::new(1.0 / size, 0.0),
                        1e-11,
                        "determinant",
                    );
                    // Turned round, A and D change places, B and C stay.
                    let back = Segment::cone(length, r2, r1).bent(0.02).matrix(&medium, TAU * hz);
                    close(back.a, matrix.d, 1e-9 * size, "A and D");
                    close(back.b / matrix.b, Complex::new(1.0, 0.0), 1e-9, "B");
                    close(back.c / matrix.c, Complex::new(1.0, 0.0), 1e-8, "C");
                }
            }
        }
    }
}

/// Table `roots`: tan kL = −k x₁; table `cones`: cone A and the simplified bassoon of C. J. Nederveen (3 m, 4.2 to 46.9 mm), by
/// the matrices of N. H. Fletcher & T. D. Rossing, chapter 8.
#[test]
fn cones_resonate_at_the_roots_of_the_textbook() {
    let medium = ideal(340.0);
    // As good as a cylinder: odd quarters of a wave.
    let far = serde_json::json!({ "apex": 1e7, "roots": [0.5, 1.5, 2.5, 3.5, 4.5] });
    for row in rows("roots").into_iter().chain([far]) {
        let apex = number(&row, "apex");
        let duct = Duct::cone(1000.0, 10.0, 10.0 * (1.0 + 1.0 / apex), 20);
        let found = ideal_poles(&medium, &duct, 0.0, 5);
        for (hz, root) in found.iter().zip(numbers(&row["roots"])) {
            near(hz / 170.0, root, 2e-6, "kL/π");
        }
        assert_eq!(found.len(), 5);
    }
    let medium = ideal(345.0);
    let rigid = ideal_poles(&medium, &cone_a(1), 0.0, 5);
    let with_cavity = ideal_poles(&medium, &cone_a(1), missing_a(), 5);
    let bassoon = Duct::cone(3000.0, 2.1, 23.45, 1);
    let bassoon = ideal_poles(&ideal(343.37), &bassoon, 0.0, 5);
    let cones = table("cones");
    for (found, name) in [(&rigid, "rigid"), (&with_cavity, "with_cavity"), (&bassoon, "bassoon")] {
        for (hz, frequency) in found.iter().zip(numbers(&cones[name])) {
            near(*hz, frequency, 0.0006, name);
        }
    }
    // The rule of the missing cone: its volume at the inlet gives the whole cone's first resonance, and nearly its second.
    let whole = |n: f64| n * 345.0 / 2.0 / (1.0 + 6.2e-3 / slope_a());
    near(with_cavity[0] / whole(1.0), 1.0, 5e-4, "first");
    near(cents(whole(2.0), with_cavity[1]), 8.6, 0.1, "second, cents");
}

/// Table `lossy`: Zwikker & Kosten with the air of Keefe (1984), from thousands of plain cylinders; table `heights`: cone A with
/// its cavity, in the range J. Backus published for reed woodwinds, 40 to 160 MPa·s/m³ (J. Acoust. Soc. Am. 56 (1974) 1266).
#[test]
fn lossy_cylinders_and_cones_peak_where_the_tables_say() {
    for row in rows("lossy") {
        let [length, entry, end] =
            ["length_mm", "entry_mm", "end_mm"].map(|name| number(&row, name));
        let pieces = if entry == end { 1 } else { 400 };
        let peaks: Vec<(f64, f64)> = row["peaks"]
            .as_array()
            .expect("peaks")
            .iter()
            .map(|peak| (numbers(peak)[0], numbers(peak)[1]))
            .collect();
        assert_eq!(peaks.len(), 5);
        let duct = Duct::cone(length, entry, end, pieces);
        peaks_are(&smooth(number(&row, "celsius")), &duct, entry, 0.0, &peaks, 0.0016, 0.0016);
    }
    let found = peaks_of(&smooth(26.85), &cone_a(400), missing_a(), 3);
    for (peak, wanted) in found.iter().zip(numbers(&table("heights"))) {
        near(peak.height_mpa_s_m3, wanted, 0.011, "height");
        assert!((40.0..160.0).contains(&peak.height_mpa_s_m3));
    }
}

fn peaks_are(
    medium: &Medium,
    duct: &Duct,
    radius_mm: f64,
    cavity: f64,
    rows: &[(f64, f64)],
    hz: f64,
    height: f64,
) {
    let found = peaks_of(medium, duct, cavity, rows.len());
    assert_eq!(found.len(), rows.len());
    for (peak, (frequency, ratio)) in found.iter().zip(rows) {
        near(peak.frequency_hz, *frequency, hz, "peak");
        let plain = medium.air.impedance(radius_mm * 1e-3) * 1e-6;
        near(peak.height_mpa_s_m3 / plain, *ratio, height, "height");
    }
}

/// A resonance of one degree of freedom has a closed form: f₀, R and Q are what went in.
#[test]
fn a_peak_is_read_as_it_is() {
    let (f0, q) = (231.7, 27.0);
    let admittance = |omega: f64| {
        let x = omega / (TAU * f0);
        Complex::new(1.0, q * (x - 1.0 / x)) / 5e7
    };
    let peak = peak_near(&admittance, 229.0, 20.0).expect("there is one");
    near(peak.frequency_hz, f0, 1e-7, "frequency");
    near(peak.height_mpa_s_m3, 50.0, 1e-9, "height");
    near(peak.q, q, 1e-4 * q, "q");
    assert!(peak_near(&admittance, 400.0, 20.0).is_none());
}

/// Slices approach the exact cone: without losses one is exact; with them the error falls as the square of their length.
#[test]
fn slices_converge_to_the_exact_cone() {
    let medium = smooth(26.85);
    let first = |pieces: usize| {
        peaks_of(&medium, &Duct::cone(3000.0, 2.1, 23.45, pieces), 0.0, 5)
            .into_iter()
            .map(|peak| peak.frequency_hz)
            .collect::<Vec<_>>()
    };
    let fine = first(1600);
    let error = |pieces: usize| {
        first(pieces).iter().zip(&fine).map(|(a, b)| cents(*b, *a).abs()).fold(0.0, f64::max)
    };
    let (coarse, middle, good) = (error(25), error(50), error(100));
    assert!(coarse < 0.2 && good < 0.01, "{coarse} {middle} {good}");
    for ratio in [coarse / middle, middle / good] {
        assert!((3.0..5.0).contains(&ratio), "halved slices, error less by {ratio}");
    }
    // Steps for cones: the same with plain cylinders comes only with their number squared, and slower.
    let steps = |count: usize| Duct {
        pieces: (0..count)
            .map(|k| {
                let radius = 6.2 + 1000.0 * slope_a() * (k as f64 + 0.5) / count as f64;
                Piece::Segment(Segment::cone(1000.0 / count as f64, radius, radius))
            })
            .collect(),
    };
    let ideal = ideal(347.23);
    let exact = ideal_poles(&ideal, &cone_a(1), 0.0, 3);
    let off = |count: usize| {
        let found = ideal_poles(&ideal, &steps(count), 0.0, 3);
        found.iter().zip(&exact).map(|(a, b)| cents(*b, *a).abs()).fold(0.0, f64::max)
    };
    let (some, more) = (off(100), off(200));
    assert!(some < 2.0 && (3.0..5.0).contains(&(some / more)), "{some} {more}");
}

/// Table `zones`: bore changes of cone A by exact cone matrices, cents; table `wider_cylinder`: 2 % more area on its first tenth.
#[test]
fn small_changes_of_the_bore_move_the_peaks_by_the_computed_rows() {
    let medium = ideal(347.23);
    let zone = |from: f64, to: f64, more: &dyn Fn(f64) -> f64| {
        let radius = |x: f64| 6.2 + x * slope_a();
        let mut pieces = Vec::new();
        let mut push = |a: f64, b: f64, changed: bool| {
            if b > a {
                let add = |x: f64| if changed { more(x) } else { 0.0 };
                pieces.push(Piece::Segment(Segment::cone(
                    b - a,
                    radius(a) + add(a),
                    radius(b) + add(b),
                )));
            }
        };
        push(0.0, from, false);
        push(from, to, true);
        push(to, 1000.0, false);
        Duct { pieces }
    };
    let shifts = |duct: &Duct, cavity: f64| {
        let before = ideal_poles(&medium, &cone_a(1), cavity, 3);
        let after = ideal_poles(&medium, duct, cavity, 3);
        before.iter().zip(&after).map(|(a, b)| cents(*a, *b)).collect::<Vec<_>>()
    };
    for row in rows("zones") {
        let (from, to) = (number(&row, "from_mm"), number(&row, "to_mm"));
        let more = numbers(&row["more_mm"]);
        let duct = zone(from, to, &|x| more[0] + (more[1] - more[0]) * (x - from) / (to - from));
        for (name, cavity) in [("rigid", 0.0), ("cavity", missing_a())] {
            for (got, wanted) in shifts(&duct, cavity).iter().zip(numbers(&row[name])) {
                near(*got, wanted, 0.0011, name);
            }
        }
    }
    // A cylinder, 2 % more area on its first tenth.
    let plain = Duct::cone(1000.0, 8.0, 8.0, 1);
    let wide = 8.0 * 1.02_f64.sqrt();
    let wider = Duct {
        pieces: vec![
            Piece::Segment(Segment::cone(100.0, wide, wide)),
            Piece::Segment(Segment::cone(900.0, 8.0, 8.0)),
        ],
    };
    let (before, after) =
        (ideal_poles(&medium, &plain, 0.0, 3), ideal_poles(&medium, &wider, 0.0, 3));
    for ((a, b), wanted) in before.iter().zip(&after).zip(numbers(&table("wider_cylinder"))) {
        near(cents(*a, *b), wanted, 0.0011, "cylinder");
    }
}

/// Table `bends`: the factor is the potential flow of a torus, by quadrature of 1/R over the disc; shifts of cone A bent from 40
/// to 160 mm, cents.
#[test]
fn a_bend_lessens_inertia() {
    let told = table("bends");
    for row in told["q"].as_array().expect("rows") {
        near(bend_factor(number(row, "kappa")), number(row, "q"), 6e-6, "q");
    }
    let medium = ideal(347.23);
    let bent = |curvature: f64| Duct {
        pieces: (0..250)
            .map(|k| {
                let (a, b) = (f64::from(k) * 4.0, f64::from(k + 1) * 4.0);
                let piece = Segment::cone(4.0, 6.2 + a * slope_a(), 6.2 + b * slope_a());
                let inside = (40.0..160.0).contains(&(a + 2.0));
                Piece::Segment(if inside { piece.bent(curvature) } else { piece })
            })
            .collect(),
    };
    for row in told["shifts"].as_array().expect("rows") {
        let radius = number(row, "radius_mm");
        for (volume, wanted) in [(0.0, "rigid"), (missing_a(), "cavity")] {
            let wanted = numbers(&row[wanted]);
            let before = ideal_poles(&medium, &cone_a(1), volume, 4);
            let after = ideal_poles(&medium, &bent(1.0 / radius), volume, 4);
            for ((a, b), cent) in before.iter().zip(&after).zip(wanted) {
                near(cents(*a, *b), cent, 0.002, "bend");
            }
        }
    }
}

/// Register hole of a full cone, 0.6 m, half-angle 1.6°, hole at half its length: b²/te = −(τ²L/2) kL cot(kL/2), after A. H.
/// Benade, "Register hole design for cone woodwinds" (Acoust. Soc. Am., 1973; table `full_cone_hole`); and cone A with its
/// cavity (table `vents`).
#[test]
fn a_register_hole_moves_the_peaks_by_the_closed_form() {
    let medium = ideal(347.23);
    let density = medium.air.density;
    // b²/te in mm: the branch's inertia is ρ/(π b²/te).
    let branch = |reach_mm: f64, omega: f64| {
        Complex::new(0.0, omega * density / (PI * reach_mm * 1e-3)).inv()
    };
    let tip = 1e-6;
    let (upper, lower) = (
        Duct::cone(300.0 - tip / slope_a(), tip, 300.0 * slope_a(), 1),
        Duct::cone(300.0, 300.0 * slope_a(), 600.0 * slope_a(), 1),
    );
    let with_hole = |reach: f64| {
        let flow = |hz: f64| {
            let omega = TAU * hz;
            let mut state = lower.carry(&medium, omega, State::released());
            if reach > 0.0 {
                state = state.before_branch(branch(reach, omega));
            }
            upper.carry(&medium, omega, state).flow.re
        };
        poles(flow, 150.0, 700.0, 2)
    };
    let plain = with_hole(0.0);
    near(plain[0], 347.23 / 1.2, 1e-3, "full cone");
    for row in rows("full_cone_hole") {
        let (reach, ratio) = (number(&row, "reach_mm"), number(&row, "ratio"));
        let found = with_hole(reach);
        near(found[0] / plain[0], ratio, 6e-6, "first");
        near(found[1], plain[1], 1e-3, "second stays");
    }
    let told = table("vents");
    for row in told["rows"].as_array().expect("rows") {
        let place = number(&told, "node_mm") + number(row, "off_mm");
        let radius = |x: f64| 6.2 + x * slope_a();
        let upper = Duct::cone(place, radius(0.0), radius(place), 1);
        let lower = Duct::cone(1000.0 - place, radius(place), radius(1000.0), 1);
        let stiffness = density * medium.air.speed * medium.air.speed;
        let found = |reach: f64| {
            let flow = |hz: f64| {
                let omega = TAU * hz;
                let mut state = lower.carry(&medium, omega, State::released());
                if reach > 0.0 {
                    state = state.before_branch(branch(reach, omega));
                }
                let state = upper.carry(&medium, omega, state);
                state.before_branch(Complex::new(0.0, omega * missing_a() / stiffness)).flow.re
            };
            poles(flow, 100.0, 400.0, 2)
        };
        let (without, with) = (found(0.0), found(1.0 / 3.0));
        near(cents(without[0], with[0]), number(row, "first"), 0.06, "mode 1");
        near(cents(without[1], with[1]), number(row, "second"), 0.011, "mode 2");
    }
}

/// Table `passings`: P. Dickens, thesis (2007), equation 4.12. And a hole far smaller than its bore is its own tube with an end at
/// each side: 0.82 b inside, 0.6133 b outside.
#[test]
fn holes_have_the_lengths_of_their_formulas() {
    let hole = |bore: f64, radius: f64, length: f64, cover: Cover| SideHole {
        radius: radius * 1e-3,
        length: length * 1e-3,
        bore: bore * 1e-3,
        cover,
    };
    // A pad a kilometre away is none.
    let open = Cover::UnderPad { radius: 0.01, height: 1e3 };
    for row in rows("passings") {
        let [bore, radius, length] =
            ["bore_mm", "radius_mm", "length_mm"].map(|name| number(&row, name));
        let cover = if row["shut"] == true { Cover::Shut } else { open };
        let got = hole(bore, radius, length, cover).passing_length() * 1e3;
        near(got, number(&row, "passing_mm"), 6e-5, "in passing");
    }
    let medium = ideal(347.23);
    let small = hole(100.0, 1.0, 5.0, open);
    let omega = TAU * 100.0;
    let wave = neckwright::acoustics::segment::Wave::of(&medium, omega);
    let branch = small.branch(&medium, &wave);
    let length = branch.im * PI * 1e-6 / (omega * medium.air.density);
    near(length * 1e3, 5.0 + 0.82 + 0.6133, 0.01, "effective length");
    // Shut, it is a small volume: jωV/(ρc²).
    let shut = hole(100.0, 1.0, 5.0, Cover::Shut).branch(&medium, &wave);
    let stiffness = medium.air.density * medium.air.speed * medium.air.speed;
    let volume = shut.inv().im * stiffness / omega;
    near(volume / (PI * 5e-9), 1.0, 1e-3, "volume");
}

/// G. P. Scavone, Int. Comp. Music Conf. 2002: a cylinder of the missing cone's volume before a cone is nearly harmonic to
/// β = r₁/r₂ of 0.2 to 0.3. Table `cylinder_for_the_tip`: the cents of modes 2 to 4 against multiples of the first, without
/// losses, and those of the bare frustum.
#[test]
fn a_cylinder_of_the_missing_volume_is_nearly_harmonic() {
    let medium = ideal(345.0);
    for row in rows("cylinder_for_the_tip") {
        let beta = number(&row, "beta");
        let apex = 1000.0 * beta / (1.0 - beta);
        let cone = Segment::cone(1000.0, 10.0, 10.0 / beta);
        let tube = Segment::cone(apex / 3.0, 10.0, 10.0);
        let ducts = [(vec![tube, cone], "with"), (vec![cone], "bare")];
        for (pieces, wanted) in ducts {
            let duct = Duct { pieces: pieces.into_iter().map(Piece::Segment).collect() };
            let found = ideal_poles(&medium, &duct, 0.0, 4);
            for (n, (hz, cent)) in found.iter().skip(1).zip(numbers(&row[wanted])).enumerate() {
                near(cents(found[0] * (n as f64 + 2.0), *hz), cent, 0.006, "mode");
            }
        }
    }
}

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const TIGHTER: &str = include_str!("../examples/bores/alto_tighter.json");
const MORE_OPEN: &str = include_str!("../examples/bores/alto_more_open.json");

/// The slopes that carry the uncertainty and steer the fit, against differences of the whole model.
#[test]
fn gradients_are_those_of_differences() {
    let file = HornFile::stand_in("stand-in");
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let horn = file.ready(neck.job.horn_voice, &neck.bore).expect("every note can be sounded");
    let length = neck.bore.length_mm();
    // At the places where slices end, so that the bent line of the difference is what the model sees.
    let knots: Vec<f64> = [0.0, 50.0, 102.36, 165.19, 193.19].to_vec();
    let knots: Vec<f64> = {
        let stops = neck.bore.neck.smooth_stretches(0.0, length);
        let near = |knot: &f64| {
            stops.iter().copied().min_by(|a, b| (a - knot).abs().total_cmp(&(b - knot).abs()))
        };
        knots.iter().filter_map(near).collect()
    };
    for written in ["Bb3", "C#5", "D5", "A5", "C#6"] {
        let fingering =
            horn.fingerings.iter().find(|one| one.note.name == written).expect("it is asked about");
        let fingered = on(&horn, &neck.bore, fingering, fingering.vent_open);
        let peak = seen(&horn, &neck.bore, fingering).played.expect("a peak");
        let slopes = cents_per_mm(&fingered, &knots, peak.frequency_hz);
        for k in 0..knots.len() {
            let step = 0.02;
            let at = |sign: f64| {
                let rows: Vec<(f64, f64)> = (0..=2000)
                    .map(|i| {
                        let x = length * f64::from(i) / 2000.0;
                        let share = hat(&knots, k, x);
                        (x, neck.bore.neck.bore.radius(x) + sign * step * 0.5 * share)
                    })
                    .collect();
                let changed = neck.bore.with_bore(Bore::Table(Table::new(&rows)));
                let fingered = on(&horn, &changed, fingering, fingering.vent_open);
                fingered.peak_near(peak.frequency_hz).expect("a peak").frequency_hz
            };
            let difference = cents(at(-1.0), at(1.0)) / (2.0 * step);
            // The vent's own inner end depends a little on the bore, which the slopes leave out.
            let within = 2e-3 * slopes.iter().fold(0.3, |most, slope| slope.abs().max(most))
                + if fingering.vent_open { 0.05 } else { 0.0 };
            near(slopes[k], difference, within, &format!("{written}, knot {k}"));
        }
    }
}

/// One at a knot, nothing at its neighbours, straight between.
fn hat(knots: &[f64], k: usize, x: f64) -> f64 {
    let mut share: f64 = 1.0;
    if k > 0 && x < knots[k] {
        share = ((x - knots[k - 1]) / (knots[k] - knots[k - 1])).clamp(0.0, 1.0);
    }
    if k + 1 < knots.len() && x > knots[k] {
        share = ((knots[k + 1] - x) / (knots[k + 1] - knots[k])).clamp(0.0, 1.0);
    }
    share
}

/// The example bores build, nothing of theirs clashes, and they meet the alto's own bore from station 110 on.
#[test]
fn the_starting_bores_are_necks() {
    let alto = Contender::read("alto", ALTO).expect("the alto builds");
    for (text, entry) in [(TIGHTER, 11.9), (MORE_OPEN, 12.7)] {
        let model = neckwright::model::Model::build(text, None).expect("it builds");
        assert_eq!(model.clearances().failed, 0);
        assert!(text.contains("invented"));
        let neck = Contender::read("one", text).expect("it builds");
        near(2.0 * neck.bore.neck.bore.radius(0.0), entry, 1e-12, "entry");
        for station in [110.0, 130.0, 150.0, 190.0] {
            let (one, other) = (&neck.bore.neck.bore, &alto.bore.neck.bore);
            near(one.radius(station), other.radius(station), 6e-4, "bore");
        }
        assert!(
            Profile::of("one", &neck.bore.neck.bore, neck.bore.length_mm(), 10.0)
                .violations(neck.bore.length_mm())
                .is_empty()
        );
    }
}

/// A neck beside itself: nothing moves. A wider entry lowers the low register and raises its peaks' losses no less: the
/// sign of the first row of Rayleigh's perturbation above (−0.27 cents for 0.1 mm of radius over the first 20 mm).
#[test]
fn the_comparison_of_a_neck_with_itself_is_nothing_and_a_wider_entry_lowers_low_notes() {
    let file = HornFile::stand_in("stand-in");
    let (_, _, horn, same) =
        compare_texts(("alto", ALTO), ("alto", ALTO), &file).expect("it can be compared");
    assert_eq!(same.notes.len(), horn.fingerings.len());
    for note in &same.notes {
        assert_eq!(note.shift.shift_cents, 0.0);
        assert_eq!(note.shift.height_change_db, 0.0);
        assert!(note.shift.uncertainty_cents > 0.1 && note.shift.gauge_error_cents < 1e-12);
    }
    let (_, _, horn, wider) =
        compare_texts(("tighter", TIGHTER), ("more open", MORE_OPEN), &file).expect("compares");
    for note in wider.notes.iter().map(|note| &note.shift).filter(|note| note.register == 1) {
        assert!(note.shift_cents < 0.0, "{} {}", note.written, note.shift_cents);
    }
    assert!(wider.notes.windows(2).all(|pair| pair[0].shift.noticed >= pair[1].shift.noticed));
    // The stand-in gives the first neck its pitches, in the register whose first resonance it was fitted to.
    for fingering in &horn.fingerings {
        let note = wider
            .notes
            .iter()
            .find(|note| note.shift.written == fingering.note.name)
            .expect("told");
        if note.shift.register == 1 {
            near(note.a.frequency_hz / fingering.fundamental_hz, 1.0, 2e-7, "pitch");
        }
    }
    // The vent weakens and sharpens the first peak and does little to the second (UNSW's notes on the tenor's register hole).
    let mut served = 0;
    for vent in &wider.vents {
        let note =
            wider.notes.iter().find(|note| note.shift.written == vent.written).expect("told");
        if note.vent_open {
            served += 1;
            let first = &vent.a[0];
            assert!(first.shift_cents.is_none_or(|shift| shift > 50.0), "{vent:?}");
            assert!(first.height_ratio.is_none_or(|ratio| ratio < 0.7), "{vent:?}");
            let second = vent.a[1].shift_cents.expect("it is played");
            assert!((-0.5..35.0).contains(&second), "{vent:?}");
        }
    }
    assert_eq!(served, 3, "A5, B5 and C#6 are on the neck's vent");
    assert!(wider.words.iter().any(|words| words.contains("not a prediction of a player")));
}

/// Tables `steps` (modes of both ducts matched over the opening), `added_masses` (Lamb's integral) and `intrusions` (quadrature
/// over the vent's round section). The polynomial of the step is stated to be near, not exact: within half a percent of the
/// radius.
#[test]
fn what_disturbs_the_area_is_what_the_tables_say() {
    for row in rows("steps") {
        let share = number(&row, "share");
        for lump in [Lump::step(share, 1.0), Lump::step(1.0, share)] {
            near(lump.line * share, number(&row, "line"), 0.0012, "step");
        }
    }
    // No step is none, and into a wide wall it is the flange's 0.8216 radii.
    near(Lump::step(0.006, 0.006).line, 0.0, 1e-9, "no step");
    near(Lump::step(1e-6, 1.0).line * PI * 1e-6, 0.8216, 0.0005, "flange");
    for row in rows("added_masses") {
        let intrusion = Intrusion { outer: 1.0, reach: number(&row, "ratio") };
        near(intrusion.added_mass(), number(&row, "share"), 6e-6, "added mass");
    }
    for row in rows("intrusions") {
        let [bore, outer, reach] =
            ["bore_mm", "outer_mm", "reach_mm"].map(|name| number(&row, name) * 1e-3);
        let intrusion = Intrusion { outer, reach };
        near(intrusion.area(bore, 0.0) * 1e6, number(&row, "area_mm2"), 6e-5, "area");
        let volume = number(&row, "volume_mm3");
        near(intrusion.volume(bore) * 1e9, volume, 1e-3 * volume, "volume");
        assert_eq!(intrusion.area(bore, outer * 1.01), 0.0);
        assert_eq!(Intrusion { outer, reach: 0.0 }.volume(bore), 0.0);
    }
    // How they change with the neck's radius, against differences.
    let step = 1e-7;
    let made: [&dyn Fn(f64) -> Lump; 3] =
        [&|radius| Lump::step(radius, 0.0086), &|radius| Lump::step(radius, 0.0059), &|radius| {
            Lump::intruding(&Intrusion { outer: 2.25e-3, reach: 0.7e-3 }, radius)
        }];
    for at in made {
        let (less, here, more) = (at(0.0062 - step), at(0.0062), at(0.0062 + step));
        let line = (more.line - less.line) / (2.0 * step);
        near(here.line_by_radius, line, 1e-4 * line.abs(), "line");
        let room = (more.room - less.room) / (2.0 * step);
        near(here.room_by_radius, room, 1e-3 * room.abs(), "room");
    }
}

/// A body of volume V in a cylinder of length L and area S, shut at one end, at a distance x from it: first order in V (Lord
/// Rayleigh's principle), δf/f = V (cos² kx − (1 + k) sin² kx)/(S L), k its added mass.
#[test]
fn what_stands_in_the_bore_moves_a_peak_by_rayleighs_principle() {
    let medium = ideal(347.23);
    let intrusion = Intrusion { outer: 2.25e-3, reach: 0.7e-3 };
    let (radius, area) = (0.008, PI * 0.008 * 0.008);
    let lump = Lump::intruding(&intrusion, radius);
    let plain = ideal_poles(&medium, &Duct::cone(1000.0, 8.0, 8.0, 1), 0.0, 3);
    for x in [50.0, 300.0, 480.0, 900.0] {
        let tube = |length: f64| Piece::Segment(Segment::cone(length, 8.0, 8.0));
        let duct = Duct { pieces: vec![tube(x), Piece::Lump(lump), tube(1000.0 - x)] };
        let found = ideal_poles(&medium, &duct, 0.0, 3);
        for (before, after) in plain.iter().zip(&found) {
            let (sin, cos) = libm::sincos(TAU * before / 347.23 * x * 1e-3);
            let share = cos * cos - (1.0 + intrusion.added_mass()) * sin * sin;
            let wanted = 1200.0 / std::f64::consts::LN_2 * share * intrusion.volume(radius) / area;
            near(cents(*before, *after), wanted, 2e-3 * wanted.abs() + 1e-4, "shift");
        }
    }
}

/// Where the vent and the ends of the wall disturb the alto's area, and that the profile shows it. The areas are those of circles:
/// entry 12.3, shank 17.2 mm; the receiver is 24.53 wide and goes on 24.2 − 20 mm beyond the tenon.
#[test]
fn vent_and_wall_ends_are_in_the_profile() {
    let file = HornFile::stand_in("stand-in");
    let (a, _, horn, told) = compare_texts(("a", ALTO), ("b", ALTO), &file).expect("compares");
    let places: Vec<DisturbedAt> = told.a.disturbed.iter().map(|one| one.at).collect();
    assert_eq!(
        places,
        [DisturbedAt::CorkEnd, DisturbedAt::Vent, DisturbedAt::Socket, DisturbedAt::TenonEnd]
    );
    let [cork, vent, socket, tenon] = told.a.disturbed.as_slice() else { panic!("four") };
    let circle = |diameter: f64| PI * diameter * diameter / 4.0;
    near(cork.area_mm2, circle(12.3), 1e-6, "entry");
    near(cork.disturbed_area_mm2, circle(17.2), 1e-6, "shank");
    // The mouthpiece is taken as a tube as wide as this entry: no step is in the waves; at most it is that into the shank.
    near(cork.added_length_mm, 0.0, 1e-9, "no step");
    let into_the_shank = Lump::step(6.15e-3, 8.6e-3).line * circle(12.3) * 1e-3;
    near(cork.greatest_length_mm, into_the_shank, 1e-9, "into the shank");
    let radius = a.bore.neck.bore.radius(66.0) * 1e-3;
    let intrusion = Intrusion { outer: 2.25e-3, reach: 0.7e-3 };
    near(vent.volume_mm3, -intrusion.volume(radius) * 1e9, 1e-9, "vent");
    assert!(vent.least_length_mm < vent.added_length_mm);
    assert!(vent.added_length_mm < vent.greatest_length_mm);
    near(socket.added_length_mm, 0.0, 0.0, "filled");
    let end = 2.0 * a.bore.neck.bore.radius(tenon.station_mm);
    near(tenon.volume_mm3, (circle(24.53) - circle(end)) * 4.2, 1e-6, "receiver's ring");
    let at = |station: f64| {
        let place = told.a.profile.iter().find(|place| (place.station_mm - station).abs() < 1e-9);
        *place.expect("it is told")
    };
    let lost = |station: f64| circle(at(station).diameter_mm) - at(station).open_area_mm2;
    near(lost(66.0), intrusion.area(radius, 0.0) * 1e6, 1e-9, "at the vent");
    near(lost(65.0), intrusion.area(at(65.0).diameter_mm * 0.5e-3, 1e-3) * 1e6, 1e-9, "beside");
    for station in [0.0, 60.0, 63.75, 68.25, 70.0] {
        near(lost(station), 0.0, 1e-9, "clear of the vent");
    }
    near(
        at(socket.station_mm).diameter_mm,
        2.0 * a.bore.neck.bore.radius(socket.station_mm),
        1e-9,
        "tube's end",
    );
    // A vent that ends nearly in the wall hardly stands in the way.
    let flush = ALTO.replacen("\"reach_inside_mm\": 0.7", "\"reach_inside_mm\": 0.1", 1);
    let flush = Contender::read("flush", &flush).expect("it builds");
    let places = Looked::at(&flush, &horn);
    let followed = follow(&places, &a).expect("follows");
    // The end in the air moves the lowest note's first peak up, where pressure is greatest (Rayleigh, as above).
    let low = followed.notes.iter().find(|note| note.written == "Bb3").expect("told");
    assert!(low.shift_cents > 0.001 && low.shift_cents < 0.2, "{low:?}");
}

/// An octave vent of the body is a hole of the measured horn; a cone has none, and the notes that want it are named.
#[test]
fn vents_of_the_body_are_modelled_or_said_not_to_be() {
    let measured = include_str!("../examples/bores/horn_invented.json");
    let file = HornFile::read(measured).expect("the example");
    let (a, _, horn, told) = compare_texts(("a", ALTO), ("b", ALTO), &file).expect("compares");
    assert!(told.horn.without_vent.is_empty());
    for written in ["D5", "F5", "G5"] {
        let fingering =
            horn.fingerings.iter().find(|one| one.note.name == written).expect("asked about");
        assert!(fingering.unvented.is_some() && !fingering.vent_open);
        let shut = unvented(&horn, &a.bore, fingering, false).peaks(fingering.fundamental_hz, 4);
        let played = seen(&horn, &a.bore, fingering).played.expect("a peak");
        // It weakens the first peak and leaves the second nearly where it is (UNSW's notes on the tenor's register hole).
        let open = on(&horn, &a.bore, fingering, false);
        let left = open.peak_near(shut[0].frequency_hz * 1.05);
        assert!(
            left.is_none_or(|left| left.height_mpa_s_m3 < 0.8 * shut[0].height_mpa_s_m3),
            "{written}"
        );
        let moved = cents(shut[1].frequency_hz, played.frequency_hz);
        assert!((-1.0..60.0).contains(&moved), "{written} {moved}");
    }
    let (_, _, _, cone) =
        compare_texts(("a", ALTO), ("b", ALTO), &HornFile::stand_in("cone")).expect("compares");
    assert_eq!(cone.horn.without_vent, ["D5", "F5", "G5"]);
    assert!(
        cone.words
            .iter()
            .any(|words| words.contains("vent on the body, which is not in this horn"))
    );
}

/// The file that stands in for a horn is what is taken without one.
#[test]
fn the_stand_in_is_a_file_too() {
    let text = include_str!("../examples/bores/horn_stand_in.json");
    assert_eq!(HornFile::read(text).expect("the example"), HornFile::stand_in("a plain cone"));
}

/// The shift the comparison tells of a bore 0.1 mm wider everywhere is what the uncertainty says of such a gauge.
#[test]
fn the_uncertainty_is_what_a_wrong_diameter_does() {
    let file = HornFile::stand_in("stand-in");
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let horn = file.ready(neck.job.horn_voice, &neck.bore).expect("notes");
    let by = |more: f64| {
        neck.bore.with_bore(Bore::Cone {
            entry_radius: neck.bore.neck.bore.radius(0.0) + more,
            slope: neck.bore.neck.bore.radius_slope(0.0).1,
        })
    };
    // 0.1 mm of diameter, half of it each way.
    let (narrower, wider) = (by(-0.025), by(0.025));
    for fingering in &horn.fingerings {
        let peak = |bore| seen(&horn, bore, fingering).played.expect("a peak").frequency_hz;
        let (here, before, after) = (peak(&neck.bore), peak(&narrower), peak(&wider));
        let fingered = on(&horn, &neck.bore, fingering, fingering.vent_open);
        let sum: f64 = cents_per_mm(&fingered, &[0.0, 100.0, 193.0], here).iter().sum();
        let within = if fingering.vent_open { 0.03 } else { 0.005 };
        near(cents(before, after), 0.1 * sum, within, &fingering.note.name);
    }
}

/// A modest aim is reached by a smooth change within the limits; what cannot be reached is said not to be.
#[test]
fn an_aim_is_reached_or_said_not_to_be() {
    let neck = Contender::read("alto", ALTO).expect("the alto builds");
    let horn =
        HornFile::stand_in("stand-in").ready(neck.job.horn_voice, &neck.bore).expect("notes");
    let asked = |wanted: Value, limits: Value| {
        Aim::read(&serde_json::json!({ "wanted": wanted, "limits": limits }).to_string())
    };
    let wish = |list: &[(&str, f64)]| {
        list.iter()
            .map(|(written, cents)| serde_json::json!({ "written": written, "cents": cents }))
            .collect::<Value>()
    };
    let plain = || serde_json::json!({});
    let modest = asked(wish(&[("A4", -3.0), ("C#5", -4.0)]), plain()).expect("an aim");
    let found = aim(&neck, &horn, &modest).expect("sought");
    assert!(found.reached, "{found:?}");
    assert!(found.most_change_mm <= modest.limits.most_change_mm + 1e-6);
    // The new bore, read back as a job's table, does what was told.
    let changed = neck.bore.with_bore(found.profile.bore());
    for note in &found.notes {
        let fingering =
            horn.fingerings.iter().find(|one| one.note.name == note.written).expect("told");
        let peak = |bore| seen(&horn, bore, fingering).played.expect("a peak").frequency_hz;
        let got = note.got_cents.expect("no peak is lost");
        near(cents(peak(&neck.bore), peak(&changed)), got, 1e-6, "told");
        if let Some(wanted) = note.wanted_cents {
            near(got, wanted, 1.0, "aim");
        }
    }
    let last = found.profile.rows.last().expect("rows");
    near(last.diameter_mm, 2.0 * neck.bore.neck.bore.radius(last.station_mm), 1e-6, "tenon end");
    assert!(found.profile.violations(neck.bore.length_mm()).is_empty());

    let too_much = asked(wish(&[("A4", 60.0), ("B4", -60.0)]), plain()).expect("an aim");
    let found = aim(&neck, &horn, &too_much).expect("sought");
    assert!(!found.reached);
    assert!(found.most_change_mm <= too_much.limits.most_change_mm + 1e-6);
    assert!(found.words[0].contains("not reached"));

    // Tighter limits are kept everywhere, and what they cost is told. The alto's entry is 12.3 mm, its half-angle 1.6°.
    let tight = serde_json::json!({ "least_diameter_mm": 12.25, "least_half_angle_deg": 1.4, "greatest_half_angle_deg": 1.8, "most_change_mm": 0.2 });
    let down = asked(wish(&[("A4", -3.0), ("C#5", 8.0)]), tight).expect("an aim");
    let found = aim(&neck, &horn, &down).expect("sought");
    assert!(found.profile.rows.iter().all(|row| row.diameter_mm >= 12.25 - 1e-6));
    assert!(
        found.least_half_angle_deg >= 1.4 - 1e-3 && found.greatest_half_angle_deg <= 1.8 + 1e-3
    );
    assert!(!found.reached && !found.held_by.is_empty(), "{found:?}");

    let paths = |found: Vec<neckwright::job::Violation>| {
        found.into_iter().map(|violation| violation.path).collect::<Vec<String>>()
    };
    let unknown = asked(
        wish(&[("H4", 1.0), ("A4", 1.0), ("A4", 40.0)]),
        serde_json::json!({ "least_diameter_mm": 20.0, "greatest_half_angle_deg": 0.4 }),
    );
    let refused = aim(&neck, &horn, &unknown.expect("it can be read")).expect_err("wrong");
    assert_eq!(
        paths(refused),
        [
            "wanted[0].written",
            "wanted[2].written",
            "limits.least_diameter_mm",
            "limits.greatest_half_angle_deg"
        ]
    );
    let rubbish = serde_json::json!({ "most_change_mm": "much", "least_diameter_mm": 30.0, "greatest_diameter_mm": 20.0, "no_such": 1 });
    let refused = paths(asked(wish(&[("A4", 400.0)]), rubbish).expect_err("wrong"));
    for path in [
        "wanted[0].cents",
        "limits.most_change_mm",
        "limits.greatest_diameter_mm",
        "limits.no_such",
    ] {
        assert!(refused.contains(&path.to_owned()), "{path} not in {refused:?}");
    }
    assert!(asked(serde_json::json!([]), plain()).is_err() && Aim::read("none").is_err());
    // What only the neck tells comes with it: the least diameter is beyond the alto's, and the note is none of the horn's.
    let mixed = serde_json::json!({ "wanted": [{ "written": "A4", "cents": 400.0 }, { "written": "H4", "cents": 1.0 }], "limits": { "least_diameter_mm": 20.0 } });
    let refused = paths(aim_of_text(&neck, &horn, &mixed.to_string()).expect_err("wrong"));
    assert_eq!(refused, ["wanted[0].cents", "wanted[1].written", "limits.least_diameter_mm"]);
}

/// Frustum: π h (r₁² + r₁r₂ + r₂²)/3. A bore that runs on as the horn's has no step.
#[test]
fn volume_and_step_are_those_of_the_frustum() {
    let slope = slope_a();
    let bore = Bore::Cone { entry_radius: 6.2, slope };
    let (r1, r2) = (6.2, 6.2 + 193.0 * slope);
    near(
        volume_mm3(&bore, 193.0),
        PI * 193.0 * (r1 * r1 + r1 * r2 + r2 * r2) / 3.0,
        1e-6,
        "volume",
    );
    let table = Profile::of("cone", &bore, 193.0, 10.0).bore();
    near(volume_mm3(&table, 193.0), volume_mm3(&bore, 193.0), 1e-6, "volume of the table");
    let step = tenon_step(&bore, 193.0, (2.0 * r2 + 0.3, libm::atan(slope)));
    near(step.step_mm, 0.3, 1e-12, "step");
    near(step.angle_change_deg, 0.0, 1e-12, "angle");
}

/// CSV goes out and comes back; every row that is wrong is told at once.
#[test]
fn a_profile_is_read_or_every_fault_of_it_told() {
    let bore = Bore::Cone { entry_radius: 6.15, slope: 0.028 };
    let profile = Profile::of("alto", &bore, 190.0, 10.0);
    let back = Profile::from_csv("alto", &profile.to_csv()).expect("our own CSV");
    assert_eq!(back.rows.len(), 20);
    for (one, other) in back.rows.iter().zip(&profile.rows) {
        near(one.diameter_mm, other.diameter_mm, 5.1e-4, "diameter");
    }
    assert!(back.violations(190.0).is_empty());
    let inches = Profile::from_csv("in", "station_in,diameter_in\n0,0.5\n1,0.6\n").expect("inches");
    near(inches.rows[1].diameter_mm, 15.24, 1e-12, "0.6 in");
    let commas = Profile::from_csv("de", "0;12,3\r\n10;12,9\r\n").expect("decimal commas");
    near(commas.rows[0].diameter_mm, 12.3, 1e-12, "comma");
    let wrong = Profile::from_csv("x", "a,b\n0,12.3\n10,none\n20\n30,13,1\n").expect_err("three");
    let paths: Vec<&str> = wrong.iter().map(|violation| violation.path.as_str()).collect();
    assert_eq!(paths, ["line 3", "line 4", "line 5"]);

    let rows = "0,12.3\n10,0\n9,13\n30,40\n120,20\n";
    let told = Profile::from_csv("x", rows).expect("numbers").violations(190.0);
    let paths: Vec<&str> = told.iter().map(|violation| violation.path.as_str()).collect();
    for path in [
        "rows[1].diameter_mm",
        "rows[2].station_mm",
        "rows[3].diameter_mm",
        "rows[4].station_mm",
        "the last row.station_mm",
    ] {
        assert!(paths.contains(&path), "{path} not in {paths:?}");
    }
}

/// Fairing takes a bump away and changes as little as it may; a fair bore stays as it is.
#[test]
fn fairing_takes_bumps_away() {
    let bore = Bore::Cone { entry_radius: 6.15, slope: 0.028 };
    let mut profile = Profile::of("alto", &bore, 190.0, 10.0);
    let fair = profile.faired(0.05).expect("fair");
    for (one, other) in fair.rows.iter().zip(&profile.rows) {
        near(one.diameter_mm, other.diameter_mm, 1e-9, "unchanged");
    }
    profile.rows[7].diameter_mm += 0.4;
    profile.rows[12].diameter_mm -= 0.9;
    assert!(profile.bumps(0.05).len() >= 4);
    let fair = profile.faired(0.05).expect("fair");
    assert!(fair.bumps(0.05 + 1e-6).is_empty(), "{:?}", fair.bumps(0.05));
    assert!(fair.rows.windows(2).all(|pair| pair[1].diameter_mm >= pair[0].diameter_mm - 1e-6));
    let away = |rows: &Profile| -> f64 {
        rows.rows
            .iter()
            .zip(&profile.rows)
            .map(|(a, b)| (a.diameter_mm - b.diameter_mm).powi_2())
            .sum()
    };
    // The cone it came from is fair too, so the nearest fair bore is no farther than that.
    assert!(away(&fair) < away(&Profile::of("alto", &bore, 190.0, 10.0)));
}

/// A horn file with everything wrong is answered with all of it; a measured body is compared on.
#[test]
fn a_horn_file_is_read_or_every_fault_of_it_told() {
    let text = include_str!("../examples/bores/horn_invented.json");
    let file = HornFile::read(text).expect("the example");
    let (_, _, horn, found) =
        compare_texts(("a", TIGHTER), ("b", MORE_OPEN), &file).expect("compares");
    assert!(!horn.stand_in);
    assert_eq!(found.notes.len(), file.notes.len());
    let wrong = text
        .replacen("\"humidity_percent\": 100.0", "\"humidity_percent\": 400.0", 1)
        .replacen("\"written\": \"D4\"", "\"written\": \"D9\"", 1)
        .replacen("\"station_mm\": 0.0", "\"station_mm\": 170.0", 1)
        .replacen("\"low_b\"]", "\"no_such\"]", 1);
    let told = HornFile::read(&wrong).expect_err("four things are wrong");
    let paths: Vec<&str> = told.iter().map(|violation| violation.path.as_str()).collect();
    assert!(paths.contains(&"air.humidity_percent"), "{paths:?}");
    assert!(paths.contains(&"body.bore[1].station_mm"), "{paths:?}");
    assert!(paths.iter().any(|path| path.ends_with(".written")), "{paths:?}");
    assert!(paths.iter().any(|path| path.contains(".open[")), "{paths:?}");
    assert!(HornFile::read("[]").is_err() && HornFile::read("").is_err());
    // A bore that begins 20 mm down would be a horn 20 mm shorter.
    let late = text.replacen("\"station_mm\": 0.0", "\"station_mm\": 20.0", 1);
    let told = HornFile::read(&late).expect_err("the first row is missing");
    assert!(told.iter().any(|violation| violation.path == "body.bore[0].station_mm"), "{told:?}");
}

/// A polynomial through a few frequencies against the tube itself at all of them: a neck on its horn, with a chamber and with
/// open holes too.
#[test]
fn a_sweep_is_the_tube_itself() {
    for text in ["", include_str!("../examples/bores/horn_invented.json")] {
        let file = if text.is_empty() {
            HornFile::stand_in("stand-in")
        } else {
            HornFile::read(text).expect("the example")
        };
        let neck = Contender::read("alto", ALTO).expect("the alto builds");
        let horn = file.ready(neck.job.horn_voice, &neck.bore).expect("notes");
        let frequencies: Vec<f64> = (40..2000).map(f64::from).collect();
        for fingering in &horn.fingerings {
            let fingered = on(&horn, &neck.bore, fingering, fingering.vent_open);
            let swept = fingered.spectrum(&frequencies);
            for (hz, got) in frequencies.iter().zip(swept).step_by(7) {
                let wanted = fingered.impedance(*hz);
                close(got / wanted, Complex::new(1.0, 0.0), 1e-6, &fingering.note.name);
            }
        }
    }
}
