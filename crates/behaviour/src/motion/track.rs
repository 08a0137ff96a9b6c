//! The way of one joint: strokes that add up, and swaying on top, with first and second derivatives in closed form.

use std::f64::consts::{PI, TAU};

/// Value, first and second derivative.
pub(crate) type Way = [f64; 3];

/// How long swaying takes to come up and to die down, seconds.
const EASE_S: f64 = 0.5;

/// The smoothest way from 0 to 1 in unit time (minimum jerk: Flash and Hogan, J. Neurosci. 5, 1985).
pub(crate) fn minimum_jerk(u: f64) -> Way {
    if u <= 0.0 {
        return [0.0; 3];
    }
    if u >= 1.0 {
        return [1.0, 0.0, 0.0];
    }
    let rest = 1.0 - u;
    [u * u * u * (10.0 - 15.0 * u + 6.0 * u * u), 30.0 * u * u * rest * rest, 60.0 * u * rest * (1.0 - 2.0 * u)]
}

/// A movement from one angle to another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stroke {
    pub(crate) start_s: f64,
    pub(crate) lasts_s: f64,
    pub(crate) by: f64,
    /// The share of its time at which something stops it, and how long the stopping takes, seconds.
    pub(crate) stopped: Option<(f64, f64)>,
}

impl Stroke {
    pub(crate) fn end_s(&self) -> f64 {
        self.start_s + self.stopped.map_or(self.lasts_s, |(share, takes_s)| share * self.lasts_s + takes_s)
    }

    /// How far it has come in the end.
    pub(crate) fn total(&self) -> f64 {
        self.at(self.end_s())[0]
    }

    fn free(&self, t: f64) -> Way {
        let [q, v, a] = minimum_jerk((t - self.start_s) / self.lasts_s);
        [self.by * q, self.by * v / self.lasts_s, self.by * a / (self.lasts_s * self.lasts_s)]
    }

    pub(crate) fn at(&self, t: f64) -> Way {
        let Some((share, takes_s)) = self.stopped else { return self.free(t) };
        let met_s = self.start_s + share * self.lasts_s;
        if t <= met_s {
            return self.free(t);
        }
        // The speed goes to nothing along half a cosine: what stops it is half a sine.
        let [q, v, _] = self.free(met_s);
        let x = ((t - met_s) / takes_s).min(1.0);
        let (sin, cos) = libm::sincos(PI * x);
        let moved = v * takes_s * (0.5 * x + sin / TAU);
        if x >= 1.0 {
            return [q + moved, 0.0, 0.0];
        }
        [q + moved, 0.5 * v * (1.0 + cos), -0.5 * PI * v * sin / takes_s]
    }
}

/// A sine that comes up and dies down.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sway {
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    pub(crate) hz: f64,
    pub(crate) phase: f64,
    pub(crate) by: f64,
}

impl Sway {
    pub(crate) fn at(&self, t: f64) -> Way {
        if t <= self.start_s || t >= self.end_s {
            return [0.0; 3];
        }
        let w = TAU * self.hz;
        let (sin, cos) = libm::sincos(w * (t - self.start_s) + self.phase);
        let [s, v, a] = [self.by * sin, self.by * w * cos, -self.by * w * w * sin];
        let ease = EASE_S.min(0.5 * (self.end_s - self.start_s));
        let (since, left) = (t - self.start_s, self.end_s - t);
        if since >= ease && left >= ease {
            return [s, v, a];
        }
        let (u, sign) = if since < ease { (since / ease, 1.0) } else { (left / ease, -1.0) };
        let [e, ev, ea] = minimum_jerk(u);
        let [ev, ea] = [sign * ev / ease, ea / (ease * ease)];
        [s * e, v * e + s * ev, a * e + 2.0 * v * ev + s * ea]
    }
}

/// All movements of one joint, or of one coordinate. Strokes are added in the order of time.
#[derive(Clone, Debug, Default)]
pub(crate) struct Track {
    strokes: Vec<Stroke>,
    sways: Vec<Sway>,
    /// Strokes before this one are over; what they came to.
    over: usize,
    sum: f64,
    swayed: usize,
}

