//! The pack as a whole, on a made-up outcome.

use crate::{Artifact, PackError, pack, sample};
use prop::finding::Verdict;
use prop::outcome::Outcome;
use quick_xml::Reader;
use quick_xml::events::Event;
use serde_json::Value;
use solid::DVec3;
use std::sync::LazyLock;

/// The pack of the sample, made once for all tests.
fn packed() -> &'static [Artifact] {
    static PACK: LazyLock<Vec<Artifact>> = LazyLock::new(|| pack(&sample::glaive(), &|_, _| true).unwrap());
    &PACK
}

fn text(artifacts: &[Artifact], path: &str) -> String {
    let found = artifacts.iter().find(|a| a.path == path).unwrap_or_else(|| panic!("no {path}"));
    String::from_utf8(found.bytes.clone()).unwrap()
}

/// Reads XML strictly and gives back every (element, attribute, value), and all text.
pub(crate) fn read_xml(xml: &str) -> (Vec<(String, String, String)>, String) {
    let (mut attributes, mut words) = (Vec::new(), String::new());
    let mut reader = Reader::from_str(xml);
    reader.config_mut().check_end_names = true;
    loop {
        match reader.read_event().unwrap() {
            Event::Eof => return (attributes, words),
            Event::Start(e) | Event::Empty(e) => {
                let tag = String::from_utf8(e.name().as_ref().to_vec()).unwrap();
                for a in e.attributes() {
                    let a = a.unwrap();
                    let key = String::from_utf8(a.key.as_ref().to_vec()).unwrap();
                    attributes.push((tag.clone(), key, String::from_utf8(a.value.to_vec()).unwrap()));
                }
            }
            Event::Text(t) => words.push_str(std::str::from_utf8(&t).unwrap()),
            Event::GeneralRef(r) => words.push_str(&format!("&{};", String::from_utf8(r.to_vec()).unwrap())),
            _ => {}
        }
    }
}

#[test]
fn every_file_is_there_once() {
    let artifacts = packed();
    let paths: Vec<&str> = artifacts.iter().map(|a| a.path.as_str()).collect();
    for path in [
        "findings.json",
        "pieces/index.json",
        "pieces/ways.json",
        "drawings/side.svg",
        "drawings/inside.svg",
        "drawings/sections.svg",
        "drawings/plates.svg",
        "plates/index.json",
        "light/windows.json",
        "plates/wide-01.3mf",
        "plates/wide-02.3mf",
        "book.pdf",
        "index.html",
        "light/unlit-front.png",
        "steps/plate-wide-01.svg",
        "steps/section-J3.svg",
        "steps/whole.svg",
        "parts/hardware.csv",
        "parts/parts.csv",
        "parts/wires.csv",
        "pieces/openings.3mf",
        "shape/mends.3mf",
        "shape/prop.3mf",
        "pieces/inside.3mf",
        "patterns/index.json",
        "patterns/outline.pdf",
        "patterns/outline-a4.pdf",
        "patterns/masks-letter.pdf",
        "patterns/cut-list.pdf",
        "patterns/cut-list.svg",
        "patterns/sizing-letter.pdf",
        "patterns/outline-a4/first.svg",
        "patterns/outline-letter/A1.svg",
        "patterns/masks-a4/A1.svg",
        "patterns/wraps-letter/first.svg",
        "patterns/cut-list-a4/1.svg",
        "patterns/sizing-letter/1.svg",
    ] {
        assert_eq!(paths.iter().filter(|p| **p == path).count(), 1, "{path}");
    }
    for piece in sample::glaive().pieces {
        for path in [
            format!("pieces/{}.3mf", piece.name),
            format!("pieces/{}.stl", piece.name),
            format!("pictures/{}.png", piece.name),
        ] {
            assert_eq!(paths.iter().filter(|p| **p == path).count(), 1, "{path}");
        }
    }
    assert!(artifacts.iter().all(|a| !a.bytes.is_empty()));
}

#[test]
fn the_same_outcome_gives_the_same_bytes() {
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let again = alone.install(|| pack(&sample::glaive(), &|_, _| true).unwrap());
    assert!(packed() == again);
}

