//! Long-wave sky: clear-sky emissivity, cloud, and the temperature of a black sky that sends the same.
//!
//! Published models differ by about 12 K of sky temperature in the same weather, so whoever quotes a result
//! names the model. The tool uses Berdahl and Martin: it was fitted to measured skies at six sites, needs only air
//! temperature and dew point, carries the night term, and gives the colder sky of the two in common use, which is
//! the cautious side.
//!
//! Numbers without a tag of their own: ends of the ranges that arguments are held to (judgement); 273.15 is exact.

use super::{air, hold};

/// A model of clear-sky emissivity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SkyModel {
    /// Berdahl and Martin 1984: dew point, with terms for the hour and the pressure.
    #[default]
    BerdahlMartin,
    /// Clark and Allen 1978: dew point; has its own cloud polynomial.
    ClarkAllen,
    /// Brunt 1932: vapour pressure.
    Brunt,
    /// Brutsaert 1975: vapour pressure and temperature.
    Brutsaert,
    /// Idso 1981: vapour pressure and temperature.
    Idso,
    /// Swinbank 1963: air temperature alone.
    Swinbank,
}

/// Share of the gap to a black sky that full cloud closes, 0 to 1: published uses run from 0.47 to 1; the low part of
/// 0.8 to 1 keeps the sky cold `[judgement]`.
pub const CLOUD_CLOSES: f64 = 0.8;

/// Air temperatures (K) and dew points (°C) that the models are held to.
fn held(air_k: f64, dew_c: f64) -> (f64, f64) {
    let air = hold(air_k, 200.0, 330.0);
    (air, hold(dew_c, -50.0, 40.0).min(air - 273.15))
}

/// Emissivity of the clear sky, a pure number held to 0.3 to 1.
///
/// `air_k` (K, held to 200 to 330), `dew_c` (°C, held to −50 to 40 and to no more than the air), `hour` (h after
/// local midnight), `abs_mbar` (hPa absolute; reference 1000). The last two enter Berdahl and Martin only and are left out when `None`
/// `[berdahl-martin-1984]` `[clark-allen-1978]` `[brunt-1932]` `[brutsaert-1975]` `[idso-1981]` `[swinbank-1963]`.
pub fn clear_emissivity(model: SkyModel, air_k: f64, dew_c: f64, hour: Option<f64>, abs_mbar: Option<f64>) -> f64 {
    let (t, dew) = held(air_k, dew_c);
    let e_hpa = air::saturation_vapour_pressure_pa(dew) / 100.0;
    let emissivity = match model {
        SkyModel::BerdahlMartin => {
            let d = dew / 100.0;
            let night = hour.map_or(0.0, |h| {
                0.013 * (std::f64::consts::TAU * hold(h, 0.0, 24.0) / 24.0).cos()
            });
            let pressure = abs_mbar.map_or(0.0, |p| 0.000_12 * (hold(p, 300.0, 1100.0) - 1000.0));
            0.711 + 0.56 * d + 0.73 * d * d + night + pressure
        }
        SkyModel::ClarkAllen => 0.787 + 0.764 * ((dew + 273.15) / 273.0).ln(),
        SkyModel::Brunt => 0.52 + 0.065 * e_hpa.sqrt(),
        SkyModel::Brutsaert => 1.24 * (e_hpa / t).powf(1.0 / 7.0),
        SkyModel::Idso => 0.70 + 5.95e-5 * e_hpa * (1500.0 / t).exp(),
        SkyModel::Swinbank => (0.0552 * t.sqrt()).powi(4),
    };
    hold(emissivity, 0.3, 1.0)
}

/// Clark and Allen's multiplier for cloud, a pure number: 1 for a clear sky to 1.154 overcast `[clark-allen-1978]`.
///
/// `sky_cover_fraction` is 0 to 1. Copies in circulation lose a sign or a zero; 1.154 overcast is the check.
pub fn clark_allen_cloud_multiplier(sky_cover_fraction: f64) -> f64 {
    let n = 10.0 * hold(sky_cover_fraction, 0.0, 1.0);
    1.0 + 0.0224 * n - 0.0035 * n * n + 0.000_28 * n * n * n
}

/// Emissivity of the sky with cloud, a pure number to 1: `clear` emissivity and `sky_cover_fraction` (0 to 1).
///
/// Clark and Allen's polynomial for their model; for the others ε + (1 − ε)·cover·[`CLOUD_CLOSES`] `[judgement]`.
pub fn cloudy_emissivity(model: SkyModel, clear: f64, sky_cover_fraction: f64) -> f64 {
    let clear = hold(clear, 0.3, 1.0);
    let cover = hold(sky_cover_fraction, 0.0, 1.0);
    let emissivity = match model {
        SkyModel::ClarkAllen => clear * clark_allen_cloud_multiplier(cover),
        _ => clear + (1.0 - clear) * cover * CLOUD_CLOSES,
    };
    hold(emissivity, 0.3, 1.0)
}

/// Temperature of the black sky that sends as much as this one, K: ε^¼ · air.
///
/// `air_k` (K), `dew_c` (°C), `sky_cover_fraction` (0 to 1), `hour` and `abs_mbar` as in [`clear_emissivity`]. Never
/// above the air.
pub fn sky_temperature_k(
    model: SkyModel,
    air_k: f64,
    dew_c: f64,
    sky_cover_fraction: f64,
    hour: Option<f64>,
    abs_mbar: Option<f64>,
) -> f64 {
    let clear = clear_emissivity(model, air_k, dew_c, hour, abs_mbar);
    cloudy_emissivity(model, clear, sky_cover_fraction).powf(0.25) * held(air_k, dew_c).0
}
