//! What faces are painted with: names and colours that some formats keep.

use crate::Mesh;
use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

/// A material or colour of a file.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Hue {
    /// By the name of a material.
    Name(String),
    /// By its colour, red, green, blue, sRGB.
    Rgb([u8; 3]),
    /// By both.
    Both(String, [u8; 3]),
}

impl Hue {
    fn new(name: Option<String>, rgb: Option<[u8; 3]>) -> Option<Hue> {
        let name = name.map(|n| n.trim().to_owned()).filter(|n| !n.is_empty());
        match (name, rgb) {
            (Some(name), Some(rgb)) => Some(Hue::Both(name, rgb)),
            (Some(name), None) => Some(Hue::Name(name)),
            (None, Some(rgb)) => Some(Hue::Rgb(rgb)),
            (None, None) => None,
        }
    }

    /// Whether a maker who writes `word` means this: the material's name, whatever its case, or its colour as `#rrggbb`.
    ///
    /// ```
    /// use solid::read::Hue;
    /// let gold = Hue::Both("Old gold".to_owned(), [0xd4, 0xaf, 0x37]);
    /// assert!(gold.is("old gold") && gold.is("#D4AF37") && !gold.is("#d4af38"));
    /// ```
    pub fn is(&self, word: &str) -> bool {
        let (name, rgb) = match self {
            Hue::Name(name) => (Some(name), None),
            Hue::Rgb(rgb) => (None, Some(rgb)),
            Hue::Both(name, rgb) => (Some(name), Some(rgb)),
        };
        name.is_some_and(|n| n.to_lowercase() == word.trim().to_lowercase())
            || rgb.is_some_and(|rgb| rgb_of(word) == Some(*rgb))
    }
}

impl fmt::Display for Hue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Hue::Name(name) => write!(f, "{name}"),
            Hue::Rgb([r, g, b]) => write!(f, "#{r:02x}{g:02x}{b:02x}"),
            Hue::Both(name, [r, g, b]) => write!(f, "{name} (#{r:02x}{g:02x}{b:02x})"),
        }
    }
}

/// The colour that `#rrggbb` or `#rrggbbaa` stands for.
pub(super) fn rgb_of(word: &str) -> Option<[u8; 3]> {
    let digits = word.trim().strip_prefix('#')?;
    if !(digits.len() == 6 || digits.len() == 8) || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let of = |k: usize| u8::from_str_radix(&digits[2 * k..2 * k + 2], 16).ok();
    Some([of(0)?, of(1)?, of(2)?])
}

/// What the triangles of a mesh are painted with.
#[derive(Clone, Debug, PartialEq)]
pub struct Paint {
    /// The file's materials and colours.
    pub hues: Arc<Vec<Hue>>,
    /// Per triangle, which of them; [`Paint::BARE`] for none.
    pub of: Vec<u32>,
}

impl Paint {
    /// Stands for no paint.
    pub const BARE: u32 = u32::MAX;
}

/// Materials and colours as they are met, each once.
#[derive(Default)]
pub(super) struct Palette {
    known: HashMap<Hue, u32>,
    hues: Vec<Hue>,
}

impl Palette {
    /// The number of a material or colour; `BARE` without either.
    pub(super) fn number(&mut self, name: Option<String>, rgb: Option<[u8; 3]>) -> u32 {
        let Some(hue) = Hue::new(name, rgb) else { return Paint::BARE };
        let next = self.hues.len() as u32;
        *self.known.entry(hue).or_insert_with_key(|hue| {
            self.hues.push(hue.clone());
            next
        })
    }

    pub(super) fn is_empty(&self) -> bool {
        self.hues.is_empty()
    }

    pub(super) fn hues(self) -> Arc<Vec<Hue>> {
        Arc::new(self.hues)
    }
}

/// The paint of triangles, if any of them is painted.
pub(super) fn paint(hues: &Arc<Vec<Hue>>, of: Vec<u32>) -> Option<Paint> {
    of.iter().any(|k| *k != Paint::BARE).then(|| Paint { hues: hues.clone(), of })
}

/// Paint of a mesh whose file says the colours of faces or of corners, by number in the palette; empty where it says none.
#[derive(Default)]
pub(super) struct Colours {
    pub(super) palette: Palette,
    pub(super) vertices: Vec<u32>,
    pub(super) triangles: Vec<u32>,
}

impl Colours {
    /// The paint of a mesh: of its faces, or else of their corners.
    pub(super) fn paint(mut self, mesh: &Mesh) -> Option<Paint> {
        if self.triangles.is_empty() && !self.vertices.is_empty() {
            let corner = |v: u32| self.vertices.get(v as usize).copied().unwrap_or(Paint::BARE);
            self.triangles = mesh.triangles.iter().map(|t| most_of(t.map(corner))).collect();
        }
        self.triangles.resize(mesh.triangles.len(), Paint::BARE);
        paint(&self.palette.hues(), self.triangles)
    }
}

/// A triangle's paint from its corners': what two of them share, or else the first's.
pub(super) fn most_of([a, b, c]: [u32; 3]) -> u32 {
    if b == c { b } else { a }
}
