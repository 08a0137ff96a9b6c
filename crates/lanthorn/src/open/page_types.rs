//! The page's types, written from those of the answers, questions and news: `web/src/api/types.ts`.
//!
//! A handler says itself what it takes and gives; only what a handler puts together as bytes is named here.

use super::bench::{ProgressShown, StageNews, StateShown};
use super::fault::{Answer, Refused};
use super::light::LightShown;
use super::routes::{self, Bench, Form};
use super::steps::{self, StepsNews};
use super::{cut, rehearsal, start, summary};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::future::Future;
use std::path::Path;
use ts_rs::{Config, TS, TypeVisitor};

const FILE: &str = "../../web/src/api/types.ts";
const HEAD: &str =
    "// What the program takes and says, written from its own types by `cargo xtask types`. Units are in the names.\n";

/// Types by name, and what is asked for by which path.
struct Written {
    config: Config,
    types: BTreeMap<String, String>,
    got: String,
    sent: String,
    news: String,
}

impl TypeVisitor for Written {
    fn visit<T: TS + 'static + ?Sized>(&mut self) {
        // What has a place for a file of its own is a type of ours; all else is written out where it is used.
        if T::output_path().is_none() || self.types.contains_key(&T::ident(&self.config)) {
            return;
        }
        self.types.insert(T::ident(&self.config), laid_out(&T::decl(&self.config)));
        T::visit_dependencies(self);
    }
}

impl Written {
    fn name<T: TS + 'static>(&mut self) -> String {
        self.visit::<T>();
        T::name(&self.config)
    }

    fn got<T: TS + 'static>(&mut self, path: &str) {
        let name = self.name::<T>();
        let _ = writeln!(self.got, "  \"{path}\": {name};");
    }

    /// An answer to a question without a body.
    fn get<T: TS + 'static, F: Future<Output = Answer<T>>>(&mut self, path: &str, _: impl Fn(Bench) -> F) {
        self.got::<T>(path);
    }

    fn sent<Q: TS + 'static, T: TS + 'static>(&mut self, path: &str) {
        let (question, answer) = (self.name::<Q>(), self.name::<T>());
        let _ = writeln!(self.sent, "  \"{path}\": {{ body: {question}; answer: {answer} }};");
    }

    /// What is taken and said by a handler that takes JSON.
    fn post<Q: TS + 'static, T: TS + 'static, F: Future<Output = Answer<T>>>(
        &mut self,
        path: &str,
        _: impl Fn(Bench, Form<Q>) -> F,
    ) {
        self.sent::<Q, T>(path);
    }

    fn said<T: TS + 'static>(&mut self, path: &str) {
        let answer = self.name::<T>();
        let _ = writeln!(self.sent, "  \"{path}\": {{ body: Record<string, never>; answer: {answer} }};");
    }

    /// The same, where the body says nothing.
    fn bare<T: TS + 'static, F: Future<Output = Answer<T>>>(&mut self, path: &str, _: impl Fn(Bench) -> F) {
        self.said::<T>(path);
    }

    fn news<T: TS + 'static>(&mut self, kind: &str) {
        let name = self.name::<T>();
        let _ = writeln!(self.news, "  {kind}: {name};");
    }
}

/// A line for each field, remarks in one line.
fn laid_out(declared: &str) -> String {
    let mut text = String::from("export ");
    let (mut rest, mut depth) = (declared, 0);
    while let Some(c) = rest.chars().next() {
        if let Some((remark, after)) = rest.strip_prefix("/**").and_then(|r| r.split_once("*/")) {
            let lines = remark.lines().map(|l| l.trim().trim_start_matches('*').trim());
            let words: Vec<&str> = lines.filter(|l| !l.is_empty()).collect();
            let _ = write!(text, "/** {} */\n  ", words.join(" "));
            rest = after.trim_start();
            continue;
        }
        rest = &rest[c.len_utf8()..];
        match c {
            '{' | '[' | '<' | '(' => depth += 1,
            '}' | ']' | '>' | ')' => depth -= 1,
            _ => {}
        }
        match c {
            '{' if depth == 1 => text.push_str("{\n  "),
            '}' if depth == 0 => {
                text.truncate(text.trim_end().len());
                text.push_str("\n}");
                continue;
            }
            ',' if depth == 1 => text.push_str(";\n  "),
            _ => {
                text.push(c);
                continue;
            }
        }
        rest = rest.trim_start();
    }
    text
}

