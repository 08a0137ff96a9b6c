//! The closed outlines of a drawing.

use crate::legible::legible;
use crate::span::{Fault, crossing};
use glam::DVec2;
use thiserror::Error;
use usvg::tiny_skia_path::PathSegment;
use usvg::{Group, Node, Options, Tree, roxmltree};

/// Millimetres of a CSS pixel: 96 to the inch (SVG 2, section 8.9, and CSS Values 4).
const MM: f64 = 25.4 / 96.0;
/// Curves are followed as closely as this share of what is drawn: 0.015 mm on a prop of 1.5 m, however small it is drawn.
const CHORD_SHARE: f64 = 1e-5;
/// A path whose ends are as near as this share of what is drawn is meant as closed.
const CLOSED_SHARE: f64 = 1e-5;
/// No outline needs more points.
const MOST_POINTS: usize = 20_000;
/// No drawing of a prop needs more elements, texts and remarks.
const MOST_NODES: u32 = 200_000;

/// A closed outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Its id in the drawing, or `outline N`.
    pub name: String,
    /// Its corners, mm, y up; the last is joined to the first.
    pub points: Vec<DVec2>,
}

/// What of a drawing cannot be used. Places are mm from the left and the top of the drawing.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum DrawingError {
    /// No SVG.
    #[error("this is no SVG drawing: {reason}")]
    Unreadable {
        /// What the reader said.
        reason: String,
    },
    /// Text or a picture.
    #[error("line {line}, column {column}: <{element}> is no outline; {way_out}")]
    Element {
        /// Name of the element.
        element: String,
        /// Line in the file, from 1.
        line: u32,
        /// Column, from 1.
        column: u32,
        /// What to do.
        way_out: &'static str,
    },
    /// A value that a reader of drawings would pass over in silence.
    #[error("line {line}, column {column}: {attribute} of <{element}> {reason}")]
    Value {
        /// Name of the element.
        element: String,
        /// Name of the attribute.
        attribute: String,
        /// What is wrong with it, and the way out.
        reason: String,
        /// Line in the file, from 1.
        line: u32,
        /// Column, from 1.
        column: u32,
    },
    /// Clipped or masked: what is seen is not what is drawn.
    #[error("a clip or mask hides part of what is drawn: release it, so that the outline is what is seen")]
    Clipped,
    /// Nothing is drawn.
    #[error("nothing is drawn: an outline is a closed path with a fill or a stroke")]
    Empty,
    /// A path without an end.
    #[error("{name} is open between ({:.1}, {:.1}) and ({:.1}, {:.1}) mm: close the path", ends_mm[0][0], ends_mm[0][1], ends_mm[1][0], ends_mm[1][1])]
    Open {
        /// Which.
        name: String,
        /// Where it ends and begins.
        ends_mm: [[f64; 2]; 2],
    },
    /// More than one ring in a path.
    #[error("{name} has {count} rings: an outline has one; holes and islands belong into paths of their own")]
    Rings {
        /// Which.
        name: String,
        /// How many.
        count: usize,
    },
    /// Two with the same name.
    #[error("two outlines are called {name}")]
    Twice {
        /// The name.
        name: String,
    },
    /// Endless detail.
    #[error("{name} has more than {MOST_POINTS} points: simplify it")]
    TooFine {
        /// Which.
        name: String,
    },
    /// Its form.
    #[error("{name} {fault}")]
    Form {
        /// Which.
        name: String,
        /// What is wrong with it.
        fault: Fault,
    },
}

/// Reads the outlines of an SVG drawing in their order: every filled or stroked path and basic shape, with transforms and
/// units (lengths without a unit are CSS pixels, 96 to the inch, unless the drawing states its size). None crosses itself.
///
/// # Errors
/// [`DrawingError`]: no SVG, text or bitmaps in it, values that can't be read, open paths, crossings, nothing drawn.
pub fn drawn(svg: &str) -> Result<Vec<Drawn>, DrawingError> {
    let unreadable = |reason: String| DrawingError::Unreadable { reason };
    let options = roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(svg, options).map_err(|e| unreadable(e.to_string()))?;
    legible(&document)?;
    let tree = Tree::from_xmltree(&document, &Options::default()).map_err(|e| unreadable(e.to_string()))?;
    let mut found = Vec::new();
    let seen = tree.root().abs_bounding_box();
    let extent_mm = f64::from(seen.width().max(seen.height())) * MM;
    collect(tree.root(), extent_mm, &mut found)?;
    if found.is_empty() {
        return Err(DrawingError::Empty);
    }
    let mut names: Vec<&str> = found.iter().map(|d| d.name.as_str()).collect();
    names.sort_unstable();
    match names.windows(2).find(|w| w[0] == w[1]) {
        Some(pair) => Err(DrawingError::Twice { name: pair[0].to_owned() }),
        None => Ok(found),
    }
}

