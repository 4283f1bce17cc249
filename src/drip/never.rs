//! What is never said, held in one place for every line that leaves the engine.
//!
//! Never: plug, cap or seal an opening; use flame; lower a heater's setting to cure expansion; bypass an assembly; and
//! on a fire line, close, drain or turn off anything. A line may *forbid* these ("do not plug it"), it may not advise them.

/// Rules for every line, as stems looked for at the start of a word: English and Spanish.
const ALWAYS: &[(&str, &[&str])] = &[
    (
        "an opening is never plugged, capped or sealed",
        &[
            "plug",
            "cap it",
            "cap the",
            "capping",
            "seal it",
            "seal the",
            "stop up",
            "tape over",
            "tape it",
            "block the",
            "block it",
            "cover the port",
            "cover the opening",
            "tapar",
            "tape el",
            "tape la",
            "tapón",
            "tapon",
            "obstru",
            "sellar",
            "selle",
            "bloque",
        ],
    ),
    (
        "nothing is heated with flame or boiling water",
        &[
            "torch",
            "flame",
            "blowtorch",
            "open fire",
            "lighter",
            "candle",
            "boiling water",
            "heat gun",
            "soplete",
            "llama abierta",
            "fuego",
            "encendedor",
            "vela",
            "agua hirviendo",
        ],
    ),
    (
        "a heater's setting is never lowered as a cure",
        &[
            "lower the heater",
            "lower the thermostat",
            "lower the temperature",
            "lower the setting",
            "lower the setpoint",
            "lower your",
            "turn down",
            "turn the heater down",
            "turn the thermostat down",
            "reduce the temperature",
            "reduce the setting",
            "reduce the setpoint",
            "setpoint",
            "baje la temperatura",
            "baje el termostato",
            "bajar la temperatura",
            "bajar el termostato",
            "reduzca la temperatura",
            "reducir la temperatura",
        ],
    ),
    (
        "an assembly is never bypassed or replaced by pipe",
        &[
            "bypass",
            "pipe around",
            "pipe across",
            "replace it with pipe",
            "remove the assembly",
            "remove the device",
            "puente",
            "desvío",
            "desvíe",
            "quite el dispositivo",
            "retire el dispositivo",
        ],
    ),
];

/// Further rule for fire lines and for emergencies that may be on one.
const FIRE: (&str, &[&str]) = (
    "a fire line is never shut, drained or turned off",
    &[
        "shut",
        "close ",
        "closing",
        "turn off",
        "turn it off",
        "turn the water off",
        "drain it",
        "drain the",
        "drain down",
        "draining",
        "isolate",
        "cierr",
        "cerrar",
        "apague el agua",
        "corte el agua",
        "cortar el agua",
        "vací",
        "drene",
        "aísle",
    ],
);

/// Words that turn a phrase into a prohibition when they stand before it in the same clause.
const NEGATIONS: &[&str] = &[
    "do not",
    "don't",
    "never",
    "must not",
    "nobody should",
    "not to",
    "without",
    " no ",
    "nunca",
    "nadie debe",
    "jamás",
    "sin ",
    "ni ",
];

/// The rule that a line breaks, or `None`. `fire` adds the rule of fire lines.
///
/// Works clause by clause (split at `.`, `;`, `:`, `!`, `?`), so that a prohibition in one sentence does not excuse advice in the
/// next one.
pub fn broken_rule(text: &str, fire: bool) -> Option<&'static str> {
    let lower = text.to_lowercase();
    for clause in lower.split(['.', ';', ':', '!', '?', '\n', '\r']) {
        let padded = format!(" {} ", clause.split_whitespace().collect::<Vec<_>>().join(" "));
        let rules = ALWAYS.iter().chain(fire.then_some(&FIRE));
        for (why, stems) in rules {
            for stem in *stems {
                if let Some(at) = find_at_word_start(&padded, stem) {
                    let before = padded.get(..at).unwrap_or("");
                    if !NEGATIONS.iter().any(|negation| before.contains(negation)) {
                        return Some(why);
                    }
                }
            }
        }
    }
    None
}

/// First place where `stem` begins a word.
fn find_at_word_start(text: &str, stem: &str) -> Option<usize> {
    text.match_indices(stem)
        .find(|(at, _)| {
            text.get(..*at)
                .and_then(|before| before.chars().last())
                .is_none_or(|c| !c.is_alphanumeric())
        })
        .map(|(at, _)| at)
}
