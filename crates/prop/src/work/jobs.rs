//! What jobs are made of: the workshop, and tasks by name.

use super::Deed;
use super::minutes::HANDS;
use crate::outcome::Outcome;
use crate::project::PlanRules;
use workplan::{Calendar, DAY, Link, Project, Resource, Span, Spread, Task, Waits};

/// Places of what every workshop has; printers come after them.
pub(super) const PEOPLE: usize = 0;
pub(super) const CLAMPS: usize = 1;
pub(super) const BENCH: usize = 2;
pub(super) const SPRAY: usize = 3;
const PRINTERS: usize = 4;

/// A workshop: what the project says, or what is tried in its place.
#[derive(Clone)]
pub(super) struct Shop<'a> {
    pub(super) rules: &'a PlanRules,
    pub(super) people: u32,
    pub(super) clamps: u32,
    /// Printers of the same kind beside each that there is: by name, how many more.
    pub(super) more_printers: Option<String>,
    /// A body that goes with a coat fewer.
    pub(super) coat_less: Option<String>,
    /// A joint that is done without.
    pub(super) without_joint: Option<u32>,
}

impl<'a> Shop<'a> {
    pub(super) fn of(rules: &'a PlanRules) -> Shop<'a> {
        let (people, clamps) = (rules.people, rules.clamps);
        Shop { rules, people, clamps, more_printers: None, coat_less: None, without_joint: None }
    }

    /// Whether it is not the maker's own, but one that is tried in its place.
    pub(super) fn is_tried(&self) -> bool {
        self.coat_less.is_some() || self.without_joint.is_some()
    }

    /// The longest that somebody is there, min.
    pub(super) fn longest(&self) -> i64 {
        self.calendar().longest_minutes().unwrap_or(DAY)
    }

    fn calendar(&self) -> Calendar {
        let week = std::array::from_fn(|day| {
            // Day 0 of the Julian count was a Monday.
            let weekday = (i64::from(self.rules.start_day) + day as i64).rem_euclid(7);
            self.rules.hours[usize::from(weekday >= 5)].iter().map(|h| Span::new(h[0], h[1])).collect()
        });
        Calendar { week, off: self.rules.off.iter().map(|d| Span::day(*d)).collect() }
    }

    fn spray(&self) -> Calendar {
        let hours: Vec<Span> = self.rules.spray.iter().map(|h| Span::new(h[0], h[1])).collect();
        let cold = self.rules.too_cold.iter().map(|[from, to]| Span::new(from * DAY, (to + 1) * DAY));
        Calendar {
            week: std::array::from_fn(|_| hours.clone()),
            off: cold.chain(super::air::closed(self.rules).into_iter().map(|c| c.span)).collect(),
        }
    }
}

/// What a job is about.
pub(super) struct About {
    pub(super) deed: Deed,
    pub(super) station_mm: Option<[f64; 2]>,
}

/// Jobs, as they are listed.
pub(super) struct Jobs {
    pub(super) work: Project,
    pub(super) about: Vec<About>,
    printers: Vec<String>,
}

impl Jobs {
    pub(super) fn new(shop: &Shop, outcome: &Outcome) -> Jobs {
        let resource = |name: &str, capacity, calendar| Resource { name: name.to_owned(), capacity, calendar };
        let mut resources = vec![
            resource("hands", shop.people, shop.calendar()),
            resource("clamps", shop.clamps, Calendar::always()),
            resource("bench", 1, Calendar::always()),
            resource("spray place", 1, shop.spray()),
        ];
        let mut printers: Vec<String> = Vec::new();
        for plate in &outcome.plates {
            if !printers.contains(&plate.printer) {
                let more = shop.more_printers.as_ref() == Some(&plate.printer);
                let name = format!("printer {}", plate.printer);
                resources.push(resource(&name, 1 + u32::from(more), Calendar::always()));
                printers.push(plate.printer.clone());
            }
        }
        let due = shop.rules.event.map(|day| day * DAY - shop.rules.ready_min);
        let work = Project { resources, tasks: Vec::new(), links: Vec::new(), begin: 0, due };
        Jobs { work, about: Vec::new(), printers }
    }

    /// The place of a job by its name.
    pub(super) fn named(&self, name: &str) -> Option<usize> {
        self.work.tasks.iter().position(|t| t.name == name)
    }

    /// The place of a printer among the resources.
    pub(super) fn printer(&self, name: &str) -> usize {
        PRINTERS + self.printers.iter().position(|p| p == name).unwrap_or(0)
    }

    /// Pairs of hands that there are.
    pub(super) fn people(&self) -> u32 {
        self.work.resources[PEOPLE].capacity
    }

    pub(super) fn printers(&self) -> Vec<String> {
        self.printers.clone()
    }

    /// Adds a task; its place. One that is called like another gets a number.
    pub(super) fn add(&mut self, deed: Deed, station_mm: Option<[f64; 2]>, mut task: Task) -> usize {
        let name = task.name.clone();
        let mut number = 1;
        while self.work.tasks.iter().any(|t| t.name == task.name) {
            number += 1;
            task.name = format!("{name}, {number}");
        }
        self.work.tasks.push(task);
        self.about.push(About { deed, station_mm });
        self.work.tasks.len() - 1
    }

    /// Adds work of one pair of hands from start to end.
    pub(super) fn hands(&mut self, deed: Deed, station_mm: Option<[f64; 2]>, name: String, minutes: i64) -> usize {
        self.add(deed, station_mm, hands(name, minutes))
    }

    /// One after the other's end.
    pub(super) fn order(&mut self, before: usize, after: usize) {
        self.work.links.push(Link::after(before, after));
    }

    /// One after all the others' ends.
    pub(super) fn after_all(&mut self, before: &[usize], after: usize) {
        before.iter().for_each(|b| self.order(*b, after));
    }

    /// One after the other's end with such a wait.
    pub(super) fn wait(&mut self, before: usize, after: usize, waits: Waits) {
        self.work.links.push(Link::waiting(before, after, waits));
    }

    /// One after the other's start with such a wait.
    pub(super) fn wait_from_start(&mut self, before: usize, after: usize, waits: Waits) {
        self.work.links.push(Link::from_start(before, after, waits));
    }
}

/// A task of one pair of hands from start to end.
pub(super) fn hands(name: String, minutes: i64) -> Task {
    Task { spread: Spread { shares: HANDS, failing: 0.0 }, ..Task::new(name, minutes).using(PEOPLE, 1) }
}

/// Seconds as whole minutes, up.
pub(super) fn minutes_of(seconds: f64) -> i64 {
    (seconds / 60.0).ceil().max(0.0) as i64
}
