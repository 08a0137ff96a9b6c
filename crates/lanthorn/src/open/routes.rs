//! What is asked for by which path.

use super::bench::{Desk, News, Workbench};
use super::edit::Edit;
use super::fault::{Answer, Fault};
use super::guard::{Ends, guard};
use super::scene::{Scene, SceneTold};
use super::server::{Patient, in_time};
use super::session::Changed;
use super::tracks::Tracks;
use super::{cut, fields, findings, page, rehearsal, start, steps, summary, why};
use axum::body::Body;
use axum::extract::rejection::JsonRejection;
use axum::extract::{DefaultBodyLimit, FromRequest, Path, Query, Request, State};
use axum::http::{HeaderValue, Method, Uri, header};
use axum::middleware::{from_fn, from_fn_with_state};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post, put};
use axum::{Extension, Json, Router};
use rayon::{ThreadPool, ThreadPoolBuilder};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::convert::Infallible;
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};
use tokio::sync::Semaphore;
use tokio_stream::wrappers::BroadcastStream;
use tokio_stream::{Stream, StreamExt};

/// The longest JSON that is read, bytes.
const JSON_BYTES: usize = 4 << 20;
/// Event streams at once.
const STREAMS: usize = 64;

pub(crate) type Bench = State<Arc<Workbench>>;

/// JSON of a known form.
pub(crate) struct Form<T>(pub(crate) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Form<T> {
    type Rejection = Fault;

    async fn from_request(request: Request, state: &S) -> Result<Form<T>, Fault> {
        match Json::<T>::from_request(request, state).await {
            Ok(Json(form)) => Ok(Form(form)),
            Err(rejection) => {
                let code = match &rejection {
                    JsonRejection::JsonDataError(_) => "form",
                    JsonRejection::MissingJsonContentType(_) => "kind",
                    _ => "json",
                };
                Err(Fault::new(
                    rejection.status().as_u16(),
                    code,
                    rejection.body_text(),
                    "send JSON as the interface says",
                ))
            }
        }
    }
}

/// Long work, off the threads that answer.
pub(crate) async fn offload<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Fault> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|_| Fault::new(500, "fault", "the program met a fault of its own", "try again, and tell what you did"))
}

/// Work on several threads that does not queue behind a build: threads of its own.
pub(crate) fn beside_the_build<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();
    match POOL.get_or_init(|| ThreadPoolBuilder::new().build().ok()) {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

/// All routes.
pub(crate) fn router(bench: Arc<Workbench>) -> Router {
    let streams = Arc::new(Semaphore::new(STREAMS));
    let api = Router::new()
        .route("/state", get(state))
        .route("/events", get(events).layer(Extension(streams)))
        .route("/project", get(project))
        .route("/change", post(change))
        .route("/cut", post(cut::cut))
        .route("/undo", post(undo))
        .route("/redo", post(redo))
        .route("/text", put(text))
        .route("/build", post(build))
        .route("/cancel", post(cancel))
        .route("/scene", get(scene))
        .route("/mesh/{hash}", get(mesh))
        .route("/light", get(light))
        .route("/light.bin", get(light_bytes))
        .route("/tracks", get(tracks))
        .route("/findings", get(all_findings))
        .route("/why/{id}", get(why::why))
        .route("/summary", get(summary::summary))
        .route("/drawings", get(summary::drawings))
        .route("/drawings/{name}", get(summary::drawing))
        .route("/time", get(time))
        .route("/rehearsal", post(rehearsal::rehearse))
        .route("/rehearsal/{id}/frames", get(rehearsal::frames))
        .route("/rehearsal/{id}/sound", get(rehearsal::sound))
        .route("/live", post(rehearsal::live))
        .route("/start", get(start::begin))
        .route("/start/mesh", post(start::mesh))
        .route("/start/project", post(start::project))
        .route("/start/example", post(start::example))
        .route("/steps", get(steps::all))
        .route("/steps/tick", post(steps::tick))
        .route("/steps/value", post(steps::value))
        .route("/steps/timer", post(steps::timer))
        .route("/steps/remove", post(steps::remove))
        .route("/steps/photo", post(steps::photo))
        .route("/steps/photo/{id}", get(steps::shown_photo))
        .route("/steps/coupon/{printer}", get(steps::coupon_sheet))
        .route("/steps/learn", post(steps::learn))
        .route("/steps/replan", post(steps::replan))
        .route("/share", post(share))
        .fallback(no_route)
        .method_not_allowed_fallback(no_method)
        .layer(DefaultBodyLimit::max(JSON_BYTES));
    Router::new()
        .nest("/api", api)
        .route("/pair/{secret}", get(pair))
        .fallback(page::file)
        .method_not_allowed_fallback(no_method)
        .layer(from_fn(in_time))
        .layer(from_fn(patience))
        .layer(from_fn_with_state(Arc::clone(&bench), guard))
        .with_state(bench)
}

/// Event streams and uploads keep their own time.
async fn patience(mut request: Request, next: axum::middleware::Next) -> Response {
    let path = request.uri().path();
    if path == "/api/events" || path == "/api/start/mesh" || path == "/api/steps/photo" {
        request.extensions_mut().insert(Patient);
    }
    next.run(request).await
}

async fn no_route(uri: Uri) -> Fault {
    Fault::new(404, "route", format!("there is nothing at {}", uri.path()), "")
}

async fn no_method(method: Method, uri: Uri) -> Fault {
    Fault::new(405, "method", format!("{} does not take {method}", uri.path()), "")
}

fn json_text(text: String) -> Response {
    ([(header::CONTENT_TYPE, HeaderValue::from_static("application/json"))], text).into_response()
}

async fn state(State(bench): Bench, Extension(ends): Extension<Ends>) -> Response {
    let desk = bench.desk();
    json_text(bench.state(&desk, ends.is_home()))
}

async fn events(
    State(bench): Bench,
    Extension(ends): Extension<Ends>,
    Extension(streams): Extension<Arc<Semaphore>>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Fault> {
    let seat = streams
        .try_acquire_owned()
        .map_err(|_| Fault::new(503, "busy", "too many pages are open", "close some of them"))?;
    let news = BroadcastStream::new(bench.listen());
    let here = ends.is_home();
    let first = {
        let desk = bench.desk();
        Event::default().event("state").data(bench.state(&desk, here))
    };
    let told = news.map(move |news| {
        let _seat = &seat;
        match news {
            Ok(News { kind: "state", data }) if here => Event::default().event("state").data(data),
            // Who is not here is told so.
            Ok(News { kind: "state", .. }) => {
                let desk = bench.desk();
                Event::default().event("state").data(bench.state(&desk, false))
            }
            Ok(News { kind, data }) => Event::default().event(kind).data(data),
            Err(_) => Event::default().event("resync").data("{}"),
        }
    });
    let all = tokio_stream::once(first).chain(told).map(Ok);
    Ok(Sse::new(all).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))))
}

