//! What links and hours make of a bound that rose.

use super::{Claim, Contradiction, Engine, Entry, Reason};

impl Engine<'_> {
    pub(super) fn along_edges(&mut self, entry: Entry) -> Result<(), Contradiction> {
        // What has been overtaken by a later entry of the same side will be drawn from that.
        if self.bound[entry.side as usize] != entry.value {
            return Ok(());
        }
        for k in 0..self.edges[entry.side as usize].len() {
            let (to, shift) = self.edges[entry.side as usize][k];
            self.set(Claim { side: to, value: entry.value + shift }, Reason::Edge { from: entry.side, shift })?;
        }
        Ok(())
    }

    /// A start that hours or forbidden spans do not allow goes on to the next that they do.
    pub(super) fn past_closed(&mut self, entry: Entry) -> Result<(), Contradiction> {
        let var = (entry.side / 2) as usize;
        if var == self.finish || self.problem.project.tasks[var].started.is_some() {
            return Ok(());
        }
        let (lower, value) = (entry.side.is_multiple_of(2), self.bound[entry.side as usize]);
        // In the side's own sign: where open again, and the last open one before.
        let (next, last) = if lower {
            (self.problem.allowed(var, value), self.problem.allowed_back(var, value))
        } else {
            let back = self.problem.allowed_back(var, -value).map(|t| -t);
            (back, self.problem.allowed(var, -value).map(|t| -t))
        };
        if next == Some(value) {
            return Ok(());
        }
        let next = next.unwrap_or(i64::MAX / 8);
        let from = last.map_or(i64::MIN / 4, |t| t + 1);
        self.set(Claim { side: entry.side, value: next }, Reason::Closed { from })
    }

    /// Two starts do not differ by what lies in the gap.
    pub(super) fn across_gap(&mut self, gap: usize) -> Result<(), Contradiction> {
        let gap = &self.gaps[gap];
        let (i, j, from, to) = (gap.before, gap.after, gap.from, gap.to);
        // More than the lower end: then at least the upper end.
        if self.lower(j) - self.upper(i) > from {
            let (late, early) = (self.lower(i) + to, self.upper(j) - to);
            let sure = [Claim::at_least(j, self.upper(i) + from + 1), Claim::at_most(i, self.upper(i))];
            if late > self.lower(j) {
                let why = self.stored(&[sure[0], sure[1], Claim::at_least(i, late - to)]);
                self.set(Claim::at_least(j, late), why)?;
            }
            if early < self.upper(i) {
                let why = self.stored(&[sure[0], sure[1], Claim::at_most(j, early + to)]);
                self.set(Claim::at_most(i, early), why)?;
            }
        }
        // Less than the upper end: then at most the lower end.
        if self.upper(j) - self.lower(i) < to {
            let (early, late) = (self.upper(i) + from, self.lower(j) - from);
            let sure = [Claim::at_most(j, self.lower(i) + to - 1), Claim::at_least(i, self.lower(i))];
            if early < self.upper(j) {
                let why = self.stored(&[sure[0], sure[1], Claim::at_most(i, early - from)]);
                self.set(Claim::at_most(j, early), why)?;
            }
            if late > self.lower(i) {
                let why = self.stored(&[sure[0], sure[1], Claim::at_least(j, late + from)]);
                self.set(Claim::at_least(i, late), why)?;
            }
        }
        Ok(())
    }
}
