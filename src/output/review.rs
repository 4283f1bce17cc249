//! The review as JSON, as text, as a page, and its proposal as lines of a config. Nothing personal: neither addresses nor assemblies are in it.

use crate::language::Tongue;
use crate::review::assess::{Called, Counts, Rule, Scores, SpellCount};
use crate::review::proposal::Proposal;
use crate::review::shift::Rate;
use crate::review::survey::Estimate;
use crate::review::{Review, words};
use crate::say;
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: &'static str,
    counts: &'a Counts,
    spells: &'a [SpellCount],
    as_issued: &'a Option<Scores>,
    hindcast: &'a Option<Scores>,
    hindcast_as_done: &'a Option<Scores>,
    rules: &'a Option<Vec<Rule>>,
    calls: &'a [Called],
    reach: &'a Option<Rate>,
    acting: &'a Option<Rate>,
    broken_in_town: &'a Option<Estimate>,
    sensitivity_and_specificity: Option<(f64, f64)>,
    proposal: &'a Option<Proposal>,
    refused: Vec<String>,
    caution: &'static str,
}

/// The review as JSON.
///
/// # Errors
/// When a figure cannot be written, which finite figures always can.
pub fn json(review: &Review, tongue: Tongue) -> Result<String, serde_json::Error> {
    let document = Document {
        schema: "brimwater.review/1",
        version: crate::VERSION,
        counts: &review.counts,
        spells: &review.spells,
        as_issued: &review.as_issued,
        hindcast: &review.hindcast,
        hindcast_as_done: &review.hindcast_as_done,
        rules: &review.rules,
        calls: &review.calls,
        reach: &review.reach,
        acting: &review.acting,
        broken_in_town: &review.broken_in_town,
        sensitivity_and_specificity: review.sensitivity,
        proposal: &review.proposal,
        refused: review.refused.iter().map(|why| words::refusal(why, tongue)).collect(),
        caution: crate::PLANNING_AID,
    };
    serde_json::to_string_pretty(&document).map(|text| text + "\n")
}

/// The review for people, counts first.
pub fn text(review: &Review, tongue: Tongue) -> String {
    let mut told = words::sentences(review, tongue).join("\n");
    told.push('\n');
    if !review.refused.is_empty() {
        told.push_str(&format!("\n{}\n", say!(tongue.language, "review-refused")));
        for why in &review.refused {
            told.push_str(&format!("- {}\n", words::refusal(why, tongue)));
        }
    }
    told.push_str(&format!("\n{}\n", say!(tongue.language, "planning-aid")));
    told
}

/// The figures as a table: set, figure, value.
pub fn csv(review: &Review) -> String {
    let mut told = String::from("set,figure,value\n");
    for (name, set) in [
        ("as_issued", &review.as_issued),
        ("hindcast", &review.hindcast),
        ("hindcast_as_done", &review.hindcast_as_done),
    ] {
        let Some(set) = set else { continue };
        let mut line = |figure: &str, value: Option<f64>| {
            told.push_str(&format!(
                "{name},{figure},{}\n",
                value.map_or(String::new(), |value| format!("{value}"))
            ));
        };
        line("n", Some(set.n as f64));
        line("damaged", Some(set.damaged as f64));
        line("expected_damaged", Some(set.expected_damaged));
        line("observed_over_expected", set.observed_over_expected);
        line("brier", set.brier);
        line("brier_weighted", set.brier_weighted);
        line("log_score", set.log_score);
        line("auc", set.auc);
        line("auc_se", set.auc_se);
    }
    told
}

const PAGE: &str = include_str!("templates/review.html");

/// What every page of a review holds below its heading, by name: a fragment that takes what [`told`] gives.
pub const BODY: (&str, &str) = ("review_body.html", include_str!("templates/review_body.html"));

