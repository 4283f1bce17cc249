//! What `brimwater weather show` prints, and what the other `weather` commands share: JSON in SI, CSV for other programs, tables for people.

use super::table;
use crate::units::{UnitSystem, show_temperature};
use crate::weather::daily::DailyRecord;
use crate::weather::readers::{Found, Nature};
use crate::weather::series::{Kind, Series};
use crate::weather::winters::{THRESHOLDS_C, THRESHOLDS_F, is_below};
use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};
use chrono_tz::Tz;
use comfy_table::CellAlignment;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt::Write;

pub(super) fn rfc3339(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// °C as JSON carries them: a thousandth of a kelvin, so that 17 °F does not print as −8.333333333333334.
pub(super) fn rounded(celsius: f64) -> f64 {
    let value = (celsius * 1000.0).round() / 1000.0;
    // Never "-0".
    if value == 0.0 { 0.0 } else { value }
}

/// Measured hours below a threshold: those filled by interpolation are counted apart.
pub fn hours_below(series: &Series, threshold_c: f64) -> usize {
    series
        .air_c
        .iter()
        .zip(&series.interpolated)
        .filter(|(air, filled)| !**filled && is_below(**air, threshold_c))
        .count()
}

fn days_below(record: &DailyRecord, threshold_c: f64) -> usize {
    record
        .days
        .iter()
        .filter(|day| day.min_c.is_some_and(|min| is_below(min, threshold_c)))
        .count()
}

/// `brimwater.series/1` of one station; `None` when nothing usable was found.
pub fn series_json(found: &Found) -> Option<Value> {
    let set_aside: Vec<Value> = found
        .report
        .set_aside
        .iter()
        .map(|one| json!({"time": rfc3339(one.time), "value_c": rounded(one.value_c), "why": one.why}))
        .collect();
    if let Some(record) = &found.daily {
        let (first, last) = record.span()?;
        let (date, min_c) = record.coldest()?;
        return Some(json!({
            "schema": "brimwater.series/1",
            "format": record.format,
            "station": record.station.station_id,
            "days": record.days.len(),
            "start": first.to_string(),
            "end": last.to_string(),
            "min_air_c": rounded(min_c),
            "min_time": date.to_string(),
            "days_below_0c": days_below(record, 0.0),
            "days_below_minus6_67c": days_below(record, THRESHOLDS_C[3]),
            "missing_days": record.missing_days(),
            "conflicting_days": record.conflicting_days,
            "nature": found.nature,
            "set_aside": set_aside,
        }));
    }
    let series = found.series.as_ref()?;
    let (hour, min_c) = series.coldest()?;
    let observed = series.kind.iter().filter(|kind| **kind == Kind::Observed).count();
    Some(json!({
        "schema": "brimwater.series/1",
        "format": series.format,
        "station": series.station.station_id,
        "hours": series.hours(),
        "start": rfc3339(series.start),
        "end": rfc3339(series.end()),
        "min_air_c": rounded(min_c),
        "min_time": rfc3339(series.time(hour)),
        "hours_below_0c": hours_below(series, 0.0),
        "hours_below_minus6_67c": hours_below(series, THRESHOLDS_C[3]),
        "missing_hours": found.report.missing_hours,
        "interpolated_hours": found.report.interpolated_hours,
        "bridged_hours": found.report.bridged_hours,
        "duplicates": found.report.duplicates,
        "observed_hours": observed,
        "issued": series.issued.map(rfc3339),
        "nature": found.nature,
        "set_aside": set_aside,
    }))
}

/// The series as native CSV, which `plan --series` takes: filled hours are left blank, so that nothing made passes as measured.
pub fn series_csv(all: &[Found]) -> String {
    let mut text = String::from(HEADER);
    for found in all {
        if let Some(record) = &found.daily {
            let (series, _, _) = record.to_hourly(crate::weather::diurnal::Shape::PartonLogan, "", true);
            if let Some(series) = series {
                hours_csv(&series, &mut text, &cell);
            }
        } else if let Some(series) = &found.series {
            hours_csv(series, &mut text, &cell);
        }
    }
    text
}

/// One series as the native file.
pub fn hours_of(series: &Series) -> String {
    let mut text = String::from(HEADER);
    hours_csv(series, &mut text, &cell);
    text
}

fn cell(value: Option<f64>, scale: f64) -> String {
    value.map_or_else(String::new, |value| format!("{}", rounded(value * scale)))
}

const HEADER: &str = "time,station_id,air_temp_c,wind_m_s,dew_point_c,sky_cover_percent,kind\n";

fn hours_csv(series: &Series, text: &mut String, cell: &impl Fn(Option<f64>, f64) -> String) {
    let at = |values: &[Option<f64>], hour: usize| values.get(hour).copied().flatten();
    for (hour, air) in series.air_c.iter().enumerate() {
        let filled = series.interpolated.get(hour) == Some(&true);
        let kind = match series.kind.get(hour) {
            Some(Kind::Observed) => "observed",
            _ => "forecast",
        };
        let _ = writeln!(
            text,
            "{},{},{},{},{},{},{kind}",
            rfc3339(series.time(hour)),
            super::defuse::defuse(&series.station.station_id).replace([',', '"', '\n', '\r'], " "),
            cell(Some(*air).filter(|_| !filled), 1.0),
            cell(at(&series.wind_m_s, hour), 1.0),
            cell(at(&series.dew_point_c, hour), 1.0),
            cell(at(&series.sky_cover, hour), 100.0),
        );
    }
}

/// One day or month of the table.
#[derive(Default)]
struct Row {
    min_c: Option<f64>,
    max_c: Option<f64>,
    below: [usize; 4],
    missing: usize,
    set_aside: usize,
}

impl Row {
    fn take(&mut self, low: Option<f64>, high: Option<f64>) {
        let least = |a: Option<f64>, b: Option<f64>| [a, b].into_iter().flatten().min_by(f64::total_cmp);
        let most = |a: Option<f64>, b: Option<f64>| [a, b].into_iter().flatten().max_by(f64::total_cmp);
        self.min_c = least(self.min_c, low);
        self.max_c = most(self.max_c, high);
        if let Some(low) = low {
            for (count, threshold) in self.below.iter_mut().zip(THRESHOLDS_C) {
                *count += usize::from(is_below(low, threshold));
            }
        }
    }
}

/// Longest series that is shown day by day, days; a longer one is shown by month, and beyond ten years by year.
const BY_DAY: i64 = 31;
const BY_MONTH: i64 = 3660;

/// The series for people: what it is, then by day, month or year, then what was set aside.
pub fn series_table(found: &Found, units: UnitSystem, zone: Tz) -> String {
    let mut text = String::new();
    let mut rows: BTreeMap<String, Row> = BTreeMap::new();
    let (span_days, what, unit);
    let label = |date: NaiveDate, span: i64| {
        if span <= BY_DAY {
            date.format("%a %Y-%m-%d").to_string()
        } else if span <= BY_MONTH {
            date.format("%Y-%m").to_string()
        } else {
            date.format("%Y").to_string()
        }
    };
    // Keys sort as text: the date goes first, the name of the day is put in front when printed.
    let key = |date: NaiveDate, span: i64| {
        if span <= BY_DAY {
            date.to_string()
        } else {
            label(date, span)
        }
    };
    if let Some(record) = &found.daily {
        let Some((first, last)) = record.span() else {
            return "nothing usable was found\n".into();
        };
        span_days = (last - first).num_days() + 1;
        unit = "days";
        what = format!(
            "{}, {} days from {first} to {last}, {} without a minimum",
            record.format,
            record.days.len(),
            record.missing_days()
        );
        for day in &record.days {
            rows.entry(key(day.date, span_days))
                .or_default()
                .take(day.min_c, day.max_c);
        }
        for one in &record.set_aside {
            rows.entry(key(one.time.date_naive(), span_days)).or_default().set_aside += 1;
        }
    } else if let Some(series) = &found.series {
        let local = |time: DateTime<Utc>| time.with_timezone(&zone).date_naive();
        span_days = (series.end() - series.start).num_days() + 1;
        unit = "hours";
        what = format!(
            "{}, {} hours from {} to {}, {} missing ({} of them filled by a line)",
            series.format,
            series.hours(),
            series.start.with_timezone(&zone).format("%Y-%m-%d %H:%M %Z"),
            series.end().with_timezone(&zone).format("%Y-%m-%d %H:%M %Z"),
            found.report.missing_hours,
            found.report.interpolated_hours
        );
        for (hour, (air, filled)) in series.air_c.iter().zip(&series.interpolated).enumerate() {
            let row = rows.entry(key(local(series.time(hour)), span_days)).or_default();
            if *filled {
                row.missing += 1;
            } else {
                row.take(Some(*air), Some(*air));
            }
        }
        for one in &found.report.set_aside {
            rows.entry(key(local(one.time), span_days)).or_default().set_aside += 1;
        }
    } else {
        return "nothing usable was found\n".into();
    }
    let name = if found.station.station_id.is_empty() {
        "one station"
    } else {
        &found.station.station_id
    };
    let _ = writeln!(text, "{name}: {what}. Counts are {unit} below each threshold.");
    match found.nature {
        Nature::Record => {}
        Nature::TypicalYear => {
            text.push_str("A typical year: months from different years, extremes left out on purpose.\n")
        }
        Nature::Normals => text.push_str("Climate normals: averages, not weather.\n"),
    }
    let mut shown = table::plain();
    let degrees = |f: f64| show_temperature((f - 32.0) / 1.8, units);
    let mut header = vec![String::from("when"), "coldest".into(), "warmest".into()];
    header.extend(THRESHOLDS_F.iter().map(|f| format!("<{}", degrees(*f))));
    header.extend(["missing".to_owned(), "set aside".to_owned()]);
    shown.set_header(header);
    for (key, row) in &rows {
        let when = key
            .parse::<NaiveDate>()
            .map_or_else(|_| key.clone(), |date| date.format("%m-%d %a").to_string());
        let mut cells = vec![when];
        cells.extend(
            [row.min_c, row.max_c].map(|value| value.map_or_else(String::new, |value| show_temperature(value, units))),
        );
        cells.extend(row.below.iter().map(usize::to_string));
        cells.extend(
            [row.missing, row.set_aside].map(|count| if count == 0 { String::new() } else { count.to_string() }),
        );
        shown.add_row(cells);
    }
    for at in 1..9 {
        if let Some(column) = shown.column_mut(at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let _ = writeln!(text, "{}", table::trimmed(&shown.to_string()));
    if !found.report.set_aside.is_empty() {
        let _ = writeln!(text, "\nSet aside, not used:");
        for one in found.report.set_aside.iter().take(40) {
            let _ = writeln!(
                text,
                "  {}  {}  {}",
                one.time.with_timezone(&zone).format("%Y-%m-%d %H:%M"),
                show_temperature(one.value_c, units),
                one.why
            );
        }
        if found.report.set_aside.len() > 40 {
            let _ = writeln!(
                text,
                "  and {} more (all in --format json)",
                found.report.set_aside.len() - 40
            );
        }
    }
    text
}

/// Cautions under a table, and the line that ends every printout.
pub(super) fn cautions(all: &[String], text: &mut String) {
    for caution in all {
        let _ = writeln!(text, "Note: {caution}");
    }
    let _ = writeln!(text, "{}", crate::PLANNING_AID);
}
