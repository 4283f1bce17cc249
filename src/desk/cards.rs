//! An assembly as the pages show it.

use super::data::Data;
use super::render::pictured;
use super::sessions::Session;
use super::words::{capital, known, word};
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Language, Placement, Service, WinterUse};
use crate::output::charts_plan::{self, Case};
use crate::ranking::Words;
use crate::ranking::reason::reported;
use crate::ranking::words::{advice_in_full, judged_band, percent_in};
use crate::text::Text;
use crate::units::UnitSystem;
use chrono::{DateTime, Utc};
use serde::Serialize;

/// What a card says of an assembly. Everything is text ready to show.
#[derive(Debug, Clone, Serialize)]
pub struct Card {
    /// Identifier.
    pub id: String,
    /// Kind, size, service.
    pub what: String,
    /// Address of the site.
    pub address: String,
    /// Who to speak to.
    pub name: String,
    /// Telephone as listed.
    pub phone: String,
    /// Language of the person, when on file.
    pub language: String,
    /// Account.
    pub account: String,
    /// Placement and wrap.
    pub placement: String,
    /// Last test.
    pub last_test: String,
    /// Whether a freeze-drip valve is on file.
    pub freeze_drip: String,
    /// Blanks that defaults filled.
    pub assumed: String,
    /// Fire line.
    pub fire: bool,
    /// Critical, in the utility's words.
    pub critical: String,
    /// The days ahead.
    pub outlook: Option<Ahead>,
}

/// The days ahead of one assembly.
#[derive(Debug, Clone, Serialize)]
pub struct Ahead {
    /// One sentence.
    pub sentence: String,
    /// Whether and when the freeze-drip runs.
    pub drip: String,
    /// What would protect it.
    pub advice: Vec<String>,
    /// Chart of air and water.
    pub chart: String,
}

/// How a session reads numbers and times.
pub fn words(session: &Session, data: &Data) -> Words {
    Words {
        zone: data.zone(),
        us: session.system == UnitSystem::Us,
        language: session.language,
    }
}

/// A service as people call it.
pub fn service(service: Service, language: Language) -> &'static str {
    match service {
        Service::Domestic => language.pick("domestic", "doméstico"),
        Service::Irrigation => language.pick("irrigation", "riego"),
        Service::Fire => language.pick("fire", "incendios"),
        Service::Process => language.pick("process", "proceso"),
        Service::Unknown => language.pick("service not on file", "servicio no está en archivo"),
    }
}

/// Kind, size and service in a few words.
pub fn what(assembly: &Assembly, language: Language) -> String {
    format!(
        "{} {} {}, {}",
        assembly.nominal_size.word(),
        language.pick("in", "pulg"),
        assembly.device_type.word(),
        service(assembly.service, language)
    )
}

fn placement(assembly: &Assembly, language: Language) -> String {
    let (english, spanish) = match assembly.placement {
        Placement::Open => ("bare, above ground", "descubierto, sobre el suelo"),
        Placement::Cover => ("under an uninsulated cover", "bajo cubierta sin aislar"),
        Placement::InsulatedEnclosure => ("in an insulated enclosure", "en gabinete aislado"),
        Placement::HeatedEnclosure => ("in a heated enclosure", "en gabinete con calefacción"),
        Placement::Vault => ("in a vault", "en registro bajo tierra"),
        Placement::Indoors => ("indoors", "bajo techo"),
    };
    language.pick(english, spanish).into()
}

/// The card; `outlook` adds the days ahead, with the chart when `chart` is asked for.
pub fn card(
    assembly: &Assembly,
    outlook: Option<&Outlook>,
    data: &Data,
    session: &Session,
    now: DateTime<Utc>,
    chart: bool,
) -> Card {
    let language = session.language;
    let say = |key: &str| word(key, language).to_string();
    let contact = &assembly.contact;
    let text = |value: &Option<Text>| value.as_deref().unwrap_or_default().to_owned();
    let assumed: Vec<&str> = assembly
        .assumed
        .iter()
        // A column without a word of its own is told by its name.
        .map(|blank| known(&format!("field_{}", blank.field), language).unwrap_or(blank.field))
        .collect();
    Card {
        id: assembly.assembly_id.to_string(),
        what: what(assembly, language),
        address: text(&contact.site_address),
        name: text(&contact.contact_name),
        phone: text(&contact.phone),
        language: match contact.language {
            Some(Language::English) => "English".into(),
            Some(Language::Spanish) => "Español".into(),
            None => String::new(),
        },
        account: text(&contact.account_id),
        placement: placement(assembly, language),
        last_test: assembly
            .last_test
            .map_or_else(|| say("unknown"), |date| date.format("%Y-%m-%d").to_string()),
        freeze_drip: if assembly.freeze_drip {
            say("yes")
        } else {
            say("unknown")
        },
        assumed: assumed.join(", "),
        fire: crate::drip::Account {
            device: crate::drip::DeviceFacts::of(assembly),
            ..crate::drip::Account::default()
        }
        .is_fire_line(),
        critical: text(&assembly.critical),
        outlook: outlook.map(|outlook| ahead(assembly, outlook, data, session, now, chart)),
    }
}

