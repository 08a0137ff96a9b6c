//! The circuit of a made-up staff: known parts, wires of known lengths, a straight strip.

use super::*;
use crate::catalogue::Catalogue;
use crate::finding::Verdict;
use crate::outcome::{Bought, JointKind, TakeDown};
use crate::project::parse;
use circuit::{Wire as Copper, drop_fed_at_both_ends, drop_fed_at_one_end, foil_ohm};
use solid::DAffine3;

const HEAD: &str = r#"[prop]
name = "staff"
[shape]
file = "staff.3mf"
length = "150 cm"
[body.blade]
role = "lit"
[light]
strip = "strip-60"
rows = 1
[printer.bench]
kind = "filament-220"
"#;

/// A bench without a shape: connections as (from, to, wires, length to cut), to 0 is the strip.
struct Bench {
    project: Project,
    wires: Vec<Wire>,
    way: Vec<DVec3>,
    pixels: Vec<Pixel>,
    path: CentrePath,
    joints: Vec<Joint>,
}

fn part(name: &str, kind: &str, more: &str) -> String {
    format!("[part.{name}]\nkind = \"{kind}\"\nin = \"grip\"\n{more}\n")
}

/// Cell, fuse, converter, controller.
fn usual() -> String {
    part("cell", "cell-18650", "")
        + &part("fuse", "fuse-blade", "")
        + &part("boost", "converter-5v", "")
        + &part("brain", "controller-small", "data = \"5 V\"")
}

fn bench(text: &str, nets: &[(char, Option<char>, u32, f64)], pixels: u32) -> Bench {
    let project = parse(&format!("{HEAD}{text}"), &Catalogue::built_in()).unwrap_or_else(|e| panic!("{:?}", e.0));
    let wire = |k: usize, (from, to, wires, cut): (char, Option<char>, u32, f64)| Wire {
        number: k as u32 + 1,
        from,
        to,
        wires,
        bundle_mm: 3.0,
        points: vec![DVec3::ZERO, DVec3::X * (cut - 30.0)],
        bends: Vec::new(),
        joints: Vec::new(),
        homes_mm: [5.0; 2],
        cut_mm: Band::about(cut, 10.0),
    };
    let pitch = 1000.0 / 60.0;
    let pixel = |k: u32| Pixel {
        number: k + 1,
        strip: 1,
        station_mm: 400.0 + pitch * f64::from(k),
        point: DVec3::new(400.0 + pitch * f64::from(k), 5.0, 0.0),
        facing: DVec3::Y,
    };
    let end = 400.0 + pitch * f64::from(pixels.max(1) - 1);
    Bench {
        project,
        wires: nets.iter().enumerate().map(|(k, n)| wire(k, *n)).collect(),
        way: vec![DVec3::X * end, DVec3::X * 400.0, DVec3::X * 380.0],
        pixels: (0..pixels).map(pixel).collect(),
        path: CentrePath::new(vec![DVec3::ZERO, DVec3::X * 1500.0]).unwrap(),
        joints: Vec::new(),
    }
}

impl Bench {
    fn work(&self) -> PowerWork<'_> {
        PowerWork {
            project: &self.project,
            parts: &[],
            wires: &self.wires,
            wire_way: &self.way,
            pixels: &self.pixels,
            joints: &self.joints,
            path: &self.path,
            light: None,
            conduct: None,
            room_for: &|row, count| row.size_mm[1] * f64::from(count) < 20.0,
        }
    }

    fn power(&self) -> (Power, Vec<Finding>) {
        power(&self.work()).unwrap().unwrap()
    }
}

const CHAIN: [(char, Option<char>, u32, f64); 4] =
    [('A', Some('B'), 2, 100.0), ('B', Some('C'), 2, 120.0), ('C', Some('D'), 2, 80.0), ('D', None, 3, 200.0)];

fn found<'f>(findings: &'f [Finding], id: &str) -> &'f Finding {
    findings.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("no {id}"))
}

