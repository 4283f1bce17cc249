//! What the caller sees, what the physics expects, what follows.
//!
//! [`answer`] takes one caller's [`Account`] in the order in which a desk asks: safety, fire line, critical customer,
//! where, how much, when, how warm, and what happened lately. Causes are weighed by [`table`]; flows that the physics
//! expects come from [`expect`]; [`mod@never`] holds the rules that no line may break.

mod account;
mod behind;
mod branch;
mod cause;
pub mod config;
pub mod expect;
mod finding;
mod heating;
mod line;
pub mod never;
mod rate;
pub mod table;
pub mod urgency;
pub mod weigh;
pub mod words;

pub use account::{AIR_RANGE_C, Account, Behind, DeviceFacts, Hazard, Sign, Water, When, Where};
pub use behind::{LOOK_BACK_H, NIGHT_H};
pub use branch::Branch;
pub use cause::Cause;
pub use finding::{Finding, Within};
pub use heating::{HEAT_RANGE_W, Heater, Heating, VOLUME_RANGE_L, heating};
pub use line::Line;
pub use rate::{RATE_MAX_L_PER_H, ToldRate};
pub use table::Question;

use crate::units::{L_PER_US_GAL, UnitSystem};
use config::DripConfig;
use weigh::{Evidence, Weighed};

/// A cause with its share and the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Likely {
    /// The cause.
    pub cause: Cause,
    /// Its share among all causes; all shares of an answer sum to 1.
    pub share: f64,
    /// What speaks for it.
    pub speaks_for: Vec<Line>,
    /// What speaks against it.
    pub speaks_against: Vec<Line>,
}

/// The answer to one caller.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What it comes to.
    pub finding: Finding,
    /// Causes, most likely first; causes that cannot be at this place are left out.
    pub likely: Vec<Likely>,
    /// The rate as told.
    pub told: Option<ToldRate>,
    /// The flow that the physics expects when all is as it should be, L/h.
    pub expected_l_per_h: Option<[f64; 2]>,
    /// What one heating of the caller's heater pushes out, where expansion can be behind it.
    pub heating: Option<Heating>,
    /// The one open question that would tell most, with the expected drop of uncertainty in bits.
    pub question: Option<(Question, f64)>,
    /// What to do now, in order.
    pub do_now: Vec<Line>,
    /// What not to do.
    pub do_not: Vec<Line>,
    /// Who may do the rest.
    pub who: Line,
    /// How soon.
    pub within: Within,
    /// The sentence to say to the caller.
    pub say: Line,
    /// When to hand the call over.
    pub hand_over: Line,
    /// Cautions, the planning-aid line last.
    pub cautions: Vec<Line>,
}

/// A question that is expected to tell less than this is not worth a caller's time once there is a finding, bits (judgement).
const WORTH_ASKING_BITS: f64 = 0.2;

impl Answer {
    /// Whether anything that was told speaks for or against a cause; without that, shares say only what is usual.
    pub fn has_evidence(&self) -> bool {
        has_evidence(&self.likely)
    }
}

fn has_evidence(likely: &[Likely]) -> bool {
    likely
        .iter()
        .any(|likely| !likely.speaks_for.is_empty() || !likely.speaks_against.is_empty())
}

/// Share of expansion from which its volume is told (judgement).
const EXPANSION_TOLD: f64 = 0.1;

