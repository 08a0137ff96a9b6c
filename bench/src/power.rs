//! The circuit of the built glaive: a day at steps of ten milliseconds, and a change of cell or gauge.

use prop::catalogue::Catalogue;
use prop::outcome::Outcome;
use prop::power::{Design, PowerWork, day, in_short};
use prop::project::Project;

/// The built glaive with its project.
pub(crate) struct Wired {
    project: Project,
    outcome: Outcome,
}

impl Wired {
    pub(crate) fn of(project: Project, outcome: Outcome) -> Wired {
        Wired { project, outcome }
    }

    fn work(&self) -> PowerWork<'_> {
        let o = &self.outcome;
        PowerWork {
            project: &self.project,
            parts: &o.parts,
            wires: &o.wires,
            wire_way: &o.wire_way,
            pixels: &o.pixels,
            joints: &o.joints,
            path: &o.path,
            light: o.light.as_ref(),
            conduct: o.conduct.as_ref(),
            room_for: &|_, _| false,
        }
    }

    fn design(&self) -> Result<Design, String> {
        self.outcome.power.as_ref().map(|p| p.design).ok_or_else(|| "the glaive has no power".to_owned())
    }

    /// Eight hours at steps of 10 ms; the result is the charge left, 0 to 1.
    pub(crate) fn day(&mut self) -> Result<f64, String> {
        let design = self.design()?;
        let mut rules = self.project.power.clone().unwrap_or_default();
        (rules.step_s, rules.day_s) = (0.01, 8.0 * 3600.0);
        self.project.power = Some(rules);
        Ok(day(&self.work(), &design).map_err(|e| e.to_string())?.charge)
    }

    /// Another cell and another gauge: runtime and worst instant; the result is how long it lasts, h.
    pub(crate) fn changed(&mut self) -> Result<f64, String> {
        let other = Catalogue::built_in().parts.into_iter().find(|p| p.name == "cell-21700").ok_or("no such cell")?;
        let design = Design { awg: 24, ..self.design()? };
        let cell = self.project.parts.iter_mut().find(|p| p.row.kind == other.kind).ok_or("no cell")?;
        cell.row = other;
        Ok(in_short(&self.work(), &design).map_err(|e| e.to_string())?.0.lasts_s / 3600.0)
    }
}
