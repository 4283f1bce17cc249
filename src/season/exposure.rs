//! What each winter of a record does to one thermal case: the freeze model run on the winter's own hours.
//!
//! Not a table over made nights: every chance is of real hours. What makes it quick: only the severest spells of a winter are looked at,
//! and a spell is run only where the others leave it open. A member that stood a colder, longer and windier spell stands this one, and one
//! that a milder, shorter and calmer spell broke is broken by this one; where that settles every member of a block nothing is run.
//!
//! A member is one possible assembly: it breaks in a winter when any spell breaks it. The chance of a winter is the share of members
//! that break in it, and each is paid for once a winter: until the thaw nobody mends what will freeze again.

use super::spells::{RecordWinter, Severity, series_of};
use crate::freeze::config::{EnsembleConfig, FreezeConfig};
use crate::freeze::costs;
use crate::freeze::kernel::run_block_in;
use crate::freeze::members::Members;
use crate::freeze::run::{offset_k, warm_bound_c};
use crate::freeze::setup::Setup;
use crate::freeze::simulate::{LANES, Many, block_of};
use crate::freeze::spell::Spell;
use crate::freeze::{Place, WhatIf};
use crate::inventory::{Assembly, WinterUse};
use crate::physics::ground::ground_temperature_c;
use crate::physics::inlet;
use crate::weather::Series;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Share of the way from air to sky that bare metal in still air goes (judgement; it only orders spells).
const SKY_PULL: f64 = 0.25;
/// Bound above which a spell cannot freeze a case, °C.
const SAFE_C: f64 = 1.0;

/// The winters of one station, ready to be run.
pub struct StationYears {
    /// Their seasons, rising.
    pub seasons: Vec<i32>,
    /// Their spells, `[winters]`.
    spells: Vec<Vec<(Felt, Spell)>>,
    /// Winter and spell, in the order in which they are looked at: the middle of all first, then the middles of what is left.
    order: Vec<(usize, usize)>,
}

impl StationYears {
    /// The complete winters of a series. `shift_k(season)` raises the hours of a season, for a climate that moves.
    pub fn new(
        series: &Series,
        winters: &[RecordWinter],
        members: &Members,
        zone: Tz,
        freeze: &FreezeConfig,
        ensemble: &EnsembleConfig,
        shift_k: &dyn Fn(i32) -> f64,
    ) -> Self {
        let complete: Vec<&RecordWinter> = winters.iter().filter(|winter| winter.complete).collect();
        let fragile_first = fragile_first(members);
        let south = series.station.latitude_deg.is_some_and(|latitude| latitude < 0.0);
        let spells: Vec<Vec<(Felt, Spell)>> = complete
            .iter()
            .map(|winter| {
                let shift = shift_k(winter.season);
                let each = winter.spells.iter().filter_map(|cut| {
                    let hours = series_of(series, cut, shift);
                    // Looked at from its end: nothing in it is forecast.
                    let mut spell = Spell::new(&hours, members, hours.end(), zone, freeze, ensemble)?;
                    spell.order.clone_from(&fragile_first);
                    Some((Felt::of(&spell, south, freeze), spell))
                });
                each.collect()
            })
            .collect();
        let order = middles_first(&spells);
        Self {
            seasons: complete.iter().map(|winter| winter.season).collect(),
            spells,
            order,
        }
    }
}

impl StationYears {
    /// What its spells hold, as a hexadecimal text: a key for caches.
    pub fn digest(&self) -> String {
        let mut hash = Sha256::new();
        for (season, spells) in self.seasons.iter().zip(&self.spells) {
            hash.update(season.to_le_bytes());
            for (_, spell) in spells {
                hash.update(spell.start.timestamp().to_le_bytes());
                let air = spell.air_c.iter().step_by(spell.members.max(1));
                for value in air.chain(&spell.wind_m_s).chain(&spell.sky_ratio) {
                    hash.update(value.to_bits().to_le_bytes());
                }
                hash.update(&spell.hour_of_day);
            }
        }
        hex(hash)
    }

    /// Spells that are run at most.
    pub fn spells(&self) -> usize {
        self.spells.iter().map(Vec::len).sum()
    }
}

