//! Any bytes, read as every format. See CONTRIBUTING.
#![no_main]

#[path = "../src/entry.rs"]
mod entry;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    for format in entry::FORMATS {
        entry::read(format, bytes);
    }
});
