//! Which sources does a page name, and under which numbers?
//!
//! A source gets its number when it is first named; the list at the end holds exactly those that were named. A key of
//! the table of sources is written out as its citation; other words stand as they are.

use super::inline::{Inline, link, target, words};
use super::{Block, Line};
use chem::SourceKey;

/// Words that say where a figure comes from without being a publication.
const NO_PUBLICATION: [&str; 4] = ["readings", "label", "file", "account"];

/// Citations in the order in which they were named.
#[derive(Clone, Debug, Default)]
pub struct References {
    named: Vec<String>,
}

impl References {
    /// The mark of a source, naming it; none for readings, label and file, which are no publications.
    pub fn cite(&mut self, source: &str) -> Option<Inline> {
        let source = source.trim();
        if source.is_empty() || NO_PUBLICATION.contains(&source) {
            return None;
        }
        // A key and its citation written out are one source.
        let citation = SourceKey::from_text(source).map_or(source, |key| key.citation());
        let place = self.named.iter().position(|known| known == citation).unwrap_or_else(|| {
            self.named.push(citation.to_owned());
            self.named.len() - 1
        });
        Some(link(format!("source-{}", place + 1), format!("[{}]", place + 1)))
    }

    /// Marks of several sources, each once, with a space before each.
    pub fn cite_all<'a>(&mut self, sources: impl IntoIterator<Item = &'a str>) -> Line {
        let mut line = Vec::new();
        for source in sources.into_iter().flat_map(|source| source.split(';')) {
            if let Some(mark) = self.cite(source).filter(|mark| !line.contains(mark)) {
                line.push(words(crate::number::NO_BREAK.to_string()));
                line.push(mark);
            }
        }
        line
    }

    /// The list, one line for each source named.
    #[must_use]
    pub fn list(&self) -> Vec<Block> {
        let told = |(place, citation): (usize, &String)| {
            Block::Line(vec![
                target(format!("source-{}", place + 1), format!("[{}]", place + 1)),
                words(format!(" {citation}.")),
            ])
        };
        self.named.iter().enumerate().map(told).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::plain;

    #[test]
    fn a_source_keeps_its_number_and_only_named_ones_are_listed() {
        let mut references = References::default();
        let first = references.cite("ciaaw-2021");
        assert_eq!(references.cite("readings"), None);
        references.cite("common-practice");
        assert_eq!(references.cite("ciaaw-2021"), first);
        let written_out = SourceKey::CIAAW_2021.citation();
        assert_eq!(references.cite(written_out), first);
        let list = references.list();
        assert_eq!(list.len(), 2);
        let Block::Line(line) = &list[0] else { panic!("a line") };
        assert!(plain(line).contains("Prohaska"), "{}", plain(line));
    }

    #[test]
    fn several_keys_in_one_cell_are_several_sources() {
        let mut references = References::default();
        let line = references.cite_all(["iso-1042; iso-648", "iso-648"]);
        assert_eq!(plain(&line).trim(), "[1]\u{a0}[2]");
    }
}
