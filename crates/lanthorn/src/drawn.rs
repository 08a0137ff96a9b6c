//! A shape from drawn outlines.

use crate::load::read_text;
use anyhow::{Context as _, Result, anyhow, bail};
use clap::{Args, ValueEnum};
use outline::{Butt, CrossSection, Depth, Drawn, Layout, Span, drawn, rings};
use prop::quantity::Quantity;
use solid::read::{NamedMesh, Shape};
use solid::write::{Part, threemf};
use solid::{DAffine3, Mesh, loft};
use std::path::{Path, PathBuf};

/// Drawings of one prop that differ so much in their proportions are told.
const ASKEW_SHARE: f64 = 0.02;

/// What a maker says of the drawings.
#[derive(Args)]
pub(crate) struct Drawing {
    /// In place of a mesh: the outline from the side, SVG. Each closed path becomes a body of its id.
    #[arg(long, value_name = "SVG")]
    pub(crate) side: Option<PathBuf>,
    /// The outline from the top, SVG: how thick each body is. Its paths have the ids of those of the side.
    #[arg(long, value_name = "SVG", requires = "side")]
    top: Option<PathBuf>,
    /// Where in the drawings the butt is; on the left if you say nothing.
    #[arg(long, requires = "side")]
    butt: Option<End>,
    /// What it looks like across: lens, oval, round, bevel, or a table of corners (a file). BODY=SECTION says it of one body.
    #[arg(long, value_name = "SECTION", requires = "side")]
    section: Vec<String>,
    /// How thick it is at the most, where nothing is drawn from the top; BODY=THICKNESS says it of one body.
    #[arg(long, value_name = "THICKNESS", requires = "side")]
    thick: Vec<String>,
    /// With bevels: the share of the width that is flat.
    #[arg(long, default_value = "40 %", requires = "side")]
    flat: String,
    /// With bevels: how thick the edges are.
    #[arg(long, default_value = "1.2 mm", requires = "side")]
    edge: String,
    /// The longest edge of the surface: finer takes longer.
    #[arg(long, default_value = "3 mm", requires = "side")]
    spacing: String,
}

#[derive(Clone, Copy, ValueEnum)]
enum End {
    Left,
    Right,
    Below,
    Above,
}

/// A shape as drawn, and the file it is kept in.
pub(crate) struct FromDrawing {
    pub(crate) shape: Shape,
    pub(crate) bytes: Vec<u8>,
    pub(crate) length_mm: f64,
    /// What to tell the maker.
    pub(crate) notes: Vec<String>,
}

/// The bodies that the drawings enclose, scaled to a length or as large as drawn.
pub(crate) fn from_drawing(wishes: &Drawing, side: &Path, length_mm: Option<f64>) -> Result<FromDrawing> {
    let butt = match wishes.butt {
        None | Some(End::Left) => Butt::Left,
        Some(End::Right) => Butt::Right,
        Some(End::Below) => Butt::Below,
        Some(End::Above) => Butt::Above,
    };
    let spacing_mm = length("--spacing", &wishes.spacing)?;
    let mut notes = Vec::new();
    let outlines = named(outlines(side)?, side);
    let layout = Layout::of(&outlines, butt, length_mm).with_context(|| side.display().to_string())?;
    let [long, broad] = layout.drawn_mm;
    if wishes.butt.is_none() && broad > long {
        bail!(
            "{}: what is drawn is {broad:.0} mm high and {long:.0} mm wide, so it seems to stand: say --butt below or --butt above (or --butt left if it is so)",
            side.display()
        );
    }
    let length_mm = long * layout.scale;
    let above = wishes.top.as_deref().map(|top| seen_from_top(top, &outlines, butt, length_mm, &layout, &mut notes));
    let above = above.transpose()?.unwrap_or_default();
    let sections = by_body("--section", &wishes.section, &outlines)?;
    let thick = by_body("--thick", &wishes.thick, &outlines)?;
    let mut bodies = Vec::new();
    for (k, outline) in outlines.iter().enumerate() {
        let name = &outline.name;
        let section = sections[k].unwrap_or("lens");
        let thick_mm = thick[k].map(|t| length("--thick", t)).transpose()?;
        let drawn = above.iter().find(|(body, _)| body == name).map(|(_, span)| span.clone());
        let depth = depth(name, section, thick_mm, drawn)?;
        let span = layout.span(outline).with_context(|| side.display().to_string())?;
        let rings = rings(&span, &depth, &cross_section(section, wishes)?, spacing_mm)
            .map_err(|e| anyhow!("{name}: {e}; --spacing says it, {} now", wishes.spacing))?;
        bodies.push(NamedMesh::plain(name.clone(), sound(name, loft(&rings))?));
    }
    let parts: Vec<Part> =
        bodies.iter().map(|b| Part { name: b.name.clone(), mesh: &b.mesh, placed: DAffine3::IDENTITY }).collect();
    let bytes = threemf(&parts, &[("Application", "Lanthorn")]);
    Ok(FromDrawing { shape: Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() }, bytes, length_mm, notes })
}

fn outlines(file: &Path) -> Result<Vec<Drawn>> {
    let text = read_text(file, "name an SVG drawing")?;
    drawn(&text).with_context(|| file.display().to_string())
}

