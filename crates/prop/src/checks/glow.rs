//! What the eye sees of the lit windows: even or not, ripple of the pixels, lines at joints, shadows, leaks, brightness.

use super::{Checked, Work, note};
use crate::finding::{Band, CHOICE, FOLLOWED, Finding, Input, Verdict, input};
use crate::light::{FINE_NOISE, Lighting, Profile, Reading, evenness};
use glow::eye::{READS_EVEN, READS_UNEVEN, REMARKED, cycles_per_degree, threshold_modulation};

const EVEN_SOURCE: &str =
    "1:1.5 reads as even, 1:2 as uneven: Signs of the Times, May 2014, p. 32, after research of 1931";
/// The field that the eye looks at, degrees: Barten's standard one.
const FIELD_DEG: f64 = 10.0;
/// What makes a window more even.
const EVENER: &str = "take a strip with a smaller pitch, a second row, a thicker wall or a plastic that scatters more, or move the strip away from the wall";
/// A line at a joint: what is compared is this stretch across the cut with what lies beside it, mm.
const LINE_MM: f64 = 4.0;
const BESIDE_MM: [f64; 2] = [6.0, 18.0];
/// Light in one sign by EN 1838: brightest at most ten times the darkest.
const ENDS_SHARE: f64 = 0.1;
/// Most that may come through a surface that stays dark, as a share of the window's luminance (our choice).
const LEAK_SHARE: f64 = 0.01;
/// Illuminance, lx, with what it is like (from memory: maintained illuminances of indoor lighting; an overcast noon).
const ROOMS: [(&str, f64); 3] = [("a dim hall", 50.0), ("a bright hall", 500.0), ("overcast daylight", 10_000.0)];

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let Some(light) = work.light else { return unfollowed(work) };
    let mut found = Vec::new();
    for (k, profile) in light.profiles.iter().enumerate() {
        let name = format!("window {}", light.name(profile));
        found.extend(even(light, k, &name));
        found.extend(ripple(light, k, &name));
        found.extend(across(light, k, &name));
        found.extend(ends(light, k, &name));
        found.extend(bright(light, k, &name));
        found.extend(lines(work, light, k, &name));
    }
    found.extend(leaks(light));
    found.push(paths(light));
    found
}

/// Says so when the maker left the light out.
fn unfollowed(work: &Work) -> Vec<Finding> {
    let left = work.project.light.as_ref().is_some_and(|l| !l.follow);
    let message =
        "The light is not followed (light.follow = false): how evenly the windows glow is not known.".to_owned();
    if left { vec![note("glow_left", "light".into(), None, 0.0, "1", message)] } else { Vec::new() }
}

/// What a value is read from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Pattern {
    /// A mean over the window: a quick look at the materials' ends tells it.
    Mean,
    /// Differences along it, which need more.
    Fine,
}

/// A value from the nominal materials with the ends of their range, and the noise of both.
fn banded(
    light: &Lighting,
    k: usize,
    pattern: Pattern,
    value: impl Fn(&Profile) -> Option<Reading>,
) -> Option<(Band, Reading)> {
    let nominal = value(&light.profiles[k])?;
    let mut band = Band::about(nominal.value, 2.0 * nominal.sigma);
    for ends in light.ends.iter().filter(|_| pattern == Pattern::Mean || light.noise_asked <= FINE_NOISE) {
        if let Some(r) = ends.get(k).and_then(&value) {
            band.low = band.low.min(r.value);
            band.high = band.high.max(r.value);
        }
    }
    band.low = band.low.max(0.0);
    Some((band, nominal))
}

/// The noise of a fine pattern: after a quick look single cells have met too few paths to tell even their noise.
fn fine_sigma(light: &Lighting, sigma: f64) -> f64 {
    if light.noise() > FINE_NOISE { f64::INFINITY } else { sigma }
}

/// So many standard deviations are no work of noise: few paths have heavy tails, and the worst of many places is looked at.
const SURE: f64 = 4.0;

impl Checked {
    /// The finding; one that fails only by the noise (`sigma`) of the paths that were followed is not sure.
    fn judged(self, sigma: f64) -> Finding {
        let remedy = self.remedy.clone();
        let mut finding = self.finding();
        let Some(limit) = &finding.limit else { return finding };
        let value = finding.measured.value;
        let fails = |v: f64| limit.max.is_some_and(|m| v > m) || limit.min.is_some_and(|m| v < m);
        if finding.verdict == Verdict::Fails && !(fails(value - SURE * sigma) && fails(value + SURE * sigma)) {
            finding.verdict = Verdict::Unsure;
            finding.remedy =
                format!("have the light followed longer (light.noise) to know; if it fails then, {remedy}");
        }
        finding
    }
}

