//! Statistics against worked values, sheets read and refused, and what a project makes of them.

use super::*;
use crate::catalogue::{Catalogue, Origin};
use crate::project::{Project, parse};
use crate::rail::layout::Fit;
use proptest::prelude::*;

const PROJECT: &str = "[prop]\nname = \"t\"\n[shape]\nfile = \"a.stl\"\n[body.blade]\nrole = \"lit\"\nmaterial = \"abs-white\"\n\
    printers = [\"wide\"]\n[body.ring]\nrole = \"cover\"\nmaterial = \"resin-standard\"\nprinters = [\"fine\"]\n[light]\n\
    strip = \"strip-60\"\n[spine]\nbar = \"flat-aluminium-12x3\"\n[printer.wide]\nkind = \"filament-220\"\n[printer.fine]\n\
    kind = \"resin-small\"\n";

const HEADING: &str = "printer,material,row,feature,nominal,step,gap,reading,how\n";

fn project() -> Project {
    parse(PROJECT, &Catalogue::built_in()).unwrap()
}

fn note() -> Note {
    Note { date: "2026-11-25".into(), sheet: "0123456789ab".into() }
}

fn near(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b}");
}

/// The ladder and rule of a tuned printer, by hand.
fn sheet() -> String {
    let lines = [
        "wide,abs-white,12,bar-slot,12 mm,1,0.05 mm,,no",
        "wide,abs-white,12,bar-slot,12 mm,2,0.1 mm,,press",
        "wide,abs-white,12,bar-slot,12 mm,3,0.15 mm,,press",
        "wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,12.28 mm,slides",
        "wide,abs-white,12,bar-slot,12 mm,5,0.25 mm,,Slides",
        "wide,abs-white,12,bar-slot,12 mm,6,0.3 mm,,loose",
        "wide,abs-white,12,bar-slot,12 mm,7,0.35 mm,,",
        "wide,abs-white,17,outside,100 mm,1,,99.7 mm,",
        "wide,abs-white,17,inside,50 mm,1,,49.65 mm,",
        "wide,abs-white,17,hole,8 mm,2,,7.8 mm,",
        "wide,abs-white,17,hole,12 mm,3,,11.84 mm,",
    ];
    format!("# a remark\n{HEADING}{}\n", lines.join("\n"))
}

fn learnt(sheet: &str) -> Learnt {
    let read = readings(sheet, &project(), &note()).unwrap();
    Learnt { ladders: read.ladders, rules: read.rules, stock: read.stock, ..Learnt::default() }
}

#[test]
fn students_t_is_that_of_the_tables() {
    // Two-sided 95 %, NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2.
    for (freedom, table, within) in
        [(4.0, 2.776, 6e-3), (5.0, 2.571, 3e-3), (6.0, 2.447, 2e-3), (10.0, 2.228, 6e-4), (30.0, 2.042, 6e-4)]
    {
        near(student_975(freedom), table, within);
    }
    near(student_975(f64::INFINITY), 1.960, 1e-3);
}

#[test]
fn a_spread_is_what_one_reckons_by_hand() {
    // Mean 0.21, variance 0.0002; pooled (4 x 0.0004 + 1 x 0.0002) / 5 = 0.00036; t of 5 is 2.571;
    // reach 2.571 x root (0.00036 x 1.5) = 0.0597.
    let two = spread(&[0.20, 0.22], 0.02).unwrap();
    near(two.mean, 0.21, 1e-12);
    near(two.deviation, 0.000_2f64.sqrt(), 1e-12);
    near(two.high - two.mean, 0.0597, 1e-4);
    near(two.mean - two.low, two.high - two.mean, 1e-12);
    // One reading says nothing of its own spread: 2.776 x 0.02 x root 2.
    let one = spread(&[0.2], 0.02).unwrap();
    near(one.high - 0.2, 2.776 * 0.02 * 2f64.sqrt(), 2e-4);
    assert_eq!((one.count, one.deviation), (1, 0.0));
    // A hundred alike narrow it; a hundred far apart widen it.
    assert!(spread(&[0.2; 100], 0.02).unwrap().high < 0.21);
    let apart: Vec<f64> = (0..100).map(|k| if k % 2 == 0 { 0.1 } else { 0.3 }).collect();
    assert!(spread(&apart, 0.02).unwrap().high > 0.39);
    assert_eq!(spread(&[], 0.02), None);
}

