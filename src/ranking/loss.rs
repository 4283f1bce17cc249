//! Expected loss of one assembly: repair, service lost, water and what it spoils.
//!
//! Numbers without a tag of their own: judgement.

use super::config::RankingConfig;
use crate::freeze::Outlook;
use crate::freeze::costs::PartKind;
use crate::inventory::{Assembly, WinterUse};
use serde::Serialize;

/// The expected loss and what it is made of, US dollars. Every field is finite and not negative.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Loss {
    /// Chance of damage, 0 to 1. In a deterministic run: the severity, see [`severity`].
    pub chance: f64,
    /// Expected repair.
    pub repair_usd: f64,
    /// Expected loss of the service.
    pub service_usd: f64,
    /// Expected water and damage around the assembly.
    pub water_usd: f64,
    /// Standard error of the sum, from the finite number of members; 0 in a deterministic run.
    pub error_usd: f64,
}

impl Loss {
    /// The sum.
    pub fn total_usd(&self) -> f64 {
        self.repair_usd + self.service_usd + self.water_usd
    }
}

/// How bad the deterministic run is, 0 to 1: the chance's stand-in where there is only one member.
///
/// 0 when no part is strained. Else 0.3 for the strain itself, the rest with the largest ice fraction among
/// the strained parts: a part that barely passed its limit at the cautious edge often survives in truth, one
/// that is solid does not. Judgement `[judgement]`.
pub fn severity(outlook: &Outlook) -> f64 {
    outlook
        .parts
        .iter()
        .filter(|part| part.strained)
        .map(|part| part_severity(part.ice_fraction))
        .fold(0.0, f64::max)
}

fn part_severity(ice_fraction: f64) -> f64 {
    0.3 + 0.7 * unit(ice_fraction)
}

fn unit(share: f64) -> f64 {
    if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 }
}

/// The expected loss of one assembly in one outlook.
///
/// With an ensemble: `expected_repair_usd` of the outlook, plus the chance of damage times what the loss of
/// the service costs, plus water and surroundings weighted by how freely each damaged part leaks. In a
/// deterministic run the chances are replaced by the severity of each strained part.
pub fn loss(assembly: &Assembly, outlook: &Outlook, config: &RankingConfig) -> Loss {
    let deterministic = outlook.p_damage.is_none();
    let chance = match outlook.p_damage {
        Some(p) => unit(p),
        None => severity(outlook),
    };
    let mut leak = 0.0;
    let mut weighed_repair = 0.0;
    for part in &outlook.parts {
        let p = match part.p_damage {
            Some(p) => unit(p),
            None if part.strained => part_severity(part.ice_fraction),
            None => 0.0,
        };
        leak += p * leak_share(PartKind::of(part.name));
        weighed_repair += p * money(part.repair_usd);
    }
    // Breaks of several parts drain one supply: their sum is no more than one open break.
    let leak = leak.min(chance);
    let repair_usd = if deterministic {
        weighed_repair.min(money(outlook.expected_repair_usd))
    } else {
        money(outlook.expected_repair_usd)
    };

    let service = service_loss(assembly, config);
    let water = water_loss(assembly, config);
    // Damage is a yes or no of each member; the repair's error moves with it, so the two add.
    let members = outlook
        .reported
        .as_ref()
        .map_or(outlook.members as f64, |told| told.effective_members)
        .max(1.0);
    let chance_error = if deterministic {
        0.0
    } else {
        (chance * (1.0 - chance) / members).sqrt()
    };
    let error_usd = money(outlook.expected_repair_se_usd) + chance_error * (service + water * leak_ratio(leak, chance));
    Loss {
        chance,
        repair_usd,
        service_usd: chance * service,
        water_usd: leak * water,
        error_usd,
    }
}

fn leak_ratio(leak: f64, chance: f64) -> f64 {
    if chance > 0.0 { leak / chance } else { 0.0 }
}

fn money(usd: f64) -> f64 {
    if usd.is_finite() { usd.max(0.0) } else { 0.0 }
}

/// How freely a damaged part lets water go, beside a split body: judgement `[judgement]`.
fn leak_share(kind: PartKind) -> f64 {
    match kind {
        PartKind::Trim => 0.2,
        PartKind::Bonnet => 0.6,
        PartKind::Shutoff => 0.5,
        PartKind::Bypass => 0.4,
        PartKind::Body | PartKind::Riser => 1.0,
    }
}

/// What the loss of the service costs if the assembly breaks, US dollars.
fn service_loss(assembly: &Assembly, config: &RankingConfig) -> f64 {
    let consequence = &config.consequence;
    let per_day = consequence.usd_per_day(assembly.service, assembly.customer_class);
    let days = if assembly.nominal_size.inches() <= 2.0 {
        consequence.days_out_small
    } else {
        consequence.days_out_large
    };
    let missed = if assembly.winter_use == WinterUse::Vacant {
        0.0
    } else {
        1.0
    };
    let factor = if assembly.critical.is_some() {
        consequence.critical_factor
    } else {
        1.0
    };
    money(per_day * days * factor * missed)
}

/// What the escaping water costs if the assembly splits open, US dollars.
fn water_loss(assembly: &Assembly, config: &RankingConfig) -> f64 {
    let water = &config.water;
    let inches = assembly.nominal_size.inches();
    let flow_gal_min = (water.flow_1in_gal_min * inches * inches).min(water.flow_cap_gal_min);
    let gallons = flow_gal_min * 60.0 * water.hours(assembly.winter_use);
    let around = config.consequence.around_usd(assembly.placement);
    let factor = if assembly.winter_use == WinterUse::Vacant {
        config.consequence.vacant_factor
    } else {
        1.0
    };
    money(gallons / 1_000.0 * water.usd_per_1000_gal) + money(around * factor)
}
