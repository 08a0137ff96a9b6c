//! Writes the committed shape file of the beacon staff again.

fn main() -> std::io::Result<()> {
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/beacon-staff.3mf"), beacon_staff_shape::file())
}
