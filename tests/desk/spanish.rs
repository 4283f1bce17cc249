//! What a Spanish-speaking person reads is Spanish: every page, every answer about a drip, every assessment and every fault of a
//! form. Text that comes from outside in English stands in an element marked `lang="en"`.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, link, list, programme};
use brimwater::drip::{self, Account, DeviceFacts, Hazard, Sign, ToldRate, Water, When, Where};
use brimwater::expansion::{ClosingDevice, Told, assess, assess_without_sensitivity};
use brimwater::inventory::{DeviceType, Language, Service};
use brimwater::units::UnitSystem;
use std::collections::BTreeSet;

/// English words that no Spanish sentence holds: function words, and the words of this trade that differ.
const ENGLISH: &[&str] = &[
    "the",
    "and",
    "with",
    "of",
    "is",
    "are",
    "was",
    "not",
    "to",
    "from",
    "it",
    "its",
    "this",
    "that",
    "for",
    "at",
    "by",
    "when",
    "which",
    "where",
    "if",
    "be",
    "or",
    "in",
    "on",
    "an",
    "than",
    "least",
    "most",
    "under",
    "over",
    "below",
    "above",
    "would",
    "will",
    "may",
    "must",
    "should",
    "cannot",
    "nothing",
    "there",
    "here",
    "what",
    "who",
    "how",
    "your",
    "you",
    "water",
    "tank",
    "pressure",
    "relief",
    "heater",
    "valve",
    "freezing",
    "ice",
    "damage",
    "chance",
    "unlikely",
    "hours",
    "call",
    "message",
    "expected",
    "read",
    "volume",
    "supply",
    "main",
    "wrap",
    "trickle",
    "bonnet",
    "riser",
    "body",
    "night",
    "morning",
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
];
/// Words of a text that are English. "in" after a number is the inch, and the lists of units that fields take are the same in
/// both languages.
fn english_in(text: &str) -> Vec<String> {
    let mut lower = text.to_lowercase().replace("&#x2f;", "/");
    for units in ["imp gal", "ft, in, m", "in, mm"] {
        lower = lower.replace(units, " ");
    }
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| !word.is_empty())
        .collect();
    let numbered = |at: usize| at > 0 && words[at - 1].ends_with(|c: char| c.is_ascii_digit());
    words
        .iter()
        .enumerate()
        .filter(|(at, word)| ENGLISH.contains(word) && !(**word == "in" && numbered(*at)))
        .map(|(_, word)| (*word).to_string())
        .collect()
}

/// The texts of a page that a Spanish-speaking person reads: outside of elements of another language, with the labels that
/// only a screen reader tells.
fn spanish_texts(html: &str) -> Vec<String> {
    const VOID: &[&str] = &[
        "meta", "link", "input", "br", "rect", "path", "circle", "line", "polyline", "polygon",
    ];
    let mut open: Vec<(String, bool)> = Vec::new();
    let mut texts = Vec::new();
    let mut rest = html;
    while let Some(at) = rest.find('<') {
        let (text, after) = rest.split_at(at);
        let ours = open.last().is_none_or(|(_, ours)| *ours);
        let kept = !open.iter().any(|(name, _)| name == "style" || name == "option");
        if ours && kept && !text.trim().is_empty() {
            texts.push(text.trim().to_string());
        }
        let Some(end) = after.find('>') else { break };
        let tag = &after[1..end];
        rest = &after[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            while let Some((open_name, _)) = open.pop() {
                if open_name == name.trim() {
                    break;
                }
            }
            continue;
        }
        if tag.starts_with('!') {
            continue;
        }
        let name = tag.split([' ', '\n', '/']).next().unwrap_or("").to_string();
        let attribute = |wanted: &str| {
            tag.split_once(&format!(" {wanted}=\""))
                .and_then(|(_, value)| value.split('"').next())
        };
        let ours = match attribute("lang") {
            Some(lang) => lang == "es",
            None => ours,
        };
        for label in ["aria-label", "placeholder", "title", "alt"] {
            if let Some(text) = attribute(label).filter(|_| ours) {
                texts.push(text.to_string());
            }
        }
        if !VOID.contains(&name.as_str()) && !tag.ends_with('/') {
            open.push((name, ours));
        }
    }
    texts
}

