//! Statements that lean on a code have its sections beside them.

use brimwater::expansion::codes;
use brimwater::expansion::{
    ClosingDevice, ExistingTank, HeaterKind, Regulator, RegulatorState, System, assess_without_sensitivity,
};
use brimwater::language::Language;
use brimwater::units::{L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f};
use std::collections::BTreeSet;

/// Words that a statement about what a code or a listing asks for is made with. Common practice, no source.
const LEANS: [&str; 14] = [
    "code",
    "listed",
    "never the control",
    "air gap",
    "boiler",
    "expansion control",
    "calls for",
    "plumbing is closed, so",
    "código",
    "listad",
    "nunca el control",
    "espacio de aire",
    "caldera",
    "control de la expansión",
];

/// Statements with such words that send people to the local code and claim nothing of what it says.
const DEFER: [&str; 8] = [
    "where the plumbing code says nothing else",
    "donde el código de plomería no diga otra cosa",
    "licensed plumber decide",
    "plomero con licencia",
    "A permit, the local plumbing code as adopted",
    "your code decides",
    "licensed for boilers",
    "licencia para calderas",
];

fn leans(text: &str) -> bool {
    LEANS.iter().any(|word| text.contains(word)) && !DEFER.iter().any(|words| text.contains(words))
}

/// The sections in the brackets of a text.
fn sections(text: &str) -> Vec<&str> {
    text.split('[')
        .skip(1)
        .filter_map(|rest| rest.split_once(']'))
        .flat_map(|(inside, _)| inside.split("; "))
        .collect()
}

/// Every section named is one of the table, starred where its wording was not read.
fn known(section: &str) -> bool {
    codes::all().any(|known| {
        let star = if known.read { "" } else { "*" };
        section == format!("{}{star}", known.name)
    })
}

// A wrong program says what a code asks for and leaves the plumber to find where, or stars a section that was read.
#[test]
fn every_message_that_leans_on_a_code_has_its_section_beside_it() {
    // The sections of these come from the code that says them: the answers below hold them.
    let beside_in_code = [
        "expansion-caution-",
        "expansion-slip-hydronic-what",
        // Names the codes themselves, and what the star means.
        "expansion-caution-local-first",
        "expansion-record-formula",
    ];
    let mut leaning = 0;
    for file in ["en", "es"] {
        let path = format!("{}/src/words/locales/{file}/expansion.ftl", env!("CARGO_MANIFEST_DIR"));
        for line in std::fs::read_to_string(path).unwrap().lines() {
            let Some((id, text)) = line.split_once(" = ") else {
                continue;
            };
            for section in sections(text) {
                assert!(known(section), "{file} {id}: {section}");
            }
            if leans(text) && !beside_in_code.iter().any(|start| id.trim().starts_with(start)) {
                leaning += 1;
                assert!(!sections(text).is_empty(), "{file} {id} = {text}");
            }
        }
    }
    assert!(leaning >= 6, "{leaning}");
}

fn houses(language: Language) -> Vec<System> {
    let psi = PA_PER_PSI;
    let mut houses = Vec::new();
    let base = || {
        let mut system = System::new(40.0 * L_PER_US_GAL, c_from_f(50.0), c_from_f(130.0), 60.0 * psi);
        system.language = language;
        system.words = UnitSystem::Us;
        system.closed_by = vec![ClosingDevice::BackflowAssembly];
        system.accept_unusual = true;
        system
    };
    for (static_psi, limit_psi) in [(60.0, 80.0), (75.0, 80.0), (95.0, 80.0), (60.0, 145.0), (60.0, 90.0)] {
        for kind in [
            HeaterKind::Storage,
            HeaterKind::Instantaneous,
            HeaterKind::HeatPump,
            HeaterKind::Solar,
        ] {
            for relief_psi in [None, Some(62.0), Some(78.0), Some(85.0), Some(140.0)] {
                for room in [None, Some(0.0)] {
                    let mut system = base();
                    system.static_gauge_pa = static_psi * psi;
                    system.limit_gauge_pa = limit_psi * psi;
                    system.kind = kind;
                    system.relief_at_gauge_pa = relief_psi.map(|at| at * psi);
                    system.room_for_tank_l = room;
                    system.mixing_valve = room.is_some();
                    system.recirculation = room.is_some();
                    system.coldest_air_c = relief_psi.map(|_| -10.0);
                    houses.push(system);
                }
            }
        }
    }
    let mut street = base();
    street.street_gauge_pa = Some(180.0 * psi);
    street.closed_by = vec![ClosingDevice::Nothing];
    houses.push(street.clone());
    street.regulator = Regulator {
        setting_gauge_pa: Some(60.0 * psi),
        state: RegulatorState::FailedOpen,
    };
    houses.push(street);
    let mut hot = base();
    hot.hot_c = c_from_f(212.0);
    hot.heaters[0].volume_l = 200.0 * L_PER_US_GAL;
    hot.existing = vec![ExistingTank::new(2.0, 40.0 * psi), ExistingTank::new(9.0, 0.0)];
    houses.push(hot);
    houses
}

// The same of all that an answer says, reasons, findings, cautions and readings to look at again, in both languages.
#[test]
fn every_sentence_of_an_answer_that_leans_on_a_code_has_its_section_beside_it() {
    for language in [Language::English, Language::Spanish] {
        let mut leaning = BTreeSet::new();
        for system in houses(language) {
            let answer = assess_without_sensitivity(&system).unwrap_or_else(|faults| panic!("{faults:?}"));
            let mut said = answer.recommendation.why.clone();
            said.extend(answer.closed.because.clone());
            said.extend(answer.closed.settle_by.clone());
            said.extend(answer.relief.why_not.clone());
            said.extend(answer.relief.findings.clone());
            said.extend(answer.existing_tank.iter().flat_map(|tank| tank.findings.clone()));
            said.extend(answer.recommendation.steps.iter().map(|step| step.say(system.tongue())));
            said.extend(
                answer
                    .warnings
                    .iter()
                    .map(|fault| format!("{} {} {}", fault.what, fault.expected, fault.remedy)),
            );
            said.extend(answer.cautions.clone());
            for text in said {
                for section in sections(&text) {
                    assert!(known(section), "{section} in {text}");
                }
                // What the model codes are and what the star means.
                if leans(&text) && !text.contains("UPC 2015") {
                    assert!(!sections(&text).is_empty(), "{text}");
                    leaning.insert(text);
                }
            }
        }
        assert!(leaning.len() >= 15, "{leaning:#?}");
    }
}