/// Answers one caller. Never fails: what cannot be believed is set aside and said so among the cautions.
pub fn answer(account: &Account, config: &DripConfig, shown: UnitSystem) -> Answer {
    let weighed = weigh::weigh(account, config);
    let expected = expect::expected_l_per_h(account, config);
    let finding = find(account, &weighed, expected, config);
    let within = urgency::how_soon(account, finding, &weighed, expected, config);
    let likely = likely(account, &weighed, expected, shown);
    // Usual shares alone decide nothing: then the question goes before the finding.
    let only_usual = !has_evidence(&likely)
        && Branch::of(account).is_none()
        && !covered_relief(account)
        && !matches!(finding, Finding::Emergency | Finding::FireLine);
    let question = match (finding, Branch::of(account)) {
        (Finding::Emergency | Finding::FireLine, _) | (_, Some(_)) => None,
        _ => weigh::best_question(account, &weighed, config)
            .filter(|(_, gain)| *gain >= WORTH_ASKING_BITS || only_usual || finding == Finding::CannotTell)
            .filter(|(_, gain)| *gain > 1e-9),
    };
    let told = words::Told {
        account,
        config,
        finding,
        within,
        question: question.map(|(question, _)| question),
        ask_first: only_usual,
    };
    let lines = words::words(&told);
    let mut answer = Answer {
        finding,
        likely,
        told: account.told_rate().cloned(),
        expected_l_per_h: expected,
        heating: expansion_counts(account, finding, &weighed).then(|| heating(account)),
        question,
        do_now: lines.do_now,
        do_not: lines.do_not,
        who: lines.who.unwrap_or_else(fallback_who),
        within,
        say: lines.say.unwrap_or_else(fallback_say),
        hand_over: lines
            .hand_over
            .unwrap_or_else(|| Line::new("Hand over when in doubt.", "Si hay duda, transfiera.")),
        cautions: lines.cautions,
    };
    cautions(&mut answer, account, shown);
    hold_rules(&mut answer, account);
    answer
}

/// Whether what a heating brings is worth telling: expansion may be behind it, nobody told of another place, and nobody is in
/// danger, for whom it would be noise.
fn expansion_counts(account: &Account, finding: Finding, weighed: &Weighed) -> bool {
    let by_expansion = Cause::ALL
        .iter()
        .zip(&weighed.shares)
        .filter(|(cause, _)| cause.is_expansion())
        .map(|(_, share)| share)
        .sum::<f64>();
    let may = words::at_relief(account.place) || account.place == Where::Unsure;
    let calm = !matches!(finding, Finding::Emergency | Finding::FireLine);
    calm && may && by_expansion >= EXPANSION_TOLD
}

fn fallback_who() -> Line {
    Line::new("the duty supervisor", "el supervisor de turno")
}

fn fallback_say() -> Line {
    Line::new("I am getting my supervisor now.", "Voy a llamar a mi supervisor ahora.")
}

/// The finding: rules of safety first, then the weighing.
fn find(account: &Account, weighed: &Weighed, expected_l_per_h: Option<[f64; 2]>, config: &DripConfig) -> Finding {
    // Suspected backflow is handled as an emergency: people may be drinking it.
    let danger = !account.hazards.is_empty() || account.signs.contains(&Sign::OddWater);
    if danger || hot_discharge(account) || urgency::relief_of_heater_is_shut(account) {
        return Finding::Emergency;
    }
    if account.is_fire_line() {
        return Finding::FireLine;
    }
    if let Some(branch) = Branch::of(account) {
        return branch.finding();
    }
    if covered_relief(account) {
        return Finding::DeviceFault;
    }
    let (mut leader, mut share) = weighed.leader();
    // Warm water on the cold side means that heat gets where it should not, and no device at work gushes or drips a multiple of what
    // the cold asks; what else it can be is weighed, but not that all is well.
    let not_meant = urgency::too_warm_for_its_place(account) || urgency::is_past_any_work(account, expected_l_per_h);
    if leader == Finding::WorkingAsMeant && not_meant {
        (leader, share) = weighed.leader_but(Finding::WorkingAsMeant);
    }
    let unsure = account.place == Where::Unsure || account.place_contradicts_device();
    let least = match leader {
        Finding::WorkingAsMeant if unsure => config.least_share_working_unsure,
        Finding::WorkingAsMeant => config.least_share_working,
        _ => config.least_share,
    };
    if share >= least { leader } else { Finding::CannotTell }
}

/// A relief whose opening is shut, other than a heater's.
fn covered_relief(account: &Account) -> bool {
    account.signs.contains(&Sign::Covered) && words::at_relief(account.place) && !account.place_contradicts_device()
}

/// Scalding water anywhere, or hot water from a heater's relief unless it is a small drip in step with heating.
fn hot_discharge(account: &Account) -> bool {
    match account.water {
        Some(Water::Scalding) => true,
        Some(Water::Hot) if account.place == Where::HeaterRelief => {
            // More hot water than this heater's expansion can bring; half as much again where its heat was not told, because some
            // burners are larger than usual (judgement).
            let [_, expansion] = heating(account).rate_l_per_h;
            let slack = if account.heater.heat_input_w.is_some() {
                1.0
            } else {
                1.5
            };
            let much = account
                .told_rate()
                .is_some_and(|rate| rate.best_l_per_h > slack * expansion);
            account.when != When::Heating || much
        }
        _ => false,
    }
}

