//! The page's own files, as they were built into this program.

use super::fault::Fault;
use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};

include!(concat!(env!("OUT_DIR"), "/page.rs"));

/// What is shown where the page was not built.
const WITHOUT: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>Lanthorn</title>\
<h1>Lanthorn is open, but its page was not built into this program</h1>\
<p>Build it, and then the program again:</p><pre>cargo xtask web\ncargo build -p lanthorn</pre>\
<p>The data behind the page is there already, under <code>/api/</code>.</p></html>";

/// A file of the page; the page itself at the root.
pub(crate) async fn file(uri: Uri) -> Response {
    let path = match uri.path() {
        "/" => "/index.html",
        path => path,
    };
    // Only what was listed when the program was built is there: no path leads to a disk.
    let Ok(at) = FILES.binary_search_by_key(&path, |(name, _)| name) else {
        if path == "/index.html" {
            return (
                [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")],
                WITHOUT,
            )
                .into_response();
        }
        return Fault::new(404, "route", format!("there is nothing at {path}"), "").into_response();
    };
    let kept = if path.starts_with("/assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    (StatusCode::OK, [(header::CONTENT_TYPE, kind(path)), (header::CACHE_CONTROL, kept)], FILES[at].1).into_response()
}

fn kind(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, end)| end) {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "json" | "webmanifest" => "application/json",
        "txt" => "text/plain; charset=utf-8",
        "wasm" => "application/wasm",
        _ => "application/octet-stream",
    }
}
