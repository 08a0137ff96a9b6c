//! Plans of small props, each judged by the order that bites, whatever the planner says.

use super::joining::Workpiece;
use super::*;
use crate::catalogue::Catalogue;
use crate::finding::{Band, Verdict};
use crate::finish::Outside;
use crate::outcome::{Body, Joint, JointKind, Piece, Plate, Pose, Role};
use crate::path::CentrePath;
use solid::{DAffine3, DVec3, cuboid};

/// Three pieces of a lit blade, at two glued joints, with a strip and a wire.
pub(crate) fn blade(plan: &str, glue: &str) -> (Project, Outcome) {
    let text = format!(
        "[prop]\nname = \"Blade\"\n[shape]\nfile = \"a.3mf\"\n[light]\nstrip = \"strip-60\"\n[body.blade]\nrole = \"lit\"\nmaterial = \"pla-white\"\n\
         coats = [\"primer-white\", \"paint-bronze\"]\n[strength]\nglue = {glue:?}\n[printer.one]\nkind = \"filament-220\"\n{plan}\n"
    );
    let project = crate::project::parse(&text, &Catalogue::built_in()).expect("a project");
    let path = CentrePath::new((0..=60).map(|k| DVec3::new(f64::from(k) * 10.0, 0.0, 0.0)).collect()).expect("a path");
    let mesh = cuboid(DVec3::new(0.0, -30.0, -10.0), DVec3::new(600.0, 30.0, 10.0));
    let piece = |number: u32| Piece {
        number,
        name: format!("{number:02}-blade"),
        body: "blade".into(),
        role: Role::Lit,
        mesh: mesh.clone(),
        to_prop: DAffine3::IDENTITY,
        station_mm: [f64::from(number - 1) * 200.0, f64::from(number) * 200.0],
        printer: "one".into(),
        bed_mm: [220.0, 220.0, 250.0],
        pose: Pose::Upright,
        wall_mm: Some(2.0),
        material: "pla-white".into(),
        mass_g: Band::exact(100.0),
        print_time_s: Band::exact(36_000.0),
        volume_mm3: 1.0,
        taken_mm3: 0.0,
        added_mm3: 0.0,
        show_inside: false,
    };
    let joint = |number: u32| Joint {
        number,
        frame: path.frame(f64::from(number) * 200.0),
        kind: JointKind::Collar,
        pieces: [number, number + 1],
        glue_mm2: 400.0,
        locked: false,
        pegs: None,
        take_down: None,
        show: crate::project::Show::Both,
    };
    let plate = |number: u32| Plate {
        name: format!("one-{number:02}"),
        printer: "one".into(),
        number,
        by_hand: None,
        bed_mm: [220.0, 220.0, 250.0],
        margin_mm: 5.0,
        spacing_mm: 5.0,
        material: "pla-white".into(),
        pieces: vec![crate::outcome::OnPlate {
            piece: number,
            to_plate: DAffine3::IDENTITY,
            outline: vec![],
            brim_mm: 0.0,
        }],
        time_s: Band { value: 36_000.0, low: 30_000.0, high: 45_000.0 },
        mass_g: Band::exact(100.0),
        fits: true,
    };
    let body = Body { name: "blade".into(), role: Role::Lit, mesh: mesh.clone(), station_mm: [0.0, 600.0] };
    let wire = crate::outcome::Wire {
        number: 1,
        from: 'A',
        to: None,
        wires: 3,
        bundle_mm: 3.0,
        points: vec![],
        bends: vec![],
        joints: vec![],
        homes_mm: [0.0; 2],
        cut_mm: Band::exact(300.0),
    };
    let outcome = Outcome {
        prop: "Blade".into(),
        input_hash: String::new(),
        inches: false,
        path: path.clone(),
        length_mm: 600.0,
        wearer_mm: None,
        imprint: Default::default(),
        bodies: vec![body],
        mends: vec![],
        pieces: (1..=3).map(piece).collect(),
        plates: (1..=3).map(plate).collect(),
        stocks: vec![],
        joints: (1..=2).map(joint).collect(),
        ways: vec![],
        pixels: vec![],
        strips: vec![],
        spines: vec![],
        wire_way: vec![],
        parts: vec![],
        lids: vec![],
        wires: vec![wire],
        openings: vec![],
        windows: vec![],
        masks: vec![],
        views: vec![],
        sections: vec![],
        light: None,
        strength: None,
        conduct: None,
        finish: finished(),
        shopping: crate::shopping::Shopping::default(),
        power: None,
        work: None,
        passages: vec![],
        steps: Vec::new(),
        findings: vec![],
        print_elapsed_s: Band::exact(108_000.0),
    };
    (project, outcome)
}

