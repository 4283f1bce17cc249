//! One parser for each kind of cell: what people write to what the model takes.
//!
//! Each returns `Ok(None)` for a blank (also `?`, `n/a`, `unknown` and the like), the value, or [`Unread`]
//! saying what was expected. None of them panics on any text.

use super::assembly::{
    Channel, CustomerClass, DeviceType, Language, NominalSize, Placement, RiserMaterial, Service, WindExposure,
    WinterUse,
};
use super::dates::month_named;
use crate::units::{M_PER_FT, M_PER_IN, M2K_PER_W_PER_R_US};

/// Why a cell was not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unread {
    /// What is wrong, when there is more to say than that it is not what was expected.
    pub what: Option<&'static str>,
    /// What was expected.
    pub expected: &'static str,
}

impl Unread {
    fn expected(expected: &'static str) -> Self {
        Self { what: None, expected }
    }
}

/// Whether a cell tells nothing.
pub fn is_blank(text: &str) -> bool {
    let text = text.trim();
    text.is_empty()
        || [
            "?",
            "-",
            "--",
            "n/a",
            "na",
            "none given",
            "unknown",
            "unk",
            "null",
            "tbd",
            "not known",
            "#n/a",
        ]
        .iter()
        .any(|word| text.eq_ignore_ascii_case(word))
}

/// Small letters; every run of anything but letters, digits and the marks `.` `/` becomes one space.
fn words(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().take(200).flat_map(char::to_lowercase) {
        if c.is_alphanumeric() || c == '.' || c == '/' {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out.truncate(out.trim_end().len());
    out
}

fn word<T: Copy>(text: &str, table: &[(&[&str], T)], expected: &'static str) -> Result<Option<T>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let text = words(text);
    table
        .iter()
        .find(|(spellings, _)| spellings.contains(&text.as_str()))
        .map(|(_, value)| Some(*value))
        .ok_or(Unread::expected(expected))
}

/// A kind of assembly as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DeviceRead {
    /// The kind.
    pub device_type: DeviceType,
    /// Whether the cell says that it is the bypass of a detector assembly.
    pub bypass: bool,
}

const DEVICE_EXPECTED: &str = "RP, RPDA, DC, DCDA, PVB, SVB or AVB (RPZ, RPBA, DCVA and the full names are read too)";

/// Kind of assembly. Spellings of the trade (practice: RP, RPZ and RPBA are one thing).
///
/// # Errors
/// For other devices too, with their name: a dual check, an air gap and a hose vacuum breaker are not assemblies that this program models.
pub fn device_type(text: &str) -> Result<Option<DeviceRead>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let mut letters: String = text
        .chars()
        .take(200)
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect();
    let mut bypass = false;
    for tail in ["BYPASS", "BYP"] {
        if let Some(stem) = letters.strip_suffix(tail).or_else(|| letters.strip_prefix(tail)) {
            letters = stem.to_owned();
            bypass = true;
        }
    }
    for filler in ["VALVEASSEMBLY", "ASSEMBLY", "ASSY", "DEVICE", "PREVENTER", "BACKFLOW"] {
        if letters.len() > filler.len()
            && let Some(stem) = letters.strip_suffix(filler)
        {
            letters = stem.to_owned();
        }
    }
    let read = match letters.as_str() {
        "RP"
        | "RPZ"
        | "RPA"
        | "RPZA"
        | "RPBA"
        | "RPPA"
        | "RPP"
        | "RPBP"
        | "RPBFP"
        | "RPZD"
        | "REDUCEDPRESSURE"
        | "REDUCEDPRESSUREPRINCIPLE"
        | "REDUCEDPRESSUREZONE" => DeviceType::Rp,
        "RPDA"
        | "RPDA2"
        | "RPDAII"
        | "RPPDA"
        | "RPZDA"
        | "RPDC"
        | "RPD"
        | "REDUCEDPRESSUREDETECTOR"
        | "REDUCEDPRESSUREPRINCIPLEDETECTOR"
        | "REDUCEDPRESSUREZONEDETECTOR" => DeviceType::Rpda,
        "DC" | "DCV" | "DCVA" | "DCA" | "DCBA" | "DOUBLECHECK" | "DOUBLECHECKVALVE" | "DBLCHECK" | "DBLCHK" => {
            DeviceType::Dc
        }
        "DCDA"
        | "DCDA2"
        | "DCDAII"
        | "DCDC"
        | "DCVDA"
        | "DDC"
        | "DDCA"
        | "DDCV"
        | "DCD"
        | "DOUBLECHECKDETECTOR"
        | "DOUBLEDETECTORCHECK"
        | "DOUBLEDETECTORCHECKVALVE"
        | "DOUBLECHECKDETECTORCHECK"
        | "DOUBLECHECKVALVEDETECTOR" => DeviceType::Dcda,
        "PVB" | "PVBA" | "PRESSUREVACUUMBREAKER" | "PRESSURETYPEVACUUMBREAKER" => DeviceType::Pvb,
        "SVB"
        | "SVBA"
        | "SRVB"
        | "SRVBA"
        | "SPVB"
        | "SRPVB"
        | "SRPVBA"
        | "SPILLRESISTANTVACUUMBREAKER"
        | "SPILLRESISTANTPRESSUREVACUUMBREAKER"
        | "SPILLRESISTANT"
        | "SPILLPROOFVACUUMBREAKER" => DeviceType::Svb,
        "AVB" | "ATMOSPHERICVACUUMBREAKER" => DeviceType::Avb,
        "DUC" | "DUALCHECK" | "DUALCHECKVALVE" | "RDC" | "RESIDENTIALDUALCHECK" => {
            return Err(Unread {
                what: Some("a dual check is not an assembly that this program models; it mostly sits in the meter box"),
                expected: DEVICE_EXPECTED,
            });
        }
        "AG" | "AIRGAP" => {
            return Err(Unread {
                what: Some("an air gap is no assembly and has nothing to freeze but its fill line"),
                expected: DEVICE_EXPECTED,
            });
        }
        "HBVB" | "HVB" | "HOSEBIBBVACUUMBREAKER" | "HOSECONNECTIONVACUUMBREAKER" => {
            return Err(Unread {
                what: Some("a hose vacuum breaker is not an assembly that this program models; take the hose off"),
                expected: DEVICE_EXPECTED,
            });
        }
        _ => return Err(Unread::expected(DEVICE_EXPECTED)),
    };
    Ok(Some(DeviceRead {
        device_type: read,
        bypass,
    }))
}

