//! What did the list show of each preparation when it was last worked out?
//!
//! One row for each preparation: when its files were written, the hash of what they held, and the line. A row counts only
//! while that hash is the one of the present text, so nothing wrong can be shown; the file can be thrown away at any time
//! and costs only the work of making it again. That is also why it is written without waiting for the disk.

use super::Stamp;
use rusqlite::{Connection, params};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Name of the index in the folder.
pub const INDEX: &str = "index.sqlite";

const TABLE: &str = "
    CREATE TABLE IF NOT EXISTS line (
        name    TEXT PRIMARY KEY,
        stamp   TEXT NOT NULL,
        content TEXT NOT NULL,
        line    TEXT NOT NULL
    ) WITHOUT ROWID;
";

/// A row of the index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// When the files were written.
    pub stamp: Stamp,
    /// Hash of what the line was worked out from.
    pub content: String,
    /// The line, as whoever shows it wrote it down.
    pub line: String,
}

/// The index of a notebook.
#[derive(Debug)]
pub struct Index {
    connection: Mutex<Connection>,
}

impl Index {
    /// Opens an index; one that cannot be read is begun anew, and where none can be written it is kept in memory.
    ///
    /// # Errors
    /// If not even that is possible.
    pub fn open(path: &Path) -> rusqlite::Result<Self> {
        let connection = prepared(Connection::open(path)).or_else(|_| {
            // A damaged index is no loss; one that cannot be removed is left alone.
            let _ = std::fs::remove_file(path);
            prepared(Connection::open(path))
        });
        let connection = connection.or_else(|_| prepared(Connection::open_in_memory()))?;
        Ok(Self { connection: Mutex::new(connection) })
    }

    /// All rows by the name of the preparation; none where the index cannot be read.
    pub fn all(&self) -> BTreeMap<String, Kept> {
        let connection = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        let read = || -> rusqlite::Result<BTreeMap<String, Kept>> {
            let mut query = connection.prepare("SELECT name, stamp, content, line FROM line")?;
            let rows = query.query_map([], |row| {
                let kept = Kept { stamp: Stamp(row.get(1)?), content: row.get(2)?, line: row.get(3)? };
                Ok((row.get(0)?, kept))
            })?;
            rows.collect()
        };
        read().unwrap_or_default()
    }

    /// Keeps a row in place of an older one. What cannot be kept is worked out again another time.
    pub fn keep(&self, name: &str, kept: &Kept) {
        let connection = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        let _ = connection.execute(
            "INSERT OR REPLACE INTO line VALUES (?1, ?2, ?3, ?4)",
            params![name, kept.stamp.0, kept.content, kept.line],
        );
    }
}

fn prepared(opened: rusqlite::Result<Connection>) -> rusqlite::Result<Connection> {
    let connection = opened?;
    connection.busy_timeout(Duration::from_secs(2))?;
    connection.pragma_update(None, "synchronous", "OFF")?;
    connection.pragma_update(None, "cache_size", -512)?;
    connection.execute_batch(TABLE)?;
    Ok(connection)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_kept_and_a_damaged_index_is_begun_anew() {
        let folder = tempfile::tempdir().expect("a scratch folder");
        let path = folder.path().join(INDEX);
        let kept = Kept { stamp: Stamp("1".to_owned()), content: "c".to_owned(), line: "{}".to_owned() };
        Index::open(&path).expect("an index").keep("a", &kept);
        assert_eq!(Index::open(&path).expect("an index").all().get("a"), Some(&kept));
        std::fs::write(&path, "no index at all, and long enough to be looked at as one".repeat(9)).expect("written");
        let anew = Index::open(&path).expect("an index");
        assert!(anew.all().is_empty());
        anew.keep("a", &kept);
        assert_eq!(anew.all().len(), 1);
    }
}
