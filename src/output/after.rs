//! After the spell: the inspection list, the record form to fill, and the words that the form knows.

use super::defuse::defuse;
use super::plan::{stamp, unwritten};
use crate::faults::Fault;
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Placement};
use crate::outreach::after::{Spell, Visit};
use crate::ranking::Words;
use crate::units;

/// Columns of the form that a word list bounds, with their words. `none` is a finding too: without the undamaged ones nobody can say how
/// good the forecast was.
pub const RECORD_WORDS: &[(&str, &[&str])] = &[
    ("inspected_by", &["inspector", "customer", "tester"]),
    (
        "how_found",
        &["visit", "call", "leak report", "meter reading", "random sample"],
    ),
    (
        "exposure",
        &[
            "bare",
            "wrapped",
            "covered",
            "enclosed",
            "heated enclosure",
            "vault",
            "indoors",
        ],
    ),
    ("ice", &["yes", "no", "not looked for"]),
    ("power_on", &["yes", "no", "not fitted"]),
    ("wrap_condition", &["dry", "wet", "open", "missing", "none fitted"]),
    ("drained_before", &["yes", "no", "unknown"]),
    ("drip_device", &["acted", "did not act", "unknown", "not fitted"]),
    (
        "damage_part",
        &[
            "none",
            "bonnet",
            "poppet",
            "shutoff 1",
            "shutoff 2",
            "check cover",
            "test cock",
            "relief valve",
            "body",
            "riser",
            "adapter",
            "bypass",
            "meter",
            "enclosure",
        ],
    ),
    ("severity", &["none", "weep", "leak", "split", "destroyed"]),
    (
        "shut_by",
        &["customer", "utility", "plumber", "fire system firm", "nobody"],
    ),
    ("action", &["none needed", "repair", "replace"]),
    ("test_result", &["pass", "fail", "not tested"]),
    (
        "action_taken_on_notice",
        &[
            "drained",
            "wrapped",
            "heat kept",
            "left the drip",
            "nothing",
            "no notice received",
        ],
    ),
    ("confidence", &["seen", "told", "guessed"]),
    (
        "state",
        &[
            "damaged",
            "no damage",
            "reported damaged, not looked at",
            "not looked at",
            "looked at, cannot tell",
            "not exposed",
        ],
    ),
];

/// `inspection.csv`: whom to visit, in order. Holds site addresses.
///
/// # Errors
/// `BW-O02` when it cannot be written.
pub fn inspection_csv(visits: &[Visit], spell: &Spell<'_>, redact: bool) -> Result<Vec<u8>, Fault> {
    const NAME: &str = "inspection.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "order",
        "assembly_id",
        "queue",
        "day",
        "tester",
        "late",
        "device_type",
        "nominal_size_in",
        "service",
        "critical",
        "site_address",
        "p_damage",
        "likely_part",
        "test",
        "last_test",
        "test_due",
        "outreach",
        "care",
        "must_look",
        "reported",
        "look_teaches_percent",
    ])
    .map_err(failed)?;
    for (at, visit) in visits.iter().enumerate() {
        let Some(assembly) = spell.assemblies.get(visit.assembly) else {
            continue;
        };
        let outlook = spell.outlooks.get(visit.assembly);
        let likely = outlook.and_then(|outlook| {
            outlook
                .parts
                .iter()
                .filter(|part| part.p_damage.unwrap_or(0.0) > 0.0 || part.strained)
                .max_by(|a, b| {
                    let worth = |part: &crate::freeze::PartOutlook| part.p_damage.unwrap_or(part.ice_fraction);
                    worth(a).total_cmp(&worth(b))
                })
        });
        let date = |date: Option<chrono::NaiveDate>| date.map(|date| date.to_string()).unwrap_or_default();
        let critical = match (&assembly.critical, redact) {
            (Some(_), true) => "yes".to_owned(),
            (critical, _) => critical.as_deref().unwrap_or_default().to_owned(),
        };
        let address = match redact {
            true => super::contacts::WITHHELD.to_owned(),
            false => assembly.contact.site_address.as_deref().unwrap_or_default().to_owned(),
        };
        let cells = [
            (at + 1).to_string(),
            assembly.assembly_id.to_string(),
            visit.queue.words().to_owned(),
            date(visit.day),
            visit.tester.map(|tester| tester.to_string()).unwrap_or_default(),
            if visit.late { "yes" } else { "" }.to_owned(),
            assembly.device_type.word().to_owned(),
            assembly.nominal_size.word().to_owned(),
            assembly.service.word().to_owned(),
            critical,
            address,
            visit.p_damage.map(|p| format!("{p:.3}")).unwrap_or_default(),
            likely.map(|part| part.name.to_owned()).unwrap_or_default(),
            visit.test.words().to_owned(),
            date(assembly.last_test),
            date(visit.due),
            visit.outreach.clone(),
            care(assembly).to_owned(),
            if visit.must_look { "yes" } else { "" }.to_owned(),
            outlook.map(|outlook| reported(outlook)).unwrap_or_default(),
            visit
                .teaches
                .map(|share| format!("{:.0}", share * 100.0))
                .unwrap_or_default(),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}

/// What was reported last, and when.
fn reported(outlook: &Outlook) -> String {
    let last = outlook.reported.as_ref().and_then(|told| told.last());
    last.map(|last| format!("{} {}", last.seen.word(), stamp(last.at)))
        .unwrap_or_default()
}

/// What the visitor must not forget.
fn care(assembly: &Assembly) -> &'static str {
    match assembly.service {
        crate::inventory::Service::Fire => {
            "Never shut a fire line: if it is damaged, the fire official and the owner's fire system firm are told at once."
        }
        _ => {
            "Do not turn water on to a cracked assembly to see: look at it dry, with somebody at the valve. Repaired or replaced: licensed work and a passed test before use."
        }
    }
}

