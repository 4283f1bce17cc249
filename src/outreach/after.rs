//! After the spell: what to inspect and test, in which order, on which day.

use super::case::Case;
use super::config::{AfterConfig, VisitOrder};
use super::outcome::History;
use super::people::Person;
use crate::freeze::{Outlook, Seen};
use crate::inventory::{Assembly, CustomerClass, DeviceType, Service};
use crate::ranking::{Ranked, is_broken};
use chrono::{Datelike, Days, Months, NaiveDate};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Of the list, so many are drawn at random and must be looked at, or all if there are fewer (judgement: enough for a share known to
/// ± 13 of 100).
pub const MUST_LOOK: usize = 60;

/// How pressing an inspection is, the most pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Queue {
    /// Reported broken while the spell went on.
    Reported,
    /// Critical customers.
    Critical,
    /// Fire lines.
    Fire,
    /// Assemblies against a health hazard (reduced pressure), in use.
    HealthHazard,
    /// Other lines in use.
    InUse,
    /// Irrigation and idle lines: before they are turned on.
    BeforeTurnOn,
    /// Drawn at random, so that undamaged ones are counted too.
    Sample,
}

impl Queue {
    /// The words that files use.
    pub fn words(self) -> &'static str {
        match self {
            Queue::Reported => "reported broken",
            Queue::Critical => "critical customer",
            Queue::Fire => "fire line",
            Queue::HealthHazard => "health hazard, in use",
            Queue::InUse => "in use",
            Queue::BeforeTurnOn => "before it is turned on",
            Queue::Sample => "drawn at random",
        }
    }
}

/// Whether a field test goes with the inspection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Test {
    /// The yearly or two-yearly test is overdue.
    Overdue,
    /// It falls due within the days in which an assembly that froze is to be looked at.
    FallsDue,
    /// No last test is known.
    Unknown,
    /// Not due: a test only if it leaked, was repaired, moved or replaced.
    IfDamaged,
    /// This kind is inspected, not tested with a gauge.
    NotTestable,
}

impl Test {
    /// The words that files use.
    pub fn words(self) -> &'static str {
        match self {
            Test::Overdue => "test now: overdue",
            Test::FallsDue => "test now: falls due",
            Test::Unknown => "test now: no last test known",
            Test::IfDamaged => "test only if it leaked, or was repaired, moved or replaced",
            Test::NotTestable => "no gauge test for this kind: inspect",
        }
    }

    /// Whether a tester comes with a gauge in any case.
    pub fn now(self) -> bool {
        matches!(self, Test::Overdue | Test::FallsDue | Test::Unknown)
    }
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// Index of the assembly.
    pub assembly: usize,
    /// How pressing.
    pub queue: Queue,
    /// Chance of damage; `None` in a deterministic run.
    pub p_damage: Option<f64>,
    /// Date on which the regular test falls due.
    pub due: Option<NaiveDate>,
    /// Whether a field test goes with it.
    pub test: Test,
    /// Day of the visit, as far as the testers' capacity allows; `None` for the random sample, which needs no tester.
    pub day: Option<NaiveDate>,
    /// Tester, from 1.
    pub tester: Option<usize>,
    /// Whether the visit comes later than the days within which an assembly that froze is to be looked at.
    pub late: bool,
    /// Whether it must be looked at even when days run out: the random part of the list, and all that were drawn beside it. Those
    /// that testers reach in order of priority are no sample; these are.
    pub must_look: bool,
    /// What a look would teach, as a share of what a look at a coin-flip would; `None` without a chance.
    pub teaches: Option<f64>,
    /// Chance that it was to be looked at, for `must_look`: its part over what it was drawn from.
    pub inclusion_probability: Option<f64>,
    /// What came of the contact before the spell: the last outcome and when, or empty.
    pub outreach: String,
}

/// What the list is made from.
#[derive(Clone, Copy)]
pub struct Spell<'a> {
    /// Assemblies.
    pub assemblies: &'a [Assembly],
    /// Their outlooks over the hours that were observed.
    pub outlooks: &'a [Arc<Outlook>],
    /// Their ranking.
    pub ranked: &'a [Ranked],
    /// Persons.
    pub people: &'a [Person],
    /// What came of contacts.
    pub history: &'a History,
    /// First day on which visits are possible.
    pub first_day: NaiveDate,
    /// Seed of the random sample.
    pub seed: u64,
    /// What a look teaches at a chance of damage, as a share of what it does at a coin-flip.
    pub teaches: &'a (dyn Fn(f64) -> f64 + Sync),
}

/// Years between tests: residential by its own interval, everything else by the commercial one.
pub fn interval_years(assembly: &Assembly, config: &AfterConfig) -> f64 {
    match (assembly.customer_class, assembly.service) {
        (CustomerClass::Residential, service) if service != Service::Fire => config.residential_interval_years,
        _ => config.commercial_interval_years,
    }
}

