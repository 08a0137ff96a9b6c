//! Where things are drawn on a sheet, so that a part of it can be shown without the rest.

use crate::labels::{BOLD, text_width};
use crate::svg::Anchor;
use solid::DVec2;

/// Boxes that an element of a drawing lies in.
#[derive(Clone)]
pub(crate) struct Reach(Vec<[DVec2; 2]>);

/// Points of a line that share one box.
const TOGETHER: usize = 8;
/// Half the thickest line, mm.
const LINE_MM: f64 = 0.3;

impl Reach {
    /// Of a line through points.
    pub(crate) fn along(points: &[DVec2]) -> Reach {
        Reach::of_lines(&[points.to_vec()], false)
    }

    /// Of several lines, closed or not.
    pub(crate) fn of_lines(lines: &[Vec<DVec2>], closed: bool) -> Reach {
        let mut boxes = Vec::new();
        for line in lines {
            let mut points = line.clone();
            points.extend(line.first().filter(|_| closed));
            let mut from = 0;
            while from + 1 < points.len() {
                let to = (from + TOGETHER).min(points.len() - 1);
                let first = [points[from]; 2];
                boxes.push(points[from..=to].iter().fold(first, |[l, h], p| [l.min(*p), h.max(*p)]));
                from = to;
            }
        }
        Reach(boxes)
    }

    pub(crate) fn of_box(low: DVec2, high: DVec2) -> Reach {
        Reach(vec![[low, high]])
    }

    /// Of a text with letters of a height, mm, a little generously.
    pub(crate) fn of_text(at: DVec2, anchor: Anchor, text: &str, letter: f64, upwards: bool) -> Reach {
        let long = text_width(text, letter) * BOLD;
        let start = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -0.5 * long,
            Anchor::End => -long,
        };
        let (a, b) = if upwards {
            (at + DVec2::new(-letter * 1.3, -start - long), at + DVec2::new(letter * 0.4, -start))
        } else {
            (at + DVec2::new(start, -letter * 1.3), at + DVec2::new(start + long, letter * 0.4))
        };
        Reach::of_box(a, b)
    }

    /// Whether any of it lies within a box.
    pub(crate) fn meets(&self, low: DVec2, high: DVec2) -> bool {
        let line = DVec2::splat(LINE_MM);
        self.0.iter().any(|[l, h]| (*l - line).cmple(high).all() && (*h + line).cmpge(low).all())
    }
}

/// The elements of a body that lie within a box, in their groups; groups that come out empty are left out. `reaches` are those
/// of the elements, each of which stands on a line of its own, in their order.
pub(crate) fn shown(body: &str, reaches: &[Reach], low: DVec2, high: DVec2) -> String {
    let mut next = reaches.iter();
    let mut open: Vec<&str> = Vec::new();
    // How many of the open groups are written.
    let mut written = 0;
    let mut out = String::new();
    for line in body.lines() {
        if line.starts_with("<g ") {
            open.push(line);
        } else if line == "</g>" {
            open.pop();
            if written > open.len() {
                written = open.len();
                out.push_str("</g>\n");
            }
        } else if next.next().is_none_or(|r| r.meets(low, high)) {
            for group in &open[written..] {
                out.push_str(group);
                out.push('\n');
            }
            written = open.len();
            out.push_str(line);
            out.push('\n');
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::svg::Drawing;

    #[test]
    fn only_what_lies_there_is_shown_and_groups_close() {
        let mut d = Drawing::new("x", "t".into(), "d".into());
        d.begin("left", "Left");
        d.line("thin", DVec2::ZERO, DVec2::new(10.0, 0.0));
        d.begin("inner", "Inner");
        d.circle("thin", DVec2::new(90.0, 5.0), 2.0);
        d.end();
        d.end();
        d.begin("right", "Right");
        d.text("", DVec2::new(95.0, 5.0), Anchor::End, "word");
        // Points left and right of the box: the line between them passes through it.
        d.outlines("thick", [vec![DVec2::new(40.0, -5.0), DVec2::new(60.0, 5.0), DVec2::new(60.0, -5.0)]]);
        d.end();
        let sheet = d.finish(DVec2::new(100.0, 10.0));
        let mut page = Drawing::new("p", "t".into(), "d".into());
        page.window("w", &sheet, [DVec2::new(45.0, 0.0), DVec2::new(55.0, 10.0)], DVec2::new(7.0, 8.0));
        let file = page.finish(DVec2::splat(30.0)).to_file();
        assert!(file.contains("<path") && !file.contains("<line") && !file.contains("word") && !file.contains("left"));
        assert!(file.contains("translate(-38 8)"));
        assert_eq!(file.matches("<g ").count(), file.matches("</g>").count());
        assert!(sheet.draws_in(DVec2::ZERO, DVec2::splat(1.0)));
        assert!(!sheet.draws_in(DVec2::new(20.0, 0.0), DVec2::new(30.0, 10.0)));
        assert!(sheet.draws_in(DVec2::new(85.0, 3.0), DVec2::new(86.0, 4.0)), "the text reaches back");
    }
}