/// The ends of a stretch, and the pitch that means are taken over.
fn ends_of(low: &Reading, high: &Reading, light: &Lighting) -> [Input; 3] {
    [
        input("darkest", low.value, "cd/m2", FOLLOWED),
        input("brightest", high.value, "cd/m2", FOLLOWED),
        input("means over", light.pitch_mm, "mm", "pitch of the strip"),
    ]
}

fn even(light: &Lighting, k: usize, name: &str) -> Option<Finding> {
    let lit = light.lit_mm[k];
    let share = |p: &Profile| evenness(&p.smoothed(light.pitch_mm, lit));
    let (value, nominal) = banded(light, k, Pattern::Fine, share)?;
    let station_mm = nominal.station_mm;
    let smoothed = light.profiles[k].smoothed(light.pitch_mm, lit);
    let (low, high) = (lowest(&smoothed)?, highest(&smoothed)?);
    Some(
        Checked {
            id: "glow_even",
            subject: name.into(),
            station_mm: Some(lit),
            value,
            unit: "1",
            min: Some(READS_EVEN),
            max: None,
            source: EVEN_SOURCE.into(),
            message: format!(
                "Between its first and last pixel the window is darkest at station {station_mm:.0} mm, with {:.0} % of the luminance at its brightest, station {:.0} mm.",
                value.value * 100.0,
                high.station_mm
            ),
            remedy: EVENER.into(),
        }
        .judged(nominal.sigma)
        .worked_from(ends_of(&low, &high, light)),
    )
}

fn ripple(light: &Lighting, k: usize, name: &str) -> Option<Finding> {
    let worst = |p: &Profile| surest(&p.ripple(light.pitch_mm, light.lit_mm[k]));
    let (value, nominal) = banded(light, k, Pattern::Fine, worst)?;
    let station_mm = nominal.station_mm;
    let luminance = light.profiles[k].mean(light.lit_mm[k])?.value;
    let (frequency, limit) = remarked(light.pitch_mm, light.viewed_mm, luminance)?;
    let value = by_eyes(value);
    Some(
        Checked {
            id: "glow_ripple",
            subject: name.into(),
            station_mm: Some([station_mm; 2]),
            value,
            unit: "1",
            min: None,
            max: Some(limit),
            source: format!(
                "ten times the threshold of Barten (1999) at {frequency:.1} cycles a degree, seen from {:.1} m; some eyes remark on half of that, some on twice (common practice, no source)",
                light.viewed_mm / 1000.0
            ),
            message: format!(
                "Single pixels show as a ripple of {:.2} % at most, near station {station_mm:.0} mm; from {:.1} m {:.2} % is remarked on.",
                value.value * 100.0,
                light.viewed_mm / 1000.0,
                limit * 100.0
            ),
            remedy: EVENER.into(),
        }
        .judged(fine_sigma(light, nominal.sigma))
        .worked_from([
            input("mean of the window", luminance, "cd/m2", FOLLOWED),
            input("pitch", light.pitch_mm, "mm", "catalogue: strip"),
            input("seen from", light.viewed_mm, "mm", "light.viewed-from"),
            input("so fine a pattern", frequency, "cycles/deg", "pitch and distance"),
            input("times the threshold", (REMARKED[0] * REMARKED[1]).sqrt(), "1", "common practice, no source"),
        ]),
    )
}

/// The window's luminance round the prop: shadows of spine and wires, and the fall towards its rims.
fn across(light: &Lighting, k: usize, name: &str) -> Option<Finding> {
    let around = &light.around[k];
    let Reading { station_mm: degrees, value: share, sigma } = evenness(around)?;
    let (low, high) = (lowest(around)?, highest(around)?);
    Some(
        Checked {
            id: "glow_across",
            subject: name.into(),
            station_mm: Some(light.lit_mm[k]),
            value: Band { low: (share - 2.0 * sigma).max(0.0), ..Band::about(share, 2.0 * sigma) },
            unit: "1",
            min: Some(READS_UNEVEN),
            max: None,
            source: EVEN_SOURCE.into(),
            message: format!(
                "Round the prop the window is darkest {:.0} degrees from across (towards through), with {:.0} % of what it is at its brightest: what spine, wires and rail leave in shadow.",
                degrees,
                share * 100.0
            ),
            remedy: "set the window where the pixels look, take one row more (light.rows), or a white lining".into(),
        }
        .judged(sigma)
        .worked_from([
            input("darkest", low.value, "cd/m2", FOLLOWED),
            input("brightest", high.value, "cd/m2", FOLLOWED),
        ]),
    )
}

