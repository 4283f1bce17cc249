//! Findings that leave days: a device at work, expansion, service that is due, a leak, and not knowing yet.

use super::{Words, ask, isolate, l};
use crate::drip::account::{Account, Sign, Water, Where};
use crate::drip::config::DripConfig;
use crate::drip::line::Line;
use crate::drip::table::Question;

pub(super) fn working(account: &Account) -> Words {
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

pub(super) fn expansion(account: &Account) -> Words {
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
    if account.water == Some(Water::Hot) {
        words.hand_over = Some(l(
            "Hand over at once if it runs faster or does not stop, if there is steam, or if the heater makes boiling sounds.",
            "Transfiera de inmediato si corre más rápido o no para, si hay vapor, o si el calentador suena a hervor.",
        ));
    }
    words
}

pub(super) fn device_fault(account: &Account, config: &DripConfig) -> Words {
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

pub(super) fn leak(account: &Account, config: &DripConfig) -> Words {
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

pub(super) fn cannot_tell(question: Option<Question>) -> Words {
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
