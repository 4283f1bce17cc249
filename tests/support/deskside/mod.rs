//! A desk run as a program beside the test, over the invented programme, and a small HTTP client for it.
#![allow(clippy::unwrap_used, clippy::panic, dead_code)]

use std::collections::HashMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Members that desk and command both run, so that their numbers can be compared.
pub const MEMBERS: &str = "16";
/// The evening before the cold of the invented programme.
pub const NOW: &str = "2027-01-19T20:00:00-06:00";

/// The program under test.
pub fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_brimwater"))
}

/// A folder with the invented programme of `assemblies` assemblies.
pub fn programme(assemblies: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo");
    let done = program()
        .args(["demo", "--quiet", "--assemblies", &assemblies.to_string(), "--out"])
        .arg(&out)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    folder
}

/// A running desk; stopped when dropped.
pub struct DeskRun {
    child: Child,
    /// Where it listens.
    pub address: SocketAddr,
    /// Its log.
    pub log: PathBuf,
    /// Its list.
    pub assemblies: PathBuf,
}

impl DeskRun {
    /// Starts a desk over the programme in `folder`, with further options.
    pub fn start(folder: &Path, more: &[&str]) -> Self {
        Self::run(folder, true, &folder.join("calls.db"), NOW, more)
    }

    /// The same at another time.
    pub fn start_at(folder: &Path, now: &str, more: &[&str]) -> Self {
        Self::run(folder, true, &folder.join("calls.db"), now, more)
    }

    /// The same without series: pages are drawn, nothing is simulated.
    pub fn start_without_weather(folder: &Path, more: &[&str]) -> Self {
        Self::run(folder, false, &folder.join("calls.db"), NOW, more)
    }

    /// The same at another time.
    pub fn start_without_weather_at(folder: &Path, now: &str, more: &[&str]) -> Self {
        Self::run(folder, false, &folder.join("calls.db"), now, more)
    }

    /// A desk that follows the watch of the programme's config.
    pub fn following(folder: &Path, now: &str, more: &[&str]) -> Self {
        Self::run(folder, false, &folder.join("calls.db"), now, more)
    }

    /// The same with a log of another name, such as a server's address.
    pub fn start_with_log(folder: &Path, log: &Path, more: &[&str]) -> Self {
        Self::run(folder, false, log, NOW, more)
    }

    fn run(folder: &Path, weather: bool, log: &Path, now: &str, more: &[&str]) -> Self {
        // A caller that names members means others than the tests'.
        let members: &[&str] = if more.contains(&"--members") {
            &[]
        } else {
            &["--members", MEMBERS]
        };
        // A desk that comes back after a restart comes back to its address.
        let bind: &[&str] = if more.contains(&"--bind") {
            &[]
        } else {
            &["--bind", "127.0.0.1:0"]
        };
        let demo = folder.join("demo");
        let assemblies = demo.join("assemblies.csv");
        let mut command = program();
        command
            .args(["desk", "--quiet", "--now", now])
            .args(members)
            .args(bind)
            .arg("--assemblies")
            .arg(&assemblies)
            .arg("--config")
            .arg(demo.join("config.toml"))
            .arg("--log")
            .arg(log)
            .args(more);
        if weather {
            command
                .arg("--series")
                .arg(demo.join("forecast.csv"))
                .arg("--stations")
                .arg(demo.join("stations.csv"));
        }
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
        let mut first = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        out.read_line(&mut first).unwrap();
        // The rest is drained, so that the program never waits for a reader.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        let address = first
            .split_once("://")
            .and_then(|(_, rest)| rest.split('/').next())
            .and_then(|address| address.parse().ok())
            .unwrap_or_else(|| panic!("no address in {first:?}"));
        Self {
            child,
            address,
            log: log.to_path_buf(),
            assemblies,
        }
    }

    /// The desk's process.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Kills the desk at once, as a power cut would.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// A page's address.
    pub fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }

    /// Waits until the plan is computed.
    pub fn wait_for_plan(&self) {
        self.wait_for_plan_as(Client::new(self.address));
    }

    /// The same where people sign in: by a client that has.
    pub fn wait_for_plan_as(&self, mut client: Client) {
        let until = Instant::now() + Duration::from_secs(180);
        while Instant::now() < until {
            if client.get("/plan").body.contains("<table") {
                return;
            }
            std::thread::sleep(Duration::from_millis(300));
        }
        panic!("the plan was not computed in three minutes");
    }
}

impl Drop for DeskRun {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
#[derive(Debug, Clone)]
pub struct Reply {
    /// Status code.
    pub status: u16,
    /// Headers, names in lower case; the last of each name.
    pub headers: HashMap<String, String>,
    /// Body.
    pub body: String,
}

/// A client with one cookie and the form token of the last page.
#[derive(Debug, Clone)]
pub struct Client {
    address: SocketAddr,
    /// Value of the Host header.
    pub host: String,
    /// Cookie, `name=value`.
    pub cookie: Option<String>,
    /// Token of the last page.
    pub csrf: String,
    /// Further header lines.
    pub more: String,
    /// Whom it trusts, when it speaks TLS.
    pub tls: Option<Arc<rustls::ClientConfig>>,
}

impl Client {
    /// A client without a session.
    pub fn new(address: SocketAddr) -> Self {
        Self {
            address,
            host: address.to_string(),
            cookie: None,
            csrf: String::new(),
            more: String::new(),
            tls: None,
        }
    }

    /// Gets a page.
    pub fn get(&mut self, path: &str) -> Reply {
        self.send("GET", path, None)
    }

