//! What flow the physics expects where the caller sees water.

use super::account::{Account, When, Where};
use super::config::DripConfig;
use super::heating::heating;
use crate::inventory::{DeviceType, NominalSize};

/// Density of water times its specific heat near 5 °C, J/(L·K) \[practice-drip-balance\]: 1.000 kg/L · 4.20 kJ/(kg·K).
const HEAT_J_PER_L_K: f64 = 4_200.0;

/// Flow that holds a bare or wrapped body at its temperature in steady air, L/h.
///
/// Heat balance in the steady limit: `ρ·c·V̇·(T_supply − T_body) = U·A·(T_body − T_air)`, with
/// `U = 1/(1/film + wrap)`. Arguments: outside area m², film W/(m²·K), wrap m²·K/W, temperatures °C. Returns 0 when
/// the air is as warm as the body, and `None` when no flow can hold it (supply not warmer than the body) or an
/// argument is not a positive number.
///
/// ```
/// // 1.2 ft² of bare body, calm (1.8 Btu/h·ft²·°F), 20 °F air, supply 50 °F, body 38 °F: about 0.4 gal/h.
/// let flow = brimwater::drip::expect::steady_drip_l_per_h(0.1115, 10.22, 0.0, 10.0, 10.0 / 3.0, -20.0 / 3.0);
/// assert!((flow.unwrap_or(0.0) / 3.785 - 0.39).abs() < 0.02);
/// ```
pub fn steady_drip_l_per_h(
    area_m2: f64,
    film_w_m2k: f64,
    wrap_m2k_per_w: f64,
    supply_c: f64,
    body_c: f64,
    air_c: f64,
) -> Option<f64> {
    let usable = area_m2 > 0.0 && film_w_m2k > 0.0 && wrap_m2k_per_w >= 0.0 && supply_c > body_c;
    if !usable {
        return None;
    }
    let conductance_w_k = area_m2 / (1.0 / film_w_m2k + wrap_m2k_per_w);
    let loss_w = conductance_w_k * (body_c - air_c).max(0.0);
    let flow = loss_w / (HEAT_J_PER_L_K * (supply_c - body_c)) * 3600.0;
    flow.is_finite().then_some(flow)
}

/// Outside area of an assembly's body without its risers, m² \[practice-exposed-area\]: 0.5 ft² for a 1-in vacuum
/// breaker, 1.2 for a 1-in RP, 2.6 for 2 in, 11 for 4 in, 20, 29 and 39 for 6, 8 and 10 in; between and below in
/// proportion to the size.
pub fn body_area_m2(device: Option<DeviceType>, size: Option<NominalSize>) -> f64 {
    const M2_PER_FT2: f64 = 0.092_903_04;
    let inches = size.map_or(1.0, NominalSize::inches);
    if matches!(device, Some(DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb)) {
        return 0.5 * inches * M2_PER_FT2;
    }
    let table: [(f64, f64); 7] = [
        (0.0, 0.0),
        (1.0, 1.2),
        (2.0, 2.6),
        (4.0, 11.0),
        (6.0, 20.0),
        (8.0, 29.0),
        (10.0, 39.0),
    ];
    let mut area_ft2 = 39.0;
    for pair in table.windows(2) {
        if let [(x0, y0), (x1, y1)] = *pair
            && inches <= x1
        {
            area_ft2 = y0 + (y1 - y0) * (inches - x0) / (x1 - x0);
            break;
        }
    }
    area_ft2 * M2_PER_FT2
}

/// What the freeze-drip of this assembly should pass in this air, L/h, from a wrapped body in calm to a bare body in
/// wind; `[0, 0]` when the air is too warm for the valve to open. Without an air temperature the band from just above
/// freezing to a hard freeze (15 °F).
pub fn freeze_drip_l_per_h(account: &Account, config: &DripConfig) -> [f64; 2] {
    if let Some(modelled) = modelled_drip(account) {
        return modelled;
    }
    let area_m2 = body_area_m2(account.device.device_type, account.device.size);
    let flow = |film: f64, wrap: f64, air_c: f64| {
        steady_drip_l_per_h(area_m2, film, wrap, config.supply_c, config.held_body_c, air_c).unwrap_or(0.0)
    };
    let wrap_known = account
        .device
        .wrap_m2k_per_w
        .filter(|wrap| wrap.is_finite() && *wrap >= 0.0);
    let wrap_low = wrap_known.unwrap_or(config.wrap_m2k_per_w).max(0.0);
    let wrap_high = wrap_known.unwrap_or(0.0);
    let (mild_c, hard_c) = match account.air() {
        Some(air_c) => (air_c, air_c),
        None => (0.0, -9.4),
    };
    if account.air().is_some_and(|air_c| air_c >= config.valve_shut_c) {
        return [0.0, 0.0];
    }
    [
        flow(config.film_calm_w_m2k, wrap_low, mild_c),
        flow(config.film_windy_w_m2k, wrap_high, hard_c),
    ]
}

/// How far the told air may be from the series' before the model's night is not the caller's, K (judgement: the usual
/// difference between a site and its station on a clear night).
const SAME_NIGHT_K: f64 = 3.0;

/// The freeze model's expectation, where it is about the hours that the caller speaks of: not when the told air is another
/// one, and not when the caller tells of cold nights while the model's hours are too warm for the valve to open at all.
pub fn modelled_drip(account: &Account) -> Option<[f64; 2]> {
    let [low, high] = account.behind.drip_l_per_h?;
    let usable = low.is_finite() && high.is_finite() && low >= 0.0 && high >= low;
    let same_night = match (
        account.air_c.filter(|air| account.air() == Some(*air)),
        account.behind.air_c,
    ) {
        (Some(told), Some(series)) => (told - series).abs() <= SAME_NIGHT_K,
        _ => true,
    };
    let other_nights = account.when == When::ColdNights && high <= 0.0;
    (usable && same_night && !other_nights).then_some([low, high])
}

/// Flow expected at the place told, L/h, when all is as it should be; `None` when the place is not known.
pub fn expected_l_per_h(account: &Account, config: &DripConfig) -> Option<[f64; 2]> {
    match account.place {
        Where::FreezeDrip => Some(freeze_drip_l_per_h(account, config)),
        Where::ExpansionRelief => Some(heating(account).rate_l_per_h),
        // At rest nothing should leave any of these; a relief port's spit is over before a cup is fetched.
        Where::ReliefPort | Where::HeaterRelief | Where::Canopy | Where::TestCock | Where::Seam | Where::Ground => {
            Some([0.0, 0.0])
        }
        Where::Unsure => None,
    }
}
