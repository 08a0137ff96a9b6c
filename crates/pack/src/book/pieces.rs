//! Pieces as they print, joints, plates and material.

use super::model::{Block, Card, Chapter, Drawing, Picture, Row, Table, Text};
use crate::view::role;
use crate::words::{self, short, with_unit};
use prop::outcome::{Joint, JointKind, Outcome, Piece, Pose};
use prop::project::Side;

/// The chapter of pieces, with a picture of each.
pub(super) fn pieces(outcome: &Outcome) -> Chapter<'static> {
    let caption = format!(
        "Numbered from the butt; covers last. Pictures show each piece as it prints, on a {} grid.",
        with_unit("10", "mm")
    );
    let cards = outcome.pieces.iter().map(card).collect::<Vec<_>>();
    let block =
        if cards.is_empty() { Block::Text("There is no piece.".into()) } else { Block::Cards { caption, cards } };
    Chapter { id: "pieces", short: "Pieces", title: "Pieces".into(), blocks: vec![block] }
}

/// The picture of a piece as it prints.
pub(super) fn picture(piece: &Piece) -> Picture {
    let number = words::piece(piece.number);
    let how = if piece.show_inside { "cut open to show its inside" } else { "whole" };
    Picture {
        file: format!("pictures/{}.png", piece.name),
        alt: format!("Piece {number} of the {} as it prints, {how}", piece.body),
        caption: String::new(),
    }
}

/// Length, width and height as it prints.
pub(super) fn size(piece: &Piece) -> String {
    let size = piece.mesh.bounds().map(|b| b.size()).unwrap_or_default();
    with_unit(&[size.x, size.y, size.z].map(|v| short(v, 1)).join(" × "), "mm")
}

fn card(piece: &Piece) -> Card {
    let number = words::piece(piece.number);
    let bed = with_unit(&piece.bed_mm.map(|v| short(v, 0)).join(" × "), "mm");
    let wall = piece.wall_mm.map(|w| format!(", wall {}", words::length(w, false))).unwrap_or_default();
    let file = |kind: &str| format!("pieces/{}.{kind}", piece.name);
    let facts = [
        ("Body", format!("{} ({}{wall})", piece.body, role(piece.role)).into()),
        ("Printer", Text::from(piece.printer.as_str()).line().quiet(format!("room {bed}"))),
        ("Stands", pose(piece.pose).into()),
        ("Stations", with_unit(&piece.station_mm.map(|s| short(s, 1)).join(" to "), "mm").into()),
        ("Size as it prints", size(piece).into()),
        ("Mass", words::band(piece.mass_g, "g").into()),
        ("Time", words::band(piece.print_time_s, "s").into()),
        ("Material", piece.material.as_str().into()),
        ("Files", Text::new().file("3MF", file("3mf")).plain(" ").file("STL", file("stl"))),
    ];
    Card {
        id: format!("piece-{number}"),
        name: Text::new().place(number.clone(), format!("side-piece-{number}")),
        picture: picture(piece),
        facts: facts.into_iter().map(|(word, text)| (word.to_owned(), text)).collect(),
    }
}

pub(super) fn pose(pose: Pose) -> &'static str {
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

/// The chapter of joints.
pub(super) fn joints(outcome: &Outcome) -> Chapter<'static> {
    let row = |j: &Joint| {
        let [a, b] = j.pieces.map(words::piece);
        let glue = if j.kind.comes_apart() {
            "none: it comes apart".to_owned()
        } else {
            with_unit(&short(j.glue_mm2, 0), "mm2")
        };
        let name = format!("J{}", j.number);
        let cells = vec![
            Text::new().place(name.clone(), format!("sections-{name}")),
            with_unit(&short(j.frame.station_mm, 1), "mm").into(),
            format!("{a} and {b}").into(),
            placed_by(j).into(),
            glue.into(),
            if j.locked { "you" } else { "the plan" }.into(),
        ];
        Row { id: Some(format!("joint-{name}")), cells }
    };
    let columns = ["Joint", "Station", "Pieces", "Placed by", "Glue area", "Set by"];
    let block = if outcome.joints.is_empty() {
        Block::Text("There is no joint: the prop prints in one piece.".into())
    } else {
        Block::Table(Table::new("Joints", None, "Numbered from the butt.", &columns, outcome.joints.iter().map(row)))
    };
    Chapter { id: "joints", short: "Joints", title: "Joints".into(), blocks: vec![block] }
}

/// The chapter of plates and of what they take.
pub(super) fn plates<'a>(outcome: &Outcome, beds: Drawing<'a>) -> Chapter<'a> {
    let rows = outcome.plates.iter().map(|plate| {
        let pieces = plate.pieces.iter().map(|p| words::piece(p.piece));
        let cells = vec![
            plate.name.as_str().into(),
            plate.printer.as_str().into(),
            plate.material.as_str().into(),
            Text::listed(pieces.map(|n| Text::new().place(n.clone(), format!("piece-{n}")))),
            words::band(plate.mass_g, "g").into(),
            words::band(plate.time_s, "s").into(),
            Text::new().file("3MF", format!("plates/{}.3mf", plate.name)),
        ];
        Row { id: None, cells }
    });
    let caption =
        "On each printer in the order in which to print. Pieces stand as far apart as the printer's spacing says.";
    let columns = ["Plate", "Printer", "Material", "Pieces", "Mass", "Time", "File"];
    let plates = Table::new("Plates", None, caption, &columns, rows);
    let rows = outcome.stocks.iter().map(|s| {
        let (package, plural) = if s.unit == "m" { ("spool", "spools") } else { ("bottle", "bottles") };
        let of = with_unit(&short(s.package, 0), if s.unit == "m" { "g" } else { "ml" });
        vec![
            s.title.clone(),
            s.plates.to_string(),
            words::band(s.mass_g, "g"),
            words::band(s.amount, s.unit),
            format!("{} {} of {of}", s.packages, if s.packages == 1 { package } else { plural }),
        ]
    });
    let caption = "Without supports. Of a hundred plates five to ten fail (common practice, no source): the last column allows for it.";
    let material = Table::new("Material", None, caption, &["Material", "Plates", "Mass", "Amount", "To have"], rows);
    let blocks = vec![Block::Drawing(beds), Block::Table(plates), Block::Table(material)];
    Chapter { id: "plate-views", short: "Plates", title: "Plates".into(), blocks }
}