fn hex(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What the model itself makes of one fixed spell, as a hexadecimal text: whoever changes the physics changes it, so that no cache outlives
/// the model it was made with.
pub fn fingerprint(assembly: &Assembly, members: &Members, freeze: &FreezeConfig) -> String {
    let series = Series {
        format: "",
        station: crate::weather::Station::default(),
        start: chrono::DateTime::UNIX_EPOCH,
        air_c: (0..36).map(|hour| 4.0 - 0.4 * f64::from(hour)).collect(),
        wind_m_s: vec![Some(3.0); 36],
        dew_point_c: vec![None; 36],
        sky_cover: vec![Some(0.3); 36],
        kind: vec![crate::weather::Kind::Observed; 36],
        interpolated: vec![false; 36],
        issued: None,
    };
    let mut hash = Sha256::new();
    hash.update(crate::VERSION);
    let ensemble = EnsembleConfig::default();
    if let Some(spell) = Spell::new(&series, members, series.end(), Tz::UTC, freeze, &ensemble) {
        let setup = Setup::new(assembly, spell.day_of_year, WhatIf::AsListed, freeze).for_ensemble(freeze);
        let (weather, lanes) = block_of::<LANES>(&setup, &spell, members, 0.0, 0);
        let block = run_block_in::<Many, LANES>(&setup, &weather, &lanes, false, None);
        for value in block.coldest_c.iter().chain(block.damage_s.iter().flatten()) {
            hash.update(value.to_bits().to_le_bytes());
        }
    }
    hex(hash)
}

/// What one winter does to a case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaseWinter {
    /// The year that it ends in.
    pub season: i32,
    /// Chance of damage, 0 to 1.
    pub p: f64,
    /// Expected repair, US dollars.
    pub repair_usd: f64,
    /// Chance of each part, in the order of the network.
    pub parts: Vec<f64>,
}

/// Runs a case through the winters of its station.
pub fn run_case(place: &Place<'_>, years: &StationYears, members: &Members, freeze: &FreezeConfig) -> Vec<CaseWinter> {
    through(place, years, members, freeze, true)
}

/// The same with every spell run and none settled by others: slower, and what the settling is held against.
pub fn run_case_spell_by_spell(
    place: &Place<'_>,
    years: &StationYears,
    members: &Members,
    freeze: &FreezeConfig,
) -> Vec<CaseWinter> {
    through(place, years, members, freeze, false)
}

fn through(
    place: &Place<'_>,
    years: &StationYears,
    members: &Members,
    freeze: &FreezeConfig,
    settles: bool,
) -> Vec<CaseWinter> {
    let count = members.count();
    let run = Through {
        place,
        years,
        members,
        freeze,
        offset_k: offset_k(place),
        settles,
    };
    // Of a drained line those count whose drain failed.
    let full = match place.assembly.winter_use {
        WinterUse::Drained => freeze.drain_failed.clamp(0.0, 1.0),
        _ => 1.0,
    };
    let part_names: Vec<&'static str> = crate::freeze::network::network(place.assembly, freeze)
        .parts
        .iter()
        .map(|part| part.name)
        .collect();
    let mut damaged = vec![vec![vec![false; count]; part_names.len()]; years.seasons.len()];
    if full > 0.0 {
        let mut setups: Vec<Vec<Option<Setup>>> = years.spells.iter().map(|winter| vec![None; winter.len()]).collect();
        for from in (0..count).step_by(LANES) {
            run.block(from, &mut setups, &mut damaged);
        }
    }
    let costs = &freeze.costs;
    let (device, size) = (place.assembly.device_type, place.assembly.nominal_size);
    let whole = costs.replacement_usd(device, size);
    let repairs: Vec<f64> = part_names
        .iter()
        .map(|name| costs.repair_usd(device, size, costs::PartKind::of(name)))
        .collect();
    let share = |n: usize| full * n as f64 / count.max(1) as f64;
    years
        .seasons
        .iter()
        .zip(&damaged)
        .map(|(season, parts)| {
            let broken = (0..count).filter(|&m| parts.iter().any(|part| part[m])).count();
            let usd: f64 = (0..count)
                .map(|m| {
                    let each = parts.iter().zip(&repairs).filter(|(part, _)| part[m]);
                    each.map(|(_, usd)| usd).sum::<f64>().min(whole)
                })
                .sum();
            CaseWinter {
                season: *season,
                p: share(broken),
                repair_usd: full * usd / count.max(1) as f64,
                parts: parts
                    .iter()
                    .map(|part| share(part.iter().filter(|broken| **broken).count()))
                    .collect(),
            }
        })
        .collect()
}

