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
        assumed: Assumed::default(),
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
        p_damage_judged: None,
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
        reported: None,
        nights: Vec::new(),
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

/// Everything a plan borrows, made by hand.
pub struct MadePlan {
    /// Assemblies.
    pub assemblies: Vec<Assembly>,
    /// Their outlooks.
    pub outlooks: Vec<Arc<Outlook>>,
    /// The list.
    pub ranked: Vec<brimwater::ranking::Ranked>,
    /// The weather.
    pub series: Vec<brimwater::weather::Series>,
    /// Index of the series of each.
    pub series_of: Vec<usize>,
    /// How people read.
    pub words: brimwater::ranking::Words,
    /// Faults.
    pub faults: brimwater::faults::Faults,
}

impl MadePlan {
    /// Ranks the rows; `us` units, Chicago time.
    pub fn new(rows: Vec<(Assembly, Outlook)>, us: bool) -> Self {
        use brimwater::weather::{Kind, Series, Station};
        let (assemblies, outlooks): (Vec<_>, Vec<_>) = rows.into_iter().map(|(a, o)| (a, Arc::new(o))).unzip();
        let words = brimwater::ranking::Words {
            zone: chrono_tz::America::Chicago,
            us,
            language: brimwater::language::Language::English,
        };
        let config = brimwater::ranking::config::RankingConfig::default();
        let ranked = brimwater::ranking::rank(&assemblies, &outlooks, &config, &words);
        let air_c = trace(0.5).air_c;
        let hours = air_c.len();
        let series = vec![Series {
            format: "test",
            station: Station {
                station_id: "QUARRY".into(),
                latitude_deg: Some(31.52),
                longitude_deg: Some(-41.22),
                elevation_m: Some(10.0),
            },
            start: start(),
            air_c,
            wind_m_s: vec![None; hours],
            dew_point_c: vec![None; hours],
            sky_cover: vec![None; hours],
            kind: vec![Kind::Forecast; hours],
            interpolated: vec![false; hours],
            issued: None,
        }];
        let series_of = vec![0; assemblies.len()];
        Self {
            assemblies,
            outlooks,
            ranked,
            series,
            series_of,
            words,
            faults: brimwater::faults::Faults::new(),
        }
    }

    /// The plan.
    pub fn plan(&self) -> brimwater::output::plan::Plan<'_> {
        brimwater::output::plan::Plan {
            assemblies: &self.assemblies,
            outlooks: &self.outlooks,
            series_of: &self.series_of,
            ranked: &self.ranked,
            series: &self.series,
            words: self.words,
            now: start(),
            forecast_issued: Some(start()),
            window: (start(), start() + TimeDelta::hours(167)),
            members: self.outlooks.first().map_or(1, |outlook| outlook.members),
            seed: 7,
            what_if: "",
            joins: &[],
            keepers: &[],
            over: false,
            rejected: 0,
            stats: brimwater::freeze::RunStats::default(),
            total: None,
            faults: &self.faults,
        }
    }
}

/// A varied programme of `n`, every tier in it.
pub fn programme(n: usize) -> Vec<(Assembly, Outlook)> {
    (0..n)
        .map(|i| {
            let mut assembly = breaker(&format!("B-{i:04}"));
            assembly.latitude_deg = Some(31.5 + ((i * 71) % 97) as f64 * 0.0007);
            assembly.longitude_deg = Some(-41.25 + ((i * 53) % 89) as f64 * 0.0009);
            assembly.line = i as u64 + 2;
            assembly.device_type = DeviceType::ALL[i % 7];
            assembly.nominal_size =
                [NominalSize::N0_75, NominalSize::N1, NominalSize::N2, NominalSize::N4][(i / 3) % 4];
            assembly.service = [Service::Irrigation, Service::Domestic, Service::Fire, Service::Process][(i / 5) % 4];
            if i % 31 == 0 {
                assembly.critical = Some("clinic".into());
            }
            if i % 3 == 0 {
                assembly.assumed.push(Assumption {
                    field: "placement",
                    used: "open".into(),
                    direction: "cautious",
                });
            }
            let p = ((i * 37) % 101) as f64 / 100.0;
            let p = if p < 0.3 { 0.0 } else { p };
            let repair = if assembly.nominal_size == NominalSize::N4 {
                9_000.0
            } else {
                700.0
            };
            (assembly, ensemble(p, 48 + ((i * 13) % 30) as i64, p * repair, 8.0))
        })
        .collect()
}
