//! What few or one-sided records can say and what not.

use crate::backtest::{rows, settings};
use brimwater::review::assess::Refusal;
use brimwater::review::row::merge;
use brimwater::review::{Row, State, assess, table};

// Wrong programs: one that draws a diagram from a dozen breaks, one that takes silence for soundness, one that scores complaints.
#[test]
fn one_spell_without_breaks_gives_counts_and_no_scores() {
    let quiet: Vec<Row> = rows()
        .into_iter()
        .filter(|row| row.spell == "2027-01" && row.state != State::Damaged && row.state != State::Reported)
        .collect();
    let review = assess(&quiet, &settings());
    let scores = review.as_issued.as_ref().unwrap();
    assert_eq!((scores.n, scores.damaged), (82, 0));
    assert_eq!(scores.observed_over_expected, Some(0.0));
    let (low, high) = scores.observed_over_expected_interval.unwrap();
    // X-Val: exact Poisson limit of none found: 3.689 (scipy.stats.chi2.ppf(.975, 2) / 2, from memory of the table).
    assert!(low == 0.0 && (high * scores.expected_damaged - 3.6889).abs() < 1e-3);
    assert!(scores.brier.is_none() && scores.auc.is_none() && scores.reliability.is_none() && scores.corp.is_none());
    assert!(review.spells[0].as_issued.unwrap().p95 > 0.0);
    assert!(review.refused.contains(&Refusal::TooFew(0, 82)));
    assert!(review.proposal.is_none());
}

#[test]
fn all_unknown_and_breaks_only() {
    let mut unknown = rows();
    unknown.iter_mut().for_each(|row| row.state = State::NotLooked);
    let review = assess(&unknown, &settings());
    assert_eq!(review.counts.unknown, 600);
    assert!(review.as_issued.is_none() && review.refused.contains(&Refusal::NothingLookedAt));
    let broken: Vec<Row> = rows().into_iter().filter(|row| row.state == State::Damaged).collect();
    let review = assess(&broken, &settings());
    assert!(review.as_issued.unwrap().brier.is_none());
    assert!(review.refused.contains(&Refusal::OnlyDamaged));
    let none = assess(&[], &settings());
    assert_eq!(none.counts.looked_at, 0);
}

#[test]
fn records_that_disagree_are_set_aside_and_repeats_count_once() {
    let mut rows: Vec<Row> = rows().into_iter().take(3).collect();
    let mut again = rows[0].clone();
    again.state = State::Damaged;
    assert_eq!(rows[0].state, State::Whole);
    rows.push(again);
    rows.push(rows[1].clone());
    let merged = merge(rows);
    assert_eq!(merged.rows.len(), 2);
    assert_eq!((merged.disagreeing.len(), merged.repeated.len()), (1, 1));
}

#[test]
fn free_text_in_a_column_of_words_is_told_by_line() {
    let text = "p_issued,found,how_found\n0.3,damaged,\n0.2,looked fine to me,\n1.4,no damage,\n,damaged,\n0.5,unknown,inspected\n";
    let (rows, faults) = table::rows(text, "f.csv");
    assert_eq!(rows.len(), 2);
    assert_eq!(rows[1].state, State::CannotTell);
    let lines: Vec<u64> = faults.0.iter().filter_map(|fault| fault.line).collect();
    assert_eq!(lines, [3, 4, 5]);
    let (none, fatal) = table::rows("a,b\n1,2\n", "f.csv");
    assert!(none.is_empty() && fatal.0.len() == 2);
}

// Wrong program: one that takes a sheet of broken ones which customers called in for a sample of the town.
#[test]
fn no_total_of_the_town_where_nothing_tells_how_they_were_looked_at() {
    let sheet = |header: &str, tail: &str| {
        let mut text = format!("assembly_id,p_issued,found{header}\n");
        for n in 0..20 {
            let found = if n % 2 == 0 { "damaged" } else { "no damage" };
            text.push_str(&format!("T{n},0.3,{found}{tail}\n"));
        }
        let (rows, faults) = table::rows(&text, "f.csv");
        assert!(faults.0.is_empty());
        assess(&rows, &settings())
    };
    let silent = sheet("", "");
    assert!(silent.broken_in_town.is_none() && silent.spells[0].as_issued.is_none());
    assert!(silent.refused.contains(&Refusal::NotToldHow(20)));
    // The scores of single assemblies stay.
    assert!(silent.as_issued.as_ref().unwrap().brier.is_some());
    for (header, tail) in [(",how_found", ",inspected"), (",inclusion_probability", ",0.5")] {
        let told = sheet(header, tail);
        assert!(
            told.broken_in_town.is_some() && told.spells[0].as_issued.is_some(),
            "{header}"
        );
        assert!(!told.refused.iter().any(|why| matches!(why, Refusal::NotToldHow(_))));
    }
    let spanish = brimwater::review::words::refusal(
        &Refusal::NotToldHow(20),
        brimwater::language::Tongue {
            language: brimwater::language::Language::Spanish,
            units: brimwater::units::UnitSystem::Us,
        },
    );
    assert!(spanish.contains("20") && spanish.contains("how_found"), "{spanish}");
}
