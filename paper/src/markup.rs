//! A paper as text of the typesetter.
//!
//! Words come in as string literals, never as markup, so nothing that a file holds can be taken for an instruction. What
//! the letters cannot show is set as its number in Unicode, and no paper fails for it. Links
//! are written only to targets that the paper has, and a target only once; pictures go along as files by number.

use crate::cells::ledger;
use crate::world::shows;
use crate::{Size, keep, qr};
use report::document::{Block, FindingText, Inline, Paper, Severity, full_sentence, letter, sentence};
use report::figure::Figure;
use report::html::formula::{Piece, Raised, pieces, runs};
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// Points of paper for each pixel of a figure, so that its letters are as large as those of the text.
const POINTS: f64 = 0.65;
/// The same on a page of small letters; the smallest of a figure stay above 7.5 points.
const SMALL_POINTS: f64 = 0.58;
/// Letters after which a word may break that has no space: the narrowest column holds about as many.
const LONGEST_WORD: usize = 20;
const STYLE: &str = include_str!("style.typ");

/// What the typesetter gets.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Set {
    /// The text.
    pub text: String,
    /// Files that it names.
    pub files: Vec<(String, Vec<u8>)>,
}

/// The text being written.
pub struct Writer {
    out: String,
    files: Vec<(String, Vec<u8>)>,
    targets: BTreeSet<String>,
    written: BTreeSet<String>,
    points: f64,
}

/// Writes a paper.
pub fn write(paper: &Paper, size: Size) -> Set {
    let blocks = &paper.document.blocks;
    let mut writer = Writer {
        out: STYLE.to_owned(),
        files: Vec::new(),
        targets: targets(blocks),
        written: BTreeSet::new(),
        points: if paper.small { SMALL_POINTS } else { POINTS },
    };
    let (year, month, day) = paper.date;
    let name = match size {
        Size::A4 => "a4",
        Size::Letter => "us-letter",
    };
    let _ = writeln!(
        writer.out,
        "#show: sheet.with(title: {}, kicker: [{}], subtitle: [{}], foot: [{}], date: datetime(year: {year}, month: {month}, day: {day}), size: \"{name}\", compact: {}, heading-text: heading(level: 1)[{}])",
        literal(&paper.document.title),
        rich(&paper.kicker),
        rich(&paper.subtitle),
        rich(&paper.foot),
        paper.small,
        rich(&paper.document.title),
    );
    writer.blocks(blocks);
    for (place, file) in paper.attachments.iter().enumerate() {
        let path = format!("attached-{place}");
        let _ = writeln!(
            writer.out,
            "#pdf.attach({}, read(\"/{path}\", encoding: none), relationship: {}, mime-type: {}, description: {})",
            literal(&file.name),
            literal(if place == 0 { "source" } else { "data" }),
            literal(file.mime),
            literal(&file.description),
        );
        writer.files.push((path, file.bytes.clone()));
    }
    Set { text: writer.out, files: writer.files }
}

impl Writer {
    fn blocks(&mut self, blocks: &[Block]) {
        let mut at = 0;
        while let Some(block) = blocks.get(at) {
            let rest = &blocks[at..];
            at += match block {
                Block::Lead(_) | Block::Claim(_) => self.leads(rest),
                Block::Line(_) if source(block).is_some() => self.sources(rest),
                Block::Address { text, address } => 1 + self.scanned(None, text, address, &rest[1..]),
                Block::Subheading(heading) => match rest.get(1) {
                    Some(Block::Address { text, address }) => {
                        2 + self.scanned(Some(heading), text, address, &rest[2..])
                    }
                    _ => self.one(block, true),
                },
                _ => self.one(block, keep::stays(blocks, at)),
            };
        }
    }

    fn one(&mut self, block: &Block, stays: bool) -> usize {
        self.block(block, stays);
        1
    }

    /// Leads stand together between rules.
    fn leads(&mut self, blocks: &[Block]) -> usize {
        let count = blocks.iter().take_while(|block| matches!(block, Block::Lead(_) | Block::Claim(_))).count();
        self.out += "#lead[";
        for lead in &blocks[..count] {
            match lead {
                Block::Lead(line) => self.line(line),
                Block::Claim(text) => self.out += &rich(text),
                _ => {}
            }
            self.out += "\n\n";
        }
        self.out += "]\n";
        count
    }

    /// Sources stand together in small letters.
    fn sources(&mut self, blocks: &[Block]) -> usize {
        let listed: Vec<&[Inline]> = blocks.iter().map_while(source).collect();
        self.out += "#sources(";
        for line in &listed {
            self.out += "[";
            self.line(line);
            self.out += "], ";
        }
        self.out += ")\n";
        listed.len()
    }

