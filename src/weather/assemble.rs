//! Timed readings to one hourly series without holes.
//!
//! Readers parse a format and hand over [`RawReading`]s in any order; what happens to odd minutes,
//! duplicates and gaps is decided here, once, for all of them:
//!
//! - An hour takes the reading nearest to it, within 30 minutes; of two equally near, the earlier.
//! - Of several readings at one instant an observation goes before a forecast, then the colder goes
//!   before the warmer: the cautious one.
//! - A reading that its source or the quality control flags is set aside and counts as missing.
//! - Up to [`AssembleOptions::max_gap_hours`] missing hours in a row are filled by a straight line and
//!   marked. A longer gap is an error, unless gaps are allowed; then it is bridged in the same way and
//!   told as a warning, for a straight line may hide the coldest hour.

use super::series::{Kind, Series, Station};
use crate::faults::{Fault, Faults, Severity};
use chrono::{DateTime, Utc};
use serde::Serialize;

/// Longest series, hours: 200 years. Two readings far apart would otherwise ask for all the memory.
pub const MAX_HOURS: i64 = 200 * 8_766;
/// Hours from which a span must be filled at all closely: a month. A handful of readings with a mistyped year among them would
/// otherwise become a century of made hours, and a short file would ask for much memory (judgement).
const SPARSE_FROM_HOURS: i64 = 744;
/// Hours of the span that each usable reading may stand for beyond that: one reading in four days (judgement: far below any record).
const MOST_HOURS_A_READING: i64 = 100;

/// One timed reading as its source gives it, in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct RawReading {
    /// Instant.
    pub time_utc: DateTime<Utc>,
    /// Air temperature, °C.
    pub air_c: Option<f64>,
    /// Wind speed at 10 m, m/s.
    pub wind_m_s: Option<f64>,
    /// Dew point, °C.
    pub dew_point_c: Option<f64>,
    /// Cloud cover, fraction 0 to 1.
    pub sky_cover: Option<f64>,
    /// Observed or forecast.
    pub kind: Kind,
    /// Why the air temperature is to be set aside, if it is.
    pub set_aside: Option<String>,
}

impl RawReading {
    /// A reading of nothing but the air.
    pub fn of_air(time_utc: DateTime<Utc>, air_c: f64, kind: Kind) -> Self {
        Self {
            time_utc,
            air_c: Some(air_c),
            wind_m_s: None,
            dew_point_c: None,
            sky_cover: None,
            kind,
            set_aside: None,
        }
    }
}

/// How readings become a series.
#[derive(Debug, Clone)]
pub struct AssembleOptions {
    /// Name of the format, for [`Series::format`].
    pub format: &'static str,
    /// Name of the file, for faults.
    pub file_name: String,
    /// When the forecast was issued, if told.
    pub issued: Option<DateTime<Utc>>,
    /// Most missing hours in a row that are filled without complaint.
    pub max_gap_hours: usize,
    /// Whether longer gaps are bridged too, with a warning.
    pub allow_gaps: bool,
    /// Whether [`quality::screen`](super::quality::screen) looks for values that cannot be.
    pub screen: bool,
}

impl AssembleOptions {
    /// The interface's rule: gaps up to 3 h are filled, longer ones are errors.
    pub fn new(format: &'static str, file_name: impl Into<String>) -> Self {
        Self {
            format,
            file_name: file_name.into(),
            issued: None,
            max_gap_hours: 3,
            allow_gaps: false,
            screen: true,
        }
    }
}

/// A value that was not used.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetAside {
    /// Its instant.
    pub time: DateTime<Utc>,
    /// The value, °C.
    pub value_c: f64,
    /// Why.
    pub why: String,
}

/// A run of hours without a usable air temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// Index of its first hour in the series.
    pub first_hour: usize,
    /// Its length, hours.
    pub hours: usize,
}

/// What happened on the way from readings to series.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Report {
    /// Readings handed over.
    pub readings: usize,
    /// Hours of the span without a usable air temperature, whatever was done about them.
    pub missing_hours: usize,
    /// Of these, hours in short gaps, filled by a straight line.
    pub interpolated_hours: usize,
    /// Of these, hours in longer gaps, bridged because gaps are allowed.
    pub bridged_hours: usize,
    /// Readings at an instant that another reading already covers.
    pub duplicates: usize,
    /// Of these, how many contradict it by more than 0.05 K.
    pub conflicting_duplicates: usize,
    /// Readings between the hours that gave way to one nearer to the hour.
    pub off_hour: usize,
    /// Whether the readings had to be put in order.
    pub unsorted: bool,
    /// Every gap, short or long.
    pub gaps: Vec<Gap>,
    /// Values not used, and why.
    pub set_aside: Vec<SetAside>,
}

