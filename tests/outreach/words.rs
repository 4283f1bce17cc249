//! Every text that goes to people, over random programmes: what it says is what the reason beside it says, and it is well written.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::campaign::{Programme, Row, household, local, rows};
use brimwater::config::Config;
use brimwater::freeze::{Advice, Measure, Outlook, Report, Reported, Seen};
use brimwater::inventory::{Assembly, Channel, Language, Placement, Service, WinterUse};
use brimwater::outreach::config::RunWater;
use brimwater::plan::permitted;
use brimwater::ranking::words::advice_in_full;
use brimwater::ranking::{Ranked, Tier, Words, reason};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Listed names and how a letter greets them. Common practice, no source: lists keep family names first, firms keep their comma.
const NAMES: [(&str, &str); 7] = [
    ("Peña, Núria", "Núria Peña"),
    ("Ana Example", "Ana Example"),
    ("Example Plumbing, Inc.", "Example Plumbing, Inc."),
    ("", ""),
    ("O'Neil, Sean", "Sean O'Neil"),
    ("Quayside Management", "Quayside Management"),
    ("Vell, Ona", "Ona Vell"),
];

/// One line of a list at random.
#[derive(Debug, Clone)]
struct Case {
    service: usize,
    winter_use: usize,
    placement: usize,
    drip: bool,
    critical: bool,
    heat: bool,
    measure: usize,
    person: usize,
    spanish: bool,
    other_language: bool,
    channels: u8,
    address: bool,
    low_c: f64,
    seen: Option<Seen>,
}

fn case() -> impl Strategy<Value = Case> {
    let kinds = (
        0..Service::ALL.len(),
        0..WinterUse::ALL.len() - 1,
        0..Placement::ALL.len(),
        any::<(bool, bool, bool)>(),
        0..8usize,
    );
    // Most are not looked at.
    let seen = (0..8usize).prop_map(|n| [Seen::Fine, Seen::Ice, Seen::Ice, Seen::Whole].get(n).copied());
    let people = (0..6usize, any::<(bool, bool, bool)>(), 1u8..16, -12.0..-0.2f64, seen);
    (kinds, people).prop_map(
        |(
            (service, winter_use, placement, (drip, critical, heat), measure),
            (person, (spanish, other, address), channels, low_c, seen),
        )| Case {
            service,
            winter_use,
            placement,
            drip: drip && measure % 2 == 0,
            critical: critical && measure % 3 == 0,
            heat: heat && measure % 2 == 1,
            measure,
            person,
            spanish,
            other_language: other && measure == 5,
            channels,
            address,
            low_c,
            seen,
        },
    )
}

fn advice(measure: Measure) -> Advice {
    Advice {
        measure,
        enough: true,
        wrap_m2k_per_w: (measure == Measure::Wrap).then_some(0.53),
        flow_l_per_h: (measure == Measure::Trickle).then_some(12.0),
        power_w_per_m: (measure == Measure::HeatTrace).then_some(16.0),
        litres: None,
        hours: None,
        p_damage: None,
        detail: String::new(),
    }
}

/// The measures that the model tries for an assembly, the one that it names first at the head, as its own rules have it: a fitted drip
/// device, draining where that is allowed, a wrap on what stands bare or under a cover, a trickle on lines in use, heat.
fn measures(assembly: &Assembly, chosen: usize) -> Vec<Advice> {
    let mut all = Vec::new();
    if assembly.freeze_drip {
        all.push(Measure::FreezeDrip);
    }
    if assembly.may_be_drained() {
        return vec![advice(Measure::Drain)];
    }
    if matches!(assembly.placement, Placement::Open | Placement::Cover) {
        all.push(Measure::Wrap);
    }
    if !matches!(assembly.service, Service::Irrigation | Service::Fire) && assembly.winter_use == WinterUse::InUse {
        all.push(Measure::Trickle);
    }
    all.extend([Measure::HeatTrace, Measure::HeatedEnclosure]);
    let first = chosen % all.len();
    all.into_iter().skip(first).map(advice).collect()
}