#[test]
fn the_wire_to_the_strip_is_as_long_as_its_way() {
    let b = bench(&usual(), &CHAIN, 60);
    let s = supply::trace(&b.work()).unwrap();
    let ends: Vec<(usize, Option<usize>)> = s.feeders.iter().map(|f| (f.from, f.to)).collect();
    assert_eq!(ends, [(0, Some(1)), (1, Some(2)), (2, Some(3)), (3, None)]);
    // 200 to cut, 20 along the way, 5 square off to the first pixel; to the last pixel 59 pitches more.
    assert!((s.feeders[3].cut_mm.value - 225.0).abs() < 1e-9, "{:?}", s.feeders[3]);
    let far = s.far_mm.unwrap();
    assert!((far.value - (225.0 + 59.0 * 1000.0 / 60.0)).abs() < 1e-9, "{far:?}");
    // A way that ends short of the strip's end feeds no far pads.
    let short = Bench { way: vec![DVec3::X * 900.0, DVec3::X * 380.0], ..b };
    assert_eq!(supply::trace(&short.work()).unwrap().far_mm, None);
}

/// The published sum of the ladder: equal loads I along spacings r of both rails, I r N(N+1)/2 from one end, I r N(N+2)/8 from
/// both (even N).
#[test]
fn a_strip_drops_as_the_ladder_says() {
    let b = bench(&(usual() + "[power]\ngauge = 22\n"), &CHAIN, 20);
    let work = b.work();
    let s = supply::trace(&work).unwrap();
    let drop = |feed: Feed| {
        let design = Design { awg: 22, feed, cap: 0.2, fuse_a: Some(5.0) };
        let wired = net::network(&work, &s, &design, &net::Change::default()).unwrap();
        let white = usage::flash(&work);
        let demand = Demand { scene: &white, light: 0.2, sound_w: 0.0 };
        let state = wired.net.solve(&demand, &Conditions::full_at(20.0)).unwrap();
        state.volt(wired.pads[0][0], wired.pads[0][1]) - state.lowest_pixel().unwrap().2
    };
    // 3 channels of 20 mA at a fifth, 1 mA for the chip; a rail 2.5 mm wide of 70 micrometres.
    let (each_a, pitch_ohm) = (0.2 * 0.06 + 0.001, 2.0 * foil_ohm(1000.0 / 60.0, 2.5, 70.0));
    let one = drop_fed_at_one_end(20, 20, each_a, pitch_ohm);
    assert!((drop(Feed::Start) - one).abs() < 1e-5, "{} {one}", drop(Feed::Start));
    // From both ends less, if not the quarter of like feeds, since the far wires are longer.
    let both = drop_fed_at_both_ends(20, each_a, pitch_ohm);
    assert!((both..one).contains(&drop(Feed::Both)), "{}", drop(Feed::Both));
}

#[test]
fn a_strip_is_fed_at_both_ends_only_where_wires_were_led_for_it() {
    let asked = usual() + "[power]\nfeed = \"both\"\n";
    let mut nets = CHAIN;
    let (p, findings) = bench(&asked, &nets, 30).power();
    assert_eq!((p.design.feed, found(&findings, "feed_points").verdict), (Feed::Start, Verdict::Fails));
    nets[3].2 = 5;
    let (p, findings) = bench(&asked, &nets, 30).power();
    assert_eq!((p.design.feed, found(&findings, "feed_points").verdict), (Feed::Both, Verdict::Holds));
    let strip: Vec<String> = p.loom.iter().filter(|c| c.bundle == 4).map(|c| c.to.words()).collect();
    let pads = ["first pads +", "first pads -", "first pads data", "far pads +", "far pads -"];
    assert_eq!(strip, pads.map(|p| format!("strip {p}")));
}

