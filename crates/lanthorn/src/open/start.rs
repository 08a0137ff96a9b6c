//! A new project, begun on the page: from a mesh that is dropped there, or the example.

use super::Workbench;
use super::fault::{Answer, Fault};
use super::mesh::{Meshes, Named};
use super::routes::{Bench, Form, offload};
use super::session::{Session, write_whole};
use super::upload;
use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Query, State};
use prop::catalogue::Catalogue;
use prop::mending::mend_note;
use prop::outcome::Role;
use prop::placing::{Lie, RawBody, fault_words, file_to_prop, lie, unit_guesses};
use prop::project::{ShapeRules, parse, role_by_name};
use prop::quantity::Quantity;
use prop::starter::{StarterFacts, starter};
use serde::{Deserialize, Serialize};
use solid::mend::mend;
use solid::read::{Format, Shape, shape};
use solid::{Bounds, Mesh};
use std::fs;
use std::sync::{Arc, Mutex, PoisonError};

/// The largest mesh file, bytes.
pub(crate) const MESH_BYTES: usize = 512 << 20;
/// Who stands beside the prop where nobody's height is known, mm.
const FIGURE_MM: f64 = 1750.0;

const EXAMPLE: &str = include_str!("../../../../examples/reed-glaive/prop.toml");
const EXAMPLE_SHAPE: &[u8] = include_bytes!("../../../../examples/reed-glaive/shape/reed-glaive.3mf");

/// What was sent last, until a project is made of it.
#[derive(Default)]
pub(crate) struct Uploads(Mutex<Option<Upload>>);

struct Upload {
    id: String,
    name: String,
    bytes: Bytes,
    shape: Shape,
    shown: Meshes,
}

impl Uploads {
    fn kept<R>(&self, work: impl FnOnce(&mut Option<Upload>) -> R) -> R {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// A mesh that was sent, to be looked at.
    pub(crate) fn mesh(&self, hash: &str) -> Option<Arc<super::mesh::Shown>> {
        self.kept(|kept| kept.as_ref()?.shown.get(hash))
    }
}

/// Where a project is begun, and who stands beside it.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct StartInfo {
    folder: String,
    figure_mm: f64,
}

/// A mesh that was sent, with what is guessed of it.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct StartMesh {
    upload: String,
    bodies: Vec<StartBody>,
    /// How long it is, in the file's own units.
    long_units: f64,
    /// Along which of the file's axes it lies.
    axis: Axis,
    axis_reason: String,
    tip: Tip,
    tip_reason: String,
    guesses: Vec<Guess>,
    /// Lying along x from butt to tip as guessed, in the file's own units.
    mesh: Named,
    faults: Vec<String>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct StartBody {
    name: String,
    role: super::mirror::Role,
    triangles: usize,
    /// Length, width, thickness in the file's own units.
    size: [f64; 3],
}

/// Which of two ends: of the higher or the lower coordinate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum Tip {
    High,
    Low,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum Axis {
    X,
    Y,
    Z,
}

const AXES: [Axis; 3] = [Axis::X, Axis::Y, Axis::Z];

/// How long it would be in a unit.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Guess {
    unit: &'static str,
    length_mm: f64,
    words: String,
}

/// A project was made, in this folder.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Opened {
    folder: String,
}

/// What there is to begin with.
pub(crate) async fn begin(State(bench): Bench) -> Json<StartInfo> {
    Json(StartInfo { folder: bench.folder.display().to_string(), figure_mm: FIGURE_MM })
}

fn only_at_start(bench: &Workbench) -> Result<(), Fault> {
    match bench.desk().session {
        None => Ok(()),
        Some(_) => Err(Fault::new(409, "open", "a project is open already", "start lanthorn open without one")),
    }
}

#[derive(Deserialize)]
pub(crate) struct Name {
    name: String,
}

