//! Thaw notices: ice splits metal in the night, and the leak shows when it melts.
//!
//! Calls about leaks peak 6 to 48 h after the air has risen above freezing (common practice), so a notice to look for leaks goes
//! out from 6 h before the rise to 48 h after it.

use super::clock;
use super::config::OutreachConfig;
use super::line::{self, ContactLine, Way};
use super::outcome::Outcome;
use super::people::Consent;
use super::schedule;
use super::stake::{self, PlanInput, Stake};
use crate::inventory::Channel;
use crate::text::Text;
use crate::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::HashMap;

/// Hours before the rise from which a notice may go (common practice, no source).
pub const BEFORE_H: i64 = 6;
/// Hours after the rise until which it may go (common practice, no source).
pub const AFTER_H: i64 = 48;
/// A rise holds when the air stays above freezing for so many hours (judgement: an hour at noon melts little).
pub const HOLDS_H: usize = 3;
/// No notice is listed that would go later than so many hours from now: the forecast still moves, and a later plan lists it (judgement).
pub const AHEAD_H: i64 = 48;

/// The air over the sites: `sites[i]` is the series and the offset, K, of assembly `i`.
#[derive(Clone, Copy)]
pub struct Air<'a> {
    /// The weather.
    pub series: &'a [Series],
    /// `[assemblies]`
    pub sites: &'a [(usize, f64)],
}

/// One notice: a line of way text or e-mail with its time, and the rise that it is about.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Whom, how, when, about which assemblies.
    pub line: ContactLine,
    /// The first hour above freezing.
    pub rise: DateTime<Utc>,
    /// Until when it makes sense to send it.
    pub until: DateTime<Utc>,
}

/// The notices of a plan, and who gets none.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Thaw {
    /// By time of sending.
    pub notices: Vec<Notice>,
    /// Persons at risk for whom a rise is near and whom neither text nor e-mail reaches.
    pub without: usize,
    /// Persons at risk whose last rise is more than 48 h gone.
    pub too_late: usize,
}

/// Hours at which the air at a site rises above 0 °C for [`HOLDS_H`] hours or to the end of the series, after at least one hour at or
/// below it.
pub fn rises(series: &Series, offset_k: f64) -> Vec<DateTime<Utc>> {
    let above: Vec<bool> = series.air_c.iter().map(|air_c| air_c + offset_k > 0.0).collect();
    let mut rises = Vec::new();
    let mut frozen = false;
    for hour in 0..above.len() {
        if !above[hour] {
            frozen = true;
        } else if frozen && above[hour..].iter().take(HOLDS_H).all(|above| *above) {
            rises.push(series.time(hour));
            frozen = false;
        }
    }
    rises
}

/// The notices that are due within [`AHEAD_H`] hours.
///
/// Each person at risk hears of one rise after first ice, over all its assemblies: the last one that has begun or is at most 6 h away while
/// its 48 h last, else the next to come. Quiet hours hold for texts. People who were spoken to before hear of it too, since acting in time does not rule a leak out; those who
/// declined do not.
pub fn notices(input: &PlanInput<'_>, air: &Air<'_>, config: &OutreachConfig) -> Thaw {
    let stakes = stake::stakes(input, config);
    let mut known: HashMap<(usize, u64), Vec<DateTime<Utc>>> = HashMap::new();
    let mut thaw = Thaw::default();
    let (mut texts, mut emails) = (Vec::new(), Vec::new());
    for stake in &stakes {
        let mut next: Option<DateTime<Utc>> = None;
        let mut past = false;
        for part in &stake.parts {
            let Some(&(series, offset_k)) = air.sites.get(part.assembly) else {
                continue;
            };
            let Some(weather) = air.series.get(series) else {
                continue;
            };
            let rises = known
                .entry((series, offset_k.to_bits()))
                .or_insert_with(|| rises(weather, offset_k));
            let ice = input.outlooks.get(part.assembly).and_then(|outlook| {
                let ice = outlook.first_ice;
                ice.p10.or(ice.p50)
            });
            let after_ice = rises.iter().copied().filter(|rise| ice.is_none_or(|ice| *rise >= ice));
            let mut first = None;
            let mut begun = None;
            for rise in after_ice {
                if rise + TimeDelta::hours(AFTER_H) < input.now {
                    past = true;
                } else if rise - TimeDelta::hours(BEFORE_H) <= input.now {
                    begun = Some(rise);
                } else {
                    first = first.or(Some(rise));
                }
            }
            if let Some(rise) = begun.or(first) {
                next = Some(next.map_or(rise, |next| next.min(rise)));
            }
        }
        let Some(rise) = next else {
            thaw.too_late += usize::from(past);
            continue;
        };
        send(stake, rise, input, config, &mut texts, &mut emails, &mut thaw.without);
    }
    // One e-mail a mailbox, as before the spell; the earliest rise names the hour.
    emails.sort_by(|a: &Notice, b: &Notice| (a.rise, &a.line.contact_id).cmp(&(b.rise, &b.line.contact_id)));
    let times: HashMap<Text, (DateTime<Utc>, DateTime<Utc>)> = emails
        .iter()
        .map(|notice| (notice.line.contact_id.clone(), (notice.rise, notice.until)))
        .collect();
    let mut joined: Vec<ContactLine> = emails.into_iter().map(|notice| notice.line).collect();
    line::one_a_mailbox(&mut joined, 0);
    let emails = joined.into_iter().filter_map(|line| {
        let (rise, until) = *times.get(&line.contact_id)?;
        Some(Notice { line, rise, until })
    });
    thaw.notices = texts.into_iter().chain(emails).collect();
    thaw.notices.sort_by(|a, b| {
        (a.line.slot_start, a.line.channel, &a.line.contact_id).cmp(&(
            b.line.slot_start,
            b.line.channel,
            &b.line.contact_id,
        ))
    });
    thaw
}

#[allow(clippy::too_many_arguments)]
fn send(
    stake: &Stake<'_>,
    rise: DateTime<Utc>,
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    texts: &mut Vec<Notice>,
    emails: &mut Vec<Notice>,
    without: &mut usize,
) {
    let from = (rise - TimeDelta::hours(BEFORE_H)).max(input.now);
    let until = rise + TimeDelta::hours(AFTER_H);
    if from > input.now + TimeDelta::hours(AHEAD_H) {
        return;
    }
    let person = &input.people[stake.person];
    let declined = stake
        .standing
        .is_some_and(|standing| standing.last == Outcome::Declined);
    if person.consent != Consent::Allowed || declined {
        *without += 1;
        return;
    }
    let notice = |way: Way, when: DateTime<Utc>| {
        let reason = format!(
            "air above freezing from {}",
            rise.with_timezone(&input.zone).format("%a %b %-d, %-I %p")
        );
        let mut line = schedule::line(input, stake, way, Some(reason.into()));
        line.slot_start = Some(when);
        line.slot_end = Some(until);
        line.in_time = true;
        line.act_by = None;
        Notice { line, rise, until }
    };
    let mut reached = false;
    let text_at = clock::after_quiet(from, input.zone, &config.shift);
    if person.takes(Channel::Text) && !stake.wrong_number() && text_at <= until {
        texts.push(notice(Way::Text, text_at));
        reached = true;
    }
    if person.takes(Channel::Email) {
        emails.push(notice(Way::Email, from));
        reached = true;
    }
    *without += usize::from(!reached);
}
