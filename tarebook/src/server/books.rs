//! What was worked out of a preparation, and is it still of the present text?
//!
//! Reading, plan and quick account of a text are kept under its revision; a new revision replaces them. A sampled account
//! replaces the quick one when it is done, unless the text has moved on. Full books are kept for the preparations looked
//! at last; of all others one line is kept for the list. Neglected: a lot taken from another preparation is read again
//! only when the file that takes it changes or the notebook is opened again.

use super::trouble::Trouble;
use super::{Office, blocking};
use crate::commands::Folder;
use crate::frozen;
use crate::notebook::{Notebook, NotebookError, Page};
use axum::extract::{Path, Request, State};
use axum::middleware::Next;
use axum::response::Response;
use prep::Preparation;
use prep::outcome::{Account, Finding, Interval, Plan, Severity};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Most preparations whose full books are kept.
const MOST: usize = 24;

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
    /// Whether the account is sampled.
    pub sampled: bool,
    last: u64,
}

/// How far a preparation is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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

/// One line of the list.
#[derive(Clone, Debug)]
pub struct Line {
    /// Revision it is of.
    pub revision: String,
    /// Title.
    pub title: String,
    /// What is wanted.
    pub target: String,
    /// How far it is.
    pub state: Stand,
    /// Accounted yield, %.
    pub overall: Option<Interval>,
    /// Quoted yields, %.
    pub quoted: Vec<f64>,
    /// Findings that are open.
    pub open: usize,
    /// The gravest of them.
    pub gravest: Option<String>,
    /// Last entry.
    pub last: Option<String>,
    /// How the accounted yield moved with the last change.
    pub moved: Option<String>,
}

