//! A short push: a strike, a knock.
//!
//! Loads grow and fade as half a sine. Each mode follows as a spring with a mass does, without damping (Clough &
//! Penzien, *Dynamics of Structures*, half-sine pulse; from memory), and what the modes asked for leave out follows at
//! once, as if it had no mass.

use std::f64::consts::{PI, TAU};

use glam::DVec3;

use super::checked::checked_loads;
use super::still::Solved;
use super::{End, Frame, FrameError, Load, Ready, Still};

/// Moments looked at in each swing of the fastest mode.
const STEPS: f64 = 24.0;

/// Moments looked at, at the most.
const MOST_STEPS: f64 = 20_000.0;

/// The worst of a pulse at each place; not all at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Struck {
    /// Each node's largest movement, mm.
    pub moved_mm: Vec<DVec3>,
    /// What acts inside each span's two ends when it bends most there.
    pub ends: Vec<[End; 2]>,
}

/// How much more a mass on a spring moves under half a sine of force than under the same force at rest, at its most.
///
/// `swings` is the length of the pulse times the frequency. 1.77 at the most, near 0.8; it falls as 4 × swings for
/// short pulses.
#[must_use]
pub fn shock_factor(swings: f64) -> f64 {
    let steps = 4000;
    // A pulse so long is a load at rest to the last digit told, and can still be stepped through.
    let swings = swings.clamp(0.0, 500.0);
    let end = swings + 1.0;
    (0..=steps).map(|k| follows(end * f64::from(k) / f64::from(steps), swings).abs()).fold(0.0, f64::max)
}

/// What `loads` do when they last `lasts_s` and grow and fade as half a sine: their values are those in the middle.
///
/// `modes` of them are followed in time. A strike of momentum p (N·s) has its middle at π p / (2 `lasts_s`) newtons. A
/// knock of the whole is a [`Load::Pull`].
///
/// # Errors
///
/// See [`FrameError`].
pub fn pulse(frame: &Frame, loads: &[Load], lasts_s: f64, modes: usize) -> Result<Struck, FrameError> {
    Ready::new(frame)?.following(modes)?.pulse(loads, lasts_s)
}

impl Ready<'_> {
    /// What a short push does, with the modes that are followed; as [`pulse`].
    ///
    /// # Errors
    ///
    /// See [`FrameError`].
    pub fn pulse(&self, loads: &[Load], lasts_s: f64) -> Result<Struck, FrameError> {
        if !(lasts_s.is_finite() && lasts_s > 0.0) {
            return Err(FrameError::Pulse { lasts_s });
        }
        let assembled = &self.assembled;
        checked_loads(assembled.frame, loads)?;
        let (at_nodes, on_spans) = assembled.loads(loads);
        let mut rest = self.solved(&at_nodes, &on_spans).told(assembled, &at_nodes, &on_spans);
        let right = super::still::right(assembled, &at_nodes, &on_spans);
        let nothing = (vec![[0.0; 6]; at_nodes.len()], vec![[0.0; 12]; on_spans.len()]);
        let mut each: Vec<(f64, Still)> = Vec::new();
        for (value, shape) in &self.shapes {
            let share: f64 = shape.iter().zip(&right).map(|(x, f)| x * f).sum();
            let moved: Vec<f64> = shape.iter().map(|x| share * x).collect();
            let mode = Solved::of(assembled, moved).told(assembled, &nothing.0, &nothing.1);
            take(&mut rest, &mode);
            each.push((1.0 / value.sqrt() / TAU, mode));
        }
        Ok(followed(&each, &rest, lasts_s))
    }
}