#[test]
fn charge_and_energy_add_up_and_the_day_agrees_with_the_runtime() {
    let b = bench(&(usual() + "[power]\nday = \"30 h\"\ncap = \"20 %\"\n"), &CHAIN, 40);
    let (p, findings) = b.power();
    assert!(p.day.unbalanced < 1e-6, "{}", p.day.unbalanced);
    // Drawn is lost: the cell's capacity is 3 Ah.
    assert!((p.day.drawn_c / (3.0 * 3600.0) - (1.0 - p.day.charge)).abs() < 1e-6);
    assert!((p.day.lasted_s / p.runtime.runtime.lasts_s - 1.0).abs() < 0.05, "{} {:?}", p.day.lasted_s, p.runtime);
    assert!(p.runtime.least_s < p.runtime.runtime.lasts_s && p.runtime.most_s > p.runtime.runtime.lasts_s);
    assert_eq!(found(&findings, "power_lasts").verdict, Verdict::Fails);
    // Dimmer lasts longer.
    assert!(p.brightness.windows(2).all(|w| w[1][1] > w[0][1]), "{:?}", p.brightness);
}

#[test]
fn the_cap_is_the_most_that_holds() {
    let b = bench(&usual(), &CHAIN, 60);
    let (p, findings) = b.power();
    assert!((0.02..1.0).contains(&p.design.cap), "{:?}", p.design);
    for id in ["power_pixels", "power_peak", "power_converter", "power_brownout", "power_colour"] {
        assert_eq!(found(&findings, id).verdict, Verdict::Holds, "{:?}", found(&findings, id));
    }
    // A little more, and it does not.
    let more = format!("[power]\ncap = \"{:.0} %\"\n", 100.0 * (p.design.cap + 0.03).min(1.0));
    let (_, findings) = bench(&(usual() + &more), &CHAIN, 60).power();
    let fails = findings.iter().any(|f| f.id.starts_with("power_") && f.verdict == Verdict::Fails);
    assert!(fails, "{findings:?}");
    // Two cells side by side allow more.
    let two = p.choices.iter().find(|c| c.what == "two cell-21700 side by side").unwrap();
    assert!(two.cap.unwrap() > p.design.cap && two.hours > crate::power::hours(p.runtime.runtime.lasts_s), "{two:?}");
}

#[test]
fn a_thin_wire_and_a_large_fuse_fail() {
    let b = bench(&(usual() + "[power]\ngauge = 30\nfuse = \"10 A\"\ncap = \"10 %\"\n"), &CHAIN, 30);
    let (_, findings) = b.power();
    // The published table lets 30 gauge carry 0.86 A.
    let saves = found(&findings, "fuse_saves");
    assert_eq!((saves.verdict, saves.limit.as_ref().unwrap().max), (Verdict::Fails, Some(0.86)));
}

#[test]
fn a_controller_behind_a_converter_sees_the_cell() {
    let mut nets = CHAIN;
    nets[2].2 = 3;
    let (p, _) = bench(&usual(), &nets, 10).power();
    let sense = p.loom.iter().find(|c| c.name == "W3.3").unwrap();
    assert_eq!((sense.from.words(), sense.to.words()), ("C + in".to_owned(), "D cell".to_owned()));
    let wired = crate::bay::wires::connections(&parse(&format!("{HEAD}{}", usual()), &Catalogue::built_in()).unwrap());
    let wires = |from: usize, to: usize| wired.iter().find(|n| n.from == from && n.to == Some(to)).map(|n| n.wires);
    assert_eq!([wires(0, 1), wires(1, 2), wires(2, 3)], [Some(2), Some(2), Some(3)]);
}

#[test]
fn leads_beside_the_fuse_are_told() {
    let charged = usual() + &part("charging", "charger-port", "");
    let told = |last: (char, Option<char>, u32, f64)| {
        let (_, findings) = bench(&charged, &[&CHAIN[..], &[last]].concat(), 10).power();
        findings.iter().filter(|f| f.id == "fuse_near").map(|f| f.message.clone()).collect::<Vec<_>>()
    };
    let beside = told(('E', Some('A'), 2, 50.0));
    assert!(beside.len() == 2 && beside[1].starts_with("W5 runs from the cell without passing its fuse"), "{beside:?}");
    assert_eq!(told(('E', Some('B'), 2, 50.0)).len(), 1);
}

