//! Hours, days off, and the latest day on which to begin.

use crate::judge::faults;
use workplan::{Calendar, DAY, Effort, Link, Project, Resource, Span, Task, Waits, WorkError};

/// Three joints of three hours under clamps, half an hour of hands each, and evenings from six to ten.
fn joints() -> Project {
    let evenings = Calendar::daily(18 * 60, 22 * 60).without_day(2);
    let resources = vec![Resource { name: "hands".into(), capacity: 1, calendar: evenings }];
    let tasks = (1..=3).map(|k| Task::new(format!("joint {k}"), 180).using_first(0, 1, 30)).collect();
    Project { resources, tasks, links: vec![Link::after(0, 1), Link::after(1, 2)], begin: 0, due: None }
}

#[test]
fn curing_goes_on_after_hours_and_days_off_pass() -> Result<(), WorkError> {
    let project = joints();
    let plan = project.solve(&Effort::default())?;
    // The first at six, the second at nine, cured at midnight; the third on the next evening.
    assert_eq!(plan.starts, [1080, 1260, DAY + 1080]);
    assert_eq!((plan.finish, plan.is_proved()), (DAY + 1260, true));
    assert_eq!(faults(&project, &plan), Vec::<String>::new());
    let late = Project { begin: DAY, ..project.clone() }.solve(&Effort::default())?;
    assert_eq!(late.finish, 3 * DAY + 1260);
    Ok(())
}

#[test]
fn the_latest_day_is_the_last_that_works() -> Result<(), WorkError> {
    let project = joints();
    for (due, want) in
        [(10 * DAY, Some(8)), (DAY + 1260, Some(0)), (DAY + 1259, None), (3 * DAY + 1260, Some(1)), (3 * DAY, Some(0))]
    {
        assert_eq!(project.latest_day(due, &Effort::default())?, want, "{due}");
    }
    Ok(())
}

#[test]
fn paint_is_recoated_soon_or_late_and_never_in_between() -> Result<(), WorkError> {
    // Within two hours where the noon lies elsewhere; not within one, for the mask takes longer: so eight hours later.
    let hands =
        Calendar { week: std::array::from_fn(|_| vec![Span::new(540, 660), Span::new(780, 1020)]), off: Vec::new() };
    let resources = vec![Resource { name: "hands".into(), capacity: 1, calendar: hands }];
    let tasks = vec![
        Task::new("coat", 30).using(0, 1),
        Task::new("mask", 70).using(0, 1),
        Task::new("coat again", 100).using(0, 1),
    ];
    let links = vec![Link::after(0, 1), Link::after(1, 2), Link::waiting(0, 2, Waits::within_or_after((20, 120), 480))];
    let project = Project { resources, tasks, links, begin: 540, due: None };
    let plan = project.solve(&Effort::default())?;
    // From 13:00, with the mask between: the second coat 70 minutes after the first.
    assert_eq!((plan.starts[0], plan.finish, plan.is_proved()), (780, 980, true));
    assert_eq!(faults(&project, &plan), Vec::<String>::new());
    let early = Project {
        links: vec![Link::waiting(0, 2, Waits::within_or_after((20, 60), 480)), Link::after(0, 1), Link::after(1, 2)],
        ..project.clone()
    };
    let plan = early.solve(&Effort::default())?;
    let waited = plan.starts[2] - plan.starts[0] - 30;
    assert!(waited >= 480, "{waited}");
    assert_eq!(faults(&early, &plan), Vec::<String>::new());
    Ok(())
}