#[test]
fn a_pace_shrinks_towards_what_was_taken_for_granted() {
    let own = [1.0, 0.8, 1.25];
    assert_eq!(pace(&[], own), own);
    // By hand: half the band's variance is (ln 1.5625 / 3.92)^2 / 2 = 0.006481; r = ln 1.2 = 0.18232;
    // tau2 = r^2 - s2 = 0.02676; usual r / (1 + 0.006481 / 0.02676) = 0.14678, variance 0.005217, t of 4 is 2.776.
    let [usual, low, high] = pace(&[1.2], own);
    near(usual, 1.1581, 1e-4);
    near(libm::log(high / usual), 2.776 * (0.005_217f64 + 0.006_481).sqrt(), 1e-3);
    near(libm::log(usual / low), libm::log(high / usual), 1e-12);
    // A reading that says nothing new moves nothing, and one alone is no reason for a narrower band than it deserves.
    near(pace(&[1.0], own)[0], 1.0, 1e-12);
    assert!(pace(&[1.0], own)[2] > 1.2);
    // Twelve readings outweigh the catalogue; the band is that of a piece.
    let twelve: Vec<f64> = (0..12).map(|k| if k % 2 == 0 { 1.27 } else { 1.33 }).collect();
    let [usual, low, high] = pace(&twelve, own);
    near(usual, 1.30, 0.01);
    assert!(low > 1.1 && high < 1.5, "{low} {high}");
    // A printer twice as slow as thought is believed at once: its reading lies inside its band.
    let [_, low, high] = pace(&[2.0], own);
    assert!(low < 2.0 && 2.0 < high);
}

#[test]
fn a_sheet_becomes_ladders_and_rules() {
    let all = learnt(&sheet());
    let ladder = &all.ladders[0];
    assert_eq!((ladder.press_mm, ladder.stuck_mm, ladder.slide_mm), (Some(0.15), Some(0.15), Some(0.2)));
    assert_eq!((ladder.loose_mm, ladder.feature), (Some(0.3), Feature::BarSlot));
    near(ladder.loss_mm[0], 0.12, 1e-9);
    // 100 (1-s) + b = 99.7 and 50 (1-s) - b = 49.65: s = 0.65 / 150, b = 99.7 - 100 (1-s).
    let [shrinkage, growth] = all.rules[0].shrinkage_and_growth().unwrap();
    near(shrinkage, 0.65 / 150.0, 1e-12);
    near(growth, 99.7 - 100.0 + 65.0 / 150.0, 1e-9);
    let s = summary(&all, "wide", "abs-white").unwrap();
    near(s.slide_mm.unwrap().mean, 0.175, 1e-12);
    near(s.glue_mm().unwrap(), (0.15 + 0.175) / 2.0, 1e-12);
    near(s.hole_loss_mm.unwrap().mean, 0.18, 1e-9);
    near(s.scale().unwrap().mean, 150.0 / 149.35, 1e-9);
    assert_eq!(summary(&all, "wide", "pla-white"), None);
}

#[test]
fn a_rule_printed_to_scale_tells_the_same_shrinkage() {
    // Shrinkage 0.5 %, growth 0.1 mm, printed at 100.3 %: 100 x 1.003 x 0.995 + 0.1 and 50 x 1.003 x 0.995 - 0.1.
    let text = format!(
        "{HEADING}wide,abs-white,17,outside,100 mm,1,,99.8985 mm,\nwide,abs-white,17,inside,50 mm,1,,49.79925 mm,\n\
         wide,abs-white,17,scale,100 %,1,,100.3 %,\n"
    );
    let all = learnt(&text);
    let [shrinkage, growth] = all.rules[0].shrinkage_and_growth().unwrap();
    near(shrinkage, 0.005, 1e-9);
    near(growth, 0.1, 1e-9);
    near(read(&append("", &all)).unwrap().rules[0].scale, 1.003, 1e-9);
    assert!(said("wide,abs-white,17,scale,100 %,1,,1.003,").contains("reading: 1.003 has no unit"));
    assert!(said("wide,abs-white,17,scale,100 %,1,,50 %,").contains("it must lie from"));
}