fn collect(group: &Group, extent_mm: f64, found: &mut Vec<Drawn>) -> Result<(), DrawingError> {
    if group.clip_path().is_some() || group.mask().is_some() {
        return Err(DrawingError::Clipped);
    }
    for node in group.children() {
        match node {
            Node::Group(inner) => collect(inner, extent_mm, found)?,
            Node::Path(path) if path.is_visible() => {
                let name = match path.id() {
                    "" => format!("outline {}", found.len() + 1),
                    id => id.to_owned(),
                };
                let points = followed(path, &name, extent_mm)?;
                found.push(Drawn { name, points });
            }
            _ => {}
        }
    }
    Ok(())
}

/// The one ring of a path, flattened.
fn followed(path: &usvg::Path, name: &str, extent_mm: f64) -> Result<Vec<DVec2>, DrawingError> {
    let (chord_mm, closed_mm) = (CHORD_SHARE * extent_mm, CLOSED_SHARE * extent_mm);
    let to = path.abs_transform();
    let place = |p: usvg::tiny_skia_path::Point| {
        let (x, y) = (f64::from(p.x), f64::from(p.y));
        let turned = DVec2::new(
            f64::from(to.sx) * x + f64::from(to.kx) * y + f64::from(to.tx),
            f64::from(to.ky) * x + f64::from(to.sy) * y + f64::from(to.ty),
        );
        DVec2::new(turned.x, -turned.y) * MM
    };
    let mut points: Vec<DVec2> = Vec::new();
    let mut rings = 0;
    for segment in path.data().segments() {
        let from = points.last().copied().unwrap_or_default();
        match segment {
            PathSegment::MoveTo(p) => {
                rings += 1;
                points.push(place(p));
            }
            PathSegment::LineTo(p) => points.push(place(p)),
            PathSegment::QuadTo(a, p) => {
                let (a, end) = (place(a), place(p));
                bend(&mut points, chord_mm, [from, from.lerp(a, 2.0 / 3.0), end.lerp(a, 2.0 / 3.0), end]);
            }
            PathSegment::CubicTo(a, b, p) => bend(&mut points, chord_mm, [from, place(a), place(b), place(p)]),
            PathSegment::Close => {
                let first = points.first().copied().unwrap_or_default();
                points.push(first);
            }
        }
        if points.len() > MOST_POINTS {
            return Err(DrawingError::TooFine { name: name.to_owned() });
        }
    }
    if rings != 1 {
        return Err(DrawingError::Rings { name: name.to_owned(), count: rings });
    }
    let form = |fault: Fault| fault.of(name);
    if !points.iter().all(|p| p.is_finite()) {
        return Err(form(Fault::NotFinite));
    }
    if let (Some(first), Some(last)) = (points.first().copied(), points.last().copied())
        && first.distance(last) > closed_mm
    {
        let ends_mm = [last, first].map(|p| [p.x, -p.y]);
        return Err(DrawingError::Open { name: name.to_owned(), ends_mm });
    }
    points.dedup_by(|b, a| b.distance(*a) <= closed_mm);
    while points.len() > 1 && points[0].distance(points[points.len() - 1]) <= closed_mm {
        points.pop();
    }
    crossing(&points).map_err(form)?;
    Ok(points)
}

