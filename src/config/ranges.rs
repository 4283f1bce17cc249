//! Whether what a config says can be: each number against its ranges, and numbers against each other.

use super::keys::{self, Key};
use super::{Config, read::Reader};
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::{DeviceType, NominalSize};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// kPa and psi as MPa: a pressure typed in another unit than the key's.
const OTHER_PRESSURES: [(&str, f64); 3] = [("psi", 0.006_894_757), ("kPa", 0.001), ("bar", 0.1)];

impl Reader<'_> {
    /// `BW-C07` a number that cannot be, `BW-C08` one that is used and doubted.
    pub(super) fn ranges(&self, table: &DeTable<'_>, faults: &mut Faults) {
        self.ranges_below(table, &mut Vec::new(), faults);
    }

    fn ranges_below<'p>(&self, table: &'p DeTable<'_>, path: &mut Vec<&'p str>, faults: &mut Faults) {
        for (key, value) in table {
            path.push(key.get_ref());
            self.value(value, path, faults);
            path.pop();
        }
    }

    fn value<'p>(&self, value: &'p Spanned<DeValue<'_>>, path: &mut Vec<&'p str>, faults: &mut Faults) {
        match value.get_ref() {
            DeValue::Table(table) => self.ranges_below(table, path, faults),
            DeValue::Array(items) => items.iter().for_each(|item| self.value(item, path, faults)),
            other => {
                if let (Some(number), Some(key)) = (number(other), keys::of(path)) {
                    let fault = judged(key, &path.join("."), number);
                    faults.0.extend(fault.map(|fault| self.at(fault, Some(value.span()))));
                }
            }
        }
    }

    /// `BW-C09`: numbers that contradict each other, and names of `[freeze.dimensions]` that are no type and size.
    pub(super) fn relations(&self, config: &Config, table: &DeTable<'_>, faults: &mut Faults) {
        for (path, what, expected) in contradictions(config) {
            let fault = Fault::new("BW-C09", Severity::Fatal, what)
                .column(&path)
                .expected(expected)
                .remedy(
                    "Correct one of them; a key that is left out has its default, which `brimwater config` prints.",
                );
            let parts: Vec<&str> = path.split('.').collect();
            faults.push(self.at(fault, find(table, &parts)));
        }
        self.measures(config, table, faults);
    }

    /// `BW-C10`: a measure of `[season]` without cost or life, which could not be weighed.
    fn measures(&self, config: &Config, table: &DeTable<'_>, faults: &mut Faults) {
        for (word, measure) in config.season.measures.all() {
            for lacking in measure.lacks() {
                let fault = Fault::new("BW-C10", Severity::Fatal, "this measure has no cost or no life")
                    .column(format!("season.measures.{word}.{lacking}"))
                    .expected("cost_usd and life_years, both")
                    .remedy("Give both, or set offered = false; a section left out has its defaults.");
                faults.push(self.at(fault, find(table, &["season", "measures", word])));
            }
        }
    }
}

/// A number of the file; none for other kinds of value.
fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse().ok(),
        // Too large for 64 bits is too large for every key.
        DeValue::Integer(integer) => {
            Some(i64::from_str_radix(integer.as_str(), integer.radix()).map_or(f64::INFINITY, |whole| whole as f64))
        }
        _ => None,
    }
}

fn judged(key: &Key, path: &str, value: f64) -> Option<Fault> {
    let range = key.range?;
    let inside = |[low, high]: [f64; 2]| (low..=high).contains(&value);
    if inside(range.plausible) {
        return None;
    }
    let [low, high] = range.possible;
    let fault = if inside(range.possible) {
        let [usual_low, usual_high] = range.plausible;
        Fault::new(
            "BW-C08",
            Severity::Warning,
            "this setting is unusual; it was used as it stands",
        )
        .expected(format!("{usual_low} to {usual_high} {}", key.unit))
    } else {
        Fault::new("BW-C07", Severity::Fatal, "this setting cannot be")
            .expected(format!("{low} to {high} {}", key.unit))
    };
    let remedy = mistaken_unit(key, range.plausible, value).unwrap_or_else(|| {
        format!(
            "Check number and unit; `brimwater config {}` tells what it means.",
            key.path
        )
    });
    Some(fault.column(path).remedy(remedy))
}

