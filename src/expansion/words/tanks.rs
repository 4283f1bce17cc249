//! Tanks as sentences: a new one and those that are there.

use crate::language::Tongue;
use crate::units::show_volume_at_least;

/// One of several tanks that are there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Which {
    /// Its number, from one.
    pub number: usize,
    /// Its volume, L.
    pub volume_l: f64,
}

impl Which {
    fn say(self, tongue: Tongue) -> String {
        crate::say!(
            tongue.language,
            "expansion-tank-number",
            number = self.number.to_string(),
            volume = tongue.volume(self.volume_l)
        )
    }
}

/// A tank, new or there. Pressures Pa gauge, volumes L, shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum OfTank {
    TankTooHigh,
    NoRoomForTank {
        static_pa: f64,
        limit_pa: f64,
    },
    TankTakesUp {
        volume_l: f64,
        share: f64,
        static_pa: f64,
        limit_pa: f64,
    },
    DiaphragmFailed {
        which: Option<Which>,
    },
    PrechargeLost {
        which: Option<Which>,
    },
    UnderCharged {
        which: Option<Which>,
        precharge_pa: f64,
        static_pa: f64,
        at_rest_l: f64,
        share: f64,
    },
    OverCharged {
        which: Option<Which>,
        precharge_pa: f64,
        static_pa: f64,
    },
    PrechargeAboveLimit {
        which: Option<Which>,
        limit_pa: f64,
    },
    NoTankHolds,
    OverAcceptance {
        would_hold_l: f64,
        may_hold_l: f64,
    },
    CanTakeMore {
        usable_l: f64,
        limit_pa: f64,
        demand_l: f64,
    },
    Unbounded,
    WouldLift {
        reaches_pa: f64,
        heater_relief_pa: f64,
    },
    EndsBelow {
        ends_pa: f64,
        by_pa: f64,
    },
    EndsAbove {
        ends_pa: f64,
        by_pa: f64,
    },
    EnoughWhenSet {
        precharge_pa: f64,
    },
    NeededInTotal {
        volume_l: f64,
        precharge_pa: f64,
    },
    TankIsMarginal {
        over_pa: f64,
        unsure_pa: f64,
        short_l: f64,
        unsure_l: f64,
    },
    AddBeside {
        volume_l: f64,
        precharge_pa: f64,
    },
    TankIsEnough {
        usable_l: f64,
        limit_pa: f64,
        demand_l: f64,
    },
    TankEnoughWhenSet {
        static_pa: f64,
    },
    TooLargeForRoom {
        needed_l: f64,
        room_l: f64,
    },
    TankThereFails,
    TankThereEnoughAfter {
        regulator_pa: f64,
    },
    SavesWater {
        volume_l: f64,
        share: f64,
        static_pa: f64,
        limit_pa: f64,
    },
    MakeRoom,
}

