//! The command line: what a maker types, and where files are read and written. It knows nothing of how anything is computed.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a command line talks to its user")]

mod build;
mod calibrate;
mod changed;
mod compare;
mod coupon;
mod drawn;
mod load;
mod new;
mod open;
mod picture;
mod progress;
mod rehearse;
mod shelf;

use clap::{Args, Parser, Subcommand};
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
    /// Start a project from a mesh or from drawn outlines: writes a commented prop.toml that says what was guessed.
    New(Box<new::Wishes>),
    /// How long the prop is, by a picture of somebody with it: two marks on the figure, two on the prop.
    Proportion {
        #[command(flatten)]
        sighting: Box<picture::Sighting>,
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
        #[command(flatten)]
        instead: Instead,
    },
    /// Say what changed from one pack to another: numbers, findings, pieces, costs.
    Compare {
        /// The earlier pack.
        before: PathBuf,
        /// The later pack.
        after: PathBuf,
        /// Write it as a page too.
        #[arg(long, value_name = "HTML")]
        page: Option<PathBuf>,
    },
    /// Run every check without writing a pack. Exit 0: all hold; 1: something fails; 2: cannot run.
    Check {
        /// The project file.
        project: PathBuf,
        #[command(flatten)]
        instead: Instead,
    },
    /// Play a motion to the prop: writes what would be seen and heard. Nothing is soldered for it.
    Rehearse(rehearse::Wishes),
    /// Open the workbench: a page on this machine that shows the prop and changes it.
    Open(open::Wishes),
    /// Write test prints with a sheet to fill in.
    #[command(subcommand)]
    Coupon(Coupon),
    /// Learn from what was measured: kept in learnt.toml beside the project and used from then on.
    #[command(subcommand)]
    Calibrate(Calibrate),
}

/// Values for this run alone.
#[derive(Args)]
struct Instead {
    /// For somebody else: a key of the project and its value, such as "wearer.height = 182 cm". As often as you like.
    #[arg(long = "for", value_name = "KEY = VALUE")]
    values: Vec<String>,
}

#[derive(Subcommand)]
enum Coupon {
    /// A step wedge of every plastic that is lit, with a dark frame and a page that says how to measure.
    Light {
        /// The project file.
        project: PathBuf,
        /// Folder for the coupons. Earlier ones there are replaced, unless their sheet is filled in.
        #[arg(long)]
        out: PathBuf,
    },
    /// Ladders of slots, bores and lids and a rule, for every printer and material the project uses.
    Fit {
        /// The project file.
        project: PathBuf,
        /// Folder for the coupons. Earlier ones there are replaced, unless their sheet is filled in.
        #[arg(long)]
        out: PathBuf,
    },
}

#[derive(Subcommand)]
enum Calibrate {
    /// Learn what plastics scatter and absorb from light read through the steps of a wedge.
    Light {
        /// The sheet.
        sheet: PathBuf,
        #[command(flatten)]
        to: calibrate::To,
    },
    /// Learn clearances, shrinkage and stock from a filled-in readings.csv.
    Fit {
        /// The sheet.
        sheet: PathBuf,
        #[command(flatten)]
        to: calibrate::To,
    },
    /// Learn how long prints take from a sheet with the columns piece, printer, predicted, measured.
    Prints {
        /// The sheet.
        sheet: PathBuf,
        #[command(flatten)]
        to: calibrate::To,
    },
}

fn main() -> ExitCode {
    let result = match Arguments::parse().command {
        Command::New(wishes) => new::run(&wishes).map(|()| ExitCode::SUCCESS),
        Command::Proportion { sighting, wearer } => {
            picture::run(&sighting, wearer.as_deref()).map(|()| ExitCode::SUCCESS)
        }
        Command::Build { project, out, instead } => build::build(&project, &out, &instead.values),
        Command::Check { project, instead } => build::check(&project, &instead.values),
        Command::Compare { before, after, page } => {
            compare::run(&before, &after, page.as_deref()).map(|()| ExitCode::SUCCESS)
        }
        Command::Rehearse(wishes) => rehearse::run(&wishes),
        Command::Open(wishes) => open::run(&wishes),
        Command::Coupon(Coupon::Fit { project, out }) => coupon::fit(&project, &out).map(|()| ExitCode::SUCCESS),
        Command::Coupon(Coupon::Light { project, out }) => coupon::light(&project, &out).map(|()| ExitCode::SUCCESS),
        Command::Calibrate(Calibrate::Light { sheet, to }) => calibrate::light(&sheet, &to).map(|()| ExitCode::SUCCESS),
        Command::Calibrate(Calibrate::Fit { sheet, to }) => calibrate::fit(&sheet, &to).map(|()| ExitCode::SUCCESS),
        Command::Calibrate(Calibrate::Prints { sheet, to }) => {
            calibrate::prints(&sheet, &to).map(|()| ExitCode::SUCCESS)
        }
    };
    result.unwrap_or_else(|error| {
        eprintln!("{error:#}");
        ExitCode::from(2)
    })
}
