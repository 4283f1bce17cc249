//! What `brimwater weather inlet` prints.

use super::table;
use super::weather::{cautions, rounded};
use crate::units::{UnitSystem, f_from_c, show_temperature};
use crate::weather::inlet::Inlet;
use chrono::{Datelike, NaiveDate};
use serde_json::{Value, json};
use std::fmt::Write;

/// `brimwater.inlet/1`.
pub fn inlet_json(answer: &Inlet) -> Value {
    json!({
        "schema": "brimwater.inlet/1",
        "annual_mean_air_c": rounded(answer.annual_mean_air_c),
        "monthly_range_k": rounded(answer.monthly_range_k),
        "coldest_c": rounded(answer.coldest_c),
        "coldest_day": answer.coldest_day,
        "warmest_c": rounded(answer.warmest_c),
        "by_month_c": answer.by_month_c.map(rounded),
        "cautions": answer.cautions,
    })
}

/// Names of the months, short.
pub const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// The coldest day as people say it, such as `Feb 6`.
pub fn coldest_date(answer: &Inlet) -> String {
    NaiveDate::from_yo_opt(2001, u32::from(answer.coldest_day)).map_or_else(String::new, |date| {
        format!("{} {}", MONTHS.get(date.month0() as usize).unwrap_or(&""), date.day())
    })
}

/// Supply water by month as CSV.
pub fn inlet_csv(answer: &Inlet) -> String {
    let mut text = String::from("month,supply_water_c\n");
    for (at, water) in answer.by_month_c.iter().enumerate() {
        let _ = writeln!(text, "{},{}", at + 1, rounded(*water));
    }
    text
}

/// Supply water for people.
pub fn inlet_table(answer: &Inlet, units: UnitSystem) -> String {
    let day = coldest_date(answer);
    let mut text = format!(
        "Supply water from the air of the record: annual mean of the air {}, coldest water {} about {day}, warmest {}.\n",
        show_temperature(answer.annual_mean_air_c, units),
        show_temperature(answer.coldest_c, units),
        show_temperature(answer.warmest_c, units)
    );
    let mut shown = table::plain();
    shown.set_header(MONTHS);
    shown.add_row(answer.by_month_c.map(|water| match units {
        UnitSystem::Us => format!("{:.0}", f_from_c(water)),
        UnitSystem::Si | UnitSystem::Bar => format!("{water:.1}"),
    }));
    let unit = match units {
        UnitSystem::Us => "°F",
        UnitSystem::Si | UnitSystem::Bar => "°C",
    };
    let _ = writeln!(
        text,
        "Mean of each month, {unit}:\n{}",
        table::trimmed(&shown.to_string())
    );
    cautions(&answer.cautions, &mut text);
    text
}
