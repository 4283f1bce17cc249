//! Whether the plumbing is closed, as sentences.

use crate::expansion::codes::{self, Section};
use crate::language::Tongue;
use crate::units::UnitSystem;

/// Whether the plumbing is closed, why, and what would settle it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum Closing {
    AssemblyHolds,
    CheckValveHolds,
    MeterCheckHolds,
    RegulatorHolds,
    SoftenerCheckHolds,
    RecirculationCheckHolds,
    RecirculationCheckAside,
    SoftenerMayHold,
    NothingHolds,
    NoDeviceTold,
    NothingBesideDevice,
    BypassLetsBack { street_pa: f64, limit_pa: f64 },
    BypassUseless { street_pa: f64, limit_pa: f64 },
    BypassUnsettled { limit_pa: f64 },
    WellTankTakes,
    WellTankTooSmall { usable_l: f64, demand_l: f64 },
    SettleByTracing,
    SettleByGauge,
    SettleByHeating,
    PlumbingOpen,
    PlumbingClosed,
    ClosedUnsettled,
}

impl Closing {
    /// The sentence, with the sections that it leans on.
    pub fn say(self, tongue: Tongue) -> String {
        codes::beside(self.plain(tongue), self.sections())
    }

    /// The sections of the model codes that it leans on.
    fn sections(self) -> &'static [Section] {
        match self {
            Closing::PlumbingClosed => codes::CLOSED,
            _ => &[],
        }
    }

    fn plain(self, tongue: Tongue) -> String {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let volume = |litre: f64| tongue.volume(litre);
        let language = tongue.language;
        let both = |english: String, spanish: String| tongue.pick(english, spanish);
        let plain = |english: &str, spanish: &str| tongue.pick(english, spanish).to_string();
        match self {
            Closing::AssemblyHolds => plain(
                "a backflow prevention assembly lets no water back to the main",
                "un conjunto contra reflujo no deja regresar agua a la calle",
            ),
            Closing::CheckValveHolds => plain(
                "a check valve lets no water back to the main",
                "una válvula de retención no deja regresar agua a la calle",
            ),
            Closing::MeterCheckHolds => plain(
                "the check at the meter lets no water back to the main",
                "la retención del medidor no deja regresar agua a la calle",
            ),
            Closing::RegulatorHolds => plain(
                "a pressure reducing valve without a bypass shuts when the house pressure rises",
                "una válvula reductora de presión sin paso de retorno se cierra cuando sube la presión de la casa",
            ),
            Closing::SoftenerCheckHolds => plain(
                "the check in the softener or filter lets no water back to the main",
                "la retención del suavizador o filtro no deja regresar agua a la calle",
            ),
            Closing::RecirculationCheckHolds => plain(
                "a check in a recirculation or mixing line can shut the heater off from the main; taken as closed until it is traced",
                "una retención en la línea de recirculación o mezcla puede separar el calentador de la calle; se toma como cerrado hasta revisarlo",
            ),
            Closing::RecirculationCheckAside => crate::say!(language, "expansion-recirculation-aside"),
            Closing::SoftenerMayHold => plain(
                "a softener or filter may have a check: look in its bypass head",
                "un suavizador o filtro puede tener retención: revise su cabezal de desvío",
            ),
            Closing::NothingHolds => plain(
                "nothing between the main and the heater stops water from going back",
                "nada entre la calle y el calentador impide que el agua regrese",
            ),
            Closing::NoDeviceTold => plain(
                "no device was told of, so it is not known; taken as closed to be on the safe side",
                "no se dijo de ningún dispositivo, así que no se sabe; se toma como cerrado por precaución",
            ),
            Closing::NothingBesideDevice => plain(
                "\"nothing\" was told beside a device that holds; the device counts",
                "se dijo \"nada\" junto a un dispositivo que retiene; cuenta el dispositivo",
            ),
            Closing::BypassLetsBack { street_pa, limit_pa } => both(
                format!(
                    "the regulator's bypass opens when the house passes the main, and the main never passes {} (limit {})",
                    gauge(street_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "el paso de retorno de la reductora abre cuando la casa supera a la calle, y la calle nunca pasa de {} (límite {})",
                    gauge(street_pa),
                    gauge(limit_pa)
                ),
            ),
            Closing::BypassUseless { street_pa, limit_pa } => both(
                format!(
                    "the regulator's bypass opens only above the main's {}, which is over the limit of {}, so it protects nothing",
                    gauge(street_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "el paso de retorno de la reductora abre solo por encima de los {} de la calle, más que el límite de {}, así que no protege nada",
                    gauge(street_pa),
                    gauge(limit_pa)
                ),
            ),
            Closing::BypassUnsettled { limit_pa } => both(
                format!(
                    "a regulator's bypass helps only while the main stays at or below {}; the highest pressure of the main is not known",
                    gauge(limit_pa)
                ),
                format!(
                    "el paso de retorno de una reductora sirve solo mientras la calle no pase de {}; no se sabe la presión más alta de la calle",
                    gauge(limit_pa)
                ),
            ),
            Closing::WellTankTakes => crate::say!(language, "expansion-well-tank-takes"),
            Closing::WellTankTooSmall { usable_l, demand_l } => crate::say!(
                language,
                "expansion-well-tank-too-small",
                usable = volume(usable_l),
                demand = volume(demand_l)
            ),
            Closing::SettleByTracing => plain(
                "Ask the utility whether there is a check at the meter, and trace the pipe from the meter to the heater: one check is enough.",
                "Pregunte a la empresa de agua si hay una retención en el medidor, y siga la tubería del medidor al calentador: basta una retención.",
            ),
            Closing::SettleByGauge => plain(
                "Leave a gauge with a maximum hand on a hose bibb for 24 hours, over a night: a closed system shows a maximum well above static after heating.",
                "Deje un manómetro con aguja de máxima en una llave de manguera 24 horas, con una noche: un sistema cerrado muestra un máximo muy por encima de la estática después de calentar.",
            ),
            Closing::SettleByHeating => {
                let few = match tongue.units {
                    UnitSystem::Us => tongue.pick("a few psi", "unos pocos psi"),
                    UnitSystem::Si | UnitSystem::Bar => tongue.pick("some 20 kPa", "unos 20 kPa"),
                };
                both(
                    format!(
                        "Heat test: draw 5 to 10 gal (20 to 40 L) of hot water, shut everything, watch for 30 to 60 minutes. An open system stays within {few}; a closed one climbs steadily, and a quick opening of a tap drops it to static."
                    ),
                    format!(
                        "Prueba de calentamiento: saque de 5 a 10 gal (20 a 40 L) de agua caliente, cierre todo y observe de 30 a 60 minutos. Un sistema abierto varía {few}; uno cerrado sube sin parar, y al abrir un momento una llave baja a la estática."
                    ),
                )
            }
            Closing::PlumbingOpen => plain(
                "the plumbing is open: heated water goes back to the main",
                "la tubería está abierta: el agua calentada regresa a la calle",
            ),
            Closing::PlumbingClosed => plain(
                "the plumbing is closed, so the heated water has nowhere to go",
                "la tubería está cerrada, así que el agua calentada no tiene a dónde ir",
            ),
            Closing::ClosedUnsettled => plain(
                "it is not settled whether the plumbing is closed; this is the answer if it is",
                "no se sabe si la tubería está cerrada; esta es la respuesta si lo está",
            ),
        }
    }
}
