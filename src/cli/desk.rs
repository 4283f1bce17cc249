//! `brimwater desk`.

use super::inputs::InputArgs;
use super::{Done, common, common::Common, desk_follow};
use crate::desk::passwords::{self, Passwords, too_open};
use crate::desk::rights::Role;
use crate::desk::second_factor::Codes;
use crate::desk::server;
use crate::desk::state::{Desk, Options};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::WhatIf;
use crate::output::safe::target::{Make, Target, may_write};
use crate::plan::Run;
use chrono::{DateTime, FixedOffset, Utc};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Arguments of `desk`.
#[derive(clap::Args)]
#[command(after_help = "Example, for this computer only:\n  \
brimwater desk --assemblies assemblies.csv --series forecast.csv --stations stations.csv --log calls.db\n\n\
To let other computers in, everybody signs in and the pages travel encrypted:\n  \
brimwater desk --password-line maria --role rep >> passwords.txt   (asks for the password)\n  \
brimwater desk ... --bind 0.0.0.0:8443 --host desk.example.com --password-file passwords.txt --tls-cert cert.pem --tls-key key.pem\n\
Behind a proxy that does TLS, --behind-proxy takes the place of the two TLS files.\n\n\
With a config whose section [watch] names a folder, and no --series, the desk follows that watch:\n  \
brimwater desk --config config.toml")]
pub struct Args {
    #[command(flatten)]
    pub(super) input: InputArgs,
    /// Log of contacts: notes and outcomes are saved here. Without it nothing can be saved. Where many desks keep one log, a server:
    /// postgres://ROLE@HOST:PORT/DATABASE.
    #[arg(long, value_name = "FILE|ADDRESS")]
    pub(super) log: Option<PathBuf>,
    /// With a log on a server: the file of this desk for what cannot be delivered at once; in the person's state folder when left out.
    #[arg(long, value_name = "FILE", requires = "log")]
    spool: Option<PathBuf>,
    /// Audit file, who looked at what; beside the log when left out.
    #[arg(long, value_name = "FILE")]
    audit: Option<PathBuf>,
    /// Address and port to listen on.
    #[arg(long, default_value = "127.0.0.1:8765", value_name = "ADDRESS:PORT")]
    bind: SocketAddr,
    /// Further name under which browsers may ask for the desk (repeatable).
    #[arg(long, value_name = "NAME")]
    host: Vec<String>,
    /// Names and password hashes of those who may sign in.
    #[arg(long, value_name = "FILE")]
    password_file: Option<PathBuf>,
    /// The least role that must have one-time codes: planner means planners and admins. Whoever has none yet signs in to the page that sets
    /// them up, and to no other.
    #[arg(long, value_name = "ROLE", requires = "password_file")]
    require_codes: Option<String>,
    /// Folder that `season --out` wrote, or its choices.csv: shows who gets what under any budget.
    #[arg(long, value_name = "DIR")]
    season: Option<PathBuf>,
    /// Folder that `plan --out` wrote after the spell: the page of visits, on which testers enter what they find. It goes into
    /// DIR-inspection_record_filled.csv beside the folder, which `review --record` and `log --import` read.
    #[arg(long, value_name = "DIR")]
    plan: Vec<PathBuf>,
    /// Folder that `watch` keeps: its newest plan is taken up without a restart, and what it told stands on every page. With a config that names
    /// the folder, and without --series, this need not be given; list, stations, log, members and seed then come from there too.
    #[arg(long, value_name = "DIR", conflicts_with_all = ["series", "spread", "spell"])]
    pub(super) follow: Option<PathBuf>,
    /// Certificate chain for TLS, PEM.
    #[arg(long, value_name = "FILE", requires = "tls_key")]
    tls_cert: Option<PathBuf>,
    /// Private key for TLS, PEM.
    #[arg(long, value_name = "FILE", requires = "tls_cert")]
    tls_key: Option<PathBuf>,
    /// A proxy in front does TLS for the browsers and adds the client's address to X-Forwarded-For. One on another computer speaks TLS to the
    /// desk as well.
    #[arg(long)]
    behind_proxy: bool,
    /// Address of that proxy (repeatable); this computer's own when left out. Only its word on a client's address is taken.
    #[arg(long, value_name = "ADDRESS", requires = "behind_proxy")]
    proxy: Vec<IpAddr>,
    /// Members of the ensemble behind outlooks and plan; the watch's where one is followed, else 256.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(super) members: Option<u32>,
    /// Seed of the ensemble; the watch's where one is followed, else 1.
    #[arg(long)]
    pub(super) seed: Option<u64>,
    /// Time that stands for now, such as 2026-01-15T21:30:00-06:00.
    #[arg(long, value_name = "TIME")]
    now: Option<DateTime<FixedOffset>>,
    /// Requests a second that one address may make.
    #[arg(long, default_value_t = 50.0, value_name = "NUMBER")]
    requests_per_second: f64,
    /// Print a line for the password file and stop; the password is asked for, or read from standard input.
    #[arg(long, value_name = "NAME")]
    password_line: Option<String>,
    /// With --password-line, what the name may do: rep (calls), planner (and the plan), admin (and other people's sessions); planner
    /// when left out.
    #[arg(long, value_name = "ROLE", requires = "password_line")]
    role: Option<String>,
    /// With --password-line: one-time codes by time (RFC 6238) as a second factor.
    #[arg(long, requires = "password_line")]
    one_time_codes: bool,
}

