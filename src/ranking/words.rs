//! The words of outlooks and measures in both languages: how people read numbers, times, things, parts.
//!
//! Numbers without a tag of their own: how finely a number is told (judgement: what people can set or read).

use super::Tier;
use crate::freeze::costs::PartKind;
use crate::freeze::{Advice, Measure, Outlook, PartOutlook};
use crate::inventory::{Assembly, CustomerClass, DeviceType, Placement, Service, WinterUse};
use crate::language::Language;
use crate::units;
use chrono::{DateTime, Datelike, Timelike, Utc};
use chrono_tz::Tz;

/// How people read numbers and times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// Time zone of the sentences.
    pub zone: Tz,
    /// US customary units; SI when false.
    pub us: bool,
    /// Language of the sentences.
    pub language: Language,
}

impl Words {
    /// A temperature, such as `19 °F`, from °C.
    pub fn temperature(&self, celsius: f64) -> String {
        if self.us {
            format!("{} °F", whole(units::f_from_c(celsius)))
        } else {
            format!("{celsius:.1} °C").replace("-0.0 ", "0.0 ")
        }
    }

    /// A moment to the hour, such as `Fri 11 pm`.
    pub fn moment(&self, time: DateTime<Utc>) -> String {
        let local = time.with_timezone(&self.zone);
        let (pm, hour) = local.hour12();
        let day = self.language.day_short(local.weekday());
        format!("{day} {hour} {}", if pm { "pm" } else { "am" })
    }

    /// A day and a time to the minute, such as `Thursday at 9:00 am`.
    pub fn day_and_time(&self, time: DateTime<Utc>) -> String {
        let local = time.with_timezone(&self.zone);
        let day = self.language.day(local.weekday());
        let (pm, hour) = local.hour12();
        let minute = local.minute();
        self.pick(
            format!("{day} at {hour}:{minute:02} {}", if pm { "pm" } else { "am" }),
            format!(
                "{day} a {} {}:{minute:02}",
                if local.hour() == 1 { "la" } else { "las" },
                local.hour()
            ),
        )
    }

    /// The night or day a moment belongs to, such as `Friday night` (the small hours belong to the night
    /// that began the evening before).
    pub fn part_of_day(&self, time: DateTime<Utc>) -> String {
        let local = time.with_timezone(&self.zone);
        let (day, english, spanish) = match local.hour() {
            0..=5 => (local - chrono::TimeDelta::hours(12), "night", "noche"),
            6..=11 => (local, "morning", "mañana"),
            12..=17 => (local, "afternoon", "tarde"),
            _ => (local, "night", "noche"),
        };
        let day = self.language.day(day.weekday());
        self.pick(format!("{day} {english}"), format!("el {day} en la {spanish}"))
    }

    /// The one of two wordings that is in this language.
    pub fn pick<T>(&self, english: T, spanish: T) -> T {
        self.language.pick(english, spanish)
    }
}

impl Tier {
    /// The tier as people read it; files use [`Tier::words`].
    pub fn words_in(self, language: Language) -> &'static str {
        language.pick(
            self.words(),
            match self {
                Tier::CallFirst => "llamar primero",
                Tier::CallNext => "llamar después",
                Tier::Message => "mensaje",
                Tier::NoContact => "sin contacto",
            },
        )
    }
}

/// A rounded number without a negative zero.
pub(super) fn whole(value: f64) -> String {
    let text = format!("{value:.0}");
    if text == "-0" { "0".into() } else { text }
}

/// A chance in words, such as `62 %`; the ends are not called certain, and none of a few hundred members is no proof of never.
pub fn percent(chance: f64) -> String {
    percent_in(chance, Language::English)
}

/// A chance in words of a language.
pub fn percent_in(chance: f64, language: Language) -> String {
    let percent = chance * 100.0;
    if percent < 1.0 {
        language.pick("under 1 %", "menos del 1 %").into()
    } else if percent > 99.0 {
        language.pick("over 99 %", "más del 99 %").into()
    } else {
        format!("{} %", whole(percent))
    }
}