/// English texts of a page by their words.
fn slips(html: &str) -> Vec<String> {
    spanish_texts(html)
        .into_iter()
        .filter(|text| !english_in(text).is_empty())
        .collect()
}

/// `data` are names and cells of the list: they are what they are in either language.
pub fn must_be_spanish(page: &str, html: &str, data: &[String]) {
    let texts: Vec<String> = spanish_texts(html)
        .into_iter()
        .map(|text| data.iter().fold(text, |text, cell| text.replace(cell.as_str(), "")))
        .collect();
    assert!(html.contains("<html lang=\"es\""), "{page} is no Spanish page");
    let slips: Vec<&str> = texts
        .iter()
        .map(String::as_str)
        .filter(|text| !english_in(text).is_empty())
        .collect();
    assert!(slips.is_empty(), "{page}:\n{}", slips.join("\n"));
}

/// The questions' answers that together draw every finding.
const CALLS: &[&[(&str, &str)]] = &[
    &[("hazard", "steam"), ("where", "heater-relief")],
    &[("fire", "yes"), ("where", "seam")],
    &[
        ("where", "freeze-drip"),
        ("when", "cold-nights"),
        ("rate", "1 cup in 10 min"),
        ("air", "24 F"),
    ],
    &[
        ("where", "freeze-drip"),
        ("when", "always"),
        ("rate", "steady stream"),
        ("air", "70 F"),
    ],
    &[
        ("where", "heater-relief"),
        ("when", "heating"),
        ("water", "warm"),
        ("rate", "20 drops/min"),
    ],
    &[
        ("where", "expansion-relief"),
        ("when", "always"),
        ("rate", "1 cup in 1 min"),
    ],
    &[
        ("where", "relief-port"),
        ("when", "always"),
        ("fire", "no"),
        ("rate", "steady stream"),
    ],
    &[("where", "relief-port"), ("also", "covered")],
    &[
        ("where", "seam"),
        ("when", "after-thaw"),
        ("also", "frost"),
        ("rate", "gushing"),
        ("critical", "yes"),
    ],
    &[
        ("where", "canopy"),
        ("when", "cold-nights"),
        ("also", "ice"),
        ("rate", "none"),
        ("air", "15 F"),
    ],
    &[
        ("where", "ground"),
        ("when", "always"),
        ("rate_other", "1 taza en 6 min"),
    ],
    &[("where", "unsure"), ("when", "unsure")],
    &[("also", "odd-water")],
    &[("rate_other", "mucho"), ("air", "caliente")],
    &[("rate_other", "-2 L/h"), ("air", "900 F")],
];

