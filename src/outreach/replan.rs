//! What changed since the last plan, and why.

use super::line::{ContactLine, Way};
use super::outcome::{History, Standing};
use super::people::Person;
use crate::faults::{Fault, Severity};
use crate::freeze::{Outlook, Report};
use crate::inventory::Assembly;
use crate::ranking::{Ranked, Tier, is_broken};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::io::Read;
use std::sync::Arc;

/// Share by which an expected loss must change inside a tier to be told (judgement: smaller moves are noise of the forecast).
pub const TOLD_SHARE: f64 = 0.25;

/// What `plan.json` of an earlier run says, as far as it is needed.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct OldPlan {
    /// Name of the format.
    pub schema: String,
    /// When it was made.
    pub issued: Option<DateTime<Utc>>,
    /// Its assemblies.
    #[serde(default)]
    pub assemblies: Vec<OldAssembly>,
    /// Its contact lines.
    #[serde(default)]
    pub contacts: Vec<OldContact>,
}

/// An assembly of an earlier plan.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct OldAssembly {
    /// Identifier.
    pub assembly_id: String,
    /// Rank.
    pub rank: usize,
    /// Tier, in words.
    pub tier: String,
    /// Chance of damage.
    pub p_damage: Option<f64>,
    /// Expected loss, US dollars.
    pub expected_loss: f64,
    /// Error of the expected loss, US dollars.
    pub expected_loss_error: f64,
    /// First ice.
    pub first_ice: OldSpread,
    /// Hash of what the list said; `None` in plans of early versions.
    pub listed: Option<String>,
    /// What was reported from the site.
    pub reported: Option<OldReported>,
}

/// What an earlier plan says of reports.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct OldReported {
    /// The reports that counted.
    pub reports: Vec<Report>,
}

/// Times of first ice.
#[derive(Debug, Clone, Copy, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct OldSpread {
    /// Early edge.
    pub p10: Option<DateTime<Utc>>,
}

/// A contact line of an earlier plan.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct OldContact {
    /// Person.
    pub contact_id: String,
    /// Channel.
    pub channel: String,
    /// Which attempt it was.
    pub attempt: u8,
    /// When it was to be sent or made.
    pub slot_start: Option<DateTime<Utc>>,
    /// Assemblies.
    pub assemblies: Vec<String>,
}

/// Reads `plan.json`.
///
/// # Errors
/// `BW-P65` when it is no plan, or of a format that is not known.
pub fn read(source: impl Read, file: &str) -> Result<OldPlan, Fault> {
    let wrong = |what: String| {
        Fault::new("BW-P65", Severity::Fatal, what)
            .file(file)
            .expected("the plan.json of an earlier plan (or the folder that holds it)")
            .remedy("Name the earlier plan after --since, or leave --since out.")
    };
    let plan: OldPlan = serde_json::from_reader(std::io::BufReader::new(source))
        .map_err(|error| wrong(format!("the earlier plan cannot be read: {error}")).line(error.line() as u64))?;
    if plan.schema != "brimwater.plan/1" {
        return Err(wrong("this is no plan of a known format".into()).value(&plan.schema));
    }
    Ok(plan)
}

/// A hash of everything that the list says of an assembly and that the outlook or the ranking depends on. No personal data goes into it.
pub fn fingerprint(assembly: &Assembly) -> String {
    let facts = format!(
        "{}|{}|{:?}|{:?}|{:?}|{:?}|{}|{}|{}|{:.6}|{}|{:.6}|{}|{}|{:.3}|{:?}|{}|{:?}",
        assembly.device_type,
        assembly.nominal_size,
        assembly.latitude_deg,
        assembly.longitude_deg,
        assembly.elevation_m,
        assembly.station_id,
        assembly.customer_class,
        assembly.service,
        assembly.placement,
        assembly.wrap_m2k_per_w,
        assembly.riser_material,
        assembly.riser_height_m,
        assembly.wind_exposure,
        assembly.freeze_drip,
        assembly.heat_trace_w,
        assembly.expansion_relief,
        assembly.winter_use,
        assembly.critical,
    );
    Sha256::digest(facts.as_bytes())
        .iter()
        .take(6)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// What became of an assembly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Move {
    /// At risk now and not before.
    New,
    /// More pressing than before.
    Up,
    /// Less pressing than before.
    Down,
    /// At risk before and no longer.
    Gone,
    /// Left out because the log says that its person is done with.
    Done,
}

