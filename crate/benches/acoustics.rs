//! The impedance of a neck on its horn: 2,000 frequencies, 500 slices.

use std::f64::consts::TAU;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use neckwright::acoustics::air::Air;
use neckwright::acoustics::duct::Duct;
use neckwright::acoustics::losses::{Medium, Walls};
use neckwright::acoustics::radiation::{Rim, open_end};
use neckwright::acoustics::segment::State;

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
                    let end = open_end(&medium.air, Rim::Thin, 0.0341, omega);
                    black_box(&duct).carry(&medium, omega, State::load(end)).impedance().re
                })
                .sum::<f64>()
        });
    });
    group.finish();
}

criterion_group!(benches, impedance);
criterion_main!(benches);
