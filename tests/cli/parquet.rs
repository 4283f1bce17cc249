//! Parquet out and in, held against an independent reader and writer (DuckDB, from its registry's package).

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// Runs a statement of DuckDB and gives what it printed; `None`, loudly, where the tests were asked to leave it out.
fn duckdb(folder: &Path, script: &str) -> Option<String> {
    if std::env::var_os("BRIMWATER_SKIP_DUCKDB").is_some() {
        eprintln!("SKIPPED: the test against DuckDB was left out by BRIMWATER_SKIP_DUCKDB");
        return None;
    }
    let done = std::process::Command::new("python3")
        .args(["-c", script])
        .env("PYTHONPATH", concat!(env!("CARGO_MANIFEST_DIR"), "/target/duckdb"))
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{}\nSet up with: python3 -m pip install --target target/duckdb duckdb; or leave this out with BRIMWATER_SKIP_DUCKDB=1",
        String::from_utf8_lossy(&done.stderr)
    );
    Some(String::from_utf8(done.stdout).unwrap())
}

fn brimwater(folder: &Path, arguments: &[&str]) -> std::process::Output {
    Command::cargo_bin("brimwater")
        .unwrap()
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap()
}

fn programme() -> TempDir {
    let folder = TempDir::new().unwrap();
    let done = brimwater(folder.path(), &["demo", "--out", "made", "--assemblies", "30"]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    for file in fs::read_dir(folder.path().join("made")).unwrap() {
        let file = file.unwrap();
        fs::rename(file.path(), folder.path().join(file.file_name())).unwrap();
    }
    folder
}

const PLAN: [&str; 13] = [
    "plan",
    "--series",
    "forecast.csv",
    "--stations",
    "stations.csv",
    "--config",
    "config.toml",
    "--members",
    "8",
    "--advice-cases",
    "2",
    "--now",
    "2027-01-18T15:00:00Z",
];

fn plan(folder: &Path, list: &str, out: &str) {
    let mut arguments = PLAN.to_vec();
    arguments.extend(["--assemblies", list, "--out", out, "--parquet", "--quiet"]);
    let done = brimwater(folder, &arguments);
    assert!(
        done.status.code() != Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
}

// X-Val: DuckDB reads both files and compares them cell by cell; moments by their instant, numbers as numbers. Catches a column
// shifted against its name, rounding that differs between the two, local times taken for UTC, nulls written as zero.
#[test]
fn the_parquet_ranking_tells_what_the_csv_tells_with_types_and_units() {
    let folder = programme();
    plan(folder.path(), "assemblies.csv", "out");
    let script = r#"
import duckdb, json
c = duckdb.connect()
c.execute("set timezone='UTC'")
csv = c.execute("select * from read_csv('out/ranking.csv', all_varchar=true, header=true)")
names = [d[0] for d in csv.description]; rows = csv.fetchall()
par = c.execute("select * from 'out/ranking.parquet'")
# The planner's list has fewer columns; who and until when is in it alone, and its own columns come last in both.
known = [d[0] for d in par.description]
people = ['act_by', 'contact_id']
assert [n for n in names if n not in people] and all(n in known for n in names if n not in people), (names, known)
assert len(known) > 25 and names[-1] == known[-1] and not any(p in known for p in people), known
types = {d[0]: str(d[1]) for d in par.description}
found = [[row[known.index(n)] if n in known else None for n in names] for row in par.fetchall()]
assert len(found) == len(rows) > 20
import datetime
for a, b in zip(rows, found):
    for name, x, y in zip(names, a, b):
        if name in people: continue
        if y is None: assert not x, (name, x, y)
        elif isinstance(y, float): assert float(x) == y, (name, x, y)
        elif isinstance(y, int): assert int(x) == y, (name, x, y)
        elif isinstance(y, datetime.datetime):
            assert datetime.datetime.fromisoformat(x.replace('Z', '+00:00')) == y, (name, x, y)
        else: assert (x or '').lstrip("'") == y.lstrip("'"), (name, x, y)
units = json.loads(bytes(c.execute("select value from parquet_kv_metadata('out/ranking.parquet') where key='brimwater.units'").fetchone()[0]))
print(types['p_damage'], types['rank'], types['first_ice_early'], units['p_damage'], units['min_air_f'], units['expected_loss_usd'])
"#;
    if let Some(said) = duckdb(folder.path(), script) {
        assert_eq!(said.trim(), "DOUBLE BIGINT TIMESTAMP WITH TIME ZONE 1 degF USD");
    }
}

// X-Val: the list written as Parquet by DuckDB, with its own types for numbers and dates, gives the very ranking of the CSV list.
// Catches dates as day counts, numbers with a fraction that identifiers lack, nulls read as words.
#[test]
fn a_list_in_parquet_is_the_list() {
    let folder = programme();
    let script = "import duckdb; duckdb.sql(\"copy (select * from read_csv('assemblies.csv', header=true, sample_size=-1)) to \
                  'assemblies.parquet' (format parquet)\")";
    if duckdb(folder.path(), script).is_none() {
        return;
    }
    plan(folder.path(), "assemblies.csv", "from-csv");
    plan(folder.path(), "assemblies.parquet", "from-parquet");
    let ranking = |out: &str| fs::read_to_string(folder.path().join(out).join("ranking.csv")).unwrap();
    assert_eq!(ranking("from-csv"), ranking("from-parquet"));
}

// X-Val: the Parquet format's own rule that a file begins and ends with PAR1 (its published specification). Catches a reader that stops
// the program on a broken file, or plans nothing in silence.
#[test]
fn a_broken_parquet_list_is_refused_in_words() {
    let folder = programme();
    plan(folder.path(), "assemblies.csv", "out");
    let whole = fs::read(folder.path().join("out/ranking.parquet")).unwrap();
    let mut flipped = whole.clone();
    for at in (8..flipped.len().saturating_sub(4)).step_by(97) {
        flipped[at] ^= 0x5a;
    }
    for bad in [&whole[..whole.len() / 2], b"PAR1", &flipped] {
        fs::write(folder.path().join("bad.parquet"), bad).unwrap();
        let done = brimwater(
            folder.path(),
            &["check", "--assemblies", "bad.parquet", "--config", "config.toml"],
        );
        let said = String::from_utf8_lossy(&done.stderr).into_owned() + &String::from_utf8_lossy(&done.stdout);
        assert_eq!(done.status.code(), Some(2), "{said}");
        assert!(said.contains("BW-I11"), "{said}");
    }
}

// X-Val: DuckDB reads offers.parquet beside offers.csv, and the rows of a review beside the table they came from, cell by cell. Catches a
// column shifted against its name, an absent figure written as zero, a chance rounded to its percent.
#[test]
fn offers_and_the_rows_of_a_review_in_parquet_are_those_of_their_tables() {
    let folder = TempDir::new().unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR"));
    let rows = samples.join("tests/data/learning/backtest.csv");
    fs::copy(&rows, folder.path().join("rows.csv")).unwrap();
    let done = brimwater(
        folder.path(),
        &["review", "--rows", "rows.csv", "--parquet", "rows.parquet"],
    );
    assert!(
        done.status.code() != Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let done = brimwater(folder.path(), &["demo", "--out", "made", "--assemblies", "20"]);
    assert!(done.status.success());
    // A record of two winters, of invented hours that fall below freezing in January, no day like the last.
    let mut record = String::from("time,air_temp_c,wind_m_s,sky_cover\n");
    let start = chrono::DateTime::parse_from_rfc3339("2024-07-01T00:00:00Z").unwrap();
    for hour in 0..24 * 720_i64 {
        let time = start + chrono::TimeDelta::hours(hour);
        let day = hour as f64 / 24.0;
        let air = 14.0
            - 16.0 * (std::f64::consts::TAU * (day - 200.0) / 365.25).cos()
            - 4.0 * (std::f64::consts::TAU * hour as f64 / 24.0).cos()
            + 5.0 * (day * 0.9).sin() * (day * 0.37).cos();
        record += &format!("{},{air:.1},2.0,0.3\n", time.format("%Y-%m-%dT%H:%M:%SZ"));
    }
    fs::write(folder.path().join("record.csv"), record).unwrap();
    let season = [
        "season",
        "--assemblies",
        "made/assemblies.csv",
        "--record",
        "record.csv",
        "--config",
        "made/config.toml",
        "--budget",
        "2000",
        "--members",
        "32",
        "--out",
        "season",
        "--parquet",
        "--quiet",
    ];
    let done = brimwater(folder.path(), &season);
    assert!(
        done.status.code() != Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let script = r#"
import duckdb, json
c = duckdb.connect()
def table(sql):
    got = c.execute(sql); names = [d[0] for d in got.description]
    return names, [dict(zip(names, row)) for row in got.fetchall()]
def same(csv, par):
    shared = 0
    for a, b in zip(csv, par):
        for name, y in b.items():
            if name not in a: continue
            x = a[name]; shared += 1
            if y is None: assert not x, (name, x, y)
            elif isinstance(y, (int, float)): assert abs(float(x) - y) < 1e-6, (name, x, y)
            else: assert (x or '').lstrip("'") == y.lstrip("'"), (name, x, y)
    return shared
names, offers = table("select * from read_csv('season/offers.csv', all_varchar=true, header=true)")
known, typed = table("select * from 'season/offers.parquet'")
assert names == known and len(offers) == len(typed) > 3, (names, known, len(offers), len(typed))
assert same(offers, typed) == len(offers) * len(names)
units = json.loads(bytes(c.execute("select value from parquet_kv_metadata('season/offers.parquet') where key='brimwater.units'").fetchone()[0]))
assert units['cost_usd'] == 'USD' and units['p_damage_a_winter'] == '1'
_, listed = table("select * from read_csv('rows.csv', all_varchar=true, header=true, comment='#')")
_, rows = table("select * from 'rows.parquet'")
key = lambda r: (r['spell'] or '', r['assembly_id'] or '')
once = {key(r): r for r in listed}
assert len(rows) > 50, len(rows)
checked = 0
for row in rows:
    theirs = once[key(row)]
    for name in ['p_issued', 'p_hindcast', 'loss_usd', 'rank']:
        if name in theirs:
            x, y = theirs[name], row[name]
            assert (not x and y is None) or abs(float(x) - y) < 1e-6, (name, x, y)
            checked += 1
assert checked > 100, checked
print('same')
"#;
    if let Some(said) = duckdb(folder.path(), script) {
        assert_eq!(said.trim(), "same");
    }
}

#[test]
fn a_list_from_parquet_reads_dates_moments_truths_bytes_and_nulls_as_the_csv_would() {
    // X-Val: DuckDB writes each kind of column; a CSV of the same cells, as people write them, is the other side.
    let folder = TempDir::new().unwrap();
    let script = r#"
import duckdb
duckdb.sql("""copy (select 'A-' || i as assembly_id, 'RP' as device_type, 1.5::double as nominal_size_in,
  case when i = 2 then null else date '2026-09-01' + i::int end as last_test_date, '\\xC3\\xB6'::blob as notes, (i = 1) as fire_line,
  timestamp_ms '2026-09-01 10:00:00' + to_hours(i::int) as seen_at, timestamp '2026-09-01 10:00:00.5' as seen_us, 3.25::float as part
  from range(1, 4) t(i)) to 'list.parquet' (format parquet)""")
print('done')
"#;
    let Some(done) = duckdb(folder.path(), script) else {
        return;
    };
    assert!(done.contains("done"));
    let mut text = String::new();
    let bytes = fs::File::open(folder.path().join("list.parquet")).unwrap();
    std::io::Read::read_to_string(
        &mut brimwater::input::parquet::or_text(bytes, "list.parquet").unwrap(),
        &mut text,
    )
    .unwrap();
    assert_eq!(
        text,
        "assembly_id,device_type,nominal_size_in,last_test_date,notes,fire_line,seen_at,seen_us,part\n\
         A-1,RP,1.5,2026-09-02,\u{f6},yes,2026-09-01T11:00:00Z,2026-09-01T10:00:00.500Z,3.25\n\
         A-2,RP,1.5,,\u{f6},no,2026-09-01T12:00:00Z,2026-09-01T10:00:00.500Z,3.25\n\
         A-3,RP,1.5,2026-09-04,\u{f6},no,2026-09-01T13:00:00Z,2026-09-01T10:00:00.500Z,3.25\n"
    );
    let nested = "import duckdb\nduckdb.sql(\"copy (select 'A' as assembly_id, [1, 2] as several) to 'nested.parquet' (format parquet)\")";
    duckdb(folder.path(), nested).unwrap();
    let bytes = fs::File::open(folder.path().join("nested.parquet")).unwrap();
    let refused = brimwater::input::parquet::or_text(bytes, "nested.parquet")
        .err()
        .unwrap();
    assert!(
        refused.code == "BW-I11" && refused.what.contains("several"),
        "{refused:?}"
    );
}
