//! What is in the notebook, and how is a page of it written?
//!
//! One notebook is one folder of preparation files with a history beside them. The files are the record; nothing in
//! the history is needed to compute. Every version that is saved goes into the history first and into the file second,
//! both on the disk before the save is told to be done. A version that is in the history but not yet in the file, because
//! the program was stopped between the two, is written when the folder is opened again. A file that somebody else
//! changed is taken as it is, as a version of its own. Writers take turns by a lock on the folder.
//!
//! An entry at the bench is an operation on whatever the file holds at that moment, so that two pages never lose one; it
//! carries a key, and the same key is entered once. A whole text is saved against the revision it was made from; if the
//! file has moved on, the two are merged by lines, and where they touch the same lines both are kept for the user to
//! see. Neglected: a file that another program writes in the same millisecond as the notebook.

mod backup;
mod history;
mod index;
mod merge;

pub use backup::is_photograph;
pub use history::{Chain, History, Version};
pub use index::{INDEX, Index, Kept};
pub use merge::{Merged, merge};

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

/// Name of the history in the folder.
pub const HISTORY: &str = "history.sqlite";
/// Name of the lock in the folder.
const LOCK: &str = "history.lock";
/// Folder of the photographs.
pub const PHOTOS: &str = "photos";
/// Longest name of a preparation, bytes.
const LONGEST_NAME: usize = 120;

/// Why the notebook did not do something.
#[derive(Debug)]
pub enum NotebookError {
    /// A name that is no name of a preparation file in this folder.
    BadName(String),
    /// There is no such preparation.
    Missing(String),
    /// There is one of this name already.
    Taken(String),
    /// A file could not be read or written.
    File(PathBuf, std::io::Error),
    /// The history could not be read or written.
    History(rusqlite::Error),
    /// The text cannot be changed as asked.
    Refused(String),
}

impl fmt::Display for NotebookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadName(name) => {
                write!(f, "“{name}” is no name for a preparation; use letters, digits, spaces and hyphens")
            }
            Self::Missing(name) => write!(f, "this notebook has no preparation “{name}”"),
            Self::Taken(name) => write!(f, "there is a preparation “{name}” already"),
            Self::File(path, error) => write!(f, "{} could not be read or written: {error}", path.display()),
            Self::History(error) => write!(f, "the history could not be read or written: {error}"),
            Self::Refused(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for NotebookError {}

impl From<rusqlite::Error> for NotebookError {
    fn from(error: rusqlite::Error) -> Self {
        Self::History(error)
    }
}

/// The text of a preparation and the hash that stands for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// Text of the file.
    pub text: String,
    /// Hash of the text.
    pub revision: String,
}

impl Page {
    fn of(text: String) -> Self {
        Self { revision: revision(&text), text }
    }
}

/// What a save came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Saved {
    /// Written as given.
    Written(Page),
    /// Written together with what others had changed meanwhile.
    Merged(Page),
    /// Both changed the same lines: nothing was written; the text holds both versions between marks.
    Conflict {
        /// Both versions between marks.
        both: String,
        /// What the file holds.
        theirs: Page,
    },
    /// This key was entered before; nothing was written.
    Before(Page),
}

impl Saved {
    /// The page as it stands now.
    pub fn page(&self) -> &Page {
        match self {
            Self::Written(page) | Self::Merged(page) | Self::Before(page) => page,
            Self::Conflict { theirs, .. } => theirs,
        }
    }
}

/// When files were last written, and how long they are: while it is the same, so are they.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stamp(pub String);

impl Stamp {
    fn of(found: &std::fs::Metadata) -> Self {
        let since = found.modified().ok().and_then(|time| time.duration_since(SystemTime::UNIX_EPOCH).ok());
        Self(format!("{}-{}", since.map_or(0, |since| since.as_nanos()), found.len()))
    }

    fn and(&mut self, other: &Self) {
        self.0 = format!("{} {}", self.0, other.0);
    }
}

/// Hash of a text.
pub fn revision(text: &str) -> String {
    blake3::hash(text.as_bytes()).to_hex().to_string()
}

