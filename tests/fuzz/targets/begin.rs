//! What every target begins with.

/// A panic that the library catches (a workbook's reader gives up on a broken file in that way) is no find; one that nobody
/// catches ends the target all the same, and its input is kept.
pub fn begin() {
    std::panic::set_hook(Box::new(|what| {
        let is_of_a_library = what.location().is_some_and(|at| at.file().contains("/registry/"));
        if !is_of_a_library {
            eprintln!("{what}\n{}", std::backtrace::Backtrace::force_capture());
        }
    }));
}

/// A change of the input in `data`, whose first `head` bytes choose: by bytes, or one that keeps the shape of the text.
#[allow(dead_code)]
pub fn changed(data: &mut [u8], size: usize, max_size: usize, seed: u32, head: usize) -> usize {
    if seed % 2 == 0 {
        return libfuzzer_sys::fuzzer_mutate(data, size, max_size);
    }
    let changed = bywash_fuzz::mutant(&data[..size], head, u64::from(seed));
    let size = changed.len().min(max_size).min(data.len());
    data[..size].copy_from_slice(&changed[..size]);
    size
}
