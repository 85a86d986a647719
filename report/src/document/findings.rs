//! Findings in words, the gravest first.

use super::{Block, FindingText};
use crate::number;
use prep::outcome::{Cause, Figure, Finding};

/// A section with all findings; says "none" if there are none.
pub(super) fn section(findings: &[Finding]) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Findings".to_owned())];
    if findings.is_empty() {
        blocks.push(Block::Paragraph("None.".to_owned()));
    }
    let mut ranked: Vec<&Finding> = findings.iter().collect();
    ranked.sort_by_key(|finding| finding.severity);
    blocks.extend(ranked.into_iter().map(told));
    blocks
}

/// One finding as a block.
pub(super) fn told(finding: &Finding) -> Block {
    Block::Finding(in_words(finding))
}

fn in_words(finding: &Finding) -> FindingText {
    FindingText {
        severity: finding.severity,
        code: finding.code,
        place: (finding.line > 0).then_some((finding.line, finding.column)),
        message: finding.message.clone(),
        hints: finding.hints.clone(),
        causes: finding.causes.iter().map(cause_words).collect(),
    }
}

/// A cause with the amount it needs and what it predicts, in words.
#[must_use]
pub fn cause_words(cause: &Cause) -> String {
    let mut text = cause.cause.clone();
    if let Some(needs) = &cause.needs {
        text += &format!(", needs {}", number::interval(needs));
    }
    let predicts: Vec<String> = cause.predicts.iter().map(|(test, figure)| predicted(test, figure)).collect();
    if !predicts.is_empty() {
        text += &format!("; predicts {}", predicts.join(", "));
    }
    if let Some(probability) = cause.probability {
        text += &format!(" (probability {})", number::chance(probability));
    }
    text
}

/// What a cause predicts for a test ("6.1 % loss on heating").
fn predicted(test: &str, figure: &Figure) -> String {
    let value = if figure.value == 0.0 {
        "no".to_owned()
    } else {
        number::unit(&number::significant(figure.value, 3), figure.unit)
    };
    format!("{value} {}", test.replace('_', " "))
}
