//! Can somebody who does not see read the papers with a screen reader?
//!
//! The tree of tags is walked by another library than the one that wrote it (lopdf), and every rule is shown to fail on
//! a paper that was spoilt on purpose. The rules are those of PDF/UA-1 (ISO 14289-1:2014, clause 7, from memory): real
//! content is tagged or marked as an artefact, headings skip no level, tables are rows of heads and cells of equal
//! width, pictures and links have words, letters are embedded and map to Unicode.

mod books;

use books::{EXAMPLES, books};
use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object, ObjectId};
use paper::{Size, pdf};
use report::document::Paper;

/// An element of the tree: kind, keys, elements below it.
struct Tag {
    kind: String,
    keys: Dictionary,
    below: Vec<Tag>,
}

fn follow<'a>(document: &'a Document, object: &'a Object) -> &'a Object {
    document.dereference(object).map_or(object, |(_, found)| found)
}

fn entry<'a>(document: &'a Document, within: &'a Dictionary, key: &str) -> Option<&'a Object> {
    within.get(key.as_bytes()).ok().map(|object| follow(document, object))
}

fn name(document: &Document, within: &Dictionary, key: &str) -> String {
    let found = entry(document, within, key).and_then(|object| object.as_name().ok());
    found.map_or_else(String::new, |name| String::from_utf8_lossy(name).into_owned())
}

fn tags(document: &Document, object: &Object, list: &mut Vec<Tag>) {
    match follow(document, object) {
        Object::Array(children) => children.iter().for_each(|child| tags(document, child, list)),
        Object::Dictionary(keys) if keys.has(b"S") => {
            let mut below = Vec::new();
            if let Ok(children) = keys.get(b"K") {
                tags(document, children, &mut below);
            }
            list.push(Tag { kind: name(document, keys, "S"), keys: keys.clone(), below });
        }
        _ => {}
    }
}

/// The whole tree of tags.
fn tree(document: &Document) -> Vec<Tag> {
    let mut list = Vec::new();
    let root = document.catalog().ok().and_then(|catalogue| entry(document, catalogue, "StructTreeRoot"));
    if let Some(children) = root.and_then(|root| root.as_dict().ok()?.get(b"K").ok()) {
        tags(document, children, &mut list);
    }
    list
}

/// Whether an element has words that stand for it.
fn worded(tag: &Tag) -> bool {
    tag.keys.get(b"Alt").and_then(Object::as_str).is_ok_and(|words| words.len() > 4)
}

/// A key of the attributes of an element.
fn attribute(document: &Document, tag: &Tag, key: &str) -> Option<Object> {
    let list = match entry(document, &tag.keys, "A")? {
        Object::Array(list) => list.clone(),
        one => vec![one.clone()],
    };
    list.iter().find_map(|one| Some(entry(document, follow(document, one).as_dict().ok()?, key)?.clone()))
}

/// Cells in a row, those that span columns counted as often.
fn width(document: &Document, row: &Tag) -> i64 {
    let span = |cell: &Tag| attribute(document, cell, "ColSpan").and_then(|span| span.as_i64().ok()).unwrap_or(1);
    row.below.iter().map(span).sum()
}

fn rows<'a>(tag: &'a Tag, list: &mut Vec<&'a Tag>) {
    for below in &tag.below {
        match below.kind.as_str() {
            "TR" => list.push(below),
            "THead" | "TBody" | "TFoot" => rows(below, list),
            _ => {}
        }
    }
}

fn table(document: &Document, tag: &Tag, problems: &mut Vec<String>) {
    let part = |below: &Tag| matches!(below.kind.as_str(), "THead" | "TBody" | "TFoot");
    let row = |below: &Tag| below.kind == "TR" || below.kind == "Caption";
    let sound = |below: &Tag| row(below) || part(below) && below.below.iter().all(row);
    if !tag.below.iter().all(sound) {
        problems.push("a table holds something else than rows".to_owned());
    }
    let mut list = Vec::new();
    rows(tag, &mut list);
    let widths: Vec<i64> = list.iter().map(|row| width(document, row)).collect();
    if widths.windows(2).any(|pair| pair[0] != pair[1]) {
        problems.push(format!("rows of a table are not equally wide: {widths:?}"));
    }
    let cells: Vec<&Tag> = list.iter().flat_map(|row| &row.below).collect();
    if !cells.iter().all(|cell| matches!(cell.kind.as_str(), "TH" | "TD")) {
        problems.push("a row holds something else than cells".to_owned());
    }
    let heads: Vec<&&Tag> = cells.iter().filter(|cell| cell.kind == "TH").collect();
    if heads.is_empty() || !heads.iter().all(|head| attribute(document, head, "Scope").is_some()) {
        problems.push("a table has no heads, or heads without their reach".to_owned());
    }
}

