//! How cold it gets and how often: winters, return levels by two methods, bands, trend, design temperatures.

use super::gev::{bootstrap_bands, fit_minima, mean_and_sd, n_year_minimum_c};
use super::leverage::{Leverage, leverages};
use super::readers::{Found, Nature};
use super::series::Series;
use super::trend::{Trend, trend};
use super::winters::{Winter, of_days, of_hours};
use super::{DailyRecord, normals};
use crate::faults::{Fault, Faults, Severity};
use chrono::Datelike;
use std::collections::BTreeMap;

/// Fewest complete winters that return levels are computed from (judgement: below it the shape of the tail is noise).
pub const LEAST_WINTERS: usize = 10;
/// Return periods that are told, years.
pub const RETURN_YEARS: [f64; 6] = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
/// Fewest complete years of hours for the 99.6 % and 99 % design temperatures (from memory of the handbook's chapter: 8 years).
pub const LEAST_DESIGN_YEARS: usize = 8;
/// Share of a year's hours that makes it complete for the design temperatures (judgement).
const COMPLETE_YEAR_SHARE: f64 = 0.9;
/// Bootstrap replicates (judgement: the band's ends move by less than its rounding).
const REPLICATES: usize = 1000;
/// Tail outside the band on either side: a 90 % band.
const TAIL: f64 = 0.05;
/// Seed of the bootstrap: the same record gives the same bytes.
const SEED: u64 = 20_260_124;
/// The trend is warned of below this p-value (judgement, the usual one).
const TREND_P: f64 = 0.05;

/// Coldest night of one return period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReturnLevel {
    /// Return period, years.
    pub years: f64,
    /// By the extreme value distribution, °C; `None` when it cannot be fitted.
    pub gev_c: Option<f64>,
    /// Colder end of its 90 % band, °C.
    pub gev_low_c: Option<f64>,
    /// Warmer end of its 90 % band, °C.
    pub gev_high_c: Option<f64>,
    /// By the handbook's n-year formula, °C.
    pub handbook_c: f64,
}

/// What a record says about cold extremes.
#[derive(Debug, Clone, PartialEq)]
pub struct Extremes {
    /// Complete winters, from which the levels come.
    pub seasons: usize,
    /// Levels for [`RETURN_YEARS`].
    pub return_levels: Vec<ReturnLevel>,
    /// Trend of the coldest nights, by year.
    pub trend: Option<Trend>,
    /// All winters, incomplete ones too.
    pub winters: Vec<Winter>,
    /// Air temperature exceeded in 99.6 % and 99 % of all hours, °C, where hours suffice.
    pub design_c: Option<(f64, f64)>,
    /// Values that were set aside or are doubted and that move the levels.
    pub leverage: Vec<Leverage>,
    /// What to bear in mind.
    pub cautions: Vec<String>,
}

/// Winters of what the readers found, from one station.
///
/// # Errors
/// `BW-S51` typical years or normals (fatal); `BW-S52` several stations (fatal); `BW-S10` nothing to count (fatal).
pub fn winters(found: &[Found]) -> Result<Vec<Winter>, Faults> {
    let mut faults = Faults::new();
    for one in found {
        let smooth = one.series.as_ref().is_some_and(normals::are_normals);
        let what = match one.nature {
            Nature::TypicalYear => Some("a typical year leaves extremes out on purpose"),
            Nature::Normals => Some("climate normals hold no weather"),
            Nature::Record if smooth => Some("the values are as smooth as climate normals and hold no weather"),
            Nature::Record => None,
        };
        if let Some(what) = what {
            faults.push(
                Fault::new(
                    "BW-S51",
                    Severity::Fatal,
                    format!("{what}: it cannot tell how often it freezes"),
                )
                .expected("a station's own record over many winters")
                .remedy("`weather inlet` takes such a file; `weather extremes` does not."),
            );
        }
    }
    let mut names: Vec<&str> = found
        .iter()
        .map(|one| one.station.station_id.as_str())
        .filter(|name| !name.is_empty())
        .collect();
    names.sort_unstable();
    names.dedup();
    if names.len() > 1 {
        faults.push(
            Fault::new(
                "BW-S52",
                Severity::Fatal,
                format!("the files hold several stations: {}", names.join(", ")),
            )
            .expected("one station")
            .remedy("Name one with --station."),
        );
    }
    if faults.is_fatal() {
        return Err(faults);
    }
    let hourly: Vec<&Series> = found.iter().filter_map(|one| one.series.as_ref()).collect();
    let daily: Vec<&DailyRecord> = found.iter().filter_map(|one| one.daily.as_ref()).collect();
    let southern = is_southern(found);
    // Hours are better evidence than hours made from days: a season that has both is counted from its hours.
    let mut all: BTreeMap<i32, Winter> = of_days(&daily, southern)
        .into_iter()
        .map(|winter| (winter.season, winter))
        .collect();
    for winter in of_hours(&hourly, southern) {
        match all.get(&winter.season) {
            Some(held) if held.coverage > winter.coverage => {}
            _ => {
                all.insert(winter.season, winter);
            }
        }
    }
    if all.is_empty() {
        faults.push(
            Fault::new("BW-S10", Severity::Fatal, "no winter could be read from the files")
                .expected("a station's hourly or daily record"),
        );
        return Err(faults);
    }
    Ok(all.into_values().collect())
}