#[test]
fn what_is_written_reads_back_and_remarks_stay() {
    let mut all = learnt(&format!("{}stock,flat-aluminium-12x3,3.04 mm,12.06 mm\n", sheet()));
    all.prints.push(Print {
        printer: "wide".into(),
        piece: "a \"piece\" \\ so".into(),
        computed_s: 18_000.0,
        measured_s: 21_600.0,
        note: note(),
    });
    let text = append("", &all);
    let back = read(&text).unwrap();
    assert_eq!(back.ladders.len(), 1);
    near(back.ladders[0].loss_mm[0], 0.12, 1e-9);
    assert_eq!((&back.stock, &back.prints), (&all.stock, &all.prints));
    assert_eq!(back.rules[0].lengths_mm, all.rules[0].lengths_mm);
    near(back.rules[0].hole_loss_mm[1], all.rules[0].hole_loss_mm[1], 1e-9);
    let kept = format!("{text}\n# my own remark\n");
    let more = append(&kept, &all);
    assert!(more.starts_with(&kept));
    assert_eq!(read(&more).unwrap().ladders.len(), 2);
    assert_eq!(back.day_of("0123456789ab"), Some("2026-11-25"));
    assert_eq!(back.day_of("other"), None);
    assert!(Learnt::default().is_empty() && !back.is_empty());
}

#[test]
fn a_project_uses_what_was_learnt() {
    let mut p = project();
    let before = p.printers[1].clone();
    let all = learnt(&sheet());
    let s = summary(&all, "wide", "abs-white").unwrap();
    apply(&mut p, PROJECT, &["blade", "ring"], &all);
    let wide = &p.printers[0];
    near(wide.slot_loss_mm, s.slot_loss_mm.unwrap().high, 1e-3);
    near(wide.hole_loss_mm, s.hole_loss_mm.unwrap().high, 1e-3);
    // The slot that is drawn is the one that was seen to let the bar slide.
    near(Fit::over([wide]).drawn_gap_mm(0.0), s.slide_mm.unwrap().high, 1e-3);
    assert!(wide.slide_gap_mm[0] < wide.slide_gap_mm[1]);
    assert!(matches!(&wide.origins.slide_gap, Origin::Learnt(from) if from == "a sheet for abs-white of 2026-11-25"));
    assert_eq!(p.printers[1], before, "the resin printer was never tried");
    let said: Vec<&str> = p.learnt.iter().map(|k| k.message.as_str()).collect();
    assert!(said.iter().any(|m| m.contains("slot-loss learnt from a sheet for abs-white of 2026-11-25")), "{said:?}");
    assert!(p.learnt.iter().any(|k| k.id == "print_scale" && (k.value[0] - 100.435).abs() < 0.01), "{said:?}");
}

