//! Where a server is and who asks: the address, the service file, the environment, the password file.
//!
//! The names are those of PostgreSQL's own client (its documentation, "Connection Strings", "Environment Variables", "The Password File",
//! "The Connection Service File"), so that what an administrator has set up for other programs serves here too. A password is taken from
//! `PGPASSWORD`, the password file or the service file, never from the address: an address stands in lists of processes, in histories
//! of shells and in notes of runs.

use crate::faults::{Fault, Severity};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What the address of a server begins with.
const SCHEMES: [&str; 2] = ["postgres://", "postgresql://"];
/// Where Debian's server puts its socket.
const SOCKET: &str = "/var/run/postgresql";
/// Words that an address may carry behind its question mark.
const WORDS: [&str; 8] = [
    "host",
    "port",
    "user",
    "dbname",
    "sslmode",
    "sslrootcert",
    "service",
    "connect_timeout",
];

/// Whether a log's name is the address of a server.
pub fn is_server(name: &Path) -> bool {
    let text = name.to_string_lossy();
    // A scheme is told from a file by its colon and slashes, in whatever case.
    let text = text.trim_start().to_ascii_lowercase();
    SCHEMES.iter().any(|scheme| text.starts_with(scheme))
}

/// An address without what may be secret in it, for messages and notes of runs.
pub fn shown(name: &Path) -> String {
    let text = name.to_string_lossy();
    if !is_server(name) {
        return text.into_owned();
    }
    let (scheme, rest) = text.split_once("://").unwrap_or(("postgres", &text));
    let (rest, query) = rest.split_once('?').map_or((rest, ""), |(rest, query)| (rest, query));
    // The last at-sign: a password may hold one.
    let (who, place) = rest.rsplit_once('@').map_or(("", rest), |(who, place)| (who, place));
    let user = who.split(':').next().unwrap_or_default();
    let mut told = format!("{scheme}://");
    if !user.is_empty() {
        told.push_str(user);
        told.push('@');
    }
    told.push_str(place);
    let words: Vec<&str> = query
        .split('&')
        .filter(|word| WORDS.contains(&word.split('=').next().unwrap_or_default()))
        .collect();
    if !words.is_empty() {
        told.push('?');
        told.push_str(&words.join("&"));
    }
    told
}

/// Whether what travels is encrypted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wire {
    /// It is not: a socket or this computer's own address.
    Plain,
    /// It is, and the server's certificate is checked against the system's authorities, or those of a file.
    Tls(Option<PathBuf>),
}

/// A server's address, complete.
#[derive(Clone, PartialEq, Eq)]
pub struct Address {
    /// Name, number, or the folder of a socket.
    pub host: String,
    /// Port.
    pub port: u16,
    /// Login role.
    pub user: String,
    /// Database.
    pub database: String,
    /// Encryption.
    pub wire: Wire,
    /// Longest wait for a connection, seconds.
    pub wait_s: u64,
    /// The password, if one was found.
    pub(super) password: Option<String>,
    /// A password file that was not used because others may read it.
    pub(super) open_file: Option<PathBuf>,
}

/// Without the password.
impl std::fmt::Debug for Address {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.shown())
    }
}

/// What an address is completed from.
pub struct Surroundings<'a> {
    /// A variable of the environment.
    pub variable: &'a dyn Fn(&str) -> Option<String>,
}

impl Surroundings<'_> {
    fn get(&self, name: &str) -> Option<String> {
        (self.variable)(name).filter(|text| !text.is_empty())
    }

    fn at_home(&self, name: &str) -> Option<PathBuf> {
        self.get("HOME").map(|home| Path::new(&home).join(name))
    }
}

fn refused(code: &'static str, name: &Path, what: impl Into<String>) -> Fault {
    Fault::new(code, Severity::Fatal, what).file(shown(name))
}

impl Address {
    /// Reads the address of a server with this program's own environment.
    ///
    /// # Errors
    /// `BW-L30` when a password stands in it, `BW-L31` when it cannot be read.
    pub fn read(name: &Path) -> Result<Address, Fault> {
        let variable = |name: &str| std::env::var(name).ok();
        Self::read_in(name, &Surroundings { variable: &variable })
    }

