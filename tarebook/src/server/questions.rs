//! How is a single question asked on a page, and how is its answer shown?
//!
//! The index of all desks, and one page for each: its fields, the answer or what is wrong with it beneath. The address of
//! an answer holds the question, so that it can be kept as a bookmark. Asking leaves no trace in the notebook.

use super::blocking;
use super::desks::{Answer, DESKS, Desk, Field, Typed};
use super::page::{Sheet, address};
use super::trouble::{Fields, Trouble, refusals};
use axum::extract::{Path, Query};
use maud::{Markup, html};
use report::document::{Block, Document};
use report::figure::Named;
use report::html::formula::rich;

/// All questions.
pub async fn index() -> Sheet {
    Sheet::new("Questions", "/questions").with(html! {
        h1 { "Questions" }
        p.sub { "A question asked here leaves no trace in the notebook." }
        dl.desks { @for desk in &DESKS {
            dt { a href=(format!("/questions/{}", desk.key)) { (desk.question) } }
            dd { (desk.about) }
        } }
        h2 { "Of this notebook" }
        dl.desks {
            dt { a href="/questions/losses" { "What do my own preparations lose?" } }
            dd { "Losses that the closed preparations show, beside what is usual." }
            dt { a href="/questions/replicates" { "Do these runs agree?" } }
            dd { "Runs of one preparation side by side, and what they give together." }
        }
    })
}

/// One question, and its answer if it was asked.
pub async fn show(Path(which): Path<String>, Query(asked): Query<Vec<(String, String)>>) -> Result<Sheet, Trouble> {
    let desk = DESKS.iter().find(|desk| desk.key == which);
    let desk = desk.ok_or_else(|| Trouble::missing("This question is not among those that can be asked."))?;
    let fields = Fields(asked);
    blocking(move || {
        // Whatever is missing is for the answer to say: a cake may be given by its weight.
        let typed = desk.fields.iter().any(|field| field.typed != Typed::Tick && fields.get(field.key).is_some());
        let answer = typed.then(|| (desk.answer)(&fields));
        if let Some(Err(findings)) = &answer
            && refusals(findings).next().is_some()
        {
            return Err(Trouble::refused(findings));
        }
        Ok(Sheet::new(desk.question, "/questions").with(page(desk, &fields, answer)))
    })
    .await
}

fn page(desk: &Desk, fields: &Fields, answer: Option<Answer>) -> Markup {
    let wrong = matches!(answer, Some(Err(_)));
    let (plain, more): (Vec<&Field>, Vec<&Field>) = desk.fields.iter().partition(|field| !field.more);
    let wished = more.iter().any(|field| fields.get(field.key).is_some());
    html! {
        p.kick { a href="/questions" { "Questions" } }
        h1 { (desk.question) }
        p.sub { (desk.about) }
        form.find.question {
            @for (at, field) in plain.iter().enumerate() { (input(field, fields, at == 0, at == 0 && wrong)) }
            @if !more.is_empty() {
                details.broad open[wished] {
                    summary { "more" }
                    div.find { @for field in &more { (input(field, fields, false, false)) } }
                }
            }
            button { "Work it out" }
        }
        @match answer {
            Some(Ok(answer)) => section.answer aria-live="polite" { (report::html::body(&drawn(answer))) },
            Some(Err(findings)) => div id="wrong" role="alert" {
                @for finding in &findings {
                    p.err { b { "Not answered." } " " (rich(&sentence(&finding.message))) }
                    @for hint in &finding.hints { p.q2 { (rich(&sentence(hint))) } }
                }
            },
            None => p.q2 { "For instance: " a href=(example(desk)) { (rich(desk.fields.first().map_or("", |f| f.example.lines().next().unwrap_or_default()))) } },
        }
    }
}

/// The answer with its figures behind its first section.
fn drawn((mut document, figures): (Document, Named)) -> Document {
    // A question is no file: its only line needs no place.
    for block in &mut document.blocks {
        if let Block::Finding(finding) = block {
            finding.place = finding.place.filter(|(line, _)| *line > 1);
        }
    }
    let is_heading = |block: &Block| matches!(block, Block::Heading(_));
    let first = document.blocks.iter().position(is_heading).unwrap_or(document.blocks.len());
    let blocks = figures
        .into_iter()
        .flat_map(|(_, figure)| [Block::Heading(figure.title.clone()), Block::Figure(Box::new(figure))]);
    let blocks: Vec<Block> = blocks.collect();
    document.blocks.splice(first..first, blocks);
    document
}

/// With a capital in front and a full stop behind.
fn sentence(text: &str) -> String {
    let text = super::preparation::sentence(text);
    if text.ends_with(['.', '?', '!']) { text } else { text + "." }
}

fn input(field: &Field, fields: &Fields, main: bool, wrong: bool) -> Markup {
    let value = fields.raw(field.key).unwrap_or_default();
    let key = field.key;
    html! {
        span.fl.grow[main] {
            @match field.typed {
                Typed::Tick => span.tick { input id=(key) name=(key) type="checkbox" value="yes" checked[!value.is_empty()]; label for=(key) { (field.label) } },
                Typed::Lines => { label for=(key) { (field.label) } textarea id=(key) name=(key) rows=(if main { "4" } else { "2" }) placeholder=(field.example) { (value) } },
                Typed::Line => {
                    label for=(key) { (field.label) }
                    input id=(key) name=(key) value=(value) placeholder=(field.example) autocomplete="off" size=[(!main).then_some("12")]
                        aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then_some("wrong")];
                },
            }
        }
    }
}

/// The address that asks the example: with the fields that are always shown.
fn example(desk: &Desk) -> String {
    let shown = desk.fields.iter().filter(|field| !field.more && !field.example.is_empty());
    let pairs: Vec<String> = shown.map(|field| format!("{}={}", field.key, address(field.example))).collect();
    format!("/questions/{}?{}", desk.key, pairs.join("&"))
}
