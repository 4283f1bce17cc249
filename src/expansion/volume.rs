//! How much room heated water needs.

use super::system::Piping;
use super::system::System;
use crate::physics::pipe::{PipeKind, WallForm, compliance_per_pa, pipe};
use crate::physics::{OutOfRange, water};
use crate::units::{UnitSystem, show_length, show_small_length};
use serde::Serialize;

/// Relative expansion of water heated from `cold_c` to `hot_c` (°C) at one absolute pressure (kPa): v₂/v₁ − 1.
///
/// Negative where heating contracts the water, below about 4 °C. Densities are of class IF97, within 15 ppm of
/// IAPWS-95, so the figure is within 2e-5. `[iapws-r7-97]`
///
/// # Errors
/// A temperature or pressure outside liquid water.
///
/// ```
/// use brimwater::expansion::volume::relative_expansion;
/// // X-Val: IAPWS-IF97 by PyPI iapws 1.5.5: 40 to 140 °F at 80 psi gauge 0.0170772.
/// let e = relative_expansion(40.0 / 9.0, 60.0, 652.905583).unwrap();
/// assert!((e - 0.0170772).abs() < 2e-5);
/// ```
pub fn relative_expansion(cold_c: f64, hot_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    let cold = water::specific_volume_m3_kg(cold_c, abs_kpa)?;
    let hot = water::specific_volume_m3_kg(hot_c, abs_kpa)?;
    Ok(hot / cold - 1.0)
}

/// Mass pushed out of a container of constant volume, measured as the volume it has when cold, per volume: 1 − v₁/v₂.
///
/// Smaller than [`relative_expansion`] by about one part in a hundred; the handbooks size on the larger.
///
/// # Errors
/// As [`relative_expansion`].
pub fn relative_expulsion(cold_c: f64, hot_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    let expansion = relative_expansion(cold_c, hot_c, abs_kpa)?;
    Ok(expansion / (1.0 + expansion))
}

/// Relative growth of a container's volume by its linear expansion over a rise (K): 3αΔT. `[ashrae-hydronic]`
pub fn container_growth(linear_expansion_per_k: f64, rise_k: f64) -> f64 {
    3.0 * linear_expansion_per_k * rise_k
}

/// The room that the heated water needs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Demand {
    /// Relative expansion of the water, v₂/v₁ − 1; the mean over heaters of several temperatures.
    pub fraction: f64,
    /// Volume to be taken up, L, after the material credit if one was asked for; negative when heating contracts.
    pub volume_l: f64,
    /// Volume that the water alone gains, L.
    pub water_l: f64,
    /// What the metal's own growth takes off, L.
    pub material_credit_l: f64,
    /// Water that is heated, L.
    pub heated_l: f64,
}

/// The demand of a system, with water densities at the limit pressure.
///
/// A part earns no more credit than its own water gains; plastic earns none, because it creeps. `[ashrae-hydronic]`
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn demand(system: &System) -> Result<Demand, OutOfRange> {
    let abs_kpa = (system.limit_gauge_pa.max(system.static_gauge_pa) + system.air_abs_pa()) / 1e3;
    let fraction = relative_expansion(system.cold_c, system.hot_c, abs_kpa)?;
    let rise_k = system.hot_c - system.cold_c;
    let heated_l = system.heated_l();
    let credit = |volume_l: f64, alpha: f64, fraction: f64, rise_k: f64| {
        if system.material_credit {
            volume_l * container_growth(alpha, rise_k).clamp(0.0, fraction.max(0.0))
        } else {
            0.0
        }
    };
    let mut water_l = heated_l * fraction;
    let mut heaters = 0.0;
    let mut several = false;
    for heater in &system.heaters {
        let own = match heater.hot_c {
            Some(own_c) => {
                let own = relative_expansion(system.cold_c, own_c, abs_kpa)?;
                water_l += heater.volume_l * (own - fraction);
                several = true;
                own
            }
            None => fraction,
        };
        let own_rise_k = heater.hot_c.unwrap_or(system.hot_c) - system.cold_c;
        heaters += credit(heater.volume_l, heater.linear_expansion_per_k, own, own_rise_k);
    }
    let fraction_of_all = if several && heated_l > 0.0 {
        water_l / heated_l
    } else {
        fraction
    };
    let pipes: f64 = system
        .piping
        .iter()
        .filter(|p| p.heated && p.metal)
        .map(|p| credit(p.volume_l, p.linear_expansion_per_k, fraction, rise_k))
        .sum();
    Ok(Demand {
        fraction: fraction_of_all,
        volume_l: water_l - heaters - pipes,
        water_l,
        material_credit_l: heaters + pipes,
        heated_l,
    })
}

/// A run of piping from its family, nominal size (in) and length (m); `None` when the family has no such size.
pub fn piping(kind: PipeKind, nominal_in: f64, length_m: f64, heated: bool, words: UnitSystem) -> Option<Piping> {
    let dimensions = pipe(kind, nominal_in)?;
    let material = kind.material();
    let compliance = compliance_per_pa(
        WallForm::ThickClosed,
        dimensions.id_m,
        dimensions.od_m,
        material.youngs_pa,
        material.poisson,
    )
    .ok()?;
    Some(Piping {
        name: format!(
            "{} {}, {}",
            kind_name(kind),
            match (words, nominal_diameter(nominal_in)) {
                (UnitSystem::Si | UnitSystem::Bar, Some(dn)) => format!("DN {dn:.0}"),
                _ => show_small_length(nominal_in * crate::units::M_PER_IN, words),
            },
            show_length(length_m, words)
        ),
        volume_l: dimensions.bore_m2() * length_m * 1e3,
        compliance_per_pa: compliance,
        linear_expansion_per_k: material.expansion_per_k,
        metal: !matches!(kind, PipeKind::Pvc40 | PipeKind::CpvcSdr11 | PipeKind::PexSdr9),
        heated,
    })
}

/// Nominal metric sizes (ISO 6708, DN) beside the inch sizes: mm, in.
pub(super) const DN_MM: [(f64, f64); 14] = [
    (10.0, 0.375),
    (15.0, 0.5),
    (18.0, 0.625),
    (20.0, 0.75),
    (25.0, 1.0),
    (32.0, 1.25),
    (40.0, 1.5),
    (50.0, 2.0),
    (65.0, 2.5),
    (80.0, 3.0),
    (100.0, 4.0),
    (150.0, 6.0),
    (200.0, 8.0),
    (250.0, 10.0),
];

/// The DN of a nominal size in inches.
fn nominal_diameter(nominal_in: f64) -> Option<f64> {
    DN_MM
        .iter()
        .find(|(_, inch)| (inch - nominal_in).abs() < 1e-3)
        .map(|(mm, _)| *mm)
}

/// The trade's short name of a family, as the command line takes it.
pub fn kind_name(kind: PipeKind) -> &'static str {
    match kind {
        PipeKind::CopperK => "copper-K",
        PipeKind::CopperL => "copper-L",
        PipeKind::CopperM => "copper-M",
        PipeKind::Steel40 => "steel-40",
        PipeKind::Pvc40 => "PVC-40",
        PipeKind::DuctileIron => "ductile-iron",
        PipeKind::Brass => "brass",
        PipeKind::CpvcSdr11 => "CPVC",
        PipeKind::PexSdr9 => "PEX",
    }
}
