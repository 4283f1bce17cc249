//! The two precisions that the heat balance runs in, behind one trait, so that one source serves both.
//!
//! Double precision is the reference: one member, recorded runs, the tests of energy, the grid of nucleation. Many members run in single
//! precision, of which twice as many go into a vector; its rounding is far below what the step itself leaves open.
//!
//! Numbers without a tag of their own: exact: the bits of IEEE 754 numbers and the series of the logarithm.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A floating-point number of one precision.
pub trait Real:
    Copy
    + Debug
    + PartialEq
    + PartialOrd
    + Send
    + Sync
    + 'static
    + Add<Output = Self>
    + AddAssign
    + Div<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
    + Sub<Output = Self>
{
    /// 0.
    const ZERO: Self;
    /// 1.
    const ONE: Self;
    /// Later than ever, warmer than anything.
    const INFINITY: Self;
    /// A warming by less is rounding, K: a few units in the last place of ten degrees.
    const ROUNDING_K: Self;

    /// The nearest number of this precision.
    fn of(value: f64) -> Self;
    /// The same in double precision.
    fn to_f64(self) -> f64;
    /// Square root.
    fn sqrt(self) -> Self;
    /// e to the power.
    fn exp(self) -> Self;
    /// Magnitude.
    fn abs(self) -> Self;
    /// −ln(1 − f), f held to 0.999999, without a library call, so that lanes go side by side: the exponent by its bits, the rest by
    /// the series of the inverse hyperbolic tangent, to 1e-8 in double and to rounding in single precision.
    fn minus_ln_1m(self) -> Self;
    /// |x|^(1/6), x at least a millionth: the cube root of the square root by one round of Halley's rule from a guess out of the
    /// exponent, so that lanes go side by side. The round takes the guess's 5 % to 1e-4.
    fn sixth_root(self) -> Self;

    /// The smaller.
    #[inline(always)]
    fn least(self, other: Self) -> Self {
        if self < other { self } else { other }
    }

    /// The larger.
    #[inline(always)]
    fn most(self, other: Self) -> Self {
        if self > other { self } else { other }
    }
}

/// Ice fraction to which the logarithm is held.
const NEARLY_ALL: f64 = 0.999_999;
/// Differences under a millikelvin are as good as none; it also keeps the guess of the sixth root off zero.
const HARDLY_ANY: f64 = 1e-6;

impl Real for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    const INFINITY: Self = Self::INFINITY;
    const ROUNDING_K: Self = 1e-9;

    #[inline(always)]
    fn of(value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn to_f64(self) -> f64 {
        self
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        self.sqrt()
    }

    #[inline(always)]
    fn exp(self) -> Self {
        self.exp()
    }

    #[inline(always)]
    fn abs(self) -> Self {
        self.abs()
    }

    #[inline(always)]
    fn minus_ln_1m(self) -> Self {
        const EXPONENT_BIAS: u64 = 0x3ff0_0000_0000_0000;
        // 2^52: an integer in the low bits of this is that many units.
        const UNITS: u64 = 0x4330_0000_0000_0000;
        let x = 1.0 - self.least(NEARLY_ALL);
        // x = m·2^−e with m from √½ to √2.
        let bits = x.to_bits();
        let shifted = bits.wrapping_add(EXPONENT_BIAS - 0x3fe6_a09e_667f_3bcd);
        let e = Self::from_bits(UNITS | (shifted >> 52)) - (4_503_599_627_370_496.0 + 1023.0);
        let m = Self::from_bits(bits.wrapping_sub((shifted & 0xfff0_0000_0000_0000).wrapping_sub(EXPONENT_BIAS)));
        let y = (m - 1.0) / (m + 1.0);
        let z = y * y;
        let series = 1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0 + z * (1.0 / 11.0))));
        -(e * std::f64::consts::LN_2 + 2.0 * y * (1.0 + z * series))
    }

    #[inline(always)]
    fn sixth_root(self) -> Self {
        let root = self.abs().max(HARDLY_ANY).sqrt();
        // A third of the exponent and mantissa together, in the upper half of the word.
        let upper = ((root.to_bits() >> 32) * 0x5555_5556) >> 32;
        let mut y = Self::from_bits((upper + 715_094_163) << 32);
        let cube = y * y * y;
        y *= (cube + 2.0 * root) / (2.0 * cube + root);
        y
    }
}