fn likely(account: &Account, weighed: &Weighed, expected: Option<[f64; 2]>, shown: UnitSystem) -> Vec<Likely> {
    let mut all: Vec<Likely> = Cause::ALL
        .iter()
        .enumerate()
        .filter_map(|(at, cause)| {
            let share = weighed.shares.get(at).copied().filter(|share| *share > 0.0)?;
            let mut likely = Likely {
                cause: *cause,
                share,
                speaks_for: Vec::new(),
                speaks_against: Vec::new(),
            };
            for evidence in &weighed.evidence {
                weigh_in_words(&mut likely, at, evidence, weighed, account, expected, shown);
            }
            Some(likely)
        })
        .collect();
    all.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.cause.cmp(&b.cause)));
    all
}

/// Adds what one piece of evidence says of a cause: for when this cause makes it half as likely again as the others do
/// together, against when it makes it less than two thirds as likely (judgement: less would be noise).
fn weigh_in_words(
    likely: &mut Likely,
    at: usize,
    evidence: &Evidence,
    weighed: &Weighed,
    account: &Account,
    expected: Option<[f64; 2]>,
    shown: UnitSystem,
) {
    let Some(own) = evidence.likelihood.get(at).copied() else {
        return;
    };
    // Rivals are the causes that can be at this place; each counts once, or the leader would be its own yardstick.
    let rivals: Vec<f64> = evidence
        .likelihood
        .iter()
        .zip(&weighed.shares)
        .enumerate()
        .filter(|(other, (_, share))| *other != at && **share > 0.0)
        .map(|(_, (likelihood, _))| *likelihood)
        .collect();
    if rivals.is_empty() {
        return;
    }
    let usual = rivals.iter().sum::<f64>() / rivals.len() as f64;
    let line = evidence_words(evidence.question, account, expected, shown);
    if own > usual * 1.5 {
        likely.speaks_for.push(line);
    } else if own * 1.5 < usual {
        likely.speaks_against.push(line);
    }
}

/// What was told, as evidence.
fn evidence_words(question: Question, account: &Account, expected: Option<[f64; 2]>, shown: UnitSystem) -> Line {
    match question {
        Question::Rate => {
            let told = account.told_rate().map_or_else(String::new, |rate| {
                range_words(rate.low_l_per_h, rate.high_l_per_h, shown)
            });
            match expected {
                Some([low, high]) if account.place == Where::FreezeDrip || account.place == Where::ExpansionRelief => {
                    let expected = range_words(low, high, shown);
                    Line::new(
                        format!("the rate told, {told}, beside {expected} expected"),
                        format!("el caudal dicho, {told}, junto a {expected} esperado"),
                    )
                }
                _ => Line::new(format!("the rate told, {told}"), format!("el caudal dicho, {told}")),
            }
        }
        Question::When => match account.when {
            When::ColdNights => Line::new("it runs on cold nights", "corre en noches frías"),
            When::Heating => Line::new("it runs in step with the heater", "corre al paso del calentador"),
            When::Always => Line::new("it runs all the time", "corre todo el tiempo"),
            When::AfterMainWork => Line::new("it began after work on the main", "empezó tras trabajos en la tubería"),
            When::AfterThaw => Line::new("it began with the thaw", "empezó con el deshielo"),
            When::StartUp => Line::new("it came when the water was turned on", "salió al abrir el agua"),
            When::Unsure => Line::new("the time is not known", "no se sabe cuándo"),
        },
        Question::Water => match account.water_seen() {
            Some(Water::Cold) => Line::new("the water is cold", "el agua sale fría"),
            Some(Water::Warm) => Line::new("the water is warm", "el agua sale tibia"),
            Some(Water::Hot) => Line::new("the water is hot", "el agua sale caliente"),
            Some(Water::Scalding) => Line::new("the water is scalding", "el agua quema"),
            None => Line::new("the water's warmth is not known", "no se sabe si sale tibia"),
        },
        Question::Air => {
            let air = temperature_words(account.air().unwrap_or(0.0), shown);
            Line::new(format!("the air is at {air}"), format!("el aire está a {air}"))
        }
        Question::Frost => match (account.frost(), account.behind.hours_below_0c) {
            (Some(true), Some(hours)) if hours >= 1.0 => Line::new(
                format!("{hours:.0} hours below freezing in the last week"),
                format!("{hours:.0} horas bajo cero en la última semana"),
            ),
            (Some(true), _) => Line::new("a freeze lies behind it", "ya pasó por una helada"),
            _ => Line::new("no freeze in the last week", "sin helada en la última semana"),
        },
        Question::Ice => Line::new("there is ice on it", "tiene hielo"),
        Question::AfterTest => Line::new("it was tested within a day", "lo probaron en el último día"),
        Question::Where => Line::new("the place told", "el lugar dicho"),
    }
}

