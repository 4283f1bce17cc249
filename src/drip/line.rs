//! One line of advice in both languages of the desk.

use crate::inventory::Language;
use serde::{Deserialize, Serialize};

/// One line in English and Spanish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// English.
    pub en: String,
    /// Spanish.
    pub es: String,
}

impl Line {
    /// A line from its two wordings.
    pub fn new(en: impl Into<String>, es: impl Into<String>) -> Self {
        Self {
            en: en.into(),
            es: es.into(),
        }
    }

    /// The wording in a language.
    pub fn text(&self, language: Language) -> &str {
        match language {
            Language::English => &self.en,
            Language::Spanish => &self.es,
        }
    }
}
