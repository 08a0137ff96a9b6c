//! Reading a project and its shape from the disk.

use crate::changed::changed;
use anyhow::{Context, Result, anyhow};
use prop::Inputs;
use prop::catalogue::Catalogue;
use prop::diagnostic::{Diagnostic, Diagnostics};
use prop::learnt::{self, Learnt};
use prop::power::Recording;
use prop::project::{Project, SoundSource, missing_file, mistake_at, parse, shape_file};
use prop::refusal::Refusal;
use sha2::{Digest, Sha256};
use solid::read::{Format, Shape, shape};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;
use toml_edit::{DocumentMut, Item, TableLike};

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
pub(crate) fn learnt_beside(path: &Path) -> Result<(Learnt, String), Unread> {
    let file = path.parent().unwrap_or(Path::new(".")).join(LEARNT);
    if !file.exists() {
        return Ok((Learnt::default(), String::new()));
    }
    let text = read_text(&file, "look at its rights")?;
    match learnt::read(&text) {
        Ok(learnt) => Ok((learnt, text)),
        Err(all) => Err(Unread::Learnt { name: file.display().to_string(), text, all }),
    }
}

/// Reads a project file, the shape and the sounds it names.
pub(crate) fn load(path: &Path) -> Result<Loaded> {
    load_with(path, &[])
}

/// The same with values in place of those in the file: see [`changed`].
pub(crate) fn load_with(path: &Path, instead: &[String]) -> Result<Loaded> {
    let (loaded, shape) = load_as(path, instead, false)?;
    debug_assert!(shape, "the shape is read");
    Ok(loaded)
}

/// The same without the shape where the project says how many pixels it has, and whether the shape was read.
pub(crate) fn load_text(path: &Path) -> Result<(Loaded, bool)> {
    load_as(path, &[], true)
}

fn load_as(path: &Path, instead: &[String], pixels_do: bool) -> Result<(Loaded, bool)> {
    let text = read_text(path, "start a project with: lanthorn new")?;
    let (text, told) = changed(&text, instead)?;
    Ok(read_as(path, &text, told, pixels_do, &mut Shapes::default())?)
}

/// Why there is no project.
#[derive(Debug)]
pub(crate) enum Unread {
    /// Mistakes in the project file, with its name and text.
    Mistakes { name: String, text: String, all: Diagnostics },
    /// Mistakes in what was learnt, with the file's name and text.
    Learnt { name: String, text: String, all: Diagnostics },
    /// The mesh.
    Mesh(anyhow::Error),
    /// Another file beside it: a recording, or one that is no text.
    Beside(anyhow::Error),
}

impl From<anyhow::Error> for Unread {
    fn from(error: anyhow::Error) -> Unread {
        Unread::Beside(error)
    }
}

impl From<Unread> for anyhow::Error {
    fn from(unread: Unread) -> anyhow::Error {
        match unread {
            Unread::Mistakes { name, text, all } | Unread::Learnt { name, text, all } => {
                anyhow!("{}", all.render(&name, &text))
            }
            Unread::Mesh(error) | Unread::Beside(error) => error,
        }
    }
}

/// The last shape that was read, so that a file that did not change is read once.
#[derive(Default)]
pub(crate) struct Shapes(Option<ReadShape>);

struct ReadShape {
    file: PathBuf,
    stamp: Stamp,
    read: Arc<(Shape, Vec<u8>)>,
}

/// What tells that a file changed: its length and when it was written.
pub(crate) type Stamp = Option<(u64, SystemTime)>;

/// A file's stamp; `None` when it is not there.
pub(crate) fn stamp(file: &Path) -> Stamp {
    let found = std::fs::metadata(file).ok()?;
    Some((found.len(), found.modified().ok()?))
}

impl Shapes {
    fn read(&mut self, file: &Path) -> Result<Arc<(Shape, Vec<u8>)>> {
        let now = stamp(file);
        if let Some(last) = &self.0
            && last.file == file
            && last.stamp == now
            && now.is_some()
        {
            return Ok(Arc::clone(&last.read));
        }
        let shape = Arc::new(read_shape(file)?);
        self.0 = Some(ReadShape { file: file.to_owned(), stamp: now, read: Arc::clone(&shape) });
        Ok(shape)
    }
}

/// Reads the project of a text that lies, or is to lie, at `path`, and all that it names.
pub(crate) fn read_project(path: &Path, text: &str, shapes: &mut Shapes) -> Result<Loaded, Unread> {
    read_as(path, text, Vec::new(), false, shapes).map(|(loaded, _)| loaded)
}

