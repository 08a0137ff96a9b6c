//! Which change makes a window even enough, and by how much: each is tried on a short stretch of the prop.
//!
//! Where a finding fails, a stretch round its worst station is taken out of the prop (`model`), hollowed anew, with rail, strips
//! and bar as the changed project would have them, and its light is followed. What it comes to against the same stretch of the
//! present design tells what the finding would come to. `changes` lists what can be bought or printed; of each kind the least
//! change that holds is looked for by halving.

mod changes;
mod model;
mod question;
#[cfg(test)]
mod tests;
mod words;

pub use changes::Kind;

use super::{LightWork, Lighting};
use crate::finding::{Finding, Verdict};
use crate::memory::Memory;
use crate::project::Advise;
use changes::{Change, changes};
use model::{NoLook, room_share};
use question::Question;
use solid::{Cancel, Cancelled};

/// A change must leave the rail room along this share of what it has now.
const ROOM_SHARE: f64 = 0.95;
/// Most stretches that are followed for one finding.
const MOST_LOOKS: usize = 32;

/// A change that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Kind of the finding that it is for.
    pub finding: &'static str,
    /// That finding's subject.
    pub subject: String,
    /// What is changed; `None`: nothing, the present design in the same closer look.
    pub kind: Option<Kind>,
    /// The change as it would be written in the project file; empty for the present design.
    pub change: String,
    /// Stations of the stretches that were looked at, mm.
    pub station_mm: Vec<[f64; 2]>,
    /// What it comes to, or why it could not be tried.
    pub outlook: Result<Outlook, String>,
}

/// What a finding would come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlook {
    /// The finding's value.
    pub value: f64,
    /// Its standard deviation from the noise of the paths that were followed.
    pub sigma: f64,
    /// Its band, with what the finding's own says of eyes and plastics.
    pub band: [f64; 2],
    /// The limit at that pitch and luminance.
    pub limit: f64,
    /// Whether it holds.
    pub verdict: Verdict,
    /// The window's luminance as a multiple of the present one.
    pub brighter: f64,
    /// From the pixels to the wall that they look at, mm, if they look at one.
    pub stand_off_mm: Option<f64>,
}

/// Tries changes for every finding of evenness that `light.advise` asks them for, and says in its remedy what they come to.
///
/// # Errors
/// [`Cancelled`] when the work was stopped.
pub fn advise(
    work: &LightWork,
    light: &mut Lighting,
    findings: &mut [Finding],
    memory: &Memory,
    cancel: &Cancel,
) -> Result<(), Cancelled> {
    let asked = |verdict: Verdict| match work.project.light.as_ref().map(|l| l.advise) {
        Some(Advise::Failed) => verdict == Verdict::Fails,
        Some(Advise::Unsure) => matches!(verdict, Verdict::Fails | Verdict::Unsure),
        Some(Advise::Never) | None => false,
    };
    let mut tried = Vec::new();
    for finding in findings.iter_mut().filter(|f| asked(f.verdict)) {
        let Some(question) = Question::of(work, light, finding) else { continue };
        let choices = search(&Search { work, question: &question, memory, cancel })?;
        finding.remedy = words::remedy(&question, &choices, &finding.remedy);
        tried.extend(choices);
    }
    light.choices = tried;
    Ok(())
}

/// One finding's search.
struct Search<'a> {
    work: &'a LightWork<'a>,
    question: &'a Question,
    memory: &'a Memory,
    cancel: &'a Cancel,
}

impl Search<'_> {
    fn choice(&self, kind: Option<Kind>, change: &str, outlook: Result<Outlook, String>) -> Choice {
        Choice {
            finding: self.question.finding,
            subject: self.question.subject.clone(),
            kind,
            change: change.to_owned(),
            station_mm: self.question.at.iter().map(|s| s.station_mm).collect(),
            outlook,
        }
    }

    /// What could not be computed, unless it was stopped.
    fn failed(&self, error: &NoLook) -> Result<String, Cancelled> {
        if self.cancel.is_cancelled() { Err(Cancelled) } else { Ok(error.to_string()) }
    }
}

/// The present design in a closer look; and, unless that holds, of each kind of change what was tried.
fn search(search: &Search) -> Result<Vec<Choice>, Cancelled> {
    let Search { work, question, memory, cancel } = *search;
    let base = match question.base(work, memory, cancel) {
        Ok(base) => base,
        Err(error) => return Ok(vec![search.choice(None, "", Err(search.failed(&error)?))]),
    };
    let now = question.outlook(&base, &base);
    let mut choices = vec![search.choice(None, "", Ok(now))];
    if now.verdict == Verdict::Holds {
        return Ok(choices);
    }
    let room_now = room_share(work, work.project).unwrap_or(0.0);
    let mut looks = 1;
    for (kind, steps) in changes(work, question.at[0].body).into_iter().filter(|c| question.may_gain(c.0)) {
        let mut fitting: Vec<Change> = Vec::new();
        for step in steps {
            match room_share(work, &step.project) {
                Ok(room) if room >= ROOM_SHARE * room_now => fitting.push(step),
                Ok(room) => {
                    let share = 100.0 * room / room_now.max(1e-9);
                    let why = format!("the rail would have room along {share:.0} % of the strip only");
                    choices.push(search.choice(Some(kind), &step.text, Err(why)));
                    break;
                }
                Err(error) => {
                    choices.push(search.choice(Some(kind), &step.text, Err(error.to_string())));
                    break;
                }
            }
        }
        // The most first: where that isn't enough, less isn't either.
        let (mut low, mut high, mut next) = (0, fitting.len(), fitting.len().saturating_sub(1));
        while low < high && looks < MOST_LOOKS {
            looks += 1;
            let step = &fitting[next];
            let outlook = match question.look(work, &step.project, Some(&base), memory, cancel) {
                Ok(seen) => Ok(question.outlook(&seen, &base)),
                Err(error) => Err(search.failed(&error)?),
            };
            let holds = outlook.as_ref().is_ok_and(|o| o.verdict == Verdict::Holds);
            choices.push(search.choice(Some(kind), &step.text, outlook));
            if holds {
                high = next;
            } else {
                low = next + 1;
            }
            next = usize::midpoint(low, high).min(high.saturating_sub(1));
        }
    }
    Ok(choices)
}
