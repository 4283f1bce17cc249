//! What whoever runs the server does once: the tables, and a login role for each desk, planner or reader.

use super::address::Address;
use super::trouble::told;
use super::{connect, schema};
use crate::faults::{Fault, Severity};
use postgres::Client;

/// What a login role may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Job {
    /// Notes outcomes and calls, asks for the next call.
    Desk,
    /// The same, loads the queue, and removes personal data that are old.
    Planner,
    /// Reads.
    Reader,
}

impl Job {
    /// Every job.
    pub const ALL: [Job; 3] = [Job::Desk, Job::Planner, Job::Reader];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Job::Desk => "desk",
            Job::Planner => "planner",
            Job::Reader => "reader",
        }
    }

    /// Reads the word.
    pub fn parse(word: &str) -> Option<Job> {
        Job::ALL
            .into_iter()
            .find(|job| job.word() == word.trim().to_lowercase())
    }
}

/// Makes or completes the tables. Returns the version before.
///
/// # Errors
/// What the server refuses, with what to do; `BW-L36` when a later version stands there.
pub fn set_up(address: &Address) -> Result<i32, Fault> {
    let mut client = connect::client(address)?;
    schema::apply(address, &mut client)
}

/// Enrols a login role for a utility and a job, making the role where there is none. With a password the server gets only what it needs
/// to check it (SCRAM, RFC 5802), so that no log of the server holds it.
///
/// # Errors
/// `BW-L43` for names that cannot be used, `BW-L36` before the tables are there, or what the server refuses.
pub fn enrol(address: &Address, role: &str, utility: &str, job: Job, password: Option<&str>) -> Result<(), Fault> {
    if !role_fits(role)
        || utility.trim().is_empty()
        || utility.chars().count() > 200
        || utility.chars().any(char::is_control)
    {
        return Err(Fault::new("BW-L43", Severity::Fatal, "the role or the utility cannot be used as a name")
            .value(&format!("{role} of {utility}"))
            .expected("a role of small letters, digits and underscores that begins with a letter, at most 60, none of the program's own; a utility of 1 to 200 characters")
            .remedy("Take another name; the utility is named as `outreach.programme_id` in its config."));
    }
    let mut client = connect::client(address)?;
    let version = client
        .query_one("SELECT to_regclass('brimwater.schema') IS NOT NULL", &[])
        .map_err(|error| told(address, &error))?;
    if !version.get::<_, bool>(0) {
        return schema::check(address, 0);
    }
    let version = client
        .query_one("SELECT coalesce(max(version), 0) FROM brimwater.schema", &[])
        .map_err(|error| told(address, &error))?;
    schema::check(address, version.get(0))?;
    let strong = client
        .query_opt(
            "SELECT FROM pg_roles WHERE rolname = $1 AND (rolsuper OR rolbypassrls OR rolcreaterole \
             OR pg_has_role(oid, 'brimwater_owner', 'MEMBER') OR pg_has_role(oid, 'brimwater_keeper', 'MEMBER'))",
            &[&role],
        )
        .map_err(|error| told(address, &error))?;
    if strong.is_some() {
        return Err(Fault::new(
            "BW-L43",
            Severity::Fatal,
            "this role stands above the rules that keep utilities apart",
        )
        .value(role)
        .expected("a role of its own for the desk, the planner or the reader")
        .remedy("Take another name; the role is made where there is none."));
    }
    let run = |client: &mut Client| -> Result<(), postgres::Error> {
        let mut transaction = client.transaction()?;
        let known = transaction.query_opt("SELECT FROM pg_roles WHERE rolname = $1", &[&role])?;
        if known.is_none() {
            transaction.batch_execute(&format!("CREATE ROLE \"{role}\" LOGIN"))?;
        }
        if let Some(password) = password {
            let verifier = postgres_protocol::password::scram_sha_256(password.as_bytes());
            // The verifier is letters, digits and signs of base 64.
            transaction.batch_execute(&format!("ALTER ROLE \"{role}\" PASSWORD '{verifier}'"))?;
        }
        for each in Job::ALL {
            let word = each.word();
            if each == job {
                transaction.batch_execute(&format!("GRANT brimwater_{word} TO \"{role}\""))?;
            } else {
                transaction.batch_execute(&format!("REVOKE brimwater_{word} FROM \"{role}\""))?;
            }
        }
        transaction.batch_execute("SET LOCAL ROLE brimwater_owner")?;
        transaction.execute(
            "INSERT INTO brimwater.enrolled (role, utility, job) VALUES ($1::text::name, $2, $3) \
             ON CONFLICT (role) DO UPDATE SET utility = excluded.utility, job = excluded.job",
            &[&role, &utility.trim(), &job.word()],
        )?;
        transaction.commit()
    };
    run(&mut client).map_err(|error| told(address, &error))
}

fn role_fits(role: &str) -> bool {
    role.len() <= 60
        && role.starts_with(|c: char| c.is_ascii_lowercase())
        && role
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        && !role.starts_with("brimwater_")
        && !role.starts_with("pg_")
}
