//! What can one character, a full stop or a wrong symbol in a formula mean?

use crate::element::Element;

/// Whether a character separates hydrate parts (a full stop is judged by what surrounds it).
pub(super) fn is_dot(letter: char) -> bool {
    matches!(letter, '·' | '•' | '*' | '⋅' | '∙' | '‧' | '・')
}

/// The sign a character stands for: +1, −1 or none.
pub(super) fn sign_of(letter: char) -> Option<i32> {
    match letter {
        '+' => Some(1),
        '-' | '−' | '–' => Some(-1),
        _ => None,
    }
}

/// The digit a subscript stands for.
pub(super) fn subscript_digit(letter: char) -> Option<char> {
    let value = u32::from(letter).checked_sub(u32::from('₀')).filter(|value| *value < 10)?;
    char::from_digit(value, 10)
}

/// Reading of a superscript character.
pub(super) fn superscript_digit(letter: char) -> Option<char> {
    match letter {
        '¹' => Some('1'),
        '²' => Some('2'),
        '³' => Some('3'),
        '⁰' | '⁴'..='⁹' => char::from_digit(u32::from(letter) - u32::from('⁰'), 10),
        _ => None,
    }
}

/// Reading of a superscript character.
pub(super) fn superscript_sign(letter: char) -> Option<i32> {
    match letter {
        '⁺' => Some(1),
        '⁻' => Some(-1),
        _ => None,
    }
}

/// Molecules that follow a hydrate dot so often that `2.6H2O` after a count means `2·6H2O`.
const DOT_PARTNERS: [&str; 4] = ["H2O", "OH2", "H₂O", "NH3"];

/// What a full stop between digits is.
pub(super) enum Dot {
    Decimal,
    Hydrate,
    Ambiguous,
}

/// What the full stop in `whole.after` is: `after` starts with a digit.
pub(super) fn dot_reading(whole: &str, after: &str) -> Dot {
    let following = after.trim_start_matches(|letter: char| letter.is_ascii_digit());
    let trimmed = following.trim_start();
    // Counts of 0 and 1 are not written out, so `0.947` and `1.85` are decimal numbers.
    if whole == "0" || whole == "1" {
        return Dot::Decimal;
    }
    let second_point =
        following.strip_prefix(['.', '/']).is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    if second_point || DOT_PARTNERS.iter().any(|partner| trimmed.starts_with(partner)) {
        return Dot::Hydrate;
    }
    match trimmed.chars().next() {
        Some(letter) if letter.is_alphabetic() || matches!(letter, '(' | '[' | '{') => Dot::Ambiguous,
        _ => Dot::Decimal,
    }
}

/// The element whose symbol is nearest to a wrong one.
pub(super) fn nearest_element(symbol: &str) -> Option<Element> {
    let mut letters = symbol.chars();
    let first = letters.next()?.to_ascii_uppercase();
    let rest: String = letters.collect::<String>().to_ascii_lowercase();
    if let Some(element) = Element::from_symbol(&format!("{first}{rest}")) {
        return Some(element);
    }
    let same_second =
        |element: &Element| rest.len() == 1 && element.symbol().ends_with(&rest) && element.symbol().len() == 2;
    let same_first: Vec<Element> = Element::all().filter(|element| element.symbol().starts_with(first)).collect();
    same_first.first().copied().or_else(|| Element::all().find(same_second))
}