fn read_as(
    path: &Path,
    text: &str,
    told: Vec<String>,
    pixels_do: bool,
    shapes: &mut Shapes,
) -> Result<(Loaded, bool), Unread> {
    let with = if told.is_empty() { String::new() } else { format!(" with {}", told.join(", ")) };
    let name = format!("{}{with}", path.display());
    let mistakes = |all: Vec<Diagnostic>| Unread::Mistakes {
        name: name.clone(),
        text: text.to_owned(),
        all: Diagnostics::sorted(all),
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    let parsed = parse(text, &Catalogue::built_in());
    let stated = |p: &Project| p.conduct.as_ref().is_some_and(|c| c.pixels.is_some());
    let with_shape = !(pixels_do && parsed.as_ref().is_ok_and(stated));
    let missing = shape_file(text)
        .map(|file| folder.join(file))
        .filter(|file| with_shape && !file.is_file())
        .map(|file| missing_file(text, &file.display().to_string()));
    let mut project = match (parsed, missing) {
        (Ok(project), None) => project,
        (parsed, missing) => {
            return Err(mistakes(
                parsed.err().map_or_else(Vec::new, |found| found.0).into_iter().chain(missing).collect(),
            ));
        }
    };
    project.imprint.changed = told;
    let sounds = bring_sounds(&mut project, folder, text).map_err(mistakes)?;
    let read =
        if with_shape { shapes.read(&folder.join(&project.shape.file)).map_err(Unread::Mesh)? } else { Arc::default() };
    let (shape, bytes) = &*read;
    let (known, learnt_text) = learnt_beside(path)?;
    let names: Vec<&str> = shape.bodies.iter().map(|b| b.name.as_str()).collect();
    learnt::apply(&mut project, text, &names, &known);
    let recorded_text = recorded(&mut project, folder)?;
    // Without a file of what was learnt, a recording and sounds the hash is that of the other three parts.
    let further = [learnt_text, recorded_text];
    let further = further.iter().map(String::as_bytes).filter(|t| !t.is_empty());
    let parts = [env!("CARGO_PKG_VERSION").as_bytes(), text.as_bytes(), bytes];
    let hash = digest(parts.into_iter().chain(further).chain(sounds.iter().map(Vec::as_slice)));
    Ok((Loaded { inputs: Inputs { project, shape: shape.clone(), hash }, text: text.to_owned(), name }, with_shape))
}

/// Reads the WAV files that the project names into it; gives their bytes.
fn bring_sounds(project: &mut Project, folder: &Path, text: &str) -> Result<Vec<Vec<u8>>, Vec<Diagnostic>> {
    let mut read = Vec::new();
    let mut missing = Vec::new();
    for sound in project.conduct.iter_mut().flat_map(|c| &mut c.sounds) {
        let SoundSource::File { path, bytes } = &mut sound.source else { continue };
        let file = folder.join(&path);
        match std::fs::read(&file) {
            Ok(found) => {
                bytes.clone_from(&found);
                read.push(found);
            }
            Err(e) => {
                let key = ["sound", sound.name.as_str(), "file"];
                let message = format!("{} cannot be read: {e}", file.display());
                missing.push(mistake_at(text, &key, message, "correct the name, or put the file there".to_owned()));
            }
        }
    }
    if missing.is_empty() { Ok(read) } else { Err(missing) }
}

/// Puts the recording of use that a project names into it; the file's text, empty where none is named.
fn recorded(project: &mut Project, folder: &Path) -> Result<String> {
    let Some((rules, file)) = project.power.as_mut().and_then(|p| p.recorded.clone().map(|file| (p, file))) else {
        return Ok(String::new());
    };
    let path = folder.join(file);
    let text = read_text(&path, "power.recorded names it beside the project file; record it, or leave the key out")?;
    rules.recording = Recording::read(&text).map_err(|e| anyhow!("{}, {e}", path.display()))?;
    Ok(text)
}

/// The files that the project of a text at `path` is built from besides: the mesh, what was learnt, sounds, a recording of use.
pub(crate) fn beside(path: &Path, text: &str) -> Vec<PathBuf> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let table = text.parse::<DocumentMut>().ok();
    let at = |table: &dyn TableLike, key: &str| table.get(key).and_then(Item::as_str).map(str::to_owned);
    let under = |name: &str| table.as_ref().and_then(|t| t.get(name)?.as_table_like());
    let sounds = under("sound")
        .into_iter()
        .flat_map(TableLike::iter)
        .filter_map(|(_, sound)| at(sound.as_table_like()?, "file"));
    let recorded = under("power").and_then(|power| at(power, "recorded"));
    let named = [Some(LEARNT.to_owned()), shape_file(text), recorded].into_iter().flatten();
    named.chain(sounds).map(|name| folder.join(name)).collect()
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
    match refused(loaded, refusal) {
        Some(all) => all.render(&loaded.name, &loaded.text),
        None => refusal.to_string(),
    }
}

/// The reasons of a refusal at their places in the project file; `None` when the work was only stopped.
pub(crate) fn refused(loaded: &Loaded, refusal: &Refusal) -> Option<Diagnostics> {
    let Refusal::Problems(problems) = refusal else { return None };
    let placed = problems.iter().map(|p| {
        let key: Vec<&str> = p.key.iter().map(String::as_str).collect();
        mistake_at(&loaded.text, &key, p.message.clone(), p.remedy.clone())
    });
    Some(Diagnostics(placed.collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_project_is_built_from_all_files_that_it_names() {
        let text = "[shape]\nfile = \"a.stl\"\n[power]\nrecorded = \"walk.csv\"\n[sound.hum]\nmake = \"hum\"\n[sound.bell]\nfile = \"s/bell.wav\"\n";
        let names = |text: &str| -> Vec<String> {
            let all = beside(Path::new("props/axe/prop.toml"), text);
            all.iter().map(|f| f.strip_prefix("props/axe").unwrap().display().to_string()).collect()
        };
        assert_eq!(names(text), ["learnt.toml", "a.stl", "walk.csv", "s/bell.wav"]);
        assert_eq!(names("sound.bell = { file = \"b.wav\" }"), ["learnt.toml", "b.wav"]);
        assert_eq!(names("[sound\n"), ["learnt.toml"]);
    }
}