#[test]
fn a_bore_that_was_tried_widens_a_magnets_pocket() {
    let radius = |p: &Project| {
        let magnet = Catalogue::built_in().magnets.into_iter().find(|m| m.name == "disc-6x2").unwrap();
        crate::fixing::Pocket::of(&magnet, &Fit::over([&p.printers[0]])).radius_mm
    };
    let mut p = project();
    // Of 6.1 mm at most, in a hole that prints 0.2 mm small.
    near(radius(&p), 3.05 + 0.1, 1e-12);
    let bore = |how: [&str; 3]| {
        let steps = [(2, "0.1"), (4, "0.2"), (6, "0.3")].into_iter().zip(how);
        let lines = steps.map(|((n, gap), how)| format!("wide,abs-white,15,pin-bore,8 mm,{n},{gap} mm,,{how}\n"));
        learnt(&format!("{HEADING}{}", lines.collect::<String>()))
    };
    // By hand: pressed up to 0.2 and sliding from 0.3, the next print is pressed up to 0.2 + 2.776 x 0.02 x root 2 = 0.2785 at
    // most, and slides from half way between on: 0.25 mm a side are drawn.
    apply(&mut p, PROJECT, &["blade"], &bore(["press", "press", "slides"]));
    near(radius(&p), 3.05 + 0.25, 1e-9);
    let wide = &p.printers[0];
    near(wide.press_gap_mm, 0.25 - 0.1, 1e-9);
    assert!(matches!(&wide.origins.press_gap, Origin::Learnt(from) if from == "a sheet for abs-white of 2026-11-25"));
    // Pressed up to 0.1, sliding from 0.2: tighter than the catalogue has it.
    let mut tight = project();
    apply(&mut tight, PROJECT, &["blade"], &bore(["press", "slides", "loose"]));
    near(radius(&tight), 3.05 + 0.15, 1e-9);
    // A hole that was measured widens the pocket by what it lost, and the gap that pressed stays as it was drawn.
    let mut both = project();
    let mut all = bore(["press", "press", "slides"]);
    all.rules = learnt(&sheet()).rules;
    apply(&mut both, PROJECT, &["blade"], &all);
    near(radius(&both), 3.05 + 0.25, 1e-3);
    assert!(both.printers[0].hole_loss_mm > 0.2 && both.printers[0].press_gap_mm < wide.press_gap_mm);
    let mut hole = project();
    apply(&mut hole, PROJECT, &["blade"], &Learnt { rules: all.rules, ..Learnt::default() });
    near(radius(&hole), 3.05 + hole.printers[0].hole_loss_mm / 2.0, 1e-12);
    // What the project states stays.
    let text = PROJECT.replace("kind = \"filament-220\"", "kind = \"filament-220\"\npress-gap = \"-0.02 mm\"");
    let mut own = parse(&text, &Catalogue::built_in()).unwrap();
    apply(&mut own, &text, &["blade"], &bore(["press", "press", "slides"]));
    near(radius(&own), 3.05 + 0.08, 1e-12);
}

#[test]
fn a_rule_alone_tells_what_a_slot_loses() {
    // Faces 0.1 mm further out than drawn, both together, without shrinkage: 100.1 outside, 49.9 inside.
    let rule =
        format!("{HEADING}wide,abs-white,17,outside,100 mm,1,,100.1 mm,\nwide,abs-white,17,inside,50 mm,1,,49.9 mm,\n");
    near(summary(&learnt(&rule), "wide", "abs-white").unwrap().slot_loss_mm.unwrap().mean, 0.1, 1e-9);
    // A slot that was measured says it better.
    let both = format!("{rule}wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,12.28 mm,slides\n");
    near(summary(&learnt(&both), "wide", "abs-white").unwrap().slot_loss_mm.unwrap().mean, 0.12, 1e-9);
    let mut p = project();
    apply(&mut p, PROJECT, &["blade"], &learnt(&rule));
    // 0.1 + 2.776 x 0.05 x root 2.
    near(p.printers[0].slot_loss_mm, 0.2963, 1e-3);
}