/// A cubic Bézier curve in equal steps of its parameter. A chord of one step strays by at most an eighth of the largest
/// second derivative times the step squared.
fn bend(points: &mut Vec<DVec2>, chord_mm: f64, [a, b, c, d]: [DVec2; 4]) {
    let second = 6.0 * (a - 2.0 * b + c).length().max((b - 2.0 * c + d).length());
    let steps = libm::ceil((second / (8.0 * chord_mm)).sqrt()).clamp(1.0, 2000.0) as u32;
    for k in 1..=steps {
        let t = f64::from(k) / f64::from(steps);
        let u = 1.0 - t;
        points.push(a * (u * u * u) + b * (3.0 * u * u * t) + c * (3.0 * u * t * t) + d * (t * t * t));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn svg(inside: &str) -> String {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 200 100">{inside}</svg>"#
        )
    }

    #[test]
    fn units_transforms_and_shapes_are_followed() -> Result<(), DrawingError> {
        let drawing = svg(r#"<g transform="translate(20 10) scale(2)"><rect id="a" width="30" height="10"/></g>"#);
        let found = drawn(&drawing)?;
        assert_eq!((found.len(), found[0].name.as_str()), (1, "a"));
        // Half a millimetre to the unit: from (10, 5) to (40, 15) mm.
        let [low, high] = [DVec2::new(10.0, -15.0), DVec2::new(40.0, -5.0)];
        let (min, max) = found[0].points.iter().fold((DVec2::MAX, DVec2::MIN), |(a, b), p| (a.min(*p), b.max(*p)));
        assert!(min.distance(low) < 1e-4 && max.distance(high) < 1e-4, "{min} {max}");
        Ok(())
    }

    #[test]
    fn curves_are_kept_as_closely_as_stated() -> Result<(), DrawingError> {
        let found = drawn(&svg(r#"<circle cx="100" cy="50" r="40"/>"#))?;
        for pair in found[0].points.windows(2) {
            let off = (pair[0].lerp(pair[1], 0.5) - DVec2::new(50.0, -25.0)).length();
            // Four Bézier arcs stand for a circle to 0.03 % of its radius.
            assert!((off - 20.0).abs() < CHORD_SHARE * 40.0 + 20.0 * 0.0003, "{off}");
        }
        Ok(())
    }

    #[test]
    fn places_are_those_of_the_drawing() {
        // The sides cross in the middle of (10, 10) to (90, 30), half a millimetre to the unit.
        let error = drawn(&svg(r#"<path id="bow" d="M10 10 L90 30 L90 10 L10 30 Z"/>"#)).map_err(|e| e.to_string());
        assert_eq!(error.unwrap_err(), "bow crosses itself at (25.0, 10.0) mm");
    }

    #[test]
    fn what_is_no_outline_is_refused_with_its_place() {
        let said = |inside: &str| drawn(&svg(inside)).map_err(|e| e.to_string());
        let error = said("\n  <text x=\"1\" y=\"9\">blade</text>").unwrap_err();
        assert!(error.starts_with("line 2, column 3: <text>"), "{error}");
        let error = said(r#"<image href="x.png"/>"#).unwrap_err();
        assert!(error.contains("draw over the picture"), "{error}");
        let error = said(r#"<path id="hook" fill="none" stroke="black" d="M0 0 L100 0 L100 50"/>"#).unwrap_err();
        assert_eq!(error, "hook is open between (50.0, 25.0) and (0.0, 0.0) mm: close the path");
        let error = said(r#"<path id="two" d="M0 0H9V9Z M20 0H29V9Z"/>"#).unwrap_err();
        assert!(error.contains("2 rings"), "{error}");
        let error = said(r#"<polyline points="0,0 9,0 9,9" stroke="red" fill="none"/>"#).unwrap_err();
        assert!(error.starts_with("outline 1 is open"), "{error}");
        let error = said(
            r#"<clipPath id="c"><rect width="9" height="9"/></clipPath><rect width="20" height="9" clip-path="url(#c)"/>"#,
        );
        assert!(error.unwrap_err().contains("release it"));
        let error = said(r#"<rect id="a" width="9" height="9"/><g><rect id="b" width="9" height="9"/></g>"#);
        assert_eq!(error.map(|found| found.len()), Ok(2));
        assert!(said("").unwrap_err().contains("nothing is drawn"));
        assert!(matches!(drawn("no drawing"), Err(DrawingError::Unreadable { .. })));
        assert!(matches!(drawn(""), Err(DrawingError::Unreadable { .. })));
    }
}
