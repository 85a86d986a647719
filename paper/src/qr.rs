//! The address of a page as a pattern that a phone reads.
//!
//! Modules are drawn as one path of squares; medium error correction, so that a drop of water spares it. Source: ISO/IEC
//! 18004, by the library that encodes it.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// Blank modules around the pattern that readers need.
const QUIET: usize = 4;

/// The pattern in SVG; none where the address is too long for one.
pub fn drawn(address: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(address.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let mut path = String::new();
    for (place, module) in code.to_colors().into_iter().enumerate() {
        if module == Color::Dark {
            let _ = write!(path, "M{} {}h1v1h-1z", place % width + QUIET, place / width + QUIET);
        }
    }
    let side = width + 2 * QUIET;
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{side}\" height=\"{side}\" viewBox=\"0 0 {side} {side}\"><rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_drawn_and_a_novel_is_not() {
        let svg = drawn("http://127.0.0.1:8347/p/bluestone/bench?at=3").expect("a short address");
        // 44 bytes: version 3 holds 42 at level M (ISO/IEC 18004), so version 4: 33 modules a side, 41 with the quiet zone.
        assert!(svg.contains("viewBox=\"0 0 41 41\""), "{}", &svg[..120]);
        assert_eq!(drawn(&"x".repeat(5000)), None);
    }
}
