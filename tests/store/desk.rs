//! The desk's pages over a log on a server.

use super::deskside::{Client, DeskRun, program, programme};
use super::server::ServerRun;
use brimwater::outreach::outcome::Outcome;
use brimwater::store::server::Server;
use brimwater::store::server::set_up::{self, Job};
use brimwater::store::{NewEvent, Store};
use std::path::Path;
use std::time::{Duration, Instant};

#[test]
fn every_page_says_that_the_server_is_away_and_the_plan_takes_its_log_by_address() {
    let Some(run) = ServerRun::start(&[]) else { return };
    let folder = programme(60);
    let config = std::fs::read_to_string(folder.path().join("demo/config.toml")).unwrap();
    let name = brimwater::config::Config::from_toml(&config, "config.toml")
        .unwrap()
        .outreach
        .programme_id;
    let database = run.database(&["north"]);
    let user = format!("{database}_own_desk");
    set_up::enrol(
        &run.address(super::server::ADMIN, &database),
        &user,
        &name,
        Job::Desk,
        None,
    )
    .unwrap();
    let url = run.url(&user, &database);
    let spool = folder.path().join("spool.db");
    let desk = DeskRun::start_with_log(folder.path(), Path::new(&url), &["--spool", spool.to_str().unwrap()]);
    let away = "The server of the log cannot be reached";
    let mut client = Client::new(desk.address);
    assert!(!client.get("/phone").body.contains(away));
    run.stop();
    let until = Instant::now() + Duration::from_secs(10);
    while !client.get("/phone").body.contains(away) {
        assert!(Instant::now() < until, "it is not told");
        std::thread::sleep(Duration::from_millis(100));
    }
    for page in ["/phone", "/phone/drip", "/expansion", "/plan", "/no-such-page"] {
        let body = client.get(page).body;
        assert!(body.contains(away), "{page} says nothing");
        assert!(!body.contains("password"), "{page}");
    }
    assert_eq!(client.get("/health").status, 200);
    let files: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .flatten()
        .map(|e| e.file_name())
        .collect();
    assert!(
        files.iter().any(|file| file.to_string_lossy().ends_with("audit.jsonl")),
        "{files:?}"
    );
    // Without the server a desk still begins; a plan needs it, and says so.
    drop(desk);
    let desk = DeskRun::start_with_log(folder.path(), Path::new(&url), &["--spool", spool.to_str().unwrap()]);
    assert!(Client::new(desk.address).get("/phone").body.contains(away));
    let demo = folder.path().join("demo");
    let plan = |out: &str| {
        let mut command = program();
        command.args(["plan", "--members", "8", "--now", super::deskside::NOW, "--log", &url]);
        for (option, file) in [
            ("--assemblies", "assemblies.csv"),
            ("--series", "forecast.csv"),
            ("--stations", "stations.csv"),
            ("--config", "config.toml"),
        ] {
            command.arg(option).arg(demo.join(file));
        }
        command.arg("--out").arg(folder.path().join(out)).output().unwrap()
    };
    let done = plan("one");
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.code() == Some(2) && told.contains("BW-L33"), "{told}");
    run.go_on();
    Server::open(&run.address(&user, &database), None)
        .unwrap()
        .add(&NewEvent::now("C-1", Outcome::Done, "", "Rosa", "command"))
        .unwrap();
    let done = plan("two");
    assert!(
        done.status.code().is_some_and(|code| code < 2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let noted = std::fs::read_to_string(folder.path().join("two/run.json")).unwrap();
    assert!(noted.contains(&format!("postgres://{user}@")), "{noted}");
}
