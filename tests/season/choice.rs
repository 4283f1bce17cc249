//! The choice under a budget, against independent solvers and against trying everything.

use super::tables::{expected, instance};
use brimwater::season::choice::hull::Increments;
use brimwater::season::choice::{
    Impossible, Item, Offer, Rule, along_hulls, choose, curve, exact, price_of_rules, sums,
};
use proptest::prelude::*;

/// X-Val: expected_knapsack.json: HiGHS (scipy.optimize.milp) and dynamic programming in Python, equal to the cent.
/// Catches: a greedy by cost or by saving alone, one without a hull, one that stops at the first misfit, a bound from the integer value.
#[test]
fn optimum_greedy_bound_and_shadow_price_are_those_of_independent_solvers() {
    let table = expected("expected_knapsack.json");
    for (n, budget) in [(12, 500), (12, 2_000), (12, 5_000), (400, 60_000)] {
        let items = instance(n);
        let want = &table[format!("n={n} budget={budget}")];
        let value = |key: &str| want[key].as_f64().unwrap();
        let increments = Increments::of(&items);
        let quick = along_hulls(&items, &increments, budget, &[]).unwrap();
        assert!(
            (quick.benefit_usd - value("greedy")).abs() < 0.005,
            "{n} {budget} {}",
            quick.benefit_usd
        );
        assert_eq!(quick.spent_usd as f64, value("greedy_spent"), "{n} {budget}");
        assert!(
            (quick.bound_usd - value("lp_bound")).abs() < 5e-4,
            "{n} {budget} {}",
            quick.bound_usd
        );
        assert!(
            (quick.shadow_price - value("shadow_price")).abs() < 5e-6,
            "{n} {budget}"
        );
        let best = choose(&items, budget, &[]).unwrap();
        assert!(
            best.exact && (best.benefit_usd - value("optimum")).abs() < 0.005,
            "{n} {budget} {}",
            best.benefit_usd
        );
        assert!(best.spent_usd <= budget);
        for (measure, word) in super::tables::MEASURES.iter().enumerate() {
            let got = best
                .pick
                .iter()
                .zip(&items)
                .filter(|(pick, item)| pick.is_some_and(|k| item.offers[k].measure == measure))
                .count();
            assert_eq!(
                got as u64,
                want["optimum_counts"][*word].as_u64().unwrap(),
                "{n} {budget} {word}"
            );
        }
    }
}

/// X-Val: the table of the reference (HiGHS): 745,613.31; bound 745,670.18; shadow price 16.28; greedy 0.99996 of it.
#[test]
fn four_hundred_assemblies_under_twenty_thousand_dollars() {
    let items = instance(400);
    let best = choose(&items, 20_000, &[]).unwrap();
    assert!((best.benefit_usd - 745_613.31).abs() < 0.005, "{}", best.benefit_usd);
    assert!((best.bound_usd - 745_670.18).abs() < 0.005);
    assert!((best.shadow_price - 16.28).abs() < 0.005);
    let quick = along_hulls(&items, &Increments::of(&items), 20_000, &[]).unwrap();
    assert!((quick.benefit_usd / best.benefit_usd - 0.99996).abs() < 5e-6);
}

/// X-Val: expected_knapsack.json, HiGHS with the floors as constraints: 745,460.43 and 740,203.85.
/// Catches: floors on assemblies instead of money, a floor that is not binding, critical assemblies that get nothing.
#[test]
fn rules_cost_what_an_independent_solver_says() {
    let items = instance(400);
    let rules = [Rule::DistrictFloor(0.95), Rule::CriticalFirst];
    let fair = choose(&items, 20_000, &rules[..1]).unwrap();
    assert!(
        fair.exact && (fair.benefit_usd - 745_460.43).abs() < 0.005,
        "{}",
        fair.benefit_usd
    );
    let first = choose(&items, 20_000, &rules[1..]).unwrap();
    assert!(
        first.exact && (first.benefit_usd - 740_203.85).abs() < 0.005,
        "{}",
        first.benefit_usd
    );
    assert!(
        items
            .iter()
            .zip(&first.pick)
            .all(|(item, pick)| !item.critical || pick.is_some())
    );
    let prices = price_of_rules(&items, &Increments::of(&items), 20_000, &rules);
    assert!(
        (prices[0].1 - 0.000205).abs() < 5e-7 && (prices[1].1 - 0.007255).abs() < 5e-7,
        "{prices:?}"
    );
    // Along the hulls the same rules are kept, and cost at most a thousandth more.
    for rule in rules {
        let quick = along_hulls(&items, &Increments::of(&items), 20_000, &[rule]).unwrap();
        let best = choose(&items, 20_000, &[rule]).unwrap();
        assert!(quick.missed.is_empty(), "{rule:?} {:?}", quick.missed);
        assert!(quick.benefit_usd <= best.benefit_usd + 1e-6 && quick.benefit_usd > 0.999 * best.benefit_usd);
    }
    assert_eq!(
        choose(&items, 100, &[Rule::CriticalFirst]),
        Err(Impossible::CriticalNeed(critical_need(&items)))
    );
}

