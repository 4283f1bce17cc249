//! Lines for the calls of [`Branch`] and for a heater's relief that cannot open (common practice, no source).

use super::{Words, ask_fire, isolate, m, tap, with_number};
use crate::drip::account::Account;
use crate::drip::branch::Branch;
use crate::drip::config::DripConfig;

/// The lines of a branch; `None` where the finding's own lines serve.
pub(super) fn branch(branch: Branch, account: &Account, config: &DripConfig) -> Option<Words> {
    match branch {
        Branch::ThawedFlame => Some(thawed_flame(account, config)),
        Branch::ThawedHotWater => Some(thawed_hot_water(account, config)),
        Branch::NoWaterInFrost => None,
        Branch::NoWater => Some(lines(
            &[
                "drip-no-water-ask",
                "drip-no-water-file",
                "drip-no-water-valve",
                "drip-no-water-taps",
                "drip-no-water-fire",
            ],
            &["drip-no-water-not"],
            "drip-no-water",
        )),
        Branch::OwnerUnknown => Some(lines(
            &["drip-owner-take", "drip-owner-clear", "drip-owner-meter"],
            &["drip-owner-not"],
            "drip-owner",
        )),
        Branch::Wrapped => Some(lines(
            &["drip-wrapped-ask", "drip-wrapped-cold", "drip-wrapped-free"],
            &[],
            "drip-wrapped",
        )),
        Branch::TagOverdue => Some(lines(
            &["drip-tag-file", "drip-tag-list"],
            &["drip-tag-not"],
            "drip-tag",
        )),
    }
}

/// Lines by their identifiers; `stem` leads to who and to when to hand over.
fn lines(do_now: &[&str], do_not: &[&str], stem: &str) -> Words {
    Words {
        do_now: do_now.iter().map(|id| m(id)).collect(),
        do_not: do_not.iter().map(|id| m(id)).collect(),
        who: Some(m(&format!("{stem}-who"))),
        hand_over: Some(m(&format!("{stem}-hand"))),
        ..Words::default()
    }
}

fn thawed_flame(account: &Account, config: &DripConfig) -> Words {
    let mut words = lines(&[], &["drip-flame-not", "drip-thawed-not-used"], "drip-flame");
    words.do_now = vec![with_number("drip-flame-stop", config), m("drip-flame-watch")];
    words.do_now.extend(isolate(account, config));
    words.do_now.push(m("drip-hot-water-look"));
    words
}

fn thawed_hot_water(account: &Account, config: &DripConfig) -> Words {
    let mut words = Words {
        do_now: vec![m("drip-hot-water-stop")],
        do_not: vec![m("drip-hot-water-not"), m("drip-thawed-not-used")],
        who: Some(m("drip-thawed-who")),
        ..Words::default()
    };
    words.do_now.extend(ask_fire(account));
    words.do_now.push(tap(account));
    words.do_now.push(m("drip-hot-water-look"));
    words.do_now.extend(isolate(account, config));
    words.do_now.dedup();
    words
}

/// A heater's relief that cannot open: away, energy off by the heater's own control, a plumber now.
pub(super) fn capped_heater(config: &DripConfig) -> Words {
    Words {
        do_now: vec![
            m("drip-capped-away"),
            m("drip-capped-energy"),
            with_number("drip-capped-call", config),
            m("drip-capped-plumber"),
        ],
        do_not: vec![m("drip-capped-not")],
        who: Some(m("drip-capped-who")),
        hand_over: Some(m("drip-capped-hand")),
        ..Words::default()
    }
}