#[test]
fn drawings_are_well_formed_with_unique_ids_and_short_numbers() {
    let artifacts = packed();
    let drawn = ["side", "inside", "sections", "plates"].map(|name| format!("drawings/{name}.svg"));
    let patterns = ["outline", "masks", "wraps", "cut-list", "sizing"].map(|name| format!("patterns/{name}.svg"));
    for path in drawn.iter().chain(&patterns) {
        let svg = text(artifacts, path);
        let (attributes, words) = read_xml(&svg);
        assert!(words.contains("Reed &lt;Glaive&gt; &amp; &quot;Söhne&quot;"), "{path}");
        let mut ids: Vec<&str> = attributes.iter().filter(|a| a.1 == "id").map(|a| a.2.as_str()).collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count, "{path}");
        assert!(ids.iter().all(|id| id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')));
        let shapes = ["x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "width", "height", "d"];
        for (tag, key, value) in attributes.iter().filter(|a| shapes.contains(&a.1.as_str())) {
            for number in value.trim_end_matches("mm").split(['M', 'L', 'Z', ' ']).filter(|n| !n.is_empty()) {
                let parsed: f64 = number.parse().unwrap_or_else(|_| panic!("{tag} {key} {number}"));
                assert!(parsed.is_finite() && parsed.abs() < 2000.0, "{tag} {key} {number}");
                assert!(number.split('.').nth(1).is_none_or(|d| d.len() <= 2), "{tag} {key} {number}");
            }
        }
    }
}

#[test]
fn everything_inside_has_a_name_of_its_own() {
    let bytes = &packed().iter().find(|a| a.path == "pieces/inside.3mf").unwrap().bytes;
    let read = solid::read::shape(solid::read::Format::ThreeMf, bytes, "inside").unwrap();
    let names: Vec<&str> = read.bodies.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(
        names,
        ["strip 1 length 1", "strip 1 length 2", "spine 1", "spine 2", "part A cell", "part B power", "part C brain"]
    );
}

#[test]
fn plates_hold_their_pieces_where_the_index_says() {
    let outcome = sample::glaive();
    let index: Value = serde_json::from_str(&text(packed(), "plates/index.json")).unwrap();
    for (plate, row) in outcome.plates.iter().zip(index["plates"].as_array().unwrap()) {
        let path = format!("plates/{}", row["file"].as_str().unwrap());
        let bytes = &packed().iter().find(|a| a.path == path).unwrap().bytes;
        let read = solid::read::shape(solid::read::Format::ThreeMf, bytes, "plate").unwrap();
        assert_eq!(read.bodies.len(), plate.pieces.len());
        for ((body, at), row) in read.bodies.iter().zip(&plate.pieces).zip(row["pieces"].as_array().unwrap()) {
            let piece = outcome.pieces.iter().find(|p| p.number == at.piece).unwrap();
            assert_eq!((body.name.as_str(), row["name"].as_str()), (piece.name.as_str(), Some(piece.name.as_str())));
            let own = piece.mesh.bounds().unwrap().min + DVec3::new(at.outline[0].x, at.outline[0].y, 0.0);
            assert!(body.mesh.bounds().unwrap().min.distance(own) < 1e-3);
            assert_eq!(row["to_plate"][3].as_f64(), Some(at.outline[0].x));
        }
    }
    assert_eq!(index["materials"][0]["packages"], 1);
    let page = text(packed(), "index.html");
    assert!(page.contains("id=\"plates-wide-01\"") && page.contains("1 spool of 1000\u{202f}g"));
}

#[test]
fn nothing_that_fails_is_no_cause_for_alarm() {
    let mut outcome = sample::glaive();
    let page = |outcome: &Outcome| text(&pack(outcome, &|_, _| true).unwrap(), "index.html");
    assert!(text(packed(), "index.html").contains("<li class=\"fails\">"));
    outcome.findings.retain(|f| f.verdict != Verdict::Fails);
    let page = page(&outcome);
    assert!(page.contains("<li class=\"holds\">0 fail</li>") && !page.contains("<li class=\"fails\">"));
}

#[test]
fn pegs_are_told_by_rod_and_length() {
    let page = text(packed(), "index.html");
    // As the sample's joints say.
    assert!(page.contains("2 pegs of 3\u{202f}mm rod (Glass-fibre rod, 3 mm), 16\u{202f}mm long"), "{page}");
}

/// The scale that is stated is the scale that is drawn.
#[test]
fn the_side_view_is_true_to_scale() {
    let outcome = sample::glaive();
    let (attributes, words) = read_xml(&text(packed(), "drawings/side.svg"));
    assert!(words.contains("1:4 when printed at full size"));
    // The station axis runs from the first to the last point of the path.
    let svg = text(packed(), "drawings/side.svg");
    let axis = svg.split("id=\"side-stations\"").nth(1).unwrap();
    let value = |key: &str| -> f64 {
        axis.split(&format!("{key}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let span = outcome.path.points().last().unwrap().x - outcome.path.points()[0].x;
    assert!((value("x2") - value("x1") - span / 4.0).abs() < 0.011);
    let width = attributes.iter().find(|a| a.0 == "svg" && a.1 == "width").unwrap();
    let mm: f64 = width.2.trim_end_matches("mm").parse().unwrap();
    assert!((390.0..=420.0).contains(&mm), "{mm}");
}

#[test]
fn findings_are_written_as_they_were_said() {
    let outcome = sample::glaive();
    let json: Value = serde_json::from_str(&text(packed(), "findings.json")).unwrap();
    assert_eq!(json["prop"], outcome.prop.as_str());
    assert_eq!(json["input_hash"], outcome.input_hash.as_str());
    let list = json["findings"].as_array().unwrap();
    assert_eq!(list.len(), outcome.findings.len());
    assert_eq!(list[0]["verdict"], "fails");
    assert_eq!(list[0]["measured"]["value"], 1.42);
    assert_eq!(list[0]["limit"]["min"], 1.9);
    assert!(list[0]["limit"].get("max").is_none());
    assert_eq!(list[0]["station_mm"][0], 744.3);
    assert!(list[2]["limit"].is_null());
    for key in ["id", "verdict", "subject", "station_mm", "measured", "limit", "message", "remedy"] {
        assert!(list.iter().all(|f| f.get(key).is_some()), "{key}");
    }
}

#[test]
fn the_index_leads_back_to_the_prop() {
    let outcome = sample::glaive();
    let artifacts = packed();
    let json: Value = serde_json::from_str(&text(artifacts, "pieces/index.json")).unwrap();
    for (entry, piece) in json["pieces"].as_array().unwrap().iter().zip(&outcome.pieces) {
        let file = format!("pieces/{}", entry["file"].as_str().unwrap());
        assert!(artifacts.iter().any(|a| a.path == file), "{file}");
        let m: Vec<f64> = entry["to_prop"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
        let p = piece.mesh.vertices[0];
        let expected = piece.to_prop.transform_point3(p);
        for (row, want) in expected.to_array().into_iter().enumerate() {
            let got = m[4 * row] * p.x + m[4 * row + 1] * p.y + m[4 * row + 2] * p.z + m[4 * row + 3];
            assert!((got - want).abs() < 1e-9);
        }
        for key in ["low", "value", "high"] {
            assert!(entry["mass_g"][key].as_f64().unwrap() > 0.0 && entry["print_time_s"][key].as_f64().unwrap() > 0.0);
        }
        assert_eq!(entry["pose"], serde_json::to_value(piece.pose).unwrap());
    }
}

#[test]
fn the_page_stands_alone() {
    let artifacts = packed();
    let page = text(artifacts, "index.html");
    // The only address with a scheme is the SVG name space, which nothing fetches.
    assert_eq!(page.matches("://").count(), page.matches("http://www.w3.org/2000/svg").count());
    for word in ["<script", "@import", "url(", "NaN", "inf "] {
        assert!(!page.contains(word), "{word}");
    }
    assert!(!page.contains("<Glaive>") && page.contains("Reed &lt;Glaive&gt; &amp; &quot;Söhne&quot;"));
    let (mut links, mut ids) = (Vec::new(), Vec::new());
    for (key, list) in [("href=\"", &mut links), ("src=\"", &mut Vec::new()), (" id=\"", &mut ids)] {
        list.extend(page.split(key).skip(1).map(|s| s.split('"').next().unwrap().to_owned()));
    }
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "ids of the page are unique");
    for link in links {
        match link.strip_prefix('#') {
            Some(id) => assert!(ids.iter().any(|i| i == id), "#{id} leads nowhere"),
            None => assert!(artifacts.iter().any(|a| page_link(&a.path) == link), "{link} leads nowhere"),
        }
    }
    let pieces = sample::glaive().pieces.len();
    assert!(page.matches(" alt=\"Piece ").count() >= pieces && !page.contains(" alt=\"\""));
    assert_eq!(page.matches("<img ").count(), page.split("<img ").skip(1).filter(|i| i.contains(" alt=\"")).count());
    assert!(page.contains("<html lang=\"en\">") && page.matches("<h1>").count() == 1);
}

fn page_link(path: &str) -> String {
    path.split('/').map(crate::html::link).collect::<Vec<_>>().join("/")
}

#[test]
fn pictures_decode_and_show_something() {
    for artifact in packed().iter().filter(|a| a.path.starts_with("pictures/")) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(&artifact.bytes)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        assert_eq!((info.width, info.height), (900, 700));
        let ground = &pixels[..3];
        let drawn = pixels.chunks(3).filter(|p| *p != ground).count();
        assert!(drawn > 900 * 700 / 10, "{}: {drawn} pixels", artifact.path);
    }
}

#[test]
fn a_stop_is_heard() {
    let said = pack(&sample::glaive(), &|_, share| share < 0.3);
    assert!(matches!(said, Err(PackError::Stopped { .. })));
}

#[test]
fn what_cannot_be_written_is_refused_with_its_place() {
    let refused = |spoil: &dyn Fn(&mut Outcome)| {
        let mut outcome = sample::glaive();
        spoil(&mut outcome);
        pack(&outcome, &|_, _| true).unwrap_err().to_string()
    };
    assert!(refused(&|o| o.findings[1].measured.high = f64::NAN).contains("joint_glue of joint J5"));
    assert!(refused(&|o| o.pieces[2].mesh.vertices[7].y = f64::INFINITY).contains("piece 03"));
    assert!(refused(&|o| o.parts[1].mesh.vertices[3].z = f64::NAN).contains("part B (power)"));
    assert!(refused(&|o| o.lids[0].magnets[0].face[1].x = f64::NAN).contains("piece 12"));
    assert!(refused(&|o| o.wires[1].points[0].y = f64::INFINITY).contains("wires W2"));
    assert!(refused(&|o| o.ways[0].clearance_mm = f64::NAN).contains("the way of guard"));
    assert!(refused(&|o| o.openings[0].vertices[0].y = f64::INFINITY).contains("an opening"));
    assert!(refused(&|o| o.pieces[0].name = "openings".into()).contains("is opened"));
    assert!(refused(&|o| o.pieces[0].name = "a/b".into()).contains("\"a/b\""));
    assert!(refused(&|o| o.pieces[1].name = o.pieces[0].name.to_uppercase()).contains("same name"));
    assert!(refused(&|o| o.pieces[0].mesh.triangles.clear()).contains("no triangle"));
}

/// A shape that fits one printer whole: no joint, no light, no section.
#[test]
fn a_bare_outcome_is_packed_too() {
    let mut outcome = sample::glaive();
    outcome.pieces.truncate(1);
    outcome.joints.clear();
    outcome.pixels.clear();
    outcome.strips.clear();
    outcome.spines.clear();
    outcome.wire_way.clear();
    outcome.parts.clear();
    outcome.lids.clear();
    outcome.wires.clear();
    outcome.openings.clear();
    outcome.sections.clear();
    outcome.views.clear();
    outcome.findings.clear();
    outcome.mends.clear();
    outcome.wearer_mm = None;
    outcome.inches = false;
    let artifacts = pack(&outcome, &|_, _| true).unwrap();
    let page = text(&artifacts, "index.html");
    assert!(page.contains("Everything that was checked holds") && page.contains("prints in one piece"));
    assert!(!page.contains("NaN") && !page.contains("inches"));
    assert!(!page.contains("mends.3mf") && artifacts.iter().all(|a| a.path != "shape/mends.3mf"));
    assert!(artifacts.iter().all(|a| !a.path.starts_with("parts/") && !a.path.contains("openings")));
    read_xml(&text(&artifacts, "drawings/side.svg"));
    read_xml(&text(&artifacts, "drawings/inside.svg"));
    read_xml(&text(&artifacts, "drawings/sections.svg"));
}

/// A hollow box cut open shows the cut and its inside; a solid one shows the cut alone.
#[test]
fn the_cut_shows_where_material_was() {
    let slate_share = |hollow: bool| {
        let mut piece = sample::glaive().pieces.swap_remove(0);
        piece.mesh = solid::cuboid(DVec3::ZERO, DVec3::splat(40.0));
        if hollow {
            piece.mesh.append(&solid::cuboid(DVec3::splat(4.0), DVec3::splat(36.0)).reversed());
        }
        piece.show_inside = true;
        let png = crate::shade::picture(&piece).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(&png)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        // Slate is the only bluish tone: the cut face and its hatch.
        pixels.chunks(3).filter(|p| i32::from(p[2]) - i32::from(p[0]) > 10).count() as f64
    };
    // The frame of a 40 mm square with a 32 mm hole is 36 % of it; edges and the bed's lines add a little to both.
    let share = slate_share(true) / slate_share(false);
    assert!((0.33..0.42).contains(&share), "{share}");
}

/// Lines of a list as fields; the sample's hold a quoted field with commas and quotes (RFC 4180).
fn fields(line: &str) -> Vec<String> {
    let (mut all, mut quoted) = (vec![String::new()], false);
    let mut rest = line.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '"' if quoted && rest.peek() == Some(&'"') => all.last_mut().unwrap().push(rest.next().unwrap()),
            '"' => quoted = !quoted,
            ',' if !quoted => all.push(String::new()),
            c => all.last_mut().unwrap().push(c),
        }
    }
    all
}

#[test]
fn lists_say_what_to_buy_and_to_cut() {
    let rows = |path: &str| -> Vec<Vec<String>> { text(packed(), path).lines().map(fields).collect() };
    for path in ["parts/parts.csv", "parts/hardware.csv", "parts/wires.csv"] {
        let list = rows(path);
        assert!(list.len() > 1 && list.iter().all(|r| r.len() == list[0].len()), "{path}: {list:?}");
    }
    let value = |list: &[Vec<String>], row: usize, column: &str| {
        list[row][list[0].iter().position(|c| c == column).unwrap()].clone()
    };
    let parts = rows("parts/parts.csv");
    assert_eq!(parts.len(), 4);
    assert_eq!(value(&parts, 1, "what it is"), "cell <generic> & \"leads\", 69 mm");
    assert_eq!(value(&parts, 1, "length mm"), "69");
    assert_eq!(value(&parts, 1, "comes out"), "under lid 12");
    assert_eq!(value(&parts, 1, "pieces off first"), "12");
    assert_eq!(value(&parts, 3, "wires"), "W1 W2 W3");
    // Four magnets and one screw with its insert in the lid, three joints with two pegs each.
    let hardware = rows("parts/hardware.csv");
    let count =
        |what: &str| -> u32 { hardware.iter().filter(|r| r[0] == what).map(|r| r[2].parse::<u32>().unwrap()).sum() };
    assert_eq!([count("magnet"), count("screw"), count("insert"), count("peg")], [4, 1, 1, 6]);
    let wires = rows("parts/wires.csv");
    assert_eq!(value(&wires, 3, "way mm"), "no way found");
    let way: f64 = value(&wires, 1, "way mm").parse().unwrap();
    let cut: f64 = value(&wires, 1, "cut to mm").parse().unwrap();
    // As the sample says: 15 mm at each end.
    assert!((cut - way - 30.0).abs() <= 1.0, "{cut} {way}");
}

/// Every part, lid, magnet pole, wire and way out has its name in the drawing.
#[test]
fn the_inside_is_named_and_to_scale() {
    let svg = text(packed(), "drawings/inside.svg");
    let (attributes, _) = read_xml(&svg);
    let ids: Vec<&str> = attributes.iter().filter(|a| a.1 == "id").map(|a| a.2.as_str()).collect();
    for id in ["view-part-A", "top-part-C", "near-2-side-part-B", "near-1-top-lid-12", "near-1-side-W1", "list-parts"] {
        assert!(ids.contains(&format!("inside-{id}").as_str()), "{id}: {ids:?}");
    }
    for word in [">A cell<", ">B power<", ">lid 12<", ">port<", ">J3<", ">W2<", ">+<", ">\u{2212}<", ">no way found<"] {
        assert!(svg.contains(word), "{word}");
    }
    // The cell is 69 mm long; the stretch with parts is drawn at the scale that its head states.
    let scale = svg.split("From the side, scale ").nth(1).unwrap().split('<').next().unwrap();
    let [sheet, prop] = [0, 1].map(|i| scale.split(':').nth(i).unwrap().parse::<f64>().unwrap());
    let cell = svg.split("id=\"inside-near-1-side-part-A\"").nth(1).unwrap().split("</g>").next().unwrap();
    let d = cell.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
    let xs: Vec<f64> =
        d.split(['M', 'L']).filter(|p| !p.is_empty()).map(|p| p.split(' ').next().unwrap().parse().unwrap()).collect();
    let long = xs.iter().copied().fold(f64::MIN, f64::max) - xs.iter().copied().fold(f64::MAX, f64::min);
    assert!((long - 69.0 * sheet / prop).abs() < 0.02, "{long} at {scale}");
}