/// A single outline without an id goes by its file's name.
fn named(mut outlines: Vec<Drawn>, file: &Path) -> Vec<Drawn> {
    let stem = file.file_stem().map(|s| s.to_string_lossy().into_owned());
    if let ([only], Some(stem)) = (outlines.as_mut_slice(), stem)
        && only.name == "outline 1"
    {
        only.name = stem;
    }
    outlines
}

/// Outlines from the top by their bodies, scaled to the same length.
fn seen_from_top(
    top: &Path,
    side: &[Drawn],
    butt: Butt,
    length_mm: f64,
    from_side: &Layout,
    notes: &mut Vec<String>,
) -> Result<Vec<(String, Span)>> {
    let shown = || top.display().to_string();
    let mut outlines = outlines(top)?;
    if let ([only], [body]) = (outlines.as_mut_slice(), side) {
        only.name.clone_from(&body.name);
    }
    if let Some(stray) = outlines.iter().find(|o| side.iter().all(|s| s.name != o.name)) {
        let known: Vec<&str> = side.iter().map(|s| s.name.as_str()).collect();
        bail!(
            "{}: {} is not drawn from the side; give it the id of one of: {}",
            top.display(),
            stray.name,
            known.join(", ")
        );
    }
    let layout = Layout::of(&outlines, butt, Some(length_mm)).with_context(shown)?;
    let ratio = layout.scale / from_side.scale;
    if (ratio - 1.0).abs() > ASKEW_SHARE {
        notes.push(format!(
            "The top is drawn {:.1} mm long and the side {:.1} mm; both are taken from butt to tip, so the top is scaled by {ratio:.3}.",
            layout.drawn_mm[0], from_side.drawn_mm[0]
        ));
    }
    outlines.iter().map(|o| Ok((o.name.clone(), layout.span(o).with_context(shown)?))).collect()
}

/// What is said of each outline: of itself, or of all.
fn by_body<'w>(option: &str, said: &'w [String], outlines: &[Drawn]) -> Result<Vec<Option<&'w str>>> {
    let mut found = vec![None; outlines.len()];
    let (of_one, of_all): (Vec<&String>, Vec<&String>) = said.iter().partition(|s| s.contains('='));
    if let [_, second, ..] = of_all.as_slice() {
        bail!("{option} {second:?}: it is said twice; say BODY={second} to mean one body");
    }
    if let Some(all) = of_all.first() {
        found.fill(Some(all.as_str()));
    }
    for (body, value) in of_one.iter().filter_map(|s| s.split_once('=')) {
        let Some(k) = outlines.iter().position(|o| o.name == body.trim()) else {
            let known: Vec<&str> = outlines.iter().map(|o| o.name.as_str()).collect();
            bail!("{option}: no outline is called {:?}; there are: {}", body.trim(), known.join(", "));
        };
        found[k] = Some(value.trim());
    }
    Ok(found)
}

fn depth(name: &str, section: &str, thick_mm: Option<f64>, drawn: Option<Span>) -> Result<Depth> {
    match (section, thick_mm, drawn) {
        ("round", None, None) => Ok(Depth::AsWide),
        ("round", ..) => {
            bail!("{name} is round, so it is as thick as wide; for another thickness say --section {name}=oval")
        }
        (_, Some(_), Some(_)) => bail!("{name} is drawn from the top, which says how thick it is; leave --thick out"),
        (_, None, Some(span)) => Ok(Depth::Drawn(span)),
        (_, Some(mm), None) => Ok(Depth::AtMost(mm)),
        (_, None, None) => {
            bail!("how thick is {name}? Say --thick \"{name}=12 mm\", draw it from the top (--top), or make it round")
        }
    }
}

fn cross_section(word: &str, wishes: &Drawing) -> Result<CrossSection> {
    match word {
        "lens" => Ok(CrossSection::Lens),
        "oval" | "round" => Ok(CrossSection::Oval),
        "bevel" => {
            let flat = Quantity::Share.read(&wishes.flat).map_err(|e| anyhow!("--flat {:?}: {e}", wishes.flat))?;
            if !(0.0..=0.98).contains(&flat) {
                bail!("--flat {:?}: 0 % to 98 % of the width can be flat", wishes.flat);
            }
            Ok(CrossSection::Bevelled { flat, edge_mm: length("--edge", &wishes.edge)? })
        }
        file if Path::new(file).is_file() => {
            let text = read_text(Path::new(file), "name a table of corners")?;
            CrossSection::table(&text).with_context(|| file.to_owned())
        }
        other => {
            bail!("--section {other:?} is none of lens, oval, round and bevel, and no file with a table of corners")
        }
    }
}

fn length(option: &str, text: &str) -> Result<f64> {
    let mm = Quantity::Length.read(text).map_err(|e| anyhow!("{option} {text:?}: {e}"))?;
    if mm > 0.0 { Ok(mm) } else { bail!("{option} {text:?}: give more than nothing") }
}

/// A body that is closed and nowhere passes through itself.
fn sound(name: &str, mesh: Mesh) -> Result<Mesh> {
    // As it is read back from a file.
    let mesh = Mesh { vertices: mesh.vertices.iter().map(|v| v.as_vec3().as_dvec3()).collect(), ..mesh };
    match solid::self_intersects(&mesh) {
        Ok(false) if mesh.volume_mm3() > 0.0 => Ok(mesh),
        Ok(false) => bail!("{name} encloses nothing"),
        Ok(true) => bail!(
            "{name}: its surface would pass through itself where its width steps; make the step gentler, or the section one without hollows"
        ),
        Err(e) => bail!("{name}: {e}"),
    }
}
