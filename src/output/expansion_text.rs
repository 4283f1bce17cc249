//! The answer for one system as people read it on a terminal.

use crate::expansion::existing::has_failed;
use crate::expansion::sensitivity::Turn;
use crate::expansion::{Assessment, HeaterKind, Measure, System, Verdict};
use crate::language::Tongue;
use crate::units::{show_flow, show_volume_at_least};
use std::fmt::Write;

/// Width of the page of text, characters.
const WIDTH: usize = 100;
/// Lines of the page unless all is asked for.
const LINES: usize = 20;
/// Column at which the text of a line begins.
const INDENT: usize = 15;

/// The answer as a page of text, not wider than 100 characters and within twenty lines; with `explain` all that there is to say.
pub fn text(system: &System, answer: &Assessment, explain: bool) -> String {
    if explain {
        return page(system, answer, explain, [usize::MAX; 2]);
    }
    // Reasons and measurements give way where the steps are many.
    for shown in [[2, 2], [1, 1]] {
        let text = page(system, answer, explain, shown);
        if text.lines().count() <= LINES {
            return text;
        }
    }
    page(system, answer, explain, [1, 0])
}

/// The page with so many reasons and so many things to measure.
fn page(system: &System, answer: &Assessment, explain: bool, [reasons, measures]: [usize; 2]) -> String {
    let tongue = system.tongue();
    let label = |id: &str| crate::say!(tongue.language, id);
    let mut out = String::new();
    for (at, step) in headline(system, answer).iter().enumerate() {
        let label = if at == 0 {
            label("expansion-label-do")
        } else {
            String::new()
        };
        line(&mut out, &label, step);
    }
    for (at, why) in answer.recommendation.why.iter().take(reasons).enumerate() {
        let label = if at == 0 {
            label("expansion-label-why")
        } else {
            String::new()
        };
        line(&mut out, &label, &capital(why));
    }
    let closed = crate::say!(tongue.language, &format!("expansion-closed-{}", closed_word(answer)));
    let because = answer.closed.because.iter().take(reasons);
    let because: Vec<&str> = because.map(String::as_str).collect();
    line(
        &mut out,
        &label("expansion-label-closed"),
        &format!("{closed}: {}", because.join("; ")),
    );
    line(&mut out, &label("expansion-label-then"), &then_sentence(system, answer));
    if let Some(choice) = &answer.tank.from_catalogue {
        let (volume, takes) = (tongue.volume(choice.volume_l), tongue.volume(choice.max_acceptance_l));
        let id = match choice.pieces.as_slice() {
            [one] if one.count == 1 => "expansion-from-list",
            _ => "expansion-from-list-several",
        };
        let text = crate::say!(
            tongue.language,
            id,
            name = choice.name.clone(),
            volume = volume,
            takes = takes
        );
        line(&mut out, "", &text);
    }
    line(
        &mut out,
        &label("expansion-label-found"),
        &found_sentence(system, answer),
    );
    if let Some(verdict) = verdict_sentence(system, answer) {
        line(&mut out, &tanks_there_label(system), &verdict);
    }
    for (at, measure) in to_measure(system, answer, measures).iter().enumerate() {
        let label = if at == 0 {
            label("expansion-label-measure")
        } else {
            String::new()
        };
        line(&mut out, &label, &capital(measure));
    }
    if explain {
        explained(&mut out, system, answer);
    } else {
        line(&mut out, &label("expansion-label-mind"), &label("expansion-mind"));
        line(&mut out, "", &label("expansion-explain"));
    }
    out
}

fn tanks_there_label(system: &System) -> String {
    crate::say!(
        system.language,
        "expansion-label-tank-there",
        tanks = system.existing.len()
    )
}

/// Whether the plumbing is open and stays so: nothing has to be fitted, and no pressure to be foreseen.
pub fn stays_open(answer: &Assessment) -> bool {
    answer.closed.is_closed == Some(false) && answer.recommendation.steps.is_empty()
}