#[test]
fn data_of_three_volts_is_too_low_for_a_strip_of_five() {
    let low = bench(&usual().replace("data = \"5 V\"", ""), &CHAIN, 10).power().1;
    assert_eq!(found(&low, "data_level").verdict, Verdict::Fails);
    assert!((found(&low, "data_level").limit.as_ref().unwrap().min.unwrap() - 0.7 * 5.1).abs() < 0.05);
    assert_eq!(found(&bench(&usual(), &CHAIN, 10).power().1, "data_level").verdict, Verdict::Holds);
}

/// 0.7 of what the first pixel gets, with and without a diode of 0.6 V before it: 3.57 V and 3.15 V of 5.1 V, so 3.3 V are read behind
/// the diode only; what it hands on, 4.3 V, is enough. 3.0 V are read by neither.
#[test]
fn the_first_pixel_s_threshold_is_said_with_and_without_a_diode() {
    let level = |data: &str, diode: &str| {
        let text = usual().replace("data = \"5 V\"", data) + diode;
        found(&bench(&text, &CHAIN, 10).power().1, "data_level").clone()
    };
    let diode = "[power]\ndiode = true\n";
    let [bare, behind, weak] =
        [("", ""), ("", diode), ("data = \"3.0 V\"", diode)].map(|(data, diode)| level(data, diode));
    assert_eq!([&bare, &behind, &weak].map(|f| f.verdict), [Verdict::Fails, Verdict::Holds, Verdict::Fails]);
    let least = |f: &Finding| f.limit.as_ref().unwrap().min.unwrap();
    assert!(
        (least(&bare) - 3.57).abs() < 0.03 && (least(&bare) - least(&behind) - 0.42).abs() < 1e-9,
        "{bare:?} {behind:?}"
    );
    for f in [&bare, &behind] {
        for (words, volt) in [("takes", least(&bare)), ("diode takes", least(&bare) - 0.42)] {
            assert!(f.message.contains(&format!("{words} {volt:.2} V")), "{words} {volt}: {}", f.message);
        }
        assert!(f.message.contains("and does not read it; a first pixel"), "{}", f.message);
        assert!(f.message.contains("V, enough for the strip"), "{}", f.message);
    }
    assert!(bare.remedy.contains("power.diode = true"), "{}", bare.remedy);
    assert!(weak.message.matches("does not read it").count() == 2 && !weak.remedy.contains("diode"), "{weak:?}");
}

#[test]
fn a_meter_reads_what_flows_through_the_wires() {
    let (p, _) = bench(&usual(), &CHAIN, 30).power();
    let point = |what: &str| p.bench.iter().find(|b| b.what.contains(what)).unwrap_or_else(|| panic!("{what}"));
    // Rested at 65 % of its charge: 3.895 V by the curve.
    assert!((p.bench_rest_v - 3.895).abs() < 2e-3, "{}", p.bench_rest_v);
    let amps = point("current").lit.value;
    // Between fuse and converter lie two wires of 120 mm.
    let wire = 2.0 * amps * Copper::stranded(p.design.awg, 120.0).ohm();
    let fuse = point("across fuse").lit.value;
    let (cell, into) = (point("at its leads").lit.value, point("into boost").lit.value);
    let lead = 2.0 * amps * Copper::stranded(p.design.awg, 100.0).ohm();
    assert!((cell - into - fuse - wire - lead).abs() < 2e-3, "{cell} {into} {fuse} {wire} {lead}");
    for b in &p.bench {
        assert!(b.dark.low <= b.dark.value && b.dark.value <= b.dark.high, "{b:?}");
        assert!(b.lit.low <= b.lit.value && b.lit.value <= b.lit.high, "{b:?}");
    }
}

