//! Is a page that was printed the one that was read and kept? `UPDATE_GOLDEN=1` writes it anew.
//!
//! Words must agree. Numbers may differ as a sampler does from machine to machine: by 3 %, or by one in the third
//! decimal of small ones.

use std::path::Path;

/// A page with its numbers taken out, and the numbers.
fn taken_apart(page: &str) -> (Vec<&str>, Vec<f64>) {
    let (mut words, mut numbers) = (Vec::new(), Vec::new());
    for word in page.split([' ', '\n', '\u{a0}']).filter(|word| !word.is_empty()) {
        let bare = word.trim_matches(['(', ')', ',', ':', ';', '.', '%']);
        match bare.replace('\u{202f}', "").parse::<f64>() {
            Ok(number) => numbers.push(number),
            // Strips are drawn to the tenth of a sign, rules to the width of their table.
            Err(_) if word.chars().all(|c| "·─━┃┊◇═".contains(c)) => {}
            Err(_) => words.push(word),
        }
    }
    (words, numbers)
}

/// Compares a page with the kept one of this name.
pub fn is_kept(name: &str, page: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(format!("{name}.txt"));
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, page).expect("the kept page is written");
    }
    let kept = std::fs::read_to_string(&path).expect("the kept page is read");
    let ((words, numbers), (kept_words, kept_numbers)) = (taken_apart(page), taken_apart(&kept));
    assert_eq!(words, kept_words, "{name}: if the new page is right, run with UPDATE_GOLDEN=1");
    assert_eq!(numbers.len(), kept_numbers.len(), "{name}: as many numbers");
    for (found, expected) in numbers.iter().zip(&kept_numbers) {
        let near = (found - expected).abs() <= (0.03 * expected.abs()).max(0.001);
        assert!(near, "{name}: {found} where {expected} was kept");
    }
}
