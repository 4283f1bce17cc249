//! Sunrise and sunset from astronomy, for the shape of a day and for the hours a person can work in daylight.

use chrono::{DateTime, Datelike, Days, NaiveDate, TimeDelta, Utc};
use std::f64::consts::PI;

/// Zenith angle of the sun's center at rise and set, degrees: radius of the disk and refraction at the horizon \[noaa-solar\].
pub const RISE_SET_ZENITH_DEG: f64 = 90.833;

/// What the sun does on one day at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Daylight {
    /// It rises and sets. Both in hours of the given clock; sunset may be past 24 or sunrise below 0 where the
    /// clock is far from the sun.
    RisesAndSets {
        /// Sunrise, h.
        sunrise_h: f64,
        /// Sunset, h.
        sunset_h: f64,
    },
    /// It stays up all day.
    AlwaysUp,
    /// It stays down all day.
    AlwaysDown,
}

/// Sunrise and sunset on a day of the year \[noaa-solar\].
///
/// The fractional year `y = 2π/365 (day − 1)` gives the equation of time and the declination as Fourier series; the hour
/// angle is `acos(cos 90.833° / (cos φ cos δ) − tan φ tan δ)`.
///
/// # Arguments
/// - `latitude_deg` \[degrees north, −90 to 90\], `longitude_deg` \[degrees east, −180 to 180\]; outside values are clamped.
/// - `day_of_year` \[1 to 366\].
/// - `utc_offset_h` \[h\]: the clock that the answer is in.
///
/// Good to 5 minutes between 60° south and north (measured in `tests/weather_sun.rs`).
pub fn daylight(latitude_deg: f64, longitude_deg: f64, day_of_year: f64, utc_offset_h: f64) -> Daylight {
    let finite = |value: f64, low: f64, high: f64| if value.is_finite() { value.clamp(low, high) } else { 0.0 };
    let latitude = finite(latitude_deg, -89.9, 89.9).to_radians();
    let longitude_deg = finite(longitude_deg, -180.0, 180.0);
    let utc_offset_h = finite(utc_offset_h, -26.0, 26.0);
    let y = 2.0 * PI / 365.0 * (finite(day_of_year, 1.0, 366.0) - 1.0);
    let equation_of_time_min = 229.18
        * (0.000_075 + 0.001_868 * y.cos()
            - 0.032_077 * y.sin()
            - 0.014_615 * (2.0 * y).cos()
            - 0.040_849 * (2.0 * y).sin());
    let declination = 0.006_918 - 0.399_912 * y.cos() + 0.070_257 * y.sin() - 0.006_758 * (2.0 * y).cos()
        + 0.000_907 * (2.0 * y).sin()
        - 0.002_697 * (3.0 * y).cos()
        + 0.001_48 * (3.0 * y).sin();
    let cosine = RISE_SET_ZENITH_DEG.to_radians().cos() / (latitude.cos() * declination.cos())
        - latitude.tan() * declination.tan();
    if cosine >= 1.0 {
        return Daylight::AlwaysDown;
    }
    if cosine <= -1.0 {
        return Daylight::AlwaysUp;
    }
    let half_day_h = cosine.acos().to_degrees() / 15.0;
    let noon_h = 12.0 - longitude_deg / 15.0 - equation_of_time_min / 60.0 + utc_offset_h;
    Daylight::RisesAndSets {
        sunrise_h: noon_h - half_day_h,
        sunset_h: noon_h + half_day_h,
    }
}

/// Sunrise and sunset as instants, for the day whose noon at that longitude falls on `date`; `None` where the sun does
/// not rise or not set on it.
///
/// ```
/// use chrono::NaiveDate;
/// let date = NaiveDate::from_ymd_opt(2026, 2, 5).unwrap();
/// let (sunrise, sunset) = brimwater::weather::sun::sunrise_sunset(36.1, -79.95, date).unwrap();
/// // Hours of the clock five hours behind UTC: 7.30 and 17.82 (weather check table, one station of the Carolinas).
/// assert!((sunrise.format("%H:%M").to_string().as_str()) == "12:17");
/// assert!((sunset.format("%H:%M").to_string().as_str()) == "22:49");
/// ```
pub fn sunrise_sunset(
    latitude_deg: f64,
    longitude_deg: f64,
    date: NaiveDate,
) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let Daylight::RisesAndSets { sunrise_h, sunset_h } =
        daylight(latitude_deg, longitude_deg, f64::from(date.ordinal()), 0.0)
    else {
        return None;
    };
    let midnight = date.and_hms_opt(0, 0, 0)?.and_utc();
    let at = |hours: f64| midnight.checked_add_signed(TimeDelta::seconds((hours * 3600.0).round() as i64));
    Some((at(sunrise_h)?, at(sunset_h)?))
}

/// The last sunset at or before, and the next sunrise after, an instant: the night (or the day's end) around it.
/// Looks two days either way; `None` in polar day and night.
pub fn last_sunset_next_sunrise(
    latitude_deg: f64,
    longitude_deg: f64,
    at: DateTime<Utc>,
) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let first = at.date_naive().checked_sub_days(Days::new(2))?;
    let mut sunset = None;
    for ahead in 0..5 {
        let Some((rise, set)) = sunrise_sunset(latitude_deg, longitude_deg, first.checked_add_days(Days::new(ahead))?)
        else {
            continue;
        };
        if let (Some(set_before), true) = (sunset, rise > at) {
            return Some((set_before, rise));
        }
        if set <= at {
            sunset = Some(set);
        }
    }
    None
}
