//! `weather fetch` against a server on this machine that plays the service and each of its faults.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// What the server does with the next request for a path.
#[derive(Clone)]
enum Act {
    /// Status, headers, body.
    Send(u16, Vec<(&'static str, String)>, Vec<u8>),
    /// A body that stops before its stated length.
    Cut(Vec<u8>),
    /// A body that drips without end.
    Drip,
    /// A fast body without end.
    Flood,
}

#[derive(Default)]
struct Stage {
    /// Acts for each path; the last one stays.
    acts: BTreeMap<String, Vec<Act>>,
    /// Request lines and headers as they came.
    seen: Vec<String>,
    /// Requests being answered now, and the most at one time.
    open: usize,
    most_open: usize,
}

struct Server {
    address: String,
    stage: Arc<Mutex<Stage>>,
}

impl Server {
    fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = format!("http://{}", listener.local_addr().unwrap());
        let stage = Arc::new(Mutex::new(Stage::default()));
        let shared = Arc::clone(&stage);
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let shared = Arc::clone(&shared);
                std::thread::spawn(move || serve(stream, &shared));
            }
        });
        Self { address, stage }
    }

    fn on(&self, path: &str, acts: Vec<Act>) {
        self.stage.lock().unwrap().acts.insert(path.into(), acts);
    }

    /// The whole service, well and fresh.
    fn well(&self) {
        self.on(POINT, vec![json_reply(&sample("nws-points"), "application/geo+json")]);
        self.on(GRID, vec![json_reply(&fresh_grid(1), "application/geo+json")]);
        self.on(
            STATIONS,
            vec![json_reply(&sample("nws-stations"), "application/geo+json")],
        );
        self.on(
            OBSERVATIONS,
            vec![json_reply(&fresh_observations(), "application/geo+json")],
        );
    }

    fn seen(&self) -> Vec<String> {
        self.stage.lock().unwrap().seen.clone()
    }
}

fn serve(stream: TcpStream, stage: &Mutex<Stage>) {
    let mut reader = BufReader::new(stream.try_clone().unwrap());
    let mut request = String::new();
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line).unwrap_or(0) == 0 || line.trim().is_empty() {
            break;
        }
        request.push_str(&line);
    }
    if request.is_empty() {
        return;
    }
    let path = request.split(' ').nth(1).unwrap_or("").to_owned();
    let act = {
        let mut stage = stage.lock().unwrap();
        stage.seen.push(request);
        stage.open += 1;
        stage.most_open = stage.most_open.max(stage.open);
        match stage.acts.get_mut(&path) {
            Some(acts) if acts.len() > 1 => Some(acts.remove(0)),
            Some(acts) => acts.first().cloned(),
            None => None,
        }
    };
    let mut stream = stream;
    let _ = match act {
        None => send(&mut stream, 404, &[("content-type", "application/problem+json".into())], b"{\"title\":\"Not Found\",\"status\":404}"),
        Some(Act::Send(status, headers, body)) => send(&mut stream, status, &headers, &body),
        Some(Act::Cut(body)) => stream
            .write_all(format!("HTTP/1.1 200 OK\r\ncontent-type: application/geo+json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n", body.len() * 2).as_bytes())
            .and_then(|()| stream.write_all(&body)),
        Some(Act::Drip) => {
            let _ = stream.write_all(b"HTTP/1.1 200 OK\r\ncontent-type: application/geo+json\r\nconnection: close\r\n\r\n{\"a\":\"");
            while stream.write_all(b"x").and_then(|()| stream.flush()).is_ok() {
                std::thread::sleep(Duration::from_millis(50));
            }
            Ok(())
        }
        Some(Act::Flood) => {
            let _ = stream.write_all(b"HTTP/1.1 200 OK\r\ncontent-type: application/geo+json\r\nconnection: close\r\n\r\n{\"a\":\"");
            let block = vec![b'x'; 1 << 20];
            while stream.write_all(&block).is_ok() {}
            Ok(())
        }
    };
    stage.lock().unwrap().open -= 1;
}

