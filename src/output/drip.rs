//! Writers of one drip answer: JSON of the interface, a page of text for people, CSV of the causes.

use crate::drip::{Answer, Line, range_words};
use crate::inventory::Language;
use crate::ranking::words::percent_in;
use crate::units::UnitSystem;
use serde_json::{Value, json};

fn texts(lines: &[Line], language: Language) -> Vec<&str> {
    lines.iter().map(|line| line.text(language)).collect()
}

/// Evidence for and against as one sentence.
pub fn because(likely: &crate::drip::Likely, language: Language) -> String {
    let (pro, contra, none) = match language {
        Language::English => ("for: ", "against: ", "nothing told speaks for or against it"),
        Language::Spanish => (
            "a favor: ",
            "en contra: ",
            "nada de lo dicho habla a favor ni en contra",
        ),
    };
    let mut parts = Vec::new();
    for (word, lines) in [(pro, &likely.speaks_for), (contra, &likely.speaks_against)] {
        if !lines.is_empty() {
            parts.push(format!("{word}{}", texts(lines, language).join(", ")));
        }
    }
    if parts.is_empty() {
        none.to_string()
    } else {
        parts.join("; ")
    }
}

/// The answer as JSON, schema `brimwater.drip/1`. Flows are L/h; `rate_l_per_h` is the best single figure and
/// `rate_range_l_per_h` what the telling leaves open.
pub fn json(answer: &Answer, language: Language) -> Value {
    let likely: Vec<Value> = answer
        .likely
        .iter()
        .map(|likely| {
            json!({
                "cause": likely.cause,
                "words": likely.cause.words().text(language),
                "finding": likely.cause.finding(),
                "share": likely.share,
                "because": because(likely, language),
                "for": texts(&likely.speaks_for, language),
                "against": texts(&likely.speaks_against, language),
            })
        })
        .collect();
    json!({
        "schema": "brimwater.drip/1",
        "finding": answer.finding,
        "likely": likely,
        "rate_l_per_h": answer.told.as_ref().map(|told| told.best_l_per_h),
        "rate_range_l_per_h": answer.told.as_ref().map(|told| [told.low_l_per_h, told.high_l_per_h]),
        "expected_l_per_h": answer.expected_l_per_h,
        "heating": answer.heating.as_ref().map(|heating| json!({
            "per_heatup_l": heating.per_heatup_l,
            "rate_l_per_h": heating.rate_l_per_h,
            "heater_l": heating.volume_l,
            "assumed": heating.assumed,
        })),
        "question": answer.question.map(|(question, bits)| json!({
            "about": question,
            "ask": crate::drip::words::ask(question).text(language),
            "expected_bits": bits,
        })),
        "do_now": texts(&answer.do_now, language),
        "do_not": texts(&answer.do_not, language),
        "who": answer.who.text(language),
        "within": answer.within.words().text(language),
        "say": answer.say,
        "hand_over": answer.hand_over.text(language),
        "cautions": texts(&answer.cautions, language),
    })
}

/// The answer as text for people, about a screen long.
pub fn text(answer: &Answer, language: Language, system: UnitSystem) -> String {
    let english = language == Language::English;
    let pick = |en: &'static str, es: &'static str| if english { en } else { es };
    let mut out = format!(
        "{}\n{}: {}\n{}: {}\n\n",
        answer.finding.title().text(language),
        pick("How soon", "Cuándo"),
        answer.within.words().text(language),
        pick("Who does the rest", "Quién hace lo demás"),
        answer.who.text(language)
    );
    out.push_str(&format!(
        "{}\n  \"{}\"\n",
        pick("Say", "Diga"),
        answer.say.text(language)
    ));
    for (title, lines) in [
        (pick("Do now", "Haga ahora"), &answer.do_now),
        (pick("Do not", "No haga"), &answer.do_not),
    ] {
        out.push_str(&format!("{title}\n"));
        for line in lines {
            out.push_str(&format!("  - {}\n", line.text(language)));
        }
    }
    out.push_str(&format!(
        "{}\n  - {}\n",
        pick("Hand over", "Transfiera"),
        answer.hand_over.text(language)
    ));
    let causes = answer.likely.iter().filter(|likely| likely.share >= 0.02).take(4);
    out.push_str(&format!("{}\n", pick("Why", "Por qué")));
    if !answer.has_evidence() {
        out.push_str(&format!(
            "  {}\n",
            pick(
                "Nothing told speaks for one cause or another; the rules of safety decide.",
                "Nada de lo dicho habla por una causa u otra; deciden las reglas de seguridad.",
            )
        ));
    }
    for likely in causes.filter(|_| answer.has_evidence()) {
        out.push_str(&format!(
            "  {:>13}  {} ({})\n",
            percent_in(likely.share, language),
            likely.cause.words().text(language),
            because(likely, language)
        ));
    }
    if let Some(told) = &answer.told {
        out.push_str(&format!(
            "  {}: {}\n",
            pick("Rate told", "Caudal dicho"),
            range_words(told.low_l_per_h, told.high_l_per_h, system)
        ));
    }
    if let Some([low, high]) = answer.expected_l_per_h {
        out.push_str(&format!(
            "  {}: {}\n",
            pick("Rate expected when all is well", "Caudal esperado si todo está bien"),
            range_words(low, high, system)
        ));
    }
    if let Some((question, _)) = answer.question {
        out.push_str(&format!(
            "  {}: {}\n",
            pick("The question that would tell most", "La pregunta que más diría"),
            crate::drip::words::ask(question).text(language)
        ));
    }
    out.push('\n');
    for line in &answer.cautions {
        out.push_str(&format!("{}\n", line.text(language)));
    }
    out
}

/// The causes as CSV: cause, share, finding, because.
///
/// # Errors
/// When the writer fails, which for memory it does not.
pub fn csv(answer: &Answer, language: Language) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["finding", "within", "cause", "share", "because"])?;
    for likely in &answer.likely {
        writer.write_record([
            answer.finding.word(),
            answer.within.words().text(language),
            likely.cause.words().text(language),
            &format!("{:.4}", likely.share),
            &because(likely, language),
        ])?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| csv::Error::from(std::io::Error::other(error.to_string())))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
