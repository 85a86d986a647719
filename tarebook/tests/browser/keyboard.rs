//! Can all the work be done by keys alone, and is it always seen where one is?
//!
//! Only key events of the browser reach the page: the tabulator, Enter, arrows, and letters. No form is filled, clicked or
//! focused by a script; what is asked of the page is only where the focus stands and how it is drawn.

use super::driven::Browser;
use super::opened;
use serde_json::json;

/// Where the focus is: the name of the field, or the words.
const AT: &str = "(() => { const f = document.activeElement; return f.name || f.textContent.trim(); })()";
/// The focus is drawn around what has it, or around the label that stands for it.
const SEEN: &str = "(() => { const f = document.activeElement; if (f === document.body) return true; \
    const drawn = (part) => { const style = getComputedStyle(part), box = part.getBoundingClientRect(); \
    return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0 && box.width > 4 && box.height > 4; }; \
    return [f, ...(f.labels || [])].some(drawn); })()";

/// Presses the tabulator until the focus is there; it is seen at every stop on the way.
fn go(browser: &mut Browser, wanted: &str) {
    let mut passed = Vec::new();
    for _ in 0..120 {
        browser.key("Tab", 9);
        let at = browser.value(AT).as_str().unwrap_or_default().to_owned();
        assert_eq!(browser.value(SEEN), json!(true), "the focus is seen on “{at}”");
        if at == wanted {
            return;
        }
        passed.push(at);
    }
    panic!("the focus does not reach “{wanted}”: {passed:?}");
}

/// Goes to a link or a button and presses Enter; another page comes.
fn follow(browser: &mut Browser, words: &str) {
    go(browser, words);
    browser.leave();
    browser.key("Enter", 13);
    browser.loaded();
}

/// Goes to a field and types.
fn write(browser: &mut Browser, field: &str, text: &str) {
    go(browser, field);
    browser.type_text(text);
    assert_eq!(browser.value("document.activeElement.value"), json!(text), "{field}");
}

#[test]
fn a_preparation_is_begun_widened_entered_and_read_by_keys_alone() {
    let Some((folder, served, mut browser)) = opened(&[]) else { return };
    let browser = &mut browser;
    browser.open(&format!("http://{}/", served.host));
    follow(browser, "New preparation");
    for (field, text) in [
        ("title", "Copper by keys"),
        ("target", "CuO(s)"),
        ("amount", "25 g"),
        ("element", "Cu"),
        ("balance", "0.01 g"),
        ("name", "keys"),
        ("supplies", "bluestone, CuSO4·5H2O(s), >= 98 %"),
    ] {
        write(browser, field, text);
    }
    follow(browser, "Begin");
    browser.until("location.pathname === '/p/keys'");

    follow(browser, "Add a step");
    write(browser, "name", "rest");
    go(browser, "action");
    for _ in 0..60 {
        if browser.value("document.activeElement.value") == json!("store") {
            break;
        }
        browser.key("ArrowDown", 40);
    }
    assert_eq!(browser.value("document.activeElement.value"), json!("store"), "an arrow chooses the action");
    write(browser, "take", "liquor = all");
    write(browser, "gives", "rested liquor = all");
    follow(browser, "Write it down");
    let file = folder.path().join("keys.toml");
    let text = || std::fs::read_to_string(&file).expect("the file");
    assert!(text().contains("= \"rest\"") && text().contains("= \"store\""), "{}", text());
    browser.until("location.pathname === '/p/keys'");

    // The bench, by the head of the page.
    follow(browser, "Bench");
    browser.until("location.pathname === '/bench'");
    follow(browser, "Copper by keys");
    browser.until("location.pathname === '/p/keys/bench'");
    write(browser, "figure", "100.00");
    browser.leave();
    browser.key("Enter", 13);
    browser.loaded();
    browser.until("kept().then(list => list.length === 0)");
    assert_eq!(text().matches("100.00 g").count(), 1, "{}", text());
    follow(browser, "Copper by keys");
    browser.until("location.pathname === '/p/keys'");
    follow(browser, "Account");
    browser.until("location.pathname === '/p/keys/account'");
    assert!(browser.text().contains("opper"), "{}", browser.text());
}
