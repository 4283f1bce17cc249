//! What is said and done for each finding, in both languages.
//!
//! Rules of the trade behind the lines: practice of utilities' desks (common practice, no source) except where a line
//! names its source in a comment. No line names a firm, a price or a size.

mod calm;
mod questions;
mod urgent;

pub use questions::ask;

use super::account::{Account, Where};
use super::config::DripConfig;
use super::finding::{Finding, Within};
use super::line::Line;
use super::table::Question;
use super::urgency::Flow;

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

/// All lines for a finding. `question` is the open question that tells most, for "cannot tell".
pub fn words(
    finding: Finding,
    within: Within,
    question: Option<Question>,
    account: &Account,
    config: &DripConfig,
) -> Words {
    let mut words = match finding {
        Finding::Emergency => urgent::emergency(account, config),
        Finding::FireLine => urgent::fire_line(account),
        Finding::WorkingAsMeant => calm::working(account),
        Finding::ExpansionSuspected => calm::expansion(account),
        Finding::DeviceFault => calm::device_fault(account, config),
        Finding::FreezeDamage => urgent::freeze_damage(account, config),
        Finding::FreezingNow => urgent::freezing_now(account, config),
        Finding::Leak => calm::leak(account, config),
        Finding::CannotTell => calm::cannot_tell(question),
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
    if within == Within::Now
        && Flow::of(account) == Flow::Gushing
        && finding != Finding::Emergency
        && finding != Finding::FireLine
    {
        urgent::gushing(&mut words, account);
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