fn send(stream: &mut TcpStream, status: u16, headers: &[(&'static str, String)], body: &[u8]) -> std::io::Result<()> {
    let mut head = format!(
        "HTTP/1.1 {status} Said\r\ncontent-length: {}\r\nconnection: close\r\n",
        body.len()
    );
    if !headers.iter().any(|(name, _)| *name == "date") {
        head.push_str(&format!("date: {}\r\n", Utc::now().format("%a, %d %b %Y %H:%M:%S GMT")));
    }
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    stream.write_all(head.as_bytes())?;
    stream.write_all(b"\r\n")?;
    stream.write_all(body)
}

const POINT: &str = "/points/32.5,-96.9";
const GRID: &str = "/gridpoints/XYZ/41,77";
const STATIONS: &str = "/gridpoints/XYZ/41,77/stations";
const OBSERVATIONS: &str = "/stations/KXXA/observations?limit=60";

fn sample(name: &str) -> Value {
    serde_json::from_slice(&fs::read(format!("tests/data/weather-service/{name}.json")).unwrap()).unwrap()
}

fn shift(value: &mut Value, by: TimeDelta) {
    match value {
        Value::String(text) => {
            let (time, rest) = text
                .split_once('/')
                .map_or((text.as_str(), ""), |(time, rest)| (time, rest));
            if let Ok(time) = DateTime::parse_from_rfc3339(time) {
                let moved = (time + by).to_rfc3339();
                *text = if rest.is_empty() {
                    moved
                } else {
                    format!("{moved}/{rest}")
                };
            }
        }
        Value::Array(list) => list.iter_mut().for_each(|one| shift(one, by)),
        Value::Object(map) => map.values_mut().for_each(|one| shift(one, by)),
        _ => {}
    }
}

/// The sample forecast, made `hours` ago.
fn fresh_grid(hours: i64) -> Value {
    let mut grid = sample("nws-gridpoint");
    let made = DateTime::parse_from_rfc3339("2026-01-23T21:12:31+00:00")
        .unwrap()
        .to_utc();
    // Whole hours, so that the intervals stay on the hour.
    let by = (Utc::now() - TimeDelta::hours(hours) - made).num_hours();
    shift(&mut grid["properties"], TimeDelta::hours(by));
    grid
}

fn fresh_observations() -> Value {
    let mut observations = sample("nws-observations");
    let made = DateTime::parse_from_rfc3339("2026-01-24T02:53:00+00:00")
        .unwrap()
        .to_utc();
    shift(
        &mut observations["features"],
        TimeDelta::hours((Utc::now() - made).num_hours()),
    );
    observations
}

fn json_reply(value: &Value, kind: &str) -> Act {
    Act::Send(
        200,
        vec![
            ("content-type", kind.into()),
            ("last-modified", "Fri, 23 Jan 2026 21:12:31 GMT".into()),
        ],
        value.to_string().into_bytes(),
    )
}

fn problem(status: u16, name: &str) -> Act {
    Act::Send(
        status,
        vec![("content-type", "application/problem+json".into())],
        sample(name).to_string().into_bytes(),
    )
}

struct Run {
    code: i32,
    out: String,
    err: String,
    file: PathBuf,
}

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    fn cache(&self) -> PathBuf {
        self.folder.path().join("cache")
    }

    fn fetch(&self, service: &str, more: &[&str]) -> Run {
        let file = self.folder.path().join("forecast.json");
        let _ = fs::remove_file(&file);
        let result = Command::cargo_bin("brimwater")
            .unwrap()
            .args([
                "weather",
                "fetch",
                "--lat",
                "32.5",
                "--lon",
                "-96.9",
                "--contact",
                "water@example.com",
            ])
            .args([
                "--service",
                service,
                "--retry-wait",
                "0.05",
                "--timeout",
                "2",
                "--cache",
            ])
            .arg(self.cache())
            .arg("--out")
            .arg(&file)
            .args(more)
            .env("NO_PROXY", "127.0.0.1")
            .output()
            .unwrap();
        Run {
            code: result.status.code().unwrap(),
            out: String::from_utf8_lossy(&result.stdout).into_owned(),
            err: String::from_utf8_lossy(&result.stderr).into_owned(),
            file,
        }
    }

    /// Every file of the cache with its bytes.
    fn kept(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        fs::read_dir(self.cache())
            .map(|entries| {
                entries
                    .flatten()
                    .map(|entry| (entry.path(), fs::read(entry.path()).unwrap()))
                    .collect()
            })
            .unwrap_or_default()
    }
}

fn show(file: &Path) -> Value {
    let result = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["weather", "show", "--format", "json"])
        .arg(file)
        .output()
        .unwrap();
    serde_json::from_slice(&result.stdout).unwrap()
}

