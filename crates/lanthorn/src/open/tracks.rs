//! What is known along the prop: one station axis, a track for each kind of thing.

use super::stage::Stage;
use prop::light::{Lighting, READS_EVEN};
use prop::outcome::{Piece, Pixel, Pose, Role};
use prop::power::Power;
use prop::stages::{Geometry, Inside, Placed, Printed};
use prop::strength::{AtStation, Strength};
use rayon::prelude::*;
use serde::Serialize;
use solid::section::{Basis, area_mm2, section};

/// Where a place bears more than this, it is shown as so much: times its worst load.
const TOP_FACTOR: f64 = 10.0;
/// Between the sections that tell how solid it is, mm.
pub(crate) const SECTION_MM: f64 = 10.0;

/// A track.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Track {
    pub(crate) id: &'static str,
    pub(crate) stage: Stage,
    pub(crate) build: u64,
    title: &'static str,
    unit: &'static str,
    about: &'static str,
    series: Vec<Series>,
    limits: Vec<LimitLine>,
    marks: Vec<Mark>,
    spans: Vec<Span>,
}

/// All tracks, as they are told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Tracks {
    pub(crate) build: u64,
    pub(crate) span_mm: [f64; 2],
    pub(crate) tracks: Vec<Track>,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum Style {
    Ink,
    Slate,
    Moss,
    Plum,
    Light,
}

