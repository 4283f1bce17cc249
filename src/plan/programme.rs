//! What was read, and what is decided once for every door.

use super::assumed::{self, Assumed};
use super::templates;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::regions::Regions;
use crate::freeze::{Place, Reports};
use crate::input::file;
use crate::input::load::{Files, Loaded, load};
use crate::inventory::Assembly;
use crate::outreach::clock::{self, DayLight};
use crate::outreach::messages::Messages;
use crate::weather::readers::Nature;
use crate::weather::stretch::{self, Stretch};
use crate::weather::window::{self, Stand};
use crate::weather::{sun, window::cut_to_common};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

/// Days before the first hour of weather from which the log counts: contacts of an earlier spell do not (judgement).
const LOOK_BACK_DAYS: i64 = 10;

/// What was read, ready to plan from.
#[derive(Default)]
pub struct Programme {
    /// What the files held; the series are cut to the hours that all of them cover.
    pub loaded: Loaded,
    /// The zone that people read.
    pub zone: Tz,
    /// Name of the list's file, for faults.
    pub list: String,
    /// What is assumed of the weather.
    pub assumed: Assumed,
    /// Areas of the stations at which somebody of the list stands, with one forecast error each.
    pub regions: Arc<Regions>,
    /// The stretch that was picked of a long series: it is planned as if it lay ahead.
    picked: Option<Stretch>,
    /// What was reported from the sites, by those who read a log.
    pub reports: Reports,
    templates: BTreeMap<String, String>,
    /// What was wrong with the folder of templates: told by those who send messages.
    template_faults: Faults,
}

/// An assembly of the list that has weather.
#[derive(Clone, Copy)]
pub struct Site<'a> {
    /// Index into the list.
    pub at: usize,
    /// The assembly with the weather that stands for it.
    pub place: Place<'a>,
}

impl Programme {
    /// Reads the files. Look at the faults of `loaded` before using the rest.
    pub fn read(files: &Files) -> Self {
        Self::of(load(files), files)
    }

    /// A programme from what was read of `files`, perhaps with a forecast that was fetched in the place of one read.
    pub fn of(mut loaded: Loaded, files: &Files) -> Self {
        let zone = zone(files.zone, &loaded);
        let mut picked = None;
        let mut taken = Assumed::default();
        if !loaded.series.is_empty() {
            // Before a stretch is cut out of it, a record tells its climate.
            let (climate_from, told) = assumed::climate(&mut loaded);
            loaded.faults.append(told);
            loaded.faults.append(cut_to_common(&mut loaded.series));
            let told;
            let typical = loaded
                .reports
                .iter()
                .any(|(_, found)| found.nature == Nature::TypicalYear);
            (picked, told) = stretch::choose(&mut loaded.series, files.spell, typical, zone);
            loaded.faults.append(told);
            let told;
            (taken, told) = assumed::cloud(&loaded.series, &loaded, climate_from);
            loaded.faults.append(told);
        }
        let stood: BTreeSet<usize> = loaded.choices.iter().flatten().map(|choice| choice.series).collect();
        let ensemble = &loaded.config.ensemble;
        let regions = Arc::new(Regions::where_stood(
            &loaded.series,
            &|at| stood.contains(&at),
            ensemble,
        ));
        let told = areas(&regions, ensemble.error_alike_km);
        loaded.faults.append(told);
        unplaced_last(&mut loaded);
        let beside = files.config.as_deref().and_then(Path::parent);
        let (templates, template_faults) = templates::read(&loaded.config.outreach.templates, beside);
        Self {
            zone,
            regions,
            picked,
            assumed: taken,
            list: files.assemblies.as_deref().map(file::shown).unwrap_or_default(),
            loaded,
            reports: Reports::default(),
            templates,
            template_faults,
        }
    }

    /// From when a plan looks ahead; `given` is what the user said. The warnings are of stale weather.
    pub fn stand(&self, given: Option<DateTime<Utc>>) -> (Stand, Faults) {
        if let Some(picked) = self.picked {
            let now = given.unwrap_or(picked.start);
            let stand = Stand {
                now,
                reported_until: now,
                issued: None,
                over: now >= picked.end,
            };
            return (stand, Faults::new());
        }
        window::stand(given, Utc::now(), &self.loaded.series)
    }

