//! A tube over a whole range of frequencies, from its state at a few of them.
//!
//! Pressure and flow at the inlet are smooth functions of frequency: waves run once along a tube of length L, so between ω₁
//! and ω₂ they turn by (ω₂ − ω₁)L/c, and a polynomial follows them with little more than half as many terms as there are
//! radians, plus some tens; only their ratio, the impedance, has poles. The wall makes them functions of √ω, so that is the
//! variable. Interpolation is at Chebyshev's points in the second form of the barycentric formula (J.-P. Berrut & L. N.
//! Trefethen, SIAM Review 46 (2004) 501-517), and whether it is good enough is not believed but measured, against the tube
//! itself between the points.

use num_complex::Complex64 as Complex;

use super::losses::Medium;
use super::segment::State;

/// How near the impedance must come to that of the tube itself where it is measured, of its own size.
const NEAR: f64 = 1e-8;
/// Points beyond one a radian.
const SPARE: usize = 24;
/// Places between points at which it is measured, as shares of the range: ends, where poles of holes lie near, and middle.
const MEASURED: [f64; 7] = [0.003, 0.041, 0.17, 0.389, 0.613, 0.871, 0.992];
/// More points than this are no gain over asking the tube.
const MOST: usize = 400;

/// States at Chebyshev's points of a range.
#[derive(Clone, Debug)]
pub struct Sweep {
    /// √ω at the points, and the weight of each.
    points: Vec<(f64, f64)>,
    states: Vec<State>,
}

impl Sweep {
    /// Looks at a tube of about this length (m) between two angular frequencies; none where holes or length make it too
    /// lively for a polynomial, and then the tube itself must be asked.
    #[must_use]
    pub fn new(
        medium: &Medium,
        length: f64,
        (from, to): (f64, f64),
        tube: &impl Fn(f64) -> State,
    ) -> Option<Self> {
        let (low, high) = (from.max(1.0).sqrt(), to.max(from.max(1.0) + 1.0).sqrt());
        let radians = medium.air.wave_number(to) * length * (1.0 - low / high);
        let mut count = radians.clamp(0.0, 1e6) as usize + SPARE;
        while count <= MOST {
            let sweep = Self::through(count, low, high, tube);
            let good = MEASURED.iter().all(|share| {
                let root = low + (high - low) * share;
                let (ours, true_one) =
                    (sweep.state(root * root).impedance(), tube(root * root).impedance());
                (ours - true_one).norm_sqr() <= NEAR * NEAR * true_one.norm_sqr()
            });
            if good {
                return Some(sweep);
            }
            count = count * 3 / 2;
        }
        None
    }

    fn through(count: usize, low: f64, high: f64, tube: &impl Fn(f64) -> State) -> Self {
        let points: Vec<(f64, f64)> = (0..=count)
            .map(|k| {
                let turn = std::f64::consts::PI * k as f64 / count as f64;
                let place = (low + high) / 2.0 - (high - low) / 2.0 * libm::cos(turn);
                let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
                (place, if k == 0 || k == count { sign / 2.0 } else { sign })
            })
            .collect();
        let states = points.iter().map(|(root, _)| tube(root * root)).collect();
        Self { points, states }
    }

    /// Whether a frequency lies in the range.
    #[must_use]
    pub fn holds(&self, omega: f64) -> bool {
        let root = omega.sqrt();
        let ends = self.points.first().zip(self.points.last());
        ends.is_some_and(|(first, last)| (first.0..=last.0).contains(&root))
    }

    /// The state at an angular frequency of the range, but for a common factor.
    #[must_use]
    pub fn state(&self, omega: f64) -> State {
        let root = omega.sqrt();
        let (mut pressure, mut flow) = (Complex::default(), Complex::default());
        for ((point, weight), state) in self.points.iter().zip(&self.states) {
            let off = root - point;
            if off == 0.0 {
                return *state;
            }
            let share = weight / off;
            pressure += state.pressure * share;
            flow += state.flow * share;
        }
        State { pressure, flow }
    }
}
