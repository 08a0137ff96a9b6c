//! A search that learns from every dead end: which bounds on starts cannot hold together.
//!
//! Starts are integers with a lower and an upper bound. Links, hours and resources move the bounds and say why; a contradiction
//! is traced back through those reasons to a *nogood*, a set of bounds that can't all hold, which is kept ("lazy clause
//! generation": Schutt, Feydy, Stuckey and Wallace, "Explaining the cumulative propagator", Constraints 16, 2011, and "Solving
//! RCPSP/max by lazy clause generation", J. Scheduling 16, 2013; first unique implication points: Marques-Silva and Sakallah,
//! 1999). When nothing is left, the best plan found is the best there is.
//!
//! Rooms: here, bounds and their trail; `learn`, from a contradiction to a nogood; `links`, `hours` (in `spread`) and `taken`,
//! what moves bounds; `search`, what is tried.

mod learn;
mod search;
mod spread;
mod taken;

use crate::problem::{Problem, most, shift};
use taken::Part;

/// Place of one of a variable's two bounds: 2 v for its lower bound, 2 v + 1 for its upper bound with the sign turned. So every
/// bound only ever rises.
type Side = u32;

/// "The bound of this side is at least this."
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Claim {
    side: Side,
    value: i64,
}

impl Claim {
    fn at_least(var: usize, value: i64) -> Claim {
        Claim { side: 2 * var as u32, value }
    }

    fn at_most(var: usize, value: i64) -> Claim {
        Claim { side: 2 * var as u32 + 1, value: -value }
    }

    /// What holds exactly when this doesn't.
    fn negated(self) -> Claim {
        Claim { side: self.side ^ 1, value: 1 - self.value }
    }
}

/// Why a bound rose.
#[derive(Clone, Copy, Debug)]
enum Reason {
    /// It holds in every plan that is still wanted.
    Root,
    /// It was tried.
    Tried,
    /// Another bound rose, and this is at least that plus so much.
    Edge { from: Side, shift: i64 },
    /// The same side was at least this, and up to here nothing is open.
    Closed { from: i64 },
    /// A nogood's other claims hold.
    Nogood(u32),
    /// These claims in the store hold.
    Stored { from: u32, len: u32 },
}

#[derive(Clone, Copy, Debug)]
struct Entry {
    side: Side,
    value: i64,
    /// The side's entry before.
    before: u32,
    reason: Reason,
}

const NONE: u32 = u32::MAX;

struct Nogood {
    claims: Vec<Claim>,
    activity: f64,
}

/// A forbidden range of differences between two starts, ends excluded.
struct Gap {
    before: usize,
    after: usize,
    from: i64,
    to: i64,
}

/// A set of claims that can't hold together.
struct Contradiction;

pub(super) struct Engine<'a> {
    problem: &'a Problem<'a>,
    minutes: Vec<i64>,
    /// The finish is the variable after the tasks'.
    finish: usize,
    bound: Vec<i64>,
    last: Vec<u32>,
    trail: Vec<Entry>,
    /// Length of trail and store where each level began.
    levels: Vec<(usize, usize)>,
    store: Vec<Claim>,
    /// The entry from which on the consequences have not been drawn.
    head: usize,
    edges: Vec<Vec<(Side, i64)>>,
    gaps: Vec<Gap>,
    gaps_of: Vec<Vec<usize>>,
    parts: Vec<Vec<Part>>,
    resources_of: Vec<Vec<usize>>,
    stale: Vec<bool>,
    nogoods: Vec<Nogood>,
    watches: Vec<Vec<(i64, u32)>>,
    conflict: Vec<Claim>,
    activity: Vec<f64>,
    activity_step: f64,
    nogood_step: f64,
    conflicts: u64,
    seen: learn::Seen,
}