/// Members when `--members` is left out.
const MEMBERS: u32 = 256;

/// Runs `desk`.
pub fn run(mut args: Args, common: &Common) -> Done {
    if let Some(name) = &args.password_line {
        let role = args
            .role
            .as_deref()
            .map_or(Ok(Role::Planner), |word| role("--role", word))?;
        return password_line(name, role, args.one_time_codes);
    }
    let mut faults = Faults::new();
    let follow = desk_follow::followed(&mut args);
    if args.input.assemblies.is_none() {
        faults.push(
            Fault::new("BW-D03", Severity::Fatal, "the desk needs a list of assemblies")
                .column("--assemblies")
                .remedy(
                    "Name one, such as --assemblies assemblies.csv; `brimwater demo --out DIR` writes an invented one.",
                ),
        );
    }
    if !(args.requests_per_second >= 1.0 && args.requests_per_second <= 100_000.0) {
        faults.push(
            Fault::new("BW-D04", Severity::Fatal, "the limit of requests is out of range")
                .column("--requests-per-second")
                .value(&args.requests_per_second.to_string())
                .expected("1 to 100000"),
        );
    }
    let passwords = passwords(&args, &mut faults);
    let require_codes = args.require_codes.as_deref().and_then(|word| {
        let role = role("--require-codes", word);
        role.map_err(|fault| faults.push(fault)).ok()
    });
    for path in args.password_file.iter().chain(&args.tls_key) {
        too_open(path, &mut faults);
    }
    wider_needs_more(&args, &mut faults);
    if let Err(told) = audit_place(&args, common.force) {
        faults.append(told);
    }
    let tls = match (&args.tls_cert, &args.tls_key) {
        (Some(certificate), Some(key)) => match server::tls(certificate, key) {
            Ok(tls) => Some(tls),
            Err(fault) => {
                faults.push(fault);
                None
            }
        },
        _ => None,
    };
    let files = match args.input.files() {
        Ok(files) => files,
        Err(fault) => {
            faults.push(fault);
            return Err(faults.into());
        }
    };
    if faults.is_fatal() {
        return Err(faults.into());
    }
    // The port is taken before the long reading, so that a taken one is told at once.
    let listener = listen(args.bind)?;
    let mut hosts: Vec<String> = ["localhost", "127.0.0.1", "[::1]"].map(String::from).to_vec();
    hosts.push(args.bind.to_string());
    hosts.extend(args.host.iter().map(|host| host.to_ascii_lowercase()));
    let options = Options {
        files,
        log: args.log.clone(),
        spool: args.spool.clone(),
        audit: args.audit.clone(),
        run: Run {
            members: args.members.unwrap_or(MEMBERS) as usize,
            seed: args.seed.unwrap_or(1),
            what_if: WhatIf::AsListed,
            advice_cases: 0,
            trace: false,
        },
        now: args.now.map(|now| now.with_timezone(&Utc)),
        system: common.system(),
        hosts,
        passwords,
        secure: tls.is_some() || args.behind_proxy,
        proxies: match (args.behind_proxy, args.proxy.is_empty()) {
            (false, _) => Vec::new(),
            (true, true) => vec![Ipv4Addr::LOCALHOST.into(), Ipv6Addr::LOCALHOST.into()],
            (true, false) => args.proxy.clone(),
        },
        password_file: args.password_file.clone(),
        require_codes,
        requests_per_second: args.requests_per_second,
        season: args.season.clone(),
        plans: args.plan.clone(),
        follow,
    };
    let scheme = if tls.is_some() { "https" } else { "http" };
    let (desk, told) = Desk::open(options)?;
    common.tell(&told);
    let address = listener.local_addr().unwrap_or(args.bind);
    let people = desk.data().assemblies().len();
    common::print(&format!(
        "The desk is open at {scheme}://{address}/ with {people} assemblies. Stop it with Ctrl-C.\n{}\n",
        crate::PLANNING_AID
    ))?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .max_blocking_threads(64)
        .build()
        .map_err(|error| Fault::new("BW-D41", Severity::Fatal, format!("the desk cannot start: {error}")))?;
    runtime.block_on(server::serve(Arc::new(desk), listener, tls))?;
    Ok(told.exit_status())
}

fn role(option: &str, word: &str) -> Result<Role, Fault> {
    Role::read(word).ok_or_else(|| {
        Fault::new("BW-D12", Severity::Fatal, format!("{option} is not known"))
            .value(word)
            .expected(Role::ALL.map(Role::word).join(", "))
    })
}

