//! What may be offered and what an assembly is with it.

use super::made::breaker;
use brimwater::config::Config;
use brimwater::freeze::network::network;
use brimwater::inventory::*;
use brimwater::ranking::Tier;
use brimwater::season::losses::Anyway;
use brimwater::season::measures::{Kind, WhyNot, cost_usd, fitted, may_be_offered};

/// Common practice, no source: a fire line is never shut, bled or moved by anyone but its authority; a line of unknown service may be one.
/// Catches: any path by which a fire line is offered draining, under every use, place and kind of assembly.
#[test]
fn fire_lines_are_never_offered_what_shuts_bleeds_or_moves_them() {
    let measures = Config::default().season.measures;
    let mut seen = 0;
    for device in DeviceType::ALL {
        for service in Service::ALL {
            for placement in Placement::ALL {
                for winter_use in WinterUse::ALL {
                    for critical in [None, Some("hospital".into())] {
                        let a = Assembly {
                            device_type: *device,
                            service: *service,
                            placement: *placement,
                            winter_use: *winter_use,
                            critical: critical.clone(),
                            ..breaker("A")
                        };
                        let offered = |kind| may_be_offered(kind, &a, &measures).is_ok();
                        if matches!(service, Service::Fire | Service::Unknown) {
                            assert!(
                                ![Kind::DrainKit, Kind::FreezeDripValve, Kind::Relocation]
                                    .map(offered)
                                    .contains(&true)
                            );
                        }
                        if a.critical.is_some() {
                            assert!(!offered(Kind::DrainKit));
                        }
                        if *winter_use == WinterUse::Drained || *placement == Placement::Indoors {
                            assert!(!Kind::ALL.map(offered).contains(&true), "{winter_use} {placement}");
                        }
                        if offered(Kind::DrainKit) {
                            assert!(a.may_be_drained());
                            seen += 1;
                        }
                    }
                }
            }
        }
    }
    assert!(seen > 0, "irrigation is offered a drain kit");
}

/// Common practice, no source: what a log says was fitted on a fire line never makes it a drained one, wherever it stands and whatever is on
/// offer; fittings drain nothing until somebody uses them; what stands better already is not put back.
/// Catches: a measure that is not on offer, or a heated enclosure, as the way round the refusal; a plan that calls nobody for a drain kit;
/// an assembly in a building that an old line of the log puts under a cover.
#[test]
fn a_log_never_drains_a_fire_line_nor_puts_anything_back() {
    use brimwater::season::offers_log::read;
    let config = Config::default();
    let freeze = &config.freeze;
    let mut refused = 0;
    for offered in [true, false] {
        let mut measures = config.season.measures.clone();
        for part in [
            &mut measures.drain_kit,
            &mut measures.relocation,
            &mut measures.freeze_drip_valve,
            &mut measures.cover,
            &mut measures.heated_enclosure,
        ] {
            part.offered = Some(offered);
        }
        for placement in Placement::ALL {
            for service in Service::ALL {
                let a = Assembly {
                    placement: *placement,
                    service: *service,
                    ..breaker("A")
                };
                let after = |measure: &str| {
                    let text = format!("assembly_id,measure,outcome\nA,{measure},fitted\n");
                    let (log, told) = read(text.as_bytes(), "log.csv");
                    assert!(told.0.is_empty());
                    let mut list = [a.clone()];
                    let (_, told) = log.apply(&mut list, &measures, freeze, "log.csv");
                    (list[0].clone(), told.0.first().map(|fault| fault.code))
                };
                for measure in ["drain_kit", "relocation", "freeze_drip_valve"] {
                    let (with, code) = after(measure);
                    if matches!(service, Service::Fire | Service::Unknown) {
                        assert_eq!((&with, code), (&a, Some("BW-B23")), "{measure} {placement} {offered}");
                        refused += 1;
                    }
                    assert_ne!(with.winter_use, WinterUse::Drained, "{measure} {service} {placement}");
                }
                if *service == Service::Irrigation {
                    assert_eq!(after("drain_kit").1, Some("BW-B25"));
                }
                let stands = |measure| after(measure).0.placement;
                let better = matches!(placement, Placement::Vault | Placement::Indoors);
                let heated = if better { *placement } else { Placement::HeatedEnclosure };
                let covered = if *placement == Placement::Open {
                    Placement::Cover
                } else {
                    *placement
                };
                assert_eq!((stands("heated_enclosure"), stands("cover")), (heated, covered));
            }
        }
    }
    assert_eq!(refused, 2 * 6 * 2 * 3);
}

