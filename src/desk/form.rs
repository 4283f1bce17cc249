//! A sent form: fields in order, several of one name allowed.

use super::render::plain;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::Response;

/// Most fields of a form.
const MOST_FIELDS: usize = 200;

/// The fields of a form whose token was checked.
#[derive(Debug, Clone, Default)]
pub struct Form(Vec<(String, String)>);

impl Form {
    /// The first value of a field, trimmed; empty when it was not sent.
    pub fn get(&self, name: &str) -> &str {
        self.0
            .iter()
            .find(|(each, _)| each == name)
            .map_or("", |(_, value)| value.trim())
    }

    /// The first value exactly as it was typed: blanks at its ends are part of a password.
    pub fn typed(&self, name: &str) -> &str {
        self.0
            .iter()
            .find(|(each, _)| each == name)
            .map_or("", |(_, value)| value.as_str())
    }

    /// The first value, or `None` when empty.
    pub fn told(&self, name: &str) -> Option<String> {
        Some(self.get(name))
            .filter(|value| !value.is_empty())
            .map(str::to_string)
    }

    /// All values of a field that are not empty.
    pub fn all(&self, name: &str) -> Vec<&str> {
        self.0
            .iter()
            .filter(|(each, value)| each == name && !value.trim().is_empty())
            .map(|(_, value)| value.trim())
            .collect()
    }

    /// The form with the values that `change` gives anew.
    pub(super) fn map(&self, change: impl Fn(&str, &str) -> Option<String>) -> Self {
        let fields = self.0.iter();
        Self(
            fields
                .map(|(name, value)| (name.clone(), change(name, value).unwrap_or_else(|| value.clone())))
                .collect(),
        )
    }

    /// All fields but the token.
    pub fn fields(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0
            .iter()
            .filter(|(name, _)| name != "csrf")
            .map(|(name, value)| (name.as_str(), value.as_str()))
    }
}

impl Form {
    /// The fields of a sent body; the guard checks the token.
    pub(super) fn read(bytes: &[u8]) -> Self {
        Self(fields_of(bytes))
    }
}

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Response;

    /// The form that the guard has read and whose token it has checked.
    async fn from_request(mut request: Request, _: &S) -> Result<Self, Response> {
        request.extensions_mut().remove::<Form>().ok_or_else(|| {
            plain(
                StatusCode::FORBIDDEN,
                ["This form cannot be read.", "No se puede leer este formulario."],
            )
        })
    }
}

/// Fields of `application/x-www-form-urlencoded` bytes; what is not UTF-8 is replaced, control characters but line ends are dropped.
fn fields_of(bytes: &[u8]) -> Vec<(String, String)> {
    let clean = |text: &str| text.chars().filter(|c| !c.is_control() || *c == '\n').collect();
    form_urlencoded::parse(bytes)
        .take(MOST_FIELDS)
        .map(|(name, value)| (clean(&name), clean(&value)))
        .collect()
}