/// Each mode, with its frequency, as it goes in time; the rest goes with the loads.
fn followed(each: &[(f64, Still)], rest: &Still, lasts_s: f64) -> Struck {
    let [slow, fast] = match each {
        [] => [1.0 / lasts_s; 2],
        _ => each.iter().fold([f64::INFINITY, 0.0], |[s, f], (hz, _)| [f64::min(s, *hz), f64::max(f, *hz)]),
    };
    let time = lasts_s + 1.5 / slow;
    let steps = (time * fast * STEPS).max(2.0 * STEPS * time / lasts_s).min(MOST_STEPS).ceil();
    let at = |step: usize| time * step as f64 / steps;
    let count = steps as usize + 1;
    let track = |of: &dyn Fn(f64) -> f64| Track::new((0..count).map(|step| of(at(step))).collect());
    let mut tracks: Vec<Track> = each.iter().map(|(hz, _)| track(&|t| follows(t * hz, lasts_s * hz))).collect();
    tracks.push(track(&|t| if t < lasts_s { libm::sin(PI * t / lasts_s) } else { 0.0 }));
    let parts: Vec<&Still> = each.iter().map(|(_, mode)| mode).chain([rest]).collect();
    worst(&tracks, &parts)
}

/// The worst of each place, of parts that each go their own way in time.
fn worst(tracks: &[Track], parts: &[&Still]) -> Struck {
    let at = |step: usize, of: &dyn Fn(&Still) -> DVec3| -> DVec3 {
        tracks.iter().zip(parts).map(|(track, part)| of(part) * track.at[step]).sum()
    };
    let moved = |node: usize| {
        let of = move |part: &Still| part.moved_mm[node];
        furthest(tracks, &parts.iter().map(|p| of(p)).collect::<Vec<_>>()).map_or(DVec3::ZERO, |step| at(step, &of))
    };
    let end = |span: usize, k: usize| {
        let bends = move |part: &Still| part.ends[span][k].moment_nmm;
        let step = furthest(tracks, &parts.iter().map(|p| bends(p)).collect::<Vec<_>>());
        step.map_or(End { force_n: DVec3::ZERO, moment_nmm: DVec3::ZERO }, |step| End {
            force_n: at(step, &|part| part.ends[span][k].force_n),
            moment_nmm: at(step, &bends),
        })
    };
    let (nodes, spans) = parts.first().map_or((0, 0), |p| (p.moved_mm.len(), p.ends.len()));
    Struck {
        moved_mm: (0..nodes).map(moved).collect(),
        ends: (0..spans).map(|span| [end(span, 0), end(span, 1)]).collect(),
    }
}

/// Moments that are told apart only where they may be the worst.
const STRETCH: usize = 32;

/// How a part goes in time.
struct Track {
    /// At each moment; nothing after the last.
    at: Vec<f64>,
    /// Of each [`STRETCH`] of moments the middle of what it spans, and how far that lies from its ends.
    spans: Vec<[f64; 2]>,
}

impl Track {
    fn new(mut at: Vec<f64>) -> Self {
        at.resize(at.len().next_multiple_of(STRETCH), 0.0);
        let spans = at.chunks_exact(STRETCH).map(|values| {
            let (low, high) =
                values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
            [0.5 * (low + high), 0.5 * (high - low)]
        });
        Self { spans: spans.collect(), at }
    }
}

/// The moment at which a sum of vectors, each times its own track, is longest; `None` where it is nothing all along.
fn furthest(tracks: &[Track], parts: &[DVec3]) -> Option<usize> {
    let stretches = tracks.first().map_or(0, |t| t.spans.len());
    let reached = |stretch: usize| summed(tracks, parts, |t| t.at[stretch * STRETCH + STRETCH / 2]).length_squared();
    let surely = (0..stretches).map(reached).fold(0.0, f64::max);
    let lengths: Vec<f64> = parts.iter().map(|p| p.length()).collect();
    let (mut most, mut found) = (0.0, None);
    for stretch in 0..stretches {
        // No longer than from the middle of all spans to their ends; a hair more for rounding.
        let spread: f64 = tracks.iter().zip(&lengths).map(|(t, length)| length * t.spans[stretch][1]).sum();
        let bound = (summed(tracks, parts, |t| t.spans[stretch][0]).length() + spread) * (1.0 + 1e-9);
        if bound * bound < surely {
            continue;
        }
        for step in stretch * STRETCH..(stretch + 1) * STRETCH {
            let length = summed(tracks, parts, |t| t.at[step]).length_squared();
            if length > most {
                (most, found) = (length, Some(step));
            }
        }
    }
    found
}

