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
        Self(serde_urlencoded(bytes))
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

/// Fields of `application/x-www-form-urlencoded` bytes; what is not UTF-8 is replaced.
fn serde_urlencoded(bytes: &[u8]) -> Vec<(String, String)> {
    bytes
        .split(|byte| *byte == b'&')
        .filter(|pair| !pair.is_empty())
        .take(MOST_FIELDS)
        .map(|pair| {
            let mut halves = pair.splitn(2, |byte| *byte == b'=');
            let name = halves.next().unwrap_or_default();
            let value = halves.next().unwrap_or_default();
            (decoded(name), decoded(value))
        })
        .collect()
}

fn decoded(text: &[u8]) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text;
    while let Some((first, tail)) = rest.split_first() {
        rest = tail;
        match (*first, tail) {
            (b'+', _) => bytes.push(b' '),
            (b'%', [high, low, after @ ..]) => match (hex(*high), hex(*low)) {
                (Some(high), Some(low)) => {
                    bytes.push(high * 16 + low);
                    rest = after;
                }
                _ => bytes.push(b'%'),
            },
            (other, _) => bytes.push(other),
        }
    }
    String::from_utf8_lossy(&bytes)
        .chars()
        .filter(|c| !c.is_control() || *c == '\n')
        .collect()
}

fn hex(digit: u8) -> Option<u8> {
    char::from(digit)
        .to_digit(16)
        .and_then(|value| u8::try_from(value).ok())
}