/// An opened notebook.
#[derive(Debug)]
pub struct Notebook {
    folder: PathBuf,
    history: Mutex<History>,
    lock: File,
}

/// The turn of one writer; ends when it is dropped.
struct Turn<'a> {
    history: MutexGuard<'a, History>,
    lock: &'a File,
}

impl Drop for Turn<'_> {
    fn drop(&mut self) {
        // The lock also ends with the program; a failure to end it earlier only makes others wait.
        let _ = self.lock.unlock();
    }
}

impl Notebook {
    /// Opens a folder, makes it if it is not there, and finishes what a stopped program left.
    ///
    /// # Errors
    /// [`NotebookError`] if the folder or its history cannot be used.
    pub fn open(folder: &Path) -> Result<Self, NotebookError> {
        let failed = |error| NotebookError::File(folder.to_owned(), error);
        std::fs::create_dir_all(folder).map_err(failed)?;
        let folder = std::fs::canonicalize(folder).map_err(failed)?;
        let lock = File::options().create(true).truncate(false).write(true).open(folder.join(LOCK));
        let lock = lock.map_err(|error| NotebookError::File(folder.join(LOCK), error))?;
        let history = Mutex::new(History::open(&folder.join(HISTORY))?);
        let notebook = Self { folder, history, lock };
        notebook.recover()?;
        Ok(notebook)
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn turn(&self) -> Result<Turn<'_>, NotebookError> {
        let history = self.history.lock().unwrap_or_else(PoisonError::into_inner);
        self.lock.lock().map_err(|error| NotebookError::File(self.folder.join(LOCK), error))?;
        Ok(Turn { history, lock: &self.lock })
    }

    /// Writes versions that reached the history and not the file; takes in what changed outside.
    fn recover(&self) -> Result<(), NotebookError> {
        let turn = self.turn()?;
        let mut settled = BTreeSet::new();
        for head in turn.history.latest()? {
            let path = self.path(&head.name)?;
            let now = self.text(&head.name)?.map(|text| revision(&text));
            // What the file held before that version: it was not written.
            let unwritten = now == head.base && now.as_ref() != Some(&head.revision);
            if let Some(last) = turn.history.last(&head.name)?.filter(|_| unwritten) {
                write_whole(&path, last.text.as_bytes())?;
            }
            if unwritten || now.as_ref() == Some(&head.revision) {
                settled.insert(head.name);
            }
        }
        for name in self.names()?.iter().filter(|name| !settled.contains(*name)) {
            let Some(text) = self.text(name)? else { continue };
            notice(&turn.history, name, &text)?;
        }
        Ok(())
    }

    /// The path of a preparation.
    ///
    /// # Errors
    /// [`NotebookError::BadName`] for everything that is no plain name: separators, dots in front, control characters.
    pub fn path(&self, name: &str) -> Result<PathBuf, NotebookError> {
        let plain = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.' | '(' | ')' | ',' | '+');
        let good = !name.is_empty()
            && name.len() <= LONGEST_NAME
            && name.trim() == name
            && !name.starts_with('.')
            && name.chars().all(plain);
        if good { Ok(self.folder.join(format!("{name}.toml"))) } else { Err(NotebookError::BadName(name.to_owned())) }
    }

    /// Names of all preparations, sorted.
    ///
    /// # Errors
    /// [`NotebookError`] if the folder cannot be read.
    pub fn names(&self) -> Result<Vec<String>, NotebookError> {
        Ok(self.stamps()?.into_keys().collect())
    }

