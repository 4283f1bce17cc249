//! Who may do what, one-time codes, and which passwords are taken.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside::{Client, DeskRun, program, programme, secret};
use brimwater::desk::rights::{Needs, RIGHTS, Role};
use brimwater::desk::second_factor::Codes;
use std::io::Write;
use std::path::Path;
use std::process::{Output, Stdio};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

const PASSWORD: &str = "four quiet herons wade";

fn made(arguments: &[&str], password: &str) -> Output {
    let mut maker = program()
        .arg("desk")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    writeln!(maker.stdin.take().unwrap(), "{password}").unwrap();
    maker.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A desk with a name for each role, which is its word.
fn desk(folder: &Path) -> DeskRun {
    let lines: String = Role::ALL
        .map(|role| text(&made(&["--password-line", role.word(), "--role", role.word()], PASSWORD).stdout))
        .concat();
    let file = folder.join("passwords.txt");
    secret(&file, lines);
    // Whoever walks every page for every role asks more often than a person may.
    let file = file.display().to_string();
    DeskRun::start(folder, &["--password-file", &file, "--requests-per-second", "1000"])
}

fn signed_in(desk: &DeskRun, name: &str, code: &str) -> (Client, u16) {
    let mut client = Client::new(desk.address);
    client.get("/sign-in");
    let status = client
        .post("/sign-in", &[("name", name), ("password", PASSWORD), ("code", code)])
        .status;
    client.get("/phone");
    (client, status)
}

#[test]
fn the_routes_are_those_with_a_right_and_no_others() {
    // Oracle: the source of the routes. A route without a right is answered by the guard as a page that is not there.
    let server = std::fs::read_to_string("src/desk/server.rs").unwrap();
    let mut routes: Vec<&str> = server
        .split(".route(")
        .skip(1)
        .map(|rest| rest.split('"').nth(1).unwrap())
        .collect();
    let mut rights: Vec<&str> = RIGHTS.iter().map(|(path, _)| *path).collect();
    routes.sort_unstable();
    rights.sort_unstable();
    assert_eq!(routes, rights);
}

#[test]
fn every_page_opens_for_its_roles_and_for_nobody_else() {
    let folder = programme(40);
    let desk = desk(folder.path());
    desk.wait_for_plan_as(signed_in(&desk, "planner", "").0);
    for role in Role::ALL {
        let (mut client, status) = signed_in(&desk, role.word(), "");
        assert_eq!(status, 303);
        for (path, needs) in RIGHTS {
            let Needs::Role(least) = needs else { continue };
            // Ending the session would end the walk.
            if ["/sign-out", "/people/end"].contains(path) {
                continue;
            }
            let path = path.replace("{link}", "x");
            let may = role >= *least;
            let (got, posted) = (client.get(&path).status, client.post(&path, &[]).status);
            assert_eq!(got != 403, may, "{} GET {path}: {got}", role.word());
            assert_eq!(posted != 403, may, "{} POST {path}: {posted}", role.word());
        }
        assert_eq!(client.get("/nothing").status, 404);
        let phone = client.get("/phone").body;
        assert_eq!(phone.contains("href=\"/plan\""), role >= Role::Planner);
        assert_eq!(phone.contains("href=\"/people\""), role == Role::Admin);
        let calls = client.get("/plan/calls").body;
        assert_eq!(calls.contains("/plan/again"), role >= Role::Planner);
    }
    // A visitor is led to the sign-in from everywhere.
    for (path, needs) in RIGHTS {
        if *needs != Needs::Nobody {
            assert_ne!(
                Client::new(desk.address).get(&path.replace("{link}", "x")).status,
                200,
                "{path}"
            );
        }
    }
    let (mut rep, _) = signed_in(&desk, "rep", "");
    let refused = rep.get("/plan");
    assert!(refused.body.contains("Not for your role"), "{}", refused.body);
    let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    assert!(audit.lines().any(|line| line.contains("not-allowed")
        && line.contains("\"who\":\"rep\"")
        && line.contains("\"page\":\"/plan\"")));
}

#[test]
fn an_administrator_ends_somebodys_sessions_and_a_changed_role_does_too() {
    let folder = programme(40);
    let desk = desk(folder.path());
    let (mut rep, _) = signed_in(&desk, "rep", "");
    let (mut admin, _) = signed_in(&desk, "admin", "");
    assert_eq!(rep.get("/phone").status, 200);
    assert!(admin.get("/people").body.contains("name=\"who\" value=\"rep\""));
    assert_eq!(admin.post("/people/end", &[("who", "rep")]).status, 303);
    assert_eq!(rep.get("/phone").status, 303);
    let audit = std::fs::read_to_string(desk.log.with_extension("audit.jsonl")).unwrap();
    assert!(
        audit.contains("\"event\":\"sessions-ended\",\"account\":\"rep\""),
        "{audit}"
    );
    // A line without a role, as files had before there were roles, is a planner's; a rep who becomes one signs in anew.
    let (mut rep, _) = signed_in(&desk, "rep", "");
    let file = folder.path().join("passwords.txt");
    let lines = std::fs::read_to_string(&file).unwrap();
    secret(&file, lines.replace(":role=rep", ""));
    let until = Instant::now() + Duration::from_secs(20);
    while rep.get("/phone").status == 200 {
        assert!(Instant::now() < until, "the session outlives the role");
        std::thread::sleep(Duration::from_millis(200));
    }
    let (mut rep, _) = signed_in(&desk, "rep", "");
    assert_eq!(rep.get("/plan").status, 200);
}

#[test]
fn a_right_password_without_its_code_opens_nothing_and_a_code_serves_once() {
    let folder = programme(40);
    let out = made(
        &["--password-line", "maria", "--role", "rep", "--one-time-codes"],
        PASSWORD,
    );
    let line = text(&out.stdout);
    let written = line.trim().split(":codes=").nth(1).unwrap().to_owned();
    let told = text(&out.stderr);
    assert!(told.contains("otpauth://totp/") && told.contains(&written), "{told}");
    let file = folder.path().join("passwords.txt");
    secret(&file, &line);
    let place = file.display().to_string();
    let arguments = ["--password-file", place.as_str()];
    let mut desk = DeskRun::start_without_weather(folder.path(), &arguments);
    assert_eq!(signed_in(&desk, "maria", "").1, 403);
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    // Oracle: the codes themselves, found by trying all of them; the module's own test holds them to the standard.
    let codes = Codes::read(&written).unwrap();
    let code = (0..1_000_000)
        .map(|n| format!("{n:06}"))
        .find(|code| codes.step_of(code, now) == Some(now / 30))
        .unwrap();
    let wrong = format!("{:06}", (code.parse::<u32>().unwrap() + 1) % 1_000_000);
    assert_eq!(signed_in(&desk, "maria", &wrong).1, 403);
    assert_eq!(signed_in(&desk, "maria", &code).1, 303);
    assert_eq!(signed_in(&desk, "maria", &code).1, 403, "a code served twice");
    // A desk that begins again, and one beside it, know of it.
    desk.kill();
    let desk = DeskRun::start_without_weather(folder.path(), &arguments);
    assert_eq!(
        signed_in(&desk, "maria", &code).1,
        403,
        "a code served again after a restart"
    );
    let marks = std::fs::read_to_string(folder.path().join("passwords.txt.used-codes")).unwrap();
    assert!(marks.ends_with(&format!("maria {}\n", now / 30)), "{marks}");
}

#[test]
fn passwords_that_are_guessed_first_are_refused_and_random_words_taken() {
    for (password, taken) in [
        (PASSWORD, true),
        ("lantern gravel otter sash", true),
        ("passwordpassword", false),
        ("123456789012345", false),
        ("qwertyuiopasdfgh", false),
        ("aaaaaaaaaaaaaaaaaaaa", false),
        ("mariamariamaria", false),
        ("heron", false),
    ] {
        let out = made(&["--password-line", "maria"], password);
        assert_eq!(out.status.success(), taken, "{password}: {}", text(&out.stderr));
        let told = text(&out.stderr);
        assert!(!told.contains(password), "the password is repeated: {told}");
        assert_eq!(text(&out.stdout).contains(":role=planner"), taken);
    }
    assert!(text(&made(&["--password-line", "maria", "--role", "boss"], PASSWORD).stderr).contains("BW-D12"));
}

#[test]
fn a_line_with_a_part_that_is_not_understood_is_refused() {
    let folder = programme(40);
    let line = text(&made(&["--password-line", "maria"], PASSWORD).stdout);
    let file = folder.path().join("passwords.txt");
    for wrong in [":role=boss", ":codes=AAAA", ":rights=all", ":role=rep:role=admin", ":"] {
        secret(&file, line.trim().replace(":role=planner", wrong));
        let out = program()
            .args(["desk", "--bind", "127.0.0.1:0", "--assemblies"])
            .arg(folder.path().join("demo/assemblies.csv"))
            .args(["--password-file", &file.display().to_string()])
            .output()
            .unwrap();
        let told = text(&out.stderr);
        assert!(
            out.status.code() == Some(2) && told.contains("BW-D23"),
            "{wrong}: {told}"
        );
        assert!(!told.contains("argon2id$v"), "{told}");
    }
}

/// Runs a command at a terminal of its own, types each answer when it is asked for, and gives all that was seen there.
const AT_A_TERMINAL: &str = "
import os, pty, sys, time
command, answers = sys.argv[1:6], sys.argv[6:]
child, terminal = pty.fork()
if child == 0:
    os.execv(command[0], command)
seen = b''
for asked, answer in zip((b'Password: ', b'Once more: '), answers):
    while not seen.endswith(asked):
        seen += os.read(terminal, 1)
    # Nobody types before there is time to read the question.
    time.sleep(0.3)
    os.write(terminal, answer.encode() + b'\\n')
try:
    while True:
        seen += os.read(terminal, 1000)
except OSError:
    pass
sys.stdout.buffer.write(seen)
sys.exit(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
";

/// X-Val: a terminal of the kernel's own (pty(7)), by Python's `pty`: it shows what is typed unless the program asks it not to.
#[cfg(target_os = "linux")]
#[test]
fn a_password_that_is_asked_for_at_a_terminal_is_not_seen_on_it() {
    let typed = |second: &str| {
        let command = [
            env!("CARGO_BIN_EXE_brimwater"),
            "desk",
            "--password-line",
            "maria",
            "--one-time-codes",
        ];
        let out = std::process::Command::new("python3")
            .args(["-c", AT_A_TERMINAL])
            .args(command)
            .args([PASSWORD, second])
            .output()
            .unwrap();
        (out.status.code(), text(&out.stdout))
    };
    let (status, seen) = typed(PASSWORD);
    assert!(
        status == Some(0) && seen.contains("maria:$argon2id$"),
        "{status:?}: {seen}"
    );
    assert!(!seen.contains("herons"), "{seen}");
    let (status, seen) = typed("four quiet herons fly");
    assert!(
        status == Some(2) && seen.contains("BW-D28") && !seen.contains("herons"),
        "{status:?}: {seen}"
    );
}
