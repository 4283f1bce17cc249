//! The daily record: minimum and maximum of each observation day, and hours made from them.

use super::assemble::{AssembleOptions, RawReading, Report, SetAside, assemble};
use super::diurnal::{Day, HOURS_BELOW_UNCERTAINTY_H, Shape, temperature_c};
use super::series::{Kind, Series, Station};
use super::sun::{Daylight, daylight};
use super::{neighbours, quality};
use crate::faults::{Fault, Faults, Severity};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};

/// One observation day.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyDay {
    /// Date as the record names it.
    pub date: NaiveDate,
    /// Minimum, °C.
    pub min_c: Option<f64>,
    /// Maximum, °C.
    pub max_c: Option<f64>,
    /// Local hour of the observation, h, if told: a morning observer's maximum belongs to the day before.
    pub observed_at_h: Option<f64>,
}

/// A station's daily minima and maxima, sorted by date, one entry a date, dates without a reading left out.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyRecord {
    /// Format it was read from, such as `ghcn-daily`.
    pub format: &'static str,
    /// The station.
    pub station: Station,
    /// The days.
    pub days: Vec<DailyDay>,
    /// Values not used, and why.
    pub set_aside: Vec<SetAside>,
    /// Minima that are used and hardly to be believed, and why.
    pub doubtful: Vec<SetAside>,
    /// Dates that were told more than once with different values; the colder minimum was used.
    pub conflicting_days: usize,
}

/// Middle latitude that stands in when the station's is not told, degrees (judgement: the hour of sunrise in January changes by
/// 20 minutes from 30 to 40 degrees).
const LATITUDE_UNKNOWN_DEG: f64 = 35.0;

impl DailyRecord {
    /// Sorts, merges dates told twice, and screens.
    pub fn new(format: &'static str, station: Station, mut days: Vec<DailyDay>, mut set_aside: Vec<SetAside>) -> Self {
        for day in &mut days {
            day.min_c = day.min_c.filter(|value| value.is_finite());
            day.max_c = day.max_c.filter(|value| value.is_finite());
        }
        days.sort_by_key(|day| day.date);
        let mut conflicting_days = 0;
        days.dedup_by(|later, kept| {
            let same = later.date == kept.date;
            if same {
                let differ =
                    |a: Option<f64>, b: Option<f64>| matches!((a, b), (Some(a), Some(b)) if (a - b).abs() > 0.05);
                if differ(later.min_c, kept.min_c) || differ(later.max_c, kept.max_c) {
                    conflicting_days += 1;
                }
                let either = |a: Option<f64>, b: Option<f64>, pick: fn(f64, f64) -> f64| match (a, b) {
                    (Some(a), Some(b)) => Some(pick(a, b)),
                    _ => a.or(b),
                };
                kept.min_c = either(kept.min_c, later.min_c, f64::min);
                kept.max_c = either(kept.max_c, later.max_c, f64::max);
                kept.observed_at_h = kept.observed_at_h.or(later.observed_at_h);
            }
            same
        });
        set_aside.append(&mut quality::screen_days(&mut days));
        set_aside.sort_by(|a, b| a.time.cmp(&b.time).then(a.value_c.total_cmp(&b.value_c)));
        days.retain(|day| day.min_c.is_some() || day.max_c.is_some());
        let doubtful = neighbours::doubtful(&days);
        Self {
            format,
            station,
            days,
            set_aside,
            doubtful,
            conflicting_days,
        }
    }

    /// First and last date; `None` when empty.
    pub fn span(&self) -> Option<(NaiveDate, NaiveDate)> {
        Some((self.days.first()?.date, self.days.last()?.date))
    }

    /// Days of the span without a minimum.
    pub fn missing_days(&self) -> usize {
        let Some((first, last)) = self.span() else { return 0 };
        let span = usize::try_from((last - first).num_days() + 1).unwrap_or(0);
        span.saturating_sub(self.days.iter().filter(|day| day.min_c.is_some()).count())
    }

