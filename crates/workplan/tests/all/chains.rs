//! What a finish hangs on, and what reports make of it.

use crate::judge::faults;
use crate::made::workshop;
use workplan::{Because, Calendar, DAY, Effort, Link, Project, Report, Resource, Span, Task, Waits, WorkError};

fn resource(name: &str, capacity: u32, calendar: Calendar) -> Resource {
    Resource { name: name.into(), capacity, calendar }
}

#[test]
fn the_chain_goes_through_links_and_through_what_is_taken() -> Result<(), WorkError> {
    // Two prints on one printer, the second glued, and a short thing beside.
    let tasks = vec![
        Task::new("first print", 300).using(0, 1),
        Task::new("second print", 500).using(0, 1),
        Task::new("glue", 200).using_first(1, 1, 20),
        Task::new("solder", 60).using(1, 1),
    ];
    let links = vec![Link::after(1, 2), Link::after(0, 2)];
    let resources = vec![resource("printer", 1, Calendar::always()), resource("hands", 1, Calendar::always())];
    let project = Project { resources, tasks, links, begin: 0, due: None };
    let plan = project.solve(&Effort::default())?;
    assert_eq!((plan.finish, plan.is_proved()), (1000, true));
    let chain = project.critical_chain(&plan)?;
    let because: Vec<Because> = chain.iter().map(|c| c.because).collect();
    assert_eq!(because, [Because::Begins, Because::Resource(0), Because::Order]);
    assert_eq!(chain[2].task, 2);
    Ok(())
}

#[test]
fn a_task_kept_back_for_its_follower_hangs_on_what_holds_that() -> Result<(), WorkError> {
    let tasks = vec![
        Task::new("spread glue", 10).using(0, 1),
        Task::new("test the light", 5).using(0, 1),
        Task::new("charge", 300),
    ];
    // The light is tested within 20 minutes of the glue, with a charged cell.
    let links = vec![Link::waiting(0, 1, Waits::between(0, 20)), Link::after(2, 1)];
    let resources = vec![resource("hands", 1, Calendar::always())];
    let project = Project { resources, tasks, links, begin: 0, due: None };
    let plan = project.solve(&Effort::default())?;
    assert_eq!(plan.finish, 305);
    assert!(plan.starts[0] >= 270 && plan.starts[0] <= 290);
    let chain: Vec<usize> = project.critical_chain(&plan)?.iter().filter(|c| c.hangs).map(|c| c.task).collect();
    assert_eq!(chain, [2, 1]);
    Ok(())
}

#[test]
fn what_is_done_long_before_a_closed_week_holds_nothing_up() -> Result<(), WorkError> {
    // Sanded on Monday, sprayed when it is warm enough on the eighth day, and packed after that.
    let hands = resource("hands", 1, Calendar::daily(18 * 60, 22 * 60));
    let mut tasks =
        vec![Task::new("sand", 120).using(0, 1), Task::new("spray", 30).using(0, 1), Task::new("pack", 60).using(0, 1)];
    let links = vec![Link::after(0, 1), Link::after(1, 2)];
    let warm = Project { resources: vec![hands], tasks: tasks.clone(), links, begin: 0, due: None };
    let chain = |project: &Project| -> Result<Vec<usize>, WorkError> {
        let plan = project.solve(&Effort::default())?;
        Ok(project.critical_chain(&plan)?.iter().filter(|c| c.hangs).map(|c| c.task).collect())
    };
    assert_eq!(chain(&warm)?, [0, 1, 2]);
    tasks[1].closed.push(Span::new(0, 7 * DAY));
    let cold = Project { tasks, ..warm.clone() };
    assert_eq!(chain(&cold)?, [1, 2]);
    // It is told all the same what it followed, and since when only the cold kept it.
    let plan = cold.solve(&Effort::default())?;
    let whole = cold.critical_chain(&plan)?;
    assert_eq!(whole.iter().map(|c| (c.task, c.hangs)).collect::<Vec<_>>(), [(0, false), (1, true), (2, true)]);
    assert_eq!((whole[1].because, whole[1].since, plan.starts[1]), (Because::Order, 20 * 60, 7 * DAY + 18 * 60));
    // Over a night it does: a sanding that takes longer is finished on the next evening.
    let mut night = warm;
    night.tasks[0].minutes = 235;
    assert_eq!(chain(&night)?, [0, 1, 2]);
    Ok(())
}

