//! Sharing pieces out between printers that work side by side.

use crate::finding::Band;
use thiserror::Error;

/// A piece to print.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Printers that may print it, each with the time it takes there, s.
    pub on: Vec<(usize, Band)>,
}

/// Who prints what.
#[derive(Clone, Debug, PartialEq)]
pub struct Sharing {
    /// Printer of each piece, in the order of the pieces.
    pub printer: Vec<usize>,
    /// Time until the last printer is done, s; its ends are those of this same sharing.
    pub elapsed_s: Band,
    /// Whether no better sharing exists (to the millisecond); otherwise it is the best one found.
    pub best: bool,
}

/// Why pieces cannot be shared out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ShareError {
    /// A piece that no printer may print.
    #[error("piece {job} of the list has no printer")]
    NoPrinter {
        /// Place in the list, from 0.
        job: usize,
    },
    /// A time that is negative, not finite or beyond a thousand years.
    #[error("piece {job} of the list takes {time_s} s")]
    Time {
        /// Place in the list, from 0.
        job: usize,
        /// The time, s.
        time_s: f64,
    },
}

/// Shares pieces out so that the last printer is done as early as possible.
///
/// Branch and bound over the best estimates, longest piece first; exact up to about twenty pieces, beyond that as good
/// as two million steps find. The same jobs always give the same sharing.
///
/// # Errors
/// [`ShareError`] for a piece without a printer or with a time that cannot be.
pub fn share(jobs: &[Job]) -> Result<Sharing, ShareError> {
    for (job, j) in jobs.iter().enumerate() {
        if j.on.is_empty() {
            return Err(ShareError::NoPrinter { job });
        }
        if let Some((_, band)) = j.on.iter().find(|(_, b)| !(0.0..=LONGEST_S).contains(&b.value)) {
            return Err(ShareError::Time { job, time_s: band.value });
        }
    }
    let mut search = Search::new(jobs);
    search.place(0, &mut Vec::new());
    let mut printer = vec![0; jobs.len()];
    for (job, choice) in search.order.iter().zip(&search.best) {
        printer[*job] = jobs[*job].on[*choice].0;
    }
    let mut load = vec![Band::exact(0.0); search.load.len()];
    for (job, choice) in search.order.iter().zip(&search.best) {
        let (p, band) = jobs[*job].on[*choice];
        load[p] = load[p].plus(band);
    }
    let longest = |end: fn(&Band) -> f64| load.iter().map(end).fold(0.0, f64::max);
    let elapsed_s = Band { value: longest(|b| b.value), low: longest(|b| b.low), high: longest(|b| b.high) };
    Ok(Sharing { printer, elapsed_s, best: search.steps < MOST_STEPS })
}

/// Steps of the search before it settles for the best sharing found.
const MOST_STEPS: u32 = 2_000_000;
const LONGEST_S: f64 = 3.2e10;

/// A depth-first search. Times in whole milliseconds, so that equal loads are equal.
struct Search {
    /// Jobs, the longest (on its fastest printer) first.
    order: Vec<usize>,
    /// For each job in that order: printer and time of each choice, in the job's own order.
    choices: Vec<Vec<(usize, u64)>>,
    /// For each place in the order: time of all jobs from there on, on their fastest printers.
    remaining: Vec<u64>,
    /// For each printer the first that takes every job in the same time: with equal loads only one need be tried.
    like: Vec<usize>,
    load: Vec<u64>,
    best: Vec<usize>,
    best_ms: u64,
    steps: u32,
}

impl Search {
    fn new(jobs: &[Job]) -> Search {
        let ms = |band: &Band| (band.value * 1000.0).round() as u64;
        let fastest = |job: &Job| job.on.iter().map(|(_, b)| ms(b)).min().unwrap_or(0);
        let mut order: Vec<usize> = (0..jobs.len()).collect();
        order.sort_by_key(|j| (std::cmp::Reverse(fastest(&jobs[*j])), *j));
        let choices: Vec<Vec<(usize, u64)>> =
            order.iter().map(|j| jobs[*j].on.iter().map(|(p, b)| (*p, ms(b))).collect()).collect();
        let mut remaining = vec![0; jobs.len() + 1];
        for (i, job) in order.iter().enumerate().rev() {
            remaining[i] = remaining[i + 1] + fastest(&jobs[*job]);
        }
        let printers = choices.iter().flatten().map(|(p, _)| p + 1).max().unwrap_or(0);
        let column = |printer: usize| -> Vec<Option<u64>> {
            choices.iter().map(|c| c.iter().find(|(p, _)| *p == printer).map(|(_, t)| *t)).collect()
        };
        let columns: Vec<_> = (0..printers).map(column).collect();
        let like = columns.iter().map(|c| columns.iter().position(|d| d == c).unwrap_or(0)).collect();
        Search {
            order,
            choices,
            remaining,
            like,
            load: vec![0; printers],
            best: vec![0; jobs.len()],
            best_ms: u64::MAX,
            steps: 0,
        }
    }

