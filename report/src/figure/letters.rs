//! How wide is a word on a figure?
//!
//! Advance widths of the serif of the look as shares of its size, the wider of screen and print, upright and bold, so that
//! a word is never wider than it is taken for. Kerning, which pulls letters together, is left out; a letter that is not in
//! the table counts as a wide one. Inferiors and superiors are seven tenths.
//!
//! Source: the typeface itself, measured at 13 px.

/// Letters of one width.
const WIDTHS: &[(&str, f64)] = &[
    ("'", 0.23),
    (" ", 0.24),
    ("’", 0.26),
    (",./", 0.29),
    (":;·", 0.32),
    ("!", 0.33),
    ("[]", 0.34),
    ("-", 0.35),
    ("ijl°", 0.36),
    ("()f", 0.37),
    ("t", 0.39),
    ("I", 0.40),
    ("J", 0.42),
    ("?", 0.44),
    ("\"", 0.46),
    ("*", 0.48),
    ("”", 0.49),
    ("s“", 0.50),
    ("r", 0.51),
    ("z", 0.53),
    ("_–", 0.54),
    ("c", 0.55),
    ("#e", 0.56),
    ("+<=>S^−±×", 0.57),
    ("0a", 0.58),
    ("g", 0.60),
    ("FZox", 0.62),
    ("Lv", 0.63),
    ("qy", 0.64),
    ("bkp", 0.65),
    ("EPd", 0.66),
    ("u", 0.67),
    ("BChn", 0.68),
    ("T→", 0.69),
    ("XY", 0.70),
    ("V", 0.73),
    ("R", 0.74),
    ("AD", 0.75),
    ("&GK", 0.76),
    ("U", 0.77),
    ("OQ", 0.78),
    ("N", 0.79),
    ("H", 0.83),
    ("—", 0.84),
    ("…", 0.86),
    ("@w", 0.90),
    ("M", 0.96),
    ("%m", 1.00),
    ("W", 1.06),
    ("\u{2009}", 0.13),
    ("\u{a0}", 0.24),
];
/// Any other letter.
const UNKNOWN: f64 = 0.8;
/// Size of an inferior or superior.
const SMALL: f64 = 0.7;

fn letter(letter: char) -> f64 {
    if letter.is_ascii_digit() {
        return 0.58;
    }
    WIDTHS.iter().find(|(letters, _)| letters.contains(letter)).map_or(UNKNOWN, |(_, width)| *width)
}

/// Width of what stands inside a `<text>` element, px: letters with `<tspan>` for inferiors and superiors.
#[must_use]
pub fn width(markup: &str, size: f64) -> f64 {
    let (mut sum, mut scale, mut rest) = (0.0, 1.0, markup);
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '<' => {
                let end = rest.find('>').map_or(rest.len(), |end| end + 1);
                scale = if rest.starts_with("</") { 1.0 } else { SMALL };
                end
            }
            '&' => {
                let end = rest.find(';').map_or(1, |end| end + 1);
                let shown = match rest.get(..end) {
                    Some("&lt;" | "&gt;") => '<',
                    Some("&quot;") => '"',
                    _ => '&',
                };
                sum += scale * letter(shown);
                end
            }
            other => {
                sum += scale * letter(other);
                other.len_utf8()
            }
        };
        rest = rest.get(length..).unwrap_or_default();
    }
    sum * size
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_the_page_have_no_width() {
        let plain = width("CuSO4", 13.0);
        let set = width("CuSO<tspan class=\"low\">4</tspan>", 13.0);
        assert!(set < plain && set > width("CuSO", 13.0));
        assert!((width("a&amp;b", 10.0) - width("a", 10.0) - width("b", 10.0) - 10.0 * letter('&')).abs() < 1e-9);
    }
}
