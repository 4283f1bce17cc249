//! Text that many hold: one copy of the bytes for all of them.
//!
//! A list of a million assemblies has some thousand different reasons, and each of them stands in the ranking, in the contact plan and in
//! the files. Only what is the same is shared; whoever changes a text makes a new one.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Borrow;
use std::collections::HashSet;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// A text whose copies share their bytes.
#[derive(Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Text(Arc<str>);

impl Text {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Deref for Text {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Text {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl AsRef<str> for Text {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Self {
        // Nothing is the same for all.
        if text.is_empty() {
            return Self::default();
        }
        Self(Arc::from(text))
    }
}

impl From<String> for Text {
    fn from(text: String) -> Self {
        text.as_str().into()
    }
}

impl From<Text> for String {
    fn from(text: Text) -> Self {
        text.as_str().to_owned()
    }
}

impl PartialEq<str> for Text {
    fn eq(&self, other: &str) -> bool {
        self.as_str() == other
    }
}

impl PartialEq<&str> for Text {
    fn eq(&self, other: &&str) -> bool {
        self.as_str() == *other
    }
}

impl PartialEq<String> for Text {
    fn eq(&self, other: &String) -> bool {
        self.as_str() == other
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self)
    }
}

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

impl Serialize for Text {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self)
    }
}

impl<'de> Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(Self::from)
    }
}

/// The texts met so far. What is alike is mostly met early, so that a pool of what is not (serial numbers) stops growing.
#[derive(Debug, Default)]
pub struct Pool(HashSet<Text>);

/// Texts that a pool knows at most (judgement: some megabytes, and more than a long list has different reasons).
const MOST_KNOWN: usize = 65_536;

impl Pool {
    /// The text, sharing its bytes with the same text met before.
    pub fn share(&mut self, text: &str) -> Text {
        if let Some(known) = self.0.get(text) {
            return known.clone();
        }
        let text = Text::from(text);
        if self.0.len() < MOST_KNOWN {
            self.0.insert(text.clone());
        }
        text
    }
}

/// A part of a text, such as a cell without the blanks around it.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    whole: &'a Text,
    part: &'a str,
}

impl<'a> Part<'a> {
    /// A text without the blanks around it.
    pub fn trimmed(whole: &'a Text) -> Self {
        Self {
            whole,
            part: whole.trim(),
        }
    }

    /// The part.
    pub fn as_str(self) -> &'a str {
        self.part
    }

    /// The part to keep: where it is the whole, sharing its bytes.
    pub fn to_text(self) -> Text {
        if self.part.len() == self.whole.len() {
            self.whole.clone()
        } else {
            self.part.into()
        }
    }
}
