//! Works out sections and lines that come as JSON on standard input, and says as JSON what they come to. The reference checks hold
//! the answers against other libraries'.
//!
//! In: `{"sections": [[region, …], …], "lines": [line, …]}`. A region is `{"e_mpa": …, "g_mpa": …, "outlines": [{"outer":
//! [[y, z], …], "holes": [[[y, z], …], …]}]}`. A line is `{"stops": [{"x_mm": …, "ea_n": …, "about_y_nmm2": …, "about_z_nmm2": …,
//! "gj_nmm2": …, "mass_g_mm": …, "joint": null or three turns}], "supports": [{"stop": …, "hold": six}], "pull_mm_s2": [x, y, z],
//! "points": [{"stop": …, "force_n": [x, y, z], "moment_nmm": [x, y, z]}]}`; a turn or hold is `null` for firm, or a spring, 0 for free.
//!
//! Out: `{"sections": […], "lines": […]}` with what [`Solid`] and [`Bent`] hold.

use beam::frame::{Bar, Frame, Hold, Load, Stop, Support, line, modes, still};
use beam::section::{Material, Outline, Region, Second};
use beam::{DMat2, DVec2, DVec3, section};
use serde::{Deserialize, Serialize};
use std::error::Error;
use std::io::{Read, Write};

#[derive(Deserialize)]
struct Asked {
    sections: Vec<Vec<Part>>,
    lines: Vec<Run>,
}

#[derive(Deserialize)]
struct Part {
    e_mpa: f64,
    g_mpa: f64,
    outlines: Vec<Loops>,
}

#[derive(Deserialize)]
struct Loops {
    outer: Vec<[f64; 2]>,
    holes: Vec<Vec<[f64; 2]>>,
}

#[derive(Deserialize)]
struct Run {
    stops: Vec<Place>,
    supports: Vec<Held>,
    pull_mm_s2: [f64; 3],
    points: Vec<Point>,
}

#[derive(Deserialize)]
struct Place {
    x_mm: f64,
    ea_n: f64,
    about_y_nmm2: f64,
    about_z_nmm2: f64,
    gj_nmm2: f64,
    mass_g_mm: f64,
    joint: Option<[Option<f64>; 3]>,
}

#[derive(Deserialize)]
struct Held {
    stop: usize,
    hold: [Option<f64>; 6],
}

#[derive(Deserialize)]
struct Point {
    stop: usize,
    force_n: [f64; 3],
    moment_nmm: [f64; 3],
}

#[derive(Serialize)]
struct Solid {
    area_mm2: f64,
    ea_n: f64,
    centroid_mm: [f64; 2],
    about_y_nmm2: f64,
    about_z_nmm2: f64,
    mixed_nmm2: f64,
    gj_nmm2: f64,
    least_nmm2: f64,
    most_nmm2: f64,
    shear_centre_mm: Option<[f64; 2]>,
    /// Stiffness against shear along y and z.
    shear_n: [f64; 2],
}

#[derive(Serialize)]
struct Bent {
    moved_mm: Vec<[f64; 3]>,
    turned_rad: Vec<[f64; 3]>,
    forces_n: Vec<[f64; 3]>,
    /// At the beginning of each span: torque, about y, about z.
    moments_nmm: Vec<[f64; 3]>,
    first_hz: f64,
}

fn solid(parts: &[Part]) -> Result<Solid, Box<dyn Error>> {
    let points = |corners: &Vec<[f64; 2]>| corners.iter().map(|c| DVec2::from_array(*c)).collect::<Vec<_>>();
    let outline = |l: &Loops| Outline { outer: points(&l.outer), holes: l.holes.iter().map(points).collect() };
    let region = |p: &Part| Region {
        material: Material { e_mpa: p.e_mpa, g_mpa: p.g_mpa, density_kg_m3: 0.0 },
        outlines: p.outlines.iter().map(outline).collect(),
    };
    let regions: Vec<Region> = parts.iter().map(region).collect();
    let found = section(&regions, 0.004)?;
    Ok(Solid {
        area_mm2: found.plain.area_mm2,
        ea_n: found.plain.ea_n,
        centroid_mm: found.plain.centroid_mm.to_array(),
        about_y_nmm2: found.plain.ei_nmm2.about_y,
        about_z_nmm2: found.plain.ei_nmm2.about_z,
        mixed_nmm2: found.plain.ei_nmm2.mixed,
        gj_nmm2: found.twist.gj_nmm2,
        least_nmm2: found.twist.least_nmm2,
        most_nmm2: found.twist.most_nmm2,
        shear_centre_mm: found.twist.shear_centre_mm.map(|c| c.to_array()),
        shear_n: [1.0 / found.twist.shear_per_n.x_axis.x, 1.0 / found.twist.shear_per_n.y_axis.y],
    })
}

fn hold(spring: Option<f64>) -> Hold {
    match spring {
        None => Hold::Firm,
        Some(0.0) => Hold::Free,
        Some(k) => Hold::Spring(k),
    }
}

fn bent(run: &Run) -> Result<Bent, Box<dyn Error>> {
    let stop = |p: &Place| Stop {
        station_mm: p.x_mm,
        at_mm: DVec3::X * p.x_mm,
        across: DVec3::Y,
        bar: Bar {
            ea_n: p.ea_n,
            ei_nmm2: Second { about_y: p.about_y_nmm2, about_z: p.about_z_nmm2, mixed: 0.0 },
            gj_nmm2: p.gj_nmm2,
            shear_per_n: DMat2::ZERO,
            mass_g_mm: p.mass_g_mm,
            spin_gmm2_mm: 0.0,
        },
        core: None,
        joint: p.joint.map(|turns| (turns.map(hold), [0.0; 3])),
    };
    let line = line(&run.stops.iter().map(stop).collect::<Vec<_>>())?;
    let supports: Vec<Support> =
        run.supports.iter().map(|s| Support { node: line.nodes[s.stop][1], hold: s.hold.map(hold) }).collect();
    let frame: Frame = line.held(&supports);
    let mut loads = vec![Load::Pull { mm_s2: run.pull_mm_s2.into() }];
    loads.extend(run.points.iter().map(|p| Load::Point {
        node: line.nodes[p.stop][1],
        force_n: p.force_n.into(),
        moment_nmm: p.moment_nmm.into(),
    }));
    let found = still(&frame, &loads)?;
    Ok(Bent {
        moved_mm: line.nodes.iter().map(|n| found.moved_mm[n[1]].to_array()).collect(),
        turned_rad: line.nodes.iter().map(|n| found.turned_rad[n[1]].to_array()).collect(),
        forces_n: found.reactions.iter().map(|r| r.force_n.to_array()).collect(),
        moments_nmm: line.spans.iter().map(|s| found.ends[*s][0].moment_nmm.to_array()).collect(),
        first_hz: modes(&frame, 1)?[0].hz,
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = String::new();
    std::io::stdin().read_to_string(&mut words)?;
    let asked: Asked = serde_json::from_str(&words)?;
    let sections = asked.sections.iter().map(|s| solid(s)).collect::<Result<Vec<_>, _>>()?;
    let lines = asked.lines.iter().map(bent).collect::<Result<Vec<_>, _>>()?;
    writeln!(std::io::stdout(), "{}", serde_json::json!({ "sections": sections, "lines": lines }))?;
    Ok(())
}
