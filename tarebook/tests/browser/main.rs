//! Does the notebook work in a browser: by forms only, by keyboard only, without a connection, for everybody?
//!
//! Each test serves a folder of its own on a free port of this machine and drives a headless Chromium. Without a
//! Chromium the tests say so and pass, unless `TAREBOOK_NEEDS_BROWSER` is set, as `./check` does where it can install one.
//! The rules of access are those of axe-core, kept in `tests/vendor` with its licence.

mod driven;
mod served;

use driven::Browser;
use served::Served;

const AXE: &str = include_str!("../vendor/axe-core/axe.min.js");
const BLUESTONE: &str = include_str!("../../../examples/bluestone.toml");
const WAITING: &str = r#"title = "Invented solution"
account_for = "Cu"

[[supply]]
name = "bluestone"
holds = "CuSO4·5H2O(s)"

[[instrument]]
name = "pocket balance"
kind = "balance"
resolution = "0.01 g"

[[step]]
name = "dissolve"
action = "dissolve"
take = { bluestone = "10.00 g", water = "100 g" }
gives = { liquor = "all" }
  [[step.reading]]
  id = "r1"
  of = "liquor"
  with = "pocket balance"
"#;

/// A served folder with these files, and a browser before it.
fn opened(files: &[(&str, &str)]) -> Option<(tempfile::TempDir, Served, Browser)> {
    let browser = Browser::start()?;
    let folder = tempfile::tempdir().expect("a scratch folder");
    for (name, text) in files {
        std::fs::write(folder.path().join(format!("{name}.toml")), text).expect("written");
    }
    let served = Served::start(folder.path());
    Some((folder, served, browser))
}

#[test]
fn bluestone_is_prepared_by_forms_run_on_the_bench_closed_and_read() {
    let Some((folder, served, mut browser)) = opened(&[]) else { return };
    let base = format!("http://{}", served.host);
    browser.open(&format!("{base}/"));
    browser.click_link("New preparation");
    browser.fill(&[
        ("title", "Bluestone crystals"),
        ("target", "CuSO4·5H2O(s)"),
        ("amount", "20 g"),
        ("element", "Cu"),
        ("balance", "0.01 g"),
        ("name", "crystals"),
        ("supplies", "bluestone, CuSO4·5H2O(s), >= 98 %"),
    ]);
    browser.submit("form.sheet-form");
    browser.open(&format!("{base}/p/crystals/edit?kind=step&of=dissolve"));
    browser.fill(&[("take", "bluestone = 30.00 g\nwater = 100 g"), ("gives", "blue liquor = all")]);
    browser.submit("form.sheet-form");
    browser.open(&format!("{base}/p/crystals/edit?kind=step&new=1"));
    browser.fill(&[
        ("name", "clear"),
        ("action", "filter"),
        ("take", "blue liquor = all"),
        ("gives", "grit = solids\nfiltrate = solution"),
    ]);
    browser.submit("form.sheet-form");
    let text = std::fs::read_to_string(folder.path().join("crystals.toml")).expect("the file");
    assert!(text.contains("gives  = { \"blue liquor\" = \"all\" }") && text.contains("\"clear\""), "{text}");
    assert!(text.contains("# What follows a # is a remark"), "remarks stay");
    // The charge on the bench, the liquor by the form of its step.
    browser.open(&format!("{base}/p/crystals/bench"));
    browser.fill(&[("figure", "30.02")]);
    browser.until("document.querySelector('#verdict.inside') !== null");
    browser.value("window.left = true; document.querySelector('form.entry-form').requestSubmit()");
    browser.loaded();
    browser.open(&format!("{base}/p/crystals"));
    browser.value(
        "window.left = true; (() => { const f = document.querySelectorAll('form.write')[0]; f.querySelector('[name=what]').value = 'of blue liquor'; \
         f.querySelector('[name=figure]').value = '129.80'; f.closest('details').open = true; f.requestSubmit(); })()",
    );
    browser.loaded();
    browser.until("document.querySelector('#main').textContent.includes('129.80')");
    browser.open(&format!("{base}/p/crystals"));
    browser.submit("form.close-books");
    browser.until("document.querySelector('#main').textContent.includes('closed')");
    browser.open(&format!("{base}/p/crystals/account"));
    assert!(browser.text().contains("account"), "{}", browser.text());
    let text = std::fs::read_to_string(folder.path().join("crystals.toml")).expect("the file");
    assert!(text.contains("30.02 g") && text.contains("129.80 g") && text.contains("closed"), "{text}");
    browser.asked_only(&base);
}

