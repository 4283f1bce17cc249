//! Memory of a plan against the length of its list.

use crate::demonstration;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// Largest resident size of a run, bytes, as the system counts it for the children of one process (getrusage, POSIX 1003.1).
fn resident_bytes(folder: &Path, arguments: &[&str]) -> f64 {
    let script = "import resource, subprocess, sys\n\
                  done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)\n\
                  assert done.returncode in (0, 1), done.stderr\n\
                  print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)";
    let done = std::process::Command::new("python3")
        .args(["-c", script, env!("CARGO_BIN_EXE_brimwater")])
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    // Linux counts kibibytes.
    1024.0 * String::from_utf8(done.stdout).unwrap().trim().parse::<f64>().unwrap()
}

/// The bar: a million assemblies in 1.5 GiB, which is 1,610 bytes an assembly with what is there before the first. Measured between two lists, for
/// the hours of the weather and the program itself do not grow. Catches a second copy of the list, outlooks or texts kept for each row.
#[test]
fn a_plan_grows_by_what_a_million_may_cost() {
    let sizes = if cfg!(debug_assertions) {
        [6_000, 12_000]
    } else {
        [100_000, 200_000]
    };
    let used = sizes.map(|size| {
        let folder = TempDir::new().unwrap();
        demonstration::make(folder.path(), size);
        let plan = demonstration::plan(&["--members", "8", "--advice-cases", "2", "--out", "out"]);
        let bytes = resident_bytes(folder.path(), &plan);
        let rows = fs::read_to_string(folder.path().join("out/ranking.csv"))
            .unwrap()
            .lines()
            .count()
            - 1;
        assert!(rows as f64 > 0.95 * size as f64, "{rows} of {size} planned");
        (rows as f64, bytes)
    });
    let each = (used[1].1 - used[0].1) / (used[1].0 - used[0].0);
    println!(
        "{:.0} and {:.0} MB: {each:.0} bytes an assembly",
        used[0].1 / 1e6,
        used[1].1 / 1e6
    );
    // The share of 1.5 GiB that is there before the first assembly is less than a tenth; a list's vectors grow by doubling, so a step may fall into
    // one measure and not the other (judgement: a quarter).
    assert!(each < 1.25 * 1_610.0, "{each:.0} bytes an assembly");
}
