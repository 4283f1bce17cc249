//! The list as people see it on a terminal: at most 100 columns, worst first.

use super::plan::Plan;
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use crate::language::Language;
use crate::ranking::reason::{advice_words, early_ice, percent};
use crate::ranking::{Ranked, Tier, nights};
use crate::review::total::Total;
use comfy_table::{CellAlignment, ContentArrangement, Table, presets};
use std::fmt::Write;

/// Width that every table keeps.
pub const WIDTH: u16 = 100;

/// The first lines of the list, with a line above that says what it is.
pub fn list(plan: &Plan<'_>, lines: usize) -> String {
    let mut table = plain();
    let chance = if plan.members > 1 { "damage" } else { "severity" };
    table.set_header(vec![
        "rank",
        "tier",
        "assembly",
        chance,
        "loss",
        "first ice",
        "what it is, and what would do",
    ]);
    for (line, assembly, outlook) in plan.lines().take(lines) {
        table.add_row(row(plan, line, assembly, outlook));
    }
    for (at, align) in [
        (0, CellAlignment::Right),
        (3, CellAlignment::Right),
        (4, CellAlignment::Right),
    ] {
        if let Some(column) = table.column_mut(at) {
            column.set_cell_alignment(align);
        }
    }
    let mut text = String::new();
    let _ = writeln!(
        text,
        "{} to {}, times in {}\n{}",
        super::report::date(plan.window.0, &plan.words),
        super::report::date(plan.window.1, &plan.words),
        plan.words.zone,
        if plan.members > 1 {
            format!("{} members, first ice at the early edge (10 %)", plan.members)
        } else {
            "one cautious run: order, not odds".to_owned()
        }
    );
    let _ = writeln!(text, "{}", trimmed(&table.to_string()));
    let more = plan.ranked.len().saturating_sub(lines);
    if more > 0 {
        let _ = writeln!(text, "and {more} more in ranking.csv");
    }
    text
}

/// A table without a frame, no wider than [`WIDTH`].
pub fn plain() -> Table {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH);
    table
}

/// Without the spaces that a table leaves at the ends of lines.
pub fn trimmed(table: &str) -> String {
    table.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

fn row(plan: &Plan<'_>, line: &Ranked, assembly: &Assembly, outlook: &Outlook) -> Vec<String> {
    let mut what = crate::ranking::reason::what_it_is(assembly, plan.words.language);
    if line.tier != Tier::NoContact
        && let Some(advice) = outlook.advice.iter().find(|advice| advice.enough)
    {
        let _ = write!(what, "; {}", advice_words(advice, &plan.words));
    }
    vec![
        line.rank.to_string(),
        line.tier.words().into(),
        assembly.assembly_id.to_string(),
        percent(line.loss.chance),
        super::report::dollars(line.expected_loss_usd),
        early_ice(outlook, &plan.words),
        what,
    ]
}

/// How many are expected to break, with the range; every door tells it in these words.
pub fn breaks(total: &Total) -> String {
    let judged = total.judged.map_or(String::new(), |ends| {
        let (low, high) = (format!("{:.0}", ends.breaks.0), format!("{:.0}", ends.breaks.1));
        format!(
            "; {}",
            crate::say!(Language::English, "judged-band", low = low, high = high)
        )
    });
    format!(
        "expected to break if nobody acts: {:.0} ({:.0} to {:.0} with the weather's error, {:.0} to {:.0} without{judged})",
        total.breaks.expected, total.breaks.p05, total.breaks.p95, total.breaks_local.p05, total.breaks_local.p95
    )
}

/// The last line of a run: nothing vanishes.
pub fn last_line(plan: &Plan<'_>, place: &str) -> String {
    let counts = plan.counts();
    let joining = plan.joining().map_or(String::new(), |(case, new, up)| {
        format!("if {case}: {new} join the list and {up} move up, see joins.csv\n")
    });
    let range = plan
        .total
        .map_or(String::new(), |total| format!("{}\n", breaks(&total)));
    format!(
        "{joining}{range}{} used, {} rejected, {} at risk ({} call first, {} call next, {} message); written to {place}\n",
        counts.used, counts.rejected, counts.at_risk, counts.by_tier[0], counts.by_tier[1], counts.by_tier[2]
    )
}

/// What the coming night adds, wrapped to [`WIDTH`]; empty in a cautious run and when nothing is to come.
pub fn coming(plan: &Plan<'_>) -> String {
    let sums = nights::town(plan.ranked, plan.outlooks, plan.words.zone);
    nights::coming(&sums, plan.now, plan.words.zone)
        .filter(|_| plan.members > 1 && !plan.over)
        .map_or(String::new(), |coming| {
            let text = super::brief::coming_words(&coming);
            format!("{}\n", textwrap::fill(&text, usize::from(WIDTH)))
        })
}
