//! Do the papers of the shipped examples say what their books say, and can they be read by anyone?
//!
//! The PDF is read by another library than the one that wrote it (lopdf); the page by the parser that browsers use
//! (html5ever).

mod books;

use books::{Books, EXAMPLES, books, claimed};
use html5ever::tendril::TendrilSink as _;
use html5ever::{ParseOpts, parse_document};
use lopdf::{Dictionary, Document, Object};
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use paper::{Size, pdf};
use prep::outcome::Verdict;
use report::document::{Block, Paper, plain};
use report::number;

/// Words without the spaces between them, which two readers of PDF place differently.
fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && !matches!(*c, '\u{ad}' | '\u{2060}')).collect()
}

fn set(paper: &Paper, size: Size) -> Vec<u8> {
    pdf(paper, size).unwrap_or_else(|error| panic!("{}: {error}", paper.document.title))
}

fn words_of(pdf: &[u8]) -> String {
    let document = Document::load_mem(pdf).expect("a PDF");
    let pages: Vec<u32> = document.get_pages().keys().copied().collect();
    bare(&document.extract_text(&pages).expect("its words"))
}

/// The figures of an account as every form prints them.
fn figures(books: &Books) -> Vec<String> {
    let account = &books.account;
    let mut list: Vec<String> = account.lots.iter().map(|lot| number::mean_bare(&lot.mass)).collect();
    list.extend(account.lots.iter().flat_map(|lot| &lot.elements).map(|content| number::mean_bare(&content.mass)));
    if let Some(yields) = &account.yields {
        list.extend(yields.quoted.iter().map(|quoted| number::figure_bare(&quoted.percent)));
        list.push(number::percent_bare(&yields.overall));
        list.extend(yields.steps.iter().map(|step| number::percent_bare(&step.cumulative)));
    }
    list.extend(books.record.readings.iter().filter_map(|reading| reading.figure.as_deref()).map(number::tied));
    list
}

#[test]
fn the_report_holds_the_figures_of_the_account() {
    for name in EXAMPLES {
        let books = books(name);
        let words = words_of(&set(&books.report(), Size::A4));
        let figures = figures(&books);
        assert!(figures.len() > 6, "{name} has figures");
        for figure in figures {
            assert!(words.contains(&bare(&figure)), "{name}: {figure} is not on paper");
        }
    }
}

#[test]
fn the_sheet_holds_what_the_plan_expects() {
    for name in EXAMPLES {
        let books = books(name);
        let words = words_of(&set(&books.sheet(), Size::Letter));
        for expectation in books.plan.steps.iter().flat_map(|step| &step.expects) {
            let corrects = books.record.readings.iter().any(|r| r.id == expectation.reading && r.corrects.is_some());
            if let Some(interval) = expectation.interval.as_ref().filter(|_| !corrects) {
                let told = number::interval(interval);
                assert!(words.contains(&bare(&told)), "{name}: {told} is not on the sheet");
            }
        }
        for line in &books.plan.weigh_out {
            assert!(words.contains(&bare(&line.supply)), "{name}: {}", line.supply);
        }
    }
}

#[test]
fn the_same_paper_gives_the_same_bytes() {
    let books = books("bluestone");
    let paper = books.report();
    assert_eq!(set(&paper, Size::A4), set(&paper, Size::A4));
    let later = Paper { date: (2026, 5, 4), ..paper.clone() };
    assert_ne!(set(&paper, Size::A4), set(&later, Size::A4));
}

/// A claim that is too strong: that all of it is dry malachite, with the yield which that formula would give.
#[test]
fn a_claim_that_is_too_strong_is_printed_in_its_weaker_form() {
    let books = claimed("bluestone", Some("precipitate: Cu2CO3(OH)2"));
    let claim = books.account.claim.as_ref().expect("a claim");
    assert_ne!(claim.verdict, Verdict::Supported);
    let paper = books.report();
    let Some(Block::Lead(first)) = paper.document.blocks.first() else { panic!("a lead") };
    assert!(plain(first).starts_with("Of precipitate, what may be said is:"), "{}", plain(first));
    let words = words_of(&set(&paper, Size::A4));
    assert!(words.contains("whatmaybesaidis"), "the weaker form is on paper");
    assert!(words.contains("Compositionnotestablished"), "{}", &words[..600]);
    let leads = paper.document.blocks.iter().filter(|block| matches!(block, Block::Lead(_)));
    for lead in leads {
        let Block::Lead(line) = lead else { continue };
        assert!(!plain(line).contains("100.1"), "{}", plain(line));
    }
}

fn catalogue(document: &Document) -> &Dictionary {
    document.catalog().expect("a catalogue")
}

fn follow<'a>(document: &'a Document, object: &'a Object) -> &'a Object {
    document.dereference(object).map_or(object, |(_, found)| found)
}

/// Kinds of the elements of the tree of tags, depth first, each with whether it has words in place of a picture.
fn tags(document: &Document, object: &Object, list: &mut Vec<(String, bool)>) {
    match follow(document, object) {
        Object::Array(children) => children.iter().for_each(|child| tags(document, child, list)),
        Object::Dictionary(element) => {
            if let Ok(kind) = element.get(b"S").and_then(Object::as_name) {
                list.push((String::from_utf8_lossy(kind).into_owned(), element.has(b"Alt")));
            }
            if let Ok(children) = element.get(b"K") {
                tags(document, children, list);
            }
        }
        _ => {}
    }
}

