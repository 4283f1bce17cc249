//! `brimwater watch` as a whole, with a webhook on this computer that has bad days.

use assert_cmd::Command;
use sha2::{Digest, Sha256};
use std::io::{Read, Write};
use std::net::TcpListener;
use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use tempfile::TempDir;

fn brimwater() -> Command {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command.env_remove("BRIMWATER_WEBHOOK_SECRET");
    command
}

/// A demonstration of a few sites, with a watch in its config.
pub(crate) fn programme(rules: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let demo = folder.path().join("demo");
    brimwater()
        .args(["demo", "--assemblies", "12", "--out"])
        .arg(&demo)
        .assert()
        .success();
    let config = demo.join("config.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    let watch = "[watch]\nfolder = \"watched\"\nassemblies = \"assemblies.csv\"\nseries = [\"forecast.csv\"]\nstations = \"stations.csv\"\nmembers = 8\nquiet_from = \"00:00:00\"\nquiet_until = \"00:00:00\"\n";
    std::fs::write(&config, format!("{text}\n{watch}{rules}")).unwrap();
    folder
}

/// One run: exit status and what was printed.
pub(crate) fn once(folder: &Path, secret: &str) -> (i32, String) {
    let mut command = brimwater();
    if !secret.is_empty() {
        command.env("BRIMWATER_WEBHOOK_SECRET", secret);
    }
    let output = command
        .args(["watch", "--once", "--config"])
        .arg(folder.join("demo/config.toml"))
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(
        secret.is_empty() || !text.contains(secret),
        "the secret was told: {text}"
    );
    (output.status.code().unwrap(), text)
}

pub(crate) fn record(folder: &Path) -> Vec<serde_json::Value> {
    let text = std::fs::read_to_string(folder.join("demo/watched/told.jsonl")).unwrap_or_default();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// A webhook that gives these answers in turn, and what it was sent: signature and body.
fn webhook(answers: &'static [u16]) -> (String, Receiver<(String, String)>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/words", listener.local_addr().unwrap());
    let (send, receive) = channel();
    std::thread::spawn(move || {
        for answer in answers {
            let (mut stream, _) = listener.accept().unwrap();
            let mut text = Vec::new();
            let mut piece = [0; 4096];
            let (head, body) = loop {
                let count = stream.read(&mut piece).unwrap();
                text.extend_from_slice(&piece[..count]);
                let whole = String::from_utf8_lossy(&text).into_owned();
                if let Some((head, body)) = whole.split_once("\r\n\r\n") {
                    let length = head.lines().find_map(|line| {
                        line.to_ascii_lowercase()
                            .strip_prefix("content-length: ")?
                            .parse::<usize>()
                            .ok()
                    });
                    if body.len() >= length.unwrap_or(0) {
                        break (head.to_owned(), body.to_owned());
                    }
                }
            };
            let signature = head.lines().find_map(|line| {
                line.to_ascii_lowercase()
                    .strip_prefix("x-brimwater-signature: sha256=")
                    .map(str::to_owned)
            });
            write!(
                stream,
                "HTTP/1.1 {answer} x\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
            )
            .unwrap();
            send.send((signature.unwrap_or_default(), body)).unwrap();
        }
    });
    (address, receive)
}

/// HMAC-SHA-256 by its definition.
fn hmac(key: &[u8], text: &[u8]) -> String {
    // X-Val: RFC 2104 section 2, written out: H(K xor opad, H(K xor ipad, text)), keys up to 64 bytes.
    let pad = |byte: u8| -> Vec<u8> { (0..64).map(|at| key.get(at).copied().unwrap_or(0) ^ byte).collect() };
    let inner = Sha256::digest([pad(0x36).as_slice(), text].concat());
    let outer = Sha256::digest([pad(0x5c).as_slice(), inner.as_slice()].concat());
    outer.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn a_spell_is_told_once_and_the_plan_is_kept() {
    let folder = programme("");
    let (status, text) = once(folder.path(), "");
    assert_eq!(status, 1, "{text}");
    assert!(text.contains("to call first"), "{text}");
    let words = record(folder.path());
    assert_eq!(words[0]["about"], "first-night");
    assert!(words[0]["sites_to_call_first"].as_u64().unwrap() > 0);
    let plans = || {
        std::fs::read_dir(folder.path().join("demo/watched/plans"))
            .unwrap()
            .count()
    };
    assert_eq!(plans(), 1);
    // A restart tells nothing again.
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    let (status, text) = once(folder.path(), "");
    assert_eq!((status, record(folder.path()).len()), (0, words.len()), "{text}");
    assert_eq!(plans(), 2);
    // Cut off between telling and remembering: the word is still in the outbox, and the record keeps it once.
    let path = folder.path().join("demo/watched/state.json");
    let mut state: serde_json::Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
    state["outbox"] = serde_json::json!([{"id": words[0]["id"], "time": words[0]["time"], "about": "first-night", "reminder": false, "sites": 3,
        "new": 3, "first_ice": null, "lowest_c": null, "why": "", "to": ["file"]}]);
    std::fs::write(&path, state.to_string()).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    once(folder.path(), "");
    assert_eq!(record(folder.path()).len(), words.len());
    // Without its memory the watch begins anew, with a new number. Wrong program: takes its own old number for told, and is silent.
    std::fs::remove_file(&path).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    assert_eq!(once(folder.path(), "").0, 1);
    assert_eq!(record(folder.path()).len(), words.len() + 1);
}

#[test]
fn a_webhook_that_fails_gets_the_word_with_the_next_run_and_once() {
    let (address, sent) = webhook(&[500, 200]);
    let folder = programme(&format!("webhook = \"{address}\"\n"));
    let (status, text) = once(folder.path(), "a secret of the test");
    assert_eq!(status, 1, "{text}");
    assert!(text.contains("BW-W09"), "a refusal is not silent: {text}");
    let (signature, body) = sent.recv().unwrap();
    assert_eq!(signature, hmac(b"a secret of the test", body.as_bytes()));
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    once(folder.path(), "a secret of the test");
    let (_, again) = sent.recv().unwrap();
    assert_eq!(body, again);
    let state = std::fs::read_to_string(folder.path().join("demo/watched/state.json")).unwrap();
    let state: serde_json::Value = serde_json::from_str(&state).unwrap();
    assert_eq!(state["outbox"].as_array().unwrap().len(), 0);
    // The file was told in the first run and not again.
    assert_eq!(record(folder.path()).len(), 1);
    assert!(!state.to_string().contains("a secret"));
}

#[test]
fn no_plan_is_told_and_a_bad_config_tells_all_at_once() {
    let folder = programme("");
    std::fs::remove_file(folder.path().join("demo/forecast.csv")).unwrap();
    let (status, text) = once(folder.path(), "");
    assert_eq!(status, 2, "{text}");
    assert_eq!(record(folder.path())[0]["about"], "no-plan");
    // Not told again while it holds.
    assert_eq!(once(folder.path(), "").0, 2);
    assert_eq!(record(folder.path()).len(), 1);
    let folder = programme("every_minutes = 1\nwebhook = \"http://example.org/words\"\n");
    let (status, text) = once(folder.path(), "");
    assert_eq!(status, 2);
    for code in ["BW-W02", "BW-W07", "BW-W08"] {
        assert!(text.contains(code), "{code}: {text}");
    }
}

#[cfg(unix)]
#[test]
fn a_secret_that_others_may_read_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let folder = programme("webhook = \"https://127.0.0.1:9/words\"\nwebhook_secret_file = \"secret\"\n");
    let secret = folder.path().join("demo/secret");
    std::fs::write(&secret, "hidden-word").unwrap();
    std::fs::set_permissions(&secret, std::fs::Permissions::from_mode(0o644)).unwrap();
    let (status, text) = once(folder.path(), "");
    assert!(
        status == 2 && text.contains("BW-W07") && !text.contains("hidden-word"),
        "{text}"
    );
}

#[test]
fn a_state_that_is_broken_stops_before_anybody_is_told_twice() {
    let folder = programme("");
    once(folder.path(), "");
    let told = record(folder.path()).len();
    std::fs::write(folder.path().join("demo/watched/state.json"), "{").unwrap();
    let (status, text) = once(folder.path(), "");
    assert!(status == 2 && text.contains("BW-W05"), "{text}");
    assert_eq!(record(folder.path()).len(), told);
}

#[test]
fn a_full_folder_tells_nothing_and_loses_nothing() {
    // A folder in the place of the state stands for a disk that takes no more: the state cannot be put there.
    let folder = programme("");
    let watched = folder.path().join("demo/watched");
    std::fs::create_dir_all(watched.join("told.jsonl")).unwrap();
    let (status, text) = once(folder.path(), "");
    assert_eq!(status, 2, "{text}");
    std::fs::remove_dir(watched.join("told.jsonl")).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    let (status, text) = once(folder.path(), "");
    assert_eq!((status, record(folder.path()).len()), (1, 1), "{text}");
}

#[test]
fn saved_forecasts_are_replayed_in_their_order() {
    let folder = programme("");
    let saved = folder.path().join("saved");
    std::fs::create_dir(&saved).unwrap();
    let forecast = std::fs::read_to_string(folder.path().join("demo/forecast.csv")).unwrap();
    std::fs::write(saved.join("day-1.csv"), &forecast).unwrap();
    let output = brimwater()
        .args(["watch", "--config"])
        .arg(folder.path().join("demo/config.toml"))
        .arg("--replay")
        .arg(&saved)
        .output()
        .unwrap();
    assert_eq!(
        output.status.code(),
        Some(1),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(String::from_utf8_lossy(&output.stdout).lines().count(), 1);
    assert!(saved.join("replay/told.jsonl").is_file());
}
