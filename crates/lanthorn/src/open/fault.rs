//! What is refused: a status, a word for the page, and what to do in words.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use super::edit::Clash;
use super::trouble::Trouble;

/// An answer that says no.
#[derive(Debug)]
pub(crate) struct Fault {
    status: StatusCode,
    code: &'static str,
    message: String,
    remedy: String,
    more: Box<More>,
}

/// The body of such an answer.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Refused {
    error: Words,
    #[serde(flatten)]
    more: More,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Words {
    code: &'static str,
    message: String,
    remedy: String,
}

/// What some refusals say besides.
#[derive(Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct More {
    /// The text's name now.
    pub(crate) revision: Option<String>,
    /// What was changed by somebody else too.
    pub(crate) conflicts: Option<Vec<Clash>>,
    /// The text as it is now.
    pub(crate) theirs: Option<String>,
    /// What is wrong with the text that was sent.
    pub(crate) trouble: Option<Vec<Trouble>>,
}

impl Fault {
    pub(crate) fn new(status: u16, code: &'static str, message: impl Into<String>, remedy: impl Into<String>) -> Fault {
        let status = StatusCode::from_u16(status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        Fault { status, code, message: message.into(), remedy: remedy.into(), more: Box::default() }
    }

    /// Nothing is open.
    pub(crate) fn no_project() -> Fault {
        Fault::new(409, "no_project", "no project is open", "begin one from a mesh, or take the example")
    }

    /// Not known yet.
    pub(crate) fn waiting(what: &str) -> Fault {
        Fault::new(409, "waiting", format!("{what} is not worked out yet"), "wait for the stage event")
    }

    /// There is none.
    pub(crate) fn none(what: &str) -> Fault {
        Fault::new(404, "none", format!("there is no {what}"), "")
    }

    /// What could not be done for a reason outside the project: a disk, a file.
    pub(crate) fn broken(error: &anyhow::Error) -> Fault {
        Fault::new(
            500,
            "broken",
            format!("{error:#}"),
            "look at the folder's rights and the room on the disk, and try again",
        )
    }

    pub(crate) fn status(&self) -> StatusCode {
        self.status
    }

    /// With more beside the words.
    #[must_use]
    pub(crate) fn with(mut self, put: impl FnOnce(&mut More)) -> Fault {
        put(&mut self.more);
        self
    }
}

impl From<anyhow::Error> for Fault {
    fn from(error: anyhow::Error) -> Fault {
        Fault::broken(&error)
    }
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let error = Words { code: self.code, message: self.message, remedy: self.remedy };
        (self.status, Json(Refused { error, more: *self.more })).into_response()
    }
}

/// What a handler gives.
pub(crate) type Answer<T> = Result<Json<T>, Fault>;
