//! When is what worked out, and by whom?
//!
//! A page waits for as much of the books as it shows ([`Office::books_at`]); the rest is [finished](finish) afterwards, and
//! an account is sampled once nobody writes any more; the pages are told. What nobody waits for has threads of its own:
//! work that is handed to threads stands in one queue, and a page must not stand behind a sampler of seconds. On Linux
//! they have a low priority besides, so that a page has the cores to itself.

use super::books::{Books, Extent, work_out};
use super::kept::content_of;
use super::trouble::Trouble;
use super::{Office, blocking};
use crate::frozen;
use crate::notebook::{NotebookError, Stamp};
use prep::Fits;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::{Arc, PoisonError};
use std::time::Duration;
use tokio::sync::Semaphore;

/// How long a text must stay as it is before its account is sampled.
const QUIET: Duration = Duration::from_millis(1500);
/// Niceness of what is finished soon, and of what may take seconds.
const SOON: i32 = 10;
const LATER: i32 = 15;

/// Threads for what nobody waits for.
pub struct Hands {
    /// None where the system gives no more threads: those of the pages serve then.
    pool: Option<ThreadPool>,
    /// One thing at a time.
    turn: Semaphore,
}

impl Hands {
    fn new(niceness: i32) -> Self {
        let pool = ThreadPoolBuilder::new().start_handler(move |_| give_way(niceness)).build().ok();
        Self { pool, turn: Semaphore::new(1) }
    }

    fn run<T: Send>(&self, work: impl FnOnce() -> T + Send) -> T {
        match &self.pool {
            Some(pool) => pool.install(work),
            None => work(),
        }
    }
}

/// Who works out what nobody waits for.
pub struct Behind {
    soon: Hands,
    later: Hands,
    /// One round of lines is worked out at a time.
    pub listing: Semaphore,
}

impl Default for Behind {
    fn default() -> Self {
        Self { soon: Hands::new(SOON), later: Hands::new(LATER), listing: Semaphore::new(1) }
    }
}

/// Lets other threads of the machine go first.
#[cfg(target_os = "linux")]
fn give_way(niceness: i32) {
    // Without an address it is the thread that asks. A system that will not have it only shares less well.
    let _ = rustix::process::setpriority_process(None, niceness);
}

#[cfg(not(target_os = "linux"))]
fn give_way(_niceness: i32) {}

impl Office {
    /// As much of the books of the text that the file holds now as is asked for. To be called where waiting is allowed.
    ///
    /// # Errors
    /// [`NotebookError`] if there is no such preparation.
    pub fn books_at(&self, name: &str, extent: Extent) -> Result<Arc<Books>, NotebookError> {
        self.books_by(None, name, extent)
    }

    fn books_by(&self, hands: Option<&Hands>, name: &str, extent: Extent) -> Result<Arc<Books>, NotebookError> {
        let stamp = self.notebook.stamp(name);
        let page = self.notebook.read(name)?;
        let revision = page.revision.clone();
        if let Some(books) = self.books.covering(name, &revision, extent) {
            return Ok(books);
        }
        let turn = self.books.turn(name, &revision, extent);
        let _turn = turn.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(books) = self.books.covering(name, &revision, extent) {
            return Ok(books);
        }
        let before = self.books.last(name);
        let work = || work_out(&self.notebook, name, page, before.as_deref(), extent);
        let books = match hands {
            Some(hands) => hands.run(work),
            None => work(),
        };
        self.keep(name, books, stamp)
    }

    /// Keeps books, and their line in the index where they are whole. A text that was replaced meanwhile does not displace
    /// what was worked out of the new one. Pages that show less of this text are told.
    fn keep(&self, name: &str, books: Books, stamp: Option<Stamp>) -> Result<Arc<Books>, NotebookError> {
        let revision = &books.page.revision;
        if self.notebook.read(name)?.revision != *revision {
            return Ok(Arc::new(books));
        }
        if !books.whole {
            return Ok(self.books.hold(name, books));
        }
        let better = books.sampled || self.books.found(name, revision).is_some_and(|shown| !shown.whole);
        let (books, kept) = self.books.keep(name, books, stamp.unwrap_or_default());
        self.index.keep(name, &kept);
        if better {
            self.tell(name);
        }
        Ok(books)
    }

