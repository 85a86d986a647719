//! How does a finding point at the place it is about?
//!
//! Each finding is a sentence, the lines of the file with the place marked under them, and the remedies below. Only
//! the lines concerned are handed on, so a file of any size is quick; a place in a line too long to read, or in bytes
//! that are no text, is told as line and column.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Element, Level, Origin, Renderer, Snippet};
use prep::outcome::{Finding, Severity};
use report::document::cause_words;
use std::ops::Range;

/// Longest stretch of text that is shown, in bytes.
const LONGEST: usize = 2000;

/// The findings as text for a terminal; `name` says what `source` is: a file, or what was typed.
pub fn findings(findings: &[Finding], source: &[u8], name: &str) -> String {
    let source = std::str::from_utf8(source).unwrap_or_default();
    let renderer = Renderer::styled().decor_style(DecorStyle::Ascii);
    let mut text = String::new();
    for finding in findings {
        text += &one(&renderer, finding, source, name);
        text += "\n\n";
    }
    text
}

fn one(renderer: &Renderer, finding: &Finding, source: &str, name: &str) -> String {
    let title = level(finding.severity).primary_title(&finding.message).id(finding.code);
    let remedies = finding.hints.iter().map(|hint| Element::from(Level::HELP.message(hint.as_str())));
    let causes: Vec<String> =
        finding.causes.iter().map(|cause| format!("would explain it: {}", cause_words(cause))).collect();
    let causes = causes.iter().map(|cause| Element::from(Level::NOTE.message(cause.as_str())));
    let group = match finding.span.clone().and_then(|span| lines_around(source, span)) {
        Some((first_line, lines, mark)) => title.element(
            Snippet::source(lines).path(name).line_start(first_line).annotation(AnnotationKind::Primary.span(mark)),
        ),
        None if finding.line > 0 => {
            title.element(Origin::path(name).line(finding.line).char_column(finding.column.max(1)))
        }
        None => title.element(Origin::path(name)),
    };
    renderer.render(&[group.elements(causes).elements(remedies)])
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Caution => Level::WARNING.with_name("caution"),
        Severity::Note => Level::NOTE,
    }
}

/// The whole lines that a span touches: number of the first, their text, and the span within them.
fn lines_around(source: &str, span: Range<usize>) -> Option<(usize, &str, Range<usize>)> {
    let (start, end) = (span.start, span.end.max(span.start).min(source.len()));
    let (before, marked) = (source.get(..start)?, source.get(start..end)?);
    let marked = marked.lines().next().unwrap_or_default();
    let first = before.rfind('\n').map_or(0, |at| at + 1);
    let rest = source.get(start + marked.len()..)?;
    let last = start + marked.len() + rest.find('\n').unwrap_or(rest.len());
    let lines = source.get(first..last)?;
    if lines.len() > LONGEST {
        return None;
    }
    let number = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
    Some((number, lines, start - first..start - first + marked.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(span: Option<Range<usize>>) -> Finding {
        Finding {
            code: "unknown-unit",
            severity: Severity::Error,
            message: "Unknown unit `gr`.".to_owned(),
            line: 2,
            column: 8,
            span,
            hints: vec!["Did you mean `g`?".to_owned()],
            causes: Vec::new(),
        }
    }

    fn shown(source: &str, span: Option<Range<usize>>) -> String {
        anstream::adapter::strip_str(&findings(&[finding(span)], source.as_bytes(), "a.toml")).to_string()
    }

    #[test]
    fn a_finding_points_at_its_place() {
        let source = "title = \"x\"\nweigh = \"3 gr\"\n";
        let text = shown(source, Some(23..25));
        assert!(text.contains("a.toml:2:12") && text.contains("^^") && text.contains("Did you mean"), "{text}");
    }

    #[test]
    fn no_place_is_too_odd_to_tell() {
        let backwards = Range { start: 7, end: 3 };
        for span in [Some(backwards), Some(0..0), Some(5..900), Some(900..901), Some(4..5), None] {
            let text = shown("tµt\nö\n", span.clone());
            assert!(text.contains("unknown-unit") && text.contains("a.toml"), "{span:?}: {text}");
        }
        let long = "x".repeat(10_000);
        assert!(shown(&long, Some(9_000..9_001)).contains("a.toml:2:8"));
    }
}
