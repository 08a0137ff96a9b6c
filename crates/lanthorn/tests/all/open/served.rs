//! `lanthorn open`, running, and plain requests to it.

use crate::wand::Bench;
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The longest that anything is waited for.
const PATIENCE: Duration = Duration::from_secs(120);

/// The program, stopped when it is dropped.
pub(crate) struct Served {
    child: Child,
    pub(crate) port: u16,
    /// What it said when it began, but for the first line.
    pub(crate) said: Vec<String>,
}

/// An answer.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: Vec<u8>,
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&self.body)))
    }

    pub(crate) fn code(&self) -> String {
        self.json()["error"]["code"].as_str().unwrap_or_default().to_owned()
    }
}

impl Served {
    pub(crate) fn start(folder: &Path, arguments: &[&str]) -> Served {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin("lanthorn"))
            .current_dir(folder)
            .args(["open", "--no-browser", "--port", "0"])
            .args(arguments)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let first = lines.next().unwrap().unwrap();
        let port = first.trim_end_matches('/').rsplit_once(':').unwrap().1.parse().unwrap();
        let said = lines.map_while(Result::ok).take_while(|l| !l.starts_with("Ctrl-C")).collect();
        Served { child, port, said }
    }

    /// A project of the wand's folder.
    pub(crate) fn open(bench: &Bench) -> Served {
        Served::start(bench.dir.path(), &["prop.toml"])
    }

    /// As a power cut does it.
    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream
    }

    /// Sends bytes as they are, and reads the answer.
    pub(crate) fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = self.connect();
        // An answer may come before all is sent.
        let _ = stream.write_all(request);
        answer(&mut stream)
    }

    /// A request with header lines besides the usual ones.
    pub(crate) fn ask(&self, method: &str, path: &str, headers: &str, body: &[u8]) -> Answer {
        let mut request = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\nContent-Length: {}\r\n{headers}\r\n",
            self.port,
            body.len()
        )
        .into_bytes();
        request.extend_from_slice(body);
        self.raw(&request)
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "", b"")
    }

    #[track_caller]
    pub(crate) fn json(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", String::from_utf8_lossy(&answer.body));
        answer.json()
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Answer {
        self.ask("POST", path, OURS, body.to_string().as_bytes())
    }

    pub(crate) fn revision(&self) -> String {
        self.json("/api/state")["revision"].as_str().unwrap().to_owned()
    }

    /// Changes one key.
    pub(crate) fn change(&self, key: &str, value: Value) -> Answer {
        let changes = serde_json::json!([{ "key": key, "value": value }]);
        self.post("/api/change", &serde_json::json!({ "base": self.revision(), "changes": changes }))
    }

    /// Waits until the state is as `wanted`.
    #[track_caller]
    pub(crate) fn wait(&self, what: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let begun = Instant::now();
        loop {
            let state = self.json("/api/state");
            if wanted(&state) {
                return state;
            }
            assert!(begun.elapsed() < PATIENCE, "{what} did not come: {state}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Waits until everything that is shown is of the newest text.
    #[track_caller]
    pub(crate) fn settled(&self) -> Value {
        self.wait("the end of the build", |s| {
            s["working"] == false
                && s["stages"].as_array().unwrap().iter().all(|s| s["state"] == "done" || s["state"] == "none")
        })
    }
}

/// What the page sends with what it writes.
pub(crate) const OURS: &str = "x-lanthorn: page\r\nContent-Type: application/json\r\n";

impl Drop for Served {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Reads an answer to its end.
pub(crate) fn answer(stream: &mut TcpStream) -> Answer {
    let mut all = Vec::new();
    // A refusal may cut short what is being sent.
    let _ = stream.read_to_end(&mut all);
    let end = all.windows(4).position(|w| w == b"\r\n\r\n").unwrap_or(all.len());
    let head = String::from_utf8_lossy(&all[..end]).into_owned();
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
    let body = all.get(end + 4..).unwrap_or_default();
    let body = if head.to_lowercase().contains("transfer-encoding: chunked") { unchunked(body) } else { body.to_vec() };
    Answer { status, head, body }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut all = Vec::new();
    while let Some(end) = rest.windows(2).position(|w| w == b"\r\n") {
        let size = usize::from_str_radix(std::str::from_utf8(&rest[..end]).unwrap_or("0").trim(), 16).unwrap_or(0);
        if size == 0 || rest.len() < end + 2 + size {
            break;
        }
        all.extend_from_slice(&rest[end + 2..end + 2 + size]);
        rest = rest.get(end + 4 + size..).unwrap_or_default();
    }
    all
}

/// An open stream of events.
pub(crate) struct Events(BufReader<TcpStream>);

impl Events {
    pub(crate) fn listen(served: &Served) -> Events {
        let mut stream = served.connect();
        write!(stream, "GET /api/events HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", served.port).unwrap();
        Events(BufReader::new(stream))
    }

    /// The next event of a kind.
    #[track_caller]
    pub(crate) fn next(&mut self, kind: &str) -> Value {
        self.until(|k, _| k == kind)
    }

    /// The next event that is wanted.
    #[track_caller]
    pub(crate) fn until(&mut self, wanted: impl Fn(&str, &Value) -> bool) -> Value {
        let mut kind = String::new();
        loop {
            let mut line = String::new();
            let read = self.0.read_line(&mut line).unwrap();
            assert!(read > 0, "the stream ended");
            if let Some(name) = line.strip_prefix("event: ") {
                name.trim().clone_into(&mut kind);
            }
            if let Some(data) = line.strip_prefix("data: ") {
                let data: Value = serde_json::from_str(data.trim()).unwrap();
                if wanted(&kind, &data) {
                    return data;
                }
            }
        }
    }
}
