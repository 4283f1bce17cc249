//! The desk as a server: who is let in, what is kept out of links and logs, what survives a kill, a bad file, a taken port.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, encode, link, list, program, programme};
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::Stdio;
use std::time::{Duration, Instant};

pub(crate) fn open(client: &mut Client, desk: &DeskRun) -> (String, std::collections::HashMap<String, String>) {
    client.get("/phone");
    let row = list(&desk.assemblies)
        .into_iter()
        .find(|row| row["assembly_id"].starts_with("A-"))
        .unwrap();
    let found = client.post("/phone/find", &[("q", &row["assembly_id"])]);
    (link(&found.body, "/phone/a/").expect("a hit"), row)
}

#[test]
fn health_answers_200_with_the_version_and_every_answer_carries_its_policy() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let health = client.get("/health");
    assert_eq!(health.status, 200);
    assert!(health.body.contains(env!("CARGO_PKG_VERSION")), "{}", health.body);
    for path in ["/phone", "/expansion", "/plan", "/nowhere"] {
        let reply = client.get(path);
        let policy = &reply.headers["content-security-policy"];
        assert!(
            policy.contains("default-src 'none'") && !policy.contains("unsafe") && !policy.contains("script-src"),
            "{policy}"
        );
        assert_eq!(reply.headers["x-content-type-options"], "nosniff");
        assert_eq!(reply.headers["cache-control"], "no-store");
        assert!(!reply.body.contains("<script"), "{path} has a script");
        assert!(
            !reply.body.contains(" style=\""),
            "{path} has a style that the policy would block"
        );
    }
    assert_eq!(client.get("/nowhere").status, 404);
}

#[test]
fn only_its_own_names_are_answered_and_foreign_forms_are_refused() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.host = "rebound.example.com".into();
    assert_eq!(client.get("/phone").status, 421);
    client.host = format!("localhost:{}", desk.address.port());
    assert_eq!(client.get("/phone").status, 200);
    client.host = desk.address.to_string();
    client.more = "Origin: http://elsewhere.example.com\r\n".into();
    assert_eq!(client.post("/phone/find", &[("q", "a")]).status, 403);
    client.more.clear();
    // A form without the session's token, and one with another's: nothing is done, and what it holds is offered to be sent again.
    assert_eq!(client.post_raw("/phone/find", "q=a").status, 409);
    let mut other = Client::new(desk.address);
    other.get("/phone");
    let stolen = encode(&[("csrf", other.csrf.as_str()), ("q", "a")]);
    assert_eq!(client.post_raw("/phone/find", &stolen).status, 409);
    assert_eq!(client.post("/phone/find", &[("q", "a")]).status, 200);
    let mut cookie = Client::new(desk.address);
    let set = cookie.get("/phone").headers["set-cookie"].clone();
    assert!(set.contains("HttpOnly") && set.contains("SameSite=Strict"), "{set}");
}

#[test]
fn links_of_one_session_say_nothing_and_open_nothing_in_another() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, row) = open(&mut client, &desk);
    assert!(!path.contains(&row["assembly_id"]));
    assert!(client.get(&path).body.contains(&row["assembly_id"]));
    let mut other = Client::new(desk.address);
    other.get("/phone");
    assert_eq!(other.get(&path).status, 404);
}

