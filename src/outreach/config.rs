//! The `[outreach]` section of the config, with its defaults.
//!
//! No published figure exists for reach or response of freeze notices about assemblies. The defaults
//! are judgement informed by the trials and exercises that `[reach-trials]` lists, and each of
//! them can be replaced by the utility's own record.

mod advice;
mod check;
mod reach;

pub use advice::{AdviceConfig, AfterDraining, BlowOut, MeterValve, RunWater, Thaw};
pub use reach::{ActConfig, ByCase, HangerConfig, ReachConfig};

use crate::inventory::Channel;
use chrono::NaiveTime;
use serde::{Deserialize, Serialize};

/// The `[outreach]` section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct OutreachConfig {
    /// Identifier of this utility's contact programme; a log that carries another one is refused.
    pub programme_id: String,
    /// Short sender name for text messages, at most 24 characters; the utility's name when empty.
    pub text_sender: String,
    /// Folder with message templates that replace the built-in ones of the same name; none when empty.
    pub templates: String,
    /// Who is who in the list.
    pub people: PeopleConfig,
    /// The working day of the callers.
    pub shift: ShiftConfig,
    /// Chance of reaching somebody.
    pub reach: ReachConfig,
    /// Chance that somebody who was reached acts, and that acting helps.
    pub act: ActConfig,
    /// Door hangers.
    pub hangers: HangerConfig,
    /// Advice on which published sources disagree.
    pub advice: AdviceConfig,
    /// Inspection and retest after the spell.
    pub after: AfterConfig,
}

impl Default for OutreachConfig {
    fn default() -> Self {
        Self {
            programme_id: "default".into(),
            text_sender: String::new(),
            templates: String::new(),
            people: PeopleConfig::default(),
            shift: ShiftConfig::default(),
            reach: ReachConfig::default(),
            act: ActConfig::default(),
            hangers: HangerConfig::default(),
            advice: AdviceConfig::default(),
            after: AfterConfig::default(),
        }
    }
}

/// The `[outreach.people]` section: reading the contact columns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PeopleConfig {
    /// Channels taken as allowed where the column is blank.
    pub channels_when_blank: Vec<Channel>,
    /// Area code put before a seven-digit number; such numbers are faults when empty.
    pub default_area_code: String,
    /// Extra column that says who the listed person is: `occupant`, `owner`, `manager` or `agent`.
    pub role_column: String,
    /// Extra column with the owner's name, where the listed person is not the owner.
    pub owner_name_column: String,
    /// Extra column with the owner's telephone number.
    pub owner_phone_column: String,
    /// Extra column with the owner's e-mail address.
    pub owner_email_column: String,
    /// Extra column with what the person needs to be able to use a message, such as `large print` or `relay`.
    pub need_column: String,
    /// A number or address listed at more than this many street addresses is a switchboard (judgement).
    pub switchboard_addresses: usize,
    /// Numbers and addresses that stand for "none" in this utility's records.
    pub placeholders: Vec<String>,
}

impl Default for PeopleConfig {
    fn default() -> Self {
        Self {
            channels_when_blank: vec![Channel::Call, Channel::Text, Channel::Email, Channel::Letter],
            default_area_code: String::new(),
            role_column: "contact_role".into(),
            owner_name_column: "owner_name".into(),
            owner_phone_column: "owner_phone".into(),
            owner_email_column: "owner_email".into(),
            need_column: "contact_need".into(),
            switchboard_addresses: 5,
            placeholders: [
                "none@none.com",
                "noemail@example.com",
                "none",
                "no email",
                "no e-mail",
                "no phone",
            ]
            .map(String::from)
            .to_vec(),
        }
    }
}

