//! Putting a pack on the disk whole: written beside its place, then exchanged with what was there in one step.

use anyhow::{Context, Result, bail};
use pack::Artifact;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Folders being written, removed when the program is stopped.
static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// A place for a pack.
pub(crate) struct Shelf {
    place: PathBuf,
    draft: PathBuf,
}

/// Removes whatever is half written. Waits for an exchange that is under way.
pub(crate) fn clear_unfinished() {
    if let Ok(folders) = UNFINISHED.lock() {
        for folder in folders.iter() {
            // The program ends now; what cannot be removed is a hidden folder beside the pack.
            let _ = fs::remove_dir_all(folder);
        }
        // Keeps the lock until the process ends, so that no exchange starts after this.
        std::mem::forget(folders);
    }
}

impl Shelf {
    /// Looks at the place before anything is computed: it must be new, empty, or hold an earlier pack, which is known by
    /// its file `mark`.
    pub(crate) fn prepare(place: &Path, mark: &str) -> Result<Shelf> {
        let shown = place.display();
        if place.exists() {
            if !place.is_dir() {
                bail!("{shown} is a file; name a folder with --out");
            }
            let empty = fs::read_dir(place).with_context(|| format!("{shown} cannot be read"))?.next().is_none();
            if !empty && !place.join(mark).is_file() {
                bail!(
                    "{shown} holds other files and no earlier pack; name another folder with --out, so that nothing of yours is replaced"
                );
            }
        }
        let name = place.file_name().with_context(|| format!("{shown} has no name; name a folder with --out"))?;
        let parent = match place.parent() {
            Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
            _ => PathBuf::from("."),
        };
        fs::create_dir_all(&parent).with_context(|| format!("{} cannot be made", parent.display()))?;
        let draft = parent.join(format!(".{}.draft-{}", name.to_string_lossy(), std::process::id()));
        Ok(Shelf { place: place.to_path_buf(), draft })
    }

    /// Writes all artifacts and puts them in place at once. On any failure the place is as it was.
    pub(crate) fn put(&self, artifacts: &[Artifact]) -> Result<()> {
        if let Ok(mut folders) = UNFINISHED.lock() {
            folders.push(self.draft.clone());
        }
        let written = self.write(artifacts).and_then(|()| self.exchange());
        // After a success the draft is what was there before.
        let _ = fs::remove_dir_all(&self.draft);
        written
    }

    fn write(&self, artifacts: &[Artifact]) -> Result<()> {
        for artifact in artifacts {
            let file = self.draft.join(&artifact.path);
            let failed =
                || format!("{} cannot be written; the pack at {} is as it was", artifact.path, self.place.display());
            if let Some(folder) = file.parent() {
                fs::create_dir_all(folder).with_context(failed)?;
            }
            let mut out = fs::File::create(&file).with_context(failed)?;
            out.write_all(&artifact.bytes).and_then(|()| out.sync_all()).with_context(failed)?;
        }
        Ok(())
    }

    fn exchange(&self) -> Result<()> {
        let _guard = UNFINISHED.lock();
        let failed = || format!("the pack could not be put at {}", self.place.display());
        if !self.place.exists() {
            return fs::rename(&self.draft, &self.place).with_context(failed);
        }
        #[cfg(target_os = "linux")]
        {
            use rustix::fs::{CWD, RenameFlags, renameat_with};
            if renameat_with(CWD, &self.draft, CWD, &self.place, RenameFlags::EXCHANGE).is_ok() {
                return Ok(());
            }
        }
        // File systems without an exchange: the old pack steps aside and comes back if the new one cannot take its place.
        let aside = self.draft.with_extension("old");
        fs::rename(&self.place, &aside).with_context(failed)?;
        if let Err(e) = fs::rename(&self.draft, &self.place) {
            fs::rename(&aside, &self.place).with_context(failed)?;
            return Err(e).with_context(failed);
        }
        fs::remove_dir_all(&aside).with_context(failed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn artifact(path: &str, text: &str) -> Artifact {
        Artifact { path: path.into(), bytes: text.as_bytes().to_vec() }
    }

    #[test]
    fn a_pack_replaces_an_earlier_one_as_a_whole() {
        let dir = tempfile::tempdir().unwrap();
        let place = dir.path().join("pack");
        let first = [artifact("findings.json", "1"), artifact("pieces/01.stl", "a")];
        Shelf::prepare(&place, "findings.json").unwrap().put(&first).unwrap();
        Shelf::prepare(&place, "findings.json").unwrap().put(&[artifact("findings.json", "2")]).unwrap();
        assert_eq!(fs::read_to_string(place.join("findings.json")).unwrap(), "2");
        assert!(!place.join("pieces").exists(), "nothing of the old pack is left");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "no draft is left");
    }

    #[test]
    fn a_failure_leaves_the_old_pack() {
        let dir = tempfile::tempdir().unwrap();
        let place = dir.path().join("pack");
        Shelf::prepare(&place, "findings.json").unwrap().put(&[artifact("findings.json", "1")]).unwrap();
        // A file where a folder is needed stands for a disk that gives out half way.
        let bad = [artifact("findings.json", "2"), artifact("findings.json/under", "x")];
        let error = Shelf::prepare(&place, "findings.json").unwrap().put(&bad).unwrap_err();
        assert!(format!("{error:#}").contains("is as it was"), "{error:#}");
        assert_eq!(fs::read_to_string(place.join("findings.json")).unwrap(), "1");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn other_peoples_folders_are_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("letter.txt"), "dear").unwrap();
        assert!(Shelf::prepare(dir.path(), "findings.json").is_err());
    }
}