/// What a stretch stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum SpanKind {
    Piece,
    Cover,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Series {
    id: String,
    label: String,
    style: Style,
    step: bool,
    x_mm: Vec<f64>,
    y: Vec<Option<f64>>,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct LimitLine {
    label: String,
    value: f64,
    source: String,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Mark {
    id: String,
    x_mm: f64,
    label: String,
    kind: String,
    locked: bool,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Stretch"))]
struct Span {
    id: String,
    from_mm: f64,
    to_mm: f64,
    label: String,
    kind: SpanKind,
    reach_mm: Option<[f64; 2]>,
}

impl Track {
    fn new(id: &'static str, stage: Stage, title: &'static str, unit: &'static str, about: &'static str) -> Track {
        let (series, limits, marks, spans) = Default::default();
        Track { id, stage, build: 0, title, unit, about, series, limits, marks, spans }
    }
}

const STYLES: [Style; 4] = [Style::Ink, Style::Slate, Style::Moss, Style::Plum];

/// Rounded to what is shown, so that the page gets few bytes; `None` where it is no number.
fn shown(value: f64, places: i32) -> Option<f64> {
    let scale = 10f64.powi(places);
    value.is_finite().then(|| (value * scale).round() / scale)
}

impl Series {
    fn new(
        id: &str,
        label: &str,
        style: Style,
        points: impl IntoIterator<Item = (f64, Option<f64>)>,
        places: i32,
    ) -> Series {
        let (x_mm, y) =
            points.into_iter().filter_map(|(x, y)| Some((shown(x, 2)?, y.and_then(|v| shown(v, places))))).unzip();
        Series { id: id.to_owned(), label: label.to_owned(), style, step: false, x_mm, y }
    }

    /// Values that hold over spans: a gap after each span that none follows.
    fn steps(id: &str, label: &str, style: Style, spans: &[([f64; 2], Option<f64>)], places: i32) -> Series {
        let mut points = Vec::new();
        for (k, (span, value)) in spans.iter().enumerate() {
            points.push((span[0], *value));
            if spans.get(k + 1).is_none_or(|next| next.0[0] > span[1] + 1e-6) {
                points.push((span[1], None));
            }
        }
        Series { step: true, ..Series::new(id, label, style, points, places) }
    }
}

/// What pieces and pixels are: wall, cuts, pixels.
pub(crate) fn of_geometry(made: &Geometry) -> Vec<Track> {
    let mut all = vec![wall(made), cuts(made, None)];
    if made.inside.rail.as_ref().is_some_and(|r| !r.pixels.is_empty()) {
        all.push(pixels(made.placed, made.inside));
    }
    all
}

fn wall(made: &Geometry) -> Track {
    let mut track =
        Track::new("wall", Stage::Geometry, "Wall", "mm", "How thick the wall of each hollow piece is to be.");
    let of_core = made.split.pieces.iter().filter(|p| p.rules.role != Role::Cover && p.lid.is_none());
    let spans: Vec<([f64; 2], Option<f64>)> = of_core.map(|p| (p.station_mm, p.wall_mm())).collect();
    track.series = vec![Series::steps("asked", "wall asked for", Style::Ink, &spans, 2)];
    track
}

/// The share of the section that is printed, every so often.
pub(crate) fn solidness(made: &Geometry) -> Track {
    let about = "The share of the section that is printed; the rest is cavity, slots and bays.";
    let mut track = Track::new("solidness", Stage::Print, "Solidness", "%", about);
    let length = made.placed.path.length_mm();
    let count = (length / SECTION_MM).floor().max(1.0) as u32;
    let points: Vec<(f64, Option<f64>)> = (0..count)
        .into_par_iter()
        .map(|k| {
            let station = (f64::from(k) + 0.5) * length / f64::from(count);
            let frame = made.placed.path.frame(station);
            let basis = Basis { origin: frame.point, x: frame.across, y: frame.through };
            let area = |mesh: &solid::Mesh| section(mesh, &basis).map_or(0.0, |loops| area_mm2(&loops));
            let core = made.placed.bodies.iter().filter(|b| b.role != Role::Cover);
            let whole: f64 = core.map(|b| area(&b.mesh)).sum();
            let pieces = made.split.pieces.iter().filter(|p| p.rules.role != Role::Cover);
            // A piece whose box does not meet the plane has no section there.
            let near = pieces.filter(|p| p.station_mm[0] - 60.0 < station && station < p.station_mm[1] + 60.0);
            let printed: f64 = near.map(|p| area(&p.made.mesh)).sum();
            (station, (whole > 1.0).then(|| (100.0 * printed / whole).min(100.0)))
        })
        .collect();
    track.series = vec![Series::new("printed", "printed share", Style::Ink, points, 1)];
    track
}

/// Pieces and joints; with how far the printers reach, once it is known which print what.
pub(crate) fn cuts(made: &Geometry, printed: Option<&Printed>) -> Track {
    let about =
        "Pieces with their printers, as far as each bed would reach from where the piece begins; joints between them.";
    let mut track = Track::new("cuts", Stage::Geometry, "Cuts and joints", "", about);
    let pieces = made.split.pieces.iter().enumerate().map(|(k, p)| {
        let prints = printed.map(|all| &all.pieces[k]);
        Span {
            id: format!("piece-{:02}", p.number),
            from_mm: p.station_mm[0],
            to_mm: p.station_mm[1],
            label: prints.map_or_else(|| format!("{:02}", p.number), |on| format!("{:02} {}", p.number, on.printer)),
            kind: if p.rules.role == Role::Cover { SpanKind::Cover } else { SpanKind::Piece },
            reach_mm: prints.map(|on| [p.station_mm[0], p.station_mm[0] + reach_mm(on)]),
        }
    });
    track.spans = pieces.collect();
    track.marks = made
        .split
        .joints
        .iter()
        .map(|j| Mark {
            id: format!("J{}", j.number),
            x_mm: j.frame.station_mm,
            label: format!("J{}", j.number),
            kind: format!("{:?}", j.kind).to_lowercase(),
            locked: j.locked,
        })
        .collect();
    track
}

/// As far as a piece's bed would reach from where it begins, mm: standing, the bed's height counts; lying, its diagonal.
pub(crate) fn reach_mm(piece: &Piece) -> f64 {
    let [w, d, h] = piece.bed_mm;
    if piece.pose == Pose::Lying { (w * w + d * d).sqrt() } else { h }
}

/// Pixels, and how far each stands off the wall that it lights.
fn pixels(placed: &Placed, inside: &Inside) -> Track {
    let about = "Pixels, and how far each stands off the inner face of the wall before it.";
    let mut track = Track::new("pixels", Stage::Geometry, "Pixels and stand-off", "mm", about);
    let all = inside.rail.as_ref().map_or(&[][..], |r| r.pixels.as_slice());
    track.marks = all
        .iter()
        .map(|p| Mark {
            id: format!("pixel-{}-{}", p.strip, p.number),
            x_mm: p.station_mm,
            label: format!("strip {} pixel {}", p.strip, p.number),
            kind: "pixel".to_owned(),
            locked: false,
        })
        .collect();
    let stand_off = |p: &Pixel| {
        let lit = inside.bodies.iter().filter(|b| placed.bodies[b.body].role == Role::Lit);
        let hits = lit.filter_map(|b| Some(b.outer.ray(p.point, p.facing, 1e3)?.distance_mm - b.rules.wall_mm));
        hits.reduce(f64::min).filter(|mm| *mm >= 0.0)
    };
    track.series = all
        .chunk_by(|a, b| a.strip == b.strip)
        .zip(STYLES.into_iter().cycle())
        .map(|(strip, style)| {
            let name = format!("strip {}", strip[0].strip);
            Series::new(&name.replace(' ', "-"), &name, style, strip.iter().map(|p| (p.station_mm, stand_off(p))), 2)
        })
        .collect();
    track
}

/// Luminance along each window.
pub(crate) fn of_light(light: &Lighting) -> Vec<Track> {
    let about = "How bright each window is along the prop, white, as far as its pixels are driven.";
    let mut track = Track::new("luminance", Stage::Light, "Luminance", "cd/m²", about);
    for (k, profile) in light.profiles.iter().enumerate() {
        let name = light.name(profile);
        let points = profile.station_mm.iter().zip(&profile.luminance_cd_m2).zip(&profile.area_mm2);
        let points = points.map(|((x, y), area)| (*x, (*area > 0.0).then_some(*y)));
        track.series.push(Series::new(&format!("window-{}", k + 1), name, Style::Light, points, 1));
        let even = profile.smoothed(light.pitch_mm, light.lit_mm[k]);
        if let Some(high) = even.iter().map(|r| r.value).reduce(f64::max).and_then(|v| shown(v * READS_EVEN, 1)) {
            track.limits.push(LimitLine {
                label: format!("{name}: still reads as even"),
                value: high,
                source: "two thirds of the brightest place".to_owned(),
            });
        }
    }
    vec![track]
}

/// What each place bears, how far it hangs, how warm it gets.
pub(crate) fn of_strength(found: &Strength) -> Vec<Track> {
    let along = |of: &dyn Fn(&AtStation) -> Option<f64>| -> Vec<([f64; 2], Option<f64>)> {
        found.stations.iter().map(|s| (s.span_mm, of(s))).collect()
    };
    let line = |of: &dyn Fn(&AtStation) -> Option<f64>| -> Vec<(f64, Option<f64>)> {
        found.stations.iter().map(|s| (f64::midpoint(s.span_mm[0], s.span_mm[1]), of(s))).collect()
    };
    let about =
        "How many times its worst load each place bears, the weakest material of its kind besides; shown up to ten.";
    let mut bending = Track::new("bending", Stage::Strength, "Bending", "times", about);
    bending.series = vec![
        Series::steps("pieces", "printed pieces", Style::Ink, &along(&|s| Some(s.worst.factor.min(TOP_FACTOR))), 2),
        Series::steps(
            "weakest",
            "of the weakest material",
            Style::Slate,
            &along(&|s| Some(s.worst.low().min(TOP_FACTOR))),
            2,
        ),
    ];
    if found.stations.iter().any(|s| s.spine.is_some()) {
        let spine = along(&|s| s.spine.map(|w| w.factor.min(TOP_FACTOR)));
        bending.series.push(Series::steps("spine", "spine", Style::Moss, &spine, 2));
    }
    bending.limits =
        vec![LimitLine { label: "wanted".to_owned(), value: found.safety, source: "strength.safety".to_owned() }];
    let about = "How far each place hangs down, held level in one hand.";
    let mut deflection = Track::new("deflection", Stage::Strength, "Deflection", "mm", about);
    deflection.series = vec![
        Series::new("flat", "flat", Style::Ink, line(&|s| Some(s.sag_mm[0])), 2),
        Series::new("edge", "on edge", Style::Slate, line(&|s| Some(s.sag_mm[1])), 2),
    ];
    let mut all = vec![bending, deflection];
    if let Some(heat) = &found.heat {
        let about = "How warm the wall gets where it is worn, and left in a car.";
        let mut warm = Track::new("temperature", Stage::Strength, "Temperature", "°C", about);
        for (case, style) in heat.cases.iter().zip(STYLES.into_iter().cycle()) {
            let points = case.along.iter().map(|[x, c]| (*x, Some(*c)));
            warm.series.push(Series::new(&case.title.replace([' ', ','], "-"), case.title, style, points, 1));
        }
        if let Some(softens) = heat.cases.iter().map(|c| c.softens_c).filter(|c| *c > 0.0).reduce(f64::min) {
            let label = "the softest wall begins to soften".to_owned();
            warm.limits.push(LimitLine {
                label,
                value: softens,
                source: "the material's row of the catalogue".to_owned(),
            });
        }
        all.push(warm);
    }
    all
}

/// Voltage of each pixel at the worst instant.
pub(crate) fn of_power(power: &Power, pixels: &[Pixel]) -> Vec<Track> {
    if power.worst.pixels_v.is_empty() {
        return Vec::new();
    }
    let about = "What each pixel gets at the worst instant: all white at the cap with the loudest sound, on a nearly empty, cold cell.";
    let mut track = Track::new("voltage", Stage::Power, "Voltage along the strip", "V", about);
    let strips = pixels.chunk_by(|a, b| a.strip == b.strip);
    track.series = strips
        .zip(&power.worst.pixels_v)
        .zip(STYLES.into_iter().cycle())
        .map(|((strip, volts), style)| {
            let name = format!("strip {}", strip[0].strip);
            let points = strip.iter().zip(volts).map(|(p, v)| (p.station_mm, Some(*v)));
            Series::new(&name.replace(' ', "-"), &name, style, points, 3)
        })
        .collect();
    vec![track]
}

/// The order in which tracks lie under each other.
pub(crate) const ORDER: [&str; 9] =
    ["wall", "solidness", "cuts", "pixels", "luminance", "bending", "deflection", "voltage", "temperature"];