#[test]
fn every_wire_is_listed_with_its_fuse_and_colour() {
    let (p, _) = bench(&usual(), &CHAIN, 30).power();
    let names: Vec<String> =
        p.loom.iter().map(|c| format!("{} {} {} {}", c.name, c.from.words(), c.to.words(), c.colour.1)).collect();
    assert_eq!(names[0], "W1.1 A + B + in RD");
    assert_eq!(names[1], "W1.2 A - B - runs on BK");
    assert_eq!(names[8], "W4.3 D data strip first pads data GN");
    assert_eq!(p.loom[0].fuse_a, None, "nothing saves the wire before the fuse");
    assert_eq!(p.loom[2].fuse_a, p.design.fuse_a);
}

#[test]
fn a_board_with_its_own_converter_feeds_what_hangs_on_it() {
    let parts = part("cell", "cell-18650", "") + &part("fuse", "fuse-blade", "") + &part("brain", "controller-5v", "");
    let nets = [('A', Some('B'), 2, 100.0), ('B', Some('C'), 2, 120.0), ('C', None, 3, 200.0)];
    let (p, findings) = bench(&(parts + "[power]\ncap = \"20 %\"\n"), &nets, 40).power();
    for id in ["power_pixels", "power_converter", "power_brownout", "data_level"] {
        assert_eq!(found(&findings, id).verdict, Verdict::Holds, "{:?}", found(&findings, id));
    }
    assert!(p.worst.pixel_v.unwrap().value > 4.5, "{:?}", p.worst);
    assert!(p.choices.iter().all(|c| !c.what.contains("before the controller")), "{:?}", p.choices);
}

#[test]
fn a_recording_takes_the_place_of_modes_and_keeps_its_charge() {
    let recorded = usual() + "[power]\ncap = \"20 %\"\nrecorded = \"levels.csv\"\nstep = \"100 ms\"\n";
    let mut b = bench(&recorded, &CHAIN, 40);
    // Full light of 40 pixels, three channels of 20 mA: 2.4 A. A tenth of it for a quarter of the time, and silence.
    let text = "t_s,current_a,sound_dbfs\n0,0.24,\n1,0,\n4,0,\n4.000001,0,\n";
    b.project.power.as_mut().unwrap().recording = Recording::read(text).unwrap();
    let (by_record, _) = b.power();
    let modes = "[power]\ncap = \"20 %\"\n[power.use.half]\ntime = \"15 min\"\nlight = \"50 %\"\n";
    let (by_modes, _) = bench(&(usual() + modes), &CHAIN, 40).power();
    let [a, b] = [&by_record, &by_modes].map(|p| p.runtime.runtime.lasts_s);
    assert!((a / b - 1.0).abs() < 2e-3, "{a} {b}");
    assert!(by_record.day.unbalanced < 1e-6, "{}", by_record.day.unbalanced);
}

#[test]
fn the_smallest_cell_that_lasts_is_the_one_that_finds_room() {
    let use_of = |light: u32| {
        format!("[power]\ncap = \"10 %\"\nday = \"8 h\"\n[power.use.all]\ntime = \"1 h\"\nlight = \"{light} %\"\n")
    };
    // The bench has room for one cell of less than 20 mm.
    let (p, findings) = bench(&(usual() + &use_of(60)), &CHAIN, 40).power();
    let words = &found(&findings, "cell_smallest").message;
    let lasts = p.runtime.runtime.lasts_s >= p.rules.day_s;
    assert!(!lasts && p.smallest.is_none(), "{words}");
    assert!(words.contains("no room was found for") && words.contains("one cell-21700"), "{words}");
    let tried: Vec<(&str, bool)> = p.choices.iter().filter_map(|c| c.fits.map(|f| (c.what.as_str(), f))).collect();
    assert!(tried.iter().all(|t| !t.1), "{tried:?}");
    // With little light the project's own holds, and smaller ones do not.
    let (p, findings) = bench(&(usual() + &use_of(5)), &CHAIN, 40).power();
    let words = &found(&findings, "cell_smallest").message;
    assert_eq!(p.smallest.as_ref().map(|s| s.hours), Some(None), "{words} {:?}", p.choices);
}

