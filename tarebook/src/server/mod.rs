//! How does the notebook answer a browser?
//!
//! A web application on this machine: pages are made here, scripts only add comfort, nothing is loaded from elsewhere.
//! [`app`] is a function of its state, so tests ask it without a socket. What takes long (reading, planning, accounts)
//! runs on the blocking pool, what nobody waits for on threads of its own ([`work`]); the newest text wins. Every answer
//! passes [`guard`], which knows who may ask.

mod account;
mod assets;
mod backup;
mod bench;
mod books;
mod desks;
mod file;
mod form;
mod guard;
mod kept;
mod ledger;
mod line;
mod list;
mod page;
mod papers;
mod preparation;
mod questions;
mod reading;
mod record;
mod runs;
mod shelf;
#[cfg(test)]
mod tests;
mod trouble;
mod work;

pub use guard::{Share, code};

use crate::notebook::{INDEX, Index, Notebook, NotebookError};
use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::StatusCode;
use axum::middleware;
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive};
use axum::routing::{get, post};
use kept::Shelf;
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::broadcast;
use tokio_stream::wrappers::BroadcastStream;
use tokio_stream::{Stream, StreamExt};
use tower_http::CompressionLevel;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate};
use tower_http::timeout::TimeoutLayer;
use trouble::Trouble;

/// Largest body of a request, bytes: a photograph, or the largest file of a preparation with every letter escaped.
const LARGEST_BODY: usize = 16_000_000;
// A form writes a letter outside ASCII with three characters for each byte.
const _: () = assert!(3 * prep::LARGEST_FILE + 1000 < LARGEST_BODY);
/// Longest time for a request that is not a stream of events.
const LONGEST: Duration = Duration::from_secs(30);
/// How often files are looked at for changes from outside.
const LOOK: Duration = Duration::from_secs(1);

/// What all requests share.
pub struct Office {
    /// The notebook.
    pub notebook: Notebook,
    /// What was worked out.
    books: Shelf,
    /// Lines of the list from earlier.
    index: Index,
    /// Who works out what no page waits for.
    behind: work::Behind,
    /// Tells the pages of changes.
    events: broadcast::Sender<String>,
    /// Who may ask.
    guard: guard::Guard,
}

impl Office {
    /// An office for a notebook on this port.
    ///
    /// # Errors
    /// [`NotebookError`] if the lines of the list can be kept nowhere.
    pub fn new(notebook: Notebook, port: u16, share: Option<Share>) -> Result<Arc<Self>, NotebookError> {
        let (events, _) = broadcast::channel(256);
        let guard = guard::Guard::new(port, share);
        let index = Index::open(&notebook.folder().join(INDEX))?;
        let books = Shelf::with(index.all());
        Ok(Arc::new(Self { notebook, books, index, behind: work::Behind::default(), events, guard }))
    }

    /// Tells all pages that a preparation changed. Nobody may be listening.
    fn tell(&self, name: &str) {
        let _ = self.events.send(name.to_owned());
    }
}

/// The application.
pub fn app(office: Arc<Office>) -> Router {
    let bounded = Router::new()
        .route("/p/{name}", get(preparation::show))
        .route("/p/{name}/reading", post(record::reading))
        .route("/p/{name}/enter", post(record::enter))
        .route("/p/{name}/correct", post(record::correct))
        .route("/p/{name}/hold", post(record::hold))
        .route("/p/{name}/photo", post(record::photo))
        .route("/p/{name}/judge", post(record::judge))
        .route("/p/{name}/close", post(record::close))
        .route("/p/{name}/edit", get(form::show).post(form::save))
        .route("/p/{name}/edit/try", post(form::attempt))
        .route("/p/{name}/move", post(form::shift))
        .route("/p/{name}/remove", post(form::remove))
        .route("/p/{name}/account", get(account::show))
        .route("/p/{name}/figure/{which}", get(account::figure))
        .route("/p/{name}/paper/{which}", get(papers::show))
        .route("/p/{name}/bench", get(bench::show))
        .route_layer(middleware::from_fn_with_state(office.clone(), guard::within_bounds));
    // What brings a refused file back within bounds stays open: its text and its versions.
    let pages = Router::new()
        .route("/", get(list::show))
        .route("/new", get(list::blank).post(list::begin))
        .route("/backup", get(backup::show))
        .route("/p/{name}/undo", post(record::undo))
        .route("/p/{name}/file", get(file::show).post(file::save))
        .route("/p/{name}/try", post(file::attempt))
        .route("/p/{name}/versions", get(file::versions))
        .route("/bench", get(bench::choose))
        .route("/shelf", get(shelf::show))
        .route("/shelf/labels", get(shelf::labels))
        .route("/questions", get(questions::index))
        .route("/questions/losses", get(runs::losses))
        .route("/questions/replicates", get(runs::replicates))
        .route("/questions/{which}", get(questions::show))
        .route("/pair", get(guard::ask).post(guard::pair))
        .route("/photos/{file}", get(assets::photo))
        .route("/assets/{file}", get(assets::show))
        .route("/favicon.ico", get(assets::favicon))
        .merge(bounded)
        .fallback(trouble::nowhere)
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, LONGEST));
    // Photographs of a backup, letters and papers are compressed already and would only grow.
    let worth_it = DefaultPredicate::new()
        .and(NotForContentType::const_new(backup::KIND))
        .and(NotForContentType::const_new("font/"))
        .and(NotForContentType::const_new("application/pdf"));
    pages
        .route("/events", get(events))
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(CatchPanicLayer::custom(trouble::panicked))
        .layer(CompressionLayer::new().quality(CompressionLevel::Fastest).compress_when(worth_it))
        .layer(middleware::from_fn_with_state(office.clone(), guard::admit))
        .with_state(office)
}

/// The names of preparations as they change.
async fn events(State(office): State<Arc<Office>>) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let changes = BroadcastStream::new(office.events.subscribe());
    let told = changes.filter_map(Result::ok).map(|name| Ok(Event::default().event("changed").data(name)));
    Sse::new(told).keep_alive(KeepAlive::default())
}

/// Tells of files that change from outside, for as long as the program runs.
pub async fn watch(office: Arc<Office>) {
    let mut known: Option<BTreeMap<_, _>> = None;
    loop {
        let place = office.clone();
        if let Ok(now) = blocking(move || Ok(place.notebook.stamps()?)).await {
            if let Some(known) = &known {
                let changed = now.iter().filter(|(name, stamp)| known.get(*name) != Some(*stamp)).map(|(name, _)| name);
                let gone = known.keys().filter(|name| !now.contains_key(*name));
                changed.chain(gone).for_each(|name| office.tell(name));
            }
            known = Some(now);
        }
        tokio::time::sleep(LOOK).await;
    }
}

/// Runs what takes long away from the requests.
async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Trouble> + Send + 'static) -> Result<T, Trouble> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| Err(Trouble::failed("The work stopped half way.")))
}
