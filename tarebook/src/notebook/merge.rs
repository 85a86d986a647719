//! How are two changes of one text brought together?
//!
//! Three-way merge by lines. Where both sides appended different lines at the same place (two readings entered at once),
//! both are kept, those of the file first; any other overlap is a conflict for the user. Neglected: changes within one
//! line, which always conflict.

use std::ops::Range;

/// A merged text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Merged {
    /// Both changes are in it.
    Clean(String),
    /// Both versions stand between marks.
    Conflict(String),
}

/// A stretch of the origin and what stands there now.
struct Hunk<'a> {
    origin: Range<usize>,
    lines: &'a [&'a str],
}

/// Merges two texts made from `origin`.
pub fn merge(origin: &str, theirs: &str, ours: &str) -> Merged {
    let [o, a, b] = [origin, theirs, ours].map(|text| text.split_inclusive('\n').collect::<Vec<_>>());
    let (left, right) = (hunks(&o, &a), hunks(&o, &b));
    let (mut left, mut right) = (left.iter().peekable(), right.iter().peekable());
    let mut out = String::new();
    let mut at = 0;
    let mut clean = true;
    loop {
        let next = match (left.peek(), right.peek()) {
            (None, None) => break,
            (Some(l), Some(r)) if touch(l, r) => {
                let (l, r) = (*l, *r);
                left.next();
                right.next();
                let from = l.origin.start.min(r.origin.start);
                push(&mut out, o.get(at..from));
                at = l.origin.end.max(r.origin.end).max(at);
                if l.lines == r.lines && l.origin == r.origin {
                    push(&mut out, Some(l.lines));
                } else if l.origin.is_empty() && r.origin.is_empty() {
                    push(&mut out, Some(l.lines));
                    push(&mut out, Some(r.lines));
                } else {
                    clean = false;
                    out += "<<<<<<< in the file\n";
                    push(&mut out, Some(l.lines));
                    out += "=======\n";
                    push(&mut out, Some(r.lines));
                    out += ">>>>>>> on this page\n";
                }
                continue;
            }
            (Some(l), Some(r)) if l.origin.start <= r.origin.start => left.next(),
            (_, Some(_)) => right.next(),
            (Some(_), None) => left.next(),
        };
        if let Some(hunk) = next {
            push(&mut out, o.get(at..hunk.origin.start));
            push(&mut out, Some(hunk.lines));
            at = hunk.origin.end.max(at);
        }
    }
    push(&mut out, o.get(at..));
    if clean { Merged::Clean(out) } else { Merged::Conflict(out) }
}

/// Whether two changes concern the same place.
fn touch(l: &Hunk<'_>, r: &Hunk<'_>) -> bool {
    let (a, b) = (&l.origin, &r.origin);
    a.start == b.start || (a.start < b.end && b.start < a.end)
}

/// Lines behind those there are; a line that had no end gets one.
fn push(out: &mut String, lines: Option<&[&str]>) {
    for line in lines.unwrap_or_default() {
        if !out.is_empty() && !out.ends_with('\n') {
            out.push('\n');
        }
        out.push_str(line);
    }
}

/// Where a text differs from its origin: what is common in front and behind is cut off, the middle is aligned by the
/// longest common subsequence of lines.
fn hunks<'a>(origin: &[&str], text: &'a [&'a str]) -> Vec<Hunk<'a>> {
    let front = origin.iter().zip(text).take_while(|(a, b)| a == b).count();
    let behind = origin[front..].iter().rev().zip(text[front..].iter().rev()).take_while(|(a, b)| a == b).count();
    let (o, t) = (&origin[front..origin.len() - behind], &text[front..text.len() - behind]);
    if o.is_empty() && t.is_empty() {
        return Vec::new();
    }
    // Beyond this the middle is taken as one change.
    if o.len().saturating_mul(t.len()) > 4_000_000 {
        return vec![Hunk { origin: front..front + o.len(), lines: t }];
    }
    let width = t.len() + 1;
    let mut longest = vec![0_u32; (o.len() + 1) * width];
    for i in (0..o.len()).rev() {
        for j in (0..t.len()).rev() {
            longest[i * width + j] = if o[i] == t[j] {
                longest[(i + 1) * width + j + 1] + 1
            } else {
                longest[(i + 1) * width + j].max(longest[i * width + j + 1])
            };
        }
    }
    let mut found = Vec::new();
    let (mut i, mut j) = (0, 0);
    while i < o.len() || j < t.len() {
        let (from_o, from_t) = (i, j);
        while (i < o.len() || j < t.len()) && !(i < o.len() && j < t.len() && o[i] == t[j]) {
            if j >= t.len() || (i < o.len() && longest[(i + 1) * width + j] >= longest[i * width + j + 1]) {
                i += 1;
            } else {
                j += 1;
            }
        }
        if i > from_o || j > from_t {
            found.push(Hunk { origin: front + from_o..front + i, lines: &t[from_t..j] });
        }
        while i < o.len() && j < t.len() && o[i] == t[j] {
            (i, j) = (i + 1, j + 1);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_in_different_places_come_together() {
        let merged = merge("a\nb\nc\nd\n", "A\nb\nc\nd\n", "a\nb\nc\nd\ne\n");
        assert_eq!(merged, Merged::Clean("A\nb\nc\nd\ne\n".to_owned()));
    }

    #[test]
    fn two_appended_readings_are_both_kept() {
        let merged = merge("a\nb\n", "a\nr1\nb\n", "a\nr2\nb\n");
        assert_eq!(merged, Merged::Clean("a\nr1\nr2\nb\n".to_owned()));
    }

    #[test]
    fn the_same_line_changed_twice_is_shown_twice() {
        let Merged::Conflict(both) = merge("a\nb\n", "a\nB\n", "a\nbb\n") else { panic!("a conflict") };
        assert!(both.contains("B\n") && both.contains("bb\n") && both.contains("======="));
    }

    #[test]
    fn what_is_equal_or_untouched_is_taken_once() {
        assert_eq!(merge("a\n", "b\n", "b\n"), Merged::Clean("b\n".to_owned()));
        assert_eq!(merge("a\nb", "a\nb", "a\nb\nc"), Merged::Clean("a\nb\nc".to_owned()));
        assert_eq!(merge("", "", ""), Merged::Clean(String::new()));
    }
}
