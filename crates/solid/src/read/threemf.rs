//! 3MF: a zip archive of XML. Core specification 1.3, and the paths of the production extension.

use super::paint::{Paint, Palette, most_of, paint, rgb_of};
use super::{Budget, Format, NamedMesh, Place, ReadError, Shape, checked};
use crate::Mesh;
use glam::{DAffine3, DVec3};
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Cursor, Read};
use zip::ZipArchive;

/// Most that the archive's parts may inflate to, for each byte of the file. Deflate reaches 1032 on one repeated
/// byte; meshes as text reach 5 to 30.
const MOST_INFLATED: u64 = 200;
/// An archive this small may inflate further: overhead counts for more in it.
const FREE_INFLATED: u64 = 1 << 20;
/// Longest single tag or text between tags, bytes.
const LONGEST_TAG: u64 = 1 << 20;
/// Deepest nesting of components.
const DEEPEST: usize = 64;

/// What one visit of an object counts for, in vertices: its name and tables take memory even without a mesh.
const VISIT: usize = 16;

/// An object of a model part.
struct Object {
    name: Option<String>,
    printed: bool,
    mesh: Mesh,
    /// Paint of its triangles, by number in the palette; empty where the file has none.
    painted: Vec<u32>,
    /// Paint where a triangle names none.
    own_paint: u32,
    /// Its group of materials or colours, for triangles that name a place in one and no group.
    own_group: Option<String>,
    components: Vec<Placed>,
}

/// An object put somewhere.
struct Placed {
    /// Part and number of the object.
    key: Key,
    map: DAffine3,
}

/// Where an object is found: the path of its part, its number there.
type Key = (String, u32);

/// Everything read from all model parts.
#[derive(Default)]
struct Package {
    objects: BTreeMap<Key, Object>,
    order: Vec<Key>,
    items: Vec<Placed>,
    unit_mm: Option<f64>,
    palette: Palette,
    /// Groups of materials or colours by the part and number they are known by.
    groups: BTreeMap<Key, Vec<u32>>,
}

/// Reads every mesh of every build item as a body, named by its object or the nearest assembly with a name.
pub(super) fn read(bytes: &[u8], stem: &str) -> Result<Shape, ReadError> {
    let mut archive =
        ZipArchive::new(Cursor::new(bytes)).map_err(|wrong| damaged("the archive", &wrong.to_string()))?;
    let allowance = (bytes.len() as u64).saturating_mul(MOST_INFLATED).saturating_add(FREE_INFLATED);
    let left = Cell::new(allowance);
    let root = root_part(&mut archive, &left)?;
    let mut package = Package::default();
    let mut waiting = BTreeSet::from([root.clone()]);
    let mut read = BTreeSet::new();
    while let Some(path) = waiting.pop_first() {
        if !read.insert(path.clone()) {
            continue;
        }
        let entry = archive.by_name(&path).map_err(|wrong| damaged(&path, &wrong.to_string()))?;
        let meter = Meter { inner: BufReader::with_capacity(1 << 16, entry), left: &left, since_event: 0 };
        let mut part = Part { path: &path, is_root: path == root, package: &mut package, elsewhere: &mut waiting };
        part.read(meter).map_err(|wrong| match wrong {
            Stop::Read(error) => error,
            Stop::Xml(quick_xml::Error::Io(io)) if io.get_ref().is_some_and(|e| e.is::<Bomb>()) => {
                ReadError::TooLarge {
                    format: Format::ThreeMf,
                    place: Place::Part(path.clone()),
                    what: "the unpacked parts",
                    limit: allowance,
                }
            }
            Stop::Xml(xml) => damaged(&path, &xml.to_string()),
        })?;
    }
    unfold(package, bytes.len() as u64 + allowance - left.get(), stem)
}

fn damaged(part: &str, found: &str) -> ReadError {
    ReadError::Unexpected {
        format: Format::ThreeMf,
        place: Place::Part(part.into()),
        expected: "a readable part of the archive".into(),
        found: found.into(),
    }
}