impl Books {
    /// Whether anything was weighed.
    pub fn weighed(&self) -> bool {
        self.preparation
            .iter()
            .flat_map(|p| &p.steps)
            .flat_map(|s| &s.readings)
            .any(|r| r.weigh.is_some() || r.volume.is_some())
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

    /// Its line in the list.
    pub fn line(&self) -> Line {
        let preparation = self.preparation.as_ref();
        let target = preparation.and_then(|p| p.target.as_ref()).map_or_else(String::new, |target| {
            let amount = target.amount.map(|kg| report::number::unit(&report::number::plain(kg * 1e3), "g") + " ");
            format!("{}{}", amount.unwrap_or_default(), target.substance)
        });
        let yields = self.account.as_ref().and_then(|account| account.yields.as_ref());
        let open: Vec<&Finding> =
            self.findings.iter().filter(|f| matches!(f.severity, Severity::Error | Severity::Warning)).collect();
        let times = preparation.iter().flat_map(|p| &p.steps).flat_map(|s| &s.readings).filter_map(|r| r.at.clone());
        Line {
            revision: self.page.revision.clone(),
            title: preparation.map_or_else(|| title_of(&self.page.text), |p| p.title().to_owned()),
            target,
            state: self.state(),
            overall: yields.map(|yields| yields.overall.clone()),
            quoted: yields.map(|y| y.quoted.iter().map(|q| q.percent.value).collect()).unwrap_or_default(),
            open: open.len(),
            gravest: open.first().map(|finding| finding.message.clone()),
            last: times.max(),
            moved: None,
        }
    }
}

/// What changed, where the accounted yield moved by a tenth of its uncertainty or more.
fn moved(before: &Line, after: &Line) -> Option<String> {
    let (a, b) = (before.overall.as_ref()?, after.overall.as_ref()?);
    let seen = (a.mean - b.mean).abs() > 0.1 * a.standard_uncertainty.min(b.standard_uncertainty);
    let told = |interval: &Interval| report::number::percent_bare(interval);
    seen.then(|| format!("The last change moved the accounted yield from {} to {}\u{a0}%.", told(a), told(b)))
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

/// Books and lines that were worked out.
#[derive(Debug, Default)]
pub struct Shelf {
    books: Mutex<BTreeMap<String, Arc<Books>>>,
    lines: Mutex<BTreeMap<String, Line>>,
    clock: Mutex<u64>,
}

fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shelf {
    fn found(&self, name: &str, revision: &str) -> Option<Arc<Books>> {
        locked(&self.books).get(name).filter(|books| books.page.revision == revision).cloned()
    }

    fn keep(&self, name: &str, mut books: Books) -> Arc<Books> {
        let mut clock = locked(&self.clock);
        *clock += 1;
        books.last = *clock;
        let mut line = books.line();
        let mut lines = locked(&self.lines);
        if let Some(before) = lines.get(name) {
            line.moved = if before.revision == line.revision { before.moved.clone() } else { moved(before, &line) };
        }
        lines.insert(name.to_owned(), line);
        drop(lines);
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
    pub fn line(&self, name: &str) -> Option<Line> {
        locked(&self.lines).get(name).cloned()
    }
}

/// Reads a text and works out its plan and its quick account.
pub fn work_out(notebook: &Notebook, name: &str, page: Page) -> Books {
    let path = notebook.folder().join(format!("{name}.toml"));
    let reading = prep::read_beside(page.text.as_bytes(), &Folder::of(&path));
    let mut findings = reading.findings;
    let mut books = Books {
        page,
        preparation: None,
        findings: Vec::new(),
        plan: None,
        account: None,
        frozen: None,
        sampled: false,
        last: 0,
    };
    if let Some(preparation) = reading.preparation {
        let (frozen, changes) = frozen::compare(&path, &preparation);
        books.frozen = frozen;
        let plan = prep::plan(&preparation);
        books.preparation = Some(preparation);
        let account = books.preparation.as_ref().filter(|_| books.weighed()).map(prep::live_account);
        let told = account.as_ref().map(|account| account.findings.clone()).unwrap_or_default();
        findings = crate::commands::merged([findings, changes, plan.findings.clone(), told]);
        books.plan = Some(plan);
        books.account = account;
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
        let page = self.notebook.read(name)?;
        if let Some(books) = self.books.found(name, &page.revision) {
            return Ok(books);
        }
        Ok(self.books.keep(name, work_out(&self.notebook, name, page)))
    }

    /// The line of a preparation as last worked out.
    pub fn line(&self, name: &str) -> Option<Line> {
        self.books.line(name)
    }

    /// What the last change moved.
    pub fn moved(&self, name: &str) -> Option<String> {
        self.books.line(name).and_then(|line| line.moved)
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
        if let Some(books) = place.books.found(&name, &page.revision) {
            return if books.state() == Stand::Refused { Err(Trouble::refused(&books.findings)) } else { Ok(()) };
        }
        super::form::bounded(&page.text)
    })
    .await?;
    Ok(next.run(request).await)
}

/// The books of a preparation.
pub(super) async fn books(office: &Arc<Office>, name: &str) -> Result<Arc<Books>, Trouble> {
    let (office, name) = (office.clone(), name.to_owned());
    blocking(move || Ok(office.books_now(&name)?)).await
}

/// Begins to sample the account of these books; the pages are told when it is done.
pub(super) fn sample(office: &Arc<Office>, name: &str, books: &Arc<Books>) {
    let (office, name, books) = (office.clone(), name.to_owned(), books.clone());
    tokio::spawn(async move {
        let Ok(_turn) = office.sampling.acquire().await else { return };
        let place = office.clone();
        let done = blocking(move || {
            let now = place.books_now(&name)?;
            // The newest text wins; another page may have had it sampled meanwhile.
            if now.page.revision != books.page.revision || now.sampled {
                return Ok(());
            }
            let Some(preparation) = &now.preparation else { return Ok(()) };
            let settings = prep::AccountSettings::default();
            let account = prep::account(preparation, &settings, &mut |_| {});
            if place.notebook.read(&name)?.revision == now.page.revision {
                place.books.keep(&name, sampled(&now, account));
                place.tell(&name);
            }
            Ok(())
        });
        // A preparation that went away meanwhile needs no account.
        let _ = done.await;
    });
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
        sampled: true,
        last: 0,
    }
}
