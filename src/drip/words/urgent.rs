//! Findings in which somebody acts while the caller is on the line, or the same day.

use super::{Words, ask_fire, branches, emergency_number, isolate, l, m, tap};
use crate::drip::account::{Account, Hazard, Sign, Water, Where};
use crate::drip::config::DripConfig;
use crate::drip::line::Line;
use crate::drip::urgency::relief_of_heater_is_shut;

pub(super) fn emergency(account: &Account, config: &DripConfig) -> Words {
    let number = emergency_number(config);
    if account.hazards.is_empty() && relief_of_heater_is_shut(account) {
        let mut words = branches::capped_heater(config);
        if account.signs.contains(&Sign::OddWater) {
            words.do_now.push(l(
                "Stop using the water for drinking, cooking and washing, and tell everyone in the building.",
                "Dejen de usar el agua para beber, cocinar y lavarse, y avisen a todos en el edificio.",
            ));
        }
        return fire_stays_open(words, account);
    }
    let mut words = Words::default();
    let odd_only = account.hazards.is_empty() && account.signs.contains(&Sign::OddWater);
    if odd_only {
        words.do_now = vec![
            l(
                "Stop using the water for drinking, cooking and washing, and tell everyone in the building.",
                "Dejen de usar el agua para beber, cocinar y lavarse, y avisen a todos en el edificio.",
            ),
            l(
                "Keep a jar of the water for the water-quality lead.",
                "Guarde un frasco del agua para el responsable de calidad del agua.",
            ),
            Line::new(
                format!("If anybody feels ill, call {number}."),
                format!("Si alguien se siente mal, llame al {number}."),
            ),
        ];
        words.do_not.push(l(
            "Do not run the taps to clear it: that would wash the evidence away.",
            "No deje correr las llaves para aclararla: se perdería la evidencia.",
        ));
        words.who = Some(l(
            "the utility's water-quality lead and the duty supervisor",
            "el responsable de calidad del agua y el supervisor de turno",
        ));
        words.hand_over = Some(l("Hand over now.", "Transfiera la llamada ahora."));
        return words;
    }
    // A switch is a spark: where gas is smelled nobody is sent to a breaker, a control or a wet floor (common practice, no source).
    let gas = account.hazards.contains(&Hazard::Gas);
    if gas {
        words.do_now.push(m("drip-gas-out"));
        words.do_not.push(m("drip-gas-not"));
    }
    words.do_now.push(l(
        "Get everybody away from the water and from the heater.",
        "Aleje a todos del agua y del calentador.",
    ));
    if account.hazards.contains(&Hazard::Electric) && !gas {
        words.do_now.push(l(
            "Stay out of the wet area. Switch power off at the main panel only if it is dry there and on the way to it.",
            "No entre en la zona mojada. Corte la electricidad en el tablero solo si ahí y el camino están secos.",
        ));
    }
    let heater = account.hazards.contains(&Hazard::Steam)
        || account.place == Where::HeaterRelief
        || matches!(account.water, Some(Water::Hot | Water::Scalding));
    if heater {
        if !gas {
            words.do_now.push(l(
                "If it is safe to reach: switch the heater's power off at the breaker, or its gas off at the gas control.",
                "Si se llega sin peligro: corte la electricidad del calentador en el interruptor, o su gas en el control de gas.",
            ));
        }
        words.do_not.push(l(
            "Do not touch the relief valve or its pipe.",
            "No toque la válvula de alivio ni su tubo.",
        ));
    }
    if account.hazards.contains(&Hazard::Person) {
        words.do_now.push(l(
            "Cool a burn with cool tap water and keep it clean until help is there.",
            "Enfríe la quemadura con agua fresca de la llave y manténgala limpia hasta que llegue ayuda.",
        ));
    }
    words.do_now.push(Line::new(
        format!("Call {number} from a safe place."),
        format!("Llame al {number} desde un lugar seguro."),
    ));
    if account.hazards.contains(&Hazard::Flood) {
        words.do_now.push(l(
            "The duty supervisor sends a crew to the service.",
            "El supervisor de turno manda una cuadrilla al servicio.",
        ));
    }
    if relief_of_heater_is_shut(account) {
        words.do_now.push(m("drip-capped-plumber"));
        words.do_not.push(m("drip-capped-not"));
    }
    words.do_not.push(l(
        "Do not go back for belongings; do not step into water near outlets or appliances.",
        "No regrese por pertenencias; no pise agua cerca de enchufes o aparatos.",
    ));
    words.who = Some(l(
        "the emergency services and the utility's duty supervisor",
        "los servicios de emergencia y el supervisor de turno de la empresa de agua",
    ));
    words.hand_over = Some(l("Hand over now.", "Transfiera la llamada ahora."));
    if relief_of_heater_is_shut(account) {
        words.who = Some(l(
            "the emergency services and the utility's duty supervisor; a licensed plumber for the heater",
            "los servicios de emergencia y el supervisor de turno de la empresa de agua; un plomero con licencia para el calentador",
        ));
    }
    if gas {
        words.who = Some(m(if relief_of_heater_is_shut(account) {
            "drip-gas-who-plumber"
        } else {
            "drip-gas-who"
        }));
    }
    fire_stays_open(words, account)
}