fn critical_need(items: &[Item]) -> u64 {
    let critical = items.iter().filter(|item| item.critical);
    let least = critical.filter_map(|item| {
        item.offers
            .iter()
            .filter(|o| o.benefit_usd > 0.0)
            .map(|o| o.cost_usd)
            .min()
    });
    least.sum()
}

/// The relaxed and the whole problem in the words of a general solver of linear and mixed-integer programs.
fn by_solver(items: &[Item], budget: u64, whole: bool) -> f64 {
    use microlp::{ComparisonOp, OptimizationDirection, Problem};
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let mut money = Vec::new();
    for item in items {
        let mut one = Vec::new();
        for offer in &item.offers {
            let variable = if whole {
                problem.add_binary_var(offer.benefit_usd)
            } else {
                problem.add_var(offer.benefit_usd, (0.0, 1.0))
            };
            one.push((variable, 1.0));
            money.push((variable, offer.cost_usd as f64));
        }
        problem.add_constraint(&one, ComparisonOp::Le, 1.0);
    }
    problem.add_constraint(&money, ComparisonOp::Le, budget as f64);
    problem.solve().unwrap().into_solution().unwrap().objective()
}

/// X-Val: microlp (pure Rust simplex and branch and bound). Catches: a hull that keeps dominated points or loses good ones.
#[test]
fn bound_and_optimum_are_those_of_a_general_solver() {
    let all = instance(400);
    for budget in [500, 7_777, 20_000, 60_000] {
        let bound = Increments::of(&all).take(budget).bound_usd;
        let want = by_solver(&all, budget, false);
        assert!((bound - want).abs() < 1e-6 * want, "{budget} {bound} {want}");
    }
    for (from, budget) in [(0, 500), (30, 3_000), (60, 1_000)] {
        let some = &all[from..from + 25];
        let best = choose(some, budget, &[]).unwrap();
        let want = by_solver(some, budget, true);
        assert!(
            best.exact && (best.benefit_usd - want).abs() < 0.005,
            "{from} {budget} {} {want}",
            best.benefit_usd
        );
    }
}

/// Every way to give each assembly one of its measures or nothing.
fn best_of_all(items: &[Item], budget: u64, keeps: &dyn Fn(&[Option<usize>]) -> bool) -> Option<f64> {
    let mut pick = vec![None; items.len()];
    let mut best = None;
    loop {
        let (benefit, cost) = sums(items, &pick);
        if cost <= budget && keeps(&pick) && best.is_none_or(|best| benefit > best) {
            best = Some(benefit);
        }
        let mut at = 0;
        loop {
            if at == items.len() {
                return best;
            }
            pick[at] = match pick[at] {
                None => Some(0),
                Some(k) if k + 1 < items[at].offers.len() => Some(k + 1),
                Some(_) => None,
            };
            if pick[at].is_some() {
                break;
            }
            at += 1;
        }
    }
}