/// Forms of the expansion page: good, odd, impossible.
const SYSTEMS: &[&[(&str, &str)]] = &[
    &[
        ("heater", "50 gal"),
        ("cold", "45 F"),
        ("hot", "140 F"),
        ("static", "60 psi"),
        ("closed_by", "backflow-assembly"),
        ("pipe", "copper-L 3/4 in 60 ft"),
        ("heat_input", "40000 Btu/h"),
        ("daily_draw", "64 gal"),
        ("elevation", "600 ft"),
    ],
    &[
        ("heater", "50 gal"),
        ("cold", "45 F"),
        ("hot", "140 F"),
        ("static", "78 psi"),
        ("street", "95 psi"),
        ("closed_by", "prv-with-bypass"),
        ("relief_at", "79 psi"),
    ],
    &[
        ("heater", "50 gal"),
        ("cold", "45 F"),
        ("hot", "140 F"),
        ("static", "95 psi"),
        ("closed_by", "prv"),
        ("street", "170 psi"),
    ],
    &[
        ("heater", "40 gal"),
        ("cold", "50 F"),
        ("hot", "120 F"),
        ("static", "60 psi"),
        ("existing_tank", "2 gal"),
        ("precharge", "40 psi"),
        ("closed_by", "check-valve"),
    ],
    &[
        ("heater", "40 gal"),
        ("cold", "50 F"),
        ("hot", "120 F"),
        ("static", "60 psi"),
        ("existing_tank", "5 gal"),
        ("precharge", "60 psi"),
        ("closed_by", "meter-check"),
    ],
    &[
        ("heater", "40 gal"),
        ("cold", "50 F"),
        ("hot", "120 F"),
        ("static", "60 psi"),
        ("existing_tank", "5 gal"),
        ("precharge", "90 psi"),
        ("max_acceptance", "1 gal"),
    ],
    &[
        ("heater", "190"),
        ("cold", "95 F"),
        ("hot", "190 F"),
        ("static", "60 psi"),
        ("street", "40 psi"),
    ],
    &[
        ("heater", "1 gal"),
        ("cold", "60 F"),
        ("hot", "212 F"),
        ("static", "60 psi"),
        ("limit", "160 psi"),
    ],
    &[
        ("heater", "50 gal"),
        ("cold", "140 F"),
        ("hot", "45 F"),
        ("static", "4"),
    ],
    &[
        ("heater", "fifty"),
        ("cold", "4,5 C"),
        ("hot", "1.2.3 F"),
        ("static", "60 psia"),
        ("pipe", "lead 1 in 3 ft"),
        ("precharge", "40 psi"),
    ],
    &[
        ("heater", "-4 gal"),
        ("cold", "-500 F"),
        ("hot", "140 furlongs"),
        ("static", "600"),
        ("heat_input", "4 kWh"),
        ("pipe", "copper-L 9 in 3 ft"),
    ],
    &[
        ("static", "1/0 psi"),
        ("hot", "120 F"),
        ("cold", ""),
        ("heater", ""),
        ("existing_tank", "2 gal"),
        ("pipe", "copper-L"),
    ],
];