    /// Reads the address of a server.
    ///
    /// # Errors
    /// As [`Address::read`].
    pub fn read_in(name: &Path, around: &Surroundings<'_>) -> Result<Address, Fault> {
        let given = split(name)?;
        let service = match given.get("service").cloned().or_else(|| around.get("PGSERVICE")) {
            Some(service) => service_file(name, &service, around)?,
            None => BTreeMap::new(),
        };
        let value = |key: &str, variable: &str| -> Option<String> {
            given
                .get(key)
                .or_else(|| service.get(key))
                .cloned()
                .filter(|text| !text.is_empty())
                .or_else(|| around.get(variable))
        };
        let host = value("host", "PGHOST").unwrap_or_else(|| SOCKET.to_owned());
        let unread = |what: &str, value: &str, expected: &str| {
            refused("BW-L31", name, what)
                .value(value)
                .expected(expected)
                .remedy("Write postgres://ROLE@HOST:PORT/DATABASE; the password goes into the password file ~/.pgpass.")
        };
        let port = value("port", "PGPORT").unwrap_or_else(|| "5432".to_owned());
        let port = port
            .parse()
            .ok()
            .filter(|port| *port > 0)
            .ok_or_else(|| unread("the port cannot be read", &port, "a number from 1 to 65535"))?;
        let user = value("user", "PGUSER")
            .or_else(|| around.get("USER"))
            .or_else(|| around.get("LOGNAME"))
            .ok_or_else(|| unread("nobody is named who logs in", "", "postgres://ROLE@HOST/DATABASE"))?;
        let database = value("dbname", "PGDATABASE").unwrap_or_else(|| user.clone());
        let wait = value("connect_timeout", "PGCONNECT_TIMEOUT").unwrap_or_else(|| "5".to_owned());
        let wait_s = wait
            .parse()
            .ok()
            .filter(|wait| (1..=300).contains(wait))
            .ok_or_else(|| unread("the wait for a connection cannot be read", &wait, "1 to 300 seconds"))?;
        let wire = wire(
            name,
            &host,
            value("sslmode", "PGSSLMODE"),
            value("sslrootcert", "PGSSLROOTCERT"),
        )?;
        let mut address = Address {
            host,
            port,
            user,
            database,
            wire,
            wait_s,
            password: around.get("PGPASSWORD").or_else(|| service.get("password").cloned()),
            open_file: None,
        };
        if address.password.is_none() {
            address.ask_password_file(around);
        }
        Ok(address)
    }

    /// The address as it may be shown.
    pub fn shown(&self) -> String {
        self.shown_for(&self.user)
    }

    /// The address as another role would write it.
    pub fn shown_for(&self, user: &str) -> String {
        let at = if self.is_socket() {
            let port = if self.port == 5432 {
                String::new()
            } else {
                format!(":{}", self.port)
            };
            format!("{port}/{}?host={}", self.database, self.host)
        } else if self.host.contains(':') {
            format!("[{}]:{}/{}", self.host, self.port, self.database)
        } else {
            format!("{}:{}/{}", self.host, self.port, self.database)
        };
        format!("postgres://{user}@{at}")
    }

    /// The address without who asks: what one server's log is for everybody.
    pub fn place(&self) -> String {
        format!("{}:{}/{}", self.host, self.port, self.database)
    }

    /// Whether the server is reached by a socket of this computer.
    pub fn is_socket(&self) -> bool {
        self.host.starts_with('/')
    }

    /// Takes the password from the password file: `host:port:database:role:password`, the first line that fits. A file that others may
    /// read is not used, as PostgreSQL's own client does not.
    fn ask_password_file(&mut self, around: &Surroundings<'_>) {
        let Some(path) = around
            .get("PGPASSFILE")
            .map(PathBuf::from)
            .or_else(|| around.at_home(".pgpass"))
        else {
            return;
        };
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            match std::fs::metadata(&path) {
                Ok(meta) if meta.permissions().mode() & 0o077 != 0 => {
                    self.open_file = Some(path);
                    return;
                }
                Ok(_) => {}
                Err(_) => return,
            }
        }
        let Ok(text) = std::fs::read_to_string(&path) else {
            return;
        };
        let socket = self.is_socket() && self.host == SOCKET;
        let port = self.port.to_string();
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            let fields = fields(line);
            let [host, at, database, user, password] = fields.as_slice() else {
                continue;
            };
            let fits = |field: &str, own: &str| field == "*" || field == own;
            if (fits(host, &self.host) || (socket && host == "localhost"))
                && fits(at, &port)
                && fits(database, &self.database)
                && fits(user, &self.user)
            {
                self.password = Some(password.clone());
                return;
            }
        }
    }
}

/// The fields of a line of the password file; a backslash keeps a colon or another from counting. The rest is the password.
fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut chars = line.trim_end_matches('\r').chars();
    while let Some(c) = chars.next() {
        let last = fields.len();
        match c {
            '\\' => {
                if let (Some(field), Some(next)) = (fields.last_mut(), chars.next()) {
                    field.push(next);
                }
            }
            ':' if last < 5 => fields.push(String::new()),
            c => {
                if let Some(field) = fields.last_mut() {
                    field.push(c);
                }
            }
        }
    }
    fields
}