impl Track {
    pub(crate) fn stroke(&mut self, stroke: Stroke) {
        self.strokes.push(stroke);
    }

    pub(crate) fn sway(&mut self, sway: Sway) {
        self.sways.push(sway);
    }

    /// Where it is when all strokes so far are over.
    pub(crate) fn goal(&self) -> f64 {
        self.strokes.iter().skip(self.over).map(Stroke::total).sum::<f64>() + self.sum
    }

    /// Sorted by time, ready to be followed.
    pub(crate) fn ready(&mut self) {
        self.sways.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
    }

    /// Where it is at a time; times only go forward. Without `swaying` nothing but strokes counts.
    pub(crate) fn at(&mut self, t: f64, swaying: bool) -> Way {
        while let Some(stroke) = self.strokes.get(self.over).filter(|s| s.end_s() <= t) {
            self.sum += stroke.total();
            self.over += 1;
        }
        let mut way = [self.sum, 0.0, 0.0];
        let mut add = |more: Way| (0..3).for_each(|k| way[k] += more[k]);
        for stroke in self.strokes[self.over..].iter().take_while(|s| s.start_s < t) {
            add(stroke.at(t));
        }
        while self.sways.get(self.swayed).is_some_and(|s| s.end_s <= t) {
            self.swayed += 1;
        }
        if swaying {
            self.sways[self.swayed..].iter().take_while(|s| s.start_s < t).for_each(|s| add(s.at(t)));
        }
        way
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derivatives against differences of the values.
    fn is_smooth(at: &dyn Fn(f64) -> Way, times: &[f64], scale: f64) {
        let h = 1e-5;
        for &t in times {
            let [before, here, after] = [t - h, t, t + h].map(at);
            let speed = (after[0] - before[0]) / (2.0 * h);
            let push = (after[1] - before[1]) / (2.0 * h);
            assert!((speed - here[1]).abs() < 1e-4 * scale, "at {t}: {speed} {}", here[1]);
            assert!((push - here[2]).abs() < 1e-2 * scale, "at {t}: {push} {}", here[2]);
        }
    }

    #[test]
    fn derivatives_are_those_of_the_way() {
        let free = Stroke { start_s: 1.0, lasts_s: 0.4, by: 2.0, stopped: None };
        is_smooth(&|t| free.at(t), &[0.9, 1.1, 1.2, 1.35, 1.5], 100.0);
        let met = Stroke { stopped: Some((0.6, 0.006)), ..free };
        is_smooth(&|t| met.at(t), &[1.1, 1.23, 1.2413, 1.2447, 1.26], 3000.0);
        let sway = Sway { start_s: 0.0, end_s: 4.0, hz: 2.0, phase: 0.3, by: 0.2 };
        is_smooth(&|t| sway.at(t), &[0.2, 0.4, 1.0, 3.6, 3.9, 5.0], 50.0);
    }

    /// A minimum-jerk stroke peaks at 1.875 times its mean speed (Flash and Hogan 1985), halfway.
    #[test]
    fn the_peak_of_a_stroke_is_the_published_one() {
        let stroke = Stroke { start_s: 0.0, lasts_s: 0.5, by: 3.0, stopped: None };
        assert!((stroke.at(0.25)[1] - 1.875 * 3.0 / 0.5).abs() < 1e-9);
        assert!((stroke.total() - 3.0).abs() < 1e-12);
    }

    #[test]
    fn strokes_add_up() {
        let mut track = Track::default();
        for k in 0..5 {
            track.stroke(Stroke { start_s: f64::from(k), lasts_s: 0.5, by: 1.0, stopped: None });
        }
        assert!((track.goal() - 5.0).abs() < 1e-12);
        for t in [0.25, 1.7, 3.9, 4.2, 9.0] {
            let whole = f64::from(t as u32).min(4.0);
            let part = minimum_jerk((t - whole) / 0.5)[0];
            assert!((track.at(t, true)[0] - whole - part).abs() < 1e-12, "{t}");
        }
    }
}
