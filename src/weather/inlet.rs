//! The water that the main delivers, through the year, from a climate series.
//!
//! One function for all: `weather inlet`, `expansion --series` and the freeze model's supply water.

use super::daily::DailyRecord;
use super::readers::{Found, Nature};
use super::series::Series;
use crate::faults::{Fault, Severity};
use crate::physics::inlet::{coldest_mains, mains_temperature_c, warmest_mains};
use chrono::{Datelike, NaiveDate, TimeDelta};
use serde::Serialize;

/// Days that a month must have over the whole record to count (judgement: three quarters of the shortest month).
pub const LEAST_DAYS_OF_MONTH: usize = 21;
/// Readings in a day that make its mean from hours (judgement: three quarters of the day).
const LEAST_HOURS_OF_DAY: usize = 18;
/// Ordinary days of the months.
const DAYS_OF_MONTH: [f64; 12] = [31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

/// Where the climate comes from.
#[derive(Debug, Clone, Copy)]
pub enum Climate<'a> {
    /// An hourly series of a year or more.
    Hourly(&'a Series),
    /// A daily record of a year or more.
    Daily(&'a DailyRecord),
}

impl<'a> From<&'a Series> for Climate<'a> {
    fn from(series: &'a Series) -> Self {
        Climate::Hourly(series)
    }
}

impl<'a> From<&'a DailyRecord> for Climate<'a> {
    fn from(record: &'a DailyRecord) -> Self {
        Climate::Daily(record)
    }
}

/// Supply water through the year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inlet {
    /// Annual mean of the air, °C.
    pub annual_mean_air_c: f64,
    /// Coldest supply water, °C.
    pub coldest_c: f64,
    /// Day of the year on which it comes, 1 to 365.
    pub coldest_day: u16,
    /// Warmest supply water, °C.
    pub warmest_c: f64,
    /// Mean of each calendar month, °C, `[12]`, January first.
    pub by_month_c: [f64; 12],
    /// Warmest less coldest monthly mean of the air, K.
    pub monthly_range_k: f64,
    /// Whether the year runs as in the southern hemisphere.
    pub southern: bool,
    /// What to bear in mind.
    pub cautions: Vec<String>,
}

impl Inlet {
    /// Supply water on a day of the year, °C \[burch-christensen-2007\].
    pub fn on_day_c(&self, day_of_year: f64) -> f64 {
        mains_temperature_c(self.annual_mean_air_c, self.monthly_range_k, day_of_year, self.southern)
    }
}

/// Mean air temperature of each calendar month over the whole record, °C, and how many days stand behind it.
fn months(climate: Climate<'_>) -> ([f64; 12], [usize; 12]) {
    let mut sums = [0.0; 12];
    let mut days = [0_usize; 12];
    let mut take = |month: usize, mean_c: f64| {
        if let (Some(sum), Some(count)) = (sums.get_mut(month), days.get_mut(month)) {
            *sum += mean_c;
            *count += 1;
        }
    };
    match climate {
        Climate::Daily(record) => {
            for day in &record.days {
                if let (Some(min_c), Some(max_c)) = (day.min_c, day.max_c) {
                    take(day.date.month0() as usize, 0.5 * (min_c + max_c));
                }
            }
        }
        Climate::Hourly(series) => {
            // Days by the sun of the station's longitude, so that a day is a day.
            let shift = TimeDelta::minutes((series.station.longitude_deg.unwrap_or(0.0) * 4.0) as i64);
            let mut today: Option<(NaiveDate, f64, usize)> = None;
            let mut close = |today: Option<(NaiveDate, f64, usize)>| {
                if let Some((date, sum, count)) = today
                    && count >= LEAST_HOURS_OF_DAY
                {
                    take(date.month0() as usize, sum / count as f64);
                }
            };
            for (hour, (air, filled)) in series.air_c.iter().zip(&series.interpolated).enumerate() {
                let date = (series.time(hour) + shift).date_naive();
                let (sum, count) = match today {
                    Some((held, sum, count)) if held == date => (sum, count),
                    _ => {
                        close(today);
                        (0.0, 0)
                    }
                };
                today = Some(if *filled {
                    (date, sum, count)
                } else {
                    (date, sum + air, count + 1)
                });
            }
            close(today);
        }
    }
    let mut means = [0.0; 12];
    for ((mean, sum), count) in means.iter_mut().zip(sums).zip(days) {
        *mean = if count > 0 { sum / count as f64 } else { 0.0 };
    }
    (means, days)
}

