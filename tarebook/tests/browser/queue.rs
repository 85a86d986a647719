//! Does everything entered on the bench come in once: without a connection, with a photograph, from two tabs at a time?
//!
//! The page's own queue sends; the connection is taken away by the browser itself or with the notebook, a lost
//! answer by the page's `fetch`.

use super::driven::Browser;
use super::served::Served;
use super::{WAITING, opened};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// The queue of the page is empty.
const EMPTY: &str = "kept().then(list => list.length === 0)";
/// Chooses a small picture as the photograph of the reading.
const CHOOSE: &str = "(() => { const chosen = new DataTransfer(), field = document.querySelector('#photo'); \
    chosen.items.add(new File([new Uint8Array([0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 1, 2, 3])], 'pan.png', { type: 'image/png' })); \
    field.files = chosen.files; field.dispatchEvent(new Event('change')); })()";
/// Loses the first answer to a photograph on the way, so that the page sends it again.
const LOSE: &str = "(() => { const real = fetch; let lost = 0; window.fetch = async (address, ...rest) => { \
    const answer = await real(address, ...rest); \
    if (String(address).includes('/photo?') && lost++ === 0) { sessionStorage.lost = 1; throw new TypeError('lost'); } \
    return answer; }; })()";

fn file(folder: &Path) -> String {
    std::fs::read_to_string(folder.join("small.toml")).expect("the file")
}

/// The history of the folder is whole, as the program itself says.
fn whole(folder: &Path) {
    let mut check = Command::new(env!("CARGO_BIN_EXE_tarebook"));
    let told = check.args(["check", "--history"]).arg(folder.join("small.toml")).output().expect("the program runs");
    let told = String::from_utf8_lossy(&told.stdout).into_owned() + &String::from_utf8_lossy(&told.stderr);
    assert!(told.contains("The history is whole"), "{told}");
}

/// Enters a figure as typing does.
fn enter(browser: &mut Browser, figure: &str) {
    browser.fill(&[("figure", figure)]);
    browser.value("document.querySelector('form.entry-form').requestSubmit()");
}

