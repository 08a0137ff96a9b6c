//! A made-up outcome with every kind of thing in it, for tests and for looking at.

mod furnished;

use prop::finding::{Band, Finding, Limit, Measured, Verdict};
use prop::outcome::*;
use prop::path::CentrePath;
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh};

const AROUND: usize = 72;

/// Half width and half thickness along the prop, by station, and the role's body.
fn half_size(x: f64) -> [f64; 2] {
    match x {
        x if x < 90.0 => [19.0, 19.0],
        x if x < 400.0 => [17.0, 13.0],
        x if x < 430.0 => [46.0, 20.0],
        x => {
            let t = (x - 430.0) / 1070.0;
            let w = 30.0 + 30.0 * libm::sin(std::f64::consts::PI * (0.25 + 0.62 * t));
            [w * (1.0 - t * t * t).max(0.04), 15.0 * (1.0 - t * t).max(0.15)]
        }
    }
}

fn ring(half: [f64; 2], shrink: f64) -> Vec<DVec2> {
    (0..AROUND)
        .map(|i| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * i as f64 / AROUND as f64);
            let power = if half[0] > 1.6 * half[1] { 1.25 } else { 1.0 };
            DVec2::new(
                (half[0] - 2.0 * shrink).max(1.0) * cos,
                (half[1] - shrink).max(0.6) * sin.signum() * libm::pow(sin.abs(), power),
            )
        })
        .collect()
}

/// The cavity: the ring shrunk by the wall, with two ribs from below that leave a slot.
fn cavity(half: [f64; 2], wall: f64) -> Vec<DVec2> {
    let mut ring = ring(half, wall);
    for p in &mut ring {
        if p.y < 0.0 && p.x.abs() > 4.0 && p.x.abs() < 9.0 {
            p.y = (p.y + half[1] * 0.7).min(-0.5);
        }
    }
    ring
}

/// A tube from one set of rings to the next, closed at both ends by a band between outer and inner ring.
fn tube(stations: &[(f64, Vec<DVec2>, Vec<DVec2>)], place: impl Fn(f64, DVec2) -> DVec3) -> Mesh {
    let mut mesh = Mesh::default();
    for (x, outer, inner) in stations {
        mesh.vertices.extend(outer.iter().chain(inner).map(|p| place(*x, *p)));
    }
    let n = AROUND as u32;
    let mut quad = |a: u32, b: u32, c: u32, d: u32| mesh.triangles.extend([[a, b, c], [a, c, d]]);
    let last = (stations.len() as u32 - 1) * 2 * n;
    for i in 0..n {
        let j = (i + 1) % n;
        for s in 0..stations.len() as u32 - 1 {
            let (lo, hi) = (s * 2 * n, (s + 1) * 2 * n);
            quad(lo + i, lo + j, hi + j, hi + i);
            quad(lo + n + j, lo + n + i, hi + n + i, hi + n + j);
        }
        quad(i, n + i, n + j, j);
        quad(last + i, last + j, last + n + j, last + n + i);
    }
    mesh
}

fn bow(x: f64) -> f64 {
    26.0 * libm::sin(std::f64::consts::PI * x / 1500.0)
}

fn on_prop(x: f64, p: DVec2) -> DVec3 {
    DVec3::new(x, p.x, p.y + bow(x))
}

fn circle(middle: DVec2, radius: f64) -> Vec<DVec2> {
    (0..24)
        .map(|i| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(i) / 24.0);
            middle + DVec2::new(cos, sin) * radius
        })
        .collect()
}

fn rect(x: [f64; 2], y: [f64; 2]) -> Vec<DVec2> {
    vec![DVec2::new(x[0], y[0]), DVec2::new(x[1], y[0]), DVec2::new(x[1], y[1]), DVec2::new(x[0], y[1])]
}

fn rings(from: f64, to: f64, wall: f64) -> Vec<(f64, Vec<DVec2>, Vec<DVec2>)> {
    let n = (((to - from) / 8.0).ceil() as usize).max(2);
    (0..=n)
        .map(|i| {
            // A hair inside the body's ends, whose size jumps there.
            let x = from + (to - from) * i as f64 / n as f64;
            let half = half_size(x.clamp(from + 1e-6, to - 1e-6));
            (x, ring(half, 0.0), cavity(half, wall))
        })
        .collect()
}

