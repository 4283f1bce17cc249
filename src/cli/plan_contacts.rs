//! The contact side of `plan`: persons, schedule, words and files.

use crate::faults::{Fault, Faults, Severity};
use crate::freeze::run::offset_k;
use crate::output;
use crate::output::outreach_files::{self, Campaign};
use crate::output::plan::Keeper;
use crate::output::report::Figure;
use crate::output::safe::Folder;
use crate::outreach::about::Facts;
use crate::outreach::after::{self, Queue, Spell, Visit};
use crate::outreach::line::ContactLine;
use crate::outreach::outcome::History;
use crate::outreach::people::Person;
use crate::outreach::replan::{self, OldPlan};
use crate::outreach::stake;
use crate::outreach::thaw::{self, Air, Thaw};
use crate::plan::{Plan, Programme, Reach};
use crate::review::total::Total;
use crate::review::worth::teaches;
use crate::weather::nights::cold_nights;
use chrono::{DateTime, Utc};

/// What the contacts are made from.
pub struct Given<'a> {
    /// What was read.
    pub programme: &'a Programme,
    /// What was found.
    pub plan: &'a Plan<'a>,
    /// The window of the spell.
    pub window: (DateTime<Utc>, DateTime<Utc>),
    /// What came of contacts so far.
    pub history: &'a History,
    /// An earlier plan to compare with.
    pub since: Option<&'a OldPlan>,
    /// Rows that were set aside.
    pub rejected: usize,
    /// Seed of what is drawn at random.
    pub seed: u64,
    /// Whether the files are made for sharing.
    pub redact: bool,
    /// Identity of the plan, for the record to fill.
    pub plan_id: &'a str,
    /// Breaks and loss of the town with their ranges.
    pub total: Option<Total>,
    /// Where the files go that grow with the list.
    pub folder: &'a Folder,
}