fn ahead(
    assembly: &Assembly,
    outlook: &Outlook,
    data: &Data,
    session: &Session,
    now: DateTime<Utc>,
    chart: bool,
) -> Ahead {
    let words = words(session, data);
    let lowest = words.temperature(outlook.min_air_c);
    let in_words = |p| percent_in(p, session.language);
    let mut sentence = match outlook.p_damage.map(in_words) {
        Some(chance) => {
            let band = judged_band(outlook, session.language);
            let band = band.map_or(String::new(), |band| format!(" ({band})"));
            words.pick(
                format!("Lowest air {lowest}; chance of damage {chance}{band}."),
                format!("Aire más frío {lowest}; probabilidad de daño {chance}{band}."),
            )
        }
        None => words.pick(format!("Lowest air {lowest}."), format!("Aire más frío {lowest}.")),
    };
    if let Some(told) = reported(outlook, &words) {
        sentence = format!("{}. {sentence}", capital(&told));
    }
    if let Some(first) = outlook.first_ice.p10 {
        let moment = words.moment(first);
        sentence.push_str(&words.pick(
            format!(" Ice may form from {moment}."),
            format!(" Puede formarse hielo desde {moment}."),
        ));
    }
    if assembly.winter_use == WinterUse::Drained && outlook.p_damage.is_some_and(|p| p > 0.0) {
        sentence.push_str(words.pick(
            " Listed as drained: the chance is that of water in it after all.",
            " Figura como vaciada: la probabilidad es por si aún tuviera agua.",
        ));
    }
    let drip = if assembly.freeze_drip {
        drip_words(outlook, &words, now)
    } else {
        String::new()
    };
    let advice = outlook
        .advice
        .iter()
        .map(|advice| advice_in_full(advice, &words))
        .collect();
    let chart = if chart {
        let case = Case {
            label: assembly.assembly_id.to_string(),
            kind: what(assembly, session.language),
            outlook,
            alike: 0,
        };
        pictured(|form| charts_plan::spell_in(std::slice::from_ref(&case), &words, form)).unwrap_or_default()
    } else {
        String::new()
    };
    Ahead {
        sentence,
        drip,
        advice,
        chart,
    }
}

/// Whether the freeze-drip is expected to run from now on, when first, and how much.
fn drip_words(outlook: &Outlook, words: &Words, now: DateTime<Utc>) -> String {
    let Some(trace) = &outlook.trace else {
        return String::new();
    };
    let hours: Vec<(DateTime<Utc>, [f64; 3])> = trace
        .drip_l
        .iter()
        .enumerate()
        .filter_map(|(hour, litres)| {
            let time = outlook.window_start + chrono::TimeDelta::hours(i64::try_from(hour).ok()?);
            (time + chrono::TimeDelta::hours(1) > now && litres[2] > 0.01).then_some((time, *litres))
        })
        .collect();
    let Some((first, _)) = hours.first() else {
        return words
            .pick(
                "Its freeze-drip valve is not expected to run.",
                "No se espera que gotee su válvula contra heladas.",
            )
            .into();
    };
    let low = hours
        .iter()
        .map(|(_, litres)| litres[0])
        .fold(f64::INFINITY, f64::min)
        .max(0.0);
    let high = hours.iter().map(|(_, litres)| litres[2]).fold(0.0, f64::max);
    let system = if words.us { UnitSystem::Us } else { UnitSystem::Si };
    let flow = crate::drip::range_words(low, high, system);
    let moment = words.moment(*first);
    words.pick(
        format!("Its freeze-drip valve is expected to run, first {moment}, at {flow}."),
        format!("Se espera que gotee su válvula contra heladas, primero {moment}, a {flow}."),
    )
}
