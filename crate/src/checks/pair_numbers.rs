//! What was measured of a pair as a row of numbers, to go from one core to another that measure one neck together.

use glam::DVec3;

use super::clearance::{Clearance, State};
use super::pair::{ByHand, PairMeasured};
use super::swing::SwingLeast;

/// Numbers of a clearance, of the least of a swing, and of what hands leave.
const CLEARANCE: usize = 12;
const LEAST: usize = CLEARANCE + 3;
const BY_HAND: usize = 3 * 2;

impl PairMeasured {
    /// How many numbers tell it.
    pub const NUMBERS: usize = CLEARANCE + (1 + CLEARANCE + LEAST) + BY_HAND + (1 + LEAST + 1);

    /// All of it, bit for bit. What a pair does not have is told by zeros.
    #[must_use]
    pub fn to_numbers(&self) -> Vec<f64> {
        let mut out = Vec::with_capacity(Self::NUMBERS);
        put_clearance(&mut out, &self.rest);
        put_some(&mut out, self.swing.as_ref(), CLEARANCE + LEAST, |out, (open, least)| {
            put_clearance(out, open);
            put_least(out, least);
        });
        for worst in [self.by_hand.rest, self.by_hand.open, self.by_hand.swing] {
            put_some(&mut out, worst.as_ref(), 1, |out, worst| out.push(*worst));
        }
        put_some(&mut out, self.turned.as_ref(), LEAST + 1, |out, (least, horn)| {
            put_least(out, least);
            out.push(*horn);
        });
        out
    }

    /// What [`Self::to_numbers`] told; none of anything else.
    #[must_use]
    pub fn from_numbers(numbers: &[f64]) -> Option<Self> {
        let mut numbers = Numbers(numbers);
        let found = Self {
            rest: numbers.clearance()?,
            swing: numbers.some(CLEARANCE + LEAST, |its| Some((its.clearance()?, its.least()?)))?,
            by_hand: ByHand {
                rest: numbers.some(1, Numbers::next)?,
                open: numbers.some(1, Numbers::next)?,
                swing: numbers.some(1, Numbers::next)?,
            },
            turned: numbers.some(LEAST + 1, |its| Some((its.least()?, its.next()?)))?,
        };
        numbers.0.is_empty().then_some(found)
    }
}

fn put_some<T>(
    out: &mut Vec<f64>,
    value: Option<&T>,
    length: usize,
    put: impl FnOnce(&mut Vec<f64>, &T),
) {
    out.push(flag(value.is_some()));
    match value {
        Some(value) => put(out, value),
        None => out.resize(out.len() + length, 0.0),
    }
}

fn put_clearance(out: &mut Vec<f64>, found: &Clearance) {
    let state = match found.state {
        State::Clear => 0.0,
        State::Touching => 1.0,
        State::Overlapping => 2.0,
    };
    out.extend([state, found.gap, found.overlap, flag(found.at_least)]);
    out.extend(found.a_point.to_array());
    out.extend(found.b_point.to_array());
    out.extend([found.distance, found.bound]);
}

fn put_least(out: &mut Vec<f64>, found: &SwingLeast) {
    put_clearance(out, &found.least);
    out.extend([found.angle, found.bound, flag(found.settled)]);
}

fn flag(is: bool) -> f64 {
    f64::from(u8::from(is))
}

/// Numbers that are still to be read.
struct Numbers<'a>(&'a [f64]);

impl<'a> Numbers<'a> {
    fn next(&mut self) -> Option<f64> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    fn flag(&mut self) -> Option<bool> {
        match self.next()? {
            0.0 => Some(false),
            1.0 => Some(true),
            _ => None,
        }
    }

    /// What may not be there. The outer option is that of numbers that tell nothing.
    fn some<T>(
        &mut self,
        length: usize,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Option<Option<T>> {
        if self.flag()? {
            return read(self).map(Some);
        }
        self.0 = self.0.get(length..)?;
        Some(None)
    }

    fn point(&mut self) -> Option<DVec3> {
        Some(DVec3::new(self.next()?, self.next()?, self.next()?))
    }

    fn clearance(&mut self) -> Option<Clearance> {
        let state = match self.next()? {
            0.0 => State::Clear,
            1.0 => State::Touching,
            2.0 => State::Overlapping,
            _ => return None,
        };
        Some(Clearance {
            state,
            gap: self.next()?,
            overlap: self.next()?,
            at_least: self.flag()?,
            a_point: self.point()?,
            b_point: self.point()?,
            distance: self.next()?,
            bound: self.next()?,
        })
    }

    fn least(&mut self) -> Option<SwingLeast> {
        Some(SwingLeast {
            least: self.clearance()?,
            angle: self.next()?,
            bound: self.next()?,
            settled: self.flag()?,
        })
    }
}