impl Move {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Move::New => "new",
            Move::Up => "up",
            Move::Down => "down",
            Move::Gone => "gone",
            Move::Done => "done",
        }
    }
}

/// Why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The weather or the time that has passed.
    Forecast,
    /// The list says something else of it.
    Inventory,
    /// Both, or it cannot be told apart because the earlier plan is of an early version.
    ForecastOrInventory,
    /// What came of a contact.
    Log,
    /// What was reported from the site.
    Report,
}

impl Why {
    /// The words that files use.
    pub fn words(self) -> &'static str {
        match self {
            Why::Forecast => "forecast",
            Why::Inventory => "inventory",
            Why::ForecastOrInventory => "forecast or inventory",
            Why::Log => "log",
            Why::Report => "report",
        }
    }
}

/// One assembly that changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// Identifier.
    pub assembly_id: String,
    /// Person, where the assembly is still listed.
    pub contact_id: Option<String>,
    /// What became of it.
    pub what: Move,
    /// Why.
    pub why: Why,
    /// Tier before, in words.
    pub was_tier: Option<String>,
    /// Tier now, in words.
    pub now_tier: Option<String>,
    /// Rank before.
    pub was_rank: Option<usize>,
    /// Rank now.
    pub now_rank: Option<usize>,
    /// Expected loss before, US dollars.
    pub was_loss_usd: Option<f64>,
    /// Expected loss now, US dollars.
    pub now_loss_usd: Option<f64>,
    /// Early edge of first ice before.
    pub was_first_ice: Option<DateTime<Utc>>,
    /// Early edge of first ice now.
    pub now_first_ice: Option<DateTime<Utc>>,
    /// One sentence.
    pub sentence: String,
}

/// What is compared with the earlier plan.
#[derive(Clone, Copy)]
pub struct Now<'a> {
    /// Assemblies.
    pub assemblies: &'a [Assembly],
    /// Their outlooks.
    pub outlooks: &'a [Arc<Outlook>],
    /// Their ranking.
    pub ranked: &'a [Ranked],
    /// Persons.
    pub people: &'a [Person],
    /// What came of contacts.
    pub history: &'a History,
}

