//! Forecasts for days that are over, drawn around what came: a winter to rehearse with.
//!
//! Every issue is the recorded air plus an error that shrinks as the day comes near. Errors are made of steps: what is learned from one
//! issue to the next is one field of hours, alike in neighbouring hours and of no other step, so that the error that is left at an issue is
//! the sum of the steps still to come. So a forecast does not jump more from day to day than its error shrinks (the martingale model of
//! forecast evolution, judgement: the sources tell no correlation from issue to issue). How large the error is and how alike in time was
//! measured [forecast-errors] [forecast-errors-by-lead]. Wind, cloud and dew point are those that came; a dew point above the air is lowered to it.

use super::series::{Kind, Series};
use chrono::{DateTime, Timelike, Utc};
use chrono_tz::Tz;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// Lead, h, and standard deviation of the error there, K. 18 h: a city's maxima at 12 to 24 h, 3.80 °F; 48 h: 969 stations of a public ensemble
/// data set; 204 h: winters of one Alpine station at 192 to 216 h, 3.6 to 3.8 K; the beginning is judgement: what a station reads and a site
/// beside it has differ by less than a kelvin.
const SD: [(f64, f64); 4] = [(0.0, 0.7), (18.0, 2.11), (48.0, 2.66), (204.0, 3.7)];
/// Time over which a step's field forgets itself, h: with it errors at 192 h come out alike by 0.56 a day later and by 0.89 six hours later,
/// where 0.56 and 0.89 were measured at the Alpine station.
const ALIKE_H: f64 = 53.2;

/// The shortest forecast that is worth a plan, h (judgement: two nights). What the record's end cuts shorter is not written.
const SHORTEST_H: usize = 48;

/// What to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Seed: the same seed, record and zone give the same forecasts.
    pub seed: u64,
    /// Local hour of each day's issue, 0 to 23.
    pub hour: u32,
    /// Hours that a forecast reaches.
    pub reach_h: usize,
    /// The zone of that hour.
    pub zone: Tz,
}

/// Standard deviation of the error of a forecast that looks `lead_h` hours ahead, K.
pub fn sd_k(lead_h: f64) -> f64 {
    let mut before = SD[0];
    for next in SD {
        if lead_h <= next.0 {
            let width = next.0 - before.0;
            let share = if width > 0.0 { (lead_h - before.0) / width } else { 1.0 };
            return before.1 + (next.1 - before.1) * share.clamp(0.0, 1.0);
        }
        before = next;
    }
    before.1
}

/// Variance of the error at a lead, K²; nothing of it is left once the hour has come.
fn variance_k2(lead_h: f64) -> f64 {
    if lead_h < 0.0 { 0.0 } else { sd_k(lead_h).powi(2) }
}

/// Near enough a standard normal draw, of sums alone, so that it is the same on every machine.
fn normal(draw: &mut Pcg64) -> f64 {
    let unit = |draw: &mut Pcg64| (draw.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
    (0..12).map(|_| unit(draw)).sum::<f64>() - 6.0
}

/// The field of one step: standard normal hours that forget each other over [`ALIKE_H`].
fn field(seed: u64, step: usize, hours: usize) -> Vec<f64> {
    let mut draw = Pcg64::seed_from_u64(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(step as u64));
    let kept = (-1.0 / ALIKE_H).exp();
    let fresh = (1.0 - kept * kept).sqrt();
    let mut last = normal(&mut draw);
    let mut all = Vec::with_capacity(hours);
    for _ in 0..hours {
        all.push(last);
        last = kept * last + fresh * normal(&mut draw);
    }
    all
}

/// Hours of the record at which a forecast is issued: once a day, at the local hour; where a clock is put forward over it, the day has none.
fn issues(record: &Series, wish: &Wish) -> Vec<usize> {
    let mut last: Option<chrono::NaiveDate> = None;
    (0..record.hours())
        .filter(|hour| {
            let local = record.time(*hour).with_timezone(&wish.zone);
            // An hour that a clock put back has twice is taken once.
            let due = local.hour() == wish.hour && last != Some(local.date_naive());
            if due {
                last = Some(local.date_naive());
            }
            due
        })
        .collect()
}

/// The forecasts that the days of a record would have had, one a day in the order of their issue, each from its issue as far as it reaches or the
/// record goes, two days at least. A record without such an issue gives none.
///
/// Of several stations the same seed gives the same errors, as within some 20 km [forecast-errors].
pub fn reforecast(record: &Series, wish: &Wish) -> Vec<Series> {
    let issues = issues(record, wish);
    let fields: Vec<Vec<f64>> = (0..issues.len())
        .map(|step| field(wish.seed, step, wish.reach_h))
        .collect();
    (0..issues.len())
        .filter_map(|at| {
            let from = *issues.get(at)?;
            let until = (from + wish.reach_h).min(record.hours());
            if until - from < SHORTEST_H.min(wish.reach_h) {
                return None;
            }
            let air_c = (from..until)
                .map(|hour| record.air_c[hour] + error_k(hour, at, &issues, &fields))
                .collect();
            Some(cut(record, from, until, air_c))
        })
        .collect()
}

/// The error of the issue `at` for an hour of the record, K: the steps that are still to come.
fn error_k(hour: usize, at: usize, issues: &[usize], fields: &[Vec<f64>]) -> f64 {
    let mut error = 0.0;
    for step in at..issues.len() {
        let (Some(from), Some(field)) = (issues.get(step), fields.get(step)) else {
            break;
        };
        let Some(z) = hour.checked_sub(*from).and_then(|lead| field.get(lead)) else {
            break;
        };
        let lead = (hour - from) as f64;
        let next = issues.get(step + 1).map_or(-1.0, |next| hour as f64 - *next as f64);
        error += (variance_k2(lead) - variance_k2(next)).max(0.0).sqrt() * z;
    }
    error
}

/// A stretch of the record as a forecast with another air.
fn cut(record: &Series, from: usize, until: usize, air_c: Vec<f64>) -> Series {
    let stretch = |values: &[Option<f64>]| -> Vec<Option<f64>> {
        (from..until).map(|hour| values.get(hour).copied().flatten()).collect()
    };
    let dew_point_c = stretch(&record.dew_point_c)
        .into_iter()
        .zip(&air_c)
        .map(|(dew, air)| dew.map(|dew| dew.min(*air)))
        .collect();
    Series {
        format: record.format,
        station: record.station.clone(),
        start: record.time(from),
        wind_m_s: stretch(&record.wind_m_s),
        dew_point_c,
        sky_cover: stretch(&record.sky_cover),
        kind: vec![Kind::Forecast; air_c.len()],
        interpolated: vec![false; air_c.len()],
        issued: Some(record.time(from)),
        air_c,
    }
}

/// The name under which a forecast stands among others, so that names are in the order of issue.
pub fn file_name(issued: DateTime<Utc>) -> String {
    format!("{}.csv", issued.format("%Y%m%dT%H%MZ"))
}