    /// The assembly at an index of the list, when it has weather.
    pub fn site(&self, at: usize) -> Option<Site<'_>> {
        let assembly = self.loaded.inventory.assemblies.get(at)?;
        let choice = self.loaded.choices.get(at).copied().flatten()?;
        let place = Place {
            assembly,
            series: choice.series,
            offset_k: choice.offset_k,
        };
        Some(Site { at, place })
    }

    /// All assemblies that have weather, in the order of the list.
    pub fn sites(&self) -> Vec<Site<'_>> {
        let all = 0..self.loaded.inventory.assemblies.len();
        all.filter_map(|at| self.site(at)).collect()
    }

    /// First and last hour of the weather.
    pub fn window(&self) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
        let series = self.loaded.series.first()?;
        Some((series.start, series.end()))
    }

    /// Since when contacts in the log count; all of them do without weather.
    pub fn log_counts_since(&self) -> Option<DateTime<Utc>> {
        let first = self.loaded.series.iter().map(|series| series.start).min()?;
        Some(first - TimeDelta::days(LOOK_BACK_DAYS))
    }

    /// The messages, with the utility's own in the place of ours; `si` turns their temperatures into °C.
    pub fn messages(&self, si: bool) -> (Messages, Faults) {
        let config = &self.loaded.config;
        let mut faults = self.template_faults.clone();
        let (messages, told) = Messages::new(&config.utility, &config.outreach, &self.templates, si);
        faults.append(told);
        (messages, faults)
    }

    /// Daylight from the sun at the middle of the assemblies; by the clock of the config where none tells where it stands or the
    /// sun does not set.
    pub fn daylight<'a>(&'a self, assemblies: &[Assembly]) -> Box<DayLight<'a>> {
        let sites: Vec<(f64, f64)> = assemblies
            .iter()
            .filter_map(|assembly| assembly.latitude_deg.zip(assembly.longitude_deg))
            .collect();
        let by_clock = clock::clock_daylight(self.zone, &self.loaded.config.outreach.shift);
        let n = sites.len() as f64;
        if sites.is_empty() {
            return Box::new(by_clock);
        }
        let latitude = sites.iter().map(|site| site.0).sum::<f64>() / n;
        let longitude = sites.iter().map(|site| site.1).sum::<f64>() / n;
        Box::new(move |date: NaiveDate| {
            sun::sunrise_sunset(latitude, longitude, date).unwrap_or_else(|| by_clock(date))
        })
    }
}

/// What is taken of the forecast's error from station to station, where there is more than one.
///
/// Faults: `BW-S55` several areas with an error each (note), `BW-S56` stations whose place is not told (note).
fn areas(regions: &Regions, alike_km: f64) -> Faults {
    let mut faults = Faults::new();
    if regions.count() > 1 {
        faults.push(Fault::new(
            "BW-S55",
            Severity::Note,
            format!(
                "the stations stand in {} areas more than {} km apart: the forecast's error is drawn for each, alike by their distance",
                regions.count(),
                alike_km
            ),
        ));
    }
    if regions.unplaced() > 0 {
        faults.push(
            Fault::new(
                "BW-S56",
                Severity::Note,
                format!(
                    "of {} stations nothing tells where they stand: their forecast's error counts as that of the first area",
                    regions.unplaced()
                ),
            )
            .remedy("Give their coordinates with --stations."),
        );
    }
    faults
}

/// Puts assemblies without weather behind those with it, so that a plan of all that have some takes the list as it stands.
fn unplaced_last(loaded: &mut Loaded) {
    let mut placed = 0;
    for at in 0..loaded.choices.len().min(loaded.inventory.assemblies.len()) {
        if loaded.choices[at].is_some() {
            loaded.choices.swap(placed, at);
            loaded.inventory.assemblies.swap(placed, at);
            placed += 1;
        }
    }
}

/// As typed, else the config's, else that of a station. A config that says UTC says nothing: it is the default.
pub fn zone(typed: Option<Tz>, loaded: &Loaded) -> Tz {
    let config = || loaded.config.utility.zone.parse().ok().filter(|zone| *zone != Tz::UTC);
    typed
        .or_else(config)
        .or_else(|| loaded.stations.zones.values().next().copied())
        .unwrap_or(Tz::UTC)
}