/// A third of the box is the outside of each piece.
fn finished() -> crate::finish::Finish {
    let mm2 = 2.0 * (600.0 * 60.0 + 600.0 * 20.0 + 60.0 * 20.0) / 3.0;
    let outside = |piece| Outside { piece, body_mm2: mm2, windows_mm2: Vec::new(), hollow_mm2: 0.0 };
    crate::finish::Finish { outsides: (1..=7).map(outside).collect(), ..crate::finish::Finish::default() }
}

const PLAN: &str = "[plan]\nstart = \"2026-03-02\"\nevent = \"2026-03-28\"";

fn job<'a>(plan: &'a Schedule, name: &str) -> &'a Job {
    let names = || plan.jobs.iter().map(|j| j.name.as_str()).collect::<Vec<_>>();
    plan.jobs.iter().find(|j| j.name == name).unwrap_or_else(|| panic!("{name} in {:?}", names()))
}

/// The judge that the planner's own tests have: it knows nothing of how a plan is made.
#[path = "../../../workplan/tests/all/judge.rs"]
mod judge;

/// Plans, and has every rule of the plan judged: order, waits, resources, hours, what was reported.
#[track_caller]
fn judged(project: &Project, outcome: &Outcome) -> (Schedule, Vec<Finding>) {
    let (schedule, findings) = super::plan(project, outcome);
    let schedule = schedule.unwrap_or_else(|| panic!("{findings:?}"));
    let rules = project.plan.as_ref().expect("a plan");
    let jobs = listed(project, outcome, &Shop::of(rules)).expect("jobs");
    let work = reported(&jobs, rules).expect("reports");
    let start = |name: &str| schedule.jobs.iter().find(|j| j.name == name).map(|j| j.from_min);
    let starts = work.tasks.iter().map(|t| start(&t.name).expect("every task is told")).collect();
    let plan = Plan { starts, finish: schedule.finish_min, bound: schedule.bound_min };
    assert_eq!(judge::faults(&work, &plan), Vec::<String>::new());
    (schedule, findings)
}

#[track_caller]
fn planned(plan: &str, glue: &str) -> (Schedule, Vec<Finding>) {
    let (project, outcome) = blade(plan, glue);
    judged(&project, &outcome)
}

#[test]
fn the_order_that_bites_is_kept() {
    let (plan, findings) = planned(PLAN, "epoxy");
    let of = |name: &str| job(&plan, name);
    // Clearances before any piece, the whole circuit on the bench before any of it goes in.
    assert!(of("measure the coupon of one").to_min <= of("print one-01").from_min);
    let lay = of("lay strip, spine and wires into blade");
    assert!(of("light it all on the bench").to_min <= lay.from_min && of("fit J2 dry").to_min <= lay.from_min);
    for n in 1..=2 {
        let (thread, glue, seen) =
            (of(&format!("thread J{n}")), of(&format!("glue J{n}")), of(&format!("see the light at J{n}")));
        assert!(thread.to_min <= glue.from_min, "J{n} is threaded before it is glued");
        // Epoxy opens for 20 minutes from when it is spread, which takes 20.
        let waited = seen.from_min - glue.from_min;
        assert!((20..=30).contains(&waited), "J{n}: {waited}");
        assert!(glue.to_min - glue.from_min == 180 && glue.hands_min == 20);
    }
    assert!(of("glue J1").to_min <= of("thread J2").from_min);
    // A day's cure before it is sanded; bronze over white primer after twenty minutes.
    assert!(of("fill the seam of J1").from_min >= of("glue J2").from_min + 24 * 60);
    assert!(of("coat 2 of blade: paint-bronze").from_min >= of("coat 1 of blade: primer-white").to_min + 20);
    assert!(of("carry it for an hour").to_min == plan.finish_min);
    let ids: Vec<&str> = findings.iter().map(|f| f.id).collect();
    assert_eq!(ids, ["plan_hangs", "plan_hands", "plan_in_time", "plan_chance", "plan_start"]);
    assert!(findings.iter().all(|f| f.verdict != Verdict::Fails), "{findings:?}");
    // 2026-03-02 is a Monday, 2026-03-28 a Saturday (any calendar).
    assert_eq!((plan.weekday(0), plan.weekday(26 * DAY), plan.event), (0, 5, Some(26)));
    assert_eq!(plan.day_text(26 * DAY), "2026-03-28");
}