#[test]
fn an_hour_to_spare_in_an_evening_does_not_cut_the_chain() -> Result<(), WorkError> {
    // Fitted in the first evening with three hours left, tuned in the second: too long for what is left of the first.
    let hands = resource("hands", 1, Calendar::daily(18 * 60, 22 * 60));
    let tasks = vec![
        Task::new("fit", 60).using(0, 1),
        Task::new("tune", 200).using(0, 1),
        Task::new("carry", 30).using(0, 1),
        Task::new("read a book", 30).using(0, 1),
    ];
    let links = vec![Link::after(0, 1), Link::after(1, 2)];
    let project = Project { resources: vec![hands], tasks, links, begin: 0, due: None };
    let plan = project.solve(&Effort::default())?;
    assert_eq!(plan.finish, DAY + 18 * 60 + 230);
    // The second evening has no room left for the book, so that it may be in the way too; fitting is, in any case.
    let chain = |project: &Project, plan: &workplan::Plan| -> Result<Vec<usize>, WorkError> {
        let all = project.critical_chain(plan)?;
        assert!(all.iter().all(|c| c.hangs), "{all:?}");
        Ok(all.iter().map(|c| c.task).filter(|t| *t != 3).collect())
    };
    assert_eq!(chain(&project, &plan)?, [0, 1, 2]);
    // Begun and taking a day longer, it holds the rest up just the same.
    let begun = project.reported(18 * 60 + 10, &[Report { task: 0, from: 18 * 60, to: None }])?;
    assert_eq!(chain(&begun, &begun.solve(&Effort::default())?)?, [0, 1, 2]);
    Ok(())
}

#[test]
fn a_chain_leaves_no_time_unexplained() -> Result<(), WorkError> {
    for seed in 0..20 {
        let project = workshop(seed + 100, 30);
        let plan = project.solve(&Effort { orders: 30, steps: 30_000, ..Effort::default() })?;
        let chain = project.critical_chain(&plan)?;
        let last = chain.last().expect("a chain");
        assert_eq!(plan.starts[last.task] + project.tasks[last.task].minutes, plan.finish);
        for pair in chain.windows(2) {
            assert_ne!(pair[1].because, Because::Begins);
            if pair[1].because != Because::Followed {
                assert!(plan.starts[pair[0].task] <= plan.starts[pair[1].task], "seed {seed}");
            }
        }
        assert_eq!(chain[0].because, Because::Begins);
    }
    Ok(())
}

#[test]
fn what_is_reported_stays_and_the_rest_is_planned_from_now() -> Result<(), WorkError> {
    let project = workshop(42, 40);
    let effort = Effort { orders: 40, steps: 40_000, ..Effort::default() };
    let plan = project.solve(&effort)?;
    // Everything that should be done at half time is, and took a fifth longer; one runs.
    let now = plan.finish / 2;
    let mut reports = Vec::new();
    for (task, start) in plan.starts.iter().enumerate() {
        let end = start + project.tasks[task].minutes;
        if end + project.tasks[task].minutes / 5 <= now {
            reports.push(Report { task, from: *start, to: Some(end + project.tasks[task].minutes / 5) });
        } else if *start < now {
            reports.push(Report { task, from: *start, to: None });
        }
    }
    assert!(reports.iter().any(|r| r.to.is_none()) && reports.iter().filter(|r| r.to.is_some()).count() > 5);
    let left = project.reported(now, &reports)?;
    let again = left.solve(&effort)?;
    assert_eq!(faults(&left, &again), Vec::<String>::new());
    for report in &reports {
        assert_eq!(again.starts[report.task], report.from);
    }
    // A moment before the project may begin is no earlier beginning.
    let waiting = Project { begin: DAY, ..project.clone() };
    assert_eq!(waiting.reported(0, &[])?.begin, DAY);
    // Nothing reported: the same work from a later beginning.
    let late = project.reported(now, &[])?.solve(&effort)?;
    assert!(late.starts.iter().all(|s| *s >= now) && late.finish > again.finish);
    Ok(())
}
