//! Where in a sentence does a formula stand, and how is it set?
//!
//! A word is taken for a formula if, without what punctuation surrounds it, it reads as one and holds a digit or a
//! charge; families (`Cu2CO3(OH)2·nH2O`) count with their `n`. Digits behind a letter or a bracket become inferiors,
//! charges superiors, never Unicode subscripts. Neglected: formulas without a digit are left as words, which look the
//! same; a name such as “B2” is set as a formula, which errs on the side of typography only.

use chem::{Formula, Species};
use maud::{Markup, PreEscaped, html};

/// A piece of running text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Words, spaces, punctuation.
    Words(String),
    /// A formula.
    Formula(String),
}

/// How high a run of letters in a formula stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Raised {
    /// On the line.
    No,
    /// Below it.
    Inferior,
    /// Above it.
    Superior,
}

/// Running text parted into words and formulas.
#[must_use]
pub fn pieces(text: &str) -> Vec<Piece> {
    let mut list = Vec::new();
    for (at, word) in crate::number::with_ties(text).split(' ').enumerate() {
        if at > 0 {
            words(&mut list, " ");
        }
        part_word(word, &mut list);
    }
    list
}

/// Adds words, to those before if there are any.
fn words(list: &mut Vec<Piece>, text: &str) {
    match list.last_mut() {
        _ if text.is_empty() => {}
        Some(Piece::Words(before)) => before.push_str(text),
        _ => list.push(Piece::Words(text.to_owned())),
    }
}

/// Running text with its formulas set.
#[must_use]
pub fn rich(text: &str) -> Markup {
    html! {
        @for piece in pieces(text) {
            @match piece { Piece::Words(words) => (words), Piece::Formula(formula) => (set_formula(&formula)) }
        }
    }
}

/// A word, parted into a formula and the punctuation about it if it is one.
fn part_word(word: &str, list: &mut Vec<Piece>) {
    // A formula does not hold a no-break space; what it ties together is parted for the search only.
    if let Some((first, rest)) = word.split_once(crate::number::NO_BREAK) {
        part_word(first, list);
        words(list, &crate::number::NO_BREAK.to_string());
        part_word(rest, list);
        return;
    }
    if !word.bytes().any(|byte| byte.is_ascii_digit() || byte == b'^') || !word.bytes().any(|b| b.is_ascii_uppercase())
    {
        words(list, word);
        return;
    }
    let opening = word.len() - word.trim_start_matches(['“', '"', '\'', '`']).len();
    let (before, rest) = word.split_at(opening);
    let core = rest.trim_end_matches([',', ';', '.', ':', '”', '"', '\'', '?', '!', '`']);
    let after = rest.get(core.len()..).unwrap_or_default();
    words(list, before);
    if is_formula(core) {
        list.push(Piece::Formula(core.to_owned()));
    } else if let Some(inner) = core.strip_prefix('(') {
        // An opening bracket of the sentence, closed or not within the word.
        let (inner, closing) = match inner.strip_suffix(')') {
            Some(bare) if is_formula(bare) => (bare, ")"),
            _ => (inner, ""),
        };
        words(list, "(");
        part_core(inner, list);
        words(list, closing);
    } else if let Some(bare) = core.strip_suffix(')').filter(|bare| is_formula(bare)) {
        list.push(Piece::Formula(bare.to_owned()));
        words(list, ")");
    } else {
        words(list, core);
    }
    words(list, after);
}

fn part_core(core: &str, list: &mut Vec<Piece>) {
    if is_formula(core) {
        list.push(Piece::Formula(core.to_owned()));
    } else {
        words(list, core);
    }
}

