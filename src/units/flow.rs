//! Flows as people tell them: "1 cup in 6 min", "20 drops/min", "0.5 gal/h", "steady stream".

use super::number::{leading_number, squeeze};
use super::refusal::{Problem, UnitError, Wanted};
use super::{L_PER_US_GAL, UnitSystem, parse_volume_l};

/// A told flow, L/h, with the band that the telling leaves open.
///
/// A measured flow has `lo == best == hi`. Counted drops have a wide band, because a drop is anything
/// from 0.05 mL (laboratory dropper) to 1/3 mL (leak guides).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowRange {
    /// Lowest flow that fits what was told, L/h.
    pub lo_l_per_h: f64,
    /// Most likely flow, L/h.
    pub best_l_per_h: f64,
    /// Highest flow that fits what was told, L/h.
    pub hi_l_per_h: f64,
}

impl FlowRange {
    fn exact(l_per_h: f64) -> Self {
        Self {
            lo_l_per_h: l_per_h,
            best_l_per_h: l_per_h,
            hi_l_per_h: l_per_h,
        }
    }

    fn drops(per_h: f64) -> Self {
        Self {
            lo_l_per_h: per_h * SMALLEST_DROP_L,
            best_l_per_h: per_h * USUAL_DROP_L,
            hi_l_per_h: per_h * LARGEST_DROP_L,
        }
    }
}

/// Smallest drop, L: the laboratory and medical convention of 20 drops a millilitre. `[drop-size]`
pub const SMALLEST_DROP_L: f64 = 0.05e-3;
/// Usual drop of a leak guide, L: 0.25 mL, 4000 drops a litre. `[drop-size]`
pub const USUAL_DROP_L: f64 = 0.25e-3;
/// Largest drop of a leak guide, L: one third of a millilitre. `[drop-size]`
pub const LARGEST_DROP_L: f64 = 1e-3 / 3.0;
/// A steady stream, L/h: from the thickness of a pencil lead to that of a pencil. Judgement. `[judgement]`
pub const STEADY_STREAM: FlowRange = FlowRange {
    lo_l_per_h: 12.0,
    best_l_per_h: 40.0,
    hi_l_per_h: 200.0,
};

/// A flow, L/h, from what people say; a bare number is gal/h in US and L/h in SI.
///
/// Understood, in English and Spanish: a volume and a time ("1 cup in 6 min", "1 taza en 6 min", "500 mL per hour"), a unit of flow ("0.5 gal/h", "2 gpm",
/// "30 mL/min"), counted drops ("20 drops/min", "1 drop per second", "a drop every 3 s"), "steady stream",
/// "none".
///
/// # Errors
/// Not a number, an unknown unit, negative, or no time.
pub fn parse_flow_l_per_h(text: &str, system: UnitSystem) -> Result<FlowRange, UnitError> {
    let fail = |problem: Problem| UnitError::new(Wanted::Flow, text, problem);
    let lower = in_english(&text.trim().to_lowercase());
    let words: Vec<&str> = lower.split_whitespace().collect();
    match words.join(" ").as_str() {
        "" => return Err(fail(Problem::Nothing)),
        "none" | "dry" | "no flow" | "nothing" => return Ok(FlowRange::exact(0.0)),
        "steady stream" | "steady" | "stream" | "a steady stream" | "constant stream" | "continuous stream" => {
            return Ok(STEADY_STREAM);
        }
        _ => {}
    }
    // "one drop every 3 s", "a cup in an hour": number words become digits.
    let spoken = spoken_numbers(&words);
    let (amount, rest) = leading_number(&spoken).map_err(fail)?;
    if amount < 0.0 {
        return Err(fail(Problem::Negative));
    }
    if rest.is_empty() {
        return Ok(FlowRange::exact(match system {
            UnitSystem::Us => amount * L_PER_US_GAL,
            UnitSystem::Si | UnitSystem::Bar => amount,
        }));
    }
    if let Some(factor) = named_flow(&squeeze(rest)) {
        return Ok(FlowRange::exact(amount * factor));
    }
    let (what, time) = split_time(rest).ok_or_else(|| fail(Problem::NoTime))?;
    let hours = time_h(time).ok_or_else(|| fail(Problem::UnreadTime(time.to_string())))?;
    if hours <= 0.0 {
        return Err(fail(Problem::ZeroTime));
    }
    match what.trim() {
        "drop" | "drops" | "drip" | "drips" => Ok(FlowRange::drops(amount / hours)),
        volume => {
            let litres = parse_volume_l(&format!("{amount} {volume}"), system).map_err(|error| fail(error.problem))?;
            Ok(FlowRange::exact(litres / hours))
        }
    }
    .and_then(|flow| {
        if flow.hi_l_per_h.is_finite() {
            Ok(flow)
        } else {
            Err(fail(Problem::TooLarge))
        }
    })
}

