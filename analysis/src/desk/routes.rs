//! What the page may ask for. All of it stands below the token; whatever else is asked for is not there.
//!
//! ```text
//! GET  /TOKEN/               the page, and its parts: desk.css, desk.js, ...
//! GET  /TOKEN/api/state      forms, sliders, faults, of both variants
//! GET  /TOKEN/api/results?drawn=K   figures (null if the page has those of K) and margins, of both variants
//! GET  /TOKEN/api/wait?seen=N   answers once the version is another than N, or after a while
//! POST /TOKEN/api/do         {action, in_view}: one `Action`; gives {state, results}. Of a slider's step no state, which can
//!                            wait till the hand rests; results, with the figures that are in view, if the page names these
//!                            and the run ends within a moment
//! POST /TOKEN/api/save       {variant, name, over}; 409 with a question and a digest if a file is there
//! ```

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{DefaultBodyLimit, RawQuery, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse as _, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::document::Refused;
use super::forms;
use super::guard::{Names, guard};
use super::save::NotSaved;
use super::shown::{Results, Wanted};
use super::state::{Action, Desk, Saving};
use super::work;
use crate::report::page as report;
use crate::results::CAUTION;

/// Most bytes of a request.
const MOST_BYTES: usize = 1 << 20;
/// How long a page waits for a change before it is answered anyway.
const WAIT: Duration = Duration::from_secs(20);

/// The page.
const PAGE: &str = include_str!("page/desk.html");
/// The parts of the page: name, kind, content.
const PARTS: [(&str, &str, &str); 6] = [
    ("desk.css", "text/css; charset=utf-8", include_str!("page/desk.css")),
    ("desk.js", JAVASCRIPT, include_str!("page/desk.js")),
    ("ask.js", JAVASCRIPT, include_str!("page/ask.js")),
    ("forms.js", JAVASCRIPT, include_str!("page/forms.js")),
    ("results.js", JAVASCRIPT, include_str!("page/results.js")),
    ("curves.js", JAVASCRIPT, include_str!("page/curves.js")),
];
const JAVASCRIPT: &str = "text/javascript; charset=utf-8";

/// Everything below a token, for a port.
pub(super) fn router(desk: Arc<Desk>, token: &str, port: u16) -> Router {
    // The caution is on the page whether its scripts run or not.
    let page = Bytes::from(
        PAGE.replace("{{caution}}", CAUTION)
            .replace("{{patterns}}", &report::patterns()),
    );
    let own = PARTS.map(|(name, kind, content)| (name, kind, Bytes::from_static(content.as_bytes())));
    // Figures look and answer as they do in reports.
    let shared = [
        (
            "figures.css",
            "text/css; charset=utf-8",
            Bytes::from(report::figures_style()),
        ),
        (
            "figures.js",
            JAVASCRIPT,
            Bytes::from_static(report::figures_script().as_bytes()),
        ),
    ];
    let parts = own.into_iter().chain(shared);
    let mut router = Router::new();
    for (name, kind, content) in parts.chain([("", "text/html; charset=utf-8", page)]) {
        let part = move || {
            let content = content.clone();
            async move { ([(header::CONTENT_TYPE, kind)], content) }
        };
        router = router.route(&format!("/{token}/{name}"), get(part));
    }
    router
        .route(&format!("/{token}/api/state"), get(state))
        .route(&format!("/{token}/api/results"), get(results))
        .route(&format!("/{token}/api/wait"), get(wait))
        .route(&format!("/{token}/api/do"), post(act))
        .route(&format!("/{token}/api/save"), post(save))
        .fallback(|| async { StatusCode::NOT_FOUND })
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(from_fn_with_state(Names::of(port), guard))
        .with_state(desk)
}

fn answer(status: StatusCode, value: &Value) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], value.to_string()).into_response()
}

fn refused(status: StatusCode, why: &str) -> Response {
    answer(status, &json!({ "error": why }))
}

/// Work on a thread that may take its time; what panics is told.
async fn apart(work: impl FnOnce() -> Response + Send + 'static) -> Response {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|_| {
        let why = "this broke off: a fault of this program; please report it";
        refused(StatusCode::INTERNAL_SERVER_ERROR, why)
    })
}

async fn state(State(desk): State<Arc<Desk>>) -> Response {
    apart(move || answer(StatusCode::OK, &forms::json(&desk.lock()))).await
}

