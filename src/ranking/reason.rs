//! One plain sentence that says why an assembly stands where it stands.
//!
//! Numbers without a tag of their own: from when on a chance is worth a word (judgement).

use super::Tier;
use super::loss::Loss;
pub use super::words::{Words, advice_words, early_ice, part_words, percent, what_it_is};
use super::words::{breaks, percent_in, whole};
use crate::freeze::{Night, Outlook, PartOutlook, Seen};
use crate::inventory::{Assembly, WinterUse};

/// Least chance of damage of a drained line that is told (judgement: one in a thousand rounds to nothing).
const LEAST_TOLD: f64 = 0.001;

/// The part most likely to break, with its chance or its ice fraction; `None` when none is at risk.
pub fn worst_part(outlook: &Outlook) -> Option<&PartOutlook> {
    let weight = |part: &PartOutlook| match part.p_damage {
        Some(p) => p,
        None if part.strained => 1.0 + part.ice_fraction,
        None => 0.0,
    };
    let mut worst: Option<&PartOutlook> = None;
    for part in &outlook.parts {
        if weight(part) > worst.map_or(0.0, weight) {
            worst = Some(part);
        }
    }
    worst
}

/// The sentence. Numbers are in the units and the language of `words`; never empty; no personal data.
pub fn reason(assembly: &Assembly, outlook: &Outlook, loss: &Loss, tier: Tier, words: &Words) -> String {
    let what = what_it_is(assembly, words.language);
    let told = reported(outlook, words);
    if super::is_broken(outlook) {
        let told = told.unwrap_or_default();
        return words.pick(
            format!("{what}: {told}; to be inspected, not called"),
            format!("{what}: {told}; se inspecciona, no se llama"),
        );
    }
    if assembly.winter_use == WinterUse::Drained {
        let drained = if outlook.p_damage.is_some_and(|p| p >= LEAST_TOLD) {
            let chance = percent_in(loss.chance, words.language);
            words.pick(
                format!(
                    ": shut off and emptied; {chance} chance of damage is left, should water stand in it after all"
                ),
                format!(
                    ": la línea está cerrada y vacía; queda {chance} de probabilidad de daño, por si aún tuviera agua"
                ),
            )
        } else {
            words.pick(
                ": shut off and emptied, so nothing in it can freeze".to_owned(),
                ": la línea está cerrada y vacía, así que nada puede congelarse".to_owned(),
            )
        };
        return what + &drained + &told.map(|told| format!("; {told}")).unwrap_or_default();
    }
    let told = told.map(|told| format!("{told}; ")).unwrap_or_default();
    let lowest = words.temperature(outlook.min_air_c);
    let mut text = format!(
        "{what}: {told}{}{}",
        expectation(outlook, words),
        words.pick(format!("; air down to {lowest}"), format!("; aire hasta {lowest}"))
    );
    if outlook.hours_air_below_0c >= 0.5 {
        let hours = whole(outlook.hours_air_below_0c);
        let freezing = if words.us { "32 °F" } else { "0 °C" };
        text.push_str(&words.pick(
            format!(", {hours} h below freezing ({freezing})"),
            format!(", {hours} h bajo cero ({freezing})"),
        ));
    }
    if outlook.is_past_advice() {
        text.push_str(words.pick(
            "; with ice in it no wrap and no draining helps any more: have it looked at, and look for leaks at the thaw",
            "; con hielo dentro ya no ayudan ni el forro ni vaciarla: que la revisen, y busquen fugas al deshielo",
        ));
    } else if tier != Tier::NoContact && loss.chance > 0.0 {
        if let Some(advice) = outlook.advice.iter().find(|advice| advice.enough) {
            text.push_str("; ");
            text.push_str(&advice_words(advice, words));
        } else if !outlook.advice.is_empty() {
            text.push_str(words.pick(
                "; none of the measures tried is enough alone",
                "; ninguna de las medidas probadas basta sola",
            ));
        }
    }
    text
}

