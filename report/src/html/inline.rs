//! How are the parts of a line set on a page?

use super::formula::rich;
use super::{Markup, html};
use crate::document::{Inline, letter};

/// A line with its links, targets and marks of status.
#[must_use]
pub fn line(parts: &[Inline]) -> Markup {
    html! { @for part in parts { (one(part)) } }
}

fn one(part: &Inline) -> Markup {
    match part {
        Inline::Text(text) => rich(text),
        Inline::Strong(text) => html! { b { (rich(text)) } },
        Inline::Struck(text) => html! { s { (text) } },
        Inline::Link { to, text } => html! { a href=(format!("#{to}")) { (text) } },
        Inline::Target { id, text } => html! { span id=(id) { (rich(text)) } },
        Inline::Status(status) => html! { sup.status title=(status.word()) { (letter(*status)) } },
    }
}
