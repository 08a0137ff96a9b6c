//! Does it hold, and stay still enough?

use super::{Checked, Work, hand, note, warmth};
use crate::finding::{Band, CHOICE, Finding, Input, Limit, Measured, PIECES, SHAPE, Verdict, input};
use crate::outcome::Pose;
use crate::project::StrengthRules;
use crate::strength::{
    Case, CaseKind, JointStrength, Pressed, STEADY_HZ, STEPS_HZ, Shorter, SpineChoice, Strength, Worst,
};

/// Hanging down at the tip for each metre beyond the hand, mm: seen as straight (our choice).
const SAG_MM_M: f64 = 15.0;
/// How far a plate's bearing lies off for dents and softer material; how much softer a material may be in all; what that makes of
/// the tip's hanging and nodding (stiffnesses of the catalogue's materials scatter by 20 to 30 %; a metal spine evens it out).
const PLATE_UNSURE: f64 = 0.5;
const SOFTER: f64 = 0.3;
const SAGS_MORE: f64 = 1.35;
const NODS_SLOWER: f64 = 0.87;
/// The law for people: what breaks in use may fly.
const JUDGEMENT: &str = " If it gave way when swung or knocked near others, a piece could fly off and hurt someone. This number is no permission: the \
     event's own rules and the judgement of whoever checks props there decide.";

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let found = match work.strength {
        None => return Vec::new(),
        Some(Err(error)) => return vec![unknown(&error.to_string())],
        Some(Ok(found)) => found,
    };
    let safety = work.project.strength.safety;
    let mut all = Vec::new();
    for (id, kind) in [
        ("strength_held", CaseKind::Held),
        ("strength_swing", CaseKind::Swing),
        ("strength_strike", CaseKind::Strike),
        ("strength_stored", CaseKind::Stored),
    ] {
        all.extend(pieces(work, id, found, kind));
    }
    all.extend(spine(&work.project.strength, found));
    all.extend(found.joints.iter().map(|j| joint(j, safety)));
    all.extend(thin(found, safety));
    all.extend(buckles(found, safety));
    all.push(sag(found));
    all.extend(nods(found));
    all.extend(play(found));
    all.extend(hand::check(work, &found.carried));
    all.extend(choice(work, found, safety));
    if !found.guessed_mm.is_empty() {
        let n = found.guessed_mm.len();
        all.push(note(
            "strength_guessed",
            "prop".into(),
            Some([found.guessed_mm[0], found.guessed_mm[n - 1]]),
            n as f64,
            "1",
            format!(
                "At {n} of {} stations no section could be worked out: the nearest one of the same piece stands in.",
                found.stations.len()
            ),
        ).worked_from([input("stations in all", found.stations.len() as f64, "1", SHAPE)]));
    }
    if let Some(heat) = &found.heat {
        all.extend(warmth::check(work, heat));
    }
    all
}

fn unknown(why: &str) -> Finding {
    Finding {
        id: "strength_unknown",
        verdict: Verdict::Unsure,
        subject: "prop".into(),
        station_mm: None,
        measured: Measured { value: 0.0, low: 0.0, high: 0.0, unit: "1" },
        inputs: Vec::new(),
        limit: None::<Limit>,
        message: format!("Whether it holds could not be worked out: {why}."),
        remedy: "mend or move what is named, or leave strength out with check = false under [strength]".into(),
    }
}

fn band(factor: f64, spread: f64) -> Band {
    Band::factor(factor, 1.0 - spread, 1.0 + spread)
}

/// What a load does, in words.
fn asked(worst: &Worst, of: &str) -> String {
    let way = if worst.along_mpa < 0.0 { "pushed together" } else { "pulled" };
    let governs =
        if 3.0 * worst.shear_mpa * worst.shear_mpa > worst.along_mpa * worst.along_mpa { "shear" } else { "bending" };
    format!(
        "{governs} governs: {way} with {:.2} MPa and sheared with {:.2} MPa of the {:.0} MPa that it bears {of}; material weaker by {:.0} %, as it may be, leaves {:.1}",
        worst.along_mpa.abs(),
        worst.shear_mpa,
        worst.strength_mpa,
        100.0 * worst.spread,
        worst.low(),
    )
}

