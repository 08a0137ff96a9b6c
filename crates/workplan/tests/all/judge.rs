//! The judge: every rule that a plan must keep, written from what a project means and not from how it is planned.

use workplan::{Calendar, DAY, During, From, Plan, Project};

/// Every rule that a plan breaks, in words. What has been started is only judged by when it was.
pub(crate) fn faults(project: &Project, plan: &Plan) -> Vec<String> {
    let mut found = Vec::new();
    let (starts, tasks) = (&plan.starts, &project.tasks);
    assert_eq!(starts.len(), tasks.len());
    let end = |k: usize| starts[k] + tasks[k].minutes;
    for (k, task) in tasks.iter().enumerate() {
        if let Some(started) = task.started {
            if started != starts[k] {
                found.push(format!("{} was started at {started}, not {}", task.name, starts[k]));
            }
            continue;
        }
        if starts[k] < project.begin || starts[k] < task.not_before {
            found.push(format!("{} starts too soon, at {}", task.name, starts[k]));
        }
        for span in &task.closed {
            if (starts[k]..end(k)).any(|m| span.from <= m && m < span.to) {
                found.push(format!("{} lies in a closed span, at {}", task.name, starts[k]));
            }
        }
        for used in &task.uses {
            let minutes = used_minutes(used.during, task.minutes);
            let calendar = &project.resources[used.resource].calendar;
            if (starts[k]..starts[k] + minutes).any(|m| !is_open(calendar, m)) {
                found.push(format!("{} works outside hours, from {} for {minutes}", task.name, starts[k]));
            }
        }
    }
    for link in project.links.iter().filter(|l| tasks[l.after].started.is_none()) {
        let from = if link.from == From::Start { starts[link.before] } else { end(link.before) };
        let waited = starts[link.after] - from;
        if !link.waits.0.iter().any(|(least, most)| *least <= waited && waited <= most.unwrap_or(i64::MAX)) {
            found.push(format!("{} waits {waited} for {}", tasks[link.after].name, tasks[link.before].name));
        }
    }
    for (r, resource) in project.resources.iter().enumerate() {
        let uses = tasks.iter().enumerate().flat_map(|(k, t)| t.uses.iter().map(move |u| (k, u)));
        let spans: Vec<(i64, i64, u32)> = uses
            .filter(|(_, u)| u.resource == r)
            .map(|(k, u)| (starts[k], starts[k] + used_minutes(u.during, tasks[k].minutes), u.amount))
            .collect();
        // The most is taken where something begins. What is behind us may have been shared as it was.
        for at in spans.iter().map(|s| s.0).filter(|at| *at >= project.begin) {
            let taken: u32 = spans.iter().filter(|s| s.0 <= at && at < s.1).map(|s| s.2).sum();
            if taken > resource.capacity {
                found.push(format!("{taken} of {} {} at {at}", resource.capacity, resource.name));
            }
        }
    }
    let last = (0..tasks.len()).map(end).max().unwrap_or(project.begin).max(project.begin);
    if plan.finish != last || plan.bound > plan.finish {
        found.push(format!("said to end at {} (bound {}), ends at {last}", plan.finish, plan.bound));
    }
    found
}

fn used_minutes(during: During, minutes: i64) -> i64 {
    match during {
        During::Whole => minutes,
        During::First(first) => minutes.min(first),
    }
}

/// Minute by minute, as one would read a calendar on the wall.
fn is_open(calendar: &Calendar, minute: i64) -> bool {
    let (day, of_day) = (minute.div_euclid(DAY), minute.rem_euclid(DAY));
    calendar.week[day.rem_euclid(7) as usize].iter().any(|s| s.from <= of_day && of_day < s.to)
        && !calendar.off.iter().any(|s| s.from <= minute && minute < s.to)
}

#[test]
fn the_judge_sees_faults() {
    use workplan::{Link, Resource, Task, Waits};
    let bench = Resource { name: "bench".into(), capacity: 1, calendar: Calendar::daily(480, 1020) };
    let tasks = vec![Task::new("a", 60).using(0, 1), Task::new("b", 30).using_first(0, 1, 10)];
    let links = vec![Link::waiting(0, 1, Waits::within_or_after((0, 20), 200))];
    let project = Project { resources: vec![bench], tasks, links, begin: 0, due: None };
    let plan = |starts: [i64; 2], finish: i64| Plan { starts: starts.to_vec(), finish, bound: 0 };
    assert_eq!(faults(&project, &plan([480, 540], 570)), Vec::<String>::new());
    for (wrong, what) in [
        (plan([479, 540], 570), "outside hours"),
        (plan([480, 600], 630), "waits 60"),
        (plan([480, 539], 569), "2 of 1 bench"),
        (plan([480, 1015], 1045), "outside hours"),
        (plan([-1440, 540], 570), "too soon"),
        (plan([480, 540], 571), "said to end"),
    ] {
        let found = faults(&project, &wrong);
        assert!(found.iter().any(|f| f.contains(what)), "{what}: {found:?}");
    }
}
