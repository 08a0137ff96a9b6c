//! What may be changed about a window's light, each kind in steps that can be bought or printed.

use crate::catalogue::{Catalogue, CoatKind, Process};
use crate::light::{GREEN, LightWork};
use crate::project::{BodyRules, Glow, Project};
use crate::stages::suits;
use crate::window::Skin;

/// Beads by which a wall is made thicker, at most.
const MOST_BEADS: u32 = 6;
/// Step of a wall that isn't laid in beads, mm.
const RESIN_STEP_MM: f64 = 0.5;
/// A plastic counts as one that scatters more from this on, and as one that takes no more up to this.
const MORE: [f64; 2] = [1.05, 2.0];
/// Linings are no change where the cavity sends back so much already.
const BRIGHT: f64 = 0.8;
/// Where windows take more than this of the outside there is nothing to line.
const OPEN_SHARE: f64 = 0.9;

/// What is changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The strip: pixels closer together.
    Pitch,
    /// The distance between strip and wall.
    StandOff,
    /// The wall's thickness.
    Wall,
    /// The plastic.
    Plastic,
    /// What lines the cavity beside the windows.
    Lining,
    /// Rows of pixels.
    Rows,
}

impl Kind {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Pitch => "pitch",
            Kind::StandOff => "stand-off",
            Kind::Wall => "wall",
            Kind::Plastic => "plastic",
            Kind::Lining => "lining",
            Kind::Rows => "rows",
        }
    }
}

/// One change of the project.
pub(super) struct Change {
    /// As it would be written in the project file.
    pub(super) text: String,
    /// The project with it.
    pub(super) project: Project,
}

/// Every kind of change for a body's windows, the steps of each from the least on.
pub(super) fn changes(work: &LightWork, body: usize) -> Vec<(Kind, Vec<Change>)> {
    let stock = Catalogue::built_in();
    let project = work.project;
    let rules = project.rules_for(&work.placed.bodies[body].name);
    vec![
        (Kind::Pitch, strips(project, &stock)),
        (Kind::Wall, walls(project, &rules)),
        (Kind::Plastic, plastics(project, &rules, &stock)),
        (Kind::StandOff, bars(project, &stock)),
        (Kind::Lining, linings(work, body, &rules, &stock)),
        (Kind::Rows, rows(project, &rules)),
    ]
}

/// The project with one body's rules changed.
fn with_body(project: &Project, rules: &BodyRules, change: impl Fn(&mut BodyRules)) -> Project {
    let mut changed = project.clone();
    let lower = rules.name.to_lowercase();
    let at = changed.bodies.iter().position(|b| b.name == rules.name);
    let at = at.or_else(|| changed.bodies.iter().position(|b| b.name.to_lowercase() == lower));
    let at = at.unwrap_or_else(|| {
        changed.bodies.push(rules.clone());
        changed.bodies.len() - 1
    });
    change(&mut changed.bodies[at]);
    changed
}

fn strips(project: &Project, stock: &Catalogue) -> Vec<Change> {
    let Some(light) = &project.light else { return Vec::new() };
    let mut denser: Vec<_> = stock.strips.iter().filter(|s| s.pitch_mm < 0.99 * light.strip.pitch_mm).collect();
    denser.sort_by(|a, b| b.pitch_mm.total_cmp(&a.pitch_mm));
    let change = |strip: &crate::catalogue::Strip| {
        let mut changed = project.clone();
        if let Some(light) = &mut changed.light {
            light.strip = strip.clone();
        }
        Change { text: format!("light.strip = \"{}\"", strip.name), project: changed }
    };
    denser.into_iter().map(change).collect()
}

fn walls(project: &Project, rules: &BodyRules) -> Vec<Change> {
    // A graded wall has its thickness from the light.
    if rules.graded.is_some() {
        return Vec::new();
    }
    let beads = rules.printers.iter().map(|p| &project.printers[*p]).filter(|p| p.process == Process::Filament);
    let bead_mm = beads.map(|p| p.bead_mm).fold(0.0, f64::max);
    let step_mm = if bead_mm > 0.0 { bead_mm } else { RESIN_STEP_MM };
    let change = |k: u32| {
        // As it is written, to a hundredth.
        let wall_mm = ((rules.wall_mm + f64::from(k) * step_mm) * 100.0).round() / 100.0;
        Change {
            text: format!("body.{}.wall = \"{wall_mm} mm\"", rules.name),
            project: with_body(project, rules, |b| b.wall_mm = wall_mm),
        }
    };
    (1..=MOST_BEADS).map(change).collect()
}

