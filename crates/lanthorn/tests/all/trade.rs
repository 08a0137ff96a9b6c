//! Facts of the trade that the planned prop must meet. Common practice, no source.

use prop::catalogue::Catalogue;
use prop::outcome::Role;
use prop::{Memory, Monitor};
use solid::Cancel;
use solid::read::{NamedMesh, Shape};

/// The example's project with its printers as tall as asked, on its own shape at a tenth of the detail.
fn pieces_of_blade(height: &str) -> usize {
    let text = include_str!("../../../../examples/reed-glaive/prop.toml");
    let taller = |t: &str| {
        t.replace(
            "kind = \"filament-220\"",
            &format!("kind = \"filament-220\"\nbed = [\"220 mm\", \"220 mm\", \"{height}\"]"),
        )
        .replace(
            "kind = \"filament-180\"",
            &format!("kind = \"filament-180\"\nbed = [\"180 mm\", \"180 mm\", \"{height}\"]"),
        )
    };
    let project = prop::project::parse(&taller(text), &Catalogue::built_in()).unwrap();
    let bodies =
        reed_glaive_shape::glaive(30_000).into_iter().map(|(name, mesh)| NamedMesh::plain(name, mesh)).collect();
    let shape = Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() };
    let (memory, monitor) = (Memory::default(), Monitor { cancel: Cancel::default(), report: &|_, _| {} });
    let placed = prop::stages::place(&project, &shape, &memory).unwrap();
    let inside = prop::stages::inside(&project, &placed, &memory, &monitor).unwrap();
    let core: Vec<_> = placed.core().collect();
    let measures: Vec<_> = core.iter().map(|b| prop::cutting::Measures::of(b)).collect();
    let cuts = prop::cutting::plan_cuts(&project, &core, &measures, &placed.path, inside.rail.as_ref(), &[]).unwrap();
    let blade = core.iter().find(|b| b.role == Role::Lit).unwrap();
    let inside_blade = |s: f64| s > blade.station_mm[0] + 1.0 && s < blade.station_mm[1] - 1.0;
    cuts.iter().filter(|c| inside_blade(c.station_mm)).count() + 1
}

#[test]
fn a_glaives_blade_makes_about_seven_pieces_for_a_printer_that_takes_16_cm() {
    // A printer whose frame leaves 16 cm after its margin. Blade of 110 cm: seven pieces, give or take one.
    let pieces = pieces_of_blade("170 mm");
    assert!((6..=8).contains(&pieces), "{pieces} pieces");
}

#[test]
fn a_staffs_lantern_shines_four_ways_and_its_core_is_sold_by_the_metre() {
    let project =
        prop::project::parse(include_str!("../../../../examples/beacon-staff/prop.toml"), &Catalogue::built_in())
            .unwrap();
    let bodies =
        beacon_staff_shape::staff(40_000).into_iter().map(|(name, mesh)| NamedMesh::plain(name, mesh)).collect();
    let shape = Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() };
    let (memory, monitor) = (Memory::default(), Monitor { cancel: Cancel::default(), report: &|_, _| {} });
    let placed = prop::stages::place(&project, &shape, &memory).unwrap();
    let rail = prop::stages::inside(&project, &placed, &memory, &monitor).unwrap().rail.unwrap();
    // A lantern 230 mm long less a solid end of 12 mm and 6 mm to solder in at both ends: 194 mm, 11 pixels of 60 to
    // the metre. One strip to each pane.
    for (strip, facing) in (1..).zip([solid::DVec3::Y, solid::DVec3::Z, -solid::DVec3::Y, -solid::DVec3::Z]) {
        let own: Vec<_> = rail.pixels.iter().filter(|p| p.strip == strip).collect();
        assert_eq!(own.len(), 11, "strip {strip}");
        assert!(own.iter().all(|p| p.facing.dot(facing) > 0.999), "strip {strip}");
        assert!(own.iter().all(|p| p.station_mm > 1558.0 && p.station_mm < 1752.0), "strip {strip}");
    }
    // Rod comes by the metre, and the staff comes apart in the middle.
    let lengths: Vec<f64> = rail.spine_mm.iter().map(|s| s[1] - s[0]).collect();
    assert!(lengths.len() == 3 && lengths.iter().all(|l| *l <= 1000.0), "{lengths:?}");
    let middle = rail.way.distance_at(840.0);
    assert!(!rail.spine_mm.iter().any(|s| s[0] < middle - 60.0 && s[1] > middle + 60.0), "{:?}", rail.spine_mm);
}
