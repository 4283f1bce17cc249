//! All files of a programme before the season, into one folder. Names, addresses and letters go into `personal/` and nowhere else.

use super::columns::{self, Cell, Column, Kind as CellKind};
use super::plan::unwritten;
use super::safe::Folder;
use super::season::{self, usd};
use super::season_json::rounded;
use super::{charts_season, parquet, rejects_csv, season_json, season_letters, season_pages};
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::input::load::Taken;
use crate::inventory::{Assembly, Reject};
use crate::language::Language;
use crate::say;
use crate::season::answer::Answer;
use crate::season::choices_table;
use crate::season::measures::{Kind, WhyNot};
use crate::season::programme::SiteValue;
use crate::season::resampling::{Resampled, Steadiness};
use crate::season::spells::RecordWinter;
use crate::season::warming::Warming;
use crate::season::yearly::mean;
use crate::weather::Series;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io;

/// What the files are made from.
pub struct Report<'a> {
    /// The choice; its items are those of `values`, in the same order.
    pub answer: &'a Answer,
    /// Each assembly through its winters.
    pub values: &'a [SiteValue],
    /// The list.
    pub assemblies: &'a [Assembly],
    /// The config.
    pub config: &'a Config,
    /// The choice on winters drawn anew; `None` below two winters.
    pub drawn: Option<&'a Resampled>,
    /// Offers for when others refuse, best first: item and offer.
    pub reserve: &'a [(usize, usize)],
    /// What each station's record says of its winters.
    pub warming: &'a [Warming],
    /// Winters of each station.
    pub winters: &'a [Vec<RecordWinter>],
    /// The records.
    pub series: &'a [Series],
    /// Money spoken for by accepted offers, US dollars.
    pub committed_usd: u64,
    /// Measures fitted after earlier offers.
    pub fitted: usize,
    /// To how many assemblies each measure is not offered, by reason.
    pub refused: &'a BTreeMap<(Kind, WhyNot), usize>,
    /// What the choice saves as recorded, where a trend was used, US dollars.
    pub recorded_usd: Option<f64>,
    /// Rows not weighed.
    pub rejects: &'a [Reject],
    /// All faults.
    pub faults: &'a Faults,
    /// Files read.
    pub taken: &'a [Taken],
    /// Members.
    pub members: usize,
    /// Seed.
    pub seed: u64,
    /// Distinct thermal cases.
    pub cases: usize,
    /// Whether people read US units.
    pub us: bool,
}

/// One line of the offers.
pub struct Line<'a> {
    /// Place, from 1; the reserve goes on counting.
    pub rank: usize,
    /// `offer`, or `reserve` for when others refuse.
    pub status: &'static str,
    /// The assembly.
    pub assembly: &'a Assembly,
    /// The measure.
    pub kind: Kind,
    /// What it costs, US dollars.
    pub cost_usd: u64,
    /// What it saves over the horizon, US dollars.
    pub benefit_usd: f64,
    /// Yearly loss as it stands, net of calls, US dollars.
    pub yearly_usd: f64,
    /// Chance of damage a winter as it stands, and with the measure.
    pub p: (f64, f64),
    /// How steady the choice is; none for the reserve.
    pub steadiness: Option<Steadiness>,
    /// Its district.
    pub district: &'a str,
}

impl<'a> Report<'a> {
    /// The offers in order, then the reserve.
    pub fn lines(&self) -> Vec<Line<'a>> {
        let chosen = self.answer.chosen();
        let count = chosen.len();
        let answer: &'a Answer = self.answer;
        chosen
            .into_iter()
            .chain(self.reserve.iter().copied())
            .enumerate()
            .filter_map(|(at, (item, offer))| {
                let site = self.values.get(item)?;
                let value = site.offers.get(offer)?;
                Some(Line {
                    rank: at + 1,
                    status: if at < count { "offer" } else { "reserve" },
                    assembly: self.assemblies.get(site.at)?,
                    kind: value.kind,
                    cost_usd: value.cost_usd,
                    benefit_usd: answer.items.get(item)?.offers.get(offer)?.benefit_usd,
                    yearly_usd: mean(&site.net_usd),
                    p: (site.p, value.p_with),
                    steadiness: self
                        .drawn
                        .filter(|_| at < count)
                        .and_then(|drawn| drawn.of.get(&(item, offer)).copied()),
                    district: answer.items.get(item)?.district.as_str(),
                })
            })
            .collect()
    }

    /// Yearly loss of all assemblies as they stand, US dollars: before calls, and net of them.
    pub fn yearly_usd(&self) -> (f64, f64) {
        let sum = |pick: fn(&SiteValue) -> &[f64]| self.values.iter().map(|site| mean(pick(site))).sum();
        (sum(|site| &site.gross_usd), sum(|site| &site.net_usd))
    }

    /// Years over which savings count.
    pub fn horizon(&self) -> f64 {
        self.config.season.horizon_years
    }
}