/// The path of the model part that the package's relationships start from.
fn root_part(archive: &mut ZipArchive<Cursor<&[u8]>>, left: &Cell<u64>) -> Result<String, ReadError> {
    const RELATIONSHIPS: &str = "_rels/.rels";
    if let Ok(entry) = archive.by_name(RELATIONSHIPS) {
        let meter = Meter { inner: BufReader::new(entry), left, since_event: 0 };
        let mut reader = Reader::from_reader(meter);
        let mut buffer = Vec::new();
        loop {
            buffer.clear();
            match reader.read_event_into(&mut buffer) {
                Ok(Event::Eof) => break,
                Ok(Event::Start(tag) | Event::Empty(tag)) if tag.local_name().as_ref() == "Relationship" => {
                    let text = |name| attribute(&tag, name).unwrap_or_default();
                    if text("Type").ends_with("/3dmodel") {
                        return Ok(text("Target").trim_start_matches('/').to_string());
                    }
                }
                Ok(_) => {}
                Err(wrong) => return Err(damaged(RELATIONSHIPS, &wrong.to_string())),
            }
            reader.get_mut().since_event = 0;
        }
    }
    let first = archive
        .file_names()
        .filter_map(|name| name.ok().map(|name| name.into_owned()))
        .filter(|name| name.to_ascii_lowercase().ends_with(".model"))
        .min();
    first.ok_or_else(|| damaged("the archive", "no model part"))
}

/// What a decompressor gives, as long as it stays within what is allowed.
struct Meter<'a, R> {
    inner: R,
    left: &'a Cell<u64>,
    since_event: u64,
}

/// The archive inflates out of proportion.
#[derive(Debug, thiserror::Error)]
#[error("inflates out of proportion")]
struct Bomb;

impl<R: BufRead> Read for Meter<'_, R> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        let n = self.fill_buf()?.read(out)?;
        self.consume(n);
        Ok(n)
    }
}

impl<R: BufRead> BufRead for Meter<'_, R> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if self.left.get() == 0 || self.since_event > LONGEST_TAG {
            return Err(std::io::Error::other(Bomb));
        }
        self.inner.fill_buf()
    }

    fn consume(&mut self, n: usize) {
        self.left.set(self.left.get().saturating_sub(n as u64));
        self.since_event += n as u64;
        self.inner.consume(n);
    }
}

/// Why reading a part stopped.
enum Stop {
    Xml(quick_xml::Error),
    Read(ReadError),
}

impl From<quick_xml::Error> for Stop {
    fn from(error: quick_xml::Error) -> Stop {
        Stop::Xml(error)
    }
}

impl From<ReadError> for Stop {
    fn from(error: ReadError) -> Stop {
        Stop::Read(error)
    }
}

/// A model part being read.
struct Part<'a> {
    path: &'a str,
    is_root: bool,
    package: &'a mut Package,
    elsewhere: &'a mut BTreeSet<String>,
}

