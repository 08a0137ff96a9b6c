//! Writes the committed shape file of the reed glaive again.

fn main() -> std::io::Result<()> {
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/reed-glaive.3mf"), reed_glaive_shape::file())
}
