//! The weather of one station as the members see it, cut to the hours that matter.
//!
//! Numbers without a tag of their own: which hours are worth a simulation (judgement).

use super::config::{EnsembleConfig, FreezeConfig};
use super::members::{Members, error_size_k};
use crate::physics::air::SEA_LEVEL_PA;
use crate::physics::near_ground;
use crate::physics::sky::{self, SkyModel};
use crate::units::ZERO_C_IN_K;
use crate::weather::{Kind, Series};
use chrono::{DateTime, Datelike, Timelike, Utc};
use chrono_tz::Tz;

/// Air above which an hour cannot matter, °C: even a clear sky takes metal down by less than this.
const WARM_C: f64 = 5.0;
/// Hours simulated before the first and after the last cold hour.
const MARGIN_H: usize = 12;

/// Local hours of the day in which the ground is warmer than the air, however clear it is (judgement).
const DAY: std::ops::Range<u8> = 8..18;

/// One station's weather, `[hours]` from `first`.
#[derive(Debug, Clone, PartialEq)]
pub struct Spell {
    /// Index of the first simulated hour in the series.
    pub first: usize,
    /// Time of that hour.
    pub start: DateTime<Utc>,
    /// Air of each member at each hour node, °C, `[hours + 1][members]`, before site offsets.
    pub air_c: Vec<f64>,
    /// Wind at 10 m, m/s, `[hours]`.
    pub wind_m_s: Vec<f64>,
    /// Sky over air temperature, K/K, `[hours][members]`.
    pub sky_ratio: Vec<f64>,
    /// Kelvin by which the grass is colder than the screen, `[hours]`.
    pub grass_below_k: Vec<f64>,
    /// Kelvin by which metal that may be wet works against colder air, `[hours]`.
    pub wet_below_k: Vec<f64>,
    /// Local hour of the day, `[hours]`.
    pub hour_of_day: Vec<u8>,
    /// Members.
    pub members: usize,
    /// Day of the year in the middle of the simulated hours.
    pub day_of_year: f64,
    /// Lowest air of any member at any simulated node, °C.
    pub coldest_air_c: f64,
    /// Lowest ratio of sky to air temperature.
    pub lowest_sky_ratio: f64,
    /// Members from the coldest to the warmest, `[members]`: blocks of members that are alike take the same long or short steps.
    pub order: Vec<usize>,
}

impl Spell {
    /// Hours simulated.
    pub fn hours(&self) -> usize {
        self.wind_m_s.len()
    }

    /// The first `count` members in the order of the blocks.
    pub fn order_of(&self, count: usize) -> Vec<usize> {
        self.order.iter().copied().filter(|&member| member < count).collect()
    }

    /// Air of all members at a node.
    pub fn node(&self, hour: usize) -> &[f64] {
        &self.air_c[hour * self.members..(hour + 1) * self.members]
    }

    /// Sky over air temperature of all members in an hour.
    pub fn sky(&self, hour: usize) -> &[f64] {
        &self.sky_ratio[hour * self.members..(hour + 1) * self.members]
    }

    /// Kelvin by which air in the open is colder at a share of the way from screen to grass, in an hour; the last hour's holds on.
    pub fn below_k(&self, hour: usize, share: f64) -> f64 {
        let at = hour.min(self.hours().saturating_sub(1));
        share * self.grass_below_k.get(at).copied().unwrap_or(0.0) + self.wet_below_k.get(at).copied().unwrap_or(0.0)
    }

    /// The most of that in any hour.
    pub fn most_below_k(&self) -> f64 {
        (0..self.hours())
            .map(|hour| self.below_k(hour, 1.0))
            .fold(0.0, f64::max)
    }