/// `inspection_record.csv`: one row a visit, to fill; what is known is filled in.
///
/// # Errors
/// `BW-O02` when it cannot be written.
///
/// `plan_id` says which plan the record belongs to: without it nothing can be judged later.
pub fn record_csv(
    visits: &[Visit],
    spell: &Spell<'_>,
    event: &str,
    plan_id: &str,
    words: &Words,
) -> Result<Vec<u8>, Fault> {
    const NAME: &str = "inspection_record.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let (temperature, wind) = if words.us {
        ("lowest_air_f", "local_wind_mph")
    } else {
        ("lowest_air_c", "local_wind_m_s")
    };
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "event",
        "assembly_id",
        "drawn_at_random",
        "inspected_by",
        "inspector_name",
        "date",
        "hour",
        "how_found",
        "exposure",
        "ice",
        "power_on",
        "wrap",
        "wrap_condition",
        "drained_before",
        "drip_device",
        temperature,
        "hours_air_below_freezing",
        "first_ice_early_utc",
        wind,
        "damage_part",
        "severity",
        "flow_estimate",
        "hours_of_flow",
        "shut_by",
        "critical",
        "fire_line",
        "action",
        "parts",
        "cost_usd",
        "permit",
        "tester",
        "gauge_serial",
        "readings",
        "test_result",
        "returned_to_service",
        "notice_received",
        "action_taken_on_notice",
        "photos",
        "confidence",
        "note",
        "state",
        "plan_id",
        "must_look",
        "inclusion_probability",
        "p_damage",
        "p_damage_protected",
    ])
    .map_err(failed)?;
    for visit in visits {
        let Some(assembly) = spell.assemblies.get(visit.assembly) else {
            continue;
        };
        let outlook = spell.outlooks.get(visit.assembly);
        let low = outlook.map(|outlook| {
            if words.us {
                units::f_from_c(outlook.min_air_c)
            } else {
                outlook.min_air_c
            }
        });
        let random = visit.queue == crate::outreach::after::Queue::Sample;
        let blank = String::new;
        let yes = |is: bool| if is { "yes" } else { "" }.to_owned();
        let cells = [
            event.to_owned(),
            assembly.assembly_id.to_string(),
            yes(random),
            blank(),
            blank(),
            blank(),
            blank(),
            yes_random(random),
            exposure(assembly).to_owned(),
            blank(),
            if assembly.heat_trace_w > 0.0 || assembly.placement == Placement::HeatedEnclosure {
                blank()
            } else {
                "not fitted".into()
            },
            if assembly.wrap_m2k_per_w > 0.0 {
                format!("R {:.1} listed", assembly.wrap_m2k_per_w / units::M2K_PER_W_PER_R_US)
            } else {
                blank()
            },
            blank(),
            blank(),
            if assembly.freeze_drip {
                blank()
            } else {
                "not fitted".into()
            },
            low.map(|low| format!("{low:.1}")).unwrap_or_default(),
            outlook
                .map(|outlook| format!("{:.0}", outlook.hours_air_below_0c))
                .unwrap_or_default(),
            outlook
                .and_then(|outlook| outlook.first_ice.p10)
                .map(stamp)
                .unwrap_or_default(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            yes(assembly.critical.is_some()),
            yes(assembly.service == crate::inventory::Service::Fire),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            visit.outreach.clone(),
            blank(),
            blank(),
            blank(),
            blank(),
            blank(),
            plan_id.to_owned(),
            yes(visit.must_look),
            share(visit.inclusion_probability),
            share(visit.p_damage),
            share(outlook.and_then(|outlook| outlook.p_damage_protected())),
        ];
        csv.write_record(cells.iter().map(|cell| defuse(cell).into_owned()))
            .map_err(failed)?;
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}

fn share(p: Option<f64>) -> String {
    p.map(|p| format!("{p:.6}")).unwrap_or_default()
}

fn yes_random(random: bool) -> String {
    if random { "random sample".into() } else { String::new() }
}

fn exposure(assembly: &Assembly) -> &'static str {
    match assembly.placement {
        Placement::Open if assembly.wrap_m2k_per_w > 0.0 => "wrapped",
        Placement::Open => "bare",
        Placement::Cover => "covered",
        Placement::InsulatedEnclosure => "enclosed",
        Placement::HeatedEnclosure => "heated enclosure",
        Placement::Vault => "vault",
        Placement::Indoors => "indoors",
    }
}

/// `inspection_words.csv`: the words that the form knows, column by column.
///
/// # Errors
/// `BW-O02` when it cannot be written.
pub fn words_csv() -> Result<Vec<u8>, Fault> {
    const NAME: &str = "inspection_words.csv";
    let failed = |error: csv::Error| unwritten(NAME, error);
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(["column", "word"]).map_err(failed)?;
    for (column, words) in RECORD_WORDS {
        for word in *words {
            csv.write_record([column, word]).map_err(failed)?;
        }
    }
    csv.into_inner().map_err(|error| unwritten(NAME, error.error()))
}
