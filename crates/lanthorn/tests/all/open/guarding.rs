//! Who is not answered, and what does not bring it down.

use super::served::{Answer, OURS, Served, answer};
use crate::wand::Bench;
use serde_json::json;
use std::io::Write;
use std::net::TcpStream;
use std::time::{Duration, Instant};

#[track_caller]
fn still_answers(served: &Served) {
    assert_eq!(served.get("/api/state").status, 200);
}

fn with_head(served: &Served, method: &str, path: &str, head: &str) -> Answer {
    served.raw(format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n{head}\r\n").as_bytes())
}

#[test]
fn only_its_own_page_is_answered() {
    let bench = Bench::handle();
    let served = Served::open(&bench);
    let own = format!("Host: 127.0.0.1:{}\r\n", served.port);
    for (host, status) in [
        (own.clone(), 200),
        (format!("Host: localhost:{}\r\n", served.port), 200),
        ("Host: rebound.example\r\n".to_owned(), 403),
        (format!("Host: rebound.example:{}\r\n", served.port), 403),
        ("Host: 127.0.0.1\r\n".to_owned(), 403),
        (format!("{own}{own}"), 403),
        (String::new(), 403),
        (format!("{own}Origin: http://127.0.0.1:{}\r\n", served.port), 200),
        (format!("{own}Origin: http://rebound.example\r\n"), 403),
        (format!("{own}Origin: https://127.0.0.1:{}\r\n", served.port), 403),
        (format!("{own}Origin: null\r\n"), 403),
        (format!("{own}Origin: http://127.0.0.1:1\r\n"), 403),
    ] {
        for path in ["/api/state", "/", "/nothing"] {
            let found = with_head(&served, "GET", path, &host);
            let wanted = if status == 200 && path == "/nothing" { 404 } else { status };
            assert_eq!(found.status, wanted, "{path} {host}");
            assert!(found.head.contains("content-security-policy: default-src 'none'"), "{}", found.head);
            assert!(!found.head.to_lowercase().contains("access-control"), "{}", found.head);
        }
    }
    // What a form on a foreign page can send.
    let body = json!({}).to_string();
    assert_eq!(served.ask("POST", "/api/build", "Content-Type: application/json\r\n", body.as_bytes()).code(), "page");
    assert_eq!(served.ask("POST", "/api/build", "Content-Type: text/plain\r\n", body.as_bytes()).status, 403);
    let ask_first = format!("{own}Origin: http://rebound.example\r\nAccess-Control-Request-Method: POST\r\n");
    assert_eq!(with_head(&served, "OPTIONS", "/api/build", &ask_first).status, 403);
    assert_eq!(served.post("/api/share", &json!({})).code(), "local");
    assert_eq!(served.get("/pair/0123").status, 403, "no secret was ever shown");
    still_answers(&served);
}

#[test]
fn no_path_leads_to_the_disk() {
    let bench = Bench::handle();
    std::fs::write(bench.path("secret.txt"), "hushed").unwrap();
    let served = Served::open(&bench);
    for path in [
        "/../secret.txt",
        "/..%2fsecret.txt",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/assets/../../prop.toml",
        "/prop.toml",
        "//etc/passwd",
        "/api/../prop.toml",
        "/api/mesh/..%2f..%2fprop.toml",
        "/api/drawings/..%2fprop",
        "/api/steps/photo/..%2f1",
        "/%00",
    ] {
        let found = served.get(path);
        assert!([400, 404, 409].contains(&found.status), "{path}: {}", found.status);
        assert!(!String::from_utf8_lossy(&found.body).contains("hushed"), "{path}");
    }
    // What the project may name is in its folder, links followed.
    served.settled();
    std::os::unix::fs::symlink("/etc", bench.path("link")).unwrap();
    for file in ["/etc/passwd", "../outside.stl", "link/passwd", "shape/../../outside.stl"] {
        let refused = served.change("shape.file", json!(file));
        assert_eq!((refused.status, refused.code()), (422, "outside".to_owned()), "{file}");
    }
    still_answers(&served);
}

#[test]
fn what_is_malformed_gets_its_status() {
    let bench = Bench::handle();
    let served = Served::open(&bench);
    let post = |headers: &str, body: &str| served.ask("POST", "/api/change", headers, body.as_bytes()).status;
    assert_eq!(post(OURS, "{"), 400);
    assert_eq!(post(OURS, "nonsense"), 400);
    assert_eq!(post(OURS, "{}"), 422);
    assert_eq!(post(OURS, "{\"base\":1,\"changes\":[]}"), 422);
    assert_eq!(post("x-lanthorn: page\r\nContent-Type: text/plain\r\n", "{}"), 415);
    assert_eq!(post(OURS, &format!("{{\"base\":\"{}\"}}", "x".repeat(5 << 20))), 413);
    let deep = format!("{{\"base\":\"a\",\"changes\":[{{\"key\":\"a\",\"value\":{}", "[".repeat(100_000));
    assert_eq!(post(OURS, &deep), 400, "deep nesting");
    assert_eq!(served.ask("DELETE", "/api/state", OURS, b"").status, 405);
    assert_eq!(served.get("/api/nothing").code(), "route");
    assert_eq!(served.raw(b"nonsense\r\n\r\n").status, 400);
    assert_eq!(served.raw(format!("GET /{} HTTP/1.1\r\n\r\n", "a".repeat(70_000)).as_bytes()).status / 100, 4);
    still_answers(&served);
}

#[test]
fn an_upload_that_says_it_is_too_large_is_refused_unread() {
    let bench = Bench::handle();
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path(), &[]);
    let begun = Instant::now();
    let head = format!(
        "POST /api/start/mesh?name=a.stl HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nx-lanthorn: page\r\nContent-Length: 10000000000\r\n\r\n",
        served.port
    );
    let mut stream = served.connect();
    stream.write_all(head.as_bytes()).unwrap();
    let refused = answer(&mut stream);
    assert_eq!(refused.status, 413);
    assert!(begun.elapsed() < Duration::from_secs(5));
    drop(served);
    // A photo that never says how long it is.
    let served = Served::open(&bench);
    let mut stream = served.connect();
    let head = format!(
        "POST /api/steps/photo?job=a&request=r HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nx-lanthorn: page\r\nTransfer-Encoding: chunked\r\n\r\n",
        served.port
    );
    stream.write_all(head.as_bytes()).unwrap();
    let part = vec![b'x'; 1 << 20];
    for _ in 0..30 {
        let sent = write!(stream, "{:x}\r\n", part.len())
            .and_then(|()| stream.write_all(&part))
            .and_then(|()| stream.write_all(b"\r\n"));
        if sent.is_err() {
            break;
        }
    }
    assert!([0, 413].contains(&answer(&mut stream).status), "refused, and perhaps cut off before the refusal was read");
    still_answers(&served);
}