/// A flow range as people read it; both edges the same are one number.
pub fn range_words(low_l_per_h: f64, high_l_per_h: f64, shown: UnitSystem) -> String {
    let (factor, unit) = match shown {
        UnitSystem::Us => (1.0 / L_PER_US_GAL, "gal/h"),
        UnitSystem::Si | UnitSystem::Bar => (1.0, "L/h"),
    };
    let number = |flow: f64| {
        let flow = flow * factor;
        if flow <= 0.0 {
            "0".to_string()
        } else if flow < 0.0095 {
            format!("{flow:.3}")
        } else if flow < 9.95 {
            format!("{flow:.2}")
        } else {
            format!("{flow:.0}")
        }
    };
    let (low, high) = (number(low_l_per_h), number(high_l_per_h));
    if low == high {
        format!("{low} {unit}")
    } else {
        format!("{low}–{high} {unit}")
    }
}

/// What one heating brings, beside which what was caught in a bucket can be held.
fn heating_words(heating: &Heating, shown: UnitSystem) -> Line {
    let volume = |[low, high]: [f64; 2]| {
        let (factor, unit) = match shown {
            UnitSystem::Us => (1.0 / L_PER_US_GAL, "gal"),
            UnitSystem::Si | UnitSystem::Bar => (1.0, "L"),
        };
        let show = |litres: f64| {
            let value = litres * factor;
            if value < 9.95 {
                format!("{value:.1}")
            } else {
                format!("{value:.0}")
            }
        };
        let (low, high) = (show(low), show(high));
        if low == high {
            format!("{low} {unit}")
        } else {
            format!("{low}–{high} {unit}")
        }
    };
    let (each, size) = (volume(heating.per_heatup_l), volume(heating.volume_l));
    let [low, high] = heating.rate_l_per_h;
    let rate = range_words(low, high, shown);
    let (assumed, supuesto) = if heating.assumed {
        (
            " Not all of the heater was told; the rest is taken as usual for a house.",
            " No se dijo todo del calentador; lo demás se toma como es usual en una casa.",
        )
    } else {
        ("", "")
    };
    Line::new(
        format!(
            "One heating of {size} from cold brings about {each}, at {rate} while it heats. Much more than that is not expansion.{assumed}"
        ),
        format!(
            "Un calentamiento de {size} desde frío trae unos {each}, a {rate} mientras calienta. Mucho más que eso no es expansión.{supuesto}"
        ),
    )
}

/// A temperature as people read it.
pub fn temperature_words(celsius: f64, shown: UnitSystem) -> String {
    match shown {
        UnitSystem::Us => format!("{:.0} °F", crate::units::f_from_c(celsius)),
        UnitSystem::Si | UnitSystem::Bar => format!("{celsius:.0} °C"),
    }
}

