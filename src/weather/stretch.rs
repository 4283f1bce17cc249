//! Which stretch of a long series is planned: a plan is made for one cold spell, not for a year.

use super::local_time::{FoldPolicy, GapPolicy, Resolver, Written, parse};
use super::series::Series;
use super::spells::{COLD_C, Cut, around_coldest, runs};
use super::window::keep_between;
use crate::faults::{Fault, Faults, Severity};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

/// Longest series of which nothing is asked, days: forecasts reach sixteen at most, and what lies behind belongs to the spell for a few days
/// (judgement). A longer one is planned as it comes, for the inspection after a winter, and that is told; a typical year never.
pub const LONGEST_DAYS: i64 = 21;
/// Longest record that is planned as one, days: a winter, from October to March (judgement).
pub const LONGEST_WINTER_DAYS: i64 = 183;
/// Stretches that are named to choose from.
const NAMED: usize = 3;

/// What the user asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pick {
    /// The stretch with the lowest air, or the one with so many colder ones before it, counted from 1.
    Coldest(usize),
    /// From one time to another; a date stands for its whole day in the zone of the plan.
    Between(Edge, Edge),
}

/// An end of a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edge {
    /// A whole day.
    Day(NaiveDate),
    /// A time with its offset, or a local one.
    Time(Written),
}

impl Pick {
    /// Reads what was typed: `coldest`, `2` for the second coldest, or `2021-02-10/2021-02-18` (an interval of ISO 8601).
    ///
    /// # Errors
    /// `BW-C11` when it is none of these.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let wrong = || {
            Fault::new("BW-C11", Severity::Fatal, "this names no stretch of a series")
                .column("--spell")
                .value(text)
                .expected("coldest, a number (2 is the second coldest), or two dates such as 2021-02-10/2021-02-18")
                .remedy("Correct it.")
        };
        let typed = text.trim();
        if typed.eq_ignore_ascii_case("coldest") {
            return Ok(Pick::Coldest(1));
        }
        if let Ok(place) = typed.parse::<usize>() {
            return if place > 0 {
                Ok(Pick::Coldest(place))
            } else {
                Err(wrong())
            };
        }
        let (from, to) = typed.split_once('/').ok_or_else(wrong)?;
        let edge = |text: &str| {
            let day = text.trim().parse::<NaiveDate>().ok().map(Edge::Day);
            day.or_else(|| parse(text).map(Edge::Time)).ok_or_else(wrong)
        };
        Ok(Pick::Between(edge(from)?, edge(to)?))
    }
}

impl Edge {
    /// The instant; `end` asks for the last hour of a day.
    fn at(self, zone: Tz, end: bool) -> Option<DateTime<Utc>> {
        let local = match self {
            Edge::Time(Written::Instant(time)) => return Some(time),
            Edge::Time(Written::Local(local)) => local,
            Edge::Day(day) => day.and_hms_opt(if end { 23 } else { 0 }, 0, 0)?,
        };
        Resolver::new(zone, FoldPolicy::Earlier, GapPolicy::OffsetBefore)
            .resolve(local)
            .ok()
    }
}

/// A cold stretch of some series that cover the same hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// First hour.
    pub start: DateTime<Utc>,
    /// Last hour.
    pub end: DateTime<Utc>,
    /// Lowest air of any of the series, °C.
    pub min_c: f64,
}

/// The cold stretches of series that cover the same hours, the one with the lowest air first; of two as cold the earlier. Where nothing is
/// cold, the hours around the coldest.
pub fn stretches(series: &[Series]) -> Vec<Stretch> {
    let Some(mut lowest) = series.first().cloned() else {
        return Vec::new();
    };
    for other in series.iter().skip(1) {
        for (held, air) in lowest.air_c.iter_mut().zip(&other.air_c) {
            *held = held.min(*air);
        }
    }
    let mut cuts: Vec<Cut> = runs(&lowest, COLD_C).into_iter().flat_map(|(_, cuts)| cuts).collect();
    if cuts.is_empty() {
        cuts.extend(around_coldest(&lowest));
    }
    cuts.sort_by(|a, b| a.severity.min_c.total_cmp(&b.severity.min_c).then(a.from.cmp(&b.from)));
    cuts.iter()
        .map(|cut| Stretch {
            start: lowest.time(cut.from),
            end: lowest.time(cut.to),
            min_c: cut.severity.min_c,
        })
        .collect()
}

