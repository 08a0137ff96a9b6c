//! Running other programs: shown while they run, and their last words kept.

use std::fmt;
use std::io::{BufRead, BufReader, Write};
use std::process::Command;

/// Why a command of the repository could not be done.
#[derive(Debug)]
pub(crate) struct Failure(String);

impl Failure {
    pub(crate) fn new(message: impl Into<String>) -> Failure {
        Failure(message.into())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One line for whoever watches.
#[expect(clippy::print_stdout, reason = "a command line tool speaks on standard output")]
pub(crate) fn say(text: &str) {
    println!("{text}");
}

/// This cargo, in the repository.
pub(crate) fn cargo(words: &[&str]) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.args(words).current_dir(crate::root());
    // What `cargo run` set for this program is no concern of the next cargo.
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        if text.starts_with("CARGO_PKG_") || text.starts_with("CARGO_MANIFEST_") {
            command.env_remove(&name);
        }
    }
    command
}

/// Another program, in the repository.
pub(crate) fn program(name: impl AsRef<std::ffi::OsStr>, words: &[&str]) -> Command {
    let mut command = Command::new(name);
    command.args(words).current_dir(crate::root());
    command
}

fn named(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(|w| w.to_string_lossy().into_owned()).collect::<Vec<_>>().join(" ")
}

/// Runs to the end, everything shown.
///
/// # Errors
/// When it cannot be started or ends badly.
pub(crate) fn run(command: &mut Command) -> Result<(), Failure> {
    let name = named(command);
    let status = command.status().map_err(|e| Failure::new(format!("{name}: {e}")))?;
    if status.success() { Ok(()) } else { Err(Failure::new(format!("{name}: {status}"))) }
}

/// What a program said and whether it ended well.
pub(crate) struct Said {
    /// Every line of both its outputs, in the order they came.
    pub lines: Vec<String>,
    /// Whether it ended well.
    pub well: bool,
}

/// Runs to the end, everything shown and kept.
pub(crate) fn listen(command: &mut Command) -> Said {
    let name = named(command);
    match listen_to(command) {
        Ok(said) => said,
        Err(e) => {
            say(&format!("{name}: {e}"));
            Said { lines: vec![format!("{name}: {e}")], well: false }
        }
    }
}

fn listen_to(command: &mut Command) -> std::io::Result<Said> {
    let (reader, writer) = std::io::pipe()?;
    command.stdout(writer.try_clone()?).stderr(writer);
    let mut child = command.spawn()?;
    // The command holds our copies of the writing end, and with them the pipe would never close.
    command.stdout(std::process::Stdio::inherit()).stderr(std::process::Stdio::inherit());
    let mut lines = Vec::new();
    let mut out = std::io::stdout();
    for line in BufReader::new(reader).split(b'\n') {
        let line = String::from_utf8_lossy(&line?).trim_end().to_owned();
        writeln!(out, "{line}")?;
        lines.push(line);
    }
    Ok(Said { lines, well: child.wait()?.success() })
}

/// What a short program prints, without its line end.
///
/// # Errors
/// When it cannot be started or ends badly.
pub(crate) fn answer(command: &mut Command) -> Result<String, Failure> {
    let name = named(command);
    let output = command.output().map_err(|e| Failure::new(format!("{name}: {e}")))?;
    if !output.status.success() {
        return Err(Failure::new(format!("{name}: {}", String::from_utf8_lossy(&output.stderr).trim())));
    }
    Ok(String::from_utf8_lossy(&output.stdout).trim().to_owned())
}
