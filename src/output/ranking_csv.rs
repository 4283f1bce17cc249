//! `ranking.csv`: what a planner needs of each line, with the utility's own columns passed through; `ranking.parquet`: all of it, for
//! analysts. No personal data but what the utility's own columns carry: `contact_id` leads to `contacts.csv`.

use super::columns::{self, Cell, Column, Kind};
use super::parquet;
use super::plan::Plan;
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use crate::ranking::Ranked;
use crate::units;
use std::collections::BTreeSet;
use std::io::{self, Write};

/// A row: the line, its assembly, its outlook.
pub type Line<'p> = (&'p Ranked, &'p Assembly, &'p Outlook);

/// Columns of ours that `ranking.csv` has, in their order; what it leaves out is in `plan.json` and `ranking.parquet`.
const PLANNER: [&str; 12] = [
    "rank",
    "tier",
    "assembly_id",
    "p_damage",
    "p_blocked",
    "p_ice",
    "expected_loss_usd",
    "first_ice_early",
    "min_air",
    "critical",
    "advice",
    "reason",
];

/// The columns of `ranking.csv`: a planner's, who and where and until when, and the utility's own, which come last.
///
/// An own column whose name is one of ours gets `listed_` in front.
pub fn planner_columns<'p>(plan: &'p Plan<'_>) -> Vec<Column<'p, Line<'p>>> {
    let mut all = ours(plan);
    let mut columns: Vec<Column<'p, Line<'p>>> = Vec::new();
    for name in PLANNER {
        // `min_air` is `min_air_f` or `min_air_c`.
        let is =
            |column: &Column<'p, Line<'p>>| column.name == name || (name == "min_air" && column.name.starts_with(name));
        if let Some(at) = all.iter().position(is) {
            columns.push(all.remove(at));
        }
    }
    columns.extend(people(plan));
    with_own(plan, columns)
}

/// Who looks after it and until when acting helps.
fn people<'p>(plan: &'p Plan<'_>) -> Vec<Column<'p, Line<'p>>> {
    type C<'p> = Column<'p, Line<'p>>;
    let keeper = |line: &Line<'p>| plan.keepers.get(line.0.index);
    vec![
        C::new("act_by", Kind::Local, "", move |line| {
            keeper(line).and_then(|keeper| keeper.act_by).into()
        }),
        C::text("contact_id", move |line| {
            keeper(line).map_or("", |keeper| keeper.contact_id.as_str())
        }),
    ]
}

/// The columns of `ranking.parquet`, in the units of the plan's words; the utility's own come last.
///
/// An own column whose name is one of ours gets `listed_` in front.
pub fn columns<'p>(plan: &'p Plan<'_>) -> Vec<Column<'p, Line<'p>>> {
    with_own(plan, ours(plan))
}

fn with_own<'p>(plan: &'p Plan<'_>, mut columns: Vec<Column<'p, Line<'p>>>) -> Vec<Column<'p, Line<'p>>> {
    let taken: BTreeSet<String> = columns.iter().map(|column| column.name.to_string()).collect();
    for name in own_columns(plan) {
        let shown = if taken.contains(&name) {
            format!("listed_{name}")
        } else {
            name.clone()
        };
        columns.push(Column {
            name: shown.into(),
            kind: Kind::Text,
            unit: "",
            cell: Box::new(move |(_, assembly, _): &Line<'p>| {
                let own = assembly.extra.iter().find(|(listed, _)| *listed == name);
                own.map_or(Cell::Absent, |(_, value)| Cell::Text(value.as_str().into()))
            }),
        });
    }
    columns
}