fn some_items() -> impl Strategy<Value = Vec<Item>> {
    let offer = (0_u64..60, -20_i32..400);
    let item = (proptest::collection::vec(offer, 1..=3), any::<bool>(), 0_usize..2);
    proptest::collection::vec(item, 1..=8).prop_map(|items| {
        let made = items
            .into_iter()
            .enumerate()
            .map(|(at, (offers, critical, district))| Item {
                id: format!("K{at}"),
                district: ["east", "west"][district].to_owned(),
                critical,
                offers: offers
                    .into_iter()
                    .enumerate()
                    .map(|(measure, (cost_usd, benefit))| Offer {
                        measure,
                        cost_usd,
                        benefit_usd: f64::from(benefit) / 4.0,
                    })
                    .collect(),
                ..Item::default()
            });
        made.collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, ..ProptestConfig::default() })]

    /// X-Val: trying everything. Catches: an exact method that loses a case, a bound below the best, rules that are broken.
    #[test]
    fn no_choice_of_all_is_better_and_none_passes_the_bound(items in some_items(), budget in 0_u64..200) {
        let best = choose(&items, budget, &[]).unwrap();
        let want = best_of_all(&items, budget, &|_| true).unwrap();
        prop_assert!((best.benefit_usd - want).abs() < 1e-9, "{} {want}", best.benefit_usd);
        prop_assert!(best.exact && best.spent_usd <= budget && want <= best.bound_usd + 1e-9);
        let quick = along_hulls(&items, &Increments::of(&items), budget, &[]).unwrap();
        prop_assert!(quick.spent_usd <= budget && quick.benefit_usd <= want + 1e-9);

        let useful = |item: &Item| item.offers.iter().any(|offer| offer.benefit_usd > 0.0);
        let kept = |pick: &[Option<usize>]| {
            items.iter().zip(pick).all(|(item, pick)| !(item.critical && useful(item)) || pick.is_some_and(|k| item.offers[k].benefit_usd > 0.0))
        };
        let want = best_of_all(&items, budget, &kept);
        match choose(&items, budget, &[Rule::CriticalFirst]) {
            Ok(first) => {
                prop_assert!(kept(&first.pick) && first.exact);
                prop_assert!((first.benefit_usd - want.unwrap()).abs() < 1e-9, "{} {want:?}", first.benefit_usd);
            }
            Err(_) => prop_assert!(want.is_none()),
        }
    }

    /// More money never saves less along the hulls' bound, and the curve is that of the choice.
    #[test]
    fn the_curve_rises_and_its_bound_bends_down(items in some_items()) {
        let increments = Increments::of(&items);
        let most = increments.all_usd + 10;
        let bounds: Vec<f64> = (0..=20).map(|k| increments.take(most * k / 20 / 2 * 2).bound_usd).collect();
        prop_assert!(bounds.windows(2).all(|pair| pair[0] <= pair[1] + 1e-9));
        let points = curve(&increments, most, 9);
        prop_assert_eq!(points.last().unwrap().0, most);
        let all: f64 = items.iter().map(|item| item.offers.iter().map(|o| o.benefit_usd).fold(0.0, f64::max)).sum();
        prop_assert!((points.last().unwrap().1 - all).abs() < 1e-9);
    }
}

/// A budget of nothing buys what is free; one beyond all buys the best of everything, and the next dollar is worth nothing.
#[test]
fn nothing_and_more_than_everything() {
    let items = instance(12);
    let none = choose(&items, 0, &[]).unwrap();
    assert!(none.pick.iter().all(Option::is_none) && none.benefit_usd == 0.0 && none.shadow_price > 0.0);
    let all = choose(&items, u64::MAX, &[]).unwrap();
    let want: f64 = items
        .iter()
        .map(|item| item.offers.iter().map(|o| o.benefit_usd).fold(0.0, f64::max))
        .sum();
    assert!((all.benefit_usd - want).abs() < 1e-6 && all.shadow_price == 0.0 && all.exact);
    assert_eq!(exact::choose(&[], 100, &[]), Some(Vec::new()));
    assert!(
        choose(&[], 100, &[Rule::DistrictFloor(0.95), Rule::CriticalFirst])
            .unwrap()
            .pick
            .is_empty()
    );
}

/// X-Val: expected_knapsack.json: the optima at 500 and at 2,000 dollars by HiGHS, 16,415.59 and 34,125.70; between them the exact choice,
/// held against HiGHS above. Catches: the next thousand told from hull points (at 500 dollars the hull point is another choice).
#[test]
fn the_next_thousand_is_told_against_the_printed_choice() {
    use brimwater::season::answer::Answer;
    let items = instance(12);
    let measures: Vec<String> = super::tables::MEASURES.iter().map(|word| (*word).to_owned()).collect();
    for budget in [500, 1_000, 1_300, 5_000] {
        let (answer, _) = Answer::of(measures.clone(), items.clone(), budget, &[]).unwrap();
        let more = choose(&items, budget + 1_000, &[]).unwrap().benefit_usd;
        assert!(
            (answer.next_usd - (more - answer.choice.benefit_usd)).abs() < 1e-6,
            "{budget}"
        );
        assert!((answer.choice.benefit_usd - choose(&items, budget, &[]).unwrap().benefit_usd).abs() < 1e-6);
    }
    let (at_1000, _) = Answer::of(measures, items, 1_000, &[]).unwrap();
    // The printed choice with the next thousand is the optimum of both reports together.
    assert!((at_1000.choice.benefit_usd + at_1000.next_usd - 34_125.70).abs() < 0.005);
}