/// A programme of these lines; people of one number are one.
fn programme(cases: &[Case], run_water: RunWater) -> Programme {
    let mut config = Config::default();
    config.outreach.shift.callers = 2;
    config.outreach.shift.spanish_callers = 1;
    config.outreach.hangers.crews = 2;
    config.outreach.advice.run_water = run_water;
    let list: Vec<Row> = cases
        .iter()
        .enumerate()
        .map(|(n, case)| {
            let (mut assembly, mut outlook) = household(n, 60);
            assembly.service = Service::ALL[case.service];
            assembly.winter_use = WinterUse::ALL[case.winter_use];
            if assembly.winter_use == WinterUse::Drained {
                assembly.winter_use = WinterUse::Idle;
            }
            assembly.placement = Placement::ALL[case.placement];
            assembly.freeze_drip = case.drip;
            assembly.heat_trace_w = if case.heat { 80.0 } else { 0.0 };
            assembly.critical = case.critical.then(|| "school".into());
            let person = case.person;
            assembly.contact.contact_name =
                Some(NAMES[person].0.into()).filter(|name: &brimwater::text::Text| !name.is_empty());
            assembly.contact.phone = Some(format!("202-555-01{:02}", 40 + person).into());
            assembly.contact.email = Some(format!("person{person}@example.com").into());
            assembly.contact.site_address = case.address.then(|| format!("{n} Mill Lane").into());
            let spanish = (case.spanish && person % 2 == 0) != case.other_language;
            assembly.contact.language = Some(if spanish { Language::Spanish } else { Language::English });
            let takes = [Channel::Call, Channel::Text, Channel::Email, Channel::Letter];
            let taken: Vec<Channel> = takes
                .into_iter()
                .enumerate()
                .filter(|(bit, _)| case.channels & (1 << bit) != 0)
                .map(|(_, channel)| channel)
                .collect();
            assembly.contact.channels = Some(taken);
            outlook.min_air_c = case.low_c;
            outlook.advice = measures(&assembly, case.measure);
            if let Some(seen) = case.seen {
                outlook.reported = Some(Reported {
                    reports: vec![Report {
                        at: local(9, 7, 0),
                        seen,
                    }],
                    agree: 0.5,
                    effective_members: 120.0,
                    weighed: true,
                });
                // Nothing is worked out for what has ice in it.
                if seen == Seen::Ice {
                    outlook.advice.clear();
                }
            }
            (assembly, outlook, Tier::ALL[n % 2], 100.0 + 40.0 * n as f64)
        })
        .collect();
    let mut made = Programme::with(list, config);
    made.outlooks = permitted(made.outlooks, &made.config.outreach.advice);
    let words = made.words();
    for line in &mut made.ranked {
        let (assembly, outlook) = (&made.assemblies[line.index], &made.outlooks[line.index]);
        line.reason = reason::reason(assembly, outlook, &line.loss, line.tier, &words).into();
    }
    made
}

/// What a text says may or must be done, whatever its language.
fn says(text: &str, english: &[&str], spanish: &[&str]) -> bool {
    let lower = text.to_lowercase();
    english.iter().chain(spanish).any(|phrase| lower.contains(phrase))
}

fn tells_to_drain(text: &str) -> bool {
    says(
        text,
        &["let the water drain out", "shut and drain"],
        &["deje salir el agua", "cierre y vac", "ciérrela y vac", "cierrela y vac"],
    )
}

/// Where nobody is, somebody else is to do it.
fn asks_for_draining(text: &str) -> bool {
    says(text, &["to shut off and drain the water"], &["la cerremos y vaciemos"])
}

fn forbids_draining(text: &str) -> bool {
    says(
        text,
        &[
            "do not drain it",
            "never shut it",
            "keep the water on",
            "leave the water on",
            "let it drip",
        ],
        &["no la vac", "nunca la cierre", "deje el agua abierta", "no la cierre"],
    )
}

fn tells_to_wrap(text: &str) -> bool {
    says(text, &["wrap"], &["envuel", "forro", "abrigue"])
}

/// An assembly, and whether ice was seen in it.
type Mine<'a> = (&'a Assembly, bool);

