//! How long does a question take from start to end of the program?
//!
//! Each sample starts the built program, reads its answer and waits for its end.

use std::process::{Command, Output, Stdio};

fn main() {
    divan::main();
}

fn answer(arguments: &[&str]) -> Output {
    let output = Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}

fn example() -> String {
    format!("{}/../examples/bluestone.toml", env!("CARGO_MANIFEST_DIR"))
}

#[divan::bench(sample_count = 100, sample_size = 1)]
fn help() -> Output {
    answer(&["--help"])
}

#[divan::bench(sample_count = 100, sample_size = 1)]
fn formula() -> Output {
    answer(&["formula", "CuSO4·5H2O"])
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn check(bencher: divan::Bencher) {
    let file = example();
    bencher.bench_local(|| answer(&["check", &file]));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn plan(bencher: divan::Bencher) {
    let file = example();
    bencher.bench_local(|| answer(&["plan", &file]));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn account_at_once(bencher: divan::Bencher) {
    let file = example();
    bencher.bench_local(|| answer(&["account", "--live", &file]));
}
