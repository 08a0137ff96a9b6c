//! `lanthorn new`: a project from a mesh, or from drawings.

use crate::drawn::{Drawing, from_drawing};
use crate::load::read_shape;
use crate::picture::{Sighting, sized};
use anyhow::{Context, Result, anyhow, bail};
use clap::Args;
use prop::catalogue::Catalogue;
use prop::mending::mend_note;
use prop::outcome::Role;
use prop::placing::{Lie, RawBody, fault_words, file_to_prop, lie, unit_guesses};
use prop::project::{ShapeRules, parse, role_by_name};
use prop::quantity::Quantity;
use prop::starter::{StarterFacts, starter};
use solid::Bounds;
use solid::mend::mend;
use solid::read::Shape;
use std::fs;
use std::path::PathBuf;

/// What a maker says of a new project.
#[derive(Args)]
pub(crate) struct Wishes {
    /// Folder of the new project.
    dir: PathBuf,
    /// Mesh of the outer shape: STL, OBJ, PLY, OFF, 3MF or GLB.
    #[arg(long, required_unless_present = "side", conflicts_with = "side")]
    shape: Option<PathBuf>,
    #[command(flatten)]
    drawing: Drawing,
    /// Finished length from butt to tip, with its unit: "150 cm", "4 ft 11 in".
    #[arg(long, conflicts_with = "figure")]
    length: Option<String>,
    /// Height of the wearer, with its unit.
    #[arg(long)]
    wearer: Option<String>,
    #[command(flatten)]
    sighting: Sighting,
}

/// Where a shape comes from.
struct Source {
    shape: Shape,
    /// Relative to the project.
    file: String,
    /// What is to be written there; `None` where it lies there already.
    bytes: Option<Vec<u8>>,
    /// The length that was given or drawn.
    length_text: Option<String>,
    is_drawn: bool,
}

/// Writes `DIR/prop.toml` and, where the mesh lies elsewhere or is drawn, the mesh.
pub(crate) fn run(wishes: &Wishes) -> Result<()> {
    let (dir, wearer) = (wishes.dir.as_path(), wishes.wearer.as_deref());
    let project = dir.join("prop.toml");
    if project.exists() {
        bail!("{} is already there; name another folder, or remove it first", project.display());
    }
    let quantity = |what: &str, text: Option<&str>| -> Result<Option<f64>> {
        text.map(|t| Quantity::Length.read(t).map_err(|e| anyhow!("{what} {t:?}: {e}"))).transpose()
    };
    let wearer_mm = quantity("--wearer", wearer)?;
    let pictured = sized(&wishes.sighting, wearer)?;
    let asked = wishes.length.clone().or(pictured.as_ref().map(|p| format!("{:.0} mm", p.length_mm)));
    let length_mm = quantity("--length", asked.as_deref())?;
    if length_mm.is_some_and(|mm| mm <= 0.0) {
        bail!("--length {:?}: give more than nothing", asked.unwrap_or_default());
    }
    pictured.iter().flat_map(|p| &p.lines).for_each(|line| println!("{line}"));
    let Source { shape, file: shape_file, bytes, length_text, is_drawn } = source(wishes, asked, length_mm)?;
    let length_mm = quantity("--length", length_text.as_deref())?;
    let length = length_text.as_deref();
    let raw: Vec<RawBody> = shape
        .bodies
        .iter()
        .map(|b| RawBody { name: b.name.clone(), role: role_by_name(&b.name), mesh: b.mesh.clone() })
        .collect();
    let rules = ShapeRules {
        file: String::new(),
        length_mm,
        axis: is_drawn.then_some(0),
        tip_high: is_drawn.then_some(true),
        thickness_axis: is_drawn.then_some(2),
        path: None,
    };
    let mut how = lie(&raw, &rules)
        .ok_or_else(|| anyhow!("{shape_file}: the shape has no length: all its points lie in one place or plane"))?;
    if is_drawn {
        (how.axis_reason, how.tip_reason) = ("it was drawn so".to_owned(), "it was drawn so".to_owned());
    }
    let scale = length_mm.unwrap_or(how.long_units) / how.long_units;
    let bodies: Vec<(String, Role, [f64; 3])> = raw
        .iter()
        .map(|b| {
            let turned = b.mesh.vertices.iter().map(|v| how.turn * *v * scale);
            (b.name.clone(), b.role, Bounds::of(turned).map_or([0.0; 3], |b| b.size().to_array()))
        })
        .collect();
    let name = dir.file_name().map_or_else(|| "prop".to_owned(), |n| n.to_string_lossy().replace(['-', '_'], " "));
    let facts = StarterFacts {
        name,
        shape_file: shape_file.clone(),
        length_text: length.map(str::to_owned),
        bodies: bodies.clone(),
        tip_high: how.tip_high,
        tip_reason: how.tip_reason.clone(),
        axis: how.axis,
        aslant: how.aslant,
        axis_reason: how.axis_reason.clone(),
        wearer: wearer.map(str::to_owned),
    };
    let text = starter(&facts);
    parse(&text, &Catalogue::built_in()).map_err(|d| anyhow!("{}", d.render("prop.toml", &text)))?;
    fs::create_dir_all(dir).with_context(|| format!("{} cannot be made", dir.display()))?;
    if let Some(bytes) = bytes {
        let copy = dir.join(&shape_file);
        if let Some(folder) = copy.parent() {
            fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        }
        fs::write(&copy, &bytes).with_context(|| format!("{} cannot be written", copy.display()))?;
    }
    fs::write(&project, text).with_context(|| format!("{} cannot be written", project.display()))?;
    println!("{} written.", project.display());
    let end = if how.tip_high { "high" } else { "low" };
    if how.aslant {
        println!(
            "It lies aslant in its file and is taken along its own longest direction, because {}.",
            how.axis_reason
        );
    }
    println!(
        "The tip is taken to be at the {end} end of the file's {}, because {}.",
        ["x", "y", "z"][how.axis],
        how.tip_reason
    );
    for (name, role, [x, y, z]) in &bodies {
        let unit = if length_mm.is_some() { "mm" } else { "units" };
        println!("{name}: {}, {x:.1} x {y:.1} x {z:.1} {unit}", role_word(*role));
    }
    if length_mm.is_none() {
        println!("No length was given. As it stands in the file the prop would be:");
        for guess in unit_guesses(how.long_units, shape.unit_mm, wearer_mm) {
            println!("  {}", guess.describe(wearer_mm));
        }
        println!("Write the length you want under [shape] in {}.", project.display());
    }
    tell_faults(&raw, &how, length_mm.unwrap_or_else(|| likeliest_mm(&how, shape.unit_mm, wearer_mm)));
    println!("Change any of this in {}, then: lanthorn build {} --out PACK", project.display(), project.display());
    Ok(())
}

