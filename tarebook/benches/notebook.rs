//! How fast is the notebook in the browser, and how much does it weigh?
//!
//! The built program serves folders of its own on a free port; requests go over a plain socket, as a browser sends them.
//! Told are medians: the first page, from an entry or a changed plan to the redrawn account of a preparation of thirty
//! steps, a list of two thousand preparations, the compressed weight of each page, the memory the program holds.

#[path = "../tests/browser/served.rs"]
mod served;

use served::Served;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::{Duration, Instant};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");
const LIQUORS: &str = include_str!("../../prep/benches/preparations/many-liquors.toml");
const THIRTY: &str = include_str!("../../prep/benches/preparations/thirty-steps.toml");
/// An invented small preparation, of which a notebook of years has many.
const SMALL: &str = r#"title       = "Zinc oxide from white powder, run NUMBER"
target      = { substance = "ZnO(s)", amount = "10 g" }
account_for = "Zn"
closed      = 2026-05-04

[[supply]]
name  = "zinc white"
label = "zinc oxide, 98 % min"
holds = "ZnO(s)"
assay = ">= 98 %"
left  = "350 ± 5 g"

[[instrument]]
name       = "milligram balance"
kind       = "balance"
resolution = "0.001 g"

[[step]]
name        = "ignite"
action      = "ignite"
take        = { "zinc white" = "10.000 g" }
temperature = "800 °C"
may_hold    = ["ZnO(s)"]
quote_as    = ["ZnO(s)"]
gives       = { oxide = "all" }
  [[step.reading]]
  id     = "r1"
  weigh  = "10.002 g"
  charge = "zinc white"
  with   = "milligram balance"
  at     = 2026-05-02T11:20:00

  [[step.reading]]
  id    = "r2"
  weigh = "FIGURE"
  of    = "oxide"
  with  = "milligram balance"
  at    = 2026-05-02T15:20:00
"#;
const MANY: usize = 2000;
const TIMES: usize = 21;

fn main() {
    // A test run of all targets only sees that it is built.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    // All parts, or those that are named.
    let named: Vec<String> = std::env::args().skip(1).filter(|argument| !argument.starts_with('-')).collect();
    line("| what | measured | wanted |\n|---|---|---|");
    for (part, work) in [("page", first_page as fn()), ("steps", thirty_steps), ("many", many)] {
        if named.is_empty() || named.iter().any(|name| name == part) {
            work();
        }
    }
}

fn row(what: &str, measured: &str, wanted: &str) {
    line(&format!("| {what} | {measured} | {wanted} |"));
}

fn line(text: &str) {
    writeln!(std::io::stdout(), "{text}").expect("told");
}

fn told(times: &mut [Duration]) -> String {
    times.sort();
    let middle = times.get(times.len() / 2).copied().unwrap_or_default();
    let most = times.last().copied().unwrap_or_default();
    format!("{:.1} ms, at most {:.1} ms", 1e3 * middle.as_secs_f64(), 1e3 * most.as_secs_f64())
}

/// Head and body of an answer, as they came.
fn ask(host: &str, method: &str, path: &str, body: &str) -> (String, Vec<u8>) {
    let mut stream = TcpStream::connect(host).expect("a connection");
    let length = body.len();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nAccept-Encoding: gzip\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{body}"
    );
    stream.write_all(head.as_bytes()).expect("sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("an answer");
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n").expect("a head") + 4;
    let body = answer.split_off(end);
    (String::from_utf8_lossy(&answer).into_owned(), body)
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

fn get(host: &str, path: &str) -> (String, Vec<u8>) {
    let (head, body) = ask(host, "GET", path, "");
    assert!(head.starts_with("HTTP/1.1 200"), "{path}: {head}");
    (head, body)
}

/// Resident memory of the program, MB.
fn memory(served: &Served) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", served.id())).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1024.0)
}

fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a scratch folder");
    for (name, text) in files {
        write(folder.path(), name, text);
    }
    folder
}

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(format!("{name}.toml")), text).expect("written");
}

fn first_page() {
    let place = folder(&[("bluestone", BLUESTONE)]);
    let mut starts = Vec::new();
    for _ in 0..9 {
        starts.push(timed(|| drop(get(&Served::start(place.path()).host, "/"))));
    }
    row("from the start of the program to its first page", &told(&mut starts), "");
    let served = Served::start(place.path());
    for (what, path) in [("first page", "/"), ("a preparation", "/p/bluestone"), ("an account", "/p/bluestone/account")]
    {
        get(&served.host, path);
        // The sampled account replaces the quick one meanwhile.
        std::thread::sleep(Duration::from_secs(if path.ends_with("account") { 8 } else { 1 }));
        let mut times: Vec<Duration> = (0..TIMES).map(|_| timed(|| drop(get(&served.host, path)))).collect();
        row(what, &told(&mut times), if path == "/" { "< 30 ms" } else { "" });
    }
    weights(&served);
    std::thread::sleep(Duration::from_secs(2));
    row("memory, one preparation with its sampled account", &format!("{:.0} MB", memory(&served)), "< 60 MB");
}

fn weights(served: &Served) {
    let weight = |path: &str| get(&served.host, path).1.len();
    let shared: usize = ["tokens.css", "page.css", "more.css", "theme.js", "page.js"]
        .iter()
        .map(|file| weight(&format!("/assets/{file}")))
        .sum();
    let kb = |bytes: usize| format!("{:.1} kB", bytes as f64 / 1e3);
    for (what, path, more) in [
        ("weight of the list", "/", 0),
        ("weight of a preparation", "/p/bluestone", 0),
        ("weight of an account", "/p/bluestone/account", 0),
        ("weight of the bench", "/p/bluestone/bench", weight("/assets/bench.js")),
    ] {
        row(&format!("{what}, with styles and scripts"), &kb(shared + more + weight(path)), "< 150 kB");
    }
    let fonts: usize =
        ["roman", "italic"].iter().map(|face| weight(&format!("/assets/tarebook-serif-{face}.woff2"))).sum();
    row("fonts, kept by the browser", &kb(fonts), "< 420 kB");
}

