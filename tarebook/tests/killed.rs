//! Is what was acknowledged still there when the program is killed while it saves?

#[path = "browser/served.rs"]
mod served;

use served::Served;
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

const FILE: &str = r#"title = "Invented solution"
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

#[test]
fn killed_during_three_hundred_saves_nothing_acknowledged_is_lost() {
    let folder = tempfile::tempdir().expect("a scratch folder");
    let file = folder.path().join("small.toml");
    std::fs::write(&file, FILE).expect("written");
    let mut acknowledged = Vec::new();
    for round in 0..6 {
        let mut server = Served::start(folder.path());
        let sent = AtomicUsize::new(0);
        let host = server.host.clone();
        let done = std::thread::scope(|scope| {
            let work = scope.spawn(|| {
                let writer = Client { host };
                let mut done = Vec::new();
                for entry in 0..50 {
                    let note = format!("round{round}entry{entry}e");
                    let body = format!("reading=r1&figure=109.80&key={note}&note={note}");
                    match writer.post(&body) {
                        Some(200) => done.push(note),
                        _ => break,
                    }
                    sent.fetch_add(1, Ordering::Relaxed);
                }
                done
            });
            // The last round runs to its end; the others are cut off somewhere in the middle of a save.
            if round < 5 {
                while sent.load(Ordering::Relaxed) < 8 * (round + 1) && !work.is_finished() {
                    std::thread::sleep(Duration::from_micros(300));
                }
                server.kill();
            }
            work.join().expect("the writer ends")
        });
        acknowledged.extend(done);
    }
    assert!(acknowledged.len() >= 50 + 8 * 15, "{}", acknowledged.len());
    drop(Served::start(folder.path()));
    let text = std::fs::read_to_string(&file).expect("the file");
    for note in &acknowledged {
        assert_eq!(text.matches(note.as_str()).count(), 1, "{note}");
    }
    let check = Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(["check", "--history", "--json"])
        .arg(&file)
        .output()
        .expect("checked");
    let told = String::from_utf8_lossy(&check.stdout);
    assert!(told.contains("history-whole"), "{told}");
}

struct Client {
    host: String,
}

impl Client {
    fn post(&self, body: &str) -> Option<u16> {
        served::post(&self.host, "/p/small/enter", body)
    }
}
