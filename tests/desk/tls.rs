//! The desk beyond this computer: encrypted end to end with a certificate made here, and refused without.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::deskside;
use crate::deskside::{Client, DeskRun, program, programme};
use std::io::Write;
use std::path::Path;
use std::process::Stdio;
use std::sync::Arc;

/// A self-signed certificate for 127.0.0.1 and its key, as PEM files in a folder; and whom a client that trusts it trusts.
fn certificate(folder: &Path) -> (String, String, Arc<rustls::ClientConfig>) {
    let made = rcgen::generate_simple_self_signed(vec!["127.0.0.1".into(), "desk.example.com".into()]).unwrap();
    let (cert, key) = (folder.join("cert.pem"), folder.join("key.pem"));
    std::fs::write(&cert, made.cert.pem()).unwrap();
    crate::deskside::secret(&key, made.signing_key.serialize_pem());
    let mut roots = rustls::RootCertStore::empty();
    roots.add(made.cert.der().clone()).unwrap();
    (cert.display().to_string(), key.display().to_string(), trusting(roots))
}

fn trusting(roots: rustls::RootCertStore) -> Arc<rustls::ClientConfig> {
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = rustls::ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    Arc::new(config)
}

/// A password file with one name.
fn passwords(folder: &Path) -> String {
    let mut maker = program()
        .args(["desk", "--password-line", "rosa"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    maker
        .stdin
        .take()
        .unwrap()
        .write_all(b"four quiet herons wade\n")
        .unwrap();
    let file = folder.join("passwords.txt");
    crate::deskside::secret(&file, maker.wait_with_output().unwrap().stdout);
    file.display().to_string()
}

#[test]
fn served_over_tls_a_rep_signs_in_finds_and_saves_and_the_cookie_travels_encrypted_only() {
    let folder = programme(40);
    let (cert, key, trusts) = certificate(folder.path());
    let file = passwords(folder.path());
    let desk = DeskRun::start_without_weather(
        folder.path(),
        &["--tls-cert", &cert, "--tls-key", &key, "--password-file", &file],
    );
    let mut client = Client::new(desk.address);
    client.tls = Some(trusts);
    let first = client.get("/phone");
    assert_eq!((first.status, first.headers["location"].as_str()), (303, "/sign-in"));
    let cookie = &first.headers["set-cookie"];
    for mark in ["Secure", "HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(mark), "{cookie} lacks {mark}");
    }
    // What a name with this prefix promises (RFC 6265bis): this host alone.
    assert!(cookie.starts_with("__Host-") && !cookie.contains("Domain"), "{cookie}");
    assert_eq!(
        first.headers["strict-transport-security"],
        "max-age=31536000; includeSubDomains"
    );
    client.get("/sign-in");
    let wrong = client.post("/sign-in", &[("name", "rosa"), ("password", "four quiet herons fly")]);
    assert_eq!(wrong.status, 403);
    assert!(!wrong.body.contains("herons"), "the password came back");
    assert_eq!(client.get("/plan").status, 303, "a wrong password opened the plan");
    client.get("/sign-in");
    let right = client.post("/sign-in", &[("name", "rosa"), ("password", "four quiet herons wade")]);
    assert_eq!(right.status, 303);
    assert!(right.headers["set-cookie"].contains("Secure"));
    client.get("/phone");
    let row = deskside::list(&desk.assemblies)
        .into_iter()
        .find(|row| row["assembly_id"].starts_with("A-"))
        .unwrap();
    let found = client.post("/phone/find", &[("q", &row["assembly_id"])]);
    let path = deskside::link(&found.body, "/phone/a/").unwrap();
    client.get(&path);
    let fields = [("outcome", "reached"), ("text", "kept over tls"), ("once", "t1")];
    assert_eq!(client.post(&format!("{path}/note"), &fields).status, 303);
    assert!(client.get(&path).body.contains("kept over tls"));
}

#[test]
fn over_tls_nothing_is_told_to_plain_requests_and_strangers_certificates_are_not_taken() {
    let folder = programme(40);
    let (cert, key, trusts) = certificate(folder.path());
    let desk = DeskRun::start_without_weather(folder.path(), &["--tls-cert", &cert, "--tls-key", &key]);
    let plain = Client::new(desk.address).get("/health");
    assert_ne!(plain.status, 200);
    assert!(!plain.body.contains("version"), "{}", plain.body);
    // A client that does not trust this certificate gets no further than the handshake.
    let mut stranger = Client::new(desk.address);
    stranger.tls = Some(trusting(rustls::RootCertStore::empty()));
    assert_eq!(stranger.get("/health").status, 0);
    let mut friend = Client::new(desk.address);
    friend.tls = Some(trusts);
    assert_eq!(friend.get("/health").status, 200);
}

fn refused(folder: &Path, more: &[&str]) -> String {
    let told = program()
        .args(["desk", "--assemblies"])
        .arg(folder.join("demo/assemblies.csv"))
        .args(more)
        .output()
        .unwrap();
    assert_eq!(told.status.code(), Some(2), "{more:?} was taken");
    String::from_utf8_lossy(&told.stderr).into_owned()
}

#[test]
fn beyond_loopback_each_missing_piece_is_named_and_a_proxy_takes_the_place_of_none() {
    let folder = programme(40);
    let (cert, key, trusts) = certificate(folder.path());
    let file = passwords(folder.path());
    let wide = ["--bind", "0.0.0.0:0"];
    let without_tls = refused(folder.path(), &[&wide[..], &["--password-file", &file]].concat());
    assert!(
        without_tls.contains("BW-D07") && !without_tls.contains("BW-D06"),
        "{without_tls}"
    );
    let without_names = refused(
        folder.path(),
        &[&wide[..], &["--tls-cert", &cert, "--tls-key", &key]].concat(),
    );
    assert!(
        without_names.contains("BW-D06") && !without_names.contains("BW-D07"),
        "{without_names}"
    );
    // A proxy brings people from outside, so they sign in, and what travels to it over a network is encrypted as well.
    let proxy_only = refused(folder.path(), &["--behind-proxy"]);
    assert!(proxy_only.contains("BW-D06"), "{proxy_only}");
    let plain = refused(
        folder.path(),
        &[
            &wide[..],
            &["--password-file", &file, "--behind-proxy", "--proxy", "192.0.2.1"],
        ]
        .concat(),
    );
    assert!(plain.contains("BW-D07") && !plain.contains("BW-D06"), "{plain}");
    let both: [&str; 7] = [
        "--password-file",
        &file,
        "--behind-proxy",
        "--tls-cert",
        &cert,
        "--tls-key",
        &key,
    ];
    let desk = DeskRun::start_without_weather(folder.path(), &both);
    let mut proxy = Client::new(desk.address);
    proxy.tls = Some(trusts);
    proxy.more = "X-Forwarded-For: 192.0.2.9\r\n".into();
    assert_eq!(proxy.get("/sign-in").status, 200);
    drop(desk);
    // With the proxy on this computer the pages are plain here, and cookies are for TLS all the same.
    let desk = DeskRun::start_without_weather(folder.path(), &["--password-file", &file, "--behind-proxy"]);
    let mut client = Client::new(desk.address);
    assert!(client.get("/phone").headers["set-cookie"].contains("Secure"));
}

#[test]
fn a_key_of_another_certificate_and_a_file_that_is_none_are_told_by_name() {
    let folder = programme(40);
    let (cert, _, _) = certificate(folder.path());
    let other = tempfile::tempdir().unwrap();
    let (_, other_key, _) = certificate(other.path());
    let mismatch = refused(
        folder.path(),
        &["--bind", "127.0.0.1:0", "--tls-cert", &cert, "--tls-key", &other_key],
    );
    assert!(
        mismatch.contains("BW-D40") && mismatch.contains("cert.pem"),
        "{mismatch}"
    );
    let list = folder.path().join("demo/assemblies.csv").display().to_string();
    let no_pem = refused(
        folder.path(),
        &["--bind", "127.0.0.1:0", "--tls-cert", &list, "--tls-key", &other_key],
    );
    assert!(no_pem.contains("BW-D40"), "{no_pem}");
}