    /// All preparations with the times at which they and their frozen plans were written.
    ///
    /// # Errors
    /// [`NotebookError`] if the folder cannot be read.
    pub fn stamps(&self) -> Result<BTreeMap<String, Stamp>, NotebookError> {
        let failed = |error| NotebookError::File(self.folder.clone(), error);
        let (mut stamps, mut plans) = (BTreeMap::new(), Vec::new());
        for entry in std::fs::read_dir(&self.folder).map_err(failed)?.flatten() {
            let file = entry.file_name();
            let Some(file) = file.to_str() else { continue };
            let (list, name) = match (file.strip_suffix(".toml"), file.strip_suffix(".plan.json")) {
                (Some(name), _) => (true, name),
                (None, Some(name)) => (false, name),
                (None, None) => continue,
            };
            // What a link leads to counts, not the link.
            let Ok(found) = std::fs::metadata(entry.path()) else { continue };
            if found.is_file() && self.path(name).is_ok() {
                if list {
                    stamps.insert(name.to_owned(), Stamp::of(&found));
                } else {
                    plans.push((name.to_owned(), Stamp::of(&found)));
                }
            }
        }
        for (name, plan) in plans {
            stamps.entry(name).and_modify(|stamp: &mut Stamp| stamp.and(&plan));
        }
        Ok(stamps)
    }

    /// When a preparation and its frozen plan were written, if it is there.
    pub fn stamp(&self, name: &str) -> Option<Stamp> {
        let path = self.path(name).ok()?;
        let mut stamp = Stamp::of(&std::fs::metadata(&path).ok()?);
        if let Ok(plan) = std::fs::metadata(path.with_extension("plan.json")) {
            stamp.and(&Stamp::of(&plan));
        }
        Some(stamp)
    }

    fn text(&self, name: &str) -> Result<Option<String>, NotebookError> {
        let path = self.path(name)?;
        match std::fs::read(&path) {
            Ok(bytes) => Ok(Some(String::from_utf8_lossy(&bytes).into_owned())),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(NotebookError::File(path, error)),
        }
    }

    /// A preparation as its file has it now.
    ///
    /// # Errors
    /// [`NotebookError::Missing`] if there is none.
    pub fn read(&self, name: &str) -> Result<Page, NotebookError> {
        self.text(name)?.map(Page::of).ok_or_else(|| NotebookError::Missing(name.to_owned()))
    }

    /// Begins a preparation.
    ///
    /// # Errors
    /// [`NotebookError::Taken`] if there is one of this name.
    pub fn create(&self, name: &str, text: &str, what: &str) -> Result<Page, NotebookError> {
        let path = self.path(name)?;
        let turn = self.turn()?;
        if self.text(name)?.is_some() {
            return Err(NotebookError::Taken(name.to_owned()));
        }
        turn.history.append(name, None, text, what, None)?;
        write_whole(&path, text.as_bytes())?;
        Ok(Page::of(text.to_owned()))
    }

    /// Changes a preparation by an operation on what the file holds now.
    ///
    /// # Errors
    /// [`NotebookError::Refused`] with the reason of the operation; [`NotebookError`] if it cannot be written.
    pub fn change(
        &self,
        name: &str,
        what: &str,
        key: Option<&str>,
        operation: impl FnOnce(&str) -> Result<String, String>,
    ) -> Result<Saved, NotebookError> {
        let path = self.path(name)?;
        let turn = self.turn()?;
        let text = self.text(name)?.ok_or_else(|| NotebookError::Missing(name.to_owned()))?;
        if let Some(key) = key
            && turn.history.knows(key)?
        {
            return Ok(Saved::Before(Page::of(text)));
        }
        notice(&turn.history, name, &text)?;
        let changed = operation(&text).map_err(NotebookError::Refused)?;
        if changed == text {
            return Ok(Saved::Written(Page::of(text)));
        }
        turn.history.append(name, Some(&revision(&text)), &changed, what, key)?;
        write_whole(&path, changed.as_bytes())?;
        Ok(Saved::Written(Page::of(changed)))
    }

