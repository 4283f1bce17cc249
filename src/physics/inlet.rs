//! Temperature of the water that the main delivers, through the year.
//!
//! Burch and Christensen's form: the annual mean of the air plus 6 °F, with a swing and a lag that depend on that
//! mean. It is a norm. Surface supplies in a cold snap can be several kelvin colder, and the formula's lag is of the
//! mains in the ground, not of the source.
//!
//! Numbers without a tag of their own: the published form's, in °F and days `[burch-christensen-2007]`; ends of the ranges that arguments are held
//! to (judgement).

use super::hold;

/// Highest °C and lowest °C that supply water can have here: it is liquid, and the formula is for climates with mains.
const WATER_RANGE_C: (f64, f64) = (0.0, 45.0);

/// Degrees of phase per day in the published form (not 360/365).
const DEGREES_PER_DAY: f64 = 0.986;

/// The wave for one climate, in the units of the published form (°F).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Wave {
    mean_f: f64,
    amplitude_f: f64,
    lag_days: f64,
    /// +1 in the north (coldest in winter of the north), −1 in the south.
    sign: f64,
}

impl Wave {
    fn new(annual_mean_air_c: f64, monthly_range_k: f64, southern: bool) -> Wave {
        let mean_air_f = hold(annual_mean_air_c, -25.0, 40.0) * 1.8 + 32.0;
        // Far from its climates the published ratio would turn negative; it is held at none.
        let ratio = (0.4 + 0.01 * (mean_air_f - 44.0)).max(0.0);
        Wave {
            mean_f: mean_air_f + 6.0,
            amplitude_f: ratio * hold(monthly_range_k, 0.0, 80.0) * 1.8 / 2.0,
            lag_days: 35.0 - (mean_air_f - 44.0),
            sign: if southern { -1.0 } else { 1.0 },
        }
    }

    fn at_c(self, day_of_year: f64) -> f64 {
        let degrees = DEGREES_PER_DAY * (day_of_year - 15.0 - self.lag_days) - 90.0 * self.sign;
        let fahrenheit = self.mean_f + self.amplitude_f * degrees.to_radians().sin();
        hold((fahrenheit - 32.0) / 1.8, WATER_RANGE_C.0, WATER_RANGE_C.1)
    }
}

/// Temperature of mains water, °C, on `day_of_year` (day, 1 to 366) `[burch-christensen-2007]`.
///
/// `annual_mean_air_c` (°C) is the annual mean of air, `monthly_range_k` (K) the warmest less the coldest monthly
/// mean. Held to 0 °C to 45 °C: in cold climates the bare formula goes under freezing, which water in a main does not.
pub fn mains_temperature_c(annual_mean_air_c: f64, monthly_range_k: f64, day_of_year: f64, southern: bool) -> f64 {
    Wave::new(annual_mean_air_c, monthly_range_k, southern).at_c(hold(day_of_year, 0.0, 367.0))
}

/// Day of the year (1 to 365) with the coldest mains water, and that temperature, °C `[burch-christensen-2007]`.
///
/// Arguments as in [`mains_temperature_c`] (°C, K).
pub fn coldest_mains(annual_mean_air_c: f64, monthly_range_k: f64, southern: bool) -> (u16, f64) {
    extreme(annual_mean_air_c, monthly_range_k, southern, |a, b| a < b)
}

/// Day of the year (1 to 365) with the warmest mains water, and that temperature, °C `[burch-christensen-2007]`.
pub fn warmest_mains(annual_mean_air_c: f64, monthly_range_k: f64, southern: bool) -> (u16, f64) {
    extreme(annual_mean_air_c, monthly_range_k, southern, |a, b| a > b)
}

fn extreme(mean_c: f64, range_k: f64, southern: bool, better: fn(f64, f64) -> bool) -> (u16, f64) {
    let wave = Wave::new(mean_c, range_k, southern);
    let mut best = (1, wave.at_c(1.0));
    for day in 2..=365_u16 {
        let t = wave.at_c(f64::from(day));
        if better(t, best.1) {
            best = (day, t);
        }
    }
    best
}
