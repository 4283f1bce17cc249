//! What the caller's water heater pushes out while it heats: volume and rate, by the physics of the expansion room.

use super::account::Account;
use crate::expansion::relief::expansion_rate_l_per_s;
use crate::expansion::{System, volume};
use crate::units::{L_PER_US_GAL, PA_PER_PSI, W_PER_BTU_H, c_from_f};

/// A caller's water heater, as far as told.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Heater {
    /// Storage volume, L.
    pub volume_l: Option<f64>,
    /// Supply, °C.
    pub cold_c: Option<f64>,
    /// Storage, °C.
    pub hot_c: Option<f64>,
    /// Heat input, W.
    pub heat_input_w: Option<f64>,
}

/// Storage that is believed of a heater on the phone, L: 2 to 250 gal (judgement).
pub const VOLUME_RANGE_L: [f64; 2] = [2.0 * L_PER_US_GAL, 250.0 * L_PER_US_GAL];
/// Heat input that is believed, W: 0.5 to 300 kW (judgement).
pub const HEAT_RANGE_W: [f64; 2] = [500.0, 300e3];

/// What is taken of a heater of which nothing was told: 40 to 50 gal, supply of 50 °F, storage of 120 to 140 °F, from a 4.5 kW
/// element to a 40,000 Btu/h burner (common practice, no source).
const USUAL_VOLUME_L: [f64; 2] = [40.0 * L_PER_US_GAL, 50.0 * L_PER_US_GAL];
const USUAL_COLD_F: f64 = 50.0;
const USUAL_HOT_F: [f64; 2] = [120.0, 140.0];
const USUAL_HEAT_W: [f64; 2] = [4_500.0, 40_000.0 * BURNER_SHARE * W_PER_BTU_H];
/// Share of a burner's input that reaches the water (common practice, no source); an element's reaches it whole.
const BURNER_SHARE: f64 = 0.8;
/// The first tenth of a heating is over before anybody looks (judgement): the lowest rate is taken there.
const BEGUN: f64 = 0.1;
/// Pressure at which the water is taken, Pa gauge: water hardly minds, and nobody told it.
const GAUGE_PA: f64 = 60.0 * PA_PER_PSI;

/// What heating brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heating {
    /// Water pushed out by one heating from cold to hot, L: low and high edge.
    pub per_heatup_l: [f64; 2],
    /// Rate while the heater works, L/h: from the beginning of a heating at the least heat to its end at the most.
    pub rate_l_per_h: [f64; 2],
    /// Storage reckoned with, L.
    pub volume_l: [f64; 2],
    /// Whether any of it is assumed because it was not told.
    pub assumed: bool,
}

/// A told value inside a range, as both edges; `None` when it was not told or is not believed.
fn told(value: Option<f64>, [low, high]: [f64; 2]) -> Option<[f64; 2]> {
    value
        .filter(|value| (low..=high).contains(value))
        .map(|value| [value; 2])
}

impl Heater {
    /// Whether something told is set aside because it cannot be.
    pub fn is_doubtful(&self) -> bool {
        let out = |value: Option<f64>, range| value.is_some() && told(value, range).is_none();
        out(self.volume_l, VOLUME_RANGE_L)
            || out(self.heat_input_w, HEAT_RANGE_W)
            || out(self.cold_c, [0.0, 40.0])
            || out(self.hot_c, [30.0, 99.0])
            || matches!((self.cold_c, self.hot_c), (Some(cold), Some(hot)) if cold >= hot)
    }
}

/// Volume and rate of expansion of the caller's heater \[boyle-and-heat-balance\] \[iapws-r7-97\]. What was not told, or cannot
/// be, is taken as usual and said to be assumed.
pub fn heating(account: &Account) -> Heating {
    let heater = if account.heater.is_doubtful() {
        Heater::default()
    } else {
        account.heater
    };
    let volume_l = told(heater.volume_l, VOLUME_RANGE_L);
    let heat_w = told(heater.heat_input_w, HEAT_RANGE_W).map(|[heat, _]| [heat * BURNER_SHARE, heat]);
    let cold_c = heater.cold_c.unwrap_or(c_from_f(USUAL_COLD_F));
    let hot_c = heater
        .hot_c
        .map_or(USUAL_HOT_F.map(c_from_f), |hot| [hot; 2])
        .map(|hot| hot.max(cold_c));
    let assumed = volume_l.is_none() || heat_w.is_none() || heater.hot_c.is_none() || heater.cold_c.is_none();
    let (volume_l, heat_w) = (volume_l.unwrap_or(USUAL_VOLUME_L), heat_w.unwrap_or(USUAL_HEAT_W));

    let gained = |at: usize| {
        let system = System::new(volume_l[at], cold_c, hot_c[at], GAUGE_PA);
        volume::demand(&system).map_or(0.0, |demand| demand.volume_l.max(0.0))
    };
    let abs_kpa = (GAUGE_PA + 101_325.0) / 1e3;
    let rate = |heat: f64, at_c: f64| {
        let per_s = expansion_rate_l_per_s(heat, at_c, abs_kpa).unwrap_or(0.0);
        (per_s * 3600.0).max(0.0)
    };
    let begun_c = cold_c + BEGUN * (hot_c[0] - cold_c);
    let [low, high] = [rate(heat_w[0], begun_c), rate(heat_w[1], hot_c[1])];
    Heating {
        per_heatup_l: [gained(0), gained(1)],
        rate_l_per_h: [low.min(high), high],
        volume_l,
        assumed,
    }
}
