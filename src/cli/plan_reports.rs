//! What a plan tells of the reports that it counts.

use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Reported, Seen};
use crate::inventory::Assembly;
use crate::plan::{Plan, Programme};
use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

/// Identifiers that one message names.
const NAMED: usize = 8;
/// Members of equal weight under which chances are coarse: one of 32 is 3 in a hundred (judgement).
const COARSE: f64 = 32.0;

/// The reports of a plan's assemblies.
fn told<'p>(assemblies: &'p [Assembly], outlooks: &'p [Arc<Outlook>]) -> impl Iterator<Item = (&'p str, &'p Reported)> {
    assemblies
        .iter()
        .zip(outlooks)
        .filter_map(|(assembly, outlook)| Some((assembly.assembly_id.as_str(), outlook.reported.as_ref()?)))
}

fn named<'a>(ids: impl Iterator<Item = &'a str>) -> (usize, String) {
    let ids: BTreeSet<&str> = ids.collect();
    let more = if ids.len() > NAMED { ", …" } else { "" };
    let shown: Vec<&str> = ids.iter().copied().take(NAMED).collect();
    (ids.len(), format!("{}{more}", shown.join(", ")))
}

/// Tells what was reported and what it does.
///
/// Faults: `BW-P66` (note) reports weigh the chances, `BW-P67` of assemblies that the list does not know, `BW-P68` the model has it
/// otherwise in every member, `BW-P69` (note) few members are left to tell by, `BW-P64` (note) one cautious run cannot be weighed.
pub fn tell(programme: &Programme, plan: &Plan<'_>, faults: &mut Faults) {
    if programme.reports.0.is_empty() {
        return;
    }
    let all = || told(&plan.assemblies, &plan.outlooks);
    let counts = Seen::ALL.map(|seen| {
        all()
            .filter(|(_, told)| told.last().is_some_and(|last| last.seen == seen))
            .count()
    });
    if counts.iter().sum::<usize>() > 0 {
        let [fine, ice, broken, whole] = counts;
        let whole = match whole {
            0 => String::new(),
            whole => format!(", {whole} whole without a look for ice"),
        };
        faults.push(
            Fault::new(
                "BW-P66",
                Severity::Note,
                format!("reports from the sites weigh the chances: {fine} assemblies last seen fine, {ice} with ice, {broken} broken{whole}"),
            )
            .remedy("Those seen broken are not called and stand in inspection.csv."),
        );
    }
    let listed: HashSet<&str> = plan
        .assemblies
        .iter()
        .map(|assembly| assembly.assembly_id.as_str())
        .collect();
    let (unknown, ids) = named(
        programme
            .reports
            .0
            .keys()
            .map(String::as_str)
            .filter(|id| !listed.contains(id)),
    );
    if unknown > 0 {
        faults.push(
            Fault::new(
                "BW-P67",
                Severity::Warning,
                format!("reports of {unknown} identifiers that this plan does not hold count for nothing"),
            )
            .value(&ids)
            .remedy("Check the identifiers in the log, or the rows that were set aside."),
        );
    }
    let (odd, ids) = named(all().filter(|(_, told)| told.contradicted()).map(|(id, _)| id));
    if odd > 0 {
        faults.push(
            Fault::new(
                "BW-P68",
                Severity::Warning,
                format!("what was reported of {odd} assemblies the model has otherwise in every member; their chances are as without the report"),
            )
            .value(&ids)
            .remedy("Look at them, and at what the list says of placement, wrap, heat and winter use."),
        );
    }
    let coarse = |told: &Reported| told.weighed && told.effective_members < COARSE;
    let (few, ids) = named(all().filter(|(_, told)| coarse(told)).map(|(id, _)| id));
    if few > 0 {
        faults.push(
            Fault::new(
                "BW-P69",
                Severity::Note,
                format!("few members agree with what was reported of {few} assemblies: their chances are coarse"),
            )
            .value(&ids)
            .remedy("Plan with more --members."),
        );
    }
    if all().any(|(_, told)| !told.weighed) && plan.outlooks.first().is_some_and(|outlook| outlook.p_damage.is_none()) {
        faults.push(
            Fault::new(
                "BW-P64",
                Severity::Note,
                "one cautious run has no chances that a report could move; only those seen broken are left out",
            )
            .remedy("Plan with --members 256."),
        );
    }
}