#[test]
fn a_well_service_gives_a_file_that_reads_as_observations_then_forecast() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(
        run.err.contains("the forecast was made"),
        "its age is told: {}",
        run.err
    );
    assert!(run.err.contains("station KXXA"));
    let answer = show(&run.file);
    assert_eq!(answer["format"], "fetched-bundle");
    assert_eq!(answer["station"], "XYZ/41,77");
    assert_eq!(answer["min_air_c"], -11.111);
    assert!(answer["observed_hours"].as_u64().unwrap() >= 1);
    // The contact goes in the User-Agent; one request at a time.
    assert!(server.seen().iter().all(|request| {
        let request = request.to_lowercase();
        request.contains("user-agent: brimwater/") && request.contains("(water@example.com)")
    }));
    assert_eq!(server.stage.lock().unwrap().most_open, 1);
    assert_eq!(server.seen().len(), 4);
    // The raw reply is kept byte for byte.
    let grid = server.stage.lock().unwrap().acts[GRID].clone();
    let Act::Send(_, _, body) = &grid[0] else {
        panic!("a body")
    };
    assert!(place.kept().values().any(|bytes| bytes == body));
}

#[test]
fn a_second_run_asks_conditionally_and_uses_what_is_kept_on_304() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    server.on(GRID, vec![Act::Send(304, vec![], vec![])]);
    server.on(OBSERVATIONS, vec![Act::Send(304, vec![], vec![])]);
    let before = server.seen().len();
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(show(&run.file)["min_air_c"], -11.111);
    let second: Vec<String> = server.seen().split_off(before);
    // Point and stations are taken from the cache without asking; the forecast is asked for with its Last-Modified.
    assert_eq!(second.len(), 2, "{second:?}");
    assert!(
        second[0]
            .to_lowercase()
            .contains("if-modified-since: fri, 23 jan 2026 21:12:31 gmt")
    );
}

#[test]
fn a_relative_redirect_is_followed_and_another_host_is_not() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let kind = vec![("content-type", "application/problem+json".to_owned())];
    let to = |place: &str| {
        let mut headers = kind.clone();
        headers.push(("location", place.to_owned()));
        Act::Send(301, headers, b"{}".to_vec())
    };
    server.on(POINT, vec![to("/points/32.5001,-96.9002")]);
    server.on(
        "/points/32.5001,-96.9002",
        vec![json_reply(&sample("nws-points"), "application/geo+json")],
    );
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    let other = Place::new();
    server.on(POINT, vec![to("http://localhost:9/points/1,1")]);
    let run = other.fetch(&server.address, &[]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("another host"), "{}", run.err);
    server.on(POINT, vec![to(POINT)]);
    let run = other.fetch(&server.address, &[]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("more than 4 times"), "{}", run.err);
    assert!(!run.file.exists(), "nothing is written");
}

