//! The checks: each looks at what was made, not at how it was meant, and says one kind of finding.

mod bow;
mod cover;
mod drain;
mod fit;
mod gaps;
pub(crate) mod glow;
mod graded;
mod hand;
mod hold;
mod learnt;
mod lid;
mod light;
mod magnets;
mod parts;
mod person;
mod plates;
mod shape;
mod stop;
mod strength;
mod takedown;
mod warmth;
mod windows;

use crate::bay::Bays;
use crate::finding::{Band, Finding, Limit, Measured, Verdict};
use crate::light::Lighting;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::Piece;
use crate::project::Project;
use crate::stages::{Inside, Placed, Printed, Split};
use crate::strength::{Strength, StrengthError};
use crate::window::Windows;
use rayon::prelude::*;
use solid::{Bvh, DVec3, Mesh};
use std::convert::Infallible;

/// Everything that checks may look at.
pub struct Work<'a> {
    /// The project.
    pub project: &'a Project,
    /// First stage.
    pub placed: &'a Placed,
    /// Windows and coats.
    pub windows: &'a Windows,
    /// Second stage.
    pub inside: &'a Inside,
    /// Parts, lids and wires.
    pub bays: &'a Known<Bays>,
    /// Third stage.
    pub split: &'a Split,
    /// Fourth stage.
    pub printed: &'a Printed,
    /// How it glows.
    pub light: Option<&'a Lighting>,
    /// What was looked at before.
    pub memory: &'a Memory,
    /// How it would glow with even walls, where walls are graded.
    pub even_light: Option<&'a Lighting>,
    /// What it bears, where that was worked out, or why it was not.
    pub strength: Option<&'a Result<Strength, StrengthError>>,
}

/// A printed piece laid back into the prop, with distances to its surface.
pub(crate) struct Laid {
    pub(crate) surface: Known<Bvh>,
    pub(crate) low_x: f64,
    pub(crate) high_x: f64,
}

/// All findings, in no order.
pub fn all(work: &Work) -> Vec<Finding> {
    let laid: Vec<Laid> =
        work.printed.pieces.par_iter().zip(&work.printed.keys).map(|(p, key)| lay_back(work, p, *key)).collect();
    type Check<'a> = &'a (dyn Fn() -> Vec<Finding> + Sync);
    // Side by side: some have one thread's work only.
    let checks: [Check; 16] = [
        &|| shape::check(work, &laid),
        &|| fit::check(work, &laid),
        &|| cover::check(work, &laid),
        &|| drain::check(work),
        &|| light::check(work, &laid),
        &|| windows::check(work),
        &|| glow::check(work),
        &|| graded::check(work),
        &|| hold::check(work),
        &|| parts::check(work, &laid),
        &|| takedown::check(work, &laid),
        &|| person::check(work),
        &|| learnt::check(work),
        &|| plates::check(work),
        &|| strength::check(work),
        &|| bow::check(work).into_iter().collect(),
    ];
    checks.par_iter().flat_map_iter(|check| check()).collect()
}

fn lay_back(work: &Work, piece: &Piece, key: Key) -> Laid {
    let surface = || Bvh::new(&piece.mesh.transformed(&piece.to_prop));
    let surface =
        work.remembered(("laid back", work.printed.pieces.len()), KeyOf::stage("laid back").and(&key), surface);
    let bounds = surface.bounds();
    Laid { low_x: bounds.map_or(0.0, |b| b.min.x), high_x: bounds.map_or(0.0, |b| b.max.x), surface }
}

impl Work<'_> {
    /// What was found out before, or is now; so many times in each build.
    fn remembered<T: Send + Sync + 'static>(
        &self,
        (stage, each_build): (&'static str, usize),
        key: KeyOf,
        look: impl FnOnce() -> T,
    ) -> Known<T> {
        let Ok(known) = self.memory.recall(stage, each_build, key.key(), || Ok::<T, Infallible>(look()));
        known
    }
}

/// About `count` points spread over a surface by area, those for which `wanted` holds.
pub(crate) fn spread(mesh: &Mesh, count: usize, wanted: &dyn Fn(&DVec3) -> bool) -> Vec<DVec3> {
    let step_mm2 = mesh.area_mm2() / count as f64;
    let mut points = Vec::new();
    // What small faces owe towards the next point.
    let mut owed = 0.0;
    for t in 0..mesh.triangles.len() {
        owed += mesh.area_vector(t).length() / step_mm2;
        if owed < 1.0 {
            continue;
        }
        let [a, b, c] = mesh.corners(t);
        // A triangular lattice with about as many points as are owed.
        let k = owed.sqrt().ceil() as usize;
        owed = 0.0;
        for i in 0..k {
            for j in 0..k - i {
                let (u, v) = ((i as f64 + 1.0 / 3.0) / k as f64, (j as f64 + 1.0 / 3.0) / k as f64);
                let p = a + (b - a) * u + (c - a) * v;
                if wanted(&p) {
                    points.push(p);
                }
            }
        }
    }
    points
}

/// Distance from a point to the nearest printed material, mm; negative inside it.
pub(crate) fn to_material<L: std::borrow::Borrow<Laid>>(laid: &[L], p: DVec3) -> f64 {
    const NEAR_MM: f64 = 12.0;
    laid.iter()
        .map(L::borrow)
        .filter(|l| p.x > l.low_x - NEAR_MM && p.x < l.high_x + NEAR_MM)
        .map(|l| l.surface.signed_distance(p))
        .fold(f64::INFINITY, f64::min)
}

/// A finding with a limit, judged.
pub(crate) struct Checked {
    pub(crate) id: &'static str,
    pub(crate) subject: String,
    pub(crate) station_mm: Option<[f64; 2]>,
    pub(crate) value: Band,
    pub(crate) unit: &'static str,
    pub(crate) min: Option<f64>,
    pub(crate) max: Option<f64>,
    pub(crate) source: String,
    pub(crate) message: String,
    pub(crate) remedy: String,
}

impl Checked {
    pub(crate) fn finding(self) -> Finding {
        let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
        let measured = Measured {
            value: finite(self.value.value),
            low: finite(self.value.low),
            high: finite(self.value.high),
            unit: self.unit,
        };
        let limit = Limit { min: self.min, max: self.max, unit: self.unit, source: self.source };
        let verdict = if self.value.value.is_finite() { Finding::judge(&measured, &limit) } else { Verdict::Fails };
        let remedy = if verdict == Verdict::Holds { String::new() } else { self.remedy };
        Finding {
            id: self.id,
            verdict,
            subject: self.subject,
            station_mm: self.station_mm,
            measured,
            inputs: Vec::new(),
            limit: Some(limit),
            message: self.message,
            remedy,
        }
    }
}

/// Something to know, without a limit.
pub(crate) fn note(
    id: &'static str,
    subject: String,
    station_mm: Option<[f64; 2]>,
    value: f64,
    unit: &'static str,
    message: String,
) -> Finding {
    Finding {
        id,
        verdict: Verdict::Note,
        subject,
        station_mm,
        measured: Measured { value, low: value, high: value, unit },
        inputs: Vec::new(),
        limit: None,
        message,
        remedy: String::new(),
    }
}

/// "piece 03".
pub(crate) fn piece_name(piece: &Piece) -> String {
    format!("piece {:02}", piece.number)
}
