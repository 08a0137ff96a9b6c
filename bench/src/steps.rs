//! The timed steps. Each makes its own input first, which isn't timed.

use solid::{DVec3, Mesh, Plane};
use std::process::ExitCode;
use std::time::Instant;

/// A step: prepares for a glaive of so many triangles, then hands back the timed part, whose result is one number.
type Step = fn(usize) -> Box<dyn FnOnce() -> Result<f64, String>>;

pub(crate) const STEPS: [(&str, Step); 2] = [("cut", cut), ("hollow", hollow)];

pub(crate) fn named(name: &str) -> Option<Step> {
    STEPS.iter().find(|s| s.0 == name).map(|s| s.1)
}

/// Whether manifold3d does the same work.
pub(crate) fn has_peer(name: &str) -> bool {
    name == "cut"
}

/// Runs one step and prints seconds, peak megabytes and its result.
pub(crate) fn run(step: Step, triangles: usize) -> ExitCode {
    let timed = step(triangles);
    let start = Instant::now();
    match timed() {
        Ok(result) => {
            println!("{} {} {result}", start.elapsed().as_secs_f64(), peak_mb());
            ExitCode::SUCCESS
        }
        Err(fault) => {
            eprintln!("{fault}");
            ExitCode::FAILURE
        }
    }
}

/// Largest memory of this process so far, megabytes, from the kernel's account of it; 0 where there is none.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kb = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.trim().strip_suffix("kB")?.trim().parse().ok());
    kb.unwrap_or(0.0) / 1000.0
}

/// The glaive's blade when the whole glaive has so many triangles.
pub(crate) fn blade(triangles: usize) -> Mesh {
    reed_glaive_shape::glaive(triangles).into_iter().find(|b| b.0 == "blade").expect("the glaive has a blade").1
}

/// Seven cuts into eight equal lengths; the result is the smallest part's volume, mm3.
fn cut(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let blade = blade(triangles);
    let planes: Vec<Plane> =
        (1..8).map(|k| Plane::through(DVec3::X * (400.0 + 137.5 * f64::from(k)), DVec3::X)).collect();
    Box::new(move || {
        let parts = solid::split(&blade, &planes).map_err(|e| e.to_string())?;
        Ok(parts.iter().map(Mesh::volume_mm3).fold(f64::INFINITY, f64::min))
    })
}

/// The blade's cavity under a wall of 2 mm; the result is its volume, mm3.
fn hollow(triangles: usize) -> Box<dyn FnOnce() -> Result<f64, String>> {
    let blade = blade(triangles);
    Box::new(move || {
        let _ = &blade;
        Err("not measured".to_owned())
    })
}
