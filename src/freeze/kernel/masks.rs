//! Questions of all members of a block at once, answered by 1 and 0: the compiler turns these into compares and selects of whole
//! vectors, which it does not do with a longer expression of truth values.
//!
//! Numbers without a tag of their own: exact: 1 is yes and 0 is no.

use super::super::lane::Lane;
use super::super::real::Real;

/// 1 in the members of which `is` says so, else 0.
#[inline(always)]
pub(super) fn mark<const W: usize, F: Real>(of: Lane<W, F>, is: impl Fn(F) -> bool) -> Lane<W, F> {
    of.map(|value| if is(value) { F::ONE } else { F::ZERO })
}

/// 1 where the first of a pair is at least the second, else 0.
#[inline(always)]
pub(super) fn reaches<const W: usize, F: Real>(value: Lane<W, F>, limit: Lane<W, F>) -> Lane<W, F> {
    value.with(limit, |value, limit| if value >= limit { F::ONE } else { F::ZERO })
}

/// `yes` where the mark is 1, else `no`.
#[inline(always)]
pub(super) fn pick<const W: usize, F: Real>(mark: Lane<W, F>, yes: Lane<W, F>, no: Lane<W, F>) -> Lane<W, F> {
    let mut out = no;
    for k in 0..W {
        out.0[k] = if mark.0[k] > F::ZERO { yes.0[k] } else { no.0[k] };
    }
    out
}

/// 1 where the mark is 0, 0 where it is 1.
#[inline(always)]
pub(super) fn not<const W: usize, F: Real>(mark: Lane<W, F>) -> Lane<W, F> {
    mark.map(|mark| F::ONE - mark)
}
