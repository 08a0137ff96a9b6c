//! `lanthorn compare`: what changed from one pack to another.

use anyhow::{Context as _, Result, bail};
use pack::{COMPARED, FoundPack};
use std::fs;
use std::path::Path;

/// By what a page of ours is known, so that nothing else is written over.
const MARK: &str = "<h1>What changed</h1>";

/// Says what changed, and writes it as a page where one is asked for.
pub(crate) fn run(before: &Path, after: &Path, page: Option<&Path>) -> Result<()> {
    if let Some(page) = page.filter(|p| p.exists())
        && !fs::read_to_string(page).is_ok_and(|text| text.contains(MARK))
    {
        bail!("{} is there and is no comparison; name another file with --page", page.display());
    }
    let found = pack::compare(&found(before)?, &found(after)?)?;
    print!("{}", found.text);
    if let Some(page) = page {
        fs::write(page, found.page).with_context(|| format!("{} cannot be written", page.display()))?;
        println!("\nAs a page: {}", page.display());
    }
    Ok(())
}

fn found(folder: &Path) -> Result<FoundPack> {
    let name = folder.display().to_string();
    if !folder.is_dir() {
        bail!("{name} is no folder; name the folder that lanthorn build wrote");
    }
    let mut paths = Vec::new();
    walk(folder, "", &mut paths)?;
    paths.sort();
    let mut pack = FoundPack { name, paths, files: Default::default() };
    for file in COMPARED {
        let path = folder.join(file);
        if path.is_file() {
            let bytes = fs::read(&path).with_context(|| format!("{} cannot be read", path.display()))?;
            pack.files.insert(file.to_owned(), bytes);
        }
    }
    Ok(pack)
}

/// All files below a folder, links left aside: a pack has none, and a link can lead round in a circle.
fn walk(folder: &Path, under: &str, paths: &mut Vec<String>) -> Result<()> {
    for entry in fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        let entry = entry?;
        let path = format!("{under}{}", entry.file_name().to_string_lossy());
        let kind = entry.file_type()?;
        if kind.is_dir() {
            walk(&entry.path(), &format!("{path}/"), paths)?;
        } else if kind.is_file() {
            paths.push(path);
        }
    }
    Ok(())
}
