//! A progress bar on stderr, only where somebody watches.

use std::{
    io::IsTerminal,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    thread::JoinHandle,
    time::Duration,
};

use indicatif::{ProgressBar, ProgressStyle};

use crate::transport::Progress;

/// Shows a [`Progress`] until dropped.
pub(super) struct Bar {
    progress: Arc<Progress>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Bar {
    pub(super) fn new(what: &'static str) -> Self {
        Self::styled(what, "{msg} {wide_bar} {percent}% {elapsed}")
    }

    /// For work whose steps are alike, so that the time left can be told.
    #[cfg(feature = "app")]
    pub(super) fn with_time_left(what: &'static str) -> Self {
        Self::styled(
            what,
            "{msg} {pos} of {len} {wide_bar} {elapsed}, {eta} left",
        )
    }

    fn styled(what: &'static str, template: &'static str) -> Self {
        let progress = Arc::new(Progress::default());
        let stop = Arc::new(AtomicBool::new(false));
        let thread = std::io::stderr().is_terminal().then(|| {
            let (progress, stop) = (Arc::clone(&progress), Arc::clone(&stop));
            std::thread::spawn(move || {
                let bar = ProgressBar::new(1);
                if let Ok(style) = ProgressStyle::with_template(template) {
                    bar.set_style(style);
                }
                bar.set_message(what);
                while !stop.load(Ordering::Relaxed) {
                    let (done, total) = progress.counts();
                    bar.set_length(total.max(1));
                    bar.set_position(done);
                    std::thread::sleep(Duration::from_millis(80));
                }
                bar.finish_and_clear();
            })
        });
        Self {
            progress,
            stop,
            thread,
        }
    }

    pub(super) fn progress(&self) -> &Progress {
        &self.progress
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // A bar that panicked is no reason to fail the work.
            let _ = thread.join();
        }
    }
}