impl Part<'_> {
    fn read<R: BufRead>(&mut self, meter: Meter<'_, R>) -> Result<(), Stop> {
        let mut reader = Reader::from_reader(meter);
        let mut buffer = Vec::with_capacity(1 << 10);
        let mut current: Option<(Key, Object)> = None;
        let mut group = 0;
        loop {
            buffer.clear();
            let event = reader.read_event_into(&mut buffer)?;
            let (path, at) = (self.path, reader.buffer_position());
            let place = || Place::Part(format!("{path} at byte {at}"));
            match event {
                Event::Eof => break,
                Event::Start(tag) | Event::Empty(tag) => match (tag.local_name().as_ref(), &mut current) {
                    ("vertex", Some((_, object))) => {
                        let [x, y, z] = numbers(&tag, ["x", "y", "z"], &place)?;
                        let nth = object.mesh.vertices.len() as u64 + 1;
                        object.mesh.vertices.push(checked(Format::ThreeMf, place, nth, DVec3::new(x, y, z))?);
                    }
                    ("triangle", Some((_, object))) => {
                        object.mesh.triangles.push(numbers(&tag, ["v1", "v2", "v3"], &place)?);
                        if !self.package.palette.is_empty() {
                            let hue = self.hue(&tag, object.own_paint, object.own_group.as_ref());
                            object.painted.push(hue);
                        }
                    }
                    ("component", Some((_, object))) => object.components.push(self.placed(&tag, &place)?),
                    ("basematerials" | "colorgroup", None) => {
                        [group] = numbers(&tag, ["id"], &place)?;
                    }
                    (kind @ ("base" | "color"), None) => {
                        let (name, colour) = if kind == "base" { ("name", "displaycolor") } else { ("", "color") };
                        let rgb = attribute(&tag, colour).and_then(|c| rgb_of(&c));
                        let hue = self.package.palette.number(attribute(&tag, name), rgb);
                        self.package.groups.entry((self.path.to_string(), group)).or_default().push(hue);
                    }
                    ("object", _) => {
                        let [id] = numbers(&tag, ["id"], &place)?;
                        let own_group = attribute(&tag, "pid");
                        let own_paint = self.grouped(own_group.clone(), attribute(&tag, "pindex"));
                        let kind = attribute(&tag, "type");
                        let object = Object {
                            name: attribute(&tag, "name").filter(|n| !n.trim().is_empty()),
                            printed: matches!(kind.as_deref(), None | Some("model" | "surface" | "solidsupport")),
                            mesh: Mesh::default(),
                            painted: vec![],
                            own_paint,
                            own_group,
                            components: vec![],
                        };
                        current = Some(((self.path.to_string(), id), object));
                    }
                    ("item", _) if self.is_root => {
                        let item = self.placed(&tag, &place)?;
                        self.package.items.push(item);
                    }
                    ("model", _) => self.unit(&tag, &place)?,
                    _ => {}
                },
                Event::End(tag) if tag.local_name().as_ref() == "object" => {
                    if let Some((key, object)) = current.take() {
                        check_corners(&object.mesh, &place)?;
                        if self.package.objects.insert(key.clone(), object).is_some() {
                            let id = key.1.to_string();
                            return Err(unexpected(place(), "each object number once", &id).into());
                        }
                        self.package.order.push(key);
                    }
                }
                _ => {}
            }
            reader.get_mut().since_event = 0;
        }
        if current.is_some() {
            return Err(damaged(self.path, "the end of the part inside an object").into());
        }
        Ok(())
    }

    /// The paint of a triangle: of most of its corners, or its object's. A corner's place (`p1`) is in the triangle's group or
    /// else in its object's (core specification 1.3, 4.1.4, from memory: either overrides what the object says for itself).
    fn hue(&self, tag: &BytesStart, own: u32, own_group: Option<&String>) -> u32 {
        let Some(group) = attribute(tag, "pid").or_else(|| own_group.cloned()) else { return own };
        let corner = |name| attribute(tag, name).map(|index| self.grouped(Some(group.clone()), Some(index)));
        let Some(first) = corner("p1") else { return own };
        most_of([first, corner("p2").unwrap_or(first), corner("p3").unwrap_or(first)])
    }

    /// A group's material or colour; none where there is no such thing.
    fn grouped(&self, group: Option<String>, index: Option<String>) -> u32 {
        let key = group.and_then(|g| g.trim().parse().ok()).map(|g| (self.path.to_string(), g));
        let hues = key.and_then(|key| self.package.groups.get(&key));
        let index = index.map_or(Some(0), |i| i.trim().parse::<usize>().ok());
        hues.zip(index).and_then(|(hues, index)| hues.get(index).copied()).unwrap_or(Paint::BARE)
    }

    fn unit(&mut self, tag: &BytesStart, place: &impl Fn() -> Place) -> Result<(), ReadError> {
        let unit_mm = match attribute(tag, "unit").as_deref() {
            None | Some("millimeter") => 1.0,
            Some("micron") => 0.001,
            Some("centimeter") => 10.0,
            Some("inch") => 25.4,
            Some("foot") => 304.8,
            Some("meter") => 1000.0,
            Some(other) => return Err(unexpected(place(), "a unit such as millimeter", other)),
        };
        match self.package.unit_mm {
            Some(known) if known != unit_mm => Err(ReadError::Unsupported {
                format: Format::ThreeMf,
                place: place(),
                what: "a package whose parts have different units".into(),
                advice: "export it in one unit",
            }),
            _ => {
                self.package.unit_mm = Some(unit_mm);
                Ok(())
            }
        }
    }

    /// The object that an item or a component places, and where.
    fn placed(&mut self, tag: &BytesStart, place: &impl Fn() -> Place) -> Result<Placed, ReadError> {
        let [id] = numbers(tag, ["objectid"], place)?;
        let path = match attribute(tag, "path") {
            Some(path) => {
                let path = path.trim_start_matches('/').to_string();
                self.elsewhere.insert(path.clone());
                path
            }
            None => self.path.to_string(),
        };
        let map = match attribute(tag, "transform") {
            Some(text) => affine(&text).ok_or_else(|| unexpected(place(), "a transform of twelve numbers", &text))?,
            None => DAffine3::IDENTITY,
        };
        Ok(Placed { key: (path, id), map })
    }
}

fn unexpected(place: Place, expected: &str, found: &str) -> ReadError {
    let found = super::error::shown(found.as_bytes());
    ReadError::Unexpected { format: Format::ThreeMf, place, expected: expected.into(), found }
}

/// An attribute by its name without prefix, with entities resolved.
fn attribute(tag: &BytesStart, name: &str) -> Option<String> {
    let found = tag.attributes().with_checks(false).flatten().find(|a| a.key.local_name().as_ref() == name)?;
    quick_xml::escape::unescape(&found.value).ok().map(|text| text.into_owned())
}