impl<'a> Engine<'a> {
    /// All plans that end by a minute.
    pub(super) fn new(problem: &'a Problem<'a>, by: i64) -> Engine<'a> {
        let minutes = problem.minutes();
        let n = minutes.len();
        let sides = 2 * n + 2;
        let mut edges = vec![Vec::new(); sides];
        let mut edge = |from: usize, to: usize, shift: i64| {
            edges[2 * from].push((2 * to as u32, shift));
            edges[2 * to + 1].push((2 * from as u32 + 1, shift));
        };
        let (mut gaps, mut gaps_of) = (Vec::new(), vec![Vec::new(); n + 1]);
        for link in &problem.links {
            let (i, j, zero) = (link.before, link.after, shift(link, &minutes));
            edge(i, j, zero + link.waits.0[0].0);
            if let Some(most) = most(link, &minutes) {
                edge(j, i, -most);
            }
            for pair in link.waits.0.windows(2) {
                if let Some(from) = pair[0].1 {
                    gaps_of[i].push(gaps.len());
                    gaps_of[j].push(gaps.len());
                    gaps.push(Gap { before: i, after: j, from: zero + from, to: zero + pair[1].0 });
                }
            }
        }
        for (i, minutes) in minutes.iter().enumerate() {
            edge(i, n, *minutes);
        }
        let mut parts = vec![Vec::new(); problem.open.len()];
        let mut resources_of = vec![Vec::new(); n + 1];
        for (i, task) in problem.project.tasks.iter().enumerate() {
            for used in &task.uses {
                let len = task.use_minutes(used, task.minutes);
                // What has been started has its hours behind it, but still holds what it takes.
                if len > 0 && used.amount > 0 {
                    parts[used.resource].push(Part { task: i, len, amount: i64::from(used.amount) });
                    resources_of[i].push(used.resource);
                }
            }
        }
        let mut engine = Engine {
            problem,
            minutes,
            finish: n,
            bound: vec![i64::MIN / 4; sides],
            last: vec![NONE; sides],
            trail: Vec::new(),
            levels: Vec::new(),
            store: Vec::new(),
            head: 0,
            edges,
            gaps,
            gaps_of,
            stale: vec![true; parts.len()],
            parts,
            resources_of,
            nogoods: Vec::new(),
            watches: vec![Vec::new(); sides],
            conflict: Vec::new(),
            activity: vec![0.0; n + 1],
            activity_step: 1.0,
            nogood_step: 1.0,
            conflicts: 0,
            seen: learn::Seen::default(),
        };
        for (i, task) in problem.project.tasks.iter().enumerate() {
            let (from, to) = match task.started {
                Some(start) => (start, start),
                None => (problem.project.begin.max(task.not_before), by),
            };
            engine.push(Claim::at_least(i, from), Reason::Root);
            engine.push(Claim::at_most(i, to), Reason::Root);
        }
        engine.push(Claim::at_least(n, problem.project.begin), Reason::Root);
        engine.push(Claim::at_most(n, by), Reason::Root);
        engine
    }

    fn lower(&self, var: usize) -> i64 {
        self.bound[2 * var]
    }

    fn upper(&self, var: usize) -> i64 {
        -self.bound[2 * var + 1]
    }

    fn holds(&self, claim: Claim) -> bool {
        self.bound[claim.side as usize] >= claim.value
    }

    fn push(&mut self, claim: Claim, reason: Reason) {
        let side = claim.side as usize;
        let place = self.trail.len() as u32;
        self.trail.push(Entry { side: claim.side, value: claim.value, before: self.last[side], reason });
        self.bound[side] = claim.value;
        self.last[side] = place;
    }

    /// Makes a claim hold.
    fn set(&mut self, claim: Claim, reason: Reason) -> Result<(), Contradiction> {
        if self.holds(claim) {
            return Ok(());
        }
        if self.holds(claim.negated()) {
            let mut why = std::mem::take(&mut self.conflict);
            why.clear();
            self.explain(claim, reason, &mut why);
            why.push(claim.negated());
            self.conflict = why;
            return Err(Contradiction);
        }
        self.push(claim, reason);
        Ok(())
    }

    /// The claims from which a claim follows for a reason.
    fn explain(&self, claim: Claim, reason: Reason, into: &mut Vec<Claim>) {
        match reason {
            Reason::Root | Reason::Tried => {}
            Reason::Edge { from, shift } => into.push(Claim { side: from, value: claim.value - shift }),
            Reason::Closed { from } => into.push(Claim { side: claim.side, value: from }),
            Reason::Nogood(k) => into.extend_from_slice(&self.nogoods[k as usize].claims[1..]),
            Reason::Stored { from, len } => into.extend_from_slice(&self.store[from as usize..(from + len) as usize]),
        }
    }

    fn stored(&mut self, claims: &[Claim]) -> Reason {
        let from = self.store.len() as u32;
        self.store.extend_from_slice(claims);
        Reason::Stored { from, len: claims.len() as u32 }
    }

    fn back_to(&mut self, level: usize) {
        let Some(&(trail, store)) = self.levels.get(level) else { return };
        while self.trail.len() > trail
            && let Some(entry) = self.trail.pop()
        {
            // The first entries are never taken back: there is always one before.
            self.last[entry.side as usize] = entry.before;
            self.bound[entry.side as usize] = self.trail[entry.before as usize].value;
        }
        self.store.truncate(store);
        self.levels.truncate(level);
        self.head = self.trail.len();
        self.stale.iter_mut().for_each(|s| *s = false);
    }

    /// Draws all consequences.
    fn propagate(&mut self) -> Result<(), Contradiction> {
        loop {
            while let Some(&entry) = self.trail.get(self.head) {
                self.head += 1;
                let var = (entry.side / 2) as usize;
                for k in 0..self.resources_of[var].len() {
                    self.stale[self.resources_of[var][k]] = true;
                }
                self.watched(entry)?;
                self.along_edges(entry)?;
                self.past_closed(entry)?;
                for k in 0..self.gaps_of[var].len() {
                    self.across_gap(self.gaps_of[var][k])?;
                }
            }
            let Some(resource) = self.stale.iter().position(|s| *s) else { return Ok(()) };
            self.stale[resource] = false;
            self.fill(resource)?;
        }
    }

    /// Nogoods of which a claim has come to hold.
    fn watched(&mut self, entry: Entry) -> Result<(), Contradiction> {
        let side = entry.side as usize;
        let old = self.trail.get(entry.before as usize).map_or(i64::MIN, |e| e.value);
        let mut list = std::mem::take(&mut self.watches[side]);
        let mut outcome = Ok(());
        let mut k = 0;
        while k < list.len() {
            let (value, nogood) = list[k];
            if value > entry.value || value <= old || outcome.is_err() {
                k += 1;
                continue;
            }
            let this = Claim { side: entry.side, value };
            let claims = &mut self.nogoods[nogood as usize].claims;
            if claims[0] == this {
                claims.swap(0, 1);
            }
            // Already broken by its other watched claim.
            let other = claims[0];
            if self.bound[(other.side ^ 1) as usize] >= 1 - other.value {
                k += 1;
                continue;
            }
            let free = (2..claims.len()).find(|c| self.bound[claims[*c].side as usize] < claims[*c].value);
            if let Some(c) = free {
                claims.swap(1, c);
                let moved = claims[1];
                list.swap_remove(k);
                if moved.side as usize == side {
                    list.push((moved.value, nogood));
                } else {
                    self.watches[moved.side as usize].push((moved.value, nogood));
                }
                continue;
            }
            outcome = self.set(other.negated(), Reason::Nogood(nogood));
            k += 1;
        }
        // Nothing was added to it meanwhile: claims of this side went to the list in hand.
        self.watches[side] = list;
        outcome
    }
}
