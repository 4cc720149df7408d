//! What is being done, on a terminal and only after a second.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// How long nothing is shown.
const PATIENCE: Duration = Duration::from_secs(1);

/// How often the sign that something goes on turns.
const TICK: Duration = Duration::from_millis(120);

/// The stages of some work, one after the other, on a line of its own.
pub(super) struct Stages(ProgressBar);

impl Stages {
    /// Begins with the first.
    pub(super) fn new(first: &'static str) -> Self {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden()).with_message(first);
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
            bar.set_style(style);
        }
        let later = bar.clone();
        std::thread::spawn(move || {
            std::thread::sleep(PATIENCE);
            if !later.is_finished() {
                later.set_draw_target(ProgressDrawTarget::stderr());
                later.enable_steady_tick(TICK);
            }
        });
        Self(bar)
    }

    /// What is done from now on.
    pub(super) fn now(&self, what: impl Into<String>) {
        self.0.set_message(what.into());
    }

    /// Takes the line away while something else is written.
    pub(super) fn aside<T>(&self, write: impl FnOnce() -> T) -> T {
        self.0.suspend(write)
    }
}

impl Drop for Stages {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

/// Progress of what takes long: shown on a terminal, and only after a second.
pub(super) struct Work {
    bar: ProgressBar,
    began: Instant,
    shown: AtomicBool,
    words: &'static str,
}

impl Work {
    pub(super) fn new(count: u64, words: &'static str) -> Self {
        let bar = ProgressBar::with_draw_target((count > 0).then_some(count), ProgressDrawTarget::hidden());
        let template =
            if count > 0 { "{msg}: {pos} of {len} {wide_bar} {eta} left" } else { "{msg}: {pos} ({elapsed})" };
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        Self { bar, began: Instant::now(), shown: AtomicBool::new(false), words }
    }

    pub(super) fn done(&self, more: u64) {
        self.bar.inc(more);
        if self.began.elapsed() > Duration::from_secs(1)
            && std::io::stderr().is_terminal()
            && !self.shown.swap(true, Ordering::Relaxed)
        {
            self.bar.set_message(self.words);
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
    }

    pub(super) fn finish(&self) {
        self.bar.finish_and_clear();
    }
}