impl OfTank {
    /// The sentence.
    pub fn say(self, tongue: Tongue) -> String {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let volume = |litre: f64| tongue.volume(litre);
        let at_least = |litre: f64| show_volume_at_least(litre, tongue.units);
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let language = tongue.language;
        let both = |english: String, spanish: String| tongue.pick(english, spanish);
        let plain = |english: &str, spanish: &str| tongue.pick(english, spanish).to_string();
        let of = |which: Option<Which>, text: String| match which {
            Some(which) => format!("{}: {text}", which.say(tongue)),
            None => text,
        };
        match self {
            OfTank::TankTooHigh => plain(
                "the tank would stand so high that the supply does not reach it",
                "el tanque estaría tan alto que el suministro no llega a él",
            ),
            OfTank::NoRoomForTank { static_pa, limit_pa } => both(
                format!(
                    "no tank can do it: the static pressure of {} is at or above the limit of {}, so there is no room between them; lower the supply pressure first",
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "ningún tanque basta: la presión estática de {} está en el límite de {} o más arriba, así que no queda espacio entre ellas; primero hay que bajar la presión del suministro",
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
            ),
            OfTank::TankTakesUp {
                volume_l,
                share,
                static_pa,
                limit_pa,
            } => both(
                format!(
                    "a tank of at least {} takes up the water: {} of it fills between {} and {}",
                    at_least(volume_l),
                    percent(share),
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
                format!(
                    "un tanque de al menos {} recibe el agua: el {} se llena entre {} y {}",
                    at_least(volume_l),
                    percent(share),
                    gauge(static_pa),
                    gauge(limit_pa)
                ),
            ),
            OfTank::DiaphragmFailed { which } => of(
                which,
                plain(
                    "water at the air valve: the diaphragm has failed, so the tank takes up nothing",
                    "agua en la válvula de aire: el diafragma falló, así que el tanque no recibe nada",
                ),
            ),
            OfTank::PrechargeLost { which } => of(
                which,
                plain(
                    "no precharge is left: the tank has lost its air or its diaphragm has failed; look whether water comes out at the air valve",
                    "no queda precarga: el tanque perdió su aire o falló su diafragma; fíjese si sale agua por la válvula de aire",
                ),
            ),
            OfTank::UnderCharged {
                which,
                precharge_pa,
                static_pa,
                at_rest_l,
                share,
            } => of(
                which,
                both(
                    format!(
                        "under-charged: precharge {} against {} static; at rest {} of water ({} of the tank) already stand in it",
                        gauge(precharge_pa),
                        gauge(static_pa),
                        volume(at_rest_l),
                        percent(share)
                    ),
                    format!(
                        "precarga baja: {} contra {} de estática; en reposo ya hay en él {} de agua ({} del tanque)",
                        gauge(precharge_pa),
                        gauge(static_pa),
                        volume(at_rest_l),
                        percent(share)
                    ),
                ),
            ),
            OfTank::OverCharged {
                which,
                precharge_pa,
                static_pa,
            } => of(
                which,
                both(
                    format!(
                        "over-charged: precharge {} against {} static; no water enters before the pressure has risen to the precharge",
                        gauge(precharge_pa),
                        gauge(static_pa)
                    ),
                    format!(
                        "precarga alta: {} contra {} de estática; no entra agua antes de que la presión suba hasta la precarga",
                        gauge(precharge_pa),
                        gauge(static_pa)
                    ),
                ),
            ),
            OfTank::PrechargeAboveLimit { which, limit_pa } => of(
                which,
                both(
                    format!(
                        "the precharge is at or above the limit of {}: the tank takes up nothing before the limit is passed",
                        gauge(limit_pa)
                    ),
                    format!(
                        "la precarga está en el límite de {} o más arriba: el tanque no recibe nada antes de pasar el límite",
                        gauge(limit_pa)
                    ),
                ),
            ),
            OfTank::NoTankHolds => plain(
                "no tank holds the limit at this static pressure",
                "con esta presión estática ningún tanque mantiene el límite",
            ),
            OfTank::OverAcceptance {
                would_hold_l,
                may_hold_l,
            } => both(
                format!(
                    "it would have to hold {} and may hold {} (its maximum acceptance)",
                    volume(would_hold_l),
                    volume(may_hold_l)
                ),
                format!(
                    "tendría que recibir {} y puede recibir {} (su aceptación máxima)",
                    volume(would_hold_l),
                    volume(may_hold_l)
                ),
            ),
            OfTank::CanTakeMore {
                usable_l,
                limit_pa,
                demand_l,
            } => both(
                format!(
                    "it can take {} more before {}; heating brings {}",
                    volume(usable_l),
                    gauge(limit_pa),
                    volume(demand_l)
                ),
                format!(
                    "puede recibir {} más antes de {}; el calentamiento trae {}",
                    volume(usable_l),
                    gauge(limit_pa),
                    volume(demand_l)
                ),
            ),
            OfTank::Unbounded => plain(
                "nothing bounds the pressure once it is full: the heater's relief valve would lift",
                "una vez lleno, nada limita la presión: abriría la válvula de alivio del calentador",
            ),
            OfTank::WouldLift {
                reaches_pa,
                heater_relief_pa,
            } => both(
                format!(
                    "the pressure would reach {}: the heater's relief valve ({}) would lift",
                    gauge(reaches_pa),
                    gauge(heater_relief_pa)
                ),
                format!(
                    "la presión llegaría a {}: abriría la válvula de alivio del calentador ({})",
                    gauge(reaches_pa),
                    gauge(heater_relief_pa)
                ),
            ),
            OfTank::EndsBelow { ends_pa, by_pa } => both(
                format!(
                    "the pressure ends at {}, {} below the limit",
                    gauge(ends_pa),
                    gauge(by_pa)
                ),
                format!(
                    "la presión termina en {}, {} debajo del límite",
                    gauge(ends_pa),
                    gauge(by_pa)
                ),
            ),
            OfTank::EndsAbove { ends_pa, by_pa } => both(
                format!(
                    "the pressure ends at {}, {} above the limit",
                    gauge(ends_pa),
                    gauge(by_pa)
                ),
                format!(
                    "la presión termina en {}, {} arriba del límite",
                    gauge(ends_pa),
                    gauge(by_pa)
                ),
            ),
            OfTank::EnoughWhenSet { precharge_pa } => both(
                format!(
                    "with its precharge set to {} (tank isolated and drained) it is enough",
                    gauge(precharge_pa)
                ),
                format!(
                    "con su precarga puesta a {} (tanque aislado y vacío) basta",
                    gauge(precharge_pa)
                ),
            ),
            OfTank::NeededInTotal { volume_l, precharge_pa } => both(
                format!(
                    "{} in total would be needed with the precharge at {}",
                    at_least(volume_l),
                    gauge(precharge_pa)
                ),
                format!(
                    "harían falta {} en total con la precarga a {}",
                    at_least(volume_l),
                    gauge(precharge_pa)
                ),
            ),
            OfTank::TankIsMarginal {
                over_pa,
                unsure_pa,
                short_l,
                unsure_l,
            } => crate::say!(
                language,
                "expansion-tank-is-marginal",
                over = gauge(over_pa),
                unsure = gauge(unsure_pa),
                short = volume(short_l),
                unsure_water = volume(unsure_l)
            ),
            OfTank::AddBeside { volume_l, precharge_pa } => crate::say!(
                language,
                "expansion-add-beside",
                volume = at_least(volume_l),
                precharge = gauge(precharge_pa)
            ),
            OfTank::TankIsEnough {
                usable_l,
                limit_pa,
                demand_l,
            } => both(
                format!(
                    "the tank can take {} before {}, and heating brings {}",
                    volume(usable_l),
                    gauge(limit_pa),
                    volume(demand_l)
                ),
                format!(
                    "el tanque puede recibir {} antes de {}, y el calentamiento trae {}",
                    volume(usable_l),
                    gauge(limit_pa),
                    volume(demand_l)
                ),
            ),
            OfTank::TankEnoughWhenSet { static_pa } => both(
                format!(
                    "the tank is large enough once its precharge is set to {}; as it stands it is not",
                    gauge(static_pa)
                ),
                format!(
                    "el tanque alcanza cuando su precarga se pone a {}; como está no alcanza",
                    gauge(static_pa)
                ),
            ),
            OfTank::TooLargeForRoom { needed_l, room_l } => both(
                format!(
                    "a tank of {} is needed and there is room for {}",
                    at_least(needed_l),
                    volume(room_l)
                ),
                format!(
                    "hace falta un tanque de {} y hay espacio para {}",
                    at_least(needed_l),
                    volume(room_l)
                ),
            ),
            OfTank::TankThereFails => plain(
                "the tank that is there does not hold the limit, and setting its precharge would not be enough",
                "el tanque que ya está no mantiene el límite, y ajustar su precarga no bastaría",
            ),
            OfTank::TankThereEnoughAfter { regulator_pa } => both(
                format!(
                    "with the regulator at {} and the precharge set to the same, the tank that is there is enough",
                    gauge(regulator_pa)
                ),
                format!(
                    "con la reductora a {} y la precarga igual, basta el tanque que ya está",
                    gauge(regulator_pa)
                ),
            ),
            OfTank::SavesWater {
                volume_l,
                share,
                static_pa,
                limit_pa,
            } => {
                let tank = OfTank::TankTakesUp {
                    volume_l,
                    share,
                    static_pa,
                    limit_pa,
                }
                .say(tongue);
                both(
                    format!("to save the water, {tank}"),
                    format!("para no perder agua, {tank}"),
                )
            }
            OfTank::MakeRoom => plain(
                "no relief holds the limit either, so room has to be made for the tank, or two tanks share it",
                "tampoco hay alivio que mantenga el límite, así que hay que hacer espacio para el tanque o repartirlo en dos",
            ),
        }
    }
}
