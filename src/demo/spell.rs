//! A week of weather with a two-night hard freeze: invented, in the shape that such weeks have.
//!
//! A mild start; a front with cloud and wind on the third afternoon; a first cold night with wind, in
//! which the ridge is coldest; a second one, clear and calm, in which cold air drains off the ridge and
//! the water keeps the bay milder; then a thaw.

use super::Wish;
use super::ZONE;
use super::draw::Draw;
use super::town::STATIONS;
use chrono::{NaiveDate, TimeDelta, TimeZone};

/// Hours of the forecast.
pub const HOURS: usize = 7 * 24;

/// Turning points of the airfield: local hour from the start, air °F, wind mph, dew point below the air °F, cloud %.
/// Minima come at 7, maxima at 15, as they do in January.
const TURNS: [(f64, f64, f64, f64, f64); 21] = [
    (0.0, 47.0, 6.0, 4.0, 30.0),
    (7.0, 42.0, 4.0, 2.0, 20.0),
    (15.0, 59.0, 8.0, 14.0, 30.0),
    (31.0, 45.0, 5.0, 2.0, 45.0),
    (39.0, 62.0, 11.0, 10.0, 60.0),
    (55.0, 52.0, 10.0, 3.0, 95.0),
    (60.0, 56.0, 15.0, 5.0, 100.0),
    (63.0, 46.0, 22.0, 8.0, 100.0),
    (66.0, 36.0, 21.0, 9.0, 85.0),
    (72.0, 30.0, 18.0, 10.0, 50.0),
    (79.0, 25.0, 15.0, 10.0, 20.0),
    (87.0, 38.0, 10.0, 16.0, 5.0),
    (90.0, 34.0, 4.0, 12.0, 0.0),
    (96.0, 27.0, 2.0, 6.0, 0.0),
    (103.0, 22.0, 1.0, 3.0, 0.0),
    (111.0, 42.0, 5.0, 18.0, 5.0),
    (127.0, 33.0, 3.0, 4.0, 20.0),
    (135.0, 53.0, 8.0, 14.0, 40.0),
    (151.0, 39.0, 6.0, 3.0, 60.0),
    (159.0, 60.0, 9.0, 12.0, 50.0),
    (168.0, 48.0, 6.0, 5.0, 40.0),
];

/// How much of each regime an hour has: windy cold (first night) and calm cold (second night), 0 to 1.
fn regimes(hour: f64) -> (f64, f64) {
    let hump = |from: f64, top: f64, to: f64| {
        if hour <= from || hour >= to {
            0.0
        } else if hour < top {
            smooth((hour - from) / (top - from))
        } else {
            smooth((to - hour) / (to - top))
        }
    };
    (hump(62.0, 74.0, 86.0), hump(88.0, 102.0, 109.0))
}

/// 0 to 1 with level ends: only sums and products, so that it is the same on every machine.
fn smooth(x: f64) -> f64 {
    x * x * (3.0 - 2.0 * x)
}

fn at(hour: f64, value: impl Fn(&(f64, f64, f64, f64, f64)) -> f64) -> f64 {
    for pair in TURNS.windows(2) {
        if let [before, after] = pair
            && hour <= after.0
        {
            let share = ((hour - before.0) / (after.0 - before.0)).clamp(0.0, 1.0);
            return value(before) + (value(after) - value(before)) * smooth(share);
        }
    }
    TURNS.last().map_or(0.0, value)
}

/// `forecast.csv`: whole degrees and miles per hour, as forecasts come.
pub fn csv(wish: &Wish) -> String {
    hours(wish, "forecast", &|_| 0.0)
}

/// A week of hours, all of one `kind`, the air of each shifted by `shift_f` of its hour from the start, °F.
pub(super) fn hours(wish: &Wish, kind: &str, shift_f: &dyn Fn(f64) -> f64) -> String {
    let mut text = String::from("station_id,time,air_temp_f,wind_mph,dew_point_f,sky_cover_percent,kind\n");
    for (index, (id, ..)) in STATIONS.iter().enumerate() {
        let mut draw = Draw::new(wish.seed, 100 + index as u64);
        for step in 0..HOURS {
            let row = row(id, (index, step), wish.first_day, (kind, shift_f), &mut draw);
            // As happens: two hours lacking on a mild afternoon, and a row told twice.
            if index == 2 && (38..40).contains(&step) {
                continue;
            }
            text.push_str(&row);
            if index == 1 && step == 20 {
                text.push_str(&row);
            }
        }
    }
    text
}

fn row(
    id: &str,
    (station, step): (usize, usize),
    first_day: NaiveDate,
    (kind, shift_f): (&str, &dyn Fn(f64) -> f64),
    draw: &mut Draw,
) -> String {
    let hour = step as f64;
    let (windy, calm) = regimes(hour);
    // Ridge: colder in the wind for its height, above the cold pool when calm. Bay: the water warms both nights.
    let (offset, wind_factor) = match station {
        1 => (-1.5 - 0.5 * windy + 5.5 * calm, 1.25),
        2 => (1.0 + 1.5 * windy + 6.0 * calm, 1.15),
        _ => (0.0, 1.0),
    };
    let air = at(hour, |turn| turn.1) + offset + shift_f(hour) + draw.unit() - 0.5;
    let wind = (at(hour, |turn| turn.2) * wind_factor + draw.unit() - 0.5).max(0.0);
    let dew = air - at(hour, |turn| turn.3).max(1.0);
    let sky = (at(hour, |turn| turn.4) + 6.0 * (draw.unit() - 0.5)).clamp(0.0, 100.0);
    let midnight = first_day.and_time(chrono::NaiveTime::MIN);
    // January has no fold or gap in this zone; another start day that has keeps to elapsed hours.
    let start = ZONE
        .from_local_datetime(&midnight)
        .earliest()
        .unwrap_or_else(|| ZONE.from_utc_datetime(&midnight));
    let time = start + TimeDelta::hours(step as i64);
    format!(
        "{id},{},{air:.0},{wind:.0},{dew:.0},{sky:.0},{kind}\n",
        time.format("%Y-%m-%dT%H:%M:%S%:z")
    )
}
