//! The built-in message templates, and the environment that renders them.

use minijinja::{Environment, UndefinedBehavior};

macro_rules! templates {
    ($($name:literal),+ $(,)?) => {
        /// Built-in templates: name and text.
        pub(super) const BUILT_IN: &[(&str, &str)] = &[
            $(
                (concat!("en/", $name, ".txt"), include_str!(concat!("templates/en/", $name, ".txt"))),
                (concat!("es/", $name, ".txt"), include_str!(concat!("templates/es/", $name, ".txt"))),
            )+
        ];
    };
}

templates!(
    "text_irrigation",
    "text_domestic",
    "text_iced",
    "text_fire_iced",
    "text_fire",
    "text_fire_bare",
    "text_idle",
    "text_freeze_drip",
    "text_vacant",
    "text_several",
    "text_thaw",
    "advice_irrigation",
    "advice_domestic",
    "advice_iced",
    "advice_fire_iced",
    "advice_fire",
    "advice_fire_bare",
    "advice_idle",
    "advice_freeze_drip",
    "advice_vacant",
    "advice_thaw",
    "caution_irrigation",
    "caution_domestic",
    "caution_iced",
    "caution_fire_iced",
    "caution_fire",
    "caution_fire_bare",
    "caution_idle",
    "caution_freeze_drip",
    "caution_vacant",
    "caution_thaw",
    "steps",
    "call",
    "email",
    "letter",
    "hanger",
    "thaw",
);

/// The templates, strict about names that no message has.
pub(super) fn environment<'a>(templates: impl Iterator<Item = (&'a str, &'a str)>) -> Environment<'static> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    if let Ok(syntax) = minijinja::syntax::SyntaxConfig::builder()
        .trim_blocks(true)
        .keep_trailing_newline(true)
        .build()
    {
        environment.set_syntax(syntax);
    }
    // Plain text: nothing is escaped here; pages escape what they show.
    environment.set_auto_escape_callback(|_| minijinja::AutoEscape::None);
    for (name, text) in templates {
        // A template that does not parse is then missing and told of when it is rendered.
        if let Err(error) = environment.add_template_owned(name.to_owned(), keep_line_ends(text)) {
            let told = format!(
                "{{{{ \"{}\"|parse_fault }}}}",
                error.to_string().replace(['"', '\\'], "'")
            );
            let _ = environment.add_template_owned(name.to_owned(), told);
        }
    }
    environment.add_filter("parse_fault", |text: String| -> Result<String, minijinja::Error> {
        Err(minijinja::Error::new(minijinja::ErrorKind::SyntaxError, text))
    });
    environment
}

/// Keeps the end of a line of words that closes with a block: `trim_blocks` is meant for lines of blocks alone, and would run
/// "may freeze.{% endif %}" into the line that follows.
fn keep_line_ends(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let (bare, end) = line.strip_suffix('\n').map_or((line, ""), |bare| (bare, "\n"));
        match bare.strip_suffix("%}") {
            Some(open) if !blocks_alone(bare) && !open.ends_with(['-', '+']) => {
                kept.push_str(open);
                kept.push_str("+%}");
            }
            _ => kept.push_str(bare),
        }
        kept.push_str(end);
    }
    kept
}

/// Whether a line holds blocks and nothing else.
fn blocks_alone(line: &str) -> bool {
    let mut rest = line.trim();
    while let Some(inside) = rest.strip_prefix("{%") {
        match inside.split_once("%}") {
            Some((_, after)) => rest = after.trim_start(),
            None => return false,
        }
    }
    rest.is_empty()
}

/// Runs of blanks and empty lines made single, ends trimmed.
pub(super) fn tidy(text: &str) -> String {
    let mut tidy = String::with_capacity(text.len());
    let mut empty = 0;
    for line in text.lines() {
        let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.is_empty() {
            empty += 1;
            continue;
        }
        if !tidy.is_empty() {
            tidy.push_str(if empty > 0 { "\n\n" } else { "\n" });
        }
        empty = 0;
        tidy.push_str(&line);
    }
    tidy
}