/// The `[outreach.shift]` section: who calls when.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ShiftConfig {
    /// Start of the shift, local clock, `HH:MM`.
    pub start: String,
    /// End of the shift, local clock.
    pub end: String,
    /// Days of calling, counted from the day of `now`.
    pub days: u32,
    /// Whether Saturday and Sunday are worked during a spell.
    pub weekends: bool,
    /// People on the phones.
    pub callers: usize,
    /// How many of them speak Spanish.
    pub spanish_callers: usize,
    /// Whether callers who speak no Spanish have an interpreter line and may call anybody.
    pub interpreter_line: bool,
    /// Minutes a dial takes on average, answered or not. 4 min is 15 dials an hour, of which about six become
    /// conversations `[outreach-practice]`.
    pub minutes_per_call: f64,
    /// Length of the blocks that the plan reasons in, minutes.
    pub block_minutes: u32,
    /// No call before this local time. Default 08:00 and 21:00, the hours that 47 CFR 64.1200(c)(1) sets for
    /// telephone solicitation and that courtesy takes over `[cfr-47-64-1200]`.
    pub quiet_until: String,
    /// No call after this local time.
    pub quiet_from: String,
    /// Attempts at one person, at most.
    pub attempts: u8,
    /// Least hours between two attempts at one person.
    pub hours_between_attempts: f64,
    /// Start of the daylight in which people can act, local clock; used where the sun is not computed.
    pub daylight_from: String,
    /// End of that daylight.
    pub daylight_until: String,
    /// Share by which a call loses worth for each hour it is put off (judgement: keeps calls early when nothing
    /// else decides).
    pub wait_penalty_per_hour: f64,
    /// How many times a critical person's loss counts when calls compete, so that they come ahead of money (judgement).
    pub critical_weight: f64,
    /// The same for persons with a fire line (judgement).
    pub fire_weight: f64,
    /// What a call costs the utility, US dollars; marks on the chart where one more call stops paying (judgement).
    pub cost_per_call_usd: f64,
}

impl Default for ShiftConfig {
    fn default() -> Self {
        Self {
            start: "09:00".into(),
            end: "17:00".into(),
            days: 3,
            weekends: true,
            callers: 6,
            spanish_callers: 2,
            interpreter_line: false,
            minutes_per_call: 4.0,
            block_minutes: 30,
            quiet_until: "08:00".into(),
            quiet_from: "21:00".into(),
            attempts: 3,
            hours_between_attempts: 2.0,
            daylight_from: "07:30".into(),
            daylight_until: "17:30".into(),
            wait_penalty_per_hour: 0.002,
            critical_weight: 10_000.0,
            fire_weight: 100.0,
            cost_per_call_usd: 4.0,
        }
    }
}

/// The `[outreach.after]` section: inspection and retest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AfterConfig {
    /// Years between tests of commercial and public assemblies (common practice, no source).
    pub commercial_interval_years: f64,
    /// Years between tests of residential assemblies (common practice, no source).
    pub residential_interval_years: f64,
    /// Certified testers at work.
    pub testers: usize,
    /// Small assemblies (2 in and under) a tester does in a day (common practice: 8 to 15).
    pub small_per_day: f64,
    /// Large assemblies a tester does in a day (common practice: 3 to 6).
    pub large_per_day: f64,
    /// Whether testers work on Saturday and Sunday.
    pub weekends: bool,
    /// Least chance of ice that puts an assembly on the list.
    pub least_p_ice: f64,
    /// Days within which an assembly that froze is looked at though it does not leak (judgement).
    pub within_days: u32,
    /// Assemblies drawn at random beside the list, so that undamaged ones are counted too.
    pub random_sample: usize,
    /// In which order visits are made that nothing presses.
    pub order: VisitOrder,
}

/// The order of visits behind those that were reported broken, critical customers and fire lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum VisitOrder {
    /// Health hazards first, then lines in use, then those that are to be turned on; of each the likeliest damage first.
    #[default]
    Urgency,
    /// Those first whose finding would teach most about the model's constants.
    Learning,
}

impl Default for AfterConfig {
    fn default() -> Self {
        Self {
            commercial_interval_years: 1.0,
            residential_interval_years: 2.0,
            testers: 2,
            small_per_day: 10.0,
            large_per_day: 4.0,
            weekends: false,
            least_p_ice: 0.2,
            within_days: 30,
            random_sample: 200,
            order: VisitOrder::Urgency,
        }
    }
}

/// A local clock time from `HH:MM`.
pub fn clock(text: &str) -> Option<NaiveTime> {
    NaiveTime::parse_from_str(text.trim(), "%H:%M").ok()
}