/// Takes an address apart.
fn split(name: &Path) -> Result<BTreeMap<String, String>, Fault> {
    let text = name.to_str().unwrap_or_default().trim();
    let unread = |what: &str| {
        refused("BW-L31", name, what)
            .expected("postgres://ROLE@HOST:PORT/DATABASE")
            .remedy("Correct the address; the password goes into the password file ~/.pgpass.")
    };
    let (_, rest) = text
        .split_once("://")
        .ok_or_else(|| unread("the server's address cannot be read"))?;
    let (rest, query) = rest.split_once('?').map_or((rest, ""), |(rest, query)| (rest, query));
    let (place, database) = rest
        .rsplit_once('@')
        .map_or(rest, |(_, place)| place)
        .split_once('/')
        .map_or_else(
            || (rest.rsplit_once('@').map_or(rest, |(_, place)| place), ""),
            |(place, database)| (place, database),
        );
    let who = rest.rsplit_once('@').map_or("", |(who, _)| who);
    let mut given = BTreeMap::new();
    let secret = || {
        refused("BW-L30", name, "a password stands in the server's address, where other people of this computer can read it")
            .expected("an address without a password: postgres://ROLE@HOST:PORT/DATABASE")
            .remedy(
                "Put the line HOST:PORT:DATABASE:ROLE:PASSWORD into ~/.pgpass, run chmod 600 ~/.pgpass, and leave the password out. \
                 Change the password: it now stands in the shell's history. Nothing was asked of the server.",
            )
    };
    if let Some((_, _password)) = who.split_once(':') {
        return Err(secret());
    }
    let mut put = |key: &str, value: &str| {
        if !value.is_empty() {
            given.insert(key.to_owned(), decoded(value));
        }
    };
    put("user", who);
    put("dbname", database.trim_end_matches('/'));
    match place.strip_prefix('[').and_then(|inside| inside.split_once(']')) {
        Some((host, port)) => {
            put("host", host);
            put("port", port.trim_start_matches(':'));
        }
        None => {
            let (host, port) = place.split_once(':').map_or((place, ""), |(host, port)| (host, port));
            put("host", host);
            put("port", port);
        }
    }
    for word in query.split('&').filter(|word| !word.is_empty()) {
        let (key, value) = word.split_once('=').unwrap_or((word, ""));
        if key == "password" || key == "passfile" {
            return Err(secret());
        }
        if !WORDS.contains(&key) {
            return Err(unread("a word of the server's address is not known")
                .value(key)
                .expected(WORDS.join(", ")));
        }
        put(key, value);
    }
    Ok(given)
}

/// Text with its percent signs resolved; a plus stays.
fn decoded(text: &str) -> String {
    let guarded = format!("k={}", text.replace('+', "%2B").replace('&', "%26"));
    form_urlencoded::parse(guarded.as_bytes())
        .next()
        .map_or_else(String::new, |(_, value)| value.into_owned())
}

/// The words of a service in the service file.
fn service_file(name: &Path, service: &str, around: &Surroundings<'_>) -> Result<BTreeMap<String, String>, Fault> {
    let places = [
        around.get("PGSERVICEFILE").map(PathBuf::from),
        around.at_home(".pg_service.conf"),
        Some(
            PathBuf::from(
                around
                    .get("PGSYSCONFDIR")
                    .unwrap_or_else(|| "/etc/postgresql-common".to_owned()),
            )
            .join("pg_service.conf"),
        ),
    ];
    for path in places.into_iter().flatten() {
        let Ok(text) = std::fs::read_to_string(&path) else {
            continue;
        };
        let mut inside = false;
        let mut found: Option<BTreeMap<String, String>> = None;
        for line in text.lines().map(str::trim).filter(|line| !line.starts_with('#')) {
            if let Some(head) = line.strip_prefix('[') {
                inside = head.trim_end_matches(']') == service;
                if inside {
                    found.get_or_insert_default();
                }
            } else if let (true, Some((key, value)), Some(words)) = (inside, line.split_once('='), found.as_mut()) {
                words.insert(key.trim().to_owned(), value.trim().to_owned());
            }
        }
        if let Some(words) = found {
            return Ok(words);
        }
    }
    Err(refused("BW-L31", name, "this service stands in no service file")
        .value(service)
        .expected("a section of that name in ~/.pg_service.conf or in the file that PGSERVICEFILE names")
        .remedy("Correct the name, or write host, port, dbname and user under it."))
}

/// How the connection is secured. Beyond this computer nothing travels readable, and the server must prove who it is, whatever weaker
/// word was given.
fn wire(name: &Path, host: &str, mode: Option<String>, roots: Option<String>) -> Result<Wire, Fault> {
    let near = host.starts_with('/') || matches!(host, "localhost" | "127.0.0.1" | "::1");
    let roots = roots.filter(|roots| roots != "system").map(PathBuf::from);
    match mode.as_deref() {
        None | Some("prefer" | "allow") if near => Ok(Wire::Plain),
        Some("disable") if near => Ok(Wire::Plain),
        Some("disable") => Err(refused(
            "BW-L32",
            name,
            "beyond this computer notes about customers would travel readable for anybody between",
        )
        .value("sslmode=disable")
        .expected("a server that speaks TLS")
        .remedy("Leave sslmode out, or go through a tunnel that ends on this computer and name 127.0.0.1.")),
        None | Some("prefer" | "allow" | "require" | "verify-ca" | "verify-full") => Ok(Wire::Tls(roots)),
        Some(other) => Err(refused("BW-L31", name, "sslmode cannot be read")
            .value(other)
            .expected("disable, prefer, require, verify-ca or verify-full")
            .remedy("Correct it, or leave it out.")),
    }
}