    /// An address as a pattern beside its heading and as many of the words that follow as it is high.
    fn scanned(&mut self, heading: Option<&str>, text: &str, address: &str, blocks: &[Block]) -> usize {
        let heading = heading.map(|heading| Block::Subheading(heading.to_owned()));
        let Some((svg, side)) = qr::drawn(address) else {
            heading.iter().for_each(|heading| self.block(heading, true));
            let _ = writeln!(self.out, "#small[{}]\n", rich(&format!("{text}: {address}")));
            return 0;
        };
        let count = keep::beside(blocks);
        let path = self.file(svg.into_bytes());
        let _ = write!(
            self.out,
            "#scan({}, {side:.2}mm, link({}, drawn(\"{path}\", {side:.2}mm, {})))[",
            !matches!(blocks[..count].last(), Some(Block::Table(_))),
            literal(address),
            literal(&format!("{text}: {address}"))
        );
        heading.iter().for_each(|heading| self.block(heading, true));
        self.blocks(&blocks[..count]);
        self.out += "]\n";
        count
    }

    fn block(&mut self, block: &Block, stays: bool) {
        match block {
            Block::Heading(text) => self.put("#heading(level: 2)[", text, "]\n"),
            Block::Subheading(text) => self.put("#heading(level: 3)[", text, "]\n"),
            Block::Anchored { id, heading } => {
                self.target(id);
                self.put("#heading(level: 2)[", heading, "]\n");
            }
            Block::Claim(text) | Block::Paragraph(text) => self.put(words(stays), text, "]\n"),
            Block::Line(line) | Block::Lead(line) => {
                self.out += words(stays);
                self.line(line);
                self.out += "]\n";
            }
            Block::List(points) => self.list(points),
            Block::Caution(text) => {
                let (word, rest) = report::html::signalled(text);
                let set = if word.starts_with("Danger") { "danger" } else { "caution" };
                self.put(&format!("#{set}({}, {stays}, [", !keep::unbroken(text)), word, "], [");
                self.put("", &sentence(rest), "])\n");
            }
            Block::Hold(text) => self.put(&format!("#hold({}, {stays})[", !keep::unbroken(text)), text, "]\n"),
            Block::Table(table) => ledger(self, table, stays),
            Block::Finding(finding) => self.finding(finding),
            Block::Figure(figure) => self.figure(figure),
            Block::Boxes(boxes) => self.boxes(boxes),
            Block::Address { text, address } => self.put("#small[", &format!("{text}: {address}"), "]\n"),
            Block::Verbatim(text) => {
                for (part, lines) in keep::record(&printable(text)) {
                    let (head, rest) = (part == keep::Part::Head, part == keep::Part::Rest);
                    let _ = writeln!(self.out, "#record({head}, {rest}, {})", literal(&folded(&lines)));
                }
            }
            Block::NewPage => self.out += "#pagebreak(weak: true)\n",
        }
    }

    fn put(&mut self, before: &str, text: &str, after: &str) {
        self.out += before;
        self.out += &rich(text);
        self.out += after;
    }

    fn list(&mut self, points: &[String]) {
        self.out += "#list(";
        for point in points {
            let _ = write!(self.out, "[{}], ", rich(point));
        }
        self.out += ")\n";
    }

    fn boxes(&mut self, boxes: &[(String, Vec<String>)]) {
        self.out += "#boxes(";
        for (title, points) in boxes {
            let _ = writeln!(self.out, "[*{}*", rich(title));
            self.list(points);
            self.out += "], ";
        }
        self.out += ")\n";
    }

    fn finding(&mut self, finding: &FindingText) {
        let word = match finding.severity {
            Severity::Error | Severity::Warning => "Wrong.",
            Severity::Caution => "Caution.",
            Severity::Note => "Note.",
        };
        let _ = write!(
            self.out,
            "#note({})[*{}* {}",
            !matches!(finding.severity, Severity::Note),
            rich(word),
            rich(&full_sentence(&finding.message))
        );
        if let Some((line, column)) = finding.place {
            let _ = write!(self.out, " #small[{}]", rich(&format!("(line\u{a0}{line}, column\u{a0}{column})")));
        }
        if !finding.causes.is_empty() {
            self.list(&finding.causes);
        }
        for hint in &finding.hints {
            let _ = write!(self.out, "\n\n#small[{}]", rich(&full_sentence(hint)));
        }
        self.out += "]\n";
    }

    fn figure(&mut self, figure: &Figure) {
        let (svg, width) = figure.on_paper();
        let path = self.file(drawable(&svg).into_bytes());
        let _ = writeln!(
            self.out,
            "#picture(\"{path}\", calc.min({:.1}, 490) * 1pt, {}, [*{}.* {}])",
            width * self.points,
            literal(&format!("{}. {}", figure.title, figure.description)),
            rich(&figure.title),
            rich(&figure.caption),
        );
    }

    /// Keeps a picture and gives its path.
    pub fn file(&mut self, bytes: Vec<u8>) -> String {
        let path = format!("picture-{}.svg", self.files.len());
        self.files.push((path.clone(), bytes));
        format!("/{path}")
    }

    fn target(&mut self, id: &str) {
        if self.written.insert(id.to_owned()) {
            let _ = write!(self.out, "#at({})", literal(id));
        }
    }