/// The steps as sentences; when there is nothing more to do, that.
pub fn headline(system: &System, answer: &Assessment) -> Vec<String> {
    let tongue = system.tongue();
    if answer.recommendation.steps.is_empty() {
        let several = answer.as_advised.tanks.len() > 1;
        let id = match answer.recommendation.measure {
            Measure::KeepExistingTank => match answer.existing_tank.as_ref().map(|tank| tank.verdict) {
                Some(Verdict::Marginal) if several => "expansion-kept-tanks-marginal",
                Some(Verdict::Marginal) => "expansion-kept-tank-marginal",
                _ if several => "expansion-kept-tanks",
                _ => "expansion-kept-tank",
            },
            Measure::Relief => {
                let setting = tongue.gauge(system.relief_at_gauge_pa.unwrap_or(system.limit_gauge_pa));
                return vec![crate::say!(tongue.language, "expansion-kept-relief", setting = setting)];
            }
            _ => "expansion-nothing",
        };
        return vec![crate::say!(tongue.language, id)];
    }
    steps(answer, tongue)
}

/// The steps as sentences; none when there is nothing more to do.
pub(super) fn steps<W>(answer: &Assessment<W>, tongue: Tongue) -> Vec<String> {
    let steps = answer.recommendation.steps.iter();
    steps.map(|step| format!("{}.", step.say(tongue))).collect()
}

/// A precharge with the temperature at which it is meant, where the tank stands at another.
pub fn precharge_words(system: &System, gauge_kpa: f64) -> String {
    let tongue = system.tongue();
    let precharge = tongue.gauge(gauge_kpa * 1e3);
    match system.tank_ambient_c {
        None => precharge,
        Some(_) => crate::say!(
            tongue.language,
            "expansion-precharge-meant-at",
            precharge = precharge,
            at = tongue.temperature(system.precharge_set_c)
        ),
    }
}

/// The figures once the advice is followed.
pub fn then_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    let then = &answer.as_advised;
    let (at_rest, limit) = (gauge(then.static_gauge_kpa), gauge(then.limit_gauge_kpa));
    let open = stays_open(answer);
    let mut arguments: Vec<(&str, String)> = vec![("static", at_rest), ("limit", limit)];
    let new = matches!(
        answer.recommendation.measure,
        Measure::Tank | Measure::ReplaceExistingTank | Measure::LowerSupplyPressureThenTank
    );
    let volume = |litre: f64| {
        if new {
            show_volume_at_least(litre, tongue.units)
        } else {
            tongue.volume(litre)
        }
    };
    let id = match (then.tanks.as_slice(), then.final_gauge_kpa) {
        (_, Some(_)) if open => "expansion-then-nothing",
        ([], Some(end)) => match answer.recommendation.measure {
            Measure::Relief | Measure::LowerSupplyPressureThenRelief => {
                arguments.push(("end", gauge(end)));
                "expansion-then-relief"
            }
            _ => "expansion-then-nothing",
        },
        ([], None) => "expansion-then-undone",
        ([tank], end) => {
            arguments.push(("volume", volume(tank.volume_l)));
            arguments.push(("precharge", precharge_words(system, tank.precharge_gauge_kpa)));
            arguments.extend(end.map(|end| ("end", gauge(end))));
            match end {
                Some(_) => "expansion-then-tank",
                None => "expansion-then-tank-unbounded",
            }
        }
        (tanks, end) => {
            let each = tanks.iter().map(|tank| {
                crate::say!(
                    tongue.language,
                    "expansion-one-tank",
                    volume = volume(tank.volume_l),
                    precharge = precharge_words(system, tank.precharge_gauge_kpa)
                )
            });
            arguments.push(("tanks", each.collect::<Vec<_>>().join(" + ")));
            arguments.extend(end.map(|end| ("end", gauge(end))));
            match end {
                Some(_) => "expansion-then-tanks",
                None => "expansion-then-tanks-unbounded",
            }
        }
    };
    let mut told = crate::words::Arguments::new();
    for (name, value) in arguments {
        told.set(name, value);
    }
    crate::words::Messages::built_in().text(tongue.language.word(), id, &told)
}

