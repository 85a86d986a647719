//! A headless Chromium, driven by its own protocol: it is started and stopped here.

use serde_json::{Value, json};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tungstenite::{Message, WebSocket};

/// Longest wait for a page, generous because machines that test are busy.
const PATIENCE: Duration = Duration::from_secs(60);

/// A browser with one page.
pub struct Browser {
    child: Child,
    socket: WebSocket<TcpStream>,
    session: String,
    count: u64,
    page: Value,
    asked: Vec<String>,
    _own: tempfile::TempDir,
}

fn chromium() -> Option<PathBuf> {
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).flat_map(|folder| names.map(|name| folder.join(name))).find(|file| file.is_file())
}

impl Browser {
    /// Starts a browser, if there is one.
    pub fn start() -> Option<Self> {
        let Some(program) = chromium() else {
            assert!(std::env::var_os("TAREBOOK_NEEDS_BROWSER").is_none(), "no Chromium was found");
            eprintln!("no Chromium was found: the page is not tested in a browser");
            return None;
        };
        let own = tempfile::tempdir().expect("a scratch folder");
        let child = Command::new(program)
            .args(["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-component-update"])
            .args(["--disable-background-networking", "--disable-dev-shm-usage", "--remote-debugging-port=0"])
            .arg(format!("--user-data-dir={}", own.path().display()))
            .arg("about:blank")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the browser starts");
        let begun = Instant::now();
        let told = loop {
            match std::fs::read_to_string(own.path().join("DevToolsActivePort")) {
                Ok(text) if text.lines().count() >= 2 => break text,
                _ => assert!(begun.elapsed() < PATIENCE, "the browser tells its port"),
            }
            std::thread::sleep(Duration::from_millis(50));
        };
        let (port, place) = told.trim().split_once('\n').expect("a port and a place");
        let stream = TcpStream::connect(format!("127.0.0.1:{port}")).expect("a connection");
        let (socket, _) = tungstenite::client(format!("ws://127.0.0.1:{port}{place}"), stream).expect("a socket");
        let mut browser =
            Self { child, socket, session: String::new(), count: 0, page: Value::Null, asked: Vec::new(), _own: own };
        browser.another_tab();
        Some(browser)
    }

    fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.count += 1;
        let mut message = json!({ "id": self.count, "method": method, "params": parameters });
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        self.socket.send(Message::text(message.to_string())).expect("sent");
        loop {
            let answer = self.socket.read().expect("an answer");
            let Ok(text) = answer.to_text() else { continue };
            let Ok(value) = serde_json::from_str::<Value>(text) else { continue };
            if value["method"] == "Network.requestWillBeSent" {
                self.asked.push(value["params"]["request"]["url"].as_str().unwrap_or_default().to_owned());
            }
            if value["id"] == self.count {
                // A page that is left while it answers has no answer.
                let left = value["error"]["message"].as_str().is_some_and(|why| why.contains("navigated"));
                assert!(left || value["error"].is_null(), "{method}: {}", value["error"]);
                return value["result"].clone();
            }
        }
    }

    /// Opens an address and waits until the page stands.
    pub fn open(&mut self, address: &str) {
        self.leave();
        self.call("Page.navigate", json!({ "url": address }));
        self.loaded();
    }

    /// Remembers the page that is about to be left.
    pub fn leave(&mut self) {
        self.page = self.value("performance.timeOrigin");
    }

    /// Waits until another page than the one that was left stands.
    pub fn loaded(&mut self) {
        let page = self.page.clone();
        self.until(&format!("performance.timeOrigin !== {page} && document.readyState === 'complete'"));
    }

    /// The value of an expression in the page; a promise is waited for.
    pub fn value(&mut self, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let answer = self.call("Runtime.evaluate", asked);
        answer["result"]["value"].clone()
    }

    /// Waits until an expression is true.
    pub fn until(&mut self, expression: &str) {
        let begun = Instant::now();
        while self.value(expression) != json!(true) {
            assert!(begun.elapsed() < PATIENCE, "{expression}\n{}", self.text());
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// The words of the page.
    pub fn text(&mut self) -> String {
        self.value("location.pathname + '\\n' + document.body.innerText").as_str().unwrap_or_default().to_owned()
    }

    /// Fills fields by their names, as typing does.
    pub fn fill(&mut self, fields: &[(&str, &str)]) {
        for (name, text) in fields {
            let (name, text) = (json!(name), json!(text));
            let done = self.value(&format!(
                "(() => {{ const f = document.querySelector(`[name=\"${{{name}}}\"]:not([type=hidden])`); if (!f) return false; f.value = {text}; f.dispatchEvent(new Event('input', {{bubbles: true}})); return true; }})()"
            ));
            assert_eq!(done, json!(true), "field {name}: {}", self.text());
        }
    }

    /// Sends a form and waits for the next page.
    pub fn submit(&mut self, form: &str) {
        self.leave();
        self.value(&format!("document.querySelector('{form}').requestSubmit()"));
        self.loaded();
        let wrong = self.value("[...document.querySelectorAll('.faults')].map(f => f.innerText).join()");
        assert_eq!(wrong, json!(""), "nothing is wrong");
    }

    /// Plans a weighing by the form of its step.
    pub fn plan_weighing(&mut self, step: &str, what: &str, with: &str) {
        let (step, what, with) = (json!(step), json!(what), json!(with));
        self.leave();
        let done = self.value(&format!(
            "(() => {{ const f = [...document.querySelectorAll('form.write')].find(f => f.step.value === {step}); if (!f) return false; \
             f.what.value = {what}; f.with.value = {with}; if (f.what.value !== {what}) return false; \
             f.requestSubmit(f.querySelector('[name=later]')); return true; }})()"
        ));
        assert_eq!(done, json!(true), "{step} {what}: {}", self.text());
        self.loaded();
    }

    /// Goes along the bench to the next weighing, writes down holds on the way, and enters a figure.
    pub fn on_the_bench(&mut self, figure: &str) {
        for _ in 0..20 {
            if self.value("document.querySelector('.entry-form') && !document.querySelector('.already')") == json!(true)
            {
                self.fill(&[("figure", figure)]);
                self.until("document.querySelector('#verdict b').textContent !== 'What does it show?'");
                self.leave();
                self.value("document.querySelector('form.entry-form').requestSubmit()");
                self.loaded();
                return;
            }
            if self.value("document.querySelector('.hold-entry') !== null") == json!(true) {
                self.fill(&[("seen", "no bubbles for a minute")]);
                self.submit("form.hold-entry");
            } else {
                self.click_link("Next step");
            }
        }
        panic!("no weighing comes: {}", self.text());
    }

    /// Follows a link by its words.
    pub fn click_link(&mut self, words: &str) {
        let words = json!(words);
        self.leave();
        self.value(&format!("[...document.querySelectorAll('a')].find(a => a.textContent.trim() === {words}).click()"));
        self.loaded();
    }

    /// Presses a key.
    pub fn key(&mut self, key: &str, code: u32) {
        let text = if key == "Enter" { "\r" } else { "" };
        for kind in ["keyDown", "keyUp"] {
            let mut event = json!({ "type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code });
            if kind == "keyDown" && !text.is_empty() {
                event["text"] = json!(text);
            }
            self.call("Input.dispatchKeyEvent", event);
        }
    }

    /// Types into whatever has the focus, letter by letter.
    pub fn type_text(&mut self, text: &str) {
        for letter in text.chars().map(String::from) {
            self.call("Input.dispatchKeyEvent", json!({ "type": "keyDown", "key": letter, "text": letter }));
            self.call("Input.dispatchKeyEvent", json!({ "type": "keyUp", "key": letter }));
        }
    }

    /// The tab that is driven.
    pub fn tab(&self) -> String {
        self.session.clone()
    }

    /// Drives another tab.
    pub fn turn_to(&mut self, tab: &str) {
        tab.clone_into(&mut self.session);
    }

    /// Opens another tab of the same browser and drives it.
    pub fn another_tab(&mut self) -> String {
        self.session.clear();
        let target = self.call("Target.createTarget", json!({ "url": "about:blank", "newWindow": true }));
        let attached = self.call("Target.attachToTarget", json!({ "targetId": target["targetId"], "flatten": true }));
        self.session = attached["sessionId"].as_str().expect("a session").to_owned();
        for domain in ["Page.enable", "Network.enable", "Runtime.enable"] {
            self.call(domain, json!({}));
        }
        self.tab()
    }

    /// Takes the connection away, or gives it back.
    pub fn offline(&mut self, offline: bool) {
        let network = json!({ "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.call("Network.emulateNetworkConditions", network);
    }

    /// Light or dark.
    pub fn theme(&mut self, theme: &str) {
        let feature = json!({ "features": [{ "name": "prefers-color-scheme", "value": theme }] });
        self.call("Emulation.setEmulatedMedia", feature);
    }

    /// The width of the window.
    pub fn width(&mut self, width: u32) {
        let size = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.call("Emulation.setDeviceMetricsOverride", size);
    }

    /// Nothing was asked of another place.
    pub fn asked_only(&mut self, base: &str) {
        let own = |address: &String| {
            address.starts_with(&format!("{base}/")) || address.starts_with("data:") || address.starts_with("about:")
        };
        let others: Vec<&String> = self.asked.iter().filter(|address| !own(address)).collect();
        assert!(others.is_empty() && !self.asked.is_empty(), "{others:?}");
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
