//! What was ticked, measured, photographed and timed, in a database beside the project.
//!
//! Whatever was acknowledged is on the disk: each write is one transaction, and SQLite waits for the disk at each
//! (`synchronous = FULL` in write-ahead mode, <https://www.sqlite.org/pragma.html#pragma_synchronous>).

use rusqlite::{Connection, OptionalExtension, Result, Transaction, TransactionBehavior, params};
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Name of the file.
pub(crate) const FILE: &str = "workshop.sqlite";
/// The form of the tables.
const FORM: i32 = 1;

/// A row's time by this machine's clock on the wall.
const WALL: &str = "strftime('%Y-%m-%d %H:%M', at, 'unixepoch', 'localtime')";

const TABLES: &str = "
create table ticks (job text primary key, state text not null, at integer not null, by text not null,
    begun text, done text) strict;
create table readings (id integer primary key, job text not null, kind text not null, value text not null,
    at integer not null, by text not null) strict;
create table photos (id integer primary key, job text not null, kind text not null, bytes blob not null,
    at integer not null, by text not null) strict;
create table timers (id integer primary key, job text not null, label text not null, ends integer not null,
    at integer not null, by text not null) strict;
create table requests (request text primary key, version integer not null, id integer) strict;
create table kept (name text primary key, value text not null) strict;
insert into kept values ('version', '0');
";

/// The database.
pub(crate) struct Store(Mutex<Connection>);

/// How far a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "JobState"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum State {
    Open,
    Begun,
    Done,
}

impl State {
    fn word(self) -> &'static str {
        match self {
            State::Open => "open",
            State::Begun => "begun",
            State::Done => "done",
        }
    }

    fn of(word: &str) -> State {
        match word {
            "begun" => State::Begun,
            "done" => State::Done,
            _ => State::Open,
        }
    }
}

/// A tick.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tick {
    pub(crate) job: String,
    pub(crate) state: State,
    /// By this machine's clock on the wall: `2026-03-03 18:30`.
    pub(crate) at: String,
    pub(crate) by: String,
    /// When it was begun and done, the same by the page's clock.
    pub(crate) begun: Option<String>,
    pub(crate) done: Option<String>,
}

/// A reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StepValue"))]
pub(crate) struct Reading {
    pub(crate) id: i64,
    #[serde(skip)]
    pub(crate) job: String,
    pub(crate) kind: String,
    pub(crate) value: String,
    pub(crate) at: String,
    pub(crate) by: String,
}

/// A photo, without its bytes.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StepPhoto"))]
pub(crate) struct Photo {
    pub(crate) id: i64,
    #[serde(skip)]
    pub(crate) job: String,
    pub(crate) kind: String,
    pub(crate) bytes: i64,
    pub(crate) at: String,
    pub(crate) by: String,
}

/// A timer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StepTimer"))]
pub(crate) struct Timer {
    pub(crate) id: i64,
    #[serde(skip)]
    pub(crate) job: String,
    pub(crate) label: String,
    pub(crate) ends: i64,
    pub(crate) at: String,
    pub(crate) by: String,
}

/// Everything but the photos' bytes.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct All {
    pub(crate) version: u64,
    pub(crate) ticks: Vec<Tick>,
    pub(crate) readings: Vec<Reading>,
    pub(crate) photos: Vec<Photo>,
    pub(crate) timers: Vec<Timer>,
}

/// Something to be written.
pub(crate) enum Entry<'e> {
    Tick { job: &'e str, state: State, local: Option<&'e str> },
    Reading { job: &'e str, kind: &'e str, value: &'e str },
    Photo { job: &'e str, kind: &'e str, bytes: &'e [u8] },
    Timer { job: &'e str, label: &'e str, ends: i64 },
    Remove { what: Kind, id: i64 },
}

/// What can be taken out again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Removable"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum Kind {
    Value,
    Photo,
    Timer,
}

/// What a write is acknowledged with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Written {
    pub(crate) version: u64,
    pub(crate) id: Option<i64>,
    /// Whether it was written now, and not by the same request before.
    #[serde(skip)]
    pub(crate) is_new: bool,
}

impl Store {
    /// Opens the database, and makes it where it is not there.
    pub(crate) fn open(path: &Path) -> Result<Store> {
        let mut connection = Connection::open(path)?;
        connection.busy_timeout(Duration::from_secs(5))?;
        connection.pragma_update(None, "journal_mode", "wal")?;
        connection.pragma_update(None, "synchronous", "full")?;
        let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let form: i32 = change.query_row("pragma user_version", [], |row| row.get(0))?;
        if form == 0 {
            change.execute_batch(TABLES)?;
            change.pragma_update(None, "user_version", FORM)?;
        }
        change.commit()?;
        Ok(Store(Mutex::new(connection)))
    }

