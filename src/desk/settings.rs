//! Language and units set from a page that holds something typed: nothing of it is lost, and no number changes its unit.

use super::form::Form;
use super::sessions::Session;
use super::state::Desk;
use crate::expansion::readings::{Quantity, reading};
use crate::inventory::Language;
use crate::units::UnitSystem;

/// What the button that sets them sends.
const GO: &str = "set";

/// The session as the form wants it, when it was sent to set language and units; the desk keeps it so.
pub fn set(desk: &Desk, session: &Session, form: &Form) -> Option<Session> {
    if form.get("go") != GO {
        return None;
    }
    let mut session = session.clone();
    (session.language, session.system) = wanted(form);
    desk.sessions.change(&session.id, |kept| {
        kept.language = session.language;
        kept.system = session.system;
    });
    Some(session)
}

/// Language and units that a form names.
pub fn wanted(form: &Form) -> (Language, UnitSystem) {
    let language = match form.get("language") {
        "es" => Language::Spanish,
        _ => Language::English,
    };
    (language, UnitSystem::from_word(form.get("units")))
}

/// The form with the units written out that its bare numbers had under the old setting: "24" typed as °F must not become 24 °C.
pub fn with_units(form: &Form, old: UnitSystem, new: UnitSystem) -> Form {
    if old == new {
        return form.clone();
    }
    form.map(|name, value| {
        let bare = value.trim().parse::<f64>().is_ok();
        unit_of(name, old)
            .filter(|_| bare)
            .map(|unit| format!("{} {unit}", value.trim()))
    })
}

/// The unit of a bare number in a field, as the readers take it.
fn unit_of(name: &str, system: UnitSystem) -> Option<&'static str> {
    let (us, si, bar) = match name {
        "air" => ("F", "C", "C"),
        "rate_other" => ("gal/h", "L/h", "L/h"),
        _ => match reading(&name.replace('_', "-"))?.quantity {
            Quantity::Volume => ("gal", "L", "L"),
            Quantity::Temperature => ("F", "C", "C"),
            Quantity::Difference => ("F", "K", "K"),
            Quantity::Gauge => ("psi", "kPa", "bar"),
            Quantity::Length => ("ft", "m", "m"),
            Quantity::Power => ("Btu/h", "W", "W"),
            _ => return None,
        },
    };
    Some(match system {
        UnitSystem::Us => us,
        UnitSystem::Si => si,
        UnitSystem::Bar => bar,
    })
}

/// The page to go back to after the settings of a page without a form of its own; whatever else was sent, the start.
pub fn back(form: &Form) -> &'static str {
    let own = [
        "/phone",
        "/phone/drip",
        "/expansion",
        "/plan",
        "/plan/map",
        "/plan/calls",
        "/plan/board",
        "/plan/list",
        "/record",
        "/season",
        "/people",
        "/account",
    ];
    own.into_iter()
        .find(|page| *page == form.get("back"))
        .unwrap_or("/phone")
}
