#![no_main]

#[path = "begin.rs"]
mod begin;

libfuzzer_sys::fuzz_target!(init: begin::begin(), |bytes: &[u8]| {
    bywash_fuzz::yaml(bytes);
});

// Every other change keeps the shape of the text.
libfuzzer_sys::fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    begin::changed(data, size, max_size, seed, 1)
});
