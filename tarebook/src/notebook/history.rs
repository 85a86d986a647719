//! What was saved, when, and has anybody changed it since?
//!
//! Every saved version is a row of one table, with the text itself. Each row carries the hash of the row before it, so
//! that a changed or removed row breaks the chain from there on; triggers refuse changes by ordinary means. This tells
//! of tampering, it does not prevent it: whoever replaces the whole file with a newly made chain is not found out.

use jiff::ZonedDateTime;
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::path::Path;
use std::time::Duration;

const TABLE: &str = "
    CREATE TABLE IF NOT EXISTS version (
        number   INTEGER PRIMARY KEY,
        at       TEXT NOT NULL,
        name     TEXT NOT NULL,
        base     TEXT,
        revision TEXT NOT NULL,
        what     TEXT NOT NULL,
        key      TEXT UNIQUE,
        text     TEXT NOT NULL,
        previous TEXT NOT NULL,
        hash     TEXT NOT NULL
    );
    CREATE INDEX IF NOT EXISTS version_by_name ON version (name, number);
    CREATE TRIGGER IF NOT EXISTS version_is_not_changed BEFORE UPDATE ON version
        BEGIN SELECT RAISE(ABORT, 'a saved version is not changed'); END;
    CREATE TRIGGER IF NOT EXISTS version_is_not_removed BEFORE DELETE ON version
        BEGIN SELECT RAISE(ABORT, 'a saved version is not removed'); END;
";

/// Hash before the first version.
const BEGINNING: &str = "beginning";
const COLUMNS: &str = "number, at, name, base, revision, what, key, text, previous, hash";

/// A saved version.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version {
    /// Place in the chain, from 1.
    pub number: i64,
    /// When.
    pub at: String,
    /// Preparation.
    pub name: String,
    /// Revision that it was made from.
    pub base: Option<String>,
    /// Hash of the text.
    pub revision: String,
    /// What was done.
    pub what: String,
    /// Key of the entry, if it had one.
    pub key: Option<String>,
    /// The text.
    pub text: String,
    previous: String,
    hash: String,
}

/// Which version is the last one of a preparation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VersionHead {
    /// Preparation.
    pub name: String,
    /// Revision that it was made from.
    pub base: Option<String>,
    /// Hash of the text.
    pub revision: String,
}

/// Whether the chain holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Chain {
    /// It holds, with so many versions.
    Whole(usize),
    /// It is broken.
    Broken {
        /// The first version that does not fit.
        at: i64,
        /// Why.
        why: &'static str,
    },
}

impl Version {
    fn from_row(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            number: row.get(0)?,
            at: row.get(1)?,
            name: row.get(2)?,
            base: row.get(3)?,
            revision: row.get(4)?,
            what: row.get(5)?,
            key: row.get(6)?,
            text: row.get(7)?,
            previous: row.get(8)?,
            hash: row.get(9)?,
        })
    }

    /// Hash of everything in the row, each part with its length.
    fn sealed(&self) -> String {
        let number = self.number.to_string();
        let parts = [
            self.previous.as_str(),
            &number,
            &self.at,
            &self.name,
            self.base.as_deref().unwrap_or("-"),
            &self.revision,
            &self.what,
            self.key.as_deref().unwrap_or("-"),
            &self.text,
        ];
        let mut hasher = blake3::Hasher::new();
        for part in parts {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part.as_bytes());
        }
        hasher.finalize().to_hex().to_string()
    }
}

/// The history of a notebook.
#[derive(Debug)]
pub struct History {
    connection: Connection,
}

impl History {
    /// Opens a history, or begins one.
    ///
    /// # Errors
    /// If the file cannot be opened or is no history.
    pub fn open(path: &Path) -> rusqlite::Result<Self> {
        let connection = Connection::open(path)?;
        connection.busy_timeout(Duration::from_secs(10))?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.execute_batch(TABLE)?;
        Ok(Self { connection })
    }