#[test]
fn slow_and_many_clients_do_not_keep_others_out() {
    let bench = Bench::handle();
    let served = Served::open(&bench);
    let mut slow: Vec<TcpStream> = (0..200).map(|_| served.connect()).collect();
    for stream in &mut slow {
        stream.write_all(b"GET /api/state HTTP/1.1\r\nHo").unwrap();
    }
    let begun = Instant::now();
    still_answers(&served);
    assert!(begun.elapsed() < Duration::from_secs(5));
    // Streams of events are counted.
    let listen = format!("GET /api/events HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", served.port);
    let mut streams: Vec<TcpStream> = (0..64).map(|_| served.connect()).collect();
    for stream in &mut streams {
        stream.write_all(listen.as_bytes()).unwrap();
        // Its head has come, so it is counted.
        let mut first = [0; 12];
        std::io::Read::read_exact(stream, &mut first).unwrap();
        assert_eq!(&first, b"HTTP/1.1 200");
    }
    assert_eq!(served.get("/api/events").status, 503);
    still_answers(&served);
    drop(streams);
    // A head that does not come is not waited for.
    let mut first = slow.remove(0);
    let given_up = answer(&mut first);
    assert!(given_up.status == 408 || given_up.head.is_empty(), "{}", given_up.head);
    assert!(begun.elapsed() < Duration::from_secs(60));
    still_answers(&served);
}
