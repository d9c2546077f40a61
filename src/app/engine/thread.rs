//! The thread itself: newest wish in, answers out.

use std::sync::{
    Arc, Condvar, Mutex, OnceLock, PoisonError,
    mpsc::{Receiver, Sender, channel},
};

use super::{Answer, Wanted, stages::Stages};
use crate::transport::Progress;

/// What window and thread share.
#[derive(Default)]
struct Shared {
    wish: Mutex<Wish>,
    changed: Condvar,
}

#[derive(Default)]
struct Wish {
    wanted: Option<Arc<Wanted>>,
    /// Counts wishes, so that the thread sees a new one.
    count: u64,
    quit: bool,
    /// Stopped by the user until told to go on.
    paused: bool,
    /// Progress of the step under way, with the revision that it is for and whether it may be broken off.
    running: Option<(u64, bool, Arc<Progress>)>,
}

/// An engine thread of one plan. Dropping it ends the thread.
pub struct Engine {
    shared: Arc<Shared>,
    answers: Mutex<Receiver<Answer>>,
}

/// How the thread tells the window that something is there.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

impl Engine {
    /// Starts a thread. `wake` is called after each answer.
    pub fn start(wake: Wake) -> Self {
        let shared = Arc::new(Shared::default());
        let (to_window, answers) = channel();
        let thread_shared = Arc::clone(&shared);
        std::thread::spawn(move || run(&thread_shared, &to_window, &wake));
        Self {
            shared,
            answers: Mutex::new(answers),
        }
    }

    /// States what is wanted from now on. Work for another room, and refinements, are broken off.
    pub fn want(&self, wanted: Wanted) {
        let mut wish = lock(&self.shared.wish);
        if let Some((revision, may_break, progress)) = &wish.running
            && *may_break
            && (*revision != wanted.revision || !wanted.resting)
        {
            progress.cancel();
        }
        wish.wanted = Some(Arc::new(wanted));
        wish.count += 1;
        self.shared.changed.notify_all();
    }

    /// Breaks off whatever is computed and stays idle, or goes on.
    pub fn pause(&self, paused: bool) {
        let mut wish = lock(&self.shared.wish);
        if paused && let Some((_, _, progress)) = &wish.running {
            progress.cancel();
        }
        if wish.paused && !paused {
            wish.count += 1;
        }
        wish.paused = paused;
        self.shared.changed.notify_all();
    }

    /// All answers since the last call.
    pub fn answers(&self) -> Vec<Answer> {
        lock(&self.answers).try_iter().collect()
    }

    /// How far the step under way is, 0..=1.
    pub fn progress(&self) -> Option<f32> {
        let wish = lock(&self.shared.wish);
        let (_, _, progress) = wish.running.as_ref()?;
        let (done, total) = progress.counts();
        Some(done as f32 / total.max(1) as f32)
    }
}

impl Drop for Engine {
    fn drop(&mut self) {
        let mut wish = lock(&self.shared.wish);
        wish.quit = true;
        if let Some((_, _, progress)) = &wish.running {
            progress.cancel();
        }
        self.shared.changed.notify_all();
        // The window must close at once: the thread is not waited for, it ends at its next step.
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Lets a step be seen and broken off from the window.
pub(super) struct Watch<'a> {
    shared: &'a Shared,
    revision: u64,
}

impl Watch<'_> {
    /// Runs a step under a progress that the window may cancel; `may_break` for refinements, which a
    /// moving hand breaks off too.
    pub fn run<T>(&self, may_break: bool, step: impl FnOnce(&Progress) -> T) -> T {
        let progress = Arc::new(Progress::default());
        {
            let mut wish = lock(&self.shared.wish);
            if wish.quit {
                progress.cancel();
            }
            wish.running = Some((self.revision, may_break, Arc::clone(&progress)));
        }
        let result = step(&progress);
        lock(&self.shared.wish).running = None;
        result
    }
}

/// Threads that all engines compute on: the window keeps one or two processors, or its frames would stutter.
fn workers() -> Option<&'static rayon::ThreadPool> {
    static POOL: OnceLock<Option<rayon::ThreadPool>> = OnceLock::new();
    let pool = POOL.get_or_init(|| {
        let all = std::thread::available_parallelism().map_or(2, usize::from);
        let count = match all {
            0..=2 => all,
            3..=4 => all - 1,
            _ => all - 2,
        };
        let name = |i| format!("engine {i}");
        // Without a pool of their own they compute on the common one.
        rayon::ThreadPoolBuilder::new()
            .num_threads(count)
            .thread_name(name)
            .build()
            .ok()
    });
    pool.as_ref()
}

/// Does some work on the engines' threads.
pub fn on_workers<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    match workers() {
        Some(pool) => pool.install(work),
        None => work(),
    }
}

fn run(shared: &Shared, to_window: &Sender<Answer>, wake: &Wake) {
    let mut stages = Stages::default();
    let mut seen = 0;
    let mut resting = false;
    loop {
        let wanted = {
            let mut wish = lock(&shared.wish);
            while !wish.quit
                && (wish.paused || wish.wanted.is_none() || (resting && wish.count == seen))
            {
                wish = shared
                    .changed
                    .wait(wish)
                    .unwrap_or_else(PoisonError::into_inner);
            }
            if wish.quit {
                return;
            }
            seen = wish.count;
            wish.wanted.clone()
        };
        let Some(wanted) = wanted else { continue };
        let watch = Watch {
            shared,
            revision: wanted.revision,
        };
        let mut closed = false;
        let mut tell = |answer: Answer| {
            closed |= to_window.send(answer).is_err();
            wake();
        };
        // A step that panics must not take the window with it: it is told and the plan stays as it was.
        let mut work = || stages.step(&wanted, &watch, &mut tell);
        let step = std::panic::AssertUnwindSafe(|| match workers() {
            Some(pool) => pool.install(work),
            None => work(),
        });
        match std::panic::catch_unwind(step) {
            Ok(more) => resting = !more,
            Err(_) => {
                stages = Stages::default();
                tell(Answer::Failed(
                    "the computation stopped; change something to start it again".into(),
                ));
                resting = true;
            }
        }
        if resting {
            tell(Answer::Busy(None));
        }
        if closed {
            return;
        }
    }
}