/// The project: its text, and what of it has controls.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Project"))]
pub(crate) struct ProjectShown {
    revision: String,
    /// Names and sizes are of the last text that reads, `None` where none did.
    name: Option<String>,
    inches: bool,
    wearer_mm: Option<f64>,
    fields: Vec<fields::Control>,
    cuts: Option<cut::Cuts>,
    text: String,
}

pub(super) async fn project(State(bench): Bench) -> Answer<ProjectShown> {
    let (read, text, revision) = {
        let desk = bench.desk();
        let session = desk.session.as_ref().ok_or_else(Fault::no_project)?;
        (desk.shown.project.clone(), session.text().to_owned(), session.revision().to_owned())
    };
    // Controls are those of the text as it is now; where it does not read, of the last one that did.
    let now = prop::project::parse(&text, &prop::catalogue::Catalogue::built_in()).ok().map(Arc::new).or(read);
    let controls = now.as_ref().map_or_else(Vec::new, |p| fields::controls(p, &text));
    Ok(Json(ProjectShown {
        revision,
        name: now.as_ref().map(|p| p.name.clone()),
        inches: now.as_ref().is_some_and(|p| p.inches),
        wearer_mm: now.as_ref().and_then(|p| p.wearer_mm),
        fields: controls,
        cuts: now.as_ref().map(|p| cut::told(p)),
        text,
    }))
}

/// Values put into the text that a page saw.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Changes {
    base: String,
    changes: Vec<Edit>,
}

pub(super) async fn change(State(bench): Bench, Form(Changes { base, changes }): Form<Changes>) -> Answer<Changed> {
    offload(move || bench.edit(&base, &changes)).await?.map(Json)
}

/// The text that a page saw.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Base {
    pub(crate) base: String,
}

pub(super) async fn undo(State(bench): Bench, Form(Base { base }): Form<Base>) -> Answer<Changed> {
    offload(move || bench.change(|session| session.step(&base, true))).await?.map(Json)
}

pub(super) async fn redo(State(bench): Bench, Form(Base { base }): Form<Base>) -> Answer<Changed> {
    offload(move || bench.change(|session| session.step(&base, false))).await?.map(Json)
}

/// A text in the place of the one that a page saw.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Text {
    base: String,
    text: String,
}

pub(super) async fn text(State(bench): Bench, Form(Text { base, text }): Form<Text>) -> Answer<Changed> {
    offload(move || bench.change(|session| session.replace(&base, text))).await?.map(Json)
}

/// The newest build.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "BuildAsked"))]
pub(crate) struct Asked {
    build: u64,
}

pub(super) async fn build(State(bench): Bench) -> Answer<Asked> {
    let mut desk = bench.desk();
    if desk.session.is_none() {
        return Err(Fault::no_project());
    }
    Ok(Json(Asked { build: bench.ask(&mut desk) }))
}

