//! Tools that joints and parts cut with, over the whole blade: the same solids for us and for the peer.

use solid::{DVec3, Mesh, cuboid, cylinder};

/// Stations of the blade's seven cuts, mm.
fn cuts() -> impl Iterator<Item = f64> {
    (1..8).map(|k| 400.0 + 137.5 * f64::from(k))
}

/// Solids that do not touch each other, as one mesh.
fn all(solids: impl Iterator<Item = Mesh>) -> Mesh {
    solids.fold(Mesh::default(), |mut all, solid| {
        all.append(&solid);
        all
    })
}

/// Two round sockets beside each cut, drilled through both faces.
pub(crate) fn sockets() -> Mesh {
    let drill = |x: f64, y: f64| cylinder(DVec3::new(x, y, -60.0), DVec3::new(x, y, 60.0), 2.1, 96);
    all(cuts().flat_map(|x| [drill(x + 7.0, 5.0), drill(x - 7.0, -5.0)]))
}

/// A key beside each cut that stands out of a face.
pub(crate) fn keys() -> Mesh {
    all(cuts().map(|x| cuboid(DVec3::new(x - 4.0, -3.0, 0.0), DVec3::new(x + 4.0, 3.0, 40.0))))
}

/// A bay and its lid's seat in one face between each two cuts.
pub(crate) fn bays() -> Mesh {
    all(cuts().map(|x| cuboid(DVec3::new(x - 80.0, -7.0, 1.0), DVec3::new(x - 20.0, 7.0, 60.0))))
}
