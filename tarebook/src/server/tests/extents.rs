//! Does a page wait for no more than it shows, and is the rest told afterwards, once?

use super::*;
use std::sync::Barrier;

#[test]
fn a_page_gets_what_it_asked_for_and_what_was_worked_out_serves_the_next() {
    let desk = desk(None);
    let at = |extent| desk.office.books_at("bluestone", extent).expect("books");
    let bench = at(Extent::Plan);
    assert!(bench.plan.is_some() && bench.account.is_none() && !bench.whole, "the bench goes by the plan");
    let both = at(Extent::Both);
    assert!(both.account.is_some() && !both.whole);
    let same = |one: &books::Books, other: &books::Books| match (&one.plan, &other.plan) {
        (Some(one), Some(other)) => Arc::ptr_eq(one, other),
        _ => false,
    };
    assert!(same(&bench, &both), "a plan is made once");
    assert!(Arc::ptr_eq(&at(Extent::Account), &both) && Arc::ptr_eq(&at(Extent::Plan), &both));
    let whole = at(Extent::Whole);
    assert!(whole.whole && same(&bench, &whole));
    assert!(both.account.as_ref().is_some_and(|account| account.budgets.is_empty()));
    assert!(whole.account.as_ref().is_some_and(|account| !account.budgets.is_empty()), "budgets are told in full");
    assert!(Arc::ptr_eq(&at(Extent::Account), &whole), "what is told in full serves every page");
    // Where nothing was weighed the plan is all there is.
    assert!(desk.office.books_at("small", Extent::Plan).expect("books").whole);
    // A text that cannot be read has nothing to work out.
    assert!(desk.office.books_at("broken", Extent::Plan).expect("books").covers(Extent::Whole));
}

#[test]
fn who_asks_for_the_same_at_the_same_time_is_answered_by_one_work() {
    let desk = desk(None);
    let start = Barrier::new(4);
    let ask = || {
        start.wait();
        desk.office.books_at("bluestone", Extent::Both).expect("books")
    };
    let all: Vec<_> = std::thread::scope(|scope| {
        let asked: Vec<_> = (0..4).map(|_| scope.spawn(ask)).collect();
        asked.into_iter().map(|asked| asked.join().expect("an answer")).collect()
    });
    assert!(all.windows(2).all(|two| Arc::ptr_eq(&two[0], &two[1])));
}

#[test]
fn what_is_told_in_full_is_not_displaced_by_what_was_told_at_once() {
    let desk = desk(None);
    let page = || desk.office.notebook.read("bluestone").expect("there");
    let quick = books::work_out(&desk.office.notebook, "bluestone", page(), None, Extent::Account);
    let whole = desk.office.books_at("bluestone", Extent::Whole).expect("books");
    assert!(Arc::ptr_eq(&desk.office.books.hold("bluestone", quick), &whole));
    // What others worked out of the same text is not lost.
    let plan = books::work_out(
        &desk.office.notebook,
        "small",
        desk.office.notebook.read("small").expect("there"),
        None,
        Extent::Plan,
    );
    assert!(plan.whole && plan.covers(Extent::Both));
    let apart = |extent| books::work_out(&desk.office.notebook, "bluestone", page(), None, extent);
    let mut account = apart(Extent::Account);
    account.complete(&apart(Extent::Plan));
    assert!(account.covers(Extent::Both) && !account.whole);
    assert!(account.findings.len() >= apart(Extent::Both).findings.len());
    // Books of a text before go.
    let before = whole.page.text.clone();
    desk.office.notebook.change("bluestone", "title", None, |text| Ok(format!("{text}\n# later\n"))).expect("changed");
    let now = desk.office.books_at("bluestone", Extent::Account).expect("books");
    assert!(now.page.text != before && !now.whole);
    assert!(now.plan.is_some(), "a plan still holds where only a remark was added");
}

#[tokio::test]
async fn what_a_page_leaves_out_is_told_in_full_afterwards_and_the_pages_hear_of_it_once() {
    let desk = desk(None);
    let mut heard = desk.office.events.subscribe();
    let (status, _) = desk.get("/p/bluestone/bench").await;
    assert_eq!(status, StatusCode::OK);
    let (_, page) = desk.get("/p/bluestone/account").await;
    assert!(page.contains("data-quick"), "a page that is loaded while it is told better asks again");
    assert_eq!(heard.recv().await.expect("a word"), "bluestone");
    desk.in_full("bluestone").await;
    let (_, page) = desk.get("/p/bluestone").await;
    assert!(page.contains("data-revision=") && !page.contains("data-quick"), "a page says of which text it is");
    tokio::time::sleep(Duration::from_millis(300)).await;
    assert!(heard.try_recv().is_err(), "nothing else changed");
}
