//! How far each stage is, and whether what is shown of it is still true.

use serde::Serialize;

/// The stages in the order in which they are announced.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StageName"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum Stage {
    Shape,
    Geometry,
    Print,
    Light,
    Strength,
    Power,
    All,
}

impl Stage {
    pub(crate) const EACH: [Stage; 7] =
        [Stage::Shape, Stage::Geometry, Stage::Print, Stage::Light, Stage::Strength, Stage::Power, Stage::All];
}

/// What is shown of a stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StageState"))]
#[serde(rename_all = "lowercase")]
pub(crate) enum Standing {
    /// Nothing yet.
    Waiting,
    /// Being worked out; what is shown is of an older text, if anything is.
    Working,
    /// What is shown is of an older text.
    Stale,
    /// What is shown is true.
    Done,
    /// It could not be worked out; what is shown is of an older text.
    Failed,
    /// This prop has none.
    None,
}

/// A stage as it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "StageOf"))]
pub(crate) struct StageShown {
    name: Stage,
    state: Standing,
    /// The build that what is shown comes from.
    build: Option<u64>,
}

/// All stages.
#[derive(Clone, Debug)]
pub(crate) struct Stages([StageShown; 7]);

impl Default for Stages {
    fn default() -> Stages {
        Stages(Stage::EACH.map(|name| StageShown { name, state: Standing::Waiting, build: None }))
    }
}

impl Stages {
    pub(crate) fn shown(&self) -> [StageShown; 7] {
        self.0
    }

    /// A build begins: nothing is true any more, and the first stage is at work.
    pub(crate) fn begin(&mut self) {
        self.age();
        self.0[0].state = Standing::Working;
    }

    /// What is shown is of an older text.
    pub(crate) fn age(&mut self) {
        for stage in &mut self.0 {
            stage.state = if stage.build.is_some() { Standing::Stale } else { Standing::Waiting };
        }
    }

    /// A stage has come to something, or to nothing where `there` is false; the next one is at work.
    pub(crate) fn done(&mut self, stage: Stage, build: u64, there: bool) {
        let k = stage as usize;
        let state = if there { Standing::Done } else { Standing::None };
        self.0[k] = StageShown { name: stage, state, build: Some(build) };
        // Graded walls bring geometry, print and light again.
        for later in &mut self.0[k + 1..] {
            if later.state == Standing::Working {
                later.state = if later.build.is_some() { Standing::Stale } else { Standing::Waiting };
            }
        }
        if let Some(next) = self.0.get_mut(k + 1) {
            next.state = Standing::Working;
        }
    }

    /// The stage that was at work broke off; those after it are not reached.
    pub(crate) fn fail(&mut self) {
        for stage in &mut self.0 {
            if stage.state == Standing::Working {
                stage.state = Standing::Failed;
            }
        }
    }

    /// Whether the prop is known to have nothing of a stage.
    pub(crate) fn has_none(&self, stage: Stage) -> bool {
        self.0[stage as usize].state == Standing::None
    }

    /// The stage that was at work was stopped.
    pub(crate) fn stop(&mut self) {
        for stage in &mut self.0 {
            if stage.state == Standing::Working {
                stage.state = if stage.build.is_some() { Standing::Stale } else { Standing::Waiting };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Standing::{Done, Failed, None, Stale, Waiting, Working};

    fn states(stages: &Stages) -> [Standing; 7] {
        stages.shown().map(|s| s.state)
    }

    #[test]
    fn what_is_shown_is_true_or_marked() {
        let mut stages = Stages::default();
        stages.begin();
        assert_eq!(states(&stages), [Working, Waiting, Waiting, Waiting, Waiting, Waiting, Waiting]);
        for (stage, there) in Stage::EACH.into_iter().zip([true, true, true, false, true, true, true]) {
            stages.done(stage, 1, there);
        }
        assert_eq!(states(&stages), [Done, Done, Done, None, Done, Done, Done]);
        stages.begin();
        assert_eq!(states(&stages), [Working, Stale, Stale, Stale, Stale, Stale, Stale]);
        stages.done(Stage::Shape, 2, true);
        stages.fail();
        assert_eq!(states(&stages), [Done, Failed, Stale, Stale, Stale, Stale, Stale]);
        stages.begin();
        stages.stop();
        assert_eq!(states(&stages), [Stale; 7]);
    }
}
