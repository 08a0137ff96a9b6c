//! What a reader of drawings would pass over in silence: looked for beforehand, so that no outline is lost or shortened.

use crate::drawing::DrawingError;
use std::str::FromStr;
use svgtypes::{Length, PathParser, PathSegment, PointsParser, Transform};
use usvg::roxmltree::{Document, Node};

/// Larger numbers are no place on a drawing of something that is carried.
const MOST: f64 = 1e6;
/// Elements within elements, no deeper.
const DEEPEST: usize = 200;
const SVG: &str = "http://www.w3.org/2000/svg";

/// Whether everything drawn can be read to its end.
///
/// # Errors
/// The first element that is no outline, or value that can't be read, with its place.
pub(crate) fn legible(document: &Document) -> Result<(), DrawingError> {
    for node in document.descendants().filter(Node::is_element) {
        if node.ancestors().take(DEEPEST + 1).count() > DEEPEST {
            return Err(fault(document, node, "place", &format!("lies in more than {DEEPEST} groups: ungroup it")));
        }
        if node.tag_name().namespace().is_some_and(|space| space != SVG) {
            continue;
        }
        no_picture(document, node)?;
        for attribute in node.attributes().filter(|a| a.namespace().is_none()) {
            if let Err(reason) = value(node.tag_name().name(), attribute.name(), attribute.value()) {
                return Err(fault(document, node, attribute.name(), &reason));
            }
        }
    }
    Ok(())
}

fn no_picture(document: &Document, node: Node) -> Result<(), DrawingError> {
    let way_out = match node.tag_name().name() {
        "text" => "turn the text into paths, or remove it",
        "image" => "draw over the picture, then remove it",
        "foreignObject" => "remove it",
        _ => return Ok(()),
    };
    let at = document.text_pos_at(node.range().start);
    let element = node.tag_name().name().to_owned();
    Err(DrawingError::Element { element, line: at.row, column: at.col, way_out })
}

fn fault(document: &Document, node: Node, attribute: &str, reason: &str) -> DrawingError {
    let at = document.text_pos_at(node.range().start);
    DrawingError::Value {
        element: node.tag_name().name().to_owned(),
        attribute: attribute.to_owned(),
        reason: reason.to_owned(),
        line: at.row,
        column: at.col,
    }
}

fn value(element: &str, attribute: &str, text: &str) -> Result<(), String> {
    match (element, attribute) {
        ("path", "d") => path(text),
        ("polygon" | "polyline", "points") => {
            let points: Vec<(f64, f64)> = PointsParser::from(text).collect();
            // The parser ends at what it can't read.
            let numbers = text.split([',', ' ', '\t', '\n', '\r']).filter(|word| !word.is_empty());
            if let Some(word) = numbers.clone().find(|word| word.parse::<f64>().is_ok_and(|n| !n.is_finite())) {
                return Err(format!("has {word:?} where a number is needed"));
            }
            if numbers.clone().all(|word| word.parse::<f64>().is_ok()) && numbers.count() != 2 * points.len() {
                return Err("has a point without its second number: mend or remove it".to_owned());
            }
            match points.len() {
                0..3 => Err(format!("has {} points, and an outline takes three: mend or remove it", points.len())),
                _ => within(points.iter().flat_map(|p| [p.0, p.1])),
            }
        }
        (_, "transform") => match Transform::from_str(text) {
            Ok(t) => within([t.a, t.b, t.c, t.d, t.e, t.f]),
            Err(e) => Err(format!("cannot be read: {e}")),
        },
        ("rect", "width" | "height") | ("circle", "r") | ("ellipse", "rx" | "ry") => match length(text)? {
            size if size > 0.0 => Ok(()),
            size => Err(format!("is {size}, so nothing is drawn: mend or remove it")),
        },
        ("rect", "x" | "y") | ("circle" | "ellipse", "cx" | "cy") | ("svg", "width" | "height") => {
            length(text).map(|_| ())
        }
        _ => Ok(()),
    }
}

fn length(text: &str) -> Result<f64, String> {
    let length = Length::from_str(text).map_err(|e| format!("is {text:?}, no length: {e}"))?;
    within([length.number]).map(|()| length.number)
}

fn within(numbers: impl IntoIterator<Item = f64>) -> Result<(), String> {
    match numbers.into_iter().find(|n| !n.is_finite() || n.abs() > MOST) {
        Some(number) => Err(format!("has the number {number}, beyond {MOST}: no place on a drawing")),
        None => Ok(()),
    }
}

