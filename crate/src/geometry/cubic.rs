//! Cubics through two places with given slopes: the pieces of every smooth chain.

use std::ops::{Add, Div, Mul, Sub};

/// A cubic of numbers or of points, by the share of the way from its start (0) to its end (1).
///
/// Hermite's interpolation in Newton form. Shares keep its figures of one size whatever the length; derivatives are
/// by length all the same.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cubic<V> {
    start: V,
    slope: V,
    second: V,
    third: V,
    length: f64,
}

impl<V> Cubic<V>
where
    V: Copy + Add<Output = V> + Sub<Output = V> + Mul<f64, Output = V> + Div<f64, Output = V>,
{
    /// The cubic from `start` to `end` over `length`, with these derivatives by length at both ends.
    pub fn between(start: V, start_slope: V, end: V, end_slope: V, length: f64) -> Self {
        let chord = (end - start) / length;
        Self {
            start,
            slope: start_slope,
            second: chord * 3.0 - start_slope * 2.0 - end_slope,
            third: start_slope + end_slope - chord * 2.0,
            length,
        }
    }

    /// Value at a share of the way.
    pub fn value(&self, share: f64) -> V {
        let steps = self.slope + (self.second + self.third * share) * share;
        self.start + steps * (share * self.length)
    }

    /// First derivative by length.
    pub fn slope(&self, share: f64) -> V {
        self.slope + (self.second * 2.0 + self.third * (3.0 * share)) * share
    }

    /// Second derivative by length; its size is greatest at an end.
    pub fn bend(&self, share: f64) -> V {
        (self.second * 2.0 + self.third * 6.0 * share) / self.length
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: x³ - 2 x² + 5 and its derivatives, by hand.
    #[test]
    fn a_cubic_polynomial_is_its_own_cubic() {
        let value = |x: f64| x * x * x - 2.0 * x * x + 5.0;
        let slope = |x: f64| 3.0 * x * x - 4.0 * x;
        let (from, length) = (0.7, 2.5);
        let cubic = Cubic::between(
            value(from),
            slope(from),
            value(from + length),
            slope(from + length),
            length,
        );
        for share in [0.0, 0.2, 0.55, 1.0] {
            let x = from + length * share;
            assert!((cubic.value(share) - value(x)).abs() < 1e-12);
            assert!((cubic.slope(share) - slope(x)).abs() < 1e-12);
            assert!((cubic.bend(share) - (6.0 * x - 4.0)).abs() < 1e-12);
        }
    }
}
