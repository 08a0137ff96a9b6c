//! How likely a plan ends in time, by playing it through.

use crate::error::WorkError;
use crate::model::{Plan, Project, Spread};
use crate::place::place;
use crate::problem::Problem;
use crate::solve::finish;

/// How often a plan is played through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plays {
    /// Seed of the lengths that are drawn.
    pub seed: u64,
    /// How many times.
    pub runs: u32,
}

impl Default for Plays {
    fn default() -> Plays {
        Plays { seed: 1, runs: 1000 }
    }
}

/// What playing a plan through came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chance {
    /// When all ended, of those runs that ended, earliest first.
    pub finishes: Vec<i64>,
    /// Runs in which a longest wait could not be kept: something would have had to be made again.
    pub spoilt: u32,
}

impl Chance {
    /// The share of runs that ended by a minute.
    pub fn by(&self, minute: i64) -> f64 {
        let runs = self.finishes.len() + self.spoilt as usize;
        let in_time = self.finishes.partition_point(|f| *f <= minute);
        if runs == 0 { 0.0 } else { in_time as f64 / runs as f64 }
    }

    /// The minute by which this share of all runs, 0 to 1, had ended; `None` where fewer did.
    pub fn minute(&self, share: f64) -> Option<i64> {
        let runs = self.finishes.len() + self.spoilt as usize;
        let k = (share * runs as f64).ceil() as usize;
        self.finishes.get(k.max(1) - 1).copied()
    }

    /// A band of two standard errors either side of a share of runs, within 0 to 1.
    pub fn band(&self, share: f64) -> [f64; 2] {
        let runs = (self.finishes.len() + self.spoilt as usize).max(1) as f64;
        let twice = 2.0 * (share * (1.0 - share) / runs).sqrt();
        [(share - twice).max(0.0), (share + twice).min(1.0)]
    }
}

impl Project {
    /// Plays a plan through: lengths are drawn from each task's [`Spread`], and whoever comes first in the plan goes first, as soon
    /// as order, hours and resources allow. Nobody knows a length before it has passed. What takes longer than planned is finished
    /// after hours. The same seed gives the same chance.
    ///
    /// # Errors
    ///
    /// Those of [`Project::solve`] that need no planning.
    pub fn chance(&self, plan: &Plan, plays: &Plays) -> Result<Chance, WorkError> {
        let problem = Problem::new(self)?;
        let ranks: Vec<f64> = plan.starts.iter().map(|s| *s as f64).collect();
        let (mut finishes, mut spoilt) = (Vec::new(), 0);
        let mut random = oorandom::Rand64::new(u128::from(plays.seed));
        for _ in 0..plays.runs {
            let draw = |task: &crate::model::Task| {
                let passed = task.started.map_or(0, |s| (self.begin - s).max(0).min(task.minutes));
                drawn(&task.spread, task.minutes, &mut random).max(passed)
            };
            let minutes: Vec<i64> = self.tasks.iter().map(draw).collect();
            match place(&problem, &minutes, &ranks) {
                Ok(starts) => {
                    let ends = starts.iter().zip(&minutes).map(|(s, m)| s + m);
                    finishes.push(ends.max().unwrap_or(finish(self, &starts)));
                }
                Err(_) => spoilt += 1,
            }
        }
        finishes.sort_unstable();
        Ok(Chance { finishes, spoilt })
    }
}

/// A length drawn from a task's spread, minutes.
fn drawn(spread: &Spread, minutes: i64, random: &mut oorandom::Rand64) -> i64 {
    if *spread == Spread::NONE {
        return minutes;
    }
    let mut sum = 0.0;
    // As many trials as fail, and one that doesn't; a thousand are beyond anybody's patience.
    for _ in 0..1000 {
        sum += triangular(spread.shares, random.rand_float());
        if random.rand_float() >= spread.failing {
            break;
        }
    }
    (sum * minutes as f64).round() as i64
}

/// The inverse of the triangular distribution's sum: from an even number in 0 to 1.
fn triangular([least, likely, most]: [f64; 3], even: f64) -> f64 {
    let whole = most - least;
    if whole <= 0.0 {
        return likely;
    }
    let rising = (likely - least) / whole;
    if even < rising {
        least + (even * whole * (likely - least)).sqrt()
    } else {
        most - ((1.0 - even) * whole * (most - likely)).sqrt()
    }
}
