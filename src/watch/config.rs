//! The `[watch]` section of the config.

use crate::faults::{Fault, Faults, Severity};
use crate::language::Language;
use chrono::NaiveTime;
use serde::{Deserialize, Serialize};

/// What is watched, when people are told, and how.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct WatchConfig {
    /// Folder of the plans and of what was told; like all paths here, beside the config.
    pub folder: String,
    /// List of assemblies.
    pub assemblies: String,
    /// Series; left out with `fetch`.
    pub series: Vec<String>,
    /// List of stations.
    pub stations: String,
    /// Log of contacts.
    pub log: String,
    /// Whether the forecast comes from the weather service.
    pub fetch: bool,
    /// Address of the weather service; the public one when empty.
    pub service: String,
    /// Mail address or page of whoever runs the programme, for the weather service.
    pub contact: String,
    /// Minutes between two plans of the standing process.
    pub every_minutes: u64,
    /// Days for which plans are kept.
    pub keep_days: i64,
    /// Members of each plan.
    pub members: usize,
    /// Seed of every plan: the same, so that a change is never one of draws.
    pub seed: u64,
    /// New sites to call first that are worth a word: more than so many.
    pub more_than: usize,
    /// Hours for which nobody must be left to call before the thaw is told (judgement: two forecasts of 6 h say the same).
    pub thaw_after_h: i64,
    /// Hours after which what still holds is told again; 0 for never.
    pub remind_h: i64,
    /// Beginning of the quiet hours, local; the same as the end for none.
    pub quiet_from: NaiveTime,
    /// Their end.
    pub quiet_until: NaiveTime,
    /// First ice nearer than so many hours is told in quiet hours too (judgement: a night is no help to those who sleep through it).
    pub urgent_h: i64,
    /// Address that gets each word as JSON, signed.
    pub webhook: String,
    /// File with the secret of the signature, mode 0600; the environment's `BRIMWATER_WEBHOOK_SECRET` goes before it.
    pub webhook_secret_file: String,
    /// Addresses that get each word by mail, one message each.
    pub mail_to: Vec<String>,
    /// Address that the mail comes from.
    pub mail_from: String,
    /// The mail server: `smtps://host:465`, or `smtp://host:587` with STARTTLS; without TLS on this computer only.
    pub smtp: String,
    /// Name to sign in to the mail server with; empty where it asks for none.
    pub mail_user: String,
    /// File with the password there, mode 0600; the environment's `BRIMWATER_MAIL_SECRET` goes before it.
    pub mail_secret_file: String,
    /// Language of what is told.
    pub language: Language,
}

impl Default for WatchConfig {
    fn default() -> Self {
        let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default();
        Self {
            folder: String::new(),
            assemblies: String::new(),
            series: Vec::new(),
            stations: String::new(),
            log: String::new(),
            fetch: false,
            service: String::new(),
            contact: String::new(),
            every_minutes: 60,
            keep_days: 30,
            members: 256,
            seed: 1,
            more_than: 10,
            thaw_after_h: 6,
            remind_h: 24,
            quiet_from: time(21),
            quiet_until: time(6),
            urgent_h: 18,
            webhook: String::new(),
            webhook_secret_file: String::new(),
            mail_to: Vec::new(),
            mail_from: String::new(),
            smtp: String::new(),
            mail_user: String::new(),
            mail_secret_file: String::new(),
            language: Language::English,
        }
    }
}

impl WatchConfig {
    /// What is missing or cannot be, all at once.
    ///
    /// Faults, all fatal: `BW-W01` something that a watch needs is not named, `BW-W02` a number that cannot be.
    pub fn check(&self) -> Faults {
        let mut faults = Faults::new();
        let mut needed = |missing: bool, column: &str, what: &str| {
            if missing {
                faults.push(
                    Fault::new(
                        "BW-W01",
                        Severity::Fatal,
                        "the watch needs this and the config does not name it",
                    )
                    .column(column)
                    .expected(what)
                    .remedy("Add it to the section [watch] of the config."),
                );
            }
        };
        needed(
            self.folder.is_empty(),
            "watch.folder",
            "a folder for plans and for what was told",
        );
        needed(self.assemblies.is_empty(), "watch.assemblies", "the list of assemblies");
        needed(
            self.series.is_empty() != self.fetch,
            "watch.series or watch.fetch",
            "one of the two: files that something else renews, or fetch = true",
        );
        let mails = [&self.smtp, &self.mail_from, &self.mail_user, &self.mail_secret_file]
            .iter()
            .any(|text| !text.is_empty())
            || !self.mail_to.is_empty();
        needed(
            mails && self.smtp.is_empty(),
            "watch.smtp",
            "the mail server, as in smtps://mail.example.com:465",
        );
        needed(
            mails && self.mail_from.is_empty(),
            "watch.mail_from",
            "the address that the mail comes from",
        );
        needed(
            mails && self.mail_to.is_empty(),
            "watch.mail_to",
            "the addresses that get the mail",
        );
        let mut wrong = |bad: bool, column: &str, value: String, expected: &str| {
            if bad {
                faults.push(
                    Fault::new("BW-W02", Severity::Fatal, "the watch cannot work with this number")
                        .column(column)
                        .value(&value)
                        .expected(expected),
                );
            }
        };
        wrong(
            !(10..=1_440).contains(&self.every_minutes),
            "watch.every_minutes",
            self.every_minutes.to_string(),
            "10 to 1440: the services ask not to be asked more often",
        );
        wrong(
            self.members < 2,
            "watch.members",
            self.members.to_string(),
            "2 or more: one member has no chances",
        );
        for (column, hours) in [
            ("watch.keep_days", self.keep_days),
            ("watch.thaw_after_h", self.thaw_after_h),
            ("watch.remind_h", self.remind_h),
            ("watch.urgent_h", self.urgent_h),
        ] {
            wrong(!(0..=8_784).contains(&hours), column, hours.to_string(), "0 to 8784");
        }
        faults
    }
}