/// A number of winters in ten, such as `7.3`.
fn tenths(p: f64) -> String {
    let text = format!("{:.1}", 10.0 * p);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// The measure in words.
pub fn measure_words(kind: Kind, language: Language) -> String {
    say!(language, &format!("season-measure-{}", kind.word()))
}

/// The reason in one sentence.
pub fn reason(line: &Line<'_>, horizon_years: f64, language: Language) -> String {
    say!(
        language,
        "season-reason",
        bare = tenths(line.p.0),
        measure = measure_words(line.kind, language),
        with = tenths(line.p.1),
        yearly = usd(line.yearly_usd),
        cost = usd(line.cost_usd as f64),
        benefit = usd(line.benefit_usd),
        years = format!("{horizon_years:.0}"),
        ratio = format!("${:.2}", line.benefit_usd / line.cost_usd.max(1) as f64),
    )
}

/// What is told beside the choice, sentence by sentence.
pub fn sentences(report: &Report<'_>, language: Language) -> Vec<String> {
    let (gross, net) = report.yearly_usd();
    let mut told = vec![say!(
        language,
        "season-yearly",
        assemblies = report.values.len().to_string(),
        gross = usd(gross),
        net = usd(net),
    )];
    if let Some(drawn) = report.drawn {
        told.push(say!(
            language,
            "season-interval",
            low = usd(drawn.benefit_usd.0),
            high = usd(drawn.benefit_usd.1),
            yearly_low = usd(drawn.yearly_loss_usd.0),
            yearly_high = usd(drawn.yearly_loss_usd.1),
            draws = drawn.draws.to_string(),
        ));
    } else {
        told.push(say!(language, "season-no-interval"));
    }
    if let Some(recorded) = report.recorded_usd {
        told.push(say!(
            language,
            "season-as-recorded",
            moved = usd(report.answer.choice.benefit_usd),
            recorded = usd(recorded),
        ));
    }
    if report.committed_usd > 0 || report.fitted > 0 {
        told.push(say!(
            language,
            "season-so-far",
            committed = usd(report.committed_usd as f64),
            fitted = report.fitted.to_string(),
        ));
    }
    let fire: usize = report
        .refused
        .iter()
        .filter(|((_, why), _)| *why == WhyNot::Fire)
        .map(|(_, count)| *count)
        .max()
        .unwrap_or(0);
    if fire > 0 {
        told.push(say!(language, "season-fire", lines = fire.to_string()));
    }
    told.extend(report.warming.iter().map(|warming| warming.words(language, report.us)));
    told
}

pub(super) fn text(writer: csv::Writer<Vec<u8>>) -> String {
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The columns of `offers.csv` and `offers.parquet`. The blank `outcome` is for what comes of it: the filled file is the offer log.
fn offer_columns<'a>(report: &'a Report<'a>) -> Vec<Column<'a, Line<'a>>> {
    let usd = |name, cell: fn(&Line<'_>) -> f64| {
        Column::new(name, CellKind::Number(2), "USD", move |line: &Line<'_>| {
            Cell::Number(cell(line))
        })
    };
    let chance = |name, cell: fn(&Line<'_>) -> f64| {
        Column::new(name, CellKind::Number(4), "1", move |line: &Line<'_>| {
            Cell::Number(cell(line))
        })
    };
    let steady = |cell: fn(Steadiness) -> f64| {
        move |line: &Line<'_>| line.steadiness.map_or(Cell::Absent, |found| Cell::Number(cell(found)))
    };
    let draws = report.drawn.map_or(0, |drawn| drawn.draws) as i64;
    let horizon = report.horizon();
    vec![
        Column::new("rank", CellKind::Whole, "", |line: &Line<'_>| {
            Cell::Whole(line.rank as i64)
        }),
        Column::text("status", |line: &Line<'_>| line.status),
        Column::text("assembly_id", |line: &Line<'a>| line.assembly.assembly_id.to_string()),
        Column::text("measure", |line: &Line<'_>| line.kind.word()),
        Column::new("cost_usd", CellKind::Whole, "USD", |line: &Line<'_>| {
            Cell::Whole(line.cost_usd as i64)
        }),
        usd("benefit_usd", |line| line.benefit_usd),
        Column::new(
            "benefit_low_usd",
            CellKind::Number(2),
            "USD",
            steady(|found| found.interval_usd.0),
        ),
        Column::new(
            "benefit_high_usd",
            CellKind::Number(2),
            "USD",
            steady(|found| found.interval_usd.1),
        ),
        Column::new("saved_per_dollar", CellKind::Number(2), "1", |line: &Line<'_>| {
            Cell::Number(line.benefit_usd / line.cost_usd.max(1) as f64)
        }),
        usd("yearly_loss_usd", |line| line.yearly_usd),
        chance("p_damage_a_winter", |line| line.p.0),
        chance("p_damage_with_measure", |line| line.p.1),
        Column::new("chosen_in", CellKind::Whole, "", |line: &Line<'_>| {
            line.steadiness
                .map_or(Cell::Absent, |found| Cell::Whole(found.chosen_in as i64))
        }),
        Column::new("draws", CellKind::Whole, "", move |line: &Line<'_>| {
            line.steadiness.map_or(Cell::Absent, |_| Cell::Whole(draws))
        }),
        Column::text("district", |line: &Line<'a>| line.district),
        Column::text("customer_class", |line: &Line<'_>| line.assembly.customer_class.word()),
        Column::text("critical", |line: &Line<'a>| {
            line.assembly.critical.as_deref().unwrap_or_default()
        }),
        Column::text("device_type", |line: &Line<'_>| line.assembly.device_type.word()),
        Column::text("nominal_size_in", |line: &Line<'_>| line.assembly.nominal_size.word()),
        Column::text("placement", |line: &Line<'_>| line.assembly.placement.word()),
        Column::text("outcome", |_: &Line<'_>| ""),
        Column::text("reason", move |line: &Line<'_>| {
            reason(line, horizon, Language::English)
        }),
    ]
}

/// `offers.csv`: ranked, each with its reason.
///
/// # Errors
/// When it cannot be written.
pub fn offers_csv(report: &Report<'_>) -> io::Result<Vec<u8>> {
    let mut out = Vec::new();
    columns::write_csv(
        &offer_columns(report),
        report.lines().into_iter(),
        chrono_tz::Tz::UTC,
        &mut out,
    )?;
    Ok(out)
}

/// `map.geojson`: where the offers go (RFC 7946). No personal data.
pub fn map(report: &Report<'_>) -> Value {
    let features: Vec<Value> = report
        .lines()
        .iter()
        .filter_map(|line| {
            let (latitude, longitude) = line.assembly.latitude_deg.zip(line.assembly.longitude_deg)?;
            Some(json!({
                "type": "Feature",
                "id": line.assembly.assembly_id,
                "geometry": {"type": "Point", "coordinates": [rounded(longitude, 6), rounded(latitude, 6)]},
                "properties": {
                    "assembly_id": line.assembly.assembly_id, "rank": line.rank, "status": line.status, "measure": line.kind.word(),
                    "cost_usd": line.cost_usd, "benefit_usd": rounded(line.benefit_usd, 2),
                    "p_damage_a_winter": rounded(line.p.0, 4),
                    "reason": reason(line, report.horizon(), Language::English),
                },
            }))
        })
        .collect();
    json!({"type": "FeatureCollection", "features": features})
}

/// Writes every file, the offers as Parquet too where `parquet` says so. All that fail are told.
///
/// # Errors
/// A fault for each file that cannot be written, and for a page that cannot be made.
pub fn write(folder: &Folder, report: &Report<'_>, parquet: bool) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let mut unmade = Vec::new();
    let mut put = |name: &str, bytes: &[u8]| {
        if let Err(fault) = folder.write(name, bytes) {
            faults.push(fault);
        }
    };
    let pretty = |value: &Value| serde_json::to_string_pretty(value).unwrap_or_default() + "\n";
    match offers_csv(report) {
        Ok(offers) => put("offers.csv", &offers),
        Err(error) => unmade.push(unwritten("offers.csv", error)),
    }
    if parquet {
        let mut offers = Vec::new();
        match parquet::write(
            "offers",
            &offer_columns(report),
            report.lines().into_iter(),
            &mut offers,
        ) {
            Ok(()) => put("offers.parquet", &offers),
            Err(error) => unmade.push(unwritten("offers.parquet", error)),
        }
    }
    put("season.json", pretty(&season_json::json(report)).as_bytes());
    put("map.geojson", (map(report).to_string() + "\n").as_bytes());
    put("curve.csv", season::curve_csv(report.answer).as_bytes());
    put(
        "choices.csv",
        choices_table::write(&report.answer.measures, &report.answer.items).as_bytes(),
    );
    let mut rejects = Vec::new();
    let _ = rejects_csv::write(report.rejects, &mut rejects);
    put("rejects.csv", &rejects);
    match charts_season::curve(report.answer, super::charts::Form::Wide) {
        Ok(svg) => put("curve.svg", svg.as_bytes()),
        Err(error) => unmade.push(Fault::new("BW-O10", Severity::Fatal, error.to_string()).file("curve.svg")),
    }
    for (name, page) in [
        ("manager.html", season_pages::manager(report)),
        ("council.html", season_pages::council(report)),
    ] {
        match page {
            Ok(page) => put(name, page.as_bytes()),
            Err(fault) => unmade.push(fault),
        }
    }
    put("personal/letters.csv", season_letters::csv(report).as_bytes());
    for fault in unmade {
        faults.push(fault);
    }
    if let Err(fault) = keep_private(folder) {
        faults.push(fault);
    }
    if faults.0.is_empty() { Ok(()) } else { Err(faults) }
}

/// Personal files are for their owner alone: 0600 in a folder of 0700.
#[cfg(unix)]
fn keep_private(folder: &Folder) -> Result<(), Fault> {
    use std::fs::{Permissions, set_permissions};
    use std::os::unix::fs::PermissionsExt;
    let place = folder.path().join("personal");
    set_permissions(&place, Permissions::from_mode(0o700))
        .and_then(|()| set_permissions(place.join("letters.csv"), Permissions::from_mode(0o600)))
        .map_err(|error| unwritten("personal/letters.csv", error))
}

#[cfg(not(unix))]
fn keep_private(_folder: &Folder) -> Result<(), Fault> {
    Ok(())
}
