//! What is never said, whatever the input, and what never gets less urgent.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::drip::config::DripConfig;
use brimwater::drip::never::broken_rule;
use brimwater::drip::{
    Account, Answer, Behind, DeviceFacts, Finding, Hazard, Heater, Line, Sign, ToldRate, Water, When, Where, Within,
    answer,
};
use brimwater::inventory::{DeviceType, NominalSize, Service};
use brimwater::units::UnitSystem;
use proptest::prelude::*;

/// Any number, the broken ones included.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -80.0..80.0f64,
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(-0.0),
        Just(f64::MIN_POSITIVE),
        -1e300..1e300f64,
    ]
}

prop_compose! {
    fn any_rate()(low in any_number(), best in any_number(), high in any_number(), words in ".{0,12}") -> ToldRate {
        ToldRate { low_l_per_h: low, best_l_per_h: best, high_l_per_h: high, words }
    }
}

prop_compose! {
    fn any_device()(
        kind in prop::option::of(prop::sample::select(DeviceType::ALL)),
        size in prop::option::of(prop::sample::select(NominalSize::ALL)),
        service in prop::option::of(prop::sample::select(Service::ALL)),
        freeze_drip in any::<Option<bool>>(),
        wrap in prop::option::of(any_number()),
    ) -> DeviceFacts {
        DeviceFacts { device_type: kind, size, service, freeze_drip, wrap_m2k_per_w: wrap }
    }
}

prop_compose! {
    fn any_heater()(
        volume_l in prop::option::of(any_number()),
        cold_c in prop::option::of(any_number()),
        hot_c in prop::option::of(any_number()),
        heat_input_w in prop::option::of(any_number()),
    ) -> Heater {
        Heater { volume_l, cold_c, hot_c, heat_input_w }
    }
}

prop_compose! {
    fn any_behind()(
        hours in prop::option::of(any_number()),
        thaw in prop::option::of(any_number()),
        air in prop::option::of(any_number()),
        low in any_number(), high in any_number(), told in any::<bool>(),
    ) -> Behind {
        Behind { hours_below_0c: hours, hours_since_thaw: thaw, air_c: air, drip_l_per_h: told.then_some([low, high]) }
    }
}

prop_compose! {
    pub fn any_account()(
        place in prop::sample::select(Where::ALL),
        rate in prop::option::of(any_rate()),
        when in prop::sample::select(When::ALL),
        water in prop::option::of(prop::sample::select(Water::ALL)),
        air_c in prop::option::of(any_number()),
        fire in any::<Option<bool>>(),
        critical in any::<bool>(),
        hazards in prop::collection::btree_set(prop::sample::select(Hazard::ALL), 0..3),
        signs in prop::collection::btree_set(prop::sample::select(Sign::ALL), 0..3),
        device in any_device(),
        heater in any_heater(),
        behind in any_behind(),
    ) -> Account {
        Account { place, rate, when, water, air_c, fire, critical, hazards, signs, device, heater, behind }
    }
}

fn advice(answer: &Answer) -> Vec<&Line> {
    let mut lines = vec![&answer.who, &answer.say, &answer.hand_over];
    lines.extend(&answer.do_now);
    lines.extend(&answer.cautions);
    lines
}

/// The forbidden advice in plain phrases, kept apart from the engine's own rules so that one cannot hide the other's gaps.
const FORBIDDEN: &[&str] = &[
    "plug it",
    "plug the",
    "cap it",
    "cap the",
    "seal the",
    "tape the",
    "torch",
    "open flame",
    "boiling water",
    "blowtorch",
    "lower the heater",
    "turn down the",
    "turn the heater down",
    "lower the thermostat",
    "reduce the temperature",
    "bypass",
    "replace it with pipe",
    "tape la",
    "selle la",
    "soplete",
    "llama abierta",
    "agua hirviendo",
    "baje la temperatura",
    "baje el termostato",
    "puente",
];
const FORBIDDEN_ON_FIRE: &[&str] = &[
    "close the valve",
    "close it",
    "shut off",
    "shut the",
    "shut it",
    "turn off the water",
    "drain it",
    "drain the",
    "cierre con suavidad",
    "ciérrela",
    "cierre la válvula",
    "cierre el servicio",
    "vacíe",
];