/// Every fault of the forecast, with a good reply kept: that one is used, called stale with its age, exit 1, cache untouched.
/// The same fault with nothing kept: exit 2 and no file.
fn fault(act: &[Act], words: &str) {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    let before = place.kept();
    server.on(GRID, act.to_vec());
    let began = Instant::now();
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1, "{words}: {}", run.err);
    assert!(
        run.err.contains("last good reply was used, retrieved") && run.err.contains("min ago"),
        "{}",
        run.err
    );
    assert!(run.err.contains(words), "{words}: {}", run.err);
    assert!(run.out.contains("STALE"));
    assert!(began.elapsed() < Duration::from_secs(30));
    let grid_before: Vec<_> = before
        .iter()
        .filter(|(_, bytes)| bytes.windows(11).any(|part| part == b"temperature"))
        .collect();
    let after = place.kept();
    for (path, bytes) in grid_before {
        // Observations are asked for anew and may be kept anew; the forecast's reply stays.
        if bytes.windows(13).any(|part| part == b"windDirection") && !bytes.windows(8).any(|part| part == b"skyCover") {
            continue;
        }
        assert_eq!(after.get(path), Some(bytes), "the kept forecast is untouched");
    }
    let bundle: Value = serde_json::from_slice(&fs::read(&run.file).unwrap()).unwrap();
    assert_eq!(
        (&bundle["stale"], &bundle["documents"][0]["stale"]),
        (&json!(true), &json!(true))
    );
    // Reading the file later tells it again.
    let shown = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["weather", "show"])
        .arg(&run.file)
        .output()
        .unwrap();
    assert_eq!(shown.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&shown.stderr).contains("last good one"));

    let empty = Place::new();
    let run = empty.fetch(&server.address, &[]);
    assert_eq!(run.code, 2, "{words}: {}", run.err);
    assert!(
        run.err.contains(words) && run.err.contains("none is kept"),
        "{words}: {}",
        run.err
    );
    assert!(!run.file.exists());
}

#[test]
fn block_page_of_the_content_network() {
    let page = Act::Send(
        403,
        vec![("content-type", "text/html".into())],
        b"<html>Access Denied</html>".to_vec(),
    );
    fault(&[page], "answered 403: a page of type text/html");
}

#[test]
fn problem_404() {
    fault(&[problem(404, "nws-problem")], "Data Unavailable For Requested Point");
}

#[test]
fn problem_503() {
    fault(&[problem(503, "nws-problem-503")], "Forecast Grid Expired");
}

#[test]
fn truncated_body() {
    fault(&[Act::Cut(b"{\"properties\":{".to_vec())], "broke off");
}

#[test]
fn whole_body_of_broken_json() {
    let half = sample("nws-gridpoint").to_string();
    let body = half.as_bytes()[..half.len() / 2].to_vec();
    fault(
        &[Act::Send(
            200,
            vec![("content-type", "application/geo+json".into())],
            body,
        )],
        "broken JSON",
    );
}

#[test]
fn body_that_drips_without_end() {
    fault(&[Act::Drip], "not finished within 2 s");
}

#[test]
fn body_that_floods_without_end() {
    fault(&[Act::Flood], "larger than 16 MiB");
}

#[test]
fn compressed_bomb() {
    // A gzip stream of 64 MiB of zeros in stored-then-repeated deflate blocks, made by hand: fixed-Huffman runs of length 258.
    let body = gzip_of_zeros(64 * 1024 * 1024);
    assert!(body.len() < 500_000, "small on the wire: {}", body.len());
    fault(
        &[Act::Send(
            200,
            vec![
                ("content-type", "application/geo+json".into()),
                ("content-encoding", "gzip".into()),
            ],
            body,
        )],
        "larger than 16 MiB",
    );
}

/// Deflate of zeros with the fixed codes: one literal, then matches of length 258 at distance 1 (RFC 1951, 3.2.6).
fn gzip_of_zeros(length: usize) -> Vec<u8> {
    let mut out = vec![0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255];
    let (mut bits, mut count) = (0_u64, 0);
    let mut put = |value: u64, width: u32, out: &mut Vec<u8>| {
        bits |= value << count;
        count += width;
        while count >= 8 {
            out.push((bits & 0xff) as u8);
            bits >>= 8;
            count -= 8;
        }
    };
    let reversed =
        |value: u64, width: u32| (0..width).fold(0, |sum, bit| sum | (((value >> bit) & 1) << (width - 1 - bit)));
    put(0b011, 3, &mut out);
    put(reversed(0b0011_0000, 8), 8, &mut out);
    for _ in 0..length / 258 {
        // Length code 285 is 8 bits, 11000101; distance code 0 is 5 bits.
        put(reversed(0b1100_0101, 8), 8, &mut out);
        put(0, 5, &mut out);
    }
    put(0, 7, &mut out);
    put(0, 7, &mut out);
    out.extend_from_slice(&[0; 8]);
    out
}

