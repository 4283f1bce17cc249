//! One plain sentence that says why an assembly stands where it stands.

use super::Tier;
use super::loss::Loss;
use crate::freeze::costs::PartKind;
use crate::freeze::{Advice, Measure, Outlook, PartOutlook};
use crate::inventory::{Assembly, CustomerClass, DeviceType, Placement, Service, WinterUse};
use crate::units;
use chrono::{DateTime, Timelike, Utc};
use chrono_tz::Tz;
use std::fmt::Write;

/// How people read numbers and times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// Time zone of the sentences.
    pub zone: Tz,
    /// US customary units; SI when false.
    pub us: bool,
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
        format!("{} {hour} {}", local.format("%a"), if pm { "pm" } else { "am" })
    }

    /// The night or day a moment belongs to, such as `Friday night` (the small hours belong to the night
    /// that began the evening before).
    pub fn part_of_day(&self, time: DateTime<Utc>) -> String {
        let local = time.with_timezone(&self.zone);
        let (day, word) = match local.hour() {
            0..=5 => (local - chrono::TimeDelta::hours(12), "night"),
            6..=11 => (local, "morning"),
            12..=17 => (local, "afternoon"),
            _ => (local, "night"),
        };
        format!("{} {word}", day.format("%A"))
    }
}

/// A rounded number without a negative zero.
fn whole(value: f64) -> String {
    let text = format!("{value:.0}");
    if text == "-0" { "0".into() } else { text }
}

/// A chance in words, such as `62 %`; the ends are not called certain.
pub fn percent(chance: f64) -> String {
    let percent = chance * 100.0;
    if percent > 0.0 && percent < 1.0 {
        "under 1 %".into()
    } else if percent > 99.0 {
        "over 99 %".into()
    } else {
        format!("{} %", whole(percent))
    }
}

/// The kind of device as people call it.
pub fn device_words(device: DeviceType) -> &'static str {
    match device {
        DeviceType::Rp => "reduced pressure assembly",
        DeviceType::Rpda => "reduced pressure detector assembly",
        DeviceType::Dc => "double check assembly",
        DeviceType::Dcda => "double check detector assembly",
        DeviceType::Pvb => "pressure vacuum breaker",
        DeviceType::Svb => "spill-resistant vacuum breaker",
        DeviceType::Avb => "atmospheric vacuum breaker",
    }
}

/// What stands where, such as `bare 1 in pressure vacuum breaker on an idle irrigation line`.
pub fn what_it_is(assembly: &Assembly) -> String {
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
        device_words(assembly.device_type)
    )
}

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

/// A part's name as people say it: segments of a riser are numbered in the model only.
pub fn part_words(name: &str) -> &str {
    name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end()
}

/// Time of first ice at the early edge, such as `Fri 11 pm`; `unlikely` where fewer than one member in ten sees ice.
pub fn early_ice(outlook: &Outlook, words: &Words) -> String {
    match (outlook.first_ice.p10, outlook.p_ice) {
        (Some(time), _) => words.moment(time),
        (None, Some(p)) if p > 0.0 => "unlikely".into(),
        (None, _) => "none".into(),
    }
}

fn breaks(part: &PartOutlook) -> String {
    let name = part_words(part.name);
    let plural = part.name.ends_with('s') && part.name != "bypass" && !part.name.contains("checks");
    let verb = match (PartKind::of(part.name), plural) {
        (PartKind::Body, false) => "cracks",
        (PartKind::Body, true) => "crack",
        (_, false) => "breaks",
        (_, true) => "break",
    };
    format!("the {name} {verb}")
}