/// Spanish words of a told flow, and the English ones that are read.
const SPANISH: [(&str, &str); 32] = [
    ("al", "per"),
    ("cada", "every"),
    ("chorro", "stream"),
    ("cinco", "five"),
    ("cuatro", "four"),
    ("día", "day"),
    ("dia", "day"),
    ("diez", "ten"),
    ("dos", "two"),
    ("en", "in"),
    ("galon", "gal"),
    ("galones", "gal"),
    ("galón", "gal"),
    ("gota", "drop"),
    ("gotas", "drops"),
    ("hora", "hour"),
    ("horas", "hours"),
    ("litro", "l"),
    ("litros", "l"),
    ("media", "half"),
    ("minuto", "minute"),
    ("minutos", "minutes"),
    ("nada", "none"),
    ("por", "per"),
    ("segundo", "second"),
    ("segundos", "seconds"),
    ("seis", "six"),
    ("taza", "cup"),
    ("tazas", "cups"),
    ("tres", "three"),
    ("un", "one"),
    ("una", "one"),
];

/// The text with the Spanish words of [`SPANISH`] in English.
fn in_english(text: &str) -> String {
    let english = |word| {
        SPANISH
            .iter()
            .find(|(spanish, _)| *spanish == word)
            .map_or(word, |(_, english)| *english)
    };
    text.split_whitespace()
        .map(|token| token.split('/').map(english).collect::<Vec<_>>().join("/"))
        .collect::<Vec<_>>()
        .join(" ")
}

/// L/h of one named unit of flow.
fn named_flow(squeezed: &str) -> Option<f64> {
    Some(match squeezed {
        "gpm" | "galpm" => 60.0 * L_PER_US_GAL,
        "gph" => L_PER_US_GAL,
        "gpd" => L_PER_US_GAL / 24.0,
        "lpm" => 60.0,
        "lph" => 1.0,
        "lpd" => 1.0 / 24.0,
        _ => return None,
    })
}

/// Splits "cup in 6 min" or "drops/min" into the thing and the time.
fn split_time(rest: &str) -> Option<(&str, &str)> {
    for mark in [" in ", " per ", " every ", " each ", " a ", "/"] {
        if let Some(at) = rest.find(mark) {
            return Some((&rest[..at], rest[at + mark.len()..].trim()));
        }
    }
    None
}

/// Hours of "6 min", "min", "3 s", "an hour", "day".
fn time_h(text: &str) -> Option<f64> {
    let (count, unit) = match leading_number(text) {
        Ok((count, unit)) => (count, unit),
        Err(_) => (1.0, text),
    };
    let unit_h = match squeeze(unit).as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" => 1.0 / 3600.0,
        "min" | "mins" | "minute" | "minutes" => 1.0 / 60.0,
        "h" | "hr" | "hrs" | "hour" | "hours" => 1.0,
        "d" | "day" | "days" => 24.0,
        _ => return None,
    };
    Some(count * unit_h)
}

fn spoken_numbers(words: &[&str]) -> String {
    let mut out: Vec<&str> = Vec::with_capacity(words.len());
    for (i, word) in words.iter().enumerate() {
        out.push(match *word {
            // "a" and "an" are numbers at the start and after "in" or "every"; elsewhere "a" means "per".
            "a" | "an" if i == 0 || matches!(words.get(i - 1), Some(&"in" | &"every")) => "1",
            "one" => "1",
            "two" => "2",
            "three" => "3",
            "four" => "4",
            "five" => "5",
            "six" => "6",
            "ten" => "10",
            "half" => "0.5",
            other => other,
        });
    }
    out.join(" ")
}
