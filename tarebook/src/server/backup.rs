//! How does the whole notebook leave as one file?
//!
//! A copy is made beside the system's other scratch files and sent piece by piece, so that many photographs need no more
//! memory than one piece.

use super::trouble::Trouble;
use super::{Office, blocking};
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use std::fs::File;
use std::io::Read;
use std::sync::Arc;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;

/// What a backup is, to a browser.
pub const KIND: &str = "application/vnd.sqlite3";
/// Bytes of one piece.
const PIECE: usize = 64 << 10;

/// The whole notebook in one file.
pub async fn show(State(office): State<Arc<Office>>) -> Result<Response, Trouble> {
    let (scratch, file, length) = blocking(move || {
        let failed = |error: std::io::Error| Trouble::failed(format!("The copy could not be made: {error}."));
        let scratch = tempfile::tempdir().map_err(failed)?;
        let copy = scratch.path().join("notebook.sqlite");
        office.notebook.backup(&copy)?;
        let file = File::open(&copy).map_err(failed)?;
        let length = file.metadata().map_err(failed)?.len();
        Ok((scratch, file, length))
    })
    .await?;
    let (sender, pieces) = mpsc::channel::<std::io::Result<Bytes>>(4);
    tokio::task::spawn_blocking(move || {
        send(file, &sender);
        // The scratch folder stays until the last piece is read.
        drop(scratch);
    });
    let named = [
        (CONTENT_TYPE, KIND.to_owned()),
        (CONTENT_LENGTH, length.to_string()),
        (CONTENT_DISPOSITION, "attachment; filename=\"tarebook-backup.sqlite\"".to_owned()),
    ];
    Ok((named, Body::from_stream(ReceiverStream::new(pieces))).into_response())
}

/// Sends a file piece by piece until it ends or nobody listens any more.
fn send(mut file: File, sender: &mpsc::Sender<std::io::Result<Bytes>>) {
    loop {
        let mut piece = vec![0; PIECE];
        match file.read(&mut piece) {
            Ok(0) => return,
            Ok(read) => {
                piece.truncate(read);
                if sender.blocking_send(Ok(Bytes::from(piece))).is_err() {
                    return;
                }
            }
            Err(error) => {
                let _ = sender.blocking_send(Err(error));
                return;
            }
        }
    }
}