#[test]
fn the_project_file_has_the_last_word() {
    let text = PROJECT.replace(
        "kind = \"filament-220\"",
        "kind = \"filament-220\"\nslot-loss = \"0.07 mm\"\npace = [\"120 %\", \"110 %\", \"130 %\"]",
    );
    let text = text.replace("bar = \"flat-aluminium-12x3\"", "bar = \"flat-aluminium-12x3\"\nthickness = \"3.2 mm\"");
    let mut p = parse(&text, &Catalogue::built_in()).unwrap();
    let mut all = learnt(&format!("{}stock,flat-aluminium-12x3,3.04 mm,12.06 mm\nstock,strip-60,10.2 mm\n", sheet()));
    all.prints.push(Print {
        printer: "wide".into(),
        piece: "x".into(),
        computed_s: 100.0,
        measured_s: 150.0,
        note: note(),
    });
    apply(&mut p, &text, &["blade", "ring"], &all);
    let wide = &p.printers[0];
    assert_eq!(
        (wide.slot_loss_mm, wide.hole_loss_mm, wide.pace),
        (0.07, 0.07, [1.2, 1.1, 1.3]),
        "a hole loses what a slot does"
    );
    assert_eq!(wide.origins.slot_loss.words("slot-loss"), "slot-loss in the project file");
    assert_eq!(p.spine.as_ref().unwrap().bar.size_mm, [3.2, 12.0]);
    assert_eq!(p.light.as_ref().unwrap().strip.width_mm[0], 10.2, "nobody states the strip's width");
}

#[test]
fn one_printer_takes_the_more_careful_of_two_materials() {
    let text =
        PROJECT.replace("[body.ring]", "[body.grip]\nmaterial = \"pla-white\"\nprinters = [\"wide\"]\n[body.ring]");
    let mut p = parse(&text, &Catalogue::built_in()).unwrap();
    let all = learnt(&sheet());
    apply(&mut p, &text, &["blade", "grip", "ring"], &all);
    // PLA was never tried: the catalogue's 0.2 mm a side stands, since what ABS leaves is less.
    assert_eq!((p.printers[0].slide_gap_mm[0], &p.printers[0].origins.slide_gap), (0.2, &Origin::Catalogue));
    let mut only = parse(&text, &Catalogue::built_in()).unwrap();
    apply(&mut only, &text, &["blade", "ring"], &all);
    assert!(only.printers[0].slide_gap_mm[0] < 0.2, "what no body of the shape uses does not count");
}

#[test]
fn what_is_known_of_another_printer_is_told() {
    let mut p = project();
    let mut all = learnt(&sheet());
    all.ladders[0].printer = "tall".into();
    apply(&mut p, PROJECT, &["blade"], &all);
    let told: Vec<&str> = p.learnt.iter().filter(|k| k.subject == "printer tall").map(|k| k.message.as_str()).collect();
    assert_eq!(told.len(), 1, "{:?}", p.learnt);
    assert!(told[0].contains("no printer of that name"), "{told:?}");
}

#[test]
fn stock_is_what_calipers_say() {
    let mut p = project();
    let text =
        format!("{HEADING}stock,flat-aluminium-12x3,3.10 mm,12.06 mm\nstock,flat-aluminium-12x3,3.14 mm,12.02 mm\n");
    apply(&mut p, PROJECT, &["blade"], &learnt(&text));
    let bar = &p.spine.as_ref().unwrap().bar;
    near(bar.size_mm[0], 3.12, 1e-9);
    near(bar.size_mm[1], 12.04, 1e-9);
    // Both pairs: variance 0.0008; pooled (4 x 0.0009 + 0.0008) / 5; t of 5; times root 1.5: 0.0934, up to a hundredth.
    near(bar.tolerance_mm, 0.10, 1e-9);
    assert!(
        p.learnt.iter().any(|k| k.subject == "bar flat-aluminium-12x3" && k.message.contains("2 caliper readings"))
    );
    let round = PROJECT.replace("flat-aluminium-12x3", "round-glass-10");
    let mut p = parse(&round, &Catalogue::built_in()).unwrap();
    let read = readings(&format!("{HEADING}stock, round-glass-10, 10.14 mm\n"), &p, &note()).unwrap();
    apply(&mut p, &round, &["blade"], &Learnt { stock: read.stock, ..Learnt::default() });
    assert_eq!(p.spine.as_ref().unwrap().bar.size_mm, [10.14; 2]);
}

#[test]
fn fat_stock_is_taken_out_of_the_gap_it_slid_in() {
    // The bar was 0.06 mm over: it slid with 0.03 mm less a side than was drawn.
    let fat = format!("{}stock,flat-aluminium-12x3,,thickness,3 mm,,,3.06 mm,\n", sheet());
    let gap = |text: &str| summary(&learnt(text), "wide", "abs-white").unwrap().slide_mm.unwrap().mean;
    near(gap(&sheet()) - gap(&fat), 0.03, 1e-9);
}

