//! Small projects against every plan there is.

use crate::judge::faults;
use crate::made::Dice;
use workplan::{Calendar, Effort, Link, Plan, Project, Resource, Span, Task, Waits, WorkError};

/// As late as a brute plan may end.
const LATEST: i64 = 18;

fn small(seed: u64) -> Project {
    let mut dice = Dice(seed.wrapping_mul(77) + 5);
    let resources = (0..2).map(|k| {
        let from = dice.below(10);
        let calendar = if dice.one_in(2) {
            Calendar::always().without(Span::new(from, from + 1 + dice.below(3)))
        } else {
            Calendar::always()
        };
        Resource { name: format!("resource {k}"), capacity: 1 + dice.below(2) as u32, calendar }
    });
    let resources: Vec<Resource> = resources.collect();
    let (mut tasks, mut links) = (Vec::new(), Vec::new());
    for k in 0..4 {
        let mut task = Task::new(format!("task {k}"), dice.below(5));
        for (r, resource) in resources.iter().enumerate() {
            let amount = 1 + dice.below(i64::from(resource.capacity)) as u32;
            task = match dice.below(3) {
                0 => task.using(r, amount),
                1 => task.using_first(r, amount, 1 + dice.below(2)),
                _ => task,
            };
        }
        if dice.one_in(3) {
            let from = dice.below(8);
            task.closed.push(Span::new(from, from + 1 + dice.below(3)));
        }
        tasks.push(task);
        if k > 0 && !dice.one_in(3) {
            let before = dice.below(k as i64) as usize;
            let (a, b) = (dice.below(3), dice.below(3));
            let waits = match dice.below(3) {
                0 => Waits::between(a, a + b),
                1 => Waits::within_or_after((0, a), a + 2 + b),
                _ => Waits::at_least(a),
            };
            links.push(if dice.one_in(2) {
                Link::from_start(before, k, waits)
            } else {
                Link::waiting(before, k, waits)
            });
        }
    }
    Project { resources, tasks, links, begin: dice.below(3), due: None }
}

/// The earliest finish of all plans, tried one by one.
fn best(project: &Project) -> Option<i64> {
    let mut best = None;
    let range = project.begin..LATEST;
    for a in range.clone() {
        for b in range.clone() {
            for c in range.clone() {
                for d in range.clone() {
                    let starts = vec![a, b, c, d];
                    let ends = starts.iter().zip(&project.tasks).map(|(s, t)| s + t.minutes);
                    let finish = ends.max().unwrap_or(0).max(project.begin);
                    if best.is_some_and(|b| finish >= b) {
                        continue;
                    }
                    if faults(project, &Plan { starts, finish, bound: 0 }).is_empty() {
                        best = Some(finish);
                    }
                }
            }
        }
    }
    best
}

#[test]
fn small_projects_end_as_soon_as_any_plan_does() {
    let (mut planned, mut refused) = (0, 0);
    for seed in 0..150 {
        let project = small(seed);
        match (project.solve(&Effort::default()), best(&project)) {
            (Ok(plan), Some(finish)) => {
                assert_eq!((plan.finish, plan.bound), (finish, finish), "seed {seed}: {project:#?}");
                assert_eq!(faults(&project, &plan), Vec::<String>::new(), "seed {seed}");
                planned += 1;
            }
            // Beyond what was tried, or impossible for good.
            (Ok(plan), None) => assert!(plan.finish > LATEST, "seed {seed}: {plan:?}"),
            (Err(WorkError::WaitCannotBeMet { .. } | WorkError::NoPlace { .. }), None) => refused += 1,
            (result, brute) => panic!("seed {seed}: {result:?}, {brute:?}"),
        }
    }
    assert!(planned > 100, "{planned} planned, {refused} refused");
}

/// Muth and Thompson, "Industrial Scheduling", 1963: six jobs on six machines, its optimum of 55 proved many times over (numbers from
/// memory; the reference checks have them from a package). Machine and minutes, job by job.
const SIX_BY_SIX: [[(usize, i64); 6]; 6] = [
    [(2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)],
    [(1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)],
    [(2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)],
    [(1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)],
    [(2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)],
    [(1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)],
];

#[test]
fn six_jobs_on_six_machines_take_fifty_five() -> Result<(), WorkError> {
    let machine = |k| Resource { name: format!("machine {k}"), capacity: 1, calendar: Calendar::always() };
    let steps = SIX_BY_SIX.iter().flatten().enumerate();
    let tasks = steps.map(|(k, (m, minutes))| Task::new(format!("step {k}"), *minutes).using(*m, 1)).collect();
    let links = (0..36).filter(|k| k % 6 > 0).map(|k| Link::after(k - 1, k)).collect();
    let project = Project { resources: (0..6).map(machine).collect(), tasks, links, begin: 0, due: None };
    let plan = project.solve(&Effort::default())?;
    assert_eq!((plan.finish, plan.is_proved()), (55, true));
    assert_eq!(faults(&project, &plan), Vec::<String>::new());
    Ok(())
}