/// Each part by what its track gives.
fn summed(tracks: &[Track], parts: &[DVec3], of: impl Fn(&Track) -> f64) -> DVec3 {
    tracks.iter().zip(parts).map(|(track, part)| *part * of(track)).sum()
}

fn take(rest: &mut Still, mode: &Still) {
    rest.moved_mm.iter_mut().zip(&mode.moved_mm).for_each(|(r, m)| *r -= *m);
    for (r, m) in rest.ends.iter_mut().flatten().zip(mode.ends.iter().flatten()) {
        r.force_n -= m.force_n;
        r.moment_nmm -= m.moment_nmm;
    }
}

/// Where a mass on a spring is under half a sine of force, in its deflection at rest under the force's middle. Time and
/// the pulse are counted in the mass's own swings.
fn follows(time: f64, pulse: f64) -> f64 {
    if time <= 0.0 || pulse <= 0.0 {
        return 0.0;
    }
    // The force turns by π in the pulse, the mass by τ in a swing; `ratio` is how much faster the force is.
    let ratio = 0.5 / pulse;
    let during = |t: f64| {
        let own = TAU * t;
        if (ratio - 1.0).abs() < 1e-6 {
            (0.5 * (libm::sin(own) - own * libm::cos(own)), 0.5 * own * libm::sin(own))
        } else {
            let scale = 1.0 / (1.0 - ratio * ratio);
            (
                scale * (libm::sin(ratio * own) - ratio * libm::sin(own)),
                scale * ratio * (libm::cos(ratio * own) - libm::cos(own)),
            )
        }
    };
    if time <= pulse {
        return during(time).0;
    }
    let (at, speed) = during(pulse);
    let since = TAU * (time - pulse);
    at * libm::cos(since) + speed * libm::sin(since)
}

#[cfg(test)]
mod tests {
    use super::{DVec3, Track, follows, furthest, shock_factor};

    /// 1.77 at the most; 1 for slow pulses; ω∫g = 4 × swings for short ones (Clough & Penzien; from memory).
    #[test]
    fn known_factors() {
        let most = (1..300).map(|k| shock_factor(f64::from(k) * 0.01)).fold(0.0, f64::max);
        assert!((most - 1.768).abs() < 0.003, "{most}");
        assert!((shock_factor(0.01) / 0.04 - 1.0).abs() < 0.002);
        assert!((shock_factor(40.25) - 1.0).abs() < 0.02);
        assert!((shock_factor(f64::INFINITY) - 1.0).abs() < 0.002);
    }

    /// Against every moment looked at by itself.
    #[test]
    fn no_moment_is_passed_over() {
        for fast in [3.0, 11.0, 70.0] {
            let wave = |turn: f64, k: u32| libm::sin(turn * f64::from(k) * 0.01 + turn);
            let tracks = [1.0, 0.37 * fast, fast].map(|turn| Track::new((0..777).map(|k| wave(turn, k)).collect()));
            let parts = [DVec3::new(1.0, 0.2, 0.0), DVec3::new(-0.3, 0.4, 0.1), DVec3::new(0.2, 0.2, -0.3)];
            let length = |k: usize| tracks.iter().zip(parts).map(|(t, p)| p * t.at[k]).sum::<DVec3>().length_squared();
            let longest = (0..777).map(length).fold(0.0, f64::max);
            assert_eq!(furthest(&tracks, &parts).map(length), Some(longest));
        }
        assert_eq!(furthest(&[Track::new(vec![0.0; 5])], &[DVec3::X]), None);
    }

    /// Against the equation of motion stepped by small central differences.
    #[test]
    fn follows_the_equation_of_motion() {
        for pulse in [0.3, 0.5, 1.7] {
            let (mut before, mut at, dt) = (0.0, 0.0, 1e-4);
            let turn = std::f64::consts::TAU * std::f64::consts::TAU;
            for k in 0..20_000 {
                let t = f64::from(k) * dt;
                assert!((at - follows(t, pulse)).abs() < 2e-3, "{pulse} {t}");
                let force = if t < pulse { libm::sin(std::f64::consts::PI * t / pulse) } else { 0.0 };
                (before, at) = (at, 2.0 * at - before + turn * (force - at) * dt * dt);
            }
        }
    }
}
