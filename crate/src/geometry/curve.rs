//! Edge curves: line, circle, B-spline. Every curve runs over the parameter range [0, 1]
//! from the edge's first vertex to its second.

use std::sync::Arc;

use glam::DVec3;

use super::bspline::SplineCurve;
use super::frame::Frame;
use super::motion::Motion;

/// The curve under an edge. Millimetres.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// Straight from one point to the other.
    Line { from: DVec3, to: DVec3 },
    /// Arc in the frame's x-y plane from angle `start`, turning by `sweep` radians
    /// (0 < sweep <= pi) from x towards y.
    Circle { frame: Frame, radius: f64, start: f64, sweep: f64 },
    /// Free curve; its own knots may span another range than [0, 1].
    Spline(Arc<SplineCurve>),
}

impl Curve {
    /// Point at `t` in [0, 1].
    pub fn point(&self, t: f64) -> DVec3 {
        self.point_slope(t).0
    }

    /// Point and derivative with respect to `t` in [0, 1].
    pub fn point_slope(&self, t: f64) -> (DVec3, DVec3) {
        match self {
            Self::Line { from, to } => (from.lerp(*to, t), *to - *from),
            Self::Circle { frame, radius, start, sweep } => {
                let (sin, cos) = libm::sincos(start + sweep * t);
                (
                    frame.origin + (frame.x * cos + frame.y * sin) * *radius,
                    (frame.y * cos - frame.x * sin) * (*radius * *sweep),
                )
            }
            Self::Spline(spline) => {
                let (low, high) = spline.knots.range();
                let (point, slope) = spline.point_slope(low + (high - low) * t);
                (point, slope * (high - low))
            }
        }
    }

    /// The curve after a rigid motion.
    pub fn moved(&self, motion: &Motion) -> Self {
        match self {
            Self::Line { from, to } => {
                Self::Line { from: motion.point(*from), to: motion.point(*to) }
            }
            Self::Circle { frame, radius, start, sweep } => Self::Circle {
                frame: motion.frame(frame),
                radius: *radius,
                start: *start,
                sweep: *sweep,
            },
            Self::Spline(spline) => Self::Spline(Arc::new(SplineCurve {
                knots: spline.knots.clone(),
                control: spline.control.iter().map(|&c| motion.control(c)).collect(),
            })),
        }
    }

    /// Parameters in rising order from 0 to 1 such that the chords between them stay within
    /// `chord` millimetres of the curve. The estimate is exact for circles and uses the
    /// second difference (h²|C''|/8) for splines.
    pub fn chord_parameters(&self, chord: f64) -> Vec<f64> {
        match self {
            Self::Line { .. } => vec![0.0, 1.0],
            Self::Circle { radius, sweep, .. } => {
                let count = arc_steps(*radius, *sweep, chord);
                (0..=count).map(|i| i as f64 / count as f64).collect()
            }
            Self::Spline(spline) => {
                let breaks = spline.knots.breaks();
                let (low, high) = spline.knots.range();
                let mut out = vec![0.0];
                for pair in breaks.windows(2) {
                    let (a, b) = (pair[0], pair[1]);
                    // Largest second difference over quarters of the span.
                    let samples: [DVec3; 5] =
                        std::array::from_fn(|i| spline.point(a + (b - a) * i as f64 / 4.0));
                    let bend = (0..3)
                        .map(|i| (samples[i] - samples[i + 1] * 2.0 + samples[i + 2]).length())
                        .fold(0.0, f64::max);
                    // |C''| h^2 over the whole span is 16 times the quarter's second difference.
                    let count = (16.0 * bend / (8.0 * chord)).sqrt().ceil().clamp(1.0, 4096.0);
                    for i in 1..=count as usize {
                        let t = a + (b - a) * i as f64 / count;
                        out.push(((t - low) / (high - low)).clamp(0.0, 1.0));
                    }
                }
                if let Some(last) = out.last_mut() {
                    *last = 1.0;
                }
                out
            }
        }
    }
}

/// Number of chords that keep an arc within `chord` of its true circle.
pub fn arc_steps(radius: f64, sweep: f64, chord: f64) -> usize {
    let ratio = (1.0 - chord / radius.max(1e-9)).clamp(-1.0, 1.0);
    let step = (2.0 * libm::acos(ratio)).clamp(1e-3, std::f64::consts::FRAC_PI_4);
    ((sweep.abs() / step).ceil() as usize).max(1)
}
