//! Words that no message may say.

/// The first sentence that tells somebody to do what must never be done. A sentence that warns ("never", "do not") is no fault.
pub fn forbidden(text: &str) -> Option<String> {
    const ACTS: &[(&[&str], &[&str])] = &[
        (
            &["flame", "torch", "blowtorch", "fuego", "una llama", "soplete", "brasas"],
            &[],
        ),
        (
            &["plug", "cap off", "block", "tape", "tapar", "selle"],
            &["hole", "port", "relief", "drain", "agujero", "alivio", "desagüe"],
        ),
        (
            &["shut", "close", "drain", "turn off", "cierre", "vacíe", "apague"],
            &["fire line", "fire system", "contra incendios"],
        ),
        (
            &["lower", "turn down", "baje"],
            &["water heater", "heater setting", "calentador de agua"],
        ),
        (&["bypass", "pipe around", "rodee"], &["device", "assembly", "aparato"]),
    ];
    const WARNS: &[&str] = &[
        "never",
        "do not",
        "don't",
        "not ",
        "no ",
        "nunca",
        "only your fire",
        "solo su empresa",
        "ni ",
    ];
    for sentence in text.split(['.', '!', '?', '\n']) {
        let lower = format!(" {} ", sentence.trim().to_lowercase());
        if WARNS.iter().any(|warn| lower.contains(&format!(" {}", warn))) {
            continue;
        }
        for (acts, things) in ACTS {
            // Whole words, with the endings that English gives a verb or a noun.
            let acted = acts.iter().any(|act| {
                lower.match_indices(act).any(|(at, _)| {
                    let tail: String = lower[at + act.len()..]
                        .chars()
                        .take_while(|c| c.is_alphanumeric())
                        .collect();
                    !lower[..at].ends_with(char::is_alphanumeric)
                        && matches!(tail.as_str(), "" | "s" | "ed" | "ged" | "ped" | "ing" | "ging" | "ping")
                })
            });
            if acted && (things.is_empty() || things.iter().any(|thing| lower.contains(thing))) {
                return Some(sentence.trim().to_owned());
            }
        }
    }
    None
}
