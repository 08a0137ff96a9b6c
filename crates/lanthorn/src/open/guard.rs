//! Who is answered: only the page itself, on the address that was connected to, and from elsewhere only what was paired.

use super::Workbench;
use super::fault::Fault;
use super::pairing_page::UNPAIRED;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

/// Both ends of a connection.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ends {
    /// The address on this machine that was connected to.
    pub(crate) here: SocketAddr,
    /// Who connected.
    pub(crate) there: SocketAddr,
}

impl Ends {
    /// Whether who connected is this machine itself.
    pub(crate) fn is_home(&self) -> bool {
        self.there.ip().to_canonical().is_loopback()
    }
}

/// What the page may load and reach: itself.
pub(crate) const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; \
font-src 'self'; connect-src 'self'; media-src 'self' blob:; worker-src 'self' blob:; form-action 'none'; \
base-uri 'none'; frame-ancestors 'none'";

/// A header that a foreign page cannot send without asking first, which is never allowed.
const OURS: &str = "x-lanthorn";

/// Refuses what is not the page's, and says with every answer what the page may load.
pub(crate) async fn guard(State(bench): State<Arc<Workbench>>, request: Request, next: Next) -> Response {
    let is_data = request.uri().path().starts_with("/api/");
    let is_page = request.uri().path() == "/";
    let mut response = match allowed(&bench, &request) {
        Ok(()) => next.run(request).await,
        Err(fault) if is_page && fault.status() == StatusCode::UNAUTHORIZED => {
            (StatusCode::UNAUTHORIZED, Html(UNPAIRED)).into_response()
        }
        Err(fault) => fault.into_response(),
    };
    let headers = response.headers_mut();
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ];
    for (name, value) in fixed {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    if is_data && !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

fn allowed(bench: &Workbench, request: &Request) -> Result<(), Fault> {
    let ends = request.extensions().get::<Ends>().copied();
    let ends = ends.ok_or_else(|| Fault::new(403, "address", "it is not known who asks", ""))?;
    let headers = request.headers();
    let host = only(headers, &header::HOST)?;
    if !host.is_some_and(|host| is_ours(host, &ends)) {
        return Err(Fault::new(
            403,
            "host",
            "this is not asked of the address that it came to",
            "open the page by the address that lanthorn shows",
        ));
    }
    if let Some(origin) = only(headers, &header::ORIGIN)?
        && !origin.strip_prefix("http://").is_some_and(|from| is_ours(from, &ends))
    {
        return Err(Fault::new(403, "origin", "another page asks this", "use lanthorn's own page"));
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads && headers.get(OURS).is_none_or(|v| v != "page") {
        return Err(Fault::new(
            403,
            "page",
            "only lanthorn's own page changes anything",
            "send the header x-lanthorn: page",
        ));
    }
    if !ends.is_home() && !request.uri().path().starts_with("/pair/") && !bench.pairing.knows(headers) {
        return Err(Fault::new(
            401,
            "pair",
            "this device is not paired",
            "show the code on the machine where lanthorn runs, and open it here",
        ));
    }
    Ok(())
}

/// A header that may be there once.
fn only<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Result<Option<&'h str>, Fault> {
    let mut all = headers.get_all(name).iter();
    let first = all.next();
    let wrong = || Fault::new(403, "header", format!("the header {name} cannot be read"), "");
    if all.next().is_some() {
        return Err(wrong());
    }
    first.map(|value| value.to_str().map_err(|_| wrong())).transpose()
}

/// Whether `host` names the address that was connected to: by its numbers, or this machine by its usual name.
fn is_ours(host: &str, ends: &Ends) -> bool {
    let port = ends.here.port();
    let (name, given) = match host.rsplit_once(':') {
        Some((name, number)) if !name.ends_with(':') && (!name.contains(':') || name.ends_with(']')) => (name, number),
        // Without a number it is the usual one.
        _ => (host, "80"),
    };
    if given != port.to_string() {
        return false;
    }
    let here = ends.here.ip().to_canonical();
    let bracketed = name.strip_prefix('[').and_then(|n| n.strip_suffix(']'));
    match bracketed.unwrap_or(name).parse::<IpAddr>() {
        // An address of the newer kind stands in brackets (RFC 3986, 3.2.2).
        Ok(address) if address.is_ipv6() != bracketed.is_some() => false,
        Ok(address) => address.to_canonical() == here,
        Err(_) => here.is_loopback() && name.eq_ignore_ascii_case("localhost"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_host_is_the_address_that_was_connected_to() {
        let ends = |here: &str| Ends { here: here.parse().unwrap(), there: "127.0.0.1:9".parse().unwrap() };
        let home = ends("127.0.0.1:7373");
        for (host, ours) in [
            ("127.0.0.1:7373", true),
            ("localhost:7373", true),
            ("LocalHost:7373", true),
            ("127.0.0.1:80", false),
            ("127.0.0.1", false),
            ("127.0.0.2:7373", false),
            ("rebound.example:7373", false),
            ("localhost.rebound.example:7373", false),
            ("[::1]:7373", false),
            ("", false),
            (":7373", false),
        ] {
            assert_eq!(is_ours(host, &home), ours, "{host}");
        }
        let lan = ends("192.0.2.7:80");
        assert!(is_ours("192.0.2.7", &lan) && is_ours("192.0.2.7:80", &lan) && !is_ours("localhost", &lan));
        assert!(is_ours("[::1]:5", &ends("[::1]:5")) && !is_ours("::1", &ends("[::1]:80")));
    }
}