/// Compares a plan with an earlier one: assemblies that are new, gone, more or less pressing, or done, the most pressing now first, then
/// those gone in their old order.
///
/// A move inside a tier is told when the expected loss changed by more than [`TOLD_SHARE`] and by more than the error of both.
pub fn changes(old: &OldPlan, now: &Now<'_>) -> Vec<Change> {
    let before: HashMap<&str, &OldAssembly> = old
        .assemblies
        .iter()
        .map(|assembly| (assembly.assembly_id.as_str(), assembly))
        .collect();
    // Looked up once a person: a manager may look after thousands.
    let mut person_of: Vec<Option<(&Person, Option<&Standing>)>> = vec![None; now.assemblies.len()];
    for person in now.people {
        let standing = standing(person, now);
        for &index in &person.assemblies {
            if let Some(place) = person_of.get_mut(index) {
                *place = Some((person, standing));
            }
        }
    }
    let mut changes = Vec::new();
    let mut order: Vec<&Ranked> = now.ranked.iter().collect();
    order.sort_by_key(|ranked| ranked.rank);
    let mut listed: HashMap<&str, ()> = HashMap::with_capacity(now.assemblies.len());
    for ranked in order {
        let (Some(assembly), Some(outlook)) = (now.assemblies.get(ranked.index), now.outlooks.get(ranked.index)) else {
            continue;
        };
        listed.insert(assembly.assembly_id.as_str(), ());
        let old = before.get(assembly.assembly_id.as_str()).copied();
        let (person, standing) = person_of.get(ranked.index).copied().flatten().unzip();
        if let Some(change) = compare(old, ranked, assembly, outlook, person, standing.flatten()) {
            changes.push(change);
        }
    }
    let mut gone: Vec<&OldAssembly> = old
        .assemblies
        .iter()
        .filter(|old| !listed.contains_key(old.assembly_id.as_str()) && at_risk(&old.tier))
        .collect();
    gone.sort_by_key(|old| old.rank);
    changes.extend(gone.into_iter().map(|old| Change {
        assembly_id: old.assembly_id.clone(),
        contact_id: None,
        what: Move::Gone,
        why: Why::Inventory,
        was_tier: Some(old.tier.clone()),
        now_tier: None,
        was_rank: Some(old.rank),
        now_rank: None,
        was_loss_usd: Some(old.expected_loss),
        now_loss_usd: None,
        was_first_ice: old.first_ice.p10,
        now_first_ice: None,
        sentence: "No longer in the list, or its row could not be used.".into(),
    }));
    changes
}

fn standing<'a>(person: &Person, now: &Now<'a>) -> Option<&'a Standing> {
    let ids = person
        .assemblies
        .iter()
        .filter_map(|&index| now.assemblies.get(index))
        .map(|assembly| assembly.assembly_id.as_str());
    now.history.of(&person.contact_id, ids)
}

fn at_risk(tier: &str) -> bool {
    !tier.is_empty() && tier != Tier::NoContact.words()
}

/// Place of a tier, the most pressing first.
fn place(tier: &str) -> usize {
    Tier::ALL
        .iter()
        .position(|known| known.words() == tier)
        .unwrap_or(Tier::ALL.len())
}

