//! What stands before every page: limits, host, session, form token, and the headers of the answer.

use super::address::{client, counted};
use super::audit::{Entry, Event};
use super::draft::Draft;
use super::form::Form;
use super::render::{message, page, plain};
use super::rights::{self, Needs, Role};
use super::sessions::{Session, same};
use super::state::Desk;
use super::words::word;
use crate::inventory::Language;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use minijinja::context;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Instant;

/// Name of the session cookie on this computer alone.
pub const COOKIE: &str = "brimwater_session";
/// Its name over TLS: browsers take this one from this very host only, and encrypted (RFC 6265bis, cookie name prefixes).
pub const SECURE_COOKIE: &str = "__Host-brimwater_session";

/// Most bytes of a form.
pub const BODY_BYTES: usize = 64 * 1024;

/// Headers of every answer. No script runs on these pages, so none is allowed; the board, which one of the desk's own renews, brings a policy of
/// its own.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=()"),
];

/// Whose request it is: behind a proxy not the proxy's address, which everybody shares.
#[derive(Debug, Clone, Copy)]
pub struct ClientAddress(pub IpAddr);

/// Whether the Host header names this desk: keeps other sites from reaching a loopback desk by their own name.
fn host_is_ours(desk: &Desk, headers: &HeaderMap) -> bool {
    let mut told = headers.get_all(header::HOST).iter();
    // Two names would let a cache or a proxy believe one and the desk the other.
    let (Some(host), None) = (told.next().and_then(|value| value.to_str().ok()), told.next()) else {
        return false;
    };
    let host = host.to_ascii_lowercase();
    let name = match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_digit()) => name,
        _ => host.as_str(),
    };
    desk.options.hosts.iter().any(|ours| *ours == host || *ours == name)
}

fn origin_is_ours(headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    match text(header::ORIGIN) {
        None => true,
        Some(origin) => {
            let host = text(header::HOST).unwrap_or("");
            origin
                .split_once("://")
                .is_some_and(|(_, rest)| rest.eq_ignore_ascii_case(host))
        }
    }
}

fn cookie<'a>(desk: &Desk, headers: &'a HeaderMap) -> Option<&'a str> {
    let name = cookie_name(desk);
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|list| list.split(';'))
        .find_map(|pair| pair.trim().strip_prefix(name)?.strip_prefix('='))
}

fn wished_language(headers: &HeaderMap) -> Language {
    let wish = headers
        .get(header::ACCEPT_LANGUAGE)
        .and_then(|value| value.to_str().ok())
        .unwrap_or("");
    if wish.trim_start().to_ascii_lowercase().starts_with("es") {
        Language::Spanish
    } else {
        Language::English
    }
}

fn cookie_name(desk: &Desk) -> &'static str {
    if desk.options.secure { SECURE_COOKIE } else { COOKIE }
}

/// The cookie that carries a session.
pub fn session_cookie(desk: &Desk, id: &str) -> Option<HeaderValue> {
    let secure = if desk.options.secure { "; Secure" } else { "" };
    let name = cookie_name(desk);
    HeaderValue::from_str(&format!("{name}={id}; Path=/; HttpOnly; SameSite=Strict{secure}")).ok()
}