#[test]
fn wrong_content_type() {
    let act = Act::Send(
        200,
        vec![("content-type", "text/html".into())],
        b"<html>welcome</html>".to_vec(),
    );
    fault(&[act], "the reply is text/html, not JSON");
}

#[test]
fn json_of_another_kind() {
    fault(
        &[json_reply(&sample("nws-points"), "application/geo+json")],
        "without what was asked for",
    );
}

#[test]
fn five_hundred_then_good_is_tried_again() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    server.on(
        GRID,
        vec![
            problem(500, "nws-problem-503"),
            json_reply(&fresh_grid(1), "application/geo+json"),
        ],
    );
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(
        server
            .seen()
            .iter()
            .filter(|request| request.starts_with(&format!("GET {GRID} ")))
            .count(),
        2
    );
}

#[test]
fn retry_after_is_honored_and_too_long_a_wait_is_given_up() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let busy = |wait: &str| {
        Act::Send(
            429,
            vec![
                ("content-type", "application/problem+json".into()),
                ("retry-after", wait.into()),
            ],
            b"{\"title\":\"Too Many Requests\"}".to_vec(),
        )
    };
    server.on(
        GRID,
        vec![busy("1"), json_reply(&fresh_grid(1), "application/geo+json")],
    );
    let began = Instant::now();
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    assert!(began.elapsed() >= Duration::from_secs(1), "it waited as asked");
    server.on(GRID, vec![busy("3600")]);
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1);
    assert!(run.err.contains("it asks to wait 3600 s"), "{}", run.err);
}

#[test]
fn a_stale_document_is_told_with_its_age() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    server.on(GRID, vec![json_reply(&fresh_grid(30), "application/geo+json")]);
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1);
    assert!(
        run.err.contains("the forecast is stale") && (run.err.contains("(30.") || run.err.contains("(31.")),
        "{}",
        run.err
    );
    assert!(run.out.contains("STALE"));
}

#[test]
fn an_older_document_than_the_kept_one_is_not_taken() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    let before = place.kept();
    server.on(GRID, vec![json_reply(&fresh_grid(9), "application/geo+json")]);
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1);
    assert!(run.err.contains("older gridpoint"), "{}", run.err);
    let changed = before
        .iter()
        .filter(|(path, bytes)| place.kept().get(*path) != Some(bytes))
        .count();
    assert!(changed <= 2, "only the observations may be kept anew");
}

#[test]
fn a_clock_an_hour_off_is_told_and_the_age_is_by_the_services_clock() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let ahead = (Utc::now() + TimeDelta::minutes(61))
        .format("%a, %d %b %Y %H:%M:%S GMT")
        .to_string();
    let dated = |value: &Value| {
        Act::Send(
            200,
            vec![("content-type", "application/geo+json".into()), ("date", ahead.clone())],
            value.to_string().into_bytes(),
        )
    };
    server.on(POINT, vec![dated(&sample("nws-points"))]);
    server.on(GRID, vec![dated(&fresh_grid(1))]);
    server.on(STATIONS, vec![dated(&sample("nws-stations"))]);
    server.on(OBSERVATIONS, vec![dated(&fresh_observations())]);
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1);
    assert!(
        run.err.contains("this computer's clock is 61 min from the service's") || run.err.contains("clock is 60 min"),
        "{}",
        run.err
    );
    assert_eq!(run.err.matches("clock is").count(), 1, "told once");
}