/// What a factor is worked out from: the stress of the worst load, and what is done.
fn stressed(worst: &Worst, kind: CaseKind, rules: &StrengthRules) -> Vec<Input> {
    let mut all = vec![
        input("stress along", worst.along_mpa, "MPa", "the bar of all sections, under this load"),
        input("shear", worst.shear_mpa, "MPa", "the bar of all sections, under this load"),
        input("strength", worst.strength_mpa, "MPa", "catalogue: material"),
        input("weaker by, as it may be", worst.spread, "1", "catalogue: material"),
    ];
    all.extend(done(kind, rules));
    all
}

/// What is done in a case.
fn done(kind: CaseKind, rules: &StrengthRules) -> Vec<Input> {
    match kind {
        CaseKind::Swing => vec![
            input("swung at", rules.swing_deg_s, "deg/s", "strength.swing"),
            input("stopped within", rules.stop_s, "s", "strength.swing-stop"),
        ],
        CaseKind::Strike => vec![input("bumps at", rules.bump_mm_s, "mm/s", "strength.bump")],
        CaseKind::Stored => vec![input("set down from", rules.drop_mm, "mm", "strength.drop")],
        CaseKind::Held => Vec::new(),
    }
}

fn pieces(work: &Work, id: &'static str, found: &Strength, kind: CaseKind) -> Option<Finding> {
    let safety = work.project.strength.safety;
    let cases = found.cases.iter().filter(|c| c.kind == kind);
    let case: &Case = cases.reduce(|a, b| if b.wall.factor < a.wall.factor { b } else { a })?;
    let station = found.stations.iter().find(|s| s.span_mm[1] > case.station_mm)?;
    let moves = matches!(kind, CaseKind::Swing | CaseKind::Strike);
    let across = work.printed.pieces.iter().any(|p| p.number == station.piece && p.pose != Pose::Lying);
    let mut message = format!(
        "{}: piece {:02} bears {:.1} times what is asked ({}).",
        capital(case.title),
        station.piece,
        case.wall.factor,
        asked(&case.wall, if across { "across its layers" } else { "along its beads" })
    );
    if kind == CaseKind::Strike {
        message += &knocks(work, found);
    }
    if moves {
        message += JUDGEMENT;
    }
    Some(
        Checked {
            id,
            subject: format!("piece {:02}", station.piece),
            station_mm: Some(station.span_mm),
            value: band(case.wall.factor, case.wall.spread),
            unit: "1",
            min: Some(safety),
            max: None,
            source: "strength.safety; strengths of the materials in the catalogue".into(),
            message,
            remedy: "a thicker wall, pieces that lie (may-lie) so that layers are not pulled apart, a stiffer or glued spine, or a gentler use".into(),
        }
        .finding()
        .worked_from(stressed(&case.wall, kind, &work.project.strength)),
    )
}