#[test]
fn a_plug_in_a_joint_is_in_the_circuit_and_every_joint_is_tested() {
    let joint = "[joint.middle]\nat = \"700 mm\"\nkind = \"bayonet\"\nconnector = \"pair-3\"\n";
    let text = usual() + joint + "[power]\ncap = \"20 %\"\ngauge = 22\n";
    let mut b = bench(&text, &CHAIN, 40);
    b.wires[3].joints = vec![1];
    let (bare, _) = b.power();
    let connector = b.project.joints[0].connector.clone().unwrap();
    let take_down = TakeDown {
        name: "middle".to_owned(),
        plug: crate::project::Side::Butt,
        axes: DAffine3::IDENTITY,
        reach_mm: 12.0,
        gap_mm: 0.2,
        section_mm: 30.0,
        cap: false,
        turn_deg: 30.0,
        bumps: Vec::new(),
        holes: Vec::new(),
        magnets: Vec::new(),
        bought: vec![Bought {
            what: "connector",
            row: connector.name.clone(),
            title: connector.title.clone(),
            count: 1,
        }],
        rod_stands_mm: 0.0,
    };
    b.joints = vec![Joint {
        number: 1,
        frame: b.path.frame(700.0),
        kind: JointKind::Bayonet,
        pieces: [1, 2],
        glue_mm2: 0.0,
        locked: true,
        pegs: None,
        take_down: Some(take_down),
        show: crate::project::Show::Both,
    }];
    let (plugged, findings) = b.power();
    let pads = |p: &Power| p.bench.iter().find(|b| b.what == "strip, first pads").unwrap().lit.value;
    let amps = plugged.bench.iter().find(|b| b.unit == "A").unwrap().lit.value;
    // Two contacts of 20 milliohms carry what the strip takes: the cell's current less a little, at 5 V for 3.9 V.
    let lost = pads(&bare) - pads(&plugged);
    assert!(lost > 0.0 && lost < 2.0 * 0.020 * amps, "{lost} {amps}");
    assert!(lost > 2.0 * 0.020 * amps * 0.5, "{lost} {amps}");
    let bears = found(&findings, "plug_bears");
    assert_eq!((bears.verdict, bears.limit.as_ref().unwrap().max), (Verdict::Holds, Some(connector.rated_a)));
    // The joint lies among the pixels: the strip is tested there, and the wires that are said to cross it.
    let here: Vec<&str> = plugged.bench.iter().map(|b| b.what.as_str()).filter(|w| w.contains("J1")).collect();
    assert_eq!(here, ["W4 at joint J1", "strip 1 at joint J1"]);
    for b in plugged.bench.iter().filter(|b| b.what.contains("J1")) {
        assert!(b.lit.value < b.dark.value && b.lit.value > 4.0, "{b:?}");
    }
    // Where the strip's wires cross it beside the rail, before the first pixel, its contacts are in them all the same.
    b.joints[0].frame = b.path.frame(390.0);
    b.wires[3].joints.clear();
    let (beside, _) = b.power();
    assert!((pads(&bare) - pads(&beside)) > 2.0 * 0.020 * amps * 0.5, "{} {}", pads(&bare), pads(&beside));
    let crossing: Vec<&str> = beside.loom.iter().filter(|c| c.joints == [1]).map(|c| c.name.as_str()).collect();
    assert_eq!(crossing, ["W4.1", "W4.2", "W4.3"]);
}

