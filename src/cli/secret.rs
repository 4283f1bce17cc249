//! A password from whoever runs the command: never from the command line, which others on the computer can read.

use std::io::{self, IsTerminal, Read};

/// Most bytes that are read.
const MOST: u64 = 4_096;

/// Asks twice at a terminal and shows nothing of it, for nobody sees a slip in what is not shown; `None` when the two are not the same.
/// Elsewhere the first line of standard input counts.
pub fn password() -> io::Result<Option<String>> {
    if io::stdin().is_terminal() {
        let password = rpassword::prompt_password("Password: ")?;
        let again = rpassword::prompt_password("Once more: ")?;
        return Ok((password == again).then_some(password));
    }
    let mut text = String::new();
    io::stdin().lock().take(MOST).read_to_string(&mut text)?;
    Ok(Some(text.lines().next().unwrap_or_default().to_owned()))
}
