//! How are areas told apart without colour?
//!
//! Each kind of area has its own slope and distance of fine lines, drawn line by line inside the outline: a pattern of the
//! page would have to be named, and names meet where several figures stand on one page. The lines are cut to any simple
//! outline by parity.

use super::labels::Spot;
use std::fmt::Write as _;

/// Slopes in degrees and distances in px; the first kind has no lines.
const KINDS: [(f64, f64); 7] =
    [(0.0, 0.0), (45.0, 7.0), (-45.0, 7.0), (90.0, 6.0), (0.0, 6.0), (60.0, 11.0), (-60.0, 4.0)];

/// The fine lines of an area; kinds repeat after the last.
pub(super) fn hatch(outline: &[Spot], kind: usize) -> String {
    let Some((degrees, distance)) = KINDS.get(kind % KINDS.len()).copied().filter(|(_, distance)| *distance > 0.0)
    else {
        return String::new();
    };
    let (sine, cosine) = f64::to_radians(degrees).sin_cos();
    // In turned coordinates the fine lines lie level.
    let turned: Vec<Spot> = outline.iter().map(|(x, y)| (x * cosine + y * sine, y * cosine - x * sine)).collect();
    let back = |(x, y): Spot| (x * cosine - y * sine, y * cosine + x * sine);
    let low = turned.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let high = turned.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    if !low.is_finite() || !high.is_finite() {
        return String::new();
    }
    let mut path = String::new();
    let mut level = (low / distance).floor() * distance + distance * 0.5;
    while level < high {
        let edges = turned.iter().zip(turned.iter().cycle().skip(1));
        let met = edges.filter(|(a, b)| (a.1 > level) != (b.1 > level));
        let mut places: Vec<f64> = met.map(|(a, b)| a.0 + (level - a.1) * (b.0 - a.0) / (b.1 - a.1)).collect();
        places.sort_by(f64::total_cmp);
        for pair in places.chunks_exact(2) {
            let ((x, y), (u, v)) = (back((pair[0], level)), back((pair[1], level)));
            let _ = write!(path, "M{x:.1} {y:.1}L{u:.1} {v:.1}");
        }
        level += distance;
    }
    if path.is_empty() { path } else { format!("<path class=\"hatch\" d=\"{path}\"/>") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_inside_and_kinds_differ() {
        let square = [(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)];
        let drawn: Vec<String> = (0..KINDS.len()).map(|kind| hatch(&square, kind)).collect();
        assert!(drawn[0].is_empty());
        for (at, one) in drawn.iter().enumerate().skip(1) {
            assert!(!one.is_empty() && !drawn[at + 1..].contains(one));
            let numbers = one.split(['M', 'L', ' ', '"']).filter_map(|word| word.parse::<f64>().ok());
            assert!(numbers.into_iter().all(|value| (-0.1..=60.1).contains(&value)), "{one}");
        }
        assert!(hatch(&[], 1).is_empty() && hatch(&[(f64::NAN, 0.0)], 1).is_empty());
    }
}