/// A nominal size as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SizeRead {
    /// The size.
    pub size: NominalSize,
    /// Whether a spreadsheet had turned the fraction into a date, such as `4-Mar` for 3/4.
    pub from_date: bool,
}

const SIZE_EXPECTED: &str =
    "3/8, 1/2, 3/4, 1, 1-1/4, 1-1/2, 2, 2-1/2, 3, 4, 6, 8 or 10 in, or the same in mm such as 50 mm";

/// Nominal size: `3/4`, `0.75"`, `2.00`, `1 1/2`, `1-1/2 in`, `1½`, `50 mm`, `DN50`. A bare number is inches.
///
/// # Errors
/// When it is not one of the sizes of [`NominalSize`].
pub fn nominal_size(text: &str) -> Result<Option<SizeRead>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let unread = Unread::expected(SIZE_EXPECTED);
    if let Some(size) = size_from_date(text) {
        return Ok(Some(SizeRead { size, from_date: true }));
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
    let mut metric = false;
    if let Some(stem) = text.trim_start().strip_prefix("dn") {
        text = stem.to_owned();
        metric = true;
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
            break;
        }
    }
    // The hyphen of "3/4-inch".
    let number = mixed_number(text.trim().trim_end_matches('-').trim_end()).ok_or(unread)?;
    let size = if metric {
        size_of_mm(number)
    } else {
        size_of_inches(number)
    };
    size.map(|size| Some(SizeRead { size, from_date: false })).ok_or(unread)
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