    /// Adds a version; it is on the disk when this returns.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn append(
        &self,
        name: &str,
        base: Option<&str>,
        text: &str,
        what: &str,
        key: Option<&str>,
    ) -> rusqlite::Result<()> {
        let last =
            self.connection.query_row("SELECT number, hash FROM version ORDER BY number DESC LIMIT 1", [], |row| {
                Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?))
            });
        let (number, previous) = last.optional()?.unwrap_or((0, BEGINNING.to_owned()));
        let mut version = Version {
            number: number + 1,
            at: ZonedDateTime::now().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string(),
            name: name.to_owned(),
            base: base.map(str::to_owned),
            revision: super::revision(text),
            what: what.to_owned(),
            key: key.map(str::to_owned),
            text: text.to_owned(),
            previous,
            hash: String::new(),
        };
        version.hash = version.sealed();
        self.connection.execute(
            "INSERT INTO version VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
            params![
                version.number,
                version.at,
                version.name,
                version.base,
                version.revision,
                version.what,
                version.key,
                version.text,
                version.previous,
                version.hash
            ],
        )?;
        Ok(())
    }

    /// Whether a key was entered.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn knows(&self, key: &str) -> rusqlite::Result<bool> {
        self.connection.query_row("SELECT EXISTS (SELECT 1 FROM version WHERE key = ?1)", [key], |row| row.get(0))
    }

    fn some(&self, rest: &str, values: impl rusqlite::Params) -> rusqlite::Result<Vec<Version>> {
        let mut query = self.connection.prepare_cached(&format!("SELECT {COLUMNS} FROM version {rest}"))?;
        query.query_map(values, Version::from_row)?.collect()
    }

    /// Versions of a preparation, the oldest first.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn versions(&self, name: &str) -> rusqlite::Result<Vec<Version>> {
        self.some("WHERE name = ?1 ORDER BY number", [name])
    }

    /// The last version of a preparation.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn last(&self, name: &str) -> rusqlite::Result<Option<Version>> {
        Ok(self.some("WHERE name = ?1 ORDER BY number DESC LIMIT 1", [name])?.pop())
    }

    /// What the last version of every preparation is, without its text.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn latest(&self) -> rusqlite::Result<Vec<VersionHead>> {
        let mut query = self.connection.prepare(
            "SELECT name, base, revision FROM version WHERE number IN (SELECT max(number) FROM version GROUP BY name) ORDER BY name",
        )?;
        let head = |row: &Row<'_>| Ok(VersionHead { name: row.get(0)?, base: row.get(1)?, revision: row.get(2)? });
        query.query_map([], head)?.collect()
    }

    /// How many versions a preparation has.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn count(&self, name: &str) -> rusqlite::Result<usize> {
        let count = "SELECT count(*) FROM version WHERE name = ?1";
        self.connection.query_row(count, [name], |row| row.get::<_, i64>(0)).map(|n| usize::try_from(n).unwrap_or(0))
    }

    /// The text of a revision.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn text_of(&self, name: &str, revision: &str) -> rusqlite::Result<Option<String>> {
        let found = self.some("WHERE name = ?1 AND revision = ?2 LIMIT 1", [name, revision])?;
        Ok(found.into_iter().next().map(|version| version.text))
    }

    /// Goes along the whole chain.
    ///
    /// # Errors
    /// If the history cannot be read.
    pub fn verify(&self) -> rusqlite::Result<Chain> {
        let mut query = self.connection.prepare(&format!("SELECT {COLUMNS} FROM version ORDER BY number"))?;
        let mut previous = BEGINNING.to_owned();
        let mut count = 0;
        for version in query.query_map([], Version::from_row)? {
            let version = version?;
            let faults = [
                (version.previous != previous, "it does not follow the version before it"),
                (version.revision != super::revision(&version.text), "its text was changed"),
                (version.hash != version.sealed(), "it was changed"),
            ];
            if let Some((_, why)) = faults.iter().find(|(fault, _)| *fault) {
                return Ok(Chain::Broken { at: version.number, why });
            }
            previous = version.hash;
            count += 1;
        }
        Ok(Chain::Whole(count))
    }

    /// A copy of the whole history in one file.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn copy_to(&self, path: &Path) -> rusqlite::Result<()> {
        self.connection.execute("VACUUM INTO ?1", [path.to_string_lossy()]).map(drop)
    }
}
