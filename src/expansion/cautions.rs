//! What is always said, and what is said when it applies.

use super::closed::{Closed, ClosingDevice};
use super::system::System;
use crate::units::{PA_PER_PSI, UnitSystem, c_from_f, show_gauge};

/// How long hot water takes to burn an adult's skin deeply, at some °F: (°F, words). Children burn about four times as fast.
/// `[cpsc-scald]`
pub const SCALD_TIMES: [(f64, &str); 4] = [
    (120.0, "about 5 minutes"),
    (130.0, "about 30 seconds"),
    (140.0, "about 6 seconds"),
    (150.0, "about 2 seconds"),
];

/// The caution about scalding and about Legionella for a storage temperature, °C. `[cpsc-scald]` `[osha-legionella]`
pub fn scald_sentence(hot_c: f64, words: UnitSystem) -> String {
    let list: Vec<String> = SCALD_TIMES
        .iter()
        .map(|(fahrenheit, time)| match words {
            UnitSystem::Us => format!("{fahrenheit:.0} °F in {time}"),
            UnitSystem::Si => format!("{:.0} °C in {time}", c_from_f(*fahrenheit)),
        })
        .collect();
    let now = if hot_c > c_from_f(120.0) + 0.01 {
        " This storage is above 120 °F (49 °C): fit a listed mixing valve where people draw water."
    } else {
        ""
    };
    format!("Hot water burns: {}; children sooner.{now}", list.join(", "))
}

/// All cautions for a system, the standing ones first.
pub fn all(system: &System, closed: &Closed) -> Vec<String> {
    let words = system.words;
    let mut said = vec![
        "The heater's temperature and pressure relief valve is a safety device and never the control for expansion; never plug, cap, valve off or reset it."
            .to_string(),
        "Set the precharge with the tank isolated and drained to zero, at the temperature where it stands; check it every year."
            .to_string(),
        scald_sentence(system.hot_c, words),
        "Do not lower the storage temperature to cure expansion: water stored below 140 °F (60 °C) can grow Legionella, and hotter water scalds; both are settled by storage temperature and a mixing valve together."
            .to_string(),
        "A permit, the local plumbing code as adopted, and a licensed plumber decide; check the maker's instructions of tank and valve."
            .to_string(),
        "The tank goes on the cold line between the last check and the heater, supported, listed for drinking water, with nothing that can shut it off unnoticed."
            .to_string(),
        "A relief discharges by gravity through an air gap to a place where it is seen, cannot scald, flood or freeze; never capped, never threaded at its end, never into a condensate pan or pump."
            .to_string(),
        "Take the highest static pressure of a day and night with a maximum-hand gauge; mains stand highest at night."
            .to_string(),
        "Water at the top of a tank can be hotter than the thermostat says by up to 30 °F (17 K) after short draws; size on the hottest storage."
            .to_string(),
    ];
    if let (Some(street_pa), true) = (
        system.street_gauge_pa,
        system
            .closed_by
            .iter()
            .any(|d| matches!(d, ClosingDevice::Prv | ClosingDevice::PrvWithBypass)),
    ) && street_pa > system.heater_relief_gauge_pa
    {
        said.push(format!(
            "The main at {} is above the heater's relief valve ({}): if the regulator fails, that valve opens.",
            show_gauge(street_pa, words),
            show_gauge(system.heater_relief_gauge_pa, words)
        ));
    }
    if system.static_gauge_pa > 80.0 * PA_PER_PSI * 1.0005 {
        said.push(
            "Static pressure above 80 psi (552 kPa) calls for a pressure reducing valve with a strainer under the usual plumbing codes, as adopted locally; the valve itself closes the plumbing."
                .to_string(),
        );
    }
    if closed.is_closed.is_none() {
        said.push("Whether the plumbing is closed is not settled; the figures take it as closed.".to_string());
    }
    if system.closed_by.contains(&ClosingDevice::BackflowAssembly) {
        said.push(
            "After any work on the assembly or a move of it, a certified tester tests it before service; a relief port that drips in step with heating points to the second check."
                .to_string(),
        );
    }
    if system.heaters.iter().any(|heater| heater.volume_l > 454.3) {
        said.push(
            "A vessel above 120 gal (454 L) is usually built and inspected to a boiler and pressure vessel code; its tank may have to be, too."
                .to_string(),
        );
    }
    said
}
