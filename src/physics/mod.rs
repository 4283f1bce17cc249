//! Water, ice, air, materials, film coefficients, sky, ground and inlet water.
//!
//! Pure: no files, no clock, no network. Everything is SI `f64` with the unit in the name (temperatures are °C
//! in `_c` and K in `_k`). A function either checks its arguments and answers [`OutOfRange`], or holds them to
//! the stated range and is total; none returns NaN.

pub mod air;
pub mod film;
pub mod ground;
pub mod ice;
mod if97;
pub mod inlet;
pub mod materials;
pub mod near_ground;
pub mod pipe;
pub mod sky;
pub mod solidification;
pub mod water;

/// A quantity outside the range in which a correlation may be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{field} of {value} {unit} is outside {lo} to {hi} {unit}")]
pub struct OutOfRange {
    /// What the quantity is, in words.
    pub field: &'static str,
    /// The value given, in `unit`.
    pub value: f64,
    /// The unit of the value and of the range; empty for a pure number.
    pub unit: &'static str,
    /// Lowest value accepted, in `unit`.
    pub lo: f64,
    /// Highest value accepted, in `unit`.
    pub hi: f64,
}

/// `value`, if it is a number from `lo` to `hi`.
pub(crate) fn check(field: &'static str, unit: &'static str, value: f64, lo: f64, hi: f64) -> Result<f64, OutOfRange> {
    if value >= lo && value <= hi {
        Ok(value)
    } else {
        Err(OutOfRange {
            field,
            value,
            unit,
            lo,
            hi,
        })
    }
}

/// `value` held to `lo..=hi`; what is not a number becomes `lo`, so nothing downstream can be NaN.
pub(crate) fn hold(value: f64, lo: f64, hi: f64) -> f64 {
    value.max(lo).min(hi)
}
