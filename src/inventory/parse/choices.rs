//! Cells that hold one of a few words, and lists of them.

use super::{Unread, is_blank, words};
use crate::inventory::assembly::{
    Channel, CustomerClass, Language, Placement, RiserMaterial, Service, WindExposure, WinterUse,
};

fn word<T: Copy>(text: &str, table: &[(&[&str], T)], expected: &'static str) -> Result<Option<T>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let text = words(text);
    // "Irrig." is "irrig".
    let bare: Vec<&str> = text.split(' ').map(|word| word.trim_end_matches('.')).collect();
    let bare = bare.join(" ");
    table
        .iter()
        .find(|(spellings, _)| spellings.contains(&text.as_str()) || spellings.contains(&bare.as_str()))
        .map(|(_, value)| Some(*value))
        .ok_or(Unread::expected(expected))
}

/// Customer class.
///
/// # Errors
/// When it is none of the words.
pub fn customer_class(text: &str) -> Result<Option<CustomerClass>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "residential",
                    "res",
                    "r",
                    "household",
                    "single family",
                    "sf",
                    "multifamily",
                    "multi family",
                    "home",
                ],
                CustomerClass::Residential,
            ),
            (
                &[
                    "commercial",
                    "com",
                    "comm",
                    "c",
                    "business",
                    "industrial",
                    "ind",
                    "retail",
                ],
                CustomerClass::Commercial,
            ),
            (
                &[
                    "public",
                    "pub",
                    "p",
                    "institutional",
                    "inst",
                    "government",
                    "gov",
                    "municipal",
                    "school",
                ],
                CustomerClass::Public,
            ),
        ],
        "residential, commercial or public",
    )
}

/// Service.
///
/// # Errors
/// When it is none of the words.
pub fn service(text: &str) -> Result<Option<Service>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "domestic",
                    "dom",
                    "potable",
                    "house",
                    "household",
                    "drinking",
                    "drinking water",
                ],
                Service::Domestic,
            ),
            (
                &[
                    "irrigation",
                    "irr",
                    "irrig",
                    "lawn",
                    "landscape",
                    "sprinkler irrigation",
                    "lawn irrigation",
                    "lawn sprinkler",
                ],
                Service::Irrigation,
            ),
            (
                &[
                    "fire",
                    "fire line",
                    "fireline",
                    "fire service",
                    "fire sprinkler",
                    "fs",
                    "fire protection",
                ],
                Service::Fire,
            ),
            (
                &["process", "industrial process", "cooling", "boiler"],
                Service::Process,
            ),
        ],
        "domestic, irrigation, fire or process",
    )
}

/// Placement. An enclosure without a word about heat is taken as unheated, the cautious reading.
///
/// # Errors
/// When it is none of the words.
pub fn placement(text: &str) -> Result<Option<Placement>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "open",
                    "outside",
                    "outdoors",
                    "outdoor",
                    "exposed",
                    "bare",
                    "above ground",
                    "aboveground",
                    "yard",
                ],
                Placement::Open,
            ),
            (
                &[
                    "cover",
                    "covered",
                    "rock cover",
                    "fake rock",
                    "shell",
                    "uninsulated cover",
                    "cage with cover",
                ],
                Placement::Cover,
            ),
            (
                &[
                    "insulated enclosure",
                    "insulated",
                    "enclosure",
                    "hot box",
                    "hotbox",
                    "unheated enclosure",
                    "insulated box",
                    "enclosed",
                ],
                Placement::InsulatedEnclosure,
            ),
            (
                &["heated enclosure", "heated", "heated box", "heated insulated enclosure"],
                Placement::HeatedEnclosure,
            ),
            (
                &[
                    "vault",
                    "pit",
                    "below grade",
                    "underground",
                    "box below grade",
                    "meter box",
                    "below ground",
                ],
                Placement::Vault,
            ),
            (
                &[
                    "indoors",
                    "indoor",
                    "inside",
                    "interior",
                    "in building",
                    "mechanical room",
                    "basement",
                    "garage",
                ],
                Placement::Indoors,
            ),
        ],
        "open, cover, insulated_enclosure, heated_enclosure, vault or indoors",
    )
}

/// Riser material.
///
/// # Errors
/// When it is none of the words.
pub fn riser_material(text: &str) -> Result<Option<RiserMaterial>, Unread> {
    word(
        text,
        &[
            (
                &["copper", "cu", "copper l", "type l", "copper type l"],
                RiserMaterial::Copper,
            ),
            (
                &[
                    "steel",
                    "galvanized",
                    "galvanised",
                    "galv",
                    "galv.",
                    "galvanized steel",
                    "galv steel",
                    "black steel",
                    "stainless",
                    "stainless steel",
                ],
                RiserMaterial::Steel,
            ),
            (
                &["ductile iron", "di", "iron", "d.i.", "cast iron", "ductile"],
                RiserMaterial::DuctileIron,
            ),
            (
                &[
                    "pvc",
                    "cpvc",
                    "plastic",
                    "sch 40 pvc",
                    "sch 80 pvc",
                    "pvc sch 40",
                    "pvc sch 80",
                ],
                RiserMaterial::Pvc,
            ),
            (&["brass", "bronze", "red brass"], RiserMaterial::Brass),
        ],
        "copper, steel, ductile_iron, pvc or brass",
    )
}