/// Date on which the next regular test falls due; `None` when no last test is known or the date cannot be.
pub fn due(assembly: &Assembly, config: &AfterConfig) -> Option<NaiveDate> {
    let months = (interval_years(assembly, config) * 12.0).round();
    let months = Months::new(months.clamp(0.0, 1_200.0) as u32);
    assembly.last_test?.checked_add_months(months)
}

fn test_of(assembly: &Assembly, first_day: NaiveDate, config: &AfterConfig) -> Test {
    // An atmospheric vacuum breaker has no test cocks.
    if assembly.device_type == DeviceType::Avb {
        return Test::NotTestable;
    }
    let horizon = first_day.checked_add_days(Days::new(u64::from(config.within_days)));
    match (due(assembly, config), horizon) {
        (None, _) => Test::Unknown,
        (Some(due), _) if due < first_day => Test::Overdue,
        (Some(due), Some(horizon)) if due <= horizon => Test::FallsDue,
        _ => Test::IfDamaged,
    }
}

fn queue_of(assembly: &Assembly, outlook: &Outlook) -> Queue {
    if is_broken(outlook) {
        Queue::Reported
    } else if assembly.critical.is_some() {
        Queue::Critical
    } else if assembly.service == Service::Fire {
        Queue::Fire
    } else if Case::of(assembly) == Case::Irrigation || !is_in_use(assembly) {
        Queue::BeforeTurnOn
    } else if matches!(assembly.device_type, DeviceType::Rp | DeviceType::Rpda) {
        Queue::HealthHazard
    } else {
        Queue::InUse
    }
}

fn is_in_use(assembly: &Assembly) -> bool {
    assembly.winter_use == crate::inventory::WinterUse::InUse
}

/// The list: assemblies that froze or may have, the most pressing first, each with its day; then a random sample of the others.
///
/// In the order of learning those that nothing presses come by what a look would teach, whatever their queue. Inside a queue the greatest chance of damage comes first, then the earliest due date, then the identifier. A large assembly
/// takes a larger part of a tester's day.
pub fn visits(spell: &Spell<'_>, config: &AfterConfig) -> Vec<Visit> {
    let mut person_of: Vec<Option<&Person>> = vec![None; spell.assemblies.len()];
    for person in spell.people {
        for &index in &person.assemblies {
            if let Some(place) = person_of.get_mut(index) {
                *place = Some(person);
            }
        }
    }
    let mut listed = Vec::new();
    let mut others = Vec::new();
    for ranked in spell.ranked {
        let (Some(assembly), Some(outlook)) = (spell.assemblies.get(ranked.index), spell.outlooks.get(ranked.index))
        else {
            continue;
        };
        let froze = match outlook.p_ice {
            Some(p_ice) => p_ice >= config.least_p_ice && p_ice > 0.0,
            None => outlook.first_ice.p50.is_some(),
        };
        let visit = |queue: Queue| Visit {
            assembly: ranked.index,
            queue,
            p_damage: outlook.p_damage,
            due: due(assembly, config),
            test: test_of(assembly, spell.first_day, config),
            day: None,
            tester: None,
            late: false,
            must_look: false,
            teaches: outlook.p_damage.map(spell.teaches),
            inclusion_probability: None,
            outreach: outreach(person_of.get(ranked.index).copied().flatten(), spell),
        };
        if froze || reported(outlook) {
            listed.push((visit(queue_of(assembly, outlook)), ranked.rank));
        } else {
            others.push(visit(Queue::Sample));
        }
    }
    let id = |visit: &Visit| {
        spell
            .assemblies
            .get(visit.assembly)
            .map(|assembly| assembly.assembly_id.as_str())
    };
    listed.sort_by(|(a, rank_a), (b, rank_b)| {
        let chance = |visit: &Visit| visit.p_damage.unwrap_or(0.0);
        let learning = config.order == VisitOrder::Learning;
        let teaches = |visit: &Visit| match visit.teaches {
            Some(teaches) if learning && !is_pressing(visit.queue) => teaches,
            _ => 0.0,
        };
        is_pressing(b.queue)
            .cmp(&is_pressing(a.queue))
            .then(teaches(b).total_cmp(&teaches(a)))
            .then(a.queue.cmp(&b.queue))
            .then(chance(b).total_cmp(&chance(a)))
            // A deterministic run has no chances; its order of severity stands in.
            .then_with(|| {
                if a.p_damage.is_none() {
                    rank_a.cmp(rank_b)
                } else {
                    std::cmp::Ordering::Equal
                }
            })
            .then(a.due.cmp(&b.due))
            .then_with(|| id(a).cmp(&id(b)))
    });
    let mut visits: Vec<Visit> = listed.into_iter().map(|(visit, _)| visit).collect();
    mark_random_part(&mut visits, spell.seed);
    place(&mut visits, spell, config);
    others.sort_by(|a, b| id(a).cmp(&id(b)));
    let all = others.len();
    let mut drawn = sample(others, config.random_sample, spell.seed);
    let share = drawn.len() as f64 / all.max(1) as f64;
    for visit in &mut drawn {
        visit.must_look = true;
        visit.inclusion_probability = Some(share);
    }
    visits.extend(drawn);
    visits
}

