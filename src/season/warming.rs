//! Whether winters are moving, in words, under one rule: a trend is used only where a record shows it.

use super::moving::Moving;
use super::spells::RecordWinter;
use crate::language::Language;
use crate::ranking::Words;
use crate::say;
use crate::weather::extremes::LEAST_WINTERS;

/// Threshold that is told, °C: 20 °F, at which the trade expects bare pipe to freeze (common practice, no source).
pub const THRESHOLD_C: f64 = -20.0 / 3.0;

/// What a station's record says of its winters.
#[derive(Debug, Clone, PartialEq)]
pub struct Warming {
    /// The station.
    pub station: String,
    /// Complete winters, first and last season.
    pub winters: usize,
    /// First and last season of them.
    pub span: Option<(i32, i32)>,
    /// The fits; `None` for fewer than [`LEAST_WINTERS`] winters, or where they are all alike.
    pub moving: Option<Moving>,
}

impl Warming {
    /// Of a station's winters.
    pub fn of(station: &str, winters: &[RecordWinter]) -> Self {
        let complete: Vec<(i32, f64)> = winters
            .iter()
            .filter(|winter| winter.complete)
            .map(|winter| (winter.season, winter.min_c))
            .collect();
        Self {
            station: station.to_owned(),
            winters: complete.len(),
            span: complete.first().zip(complete.last()).map(|(a, b)| (a.0, b.0)),
            moving: Moving::fit(&complete),
        }
    }

    /// The season that savings are counted for: the middle of the horizon after the record.
    pub fn target(&self, horizon_years: f64) -> Option<i32> {
        self.span.map(|span| span.1 + ((horizon_years + 1.0) / 2.0) as i32)
    }

    /// Kelvin by which a season's hours are raised to stand for the target; 0 where no trend may be used.
    pub fn shift_k(&self, season: i32, horizon_years: f64) -> f64 {
        match (&self.moving, self.target(horizon_years)) {
            (Some(moving), Some(target)) => moving.shift_k(season, target),
            _ => 0.0,
        }
    }

    /// Whether its trend is used.
    pub fn is_moving(&self) -> bool {
        self.moving.is_some_and(|moving| moving.is_moving())
    }

    /// One or two sentences.
    pub fn words(&self, language: Language, us: bool) -> String {
        let words = Words {
            zone: chrono_tz::Tz::UTC,
            us,
            language,
        };
        let station = if self.station.is_empty() { "–" } else { &self.station };
        let (Some(moving), Some((first, last))) = (&self.moving, self.span) else {
            return say!(
                language,
                "season-warming-too-short",
                station = station,
                winters = self.winters.to_string(),
                least = LEAST_WINTERS.to_string(),
            );
        };
        let tenths = |p: f64| format!("{:.0}", 10.0 * p);
        let p = format!("{:.2}", moving.p_value);
        let still = moving.still.chance_below(f64::from(last), THRESHOLD_C);
        let threshold = words.temperature(THRESHOLD_C);
        if !moving.is_moving() {
            return say!(
                language,
                "season-warming-none",
                station = station,
                p = p,
                threshold = threshold,
                still = tenths(still),
                winters = self.winters.to_string(),
            );
        }
        let at = |season: i32| tenths(moving.moving.chance_below(f64::from(season), THRESHOLD_C));
        say!(
            language,
            "season-warming-trend",
            station = station,
            threshold = threshold,
            before = at(first),
            after = at(last),
            first = first.to_string(),
            last = last.to_string(),
            p = format!("{:.3}", moving.p_value),
            still = tenths(still),
        )
    }
}