fn plastics(project: &Project, rules: &BodyRules, stock: &Catalogue) -> Vec<Change> {
    let now = &rules.material.optics;
    let prints = |process| rules.printers.iter().any(|p| suits(&project.printers[*p], process));
    let mut better: Vec<_> = stock
        .materials
        .iter()
        .filter(|m| {
            let (scatter, absorb) = (m.optics.scatter_per_mm[0], m.optics.absorb_per_mm[GREEN][0]);
            m.process == rules.material.process
                && prints(m.process)
                && scatter > MORE[0] * now.scatter_per_mm[0]
                && absorb <= MORE[1] * now.absorb_per_mm[GREEN][0]
        })
        .collect();
    better.sort_by(|a, b| a.optics.scatter_per_mm[0].total_cmp(&b.optics.scatter_per_mm[0]));
    // Plastics that scatter alike are one choice: the first of the catalogue, or the one of the same kind.
    let kin = rules.material.name.split('-').next().unwrap_or_default();
    let mut chosen: Vec<&crate::catalogue::Material> = Vec::new();
    for m in better {
        match chosen.last_mut() {
            Some(last) if last.optics.scatter_per_mm[0] >= m.optics.scatter_per_mm[0] => {
                if m.name.starts_with(kin) && !last.name.starts_with(kin) {
                    *last = m;
                }
            }
            _ => chosen.push(m),
        }
    }
    let change = |m: &crate::catalogue::Material| Change {
        text: format!("body.{}.material = \"{}\"", rules.name, m.name),
        project: with_body(project, rules, |b| b.material = m.clone()),
    };
    chosen.into_iter().map(change).collect()
}

/// Thinner bars between two strips back to back: the strips move away from the walls that they look at.
fn bars(project: &Project, stock: &Catalogue) -> Vec<Change> {
    let Some(spine) = &project.spine else { return Vec::new() };
    if project.light.as_ref().is_none_or(|l| l.rows > 2) || spine.slot_mm[0].is_some() {
        return Vec::new();
    }
    let [thick, high] = spine.bar.size_mm;
    let like = |b: &&crate::catalogue::Bar| b.round == spine.bar.round && b.size_mm[0] < 0.95 * thick;
    let mut thinner: Vec<_> = stock.bars.iter().filter(like).collect();
    // From the thickest on; of those the one whose height is nearest.
    let off = |b: &crate::catalogue::Bar| (b.size_mm[1] - high).abs();
    thinner.sort_by(|a, b| b.size_mm[0].total_cmp(&a.size_mm[0]).then(off(a).total_cmp(&off(b))));
    thinner.dedup_by(|b, a| (a.size_mm[0] - b.size_mm[0]).abs() < 1e-9);
    let change = |bar: &crate::catalogue::Bar| {
        let mut changed = project.clone();
        if let Some(spine) = &mut changed.spine {
            spine.bar = bar.clone();
        }
        Change { text: format!("spine.bar = \"{}\"", bar.name), project: changed }
    };
    thinner.into_iter().map(change).collect()
}

fn linings(work: &LightWork, body: usize, rules: &BodyRules, stock: &Catalogue) -> Vec<Change> {
    let own = work.windows.list().iter().filter(|w| w.body == body);
    let open: f64 = own.map(|w| w.area_mm2).sum();
    let bright = !rules.lining.is_empty() && Skin::of(&rules.lining).away[GREEN] > BRIGHT;
    if bright || open > OPEN_SHARE * work.placed.bodies[body].mesh.area_mm2() {
        return Vec::new();
    }
    let linings = stock.coats.iter().filter(|c| c.kind == CoatKind::Lining);
    let best = linings.reduce(|a, b| if b.towards_light[GREEN] > a.towards_light[GREEN] { b } else { a });
    let change = |coat: &crate::catalogue::Coat| Change {
        text: format!("body.{}.lining = [\"{}\"]", rules.name, coat.name),
        project: with_body(work.project, rules, |b| b.lining = vec![coat.clone()]),
    };
    best.map(change).into_iter().collect()
}