#[test]
fn entries_made_without_a_connection_come_in_once() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let base = format!("http://{}", served.host);
    browser.open(&format!("{base}/p/small/bench"));
    browser.offline(true);
    browser.fill(&[("figure", "109.80")]);
    browser.value("document.querySelector('form.entry-form').requestSubmit()");
    browser.until("document.querySelector('#queue').textContent.includes('No connection')");
    let text = || std::fs::read_to_string(folder.path().join("small.toml")).expect("the file");
    assert!(!text().contains("109.80"));
    browser.offline(false);
    browser.until("JSON.parse(localStorage.getItem('tarebook-queue') || '[]').length === 0");
    browser.until("document.readyState === 'complete'");
    assert_eq!(text().matches("109.80 g").count(), 1, "{}", text());
}

#[test]
fn the_bench_judges_a_figure_while_it_is_typed() {
    let Some((_folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small/bench", served.host));
    for (figure, class) in [("109.90", "inside"), ("19.9", "stop")] {
        browser.fill(&[("figure", figure)]);
        let js = format!(
            "document.querySelector('#verdict.{class}') !== null || ('{class}' === 'stop' && document.querySelector('#verdict.ask') !== null)"
        );
        browser.until(&js);
    }
}

#[test]
fn a_figure_is_entered_by_keyboard_only() {
    let Some((folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/", served.host));
    browser.tab_to("Bench");
    browser.key("Enter", 13);
    browser.loaded();
    browser.until("location.pathname === '/bench'");
    browser.tab_to("Invented solution");
    browser.key("Enter", 13);
    browser.until("location.pathname === '/p/small/bench' && document.readyState === 'complete'");
    for _ in 0..30 {
        browser.key("Tab", 9);
        if browser.value("document.activeElement.id") == serde_json::json!("figure") {
            break;
        }
    }
    let seen = browser.value("getComputedStyle(document.activeElement).outlineStyle !== 'none'");
    assert_eq!(seen, serde_json::json!(true), "the focus is seen");
    browser.type_text("109.80");
    browser.key("Enter", 13);
    browser.until("JSON.parse(localStorage.getItem('tarebook-queue') || '[]').length === 0");
    browser.until("document.readyState === 'complete' && !document.querySelector('#figure')?.value");
    let file = folder.path().join("small.toml");
    for _ in 0..50 {
        if std::fs::read_to_string(&file).expect("the file").contains("109.80 g") {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
    panic!("the figure is in the file");
}

#[test]
fn every_page_keeps_the_rules_of_access_and_stays_on_the_screen() {
    let Some((_folder, served, mut browser)) = opened(&[("bluestone", BLUESTONE), ("small", WAITING)]) else { return };
    let base = format!("http://{}", served.host);
    let pages = [
        "/",
        "/new",
        "/bench",
        "/shelf",
        "/shelf/labels",
        "/questions",
        "/questions/label?label=zinc%20sulfate%20220%20mg",
        "/p/bluestone",
        "/p/bluestone/edit?kind=step&of=dry",
        "/p/bluestone/file",
        "/p/bluestone/versions",
        "/p/bluestone/account",
        "/p/small/bench",
        "/pair",
        "/nowhere",
    ];
    for theme in ["light", "dark"] {
        browser.theme(theme);
        for page in pages {
            browser.open(&format!("{base}{page}"));
            browser.width(360);
            let over = browser.value("document.documentElement.scrollWidth - innerWidth");
            assert!(over.as_f64().is_some_and(|over| over < 2.0), "{page} is {over} px too wide at 360 px");
            browser.width(1280);
            browser.value(AXE);
            let found = browser.value(
                "axe.run(document, {resultTypes: ['violations']}).then(r => JSON.stringify(r.violations.filter(v => ['serious', 'critical'].includes(v.impact)).map(v => [v.id, v.nodes.map(n => n.target.join(' '))])))",
            );
            assert_eq!(found, serde_json::json!("[]"), "{page} in {theme}");
        }
    }
    browser.asked_only(&base);
}