fn piece(number: u32, body: &str, role: Role, station_mm: [f64; 2], pose: Pose) -> Piece {
    let wall = if role == Role::Lit { 2.0 } else { 6.0 };
    let lying = pose == Pose::Lying;
    // Upright: along goes up. Lying: along goes to the right.
    let axes = if lying { DMat3::IDENTITY } else { DMat3::from_cols(DVec3::Z, DVec3::X, DVec3::Y) };
    let mesh = tube(&rings(station_mm[0], station_mm[1], wall), on_prop);
    let turned = mesh.transformed(&DAffine3::from_mat3(axes));
    let low = turned.bounds().map_or(DVec3::ZERO, |b| b.min);
    let to_file = DAffine3::from_mat3_translation(axes, -low);
    Piece {
        number,
        name: format!("{number:02}-{}", body.to_lowercase().replace(|c: char| !c.is_alphanumeric(), "")),
        body: body.to_owned(),
        role,
        mesh: mesh.transformed(&to_file),
        to_prop: to_file.inverse(),
        station_mm,
        printer: if role == Role::Cover { "resin & small" } else { "tall one" }.to_owned(),
        bed_mm: [220.0, 220.0, 250.0],
        pose,
        wall_mm: (role == Role::Lit).then_some(2.0),
        material: if role == Role::Cover { "resin" } else { "white ABS" }.to_owned(),
        mass_g: Band::factor(64.3, 0.85, 1.2),
        print_time_s: Band::factor(19_300.0, 0.8, 1.3),
        volume_mm3: 61_240.0,
        taken_mm3: 101_000.0,
        added_mm3: 820.0,
        show_inside: role == Role::Lit || lying,
    }
}

fn section(label: String, station_mm: f64, lit: bool) -> SectionView {
    let half = half_size(station_mm);
    let reversed = |mut l: Vec<DVec2>| {
        l.reverse();
        l
    };
    let mut s = SectionView {
        label,
        station_mm,
        outer: vec![ring(half, 0.0)],
        printed: vec![ring(half, 0.0), reversed(if lit { cavity(half, 2.0) } else { circle(DVec2::ZERO, 5.0) })],
        rail: Vec::new(),
        strips: Vec::new(),
        spine: vec![rect([-3.0, 3.0], [-2.0, 1.0])],
        wire: vec![circle(DVec2::new(6.5, 2.5), 1.5)],
        parts: Vec::new(),
    };
    if lit {
        s.rail = [-1.0, 1.0]
            .map(|side: f64| {
                rect(
                    [side.min(0.0) * 8.5 + side.max(0.0) * 4.5, side.min(0.0) * 4.5 + side.max(0.0) * 8.5],
                    [-half[1] * 0.6, -0.8],
                )
            })
            .to_vec();
        s.strips = vec![("strip 1".into(), vec![rect([-5.0, 5.0], [1.5, 3.9])])];
    }
    s
}