/// What is wrong between a line's assemblies, the reason of the first, and what is said; empty when nothing is.
fn contradictions(mine: &[Mine<'_>], reason: &str, said: &str, whole: bool) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut must = |right: bool, what: &str| {
        if !right {
            wrong.push(format!("{what}: {reason} | {said}"));
        }
    };
    let all = |test: fn(&Assembly) -> bool| mine.iter().all(|one| test(one.0));
    let any = |test: fn(&Assembly) -> bool| mine.iter().any(|one| test(one.0));
    if mine.iter().all(|one| one.1) {
        // X-Val: common practice, no source: ice is left to thaw, never met with flame, and what broke shows when it has.
        must(
            !tells_to_wrap(said) && !tells_to_drain(said) && !asks_for_draining(said),
            "what has ice in it is to be protected",
        );
        must(
            says(said, &["ice "], &["hielo"]) && says(said, &["flame"], &["fuego"]),
            "ice is not named, or flame not forbidden",
        );
        must(
            !says(
                said,
                &["may freeze", "a freeze is likely", "hard cold is likely"],
                &["se puede congelar", "se espera"],
            ),
            "what is frozen may freeze",
        );
        must(
            says(reason, &["with ice in it"], &["con hielo dentro"]),
            "the reason does not say that it is past",
        );
    } else if mine.iter().any(|one| one.1) && whole {
        must(
            says(said, &["with ice in"], &["con hielo"]),
            "what has ice in it is not told apart",
        );
    }
    if !mine.iter().any(|one| one.0.may_be_drained() && !one.1) {
        must(!tells_to_drain(said), "draining is told where nothing may be drained");
    }
    if says(reason, &["draining it would do"], &["bastaría cerrar y vaciar"]) {
        must(
            !forbids_draining(said) || mine.len() > 1,
            "the reason drains and the words forbid it",
        );
        must(
            tells_to_drain(said) || asks_for_draining(said) || !whole,
            "the reason drains and the words do not",
        );
    }
    if says(reason, &["a trickle"], &["bastaría un hilo de agua"]) {
        must(
            !says(said, &["do not run water"], &["no deje correr"]),
            "the reason runs water and the words forbid it",
        );
    }
    if says(reason, &["a wrap of"], &["bastaría un forro de"]) && whole {
        must(tells_to_wrap(said), "the reason wraps and the words do not");
    }
    if says(reason, &["freeze drip holds it"], &["válvula de goteo lo protege"]) {
        must(
            !says(said, &["shut off and drain the water"], &["la cerremos y vaciemos"]) || mine.len() > 1,
            "the reason relies on the drip and the words shut its water",
        );
    }
    if all(|one| one.service == Service::Fire && !one.has_heat()) && !mine.iter().any(|one| one.1) {
        must(
            !says(
                said,
                &["heater in the box", "keep heat on"],
                &["el calentador de la caja", "con calor la línea"],
            ),
            "a heater is checked that is not there",
        );
        must(
            tells_to_wrap(said) || (!whole && mine.len() > 1),
            "a bare fire line is not wrapped",
        );
    }
    if any(|one| one.service == Service::Fire) {
        must(
            says(
                said,
                &["never shut", "keep the water on"],
                &["nunca la cierre", "nunca cierre", "deje el agua abierta"],
            ),
            "a fire line is not said to stay on",
        );
    }
    wrong
}

/// Faults of writing, by signs alone.
fn slips(text: &str, language: Language) -> Vec<String> {
    let mut found = Vec::new();
    let signs: Vec<char> = text.chars().collect();
    for at in 1..signs.len().saturating_sub(1) {
        let ends = matches!(signs[at], '.' | '!' | '?' | ':') && signs[at - 1].is_alphabetic();
        // "person@example.com" and times such as "2:30" are no ends of sentences.
        if ends && signs[at + 1].is_uppercase() {
            found.push(format!(
                "run together at {:?}",
                signs[at - 1..=at + 1].iter().collect::<String>()
            ));
        }
    }
    for pair in [
        "  ",
        " ,",
        " .",
        ",,",
        "..",
        " :",
        "( ",
        " )",
        "()",
        "{{",
        "}}",
        "{%",
        " ;",
        "?.",
        "¿ ",
        "None",
        "undefined",
    ] {
        if text.contains(pair) {
            found.push(format!("{pair:?}"));
        }
    }
    let padded = format!(" {} ", text.to_lowercase().replace(|c: char| !c.is_alphabetic(), " "));
    let foreign: &[&str] = match language {
        Language::English => &[" el ", " los ", " que ", " por ", " nunca ", " agua "],
        Language::Spanish => &[" the ", " and ", " your ", " please ", " never ", " water "],
    };
    // The utility's own name is no language.
    let padded = padded.replace(" pellow reach water ", " ");
    for word in foreign {
        if padded.contains(word) {
            found.push(format!("{word:?} in {language}"));
        }
    }
    found
}

