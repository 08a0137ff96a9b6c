//! Wraps round a grip: how long a band must be, how often it goes round, where it crosses itself.
//!
//! A band of width w wound at a pitch p round a girth G climbs at the angle whose tangent is p / G; square to its run the next
//! turn lies p G / sqrt(G^2 + p^2) further on. So p = c / sqrt(1 - (c / G)^2) leaves c from turn to turn, and one turn is
//! sqrt(G^2 + p^2) long (the helix). Along a grip whose girth changes both are integrals.

use super::told::Problem;
use crate::outcome::Body;
use crate::path::CentrePath;
use crate::project::{Pattern, WrapRules};
use solid::section::{Basis, section};
use solid::{DVec2, Mesh};
use std::f64::consts::PI;

/// A wrap as it is wound.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrap {
    /// Its name in the project.
    pub name: String,
    /// Catalogue row.
    pub row: String,
    /// In words.
    pub title: String,
    /// Body that it goes round.
    pub body: String,
    /// Stations that it covers, mm.
    pub station_mm: [f64; 2],
    /// How it is laid.
    pub pattern: Pattern,
    /// Girth of the grip: least, most, mm.
    pub girth_mm: [f64; 2],
    /// Pitch of a turn: least, most, mm.
    pub pitch_mm: [f64; 2],
    /// Times that each band goes round.
    pub turns: f64,
    /// Along the grip: station, girth of the grip there (bare), and how often a band has gone round so far, mm and turns.
    pub along: Vec<[f64; 3]>,
    /// Width of a band, mm.
    pub band_mm: f64,
    /// Bands.
    pub bands: u32,
    /// Length of each band as it is cut: less than on the grip by what it stretches, with both ends, mm.
    pub cut_mm: f64,
    /// Length of each band on the grip, mm.
    pub laid_mm: f64,
    /// Stations where the bands cross, in front and behind, mm.
    pub crossings_mm: Vec<f64>,
    /// Where two pairs of hands are needed, in words; empty: one does.
    pub hands: Vec<String>,
    /// What it weighs on the grip, g.
    pub mass_g: f64,
}

/// Distance between the sections that a girth is taken on, mm.
const STEP_MM: f64 = 2.0;
/// A band longer than this is kept from unwinding by somebody else, mm (common practice, no source).
const LONG_MM: f64 = 6000.0;
/// A strap as wide as this is pressed down by one while the other pulls, mm (common practice, no source).
const WIDE_MM: f64 = 25.0;

/// Winds it.
pub(super) fn wound(rules: &WrapRules, bodies: &[Body], path: &CentrePath) -> Result<Wrap, Problem> {
    let body = bodies.iter().find(|b| b.name.eq_ignore_ascii_case(&rules.body));
    let Some(body) = body else {
        let names: Vec<&str> = bodies.iter().map(|b| b.name.as_str()).collect();
        return Err(Problem::NoBody { wrap: rules.name.clone(), body: rules.body.clone(), has: names.join(", ") });
    };
    let [from, to] = rules.stations_mm;
    let [least, most] = body.station_mm;
    if from < least - 0.5 || to > most + 0.5 {
        return Err(Problem::OffBody { wrap: rules.name.clone(), stations_mm: [from, to], body_mm: body.station_mm });
    }
    let count = ((to - from) / STEP_MM).ceil().max(1.0) as usize;
    let step_mm = (to - from) / count as f64;
    // The middle of each step: the very ends of a body have no section.
    let girths: Vec<(f64, f64)> = (0..count)
        .map(|k| from + (k as f64 + 0.5) * step_mm)
        .map(|station| (station, girth_mm(&body.mesh, path, station)))
        .collect();
    let wound = helix(rules, &girths, step_mm)?;
    let long = wound.laid_mm / (1.0 + rules.row.stretch);
    let cut_mm = long + 2.0 * rules.ends_mm;
    let crossed = rules.pattern == Pattern::Crossed;
    let mut hands = Vec::new();
    if crossed {
        hands.push("at every crossing: one holds both bands taut, the other lays them over each other".to_owned());
    } else if cut_mm > LONG_MM {
        hands.push(format!("all along: one turns the prop, the other keeps {:.1} m of band taut", cut_mm / 1000.0));
    }
    if rules.row.width_mm >= WIDE_MM {
        hands.push("at both ends, where a wide strap is pressed down while it is fastened".to_owned());
    }
    let bands = if crossed { 2 } else { 1 };
    let (girth_mm, pitch_mm) = (wound.girth_mm, wound.pitch_mm);
    Ok(Wrap {
        name: rules.name.clone(),
        row: rules.row.name.clone(),
        title: rules.row.title.clone(),
        body: body.name.clone(),
        station_mm: rules.stations_mm,
        pattern: rules.pattern,
        girth_mm,
        pitch_mm,
        turns: wound.turns,
        along: wound.along,
        band_mm: rules.row.width_mm,
        bands,
        cut_mm,
        laid_mm: wound.laid_mm,
        crossings_mm: if crossed { wound.halves_mm } else { Vec::new() },
        hands,
        mass_g: f64::from(bands) * long * 1e-3 * rules.row.mass_g_m,
    })
}

