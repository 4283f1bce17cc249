//! The tables on the server: numbered files compiled in, each applied once, in order, by one program at a time.

use super::address::Address;
use super::trouble::told;
use crate::faults::{Fault, Severity};
use postgres::Client;
use sha2::{Digest, Sha256};

/// The files in their order; a file that was ever released is not changed, another follows it.
const FILES: [(&str, &str); 4] = [
    ("001_log.sql", include_str!("schema/001_log.sql")),
    ("002_triggers.sql", include_str!("schema/002_triggers.sql")),
    ("003_rights.sql", include_str!("schema/003_rights.sql")),
    ("004_keep.sql", include_str!("schema/004_keep.sql")),
];
/// Key of the lock under which the tables are made: the letters `BWLG`.
const LOCK: i64 = 0x4257_4C47;
/// The roles that stand for jobs. Nobody logs in as one of them.
const ROLES: [&str; 5] = [
    "brimwater_owner",
    "brimwater_keeper",
    "brimwater_desk",
    "brimwater_planner",
    "brimwater_reader",
];

/// The version of the tables that this program knows.
pub fn version() -> i32 {
    i32::try_from(FILES.len()).unwrap_or(i32::MAX)
}

fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .take(16)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

fn other_version(address: &Address, what: &str, found: i32, remedy: &str) -> Fault {
    Fault::new("BW-L36", Severity::Fatal, what)
        .file(address.shown())
        .value(&found.to_string())
        .expected(format!("tables of version {}", version()))
        .remedy(remedy)
}

/// Whether this program can use tables of that version.
///
/// # Errors
/// `BW-L36` when it cannot.
pub(super) fn check(address: &Address, found: i32) -> Result<(), Fault> {
    if found > version() {
        return Err(other_version(
            address,
            "the server's log was set up by a later version of the program",
            found,
            "Use the later version on this computer too; nothing was written.",
        ));
    }
    if found < version() {
        return Err(other_version(
            address,
            "the server's log was set up by an earlier version of the program",
            found,
            "Have whoever runs the server bring it up to date: `brimwater log --set-up ADDRESS`. Nothing was written.",
        ));
    }
    Ok(())
}

/// Makes or completes the tables, and returns the version that stood there before.
///
/// # Errors
/// `BW-L36` when a later version stands there or a file was changed after it was applied; a fault of the server.
pub(super) fn apply(address: &Address, client: &mut Client) -> Result<i32, Fault> {
    client
        .execute("SELECT pg_advisory_lock($1)", &[&LOCK])
        .map_err(|error| told(address, &error))?;
    let done = apply_alone(address, client);
    // The session ends with the command; a lock that cannot be given back ends with it.
    let _ = client.execute("SELECT pg_advisory_unlock($1)", &[&LOCK]);
    done
}

fn apply_alone(address: &Address, client: &mut Client) -> Result<i32, Fault> {
    begin(client).map_err(|error| told(address, &error))?;
    let applied = client
        .query("SELECT version, digest FROM brimwater.schema ORDER BY version", &[])
        .map_err(|error| told(address, &error))?;
    let before = applied.last().map_or(0, |row| row.get(0));
    if before > version() {
        return check(address, before).map(|()| before);
    }
    for row in &applied {
        let version: i32 = row.get(0);
        let file = FILES.get(usize::try_from(version - 1).unwrap_or(usize::MAX));
        if file.is_none_or(|(_, text)| digest(text) != row.get::<_, &str>(1)) {
            return Err(other_version(
                address,
                "the server's tables were made by another build of the program",
                version,
                "Use the build that set them up, or copy the log with --copy-to into a database that this one sets up.",
            ));
        }
    }
    for (at, (_, text)) in FILES.iter().enumerate().skip(usize::try_from(before).unwrap_or(0)) {
        let run = |client: &mut Client| -> Result<(), postgres::Error> {
            let mut transaction = client.transaction()?;
            transaction.batch_execute("SET LOCAL ROLE brimwater_owner")?;
            transaction.batch_execute(text)?;
            transaction.batch_execute("RESET ROLE")?;
            transaction.execute(
                "INSERT INTO brimwater.schema (version, digest, program) VALUES ($1, $2, $3)",
                &[
                    &i32::try_from(at + 1).unwrap_or(i32::MAX),
                    &digest(text),
                    &crate::VERSION,
                ],
            )?;
            transaction.commit()
        };
        run(client).map_err(|error| told(address, &error))?;
    }
    client
        .batch_execute("SELECT brimwater.renumber()")
        .map_err(|error| told(address, &error))?;
    Ok(before)
}

/// The roles, the schema and the table of versions.
fn begin(client: &mut Client) -> Result<(), postgres::Error> {
    let mut transaction = client.transaction()?;
    for role in ROLES {
        let known = transaction.query_opt("SELECT FROM pg_roles WHERE rolname = $1", &[&role])?;
        if known.is_none() {
            transaction.batch_execute(&format!("CREATE ROLE {role} NOLOGIN"))?;
        }
    }
    let strong: bool = transaction
        .query_one("SELECT rolsuper FROM pg_roles WHERE rolname = current_user", &[])?
        .get(0);
    if !strong {
        transaction.batch_execute("GRANT brimwater_owner, brimwater_keeper TO CURRENT_USER")?;
    }
    transaction.batch_execute(
        "CREATE SCHEMA IF NOT EXISTS brimwater AUTHORIZATION brimwater_owner; \
         SET LOCAL ROLE brimwater_owner; \
         CREATE TABLE IF NOT EXISTS brimwater.schema (version integer PRIMARY KEY, digest text NOT NULL, \
             applied_at timestamptz NOT NULL DEFAULT now(), program text NOT NULL); \
         RESET ROLE",
    )?;
    if !strong {
        transaction.batch_execute(
            "SET LOCAL ROLE brimwater_owner; GRANT SELECT, INSERT ON brimwater.schema TO SESSION_USER; RESET ROLE",
        )?;
    }
    transaction.commit()
}
