//! Lists the workbench's page, if it was built (`cargo xtask web`), so that it goes into the binary. It never builds it itself.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let home = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let dist = home.join("../../web/dist");
    println!("cargo:rerun-if-changed={}", dist.display());
    println!("cargo:rerun-if-changed=build.rs");
    let mut files = Vec::new();
    if dist.is_dir() {
        list(&dist, "", &mut files)?;
    }
    files.sort();
    let mut text =
        "/// Path and bytes of each file of the page, by path.\npub(super) static FILES: &[(&str, &[u8])] = &[\n"
            .to_owned();
    for (name, path) in &files {
        println!("cargo:rerun-if-changed={}", path.display());
        let _ = writeln!(text, "    ({name:?}, include_bytes!({:?})),", path.canonicalize()?);
    }
    text.push_str("];\n");
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    fs::write(out.join("page.rs"), text)
}

fn list(folder: &Path, under: &str, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{under}/{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            list(&entry.path(), &name, files)?;
        } else if !name.ends_with("/.gitkeep") {
            files.push((name, entry.path()));
        }
    }
    Ok(())
}