proptest! {
    /// X-Val: common practice, no source: gallons a minute from plumbing are somebody's work now, whatever they turn out to be. The one
    /// exception is a vacuum breaker that fills, which spurts and seals within a minute.
    #[test]
    fn gushing_never_waits(account in any_account(), best in 454.0..1.0e6f64) {
        let rate = ToldRate { low_l_per_h: best, best_l_per_h: best, high_l_per_h: best, words: String::new() };
        let account = Account { rate: Some(rate), ..account };
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Us);
        let fills = account.place == Where::Canopy
            && account.when == When::StartUp
            && answer.finding == Finding::WorkingAsMeant;
        prop_assert!(fills || answer.within == Within::Now, "{:?} {:?}", answer.finding, answer.within);
        if answer.within == Within::Now && !matches!(answer.finding, Finding::Emergency | Finding::FireLine) {
            prop_assert!(answer.who.en.contains("crew"), "{}", answer.who.en);
        }
    }

    /// X-Val: practice reference: a plugged or capped relief defeats the device. Never 48 hours, never a tester.
    #[test]
    fn a_shut_heater_relief_is_an_emergency(account in any_account()) {
        let mut account = Account { place: Where::HeaterRelief, ..account };
        account.signs.insert(Sign::Covered);
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Us);
        prop_assert_eq!((answer.finding, answer.within), (Finding::Emergency, Within::Now));
        if account.hazards.is_empty() && !account.signs.contains(&Sign::OddWater) {
            prop_assert!(answer.who.en.contains("licensed plumber") && !answer.who.en.contains("tester"));
            prop_assert!(answer.do_now.iter().any(|line| line.en.contains("its own control")));
        }
    }

    /// X-Val: practice reference: cool to lukewarm at a cold-side relief while the heater recovers is normal, and nothing warmer.
    #[test]
    fn hot_water_on_the_cold_side_is_never_working_as_meant(
        account in any_account(),
        place in prop::sample::select(&[Where::ReliefPort, Where::ExpansionRelief, Where::FreezeDrip, Where::Canopy][..]),
        water in prop::sample::select(&[Water::Warm, Water::Hot, Water::Scalding][..]),
    ) {
        let account = Account { place, water: Some(water), ..account };
        let lukewarm = place == Where::ExpansionRelief && water == Water::Warm && account.when == When::Heating;
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Us);
        prop_assert!(lukewarm || answer.finding != Finding::WorkingAsMeant);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

    #[test]
    fn no_input_yields_advice_that_breaks_a_never(account in any_account()) {
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Us);
        for line in advice(&answer) {
            for text in [line.en.to_lowercase(), line.es.to_lowercase()] {
                for phrase in FORBIDDEN {
                    prop_assert!(!text.contains(phrase), "{phrase:?} in {text:?}");
                }
                if account.is_fire_line() {
                    for phrase in FORBIDDEN_ON_FIRE {
                        prop_assert!(!text.contains(phrase), "{phrase:?} on a fire line: {text:?}");
                    }
                }
            }
        }
        // The built-in lines never need the last gate.
        prop_assert!(!answer.hand_over.en.contains("held back"), "{}", answer.hand_over.en);
    }

    #[test]
    fn every_answer_says_who_and_within_and_what_to_say(account in any_account()) {
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Si);
        for line in [&answer.who, &answer.say, &answer.hand_over, &answer.within.words()] {
            prop_assert!(!line.en.trim().is_empty() && !line.es.trim().is_empty());
        }
        prop_assert!(!answer.do_now.is_empty());
        prop_assert!(!answer.do_not.is_empty());
        prop_assert!(!answer.cautions.is_empty());
    }

    #[test]
    fn shares_sum_to_one_and_no_number_is_broken(account in any_account()) {
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Si);
        let sum: f64 = answer.likely.iter().map(|likely| likely.share).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        prop_assert!(answer.likely.iter().all(|likely| (0.0..=1.0).contains(&likely.share)));
        if let Some([low, high]) = answer.expected_l_per_h {
            prop_assert!(low.is_finite() && high.is_finite() && 0.0 <= low && low <= high, "{low} {high}");
        }
        if let Some((_, bits)) = answer.question {
            prop_assert!(bits.is_finite() && bits > 0.0);
        }
        for line in advice(&answer) {
            prop_assert!(!line.en.contains("NaN") && !line.en.contains("inf "), "{}", line.en);
        }
    }

    #[test]
    fn adding_a_hazard_never_lowers_urgency(account in any_account(), hazard in prop::sample::select(Hazard::ALL)) {
        let before = answer(&account, &DripConfig::default(), UnitSystem::Us);
        let mut worse = account;
        worse.hazards.insert(hazard);
        let after = answer(&worse, &DripConfig::default(), UnitSystem::Us);
        prop_assert!(after.within <= before.within);
        prop_assert_eq!(after.finding, Finding::Emergency);
    }

    #[test]
    fn a_critical_customer_is_never_less_urgent(account in any_account()) {
        let mut plain = account;
        plain.critical = false;
        let mut critical = plain.clone();
        critical.critical = true;
        let before = answer(&plain, &DripConfig::default(), UnitSystem::Us);
        let after = answer(&critical, &DripConfig::default(), UnitSystem::Us);
        prop_assert!(after.within <= before.within);
        prop_assert!(after.who.en.contains("supervisor") || after.finding == Finding::FireLine);
    }

    #[test]
    fn a_fire_line_is_never_answered_as_anything_but_fire_or_emergency(account in any_account()) {
        let mut account = account;
        account.fire = Some(true);
        let answer = answer(&account, &DripConfig::default(), UnitSystem::Us);
        prop_assert!(matches!(answer.finding, Finding::FireLine | Finding::Emergency));
    }

    #[test]
    fn scalding_water_is_always_an_emergency(account in any_account()) {
        let mut account = account;
        account.water = Some(Water::Scalding);
        prop_assert_eq!(answer(&account, &DripConfig::default(), UnitSystem::Us).finding, Finding::Emergency);
    }
}

