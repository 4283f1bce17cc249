//! Classical solutions for a freezing front: cylinder with a film, plane wall, and the two-phase half space.
//!
//! They are the checks of the freeze model and the answers of the cool-down command.
//!
//! Numbers without a tag of their own: ends of the ranges that arguments are held to (judgement).

use super::{OutOfRange, check};
use statrs::function::erf::{erf, erfc};

/// Water at its freezing point in a long cylinder that loses heat through a film at the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderFreeze {
    /// Inside radius, m.
    pub radius_m: f64,
    /// Film coefficient referred to the inside surface, W/(m²·K); for an outside film multiply by the ratio of
    /// outside to inside diameter.
    pub film_w_m2k: f64,
    /// Freezing point less surroundings, K.
    pub delta_k: f64,
    /// Density that carries the latent heat, kg/m³: that of water keeps the mass, that of ice suits a full bore
    /// whose growth is pushed out along the pipe.
    pub density_kg_m3: f64,
    /// Conductivity of the ice, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Latent heat, J/kg.
    pub latent_j_kg: f64,
}

impl CylinderFreeze {
    fn checked(self) -> Result<Self, OutOfRange> {
        check("radius", "m", self.radius_m, 1.0e-6, 100.0)?;
        check("film coefficient", "W/(m²·K)", self.film_w_m2k, 1.0e-9, 1.0e12)?;
        check("temperature difference", "K", self.delta_k, 1.0e-9, 1000.0)?;
        check("density", "kg/m³", self.density_kg_m3, 1.0, 1.0e5)?;
        check("conductivity", "W/(m·K)", self.conductivity_w_mk, 1.0e-6, 1.0e4)?;
        check("latent heat", "J/kg", self.latent_j_kg, 1.0, 1.0e8)?;
        Ok(self)
    }

    /// ρ·L·r²/(k·ΔT), s: the scale of every time below.
    fn scale_s(self) -> f64 {
        self.density_kg_m3 * self.latent_j_kg * self.radius_m * self.radius_m / (self.conductivity_w_mk * self.delta_k)
    }
}

/// Time, s, for the ice to grow inward to the radius ratio `remaining` (liquid radius over inside radius, 0 to 1).
///
/// London and Seban's quasi-steady form `[london-seban-1943]`: no sensible heat, steady surroundings. Short of the
/// full solution by 3.5 % at a Stefan number of 0.05 and by 6.7 % at 0.1 (no film resistance; less with one).
///
/// # Errors
/// [`OutOfRange`] for a ratio outside 0 to 1, or a property that is not positive.
pub fn london_seban_time_s(case: CylinderFreeze, remaining: f64) -> Result<f64, OutOfRange> {
    let case = case.checked()?;
    let x = check("radius ratio", "", remaining, 0.0, 1.0)?;
    let biot = case.film_w_m2k * case.radius_m / case.conductivity_w_mk;
    let x2 = x * x;
    let log_term = if x > 0.0 { 0.5 * x2 * x.ln() } else { 0.0 };
    Ok(case.scale_s() * ((1.0 - x2) / 4.0 + log_term + (1.0 - x2) / (2.0 * biot)))
}

/// Time, s, to freeze the cylinder through, by Plank's form with the shape factors 1/4 and 1/16 on the diameter `[plank-1941]`.
///
/// # Errors
/// [`OutOfRange`] for a property that is not positive.
pub fn plank_cylinder_time_s(case: CylinderFreeze) -> Result<f64, OutOfRange> {
    let case = case.checked()?;
    let d = 2.0 * case.radius_m;
    Ok(case.density_kg_m3 * case.latent_j_kg / case.delta_k
        * (d / (4.0 * case.film_w_m2k) + d * d / (16.0 * case.conductivity_w_mk)))
}

/// Depth of a plane ice front, m, after `time_s` (s): quasi-steady, with a film `film_w_m2k` (W/(m²·K)), or
/// `None` for a surface held at its temperature `[carslaw-jaeger]`.
///
/// `delta_k` (K) is the freezing point less the surroundings; `conductivity_w_mk` (W/(m·K)), `density_kg_m3` and
/// `latent_j_kg` (J/kg) as in [`CylinderFreeze`].
///
/// # Errors
/// [`OutOfRange`] for a property that is not positive or a negative time.
pub fn stefan_plane_front_m(
    time_s: f64,
    delta_k: f64,
    film_w_m2k: Option<f64>,
    conductivity_w_mk: f64,
    density_kg_m3: f64,
    latent_j_kg: f64,
) -> Result<f64, OutOfRange> {
    let case = CylinderFreeze {
        radius_m: 1.0,
        film_w_m2k: film_w_m2k.unwrap_or(1.0),
        delta_k,
        density_kg_m3,
        conductivity_w_mk,
        latent_j_kg,
    }
    .checked()?;
    let time = check("time", "s", time_s, 0.0, 1.0e12)?;
    let offset = film_w_m2k.map_or(0.0, |film| case.conductivity_w_mk / film);
    Ok((offset * offset + 2.0 * time / case.scale_s()).sqrt() - offset)
}

