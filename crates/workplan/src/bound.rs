//! How soon everything can end at the earliest, without a plan.

use crate::calendar::Span;
use crate::problem::Problem;

/// No plan ends sooner: what a resource must do for a set of tasks takes its time between the earliest of them and what must follow
/// the last (the one-machine bound of Carlier, "The one-machine sequencing problem", 1982, without preemption, and for several of a
/// kind their hours shared out evenly).
pub(crate) fn by_resources(problem: &Problem, earliest: &[i64]) -> i64 {
    let mut bound = 0;
    for (r, resource) in problem.project.resources.iter().enumerate() {
        // Earliest start, minutes times amount, and what must follow its end.
        let mut works: Vec<(i64, i64, i64)> = Vec::new();
        for (i, task) in problem.project.tasks.iter().enumerate() {
            for used in task.uses.iter().filter(|u| u.resource == r) {
                let minutes = task.use_minutes(used, task.minutes);
                if task.started.is_none() {
                    works.push((earliest[i], minutes * i64::from(used.amount), problem.tail[i] - minutes));
                }
            }
        }
        works.sort_by_key(|w| std::cmp::Reverse(w.0));
        let mut tails: Vec<i64> = works.iter().map(|w| w.2).collect();
        tails.sort_unstable();
        tails.dedup();
        for tail in tails {
            let mut work = 0;
            for &(start, more, after) in &works {
                if after >= tail {
                    work += more;
                    let capacity = i64::from(resource.capacity.max(1));
                    if let Some(end) = worked(&problem.open[r], start, (work + capacity - 1) / capacity) {
                        bound = bound.max(end + tail);
                    }
                }
            }
        }
    }
    bound
}

/// When so many open minutes have passed since a start.
fn worked(open: &[Span], from: i64, minutes: i64) -> Option<i64> {
    let mut left = minutes;
    for span in &open[open.partition_point(|s| s.to <= from)..] {
        let begin = span.from.max(from);
        if left <= span.to - begin {
            return Some(begin + left);
        }
        left -= span.to - begin;
    }
    None
}
