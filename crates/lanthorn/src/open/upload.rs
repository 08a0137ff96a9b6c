//! Files that are sent here: bounded, and given up on when nothing comes any more.

use super::fault::Fault;
use axum::body::{Body, Bytes, HttpBody};
use http_body_util::BodyExt;
use std::time::Duration;

/// The longest pause between two parts of what is sent.
const PAUSE: Duration = Duration::from_secs(20);

/// Reads a body of at most so many bytes; what says that it is longer is refused before any of it is read.
pub(crate) async fn read(mut body: Body, most: usize) -> Result<Bytes, Fault> {
    let large = || Fault::new(413, "large", format!("this is more than {} MB", most >> 20), "send a smaller file");
    if body.size_hint().lower() > most as u64 {
        return Err(large());
    }
    let mut all = Vec::new();
    loop {
        let frame = tokio::time::timeout(PAUSE, body.frame()).await;
        let frame = frame.map_err(|_| Fault::new(408, "slow", "nothing came for too long", "send it again"))?;
        let Some(frame) = frame else { return Ok(all.into()) };
        let frame =
            frame.map_err(|e| Fault::new(400, "broken", format!("what was sent broke off: {e}"), "send it again"))?;
        if let Ok(data) = frame.into_data() {
            if all.len() + data.len() > most {
                return Err(large());
            }
            all.extend_from_slice(&data);
        }
    }
}