fn ends(light: &Lighting, k: usize, name: &str) -> Option<Finding> {
    let all = light.profiles[k].smoothed(light.pitch_mm, light.span_mm[k]);
    let (low, high) = (lowest(&all)?, highest(&all)?);
    let share = low.value / high.value;
    Some(
        Checked {
            id: "glow_ends",
            subject: name.into(),
            station_mm: Some(light.span_mm[k]),
            value: Band::about(share, 2.0 * low.sigma / high.value),
            unit: "1",
            min: Some(ENDS_SHARE),
            max: None,
            source: "10:1 within one colour: EN 1838:2013 for safety signs, as restated by the trade".into(),
            message: format!(
                "Over its whole length the window is darkest at station {:.0} mm, with {:.0} % of its brightest.",
                low.station_mm,
                share * 100.0
            ),
            remedy:
                "let the strip run on (light.from, light.to), or end the window where the light does (window stations)"
                    .into(),
        }
        .judged(low.sigma / high.value)
        .worked_from(ends_of(&low, &high, light)),
    )
}

fn bright(light: &Lighting, k: usize, name: &str) -> Vec<Finding> {
    let lit = light.lit_mm[k];
    let Some((luminance, _)) = banded(light, k, Pattern::Mean, |p| p.mean(lit)) else { return Vec::new() };
    let rooms = ROOMS.iter().map(|(room, lux)| {
        // A matt surface sends back lux * reflectance / pi in every direction.
        let unlit = lux * light.reflectance[k] / std::f64::consts::PI;
        let times =
            Band::factor(luminance.value / unlit, luminance.low / luminance.value, luminance.high / luminance.value);
        let message = format!(
            "In white the window has {:.0} cd/m2; in {room} ({lux:.0} lx) the unlit wall has {unlit:.0}: {:.1} times.",
            luminance.value, times.value
        );
        let from = [
            input("window in white", luminance.value, "cd/m2", FOLLOWED),
            input("light of the room", *lux, "lx", "usual illuminances, from memory"),
            input("sent back by the unlit wall", light.reflectance[k], "1", "catalogue: plastic and coats"),
        ];
        if *lux > 1000.0 {
            return note("glow_daylight", name.into(), Some(lit), times.value, "1", message).worked_from(from);
        }
        Checked {
            id: "glow_bright",
            subject: format!("{name}, {room}"),
            station_mm: Some(lit),
            value: times,
            unit: "1",
            min: Some(1.0),
            max: None,
            source: "as bright as the wall itself looks there: our choice".into(),
            message,
            remedy: "take a strip with more light a metre, a second row, a thinner wall or a white lining".into(),
        }
        .finding()
        .worked_from(from)
    });
    rooms.collect()
}

/// The line at each joint inside a window.
fn lines(work: &Work, light: &Lighting, k: usize, name: &str) -> Vec<Finding> {
    let [from, to] = light.lit_mm[k];
    let joints = work.split.joints.iter().filter(|j| {
        let s = j.frame.station_mm;
        s - BESIDE_MM[1] > from && s + BESIDE_MM[1] < to
    });
    joints
        .filter_map(|joint| {
            let s = joint.frame.station_mm;
            let means = |p: &Profile| {
                let line = p.mean([s - LINE_MM / 2.0, s + LINE_MM / 2.0])?;
                let before = p.mean([s - BESIDE_MM[1], s - BESIDE_MM[0]])?;
                Some([line, before, p.mean([s + BESIDE_MM[0], s + BESIDE_MM[1]])?])
            };
            let contrast = |p: &Profile| {
                let [line, before, after] = means(p)?;
                let beside = (before.value + after.value) / 2.0;
                let sum = line.value + beside;
                (sum > 0.0).then(|| Reading {
                    station_mm: s,
                    value: (line.value - beside).abs() / sum,
                    sigma: line.sigma.hypot(before.sigma.hypot(after.sigma) / 2.0) / sum,
                })
            };
            let (value, nominal) = banded(light, k, Pattern::Fine, contrast)?;
            let luminance = light.profiles[k].mean([s - BESIDE_MM[1], s + BESIDE_MM[1]])?.value;
            let (_, limit) = remarked(2.0 * LINE_MM, light.viewed_mm, luminance)?;
            let [line, before, after] = means(&light.profiles[k])?;
            let value = by_eyes(value);
            Some(
                Checked {
                    id: "glow_joint",
                    subject: format!("joint J{}, {name}", joint.number),
                    station_mm: Some([s, s]),
                    value,
                    unit: "1",
                    min: None,
                    max: Some(limit),
                    source: format!(
                        "ten times the threshold of Barten (1999) for a line {LINE_MM:.0} mm wide from {:.1} m; some eyes remark on half of that, some on twice (common practice, no source)",
                        light.viewed_mm / 1000.0
                    ),
                    message: format!(
                        "The joint shows as a line with a contrast of {:.1} % against what lies beside it; from {:.1} m {:.1} % is remarked on.",
                        value.value * 100.0,
                        light.viewed_mm / 1000.0,
                        limit * 100.0
                    ),
                    remedy: "move the joint between two pixels (cuts.shift), ask for pegs instead of a collar there (joint = \"pegs\"), or glue it with a clear or white glue".into(),
                }
                .judged(fine_sigma(light, nominal.sigma))
                .worked_from([
                    input("over the joint", line.value, "cd/m2", FOLLOWED),
                    input("before it", before.value, "cd/m2", FOLLOWED),
                    input("behind it", after.value, "cd/m2", FOLLOWED),
                    input("width of the line", LINE_MM, "mm", CHOICE),
                    input("seen from", light.viewed_mm, "mm", "light.viewed-from"),
                ]),
            )
        })
        .collect()
}

