//! The command line: what a maker types, and where files are read and written. It knows nothing of how anything is computed.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a command line talks to its user")]

mod build;
mod load;
mod new;
mod progress;
mod shelf;

use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Lanthorn: from the shape of a large, lit costume prop to everything the workshop needs.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Start a project from a mesh: writes a commented prop.toml that says what was guessed.
    New {
        /// Folder of the new project.
        dir: PathBuf,
        /// Mesh of the outer shape: STL, OBJ, PLY, OFF, 3MF or GLB.
        #[arg(long)]
        shape: PathBuf,
        /// Finished length from butt to tip, with its unit: "150 cm", "4 ft 11 in".
        #[arg(long)]
        length: Option<String>,
        /// Height of the wearer, with its unit.
        #[arg(long)]
        wearer: Option<String>,
    },
    /// Build the pack: pieces, drawings, findings and a page that shows them.
    Build {
        /// The project file.
        project: PathBuf,
        /// Folder for the pack. An earlier pack there is replaced as a whole.
        #[arg(long)]
        out: PathBuf,
    },
    /// Run every check without writing a pack. Exit 0: all hold; 1: something fails; 2: cannot run.
    Check {
        /// The project file.
        project: PathBuf,
    },
}

fn main() -> ExitCode {
    let result = match Arguments::parse().command {
        Command::New { dir, shape, length, wearer } => {
            new::run(&dir, &shape, length.as_deref(), wearer.as_deref()).map(|()| ExitCode::SUCCESS)
        }
        Command::Build { project, out } => build::build(&project, &out),
        Command::Check { project } => build::check(&project),
    };
    result.unwrap_or_else(|error| {
        eprintln!("{error:#}");
        ExitCode::from(2)
    })
}