/// The house as found: static, limit, which reading decided them, and what heating would do.
pub fn found_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    let supply = &answer.as_found.supply;
    let mut text = crate::say!(
        tongue.language,
        "expansion-found",
        static = gauge(supply.static_gauge_kpa),
        static_from = supply.static_from.say(tongue),
        limit = gauge(supply.limit_gauge_kpa),
        limit_from = supply.limit_from.say(tongue)
    );
    // Open plumbing sends the water back: there is nothing to foresee.
    if answer.closed.is_closed != Some(false) && answer.expansion.volume_l > 0.0 && system.existing.is_empty() {
        let end = match answer.unprotected.final_gauge_kpa {
            Some(kpa) if kpa * 1e3 < system.heater_relief_gauge_pa => {
                crate::say!(tongue.language, "expansion-found-passes", end = gauge(kpa))
            }
            _ => crate::say!(
                tongue.language,
                "expansion-found-lifts",
                relief = tongue.gauge(system.heater_relief_gauge_pa)
            ),
        };
        text.push_str(&crate::say!(tongue.language, "expansion-found-bare", end = end));
    }
    text
}

/// How the tank that is there stands; `None` without one.
pub fn verdict_sentence(system: &System, answer: &Assessment) -> Option<String> {
    let tongue = system.tongue();
    let tank = answer.existing_tank.as_ref()?;
    if system.existing.iter().all(has_failed) {
        return Some(crate::say!(
            tongue.language,
            "expansion-verdict-failed",
            tanks = system.existing.len()
        ));
    }
    let gauge = |kpa: f64| tongue.gauge(kpa * 1e3);
    let (Some(end), Some(margin)) = (tank.final_gauge_kpa, tank.margin_kpa) else {
        return Some(crate::say!(
            tongue.language,
            "expansion-verdict-unbounded",
            tanks = tank.count
        ));
    };
    let id = match tank.verdict {
        Verdict::Enough => "expansion-verdict-enough",
        Verdict::Marginal => "expansion-verdict-marginal",
        Verdict::NotEnough => "expansion-verdict-not-enough",
    };
    Some(crate::say!(
        tongue.language,
        id,
        tanks = tank.count,
        end = gauge(end),
        margin = gauge(margin.abs()),
        unsure = gauge(tank.uncertainty_kpa),
        unsure_water = tongue.volume(tank.uncertainty_l),
        takes = tongue.volume(tank.usable_l),
        brings = tongue.volume(answer.expansion.volume_l.max(0.0))
    ))
}

/// What to measure next: what settles closed or open, what a heat pump makes of its store at times, then the readings nearest to turning
/// the answer.
pub fn to_measure(system: &System, answer: &Assessment, most: usize) -> Vec<String> {
    let tongue = system.tongue();
    let hotter = (system.kind == HeaterKind::HeatPump && system.hygiene_c.is_none() && !stays_open(answer))
        .then(|| crate::say!(tongue.language, "expansion-measure-hygiene"));
    let tanks = answer.existing_tank.as_ref().map_or(0, |there| there.count);
    let turns = answer
        .sensitivity
        .iter()
        .flatten()
        .map(|turn| turn_to_measure(turn, tanks, tongue));
    let settle = answer.closed.settle_by.iter().cloned();
    settle.chain(hotter).chain(turns).take(most).collect()
}

/// How to read again what would turn the answer, and from which value on, where so many tanks are there.
fn turn_to_measure(turn: &Turn, tanks: usize, tongue: Tongue) -> String {
    let shown = |value: f64| turn_value(turn.unit, value, tongue);
    let how = crate::say!(tongue.language, &format!("expansion-measure-{}", turn.reading));
    crate::say!(
        tongue.language,
        "expansion-measure",
        how = how,
        told = shown(turn.told),
        turns = shown(turn.turns_at),
        way = if turn.turns_at > turn.told { "more" } else { "less" },
        becomes = turn.becomes.words_in(tongue.language, tanks)
    )
}

