//! Opens the desk: routes, listening, reading changed files again, stopping.

use super::form::Form;
use super::guard::{BODY_BYTES, guard, session_cookie};
use super::render::{ICON, STYLE};
use super::sessions::{Session, Sessions};
use super::state::Desk;
use super::{
    pages_account, pages_calls, pages_expansion, pages_list, pages_people, pages_phone, pages_plan, pages_record,
    pages_review, pages_season, pages_shift, settings as language_and_units, sign_in,
};
use crate::faults::{Fault, Severity};
use axum::extract::{Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Json, Router, middleware};
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use std::net::{SocketAddr, TcpListener};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tower_http::limit::RequestBodyLimitLayer;

/// Longest time for one answer.
const ANSWER: Duration = Duration::from_secs(30);
/// Longest time in which a client must send its request's head.
const HEAD: Duration = Duration::from_secs(10);
/// How often changed files are looked for.
const LOOK: Duration = Duration::from_secs(2);

/// The routes of the desk. Each stands with the role that it takes in `rights::RIGHTS`; one that does not is open to nobody.
pub fn routes(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/", get(|| async { Redirect::to("/phone") }))
        .route("/health", get(health))
        .route("/style.css", get(|| async { asset("text/css; charset=utf-8", STYLE) }))
        .route(
            "/icon.svg",
            get(|| async { asset("image/svg+xml; charset=utf-8", ICON) }),
        )
        .route(
            "/board.js",
            get(|| async { asset("text/javascript; charset=utf-8", pages_shift::SCRIPT) }),
        )
        .route("/sign-in", get(sign_in::form_page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/account", get(pages_account::own))
        .route("/account/password", post(pages_account::change_password))
        .route(
            "/account/codes",
            get(pages_account::codes).post(pages_account::set_up_codes),
        )
        .route("/account/end", post(pages_account::end_others))
        .route("/settings", post(settings))
        .route("/phone", get(pages_phone::start))
        .route(
            "/phone/find",
            post(pages_phone::find).get(|| async { Redirect::to("/phone") }),
        )
        .route("/phone/drip", get(pages_phone::blank).post(pages_phone::blank_answer))
        .route("/phone/a/{link}", get(pages_phone::card).post(pages_phone::card_answer))
        .route("/phone/a/{link}/note", post(pages_calls::about_assembly))
        .route("/phone/drip/note", post(pages_calls::about_else))
        .route("/phone/call-back", post(pages_calls::call_back))
        .route("/expansion", get(pages_expansion::blank).post(pages_expansion::answer))
        .route("/expansion/record", post(pages_expansion::record))
        .route("/record", get(pages_record::list))
        .route(
            "/record/find",
            post(pages_record::find).get(|| async { Redirect::to("/record") }),
        )
        .route("/record/a/{link}", get(pages_record::one).post(pages_record::save))
        .route("/season", get(pages_season::budget))
        .route("/review", get(pages_review::review))
        .route("/plan", get(pages_plan::list))
        .route("/plan/map", get(pages_plan::map))
        .route("/plan/calls", get(pages_shift::calls))
        .route("/plan/list", get(pages_list::list))
        .route("/plan/outcome", post(pages_shift::outcome))
        .route("/plan/take", post(pages_shift::take))
        .route("/plan/seen", post(pages_shift::seen))
        .route("/plan/board", get(pages_shift::board))
        .route("/plan/board/part", get(pages_shift::part))
        .route("/plan/again", post(pages_plan::again))
        .route("/plan/a/{link}", get(pages_plan::assembly))
        .route("/people", get(pages_people::list))
        .route("/people/end", post(pages_people::end))
        .fallback(nowhere)
        .layer(middleware::from_fn_with_state(desk.clone(), guard))
        .layer(RequestBodyLimitLayer::new(BODY_BYTES))
        .layer(middleware::from_fn(in_time))
        .layer(tower_http::compression::CompressionLayer::new())
        .with_state(desk)
}

/// Ends an answer that takes too long, in words.
async fn in_time(request: Request, next: middleware::Next) -> Response {
    tokio::time::timeout(ANSWER, next.run(request))
        .await
        .unwrap_or_else(|_| {
            super::render::plain(
                StatusCode::SERVICE_UNAVAILABLE,
                [
                    "This answer took too long and was given up. Please try again.",
                    "Esta respuesta tardó demasiado y se dejó. Intente otra vez.",
                ],
            )
        })
}

fn asset(kind: &'static str, text: &'static str) -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-cache")],
        text,
    )
}

async fn health() -> impl IntoResponse {
    Json(serde_json::json!({ "status": "ok", "version": crate::VERSION }))
}

/// What no route takes; the guard has answered it already.
async fn nowhere(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>) -> Response {
    super::guard::nowhere(&desk, &session)
}

