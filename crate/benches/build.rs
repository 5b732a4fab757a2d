//! The stages of one alto job: read and place, solids, triangles, clearances, files.
//!
//! Times depend on the machine; what to compare are their ratios within one run.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use neckwright::model::{Files, Model};
use neckwright::parts::build_from_text;
use neckwright::solids::build;
use neckwright::solids::mesh::mesh;
use neckwright::solids::properties::properties;

const ALTO: &str = include_str!("../../examples/jobs/alto.json");

fn stages(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("alto");
    group.sample_size(20);
    let read = build_from_text(ALTO).expect("the alto job builds");
    let parts = read.assembly.parts;
    let solids: Vec<_> =
        parts.iter().map(|part| build(&part.shape).expect("every part builds")).collect();
    let model = Model::build(ALTO, None).expect("the alto job builds");
    group.bench_function("read and place", |b| b.iter(|| build_from_text(black_box(ALTO))));
    group.bench_function("solids", |b| {
        b.iter(|| parts.iter().map(|part| build(&part.shape)).filter(Result::is_ok).count());
    });
    group.bench_function("triangles at 0.02 mm", |b| {
        b.iter(|| solids.iter().map(|solid| mesh(solid, 0.02)).filter(Result::is_ok).count());
    });
    group.bench_function("volumes", |b| {
        b.iter(|| solids.iter().map(|solid| properties(solid).volume).sum::<f64>());
    });
    group.bench_function("whole neck with clearance list", |b| {
        b.iter(|| Model::build(black_box(ALTO), None).map(|model| model.clearances()));
    });
    let moved = ALTO.replace("\"from_station_mm\": 72.0", "\"from_station_mm\": 73.0");
    assert_ne!(moved, ALTO, "the alto's brace starts at station 72");
    group.bench_function("brace moved, list again", |b| {
        b.iter(|| Model::build(black_box(&moved), Some(&model)).map(|model| model.clearances()));
    });
    group
        .bench_function("assembly as STEP", |b| b.iter(|| Files::new(&model, 0.0).assembly_step()));
    group.finish();
}

criterion_group!(benches, stages);
criterion_main!(benches);
