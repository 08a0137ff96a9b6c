//! How a circuit is used: what it shows and sounds from moment to moment.

use crate::demand::{Demand, Scene};
use crate::error::{CircuitError, at_least_nought, positive, share};
use crate::network::Network;

/// What is asked for during one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Which of the usage's scenes is shown, counted from 0.
    pub scene: usize,
    /// How bright, 0 to 1 of the scene.
    pub light: f64,
    /// What each amplifier gives its speaker, W, in the mean of the step.
    pub sound_w: f64,
}

/// Moments one after the other, again from the first when they are through.
#[derive(Clone, Debug, PartialEq)]
pub struct Usage {
    /// What may be shown.
    pub scenes: Vec<Scene>,
    /// What is asked for, step by step.
    pub moments: Vec<Moment>,
    /// How long a step is, s.
    pub step_s: f64,
}

impl Usage {
    /// What a moment asks for; `None` if its scene is not there.
    pub fn demand(&self, moment: &Moment) -> Option<Demand<'_>> {
        let scene = self.scenes.get(moment.scene)?;
        Some(Demand { scene, light: moment.light, sound_w: moment.sound_w })
    }

    /// The worst that may come together: each scene that is shown, as bright as it ever is, with the loudest sound of all.
    pub fn extremes(&self) -> Vec<Moment> {
        let sound_w = self.moments.iter().fold(0.0, |most, m| f64::max(most, m.sound_w));
        let brightest = |scene: usize| {
            let lights = self.moments.iter().filter(|m| m.scene == scene).map(|m| m.light);
            lights.reduce(f64::max).map(|light| Moment { scene, light, sound_w })
        };
        (0..self.scenes.len()).filter_map(brightest).collect()
    }

    pub(crate) fn check(&self, net: &Network) -> Result<(), CircuitError> {
        positive("the usage", "its step in s", self.step_s)?;
        self.scenes.iter().try_for_each(|scene| scene.check(net))?;
        if self.moments.is_empty() {
            return Err(CircuitError::NoMoment);
        }
        for moment in &self.moments {
            if moment.scene >= self.scenes.len() {
                return Err(CircuitError::NoScene { scene: moment.scene, scenes: self.scenes.len() });
            }
            share("the usage", "the light of a moment", moment.light)?;
            at_least_nought("the usage", "the sound of a moment in W", moment.sound_w)?;
        }
        Ok(())
    }
}

/// Values of light or sound at which circuits are solved; between them, straight lines.
#[derive(Clone, Debug, PartialEq)]
struct Knots(Vec<f64>);

impl Knots {
    /// The values themselves where they are few, else `count` from the least to the most.
    fn of(values: impl Iterator<Item = f64>, count: usize) -> Self {
        let (mut few, mut least, mut most) = (Vec::new(), f64::INFINITY, f64::NEG_INFINITY);
        for value in values {
            (least, most) = (f64::min(least, value), f64::max(most, value));
            if few.len() <= count
                && let Err(at) = few.binary_search_by(|v: &f64| v.total_cmp(&value))
            {
                few.insert(at, value);
            }
        }
        if few.len() <= count {
            return Knots(few);
        }
        let share = |k: usize| k as f64 / (count - 1) as f64;
        Knots((0..count - 1).map(|k| least + (most - least) * share(k)).chain([most]).collect())
    }

    /// The knot below a value and the share of the way to the next.
    fn place(&self, value: f64) -> (usize, f64) {
        let above = self.0.partition_point(|k| *k <= value).clamp(1, self.0.len());
        let low = above - 1;
        match self.0.get(above) {
            Some(next) => (low, (value - self.0[low]) / (next - self.0[low])),
            None => (low, 0.0),
        }
    }
}

/// Scenes, lights and sounds at which circuits are solved.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    light: Knots,
    sound: Knots,
    scenes: usize,
}

/// A moment between knots: the lowest of its corners, and shares of the way to the next light and the next sound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub corner: usize,
    pub light: f64,
    pub sound: f64,
}