/// A curved glaive of 150 cm: pommel, grip, guard (a cover) and a lit blade in seven pieces.
pub(crate) fn glaive() -> Outcome {
    let path =
        CentrePath::new((0..=150).map(|i| f64::from(i) * 10.0).map(|x| DVec3::new(x, 0.0, bow(x))).collect()).unwrap();
    let length = path.length_mm();
    let mut pieces = vec![
        piece(1, "pommel", Role::Plain, [0.0, 90.0], Pose::Upright),
        piece(2, "grip", Role::Plain, [90.0, 250.0], Pose::Upright),
        piece(3, "grip", Role::Plain, [250.0, 400.0], Pose::Lying),
    ];
    let blade = "Klinge <lit> & \"ö\"";
    for i in 0..7u32 {
        let from = 400.0 + f64::from(i) * 157.142;
        pieces.push(piece(
            4 + i,
            blade,
            Role::Lit,
            [from.max(430.0), from + 157.142],
            if i == 6 { Pose::Inverted } else { Pose::Upright },
        ));
    }
    pieces.push(piece(11, "guard", Role::Cover, [402.0, 428.0], Pose::Lying));
    pieces.push(piece(furnished::LID, "grip", Role::Plain, [120.0, 230.0], Pose::Lying));
    let joints: Vec<Joint> = (1..10u32)
        .map(|i| Joint {
            number: i,
            frame: path.frame(pieces[i as usize].station_mm[0]),
            kind: [JointKind::Collar, JointKind::Pegs, JointKind::Faces][i as usize % 3],
            pieces: [i, i + 1],
            glue_mm2: 412.6,
            locked: i == 4,
            pegs: (i % 3 == 1).then(|| PegSet {
                stock: "glass-3".into(),
                title: "Glass-fibre rod, 3 mm".into(),
                diameter_mm: 3.0,
                length_mm: 16.0,
                count: 2,
                engaged_mm: 8.0,
                play_deg: 2.0,
                apart_mm: 30.0,
                section_mm: 26.0,
            }),
            take_down: None,
            show: prop::project::Show::Both,
        })
        .collect();
    let bodies: Vec<(&str, Role, [f64; 2])> = vec![
        ("pommel", Role::Plain, [0.0, 90.0]),
        ("grip", Role::Plain, [90.0, 400.0]),
        ("guard", Role::Cover, [400.0, 430.0]),
        (blade, Role::Lit, [430.0, 1500.0]),
    ];
    let views = bodies
        .iter()
        .map(|(name, role, [from, to])| {
            let edge = |k: usize| {
                (0..=200)
                    .map(|i| {
                        let x = from + (to - from) * f64::from(i) / 200.0;
                        let half = half_size(x.clamp(from + 1e-6, to - 1e-6))[k];
                        let middle = if k == 1 { bow(x) } else { 0.0 };
                        [x, middle - half, middle + half]
                    })
                    .collect()
            };
            BodyView {
                name: (*name).to_owned(),
                role: *role,
                side: Silhouette { edge: edge(1) },
                top: Silhouette { edge: edge(0) },
            }
        })
        .collect();
    let mut sections: Vec<SectionView> = joints
        .iter()
        .map(|j| section(format!("J{}", j.number), j.frame.station_mm, j.frame.station_mm > 430.0))
        .chain(pieces.iter().map(|p| {
            let middle = (p.station_mm[0] + p.station_mm[1]) / 2.0;
            section(format!("{:02}", p.number), middle, p.role == Role::Lit)
        }))
        .collect();
    sections.push(furnished::section(section("part A".into(), 175.0, false)));
    sections.sort_by(|a, b| a.station_mm.total_cmp(&b.station_mm));
    let pixels = (0..130u32)
        .map(|i| {
            let station_mm = 470.0 + f64::from(i) * 1000.0 / 144.0;
            Pixel {
                number: i + 1,
                strip: 1,
                station_mm,
                point: path.point(station_mm) + DVec3::Z * 3.0,
                facing: DVec3::Z,
            }
        })
        .collect();
    let bar = |name: &str, from: f64, to: f64, up: f64, size_mm: [f64; 2]| {
        let (start, end) = (path.point(from) + DVec3::Z * up, path.point(to) + DVec3::Z * up);
        let along = end - start;
        let half = DVec3::new(0.0, size_mm[0] / 2.0, size_mm[1] / 2.0);
        let lying = solid::cuboid(-half, half + DVec3::X * along.length());
        let axes = DMat3::from_cols(along.normalize(), DVec3::Y, along.normalize().cross(DVec3::Y));
        let mesh = lying.transformed(&DAffine3::from_mat3_translation(axes, start));
        Bar { name: name.to_owned(), start, end, across: DVec3::Y, size_mm, station_mm: [from, to], mesh }
    };
    let strips = vec![bar("strip 1", 465.0, 920.0, 2.0, [10.0, 2.4]), bar("strip 1", 920.0, 1375.0, 2.0, [10.0, 2.4])];
    let spines = vec![bar("spine 1", 40.0, 760.0, -1.0, [6.0, 3.0]), bar("spine 2", 760.0, 1330.0, -1.0, [6.0, 3.0])];
    let wire_way = (0..=40).map(|i| path.point(f64::from(i) * 12.0 + 20.0) + DVec3::Y * 6.5).collect();
    Outcome {
        prop: "Reed <Glaive> & \"Söhne\"".into(),
        input_hash: "5d41402abc4b2a76b9719d911017c592".into(),
        inches: true,
        path,
        length_mm: length.floor(),
        wearer_mm: Some(1680.0),
        imprint: prop::project::Imprint {
            author: Some("A. Warden & friends".into()),
            licence: Some("CC BY-SA 4.0".into()),
            also: vec!["outer shape by the <reed> cutters".into()],
            changed: vec!["wearer.height = \"168 cm\"".into()],
        },
        bodies: bodies
            .iter()
            .map(|(name, role, [from, to])| Body {
                name: (*name).to_owned(),
                role: *role,
                mesh: tube(&rings(*from, *to, 3.0), on_prop),
                station_mm: [*from, *to],
            })
            .collect(),
        mends: vec![MendNote {
            body: blade.into(),
            what: "1 holes filled (4.00 mm across at station 700.0 mm, across 20.0, through 3.0 mm)".into(),
            kind: "holes filled",
            spots: vec![MendSpot { place: DVec3::new(700.0, 20.0, 3.0), size_mm: 4.0 }],
        }],
        plates: plates(&pieces),
        stocks: vec![Stock {
            material: "pla-white".into(),
            title: "PLA, white".into(),
            plates: 2,
            mass_g: Band::factor(820.0, 0.9, 1.1),
            amount: Band::factor(275.0, 0.9, 1.1),
            unit: "m",
            spoilt: [0.05, 0.1],
            package: 1000.0,
            packages: 1,
        }],
        pieces,
        joints,
        ways: vec![Way {
            kind: WayKind::Cover,
            name: "guard".into(),
            piece: Some(11),
            poses: vec![DAffine3::from_translation(DVec3::NEG_X * 430.0), DAffine3::IDENTITY],
            away: vec![12],
            clearance_mm: 0.2,
            snap: None,
        }],
        pixels,
        strips,
        spines,
        wire_way,
        parts: furnished::parts(),
        lids: furnished::lids(),
        wires: furnished::wires(),
        power: None,
        openings: furnished::openings(),
        windows: furnished::windows(),
        masks: furnished::masks(),
        views,
        sections,
        light: None,
        strength: None,
        conduct: None,
        finish: furnished::finish(),
        shopping: furnished::shopping(),
        work: None,
        passages: furnished::passages(),
        steps: furnished::steps(),
        findings: findings(),
        print_elapsed_s: Band::factor(171_000.0, 0.8, 1.3),
    }
}