#[test]
fn what_is_entered_while_the_notebook_is_gone_comes_in_once_when_it_is_back() {
    let Some((folder, mut served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let bench = format!("http://{}/p/small/bench", served.host);
    browser.open(&bench);
    served.kill();
    for (figure, told) in [("109.80", "One entry is kept here"), ("109.81", "2 entries are kept here")] {
        enter(&mut browser, figure);
        browser.until(&format!("document.querySelector('#queue').textContent.includes('{told}')"));
    }
    browser.value(CHOOSE);
    browser
        .until("document.querySelector('#queue').textContent.includes('2 entries and one photograph are kept here')");
    // The page is loaded again, first in vain.
    browser.open(&bench);
    browser.until("document.querySelector('#queue') === null");
    assert!(!file(folder.path()).contains("109.8"));
    let port = served.host.rsplit(':').next().expect("a port").to_owned();
    let _back = Served::start_at(folder.path(), &port);
    browser.open(&bench);
    browser.until(EMPTY);
    let text = file(folder.path());
    for wanted in ["109.80 g", "109.81 g", "photo "] {
        assert_eq!(text.matches(wanted).count(), 1, "{wanted}: {text}");
    }
    whole(folder.path());
}

#[test]
fn an_entry_that_is_refused_stays_with_its_reason_until_it_is_forgotten() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let bench = format!("http://{}/p/small/bench", served.host);
    browser.open(&bench);
    enter(&mut browser, "a hundred");
    browser.until("document.querySelector('#queue').textContent.includes('Not entered in small: a hundred.')");
    // What is entered afterwards does not wait for it, and another page shows it still.
    enter(&mut browser, "109.80");
    browser.until("kept().then(list => list.length === 1 && list[0].body.figure === 'a hundred')");
    browser.open(&bench);
    browser.until("document.querySelector('#queue').textContent.includes('Not entered in small: a hundred.')");
    assert_eq!(file(folder.path()).matches("109.80 g").count(), 1);
    // Sent again it is refused again; forgotten it is gone.
    browser
        .value("document.querySelector('#queue p').textContent = ''; document.querySelector('#queue button').click()");
    browser.until("document.querySelector('#queue').textContent.includes('Not entered in small: a hundred.')");
    browser.value("document.querySelector('#queue button:last-child').click()");
    browser.until(EMPTY);
    browser.until("document.querySelector('#queue').hidden");
}

#[test]
fn a_photograph_that_is_too_large_is_told_before_it_is_sent() {
    let Some((_folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small/bench", served.host));
    browser.value(&CHOOSE.replace("1, 2, 3]", "...new Uint8Array(16_000_000)]"));
    browser.until("document.querySelector('#queue').textContent.includes('has 16.1 MB; at most 16 MB')");
    assert_eq!(browser.value(EMPTY), serde_json::json!(true));
}

#[test]
fn an_entry_of_a_device_that_is_not_paired_waits_on_the_bench() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small/bench", served.host));
    // What a device hears that the notebook does not know any more.
    browser.value("window.real = fetch; window.fetch = async () => new Response('', { status: 401 }); true");
    enter(&mut browser, "109.80");
    browser.until("document.querySelector('#queue a[href=\"/pair\"]') !== null");
    assert!(!file(folder.path()).contains("109.80"));
    browser.value("window.fetch = window.real; true");
    browser.until(EMPTY);
    assert_eq!(file(folder.path()).matches("109.80 g").count(), 1);
}

#[test]
fn a_photograph_chosen_without_a_connection_comes_in_once() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let base = format!("http://{}", served.host);
    browser.open(&format!("{base}/p/small/bench"));
    browser.offline(true);
    browser.value(CHOOSE);
    browser.until("document.querySelector('#queue').textContent.includes('One photograph is kept here')");
    enter(&mut browser, "109.80");
    browser.until("document.querySelector('#queue').textContent.includes('One entry and one photograph are kept')");
    assert!(!file(folder.path()).contains("photo "));
    browser.value(LOSE);
    browser.offline(false);
    browser.until(EMPTY);
    assert_eq!(browser.value("sessionStorage.lost"), serde_json::json!("1"), "an answer was lost");
    let text = file(folder.path());
    assert_eq!((text.matches("photo ").count(), text.matches("109.80 g").count()), (1, 1), "{text}");
    let name = text.split("photo ").nth(1).and_then(|rest| rest.split(".png").next()).expect("a photograph");
    let kept = folder.path().join("photos").join(format!("{name}.png"));
    assert_eq!(std::fs::read(kept).expect("it is kept"), b"\x89PNG\r\n\x1a\n\x01\x02\x03");
    whole(folder.path());
    browser.asked_only(&base);
}

/// Waits until the queue is empty, on a busy machine too: as long as something goes out.
fn all_sent(browser: &mut Browser) {
    let mut last = (u64::MAX, Instant::now());
    while last.0 > 0 {
        let left = browser.value("kept().then(list => list.length)").as_u64().unwrap_or(last.0);
        if left != last.0 {
            last = (left, Instant::now());
        }
        assert!(last.1.elapsed() < Duration::from_secs(60), "{left} entries are stuck: {}", browser.text());
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn two_tabs_racing_two_hundred_entries_lose_none() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let bench = format!("http://{}/p/small/bench", served.host);
    browser.open(&bench);
    let first = browser.tab();
    let second = browser.another_tab();
    browser.open(&bench);
    // Neither tab waits for the other, nor for an answer.
    for (number, tab) in [&first, &second].into_iter().enumerate() {
        browser.turn_to(tab);
        let sent = browser.value(&format!(
            "(() => {{ const form = document.querySelector('form.entry-form'); let sent = 0; \
             for (; sent < 100; sent++) {{ form.figure.value = `109.${{String(sent).padStart(2, '0')}}`; \
             form.note.value = `tab {number} entry ${{sent}};`; form.requestSubmit(); }} return sent; }})()"
        ));
        assert_eq!(sent, serde_json::json!(100));
    }
    for tab in [&first, &second] {
        browser.turn_to(tab);
        all_sent(&mut browser);
    }
    let text = file(folder.path());
    for (tab, entry) in (0..2).flat_map(|tab| (0..100).map(move |entry| (tab, entry))) {
        assert_eq!(text.matches(&format!("tab {tab} entry {entry};")).count(), 1, "{tab} {entry}");
    }
    assert_eq!(text.matches("weigh = ").count(), 200);
    whole(folder.path());
}
