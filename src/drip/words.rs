//! What is said and done for each finding, in both languages.
//!
//! Rules of the trade behind the lines: practice of utilities' desks (common practice, no source) except where a line
//! names its source in a comment. No line names a firm, a price or a size.

mod branches;
mod calm;
mod questions;
mod say;
mod urgent;

pub use questions::ask;

use super::account::{Account, Sign, Where};
use super::branch::Branch;
use super::config::DripConfig;
use super::finding::{Finding, Within};
use super::line::Line;
use super::table::Question;
use super::urgency;
use crate::inventory::{Language, Service};

fn l(en: &str, es: &str) -> Line {
    Line::new(en, es)
}

/// A message in both languages.
fn m(id: &str) -> Line {
    Line::new(crate::say!(Language::English, id), crate::say!(Language::Spanish, id))
}

/// A message with the number of the emergency services.
fn with_number(id: &str, config: &DripConfig) -> Line {
    let number = emergency_number(config);
    Line::new(
        crate::say!(Language::English, id, number = number),
        crate::say!(Language::Spanish, id, number = number),
    )
}

fn emergency_number(config: &DripConfig) -> &str {
    let number = config.emergency_services.trim();
    if number.is_empty() { "911" } else { number }
}

/// What an answer is made of.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The account.
    pub account: &'a Account,
    /// The config.
    pub config: &'a DripConfig,
    /// What it comes to.
    pub finding: Finding,
    /// How soon.
    pub within: Within,
    /// The open question that tells most.
    pub question: Option<Question>,
    /// Whether nothing told speaks for one cause, so that the question goes first.
    pub ask_first: bool,
}

impl Told<'_> {
    /// Whether the question is what is said.
    fn asks(&self) -> bool {
        self.ask_first || self.finding == Finding::CannotTell
    }
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

/// All lines of an answer.
pub fn words(told: &Told<'_>) -> Words {
    let &Told {
        account,
        config,
        finding,
        ..
    } = told;
    let branch = Branch::of(account);
    let mut words = match finding {
        Finding::Emergency => urgent::emergency(account, config),
        Finding::FireLine => urgent::fire_line(account),
        _ => branch
            .and_then(|branch| branches::branch(branch, account, config))
            .unwrap_or_else(|| by_finding(told)),
    };
    let calm = !matches!(finding, Finding::Emergency | Finding::FireLine);
    if let Some(question) = told
        .question
        .filter(|_| told.ask_first && finding != Finding::CannotTell)
    {
        words.do_now.insert(0, asked(question));
    }
    if calm && account.signs.contains(&Sign::TagOverdue) && branch != Some(Branch::TagOverdue) {
        words.do_now.push(m("drip-tag-also"));
    }
    if urgency::sends_the_crew(account, finding, told.within) {
        gushing(&mut words, account, config);
    } else if calm && account.critical {
        words.who = words.who.map(|who| {
            Line::new(
                format!("the duty supervisor now, and {}", who.en),
                format!("el supervisor de turno ahora, y {}", who.es),
            )
        });
    }
    if calm && account.critical {
        words.do_now.insert(
            0,
            l(
                "Critical customer: get the duty supervisor on this call now, while you go on.",
                "Cliente crítico: avise ahora al supervisor de turno, mientras sigue con la llamada.",
            ),
        );
        words.do_not.push(l(
            "Do not advise closing any valve that feeds a critical customer.",
            "No aconseje cerrar ninguna válvula que alimente a un cliente crítico.",
        ));
    }
    words.say = Some(say::say_line(told));
    common_do_not(&mut words.do_not, account);
    if let Some(own) = config.more_to_do.get(finding.word()) {
        words.do_now.extend(own.iter().cloned());
    }
    each_once(&mut words.do_now);
    each_once(&mut words.do_not);
    words
}

fn by_finding(told: &Told<'_>) -> Words {
    let (account, config) = (told.account, told.config);
    match told.finding {
        Finding::Emergency => urgent::emergency(account, config),
        Finding::FireLine => urgent::fire_line(account),
        Finding::WorkingAsMeant => calm::working(account),
        Finding::ExpansionSuspected => calm::expansion(account),
        Finding::DeviceFault => calm::device_fault(account, config),
        Finding::FreezeDamage => urgent::freeze_damage(account, config),
        Finding::FreezingNow => urgent::freezing_now(account, config),
        Finding::Leak => calm::leak(account, config),
        Finding::CannotTell => calm::cannot_tell(told.question),
    }
}

/// Much water: the utility stops it first, whoever repairs it later.
fn gushing(words: &mut Words, account: &Account, config: &DripConfig) {
    words.do_now.insert(0, m("drip-gushing-crew"));
    if Branch::of(account) != Some(Branch::OwnerUnknown) {
        words.do_now.extend(isolate(account, config));
    }
    let id = if account.critical {
        "drip-gushing-who-critical"
    } else {
        "drip-gushing-who"
    };
    words.who = words.who.take().map(|who| {
        Line::new(
            crate::say!(Language::English, id, who = who.en),
            crate::say!(Language::Spanish, id, who = who.es),
        )
    });
}

/// Takes out lines that stand there already.
fn each_once(lines: &mut Vec<Line>) {
    let mut seen: Vec<Line> = Vec::new();
    for line in lines.drain(..) {
        if !seen.contains(&line) {
            seen.push(line);
        }
    }
    *lines = seen;
}

/// The question as the rep is told to put it.
fn asked(question: Question) -> Line {
    let put = ask(question);
    Line::new(
        crate::say!(Language::English, "drip-ask", question = put.en),
        crate::say!(Language::Spanish, "drip-ask", question = put.es),
    )
}

/// Asking for fire service, where nobody knows.
fn ask_fire(account: &Account) -> Option<Line> {
    (account.fire != Some(false)).then(|| m("drip-ask-fire"))
}

/// The tap to open, so that what melts has a way out.
fn tap(account: &Account) -> Line {
    m(if account.device.service == Some(Service::Irrigation) {
        "drip-tap-irrigation"
    } else {
        "drip-tap-house"
    })
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
    lines.extend(ask_fire(account));
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
    lines.push(m("drip-costs-water"));
    lines
}