fn walk(document: &Document, list: &[Tag], heading: &mut usize, problems: &mut Vec<String>) {
    for tag in list {
        let level = tag.kind.strip_prefix('H').and_then(|level| level.parse::<usize>().ok());
        if let Some(level) = level {
            if level > *heading + 1 {
                problems.push(format!("a heading of level {level} follows one of level {heading}"));
            }
            *heading = level;
        }
        match tag.kind.as_str() {
            "Table" => table(document, tag, problems),
            "L" if !tag.below.iter().all(|item| item.kind == "LI") => {
                problems.push("a list holds something else than points".to_owned());
            }
            "LI" if !tag.below.iter().any(|part| part.kind == "LBody") => {
                problems.push("a point has no body".to_owned());
            }
            "Figure" if !worded(tag) => problems.push("a picture has no words".to_owned()),
            _ => {}
        }
        walk(document, &tag.below, heading, problems);
    }
}

/// Letters set outside of all marked content of a page.
fn unmarked(document: &Document, page: ObjectId) -> usize {
    let content = Content::decode(&document.get_page_content(page)).expect("the content of a page");
    let (mut depth, mut found) = (0_usize, 0);
    for operation in &content.operations {
        match operation.operator.as_str() {
            "BDC" | "BMC" => depth += 1,
            "EMC" => depth = depth.saturating_sub(1),
            "Tj" | "TJ" | "'" | "\"" if depth == 0 => found += 1,
            _ => {}
        }
    }
    found
}

fn pages(document: &Document, problems: &mut Vec<String>) {
    for (number, page) in document.get_pages() {
        let keys = document.get_dictionary(page).expect("a page");
        if !keys.has(b"StructParents") {
            problems.push(format!("page {number} does not lead to its tags"));
        }
        let count = unmarked(document, page);
        if count > 0 {
            problems.push(format!("page {number} sets letters {count} times outside of all tags"));
        }
        let annotations = document.get_page_annotations(page).expect("annotations");
        if !annotations.is_empty() && name(document, keys, "Tabs") != "S" {
            problems.push(format!("links of page {number} have no order"));
        }
        let silent = |link: &&&Dictionary| !link.get(b"Contents").and_then(Object::as_str).is_ok_and(|w| !w.is_empty());
        if annotations.iter().filter(silent).count() > 0 {
            problems.push(format!("a link of page {number} has no words"));
        }
    }
}

fn letters(document: &Document, problems: &mut Vec<String>) {
    let all = document.objects.values().filter_map(|object| object.as_dict().ok());
    let (mut described, mut fonts) = (0, 0);
    for keys in all {
        match (name(document, keys, "Type").as_str(), name(document, keys, "Subtype").as_str()) {
            ("FontDescriptor", _) => {
                described += 1;
                if !(keys.has(b"FontFile2") || keys.has(b"FontFile3") || keys.has(b"FontFile")) {
                    problems.push("letters are not embedded".to_owned());
                }
            }
            ("Font", "Type0") => {
                fonts += 1;
                if !keys.has(b"ToUnicode") {
                    problems.push("letters do not map to Unicode".to_owned());
                }
            }
            _ => {}
        }
    }
    if described == 0 || fonts == 0 {
        problems.push("there are no letters".to_owned());
    }
}

/// What stands between a paper and a reader that does not see it.
fn problems(document: &Document) -> Vec<String> {
    let mut list = Vec::new();
    let catalogue = document.catalog().expect("a catalogue");
    let within = |key: &str, inner: &str| {
        let inner = entry(document, entry(document, catalogue, key)?.as_dict().ok()?, inner)?;
        inner.as_bool().ok()
    };
    if within("MarkInfo", "Marked") != Some(true) {
        list.push("it does not say that it is tagged".to_owned());
    }
    if within("ViewerPreferences", "DisplayDocTitle") != Some(true) {
        list.push("a window does not show its title".to_owned());
    }
    if !catalogue.has(b"Lang") {
        list.push("its language is not stated".to_owned());
    }
    let described = entry(document, catalogue, "Metadata").and_then(|object| object.as_stream().ok());
    let described = described.and_then(|stream| stream.get_plain_content().ok()).unwrap_or_default();
    if !described.windows(12).any(|words| words == b"pdfuaid:part") {
        list.push("it does not say that it is PDF/UA".to_owned());
    }
    let tree = tree(document);
    if tree.is_empty() {
        list.push("there are no tags".to_owned());
    }
    walk(document, &tree, &mut 0, &mut list);
    pages(document, &mut list);
    letters(document, &mut list);
    list
}