#[test]
fn connection_refused_ends_in_words() {
    let place = Place::new();
    // A port that was just free: nobody listens there.
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let run = place.fetch(&format!("http://127.0.0.1:{port}"), &[]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("refused"), "{}", run.err);
    assert!(place.kept().is_empty());
}

#[test]
fn a_service_that_dies_after_a_good_run_leaves_the_last_forecast() {
    let place = Place::new();
    let address = {
        let server = Server::start();
        server.well();
        assert_eq!(place.fetch(&server.address, &[]).code, 0);
        server.stage.lock().unwrap().acts.clear();
        server.address
    };
    // Everything is 404 now.
    let run = place.fetch(&address, &[]);
    assert_eq!(run.code, 1, "{}", run.err);
    assert_eq!(show(&run.file)["min_air_c"], -11.111);
}

#[test]
fn observations_that_fail_cost_a_note_and_not_the_forecast() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    server.on(OBSERVATIONS, vec![problem(404, "nws-problem")]);
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.err.contains("no observations were added"));
    assert_eq!(show(&run.file)["observed_hours"], 0);
}

#[test]
fn the_hourly_forecast_stands_in_for_a_dead_grid() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    server.on(GRID, vec![problem(503, "nws-problem-503")]);
    let mut hourly = sample("nws-hourly");
    shift(
        &mut hourly["properties"],
        TimeDelta::hours(
            (Utc::now()
                - DateTime::parse_from_rfc3339("2026-01-23T22:12:31+00:00")
                    .unwrap()
                    .to_utc())
            .num_hours(),
        ),
    );
    server.on(
        "/gridpoints/XYZ/41,77/forecast/hourly",
        vec![json_reply(&hourly, "application/geo+json")],
    );
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(run.err.contains("the hourly forecast was used"));
}

#[test]
fn wrong_place_and_missing_contact_are_told_at_once() {
    let place = Place::new();
    let result = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["weather", "fetch", "--lat", "132.5", "--lon", "-296.9", "--out"])
        .arg(place.folder.path().join("f.json"))
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&result.stderr).into_owned();
    assert_eq!(result.status.code(), Some(2));
    for word in ["--lat", "--lon", "--contact"] {
        assert!(err.contains(word), "{err}");
    }
}

#[test]
fn a_torn_cache_file_is_not_served() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    assert_eq!(place.fetch(&server.address, &[]).code, 0);
    for (path, bytes) in place.kept() {
        if path.extension().is_some_and(|kind| kind == "body") {
            fs::write(path, &bytes[..bytes.len() / 2]).unwrap();
        }
    }
    server.stage.lock().unwrap().acts.clear();
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 2, "{}", run.err);
}

#[test]
fn more_than_four_decimals_are_never_sent() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let file = place.folder.path().join("f.json");
    let _ = Command::cargo_bin("brimwater")
        .unwrap()
        .args([
            "weather",
            "fetch",
            "--lat",
            "32.49999999",
            "--lon",
            "-96.90000001",
            "--contact",
            "a@example.com",
            "--retry-wait",
            "0",
            "--service",
        ])
        .arg(&server.address)
        .arg("--cache")
        .arg(place.cache())
        .arg("--out")
        .arg(&file)
        .output()
        .unwrap();
    assert!(
        server.seen()[0].starts_with(&format!("GET {POINT} ")),
        "{}",
        server.seen()[0]
    );
    assert!(file.exists());
    let mut text = String::new();
    fs::File::open(&file).unwrap().read_to_string(&mut text).unwrap();
    assert!(text.contains("brimwater.fetched/1"));
}