/// Takes a mesh, and says what it seems to be.
pub(crate) async fn mesh(State(bench): Bench, Query(Name { name }): Query<Name>, body: Body) -> Answer<StartMesh> {
    only_at_start(&bench)?;
    let bytes = upload::read(body, MESH_BYTES).await?;
    offload(move || -> Result<StartMesh, Fault> {
        let name = plain_name(&name)
            .ok_or_else(|| Fault::new(422, "name", "that is no file's name", "send the mesh under its own name"))?;
        let kind = "STL, OBJ, PLY, OFF, 3MF or GLB";
        let format = Format::of(&name, &bytes).ok_or_else(|| {
            Fault::new(415, "mesh", format!("{name} is none of {kind}"), format!("export the shape as {kind}"))
        })?;
        let stem = name.rsplit_once('.').map_or(name.as_str(), |(stem, _)| stem).to_owned();
        let shape = shape(format, &bytes, &stem).map_err(|e| {
            Fault::new(422, "mesh", format!("{name}: {e}"), "mend it in the modelling program, or export it anew")
        })?;
        let (raw, how) = lying(&shape, &Said::default())?;
        let mut shown = Meshes::default();
        // As it would lie in the prop frame, in the file's own units.
        let to_prop = file_to_prop(&raw, &how, how.long_units);
        let mut whole = Mesh::default();
        raw.iter().for_each(|b| whole.append(&b.mesh.transformed(&to_prop)));
        let named: Named = shown.keep(whole, None, &Meshes::default());
        let bodies = raw
            .iter()
            .map(|b| {
                let size =
                    Bounds::of(b.mesh.vertices.iter().map(|v| how.turn * *v)).map_or([0.0; 3], |s| s.size().to_array());
                StartBody { name: b.name.clone(), role: b.role.into(), triangles: b.mesh.triangles.len(), size }
            })
            .collect();
        let guesses = unit_guesses(how.long_units, shape.unit_mm, Some(FIGURE_MM))
            .iter()
            .map(|g| Guess { unit: g.unit, length_mm: g.length_mm, words: g.describe(None) })
            .collect();
        let id = super::pairing::token()?;
        let told = StartMesh {
            upload: id.clone(),
            bodies,
            long_units: how.long_units,
            axis: AXES[how.axis],
            axis_reason: how.axis_reason.clone(),
            tip: if how.tip_high { Tip::High } else { Tip::Low },
            tip_reason: how.tip_reason.clone(),
            guesses,
            mesh: named,
            faults: faults(&raw, &how),
        };
        bench.uploads.kept(|kept| *kept = Some(Upload { id, name, bytes, shape, shown }));
        Ok(told)
    })
    .await?
    .map(Json)
}

/// What the maker says of the shape.
#[derive(Default)]
struct Said {
    axis: Option<usize>,
    tip_high: Option<bool>,
}

fn lying(shape: &Shape, said: &Said) -> Result<(Vec<RawBody>, Lie), Fault> {
    let bodies = shape.bodies.iter();
    let raw: Vec<RawBody> =
        bodies.map(|b| RawBody { name: b.name.clone(), role: role_by_name(&b.name), mesh: b.mesh.clone() }).collect();
    let rules = ShapeRules {
        file: String::new(),
        length_mm: None,
        axis: said.axis,
        tip_high: said.tip_high,
        thickness_axis: None,
        path: None,
    };
    let how = lie(&raw, &rules).ok_or_else(|| {
        Fault::new(
            422,
            "mesh",
            "the shape has no length: all its points lie in one place or plane",
            "export the whole shape",
        )
    })?;
    Ok((raw, how))
}

/// What would be mended, and what would be refused, with places in the file's own units.
fn faults(raw: &[RawBody], how: &Lie) -> Vec<String> {
    let to_prop = file_to_prop(raw, how, how.long_units);
    let mut said = Vec::new();
    for body in raw {
        match mend(body.mesh.clone()) {
            Ok((_, mends)) => said.extend(
                mends
                    .iter()
                    .map(|m| format!("{} will be mended: {}", body.name, mend_note(&body.name, m, &to_prop).what)),
            ),
            Err(found) => said.extend(found.iter().map(|f| {
                let words = fault_words(f, to_prop.transform_point3(f.place), 1.0);
                format!("{} cannot be built yet: {words}. {}", body.name, f.kind.advice())
            })),
        }
    }
    said
}

/// A name that is one file's and nothing else: no folder, no hidden file, nothing that a disk takes amiss.
fn plain_name(name: &str) -> Option<String> {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    let plain: String = last.chars().map(|c| if fits(c) { c } else { '-' }).collect();
    let plain = plain.trim().trim_start_matches('.').to_owned();
    (!plain.is_empty() && plain.len() <= 120).then_some(plain)
}

/// A project to be made of a mesh that was sent.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StartWanted", optional_fields))]
#[serde(deny_unknown_fields)]
pub(crate) struct Wanted {
    upload: String,
    name: String,
    length: String,
    tip: Option<Tip>,
    axis: Option<Axis>,
    #[serde(default)]
    lit: Vec<String>,
    wearer: Option<String>,
}

