//! `W` members side by side: arithmetic by value, so that the compiler keeps lanes in vector registers.

use std::ops::{Add, AddAssign, Div, Mul, Sub};

/// Values of `W` members.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(32))]
pub struct Lane<const W: usize>(pub [f64; W]);

impl<const W: usize> Lane<W> {
    /// All members alike.
    #[inline(always)]
    pub fn all(value: f64) -> Self {
        Self([value; W])
    }

    /// Member by member.
    #[inline(always)]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        let mut out = self;
        for k in 0..W {
            out.0[k] = f(self.0[k]);
        }
        out
    }

    /// Two lanes, member by member.
    #[inline(always)]
    pub fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let mut out = self;
        for k in 0..W {
            out.0[k] = f(self.0[k], other.0[k]);
        }
        out
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    /// The smaller of each pair.
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        self.with(other, |a, b| if a < b { a } else { b })
    }

    /// The larger of each pair.
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        self.with(other, |a, b| if a > b { a } else { b })
    }

    /// Whether any member is below.
    #[inline(always)]
    pub fn any_below(self, limit: f64) -> bool {
        let mut any = false;
        for k in 0..W {
            any |= self.0[k] < limit;
        }
        any
    }

    /// Whether any member is above.
    #[inline(always)]
    pub fn any_above(self, limit: f64) -> bool {
        let mut any = false;
        for k in 0..W {
            any |= self.0[k] > limit;
        }
        any
    }
}

impl<const W: usize> Add for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        self.with(other, |a, b| a + b)
    }
}

impl<const W: usize> AddAssign for Lane<W> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const W: usize> Sub for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        self.with(other, |a, b| a - b)
    }
}

impl<const W: usize> Mul for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        self.with(other, |a, b| a * b)
    }
}

impl<const W: usize> Div for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        self.with(other, |a, b| a / b)
    }
}

impl<const W: usize> Mul<f64> for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: f64) -> Self {
        self.map(|a| a * other)
    }
}

impl<const W: usize> Add<f64> for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: f64) -> Self {
        self.map(|a| a + other)
    }
}

impl<const W: usize> Sub<f64> for Lane<W> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: f64) -> Self {
        self.map(|a| a - other)
    }
}