/// The brightest place that is to stay dark, for each body.
fn leaks(light: &Lighting) -> Vec<Finding> {
    let leaks = light.leaks.iter().map(|leak| {
        let share = leak.worst.value / leak.against_cd_m2;
        let sigma = leak.worst.sigma / leak.against_cd_m2;
        Checked {
            id: "glow_leak",
            subject: leak.body.clone(),
            station_mm: Some([leak.worst.station_mm; 2]),
            value: Band { low: (share - 2.0 * sigma).max(0.0), ..Band::about(share, 2.0 * sigma) },
            unit: "1",
            min: None,
            max: Some(LEAK_SHARE),
            source: "a hundredth of the window's luminance: our choice".into(),
            message: format!(
                "What is to stay dark shines most at station {:.0} mm: {:.2} cd/m2, {:.2} % of the windows' mean.",
                leak.worst.station_mm,
                leak.worst.value,
                share * 100.0
            ),
            remedy: "add a coat that passes less (black primer below the paint), or line the cavity there".into(),
        }
        .judged(sigma)
        .worked_from([
            input("brightest dark place", leak.worst.value, "cd/m2", FOLLOWED),
            input("mean of the windows", leak.against_cd_m2, "cd/m2", FOLLOWED),
        ])
    });
    leaks.collect()
}

/// How much was followed, and what was lost on the way.
fn paths(light: &Lighting) -> Finding {
    Checked {
        id: "glow_noise",
        subject: "light".into(),
        station_mm: None,
        value: Band::exact(light.noise()),
        unit: "1",
        min: None,
        max: Some(light.noise_asked),
        source: "light.noise".into(),
        message: format!(
            "{:.1} million paths of light were followed: {:.1} % noise on a square centimetre of window; {:.4} % of the light was lost between surfaces.{}",
            light.paths() as f64 / 1e6,
            light.noise() * 100.0,
            light.lost() * 100.0,
            if light.guessed.is_empty() {
                String::new()
            } else {
                format!(
                    " Scattering and absorption of {} are an engineering guess until a light coupon is measured: the bands say what that means.",
                    light.guessed.join(", ")
                )
            }
        ),
        remedy: "allow more noise, or give it more time (light.noise)".into(),
    }
    .finding()
    .worked_from([
        input("paths", light.paths() as f64, "1", "followed until the noise was as asked"),
        input("lost between surfaces", light.lost(), "1", FOLLOWED),
    ])
}

/// Cycles a degree of a pattern, and the contrast from which it is remarked on; `None` for a window that is all but dark.
pub(crate) fn remarked(pitch_mm: f64, viewed_mm: f64, luminance_cd_m2: f64) -> Option<(f64, f64)> {
    let frequency = cycles_per_degree(pitch_mm, viewed_mm).ok()?;
    let threshold = threshold_modulation(frequency.min(100.0), luminance_cd_m2, FIELD_DEG).ok()?;
    Some((frequency, (REMARKED[0] * REMARKED[1]).sqrt() * threshold))
}

/// A contrast as different eyes take it.
fn by_eyes(value: Band) -> Band {
    let spread = (REMARKED[1] / REMARKED[0]).sqrt();
    Band { value: value.value, low: value.low / spread, high: value.high * spread }
}

/// The highest value that is no work of noise.
fn surest(all: &[Reading]) -> Option<Reading> {
    all.iter().copied().reduce(|a, b| if b.value - 2.0 * b.sigma > a.value - 2.0 * a.sigma { b } else { a })
}

fn lowest(all: &[Reading]) -> Option<Reading> {
    all.iter().copied().reduce(|a, b| if b.value < a.value { b } else { a })
}

fn highest(all: &[Reading]) -> Option<Reading> {
    all.iter().copied().reduce(|a, b| if b.value > a.value { b } else { a })
}
