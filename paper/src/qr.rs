//! The address of a page as a pattern that a phone reads.
//!
//! Modules are drawn as one path of bars, all of one size whatever the address; medium error correction, so that a drop
//! of water spares it. Source: ISO/IEC 18004, by the library that encodes it. The size of a module is common practice for
//! print that is held a hand's breadth before a phone; printers of 150 dots an inch still draw three dots to each.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// Blank modules around the pattern that readers need.
const QUIET: usize = 4;

/// Side of a module, mm.
const MODULE: f64 = 0.5;

/// The pattern in SVG and its side with the blank around it, mm; none where the address is too long for one.
pub fn drawn(address: &str) -> Option<(String, f64)> {
    let code = QrCode::with_error_correction_level(address.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let modules = code.to_colors();
    let mut path = String::new();
    for (row, line) in modules.chunks(width).enumerate() {
        let mut at = 0;
        for bar in line.chunk_by(|a, b| a == b) {
            if bar.first() == Some(&Color::Dark) {
                let _ = write!(path, "M{} {}h{}v1h-{}z", at + QUIET, row + QUIET, bar.len(), bar.len());
            }
            at += bar.len();
        }
    }
    let side = width + 2 * QUIET;
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{side}\" height=\"{side}\" viewBox=\"0 0 {side} {side}\"><rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    );
    Some((svg, MODULE * f64::from(u32::try_from(side).ok()?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_drawn_and_a_novel_is_not() {
        let (svg, side) = drawn("http://127.0.0.1:8347/p/bluestone/bench?at=3").expect("a short address");
        // 44 bytes: version 3 holds 42 at level M (ISO/IEC 18004), so version 4: 33 modules a side, 41 with the quiet zone.
        assert!(svg.contains("viewBox=\"0 0 41 41\""), "{}", &svg[..120]);
        assert!((side - 20.5).abs() < 1e-9, "{side}");
        assert_eq!(drawn(&"x".repeat(5000)), None);
    }
}