    /// Lowest minimum and its date; the earliest of equals.
    pub fn coldest(&self) -> Option<(NaiveDate, f64)> {
        self.days
            .iter()
            .filter_map(|day| Some((day.date, day.min_c?)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Hours from the station's standard time to UTC, from its longitude; 0 when that is not told.
    pub fn utc_offset_h(&self) -> f64 {
        self.station
            .longitude_deg
            .map_or(0.0, |longitude| (longitude / 15.0).round().clamp(-12.0, 14.0))
    }

    /// Minimum and maximum of each calendar day, the maxima of morning observers moved to the day before, where they belong.
    fn calendar_days(&self) -> Vec<(NaiveDate, Option<f64>, Option<f64>)> {
        self.days
            .iter()
            .enumerate()
            .map(|(at, day)| {
                let morning = |day: &DailyDay| day.observed_at_h.is_some_and(|hour| (3.0..=11.0).contains(&hour));
                let max_c = if morning(day) {
                    self.days
                        .get(at + 1)
                        .filter(|next| (next.date - day.date).num_days() == 1 && morning(next))
                        .and_then(|next| next.max_c)
                } else {
                    day.max_c
                };
                // A maximum moved under its minimum shows that the guess about the observer was wrong.
                let max_c = max_c.filter(|max| day.min_c.is_none_or(|min| *max >= min));
                (day.date, day.min_c, max_c)
            })
            .collect()
    }

    /// Hours of each day that has minimum and maximum, in the station's standard time: `[day][24]`, °C, with its date.
    pub fn hours_by_day(&self, shape: Shape) -> Vec<(NaiveDate, [f64; 24])> {
        let days = self.calendar_days();
        let latitude = self.station.latitude_deg.unwrap_or(LATITUDE_UNKNOWN_DEG);
        // The sun by day of the year, on a clock of its own: sunrise at noon less half the day.
        let sun: Vec<(f64, f64)> = (1..=366)
            .map(|day| match daylight(latitude, 0.0, f64::from(day), 0.0) {
                Daylight::RisesAndSets { sunrise_h, sunset_h } => (sunrise_h, sunset_h),
                // Where the sun does not rise or set a day of 6 or 18 h keeps the shapes defined (judgement).
                Daylight::AlwaysDown => (9.0, 15.0),
                Daylight::AlwaysUp => (3.0, 21.0),
            })
            .collect();
        // Standard time runs ahead of or behind the sun by what the longitude leaves over.
        let clock_shift_h = self
            .station
            .longitude_deg
            .map_or(0.0, |longitude| self.utc_offset_h() - longitude / 15.0);
        let mut out = Vec::with_capacity(days.len());
        for (at, (date, min_c, max_c)) in days.iter().enumerate() {
            let (Some(min_c), Some(max_c)) = (*min_c, *max_c) else {
                continue;
            };
            let beside = |index: Option<usize>, distance: i64| {
                index
                    .and_then(|index| days.get(index))
                    .filter(|other| (other.0 - *date).num_days() == distance)
            };
            let (sunrise_h, sunset_h) = sun.get(date.ordinal0() as usize).copied().unwrap_or((7.0, 17.0));
            let day = Day {
                sunrise_h: sunrise_h + clock_shift_h,
                sunset_h: sunset_h + clock_shift_h,
                min_c,
                max_c,
                previous_max_c: beside(at.checked_sub(1), -1).and_then(|other| other.2).unwrap_or(max_c),
                next_min_c: beside(Some(at + 1), 1).and_then(|other| other.1).unwrap_or(min_c),
            };
            let mut hours = [0.0; 24];
            for (hour, slot) in hours.iter_mut().enumerate() {
                *slot = temperature_c(shape, &day, hour as f64);
            }
            // The night curve does not quite reach the minimum: the hour nearest to sunrise is given it, for the minimum was measured.
            let coldest_hour = (sunrise_h + clock_shift_h).round().clamp(0.0, 23.0) as usize;
            if let Some(slot) = hours.get_mut(coldest_hour) {
                *slot = slot.min(min_c);
            }
            out.push((*date, hours));
        }
        out
    }

    /// An hourly series made from the daily values, told as a warning with the uncertainty that it carries.
    ///
    /// Faults: `BW-S20` made from daily values (warning), `BW-S21` no day has both values (fatal), and those of [`assemble`].
    pub fn to_hourly(&self, shape: Shape, file_name: &str, allow_gaps: bool) -> (Option<Series>, Report, Faults) {
        let offset = TimeDelta::seconds((self.utc_offset_h() * 3600.0) as i64);
        let readings: Vec<RawReading> = self
            .hours_by_day(shape)
            .iter()
            .flat_map(|(date, hours)| {
                let midnight: DateTime<Utc> = date.and_time(chrono::NaiveTime::MIN).and_utc() - offset;
                hours.iter().enumerate().map(move |(hour, air_c)| {
                    RawReading::of_air(midnight + TimeDelta::hours(hour as i64), *air_c, Kind::Observed)
                })
            })
            .collect();
        let mut faults = Faults::new();
        if readings.is_empty() {
            faults.push(
                Fault::new("BW-S21", Severity::Fatal, "no day has both a minimum and a maximum")
                    .file(file_name)
                    .expected("daily minima and maxima of the same days"),
            );
            return (None, Report::default(), faults);
        }
        faults.push(
            Fault::new(
                "BW-S20",
                Severity::Warning,
                format!(
                    "the hours were made from daily minima and maxima; hours below a threshold are uncertain by about ±{HOURS_BELOW_UNCERTAINTY_H:.0} h a day"
                ),
            )
            .file(file_name)
            .remedy("Use an hourly record where there is one."),
        );
        let mut options = AssembleOptions::new(self.format, file_name);
        options.allow_gaps = allow_gaps;
        // The days were screened already, and a reconstructed night may look like a spike.
        options.screen = false;
        let (series, report, told) = assemble(self.station.clone(), readings, &options);
        faults.append(told);
        (series, report, faults)
    }
}
