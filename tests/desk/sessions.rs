//! Sessions: what is typed outlives them, visitors throw nobody out, guessers slow only themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, PASSWORD, programme, secret, sign_in, with_passwords};
use crate::http::open;
use std::path::Path;
use std::time::{Duration, Instant};

pub fn plain(text: &str) -> String {
    text.replace("&#x2f;", "/")
        .replace("&quot;", "\"")
        .replace("&#x27;", "'")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

/// Where the page's first form in `main` goes, and its hidden fields but the token.
pub fn offered(body: &str) -> (String, Vec<(String, String)>) {
    let main = body.split("<main").nth(1).unwrap().split("</main>").next().unwrap();
    let form = main.split("<form").nth(1).unwrap().split("</form>").next().unwrap();
    let attribute = |tag: &str, name: &str| {
        tag.split(&format!("{name}=\""))
            .nth(1)
            .map(|rest| plain(rest.split('"').next().unwrap()))
            .unwrap_or_default()
    };
    let fields = form
        .split("<input type=\"hidden\"")
        .skip(1)
        .map(|tag| (attribute(tag, "name"), attribute(tag, "value")))
        .filter(|(name, _)| name != "csrf")
        .collect();
    (attribute(form, "action"), fields)
}

pub fn pairs(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect()
}

pub const NOTE: [(&str, &str); 4] = [
    ("by", "Rosa"),
    ("outcome", "message-left"),
    ("text", "ring twice & wait <there>"),
    ("once", "n1"),
];

#[test]
fn a_note_sent_after_a_restart_is_offered_again_and_saved() {
    let folder = programme(40);
    let mut desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, row) = open(&mut client, &desk);
    client.get(&path);
    desk.kill();
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut after = Client::new(desk.address);
    (after.cookie, after.csrf) = (client.cookie.clone(), client.csrf.clone());
    let reply = after.post(&format!("{path}/note"), &NOTE);
    assert_eq!(reply.status, 409);
    assert!(plain(&reply.body).contains(NOTE[2].1), "what was typed is not shown");
    let (action, fields) = offered(&reply.body);
    assert_eq!(after.post(&action, &pairs(&fields)).status, 303);
    let card = after.get(action.strip_suffix("/note").unwrap()).body;
    assert!(
        card.contains(&row["assembly_id"]) && plain(&card).contains(NOTE[2].1),
        "the note is not on the card"
    );
}

#[test]
fn a_note_outlives_restart_and_sign_in_and_a_wrong_password_between() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let arguments = ["--password-file", file.as_str()];
    let mut desk = DeskRun::start_without_weather(folder.path(), &arguments);
    let mut client = Client::new(desk.address);
    assert_eq!(sign_in(&mut client, "rosa", PASSWORD), 303);
    let (path, _) = open(&mut client, &desk);
    client.get(&path);
    desk.kill();
    let desk = DeskRun::start_without_weather(folder.path(), &arguments);
    let mut after = Client::new(desk.address);
    (after.cookie, after.csrf) = (client.cookie.clone(), client.csrf.clone());
    let reply = after.post(&format!("{path}/note"), &NOTE);
    assert_eq!(reply.status, 401);
    let (action, fields) = offered(&reply.body);
    assert_eq!(action, "/sign-in");
    let mut wrong = pairs(&fields);
    wrong.extend([("name", "rosa"), ("password", "not quite it at all")]);
    let reply = after.post("/sign-in", &wrong);
    assert_eq!(reply.status, 403);
    assert!(
        !reply.body.contains("not quite it at all"),
        "a password stands in the page"
    );
    let (_, fields) = offered(&reply.body);
    let mut right = pairs(&fields);
    right.extend([("name", "rosa"), ("password", PASSWORD)]);
    let reply = after.post("/sign-in", &right);
    assert_eq!(reply.status, 409, "{}", reply.body);
    let (action, fields) = offered(&reply.body);
    assert_eq!(after.post(&action, &pairs(&fields)).status, 303);
    let card = after.get(action.strip_suffix("/note").unwrap()).body;
    assert!(plain(&card).contains(NOTE[2].1), "the note is not on the card");
    // Sent a second time it counts once.
    after.post(&action, &pairs(&fields));
    let card = plain(&after.get(action.strip_suffix("/note").unwrap()).body);
    assert_eq!(card.matches(NOTE[2].1).count(), 1);
}

