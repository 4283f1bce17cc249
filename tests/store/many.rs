//! Fifty callers in eight processes, a short time; `benches/callers.rs` runs the ten minutes.

use super::callers::{Run, desk, run};
use super::server::ServerRun;
use std::time::Duration;

/// Not a test by itself: the process that the other starts and kills.
#[test]
fn callers_of_a_desk() {
    desk();
}

#[test]
fn fifty_callers_never_share_a_call_and_lose_no_note_while_desks_and_server_come_and_go() {
    let Some(server) = ServerRun::start(&[]) else { return };
    let plan = Run {
        time: Duration::from_secs(15),
        desks: 8,
        callers: 50,
        calls: 1_500,
        pause: Duration::from_millis(900),
        away: Duration::from_secs(2),
    };
    let report = run(&server, &plan, &["--exact", "many::callers_of_a_desk", "--nocapture"]);
    println!("{}", report.told());
    assert!(
        report.acknowledged > 200,
        "too little was done to show anything: {}",
        report.told()
    );
    assert!(
        report.lost.is_empty() && report.twice.is_empty() && report.never == 0,
        "{} {:?} {:?}",
        report.told(),
        report.lost,
        report.twice
    );
    assert_eq!(report.killed, 3);
}