#[test]
fn a_glue_that_gives_no_time_is_spread_at_once_after_the_light_was_seen() {
    let (plan, _) = planned(PLAN, "cyanoacrylate");
    for n in 1..=2 {
        let (glue, seen) = (job(&plan, &format!("glue J{n}")), job(&plan, &format!("see the light at J{n}")));
        assert!((0..=30).contains(&(glue.from_min - seen.to_min)));
    }
}

#[test]
fn one_lit_piece_gets_its_light_before_it_is_painted() {
    let (project, mut outcome) = blade(PLAN, "epoxy");
    outcome.pieces.truncate(1);
    outcome.plates.truncate(1);
    outcome.joints.clear();
    let (plan, _) = judged(&project, &outcome);
    let lay = job(&plan, "lay strip, spine and wires into blade");
    assert!(job(&plan, "light it all on the bench").to_min <= lay.from_min);
    assert!(plan.jobs.iter().filter(|j| j.trade == Trade::Finishing).all(|j| lay.to_min <= j.from_min));
}

#[test]
fn a_glue_that_is_held_longer_than_it_cures_is_sanded_when_it_is_let_go() {
    let (mut project, outcome) = blade(PLAN, "epoxy");
    project.strength.glue.cures_s = 3600.0;
    let (plan, _) = judged(&project, &outcome);
    assert!(job(&plan, "glue J2").to_min <= job(&plan, "fill the seam of J2").from_min);
}

#[test]
fn the_finish_hangs_on_whole_evenings() {
    let (plan, _) = planned(PLAN, "epoxy");
    // Coats harden for a day: neither may be put off to the next, however much is left of its own.
    for name in ["coat 1 of blade: primer-white", "coat 2 of blade: paint-bronze", "carry it for an hour"] {
        assert!(job(&plan, name).critical, "{name}");
    }
}

#[test]
fn nobody_and_nothing_is_in_two_places() {
    let (plan, _) = planned(&format!("{PLAN}\npeople = 2"), "epoxy");
    for (k, a) in plan.jobs.iter().enumerate() {
        for b in &plan.jobs[k + 1..] {
            for (x, y) in a.taken.iter().flat_map(|x| b.taken.iter().map(move |y| (x, y))) {
                let apart = a.from_min + x.minutes <= b.from_min || b.from_min + y.minutes <= a.from_min;
                assert!((x.resource, x.which) != (y.resource, y.which) || apart, "{} and {}", a.name, b.name);
            }
        }
        let open = |from: i64, to: i64| plan.hours.iter().any(|h| h[0] <= from && to <= h[1]);
        assert!(a.hands_min == 0 || open(a.from_min, a.from_min + a.hands_min), "{} out of hours", a.name);
        assert!(a.after.iter().all(|b| plan.jobs[*b].from_min <= a.from_min));
    }
    // Common practice, no source: sanding and painting are the most of the hours of hands.
    let of = |t: Trade| plan.jobs.iter().filter(|j| j.trade == t).map(|j| j.hands_min).sum::<i64>();
    assert!([Trade::Printing, Trade::Wiring, Trade::Joining].iter().all(|t| of(*t) < of(Trade::Finishing)));
}

#[test]
fn late_is_told_with_what_would_help() {
    let (plan, findings) = planned("[plan]\nstart = \"2026-03-02\"\nevent = \"2026-03-08\"", "epoxy");
    let of = |id: &str| findings.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("{id}"));
    assert_eq!((of("plan_in_time").verdict, of("plan_chance").verdict), (Verdict::Fails, Verdict::Fails));
    assert!(of("plan_start").message.contains("no day left"));
    assert!(!plan.changes.is_empty() && findings.iter().any(|f| f.id == "plan_change"), "{findings:?}");
    assert!(plan.changes.iter().all(|c| c.finish_min < plan.finish_min && c.sooner_min > 0));
    assert!(of("plan_in_time").remedy.starts_with(&plan.changes[0].what));
}

#[test]
fn what_is_reported_is_kept_and_the_rest_comes_after() {
    let done = "now = \"2026-03-06 18:00\"\n[done.\"print the coupon on one\"]\nfrom = \"2026-03-02 18:00\"\nto = \"2026-03-02 20:30\"\n\
                [done.\"measure the coupon of one\"]\nfrom = \"2026-03-02 21:00\"\nto = \"2026-03-02 21:30\"";
    let (plan, _) = planned(&format!("{PLAN}\n{done}"), "epoxy");
    let coupon = job(&plan, "print the coupon on one");
    assert_eq!((coupon.from_min, coupon.to_min, coupon.begun), (1080, 1230, true));
    let now = 4 * DAY + 1080;
    assert!(plan.jobs.iter().filter(|j| !j.begun).all(|j| j.from_min >= now));
    let (fresh, _) = planned(PLAN, "epoxy");
    assert!(fresh.finish_min < plan.finish_min);
}