fn opened(paper: &Paper) -> Document {
    let bytes = pdf(paper, Size::A4).unwrap_or_else(|error| panic!("{}: {error}", paper.document.title));
    Document::load_mem(&bytes).expect("a PDF")
}

fn kinds(list: &[Tag], found: &mut Vec<String>) {
    for tag in list {
        found.push(tag.kind.clone());
        kinds(&tag.below, found);
    }
}

#[test]
fn every_paper_can_be_read_without_seeing_it() {
    for name in EXAMPLES {
        let books = books(name);
        for paper in [books.report(), books.sheet(), books.brief(), books.talk()] {
            let document = opened(&paper);
            assert_eq!(problems(&document), [] as [&str; 0], "{name}: {}", paper.kicker);
            let mut found = Vec::new();
            kinds(&tree(&document), &mut found);
            for kind in ["H1", "H2", "P"] {
                assert!(found.iter().any(|known| known == kind), "{name}: {}: no {kind}", paper.kicker);
            }
        }
    }
}

/// Changes every dictionary that fits, and says how many did.
fn spoil(document: &mut Document, fits: impl Fn(&Dictionary) -> bool, change: impl Fn(&mut Dictionary)) -> usize {
    let mut count = 0;
    for keys in document.objects.values_mut().filter_map(|object| object.as_dict_mut().ok()) {
        if fits(keys) {
            change(keys);
            count += 1;
        }
    }
    count
}

fn has_name(keys: &Dictionary, key: &str, name: &str) -> bool {
    keys.get(key.as_bytes()).and_then(Object::as_name).is_ok_and(|found| found == name.as_bytes())
}

/// One way to spoil a paper, and the complaint about it.
type Spoiling = (fn(&mut Document) -> usize, &'static str);

#[test]
fn a_spoilt_paper_is_complained_of() {
    let whole = opened(&books("bluestone").report());
    let ways: [Spoiling; 8] = [
        (|d| spoil(d, |keys| keys.has(b"Alt"), |keys| drop(keys.remove(b"Alt"))), "a picture has no words"),
        (
            |d| spoil(d, |keys| has_name(keys, "S", "H2"), |keys| keys.set("S", "H4")),
            "a heading of level 4 follows one of level 1",
        ),
        (
            |d| spoil(d, |keys| has_name(keys, "S", "TH"), |keys| keys.set("S", "TD")),
            "a table has no heads, or heads without their reach",
        ),
        (
            |d| spoil(d, |keys| has_name(keys, "S", "TR"), |keys| keys.set("S", "P")),
            "a table holds something else than rows",
        ),
        (|d| spoil(d, |keys| has_name(keys, "S", "LBody"), |keys| keys.set("S", "P")), "a point has no body"),
        (
            |d| spoil(d, |keys| keys.has(b"ToUnicode"), |keys| drop(keys.remove(b"ToUnicode"))),
            "letters do not map to Unicode",
        ),
        (
            |d| spoil(d, |keys| has_name(keys, "Subtype", "Link"), |keys| drop(keys.remove(b"Contents"))),
            "a link of page 1 has no words",
        ),
        (
            |d| spoil(d, |keys| keys.has(b"StructTreeRoot"), |keys| drop(keys.remove(b"StructTreeRoot"))),
            "there are no tags",
        ),
    ];
    for (way, complaint) in ways {
        let mut document = whole.clone();
        assert!(way(&mut document) > 0, "nothing was spoilt for: {complaint}");
        let found = problems(&document);
        assert!(found.iter().any(|problem| problem == complaint), "{complaint}: {found:?}");
    }
}

/// Letters outside of all tags are found, where a page has some.
#[test]
fn letters_without_a_tag_are_found() {
    let mut document = opened(&books("bluestone").brief());
    let page = document.page_iter().next().expect("a page");
    let bare = b"BT (A) Tj ET".to_vec();
    document.add_page_contents(page, bare).expect("added");
    assert!(problems(&document).iter().any(|problem| problem.contains("outside of all tags")));
}
