//! `lanthorn coupon fit`.

use crate::load::load;
use crate::shelf::Shelf;
use anyhow::{Context, Result, bail};
use std::fs;
use std::path::Path;

/// Writes the fit coupons of a project.
pub(crate) fn fit(file: &Path, out: &Path) -> Result<()> {
    let shelf = Shelf::prepare(out, "coupon.svg")?;
    spare_readings(out)?;
    let loaded = load(file)?;
    let names: Vec<&str> = loaded.inputs.shape.bodies.iter().map(|b| b.name.as_str()).collect();
    let project = &loaded.inputs.project;
    let coupons = prop::coupon::coupons(project, &names)?;
    let artifacts = pack::coupon(&project.name, &coupons, &prop::coupon::stock(project))?;
    shelf.put(&artifacts)?;
    let minutes = |s: f64| (s / 60.0).ceil();
    for coupon in &coupons {
        println!("coupon {}: printer {}, {}", coupon.number, coupon.printer, coupon.material);
        for part in &coupon.parts {
            let time = &part.time_s;
            let (value, low, high) = (minutes(time.value), minutes(time.low), minutes(time.high));
            println!("  {}: {value:.0} min ({low:.0} to {high:.0}), {:.1} g", part.name, part.mass_g.value);
        }
        let time = &coupon.time_s;
        let (value, low, high) = (minutes(time.value), minutes(time.low), minutes(time.high));
        println!("  all on one plate: {value:.0} min ({low:.0} to {high:.0})");
    }
    println!(
        "{} files in {}; look at {}, fill in {}, then: lanthorn calibrate fit {} --project {}",
        artifacts.len(),
        out.display(),
        out.join("coupon.svg").display(),
        out.join("readings.csv").display(),
        out.join("readings.csv").display(),
        file.display()
    );
    Ok(())
}

/// Refuses to replace a sheet that a maker has filled in.
fn spare_readings(out: &Path) -> Result<()> {
    let sheet = out.join("readings.csv");
    if !sheet.is_file() {
        return Ok(());
    }
    let text = fs::read_to_string(&sheet).with_context(|| format!("{} cannot be read", sheet.display()))?;
    let filled =
        |line: &str| !line.starts_with('#') && !line.starts_with("printer,") && !line.trim_end().ends_with(",,");
    if text.lines().any(|line| !line.trim().is_empty() && filled(line)) {
        bail!(
            "{} is filled in; learn from it (lanthorn calibrate fit) and move it away, or name another folder with --out",
            sheet.display()
        );
    }
    Ok(())
}
