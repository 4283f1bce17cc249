//! Keys of `[utility]`, `[columns]` and `[drip]`. Ranges are judgement.

use super::{Key, number, words};

/// The keys, in the order of the config's structures.
pub(super) const KEYS: &[Key] = &[
    words("utility.name", "text", "Name shown on pages and messages."),
    words("utility.zone", "text", "IANA time zone for everything people read."),
    words("utility.phone", "text", "Number customers call."),
    words("utility.emergency_phone", "text", "Emergency number of the utility."),
    words(
        "columns.*",
        "text",
        "The utility's own header for our column of that name.",
    ),
    number(
        "drip.supply_c",
        "°C",
        [0.5, 40.0],
        [1.0, 30.0],
        "Supply water that the freeze-drip draws, °C. 50 °F.",
    ),
    number(
        "drip.held_body_c",
        "°C",
        [0.1, 15.0],
        [0.5, 10.0],
        "Body temperature that the freeze-drip holds, °C. 38 °F.",
    ),
    number(
        "drip.valve_shut_c",
        "°C",
        [0.5, 25.0],
        [2.0, 12.0],
        "Water temperature above which the freeze-drip is shut, °C. 42 °F (common practice, no source).",
    ),
    number(
        "drip.film_calm_w_m2k",
        "W/(m²·K)",
        [1.0, 500.0],
        [4.0, 40.0],
        "Outside film in calm, W/(m²·K). 1.8 Btu/(h·ft²·°F).",
    ),
    number(
        "drip.film_windy_w_m2k",
        "W/(m²·K)",
        [1.0, 500.0],
        [8.0, 120.0],
        "Outside film in wind, W/(m²·K). 5 Btu/(h·ft²·°F).",
    ),
    number(
        "drip.wrap_m2k_per_w",
        "m²·K/W",
        [0.0, 10.0],
        [0.0, 3.0],
        "Wrap taken for the low edge when none is on file, m²·K/W. R 1.5.",
    ),
    number(
        "drip.least_share",
        "share 0 to 1",
        [0.3, 1.0],
        [0.4, 0.99],
        "Least share of a finding before it is told as the answer (judgement).",
    ),
    number(
        "drip.least_share_working",
        "share 0 to 1",
        [0.5, 1.0],
        [0.6, 0.999],
        "Least share of 'working as meant', which costs more when it is wrong (judgement).",
    ),
    number(
        "drip.least_share_working_unsure",
        "share 0 to 1",
        [0.5, 1.0],
        [0.6, 1.0],
        "The same when the caller cannot say where the water comes out (judgement).",
    ),
    number(
        "drip.minded_share",
        "share 0 to 1",
        [0.0, 0.5],
        [0.0, 0.3],
        "A finding with this share is minded in how soon somebody must act, even when another leads (judgement).",
    ),
    words("drip.weights.cause", "one of a list of words", "The cause."),
    words(
        "drip.weights.question",
        "one of a list of words",
        "The question: where for the prior, or when, water, air, frost, ice, after-test.",
    ),
    words("drip.weights.answer", "text", "The answer's word, such as cold-nights."),
    number(
        "drip.weights.weight",
        "weight",
        [1e-09, 1000.0],
        [0.0001, 1000.0],
        "Weight among the answers of this cause (for where: among the causes at this place); above 0, at most 1000.",
    ),
    words(
        "drip.weights.basis",
        "text",
        "Where the number comes from, in the utility's words.",
    ),
    words(
        "drip.emergency_services",
        "text",
        "Number of the emergency services, as it is told to callers.",
    ),
    words(
        "drip.customer_may_close_at_meter",
        "true or false",
        "Whether customers may close the valve at the meter; published advice conflicts, so the default is not to say so.",
    ),
    words("drip.more_to_do.*.en", "text", "English."),
    words("drip.more_to_do.*.es", "text", "Spanish."),
];
