//! The cold spells of a series.
//!
//! A spell is a run of cold hours with the thaws inside it that are too short to undo it.

use super::series::{Kind, Series};
use super::winters::countable;

/// Air below which an hour belongs to a spell, °C: radiation takes bare metal below the air (judgement).
pub const COLD_C: f64 = 1.0;
/// Warmth that ends a spell, K·h above that: enough to thaw what a night froze (judgement).
const THAW_K_H: f64 = 60.0;
/// Longest spell, h: a longer one is parted where it was warmest (judgement).
const MOST_H: usize = 240;
/// Hours on either side over which its warmth is judged there.
const PART_H: usize = 6;
/// Hours at its ends in which it is not parted.
const EDGE_H: usize = 48;
/// Warmth that an hour nearer to its middle is worth, K/h.
const MIDDLE_K_PER_H: f64 = 0.01;
/// Hours before a part: it was cold already, and the assembly comes to that.
const BEFORE_PART_H: usize = 72;
/// Hours before a spell: the assembly cools into it.
const BEFORE_H: usize = 24;
/// Hours after it: ice still grows.
const AFTER_H: usize = 12;

/// How hard a spell is, by three measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Severity {
    /// Lowest air, °C.
    pub min_c: f64,
    /// Sum of the cold below freezing, K·h.
    pub cold_k_h: f64,
    /// The same weighted by the root of the wind, K·h·(m/s)^½.
    pub wind_k_h: f64,
    /// The hardest hour so weighted, K·(m/s)^½: fast ice breaks what slow ice does not.
    pub peak_wind_k: f64,
}

impl Severity {
    /// Of hours: air as bare metal feels it under the sky, °C, and wind, m/s.
    pub fn of(felt_c: impl Iterator<Item = f64>, wind_m_s: impl Iterator<Item = f64>) -> Self {
        let mut severity = Self {
            min_c: f64::INFINITY,
            cold_k_h: 0.0,
            wind_k_h: 0.0,
            peak_wind_k: 0.0,
        };
        for (felt_c, wind) in felt_c.zip(wind_m_s) {
            let cold = (-felt_c).max(0.0);
            severity.min_c = severity.min_c.min(felt_c);
            severity.cold_k_h += cold;
            let windy = cold * wind.max(0.0).sqrt();
            severity.wind_k_h += windy;
            severity.peak_wind_k = severity.peak_wind_k.max(windy);
        }
        severity
    }

    /// Whether whatever stands the one stands the other: colder, longer and windier in all four.
    pub fn covers(&self, other: &Severity) -> bool {
        self.min_c <= other.min_c
            && self.cold_k_h >= other.cold_k_h
            && self.wind_k_h >= other.wind_k_h
            && self.peak_wind_k >= other.peak_wind_k
    }

    /// The same with something to spare: four figures do not tell all of a spell, and of two near each other the one that reads harder may
    /// be the milder (judgement: half a kelvin and a tenth of the cold; of fifty case-winters without it one was off by 0.035).
    pub fn covers_by_far(&self, other: &Severity) -> bool {
        self.covers(other) && self.min_c + SPARE_K <= other.min_c && self.cold_k_h >= other.cold_k_h * SPARE_COLD
    }
}

const SPARE_K: f64 = 0.5;
const SPARE_COLD: f64 = 1.1;

/// A spell of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// First hour, of the run-up.
    pub from: usize,
    /// Last hour.
    pub to: usize,
    /// How hard it is.
    pub severity: Severity,
}

/// The spells of a series, in the order of time: runs below `cold_c`, each with its last cold hour and parted where it is too long.
pub fn runs(series: &Series, cold_c: f64) -> Vec<(usize, Vec<Cut>)> {
    let good = countable(series);
    let mut found: Vec<(usize, Vec<Cut>)> = Vec::new();
    let mut open: Option<(usize, usize)> = None;
    let mut warmth = 0.0;
    let mut close = |run: Option<(usize, usize)>| {
        if let Some((from, to)) = run {
            let mut cuts = Vec::new();
            pieces(series, from, to, BEFORE_H, &mut cuts);
            found.push((to, cuts));
        }
    };
    for (hour, air) in series.air_c.iter().enumerate() {
        if !good[hour] {
            close(open.take());
            warmth = 0.0;
        } else if *air < cold_c {
            warmth = 0.0;
            open = Some(open.map_or((hour, hour), |run| (run.0, hour)));
        } else {
            warmth += air - cold_c;
            if warmth > THAW_K_H {
                close(open.take());
            }
        }
    }
    close(open.take());
    found
}

/// The hours around the coldest one, where no hour is cold enough for a spell; `None` for a series without hours.
pub fn around_coldest(series: &Series) -> Option<Cut> {
    let (hour, _) = series.coldest()?;
    Some(cut(series, hour, hour, BEFORE_H))
}

/// A run of cold hours as one spell, or as several that part where it was warmest.
fn pieces(series: &Series, from: usize, to: usize, before: usize, found: &mut Vec<Cut>) {
    if to - from < MOST_H {
        found.push(cut(series, from, to, before));
        return;
    }
    let mean = |hour: usize| series.air_c[hour - PART_H..hour + PART_H].iter().sum::<f64>() / (2 * PART_H) as f64;
    let worth = |hour: usize| mean(hour) + MIDDLE_K_PER_H * (hour - from).min(to - hour) as f64;
    let middle = (from + EDGE_H..=to - EDGE_H)
        .max_by(|&a, &b| worth(a).total_cmp(&worth(b)))
        .unwrap_or((from + to) / 2);
    pieces(series, from, middle - 1, before, found);
    pieces(series, middle, to, BEFORE_PART_H, found);
}

fn cut(series: &Series, from: usize, to: usize, before: usize) -> Cut {
    Cut {
        from: from.saturating_sub(before),
        to: (to + AFTER_H).min(series.hours().saturating_sub(1)),
        severity: Severity::of(
            series.air_c[from..=to].iter().copied(),
            series.wind_m_s[from..=to].iter().map(|wind| wind.unwrap_or(1.0)),
        ),
    }
}

/// The hours of a spell as a series of their own, raised by `shift_k`.
pub fn series_of(series: &Series, cut: &Cut, shift_k: f64) -> Series {
    let range = cut.from..=cut.to;
    Series {
        format: series.format,
        station: series.station.clone(),
        start: series.time(cut.from),
        air_c: series.air_c[range.clone()].iter().map(|air| air + shift_k).collect(),
        wind_m_s: series.wind_m_s[range.clone()].to_vec(),
        dew_point_c: series.dew_point_c[range.clone()]
            .iter()
            .map(|dew| dew.map(|dew| dew + shift_k))
            .collect(),
        sky_cover: series.sky_cover[range.clone()].to_vec(),
        kind: vec![Kind::Observed; cut.to + 1 - cut.from],
        interpolated: series.interpolated[range].to_vec(),
        issued: None,
    }
}
