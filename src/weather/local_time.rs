//! Local times without an offset, and the two hours a year in which they lie.
//!
//! When clocks go back an hour is told twice (the fold); when they go forward an hour is told never
//! (the gap). What is done then is a named policy, not an accident.

use chrono::{DateTime, FixedOffset, MappedLocalTime, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};

/// Which instant a local time in the fold means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FoldPolicy {
    /// The order of the file decides: the first telling is the earlier instant, the second the later.
    #[default]
    FileOrder,
    /// Always the earlier instant.
    Earlier,
    /// Always the later instant.
    Later,
    /// The row is rejected.
    Reject,
}

/// What is done with a local time that never was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GapPolicy {
    /// The row is rejected: it most likely means that the file keeps standard time all year.
    #[default]
    Reject,
    /// Read with the offset that held before the clocks went forward.
    OffsetBefore,
}

/// Why a local time has no instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoInstant {
    /// The clocks went past it.
    InGap,
    /// It was told twice and the policy rejects that.
    InFold,
}

/// A time as it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// With its offset.
    Instant(DateTime<Utc>),
    /// Without an offset.
    Local(NaiveDateTime),
}

/// Reads RFC 3339, the same with a space for the T or without seconds, or the same without an offset; `None` when it is none of these.
pub fn parse(text: &str) -> Option<Written> {
    let text = text.trim();
    let four_digit_year = text.len() <= 40
        && text.is_ascii()
        && text.bytes().take(4).all(|byte| byte.is_ascii_digit())
        && text.as_bytes().get(4) == Some(&b'-');
    if !four_digit_year {
        return None;
    }
    if let Ok(time) = DateTime::parse_from_rfc3339(text) {
        return Some(Written::Instant(time.with_timezone(&Utc)));
    }
    let text = text.replacen(' ', "T", 1);
    let (stem, offset) = match text.strip_suffix(['Z', 'z']) {
        Some(stem) => (stem, FixedOffset::east_opt(0)),
        None => match text.rfind(['+', '-']).filter(|at| *at > 10) {
            Some(at) => {
                let (stem, offset) = text.split_at(at);
                (stem, Some(parse_offset(offset.trim())?))
            }
            None => (text.as_str(), None),
        },
    };
    let stem = stem.trim_end();
    let local = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%dT%H:%M"]
        .iter()
        .find_map(|shape| NaiveDateTime::parse_from_str(stem, shape).ok())?;
    match offset {
        None => Some(Written::Local(local)),
        Some(offset) => offset
            .from_local_datetime(&local)
            .single()
            .map(|time| Written::Instant(time.with_timezone(&Utc))),
    }
}

fn parse_offset(text: &str) -> Option<FixedOffset> {
    let (sign, digits) = match text.split_at_checked(1)? {
        ("+", digits) => (1, digits),
        ("-", digits) => (-1, digits),
        _ => return None,
    };
    let digits = digits.replace(':', "");
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let (hours, minutes): (i32, i32) = match digits.len() {
        2 => (digits.parse().ok()?, 0),
        4 => (digits.get(..2)?.parse().ok()?, digits.get(2..)?.parse().ok()?),
        _ => return None,
    };
    if minutes > 59 {
        return None;
    }
    FixedOffset::east_opt(sign * (hours * 3600 + minutes * 60))
}

/// Resolves the local times of one station in the order of its rows.
#[derive(Debug, Clone)]
pub struct Resolver {
    zone: Tz,
    fold: FoldPolicy,
    gap: GapPolicy,
    told_in_fold: BTreeSet<NaiveDateTime>,
    previous: Option<DateTime<Utc>>,
    ascending: bool,
    descending: bool,
    /// Rows in the fold so far.
    pub fold_rows: usize,
}

/// Rows that are looked at for the direction of a file.
pub const ROWS_FOR_DIRECTION: usize = 500;

