//! Do the papers of the shipped examples still say what was read and kept? `UPDATE_GOLDEN=1` writes them anew.
//!
//! One live account for each example serves sheet, report, brief report and talk. The draws of plan and account are
//! seeded, so the kept figures come out again. The record itself is left out: it is the example, letter by letter.

#[allow(dead_code, reason = "the tests of other crates use the rest")]
#[path = "../../paper/tests/books/mod.rs"]
mod books;
#[path = "../../tarebook/tests/kept/mod.rs"]
mod kept;

use books::{EXAMPLES, books};
use report::document::{Block, Paper};
use report::text::{Page, render};

/// A paper as text: kind, title and body, foot.
fn told(mut paper: Paper) -> String {
    paper.document.blocks.retain(|block| !matches!(block, Block::Verbatim(_)));
    let body = render(&paper.document, Page::plain(100));
    let lines = [paper.kicker.clone(), paper.subtitle.clone(), String::new(), body, paper.foot.clone(), String::new()];
    lines.join("\n").replace(['\u{a0}', '\u{202f}'], " ")
}

#[test]
fn the_papers_of_the_examples_are_those_that_were_kept() {
    for name in EXAMPLES {
        let books = books(name);
        for (kind, paper) in
            [("sheet", books.sheet()), ("report", books.report()), ("brief", books.brief()), ("talk", books.talk())]
        {
            kept::is_kept(&format!("papers/{name}-{kind}"), &told(paper));
        }
    }
}
