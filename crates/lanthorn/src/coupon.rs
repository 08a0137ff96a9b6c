//! `lanthorn coupon`: test prints with their sheets.

use crate::load::load;
use crate::shelf::Shelf;
use anyhow::{Context, Result, bail};
use std::fs;
use std::path::Path;

/// Writes the fit coupons of a project.
pub(crate) fn fit(file: &Path, out: &Path) -> Result<()> {
    let shelf = Shelf::prepare(out, "coupon.svg")?;
    spare_readings(out, "fit")?;
    let loaded = load(file)?;
    let names: Vec<&str> = loaded.inputs.shape.bodies.iter().map(|b| b.name.as_str()).collect();
    let project = &loaded.inputs.project;
    let coupons = prop::coupon::coupons(project, &names)?;
    let artifacts = pack::coupon(&project.name, &project.imprint, &coupons, &prop::coupon::stock(project))?;
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
        "{} files in {}; look at {} (coupon-a4.pdf prints it), fill in {}, then: lanthorn calibrate fit {} --project {}",
        artifacts.len(),
        out.display(),
        out.join("coupon.svg").display(),
        out.join("readings.csv").display(),
        out.join("readings.csv").display(),
        file.display()
    );
    Ok(())
}

/// Writes the light coupons of a project.
pub(crate) fn light(file: &Path, out: &Path) -> Result<()> {
    let shelf = Shelf::prepare(out, "light-coupon.svg")?;
    spare_readings(out, "light")?;
    let loaded = load(file)?;
    let names: Vec<&str> = loaded.inputs.shape.bodies.iter().map(|b| b.name.as_str()).collect();
    let project = &loaded.inputs.project;
    let coupons = prop::coupon::light_coupons(project, &names)?;
    if coupons.is_empty() {
        bail!("{}: no body is lit, so there is no plastic to measure; give one role = \"lit\"", file.display());
    }
    let artifacts = pack::light_coupon(&project.name, &project.imprint, &coupons)?;
    shelf.put(&artifacts)?;
    for coupon in &coupons {
        let steps: Vec<String> = coupon.steps.iter().map(|s| format!("{:.2}", s.thickness_mm)).collect();
        println!(
            "wedge {}: printer {}, {}, steps of {} mm",
            coupon.number,
            coupon.printer,
            coupon.material,
            steps.join(", ")
        );
        for part in [&coupon.wedge, &coupon.frame] {
            let minutes = [part.time_s.value, part.time_s.low, part.time_s.high].map(|s| (s / 60.0).ceil());
            let [value, low, high] = minutes;
            println!("  {}: {value:.0} min ({low:.0} to {high:.0}), {:.1} g", part.name, part.mass_g.value);
        }
    }
    println!(
        "{} files in {}; read {}, fill in {}, then: lanthorn calibrate light {} --project {}",
        artifacts.len(),
        out.display(),
        out.join("measure.html").display(),
        out.join("readings.csv").display(),
        out.join("readings.csv").display(),
        file.display()
    );
    Ok(())
}

/// Refuses to replace a sheet that a maker has filled in.
fn spare_readings(out: &Path, what: &str) -> Result<()> {
    let sheet = out.join("readings.csv");
    if !sheet.is_file() {
        return Ok(());
    }
    let text = fs::read_to_string(&sheet).with_context(|| format!("{} cannot be read", sheet.display()))?;
    let filled =
        |line: &str| !line.starts_with('#') && !line.starts_with("printer,") && !line.trim_end().ends_with(",,");
    if text.lines().any(|line| !line.trim().is_empty() && filled(line)) {
        bail!(
            "{} is filled in; learn from it (lanthorn calibrate {what}) and move it away, or name another folder with --out",
            sheet.display()
        );
    }
    Ok(())
}
