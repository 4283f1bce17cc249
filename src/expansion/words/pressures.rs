//! Pressures as sentences: sealed, static, limit, regulator.

use crate::expansion::codes::{self, Section};
use crate::language::Tongue;
use crate::units::show_volume_at_least;

/// Pressures of the house and what they ask for. Pressures Pa gauge, volumes L, temperatures °C, shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum OfPressure {
    SealedFalls,
    SealedBound,
    StorageAtRelief {
        hot_c: f64,
        relief_c: f64,
    },
    NoRegulator {
        street_pa: f64,
        limit_pa: f64,
    },
    RegulatorDoesNotHold,
    RegulatorCloses,
    DoesNotExpand,
    StaticOverLimit {
        static_pa: f64,
        limit_pa: f64,
    },
    StaticTooNear {
        static_pa: f64,
        limit_pa: f64,
        share: f64,
    },
    LookAtLimit,
    AfterLowering {
        has_regulator: bool,
        regulator_pa: f64,
        volume_l: f64,
        share: f64,
    },
}

impl OfPressure {
    /// The sentence, with the sections that it leans on.
    pub fn say(self, tongue: Tongue) -> String {
        codes::beside(self.plain(tongue), self.sections())
    }

    /// The sections of the model codes that it leans on.
    fn sections(self) -> &'static [Section] {
        match self {
            OfPressure::NoRegulator { .. } | OfPressure::StaticOverLimit { .. } => codes::REGULATOR,
            OfPressure::RegulatorCloses => codes::CLOSED,
            OfPressure::StorageAtRelief { .. } => codes::LISTED_RELIEF,
            _ => &[],
        }
    }

    fn plain(self, tongue: Tongue) -> String {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let at_least = |litre: f64| show_volume_at_least(litre, tongue.units);
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let language = tongue.language;
        let both = |english: String, spanish: String| tongue.pick(english, spanish);
        let plain = |english: &str, spanish: &str| tongue.pick(english, spanish).to_string();
        match self {
            OfPressure::SealedFalls => plain(
                "Sealed, the pressure would fall: the walls grow faster than the water, or the water contracts. The supply follows in through the device, so the gauge stays at static. Plastic pipe creeps and softens, so do not count on it.",
                "Sellado, la presión bajaría: las paredes crecen más que el agua, o el agua se contrae. El suministro entra por el dispositivo y el manómetro queda en la estática. La tubería de plástico cede y se ablanda; no cuente con ello.",
            ),
            OfPressure::SealedBound => plain(
                "An upper bound: flexing heads, gaskets, hoses and trapped air lower it, and the weakest part or the heater's relief valve gives first.",
                "Es el máximo: fondos que ceden, juntas, mangueras y aire atrapado lo bajan, y antes cede la pieza más débil o el alivio del calentador.",
            ),
            OfPressure::StorageAtRelief { hot_c, relief_c } => crate::say!(
                language,
                "expansion-storage-at-relief",
                hot = tongue.temperature(hot_c),
                relief = tongue.temperature(relief_c)
            ),
            OfPressure::NoRegulator { street_pa, limit_pa } => crate::say!(
                language,
                "expansion-no-regulator",
                street = gauge(street_pa),
                limit = gauge(limit_pa)
            ),
            OfPressure::RegulatorDoesNotHold => crate::say!(language, "expansion-regulator-does-not-hold"),
            OfPressure::RegulatorCloses => crate::say!(language, "expansion-regulator-closes"),
            OfPressure::DoesNotExpand => plain(
                "the water does not expand between these temperatures",
                "el agua no se expande entre estas temperaturas",
            ),
            OfPressure::StaticOverLimit { static_pa, limit_pa } => both(
                format!(
                    "static {} is above the limit of {}: lower the supply pressure with a pressure reducing valve",
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "la estática de {} pasa del límite de {}: baje la presión del suministro con una válvula reductora",
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
            ),
            OfPressure::StaticTooNear {
                static_pa,
                limit_pa,
                share,
            } => both(
                format!(
                    "static {} is so near the limit of {} that only {} of a tank would fill",
                    gauge(static_pa),
                    gauge(limit_pa),
                    percent(share)
                ),
                format!(
                    "la estática de {} está tan cerca del límite de {} que solo se llenaría el {} de un tanque",
                    gauge(static_pa),
                    gauge(limit_pa),
                    percent(share)
                ),
            ),
            OfPressure::LookAtLimit => plain(
                "ask for the pressure limit to be looked at: it leaves no room above a usable supply",
                "pida que revisen el límite de presión: no deja espacio sobre un suministro que sirva",
            ),
            OfPressure::AfterLowering {
                has_regulator,
                regulator_pa,
                volume_l,
                share,
            } => {
                let valve = if has_regulator {
                    tongue.pick(
                        "the pressure reducing valve (mended or replaced where it does not hold)",
                        "la válvula reductora de presión (reparada o cambiada si no retiene)",
                    )
                } else {
                    tongue.pick("a pressure reducing valve", "una válvula reductora de presión")
                };
                both(
                    format!(
                        "with {valve} set to {} a tank of at least {} does it ({} fills)",
                        gauge(regulator_pa),
                        at_least(volume_l),
                        percent(share)
                    ),
                    format!(
                        "con {valve} ajustada a {} basta un tanque de al menos {} (se llena el {})",
                        gauge(regulator_pa),
                        at_least(volume_l),
                        percent(share)
                    ),
                )
            }
        }
    }
}
