//! Sentences that people read: message files in Project Fluent's format, one folder a language.
//!
//! Inside the program an answer is a kind with its numbers; it becomes a sentence here, at the edge, by an identifier and
//! arguments. Plurals and selection belong to the message files. A language is a folder of `words/locales`; a utility may lay its
//! own folder over the built-in one.

use crate::faults::{Fault, Severity};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentResource, FluentValue};
use include_dir::{Dir, include_dir};
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

static LOCALES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/src/words/locales");

static BUILT_IN: LazyLock<Messages> = LazyLock::new(|| Messages::new(&[]).0);

/// Arguments of a message.
pub type Arguments<'a> = fluent_bundle::FluentArgs<'a>;

/// Language whose messages stand in where another lacks one.
const FALLBACK: &str = "en";

/// One message file: language (a BCP 47 tag), file name and text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MessageFile {
    /// Tag of the language, such as `en`.
    pub language: String,
    /// Name of the file, for faults.
    pub name: String,
    /// What it holds, in Fluent's format.
    pub text: String,
}

/// The messages of every language.
pub struct Messages {
    bundles: BTreeMap<String, FluentBundle<Arc<FluentResource>>>,
}

impl Messages {
    /// The messages that come with the program.
    pub fn built_in() -> &'static Messages {
        &BUILT_IN
    }

    /// The built-in messages with `laid_over` in their place where the identifiers are the same.
    ///
    /// Faults, all warnings: `BW-C20` a file that is not Fluent's format (what can be read of it is used), `BW-C21` a folder whose
    /// name is no language tag.
    pub fn new(laid_over: &[MessageFile]) -> (Self, Vec<Fault>) {
        let mut faults = Vec::new();
        let mut bundles = BTreeMap::new();
        for file in built_in_files().iter().chain(laid_over) {
            let Ok(tag) = file.language.parse::<unic_langid::LanguageIdentifier>() else {
                faults.push(
                    Fault::new("BW-C21", Severity::Warning, "this folder's name is no language tag")
                        .file(file.name.clone())
                        .value(&file.language)
                        .expected("a tag such as en, es or vi")
                        .remedy("Rename the folder; its messages were not used."),
                );
                continue;
            };
            let bundle = bundles.entry(file.language.clone()).or_insert_with(|| {
                let mut bundle = FluentBundle::new_concurrent(vec![tag]);
                // Marks around arguments are for mixed writing directions and would be copied into calls and letters.
                bundle.set_use_isolating(false);
                bundle
            });
            let resource = FluentResource::try_new(file.text.clone()).unwrap_or_else(|(resource, errors)| {
                for error in errors {
                    faults.push(
                        Fault::new(
                            "BW-C20",
                            Severity::Warning,
                            format!("a message cannot be read: {error}"),
                        )
                        .file(file.name.clone())
                        .line(
                            1 + file
                                .text
                                .get(..error.pos.start)
                                .map_or(0, |before| before.matches('\n').count())
                                as u64,
                        )
                        .expected("Project Fluent's format: identifier = text")
                        .remedy("Correct the message; the built-in one was used."),
                    );
                }
                resource
            });
            bundle.add_resource_overriding(Arc::new(resource));
        }
        (Self { bundles }, faults)
    }

    /// The tags of all languages, in alphabetical order.
    pub fn languages(&self) -> impl Iterator<Item = &str> {
        self.bundles.keys().map(String::as_str)
    }

    /// Whether the language has the message itself, without falling back.
    pub fn has(&self, language: &str, id: &str) -> bool {
        let (message, attribute) = split(id);
        self.bundles
            .get(language)
            .and_then(|bundle| bundle.get_message(message))
            .is_some_and(|found| match attribute {
                Some(name) => found.get_attribute(name).is_some(),
                None => found.value().is_some(),
            })
    }

    /// The message `id` (`name`, or `name.attribute`) in `language`; in English where the language lacks it, and the identifier in
    /// braces where both do, which a test holds to never happen for identifiers in the code.
    pub fn text(&self, language: &str, id: &str, arguments: &Arguments<'_>) -> String {
        [language, FALLBACK]
            .iter()
            .find_map(|tag| self.format(tag, id, arguments))
            .unwrap_or_else(|| format!("{{{id}}}"))
    }

    fn format(&self, language: &str, id: &str, arguments: &Arguments<'_>) -> Option<String> {
        let bundle = self.bundles.get(language)?;
        let (message, attribute) = split(id);
        let found = bundle.get_message(message)?;
        let pattern = match attribute {
            Some(name) => found.get_attribute(name)?.value(),
            None => found.value()?,
        };
        let mut errors = Vec::new();
        Some(
            bundle
                .format_pattern(pattern, Some(arguments), &mut errors)
                .into_owned(),
        )
    }
}

/// The files that come with the program.
pub fn built_in_files() -> Vec<MessageFile> {
    let mut files: Vec<MessageFile> = LOCALES
        .dirs()
        .flat_map(|folder| {
            let language = folder.path().to_string_lossy().into_owned();
            folder.files().map(move |file| MessageFile {
                language: language.clone(),
                name: file.path().to_string_lossy().into_owned(),
                text: file.contents_utf8().unwrap_or_default().to_owned(),
            })
        })
        .collect();
    files.sort_by(|a, b| a.name.cmp(&b.name));
    files
}

fn split(id: &str) -> (&str, Option<&str>) {
    id.split_once('.')
        .map_or((id, None), |(message, attribute)| (message, Some(attribute)))
}

/// A value of a message's argument: text, or a number that chooses a plural.
pub fn value<'a>(value: impl Into<FluentValue<'a>>) -> FluentValue<'a> {
    value.into()
}

/// The built-in message in a language: `say!(language, "id", name = value, …)`. Values are text or numbers; a quantity is given as
/// text with its unit, made by [`crate::units`].
#[macro_export]
macro_rules! say {
    ($language:expr, $id:expr $(, $name:ident = $value:expr)* $(,)?) => {{
        #[allow(unused_mut)]
        let mut arguments = $crate::words::Arguments::new();
        $(arguments.set(stringify!($name), $value);)*
        $crate::words::Messages::built_in().text($language.word(), $id, &arguments)
    }};
}