/// Attributes that are numbers, all of which must be there.
fn numbers<T: std::str::FromStr + Default + Copy, const N: usize>(
    tag: &BytesStart,
    names: [&str; N],
    place: &impl Fn() -> Place,
) -> Result<[T; N], ReadError> {
    let mut values = [None; N];
    for found in tag.attributes().with_checks(false) {
        let found = found.map_err(|wrong| unexpected(place(), "attributes", &wrong.to_string()))?;
        if let Some(k) = names.iter().position(|name| *name == found.key.as_ref()) {
            let text = found.value.trim();
            let text = text.strip_prefix('+').unwrap_or(text);
            values[k] = Some(text.parse().map_err(|_| unexpected(place(), "a number", text))?);
        }
    }
    let mut all = [T::default(); N];
    for ((value, slot), name) in values.into_iter().zip(&mut all).zip(names) {
        let missing = || unexpected(place(), &format!("the attribute {name}"), "");
        *slot = value.ok_or_else(missing)?;
    }
    Ok(all)
}

/// Twelve numbers, row after row of a matrix that rows of coordinates are multiplied with from the left: three rows of
/// three, then the shift. glam's columns are those rows.
fn affine(text: &str) -> Option<DAffine3> {
    let numbers: Vec<f64> = text.split_ascii_whitespace().map(|w| w.parse().ok()).collect::<Option<_>>()?;
    let numbers: [f64; 12] = numbers.try_into().ok()?;
    numbers.iter().all(|n| n.is_finite()).then(|| DAffine3::from_cols_array(&numbers))
}

fn check_corners(mesh: &Mesh, place: &impl Fn() -> Place) -> Result<(), ReadError> {
    let count = mesh.vertices.len() as u64;
    match mesh.triangles.iter().flatten().find(|v| u64::from(**v) >= count) {
        None => Ok(()),
        Some(v) => {
            Err(ReadError::NoSuchVertex { format: Format::ThreeMf, place: place(), index: i64::from(*v), count })
        }
    }
}

/// Follows items and components down to the meshes.
fn unfold(package: Package, unpacked: u64, stem: &str) -> Result<Shape, ReadError> {
    let mut shape = Shape { unit_mm: Some(package.unit_mm.unwrap_or(1.0)), ..Shape::default() };
    let budget = Budget::new(Format::ThreeMf, unpacked);
    let mut package = package;
    let hues = std::mem::take(&mut package.palette).hues();
    let mut walk = Unfold { package: &package, hues, budget, shape: &mut shape, stem, supports: 0 };
    for item in &package.items {
        walk.object(&item.key, &item.map, None, 0)?;
    }
    if package.items.is_empty() {
        let used: BTreeSet<&Key> = package.objects.values().flat_map(|o| &o.components).map(|c| &c.key).collect();
        for key in package.order.iter().filter(|key| !used.contains(key)) {
            walk.object(key, &DAffine3::IDENTITY, None, 0)?;
        }
    }
    let supports = walk.supports;
    if supports > 0 {
        shape.notes.push(format!("{supports} objects are support and were passed over"));
    }
    if package.items.is_empty() {
        shape.notes.push("no build items: every object taken where it was drawn".into());
    }
    Ok(shape)
}

struct Unfold<'a> {
    package: &'a Package,
    hues: std::sync::Arc<Vec<super::Hue>>,
    budget: Budget,
    shape: &'a mut Shape,
    stem: &'a str,
    supports: usize,
}

impl Unfold<'_> {
    fn object(&mut self, key: &Key, map: &DAffine3, assembly: Option<&str>, depth: usize) -> Result<(), ReadError> {
        let place = || Place::Part(format!("{}, object {}", key.0, key.1));
        let package = self.package;
        let object = package.objects.get(key).ok_or_else(|| unexpected(place(), "an object of this number", ""))?;
        if depth > DEEPEST {
            return Err(unexpected(place(), "components at most 64 deep", "a deeper or endless nesting"));
        }
        let name = object.name.as_deref().or(assembly);
        self.budget.spend(VISIT + object.mesh.vertices.len().max(object.mesh.triangles.len()), place)?;
        if !object.printed {
            self.supports += 1;
        } else if !object.mesh.is_empty() {
            let mesh = object.mesh.transformed(map);
            for (nth, point) in mesh.vertices.iter().enumerate() {
                checked(Format::ThreeMf, place, nth as u64 + 1, *point)?;
            }
            let mut of = object.painted.clone();
            of.resize(mesh.triangles.len(), object.own_paint);
            let paint = paint(&self.hues, of);
            self.shape.bodies.push(NamedMesh { name: name.unwrap_or(self.stem).into(), mesh, paint });
        }
        for component in &object.components {
            self.object(&component.key, &(*map * component.map), name, depth + 1)?;
        }
        Ok(())
    }
}
