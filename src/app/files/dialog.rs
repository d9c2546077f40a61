//! Native file dialogs, off the window's thread. Where the desktop has none the answer is empty, and the path
//! can be typed.

use std::{
    path::PathBuf,
    sync::{
        Mutex, PoisonError,
        mpsc::{Receiver, Sender, channel},
    },
};

/// What a path is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathFor {
    /// A room to open.
    Open,
    /// Where to save.
    SaveAs,
}

/// What was asked, for which room (as the asker counts them), and the path.
type Answer = ((PathFor, u64), Option<PathBuf>);

/// Dialogs that are open, and their answers.
pub struct Dialogs {
    answers: Mutex<Receiver<Answer>>,
    sender: Mutex<Sender<Answer>>,
    open: bool,
}

impl Default for Dialogs {
    fn default() -> Self {
        let (sender, answers) = channel();
        Self {
            answers: Mutex::new(answers),
            sender: Mutex::new(sender),
            open: false,
        }
    }
}

impl Dialogs {
    /// Asks for a path; nothing where a dialog is open already. `wake` is called when the answer is there.
    pub fn ask(
        &mut self,
        (what, of): (PathFor, u64),
        folder: PathBuf,
        name: String,
        wake: impl Fn() + Send + 'static,
    ) {
        if self.open {
            return;
        }
        self.open = true;
        let sender = self
            .sender
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone();
        std::thread::spawn(move || {
            let dialog = rfd::FileDialog::new()
                .add_filter("Room", &["ron"])
                .set_directory(std::path::absolute(&folder).unwrap_or(folder));
            let path = match what {
                PathFor::Open => dialog.set_title("Open a room").pick_file(),
                PathFor::SaveAs => dialog
                    .set_title("Save the room as")
                    .set_file_name(name)
                    .save_file(),
            };
            let path = path.map(|p| match (what, p.extension()) {
                (PathFor::SaveAs, None) => p.with_extension("ron"),
                _ => p,
            });
            // The window may be gone.
            let _ = sender.send(((what, of), path));
            wake();
        });
    }

    /// The answer, once: a path, or none where it was called off or the desktop has no dialog.
    pub fn answer(&mut self) -> Option<Answer> {
        let answer = self
            .answers
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .try_recv()
            .ok()?;
        self.open = false;
        Some(answer)
    }
}
