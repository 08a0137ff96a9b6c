//! Plans work that comes as JSON on standard input and says as JSON when each task starts. The reference checks hold the answers
//! against another program's.
//!
//! In: a list of projects. Each has `resources`: `[{"capacity", "off": [[from, to]]}]`; `tasks`: `[{"minutes", "uses":
//! [[resource, amount, first minutes or null]], "closed": [[from, to]]}]`; `links`: `[{"before", "after", "from_start", "waits":
//! [[least, most or null]]}]`. Out, for each: `{"starts", "finish", "bound"}`.

use serde::{Deserialize, Serialize};
use std::error::Error;
use std::io::{Read, Write};
use workplan::{Calendar, During, Effort, From, Link, Project, Resource, Span, Task, Use, Waits, WorkError};

#[derive(Deserialize)]
struct Asked {
    resources: Vec<There>,
    tasks: Vec<Work>,
    links: Vec<Order>,
    #[serde(default)]
    seed: u64,
    steps: Option<u64>,
}

#[derive(Deserialize)]
struct There {
    capacity: u32,
    #[serde(default)]
    off: Vec<(i64, i64)>,
}

#[derive(Deserialize)]
struct Work {
    minutes: i64,
    uses: Vec<(usize, u32, Option<i64>)>,
    #[serde(default)]
    closed: Vec<(i64, i64)>,
}

#[derive(Deserialize)]
struct Order {
    before: usize,
    after: usize,
    #[serde(default)]
    from_start: bool,
    waits: Vec<(i64, Option<i64>)>,
}

#[derive(Serialize)]
struct Answer {
    starts: Vec<i64>,
    finish: i64,
    bound: i64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = String::new();
    std::io::stdin().read_to_string(&mut words)?;
    let asked: Vec<Asked> = serde_json::from_str(&words)?;
    let answers = asked.iter().map(answer).collect::<Result<Vec<Answer>, WorkError>>()?;
    writeln!(std::io::stdout(), "{}", serde_json::to_string(&answers)?)?;
    Ok(())
}

fn answer(asked: &Asked) -> Result<Answer, WorkError> {
    let resources = asked.resources.iter().enumerate().map(|(k, r)| {
        let calendar = r.off.iter().fold(Calendar::always(), |c, (from, to)| c.without(Span::new(*from, *to)));
        Resource { name: format!("resource {k}"), capacity: r.capacity, calendar }
    });
    let tasks = asked.tasks.iter().enumerate().map(|(k, t)| {
        let mut task = Task::new(format!("task {k}"), t.minutes);
        task.uses.extend(t.uses.iter().map(|&(resource, amount, first)| {
            let during = first.map_or(During::Whole, During::First);
            Use { resource, amount, during }
        }));
        task.closed.extend(t.closed.iter().map(|(from, to)| Span::new(*from, *to)));
        task
    });
    let links = asked.links.iter().map(|l| {
        let from = if l.from_start { From::Start } else { From::End };
        Link { before: l.before, after: l.after, from, waits: Waits(l.waits.clone()) }
    });
    let (resources, tasks, links) = (resources.collect(), tasks.collect(), links.collect());
    let project = Project { resources, tasks, links, begin: 0, due: None };
    let usual = Effort { seed: asked.seed, ..Effort::default() };
    let plan = project.solve(&Effort { steps: asked.steps.unwrap_or(usual.steps), ..usual })?;
    Ok(Answer { starts: plan.starts, finish: plan.finish, bound: plan.bound })
}