async fn settings(State(desk): State<Arc<Desk>>, Extension(session): Extension<Session>, form: Form) -> Response {
    let (language, system) = language_and_units::wanted(&form);
    let mut response = Redirect::to(language_and_units::back(&form)).into_response();
    if Sessions::is_visitor(&session) {
        let cookie = desk
            .sessions
            .visitor(language, system)
            .and_then(|visitor| session_cookie(&desk, &visitor.id));
        if let Some(cookie) = cookie {
            response.headers_mut().insert(header::SET_COOKIE, cookie);
        }
    } else {
        desk.sessions.change(&session.id, |kept| {
            kept.language = language;
            kept.system = system;
        });
    }
    response
}

/// Certificate and key for TLS, read from PEM files.
///
/// # Errors
/// When a file cannot be read or used.
pub fn tls(certificate: &Path, key: &Path) -> Result<RustlsConfig, Fault> {
    use rustls::pki_types::pem::PemObject;
    use rustls::pki_types::{CertificateDer, PrivateKeyDer};
    let fault = |path: &Path, why: String| {
        Fault::new("BW-D40", Severity::Fatal, format!("this cannot be used for TLS: {why}"))
            .file(path.display().to_string())
            .expected("a PEM file")
    };
    let certificates: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(certificate)
        .and_then(Iterator::collect)
        .map_err(|error| fault(certificate, error.to_string()))?;
    let private = PrivateKeyDer::from_pem_file(key).map_err(|error| fault(key, error.to_string()))?;
    let config = rustls::ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .and_then(|builder| builder.with_no_client_auth().with_single_cert(certificates, private))
        .map_err(|error| fault(certificate, error.to_string()))?;
    Ok(RustlsConfig::from_config(Arc::new(config)))
}

/// Serves the desk on an open listener until it is told to stop.
///
/// # Errors
/// When listening fails.
pub async fn serve(desk: Arc<Desk>, listener: TcpListener, tls: Option<RustlsConfig>) -> Result<(), Fault> {
    let failed = |error: std::io::Error| Fault::new("BW-D41", Severity::Fatal, format!("the desk stopped: {error}"));
    listener.set_nonblocking(true).map_err(failed)?;
    let handle = Handle::new();
    tokio::spawn(stop_on_signal(handle.clone()));
    let planner = desk.clone();
    tokio::task::spawn_blocking(move || planner.compute_plan());
    tokio::spawn(look_for_changes(desk.clone()));
    let service = routes(desk).into_make_service_with_connect_info::<SocketAddr>();
    match tls {
        Some(tls) => {
            let mut server = axum_server::from_tcp_rustls(listener, tls)
                .map_err(failed)?
                .first_request_timeout(HEAD)
                .handle(handle);
            server
                .http_builder()
                .http1()
                .timer(hyper_util::rt::TokioTimer::new())
                .header_read_timeout(HEAD);
            server.serve(service).await.map_err(failed)
        }
        None => {
            let mut server = axum_server::from_tcp(listener)
                .map_err(failed)?
                .first_request_timeout(HEAD)
                .handle(handle);
            server
                .http_builder()
                .http1()
                .timer(hyper_util::rt::TokioTimer::new())
                .header_read_timeout(HEAD);
            server.serve(service).await.map_err(failed)
        }
    }
}

async fn stop_on_signal(handle: Handle<SocketAddr>) {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let terminate = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate());
        match terminate {
            Ok(mut terminate) => {
                tokio::select! { _ = interrupt => (), _ = terminate.recv() => () }
            }
            Err(_) => {
                let _ = interrupt.await;
            }
        }
    }
    #[cfg(not(unix))]
    let _ = interrupt.await;
    handle.graceful_shutdown(Some(Duration::from_secs(5)));
}

async fn look_for_changes(desk: Arc<Desk>) {
    let mut seen = super::data::stamp(&desk.options.files);
    // Nothing is known at the first look, so the file is read once more than needed.
    let mut password_stamp = None;
    loop {
        tokio::time::sleep(LOOK).await;
        let (looker, before) = (desk.clone(), password_stamp.clone());
        let look = tokio::task::spawn_blocking(move || {
            let passwords = looker
                .options
                .password_file
                .as_ref()
                .and_then(|path| std::fs::metadata(path).ok());
            let passwords = passwords.and_then(|meta| Some((meta.len(), meta.modified().ok()?, meta.permissions())));
            if passwords != before {
                looker.reload_passwords();
            }
            if let Some(log) = &looker.log {
                log.probe();
            }
            looker.look_at_watch();
            if looker.reload(&mut seen) {
                looker.compute_plan();
            }
            (seen, passwords)
        });
        match look.await {
            Ok(stamps) => (seen, password_stamp) = stamps,
            Err(_) => seen = super::data::stamp(&desk.options.files),
        }
    }
}
