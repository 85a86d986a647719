//! What does a text read as?
//!
//! An edit asks that several times: the text before is read for its form, the text after for its errors and its bounds, and
//! again for the page that shows it. What was read last is kept, so that each text is read once. A text that asks for
//! something beside it (a lot of another preparation, earlier runs) is read every time: what it asks for may have changed.

use crate::commands::Folder;
use prep::{Nowhere, Reading, World};
use std::cell::Cell;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// Texts that are kept, and the longest of them, bytes.
const KEPT: usize = 6;
const LONGEST: usize = 200_000;

/// Texts with what they read as, the newest last.
static LAST: Mutex<VecDeque<(String, Arc<Reading>)>> = Mutex::new(VecDeque::new());

/// What a text by itself reads as.
pub(super) fn read(text: &str) -> Arc<Reading> {
    read_in(text, &Nowhere)
}

/// What a text reads as beside the files of its folder.
pub(super) fn read_beside(text: &str, folder: &Folder) -> Arc<Reading> {
    read_in(text, folder)
}

fn read_in(text: &str, world: &dyn World) -> Arc<Reading> {
    let last = || LAST.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, known)) = last().iter().find(|(kept, _)| kept == text) {
        return Arc::clone(known);
    }
    let world = Watched { world, asked: Cell::new(false) };
    let reading = Arc::new(prep::read_beside(text.as_bytes(), &world));
    if !world.asked.get() && text.len() <= LONGEST {
        let mut last = last();
        if last.len() == KEPT {
            last.pop_front();
        }
        last.push_back((text.to_owned(), Arc::clone(&reading)));
    }
    reading
}

/// A world that notes whether it was asked.
struct Watched<'a> {
    world: &'a dyn World,
    asked: Cell<bool>,
}

impl World for Watched<'_> {
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn World>), String> {
        self.asked.set(true);
        self.world.open(file)
    }

    fn list(&self, folder: &str) -> Result<Vec<String>, String> {
        self.asked.set(true);
        self.world.list(folder)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SUPPLY: &str = "title = \"Read twice\"\n[[supply]]\nname = \"salt\"\nholds = \"NaCl(s)\"\n";

    /// A text is read once; one that takes a lot from elsewhere as often as it is asked, since that may have changed.
    #[test]
    fn a_text_that_asks_for_nothing_is_read_once() {
        let (first, again) = (read(SUPPLY), read(SUPPLY));
        assert!(Arc::ptr_eq(&first, &again));
        assert_eq!(first.findings, prep::read(SUPPLY.as_bytes()).findings);
        let other = SUPPLY.replace("holds = \"NaCl(s)\"", "from = { file = \"other.toml\", lot = \"salt\" }");
        let (first, again) = (read(&other), read(&other));
        assert!(!Arc::ptr_eq(&first, &again));
        assert!(first.findings.iter().any(|f| f.message.contains("no other file can be read here")), "{first:?}");
    }
}
