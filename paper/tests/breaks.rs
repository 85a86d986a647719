//! Do pages end where they may: no heading parted from what it heads, no line of a table or caution on two pages?
//!
//! The pages of every tagged part are read from the finished PDF by another library (lopdf), on both sizes of paper.

#[allow(dead_code, reason = "the tests beside this one use the rest")]
mod books;
#[allow(dead_code, reason = "the tests beside this one use the rest")]
mod read;

use books::{EXAMPLES, books, books_of};
use lopdf::{Dictionary, Document, Object, ObjectId};
use paper::Size;
use read::set;
use report::document::{Block, Document as Tree, Paper};
use std::collections::BTreeSet;

/// Parts that are looked at: headings, paragraphs, rows, points, pictures.
const PARTS: [&str; 8] = ["H1", "H2", "H3", "P", "TR", "LI", "Figure", "Code"];

/// A part of a paper in reading order, and the pages that it stands on.
#[derive(Debug)]
struct Part {
    kind: String,
    pages: BTreeSet<u32>,
}

struct Reader<'a> {
    document: &'a Document,
    pages: Vec<(u32, ObjectId)>,
    parts: Vec<Part>,
}

impl Reader<'_> {
    fn page(&self, keys: &Dictionary) -> Option<u32> {
        let id = keys.get(b"Pg").and_then(Object::as_reference).ok()?;
        self.pages.iter().find(|(_, page)| *page == id).map(|(number, _)| *number)
    }

    /// Goes through what stands below an element; `part` is the part that it belongs to.
    fn below(&mut self, object: &Object, page: Option<u32>, part: Option<usize>) {
        match self.document.dereference(object).map_or(object, |(_, found)| found).clone() {
            Object::Array(list) => list.iter().for_each(|one| self.below(one, page, part)),
            Object::Integer(_) => self.stands(page, part),
            Object::Dictionary(keys) => {
                let page = self.page(&keys).or(page);
                let kind =
                    keys.get(b"S").and_then(Object::as_name).map(|name| String::from_utf8_lossy(name).into_owned());
                let part = match kind {
                    // What stands in a row belongs to the row, what stands in a point to the point.
                    Ok(kind) if PARTS.contains(&kind.as_str()) && part.is_none() => {
                        self.parts.push(Part { kind, pages: BTreeSet::new() });
                        Some(self.parts.len() - 1)
                    }
                    Ok(_) => part,
                    Err(_) => {
                        self.stands(page, part);
                        part
                    }
                };
                if let Ok(children) = keys.get(b"K") {
                    self.below(&children.clone(), page, part);
                }
            }
            _ => {}
        }
    }

    /// Something is written on a page: in a part, or, as the words of a caution are, by itself.
    fn stands(&mut self, page: Option<u32>, part: Option<usize>) {
        let Some(page) = page else { return };
        match part.and_then(|part| self.parts.get_mut(part)) {
            Some(part) => {
                part.pages.insert(page);
            }
            None => self.parts.push(Part { kind: "words".to_owned(), pages: BTreeSet::from([page]) }),
        }
    }
}

fn parts(paper: &Paper, size: Size) -> Vec<Part> {
    let document = Document::load_mem(&set(paper, size)).expect("a PDF");
    let root = document.catalog().expect("a catalogue").get(b"StructTreeRoot").expect("tags").clone();
    let pages = document.get_pages().into_iter().collect();
    let mut reader = Reader { document: &document, pages, parts: Vec::new() };
    let (_, root) = document.dereference(&root).expect("tags");
    reader.below(root.as_dict().expect("tags").get(b"K").expect("tags"), None, None);
    reader.parts
}

/// What stands ill: a heading whose page ends before what it heads, a row on two pages.
fn ill(parts: &[Part]) -> Vec<String> {
    let mut list = Vec::new();
    for (part, next) in parts.iter().zip(parts.iter().skip(1)) {
        let parted = part.pages.last() != next.pages.first();
        if part.kind.starts_with('H') && parted {
            list.push(format!("a heading {:?} is parted from what follows {:?}", part.pages, next.pages));
        }
        if part.kind == "TR" && part.pages.len() > 1 {
            list.push(format!("a row stands on pages {:?}", part.pages));
        }
    }
    list
}

#[test]
fn no_heading_and_no_row_is_parted() {
    for name in EXAMPLES {
        let books = books(name);
        for (paper, size) in [books.report(), books.sheet(), books.brief(), books.talk()]
            .iter()
            .flat_map(|paper| [(paper, Size::A4), (paper, Size::Letter)])
        {
            let parts = parts(paper, size);
            assert!(parts.iter().filter(|part| !part.pages.is_empty()).count() > 10, "{name}: {}", parts.len());
            assert_eq!(ill(&parts), [] as [&str; 0], "{name}, {size:?}: {}", paper.kicker);
        }
    }
}

/// Headings and lines at every height of a page: somewhere each would be left alone, if nothing kept it.
#[test]
fn nothing_is_parted_at_any_height_of_a_page() {
    let whole = books("epsom-dried").report();
    let table = |block: &&Block| matches!(block, Block::Table(_));
    let table = whole.document.blocks.iter().find(table).expect("a table").clone();
    for lines in 40..58 {
        let mut blocks: Vec<Block> = (0..lines).map(|line| Block::Paragraph(format!("Line {line}."))).collect();
        blocks.push(Block::Heading("Readings".to_owned()));
        blocks.push(Block::Subheading("First".to_owned()));
        blocks.push(Block::Paragraph("As displayed.".to_owned()));
        blocks.push(table.clone());
        let document = Tree { title: "Heights".to_owned(), blocks };
        let paper = Paper { document, attachments: Vec::new(), ..whole.clone() };
        let parts = parts(&paper, Size::A4);
        assert_eq!(ill(&parts), [] as [&str; 0], "{lines} lines");
        let row = parts.iter().position(|part| part.kind == "TR").expect("a row");
        assert_eq!(parts[row - 1].pages, parts[row].pages, "the line before the table, after {lines} lines");
    }
    let parted =
        [("H2", 1), ("P", 2)].map(|(kind, page)| Part { kind: kind.to_owned(), pages: BTreeSet::from([page]) });
    assert_eq!(ill(&parted).len(), 1, "a parted heading is found");
}

/// A long preparation and long words: every step is there, and nothing runs off the paper.
#[test]
fn a_long_preparation_loses_nothing() {
    let mut text = String::from("title = \"Sixty steps\"\n[[supply]]\nname = \"water\"\nholds = \"H2O(l)\"\n");
    let word = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft".repeat(3);
    for step in 1..=60 {
        let note = if step % 7 == 0 { word.clone() } else { format!("Note {step}. ").repeat(step) };
        text += &format!(
            "[[step]]\nname = \"step {step}\"\naction = \"dissolve\"\ntake = {{ water = \"{step} g\" }}\ngives = {{ \"lot {step}\" = \"all\" }}\nnote = \"{note}\"\n"
        );
    }
    let books = books_of("sixty", text, None);
    for (paper, size) in [(books.sheet(), Size::Letter), (books.report(), Size::A4)] {
        let words = read::words_of(&set(&paper, size));
        for step in 1..=60 {
            assert!(words.contains(&format!("tep{step}")), "step {step} of {}", paper.kicker);
        }
        assert!(words.contains(&read::bare(&word)), "the long word of {}", paper.kicker);
        assert_eq!(ill(&parts(&paper, size)), [] as [&str; 0], "{}", paper.kicker);
    }
}
