//! From a mode's lights to what the strip is sent: paint, flash, dim, keep to the current, keep calm.

use crate::calm::Calm;
use crate::limits::FRAMES_A_SECOND;
use crate::paint;
use crate::table::{LightRow, Table, kind};

/// The strip and what moves on it.
#[derive(Clone, Debug)]
pub(crate) struct Painter {
    gamma: [u8; 256],
    /// Levels of each light of the mode: flicker and sparks go on from their own.
    levels: Vec<Vec<u8>>,
    frame: Vec<u8>,
    /// What the strip shows: red, green, blue a pixel.
    pub(crate) shown: Vec<u8>,
    /// Phase of each light of the mode, 65536 a period.
    phases: Vec<i32>,
    chance: i32,
    flash: Flashing,
    /// How far each pixel goes, or nothing.
    graded: Vec<u8>,
    budget: i32,
    calm: Option<Calm>,
}

#[derive(Clone, Debug, Default)]
struct Flashing {
    /// Strength at its place, what it loses a frame, and a pixel away; 65536 is all.
    left: i32,
    fade: i32,
    loss: i32,
    place: i32,
    colour: [i32; 3],
    /// Frames until another one may begin.
    rest: i32,
}

/// Frames from flash to flash, at least: a third of a second and a frame.
const REST: i32 = FRAMES_A_SECOND / 3 + 1;

impl Painter {
    pub(crate) fn new(table: &Table) -> Painter {
        let pixels = usize::from(table.hardware.pixels);
        let lights = table.modes.iter().map(|m| m.lights.len()).max().unwrap_or(0);
        Painter {
            gamma: paint::gamma_table(),
            levels: vec![vec![0; pixels]; lights],
            frame: vec![0; 3 * pixels],
            shown: vec![0; 3 * pixels],
            phases: vec![0; lights],
            chance: 0xACE1,
            flash: Flashing::default(),
            graded: table.hardware.levels.clone(),
            budget: table.hardware.budget as i32,
            calm: table.hardware.flash_window.map(|w| Calm::new(pixels, usize::from(w), FRAMES_A_SECOND)),
        }
    }

    /// A mode begins.
    pub(crate) fn begin(&mut self) {
        self.phases.fill(0);
        self.levels.iter_mut().for_each(|l| l.fill(0));
    }

    /// A flash begins, unless the last one was too short ago.
    pub(crate) fn strike(&mut self, flash: &[i32; 6]) {
        let [fade, loss, place, r, g, b] = *flash;
        if fade == 0 || (self.flash.rest > 0 && self.calm.is_some()) {
            return;
        }
        self.chance = paint::random(self.chance);
        let place = if place < 0 { self.chance % (self.frame.len() / 3) as i32 } else { place };
        self.flash = Flashing { left: paint::FULL, fade, loss, place, colour: [r, g, b], rest: REST };
    }

    /// Ends a flash at once.
    pub(crate) fn douse(&mut self) {
        self.flash.left = 0;
    }

    /// Paints one frame. Returns the sum of all channels.
    pub(crate) fn paint(&mut self, lights: &[LightRow], dim: i32) -> i32 {
        self.frame.fill(0);
        for (k, light) in lights.iter().enumerate() {
            self.light(k, light);
        }
        if self.flash.left > 0 {
            let f = &self.flash;
            paint::flash(&mut self.frame, f.place, f.left, f.loss, f.colour);
            self.flash.left -= f.fade;
        }
        self.flash.rest -= i32::from(self.flash.rest > 0);
        paint::graded(&mut self.frame, &self.graded);
        if dim < 256 {
            paint::scale(&mut self.frame, dim << 2);
        }
        let asked = paint::total(&self.frame);
        let over = asked > self.budget;
        if over {
            paint::scale(&mut self.frame, (self.budget << 10) / asked);
        }
        let held = self.calm.as_mut().is_some_and(|c| c.limit(&mut self.frame, &self.shown, self.budget));
        std::mem::swap(&mut self.frame, &mut self.shown);
        if over || held { paint::total(&self.shown) } else { asked }
    }

    fn light(&mut self, k: usize, light: &LightRow) {
        let [what, step, one, two, first, end, r, g, b] = *light;
        let levels = &mut self.levels[k][first as usize..end as usize];
        let phase = self.phases[k];
        let pixels = end - first;
        match what {
            kind::STEADY => paint::flat(levels, 255),
            kind::BREATHE => {
                let up = if phase > 32768 { 65536 - phase } else { phase };
                paint::flat(levels, two + (((255 - two) * up) >> 15));
            }
            kind::PULSE => paint::pulse(levels, (phase * pixels) >> 8, one, two),
            kind::FILL => paint::edge(levels, (phase * pixels) >> 8),
            kind::DRAIN => paint::edge(levels, (pixels << 8) - ((phase * pixels) >> 8)),
            kind::FLICKER => self.chance = paint::flicker(levels, two, self.chance),
            kind::SPARK => {
                paint::fade(levels, two);
                self.chance = paint::random(self.chance);
                if self.chance <= one {
                    self.chance = paint::random(self.chance);
                    levels[(self.chance % pixels) as usize] = 255;
                }
            }
            _ => {}
        }
        let once = what == kind::FILL || what == kind::DRAIN;
        let next = phase + step;
        self.phases[k] = if once { next.min(65536) } else { next & 0xFFFF };
        paint::colour(&mut self.frame, levels, &self.gamma, first as usize, [r, g, b]);
    }
}
