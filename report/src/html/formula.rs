//! Where in a sentence does a formula stand, and how is it set?
//!
//! A word is taken for a formula if, without what punctuation surrounds it, it reads as one and holds a digit or a
//! charge; families (`Cu2CO3(OH)2·nH2O`) count with their `n`. Digits behind a letter or a bracket become inferiors,
//! charges superiors, never Unicode subscripts. Neglected: formulas without a digit are left as words, which look the
//! same; a name such as “B2” is set as a formula, which errs on the side of typography only.

use chem::{Formula, Species};
use maud::{Markup, PreEscaped, html};

/// Running text with its formulas set.
#[must_use]
pub fn rich(text: &str) -> Markup {
    let text = &quoted(text);
    html! {
        @for (at, word) in text.split(' ').enumerate() {
            @if at > 0 { " " }
            (set_word(word))
        }
    }
}

/// Names between backticks, as the terminal marks them, between quotation marks.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (at, part) in text.split('`').enumerate() {
        if at > 0 {
            out.push(if at % 2 == 1 { '“' } else { '”' });
        }
        out.push_str(part);
    }
    out
}

/// A word, set as a formula if it is one.
fn set_word(word: &str) -> Markup {
    if !word.bytes().any(|byte| byte.is_ascii_digit() || byte == b'^') || !word.bytes().any(|b| b.is_ascii_uppercase())
    {
        return html! { (word) };
    }
    let opening = word.len() - word.trim_start_matches(['“', '"', '\'', '`']).len();
    let (before, rest) = word.split_at(opening);
    let core = rest.trim_end_matches([',', ';', '.', ':', '”', '"', '\'', '?', '!', '`']);
    let after = rest.get(core.len()..).unwrap_or_default();
    // An opening bracket of the sentence, closed or not within the word.
    if let Some(inner) = core.strip_prefix('(')
        && !is_formula(core)
    {
        let (inner, closing) = match inner.strip_suffix(')') {
            Some(bare) if is_formula(bare) => (bare, ")"),
            _ => (inner, ""),
        };
        return html! { (before) "(" (set_core(inner)) (closing) (after) };
    }
    if let Some(bare) = core.strip_suffix(')')
        && !is_formula(core)
        && is_formula(bare)
    {
        return html! { (before) (set_core(bare)) ")" (after) };
    }
    html! { (before) (set_core(core)) (after) }
}

fn set_core(core: &str) -> Markup {
    if is_formula(core) {
        set_formula(core)
    } else {
        html! { (core) }
    }
}

fn is_formula(text: &str) -> bool {
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
        for text in ["12.5 g", "step 3", "r4", "24.41 ± 0.06 g", "A4/B", "<script>1A</script>"] {
            assert!(!set(text).contains("<span"), "{}", set(text));
        }
        assert!(!set("<script>H2</script>").contains("<script>"));
    }
}