/// Lets a request in, or answers it here.
pub async fn guard(
    State(desk): State<Arc<Desk>>,
    ConnectInfo(peer): ConnectInfo<SocketAddr>,
    mut request: Request<Body>,
    next: Next,
) -> Response {
    let mut response = admit(&desk, peer, &mut request, next).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        // The printable record brings a policy of its own, as strict, for the style sheet that stands in it.
        headers
            .entry(HeaderName::from_static(name))
            .or_insert(HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    if desk.options.secure {
        headers.insert(
            header::STRICT_TRANSPORT_SECURITY,
            HeaderValue::from_static("max-age=31536000; includeSubDomains"),
        );
    }
    response
}

async fn admit(desk: &Arc<Desk>, peer: SocketAddr, request: &mut Request<Body>, next: Next) -> Response {
    let headers = request.headers();
    let Some(address) = client(headers, peer, &desk.options.proxies) else {
        desk.note_turned_away("?", Event::PastTheProxy, peer.ip());
        return plain(
            StatusCode::FORBIDDEN,
            [
                "This desk is reached through its proxy only. Whoever runs it can name the proxy's address with --proxy.",
                "A este sistema se llega solo por su proxy. Quien lo administra puede indicar su dirección con --proxy.",
            ],
        );
    };
    if !desk.limiter.take(counted(address), Instant::now()) {
        desk.note_turned_away("?", Event::TooMany, address);
        let mut response = plain(
            StatusCode::TOO_MANY_REQUESTS,
            [
                "Too many requests at once. Please wait a moment.",
                "Demasiadas solicitudes a la vez. Espere un momento.",
            ],
        );
        response
            .headers_mut()
            .insert(header::RETRY_AFTER, HeaderValue::from_static("2"));
        return response;
    }
    if !host_is_ours(desk, headers) {
        desk.note_turned_away("?", Event::ForeignHost, address);
        return plain(
            StatusCode::MISDIRECTED_REQUEST,
            [
                "This desk does not answer under that name. Whoever runs it can allow the name with --host.",
                "Este sistema no responde a ese nombre. Quien lo administra puede permitirlo con --host.",
            ],
        );
    }
    let path = request.uri().path().to_string();
    if ["/health", "/style.css", "/icon.svg", "/board.js"].contains(&path.as_str()) {
        let request = std::mem::take(request);
        return next.run(request).await;
    }
    let old = cookie(desk, headers).map(str::to_owned);
    // A board that renews itself on a wall keeps nobody signed in.
    let by_itself = path == "/plan/board/part" || (path == "/plan/board" && request.uri().query() == Some("auto=1"));
    let known = old.as_deref().and_then(|id| {
        if by_itself {
            desk.sessions.peek(id)
        } else {
            desk.sessions.get(id)
        }
    });
    let wish = wished_language(headers);
    let posts = request.method() == Method::POST;
    if posts && !origin_is_ours(headers) {
        desk.note_turned_away("?", Event::ForeignForm, address);
        return plain(
            StatusCode::FORBIDDEN,
            [
                "This form was sent from another site.",
                "Este formulario se envió desde otro sitio.",
            ],
        );
    }
    let asks_who = desk.asks_who();
    let (mut session, fresh) = match known {
        Some(session) => (session, false),
        None => {
            let system = desk.options.system;
            let opened = if asks_who {
                desk.sessions.visitor(wish, system)
            } else {
                // Nobody signs in, so whoever is at this computer may do everything.
                desk.sessions.open(None, Role::Admin, wish, system)
            };
            match opened {
                Some(session) => (session, true),
                None => {
                    return plain(
                        StatusCode::SERVICE_UNAVAILABLE,
                        [
                            "No session can be opened now. Please try again.",
                            "Ahora no se puede abrir una sesión. Intente otra vez.",
                        ],
                    );
                }
            }
        }
    };
    let needs = rights::needs(&path);
    let must_sign_in = asks_who && session.who.is_none() && path != "/sign-in" && path != "/settings";
    if posts {
        let body = std::mem::take(request.body_mut());
        let Ok(bytes) = axum::body::to_bytes(body, BODY_BYTES).await else {
            return plain(
                StatusCode::PAYLOAD_TOO_LARGE,
                [
                    "This form is too long to be read.",
                    "Este formulario es demasiado largo para leerlo.",
                ],
            );
        };
        let form = Form::read(&bytes);
        let own = token_fits(&session, form.get("csrf"));
        if must_sign_in || !own {
            let mut response = not_taken(desk, &session, &path, &form, old.as_deref(), must_sign_in);
            set_cookie(desk, &session, fresh, &mut response);
            return response;
        }
        // Nothing of the form is lost by it, and the page that comes says so.
        let of = form.told("plan");
        if of.is_some_and(|of| desk.plan_mark().is_some_and(|mark| mark != of)) {
            session.crossed = true;
            desk.sessions.change(&session.id, |kept| kept.crossed = true);
        }
        request.extensions_mut().insert(form);
    } else if must_sign_in {
        let mut response = Redirect::to("/sign-in").into_response();
        set_cookie(desk, &session, fresh, &mut response);
        return response;
    }
    let refused = match needs {
        Some(Needs::Role(_)) if session.owes_codes && !rights::WHILE_CODES_ARE_OWED.contains(&path.as_str()) => {
            Some(Redirect::to("/account/codes").into_response())
        }
        None => Some(nowhere(desk, &session)),
        Some(Needs::Role(role)) if session.role < role => Some(not_allowed(desk, &session, role, &path, address)),
        Some(_) => None,
    };
    if let Some(mut response) = refused {
        set_cookie(desk, &session, fresh, &mut response);
        return response;
    }
    request.extensions_mut().insert(session.clone());
    request.extensions_mut().insert(ClientAddress(address));
    let request = std::mem::take(request);
    let mut response = next.run(request).await;
    if response.status().is_server_error() {
        desk.note_entry(Entry {
            page: rights::pattern(&path),
            address: Some(address),
            ..Entry::of(session.name(), Event::Failed)
        });
    }
    set_cookie(desk, &session, fresh, &mut response);
    response
}

/// A page that the desk does not have.
pub fn nowhere(desk: &Desk, session: &Session) -> Response {
    let (title, text) = session.language.pick(
        ("No such page", "There is nothing at this address."),
        ("No existe esa página", "No hay nada en esta dirección."),
    );
    message(desk, session, StatusCode::NOT_FOUND, title, text)
}

/// A page that this role does not open.
fn not_allowed(desk: &Desk, session: &Session, role: Role, path: &str, address: IpAddr) -> Response {
    desk.note_entry(Entry {
        // Its pattern, not the address itself: that names an assembly in a way of this session's own.
        page: rights::pattern(path),
        address: Some(address),
        ..Entry::of(session.name(), Event::NotAllowed)
    });
    let [own, needed] = [session.role, role].map(|role| word(role.word(), session.language));
    let title = session
        .language
        .pick("Not for your role", "No corresponde a su función");
    let text = session.language.pick(
        format!(
            "You are signed in as {own}; this page is for {needed}. Ask whoever looks after this desk if you need it."
        ),
        format!("Entró como {own}; esta página es para {needed}. Si la necesita, pídalo a quien cuida este sistema."),
    );
    message(desk, session, StatusCode::FORBIDDEN, title, &text)
}

/// A form from a page of an ended session: what it holds is offered again, after a sign-in where one is due.
fn not_taken(
    desk: &Desk,
    session: &Session,
    path: &str,
    form: &Form,
    old: Option<&str>,
    must_sign_in: bool,
) -> Response {
    match Draft::of(path, form, old, session) {
        Some(draft) if must_sign_in || path == "/sign-in" => {
            let more = context! { area => "sign-in", ended => true, draft => draft.carried() };
            let mut response = page(desk, session, "sign-in.html", more);
            *response.status_mut() = StatusCode::UNAUTHORIZED;
            response
        }
        Some(draft) => draft.offered(desk, session),
        None => Redirect::to(if desk.asks_who() && session.who.is_none() {
            "/sign-in"
        } else {
            "/phone"
        })
        .into_response(),
    }
}

fn set_cookie(desk: &Desk, session: &Session, fresh: bool, response: &mut Response) {
    // A handler that opened another session (sign-in) has set its own.
    if fresh
        && !response.headers().contains_key(header::SET_COOKIE)
        && let Some(value) = session_cookie(desk, &session.id)
    {
        response.headers_mut().insert(header::SET_COOKIE, value);
    }
}

/// Whether a form carries its session's token.
pub fn token_fits(session: &Session, sent: &str) -> bool {
    same(&session.csrf, sent)
}