/// The kind of device as people call it.
pub fn device_words(device: DeviceType, language: Language) -> &'static str {
    let (english, spanish) = match device {
        DeviceType::Rp => ("reduced pressure assembly", "válvula de presión reducida"),
        DeviceType::Rpda => (
            "reduced pressure detector assembly",
            "válvula de presión reducida con detector",
        ),
        DeviceType::Dc => ("double check assembly", "doble válvula de retención"),
        DeviceType::Dcda => (
            "double check detector assembly",
            "doble válvula de retención con detector",
        ),
        DeviceType::Pvb => ("pressure vacuum breaker", "rompedor de vacío a presión"),
        DeviceType::Svb => ("spill-resistant vacuum breaker", "rompedor de vacío sin derrame"),
        DeviceType::Avb => ("atmospheric vacuum breaker", "rompedor de vacío atmosférico"),
    };
    language.pick(english, spanish)
}

/// What stands where, such as `bare 1 in pressure vacuum breaker on an idle irrigation line`.
pub fn what_it_is(assembly: &Assembly, language: Language) -> String {
    match language {
        Language::English => what_it_is_english(assembly),
        Language::Spanish => what_it_is_spanish(assembly),
    }
}

fn what_it_is_english(assembly: &Assembly) -> String {
    let wrapped = assembly.wrap_m2k_per_w > 0.0;
    let dress = match (assembly.placement, wrapped) {
        (Placement::Open, false) => "bare ",
        (_, true) => "wrapped ",
        _ => "",
    };
    let place = match assembly.placement {
        Placement::Open => "",
        Placement::Cover => " under a cover",
        Placement::InsulatedEnclosure => " in an unheated enclosure",
        Placement::HeatedEnclosure => " in a heated enclosure",
        Placement::Vault => " in a vault",
        Placement::Indoors => " indoors",
    };
    let state = match assembly.winter_use {
        WinterUse::InUse => "",
        WinterUse::Idle => "idle ",
        WinterUse::Vacant => "vacant ",
        WinterUse::Drained => "drained ",
    };
    let service = match (assembly.service, assembly.customer_class) {
        (Service::Domestic, CustomerClass::Residential) => "household line",
        (Service::Domestic, CustomerClass::Commercial) => "business line",
        (Service::Domestic, _) => "domestic line",
        (Service::Irrigation, _) => "irrigation line",
        (Service::Fire, _) => "fire line",
        (Service::Process, _) => "process line",
        (Service::Unknown, _) => "line of unknown use",
    };
    let line = format!("{state}{service}");
    let article = if line.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    };
    let critical = match &assembly.critical {
        Some(word) => format!(" (critical: {word})"),
        None => String::new(),
    };
    format!(
        "{dress}{} in {}{place} on {article} {line}{critical}",
        assembly.nominal_size,
        device_words(assembly.device_type, Language::English)
    )
}

fn what_it_is_spanish(assembly: &Assembly) -> String {
    let wrapped = assembly.wrap_m2k_per_w > 0.0;
    let dress = match (assembly.placement, wrapped) {
        (Placement::Open, false) => " sin protección",
        (_, true) => " con forro",
        _ => "",
    };
    let place = match assembly.placement {
        Placement::Open => "",
        Placement::Cover => " bajo cubierta",
        Placement::InsulatedEnclosure => " en gabinete sin calefacción",
        Placement::HeatedEnclosure => " en gabinete con calefacción",
        Placement::Vault => " en registro bajo tierra",
        Placement::Indoors => " bajo techo",
    };
    let service = match (assembly.service, assembly.customer_class) {
        (Service::Domestic, CustomerClass::Residential) => "línea de casa",
        (Service::Domestic, CustomerClass::Commercial) => "línea de negocio",
        (Service::Domestic, _) => "línea doméstica",
        (Service::Irrigation, _) => "línea de riego",
        (Service::Fire, _) => "línea contra incendios",
        (Service::Process, _) => "línea de proceso",
        (Service::Unknown, _) => "línea de uso desconocido",
    };
    let state = match assembly.winter_use {
        WinterUse::InUse => "",
        WinterUse::Idle => " sin uso",
        WinterUse::Vacant => " de un lugar desocupado",
        WinterUse::Drained => " vaciada",
    };
    let critical = match &assembly.critical {
        Some(word) => format!(" (crítico: {word})"),
        None => String::new(),
    };
    format!(
        "{} de {} pulg{dress}{place} en {service}{state}{critical}",
        device_words(assembly.device_type, Language::Spanish),
        assembly.nominal_size
    )
}