/// What was reported last and when, such as `reported fine Thursday at 9:00 am`, and whether every member of the model has it otherwise.
pub fn reported(outlook: &Outlook, words: &Words) -> Option<String> {
    let told = outlook.reported.as_ref()?;
    let last = told.last()?;
    let seen = match last.seen {
        Seen::Fine => words.pick("reported fine", "sin problemas según el informe"),
        Seen::Ice => words.pick("ice reported", "con hielo según el informe"),
        Seen::Broken => words.pick("reported broken", "averiada según el informe"),
        Seen::Whole => words.pick(
            "reported whole, ice not looked for",
            "sin rotura según el informe, sin mirar si hay hielo,",
        ),
    };
    let at = words.day_and_time(last.at);
    let mut text = words.pick(format!("{seen} {at}"), format!("{seen} del {at}"));
    if told.contradicted() {
        text.push_str(words.pick(
            ", which the model does not have: look at it and at its row in the list",
            ", que el modelo no prevé: revísela y revise su fila en la lista",
        ));
    }
    Some(text)
}

/// What the model expects.
fn expectation(outlook: &Outlook, words: &Words) -> String {
    let language = words.language;
    let coldest = words.temperature(outlook.coldest_water_c.p50);
    let first_ice = outlook.first_ice.p50.or(outlook.first_ice.p10);
    match (outlook.p_damage, first_ice) {
        (Some(p), ice) if p >= 0.005 => {
            let chance = percent_in(p, language);
            let parted = by_night(outlook, words);
            let night = match &parted {
                Some(nights) => nights.clone(),
                None => ice
                    .map(|time| format!(" {}", words.part_of_day(time)))
                    .unwrap_or_default(),
            };
            let Some(part) = worst_part(outlook) else {
                return words.pick(
                    format!("{chance} chance of damage{night}"),
                    format!("{chance} de probabilidad de daño{night}"),
                );
            };
            let share = part.p_damage.unwrap_or(p);
            let breaks = breaks(part, language, true);
            if p - share < 0.05 {
                words.pick(
                    format!("{chance} chance that {breaks}{night}"),
                    format!("{chance} de probabilidad de que {breaks}{night}"),
                )
            } else {
                let share = percent_in(share, language);
                words.pick(
                    format!("{chance} chance of damage{night}, most likely that {breaks} ({share})"),
                    format!("{chance} de probabilidad de daño{night}, lo más probable que {breaks} ({share})"),
                )
            }
        }
        (Some(_), _) => match outlook.p_ice {
            Some(ice) if ice >= 0.005 => {
                let chance = percent_in(ice, language);
                words.pick(
                    format!("{chance} chance of ice, damage unlikely"),
                    format!("{chance} de probabilidad de hielo, daño improbable"),
                )
            }
            _ => words.pick(
                format!("no ice expected, coldest water {coldest}"),
                format!("no se espera hielo, agua más fría {coldest}"),
            ),
        },
        (None, Some(ice)) => {
            let moment = words.moment(ice);
            match worst_part(outlook) {
                Some(part) => {
                    let (breaks, share) = (breaks(part, language, false), percent_in(part.ice_fraction, language));
                    words.pick(
                        format!("in the cautious run ice forms {moment} and {breaks} ({share} of its water freezes)"),
                        format!("en el cálculo cauto se forma hielo {moment} y {breaks} (hielo en {share} de su agua)"),
                    )
                }
                None => words.pick(
                    format!("in the cautious run ice forms {moment} but strains no part"),
                    format!("en el cálculo cauto se forma hielo {moment} pero no fuerza ninguna pieza"),
                ),
            }
        }
        (None, None) => words.pick(
            format!("no ice even in the cautious run, coldest water {coldest}"),
            format!("sin hielo ni en el cálculo cauto, agua más fría {coldest}"),
        ),
    }
}

/// What each night adds, such as ` (46 % Wednesday night, 42 % more Thursday night)`; `None` unless two nights or more add a point in a
/// hundred each. Of many nights the four that add most are told.
fn by_night(outlook: &Outlook, words: &Words) -> Option<String> {
    let mut told: Vec<&Night> = outlook.nights.iter().filter(|night| night.p_damage >= 0.01).collect();
    if told.len() < 2 {
        return None;
    }
    told.sort_by(|a, b| b.p_damage.total_cmp(&a.p_damage));
    told.truncate(4);
    told.sort_by_key(|night| night.ice_early);
    let each: Vec<String> = told
        .iter()
        .enumerate()
        .map(|(at, night)| {
            let chance = percent_in(night.p_damage, words.language);
            let more = if at > 0 { words.pick(" more", " más") } else { "" };
            format!("{chance}{more} {}", words.part_of_day(night.ice_early))
        })
        .collect();
    Some(format!(" ({})", each.join(", ")))
}
