//! Findings in words, the gravest first.

use super::{Block, FindingText};
use crate::number;
use prep::outcome::{Cause, Finding};

/// A section with all findings; says "none" if there are none.
pub(super) fn section(findings: &[Finding]) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Findings".to_owned())];
    if findings.is_empty() {
        blocks.push(Block::Paragraph("None.".to_owned()));
    }
    let mut ranked: Vec<&Finding> = findings.iter().collect();
    ranked.sort_by_key(|finding| finding.severity);
    blocks.extend(ranked.into_iter().map(|finding| Block::Finding(in_words(finding))));
    blocks
}

fn in_words(finding: &Finding) -> FindingText {
    FindingText {
        severity: finding.severity,
        code: finding.code,
        place: (finding.line > 0).then_some((finding.line, finding.column)),
        message: finding.message.clone(),
        hints: finding.hints.clone(),
        causes: finding.causes.iter().map(cause).collect(),
    }
}

fn cause(cause: &Cause) -> String {
    let mut text = cause.cause.clone();
    if let Some(needs) = &cause.needs {
        text += &format!(", needs {}", number::interval(needs));
    }
    if let Some(probability) = cause.probability {
        text += &format!(" (probability {})", number::chance(probability));
    }
    text
}