#[test]
fn neither_output_nor_audit_holds_a_customers_name_number_or_address() {
    let folder = programme(40);
    let demo = folder.path().join("demo");
    let log = folder.path().join("calls.db");
    let mut child = program()
        .args(["desk", "--bind", "127.0.0.1:0", "--members", "4", "--log"])
        .arg(&log)
        .arg("--assemblies")
        .arg(demo.join("assemblies.csv"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The first line tells the port; the rest is read when the desk is gone.
    let mut out = child.stdout.take().unwrap();
    let mut told = Vec::new();
    let mut byte = [0u8; 1];
    while out.read(&mut byte).unwrap() == 1 && byte[0] != b'\n' {
        told.push(byte[0]);
    }
    let told = String::from_utf8(told).unwrap();
    let address = told
        .split("://")
        .nth(1)
        .unwrap()
        .split('/')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    let row = list(&demo.join("assemblies.csv"))
        .into_iter()
        .find(|row| !row["site_address"].is_empty() && !row["contact_name"].is_empty() && !row["phone"].is_empty())
        .unwrap();
    let mut client = Client::new(address);
    client.get("/phone");
    for asked in ["site_address", "contact_name", "phone"] {
        let found = client.post("/phone/find", &[("q", &row[asked])]);
        if let Some(path) = link(&found.body, "/phone/a/") {
            client.get(&path);
            client.post(
                &format!("{path}/note"),
                &[
                    ("by", "Rosa"),
                    ("outcome", "reached"),
                    ("text", "spoke"),
                    ("once", asked),
                ],
            );
        }
    }
    client.get("/phone/a/0000");
    child.kill().unwrap();
    let mut rest = String::new();
    out.read_to_string(&mut rest).unwrap();
    child.stderr.take().unwrap().read_to_string(&mut rest).unwrap();
    let _ = child.wait();
    let audit = std::fs::read_to_string(log.with_extension("audit.jsonl")).unwrap();
    // The trail is there, names who and what, and is nothing but JSON lines.
    assert!(
        audit.contains("\"event\":\"search\"")
            && audit.contains("\"event\":\"card\"")
            && audit.contains("\"who\":\"Rosa\""),
        "{audit}"
    );
    for line in audit.lines() {
        serde_json::from_str::<serde_json::Value>(line).unwrap();
    }
    // What the list's own faults quote on start is the reader's; none of them quotes these cells.
    for field in ["site_address", "contact_name", "phone"] {
        assert!(!audit.contains(&row[field]), "{field} in the audit");
        assert!(!rest.contains(&row[field]), "{field} in the output: {rest}");
    }
}

#[test]
fn a_note_is_whole_or_absent_after_a_kill_and_a_form_sent_twice_counts_once() {
    let folder = programme(40);
    let mut desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, row) = open(&mut client, &desk);
    let card = client.get(&path);
    let once = card
        .body
        .split("name=\"once\" value=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_string();
    for _ in 0..2 {
        let fields = [
            ("by", "Rosa"),
            ("outcome", "reached"),
            ("text", "pipe wrapped"),
            ("once", once.as_str()),
        ];
        assert_eq!(client.post(&format!("{path}/note"), &fields).status, 303);
    }
    // Many notes at once from several clients, and the power goes.
    let address = desk.address;
    let writers: Vec<_> = (0..4)
        .map(|writer| {
            let (mut client, path) = (client.clone(), path.clone());
            std::thread::spawn(move || {
                let mut acknowledged = 0;
                for at in 0..200 {
                    if TcpStream::connect(address).is_err() {
                        break;
                    }
                    let text = format!("note {writer} {at} end");
                    let fields = [("outcome", "no-answer"), ("text", text.as_str())];
                    let reply = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                        client.post(&format!("{path}/note"), &fields)
                    }));
                    match reply {
                        Ok(reply) if reply.status == 303 => acknowledged += 1,
                        _ => break,
                    }
                }
                acknowledged
            })
        })
        .collect();
    std::thread::sleep(Duration::from_millis(700));
    desk.kill();
    let acknowledged: usize = writers.into_iter().map(|writer| writer.join().unwrap()).sum();
    let told = program()
        .args(["log", "--calls", "--format", "json", "--db"])
        .arg(&desk.log)
        .output()
        .unwrap();
    let text = String::from_utf8(told.stdout).unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let whole = text.matches("note ").count();
    assert!(
        acknowledged > 0 && whole >= acknowledged,
        "{whole} kept of {acknowledged} acknowledged"
    );
    assert_eq!(whole, text.matches(" end\"").count(), "a note was cut");
    assert_eq!(
        text.matches("pipe wrapped").count(),
        1,
        "the form sent twice counts once"
    );
    assert!(text.contains(&row["assembly_id"]));
}

