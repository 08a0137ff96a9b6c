//! What a resource that is taken makes of the starts of those who need it: a timetable of what is certainly taken, and nobody
//! starts where that leaves too little.

use super::{Claim, Contradiction, Engine};

/// What a task takes of a resource, from its start on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    pub(super) task: usize,
    pub(super) len: i64,
    pub(super) amount: i64,
}

/// So much is certainly taken from here to the next one's beginning.
#[derive(Clone, Copy, Debug)]
struct Level {
    from: i64,
    to: i64,
    taken: i64,
}

/// What is certainly taken of a resource.
struct Table {
    resource: usize,
    capacity: i64,
    levels: Vec<Level>,
}

impl Engine<'_> {
    /// Draws the consequences of a resource's timetable until it says nothing new.
    pub(super) fn fill(&mut self, resource: usize) -> Result<(), Contradiction> {
        let capacity = i64::from(self.problem.project.resources[resource].capacity);
        let table = Table { resource, capacity, levels: self.timetable(resource) };
        if let Some(over) = table.levels.iter().find(|l| l.taken > capacity) {
            let mut why = Vec::new();
            self.who(resource, (over.from + over.to) / 2, None, capacity, &mut why);
            self.conflict = why;
            return Err(Contradiction);
        }
        for k in 0..self.parts[resource].len() {
            let part = self.parts[resource][k];
            if self.lower(part.task) < self.upper(part.task) {
                self.push_later(part, &table)?;
                self.push_earlier(part, &table)?;
            }
        }
        Ok(())
    }

    fn timetable(&self, resource: usize) -> Vec<Level> {
        let mut steps = Vec::new();
        for part in &self.parts[resource] {
            let (from, to) = (self.upper(part.task), self.lower(part.task) + part.len);
            if from < to {
                steps.push((from, part.amount));
                steps.push((to, -part.amount));
            }
        }
        steps.sort_unstable();
        let mut levels: Vec<Level> = Vec::with_capacity(steps.len());
        let (mut at, mut taken) = (0, 0);
        for (time, change) in steps {
            if time > at && taken > 0 {
                levels.push(Level { from: at, to: time, taken });
            }
            at = time;
            taken += change;
        }
        levels
    }

    /// Claims that together take more than a level at a minute, without one task.
    fn who(&self, resource: usize, minute: i64, without: Option<usize>, level: i64, into: &mut Vec<Claim>) {
        let there =
            |p: &&Part| Some(p.task) != without && self.upper(p.task) <= minute && minute < self.lower(p.task) + p.len;
        let mut found: Vec<Part> = self.parts[resource].iter().filter(there).copied().collect();
        // The largest first: fewest claims. Of equals, those that were there first.
        let place = |p: &Part| self.last[2 * p.task].max(self.last[2 * p.task + 1]);
        found.sort_by_key(|p| (-p.amount, place(p)));
        let mut sum = 0;
        for part in found {
            if sum > level {
                break;
            }
            sum += part.amount;
            into.push(Claim::at_least(part.task, minute - part.len + 1));
            into.push(Claim::at_most(part.task, minute));
        }
    }

    /// Whether a level leaves room for a part.
    fn leaves_room(&self, level: Level, part: Part, free: i64) -> bool {
        // Where it certainly is itself, it is counted in the level.
        let own = self.upper(part.task) <= level.from && level.to <= self.lower(part.task) + part.len;
        level.taken <= free || own
    }

    fn push_later(&mut self, part: Part, table: &Table) -> Result<(), Contradiction> {
        let free = table.capacity - part.amount;
        let mut at = self.lower(part.task);
        let mut k = table.levels.partition_point(|l| l.to <= at);
        while let Some(&level) = table.levels.get(k) {
            if level.from >= at + part.len {
                break;
            }
            if self.leaves_room(level, part, free) {
                k += 1;
                continue;
            }
            let minute = level.to.min(at + part.len) - 1;
            let mut why = vec![Claim::at_least(part.task, minute - part.len + 1)];
            self.who(table.resource, minute, Some(part.task), free, &mut why);
            let why = self.stored(&why);
            at = minute + 1;
            self.set(Claim::at_least(part.task, at), why)?;
            if at >= level.to {
                k += 1;
            }
        }
        Ok(())
    }

    fn push_earlier(&mut self, part: Part, table: &Table) -> Result<(), Contradiction> {
        let free = table.capacity - part.amount;
        let mut at = self.upper(part.task);
        let mut k = table.levels.partition_point(|l| l.from < at + part.len);
        while k > 0 {
            let level = table.levels[k - 1];
            if level.to <= at {
                break;
            }
            if self.leaves_room(level, part, free) {
                k -= 1;
                continue;
            }
            let minute = level.from.max(at);
            let mut why = vec![Claim::at_most(part.task, minute)];
            self.who(table.resource, minute, Some(part.task), free, &mut why);
            let why = self.stored(&why);
            at = minute - part.len;
            self.set(Claim::at_most(part.task, at), why)?;
            if at + part.len <= level.from {
                k -= 1;
            }
        }
        Ok(())
    }
}