fn cautions(answer: &mut Answer, account: &Account, shown: UnitSystem) {
    if account.heater.is_doubtful() {
        answer.cautions.push(Line::new(
            "What was told of the water heater cannot be right and was set aside.",
            "Lo que se dijo del calentador no puede ser y no se tomó en cuenta.",
        ));
    }
    if let Some(heating) = &answer.heating {
        answer.cautions.push(heating_words(heating, shown));
    }
    if account.air_c.is_some() && account.air_c != account.air() {
        answer.cautions.push(Line::new(
            "The air temperature as told cannot be right and was set aside.",
            "La temperatura del aire que se dijo no puede ser y no se tomó en cuenta.",
        ));
    }
    if account.rate.is_some() && account.told_rate().is_none() {
        answer.cautions.push(Line::new(
            "The rate as told cannot be right and was set aside.",
            "El caudal que se dijo no puede ser y no se tomó en cuenta.",
        ));
    }
    if account.place_contradicts_device() {
        answer.cautions.push(Line::new(
            "The assembly on file has no such part: ask again where it comes out, or whether this is another assembly.",
            "El conjunto en archivo no tiene esa parte: pregunte otra vez por dónde sale, o si es otro conjunto.",
        ));
    }
    if account.place == Where::FreezeDrip && account.device.freeze_drip == Some(false) {
        answer.cautions.push(Line::new(
            "No freeze-drip valve is on file for this assembly: ask again, and correct the file if there is one.",
            "No hay válvula de goteo en archivo para este conjunto: pregunte otra vez y corrija el archivo si la hay.",
        ));
    }
    if account.place == Where::FreezeDrip && expect::modelled_drip(account).is_some() {
        answer.cautions.push(Line::new(
            "The expected flow is the freeze model's for this assembly in this weather; wind and wrap at the site may differ.",
            "El caudal esperado es del modelo de heladas para este conjunto y este tiempo; el viento y el forro en el sitio pueden ser otros.",
        ));
    }
    if let Some(rate) = account.told_rate()
        && rate.high_l_per_h > rate.low_l_per_h * 4.0
        && rate.low_l_per_h > 0.0
    {
        answer.cautions.push(if rate.counts_drops() {
            Line::new(
                "Drops differ fivefold in size: a cup and a clock tell much more.",
                "Las gotas varían cinco veces de tamaño: una taza y un reloj dicen mucho más.",
            )
        } else {
            Line::new(
                "A word for a flow is a wide guess: a cup or a bucket and a clock tell much more.",
                "Una palabra para un caudal dice poco: una taza o una cubeta y un reloj dicen mucho más.",
            )
        });
    }
    if let Some(told) = account.told_rate()
        && told.best_l_per_h > 0.0
    {
        let litres_a_day = told.best_l_per_h * 24.0;
        let gallons_a_day = litres_a_day / L_PER_US_GAL;
        if gallons_a_day >= 1.0 {
            answer.cautions.push(Line::new(
                format!("If it went on all day it would be about {gallons_a_day:.0} gallons ({litres_a_day:.0} L)."),
                format!("Si siguiera todo el día serían unos {gallons_a_day:.0} galones ({litres_a_day:.0} L)."),
            ));
        }
    }
    answer.cautions.push(Line::new(crate::PLANNING_AID, PLANNING_AID_ES));
}

/// The planning-aid line in Spanish.
pub const PLANNING_AID_ES: &str = "Ayuda para planificar, no una orden: deciden el código local, las instrucciones del \
fabricante y las personas con licencia o certificación.";

/// The last gate: a line that breaks a rule of safety does not leave, wherever it came from, and the call is handed over.
fn hold_rules(answer: &mut Answer, account: &Account) {
    let fire = account.is_fire_line();
    let breaks =
        |line: &Line| never::broken_rule(&line.en, fire).is_some() || never::broken_rule(&line.es, fire).is_some();
    let before = answer.do_now.len() + answer.cautions.len();
    answer.do_now.retain(|line| !breaks(line));
    answer.cautions.retain(|line| !breaks(line));
    let mut taken_out = before != answer.do_now.len() + answer.cautions.len();
    if breaks(&answer.say) {
        answer.say = fallback_say();
        taken_out = true;
    }
    if breaks(&answer.who) {
        answer.who = fallback_who();
        taken_out = true;
    }
    if breaks(&answer.hand_over) {
        answer.hand_over = Line::new("Hand over now.", "Transfiera la llamada ahora.");
        taken_out = true;
    }
    // What is forbidden must read as forbidden.
    answer.do_not.retain(|line| !breaks(line));
    if taken_out {
        answer.within = Within::Now;
        answer.hand_over = Line::new(
            "Hand over now: a line of this answer was held back because it broke a rule of safety.",
            "Transfiera ahora: una línea de esta respuesta se retuvo porque rompía una regla de seguridad.",
        );
    }
}