#[test]
fn every_page_in_spanish_is_spanish() {
    let folder = programme(120);
    let desk = DeskRun::start(folder.path(), &["--requests-per-second", "10000"]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    client.more = "Accept-Language: es-MX,es;q=0.9\r\n".into();
    let mut data = vec!["Pellow Reach Water".to_string()];
    for row in list(&desk.assemblies) {
        for field in ["contact_name", "phone", "site_address", "critical"] {
            data.push(row[field].trim().to_string());
        }
    }
    data.retain(|cell| cell.len() > 3);
    // The longest first, so that no cell is cut by a shorter one.
    data.sort_by_key(|cell| std::cmp::Reverse(cell.len()));
    data.dedup();
    let mut walked = 0;
    let mut see = |page: &str, html: &str| {
        must_be_spanish(page, html, &data);
        walked += 1;
    };
    for path in [
        "/phone",
        "/phone/drip",
        "/expansion",
        "/plan",
        "/plan?page=2",
        "/plan/map",
        "/plan/calls",
        "/plan/board",
        "/plan/list",
        "/nowhere",
        "/phone/a/00",
    ] {
        see(path, &client.get(path).body);
    }
    for asked in ["", "a", "zzzz qqqq"] {
        see(
            &format!("find {asked:?}"),
            &client.post("/phone/find", &[("q", asked)]).body,
        );
    }
    // Kinds of assemblies that read differently.
    let mut kinds = BTreeSet::new();
    for row in list(&desk.assemblies) {
        let kind = ["device_type", "placement", "service", "freeze_drip", "winter_use"].map(|field| row[field].clone());
        if !row["assembly_id"].starts_with("A-") || !kinds.insert(kind) {
            continue;
        }
        let found = client.post("/phone/find", &[("q", &row["assembly_id"])]).body;
        let Some(path) = link(&found, "/phone/a/") else {
            continue;
        };
        see(&row["assembly_id"], &client.get(&path).body);
        see(
            &row["assembly_id"],
            &client.get(&path.replace("/phone/", "/plan/")).body,
        );
        let answered = client.post(&path, &[("where", "seam"), ("when", "cold-nights")]);
        see(&row["assembly_id"], &answered.body);
        let refused = client.post(&format!("{path}/note"), &[("text", "nota")]);
        // Once named, a rep is known for the session, and the note is taken.
        if refused.status != 303 {
            see("a note without a name", &refused.body);
        }
        let taken = client.post(
            &format!("{path}/note"),
            &[
                ("by", "Rosa"),
                ("outcome", "reached"),
                ("text", "hablamos"),
                ("follow", "4"),
            ],
        );
        assert_eq!(taken.status, 303);
        see("a card with a note", &client.get(&path).body);
    }
    assert!(kinds.len() > 10, "only {} kinds of assemblies", kinds.len());
    see("follow-ups", &client.get("/phone").body);
    for units in ["us", "si"] {
        client.post("/settings", &[("language", "es"), ("units", units)]);
        for call in CALLS {
            see(&format!("{call:?}"), &client.post("/phone/drip", call).body);
        }
        for system in SYSTEMS {
            see(&format!("{system:?}"), &client.post("/expansion", system).body);
            see(
                &format!("record {system:?}"),
                &client.post("/expansion/record", system).body,
            );
        }
        see("ranking", &client.get("/plan").body);
    }
    assert!(walked > 100, "{walked} pages");
}

/// The check can fail: on the same pages in English it finds English everywhere.
#[test]
fn the_search_for_english_finds_it_on_english_pages_and_leaves_marked_text_alone() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    for path in ["/phone", "/phone/drip", "/expansion", "/plan", "/nowhere"] {
        // As if the page claimed to be Spanish.
        let page = client.get(path).body.replace("<html lang=\"en\"", "<html lang=\"es\"");
        assert!(!slips(&page).is_empty(), "{path}");
    }
    let marked = "<html lang=\"es\"><p>Hola <span lang=\"en\">the file is gone</span> y adiós</p></html>";
    assert!(slips(marked).is_empty());
    let unmarked = "<html lang=\"es\"><p>Hola <span>the file is gone</span></p></html>";
    assert_eq!(slips(unmarked), ["the file is gone"]);
    assert_eq!(
        slips("<html lang=\"es\"><svg aria-label=\"the ice\"></svg>"),
        ["the ice"]
    );
}

/// Every line that the drip engine can say has a Spanish wording without English in it.
#[test]
fn every_line_about_a_drip_has_its_spanish() {
    let config = drip::config::DripConfig::default();
    let rates = [None, Some("none"), Some("20 gotas/min"), Some("gushing")];
    let mut said = BTreeSet::new();
    for place in Where::ALL {
        for when in When::ALL {
            for water in [None, Some(Water::Cold), Some(Water::Hot), Some(Water::Scalding)] {
                for (at, rate) in rates.iter().enumerate() {
                    let account = Account {
                        place: *place,
                        when: *when,
                        water,
                        rate: rate.map(|words| ToldRate::parse(words, UnitSystem::Us).unwrap()),
                        critical: at == 1,
                        fire: [None, Some(false), None, Some(true)][at],
                        air_c: [None, Some(-8.0), Some(20.0), Some(900.0)][at],
                        hazards: if at == 2 && *when == When::Always {
                            Hazard::ALL.iter().copied().collect()
                        } else {
                            BTreeSet::new()
                        },
                        signs: if at > 1 {
                            Sign::ALL.iter().take(at).copied().collect()
                        } else {
                            BTreeSet::new()
                        },
                        device: DeviceFacts {
                            device_type: [None, Some(DeviceType::Rp), Some(DeviceType::Pvb), Some(DeviceType::Dc)][at],
                            service: [None, Some(Service::Domestic), Some(Service::Irrigation), None][at],
                            ..DeviceFacts::default()
                        },
                        ..Account::default()
                    };
                    let answer = drip::answer(&account, &config, UnitSystem::Us);
                    said.insert(brimwater::output::drip::text(
                        &answer,
                        Language::Spanish,
                        UnitSystem::Us,
                    ));
                }
            }
        }
    }
    assert!(said.len() > 500, "{} answers", said.len());
    for text in said {
        assert!(english_in(&text).is_empty(), "{:?} in\n{text}", english_in(&text));
    }
}