#[test]
fn the_checker_finds_advice_that_must_never_be_given() {
    // Negative controls: each of these must be caught, or the checker is blind.
    for text in [
        "Plug the opening until the plumber comes.",
        "You can cap it for the night.",
        "Seal the port with tape.",
        "Warm the pipe with a torch.",
        "Pour boiling water over it.",
        "Turn down the heater a little.",
        "Lower the thermostat to 110.",
        "Reduce the temperature of the tank.",
        "Put in a bypass.",
        "Do not wait. Plug it now.",
        "Never mind the port; cap it.",
        "Tape la abertura con cinta.",
        "Selle la salida.",
        "Caliente el tubo con un soplete.",
        "Baje la temperatura del calentador.",
        "Haga un puente alrededor.",
    ] {
        assert!(broken_rule(text, false).is_some(), "missed: {text}");
    }
    for text in [
        "Close the valve before the device.",
        "Shut it off at the riser.",
        "Drain the line.",
        "Turn off the water.",
        "Cierre la válvula.",
        "Vacíe la línea.",
    ] {
        assert!(broken_rule(text, true).is_some(), "missed on a fire line: {text}");
        assert!(broken_rule(text, false).is_none(), "too strict off a fire line: {text}");
    }
}

#[test]
fn the_checker_lets_prohibitions_and_harmless_lines_pass() {
    for text in [
        "Do not plug, cap, tape or pipe shut any opening that lets water out.",
        "Never use a torch or boiling water.",
        "Leave every valve open.",
        "No tape, selle ni entube ninguna abertura por donde sale agua.",
        "The capacity of the drain is small.",
        "Fill a cup under it and note the time.",
        "Revise la escapatoria.",
    ] {
        assert_eq!(broken_rule(text, true), None, "{text}");
    }
}

#[test]
fn a_utilitys_own_line_that_breaks_a_rule_is_a_fault_and_never_leaves() {
    let mut config = DripConfig::default();
    config.more_to_do.insert(
        "working-as-meant".into(),
        vec![Line::new("Plug the outlet for the night.", "Espere hasta mañana.")],
    );
    assert!(config.check().is_fatal());
    let account = Account {
        place: Where::FreezeDrip,
        when: When::ColdNights,
        water: Some(Water::Cold),
        air_c: Some(-4.0),
        ..Account::default()
    };
    let answer = answer(&account, &config, UnitSystem::Us);
    assert_eq!(answer.finding, Finding::WorkingAsMeant);
    assert!(answer.do_now.iter().all(|line| !line.en.contains("Plug")));
    assert!(answer.hand_over.en.contains("held back"));
}

#[test]
fn a_utilitys_own_harmless_line_is_told() {
    let mut config = DripConfig::default();
    config.more_to_do.insert(
        "leak".into(),
        vec![Line::new(
            "Our leak form is on the website.",
            "El formulario de fugas está en la web.",
        )],
    );
    assert!(!config.check().is_fatal());
    let account = Account {
        place: Where::Ground,
        when: When::Always,
        ..Account::default()
    };
    let answer = answer(&account, &config, UnitSystem::Us);
    assert!(answer.do_now.iter().any(|line| line.en.contains("leak form")));
}
