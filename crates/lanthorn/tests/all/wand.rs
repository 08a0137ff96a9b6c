//! A small lit prop and the means to run the program on it.

use assert_cmd::Command;
use solid::write::{Part, threemf};
use solid::{DAffine3, DVec3, Mesh, loft};
use std::path::PathBuf;
use tempfile::TempDir;

/// Points around a section.
const AROUND: u32 = 48;

/// A closed body along x: half-width and half-height at each x, an ellipse all the way.
pub(crate) fn body(profile: &[(f64, f64, f64)]) -> Mesh {
    let ring = |(x, w, h): (f64, f64, f64)| -> Vec<DVec3> {
        (0..AROUND)
            .map(|k| {
                let a = f64::from(k) * core::f64::consts::TAU / f64::from(AROUND);
                DVec3::new(x, w * libm_cos(a), h * libm_sin(a))
            })
            .collect()
    };
    loft(&profile.iter().map(|p| ring(*p)).collect::<Vec<_>>())
}

#[expect(clippy::disallowed_methods, reason = "a test shape need not be the same on every platform")]
fn libm_cos(a: f64) -> f64 {
    a.cos()
}

#[expect(clippy::disallowed_methods, reason = "a test shape need not be the same on every platform")]
fn libm_sin(a: f64) -> f64 {
    a.sin()
}

/// The wand's blade: 120 to 360 mm.
pub(crate) fn blade() -> Mesh {
    let at = |i: u32| 120.0 + f64::from(i) * 8.0;
    let profile: Vec<(f64, f64, f64)> =
        (0..=30).map(|i| (at(i), 24.0 - 0.3 * f64::from(i), 13.0 - 0.1 * f64::from(i))).collect();
    body(&profile)
}

/// The wand's grip: 0 to 120 mm.
pub(crate) fn grip() -> Mesh {
    body(&(0..=12).map(|i| (f64::from(i) * 10.0, 19.0, 16.0)).collect::<Vec<_>>())
}

/// The wand's project file.
pub(crate) const PROJECT: &str = r#"[prop]
name = "Reed wand"

[wearer]
height = "168 cm"

[shape]
file = "wand.3mf"
length = "36 cm"
tip = "high"

[body.blade]
role = "lit"
material = "abs-white"
wall = "2 mm"
glow = "edges"

[body.grip]
role = "plain"
material = "abs-white"

[light]
strip = "strip-60"
rows = 2
follow = false

[spine]
bar = "flat-aluminium-12x3"
least-length = "60 mm"

[wires]
bundle = "3 mm"

[printer.bench]
kind = "filament-180"
bed = ["120 mm", "120 mm", "140 mm"]
"#;

/// The grip alone, in two pieces: what is about neither light nor hollows is built soon.
pub(crate) const HANDLE: &str = r#"[prop]
name = "Handle"

[shape]
file = "wand.3mf"
length = "12 cm"
tip = "high"

[body.grip]
role = "plain"
material = "abs-white"

[printer.bench]
kind = "filament-180"
bed = ["120 mm", "120 mm", "100 mm"]
"#;

/// A project in a folder of its own.
pub(crate) struct Bench {
    pub(crate) dir: TempDir,
}

impl Bench {
    /// The wand, with its project text changed.
    pub(crate) fn new(change: impl Fn(&str) -> String) -> Bench {
        Bench::with(&[("blade", blade()), ("grip", grip())], change)
    }

    /// Other bodies under the wand's project.
    pub(crate) fn with(bodies: &[(&str, Mesh)], change: impl Fn(&str) -> String) -> Bench {
        let dir = tempfile::tempdir().unwrap();
        let parts: Vec<Part> =
            bodies.iter().map(|(name, mesh)| Part { name: (*name).into(), mesh, placed: DAffine3::IDENTITY }).collect();
        std::fs::write(dir.path().join("wand.3mf"), threemf(&parts, &[])).unwrap();
        std::fs::write(dir.path().join("prop.toml"), change(PROJECT)).unwrap();
        Bench { dir }
    }

    /// The grip alone.
    pub(crate) fn handle() -> Bench {
        Bench::with(&[("grip", grip())], |_| HANDLE.to_owned())
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub(crate) fn lanthorn(&self) -> Command {
        let mut command = Command::cargo_bin("lanthorn").unwrap();
        command.current_dir(self.dir.path());
        command
    }

    /// Exit code and everything said by `lanthorn check`.
    pub(crate) fn check(&self) -> (i32, String) {
        let output = self.lanthorn().args(["check", "prop.toml"]).output().unwrap();
        let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
        (output.status.code().unwrap_or(-1), said)
    }
}

/// A round staff of one plain body, 34 mm thick, 600 mm long, with a round bar in it, that comes apart in the middle.
pub(crate) const STAFF: &str = r#"[prop]
name = "Ash staff"

[shape]
file = "wand.3mf"
length = "60 cm"
tip = "high"

[body.shaft]
role = "plain"
material = "abs-white"

[spine]
bar = "round-glass-8"
least-length = "40 mm"

[wires]
bundle = "3 mm"

[printer.bench]
kind = "filament-220"

[joint.middle]
at = "290 mm"
kind = "bayonet"
"#;

/// The staff's shaft.
pub(crate) fn shaft() -> Mesh {
    body(&(0..=60).map(|i| (f64::from(i) * 10.0, 17.0, 17.0)).collect::<Vec<_>>())
}

/// A flat staff, 48 by 26 mm.
pub(crate) fn flat_shaft() -> Mesh {
    body(&(0..=60).map(|i| (f64::from(i) * 10.0, 24.0, 13.0)).collect::<Vec<_>>())
}