#[test]
fn six_thousand_visitors_throw_nobody_out() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--password-file", &file, "--requests-per-second", "100000"],
    );
    let mut rosa = Client::new(desk.address);
    assert_eq!(sign_in(&mut rosa, "rosa", PASSWORD), 303);
    for _ in 0..6_000 {
        assert_eq!(Client::new(desk.address).get("/phone").status, 303);
    }
    assert_eq!(rosa.get("/phone").status, 200);
    // A visitor's cookie with another's mark, or made up, is no session.
    let mut forger = Client::new(desk.address);
    forger.get("/sign-in");
    let own = forger.cookie.clone().unwrap();
    let changed = own.replace(".en.us.", ".es.us.");
    assert_ne!(own, changed);
    forger.cookie = Some(changed);
    assert!(forger.get("/sign-in").headers.contains_key("set-cookie"));
}

#[test]
fn an_office_behind_one_address_signs_in_while_a_guesser_there_waits() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa", "omar"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file]);
    for _ in 0..20 {
        assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", PASSWORD), 303);
    }
    let mut guesser = Client::new(desk.address);
    guesser.get("/sign-in");
    let mut last = None;
    for _ in 0..12 {
        let reply = guesser.post("/sign-in", &[("name", "omar"), ("password", "guess")]);
        last = Some(reply);
    }
    let reply = last.unwrap();
    assert_eq!(reply.status, 429);
    // X-Val: RFC 9110, section 10.2.3: Retry-After is a number of seconds.
    let wait: u64 = reply.headers["retry-after"].parse().unwrap();
    assert!((1..=11).contains(&wait), "{wait}");
    assert!(reply.body.contains("Too many wrong tries"));
    assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", PASSWORD), 303);
    let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    let refused = audit.lines().filter(|line| line.contains("sign-in-refused")).count();
    assert!(refused >= 10 && audit.contains("\"who\":\"omar\"") && audit.contains("\"address\":\"127.0.0.1\""));
}

#[test]
fn who_is_taken_out_of_the_password_file_is_out() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa", "omar"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file]);
    let (mut rosa, mut omar) = (Client::new(desk.address), Client::new(desk.address));
    assert_eq!(
        (
            sign_in(&mut rosa, "rosa", PASSWORD),
            sign_in(&mut omar, "omar", PASSWORD)
        ),
        (303, 303)
    );
    let lines = std::fs::read_to_string(&file).unwrap();
    secret(Path::new(&file), lines.lines().next().unwrap());
    let until = Instant::now() + Duration::from_secs(20);
    while omar.get("/phone").status == 200 {
        assert!(Instant::now() < until, "omar is still in");
        std::thread::sleep(Duration::from_millis(200));
    }
    assert_eq!(rosa.get("/phone").status, 200);
    // A file that cannot be taken changes nothing and is told.
    secret(Path::new(&file), "nonsense");
    let until = Instant::now() + Duration::from_secs(20);
    while !rosa.get("/phone").body.contains("password file changed") {
        assert!(Instant::now() < until, "nothing is told");
        std::thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn two_hosts_and_a_way_past_the_proxy_are_refused() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.more = "Host: localhost\r\n".into();
    assert_ne!(client.get("/phone").status, 200);
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--behind-proxy", "--proxy", "192.0.2.1", "--password-file", &file],
    );
    assert_eq!(Client::new(desk.address).get("/sign-in").status, 403);
}

#[cfg(unix)]
#[test]
fn secrets_that_others_may_read_and_an_audit_file_that_is_a_link_are_refused_with_the_remedy() {
    use std::os::unix::fs::PermissionsExt;
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let run = |more: &[&str]| {
        let list = folder.path().join("demo/assemblies.csv");
        let out = crate::deskside::program()
            .args(["desk", "--bind", "127.0.0.1:0", "--assemblies"])
            .arg(list)
            .args(more)
            .output()
            .unwrap();
        (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned())
    };
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).unwrap();
    let (status, told) = run(&["--password-file", &file]);
    assert!(
        status == Some(2) && told.contains("BW-D08") && told.contains("chmod 600"),
        "{told}"
    );
    let link = folder.path().join("audit.jsonl");
    std::os::unix::fs::symlink(folder.path().join("elsewhere"), &link).unwrap();
    let (status, told) = run(&["--audit", &link.display().to_string()]);
    assert!(status == Some(2) && told.contains("BW-D31"), "{told}");
}