fn path(text: &str) -> Result<(), String> {
    let mut leads_somewhere = text.trim().is_empty();
    for (k, segment) in PathParser::from(text).enumerate() {
        let segment = segment.map_err(|e| format!("cannot be read beyond its step {}: {e}", k + 1))?;
        use PathSegment::*;
        match segment {
            MoveTo { x, y, .. } | LineTo { x, y, .. } | SmoothQuadratic { x, y, .. } => within([x, y])?,
            HorizontalLineTo { x: n, .. } | VerticalLineTo { y: n, .. } => within([n])?,
            CurveTo { x1, y1, x2, y2, x, y, .. } => within([x1, y1, x2, y2, x, y])?,
            SmoothCurveTo { x2: a, y2: b, x, y, .. } | Quadratic { x1: a, y1: b, x, y, .. } => within([a, b, x, y])?,
            EllipticalArc { rx, ry, x, y, .. } => within([rx, ry, x, y])?,
            ClosePath { .. } => {}
        }
        leads_somewhere |= !matches!(segment, MoveTo { .. } | ClosePath { .. });
    }
    if leads_somewhere { Ok(()) } else { Err("has one point and leads nowhere: remove it".to_owned()) }
}

#[cfg(test)]
mod tests {
    use crate::{Butt, CrossSection, Depth, Layout, drawn, rings};

    #[track_caller]
    fn refused(inside: &str, words: &str) {
        let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 99 99\">\n  {inside}\n</svg>");
        let said = drawn(&svg).map_err(|e| e.to_string()).expect_err(inside);
        assert!(said.starts_with("line 2, column 3: ") && said.contains(words), "{inside}: {said}");
    }

    #[test]
    fn what_would_be_passed_over_is_refused_with_its_place() {
        refused(r#"<path d="M 5 5"/>"#, "d of <path> has one point");
        refused(r#"<path d="M 5 5 Z"/>"#, "one point");
        refused(r#"<path d="M0 0 L9 0 L9 9 Z L NaN 7"/>"#, "cannot be read beyond its step");
        refused(r#"<path d="M0 0 L9 0 L9 inf Z"/>"#, "cannot be read");
        refused(r#"<path d="M0 0 L1e30 0 L9 9 Z"/>"#, "beyond 1000000");
        refused(r#"<polygon points="0,0 9,0 9"/>"#, "second number");
        refused(r#"<polygon points="0,0 9,0 NaN,4 3,3"/>"#, "NaN");
        refused(r#"<polygon points="0,0 9,0"/>"#, "2 points");
        refused(r#"<rect width="NaN" height="4"/>"#, "no length");
        refused(r#"<rect width="0" height="4"/>"#, "nothing is drawn");
        refused(r#"<circle r="-3"/>"#, "nothing is drawn");
        refused(r#"<g transform="scale(1e20)"><rect width="1" height="1"/></g>"#, "beyond");
        refused(r#"<g transform="turn(3)"><rect width="1" height="1"/></g>"#, "transform of <g> cannot be read");
    }

    #[test]
    fn broken_files_are_refused_without_a_crash() {
        let leaf = r#"<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 9C20 0 40 0 60 9 40 20 20 20 0 9Z"/></svg>"#;
        assert!(drawn(leaf).is_ok());
        // Whatever is cut off its end, the file is refused and nothing panics.
        for end in (0..leaf.len()).filter(|k| leaf.is_char_boundary(*k)) {
            assert!(drawn(&leaf[..end]).is_err(), "{end}");
        }
        // With any one letter made another it is refused or becomes a surface of numbers; nothing panics.
        let mut taken = 0;
        for (k, letter) in (0..leaf.len()).flat_map(|k| "<>\"/&0-.eMCZ ".chars().map(move |l| (k, l))) {
            let changed: String = leaf.chars().enumerate().map(|(at, c)| if at == k { letter } else { c }).collect();
            let made = drawn(&changed).ok().and_then(|outlines| {
                let layout = Layout::of(&outlines, Butt::Left, Some(300.0)).ok()?;
                let span = layout.span(&outlines[0]).ok()?;
                rings(&span, &Depth::AtMost(9.0), &CrossSection::Lens, 20.0).ok()
            });
            if let Some(rings) = made {
                assert!(rings.len() > 1 && rings.iter().flatten().all(|p| p.is_finite()), "{changed}");
                taken += 1;
            }
        }
        assert!(taken > 100, "{taken}");
        let deep = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\">{}{}</svg>",
            "<g>".repeat(60_000),
            "</g>".repeat(60_000)
        );
        assert!(drawn(&deep).is_err());
        // Namesakes of other languages are none of ours.
        let foreign = leaf.replace("<path", "<text xmlns=\"urn:notes\">leaf</text><path");
        assert!(drawn(&foreign).is_ok());
    }
}
