//! What is refused, and by which name.

use workplan::{Calendar, DAY, Effort, Link, Project, Report, Resource, Span, Spread, Task, Waits, WorkError};

fn resource(calendar: Calendar) -> Vec<Resource> {
    vec![Resource { name: "hands".into(), capacity: 1, calendar }]
}

fn project(tasks: Vec<Task>, links: Vec<Link>) -> Project {
    Project { resources: resource(Calendar::daily(600, 900)), tasks, links, begin: 0, due: None }
}

fn told(project: &Project) -> WorkError {
    match project.solve(&Effort::default()) {
        Err(error) => error,
        Ok(plan) => panic!("{plan:?}"),
    }
}

fn task(name: &str, minutes: i64) -> Task {
    Task::new(name, minutes).using(0, 1)
}

#[test]
fn a_circle_is_named_all_round() {
    let tasks = ["a", "b", "c", "d"].map(|n| task(n, 10)).to_vec();
    let links = vec![Link::after(0, 1), Link::after(1, 2), Link::after(2, 3), Link::after(3, 1)];
    let WorkError::CyclicOrder { tasks } = told(&project(tasks, links)) else { panic!("not a circle") };
    let mut sorted = tasks.clone();
    sorted.sort();
    assert_eq!(sorted, ["b", "c", "d"]);
    let alone = told(&project(vec![task("a", 1)], vec![Link::after(0, 0)]));
    assert_eq!(alone, WorkError::CyclicOrder { tasks: vec!["a".into()] });
}

#[test]
fn what_cannot_be_is_said_by_name() {
    let one = |t: Task| told(&project(vec![t], vec![]));
    assert!(matches!(one(task("a", -1)), WorkError::NegativeDuration { minutes: -1, .. }));
    assert!(matches!(one(Task::new("a", 10).using_first(0, 1, -5)), WorkError::NegativeDuration { minutes: -5, .. }));
    assert!(matches!(one(task("a", i64::MAX)), WorkError::TooLarge { .. }));
    assert!(matches!(one(Task::new("a", 1).using(4, 1)), WorkError::UnknownResource { resource: 4, there: 1, .. }));
    assert!(matches!(one(Task::new("a", 1).using(0, 2)), WorkError::TooFew { amount: 2, capacity: 1, .. }));
    let long = one(task("sand it all", 301));
    assert_eq!(
        long.to_string(),
        "\"sand it all\" needs \"hands\" for 301 min on end, and the longest it is there is 300 min"
    );
    let spread = |shares, failing| Task { spread: Spread { shares, failing }, ..task("a", 1) };
    for bad in [
        spread([1.0, 0.9, 2.0], 0.0),
        spread([1.0; 3], 1.0),
        spread([f64::NAN, 1.0, 1.0], 0.0),
        spread([-1.0, 1.0, 1.0], 0.0),
    ] {
        assert!(matches!(one(bad), WorkError::BadSpread { .. }));
    }
    let unknown = told(&project(vec![task("a", 1)], vec![Link::after(0, 7)]));
    assert!(matches!(unknown, WorkError::UnknownTask { task: 7, there: 1 }));
    let closed = Project { resources: resource(Calendar::daily(0, 0)), ..project(vec![task("a", 1)], vec![]) };
    assert!(matches!(told(&closed), WorkError::NoWorkingDay { .. }));
    let past = Project { begin: 2 * DAY, due: Some(DAY), ..project(vec![task("a", 1)], vec![]) };
    assert!(matches!(told(&past), WorkError::DateInThePast { due: DAY, .. }));
    for waits in
        [vec![], vec![(-1, None)], vec![(3, Some(2))], vec![(0, None), (5, None)], vec![(0, Some(5)), (5, None)]]
    {
        let bad = project(vec![task("a", 1), task("b", 1)], vec![Link::waiting(0, 1, Waits(waits))]);
        assert!(matches!(told(&bad), WorkError::BadWait { .. }));
    }
}

#[test]
fn resources_that_never_meet_are_said() {
    let mut resources = resource(Calendar::daily(600, 900));
    resources.push(Resource { name: "yard".into(), capacity: 1, calendar: Calendar::daily(880, 1200) });
    let both = Task::new("spray", 30).using(0, 1).using(1, 1);
    let never = Project { resources, ..project(vec![both], vec![]) };
    assert!(matches!(told(&never), WorkError::NeverTogether { .. }));
}

#[test]
fn a_longest_wait_that_cannot_be_kept_is_said() {
    // What must come between takes longer than the wait.
    let tasks = vec![task("glue", 10), task("thread", 40), task("test", 10)];
    let links = vec![Link::after(0, 1), Link::after(1, 2), Link::waiting(0, 2, Waits::between(0, 30))];
    let want = WorkError::WaitCannotBeMet { before: "glue".into(), after: "test".into(), most: 40, least: 50 };
    assert_eq!(told(&project(tasks, links)), want);
    // Hours do not allow it: five open hours, and it must follow six to seven hours later.
    let tasks = vec![task("glue", 10), task("test", 10)];
    let never = project(tasks.clone(), vec![Link::waiting(0, 1, Waits::between(360, 420))]);
    assert_eq!(told(&never), WorkError::NoPlace { before: "glue".into(), after: "test".into() });
    let next_day = project(tasks, vec![Link::waiting(0, 1, Waits::between(360, 1430))]);
    assert!(next_day.solve(&Effort::default()).is_ok());
}

#[test]
fn reports_of_the_future_are_refused() {
    let project = project(vec![task("a", 10)], vec![]);
    for (from, to) in [(50, None), (10, Some(5)), (10, Some(41))] {
        let told = project.reported(40, &[Report { task: 0, from, to }]);
        assert!(matches!(told, Err(WorkError::BadReport { now: 40, .. })), "{told:?}");
    }
    assert!(matches!(
        project.reported(40, &[Report { task: 3, from: 0, to: None }]),
        Err(WorkError::UnknownTask { .. })
    ));
}

#[test]
fn nothing_to_do_is_done_at_once() {
    let empty = project(vec![], vec![]);
    let plan = empty.solve(&Effort::default()).expect("a plan");
    assert_eq!((plan.finish, plan.starts.len()), (0, 0));
    assert_eq!(empty.critical_chain(&plan), Ok(vec![]));
    let off = Task { closed: vec![Span::new(0, DAY)], ..task("a", 10) };
    assert_eq!(project(vec![off], vec![]).solve(&Effort::default()).map(|p| p.finish), Ok(DAY + 610));
}
