//! Chances of reaching people and of their acting, and door hangers.

use serde::{Deserialize, Serialize};

/// The `[outreach.reach]` section: chances of reaching somebody, 0 to 1. All judgement from `[reach-trials]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReachConfig {
    /// Chance that a call to a home is answered, for each local hour 0 to 23 of Monday to Friday, `[24]`.
    pub home_weekday: Vec<f64>,
    /// The same on Saturday and Sunday.
    pub home_weekend: Vec<f64>,
    /// Chance that a call to a firm or public body is answered, Monday to Friday, `[24]`.
    pub business_weekday: Vec<f64>,
    /// The same on Saturday and Sunday.
    pub business_weekend: Vec<f64>,
    /// Chance that a message can be left when nobody answers.
    pub message_left: f64,
    /// Chance that a text arrives and is read in time.
    pub text: f64,
    /// Chance that an e-mail arrives and is opened in time.
    pub email: f64,
    /// Chance that a letter arrives and is read, once the post has had its days.
    pub letter: f64,
    /// Days the post takes, the slow end.
    pub letter_days: u32,
    /// Worth of a call to somebody who was also sent a text or e-mail, against independence: dead numbers and
    /// people who answer nothing are shared between channels.
    pub overlap: f64,
}

impl Default for ReachConfig {
    fn default() -> Self {
        let hours = |work: f64, evening: f64, day_from: usize, day_until: usize| -> Vec<f64> {
            (0..24)
                .map(|hour| match hour {
                    h if h >= day_from && h < day_until => work,
                    17..21 => evening,
                    _ => 0.1,
                })
                .collect()
        };
        Self {
            home_weekday: hours(0.30, 0.40, 8, 17),
            home_weekend: hours(0.38, 0.38, 9, 17),
            business_weekday: hours(0.60, 0.10, 8, 17),
            business_weekend: hours(0.15, 0.10, 8, 17),
            message_left: 0.45,
            text: 0.65,
            email: 0.33,
            letter: 0.60,
            letter_days: 5,
            overlap: 0.85,
        }
    }
}

/// The `[outreach.act]` section: what follows once somebody knows. All judgement from `[reach-trials]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ActConfig {
    /// Chance that somebody acts without being told.
    pub unaided: f64,
    /// Chance that somebody spoken to acts.
    pub call: f64,
    /// Chance that somebody who hears a left message acts.
    pub message: f64,
    /// Chance that a reader of a text acts.
    pub text: f64,
    /// Chance that a reader of an e-mail acts.
    pub email: f64,
    /// Chance that a reader of a letter acts.
    pub letter: f64,
    /// Chance that a door hanger is acted upon.
    pub hanger: f64,
    /// Share of the expected loss that goes when the person acts, by wording case.
    pub effect: ByCase,
    /// Hours of daylight the person needs to act, by wording case.
    pub hours: ByCase,
}

impl Default for ActConfig {
    fn default() -> Self {
        Self {
            unaided: 0.15,
            call: 0.50,
            message: 0.12,
            text: 0.30,
            email: 0.25,
            letter: 0.20,
            hanger: 0.32,
            effect: ByCase {
                irrigation: 0.9,
                domestic: 0.7,
                fire: 0.6,
                freeze_drip: 0.4,
                vacant: 0.8,
                iced: 0.2,
            },
            hours: ByCase {
                irrigation: 1.0,
                domestic: 2.0,
                fire: 4.0,
                freeze_drip: 0.5,
                vacant: 4.0,
                iced: 0.5,
            },
        }
    }
}

/// One number for each wording case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByCase {
    /// Irrigation lines that can be shut and drained.
    pub irrigation: f64,
    /// Lines in use.
    pub domestic: f64,
    /// Fire lines.
    pub fire: f64,
    /// Assemblies with a thermostatic drip device.
    pub freeze_drip: f64,
    /// Premises where nobody is.
    pub vacant: f64,
    /// Assemblies that were seen with ice in them, and parts that froze in a night before: what breaks is not saved any more, the flood behind it
    /// can be (judgement).
    pub iced: f64,
}

/// The `[outreach.hangers]` section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct HangerConfig {
    /// Crews that can place door hangers during the shift.
    pub crews: usize,
    /// Doors a crew does in an hour (common practice, no source).
    pub doors_per_hour: f64,
}

impl Default for HangerConfig {
    fn default() -> Self {
        Self {
            crews: 1,
            doors_per_hour: 12.0,
        }
    }
}
