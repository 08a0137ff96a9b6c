//! Works out bare slabs that come as JSON on standard input, by walking and by doubling, and says as JSON what they send back
//! and pass. The reference checks hold the answers against another library's.
//!
//! In: `{"packets": 100000, "seed": 1, "slabs": [{"scatter_per_mm": 2, "anisotropy": 0, "absorb_per_mm": 0.005, "index": 1.5,
//! "thickness_mm": 2}]}`. Out, for each slab: `{"straight": …, "diffuse": …}`, each with `back`, `through`, `sigma_back`,
//! `sigma_through`, `booked` (all of the light, wherever it ended), `doubled_back` and `doubled_through`.

use glow::{ANGLES, Finish, Incidence, Medium, Walk, Wall, doubled, slab};
use serde::{Deserialize, Serialize};
use std::error::Error;
use std::io::{Read, Write};

#[derive(Deserialize)]
struct Asked {
    packets: u32,
    seed: u64,
    slabs: Vec<Slab>,
}

#[derive(Deserialize)]
struct Slab {
    scatter_per_mm: f64,
    anisotropy: f64,
    absorb_per_mm: f64,
    index: f64,
    thickness_mm: f64,
}

#[derive(Serialize)]
struct Answer {
    straight: Totals,
    diffuse: Totals,
}

#[derive(Serialize)]
struct Totals {
    back: f64,
    through: f64,
    sigma_back: f64,
    sigma_through: f64,
    booked: f64,
    doubled_back: f64,
    doubled_through: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = String::new();
    std::io::stdin().read_to_string(&mut words)?;
    let asked: Asked = serde_json::from_str(&words)?;
    let walk = Walk { packets: asked.packets, seed: asked.seed };
    let mut answers = Vec::new();
    for s in &asked.slabs {
        let medium = Medium::checked(s.scatter_per_mm, s.anisotropy, s.absorb_per_mm, s.index)?;
        let wall = Wall::checked(medium, s.thickness_mm, Finish::Bare, Finish::Bare)?;
        let straight = totals(&wall, Incidence::Collimated { cosine: 1.0 }, walk)?;
        answers.push(Answer { straight, diffuse: totals(&wall, Incidence::Diffuse, walk)? });
    }
    writeln!(std::io::stdout(), "{}", serde_json::to_string(&answers)?)?;
    Ok(())
}

fn totals(wall: &Wall, incidence: Incidence, walk: Walk) -> Result<Totals, Box<dyn Error>> {
    let passed = slab(wall, incidence, walk)?;
    let shares = passed.shares;
    let doubled = doubled(wall, incidence, ANGLES)?;
    Ok(Totals {
        back: shares.back(),
        through: shares.through(),
        sigma_back: passed.sigma_back,
        sigma_through: passed.sigma_through,
        booked: shares.sum() + passed.roulette,
        doubled_back: doubled.back(),
        doubled_through: doubled.through(),
    })
}