#[test]
fn a_changed_list_is_read_again_and_a_broken_one_is_told_while_the_old_is_kept() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.get("/phone");
    let old = std::fs::read_to_string(&desk.assemblies).unwrap();
    let id = list(&desk.assemblies)[0]["assembly_id"].clone();
    let found =
        |client: &mut Client, asked: &str| client.post("/phone/find", &[("q", asked)]).body.contains("/phone/a/");
    assert!(found(&mut client, &id));
    assert!(!found(&mut client, "QZX-90817"));
    let mut lines = old.lines();
    let (header, first) = (lines.next().unwrap(), lines.next().unwrap());
    let fresh = first.replacen(&id, "QZX-90817", 1);
    std::fs::write(&desk.assemblies, format!("{header}\n{first}\n{fresh}\n")).unwrap();
    let wait = |client: &mut Client, good: &dyn Fn(&mut Client) -> bool, what: &str| {
        let until = Instant::now() + Duration::from_secs(60);
        while !good(client) {
            assert!(Instant::now() < until, "{what}");
            std::thread::sleep(Duration::from_millis(400));
        }
    };
    wait(
        &mut client,
        &|client| found(client, "QZX-90817"),
        "the changed list was not read",
    );
    std::fs::write(&desk.assemblies, "nothing,of,use\n1,2,3\n").unwrap();
    wait(
        &mut client,
        &|client| client.get("/phone").body.contains("the earlier ones are still used"),
        "the broken list was not told",
    );
    assert!(found(&mut client, "QZX-90817"), "the old list was dropped");
}

