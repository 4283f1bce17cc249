//! What a message to one person is about, from the plan's line and the outlooks.

use super::case::Case;
use super::line::ContactLine;
use super::messages::{About, Item, Kind, Messages};
use super::people::Person;
use super::words;
use crate::faults::Fault;
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Language};
use crate::ranking::Words;
use chrono::{DateTime, Utc};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// Assemblies listed in one message, at most; the rest is counted.
const MOST_LISTED: usize = 400;

/// Air at or under which a freeze is called hard, °C: 28 °F, as the growers' advisories of weather services have it (from memory).
const HARD_FREEZE_C: f64 = -20.0 / 9.0;

/// What is needed to put a line into words.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    /// Persons of the plan.
    pub people: &'a [Person],
    /// Assemblies.
    pub assemblies: &'a [Assembly],
    /// Their outlooks.
    pub outlooks: &'a [Arc<Outlook>],
    /// How people read numbers and times.
    pub words: Words,
}

/// What a message of this line is about, in one language.
pub fn about(line: &ContactLine, facts: &Facts<'_>, language: Language) -> About {
    let of = |index: &usize| Some((facts.assemblies.get(*index)?, facts.outlooks.get(*index)?));
    let mine: Vec<(&Assembly, &Arc<Outlook>)> = line.indices.iter().filter_map(of).collect();
    let cases: BTreeSet<Case> = mine
        .iter()
        .map(|(assembly, outlook)| Case::now(assembly, outlook))
        .collect();
    let ahead: Vec<(Option<DateTime<Utc>>, f64)> = mine
        .iter()
        .map(|(_, outlook)| still_to_come(outlook, line.slot_start))
        .collect();
    let ice = ahead.iter().filter_map(|(ice, _)| *ice).min();
    let low_c = ahead.iter().map(|(_, low_c)| *low_c).fold(f64::INFINITY, f64::min);
    let person = facts.people.get(line.person);
    let address_of = |assembly: &Assembly| assembly.contact.site_address.as_deref().unwrap_or_default().to_owned();
    About {
        name: person
            .map(|person| match person.names.as_slice() {
                [one] if line.also.is_empty() => words::spoken_name(one),
                _ => String::new(),
            })
            .unwrap_or_default(),
        address: match mine.as_slice() {
            [(only, _)] => address_of(only),
            _ => String::new(),
        },
        count: mine.len().max(1),
        iced: !cases.is_empty() && cases.iter().all(|case| case.is_iced()),
        cases: cases.into_iter().map(Case::word).collect(),
        when: ice.map_or_else(
            || words::soon(language).to_owned(),
            |ice| words::when(ice, facts.words.zone, language),
        ),
        by: match line.act_by {
            Some(by) if line.in_time => words::by(by, facts.words.zone, language),
            _ => String::new(),
        },
        low: if low_c.is_finite() {
            facts.words.temperature(low_c)
        } else {
            String::new()
        },
        hard: low_c <= HARD_FREEZE_C,
        list: if mine.len() > 1 {
            mine.iter()
                .take(MOST_LISTED)
                .map(|(assembly, _)| Item {
                    id: assembly.assembly_id.to_string(),
                    what: words::what(assembly, language),
                    address: address_of(assembly),
                })
                .collect()
        } else {
            Vec::new()
        },
    }
}

/// When ice comes next and how cold it gets from then on, told at `at`: in the middle of a spell nobody is told of last night's ice or
/// of the air that went with it.
fn still_to_come(outlook: &Outlook, at: Option<DateTime<Utc>>) -> (Option<DateTime<Utc>>, f64) {
    let first = outlook.first_ice.p10.or(outlook.first_ice.p50);
    let Some(at) = at.filter(|at| first.is_some_and(|first| first < *at)) else {
        return (first, outlook.min_air_c);
    };
    let ahead: Vec<_> = outlook.nights.iter().filter(|night| night.ice_median > at).collect();
    let Some(next) = ahead.iter().map(|night| night.ice_early.max(at)).min() else {
        return (first, outlook.min_air_c);
    };
    let low_c = ahead.iter().map(|night| night.min_air_c).fold(f64::INFINITY, f64::min);
    (Some(next), low_c)
}

/// Renders what is the same for many people only once.
#[derive(Default)]
pub struct Shared {
    known: HashMap<(Kind, Language, Vec<&'static str>, bool, String), String>,
}

impl Shared {
    /// The steps of a line in one paragraph, or its text message: what `contacts.csv` says under `say`.
    ///
    /// # Errors
    /// `BW-P71` when a template fails.
    pub fn say(&mut self, kind: Kind, about: &About, language: Language, messages: &Messages) -> Result<String, Fault> {
        // The number of devices stands in the text only where there are several.
        let many = about.count > 1;
        let when = if many {
            format!("{} {}", about.count, about.when)
        } else {
            about.when.clone()
        };
        let key = (kind, language, about.cases.clone(), many, when);
        if let Some(known) = self.known.get(&key) {
            return Ok(known.clone());
        }
        let said = messages.render(kind, language, about)?.replace('\n', " ");
        self.known.insert(key, said.clone());
        Ok(said)
    }
}