/// Wind exposure.
///
/// # Errors
/// When it is none of the words.
pub fn wind_exposure(text: &str) -> Result<Option<WindExposure>, Unread> {
    word(
        text,
        &[
            (&["open", "exposed", "full", "windy"], WindExposure::Open),
            (
                &["partial", "partly", "some", "medium", "partly sheltered", "average"],
                WindExposure::Partial,
            ),
            (
                &["sheltered", "shelter", "protected", "low", "calm"],
                WindExposure::Sheltered,
            ),
        ],
        "open, partial or sheltered",
    )
}

/// What the line does in winter. "Off" alone is taken as full and idle: only a word of emptying means drained.
///
/// # Errors
/// When it is none of the words.
pub fn winter_use(text: &str) -> Result<Option<WinterUse>, Unread> {
    word(
        text,
        &[
            (
                &["in use", "inuse", "used", "active", "year round", "yes", "on"],
                WinterUse::InUse,
            ),
            (
                &["idle", "seasonal", "off", "no", "unused", "not used"],
                WinterUse::Idle,
            ),
            (&["vacant", "unoccupied", "vacant house"], WinterUse::Vacant),
            (
                &[
                    "drained",
                    "winterized",
                    "winterised",
                    "blown out",
                    "shut off and drained",
                    "off and drained",
                ],
                WinterUse::Drained,
            ),
        ],
        "in_use, idle, vacant or drained",
    )
}

/// Yes or no.
///
/// # Errors
/// When it is neither.
pub fn yes_no(text: &str) -> Result<Option<bool>, Unread> {
    word(
        text,
        &[
            (&["yes", "y", "true", "t", "1", "x", "si", "sí"], true),
            (&["no", "n", "false", "f", "0", "none"], false),
        ],
        "yes or no",
    )
}

/// Language.
///
/// # Errors
/// When it is none that messages are written in.
pub fn language(text: &str) -> Result<Option<Language>, Unread> {
    word(
        text,
        &[
            (
                &["en", "english", "eng", "e", "en us", "inglés", "ingles"],
                Language::English,
            ),
            (
                &[
                    "es", "spanish", "spa", "sp", "s", "español", "espanol", "es us", "es mx",
                ],
                Language::Spanish,
            ),
        ],
        "en or es",
    )
}

const CHANNELS_EXPECTED: &str = "a list of call;text;email;letter, or none";

/// Words of somebody who wants no contact at all. `DNC` may mean no contact or no calls; it is taken for the wider refusal.
const REFUSALS: &[&str] = &[
    "none",
    "no",
    "never",
    "nobody",
    "nothing",
    "opt out",
    "opted out",
    "optout",
    "opt out all",
    "do not contact",
    "don t contact",
    "no contact",
    "dnc",
    "do not disturb",
    "stop",
    "stop all",
    "unsubscribe",
    "unsubscribed",
    "refused",
    "refuses",
    "refusal",
    "declined",
    "removed",
    "ninguno",
    "ninguna",
    "nada",
    "nunca",
    "no contactar",
    "no molestar",
    "baja",
    "rehusado",
    "rechazado",
];

/// The channel that a word names, in English or Spanish.
fn channel(name: &str) -> Option<Channel> {
    Some(match name {
        "call" | "calls" | "phone" | "phones" | "voice" | "telephone" | "phone call" | "phone calls" | "calling"
        | "llamada" | "llamadas" | "llamar" | "teléfono" | "telefono" => Channel::Call,
        "text" | "texts" | "sms" | "text message" | "text messages" | "texting" | "texto" | "textos" | "mensaje"
        | "mensajes" | "mensaje de texto" => Channel::Text,
        "email" | "e mail" | "emails" | "e mails" | "correo" | "correo electrónico" | "correo electronico" => {
            Channel::Email
        }
        "letter" | "letters" | "post" | "mail" | "postal mail" | "door hanger" | "carta" | "cartas"
        | "correo postal" => Channel::Letter,
        _ => return None,
    })
}

/// Channels that the person allows: `call;text`, `letter only`, `call (no text)`, `no texts`, or an empty list for a refusal of all
/// contact (`none`, `DNC`, `STOP`, `ninguno`).
///
/// # Errors
/// When a part of it is neither a channel nor a refusal. The caller must not take that for leave to contact.
pub fn channels(text: &str) -> Result<Option<Vec<Channel>>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let mut allowed = Vec::new();
    let mut excluded = Vec::new();
    for part in text.split([';', ',', '|', '/', '+', '&', '(', ')', '\n']) {
        let part = words(part);
        if part.is_empty() {
            continue;
        }
        if REFUSALS.contains(&part.as_str()) {
            return Ok(Some(Vec::new()));
        }
        let strip = |ends: &[&str]| ends.iter().find_map(|end| part.strip_prefix(end));
        let (list, name) = match strip(&["no ", "do not ", "don t ", "not by ", "sin ", "never "]) {
            Some(name) => (&mut excluded, name),
            None => {
                let name = strip(&["only ", "by ", "solo ", "sólo ", "por "]).unwrap_or(&part);
                (
                    &mut allowed,
                    name.strip_suffix(" only")
                        .or_else(|| name.strip_suffix(" solamente"))
                        .unwrap_or(name),
                )
            }
        };
        list.push(channel(name).ok_or_else(|| Unread::expected(CHANNELS_EXPECTED))?);
    }
    if allowed.is_empty() && !excluded.is_empty() {
        allowed = Channel::ALL.to_vec();
    }
    allowed.retain(|channel| !excluded.contains(channel));
    allowed.sort_unstable();
    allowed.dedup();
    Ok(Some(allowed))
}
