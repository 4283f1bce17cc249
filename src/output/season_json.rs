//! `season.json`: the contract's keys, then what belongs to a programme.

use super::season;
use super::season_folder::{Line, Report, reason};
use crate::language::Language;
use crate::say;
use crate::season::spells::RecordWinter;
use crate::season::warming::Warming;
use crate::season::yearly::{annuity, interval, mean, share_of_two_worst};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A number to so many places.
pub(super) fn rounded(value: f64, places: i32) -> f64 {
    let scale = 10_f64.powi(places);
    (value * scale).round() / scale
}

/// `season.json`: the contract's keys, then what belongs to a programme.
pub fn json(report: &Report<'_>) -> Value {
    let mut told = season::json(report.answer);
    let by_id: BTreeMap<&str, Line<'_>> = report
        .lines()
        .into_iter()
        .filter(|line| line.status == "offer")
        .map(|line| (line.assembly.assembly_id.as_str(), line))
        .collect();
    if let Some(chosen) = told.get_mut("chosen").and_then(Value::as_array_mut) {
        for row in chosen {
            let Some(line) = row
                .get("assembly_id")
                .and_then(Value::as_str)
                .and_then(|id| by_id.get(id))
            else {
                continue;
            };
            let steadiness = line.steadiness;
            row["chosen_in"] = json!(steadiness.map(|steady| steady.chosen_in));
            row["interval_usd"] =
                json!(steadiness.map(|steady| [rounded(steady.interval_usd.0, 2), rounded(steady.interval_usd.1, 2)]));
            row["p_damage_a_winter"] = json!(rounded(line.p.0, 4));
            row["p_damage_with_measure"] = json!(rounded(line.p.1, 4));
            row["yearly_loss_usd"] = json!(rounded(line.yearly_usd, 2));
            row["reason"] = json!(reason(line, report.horizon(), Language::English));
        }
    }
    let (gross, net) = report.yearly_usd();
    let pair = |pair: (f64, f64)| [rounded(pair.0, 2), rounded(pair.1, 2)];
    told["draws"] = json!(report.drawn.map(|drawn| drawn.draws));
    told["benefit_interval_usd"] = json!(report.drawn.map(|drawn| pair(drawn.benefit_usd)));
    told["yearly_loss_usd"] = json!({
        "before_calls": rounded(gross, 2),
        "net_of_calls": rounded(net, 2),
        "net_interval": report.drawn.map(|drawn| pair(drawn.yearly_loss_usd)),
        "share_of_two_worst_winters": rounded(worst_share(report), 4),
    });
    told["benefit_as_recorded_usd"] = json!(report.recorded_usd.map(|usd| rounded(usd, 2)));
    told["committed_usd"] = json!(report.committed_usd);
    told["fitted"] = json!(report.fitted);
    told["reserve"] = report
        .lines()
        .iter()
        .filter(|line| line.status == "reserve")
        .map(|line| {
            json!({"assembly_id": line.assembly.assembly_id, "measure": line.kind.word(), "cost_usd": line.cost_usd,
                "benefit_usd": rounded(line.benefit_usd, 2)})
        })
        .collect();
    told["not_offered"] = report
        .refused
        .iter()
        .map(|((kind, why), count)| json!({"measure": kind.word(), "why": why.word(), "assemblies": count}))
        .collect();
    told["stations"] = stations(report);
    told["refused"] = json!(refused(report));
    told["counts"] = json!({
        "weighed": report.values.len(), "rejected": report.rejects.len(), "cases": report.cases, "members": report.members,
    });
    told["run"] = json!({
        "version": crate::VERSION, "seed": report.seed, "horizon_years": report.horizon(),
        "discount_rate": report.config.season.discount_rate, "accept_share": report.config.season.accept_share,
        "annuity_of_horizon": rounded(annuity(report.config.season.discount_rate, report.horizon()), 6),
        "inputs": report.taken,
    });
    told
}

/// Share of the whole loss that the two worst winters bring, over stations.
fn worst_share(report: &Report<'_>) -> f64 {
    let mut by_season: BTreeMap<i32, f64> = BTreeMap::new();
    for site in report.values {
        let seasons = report.winters.get(site.series).into_iter().flatten();
        let complete = seasons.filter(|winter| winter.complete);
        for (winter, usd) in complete.zip(&site.net_usd) {
            *by_season.entry(winter.season).or_insert(0.0) += usd;
        }
    }
    share_of_two_worst(&by_season.into_values().collect::<Vec<f64>>())
}

fn stations(report: &Report<'_>) -> Value {
    let each = report.series.iter().zip(report.winters).zip(report.warming);
    each.enumerate()
        .map(|(at, ((series, winters), warming))| {
            let complete: Vec<&RecordWinter> = winters.iter().filter(|winter| winter.complete).collect();
            let mut losses = vec![0.0; complete.len()];
            for site in report.values.iter().filter(|site| site.series == at) {
                for (sum, usd) in losses.iter_mut().zip(&site.net_usd) {
                    *sum += usd;
                }
            }
            let band = interval(&losses, report.seed).map(|(low, high)| [rounded(low, 2), rounded(high, 2)]);
            json!({
                "station_id": series.station.station_id,
                "format": series.format,
                "winters": complete.len(),
                "yearly_loss_usd": rounded(mean(&losses), 2),
                "yearly_loss_interval_usd": band,
                "by_winter": complete.iter().zip(&losses).map(|(winter, usd)| json!({
                    "season": winter.season, "min_c": winter.min_c, "spells": winter.spells.len(), "loss_usd": rounded(*usd, 2),
                })).collect::<Vec<_>>(),
                "left_out": winters.iter().filter(|winter| !winter.complete).map(|winter| winter.season).collect::<Vec<_>>(),
                "warming": warming_json(warming),
                "warming_words": warming.words(Language::English, report.us),
            })
        })
        .collect()
}

fn warming_json(warming: &Warming) -> Value {
    let Some((moving, (first, last))) = warming.moving.zip(warming.span) else {
        return Value::Null;
    };
    let threshold = crate::season::warming::THRESHOLD_C;
    let chance = |season: i32| rounded(moving.moving.chance_below(f64::from(season), threshold), 4);
    let law = |law: &crate::season::moving::Law| json!({"location": law.location, "trend_k_per_decade": law.trend_k_per_decade, "scale": law.scale, "shape": law.shape, "nll": law.nll});
    json!({
        "used": moving.is_moving(),
        "p_value": moving.p_value,
        "likelihood_ratio": moving.likelihood_ratio,
        "stationary": law(&moving.still),
        "moving": law(&moving.moving),
        "chance_below_20f": {"first_season": first, "first": chance(first), "last_season": last, "last": chance(last),
            "stationary": rounded(moving.still.chance_below(f64::from(last), threshold), 4)},
        "coldest_of_20_c": {"last_season": rounded(moving.moving.coldest_of_c(f64::from(last), 20.0), 2),
            "stationary": rounded(moving.still.coldest_of_c(f64::from(last), 20.0), 2)},
    })
}

/// What the records cannot carry, and why.
fn refused(report: &Report<'_>) -> Vec<String> {
    let mut told: Vec<String> = report
        .warming
        .iter()
        .filter(|warming| warming.moving.is_none())
        .map(|warming| warming.words(Language::English, report.us))
        .collect();
    if report.drawn.is_none() {
        told.push(say!(Language::English, "season-no-interval"));
    }
    told
}