/// Whether no order puts another queue before it.
fn is_pressing(queue: Queue) -> bool {
    matches!(queue, Queue::Reported | Queue::Critical | Queue::Fire)
}

/// Whether somebody must look because of what was reported: broken, or ice where the model has none.
pub fn reported(outlook: &Outlook) -> bool {
    let told = outlook.reported.as_ref();
    told.is_some_and(|told| {
        told.broken() || (told.contradicted() && told.last().is_some_and(|last| last.seen == Seen::Ice))
    })
}

/// While the spell goes on: whom to look at already, because it was reported.
pub fn visits_now(spell: &Spell<'_>, config: &AfterConfig) -> Vec<Visit> {
    let at = |ranked: &&Ranked| {
        spell
            .outlooks
            .get(ranked.index)
            .is_some_and(|outlook| reported(outlook))
    };
    let ranked: Vec<Ranked> = spell.ranked.iter().filter(at).cloned().collect();
    let told = Spell {
        ranked: &ranked,
        ..*spell
    };
    visits(&told, config)
}

/// Marks a part of the list, drawn at random before days are given out.
fn mark_random_part(visits: &mut [Visit], seed: u64) {
    let all = visits.len();
    let places: Vec<usize> = (0..all).collect();
    // A stream of its own: the other sample keeps its draw.
    let drawn = sample(places, MUST_LOOK, seed ^ 0x6d75_7374_6c6f_6f6b);
    let share = drawn.len() as f64 / all.max(1) as f64;
    for at in drawn {
        visits[at].must_look = true;
        visits[at].inclusion_probability = Some(share);
    }
}

fn outreach(person: Option<&Person>, spell: &Spell<'_>) -> String {
    let Some(person) = person else { return String::new() };
    let ids = person
        .assemblies
        .iter()
        .filter_map(|&index| spell.assemblies.get(index))
        .map(|assembly| assembly.assembly_id.as_str());
    spell
        .history
        .of(&person.contact_id, ids)
        .map(|standing| {
            format!(
                "{} {}",
                standing.last.word(),
                standing.last_at.format("%Y-%m-%dT%H:%MZ")
            )
        })
        .unwrap_or_default()
}

/// Gives each visit a day and a tester, in order, the first that has room.
fn place(visits: &mut [Visit], spell: &Spell<'_>, config: &AfterConfig) {
    if config.testers == 0 {
        return;
    }
    let last = spell
        .first_day
        .checked_add_days(Days::new(u64::from(config.within_days)));
    // Share of the day that is gone, by day and tester; small visits fill what large ones leave.
    let mut days: Vec<(NaiveDate, Vec<f64>)> = Vec::new();
    let mut first_open = 0;
    for visit in visits.iter_mut() {
        let large = spell
            .assemblies
            .get(visit.assembly)
            .is_some_and(|assembly| assembly.nominal_size.inches() > 2.0);
        let share = 1.0
            / if large {
                config.large_per_day
            } else {
                config.small_per_day
            }
            .max(0.01);
        let mut at = first_open;
        loop {
            if at == days.len() {
                let next = match days.last() {
                    None => Some(spell.first_day),
                    Some((day, _)) => day.succ_opt(),
                };
                let Some(day) = next.and_then(|day| working(day, config)) else {
                    return;
                };
                days.push((day, vec![0.0; config.testers]));
            }
            let (day, gone) = &mut days[at];
            // A visit that is longer than a day takes the day alone.
            let open = gone.iter().position(|gone| *gone + share <= 1.0 + 1e-9 || *gone == 0.0);
            if let Some(tester) = open {
                gone[tester] += share;
                visit.day = Some(*day);
                visit.tester = Some(tester + 1);
                visit.late = last.is_some_and(|last| *day > last);
                break;
            }
            at += 1;
            // Days without room for even the smallest visit need not be looked at again.
            let smallest = 1.0 / config.small_per_day.max(config.large_per_day).max(0.01);
            while first_open < days.len() && days[first_open].1.iter().all(|gone| *gone + smallest > 1.0 + 1e-9) {
                first_open += 1;
            }
            at = at.max(first_open);
        }
    }
}

fn working(mut day: NaiveDate, config: &AfterConfig) -> Option<NaiveDate> {
    while !config.weekends && day.weekday().number_from_monday() > 5 {
        day = day.succ_opt()?;
    }
    Some(day)
}

/// Draws without replacement; the same seed draws the same.
fn sample<T>(mut others: Vec<T>, count: usize, seed: u64) -> Vec<T> {
    let mut random = Pcg64::seed_from_u64(seed);
    let count = count.min(others.len());
    let mut drawn = BTreeSet::new();
    // Floyd's method: each subset of that size is equally likely.
    for top in others.len() - count..others.len() {
        let pick = ((u128::from(random.next_u64()) * (top as u128 + 1)) >> 64) as usize;
        if !drawn.insert(pick) {
            drawn.insert(top);
        }
    }
    let mut at = 0;
    others.retain(|_| {
        at += 1;
        drawn.contains(&(at - 1))
    });
    others
}