#[test]
fn forms_too_long_and_clients_too_eager_are_turned_away_and_slow_ones_do_not_lock_it_up() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &["--requests-per-second", "5"]);
    let mut client = Client::new(desk.address);
    client.get("/phone");
    let long = format!("csrf={}&q={}", client.csrf, "a".repeat(200_000));
    assert_eq!(client.post_raw("/phone/find", &long).status, 413);
    // Sixty clients that never finish their request.
    let slow: Vec<_> = (0..60)
        .map(|_| {
            let mut stream = TcpStream::connect(desk.address).unwrap();
            stream.write_all(b"GET /phone HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    let asked = Instant::now();
    assert_eq!(client.get("/health").status, 200);
    assert!(asked.elapsed() < Duration::from_secs(5));
    drop(slow);
    let statuses: Vec<u16> = (0..60).map(|_| client.get("/health").status).collect();
    assert!(statuses.contains(&429), "nobody was slowed: {statuses:?}");
}

#[test]
fn beyond_loopback_it_demands_passwords_and_tls_and_says_why() {
    let folder = programme(40);
    let demo = folder.path().join("demo");
    let told = program()
        .args(["desk", "--bind", "0.0.0.0:0", "--assemblies"])
        .arg(demo.join("assemblies.csv"))
        .output()
        .unwrap();
    assert_eq!(told.status.code(), Some(2));
    let text = String::from_utf8_lossy(&told.stderr).into_owned();
    assert!(
        text.contains("BW-D06")
            && text.contains("BW-D07")
            && text.contains("--password-file")
            && text.contains("--tls-cert"),
        "{text}"
    );
}

#[test]
fn a_taken_port_a_missing_file_and_a_log_that_is_none_are_told_in_clear_words() {
    let folder = programme(40);
    let demo = folder.path().join("demo");
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let run = |more: &[&str]| {
        let told = program()
            .args(["desk", "--assemblies"])
            .arg(demo.join("assemblies.csv"))
            .args(more)
            .output()
            .unwrap();
        assert_eq!(told.status.code(), Some(2), "{more:?}");
        String::from_utf8_lossy(&told.stderr).into_owned()
    };
    let text = run(&["--bind", &taken.local_addr().unwrap().to_string()]);
    assert!(text.contains("BW-D05") && text.contains("taken"), "{text}");
    let text = run(&["--bind", "127.0.0.1:0", "--series", "no-such-file.csv"]);
    assert!(text.contains("no-such-file.csv"), "{text}");
    let not_a_log = folder.path().join("letter.txt");
    std::fs::write(&not_a_log, "Dear customer,\n").unwrap();
    let text = run(&["--bind", "127.0.0.1:0", "--log", &not_a_log.display().to_string()]);
    assert!(text.contains("BW-L0") && text.contains("letter.txt"), "{text}");
    assert_eq!(std::fs::read_to_string(&not_a_log).unwrap(), "Dear customer,\n");
}

#[test]
fn with_a_password_file_nothing_opens_before_signing_in_and_a_new_session_begins_then() {
    let folder = programme(40);
    let mut maker = program()
        .args(["desk", "--password-line", "rosa"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    maker
        .stdin
        .take()
        .unwrap()
        .write_all(b"four quiet herons wade\n")
        .unwrap();
    let line = maker.wait_with_output().unwrap();
    let line = String::from_utf8(line.stdout).unwrap();
    assert!(
        line.starts_with("rosa:$argon2id$") && !line.contains("herons"),
        "{line}"
    );
    let file = folder.path().join("passwords.txt");
    crate::deskside::secret(&file, line);
    let desk = DeskRun::start(folder.path(), &["--password-file", &file.display().to_string()]);
    let mut client = Client::new(desk.address);
    for path in ["/phone", "/plan", "/plan/calls", "/expansion", "/phone/drip"] {
        let reply = client.get(path);
        assert_eq!(
            (reply.status, reply.headers["location"].as_str()),
            (303, "/sign-in"),
            "{path}"
        );
    }
    client.get("/sign-in");
    let before = client.cookie.clone();
    assert_eq!(
        client
            .post("/sign-in", &[("name", "rosa"), ("password", "wrong")])
            .status,
        403
    );
    assert_eq!(
        client
            .post(
                "/sign-in",
                &[("name", "nobody"), ("password", "four quiet herons wade")]
            )
            .status,
        403
    );
    assert_eq!(
        client
            .post("/sign-in", &[("name", "rosa"), ("password", "four quiet herons wade")])
            .status,
        303
    );
    assert_ne!(client.cookie, before, "the session before signing in was kept");
    assert!(client.get("/phone").body.contains("rosa"));
    // Guessing runs dry.
    let mut guesser = Client::new(desk.address);
    guesser.get("/sign-in");
    let tries: Vec<u16> = (0..12)
        .map(|_| {
            guesser
                .post("/sign-in", &[("name", "rosa"), ("password", "guess")])
                .status
        })
        .collect();
    assert!(tries.contains(&429), "{tries:?}");
}

#[test]
fn two_reps_on_one_account_both_keep_their_notes() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut rosa = Client::new(desk.address);
    let (path_rosa, _) = open(&mut rosa, &desk);
    let mut omar = Client::new(desk.address);
    let (path_omar, _) = open(&mut omar, &desk);
    rosa.get(&path_rosa);
    omar.get(&path_omar);
    rosa.post(
        &format!("{path_rosa}/note"),
        &[
            ("by", "Rosa"),
            ("outcome", "reached"),
            ("text", "first word"),
            ("once", "r1"),
        ],
    );
    omar.post(
        &format!("{path_omar}/note"),
        &[
            ("by", "Omar"),
            ("outcome", "done"),
            ("text", "second word"),
            ("once", "o1"),
            ("follow", "4"),
        ],
    );
    let card = rosa.get(&path_rosa).body;
    assert!(card.contains("first word") && card.contains("second word") && card.contains("Omar"));
    assert!(
        rosa.get("/phone").body.contains("second word"),
        "the call-back is not on the list"
    );
}

#[test]
fn an_emergency_is_answered_even_when_the_rate_does_not_read() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.get("/phone/drip");
    let reply = client.post(
        "/phone/drip",
        &[
            ("hazard", "steam"),
            ("rate_other", "plenty"),
            ("where", "heater-relief"),
        ],
    );
    assert!(reply.body.contains(">Emergency</h1>"));
    let reply = client.post("/phone/drip", &[("rate_other", "plenty"), ("where", "heater-relief")]);
    assert!(!reply.body.contains("id=\"answer\"") && reply.body.contains("aria-invalid=\"true\""));
}

#[test]
fn what_a_caller_types_is_shown_as_text_and_never_as_markup() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.get("/phone");
    let odd = "<img src=x onerror=alert(1)>\"'&";
    let body = client.post("/phone/find", &[("q", odd)]).body;
    assert!(!body.contains("<img") && body.contains("&lt;img"));
    let body = client.post("/phone/drip", &[("rate_other", odd), ("air", odd)]).body;
    assert!(!body.contains("<img"));
    let body = client.post("/expansion", &[("heater", odd)]).body;
    assert!(!body.contains("<img"));
}

#[test]
fn the_printable_record_carries_its_own_style_allowed_by_its_hash_and_no_script() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    client.get("/expansion");
    let fields = [
        ("heater", "50 gal"),
        ("cold", "50 F"),
        ("hot", "140 F"),
        ("static", "60 psi"),
        ("closed_by", "check-valve"),
    ];
    let record = client.post("/expansion/record", &fields);
    let policy = &record.headers["content-security-policy"];
    let style = record
        .body
        .split("<style>")
        .nth(1)
        .unwrap()
        .split("</style>")
        .next()
        .unwrap();
    // X-Val: SHA-256 by the sha2 crate, base64 by the `base64` command of coreutils.
    let digest: Vec<u8> =
        sha2::Digest::finalize(<sha2::Sha256 as sha2::Digest>::new_with_prefix(style.as_bytes())).to_vec();
    let mut coder = std::process::Command::new("base64")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    coder.stdin.take().unwrap().write_all(&digest).unwrap();
    let coded = String::from_utf8(coder.wait_with_output().unwrap().stdout).unwrap();
    assert!(
        policy.contains(&format!("'sha256-{}'", coded.trim())),
        "{policy} lacks {coded}"
    );
    assert!(!policy.contains("unsafe") && !record.body.contains("<script"));
}

