//! Times and things in the words that people use, in both languages.

use super::case::Case;
use crate::inventory::{Assembly, DeviceType, Language};
use chrono::{DateTime, Datelike, Timelike, Utc};
use chrono_tz::Tz;

const DAYS_EN: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];
const DAYS_ES: [&str; 7] = ["lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"];

/// The part of a day in which something happens: `Friday night`, `el viernes en la noche`. Hours before 6 belong to the night before.
pub fn when(at: DateTime<Utc>, zone: Tz, language: Language) -> String {
    let local = at.with_timezone(&zone);
    let mut day = local.weekday().num_days_from_monday() as usize;
    let hour = local.hour();
    if hour < 6 {
        day = (day + 6) % 7;
    }
    match language {
        Language::English => {
            let part = match hour {
                6..12 => "morning",
                12..18 => "afternoon",
                _ => "night",
            };
            format!("{} {part}", DAYS_EN[day % 7])
        }
        Language::Spanish => {
            let part = match hour {
                6..12 => "mañana",
                12..18 => "tarde",
                _ => "noche",
            };
            format!("el {} en la {part}", DAYS_ES[day % 7])
        }
    }
}

/// Stands in for [`when`] where no time is known.
pub fn soon(language: Language) -> &'static str {
    match language {
        Language::English => "in the next days",
        Language::Spanish => "en los próximos días",
    }
}

/// The longest that [`when`] can be.
pub fn longest_when(language: Language) -> &'static str {
    match language {
        Language::English => "Wednesday afternoon",
        Language::Spanish => "el miércoles en la mañana",
    }
}

/// A deadline: `3 pm on Friday`, `las 3 pm del viernes`; minutes are cut to the half hour before.
pub fn by(at: DateTime<Utc>, zone: Tz, language: Language) -> String {
    let local = at.with_timezone(&zone);
    let day = local.weekday().num_days_from_monday() as usize % 7;
    let half = if local.minute() >= 30 { ":30" } else { "" };
    let (hour, noon) = match local.hour() {
        0 => (12, "am"),
        h @ 1..12 => (h, "am"),
        12 => (12, "pm"),
        h => (h - 12, "pm"),
    };
    match language {
        Language::English => format!("{hour}{half} {noon} on {}", DAYS_EN[day]),
        Language::Spanish => {
            let article = if hour == 1 { "la" } else { "las" };
            format!("{article} {hour}{half} {noon} del {}", DAYS_ES[day])
        }
    }
}

/// A sample of [`by`].
pub fn by_sample(language: Language) -> &'static str {
    match language {
        Language::English => "3 pm on Friday",
        Language::Spanish => "las 3 pm del viernes",
    }
}

/// A listed name as one says it: `Núria Peña` for `Peña, Núria`. What may be a firm's name stays as it is.
pub fn spoken_name(listed: &str) -> String {
    const FIRM: [&str; 12] = [
        "inc", "llc", "ltd", "co", "corp", "company", "sa", "srl", "lp", "llp", "pllc", "etc",
    ];
    let mut parts = listed.split(',').map(str::trim);
    match (parts.next(), parts.next(), parts.next()) {
        (Some(last), Some(first), None) if !last.is_empty() && !first.is_empty() => {
            let short =
                |part: &str| part.split_whitespace().count() <= 2 && !part.contains(|c: char| c.is_ascii_digit());
            let word = first.to_lowercase().replace('.', "");
            let firm = FIRM.contains(&word.as_str()) || first.contains('&') || last.contains('&');
            if short(last) && short(first) && !firm {
                format!("{first} {last}")
            } else {
                listed.to_owned()
            }
        }
        _ => listed.to_owned(),
    }
}

/// What an assembly is, for its owner: size and kind.
pub fn what(assembly: &Assembly, language: Language) -> String {
    let size = assembly.nominal_size.word();
    match language {
        Language::English => {
            let kind = match assembly.device_type {
                DeviceType::Rp => "reduced pressure assembly",
                DeviceType::Rpda => "reduced pressure detector assembly",
                DeviceType::Dc => "double check assembly",
                DeviceType::Dcda => "double check detector assembly",
                DeviceType::Pvb => "pressure vacuum breaker",
                DeviceType::Svb => "spill-resistant vacuum breaker",
                DeviceType::Avb => "atmospheric vacuum breaker",
            };
            format!("{size} in {kind}")
        }
        Language::Spanish => {
            let kind = match assembly.device_type {
                DeviceType::Rp => "válvula de presión reducida",
                DeviceType::Rpda => "válvula de presión reducida con detector",
                DeviceType::Dc => "doble válvula de retención",
                DeviceType::Dcda => "doble válvula de retención con detector",
                DeviceType::Pvb => "rompedor de vacío a presión",
                DeviceType::Svb => "rompedor de vacío sin derrame",
                DeviceType::Avb => "rompedor de vacío atmosférico",
            };
            format!("{kind} de {size} pulg")
        }
    }
}

/// Heading of a case's steps where a message holds several.
pub fn case_heading(case: Case, language: Language) -> &'static str {
    match (case, language) {
        (Case::FireIced, Language::English) => "For fire lines with ice in them:",
        (Case::Iced, Language::English) => "For devices with ice in them:",
        (Case::FireIced, Language::Spanish) => "Para líneas contra incendios con hielo:",
        (Case::Iced, Language::Spanish) => "Para aparatos con hielo:",
        (Case::Fire, Language::English) => "For fire lines with heat:",
        (Case::FireBare, Language::English) => "For fire lines without heat:",
        (Case::Idle, Language::English) => "For lines that no one needs now:",
        (Case::Vacant, Language::English) => "For places where no one is:",
        (Case::FreezeDrip, Language::English) => "For devices that drip when cold:",
        (Case::Irrigation, Language::English) => "For sprinkler lines:",
        (Case::Domestic, Language::English) => "For lines in use:",
        (Case::Fire, Language::Spanish) => "Para líneas contra incendios con calor:",
        (Case::FireBare, Language::Spanish) => "Para líneas contra incendios sin calor:",
        (Case::Idle, Language::Spanish) => "Para líneas que nadie necesita ahora:",
        (Case::Vacant, Language::Spanish) => "Para lugares donde no hay nadie:",
        (Case::FreezeDrip, Language::Spanish) => "Para aparatos que gotean con el frío:",
        (Case::Irrigation, Language::Spanish) => "Para líneas de riego:",
        (Case::Domestic, Language::Spanish) => "Para líneas en uso:",
    }
}