    /// The spell of a series; `None` when the series is empty.
    pub fn new(
        series: &Series,
        members: &Members,
        now: DateTime<Utc>,
        zone: Tz,
        freeze: &FreezeConfig,
        ensemble: &EnsembleConfig,
    ) -> Option<Self> {
        let total = series.hours();
        if total == 0 {
            return None;
        }
        let count = members.count();
        let lead_at = |hour: usize| {
            let time = series.time(hour);
            // Observed hours carry no forecast error, nor does what lies before the forecast.
            let is_forecast = series.kind[hour] == Kind::Forecast && time > now && count > 1;
            is_forecast.then(|| (time - now).num_seconds() as f64 / 3600.0)
        };
        let told = ensemble.told.as_deref().and_then(|spread| spread.departures(series));
        let lowest_site_k = members.site_k.iter().copied().fold(0.0, f64::min);
        let mut air = Vec::with_capacity(total * count);
        let mut cold: Option<(usize, usize)> = None;
        for hour in 0..total {
            let lead_h = lead_at(hour);
            let size = lead_h.map_or(0.0, |lead_h| error_size_k(ensemble, lead_h));
            let time = series.time(hour);
            let mut lowest = f64::INFINITY;
            for member in 0..count {
                let error = lead_h.map_or(0.0, |lead_h| {
                    let score = members.error(member, lead_h);
                    let told = told.as_ref().and_then(|told| told.at(time, member, score));
                    told.unwrap_or(size * score)
                });
                let value = series.air_c[hour] + error;
                lowest = f64::min(lowest, value);
                air.push(value);
            }
            // Site offsets and the elevation rule make some sites colder still.
            if lowest + lowest_site_k - 2.0 - freeze.grass_depression_k.max(0.0) < WARM_C {
                cold = Some(cold.map_or((hour, hour), |(from, _)| (from, hour)));
            }
        }
        let (from, to) = cold.unwrap_or_else(|| {
            let at = series.coldest().map_or(0, |(at, _)| at);
            (at, at)
        });
        let first = from.saturating_sub(MARGIN_H);
        let last = (to + MARGIN_H).min(total - 1);
        let hours = last - first + 1;
        let mut air_c: Vec<f64> = air[first * count..(last + 1) * count].to_vec();
        // The node after the last hour: the next hour where there is one, else the last again.
        let next = if last + 1 < total { last + 1 } else { last };
        air_c.extend_from_slice(&air[next * count..(next + 1) * count]);
        let coldest_air_c = air_c.iter().copied().fold(f64::INFINITY, f64::min);

        let mut wind_m_s = Vec::with_capacity(hours);
        let mut sky_ratio = Vec::with_capacity(hours * count);
        let mut hour_of_day = Vec::with_capacity(hours);
        let (mut grass_below_k, mut wet_below_k) = (Vec::with_capacity(hours), Vec::with_capacity(hours));
        for hour in first..=last {
            wind_m_s.push(series.wind_m_s[hour].unwrap_or(freeze.default_wind_m_s).max(0.0));
            let air = series.air_c[hour];
            let dew = series.dew_point_c[hour]
                .unwrap_or(air - freeze.default_dew_depression_k)
                .min(air);
            let air_k = air + ZERO_C_IN_K;
            let under = |cover| sky::sky_temperature_k(SkyModel::BerdahlMartin, air_k, dew, cover, None, None) / air_k;
            match series.sky_cover[hour].or(freeze.default_sky_cover) {
                Some(cover) => sky_ratio.extend(std::iter::repeat_n(under(cover), count)),
                None => sky_ratio.extend(members.sky_cover.iter().copied().map(under)),
            }
            let local = series.time(hour).with_timezone(&zone).hour() as u8;
            hour_of_day.push(local);
            let cover = series.sky_cover[hour].or(freeze.default_sky_cover);
            let wind = series.wind_m_s[hour].unwrap_or(freeze.default_wind_m_s);
            let night = if DAY.contains(&local) { 0.0 } else { 1.0 };
            let still = near_ground::calm_clear(wind, cover.unwrap_or(ensemble.sky_cover_mean));
            grass_below_k.push(freeze.grass_depression_k.max(0.0) * night * still);
            let wet = near_ground::wet_bulb_c(air, dew, SEA_LEVEL_PA);
            wet_below_k.push(freeze.wet_metal.clamp(0.0, 1.0) * (air - wet));
        }
        let mut coldest = vec![f64::INFINITY; count];
        for node in air_c.chunks_exact(count) {
            for (coldest, air) in coldest.iter_mut().zip(node) {
                *coldest = coldest.min(*air);
            }
        }
        for (coldest, site) in coldest.iter_mut().zip(&members.site_k) {
            *coldest += site;
        }
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by(|&a, &b| coldest[a].total_cmp(&coldest[b]));
        let lowest_sky_ratio = sky_ratio.iter().copied().fold(1.0, f64::min);
        let middle = series.time(first + hours / 2);
        Some(Self {
            first,
            start: series.time(first),
            air_c,
            wind_m_s,
            sky_ratio,
            grass_below_k,
            wet_below_k,
            hour_of_day,
            members: count,
            day_of_year: f64::from(middle.ordinal()),
            coldest_air_c,
            lowest_sky_ratio,
            order,
        })
    }
}
