//! One parser for each kind of cell: what people write to what the model takes.
//!
//! Each returns `Ok(None)` for a blank (also `?`, `n/a`, `unknown` and the like), the value, or [`Unread`]
//! saying what was expected. None of them panics on any text.

mod choices;
mod device;
mod quantities;
mod size;

pub use choices::{
    channels, customer_class, language, placement, riser_material, service, wind_exposure, winter_use, yes_no,
};
pub use device::{DeviceRead, device_type};
pub use quantities::{degrees, elevation_m, height_m, number, power_w, wrap_m2k_per_w};
pub use size::{SizeRead, nominal_size};

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
