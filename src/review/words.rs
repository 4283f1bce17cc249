//! The review in sentences, counts first.

use super::assess::{LEAST_EACH, Refusal, Review, Scores};
use super::proposal::{Kept, Proposal};
use crate::language::{Language, Tongue};
use crate::say;
use crate::units::{show_temperature, show_temperature_difference};

/// Why a figure is not told, as a sentence.
pub fn refusal(why: &Refusal, tongue: Tongue) -> String {
    let l = tongue.language;
    let n = |rows: &usize| rows.to_string();
    match why {
        Refusal::NothingLookedAt => say!(l, "review-refused-nothing-looked-at"),
        Refusal::TooFew(damaged, whole) => say!(
            l,
            "review-refused-too-few",
            damaged = n(damaged),
            whole = n(whole),
            least = n(&LEAST_EACH)
        ),
        Refusal::NoHindcast(rows) => say!(l, "review-refused-no-hindcast", rows = n(rows)),
        Refusal::NoProtected(rows) => say!(l, "review-refused-no-protected", rows = n(rows)),
        Refusal::NotByDesign(rows) => say!(l, "review-refused-not-by-design", rows = n(rows)),
        Refusal::NotToldHow(rows) => say!(l, "review-refused-not-told-how", rows = n(rows)),
        Refusal::FewSpells(spells) => say!(l, "review-refused-few-spells", spells = *spells as f64),
        Refusal::ReportsNotScored(rows) => say!(l, "review-refused-reports", rows = n(rows)),
        Refusal::OnlyDamaged => say!(l, "review-refused-only-damaged"),
        Refusal::EdgeOfGrid => say!(l, "review-refused-edge"),
        Refusal::NoGain(old, new) => say!(
            l,
            "review-refused-no-gain",
            old = format!("{old:.3}"),
            new = format!("{new:.3}")
        ),
        Refusal::NoRanks => say!(l, "review-refused-no-ranks"),
        Refusal::NoLoss => say!(l, "review-refused-no-loss"),
    }
}

/// All sentences of a review, in order: counts, spells, sets of scores, what was caught, calls, the proposal.
pub fn sentences(review: &Review, tongue: Tongue) -> Vec<String> {
    let l = tongue.language;
    let counts = &review.counts;
    let mut told = vec![say!(
        l,
        "review-counts",
        damaged = counts.damaged.to_string(),
        looked = counts.looked_at.to_string(),
        reported = counts.reported.to_string(),
        unknown = counts.unknown.to_string(),
        cannot = counts.cannot_tell.to_string(),
        exposed = counts.not_exposed.to_string(),
    )];
    if counts.looked_at == 0 {
        told.push(say!(l, "review-nothing"));
        return told;
    }
    spells(review, tongue, &mut told);
    if let Some(town) = review.broken_in_town {
        let error = town.error.map_or(String::new(), |error| {
            say!(l, "review-town-error", error = format!("{error:.0}"))
        });
        told.push(say!(
            l,
            "review-town",
            value = format!("{:.0}", town.value),
            error = error
        ));
    }
    for (id, set) in [
        ("review-set-as-issued", &review.as_issued),
        ("review-set-hindcast", &review.hindcast),
        ("review-set-hindcast-as-done", &review.hindcast_as_done),
    ] {
        if let Some(set) = set {
            scores(set, &say!(l, id), tongue, &mut told);
        }
    }
    caught(review, tongue, &mut told);
    for called in &review.calls {
        told.push(say!(
            l,
            "review-calls",
            contact = called.contact,
            damaged = called.damaged.to_string(),
            looked = called.looked_at.to_string(),
            low = format!("{:.0}", 100.0 * called.share_interval.0),
            high = format!("{:.0}", 100.0 * called.share_interval.1),
        ));
    }
    told.extend(proposal(review, tongue));
    told
}

/// The name of a spell in the language of the page: a form carries it in English, as the plan wrote it; a name that a person gave stays.
fn named(spell: &str, tongue: Tongue) -> String {
    let days = spell
        .strip_prefix("cold spell of ")
        .and_then(|days| days.split_once(" to "));
    let is_day = |day: &str| chrono::NaiveDate::parse_from_str(day, "%Y-%m-%d").is_ok();
    match days {
        Some((from, to)) if is_day(from) && is_day(to) => {
            say!(tongue.language, "review-spell-name", from = from, to = to)
        }
        _ => spell.to_owned(),
    }
}

