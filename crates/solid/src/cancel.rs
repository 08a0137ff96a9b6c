//! Stopping long work from outside.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A flag that asks long work to stop. Clones share the flag.
#[derive(Clone, Debug, Default)]
pub struct Cancel(Arc<AtomicBool>);

/// The work was stopped by its [`Cancel`] before it had a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("stopped before it was done")]
pub struct Cancelled;

impl Cancel {
    /// Asks the work to stop. It can't be taken back.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the work was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// [`Cancelled`] as soon as the work was asked to stop: for `?` inside loops.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.is_cancelled() { Err(Cancelled) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clones_share_the_flag() {
        let cancel = Cancel::default();
        let copy = cancel.clone();
        assert_eq!(copy.check(), Ok(()));
        cancel.cancel();
        assert_eq!(copy.check(), Err(Cancelled));
    }
}