impl Real for f32 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    const INFINITY: Self = Self::INFINITY;
    const ROUNDING_K: Self = 4e-6;

    #[inline(always)]
    fn of(value: f64) -> Self {
        value as Self
    }

    #[inline(always)]
    fn to_f64(self) -> f64 {
        f64::from(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        self.sqrt()
    }

    #[inline(always)]
    fn exp(self) -> Self {
        self.exp()
    }

    #[inline(always)]
    fn abs(self) -> Self {
        self.abs()
    }

    #[inline(always)]
    fn minus_ln_1m(self) -> Self {
        const ONE_BITS: u32 = 0x3f80_0000;
        const ROOT_HALF_BITS: u32 = 0x3f35_04f3;
        let x = 1.0 - self.least(NEARLY_ALL as Self);
        // x = m·2^e with m from √½ to √2.
        let bits = x.to_bits();
        let shifted = bits.wrapping_add(ONE_BITS - ROOT_HALF_BITS);
        let e = ((shifted >> 23) as i32 - 127) as Self;
        let m = Self::from_bits(bits.wrapping_sub((shifted & 0xff80_0000).wrapping_sub(ONE_BITS)));
        let y = (m - 1.0) / (m + 1.0);
        let z = y * y;
        let series = 1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0));
        -(e * std::f32::consts::LN_2 + 2.0 * y * (1.0 + z * series))
    }

    #[inline(always)]
    fn sixth_root(self) -> Self {
        let root = self.abs().most(HARDLY_ANY as Self).sqrt();
        // A third of exponent and mantissa together, by shifts: 1/4 + 1/16 + 1/64 + …
        let bits = root.to_bits();
        let third = (bits >> 2) + (bits >> 4);
        let third = third + (third >> 4);
        let third = third + (third >> 8);
        let third = third + (third >> 16);
        let mut y = Self::from_bits(third + 709_958_130);
        let cube = y * y * y;
        y *= (cube + 2.0 * root) / (2.0 * cube + root);
        y
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    #[test]
    fn the_logarithm_is_the_library_s() {
        // X-Val: f64::ln_1p of the platform's library. 1e-8: the series ends at the eleventh power of at most 0.172; in single precision it is
        // asked of the number as it is rounded there.
        for i in 1..=99_999 {
            let f = f64::from(i) * 1e-5;
            assert_relative_eq!(f.minus_ln_1m(), -(-f).ln_1p(), max_relative = 1e-8, epsilon = 1e-15);
            let single = f as f32;
            let told = -(-f64::from(single)).ln_1p();
            // Below a half 1 − f is rounded, by 2^-25 at most; the steps after it round as well, and the two add.
            let rounded = 3.0e-8 / (1.0 - f64::from(single)) + 5e-7 * told;
            assert_abs_diff_eq!(f64::from(single.minus_ln_1m()), told, epsilon = rounded);
        }
        assert_eq!(0.0_f64.minus_ln_1m(), 0.0);
        assert_eq!(0.0_f32.minus_ln_1m(), 0.0);
        assert_relative_eq!(1.0_f64.minus_ln_1m(), 1e6_f64.ln(), max_relative = 1e-8);
        // 1 − 0.999999 is 1.01e-6 in single precision.
        assert_relative_eq!(f64::from(1.0_f32.minus_ln_1m()), 1e6_f64.ln(), max_relative = 2e-3);
    }

    #[test]
    fn the_sixth_root_is_the_library_s() {
        // X-Val: f64::powf of the platform's library, over the differences that metal and air can have.
        for i in 0..=60_000 {
            let x = 1e-6 + f64::from(i) * 1e-3;
            let told = x.powf(1.0 / 6.0);
            assert_relative_eq!((-x).sixth_root(), told, max_relative = 1.5e-4);
            assert_relative_eq!(f64::from((x as f32).sixth_root()), told, max_relative = 1.5e-4);
        }
        assert!(0.0_f32.sixth_root() > 0.0 && 0.0_f64.sixth_root() > 0.0);
    }
}
