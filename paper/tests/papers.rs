//! Do the papers of the shipped examples say what their books say, and can they be read by anyone?
//!
//! The PDF is read by another library than the one that wrote it (lopdf); the page by the parser that browsers use
//! (html5ever).

mod books;
#[allow(dead_code, reason = "the tests beside this one use the rest")]
mod read;

use books::{EXAMPLES, books, books_of, claimed};
use html5ever::tendril::TendrilSink as _;
use html5ever::{ParseOpts, parse_document};
use lopdf::{Document, Object};
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use paper::Size;
use prep::outcome::Verdict;
use read::{set, words_of};
use report::document::{Block, Paper, Written, full_report, plain};

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

/// Whether the intervals of the report are those of the frozen plan, or of a plan that was changed since.
#[test]
fn a_plan_that_was_changed_since_is_told_as_such() {
    let mut books = books("zinc-lozenges");
    let told = |books: &books::Books| {
        let written = books.written("zinc-lozenges.toml");
        let paper = full_report(&Written { frozen_at: Some("2026-07-04T09:00:00"), ..written });
        (words_of(&set(&paper, Size::A4)), paper.foot)
    };
    books.plan.frozen = Some(books.record.plan_hash.clone());
    let (words, foot) = told(&books);
    assert!(words.contains("itsintervalsarethoseofthetableofreadings"), "the plan stands");
    assert!(foot.contains(", frozen 4\u{a0}July\u{a0}2026, 09:00"), "{foot}");
    books.plan.frozen = Some("0123456789abcdef".to_owned());
    let (words, foot) = told(&books);
    assert!(
        words.contains("thefilewaschangedsince") && !words.contains("itsintervalsarethose"),
        "the plan was changed"
    );
    assert!(foot.contains("changed since 0123\u{202f}4567\u{202f}89ab was frozen"), "{foot}");
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

/// Whether the caption of every figure is its first or its last child, as the HTML standard wants it (4.4.12).
fn captions_stand_right(handle: &Handle) -> bool {
    let children = handle.children.borrow();
    let named =
        |child: &Handle, tag: &str| matches!(&child.data, NodeData::Element { name, .. } if &*name.local == tag);
    let inner: Vec<&Handle> = children.iter().filter(|c| matches!(c.data, NodeData::Element { .. })).collect();
    let place = inner.iter().position(|child| named(child, "figcaption"));
    let right = !named(handle, "figure") || place.is_some_and(|place| place == 0 || place + 1 == inner.len());
    right && children.iter().all(captions_stand_right)
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
            assert!(captions_stand_right(&tree.document), "{name}: a caption stands between other parts of its figure");
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

/// However much there is to say, the brief report is one page, and says where it was cut.
#[test]
fn a_brief_report_that_does_not_fit_is_cut_and_says_so() {
    let mut paper = books("zinc-lozenges").brief();
    let more = (0..80).map(|line| Block::Paragraph(format!("Correction {line}, with a reason that is long enough.")));
    paper.document.blocks.extend(more);
    for size in [Size::A4, Size::Letter] {
        let bytes = set(&paper, size);
        assert_eq!(Document::load_mem(&bytes).expect("a PDF").get_pages().len(), 1);
        let words = words_of(&bytes);
        assert!(words.contains("Correction2,") && !words.contains("Correction79,"), "the first stand there");
        assert!(words.contains("Herethepageisfull"), "it says so");
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

/// Letters that the face does not have are no reason to refuse a paper: they stand as their number.
#[test]
fn what_the_letters_cannot_show_is_told_by_its_number() {
    let mut paper = books("bluestone").sheet();
    paper.document.title = "Kupfer für 東京 🧪".to_owned();
    paper.document.blocks.push(Block::Paragraph("∂ and Å, µ, π, →, ≥, ²".to_owned()));
    paper.document.blocks.push(Block::Verbatim("label = \"東\"".to_owned()));
    let found = words_of(&set(&paper, Size::A4));
    for told in ["Kupferfür[U+6771][U+4EAC][U+1F9EA]", "[U+2202]andÅ,", "label=\"[U+6771]\""] {
        assert!(found.contains(told), "{told}");
    }
}

#[test]
fn what_only_the_author_can_say_is_printed() {
    let own = "author = \"A. Author\"\nrun = \"14, the second of two; the first gave 23.1 g\"\npurpose = \"A pigment, after an old recipe\"\nafterwards = \"wash with warm water\"\n";
    let books = books_of("bluestone", own.to_owned() + &books("bluestone").text, None);
    let words = words_of(&set(&books.report(), Size::A4));
    for told in [
        "Run14,thesecondoftwo;thefirstgave23.1g.",
        "A.Author.2May2026.",
        "Apigment,afteranoldrecipe.",
        "Anothertime:Washwithwarmwater.",
    ] {
        assert!(words.contains(told), "{told}");
    }
    let words = words_of(&set(&books.sheet(), Size::A4));
    assert!(words.contains("Benchsheetofrun14,thesecondoftwo"), "{}", &words[..200]);
}

/// 100.0 g at 98 to 100 % of CuSO4·5H2O, 249.68 g/mol by the atomic weights of CIAAW 2021: 0.3965 mol, 25.20 g Cu; worked
/// by hand. The rectangle of the label is 2 % wide: 0.0023 mol.
#[test]
fn moles_of_charges_stand_in_the_procedure_and_elements_on_the_sheet() {
    let books = books("bluestone");
    let charge = &books.plan.weigh_out[0];
    let (name, amount) = &charge.brings[0];
    assert_eq!(name, "CuSO4·5H2O");
    assert!((amount.mean - 0.99 * 100.0 / 249.68).abs() < 5e-5, "{amount:?}");
    assert!((amount.standard_uncertainty - 0.02 / 12f64.sqrt() * 100.0 / 249.68).abs() < 5e-5, "{amount:?}");
    let (element, mass) = &charge.elements[0];
    assert_eq!(element, "Cu");
    assert!((mass.mean - amount.mean * 63.546).abs() < 2e-3, "{mass:?}");
    let soda = books.plan.weigh_out.iter().find(|line| line.supply == "washing soda").expect("soda");
    assert_eq!(soda.brings[0].0, "Na2CO3", "two hydrates count together");
    // All monohydrate, 124.00 g/mol, or all decahydrate, 286.14 g/mol.
    assert!(soda.brings[0].1.low > 126.0 / 286.14 && soda.brings[0].1.high < 126.0 / 124.00, "{soda:?}");
    assert!(soda.elements.is_empty(), "no copper in soda");
    let words = words_of(&set(&books.report(), Size::A4));
    assert!(words.contains("(0.3965±0.0023molCuSO4·5H2O"), "moles are told");
}

/// Formulas, charges and hydrates are set alike in both forms: the letters of the words are the same, and digits are
/// inferiors or superiors.
#[test]
fn formulas_charges_and_hydrates_are_set_alike_in_both_forms() {
    let mut paper = books("bluestone").brief();
    paper.document.blocks.insert(
        0,
        Block::Paragraph(
            "Of SO4^2-(aq), CuSO4·5H2O and [Cu(NH3)4]^2+, −0.12\u{a0}g and 12\u{202f}500\u{a0}g.".to_owned(),
        ),
    );
    let page = report::html::alone::page(&paper);
    for set in [
        "SO<sub>4</sub><sup>2−</sup>(aq)",
        "CuSO<sub>4</sub>·5H<sub>2</sub>O",
        "[Cu(NH<sub>3</sub>)<sub>4</sub>]<sup>2+</sup>",
        "−0.12\u{a0}g and 12\u{202f}500\u{a0}g",
    ] {
        assert!(page.contains(set), "{set}");
    }
    let words = words_of(&set(&paper, Size::A4));
    for told in ["OfSO42−(aq),CuSO4·5H2Oand[Cu(NH3)4]2+,", "−0.12gand12500g."] {
        assert!(words.contains(told), "{told}: {}", &words[..400]);
    }
}
