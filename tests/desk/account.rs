//! What people do with their own account, and codes that a role must have.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, Reply, password_line, program, programme, secret};
use crate::driver::{Driver, accessible, axe, fits, picture, skipped, submit, text};
use crate::http::open;
use crate::sessions::{NOTE, offered, pairs, plain};
use crate::spanish::must_be_spanish;
use brimwater::desk::rights::{Needs, RIGHTS, WHILE_CODES_ARE_OWED};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

const PASSWORD: &str = "four quiet herons wade";
const OTHER: &str = "lantern gravel otter sash";
/// The name of the invented utility, which is the same in either language.
const UTILITY: &str = "Pellow Reach Water";

/// A password file with a name for each role that is its word, and remarks between the lines.
fn roles(folder: &Path) -> PathBuf {
    let file = folder.join("passwords.txt");
    let line = |role: &str| password_line(role, PASSWORD).replace(":role=planner", &format!(":role={role}"));
    let text = format!(
        "# who may sign in\r\n{}\n\n  {}# planner: by the door\n{}",
        line("rep"),
        line("planner"),
        line("admin").trim_end()
    );
    secret(&file, text);
    file
}

fn desk(folder: &Path, file: &Path, more: &[&str]) -> DeskRun {
    let place = file.display().to_string();
    DeskRun::start_without_weather(folder, &[&["--password-file", place.as_str()], more].concat())
}

fn sign_in(desk: &DeskRun, name: &str, password: &str, code: &str) -> (Client, Reply) {
    let mut client = Client::new(desk.address);
    client.get("/sign-in");
    let reply = client.post("/sign-in", &[("name", name), ("password", password), ("code", code)]);
    (client, reply)
}

/// Somebody signed in, with the page of the own account open.
fn at_own_account(desk: &DeskRun, name: &str, password: &str) -> Client {
    let (mut client, reply) = sign_in(desk, name, password, "");
    assert_eq!(reply.status, 303);
    assert_eq!(client.get("/account").status, 200);
    client
}

fn audit(desk: &DeskRun) -> String {
    std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap()
}

fn line_of(file: &Path, name: &str) -> String {
    let text = std::fs::read_to_string(file).unwrap();
    let line = text.lines().find(|line| line.trim().starts_with(&format!("{name}:")));
    line.unwrap().trim().to_owned()
}

#[cfg(unix)]
pub(crate) fn mode(file: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt;
    std::fs::metadata(file).unwrap().permissions().mode() & 0o777
}