pub(super) async fn cancel(State(bench): Bench) -> Answer<Asked> {
    Ok(Json(Asked { build: bench.cancel() }))
}

/// What is shown, where a project is open.
pub(crate) fn open<R>(bench: &Workbench, look: impl FnOnce(&Desk) -> R) -> Result<R, Fault> {
    let desk = bench.desk();
    if desk.session.is_none() {
        return Err(Fault::no_project());
    }
    Ok(look(&desk))
}

pub(super) async fn scene(State(bench): Bench) -> Answer<SceneTold> {
    let (build, scene) = open(&bench, |desk| (desk.shown.scene_build, Arc::clone(&desk.shown.scene)))?;
    Ok(Json(SceneTold { build, scene: Scene::clone(&scene) }))
}

#[derive(Deserialize)]
struct Detail {
    full: Option<String>,
}

async fn mesh(
    State(bench): Bench,
    Path(hash): Path<String>,
    Query(Detail { full }): Query<Detail>,
) -> Result<Response, Fault> {
    let found = bench.desk().shown.meshes.get(&hash).or_else(|| bench.uploads.mesh(&hash));
    let found = found.ok_or_else(|| Fault::new(404, "mesh", "that mesh is shown no more", "fetch the scene again"))?;
    let bytes = offload(move || beside_the_build(|| found.bytes(full.is_some()).to_vec())).await?;
    let kind = (header::CONTENT_TYPE, HeaderValue::from_static("application/octet-stream"));
    let kept = (header::CACHE_CONTROL, HeaderValue::from_static("private, max-age=31536000, immutable"));
    Ok(([kind, kept], Body::from(bytes)).into_response())
}

fn lit(bench: &Workbench) -> Result<Arc<super::light::LightShown>, Fault> {
    open(bench, |desk| {
        let dark = desk.stages.has_none(super::stage::Stage::Light);
        desk.shown.light.clone().ok_or_else(|| if dark { Fault::none("light") } else { Fault::waiting("the light") })
    })?
}

async fn light(State(bench): Bench) -> Result<Response, Fault> {
    Ok(Json(&*lit(&bench)?).into_response())
}

async fn light_bytes(State(bench): Bench) -> Result<Response, Fault> {
    let found = lit(&bench)?;
    let kind = (header::CONTENT_TYPE, HeaderValue::from_static("application/octet-stream"));
    Ok(([kind], Body::from(found.bytes.clone())).into_response())
}

pub(super) async fn tracks(State(bench): Bench) -> Answer<Tracks> {
    open(&bench, |desk| {
        Json(Tracks { build: desk.build, span_mm: desk.shown.scene.span_mm, tracks: desk.shown.tracks.clone() })
    })
}

pub(super) async fn all_findings(State(bench): Bench) -> Answer<findings::Findings> {
    let outcome = open(&bench, |desk| desk.shown.outcome.clone())?;
    let (build, outcome) = outcome.ok_or_else(|| Fault::waiting("what is to be found"))?;
    Ok(Json(findings::shown(build, &outcome.findings)))
}

/// Seconds since 1970.
pub(crate) fn now_s() -> f64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |d| d.as_secs_f64())
}

/// This machine's clock, seconds since 1970.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Clock {
    now: f64,
}

async fn time() -> Json<Clock> {
    Json(Clock { now: now_s() })
}

/// A code that pairs one device.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Share {
    url: String,
    /// As SVG.
    qr: String,
    /// Until when it is good, seconds since 1970.
    ends: f64,
}

async fn share(State(bench): Bench, Extension(ends): Extension<Ends>) -> Answer<Share> {
    if !ends.is_home() {
        return Err(Fault::new(403, "here", "devices are paired on the machine where lanthorn runs", ""));
    }
    if !bench.lan {
        return Err(Fault::new(
            409,
            "local",
            "only this machine is listened to",
            "start it with: lanthorn open PROJECT --lan",
        ));
    }
    let secret = bench.pairing.offer(Instant::now())?;
    let (url, qr) = super::pairing_page::shared(&bench.lan_address(ends.here.port())?, &secret)?;
    let ends = (now_s() + super::pairing::LASTS.as_secs_f64()).round();
    Ok(Json(Share { url, qr, ends }))
}

async fn pair(State(bench): Bench, Path(secret): Path<String>) -> Result<Response, Fault> {
    Ok(match bench.pairing.pair(&secret, Instant::now())? {
        Some(cookie) => {
            let set = HeaderValue::from_str(&cookie).map_err(|e| anyhow::anyhow!("{e}"))?;
            (
                [(header::SET_COOKIE, set), (header::CACHE_CONTROL, HeaderValue::from_static("no-store"))],
                Redirect::to("/"),
            )
                .into_response()
        }
        None => (axum::http::StatusCode::FORBIDDEN, Html(super::pairing_page::WRONG)).into_response(),
    })
}
