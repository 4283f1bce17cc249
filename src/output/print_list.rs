//! `call_sheets/list.html`: everybody to call on paper, forty lines a page, with number, address and the time to act by. Personal throughout.

use super::outreach_files::Campaign;
use super::report::what;
use crate::faults::{Fault, Severity};
use crate::outreach::line::{ContactLine, Way};
use crate::ranking::Tier;
use crate::ranking::reason::percent;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use std::collections::HashMap;

const PAGE: &str = include_str!("templates/print_list.html");
/// Lines on one printed page.
const ROWS: usize = 40;
/// Most lines of the list (judgement: ten sheets; the rest is in contacts.csv).
const MOST: usize = 400;

/// The page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn page(campaign: &Campaign<'_>) -> Result<String, Fault> {
    let failed = |error: minijinja::Error| {
        Fault::new("BW-O04", Severity::Fatal, format!("the list cannot be made: {error:#}"))
            .file("call_sheets/list.html")
    };
    let words = &campaign.facts.words;
    let mut line_of: HashMap<usize, &ContactLine> = HashMap::new();
    // Calls come first in the plan, so that the first line of an assembly is its call where there is one.
    for line in &campaign.plan.lines {
        for at in &line.indices {
            line_of.entry(*at).or_insert(line);
        }
    }
    let to_call = || {
        let ranked = campaign.ranked.iter();
        ranked.filter(|line| matches!(line.tier, Tier::CallFirst | Tier::CallNext))
    };
    let rows: Vec<Value> = to_call()
        .take(MOST)
        .filter_map(|ranked| {
            let assembly = campaign.facts.assemblies.get(ranked.index)?;
            let outlook = campaign.facts.outlooks.get(ranked.index)?;
            let line = line_of.get(&ranked.index);
            let person = line.and_then(|line| campaign.facts.people.get(line.person));
            let dials = line.filter(|line| line.channel == Way::Call);
            Some(context! {
                rank => ranked.rank,
                assembly => assembly.assembly_id.as_str(),
                chance => percent(ranked.loss.chance),
                by => line.and_then(|line| line.act_by).map(|by| words.moment(by)).unwrap_or_default(),
                name => line.map(|line| line.name.as_str()).unwrap_or_default(),
                phone => person.and_then(|person| person.phones.first()).map(|phone| phone.display()).unwrap_or_default(),
                address => assembly.contact.site_address.as_deref().unwrap_or_default(),
                how => match dials {
                    Some(line) => line.slot_start.map(|at| format!("{}, caller {}", words.moment(at), line.caller.unwrap_or(1))).unwrap_or_default(),
                    None => line.map(|line| line.channel.word().to_owned()).unwrap_or_default(),
                },
                what => what(words, ranked, assembly, outlook),
            })
        })
        .collect();
    let more = to_call().count().saturating_sub(rows.len());
    let pages: Vec<Vec<Value>> = rows.chunks(ROWS).map(<[Value]>::to_vec).collect();
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.add_template("print_list.html", PAGE).map_err(failed)?;
    environment
        .get_template("print_list.html")
        .and_then(|template| {
            template.render(context! {
                utility => campaign.config.utility.name.as_str(),
                issued => words.moment(campaign.issued),
                nights => super::brief::nights(campaign),
                frost => !campaign.nights.is_empty(),
                pages => pages,
                more => more,
                planning_aid => crate::PLANNING_AID,
            })
        })
        .map_err(failed)
}