#[test]
fn what_cannot_be_planned_is_told_by_name() {
    let told = |plan: &str| {
        let (project, outcome) = blade(plan, "epoxy");
        let (schedule, findings) = super::plan(&project, &outcome);
        assert!(schedule.is_none() && findings.len() == 1 && findings[0].id == "plan_possible", "{findings:?}");
        findings[0].message.clone()
    };
    assert!(told(&format!("{PLAN}\nweekdays = []\nweekend = []")).contains("\"hands\" has no working day"));
    assert!(
        told(&format!("{PLAN}\nweekdays = [\"18:00-18:12\"]\nweekend = []"))
            .contains("the longest it is there is 12 min")
    );
    assert!(
        told(&format!("{PLAN}\nnow = \"2026-04-01 12:00\""))
            .contains("finished by 2026-03-25 00:00, and that lies before the work can begin (2026-04-01 12:00)")
    );
    assert!(
        told(&format!("{PLAN}\n[done.\"glue J9\"]\nfrom = \"2026-03-02 18:00\"")).contains("did you mean \"glue J")
    );
}

#[test]
fn a_coat_of_nobodys_that_does_not_dry_is_told() {
    let (mut project, outcome) = blade(PLAN, "epoxy");
    project.bodies[0].coats[1].drying = None;
    let (_, findings) = super::plan(&project, &outcome);
    assert!(findings[0].message.contains("\"paint-bronze\" does not say how it dries"), "{findings:?}");
}

#[test]
fn six_joints_one_after_another_take_two_to_three_days() {
    // Common practice, no source: about three hours under clamps each, in evenings and a weekend's days.
    let (project, mut outcome) = blade(PLAN, "epoxy");
    let (piece, joint) = (outcome.pieces[0].clone(), outcome.joints[0].clone());
    outcome.pieces = (1..=7).map(|n| Piece { number: n, name: format!("{n:02}-blade"), ..piece.clone() }).collect();
    outcome.joints = (1..=6).map(|n| Joint { number: n, pieces: [n, n + 1], ..joint.clone() }).collect();
    let rules = project.plan.as_ref().expect("a plan");
    // A long day: three or so joints in each.
    let long = PlanRules { hours: [vec![[9 * 60, 20 * 60]], vec![[9 * 60, 20 * 60]]], ..rules.clone() };
    let shop = Shop::of(&long);
    let mut jobs = Jobs::new(&shop, &outcome);
    let ready = printing::list(&mut jobs, &project, &outcome, &shop);
    let wired = wiring::list(&mut jobs, &outcome);
    let joined: Vec<Workpiece> = joining::list(&mut jobs, &project, &outcome, &shop, &ready, &wired);
    assert_eq!((joined.len(), joined[0].joints.len()), (1, 6));
    let plan = jobs.work.solve(&FULL).expect("a plan");
    assert_eq!(judge::faults(&jobs.work, &plan), Vec::<String>::new());
    let at = |name: &str| jobs.work.tasks.iter().position(|t| t.name == name).expect("the job");
    let mut days: Vec<i64> = (1..=6).map(|n| plan.starts[at(&format!("glue J{n}"))].div_euclid(DAY)).collect();
    days.dedup();
    assert!((2..=3).contains(&days.len()), "{days:?}");
    // About three hours under clamps before the next is closed.
    for n in 1..6 {
        let [this, next] = [n, n + 1].map(|n| plan.starts[at(&format!("glue J{n}"))]);
        assert!(next - this >= 180, "J{n}");
    }
}

#[test]
fn the_way_to_the_finish_begins_with_the_first_job_and_says_why() {
    let (plan, findings) = planned(PLAN, "epoxy");
    let names: Vec<&str> = plan.chain.iter().map(|l| plan.jobs[l.job].name.as_str()).collect();
    assert_eq!(plan.chain[0].because, "it begins");
    assert_eq!((plan.jobs[plan.chain[0].job].from_min, names.last()), (1080, Some(&"carry it for an hour")));
    for (k, link) in plan.chain.iter().enumerate().skip(1) {
        assert!(link.because.contains(names[k - 1]), "{link:?} after {}", names[k - 1]);
        assert!(link.since_min <= plan.jobs[link.job].from_min);
    }
    assert!(names.contains(&"coat 1 of blade: primer-white"), "{names:?}");
    let hangs = findings.iter().find(|f| f.id == "plan_hangs").expect("the finding");
    assert!(hangs.message.contains(names[0]) && hangs.message.contains("> carry it for an hour"), "{}", hangs.message);
}

