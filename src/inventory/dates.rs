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