/// Makes the hourly series of one station; `None` when there is none, and the faults say why.
///
/// Faults: `BW-S10` no usable reading (fatal), `BW-S11` gap too long (fatal, or a warning when gaps are allowed),
/// `BW-S12` gaps filled (note), `BW-S13` contradicting duplicates (warning), `BW-S14` span too long, or too long for so few
/// readings (fatal),
/// `BW-S15` values set aside (warning).
pub fn assemble(
    station: Station,
    mut readings: Vec<RawReading>,
    options: &AssembleOptions,
) -> (Option<Series>, Report, Faults) {
    let mut report = Report {
        readings: readings.len(),
        unsorted: !readings.is_sorted_by_key(|reading| reading.time_utc),
        ..Report::default()
    };
    let mut faults = Faults::new();
    let name = whose(&station);
    let fault = |code, severity, what: String| Fault::new(code, severity, what).file(options.file_name.clone());

    // Before the screen too: which of two equal values it doubts must not hang on the order of rows.
    readings.sort_by(|a, b| a.time_utc.cmp(&b.time_utc).then(preferred_first(a, b)));
    if options.screen {
        report.set_aside = super::quality::screen(&mut readings);
    }
    for reading in &mut readings {
        for value in [
            &mut reading.air_c,
            &mut reading.wind_m_s,
            &mut reading.dew_point_c,
            &mut reading.sky_cover,
        ] {
            *value = value.filter(|number| number.is_finite());
        }
        if let Some(why) = &reading.set_aside
            && let Some(value_c) = reading.air_c.take()
        {
            report.set_aside.push(SetAside {
                time: reading.time_utc,
                value_c,
                why: why.clone(),
            });
        }
    }
    report
        .set_aside
        .sort_by(|a, b| a.time.cmp(&b.time).then(a.value_c.total_cmp(&b.value_c)));
    // Stable, and by value after time, so that the order of rows never matters.
    readings.sort_by(|a, b| a.time_utc.cmp(&b.time_utc).then(preferred_first(a, b)));
    merge_duplicates(&mut readings, &mut report);

    let (Some(first), Some(last)) = (
        readings.iter().find(|reading| reading.air_c.is_some()),
        readings.iter().rfind(|reading| reading.air_c.is_some()),
    ) else {
        faults.push(
            fault(
                "BW-S10",
                Severity::Fatal,
                format!("{name} has no usable air temperature"),
            )
            .expected("at least one time with an air temperature")
            .remedy("Check the file and the column of the air temperature."),
        );
        return (None, report, faults);
    };
    let (first_hour, last_hour) = (nearest_hour(first.time_utc), nearest_hour(last.time_utc));
    if last_hour - first_hour >= MAX_HOURS {
        faults.push(
            fault(
                "BW-S14",
                Severity::Fatal,
                format!("{name} spans from {} to {}", first.time_utc, last.time_utc),
            )
            .expected("at most 200 years")
            .remedy("Look for a mistyped year."),
        );
        return (None, report, faults);
    }
    let usable = readings.iter().filter(|reading| reading.air_c.is_some()).count();
    let filled_closely = i64::try_from(usable)
        .unwrap_or(i64::MAX)
        .saturating_mul(MOST_HOURS_A_READING);
    if last_hour - first_hour >= SPARSE_FROM_HOURS.max(filled_closely) {
        faults.push(
            fault(
                "BW-S14",
                Severity::Fatal,
                format!(
                    "{name} has {usable} usable readings from {} to {}: too few for so long",
                    first.time_utc, last.time_utc
                ),
            )
            .expected("at least one reading in four days")
            .remedy("Look for a mistyped year, or give the parts of the record as files of their own."),
        );
        return (None, report, faults);
    }
    let Some(start) = DateTime::from_timestamp(first_hour * 3600, 0) else {
        faults.push(fault(
            "BW-S14",
            Severity::Fatal,
            format!("{name} begins outside the calendar"),
        ));
        return (None, report, faults);
    };
    let hours = usize::try_from(last_hour - first_hour + 1).unwrap_or(0);
    let chosen = choose(&readings, first_hour, hours, &mut report);
    let at = |hour: usize| {
        chosen
            .get(hour)
            .copied()
            .flatten()
            .and_then(|index| readings.get(index))
    };

    let column = |value: &dyn Fn(&RawReading) -> Option<f64>| -> Vec<Option<f64>> {
        (0..hours).map(|hour| at(hour).and_then(value)).collect()
    };
    let air = column(&|reading| reading.air_c);
    report.gaps = gaps_in(&air);
    for gap in &report.gaps {
        report.missing_hours += gap.hours;
        if gap.hours <= options.max_gap_hours {
            report.interpolated_hours += gap.hours;
        } else {
            report.bridged_hours += gap.hours;
        }
    }
    let interpolated: Vec<bool> = air.iter().map(Option::is_none).collect();
    let mut kinds: Vec<Option<Kind>> = (0..hours)
        .map(|hour| at(hour).filter(|r| r.air_c.is_some()).map(|r| r.kind))
        .collect();
    fill_kinds(&mut kinds);
    let series = Series {
        format: options.format,
        station,
        start,
        air_c: filled(&air, usize::MAX)
            .into_iter()
            .map(|value| value.unwrap_or(0.0))
            .collect(),
        wind_m_s: filled(&column(&|reading| reading.wind_m_s), options.max_gap_hours),
        dew_point_c: filled(&column(&|reading| reading.dew_point_c), options.max_gap_hours),
        sky_cover: filled(&column(&|reading| reading.sky_cover), options.max_gap_hours),
        kind: kinds.into_iter().map(|kind| kind.unwrap_or(Kind::Forecast)).collect(),
        interpolated,
        issued: options.issued,
    };
    tell(&series, &report, options, &name, &mut faults);
    let refused = report.bridged_hours > 0 && !options.allow_gaps;
    (if refused { None } else { Some(series) }, report, faults)
}