/// What [`BODY`] shows: sentences, the table of chances against findings, and what is not told and why.
pub fn told(review: &Review, tongue: Tongue) -> minijinja::Value {
    use minijinja::context;
    let l = tongue.language;
    let bins: Vec<minijinja::Value> = review
        .hindcast_as_done
        .iter()
        .chain(&review.as_issued)
        .find_map(|set| set.reliability.as_ref())
        .into_iter()
        .flatten()
        .map(|bin| {
            context! {
                chance => format!("{:.0}–{:.0} %", 100.0 * bin.from, 100.0 * bin.to),
                n => bin.n,
                found => bin.damaged,
                expected => format!("{}–{}", bin.consistency90.0, bin.consistency90.1),
                off => bin.damaged < bin.consistency90.0 || bin.damaged > bin.consistency90.1,
                share => format!(
                    "{:.0} % ({:.0}–{:.0} %)",
                    100.0 * bin.share, 100.0 * bin.jeffreys95.0, 100.0 * bin.jeffreys95.1
                ),
            }
        })
        .collect();
    context! {
        sentences => words::sentences(review, tongue),
        bins => bins,
        heads => vec![
            say!(l, "review-page-mean-p"),
            say!(l, "review-page-n"),
            say!(l, "review-page-found"),
            say!(l, "review-page-expected"),
            say!(l, "review-page-share"),
        ],
        refused_title => say!(l, "review-refused"),
        refused => review.refused.iter().map(|why| words::refusal(why, tongue)).collect::<Vec<_>>(),
    }
}

/// The review as a page of its own, without scripts, that can be printed and shared.
///
/// # Errors
/// When the page cannot be made.
pub fn page(review: &Review, utility: &str, tongue: Tongue) -> Result<String, minijinja::Error> {
    use minijinja::{Environment, UndefinedBehavior, context};
    let l = tongue.language;
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.add_template(BODY.0, BODY.1)?;
    environment.add_template("review.html", PAGE)?;
    environment.get_template("review.html")?.render(context! {
        language => l.word(),
        utility => utility,
        title => say!(l, "review-title"),
        planning_aid => say!(l, "planning-aid"),
        ..told(review, tongue)
    })
}

/// Config lines of a proposal, with what is behind them.
pub fn proposal_toml(proposal: &Proposal) -> String {
    let tiers = proposal.tiers.as_ref().map_or_else(String::new, |tiers| {
        format!(
            "# On the hours of {}, call first, call next, message, no contact: {:?} as it is, {:?} with it.\n",
            tiers.spell.replace(char::is_control, " "),
            tiers.before,
            tiers.after
        )
    });
    let (behind, line) = proposal.strength.as_ref().map_or_else(Default::default, |strength| {
        (
            format!(
                "# Strength factor {:.2}, 90 % from {:.2} to {:.2}; it was {:.2}. Log score of spells left out {:.3} with it, {:.3} without.\n",
                strength.factor,
                strength.interval.0,
                strength.interval.1,
                strength.was,
                strength.left_out_log_score.1,
                strength.left_out_log_score.0
            ),
            format!("\n[freeze.damage]\nstrength_factor = {:.2}\n", strength.factor),
        )
    });
    format!(
        "# Proposed from records by `review --calibrate`; adopt it by putting these lines into your config.\n\
         # Mean nucleation {:.2} C, standard deviation {:.2} K, 90 % from {:.2} to {:.2} C; it was {:.2} C.\n\
         # From {} records, {} of them damaged, in {} spells; a spell effect of {:.1} K is integrated out.\n\
         {behind}{tiers}\
         [ensemble]\nnucleation_mean_c = {:.2}\n{line}",
        proposal.nucleation_mean_c,
        proposal.sd_k,
        proposal.interval_c.0,
        proposal.interval_c.1,
        proposal.was_c,
        proposal.records,
        proposal.damaged,
        proposal.spells,
        proposal.spell_effect_k,
        proposal.nucleation_mean_c,
    )
}
