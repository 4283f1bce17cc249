//! Text bulletins of the US National Blend of Models \[nbm-text\]: three-hourly (NBS) and percentiles of night minima and day
//! maxima (NBP), for one station or for all of them in one file. Public domain. The product's name in the header says which it is.
//!
//! Values stand right-justified in fields of three characters that may run together (`100100`, `9-88`); where a field ends is told by
//! the row of the hours, `UTC`. Groups may be parted by bars, lines may begin with a blank or not. −99 is missing. The hours of
//! validity are the issue and the row `FHR`; they must agree with the row `UTC`, or the columns have slipped.

use super::common::{M_S_PER_KNOT, Reading, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::units::c_from_f;
use crate::weather::assemble::{RawReading, Report};
use crate::weather::series::{Kind, Station};
use crate::weather::spread::{Told, When, score_of};
use crate::weather::stations::same_name;
use chrono::{DateTime, NaiveDate, TimeDelta, Timelike, Utc};
use std::collections::BTreeMap;

/// Name of the three-hourly format.
pub const FORMAT: &str = "blend-three-hourly";
/// Width of a field.
const WIDTH: usize = 3;
/// A missing value.
const MISSING: f64 = -99.0;
/// What some fields hold instead where nothing is told (from memory).
const MISSING_TOO: f64 = 999.0;
/// Rows of percentiles and their percentiles.
const PERCENTILES: [(&str, f64); 5] = [
    ("TXNP1", 10.0),
    ("TXNP2", 25.0),
    ("TXNP5", 50.0),
    ("TXNP7", 75.0),
    ("TXNP9", 90.0),
];

/// Which bulletin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Product {
    ThreeHourly,
    Percentiles,
}

/// The first line of a bulletin.
#[derive(Debug, Clone, PartialEq)]
struct Header {
    station: String,
    version: String,
    product: Product,
    issued: DateTime<Utc>,
}

/// A bulletin: its header and where its lines are.
struct Bulletin<'t> {
    header: Header,
    line: u64,
    rows: Vec<(u64, &'t str)>,
}

/// Whether this is a file of bulletins.
pub fn recognises(head: &str) -> bool {
    head.lines().take(50).any(|line| header(line).is_some())
}

fn header(line: &str) -> Option<Header> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let [station, "NBM", version, product, "GUIDANCE", date, hour, "UTC"] = words.as_slice() else {
        return None;
    };
    let product = match *product {
        "NBS" => Product::ThreeHourly,
        "NBP" => Product::Percentiles,
        _ => return None,
    };
    let mut parts = date.split('/').map(str::parse::<u32>);
    let (month, day, year) = (parts.next()?.ok()?, parts.next()?.ok()?, parts.next()?.ok()?);
    let hour: u32 = hour.parse().ok()?;
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
    Some(Header {
        station: (*station).to_owned(),
        version: (*version).to_owned(),
        product,
        issued: date.and_hms_opt(hour / 100, hour % 100, 0)?.and_utc(),
    })
}

fn bulletins(text: &str) -> Vec<Bulletin<'_>> {
    let mut all: Vec<Bulletin<'_>> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let number = at as u64 + 1;
        if let Some(header) = header(line) {
            all.push(Bulletin {
                header,
                line: number,
                rows: Vec::new(),
            });
        } else if let Some(bulletin) = all.last_mut()
            && !line.trim().is_empty()
        {
            bulletin.rows.push((number, line));
        }
    }
    all
}

/// Why a bulletin cannot be used: its fault code, where, and what.
struct Refused {
    code: &'static str,
    line: u64,
    row: String,
    value: String,
    what: &'static str,
}

/// The rows of a bulletin as numbers.
struct Table {
    /// When each column is valid, `[columns]`.
    valid: Vec<DateTime<Utc>>,
    /// By the row's name: its line and its values, `None` where missing, `[columns]`.
    rows: BTreeMap<String, (u64, Vec<Option<f64>>)>,
}

/// Where the fields end, told by the hours.
fn ends(line: &str) -> Vec<usize> {
    let bytes = line.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    (1..=bytes.len()).filter(|end| digit(end - 1) && !digit(*end)).collect()
}

