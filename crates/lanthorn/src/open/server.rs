//! Listening and answering: few at once, none for ever.

use super::guard::Ends;
use axum::Router;
use axum::extract::Request;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// Connections at once; more wait until one ends.
const CONNECTIONS: usize = 512;
/// The longest that a request's head may take to come, and a connection may idle.
const HEAD: Duration = Duration::from_secs(15);
/// The longest that an answer may take, reading what was sent included.
const ANSWER: Duration = Duration::from_secs(60);

/// Answers for ever.
pub(crate) async fn serve(listener: TcpListener, router: Router) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let Ok(seat) = Arc::clone(&room).acquire_owned().await else { return };
        let Ok((stream, there)) = listener.accept().await else {
            // Out of file handles, most likely: some will be given back.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let Ok(here) = stream.local_addr() else { continue };
        // Small answers go out at once; where that cannot be set they come a little later.
        let _ = stream.set_nodelay(true);
        let inner = TowerToHyperService::new(router.clone());
        let service = service_fn(move |mut request: hyper::Request<Incoming>| {
            request.extensions_mut().insert(Ends { here, there });
            inner.call(request)
        });
        tokio::spawn(async move {
            let _seat = seat;
            let mut http = http1::Builder::new();
            http.timer(TokioTimer::new()).header_read_timeout(HEAD).max_headers(64);
            // A connection that breaks is the other side's business.
            let _ = http.serve_connection(TokioIo::new(stream), service).await;
        });
    }
}

/// Gives up on requests that take too long, but for event streams and uploads, which keep their own time.
pub(crate) async fn in_time(request: Request, next: Next) -> Response {
    if request.extensions().get::<Patient>().is_some() {
        return next.run(request).await;
    }
    match tokio::time::timeout(ANSWER, next.run(request)).await {
        Ok(response) => response,
        Err(_) => super::fault::Fault::new(408, "slow", "this took too long", "try again").into_response(),
    }
}

/// Marks a request that keeps its own time.
#[derive(Clone, Copy)]
pub(crate) struct Patient;
