//! What goes wrong with a server is told with what to do, and by the program itself without secrets.

use super::both::{event, item, noon};
use super::deskside::program;
use super::server::{self, ADMIN, PASSWORD, ServerRun, private, role};
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::address::{Address, Surroundings};
use brimwater::store::server::set_up::{self, Job};
use brimwater::store::{Filter, NewEvent, Store};
use chrono::{TimeDelta, Utc};
use std::path::Path;
use std::process::Output;

fn read(url: &str, around: &[(&str, &str)]) -> Address {
    let variable = |name: &str| {
        around
            .iter()
            .find(|(key, _)| *key == name)
            .map(|(_, value)| (*value).to_owned())
    };
    Address::read_in(Path::new(url), &Surroundings { variable: &variable }).unwrap()
}

fn log(args: &[&str], variables: &[(&str, &str)]) -> Output {
    let mut command = program();
    command
        .arg("log")
        .args(args)
        .env_remove("PGPASSWORD")
        .env("HOME", "/nonexistent");
    for (key, value) in variables {
        command.env(key, value);
    }
    command.output().unwrap()
}

fn told(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

#[test]
fn whoever_is_not_let_in_is_told_how_and_a_password_file_that_others_may_read_is_not_used() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let user = role(&database, "north", Job::Desk);
    let url = run.network_url(&user, &database);
    let folder = tempfile::tempdir().unwrap();
    let passes = folder.path().join("pgpass");
    let line = format!("# ours\nother:*:*:*:no\n127.0.0.1:{}:*:{user}:{PASSWORD}\n", run.port);
    private(&passes, &line);
    let file = passes.to_str().unwrap();
    for (variables, status, words) in [
        (vec![("PGPASSWORD", PASSWORD)], 0, "0 events"),
        (vec![("PGPASSFILE", file)], 0, "0 events"),
        (vec![("PGPASSWORD", "guessed wrong")], 2, "BW-L34"),
        (vec![], 2, "BW-L34"),
    ] {
        let output = log(&["--db", &url, "--list"], &variables);
        let text = told(&output);
        assert_eq!(output.status.code(), Some(status), "{variables:?}: {text}");
        assert!(text.contains(words), "{text}");
        assert!(!text.contains(PASSWORD) && !text.contains("guessed wrong"), "{text}");
    }
    std::fs::set_permissions(&passes, std::os::unix::fs::PermissionsExt::from_mode(0o644)).unwrap();
    let text = told(&log(&["--db", &url, "--list"], &[("PGPASSFILE", file)]));
    assert!(text.contains("BW-L34") && text.contains("chmod 600"), "{text}");
    let secret = url.replace('@', ":tops3cret@");
    let output = log(&["--db", &secret, "--list"], &[]);
    let text = told(&output);
    assert!(
        output.status.code() == Some(2) && text.contains("BW-L30") && !text.contains("tops3cret"),
        "{text}"
    );
    // The server got what it needs to check a password, never the password.
    assert!(!run.told().contains(PASSWORD), "a password stands in the server's log");
}

#[test]
fn a_wrong_place_another_database_another_version_and_a_missing_right_are_each_told() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let desk = role(&database, "north", Job::Desk);
    let code = |url: &str, programme: Option<&str>| {
        let fault = Server::open(&read(url, &[]), programme).unwrap_err();
        assert!(!fault.remedy.is_empty() || !fault.expected.is_empty(), "{fault}");
        fault.code
    };
    assert_eq!(
        code("postgres://x@127.0.0.1:1/calls", None),
        "BW-L33",
        "nobody listens there"
    );
    assert_eq!(code("postgres://x@/calls?host=/no/such/folder", None), "BW-L33");
    assert_eq!(code(&run.url(&desk, "no_such_database"), None), "BW-L35");
    assert_eq!(
        code(&run.url(&desk, "postgres"), None),
        "BW-L35",
        "a database of something else"
    );
    assert_eq!(code(&run.url(&desk, &database), Some("south")), "BW-L03");
    let mut admin = run.admin(&database).unwrap();
    admin
        .batch_execute(&format!("CREATE ROLE {database}_stranger LOGIN"))
        .unwrap();
    assert_eq!(
        code(&run.url(&format!("{database}_stranger"), &database), None),
        "BW-L37"
    );
    let reader = role(&database, "north", Job::Reader);
    let mut log = Server::open(&read(&run.url(&reader, &database), &[]), None).unwrap();
    assert_eq!(log.add(&event("C-1", Outcome::Done, 0)).unwrap_err().code, "BW-L37");
    assert_eq!(log.list(&Filter::default()).unwrap().len(), 0, "it may read");
    let mut log = Server::open(&read(&run.url(&desk, &database), &[]), None).unwrap();
    assert_eq!(
        log.load_queue(&[item("C-1", 1, 0, "en")], noon()).unwrap_err().code,
        "BW-L37"
    );
    assert!(
        log.add(&event("C-1", Outcome::Done, 0)).is_ok(),
        "a refusal does not end the session"
    );
    // Set up again changes nothing; a version that came later is left alone by everybody.
    let address = run.address(ADMIN, &database);
    assert_eq!(
        set_up::set_up(&address).unwrap(),
        brimwater::store::server::schema::version()
    );
    // Whoever may become the role that blanks sees all utilities' rows.
    let inside = format!("{database}_inside");
    admin
        .batch_execute(&format!(
            "CREATE ROLE {inside} LOGIN; GRANT brimwater_keeper TO {inside}"
        ))
        .unwrap();
    // A word of the language is a name like any other.
    set_up::enrol(&address, "user", "north", Job::Reader, None).unwrap();
    for (role, utility) in [
        ("Drop Table", "north"),
        ("brimwater_owner", "north"),
        ("pg_read_all_data", "x"),
        ("fine", ""),
        (ADMIN, "north"),
        (&inside, "north"),
        ("x\";--", "north"),
    ] {
        assert_eq!(
            set_up::enrol(&address, role, utility, Job::Desk, None)
                .unwrap_err()
                .code,
            "BW-L43",
            "{role}"
        );
    }
    admin
        .batch_execute("INSERT INTO brimwater.schema (version, digest, program) VALUES (99, 'x', '9.9')")
        .unwrap();
    assert_eq!(code(&run.url(&desk, &database), None), "BW-L36");
    assert_eq!(set_up::set_up(&address).unwrap_err().code, "BW-L36");
    let late = set_up::enrol(&address, "late_comer", "north", Job::Desk, None).unwrap_err();
    assert_eq!(late.code, "BW-L36");
}