/// Root of √π·λ·exp(λ²)·erf λ = `stefan`, the Stefan number (0 to 100): the one-phase front is 2λ√(αt) `[carslaw-jaeger]`.
///
/// # Errors
/// [`OutOfRange`] for a Stefan number outside the range.
pub fn stefan_root(stefan: f64) -> Result<f64, OutOfRange> {
    let ste = check("Stefan number", "", stefan, 0.0, 100.0)?;
    let residual = |x: f64| std::f64::consts::PI.sqrt() * x * (x * x).exp() * erf(x) - ste;
    Ok(rising_root(residual, 0.0, 3.0))
}

/// A freezing front in a half space of liquid that starts above its freezing point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeumannFront {
    /// Similarity root λ.
    pub lambda: f64,
    /// Thermal diffusivity of the solid, m²/s.
    pub solid_diffusivity_m2_s: f64,
}

impl NeumannFront {
    /// Depth of the front, m, after `time_s` (s; negative counts as zero).
    pub fn depth_m(self, time_s: f64) -> f64 {
        2.0 * self.lambda * (self.solid_diffusivity_m2_s * super::hold(time_s, 0.0, 1.0e12)).sqrt()
    }
}

/// Conductivity and specific heat of one phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// Conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Specific heat, J/(kg·K).
    pub specific_heat_j_kgk: f64,
}

/// Neumann's two-phase front: liquid at `start_k` (K above freezing), wall at `wall_k` (K below freezing), one
/// density `density_kg_m3` for both phases, latent heat `latent_j_kg` (J/kg) `[carslaw-jaeger]`.
///
/// # Errors
/// [`OutOfRange`] for a temperature difference or property outside the physical.
pub fn neumann_front(
    start_k: f64,
    wall_k: f64,
    solid: Phase,
    liquid: Phase,
    density_kg_m3: f64,
    latent_j_kg: f64,
) -> Result<NeumannFront, OutOfRange> {
    let start = check("liquid above freezing", "K", start_k, 0.0, 100.0)?;
    let wall = check("wall below freezing", "K", wall_k, 1.0e-3, 200.0)?;
    let rho = check("density", "kg/m³", density_kg_m3, 1.0, 1.0e5)?;
    let latent = check("latent heat", "J/kg", latent_j_kg, 1.0e3, 1.0e8)?;
    for phase in [solid, liquid] {
        check("conductivity", "W/(m·K)", phase.conductivity_w_mk, 1.0e-3, 1.0e3)?;
        check("specific heat", "J/(kg·K)", phase.specific_heat_j_kgk, 10.0, 1.0e5)?;
    }
    let solid_diffusivity = solid.conductivity_w_mk / (rho * solid.specific_heat_j_kgk);
    let liquid_diffusivity = liquid.conductivity_w_mk / (rho * liquid.specific_heat_j_kgk);
    let nu = (solid_diffusivity / liquid_diffusivity).sqrt();
    let weight = liquid.conductivity_w_mk / solid.conductivity_w_mk * nu * start / wall;
    let sink = std::f64::consts::PI.sqrt() * latent / (solid.specific_heat_j_kgk * wall);
    // Rises in λ: what the front needs less what the wall can carry. exp(-z²)/erfc(z) overflows for large z, so the
    // bracket ends where it is still a number.
    let residual = |x: f64| {
        let z = nu * x;
        sink * x + weight * (-z * z).exp() / erfc(z) - (-x * x).exp() / erf(x)
    };
    let lambda = rising_root(residual, 1.0e-9, 3.0_f64.min(20.0 / nu));
    Ok(NeumannFront {
        lambda,
        solid_diffusivity_m2_s: solid_diffusivity,
    })
}

/// Root of a rising function in a bracket, by bisection to rounding.
fn rising_root(f: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    let (mut lo, mut hi) = (lo, hi);
    for _ in 0..80 {
        let middle = 0.5 * (lo + hi);
        if f(middle) > 0.0 {
            hi = middle;
        } else {
            lo = middle;
        }
    }
    0.5 * (lo + hi)
}
