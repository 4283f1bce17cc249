//! Who may do what: each address of the desk with the least role that it takes. What stands here nowhere is open to nobody.

/// What somebody at the desk is there for. A later one may do all that an earlier one may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Answers callers, and calls those on the list.
    Rep,
    /// Works with the ranking, the map, the list and the budget.
    Planner,
    /// Sees who is signed in, and ends sessions.
    Admin,
}

impl Role {
    /// All roles.
    pub const ALL: [Role; 3] = [Role::Rep, Role::Planner, Role::Admin];

    /// The word in the password file.
    pub fn word(self) -> &'static str {
        match self {
            Role::Rep => "rep",
            Role::Planner => "planner",
            Role::Admin => "admin",
        }
    }

    /// Reads the word.
    pub fn read(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// What an address takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Nothing: it shows nothing of anybody.
    Nobody,
    /// A session of this role or a later one.
    Role(Role),
}

const REP: Needs = Needs::Role(Role::Rep);
const PLANNER: Needs = Needs::Role(Role::Planner);
const ADMIN: Needs = Needs::Role(Role::Admin);

/// Every address of the desk; `{…}` stands for one piece of any text. A test holds that the routes are these.
pub const RIGHTS: &[(&str, Needs)] = &[
    ("/", Needs::Nobody),
    ("/health", Needs::Nobody),
    ("/style.css", Needs::Nobody),
    ("/icon.svg", Needs::Nobody),
    ("/board.js", Needs::Nobody),
    ("/sign-in", Needs::Nobody),
    ("/settings", Needs::Nobody),
    ("/sign-out", REP),
    ("/account", REP),
    ("/account/password", REP),
    ("/account/codes", REP),
    ("/account/end", REP),
    ("/phone", REP),
    ("/phone/find", REP),
    ("/phone/drip", REP),
    ("/phone/a/{link}", REP),
    ("/phone/a/{link}/note", REP),
    ("/phone/drip/note", REP),
    ("/phone/call-back", REP),
    ("/expansion", REP),
    ("/expansion/record", REP),
    ("/plan/calls", REP),
    ("/plan/outcome", REP),
    ("/plan/take", REP),
    ("/plan/seen", REP),
    ("/plan/board", REP),
    ("/plan/board/part", REP),
    ("/record", REP),
    ("/record/find", REP),
    ("/record/a/{link}", REP),
    ("/review", PLANNER),
    ("/season", PLANNER),
    ("/plan", PLANNER),
    ("/plan/map", PLANNER),
    ("/plan/list", PLANNER),
    ("/plan/again", PLANNER),
    ("/plan/a/{link}", PLANNER),
    ("/people", ADMIN),
    ("/people/end", ADMIN),
];

/// What a session opens whose account still owes one-time codes, beside what takes nobody.
pub const WHILE_CODES_ARE_OWED: [&str; 2] = ["/account/codes", "/sign-out"];

/// The address of [`RIGHTS`] that `path` is one of, and what it takes; `None` where the desk has no such page.
fn known(path: &str) -> Option<(&'static str, Needs)> {
    let fits = |pattern: &str| {
        let (mut asked, mut known) = (path.split('/'), pattern.split('/'));
        loop {
            match (asked.next(), known.next()) {
                (None, None) => return true,
                (Some(piece), Some(known)) if piece == known || (known.starts_with('{') && !piece.is_empty()) => (),
                _ => return false,
            }
        }
    };
    // An address without blanks comes first: `/plan/list` is not an assembly.
    let exact = RIGHTS.iter().find(|(pattern, _)| *pattern == path);
    exact
        .or_else(|| RIGHTS.iter().find(|(pattern, _)| fits(pattern)))
        .copied()
}

/// What the page at `path` takes; `None` where the desk has no such page.
pub fn needs(path: &str) -> Option<Needs> {
    known(path).map(|(_, needs)| needs)
}

/// The page at `path` without what is of one assembly or session.
pub fn pattern(path: &str) -> Option<&'static str> {
    known(path).map(|(pattern, _)| pattern)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_found_by_its_whole_address_only() {
        assert_eq!(needs("/phone"), Some(REP));
        assert_eq!(needs("/phone/a/abc"), Some(REP));
        assert_eq!(needs("/phone/a/abc/note"), Some(REP));
        assert_eq!(needs("/plan/a/abc"), Some(PLANNER));
        assert_eq!(pattern("/phone/a/abc/note"), Some("/phone/a/{link}/note"));
        for none in [
            "",
            "/phone/",
            "/phone/a/",
            "/phone/a",
            "/phone/a/x/y",
            "/plan/a/x/note",
            "//phone",
            "/PHONE",
            "/plan/calls/",
        ] {
            assert_eq!(needs(none), None, "{none}");
        }
    }
}
