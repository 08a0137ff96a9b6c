//! A finding as a question: what is measured on which stretches, and from when on it holds.

use super::model::{Look, Model, NoLook, Stretch, look};
use super::{Kind, Outlook};
use crate::checks::glow::remarked;
use crate::finding::{Finding, Limit, Measured, Verdict};
use crate::light::{LightWork, Lighting};
use crate::memory::{Known, Memory};
use crate::project::Project;
use glow::eye::REMARKED;
use solid::Cancel;

/// The middle of a stretch is this many pitches long, or so many mm; each end is longer by so many.
const CORE: [f64; 2] = [2.0, 50.0];
const END: [f64; 2] = [1.0, 12.0];
/// A quick look first, and closer ones as long as that doesn't tell: with so many paths at most.
const MOST_PATHS: [u32; 3] = [40_000, 160_000, 640_000];
/// So many standard deviations tell.
pub(super) const SURE: f64 = 2.0;
/// What others are measured by is so many standard deviations large.
const YARDSTICK: f64 = 10.0;
/// What a share is known within at first (standard deviation).
const SHARE_SIGMA: f64 = 0.012;

/// What is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Measure {
    /// Contrast of the pixels.
    Ripple,
    /// Darkest against brightest round the prop.
    Across,
    /// The darkest stretch against the brightest.
    Along,
}

/// A finding that fails or is unsure.
#[derive(Clone, Debug)]
pub(super) struct Question {
    pub(super) finding: &'static str,
    pub(super) subject: String,
    pub(super) measure: Measure,
    /// Where to look; of two stretches the first is the dark one.
    pub(super) at: Vec<Stretch>,
    /// What was found; `None` where noise hides it, so that the stretch itself has to tell.
    pub(super) found: Option<f64>,
    /// Ends of the value's band as multiples of it.
    spread: [f64; 2],
    limit: Limit,
    pub(super) viewed_mm: f64,
    /// The window's luminance, cd/m2.
    luminance_cd_m2: f64,
}

/// What a stretch, or two, come to.
pub(super) struct Seen {
    looks: Vec<Known<Look>>,
    pitch_mm: f64,
}

impl Seen {
    /// The measured value with its standard deviation, as the stretches have it.
    fn raw(&self, measure: Measure) -> Option<[f64; 2]> {
        let reading = |r: Option<super::super::Reading>| r.map(|r| [r.value, r.sigma]);
        match measure {
            Measure::Ripple => reading(self.looks[0].ripple),
            Measure::Across => reading(self.looks[0].across),
            Measure::Along => {
                let [dark, bright] = [self.looks.first()?.mean, self.looks.get(1)?.mean];
                let value = dark.value / bright.value;
                Some([value, value * (dark.sigma / dark.value).hypot(bright.sigma / bright.value)])
            }
        }
    }

    fn mean(&self) -> f64 {
        self.looks.iter().map(|l| l.mean.value).sum::<f64>() / self.looks.len() as f64
    }
}