#[test]
fn a_fitted_measure_is_in_the_assembly_and_not_offered_again() {
    let config = Config::default();
    let (measures, freeze) = (&config.season.measures, &config.freeze);
    let bare = breaker("A");
    for kind in Kind::ALL {
        assert_eq!(Kind::read(&kind.word().replace('_', " ")), Some(kind));
        if may_be_offered(kind, &bare, measures).is_err() {
            continue;
        }
        let with = fitted(kind, &bare, measures, freeze);
        assert_ne!(with, bare, "{kind:?}");
        assert!(may_be_offered(kind, &with, measures).is_err(), "{kind:?}");
        assert_eq!(
            fitted(kind, &with, measures, freeze),
            with,
            "fitting it twice changes nothing: {kind:?}"
        );
    }
    // X-Val: R-1 of the trade is 0.1761 m2K/W (ASHRAE's conversion, 5.678 263).
    let wrapped = fitted(Kind::Wrap, &bare, measures, freeze);
    assert!((wrapped.wrap_m2k_per_w - 1.5 / 5.678_263).abs() < 1e-6);
    assert_eq!(may_be_offered(Kind::Wrap, &wrapped, measures), Err(WhyNot::HasIt));
    assert!(may_be_offered(Kind::ThickWrap, &wrapped, measures).is_ok());
    let traced = fitted(Kind::HeatTrace, &bare, measures, freeze);
    assert!((traced.heat_trace_w - 8.0 / 0.3048 * network(&bare, freeze).length_m).abs() < 1e-9);
    // By size: 25 and 20 an inch; 4 in costs 105, as in the reference's instances.
    let large = Assembly {
        nominal_size: NominalSize::N4,
        ..breaker("A")
    };
    assert_eq!(
        (
            cost_usd(Kind::Wrap, &bare, measures),
            cost_usd(Kind::Wrap, &large, measures)
        ),
        (45, 105)
    );
    assert_eq!(
        (
            cost_usd(Kind::HeatTrace, &large, measures),
            cost_usd(Kind::Relocation, &large, measures)
        ),
        (420, 5_100)
    );
}

/// Calls: p(call) · p(reached) · p(acts) · effect, by hand from the config's defaults.
/// Catches: loss that a phone call already avoids paid for twice; somebody whom nobody may call counted as called.
#[test]
fn what_calls_save_anyway_is_taken_off_once() {
    let config = Config::default();
    let calls = &config.season.calls;
    let mut a = breaker("A");
    assert_eq!(
        Anyway::of(&a, &config.outreach).avoided(Tier::CallFirst, calls),
        0.0,
        "no number, no call"
    );
    a.contact.phone = Some("2015550100".into());
    a.contact.channels = Some(vec![Channel::Call]);
    let reach = &config.outreach.reach;
    let answered = (8..20).map(|hour| reach.home_weekday[hour]).sum::<f64>() / 12.0;
    let act = &config.outreach.act;
    let dial = answered * act.call + (1.0 - answered) * reach.message_left * act.message;
    let once = 1.0 - (1.0 - dial).powi(i32::from(config.outreach.shift.attempts));
    let anyway = Anyway::of(&a, &config.outreach);
    assert!((anyway.avoided(Tier::CallFirst, calls) - calls.first * once * act.effect.irrigation).abs() < 1e-12);
    assert!((anyway.avoided(Tier::CallNext, calls) - calls.next * once * act.effect.irrigation).abs() < 1e-12);
    assert_eq!(anyway.avoided(Tier::NoContact, calls), 0.0);
    a.contact.channels = Some(Vec::new());
    assert_eq!(
        Anyway::of(&a, &config.outreach).avoided(Tier::CallFirst, calls),
        0.0,
        "who opted out is not called"
    );
}
