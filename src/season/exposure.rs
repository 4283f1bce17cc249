//! What each winter of a record does to one thermal case: the freeze model run on the winter's own hours.
//!
//! Not a table over made nights: every chance is of real hours, so that nothing has to be interpolated. What makes it quick leaves
//! nothing out that matters: only the severest spells of a winter are run, a block of members whose parts are broken is not broken
//! again, and a spell is passed over when one that was colder, longer and windier left the block's water above freezing.
//!
//! A member is one possible assembly: it breaks in a winter when any spell breaks it. The chance of a winter is the share of members
//! that break in it, and each is paid for once a winter: until the thaw nobody mends what will freeze again.

use super::spells::{RecordWinter, Severity, series_of};
use crate::freeze::config::{EnsembleConfig, FreezeConfig};
use crate::freeze::costs;
use crate::freeze::kernel::run_block;
use crate::freeze::members::Members;
use crate::freeze::run::{offset_k, warm_bound_c};
use crate::freeze::setup::Setup;
use crate::freeze::simulate::{LANES, block_of};
use crate::freeze::spell::Spell;
use crate::freeze::{Place, WhatIf};
use crate::inventory::{Assembly, WinterUse};
use crate::weather::Series;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Water above which a spell left a block alone, °C.
const UNHARMED_C: f64 = 0.3;
/// Bound above which a spell cannot freeze a case, °C.
const SAFE_C: f64 = 1.0;

/// The winters of one station, ready to be run.
pub struct StationYears {
    /// Their seasons, rising.
    pub seasons: Vec<i32>,
    /// Their spells, `[winters]`.
    spells: Vec<Vec<(Severity, Spell)>>,
    /// Winters, the coldest first.
    order: Vec<usize>,
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
        let spells: Vec<Vec<(Severity, Spell)>> = complete
            .iter()
            .map(|winter| {
                let shift = shift_k(winter.season);
                let each = winter.spells.iter().filter_map(|cut| {
                    let hours = series_of(series, cut, shift);
                    // Looked at from its end: nothing in it is forecast.
                    let spell = Spell::new(&hours, members, hours.end(), zone, freeze, ensemble)?;
                    let severity = Severity {
                        min_c: cut.severity.min_c + shift,
                        ..cut.severity
                    };
                    Some((severity, spell))
                });
                each.collect()
            })
            .collect();
        let mut order: Vec<usize> = (0..complete.len()).collect();
        order.sort_by(|&a, &b| complete[a].min_c.total_cmp(&complete[b].min_c).then(a.cmp(&b)));
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
        let block = run_block::<LANES>(&setup, &weather, &lanes, false, None);
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
    let count = members.count();
    let offset = offset_k(place);
    let drained = place.assembly.winter_use == WinterUse::Drained;
    let part_names: Vec<&'static str> = crate::freeze::network::network(place.assembly, freeze)
        .parts
        .iter()
        .map(|part| part.name)
        .collect();
    let mut damaged = vec![vec![vec![false; count]; part_names.len()]; years.seasons.len()];
    if !drained {
        let mut setups: Vec<Vec<Option<Setup>>> = years.spells.iter().map(|winter| vec![None; winter.len()]).collect();
        for from in (0..count).step_by(LANES) {
            run_members(place, years, members, freeze, from, offset, &mut setups, &mut damaged);
        }
    }
    let costs = &freeze.costs;
    let (device, size) = (place.assembly.device_type, place.assembly.nominal_size);
    let whole = costs.replacement_usd(device, size);
    let repairs: Vec<f64> = part_names
        .iter()
        .map(|name| costs.repair_usd(device, size, costs::PartKind::of(name)))
        .collect();
    let share = |n: usize| n as f64 / count.max(1) as f64;
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
                repair_usd: usd / count.max(1) as f64,
                parts: parts
                    .iter()
                    .map(|part| share(part.iter().filter(|broken| **broken).count()))
                    .collect(),
            }
        })
        .collect()
}

/// One block of members through all winters, the coldest first.
#[allow(clippy::too_many_arguments)]
fn run_members(
    place: &Place<'_>,
    years: &StationYears,
    members: &Members,
    freeze: &FreezeConfig,
    from: usize,
    offset: f64,
    setups: &mut [Vec<Option<Setup>>],
    damaged: &mut [Vec<Vec<bool>>],
) {
    let count = members.count();
    let lanes_used = LANES.min(count - from);
    let mut unharmed: Vec<Severity> = Vec::new();
    for &winter in &years.order {
        let broken = &mut damaged[winter];
        for (at, (severity, spell)) in years.spells[winter].iter().enumerate() {
            if unharmed.iter().any(|harder| harder.covers(severity)) {
                continue;
            }
            let order = &spell.order_of(count)[from..from + lanes_used];
            if order.iter().all(|&m| broken.iter().any(|part| part[m])) {
                break;
            }
            let setup = setups[winter][at].get_or_insert_with(|| {
                Setup::new(place.assembly, spell.day_of_year, WhatIf::AsListed, freeze).for_ensemble(freeze)
            });
            if warm_bound_c(setup, spell, members, offset).is_some_and(|bound| bound >= SAFE_C) {
                continue;
            }
            let (weather, lanes) = block_of::<LANES>(setup, spell, members, offset, from);
            let block = run_block::<LANES>(setup, &weather, &lanes, false, None);
            for (part, times) in broken.iter_mut().zip(&block.damage_s) {
                for (&m, time) in order.iter().zip(times) {
                    part[m] |= time.is_finite();
                }
            }
            let coldest = block.coldest_c.iter().copied().fold(f64::INFINITY, f64::min);
            if coldest >= UNHARMED_C {
                unharmed.push(*severity);
            }
        }
    }
}
