//! The `[outreach]` section of the config, with its defaults.
//!
//! No published figure exists for reach or response of freeze notices about assemblies. The defaults
//! are judgement informed by the trials and exercises that `[reach-trials]` lists, and each of
//! them can be replaced by the utility's own record.

use crate::faults::{Fault, Faults, Severity};
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
            placeholders: vec!["none@none.com".into(), "noemail@example.com".into()],
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
            },
            hours: ByCase {
                irrigation: 1.0,
                domestic: 2.0,
                fire: 4.0,
                freeze_drip: 0.5,
                vacant: 4.0,
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

/// What is said about running water at a tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunWater {
    /// Nothing is said.
    SayNothing,
    /// A thin stream at an indoor tap is advised for lines in use.
    ThinStream,
    /// People are asked not to run water.
    DoNotRun,
}

/// How the shutoffs are left once the line is drained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AfterDraining {
    /// As the maker's instructions say.
    AsMakerSays,
    /// Half open, at 45 degrees.
    HalfOpen,
    /// A quarter of the way from closed.
    QuarterOpen,
    /// Fully open.
    Open,
    /// Closed (test cocks only).
    Closed,
}

/// How ice may be thawed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Thaw {
    /// Wait for the day to warm it, or ask a plumber.
    LetItThaw,
    /// Warm air from a hair dryer on a protected outlet.
    WarmAir,
    /// Towels wetted with warm water.
    WarmTowels,
}

/// Who may blow a line out with air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BlowOut {
    /// Nothing is said.
    SayNothing,
    /// A contractor only, connected past the assembly.
    ContractorOnly,
    /// Not at all.
    DoNot,
}

/// Whether customers may shut the valve at the meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MeterValve {
    /// They call the utility.
    CallUs,
    /// They may when something has burst.
    IfBurst,
}

/// The `[outreach.advice]` section: published advice conflicts here, so the utility chooses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AdviceConfig {
    /// Running water at a tap.
    pub run_water: RunWater,
    /// Shutoffs once drained.
    pub shutoffs_after_draining: AfterDraining,
    /// Test cocks once drained.
    pub test_cocks_after_draining: AfterDraining,
    /// Thawing.
    pub thaw: Thaw,
    /// Compressed air.
    pub blow_out: BlowOut,
    /// Valve at the meter.
    pub meter_valve: MeterValve,
}

impl Default for AdviceConfig {
    fn default() -> Self {
        Self {
            run_water: RunWater::SayNothing,
            shutoffs_after_draining: AfterDraining::AsMakerSays,
            test_cocks_after_draining: AfterDraining::AsMakerSays,
            thaw: Thaw::LetItThaw,
            blow_out: BlowOut::SayNothing,
            meter_valve: MeterValve::CallUs,
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
        }
    }
}

/// A local clock time from `HH:MM`.
pub fn clock(text: &str) -> Option<NaiveTime> {
    NaiveTime::parse_from_str(text.trim(), "%H:%M").ok()
}

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
        if !area.is_empty() && super::phone::area_code_fault(area).is_some() {
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
