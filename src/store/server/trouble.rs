//! What went wrong with a server, in words that tell what to do.

use super::address::Address;
use crate::faults::{Fault, Severity};
use postgres::error::{DbError, SqlState};
use std::error::Error as _;

/// Whether a fault says that the server cannot be reached or has no room for anybody now, so that trying again later is right.
pub fn is_away(fault: &Fault) -> bool {
    fault.code == "BW-L33"
}

/// Whether a statement failed because of others at the same moment, so that it is right to do it once more.
pub(super) fn is_passing(error: &postgres::Error) -> bool {
    matches!(
        error.code(),
        Some(&SqlState::T_R_SERIALIZATION_FAILURE | &SqlState::T_R_DEADLOCK_DETECTED)
    )
}

/// Whether the connection is of no more use.
pub(super) fn is_cut(error: &postgres::Error) -> bool {
    error.is_closed()
        || match error.as_db_error() {
            Some(told) => ends_the_session(told),
            None => !error.to_string().contains("unexpected message") && is_of_the_wire(error),
        }
}

fn ends_the_session(told: &DbError) -> bool {
    [
        SqlState::ADMIN_SHUTDOWN,
        SqlState::CRASH_SHUTDOWN,
        SqlState::CANNOT_CONNECT_NOW,
        SqlState::IDLE_SESSION_TIMEOUT,
        SqlState::IDLE_IN_TRANSACTION_SESSION_TIMEOUT,
    ]
    .contains(told.code())
        || told.code().code().starts_with("08")
}

fn is_of_the_wire(error: &postgres::Error) -> bool {
    let mut cause = error.source();
    while let Some(found) = cause {
        if found.is::<std::io::Error>() {
            return true;
        }
        cause = found.source();
    }
    false
}

/// The innermost reason, in the system's words.
fn reason(error: &postgres::Error) -> String {
    if let Some(told) = error.as_db_error() {
        return told.message().to_owned();
    }
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(found) = cause {
        text = found.to_string();
        cause = found.source();
    }
    text
}

fn fault(code: &'static str, address: &Address, what: impl Into<String>) -> Fault {
    Fault::new(code, Severity::Fatal, what).file(address.shown())
}

/// The fault of a failed connection or statement.
pub(super) fn told(address: &Address, error: &postgres::Error) -> Fault {
    match error.as_db_error() {
        Some(db) => told_by_server(address, db),
        None => told_by_wire(address, error),
    }
}

fn told_by_wire(address: &Address, error: &postgres::Error) -> Fault {
    let (whole, why) = (error.to_string(), reason(error));
    if whole.contains("TLS") {
        return fault("BW-L32", address, format!("no encrypted connection came about: {why}"))
            .expected("a server that speaks TLS, with a certificate for this name from an authority that this computer trusts")
            .remedy(
                "Ask whoever runs the server to switch TLS on, or name the file of its authority with ?sslrootcert=FILE. The name in \
                 the address must be the one in the certificate.",
            );
    }
    if why.contains("password missing") {
        return login_refused(address, "the server asks for a password, and none was found");
    }
    fault("BW-L33", address, format!("the server cannot be reached: {why}"))
        .expected("a PostgreSQL server at this address")
        .remedy(
            "Check host and port, and whether the server runs. A desk goes on by itself and delivers its notes later; from the command line, \
             note into a file with --db FILE now and bring it over with --copy-to.",
        )
}

fn login_refused(address: &Address, what: &str) -> Fault {
    let fault = fault("BW-L34", address, what);
    match &address.open_file {
        Some(path) => fault.remedy(format!(
            "The password file {path} was not used, because others on this computer may read it: run chmod 600 {path} and try again.",
            path = path.display()
        )),
        None => fault
            .expected("the password of this role in PGPASSWORD, the password file (PGPASSFILE or ~/.pgpass) or the service file")
            .remedy(
                "Put HOST:PORT:DATABASE:ROLE:PASSWORD into ~/.pgpass with mode 0600, or ask whoever runs the server for a new \
                 password (`brimwater log --enrol`).",
            ),
    }
}

fn told_by_server(address: &Address, db: &DbError) -> Fault {
    let code = db.code();
    let class = code.code().get(..2).unwrap_or_default();
    if *code == SqlState::INVALID_PASSWORD || *code == SqlState::INVALID_AUTHORIZATION_SPECIFICATION {
        // The server does not tell a wrong name from a wrong password, and neither do we.
        return login_refused(address, &format!("the server lets this role not in: {}", db.message()));
    }
    if *code == SqlState::UNDEFINED_DATABASE {
        return fault("BW-L35", address, "the server has no such database")
            .value(&address.database)
            .remedy("Correct the name behind the slash, or have it made and set up with `brimwater log --set-up`.");
    }
    if *code == SqlState::INSUFFICIENT_PRIVILEGE {
        return no_right(address, db.message());
    }
    if *code == SqlState::DISK_FULL || *code == SqlState::OUT_OF_MEMORY {
        return fault("BW-L38", address, format!("the server has no room: {}", db.message()))
            .remedy("Tell whoever runs the server. Nothing of this note is on the server; a desk keeps it and delivers it later.");
    }
    if ends_the_session(db) || matches!(class, "53" | "57") {
        return fault(
            "BW-L33",
            address,
            format!("the server cannot serve now: {}", db.message()),
        )
        .expected("a server that runs and has a connection to spare")
        .remedy("Wait a moment and try again; a desk does so by itself.");
    }
    fault("BW-L39", address, format!("the server refused: {}", db.message()))
        .value(code.code())
        .remedy("Tell whoever runs the server and quote the five signs of the code. Nothing was written.")
}

/// A role that lacks a right.
pub(super) fn no_right(address: &Address, what: &str) -> Fault {
    fault("BW-L37", address, format!("this role may not do that: {what}"))
        .value(&address.user)
        .expected("a role with the job that this needs: desk for notes, planner for queue and retention, reader for lists")
        .remedy("Ask whoever runs the server to enrol the role: `brimwater log --db ADDRESS --enrol ROLE --utility NAME --job JOB`.")
}
