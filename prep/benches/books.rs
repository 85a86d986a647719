//! The example, and a file of thirty steps, from text to plan and account.
//!
//! The long file has thirty steps, some forty readings and 7 × 3 × 3 compositions that its forms allow.

use prep::AccountSettings;

fn main() {
    divan::main();
}

const EXAMPLE: &[u8] = include_bytes!("../../examples/bluestone.toml");

const THIRTY_STEPS: &[u8] = include_bytes!("preparations/thirty-steps.toml");

fn preparation() -> prep::Preparation {
    prep::read(EXAMPLE).preparation.expect("the example reads")
}

fn thirty_steps() -> prep::Preparation {
    prep::read(THIRTY_STEPS).preparation.expect("the long file reads")
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

#[divan::bench(sample_count = 5)]
fn thirty_steps_read_and_check() -> prep::Reading {
    prep::read(THIRTY_STEPS)
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn thirty_steps_plan(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::plan(&preparation));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn thirty_steps_live_account(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::live_account(&preparation));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn thirty_steps_next_test(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::next(&preparation, None));
}

#[divan::bench(sample_count = 2, sample_size = 1)]
fn thirty_steps_first_sampled_figures(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    let settings = AccountSettings { particles: Some(500), without_suppositions: true, ..AccountSettings::default() };
    bencher.bench_local(|| prep::account(&preparation, &settings, &mut |_| {}));
}

#[divan::bench(sample_count = 1, sample_size = 1)]
fn thirty_steps_printed_account(bencher: divan::Bencher) {
    let preparation = thirty_steps();
    bencher.bench_local(|| prep::account(&preparation, &AccountSettings::default(), &mut |_| {}));
}
