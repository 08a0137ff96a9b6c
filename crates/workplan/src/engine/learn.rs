//! From a contradiction to the nogood that keeps it from coming back.

use super::{Claim, Engine, Nogood, Reason};
use std::collections::BinaryHeap;

/// Claims that are being traced back: the latest first.
#[derive(Default)]
pub(super) struct Seen {
    open: BinaryHeap<(u32, u32, i64)>,
}

impl Engine<'_> {
    /// The entry by which a claim came to hold.
    fn entry_of(&self, claim: Claim) -> u32 {
        let mut place = self.last[claim.side as usize];
        loop {
            let before = self.trail[place as usize].before;
            if before == super::NONE || self.trail[before as usize].value < claim.value {
                return place;
            }
            place = before;
        }
    }

    fn level_of(&self, place: u32) -> usize {
        self.levels.partition_point(|l| l.0 <= place as usize)
    }

    /// Learns from the contradiction in hand and goes back to where it would have been seen. False when there is nowhere to go.
    pub(super) fn learn(&mut self) -> bool {
        self.conflicts += 1;
        let mut open = std::mem::take(&mut self.seen.open);
        open.clear();
        let add = |engine: &Self, open: &mut BinaryHeap<(u32, u32, i64)>, claim: Claim| {
            let place = engine.entry_of(claim);
            if engine.level_of(place) > 0 {
                open.push((place, claim.side, claim.value));
            }
        };
        for k in 0..self.conflict.len() {
            add(self, &mut open, self.conflict[k]);
        }
        let Some(&(top, ..)) = open.peek() else {
            self.seen.open = open;
            return false;
        };
        // The contradiction may have been there before the last level.
        let level = self.level_of(top);
        let begins = self.levels[level - 1].0 as u32;
        let mut why = Vec::new();
        let first = loop {
            let Some((place, side, value)) = open.pop() else { return false };
            while open.peek().is_some_and(|n| n.0 == place) {
                open.pop();
            }
            let claim = Claim { side, value };
            self.bump(side);
            if open.peek().is_none_or(|n| n.0 < begins) {
                break claim;
            }
            why.clear();
            let reason = self.trail[place as usize].reason;
            if let Reason::Nogood(k) = reason {
                self.bump_nogood(k);
            }
            self.explain(claim, reason, &mut why);
            for claim in &why {
                add(self, &mut open, *claim);
            }
        };
        let mut rest: Vec<(u32, Claim)> = Vec::with_capacity(open.len());
        while let Some((place, side, value)) = open.pop() {
            // A lower claim of the same side follows from the one that is there.
            if side != first.side && rest.iter().all(|r| r.1.side != side) {
                rest.push((place, Claim { side, value }));
                self.bump(side);
            }
        }
        self.seen.open = open;
        self.shorten(&mut rest, first);
        self.decay();
        let back = rest.first().map_or(0, |r| self.level_of(r.0));
        self.back_to(back);
        let mut claims = vec![first];
        claims.extend(rest.iter().map(|r| r.1));
        if claims.len() == 1 {
            return self.set(first.negated(), Reason::Root).is_ok();
        }
        let k = self.nogoods.len() as u32;
        for claim in &claims[..2] {
            self.watches[claim.side as usize].push((claim.value, k));
        }
        self.nogoods.push(Nogood { claims, activity: self.nogood_step });
        self.set(first.negated(), Reason::Nogood(k)).is_ok()
    }

    /// Drops claims that follow from the others.
    fn shorten(&self, rest: &mut Vec<(u32, Claim)>, first: Claim) {
        let mut why = Vec::new();
        let mut kept: Vec<(u32, Claim)> = rest.clone();
        for &(place, claim) in rest.iter() {
            let reason = self.trail[place as usize].reason;
            if matches!(reason, Reason::Tried | Reason::Root) {
                continue;
            }
            why.clear();
            self.explain(claim, reason, &mut why);
            let follows = |w: &Claim| {
                let said = |c: &Claim| c.side == w.side && c.value >= w.value;
                let mut others = kept.iter().filter(|k| k.0 != place).map(|k| &k.1);
                self.level_of(self.entry_of(*w)) == 0 || others.any(said) || (said(&first) && self.entry_of(*w) < place)
            };
            if why.iter().all(follows) {
                kept.retain(|k| k.0 != place);
            }
        }
        *rest = kept;
    }

    fn bump(&mut self, side: u32) {
        let var = (side / 2) as usize;
        self.activity[var] += self.activity_step;
        if self.activity[var] > 1e100 {
            self.activity.iter_mut().for_each(|a| *a *= 1e-100);
            self.activity_step *= 1e-100;
        }
    }

    fn bump_nogood(&mut self, k: u32) {
        let nogood = &mut self.nogoods[k as usize];
        nogood.activity += self.nogood_step;
        if nogood.activity > 1e100 {
            self.nogoods.iter_mut().for_each(|n| n.activity *= 1e-100);
            self.nogood_step *= 1e-100;
        }
    }

    fn decay(&mut self) {
        self.activity_step /= 0.95;
        self.nogood_step /= 0.999;
    }

    /// Forgets the half of the nogoods that helped least. Only where nothing is tried.
    pub(super) fn forget(&mut self) {
        let mut worth: Vec<f64> = self.nogoods.iter().filter(|n| n.claims.len() > 2).map(|n| n.activity).collect();
        worth.sort_by(f64::total_cmp);
        let least = worth.get(worth.len() / 2).copied().unwrap_or(0.0);
        self.nogoods.retain(|n| n.claims.len() == 2 || n.activity >= least);
        self.watches.iter_mut().for_each(Vec::clear);
        for (k, nogood) in self.nogoods.iter().enumerate() {
            for claim in &nogood.claims[..2] {
                self.watches[claim.side as usize].push((claim.value, k as u32));
            }
        }
        // Entries at the root need no reason, and theirs may be gone.
        self.trail.iter_mut().for_each(|e| e.reason = Reason::Root);
    }
}
