//! Connecting: the wire, the session, and whether this is a log of ours that the role may use.

use super::address::{Address, Wire};
use super::schema;
use super::trouble::{no_right, told};
use crate::faults::{Fault, Severity};
use chrono::{DateTime, TimeDelta, Utc};
use postgres::config::SslMode;
use postgres::error::SqlState;
use postgres::{Client, Config, NoTls};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// A connection in whose session nothing of the client's habits counts.
///
/// # Errors
/// What stands in the way, with what to do.
pub(super) fn client(address: &Address) -> Result<Client, Fault> {
    let mut config = Config::new();
    config
        .port(address.port)
        .user(&address.user)
        .dbname(&address.database)
        .application_name("brimwater")
        .connect_timeout(Duration::from_secs(address.wait_s))
        // A server that is gone without a word is noticed.
        .tcp_user_timeout(Duration::from_secs(10))
        .keepalives_idle(Duration::from_secs(20));
    if address.is_socket() {
        config.host_path(&address.host);
    } else {
        config.host(&address.host);
    }
    if let Some(password) = &address.password {
        config.password(password);
    }
    let connected = match &address.wire {
        Wire::Plain => config.ssl_mode(SslMode::Disable).connect(NoTls),
        Wire::Tls(roots) => {
            let tls = tls(address, roots.as_deref())?;
            config.ssl_mode(SslMode::Require).connect(tls)
        }
    };
    let mut client = connected.map_err(|error| told(address, &error))?;
    client
        .batch_execute(
            "SET search_path = pg_catalog; SET timezone = 'UTC'; SET lock_timeout = '15s'; SET statement_timeout = '120s'; \
             SET idle_in_transaction_session_timeout = '60s'",
        )
        .map_err(|error| told(address, &error))?;
    Ok(client)
}

fn tls(address: &Address, roots: Option<&Path>) -> Result<tokio_postgres_rustls::MakeRustlsConnect, Fault> {
    let refused = |what: String| {
        Fault::new("BW-L32", Severity::Fatal, what)
            .file(address.shown())
            .expected("certificates of authorities, PEM")
            .remedy("Name the file of the authority that signed the server's certificate with ?sslrootcert=FILE.")
    };
    let mut store = RootCertStore::empty();
    match roots {
        Some(path) => {
            let read = CertificateDer::pem_file_iter(path)
                .map_err(|error| refused(format!("the file of the authority cannot be read: {error}")))?;
            for certificate in read {
                let certificate = certificate
                    .map_err(|error| refused(format!("the file of the authority cannot be read: {error}")))?;
                store
                    .add(certificate)
                    .map_err(|error| refused(format!("the file of the authority cannot be used: {error}")))?;
            }
        }
        None => {
            let found = rustls_native_certs::load_native_certs();
            store.add_parsable_certificates(found.certs);
        }
    }
    if store.is_empty() {
        return Err(refused("this computer trusts no authority".to_owned()));
    }
    let config = ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| refused(error.to_string()))?
        .with_root_certificates(store)
        .with_no_client_auth();
    Ok(tokio_postgres_rustls::MakeRustlsConnect::new(config))
}

/// Looks whether the database holds a log of ours, of this version, for this programme; gives the utility and how far the server's
/// clock is ahead.
///
/// # Errors
/// `BW-L35` no log there, `BW-L36` another version, `BW-L37` a role without rights, `BW-L03` another programme's role.
pub(super) fn greet(
    address: &Address,
    client: &mut Client,
    programme: Option<&str>,
    clock: fn() -> DateTime<Utc>,
) -> Result<(String, TimeDelta), Fault> {
    let there = client
        .query_one(
            "SELECT EXISTS (SELECT FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace \
             WHERE n.nspname = 'brimwater' AND c.relname = 'schema')",
            &[],
        )
        .map_err(|error| told(address, &error))?;
    if !there.get::<_, bool>(0) {
        return Err(Fault::new("BW-L35", Severity::Fatal, "this database holds no log of this program")
            .file(address.shown())
            .expected("a database that was set up for it")
            .remedy("Correct the name of the database, or have it set up: `brimwater log --set-up ADDRESS`. Nothing was written to it."));
    }
    let version = client
        .query_one("SELECT coalesce(max(version), 0) FROM brimwater.schema", &[])
        .map_err(|error| match error.code() {
            Some(&SqlState::INSUFFICIENT_PRIVILEGE) => no_right(address, "it is not enrolled for any job"),
            _ => told(address, &error),
        })?;
    schema::check(address, version.get(0))?;
    let before = clock();
    let row = client
        .query_one("SELECT brimwater.utility(), clock_timestamp()", &[])
        .map_err(|error| told(address, &error))?;
    let middle = before + (clock() - before) / 2;
    let ahead = row.get::<_, DateTime<Utc>>(1) - middle;
    let Some(utility) = row.get::<_, Option<String>>(0) else {
        return Err(no_right(address, "it is not enrolled for any utility"));
    };
    if let Some(expected) = programme
        && expected != utility
    {
        return Err(Fault::new(
            "BW-L03",
            Severity::Fatal,
            "this role keeps the log of another contact programme",
        )
        .file(address.shown())
        .value(&utility)
        .expected(format!(
            "the log of `{expected}`, as `outreach.programme_id` in the config says"
        ))
        .remedy("Log in with this programme's own role, or correct `outreach.programme_id`."));
    }
    Ok((utility, ahead))
}
