//! The way in: guessers, proxies, what the audit says of them, what a changed password file does.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, PASSWORD, password_line, programme, secret, sign_in, with_passwords};
use std::path::Path;
use std::time::{Duration, Instant};

fn audit(desk: &DeskRun) -> Vec<serde_json::Value> {
    let text = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn count(desk: &DeskRun, event: &str) -> usize {
    audit(desk).iter().filter(|entry| entry["event"] == event).count()
}

/// Waits for what the desk does at its next look at its files.
fn soon(what: &str, mut holds: impl FnMut() -> bool) {
    let until = Instant::now() + Duration::from_secs(20);
    while !holds() {
        assert!(Instant::now() < until, "{what}");
        std::thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn tries_sent_all_at_once_do_not_get_past_the_limit() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--password-file", &file, "--requests-per-second", "100000"],
    );
    let clients: Vec<Client> = (0..40)
        .map(|_| {
            let mut client = Client::new(desk.address);
            client.get("/sign-in");
            client
        })
        .collect();
    let begun = Instant::now();
    let tries: Vec<_> = clients
        .into_iter()
        .enumerate()
        .map(|(n, mut client)| {
            std::thread::spawn(move || {
                let guess = format!("guess number {n}");
                client
                    .post("/sign-in", &[("name", "rosa"), ("password", guess.as_str())])
                    .status
            })
        })
        .collect();
    let statuses: Vec<u16> = tries.into_iter().map(|one| one.join().unwrap()).collect();
    let looked_at = statuses.iter().filter(|status| **status == 403).count();
    // Ten at once, as many as are being looked at when the tenth turns out wrong (one a core), and one more in ten seconds.
    let cores = std::thread::available_parallelism().unwrap().get();
    let most = 10 + cores + begun.elapsed().as_secs() as usize / 10;
    assert!((10..=most).contains(&looked_at), "{statuses:?}");
    assert_eq!(statuses.iter().filter(|status| **status == 429).count(), 40 - looked_at);
    // Every try that was looked at stands in the audit; of those that were not, so many that no flood fills the disk.
    assert_eq!(count(&desk, "sign-in-refused"), looked_at);
    assert!((1..=20).contains(&count(&desk, "sign-in-slowed")));
}

#[test]
fn who_tries_names_from_an_office_keeps_nobody_out_who_works_there() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--password-file", &file, "--requests-per-second", "100000"],
    );
    assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", PASSWORD), 303);
    let mut guesser = Client::new(desk.address);
    let slowed = (0..90).any(|n| sign_in(&mut guesser, &format!("name{n}"), "a guess") == 429);
    assert!(slowed, "ninety names were tried without a wait");
    for _ in 0..20 {
        assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", PASSWORD), 303);
    }
    let first = audit(&desk)
        .into_iter()
        .find(|entry| entry["event"] == "sign-in")
        .unwrap();
    assert!(first["who"] == "rosa" && first["address"] == "127.0.0.1", "{first}");
}

#[test]
fn a_password_counts_exactly_as_it_was_typed() {
    let folder = programme(40);
    let file = folder.path().join("passwords.txt");
    let blanks = format!(" {PASSWORD} ");
    secret(&file, password_line("rosa", &blanks));
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file.display().to_string()]);
    assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", PASSWORD), 403);
    assert_eq!(sign_in(&mut Client::new(desk.address), "rosa", &blanks), 303);
}

#[test]
fn a_client_behind_the_proxy_cannot_choose_its_own_address() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--behind-proxy", "--password-file", &file]);
    let mut guesser = Client::new(desk.address);
    let mut slowed = false;
    for n in 0..14 {
        // What it sends stands in a line of its own before the one that the proxy adds, as some proxies do it.
        guesser.more = format!("X-Forwarded-For: 203.0.113.{n}\r\nX-Forwarded-For: 192.0.2.7\r\n");
        slowed |= sign_in(&mut guesser, "rosa", "a guess") == 429;
    }
    assert!(slowed, "a made-up address was believed");
    let told = audit(&desk);
    let refused = told.iter().filter(|entry| entry["event"] == "sign-in-refused");
    assert!(refused.clone().count() >= 10 && refused.clone().all(|entry| entry["address"] == "192.0.2.7"));
}