fn written() -> String {
    let config = Config::default().with_large_int("number");
    let [got, sent, news] = Default::default();
    let mut all = Written { config, types: BTreeMap::new(), got, sent, news };
    all.got::<StateShown>("/api/state");
    all.get("/api/project", routes::project);
    all.get("/api/scene", routes::scene);
    all.got::<LightShown>("/api/light");
    all.get("/api/tracks", routes::tracks);
    all.get("/api/findings", routes::all_findings);
    all.got::<super::why::Why>("/api/why/{id}");
    all.get("/api/summary", summary::summary);
    all.get("/api/drawings", summary::drawings);
    all.got::<routes::Clock>("/api/time");
    all.got::<start::StartInfo>("/api/start");
    all.get("/api/steps", steps::all);
    all.got::<steps::CouponSheet>("/api/steps/coupon/{id}");
    all.post("/api/change", routes::change);
    all.post("/api/text", routes::text);
    all.post("/api/undo", routes::undo);
    all.post("/api/redo", routes::redo);
    all.said::<routes::Share>("/api/share");
    all.bare("/api/build", routes::build);
    all.bare("/api/cancel", routes::cancel);
    all.post("/api/cut", cut::cut);
    all.post("/api/rehearsal", rehearsal::rehearse);
    all.post("/api/live", rehearsal::live);
    all.post("/api/start/project", start::project);
    all.bare("/api/start/example", start::example);
    all.post("/api/steps/tick", steps::tick);
    all.post("/api/steps/value", steps::value);
    all.post("/api/steps/timer", steps::timer);
    all.post("/api/steps/remove", steps::remove);
    all.bare("/api/steps/learn", steps::learn);
    all.post("/api/steps/replan", steps::replan);
    all.visit::<start::StartMesh>();
    all.visit::<Refused>();
    all.news::<StateShown>("state");
    all.news::<ProgressShown>("progress");
    all.news::<StageNews>("stage");
    all.news::<StepsNews>("steps");
    let mut text = HEAD.to_owned();
    for one in all.types.values() {
        let _ = writeln!(text, "\n{one}");
    }
    let maps = [
        ("What is said at a path.", "Gets", &all.got),
        ("What is sent to a path, and what is said to it.", "Posts", &all.sent),
        ("What pages are told, by kind.", "News", &all.news),
    ];
    for (about, name, lines) in maps {
        let _ = writeln!(text, "\n/** {about} */\nexport type {name} = {{\n{lines}}};");
    }
    text
}

#[test]
fn the_pages_types_are_the_programs_own() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(FILE);
    let text = written();
    if std::env::var_os("LANTHORN_WRITE_TYPES").is_some() {
        std::fs::write(&file, &text).unwrap();
    }
    let there = std::fs::read_to_string(&file).unwrap_or_default();
    let differs = text.lines().zip(there.lines()).position(|(a, b)| a != b);
    assert!(
        there == text,
        "web/src/api/types.ts is not what the program's types say (line {}); write it with: cargo xtask types",
        differs.unwrap_or_else(|| text.lines().count().min(there.lines().count())) + 1
    );
}

#[test]
fn a_field_has_a_line() {
    let declared =
        "type A = { a: Array<[number, string]>, \n/**\n * Of it, {and}\n * more.\n */\nb?: { c: number, }, };";
    let wanted =
        "export type A = {\n  a: Array<[number, string]>;\n  /** Of it, {and} more. */\n  b?: { c: number, };\n};";
    assert_eq!(laid_out(declared), wanted);
    assert_eq!(laid_out("type K = \"a\" | \"b\";"), "export type K = \"a\" | \"b\";");
}
