//! The coldest supply water from a climate record.

use crate::faults::{Fault, Severity};
use std::path::Path;

/// What a climate record says to expansion.
pub struct Climate {
    /// Coldest supply water of the year, °C.
    pub coldest_supply_c: f64,
    /// Coldest air of the record, °C.
    pub coldest_air_c: Option<f64>,
}

/// Reads a record and computes the coldest supply.
pub fn read(path: &Path) -> Result<Climate, Fault> {
    Err(Fault::new(
        "BW-X34",
        Severity::Fatal,
        "coldest supply from a record is not read yet",
    )
    .file(path.display().to_string())
    .remedy("Give the coldest supply with --cold."))
}