/// A part's name as people say it: segments of a riser are numbered in the model only.
pub fn part_words(name: &str) -> &str {
    name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end()
}

/// Names of parts in Spanish, with their article and whether they are several.
const PARTS_ES: [(&str, &str, &str, bool); 11] = [
    ("bonnet", "el", "bonete", false),
    ("body", "el", "cuerpo", false),
    ("body after checks", "el", "cuerpo después de las retenciones", false),
    ("body between checks", "el", "cuerpo entre las retenciones", false),
    ("bypass", "la", "derivación", false),
    ("first shutoff", "la", "primera válvula de paso", false),
    ("inlet riser", "el", "tubo de entrada", false),
    ("outlet riser", "el", "tubo de salida", false),
    ("relief valve", "la", "válvula de alivio", false),
    ("second shutoff", "la", "segunda válvula de paso", false),
    ("test cocks", "las", "válvulas de prueba", true),
];

/// A part as a list names it; segments keep their number.
pub fn part_name(name: &'static str, language: Language) -> String {
    let base = part_words(name);
    let spanish = PARTS_ES.iter().find(|(known, ..)| *known == base);
    match (language, spanish) {
        (Language::Spanish, Some((_, _, spanish, _))) => {
            format!("{spanish}{}", name.get(base.len()..).unwrap_or(""))
        }
        _ => name.to_string(),
    }
}

/// That a part breaks: `the bonnet breaks`; in Spanish as a fact (`se rompe el bonete`) or as a chance (`se rompa el bonete`).
pub(super) fn breaks(part: &PartOutlook, language: Language, as_chance: bool) -> String {
    let name = part_words(part.name);
    let body = PartKind::of(part.name) == PartKind::Body;
    match language {
        Language::English => {
            let plural = part.name.ends_with('s') && part.name != "bypass" && !part.name.contains("checks");
            let verb = match (body, plural) {
                (true, false) => "cracks",
                (true, true) => "crack",
                (false, false) => "breaks",
                (false, true) => "break",
            };
            format!("the {name} {verb}")
        }
        Language::Spanish => {
            let (article, name, plural) = PARTS_ES
                .iter()
                .find(|(known, ..)| *known == name)
                .map_or(("la", "pieza", false), |(_, article, spanish, plural)| {
                    (*article, *spanish, *plural)
                });
            let stem = if body { "agriet" } else { "romp" };
            let ending = match (body, as_chance, plural) {
                (true, true, false) | (false, false, false) => "e",
                (true, true, true) | (false, false, true) => "en",
                (true, false, false) | (false, true, false) => "a",
                (true, false, true) | (false, true, true) => "an",
            };
            format!("se {stem}{ending} {article} {name}")
        }
    }
}

/// Time of first ice at the early edge, such as `Fri 11 pm`; `unlikely` where fewer than one member in ten sees ice.
pub fn early_ice(outlook: &Outlook, words: &Words) -> String {
    match (outlook.first_ice.p10, outlook.p_ice) {
        (Some(time), _) => words.moment(time),
        (None, Some(p)) if p > 0.0 => words.pick("unlikely", "improbable").into(),
        (None, _) => words.pick("none", "ninguno").into(),
    }
}

