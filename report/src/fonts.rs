//! Which letters do paper and pages of their own carry along?
//!
//! Three instances of the serif of the look, cut for print. They are embedded, so that nothing is loaded from elsewhere;
//! their licence lies beside them.

/// Upright.
pub const REGULAR: &[u8] = include_bytes!("../assets/fonts/tarebook-serif-regular.ttf");
/// Upright, bold.
pub const BOLD: &[u8] = include_bytes!("../assets/fonts/tarebook-serif-bold.ttf");
/// Italic.
pub const ITALIC: &[u8] = include_bytes!("../assets/fonts/tarebook-serif-italic.ttf");
/// The name under which they are known.
pub const FAMILY: &str = "Tarebook Serif";