impl Grid {
    pub(crate) fn new(usage: &Usage, lights: usize, sounds: usize) -> Self {
        Grid {
            light: Knots::of(usage.moments.iter().map(|m| m.light), lights),
            sound: Knots::of(usage.moments.iter().map(|m| m.sound_w), sounds),
            scenes: usage.scenes.len(),
        }
    }

    /// How many corners there are.
    pub(crate) fn corners(&self) -> usize {
        self.scenes * self.light.0.len() * self.sound.0.len()
    }

    pub(crate) fn place(&self, moment: &Moment) -> Place {
        let ((l, light), (s, sound)) = (self.light.place(moment.light), self.sound.place(moment.sound_w));
        Place { corner: (moment.scene * self.light.0.len() + l) * self.sound.0.len() + s, light, sound }
    }

    /// The corners round a place and their shares; corners without a share are left out.
    pub(crate) fn around(&self, place: Place) -> impl Iterator<Item = (usize, f64)> {
        let along = self.sound.0.len();
        let Place { corner, light, sound } = place;
        [
            (corner, (1.0 - light) * (1.0 - sound)),
            (corner + 1, (1.0 - light) * sound),
            (corner + along, light * (1.0 - sound)),
            (corner + along + 1, light * sound),
        ]
        .into_iter()
        .filter(|(_, share)| *share > 0.0)
    }

    /// What a corner asks for.
    pub(crate) fn moment(&self, corner: usize) -> Moment {
        let (rest, s) = (corner / self.sound.0.len(), corner % self.sound.0.len());
        Moment {
            scene: rest / self.light.0.len(),
            light: self.light.0[rest % self.light.0.len()],
            sound_w: self.sound.0[s],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extremes_are_of_scenes_that_are_shown() {
        let moment = |scene, light, sound_w| Moment { scene, light, sound_w };
        let moments = vec![moment(0, 0.2, 2.0), moment(2, 0.9, 0.0), moment(0, 0.4, 1.0)];
        let usage = Usage { scenes: vec![Scene::default(); 3], moments, step_s: 0.01 };
        assert_eq!(usage.extremes(), [moment(0, 0.4, 2.0), moment(2, 0.9, 2.0)]);
    }

    #[test]
    fn few_values_are_met_and_many_are_between() {
        let knots = Knots::of([0.3, 1.0, 0.3, 0.1].into_iter(), 4);
        assert_eq!(knots.0, [0.1, 0.3, 1.0]);
        assert_eq!((knots.place(0.3), knots.place(1.0)), ((1, 0.0), (2, 0.0)));
        let many = Knots::of((0..100).map(f64::from), 4);
        assert_eq!((many.0.len(), many.place(99.0)), (4, (3, 0.0)));
        assert!((many.0[many.place(50.0).0] + many.place(50.0).1 * 33.0 - 50.0).abs() < 1e-12);
    }

    #[test]
    fn corners_are_moments_and_shares_are_whole() {
        let moment = |scene, light, sound_w| Moment { scene, light, sound_w };
        let moments = (0..50).map(|k| moment(k % 2, k as f64 / 49.0, (k % 7) as f64 / 3.0)).collect::<Vec<_>>();
        let usage = Usage { scenes: vec![Scene::default(), Scene::default()], moments, step_s: 0.01 };
        let grid = Grid::new(&usage, 9, 5);
        for m in &usage.moments {
            let (mut light, mut sound, mut whole) = (0.0, 0.0, 0.0);
            for (corner, share) in grid.around(grid.place(m)) {
                let at = grid.moment(corner);
                assert_eq!(at.scene, m.scene);
                (light, sound, whole) = (light + share * at.light, sound + share * at.sound_w, whole + share);
            }
            assert!(
                (light - m.light).abs() < 1e-12 && (sound - m.sound_w).abs() < 1e-12 && (whole - 1.0).abs() < 1e-12
            );
        }
    }
}