/// What would do, such as `a wrap of R-4 would do`.
pub fn advice_words(advice: &Advice, words: &Words) -> String {
    let enough =
        |english: String, spanish: String| words.pick(format!("{english} would do"), format!("bastaría {spanish}"));
    match advice.measure {
        Measure::Wrap => match advice.wrap_m2k_per_w {
            Some(r) => {
                let value = wrap_value(r, words);
                enough(format!("a wrap of {value}"), format!("un forro de {value}"))
            }
            None => enough("a wrap".into(), "un forro".into()),
        },
        Measure::Trickle => match advice.flow_l_per_h {
            Some(flow) => {
                let value = flow_value(flow, words);
                enough(format!("a trickle of {value}"), format!("un hilo de agua de {value}"))
            }
            None => enough("a trickle".into(), "un hilo de agua".into()),
        },
        Measure::HeatTrace => match advice.power_w_per_m {
            Some(power) => {
                let value = power_value(power, words);
                enough(format!("heat trace of {value}"), format!("cable calefactor de {value}"))
            }
            None => enough("heat trace".into(), "cable calefactor".into()),
        },
        Measure::Drain => enough(
            "shutting off and draining it".into(),
            "cerrar y vaciar el dispositivo".into(),
        ),
        Measure::HeatedEnclosure => words
            .pick(
                "only a heated enclosure would do",
                "solo bastaría un gabinete con calefacción",
            )
            .into(),
        Measure::FreezeDrip => {
            let base = words.pick("its freeze drip holds it", "su válvula de goteo lo protege");
            match advice.hours.map(whole) {
                Some(hours) => words.pick(
                    format!("{base}, dripping some {hours} h"),
                    format!("{base}, goteando unas {hours} h"),
                ),
                None => base.into(),
            }
        }
    }
}

