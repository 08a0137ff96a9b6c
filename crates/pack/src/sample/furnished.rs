//! What the made-up glaive holds: a cell behind a lid, a switch in a port, a board behind a joint, and their wires.

use super::{circle, on_prop, rect};
use prop::bay::Screw;
use prop::bay::wires::Bend;
use prop::catalogue::PartKind;
use prop::finding::Band;
use prop::outcome::{Bought, LidView, MagnetPair, Part, Reached, SectionView, Wire};
use prop::project::Pole;
use prop::work::{Deed, Step};
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh, cuboid};

/// Number of the lid's piece.
pub(super) const LID: u32 = 12;

fn middle(station_mm: f64) -> DVec3 {
    on_prop(station_mm, DVec2::ZERO)
}

pub(super) fn parts() -> Vec<Part> {
    let part = |letter, name: &str, kind, size_mm: [f64; 3], at: f64, way_out: DVec3, reached| {
        let (half, place) = (DVec3::from_array(size_mm) / 2.0, middle(at));
        let moved = |m: Mesh| m.transformed(&DAffine3::from_translation(place));
        Part {
            letter,
            name: name.to_owned(),
            title: format!("{name} <generic> & \"leads\", {} mm", size_mm[0]),
            kind,
            body: "grip".into(),
            size_mm,
            over_mm: 0.4,
            gap_mm: 0.5,
            mass_g: 48.0,
            to_prop: DAffine3::from_mat3_translation(DMat3::IDENTITY, place),
            station_mm: [at - half.x, at + half.x],
            mesh: moved(cuboid(-half, half)),
            largest: moved(cuboid(-half - 0.2, half + 0.2)),
            way_out,
            reached,
            pieces_off: if reached == Reached::Lid(LID) { vec![LID] } else { Vec::new() },
            exit: place + DVec3::X * half.x,
            sound: None,
        }
    };
    vec![
        part('A', "cell", PartKind::Cell, [69.0, 18.6, 18.6], 175.0, DVec3::Z * 30.0, Reached::Lid(LID)),
        part('B', "power", PartKind::Switch, [14.0, 8.0, 8.0], 300.0, DVec3::Y * -20.0, Reached::Port),
        part('C', "brain", PartKind::Controller, [23.5, 18.0, 5.0], 360.0, DVec3::X * 60.0, Reached::Joint(3)),
    ]
}

pub(super) fn lids() -> Vec<LidView> {
    let magnets = [(125.0, [Pole::Plus, Pole::Minus]), (225.0, [Pole::Minus, Pole::Plus])].map(|(x, pole)| {
        MagnetPair { face: [on_prop(x, DVec2::new(0.0, 8.0)); 2], pole, pocket_mm: 6.3, depth_mm: 2.2 }
    });
    let bought = |what, row: &str, count| Bought { what, row: row.to_owned(), title: format!("a {what}"), count };
    let seat = on_prop(175.0, DVec2::new(0.0, 8.0));
    vec![LidView {
        piece: LID,
        parts: vec!['A'],
        out: DVec3::Z,
        seat,
        magnets: magnets.to_vec(),
        screws: vec![Screw { at: seat + DVec3::X * 45.0, out: DVec3::Z }],
        bought: vec![
            bought("magnet", "disc-6x2", 4),
            bought("screw", "countersunk-m3x8", 1),
            bought("insert", "insert-m3", 1),
        ],
    }]
}

pub(super) fn wires() -> Vec<Wire> {
    let wire = |number, from, to, points: Vec<DVec3>, joints| {
        let way: f64 = points.windows(2).map(|p| (p[1] - p[0]).length()).sum();
        let bends = points.get(1).map(|at| Bend { at: *at, angle_deg: 30.0, radius_mm: 12.5 });
        Wire {
            number,
            from,
            to,
            wires: 2,
            bundle_mm: 3.0,
            bends: bends.into_iter().collect(),
            joints,
            homes_mm: [6.0, 8.0],
            cut_mm: Band { value: way + 30.0, low: way + 20.0, high: way + 40.0 },
            points,
        }
    };
    let at = |x: f64, up: f64| on_prop(x, DVec2::new(3.0, up));
    vec![
        wire(1, 'A', Some('C'), vec![at(210.0, 0.0), at(260.0, -5.0), at(347.0, 0.0)], vec![2]),
        wire(2, 'C', None, vec![at(372.0, 0.0), at(420.0, 3.0), at(465.0, 2.0)], vec![3]),
        wire(3, 'B', Some('C'), Vec::new(), Vec::new()),
    ]
}

pub(super) fn openings() -> Vec<Mesh> {
    parts().iter().filter_map(|p| p.mesh.bounds()).map(|b| cuboid(b.min - 0.5, b.max + DVec3::Z * 9.0)).collect()
}

