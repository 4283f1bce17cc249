//! Relief valves as sentences.

use crate::expansion::codes::{self, Section};
use crate::language::Tongue;

/// A relief in place of a tank. Pressures Pa gauge, temperatures °C.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum OfRelief {
    NoReliefFits {
        lo_pa: f64,
        highest_static_pa: f64,
        hi_pa: f64,
    },
    SetToHoldBoth {
        limit_pa: f64,
        lo_pa: f64,
        top_pa: f64,
    },
    ReliefConflicts {
        lo_pa: f64,
        hi_pa: f64,
        limit_pa: f64,
    },
    SettingTooClose {
        at_pa: f64,
        highest_static_pa: f64,
    },
    SettingTooHigh {
        at_pa: f64,
        hi_pa: f64,
    },
    SettingPassesLimit {
        at_pa: f64,
        limit_pa: f64,
    },
    OutletIces {
        coldest_c: f64,
    },
    ReliefFits {
        at_pa: f64,
        limit_pa: f64,
    },
    ReliefInstead {
        lo_pa: f64,
        hi_pa: f64,
    },
    ReliefWhereNotLowered {
        lo_pa: f64,
        hi_pa: f64,
    },
}

impl OfRelief {
    /// The sentence, with the sections that it leans on.
    pub fn say(self, tongue: Tongue) -> String {
        codes::beside(self.plain(tongue), self.sections())
    }

    /// The sections of the model codes that it leans on.
    fn sections(self) -> &'static [Section] {
        match self {
            OfRelief::NoReliefFits { .. }
            | OfRelief::SetToHoldBoth { .. }
            | OfRelief::ReliefConflicts { .. }
            | OfRelief::SettingTooHigh { .. }
            | OfRelief::SettingPassesLimit { .. }
            | OfRelief::ReliefFits { .. }
            | OfRelief::ReliefWhereNotLowered { .. } => codes::RELIEF_INSTEAD,
            OfRelief::ReliefInstead { .. } => codes::RELIEF_AND_DISCHARGE,
            OfRelief::OutletIces { .. } => codes::DISCHARGE,
            _ => &[],
        }
    }

    fn plain(self, tongue: Tongue) -> String {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let both = |english: String, spanish: String| tongue.pick(english, spanish);
        match self {
            OfRelief::NoReliefFits {
                lo_pa,
                highest_static_pa,
                hi_pa,
            } => both(
                format!(
                    "no relief setting fits: it must open at or above {} (highest static {} and a margin) and at or below {}",
                    gauge(lo_pa),
                    gauge(highest_static_pa),
                    gauge(hi_pa)
                ),
                format!(
                    "ningún ajuste de alivio sirve: debe abrir a {} o más (estática más alta {} y un margen) y a {} o menos",
                    gauge(lo_pa),
                    gauge(highest_static_pa),
                    gauge(hi_pa)
                ),
            ),
            OfRelief::SetToHoldBoth {
                limit_pa,
                lo_pa,
                top_pa,
            } => both(
                format!(
                    "a valve that opens above {} does not keep the house at or below the limit; set it from {} to {} to hold both",
                    gauge(limit_pa),
                    gauge(lo_pa),
                    gauge(top_pa)
                ),
                format!(
                    "una válvula que abre arriba de {} no mantiene la casa dentro del límite; ajústela de {} a {} para cumplir ambos",
                    gauge(limit_pa),
                    gauge(lo_pa),
                    gauge(top_pa)
                ),
            ),
            OfRelief::ReliefConflicts { lo_pa, hi_pa, limit_pa } => both(
                format!(
                    "every setting that fits ({} to {}) lies above the limit of {}: a relief conflicts with that limit",
                    gauge(lo_pa),
                    gauge(hi_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "todo ajuste que sirve (de {} a {}) pasa del límite de {}: un alivio choca con ese límite",
                    gauge(lo_pa),
                    gauge(hi_pa),
                    gauge(limit_pa)
                ),
            ),
            OfRelief::SettingTooClose {
                at_pa,
                highest_static_pa,
            } => both(
                format!(
                    "a setting of {} is too close to the highest static of {}: it would weep when the main rises",
                    gauge(at_pa),
                    gauge(highest_static_pa)
                ),
                format!(
                    "un ajuste de {} está demasiado cerca de la estática más alta de {}: gotearía cuando suba la calle",
                    gauge(at_pa),
                    gauge(highest_static_pa)
                ),
            ),
            OfRelief::SettingTooHigh { at_pa, hi_pa } => both(
                format!(
                    "a setting of {} is above {}, the lowest of the code's cap, the heater's relief valve less its margin and the ratings",
                    gauge(at_pa),
                    gauge(hi_pa)
                ),
                format!(
                    "un ajuste de {} pasa de {}, lo menor entre el tope del código, el alivio del calentador menos su margen y las presiones nominales",
                    gauge(at_pa),
                    gauge(hi_pa)
                ),
            ),
            OfRelief::SettingPassesLimit { at_pa, limit_pa } => both(
                format!(
                    "a valve that opens at {} lets the house pass the limit of {}",
                    gauge(at_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "una válvula que abre a {} deja que la casa pase del límite de {}",
                    gauge(at_pa),
                    gauge(limit_pa)
                ),
            ),
            OfRelief::OutletIces { coldest_c } => both(
                format!(
                    "the climate record goes down to {}: an outlet outdoors ices shut; discharge through an air gap indoors first",
                    tongue.temperature(coldest_c)
                ),
                format!(
                    "el registro del clima baja hasta {}: una salida al aire libre se cierra con hielo; descargue primero bajo techo por un espacio de aire",
                    tongue.temperature(coldest_c)
                ),
            ),
            OfRelief::ReliefFits { at_pa, limit_pa } => both(
                format!(
                    "a relief set at {} fits between the highest static and every cap, and holds {}",
                    gauge(at_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "un alivio ajustado a {} cabe entre la estática más alta y todos los topes, y mantiene {}",
                    gauge(at_pa),
                    gauge(limit_pa)
                ),
            ),
            OfRelief::ReliefInstead { lo_pa, hi_pa } => both(
                format!(
                    "a relief set from {} to {} holds the limit; its water goes to the drain",
                    gauge(lo_pa),
                    gauge(hi_pa)
                ),
                format!(
                    "un alivio ajustado de {} a {} mantiene el límite; su agua se va al desagüe",
                    gauge(lo_pa),
                    gauge(hi_pa)
                ),
            ),
            OfRelief::ReliefWhereNotLowered { lo_pa, hi_pa } => both(
                format!(
                    "where the supply cannot be lowered, a relief set from {} to {} holds the limit, and its water goes to the drain",
                    gauge(lo_pa),
                    gauge(hi_pa)
                ),
                format!(
                    "donde no se puede bajar el suministro, un alivio ajustado de {} a {} mantiene el límite, y su agua se va al desagüe",
                    gauge(lo_pa),
                    gauge(hi_pa)
                ),
            ),
        }
    }
}