fn rows(project: &Project, rules: &BodyRules) -> Vec<Change> {
    const MOST: u32 = 6;
    let Some(light) = &project.light else { return Vec::new() };
    // What shines along two sides only has no use for more than two.
    let most = if rules.glow == Glow::Around { MOST } else { 2 };
    let change = |rows: u32| {
        let mut changed = project.clone();
        if let Some(light) = &mut changed.light {
            light.rows = rows;
        }
        Change { text: format!("light.rows = {rows}"), project: changed }
    };
    (light.rows + 1..=most).map(change).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::parse;

    const TEXT: &str = r#"[prop]
name = "Reed wand"
[shape]
file = "wand.obj"
length = "36 cm"
[body.blade]
role = "lit"
material = "pla-natural"
wall = "1.2 mm"
[light]
strip = "strip-60"
rows = 1
[spine]
bar = "flat-aluminium-12x3"
[printer.bench]
kind = "filament-180"
"#;

    fn project(from: &str, to: &str) -> Project {
        parse(&TEXT.replace(from, to), &Catalogue::built_in()).unwrap()
    }

    fn texts(changes: &[Change]) -> Vec<&str> {
        changes.iter().map(|c| c.text.as_str()).collect()
    }

    /// Whatever is said can be written: read again with the line in it, the project is the one that was tried.
    #[track_caller]
    fn written(project: &Project, changes: &[Change]) {
        let keys = ["light.strip", "light.rows", "spine.bar", "body.blade.wall", "body.blade.material"];
        for change in changes {
            let (key, value) = change.text.split_once(" = ").unwrap();
            assert!(keys.contains(&key), "{key}");
            let (table, name) = key.rsplit_once('.').unwrap();
            let mut text = String::new();
            let mut here = "";
            for line in TEXT.lines() {
                here = line.strip_prefix('[').and_then(|l| l.strip_suffix(']')).unwrap_or(here);
                let own = here == table && line.split(" = ").next() == Some(name);
                text += &if own { format!("{name} = {value}\n") } else { format!("{line}\n") };
            }
            assert_ne!(text, TEXT);
            assert_eq!(parse(&text, &Catalogue::built_in()).unwrap(), change.project, "{}", change.text);
            assert_ne!(&change.project, project);
        }
    }

    #[test]
    fn strips_come_denser_and_denser() {
        let (stock, project) = (Catalogue::built_in(), project("", ""));
        let all = strips(&project, &stock);
        assert_eq!(texts(&all), ["light.strip = \"strip-96\"", "light.strip = \"strip-144\""]);
        written(&project, &all);
        let densest = super::tests::project("strip-60", "strip-144");
        assert!(strips(&densest, &stock).is_empty());
    }

    #[test]
    fn walls_grow_by_beads() {
        let project = project("", "");
        let rules = project.rules_for("blade");
        let bead = project.printers[0].bead_mm;
        let all = walls(&project, &rules);
        assert_eq!(all.len(), MOST_BEADS as usize);
        for (k, change) in (1..).zip(&all) {
            let wall = change.project.rules_for("blade").wall_mm;
            assert!((wall - 1.2 - f64::from(k) * bead).abs() < 0.006, "{wall}");
        }
        written(&project, &all);
    }

    #[test]
    fn plastics_scatter_more_and_more_and_take_no_more() {
        let (stock, project) = (Catalogue::built_in(), project("", ""));
        let all = plastics(&project, &project.rules_for("blade"), &stock);
        let scatter: Vec<f64> =
            all.iter().map(|c| c.project.rules_for("blade").material.optics.scatter_per_mm[0]).collect();
        assert!(all.len() >= 2 && scatter.is_sorted() && scatter[0] > 0.4, "{scatter:?}");
        // Two whites scatter alike: the one that is a PLA too is taken. Black takes what it scatters.
        let said = texts(&all);
        assert!(said.contains(&"body.blade.material = \"pla-white\""), "{said:?}");
        assert!(said.iter().all(|t| !t.contains("black") && !t.contains("petg") && !t.contains("resin")), "{said:?}");
        written(&project, &all);
        let best = super::tests::project("pla-natural", "abs-white");
        assert!(plastics(&best, &best.rules_for("blade"), &stock).is_empty());
    }

    #[test]
    fn bars_get_thinner_and_rows_more() {
        let (stock, project) = (Catalogue::built_in(), project("", ""));
        let all = bars(&project, &stock);
        assert_eq!(texts(&all), ["spine.bar = \"flat-aluminium-10x2\""]);
        written(&project, &all);
        let all = rows(&project, &project.rules_for("blade"));
        assert_eq!(texts(&all), ["light.rows = 2"]);
        written(&project, &all);
        let around = super::tests::project("wall =", "glow = \"around\"\nwall =");
        assert_eq!(rows(&around, &around.rules_for("blade")).len(), 5);
    }
}
