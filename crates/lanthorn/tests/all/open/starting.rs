//! With no project: from a mesh that is dropped, and from the example; and another device, paired.

use super::served::{OURS, Served};
use crate::wand::{blade, grip};
use serde_json::json;
use solid::DAffine3;
use solid::write::{Part, threemf};

#[test]
fn a_project_is_begun_from_a_mesh() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path(), &[]);
    assert_eq!(served.json("/api/state")["mode"], "start");
    assert_eq!(served.get("/api/scene").code(), "no_project");
    assert_eq!(served.post("/api/build", &json!({})).code(), "no_project");
    let send = |name: &str, bytes: &[u8]| {
        served.ask("POST", &format!("/api/start/mesh?name={name}"), "x-lanthorn: page\r\n", bytes)
    };
    assert_eq!(send("wand.doc", b"not a mesh").status, 415);
    assert_eq!(send("wand.stl", b"solid nothing\nendsolid\n").status, 422);
    let (blade, grip) = (blade(), grip());
    let parts = [("blade", &blade), ("grip", &grip)].map(|(name, mesh)| Part {
        name: name.into(),
        mesh,
        placed: DAffine3::IDENTITY,
    });
    let answer = send("wand.3mf", &threemf(&parts, &[]));
    assert_eq!(answer.status, 200, "{}", String::from_utf8_lossy(&answer.body));
    let told = answer.json();
    assert_eq!((&told["axis"], told["bodies"].as_array().unwrap().len()), (&json!("x"), 2));
    let guesses = told["guesses"].as_array().unwrap();
    assert!(guesses.len() == 3 && (guesses[0]["length_mm"].as_f64().unwrap() - 360.0).abs() < 1e-3, "{told}");
    let mesh = told["mesh"]["hash"].as_str().unwrap();
    assert!(served.get(&format!("/api/mesh/{mesh}")).body.starts_with(b"LTMS"));
    let mut wanted =
        json!({ "upload": told["upload"], "name": "../Reed wand", "length": "36 cm", "tip": "high", "lit": ["blade"] });
    wanted["length"] = json!("36 kg");
    assert_eq!(served.post("/api/start/project", &wanted).code(), "form");
    wanted["length"] = json!("36 cm");
    let made = served.post("/api/start/project", &wanted);
    assert_eq!((made.status, made.json()["folder"].clone()), (200, json!("reed-wand")));
    assert!(
        folder.path().join("reed-wand/prop.toml").is_file() && folder.path().join("reed-wand/shape/wand.3mf").is_file()
    );
    let state = served.wait("the shape", |s| s["stages"][0]["state"] == "done");
    assert_eq!(state["mode"], "project");
    assert_eq!(served.json("/api/scene")["span_mm"][1].as_f64().unwrap().round(), 360.0);
    assert_eq!(served.post("/api/start/example", &json!({})).code(), "open");
    drop(served);
    // The example, and a folder that is there already.
    let served = Served::start(folder.path(), &[]);
    assert_eq!(served.post("/api/start/example", &json!({})).status, 200);
    let state = served.wait("the shape", |s| s["stages"][0]["state"] == "done");
    assert_eq!((&state["folder"], &state["trouble"]), (&json!("reed-glaive"), &json!([])));
    drop(served);
    let served = Served::start(folder.path(), &[]);
    assert_eq!(served.post("/api/start/example", &json!({})).code(), "exists");
}

#[test]
fn another_device_is_answered_once_it_is_paired() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path(), &["--lan"]);
    let said = served.said.iter().find_map(|l| l.split_once("http://")).map(|(_, url)| url.to_owned()).unwrap();
    let (address, path) = said.split_once('/').unwrap();
    if address.starts_with("127.") {
        // A machine without any network has no other device.
        return;
    }
    // From this machine's own address on the network: neither end is the loopback.
    let elsewhere = |method: &str, path: &str, headers: &str| {
        let mut stream = std::net::TcpStream::connect(address).unwrap();
        stream.set_read_timeout(Some(std::time::Duration::from_secs(20))).unwrap();
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Length: 0\r\n{headers}\r\n"
        );
        std::io::Write::write_all(&mut stream, request.as_bytes()).unwrap();
        super::served::answer(&mut stream)
    };
    for path in ["/", "/api/state", "/api/events", "/nothing"] {
        assert_eq!(elsewhere("GET", path, "").status, 401, "{path}");
    }
    assert_eq!(elsewhere("GET", "/pair/0123456789abcdef0123456789abcdef", "").status, 403);
    let path = format!("/{path}");
    let paired = elsewhere("GET", &path, "");
    assert_eq!(paired.status, 303);
    let cookie = paired.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    assert_eq!(elsewhere("GET", &path, "").status, 403, "used");
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    let state = elsewhere("GET", "/api/state", &cookie);
    assert_eq!((state.status, state.json()["sharing"].clone()), (200, json!({ "lan": true, "here": false })));
    assert_eq!(elsewhere("GET", "/api/state", "Cookie: lanthorn=0123\r\n").status, 401);
    assert_eq!(elsewhere("POST", "/api/share", &format!("{OURS}{cookie}")).code(), "here");
    let shared = served.post("/api/share", &json!({})).json();
    assert!(shared["url"].as_str().unwrap().contains(address) && shared["qr"].as_str().unwrap().contains("<svg"));
    assert_eq!(with_host(address, "rebound.example"), 403);
}

fn with_host(address: &str, host: &str) -> u16 {
    let mut stream = std::net::TcpStream::connect(address).unwrap();
    let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    std::io::Write::write_all(&mut stream, request.as_bytes()).unwrap();
    super::served::answer(&mut stream).status
}