    /// Saves a whole text that was made from the revision `base`.
    ///
    /// # Errors
    /// [`NotebookError`] if it cannot be written.
    pub fn save(&self, name: &str, base: &str, text: &str, what: &str) -> Result<Saved, NotebookError> {
        let path = self.path(name)?;
        let turn = self.turn()?;
        let theirs = self.text(name)?.ok_or_else(|| NotebookError::Missing(name.to_owned()))?;
        notice(&turn.history, name, &theirs)?;
        let theirs = Page::of(theirs);
        if theirs.text == text {
            return Ok(Saved::Written(theirs));
        }
        let together = if theirs.revision == base {
            text.to_owned()
        } else {
            let origin = turn.history.text_of(name, base)?.unwrap_or_default();
            match merge(&origin, &theirs.text, text) {
                Merged::Clean(both) => both,
                Merged::Conflict(both) => return Ok(Saved::Conflict { both, theirs }),
            }
        };
        turn.history.append(name, Some(&theirs.revision), &together, what, None)?;
        write_whole(&path, together.as_bytes())?;
        let merged = together != text;
        let page = Page::of(together);
        Ok(if merged { Saved::Merged(page) } else { Saved::Written(page) })
    }

    /// Takes the last change back, as a new version. A reading is never taken back: it is corrected.
    ///
    /// # Errors
    /// [`NotebookError::Refused`] if there is nothing to take back.
    pub fn undo(&self, name: &str) -> Result<Saved, NotebookError> {
        let versions = self.versions(name)?;
        let now = self.read(name)?;
        let mut back = versions.iter().rev().skip_while(|version| version.revision != now.revision);
        let last = back.next().ok_or_else(|| NotebookError::Refused("there is nothing to take back".to_owned()))?;
        if last.what.starts_with("reading") {
            let why = "the last change is a reading; correct it instead, so that the old figure stays readable";
            return Err(NotebookError::Refused(why.to_owned()));
        }
        let before = last.base.as_deref().and_then(|base| versions.iter().find(|version| version.revision == base));
        let before = before.ok_or_else(|| NotebookError::Refused("there is nothing to take back".to_owned()))?;
        self.save(name, &now.revision, &before.text, &format!("undone: {}", last.what))
    }

    /// All versions of a preparation, the oldest first.
    ///
    /// # Errors
    /// [`NotebookError`] if the history cannot be read.
    pub fn versions(&self, name: &str) -> Result<Vec<Version>, NotebookError> {
        Ok(self.turn()?.history.versions(name)?)
    }

    /// How many versions of a preparation were saved.
    ///
    /// # Errors
    /// [`NotebookError`] if the history cannot be read.
    pub fn version_count(&self, name: &str) -> Result<usize, NotebookError> {
        let history = self.history.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(history.count(name)?)
    }

    /// Whether the chain of the history is whole.
    ///
    /// # Errors
    /// [`NotebookError`] if the history cannot be read.
    pub fn chain(&self) -> Result<Chain, NotebookError> {
        Ok(self.turn()?.history.verify()?)
    }
}

/// Takes a text into the history that was written by somebody else.
fn notice(history: &History, name: &str, text: &str) -> Result<(), NotebookError> {
    let now = revision(text);
    let last = history.last(name)?;
    if last.as_ref().is_none_or(|last| last.revision != now) {
        let base = last.map(|last| last.revision);
        history.append(name, base.as_deref(), text, "changed outside the notebook", None)?;
    }
    Ok(())
}

/// Writes a file whole or not at all, on the disk when it returns; its permissions stay.
fn write_whole(path: &Path, content: &[u8]) -> Result<(), NotebookError> {
    let failed = |error| NotebookError::File(path.to_owned(), error);
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new().prefix(".writing-").tempfile_in(folder).map_err(failed)?;
    file.write_all(content).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    keep_mode(path, file.as_file()).map_err(failed)?;
    file.persist(path).map_err(|error| failed(error.error))?;
    File::open(folder).and_then(|folder| folder.sync_all()).map_err(failed)
}

/// A scratch file is for its owner only; a page is as readable as it was, or as other files are.
#[cfg(unix)]
fn keep_mode(path: &Path, file: &File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let mode = std::fs::metadata(path).map_or(0o644, |found| found.permissions().mode() & 0o777);
    file.set_permissions(std::fs::Permissions::from_mode(mode))
}

/// Elsewhere, a file takes the permissions of its folder.
#[cfg(not(unix))]
fn keep_mode(_: &Path, _: &File) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests;
