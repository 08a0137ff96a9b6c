//! Tasks, hands, machines, curing and calendars: when each thing is done, how soon all of it can be, and how likely in time.
//!
//! A library in its own right: it knows work, and nothing of props. Times are whole minutes from the plan's first midnight. Nothing
//! here opens a file, reads a clock or prints; the same input gives the same plan.
//!
//! # Rooms
//!
//! - [`Project`]: tasks, what they take, and their order (`model`), with hours in a [`Calendar`]; what can be wrong ([`WorkError`]);
//!   `problem`, a project that has been judged.
//! - `place`: plans made task by task, by rank. `bound`: how soon at the earliest. `engine`: the exact search. `solve`: all of them in
//!   turn, and the latest day on which to begin.
//! - `chain`: what a finish hangs on. `chance`: a plan played through. `report`: what has been done.
//!
//! # Example: two halves printed on one printer, glued, and tested while the glue still opens
//!
//! ```
//! use workplan::*;
//!
//! let evenings = Calendar::daily(18 * 60, 22 * 60);
//! let there = |name: &str, calendar| Resource { name: name.into(), capacity: 1, calendar };
//! let resources = vec![there("printer", Calendar::always()), there("hands", evenings), there("clamps", Calendar::always())];
//! let print = |name: &str| Task::new(name, 10 * 60).using(0, 1).using_first(1, 1, 15);
//! let glue = Task::new("glue", 3 * 60).using_first(1, 1, 20).using(2, 1);
//! let tasks = vec![print("half 1"), print("half 2"), glue, Task::new("test the light", 10).using(1, 1)];
//! let links = vec![
//!     Link::after(0, 2),
//!     Link::after(1, 2),
//!     // From the moment it is spread, the joint can be opened for an hour.
//!     Link::from_start(2, 3, Waits::between(20, 60)),
//! ];
//! let project = Project { resources, tasks, links, begin: 0, due: Some(4 * DAY) };
//!
//! let plan = project.solve(&Effort::default())?;
//! // A print is started in each of the first two evenings, the second ends at four in the morning; the joint is made on the third.
//! assert_eq!(plan.starts[2..], [2 * DAY + 18 * 60, 2 * DAY + 18 * 60 + 20]);
//! assert!(plan.is_proved() && plan.finish == 2 * DAY + 21 * 60);
//! let latest = project.latest_day(4 * DAY, &Effort::default())?;
//! assert_eq!(latest, Some(1));
//! # Ok::<(), WorkError>(())
//! ```
//!
//! # What it does not know
//!
//! Several of a resource share one calendar and are alike. A task is not interrupted: what takes longer than a day is several tasks.
//! How well somebody does something is no matter.

mod bound;
mod calendar;
mod chain;
mod chance;
mod engine;
mod error;
mod model;
mod place;
mod problem;
mod report;
mod solve;

pub use calendar::{Calendar, DAY, Span};
pub use chain::{Because, Critical};
pub use chance::{Chance, Plays};
pub use error::WorkError;
pub use model::{During, From, Link, Plan, Project, Resource, Spread, Task, Use, Waits};
pub use report::Report;
pub use solve::Effort;