/// Members from the most to the least fragile: at a cold site, with ice that starts early. Blocks of members that are alike break
/// together, so that fewer spells leave one of them open. It changes no member's answer.
fn fragile_first(members: &Members) -> Vec<usize> {
    let mut order: Vec<usize> = (0..members.count()).collect();
    let stands = |m: usize| members.site_k[m] - members.nucleation_c[m];
    order.sort_by(|&a, &b| stands(a).total_cmp(&stands(b)).then(a.cmp(&b)));
    order
}

/// How hard a spell is on bare metal.
#[derive(Debug, Clone, Copy)]
struct Felt {
    /// Air and wind, with the sky that metal sees as well.
    severity: Severity,
    /// The ground at half a metre, °C.
    ground_c: f64,
    /// The water from the main, °C.
    supply_c: f64,
}

impl Felt {
    fn of(spell: &Spell, south: bool, freeze: &FreezeConfig) -> Self {
        let (climate, day) = (&freeze.climate, spell.day_of_year);
        let (mean_c, range_k) = (climate.mean_air_c(), climate.range_k());
        let supply_c = climate
            .supply_c
            .unwrap_or_else(|| inlet::mains_temperature_c(mean_c, range_k, day, south));
        let coldest_day = climate.coldest_day_at(south);
        Self {
            severity: felt(spell),
            ground_c: ground_temperature_c(
                mean_c,
                0.5 * range_k,
                coldest_day,
                climate.soil_diffusivity_m2_day,
                0.5,
                day,
            ),
            supply_c,
        }
    }

    /// Whether whatever breaks in the other breaks in this, and what stands this stands the other: clearly harder weather over ground and
    /// supply that are no warmer.
    fn settles(&self, milder: &Self) -> bool {
        self.severity.covers_by_far(&milder.severity)
            && self.ground_c <= milder.ground_c + ALIKE_K
            && self.supply_c <= milder.supply_c + ALIKE_K
    }
}

/// Kelvin in ground or supply that decide nothing (judgement: a week of the coldest months).
const ALIKE_K: f64 = 0.3;

/// The weather of it, with the sky that bare metal also sees.
fn felt(spell: &Spell) -> Severity {
    let hours = (0..spell.hours()).map(|hour| {
        let air = spell.node(hour).first().copied().unwrap_or(0.0);
        // Of the skies that the members draw the clearest.
        let clearest = spell.sky(hour).iter().copied().fold(1.0, f64::min);
        let sky_k = (1.0 - clearest) * (air + crate::units::ZERO_C_IN_K);
        air - SKY_PULL * sky_k / (1.0 + spell.wind_m_s[hour])
    });
    Severity::of(hours, spell.wind_m_s.iter().copied())
}

/// All spells by their cold, the middle one first, then the middles of both halves, and so on.
fn middles_first(spells: &[Vec<(Felt, Spell)>]) -> Vec<(usize, usize)> {
    let mut sorted: Vec<(usize, usize)> = spells
        .iter()
        .enumerate()
        .flat_map(|(winter, spells)| (0..spells.len()).map(move |spell| (winter, spell)))
        .collect();
    let cold = |at: &(usize, usize)| spells[at.0][at.1].0.severity.min_c;
    sorted.sort_by(|a, b| cold(a).total_cmp(&cold(b)).then(a.cmp(b)));
    let mut order = Vec::with_capacity(sorted.len());
    let mut open = std::collections::VecDeque::from([(0, sorted.len())]);
    while let Some((from, to)) = open.pop_front() {
        if from < to {
            let middle = (from + to) / 2;
            order.push(sorted[middle]);
            open.push_back((from, middle));
            open.push_back((middle + 1, to));
        }
    }
    order
}

