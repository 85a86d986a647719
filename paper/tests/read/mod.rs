//! Papers set, and their words read back by other libraries than the ones that wrote them.

use html5ever::tendril::TendrilSink as _;
use html5ever::{ParseOpts, parse_document};
use lopdf::Document;
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use paper::{Size, pdf};
use report::document::Paper;

/// Words without the spaces between them, which two readers of PDF place differently.
pub fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && !matches!(*c, '\u{ad}' | '\u{200b}' | '\u{2060}')).collect()
}

pub fn set(paper: &Paper, size: Size) -> Vec<u8> {
    pdf(paper, size).unwrap_or_else(|error| panic!("{}: {error}", paper.document.title))
}

pub fn words_of(pdf: &[u8]) -> String {
    let document = Document::load_mem(pdf).expect("a PDF");
    let pages: Vec<u32> = document.get_pages().keys().copied().collect();
    bare(&document.extract_text(&pages).expect("its words"))
}

/// The words of every paragraph, cell, point and label of a page, each by itself.
pub fn passages(page: String) -> Vec<String> {
    let tree = parse_document(RcDom::default(), ParseOpts::default()).one(page);
    let mut list = Vec::new();
    passages_below(&tree.document, &mut list);
    list
}

fn passages_below(handle: &Handle, list: &mut Vec<String>) {
    const APART: [&str; 14] =
        ["p", "td", "th", "li", "h1", "h2", "h3", "pre", "div", "text", "figcaption", "summary", "ul", "table"];
    if let NodeData::Element { name, .. } = &handle.data
        && APART.contains(&&*name.local)
    {
        let mut words = String::new();
        text(handle, &mut words);
        list.push(bare(&words));
    }
    handle.children.borrow().iter().for_each(|child| passages_below(child, list));
}

fn text(handle: &Handle, out: &mut String) {
    if let NodeData::Text { contents } = &handle.data {
        *out += &contents.borrow();
    }
    handle.children.borrow().iter().for_each(|child| text(child, out));
}

/// Whether a figure stands in a passage as a whole, not as some digits of another one.
pub fn stands_whole(passage: &str, figure: &str) -> bool {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    passage.match_indices(figure).any(|(at, _)| {
        let mut before = passage[..at].chars().rev();
        let mut after = passage[at + figure.len()..].chars();
        let (last, first) = (before.next(), after.next());
        let joined = digit(last) || last == Some('.') && digit(before.next());
        let goes_on = digit(first) || first == Some('.') && digit(after.next());
        let (begins, ends) = (digit(figure.chars().next()), digit(figure.chars().next_back()));
        !(begins && joined || ends && goes_on)
    })
}