/// Customer class.
///
/// # Errors
/// When it is none of the words.
pub fn customer_class(text: &str) -> Result<Option<CustomerClass>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "residential",
                    "res",
                    "r",
                    "household",
                    "single family",
                    "sf",
                    "multifamily",
                    "multi family",
                    "home",
                ],
                CustomerClass::Residential,
            ),
            (
                &[
                    "commercial",
                    "com",
                    "comm",
                    "c",
                    "business",
                    "industrial",
                    "ind",
                    "retail",
                ],
                CustomerClass::Commercial,
            ),
            (
                &[
                    "public",
                    "pub",
                    "p",
                    "institutional",
                    "inst",
                    "government",
                    "gov",
                    "municipal",
                    "school",
                ],
                CustomerClass::Public,
            ),
        ],
        "residential, commercial or public",
    )
}

/// Service.
///
/// # Errors
/// When it is none of the words.
pub fn service(text: &str) -> Result<Option<Service>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "domestic",
                    "dom",
                    "potable",
                    "house",
                    "household",
                    "drinking",
                    "drinking water",
                ],
                Service::Domestic,
            ),
            (
                &[
                    "irrigation",
                    "irr",
                    "irrig",
                    "lawn",
                    "landscape",
                    "sprinkler irrigation",
                    "lawn irrigation",
                    "lawn sprinkler",
                ],
                Service::Irrigation,
            ),
            (
                &[
                    "fire",
                    "fire line",
                    "fireline",
                    "fire service",
                    "fire sprinkler",
                    "fs",
                    "fire protection",
                ],
                Service::Fire,
            ),
            (
                &["process", "industrial process", "cooling", "boiler"],
                Service::Process,
            ),
        ],
        "domestic, irrigation, fire or process",
    )
}

/// Placement. An enclosure without a word about heat is taken as unheated, the cautious reading.
///
/// # Errors
/// When it is none of the words.
pub fn placement(text: &str) -> Result<Option<Placement>, Unread> {
    word(
        text,
        &[
            (
                &[
                    "open",
                    "outside",
                    "outdoors",
                    "outdoor",
                    "exposed",
                    "bare",
                    "above ground",
                    "aboveground",
                    "yard",
                ],
                Placement::Open,
            ),
            (
                &[
                    "cover",
                    "covered",
                    "rock cover",
                    "fake rock",
                    "shell",
                    "uninsulated cover",
                    "cage with cover",
                ],
                Placement::Cover,
            ),
            (
                &[
                    "insulated enclosure",
                    "insulated",
                    "enclosure",
                    "hot box",
                    "hotbox",
                    "unheated enclosure",
                    "insulated box",
                    "enclosed",
                ],
                Placement::InsulatedEnclosure,
            ),
            (
                &["heated enclosure", "heated", "heated box", "heated insulated enclosure"],
                Placement::HeatedEnclosure,
            ),
            (
                &[
                    "vault",
                    "pit",
                    "below grade",
                    "underground",
                    "box below grade",
                    "meter box",
                    "below ground",
                ],
                Placement::Vault,
            ),
            (
                &[
                    "indoors",
                    "indoor",
                    "inside",
                    "interior",
                    "in building",
                    "mechanical room",
                    "basement",
                    "garage",
                ],
                Placement::Indoors,
            ),
        ],
        "open, cover, insulated_enclosure, heated_enclosure, vault or indoors",
    )
}

/// Riser material.
///
/// # Errors
/// When it is none of the words.
pub fn riser_material(text: &str) -> Result<Option<RiserMaterial>, Unread> {
    word(
        text,
        &[
            (
                &["copper", "cu", "copper l", "type l", "copper type l"],
                RiserMaterial::Copper,
            ),
            (
                &[
                    "steel",
                    "galvanized",
                    "galvanised",
                    "galv",
                    "galv.",
                    "galvanized steel",
                    "galv steel",
                    "black steel",
                    "stainless",
                    "stainless steel",
                ],
                RiserMaterial::Steel,
            ),
            (
                &["ductile iron", "di", "iron", "d.i.", "cast iron", "ductile"],
                RiserMaterial::DuctileIron,
            ),
            (
                &[
                    "pvc",
                    "cpvc",
                    "plastic",
                    "sch 40 pvc",
                    "sch 80 pvc",
                    "pvc sch 40",
                    "pvc sch 80",
                ],
                RiserMaterial::Pvc,
            ),
            (&["brass", "bronze", "red brass"], RiserMaterial::Brass),
        ],
        "copper, steel, ductile_iron, pvc or brass",
    )
}

