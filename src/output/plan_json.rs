//! `plan.json`: the whole plan for other programs, always SI.

use super::plan::{Plan, Walk, rounded, stamp};
use crate::freeze::{Advice, Outlook, Report, Reported, Spread};
use crate::inventory::Assembly;
use crate::outreach::replan::fingerprint;
use crate::ranking::{Ranked, Tier};
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct Document<A, C> {
    schema: &'static str,
    version: &'static str,
    issued: String,
    forecast_issued: Option<String>,
    window: Window,
    members: usize,
    seed: u64,
    what_if: Option<String>,
    units: &'static str,
    assemblies: A,
    contacts: C,
    caution: &'static str,
}

#[derive(Serialize)]
struct Window {
    start: String,
    end: String,
}

#[derive(Serialize)]
struct Line<'a> {
    assembly_id: &'a str,
    rank: usize,
    tier: Tier,
    device_type: &'static str,
    nominal_size_in: &'static str,
    service: &'static str,
    customer_class: &'static str,
    placement: &'static str,
    winter_use: &'static str,
    critical: Option<&'a str>,
    p_ice: Option<f64>,
    p_blocked: Option<f64>,
    p_damage: Option<f64>,
    /// Ends of that chance by other judgement; only where it was asked (`show`).
    #[serde(skip_serializing_if = "Option::is_none")]
    p_damage_judged: Option<[f64; 2]>,
    damage_by_part: Vec<Part>,
    first_ice: Spread<Option<String>>,
    coldest_water_c: Spread<f64>,
    first_part: Option<&'static str>,
    nights: Vec<NightLine>,
    /// What was reported from the site and counts; left out where nothing was.
    #[serde(skip_serializing_if = "Option::is_none")]
    reported: Option<ReportedLine>,
    hours_air_below_0c: f64,
    min_air_c: f64,
    expected_loss: f64,
    expected_loss_error: f64,
    expected_repair: f64,
    reason: &'a str,
    advice: &'a [Advice],
    assumed: Vec<&'static str>,
    station_id: &'a str,
    /// What the list said of the assembly, as a hash: a later plan tells from it whether the list or the forecast changed.
    listed: String,
}

/// What was reported from the site, and what it weighs.
#[derive(Serialize)]
struct ReportedLine {
    reports: Vec<ReportLine>,
    /// Share of the members that agree with all of them, before they were weighed.
    agree: f64,
    effective_members: f64,
    weighed: bool,
}

#[derive(Serialize)]
struct ReportLine {
    at: String,
    seen: &'static str,
}

impl ReportedLine {
    fn of(told: &Reported) -> Self {
        let report = |report: &Report| ReportLine {
            at: stamp(report.at),
            seen: report.seen.word(),
        };
        Self {
            reports: told.reports.iter().map(report).collect(),
            agree: rounded(told.agree, 6),
            effective_members: rounded(told.effective_members, 1),
            weighed: told.weighed,
        }
    }
}

/// What one night adds.
#[derive(Serialize)]
struct NightLine {
    ice_early: String,
    p_damage: f64,
    expected_repair: f64,
}

#[derive(Serialize)]
struct Part {
    part: &'static str,
    p: Option<f64>,
    /// Only where it is true, in a deterministic run.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    strained: bool,
    /// Left out where there is no ice.
    #[serde(skip_serializing_if = "Option::is_none")]
    ice_fraction: Option<f64>,
}

fn line<'a>(plan: &'a Plan<'_>, ranked: &'a Ranked, assembly: &'a Assembly, outlook: &'a Outlook) -> Line<'a> {
    let chance = |p: Option<f64>| p.map(|p| rounded(p, 6));
    let deterministic = outlook.p_damage.is_none();
    Line {
        assembly_id: &assembly.assembly_id,
        rank: ranked.rank,
        tier: ranked.tier,
        device_type: assembly.device_type.word(),
        nominal_size_in: assembly.nominal_size.word(),
        service: assembly.service.word(),
        customer_class: assembly.customer_class.word(),
        placement: assembly.placement.word(),
        winter_use: assembly.winter_use.word(),
        critical: assembly.critical.as_deref(),
        p_ice: chance(outlook.p_ice),
        p_blocked: chance(outlook.p_blocked),
        p_damage: chance(outlook.p_damage),
        p_damage_judged: outlook
            .p_damage_judged
            .map(|(low, high)| [rounded(low, 6), rounded(high, 6)]),
        damage_by_part: outlook
            .parts
            .iter()
            .map(|part| Part {
                part: part.name,
                p: chance(part.p_damage),
                strained: deterministic && part.strained,
                ice_fraction: (part.ice_fraction > 0.0).then(|| rounded(part.ice_fraction, 4)),
            })
            .collect(),
        first_ice: Spread {
            p10: outlook.first_ice.p10.map(stamp),
            p50: outlook.first_ice.p50.map(stamp),
            p90: outlook.first_ice.p90.map(stamp),
        },
        coldest_water_c: Spread {
            p10: rounded(outlook.coldest_water_c.p10, 3),
            p50: rounded(outlook.coldest_water_c.p50, 3),
            p90: rounded(outlook.coldest_water_c.p90, 3),
        },
        first_part: outlook.first_part,
        nights: outlook
            .nights
            .iter()
            .map(|night| NightLine {
                ice_early: stamp(night.ice_early),
                p_damage: rounded(night.p_damage, 6),
                expected_repair: rounded(night.repair_usd, 2),
            })
            .collect(),
        reported: outlook.reported.as_ref().map(ReportedLine::of),
        hours_air_below_0c: rounded(outlook.hours_air_below_0c, 2),
        min_air_c: rounded(outlook.min_air_c, 3),
        expected_loss: rounded(ranked.expected_loss_usd, 2),
        expected_loss_error: rounded(ranked.loss.error_usd, 2),
        expected_repair: rounded(ranked.loss.repair_usd, 2),
        reason: &ranked.reason,
        advice: &outlook.advice,
        assumed: assembly.assumed.iter().map(|assumption| assumption.field).collect(),
        station_id: plan.station(ranked.index),
        listed: fingerprint(assembly),
    }
}

/// The first assembly of a plan as `plan.json` tells it.
pub fn first<'a>(plan: &'a Plan<'_>) -> Option<impl Serialize + 'a> {
    plan.lines()
        .next()
        .map(|(ranked, assembly, outlook)| line(plan, ranked, assembly, outlook))
}

/// Writes `plan.json`. Probabilities are null in a deterministic run; there a strained part says so.
///
/// The assemblies are written as they are walked: memory does not grow with the list.
///
/// # Errors
/// When the writer fails.
pub fn write<C: Serialize + ?Sized>(plan: &Plan<'_>, contacts: &C, out: &mut dyn Write) -> io::Result<()> {
    let document = Document {
        schema: "brimwater.plan/1",
        version: crate::VERSION,
        issued: stamp(plan.now),
        forecast_issued: plan.forecast_issued.map(stamp),
        window: Window {
            start: stamp(plan.window.0),
            end: stamp(plan.window.1),
        },
        members: plan.members,
        seed: plan.seed,
        what_if: (!plan.what_if.is_empty()).then(|| plan.what_if.to_owned()),
        units: "SI; money in US dollars",
        assemblies: Walk(|| {
            plan.lines()
                .map(|(ranked, assembly, outlook)| line(plan, ranked, assembly, outlook))
        }),
        contacts,
        caution: crate::PLANNING_AID,
    };
    serde_json::to_writer(&mut *out, &document)?;
    out.write_all(b"\n")
}
