#![no_main]

#[path = "begin.rs"]
mod begin;

libfuzzer_sys::fuzz_target!(init: begin::begin(), |bytes: &[u8]| {
    bywash_fuzz::quantities(bytes);
});