#[test]
fn who_is_turned_away_stands_in_the_audit_and_a_flood_does_not_fill_it() {
    let folder = programme(40);
    let desk = DeskRun::start_without_weather(folder.path(), &["--requests-per-second", "100000"]);
    assert_eq!(count(&desk, "opened"), 1);
    let mut client = Client::new(desk.address);
    client.get("/phone");
    client.more = "Origin: http://elsewhere.example\r\n".into();
    assert_eq!(client.post("/settings", &[("language", "es")]).status, 403);
    assert_eq!(count(&desk, "foreign-form"), 1);
    client.more.clear();
    client.host = "elsewhere.example".into();
    for _ in 0..200 {
        assert_eq!(client.get("/phone").status, 421);
    }
    let noted = count(&desk, "foreign-host");
    assert!((1..=20).contains(&noted), "{noted}");
}

#[test]
fn what_changes_in_the_password_file_stands_in_the_audit() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa", "omar"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file]);
    let [rosa, omar] = ["rosa", "omar"].map(|name| {
        let lines = std::fs::read_to_string(&file).unwrap();
        let line = lines.lines().find(|line| line.starts_with(name));
        line.unwrap().to_owned()
    });
    // A new password and another role, an account that goes, one that comes.
    let other = password_line("rosa", "lantern gravel otter sash").replace(":role=planner", ":role=rep");
    secret(Path::new(&file), format!("{other}{}\n", omar.replace("omar:", "lena:")));
    soon("the changes are not in the audit", || {
        count(&desk, "account-changed") >= 3
    });
    let changed: Vec<String> = audit(&desk)
        .iter()
        .filter(|entry| entry["event"] == "account-changed")
        .map(|entry| format!("{} {}", entry["account"].as_str().unwrap(), entry["what"]))
        .collect();
    assert_eq!(
        changed,
        ["lena [\"added\"]", "omar [\"removed\"]", "rosa [\"password\",\"role\"]"]
    );
    // No hash and no secret stands there.
    let text = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    assert!(!text.contains("argon2") && !text.contains(rosa.split(':').nth(1).unwrap()));
}

#[cfg(unix)]
#[test]
fn a_password_file_that_others_may_read_is_not_taken_while_the_desk_runs_either() {
    use std::os::unix::fs::PermissionsExt;
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file]);
    let mut rosa = Client::new(desk.address);
    assert_eq!(sign_in(&mut rosa, "rosa", PASSWORD), 303);
    let set = |mode| std::fs::set_permissions(&file, std::fs::Permissions::from_mode(mode)).unwrap();
    let told = |rosa: &mut Client| rosa.get("/phone").body.contains("password file changed");
    assert!(!told(&mut rosa));
    set(0o644);
    soon("a loose mode is not told", || told(&mut rosa));
    assert_eq!(count(&desk, "accounts-not-taken"), 1);
    set(0o600);
    soon("a mended mode is not taken", || !told(&mut rosa));
}

/// X-Val: OWASP ASVS 5.0.0, items 3.4.3 to 3.4.6, 4.1.1, 13.4.4, 14.3.1: which headers, which values.
#[test]
fn every_answer_carries_its_headers_and_says_what_it_is() {
    let folder = programme(40);
    let file = with_passwords(folder.path(), &["rosa"]);
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file]);
    let mut client = Client::new(desk.address);
    assert_eq!(sign_in(&mut client, "rosa", PASSWORD), 303);
    let kinds = [
        ("/phone", 200, "text/html; charset=utf-8"),
        ("/people", 403, "text/html; charset=utf-8"),
        ("/nowhere", 404, "text/html; charset=utf-8"),
        ("/style.css", 200, "text/css; charset=utf-8"),
        ("/icon.svg", 200, "image/svg+xml; charset=utf-8"),
        // RFC 8259, section 11: JSON has no charset of its own, it is UTF-8.
        ("/health", 200, "application/json"),
    ];
    for (path, status, kind) in kinds {
        let reply = client.get(path);
        assert_eq!(
            (reply.status, reply.headers["content-type"].as_str()),
            (status, kind),
            "{path}"
        );
        let policy = &reply.headers["content-security-policy"];
        for part in [
            "default-src 'none'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
            "form-action 'self'",
        ] {
            assert!(policy.contains(part), "{path}: {policy}");
        }
        assert_eq!(reply.headers["x-content-type-options"], "nosniff", "{path}");
        assert_eq!(reply.headers["referrer-policy"], "same-origin", "{path}");
        assert!(!reply.headers.contains_key("access-control-allow-origin"), "{path}");
    }
    assert_eq!(client.send("TRACE", "/phone", None).status, 405);
    client.get("/phone");
    let mut before = client.clone();
    let out = client.post("/sign-out", &[]);
    assert!(
        out.headers["clear-site-data"].contains("\"cache\""),
        "{:?}",
        out.headers
    );
    // The cookie of before opens nothing any more.
    assert_eq!(before.get("/phone").status, 303);
}