#[test]
fn while_another_program_holds_the_log_a_note_is_kept_on_the_page_and_other_pages_answer() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, _) = open(&mut client, &desk);
    client.get(&path);
    let holder = rusqlite::Connection::open(&desk.log).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let fields = [
        ("by", "Rosa"),
        ("outcome", "reached"),
        ("text", "wrapped <b>twice</b>"),
        ("once", "held-1"),
    ];
    let writing = {
        let (mut client, path) = (client.clone(), path.clone());
        std::thread::spawn(move || client.post(&format!("{path}/note"), &fields))
    };
    // Somebody else reads and searches meanwhile.
    std::thread::sleep(Duration::from_millis(300));
    let asked = Instant::now();
    let mut other = Client::new(desk.address);
    let (other_path, _) = open(&mut other, &desk);
    assert_eq!(other.get(&other_path).status, 200);
    assert!(
        asked.elapsed() < Duration::from_secs(3),
        "a waiting writer kept a reader for {:?}",
        asked.elapsed()
    );
    let reply = writing.join().unwrap();
    assert_eq!(reply.status, 503);
    assert!(
        reply.body.contains("The log did not take the note") && reply.body.contains("wrapped &lt;b&gt;twice"),
        "{}",
        reply.body
    );
    assert!(reply.body.contains("Save again") && reply.body.contains("name=\"once\" value=\"held-1\""));
    holder.execute_batch("ROLLBACK").unwrap();
    drop(holder);
    client.csrf = reply
        .body
        .split("name=\"csrf\" value=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_string();
    assert_eq!(client.post(&format!("{path}/note"), &fields).status, 303);
    let card = client.get(&path).body;
    assert_eq!(
        card.matches("wrapped &lt;b&gt;twice").count(),
        1,
        "the note stands not exactly once"
    );
}

#[test]
fn a_list_that_is_gone_while_running_keeps_the_old_one_and_says_so_until_it_is_back() {
    let folder = programme(40);
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let (path, row) = open(&mut client, &desk);
    let kept = desk.assemblies.with_extension("kept");
    std::fs::rename(&desk.assemblies, &kept).unwrap();
    let wait = |client: &mut Client, says: bool| {
        let until = Instant::now() + Duration::from_secs(30);
        while client.get("/phone").body.contains("the earlier ones are still used") != says {
            assert!(Instant::now() < until, "the page does not say {says}");
            std::thread::sleep(Duration::from_millis(300));
        }
    };
    wait(&mut client, true);
    assert!(
        client.get(&path).body.contains(&row["assembly_id"]),
        "the old list was dropped"
    );
    std::fs::rename(&kept, &desk.assemblies).unwrap();
    wait(&mut client, false);
    assert!(client.get(&path).body.contains(&row["assembly_id"]));
}

#[test]
fn a_plan_is_worked_out_again_on_request_and_the_one_that_is_there_stays_meanwhile() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    desk.wait_for_plan();
    let mut client = Client::new(desk.address);
    let before = client.get("/plan").body;
    assert!(before.contains("Plan of Jan 19, 8:00 PM."), "the plan tells no time");
    for _ in 0..3 {
        let again = client.post("/plan/again", &[]);
        assert_eq!((again.status, again.headers["location"].as_str()), (303, "/plan"));
        assert!(
            client.get("/plan").body.contains("<table"),
            "the plan was gone while a newer one was computed"
        );
    }
    // Nobody sets the desk to work without the form's token.
    let refused = client.post_raw("/plan/again", "");
    assert_eq!((refused.status, refused.headers["location"].as_str()), (303, "/phone"));
}