/// Whether the winter is the southern one: by the latitude, or by the months themselves where that is not told.
fn is_southern(found: &[Found]) -> bool {
    let hourly: Vec<&Series> = found.iter().filter_map(|one| one.series.as_ref()).collect();
    let daily: Vec<&DailyRecord> = found.iter().filter_map(|one| one.daily.as_ref()).collect();
    found
        .iter()
        .find_map(|one| one.station.latitude_deg)
        .map_or_else(|| july_is_colder(&hourly, &daily), |latitude| latitude < 0.0)
}

/// Whether July is colder than January: the southern year, for stations whose latitude is not told.
fn july_is_colder(hourly: &[&Series], daily: &[&DailyRecord]) -> bool {
    let (mut january, mut july) = ((0.0, 0.0), (0.0, 0.0));
    let mut take = |month: u32, value: f64| {
        let slot = match month {
            1 => &mut january,
            7 => &mut july,
            _ => return,
        };
        slot.0 += value;
        slot.1 += 1.0;
    };
    for series in hourly {
        for (hour, air) in series.air_c.iter().enumerate().step_by(5) {
            take(series.time(hour).month(), *air);
        }
    }
    for day in daily.iter().flat_map(|record| &record.days) {
        if let Some(min_c) = day.min_c {
            take(day.date.month(), min_c);
        }
    }
    january.1 > 0.0 && july.1 > 0.0 && july.0 / july.1 < january.0 / january.1
}

