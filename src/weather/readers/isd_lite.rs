//! ISD-Lite: year, month, day, hour in UTC, then air temperature, dew point, sea-level pressure, wind direction, wind speed,
//! sky code and precipitation of 1 and 6 hours, in tenths, −9999 for missing; a missing hour has no row.
//!
//! The published column positions overlap by one, so that rows are split at white space. Format: NOAA National Centers for
//! Environmental Information, ISD-Lite format documentation \[isd-lite-format\].

use super::common::{Reading, number, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::Faults;
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use chrono::NaiveDate;

/// Name of the format.
pub const FORMAT: &str = "isd-lite";

/// Whether a line is a row of this format: twelve whole numbers that begin with a date and an hour.
pub fn recognises(line: &str) -> bool {
    let mut cells = [0_i64; 12];
    whole_numbers(line, &mut cells) == 12 && date_of(&cells).is_some() && (0..24).contains(&cells[3])
}

/// Fills `cells` and returns how many white-space-separated whole numbers the line has; 0 when a cell is none.
fn whole_numbers(line: &str, cells: &mut [i64; 12]) -> usize {
    let mut count = 0;
    for word in line.split_ascii_whitespace() {
        let (Some(slot), Ok(value)) = (cells.get_mut(count), word.parse()) else {
            return if count < 12 { 0 } else { 13 };
        };
        *slot = value;
        count += 1;
    }
    count
}

fn date_of(cells: &[i64; 12]) -> Option<NaiveDate> {
    let year = i32::try_from(cells[0])
        .ok()
        .filter(|year| (1800..=2200).contains(year))?;
    NaiveDate::from_ymd_opt(year, u32::try_from(cells[1]).ok()?, u32::try_from(cells[2]).ok()?)
}

/// The station's number from a file name such as `725300-94846-2013`.
fn station_of(file_name: &str) -> String {
    let name = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    let mut parts = name.split(['-', '.']);
    match (parts.next(), parts.next()) {
        (Some(usaf), Some(wban)) if usaf.len() == 6 && wban.len() == 5 && number(wban).is_some() => {
            format!("{usaf}-{wban}")
        }
        _ => String::new(),
    }
}

/// Reads an ISD-Lite file, or several years of one station in one file.
///
/// Faults: `BW-S32` a row that cannot be read, and those of [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut readings = Vec::with_capacity(text.len() / 62 + 1);
    let mut cells = [0_i64; 12];
    for (at, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let time_utc = (whole_numbers(line, &mut cells) == 12)
            .then(|| {
                let hour = u32::try_from(cells[3]).ok()?;
                date_of(&cells)?.and_hms_opt(hour, 0, 0)
            })
            .flatten();
        let Some(time_utc) = time_utc else {
            file.bad_row(
                at as u64 + 1,
                "row",
                line,
                "twelve whole numbers: year month day hour, then eight values, -9999 for missing",
            );
            continue;
        };
        let tenths = |value: i64| (value != -9999).then_some(value as f64 / 10.0);
        readings.push(reading(RawReading {
            time_utc: time_utc.and_utc(),
            air_c: tenths(cells[4]),
            dew_point_c: tenths(cells[5]),
            wind_m_s: tenths(cells[8]),
            // Eighths of the sky; 9 is a sky that cannot be seen, higher codes are partial and not used.
            sky_cover: match cells[9] {
                eighths @ 0..=8 => Some(eighths as f64 / 8.0),
                9 => Some(1.0),
                _ => None,
            },
            kind: Kind::Observed,
            set_aside: None,
        }));
    }
    let station = Station {
        station_id: station_of(file_name),
        ..Station::default()
    };
    let found = file.hourly(FORMAT, station, readings, None, Nature::Record);
    (vec![found], file.finish())
}
