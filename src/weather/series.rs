//! The one hourly series that every reader returns.

use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;

/// What an hour's value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Measured: carries no forecast error.
    Observed,
    /// Forecast.
    Forecast,
}

/// A weather station.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Station {
    /// Identifier as the series names it.
    pub station_id: String,
    /// Latitude, degrees north, if known.
    pub latitude_deg: Option<f64>,
    /// Longitude, degrees east, if known.
    pub longitude_deg: Option<f64>,
    /// Elevation, m, if known.
    pub elevation_m: Option<f64>,
}

/// An hourly weather series of one station, without holes: hour `i` stands for `start + i` hours.
///
/// All vectors have the same length `[hours]`. Hours that were filled by interpolation are marked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Series {
    /// Format it was read from, such as `native-csv`.
    pub format: &'static str,
    /// The station.
    pub station: Station,
    /// Time of the first hour.
    pub start: DateTime<Utc>,
    /// Air temperature, °C, `[hours]`.
    pub air_c: Vec<f64>,
    /// Wind speed at 10 m, m/s, `[hours]`; `None` where not told.
    pub wind_m_s: Vec<Option<f64>>,
    /// Dew point, °C, `[hours]`; `None` where not told.
    pub dew_point_c: Vec<Option<f64>>,
    /// Cloud cover, fraction 0 to 1, `[hours]`; `None` where not told.
    pub sky_cover: Vec<Option<f64>>,
    /// Observed or forecast, `[hours]`.
    pub kind: Vec<Kind>,
    /// Whether the hour was filled by interpolation, `[hours]`.
    pub interpolated: Vec<bool>,
    /// When the forecast was issued, if told.
    pub issued: Option<DateTime<Utc>>,
}

impl Series {
    /// Number of hours.
    pub fn hours(&self) -> usize {
        self.air_c.len()
    }

    /// Time of hour `i`.
    pub fn time(&self, i: usize) -> DateTime<Utc> {
        self.start + TimeDelta::hours(i64::try_from(i).unwrap_or(i64::MAX / 3_600_000))
    }

    /// Time of the last hour; the start when the series is empty.
    pub fn end(&self) -> DateTime<Utc> {
        self.time(self.hours().saturating_sub(1))
    }

    /// Lowest air temperature, °C, and its hour; `None` when empty.
    pub fn coldest(&self) -> Option<(usize, f64)> {
        self.air_c
            .iter()
            .copied()
            .enumerate()
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}