/// One band along the whole grip.
struct Helix {
    girth_mm: [f64; 2],
    pitch_mm: [f64; 2],
    turns: f64,
    /// Station, bare girth and turns so far, in the middle of each step.
    along: Vec<[f64; 3]>,
    laid_mm: f64,
    /// Stations after each half turn: two bands that start from one place cross there.
    halves_mm: Vec<f64>,
}

/// Winds one band over girths (station, mm) that each hold for `step_mm`.
fn helix(rules: &WrapRules, girths: &[(f64, f64)], step_mm: f64) -> Result<Helix, Problem> {
    let apart = rules.row.width_mm + rules.apart_mm;
    let mut wound = Helix {
        girth_mm: [f64::INFINITY, 0.0],
        pitch_mm: [f64::INFINITY, 0.0],
        turns: 0.0,
        along: Vec::new(),
        laid_mm: 0.0,
        halves_mm: Vec::new(),
    };
    for (station, bare) in girths {
        // The middle of the band's thickness runs a little further out: a convex outline grows by 2 pi times that (Steiner).
        let girth = bare + PI * rules.row.thickness_mm;
        if *bare <= 0.0 {
            return Err(Problem::NoGirth { wrap: rules.name.clone(), station_mm: *station });
        }
        if apart >= girth {
            let (wrap, width_mm) = (rules.name.clone(), apart);
            return Err(Problem::TooWide { wrap, width_mm, girth_mm: *bare, station_mm: *station });
        }
        let pitch = apart / (1.0 - (apart / girth) * (apart / girth)).sqrt();
        let turns = step_mm / pitch;
        // Half turns that end within this step.
        let before = wound.turns;
        let mut next = (before * 2.0).floor() + 1.0;
        while next * 0.5 <= before + turns {
            wound.halves_mm.push(station - step_mm * 0.5 + (next * 0.5 - before) / turns * step_mm);
            next += 1.0;
        }
        wound.along.push([*station, *bare, before + 0.5 * turns]);
        wound.turns += turns;
        wound.laid_mm += turns * girth.hypot(pitch);
        wound.girth_mm = [wound.girth_mm[0].min(*bare), wound.girth_mm[1].max(*bare)];
        wound.pitch_mm = [wound.pitch_mm[0].min(pitch), wound.pitch_mm[1].max(pitch)];
    }
    Ok(wound)
}

