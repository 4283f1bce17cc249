//! A contact programme made by hand: rows with set tier and loss, the plan made from them, and its files.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use super::made;
use brimwater::config::Config;
use brimwater::faults::Faults;
use brimwater::freeze::Outlook;
use brimwater::inventory::{Assembly, Channel};
use brimwater::output::outreach_files::{Campaign, files};
use brimwater::outreach::about::Facts;
use brimwater::outreach::clock;
use brimwater::outreach::messages::Messages;
use brimwater::outreach::outcome::History;
use brimwater::outreach::people::{Person, merge};
use brimwater::outreach::replan;
use brimwater::outreach::schedule::{ContactPlan, PlanInput, plan};
use brimwater::outreach::thaw::{self, Air, Thaw};
use brimwater::ranking::{Ranked, Tier, Words};
use brimwater::weather::Series;
use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::America::Chicago;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// One row: assembly, outlook, tier, expected loss in US dollars.
pub type Row = (Assembly, Outlook, Tier, f64);

/// A programme.
pub struct Programme {
    pub config: Config,
    pub assemblies: Vec<Assembly>,
    pub outlooks: Vec<Arc<Outlook>>,
    pub ranked: Vec<Ranked>,
    pub people: Vec<Person>,
    pub told: Faults,
    pub series: Vec<Series>,
    pub history: History,
    pub now: DateTime<Utc>,
}

/// A local time of January 2031 in Chicago; the made spell starts on the 9th at 18:00.
pub fn local(day: u32, hour: u32, minute: u32) -> DateTime<Utc> {
    Chicago
        .with_ymd_and_hms(2031, 1, day, hour, minute, 0)
        .unwrap()
        .with_timezone(&Utc)
}

/// One household with one bare vacuum breaker, whom a call reaches; first ice so many hours after the spell's start.
pub fn household(n: usize, first_ice_h: i64) -> (Assembly, Outlook) {
    let mut assembly = made::breaker(&format!("A{n:04}"));
    assembly.contact.phone = Some(format!("202-555-{:04}", 100 + n).into());
    assembly.contact.contact_name = Some(format!("Person {n}").into());
    assembly.contact.site_address = Some(format!("{n} Mill Lane").into());
    assembly.contact.account_id = Some(format!("ACC-{n}").into());
    assembly.contact.email = Some(format!("person{n}@example.com").into());
    assembly.contact.channels = Some(vec![Channel::Call]);
    assembly.line = n as u64 + 2;
    (assembly, made::ensemble(0.5, first_ice_h, 300.0, 5.0))
}

impl Programme {
    /// Thursday, January 9, 2031, 9 in the morning, nothing logged.
    pub fn new(rows: Vec<Row>) -> Self {
        Self::with(rows, Config::default())
    }

    pub fn with(rows: Vec<Row>, mut config: Config) -> Self {
        config.utility.name = "Pellow Reach Water".into();
        config.utility.phone = "201-555-0100".into();
        config.utility.emergency_phone = "201-555-0199".into();
        config.utility.zone = "America/Chicago".into();
        let made = made::MadePlan::new(rows.iter().map(|row| (row.0.clone(), row.1.clone())).collect(), true);
        let mut ranked = made.ranked;
        let mut order: Vec<usize> = (0..rows.len()).collect();
        order.sort_by(|&a, &b| rows[a].2.cmp(&rows[b].2).then(rows[b].3.total_cmp(&rows[a].3)));
        for (rank, index) in order.iter().enumerate() {
            let line = ranked.iter_mut().find(|line| line.index == *index).unwrap();
            line.rank = rank + 1;
            line.tier = rows[*index].2;
            line.expected_loss_usd = rows[*index].3;
            line.reason = format!("reason of {}", rows[*index].0.assembly_id).into();
        }
        ranked.sort_by_key(|line| line.rank);
        let (people, told) = merge(&made.assemblies, &config.outreach.people, "list.csv");
        Self {
            config,
            assemblies: made.assemblies,
            outlooks: made.outlooks,
            ranked,
            people,
            told,
            series: made.series,
            history: History::default(),
            now: local(9, 9, 0),
        }
    }

    pub fn words(&self) -> Words {
        Words {
            zone: Chicago,
            us: true,
            language: brimwater::language::Language::English,
        }
    }

