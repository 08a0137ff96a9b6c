//! Which spine would do: every stock of the catalogue in the place of the one that is there, and how much shorter the best may be.

use super::cases::{Found, run};
use super::hold::Hands;
use super::jointed::jointed;
use super::joints::{Held, JointStrength, judge};
use super::sections::Wall;
use super::spine::{Laid, lay_bar};
use super::{StrengthError, StrengthWork};
use crate::catalogue;
use crate::outcome::Bar;
use crate::project::{Project, SpineRules};
use rayon::prelude::*;

/// Steps a second at the most: 1.4 to 2.8 Hz is walking to hurrying.
pub const STEPS_HZ: f64 = 2.8;
/// From the square root of two times that on, walking at most doubles what the tip does (a spring with a mass that is shaken).
pub const STEADY_HZ: f64 = STEPS_HZ * std::f64::consts::SQRT_2;
/// A shorter spine is looked for in steps of this share of how far it reaches from the hand.
const STEPS: u32 = 8;

/// A stock in the spine's place.
#[derive(Clone, Debug, PartialEq)]
pub struct SpineChoice {
    /// Catalogue row.
    pub name: String,
    /// In words.
    pub title: String,
    /// Mass of all its lengths, g.
    pub mass_g: f64,
    /// Least factor of the printed pieces over all cases, with the weakest material.
    pub wall_factor: f64,
    /// Least factor of the spine itself, with the weakest material.
    pub spine_factor: f64,
    /// Least factor of the joints, with the weakest of what holds them: a soft spine leaves them more.
    pub joint_factor: f64,
    /// How far the tip hangs down, held level, the larger way, mm.
    pub sag_mm: f64,
    /// First frequency held in one hand, Hz.
    pub first_hz: f64,
    /// Whether it goes into the slot as it is drawn.
    pub fits: bool,
    /// Whether the event allows it.
    pub allowed: bool,
    /// Whether it is the one that is there.
    pub is_own: bool,
    /// Of the lightest that hold: the shortest that still does.
    pub shorter: Option<Shorter>,
}

impl SpineChoice {
    /// Whether the event allows it, all of the prop bears so many times what is asked, and it is steady to walk with.
    pub fn holds(&self, safety: f64) -> bool {
        self.allowed
            && [self.wall_factor, self.spine_factor, self.joint_factor].iter().all(|f| *f >= safety)
            && self.first_hz >= STEADY_HZ
    }
}

/// A stock that reaches less far from the leading hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shorter {
    /// Stations where it may begin and end, mm; `None`: it holds without any.
    pub span_mm: Option<[f64; 2]>,
    /// Mass, g.
    pub mass_g: f64,
}

/// Tries every stock, lightest first, beside its `own`, of which all is known already: where it lies, what it comes to, and its joints; of the lightest that holds, and of the lightest of those that go into the slot, how short it
/// may be.
pub(super) fn choices(
    work: &StrengthWork,
    walls: &[Wall],
    hands: &Hands,
    held: &[Held],
    own: (&[Option<Laid>], &Found, &[JointStrength]),
) -> Result<Vec<SpineChoice>, StrengthError> {
    let Some(rules) = work.project.spine.as_ref().filter(|_| !work.spines.is_empty()) else { return Ok(Vec::new()) };
    let mut stock = rules.choices.clone();
    if !stock.iter().any(|b| b.name == rules.bar.name) {
        stock.push(rules.bar.clone());
    }
    // The one that is there is judged already, and is as the project has it, whatever the catalogue says.
    let stock: Vec<&catalogue::Bar> =
        stock.iter().map(|bar| if bar.name == rules.bar.name { &rules.bar } else { bar }).collect();
    let mut all: Vec<(SpineChoice, &catalogue::Bar)> = stock
        .par_iter()
        .map(|bar| {
            let is_own = bar.name == rules.bar.name;
            let found = if is_own {
                told(work, rules, walls, bar, own)
            } else {
                tried(work, walls, hands, held, bar, work.spines)?
            };
            Ok((found, *bar))
        })
        .collect::<Result<_, StrengthError>>()?;
    all.sort_by(|a, b| a.0.mass_g.total_cmp(&b.0.mass_g).then_with(|| a.0.name.cmp(&b.0.name)));
    let safety = work.project.strength.safety;
    let first = |fits: bool| all.iter().position(|(c, _)| c.holds(safety) && (c.fits || !fits));
    let mut best: Vec<usize> = [first(false), first(true)].into_iter().flatten().collect();
    best.dedup();
    let found: Vec<(usize, Shorter)> = best
        .par_iter()
        .map(|k| Ok((*k, shorter(work, walls, hands, held, &all[*k])?)))
        .collect::<Result<_, StrengthError>>()?;
    for (k, shorter) in found {
        all[k].0.shorter = Some(shorter);
    }
    Ok(all.into_iter().map(|a| a.0).collect())
}

/// A stock in these lengths.
fn tried(
    work: &StrengthWork,
    walls: &[Wall],
    hands: &Hands,
    held: &[Held],
    bar: &catalogue::Bar,
    lengths: &[Bar],
) -> Result<SpineChoice, StrengthError> {
    let rules = work.project.spine.as_ref().ok_or(StrengthError::Nothing)?;
    let project = Project { spine: Some(SpineRules { bar: bar.clone(), ..rules.clone() }), ..work.project.clone() };
    let work = StrengthWork { project: &project, ..*work };
    let laid = lay_bar(bar, lengths, walls)?;
    let whole = jointed(&work, walls, &laid)?;
    let found = run(&work, walls, &whole, hands)?;
    let joints = judge(held, walls, &whole, &found);
    Ok(told(&work, rules, walls, bar, (&laid, &found, &joints)))
}