/// `plan --fetch` of two assemblies at the place of the samples.
fn plan_with_fetch(place: &Place, service: &str, out: &Path) -> Run {
    let list = place.folder.path().join("assemblies.csv");
    fs::write(
        &list,
        "assembly_id,device_type,nominal_size_in,latitude,longitude,service\nA-1,RP,1,32.5,-96.9,irrigation\nA-2,PVB,1,32.5,-96.9,irrigation\n",
    )
    .unwrap();
    let result = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["plan", "--fetch", "--members", "1", "--contact", "water@example.com"])
        .args(["--retry-wait", "0", "--timeout", "2", "--service", service, "--cache"])
        .arg(place.cache())
        .arg("--assemblies")
        .arg(&list)
        .arg("--out")
        .arg(out)
        .env("NO_PROXY", "127.0.0.1")
        .output()
        .unwrap();
    Run {
        code: result.status.code().unwrap(),
        out: String::from_utf8_lossy(&result.stdout).into_owned(),
        err: String::from_utf8_lossy(&result.stderr).into_owned(),
        file: out.join("forecast.json"),
    }
}

/// A file of a plan as JSON.
fn json_of(file: PathBuf) -> Value {
    serde_json::from_slice(&fs::read(file).unwrap()).unwrap()
}

#[test]
fn plan_fetches_for_the_middle_of_the_list_and_writes_the_whole_plan() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let out = place.folder.path().join("plan");
    let run = plan_with_fetch(&place, &server.address, &out);
    // Late in the day the plan also warns that no shift is left for calls (BW-P61), which is no matter of the weather.
    let no_shift = run.err.contains("BW-P61");
    assert_eq!(run.code, i32::from(no_shift), "{}", run.err);
    assert_eq!(
        run.err.matches("warning: ").count(),
        usize::from(no_shift),
        "{}",
        run.err
    );
    assert!(
        run.err.contains("the forecast was made"),
        "its age is told: {}",
        run.err
    );
    assert_eq!(show(&run.file)["min_air_c"], -11.111);
    let plan = json_of(out.join("plan.json"));
    assert_eq!(plan["assemblies"].as_array().unwrap().len(), 2);
    // What is ranked stood in the fetched weather: hours colder than 0 °C, the coldest no colder than the served -11.1 °C.
    for assembly in plan["assemblies"].as_array().unwrap() {
        assert!(assembly["hours_air_below_0c"].as_f64().unwrap() > 0.0);
        assert!((-11.2..0.0).contains(&assembly["min_air_c"].as_f64().unwrap()));
    }
    let inputs = json_of(out.join("run.json")).to_string();
    assert!(inputs.contains("forecast.json"), "{inputs}");
    for file in ["ranking.csv", "contacts.csv", "map.geojson", "report.html"] {
        assert!(out.join(file).exists(), "{file}");
    }
    // The same file given by hand is taken as it is and gives the same plan.
    let again = place.folder.path().join("again");
    let by_hand = Command::cargo_bin("brimwater")
        .unwrap()
        .args(["plan", "--members", "1", "--assemblies"])
        .arg(place.folder.path().join("assemblies.csv"))
        .arg("--series")
        .arg(&run.file)
        .arg("--out")
        .arg(&again)
        .output()
        .unwrap();
    assert_eq!(
        by_hand.status.code(),
        Some(run.code),
        "{}",
        String::from_utf8_lossy(&by_hand.stderr)
    );
    assert_eq!(json_of(again.join("plan.json"))["assemblies"], plan["assemblies"]);
}

#[test]
fn plan_uses_the_kept_forecast_when_the_service_is_down_and_the_report_says_how_old_it_is() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    server.on(GRID, vec![json_reply(&fresh_grid(20), "application/geo+json")]);
    let fetched = place.fetch(&server.address, &[]);
    assert!(fetched.file.exists(), "{}", fetched.err);
    server.stage.lock().unwrap().acts.clear();
    let out = place.folder.path().join("plan");
    let run = plan_with_fetch(&place, &server.address, &out);
    assert_eq!(run.code, 1, "{}", run.err);
    let report = fs::read_to_string(out.join("report.html")).unwrap();
    for told in [&run.err, &report] {
        assert!(told.contains("forecast is stale: it was made"), "{told}");
        // Made 20 h ago and up to an hour more, for the sample moves by whole hours.
        assert!(told.contains("(20.") || told.contains("(21.0 h"), "{told}");
        assert!(told.contains("the last good reply was used"), "{told}");
    }
    assert_eq!(show(&run.file)["min_air_c"], -11.111);
}

