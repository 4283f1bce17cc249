//! The GSM 7-bit default alphabet: how long a text message is, and what to write instead of signs it lacks.
//!
//! A message that stays inside the alphabet of 3GPP TS 23.038 `[3gpp-23-038]` holds 160 septets; one sign outside it
//! halves that to 70, so the sender pays twice or the end is lost.

/// Septets that one message holds.
pub const LIMIT: usize = 160;

/// The basic table, one septet each, without the escape.
const BASIC: &str = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà";
/// The extension table, two septets each.
const EXTENSION: &str = "^{}\\[~]|€\u{c}";

/// Septets of one sign; `None` when the alphabet lacks it.
pub fn septets_of(sign: char) -> Option<usize> {
    if BASIC.contains(sign) {
        Some(1)
    } else if EXTENSION.contains(sign) {
        Some(2)
    } else {
        None
    }
}

/// Septets of a text.
///
/// # Errors
/// The first sign that the alphabet lacks.
pub fn septets(text: &str) -> Result<usize, char> {
    text.chars().map(|sign| septets_of(sign).ok_or(sign)).sum()
}

/// The text with every sign that the alphabet lacks replaced by the nearest one it has; Spanish á, í, ó, ú lose their accent, since the
/// alphabet has é and ñ but not those. Signs without a near one become `?`.
pub fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    for sign in text.chars() {
        if septets_of(sign).is_some() {
            folded.push(sign);
            continue;
        }
        folded.push_str(match sign {
            'á' | 'â' | 'ã' | 'ā' => "a",
            'Á' | 'À' | 'Â' | 'Ã' => "A",
            'ê' | 'ë' => "e",
            'È' | 'Ê' | 'Ë' => "E",
            'í' | 'î' | 'ï' => "i",
            'Í' | 'Ì' | 'Î' | 'Ï' => "I",
            'ó' | 'ô' | 'õ' => "o",
            'Ó' | 'Ò' | 'Ô' | 'Õ' => "O",
            'ú' | 'û' => "u",
            'Ú' | 'Ù' | 'Û' => "U",
            'ç' => "Ç",
            '‘' | '’' | '´' | '`' => "'",
            '“' | '”' | '«' | '»' => "\"",
            '–' | '—' | '−' => "-",
            '…' => "...",
            '°' | 'º' => "",
            '\t' | '\u{a0}' => " ",
            _ => "?",
        });
    }
    folded
}