impl Question {
    /// What a finding asks; `None` for one that no stretch can answer.
    pub(super) fn of(work: &LightWork, light: &Lighting, finding: &Finding) -> Option<Question> {
        let measure = match finding.id {
            "glow_ripple" => Measure::Ripple,
            "glow_across" => Measure::Across,
            "glow_even" => Measure::Along,
            _ => return None,
        };
        let named = |p: &super::super::Profile| finding.subject == format!("window {}", light.name(p));
        let k = light.profiles.iter().position(named)?;
        let profile = &light.profiles[k];
        let lit = light.lit_mm[k];
        let middle = f64::midpoint(lit[0], lit[1]);
        let stations = match measure {
            Measure::Ripple => vec![finding.station_mm.map_or(middle, |s| f64::midpoint(s[0], s[1]))],
            Measure::Across => vec![middle],
            Measure::Along => {
                let all = profile.smoothed(light.pitch_mm, lit);
                let dark = all.iter().copied().reduce(|a, b| if b.value < a.value { b } else { a })?;
                let bright = all.iter().copied().reduce(|a, b| if b.value > a.value { b } else { a })?;
                vec![dark.station_mm, bright.station_mm]
            }
        };
        let rail = work.inside.rail.as_ref()?;
        let strip = rail.strip_mm?.map(|d| rail.way.station_at(d));
        let within = [strip[0].max(lit[0] - light.pitch_mm), strip[1].min(lit[1] + light.pitch_mm)];
        let stretch = |s: f64| {
            let [core_mm, station_mm] = stretch_round(s, within, light.pitch_mm)?;
            Some(Stretch { window: profile.window, body: profile.body, station_mm, core_mm })
        };
        let at: Vec<Stretch> = stations.into_iter().map(stretch).collect::<Option<_>>()?;
        let measured = &finding.measured;
        let limit = finding.limit.clone()?;
        // A value that breaks its limit and yet is unsure is the work of noise.
        let hidden = finding.verdict == Verdict::Unsure && !keeps(&limit, measured.value);
        let eyes = (REMARKED[1] / REMARKED[0]).sqrt();
        let own = match measure {
            Measure::Ripple => [1.0 / eyes, eyes],
            Measure::Across | Measure::Along => [1.0, 1.0],
        };
        let known = !hidden && measured.value > 0.0;
        let spread = if known {
            [own[0].min(measured.low / measured.value), own[1].max(measured.high / measured.value)]
        } else {
            own
        };
        Some(Question {
            finding: finding.id,
            subject: finding.subject.clone(),
            measure,
            at,
            found: known.then_some(measured.value),
            spread,
            limit,
            viewed_mm: light.viewed_mm,
            luminance_cd_m2: profile.mean(lit)?.value,
        })
    }

    /// The present design.
    pub(super) fn base(&self, work: &LightWork, memory: &Memory, cancel: &Cancel) -> Result<Seen, NoLook> {
        self.look(work, work.project, None, memory, cancel)
    }

    /// The design of a project, as closely as it takes to tell whether it holds; `base` is the present one.
    pub(super) fn look(
        &self,
        work: &LightWork,
        project: &Project,
        base: Option<&Seen>,
        memory: &Memory,
        cancel: &Cancel,
    ) -> Result<Seen, NoLook> {
        let pitch_mm = project.light.as_ref().map_or(1.0, |l| l.strip.pitch_mm);
        let scale = base.map_or(1.0, |b| self.scale(b)[0]);
        let sigma = match self.measure {
            // Half of all eyes' limit, as far as the stretch shows it; the mean is known better than a wave by a root of 2.
            Measure::Ripple => {
                let limit = self.limit_at(pitch_mm, 1.0);
                limit / scale.max(1e-9) / self.spread[1] / 3.0 / core::f64::consts::SQRT_2
            }
            Measure::Across | Measure::Along => SHARE_SIGMA,
        };
        let mut made: Vec<Option<Model>> = self.at.iter().map(|_| None).collect();
        let mut seen = |most: u32| -> Result<Seen, NoLook> {
            let each = self.at.iter().zip(&mut made);
            let looks = each.map(|at| look(work, project, at, (sigma, most), memory, cancel));
            Ok(Seen { looks: looks.collect::<Result<_, _>>()?, pitch_mm })
        };
        let mut last = seen(MOST_PATHS[0])?;
        // Shares are read from a few large places: what the second look does not tell, plastics and eyes do not either.
        let closest = if self.measure == Measure::Ripple { MOST_PATHS.len() } else { 2 };
        for most in &MOST_PATHS[1..closest] {
            let known = base.is_some() || self.found.is_none() || self.is_yardstick(&last);
            if known && self.tells(&last, base.unwrap_or(&last)) {
                break;
            }
            last = seen(*most)?;
        }
        Ok(last)
    }

    /// Whether the present design's stretch is known well enough to measure others by.
    fn is_yardstick(&self, base: &Seen) -> bool {
        base.raw(self.measure).is_some_and(|[raw, sigma]| raw > YARDSTICK * sigma)
    }

