//! How far long work has come, on a terminal and only if it takes more than a second.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar on standard error that keeps out of sight for the first second.
pub(crate) struct Progress {
    bar: ProgressBar,
    started: Instant,
    hidden: bool,
}

impl Progress {
    /// Work in bytes of map files, or in properties.
    pub(crate) fn new(what: &'static str, length: u64, in_bytes: bool) -> Progress {
        let bar = ProgressBar::with_draw_target(Some(length), ProgressDrawTarget::hidden());
        let form = if in_bytes {
            "{msg} {bytes} of {total_bytes}, {eta} left {wide_bar}"
        } else {
            "{msg} {human_pos} of {human_len} properties, {eta} left {wide_bar}"
        };
        if let Ok(style) = ProgressStyle::with_template(form) {
            bar.set_style(style.progress_chars("─╌ "));
        }
        bar.set_message(what);
        Progress { bar, started: Instant::now(), hidden: true }
    }

    /// So much is done.
    pub(crate) fn at(&mut self, done: u64) {
        if self.hidden && self.started.elapsed() > Duration::from_secs(1) {
            self.hidden = false;
            // Where that is no terminal, nothing is drawn.
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.set_position(done);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
