//! How a peak moves when the bore changes a little: exact first derivatives, from the waves of the unchanged tube.
//!
//! With p' = −Zu and u' = −Yp along the tube, a change δZ(x), δY(x) changes the admittance at the inlet by
//! (1/p₁²) ∫ (δY p² − δZ u²) dx: the two states have a constant Wronskian but for the change, losses or none. It is Lord
//! Rayleigh's principle with losses left in. The peak is where |Y|² is least, so it moves by −∂θ(|Y|²)'/(|Y|²)'', the
//! derivatives by frequency.

use std::f64::consts::{LN_2, TAU};

use num_complex::Complex64 as Complex;

use super::disturbance::Lump;
use super::duct::Piece;
use super::neck_on_horn::Fingered;
use super::segment::{Segment, State, Wave};

/// Step in frequency of the second derivatives, of the frequency: near a peak |Y|² is a parabola, so it may be wide.
const STEP: f64 = 1e-4;

/// How a peak moves with the diameter at each knot, cents per millimetre.
///
/// `knots_mm` are stations of the neck in order; the diameter changes at one of them and falls off straight to nothing at its
/// neighbours (before the first and behind the last it stays the same). `peak_hz` is the peak's own frequency.
#[must_use]
pub fn cents_per_mm(fingered: &Fingered, knots_mm: &[f64], peak_hz: f64) -> Vec<f64> {
    let step = STEP * peak_hz;
    let at = [-step, 0.0, step].map(|off| admittance_slopes(fingered, knots_mm, peak_hz + off));
    let [below, middle, above] = &at;
    let size = |seen: &Slopes| seen.admittance.norm_sqr();
    let bend = (size(below) - 2.0 * size(middle) + size(above)) / (step * step);
    let by = |seen: &Slopes, k: usize| {
        let slope = seen.by_knot.get(k).copied().unwrap_or_default();
        2.0 * (seen.admittance.conj() * slope).re
    };
    (0..knots_mm.len())
        .map(|k| {
            let shift_hz = -(by(above, k) - by(below, k)) / (2.0 * step) / bend;
            1200.0 / LN_2 * shift_hz / peak_hz
        })
        .collect()
}

/// Admittance the reed sees, and its change a millimetre of diameter at each knot.
struct Slopes {
    admittance: Complex,
    by_knot: Vec<Complex>,
}

fn admittance_slopes(fingered: &Fingered, knots: &[f64], hz: f64) -> Slopes {
    let omega = TAU * hz;
    let medium = fingered.medium;
    let wave = Wave::of(medium, omega);
    let duct = fingered.neck.duct(fingered.vent_open);
    let mut state = fingered.below(omega);
    let mut behind = duct.length() * 1e3;
    let mut by_knot = vec![Complex::default(); knots.len()];
    let mut add = |station: f64, weight: Complex| {
        let place = knots.partition_point(|knot| *knot <= station);
        match (place.checked_sub(1).and_then(|k| knots.get(k)), knots.get(place)) {
            (Some(&left), Some(&right)) => {
                let share = (station - left) / (right - left);
                if let [a, b] = &mut by_knot[place - 1..=place] {
                    *a += weight * (1.0 - share);
                    *b += weight * share;
                }
            }
            (Some(_), None) => by_knot[place - 1] += weight,
            (None, Some(_)) => by_knot[0] += weight,
            (None, None) => {}
        }
    };
    // What the bore's end does to the step there comes first: its flow is that behind it, its pressure that before.
    add(behind, lump_by_radius(fingered, &wave, &fingered.junction(), &state) * 0.5e-3);
    for piece in duct.pieces.iter().rev() {
        match piece {
            Piece::Segment(whole) => {
                let middle = (whole.inlet + whole.outlet) / 2.0;
                let half = |inlet: f64, outlet: f64| Segment {
                    length: whole.length / 2.0,
                    inlet,
                    outlet,
                    ..*whole
                };
                // Simpson's rule over the slice: both ends and its middle.
                let mid = half(middle, whole.outlet).matrix_with(&wave, medium).apply(&state);
                let before = half(whole.inlet, middle).matrix_with(&wave, medium).apply(&mid);
                let length_mm = whole.length * 1e3;
                let places = [
                    (behind, whole.outlet, &state, 1.0),
                    (behind - length_mm / 2.0, middle, &mid, 4.0),
                    (behind - length_mm, whole.inlet, &before, 1.0),
                ];
                for (station, radius, here, share) in places {
                    let weight = density_by_radius(fingered, &wave, whole, radius, here);
                    // Half a millimetre of radius for one of diameter.
                    add(station, weight * (share / 6.0 * whole.length * 0.5e-3));
                }
                state = before;
                behind -= length_mm;
            }
            Piece::Hole(hole) => state = hole.before(medium, &wave, &state),
            Piece::Lump(lump) => {
                state = lump.before(medium, &wave, &state);
                add(behind, lump_by_radius(fingered, &wave, lump, &state) * 0.5e-3);
            }
        }
    }
    let inside = fingered.inside(omega, &state);
    add(0.0, lump_by_radius(fingered, &wave, &fingered.mouth(), &inside) * 0.5e-3);
    // Through the mouthpiece, whose determinant is one, the change goes as the square of the pressures.
    let reed = fingered.mouthpiece.matrix(medium, omega).apply(&inside);
    let square = reed.pressure * reed.pressure;
    for slope in &mut by_knot {
        *slope /= square;
    }
    Slopes { admittance: reed.admittance(), by_knot }
}

/// ∂Y/∂r p² − ∂Z/∂r u² a metre of radius of what is in line and beside at one place, the state before it. Lumps are so small
/// that it is much the same behind them.
fn lump_by_radius(fingered: &Fingered, wave: &Wave, lump: &Lump, here: &State) -> Complex {
    let air = &fingered.medium.air;
    let beside = wave.omega * lump.room_by_radius / (air.density * air.speed * air.speed);
    let line = wave.inertia * lump.line_by_radius;
    Complex::new(0.0, beside) * here.pressure * here.pressure
        - Complex::new(0.0, line) * here.flow * here.flow
}

/// ∂Y/∂r p² − ∂Z/∂r u² a metre of tube and of radius, at a place of a slice.
fn density_by_radius(
    fingered: &Fingered,
    wave: &Wave,
    slice: &Segment,
    radius: f64,
    here: &State,
) -> Complex {
    let medium = fingered.medium;
    let area = std::f64::consts::PI * radius * radius;
    let thinness = wave.layer / radius;
    let (factors, slopes) = (medium.factors(thinness), medium.factor_slopes(thinness));
    // q = (1 + √(1 − κ²))/2 with κ in proportion to the radius: d ln q / d ln r = −κ²/(2q√(1 − κ²)), and √ = 2q − 1.
    let root = 2.0 * slice.bend - 1.0;
    let bend = if root > 0.0 { -(1.0 - root * root) / (2.0 * slice.bend * root) } else { 0.0 };
    let series = (slopes.inertia + factors.inertia * (bend - 2.0)) * slice.bend;
    let series = Complex::new(0.0, wave.inertia / area / radius) * series;
    let shunt = slopes.compliance + factors.compliance * 2.0;
    let shunt = Complex::new(0.0, wave.compliance * area / radius) * shunt;
    shunt * here.pressure * here.pressure - series * here.flow * here.flow
}