fn whose(station: &Station) -> String {
    if station.station_id.is_empty() {
        "the series".into()
    } else {
        format!("station {}", station.station_id)
    }
}

/// Which of two readings at one instant is used: with air, observed, colder; the rest only makes the order complete.
fn preferred_first(a: &RawReading, b: &RawReading) -> std::cmp::Ordering {
    let key = |reading: &RawReading| (reading.air_c.is_none(), reading.kind == Kind::Forecast);
    let number = |value: Option<f64>| value.unwrap_or(f64::INFINITY);
    key(a)
        .cmp(&key(b))
        .then(number(a.air_c).total_cmp(&number(b.air_c)))
        .then(number(b.wind_m_s).total_cmp(&number(a.wind_m_s)))
        .then(number(a.dew_point_c).total_cmp(&number(b.dew_point_c)))
        .then(number(a.sky_cover).total_cmp(&number(b.sky_cover)))
}

/// Keeps the first of each instant; what it lacks beside the air is taken from its duplicates.
fn merge_duplicates(readings: &mut Vec<RawReading>, report: &mut Report) {
    let before = readings.len();
    let mut conflicting = 0;
    readings.dedup_by(|later, kept| {
        let same = later.time_utc == kept.time_utc;
        if same {
            if let (Some(a), Some(b)) = (later.air_c, kept.air_c)
                && (a - b).abs() > 0.05
                && later.kind == kept.kind
            {
                conflicting += 1;
            }
            kept.wind_m_s = kept.wind_m_s.or(later.wind_m_s);
            kept.dew_point_c = kept.dew_point_c.or(later.dew_point_c);
            kept.sky_cover = kept.sky_cover.or(later.sky_cover);
        }
        same
    });
    report.duplicates = before - readings.len();
    report.conflicting_duplicates = conflicting;
}

/// Hours since the epoch of the whole hour nearest to an instant; the half hour belongs to the later hour.
fn nearest_hour(time: DateTime<Utc>) -> i64 {
    (time.timestamp() + 1800).div_euclid(3600)
}

/// For each hour the index of the reading that stands for it: with air before without, then the nearest, then the earlier.
fn choose(readings: &[RawReading], first_hour: i64, hours: usize, report: &mut Report) -> Vec<Option<usize>> {
    let mut chosen: Vec<Option<usize>> = vec![None; hours];
    let rank = |index: usize| {
        readings.get(index).map(|reading| {
            let seconds = reading.time_utc.timestamp();
            (
                reading.air_c.is_none(),
                (seconds - nearest_hour(reading.time_utc) * 3600).abs(),
            )
        })
    };
    for (index, reading) in readings.iter().enumerate() {
        let Ok(hour) = usize::try_from(nearest_hour(reading.time_utc) - first_hour) else {
            continue;
        };
        let Some(slot) = chosen.get_mut(hour) else { continue };
        match *slot {
            None => *slot = Some(index),
            Some(held) => {
                report.off_hour += 1;
                if rank(index) < rank(held) {
                    *slot = Some(index);
                }
            }
        }
    }
    chosen
}