/// The greeting of a message, without its comma or colon.
fn greeting(body: &str) -> Option<&str> {
    body.lines()
        .map(str::trim)
        .find_map(|line| {
            ["Hello", "Dear", "Hola,", "Hola"]
                .iter()
                .find_map(|hello| line.strip_prefix(hello))
        })
        .map(|rest| rest.trim().trim_end_matches([',', ':']))
}

fn languages(word: &str) -> Vec<Language> {
    word.split(';')
        .map(|word| {
            if word == "es" {
                Language::Spanish
            } else {
                Language::English
            }
        })
        .collect()
}

fn words_in(made: &Programme, language: Language) -> Words {
    Words {
        language: match language {
            Language::English => brimwater::language::Language::English,
            Language::Spanish => brimwater::language::Language::Spanish,
        },
        ..made.words()
    }
}

/// The reason of an assembly's line in a reader's language, as the desk tells it.
fn reason_in(made: &Programme, assembly: &Assembly, language: Language) -> String {
    let place = |line: &&brimwater::ranking::Ranked| made.assemblies[line.index].assembly_id == assembly.assembly_id;
    let line = made.ranked.iter().find(place).unwrap();
    let words = words_in(made, language);
    reason::reason(assembly, &made.outlooks[line.index], &line.loss, line.tier, &words)
}

/// What is wrong between the card of an assembly, on the desk and in `show`, and the reason of its line: the card tells what would protect it.
fn card_faults(made: &Programme, assembly: &Assembly, outlook: &Outlook, language: Language) -> Vec<String> {
    let words = words_in(made, language);
    let reason = reason_in(made, assembly, language);
    let lines: Vec<String> = outlook
        .advice
        .iter()
        .map(|advice| advice_in_full(advice, &words))
        .collect();
    let card = lines.join(" ");
    let mut wrong = Vec::new();
    let mut must = |right: bool, what: &str| {
        if !right {
            wrong.push(format!("card, {what}: {reason} | {card}"));
        }
    };
    let drains = says(&card, &["drain the assembly"], &["vacíe el conjunto"]);
    let runs = says(&card, &["left running at"], &["llave detrás corriendo"]);
    must(!drains || assembly.may_be_drained(), "drains what may not be drained");
    if says(&reason, &["draining it would do"], &["bastaría cerrar y vaciar"]) {
        must(drains, "the reason drains and the card does not");
    }
    if says(&reason, &["a trickle of"], &["bastaría un hilo de agua de"]) {
        must(runs, "the reason runs water and the card does not");
    }
    if says(&reason, &["a wrap of"], &["bastaría un forro de"]) {
        must(
            says(&card, &["windproof wrap of"], &["forro seco y a prueba de viento"]),
            "the reason wraps and the card does not",
        );
    }
    if says(&reason, &["freeze drip holds it"], &["válvula de goteo lo protege"]) {
        must(
            says(&card, &["leave it open"], &["déjela abierta"]),
            "the reason relies on the drip and the card does not",
        );
    }
    must(
        !runs || made.config.outreach.advice.run_water != RunWater::DoNotRun,
        "runs water where the utility asks not to",
    );
    for line in lines.iter().chain([&reason]) {
        wrong.extend(slips(line, language).into_iter().map(|slip| format!("{slip}: {line}")));
    }
    wrong
}

/// What is wrong between what `show` prints of an assembly and the reason that it prints on top.
fn shown_faults(made: &Programme, assembly: &Assembly, outlook: &Outlook, us: bool) -> Vec<String> {
    let words = Words { us, ..made.words() };
    let place = |line: &&Ranked| made.assemblies[line.index].assembly_id == assembly.assembly_id;
    let mut line = made.ranked.iter().find(place).unwrap().clone();
    line.reason = reason::reason(assembly, outlook, &line.loss, line.tier, &words).into();
    let faults = brimwater::faults::Faults::new();
    let outlooks = [std::sync::Arc::new(outlook.clone())];
    let one = (
        std::slice::from_ref(assembly),
        outlooks.as_slice(),
        [0].as_slice(),
        std::slice::from_ref(&line),
    );
    let plan = made.written(one, words, &faults);
    let text = brimwater::output::show_text::text(&plan, assembly, outlook);
    let (told, caution) = text.rsplit_once("\n\n").unwrap();
    assert_eq!(caution.trim(), brimwater::PLANNING_AID);
    let iced = outlook.is_past_advice();
    let after = told.rsplit_once("\n\n").map_or("", |(_, last)| last);
    let mut wrong = contradictions_of_show(assembly, iced, &line.reason, told, after);
    let others = if us {
        [" W/m ", " m²K/W ", " L/h "]
    } else {
        [" W/ft ", " R-", " gal/h "]
    };
    if others.iter().any(|unit| after.contains(unit)) {
        wrong.push(format!("units of the other system: {after}"));
    }
    let prose = after.lines().map(str::trim).collect::<Vec<_>>().join(" ");
    let aligned = prose.replace("enough     ", "enough ");
    wrong.extend(
        slips(&aligned, Language::English)
            .into_iter()
            .map(|slip| format!("show, {slip}: {prose}")),
    );
    wrong
}