/// How fast a bump the weakest of pieces, joints and spine bears, beside what is no case here: what stops over the same give asks
/// as the speed's square.
fn knocks(work: &Work, found: &Strength) -> String {
    let rules = &work.project.strength;
    let bumps = found.cases.iter().filter(|c| c.kind == CaseKind::Strike);
    let bars = bumps.flat_map(|c| [Some(c.wall.low()), c.spine.map(|s| s.0.low())]).flatten();
    let low = bars.chain(found.joints.iter().map(|j| j.knock * (1.0 - j.spread))).fold(f64::INFINITY, f64::min);
    let bears = rules.bump_mm_s * 1e-3 * low.max(0.0).sqrt();
    let tip = found.stations.last().map_or(0.0, |s| s.span_mm[1]);
    let swung = rules.swing_deg_s.to_radians() * (tip - found.carried.hands.lead_mm).abs() * 1e-3;
    format!(
        " It bumps at {:.2} m/s; the weakest of pieces, joints and spine may give way at about {bears:.1} m/s. Walking is 1.4 m/s, and swung at {:.0} degrees a second the tip comes at {swung:.1} m/s: it is not made to hit anything.",
        rules.bump_mm_s * 1e-3,
        rules.swing_deg_s
    )
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn spine(rules: &StrengthRules, found: &Strength) -> Option<Finding> {
    let cases = found.cases.iter().filter_map(|c| c.spine.map(|(w, at)| (c, w, at)));
    let (case, worst, at) = cases.reduce(|a, b| if b.1.factor < a.1.factor { b } else { a })?;
    let moves = matches!(case.kind, CaseKind::Swing | CaseKind::Strike);
    Some(
        Checked {
            id: "spine_bears",
            subject: "spine".into(),
            station_mm: Some([at; 2]),
            value: band(worst.factor, worst.spread),
            unit: "1",
            min: Some(rules.safety),
            max: None,
            source: "strength.safety; strength of the bar in the catalogue".into(),
            message: format!(
                "{}: the spine bears {:.1} times what is asked ({}).{}",
                capital(case.title),
                worst.factor,
                asked(&worst, "at the most"),
                if moves { JUDGEMENT } else { "" }
            ),
            remedy: "a larger or stronger bar (spine.bar), or a gentler use".into(),
        }
        .finding()
        .worked_from(stressed(&worst, case.kind, rules)),
    )
}

fn joint(joint: &JointStrength, safety: f64) -> Finding {
    Checked {
        id: "joint_bears",
        subject: format!("joint J{}", joint.number),
        station_mm: Some([joint.station_mm; 2]),
        value: band(joint.factor, joint.spread),
        unit: "1",
        min: Some(safety),
        max: None,
        source: "strength.safety; glue, pegs and plastic of the catalogue".into(),
        message: format!(
            "Held by {}, it bears {:.1} times what is asked when {} ({} governs, with a moment of {:.2} N m); with everything {:.0} % weaker, as it may be, {:.1} times.{JUDGEMENT}",
            joint.by,
            joint.factor,
            joint.case,
            joint.governs,
            joint.moment_nmm * 1e-3,
            100.0 * joint.spread,
            joint.low()
        ),
        remedy: "a stronger glue (strength.glue), pegs or a collar there, a cut elsewhere (cuts), or a spine that is glued in or stiffer".into(),
    }
    .finding()
    .worked_from([
        input("moment", joint.moment_nmm * 1e-3, "N m", "the bar of all sections, under that load"),
        input("times a bump of the tip", joint.knock, "1", "the same, when the tip bumps"),
        input("weaker by, as it may be", joint.spread, "1", "catalogue: glue, pegs and plastic"),
    ])
}

fn thin(found: &Strength, safety: f64) -> Option<Finding> {
    let all = found.cases.iter().filter_map(|c| Some((c.title, c.thin?)));
    let (case, (pressed, at)) = all.reduce(|a, b| if b.1.0.factor < a.1.0.factor { b } else { a })?;
    let Pressed { factor, .. } = pressed;
    Some(
        Checked {
            id: "wall_buckles",
            subject: "wall".into(),
            station_mm: Some([at; 2]),
            value: band(factor, PLATE_UNSURE),
            unit: "1",
            min: Some(safety),
            max: None,
            source: "strength.safety; flat plates under pressure, half the breadth wide (handbooks); a wall is curved or dented, so within a half".into(),
            message: format!(
                "{}: the pressed side of the wall would buckle at {factor:.1} times that. The thin plate between its ribs governs, not its material's strength; dented, or of a softer spool, {:.1} times are left.",
                capital(case),
                factor * (1.0 - PLATE_UNSURE)
            ),
            remedy: "a thicker wall".into(),
        }
        .finding()
        .worked_from([
            input("wall", pressed.wall_mm, "mm", PIECES),
            input("breadth", pressed.breadth_mm, "mm", "half of the section there: ribs stand in its middle"),
            input("stiffness", pressed.e_mpa, "MPa", "catalogue: material"),
            input("pressed with", pressed.pressed_mpa, "MPa", "the bar of all sections, under this load"),
        ]),
    )
}

fn buckles(found: &Strength, safety: f64) -> Option<Finding> {
    let factor = found.buckles?;
    Some(
        Checked {
            id: "prop_buckles",
            subject: "prop".into(),
            station_mm: None,
            value: band(factor, SOFTER),
            unit: "1",
            min: Some(safety),
            max: None,
            source: "strength.safety; Euler's column under its own weight".into(),
            message: format!(
                "Standing on its butt it would buckle at {factor:.0} times its own weight. Stiffness and length govern; material softer by {:.0} %, as it may be, leaves {:.0} times.",
                100.0 * SOFTER,
                factor * (1.0 - SOFTER)
            ),
            remedy: "a stiffer spine or a thicker wall".into(),
        }
        .finding()
        .worked_from([
            input("length", found.stations.last().map_or(0.0, |s| s.span_mm[1]), "mm", "shape.length"),
            input("mass", found.carried.mass_g, "g", "pieces, spine, strips and parts"),
            input("softer by, as it may be", SOFTER, "1", "stiffnesses of the catalogue's materials"),
        ]),
    )
}

fn sag(found: &Strength) -> Finding {
    let sags = [0, 1].map(|k| found.cases.get(k).map_or(0.0, |c| c.tip_mm));
    let most = sags[0].max(sags[1]);
    let tip = found.stations.last().map_or(0.0, |s| s.span_mm[1]);
    let free_m = ((tip - found.carried.hands.lead_mm).max(1.0)) * 1e-3;
    Checked {
        id: "tip_sags",
        subject: "prop".into(),
        station_mm: Some([tip; 2]),
        value: Band::factor(most, 0.75, SAGS_MORE),
        unit: "mm",
        min: None,
        max: Some(SAG_MM_M * free_m),
        source: format!("{SAG_MM_M:.0} mm a metre: seen as straight (our choice)"),
        message: format!(
            "Held level in one hand, the tip hangs {:.1} mm flat and {:.1} mm on edge over {:.2} m; {:.1} times the larger would be seen. Stiffness governs; a softer material, as it may be, makes it {:.1} mm.",
            sags[0],
            sags[1],
            free_m,
            SAG_MM_M * free_m / most.max(1e-3),
            SAGS_MORE * most
        ),
        remedy: "a stiffer spine, or one that is glued in (spine.glued)".into(),
    }
    .finding()
    .worked_from([
        input("hangs held flat", sags[0], "mm", "the bar of all sections, in one hand"),
        input("hangs held on edge", sags[1], "mm", "the bar of all sections, in one hand"),
        input("free length", free_m, "m", "strength.hand to the tip"),
        input("allowed for each metre", SAG_MM_M, "mm", CHOICE),
    ].into_iter().chain(at_hand(found)))
}

/// How stiff it is where the leading hand holds it.
fn at_hand(found: &Strength) -> Option<Input> {
    let lead = found.carried.hands.lead_mm;
    let there = found.stations.iter().find(|s| s.span_mm[1] > lead)?;
    Some(input("stiffness in bending at the hand", there.ei_nmm2[1] * 1e-6, "N m2", "sections of pieces and spine"))
}

fn nods(found: &Strength) -> Option<Finding> {
    let first = *found.modes_hz.first()?;
    Some(
        Checked {
            id: "tip_nods",
            subject: "prop".into(),
            station_mm: None,
            value: Band::factor(first, NODS_SLOWER, 1.15),
            unit: "Hz",
            min: Some(STEADY_HZ),
            max: None,
            source: "steps of 1.4 to 2.8 Hz: from 1.41 times that on walking at most doubles what the tip does".into(),
            message: format!(
                "Held in one hand it nods by itself {first:.1} times a second, {:.1} times faster than hurried steps. Stiffness and mass beyond the hand govern; a softer material, as it may be, leaves {:.1} times.",
                first / STEPS_HZ,
                NODS_SLOWER * first / STEPS_HZ
            ),
            remedy: "a stiffer or glued spine, or less mass near the tip".into(),
        }
        .finding()
        .worked_from([
            input("mass", found.carried.mass_g, "g", "pieces, spine, strips and parts"),
            input("inertia about the hand", found.carried.swing_gmm2 * 1e-9, "kg m2", "pieces, spine, strips and parts"),
            input("hurried steps", STEPS_HZ, "Hz", "walking: 1.4 to 2.8 steps a second"),
        ].into_iter().chain(at_hand(found))),
    )
}

fn play(found: &Strength) -> Option<Finding> {
    let tip = found.stations.last().map_or(0.0, |s| s.span_mm[1]);
    let loose = |j: &&JointStrength| j.play_rad > 0.0;
    let all = found.joints.iter().filter(loose);
    let worst = all.map(|j| (j, j.play_rad * (tip - j.station_mm).min(j.station_mm).max(0.0)));
    let (joint, shakes) = worst.reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    Some(
        note(
            "joint_play",
            format!("joint J{}", joint.number),
            Some([joint.station_mm; 2]),
            shakes,
            "mm",
            format!(
                "Its fit lets it tilt {:.2} degrees either way before it bears: {shakes:.1} mm at the nearer end.",
                joint.play_rad.to_degrees()
            ),
        )
        .worked_from([
            input("tilt", joint.play_rad.to_degrees(), "deg", "clearance over engaged length"),
            input("to the nearer end", (tip - joint.station_mm).min(joint.station_mm), "mm", SHAPE),
        ]),
    )
}

/// What a spine was chosen by.
fn chosen(c: &SpineChoice) -> [Input; 4] {
    let from = "the prop worked out again with it";
    [
        input("times what is asked of the pieces", c.wall_factor, "1", from),
        input("times what is asked of the spine", c.spine_factor, "1", from),
        input("times what is asked of the joints", c.joint_factor, "1", from),
        input("nods at", c.first_hz, "Hz", from),
    ]
}

/// The lightest stock that holds, and whether the one that is there is allowed.
fn choice(work: &Work, found: &Strength, safety: f64) -> Vec<Finding> {
    let mut all = Vec::new();
    let Some(own) = found.choices.iter().find(|c| c.is_own) else { return all };
    if !own.allowed {
        all.push(
            Checked {
                id: "spine_allowed",
                subject: "spine".into(),
                station_mm: None,
                value: Band::exact(1.0),
                unit: "1",
                min: None,
                max: Some(0.0),
                source: "strength.metal in the project file".into(),
                message: format!("{} is metal, and the event allows none.", own.title),
                remedy: "a bar of glass-fibre or wood (spine.bar)".into(),
            }
            .finding(),
        );
    }
    let lightest = found.choices.iter().find(|c| c.holds(safety));
    let fitting = found.choices.iter().find(|c| c.holds(safety) && c.fits);
    let of = |c: &SpineChoice| {
        let shorter = match c.shorter {
            Some(Shorter { span_mm: None, .. }) => "; it would hold without any".to_owned(),
            Some(Shorter { span_mm: Some([from, to]), mass_g }) if mass_g < 0.97 * c.mass_g => {
                format!("; from station {from:.0} to {to:.0} mm alone ({mass_g:.0} g) is enough")
            }
            _ => "; a good deal shorter it would not hold".to_owned(),
        };
        format!("{} ({:.0} g, tip hangs {:.0} mm, nods at {:.1} Hz{shorter})", c.title, c.mass_g, c.sag_mm, c.first_hz)
    };
    let lengths = work.inside.rail.as_ref().map_or(0, |r| r.spine_mm.len());
    let message = match (lightest, fitting) {
        (Some(any), Some(fits)) if any == fits => format!(
            "The lightest of {} that hold in its {lengths} straight lengths is {}; it goes into the slot as drawn.",
            found.choices.len(),
            of(any)
        ),
        (Some(any), Some(fits)) => format!(
            "The lightest that holds is {}, in a slot of its own; into the slot as drawn goes {}.",
            of(any),
            of(fits)
        ),
        (Some(any), None) => format!("The lightest that holds is {}, in a slot of its own.", of(any)),
        (None, _) => format!(
            "Of {} kinds of stock none brings all of it to {safety:.1} times what is asked and above {STEADY_HZ:.1} Hz.",
            found.choices.len()
        ),
    };
    all.push(
        note("spine_choice", "spine".into(), None, lightest.map_or(0.0, |c| c.mass_g), "g", message)
            .worked_from(lightest.map(chosen).into_iter().flatten()),
    );
    all
}