fn ours<'p>(plan: &'p Plan<'_>) -> Vec<Column<'p, Line<'p>>> {
    type C<'p> = Column<'p, Line<'p>>;
    let words = &plan.words;
    let (degree, name) = if words.us {
        (
            "degF",
            [
                "coldest_water_early_f",
                "coldest_water_f",
                "min_air_f",
                "hours_air_below_32f",
            ],
        )
    } else {
        (
            "degC",
            [
                "coldest_water_early_c",
                "coldest_water_c",
                "min_air_c",
                "hours_air_below_0c",
            ],
        )
    };
    let shown = move |celsius: f64| Cell::Number(if words.us { units::f_from_c(celsius) } else { celsius });
    vec![
        C::new("rank", Kind::Whole, "", |(line, ..)| Cell::Whole(line.rank as i64)),
        C::text("tier", |(line, ..)| line.tier.words()),
        C::text("assembly_id", |(_, at, _)| at.assembly_id.as_str()),
        C::text("device_type", |(_, at, _)| at.device_type.word()),
        C::text("nominal_size_in", |(_, at, _)| at.nominal_size.word()),
        C::text("service", |(_, at, _)| at.service.word()),
        C::text("customer_class", |(_, at, _)| at.customer_class.word()),
        C::text("placement", |(_, at, _)| at.placement.word()),
        C::text("winter_use", |(_, at, _)| at.winter_use.word()),
        C::new("critical", Kind::Text, "", |(_, at, _)| {
            at.critical
                .as_deref()
                .map_or(Cell::Absent, |word| Cell::Text(word.into()))
        }),
        C::new("p_damage", Kind::Number(4), "1", |(.., outlook)| {
            outlook.p_damage.into()
        }),
        C::new("p_blocked", Kind::Number(4), "1", |(.., outlook)| {
            outlook.p_blocked.into()
        }),
        C::new("p_ice", Kind::Number(4), "1", |(.., outlook)| outlook.p_ice.into()),
        C::new("expected_loss_usd", Kind::Number(2), "USD", |(line, ..)| {
            Cell::Number(line.expected_loss_usd)
        }),
        C::new("expected_loss_error_usd", Kind::Number(2), "USD", |(line, ..)| {
            Cell::Number(line.loss.error_usd)
        }),
        C::new("first_ice_early", Kind::Local, "", |(.., outlook)| {
            outlook.first_ice.p10.into()
        }),
        C::new("first_ice_middle", Kind::Local, "", |(.., outlook)| {
            outlook.first_ice.p50.into()
        }),
        C::new("first_ice_late", Kind::Local, "", |(.., outlook)| {
            outlook.first_ice.p90.into()
        }),
        C::new("first_ice_early_utc", Kind::Utc, "", |(.., outlook)| {
            outlook.first_ice.p10.into()
        }),
        C::text("first_part", |(.., outlook)| outlook.first_part.unwrap_or("")),
        C::text("worst_part", |(.., outlook)| {
            crate::ranking::reason::worst_part(outlook).map_or("", |part| part.name)
        }),
        C::new(name[0], Kind::Number(1), degree, move |(.., outlook)| {
            shown(outlook.coldest_water_c.p10)
        }),
        C::new(name[1], Kind::Number(1), degree, move |(.., outlook)| {
            shown(outlook.coldest_water_c.p50)
        }),
        C::new(name[2], Kind::Number(1), degree, move |(.., outlook)| {
            shown(outlook.min_air_c)
        }),
        C::new(name[3], Kind::Number(1), "h", |(.., outlook)| {
            Cell::Number(outlook.hours_air_below_0c)
        }),
        C::text("station_id", |(line, ..)| plan.station(line.index)),
        C::text("advice", |(.., outlook)| {
            let enough = outlook.advice.iter().find(|advice| advice.enough);
            enough.map_or(String::new(), |advice| {
                crate::ranking::reason::advice_words(advice, words)
            })
        }),
        C::text("reason", |(line, ..)| line.reason.as_str()),
        C::text("assumed", |(_, at, _)| {
            let assumed: Vec<&str> = at.assumed.iter().map(|assumption| assumption.field).collect();
            assumed.join(" ")
        }),
    ]
}

/// Writes the list as CSV.
///
/// # Errors
/// When the writer fails.
pub fn write(plan: &Plan<'_>, out: &mut dyn Write) -> io::Result<()> {
    columns::write_csv(&planner_columns(plan), plan.lines(), plan.words.zone, out)
}

/// Writes the list as Parquet, for analysts.
///
/// # Errors
/// When the writer fails.
pub fn write_parquet(plan: &Plan<'_>, out: impl Write + Send) -> io::Result<()> {
    parquet::write("ranking", &columns(plan), plan.lines(), out)
}

/// The utility's own columns, in the order in which they are first met.
fn own_columns(plan: &Plan<'_>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let mut seen: std::collections::BTreeSet<&str> = std::collections::BTreeSet::new();
    for assembly in plan.assemblies {
        for (name, _) in &assembly.extra {
            if !seen.contains(name.as_str()) {
                seen.insert(name);
                names.push(name.to_string());
            }
        }
    }
    names
}
