//! Questions of all members of a block at once, answered by 1 and 0: the compiler turns these into compares and selects of whole
//! vectors, which it does not do with a longer expression of truth values.
//!
//! Numbers without a tag of their own: exact: 1 is yes and 0 is no.

use super::super::lane::Lane;

/// 1 in the members of which `is` says so, else 0.
#[inline(always)]
pub(super) fn mark<const W: usize>(of: Lane<W>, is: impl Fn(f64) -> bool) -> Lane<W> {
    of.map(|value| if is(value) { 1.0 } else { 0.0 })
}

/// 1 where the first of a pair is at least the second, else 0.
#[inline(always)]
pub(super) fn reaches<const W: usize>(value: Lane<W>, limit: Lane<W>) -> Lane<W> {
    value.with(limit, |value, limit| if value >= limit { 1.0 } else { 0.0 })
}

/// `yes` where the mark is 1, else `no`.
#[inline(always)]
pub(super) fn pick<const W: usize>(mark: Lane<W>, yes: Lane<W>, no: Lane<W>) -> Lane<W> {
    let mut out = no;
    for k in 0..W {
        out.0[k] = if mark.0[k] > 0.0 { yes.0[k] } else { no.0[k] };
    }
    out
}

/// 1 where the mark is 0, 0 where it is 1.
#[inline(always)]
pub(super) fn not<const W: usize>(mark: Lane<W>) -> Lane<W> {
    mark.map(|mark| 1.0 - mark)
}
