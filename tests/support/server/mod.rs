//! A PostgreSQL server of the test's own: in a temporary folder, with a socket and a port of this computer only, as an unprivileged user.
//!
//! Without PostgreSQL on the machine the tests say so loudly and end; where `BRIMWATER_NEED_POSTGRES` is set they fail instead.
#![allow(clippy::unwrap_used, clippy::panic, dead_code)]

use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::os::unix::fs::{PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use brimwater::store::server::address::{Address, Surroundings};
use brimwater::store::server::set_up::{self, Job};

/// The user and group `nobody`.
const NOBODY: u32 = 65_534;
/// Who made the server.
pub const ADMIN: &str = "admin";
/// The password of every role that has one.
pub const PASSWORD: &str = "correct horse";

/// A running server.
pub struct ServerRun {
    /// Holds socket, data and whatever a test puts there.
    pub folder: tempfile::TempDir,
    /// Port for connections over the network.
    pub port: u16,
    bin: PathBuf,
    more: Mutex<Vec<String>>,
    guard: Mutex<Option<(Child, ChildStdin)>>,
}

/// Where PostgreSQL's programs are.
fn programs() -> Option<PathBuf> {
    let mut places: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path().join("bin"))
        .collect();
    places.sort();
    places.reverse();
    places.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()));
    places
        .into_iter()
        .find(|place| place.join("initdb").exists() && place.join("postgres").exists())
}

fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata("/proc/self").is_ok_and(|meta| meta.uid() == 0)
}

/// A command as the unprivileged user.
fn unprivileged(program: &Path) -> Command {
    let mut command = Command::new(program);
    if is_root() {
        command.uid(NOBODY).gid(NOBODY);
    }
    command.env("LC_ALL", "C").env("HOME", "/nonexistent").current_dir("/");
    command
}

