//! The impedance of a neck on its horn: 2,000 frequencies, 500 slices.

use std::f64::consts::TAU;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use neckwright::acoustics::air::Air;
use neckwright::acoustics::comparison::{Looked, compare, compare_texts, follow};
use neckwright::acoustics::duct::Duct;
use neckwright::acoustics::horn::HornFile;
use neckwright::acoustics::losses::{Medium, Walls};
use neckwright::acoustics::radiation::open_end;
use neckwright::acoustics::segment::State;
use neckwright::acoustics::sweep::Sweep;

const TIGHTER: &str = include_str!("../../examples/bores/alto_tighter.json");
const MORE_OPEN: &str = include_str!("../../examples/bores/alto_more_open.json");

fn impedance(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("impedance");
    group.sample_size(20);
    let medium = Medium::new(Air::dry(26.85), Walls::Smooth);
    let duct = Duct::cone(1000.0, 6.2, 34.1, 500);
    group.bench_function("2000 frequencies, 500 slices", |b| {
        b.iter(|| {
            (1..=2000)
                .map(|hz| {
                    let omega = TAU * f64::from(hz);
                    let end = open_end(&medium.air, 0.0341, omega);
                    black_box(&duct).carry(&medium, omega, State::load(end)).impedance().re
                })
                .sum::<f64>()
        });
    });
    group.bench_function("the same, by a polynomial", |b| {
        b.iter(|| {
            let tube = |omega: f64| {
                let end = open_end(&medium.air, 0.0341, omega);
                black_box(&duct).carry(&medium, omega, State::load(end))
            };
            let range = (TAU * 40.0, TAU * 2000.0);
            let sweep = Sweep::new(&medium, 1.0, range, &tube).expect("it serves");
            (40..2000).map(|hz| sweep.state(TAU * f64::from(hz)).impedance().re).sum::<f64>()
        });
    });
    let file = HornFile::stand_in("stand-in");
    let (a, b, horn, _) =
        compare_texts(("a", TIGHTER), ("b", MORE_OPEN), &file).expect("it can be compared");
    group.bench_function("13 notes on two necks", |bench| {
        bench.iter(|| compare(black_box(&a), &b, &horn).map(|found| found.notes.len()));
    });
    let looked = Looked::at(&a, &horn);
    group.bench_function("the second followed by hand", |bench| {
        bench.iter(|| follow(&looked, black_box(&b)).map(|found| found.notes.len()));
    });
    group.finish();
}

criterion_group!(benches, impedance);
criterion_main!(benches);