/// Every finding, reason, caution and fault of an assessment has its Spanish, and says the same numbers as the English.
#[test]
fn every_assessment_has_its_spanish_with_the_same_numbers() {
    // Numbers as they stand in a text, in order of size, so that word order may differ.
    fn numbers(text: &str) -> Vec<String> {
        let mut found: Vec<String> = text
            .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
            .map(|number| number.trim_matches(['.', ',']).to_string())
            .filter(|number| !number.is_empty())
            .collect();
        found.sort();
        found
    }
    let text = |text: &str| Some(text.to_string());
    let mut seen = BTreeSet::new();
    let mut devices: Vec<Vec<String>> = ClosingDevice::NAMES
        .iter()
        .map(|(name, _)| vec![(*name).to_string()])
        .collect();
    devices.push(Vec::new());
    devices.push(vec!["nothing".into(), "prv".into()]);
    devices.push(vec!["teapot".into()]);
    for closed_by in devices {
        for static_pressure in ["60 psi", "76 psi", "85 psi", "5 psi", "400 psi", "-3 psi"] {
            for street in [None, text("70 psi"), text("170 psi"), text("900 psi")] {
                for (existing_tank, precharge, water) in [
                    (None, None, false),
                    (text("2 gal"), text("40 psi"), false),
                    (text("8 gal"), text("60 psi"), false),
                    (text("8 gal"), text("200 psi"), false),
                    (text("8 gal"), text("0 psi"), false),
                    (text("8 gal"), None, true),
                    (text("8 gal"), None, false),
                    (text("0 gal"), text("-5 psi"), false),
                ] {
                    for more in 0..6 {
                        let heater = ["50 gal", "50 gal", "150 gal", "50 gal", "1 gal", "50 gal"][more];
                        let pick = |values: [Option<&str>; 6]| values[more].map(str::to_string);
                        let told = |language| Told {
                            heaters: vec![heater.into()],
                            cold: pick([
                                Some("45 F"),
                                Some("45 F"),
                                Some("95 F"),
                                Some("33 F"),
                                Some("34 F"),
                                Some("300 F"),
                            ]),
                            hot: pick([
                                Some("140 F"),
                                Some("140 F"),
                                Some("190 F"),
                                Some("38 F"),
                                Some("215 F"),
                                Some("20 F"),
                            ]),
                            static_pressure: text(static_pressure),
                            limit: pick([
                                None,
                                Some("100 psi"),
                                Some("160 psi"),
                                None,
                                Some("-1 psi"),
                                Some("500 psi"),
                            ]),
                            street: street.clone(),
                            closed_by: closed_by.clone(),
                            existing_tank: existing_tank.clone().into_iter().collect(),
                            precharge: precharge.clone().into_iter().collect(),
                            water_at_air_valve: water,
                            max_acceptance: existing_tank
                                .as_ref()
                                .and(pick([None, Some("1 gal"), None, None, Some("99 gal"), None]))
                                .into_iter()
                                .collect(),
                            relief_at: pick([
                                None,
                                Some("90 psi"),
                                Some("140 psi"),
                                Some("72 psi"),
                                Some("79 psi"),
                                Some("-1 psi"),
                            ]),
                            room_for_tank: pick([None, Some("1 gal"), None, None, None, Some("-1 gal")]),
                            efficiency: pick([None, Some("80 %"), None, None, Some("x"), Some("80")]),
                            heat_input: pick([
                                None,
                                Some("40000 Btu/h"),
                                None,
                                Some("4.5 kW"),
                                Some("4 kWh"),
                                Some("0 W"),
                            ]),
                            daily_draw: pick([None, Some("64 gal"), None, None, Some("-1 gal"), None]),
                            material_credit: more == 1,
                            tank_height: pick([None, Some("30 ft"), Some("400 ft"), None, None, Some("9000 ft")]),
                            stacking: pick([None, None, None, None, Some("-4 F"), None]),
                            pipes: vec![
                                [
                                    "PEX 1/2 in 40 ft",
                                    "copper-L 3/4 in 60 ft",
                                    "PEX 1/2 in 40 ft",
                                    "",
                                    "lead 1 in 1 ft",
                                    "copper-L 9 in 3 ft",
                                ][more]
                                    .into(),
                            ],
                            elevation: pick([None, Some("600 ft"), None, None, None, Some("90000 ft")]),
                            language,
                            ..Told::default()
                        };
                        let says = |language| -> Vec<String> {
                            let done = told(language).read(UnitSystem::Us).and_then(|system| {
                                // The search for overturning readings takes most of the time, and its sentence is always the same.
                                let answer = if more == 0 && street.is_none() {
                                    assess(&system)?
                                } else {
                                    assess_without_sensitivity(&system)?
                                };
                                Ok((answer, system))
                            });
                            match done {
                                Ok((answer, system)) => {
                                    let mut texts = answer.recommendation.why.clone();
                                    texts.extend(answer.closed.because.clone());
                                    texts.extend(answer.closed.settle_by.clone());
                                    texts.extend(answer.cautions.clone());
                                    texts.extend(answer.relief.findings.clone());
                                    texts.extend(answer.sensitivity.iter().flatten().map(|turn| turn.sentence.clone()));
                                    texts.extend(answer.existing_tank.iter().flat_map(|tank| tank.findings.clone()));
                                    texts.extend(answer.tank.why_not.clone());
                                    texts.extend(answer.relief.why_not.clone());
                                    texts.push(answer.unprotected.remark.clone());
                                    texts.push(
                                        answer
                                            .recommendation
                                            .measure
                                            .words_in(language, system.existing.len())
                                            .into(),
                                    );
                                    texts.extend(answer.warnings.iter().flat_map(|fault| {
                                        [fault.what.clone(), fault.expected.clone(), fault.remedy.clone()]
                                    }));
                                    use brimwater::output::expansion_text as text;
                                    texts.push(text::water_sentence(&system, &answer));
                                    texts.push(text::unprotected_sentence(&system, &answer));
                                    texts.push(text::tank_sentence(&system, &answer));
                                    texts.push(text::relief_sentence(&system, &answer));
                                    texts
                                }
                                Err(faults) => faults
                                    .0
                                    .iter()
                                    .flat_map(|fault| {
                                        [fault.what.clone(), fault.expected.clone(), fault.remedy.clone()]
                                    })
                                    .collect(),
                            }
                        };
                        let (english, spanish) = (says(Language::English), says(Language::Spanish));
                        assert_eq!(english.len(), spanish.len());
                        for (english, spanish) in english.iter().zip(&spanish) {
                            assert_eq!(numbers(english), numbers(spanish), "{english}\n{spanish}");
                            seen.insert(spanish.clone());
                        }
                    }
                }
            }
        }
    }
    assert!(seen.len() > 300, "{} sentences", seen.len());
    // Names that the fields take stay as they are typed.
    let names: Vec<&str> = ClosingDevice::NAMES.iter().map(|(name, _)| *name).collect();
    for sentence in seen {
        let sentence = sentence.replace(&names.join(", "), "");
        assert!(
            english_in(&sentence).is_empty(),
            "{:?} in {sentence}",
            english_in(&sentence)
        );
    }
}
