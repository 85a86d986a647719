//! The shipped examples with their plans and live accounts, and papers made of them.

use prep::AccountSettings;
use prep::outcome::{Account, Plan, RunRecord};
use report::document::{Bench, Paper, Written, bench_sheet, brief_report, full_report, talk};
use std::path::Path;

/// The shipped examples.
pub const EXAMPLES: [&str; 6] = [
    "bluestone",
    "bluestone-soda-ash-mistake",
    "epsom-dried",
    "epsom-magnesia",
    "zinc-lozenges",
    "zinc-lozenges-assayed",
];

/// Day of the papers.
pub const DATE: (i32, u8, u8) = (2026, 5, 3);

/// An example with all that is known of it.
pub struct Books {
    pub name: &'static str,
    pub text: String,
    pub record: RunRecord,
    pub plan: Plan,
    pub account: Account,
}

pub fn books(name: &'static str) -> Books {
    claimed(name, None)
}

pub fn claimed(name: &'static str, claim: Option<&str>) -> Books {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples").join(format!("{name}.toml"));
    books_of(name, std::fs::read_to_string(path).expect("an example"), claim)
}

/// The books of a text.
pub fn books_of(name: &'static str, text: String, claim: Option<&str>) -> Books {
    let preparation = prep::read(text.as_bytes()).preparation.expect("a preparation");
    let settings = AccountSettings { claim: claim.map(str::to_owned), ..AccountSettings::default() };
    let record = prep::record(&preparation);
    let plan = prep::plan(&preparation);
    let mut account = prep::live_account_with(&preparation, &settings);
    // As in the printed account.
    account.next = Some(prep::next(&preparation, claim));
    Books { name, text, record, plan, account }
}

impl Books {
    pub fn written<'a>(&'a self, file: &'a str) -> Written<'a> {
        Written {
            record: &self.record,
            plan: &self.plan,
            account: &self.account,
            frozen_at: None,
            text: &self.text,
            file,
            frozen: None,
            date: DATE,
        }
    }

    pub fn report(&self) -> Paper {
        full_report(&self.written(&format!("{}.toml", self.name)))
    }

    pub fn brief(&self) -> Paper {
        brief_report(&self.written(&format!("{}.toml", self.name)))
    }

    pub fn talk(&self) -> Paper {
        talk(&self.written(&format!("{}.toml", self.name)))
    }

    pub fn sheet(&self) -> Paper {
        bench_sheet(&Bench {
            record: &self.record,
            plan: &self.plan,
            frozen_at: None,
            address: &format!("http://127.0.0.1:8347/p/{}/bench", self.name),
            date: DATE,
        })
    }
}