fn gaps_in(values: &[Option<f64>]) -> Vec<Gap> {
    let mut gaps: Vec<Gap> = Vec::new();
    for (hour, value) in values.iter().enumerate() {
        if value.is_some() {
            continue;
        }
        match gaps.last_mut() {
            Some(gap) if gap.first_hour + gap.hours == hour => gap.hours += 1,
            _ => gaps.push(Gap {
                first_hour: hour,
                hours: 1,
            }),
        }
    }
    gaps
}

/// Fills gaps of at most `most` hours that have a value on both sides by a straight line.
fn filled(values: &[Option<f64>], most: usize) -> Vec<Option<f64>> {
    let mut out = values.to_vec();
    for gap in gaps_in(values) {
        if gap.hours > most {
            continue;
        }
        let before = gap
            .first_hour
            .checked_sub(1)
            .and_then(|hour| values.get(hour).copied().flatten());
        let after = values.get(gap.first_hour + gap.hours).copied().flatten();
        if let (Some(before), Some(after)) = (before, after) {
            let span = (gap.hours + 1) as f64;
            for (step, slot) in out.iter_mut().skip(gap.first_hour).take(gap.hours).enumerate() {
                *slot = Some(before + (after - before) * (step + 1) as f64 / span);
            }
        }
    }
    out
}

/// A filled hour is a forecast when either neighbour is.
fn fill_kinds(kinds: &mut [Option<Kind>]) {
    let mut next = vec![None; kinds.len()];
    let mut seen = None;
    for (slot, kind) in next.iter_mut().zip(kinds.iter()).rev() {
        seen = kind.or(seen);
        *slot = seen;
    }
    let mut before = None;
    for (kind, after) in kinds.iter_mut().zip(next) {
        if kind.is_none() {
            *kind = Some(if before == Some(Kind::Observed) && after == Some(Kind::Observed) {
                Kind::Observed
            } else {
                Kind::Forecast
            });
        } else {
            before = *kind;
        }
    }
}

fn tell(series: &Series, report: &Report, options: &AssembleOptions, name: &str, faults: &mut Faults) {
    let fault = |code, severity, what: String| Fault::new(code, severity, what).file(options.file_name.clone());
    let long: Vec<&Gap> = report
        .gaps
        .iter()
        .filter(|gap| gap.hours > options.max_gap_hours)
        .collect();
    for gap in long.iter().take(10) {
        let (from, to) = (series.time(gap.first_hour), series.time(gap.first_hour + gap.hours - 1));
        let told = fault(
            "BW-S11",
            if options.allow_gaps {
                Severity::Warning
            } else {
                Severity::Fatal
            },
            format!("{name} has no air temperature for {} h, {from} to {to}", gap.hours),
        )
        .expected(format!("gaps of at most {} h", options.max_gap_hours));
        faults.push(if options.allow_gaps {
            told.remedy("The gap was bridged by a straight line, which may hide the coldest hour.")
        } else {
            told.remedy("Find the missing hours, or give --allow-gaps to bridge them by a straight line.")
        });
    }
    if long.len() > 10 {
        faults.push(fault(
            "BW-S11",
            if options.allow_gaps {
                Severity::Warning
            } else {
                Severity::Fatal
            },
            format!("{name} has {} more gaps like these", long.len() - 10),
        ));
    }
    if report.interpolated_hours > 0 {
        faults.push(fault(
            "BW-S12",
            Severity::Note,
            format!(
                "{name}: {} h in short gaps were filled by a straight line",
                report.interpolated_hours
            ),
        ));
    }
    if report.conflicting_duplicates > 0 {
        faults.push(
            fault(
                "BW-S13",
                Severity::Warning,
                format!(
                    "{name} has {} readings that contradict another one of the same time",
                    report.conflicting_duplicates
                ),
            )
            .remedy("The colder one was used. Remove the wrong ones if you know which they are."),
        );
    }
    if !report.set_aside.is_empty() {
        faults.push(
            fault(
                "BW-S15",
                Severity::Warning,
                format!("{name}: {} values were set aside", report.set_aside.len()),
            )
            .remedy("`weather show` lists each with its reason."),
        );
    }
}