    fn place(&mut self, at: usize, chosen: &mut Vec<usize>) {
        let longest = self.load.iter().copied().max().unwrap_or(0);
        if at == self.choices.len() {
            if longest < self.best_ms {
                self.best_ms = longest;
                self.best.clone_from(chosen);
            }
            return;
        }
        // All printers together cannot be done sooner than evenly.
        let even = (self.load.iter().sum::<u64>() + self.remaining[at]).div_ceil(self.load.len() as u64);
        if longest.max(even) >= self.best_ms {
            return;
        }
        // The printer that would be done soonest first: the first leaf is already a good sharing.
        let mut turns: Vec<(u64, usize)> =
            self.choices[at].iter().enumerate().map(|(k, (p, t))| (self.load[*p] + t, k)).collect();
        turns.sort_unstable();
        let mut tried: Vec<(usize, u64)> = Vec::with_capacity(turns.len());
        for (done, k) in turns {
            let printer = self.choices[at][k].0;
            let state = (self.like[printer], self.load[printer]);
            if done >= self.best_ms || tried.contains(&state) || self.steps >= MOST_STEPS {
                continue;
            }
            tried.push(state);
            self.steps += 1;
            let before = std::mem::replace(&mut self.load[printer], done);
            chosen.push(k);
            self.place(at + 1, chosen);
            chosen.pop();
            self.load[printer] = before;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on_all(times_s: &[f64], printers: usize) -> Vec<Job> {
        times_s.iter().map(|t| Job { on: (0..printers).map(|p| (p, Band::factor(*t, 0.8, 1.25))).collect() }).collect()
    }

    fn brute_force(jobs: &[Job], load: &mut Vec<f64>) -> f64 {
        let Some((job, rest)) = jobs.split_first() else { return load.iter().copied().fold(0.0, f64::max) };
        let mut best = f64::INFINITY;
        for (p, band) in &job.on {
            load[*p] += band.value;
            best = best.min(brute_force(rest, load));
            load[*p] -= band.value;
        }
        best
    }

    #[test]
    fn equals_brute_force() {
        let mut state = 7u64;
        let mut dice = |n: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % n
        };
        for _ in 0..100 {
            let jobs: Vec<Job> = (0..1 + dice(8))
                .map(|_| {
                    let only = dice(5) as usize;
                    let times = [0, 1, 2].map(|p| (p, Band::exact(1.0 + dice(40) as f64)));
                    Job { on: times.into_iter().filter(|(p, _)| only > 2 || *p == only).collect() }
                })
                .collect();
            let sharing = share(&jobs).unwrap();
            assert!(sharing.best);
            assert_eq!(sharing.elapsed_s.value, brute_force(&jobs, &mut vec![0.0; 3]), "{jobs:?}");
            assert!(jobs.iter().zip(&sharing.printer).all(|(j, p)| j.on.iter().any(|(q, _)| q == p)));
        }
    }

    #[test]
    fn longest_first_alone_is_not_enough() {
        // The textbook case on two machines: 3 3 2 2 2 shared longest first takes 7, best is 6 (Graham, 1969).
        let sharing = share(&on_all(&[3.0, 3.0, 2.0, 2.0, 2.0], 2)).unwrap();
        assert_eq!(sharing.elapsed_s, Band::factor(6.0, 0.8, 1.25));
        assert_eq!(sharing.printer[0], sharing.printer[1]);
    }

    #[test]
    fn fourteen_pieces_share_two_printers_evenly() {
        let hours: Vec<f64> = (0..14).map(|i| 3600.0 * (5.0 + f64::from(i * i % 11) * 0.37)).collect();
        let total: f64 = hours.iter().sum();
        let sharing = share(&on_all(&hours, 2)).unwrap();
        assert!(sharing.best && sharing.elapsed_s.value < total / 2.0 * 1.005);
        assert_eq!(share(&on_all(&hours, 2)).unwrap(), sharing);
        let many: Vec<f64> = (0..60).map(|i| 1000.0 + f64::from(i * 7919 % 1013)).collect();
        let sharing = share(&on_all(&many, 3)).unwrap();
        assert!(sharing.elapsed_s.value <= many.iter().sum::<f64>() / 3.0 * 1.01);
    }

    #[test]
    fn what_cannot_be_shared_is_named() {
        assert_eq!(share(&[Job { on: vec![] }]), Err(ShareError::NoPrinter { job: 0 }));
        let nan = Job { on: vec![(0, Band::exact(f64::NAN))] };
        assert!(matches!(share(&[nan]), Err(ShareError::Time { job: 0, .. })));
        assert_eq!(share(&[]).unwrap().elapsed_s, Band::exact(0.0));
    }
}
