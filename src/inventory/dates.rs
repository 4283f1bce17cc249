//! Dates as people write them, and the ones that can be read two ways.

use chrono::{NaiveDate, TimeDelta};

/// A date as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dated {
    /// Only one reading.
    Certain(NaiveDate),
    /// Only one reading, and it shows which of month and day comes first.
    MonthFirst(NaiveDate),
    /// As above, day first.
    DayFirst(NaiveDate),
    /// Two readings.
    Either {
        /// Read month first.
        month_first: NaiveDate,
        /// Read day first.
        day_first: NaiveDate,
    },
}

/// Which of month and day comes first in a column, by those of its dates that can be read one way only; without such the month, as in the US.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Order {
    day_first: usize,
    month_first: usize,
}

impl Order {
    /// Counts a date.
    pub fn see(&mut self, date: Dated) {
        match date {
            Dated::DayFirst(_) => self.day_first += 1,
            Dated::MonthFirst(_) => self.month_first += 1,
            Dated::Certain(_) | Dated::Either { .. } => {}
        }
    }

    /// Whether any date shows the order.
    pub fn is_shown(self) -> bool {
        self.day_first + self.month_first > 0
    }

    /// The date in this order.
    pub fn read(self, date: Dated) -> NaiveDate {
        match date {
            Dated::Certain(date) | Dated::MonthFirst(date) | Dated::DayFirst(date) => date,
            Dated::Either { day_first, .. } if self.is_day_first() => day_first,
            Dated::Either { month_first, .. } => month_first,
        }
    }

    fn is_day_first(self) -> bool {
        self.day_first > self.month_first
    }

    /// What is told of `count` dates, the first of them in `line`, that can be read two ways.
    pub fn told(self, count: usize, line: u64) -> String {
        let order = if self.is_day_first() { "day" } else { "month" };
        let why = match (self.day_first, self.month_first) {
            (0, 0) => "no other date in the list shows the order, and that is usual in the US".to_owned(),
            (days, 0) => format!("{days} other dates can only be read day first"),
            (0, months) => format!("{months} other dates can only be read month first"),
            (days, months) => format!("{months} other dates can only be read month first, but {days} only day first"),
        };
        format!("{count} dates can be read two ways, from line {line}; read {order} first, for {why}")
    }
}

/// The time of day that is written behind a date, or nothing; midnight is what a spreadsheet puts behind a date without one.
pub fn time_of_day(text: &str) -> &str {
    let text = text.trim();
    let Some(colon) = text.find(':') else { return "" };
    let from = text
        .get(..colon)
        .and_then(|before| before.rfind(|c: char| !c.is_ascii_digit()))
        .map_or(0, |at| at + 1);
    let time = text.get(from..).unwrap_or_default();
    let numbers: Vec<u32> = time
        .split(|c: char| !c.is_ascii_digit())
        .filter_map(|digits| digits.parse().ok())
        .collect();
    let folded = time.to_ascii_lowercase();
    let midnight = match numbers.split_first() {
        Some((hour, rest)) => {
            let first = if folded.contains("am") { 12 } else { 0 };
            (*hour == 0 || *hour == first) && !folded.contains("pm") && rest.iter().all(|number| *number == 0)
        }
        None => false,
    };
    if midnight { "" } else { time }
}

/// Reads `2025-03-14`, `20250314`, `3/14/2025`, `14.3.25`, `14-Mar-2025`, `March 14, 2025`, with a time of day behind it or not,
/// and the day number of a spreadsheet (20000 to 60000); `None` when it is none of these.
///
/// Two-digit years are 1970 to 2069.
pub fn parse(text: &str) -> Option<Dated> {
    let text = text.trim();
    if !text.is_ascii() || text.len() > 40 {
        return None;
    }
    let tokens: Vec<&str> = text
        .split(|c: char| !c.is_ascii_alphanumeric() && c != ':')
        .filter(|token| !token.is_empty())
        .collect();
    match tokens.as_slice() {
        [one] => compact(one),
        [a, b, c, rest @ ..] if rest.iter().all(|token| is_time_of_day(token)) => {
            // The T of ISO 8601 glues the day to the time.
            let day_glued = c.split_once(['T', 't']).map(|(day, _)| day).filter(|_| a.len() == 4);
            three(a, b, day_glued.unwrap_or(c))
        }
        _ => None,
    }
}

fn is_time_of_day(token: &str) -> bool {
    matches!(token.to_ascii_lowercase().as_str(), "am" | "pm" | "z" | "utc")
        || (token.bytes().all(|byte| byte.is_ascii_digit() || byte == b':'))
}

fn compact(text: &str) -> Option<Dated> {
    let number: u32 = text.parse().ok()?;
    match text.len() {
        8 => NaiveDate::from_ymd_opt(i32::try_from(number / 10_000).ok()?, number / 100 % 100, number % 100)
            .map(Dated::Certain),
        // Spreadsheets count days from 1899-12-30 (from memory of their documentation).
        5 if (20_000..=60_000).contains(&number) => NaiveDate::from_ymd_opt(1899, 12, 30)?
            .checked_add_signed(TimeDelta::days(i64::from(number)))
            .map(Dated::Certain),
        _ => None,
    }
}

fn three(a: &str, b: &str, c: &str) -> Option<Dated> {
    if let Some(month) = month_named(a) {
        return NaiveDate::from_ymd_opt(year(c)?, month, day(b)?).map(Dated::Certain);
    }
    if let Some(month) = month_named(b) {
        return match a.len() {
            4 => NaiveDate::from_ymd_opt(year(a)?, month, day(c)?),
            _ => NaiveDate::from_ymd_opt(year(c)?, month, day(a)?),
        }
        .map(Dated::Certain);
    }
    if a.len() == 4 {
        return NaiveDate::from_ymd_opt(year(a)?, day(b)?, day(c)?).map(Dated::Certain);
    }
    let (year, first, second) = (year(c)?, day(a)?, day(b)?);
    let month_first = NaiveDate::from_ymd_opt(year, first, second);
    let day_first = NaiveDate::from_ymd_opt(year, second, first);
    match (month_first, day_first) {
        (Some(date), Some(same)) if date == same => Some(Dated::Certain(date)),
        (Some(month_first), Some(day_first)) => Some(Dated::Either { month_first, day_first }),
        (Some(date), None) => Some(Dated::MonthFirst(date)),
        (None, Some(date)) => Some(Dated::DayFirst(date)),
        (None, None) => None,
    }
}

/// Month of an English or Spanish name or its abbreviation of three letters or more.
pub fn month_named(text: &str) -> Option<u32> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    const MESES: [&str; 12] = [
        "enero",
        "febrero",
        "marzo",
        "abril",
        "mayo",
        "junio",
        "julio",
        "agosto",
        "septiembre",
        "octubre",
        "noviembre",
        "diciembre",
    ];
    let text = text.to_ascii_lowercase();
    if text.len() < 3 {
        return None;
    }
    // No abbreviation means one month in English and another in Spanish.
    let find = |names: [&str; 12]| {
        (1..)
            .zip(names)
            .find(|(_, name)| name.starts_with(&text) || (text == "sept" && name.starts_with("sep")))
            .map(|(number, _)| number)
    };
    find(MONTHS).or_else(|| find(MESES))
}

fn day(text: &str) -> Option<u32> {
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    (digits.len() <= 2).then(|| digits.parse().ok()).flatten()
}

fn year(text: &str) -> Option<i32> {
    let number: i32 = text.parse().ok()?;
    match text.len() {
        4 => Some(number),
        2 if number >= 70 => Some(1900 + number),
        2 => Some(2000 + number),
        _ => None,
    }
}
