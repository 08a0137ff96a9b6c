//! The repository's own commands: `cargo xtask demo`, `cargo xtask test`, `cargo xtask shape`.

mod gate;
mod run;
mod setup;

use run::Failure;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask demo    build the reed glaive's pack and say where it lies
cargo xtask test    set up what the tests need, then pass every one of them
cargo xtask shape   write the reed glaive's shape file again from its generator";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["demo"] => demo(),
        ["test"] => gate::test(),
        ["shape"] => shape(),
        _ => {
            run::say(HELP);
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            run::say(&format!("xtask: {failure}"));
            ExitCode::FAILURE
        }
    }
}

/// The repository.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the repository").to_owned()
}

/// Where the glaive's pack goes.
fn pack_dir() -> PathBuf {
    root().join("target/demo/reed-glaive")
}

fn demo() -> Result<(), Failure> {
    let pack = pack_dir();
    run::run(&mut build_pack())?;
    let page = pack.join("index.html");
    if !page.is_file() {
        return Err(Failure::new(format!("the build ended well but wrote no {}", page.display())));
    }
    run::say(&format!("The reed glaive's pack lies in {}\nOpen {}", pack.display(), page.display()));
    Ok(())
}

fn build_pack() -> std::process::Command {
    let mut command = run::cargo(&["run", "--package", "lanthorn", "--", "build"]);
    command.arg("examples/reed-glaive/prop.toml").arg("--out").arg(pack_dir());
    command
}

fn shape() -> Result<(), Failure> {
    let path = root().join("examples/reed-glaive/shape/reed-glaive.3mf");
    let bytes = reed_glaive_shape::file();
    std::fs::write(&path, &bytes).map_err(|e| Failure::new(format!("{}: {e}", path.display())))?;
    run::say(&format!("{}: {} bytes", path.display(), bytes.len()));
    Ok(())
}