/// Wind exposure.
///
/// # Errors
/// When it is none of the words.
pub fn wind_exposure(text: &str) -> Result<Option<WindExposure>, Unread> {
    word(
        text,
        &[
            (&["open", "exposed", "full", "windy"], WindExposure::Open),
            (
                &["partial", "partly", "some", "medium", "partly sheltered", "average"],
                WindExposure::Partial,
            ),
            (
                &["sheltered", "shelter", "protected", "low", "calm"],
                WindExposure::Sheltered,
            ),
        ],
        "open, partial or sheltered",
    )
}

/// What the line does in winter. "Off" alone is taken as full and idle: only a word of emptying means drained.
///
/// # Errors
/// When it is none of the words.
pub fn winter_use(text: &str) -> Result<Option<WinterUse>, Unread> {
    word(
        text,
        &[
            (
                &["in use", "inuse", "used", "active", "year round", "yes", "on"],
                WinterUse::InUse,
            ),
            (
                &["idle", "seasonal", "off", "no", "unused", "not used"],
                WinterUse::Idle,
            ),
            (&["vacant", "unoccupied", "vacant house"], WinterUse::Vacant),
            (
                &[
                    "drained",
                    "winterized",
                    "winterised",
                    "blown out",
                    "shut off and drained",
                    "off and drained",
                ],
                WinterUse::Drained,
            ),
        ],
        "in_use, idle, vacant or drained",
    )
}

/// Yes or no.
///
/// # Errors
/// When it is neither.
pub fn yes_no(text: &str) -> Result<Option<bool>, Unread> {
    word(
        text,
        &[
            (&["yes", "y", "true", "t", "1", "x", "si", "sí"], true),
            (&["no", "n", "false", "f", "0", "none"], false),
        ],
        "yes or no",
    )
}

/// Language.
///
/// # Errors
/// When it is none that messages are written in.
pub fn language(text: &str) -> Result<Option<Language>, Unread> {
    word(
        text,
        &[
            (
                &["en", "english", "eng", "e", "en us", "inglés", "ingles"],
                Language::English,
            ),
            (
                &[
                    "es", "spanish", "spa", "sp", "s", "español", "espanol", "es us", "es mx",
                ],
                Language::Spanish,
            ),
        ],
        "en or es",
    )
}

const CHANNELS_EXPECTED: &str = "a list of call;text;email;letter, or none";

/// Channels that the person allows: `call;text`, `no texts`, or `none` for somebody who opted out (an empty list).
///
/// # Errors
/// When a part of it is no channel.
pub fn channels(text: &str) -> Result<Option<Vec<Channel>>, Unread> {
    if is_blank(text) {
        return Ok(None);
    }
    let mut allowed = Vec::new();
    let mut excluded = Vec::new();
    for part in text.split([';', ',', '|', '/', '+', '&']) {
        let part = words(part);
        if part.is_empty() {
            continue;
        }
        if ["none", "no", "opt out", "opted out", "do not contact", "no contact"].contains(&part.as_str()) {
            return Ok(Some(Vec::new()));
        }
        let (list, name) = match part.strip_prefix("no ").or_else(|| part.strip_prefix("do not ")) {
            Some(name) => (&mut excluded, name.to_owned()),
            None => (&mut allowed, part),
        };
        list.push(match name.as_str() {
            "call" | "calls" | "phone" | "voice" | "telephone" | "phone call" => Channel::Call,
            "text" | "texts" | "sms" | "text message" => Channel::Text,
            "email" | "e mail" | "emails" => Channel::Email,
            "letter" | "letters" | "post" | "mail" | "door hanger" => Channel::Letter,
            _ => return Err(Unread::expected(CHANNELS_EXPECTED)),
        });
    }
    if allowed.is_empty() && !excluded.is_empty() {
        allowed = Channel::ALL.to_vec();
    }
    allowed.retain(|channel| !excluded.contains(channel));
    allowed.sort_unstable();
    allowed.dedup();
    Ok(Some(allowed))
}

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