/// The measure in full, as somebody who will do it must hear it; from the same figures as [`Advice::detail`], in the reader's
/// units and language.
pub fn advice_in_full(advice: &Advice, words: &Words) -> String {
    let both = |english: String, spanish: String| words.pick(english, spanish);
    let plain = |english: &str, spanish: &str| words.pick(english, spanish).to_string();
    match advice.measure {
        Measure::Wrap => match advice.wrap_m2k_per_w.map(|r| wrap_value(r, words)) {
            Some(value) => both(
                format!(
                    "A dry, windproof wrap of {value} over body, valves and both risers down to the ground would do; leave relief ports and drains open."
                ),
                format!(
                    "Bastaría un forro seco y a prueba de viento de {value} sobre cuerpo, válvulas y los dos tubos hasta el suelo; deje libres las bocas de alivio y los desagües."
                ),
            ),
            None => plain(
                "A wrap alone will not do, not even a thick one: it slows the cold and gives no heat.",
                "Un forro solo no basta, ni siquiera grueso: retrasa el frío y no da calor.",
            ),
        },
        Measure::Trickle => match advice.flow_l_per_h {
            Some(flow) => {
                let (hourly, daily) = (flow_value(flow, words), volume_value(flow * 24.0, words));
                both(
                    format!(
                        "A tap behind it left running at {hourly} would do, {daily} a day; it keeps the flow path open, trim can still freeze. Only if your utility allows it."
                    ),
                    format!(
                        "Bastaría una llave detrás corriendo a {hourly}, {daily} al día; mantiene abierto el paso, pero las piezas de afuera aún pueden congelarse. Solo si la empresa de agua lo permite."
                    ),
                )
            }
            None => plain(
                "A trickle alone will not do: trim outside the flow path still freezes.",
                "Un hilo de agua solo no basta: las piezas fuera del paso aún se congelan.",
            ),
        },
        Measure::HeatTrace => match advice.power_w_per_m.map(|power| power_value(power, words)) {
            Some(value) => both(
                format!(
                    "Listed heat trace of {value} over pipe and assembly (with 20 % in hand) would do, on a GFCI circuit that stays on; an electrician fits it."
                ),
                format!(
                    "Bastaría cable calefactor listado de {value} sobre tubos y conjunto (con 20 % de reserva), en un circuito con protección de falla a tierra que no se corte; lo instala un electricista."
                ),
            ),
            None => plain(
                "Heat trace without a wrap will not do.",
                "El cable calefactor sin forro no basta.",
            ),
        },
        Measure::Drain => plain(
            "Where the line feeds no fire protection and nobody needs its water: shut the valve on the supply side and drain the assembly and its risers; leave the valves half open so that none holds water. Follow the maker's instructions; have it tested before use where your rules ask for it.",
            "Donde la línea no alimenta protección contra incendios y nadie necesita su agua: cierre la válvula del lado del suministro y vacíe el conjunto y sus tubos; deje las válvulas a medio abrir para que ninguna guarde agua. Siga las instrucciones del fabricante; pruébelo antes de usarlo donde sus reglas lo pidan.",
        ),
        Measure::HeatedEnclosure => {
            let warm = words.temperature(units::c_from_f(40.0));
            both(
                format!(
                    "A heated enclosure that holds {warm} at the worst cold expected (ASSE 1060 class I), with power that stays on."
                ),
                format!(
                    "Un gabinete con calefacción que mantenga {warm} con el peor frío esperado (ASSE 1060 clase I), con corriente que no se corte."
                ),
            )
        }
        Measure::FreezeDrip => {
            let hours = advice.hours.map_or_else(|| "?".into(), whole);
            let volume = advice
                .litres
                .map_or_else(|| "?".into(), |litres| volume_value(litres, words));
            let rest = if advice.enough {
                words.pick(
                    "leave it open and its outlet free of ice",
                    "déjela abierta y su salida sin hielo",
                )
            } else {
                words.pick(
                    "it will run but will not hold all parts",
                    "goteará pero no protegerá todas las piezas",
                )
            };
            both(
                format!(
                    "The drip device fitted will run in about {hours} hours of the spell and pass about {volume}; {rest}."
                ),
                format!(
                    "La válvula de goteo instalada correrá en unas {hours} horas de la helada y dejará pasar unos {volume}; {rest}."
                ),
            )
        }
    }
}

fn wrap_value(m2k_per_w: f64, words: &Words) -> String {
    if words.us {
        format!("R-{}", round_up(m2k_per_w / units::M2K_PER_W_PER_R_US, 1.0))
    } else {
        format!("{} m²K/W", round_up(m2k_per_w, 0.1))
    }
}

fn flow_value(l_per_h: f64, words: &Words) -> String {
    if words.us {
        format!("{} gal/h", round_up(l_per_h / units::L_PER_US_GAL, 0.1))
    } else {
        format!("{} L/h", round_up(l_per_h, 0.1))
    }
}

fn volume_value(litres: f64, words: &Words) -> String {
    if words.us {
        format!("{} gal", whole(litres / units::L_PER_US_GAL))
    } else {
        format!("{} L", whole(litres))
    }
}

fn power_value(w_per_m: f64, words: &Words) -> String {
    if words.us {
        format!("{} W/ft", round_up(w_per_m * units::M_PER_FT, 1.0))
    } else {
        format!("{} W/m", round_up(w_per_m, 1.0))
    }
}

/// Rounded up to the step, so that what is told is not less than what is enough.
fn round_up(value: f64, step: f64) -> String {
    let steps = (value / step - 1e-9).ceil().max(1.0);
    if step < 1.0 {
        format!("{:.1}", steps * step)
    } else {
        whole(steps * step)
    }
}

/// Between what ends a chance of damage lies by other judgement of the model's constants; `None` where it was not asked.
pub fn judged_band(outlook: &Outlook, language: Language) -> Option<String> {
    let (low, high) = outlook.p_damage_judged?;
    let (low, high) = (percent_in(low, language), percent_in(high, language));
    Some(crate::say!(language, "judged-band", low = low, high = high))
}
