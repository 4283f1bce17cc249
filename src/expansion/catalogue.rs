//! A list of tanks by volume, and the smallest that fits.

use serde::Serialize;

/// One tank of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueTank {
    /// Name in the list.
    pub name: String,
    /// Total volume, L.
    pub volume_l: f64,
    /// Most water that the diaphragm lets in, L.
    pub max_acceptance_l: f64,
    /// Highest working pressure, Pa gauge.
    pub max_gauge_pa: f64,
}

/// The tank chosen from a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// Name in the list.
    pub name: String,
    /// Total volume, L.
    pub volume_l: f64,
    /// Most water that it lets in, L.
    pub max_acceptance_l: f64,
}

/// The smallest tank with at least `min_volume_l`, room for `demand_l` of water (L) and a rating of at least
/// `limit_gauge_pa` (Pa gauge); among equals the one that takes more.
///
/// With the precharge at static no water stands in the tank at rest, so the whole acceptance is for the demand.
pub fn smallest_that_fits(
    tanks: &[CatalogueTank],
    min_volume_l: f64,
    demand_l: f64,
    limit_gauge_pa: f64,
) -> Option<&CatalogueTank> {
    tanks
        .iter()
        .filter(|tank| {
            tank.volume_l >= min_volume_l - 1e-9
                && tank.max_acceptance_l >= demand_l - 1e-9
                && tank.max_gauge_pa >= limit_gauge_pa - 1.0
        })
        .min_by(|a, b| {
            a.volume_l
                .total_cmp(&b.volume_l)
                .then(b.max_acceptance_l.total_cmp(&a.max_acceptance_l))
                .then(a.name.cmp(&b.name))
        })
}
