//! What is said and done for each finding, in both languages.
//!
//! Rules of the trade behind the lines: practice of utilities' desks (common practice, no source) except where a line
//! names its source in a comment. No line names a firm, a price or a size.

use super::account::{Account, Hazard, Sign, Where};
use super::config::DripConfig;
use super::finding::{Finding, Within};
use super::line::Line;
use super::table::Question;

fn l(en: &str, es: &str) -> Line {
    Line::new(en, es)
}

/// The lines for one answer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Words {
    /// What to do now, in order.
    pub do_now: Vec<Line>,
    /// What not to do.
    pub do_not: Vec<Line>,
    /// Who may do the rest.
    pub who: Option<Line>,
    /// The sentence to say to the caller.
    pub say: Option<Line>,
    /// When to hand the call over.
    pub hand_over: Option<Line>,
    /// Cautions of this answer.
    pub cautions: Vec<Line>,
}

/// Whether the relief of an assembly, a heater or the cold line is where the water comes out.
pub fn at_relief(place: Where) -> bool {
    matches!(place, Where::ReliefPort | Where::ExpansionRelief | Where::HeaterRelief)
}

/// How soon somebody must act on a finding at a place, before critical customers and other causes are minded.
pub fn within(finding: Finding, place: Where) -> Within {
    match finding {
        Finding::Emergency | Finding::FireLine => Within::Now,
        Finding::FreezeDamage | Finding::FreezingNow => Within::Today,
        // Daily discharge of a heater's relief wears it: within 48 hours (common practice).
        Finding::ExpansionSuspected | Finding::DeviceFault if place == Where::HeaterRelief => Within::Hours48,
        Finding::ExpansionSuspected => Within::Weeks2,
        Finding::DeviceFault | Finding::Leak | Finding::CannotTell => Within::Hours72,
        Finding::WorkingAsMeant => Within::Watch24,
    }
}

/// All lines for a finding. `question` is the open question that tells most, for "cannot tell".
pub fn words(finding: Finding, question: Option<Question>, account: &Account, config: &DripConfig) -> Words {
    let mut words = match finding {
        Finding::Emergency => emergency(account, config),
        Finding::FireLine => fire_line(account),
        Finding::WorkingAsMeant => working(account),
        Finding::ExpansionSuspected => expansion(account),
        Finding::DeviceFault => device_fault(account, config),
        Finding::FreezeDamage => freeze_damage(account, config),
        Finding::FreezingNow => freezing_now(account, config),
        Finding::Leak => leak(account, config),
        Finding::CannotTell => cannot_tell(question),
    };
    if account.critical && finding != Finding::Emergency && finding != Finding::FireLine {
        words.do_now.insert(
            0,
            l(
                "Critical customer: get the duty supervisor on this call now, while you go on.",
                "Cliente crítico: avise ahora al supervisor de turno, mientras sigue con la llamada.",
            ),
        );
        words.who = words.who.map(|who| {
            Line::new(
                format!("the duty supervisor now, and {}", who.en),
                format!("el supervisor de turno ahora, y {}", who.es),
            )
        });
        words.do_not.push(l(
            "Do not advise closing any valve that feeds a critical customer.",
            "No aconseje cerrar ninguna válvula que alimente a un cliente crítico.",
        ));
    }
    common_do_not(&mut words.do_not, account);
    if let Some(own) = config.more_to_do.get(finding.word()) {
        words.do_now.extend(own.iter().cloned());
    }
    words
}

fn common_do_not(do_not: &mut Vec<Line>, account: &Account) {
    if at_relief(account.place) || matches!(account.place, Where::Canopy | Where::FreezeDrip | Where::Unsure) {
        do_not.push(l(
            "Do not plug, cap, tape or pipe shut any opening that lets water out.",
            "No tape, selle ni entube ninguna abertura por donde sale agua.",
        ));
    }
    if matches!(
        account.place,
        Where::HeaterRelief | Where::ExpansionRelief | Where::Unsure
    ) {
        do_not.push(l(
            "Do not change the water heater's setting to make it stop; that is the plumber's decision.",
            "No cambie el ajuste del calentador para que deje de gotear; eso lo decide el plomero.",
        ));
    }
    do_not.push(l(
        "Do not remove the assembly or lead water around it.",
        "No quite el conjunto ni lleve el agua por fuera de él.",
    ));
}

