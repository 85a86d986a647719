//! How long does a paper take, once the account is there? The first call of a run fills the typesetter's memory.

#[allow(dead_code, reason = "the tests use the rest")]
#[path = "../tests/books/mod.rs"]
mod books;

use books::{Books, books};
use paper::{Size, pdf};
use report::document::{Block, Cell, Paper, words};
use std::sync::LazyLock;

static BLUESTONE: LazyLock<Books> = LazyLock::new(|| books("bluestone"));

fn main() {
    LazyLock::force(&BLUESTONE);
    divan::main();
}

/// The report of the example, each time with another title, so that nothing is remembered of the whole.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn report_of_bluestone(bencher: divan::Bencher) {
    let mut round = 0;
    bencher.bench_local(|| {
        round += 1;
        let mut paper = BLUESTONE.report();
        paper.document.title = format!("{} {round}", paper.document.title);
        pdf(&paper, Size::A4).map(|bytes| bytes.len())
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn sheet_of_bluestone(bencher: divan::Bencher) {
    bencher.bench_local(|| pdf(&BLUESTONE.sheet(), Size::A4).map(|bytes| bytes.len()));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn page_of_bluestone(bencher: divan::Bencher) {
    bencher.bench_local(|| report::html::alone::page(&BLUESTONE.report()).len());
}

/// Reports one after another, some sixty pages; each time with other words in every paragraph and row, so that nothing
/// is remembered of an earlier round.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn sixty_pages(bencher: divan::Bencher) {
    let mut round = 0;
    bencher
        .with_inputs(|| {
            round += 1;
            sixty(round)
        })
        .bench_local_values(|paper| pdf(&paper, Size::A4).map(|bytes| bytes.len()));
}

fn sixty(round: usize) -> Paper {
    let one = BLUESTONE.report();
    let mut blocks: Vec<Block> = Vec::new();
    for part in 0..6 {
        blocks.push(Block::NewPage);
        blocks.extend(one.document.blocks.iter().cloned().map(|block| altered(block, 10 * round + part)));
    }
    Paper { document: report::document::Document { title: format!("Sixty pages {round}"), blocks }, ..one }
}

/// The block with a number in its words.
fn altered(block: Block, number: usize) -> Block {
    match block {
        Block::Paragraph(text) => Block::Paragraph(format!("{number} {text}")),
        Block::Verbatim(text) => Block::Verbatim(format!("{number} {text}")),
        Block::Line(mut line) => {
            line.insert(0, words(format!("{number} ")));
            Block::Line(line)
        }
        Block::Table(mut table) => {
            for cell in table.rows.iter_mut().flatten() {
                if let Cell::Text(text) = cell {
                    *text = format!("{text} {number}");
                }
            }
            Block::Table(table)
        }
        other => other,
    }
}