/// A spell that a block was run through.
struct Ran {
    felt: Felt,
    /// Broken parts, `[parts]` lanes.
    parts: Vec<[bool; LANES]>,
    /// Whether anything is broken.
    any: [bool; LANES],
}

impl Ran {
    fn new(felt: Felt, parts: Vec<[bool; LANES]>) -> Self {
        let any = std::array::from_fn(|lane| parts.iter().any(|part| part[lane]));
        Self { felt, parts, any }
    }
}

/// What the spells that were run say of another; `None` where they leave a lane open. A lane that is broken for sure has the broken parts of
/// the spell nearest in cold.
fn settled(ran: &[Ran], felt: &Felt, lanes: usize, parts: usize) -> Option<Vec<[bool; LANES]>> {
    let mut told = vec![[false; LANES]; parts];
    let milder: Vec<&Ran> = ran.iter().filter(|other| felt.settles(&other.felt)).collect();
    let harder: Vec<&Ran> = ran.iter().filter(|other| other.felt.settles(felt)).collect();
    for lane in 0..lanes {
        if milder.iter().any(|other| other.any[lane]) {
            let nearest = milder.iter().chain(&harder).filter(|other| other.any[lane]);
            let far = |other: &Ran| (other.felt.severity.min_c - felt.severity.min_c).abs();
            let nearest = nearest.min_by(|a, b| far(a).total_cmp(&far(b)))?;
            for (told, part) in told.iter_mut().zip(&nearest.parts) {
                told[lane] = part[lane];
            }
        } else if !harder.iter().any(|other| !other.any[lane]) {
            return None;
        }
    }
    Some(told)
}

/// A case on its way through the winters of its station.
struct Through<'a> {
    place: &'a Place<'a>,
    years: &'a StationYears,
    members: &'a Members,
    freeze: &'a FreezeConfig,
    offset_k: f64,
    /// Whether a spell may be settled by those that were run.
    settles: bool,
}

impl Through<'_> {
    /// One block of members through all winters.
    fn block(&self, from: usize, setups: &mut [Vec<Option<Setup>>], damaged: &mut [Vec<Vec<bool>>]) {
        let count = self.members.count();
        let used = LANES.min(count - from);
        let mut ran: Vec<Ran> = Vec::new();
        for &(winter, at) in &self.years.order {
            let (felt, spell) = &self.years.spells[winter][at];
            let broken = &mut damaged[winter];
            let order = &spell.order_of(count)[from..from + used];
            if order.iter().all(|&m| broken.iter().any(|part| part[m])) {
                continue;
            }
            let told = self.settles.then(|| settled(&ran, felt, used, broken.len())).flatten();
            let parts = told.unwrap_or_else(|| {
                let setup = setups[winter][at].get_or_insert_with(|| {
                    Setup::new(self.place.assembly, spell.day_of_year, WhatIf::AsListed, self.freeze)
                        .for_ensemble(self.freeze)
                });
                let parts = self.spell(setup, spell, from, broken.len());
                ran.push(Ran::new(*felt, parts.clone()));
                parts
            });
            for (part, lanes) in broken.iter_mut().zip(&parts) {
                for (&m, lane) in order.iter().zip(lanes) {
                    part[m] |= lane;
                }
            }
        }
    }

    /// One block of members through one spell: the parts that break.
    fn spell(&self, setup: &Setup, spell: &Spell, from: usize, parts: usize) -> Vec<[bool; LANES]> {
        if warm_bound_c(setup, spell, self.members, self.offset_k).is_some_and(|bound| bound >= SAFE_C) {
            return vec![[false; LANES]; parts];
        }
        let (weather, lanes) = block_of::<LANES>(setup, spell, self.members, self.offset_k, from);
        let block = run_block_in::<Many, LANES>(setup, &weather, &lanes, false, None);
        let broke = |part: &[f64; LANES]| part.map(f64::is_finite);
        block.damage_s.iter().map(broke).collect()
    }
}