/// Lines for closing the valve before the device, where the caller may: never for fire lines or critical customers.
fn isolate(account: &Account, config: &DripConfig) -> Vec<Line> {
    if account.critical || account.is_fire_line() {
        return vec![l(
            "Leave the valves as they are until the person responsible for this line decides.",
            "Deje las válvulas como están hasta que decida la persona responsable de esta línea.",
        )];
    }
    let mut lines = Vec::new();
    if account.fire != Some(false) {
        lines.push(l(
            "First ask: does this line feed fire sprinklers or hydrants? If yes or not sure, leave every valve open and hand over.",
            "Primero pregunte: ¿esta línea alimenta rociadores o hidrantes contra incendios? Si es así o hay duda, deje todas las válvulas abiertas y transfiera la llamada.",
        ));
    }
    lines.push(l(
        "If it feeds no fire protection and can be reached safely, close the valve on the supply side of the device, gently.",
        "Si no alimenta protección contra incendios y se llega sin peligro, cierre con suavidad la válvula del lado del suministro.",
    ));
    lines.push(if config.customer_may_close_at_meter {
        l(
            "If that valve cannot be reached or will not move, close the house valve, or the valve at the meter.",
            "Si no se llega a esa válvula o no se mueve, cierre la válvula de la casa o la del medidor.",
        )
    } else {
        l(
            "If that valve cannot be reached or will not move, leave it and ask the utility for a crew to close the service.",
            "Si no se llega a esa válvula o no se mueve, déjela y pida a la empresa de agua una cuadrilla que cierre el servicio.",
        )
    });
    lines
}

fn emergency(account: &Account, config: &DripConfig) -> Words {
    let number = config.emergency_services.trim();
    let number = if number.is_empty() { "911" } else { number };
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
        words.say = Some(l(
            "Please stop using the water now. I am connecting you with our water-quality lead.",
            "Por favor, deje de usar el agua ahora. Le comunico con nuestro responsable de calidad del agua.",
        ));
        words.hand_over = Some(l("Hand over now.", "Transfiera la llamada ahora."));
        return words;
    }
    words.do_now.push(l(
        "Get everybody away from the water and from the heater.",
        "Aleje a todos del agua y del calentador.",
    ));
    if account.hazards.contains(&Hazard::Electric) {
        words.do_now.push(l(
            "Stay out of the wet area. Switch power off at the main panel only if it is dry there and on the way to it.",
            "No entre en la zona mojada. Corte la electricidad en el tablero solo si ahí y el camino están secos.",
        ));
    }
    let heater = account.hazards.contains(&Hazard::Steam)
        || account.place == Where::HeaterRelief
        || matches!(
            account.water,
            Some(super::account::Water::Hot | super::account::Water::Scalding)
        );
    if heater {
        words.do_now.push(l(
            "If it is safe to reach: switch the heater's power off at the breaker, or its gas off at the gas control.",
            "Si se llega sin peligro: corte la electricidad del calentador en el interruptor, o su gas en el control de gas.",
        ));
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
    if account.is_fire_line() {
        words.do_now.push(l(
            "Leave every valve of the fire line open; the fire officials decide.",
            "Deje abiertas todas las válvulas de la línea contra incendios; deciden los bomberos.",
        ));
    }
    words.do_not.push(l(
        "Do not go back for belongings; do not step into water near outlets or appliances.",
        "No regrese por pertenencias; no pise agua cerca de enchufes o aparatos.",
    ));
    words.who = Some(l(
        "the emergency services and the utility's duty supervisor",
        "los servicios de emergencia y el supervisor de turno de la empresa de agua",
    ));
    words.say = Some(Line::new(
        format!("Move away from it now, with everybody. Call {number} from a safe place. I am getting my supervisor."),
        format!("Aléjese ahora, con todos. Llame al {number} desde un lugar seguro. Voy a llamar a mi supervisor."),
    ));
    words.hand_over = Some(l("Hand over now.", "Transfiera la llamada ahora."));
    words
}