    /// Works out the line of a preparation whose files were written anew, unless they hold what they held.
    ///
    /// # Errors
    /// [`NotebookError`] if there is no such preparation.
    pub fn line_now(&self, name: &str) -> Result<(), NotebookError> {
        let stamp = self.notebook.stamp(name).unwrap_or_default();
        let page = self.notebook.read(name)?;
        let path = self.notebook.path(name)?;
        let frozen = match frozen::look(&path) {
            frozen::Beside::Plan(record) => Some(record.hash),
            frozen::Beside::Nothing | frozen::Beside::Unreadable(_) => None,
        };
        let known = || self.books.same(name, &content_of(&page.revision, frozen.as_deref()), &stamp);
        let turn = self.books.turn(name, &page.revision, Extent::Whole);
        let _turn = turn.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = known() {
            self.index.keep(name, &kept);
            return Ok(());
        }
        let before = self.books.last(name);
        let work = || work_out(&self.notebook, name, page.clone(), before.as_deref(), Extent::Whole);
        self.keep(name, self.behind.later.run(work), Some(stamp.clone())).map(drop)
    }

    /// Where fits ended that were made last, to begin from.
    pub fn fits(&self, name: &str) -> Fits {
        self.books.last(name).map(|books| books.fits.passed_on()).unwrap_or_default()
    }

    /// What the last change moved, once that is known of these books.
    pub fn moved(&self, name: &str, books: &Books) -> Option<String> {
        self.books.moved(name, &content_of(&books.page.revision, books.frozen.as_deref()))
    }
}

/// As much of the books of a preparation as is asked for.
pub(super) async fn books(office: &Arc<Office>, name: &str, extent: Extent) -> Result<Arc<Books>, Trouble> {
    let (office, name) = (office.clone(), name.to_owned());
    blocking(move || Ok(office.books_at(&name, extent)?)).await
}

/// Begins to work out what is missing of the books that a page shows, in full. To be called when they are shown.
pub(super) fn finish(office: &Arc<Office>, name: &str, shown: &Books) {
    if !shown.whole {
        tokio::spawn(finished(office.clone(), name.to_owned(), shown.page.revision.clone()));
    }
}

/// Whether this is still the text of a preparation: one that went away, or was written anew, needs no further work.
async fn still(office: &Arc<Office>, name: &str, revision: &str) -> bool {
    let (office, name) = (office.clone(), name.to_owned());
    blocking(move || Ok(office.notebook.read(&name)?.revision)).await.is_ok_and(|now| now == revision)
}

/// Tells in full what was told at once of this text; whether it is still the text.
async fn finished(office: Arc<Office>, name: String, revision: String) -> bool {
    // One after the other, so that a text that was replaced meanwhile costs nothing.
    let place = office.clone();
    let Ok(_turn) = place.behind.soon.turn.acquire().await else { return false };
    if !still(&office, &name, &revision).await {
        return false;
    }
    blocking(move || Ok(office.books_by(Some(&office.behind.soon), &name, Extent::Whole)?)).await.is_ok()
}

/// Begins to tell in full what was told at once, and to sample it once nobody writes any more; the pages are told.
pub(super) fn sample(office: &Arc<Office>, name: &str, shown: &Books) {
    let (office, name, revision) = (office.clone(), name.to_owned(), shown.page.revision.clone());
    tokio::spawn(async move {
        if !finished(office.clone(), name.clone(), revision.clone()).await {
            return;
        }
        tokio::time::sleep(QUIET).await;
        if still(&office, &name, &revision).await {
            let _ = sampled_now(&office, &name, false).await;
        }
    });
}

/// The books with a sampled account, if anything was weighed; one account is sampled at a time. The newest text wins. With
/// `waiting`, somebody waits for it.
pub(super) async fn sampled_now(office: &Arc<Office>, name: &str, waiting: bool) -> Result<Arc<Books>, Trouble> {
    let _turn = office.behind.later.turn.acquire().await;
    let (place, name) = (office.clone(), name.to_owned());
    blocking(move || {
        let now = place.books_at(&name, Extent::Whole)?;
        let Some(preparation) = now.preparation.as_ref().filter(|_| now.weighed() && !now.sampled) else {
            return Ok(now);
        };
        let stamp = place.notebook.stamp(&name);
        let sample = || prep::account(preparation, &prep::AccountSettings::default(), &mut |_| {});
        let account = if waiting { sample() } else { place.behind.later.run(sample) };
        Ok(place.keep(&name, now.sampled(account), stamp)?)
    })
    .await
}