/// An emergency at a building with a fire line still leaves its valves alone.
fn fire_stays_open(mut words: Words, account: &Account) -> Words {
    if account.is_fire_line() {
        words.do_now.push(l(
            "Leave every valve of the fire line open; the fire officials decide.",
            "Deje abiertas todas las válvulas de la línea contra incendios; deciden los bomberos.",
        ));
    }
    words
}

pub(super) fn fire_line(account: &Account) -> Words {
    let mut words = Words {
        do_now: vec![
            l("Leave every valve open.", "Deje abiertas todas las válvulas."),
            l(
                "The building's responsible person calls the fire protection contractor and the fire department's non-emergency line.",
                "La persona responsable del edificio llama al contratista de protección contra incendios y a la línea de no emergencia de los bomberos.",
            ),
            l(
                "Tell the duty supervisor; the fire official is told as your policy says.",
                "Avise al supervisor de turno; se informa a la autoridad de bomberos según su política.",
            ),
        ],
        do_not: vec![l(
            "Do not shut, throttle, drain or turn off anything on a fire line, whatever drips.",
            "No cierre, reduzca, vacíe ni apague nada en una línea contra incendios, gotee lo que gotee.",
        )],
        who: Some(l(
            "the fire protection contractor and the fire official",
            "el contratista de protección contra incendios y la autoridad de bomberos",
        )),
        say: None,
        hand_over: Some(l("Hand over now.", "Transfiera la llamada ahora.")),
        cautions: Vec::new(),
    };
    if account.signs.contains(&Sign::Ice) || account.frost() == Some(true) {
        words.do_now.push(l(
            "Frozen or broken fire piping counts as protection lost: the contractor and the fire official arrange a fire watch.",
            "Una tubería contra incendios congelada o rota es protección perdida: el contratista y los bomberos organizan la vigilancia.",
        ));
    }
    words
}

pub(super) fn freeze_damage(account: &Account, config: &DripConfig) -> Words {
    let mut words = Words {
        do_now: isolate(account, config),
        do_not: vec![
            l(
                "Do not put it back into use until it is repaired and a certified tester has tested it.",
                "No lo vuelva a usar hasta que lo reparen y lo pruebe un probador certificado.",
            ),
            l(
                "Do not force a frozen valve; stems snap.",
                "No fuerce una válvula congelada; el vástago se rompe.",
            ),
        ],
        who: Some(l(
            "a licensed plumber for the repair, then a certified tester for the test",
            "un plomero con licencia para reparar, y luego un probador certificado para la prueba",
        )),
        say: None,
        hand_over: Some(l(
            "Hand over if the flow cannot be stopped, if it reaches a building, a street or electrics.",
            "Transfiera si no se puede detener el agua, o si llega a un edificio, la calle o algo eléctrico.",
        )),
        cautions: vec![l(
            "Damage often shows only on the thaw: look at the valves on both sides, the covers and the test valves.",
            "El daño suele verse al deshielo: revise las dos válvulas de paso, las tapas y las válvulas de prueba.",
        )],
    };
    words.do_now.push(l(
        "Take a picture for the plumber and the utility.",
        "Tome una foto para el plomero y la empresa de agua.",
    ));
    words
}

pub(super) fn freezing_now(account: &Account, config: &DripConfig) -> Words {
    let mut words = Words {
        do_now: vec![
            tap(account),
            l(
                "Find the valve on the supply side first, in case it splits when it thaws.",
                "Ubique primero la válvula del lado del suministro, por si se abre al deshelarse.",
            ),
            l(
                "Warm it gently with warm air or towels wrung out in warm water, from the open end back; dry hands, protected outlet.",
                "Caliéntelo con aire tibio o toallas escurridas en agua tibia, desde el extremo abierto; manos secas, enchufe protegido.",
            ),
            l(
                "Once it is thawed, look for drips at the seams and covers.",
                "Cuando se deshiele, busque goteos en uniones y tapas.",
            ),
        ],
        do_not: vec![
            l(
                "Do not use a torch, open flame, heater coil or boiling water.",
                "No use soplete, llama abierta, resistencia ni agua hirviendo.",
            ),
            l(
                "Do not force a frozen valve; stems snap.",
                "No fuerce una válvula congelada; el vástago se rompe.",
            ),
        ],
        who: Some(l(
            "the caller for gentle warming if it is safe; a licensed plumber for the rest",
            "quien llama para calentar con suavidad si no hay peligro; un plomero con licencia para lo demás",
        )),
        say: None,
        hand_over: Some(l(
            "Hand over if nobody can reach the valve, if it has split, or if the customer depends on this water for health.",
            "Transfiera si nadie llega a la válvula, si ya se rompió, o si el cliente necesita esta agua por salud.",
        )),
        cautions: vec![l(
            "No water or no drip in hard frost can mean a plug of ice: the break often shows only on the thaw.",
            "Si con helada fuerte no sale agua ni gotea, puede haber un bloque de hielo: la rotura suele verse al deshielo.",
        )],
    };
    if let Some(line) = ask_fire(account) {
        words.do_now.insert(0, line);
    }
    if account.signs.contains(&Sign::Ice) && account.told_rate().is_some_and(|rate| !rate.is_none()) {
        words.do_now.extend(isolate(account, config));
    }
    words
}
