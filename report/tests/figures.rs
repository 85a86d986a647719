//! Do the figures say what the outcome says, at both widths, and never a figure that is not finite?

#[allow(dead_code, reason = "other tests use the rest")]
mod invented;

#[allow(dead_code, reason = "other tests use the rest")]
mod drawn;

use drawn::{balanced, check};

use report::document::account_document;
use report::figure::{budget_figure, flow_figure, levels_figure, yields_figure};
use report::html;

#[test]
fn every_figure_is_well_formed_and_finite() {
    let account = invented::account();
    let mut drawn = Vec::new();
    drawn.extend(account.elements.iter().filter_map(|element| flow_figure(&account, element)));
    drawn.extend(yields_figure(&account));
    drawn.extend(account.levels.iter().map(levels_figure));
    drawn.extend(account.budgets.iter().map(budget_figure));
    assert!(drawn.len() >= 3, "figures were drawn");
    for figure in drawn {
        check(&figure.title, &figure);
    }
}

#[test]
fn the_flow_tells_each_stream_once() {
    let account = invented::account();
    let element = account.elements.first().expect("an element");
    let figure = flow_figure(&account, element).expect("a flow");
    let names: Vec<_> = figure.table.rows.iter().map(|row| format!("{:?}", row[0])).collect();
    let mut unique = names.clone();
    unique.dedup();
    assert_eq!(names, unique);
    assert!(names[0].contains("taken") && names[names.len() - 1].contains("product"));
}

#[test]
fn a_page_holds_every_heading_of_the_document() {
    let document = account_document(&invented::account());
    let page = html::body(&document).into_string();
    assert!(balanced(&page), "{page}");
    for block in &document.blocks {
        if let report::document::Block::Heading(text) = block {
            assert!(page.contains(&format!("<h2>{}</h2>", html::formula::rich(text).into_string())), "{text}");
        }
    }
}
