//! What was worked out of a preparation, and is it still of the present text?
//!
//! Reading, plan and quick account of a text are kept under its revision; a new revision replaces them, and a plan goes
//! over to it where only readings differ. A sampled account replaces the quick one when it is done, unless the text has
//! moved on. Full books are kept for the preparations looked at last; of all others one line is kept for the list, here
//! and in the index of the notebook, under the hash of what it was worked out from. Neglected: a lot taken from another preparation is read again
//! only when the file that takes it changes or the notebook is opened again.

use super::line::Line;
use super::trouble::Trouble;
use super::{Office, blocking, reading};
use crate::commands::Folder;
use crate::frozen;
use crate::notebook::{Kept, Notebook, NotebookError, Page, Stamp};
use axum::extract::{Path, Request, State};
use axum::middleware::Next;
use axum::response::Response;
use prep::outcome::{Account, Finding, Plan};
use prep::{AccountSettings, Fits, Preparation};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Most preparations whose full books are kept.
const MOST: usize = 24;
/// How long a text must stay as it is before its account is sampled, which takes all cores for seconds.
const QUIET: Duration = Duration::from_millis(1500);

/// The books of one text.
#[derive(Debug)]
pub struct Books {
    /// The text.
    pub page: Page,
    /// The preparation, unless it has errors.
    pub preparation: Option<Preparation>,
    /// Findings of reading, plan and account together.
    pub findings: Vec<Finding>,
    /// The plan.
    pub plan: Option<Plan>,
    /// The account, if anything was weighed.
    pub account: Option<Account>,
    /// Hash of the frozen plan.
    pub frozen: Option<String>,
    /// Where the fits of the quick account ended.
    pub fits: Fits,
    /// Whether the account is sampled.
    pub sampled: bool,
    /// Whether plan and account are told in full.
    pub whole: bool,
    last: u64,
}

/// How far a preparation is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stand {
    /// It cannot be read yet.
    Draft,
    /// Nothing was weighed.
    Planned,
    /// Something was weighed.
    Running,
    /// The books are closed.
    Closed,
    /// Out of bounds.
    Refused,
}

impl Stand {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Planned => "planned",
            Self::Running => "running",
            Self::Closed => "closed",
            Self::Refused => "refused",
        }
    }
}

impl Books {
    /// Whether anything was weighed.
    pub fn weighed(&self) -> bool {
        self.preparation.as_ref().is_some_and(weighed)
    }

    /// How far it is.
    pub fn state(&self) -> Stand {
        match &self.preparation {
            _ if self.findings.iter().any(|finding| finding.code == prep::screen::OUT_OF_BOUNDS) => Stand::Refused,
            None => Stand::Draft,
            Some(preparation) if preparation.closed.is_some() => Stand::Closed,
            Some(_) if self.weighed() => Stand::Running,
            Some(_) => Stand::Planned,
        }
    }
}

/// Whether anything was weighed.
pub fn weighed(preparation: &Preparation) -> bool {
    preparation.steps.iter().flat_map(|s| &s.readings).any(|r| r.weigh.is_some() || r.volume.is_some())
}

/// The title of a text that may not be readable.
pub fn title_of(text: &str) -> String {
    let line = text
        .lines()
        .find_map(|line| line.trim().strip_prefix("title").map(|rest| rest.trim().trim_start_matches('=').trim()));
    line.map(|title| title.trim_matches('"').to_owned())
        .filter(|title| !title.is_empty())
        .unwrap_or_else(|| "Untitled".to_owned())
}

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

/// Books and lines that were worked out.
#[derive(Debug, Default)]
pub struct Shelf {
    books: Mutex<BTreeMap<String, Arc<Books>>>,
    lines: Mutex<BTreeMap<String, Known>>,
    clock: Mutex<u64>,
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

    fn found(&self, name: &str, revision: &str) -> Option<Arc<Books>> {
        locked(&self.books).get(name).filter(|books| books.page.revision == revision).cloned()
    }

    /// The books of whatever text were worked out last.
    fn last(&self, name: &str) -> Option<Arc<Books>> {
        locked(&self.books).get(name).cloned()
    }