fn listen(bind: SocketAddr) -> Result<TcpListener, Fault> {
    TcpListener::bind(bind).map_err(|error| {
        let (what, remedy) = match error.kind() {
            std::io::ErrorKind::AddrInUse => (
                "this port is taken, perhaps by a desk that is open already".to_string(),
                "Use the desk that is open, or choose another port with --bind 127.0.0.1:8766.",
            ),
            std::io::ErrorKind::PermissionDenied => (
                "this port may not be used".to_string(),
                "Choose one above 1024 with --bind.",
            ),
            _ => (
                format!("cannot listen here: {error}"),
                "Choose another address with --bind.",
            ),
        };
        Fault::new("BW-D05", Severity::Fatal, what)
            .column("--bind")
            .value(&bind.to_string())
            .remedy(remedy)
    })
}

/// The audit trail is added to: to a file of its own kind or a new one, and to none that is read here.
fn audit_place(args: &Args, force: bool) -> Result<(), Faults> {
    let Some(path) = args.audit.as_deref() else {
        return Ok(());
    };
    // A link is told by the trail itself, when it is opened.
    if std::fs::symlink_metadata(path).is_ok_and(|meta| meta.is_symlink()) {
        return Ok(());
    }
    let own = &args.input;
    let inputs: Vec<&Path> = own
        .series
        .iter()
        .chain(&own.assemblies)
        .chain(&own.stations)
        .chain(&own.config)
        .chain(&own.spread)
        .chain(&args.password_file)
        .chain(&args.tls_cert)
        .chain(&args.tls_key)
        .map(|path| path.as_path())
        .collect();
    let audit = Target::private("--audit", path, Make::Lines(&["time", "who", "event"]));
    may_write(&[audit], &inputs, force)
}

/// Whoever is not at this computer sees customers' names and numbers only after signing in, and only encrypted. A proxy on this computer
/// brings such people to an address that is this computer's own; what travels to an address that is not is readable on the way also when
/// only the proxy is meant to read it.
fn wider_needs_more(args: &Args, faults: &mut Faults) {
    let wide = !args.bind.ip().is_loopback();
    if args.password_file.is_none() && (wide || args.behind_proxy) {
        faults.push(
            Fault::new(
                "BW-D06",
                Severity::Fatal,
                "beyond this computer the pages show customers' names and numbers to the network, so everybody must sign in",
            )
            .column(if wide { "--bind" } else { "--behind-proxy" })
            .value(&args.bind.to_string())
            .expected("--password-file FILE")
            .remedy("Make the file with `brimwater desk --password-line NAME`, or listen on 127.0.0.1 only."),
        );
    }
    if wide && args.tls_cert.is_none() {
        faults.push(
            Fault::new(
                "BW-D07",
                Severity::Fatal,
                "beyond this computer passwords and customers' data would travel readable for anybody between",
            )
            .column("--bind")
            .value(&args.bind.to_string())
            .expected("--tls-cert FILE --tls-key FILE, also between a proxy on another computer and the desk")
            .remedy("Ask whoever runs your network for a certificate, or listen on 127.0.0.1 only, with the proxy on this computer."),
        );
    }
}

fn passwords(args: &Args, faults: &mut Faults) -> Option<Passwords> {
    let path = args.password_file.as_ref()?;
    match std::fs::read_to_string(path) {
        Ok(text) => {
            let (passwords, told) = Passwords::read(&text, &path.display().to_string());
            faults.append(told);
            Some(passwords)
        }
        Err(error) => {
            faults.push(
                Fault::new(
                    "BW-D25",
                    Severity::Fatal,
                    format!("the password file cannot be read: {error}"),
                )
                .file(path.display().to_string()),
            );
            None
        }
    }
}

fn password_line(name: &str, role: Role, with_codes: bool) -> Done {
    let unread = |error: std::io::Error| {
        Fault::new(
            "BW-D26",
            Severity::Fatal,
            format!("the password cannot be read: {error}"),
        )
    };
    let Some(password) = super::secret::password().map_err(unread)? else {
        return Err(
            Fault::new("BW-D28", Severity::Fatal, "the two passwords are not the same")
                .remedy("Run the command again.")
                .into(),
        );
    };
    let codes = if with_codes {
        let none = || {
            Fault::new(
                "BW-D29",
                Severity::Fatal,
                "the system gives no random numbers for a secret",
            )
        };
        Some(Codes::random().ok_or_else(none)?)
    } else {
        None
    };
    let line = passwords::line(name, &password, role, codes.as_ref())?;
    if let Some(link) = codes.and_then(|codes| codes.link(name)) {
        // Beside the line, not in it: the line goes into the file, the link to the person.
        eprintln!(
            "One-time codes of {name}: enter this into an authenticator, once, and keep it nowhere else.\n{link}"
        );
    }
    common::print(&format!("{line}\n"))
}
