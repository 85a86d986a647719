//! What was worked out of a text?
//!
//! Reading, plan and account, as far as a page asked for them ([`Extent`]): the bench goes by the plan alone, an account is
//! told at once and in full afterwards. What is known of the text before is put to use: a plan goes over where only
//! readings differ, fits begin where they ended. Neglected: a lot taken from another preparation is read again only when
//! the file that takes it changes or the notebook is opened again.

use super::reading;
use crate::commands::Folder;
use crate::frozen;
use crate::notebook::{Notebook, Page};
use prep::outcome::{Account, Finding, Plan};
use prep::{AccountSettings, Fits, Preparation};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// How much of the books a page asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Extent {
    /// The plan.
    Plan,
    /// The account as soon as it can be told; the plan where it still holds.
    Account,
    /// The plan, and the account as soon as it can be told.
    Both,
    /// Plan and account in full.
    Whole,
}

impl Extent {
    fn plan(self) -> bool {
        self != Self::Account
    }

    fn account(self) -> bool {
        self != Self::Plan
    }
}

/// The books of one text.
#[derive(Debug)]
pub struct Books {
    /// The text.
    pub page: Page,
    /// The preparation, unless it has errors.
    pub preparation: Option<Preparation>,
    /// Findings of reading, plan and account together, as far as these were worked out.
    pub findings: Vec<Finding>,
    /// The plan.
    pub plan: Option<Arc<Plan>>,
    /// The account, if anything was weighed.
    pub account: Option<Arc<Account>>,
    /// Hash of the frozen plan.
    pub frozen: Option<String>,
    /// Where the fits of the quick account ended.
    pub fits: Fits,
    /// Whether the account is sampled.
    pub sampled: bool,
    /// Whether plan and account are told in full.
    pub whole: bool,
    /// When they were looked at last.
    pub(super) last: u64,
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
    /// Whether as much as this was worked out.
    pub fn covers(&self, extent: Extent) -> bool {
        let planned = self.plan.is_some() || !extent.plan();
        let accounted = self.account.is_some() || !extent.account() || !self.weighed();
        self.whole || (planned && accounted && extent != Extent::Whole)
    }

    /// Takes over what other books of the same text hold and these lack.
    pub fn complete(&mut self, other: &Self) {
        let both = self.preparation.as_ref().zip(other.preparation.as_ref());
        if !both.is_some_and(|(own, other)| alike_from_elsewhere(own, other)) {
            return;
        }
        if self.plan.is_none() {
            self.plan.clone_from(&other.plan);
        }
        if self.account.is_none() && other.account.is_some() {
            self.account.clone_from(&other.account);
            self.fits = other.fits.passed_on();
        }
        self.findings = crate::commands::merged([std::mem::take(&mut self.findings), other.findings.clone()]);
    }

    /// The title.
    pub fn title(&self) -> String {
        self.preparation.as_ref().map_or_else(|| title_of(&self.page.text), |p| p.title().to_owned())
    }

    /// The same books with a sampled account.
    pub fn sampled(&self, account: Account) -> Self {
        Self {
            page: self.page.clone(),
            preparation: self.preparation.clone(),
            findings: crate::commands::merged([self.findings.clone(), account.findings.clone()]),
            plan: self.plan.clone(),
            account: Some(account.into()),
            frozen: self.frozen.clone(),
            fits: self.fits.passed_on(),
            sampled: true,
            whole: true,
            last: 0,
        }
    }

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

/// Whether what the supplies bring from other preparations is the same.
fn alike_from_elsewhere(one: &Preparation, other: &Preparation) -> bool {
    let brought =
        |preparation: &Preparation| preparation.supplies.iter().map(|s| s.brought.clone()).collect::<Vec<_>>();
    brought(one) == brought(other)
}

/// Reads a text and works out as much of its books as is asked for, with what is known of `before`: books of the same
/// text, or of one before it.
pub fn work_out(notebook: &Notebook, name: &str, page: Page, before: Option<&Books>, extent: Extent) -> Books {
    let path = notebook.folder().join(format!("{name}.toml"));
    let reading = reading::read_beside(&page.text, &Folder::of(&path));
    let mut books = Books {
        page,
        preparation: reading.preparation.clone(),
        findings: reading.findings.clone(),
        plan: None,
        account: None,
        frozen: None,
        fits: before.map(|before| before.fits.passed_on()).unwrap_or_default(),
        sampled: false,
        whole: extent == Extent::Whole,
        last: 0,
    };
    let Some(preparation) = &books.preparation else {
        return Books { whole: true, ..books };
    };
    // The same text says something else where a lot of another preparation changed.
    let same = before.filter(|before| {
        let then = before.preparation.as_ref();
        before.page.revision == books.page.revision && then.is_some_and(|then| alike_from_elsewhere(preparation, then))
    });
    let (frozen, changes) = frozen::compare(&path, preparation);
    let at_once = extent != Extent::Whole;
    let account = || {
        let told = same.and_then(|same| same.account.clone()).filter(|_| at_once);
        let settings = AccountSettings { at_once, ..AccountSettings::default() };
        let asked = extent.account() && books.weighed();
        told.or_else(|| asked.then(|| prep::live_account_after(preparation, &settings, &books.fits).into()))
    };
    let plan = || {
        let told = same.and_then(|same| same.plan.clone()).or_else(|| {
            prep::plan_again(preparation, before?.preparation.as_ref()?, before?.plan.as_ref()?).map(Arc::new)
        });
        told.or_else(|| extent.plan().then(|| prep::plan(preparation).into()))
    };
    let (account, plan) = rayon::join(account, plan);
    books.whole |= plan.is_some() && !books.weighed();
    let planned = plan.as_ref().map(|plan| plan.findings.clone()).unwrap_or_default();
    let told = account.as_ref().map(|account| account.findings.clone()).unwrap_or_default();
    books.findings = crate::commands::merged([std::mem::take(&mut books.findings), changes, planned, told]);
    (books.frozen, books.account, books.plan) = (frozen, account, plan);
    books
}