/// Between two edits: what was told at once is told in full by then, and an account is not sampled yet.
const QUIET: Duration = Duration::from_millis(900);
/// Between two edits: by then the account of the first is being sampled.
const SAMPLING: Duration = Duration::from_millis(2200);

fn encoded(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric();
    text.bytes().map(|byte| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") }).collect()
}

fn thirty_steps() {
    edited(("thirty steps, four readings", "< 50 ms"), LIQUORS, ("38.20 g", "38.", "0 g"), ("\"25 g\"", "\"2"), TIMES);
    let figure = ("\"38.6 g\"", "\"38.", " g\"");
    edited(("thirty steps, forty readings, three open compositions", ""), THIRTY, figure, ("\"40 g\"", "\"4"), 5);
}

/// From an edit to the redrawn page: a figure is changed in its last digit, then the mass that is wanted.
fn edited((what, aim): (&str, &str), text: &str, figure: (&str, &str, &str), wanted: (&str, &str), times: usize) {
    let place = folder(&[("long", text)]);
    let served = Served::start(place.path());
    let host = &served.host;
    get(host, "/p/long");
    let save = |next: &str, page: &str, pause: Duration| {
        let now = std::fs::read_to_string(place.path().join("long.toml")).expect("the file");
        let body = format!("base={}&text={}", blake3::hash(now.as_bytes()).to_hex(), encoded(next));
        let spent = timed(|| {
            let (head, answer) = ask(host, "POST", "/p/long/file", &body);
            assert!(head.starts_with("HTTP/1.1 303"), "{head} {}", String::from_utf8_lossy(&answer));
            get(host, page);
        });
        std::thread::sleep(pause);
        spent
    };
    let changed = |n: usize| {
        let next = text.replacen(figure.0, &format!("{}{}{}", figure.1, 1 + n % 9, figure.2), 1);
        assert!(n > 0 || next != text, "the figure is there");
        next
    };
    for (name, page, aim) in
        [("account", "/p/long/account", aim), ("procedure", "/p/long", ""), ("bench page", "/p/long/bench", "")]
    {
        let mut figures: Vec<Duration> = (0..times).map(|n| save(&changed(n), page, QUIET)).collect();
        row(&format!("{what}: from a figure to the redrawn {name}"), &told(&mut figures), aim);
        let plans = (0..times).map(|n| {
            let next = text.replacen(wanted.0, &format!("{}{} g\"", wanted.1, 1 + n % 9), 1);
            save(&next, page, QUIET)
        });
        row(&format!("{what}: from a changed plan to the redrawn {name}"), &told(&mut plans.collect::<Vec<_>>()), aim);
    }
    let mut figures: Vec<Duration> =
        (0..times.min(9)).map(|n| save(&changed(n), "/p/long/account", SAMPLING)).collect();
    row(
        &format!("{what}: from a figure to the redrawn account, while that of the text before is sampled"),
        &told(&mut figures),
        "",
    );
}

fn many() {
    let place = folder(&[]);
    for number in 0..MANY {
        // Each is another text; they are closed, as in a notebook of years.
        let text =
            SMALL.replace("NUMBER", &number.to_string()).replace("FIGURE", &format!("9.{:03} g", 700 + number % 300));
        write(place.path(), &format!("run-{number:04}"), &text);
    }
    let begun = Instant::now();
    {
        let served = Served::start(place.path());
        row(
            "2000 preparations: from the first start to the first list",
            &format!("{:.1} s", begun.elapsed().as_secs_f64()),
            "",
        );
        while !listed(place.path()) {
            get(&served.host, "/");
            std::thread::sleep(Duration::from_secs(2));
        }
        row(
            "2000 preparations: all worked out behind the page",
            &format!("{:.0} s, once", begun.elapsed().as_secs_f64()),
            "",
        );
    }
    let mut starts = Vec::new();
    for _ in 0..5 {
        starts.push(timed(|| drop(get(&Served::start(place.path()).host, "/"))));
    }
    row("2000 preparations: from the start of the program to the list", &told(&mut starts), "");
    let served = Served::start(place.path());
    get(&served.host, "/");
    let mut lists: Vec<Duration> = (0..TIMES).map(|_| timed(|| drop(get(&served.host, "/")))).collect();
    row("2000 preparations: the list", &told(&mut lists), "< 100 ms");
    let mut finds: Vec<Duration> = (0..TIMES).map(|_| timed(|| drop(get(&served.host, "/?q=run+1234")))).collect();
    row("2000 preparations: finding one by words of its text", &told(&mut finds), "");
    row(
        "2000 preparations: weight of the list alone",
        &format!("{:.0} kB", get(&served.host, "/").1.len() as f64 / 1e3),
        "",
    );
    std::thread::sleep(Duration::from_secs(3));
    row("2000 preparations: memory when idle", &format!("{:.0} MB", memory(&served)), "< 60 MB");
}

/// Whether the index knows all preparations.
fn listed(folder: &Path) -> bool {
    let Ok(index) = rusqlite::Connection::open(folder.join("index.sqlite")) else { return false };
    index.query_row("SELECT count(*) FROM line", [], |row| row.get::<_, i64>(0)).is_ok_and(|n| n >= MANY as i64)
}