/// The contact plan and its files.
pub struct Contacts {
    /// Lines, as `plan.json` carries them.
    pub lines: Vec<ContactLine>,
    /// Short files that are still to be written, by name under the plan's folder.
    pub files: Vec<(String, Vec<u8>)>,
    /// Charts with their file names.
    pub figures: Vec<(&'static str, Figure)>,
    /// What changed against the earlier plan, counted in words.
    pub changed: Option<String>,
    /// Rows that cannot be ranked and have somebody to tell.
    pub unranked: usize,
    /// Who looks after each assembly, `[assemblies]`.
    pub keepers: Vec<Keeper>,
    /// Thaw notices that are due, counted in words.
    pub thaw: Option<String>,
}

/// Makes the contact plan, and writes its files.
///
/// # Errors
/// When a file cannot be made; warnings go to `faults`.
pub fn contacts(given: &Given<'_>, faults: &mut Faults) -> Result<Contacts, Faults> {
    let (programme, found) = (given.programme, given.plan);
    let config = &programme.loaded.config;
    let (reach, told) = Reach::of(programme, found, given.history);
    faults.append(told);
    let Reach {
        people,
        contacts: mut plan,
        messages,
    } = reach;
    if let Some(old) = given.since {
        replan::mark_repeats(old, &mut plan.lines, found.stand.now);
    }
    let sites: Vec<(usize, f64)> = found
        .places()
        .iter()
        .map(|place| (place.series, offset_k(place)))
        .collect();
    let air = Air {
        series: &programme.loaded.series,
        sites: &sites,
    };
    let thaw = Reach::with_input(programme, found, &people, given.history, |input| {
        thaw::notices(input, &air, &config.outreach)
    });
    tell_thaw(&thaw, given, faults);
    let over = given.plan.stand.over;
    let visits = Some(after_visits(given, &people)).filter(|(_, visits)| over || !visits.is_empty());
    let nights = cold_nights(&programme.loaded.series, programme.zone);
    let campaign = Campaign {
        nights: &nights,
        unranked: &programme.loaded.inventory.unranked,
        rejected: given.rejected,
        plan: &plan,
        facts: Facts {
            people: &people,
            assemblies: &given.plan.assemblies,
            outlooks: &given.plan.outlooks,
            words: given.plan.words,
        },
        messages: &messages,
        config,
        issued: given.plan.stand.now,
        // The spell is its cold nights, not the hours that the file happens to hold.
        window: nights
            .first()
            .zip(nights.last())
            .map_or(given.window, |(first, last)| (first.from, last.to)),
        redact: given.redact,
        ranked: &given.plan.ranked,
        thaw: &thaw,
        over: given.plan.stand.over,
        total: given.total,
        visits: visits.as_ref().filter(|_| over).map(|(_, visits)| {
            let drawn = visits.iter().filter(|visit| visit.queue == Queue::Sample).count();
            (visits.len(), drawn)
        }),
    };
    outreach_files::write(&campaign, given.folder)?;
    let mut files = Vec::new();
    let mut changed = None;
    if let Some(old) = given.since {
        let now = replan::Now {
            assemblies: &given.plan.assemblies,
            outlooks: &given.plan.outlooks,
            ranked: &given.plan.ranked,
            people: &people,
            history: given.history,
        };
        let found = replan::changes(old, &now);
        changed = Some(replan::count_line(&found));
        files.push((
            "changes.csv".into(),
            output::changes::csv(&found, &given.plan.words).map_err(one)?,
        ));
    }
    if let Some((spell, visits)) = &visits {
        files.extend(after_files(given, spell, visits)?);
    }
    let figures = outreach_files::figure(&plan, config).into_iter().collect();
    Ok(Contacts {
        keepers: keepers(given, &people),
        lines: plan.lines,
        files,
        figures,
        changed,
        unranked: if given.redact { 0 } else { programme.loaded.inventory.unranked.len() },
        thaw: (!thaw.notices.is_empty() && !given.redact).then(|| {
            format!(
                "{} thaw notices to send, in thaw_notices.csv with their hours; {} people at risk get none, without text and e-mail or opted out",
                thaw.notices.len(),
                thaw.without
            )
        }),
    })
}

/// Who looks after each assembly and until when acting still helps.
fn keepers(given: &Given<'_>, people: &[Person]) -> Vec<Keeper> {
    let mut keepers = vec![Keeper::default(); given.plan.assemblies.len()];
    for person in people {
        for at in &person.assemblies {
            if let Some(keeper) = keepers.get_mut(*at) {
                keeper.contact_id.clone_from(&person.contact_id);
            }
        }
    }
    let config = &given.programme.loaded.config.outreach;
    Reach::with_input(given.programme, given.plan, people, given.history, |input| {
        for part in stake::stakes(input, config).into_iter().flat_map(|stake| stake.parts) {
            let times = || part.nights.iter().map(|night| night.act_by);
            if let Some(keeper) = keepers.get_mut(part.assembly) {
                keeper.act_by = times().filter(|by| *by >= input.now).min().or_else(|| times().max());
            }
        }
    });
    keepers
}

fn one(fault: Fault) -> Faults {
    Faults(vec![fault])
}

/// Tells which thaw notices are due, and for whom there is none.
///
/// Faults, all notes: `BW-P75` notices are due, `BW-P76` the thaw is too long gone for any.
fn tell_thaw(thaw: &Thaw, given: &Given<'_>, faults: &mut Faults) {
    if !thaw.notices.is_empty() || thaw.without > 0 {
        let place = if given.redact || thaw.notices.is_empty() {
            ""
        } else {
            ", listed in thaw_notices.csv with the hours between which each is to be sent"
        };
        faults.push(
            Fault::new(
                "BW-P75",
                Severity::Note,
                format!(
                    "thaw is near: {} notices to look for leaks are due{place}; {} people at risk get none, without text and e-mail or opted out",
                    thaw.notices.len(),
                    thaw.without
                ),
            )
            .remedy("Send them from 6 h before the air rises above freezing to 48 h after; tell the others by telephone or radio."),
        );
    } else if thaw.too_late > 0 && given.plan.stand.over {
        faults.push(
            Fault::new(
                "BW-P76",
                Severity::Note,
                "the thaw began more than 48 h before the time of planning: no thaw notice is listed",
            )
            .remedy("Plan again with --now at the time of the thaw if notices are still to go."),
        );
    }
}

/// Whom to visit: after the spell, and before its end those whom a report asks for.
fn after_visits<'a>(given: &Given<'a>, people: &'a [Person]) -> (Spell<'a>, Vec<Visit>) {
    let day = |time: DateTime<Utc>| time.with_timezone(&given.plan.words.zone).date_naive();
    let spell = Spell {
        assemblies: &given.plan.assemblies,
        outlooks: &given.plan.outlooks,
        ranked: &given.plan.ranked,
        people,
        history: given.history,
        first_day: day(if given.plan.stand.over {
            given.plan.stand.now.max(given.window.1)
        } else {
            given.plan.stand.now
        })
        .succ_opt()
        .unwrap_or_else(|| day(given.plan.stand.now)),
        seed: given.seed,
        teaches: &teaches,
    };
    let config = &given.programme.loaded.config.outreach.after;
    let visits = if given.plan.stand.over {
        after::visits(&spell, config)
    } else {
        after::visits_now(&spell, config)
    };
    (spell, visits)
}

/// The list of visits; after the spell the form to fill too, and the words that it knows.
fn after_files(given: &Given<'_>, spell: &Spell<'_>, visits: &[Visit]) -> Result<Vec<(String, Vec<u8>)>, Faults> {
    let day = |time: DateTime<Utc>| time.with_timezone(&given.plan.words.zone).date_naive();
    let event = format!("cold spell of {} to {}", day(given.window.0), day(given.window.1));
    let list = (
        "inspection.csv".into(),
        output::after::inspection_csv(visits, spell, given.redact).map_err(one)?,
    );
    if !given.plan.stand.over {
        return Ok(vec![list]);
    }
    Ok(vec![
        list,
        (
            "inspection_record.csv".into(),
            output::after::record_csv(visits, spell, &event, given.plan_id, &given.plan.words).map_err(one)?,
        ),
        ("inspection_words.csv".into(), output::after::words_csv().map_err(one)?),
    ])
}
