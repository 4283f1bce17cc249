//! Nominal sizes: inches and fractions, millimetres, and fractions that a spreadsheet made into dates.

use super::{Unread, is_blank};
use crate::inventory::assembly::NominalSize;
use crate::inventory::dates::month_named;

/// A nominal size as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SizeRead {
    /// The size.
    pub size: NominalSize,
    /// Whether a spreadsheet had turned the fraction into a date, such as `4-Mar` for 3/4.
    pub from_date: bool,
    /// Whether a bare number was taken for millimetres, since no assembly is made in so many inches.
    pub bare_mm: bool,
}

/// Above this many inches no assembly of [`NominalSize`] is made: a bare number is millimetres.
const LARGEST_IN: f64 = 10.5;

const SIZE_EXPECTED: &str =
    "3/8, 1/2, 3/4, 1, 1-1/4, 1-1/2, 2, 2-1/2, 3, 4, 6, 8 or 10 in, or the same in mm such as 50 mm";

/// Nominal size: `3/4`, `0.75"`, `2.00`, `1 1/2`, `1-1/2 in`, `1½`, `50 mm`, `DN50`. A bare number is inches, or millimetres where
/// no assembly is so large (from 12 on: `25`, `50`, `100`).
///
/// # Errors
/// When it is not one of the sizes of [`NominalSize`].
pub fn nominal_size(text: &str) -> Result<Option<SizeRead>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let unread = Unread::expected(SIZE_EXPECTED);
    if let Some(size) = size_from_date(text) {
        return Ok(Some(SizeRead {
            size,
            from_date: true,
            bare_mm: false,
        }));
    }
    let mut text: String = text.trim().chars().take(40).flat_map(char::to_lowercase).collect();
    for (mark, plain) in [
        ("½", " 1/2"),
        ("¼", " 1/4"),
        ("¾", " 3/4"),
        ("⅜", " 3/8"),
        ("⁄", "/"),
        ("–", "-"),
    ] {
        text = text.replace(mark, plain);
    }
    let (mut metric, mut told) = (false, false);
    if let Some(stem) = text.trim_start().strip_prefix("dn") {
        text = stem.to_owned();
        (metric, told) = (true, true);
    }
    for (tail, is_metric) in [
        ("millimeters", true),
        ("millimetres", true),
        ("mm", true),
        ("inches", false),
        ("inch", false),
        ("in.", false),
        ("in", false),
        ("''", false),
        ("\"", false),
        ("”", false),
        ("″", false),
    ] {
        if let Some(stem) = text.trim_end().strip_suffix(tail) {
            text = stem.to_owned();
            metric |= is_metric;
            told = true;
            break;
        }
    }
    // The hyphen of "3/4-inch".
    let number = mixed_number(text.trim().trim_end_matches('-').trim_end()).ok_or(unread)?;
    let bare_mm = !told && number > LARGEST_IN;
    let size = if metric || bare_mm {
        size_of_mm(number)
    } else {
        size_of_inches(number)
    };
    let read = size.map(|size| SizeRead {
        size,
        from_date: false,
        bare_mm,
    });
    read.map(Some).ok_or(unread)
}

/// `3`, `3.0`, `0,75`, `3/4`, `1 1/2`, `1-1/2`.
fn mixed_number(text: &str) -> Option<f64> {
    let (whole, fraction) = match text.rsplit_once([' ', '-']) {
        Some((whole, fraction)) if fraction.contains('/') => (whole.trim_end_matches([' ', '-']), fraction),
        _ if text.contains('/') => ("", text),
        _ => (text, ""),
    };
    let whole = match whole.trim() {
        "" => 0.0,
        digits
            if digits
                .bytes()
                .all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b',') =>
        {
            digits.replace(',', ".").parse::<f64>().ok()?
        }
        _ => return None,
    };
    let fraction = match fraction.split_once('/') {
        None => 0.0,
        Some((top, bottom)) => {
            let (top, bottom) = (top.trim().parse::<u8>().ok()?, bottom.trim().parse::<u8>().ok()?);
            if bottom == 0 || top >= bottom {
                return None;
            }
            f64::from(top) / f64::from(bottom)
        }
    };
    Some(whole + fraction).filter(|number| number.is_finite() && *number > 0.0)
}

fn size_of_inches(inches: f64) -> Option<NominalSize> {
    // A hundredth covers .37 and .38 for 3/8 and nothing else.
    NominalSize::ALL
        .iter()
        .copied()
        .find(|size| (size.inches() - inches).abs() < 0.01)
}

/// By nominal diameter DN (ISO 6708 numbers beside the NPS, as in ASME B36.10M; from memory), else by 25.4 mm to the inch.
fn size_of_mm(mm: f64) -> Option<NominalSize> {
    const DN: [f64; 13] = [
        10.0, 15.0, 20.0, 25.0, 32.0, 40.0, 50.0, 65.0, 80.0, 100.0, 150.0, 200.0, 250.0,
    ];
    let by_dn = DN
        .iter()
        .zip(NominalSize::ALL)
        .find(|(dn, _)| (**dn - mm).abs() < 0.01)
        .map(|(_, size)| *size);
    by_dn.or_else(|| {
        // Whole millimetres of a size in inches: 13, 19, 38, 51, 64, 76, 102, 152, 203, 254.
        NominalSize::ALL
            .iter()
            .copied()
            .find(|size| (size.inches() * 25.4 - mm).abs() < 0.6)
    })
}

/// Spreadsheets turn `3/4` into the fourth of March and show `4-Mar` or `Mar-04`.
fn size_from_date(text: &str) -> Option<NominalSize> {
    let (a, b) = text.trim().split_once('-')?;
    let (month, day) = match (month_named(a), month_named(b)) {
        (None, Some(month)) => (month, a.parse::<u32>().ok()?),
        (Some(month), None) => (month, b.parse::<u32>().ok()?),
        _ => return None,
    };
    match (month, day) {
        (3, 8) => Some(NominalSize::N0_375),
        (1, 2) => Some(NominalSize::N0_5),
        (3, 4) => Some(NominalSize::N0_75),
        _ => None,
    }
}
