//! Reading a project and its shape from the disk.

use anyhow::{Context, Result, anyhow};
use prop::Inputs;
use prop::catalogue::Catalogue;
use prop::diagnostic::Diagnostics;
use prop::learnt::{self, Learnt};
use prop::project::{missing_file, mistake_at, parse, shape_file};
use prop::refusal::Refusal;
use sha2::{Digest, Sha256};
use solid::read::{Format, Shape, shape};
use std::fmt::Write as _;
use std::path::Path;

/// A project as read, with its text for pointing at mistakes.
pub(crate) struct Loaded {
    pub(crate) inputs: Inputs,
    pub(crate) text: String,
    pub(crate) name: String,
}

/// What was measured, beside the project.
pub(crate) const LEARNT: &str = "learnt.toml";

/// Reads a text file; `way_out` says what to do when it is not there.
pub(crate) fn read_text(path: &Path, way_out: &str) -> Result<String> {
    let name = path.display();
    let bytes = std::fs::read(path).with_context(|| format!("{name} cannot be read; {way_out}"))?;
    String::from_utf8(bytes).map_err(|e| {
        anyhow!("{name} is not text in UTF-8 (byte {}); save it as UTF-8 in your editor", e.utf8_error().valid_up_to())
    })
}

/// What was learnt for the project at `path`, with the file's text; empty when there is no such file.
pub(crate) fn learnt_beside(path: &Path) -> Result<(Learnt, String)> {
    let file = path.parent().unwrap_or(Path::new(".")).join(LEARNT);
    if !file.exists() {
        return Ok((Learnt::default(), String::new()));
    }
    let text = read_text(&file, "look at its rights")?;
    let learnt = learnt::read(&text).map_err(|d| anyhow!("{}", d.render(&file.display().to_string(), &text)))?;
    Ok((learnt, text))
}

/// Reads a project file and the shape it names.
pub(crate) fn load(path: &Path) -> Result<Loaded> {
    let name = path.display().to_string();
    let text = read_text(path, "start a project with: lanthorn new")?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let missing = shape_file(&text)
        .map(|file| folder.join(file))
        .filter(|file| !file.is_file())
        .map(|file| missing_file(&text, &file.display().to_string()));
    let mut project = match (parse(&text, &Catalogue::built_in()), missing) {
        (Ok(project), None) => project,
        (parsed, missing) => {
            let all = parsed.err().map_or_else(Vec::new, |found| found.0).into_iter().chain(missing).collect();
            return Err(anyhow!("{}", Diagnostics::sorted(all).render(&name, &text)));
        }
    };
    let file = folder.join(&project.shape.file);
    let (shape, bytes) = read_shape(&file)?;
    let (known, learnt_text) = learnt_beside(path)?;
    let names: Vec<&str> = shape.bodies.iter().map(|b| b.name.as_str()).collect();
    learnt::apply(&mut project, &text, &names, &known);
    // Without a file of what was learnt the hash is that of the other three parts.
    let learnt_part = Some(learnt_text.as_bytes()).filter(|t| !t.is_empty());
    let parts = [env!("CARGO_PKG_VERSION").as_bytes(), text.as_bytes(), &bytes];
    let hash = digest(parts.into_iter().chain(learnt_part));
    Ok(Loaded { inputs: Inputs { project, shape, hash }, text, name })
}

/// SHA-256 of some parts, each with its length in front.
pub(crate) fn digest<'p>(parts: impl IntoIterator<Item = &'p [u8]>) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    hash.finalize().iter().fold(String::new(), |mut hex, b| {
        let _ = write!(hex, "{b:02x}");
        hex
    })
}

/// Reads a mesh file in whatever format it is.
pub(crate) fn read_shape(file: &Path) -> Result<(Shape, Vec<u8>)> {
    let shown = file.display();
    let bytes = std::fs::read(file).with_context(|| format!("{shown} cannot be read"))?;
    let file_name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let format = Format::of(&file_name, &bytes).ok_or_else(|| {
        anyhow!("{shown} is none of STL, OBJ, PLY, OFF, 3MF or GLB; export the shape as one of them from the modelling program")
    })?;
    let stem = file.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let shape = shape(format, &bytes, &stem).map_err(|e| anyhow!("{shown}: {e}"))?;
    Ok((shape, bytes))
}

/// A refusal in words, each reason underlined at its place in the project file where it has one.
pub(crate) fn explain(loaded: &Loaded, refusal: &Refusal) -> String {
    let Refusal::Problems(problems) = refusal else { return refusal.to_string() };
    let all = problems
        .iter()
        .map(|p| {
            let key: Vec<&str> = p.key.iter().map(String::as_str).collect();
            mistake_at(&loaded.text, &key, p.message.clone(), p.remedy.clone())
        })
        .collect();
    Diagnostics(all).render(&loaded.name, &loaded.text)
}