    /// Writes one entry, once for each request, and returns when it is on the disk. `None`: there is nothing to remove.
    pub(crate) fn write(&self, request: &str, by: &str, at: i64, entry: &Entry) -> Result<Option<Written>> {
        let mut connection = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let again = "select version, id from requests where request = ?1";
        let again = change.query_row(again, [request], |row| Ok((row.get::<_, i64>(0)?, row.get(1)?))).optional()?;
        if let Some((version, id)) = again {
            return Ok(Some(Written { version: version.unsigned_abs(), id, is_new: false }));
        }
        let Some(id) = put(&change, by, at, entry)? else { return Ok(None) };
        let next =
            "update kept set value = cast(cast(value as integer) + 1 as text) where name = 'version' returning value";
        let version: String = change.query_row(next, [], |row| row.get(0))?;
        let version: u64 = version.parse().unwrap_or_default();
        change.execute("insert into requests values (?1, ?2, ?3)", params![request, version as i64, id])?;
        change.commit()?;
        Ok(Some(Written { version, id, is_new: true }))
    }

    /// Everything.
    pub(crate) fn all(&self) -> Result<All> {
        let mut connection = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        // One transaction: everything is of one moment.
        let read = connection.transaction()?;
        let version: String = read.query_row("select value from kept where name = 'version'", [], |row| row.get(0))?;
        let ticks = read
            .prepare(&format!("select job, state, {WALL}, by, begun, done from ticks order by job"))?
            .query_map([], |r| {
                let state = State::of(&r.get::<_, String>(1)?);
                Ok(Tick { job: r.get(0)?, state, at: r.get(2)?, by: r.get(3)?, begun: r.get(4)?, done: r.get(5)? })
            })?
            .collect::<Result<_>>()?;
        let readings = read
            .prepare(&format!("select id, job, kind, value, {WALL}, by from readings order by id"))?
            .query_map([], |r| {
                Ok(Reading {
                    id: r.get(0)?,
                    job: r.get(1)?,
                    kind: r.get(2)?,
                    value: r.get(3)?,
                    at: r.get(4)?,
                    by: r.get(5)?,
                })
            })?
            .collect::<Result<_>>()?;
        let photos = read
            .prepare(&format!("select id, job, kind, length(bytes), {WALL}, by from photos order by id"))?
            .query_map([], |r| {
                Ok(Photo {
                    id: r.get(0)?,
                    job: r.get(1)?,
                    kind: r.get(2)?,
                    bytes: r.get(3)?,
                    at: r.get(4)?,
                    by: r.get(5)?,
                })
            })?
            .collect::<Result<_>>()?;
        let timers = read
            .prepare(&format!("select id, job, label, ends, {WALL}, by from timers order by id"))?
            .query_map([], |r| {
                Ok(Timer {
                    id: r.get(0)?,
                    job: r.get(1)?,
                    label: r.get(2)?,
                    ends: r.get(3)?,
                    at: r.get(4)?,
                    by: r.get(5)?,
                })
            })?
            .collect::<Result<_>>()?;
        Ok(All { version: version.parse().unwrap_or_default(), ticks, readings, photos, timers })
    }

    /// Kind and bytes of a photo.
    pub(crate) fn photo(&self, id: i64) -> Result<Option<(String, Vec<u8>)>> {
        let connection = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let row = "select kind, bytes from photos where id = ?1";
        connection.query_row(row, [id], |r| Ok((r.get(0)?, r.get(1)?))).optional()
    }

    /// Keeps a text under a name: the plan, so that ticks can be shown before the prop is built again; what was learnt already.
    pub(crate) fn keep(&self, name: &str, text: &str) -> Result<()> {
        let connection = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        connection.execute("insert or replace into kept values (?1, ?2)", [name, text]).map(|_| ())
    }

    /// The text that was kept last under a name.
    pub(crate) fn kept(&self, name: &str) -> Result<Option<String>> {
        let connection = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        connection.query_row("select value from kept where name = ?1", [name], |r| r.get(0)).optional()
    }
}

