//! What is refused: a status, a word for the page, and what to do in words.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::{Map, Value, json};

/// An answer that says no.
#[derive(Debug)]
pub(crate) struct Fault {
    status: StatusCode,
    code: &'static str,
    message: String,
    remedy: String,
    more: Map<String, Value>,
}

impl Fault {
    pub(crate) fn new(status: u16, code: &'static str, message: impl Into<String>, remedy: impl Into<String>) -> Fault {
        let status = StatusCode::from_u16(status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        Fault { status, code, message: message.into(), remedy: remedy.into(), more: Map::new() }
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

    /// With a field beside the error.
    #[must_use]
    pub(crate) fn with(mut self, name: &str, value: Value) -> Fault {
        self.more.insert(name.to_owned(), value);
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
        let mut body = self.more;
        let error = json!({ "code": self.code, "message": self.message, "remedy": self.remedy });
        body.insert("error".to_owned(), error);
        (self.status, Json(Value::Object(body))).into_response()
    }
}

/// What a handler gives.
pub(crate) type Answer<T> = Result<Json<T>, Fault>;
