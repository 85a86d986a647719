//! How long does a paper take, once the account is there? The first call of a run fills the typesetter's memory.

#[path = "../tests/books/mod.rs"]
mod books;

use books::{Books, books};
use paper::{Size, pdf};
use report::document::{Block, Paper};
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

/// Five reports one after another, some sixty pages.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn sixty_pages(bencher: divan::Bencher) {
    let one = BLUESTONE.report();
    let mut blocks: Vec<Block> = Vec::new();
    for _ in 0..5 {
        blocks.push(Block::NewPage);
        blocks.extend(one.document.blocks.clone());
    }
    let long = Paper { document: report::document::Document { title: "Sixty pages".to_owned(), blocks }, ..one };
    bencher.bench_local(|| pdf(&long, Size::A4).map(|bytes| bytes.len()));
}
