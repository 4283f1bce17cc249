//! The list of tanks for `brimwater expansion --catalogue`.

use super::common::Failure;
use super::expansion_table::UnitTable;
use crate::expansion::catalogue::CatalogueTank;
use crate::faults::{Fault, Severity};
use crate::units::{UnitSystem, parse_gauge_pa, parse_volume_l, show_volume};
use std::path::Path;

/// Reads a catalogue: `name` (optional), `volume_gal` or `volume_l`, `max_acceptance_gal`/`_l`, `max_pressure_psi`/`_kpa`.
pub(super) fn read_catalogue(path: &Path, units: UnitSystem) -> Result<Vec<CatalogueTank>, Failure> {
    let mut table = UnitTable::open(path, &["name", "volume", "max_acceptance", "max_pressure"])?;
    let (Some(volume), Some(acceptance), Some(pressure)) = (
        table.place("volume"),
        table.place("max_acceptance"),
        table.place("max_pressure"),
    ) else {
        return Err(table.lacks(
            "BW-X45",
            "a needed column is missing from the list of tanks",
            "name, volume_gal, max_acceptance_gal, max_pressure_psi; or _l and _kpa",
        ));
    };
    let name = table.place("name");
    let mut tanks = Vec::new();
    while table.next()? {
        let label = name
            .map(|(at, _)| table.cell(at).to_string())
            .filter(|label| !label.is_empty());
        let read = (
            parse_volume_l(&table.with_unit(volume), units),
            parse_volume_l(&table.with_unit(acceptance), units),
            parse_gauge_pa(&table.with_unit(pressure), units),
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
                table.wrong(
                    Fault::new("BW-X46", Severity::Fatal, what)
                        .remedy("Mend the line of the list of tanks, or take it out."),
                );
            }
        }
    }
    table.whole(tanks)
}