impl ServerRun {
    /// Makes a server and starts it; `None` when PostgreSQL is not on this machine and need not be.
    pub fn start(more: &[&str]) -> Option<ServerRun> {
        let Some(bin) = programs() else {
            if std::env::var_os("BRIMWATER_NEED_POSTGRES").is_some() || std::env::var_os("CI").is_some() {
                panic!("PostgreSQL is not on this machine, and the tests of the server must not be left out here");
            }
            eprintln!(
                "\n*** SKIPPED: PostgreSQL is not on this machine; tests/run installs it from Debian's packages ***\n"
            );
            return None;
        };
        let folder = tempfile::Builder::new().prefix("bwpg").tempdir_in("/tmp").unwrap();
        std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
        let data = folder.path().join("data");
        std::fs::create_dir(&data).unwrap();
        if is_root() {
            chown(&data, Some(NOBODY), Some(NOBODY)).unwrap();
            chown(folder.path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        let made = unprivileged(&bin.join("initdb"))
            .arg("-D")
            .arg(&data)
            .args(["-U", ADMIN, "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C"])
            .output()
            .unwrap();
        assert!(
            made.status.success(),
            "initdb: {}",
            String::from_utf8_lossy(&made.stderr)
        );
        // By the socket everybody is believed; over the network a password is asked for.
        std::fs::write(
            data.join("pg_hba.conf"),
            "local all all trust\nhost all all 127.0.0.1/32 scram-sha-256\n",
        )
        .unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let run = ServerRun {
            folder,
            port,
            bin,
            more: Mutex::new(more.iter().map(|word| (*word).to_owned()).collect()),
            guard: Mutex::new(None),
        };
        run.go_on();
        Some(run)
    }

    /// Starts the server, or starts it again, and waits until it answers. It ends with the test, however that ends: its keeper waits for
    /// the end of a pipe.
    pub fn go_on(&self) {
        let mut guard = self.guard.lock().unwrap_or_else(PoisonError::into_inner);
        if guard.is_some() {
            return;
        }
        let mut words = vec![
            "-D".to_owned(),
            self.folder.path().join("data").display().to_string(),
            "-k".to_owned(),
            self.folder.path().display().to_string(),
            "-p".to_owned(),
            self.port.to_string(),
        ];
        let settings = [
            "listen_addresses=127.0.0.1",
            "fsync=off",
            "max_connections=200",
            "log_statement=all",
            "logging_collector=off",
        ];
        for setting in settings
            .iter()
            .map(|s| (*s).to_owned())
            .chain(self.more.lock().unwrap().iter().cloned())
        {
            words.extend(["-c".to_owned(), setting]);
        }
        let log = std::fs::OpenOptions::new()
            .create(true)
            .append(true)
            .open(self.folder.path().join("server.log"))
            .unwrap();
        let mut child = unprivileged(Path::new("/bin/sh"))
            .arg("-c")
            .arg("folder=\"$1\"; shift; \"$0\" \"$@\" </dev/null & pid=$!; echo $pid; line=; read -r line; kill -INT $pid; wait $pid; [ \"$line\" = stay ] || rm -rf \"$folder\"")
            .arg(self.bin.join("postgres"))
            .arg(self.folder.path())
            .args(&words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(log)
            .spawn()
            .unwrap();
        let mut first = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut first)
            .unwrap();
        let stdin = child.stdin.take().unwrap();
        *guard = Some((child, stdin));
        drop(guard);
        let until = Instant::now() + Duration::from_secs(60);
        while Instant::now() < until {
            if self.admin("postgres").is_ok() {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("the server did not start: {}", self.told());
    }

    /// Stops the server at once: sessions are cut.
    pub fn stop(&self) {
        let taken = self.guard.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some((mut child, mut stdin)) = taken {
            // Without this word the keeper takes the folder away as well: the test is gone.
            let _ = stdin.write_all(b"stay\n");
            drop(stdin);
            let _ = child.wait();
        }
    }

    /// Lets the server speak TLS as `localhost`, with a certificate of its own, and starts it again. Returns the authority's file.
    pub fn speak_tls(&self) -> PathBuf {
        self.stop();
        let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
        let (certificate, key) = (
            self.folder.path().join("server.pem"),
            self.folder.path().join("server.key"),
        );
        std::fs::write(&certificate, made.cert.pem()).unwrap();
        private(&key, &made.signing_key.serialize_pem());
        if is_root() {
            chown(&key, Some(NOBODY), Some(NOBODY)).unwrap();
        }
        self.more.lock().unwrap().extend([
            "ssl=on".to_owned(),
            format!("ssl_cert_file={}", certificate.display()),
            format!("ssl_key_file={}", key.display()),
        ]);
        self.go_on();
        certificate
    }

    /// What the server wrote into its log.
    pub fn told(&self) -> String {
        std::fs::read_to_string(self.folder.path().join("server.log")).unwrap_or_default()
    }

    /// A connection of the server's maker.
    pub fn admin(&self, database: &str) -> Result<postgres::Client, postgres::Error> {
        self.raw(ADMIN, database)
    }

    /// A connection of whomever, around the program.
    pub fn raw(&self, user: &str, database: &str) -> Result<postgres::Client, postgres::Error> {
        postgres::Config::new()
            .host_path(self.folder.path())
            .port(self.port)
            .user(user)
            .dbname(database)
            .connect(postgres::NoTls)
    }

    /// The address of a database by the socket.
    pub fn url(&self, user: &str, database: &str) -> String {
        format!(
            "postgres://{user}@:{}/{database}?host={}",
            self.port,
            self.folder.path().display()
        )
    }

    /// The same, read.
    pub fn address(&self, user: &str, database: &str) -> Address {
        let nothing = |_: &str| None;
        Address::read_in(
            Path::new(&self.url(user, database)),
            &Surroundings { variable: &nothing },
        )
        .unwrap()
    }

    /// The address over the network, where a password is asked for.
    pub fn network_url(&self, user: &str, database: &str) -> String {
        format!("postgres://{user}@127.0.0.1:{}/{database}", self.port)
    }

    /// A new database with the tables, and for each utility the roles `<database>_<utility>_desk`, `_planner` and `_reader`.
    pub fn database(&self, utilities: &[&str]) -> String {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        static ONE: Mutex<()> = Mutex::new(());
        let name = format!("t{}", NEXT.fetch_add(1, Ordering::Relaxed));
        // A template is copied only while nobody else looks at it.
        let _alone = ONE.lock().unwrap_or_else(PoisonError::into_inner);
        self.admin("postgres")
            .unwrap()
            .batch_execute(&format!("CREATE DATABASE {name}"))
            .unwrap();
        let address = self.address(ADMIN, &name);
        set_up::set_up(&address).unwrap();
        for utility in utilities {
            for job in Job::ALL {
                set_up::enrol(&address, &role(&name, utility, job), utility, job, Some(PASSWORD)).unwrap();
            }
        }
        name
    }
}

/// The name of a role in a test's database.
pub fn role(database: &str, utility: &str, job: Job) -> String {
    format!("{database}_{utility}_{}", job.word())
}

impl Drop for ServerRun {
    fn drop(&mut self) {
        self.stop();
    }
}

/// The server that the tests of a binary share; it ends with the process.
pub fn shared() -> Option<&'static ServerRun> {
    static SHARED: OnceLock<Option<ServerRun>> = OnceLock::new();
    SHARED.get_or_init(|| ServerRun::start(&[])).as_ref()
}

/// Writes a private file.
pub fn private(path: &Path, text: &str) {
    let mut file = std::fs::File::create(path).unwrap();
    file.set_permissions(std::fs::Permissions::from_mode(0o600)).unwrap();
    file.write_all(text.as_bytes()).unwrap();
}