/// Two plates: most pieces on one, in two rows, the rest with a brim on another that was filled by hand.
fn plates(pieces: &[Piece]) -> Vec<Plate> {
    let plate = |number: u32, pieces: &[Piece], brim_mm: f64| Plate {
        name: format!("wide-{number:02}"),
        printer: "wide".into(),
        number,
        by_hand: (number == 2).then(|| "spare & <last>".to_owned()),
        bed_mm: [220.0, 220.0, 250.0],
        margin_mm: 5.0,
        spacing_mm: 5.0,
        material: "pla-white".into(),
        pieces: pieces
            .iter()
            .enumerate()
            .map(|(k, piece)| {
                let corner = DVec2::new(12.0 + 70.0 * (k % 3) as f64, 12.0 + 70.0 * (k / 3) as f64);
                let box_mm = [(0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (20.0, 20.0), (20.0, 50.0), (0.0, 50.0)];
                OnPlate {
                    piece: piece.number,
                    to_plate: DAffine3::from_translation(corner.extend(0.0)),
                    outline: box_mm.iter().map(|(x, y)| corner + DVec2::new(*x, *y)).collect(),
                    brim_mm,
                }
            })
            .collect(),
        time_s: Band::factor(80_000.0, 0.8, 1.25),
        mass_g: Band::factor(400.0, 0.9, 1.1),
        fits: true,
    };
    vec![plate(1, &pieces[..8], 0.0), plate(2, &pieces[8..], 8.0)]
}

fn findings() -> Vec<Finding> {
    let finding =
        |id, verdict, subject: &str, value: f64, unit, min: Option<f64>, message: &str, remedy: &str| Finding {
            id,
            verdict,
            subject: subject.to_owned(),
            station_mm: subject.starts_with("piece").then_some([744.3, 901.4]),
            measured: Measured { value, low: value * 0.96, high: value * 1.04, unit },
            inputs: Vec::new(),
            limit: min.map(|m| Limit {
                min: Some(m),
                max: None,
                unit,
                source: "prop.toml: inside.wall & < tolerance".into(),
            }),
            message: message.to_owned(),
            remedy: remedy.to_owned(),
        };
    vec![
        finding(
            "wall",
            Verdict::Fails,
            "piece 06",
            1.42,
            "mm",
            Some(1.9),
            "The wall of piece 06 is 1.42 mm at station 812 mm, below 1.90 mm.",
            "Make the blade thicker there, or ask for a thinner wall.",
        ),
        finding(
            "joint_glue",
            Verdict::Unsure,
            "joint J5",
            412.0,
            "mm2",
            Some(400.0),
            "Joint J5 takes glue on 412 mm² (396 to 428), close to 400 mm².",
            "Lengthen the collar by 1 mm.",
        ),
        finding(
            "unsupported",
            Verdict::Note,
            "piece 03",
            212.0,
            "mm2",
            None,
            "Piece 03 has 212 mm² that hang over by more than 45°.",
            "Let the slicer add supports from the bed only.",
        ),
        finding(
            "strip_slides",
            Verdict::Holds,
            "strip 1",
            0.31,
            "mm",
            Some(0.1),
            "Strip 1 slides with 0.31 mm to spare on its tightest place.",
            "",
        ),
        finding("piece_closed", Verdict::Holds, "piece 01", 0.0, "1", None, "Piece 01 is closed: no open edge.", ""),
    ]
}
