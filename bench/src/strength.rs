//! What a prop bears: every section, load case, joint and choice of spine, as `prop::strength` works them out.

use prop::catalogue::Catalogue;
use prop::memory::Known;
use prop::outcome::Bar;
use prop::project::{Project, parse};
use prop::refusal::Refusal;
use prop::stages::{Placed, Printed, Split, bays, inside, place, print, split};
use prop::strength::{StrengthWork, strength};
use prop::{Memory, Monitor};
use solid::Cancel;
use solid::read::Shape;

/// What is there before the clock runs.
pub(crate) struct Prop {
    project: Project,
    placed: Known<Placed>,
    split: Split,
    printed: Printed,
    bars: (Vec<Bar>, Vec<Bar>),
    memory: Memory,
}

/// The pieces of a prop.
pub(crate) fn prop(text: &str, shape: &Shape) -> Result<Prop, String> {
    let project = parse(text, &Catalogue::built_in()).map_err(|d| d.render("prop.toml", text))?;
    let memory = Memory::default();
    pieces(project, shape, memory).map_err(|r| r.to_string())
}

fn pieces(project: Project, shape: &Shape, memory: Memory) -> Result<Prop, Refusal> {
    let monitor = Monitor { cancel: Cancel::default(), report: &|_, _| {} };
    let placed = place(&project, shape, &memory)?;
    let hollow = inside(&project, &placed, &memory, &monitor)?;
    let rooms = bays(&project, &placed, &hollow, &memory)?;
    let split = split(&project, &placed, &hollow, &rooms, &memory, &monitor)?;
    let printed = print(&project, &split, &memory, &monitor)?;
    let (strips, spines, _) = prop::views::fittings(&hollow, &placed);
    Ok(Prop { project, placed, split, printed, bars: (strips, spines), memory })
}

impl Prop {
    /// Tries these stocks only beside its own: none, or all of the catalogue.
    pub(crate) fn with_choices(mut self, all: bool) -> Prop {
        if let Some(spine) = self.project.spine.as_mut().filter(|_| !all) {
            spine.choices.clear();
        }
        self
    }

    /// All of it; the result is the least factor of the pieces.
    pub(crate) fn loaded(&self) -> Result<f64, String> {
        let found = strength(&StrengthWork {
            project: &self.project,
            placed: &self.placed,
            split: &self.split,
            printed: &self.printed,
            parts: &[],
            strips: &self.bars.0,
            spines: &self.bars.1,
            wires: &[],
            memory: &self.memory,
        });
        let found = found.map_err(|e| e.to_string())?;
        Ok(found.cases.iter().map(|c| c.wall.factor).fold(f64::INFINITY, f64::min))
    }
}