#[test]
fn behind_a_proxy_one_guesser_does_not_lock_the_others_out() {
    let folder = programme(40);
    let file = folder.path().join("passwords.txt");
    let mut maker = program()
        .args(["desk", "--password-line", "rosa"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    maker
        .stdin
        .take()
        .unwrap()
        .write_all(b"four quiet herons wade\n")
        .unwrap();
    crate::deskside::secret(&file, maker.wait_with_output().unwrap().stdout);
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--behind-proxy", "--password-file", &file.display().to_string()],
    );
    let mut guesser = Client::new(desk.address);
    guesser.more = "X-Forwarded-For: 192.0.2.7\r\n".into();
    guesser.get("/sign-in");
    let tries: Vec<u16> = (0..12)
        .map(|_| {
            guesser
                .post("/sign-in", &[("name", "rosa"), ("password", "guess")])
                .status
        })
        .collect();
    assert!(tries.contains(&429), "{tries:?}");
    let mut rosa = Client::new(desk.address);
    rosa.more = "X-Forwarded-For: 192.0.2.8\r\n".into();
    rosa.get("/sign-in");
    let signed = rosa.post("/sign-in", &[("name", "rosa"), ("password", "four quiet herons wade")]);
    assert_eq!(signed.status, 303);
}

#[test]
fn an_expansion_answer_does_not_contradict_itself() {
    let folder = programme(40);
    let desk = DeskRun::start_without_weather(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    // The form asks for every reading of the table, by its name there.
    let form = client.get("/expansion").body;
    for reading in brimwater::expansion::readings::READINGS {
        assert!(
            form.contains(&format!("name=\"{}\"", reading.field())),
            "{}",
            reading.key
        );
    }
    let usual = [
        ("heater", "40 gal"),
        ("cold", "50 F"),
        ("hot", "120 F"),
        ("static", "60 psi"),
    ];
    let mut ask = |more: &[(&str, &str)]| client.post("/expansion", &[&usual[..], more].concat()).body;
    // Open plumbing needs neither tank nor relief, so none is sized.
    let open = ask(&[("closed_by", "prv-with-bypass"), ("street", "75 psi")]);
    assert!(open.contains("Nothing is needed") && !open.contains("Smallest tank"));
    assert!(open.contains("were the plumbing closed"));
    // And it is told plainly: the pressure stays, and no chart climbs.
    assert!(open.contains("stays at 60.0 psi") && !open.contains("<svg"));
    // A tank that does only once its precharge is set is no reason to be calm.
    let small = ask(&[
        ("closed_by", "check-valve"),
        ("existing_tank", "2.5 gal"),
        ("precharge", "40 psi"),
    ]);
    assert!(small.contains("Keep the tank that is there") && small.contains("class=\"answer mind\""));
    let set = ask(&[
        ("closed_by", "check-valve"),
        ("existing_tank", "2.5 gal"),
        ("precharge", "60 psi"),
    ]);
    assert!(set.contains("Keep the tank that is there") && set.contains("class=\"answer calm\""));
    // The street counts where nothing regulates it: 110 psi are over 80 psi before anything is heated.
    let street = ask(&[("closed_by", "check-valve"), ("street", "110 psi")]);
    assert!(street.contains("the limit is passed before any heating") && !street.contains("after 0"));
    // Only settings that hold the limit of 80 psi are shown as settings.
    let closed = ask(&[("closed_by", "check-valve")]);
    assert!(closed.contains("70.0 psi – 80.0 psi") && !closed.contains("70.0 psi – 100.0 psi"));
}

/// Catches a page that shows another list, hides what could not be read, or changes something.
#[test]
fn the_lists_page_shows_which_column_is_taken_for_which_and_the_config_that_says_so() {
    let folder = programme(40);
    let desk = DeskRun::start(folder.path(), &[]);
    let mut client = Client::new(desk.address);
    let before = std::fs::read(&desk.assemblies).unwrap();
    let page = client.get("/plan/list");
    assert_eq!(page.status, 200);
    let header = String::from_utf8_lossy(&before).lines().next().unwrap().to_owned();
    for told in ["[columns]", "assembly_id", "nominal_size_in", "How your list is read"] {
        assert!(page.body.contains(told), "{told}: {}", page.body);
    }
    assert!(header.contains("placement") && page.body.contains("<code>placement</code>"));
    let rows = list(&desk.assemblies).len();
    assert!(page.body.contains(&format!("rows: {rows} ")), "{rows}: {}", page.body);
    assert!(client.get("/plan").body.contains("/plan/list"));
    assert_eq!(std::fs::read(&desk.assemblies).unwrap(), before);
}
