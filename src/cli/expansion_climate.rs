//! The coldest supply water from a climate record.

use super::common::Failure;
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::weather::inlet::inlet_of;
use crate::weather::readers::{ReadOptions, read_reported};
use std::path::Path;

/// What a climate record says to expansion.
pub struct Climate {
    /// Coldest supply water of the year, °C.
    pub coldest_supply_c: f64,
    /// Coldest air of the record, °C.
    pub coldest_air_c: Option<f64>,
    /// What to bear in mind.
    pub cautions: Vec<String>,
    /// What reading the file told.
    pub faults: Faults,
}

/// Reads a record of at least a year and computes the coldest supply. Of several stations the first that has a year is taken.
pub fn read(path: &Path) -> Result<Climate, Failure> {
    let name = file::shown(path);
    let bytes = file::read_whole(path)?;
    // Means of months do not mind a gap of a day.
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, mut faults) = read_reported(&bytes, &name, &options);
    let mut short: Option<Fault> = None;
    for each in &found {
        match inlet_of(each) {
            Ok(inlet) => {
                let coldest_air_c = match (&each.daily, &each.series) {
                    (Some(record), _) => record.coldest().map(|(_, celsius)| celsius),
                    (None, Some(series)) => series.coldest().map(|(_, celsius)| celsius),
                    (None, None) => None,
                };
                faults.0.retain(|fault| fault.severity != Severity::Fatal);
                return Ok(Climate {
                    coldest_supply_c: inlet.coldest_c,
                    coldest_air_c,
                    cautions: inlet.cautions,
                    faults,
                });
            }
            Err(fault) => short = short.or(Some(fault)),
        }
    }
    if let Some(fault) = short {
        faults.push(fault.file(name));
    } else if !faults.is_fatal() {
        faults.push(
            Fault::new("BW-X34", Severity::Fatal, "no climate record was found in the file")
                .file(name)
                .expected("an hourly series or a daily record of at least one whole year")
                .remedy("Give the coldest supply with --cold."),
        );
    }
    Err(faults.into())
}