/// A section through the cell in its room.
pub(super) fn section(mut through_grip: SectionView) -> SectionView {
    through_grip.label = "part A".into();
    through_grip.printed.truncate(1);
    through_grip.printed.push(circle(DVec2::ZERO, 10.0).into_iter().rev().collect());
    through_grip.spine.clear();
    through_grip.parts = vec![('A', vec![rect([-9.3, 9.3], [-9.3, 9.3])])];
    through_grip
}

/// Cans and cells to buy.
pub(super) fn shopping() -> prop::shopping::Shopping {
    use prop::catalogue::{Amount, Unit};
    use prop::shopping::{Line, PieceCost, Shopping, Weight};
    let line = |kind, title: &str, taken: f64, unit, has: f64, cost| {
        let of = |count| Amount { count, unit };
        Line {
            kind,
            row: title.to_lowercase(),
            title: title.to_owned(),
            needed: of(taken),
            taken: of(taken),
            added: "10 % spare".into(),
            has: of(has),
            missing: of((taken - has).max(0.0)),
            package: of(1.0),
            packages: (taken - has).max(0.0).ceil() as u32,
            cost,
            used: cost,
            dated: "2026-01-15".into(),
        }
    };
    Shopping {
        currency: "EUR".into(),
        lines: vec![
            line("part", "Cell <generic> & \"leads\"", 1.0, Unit::Piece, 0.0, Some([5.0, 10.0])),
            line("paint", "Paint, gold", 120.5, Unit::Ml, 400.0, None),
        ],
        pieces: (1..=LID)
            .map(|piece| PieceCost { piece, prints: 1.1, material: Some([1.0, 2.0]), finish: [0.2, 0.4] })
            .collect(),
        weights: vec![Weight { what: "pieces of grip".into(), mass_g: Band::factor(192.9, 0.85, 1.2) }],
        reprints: 0.2,
        bought: [5.0, 10.0],
        used: [5.0, 10.0],
    }
}

/// What is painted of it.
pub(super) fn finish() -> prop::finish::Finish {
    use prop::finish::{Finish, Outside, Place, Zone};
    let outside = |piece| Outside {
        piece,
        body_mm2: 14_000.0,
        windows_mm2: if (5..10).contains(&piece) { vec![(0, 2_624.0)] } else { Vec::new() },
        hollow_mm2: if piece > 3 && piece < 11 { 12_000.0 } else { 0.0 },
    };
    let coats = prop::catalogue::Catalogue::built_in().coats;
    let zone = Zone {
        name: "grip <\"&\">".into(),
        body: "grip".into(),
        place: Place::Outside,
        material: "pla-white".into(),
        pieces: vec![(2, 14_000.0), (3, 14_000.0)],
        coats: coats.into_iter().take(2).collect(),
        layers: Vec::new(),
        station_mm: [90.0, 400.0],
    };
    Finish { outsides: (1..=LID).map(outside).collect(), zones: vec![zone], wraps: vec![wrap()], ..Finish::default() }
}

/// A band along one edge of the blade.
pub(super) fn windows() -> Vec<prop::window::WindowView> {
    use prop::project::Flank;
    let line = |y: f64| vec![DVec3::new(480.0, y, 0.0), DVec3::new(1300.0, y, 0.0)];
    let outline = |low: f64, high: f64| {
        vec![[480.0, low], [1300.0, low], [1300.0, high], [480.0, high]].into_iter().map(DVec2::from_array).collect()
    };
    vec![prop::window::WindowView {
        name: "edge".into(),
        body: "blade".into(),
        implied: false,
        area_mm2: 13_120.0,
        station_mm: [480.0, 1300.0],
        zone: prop::window::Zone {
            band: Some((vec![Flank::PlusY], 8.0)),
            stations_mm: vec![[480.0, 1300.0]],
            ..prop::window::Zone::default()
        },
        lines: vec![line(40.0)],
        joined_mm: vec![430.0],
        coats: vec!["clear-gloss".into()],
        beside: vec!["primer-white".into(), "paint-gold".into()],
        side: vec![outline(-3.0, 3.0)],
        top: vec![outline(32.0, 40.0)],
    }]
}