/// All that is left out by default.
fn explained(out: &mut String, system: &System, answer: &Assessment) {
    let language = system.language;
    let label = |id: &str| crate::say!(language, id);
    out.push('\n');
    line(out, &label("expansion-label-water"), &water_sentence(system, answer));
    if answer.closed.is_closed != Some(false) {
        line(
            out,
            &label("expansion-label-bare"),
            &unprotected_sentence(system, answer),
        );
        line(out, "", &answer.unprotected.remark);
        line(out, &label("expansion-label-tank"), &tank_sentence(system, answer));
    }
    if let Some(existing) = &answer.existing_tank {
        for (at, finding) in existing.findings.iter().enumerate() {
            let label = if at == 0 {
                tanks_there_label(system)
            } else {
                String::new()
            };
            line(out, &label, &format!("- {finding}"));
        }
    }
    if answer.closed.is_closed != Some(false) {
        line(out, &label("expansion-label-relief"), &relief_sentence(system, answer));
        for finding in &answer.relief.findings {
            line(out, "", &format!("- {finding}"));
        }
    }
    out.push('\n');
    for (at, caution) in answer.cautions.iter().enumerate() {
        let label = if at == 0 {
            label("expansion-label-mind")
        } else {
            String::new()
        };
        line(out, &label, &format!("- {caution}"));
    }
    out.push('\n');
    line(
        out,
        "",
        language.pick(crate::PLANNING_AID, crate::drip::PLANNING_AID_ES),
    );
}

/// "yes", "no" or "unclear".
pub fn closed_word<W>(answer: &Assessment<W>) -> &'static str {
    match answer.closed.is_closed {
        Some(true) => "yes",
        Some(false) => "no",
        None => "unclear",
    }
}

/// What the water gains.
pub fn water_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let expansion = &answer.expansion;
    let (heated, cold, hot) = (
        tongue.volume(expansion.heated_l),
        tongue.temperature(system.cold_c),
        tongue.temperature(system.hot_c),
    );
    let percent = format!("{:.3} %", 100.0 * expansion.fraction.abs());
    let (gained, loses) = (tongue.volume(expansion.water_l.abs()), expansion.fraction < 0.0);
    let mut text = tongue.pick(
        format!(
            "{heated} heated from {cold} to {hot} {} {percent}, {gained}",
            if loses { "lose" } else { "gain" }
        ),
        format!(
            "{heated} calentados de {cold} a {hot} {} {percent}, {gained}",
            if loses { "pierden" } else { "ganan" }
        ),
    );
    if system.material_credit {
        let (metal, left) = (
            tongue.volume(expansion.material_credit_l),
            tongue.volume(expansion.volume_l),
        );
        text.push_str(&tongue.pick(
            format!("; less {metal} that the metal grows, {left}"),
            format!("; menos {metal} que crece el metal, {left}"),
        ));
    }
    text
}

/// What the pressure does with nothing to take the water.
pub fn unprotected_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let bare = &answer.unprotected;
    // Both are of one gender in both languages, so that the article may stand here.
    let reach = |heating: Option<f64>, what: String| match heating {
        Some(0.0) => tongue.pick(
            format!("it stands at or above the {what} without heating"),
            format!("sin calentar ya está en el {what} o más arriba"),
        ),
        Some(kelvin) => {
            let warming = tongue.warming(kelvin);
            tongue.pick(
                format!("{warming} of heating reach the {what}"),
                format!("calentar {warming} llega al {what}"),
            )
        }
        None => tongue.pick(
            format!("heating does not reach the {what}"),
            format!("el calentamiento no llega al {what}"),
        ),
    };
    let start = tongue.gauge(answer.as_found.supply.static_gauge_kpa * 1e3);
    let end = match bare.final_gauge_kpa.map(|kpa| tongue.gauge(kpa * 1e3)) {
        Some(end) => tongue.pick(format!("{start} rises to {end}"), format!("{start} sube a {end}")),
        None => tongue
            .pick(
                "the pressure would pass 100 MPa (14,500 psi)",
                "la presión pasaría de 100 MPa (14,500 psi)",
            )
            .to_string(),
    };
    let (limit, relief) = (
        tongue.gauge(answer.as_found.supply.limit_gauge_kpa * 1e3),
        tongue.gauge(system.heater_relief_gauge_pa),
    );
    let limit = tongue.pick(format!("limit of {limit}"), format!("límite de {limit}"));
    let relief = tongue.pick(
        format!("heater's relief valve at {relief}"),
        format!("alivio del calentador, {relief}"),
    );
    format!(
        "{end}; {}; {}",
        reach(bare.heating_to_limit_k, limit),
        reach(bare.heating_to_heater_relief_k, relief)
    )
}