/// Whether a file runs from the newest row to the oldest: more of its first rows step back than on, each against the row before of the same
/// key (station, and member where there are some). A fold alone steps back once.
pub fn runs_backwards(rows: impl Iterator<Item = (String, Option<Written>)>) -> bool {
    let mut before: BTreeMap<String, NaiveDateTime> = BTreeMap::new();
    let mut steps = 0_i64;
    for (key, written) in rows.take(ROWS_FOR_DIRECTION) {
        if let Some(Written::Local(local)) = written
            && let Some(last) = before.insert(key, local)
        {
            steps += i64::from(local > last) - i64::from(local < last);
        }
    }
    steps < 0
}

impl Resolver {
    /// A resolver for one station.
    pub fn new(zone: Tz, fold: FoldPolicy, gap: GapPolicy) -> Self {
        Self {
            zone,
            fold,
            gap,
            told_in_fold: BTreeSet::new(),
            previous: None,
            ascending: true,
            descending: false,
            fold_rows: 0,
        }
    }

    /// Says whether the file runs from the newest row to the oldest, which decides what the first telling in the fold means.
    pub fn newest_first(mut self, newest_first: bool) -> Self {
        (self.ascending, self.descending) = (!newest_first, newest_first);
        self
    }

    /// The instant of the next row.
    ///
    /// # Errors
    /// [`NoInstant`] when the policy rejects the fold or the gap.
    pub fn resolve(&mut self, local: NaiveDateTime) -> Result<DateTime<Utc>, NoInstant> {
        let instant = match self.zone.from_local_datetime(&local) {
            MappedLocalTime::Single(time) => time.with_timezone(&Utc),
            MappedLocalTime::Ambiguous(a, b) => {
                let (a, b) = (a.with_timezone(&Utc), b.with_timezone(&Utc));
                let (earlier, later) = (a.min(b), a.max(b));
                self.fold_rows += usize::from(self.fold != FoldPolicy::Reject);
                match self.fold {
                    FoldPolicy::Earlier => earlier,
                    FoldPolicy::Later => later,
                    FoldPolicy::Reject => return Err(NoInstant::InFold),
                    FoldPolicy::FileOrder => {
                        let told = !self.told_in_fold.insert(local);
                        if self.descending {
                            // The mirror image: what is told first is the later, and a step forward begins the second telling.
                            let stepped_on = self.previous.is_some_and(|previous| later >= previous);
                            let instant = if told || stepped_on { earlier } else { later };
                            return Ok(self.keep(instant));
                        }
                        // In an ascending file a step back inside the fold is the second telling, even if the first lacked this minute.
                        let stepped_back = self.ascending && self.previous.is_some_and(|previous| earlier <= previous);
                        if told || stepped_back { later } else { earlier }
                    }
                }
            }
            MappedLocalTime::None => match self.gap {
                GapPolicy::Reject => return Err(NoInstant::InGap),
                GapPolicy::OffsetBefore => self.before_gap(local).ok_or(NoInstant::InGap)?,
            },
        };
        Ok(self.keep(instant))
    }

    fn keep(&mut self, instant: DateTime<Utc>) -> DateTime<Utc> {
        self.ascending &= self.previous.is_none_or(|previous| previous <= instant);
        self.descending &= self.previous.is_none_or(|previous| previous >= instant);
        self.previous = Some(instant);
        instant
    }

    /// The instant that a clock which was never put forward would show.
    fn before_gap(&self, local: NaiveDateTime) -> Option<DateTime<Utc>> {
        // Gaps are at most a day long (a zone that crossed the date line); three hours covers daylight saving.
        for hours in [3, 27] {
            let back = local.checked_sub_signed(TimeDelta::hours(hours))?;
            if let Some(time) = self.zone.from_local_datetime(&back).latest() {
                return time.with_timezone(&Utc).checked_add_signed(TimeDelta::hours(hours));
            }
        }
        None
    }
}
