//! Projects made by dice, of any size.

use crate::judge::faults;
use workplan::{Calendar, DAY, Effort, Link, Project, Resource, Span, Spread, Task, Waits, WorkError};

/// Numbers that look thrown (a linear congruence with Knuth's multiplier).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn below(&mut self, n: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as i64) % n
    }

    pub(crate) fn one_in(&mut self, n: i64) -> bool {
        self.below(n) == 0
    }
}

/// A workshop of two people in the afternoons, two printers, clamps and a spray place, and so many tasks.
pub(crate) fn workshop(seed: u64, n: usize) -> Project {
    let mut dice = Dice(seed);
    let mut people = Calendar::daily(900, 1260).without_day(3);
    people.week[5] = vec![Span::new(540, 720), Span::new(780, 1200)];
    let resource = |name: &str, capacity, calendar| Resource { name: name.into(), capacity, calendar };
    let resources = vec![
        resource("people", 2, people),
        resource("printers", 2, Calendar::always()),
        resource("clamps", 3, Calendar::always()),
        resource("spray place", 1, Calendar::daily(600, 1140)),
    ];
    let (mut tasks, mut links) = (Vec::new(), Vec::new());
    for k in 0..n {
        let name = format!("task {k}");
        let task = match dice.below(5) {
            0 => Task::new(name, 120 + dice.below(900)).using(1, 1).using_first(0, 1, 15),
            1 => Task::new(name, 180 + dice.below(600)).using_first(0, 1 + dice.below(2) as u32, 25).using(2, 1),
            2 => Task::new(name, 10 + dice.below(60)).using(0, 1).using(3, 1),
            3 => Task::new(name, dice.below(300)),
            _ => Task::new(name, 5 + dice.below(200)).using(0, 1),
        };
        tasks.push(task);
        for _ in 0..dice.below(3).min(k as i64) {
            let before = k - 1 - dice.below(12.min(k as i64)) as usize;
            let waits = match dice.below(6) {
                0 => Waits::at_least(dice.below(200)),
                1 => Waits::within_or_after((0, 120), 480),
                _ => Waits::at_least(0),
            };
            links.push(Link::waiting(before, k, waits));
        }
        // A longest wait only where nothing else leads to the task.
        if k > 0 && links.iter().all(|l: &Link| l.after != k) && dice.one_in(3) {
            links.push(Link::from_start(k - 1, k, Waits::between(10, 15 + tasks[k - 1].minutes + 1440)));
        }
        if dice.one_in(10) {
            let from = dice.below(6) * DAY;
            tasks[k].closed.push(Span::new(from, from + 2 * DAY));
        }
        tasks[k].spread = Spread { shares: [0.8, 1.0, 1.5], failing: if dice.one_in(5) { 0.1 } else { 0.0 } };
    }
    Project { resources, tasks, links, begin: 0, due: None }
}

#[test]
fn plans_of_workshops_keep_every_rule() -> Result<(), WorkError> {
    let effort = Effort { orders: 40, steps: 40_000, ..Effort::default() };
    for seed in 0..25 {
        let project = workshop(seed, 10 + 3 * seed as usize);
        let plan = project.solve(&effort)?;
        assert_eq!(faults(&project, &plan), Vec::<String>::new(), "seed {seed}");
        assert_eq!(plan, project.solve(&effort)?, "seed {seed}: the same again");
    }
    Ok(())
}

#[test]
fn five_hundred_tasks_are_planned() -> Result<(), WorkError> {
    let project = workshop(500, 500);
    let plan = project.solve(&Effort::default())?;
    assert_eq!(faults(&project, &plan), Vec::<String>::new());
    // The bound knows order and resources only one by one.
    assert!(plan.bound > 0 && plan.finish < 2 * plan.bound, "{} of {}", plan.finish, plan.bound);
    Ok(())
}