    pub fn facts(&self) -> Facts<'_> {
        Facts {
            people: &self.people,
            assemblies: &self.assemblies,
            outlooks: &self.outlooks,
            words: self.words(),
        }
    }

    fn with_input<T>(&self, run: impl FnOnce(&PlanInput<'_>) -> T) -> T {
        let daylight = clock::clock_daylight(Chicago, &self.config.outreach.shift);
        run(&PlanInput {
            people: &self.people,
            assemblies: &self.assemblies,
            outlooks: &self.outlooks,
            ranked: &self.ranked,
            now: self.now,
            zone: Chicago,
            daylight: &daylight,
            history: &self.history,
        })
    }

    pub fn plan(&self) -> ContactPlan {
        self.with_input(|input| plan(input, &self.config.outreach).0)
    }

    pub fn faults(&self) -> Faults {
        self.with_input(|input| plan(input, &self.config.outreach).1)
    }

    pub fn thaw(&self) -> Thaw {
        let sites = vec![(0, 0.0); self.assemblies.len()];
        let air = Air {
            series: &self.series,
            sites: &sites,
        };
        self.with_input(|input| thaw::notices(input, &air, &self.config.outreach))
    }

    /// What is compared with an earlier plan.
    pub fn state(&self) -> replan::Now<'_> {
        replan::Now {
            assemblies: &self.assemblies,
            outlooks: &self.outlooks,
            ranked: &self.ranked,
            people: &self.people,
            history: &self.history,
        }
    }

    /// Rows of this programme as the writers take them: assemblies, outlooks, series and ranking.
    pub fn written<'a>(
        &'a self,
        (assemblies, outlooks, series_of, ranked): (&'a [Assembly], &'a [Arc<Outlook>], &'a [usize], &'a [Ranked]),
        words: Words,
        faults: &'a Faults,
    ) -> brimwater::output::plan::Plan<'a> {
        brimwater::output::plan::Plan {
            assemblies,
            outlooks,
            series_of,
            ranked,
            series: &self.series,
            words,
            now: self.now,
            forecast_issued: None,
            window: self.window(),
            members: 256,
            seed: 1,
            what_if: "",
            joins: &[],
            keepers: &[],
            over: false,
            rejected: 0,
            stats: brimwater::freeze::RunStats::default(),
            total: None,
            faults,
        }
    }

    /// This programme's plan as a later one reads it, through the file.
    pub fn as_old(&self) -> replan::OldPlan {
        let series_of = vec![0; self.assemblies.len()];
        let faults = Faults::new();
        let lines = self.plan().lines;
        let whole = self.written(
            (&self.assemblies, &self.outlooks, &series_of, &self.ranked),
            self.words(),
            &faults,
        );
        let mut bytes = Vec::new();
        brimwater::output::plan_json::write(&whole, lines.as_slice(), &mut bytes).unwrap();
        replan::read(bytes.as_slice(), "plan.json").unwrap()
    }

    pub fn window(&self) -> (DateTime<Utc>, DateTime<Utc>) {
        (made::start(), made::start() + TimeDelta::hours(167))
    }

    /// All files of the plan, as text by name.
    pub fn files(&self, redact: bool) -> BTreeMap<String, String> {
        self.files_of(&self.plan(), redact, false)
    }

    pub fn files_of(&self, plan: &ContactPlan, redact: bool, over: bool) -> BTreeMap<String, String> {
        let (messages, told) = Messages::new(&self.config.utility, &self.config.outreach, &BTreeMap::new(), false);
        assert!(told.0.is_empty(), "{told:?}");
        let thaw = self.thaw();
        files(&Campaign {
            plan,
            nights: &[],
            unranked: &[],
            rejected: 0,
            facts: self.facts(),
            messages: &messages,
            config: &self.config,
            issued: self.now,
            window: self.window(),
            ranked: &self.ranked,
            thaw: &thaw,
            over,
            total: None,
            visits: over.then_some((12, 3)),
            redact,
        })
        .unwrap()
        .into_iter()
        .map(|(name, bytes)| (name, String::from_utf8(bytes).unwrap()))
        .collect()
    }
}

/// Rows of a CSV file by column.
pub fn rows(text: &str) -> Vec<HashMap<String, String>> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .unwrap()
}

/// The visible words of a page, without style, charts and tags.
pub fn visible(html: &str) -> String {
    let mut text = html.to_owned();
    for tag in ["style", "svg"] {
        while let (Some(from), Some(to)) = (text.find(&format!("<{tag}")), text.find(&format!("</{tag}>"))) {
            text.replace_range(from..to + tag.len() + 3, " ");
        }
    }
    let mut words = String::new();
    let mut inside = false;
    for sign in text.chars() {
        match sign {
            '<' => inside = true,
            '>' => {
                inside = false;
                words.push(' ');
            }
            _ if !inside => words.push(sign),
            _ => {}
        }
    }
    let words = words
        .replace("&#x27;", "'")
        .replace("&quot;", "\"")
        .replace("&amp;", "&");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}
