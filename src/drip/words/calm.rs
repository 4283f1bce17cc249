//! Findings that leave days: a device at work, expansion, service that is due, a leak, and not knowing yet.

use super::{Words, asked, isolate, l, m};
use crate::drip::account::{Account, Sign, Water, Where};
use crate::drip::config::DripConfig;
use crate::drip::line::Line;
use crate::drip::table::Question;
use crate::drip::urgency::too_warm_for_its_place;

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
    match account.place {
        Where::FreezeDrip => {
            words.do_now.push(l(
                "Watch for ice where the drip lands; sand or salt a walkway.",
                "Cuidado con el hielo donde cae el goteo; ponga arena o sal en el paso.",
            ));
            words.do_now.push(l(
                "Keep the outlet free and the supply on, or it cannot do its work.",
                "Mantenga libre la salida y el suministro abierto, o no puede hacer su trabajo.",
            ));
        }
        Where::ReliefPort => words.do_now.push(l(
            "Keep the opening and its drain free. If it comes back several times a day, a certified tester looks at it.",
            "Mantenga libre la abertura y su desagüe. Si se repite varias veces al día, la revisa un probador certificado.",
        )),
        Where::ExpansionRelief => words.do_now.push(l(
            "Check that it drips into a drain and not onto equipment. If it goes on between heatings, a licensed plumber looks at it.",
            "Revise que gotee en un desagüe y no sobre equipos. Si sigue entre calentadas, lo revisa un plomero con licencia.",
        )),
        _ => {}
    }
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
        say: None,
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
            "That opening must stay open. Take a loose cover or blanket off it if that is safe; leave anything that is fixed to the licensed person.",
            "Esa abertura debe quedar libre. Quite una cubierta o manta suelta si no hay peligro; lo fijo lo ve la persona con licencia.",
        ));
    }
    match account.place {
        Where::HeaterRelief => {
            words.do_now.push(l(
                "Keep hands and children away from the discharge; it can turn hot without warning.",
                "Mantenga lejos las manos y a los niños; la descarga puede salir caliente sin aviso.",
            ));
            words.who = Some(l("a licensed plumber", "un plomero con licencia"));
        }
        Where::ExpansionRelief => {
            words.do_now.push(l(
                "See that it runs to a drain and wets nothing electrical.",
                "Revise que corra a un desagüe y no moje nada eléctrico.",
            ));
            words.who = Some(l("a licensed plumber", "un plomero con licencia"));
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
        }
    }
    if too_warm_for_its_place(account) && !account.signs.contains(&Sign::Covered) {
        words.do_now.insert(0, m("drip-warm-now"));
        words.who = Some(m("drip-warm-who"));
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
        say: None,
        hand_over: Some(l(
            "Hand over if water comes up in the street, reaches a building, or cannot be stopped.",
            "Transfiera si el agua sale a la calle, llega a un edificio o no se puede detener.",
        )),
        cautions: Vec::new(),
    }
}

pub(super) fn cannot_tell(question: Option<Question>) -> Words {
    let mut do_now: Vec<Line> = question.map(asked).into_iter().collect();
    do_now.push(l(
        "Keep away from it and keep anything that lets water out free.",
        "Manténgase lejos y deje libre todo lo que suelte agua.",
    ));
    Words {
        do_now,
        who: Some(l(
            "you, with this one question; a certified tester or licensed plumber if the caller cannot answer it",
            "usted, con esta única pregunta; un probador certificado o plomero con licencia si quien llama no sabe",
        )),
        hand_over: Some(l(
            "Hand over if anything in the answers worries you.",
            "Transfiera si algo en las respuestas le preocupa.",
        )),
        ..Words::default()
    }
}