impl Bulletin<'_> {
    fn refuse(&self, code: &'static str, line: u64, row: &str, value: &str, what: &'static str) -> Refused {
        Refused {
            code,
            line,
            row: row.to_owned(),
            value: value.to_owned(),
            what,
        }
    }

    /// Numbers by column, of every row that holds such.
    fn table(&self) -> Result<Table, Refused> {
        let cut = |row: &str| {
            self.refuse(
                "BW-S41",
                self.line,
                row,
                "",
                "the bulletin is cut off: a row is missing",
            )
        };
        let (hours_line, hours) = *self
            .rows
            .iter()
            .find(|(_, line)| line.split_whitespace().next() == Some("UTC"))
            .ok_or_else(|| cut("UTC"))?;
        let ends = ends(hours);
        let Some(first) = ends.first().and_then(|end| end.checked_sub(WIDTH)) else {
            return Err(cut("UTC"));
        };
        let mut rows = BTreeMap::new();
        for (number, line) in &self.rows {
            let name = line.get(..first.min(line.len())).unwrap_or("").trim();
            // The row of dates holds no numbers of this kind.
            if name.is_empty() || name.starts_with("DT") || name.contains(' ') {
                continue;
            }
            let field = |end: &usize| {
                line.get(end - WIDTH..*end)
                    .unwrap_or_else(|| line.get(end - WIDTH..).unwrap_or(""))
            };
            let mut values = Vec::with_capacity(ends.len());
            for end in &ends {
                let text = field(end).trim_matches(|c: char| c == '|' || c.is_whitespace());
                values.push(match (text, text.parse::<f64>()) {
                    ("", _) => None,
                    (_, Ok(value)) if value == MISSING || value == MISSING_TOO => Some(f64::NAN),
                    (_, Ok(value)) => Some(value),
                    // Only rows that are used are worth a fault: others hold words.
                    (_, Err(_)) => Some(f64::INFINITY),
                });
            }
            rows.entry(name.to_owned()).or_insert((*number, values));
        }
        let (line, leads) = rows.get("FHR").cloned().ok_or_else(|| cut("FHR"))?;
        let (_, clock) = rows.get("UTC").cloned().ok_or_else(|| cut("UTC"))?;
        let mut valid = Vec::with_capacity(ends.len());
        for (lead, hour) in leads.iter().zip(&clock) {
            let (Some(lead), Some(hour)) = (lead, hour) else {
                return Err(self.refuse("BW-S41", line, "FHR", "", "the bulletin is cut off: the row ends early"));
            };
            let time = (lead.is_finite() && (0.0..=400.0).contains(lead))
                .then(|| self.header.issued + TimeDelta::hours(*lead as i64));
            match time.filter(|time| f64::from(time.hour()) == *hour) {
                Some(time) if valid.last().is_none_or(|before| *before < time) => valid.push(time),
                _ => {
                    return Err(self.refuse(
                        "BW-S44",
                        hours_line,
                        "UTC, FHR",
                        &format!("{hour} and {lead}"),
                        "the hours do not follow from issue and lead",
                    ));
                }
            }
        }
        Ok(Table { valid, rows })
    }

    /// A row that is needed whole; −99 is no gap but a missing value.
    fn needed(&self, table: &Table, name: &str) -> Result<Vec<Option<f64>>, Refused> {
        let Some((line, values)) = table.rows.get(name) else {
            return Err(self.refuse(
                "BW-S41",
                self.line,
                name,
                "",
                "the bulletin is cut off: a row is missing",
            ));
        };
        let mut out = Vec::with_capacity(values.len());
        for value in values {
            match value {
                None => {
                    return Err(self.refuse(
                        "BW-S41",
                        *line,
                        name,
                        "",
                        "the bulletin is cut off: the row has fewer values than hours",
                    ));
                }
                Some(value) if value.is_infinite() => {
                    return Err(self.refuse("BW-S32", *line, name, "", "this cannot be read"));
                }
                Some(value) => out.push(Some(*value).filter(|value| value.is_finite())),
            }
        }
        Ok(out)
    }

    /// Values of a row that may be missing, or may be no numbers.
    fn optional(table: &Table, name: &str, at: usize) -> Option<f64> {
        let (_, values) = table.rows.get(name)?;
        values.get(at).copied().flatten().filter(|value| value.is_finite())
    }

    /// Percentiles of night minima (listed at 12 UTC) and day maxima (at 00 UTC).
    fn percentiles(&self) -> Result<Told, Refused> {
        let table = self.table()?;
        let mut columns = Vec::with_capacity(PERCENTILES.len());
        for (name, _) in PERCENTILES {
            columns.push(self.needed(&table, name)?);
        }
        let mut nodes = Vec::new();
        for (at, valid) in table.valid.iter().enumerate() {
            let air: Option<Vec<f64>> = columns
                .iter()
                .map(|column| column.get(at).copied().flatten().map(c_from_f))
                .collect();
            let when = match valid.hour() {
                12 => When::night(*valid),
                0 => When::day(*valid),
                _ => {
                    return Err(self.refuse(
                        "BW-S44",
                        self.line,
                        "UTC",
                        &valid.hour().to_string(),
                        "nights are listed at 12 and days at 00 UTC",
                    ));
                }
            };
            let Some(air) = air else { continue };
            if air.windows(2).any(|pair| pair[1] < pair[0]) {
                return Err(self.refuse(
                    "BW-S25",
                    table.rows.get("TXNP1").map_or(self.line, |row| row.0),
                    "TXNP1 to TXNP9",
                    &valid.format("%Y-%m-%d %H UTC").to_string(),
                    "a higher percentile is colder than a lower one",
                ));
            }
            nodes.push((when, air));
        }
        let scores = PERCENTILES
            .iter()
            .map(|(_, percentile)| score_of(*percentile))
            .collect();
        Ok(Told::Percentiles { scores, nodes })
    }

    /// Temperatures every three hours, with their standard deviations.
    fn three_hourly(&self) -> Result<(Vec<RawReading>, Told), Refused> {
        let table = self.table()?;
        let air = self.needed(&table, "TMP")?;
        let sd = self.needed(&table, "TSD")?;
        let mut readings = Vec::new();
        let mut nodes = Vec::new();
        for (at, valid) in table.valid.iter().enumerate() {
            let Some(air_f) = air.get(at).copied().flatten() else {
                continue;
            };
            readings.push(reading(RawReading {
                time_utc: *valid,
                air_c: Some(c_from_f(air_f)),
                wind_m_s: Self::optional(&table, "WSP", at).map(|knots| knots * M_S_PER_KNOT),
                dew_point_c: Self::optional(&table, "DPT", at).map(c_from_f),
                sky_cover: Self::optional(&table, "SKY", at).map(|percent| percent / 100.0),
                kind: Kind::Forecast,
                set_aside: None,
            }));
            if let Some(sd_f) = sd.get(at).copied().flatten().filter(|sd| *sd >= 0.0) {
                let band = [c_from_f(air_f - sd_f), c_from_f(air_f + sd_f)];
                nodes.push((When::At(*valid), band.to_vec()));
            }
        }
        lowest_between(&table, &mut readings);
        // A standard deviation is one normal score on either side.
        let scores = vec![-1.0, 1.0];
        Ok((readings, Told::Percentiles { scores, nodes }))
    }
}