/// The row that was made, if it has a number; `None` when there is nothing to remove.
#[expect(clippy::option_option, reason = "nothing there, and there without a number, are two things")]
fn put(change: &Transaction, by: &str, at: i64, entry: &Entry) -> Result<Option<Option<i64>>> {
    match entry {
        Entry::Tick { job, state, local } => {
            let now = format!("select {WALL} from (select ?1 as at)");
            let local: String =
                local.map_or_else(|| change.query_row(&now, [at], |r| r.get(0)), |l| Ok(l.to_owned()))?;
            let [begun, done] = [State::Begun, State::Done].map(|s| (s == *state).then_some(&local));
            // What was begun before stays begun then; what is open again has neither.
            change.execute(
                "insert into ticks values (?1, ?2, ?3, ?4, ?5, ?6) on conflict (job) do update set state = ?2, at = ?3, by = ?4,
                begun = case ?2 when 'open' then null when 'begun' then ?5 else begun end,
                done = case ?2 when 'done' then ?6 else null end",
                params![job, state.word(), at, by, begun, done],
            )?;
            Ok(Some(None))
        }
        Entry::Reading { job, kind, value } => {
            change.execute(
                "insert into readings (job, kind, value, at, by) values (?1, ?2, ?3, ?4, ?5)",
                params![job, kind, value, at, by],
            )?;
            Ok(Some(Some(change.last_insert_rowid())))
        }
        Entry::Photo { job, kind, bytes } => {
            change.execute(
                "insert into photos (job, kind, bytes, at, by) values (?1, ?2, ?3, ?4, ?5)",
                params![job, kind, bytes, at, by],
            )?;
            Ok(Some(Some(change.last_insert_rowid())))
        }
        Entry::Timer { job, label, ends } => {
            change.execute(
                "insert into timers (job, label, ends, at, by) values (?1, ?2, ?3, ?4, ?5)",
                params![job, label, ends, at, by],
            )?;
            Ok(Some(Some(change.last_insert_rowid())))
        }
        Entry::Remove { what, id } => {
            let row = match what {
                Kind::Value => "delete from readings where id = ?1",
                Kind::Photo => "delete from photos where id = ?1",
                Kind::Timer => "delete from timers where id = ?1",
            };
            Ok((change.execute(row, [id])? > 0).then_some(None))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_there_again_and_once() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join(FILE);
        let store = Store::open(&path).unwrap();
        let tick = Entry::Tick { job: "glue J1", state: State::Begun, local: Some("2026-03-03 18:30") };
        let first = store.write("a", "Ada", 5, &tick).unwrap().unwrap();
        assert_eq!((first.version, first.is_new), (1, true));
        let again = store.write("a", "Ada", 9, &tick).unwrap().unwrap();
        assert_eq!((again.version, again.is_new), (1, false));
        let done = Entry::Tick { job: "glue J1", state: State::Done, local: Some("2026-03-03 19:10") };
        store.write("b", "", 6, &done).unwrap();
        let reading = Entry::Reading { job: "print wide-01", kind: "print-time", value: "11 h" };
        assert_eq!(store.write("c", "", 7, &reading).unwrap().unwrap().id, Some(1));
        store.write("d", "", 7, &Entry::Photo { job: "glue J1", kind: "image/png", bytes: b"\x89PNG" }).unwrap();
        store.write("e", "", 8, &Entry::Timer { job: "glue J1", label: "cures", ends: 99 }).unwrap();
        // Opened a second time, while the first is still open: as after a fall of the program.
        let other = Store::open(&path).unwrap();
        let all = other.all().unwrap();
        assert_eq!(all, store.all().unwrap());
        assert_eq!(all.version, 5);
        let [tick] = &all.ticks[..] else { panic!("{all:?}") };
        assert_eq!((tick.state, tick.at.len()), (State::Done, "1970-01-01 00:00".len()));
        assert_eq!(
            [&tick.begun, &tick.done].map(Option::as_deref),
            [Some("2026-03-03 18:30"), Some("2026-03-03 19:10")]
        );
        assert_eq!(other.photo(1).unwrap().unwrap().1, b"\x89PNG");
        assert_eq!(other.photo(2).unwrap(), None);
        assert!(other.write("f", "", 9, &Entry::Remove { what: Kind::Photo, id: 1 }).unwrap().is_some());
        assert!(store.write("g", "", 9, &Entry::Remove { what: Kind::Photo, id: 1 }).unwrap().is_none());
        assert_eq!(store.all().unwrap().photos, []);
        store.keep("plan", "{}").unwrap();
        assert_eq!(
            [other.kept("plan").unwrap().as_deref(), other.kept("none").unwrap().as_deref()],
            [Some("{}"), None]
        );
        let open = Entry::Tick { job: "glue J1", state: State::Open, local: None };
        store.write("h", "", 10, &open).unwrap();
        let tick = store.all().unwrap().ticks.remove(0);
        assert_eq!((tick.state, tick.begun, tick.done), (State::Open, None, None));
    }
}
