//! Cells that a spreadsheet would run as a formula, made harmless.

use std::borrow::Cow;

/// The cell as it may stand in a CSV file: text that a spreadsheet would take for a formula gets an apostrophe
/// in front, which spreadsheets show as plain text. Numbers stay numbers.
///
/// A formula starts with `=`, `+`, `-`, `@`, a tab or a carriage return, or their full-width forms, with or without spaces
/// before it (common practice, no source).
pub fn defuse(cell: &str) -> Cow<'_, str> {
    let starts = |c: char| matches!(c, '=' | '+' | '-' | '@' | '\t' | '\r' | '＝' | '＋' | '－' | '＠');
    let Some(first) = cell
        .trim_start_matches([' ', '\n', '\u{feff}', '\u{a0}'])
        .chars()
        .next()
    else {
        return Cow::Borrowed(cell);
    };
    if !starts(first) || is_number(cell) {
        return Cow::Borrowed(cell);
    }
    Cow::Owned(format!("'{cell}"))
}

/// A plain number: sign, digits, point, exponent; not `-inf` nor `+nan`.
fn is_number(cell: &str) -> bool {
    cell.bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.' | b'e' | b'E'))
        && cell.parse::<f64>().is_ok_and(f64::is_finite)
}
