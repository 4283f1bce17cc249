//! Numbers, with or without a unit, to SI.

use super::{Unread, is_blank};
use crate::units::{M_PER_FT, M_PER_IN, M2K_PER_W_PER_R_US};

/// A plain number: `12`, `-3.5`, `1,250`, and `3,5` where the comma is the decimal mark.
///
/// # Errors
/// When it is no finite number.
pub fn number(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    parse_number(text, decimal_comma)
        .map(Some)
        .ok_or(Unread::expected("a number"))
}

fn parse_number(text: &str, decimal_comma: bool) -> Option<f64> {
    let text = text.trim().replace('−', "-");
    let plain = if !text.contains(',') {
        text
    } else if is_grouped(&text) && !decimal_comma {
        text.replace(',', "")
    } else if decimal_comma && text.matches(',').count() == 1 && !text.contains('.') {
        text.replace(',', ".")
    } else {
        return None;
    };
    // Words that Rust would read as numbers.
    if !plain
        .bytes()
        .all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte))
    {
        return None;
    }
    plain.parse::<f64>().ok().filter(|number| number.is_finite())
}

/// Whether commas stand where thousands are grouped.
fn is_grouped(text: &str) -> bool {
    let whole = text.trim_start_matches(['-', '+']).split('.').next().unwrap_or("");
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or("");
    let digits = |group: &str| group.bytes().all(|byte| byte.is_ascii_digit());
    (1..=3).contains(&first.len()) && digits(first) && groups.all(|group| group.len() == 3 && digits(group))
}

/// A number that may carry a unit; the factor of a bare number is `bare`.
fn quantity(text: &str, decimal_comma: bool, bare: f64, units: &[(&str, f64)]) -> Option<f64> {
    let lower = text.trim().to_lowercase();
    let at = lower
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '−' | '.' | ',')))
        .unwrap_or(lower.len());
    let (digits, unit) = lower.split_at_checked(at)?;
    let unit = unit.trim();
    let factor = if unit.is_empty() {
        bare
    } else {
        units.iter().find(|(name, _)| *name == unit)?.1
    };
    Some(parse_number(digits, decimal_comma)? * factor).filter(|value| value.is_finite())
}

/// Height in metres from inches, or with a unit: `24`, `24"`, `2 ft`, `600 mm`.
///
/// # Errors
/// When it is no length.
pub fn height_m(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    const UNITS: [(&str, f64); 11] = [
        ("in", M_PER_IN),
        ("in.", M_PER_IN),
        ("inches", M_PER_IN),
        ("inch", M_PER_IN),
        ("\"", M_PER_IN),
        ("”", M_PER_IN),
        ("ft", M_PER_FT),
        ("'", M_PER_FT),
        ("mm", 0.001),
        ("cm", 0.01),
        ("m", 1.0),
    ];
    quantity(text, decimal_comma, M_PER_IN, &UNITS)
        .map(Some)
        .ok_or(Unread::expected("a height in inches, such as 24"))
}

/// Elevation in metres from feet, or with a unit: `650`, `1,250 ft`, `200 m`.
///
/// # Errors
/// When it is no length.
pub fn elevation_m(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    const UNITS: [(&str, f64); 5] = [
        ("ft", M_PER_FT),
        ("feet", M_PER_FT),
        ("'", M_PER_FT),
        ("m", 1.0),
        ("meters", 1.0),
    ];
    quantity(text, decimal_comma, M_PER_FT, &UNITS)
        .map(Some)
        .ok_or(Unread::expected("an elevation in feet, such as 650"))
}

/// Thermal resistance of a wrap in m²K/W from the US R-value: `3`, `R-3`, `R 3.7`, `none`.
///
/// # Errors
/// When it is no R-value.
pub fn wrap_m2k_per_w(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    if ["none", "no", "bare"]
        .iter()
        .any(|word| text.trim().eq_ignore_ascii_case(word))
    {
        return Ok(Some(0.0));
    }
    let digits = text
        .trim()
        .trim_start_matches(['R', 'r'])
        .trim_start_matches(['-', ' ', '=']);
    parse_number(digits, decimal_comma)
        .map(|r_us| Some(r_us * M2K_PER_W_PER_R_US))
        .ok_or(Unread::expected("a US R-value, such as 3"))
}

/// Power in W: `100`, `100 W`, `0.1 kW`, `none`.
///
/// # Errors
/// When it is no power.
pub fn power_w(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    if ["none", "no"].iter().any(|word| text.trim().eq_ignore_ascii_case(word)) {
        return Ok(Some(0.0));
    }
    quantity(
        text,
        decimal_comma,
        1.0,
        &[("w", 1.0), ("watt", 1.0), ("watts", 1.0), ("kw", 1000.0)],
    )
    .map(Some)
    .ok_or(Unread::expected("a power in watts, such as 100"))
}

/// Degrees north or east: `36.1`, `-97.04`, `97.04 W`, `36°06'30"N`.
///
/// # Errors
/// When it is no angle.
pub fn degrees(text: &str, decimal_comma: bool) -> Result<Option<f64>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let unread = Unread::expected("degrees, such as 36.1 or -97.04");
    let text: String = text.trim().chars().take(60).flat_map(char::to_uppercase).collect();
    let (body, sign) = match (text.strip_suffix(['N', 'E']), text.strip_suffix(['S', 'W'])) {
        (Some(body), _) => (body, 1.0),
        (_, Some(body)) => (body, -1.0),
        _ => (text.as_str(), 1.0),
    };
    let parts: Vec<&str> = body
        .split(|c: char| "°º'′’\"″” ".contains(c))
        .filter(|part| !part.is_empty())
        .collect();
    let mut value = 0.0;
    let negative = parts.first().is_some_and(|part| part.starts_with(['-', '−']));
    if parts.is_empty() || parts.len() > 3 {
        return Err(unread);
    }
    for (part, share) in parts.iter().zip([1.0, 60.0, 3600.0]) {
        let number = parse_number(part, decimal_comma).ok_or(unread)?;
        if share > 1.0 && !(0.0..60.0).contains(&number) {
            return Err(unread);
        }
        value += number.abs() / share;
    }
    let value = if negative { -value } else { value };
    Ok(Some(value * sign))
}
