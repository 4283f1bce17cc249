//! Liquid water by the Industrial Formulation 1997: region 1 and the saturation line.
//!
//! Coefficients and equations are those of IAPWS R7-97(2012) `[iapws-r7-97]`: the Gibbs energy of region 1
//! (273.15 K to 623.15 K, saturation to 100 MPa) and the saturation pressure of region 4. [`super::water`] is
//! the front door; this module has the sums.
//!
//! Numbers without a tag of their own: the coefficients of IAPWS R7-97 `[iapws-r7-97]`.

use super::{OutOfRange, check};

/// Specific gas constant of water in IF97, J/(kg·K) `[iapws-r7-97]`.
const GAS_CONSTANT_J_KGK: f64 = 461.526;
/// Reducing pressure of region 1, Pa.
const REDUCING_PA: f64 = 16.53e6;
/// Reducing temperature of region 1, K.
const REDUCING_K: f64 = 1386.0;
/// Highest pressure of region 1, Pa.
pub(super) const MAX_PA: f64 = 100.0e6;

/// Exponents `I`, `J` and coefficients `n` of region 1, R7-97 table 2.
#[rustfmt::skip]
const REGION_1: [(i32, i32, f64); 34] = [
    (0, -2, 0.14632971213167),
    (0, -1, -0.84548187169114),
    (0, 0, -3.756360367204),
    (0, 1, 3.3855169168385),
    (0, 2, -0.95791963387872),
    (0, 3, 0.15772038513228),
    (0, 4, -0.016616417199501),
    (0, 5, 0.00081214629983568),
    (1, -9, 0.00028319080123804),
    (1, -7, -0.00060706301565874),
    (1, -1, -0.018990068218419),
    (1, 0, -0.032529748770505),
    (1, 1, -0.021841717175414),
    (1, 3, -5.283835796993e-05),
    (2, -3, -0.00047184321073267),
    (2, 0, -0.00030001780793026),
    (2, 1, 4.7661393906987e-05),
    (2, 3, -4.4141845330846e-06),
    (2, 17, -7.2694996297594e-16),
    (3, -4, -3.1679644845054e-05),
    (3, 0, -2.8270797985312e-06),
    (3, 6, -8.5205128120103e-10),
    (4, -5, -2.2425281908e-06),
    (4, -2, -6.5171222895601e-07),
    (4, 10, -1.4341729937924e-13),
    (5, -8, -4.0516996860117e-07),
    (8, -11, -1.2734301741641e-09),
    (8, -6, -1.7424871230634e-10),
    (21, -29, -6.8762131295531e-19),
    (23, -31, 1.4478307828521e-20),
    (29, -38, 2.6335781662795e-23),
    (30, -39, -1.1947622640071e-23),
    (31, -40, 1.8228094581404e-24),
    (32, -41, -9.3537087292458e-26),
];

/// Coefficients `n` of region 4, R7-97 table 34.
const REGION_4: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_7e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_3e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// A state of liquid water: what region 1 gives at one temperature and pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquid {
    /// Specific volume, m³/kg.
    pub specific_volume_m3_kg: f64,
    /// Specific enthalpy, J/kg, zero for the internal energy of the liquid at the triple point.
    pub enthalpy_j_kg: f64,
    /// Isobaric specific heat, J/(kg·K).
    pub specific_heat_j_kgk: f64,
    /// Isobaric expansivity, 1/K; negative below the density maximum.
    pub expansivity_per_k: f64,
    /// Isothermal compressibility, 1/Pa.
    pub compressibility_per_pa: f64,
    /// Speed of sound, m/s.
    pub sound_m_s: f64,
}

/// Powers of a number from the zeroth to the `N - 1`th, each from two near half of it, so that none waits for a long chain of others.
fn powers<const N: usize>(x: f64) -> [f64; N] {
    let mut powers = [1.0; N];
    if let Some(first) = powers.get_mut(1) {
        *first = x;
    }
    for exponent in 2..N {
        powers[exponent] = powers[exponent / 2] * powers[exponent - exponent / 2];
    }
    powers
}

/// Powers of `b = τ − 1.222` by the exponents of table 2 and two below them, for the derivatives.
struct TemperaturePowers {
    up: [f64; 18],
    down: [f64; 44],
}

impl TemperaturePowers {
    fn of(t_k: f64) -> Self {
        let b = REDUCING_K / t_k - 1.222;
        Self {
            up: powers(b),
            down: powers(1.0 / b),
        }
    }

    fn at(&self, exponent: i32) -> f64 {
        let at = exponent.unsigned_abs() as usize;
        if exponent < 0 { self.down[at] } else { self.up[at] }
    }
}

