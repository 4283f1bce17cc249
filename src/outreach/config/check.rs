//! Whether the values of the section can be used.

use super::{OutreachConfig, clock};
use crate::faults::{Fault, Faults, Severity};

impl OutreachConfig {
    /// Every value that cannot be used, at once.
    pub fn check(&self) -> Faults {
        let mut faults = Faults::new();
        let mut bad = |key: &str, value: String, expected: &str| {
            faults.push(
                Fault::new("BW-C40", Severity::Fatal, format!("`{key}` cannot be used"))
                    .column(key)
                    .value(&value)
                    .expected(expected)
                    .remedy("Correct the [outreach] section of the config, or leave the key out."),
            );
        };
        let shift = &self.shift;
        for (key, text) in [
            ("outreach.shift.start", &shift.start),
            ("outreach.shift.end", &shift.end),
            ("outreach.shift.quiet_until", &shift.quiet_until),
            ("outreach.shift.quiet_from", &shift.quiet_from),
            ("outreach.shift.daylight_from", &shift.daylight_from),
            ("outreach.shift.daylight_until", &shift.daylight_until),
        ] {
            if clock(text).is_none() {
                bad(key, text.clone(), "a time of day as HH:MM");
            }
        }
        for (from, until, a, b) in [
            ("outreach.shift.start", "outreach.shift.end", &shift.start, &shift.end),
            (
                "outreach.shift.quiet_until",
                "outreach.shift.quiet_from",
                &shift.quiet_until,
                &shift.quiet_from,
            ),
            (
                "outreach.shift.daylight_from",
                "outreach.shift.daylight_until",
                &shift.daylight_from,
                &shift.daylight_until,
            ),
        ] {
            if let (Some(a), Some(b)) = (clock(a), clock(b))
                && a >= b
            {
                bad(from, a.format("%H:%M").to_string(), &format!("a time before `{until}`"));
            }
        }
        let ranged = [
            ("outreach.shift.minutes_per_call", shift.minutes_per_call, 0.5, 120.0),
            (
                "outreach.shift.block_minutes",
                f64::from(shift.block_minutes),
                5.0,
                240.0,
            ),
            ("outreach.shift.days", f64::from(shift.days), 1.0, 14.0),
            ("outreach.shift.attempts", f64::from(shift.attempts), 1.0, 9.0),
            (
                "outreach.shift.hours_between_attempts",
                shift.hours_between_attempts,
                0.0,
                48.0,
            ),
            (
                "outreach.shift.wait_penalty_per_hour",
                shift.wait_penalty_per_hour,
                0.0,
                0.01,
            ),
            ("outreach.shift.critical_weight", shift.critical_weight, 1.0, 1e6),
            ("outreach.shift.fire_weight", shift.fire_weight, 1.0, 1e6),
            ("outreach.shift.cost_per_call_usd", shift.cost_per_call_usd, 0.0, 1e4),
            ("outreach.reach.message_left", self.reach.message_left, 0.0, 1.0),
            ("outreach.reach.text", self.reach.text, 0.0, 1.0),
            ("outreach.reach.email", self.reach.email, 0.0, 1.0),
            ("outreach.reach.letter", self.reach.letter, 0.0, 1.0),
            ("outreach.reach.overlap", self.reach.overlap, 0.0, 1.0),
            ("outreach.act.unaided", self.act.unaided, 0.0, 1.0),
            ("outreach.act.call", self.act.call, 0.0, 1.0),
            ("outreach.act.message", self.act.message, 0.0, 1.0),
            ("outreach.act.text", self.act.text, 0.0, 1.0),
            ("outreach.act.email", self.act.email, 0.0, 1.0),
            ("outreach.act.letter", self.act.letter, 0.0, 1.0),
            ("outreach.act.hanger", self.act.hanger, 0.0, 1.0),
            (
                "outreach.hangers.doors_per_hour",
                self.hangers.doors_per_hour,
                0.0,
                200.0,
            ),
            (
                "outreach.after.commercial_interval_years",
                self.after.commercial_interval_years,
                0.1,
                20.0,
            ),
            (
                "outreach.after.residential_interval_years",
                self.after.residential_interval_years,
                0.1,
                20.0,
            ),
            ("outreach.after.small_per_day", self.after.small_per_day, 0.1, 100.0),
            ("outreach.after.large_per_day", self.after.large_per_day, 0.1, 100.0),
            ("outreach.after.least_p_ice", self.after.least_p_ice, 0.0, 1.0),
        ];
        for (key, value, low, high) in ranged {
            if !(low..=high).contains(&value) {
                bad(key, value.to_string(), &format!("a number from {low} to {high}"));
            }
        }
        for (key, value) in [
            ("irrigation", self.act.effect.irrigation),
            ("domestic", self.act.effect.domestic),
            ("fire", self.act.effect.fire),
            ("freeze_drip", self.act.effect.freeze_drip),
            ("vacant", self.act.effect.vacant),
        ] {
            if !(0.0..=1.0).contains(&value) {
                bad(
                    &format!("outreach.act.effect.{key}"),
                    value.to_string(),
                    "a share from 0 to 1",
                );
            }
        }
        for (key, value) in [
            ("irrigation", self.act.hours.irrigation),
            ("domestic", self.act.hours.domestic),
            ("fire", self.act.hours.fire),
            ("freeze_drip", self.act.hours.freeze_drip),
            ("vacant", self.act.hours.vacant),
        ] {
            if !(0.0..=100.0).contains(&value) {
                bad(
                    &format!("outreach.act.hours.{key}"),
                    value.to_string(),
                    "hours from 0 to 100",
                );
            }
        }
        for (key, hours) in [
            ("outreach.reach.home_weekday", &self.reach.home_weekday),
            ("outreach.reach.home_weekend", &self.reach.home_weekend),
            ("outreach.reach.business_weekday", &self.reach.business_weekday),
            ("outreach.reach.business_weekend", &self.reach.business_weekend),
        ] {
            if hours.len() != 24 || hours.iter().any(|chance| !(0.0..=1.0).contains(chance)) {
                bad(
                    key,
                    format!("{} numbers", hours.len()),
                    "24 chances from 0 to 1, one an hour from midnight",
                );
            }
        }
        if shift.spanish_callers > shift.callers {
            bad(
                "outreach.shift.spanish_callers",
                shift.spanish_callers.to_string(),
                "no more than `outreach.shift.callers`",
            );
        }
        if shift.callers > 500 {
            bad("outreach.shift.callers", shift.callers.to_string(), "at most 500");
        }
        let area = &self.people.default_area_code;
        if !area.is_empty() && crate::outreach::phone::area_code_fault(area).is_some() {
            bad(
                "outreach.people.default_area_code",
                area.clone(),
                "three digits, the first 2 to 9",
            );
        }
        if self.text_sender.chars().count() > 24 {
            bad(
                "outreach.text_sender",
                self.text_sender.clone(),
                "at most 24 characters",
            );
        }
        faults
    }
}