#[test]
fn cold_and_damp_months_take_no_paint() {
    // By the row a coast is at 11 °C in March and at 8 °C in February.
    let event = "event = \"2026-05-20\"\nseason = \"temperate-coast\"";
    let (plan, findings) = planned(&format!("[plan]\nstart = \"2026-01-05\"\n{event}"), "epoxy");
    // The first of March is the 55th day after the fifth of January.
    let coats = || plan.jobs.iter().filter(|j| j.name.starts_with("coat "));
    assert!(coats().count() == 2 && coats().all(|j| j.from_min >= 55 * DAY), "{:?}", coats().collect::<Vec<_>>());
    let air = findings.iter().find(|f| f.id == "plan_air").expect("the finding");
    assert!(air.measured.value == 2.0 && air.message.contains("February 2026: 8 °C"), "{}", air.message);
    // A maker's own shed: as warm, and too damp in March.
    let shed = "[season.shed]\nkind = \"temperate-coast\"\nhumidity = [\"83 %\", \"78 %\", \"90 %\", \"67 %\", \"66 %\", \"66 %\", \
                \"66 %\", \"67 %\", \"71 %\", \"77 %\", \"82 %\", \"85 %\"]";
    let (damp, findings) = planned(
        &format!("[plan]\nstart = \"2026-02-23\"\nseason = \"shed\"\nspray-warm = [\"5 C\", \"30 C\"]\n{shed}"),
        "epoxy",
    );
    let coat = job(&damp, "coat 1 of blade: primer-white");
    // In February it would still do at 5 °C, but nothing is sanded by then.
    assert!(coat.from_min >= 37 * DAY, "{}", damp.day_text(coat.from_min));
    assert!(findings.iter().any(|f| f.id == "plan_air" && f.message.contains("March 2026: 90 % humidity")));
}

#[test]
fn what_is_longer_than_the_booth_has_its_room_covered_and_aired() {
    let (plan, findings) = planned(&format!("{PLAN}\nbooth = \"45 cm\""), "epoxy");
    let cover = job(&plan, "cover a room for what is 150 mm longer than the booth");
    for (k, coat) in ["coat 1 of blade: primer-white", "coat 2 of blade: paint-bronze"].iter().enumerate() {
        let (coat, air) = (job(&plan, coat), job(&plan, &format!("air the room after {coat}")));
        assert!(cover.to_min <= coat.from_min && (0..=15).contains(&(air.from_min - coat.to_min)), "{k}");
        assert!(air.to_min - air.from_min == 60 && air.hands_min == 5);
    }
    let told = findings.iter().find(|f| f.id == "plan_booth").expect("the finding");
    assert!(told.measured.value == 600.0 && told.message.contains("the booth takes 450"), "{}", told.message);
    let (short, findings) = planned(&format!("{PLAN}\nbooth = \"60 cm\""), "epoxy");
    assert!(short.jobs.iter().all(|j| !j.name.contains("room")) && findings.iter().all(|f| f.id != "plan_booth"));
}

#[test]
fn two_people_and_two_printers_are_sooner_than_one_and_one() {
    let (mut project, mut outcome) = blade(PLAN, "epoxy");
    let (one, _) = judged(&project, &outcome);
    project.printers.push(crate::catalogue::Printer { name: "two".into(), ..project.printers[0].clone() });
    (outcome.plates[1].printer, outcome.plates[1].name) = ("two".into(), "two-01".into());
    project.plan.as_mut().expect("a plan").people = 2;
    let (two, _) = judged(&project, &outcome);
    let last = |plan: &Schedule| plan.jobs.iter().filter(|j| j.name.starts_with("print ")).map(|j| j.to_min).max();
    assert!(two.finish_min < one.finish_min && last(&two) < last(&one));
    // Each pair of hands has its own lane.
    let lanes =
        |plan: &Schedule| plan.jobs.iter().flat_map(|j| &j.taken).filter(|t| t.resource == 0).map(|t| t.which).max();
    assert_eq!((lanes(&one), lanes(&two)), (Some(1), Some(2)));
}

