//! How does an outcome look on paper, on a screen and to another program?
//!
//! An [outcome](prep::outcome) comes in; a [`document`], its [`text`] or its [`json`] goes out. No
//! chemistry happens here and no engine type is named: every form prints the same fields, so paper, screen and JSON
//! cannot disagree. Figures are rounded by their uncertainty in one place, [`number`].

pub mod archive;
pub mod csv;
pub mod document;
pub mod figure;
pub mod fonts;
pub mod html;
pub mod json;
pub mod number;
pub mod schema;
pub mod strip;
pub mod text;