/// Return levels, trend and design temperatures of what the readers found, from one station.
///
/// # Errors
/// Those of [`winters`], and `BW-S53` fewer than [`LEAST_WINTERS`] complete winters (fatal).
pub fn extremes(found: &[Found]) -> Result<Extremes, Faults> {
    let winters = winters(found)?;
    let complete: Vec<&Winter> = winters.iter().filter(|winter| winter.is_complete()).collect();
    let minima: Vec<f64> = complete.iter().map(|winter| winter.min_c).collect();
    if minima.len() < LEAST_WINTERS {
        let mut faults = Faults::new();
        faults.push(
            Fault::new(
                "BW-S53",
                Severity::Fatal,
                format!(
                    "the record has {} complete winters of {}; return periods need at least {LEAST_WINTERS}",
                    minima.len(),
                    winters.len()
                ),
            )
            .expected("winters with nine tenths of their cold months")
            .remedy("Use a longer record, give more files of the station, or ask for --winters-only."),
        );
        return Err(faults);
    }
    let mut cautions = Vec::new();
    let gev = fit_minima(&minima);
    let bands = gev.and_then(|gev| bootstrap_bands(&gev, minima.len(), &RETURN_YEARS, REPLICATES, TAIL, SEED));
    if gev.is_none() {
        cautions.push(
            "The coldest nights are too alike for an extreme value distribution; only the handbook's formula is given."
                .into(),
        );
    }
    let (mean_c, sd_k) = mean_and_sd(&minima).unwrap_or((minima.first().copied().unwrap_or(0.0), 0.0));
    let return_levels = RETURN_YEARS
        .iter()
        .enumerate()
        .map(|(at, years)| {
            let band = bands.as_ref().and_then(|bands| bands.get(at)).copied();
            ReturnLevel {
                years: *years,
                gev_c: gev.map(|gev| gev.minimum_c(*years)),
                gev_low_c: band.map(|band| band.0),
                gev_high_c: band.map(|band| band.1),
                handbook_c: n_year_minimum_c(mean_c, sd_k, *years),
            }
        })
        .collect();
    if let Some(years) = RETURN_YEARS.iter().find(|years| **years > 2.0 * minima.len() as f64) {
        cautions.push(format!(
            "The record has {} winters: levels for {years:.0} years and more reach far beyond it.",
            minima.len()
        ));
    }
    if minima.len() < 30 {
        cautions.push(format!(
            "With {} winters the shape of the tail is uncertain; compare both methods and the band.",
            minima.len()
        ));
    }
    let points: Vec<(f64, f64)> = complete
        .iter()
        .map(|winter| (f64::from(winter.season), winter.min_c))
        .collect();
    let trend = trend(&points);
    if let Some(moving) = trend.filter(|trend| trend.p_value < TREND_P) {
        cautions.push(format!(
            "The coldest nights changed by {:+.1} K a decade (rank test p = {:.3}): return levels assume that nothing changes. Compare the recent winters with the old ones.",
            moving.slope * 10.0,
            moving.p_value
        ));
    }
    let incomplete: Vec<String> = winters
        .iter()
        .filter(|winter| !winter.is_complete())
        .map(|winter| winter.season.to_string())
        .collect();
    if !incomplete.is_empty() {
        let shown = if incomplete.len() > 12 {
            format!("{} and {} more", incomplete[..12].join(", "), incomplete.len() - 12)
        } else {
            incomplete.join(", ")
        };
        cautions.push(format!(
            "Left out of the levels for gaps in their cold months: {shown}."
        ));
    }
    if complete.iter().any(|winter| winter.hours_uncertainty > 0.0) {
        cautions.push(
            "Hours were made from daily minima and maxima; each winter's carry the uncertainty shown beside them."
                .into(),
        );
    }
    let leverage = leverages(found, &complete, is_southern(found));
    if leverage.iter().any(|one| one.used) {
        cautions
            .push("The levels hang on a value that is hardly to be believed; see what hangs on single values.".into());
    }
    let hourly: Vec<&Series> = found.iter().filter_map(|one| one.series.as_ref()).collect();
    Ok(Extremes {
        leverage,
        seasons: minima.len(),
        return_levels,
        trend,
        winters,
        design_c: design_temperatures(&hourly),
        cautions,
    })
}

/// Air temperatures exceeded in 99.6 % and 99 % of all hours of the complete years, °C: 35 and 88 hours a year are colder.
fn design_temperatures(series: &[&Series]) -> Option<(f64, f64)> {
    let mut years: BTreeMap<i32, Vec<f64>> = BTreeMap::new();
    let mut next = None;
    let mut parts: Vec<&&Series> = series.iter().collect();
    parts.sort_by_key(|one| one.start);
    for one in parts {
        for (hour, (air, filled)) in one.air_c.iter().zip(&one.interpolated).enumerate() {
            let time = one.time(hour);
            if *filled || next.is_some_and(|next| time < next) {
                continue;
            }
            next = Some(time + chrono::TimeDelta::hours(1));
            years.entry(time.year()).or_default().push(*air);
        }
    }
    years.retain(|_, hours| hours.len() as f64 >= COMPLETE_YEAR_SHARE * 8760.0);
    if years.len() < LEAST_DESIGN_YEARS {
        return None;
    }
    let mut all: Vec<f64> = years.into_values().flatten().collect();
    all.sort_by(f64::total_cmp);
    let at = |share: f64| super::gev::sorted_quantile(&all, share);
    Some((at(0.004), at(0.01)))
}
