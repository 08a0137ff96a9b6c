//! The repository's own commands: `cargo xtask demo`, `cargo xtask test` and what keeps committed files fresh.

mod gate;
mod run;
mod setup;

use run::Failure;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const HELP: &str = "\
cargo xtask demo      build the reed glaive's pack and say where it lies
cargo xtask test      set up what the tests need, then pass every one of them
cargo xtask pictures  build the pack and copy the guide's pictures from it
cargo xtask shape     write the reed glaive's shape file again from its generator";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["demo"] => demo(),
        ["test"] => gate::test(),
        ["pictures"] => pictures(),
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

/// Pictures of the guide: in the pack, in `docs/pictures`.
const PICTURES: [(&str, &str); 3] = [
    ("drawings/side.svg", "side.svg"),
    ("drawings/sections.svg", "sections.svg"),
    ("pictures/06-blade.png", "piece.png"),
];

fn pictures() -> Result<(), Failure> {
    demo()?;
    for (from, to) in PICTURES {
        let (from, to) = (pack_dir().join(from), root().join("docs/pictures").join(to));
        std::fs::copy(&from, &to).map_err(|e| Failure::new(format!("{} to {}: {e}", from.display(), to.display())))?;
        run::say(&to.display().to_string());
    }
    Ok(())
}

fn shape() -> Result<(), Failure> {
    let path = root().join("examples/reed-glaive/shape/reed-glaive.3mf");
    let bytes = reed_glaive_shape::file();
    std::fs::write(&path, &bytes).map_err(|e| Failure::new(format!("{}: {e}", path.display())))?;
    run::say(&format!("{}: {} bytes", path.display(), bytes.len()));
    Ok(())
}