/// Liquid water at `t_k` (K) and absolute pressure `abs_pa` (Pa), without a check of the region.
pub(super) fn region_1(t_k: f64, abs_pa: f64) -> Liquid {
    let pi = abs_pa / REDUCING_PA;
    let tau = REDUCING_K / t_k;
    let a: [f64; 33] = powers(7.1 - pi);
    let b = TemperaturePowers::of(t_k);
    let (mut g_p, mut g_pp, mut g_t, mut g_tt, mut g_pt) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for &(i, j, n) in &REGION_1 {
        let (fi, fj) = (f64::from(i), f64::from(j));
        let (ai, bj, bj_1) = (a[i as usize], b.at(j), b.at(j - 1));
        // Where the exponent is too small for a derivative its factor is zero.
        let ai_1 = a[(i as usize).saturating_sub(1)];
        g_p -= n * fi * ai_1 * bj;
        g_pp += n * fi * (fi - 1.0) * a[(i as usize).saturating_sub(2)] * bj;
        g_t += n * ai * fj * bj_1;
        g_tt += n * ai * fj * (fj - 1.0) * b.at(j - 2);
        g_pt -= n * fi * ai_1 * fj * bj_1;
    }
    let rt = GAS_CONSTANT_J_KGK * t_k;
    let mixed = g_p - tau * g_pt;
    Liquid {
        specific_volume_m3_kg: pi * g_p * rt / abs_pa,
        enthalpy_j_kg: tau * g_t * rt,
        specific_heat_j_kgk: -GAS_CONSTANT_J_KGK * tau * tau * g_tt,
        expansivity_per_k: mixed / g_p / t_k,
        compressibility_per_pa: -pi * g_pp / g_p / abs_pa,
        sound_m_s: (rt * g_p * g_p / (mixed * mixed / (tau * tau * g_tt) - g_pp))
            .max(0.0)
            .sqrt(),
    }
}

/// The exponents of pressure in region 1 that its derivative keeps.
const PRESSURE_EXPONENTS: [usize; 12] = [1, 2, 3, 4, 5, 8, 21, 23, 29, 30, 31, 32];

/// Region 1 at one temperature: what is left of the sum is a polynomial in pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Isotherm {
    t_k: f64,
    /// Of each of [`PRESSURE_EXPONENTS`] that exponent times the sum of its terms in temperature.
    weights: [f64; 12],
}

impl Isotherm {
    /// At `t_k` (K).
    pub(super) fn at(t_k: f64) -> Self {
        let b = TemperaturePowers::of(t_k);
        let mut weights = [0.0; 12];
        let mut rest = REGION_1.as_slice();
        for (weight, exponent) in weights.iter_mut().zip(PRESSURE_EXPONENTS) {
            // The table is in the order of these exponents; terms without pressure come first.
            while let Some((&(i, j, n), more)) = rest.split_first() {
                if i as usize > exponent {
                    break;
                }
                if i as usize == exponent {
                    *weight += n * f64::from(i) * b.at(j);
                }
                rest = more;
            }
        }
        Self { t_k, weights }
    }

    /// Specific volume, m³/kg, at `abs_pa` (Pa absolute).
    pub(super) fn volume(&self, abs_pa: f64) -> f64 {
        let a: [f64; 32] = powers(7.1 - abs_pa / REDUCING_PA);
        let terms = self.weights.iter().zip(PRESSURE_EXPONENTS);
        let g_p: f64 = terms.map(|(weight, exponent)| -weight * a[exponent - 1]).sum();
        g_p * GAS_CONSTANT_J_KGK * self.t_k / REDUCING_PA
    }

    /// Specific volume, m³/kg, and isothermal compressibility, 1/Pa, at `abs_pa` (Pa absolute).
    pub(super) fn volume_and_compressibility(&self, abs_pa: f64) -> (f64, f64) {
        let a: [f64; 32] = powers(7.1 - abs_pa / REDUCING_PA);
        let (mut g_p, mut g_pp) = (0.0, 0.0);
        for (weight, exponent) in self.weights.iter().zip(PRESSURE_EXPONENTS) {
            g_p -= weight * a[exponent - 1];
            g_pp += weight * (exponent as f64 - 1.0) * a[exponent.saturating_sub(2)];
        }
        (
            g_p * GAS_CONSTANT_J_KGK * self.t_k / REDUCING_PA,
            -g_pp / g_p / REDUCING_PA,
        )
    }
}

/// Saturation pressure, Pa absolute, at `t_k` from 273.15 K to 647.096 K `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`] for a temperature outside that range or not a number.
pub fn saturation_pressure_pa(t_k: f64) -> Result<f64, OutOfRange> {
    let t = check("water temperature", "K", t_k, 273.15, 647.096)?;
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = REGION_4;
    let theta = t + n9 / (t - n10);
    let a = theta * theta + n1 * theta + n2;
    let b = n3 * theta * theta + n4 * theta + n5;
    let c = n6 * theta * theta + n7 * theta + n8;
    let beta = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    Ok(beta.powi(4) * 1.0e6)
}