    /// Keeps books and their line; gives what the index is to keep.
    fn keep(&self, name: &str, books: Books, stamp: Stamp) -> (Arc<Books>, Kept) {
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
    fn hold(&self, name: &str, mut books: Books) -> Arc<Books> {
        let mut clock = locked(&self.clock);
        *clock += 1;
        books.last = *clock;
        drop(clock);
        let books = Arc::new(books);
        let mut all = locked(&self.books);
        all.insert(name.to_owned(), books.clone());
        if all.len() > MOST
            && let Some(oldest) = all.iter().min_by_key(|(_, books)| books.last).map(|(name, _)| name.clone())
        {
            all.remove(&oldest);
        }
        books
    }

    /// The line of a preparation as last worked out.
    pub fn line(&self, name: &str) -> Option<Arc<Line>> {
        locked(&self.lines).get(name).map(|known| known.line.clone())
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
    fn same(&self, name: &str, content: &str, stamp: &Stamp) -> Option<Kept> {
        let mut lines = locked(&self.lines);
        let known = lines.get_mut(name).filter(|known| known.content == content)?;
        known.stamp = stamp.clone();
        let line = serde_json::to_string(&*known.line).unwrap_or_default();
        Some(Kept { stamp: stamp.clone(), content: content.to_owned(), line })
    }
}

/// Hash of all that a line is worked out from: the text, the frozen plan, and the program that does it.
fn content_of(revision: &str, frozen: Option<&str>) -> String {
    let parts = format!("{} {revision} {}", env!("CARGO_PKG_VERSION"), frozen.unwrap_or("-"));
    blake3::hash(parts.as_bytes()).to_hex().to_string()
}

/// Reads a text and works out its plan and its quick account. Where `before` differs by readings alone its plan stands.
/// `at_once`: the account only, without what can be told afterwards.
pub fn work_out(notebook: &Notebook, name: &str, page: Page, before: Option<&Books>, at_once: bool) -> Books {
    let path = notebook.folder().join(format!("{name}.toml"));
    let reading = reading::read_beside(&page.text, &Folder::of(&path));
    let mut findings = reading.findings.clone();
    let mut books = Books {
        page,
        preparation: None,
        findings: Vec::new(),
        plan: None,
        account: None,
        frozen: None,
        fits: before.map(|before| before.fits.passed_on()).unwrap_or_default(),
        sampled: false,
        whole: true,
        last: 0,
    };
    if let Some(preparation) = reading.preparation.clone() {
        let (frozen, changes) = frozen::compare(&path, &preparation);
        books.frozen = frozen;
        let stands = before
            .and_then(|before| prep::plan_again(&preparation, before.preparation.as_ref()?, before.plan.as_ref()?));
        books.preparation = Some(preparation);
        let at_once = at_once && books.weighed();
        let preparation = books.preparation.as_ref().filter(|_| books.weighed());
        let settings = AccountSettings { at_once, ..AccountSettings::default() };
        books.account = preparation.map(|preparation| prep::live_account_after(preparation, &settings, &books.fits));
        books.plan = stands.or_else(|| books.preparation.as_ref().filter(|_| !at_once).map(prep::plan));
        books.whole = !at_once;
        let planned = books.plan.as_ref().map(|plan| plan.findings.clone()).unwrap_or_default();
        let told = books.account.as_ref().map(|account| account.findings.clone()).unwrap_or_default();
        findings = crate::commands::merged([findings, changes, planned, told]);
    }
    books.findings = findings;
    books
}

impl Office {
    /// The books of the text that the file holds now. To be called where waiting is allowed.
    ///
    /// # Errors
    /// [`NotebookError`] if there is no such preparation.
    pub fn books_now(&self, name: &str) -> Result<Arc<Books>, NotebookError> {
        let stamp = self.notebook.stamp(name);
        let page = self.notebook.read(name)?;
        if let Some(books) = self.books.found(name, &page.revision).filter(|books| books.whole) {
            return Ok(books);
        }
        let books = work_out(&self.notebook, name, page, self.books.last(name).as_deref(), false);
        Ok(self.keep(name, books, stamp))
    }

    /// The account of the text that the file holds now, as soon as it can be told; the plan may still be missing.
    ///
    /// # Errors
    /// [`NotebookError`] if there is no such preparation.
    pub fn account_now(&self, name: &str) -> Result<Arc<Books>, NotebookError> {
        let stamp = self.notebook.stamp(name);
        let page = self.notebook.read(name)?;
        if let Some(books) = self.books.found(name, &page.revision) {
            return Ok(books);
        }
        let books = work_out(&self.notebook, name, page, self.books.last(name).as_deref(), true);
        Ok(if books.whole { self.keep(name, books, stamp) } else { self.books.hold(name, books) })
    }

    /// Keeps books, and their line in the index.
    fn keep(&self, name: &str, books: Books, stamp: Option<Stamp>) -> Arc<Books> {
        let (books, kept) = self.books.keep(name, books, stamp.unwrap_or_default());
        self.index.keep(name, &kept);
        books
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
        match self.books.same(name, &content_of(&page.revision, frozen.as_deref()), &stamp) {
            Some(kept) => self.index.keep(name, &kept),
            None => {
                let books = work_out(&self.notebook, name, page, self.books.last(name).as_deref(), false);
                self.keep(name, books, Some(stamp));
            }
        }
        Ok(())
    }

    /// The line of a preparation as last worked out.
    pub fn line(&self, name: &str) -> Option<Arc<Line>> {
        self.books.line(name)
    }

    /// What the last change moved.
    pub fn moved(&self, name: &str) -> Option<String> {
        self.books.line(name).and_then(|line| line.moved.clone())
    }
}

/// Lets only preparations within bounds through: every other gets the page that says why not.
pub(super) async fn within_bounds(
    State(office): State<Arc<Office>>,
    Path(parts): Path<BTreeMap<String, String>>,
    request: Request,
    next: Next,
) -> Result<Response, Trouble> {
    let name = parts.get("name").cloned().unwrap_or_default();
    let place = office.clone();
    blocking(move || {
        let page = place.notebook.read(&name)?;
        // Known books tell at once; an entry does not wait for a plan.
        let file = || format!("/p/{}/file", super::page::address(&name));
        if let Some(books) = place.books.found(&name, &page.revision) {
            let refused = books.state() == Stand::Refused;
            return if refused { Err(Trouble::refused(&books.findings).of_file(file())) } else { Ok(()) };
        }
        super::form::bounded(&page.text).map_err(|refused| refused.of_file(file()))
    })
    .await?;
    Ok(next.run(request).await)
}

/// The books of a preparation.
pub(super) async fn books(office: &Arc<Office>, name: &str) -> Result<Arc<Books>, Trouble> {
    let (office, name) = (office.clone(), name.to_owned());
    blocking(move || Ok(office.books_now(&name)?)).await
}

/// The account of a preparation, as soon as it can be told.
pub(super) async fn account(office: &Arc<Office>, name: &str) -> Result<Arc<Books>, Trouble> {
    let (office, name) = (office.clone(), name.to_owned());
    blocking(move || Ok(office.account_now(&name)?)).await
}

/// Begins to work out the rest of a quick account, and to sample it once nobody writes any more; the pages are told.
pub(super) fn sample(office: &Arc<Office>, name: &str, shown: &Books) {
    let (office, name) = (office.clone(), name.to_owned());
    let (revision, whole) = (shown.page.revision.clone(), shown.whole);
    tokio::spawn(async move {
        // One after the other, so that a text that was replaced meanwhile costs nothing.
        let Ok(turn) = office.finishing.acquire().await else { return };
        let (place, of) = (office.clone(), name.clone());
        let now = blocking(move || Ok(place.notebook.read(&of)?.revision)).await;
        // A preparation that went away meanwhile needs no account.
        if now.ok().as_ref() != Some(&revision) {
            return;
        }
        let Ok(books) = books(&office, &name).await else { return };
        drop(turn);
        if !whole {
            office.tell(&name);
        }
        tokio::time::sleep(QUIET).await;
        let Ok(now) = self::books(&office, &name).await else { return };
        if now.page.revision == revision && books.page.revision == revision && !now.sampled {
            let _ = sampled_now(&office, &name).await;
        }
    });
}

/// The books with a sampled account, if anything was weighed; one account is sampled at a time. The newest text wins.
pub(super) async fn sampled_now(office: &Arc<Office>, name: &str) -> Result<Arc<Books>, Trouble> {
    let turn = office.sampling.acquire().await;
    let (place, name) = (office.clone(), name.to_owned());
    let done = blocking(move || {
        let now = place.books_now(&name)?;
        let Some(preparation) = now.preparation.as_ref().filter(|_| now.weighed() && !now.sampled) else {
            return Ok(now);
        };
        let account = prep::account(preparation, &prep::AccountSettings::default(), &mut |_| {});
        let stamp = place.notebook.stamp(&name);
        let told = sampled(&now, account);
        if place.notebook.read(&name)?.revision != now.page.revision {
            return Ok(Arc::new(told));
        }
        let kept = place.keep(&name, told, stamp);
        place.tell(&name);
        Ok(kept)
    });
    let done = done.await;
    drop(turn);
    done
}

/// The same books with a sampled account.
fn sampled(books: &Books, account: Account) -> Books {
    Books {
        page: books.page.clone(),
        preparation: books.preparation.clone(),
        findings: crate::commands::merged([books.findings.clone(), account.findings.clone()]),
        plan: books.plan.clone(),
        account: Some(account),
        frozen: books.frozen.clone(),
        fits: books.fits.passed_on(),
        sampled: true,
        whole: true,
        last: 0,
    }
}
