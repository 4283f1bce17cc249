//! Numbers and units as people write them, before anything is converted.

use super::refusal::Problem;

/// Reads the leading number of a text and returns it with the rest.
///
/// `Err` holds the problem. Accepts "12", "-3.5", "1,500", "3/4", "1 1/2", "1-1/2", "½", "−7", "1e3".
pub(super) fn leading_number(text: &str) -> Result<(f64, &str), Problem> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Problem::Nothing);
    }
    let (negative, body) = match text.chars().next() {
        Some('-' | '−' | '–') => (true, text.trim_start_matches(['-', '−', '–']).trim_start()),
        Some('+') => (false, text[1..].trim_start()),
        _ => (false, text),
    };
    let (mut value, mut rest) = match plain_number(body)? {
        Some(found) => found,
        None => match vulgar_fraction(body) {
            Some((value, rest)) => (value, rest),
            None => return Err(Problem::NoNumber),
        },
    };
    if let Some((fraction, after)) = vulgar_fraction(rest.trim_start()) {
        value += fraction;
        rest = after;
    } else if let Some(after_slash) = rest.strip_prefix('/') {
        // "3/4 in", but "5 /h" is a rate and stays.
        if let Some((below, after)) = digits(after_slash) {
            if below == 0.0 {
                return Err(Problem::ZeroBelow);
            }
            value /= below;
            rest = after;
        }
    } else {
        // "1 1/2" and "1-1/2"
        let tail = rest.trim_start();
        let tail = tail.strip_prefix('-').unwrap_or(tail);
        if let Some((above, after)) = digits(tail)
            && let Some(after_slash) = after.strip_prefix('/')
            && let Some((below, after)) = digits(after_slash)
        {
            if below == 0.0 {
                return Err(Problem::ZeroBelow);
            }
            value += above / below;
            rest = after;
        }
    }
    if !value.is_finite() {
        return Err(Problem::TooLarge);
    }
    Ok((if negative { -value } else { value }, rest.trim()))
}

fn digits(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text[..end].parse::<f64>().ok().map(|value| (value, &text[end..]))
}

fn vulgar_fraction(text: &str) -> Option<(f64, &str)> {
    let first = text.chars().next()?;
    let value = match first {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    };
    Some((value, &text[first.len_utf8()..]))
}

/// The decimal number at the start; `Ok(None)` when there is none.
fn plain_number(text: &str) -> Result<Option<(f64, &str)>, Problem> {
    let bytes = text.as_bytes();
    let mut end = 0;
    let (mut commas, mut dots) = (0, 0);
    while let Some(&byte) = bytes.get(end) {
        match byte {
            b'0'..=b'9' => {}
            b',' if bytes.get(end + 1).is_some_and(u8::is_ascii_digit) => commas += 1,
            b'.' => dots += 1,
            _ => break,
        }
        end += 1;
    }
    if end == 0 || !text[..end].bytes().any(|b| b.is_ascii_digit()) {
        return Ok(None);
    }
    if dots > 1 {
        return Err(Problem::Points);
    }
    let mantissa = &text[..end];
    if commas > 0 {
        let whole = mantissa.split('.').next().unwrap_or(mantissa);
        let groups: Vec<&str> = whole.split(',').collect();
        let grouped = groups.first().is_some_and(|g| (1..=3).contains(&g.len()))
            && groups.iter().skip(1).all(|g| g.len() == 3)
            && !mantissa.split('.').nth(1).is_some_and(|f| f.contains(','));
        if !grouped {
            return Err(Problem::Comma);
        }
    }
    // An exponent only when digits follow, so that "5 e" stays a number and a (wrong) unit.
    let mut stop = end;
    if let Some(b'e' | b'E') = bytes.get(end) {
        let mut at = end + 1;
        if let Some(b'+' | b'-') = bytes.get(at) {
            at += 1;
        }
        let first = at;
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        if at > first {
            stop = at;
        }
    }
    let cleaned: String = text[..stop].chars().filter(|c| *c != ',').collect();
    match cleaned.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Some((value, &text[stop..]))),
        _ => Err(Problem::Unreadable),
    }
}

/// Brings a unit to one spelling: lower case, no blanks, dots, hyphens, brackets, degree signs; superscripts as digits.
pub(super) fn squeeze(unit: &str) -> String {
    let mut out = String::with_capacity(unit.len());
    for c in unit.chars() {
        match c {
            ' ' | '\t' | '\u{a0}' | '·' | '⋅' | '*' | '-' | '(' | ')' | '^' | '°' | 'º' | '.' | '_' => {}
            '²' => out.push('2'),
            '³' => out.push('3'),
            '″' | '”' => out.push('"'),
            '′' | '’' => out.push('\''),
            c => out.extend(c.to_lowercase()),
        }
    }
    out
}