/// The grid whose `updateTime` is this.
fn grid_made(text: Value) -> Act {
    let mut grid = fresh_grid(1);
    grid["properties"]["updateTime"] = text;
    json_reply(&grid, "application/geo+json")
}

#[test]
fn a_forecast_whose_time_tells_no_age_counts_as_stale() {
    for text in [
        json!("yesterday evening"),
        json!(17),
        Value::Null,
        json!("2999-01-01T00:00:00+00:00"),
    ] {
        let (server, place) = (Server::start(), Place::new());
        server.well();
        server.on(GRID, vec![grid_made(text.clone())]);
        let run = place.fetch(&server.address, &["--quiet"]);
        assert_eq!(run.code, 1, "{text}: {}", run.err);
        assert!(
            run.err.contains("BW-S72") && run.out.contains("STALE"),
            "{text}: {}",
            run.err
        );
        let bundle = json_of(run.file.clone());
        assert_eq!(bundle["stale"], true, "{text}");
        // Whoever plans with the file is told again.
        let shown = Command::cargo_bin("brimwater")
            .unwrap()
            .args(["weather", "show", "--quiet"])
            .arg(&run.file)
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&shown.stderr).into_owned();
        assert!(told.contains("BW-S36"), "{text}: {told}");
        assert_eq!(shown.status.code(), Some(1));
    }
}

#[test]
fn the_password_of_a_service_lands_nowhere() {
    let (server, place) = (Server::start(), Place::new());
    server.well();
    let service = server.address.replacen("://", "://rep:hush-hush@", 1);
    let run = place.fetch(&service, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    // It was used for what it is for.
    assert!(
        server
            .seen()
            .iter()
            .any(|request| request.to_ascii_lowercase().contains("authorization: basic"))
    );
    let out = place.folder.path().join("plan");
    let planned = plan_with_fetch(&place, &service, &out);
    assert!(planned.code < 2, "{}", planned.err);
    // A service that fails is named in what is told.
    server.stage.lock().unwrap().acts.clear();
    let alone = Place::new();
    let failed = alone.fetch(&service, &[]);
    assert_eq!(failed.code, 2);
    let mut texts = vec![
        run.out,
        run.err,
        planned.err,
        failed.err,
        fs::read_to_string(&run.file).unwrap(),
    ];
    for name in ["forecast.json", "run.json", "plan.json", "report.html"] {
        texts.push(fs::read_to_string(out.join(name)).unwrap());
    }
    texts.extend(
        place
            .kept()
            .into_values()
            .map(|bytes| String::from_utf8_lossy(&bytes).into_owned()),
    );
    for text in texts {
        assert!(!text.contains("hush-hush") && !text.contains("rep:"), "{text}");
    }
    // Every option of the service stands in the record.
    let options = json_of(out.join("run.json"))["options"].clone();
    for name in ["service", "contact", "cache", "tries", "retry_wait", "timeout", "fetch"] {
        assert!(options[name].is_string(), "{name}: {options}");
    }
}

#[test]
fn what_commands_a_terminal_in_the_words_of_a_service_reaches_none() {
    let (server, place) = (Server::start(), Place::new());
    let words = json!({"title": "\u{1b}]0;owned\u{7}\u{1b}[2J", "detail": "a\u{9b}31mb\r\nerror: all is well\u{202e}", "status": 500});
    server.on(
        POINT,
        vec![Act::Send(
            500,
            vec![("content-type", "application/problem+json".into())],
            words.to_string().into_bytes(),
        )],
    );
    let run = place.fetch(&server.address, &[]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("owned"), "{}", run.err);
    assert!(
        run.err
            .chars()
            .all(|c| c == '\n' || !(c.is_control() || c == '\u{202e}')),
        "{:?}",
        run.err
    );
    // Nor can they forge a line of ours.
    assert!(!run.err.contains("\nerror: all is well"), "{:?}", run.err);
}