fn contradictions_of_show(assembly: &Assembly, iced: bool, reason: &str, told: &str, after: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut must = |right: bool, what: &str| {
        if !right {
            wrong.push(format!("show, {what}: {told}"));
        }
    };
    must(told.contains(reason), "the reason is not that of the list");
    let drains = after.contains("drain the assembly");
    let calm = after.contains("Nothing needs doing");
    must(!calm, "nothing needs doing for somebody who is to be called");
    must(!drains || assembly.may_be_drained(), "drains what may not be drained");
    let iced_words = after.contains("Too late to protect it") && after.contains("never use a flame");
    must(iced == iced_words, "ice in it and what is told of it");
    must(
        !iced || !(tells_to_wrap(after) || drains),
        "what has ice in it is to be protected",
    );
    for (said, shown) in [
        ("draining it would do", "enough     drain: "),
        ("a wrap of", "enough     wrap: "),
        ("a trickle of", "enough     trickle: "),
        ("heat trace of", "enough     heat trace: "),
        ("only a heated enclosure", "enough     heated enclosure: "),
        ("freeze drip holds it", "enough     freeze drip: "),
    ] {
        must(!reason.contains(said) || after.contains(shown), said);
    }
    wrong
}

/// All that is wrong with the files of a programme.
fn faults(made: &Programme) -> Vec<String> {
    let files = made.files(false);
    let iced = |outlook: &Outlook| {
        let told = outlook.reported.as_ref();
        told.is_some_and(|told| told.reports.iter().any(|report| report.seen == Seen::Ice))
    };
    let by_id: BTreeMap<&str, Mine<'_>> = made
        .assemblies
        .iter()
        .zip(&made.outlooks)
        .map(|(assembly, outlook)| (assembly.assembly_id.as_str(), (assembly, iced(outlook))))
        .collect();
    let mine = |row: &str| -> Vec<Mine<'_>> { row.split(';').filter_map(|id| by_id.get(id).copied()).collect() };
    let mut wrong = Vec::new();
    let reasons: BTreeMap<(String, String), String> = rows(&files["contacts.csv"])
        .into_iter()
        .map(|row| {
            (
                (row["contact_id"].clone(), row["channel"].clone()),
                row["reason"].clone(),
            )
        })
        .collect();
    for row in rows(&files["contacts.csv"]) {
        if row["say"].is_empty() {
            continue;
        }
        let text = row["channel"] == "text";
        // The desk tells the same call to whoever reads Spanish.
        if row["channel"] == "call" {
            let first = mine(&row["assemblies"])[0].0;
            let spanish = reason_in(made, first, Language::Spanish);
            wrong.extend(contradictions(&mine(&row["assemblies"]), &spanish, &row["say"], true));
        }
        wrong.extend(contradictions(
            &mine(&row["assemblies"]),
            &row["reason"],
            &row["say"],
            !text,
        ));
        wrong.extend(
            slips(&row["say"], languages(&row["language"])[0])
                .into_iter()
                .map(|slip| format!("{slip}: {}", row["say"])),
        );
        wrong.extend(
            slips(&row["reason"], Language::English)
                .into_iter()
                .map(|slip| format!("{slip}: {}", row["reason"])),
        );
    }
    for row in rows(&files["mail_merge.csv"]) {
        let reason = &reasons[&(row["contact_id"].clone(), row["channel"].clone())];
        let whole = row["channel"] != "text";
        let bodies: Vec<&str> = row["body"].split("* * *").collect();
        let told = languages(&row["language"]);
        assert_eq!(bodies.len(), told.len(), "{row:?}");
        for (body, language) in bodies.iter().zip(told) {
            let body = body.trim();
            wrong.extend(contradictions(&mine(&row["assemblies"]), reason, body, whole));
            // Names and addresses stand in no language.
            wrong.extend(slips(body, language).into_iter().map(|slip| format!("{slip}: {body}")));
            if whole {
                let greeted = greeting(body).unwrap_or("no greeting");
                let known: BTreeSet<&str> = NAMES.iter().map(|(_, said)| *said).chain(["customer", ""]).collect();
                if !known.contains(greeted) {
                    wrong.push(format!("greeting {greeted:?}: {body}"));
                }
            }
            // Hard cold is 28 °F or less, and is not told of a light freeze.
            let low: Option<f64> = body
                .split(" °F")
                .next()
                .filter(|_| body.contains(" °F"))
                .and_then(|head| head.rsplit(' ').next())
                .and_then(|number| number.parse().ok());
            let hard = body.contains("Hard cold is likely") || body.contains("Se espera mucho frío");
            if let Some(low) = low
                && hard != (low <= 28.0)
                && !(27.5..=28.5).contains(&low)
            {
                wrong.push(format!("hard cold at {low}: {body}"));
            }
        }
        wrong.extend(
            slips(&row["subject"].replace(" / ", " "), languages(&row["language"])[0])
                .into_iter()
                .filter(|_| !row["language"].contains(';')),
        );
    }
    if let Some(hangers) = files.get("door_hangers.csv") {
        for row in rows(hangers) {
            wrong.extend(contradictions(
                &mine(&row["assemblies"]),
                &row["reason"],
                &row["hanger"],
                true,
            ));
            wrong.extend(
                slips(&row["hanger"], languages(&row["language"])[0])
                    .into_iter()
                    .map(|slip| format!("{slip}: {}", row["hanger"])),
            );
        }
    }
    for (assembly, outlook) in made.assemblies.iter().zip(&made.outlooks) {
        for us in [true, false] {
            wrong.extend(shown_faults(made, assembly, outlook, us));
        }
    }
    for language in [Language::English, Language::Spanish] {
        for (assembly, outlook) in made.assemblies.iter().zip(&made.outlooks) {
            wrong.extend(card_faults(made, assembly, outlook, language));
        }
    }
    for (name, page) in &files {
        if name.starts_with("call_sheets/caller-") && name.ends_with(".html") {
            for row in rows(&files[&name.replace(".html", ".csv")]) {
                assert!(page.contains(&row["contact_id"]), "{name}");
            }
        }
    }
    wrong
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Catches a script that drains what the reason wraps, a heater that is not there, a wrap that nobody is told of, water that is to run
    /// and not to run, sentences run together, a greeting by a list's order of names, and the wrong language.
    #[test]
    fn no_text_contradicts_its_reason_and_each_is_well_written(
        cases in proptest::collection::vec(case(), 1..14),
        run_water in prop_oneof![Just(RunWater::SayNothing), Just(RunWater::ThinStream), Just(RunWater::DoNotRun)],
    ) {
        let wrong = faults(&programme(&cases, run_water));
        prop_assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}

/// The checker itself finds what it is for.
#[test]
fn the_checker_finds_the_slips_that_were_once_printed() {
    for bad in [
        "may freeze.Please do this",
        "A freeze is likely  Friday",
        "at {{ phone }}",
        "Hello , this",
    ] {
        assert!(!slips(bad, Language::English).is_empty(), "{bad}");
    }
    assert!(!slips("Please keep el agua abierta", Language::English).is_empty());
    assert!(!slips("Deje the water on", Language::Spanish).is_empty());
    assert!(
        slips(
            "Call 202-555-0123. Wrap it by 2:30 pm on Friday, at 3 Mill Rd. Thanks.",
            Language::English
        )
        .is_empty()
    );
    assert_eq!(greeting("\nHello Peña, Núria,\n"), Some("Peña, Núria"));
    let mut fire = crate::made::breaker("F");
    fire.service = Service::Fire;
    assert!(
        !contradictions(
            &[(&fire, false)],
            "a wrap of R-3 would do",
            "Check that the heater in the box works. Keep the water on.",
            true
        )
        .is_empty()
    );
    let line = crate::made::breaker("L");
    assert!(
        !contradictions(
            &[(&line, false)],
            "shutting off and draining it would do",
            "so do not drain it",
            true
        )
        .is_empty()
    );
}
