//! Progress on a terminal with the time left, plain lines elsewhere; and Ctrl-C.

use crate::shelf;
use indicatif::{ProgressBar, ProgressStyle};
use solid::Cancel;
use std::io::IsTerminal;
use std::sync::Mutex;
use std::time::Instant;

/// Steps of the bar.
const STEPS: u64 = 1000;

/// Shows how far the work is.
pub(crate) struct Progress {
    bar: Option<ProgressBar>,
    last: Mutex<String>,
    started: Instant,
    cancel: Cancel,
}

impl Progress {
    /// Starts showing, and stops the program on Ctrl-C: at once, leaving no half-written files.
    pub(crate) fn start() -> Progress {
        let cancel = Cancel::default();
        let flag = cancel.clone();
        // A second handler cannot be set; that only happens when two commands run in one process.
        let _ = ctrlc::set_handler(move || {
            flag.cancel();
            shelf::clear_unfinished();
            eprintln!("stopped; nothing was written");
            std::process::exit(130);
        });
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(STEPS);
            if let Ok(style) = ProgressStyle::with_template("{bar:30} {percent:>3} %  {msg}") {
                bar.set_style(style);
            }
            bar
        });
        Progress { bar, last: Mutex::new(String::new()), started: Instant::now(), cancel }
    }

    /// The flag that stops the work.
    pub(crate) fn cancel(&self) -> Cancel {
        self.cancel.clone()
    }

    /// Says what is being done, and how much of the whole is done.
    pub(crate) fn report(&self, what: &str, done: f64) {
        let Ok(mut last) = self.last.lock() else { return };
        if let Some(bar) = &self.bar {
            let spent = self.started.elapsed().as_secs_f64();
            let left =
                if done > 0.05 { format!(", about {:.0} s left", spent / done * (1.0 - done)) } else { String::new() };
            let at = (done * STEPS as f64) as u64;
            bar.set_position(bar.position().max(at));
            bar.set_message(format!("{what}{left}"));
        } else if *last != what {
            eprintln!("{what}");
        }
        what.clone_into(&mut last);
    }

    /// Takes the bar away.
    pub(crate) fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