/// Supply water through the year from the air of at least one whole year \[burch-christensen-2007\].
///
/// The annual mean weighs months by their days; the swing is the warmest less the coldest monthly mean. Whether the year is
/// southern is read from the data: January warmer than July.
///
/// # Errors
/// `BW-S50`: a month has fewer than 21 days, so that the record is shorter than a year.
pub fn inlet<'a>(climate: impl Into<Climate<'a>>) -> Result<Inlet, Fault> {
    let (means, days) = months(climate.into());
    let lacking: Vec<&str> = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ]
    .into_iter()
    .zip(days)
    .filter(|(_, count)| *count < LEAST_DAYS_OF_MONTH)
    .map(|(name, _)| name)
    .collect();
    if !lacking.is_empty() {
        return Err(Fault::new(
            "BW-S50",
            Severity::Fatal,
            format!("the record has fewer than {LEAST_DAYS_OF_MONTH} days of {}", lacking.join(", ")),
        )
        .expected("an hourly series or a daily record of at least one whole year")
        .remedy("Use a station's record of a year or more, or a typical year, or give the coldest supply temperature itself."));
    }
    let annual_mean_air_c = means
        .iter()
        .zip(DAYS_OF_MONTH)
        .map(|(mean, days)| mean * days)
        .sum::<f64>()
        / 365.25;
    let coldest_month = means.iter().copied().fold(f64::INFINITY, f64::min);
    let warmest_month = means.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let monthly_range_k = warmest_month - coldest_month;
    let southern = means.first() > means.get(6);
    let (coldest_day, coldest_c) = coldest_mains(annual_mean_air_c, monthly_range_k, southern);
    let (_, warmest_c) = warmest_mains(annual_mean_air_c, monthly_range_k, southern);
    let mut sums = [(0.0, 0.0); 12];
    let mut date = NaiveDate::from_ymd_opt(2001, 1, 1);
    for day in 1..=365 {
        let water = mains_temperature_c(annual_mean_air_c, monthly_range_k, f64::from(day), southern);
        if let Some(slot) = date.and_then(|date| sums.get_mut(date.month0() as usize)) {
            slot.0 += water;
            slot.1 += 1.0;
        }
        date = date.and_then(|date| date.succ_opt());
    }
    let mut cautions = vec![
        "A norm for water in mains: surface supplies and cold snaps below the norm can be several degrees colder."
            .to_owned(),
    ];
    if coldest_c < 1.0 {
        cautions.push(
            "The formula falls to the freezing point here and is held at 0 °C; ask the utility for its coldest supply."
                .into(),
        );
    }
    if !(0.0..=27.0).contains(&annual_mean_air_c) {
        cautions.push("The annual mean of the air is outside the climates that the formula was fitted to (judgement: 0 to 27 °C).".into());
    }
    Ok(Inlet {
        annual_mean_air_c,
        coldest_c,
        coldest_day,
        warmest_c,
        by_month_c: sums.map(|(sum, count)| if count > 0.0 { sum / count } else { 0.0 }),
        monthly_range_k,
        southern,
        cautions,
    })
}

/// Supply water from what a reader found: its daily record or its hours, with a caution for typical years and normals.
///
/// # Errors
/// `BW-S50` as [`inlet`]; `BW-S10` when the reader found nothing.
pub fn inlet_of(found: &Found) -> Result<Inlet, Fault> {
    let mut answer = match (&found.daily, &found.series) {
        (Some(record), _) => inlet(record)?,
        (None, Some(series)) => inlet(series)?,
        (None, None) => {
            return Err(
                Fault::new("BW-S10", Severity::Fatal, "the file has no usable air temperature")
                    .expected("an hourly series or a daily record of at least one whole year"),
            );
        }
    };
    match found.nature {
        Nature::Record => {}
        Nature::TypicalYear => answer
            .cautions
            .push("From a typical year: right for the norm, silent about unusual winters.".into()),
        Nature::Normals => answer
            .cautions
            .push("From climate normals: right for the norm, silent about unusual winters.".into()),
    }
    Ok(answer)
}
