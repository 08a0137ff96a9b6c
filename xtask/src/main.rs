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
cargo xtask types     write the page's types again from the program's own
cargo xtask web       build the workbench's page, so that the next cargo build has it in the program
cargo xtask pictures  build the packs and copy the guide's pictures from them
cargo xtask shape     write the examples' shape files again from their generators";

/// A prop that comes with the repository.
struct Example {
    /// Its directory in `examples`, and the stem of its shape file.
    name: &'static str,
    /// What it is called.
    title: &'static str,
}

const GLAIVE: Example = Example { name: "reed-glaive", title: "the reed glaive" };
const STAFF: Example = Example { name: "beacon-staff", title: "the beacon staff" };
const EXAMPLES: [Example; 2] = [GLAIVE, STAFF];

impl Example {
    /// Where its pack goes.
    fn pack_dir(&self) -> PathBuf {
        root().join("target/demo").join(self.name)
    }

    /// The rest of a command that runs the program, so that it builds the pack.
    fn build_pack(&self, mut program: std::process::Command) -> std::process::Command {
        program.arg("build").arg(format!("examples/{}/prop.toml", self.name)).arg("--out").arg(self.pack_dir());
        program
    }

    /// Builds the pack and gives its page.
    fn demo(&self) -> Result<PathBuf, Failure> {
        run::run(&mut self.build_pack(run::cargo(&["run", "--package", "lanthorn", "--"])))?;
        let page = self.pack_dir().join("index.html");
        if page.is_file() {
            Ok(page)
        } else {
            Err(Failure::new(format!("the build ended well but wrote no {}", page.display())))
        }
    }
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["demo"] => demo(),
        ["test"] => gate::test(),
        ["web"] => setup::page(),
        ["pictures"] => pictures(),
        ["shape"] => shape(),
        ["types"] => types(),
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

fn demo() -> Result<(), Failure> {
    let page = GLAIVE.demo()?;
    run::say(&format!("{}'s pack lies in {}\nOpen {}", GLAIVE.title, GLAIVE.pack_dir().display(), page.display()));
    Ok(())
}

/// Pictures of the guide: whose pack, where in it, where in `docs/pictures`.
const PICTURES: [(Example, &str, &str); 6] = [
    (GLAIVE, "drawings/side.svg", "side.svg"),
    (GLAIVE, "drawings/sections.svg", "sections.svg"),
    (GLAIVE, "drawings/inside.svg", "inside.svg"),
    (GLAIVE, "pictures/06-blade.png", "piece.png"),
    (STAFF, "drawings/side.svg", "staff-side.svg"),
    (STAFF, "drawings/sections.svg", "staff-sections.svg"),
];

fn pictures() -> Result<(), Failure> {
    for example in EXAMPLES {
        example.demo()?;
    }
    for (example, from, to) in PICTURES {
        let (from, to) = (example.pack_dir().join(from), root().join("docs/pictures").join(to));
        std::fs::copy(&from, &to).map_err(|e| Failure::new(format!("{} to {}: {e}", from.display(), to.display())))?;
        run::say(&to.display().to_string());
    }
    Ok(())
}

/// The test that holds the page's types to the program's writes them where it is told to.
fn types() -> Result<(), Failure> {
    let test = ["test", "--package", "lanthorn", "--bin", "lanthorn", "the_pages_types_are_the_programs_own"];
    run::run(run::cargo(&test).env("LANTHORN_WRITE_TYPES", "1"))
}

fn shape() -> Result<(), Failure> {
    for Example { name, .. } in EXAMPLES {
        run::run(&mut run::cargo(&["run", "--package", &format!("{name}-shape")]))?;
        run::say(&format!("examples/{name}/shape/{name}.3mf is written"));
    }
    Ok(())
}