/// The night's minimum of the bulletin (`TXN` at 12 UTC) where it is colder than the three-hourly values around it: it stands in the
/// hour after the coldest of them, or in the one before when that side is the colder.
fn lowest_between(table: &Table, readings: &mut Vec<RawReading>) {
    for (at, valid) in table.valid.iter().enumerate() {
        let Some(lowest) = Bulletin::optional(table, "TXN", at).filter(|_| valid.hour() == 12) else {
            continue;
        };
        let lowest_c = c_from_f(lowest);
        let (from, to) = (*valid - TimeDelta::hours(12), *valid + TimeDelta::hours(6));
        let air_at = |time: DateTime<Utc>| {
            let found = readings.iter().find(|reading| reading.time_utc == time)?;
            found.air_c
        };
        let coldest = readings
            .iter()
            .filter(|reading| reading.time_utc >= from && reading.time_utc <= to)
            .filter_map(|reading| Some((reading.time_utc, reading.air_c?)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((time, _)) = coldest.filter(|(_, air)| lowest_c < *air) else {
            continue;
        };
        let side = |hours: i64| air_at(time + TimeDelta::hours(hours)).unwrap_or(f64::INFINITY);
        let (before, after) = (side(-3), side(3));
        if before.is_infinite() && after.is_infinite() {
            continue;
        }
        let step = if after <= before { 1 } else { -1 };
        let mut low = RawReading::of_air(time + TimeDelta::hours(step), lowest_c, Kind::Forecast);
        low = reading(low);
        readings.push(low);
    }
}

/// Reads bulletins. A bulletin of percentiles has no hours: what it tells goes with the hours of another file.
///
/// Faults: `BW-S41` a bulletin is cut off, `BW-S44` its hours contradict each other, `BW-S25` percentiles that cross, `BW-S32` a value that
/// is none (all: the bulletin is not used); `BW-S42` versions or issues mixed, or a station told twice (warning: the latest issue
/// counts); `BW-S43` stations that are not in the list (note; warning when there is none that is).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let all = bulletins(&text);
    tell_mixture(&all, &mut file);
    let wanted: Vec<Bulletin<'_>> = all
        .into_iter()
        .filter(|bulletin| {
            let list = &options.stations;
            list.is_empty() || list.iter().any(|name| same_name(name, &bulletin.header.station))
        })
        .collect();
    if wanted.is_empty() {
        let fault = file
            .fault(
                "BW-S43",
                Severity::Warning,
                "no bulletin is of a station in the list of stations",
            )
            .expected("bulletins of stations that the list names")
            .remedy("Name the stations in the list as the bulletins do.");
        file.push(fault);
        return (Vec::new(), file.finish());
    }
    // The latest issue of each station and product.
    let mut latest: BTreeMap<(String, bool), Bulletin<'_>> = BTreeMap::new();
    for bulletin in wanted {
        let key = (
            bulletin.header.station.to_ascii_uppercase(),
            bulletin.header.product == Product::Percentiles,
        );
        if latest
            .get(&key)
            .is_none_or(|held| held.header.issued <= bulletin.header.issued)
        {
            latest.insert(key, bulletin);
        }
    }
    let mut found: Vec<Found> = Vec::new();
    for (_, bulletin) in latest {
        if let Err(refused) = one(&bulletin, &mut file, &mut found) {
            let mut fault = file
                .fault(refused.code, Severity::Rejected, refused.what)
                .line(refused.line)
                .column(refused.row.as_str())
                .expected("a whole bulletin whose hours are issue and lead, with -99 where a value is missing")
                .remedy(format!(
                    "The bulletin of {} was not used. Get the file again.",
                    bulletin.header.station
                ));
            if !refused.value.is_empty() {
                fault = fault.value(&refused.value);
            }
            file.push(fault);
        }
    }
    (found, file.finish())
}

fn one(bulletin: &Bulletin<'_>, file: &mut Reading<'_>, found: &mut Vec<Found>) -> Result<(), Refused> {
    let station = Station {
        station_id: bulletin.header.station.clone(),
        ..Station::default()
    };
    match bulletin.header.product {
        Product::ThreeHourly => {
            let (readings, told) = bulletin.three_hourly()?;
            let issued = Some(bulletin.header.issued);
            let mut one = file.hourly(FORMAT, station, readings, issued, Nature::Record);
            one.told = Some(told);
            found.push(one);
        }
        Product::Percentiles => {
            let told = bulletin.percentiles()?;
            match found
                .iter_mut()
                .find(|one| one.station.station_id == station.station_id)
            {
                Some(one) => {
                    one.told = match one.told.take() {
                        Some(first) => Some(first.then(told)),
                        None => Some(told),
                    };
                }
                None => found.push(Found {
                    station,
                    series: None,
                    report: Report::default(),
                    daily: None,
                    nature: Nature::Record,
                    told: Some(told),
                }),
            }
        }
    }
    Ok(())
}

/// Tells versions, issues and stations that do not belong together.
fn tell_mixture(all: &[Bulletin<'_>], file: &mut Reading<'_>) {
    let mut kinds: Vec<String> = all
        .iter()
        .map(|bulletin| {
            format!(
                "{} of {}",
                bulletin.header.version,
                bulletin.header.issued.format("%Y-%m-%d %H UTC")
            )
        })
        .collect();
    kinds.sort();
    kinds.dedup();
    if kinds.len() > 1 {
        let fault = file
            .fault(
                "BW-S42",
                Severity::Warning,
                "bulletins of several versions or issues are mixed in one file",
            )
            .value(&kinds.join("; "))
            .expected("one issue a file")
            .remedy("The latest issue of each station was used. Get the file again.");
        file.push(fault);
    }
    let list = &file.options.stations;
    let passed = all
        .iter()
        .filter(|bulletin| !list.is_empty() && !list.iter().any(|name| same_name(name, &bulletin.header.station)))
        .count();
    if passed > 0 && passed < all.len() {
        let fault = file.fault(
            "BW-S43",
            Severity::Note,
            format!("{passed} bulletins are of stations that are not in the list of stations; they were passed over"),
        );
        file.push(fault);
    }
}