/// A converter takes in no more than its limit: what is asked of it is what counts.
#[test]
fn a_converter_that_is_asked_for_too_much_fails() {
    let small = usual()
        .replace("kind = \"converter-5v\"\nin = \"grip\"", "kind = \"converter-5v\"\nin = \"grip\"\nmost = \"1 A\"");
    let (p, findings) = bench(&(small + "[power]\ncap = \"30 %\"\n"), &CHAIN, 60).power();
    let asked = found(&findings, "power_converter");
    // 60 pixels of three times 20 mA at 30 %, 5.1 V over 88 %, from a cell of 3 to 3.6 V: 1.7 A to 2.2 A with all else.
    assert_eq!(asked.verdict, Verdict::Fails, "{asked:?}");
    assert!((1.6..2.4).contains(&asked.measured.value), "{asked:?}");
    assert!(
        p.smallest.as_ref().is_none_or(|s| s.hours.is_some()),
        "the project's own does not hold it: {:?}",
        p.smallest
    );
}

#[test]
fn a_strip_that_the_cell_cannot_carry_is_told_without_a_controller_too() {
    let parts = part("cell", "cell-18650", "resistance = \"900 mohm\"")
        + &part("fuse", "fuse-blade", "")
        + &part("boost", "converter-5v", "");
    let nets = [('A', Some('B'), 2, 100.0), ('B', Some('C'), 2, 120.0), ('C', None, 3, 200.0)];
    let (p, findings) = bench(&(parts + "[power]\ncap = \"100 %\"\n"), &nets, 60).power();
    let broken = found(&findings, "power_brownout");
    assert_eq!(broken.verdict, Verdict::Fails, "{broken:?}");
    assert!(broken.message.contains("can be carried") && broken.message.contains("C boost"), "{broken:?}");
    // The lit test is with less than the cap, and read as such.
    assert!(p.bench_light > 0.0 && p.bench_light < p.design.cap, "{}", p.bench_light);
    let strip = p.bench.iter().find(|b| b.what == "strip, first pads").unwrap();
    assert!(strip.lit.low > 2.0 && strip.lit.low < strip.lit.high, "{strip:?}");
}

#[test]
fn all_wire_before_the_fuse_counts() {
    let parts = part("cell", "cell-18650", "")
        + &part("toggle", "switch-push-12", "")
        + &part("fuse", "fuse-blade", "")
        + &part("brain", "controller-small", "");
    let near = |first: f64| {
        let nets =
            [('A', Some('B'), 2, first), ('B', Some('C'), 2, 120.0), ('C', Some('D'), 2, 80.0), ('D', None, 3, 200.0)];
        let (_, findings) = bench(&parts, &nets, 10).power();
        let near: Vec<Finding> = findings.into_iter().filter(|f| f.id == "fuse_near").collect();
        assert_eq!(near.len(), 1, "{near:?}");
        (near[0].verdict, near[0].measured.value)
    };
    // The bench's ways are 30 mm shorter than what is cut.
    assert_eq!([near(100.0), near(150.0)], [(Verdict::Holds, 160.0), (Verdict::Fails, 210.0)]);
}

#[test]
fn flashes_last_as_long_at_any_step() {
    for (flashes, step) in [(4, "10 ms"), (4, "100 ms"), (7, "100 ms"), (4, "1 s"), (60, "1 s"), (13, "700 ms")] {
        let text = format!(
            "[power]\nstep = \"{step}\"\n[power.use.all]\ntime = \"20 min\"\nlight = \"10 %\"\nflashes = {flashes}\n"
        );
        let b = bench(&(usual() + &text), &CHAIN, 10);
        let used = usage::usage(&b.work(), b.project.power.as_ref().unwrap(), 0.5, 0.0);
        let lit = used.moments.iter().filter(|m| m.scene == 0 && m.light == 0.5).count() as f64 * used.step_s;
        let said = 20.0 * f64::from(flashes) * 0.3;
        assert!((lit - said).abs() <= used.step_s, "{flashes} {step}: {lit} {said}");
    }
}

#[test]
fn without_a_strip_nothing_is_said_of_one() {
    let (_, findings) = bench(&usual(), &CHAIN[..3], 0).power();
    let words = &found(&findings, "power_chosen").message;
    assert!(words.contains("AWG") && !words.contains("strip") && !words.contains("brightness"), "{words}");
}

