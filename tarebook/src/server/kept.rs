//! What is known of the preparations, and is it still of the present text?
//!
//! Books are kept under their revision, for the preparations looked at last; a new revision replaces them. Of all
//! preparations one line is kept for the list, here and in the index of the notebook, under the hash of what it was worked
//! out from. Who works out the same at the same time works it out once ([`Shelf::turn`]).

use super::books::{Books, Extent};
use super::line::Line;
use crate::notebook::{Kept, Stamp};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError, Weak};

/// Most preparations whose full books are kept.
const MOST: usize = 24;

/// A line, and the files it is of.
#[derive(Clone, Debug)]
struct Known {
    stamp: Stamp,
    content: String,
    line: Arc<Line>,
}

/// What is known of a preparation for the list.
#[derive(Clone, Debug)]
pub enum Shown {
    /// The line is of the present file.
    Now(Arc<Line>),
    /// The line is of an older one.
    Before(Arc<Line>),
    /// Nothing yet.
    Nothing,
}

impl Shown {
    /// The line, if there is any.
    pub fn line(&self) -> Option<&Arc<Line>> {
        match self {
            Self::Now(line) | Self::Before(line) => Some(line),
            Self::Nothing => None,
        }
    }
}

/// What is being worked out: name, revision, and how much.
type Work = (String, String, Extent);

/// Books and lines that were worked out.
#[derive(Debug, Default)]
pub struct Shelf {
    books: Mutex<BTreeMap<String, Arc<Books>>>,
    lines: Mutex<BTreeMap<String, Known>>,
    clock: Mutex<u64>,
    turns: Mutex<BTreeMap<Work, Weak<Mutex<()>>>>,
}

fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shelf {
    /// A shelf with the lines that an index kept.
    pub fn with(kept: BTreeMap<String, Kept>) -> Self {
        let known = kept.into_iter().filter_map(|(name, Kept { stamp, content, line })| {
            let line = Arc::new(serde_json::from_str(&line).ok()?);
            Some((name, Known { stamp, content, line }))
        });
        Self { lines: Mutex::new(known.collect()), ..Self::default() }
    }

    /// Books of this text, as far as they were worked out.
    pub fn found(&self, name: &str, revision: &str) -> Option<Arc<Books>> {
        locked(&self.books).get(name).filter(|books| books.page.revision == revision).cloned()
    }

    /// Books of this text with as much as this.
    pub fn covering(&self, name: &str, revision: &str, extent: Extent) -> Option<Arc<Books>> {
        self.found(name, revision).filter(|books| books.covers(extent))
    }

    /// What is to be held while books of a text are worked out: nobody else does the same meanwhile. A plan alone does not
    /// wait for an account, nor what is told at once for what is told in full.
    pub fn turn(&self, name: &str, revision: &str, extent: Extent) -> Arc<Mutex<()>> {
        let extent = if extent == Extent::Account { Extent::Both } else { extent };
        let key = (name.to_owned(), revision.to_owned(), extent);
        let mut turns = locked(&self.turns);
        turns.retain(|_, turn| turn.strong_count() > 0);
        let turn = turns.get(&key).and_then(Weak::upgrade).unwrap_or_default();
        turns.insert(key, Arc::downgrade(&turn));
        turn
    }

    /// The books of whatever text were worked out last.
    pub fn last(&self, name: &str) -> Option<Arc<Books>> {
        locked(&self.books).get(name).cloned()
    }

    /// Keeps books and their line; gives what the index is to keep.
    pub fn keep(&self, name: &str, books: Books, stamp: Stamp) -> (Arc<Books>, Kept) {
        let content = content_of(&books.page.revision, books.frozen.as_deref());
        let mut line = Line::of(&books);
        let mut lines = locked(&self.lines);
        if let Some(before) = lines.get(name) {
            line.moved =
                if before.content == content { before.line.moved.clone() } else { line.moved_from(&before.line) };
        }
        let kept = Kept {
            stamp: stamp.clone(),
            content: content.clone(),
            line: serde_json::to_string(&line).unwrap_or_default(),
        };
        lines.insert(name.to_owned(), Known { stamp, content, line: Arc::new(line) });
        drop(lines);
        (self.hold(name, books), kept)
    }

    /// Keeps books, those looked at last.
    pub fn hold(&self, name: &str, mut books: Books) -> Arc<Books> {
        let mut clock = locked(&self.clock);
        *clock += 1;
        books.last = *clock;
        drop(clock);
        let mut all = locked(&self.books);
        if let Some(known) = all.get(name).filter(|known| known.page.revision == books.page.revision && !books.whole) {
            // What was told in full meanwhile stays, and what others worked out.
            if known.whole {
                return known.clone();
            }
            books.complete(known);
        }
        let books = Arc::new(books);
        all.insert(name.to_owned(), books.clone());
        if all.len() > MOST
            && let Some(oldest) = all.iter().min_by_key(|(_, books)| books.last).map(|(name, _)| name.clone())
        {
            all.remove(&oldest);
        }
        books
    }

    /// What the last change moved, if the line is of these files.
    pub fn moved(&self, name: &str, content: &str) -> Option<String> {
        locked(&self.lines).get(name).filter(|known| known.content == content)?.line.moved.clone()
    }

    /// What is known of these preparations.
    pub fn shown(&self, stamps: &BTreeMap<String, Stamp>) -> Vec<(String, Shown)> {
        let lines = locked(&self.lines);
        let one = |(name, stamp): (&String, &Stamp)| {
            let shown = match lines.get(name) {
                Some(known) if known.stamp == *stamp => Shown::Now(known.line.clone()),
                Some(known) => Shown::Before(known.line.clone()),
                None => Shown::Nothing,
            };
            (name.clone(), shown)
        };
        stamps.iter().map(one).collect()
    }

    /// Takes a new time for a line whose files are the same in content; gives what the index is to keep.
    pub fn same(&self, name: &str, content: &str, stamp: &Stamp) -> Option<Kept> {
        let mut lines = locked(&self.lines);
        let known = lines.get_mut(name).filter(|known| known.content == content)?;
        known.stamp = stamp.clone();
        let line = serde_json::to_string(&*known.line).unwrap_or_default();
        Some(Kept { stamp: stamp.clone(), content: content.to_owned(), line })
    }
}

/// Hash of all that a line is worked out from: the text, the frozen plan, and the program that does it.
pub fn content_of(revision: &str, frozen: Option<&str>) -> String {
    let parts = format!("{} {revision} {}", env!("CARGO_PKG_VERSION"), frozen.unwrap_or("-"));
    blake3::hash(parts.as_bytes()).to_hex().to_string()
}