fn fire_line(account: &Account) -> Words {
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
        say: Some(l(
            "Please leave all the valves open. Call your fire protection contractor and the fire department's non-emergency line; I am telling my supervisor.",
            "Por favor, deje abiertas todas las válvulas. Llame a su contratista contra incendios y a la línea de no emergencia de los bomberos; yo aviso a mi supervisor.",
        )),
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

fn working(account: &Account) -> Words {
    let mut words = Words {
        do_now: vec![l(
            "Fill a cup under it and note the time, so that a change can be seen.",
            "Llene una taza debajo y anote el tiempo, para notar si cambia.",
        )],
        do_not: Vec::new(),
        who: Some(l(
            "the caller, by looking again; a certified tester or licensed plumber if it changes",
            "quien llama, revisando de nuevo; un probador certificado o plomero con licencia si cambia",
        )),
        say: None,
        hand_over: Some(l(
            "Hand over if it runs faster, runs warm, goes on in mild weather, or wets anything that matters.",
            "Transfiera si corre más rápido, sale tibia, sigue con tiempo templado o moja algo importante.",
        )),
        cautions: Vec::new(),
    };
    words.say = Some(match account.place {
        Where::FreezeDrip => {
            words.do_now.push(l(
                "Watch for ice where the drip lands; sand or salt a walkway.",
                "Cuidado con el hielo donde cae el goteo; ponga arena o sal en el paso.",
            ));
            words.do_now.push(l(
                "Keep the outlet free and the supply on, or it cannot do its work.",
                "Mantenga libre la salida y el suministro abierto, o no puede hacer su trabajo.",
            ));
            l(
                "That can be how it works: the valve lets a little water run in the cold so the pipe does not freeze. If it runs faster, or still runs when it is mild, call us back.",
                "Así puede funcionar: la válvula deja correr un poco de agua con el frío para que el tubo no se congele. Si corre más rápido o sigue con tiempo templado, llámenos.",
            )
        }
        Where::ReliefPort => {
            words.do_now.push(l(
                "Keep the opening and its drain free.",
                "Mantenga libre la abertura y su desagüe.",
            ));
            l(
                "That can be how it works: the valve lets a little out when the street pressure dips. If it comes back several times a day, a certified tester should look.",
                "Así puede funcionar: la válvula suelta un poco cuando baja la presión de la calle. Si se repite varias veces al día, debe revisarla un probador certificado.",
            )
        }
        Where::ExpansionRelief => {
            words.do_now.push(l(
                "Check that it drips into a drain and not onto equipment.",
                "Revise que gotee en un desagüe y no sobre equipos.",
            ));
            l(
                "That can be how it works: it lets a little water out while the heater works. If it goes on between heatings, a licensed plumber should look.",
                "Así puede funcionar: suelta un poco de agua mientras el calentador trabaja. Si sigue entre calentadas, debe revisarla un plomero con licencia.",
            )
        }
        Where::Canopy => l(
            "That can be how it works: it spurts while it fills and then seals. If it has not sealed after a minute, call us back.",
            "Así puede funcionar: echa agua mientras se llena y luego sella. Si no sella en un minuto, llámenos.",
        ),
        Where::TestCock => l(
            "That can be how it works just after a test. If it is not dry within the hour, the tester should come back.",
            "Así puede ser justo después de una prueba. Si no se seca en una hora, el probador debe volver.",
        ),
        _ => l(
            "That can be how it works. If it runs faster, warmer or longer, call us back.",
            "Así puede funcionar. Si corre más rápido, más tibia o más tiempo, llámenos.",
        ),
    });
    words
}

fn expansion(account: &Account) -> Words {
    let mut words = Words {
        do_now: vec![
            l(
                "Ask whether it stops when a tap is opened, and write the answer down for the plumber.",
                "Pregunte si para al abrir una llave y anote la respuesta para el plomero.",
            ),
            l(
                "Keep hands away from warm or hot water at a relief.",
                "No acerque las manos al agua tibia o caliente de un alivio.",
            ),
        ],
        do_not: Vec::new(),
        who: Some(l(
            "a licensed plumber, with a pressure gauge over a day",
            "un plomero con licencia, con un manómetro durante un día",
        )),
        say: Some(l(
            "Pressure may build up when water heats, because your plumbing is closed. A licensed plumber can measure that and give the water room.",
            "La presión puede subir cuando el agua se calienta, porque su tubería está cerrada. Un plomero con licencia puede medirla y darle espacio al agua.",
        )),
        hand_over: Some(l(
            "Hand over at once if the water turns hot or steaming, or the heater makes boiling sounds.",
            "Transfiera de inmediato si el agua sale muy caliente o con vapor, o el calentador suena a hervor.",
        )),
        cautions: Vec::new(),
    };
    if account.place == Where::ReliefPort {
        words.who = Some(l(
            "a licensed plumber for the pressure and a certified tester for the second check",
            "un plomero con licencia para la presión y un probador certificado para la segunda retención",
        ));
    }
    if account.place == Where::HeaterRelief {
        words.cautions.push(l(
            "The heater's relief is a last line of safety and is not made for daily use; have it looked at soon.",
            "El alivio del calentador es la última protección y no está hecho para uso diario; que lo revisen pronto.",
        ));
    }
    words
}

fn device_fault(account: &Account, config: &DripConfig) -> Words {
    let mut words = Words::default();
    if account.signs.contains(&Sign::Covered) {
        words.do_now.push(l(
            "That opening must stay open. Take a loose cover or blanket off it if that is safe; leave anything fixed to the tester.",
            "Esa abertura debe quedar libre. Quite una cubierta o manta suelta si no hay peligro; lo fijo lo ve el probador.",
        ));
    }
    match account.place {
        Where::HeaterRelief => {
            words.do_now.push(l(
                "Keep hands and children away from the discharge; it can turn hot without warning.",
                "Mantenga lejos las manos y a los niños; la descarga puede salir caliente sin aviso.",
            ));
            words.who = Some(l("a licensed plumber", "un plomero con licencia"));
            words.say = Some(l(
                "The heater's safety valve should not keep dripping. A licensed plumber needs to check the pressure and the valve soon. Call back at once if the water turns hot.",
                "La válvula de seguridad del calentador no debe seguir goteando. Un plomero con licencia debe revisar pronto la presión y la válvula. Llame de inmediato si el agua sale caliente.",
            ));
        }
        Where::ExpansionRelief => {
            words.do_now.push(l(
                "See that it runs to a drain and wets nothing electrical.",
                "Revise que corra a un desagüe y no moje nada eléctrico.",
            ));
            words.who = Some(l("a licensed plumber", "un plomero con licencia"));
            words.say = Some(l(
                "A relief that keeps running points to high pressure, a failed tank or dirt in the valve. A licensed plumber can tell which.",
                "Un alivio que sigue corriendo indica presión alta, un tanque dañado o suciedad en la válvula. Un plomero con licencia puede saber cuál.",
            ));
        }
        Where::FreezeDrip => {
            words.do_now.push(l(
                "Leave the supply on while frost is forecast; a drip too many is better than none.",
                "Deje abierto el suministro mientras se espere helada; es mejor que gotee de más que nada.",
            ));
            words.do_now.push(l(
                "Watch for ice where the water lands.",
                "Cuidado con el hielo donde cae el agua.",
            ));
            words.who = Some(l(
                "a licensed plumber or certified tester",
                "un plomero con licencia o probador certificado",
            ));
            words.say = Some(l(
                "The valve that drips in the cold is running when it should not, or faster than it should. A plumber or tester can clean or replace it.",
                "La válvula que gotea con el frío corre cuando no debe o más de lo que debe. Un plomero o probador puede limpiarla o cambiarla.",
            ));
        }
        _ => {
            words.do_now.push(l(
                "Keep the opening and its drain free.",
                "Mantenga libre la abertura y su desagüe.",
            ));
            words.do_now.extend(isolate(account, config));
            words.who = Some(l(
                "a certified backflow assembly tester, or a licensed plumber who repairs assemblies",
                "un probador certificado de conjuntos contra reflujo, o un plomero con licencia que los repare",
            ));
            words.say = Some(l(
                "It needs a certified tester or licensed plumber. The water it lets out is a sign that service is due, and the opening has to stay free.",
                "Necesita un probador certificado o plomero con licencia. El agua que suelta es señal de que toca servicio, y la abertura debe quedar libre.",
            ));
        }
    }
    words.hand_over = Some(l(
        "Hand over if water reaches a building or electrics, if it turns hot, or if the drain cannot take it.",
        "Transfiera si el agua llega a un edificio o a algo eléctrico, si sale caliente o si el desagüe no alcanza.",
    ));
    words
}

fn freeze_damage(account: &Account, config: &DripConfig) -> Words {
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
    words.say = Some(if account.critical {
        l(
            "Frost has probably broken a part. I am getting my supervisor; please leave the valves as they are until we call back.",
            "Es probable que la helada rompió una pieza. Voy a llamar a mi supervisor; por favor deje las válvulas como están hasta que le llamemos.",
        )
    } else {
        l(
            "Frost has probably broken a part. If the line feeds no fire protection and you can reach the valve before the device safely, close it gently. It must be repaired and tested before it is used again.",
            "Es probable que la helada rompió una pieza. Si la línea no alimenta protección contra incendios y llega sin peligro a la válvula antes del dispositivo, ciérrela con suavidad. Hay que repararlo y probarlo antes de usarlo.",
        )
    });
    words
}

fn freezing_now(account: &Account, config: &DripConfig) -> Words {
    let mut words = Words {
        do_now: vec![
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
        say: Some(l(
            "It is probably freezing right now. Warm air only, and know where your valve is before it thaws.",
            "Es probable que se esté congelando ahora. Solo aire tibio, y sepa dónde está su válvula antes de que se deshiele.",
        )),
        hand_over: Some(l(
            "Hand over if nobody can reach the valve, if it has split, or if the customer depends on this water for health.",
            "Transfiera si nadie llega a la válvula, si ya se rompió, o si el cliente necesita esta agua por salud.",
        )),
        cautions: vec![l(
            "No water or no drip in hard frost can mean a plug of ice: the break often shows only on the thaw.",
            "Si con helada fuerte no sale agua ni gotea, puede haber un bloque de hielo: la rotura suele verse al deshielo.",
        )],
    };
    if account.signs.contains(&Sign::Ice) && account.told_rate().is_some_and(|rate| !rate.is_none()) {
        words.do_now.extend(isolate(account, config));
    }
    words
}

fn leak(account: &Account, config: &DripConfig) -> Words {
    let mut do_now = Vec::new();
    if matches!(account.place, Where::Ground | Where::Unsure) {
        do_now.push(l(
            "With every tap and appliance off, read the meter, wait two minutes, read it again: if it moved, water is leaking.",
            "Con todas las llaves y aparatos apagados, lea el medidor, espere dos minutos y lea otra vez: si se movió, hay fuga.",
        ));
    }
    do_now.extend(isolate(account, config));
    Words {
        do_now,
        do_not: Vec::new(),
        who: Some(l(
            "a licensed plumber; a certified tester if a part of the assembly is opened",
            "un plomero con licencia; un probador certificado si se abre una parte del conjunto",
        )),
        say: Some(l(
            "That looks like a leak. It needs a licensed plumber, and a test if the assembly is opened.",
            "Eso parece una fuga. Necesita un plomero con licencia, y una prueba si se abre el conjunto.",
        )),
        hand_over: Some(l(
            "Hand over if water comes up in the street, reaches a building, or cannot be stopped.",
            "Transfiera si el agua sale a la calle, llega a un edificio o no se puede detener.",
        )),
        cautions: Vec::new(),
    }
}

fn cannot_tell(question: Option<Question>) -> Words {
    let ask = question.map(ask);
    let mut do_now = vec![l(
        "Keep away from it and keep anything that lets water out free.",
        "Manténgase lejos y deje libre todo lo que suelte agua.",
    )];
    if let Some(ask) = &ask {
        do_now.insert(
            0,
            Line::new(format!("Ask: {}", ask.en), format!("Pregunte: {}", ask.es)),
        );
    }
    Words {
        do_now,
        do_not: Vec::new(),
        who: Some(l(
            "you, with this one question; a certified tester or licensed plumber if the caller cannot answer it",
            "usted, con esta única pregunta; un probador certificado o plomero con licencia si quien llama no sabe",
        )),
        say: ask.map_or_else(
            || {
                Some(l(
                    "I cannot tell from that. A certified tester or licensed plumber should look at it.",
                    "Con eso no puedo saberlo. Debe verlo un probador certificado o plomero con licencia.",
                ))
            },
            Some,
        ),
        hand_over: Some(l(
            "Hand over if anything in the answers worries you.",
            "Transfiera si algo en las respuestas le preocupa.",
        )),
        cautions: Vec::new(),
    }
}

/// A question as it is put to the caller.
pub fn ask(question: Question) -> Line {
    match question {
        Question::Where => l(
            "Where does the water come out: from which part?",
            "¿Por dónde sale el agua: por cuál parte?",
        ),
        Question::Rate => l(
            "How long does it take to fill a cup?",
            "¿Cuánto tarda en llenarse una taza?",
        ),
        Question::When => l(
            "When does it drip: on cold nights, while the heater works, or all the time? Did it begin after work on the main or a thaw?",
            "¿Cuándo gotea: en noches frías, mientras trabaja el calentador o siempre? ¿Empezó después de trabajos en la tubería o del deshielo?",
        ),
        Question::Water => l(
            "Without touching it: is the water cold, warm, or is there steam?",
            "Sin tocarla: ¿el agua sale fría, tibia o con vapor?",
        ),
        Question::Air => l(
            "How cold is it outside right now?",
            "¿Qué temperatura hace afuera en este momento?",
        ),
        Question::Frost => l(
            "Has it been through a freeze since it last ran as usual?",
            "¿Ha pasado una helada desde la última vez que funcionó bien?",
        ),
        Question::Ice => l(
            "Is there ice on it, or does no water come at all?",
            "¿Tiene hielo, o no sale nada de agua?",
        ),
        Question::AfterTest => l("Was it tested in the last day?", "¿Lo probaron en el último día?"),
    }
}
