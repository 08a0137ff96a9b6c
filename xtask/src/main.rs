//! Set-up, demo and test commands.
fn main() {}
