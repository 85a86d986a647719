//! Does the notebook work in a browser: by forms only, by keyboard only, without a connection, for everybody?
//!
//! Each test serves a folder of its own on a free port of this machine and drives a headless Chromium. Without a
//! Chromium the tests say so and pass, unless `TAREBOOK_NEEDS_BROWSER` is set, as `./check` does where it can install one.
//! The rules of access are those of axe-core, kept in `tests/vendor` with its licence.

mod driven;
mod keyboard;
mod queue;
mod served;

use driven::Browser;
use served::Served;

const AXE: &str = include_str!("../vendor/axe-core/axe.min.js");
const BLUESTONE: &str = include_str!("../../../examples/bluestone.toml");
const REFUSED: &str =
    "title = \"x\"\ntarget = { substance = \"Pb(N3)2(s)\", amount = \"1 g\" }\naccount_for = \"Pb\"\n";
const DRAFT: &str = "title = \"A draft\"\naccount_for = \"Cu\"\n[[supply]]\nname = \"bluestone\"\nholds = \"CuSO4·5H2Oo(s)\"\n[[step]]\nname = \"dissolve\"\naction = \"disolve\"\n";
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

/// Name, action and fields of a step.
type Step = (&'static str, &'static str, &'static [(&'static str, &'static str)]);
/// Steps of the example as its forms take them: name, action, and the fields of each.
const STEPS: [Step; 8] = [
    (
        "clear",
        "filter",
        &[
            ("take", "blue liquor = all"),
            ("wash", "2 x 20 g"),
            ("duration", "20 .. 30 min"),
            ("gives", "grit = solids\nfiltrate = solution"),
        ],
    ),
    (
        "precipitate",
        "precipitate",
        &[
            (
                "caution",
                "Carbon dioxide foams up: open vessel of at least twice the volume, add slowly; never close it.",
            ),
            ("take", "filtrate = all\nwashing soda = 126 g\nwater = 500 g"),
            ("in", "bucket"),
            ("duration", "45 min"),
            ("reaction", "2 CuSO4(aq) + 2 Na2CO3(aq) + H2O(l) -> Cu2CO3(OH)2(s) + 2 Na2SO4(aq) + CO2(g)"),
            ("gives", "slurry = all"),
        ],
    ),
    (
        "filter",
        "filter",
        &[
            ("by", "suction"),
            ("take", "slurry = all"),
            ("held_liquor", "63 ± 10 g"),
            ("wash", "4 x 100 g"),
            ("gives", "cake = solids\nliquor = solution"),
        ],
    ),
    (
        "dry",
        "dry",
        &[
            ("take", "cake = all"),
            ("temperature", "105 °C"),
            ("may_hold", "Cu2CO3(OH)2·nH2O(s), n = 0 .. 1\nCu3(CO3)2(OH)2(s)\nH2O(l)"),
            ("quote_as", "CuCO3(s)\nCu2CO3(OH)2(s)"),
            ("gives", "precipitate = all"),
        ],
    ),
    ("divide", "divide", &[("take", "precipitate = all"), ("gives", "portion = 2.000 g\nbulk = rest")]),
    (
        "ignite a portion",
        "ignite",
        &[
            ("purpose", "test"),
            ("take", "portion = all"),
            ("atmosphere", "air"),
            ("temperature", "600 °C"),
            ("loss", "none"),
            ("may_hold", "CuO(s)\nNa2SO4(s)"),
            ("gives", "residue = all"),
        ],
    ),
    (
        "ignite",
        "ignite",
        &[
            ("take", "bulk = all"),
            ("atmosphere", "air"),
            ("temperature", "600 °C"),
            ("may_hold", "CuO(s)\nNa2SO4(s)"),
            ("gives", "bulk oxide = all"),
        ],
    ),
    ("combine", "combine", &[("take", "bulk oxide = all\nresidue = all"), ("gives", "copper oxide = all")]),
];

/// Weighings of the example: step, what is on the pan, balance, figure. The charge is the planned one.
const WEIGHINGS: [(&str, &str, &str, &str); 4] = [
    ("dry", "of precipitate", "pocket balance", "43.90"),
    ("divide", "in crucible 3", "milligram balance", "25.130"),
    ("divide", "both portion\u{1f}crucible 3", "milligram balance", "27.130"),
    ("ignite a portion", "both residue\u{1f}crucible 3", "milligram balance", "26.522"),
];

/// The whole example by forms only, run on the bench page with its figures, closed, and read: 96.9 ± 0.6 % by ignition
/// of the portion, as worked out by hand in the example (24.409 g of 25.20 g copper).
#[test]
fn bluestone_is_prepared_by_forms_run_on_the_bench_closed_and_read() {
    let Some((folder, served, mut browser)) = opened(&[]) else { return };
    let base = format!("http://{}", served.host);
    browser.open(&format!("{base}/"));
    browser.click_link("New preparation");
    browser.fill(&[
        ("title", "Copper from garden bluestone"),
        ("target", "CuO(s)"),
        ("amount", "25 g"),
        ("element", "Cu"),
        ("balance", "0.01 g"),
        ("name", "copper"),
        ("supplies", "bluestone, CuSO4·5H2O(s), >= 98 %\nwashing soda, Na2CO3·10H2O(s), 100 %"),
    ]);
    browser.submit("form.sheet-form");
    let edit = format!("{base}/p/copper/edit?kind=");
    let mut by_form = |address: &str, fields: &[(&str, &str)]| {
        browser.open(&format!("{edit}{address}"));
        browser.fill(fields);
        browser.submit("form.sheet-form");
    };
    by_form("supply&of=washing%20soda", &[("holds", "Na2CO3·10H2O(s)\nNa2CO3·H2O(s)")]);
    let pocket =
        [("name", "pocket balance"), ("repeatability", "0.015 g"), ("slope", "0 ± 0.02 %"), ("capacity", "200 g")];
    by_form("instrument&of=balance", &pocket);
    by_form(
        "instrument&new=1",
        &[
            ("name", "milligram balance"),
            ("kind", "balance"),
            ("resolution", "0.001 g"),
            ("repeatability", "0.002 g"),
            ("slope", "0 ± 0.02 %"),
            ("capacity", "50 g"),
        ],
    );
    for (vessel, capacity) in [("crucible 3", ""), ("beaker", "1 L"), ("bucket", "3 L")] {
        by_form("vessel&new=1", &[("name", vessel), ("capacity", capacity)]);
    }
    // The lot gets another name, and so does the vessel of the step.
    let dissolve = [("take", "bluestone = 100.0 g\nwater = 400 g"), ("in", "beaker"), ("gives", "blue liquor = all")];
    by_form("step&of=dissolve", &dissolve);
    for (name, action, fields) in STEPS {
        let all = [&[("name", name), ("action", action)], fields].concat();
        by_form("step&new=1", &all);
    }
    browser.open(&format!("{base}/p/copper"));
    for (step, what, with, _) in WEIGHINGS {
        browser.plan_weighing(step, what, with);
    }
    let text = std::fs::read_to_string(folder.path().join("copper.toml")).expect("the file");
    assert!(text.contains("# What follows a # is a remark") && text.matches("[[step.reading]]").count() == 5, "{text}");
    // Its name, the charge that the draft planned, and the dried precipitate.
    assert_eq!(text.matches("\"pocket balance\"").count(), 3, "the balance is called by its new name: {text}");

    browser.open(&format!("{base}/p/copper/bench"));
    for figure in ["100.0"].into_iter().chain(WEIGHINGS.map(|(_, _, _, figure)| figure)) {
        browser.on_the_bench(figure);
    }
    let text = std::fs::read_to_string(folder.path().join("copper.toml")).expect("the file");
    assert!(text.contains("hold passed"), "{text}");
    browser.open(&format!("{base}/p/copper"));
    browser.submit("form.close-books");
    browser.until("document.querySelector('#main').textContent.includes('closed')");
    browser.open(&format!("{base}/p/copper/account"));
    let told = browser.text().replace('\u{a0}', " ");
    let share = told.split(" % of the copper on the label").next().and_then(|before| before.rsplit(": ").next());
    let (value, uncertainty) = share.and_then(|share| share.split_once(" ± ")).expect("a share of the label");
    let (value, uncertainty): (f64, f64) = (value.parse().expect("a number"), uncertainty.parse().expect("a number"));
    assert!((value - 96.9).abs() < 0.05 && (uncertainty - 0.6).abs() < 0.05, "{value} ± {uncertainty}");
    let text = std::fs::read_to_string(folder.path().join("copper.toml")).expect("the file");
    assert!(text.contains("43.90 g") && text.contains("26.522 g") && text.contains("closed"), "{text}");
    browser.asked_only(&base);
}

#[test]
fn what_is_typed_stays_when_it_is_not_understood_and_when_the_notebook_is_gone() {
    let Some((folder, mut served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small", served.host));
    let told = "document.querySelector('form.write .live').textContent";
    let kept = "document.querySelector('form.write [name=figure]').value";
    browser.fill(&[("figure", "10o.8")]);
    browser.value("document.querySelector('form.write').requestSubmit()");
    browser.until(&format!("{told}.includes('Not entered') && {kept} === '10o.8'"));
    browser.until("document.querySelector('form.write [name=figure]').getAttribute('aria-invalid') === 'true'");
    served.kill();
    browser.fill(&[("figure", "109.80")]);
    browser.value("document.querySelector('form.write').requestSubmit()");
    browser.until(&format!("{told}.includes('does not answer') && {kept} === '109.80'"));
    let text = std::fs::read_to_string(folder.path().join("small.toml")).expect("the file");
    assert!(!text.contains("10o.8") && !text.contains("109.80"), "{text}");
}

#[test]
fn the_bench_follows_what_another_device_enters_and_keeps_what_is_typed() {
    let Some((_folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small/bench", served.host));
    browser.value("window.same = true");
    let entered = |figure: &str| {
        served::post(&served.host, "/p/small/enter", &format!("reading=r1&figure={figure}&key={figure}"))
    };
    assert_eq!(entered("109.80"), Some(200));
    browser.until("window.same === true && document.querySelector('.already')?.textContent.includes('109.80')");
    browser.fill(&[("figure", "109.7")]);
    browser.until("document.querySelector('#verdict b').textContent !== 'What does it show?'");
    assert_eq!(entered("109.81"), Some(200));
    browser.until("document.querySelector('#changed') !== null && document.querySelector('#figure').value === '109.7'");
}

#[test]
fn what_is_only_told_better_waits_until_nothing_is_typed_and_is_no_change() {
    let Some((folder, served, mut browser)) = opened(&[("bluestone", BLUESTONE)]) else { return };
    let address = format!("http://{}/p/bluestone", served.host);
    let figure = |browser: &mut Browser, text: &str| {
        browser.value(&format!(
            "(() => {{ const f = document.querySelector('form.write [name=figure]'); f.value = '{text}'; \
             f.dispatchEvent(new Event('input', {{bubbles: true}})); }})()"
        ));
    };
    browser.open(&address);
    figure(&mut browser, "12.3");
    browser.value("window.same = true; document.getElementById('main').addEventListener('refreshed', () => { window.taken = true; })");
    // A report waits for the sampled account, of which the pages are told.
    browser.value("performance.clearResourceTimings()");
    browser.value("fetch('/p/bluestone/paper/report.html').then((answer) => answer.text()).then(() => true)");
    let looked = "performance.getEntriesByType('resource').some((one) => one.name === location.href)";
    browser.until(looked);
    std::thread::sleep(std::time::Duration::from_millis(500));
    let kept = "window.same === true && window.taken !== true && document.querySelector('#changed') === null \
        && document.querySelector('form.write [name=figure]').value === '12.3'";
    assert_eq!(browser.value(kept), serde_json::json!(true), "{}", browser.text());
    figure(&mut browser, "");
    browser.until("window.same === true && window.taken === true && !document.body.innerText.includes('A quick view') && !document.body.innerText.includes('A first view')");
    // The bench shows nothing that is told better afterwards: it stands still under the hand, though the file was touched.
    browser.open(&format!("{address}/bench"));
    browser.value("performance.clearResourceTimings(); document.querySelector('h1').dataset.own = 'yes'");
    std::fs::write(folder.path().join("bluestone.toml"), BLUESTONE).expect("written");
    browser.until(looked);
    std::thread::sleep(std::time::Duration::from_millis(300));
    assert_eq!(browser.value("document.querySelector('h1').dataset.own"), serde_json::json!("yes"));
    // A file that cannot be read any more ends that, and so does one that can be read again.
    std::fs::write(folder.path().join("bluestone.toml"), "title = ").expect("written");
    browser.until("document.querySelector('h1').textContent === 'Not ready for the bench'");
    std::fs::write(folder.path().join("bluestone.toml"), BLUESTONE).expect("written");
    browser.until("document.querySelector('main.bench .timer') !== null");
}

#[test]
fn a_page_that_shows_itself_anew_stays_as_it_was_left_and_says_when_it_is_refused_or_gone() {
    let Some((folder, served, mut browser)) = opened(&[("bluestone", BLUESTONE)]) else { return };
    let path = folder.path().join("bluestone.toml");
    browser.open(&format!("http://{}/p/bluestone", served.host));
    browser.until("!('quick' in document.getElementById('main').dataset)");
    let open = "document.querySelectorAll('details[open]').length";
    browser.value(
        "document.getElementById('main').addEventListener('refreshed', () => { window.taken = true; }); \
         const own = [...document.querySelectorAll('details.write-in:not([open]) > summary')][1]; own.focus(); own.click()",
    );
    let before = browser.value(open);
    std::fs::write(&path, format!("{BLUESTONE}\n# later\n")).expect("written");
    browser.until("window.taken === true");
    assert_eq!(browser.value(open), before, "only what was open is open");
    let focused = "document.activeElement.parentElement.matches('details.write-in[open]')";
    assert_eq!(browser.value(focused), serde_json::json!(true), "the focus stays");
    std::fs::write(&path, REFUSED).expect("written");
    browser.until(
        "document.getElementById('main').innerText.includes('out of bounds') && !document.querySelector('.ledger')",
    );
    std::fs::remove_file(&path).expect("removed");
    browser.until("document.getElementById('main').innerText.includes('no preparation')");
}

#[test]
fn a_tab_that_is_not_seen_shows_what_changed_when_it_is_seen_again() {
    let Some((_folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    browser.open(&format!("http://{}/p/small/bench", served.host));
    let mut seen = |hidden: bool| {
        browser.value(&format!(
            "window.same = true; Object.defineProperty(document, 'hidden', {{ value: {hidden}, configurable: true }}); \
             document.dispatchEvent(new Event('visibilitychange'))"
        ));
    };
    seen(true);
    let body = "reading=r1&figure=109.80&key=other";
    assert_eq!(served::post(&served.host, "/p/small/enter", body), Some(200));
    seen(false);
    browser.until("window.same === true && document.querySelector('.already')?.textContent.includes('109.80')");
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
fn a_name_that_is_taken_is_told_at_its_field_and_stays() {
    let Some((_folder, served, mut browser)) = opened(&[("small", WAITING)]) else { return };
    let base = format!("http://{}", served.host);
    for (name, filled) in [
        ("copy-name", &[][..]),
        ("name", &[("title", "Another"), ("target", "CuO(s)"), ("amount", "25 g"), ("element", "Cu")][..]),
    ] {
        browser.open(&format!("{base}/new"));
        browser.fill(filled);
        let field = format!("document.getElementById('{name}')");
        browser.leave();
        browser.value(&format!("{field}.value = 'small'; {field}.form.requestSubmit()"));
        browser.loaded();
        browser.until(&format!("{field}.getAttribute('aria-invalid') === 'true' && {field}.value === 'small'"));
        let why = format!("document.getElementById({field}.getAttribute('aria-describedby')).textContent");
        browser.until(&format!("{why}.includes('small')"));
        browser.until("document.querySelectorAll('[aria-invalid]').length === 1");
    }
}

#[test]
fn every_page_keeps_the_rules_of_access_and_stays_on_the_screen() {
    let files = [("bluestone", BLUESTONE), ("small", WAITING), ("refused", REFUSED), ("draft", DRAFT)];
    let Some((_folder, served, mut browser)) = opened(&files) else { return };
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
        "/p/copied/versions",
        "/p/bluestone/account",
        "/p/bluestone/account?claim=24.4%20g%20Cu",
        "/questions/replicates",
        "/questions/replicates?of=bluestone&of=copied",
        "/questions/losses",
        "/questions/room?take=10%20g%20CO2(g)&room=30%20m3",
        "/p/refused",
        "/p/draft",
        "/p/draft/account",
        "/p/draft/bench",
        "/p/draft/file",
        "/p/bluestone/edit?kind=supply&of=bluestone",
        "/p/small/bench",
        "/pair",
        "/nowhere",
    ];
    // A second run, which has an old version too.
    for (address, body) in [
        ("/new", "copy=bluestone&name=copied"),
        ("/p/copied/reading", "step=filter&what=of%20cake&with=pocket%20balance&figure=120"),
    ] {
        assert_eq!(served::post(&served.host, address, body), Some(303), "{address}");
    }
    // The one-file backup is handed over, not shown: the way to it stands under the list.
    browser.open(&format!("{base}/"));
    let backup = browser.value("fetch('/backup').then(answer => answer.headers.get('content-disposition'))");
    assert!(backup.as_str().is_some_and(|told| told.contains("attachment")), "{backup}");
    // Every question, and its example with the answer.
    browser.open(&format!("{base}/questions"));
    let links =
        |name: &str| format!("[...document.querySelectorAll('{name}')].map(a => a.getAttribute('href')).join('\\n')");
    let desks = browser.value(&links(".desks a")).as_str().unwrap_or_default().to_owned();
    let mut all: Vec<String> = pages.map(str::to_owned).into();
    for desk in desks.lines() {
        browser.open(&format!("{base}{desk}"));
        let examples = browser.value(&links("main p.q2 a")).as_str().unwrap_or_default().to_owned();
        all.extend(std::iter::once(desk).chain(examples.lines()).map(str::to_owned));
    }
    assert!(all.len() > pages.len() + 20, "the desks are among the pages: {all:?}");
    for theme in ["light", "dark"] {
        browser.theme(theme);
        for page in &all {
            browser.open(&format!("{base}{page}"));
            browser.width(360);
            let over = browser.value("document.documentElement.scrollWidth - innerWidth");
            assert!(over.as_f64().is_some_and(|over| over < 2.0), "{page} is {over} px too wide at 360 px");
            browser.width(1920);
            let over = browser.value("document.documentElement.scrollWidth - innerWidth");
            assert!(over.as_f64().is_some_and(|over| over < 2.0), "{page} is {over} px too wide at 1920 px");
            browser.width(1280);
            // What is folded away is looked at too.
            browser.value("for (const part of document.querySelectorAll('details')) part.open = true");
            browser.value(AXE);
            let found = browser.value(
                "axe.run(document, {resultTypes: ['violations']}).then(r => JSON.stringify(r.violations.filter(v => ['serious', 'critical'].includes(v.impact)).map(v => [v.id, v.nodes.map(n => n.target.join(' '))])))",
            );
            assert_eq!(found, serde_json::json!("[]"), "{page} in {theme}");
        }
    }
    browser.asked_only(&base);
}