/// A formula as runs of letters of one height.
#[must_use]
pub fn runs(formula: &str) -> Vec<(Raised, String)> {
    let set = marked(formula, ("\u{1}", "\u{3}"), ("\u{2}", "\u{3}"));
    let mut list = Vec::new();
    let mut raised = Raised::No;
    let mut run = String::new();
    for character in set.chars() {
        let next = match character {
            '\u{1}' => Raised::Inferior,
            '\u{2}' => Raised::Superior,
            '\u{3}' => Raised::No,
            other => {
                run.push(other);
                continue;
            }
        };
        if !run.is_empty() {
            list.push((raised, std::mem::take(&mut run)));
        }
        raised = next;
    }
    if !run.is_empty() {
        list.push((raised, run));
    }
    list
}

/// Whether a word is a code of a hazard or precautionary statement (`H302`), which would read as a formula too.
fn is_statement(text: &str) -> bool {
    text.len() == 4 && text.starts_with(['H', 'P']) && text.bytes().skip(1).all(|byte| byte.is_ascii_digit())
}

fn is_formula(text: &str) -> bool {
    if is_statement(text) {
        return false;
    }
    let bare = text.replace("·n", "·");
    let first = bare.chars().next();
    first.is_some_and(|c| c.is_ascii_uppercase() || matches!(c, '[' | '('))
        && bare.len() <= 120
        && (Species::parse(&bare).is_ok() || Formula::parse(&bare).is_ok())
}

/// A formula: `CuSO4·5H2O(s)` with drawn inferiors.
///
/// ```
/// let set = report::html::formula::set_formula("SO4^2-").into_string();
/// assert_eq!(set, "<span class=\"f\">SO<sub>4</sub><sup>2−</sup></span>");
/// ```
#[must_use]
pub fn set_formula(text: &str) -> Markup {
    let set = marked(text, ("<sub>", "</sub>"), ("<sup>", "</sup>"));
    html! { span.f { (PreEscaped(set)) } }
}

/// The letters of a formula with marks around inferiors and superiors; safe inside HTML and SVG.
pub(crate) fn marked(text: &str, inferior: (&str, &str), superior: (&str, &str)) -> String {
    let mut out = String::with_capacity(text.len() * 2);
    let mut before = ' ';
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        let follows = before.is_ascii_alphabetic() || matches!(before, ')' | ']');
        if c.is_ascii_digit() && follows && before != 'n'
            || c == '.' && before.is_ascii_digit() && out.ends_with(inferior.1)
        {
            let mut digits = c.to_string();
            while let Some(next) = characters.next_if(|n| n.is_ascii_digit() || *n == '.') {
                digits.push(next);
            }
            out += inferior.0;
            out += &digits;
            out += inferior.1;
            before = '0';
            continue;
        }
        if c == '^' {
            out += superior.0;
            while let Some(next) = characters.next_if(|n| n.is_ascii_digit() || matches!(n, '+' | '-' | '\u{2212}')) {
                out.push(if next == '-' { '\u{2212}' } else { next });
            }
            out += superior.1;
            before = '0';
            continue;
        }
        match c {
            '*' => out.push('·'),
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '&' => out += "&amp;",
            '"' => out += "&quot;",
            other => out.push(other),
        }
        before = c;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(text: &str) -> String {
        rich(text).into_string()
    }

    #[test]
    fn formulas_in_sentences_are_set() {
        assert!(set("as CuCO3, dry").contains("CuCO<sub>3</sub></span>, dry"));
        assert!(set("(CO2 leaves)").contains("(<span class=\"f\">CO<sub>2</sub></span> leaves)"));
        assert!(set("copper (CuSO4·5H2O)").contains("CuSO<sub>4</sub>·5H<sub>2</sub>O</span>)"));
        assert!(set("Cu2CO3(OH)2·nH2O(s), n = 0").contains("·nH<sub>2</sub>O(s)</span>, n = 0"));
        assert!(set("Fe0.947O").contains("Fe<sub>0.947</sub>O"));
    }

    #[test]
    fn words_and_figures_stay() {
        for text in ["12.5 g", "step 3", "r4", "24.41 ± 0.06 g", "A4/B", "H302, H410", "<script>1A</script>"] {
            assert!(!set(text).contains("<span"), "{}", set(text));
        }
        assert!(!set("<script>H2</script>").contains("<script>"));
    }
}
