//! The example from text to plan and account.

use prep::AccountSettings;

fn main() {
    divan::main();
}

const EXAMPLE: &[u8] = include_bytes!("../../examples/bluestone.toml");

fn preparation() -> prep::Preparation {
    prep::read(EXAMPLE).preparation.expect("the example reads")
}

#[divan::bench]
fn read_and_check() -> prep::Reading {
    prep::read(EXAMPLE)
}

#[divan::bench(sample_count = 20)]
fn plan(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::plan(&preparation));
}

#[divan::bench(sample_count = 50)]
fn live_account(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::live_account(&preparation));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn first_sampled_figures(bencher: divan::Bencher) {
    let preparation = preparation();
    let settings = AccountSettings { particles: Some(500), without_suppositions: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::account(&preparation, &settings, &mut |_| {}));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn printed_account(bencher: divan::Bencher) {
    let preparation = preparation();
    bencher.bench_local(|| prep::account(&preparation, &AccountSettings::default(), &mut |_| {}));
}
