//! What does the typesetter see of the world? One text, the pictures in it, three fonts; no disk, no clock, no net.

use crate::NotSet;
use crate::markup::Set;
use report::document::Paper;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| {
    // Cells that head a row are tagged as such.
    LazyHash::new(Library::builder().with_features(std::iter::once(Feature::A11yExtras).collect()).build())
});
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let bytes = [report::fonts::REGULAR, report::fonts::BOLD, report::fonts::ITALIC];
    bytes.into_iter().filter_map(|font| Font::new(Bytes::new(font), 0)).collect()
});
static BOOK: LazyLock<LazyHash<FontBook>> = LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

/// Whether the letters on paper can show a character, or need not: spaces, and marks that are never seen.
pub fn shows(character: char) -> bool {
    let unseen = matches!(character, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2064}' | '\u{feff}');
    let drawn = || FONTS.iter().all(|font| font.info().coverage.contains(u32::from(character)));
    character.is_ascii() || character.is_whitespace() || unseen || drawn()
}

/// Rounds of the typesetter's memory after which an entry is dropped.
const KEPT_ROUNDS: usize = 4;

struct Desk {
    main: Source,
    files: BTreeMap<String, Bytes>,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(id.get().vpath().get_without_slash()).cloned().ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets the text and writes it as PDF; with the count of its pages.
pub fn typeset(set: Set, paper: &Paper) -> Result<(Vec<u8>, usize), NotSet> {
    let path = VirtualPath::new("/paper.typ").map_err(|error| NotSet { reasons: vec![error.to_string()] })?;
    let id = FileId::new(RootedPath::new(VirtualRoot::Project, path));
    let files = set.files.into_iter().map(|(name, bytes)| (name, Bytes::new(bytes))).collect();
    let desk = Desk { main: Source::new(id, set.text), files };
    let document: PagedDocument = typst::compile(&desk).output.map_err(|errors| told(&errors))?;
    let (year, month, day) = paper.date;
    let standards = PdfStandards::new(&[PdfStandard::Ua_1])
        .map_err(|error| NotSet { reasons: vec![error.message().to_string()] })?;
    let options = PdfOptions {
        ident: Smart::Auto,
        creator: Smart::Custom(Some("Tarebook".into())),
        timestamp: Datetime::from_ymd_hms(year, month, day, 0, 0, 0).map(Timestamp::new_utc),
        page_ranges: None,
        standards,
        tagged: true,
        pretty: false,
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|errors| told(&errors));
    typst::comemo::evict(KEPT_ROUNDS);
    Ok((bytes?, document.pages().len()))
}

fn told(errors: &[SourceDiagnostic]) -> NotSet {
    NotSet { reasons: errors.iter().map(|error| error.message.to_string()).collect() }
}
