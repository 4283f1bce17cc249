//! Keys of `[season]`. Ranges are judgement.

use super::{Key, number, words};

/// The keys, in the order of the config's structures.
pub(super) const KEYS: &[Key] = &[
    number(
        "season.members",
        "members",
        [16.0, 65536.0],
        [32.0, 1024.0],
        "Members behind each winter's chance before the season.",
    ),
    number(
        "season.spells",
        "spells",
        [1.0, 50.0],
        [2.0, 10.0],
        "Coldest spells of a winter that are looked at, by lowest air and by most cold; a third as many by wind (judgement).",
    ),
    number(
        "season.horizon_years",
        "years",
        [1.0, 100.0],
        [3.0, 40.0],
        "Years over which savings count (judgement).",
    ),
    number(
        "season.discount_rate",
        "share a year",
        [0.0, 0.5],
        [0.0, 0.12],
        "Rate by which later savings count less (judgement).",
    ),
    number(
        "season.accept_share",
        "share",
        [0.05, 1.0],
        [0.2, 1.0],
        "Share of offers that are taken up: the reserve list is that much longer (judgement).",
    ),
    words(
        "season.district_column",
        "text",
        "Column of the list that names the district.",
    ),
    number(
        "season.calls.first",
        "share",
        [0.0, 1.0],
        [0.0, 1.0],
        "Share of `call first` that is called in a spell anyway (judgement).",
    ),
    number(
        "season.calls.next",
        "share",
        [0.0, 1.0],
        [0.0, 1.0],
        "Share of `call next` that is called in a spell anyway (judgement).",
    ),
    number(
        "season.calls.written",
        "share",
        [0.0, 1.0],
        [0.0, 1.0],
        "Share of the others at risk that is sent a text or e-mail anyway (judgement).",
    ),
];

/// Keys of one measure.
macro_rules! measure {
    ($word:literal) => {
        [
            words(
                concat!("season.measures.", $word, ".offered"),
                "true or false",
                "Whether the measure is offered.",
            ),
            number(
                concat!("season.measures.", $word, ".cost_usd"),
                "US dollars",
                [0.0, 1e7],
                [0.0, 1e5],
                "Cost of one, before the size counts; needed (judgement).",
            ),
            number(
                concat!("season.measures.", $word, ".cost_usd_per_in"),
                "US dollars an inch",
                [0.0, 1e6],
                [0.0, 1e4],
                "Added for each inch of nominal size (judgement).",
            ),
            number(
                concat!("season.measures.", $word, ".life_years"),
                "years",
                [0.1, 200.0],
                [1.0, 60.0],
                "Years that it lasts; needed (judgement).",
            ),
            number(
                concat!("season.measures.", $word, ".upkeep_usd"),
                "US dollars a year",
                [0.0, 1e6],
                [0.0, 1e3],
                "Upkeep, power included (judgement).",
            ),
            number(
                concat!("season.measures.", $word, ".in_place_share"),
                "share",
                [0.0, 1.0],
                [0.3, 1.0],
                "Share of those fitted that are in place and working when the cold comes (judgement).",
            ),
            number(
                concat!("season.measures.", $word, ".wrap_r_us"),
                "ft²·h·°F/Btu",
                [0.0, 60.0],
                [0.0, 20.0],
                "R of the wrap, or of the wrap over the cable.",
            ),
            number(
                concat!("season.measures.", $word, ".watts_per_ft"),
                "W/ft",
                [0.0, 100.0],
                [0.0, 30.0],
                "Power of the heat trace by length of pipe and assembly.",
            ),
        ]
    };
}

/// Keys of the measures, in the order of the config's structures.
pub(super) const MEASURES: [[Key; 8]; 8] = [
    measure!("wrap"),
    measure!("thick_wrap"),
    measure!("heat_trace"),
    measure!("cover"),
    measure!("heated_enclosure"),
    measure!("relocation"),
    measure!("drain_kit"),
    measure!("freeze_drip_valve"),
];