/// A mask of it: half a tube of 10 mm, which is a rectangle.
pub(super) fn masks() -> Vec<prop::mask::Mask> {
    use prop::mask::{Mask, MaskPart};
    let mut tube = Mesh::default();
    for k in 0..=82u32 {
        for j in 0..=6u32 {
            let (s, c) = libm::sincos(std::f64::consts::PI * f64::from(j) / 6.0);
            tube.vertices.push(DVec3::new(480.0 + 10.0 * f64::from(k), 35.0 + 5.0 * s, 5.0 * c));
            if k > 0 && j > 0 {
                let a = 7 * (k - 1) + j - 1;
                tube.triangles.extend([[a, a + 7, a + 8], [a, a + 8, a + 1]]);
            }
        }
    }
    let spec = solid::FlattenSpec { limit: 0.03, slit: &|p| DVec2::new(p.y, -p.z), depth: 2 };
    let flats = solid::flatten(&tube.reversed(), &spec).expect("half a tube can be laid flat");
    let part = |flat| MaskPart { flat, station_mm: [480.0, 1300.0], looks: [0.7, 0.0], lies_mm: [38.0, 0.0] };
    vec![Mask { window: 0, parts: flats.into_iter().map(part).collect(), specks_mm2: 3.0, trouble: None }]
}

/// A door, a car and a case.
pub(super) fn passages() -> Vec<prop::admission::Passage> {
    use prop::admission::{Passage, PassageKind};
    let of = |name: &str, kind| Passage {
        name: name.into(),
        title: format!("A {name}, <usual> & wide"),
        kind,
        says: "The prop goes through upright.".into(),
        is_usual: true,
    };
    vec![
        of("door", PassageKind::Door([680.0, 1950.0])),
        of("car", PassageKind::Room([1650.0, 1000.0, 700.0])),
        of("case", PassageKind::Room([750.0, 500.0, 300.0])),
    ]
}

fn wrap() -> prop::finish::Wrap {
    let along =
        (0..125).map(|k| [121.0 + 2.0 * f64::from(k), 100.0 + 0.1 * f64::from(k), 0.05 * f64::from(k)]).collect();
    prop::finish::Wrap {
        name: "hold".into(),
        row: "strap-15".into(),
        title: "Strap, 15 mm".into(),
        body: "grip".into(),
        station_mm: [120.0, 370.0],
        pattern: prop::project::Pattern::Crossed,
        girth_mm: [100.0, 112.4],
        pitch_mm: [40.0, 40.0],
        turns: 6.25,
        along,
        band_mm: 15.0,
        bands: 2,
        cut_mm: 820.0,
        laid_mm: 760.0,
        crossings_mm: vec![140.0, 160.0],
        hands: Vec::new(),
        mass_g: 20.0,
    }
}

/// Steps of most kinds, in an order in which they can be done.
pub(super) fn steps() -> Vec<Step> {
    let deeds = [
        ("print the coupon on wide", Deed::PrintCoupon { printer: "wide".into() }, None),
        ("measure the coupon of wide", Deed::MeasureCoupon { printer: "wide".into() }, None),
        ("print wide-01", Deed::Print { plate: 0 }, None),
        ("clean up 01-pommel", Deed::Clean { piece: 1 }, Some([0.0, 90.0])),
        ("cut spine 1", Deed::CutSpine { bar: 0 }, Some([100.0, 700.0])),
        ("cut and solder strip 1", Deed::CutStrip { bar: 0 }, Some([430.0, 900.0])),
        ("solder W1", Deed::Solder { wire: 1 }, None),
        ("light it all on the bench", Deed::BenchTest, None),
        ("fit J1 dry", Deed::FitDry { joint: 1 }, Some([90.0, 90.0])),
        ("try part A in its place", Deed::TryPart { part: 'A' }, Some([130.0, 199.0])),
        ("set magnets and inserts of 12", Deed::SetHardware { piece: LID }, Some([120.0, 230.0])),
        ("lay strip, spine and wires into blade", Deed::LayIn, Some([430.0, 1500.0])),
        ("thread J3", Deed::Thread { joint: 3 }, Some([400.0, 400.0])),
        ("glue J3", Deed::Glue { joint: 3 }, Some([400.0, 400.0])),
        ("see the light at J3", Deed::SeeLight { joint: 3 }, Some([400.0, 400.0])),
        ("sand blade", Deed::Sand, Some([400.0, 1500.0])),
        ("mask edge", Deed::Mask { window: "edge".into() }, Some([430.0, 1480.0])),
        ("coat 1 of grip", Deed::Coat { bodies: vec!["grip".into()], layer: 0 }, Some([90.0, 400.0])),
        ("fit part A", Deed::FitPart { part: 'A' }, Some([130.0, 199.0])),
        ("close lid 12", Deed::CloseLid { piece: LID }, Some([120.0, 230.0])),
        ("close J2", Deed::CloseJoint { joint: 2 }, Some([250.0, 250.0])),
        ("set thresholds, brightness and volume", Deed::Tune, None),
        ("carry it for an hour", Deed::Carry, None),
    ];
    let step = |(name, deed, station_mm): (&str, Deed, Option<[f64; 2]>)| Step {
        name: name.to_owned(),
        deed,
        minutes: 90,
        hands_min: 20,
        station_mm,
    };
    deeds.into_iter().map(step).collect()
}