async fn results(State(desk): State<Arc<Desk>>, RawQuery(query): RawQuery) -> Response {
    apart(move || {
        let results = Results::of(&desk.lock());
        let has = query.as_deref().and_then(|query| query.strip_prefix("drawn="));
        answer(StatusCode::OK, &results.json(&Wanted::Unless(has)))
    })
    .await
}

async fn wait(State(desk): State<Arc<Desk>>, RawQuery(query): RawQuery) -> Response {
    let seen = query.as_deref().and_then(|query| query.strip_prefix("seen="));
    let Some(seen) = seen.and_then(|seen| seen.parse::<u64>().ok()) else {
        return refused(StatusCode::BAD_REQUEST, "say which version was seen: ?seen=N");
    };
    let mut told = desk.told.subscribe();
    // Told or not, it is answered; what tells is not held meanwhile.
    let _told = tokio::time::timeout(WAIT, told.wait_for(|version| *version != seen))
        .await
        .is_ok();
    apart(move || answer(StatusCode::OK, &standing(&desk.lock()))).await
}

/// What a page needs to know to ask for what is new.
fn standing(state: &super::state::State) -> Value {
    let study = state.study.as_ref().map(|study| {
        let at = state.variants.iter().position(|variant| variant.id == study.variant);
        json!({
            "variant": at.map(|at| ["A", "B"][at]),
            "done": study.done.load(Ordering::Relaxed),
            "runs": study.runs,
        })
    });
    json!({
        "version": state.version,
        "forms": state.forms,
        "results": state.results,
        "running": !state.running.is_empty(),
        "study": study,
    })
}

/// What a page asks for when something is to be changed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Change {
    action: Action,
    /// Ids of the figures that are in view.
    #[serde(default)]
    in_view: Option<Vec<String>>,
}

async fn act(State(desk): State<Arc<Desk>>, headers: HeaderMap, body: Result<Bytes, BytesRejection>) -> Response {
    let Change { action, in_view } = match read(&headers, body) {
        Ok(change) => change,
        Err(response) => return *response,
    };
    let slides = matches!(action, Action::Slide { .. });
    apart(move || match desk.act(action) {
        Ok(()) => {
            let state = (!slides).then(|| forms::json(&desk.lock()));
            let results = in_view.and_then(|ids| {
                let state = desk.settled(desk.runner.moment);
                let results = (!work::awaited(&state)).then(|| Results::of(&state));
                // Drawn while others may change what stands there.
                drop(state);
                results.map(|results| results.json(&Wanted::InView(&ids)))
            });
            answer(StatusCode::OK, &json!({ "state": state, "results": results }))
        }
        Err(Refused::Gone(why)) => refused(StatusCode::CONFLICT, &why),
        Err(Refused::Cannot(why)) => refused(StatusCode::UNPROCESSABLE_ENTITY, &why),
    })
    .await
}

async fn save(State(desk): State<Arc<Desk>>, headers: HeaderMap, body: Result<Bytes, BytesRejection>) -> Response {
    let saving: Saving = match read(&headers, body) {
        Ok(saving) => saving,
        Err(response) => return *response,
    };
    apart(move || match desk.save(&saving) {
        Ok(()) => answer(StatusCode::OK, &forms::json(&desk.lock())),
        Err(NotSaved::Wrong(why)) => refused(StatusCode::UNPROCESSABLE_ENTITY, &why),
        Err(NotSaved::There { digest, question }) => answer(
            StatusCode::CONFLICT,
            &json!({ "error": question, "question": question, "digest": digest }),
        ),
    })
    .await
}

/// A request's JSON. The content type is asked for because no other site's form can send it unasked.
fn read<T: DeserializeOwned>(headers: &HeaderMap, body: Result<Bytes, BytesRejection>) -> Result<T, Box<Response>> {
    let kind = headers.get(header::CONTENT_TYPE).map(|kind| kind.as_bytes());
    if kind != Some(b"application/json") {
        let response = refused(StatusCode::UNSUPPORTED_MEDIA_TYPE, "send application/json");
        return Err(Box::new(response));
    }
    let body = body.map_err(|rejection| {
        let status = rejection.status();
        let why = if status == StatusCode::PAYLOAD_TOO_LARGE {
            "at most 1 MiB is read".to_owned()
        } else {
            "the request could not be read".to_owned()
        };
        Box::new(refused(status, &why))
    })?;
    serde_json::from_slice(&body).map_err(|error| {
        let why = format!("this is not what can be asked for: {error}");
        Box::new(refused(StatusCode::BAD_REQUEST, &why))
    })
}