/// What tank would do.
pub fn tank_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let tank = &answer.tank;
    let mut text = match (tank.min_volume_l, tank.acceptance_factor, tank.precharge_gauge_kpa) {
        (Some(volume_l), Some(factor), Some(precharge_kpa)) => {
            let (volume, precharge) = (
                show_volume_at_least(volume_l, tongue.units),
                precharge_words(system, precharge_kpa),
            );
            let percent = 100.0 * factor;
            tongue.pick(
                format!(
                    "at least {volume} in total, of which {percent:.1} % fill; precharge {precharge}, set with the tank isolated and drained"
                ),
                format!(
                    "al menos {volume} en total, de los que se llena el {percent:.1} %; precarga {precharge}, puesta con el tanque aislado y vacío"
                ),
            )
        }
        _ => tank
            .why_not
            .clone()
            .unwrap_or_else(|| tongue.pick("no tank can do it", "ningún tanque basta").to_string()),
    };
    if let Some(after) = &tank.after_lowering {
        let setting = tongue.gauge(after.regulator_gauge_kpa * 1e3);
        text.push_str(&tongue.pick(
            format!("; with the supply lowered to {setting}"),
            format!("; con el suministro bajado a {setting}"),
        ));
    }
    text
}

/// What relief would do.
pub fn relief_sentence(system: &System, answer: &Assessment) -> String {
    let tongue = system.tongue();
    let relief = &answer.relief;
    let [lo, hi] = relief.window_gauge_kpa.map(|kpa| tongue.gauge(kpa * 1e3));
    let once = tongue.volume(relief.per_heatup_l);
    let mut text = relief.why_not.clone().unwrap_or_else(|| {
        tongue.pick(
            format!("set from {lo} to {hi}; {once} to the drain in one heating"),
            format!("ajustado de {lo} a {hi}; {once} al desagüe en un calentamiento"),
        )
    });
    if relief.feasible {
        if let (Some(day_l), Some(year_l)) = (relief.per_day_l, relief.per_year_l) {
            let (day, year) = (tongue.volume(day_l), tongue.volume(year_l));
            text.push_str(&tongue.pick(
                format!(", at most {day} a day and {year} a year"),
                format!(", a lo más {day} al día y {year} al año"),
            ));
        }
        if let Some(peak) = relief.peak_l_per_min {
            let flow = show_flow(peak * 60.0, tongue.units);
            text.push_str(&tongue.pick(
                format!("; at most {flow} while it heats"),
                format!("; a lo más {flow} mientras calienta"),
            ));
        }
    }
    text
}

/// First letter large.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// One entry: a label and text wrapped beside it.
pub(super) fn line(out: &mut String, label: &str, text: &str) {
    let room = WIDTH - INDENT;
    let hang = if text.starts_with("- ") { 2 } else { 0 };
    let mut label = label;
    let mut row = String::new();
    let mut first = true;
    let mut flush = |row: &mut String, label: &str| {
        let _ = writeln!(out, "{label:INDENT$}{row}");
        row.clear();
    };
    for word in text.split_whitespace() {
        let used = row.chars().count();
        if used > 0 && used + 1 + word.chars().count() > room {
            flush(&mut row, label);
            label = "";
            first = false;
        }
        if row.is_empty() {
            if !first {
                row.push_str(&" ".repeat(hang));
            }
        } else if !row.chars().all(|c| c == ' ') {
            row.push(' ');
        }
        row.push_str(word);
    }
    flush(&mut row, label);
}

/// The nearest reading that would overturn an answer, in a few words.
pub fn turn_words<W>(answer: &Assessment<W>, tongue: Tongue) -> String {
    answer
        .sensitivity
        .iter()
        .flatten()
        .next()
        .map_or(String::new(), |turn| {
            let way = if turn.turns_at > turn.told { "≥" } else { "≤" };
            format!(
                "{} {way} {}",
                turn.reading,
                turn_value(turn.unit, turn.turns_at, tongue)
            )
        })
}

/// A value of a turn for people.
fn turn_value(unit: &str, value: f64, tongue: Tongue) -> String {
    match unit {
        "kPa" => tongue.gauge(value * 1e3),
        "C" => tongue.temperature(value),
        _ => tongue.volume(value),
    }
}
