//! Reading a project and its shape from the disk.

use anyhow::{Context, Result, anyhow};
use prop::Inputs;
use prop::catalogue::Catalogue;
use prop::diagnostic::Diagnostics;
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

/// Reads a project file and the shape it names.
pub(crate) fn load(path: &Path) -> Result<Loaded> {
    let name = path.display().to_string();
    let bytes =
        std::fs::read(path).with_context(|| format!("{name} cannot be read; start a project with: lanthorn new"))?;
    let text = String::from_utf8(bytes).map_err(|e| {
        anyhow!("{name} is not text in UTF-8 (byte {}); save it as UTF-8 in your editor", e.utf8_error().valid_up_to())
    })?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let missing = shape_file(&text)
        .map(|file| folder.join(file))
        .filter(|file| !file.is_file())
        .map(|file| missing_file(&text, &file.display().to_string()));
    let project = match (parse(&text, &Catalogue::built_in()), missing) {
        (Ok(project), None) => project,
        (parsed, missing) => {
            let all = parsed.err().map_or_else(Vec::new, |found| found.0).into_iter().chain(missing).collect();
            return Err(anyhow!("{}", Diagnostics::sorted(all).render(&name, &text)));
        }
    };
    let file = folder.join(&project.shape.file);
    let (shape, bytes) = read_shape(&file)?;
    let mut hash = Sha256::new();
    for part in [env!("CARGO_PKG_VERSION").as_bytes(), text.as_bytes(), &bytes] {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    let hash = hash.finalize().iter().fold(String::new(), |mut hex, b| {
        let _ = write!(hex, "{b:02x}");
        hex
    });
    Ok(Loaded { inputs: Inputs { project, shape, hash }, text, name })
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
