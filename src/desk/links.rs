//! Names of assemblies and people in links: they say nothing to anybody but the session that made them.
//!
//! A name is the identifier itself, sealed with a key that only the session has. The desk keeps no list of names, so no number
//! of pages, searches or sessions makes it grow. The nonce is made from key and identifier, so that the same identifier has the
//! same name all through a session and no nonce ever serves two identifiers.

use ring::aead::{Aad, CHACHA20_POLY1305, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};
use sha2::{Digest, Sha256};

/// Longest name that is looked at, in hexadecimal digits: an identifier of 200 bytes with nonce, tag and padding.
const LONGEST: usize = 2 * (NONCE_LEN + 16 + 224);
/// Identifiers are filled up to whole blocks, so that a name tells their length only roughly.
const BLOCK: usize = 16;

fn key_of(secret: &str) -> [u8; 32] {
    let mut digest = Sha256::new();
    digest.update(b"links of a session\0");
    digest.update(secret.as_bytes());
    digest.finalize().into()
}

fn cipher(key: &[u8; 32]) -> Option<LessSafeKey> {
    UnboundKey::new(&CHACHA20_POLY1305, key).ok().map(LessSafeKey::new)
}

fn nonce_of(key: &[u8; 32], id: &str) -> [u8; NONCE_LEN] {
    let mut digest = Sha256::new();
    digest.update(b"nonce\0");
    digest.update(key);
    digest.update(id.as_bytes());
    let whole: [u8; 32] = digest.finalize().into();
    let mut nonce = [0; NONCE_LEN];
    nonce.copy_from_slice(&whole[..NONCE_LEN]);
    nonce
}

/// The name of an identifier under a session's secret; empty where the cipher refuses, which it does not.
pub fn seal(secret: &str, id: &str) -> String {
    let key = key_of(secret);
    let nonce = nonce_of(&key, id);
    let mut text = id.as_bytes().to_vec();
    // No identifier holds a NUL: readers refuse control characters.
    text.resize(id.len().div_ceil(BLOCK).max(1) * BLOCK, 0);
    let sealed = cipher(&key).and_then(|cipher| {
        cipher
            .seal_in_place_append_tag(Nonce::assume_unique_for_key(nonce), Aad::empty(), &mut text)
            .ok()
    });
    match sealed {
        Some(()) => super::sessions::hex(&nonce) + &super::sessions::hex(&text),
        None => String::new(),
    }
}

/// The identifier behind a name, if this secret made it.
pub fn open(secret: &str, name: &str) -> Option<String> {
    if name.len() > LONGEST || !name.len().is_multiple_of(2) {
        return None;
    }
    let bytes: Vec<u8> = name
        .as_bytes()
        .chunks(2)
        .map(|pair| {
            std::str::from_utf8(pair)
                .ok()
                .and_then(|pair| u8::from_str_radix(pair, 16).ok())
        })
        .collect::<Option<_>>()?;
    let (nonce, sealed) = bytes.split_first_chunk::<NONCE_LEN>()?;
    let mut sealed = sealed.to_vec();
    let text = cipher(&key_of(secret))?
        .open_in_place(Nonce::assume_unique_for_key(*nonce), Aad::empty(), &mut sealed)
        .ok()?;
    let end = text.iter().rposition(|byte| *byte != 0).map_or(0, |last| last + 1);
    String::from_utf8(text.get(..end)?.to_vec()).ok()
}

#[cfg(test)]
mod tests {
    use super::{open, seal};

    #[test]
    fn a_name_opens_for_its_own_session_only_and_only_unchanged() {
        for id in ["A-0001", "", "C-ñandú-17", &"x".repeat(200)] {
            let name = seal("one session", id);
            assert_eq!(open("one session", &name).as_deref(), Some(id));
            assert_eq!(open("another session", &name), None);
            assert!(id.is_empty() || !name.contains(id));
            let last = if name.ends_with('0') { "1" } else { "0" };
            let changed = format!("{}{last}", &name[..name.len() - 1]);
            assert_eq!(open("one session", &changed), None);
        }
        for odd in ["", "0", "zz", "é", &"0".repeat(10_000), &"+f".repeat(40)] {
            assert_eq!(open("one session", odd), None);
        }
        assert_eq!(seal("s", "A-1"), seal("s", "A-1"), "the same page keeps the same links");
    }
}
