//! Peaks of an impedance: frequency, height, sharpness.

use std::f64::consts::TAU;

use num_complex::Complex64 as Complex;
use serde::Serialize;

/// A resonance as it shows in the impedance at the inlet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Peak {
    /// Where the impedance is greatest.
    pub frequency_hz: f64,
    /// How great it is there, MPa·s/m³.
    pub height_mpa_s_m3: f64,
    /// Frequency over the width at which the square of the impedance is half; 0 where a side of the peak does not fall so far.
    pub q: f64,
}

/// Interval from one frequency to another in cents.
#[must_use]
pub fn cents(from: f64, to: f64) -> f64 {
    1200.0 * libm::log2(to / from)
}

/// A wide look for peaks: between neighbours of this ratio no two maxima of a woodwind lie.
const STEP_HZ: f64 = 4.0;
/// How nearly a peak is found, in its frequency; a thousandth of this is 0.00002 cents.
const NEAR: f64 = 1e-9;

/// The first so many peaks between two frequencies, of an impedance given as its inverse by angular frequency.
pub fn peaks(
    admittance: &impl Fn(f64) -> Complex,
    from_hz: f64,
    to_hz: f64,
    most: usize,
) -> Vec<Peak> {
    let mut found = Vec::new();
    let size = |hz: f64| admittance(TAU * hz).norm_sqr();
    let (mut before, mut here) = (size(from_hz), size(from_hz + STEP_HZ));
    let mut at = from_hz + STEP_HZ;
    while at + STEP_HZ <= to_hz && found.len() < most {
        let after = size(at + STEP_HZ);
        if here < before && here <= after {
            found.push(sharpen(&size, at, STEP_HZ));
        }
        (before, here) = (here, after);
        at += STEP_HZ;
    }
    found
}

/// The peak nearest to a guess, within `reach_hz` of it; none if the impedance has no maximum there.
pub fn peak_near(
    admittance: &impl Fn(f64) -> Complex,
    guess_hz: f64,
    reach_hz: f64,
) -> Option<Peak> {
    let size = |hz: f64| admittance(TAU * hz).norm_sqr();
    let steps = (reach_hz / STEP_HZ).ceil().max(1.0) as i32;
    let at = |k: i32| (guess_hz + f64::from(k) * STEP_HZ).max(1.0);
    let sizes: Vec<(i32, f64)> = (-steps - 1..=steps + 1).map(|k| (k, size(at(k)))).collect();
    let least = sizes
        .windows(3)
        .filter(|three| three[1].1 <= three[0].1 && three[1].1 <= three[2].1)
        .map(|three| three[1].0)
        .min_by_key(|k| k.abs())?;
    Some(sharpen(&size, at(least), STEP_HZ))
}

/// Narrows a minimum of |Y|² down: near a resonance it is a parabola of frequency, so three points tell its bottom.
fn sharpen(size: &impl Fn(f64) -> f64, near: f64, step: f64) -> Peak {
    let (mut middle, mut half) = (near, step);
    let mut bottom = size(middle);
    for _ in 0..40 {
        let (left, right) = (size(middle - half), size(middle + half));
        let bend = left - 2.0 * bottom + right;
        let step = if bend > 0.0 { (left - right) / bend / 2.0 * half } else { 0.0 };
        let step = step.clamp(-half, half);
        let next = size(middle + step);
        if next <= bottom {
            (middle, bottom) = (middle + step, next);
        }
        // Differences of sizes drown in rounding when the three points are too near each other.
        let floor = middle * 3e-6;
        if step.abs() < NEAR * middle && half <= floor {
            break;
        }
        half = (half / 4.0).max(2.0 * step.abs()).min(half * 0.7).max(floor);
    }
    let widths = [-1.0, 1.0].map(|side| half_width(size, middle, 2.0 * bottom, side));
    Peak {
        frequency_hz: middle,
        height_mpa_s_m3: 1e-6 / bottom.sqrt(),
        q: match widths {
            [Some(left), Some(right)] => middle / (left + right),
            _ => 0.0,
        },
    }
}

/// How far to one side the size has grown to `level`.
fn half_width(size: &impl Fn(f64) -> f64, middle: f64, level: f64, side: f64) -> Option<f64> {
    let mut inside = 0.0;
    let mut outside = middle * 2e-3;
    while size(middle + side * outside) < level {
        inside = outside;
        outside *= 1.5;
        if outside > middle * 0.4 {
            return None;
        }
    }
    for _ in 0..40 {
        let half = (inside + outside) / 2.0;
        if size(middle + side * half) < level {
            inside = half;
        } else {
            outside = half;
        }
        if outside - inside < 1e-6 * outside {
            break;
        }
    }
    Some((inside + outside) / 2.0)
}