/// The sentence. Numbers are in the units of `words`; never empty; no personal data.
pub fn reason(assembly: &Assembly, outlook: &Outlook, loss: &Loss, tier: Tier, words: &Words) -> String {
    let mut text = what_it_is(assembly);
    if assembly.winter_use == WinterUse::Drained {
        text.push_str(": shut off and emptied, so nothing in it can freeze");
        return text;
    }
    let first_ice = outlook.first_ice.p50.or(outlook.first_ice.p10);
    let _ = match (outlook.p_damage, first_ice) {
        (Some(p), ice) if p >= 0.005 => {
            let night = ice
                .map(|time| format!(" {}", words.part_of_day(time)))
                .unwrap_or_default();
            match worst_part(outlook) {
                Some(part) => {
                    let share = part.p_damage.unwrap_or(p);
                    if p - share < 0.05 {
                        write!(text, ": {} chance that {}{night}", percent(p), breaks(part))
                    } else {
                        write!(
                            text,
                            ": {} chance of damage{night}, most likely that {} ({})",
                            percent(p),
                            breaks(part),
                            percent(share)
                        )
                    }
                }
                None => write!(text, ": {} chance of damage{night}", percent(p)),
            }
        }
        (Some(_), _) => match outlook.p_ice {
            Some(ice) if ice >= 0.005 => write!(text, ": {} chance of ice, damage unlikely", percent(ice)),
            _ => write!(
                text,
                ": no ice expected, coldest water {}",
                words.temperature(outlook.coldest_water_c.p50)
            ),
        },
        (None, Some(ice)) => match worst_part(outlook) {
            Some(part) => write!(
                text,
                ": in the cautious run ice forms {} and {} ({} of its water freezes)",
                words.moment(ice),
                breaks(part),
                percent(part.ice_fraction)
            ),
            None => write!(
                text,
                ": in the cautious run ice forms {} but strains no part",
                words.moment(ice)
            ),
        },
        (None, None) => write!(
            text,
            ": no ice even in the cautious run, coldest water {}",
            words.temperature(outlook.coldest_water_c.p50)
        ),
    };
    let _ = write!(text, "; air down to {}", words.temperature(outlook.min_air_c));
    if outlook.hours_air_below_0c >= 0.5 {
        let _ = write!(
            text,
            ", {} h below freezing ({})",
            whole(outlook.hours_air_below_0c),
            if words.us { "32 °F" } else { "0 °C" }
        );
    }
    if tier != Tier::NoContact && loss.chance > 0.0 {
        if let Some(advice) = outlook.advice.iter().find(|advice| advice.enough) {
            let _ = write!(text, "; {}", advice_words(advice, words));
        } else if !outlook.advice.is_empty() {
            text.push_str("; none of the measures tried is enough alone");
        }
    }
    text
}

/// What would do, such as `a wrap of R-4 would do`.
pub fn advice_words(advice: &Advice, words: &Words) -> String {
    match advice.measure {
        Measure::Wrap => match advice.wrap_m2k_per_w {
            Some(r) if words.us => format!("a wrap of R-{} would do", round_up(r / units::M2K_PER_W_PER_R_US, 1.0)),
            Some(r) => format!("a wrap of {} m²K/W would do", round_up(r, 0.1)),
            None => "a wrap would do".into(),
        },
        Measure::Trickle => match advice.flow_l_per_h {
            Some(flow) if words.us => {
                format!(
                    "a trickle of {} gal/h would do",
                    round_up(flow / units::L_PER_US_GAL, 0.1)
                )
            }
            Some(flow) => format!("a trickle of {} L/h would do", round_up(flow, 0.1)),
            None => "a trickle would do".into(),
        },
        Measure::HeatTrace => match advice.power_w_per_m {
            Some(power) if words.us => {
                format!("heat trace of {} W/ft would do", round_up(power * units::M_PER_FT, 1.0))
            }
            Some(power) => format!("heat trace of {} W/m would do", round_up(power, 1.0)),
            None => "heat trace would do".into(),
        },
        Measure::Drain => "shutting off and draining it would do".into(),
        Measure::HeatedEnclosure => "only a heated enclosure would do".into(),
        Measure::FreezeDrip => match advice.hours {
            Some(hours) => format!("its freeze drip holds it, dripping some {} h", whole(hours)),
            None => "its freeze drip holds it".into(),
        },
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