/// How long a cord pulled taut round a body is at a station, mm: what lies within the convex hull of its section is spanned.
/// 0 where it has no section.
fn girth_mm(mesh: &Mesh, path: &CentrePath, station_mm: f64) -> f64 {
    let frame = path.frame(station_mm);
    let basis = Basis { origin: frame.point, x: frame.across, y: frame.through };
    let points: Vec<DVec2> = section(mesh, &basis).unwrap_or_default().into_iter().flatten().collect();
    let hull = crate::printing::hull::hull(points);
    (0..hull.len()).map(|k| hull[k].distance(hull[(k + 1) % hull.len()])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::outcome::Role;
    use solid::{DVec3, cylinder};

    fn rules(row: &str, pattern: Pattern, apart_mm: f64) -> WrapRules {
        let row = Catalogue::built_in().wraps.into_iter().find(|w| w.name == row).unwrap();
        let (name, body) = ("grip".into(), "grip".into());
        WrapRules { name, row, body, stations_mm: [20.0, 270.0], pattern, apart_mm, ends_mm: 100.0 }
    }

    fn bodies() -> (Vec<Body>, CentrePath) {
        let mesh = cylinder(DVec3::ZERO, DVec3::X * 300.0, 17.5, 180);
        let path = CentrePath::new(vec![DVec3::ZERO, DVec3::X * 300.0]).unwrap();
        (vec![Body { name: "grip".into(), role: Role::Plain, mesh, station_mm: [0.0, 300.0] }], path)
    }

    /// A helix of N turns round a cylinder of diameter D at pitch p is N sqrt((pi D)^2 + p^2) long (any handbook): a cord 3 mm wide and
    /// 2.5 mm thick round 35 mm over 250 mm, its middle on a diameter of 37.5 mm.
    #[test]
    fn on_a_cylinder_it_is_as_long_as_the_helix() {
        let (bodies, path) = bodies();
        let wrap = wound(&rules("cord-3", Pattern::Spiral, 0.0), &bodies, &path).unwrap();
        let round = PI * 37.5;
        // 3 mm square to a run that climbs by p in one turn: p = 3.001 mm here.
        let pitch = 3.0 / (1.0 - (3.0 / round) * (3.0 / round)).sqrt();
        let turns = 250.0 / pitch;
        let formula = turns * (round * round + pitch * pitch).sqrt();
        assert!((wrap.laid_mm / formula - 1.0).abs() < 0.001, "{} {formula}", wrap.laid_mm);
        assert!((wrap.turns - turns).abs() < 0.01 && wrap.crossings_mm.is_empty() && wrap.bands == 1);
        assert!((wrap.cut_mm - (formula / 1.05 + 200.0)).abs() < 0.001 * formula);
        assert!((wrap.girth_mm[0] - PI * 35.0).abs() < 0.05);
        let ([first, _, begun], [last, _, done]) = (wrap.along[0], wrap.along[wrap.along.len() - 1]);
        assert!(((done - begun) / (last - first) * pitch - 1.0).abs() < 1e-3, "evenly wound");
        // Somebody else keeps nearly 10 m of cord taut.
        assert_eq!(wrap.hands.len(), 1);
    }

    /// Two bands wound against each other from one place meet after every half turn.
    #[test]
    fn crossed_straps_cross_twice_a_turn() {
        let (bodies, path) = bodies();
        let wrap = wound(&rules("strap-15", Pattern::Crossed, 15.0), &bodies, &path).unwrap();
        let round = PI * 36.5;
        let pitch = 30.0 / (1.0 - (30.0 / round) * (30.0 / round)).sqrt();
        assert_eq!(wrap.crossings_mm.len(), (2.0 * 250.0 / pitch).floor() as usize);
        assert!((wrap.crossings_mm[0] - (20.0 + pitch / 2.0)).abs() < 0.05 * pitch, "{:?} {pitch}", wrap.crossings_mm);
        assert!(wrap.bands == 2 && wrap.hands[0].contains("every crossing"));
    }

    #[test]
    fn the_girth_follows_the_grip_and_spans_hollows() {
        // A square of 30 with a groove 10 wide and 8 deep along it is wound as a square: 120 mm.
        let outline = [(-15., -15.), (15., -15.), (15., 15.), (5., 15.), (5., 7.), (-5., 7.), (-5., 15.), (-15., 15.)];
        let ring = |x: f64| outline.iter().map(|(y, z)| DVec3::new(x, *y, *z)).collect::<Vec<_>>();
        let mesh = solid::loft(&[ring(0.0), ring(100.0)]);
        let path = CentrePath::new(vec![DVec3::ZERO, DVec3::X * 100.0]).unwrap();
        assert!((girth_mm(&mesh, &path, 50.0) - 120.0).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_wound_is_told() {
        let (bodies, path) = bodies();
        let told = |rules: &WrapRules| wound(rules, &bodies, &path).unwrap_err();
        let wide = WrapRules { apart_mm: 110.0, ..rules("strap-20", Pattern::Spiral, 0.0) };
        assert!(matches!(told(&wide), Problem::TooWide { .. }));
        let off = WrapRules { stations_mm: [250.0, 320.0], ..rules("cord-3", Pattern::Spiral, 0.0) };
        assert!(matches!(told(&off), Problem::OffBody { .. }));
        let none = WrapRules { body: "shaft".into(), ..rules("cord-3", Pattern::Spiral, 0.0) };
        assert!(told(&none).to_string().contains("it has grip"));
    }
}