/// Makes a project of what was sent, and opens it.
pub(crate) async fn project(State(bench): Bench, Form(wanted): Form<Wanted>) -> Answer<Opened> {
    offload(move || -> Result<Opened, Fault> {
        only_at_start(&bench)?;
        let wrong = |what: &str, why: String| {
            Fault::new(422, "form", format!("{what}: {why}"), "correct it, and send it again")
        };
        let read = |what: &str, text: &str| Quantity::Length.read(text).map_err(|e| wrong(what, e.to_string()));
        let length_mm = read("length", &wanted.length)?;
        if length_mm <= 0.0 {
            return Err(wrong("length", "give more than nothing".to_owned()));
        }
        wanted.wearer.as_deref().map(|w| read("wearer", w)).transpose()?;
        let axis = wanted.axis.map(|axis| axis as usize);
        let tip_high = wanted.tip.map(|tip| tip == Tip::High);
        let sent = bench.uploads.kept(|kept| {
            let sent = kept.as_ref().filter(|u| u.id == wanted.upload)?;
            Some((sent.name.clone(), sent.bytes.clone(), sent.shape.clone()))
        });
        let (file, bytes, shape) =
            sent.ok_or_else(|| Fault::new(404, "upload", "that mesh is not there any more", "drop it again"))?;
        let (raw, how) = lying(&shape, &Said { axis, tip_high })?;
        let text = text_of(&wanted, &raw, &how, length_mm, &file);
        parse(&text, &Catalogue::built_in()).map_err(|found| {
            Fault::new(422, "project", "no project can be made of this", "choose other names")
                .with(|more| more.trouble = Some(super::trouble::mistakes(&found, &text)))
        })?;
        opened(&bench, &wanted.name, &text, &format!("shape/{file}"), &bytes)
    })
    .await?
    .map(Json)
}

fn text_of(wanted: &Wanted, raw: &[RawBody], how: &Lie, length_mm: f64, file: &str) -> String {
    let scale = length_mm / how.long_units;
    let bodies = raw.iter().map(|b| {
        let turned = b.mesh.vertices.iter().map(|v| how.turn * *v * scale);
        let size = Bounds::of(turned).map_or([0.0; 3], |s| s.size().to_array());
        let role = match b.role {
            Role::Cover => Role::Cover,
            _ if wanted.lit.contains(&b.name) => Role::Lit,
            _ => Role::Plain,
        };
        (b.name.clone(), role, size)
    });
    starter(&StarterFacts {
        name: wanted.name.clone(),
        shape_file: format!("shape/{file}"),
        length_text: Some(wanted.length.clone()),
        bodies: bodies.collect(),
        tip_high: how.tip_high,
        tip_reason: how.tip_reason.clone(),
        axis: how.axis,
        aslant: how.aslant,
        axis_reason: how.axis_reason.clone(),
        wearer: wanted.wearer.clone(),
    })
}

/// Begins the example.
pub(crate) async fn example(State(bench): Bench) -> Answer<Opened> {
    offload(move || -> Result<Opened, Fault> {
        only_at_start(&bench)?;
        opened(&bench, "reed-glaive", EXAMPLE, "shape/reed-glaive.3mf", EXAMPLE_SHAPE)
    })
    .await?
    .map(Json)
}

/// Writes a project's folder, and opens it.
fn opened(bench: &Workbench, name: &str, text: &str, shape: &str, bytes: &[u8]) -> Result<Opened, Fault> {
    let name = plain_name(&name.to_lowercase().replace([' ', '.'], "-"));
    let name =
        name.ok_or_else(|| Fault::new(422, "name", "that is no name for a folder", "use letters and figures"))?;
    let folder = bench.folder.join(&name);
    if let Err(error) = fs::create_dir(&folder) {
        let taken = error.kind() == std::io::ErrorKind::AlreadyExists;
        return Err(if taken {
            Fault::new(409, "exists", format!("there is a folder {name} already"), "choose another name")
        } else {
            Fault::broken(&anyhow::anyhow!("{} cannot be made: {error}", folder.display()))
        });
    }
    let written = || -> anyhow::Result<Session> {
        let file = folder.join(shape);
        if let Some(under) = file.parent() {
            fs::create_dir_all(under)?;
        }
        write_whole(&file, bytes)?;
        write_whole(&folder.join("prop.toml"), text.as_bytes())?;
        Session::open(&folder.join("prop.toml"))
    };
    match written() {
        Ok(session) => {
            bench.open(session);
            bench.uploads.kept(|kept| *kept = None);
            Ok(Opened { folder: name })
        }
        Err(error) => {
            // The folder was made just now, and nothing in it is anybody's.
            let _ = fs::remove_dir_all(&folder);
            Err(error.into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_of_one_file() {
        for (name, plain) in [
            ("blade.stl", Some("blade.stl")),
            ("../../etc/passwd", Some("passwd")),
            ("C:\\props\\blade.stl", Some("blade.stl")),
            (".hidden", Some("hidden")),
            ("a\u{0}b.stl", Some("a-b.stl")),
            ("..", None),
            ("", None),
        ] {
            assert_eq!(plain_name(name).as_deref(), plain, "{name}");
        }
    }
}