/// Cuts series that cover the same hours to what was picked; returns it, or nothing where the series are planned as they come.
///
/// `typical` says that one of them is a typical year, which never was one spell.
///
/// Faults: `BW-P16` nothing was picked of more than [`LONGEST_WINTER_DAYS`], or of more than [`LONGEST_DAYS`] of a typical year (fatal), or of
/// more than [`LONGEST_DAYS`] of a record (note); or more than a winter was picked (fatal); `BW-P17` there is no such stretch (fatal); `BW-P18` what was cut
/// out (note). Where one is fatal the series are left as they are.
pub fn choose(series: &mut [Series], pick: Option<Pick>, typical: bool, zone: Tz) -> (Option<Stretch>, Faults) {
    let mut faults = Faults::new();
    let Some((first, last)) = series.first().map(|one| (one.start, one.end())) else {
        return (None, faults);
    };
    let Some(pick) = pick else {
        let most = if typical { LONGEST_DAYS } else { LONGEST_WINTER_DAYS };
        if last - first > TimeDelta::days(most) {
            faults.push(too_long(series, first, last, zone));
        } else if last - first > TimeDelta::days(LONGEST_DAYS) {
            let mut fault = too_long(series, first, last, zone);
            fault.severity = Severity::Note;
            fault.what = format!(
                "the {} days of the series are planned as one",
                (last - first).num_days()
            );
            faults.push(fault);
        }
        return (None, faults);
    };
    let found = match pick {
        Pick::Coldest(place) => nth(series, place, zone),
        Pick::Between(from, to) => between(series, from.at(zone, false), to.at(zone, true), zone),
    };
    let stretch = match found {
        Ok(stretch) => stretch,
        Err(fault) => {
            faults.push(fault);
            return (None, faults);
        }
    };
    keep_between(series, stretch.start, stretch.end);
    faults.push(
        Fault::new(
            "BW-P18",
            Severity::Note,
            format!(
                "of the series this stretch is planned, as if it lay ahead: {}",
                told(&stretch, zone)
            ),
        )
        .column("--spell"),
    );
    (Some(stretch), faults)
}

fn nth(series: &[Series], place: usize, zone: Tz) -> Result<Stretch, Fault> {
    let all = stretches(series);
    all.get(place - 1).copied().ok_or_else(|| {
        Fault::new(
            "BW-P17",
            Severity::Fatal,
            format!("the series has {} cold stretches, not {place}", all.len()),
        )
        .column("--spell")
        .value(&place.to_string())
        .expected(names(&all, zone))
        .remedy("Ask for one of these, or for dates.")
    })
}

fn between(
    series: &[Series],
    from: Option<DateTime<Utc>>,
    to: Option<DateTime<Utc>>,
    zone: Tz,
) -> Result<Stretch, Fault> {
    let (first, last) = series
        .first()
        .map_or_else(Default::default, |one| (one.start, one.end()));
    let no_such = || {
        let span = format!("{} to {}", day(first, zone), day(last, zone));
        Fault::new("BW-P17", Severity::Fatal, "the series does not hold this stretch")
            .column("--spell")
            .expected(format!("two dates in their order, within {span}"))
            .remedy("Correct the dates.")
    };
    let (from, to) = from.zip(to).ok_or_else(no_such)?;
    let (start, end) = (from.max(first), to.min(last));
    if end - start < TimeDelta::hours(super::window::LEAST_HOURS) {
        return Err(no_such());
    }
    if end - start > TimeDelta::days(LONGEST_WINTER_DAYS) {
        return Err(too_long(series, start, end, zone));
    }
    let hour = |one: &Series, time: DateTime<Utc>| usize::try_from((time - one.start).num_hours()).unwrap_or(0);
    let min_c = series
        .iter()
        .flat_map(|one| one.air_c.get(hour(one, start)..=hour(one, end)).unwrap_or_default())
        .copied()
        .fold(f64::INFINITY, f64::min);
    Ok(Stretch { start, end, min_c })
}

fn too_long(series: &[Series], start: DateTime<Utc>, end: DateTime<Utc>, zone: Tz) -> Fault {
    Fault::new(
        "BW-P16",
        Severity::Fatal,
        format!(
            "{} days are no cold spell: a plan is made for one, or for one winter that came",
            (end - start).num_days()
        ),
    )
    .value(&format!("{} to {}", day(start, zone), day(end, zone)))
    .expected("a forecast or a record of some days, or --spell with the stretch to plan")
    .remedy(format!(
        "Add --spell coldest, or --spell 2 and so on, or --spell with two dates: {}.",
        names(&stretches(series), zone)
    ))
}

fn names(all: &[Stretch], zone: Tz) -> String {
    let named: Vec<String> = all
        .iter()
        .take(NAMED)
        .enumerate()
        .map(|(at, stretch)| format!("{} is {}", at + 1, told(stretch, zone)))
        .collect();
    named.join("; ")
}

fn told(stretch: &Stretch, zone: Tz) -> String {
    format!(
        "{}/{} with {:.1} °C ({:.0} °F)",
        day(stretch.start, zone),
        day(stretch.end, zone),
        stretch.min_c,
        crate::units::f_from_c(stretch.min_c)
    )
}

fn day(time: DateTime<Utc>, zone: Tz) -> String {
    time.with_timezone(&zone).format("%Y-%m-%d").to_string()
}