    /// Whether it is clear on which side of the limit a design lies.
    fn tells(&self, seen: &Seen, base: &Seen) -> bool {
        let o = self.outlook(seen, base);
        let worst = if self.limit.max.is_some() { o.value * self.spread[1] } else { o.value * self.spread[0] };
        // Either the end of the band keeps the limit in spite of noise, or the value breaks it.
        let (noise, sign) = (SURE * o.sigma, if self.limit.max.is_some() { 1.0 } else { -1.0 });
        let keeps = sign * worst + noise * if sign > 0.0 { self.spread[1] } else { 1.0 } <= sign * o.limit;
        keeps || sign * o.value - noise > sign * o.limit
    }

    /// What turns a value of the stretch into one of the finding, with its relative noise.
    fn scale(&self, base: &Seen) -> [f64; 2] {
        match (self.found, base.raw(self.measure)) {
            (Some(found), Some([raw, sigma])) if raw > SURE * sigma => [found / raw, sigma / raw],
            _ => [1.0, 0.0],
        }
    }

    fn limit_at(&self, pitch_mm: f64, brighter: f64) -> f64 {
        let fixed = self.limit.max.or(self.limit.min).unwrap_or(0.0);
        match self.measure {
            Measure::Ripple => {
                remarked(pitch_mm, self.viewed_mm, self.luminance_cd_m2 * brighter).map_or(fixed, |r| r.1)
            }
            Measure::Across | Measure::Along => fixed,
        }
    }

    /// What the finding would come to under a design.
    pub(super) fn outlook(&self, seen: &Seen, base: &Seen) -> Outlook {
        let brighter = seen.mean() / base.mean();
        let limit = self.limit_at(seen.pitch_mm, brighter);
        let [raw, sigma] = seen.raw(self.measure).unwrap_or([0.0, 0.0]);
        let [scale, loose] = self.scale(base);
        let share = self.limit.min.is_some();
        let value = if share { (raw * scale).min(1.0) } else { raw * scale };
        // The present design against itself is exactly what was found.
        let itself = std::ptr::eq(seen, base) && self.found.is_some();
        let sigma = if itself { 0.0 } else { (sigma * scale).hypot(value * loose) };
        let noise = SURE * sigma;
        let high = (value + noise) * self.spread[1];
        let band = [(value * self.spread[0] - noise).max(0.0), if share { high.min(1.0) } else { high }];
        let bound =
            Limit { min: self.limit.min.map(|_| limit), max: self.limit.max.map(|_| limit), ..self.limit.clone() };
        let measured = Measured { value, low: band[0], high: band[1], unit: "1" };
        Outlook {
            value,
            sigma,
            band,
            limit,
            verdict: Finding::judge(&measured, &bound),
            brighter,
            stand_off_mm: seen.looks[0].stand_off_mm,
        }
    }

    /// Whether a kind of change can make a difference: pixels closer together even out nothing but their own ripple.
    pub(super) fn may_gain(&self, kind: Kind) -> bool {
        kind != Kind::Pitch || self.measure == Measure::Ripple
    }

    /// Whether it is a share that is to be high, rather than a contrast that is to be low.
    pub(super) fn is_share(&self) -> bool {
        self.limit.min.is_some()
    }
}

fn keeps(limit: &Limit, value: f64) -> bool {
    limit.min.is_none_or(|m| value >= m) && limit.max.is_none_or(|m| value <= m)
}

/// Middle part and whole of a stretch round a station that lies within others; `None` where there is no room for any.
pub(super) fn stretch_round(s: f64, [from, to]: [f64; 2], pitch_mm: f64) -> Option<[[f64; 2]; 2]> {
    let core = (CORE[0] * pitch_mm).max(CORE[1]);
    let end = (END[0] * pitch_mm).max(END[1]);
    let whole = core + 2.0 * end;
    if to - from < whole {
        // Short windows are looked at as a whole.
        let left = to - from - 2.0 * pitch_mm;
        return (left >= 1.0).then_some([[from + pitch_mm, to - pitch_mm], [from, to]]);
    }
    let middle = s.clamp(from + whole / 2.0, to - whole / 2.0);
    let about = |half: f64| [middle - half, middle + half];
    Some([about(core / 2.0), about(whole / 2.0)])
}
