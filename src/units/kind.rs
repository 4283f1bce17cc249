//! How any quantity is read: a number, a unit of a table, and what is possible at all.

use super::UnitSystem;
use super::number::{leading_number, squeeze};
use super::refusal::{Problem, UnitError, Wanted};

/// One accepted unit: its spellings after [`squeeze`], and the map to SI `value * factor + offset`.
pub(super) struct Unit {
    pub(super) spellings: &'static [&'static str],
    pub(super) factor: f64,
    pub(super) offset: f64,
}

/// A unit without offset.
pub(super) const fn unit(spellings: &'static [&'static str], factor: f64) -> Unit {
    Unit {
        spellings,
        factor,
        offset: 0.0,
    }
}

/// A kind of quantity: its words, its units, what a bare number takes, and what is possible at all.
pub(super) struct Kind {
    pub(super) wanted: Wanted,
    pub(super) units: &'static [Unit],
    /// Spelling taken by a bare number in US and in SI.
    pub(super) bare: (&'static str, &'static str),
    /// Units that are recognised but refused, with the reason.
    pub(super) refused: &'static [(&'static [&'static str], Problem)],
    /// Lowest possible SI value and the problem with less.
    pub(super) lowest: Option<(f64, Problem)>,
}

/// Text to SI by a kind of quantity.
pub(super) fn read(kind: &Kind, text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    let fail = |problem: Problem| UnitError::new(kind.wanted, text, problem);
    let (value, rest) = leading_number(text).map_err(fail)?;
    let squeezed = squeeze(rest);
    let wanted = match (squeezed.as_str(), system) {
        ("", UnitSystem::Us) => kind.bare.0,
        ("", UnitSystem::Bar) if kind.bare.1 == "kpa" => "bar",
        ("", UnitSystem::Si | UnitSystem::Bar) => kind.bare.1,
        (given, _) => given,
    };
    for (spellings, reason) in kind.refused {
        if spellings.contains(&wanted) {
            return Err(fail(reason.clone()));
        }
    }
    let Some(unit) = kind.units.iter().find(|unit| unit.spellings.contains(&wanted)) else {
        return Err(fail(Problem::UnknownUnit(rest.to_string())));
    };
    let si = value * unit.factor + unit.offset;
    if !si.is_finite() {
        return Err(fail(Problem::TooLarge));
    }
    if let Some((lowest, problem)) = &kind.lowest
        && si < *lowest
    {
        return Err(fail(problem.clone()));
    }
    Ok(si)
}

/// For quantities that cannot be below nothing.
pub(super) const NOT_NEGATIVE: Option<(f64, Problem)> = Some((0.0, Problem::Negative));
