//! The tables of pieces and joints.

use crate::html::{escape, link};
use crate::view::role;
use crate::words::{self, short, with_unit};
use prop::outcome::{Joint, JointKind, Outcome, Piece, Pose};
use prop::project::Side;

const COLUMNS: [&str; 11] = [
    "Piece",
    "Picture",
    "Body",
    "Printer",
    "Stands",
    "Stations",
    "Size as it prints",
    "Mass",
    "Time",
    "Material",
    "Files",
];

/// The section with the table of pieces. On a narrow screen each row becomes a card; the roles keep it a table for readers
/// that speak it.
pub(crate) fn section(out: &mut String, outcome: &Outcome) {
    out.push_str("<section id=\"pieces\">\n<h2>Pieces</h2>\n");
    if outcome.pieces.is_empty() {
        out.push_str("<p>There is no piece.</p>\n</section>\n");
        return;
    }
    out.push_str("<table class=\"cards\" role=\"table\">\n<caption>Numbered from the butt; covers last. Pictures show each piece as it prints, on a 10");
    out.push(words::THIN);
    out.push_str("mm grid.</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">");
    for column in COLUMNS {
        out.push_str(&format!("<th role=\"columnheader\" scope=\"col\">{column}</th>"));
    }
    out.push_str("</tr></thead>\n<tbody role=\"rowgroup\">\n");
    for piece in &outcome.pieces {
        row(out, piece);
    }
    out.push_str("</tbody>\n</table>\n</section>\n");
}

fn row(out: &mut String, piece: &Piece) {
    let number = words::piece(piece.number);
    let file = link(&piece.name);
    let how = if piece.show_inside { "cut open to show its inside" } else { "whole" };
    let alt = format!("Piece {number} of the {} as it prints, {how}", piece.body);
    let size = piece.mesh.bounds().map(|b| b.size()).unwrap_or_default();
    let size = with_unit(&[size.x, size.y, size.z].map(|v| short(v, 1)).join(" × "), "mm");
    let bed = with_unit(&piece.bed_mm.map(|v| short(v, 0)).join(" × "), "mm");
    let wall = piece.wall_mm.map(|w| format!(", wall {}", words::length(w, false))).unwrap_or_default();
    let picture = format!(
        "<a href=\"pictures/{file}.png\"><img src=\"pictures/{file}.png\" width=\"900\" height=\"700\" loading=\"lazy\" alt=\"{}\"></a>",
        escape(&alt)
    );
    let files = format!("<a href=\"pieces/{file}.3mf\">3MF</a> <a href=\"pieces/{file}.stl\">STL</a>");
    let plain = |text: String| escape(&text);
    let cells = [
        picture,
        plain(format!("{} ({}{wall})", piece.body, role(piece.role))),
        format!("{}<br><span class=\"quiet\">room {}</span>", escape(&piece.printer), escape(&bed)),
        plain(pose(piece.pose).to_owned()),
        plain(with_unit(&piece.station_mm.map(|s| short(s, 1)).join(" to "), "mm")),
        plain(size),
        plain(words::band(piece.mass_g, "g")),
        plain(words::band(piece.print_time_s, "s")),
        plain(piece.material.clone()),
        files,
    ];
    out.push_str(&format!(
        "<tr role=\"row\" id=\"piece-{number}\"><th role=\"rowheader\" scope=\"row\"><a href=\"#side-piece-{number}\" \
         title=\"Show it in the side view\">{number}</a></th>"
    ));
    for (column, cell) in COLUMNS[1..].iter().zip(cells) {
        let class = match *column {
            "Picture" => " class=\"picture\"",
            "Stations" | "Mass" | "Time" => " class=\"figures\"",
            _ => "",
        };
        out.push_str(&format!("<td role=\"cell\"{class} data-word=\"{column}\"><div>{cell}</div></td>"));
    }
    out.push_str("</tr>\n");
}

fn pose(pose: Pose) -> &'static str {
    match pose {
        Pose::Upright => "upright, butt side down",
        Pose::Inverted => "upright, tip side down",
        Pose::Lying => "lying",
    }
}

/// What places the pieces at a joint, in words.
fn placed_by(joint: &Joint) -> String {
    let mm = |mm: f64| with_unit(&short(mm, 1), "mm");
    if let Some(apart) = &joint.take_down {
        let carrier = words::piece(joint.pieces[usize::from(apart.plug == Side::Tip)]);
        let with: Vec<String> = apart.bought.iter().map(|b| format!("{} x {}", b.count, b.title)).collect();
        let with = if with.is_empty() { String::new() } else { format!(", with {}", with.join(", ")) };
        let plug = format!("of {} on piece {carrier}", mm(apart.reach_mm));
        return match joint.kind {
            JointKind::Bayonet => {
                format!(
                    "a plug {plug}: push, then turn it {} clockwise{with}",
                    with_unit(&short(apart.turn_deg, 0), "deg")
                )
            }
            JointKind::Screws => format!("a plug {plug}{with}"),
            _ if apart.cap => format!("keys {plug}{with}"),
            _ => format!("a plug {plug}{with}"),
        };
    }
    match (joint.kind, &joint.pegs) {
        (JointKind::Collar, _) => "a collar that reaches into the next piece".to_owned(),
        (JointKind::Pegs, Some(p)) => {
            format!("{} pegs of {} rod ({}), {} long", p.count, mm(p.diameter_mm), p.title, mm(p.length_mm))
        }
        (JointKind::Pegs, None) => "pegs".to_owned(),
        _ => "the spine that runs through".to_owned(),
    }
}

/// The section with the table of joints.
pub(crate) fn joints(out: &mut String, outcome: &Outcome) {
    out.push_str("<section id=\"joints\">\n<h2>Joints</h2>\n");
    if outcome.joints.is_empty() {
        out.push_str("<p>There is no joint: the prop prints in one piece.</p>\n</section>\n");
        return;
    }
    out.push_str("<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"Joints, scrolls sideways\">\n<table>\n<caption>Numbered from the butt.</caption>\n<thead><tr>");
    for column in ["Joint", "Station", "Pieces", "Placed by", "Glue area", "Set by"] {
        out.push_str(&format!("<th scope=\"col\">{column}</th>"));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for j in &outcome.joints {
        let kind = placed_by(j);
        let [a, b] = j.pieces.map(words::piece);
        let cells = [
            with_unit(&short(j.frame.station_mm, 1), "mm"),
            format!("{a} and {b}"),
            kind,
            if j.kind.comes_apart() {
                "none: it comes apart".to_owned()
            } else {
                with_unit(&short(j.glue_mm2, 0), "mm2")
            },
            if j.locked { "you" } else { "the plan" }.to_owned(),
        ];
        out.push_str(&format!(
            "<tr id=\"joint-J{0}\"><th scope=\"row\"><a href=\"#sections-J{0}\">J{0}</a></th>",
            j.number
        ));
        out.extend(cells.iter().map(|c| format!("<td>{}</td>", escape(c))));
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n</section>\n");
}