#[test]
fn sheets_of_other_programs_are_read() {
    let plain = learnt(&sheet());
    for changed in [
        sheet().replace(',', ";"),
        sheet().replace(',', "\t"),
        sheet().replace('\n', "\r\n"),
        format!("\u{feff}{}", sheet().replace("# a remark\n", "")),
    ] {
        assert_eq!(learnt(&changed), plain, "{changed:?}");
    }
}

/// The first mistake of a sheet, as it is shown.
fn said(lines: &str) -> String {
    let text = format!("{HEADING}{lines}\n");
    readings(&text, &project(), &note()).unwrap_err().render("readings.csv", &text)
}

#[test]
fn mistakes_are_told_at_their_place() {
    for (lines, place, words) in [
        (
            "broad,abs-white,12,bar-slot,12 mm,4,0.2 mm,,slides",
            "line 2, column 1: printer",
            "\"broad\" is not known here",
        ),
        ("wide,abs-whit,12,bar-slot,12 mm,4,0.2 mm,,slides", "column 6: material", "did you mean \"abs-white\"?"),
        ("wide,abs-white,12,bar-slit,12 mm,4,0.2 mm,,slides", "column 19: feature", "did you mean \"bar-slot\"?"),
        ("wide,abs-white,12,bar-slot,12,4,0.2 mm,,slides", "column 28: nominal", "12 has no unit"),
        ("wide,abs-white,12,bar-slot,12 mm,0,0.2 mm,,slides", "step", "not the number of a step"),
        ("wide,abs-white,12,bar-slot,12 mm,4,,,slides", "gap", "this is missing"),
        ("wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,,slid", "how", "did you mean \"slides\"?"),
        ("wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,\"12,28 mm\",", "reading", "is not a decimal point"),
        ("wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,1.228 mm,", "reading", "from what is drawn, 12.40 mm"),
        ("wide,abs-white,17,outside,100 mm,1,,99.7 mm,", "reading", "only both together"),
        ("wide,abs-white,17,outside,100 mm,1,,99.7 mm,slides", "how", "a measure has a reading only"),
        ("stock,flat-aluminium-12x3,3.1 mm", "stock", "1 readings of flat-aluminium-12x3, which has 2"),
        ("stock,flat-aluminum-12x3,3.1 mm,12 mm", "stock", "did you mean \"flat-aluminium-12x3\"?"),
        ("stock,flat-aluminium-12x3,,thickness,3 mm,,,30 mm,", "reading", "name that in the project file"),
        ("wide,abs-white,16,slide-lid,10 mm,4,0.2 mm,10.3 mm,slides", "reading", "a groove is tried, not measured"),
        ("stock", "stock", "a line about stock names it"),
        ("wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,,", "", "no line of the sheet is filled in"),
    ] {
        let said = said(lines);
        assert!(said.contains(place) && said.contains(words), "{lines}\n{said}");
        assert!(said.contains("to mend it: "), "{said}");
    }
    let harder = "wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,,slides\nwide,abs-white,12,bar-slot,12 mm,5,0.25 mm,,press";
    assert!(
        said(harder).contains("line 3") && said(harder).contains("step 5 goes harder than step 4"),
        "{}",
        said(harder)
    );
    let twice = "wide,abs-white,12,bar-slot,12 mm,4,0.2 mm,,slides\nwide,abs-white,12,bar-slot,12 mm,4,0.2 mm,,slides";
    assert!(said(twice).contains("a sheet of its own"), "{}", said(twice));
    for (text, words) in [
        ("", "the sheet is empty"),
        ("# only this\n", "the sheet is empty"),
        ("a,b\n1,2\n", "there is no column printer"),
        ("printer,printer,material,feature,nominal,step,gap,reading,how\n", "twice"),
    ] {
        let found = readings(text, &project(), &note()).unwrap_err().render("s", text);
        assert!(found.contains(words), "{found}");
    }
}