/// As a sentence begins.
fn capital(text: &str) -> String {
    let mut rest = text.chars();
    rest.next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

fn spells(review: &Review, tongue: Tongue, told: &mut Vec<String>) {
    let l = tongue.language;
    for spell in &review.spells {
        let Some(place) = spell.as_issued else { continue };
        told.push(say!(
            l,
            "review-spell",
            spell = capital(&named(&spell.spell, tongue)),
            damaged = spell.damaged.to_string(),
            looked = spell.looked_at.to_string(),
            expected = format!("{:.0}", place.expected),
            low = format!("{:.0}", place.p05),
            high = format!("{:.0}", place.p95),
        ));
        if let Some(place) = spell.hindcast_as_done {
            told.push(say!(
                l,
                "review-spell-hindcast",
                expected = format!("{:.0}", place.expected),
                low = format!("{:.0}", place.p05),
                high = format!("{:.0}", place.p95),
            ));
        }
    }
    if review.spells.len() == 1 {
        told.push(say!(l, "review-one-spell"));
    }
}

fn scores(set: &Scores, name: &str, tongue: Tongue, told: &mut Vec<String>) {
    let l = tongue.language;
    if let (Some(ratio), Some((low, high))) = (set.observed_over_expected, set.observed_over_expected_interval) {
        told.push(say!(
            l,
            "review-set",
            name = name,
            damaged = set.damaged.to_string(),
            expected = format!("{:.1}", set.expected_damaged),
            ratio = format!("{ratio:.2}"),
            low = format!("{low:.2}"),
            high = format!("{high:.2}"),
        ));
    }
    let (Some(brier), Some(b), Some(log), Some(g), Some(auc), Some(se), Some(corp)) = (
        set.brier,
        set.brier_interval,
        set.log_score,
        set.log_score_interval,
        set.auc,
        set.auc_se,
        set.corp,
    ) else {
        return;
    };
    let figure = |value: f64| format!("{value:.3}");
    told.push(say!(
        l,
        "review-scores",
        brier = figure(brier),
        brier_low = figure(b.0),
        brier_high = figure(b.1),
        log = figure(log),
        log_low = figure(g.0),
        log_high = figure(g.1),
        auc = figure(auc),
        auc_se = figure(se),
        mcb = figure(corp.miscalibration),
        p = figure(corp.p_value.unwrap_or(1.0)),
        dsc = figure(corp.discrimination),
        unc = figure(corp.uncertainty),
    ));
}

fn caught(review: &Review, tongue: Tongue, told: &mut Vec<String>) {
    let l = tongue.language;
    for rule in review.rules.iter().flatten() {
        // One line a rule: a fifth of the list, about what a shift can call.
        let Some(at) = rule.captured.iter().find(|at| (at.share_of_list - 0.2).abs() < 1e-9) else {
            continue;
        };
        let percent = |share: Option<f64>| share.map_or("–".to_owned(), |share| format!("{:.0}", 100.0 * share));
        told.push(say!(
            l,
            "review-caught",
            share = format!("{:.0}", 100.0 * at.share_of_list),
            rule = rule_name(rule.rule, tongue),
            breaks = percent(at.breaks),
            loss = percent(at.loss),
        ));
    }
}

/// A rule as people read it.
pub fn rule_name(rule: &str, tongue: Tongue) -> String {
    let spanish = match rule {
        "the list" => "la lista",
        "chance only" => "solo la probabilidad",
        "largest first" => "los más grandes primero",
        "bare first" => "los desnudos primero",
        "coldest site first" => "los sitios más fríos primero",
        other => other,
    };
    tongue.language.pick(rule, spanish).to_owned()
}

/// What becomes of the strength factor.
fn strength(proposal: &Proposal, l: Language) -> Option<String> {
    let two = |value: f64| format!("{value:.2}");
    let three = |value: f64| format!("{value:.3}");
    if let Some(found) = &proposal.strength {
        return Some(say!(
            l,
            "review-strength",
            factor = two(found.factor),
            was = two(found.was),
            low = two(found.interval.0),
            high = two(found.interval.1),
            without = three(found.left_out_log_score.0),
            with = three(found.left_out_log_score.1),
        ));
    }
    Some(match proposal.strength_kept? {
        Kept::TooFew { spells, each } => say!(
            l,
            "review-strength-too-few",
            spells = spells.to_string(),
            each = each.to_string()
        ),
        Kept::NotSimulated => say!(l, "review-strength-not-simulated"),
        Kept::Open { left } => say!(l, "review-strength-open", left = format!("{:.0}", 100.0 * left)),
        Kept::Holds { interval } => say!(
            l,
            "review-strength-holds",
            low = two(interval.0),
            high = two(interval.1)
        ),
        Kept::EdgeOfGrid => say!(l, "review-strength-edge"),
        Kept::NoGain { without, with } => {
            say!(
                l,
                "review-strength-no-gain",
                without = three(without),
                with = three(with)
            )
        }
    })
}

fn proposal(review: &Review, tongue: Tongue) -> Vec<String> {
    let l = tongue.language;
    let Some(proposal) = &review.proposal else {
        return Vec::new();
    };
    let degrees = |c: f64| show_temperature(c, tongue.units);
    let kelvin = |k: f64| show_temperature_difference(k, tongue.units);
    let mut told = vec![say!(
        l,
        "review-proposal",
        mean = degrees(proposal.nucleation_mean_c),
        sd = kelvin(proposal.sd_k),
        low = degrees(proposal.interval_c.0),
        high = degrees(proposal.interval_c.1),
        was = degrees(proposal.was_c),
        records = proposal.records.to_string(),
        damaged = proposal.damaged.to_string(),
        spells = proposal.spells as f64,
        effect = kelvin(proposal.spell_effect_k),
    )];
    told.extend(strength(proposal, l));
    if let Some(tiers) = &proposal.tiers {
        let counts = |counts: &[usize; 4]| counts.map(|count| count.to_string());
        let ([first, next, message, _], [new_first, new_next, new_message, _]) =
            (counts(&tiers.before), counts(&tiers.after));
        told.push(say!(
            l,
            "review-tiers",
            spell = named(&tiers.spell, tongue),
            first = first,
            next = next,
            message = message,
            new_first = new_first,
            new_next = new_next,
            new_message = new_message,
        ));
    }
    match proposal.method {
        "stand-in" => told.push(say!(l, "review-stand-in")),
        "simulated in part" => told.push(say!(l, "review-simulated-in-part")),
        _ => {}
    }
    told
}