/// The shape from the drawings, or from the mesh.
fn source(wishes: &Wishes, asked: Option<String>, length_mm: Option<f64>) -> Result<Source> {
    if let Some(side) = &wishes.drawing.side {
        let made = from_drawing(&wishes.drawing, side, length_mm)?;
        made.notes.iter().for_each(|note| println!("{note}"));
        let stem = side.file_stem().map_or_else(|| "shape".to_owned(), |n| n.to_string_lossy().into_owned());
        let length_text = asked.or_else(|| {
            println!("No length was given: it is {:.1} cm, as drawn.", made.length_mm / 10.0);
            Some(format!("{:.1} mm", made.length_mm))
        });
        let file = format!("shape/{stem}.3mf");
        return Ok(Source { shape: made.shape, file, bytes: Some(made.bytes), length_text, is_drawn: true });
    }
    let mesh = wishes.shape.as_deref().context("name a mesh with --shape, or drawings with --side")?;
    let (shape, bytes) = read_shape(mesh)?;
    let file_name = mesh.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let inside = fs::canonicalize(mesh).ok().zip(fs::canonicalize(&wishes.dir).ok());
    let relative = inside.and_then(|(m, d)| m.strip_prefix(d).ok().map(|p| p.to_string_lossy().into_owned()));
    let bytes = relative.is_none().then_some(bytes);
    let file = relative.unwrap_or_else(|| format!("shape/{file_name}"));
    Ok(Source { shape, file, bytes, length_text: asked, is_drawn: false })
}

/// The length to look at the shape in as long as none is given.
fn likeliest_mm(how: &Lie, unit_mm: Option<f64>, wearer_mm: Option<f64>) -> f64 {
    unit_guesses(how.long_units, unit_mm, wearer_mm).first().map_or(how.long_units, |guess| guess.length_mm)
}

/// Says what a build would mend, and what it would refuse.
fn tell_faults(bodies: &[RawBody], how: &Lie, length_mm: f64) {
    let to_prop = file_to_prop(bodies, how, length_mm);
    let mut said = Vec::new();
    for body in bodies {
        match mend(body.mesh.clone()) {
            Ok((_, mends)) => {
                let each = mends.iter().map(|m| mend_note(&body.name, m, &to_prop).what);
                said.extend(each.map(|words| format!("{} will be mended: {words}", body.name)));
            }
            Err(faults) => said.extend(faults.iter().map(|f| {
                let words = fault_words(f, to_prop.transform_point3(f.place), length_mm / how.long_units);
                format!("{} cannot be built yet: {words}\n  to mend it: {}", body.name, f.kind.advice())
            })),
        }
    }
    if !said.is_empty() {
        println!("At a length of {:.1} cm:", length_mm / 10.0);
        said.iter().for_each(|line| println!("{line}"));
    }
}

fn role_word(role: Role) -> &'static str {
    match role {
        Role::Lit => "lit",
        Role::Plain => "plain",
        Role::Cover => "a cover",
    }
}
