//! The list of tanks for `brimwater expansion --catalogue`.

use super::common::Failure;
use super::expansion_lists::UNITS;
use crate::expansion::catalogue::CatalogueTank;
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records, file};
use crate::units::{UnitSystem, parse_gauge_pa, parse_volume_l, show_volume};
use std::path::Path;

/// Reads a catalogue: `name` (optional), `volume_gal` or `volume_l`, `max_acceptance_gal`/`_l`, `max_pressure_psi`/`_kpa`.
pub(super) fn read_catalogue(path: &Path, units: UnitSystem) -> Result<Vec<CatalogueTank>, Failure> {
    let name = file::shown(path);
    let known = |header: &str| {
        let header = header.trim().to_lowercase();
        ["name", "volume", "max_acceptance", "max_pressure"]
            .iter()
            .any(|base| header.starts_with(base))
    };
    let mut records = Records::open(file::open(path)?, &name, known)?;
    let header: Vec<String> = records.header().iter().map(|cell| cell.trim().to_lowercase()).collect();
    let place = |base: &str| -> Option<(usize, &'static str)> {
        header.iter().enumerate().find_map(|(at, cell)| {
            let suffix = cell.strip_prefix(base)?;
            if suffix.is_empty() {
                return Some((at, ""));
            }
            let suffix = suffix.strip_prefix('_')?;
            UNITS
                .iter()
                .find(|(word, _)| *word == suffix)
                .map(|(_, unit)| (at, *unit))
        })
    };
    let (Some(volume), Some(acceptance), Some(pressure)) =
        (place("volume"), place("max_acceptance"), place("max_pressure"))
    else {
        return Err(Fault::new(
            "BW-X45",
            Severity::Fatal,
            "a needed column is missing from the list of tanks",
        )
        .file(name)
        .line(records.header_line())
        .expected("name, volume_gal, max_acceptance_gal, max_pressure_psi; or _l and _kpa")
        .into());
    };
    let mut tanks = Vec::new();
    let mut faults = Faults::new();
    let mut record = Record::default();
    while records.read(&mut record, &mut faults)? {
        let cell = |place: (usize, &str)| {
            let text = record.fields.get(place.0).map_or("", String::as_str);
            if text.chars().any(char::is_alphabetic) {
                text.to_string()
            } else {
                format!("{text} {}", place.1)
            }
        };
        let label = place("name")
            .and_then(|(at, _)| record.fields.get(at).cloned())
            .filter(|label| !label.is_empty());
        let read = (
            parse_volume_l(&cell(volume), units),
            parse_volume_l(&cell(acceptance), units),
            parse_gauge_pa(&cell(pressure), units),
        );
        match read {
            (Ok(volume_l), Ok(max_acceptance_l), Ok(max_gauge_pa))
                if volume_l > 0.0
                    && max_acceptance_l > 0.0
                    && max_acceptance_l <= volume_l * 1.0005
                    && max_gauge_pa > 0.0 =>
            {
                tanks.push(CatalogueTank {
                    name: label.unwrap_or_else(|| show_volume(volume_l, units)),
                    volume_l,
                    max_acceptance_l,
                    max_gauge_pa,
                });
            }
            (volume, acceptance, pressure) => {
                let what = [volume.err(), acceptance.err(), pressure.err()]
                    .into_iter()
                    .flatten()
                    .map(|error| error.to_string())
                    .next()
                    .unwrap_or_else(|| {
                        "volume, acceptance and pressure must be above zero, and no tank accepts more than its volume"
                            .into()
                    });
                faults.push(
                    Fault::new("BW-X46", Severity::Fatal, what)
                        .file(name.clone())
                        .line(record.line)
                        .remedy("Mend the line of the list of tanks, or take it out."),
                );
            }
        }
    }
    // A list of tanks is short and the plumber's own: one that cannot be read whole is corrected, not guessed at.
    if !faults.0.is_empty() {
        return Err(faults.into());
    }
    Ok(tanks)
}