/// What a stock comes to.
fn told(
    work: &StrengthWork,
    rules: &SpineRules,
    walls: &[Wall],
    bar: &catalogue::Bar,
    (laid, found, joints): (&[Option<Laid>], &Found, &[JointStrength]),
) -> SpineChoice {
    let masses = walls
        .iter()
        .zip(laid)
        .filter_map(|(w, s)| s.as_ref().map(|s| s.section.plain.mass_g_mm * (w.span_mm[1] - w.span_mm[0])));
    let least = |all: &mut dyn Iterator<Item = f64>| all.fold(f64::INFINITY, f64::min);
    let [size, own] = [bar, &rules.bar].map(|b| b.size_mm.map(|s| s + b.tolerance_mm));
    SpineChoice {
        name: bar.name.clone(),
        title: bar.title.clone(),
        mass_g: masses.sum(),
        wall_factor: least(&mut found.cases.iter().map(|c| c.wall.low())),
        spine_factor: least(&mut found.cases.iter().filter_map(|c| c.spine.map(|s| s.0.low()))),
        joint_factor: least(&mut joints.iter().map(JointStrength::low)),
        sag_mm: found.cases[0].tip_mm.max(found.cases[1].tip_mm),
        first_hz: found.first_hz,
        fits: bar.round == rules.bar.round && (0..2).all(|k| size[k] <= own[k] + 1e-9),
        allowed: work.project.strength.metal || !bar.metal,
        is_own: bar.name == rules.bar.name,
        shorter: None,
    }
}

/// The shortest that holds of a stock that does, by halving: what reaches further from the hand holds no less.
fn shorter(
    work: &StrengthWork,
    walls: &[Wall],
    hands: &Hands,
    held: &[Held],
    (whole, bar): &(SpineChoice, &catalogue::Bar),
) -> Result<Shorter, StrengthError> {
    let rules = work.project.spine.as_ref().ok_or(StrengthError::Nothing)?;
    let (lead, ends) = (hands.lead_mm, reach(work.spines));
    let furthest = (ends[1] - lead).max(lead - ends[0]);
    let of = |step: u32| kept(work.spines, lead, furthest * f64::from(step) / f64::from(STEPS), rules.least_length_mm);
    let (mut fails, mut holds, mut mass_g) = (None, STEPS, whole.mass_g);
    while holds > fails.map_or(0, |f: u32| f + 1) {
        let middle = fails.map_or(holds / 2, |f| f.midpoint(holds));
        let found = tried(work, walls, hands, held, bar, &of(middle))?;
        if found.holds(work.project.strength.safety) {
            (holds, mass_g) = (middle, found.mass_g);
        } else {
            fails = Some(middle);
        }
    }
    let left = of(holds);
    Ok(Shorter { span_mm: (!left.is_empty()).then(|| reach(&left)), mass_g })
}

/// From where to where lengths reach, mm.
fn reach(lengths: &[Bar]) -> [f64; 2] {
    let spans = lengths.iter().map(|b| b.station_mm);
    spans.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]).unwrap_or([0.0; 2])
}

/// Lengths without what lies further than `mm` from the hand; what is left of one below the least length is left out.
fn kept(lengths: &[Bar], lead_mm: f64, mm: f64, least_mm: f64) -> Vec<Bar> {
    let cut = |bar: &Bar| {
        let [from, to] = bar.station_mm;
        let left = [from.max(lead_mm - mm), to.min(lead_mm + mm)];
        let at = |station: f64| bar.start + (bar.end - bar.start) * ((station - from) / (to - from));
        let whole = left == bar.station_mm;
        (whole || left[1] - left[0] >= least_mm.max(1e-6)).then(|| Bar {
            start: at(left[0]),
            end: at(left[1]),
            station_mm: left,
            ..bar.clone()
        })
    };
    lengths.iter().filter_map(cut).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::{DVec3, Mesh};

    fn length(from: f64, to: f64) -> Bar {
        Bar {
            name: "spine".into(),
            start: DVec3::X * from,
            end: DVec3::new(to, 0.0, 10.0),
            across: DVec3::Y,
            size_mm: [12.0, 3.0],
            station_mm: [from, to],
            mesh: Mesh::default(),
        }
    }

    #[test]
    fn a_spine_is_shortened_from_its_far_ends() {
        let lengths = [length(100.0, 300.0), length(300.0, 500.0)];
        let left = kept(&lengths, 250.0, 150.0, 40.0);
        assert_eq!(reach(&left), [100.0, 400.0]);
        assert_eq!(left[0], lengths[0], "what is not cut is as it was");
        assert_eq!((left[1].start, left[1].end), (lengths[1].start, DVec3::new(400.0, 0.0, 5.0)));
        assert_eq!(reach(&kept(&lengths, 250.0, 80.0, 40.0)), [170.0, 300.0], "30 mm are too short a length");
        assert!(kept(&lengths, 250.0, 0.0, 40.0).is_empty());
        assert_eq!(kept(&lengths, 250.0, 900.0, 40.0), lengths);
    }
}
