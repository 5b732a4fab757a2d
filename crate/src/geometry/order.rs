//! The lesser and the greater of two numbers, by one comparison.
//!
//! `f64::min` and `f64::max` also look for what is not a number, which in wasm is a call of a
//! library's function; bounds and distances are numbers and take many of them.

pub trait Order {
    /// The lesser of two; the first if the second is not a number.
    fn lesser(self, other: Self) -> Self;

    /// The greater of two; the first if the second is not a number.
    fn greater(self, other: Self) -> Self;
}

impl Order for f64 {
    #[inline]
    fn lesser(self, other: Self) -> Self {
        if other < self { other } else { self }
    }

    #[inline]
    fn greater(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
}
