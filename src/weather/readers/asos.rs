//! Airport observations as university archives export them: a CSV with `station`, `valid` and `tmpf`, perhaps lines of `#` before.
//!
//! Temperatures in °F, wind in knots; missing is `M`, `null` or blank, as the export was asked. `valid` has no offset: it is UTC
//! unless a zone is given, and a local export is ambiguous where the clocks go back \[asos-export\].

use super::common::{M_S_PER_KNOT, Reading, number, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::units::c_from_f;
use crate::weather::assemble::RawReading;
use crate::weather::local_time::{Resolver, Written, parse, runs_backwards};
use crate::weather::series::{Kind, Station};
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "asos";

/// Cover of the sky of a layer's code: middle of its eighths.
fn cover_of(code: &str) -> Option<f64> {
    Some(match code {
        "CLR" | "SKC" | "NSC" | "NCD" => 0.0,
        "FEW" => 1.5 / 8.0,
        "SCT" => 3.5 / 8.0,
        "BKN" => 6.0 / 8.0,
        "OVC" | "VV" => 1.0,
        _ => return None,
    })
}

/// Reads an export of airport observations.
///
/// Faults: `BW-S08` times read as UTC (note), `BW-S32` a row that cannot be read, and those of [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut skipped = 0;
    let mut body: &str = &text;
    while let Some((line, rest)) = body.split_once('\n') {
        if !(line.starts_with('#') || line.trim().is_empty()) {
            break;
        }
        skipped += 1;
        body = rest;
    }
    let mut table = file.table(body, b',', skipped + 1);
    let time_column = ["valid", "valid(utc)", "valid_utc"]
        .into_iter()
        .find(|name| table.has(name))
        .unwrap_or("valid");
    if options.zone.is_none() && options.station_zones.is_empty() {
        let note = file
            .fault("BW-S08", Severity::Note, "times have no offset and were read as UTC")
            .remedy("Give --zone if the export was made in local time.");
        file.push(note);
    }
    let newest_first = {
        // Faults are told by the reading itself.
        let mut unheard = Reading::new(file_name, options);
        let mut table = unheard.table(body, b',', skipped + 1);
        runs_backwards(std::iter::from_fn(|| {
            table
                .next_row()
                .then(|| (table.cell("station").to_owned(), parse(table.cell(time_column))))
        }))
    };
    let mut stations: BTreeMap<String, (Station, Vec<RawReading>, Resolver)> = BTreeMap::new();
    while table.next_row() {
        let id = table.cell("station").to_owned();
        let place = |name: &str| number(table.cell(name));
        let (_, readings, resolver) = stations.entry(id.clone()).or_insert_with(|| {
            let zone = options.zone_of(&id).unwrap_or(chrono_tz::UTC);
            let station = Station {
                station_id: id,
                latitude_deg: place("lat"),
                longitude_deg: place("lon"),
                elevation_m: place("elevation"),
            };
            let resolver = Resolver::new(zone, options.fold, options.gap).newest_first(newest_first);
            (station, Vec::new(), resolver)
        });
        let time = match parse(table.cell(time_column)) {
            Some(Written::Instant(time)) => Some(time),
            Some(Written::Local(local)) => resolver.resolve(local).ok(),
            None => None,
        };
        let Some(time_utc) = time else {
            file.bad_row(
                table.line,
                time_column,
                table.cell(time_column),
                "a time such as 2021-02-15 06:53 that the clocks showed",
            );
            continue;
        };
        let air_cell = if table.has("tmpf") { "tmpf" } else { "tmpc" };
        let cell = table.cell(air_cell);
        if number(cell).is_none() && !["", "M", "null", "None", "T"].contains(&cell) {
            file.bad_row(table.line, air_cell, cell, "a number, M, null or blank");
        }
        let celsius = |f: &str, c: &str| number(table.cell(f)).map(c_from_f).or_else(|| number(table.cell(c)));
        let one = reading(RawReading {
            time_utc,
            air_c: celsius("tmpf", "tmpc"),
            dew_point_c: celsius("dwpf", "dwpc"),
            wind_m_s: number(table.cell("sknt")).map(|knots| knots * M_S_PER_KNOT),
            sky_cover: ["skyc1", "skyc2", "skyc3", "skyc4"]
                .into_iter()
                .filter_map(|name| cover_of(table.cell(name)))
                .max_by(f64::total_cmp),
            kind: Kind::Observed,
            set_aside: None,
        });
        readings.push(one);
    }
    let mut found = Vec::new();
    for (station, readings, _) in stations.into_values() {
        found.push(file.hourly(FORMAT, station, readings, None, Nature::Record));
    }
    if found.is_empty() {
        let fault = file
            .fault("BW-S10", Severity::Fatal, "the file has a header and no rows")
            .remedy("Export it again.");
        file.push(fault);
    }
    (found, file.finish())
}
