//! How does a whole notebook become one file, and a notebook again?
//!
//! The backup is a copy of the history with one more table: what lies beside the preparations and is part of the record,
//! photographs and frozen plans, each with its hash. What somebody changed outside is taken into the history first.
//! Restoring verifies the chain and every hash before the folder is used, and writes into an empty folder only.

use super::history::VersionHead;
use super::{Chain, HISTORY, History, Notebook, NotebookError, PHOTOS, notice, write_whole};
use rusqlite::{Connection, params};
use std::path::{Path, PathBuf};

const TABLE: &str = "CREATE TABLE beside (place TEXT PRIMARY KEY, hash TEXT NOT NULL, content BLOB NOT NULL)";
/// Ending of a frozen plan.
const PLAN: &str = ".plan.json";

impl Notebook {
    /// Everything as one file: every version of every preparation, photographs and frozen plans.
    ///
    /// # Errors
    /// [`NotebookError`] if it cannot be written.
    pub fn backup(&self, to: &Path) -> Result<(), NotebookError> {
        {
            let turn = self.turn()?;
            for name in self.names()? {
                if let Some(text) = self.text(&name)? {
                    notice(&turn.history, &name, &text)?;
                }
            }
            turn.history.copy_to(to)?;
        }
        let mut copy = Connection::open(to)?;
        let transaction = copy.transaction()?;
        transaction.execute_batch(TABLE)?;
        for place in self.beside()? {
            let path = self.folder().join(&place);
            let content = std::fs::read(&path).map_err(|error| NotebookError::File(path, error))?;
            let hash = blake3::hash(&content).to_hex().to_string();
            transaction.execute("INSERT INTO beside VALUES (?1, ?2, ?3)", params![place, hash, content])?;
        }
        Ok(transaction.commit()?)
    }

    /// Photographs and frozen plans, by their places in the folder.
    fn beside(&self) -> Result<Vec<String>, NotebookError> {
        let mut places = Vec::new();
        for (folder, front) in [(self.folder().to_owned(), ""), (self.folder().join(PHOTOS), "photos/")] {
            let Ok(entries) = std::fs::read_dir(&folder) else { continue };
            let files = entries.flatten().filter_map(|entry| entry.file_name().into_string().ok());
            places.extend(files.map(|file| format!("{front}{file}")).filter(|place| self.belongs(place).is_some()));
        }
        places.sort();
        Ok(places)
    }

    /// The path of a photograph or a frozen plan; nothing else lies beside a preparation.
    fn belongs(&self, place: &str) -> Option<PathBuf> {
        let photograph = place.strip_prefix("photos/").filter(|file| is_photograph(file));
        let plan = place.strip_suffix(PLAN).filter(|name| self.path(name).is_ok());
        photograph.or(plan).map(|_| self.folder().join(place))
    }

    /// Writes the last version of every preparation of a backup, its photographs and frozen plans into an empty folder.
    ///
    /// # Errors
    /// [`NotebookError`] if the backup is damaged or the folder is in use.
    pub fn restore(backup: &Path, folder: &Path) -> Result<Self, NotebookError> {
        let failed = |error| NotebookError::File(folder.to_owned(), error);
        std::fs::create_dir_all(folder).map_err(failed)?;
        if std::fs::read_dir(folder).map_err(failed)?.next().is_some() {
            return Err(NotebookError::Refused(format!("{} is not empty", folder.display())));
        }
        let copied = folder.join(HISTORY);
        std::fs::copy(backup, &copied).map_err(|error| NotebookError::File(backup.to_owned(), error))?;
        if let Err(why) = whole(&copied) {
            // The folder stays as empty as it was.
            let _ = std::fs::remove_file(&copied);
            return Err(why);
        }
        let notebook = Self::open(folder)?;
        notebook.put_beside(&copied)?;
        let turn = notebook.turn()?;
        for VersionHead { name, .. } in turn.history.latest()? {
            if let Some(version) = turn.history.last(&name)? {
                write_whole(&notebook.path(&name)?, version.text.as_bytes())?;
            }
        }
        drop(turn);
        Ok(notebook)
    }

    /// Writes what lay beside the preparations, and takes it out of the copied history.
    fn put_beside(&self, copied: &Path) -> Result<(), NotebookError> {
        let connection = Connection::open(copied)?;
        let tables = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'beside'";
        if connection.query_row(tables, [], |row| row.get::<_, i64>(0))? == 0 {
            return Ok(());
        }
        let mut query = connection.prepare("SELECT place, hash, content FROM beside ORDER BY place")?;
        let rows = query
            .query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, Vec<u8>>(2)?)))?;
        for row in rows {
            let (place, hash, content) = row?;
            let path = self.belongs(&place).filter(|_| blake3::hash(&content).to_hex().as_str() == hash);
            let path = path.ok_or_else(|| NotebookError::Refused(format!("“{place}” in the backup is damaged")))?;
            if let Some(folder) = path.parent() {
                std::fs::create_dir_all(folder).map_err(|error| NotebookError::File(folder.to_owned(), error))?;
            }
            write_whole(&path, &content)?;
        }
        drop(query);
        Ok(connection.execute_batch("DROP TABLE beside; VACUUM")?)
    }
}

/// Whether a backup is whole: a chain without a break.
fn whole(copied: &Path) -> Result<(), NotebookError> {
    match History::open(copied)?.verify()? {
        Chain::Whole(_) => Ok(()),
        Chain::Broken { at, .. } => {
            Err(NotebookError::Refused(format!("the chain of the backup is broken at version {at}")))
        }
    }
}

/// Whether a file is named as a photograph of the notebook is: by the hash of its content.
pub fn is_photograph(file: &str) -> bool {
    file.split_once('.').is_some_and(|(stem, ending)| {
        stem.len() == 64 && stem.bytes().all(|b| b.is_ascii_hexdigit()) && ["jpg", "png", "webp"].contains(&ending)
    })
}
