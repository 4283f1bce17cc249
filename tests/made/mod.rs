//! Hand-made assemblies and outlooks for the tests of ranking and output.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use brimwater::freeze::{Outlook, PartOutlook, Spread, Trace};
use brimwater::inventory::*;
use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use std::sync::Arc;

/// Midnight UTC at the start of the made spell.
pub fn start() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2031, 1, 10, 0, 0, 0).unwrap()
}

/// A bare, idle 1 in vacuum breaker on a household's irrigation line.
pub fn breaker(id: &str) -> Assembly {
    Assembly {
        assembly_id: id.into(),
        device_type: DeviceType::Pvb,
        nominal_size: NominalSize::N1,
        latitude_deg: Some(31.5),
        longitude_deg: Some(-41.25),
        elevation_m: Some(20.0),
        station_id: None,
        customer_class: CustomerClass::Residential,
        service: Service::Irrigation,
        placement: Placement::Open,
        wrap_m2k_per_w: 0.0,
        riser_material: RiserMaterial::Copper,
        riser_height_m: 0.5,
        wind_exposure: WindExposure::Partial,
        freeze_drip: false,
        heat_trace_w: 0.0,
        expansion_relief: None,
        winter_use: WinterUse::Idle,
        critical: None,
        last_test: None,
        contact: Contact::default(),
        extra: Vec::new(),
        assumed: Vec::new(),
        line: 2,
    }
}

/// An outlook of an ensemble of 256 with this chance of damage, first ice so many hours after the start.
pub fn ensemble(p: f64, first_ice_h: i64, repair_usd: f64, error_usd: f64) -> Outlook {
    let at = |h: i64| (p > 0.0).then(|| start() + TimeDelta::hours(h));
    Outlook {
        members: 256,
        window_start: start(),
        window_end: start() + TimeDelta::hours(167),
        p_ice: Some((p * 1.3).min(1.0)),
        p_blocked: Some((p * 1.1).min(1.0)),
        p_damage: Some(p),
        parts: vec![
            PartOutlook {
                name: "inlet riser",
                ice_fraction: p * 0.2,
                p_damage: Some(p * 0.1),
                strained: false,
                repair_usd: 200.0,
            },
            PartOutlook {
                name: "bonnet",
                ice_fraction: p * 0.8,
                p_damage: Some(p),
                strained: false,
                repair_usd: 310.0,
            },
        ],
        first_ice: Spread {
            p10: at(first_ice_h),
            p50: at(first_ice_h + 2),
            p90: if p > 0.9 { at(first_ice_h + 5) } else { None },
        },
        coldest_water_c: Spread {
            p10: -6.0,
            p50: -4.0,
            p90: -1.0,
        },
        first_part: (p > 0.0).then_some("bonnet"),
        hours_air_below_0c: 9.0,
        min_air_c: -7.2,
        expected_repair_usd: repair_usd,
        expected_repair_se_usd: error_usd,
        advice: Vec::new(),
        trace: None,
    }
}

/// A deterministic outlook: ice fraction of the bonnet, strained when it is not 0.
pub fn single(ice_fraction: f64, first_ice_h: i64) -> Outlook {
    let strained = ice_fraction > 0.0;
    let ice = strained.then(|| start() + TimeDelta::hours(first_ice_h));
    let mut outlook = ensemble(0.0, first_ice_h, if strained { 310.0 } else { 0.0 }, 0.0);
    outlook.members = 1;
    outlook.p_ice = None;
    outlook.p_blocked = None;
    outlook.p_damage = None;
    for part in &mut outlook.parts {
        part.p_damage = None;
        if part.name == "bonnet" {
            part.ice_fraction = ice_fraction;
            part.strained = strained;
        }
    }
    outlook.first_ice = Spread {
        p10: ice,
        p50: ice,
        p90: ice,
    };
    outlook.first_part = strained.then_some("bonnet");
    outlook
}

/// A trace over the window whose water falls and comes back.
pub fn trace(p: f64) -> Trace {
    let hours = 168;
    let air = |h: usize| 4.0 - 9.0 * (-((h as f64 - 60.0) / 14.0).powi(2)).exp() + 3.0 * ((h as f64) * 0.2618).sin();
    let mut by = 0.0_f64;
    let mut trace = Trace::default();
    for h in 0..hours {
        let a = air(h);
        trace.air_c.push(a);
        let w = (a + 3.0).max(-4.0);
        trace.coldest_water_c.push([w - 1.5, w, w + 1.5]);
        if a < -3.0 {
            by = (by + p / 12.0).min(p);
        }
        trace.p_damage_by.push(by);
        trace.p_ice_by.push((by * 1.3).min(1.0));
        trace.drip_l.push([0.0; 3]);
    }
    trace
}

/// A shared outlook.
pub fn shared(outlook: Outlook) -> Arc<Outlook> {
    Arc::new(outlook)
}
