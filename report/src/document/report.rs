//! The report of a preparation: what was made, how it is known, and where the rest went.
//!
//! The order is that of preparative journals: title and abstract, purpose with equations, hazards before procedure,
//! materials, procedure, readings, results, identity and purity with grades of evidence, uncertainty, what is not
//! accounted for, waste, deviations and corrections, sources, attachments. Every derived figure leads to its readings, its
//! formula and its source, and carries a letter for its status. A claim that the evidence does not carry is printed in the
//! form that it does. Prose about purpose, precedent and what would be done otherwise is the author's, from the file.

mod brief;
mod formulas;
mod grades;
mod head;
mod procedure;
mod readings;
mod rest;
mod results;
mod talk;

use super::paper::{Attachment, Paper};
use super::references::References;
use super::sheet::{short, standing_of_plan, when};
use super::{Block, Document, LETTERS, STANDING_LINES};
use prep::outcome::{Account, Plan, RunRecord};

pub use results::closes;
pub use talk::talk;

/// What a report is made of.
#[derive(Clone, Copy, Debug)]
pub struct Written<'a> {
    /// What stands in the file.
    pub record: &'a RunRecord,
    /// Its plan.
    pub plan: &'a Plan,
    /// Its account.
    pub account: &'a Account,
    /// When the plan was frozen, if it is.
    pub frozen_at: Option<&'a str>,
    /// The text of the file.
    pub text: &'a str,
    /// Name of the file.
    pub file: &'a str,
    /// The frozen plan as it was kept, if there is one.
    pub frozen: Option<&'a str>,
    /// Year, month, day of the report.
    pub date: (i32, u8, u8),
}

/// The whole report.
#[must_use]
pub fn full_report(written: &Written<'_>) -> Paper {
    let mut references = References::default();
    let mut blocks = head::summary(written, "see “Not in hand, and why that may be”");
    blocks.push(Block::Paragraph(format!(
        "{LETTERS} Without a letter: as the file states it, or as the line below its table tells. Formulas: see “How the figures are made”."
    )));
    blocks.extend(head::claim(written));
    blocks.extend(head::purpose(written));
    blocks.extend(rest::hazards(written, &mut references));
    blocks.extend(procedure::materials(written, &mut references));
    blocks.extend(procedure::steps(written));
    blocks.extend(readings::readings(written, &mut references));
    blocks.extend(results::results(written, &mut references));
    blocks.extend(grades::identity(written));
    blocks.extend(rest::uncertainty(written));
    blocks.extend(rest::unaccounted(written, &mut references));
    blocks.extend(rest::waste(written));
    blocks.extend(rest::deviations(written));
    blocks.extend(formulas::formulas(written, &mut references));
    blocks.extend(sources(written, &mut references));
    blocks.extend(rest::attached(written));
    paper(written, "Report of a preparation", blocks)
}

/// The report on one page.
#[must_use]
pub fn brief_report(written: &Written<'_>) -> Paper {
    let mut paper = paper(written, "Report of a preparation, in brief", brief::brief(written));
    brief::unlink(&mut paper.document.blocks);
    paper.small = true;
    paper.attachments.truncate(1);
    paper
}

fn sources(written: &Written<'_>, references: &mut References) -> Vec<Block> {
    let _ = references.cite_all(written.record.sources.iter().copied());
    let mut blocks = vec![Block::Heading("Sources".to_owned())];
    blocks.extend(references.list());
    blocks.extend(super::account::method(&written.account.method).into_iter().skip(1));
    blocks.push(Block::List(STANDING_LINES.iter().map(|line| (*line).to_owned()).collect()));
    blocks
}

fn paper(written: &Written<'_>, kind: &str, blocks: Vec<Block>) -> Paper {
    let (year, month, day) = written.date;
    let made = when(&format!("{year:04}-{month:02}-{day:02}"));
    Paper {
        kicker: format!("{kind}. {} {made}.", head::standing(written)),
        subtitle: head::subtitle(written),
        document: Document { title: written.record.title.clone(), blocks },
        foot: foot(written),
        date: written.date,
        small: false,
        attachments: attachments(written),
    }
}

fn foot(written: &Written<'_>) -> String {
    let plan = standing_of_plan(written.record, written.plan, written.frozen_at);
    format!(
        "Record {}; plan {}, {plan}. Computed for the amounts given. The supplier's safety data sheet, local codes and licensed practice come first.",
        short(&written.record.text_hash),
        short(&written.record.plan_hash)
    )
}

/// The record, the readings and the frozen plan.
fn attachments(written: &Written<'_>) -> Vec<Attachment> {
    let stem = written.file.trim_end_matches(".toml");
    let mut list = vec![
        Attachment {
            name: format!("{stem}.toml"),
            mime: "application/toml",
            description: "the record: the preparation file with all readings and corrections".to_owned(),
            bytes: written.text.as_bytes().to_vec(),
        },
        Attachment {
            name: format!("{stem}-readings.csv"),
            mime: "text/csv",
            description: "the readings as written, one a line".to_owned(),
            bytes: crate::csv::readings(written.record).into_bytes(),
        },
        Attachment {
            name: format!("{stem}-account.json"),
            mime: "application/json",
            description: "every figure of the account".to_owned(),
            bytes: format!("{:#}\n", crate::json::account(written.account)).into_bytes(),
        },
    ];
    list.extend(written.frozen.map(|frozen| Attachment {
        name: format!("{stem}.plan.json"),
        mime: "application/json",
        description: "the plan as it was frozen".to_owned(),
        bytes: frozen.as_bytes().to_vec(),
    }));
    list
}