    /// Sends a form with the token of the last page.
    pub fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Reply {
        let csrf = self.csrf.clone();
        let mut all = vec![("csrf", csrf.as_str())];
        all.extend_from_slice(fields);
        self.post_raw(path, &encode(&all))
    }

    /// Sends a body as it is.
    pub fn post_raw(&mut self, path: &str, body: &str) -> Reply {
        self.send("POST", path, Some(body))
    }

    /// Sends a request.
    pub fn send(&mut self, method: &str, path: &str, body: Option<&str>) -> Reply {
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
        let mut request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{}",
            self.host, self.more
        );
        if let Some(cookie) = &self.cookie {
            request.push_str(&format!("Cookie: {cookie}\r\n"));
        }
        if let Some(body) = body {
            request.push_str(&format!(
                "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n",
                body.len()
            ));
        }
        request.push_str("\r\n");
        request.push_str(body.unwrap_or(""));
        let mut bytes = Vec::new();
        // A server that refuses a long body may close before all of it is sent.
        if let Some(tls) = &self.tls {
            let name = rustls::pki_types::ServerName::from(self.address.ip());
            let session = rustls::ClientConnection::new(tls.clone(), name).unwrap();
            let mut stream = rustls::StreamOwned::new(session, stream);
            let _ = stream.write_all(request.as_bytes());
            let _ = stream.read_to_end(&mut bytes);
        } else {
            let _ = stream.write_all(request.as_bytes());
            let _ = stream.read_to_end(&mut bytes);
        }
        let reply = parse(&bytes);
        if let Some(cookie) = reply.headers.get("set-cookie") {
            self.cookie = cookie.split(';').next().map(str::to_string);
        }
        if let Some((_, rest)) = reply.body.split_once("name=\"csrf\" value=\"") {
            self.csrf = rest.split('"').next().unwrap_or("").to_string();
        }
        reply
    }
}

fn parse(bytes: &[u8]) -> Reply {
    let split = bytes
        .windows(4)
        .position(|window| window == b"\r\n\r\n")
        .unwrap_or(bytes.len());
    let head = String::from_utf8_lossy(&bytes[..split]).into_owned();
    let mut lines = head.lines();
    let status = lines
        .next()
        .and_then(|line| line.split(' ').nth(1))
        .and_then(|code| code.parse().ok())
        .unwrap_or(0);
    let headers: HashMap<String, String> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(name, value)| (name.to_ascii_lowercase(), value.to_string()))
        .collect();
    let mut body = bytes.get(split + 4..).unwrap_or(&[]).to_vec();
    if headers
        .get("transfer-encoding")
        .is_some_and(|coding| coding == "chunked")
    {
        body = unchunk(&body);
    }
    Reply {
        status,
        headers,
        body: String::from_utf8_lossy(&body).into_owned(),
    }
}

fn unchunk(mut rest: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    while let Some(at) = rest.windows(2).position(|window| window == b"\r\n") {
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..at]).unwrap_or("0"), 16).unwrap_or(0);
        if size == 0 || rest.len() < at + 2 + size {
            break;
        }
        whole.extend_from_slice(&rest[at + 2..at + 2 + size]);
        rest = rest.get(at + 4 + size..).unwrap_or(&[]);
    }
    whole
}

/// Fields as a form sends them.
pub fn encode(fields: &[(&str, &str)]) -> String {
    let coded = |text: &str| -> String {
        text.bytes()
            .map(|byte| match byte {
                b' ' => "+".to_string(),
                byte if byte.is_ascii_alphanumeric() => char::from(byte).to_string(),
                byte => format!("%{byte:02X}"),
            })
            .collect()
    };
    fields
        .iter()
        .map(|(name, value)| format!("{}={}", coded(name), coded(value)))
        .collect::<Vec<_>>()
        .join("&")
}

/// The first link of a page that begins so.
pub fn link(body: &str, begins: &str) -> Option<String> {
    let at = body.find(&format!("href=\"{begins}"))? + 6;
    body[at..].split('"').next().map(str::to_string)
}

/// Cells of the invented list: header name to values, in the order of the rows.
pub fn list(path: &Path) -> Vec<HashMap<String, String>> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_path(path).unwrap();
    let headers = reader.headers().unwrap().clone();
    reader
        .records()
        .filter_map(Result::ok)
        .map(|record| {
            headers
                .iter()
                .map(str::to_string)
                .zip(record.iter().map(str::to_string))
                .collect()
        })
        .collect()
}

/// Writes a file of secrets as only its owner may read it.
pub fn secret(path: &Path, bytes: impl AsRef<[u8]>) {
    std::fs::write(path, bytes).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o600)).unwrap();
    }
}

/// The line of the password file for a name.
pub fn password_line(name: &str, password: &str) -> String {
    use std::io::Write;
    let mut maker = program()
        .args(["desk", "--password-line", name])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    writeln!(maker.stdin.take().unwrap(), "{password}").unwrap();
    String::from_utf8(maker.wait_with_output().unwrap().stdout).unwrap()
}

/// A password that is long and no guess.
pub const PASSWORD: &str = "four quiet herons wade";

/// A password file in which each of some names has [`PASSWORD`]; where it is.
pub fn with_passwords(folder: &Path, names: &[&str]) -> String {
    let file = folder.join("passwords.txt");
    let lines: String = names.iter().map(|name| password_line(name, PASSWORD)).collect();
    secret(&file, lines);
    file.display().to_string()
}

/// Signs in; the status of the answer.
pub fn sign_in(client: &mut Client, name: &str, password: &str) -> u16 {
    client.get("/sign-in");
    client
        .post("/sign-in", &[("name", name), ("password", password)])
        .status
}
