//! `W` members side by side: arithmetic by value, so that the compiler keeps lanes in vector registers.

use super::real::Real;
use std::ops::{Add, AddAssign, Div, Mul, Sub};

/// Values of `W` members, in double precision unless it is said otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(32))]
pub struct Lane<const W: usize, F = f64>(pub [F; W]);

impl<const W: usize, F: Real> Lane<W, F> {
    /// All members alike.
    #[inline(always)]
    pub fn all(value: F) -> Self {
        Self([value; W])
    }

    /// Of doubles, rounded to this precision.
    #[inline(always)]
    pub fn of(values: &[f64; W]) -> Self {
        let mut out = Self([F::ZERO; W]);
        for k in 0..W {
            out.0[k] = F::of(values[k]);
        }
        out
    }

    /// As doubles.
    #[inline(always)]
    pub fn to_f64(self) -> [f64; W] {
        let mut out = [0.0; W];
        for k in 0..W {
            out[k] = self.0[k].to_f64();
        }
        out
    }

    /// Member by member.
    #[inline(always)]
    pub fn map(self, f: impl Fn(F) -> F) -> Self {
        let mut out = self;
        for k in 0..W {
            out.0[k] = f(self.0[k]);
        }
        out
    }

    /// Two lanes, member by member.
    #[inline(always)]
    pub fn with(self, other: Self, f: impl Fn(F, F) -> F) -> Self {
        let mut out = self;
        for k in 0..W {
            out.0[k] = f(self.0[k], other.0[k]);
        }
        out
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        self.map(F::sqrt)
    }

    /// The smaller of each pair.
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        self.with(other, F::least)
    }

    /// The larger of each pair.
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        self.with(other, F::most)
    }

    /// Whether any member is below.
    #[inline(always)]
    pub fn any_below(self, limit: F) -> bool {
        let mut any = false;
        for k in 0..W {
            any |= self.0[k] < limit;
        }
        any
    }

    /// Whether any member is above.
    #[inline(always)]
    pub fn any_above(self, limit: F) -> bool {
        let mut any = false;
        for k in 0..W {
            any |= self.0[k] > limit;
        }
        any
    }
}

impl<const W: usize, F: Real> Add for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        self.with(other, |a, b| a + b)
    }
}

impl<const W: usize, F: Real> AddAssign for Lane<W, F> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const W: usize, F: Real> Sub for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        self.with(other, |a, b| a - b)
    }
}

impl<const W: usize, F: Real> Mul for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        self.with(other, |a, b| a * b)
    }
}

impl<const W: usize, F: Real> Div for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        self.with(other, |a, b| a / b)
    }
}

impl<const W: usize, F: Real> Mul<F> for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: F) -> Self {
        self.map(|a| a * other)
    }
}

impl<const W: usize, F: Real> Add<F> for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: F) -> Self {
        self.map(|a| a + other)
    }
}

impl<const W: usize, F: Real> Sub<F> for Lane<W, F> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: F) -> Self {
        self.map(|a| a - other)
    }
}
