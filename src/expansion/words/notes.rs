//! Findings and reasons.

use crate::expansion::assessment::Measure;
use crate::language::Tongue;
use crate::units::{UnitSystem, show_volume_at_least};

/// A finding or a reason. Pressures Pa gauge, volumes L, temperatures °C, shares of one.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(
    missing_docs,
    reason = "the sentences below say what each is; fields carry their unit in the name"
)]
pub enum Note {
    // Is the plumbing closed.
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
    BypassLetsBack {
        street_pa: f64,
        limit_pa: f64,
    },
    BypassUseless {
        street_pa: f64,
        limit_pa: f64,
    },
    BypassUnsettled {
        limit_pa: f64,
    },
    WellTankTakes,
    WellTankTooSmall {
        usable_l: f64,
        demand_l: f64,
    },
    SettleByTracing,
    SettleByGauge,
    SettleByHeating,
    // What the pressure does with nothing to take the water.
    SealedFalls,
    SealedBound,
    // A new tank.
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
    // The tank that is there.
    DiaphragmFailed,
    PrechargeLost,
    UnderCharged {
        precharge_pa: f64,
        static_pa: f64,
        at_rest_l: f64,
        share: f64,
    },
    OverCharged {
        precharge_pa: f64,
        static_pa: f64,
    },
    PrechargeAboveLimit {
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
    // A relief.
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
    // Why this measure.
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
    PlumbingOpen,
    DoesNotExpand,
    StaticOverLimit {
        static_pa: f64,
        limit_pa: f64,
    },
    PlumbingClosed,
    ClosedUnsettled,
    TankIsEnough {
        usable_l: f64,
        limit_pa: f64,
        demand_l: f64,
    },
    TankEnoughWhenSet {
        static_pa: f64,
    },
    ReliefFits {
        at_pa: f64,
        limit_pa: f64,
    },
    SavesWater {
        volume_l: f64,
        share: f64,
        static_pa: f64,
        limit_pa: f64,
    },
    TooLargeForRoom {
        needed_l: f64,
        room_l: f64,
    },
    ReliefInstead {
        lo_pa: f64,
        hi_pa: f64,
    },
    MakeRoom,
    TankThereFails,
    StaticTooNear {
        static_pa: f64,
        limit_pa: f64,
        share: f64,
    },
    LookAtLimit,
    TankThereEnoughAfter {
        regulator_pa: f64,
    },
    AfterLowering {
        has_regulator: bool,
        regulator_pa: f64,
        volume_l: f64,
        share: f64,
    },
    ReliefWhereNotLowered {
        lo_pa: f64,
        hi_pa: f64,
    },
}

impl Note {
    /// The sentence.
    pub fn say(self, tongue: Tongue) -> String {
        let gauge = |pascal: f64| tongue.gauge(pascal);
        let volume = |litre: f64| tongue.volume(litre);
        let at_least = |litre: f64| show_volume_at_least(litre, tongue.units);
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let language = tongue.language;
        let both = |english: String, spanish: String| tongue.pick(english, spanish);
        let plain = |english: &str, spanish: &str| tongue.pick(english, spanish).to_string();
        match self {
            Note::AssemblyHolds => plain(
                "a backflow prevention assembly lets no water back to the main",
                "un conjunto contra reflujo no deja regresar agua a la calle",
            ),
            Note::CheckValveHolds => plain(
                "a check valve lets no water back to the main",
                "una válvula de retención no deja regresar agua a la calle",
            ),
            Note::MeterCheckHolds => plain(
                "the check at the meter lets no water back to the main",
                "la retención del medidor no deja regresar agua a la calle",
            ),
            Note::RegulatorHolds => plain(
                "a pressure reducing valve without a bypass shuts when the house pressure rises",
                "una válvula reductora de presión sin paso de retorno se cierra cuando sube la presión de la casa",
            ),
            Note::SoftenerCheckHolds => plain(
                "the check in the softener or filter lets no water back to the main",
                "la retención del suavizador o filtro no deja regresar agua a la calle",
            ),
            Note::RecirculationCheckHolds => plain(
                "a check in a recirculation or mixing line can shut the heater off from the main; taken as closed until it is traced",
                "una retención en la línea de recirculación o mezcla puede separar el calentador de la calle; se toma como cerrado hasta revisarlo",
            ),
            Note::RecirculationCheckAside => crate::say!(language, "expansion-recirculation-aside"),
            Note::SoftenerMayHold => plain(
                "a softener or filter may have a check: look in its bypass head",
                "un suavizador o filtro puede tener retención: revise su cabezal de desvío",
            ),
            Note::NothingHolds => plain(
                "nothing between the main and the heater stops water from going back",
                "nada entre la calle y el calentador impide que el agua regrese",
            ),
            Note::NoDeviceTold => plain(
                "no device was told of, so it is not known; taken as closed to be on the safe side",
                "no se dijo de ningún dispositivo, así que no se sabe; se toma como cerrado por precaución",
            ),
            Note::NothingBesideDevice => plain(
                "\"nothing\" was told beside a device that holds; the device counts",
                "se dijo \"nada\" junto a un dispositivo que retiene; cuenta el dispositivo",
            ),
            Note::BypassLetsBack { street_pa, limit_pa } => both(
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
            Note::BypassUseless { street_pa, limit_pa } => both(
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
            Note::BypassUnsettled { limit_pa } => both(
                format!(
                    "a regulator's bypass helps only while the main stays at or below {}; the highest pressure of the main is not known",
                    gauge(limit_pa)
                ),
                format!(
                    "el paso de retorno de una reductora sirve solo mientras la calle no pase de {}; no se sabe la presión más alta de la calle",
                    gauge(limit_pa)
                ),
            ),
            Note::WellTankTakes => crate::say!(language, "expansion-well-tank-takes"),
            Note::WellTankTooSmall { usable_l, demand_l } => crate::say!(
                language,
                "expansion-well-tank-too-small",
                usable = volume(usable_l),
                demand = volume(demand_l)
            ),
            Note::StorageAtRelief { hot_c, relief_c } => crate::say!(
                language,
                "expansion-storage-at-relief",
                hot = tongue.temperature(hot_c),
                relief = tongue.temperature(relief_c)
            ),
            Note::NoRegulator { street_pa, limit_pa } => crate::say!(
                language,
                "expansion-no-regulator",
                street = gauge(street_pa),
                limit = gauge(limit_pa)
            ),
            Note::RegulatorDoesNotHold => crate::say!(language, "expansion-regulator-does-not-hold"),
            Note::RegulatorCloses => crate::say!(language, "expansion-regulator-closes"),
            Note::TankIsMarginal {
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
            Note::AddBeside { volume_l, precharge_pa } => crate::say!(
                language,
                "expansion-add-beside",
                volume = at_least(volume_l),
                precharge = gauge(precharge_pa)
            ),
            Note::SettleByTracing => plain(
                "Ask the utility whether there is a check at the meter, and trace the pipe from the meter to the heater: one check is enough.",
                "Pregunte a la empresa de agua si hay una retención en el medidor, y siga la tubería del medidor al calentador: basta una retención.",
            ),
            Note::SettleByGauge => plain(
                "Leave a gauge with a maximum hand on a hose bibb for 24 hours, over a night: a closed system shows a maximum well above static after heating.",
                "Deje un manómetro con aguja de máxima en una llave de manguera 24 horas, con una noche: un sistema cerrado muestra un máximo muy por encima de la estática después de calentar.",
            ),
            Note::SettleByHeating => {
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
            Note::SealedFalls => plain(
                "Sealed, the pressure would fall: the walls grow faster than the water, or the water contracts. The supply follows in through the device, so the gauge stays at static. Plastic pipe creeps and softens, so do not count on it.",
                "Sellado, la presión bajaría: las paredes crecen más que el agua, o el agua se contrae. El suministro entra por el dispositivo y el manómetro queda en la estática. La tubería de plástico cede y se ablanda; no cuente con ello.",
            ),
            Note::SealedBound => plain(
                "An upper bound: flexing heads, gaskets, hoses and trapped air lower it, and the weakest part or the heater's relief valve gives first.",
                "Es el máximo: fondos que ceden, juntas, mangueras y aire atrapado lo bajan, y antes cede la pieza más débil o el alivio del calentador.",
            ),
            Note::TankTooHigh => plain(
                "the tank would stand so high that the supply does not reach it",
                "el tanque estaría tan alto que el suministro no llega a él",
            ),
            Note::NoRoomForTank { static_pa, limit_pa } => both(
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
            Note::TankTakesUp {
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
            Note::DiaphragmFailed => plain(
                "water at the air valve: the diaphragm has failed, so the tank takes up nothing",
                "agua en la válvula de aire: el diafragma falló, así que el tanque no recibe nada",
            ),
            Note::PrechargeLost => plain(
                "no precharge is left: the tank has lost its air or its diaphragm has failed; look whether water comes out at the air valve",
                "no queda precarga: el tanque perdió su aire o falló su diafragma; fíjese si sale agua por la válvula de aire",
            ),
            Note::UnderCharged {
                precharge_pa,
                static_pa,
                at_rest_l,
                share,
            } => both(
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
            Note::OverCharged {
                precharge_pa,
                static_pa,
            } => both(
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
            Note::PrechargeAboveLimit { limit_pa } => both(
                format!(
                    "the precharge is at or above the limit of {}: the tank takes up nothing before the limit is passed",
                    gauge(limit_pa)
                ),
                format!(
                    "la precarga está en el límite de {} o más arriba: el tanque no recibe nada antes de pasar el límite",
                    gauge(limit_pa)
                ),
            ),
            Note::NoTankHolds => plain(
                "no tank holds the limit at this static pressure",
                "con esta presión estática ningún tanque mantiene el límite",
            ),
            Note::OverAcceptance {
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
            Note::CanTakeMore {
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
            Note::Unbounded => plain(
                "nothing bounds the pressure once it is full: the heater's relief valve would lift",
                "una vez lleno, nada limita la presión: abriría la válvula de alivio del calentador",
            ),
            Note::WouldLift {
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
            Note::EndsBelow { ends_pa, by_pa } => both(
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
            Note::EndsAbove { ends_pa, by_pa } => both(
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
            Note::EnoughWhenSet { precharge_pa } => both(
                format!(
                    "with its precharge set to {} (tank isolated and drained) it is enough",
                    gauge(precharge_pa)
                ),
                format!(
                    "con su precarga puesta a {} (tanque aislado y vacío) basta",
                    gauge(precharge_pa)
                ),
            ),
            Note::NeededInTotal { volume_l, precharge_pa } => both(
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
            Note::NoReliefFits {
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
            Note::SetToHoldBoth {
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
            Note::ReliefConflicts { lo_pa, hi_pa, limit_pa } => both(
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
            Note::SettingTooClose {
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
            Note::SettingTooHigh { at_pa, hi_pa } => both(
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
            Note::SettingPassesLimit { at_pa, limit_pa } => both(
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
            Note::OutletIces { coldest_c } => both(
                format!(
                    "the climate record goes down to {}: an outlet outdoors ices shut; discharge through an air gap indoors first",
                    tongue.temperature(coldest_c)
                ),
                format!(
                    "el registro del clima baja hasta {}: una salida al aire libre se cierra con hielo; descargue primero bajo techo por un espacio de aire",
                    tongue.temperature(coldest_c)
                ),
            ),
            Note::PlumbingOpen => plain(
                "the plumbing is open: heated water goes back to the main",
                "la tubería está abierta: el agua calentada regresa a la calle",
            ),
            Note::DoesNotExpand => plain(
                "the water does not expand between these temperatures",
                "el agua no se expande entre estas temperaturas",
            ),
            Note::StaticOverLimit { static_pa, limit_pa } => both(
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
            Note::PlumbingClosed => plain(
                "the plumbing is closed, so the heated water has nowhere to go",
                "la tubería está cerrada, así que el agua calentada no tiene a dónde ir",
            ),
            Note::ClosedUnsettled => plain(
                "it is not settled whether the plumbing is closed; this is the answer if it is",
                "no se sabe si la tubería está cerrada; esta es la respuesta si lo está",
            ),
            Note::TankIsEnough {
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
            Note::TankEnoughWhenSet { static_pa } => both(
                format!(
                    "the tank is large enough once its precharge is set to {}; as it stands it is not",
                    gauge(static_pa)
                ),
                format!(
                    "el tanque alcanza cuando su precarga se pone a {}; como está no alcanza",
                    gauge(static_pa)
                ),
            ),
            Note::ReliefFits { at_pa, limit_pa } => both(
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
            Note::SavesWater {
                volume_l,
                share,
                static_pa,
                limit_pa,
            } => {
                let tank = Note::TankTakesUp {
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
            Note::TooLargeForRoom { needed_l, room_l } => both(
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
            Note::ReliefInstead { lo_pa, hi_pa } => both(
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
            Note::MakeRoom => plain(
                "no relief holds the limit either, so room has to be made for the tank, or two tanks share it",
                "tampoco hay alivio que mantenga el límite, así que hay que hacer espacio para el tanque o repartirlo en dos",
            ),
            Note::TankThereFails => plain(
                "the tank that is there does not hold the limit, and setting its precharge would not be enough",
                "el tanque que ya está no mantiene el límite, y ajustar su precarga no bastaría",
            ),
            Note::StaticTooNear {
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
            Note::LookAtLimit => plain(
                "ask for the pressure limit to be looked at: it leaves no room above a usable supply",
                "pida que revisen el límite de presión: no deja espacio sobre un suministro que sirva",
            ),
            Note::TankThereEnoughAfter { regulator_pa } => both(
                format!(
                    "with the regulator at {} and the precharge set to the same, the tank that is there is enough",
                    gauge(regulator_pa)
                ),
                format!(
                    "con la reductora a {} y la precarga igual, basta el tanque que ya está",
                    gauge(regulator_pa)
                ),
            ),
            Note::AfterLowering {
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
            Note::ReliefWhereNotLowered { lo_pa, hi_pa } => both(
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

/// If a reading were another, what the answer would become.
pub fn turn_sentence(reading: &'static str, turns_at: &str, told: &str, becomes: Measure, tongue: Tongue) -> String {
    let (name, measure) = (
        super::reading_words(reading, tongue.language),
        becomes.words_in(tongue.language),
    );
    tongue.pick(
        format!("if {name} were {turns_at} instead of {told}, the answer would be: {measure}"),
        format!("si {name} fuera {turns_at} en vez de {told}, la respuesta sería: {measure}"),
    )
}
