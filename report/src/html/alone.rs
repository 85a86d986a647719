//! How does a paper look as a page of its own, without a server?
//!
//! One file with everything in it: letters, colours, figures and attached files; nothing is loaded from elsewhere and no
//! script runs. It prints on A4 and Letter. Attached files are links that hold their bytes.

use super::formula::rich;
use super::{Markup, PreEscaped, html, one};
use crate::document::{Block, Paper};
use base64::prelude::{BASE64_STANDARD, Engine as _};

const STYLE: &str = include_str!("alone.css");

/// The paper as one HTML file.
#[must_use]
pub fn page(paper: &Paper) -> String {
    let (year, month, day) = paper.date;
    let date = format!("{year:04}-{month:02}-{day:02}");
    let set = html! {
        (PreEscaped("<!doctype html>\n"))
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="date" content=(date);
                title { (format!("{}: {}", paper.kicker.trim_end_matches('.'), paper.document.title)) }
                style { (PreEscaped(faces())) (PreEscaped(STYLE)) }
            }
            body {
                main {
                    p.fine { (paper.kicker) }
                    h1 { (rich(&paper.document.title)) }
                    @if !paper.subtitle.is_empty() { p.q2 { (rich(&paper.subtitle)) } }
                    (blocks(&paper.document.blocks))
                    (attached(paper))
                    footer.foot.fine { (paper.foot) }
                }
            }
        }
    };
    set.into_string() + "\n"
}

/// Leads stand together between two double rules; everything else follows in order.
fn blocks(blocks: &[Block]) -> Markup {
    let mut parts: Vec<&[Block]> = Vec::new();
    let mut rest = blocks;
    while let Some(first) = rest.first() {
        let count = if lead(first) { rest.iter().take_while(|block| lead(block)).count() } else { 1 };
        let (part, after) = rest.split_at(count);
        parts.push(part);
        rest = after;
    }
    html! {
        @for part in parts {
            @if part.first().is_some_and(lead) { div.claim { @for block in part { (one(block)) } } }
            @else { @for block in part { (titled(block)) } }
        }
    }
}

/// A block; a figure has its title at the head of its words, as on paper.
fn titled(block: &Block) -> Markup {
    match block {
        Block::Figure(figure) => figure.html_titled(),
        other => one(other),
    }
}

fn lead(block: &Block) -> bool {
    matches!(block, Block::Lead(_) | Block::Claim(_))
}

fn attached(paper: &Paper) -> Markup {
    html! {
        @if !paper.attachments.is_empty() {
            h2 { "Files" }
            ul.points { @for file in &paper.attachments {
                li {
                    a download=(file.name) href=(format!("data:{};base64,{}", file.mime, BASE64_STANDARD.encode(&file.bytes))) { (file.name) }
                    ": " (file.description)
                }
            } }
        }
    }
}

fn faces() -> String {
    let face = |weight: u16, style: &str, bytes: &[u8]| {
        format!(
            "@font-face{{font-family:\"{}\";font-weight:{weight};font-style:{style};src:url(data:font/ttf;base64,{}) format(\"truetype\")}}\n",
            crate::fonts::FAMILY,
            BASE64_STANDARD.encode(bytes)
        )
    };
    face(400, "normal", crate::fonts::REGULAR) + &face(700, "normal", crate::fonts::BOLD)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mark_of_hazard_has_its_form_without_a_server() {
        for class in ["caution", "danger", "hold"] {
            assert!(STYLE.contains(&format!("\n.{class}{{")), "{class} has no form of its own");
        }
    }
}
