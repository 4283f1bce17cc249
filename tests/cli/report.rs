//! What the terminal tells of many faults.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::cli::common::told;
use brimwater::faults::{Fault, Faults, Severity};

#[test]
fn the_gravest_come_first_and_repetition_is_counted() {
    let mut faults = Faults::new();
    for _ in 0..50 {
        faults.push(Fault::new("BW-A15", Severity::Note, "a note"));
    }
    faults.push(Fault::new("BW-S11", Severity::Warning, "a gap"));
    for line in 0..30 {
        faults.push(Fault::new("BW-A06", Severity::Rejected, "a bad size").line(line));
    }
    faults.push(Fault::new("BW-I01", Severity::Fatal, "no such file"));
    let text = told(&faults);
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].starts_with("error: BW-I01"));
    assert!(lines[1].starts_with("rejected: BW-A06"));
    assert_eq!(lines.iter().filter(|line| line.starts_with("rejected")).count(), 3);
    assert_eq!(lines.iter().filter(|line| line.starts_with("note")).count(), 3);
    assert_eq!(*lines.last().unwrap(), "and 74 more: BW-A06 × 27, BW-A15 × 47");
}

#[test]
fn every_fatal_fault_is_told_up_to_twenty() {
    let mut faults = Faults::new();
    for _ in 0..25 {
        faults.push(Fault::new("BW-C02", Severity::Fatal, "an unknown key"));
    }
    let text = told(&faults);
    assert_eq!(text.lines().filter(|line| line.starts_with("error")).count(), 20);
    assert!(text.ends_with("and 5 more: BW-C02 × 5\n"));
}

#[test]
fn no_fault_tells_nothing() {
    assert_eq!(told(&Faults::new()), "");
}