#[test]
fn every_change_that_is_tried_is_a_plan_that_keeps_every_rule() {
    let (project, outcome) = blade("[plan]\nstart = \"2026-03-02\"\nevent = \"2026-03-08\"", "epoxy");
    let (plan, _) = judged(&project, &outcome);
    let rules = project.plan.as_ref().expect("a plan");
    let mut sooner: Vec<(String, i64)> = Vec::new();
    for (what, shop) in changes::shops(&project, &outcome, &Shop::of(rules)) {
        let jobs = listed(&project, &outcome, &shop).expect("jobs");
        let work = reported(&jobs, rules).expect("reports");
        let other = work.solve(&QUICK).expect("a plan");
        assert_eq!(judge::faults(&work, &other), Vec::<String>::new(), "{what}");
        if other.finish < plan.finish_min {
            sooner.push((what, other.finish));
        }
    }
    let mut told: Vec<(String, i64)> = plan.changes.iter().map(|c| (c.what.clone(), c.finish_min)).collect();
    told.sort();
    sooner.sort();
    assert_eq!(told, sooner);
}

#[test]
fn what_the_maker_knows_better_is_kept_or_refused_by_name() {
    let own = "[job.\"fit J2 dry\"]\ntime = \"2 h\"\nafter = [\"light it all on the bench\"]\ntakes = [\"bench\"]";
    let (plan, _) = planned(&format!("{PLAN}\n{own}"), "epoxy");
    let (fit, lit) = (job(&plan, "fit J2 dry"), job(&plan, "light it all on the bench"));
    assert!(fit.to_min - fit.from_min == 120 && lit.to_min <= fit.from_min);
    assert!(fit.taken.iter().any(|t| plan.resources[t.resource].0 == "bench"));
    let told = |more: &str| {
        let (project, outcome) = blade(&format!("{PLAN}\n{more}"), "epoxy");
        let (schedule, findings) = super::plan(&project, &outcome);
        assert!(schedule.is_none() && findings.len() == 1 && findings[0].verdict == Verdict::Fails, "{findings:?}");
        (findings[0].message.clone(), findings[0].remedy.clone())
    };
    // Glued before it is threaded, and threaded before it is glued.
    let (circle, remedy) = told("[job.\"thread J1\"]\nafter = \"glue J1\"");
    assert!(circle.contains("wait for each other in a circle: ") && circle.contains("thread J1"), "{circle}");
    assert!(circle.contains("glue J1") && remedy.contains("[job.NAME]"), "{circle}: {remedy}");
    let (oven, _) = told("[job.\"glue J1\"]\ntakes = [\"oven\"]");
    assert!(
        oven.contains("job.\"glue J1\".takes \"oven\", which is not in the workshop; there are hands, clamps"),
        "{oven}"
    );
    assert!(told("[job.\"glue J1\"]\ntakes = [\"benches\"]").0.contains("did you mean \"bench\"?"));
    assert!(
        told("[job.\"glue J7\"]\ntime = \"1 h\"").0.contains("job.\"glue J7\" is no task of this prop; did you mean")
    );
    // Longer than any evening.
    let (long, remedy) = told("[job.\"fit J1 dry\"]\ntime = \"9 h\"");
    assert!(
        long.contains("\"fit J1 dry\" needs \"hands\" for 540 min on end") && remedy.contains("weekdays"),
        "{long}"
    );
}

#[test]
fn dates_and_jobs_that_cannot_be_are_told_at_their_place() {
    let parsed = |text: &str| {
        let text =
            format!("[prop]\nname = \"X\"\n[shape]\nfile = \"a.stl\"\n[printer.p]\nkind = \"filament-220\"\n{text}");
        crate::project::parse(&text, &Catalogue::built_in()).map_err(|d| d.render("prop.toml", &text))
    };
    let past = parsed("[plan]\nstart = \"2026-03-02\"\nevent = \"2026-02-28\"").expect_err("an event in the past");
    assert!(past.contains("the event lies before plan.start") && past.contains("2026-02-28"), "{past}");
    let alone = parsed("[job.\"glue J1\"]\ntime = \"1 h\"").expect_err("nothing is planned");
    assert!(alone.contains("nothing is planned"), "{alone}");
    let season = parsed("[plan]\nstart = \"2026-03-02\"\nseason = \"temperate-cost\"").expect_err("no such season");
    assert!(season.contains("did you mean \"temperate-coast\"?"), "{season}");
}
