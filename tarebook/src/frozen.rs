//! Where is a frozen plan kept, and is it ever overwritten?
//!
//! A frozen plan is `NAME.plan.json` beside the file: the hash of the planned fields, the time, the fields themselves
//! and the plan with its expected intervals. It is written once, whole or not at all, and never overwritten.

use crate::output::{Failure, finding};
use prep::Preparation;
use prep::freeze::{self, Record};
use prep::outcome::{Finding, Plan, Severity};
use serde_json::{Value, json};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// What stands beside the file.
pub enum Beside {
    /// No frozen plan.
    Nothing,
    /// A frozen plan.
    Plan(Record),
    /// A file that is no frozen plan, or that cannot be read.
    Unreadable(Finding),
}

/// Looks for the frozen plan of a file.
pub fn look(file: &Path) -> Beside {
    let path = freeze::frozen_path(file);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == ErrorKind::NotFound => return Beside::Nothing,
        Err(error) => return Beside::Unreadable(unreadable(&path, &error.to_string())),
    };
    match serde_json::from_str::<Value>(&text) {
        Ok(value) => record(&value).map_or_else(
            || Beside::Unreadable(unreadable(&path, "it has no hash, time or list of fields")),
            Beside::Plan,
        ),
        Err(error) => Beside::Unreadable(unreadable(&path, &error.to_string())),
    }
}

fn record(value: &Value) -> Option<Record> {
    let text = |key: &str| value.get(key).and_then(Value::as_str).map(str::to_owned);
    let fields = value.get("fields")?.as_array()?;
    let fields = fields.iter().map(|field| {
        let (path, value) = (field.get(0)?.as_str()?, field.get(1)?.as_str()?);
        Some((path.to_owned(), value.to_owned()))
    });
    let readings = value.get("readings_taken").and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
    Some(Record {
        hash: text("hash")?,
        frozen_at: text("frozen_at")?,
        fields: fields.collect::<Option<Vec<_>>>()?,
        readings: readings.unwrap_or(0),
    })
}

fn unreadable(path: &Path, reason: &str) -> Finding {
    let message = format!("The frozen plan {} cannot be read: {reason}.", path.display());
    Finding {
        severity: Severity::Warning,
        ..finding("unreadable-frozen-plan", message, &["Restore it from a backup."])
    }
}

/// Hash of the frozen plan beside the file, and what it says of the present one.
pub fn compare(file: &Path, preparation: &Preparation) -> (Option<String>, Vec<Finding>) {
    match look(file) {
        Beside::Nothing => (None, Vec::new()),
        Beside::Unreadable(finding) => (None, vec![finding]),
        Beside::Plan(record) => {
            let frozen = freeze::compare(preparation, &record);
            (frozen.hash, frozen.findings)
        }
    }
}

/// What freezing did.
pub enum Freezing {
    /// Written now.
    Written(PathBuf),
    /// The same plan was frozen before.
    Unchanged(PathBuf),
    /// Another plan is frozen there; nothing was written.
    Refused(Finding),
}

/// Freezes a plan beside its file.
pub fn freeze(file: &Path, preparation: &Preparation, plan: &Plan) -> Result<Freezing, Failure> {
    let path = freeze::frozen_path(file);
    match look(file) {
        Beside::Plan(record) if record.hash == freeze::planned_hash(preparation) => {
            return Ok(Freezing::Unchanged(path));
        }
        Beside::Plan(record) => return Ok(Freezing::Refused(refusal(&path, &format!("of {}", record.frozen_at)))),
        Beside::Unreadable(_) => return Ok(Freezing::Refused(refusal(&path, "that cannot be read"))),
        Beside::Nothing => {}
    }
    let record = freeze::record(preparation, &now());
    let frozen = Plan { frozen: Some(record.hash.clone()), ..plan.clone() };
    let value = json!({
        "hash": record.hash,
        "frozen_at": record.frozen_at,
        "readings_taken": record.readings,
        "fields": record.fields,
        "plan": report::json::plan(&frozen),
    });
    match write_new(&path, &crate::output::json_text(&value)) {
        Ok(()) => Ok(Freezing::Written(path)),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => {
            Ok(Freezing::Refused(refusal(&path, "written a moment ago")))
        }
        Err(error) => Err(Failure::Write { path, error }),
    }
}

fn refusal(path: &Path, which: &str) -> Finding {
    let message = format!("{} holds a frozen plan {which}; a frozen plan is never overwritten.", path.display());
    finding(
        "plan-already-frozen",
        message,
        &[
            "Record what was done differently as readings or notes; the frozen plan stays as it was.",
            "For a new run, copy the preparation under a new name and freeze that.",
        ],
    )
}

/// The time now, with its offset, to the second.
fn now() -> String {
    jiff::ZonedDateTime::now().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// Writes a file whole or not at all, and only if there is none yet.
pub fn write_new(path: &Path, text: &str) -> std::io::Result<()> {
    prepared(path, text.as_bytes())?.persist_noclobber(path).map(drop).map_err(|error| error.error)
}

/// Writes a file whole or not at all, in place of an older one.
pub fn write_over(path: &Path, text: &str) -> std::io::Result<()> {
    write_bytes_over(path, text.as_bytes())
}

/// Writes bytes whole or not at all, in place of an older file.
pub fn write_bytes_over(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    prepared(path, bytes)?.persist(path).map(drop).map_err(|error| error.error)
}

fn prepared(path: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // A file that is written over keeps who may read it.
        let before = std::fs::metadata(path).map(|metadata| metadata.permissions().mode()).unwrap_or(0o644);
        builder.permissions(std::fs::Permissions::from_mode(before));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}
