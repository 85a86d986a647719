//! Where are the comments of a text?
//!
//! A comment runs from a `#` outside of any quotes to the end of its line. The text is scanned without regard to its
//! meaning, so that what is found here can hold the writers to what they must keep.

/// A comment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Comment {
    /// Place of the `#`, bytes.
    pub start: usize,
    /// From the `#` to the end of the line, without the spaces there.
    pub text: String,
    /// Whether nothing else stands on its line.
    pub alone: bool,
    /// Whether the line above is empty.
    pub apart: bool,
}

/// The comments of a text that is valid TOML, in order.
pub(crate) fn comments(text: &str) -> Vec<Comment> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'#' => {
                let end = bytes[at..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |n| at + n);
                found.push(comment(text, at, end));
                at = end;
            }
            b'"' | b'\'' => at = behind_quotes(bytes, at),
            _ => at += 1,
        }
    }
    found
}

fn comment(text: &str, start: usize, end: usize) -> Comment {
    let before = text.get(..start).unwrap_or_default();
    Comment {
        start,
        text: text.get(start..end).unwrap_or_default().trim_end().to_owned(),
        alone: before.trim_start_matches('\u{feff}').rsplit('\n').next().is_none_or(|line| line.trim().is_empty()),
        apart: follows_an_empty_line(text, start),
    }
}

/// Whether the line above the one in which a place lies is empty.
pub(crate) fn follows_an_empty_line(text: &str, place: usize) -> bool {
    let before = text.get(..place).unwrap_or_default();
    let mut lines = before.rsplit('\n');
    lines.next();
    lines.next().is_some_and(|line| line.trim().is_empty())
}

/// The place behind the text in quotes that begins here.
fn behind_quotes(bytes: &[u8], start: usize) -> usize {
    let quote = bytes[start];
    let three = [quote; 3];
    let is_long = bytes[start..].starts_with(&three);
    let mut at = start + if is_long { 3 } else { 1 };
    while let Some(byte) = bytes.get(at) {
        if *byte == b'\\' && quote == b'"' {
            at += 2;
        } else if is_long && bytes[at..].starts_with(&three) {
            // Up to two quotes may stand before the closing three.
            let run = bytes[at..].iter().take_while(|b| **b == quote).count();
            return at + run.min(5);
        } else if !is_long && (*byte == quote || *byte == b'\n') {
            return at + 1;
        } else {
            at += 1;
        }
    }
    bytes.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_are_found_and_quotes_are_not() {
        let text = "# one\n\n  # two \na = \"# no \\\" # no\" # three\nb = '# no' # four\nc = \"\"\"\n# no \"\" # no \\\"\"\" # no\n\"\"\"\" # five\nd = '''# no'''# six";
        let found: Vec<(String, bool, bool)> = comments(text).into_iter().map(|c| (c.text, c.alone, c.apart)).collect();
        let expected = [
            ("# one", true, false),
            ("# two", true, true),
            ("# three", false, false),
            ("# four", false, false),
            ("# five", false, false),
            ("# six", false, false),
        ];
        assert_eq!(found, expected.map(|(text, alone, apart)| (text.to_owned(), alone, apart)));
        assert!(text.parse::<toml_edit::DocumentMut>().is_ok());
    }
}