fn soon(what: &str, mut holds: impl FnMut() -> bool) {
    let until = Instant::now() + Duration::from_secs(20);
    while !holds() {
        assert!(Instant::now() < until, "{what}");
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// The step of now (RFC 6238, section 4.2: 30 s from 1970 on).
fn step() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs() / 30
}

/// The code of a secret at a step, by the letter of the standards and by nothing of the program.
///
/// X-Val: RFC 4648, section 6 (base 32); RFC 4226, section 5.3 (the figures of a counter); RFC 6238, section 4 (the counter is the step).
fn code(secret: &str, step: u64) -> String {
    let mut bits = 0_u64;
    let (mut held, mut key) = (0, Vec::new());
    for letter in secret.bytes() {
        let value = match letter {
            b'A'..=b'Z' => letter - b'A',
            b'2'..=b'7' => letter - b'2' + 26,
            _ => panic!("{secret} is not base 32"),
        };
        (bits, held) = (bits << 5 | u64::from(value), held + 5);
        if held >= 8 {
            held -= 8;
            key.push((bits >> held & 0xff) as u8);
        }
    }
    let key = ring::hmac::Key::new(ring::hmac::HMAC_SHA1_FOR_LEGACY_USE_ONLY, &key);
    let mark = ring::hmac::sign(&key, &step.to_be_bytes());
    let mark = mark.as_ref();
    let at = usize::from(mark[19] & 15);
    let number = u32::from_be_bytes(mark[at..at + 4].try_into().unwrap()) & 0x7fff_ffff;
    format!("{:06}", number % 1_000_000)
}

/// X-Val: RFC 6238, Appendix B, SHA-1: at 59 s the eight figures 94287082, of which the last six count here.
#[test]
fn the_code_that_these_tests_type_is_the_standards() {
    assert_eq!(code("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ", 59 / 30), "287082");
}

/// The secret that the page offers, as it stands there in letters and in the link.
fn offered_secret(body: &str) -> String {
    let letters = body.split("<code translate=\"no\">").nth(1).unwrap();
    let secret = letters.split('<').next().unwrap().replace(' ', "");
    assert!(
        plain(body).contains(&format!("secret={secret}")),
        "the link has another secret"
    );
    secret
}

/// Reads the picture of a page as an authenticator would.
///
/// X-Val: `rqrr`, a reader of such pictures by the standard (ISO/IEC 18004) that shares nothing with what draws them.
fn read_picture(body: &str) -> String {
    let picture = body.split("code-picture").nth(1).unwrap();
    let number = |text: &str| {
        text.chars()
            .take_while(char::is_ascii_digit)
            .collect::<String>()
            .parse::<usize>()
            .unwrap()
    };
    let width = number(picture.split("width=\"").nth(1).unwrap());
    let mut dark = vec![false; width * width];
    let path = picture.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
    for square in path.split('M').skip(1) {
        // Mx yhwvh…: a rectangle at x, y with its width and height.
        let (x, rest) = square.split_once(' ').unwrap();
        let (y, rest) = rest.split_once('h').unwrap();
        let (wide, rest) = rest.split_once('v').unwrap();
        let (x, y, wide, high) = (number(x), number(y), number(wide), number(rest));
        for row in y..y + high {
            dark[row * width + x..row * width + x + wide].fill(true);
        }
    }
    let mut read =
        rqrr::PreparedImage::prepare_from_greyscale(width, width, |x, y| if dark[y * width + x] { 0 } else { 255 });
    read.detect_grids().first().unwrap().decode().unwrap().1
}

#[test]
fn a_role_that_must_have_codes_opens_nothing_before_it_has_set_them_up() {
    let folder = programme(40);
    let file = roles(folder.path());
    let before = std::fs::read_to_string(&file).unwrap();
    let desk = desk(folder.path(), &file, &["--require-codes", "planner"]);
    // A rep need not, and may.
    let mut rep = at_own_account(&desk, "rep", PASSWORD);
    let page = rep.get("/account").body;
    assert!(
        page.contains("href=\"/account/codes\"") && page.contains("15 characters at least"),
        "{page}"
    );
    // An admin's role is a later one, so it must as well.
    for name in ["planner", "admin"] {
        let (mut owing, reply) = sign_in(&desk, name, PASSWORD, "");
        assert_eq!(
            (reply.status, reply.headers["location"].as_str()),
            (303, "/account/codes")
        );
        let page = owing.get("/account/codes").body;
        assert!(
            !page.contains("<nav") && page.contains("Your role signs in with a one-time code"),
            "{page}"
        );
        for (path, needs) in RIGHTS {
            if *needs == Needs::Nobody || WHILE_CODES_ARE_OWED.contains(path) {
                continue;
            }
            let path = path.replace("{link}", "x");
            for reply in [
                owing.get(&path),
                owing.post(&path, &[("password", PASSWORD), ("who", "rep")]),
            ] {
                assert_eq!(
                    (reply.status, reply.headers["location"].as_str()),
                    (303, "/account/codes"),
                    "{name} {path}"
                );
            }
        }
        owing.get("/account/codes");
        assert_eq!(owing.post("/sign-out", &[]).status, 303);
    }
    assert_eq!(
        rep.get("/phone").status,
        200,
        "a session that opens nothing ended another"
    );
    let (mut elsewhere, _) = sign_in(&desk, "planner", PASSWORD, "");
    let (mut owing, _) = sign_in(&desk, "planner", PASSWORD, "");
    let page = owing.get("/account/codes").body;
    let offered = offered_secret(&page);
    assert_eq!(
        offered_secret(&owing.get("/account/codes").body),
        offered,
        "drawn again, the page has another secret"
    );
    assert_ne!(
        offered_secret(&elsewhere.get("/account/codes").body),
        offered,
        "two sessions share a secret"
    );
    let link = read_picture(&page);
    assert!(
        link.starts_with("otpauth://totp/") && link.contains(&format!("secret={offered}")),
        "{link}"
    );
    let at = step();
    let [right, wrong] = [code(&offered, at), code(&offered, at + 1_000)];
    let mut set_up =
        |password: &str, new: &str| owing.post("/account/codes", &[("password", password), ("new_code", new)]);
    assert_eq!(set_up(PASSWORD, &wrong).status, 422);
    assert_eq!(set_up("not quite it at all", &right).status, 422);
    assert_eq!(
        std::fs::read_to_string(&file).unwrap(),
        before,
        "a wrong try changed the file"
    );
    let done = set_up(PASSWORD, &right);
    assert!(
        done.status == 200 && done.body.contains("One-time codes are set up"),
        "{}",
        done.body
    );
    assert_eq!(owing.get("/plan").status, 200);
    assert_eq!(
        elsewhere.get("/account/codes").headers["location"],
        "/sign-in",
        "another session of the account goes on"
    );
    // The file has the secret, of this name alone, and is its owner's alone.
    let line = before.lines().find(|line| line.trim().starts_with("planner:")).unwrap();
    let now = format!("{}:codes={offered}", line.trim());
    assert_eq!(std::fs::read_to_string(&file).unwrap(), before.replace(line, &now));
    #[cfg(unix)]
    assert_eq!(mode(&file), 0o600);
    let told = audit(&desk);
    assert!(
        told.lines().any(|line| line.contains(
            r#""who":"planner","event":"account-changed","account":"planner","what":["codes"],"address":"127.0.0.1""#
        )),
        "{told}"
    );
    assert!(
        !told.contains(&offered) && told.matches("change-refused").count() == 1,
        "{told}"
    );
    // From now on the password alone opens nothing, nor does the code that was typed here.
    for code in ["", right.as_str(), wrong.as_str()] {
        assert_eq!(sign_in(&desk, "planner", PASSWORD, code).1.status, 403, "{code:?}");
    }
    let (mut planner, reply) = sign_in(&desk, "planner", PASSWORD, &code(&offered, at + 1));
    assert_eq!((reply.status, reply.headers["location"].as_str()), (303, "/phone"));
    assert_eq!(planner.get("/plan").status, 200);
}

#[test]
fn what_was_typed_before_codes_were_owed_is_offered_after_they_are_set_up() {
    let folder = programme(40);
    let file = roles(folder.path());
    let mut without = desk(folder.path(), &file, &[]);
    let mut client = at_own_account(&without, "planner", PASSWORD);
    let (path, _) = open(&mut client, &without);
    client.get(&path);
    without.kill();
    let desk = desk(folder.path(), &file, &["--require-codes", "rep"]);
    let mut after = Client::new(desk.address);
    (after.cookie, after.csrf) = (client.cookie.clone(), client.csrf.clone());
    let reply = after.post(&format!("{path}/note"), &NOTE);
    let (_, fields) = offered(&reply.body);
    let mut right = pairs(&fields);
    right.extend([("name", "planner"), ("password", PASSWORD)]);
    let page = after.post("/sign-in", &right).body;
    let secret = offered_secret(&page);
    // A slip between loses nothing.
    let (action, fields) = offered(&page);
    let mut slip = pairs(&fields);
    slip.extend([("password", PASSWORD), ("new_code", "12345")]);
    let (_, fields) = offered(&after.post(&action, &slip).body);
    let code = code(&secret, step());
    let mut right = pairs(&fields);
    right.extend([("password", PASSWORD), ("new_code", code.as_str())]);
    let reply = after.post(&action, &right);
    assert_eq!(reply.status, 409, "{}", reply.body);
    let (action, fields) = offered(&reply.body);
    assert!(
        !fields
            .iter()
            .any(|(_, value)| value.contains(PASSWORD) || *value == code)
    );
    assert_eq!(after.post(&action, &pairs(&fields)).status, 303);
    let card = after.get(action.strip_suffix("/note").unwrap()).body;
    assert!(plain(&card).contains(NOTE[2].1), "the note is not on the card");
}

#[test]
fn people_change_their_own_password_and_all_their_other_sessions_end() {
    let folder = programme(40);
    let file = roles(folder.path());
    // A line as files had them before there were roles.
    let before = std::fs::read_to_string(&file).unwrap().replace(":role=planner", "");
    secret(&file, &before);
    let desk = desk(folder.path(), &file, &[]);
    let mut own = at_own_account(&desk, "planner", PASSWORD);
    let mut elsewhere = at_own_account(&desk, "planner", PASSWORD);
    let mut rep = at_own_account(&desk, "rep", PASSWORD);
    let mut stolen = own.clone();
    let new = [("password", PASSWORD), ("new_password", OTHER), ("new_again", OTHER)];
    let reply = own.post("/account/password", &new);
    assert!(
        reply.status == 200 && reply.body.contains("Your password is changed"),
        "{}",
        reply.body
    );
    assert!(
        !reply.body.contains(OTHER) && !reply.body.contains(PASSWORD),
        "a password stands in the page"
    );
    assert_eq!(own.get("/plan").status, 200);
    for (who, ended) in [("elsewhere", &mut elsewhere), ("the cookie of before", &mut stolen)] {
        assert_eq!(ended.get("/phone").headers["location"], "/sign-in", "{who} goes on");
    }
    assert_eq!(rep.get("/phone").status, 200, "somebody else's session ended");
    // In force at once.
    assert_eq!(sign_in(&desk, "planner", PASSWORD, "").1.status, 403);
    assert_eq!(sign_in(&desk, "planner", OTHER, "").1.status, 303);
    let line = before.lines().find(|line| line.trim().starts_with("planner:")).unwrap();
    let now = line_of(&file, "planner");
    assert!(
        now.starts_with("planner:$argon2id$") && now.ends_with(":role=planner") && !now.contains(line.trim()),
        "{now}"
    );
    assert_eq!(
        std::fs::read_to_string(&file).unwrap(),
        before.replace(line, &now),
        "another line changed"
    );
    #[cfg(unix)]
    assert_eq!(mode(&file), 0o600);
    // The looks at changed files, every two seconds, find nothing new.
    std::thread::sleep(Duration::from_secs(5));
    assert_eq!(own.get("/plan").status, 200, "a later look ended the session");
    let told = audit(&desk);
    assert!(
        told.contains(
            r#""who":"planner","event":"account-changed","account":"planner","what":["password"],"address":"127.0.0.1""#
        ),
        "{told}"
    );
    assert_eq!(told.matches("account-changed").count(), 1, "{told}");
    assert!(!told.contains("argon2") && !told.contains(OTHER) && !told.contains(PASSWORD));
    // After a restart too.
    drop(desk);
    let desk = self::desk(folder.path(), &file, &[]);
    assert_eq!(sign_in(&desk, "planner", PASSWORD, "").1.status, 403);
    assert_eq!(sign_in(&desk, "planner", OTHER, "").1.status, 303);
}

#[test]
fn what_is_wrong_with_a_new_password_is_told_and_nothing_is_changed() {
    let folder = programme(40);
    let file = roles(folder.path());
    let before = std::fs::read_to_string(&file).unwrap();
    let desk = desk(folder.path(), &file, &[]);
    let mut own = at_own_account(&desk, "rep", PASSWORD);
    let mut elsewhere = at_own_account(&desk, "rep", PASSWORD);
    let long = "ab ".repeat(90);
    let wrong = [
        (
            PASSWORD,
            OTHER,
            "lantern gravel otter sashes",
            "not typed the same way twice",
        ),
        (PASSWORD, PASSWORD, PASSWORD, "is the one you have"),
        (PASSWORD, "short otter", "short otter", "has 15 to 256 characters"),
        (PASSWORD, long.as_str(), long.as_str(), "has 15 to 256 characters"),
        (
            PASSWORD,
            "passwordpassword",
            "passwordpassword",
            "one of the first that a guesser tries",
        ),
        (
            "four quiet herons fly",
            OTHER,
            OTHER,
            "the password or the one-time code is not right",
        ),
        ("", OTHER, OTHER, "the password or the one-time code is not right"),
        // As it is typed, blanks and all.
        (
            " four quiet herons wade",
            OTHER,
            OTHER,
            "the password or the one-time code is not right",
        ),
    ];
    for language in ["en", "es"] {
        let back = own.post(
            "/settings",
            &[("language", language), ("units", "us"), ("back", "/account")],
        );
        assert_eq!(back.headers["location"], "/account");
        must_be_known(&mut own, language);
        for (old, new, again, told) in wrong {
            own.get("/account");
            let fields = [("password", old), ("new_password", new), ("new_again", again)];
            let reply = own.post("/account/password", &fields);
            assert_eq!(reply.status, 422, "{old} {new}");
            for typed in [old, new, again].into_iter().filter(|typed| !typed.is_empty()) {
                assert!(!reply.body.contains(typed), "{typed} stands in the page");
            }
            if language == "es" {
                must_be_spanish("/account", &reply.body, &[UTILITY.into()]);
            } else {
                assert!(
                    reply.body.contains("Nothing was changed") && reply.body.contains(told),
                    "{told}: {}",
                    reply.body
                );
            }
        }
    }
    assert_eq!(std::fs::read_to_string(&file).unwrap(), before);
    assert_eq!(elsewhere.get("/phone").status, 200);
    // Six of these were wrong passwords; whoever goes on guessing in an open session is slowed as at the sign-in.
    let fields = [("password", "a guess"), ("new_password", OTHER), ("new_again", OTHER)];
    let slowed = (0..8)
        .map(|_| own.post("/account/password", &fields))
        .find(|reply| reply.status == 429);
    assert!(
        slowed.is_some_and(|reply| reply.headers.contains_key("retry-after")),
        "guesses are not slowed"
    );
    let told = audit(&desk);
    assert!(
        told.matches("change-refused").count() >= 10 && told.contains("change-slowed"),
        "{told}"
    );
}

/// Pages that hold nothing of the list, in the language that was chosen.
fn must_be_known(client: &mut Client, language: &str) {
    for path in ["/account", "/account/codes"] {
        let body = client.get(path).body;
        assert!(body.contains(&format!("<html lang=\"{language}\"")));
        if language == "es" {
            must_be_spanish(path, &body, &[UTILITY.into()]);
        }
    }
}

#[test]
fn an_account_with_codes_is_changed_with_a_code_only() {
    let folder = programme(40);
    let file = roles(folder.path());
    let secret_now = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ";
    let text = std::fs::read_to_string(&file).unwrap();
    secret(
        &file,
        text.replace(":role=rep", &format!(":role=rep:codes={secret_now}")),
    );
    let desk = desk(folder.path(), &file, &["--require-codes", "rep"]);
    let at = step();
    let (mut own, reply) = sign_in(&desk, "rep", PASSWORD, &code(secret_now, at - 1));
    assert_eq!((reply.status, reply.headers["location"].as_str()), (303, "/phone"));
    assert!(own.get("/account").body.contains("name=\"code\""));
    let password = |own: &mut Client, code: &str| {
        let new = [
            ("password", PASSWORD),
            ("code", code),
            ("new_password", OTHER),
            ("new_again", OTHER),
        ];
        own.post("/account/password", &new).status
    };
    assert_eq!(password(&mut own, ""), 422);
    assert_eq!(
        password(&mut own, &code(secret_now, at - 1)),
        422,
        "a code served twice"
    );
    // Other codes in place of those: the new ones prove nothing of the old.
    let offered = offered_secret(&own.get("/account/codes").body);
    let new = code(&offered, at);
    for old in ["", new.as_str()] {
        let fields = [("password", PASSWORD), ("code", old), ("new_code", new.as_str())];
        assert_eq!(own.post("/account/codes", &fields).status, 422, "{old:?}");
    }
    assert!(line_of(&file, "rep").ends_with(&format!(":codes={secret_now}")));
    let old = code(secret_now, at);
    let fields = [
        ("password", PASSWORD),
        ("code", old.as_str()),
        ("new_code", new.as_str()),
    ];
    assert_eq!(own.post("/account/codes", &fields).status, 200);
    assert!(line_of(&file, "rep").ends_with(&format!(":role=rep:codes={offered}")));
    assert_eq!(
        password(&mut own, &code(secret_now, at + 1)),
        422,
        "a code of the old secret serves"
    );
    assert_eq!(password(&mut own, &code(&offered, at + 1)), 200);
    // The codes stay with the new password.
    assert!(line_of(&file, "rep").ends_with(&format!(":role=rep:codes={offered}")));
}

#[cfg(unix)]
#[test]
fn a_change_reaches_what_a_link_leads_to_and_the_desk_beside() {
    let folder = programme(40);
    let file = roles(folder.path());
    let place = folder.path().join("secrets");
    std::fs::create_dir(&place).unwrap();
    let real = place.join("real.txt");
    std::fs::rename(&file, &real).unwrap();
    std::os::unix::fs::symlink(&real, &file).unwrap();
    let desk = desk(folder.path(), &file, &[]);
    let beside = {
        let (log, place) = (folder.path().join("beside.db"), file.display().to_string());
        DeskRun::start_with_log(folder.path(), &log, &["--password-file", place.as_str()])
    };
    let mut own = at_own_account(&desk, "rep", PASSWORD);
    let mut there = at_own_account(&beside, "rep", PASSWORD);
    let mut admin = at_own_account(&beside, "admin", PASSWORD);
    let fields = [("password", PASSWORD), ("new_password", OTHER), ("new_again", OTHER)];
    assert_eq!(own.post("/account/password", &fields).status, 200);
    assert!(
        std::fs::symlink_metadata(&file).unwrap().is_symlink(),
        "the link was replaced"
    );
    assert_eq!(mode(&real), 0o600);
    soon("the session at the desk beside goes on", || {
        there.get("/phone").status == 303
    });
    assert_eq!(admin.get("/phone").status, 200);
    assert_eq!(sign_in(&beside, "rep", OTHER, "").1.status, 303);
    // Nothing unfinished lies about.
    assert_eq!(std::fs::read_dir(&place).unwrap().count(), 1);
}

#[test]
fn a_change_that_cannot_be_kept_changes_nothing_and_says_so() {
    let folder = programme(40);
    let place = folder.path().join("secrets");
    std::fs::create_dir(&place).unwrap();
    let file = roles(&place);
    let desk = desk(folder.path(), &file, &[]);
    let mut rep = at_own_account(&desk, "rep", PASSWORD);
    let mut admin = at_own_account(&desk, "admin", PASSWORD);
    let mut elsewhere = at_own_account(&desk, "rep", PASSWORD);
    // A folder that is gone stands for one that cannot be written, which does not stop an administrator's account.
    std::fs::rename(&place, folder.path().join("away")).unwrap();
    let fields = [("password", PASSWORD), ("new_password", OTHER), ("new_again", OTHER)];
    for (client, is_admin) in [(&mut rep, false), (&mut admin, true)] {
        let reply = client.post("/account/password", &fields);
        assert_eq!(reply.status, 500);
        assert!(
            reply.body.contains("the new account could not be kept"),
            "{}",
            reply.body
        );
        // Where the file lies is an administrator's to know.
        assert_eq!(reply.body.contains("No such file"), is_admin, "{}", reply.body);
        assert_eq!(client.get("/phone").status, 200);
    }
    assert_eq!(elsewhere.get("/phone").status, 200);
    assert_eq!(sign_in(&desk, "rep", OTHER, "").1.status, 403);
    assert_eq!(sign_in(&desk, "rep", PASSWORD, "").1.status, 303);
    let told = audit(&desk);
    assert!(
        told.contains(r#""event":"failed","page":"/account/password""#),
        "{told}"
    );
}

#[test]
fn people_see_their_open_sessions_and_end_the_others_with_their_password() {
    let folder = programme(40);
    let file = roles(folder.path());
    let desk = desk(folder.path(), &file, &[]);
    let mut own = at_own_account(&desk, "rep", PASSWORD);
    assert!(
        !own.get("/account").body.contains("/account/end"),
        "there is nothing to end"
    );
    let mut others = [0, 1].map(|_| at_own_account(&desk, "rep", PASSWORD));
    let mut admin = at_own_account(&desk, "admin", PASSWORD);
    let page = own.get("/account").body;
    let rows = page.split("<tbody>").nth(1).unwrap().split("</tbody>").next().unwrap();
    assert_eq!(
        (rows.matches("<tr>").count(), rows.matches("this one").count()),
        (3, 1),
        "{rows}"
    );
    assert_eq!(
        own.post("/account/end", &[("password", "four quiet herons fly")])
            .status,
        422
    );
    assert!(others.iter_mut().all(|other| other.get("/phone").status == 200));
    own.get("/account");
    assert_eq!(own.post("/account/end", &[("password", PASSWORD)]).status, 200);
    assert!(others.iter_mut().all(|other| other.get("/phone").status == 303));
    assert!(own.get("/phone").status == 200 && admin.get("/phone").status == 200);
    let told = audit(&desk);
    assert!(
        told.contains(r#""who":"rep","event":"sessions-ended","account":"rep","count":2"#),
        "{told}"
    );
}

#[test]
fn codes_are_demanded_from_a_role_that_there_is_and_of_people_who_sign_in() {
    let folder = programme(40);
    let file = roles(folder.path());
    let run = |more: &[&str]| {
        let out = program()
            .args(["desk", "--bind", "127.0.0.1:0", "--assemblies"])
            .arg(folder.path().join("demo/assemblies.csv"))
            .args(more)
            .output()
            .unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    let place = file.display().to_string();
    let (status, told) = run(&["--password-file", &place, "--require-codes", "boss"]);
    assert!(
        status == Some(2) && told.contains("BW-D12") && told.contains("rep, planner, admin"),
        "{told}"
    );
    let (status, told) = run(&["--require-codes", "rep"]);
    assert!(status == Some(2) && told.contains("--password-file"), "{told}");
    // Whoever looks after the accounts sees who has none yet.
    let secret_now = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ";
    let text = std::fs::read_to_string(&file).unwrap();
    secret(
        &file,
        text.replace(":role=admin", &format!(":role=admin:codes={secret_now}")),
    );
    let desk = desk(folder.path(), &file, &["--require-codes", "planner"]);
    let (mut admin, _) = sign_in(&desk, "admin", PASSWORD, &code(secret_now, step()));
    let people = admin.get("/people").body;
    let row = |name: &str| {
        people
            .split(&format!("<th scope=\"row\">{name}</th>"))
            .nth(1)
            .unwrap()
            .split("</tr>")
            .next()
            .unwrap()
            .to_owned()
    };
    assert!(
        row("planner").contains("at the next sign-in") && !row("rep").contains("at the next sign-in"),
        "{people}"
    );
    assert!(row("admin").contains("<td>Yes</td>"), "{people}");
}

/// Fills the fields of a page and sends its first form.
async fn filled(client: &fantoccini::Client, fields: &[(&str, &str)]) {
    for (css, typed) in fields {
        let field = client.find(fantoccini::Locator::Css(css)).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(typed).await.unwrap();
    }
    submit(client, "main form button").await;
}

/// A rep who owes codes goes all the way in a browser, at desk and telephone width; the accessibility engine looks at each page (set-up as in
/// `browser`).
#[tokio::test(flavor = "multi_thread")]
async fn the_pages_of_an_account_are_accessible_and_fit_a_telephone() {
    if skipped() {
        return;
    }
    let (driver, engine) = (Driver::start(), axe());
    for width in [1280, 360] {
        let folder = programme(40);
        let file = roles(folder.path());
        let desk = desk(folder.path(), &file, &["--require-codes", "rep"]);
        let (client, _profile) = driver.browser(width, true).await;
        let look = async |page: &str| {
            let page = format!("account-{page}-{width}");
            accessible(&client, &engine, &page).await;
            fits(&client, &page).await;
            picture(&client, &page).await;
        };
        client.goto(&desk.url("/phone")).await.unwrap();
        filled(&client, &[("#name", "rep"), ("#password", PASSWORD)]).await;
        look("owing").await;
        filled(&client, &[("#password", PASSWORD), ("#new-code", "123")]).await;
        assert!(
            text(&client, ".problem[role=alert]")
                .await
                .contains("the new code is not right")
        );
        look("wrong-code").await;
        let offered = text(&client, "main code").await.replace(' ', "");
        let at = step();
        let new = code(&offered, at);
        filled(&client, &[("#password", PASSWORD), ("#new-code", &new)]).await;
        assert!(text(&client, ".done").await.contains("One-time codes are set up"));
        look("set-up").await;
        let next = code(&offered, at + 1);
        let wrong = [
            ("#password", "not it at all"),
            ("#code", &next),
            ("#new-password", OTHER),
            ("#new-again", OTHER),
        ];
        filled(&client, &wrong).await;
        assert!(text(&client, ".problem").await.contains("not right"));
        look("wrong-password").await;
        let right = [
            ("#password", PASSWORD),
            ("#code", &next),
            ("#new-password", OTHER),
            ("#new-again", OTHER),
        ];
        filled(&client, &right).await;
        assert!(text(&client, ".done").await.contains("Your password is changed"));
        client.goto(&desk.url("/account/codes")).await.unwrap();
        look("codes-anew").await;
        client.close().await.unwrap();
    }
}