#[test]
fn wires_that_a_maker_names_count() {
    let wires = |text: &str| -> Vec<u32> {
        let project = parse(&format!("{HEAD}{text}"), &Catalogue::built_in()).unwrap_or_else(|e| panic!("{:?}", e.0));
        crate::bay::wires::connections(&project).iter().map(|n| n.wires).collect()
    };
    assert_eq!(wires(&usual()), [2, 2, 3, 3]);
    // A third lead that tells the cell's warmth.
    let warm = part("cell", "cell-18650", "wires = 3") + &part("brain", "controller-small", "");
    assert_eq!(wires(&warm), [3, 3]);
}

#[test]
fn faults_have_names_and_places() {
    let fault = |text: &str, nets: &[(char, Option<char>, u32, f64)]| {
        let b = bench(text, nets, 10);
        power(&b.work()).map(|p| p.is_some()).map_err(|e| (e.key().join("."), e.to_string()))
    };
    let cellless = part("brain", "controller-small", "");
    assert_eq!(fault(&cellless, &[('A', None, 3, 100.0)]), Ok(false), "nothing is said of power");
    let (key, said) = fault(&(cellless + "[power]\n"), &[('A', None, 3, 100.0)]).unwrap_err();
    assert!(key == "power" && said.contains("no cell"), "{key}: {said}");
    let (key, said) = fault(&usual(), &CHAIN[..3]).unwrap_err();
    assert!(key == "part.cell.to" && said.contains("strip has no supply"), "{key}: {said}");
    let (key, said) = fault(&usual(), &[]).unwrap_err();
    assert!(key == "part.cell.to" && said.contains("wired to nothing"), "{key}: {said}");
    let ring = [CHAIN.as_slice(), &[('B', Some('D'), 2, 90.0)]].concat();
    let (key, said) = fault(&usual(), &ring).unwrap_err();
    assert!(key == "part.brain.to" || key == "part.boost.to", "{key}");
    assert!(said.contains("close a loop"), "{said}");
    let mut one = CHAIN;
    one[0].2 = 1;
    let (key, said) = fault(&usual(), &one).unwrap_err();
    assert!(key == "part.fuse.wires" && said.contains("two: plus and minus"), "{key}: {said}");
    let unlike = usual() + &part("other", "cell-21700", "");
    let (key, said) = fault(&unlike, &CHAIN).unwrap_err();
    assert!(key == "part.other.kind" && said.contains("differ"), "{key}: {said}");
}

#[test]
fn what_is_written_wrong_is_said_at_its_place() {
    let said = |text: &str| -> Vec<String> {
        parse(&format!("{HEAD}{text}"), &Catalogue::built_in()).unwrap_err().0.into_iter().map(|d| d.key).collect()
    };
    assert_eq!(said("[power]\ngauge = 3\n"), ["power.gauge"]);
    assert_eq!(said("[power]\ncap = \"0 %\"\n"), ["power.cap"]);
    assert_eq!(said("[power]\ncold = \"30 C\"\n"), ["power.cold"]);
    assert_eq!(said("[power]\nfeed = \"middle\"\n"), ["power.feed"]);
    assert_eq!(said("[power.use.show]\nlight = \"30 %\"\n"), ["power.use.show.time"]);
    assert_eq!(said("[power.use.a]\ntime = \"40 min\"\n[power.use.b]\ntime = \"30 min\"\n"), ["power.use"]);
    assert_eq!(said("[power]\nstep = \"1 h\"\n"), ["power.step"]);
    assert_eq!(said("[power]\nrecorded = \"a.csv\"\n[power.use.show]\ntime = \"1 min\"\n"), ["power.recorded"]);
    assert_eq!(said("[power]\nvolts = \"5 V\"\n"), ["power.volts"]);
    let negative = part("cell", "cell-18650", "resistance = \"-60 mohm\"");
    assert_eq!(said(&negative), ["part.cell.resistance"]);
}