    /// A line with its links and marks.
    pub fn line(&mut self, line: &[Inline]) {
        for part in line {
            match part {
                Inline::Text(text) => self.out += &rich(text),
                Inline::Strong(text) => self.put("#strong[", text, "]"),
                Inline::Struck(text) => self.put("#strike[", text, "]"),
                Inline::Link { to, text } if self.targets.contains(to) => {
                    let _ = write!(self.out, "#to({})[{}]", literal(to), rich(text));
                }
                Inline::Link { text, .. } => self.out += &rich(text),
                Inline::Target { id, text } => {
                    self.target(id);
                    self.out += &rich(text);
                }
                Inline::Status(status) => {
                    let _ = write!(self.out, "#mark({})", literal(letter(*status)));
                }
            }
        }
    }

    /// Writes text of the typesetter.
    pub fn raw(&mut self, text: &str) {
        self.out += text;
    }
}

/// What begins a paragraph.
fn words(stays: bool) -> &'static str {
    if stays { "#kept[" } else { "#par[" }
}

/// The line of a block that is one of the numbered sources.
fn source(block: &Block) -> Option<&[Inline]> {
    match block {
        Block::Line(line) => match line.first() {
            Some(Inline::Target { id, .. }) if id.starts_with("source-") => Some(line),
            _ => None,
        },
        _ => None,
    }
}

/// Targets that the blocks have.
fn targets(blocks: &[Block]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut look = |line: &[Inline]| {
        for part in line {
            if let Inline::Target { id, .. } = part {
                found.insert(id.clone());
            }
        }
    };
    for block in blocks {
        match block {
            Block::Line(line) | Block::Lead(line) => look(line),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let report::document::Cell::Line(line) = cell {
                        look(line);
                    }
                }
            }
            _ => {}
        }
    }
    found.extend(blocks.iter().filter_map(|block| match block {
        Block::Anchored { id, .. } => Some(id.clone()),
        _ => None,
    }));
    found
}

/// Words with their formulas set.
pub fn rich(text: &str) -> String {
    let mut out = String::new();
    for piece in pieces(&printable(text)) {
        match piece {
            Piece::Words(words) => out += &shown(&words),
            Piece::Formula(formula) => {
                for (raised, run) in runs(&formula) {
                    match raised {
                        Raised::No => out += &shown(&run),
                        Raised::Inferior => {
                            let _ = write!(out, "#lo({})", literal(&run));
                        }
                        Raised::Superior => {
                            let _ = write!(out, "#hi({})", literal(&run));
                        }
                    }
                }
            }
        }
    }
    out
}

/// Words as a string; an en dash is joined to what follows, or a range could break behind it, and so is the slash of a
/// compound unit.
fn shown(words: &str) -> String {
    if words.is_empty() {
        return String::new();
    }
    format!(
        "#{};",
        literal(
            &folded(words)
                .replace("–\u{a0}", "–\u{2060}\u{a0}")
                .replace("mol/", "mol/\u{2060}")
                .replace("mg/", "mg/\u{2060}")
        )
    )
}

/// The text with places to break in words that no line holds.
fn folded(text: &str) -> Cow<'_, str> {
    if text.split(char::is_whitespace).all(|word| word.chars().nth(LONGEST_WORD).is_none()) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 32);
    let mut length = 0;
    for character in text.chars() {
        length = if character.is_whitespace() { 0 } else { length + 1 };
        out.push(character);
        if length == LONGEST_WORD {
            out.push('\u{200b}');
            length = 0;
        }
    }
    Cow::Owned(out)
}

/// The text with what the letters cannot show as its number in Unicode.
fn printable(text: &str) -> Cow<'_, str> {
    if text.chars().all(shows) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for character in text.chars() {
        if shows(character) || character.is_control() {
            out.push(character);
        } else {
            let _ = write!(out, "[U+{:04X}]\u{200b}", u32::from(character));
        }
    }
    Cow::Owned(out)
}

/// A figure whose letters all can be shown: its places were measured for one letter each, so one stands for one.
fn drawable(svg: &str) -> String {
    svg.chars().map(|character| if shows(character) || character.is_control() { character } else { '?' }).collect()
}

/// A string of the typesetter.
pub fn literal(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for character in text.chars() {
        match character {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            '\n' => out += "\\n",
            '\r' => {}
            '\t' => out += "    ",
            other if other.is_control() => {}
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_file_holds_is_never_markup() {
        let set = rich("#import \"x\" \\ [a] $b$ *c* Cu2O");
        assert!(set.starts_with("#\"#import \\\"x\\\" \\\\ [a] $b$ *c* \";"), "{set}");
        assert!(set.ends_with("#\"Cu\";#lo(\"2\")#\"O\";"), "{set}");
    }

    #[test]
    fn a_link_without_a_target_is_plain() {
        let document = report::document::Document {
            title: String::new(),
            blocks: vec![Block::Line(vec![report::document::link("nowhere", "r1")])],
        };
        let paper = Paper {
            kicker: String::new(),
            subtitle: String::new(),
            document,
            foot: String::new(),
            date: (2026, 1, 1),
            small: false,
            attachments: Vec::new(),
        };
        assert!(!write(&paper, Size::A4).text.contains("#to(\"nowhere\""));
    }
}