fn compare(
    old: Option<&OldAssembly>,
    ranked: &Ranked,
    assembly: &Assembly,
    outlook: &Outlook,
    person: Option<&Person>,
    standing: Option<&Standing>,
) -> Option<Change> {
    let was_at_risk = old.is_some_and(|old| at_risk(&old.tier));
    let is_at_risk = ranked.tier != Tier::NoContact;
    let settled = standing.filter(|standing| standing.last.settles());
    let tier = ranked.tier.words();
    let what = if let (true, Some(_)) = (was_at_risk, settled) {
        Move::Done
    } else {
        match (was_at_risk, is_at_risk, old) {
            (false, false, _) => return None,
            (false, true, _) => Move::New,
            (true, false, _) => Move::Gone,
            (true, true, Some(old)) => {
                let (from, to) = (place(&old.tier), place(tier));
                let difference = ranked.expected_loss_usd - old.expected_loss;
                let error = ranked.loss.error_usd.hypot(old.expected_loss_error);
                let told = difference.abs() > TOLD_SHARE * old.expected_loss.abs() && difference.abs() > 2.0 * error;
                match from.cmp(&to) {
                    std::cmp::Ordering::Greater => Move::Up,
                    std::cmp::Ordering::Less => Move::Down,
                    std::cmp::Ordering::Equal if told && difference > 0.0 => Move::Up,
                    std::cmp::Ordering::Equal if told => Move::Down,
                    std::cmp::Ordering::Equal => return None,
                }
            }
            (true, true, None) => return None,
        }
    };
    let why = match (what, old) {
        (Move::Done, _) => Why::Log,
        (_, None) => Why::Inventory,
        // Weather moves every line a little; a report moves this one.
        (_, Some(old)) if reports_differ(old, outlook) => Why::Report,
        (_, Some(old)) => match &old.listed {
            None => Why::ForecastOrInventory,
            Some(listed) if *listed == fingerprint(assembly) => Why::Forecast,
            Some(_) => Why::Inventory,
        },
    };
    let loss = |usd: f64| format!("${usd:.0}");
    let cause = match why {
        Why::Forecast => "the forecast moved",
        Why::Inventory if old.is_none() => "it is new in the list",
        Why::Inventory => "the list says something else of it",
        Why::ForecastOrInventory => "the forecast or the list changed",
        Why::Log => "the log settles it",
        Why::Report => "a report from the site came in",
    };
    let sentence = match (what, old, settled) {
        (Move::Done, _, Some(standing)) => format!("Left out: {} according to the log.", standing.last.word()),
        (Move::New, _, _) => format!("Now {tier}: {cause}; expected loss {}.", loss(ranked.expected_loss_usd)),
        (Move::Gone, Some(old), _) if is_broken(outlook) => {
            format!("Was {}, reported broken: to be inspected, not called.", old.tier)
        }
        (Move::Gone, Some(old), _) => format!("Was {}, now no contact: {cause}.", old.tier),
        (_, Some(old), _) if old.tier != tier => format!(
            "From {} to {tier}: {cause}; expected loss {} to {}.",
            old.tier,
            loss(old.expected_loss),
            loss(ranked.expected_loss_usd)
        ),
        (_, Some(old), _) => format!(
            "Still {tier}: {cause}; expected loss {} to {}.",
            loss(old.expected_loss),
            loss(ranked.expected_loss_usd)
        ),
        _ => String::new(),
    };
    Some(Change {
        assembly_id: assembly.assembly_id.to_string(),
        contact_id: person.map(|person| person.contact_id.to_string()),
        what,
        why,
        was_tier: old.map(|old| old.tier.clone()),
        now_tier: Some(tier.to_owned()),
        was_rank: old.map(|old| old.rank),
        now_rank: Some(ranked.rank),
        was_loss_usd: old.map(|old| old.expected_loss),
        now_loss_usd: Some(ranked.expected_loss_usd),
        was_first_ice: old.and_then(|old| old.first_ice.p10),
        now_first_ice: outlook.first_ice.p10,
        sentence,
    })
}

/// Whether other reports count now than did before.
fn reports_differ(old: &OldAssembly, outlook: &Outlook) -> bool {
    let before = old.reported.as_ref().map_or(&[][..], |told| &told.reports);
    let now = outlook.reported.as_ref().map_or(&[][..], |told| &told.reports);
    before != now
}

/// Marks texts, e-mails and letters that the earlier plan had sent before now: they count as the next attempt, and staff decide whether
/// one is enough. They are kept, because only the staff know whether the earlier plan was carried out.
pub fn mark_repeats(old: &OldPlan, lines: &mut [ContactLine], now: DateTime<Utc>) {
    let mut sent: HashMap<(&str, &str), u8> = HashMap::new();
    for contact in &old.contacts {
        if contact.slot_start.is_some_and(|at| at < now) {
            let count = sent.entry((&contact.contact_id, &contact.channel)).or_insert(0);
            *count = (*count).max(contact.attempt.max(1));
        }
    }
    for line in lines {
        let channel = match line.channel {
            Way::Text => "text",
            Way::Email => "email",
            Way::Letter => "letter",
            _ => continue,
        };
        if let Some(before) = sent.get(&(line.contact_id.as_str(), channel)) {
            line.attempt = before.saturating_add(1);
        }
    }
}

/// Counts of changes for one line on the terminal: `12 new, 30 up, 8 down, 5 gone, 41 done`.
pub fn count_line(changes: &[Change]) -> String {
    [Move::New, Move::Up, Move::Down, Move::Gone, Move::Done]
        .iter()
        .map(|what| {
            let count = changes.iter().filter(|change| change.what == *what).count();
            format!("{count} {}", what.word())
        })
        .collect::<Vec<_>>()
        .join(", ")
}