/// The server's own error for a disk without room is SQLSTATE 53100 (PostgreSQL, "PostgreSQL Error Codes").
#[test]
fn a_server_without_room_is_told_and_the_note_is_on_it_afterwards_or_not_at_all() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let mut admin = run.admin(&database).unwrap();
    admin
        .batch_execute(
            "CREATE FUNCTION public.full() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN \
             IF NEW.contact = 'C-2' THEN RAISE EXCEPTION 'could not extend file' USING ERRCODE = '53100'; END IF; RETURN NEW; END $$; \
             GRANT USAGE ON SCHEMA public TO PUBLIC; \
             CREATE TRIGGER a_full BEFORE INSERT ON brimwater.events FOR EACH ROW EXECUTE FUNCTION public.full()",
        )
        .unwrap();
    let mut log = Server::open(&run.address(&role(&database, "north", Job::Desk), &database), None).unwrap();
    let told = log
        .add_all(&[event("C-1", Outcome::Done, 0), event("C-2", Outcome::Done, 0)])
        .unwrap_err();
    assert_eq!(told.code, "BW-L38", "{told}");
    assert_eq!(log.count().unwrap(), 0, "half of it was kept");
    admin.batch_execute("DROP TRIGGER a_full ON brimwater.events").unwrap();
    log.add(&event("C-2", Outcome::Done, 0)).unwrap();
}

/// A wrong program stamps the claim or the note by the desk's own clock: the note of a desk an hour behind would then stand before
/// one that was made earlier, and its claim would be over at once.
#[test]
fn a_clock_an_hour_off_is_told_and_the_servers_counts() {
    let Some(run) = server::shared() else { return };
    let database = run.database(&["north"]);
    let address = run.address(&role(&database, "north", Job::Planner), &database);
    let mut behind = Server::open_by(&address, None, || Utc::now() - TimeDelta::hours(1)).unwrap();
    let mut right = Server::open(&address, None).unwrap();
    assert!(right.clock_fault().is_none());
    let fault = behind.clock_fault().unwrap();
    assert!(
        fault.code == "BW-L40" && fault.what.contains("59 minutes behind") || fault.what.contains("60 minutes behind"),
        "{fault}"
    );
    let now = |outcome| NewEvent {
        at: Utc::now(),
        ..event("C-1", outcome, 0)
    };
    right.add(&now(Outcome::NoAnswer)).unwrap();
    behind
        .add(&NewEvent {
            at: Utc::now() - TimeDelta::hours(1),
            ..now(Outcome::Reached)
        })
        .unwrap();
    let history = right.history(None).unwrap();
    assert_eq!(history.0["C-1"].last, Outcome::Reached, "the later note counts");
    let mut open = item("C-7", 1, 0, "en");
    (open.slot_start, open.act_by) = (None, None);
    right.load_queue(&[open], Utc::now()).unwrap();
    let ask = |by: &str, hours: i64| brimwater::store::Ask {
        by: by.into(),
        spanish: false,
        now: Utc::now() - TimeDelta::hours(hours),
        early_first: true,
    };
    assert!(behind.next_call(&ask("Rosa", 1)).unwrap().is_some());
    assert!(
        right.next_call(&ask("Lee", 0)).unwrap().is_none(),
        "the claim of the desk behind holds"
    );
}

#[test]
fn an_encrypted_server_must_prove_who_it_is() {
    let Some(run) = ServerRun::start(&[]) else { return };
    let database = run.database(&["north"]);
    let user = role(&database, "north", Job::Desk);
    let word = [("PGPASSWORD", PASSWORD)];
    let url = |host: &str, more: &str| format!("postgres://{user}@{host}:{}/{database}?{more}", run.port);
    let refused = |url: &str| {
        let fault = Server::open(&read(url, &word), None).unwrap_err();
        assert_eq!(fault.code, "BW-L32", "{fault}");
    };
    refused(&url("127.0.0.1", "sslmode=require"));
    let authority = run.speak_tls();
    let authority = authority.display();
    // The system trusts no such authority, and the name must be the certificate's.
    refused(&url("localhost", "sslmode=require"));
    refused(&url(
        "127.0.0.1",
        &format!("sslmode=verify-full&sslrootcert={authority}"),
    ));
    refused(&url("localhost", "sslmode=verify-full&sslrootcert=/no/such/file"));
    let good = url("localhost", &format!("sslmode=verify-full&sslrootcert={authority}"));
    let mut log = Server::open(&read(&good, &word), Some("north")).unwrap();
    log.add(&event("C-1", Outcome::Done, 0)).unwrap();
    let encrypted: bool = run
        .admin(&database)
        .unwrap()
        .query_one("SELECT bool_and(s.ssl) FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) WHERE a.usename = $1::text::name", &[&user])
        .unwrap()
        .get(0);
    assert!(encrypted);
}