#[test]
fn the_papers_are_tagged_for_readers_and_carry_their_letters() {
    let books = books("bluestone");
    for paper in [books.report(), books.sheet(), books.brief()] {
        let bytes = set(&paper, Size::A4);
        let document = Document::load_mem(&bytes).expect("a PDF");
        let catalogue = catalogue(&document);
        let marked = follow(&document, catalogue.get(b"MarkInfo").expect("MarkInfo")).as_dict().expect("a dictionary");
        assert_eq!(marked.get(b"Marked").and_then(Object::as_bool).ok(), Some(true));
        assert!(catalogue.has(b"Lang"));
        let tree = follow(&document, catalogue.get(b"StructTreeRoot").expect("tags"));
        let mut list = Vec::new();
        tags(&document, tree, &mut list);
        for kind in ["H1", "H2", "Table", "TR", "TH", "TD", "Figure", "P", "Link"] {
            let expected = kind != "Link" || list.iter().any(|(found, _)| found == "Link");
            assert!(expected && list.iter().any(|(found, _)| found == kind), "{}: no {kind}", paper.kicker);
        }
        assert!(list.iter().filter(|(kind, _)| kind == "Figure").all(|(_, words)| *words), "a picture without words");
        let fonts: Vec<&Dictionary> = document
            .objects
            .values()
            .filter_map(|object| object.as_dict().ok())
            .filter(|object| object.get(b"Type").and_then(Object::as_name).is_ok_and(|name| name == b"FontDescriptor"))
            .collect();
        assert!(!fonts.is_empty(), "there are letters");
        let embedded = |font: &&Dictionary| font.has(b"FontFile2") || font.has(b"FontFile3") || font.has(b"FontFile");
        assert!(fonts.iter().all(embedded), "letters are embedded");
        assert!(bytes.windows(12).any(|w| w == b"pdfuaid:part"), "it says that it is PDF/UA");
    }
}

#[test]
fn the_record_goes_along_with_the_report() {
    let books = books("zinc-lozenges");
    let document = Document::load_mem(&set(&books.report(), Size::A4)).expect("a PDF");
    let attached: Vec<Vec<u8>> = document
        .objects
        .values()
        .filter_map(|object| object.as_stream().ok())
        .filter(|stream| stream.dict.get(b"Type").and_then(Object::as_name).is_ok_and(|name| name == b"EmbeddedFile"))
        .filter_map(|stream| stream.decompressed_content().ok())
        .collect();
    assert!(attached.iter().any(|file| file == books.text.as_bytes()), "the file itself, letter by letter");
    assert!(attached.len() >= 3, "record, readings, account");
}

/// Names of the elements of a page with what stands in their tags.
fn elements(handle: &Handle, list: &mut Vec<(String, Vec<(String, String)>)>) {
    if let NodeData::Element { name, attrs, .. } = &handle.data {
        let stated = attrs.borrow().iter().map(|a| (a.name.local.to_string(), a.value.to_string())).collect();
        list.push((name.local.to_string(), stated));
    }
    handle.children.borrow().iter().for_each(|child| elements(child, list));
}

#[test]
fn the_page_of_its_own_is_html_whose_links_lead_somewhere() {
    for name in EXAMPLES {
        let books = books(name);
        for paper in [books.report(), books.sheet(), books.brief(), books.talk()] {
            let page = report::html::alone::page(&paper);
            let tree = parse_document(RcDom::default(), ParseOpts::default()).one(page);
            assert!(tree.errors.borrow().is_empty(), "{name}: {:?}", tree.errors);
            let mut list = Vec::new();
            elements(&tree.document, &mut list);
            let stated = |wanted: &str| -> Vec<String> {
                let all = list.iter().flat_map(|(_, stated)| stated);
                all.filter(|(key, _)| key == wanted).map(|(_, value)| value.clone()).collect()
            };
            let mut ids = stated("id");
            let count = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), count, "{name}: an identifier stands twice");
            for link in stated("href").iter().filter_map(|link| link.strip_prefix('#')) {
                assert!(ids.iter().any(|id| id == link), "{name}: {link} leads nowhere ({})", paper.kicker);
            }
            assert_eq!(list.iter().filter(|(tag, _)| tag == "h1").count(), 1);
            let loading = ["script", "link", "iframe", "img", "object"];
            assert!(list.iter().all(|(tag, _)| !loading.contains(&tag.as_str())), "nothing is loaded from elsewhere");
        }
    }
}

#[test]
fn a_brief_report_is_one_page() {
    for name in EXAMPLES {
        for size in [Size::A4, Size::Letter] {
            let document = Document::load_mem(&set(&books(name).brief(), size)).expect("a PDF");
            assert_eq!(document.get_pages().len(), 1, "{name} on {size:?}");
        }
    }
}

/// What a hostile file holds is set as words; the typesetter has no file and no net to reach for.
#[test]
fn a_file_cannot_speak_to_the_typesetter() {
    let books = books("bluestone");
    let mut paper = books.brief();
    let words = "#read(\"/etc/passwd\") #import \"@preview/x:1.0.0\" $ $ \\ ] ) } \u{0} \u{202e}";
    paper.document.title = words.to_owned();
    paper.document.blocks.push(Block::Paragraph(words.to_owned()));
    paper.document.blocks.push(Block::Verbatim(words.to_owned()));
    let found = words_of(&set(&paper, Size::A4));
    assert!(found.contains("#read(\"/etc/passwd\")"), "it stands there as words");
}
