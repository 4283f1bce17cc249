//! E-mail addresses: the check of the WHATWG HTML standard, plus a dot in the domain.

/// Why a text is no e-mail address.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum EmailFault {
    /// No `@`, or more than one.
    #[error("an address has one @")]
    At,
    /// The part before the `@` is empty, longer than 64 characters, or holds a sign it cannot.
    #[error("the part before the @ cannot be used")]
    Local,
    /// The domain cannot exist.
    #[error("the part after the @ is no domain")]
    Domain,
}

/// The address in lower case, checked by "valid e-mail address" of the HTML standard `[whatwg-html]` and the lengths
/// of RFC 5321 section 4.5.3.1 `[rfc-5321]`; the domain must hold a dot, since a customer's mail is never
/// local. Upper case is folded in both parts: mailboxes that differ only by case are not met in practice (judgement).
///
/// # Errors
/// The first rule that the text breaks.
pub fn parse(text: &str) -> Result<String, EmailFault> {
    let text = text.trim();
    let text = text.strip_prefix("mailto:").unwrap_or(text);
    let mut halves = text.split('@');
    let (Some(local), Some(domain), None) = (halves.next(), halves.next(), halves.next()) else {
        return Err(EmailFault::At);
    };
    let local_ok = !local.is_empty()
        && local.len() <= 64
        && local
            .bytes()
            .all(|byte| byte.is_ascii_alphanumeric() || b".!#$%&'*+/=?^_`{|}~-".contains(&byte))
        // RFC 5321 dot-string: the HTML rule is laxer and lets slips such as "a..b@" through.
        && !local.starts_with('.')
        && !local.ends_with('.')
        && !local.contains("..");
    if !local_ok {
        return Err(EmailFault::Local);
    }
    let label_ok = |label: &str| {
        (1..=63).contains(&label.len())
            && label.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-')
            && !label.starts_with('-')
            && !label.ends_with('-')
    };
    let last_ok = domain
        .rsplit('.')
        .next()
        .is_some_and(|top| top.len() >= 2 && !top.bytes().all(|byte| byte.is_ascii_digit()));
    if !domain.contains('.') || domain.len() > 255 || !domain.split('.').all(label_ok) || !last_ok {
        return Err(EmailFault::Domain);
    }
    Ok(text.to_lowercase())
}