/// What the writer may have meant, where the number fits in another unit.
fn mistaken_unit(key: &Key, [low, high]: [f64; 2], value: f64) -> Option<String> {
    let fits = |other: f64| (low..=high).contains(&other);
    if key.unit.starts_with("share") && (1.0..=100.0).contains(&value) {
        return Some(format!("A share is meant: {value} percent is {}.", value / 100.0));
    }
    if key.unit == "°C" {
        let celsius = (value - 32.0) / 1.8;
        return fits(celsius).then(|| format!("Degrees Celsius are meant: {value} °F is {celsius:.1} °C."));
    }
    if key.unit == "MPa" {
        return OTHER_PRESSURES
            .iter()
            .find(|(_, mpa)| fits(value * mpa))
            .map(|(unit, mpa)| format!("Megapascals are meant: {value} {unit} is {:.1} MPa.", value * mpa));
    }
    if key.unit == "K" {
        return fits(value / 1.8)
            .then(|| format!("Kelvins are meant: a difference of {value} °F is {:.1} K.", value / 1.8));
    }
    None
}

fn contradictions(config: &Config) -> Vec<(String, String, String)> {
    let mut found = Vec::new();
    let mut tell = |wrong: bool, path: &str, what: &str, expected: &str| {
        if wrong {
            found.push((path.to_owned(), what.to_owned(), expected.to_owned()));
        }
    };
    let (freeze, ensemble, tiers) = (&config.freeze, &config.ensemble, &config.ranking.tiers);
    tell(
        ensemble.error_lead_h.is_empty() || ensemble.error_lead_h.windows(2).any(|pair| pair[0] >= pair[1]),
        "ensemble.error_lead_h",
        "the leads of the forecast error do not rise",
        "hours, each more than the one before",
    );
    tell(
        ensemble.error_k.len() != ensemble.error_lead_h.len(),
        "ensemble.error_k",
        "there are not as many forecast errors as leads",
        "one number for each of `ensemble.error_lead_h`",
    );
    tell(
        freeze.drip_device.closes_c <= freeze.drip_device.opens_c,
        "freeze.drip_device.closes_c",
        "the drip device would close before it opens",
        "more than `freeze.drip_device.opens_c`",
    );
    tell(
        freeze.enclosure.heated_limit_c >= freeze.enclosure.heated_hold_c,
        "freeze.enclosure.heated_limit_c",
        "a heater at its limit above the temperature that it holds has no power",
        "less than `freeze.enclosure.heated_hold_c`",
    );
    tell(
        ensemble.nucleation_max_c < ensemble.nucleation_mean_c,
        "ensemble.nucleation_max_c",
        "the warmest nucleation is below its mean",
        "at least `ensemble.nucleation_mean_c`",
    );
    tell(
        tiers.message_chance > tiers.call_chance,
        "ranking.tiers.message_chance",
        "people would be called before they get a message",
        "at most `ranking.tiers.call_chance`",
    );
    tell(
        tiers.call_next_usd > tiers.call_first_usd,
        "ranking.tiers.call_next_usd",
        "`call next` would begin above `call first`",
        "at most `ranking.tiers.call_first_usd`",
    );
    for name in config.freeze.dimensions.keys() {
        let right = name.split_once(' ').is_some_and(|(device, size)| {
            DeviceType::ALL.iter().any(|known| known.word() == device)
                && NominalSize::ALL.iter().any(|known| known.word() == size)
        });
        tell(
            !right,
            &format!("freeze.dimensions.{name}"),
            "this names no type and size, so nothing would be overridden",
            "such as \"RP 1\" or \"PVB 1-1/2\"",
        );
    }
    found
}

/// Where a path stands in the file.
fn find(table: &DeTable<'_>, path: &[&str]) -> Option<Range<usize>> {
    let (first, rest) = path.split_first()?;
    let (key, value) = table.iter().find(|(key, _)| key.get_ref() == first)?;
    match value.get_ref() {
        DeValue::Table(inner) if !rest.is_empty() => find(inner, rest),
        DeValue::Table(_) => Some(key.span()),
        _ => Some(value.span()),
    }
}
