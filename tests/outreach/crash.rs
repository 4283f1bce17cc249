//! A plan that is cut off at any write of any of its files: the plan that stood stays whole, or the new one stands whole, and the next run
//! clears up by itself.
//!
//! X-Val: the digests of the ledger, which `sha256sum --check` reads, and the two states that POSIX rename() allows.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use crate::made::{MadePlan, programme, start};
use brimwater::freeze::RunStats;
use brimwater::output::plan_folder::{self, Contents};
use brimwater::output::run_json;
use brimwater::output::safe::{Folder, MARK, Rights, Trial};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Writes a whole plan; the utility's name tells one from the next.
fn write(place: &Path, made: &MadePlan, name: &str, trial: Trial) -> Result<(), String> {
    let folder = Folder::build(place, Rights::Owner, trial).map_err(|fault| fault.to_string())?;
    let plan = made.plan();
    let run = run_json::Run {
        plan_id: name.into(),
        over: false,
        total: None,
        learning: None,
        adopted: BTreeMap::new(),
        now: start(),
        seed: 1,
        members: 256,
        options: BTreeMap::new(),
        inputs: &[],
        counts: plan.counts(),
        stats: &RunStats::default(),
        assumed: Default::default(),
        faults: BTreeMap::new(),
    };
    let contacts: [u8; 0] = [];
    let contents = Contents {
        plan: &plan,
        contacts: contacts.as_slice(),
        rejects: &[],
        run: &run,
        utility: name,
        cases: &[],
        figures: Vec::new(),
        parquet: true,
        files: vec![
            (
                "contacts.csv".into(),
                format!("contact_id,name\nC-1,{name}\n").into_bytes(),
            ),
            (
                "call_sheets/caller-01.csv".into(),
                b"contact_id,outcome,note,by\nC-1,,,\n".to_vec(),
            ),
        ],
    };
    plan_folder::write(&folder, contents).map_err(|faults| format!("{faults:?}"))?;
    folder.finish().map(drop).map_err(|fault| fault.to_string())
}

/// Whether a folder holds all that its ledger names, byte for byte, and every file of a plan.
fn whole(place: &Path) -> bool {
    let Ok(mark) = fs::read_to_string(place.join(MARK)) else {
        return false;
    };
    let named = mark.lines().skip(1).map(|line| line.split_once("  ").unwrap());
    let mut count = 0;
    for (sum, name) in named {
        count += 1;
        let Ok(bytes) = fs::read(place.join(name)) else {
            return false;
        };
        let digest: String = Sha256::digest(&bytes)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        // The sheet that the test fills is a person's from then on.
        if digest != sum && name != "call_sheets/caller-01.csv" {
            return false;
        }
    }
    count >= 10
        && ["plan.json", "ranking.csv", "ranking.parquet", "run.json", "report.html"]
            .iter()
            .all(|name| place.join(name).exists())
}

#[test]
fn a_plan_cut_off_at_any_write_leaves_a_whole_plan_and_the_sheet_that_was_filled() {
    const FILLED: &str = "contact_id,outcome,note,by\nC-1,reached,will drain,Rosa\n";
    let made = MadePlan::new(programme(6), true);
    for two_renames in [false, true] {
        let (mut stop, mut cuts) = (0, 0);
        loop {
            let root = tempfile::tempdir().unwrap();
            let place = root.path().join("plan");
            write(&place, &made, "Old", Trial::default()).unwrap();
            fs::write(place.join("call_sheets/caller-01.csv"), FILLED).unwrap();
            let trial = Trial {
                stop_after: Some(stop),
                two_renames,
            };
            let cut = write(&place, &made, "New", trial).is_err();
            cuts += usize::from(cut);
            let told = format!("two renames {two_renames}, step {stop}");
            if !two_renames {
                assert!(whole(&place), "{told}");
            }
            // The next run takes the way back though it is given up at once, and a person's work is there.
            drop(Folder::build(&place, Rights::Owner, Trial::default()).unwrap());
            assert!(whole(&place), "{told}");
            write(&place, &made, "Next", Trial::default()).unwrap();
            assert!(
                whole(&place) && fs::read_to_string(place.join("contacts.csv")).unwrap().contains("Next"),
                "{told}"
            );
            let kept = fs::read_dir(&place)
                .unwrap()
                .flatten()
                .map(|entry| entry.path().join("call_sheets/caller-01.csv"));
            let kept: Vec<String> = kept.filter_map(|path| fs::read_to_string(path).ok()).collect();
            assert_eq!(kept, [FILLED], "{told}");
            let left: Vec<_> = fs::read_dir(root.path())
                .unwrap()
                .flatten()
                .map(|entry| entry.file_name())
                .collect();
            assert_eq!(left, ["plan"], "{told}");
            if !cut {
                break;
            }
            stop += 1;
        }
        // Every file twice, the ledger, the exchange, the old folder.
        assert!((20..200).contains(&cuts), "{cuts}");
    }
}