#[test]
fn times_are_read_and_pace_taken_out() {
    let mut p = project();
    p.printers[0].pace = [1.5, 1.2, 1.8];
    // The pack said 8 min to start and 5 h of layers at a pace of 150 %.
    let sheet = "piece,printer,material,predicted,measured\n03-blade,wide,abs-white,5 h 8 min,6 h 8 min\n04-blade,wide,abs-white,,2.5 h\n05-blade,wide,,,\n";
    let predictions = [Prediction { name: "04-blade".into(), printer: "wide".into(), time_s: 480.0 + 5400.0 }];
    let prints = times(sheet, &p, &predictions, &note()).unwrap();
    assert_eq!(prints.len(), 2);
    near(prints[0].measured_s / prints[0].computed_s, 1.5 * 6.0 / 5.0, 1e-9);
    near(prints[1].computed_s, 3600.0, 1e-9);
    assert!(unpredicted(sheet).unwrap());
    let said = |line: &str| {
        let text = format!("piece,printer,predicted,measured\n{line}\n");
        times(&text, &p, &predictions, &note()).unwrap_err().render("times.csv", &text)
    };
    for (line, words) in [
        ("x,wide,5 h,6", "6 has no unit"),
        ("x,wide,5 h,50 h", "times what is computed"),
        ("x,wide,2 min,1 h", "no longer than wide takes to start, 8.0 min"),
        ("x,tall,5 h,6 h", "\"tall\" is not known here"),
        ("05-blade,wide,,6 h", "did you mean \"04-blade\"?"),
        ("04-blade,fine,,6 h", "is planned on wide"),
        ("x,wide,5 h,", "no line of the sheet is filled in"),
    ] {
        assert!(said(line).contains(words), "{line}: {}", said(line));
    }
}

#[test]
fn the_file_is_held_to_its_grammar() {
    for (text, words) in [
        ("", "schema"),
        ("schema = 2\n", "out of range"),
        ("schema = 1\n[[ladder]]\nprinter = \"wide\"\n", "ladder[1].material"),
        (
            "schema = 1\n[[stock]]\nname = \"a\"\nmeasure = \"width\"\nread = []\ndate = \"d\"\nsheet = \"s\"\n",
            "no reading",
        ),
        (
            "schema = 1\n[[rule]]\nprinter = \"a\"\nmaterial = \"b\"\noutside = [\"100 mm\", \"99 mm\"]\ndate = \"d\"\nsheet = \"s\"\n",
            "both outside and inside",
        ),
        (
            "schema = 1\n[[print]]\nprinter = \"a\"\npiece = \"b\"\ncomputed = \"0 s\"\nmeasured = \"9 s\"\ndate = \"d\"\nsheet = \"s\"\n",
            "too small",
        ),
        ("schema = 1\nladder = 3\n", "a list"),
        ("schema = 1\n[other]\n", "there is no table [other]"),
    ] {
        let found = read(text).unwrap_err().render("learnt.toml", text);
        assert!(found.contains(words), "{text}\n{found}");
    }
}

proptest! {
    #[test]
    fn no_sheet_and_no_file_panics(text in "[\\PC\n\r\",;#]{0,200}", cells in prop::collection::vec("(wide|abs-white|bar-slot|outside|stock|12 mm|0.2 mm|-1 mm|4|slides|\"|[a-z0-9 .]{0,6})", 0..24)) {
        let p = project();
        let lines: String = cells.chunks(9).map(|c| c.join(",") + "\n").collect();
        for sheet in [text.clone(), format!("{HEADING}{lines}"), format!("{HEADING}{text}")] {
            let found = readings(&sheet, &p, &note());
            if let Err(found) = found {
                let _ = found.render("s", &sheet);
            }
            let _ = times(&sheet.replace("nominal", "predicted").replace("reading", "measured").replace("row", "piece"), &p, &[], &note());
        }
        let _ = read(&text);
    }
}
